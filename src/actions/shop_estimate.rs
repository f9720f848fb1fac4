//! What a share of an offering would cost and what would come home, reckoned from what was read for the public page. Reads nothing
//! itself and writes nothing.

use super::Failure;
use super::cut_sheet::percent_of_side;
use super::sheet_cost::work;
use crate::book::ids::ProcessorId;
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::Processor;
use crate::book::rows::selling::Offering;
use crate::book::shop::Shop;
use crate::trade::all_in::Work;
use crate::trade::cuts::offer::Offer;
use crate::trade::cuts::sheet::Refused;
use crate::trade::estimate::{Estimate, Style, ToEstimate, estimate, part_of};
use crate::trade::invoice::Price;
use crate::trade::money::Money;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::PriceBasis;
use crate::trade::weight::{Unit, Weight};
use chrono::NaiveDate;

/// What a visitor asks about an offering.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    /// The share.
    pub size: Size,
    /// Which quarter.
    pub part: Option<Part>,
    /// What a whole animal hangs at, from and to.
    pub head: (Weight, Weight),
    /// How it is cut.
    pub style: Style,
    /// How many eat.
    pub eaters: i64,
    /// At how many meals a week.
    pub meals: i64,
    /// Which of the plants, if it is one of them; else the first.
    pub plant: Option<ProcessorId>,
}

/// The answer, and what it rests on.
#[derive(Debug, Clone)]
pub struct Answered {
    /// What the share hangs at, from and to.
    pub between: (Weight, Weight),
    /// What it costs and what comes home.
    pub estimate: Estimate,
    /// Whose charges are in it; none while no plant is known.
    pub plant: Option<Processor>,
    /// The deposit.
    pub deposit: Money,
    /// Whether there is a price today.
    pub is_priced: bool,
    /// Whether the price goes by live weight, so that there is no sum.
    pub is_live: bool,
}

/// What a whole animal of an offering is expected to hang at; what its species usually hangs at where the farm did not say, and then
/// `false`.
///
/// # Errors
/// [`Failure::Unexpected`] when the catalogue cannot be read.
pub fn expected(o: &Offering, unit: Unit) -> Result<((Weight, Weight), bool), Failure> {
    match (o.expected_low, o.expected_high) {
        (Some(low), Some(high)) if !low.is_zero() => Ok(((low, high), true)),
        _ => {
            let (low, _, high) = super::cut_sheet::usual(o.species, unit, 200)?;
            Ok(((low, high), false))
        }
    }
}

/// Estimates a share of an offering.
///
/// # Errors
/// [`Failure::Refused`] with a sentence when nothing can be cut for such a share; [`Failure::Unexpected`] when something stored
/// cannot be read.
pub fn answer(shop: &Shop, farm: &Farm, o: &Offering, today: NaiveDate, asked: &Asked) -> Result<Answered, Failure> {
    let plants = shop.plants_of(o.species);
    let chosen = plants.iter().find(|p| Some(p.id) == asked.plant).or_else(|| plants.first());
    let plant = chosen.map(|p| (*p).clone());
    let said = plant.as_ref().and_then(|p| shop.offers.get(&(p.id, o.species)));
    let offer =
        said.map_or_else(|| Ok(Offer::default()), |row| Offer::read(&row.document)).map_err(Failure::Unexpected)?;
    let charges = plant.as_ref().map_or_else(Vec::new, |p| shop.charges_of(p.id, o.species, asked.size));
    let work: Vec<Work> = charges.into_iter().cloned().map(work).collect();
    let price = shop.price(o.id, asked.size, today);
    let deposit = price.map_or(Money::ZERO, |p| p.deposit);
    let percent = percent_of_side(farm, asked.size, asked.part.unwrap_or(Part::Split));
    let between = part_of(asked.head, percent);
    let ask = ToEstimate {
        species: o.species,
        unit: farm.unit,
        size: asked.size,
        part: asked.part,
        between,
        style: asked.style,
        offer: &offer,
        price: price.and_then(|p| match p.basis {
            PriceBasis::Hanging => Some(Price::Hanging(p.rate.unwrap_or_default())),
            PriceBasis::Flat => Some(Price::Flat(p.flat_price.unwrap_or_default())),
            PriceBasis::Live => None,
        }),
        deposit,
        work: &work,
        eaters: asked.eaters,
        meals: asked.meals,
    };
    let estimate = estimate(&ask).map_err(refused)?;
    let is_live = price.is_some_and(|p| p.basis == PriceBasis::Live);
    Ok(Answered { between, estimate, plant, deposit, is_priced: price.is_some(), is_live })
}

fn refused(why: Refused) -> Failure {
    match why {
        Refused::Unknown { error, .. } => Failure::refuse("", format!("{error}.")),
        Refused::Broken(notes) => {
            Failure::refuse("", notes.first().map_or_else(String::new, |note| format!("{}.", note.why)))
        }
    }
}
