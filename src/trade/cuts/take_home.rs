//! The take-home forecast: what a sheet makes of a hanging weight.
//!
//! Expected weights, bone, fat, loss and shrink add up to the hanging weight to the hundredth. A share is reckoned as the
//! quarters it is made of, so that two halves are the whole and two quarters the half, exactly; forequarters and hindquarters are
//! reckoned from their own weight (see [`quarter`]). Ranges are for planning and say
//! in the catalogue what they rest on; nothing is billed by them.

use super::catalogue::Catalogue;
use super::common::Common;
use super::figure::Figure;
use super::mass::{Dealt, Masses};
use super::pieces::{Quarters, by_weight, pack_of, packages, pieces};
use super::plan::Plan;
use super::rules::{Look, all};
use super::settings::Settings;
use super::sheet::{Hanging, Note, Refused, Sheet};
use super::wishes;
use super::{common, ground, quarter};
use crate::trade::decimal::round_fixed;
use crate::trade::split::by_largest_remainder;
use crate::trade::weight::{Unit, Weight};
use rust_decimal::Decimal;

/// From, most likely, to.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Band {
    /// From.
    pub low: Weight,
    /// Most likely.
    pub expected: Weight,
    /// To.
    pub high: Weight,
}

/// One cut of one block.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line<'a> {
    /// The cut's id.
    pub cut: &'a str,
    /// What a person reads.
    pub name: &'a str,
    /// The block's id.
    pub block: &'a str,
    /// The kind of meat for [`Common::storage`].
    pub keeps: &'a str,
    /// Its weight.
    pub weight: Band,
    /// Its pieces, if they are counted.
    pub pieces: Option<Quarters>,
    /// Its packs.
    pub packages: i64,
}

/// One sausage.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SausageLine {
    /// Its seasoning.
    pub seasoning: String,
    /// Its form.
    pub form: String,
    /// Its weight.
    pub weight: Band,
    /// Its packs.
    pub packages: i64,
}

/// What comes home.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TakeHome<'a> {
    /// The cuts, in the order of the side.
    pub lines: Vec<Line<'a>>,
    /// Ground meat without sausage.
    pub ground: Band,
    /// Its packs.
    pub ground_packages: i64,
    /// Sausage.
    pub sausage: Vec<SausageLine>,
    /// Parts outside the hanging weight and what this share of them weighs.
    pub parts: Vec<(&'a str, Weight)>,
    /// Cuts, ground meat and sausage together.
    pub packaged: Band,
    /// `packaged.expected` in per cent of the hanging weight, two decimals.
    pub percent_of_hanging: Decimal,
    /// Bone left out.
    pub bone: Weight,
    /// Fat left out.
    pub fat: Weight,
    /// Lost in curing, smoking and rendering.
    pub loss: Weight,
    /// Lost in the cooler.
    pub shrink: Weight,
    /// Cubic feet of freezer, from and to, two decimals.
    pub cubic_feet: (Decimal, Decimal),
    /// Cautions.
    pub cautions: Vec<Note>,
}

/// Kilograms in a pound, by definition: 0.45359237.
const KG_IN_POUND: Decimal = Decimal::from_parts(45_359_237, 0, 0, false, 8);

/// A weight in pounds.
pub fn pounds(unit: Unit, weight: Decimal) -> Decimal {
    match unit {
        Unit::Lb => weight,
        Unit::Kg => weight.checked_div(KG_IN_POUND).unwrap_or(weight),
    }
}

/// Reckons a sheet.
///
/// # Errors
/// [`Refused::Broken`] with every rule that is broken; [`Refused::Unknown`] when something is named that is not offered, or the
/// weight is nothing or the catalogue cannot be used.
pub fn take_home(hanging: &Hanging, sheet: &Sheet) -> Result<TakeHome<'static>, Refused> {
    let faulty = |e: &super::BadCatalogue| Refused::unknown("", e.to_string());
    let (catalogue, common) = (hanging.catalogue().map_err(faulty)?, common().map_err(faulty)?);
    quarter::only_its_own(hanging, sheet)?;
    let mut home = by(catalogue, common, hanging, sheet)?;
    home.cautions.extend(quarter::caution(hanging));
    Ok(home)
}

