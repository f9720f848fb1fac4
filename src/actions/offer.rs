//! Offerings: putting animals up for sale, changing what is left open, setting prices from a date.

use super::{Doing, Failure, Problems};
use crate::book::ids::OfferingId;
use crate::book::rows::selling::{NewOffering, NewPrice};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{offerings, reservations};
use crate::trade::money::{Money, Rate};
use crate::trade::room::Sold;
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{PriceBasis, QuarterPart};
use crate::trade::weight::Weight;
use chrono::NaiveDate;

/// What an offering is.
#[derive(Debug, Clone)]
pub struct OfferingIn {
    /// Species.
    pub species: Species,
    /// Name of the season, such as "Autumn 2027".
    pub season: String,
    /// Head for sale, 0 to 10,000.
    pub head_count: i64,
    /// Share sizes sold; at least one.
    pub sizes: Vec<Size>,
    /// How quarters are divided.
    pub quarter_part: QuarterPart,
    /// Expected hanging weight of a head, low.
    pub expected_low: Option<Weight>,
    /// High.
    pub expected_high: Option<Weight>,
    /// Notes for customers.
    pub notes: String,
}

/// A price of one share size from a day on.
#[derive(Debug, Clone)]
pub struct PriceIn {
    /// Share size.
    pub size: Size,
    /// What it is reckoned on.
    pub basis: PriceBasis,
    /// Price per unit, unless flat.
    pub rate: Option<Rate>,
    /// Fixed price, when flat.
    pub flat_price: Option<Money>,
    /// Deposit asked.
    pub deposit: Money,
}

fn check(input: &OfferingIn) -> Result<(), Failure> {
    let mut p = Problems::default();
    if input.sizes.is_empty() {
        p.add("sizes", "Tick at least one share size");
    }
    if let (Some(low), Some(high)) = (input.expected_low, input.expected_high)
        && low > high
    {
        p.add("expected_high", "The high weight is below the low one. Write them the other way around");
    }
    if input.expected_low.is_none() && input.expected_high.is_some() {
        p.add("expected_low", "Write the low weight as well, or leave both empty");
    }
    p.check()
}

/// Puts animals up for sale with their first prices.
///
/// # Errors
/// [`Failure::Refused`] when no size is ticked or the weights are the wrong way around.
pub fn add_offering(
    tx: &mut Tx,
    doing: &Doing,
    input: &OfferingIn,
    prices: &[PriceIn],
    from: NaiveDate,
) -> Result<OfferingId, Failure> {
    check(input)?;
    let sells = |size| input.sizes.contains(&size);
    let id = offerings::insert(
        tx,
        &NewOffering {
            species: input.species,
            season: input.season.clone(),
            head_count: input.head_count,
            sells_whole: sells(Size::Whole),
            sells_half: sells(Size::Half),
            sells_quarter: sells(Size::Quarter),
            quarter_part: input.quarter_part,
            expected_low: input.expected_low,
            expected_high: input.expected_high.or(input.expected_low),
            notes: input.notes.clone(),
            closed_at: None,
            created_at: doing.now.at,
        },
    )?;
    let line = format!("{} {} was put up for sale, {} head", input.species.label(), input.season, input.head_count);
    tell(tx, doing, line, String::new())?;
    if !prices.is_empty() {
        set_prices(tx, doing, id, prices, from)?;
    }
    Ok(id)
}

/// Changes an offering. The species stays: it is what people reserved.
///
/// # Errors
/// [`Failure::Stale`]; [`Failure::Refused`] when fewer head are left than are reserved.
pub fn change_offering(
    tx: &mut Tx,
    doing: &Doing,
    id: OfferingId,
    version: i64,
    input: &OfferingIn,
) -> Result<(), Failure> {
    check(input)?;
    let mut o = offerings::get(tx.conn(), id)?;
    let sold = Sold::count(reservations::held(tx.conn(), id)?);
    if !sold.fits(input.head_count) {
        let need = (sold.sides() + 1) / 2;
        return Err(Failure::refuse(
            "head_count",
            format!("{need} head are reserved already. Write at least {need}, or cancel reservations first"),
        ));
    }
    if input.quarter_part != o.quarter_part && sold.split + sold.fore + sold.hind > 0 {
        return Err(Failure::refuse(
            "quarter_part",
            "Quarters are reserved already, so the way they are divided stays",
        ));
    }
    let sells = |size| input.sizes.contains(&size);
    let before = o.head_count;
    (o.season, o.head_count, o.notes, o.quarter_part) =
        (input.season.clone(), input.head_count, input.notes.clone(), input.quarter_part);
    (o.sells_whole, o.sells_half, o.sells_quarter) = (sells(Size::Whole), sells(Size::Half), sells(Size::Quarter));
    (o.expected_low, o.expected_high) = (input.expected_low, input.expected_high.or(input.expected_low));
    if !offerings::save(tx, &o, version)? {
        return Err(Failure::Stale);
    }
    let detail =
        if before == o.head_count { String::new() } else { format!("Head: {before} before, {} now.", o.head_count) };
    tell(tx, doing, format!("The offering {} {} was changed", o.species.label(), o.season), detail)
}

fn tell(tx: &mut Tx, doing: &Doing, line: String, detail: String) -> Result<(), Failure> {
    Ok(stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail, ..Line::default() })?)
}

/// Sets prices from a day on; earlier ones stay in the history, and prices locked into reservations stay as they are.
///
/// # Errors
/// [`Failure::Refused`] when a price is missing.
pub fn set_prices(
    tx: &mut Tx,
    doing: &Doing,
    id: OfferingId,
    prices: &[PriceIn],
    from: NaiveDate,
) -> Result<(), Failure> {
    let mut p = Problems::default();
    for one in prices {
        let there = if one.basis == PriceBasis::Flat { one.flat_price.is_some() } else { one.rate.is_some() };
        if !there {
            p.add(format!("price_{}", one.size), format!("Write the price of a {}", one.size.label()));
        }
    }
    p.check()?;
    for one in prices {
        let flat = one.basis == PriceBasis::Flat;
        offerings::add_price(
            tx,
            &NewPrice {
                offering_id: id,
                size: one.size,
                effective_from: from,
                basis: one.basis,
                rate: one.rate.filter(|_| !flat),
                flat_price: one.flat_price.filter(|_| flat),
                deposit: one.deposit,
                created_at: doing.now.at,
            },
        )?;
    }
    let o = offerings::get(tx.conn(), id)?;
    let listed = prices.iter().map(|one| {
        let what = one.rate.map(|r| format!("{} {}", r.dollars(), one.basis.label()));
        let what = what.or(one.flat_price.map(|m| format!("{} fixed", m.dollars()))).unwrap_or_default();
        format!("{} {what}, deposit {}", one.size.label(), one.deposit.dollars())
    });
    let detail = listed.collect::<Vec<_>>().join("; ");
    let line = format!("Prices of {} {} from {}", o.species.label(), o.season, crate::trade::dates::full(from));
    tell(tx, doing, line, detail)
}

/// Closes an offering to new reservations, or opens it again.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between.
pub fn close_offering(tx: &mut Tx, doing: &Doing, id: OfferingId, version: i64, close: bool) -> Result<(), Failure> {
    let mut o = offerings::get(tx.conn(), id)?;
    o.closed_at = close.then_some(doing.now.at);
    if !offerings::save(tx, &o, version)? {
        return Err(Failure::Stale);
    }
    let what = if close { "closed to new reservations" } else { "opened again" };
    tell(tx, doing, format!("The offering {} {} was {what}", o.species.label(), o.season), String::new())
}
