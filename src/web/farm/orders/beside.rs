//! What stands beside an order's story: its money, and its share on the animal.

use super::show::Loaded;
use super::words;
use crate::actions::message_values::price_words;
use crate::book::ids::ReservationId;
use crate::book::placements::Share;
use crate::book::rows::animals::Animal;
use crate::book::standing::OrderStanding;
use crate::trade::dates;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::Slot as Quarter;
use crate::web::farmer::Farmer;
use crate::web::look::capital;
use crate::web::look::parts::{Link, SumKind, SumLine};
use crate::web::look::rail::{Kind, Rail, Slot};

/// The order's money: the invoice when there is one, else what it will be, else what is locked and what is in.
pub(super) fn sums(l: &Loaded, standing: &OrderStanding, farmer: &Farmer) -> Vec<SumLine> {
    let (r, ..) = &l.order;
    if let Some((invoice, paid)) = &l.facts.invoice {
        let mut lines = vec![
            SumLine::new(format!("Invoice {}", invoice.number), invoice.farm_total)
                .small(format!("Issued {}", dates::long(invoice.issued_on, farmer.now.today))),
        ];
        if !invoice.farm_tax.is_zero() {
            lines.push(SumLine::new("Tax", invoice.farm_tax));
        }
        lines.push(SumLine::new("Deposit and payments", paid.negated()));
        if let Some(balance) = l.facts.balance() {
            lines.push(SumLine::new("Balance due", balance).as_a(SumKind::Total));
        }
        return lines;
    }
    if let Some(d) = l.draft.as_ref().filter(|d| d.ready().is_some()) {
        return words::sum_lines(&d.sum_lines());
    }
    let mut lines = vec![
        SumLine::words("Price", price_words(r, farmer.farm.unit))
            .small(format!("Locked {}", dates::long(r.price_locked_on, farmer.now.today))),
    ];
    lines.push(SumLine::new("Deposit asked", r.deposit_asked));
    if l.facts.held.is_positive() {
        lines.push(SumLine::new("Deposit received", l.facts.held));
    }
    if let OrderStanding::DepositDue(missing, held) = standing
        && held.is_positive()
    {
        lines.push(SumLine::new("Still missing", *missing).as_a(SumKind::Total));
    }
    if let Ok(over) = l.facts.held.minus(r.deposit_asked)
        && over.is_positive()
    {
        lines.push(SumLine::new("More than asked", over).small("Stays with the order and is taken off the invoice."));
    }
    lines
}

/// The order's animal, this share hatched and the others plain.
pub(super) fn rail(a: &Animal, shares: &[Share], mine: ReservationId) -> (Rail, Link, String) {
    let slot = |q: Quarter| match shares.iter().find(|s| s.slots.contains(&q)) {
        // What is free on it is no business of this order.
        None => Slot::Plain,
        Some(s) => {
            let kind = match s.size {
                Size::Whole => Kind::Whole,
                Size::Half => Kind::Half,
                Size::Quarter => Kind::quarter(s.part.unwrap_or(Part::Split)),
            };
            Slot::owner(s.name.clone(), kind)
        }
    };
    let rail = Rail::new(
        "r1",
        words::animal(a),
        a.species,
        [slot(Quarter::L1), slot(Quarter::L2), slot(Quarter::R1), slot(Quarter::R2)],
    );
    let where_ =
        shares.iter().find(|s| s.reservation == mine).map(|s| capital(&words::place(s.place))).unwrap_or_default();
    (rail, Link::new(format!("/animals/{}", a.id), words::animal(a)), where_)
}
