//! One line of a file of weights.

use super::{Fate, Field, Said, cell, other_unit};
use crate::trade::carcass::Hung;
use crate::trade::sheet_file::columns::Matched;
use crate::trade::sheet_file::figure::{self, Style, is_blank};
use crate::trade::sheet_file::{Fault, Line, Table, shortened};
use crate::trade::vocabulary::CarcassBasis;
use crate::trade::weight::{Unit, Weight};

/// The longest tag, carcass number and note that are taken over, in characters, as the weigh-in form has them.
const LONGEST_TAG: usize = 40;
const LONGEST_NUMBER: usize = 30;
const LONGEST_NOTE: usize = 200;

/// The style of all weights of the file.
pub fn style(table: &Table, columns: &Matched) -> Style {
    let weights = || Field::WEIGHTS.into_iter().filter_map(|f| columns.get(f.as_str()));
    Style::of(table.lines.iter().flat_map(|line| weights().map(|n| line.cell(*n))))
}

/// Reads a line; none when all the chosen cells are blank.
///
/// # Errors
/// All that is wrong with it.
pub fn read(
    table: &Table,
    columns: &Matched,
    style: Style,
    unit: Unit,
    line: &Line,
) -> Result<Option<Said>, Vec<Fault>> {
    if columns.values().all(|n| is_blank(line.cell(*n))) {
        return Ok(None);
    }
    let mut faults = Vec::new();
    let fault = |field: Field, says: String| match columns.get(field.as_str()) {
        Some(n) => table.fault(line, *n, says),
        None => Fault::line(line.number, says),
    };
    let text = |field: Field| Some(cell(columns, line, field)).filter(|c| !is_blank(c)).unwrap_or("");
    for (field, longest) in [(Field::Tag, LONGEST_TAG), (Field::Number, LONGEST_NUMBER), (Field::Note, LONGEST_NOTE)] {
        let n = text(field).chars().count();
        if n > longest {
            faults.push(fault(
                field,
                format!("{n} characters stand here and only {longest} fit. Shorten it in the file."),
            ));
        }
    }
    let mut weights = [None; 7];
    for (field, weight) in Field::WEIGHTS.into_iter().zip(&mut weights) {
        match one_weight(text(field), style, unit) {
            Ok(read) => *weight = read,
            Err(says) => faults.push(fault(field, says)),
        }
    }
    let basis = basis(text(Field::Basis)).unwrap_or_else(|says| {
        faults.push(fault(Field::Basis, says));
        None
    });
    if !faults.is_empty() {
        return Err(faults);
    }
    let hung = hung(weights).map_err(|(field, says)| vec![fault(field, says)])?;
    let fate = fate(hung, text(Field::Condemned), text(Field::Note)).map_err(|(f, says)| vec![fault(f, says)])?;
    Ok(Some(Said {
        line: line.number,
        tag: text(Field::Tag).to_string(),
        number: text(Field::Number).to_string(),
        basis,
        fate,
    }))
}

fn one_weight(text: &str, style: Style, unit: Unit) -> Result<Option<Weight>, String> {
    if text.is_empty() {
        return Ok(None);
    }
    let figure = figure::read(text, style)?;
    if let Some(other) = figure.unit.filter(|u| *u != unit) {
        return Err(format!("“{}”: {}", shortened(text), other_unit(other, unit)));
    }
    let weight = Weight::parse(&figure.plain).map_err(|e| e.sentence(text, "389.5."))?;
    if weight.is_zero() {
        return Err("The weight is 0. Leave the cell blank when it was not weighed.".into());
    }
    Ok(Some(weight))
}

fn basis(text: &str) -> Result<Option<CarcassBasis>, String> {
    match text.to_ascii_lowercase().trim_end_matches('.') {
        "" => Ok(None),
        "hot" | "h" | "hcw" | "warm" => Ok(Some(CarcassBasis::Hot)),
        "cold" | "c" | "ccw" | "chilled" => Ok(Some(CarcassBasis::Cold)),
        _ => Err(format!("“{}” is neither hot nor cold. Write one of them, or leave it blank.", shortened(text))),
    }
}

