//! Entering a share's cut sheet: what it rests on, the rules it must keep, and what comes home of it.

use super::plant_offer::{self, There};
use super::{Doing, Failure, Problems};
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::reservations::{self, Order};
use crate::book::rows::farm::Farm;
use crate::book::rows::sheets::CutSheet;
use crate::book::standing::{self, Facts};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{carcasses, farm, sheets};
use crate::trade::age;
use crate::trade::carcass::{FORE_PERCENT, HIND_PERCENT, SplitBasis};
use crate::trade::cuts::catalogue;
use crate::trade::cuts::sheet::{Hanging, Note, Refused};
use crate::trade::cuts::take_home::{TakeHome, take_home};
use crate::trade::share::{Part, Size, Species};
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::{BirthPrecision, SheetOrigin};
use crate::trade::weight::{Unit, Weight};
use chrono::NaiveDate;
use rust_decimal::Decimal;
use std::collections::HashMap;

/// The longest special wish, in characters.
pub const LONGEST_WISH: usize = 500;

/// What a sheet is made for.
#[derive(Debug, Clone)]
pub struct Basis {
    /// The share, its weight and what is known of the animal. Head and skin are those of the sheet.
    pub hanging: Hanging,
    /// The lightest this share can be expected to hang, and the heaviest; both the weight itself when it is weighed.
    pub between: (Weight, Weight),
    /// Whether the weight was weighed; else it is expected.
    pub is_weighed: bool,
    /// Where the weight comes from, in words.
    pub rests_on: String,
    /// The order.
    pub order: Order,
    /// What is known of it.
    pub facts: Facts,
}

/// What a share's sheet is made for: its billed weight when it is weighed, else what the offering expects, else what a
/// carcass of the species usually weighs.
///
/// # Errors
/// [`Failure::NotFound`] without such an order.
pub fn basis(c: &mut DbConn, farm: &Farm, today: NaiveDate, id: ReservationId) -> Result<Basis, Failure> {
    bases(c, farm, today, &[id])?.remove(&id).ok_or(Failure::NotFound)
}

/// The same for many orders in a handful of queries; orders there are none of are left out.
///
/// # Errors
/// As [`basis`].
pub fn bases(
    c: &mut DbConn,
    farm: &Farm,
    today: NaiveDate,
    ids: &[ReservationId],
) -> Result<HashMap<ReservationId, Basis>, Failure> {
    let orders = reservations::many(c, ids)?;
    let mut facts = standing::facts(c, &orders.values().map(|(r, ..)| r).collect::<Vec<_>>())?;
    let weighed: Vec<_> =
        facts.values().filter(|f| f.weigh_in.is_some()).filter_map(|f| Some(f.animal.as_ref()?.id)).collect();
    let billed: HashMap<ReservationId, Weight> = match weighed.as_slice() {
        [] => HashMap::new(),
        some => carcasses::billed_weights(c, farm, some)?
            .into_iter()
            .flat_map(|b| b.shares)
            .map(|s| (s.reservation, s.weight))
            .collect(),
    };
    let mut out = HashMap::new();
    for (id, order) in orders {
        let facts = facts.remove(&id).unwrap_or_default();
        out.insert(id, one_basis(farm, today, order, facts, billed.get(&id).copied())?);
    }
    Ok(out)
}

fn one_basis(
    farm: &Farm,
    today: NaiveDate,
    order: Order,
    facts: Facts,
    billed: Option<Weight>,
) -> Result<Basis, Failure> {
    let (r, _, o) = &order;
    let part = r.part.unwrap_or(Part::Split);
    let percent = percent_of_side(farm, r.size, part);
    // So many per cent of half an animal, to the hundredth.
    let share = |whole: i64, parts: i64| {
        let parts = parts.saturating_mul(100);
        Weight::from_hundredths(whole.saturating_mul(percent).saturating_add(parts / 2).checked_div(parts).unwrap_or(0))
    };
    let (weight, between, is_weighed, rests_on) = match (billed, o.expected_low, o.expected_high) {
        (Some(weight), ..) => (weight, (weight, weight), true, "the hanging weight"),
        (None, Some(low), Some(high)) => {
            let (low, high) = (low.hundredths(), high.hundredths());
            let middle = share(low.saturating_add(high), 4);
            (middle, (share(low, 2), share(high, 2)), false, "the middle of what the offering expects")
        }
        _ => {
            let (low, middle, high) = usual(o.species, farm.unit, percent)?;
            (middle, (low, high), false, "what a carcass usually weighs")
        }
    };
    let on = facts.date.map_or(today, |(_, day)| day);
    let age_months = facts
        .animal
        .as_ref()
        .filter(|a| a.birth_precision != BirthPrecision::Unknown)
        .and_then(|a| age::months(a.birth_on?, on));
    let hanging = Hanging {
        species: o.species,
        unit: farm.unit,
        weight,
        size: r.size,
        part,
        age_months,
        head_on: false,
        skin_on: false,
    };
    Ok(Basis { hanging, between, is_weighed, rests_on: rests_on.to_string(), order, facts })
}

