//! What a share would cost and what would come home of it, before anybody reserves it: from the range an animal hangs at, a way of
//! cutting, and who eats. Each figure is a range: from the lightest animal and the least that comes of it, over the middle, to the
//! heaviest and the most. For planning only; nothing is billed by it.

use super::all_in::{AllIn, Span, ToExpect, Work, all_in};
use super::cuts::common::Common;
use super::cuts::offer::{Offer, filled};
use super::cuts::questions::{Answers, sheet_for};
use super::cuts::sheet::{Hanging, Refused, Sheet};
use super::cuts::take_home::{Band, TakeHome, pounds, take_home};
use super::cuts::{BadCatalogue, common};
use super::invoice::Price;
use super::money::Money;
use super::share::{Part, Size, Species};
use super::weight::{Unit, Weight};
use rust_decimal::Decimal;

/// The most meals a week that may be asked about.
pub const MOST_MEALS: i64 = 21;

/// Raw meat for one person at one meal, in hundredths of a pound: half a pound without bone or of ground meat, three quarters with
/// bone. USDA Farmers' Bulletin 2264 says so of lamb; for other meat it is common practice, no source.
const SERVING: (i64, i64) = (50, 75);
/// Where the weight of a serving comes from, for people.
pub const SERVING_SOURCE: &str = "Half a pound of raw meat without bone for a person at a meal, three quarters of a pound with bone: USDA \
                                  Farmers’ Bulletin 2264, which says so of lamb; taken for other meat too (common practice, no source)";

/// How the share would be cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// The standard cut.
    Standard,
    /// What three answers choose.
    Questions(Answers),
}

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct ToEstimate<'a> {
    /// The species.
    pub species: Species,
    /// The unit of the weights.
    pub unit: Unit,
    /// The share.
    pub size: Size,
    /// Which quarter.
    pub part: Option<Part>,
    /// What the share hangs at, from and to; not nothing.
    pub between: (Weight, Weight),
    /// How it is cut.
    pub style: Style,
    /// What the processor leaves out.
    pub offer: &'a Offer,
    /// The farm's price; none while it cannot be told.
    pub price: Option<Price>,
    /// The deposit.
    pub deposit: Money,
    /// The charges for this share.
    pub work: &'a [Work],
    /// How many eat, 1 to [`super::cuts::questions::MOST_EATERS`].
    pub eaters: i64,
    /// At how many meals a week they eat of it, 1 to [`MOST_MEALS`].
    pub meals: i64,
}

/// A kind of meat that comes home.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kind {
    /// What a person reads: `steaks`, `ground meat and stew`.
    pub name: &'static str,
    /// How much of it.
    pub weight: Band,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Estimate {
    /// The share in the middle.
    pub hanging: Hanging,
    /// What the share hangs at in the middle.
    pub middle: Weight,
    /// What it costs; none when the sums cannot be reckoned.
    pub cost: Option<AllIn>,
    /// What is paid to the farm when the weight is known: its part less the deposit.
    pub balance: Option<Span>,
    /// What comes home, packaged.
    pub packaged: Band,
    /// The same by kinds of meat, none of which is nothing.
    pub kinds: Vec<Kind>,
    /// Every cut at the middle weight.
    pub home: TakeHome<'static>,
    /// Cubic feet of freezer, from and to, two decimals.
    pub cubic_feet: (Decimal, Decimal),
    /// Weeks it lasts: least, middle, most.
    pub weeks: [Decimal; 3],
}

fn faulty(e: &BadCatalogue) -> Refused {
    Refused::unknown("", e.to_string())
}

/// A part of an animal's range, for a share that is so many per cent of a side.
pub fn part_of(head: (Weight, Weight), percent_of_side: i64) -> (Weight, Weight) {
    let part = |w: Weight| Weight::from_hundredths(w.hundredths().saturating_mul(percent_of_side) / 200);
    (part(head.0), part(head.1))
}