/// The weights of a line: quarters before sides before the total. Where more is written, it has to add up.
fn hung(weights: [Option<Weight>; 7]) -> Result<Option<Hung>, (Field, String)> {
    let [left, right, total, left_fore, left_hind, right_fore, right_hind] = weights;
    let added = |whole: Hung, parts: &str| -> Result<Option<Hung>, (Field, String)> {
        let Ok(sum) = whole.total() else {
            return Err((Field::Total, "The weights add up to more than a weight can be. Correct them.".into()));
        };
        match total.filter(|t| *t != sum) {
            Some(total) => Err((
                Field::Total,
                format!(
                    "The total is {}, and {parts} are {} together. Correct one of them in the file.",
                    total.shown(),
                    sum.shown()
                ),
            )),
            None => Ok(Some(whole)),
        }
    };
    let blank = |field: Field, others: &str| {
        Err((field, format!("The {} is blank. Write {others}, or the total only.", field.label().to_lowercase())))
    };
    match (left_fore, left_hind, right_fore, right_hind) {
        (Some(left_fore), Some(left_hind), Some(right_fore), Some(right_hind)) => {
            let sides = [(Field::Left, left, left_fore, left_hind), (Field::Right, right, right_fore, right_hind)];
            for (field, side, fore, hind) in sides {
                if let Some(side) = side.filter(|s| fore.plus(hind).ok() != Some(*s)) {
                    let says = format!(
                        "The {} is {}, and its quarters are {} and {}. Correct one of them in the file.",
                        field.label().to_lowercase(),
                        side.shown(),
                        fore.shown(),
                        hind.shown()
                    );
                    return Err((field, says));
                }
            }
            return added(Hung::Quarters { left_fore, left_hind, right_fore, right_hind }, "the quarters");
        }
        (None, None, None, None) => {}
        (None, ..) => return blank(Field::LeftFore, "all four quarters"),
        (_, None, ..) => return blank(Field::LeftHind, "all four quarters"),
        (_, _, None, _) => return blank(Field::RightFore, "all four quarters"),
        _ => return blank(Field::RightHind, "all four quarters"),
    }
    match (left, right) {
        (Some(left), Some(right)) => added(Hung::Sides { left, right }, "both sides"),
        (None, None) => Ok(total.map(Hung::Total)),
        (None, Some(_)) => blank(Field::Left, "both sides"),
        (Some(_), None) => blank(Field::Right, "both sides"),
    }
}

/// Words that say that nothing was condemned, and those that say it without saying what.
const NO: &[&str] = &["no", "n", "0", "false", "passed", "ok", "nothing"];
const YES: &[&str] = &["yes", "y", "x", "1", "true", "condemned", "parts", "partly"];
const WHOLE: &[&str] =
    &["whole", "all", "carcass", "whole carcass", "condemned whole", "whole condemned", "all condemned"];

fn fate(hung: Option<Hung>, condemned: &str, note: &str) -> Result<Fate, (Field, String)> {
    let word = condemned.to_ascii_lowercase();
    let is = |list: &[&str]| list.contains(&word.as_str());
    if word.is_empty() || is(NO) {
        return Ok(hung.map_or(Fate::NotYet, |hung| Fate::Hung { hung, condemned_parts: None }));
    }
    // The cell's own words, unless they say no more than yes.
    let own = if is(YES) || is(WHOLE) { "" } else { condemned };
    let says = [own, note].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join("; ");
    if says.chars().count() > LONGEST_NOTE {
        return Err((
            Field::Condemned,
            format!("What was condemned has more than {LONGEST_NOTE} characters. Shorten it in the file."),
        ));
    }
    match hung {
        None if is(WHOLE) => Ok(Fate::Condemned(says)),
        // A liver was condemned and the carcass not weighed yet, or all of it was: a whole head is never given up by a guess.
        None => Err((
            Field::Condemned,
            "Something was condemned and no weight is written. Write “whole” here if it was the whole carcass; else write what hangs, or \
             leave this blank until it is weighed."
                .into(),
        )),
        Some(_) if is(WHOLE) => Err((
            Field::Condemned,
            "The whole carcass is condemned and a weight is written. Take one of them out of the file.".into(),
        )),
        Some(_) if says.is_empty() => {
            Err((Field::Condemned, "Parts were condemned. Write which ones, in this cell or as the reason.".into()))
        }
        Some(hung) => Ok(Fate::Hung { hung, condemned_parts: Some(says) }),
    }
}
