//! What stands beside every page of the form: what comes home so far, and the list of its parts.

use super::{HOME, Seen};
use crate::actions::Failure;
use crate::actions::cut_sheet::SheetIn;
use crate::trade::cuts::said::{packs, range};
use crate::web::look::parts::Standing;
use crate::web::sheet_form::show;
use std::collections::BTreeSet;

/// A part of the form in the list.
pub(super) struct PartLine {
    /// Its number.
    pub(super) number: usize,
    /// What a person reads.
    pub(super) title: String,
    /// Its page.
    pub(super) href: String,
    /// Whether it is the page shown.
    pub(super) is_here: bool,
    /// Looked at, open, or to be looked at again.
    pub(super) standing: Standing,
}

/// The running summary.
pub(super) struct SoFar {
    /// What comes home, freezer, ground meat.
    pub(super) sums: Vec<(String, String)>,
    /// Where the freezer space comes from; empty without sums.
    pub(super) source: String,
    /// Said in place of the sums while a rule is broken; empty otherwise.
    pub(super) instead: String,
    /// What the ranges rest on.
    pub(super) rests_on: String,
    /// The parts of the form.
    pub(super) parts: Vec<PartLine>,
    /// "Three of nine parts looked at."
    pub(super) open: String,
    /// The page that shows the whole sheet.
    pub(super) check: String,
}

impl SoFar {
    pub(super) fn new(seen: &Seen, input: &SheetIn, here: Option<usize>) -> Result<Self, Failure> {
        let unit = seen.basis.hanging.unit;
        let (mut sums, mut source, mut instead) = (Vec::new(), String::new(), String::new());
        let mut wrong: BTreeSet<usize> = BTreeSet::new();
        match seen.forecast(input)? {
            Ok(home) => {
                let all = format!(
                    "{} in about {}",
                    range(home.packaged.low, home.packaged.high, unit),
                    packs(show::packs(&home))
                );
                sums.push(("Comes home".to_string(), all));
                let plant = seen.there.plant.as_ref().map(|p| p.id);
                sums.push(show::own_yields(seen.own.say(&seen.hanging(input), &home, plant), unit, "our"));
                sums.push(show::freezer(&home));
                if !home.ground.expected.is_zero() {
                    sums.push(("Ground meat".into(), range(home.ground.low, home.ground.high, unit)));
                }
                let costs = seen.costs(input, &home);
                for row in costs.rows.iter().filter(|row| row.is_sum && row.what.starts_with("To ")) {
                    sums.push((row.what.clone(), row.amount.clone()));
                }
                for s in &home.sausage {
                    let name = seen.common.seasonings.iter().find(|n| n.id == s.seasoning);
                    let name = name.map_or(s.seasoning.as_str(), |n| n.name.as_str());
                    let label = format!("Sausage, {name}");
                    sums.push((label, range(s.weight.low, s.weight.high, unit)));
                }
                source = show::freezer_source(seen.common);
            }
            Err(problems) => {
                wrong.extend(problems.iter().filter_map(|(field, _)| seen.step_of(field)));
                instead = "What comes home is reckoned again when everything on the sheet can be cut.".into();
            }
        }
        let looked = |slug: &str| seen.draft.as_ref().is_some_and(|(d, _)| d.has_looked(slug));
        let parts: Vec<PartLine> = seen
            .steps
            .iter()
            .enumerate()
            .map(|(n, step)| PartLine {
                number: n + 1,
                title: step.title(),
                href: seen.href(n),
                is_here: here == Some(n),
                standing: if wrong.contains(&n) {
                    Standing::todo("Look again")
                } else if here == Some(n) {
                    Standing::todo("Here")
                } else if looked(&step.slug) {
                    Standing::done("Chosen")
                } else {
                    Standing::wait("Open")
                },
            })
            .collect();
        let done = seen.steps.iter().filter(|s| looked(&s.slug)).count();
        let open = match seen.steps.len().saturating_sub(done) {
            0 => "You have been through every part.".to_string(),
            _ => format!(
                "You have been through {done} of {} parts. What you leave open stays as it is now.",
                parts.len()
            ),
        };
        let weight = seen.basis.hanging.weight.short();
        let rests_on = if seen.basis.is_weighed {
            format!("Reckoned from the {weight} {unit} your share hung at.")
        } else {
            format!(
                "Reckoned from {weight} {unit} hanging, {}; your share will hang at more or less.",
                seen.basis.rests_on
            )
        };
        Ok(Self { sums, source, instead, rests_on, parts, open, check: format!("{HOME}/check") })
    }
}
