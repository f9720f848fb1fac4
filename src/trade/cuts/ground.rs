//! Ground meat and sausage: how lean, how much a side can give at least and at most, how fat.

use super::catalogue::Catalogue;
use super::figure::Figure;
use super::mass::{Dealt, Masses};
use super::settings::Settings;
use super::sheet::{Hanging, Note, Sheet, listed};
use crate::trade::share::Species;
use rust_decimal::Decimal;

/// Grind in hundredths of hundredths of a per cent of the chilled side: the least and the most that choices give.
///
/// Choices that take every block together, such as a whole carcass, do not count; nor does trim that is thrown away.
pub fn floor_and_ceiling(catalogue: &Catalogue) -> (i64, i64) {
    let (mut floor, mut ceiling) = (0, 0);
    for block in &catalogue.blocks {
        let grinds = || block.choices.iter().filter(|c| c.together.is_none()).map(|c| c.grind.hundredths());
        floor += block.share.hundredths() * grinds().min().unwrap_or(0);
        ceiling += block.share.hundredths() * grinds().max().unwrap_or(0);
    }
    (floor, ceiling)
}

/// Per cent of the chilled side, one decimal, for people.
fn percent(of_chilled: i64) -> Decimal {
    Decimal::new(of_chilled, 6).round_dp(1).normalize()
}

/// Brings ground meat to the lean that is asked for: leaner, and fat goes out of it; fatter, and fat that would be left out
/// goes in, as far as there is any. Weight is neither made nor lost.
pub fn to_lean(dealt: &mut Dealt, natural: Figure, wanted: Figure) {
    let (grind, natural, wanted) = (i128::from(dealt.grind), natural.ten_thousandths(), wanted.ten_thousandths());
    if wanted == 0 {
        return;
    }
    let wanted = i128::from(wanted);
    let exact = (grind * i128::from(natural) * 2 + wanted) / (wanted * 2);
    let most = dealt.grind.saturating_add(dealt.fat);
    let new = i64::try_from(exact).unwrap_or(most).min(most);
    dealt.fat += dealt.grind - new;
    dealt.grind = new;
}

/// V21 before anything is weighed: no ground meat at all.
pub fn none(catalogue: &Catalogue, settings: &Settings<'_>) -> Option<Note> {
    if settings.word("ground") != Some("none") || catalogue.species == Species::Goat {
        return None;
    }
    let (floor, _) = floor_and_ceiling(catalogue);
    let why = format!(
        "Even with every whole cut taken, trimming leaves about {} per cent of a side as ground meat. Keep it, or choose to throw \
         the trim away (discard_trim)",
        percent(floor)
    );
    Some(Note::new("V21", "sheet.parameters.ground", why))
}

/// V11: more than half fat, or more than was asked for (9 CFR 319.141, 319.144).
pub fn too_fat(catalogue: &Catalogue, masses: &Masses<'_>, sheet: &Sheet, settings: &Settings<'_>) -> Option<Note> {
    let limit = settings.figure("sausage_fat_pct")?;
    if masses.grind == 0 || (masses.grind_fat == 0 && sheet.sausage.is_empty()) {
        return None;
    }
    let natural = Figure::whole(100).ten_thousandths() - catalogue.trim_lean.percent.ten_thousandths();
    let of = i128::from(Figure::whole(100).ten_thousandths());
    let trim = i128::from(masses.grind - masses.grind_fat);
    let fat = trim * i128::from(natural) + i128::from(masses.grind_fat) * of;
    if fat <= i128::from(masses.grind) * i128::from(limit.ten_thousandths()) {
        return None;
    }
    let percent = (fat * 100 / (i128::from(masses.grind) * of)).min(100);
    let why = format!(
        "With this back fat the ground meat and sausage would be about {percent} per cent fat, more than {limit}; by law sausage is \
         at most half fat (9 CFR 319.141). Leave the back fat out, or grind more lean: the picnic, the butt or the ham"
    );
    Some(Note::new("V11", "sheet.blocks.backfat", why))
}

/// H8, V9 and V21: more sausage than there is ground meat, or than a side can ever give.
pub fn too_much(catalogue: &Catalogue, hanging: &Hanging, sausage: i64, grind: i64) -> Vec<Note> {
    let mut notes = Vec::new();
    if sausage <= grind {
        return notes;
    }
    let unit = hanging.unit.as_str();
    let shown = |n: i64| Decimal::new(n, 2).normalize();
    let more = match hanging.species {
        Species::Hog => listed(&["the picnic", "the butt", "the ham", "the back fat"], "or"),
        _ => "more of the cuts".to_string(),
    };
    let why = format!(
        "{} {unit} of sausage are asked for, and this sheet gives about {} {unit} of ground meat. Ask for at most {} {unit}, or \
         put {more} into it",
        shown(sausage),
        shown(grind),
        shown(grind)
    );
    if hanging.species == Species::Hog {
        notes.push(Note::new("H8", "sheet.sausage", &why));
    }
    notes.push(Note::new("V9", "sheet.sausage", &why));
    let (_, ceiling) = floor_and_ceiling(catalogue);
    let chilled = 10_000 - catalogue.shrink.expected.hundredths();
    let most = i128::from(hanging.weight.hundredths()) * i128::from(ceiling) * i128::from(chilled) / 1_000_000_000_000;
    if i128::from(sausage) > most {
        let most = shown(i64::try_from(most).unwrap_or(i64::MAX));
        let why = format!(
            "Even with everything ground this share gives about {most} {unit} of ground meat, and {} {unit} of sausage are asked \
             for. Ask for less",
            shown(sausage)
        );
        notes.push(Note::new("V21", "sheet.sausage", why));
    }
    notes
}