/// Estimates a share.
///
/// # Errors
/// [`Refused`] when nothing can be cut for such a share, such as a quarter of a lamb, or the weight is nothing.
pub fn estimate(ask: &ToEstimate<'_>) -> Result<Estimate, Refused> {
    let common = common().map_err(faulty)?;
    let (low, high) = ask.between;
    let middle = Weight::from_hundredths(low.hundredths().saturating_add(high.hundredths()) / 2);
    let hanging = Hanging {
        species: ask.species,
        unit: ask.unit,
        weight: middle,
        size: ask.size,
        part: ask.part.unwrap_or(Part::Split),
        age_months: None,
        head_on: false,
        skin_on: false,
    };
    let sheet = sheet(&hanging, ask, common)?;
    let home = take_home(&hanging, &sheet)?;
    // At another weight a sheet may ask for more than there is; then it is told with what the middle gives.
    let at = |weight| take_home(&Hanging { weight, ..hanging }, &sheet).unwrap_or_else(|_| home.clone());
    let (light, heavy) = (at(low), at(high));
    let cost = all_in(&ToExpect {
        hanging: &hanging,
        between: ask.between,
        sheet: &sheet,
        home: &home,
        price: ask.price,
        work: ask.work,
        adjustments: &[],
    })
    .ok();
    let packaged = Band { low: light.packaged.low, expected: home.packaged.expected, high: heavy.packaged.high };
    Ok(Estimate {
        hanging,
        middle,
        balance: cost.as_ref().filter(|c| c.all_in.is_some()).and_then(|c| less(c.farm, ask.deposit)),
        cost,
        kinds: kinds(common, &light, &home, &heavy),
        cubic_feet: (light.cubic_feet.0, heavy.cubic_feet.1),
        weeks: weeks(ask, packaged),
        packaged,
        home,
    })
}

fn sheet(hanging: &Hanging, ask: &ToEstimate<'_>, common: &Common) -> Result<Sheet, Refused> {
    let sheet = match ask.style {
        Style::Standard => Sheet::default(),
        Style::Questions(answers) => sheet_for(hanging, answers, &|b, c| ask.offer.has_choice(b, c))?,
    };
    let catalogue = hanging.catalogue().map_err(faulty)?;
    Ok(filled(catalogue, common, hanging, &sheet, ask.offer))
}

fn less(span: Span, deposit: Money) -> Option<Span> {
    Some(Span {
        low: span.low.minus(deposit).ok()?,
        expected: span.expected.minus(deposit).ok()?,
        high: span.high.minus(deposit).ok()?,
    })
}

/// The kinds of meat in the order of the table of storage times; ground meat and sausage are put to theirs.
fn kinds(common: &'static Common, light: &TakeHome<'_>, home: &TakeHome<'_>, heavy: &TakeHome<'_>) -> Vec<Kind> {
    let sum = |home: &TakeHome<'_>, kind: &str, of: fn(&Band) -> Weight| -> Weight {
        let lines = home.lines.iter().filter(|l| l.keeps == kind).map(|l| of(&l.weight));
        let ground = (kind == "ground_and_stew").then(|| of(&home.ground));
        let sausage = home.sausage.iter().filter(|_| kind == "sausage").map(|s| of(&s.weight));
        let all = lines.chain(ground).chain(sausage).map(Weight::hundredths);
        Weight::from_hundredths(all.fold(0, i64::saturating_add))
    };
    let kind = |s: &'static super::cuts::common::Storage| Kind {
        name: &s.name,
        weight: Band {
            low: sum(light, &s.id, |b| b.low),
            expected: sum(home, &s.id, |b| b.expected),
            high: sum(heavy, &s.id, |b| b.high),
        },
    };
    common.storage.iter().map(kind).filter(|k| !k.weight.high.is_zero()).collect()
}

/// How many weeks so much meat lasts: the least of it in large portions, the most in small ones.
fn weeks(ask: &ToEstimate<'_>, packaged: Band) -> [Decimal; 3] {
    let (small, large) = SERVING;
    let people = ask.eaters.clamp(1, 1_000).saturating_mul(ask.meals.clamp(1, MOST_MEALS));
    let lasts = |weight: Weight, serving: i64| {
        let a_week = Decimal::new(people.saturating_mul(serving), 2);
        let weeks = pounds(ask.unit, weight.decimal()).checked_div(a_week).unwrap_or_default();
        weeks.round_dp(1)
    };
    [lasts(packaged.low, large), lasts(packaged.expected, (small + large) / 2), lasts(packaged.high, small)]
}

#[cfg(test)]
#[path = "estimate_tests.rs"]
mod tests;