/// Reckons a sheet by a catalogue.
///
/// # Errors
/// As [`take_home`].
pub fn by<'a>(
    catalogue: &'a Catalogue,
    common: &'a Common,
    hanging: &Hanging,
    sheet: &Sheet,
) -> Result<TakeHome<'a>, Refused> {
    if hanging.weight.is_zero() {
        return Err(Refused::unknown("hanging_weight", "The hanging weight is nothing. Give a weight above 0"));
    }
    wishes::known(catalogue, common, sheet)?;
    let settings = Settings::new(common, hanging.species, sheet)?;
    let plan = Plan::new(catalogue, hanging, sheet)?;
    let found = all(&Look { catalogue, hanging, sheet, plan: &plan, settings: &settings });
    let masses = Masses::new(catalogue, common, &plan, &settings);
    let dealt = Sums::new(catalogue, common, hanging, &masses, &settings)
        .ok_or_else(|| Refused::unknown("hanging_weight", "This weight cannot be reckoned with. Give a smaller one"))?;
    let mut lines = lines(common, hanging, &masses, &settings, &dealt);

    let mut broken: Vec<Note> =
        [&plan.broken, &settings.broken, &found.broken].into_iter().flatten().cloned().collect();
    broken.extend(ground::none(catalogue, &settings));
    broken.extend(ground::too_fat(catalogue, &masses, sheet, &settings));
    let sausage: i64 = sheet.sausage.iter().fold(0, |sum, s| sum.saturating_add(s.weight.hundredths()));
    broken.extend(ground::too_much(catalogue, hanging, sausage, dealt.expected.grind));
    broken.extend(wishes::roasts(catalogue, hanging, sheet, &settings, &mut lines));
    if !broken.is_empty() {
        return Err(Refused::Broken(broken));
    }
    let mut cautions = settings.cautions.clone();
    cautions.extend(found.cautions);
    cautions.extend(packs_too_large(catalogue, sheet, &settings, &lines));
    Ok(answer(catalogue, common, hanging, sheet, &settings, lines, &dealt, sausage, cautions))
}

/// The sums over the quarters of a share, in hundredths.
struct Sums {
    expected: Dealt,
    low: Dealt,
    high: Dealt,
    packaged_low: i64,
    packaged: i64,
    packaged_high: i64,
    quarters: Vec<i64>,
}

impl Sums {
    fn new(
        catalogue: &Catalogue,
        common: &Common,
        hanging: &Hanging,
        masses: &Masses<'_>,
        settings: &Settings<'_>,
    ) -> Option<Self> {
        let count = usize::try_from(hanging.counted()).ok()?;
        let quarters = by_largest_remainder(hanging.weight.hundredths(), &vec![1; count])?;
        let nothing = || Dealt { cuts: vec![0; masses.cuts.len()], ..Dealt::default() };
        let mut sums = Self {
            expected: nothing(),
            low: nothing(),
            high: nothing(),
            packaged_low: 0,
            packaged: 0,
            packaged_high: 0,
            quarters: Vec::new(),
        };
        for weight in &quarters {
            let mut dealt = masses.deal(*weight)?;
            if let Some(lean) = settings.figure("ground_lean_pct") {
                ground::to_lean(&mut dealt, catalogue.trim_lean.percent, lean);
            }
            sums.add(catalogue, common, *weight, &dealt)?;
        }
        sums.quarters = quarters;
        Some(sums)
    }

    fn add(&mut self, catalogue: &Catalogue, common: &Common, weight: i64, dealt: &Dealt) -> Option<()> {
        let range = &common.range;
        // Nothing weighs more than the side does after the least shrink.
        let most = weight - part(weight, catalogue.shrink.low)?;
        for (i, expected) in dealt.cuts.iter().enumerate() {
            let off = part(*expected, range.cut_percent)?;
            *self.expected.cuts.get_mut(i)? += expected;
            *self.low.cuts.get_mut(i)? += expected - off;
            *self.high.cuts.get_mut(i)? += (expected + off).min(most.max(*expected));
        }
        let off = part(dealt.grind, range.ground_percent)?;
        self.low.grind += dealt.grind - off;
        self.high.grind += dealt.grind + off;
        self.expected.grind += dealt.grind;
        self.expected.bone += dealt.bone;
        self.expected.fat += dealt.fat;
        self.expected.loss += dealt.loss;
        self.expected.shrink += dealt.shrink;
        let packaged = dealt.cuts.iter().sum::<i64>() + dealt.grind;
        let off = part(weight, range.packaged_points)?;
        self.packaged += packaged;
        self.packaged_low += (packaged - off).max(0);
        self.packaged_high += (packaged + off).min(most.max(packaged));
        Some(())
    }
}

/// So many per cent of a weight, cut off to the hundredth.
fn part(weight: i64, percent: Figure) -> Option<i64> {
    weight.checked_mul(percent.hundredths()).map(|n| n / 10_000)
}

fn lines<'a>(
    common: &Common,
    hanging: &Hanging,
    masses: &Masses<'a>,
    settings: &Settings<'_>,
    sums: &Sums,
) -> Vec<Line<'a>> {
    let bands = sums.low.cuts.iter().zip(&sums.expected.cuts).zip(&sums.high.cuts);
    let line = |(mass, ((low, expected), high)): (&super::mass::CutMass<'a>, ((&i64, &i64), &i64))| {
        let lb = pounds(hanging.unit, Decimal::new(*expected, 2));
        let pieces = pieces(mass, settings, common.saw_kerf_in.inches, lb, hanging.counted());
        Line {
            cut: mass.id,
            name: &mass.cut.name,
            block: &mass.block.id,
            keeps: &mass.cut.keeps,
            weight: band(*low, *expected, *high),
            pieces,
            packages: packages(&mass.cut.count, pieces, settings, lb),
        }
    };
    masses.cuts.iter().zip(bands).map(line).collect()
}