/// Per cent of one side that a share is: 200 for a whole animal. Where the farm bills as it hung, a forequarter and a
/// hindquarter are what their own weights usually are; where it bills evenly, both are billed half of their side.
pub(super) fn percent_of_side(farm: &Farm, size: Size, part: Part) -> i64 {
    let evenly = farm.split_basis == SplitBasis::Even.as_str();
    match (size, part) {
        (Size::Quarter, Part::Fore) if !evenly => FORE_PERCENT,
        (Size::Quarter, Part::Hind) if !evenly => HIND_PERCENT,
        _ => size.quarters().saturating_mul(50),
    }
}

/// What so many per cent of a side usually weigh by the catalogue: the lightest, the middle, the heaviest.
///
/// # Errors
/// [`Failure::Unexpected`] when the catalogue cannot be read, which is a fault of ours.
pub(super) fn usual(species: Species, unit: Unit, percent: i64) -> Result<(Weight, Weight, Weight), Failure> {
    let catalogue = catalogue(species).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let (low, high) = (catalogue.plausible_side_lb.low.decimal(), catalogue.plausible_side_lb.high.decimal());
    let share = |side: Decimal| {
        let pounds = side * Decimal::new(percent, 2);
        let exact = match unit {
            Unit::Lb => pounds,
            Unit::Kg => pounds * Decimal::new(45_359_237, 8),
        };
        Weight::from_hundredths(crate::trade::decimal::round_fixed(exact, 2).unwrap_or(0))
    };
    Ok((share(low), share((low + high) / Decimal::TWO), share(high)))
}

/// A sheet as it was typed.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct SheetIn {
    /// What was chosen.
    pub kept: Kept,
    /// A wish in words, at most [`LONGEST_WISH`] characters.
    pub special: String,
}

/// What comes home of a sheet, for the share it is made for.
///
/// # Errors
/// [`Failure::Refused`] with every rule it breaks, each at its field.
pub fn forecast(basis: &Basis, kept: &Kept) -> Result<TakeHome<'static>, Failure> {
    let hanging = Hanging { head_on: kept.head_on, skin_on: kept.skin_on, ..basis.hanging };
    take_home(&hanging, &kept.sheet).map_err(|refused| match refused {
        Refused::Unknown { at, error } => Failure::refuse(field_of(&at), format!("{error}.")),
        Refused::Broken(notes) => Failure::Refused(said_once(&notes)),
    })
}

/// Each sentence once, at the field it is about.
pub(super) fn said_once(notes: &[Note]) -> Problems {
    let mut problems = Problems::default();
    for note in notes {
        let sentence = format!("{}.", note.why.trim_end_matches('.'));
        if !problems.0.iter().any(|p| p.sentence == sentence) {
            problems.add(field_of(&note.at), sentence);
        }
    }
    problems
}

/// The form's field for a place in a sheet: `sheet.blocks.rib` is `block-rib`.
pub fn field_of(at: &str) -> String {
    let Some(inside) = at.strip_prefix("sheet.") else {
        return if at == "special" { at.into() } else { String::new() };
    };
    let (kind, rest) = inside.split_once(['.', '[']).unwrap_or((inside, ""));
    let name = rest.split(['.', '[', ']']).next().unwrap_or("");
    match kind {
        "blocks" | "partitions" => format!("block-{name}"),
        "parameters" => format!("param-{name}"),
        // People count from one.
        "sausage" => format!("sausage-{}-weight", name.parse().unwrap_or(0_usize).saturating_add(1)),
        "parts" => "parts".into(),
        _ => String::new(),
    }
}

