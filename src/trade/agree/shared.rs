//! What holds for a whole side besides its blocks: how thick it is sawn, the cure of a shared ham, how lean the ground meat is, how
//! long it hangs. Packs, roast weights, patties and sausage are each household's own.

use super::two::{Two, Who};
use super::{Cutting, Decision, Item, Settled, Side};
use crate::trade::cuts::catalogue::{Block, Catalogue, Choice, Count};
use crate::trade::cuts::common::{Common, Parameter};

/// Parameters that hold for a whole side. Common practice: what is sawn in one run, cured as one piece, ground in one batch or
/// hung together; no source.
pub const PARAMETERS: &[&str] =
    &["steak_in", "cubed_in", "pork_chop_in", "ham_slice_in", "ham_cure", "ground_lean_pct", "ageing_days"];

/// Settles them. Gives the items that matter to this side, and what each parameter is then; none where it is left to its default.
pub fn settle(
    catalogue: &Catalogue,
    common: &Common,
    side: &Side<'_>,
    cuttings: &[(String, Cutting)],
) -> (Vec<Item>, Vec<(String, Option<String>)>) {
    let (mut items, mut values) = (Vec::new(), Vec::new());
    let parameters = PARAMETERS.iter().filter_map(|id| common.parameter(catalogue.species, id));
    for parameter in parameters.filter(|p| matters(catalogue, side, cuttings, p)) {
        let (item, value) = one(common, side, parameter);
        values.push((parameter.id.clone(), value));
        if item.settled != Settled::Unsaid {
            items.push(item);
        }
    }
    (items, values)
}

fn said<'a>(side: &Side<'a>, who: Who, id: &str) -> Option<&'a String> {
    side.quarters.of(who).sheet?.parameters.get(id)
}

/// Whether anything that is cut in one way for the whole side depends on it.
fn matters(catalogue: &Catalogue, side: &Side<'_>, cuttings: &[(String, Cutting)], parameter: &Parameter) -> bool {
    let id = parameter.id.as_str();
    let discards = |who| said(side, who, "ground").is_some_and(|word| word == "discard_trim");
    match id {
        "ageing_days" => return true,
        "ground_lean_pct" => return !Who::BOTH.into_iter().any(discards),
        _ => {}
    }
    let asks = |(block, choice): (&Block, &Choice)| {
        let cuts = || choice.cut.keys().filter_map(|cut| catalogue.cuts.get(cut));
        let thick = |count: &Count| match count {
            Count::Slice { thickness, .. } | Count::DoubleSlice { thickness, .. } => thickness == id,
            _ => false,
        };
        match id {
            "cubed_in" => choice.cut.contains_key("cubed_steak"),
            "ham_cure" => choice.cured && block.cure_parameter.as_deref() == Some(id),
            _ => cuts().any(|cut| thick(&cut.count)),
        }
    };
    cuttings
        .iter()
        .filter_map(|(block, cutting)| match cutting {
            Cutting::Side(slices) => Some((catalogue.block(block)?, slices)),
            Cutting::Own(_) => None,
        })
        .flat_map(|(block, slices)| slices.iter().filter_map(move |s| Some((block, block.choice(&s.choice)?))))
        .any(asks)
}

fn one(common: &Common, side: &Side<'_>, parameter: &Parameter) -> (Item, Option<String>) {
    let id = parameter.id.as_str();
    let (first, second) = (said(side, Who::First, id), said(side, Who::Second, id));
    let mut may = Vec::new();
    let settled = match (first, second) {
        (None, None) => Settled::Unsaid,
        (Some(_), None) => Settled::Follows(Who::First),
        (None, Some(_)) => Settled::Follows(Who::Second),
        (Some(a), Some(b)) if a == b => Settled::Same,
        (Some(_), Some(_)) => {
            may = vec![Decision::First, Decision::Second, Decision::Standard];
            match side.decided.get(id).filter(|d| may.contains(d)) {
                Some(decision) => Settled::Decided(*decision),
                None => Settled::Open,
            }
        }
    };
    let value = match settled {
        Settled::Follows(Who::First) | Settled::Same | Settled::Decided(Decision::First) => first,
        Settled::Follows(Who::Second) | Settled::Decided(Decision::Second) => second,
        _ => parameter.default.as_ref(),
    };
    let words = |value: Option<&String>| value.map(|v| in_words(common, parameter, v));
    let usual = || "as the plant usually does".to_string();
    let name = &parameter.name;
    let item = Item {
        id: parameter.id.clone(),
        name: name.clone(),
        wishes: Two::new(words(first), words(second)),
        settled,
        takes: words(value).unwrap_or_else(usual),
        standard: words(parameter.default.as_ref()).unwrap_or_else(usual),
        why: match settled {
            Settled::Unsaid => "Neither quarter has said anything here.".into(),
            Settled::Same => "Both quarters wish the same.".into(),
            Settled::Follows(_) => "Only one quarter has said anything here, and the whole side follows it.".into(),
            Settled::Decided(Decision::Standard) => "The wishes differ, and the farm decided for the usual.".into(),
            Settled::Decided(_) => "The wishes differ, and the farm decided for one of them.".into(),
            Settled::Open | Settled::Pieces => format!(
                "The wishes differ, and the {name} is one for the whole side. Until the farm decides, it is the usual."
            ),
        },
        may,
    };
    let value = match settled {
        Settled::Unsaid => None,
        _ => value.cloned(),
    };
    (item, value)
}

/// "1.25 inches", "dry-cured and smoked", "90 %".
fn in_words(common: &Common, parameter: &Parameter, value: &str) -> String {
    match parameter.unit.as_str() {
        "word" => {
            common.cures.iter().find(|c| c.id == value).map_or_else(|| value.replace('_', " "), |c| c.name.clone())
        }
        "in" => match crate::trade::cuts::figure::Figure::parse(value) {
            Ok(figure) => crate::trade::instructions::inches(figure),
            Err(_) => format!("{value} inches"),
        },
        unit => format!("{value} {unit}"),
    }
}