fn band(low: i64, expected: i64, high: i64) -> Band {
    let weight = Weight::from_hundredths;
    Band { low: weight(low), expected: weight(expected), high: weight(high) }
}

/// Cubic feet of freezer for so many pounds, two decimals.
fn cubic_feet(lb: Decimal, lb_per_cubic_foot: Figure) -> Decimal {
    let feet = lb.checked_div(lb_per_cubic_foot.decimal()).unwrap_or_default();
    Decimal::new(round_fixed(feet, 2).unwrap_or(0), 2)
}

/// V23: a pack larger than all there is of a cut.
fn packs_too_large(catalogue: &Catalogue, sheet: &Sheet, settings: &Settings<'_>, lines: &[Line<'_>]) -> Vec<Note> {
    let mut notes: Vec<Note> = Vec::new();
    for line in lines {
        let pack = catalogue.cuts.get(line.cut).and_then(|c| pack_of(&c.count));
        let Some(pack) = pack.filter(|p| sheet.parameters.contains_key(*p)) else { continue };
        let (Some(pieces), Some(each)) = (line.pieces, settings.whole(pack)) else { continue };
        if pieces < Quarters::whole(each) {
            let why = format!(
                "A pack of {each} is asked for, and this share gives {} of “{}”. They come in one smaller pack",
                pieces.decimal(),
                line.name
            );
            notes.push(Note::new("V23", format!("sheet.parameters.{pack}"), why));
        }
    }
    notes
}

#[expect(clippy::too_many_arguments, reason = "the answer draws on everything that was reckoned")]
fn answer<'a>(
    catalogue: &'a Catalogue,
    common: &Common,
    hanging: &Hanging,
    sheet: &Sheet,
    settings: &Settings<'_>,
    lines: Vec<Line<'a>>,
    sums: &Sums,
    sausage: i64,
    cautions: Vec<Note>,
) -> TakeHome<'a> {
    let lb = |hundredths: i64| pounds(hanging.unit, Decimal::new(hundredths, 2));
    let (low, expected, high) = (sums.low.grind, sums.expected.grind, sums.high.grind);
    let ground = band((low - sausage).max(0), expected - sausage, (high - sausage).max(0));
    let ground_lb = lb(ground.expected.hundredths());
    let sausage_line = |s: &super::sheet::Sausage| {
        let asked = s.weight.hundredths();
        // In a lean year all sausages become smaller together.
        let least = if sausage > low { asked.checked_mul(low).map_or(0, |n| n / sausage.max(1)) } else { asked };
        SausageLine {
            seasoning: s.seasoning.clone(),
            form: s.form.clone(),
            weight: band(least, asked, asked),
            packages: by_weight(lb(asked), settings.figure("sausage_pkg_lb")),
        }
    };
    let weight = Weight::from_hundredths;
    let percent = Decimal::from(sums.packaged * 100).checked_div(Decimal::from(hanging.weight.hundredths()));
    TakeHome {
        ground,
        ground_packages: wishes::ground_packs(settings, ground_lb),
        sausage: sheet.sausage.iter().map(sausage_line).collect(),
        parts: wishes::parts(catalogue, sheet, &sums.quarters),
        packaged: band(sums.packaged_low, sums.packaged, sums.packaged_high),
        percent_of_hanging: Decimal::new(percent.and_then(|p| round_fixed(p, 2)).unwrap_or(0), 2),
        bone: weight(sums.expected.bone),
        fat: weight(sums.expected.fat),
        loss: weight(sums.expected.loss),
        shrink: weight(sums.expected.shrink),
        cubic_feet: (
            cubic_feet(lb(sums.packaged_low), common.freezer.lb_per_cubic_foot_high),
            cubic_feet(lb(sums.packaged_high), common.freezer.lb_per_cubic_foot_low),
        ),
        lines,
        cautions,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn freezer_space_is_a_cubic_foot_for_35_to_40_pounds() {
        // University of Missouri MX3001: 400, 140 and 490 lb packaged.
        for (lb, at35, at40) in [(400, 1143, 1000), (140, 400, 350), (490, 1400, 1225)] {
            let feet = |per| cubic_feet(Decimal::from(lb), Figure::whole(per));
            assert_eq!((feet(35), feet(40)), (Decimal::new(at35, 2), Decimal::new(at40, 2)));
        }
    }

    #[test]
    fn a_kilogram_is_what_the_definition_says() {
        assert_eq!(pounds(Unit::Kg, Decimal::new(45_359_237, 6)), Decimal::ONE_HUNDRED);
        assert_eq!(pounds(Unit::Lb, Decimal::TEN), Decimal::TEN);
    }
}
