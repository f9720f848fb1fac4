//! What a share will cost with its cut sheet: the price locked into the order and the charges of the processor of its date.

use super::Failure;
use super::cut_sheet::Basis;
use super::plant_offer::There;
use crate::book::conn::DbConn;
use crate::book::rows::plants::ProcessorCharge;
use crate::book::{animals, plants, reservations};
use crate::trade::all_in::{AllIn, ToExpect, Work, all_in};
use crate::trade::charge::{Charge, deal_live_weight};
use crate::trade::cuts::sheet::Hanging;
use crate::trade::cuts::take_home::TakeHome;
use crate::trade::invoice::{Adjustment, Price};
use crate::trade::sheet_json::Kept;
use crate::trade::vocabulary::{Per, PriceBasis, WeighMethod};

/// What a share's cost is reckoned from, besides its sheet.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Prices {
    /// The farm's price; none while it goes by a live weight nobody took.
    pub price: Option<Price>,
    /// The charges for this share; empty while it has no date.
    pub work: Vec<Work>,
    /// Free lines of the order.
    pub adjustments: Vec<Adjustment>,
}

/// Looks the prices of a share up, in a few queries.
///
/// # Errors
/// The database's own.
pub fn prices(c: &mut DbConn, basis: &Basis, there: &There) -> Result<Prices, Failure> {
    let (r, ..) = &basis.order;
    let adjustments = reservations::lines(c, r.id)?
        .into_iter()
        .map(|line| Adjustment { name: line.name, amount: line.amount, tax: line.tax_percent })
        .collect();
    let made = reservations::products(c, r.id)?;
    let schedule = match &there.plant {
        Some(plant) => plants::charges(c, plant.id)?,
        None => Vec::new(),
    };
    let work = schedule.into_iter().filter(|p| p.applies(basis.hanging.species, r.size)).map(|p| {
        let said = made.iter().find(|(charge, _)| charge.id == p.id).and_then(|(_, quantity)| *quantity);
        let mut one = work(p);
        one.charge.quantity = said.filter(|_| matches!(one.charge.per, Per::UnitProduct | Per::Pack));
        one
    });
    Ok(Prices { price: price(c, basis)?, work: work.collect(), adjustments })
}

/// A charge of a plant's schedule as work on a share, how much of it not told.
pub fn work(p: ProcessorCharge) -> Work {
    let by_weight = matches!(p.per, Per::UnitHanging | Per::UnitProduct);
    let mut charge = Charge::new(p.name, p.per, p.rate, p.billed_by);
    charge.minimum_quantity = p.minimum_quantity.filter(|_| by_weight);
    charge.minimum_amount = p.minimum_amount;
    charge.tax = p.tax_percent;
    Work { charge, service: p.service }
}

fn price(c: &mut DbConn, basis: &Basis) -> Result<Option<Price>, Failure> {
    let (r, ..) = &basis.order;
    Ok(match r.price_basis {
        PriceBasis::Hanging => Some(Price::Hanging(r.rate.unwrap_or_default())),
        PriceBasis::Flat => Some(Price::Flat(r.flat_price.unwrap_or_default())),
        PriceBasis::Live => {
            let Some(animal) = &basis.facts.animal else { return Ok(None) };
            let weighed = animals::live_weights(c, animal.id)?;
            let live = weighed.iter().find(|w| w.method == WeighMethod::Scale).map(|w| w.weight);
            let part = live.and_then(|live| deal_live_weight(live, &[r.size.quarters()])?.owners.first().copied());
            part.filter(|weight| !weight.is_zero())
                .map(|weight| Price::Live { rate: r.rate.unwrap_or_default(), weight })
        }
    })
}

/// What a share will cost with this sheet; none when its sums cannot be reckoned.
pub fn cost(basis: &Basis, prices: &Prices, kept: &Kept, home: &TakeHome<'_>) -> Option<AllIn> {
    let hanging = Hanging { head_on: kept.head_on, skin_on: kept.skin_on, ..basis.hanging };
    all_in(&ToExpect {
        hanging: &hanging,
        between: basis.between,
        sheet: &kept.sheet,
        home,
        price: prices.price,
        work: &prices.work,
        adjustments: &prices.adjustments,
    })
    .ok()
}
