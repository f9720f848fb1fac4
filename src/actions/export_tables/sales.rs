//! Customers, offerings with their prices, and reservations.

use super::{Rows, Ways, day, figure, weight, yes};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::exports;
use crate::book::ids::ReservationId;
use crate::book::rows::money::Payment;
use crate::book::rows::selling::{Offering, Price};
use crate::trade::csv::Cell;
use crate::trade::decimal::plain;
use crate::trade::import_file::{Field, Kind};
use crate::trade::money::{Money, Rate};
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::PriceBasis;
use std::collections::HashMap;

/// Rows of a page.
const PAGE: i64 = 500;

fn labels(fields: &[Field]) -> Vec<String> {
    fields.iter().map(|f| f.label().to_string()).collect()
}

pub(super) fn customer_headings() -> Vec<String> {
    labels(&[Field::Name, Field::Mail, Field::Phone, Field::Address, Field::Notes, Field::NoOffers])
}

pub(super) fn customers(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let people = exports::customers(c, after, PAGE)?;
    let mut out = Rows::default();
    for p in &people {
        out.push(&[
            p.name.as_str().into(),
            p.mail.as_str().into(),
            p.phone.as_str().into(),
            p.address.as_str().into(),
            p.notes.as_str().into(),
            yes(p.no_offers),
        ]);
    }
    Ok(out.ends(people.len(), PAGE, people.last().map(|p| p.id.0)))
}

pub(super) fn price_headings(unit: &str) -> Vec<String> {
    let mut names = labels(Kind::Offerings.fields());
    for (field, name) in Kind::Offerings.fields().iter().zip(&mut names) {
        if matches!(field, Field::Low | Field::High) {
            name.push_str(&format!(" ({unit})"));
        }
    }
    names.push("Closed".into());
    names
}

/// "hanging weight", "live weight", "fixed price": what a price is reckoned on, as a list says it.
const fn by(basis: PriceBasis) -> &'static str {
    match basis {
        PriceBasis::Hanging => "hanging weight",
        PriceBasis::Live => "live weight",
        PriceBasis::Flat => "fixed price",
    }
}

/// Four decimals, so that no figure can be read in two ways.
fn price(rate: Option<Rate>, flat: Option<Money>) -> Cell {
    let rate = rate.map(|r| plain(r.ten_thousandths(), 4));
    Cell::Figure(rate.or(flat.map(Money::plain)).unwrap_or_default())
}

fn offering(out: &mut Rows, o: &Offering, p: Option<&Price>) {
    let sold = [(Size::Whole, o.sells_whole), (Size::Half, o.sells_half), (Size::Quarter, o.sells_quarter)];
    let sold: Vec<&str> = sold.into_iter().filter(|(_, is)| *is).map(|(size, _)| size.label()).collect();
    out.push(&[
        o.species.label().into(),
        o.season.as_str().into(),
        figure(o.head_count),
        sold.join(", ").into(),
        o.quarter_part.label().into(),
        weight(o.expected_low),
        weight(o.expected_high),
        p.map_or("", |p| p.size.label()).into(),
        p.map_or("", |p| by(p.basis)).into(),
        price(p.and_then(|p| p.rate), p.and_then(|p| p.flat_price)),
        Cell::Figure(p.map(|p| p.deposit.plain()).unwrap_or_default()),
        day(p.map(|p| p.effective_from)),
        o.notes.as_str().into(),
        yes(o.closed_at.is_some()),
    ]);
}

/// A line for each price; what has none stands at the end.
pub(super) fn prices(c: &mut DbConn, after: i64) -> Result<Rows, Failure> {
    let found = exports::prices(c, after, PAGE)?;
    let mut out = Rows::default();
    for (p, o) in &found {
        offering(&mut out, o, Some(p));
    }
    let out = out.ends(found.len(), PAGE, found.last().map(|(p, _)| p.id.0));
    if out.next.is_some() {
        return Ok(out);
    }
    let mut out = out;
    for o in exports::unpriced(c)? {
        offering(&mut out, &o, None);
    }
    Ok(out)
}

/// "half", "forequarter": a share as a list says it.
pub(super) const fn share(size: Size, part: Option<Part>) -> &'static str {
    match (size, part) {
        (Size::Quarter, Some(Part::Fore)) => Part::Fore.label(),
        (Size::Quarter, Some(Part::Hind)) => Part::Hind.label(),
        _ => size.label(),
    }
}

pub(super) fn order_headings() -> Vec<String> {
    let mut names = labels(&[
        Field::Order,
        Field::Name,
        Field::Mail,
        Field::Phone,
        Field::Species,
        Field::Season,
        Field::Quarters,
        Field::Share,
        Field::TakenOn,
        Field::Price,
        Field::Basis,
        Field::DepositAsked,
    ]);
    names.push("Deposit held".into());
    names.extend(labels(&[
        Field::DepositOn,
        Field::Method,
        Field::Reference,
        Field::Waiting,
        Field::Cancelled,
        Field::Wishes,
    ]));
    names.push("Collected".into());
    names
}

pub(super) fn orders(c: &mut DbConn, ways: &Ways, after: i64) -> Result<Rows, Failure> {
    let orders = exports::orders(c, after, PAGE)?;
    let ids: Vec<ReservationId> = orders.iter().map(|(r, ..)| r.id).collect();
    let mut held: HashMap<ReservationId, (i64, Payment)> = HashMap::new();
    for (a, p) in exports::deposits(c, &ids)? {
        let Some(id) = a.reservation_id else { continue };
        let one = held.entry(id).or_insert_with(|| (0, p.clone()));
        one.0 = one.0.saturating_add(a.amount.cents());
        if a.amount.is_positive() {
            one.1 = p;
        }
    }
    let mut out = Rows::default();
    for (r, who, o) in &orders {
        let deposit = held.get(&r.id).filter(|(cents, _)| *cents > 0);
        out.push(&[
            r.number.as_str().into(),
            who.name.as_str().into(),
            who.mail.as_str().into(),
            who.phone.as_str().into(),
            o.species.label().into(),
            o.season.as_str().into(),
            o.quarter_part.label().into(),
            share(r.size, r.part).into(),
            day(Some(r.taken_at.day(ways.zone()))),
            price(r.rate, r.flat_price),
            by(r.price_basis).into(),
            Cell::Figure(r.deposit_asked.plain()),
            Cell::Figure(deposit.map(|(cents, _)| Money::from_cents(*cents).plain()).unwrap_or_default()),
            day(deposit.map(|(_, p)| p.received_on)),
            deposit.map_or("", |(_, p)| p.method.as_str()).into(),
            deposit.map_or("", |(_, p)| p.reference.as_str()).into(),
            yes(r.waiting_since.is_some()),
            day(r.cancelled_at.map(|at| at.day(ways.zone()))),
            r.wishes.as_str().into(),
            day(r.collected_at.map(|at| at.day(ways.zone()))),
        ]);
    }
    Ok(out.ends(orders.len(), PAGE, ids.last().map(|id| id.0)))
}
