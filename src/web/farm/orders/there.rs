//! What the cut-sheet form shows for one processor: what can be had there, and what was chosen before although it cannot.

use crate::actions::Failure;
use crate::actions::cut_sheet::Basis;
use crate::actions::plant_offer::There;
use crate::book::rows::sheets::CutSheet;
use crate::trade::cuts::common::Named;
use crate::trade::cuts::offer::{OpenBlock, OpenParameter};
use crate::trade::cuts::said::{packs, range};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::take_home::TakeHome;
use crate::trade::sheet_json;
use crate::web::look::Choices;
use crate::web::look::draft::Draft;
use crate::web::sheet_form::SAUSAGES;
use crate::web::sheet_form::show::ParamField;

/// A block of the side as a field.
pub(super) struct BlockField {
    pub(super) field: String,
    pub(super) label: String,
    pub(super) choices: Choices,
    /// What this share gets of it.
    pub(super) gets: String,
    /// Where pieces can be shared out: the second choice, how many pieces it gets, and what a piece is.
    pub(super) second: Option<(String, String, Choices, String)>,
}

/// A block with the choices there are at the processor, and what stands in the field already.
pub(super) fn block_field(
    basis: &Basis,
    home: Option<&TakeHome<'_>>,
    open: &OpenBlock<'_>,
    chosen: &str,
) -> BlockField {
    let block = open.block;
    let choices: Choices = open.choices.iter().map(|c| (c.id.clone(), upper(&c.name))).collect();
    let mut all: Choices =
        vec![(String::new(), open.standard.map_or("Standard cut".into(), |c| format!("Standard: {}", c.name)))];
    all.extend(choices.iter().cloned());
    // What was chosen before stays to be seen, although it cannot be had.
    if let Some(gone) = block.choice(chosen).filter(|c| !open.choices.contains(c)) {
        all.push((gone.id.clone(), format!("{} (not done there)", upper(&gone.name))));
    }
    let gets: Vec<String> = home.map_or(Vec::new(), |h| {
        h.lines
            .iter()
            .filter(|l| l.block == block.id)
            .map(|l| {
                let pieces = l
                    .pieces
                    .map_or(String::new(), |p| format!(": {} in {}", p.decimal().normalize(), packs(l.packages)));
                let range = range(l.weight.low, l.weight.high, basis.hanging.unit);
                format!("{}{pieces}, {range}", l.name)
            })
            .collect()
    });
    let second = block.pieces.as_ref().map(|p| {
        let label = format!("of {} {}", p.number, p.name);
        (format!("second-{}", block.id), format!("pieces-{}", block.id), choices, label)
    });
    BlockField {
        field: format!("block-{}", block.id),
        label: upper(&block.name),
        choices: all,
        gets: gets.join("; "),
        second,
    }
}

/// What of the stored sheet the processor of its date does not do.
pub(super) fn unfit(basis: &Basis, there: &There, stored: Option<&CutSheet>) -> Result<Vec<String>, Failure> {
    let Some(stored) = stored else { return Ok(Vec::new()) };
    let kept = sheet_json::read(&stored.sheet).map_err(Failure::Unexpected)?;
    let problems = there.problems(basis, &kept, &stored.special);
    Ok(problems.0.into_iter().map(|p| p.sentence).collect())
}

/// A parameter with the values there are at the processor, and what stands in the field already.
pub(super) fn limited(mut field: ParamField, open: &OpenParameter<'_>, chosen: &str) -> ParamField {
    field.choices.retain(|(value, _)| open.values.contains(value) || value == chosen);
    if let Some(usual) = open.usual.as_ref().filter(|u| Some(*u) != open.parameter.default.as_ref()) {
        let words = field.choices.iter().find(|(value, _)| value == usual).map_or(usual.as_str(), |(_, words)| words);
        field.none = format!("{words} (usual there)");
    }
    field
}

/// The choices, and those of what was chosen before that cannot be had any more.
pub(super) fn kept_or<'a>(
    open: impl Iterator<Item = (String, String)>,
    chosen: impl Iterator<Item = &'a str>,
    name: impl Fn(&str) -> Option<String>,
) -> Choices {
    let mut all: Choices = open.collect();
    for id in chosen {
        if let (false, Some(name)) = (all.iter().any(|(value, _)| value == id), name(id)) {
            all.push((id.to_string(), format!("{} (not done there)", upper(&name))));
        }
    }
    all
}

pub(super) fn named<'a>(all: &'a [&Named]) -> impl Iterator<Item = (String, String)> + 'a {
    all.iter().map(|n| (n.id.clone(), upper(&n.name)))
}

pub(super) fn name_of(all: &[Named], id: &str) -> Option<String> {
    all.iter().find(|n| n.id == id).map(|n| n.name.clone())
}

/// What stands in one field of every sausage.
pub(super) fn typed<'a>(draft: &'a Draft, field: &'a str) -> impl Iterator<Item = &'a str> {
    (1..=SAUSAGES).map(move |n| draft.val(format!("sausage-{n}-{field}")))
}