/// Holds a typed sheet against the rules and against what is done where its share goes. The sheet comes back as it is to be
/// kept: where a field is open and that plant does not do what is usual, what it does is written out.
///
/// # Errors
/// [`Failure::Refused`] with every rule it breaks and everything that the processor does not do, each at its field.
pub fn look_over(basis: &Basis, there: &There, input: &SheetIn) -> Result<(Kept, TakeHome<'static>), Failure> {
    let kept = there.filled(basis, &input.kept);
    let not_done = there.problems(basis, &kept, &input.special);
    match forecast(basis, &kept) {
        Ok(home) => {
            not_done.check()?;
            Ok((kept, home))
        }
        Err(Failure::Refused(mut problems)) => {
            problems.0.extend(not_done.0);
            Err(Failure::Refused(problems))
        }
        Err(e) => Err(e),
    }
}

/// The sheet as it is stored, held against the processor of the order's date.
///
/// # Errors
/// As [`look_over`].
pub(super) fn checked(c: &mut DbConn, basis: &Basis, input: &SheetIn) -> Result<String, Failure> {
    let there = plant_offer::of_order(c, basis)?;
    let (kept, _) = look_over(basis, &there, input)?;
    sheet_json::write(&kept).map_err(Failure::Unexpected)
}

/// Enters or changes a share's cut sheet; `version` is that of the sheet the form was opened with, 0 when there was none.
/// Returns its revision, which counts up only when something changed.
///
/// # Errors
/// [`Failure::Refused`] when a rule is broken or the order is cancelled; [`Failure::Stale`] when somebody saved in between.
pub fn save_sheet(
    tx: &mut Tx,
    doing: &Doing,
    id: ReservationId,
    version: i64,
    input: &SheetIn,
    origin: SheetOrigin,
) -> Result<i64, Failure> {
    let farm = farm::get(tx.conn())?;
    let basis = basis(tx.conn(), &farm, doing.now.today, id)?;
    if basis.order.0.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled, so it needs no cut sheet."));
    }
    if input.special.chars().count() > LONGEST_WISH {
        return Err(Failure::refuse("special", format!("Write the wish in at most {LONGEST_WISH} characters.")));
    }
    let sheet = checked(tx.conn(), &basis, input)?;
    let before = sheets::of(tx.conn(), &[id])?.remove(&id);
    let next = |revision| CutSheet {
        reservation_id: id,
        sheet: sheet.clone(),
        special: input.special.clone(),
        origin,
        revision,
        entered_at: doing.now.at,
        version: 1,
    };
    let revision = match before {
        None if version == 0 => {
            sheets::add(tx, &next(1))?;
            1
        }
        Some(old) if old.version == version => {
            if old.sheet == sheet && old.special == input.special && old.origin == origin {
                return Ok(old.revision);
            }
            let revision = old.revision.saturating_add(1);
            if !sheets::save(tx, &next(revision), version)? {
                return Err(Failure::Stale);
            }
            revision
        }
        _ => return Err(Failure::Stale),
    };
    let line = match (origin, revision) {
        (SheetOrigin::Standard, _) => "The standard cut was entered as its cut sheet".to_string(),
        (SheetOrigin::Entered, 1) => "The cut sheet was entered".to_string(),
        (SheetOrigin::Entered, n) => format!("The cut sheet was changed, revision {n}"),
    };
    let told = Line {
        line,
        detail: input.special.clone(),
        reservation: Some(id),
        customer: Some(basis.order.1.id),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, told)?;
    Ok(revision)
}

#[cfg(test)]
mod tests {
    use super::field_of;

    #[test]
    fn a_place_in_a_sheet_leads_to_its_field() {
        let all = [
            ("sheet.blocks.short_loin", "block-short_loin"),
            ("sheet.partitions.rib[1].pieces", "block-rib"),
            ("sheet.parameters.steak_in", "param-steak_in"),
            ("sheet.sausage[2].form", "sausage-3-weight"),
            ("sheet.sausage", "sausage-1-weight"),
            ("sheet.parts[0]", "parts"),
            ("special", "special"),
            ("hanging_weight", ""),
        ];
        for (at, field) in all {
            assert_eq!(field_of(at), field, "{at}");
        }
    }
}
