//! The page of the plan: by date and animal how it is and how it would be, then every share with its reason.

use super::rows::{Row, row};
use super::settings::Settings;
use crate::actions::place_share::Target;
use crate::actions::propose_plan::{Change, Line, Proposal, after};
use crate::book::placements::Share;
use crate::book::planning::Situation;
use crate::book::rows::animals::Animal;
use crate::book::rows::plan::PlanAcceptance;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::trade::dates::{long, short};
use crate::trade::share::Species;
use crate::trade::vocabulary::Inspection;
use crate::web::farm::heads::{free_quarters, free_words, rail_called};
use crate::web::farm::settings::parts::quarters;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::rail::{Defs, Rail};
use crate::web::look::words::counted;
use crate::web::look::{Choices, Frame, Tab, capital, choices};
use askama::Template;

/// One drawing of a head.
pub(super) struct Figure {
    pub(super) rail: Rail,
    pub(super) name: Link,
    /// The number of the head where a share can be dropped; `None` on a drawing of today.
    pub(super) head: Option<i64>,
    pub(super) owners: String,
    pub(super) standing: Standing,
}

/// One date with its head and the shares that would hang on them.
pub(super) struct Day {
    pub(super) id: String,
    pub(super) heading: String,
    pub(super) note: String,
    pub(super) caution: String,
    pub(super) figures: Vec<Figure>,
    pub(super) rows: Vec<Row>,
}

#[derive(Template)]
#[template(path = "farm/plan/show.html")]
pub(super) struct PlanPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    lead: String,
    /// Whether it is proven, or what is open.
    proof: String,
    basis: String,
    days: Vec<Day>,
    out: Vec<Row>,
    missing: Vec<(Link, String)>,
    elsewhere: String,
    last: Option<Link>,
    any_head: bool,
    any_order: bool,
    changes: usize,
    /// The species, for the hidden field.
    species: &'static str,
    keep: bool,
    from: u8,
    all_species: Choices,
    froms: Choices,
    settings: Draft,
}

impl PlanPage {
    const fn defs(&self) -> Defs {
        Defs::MEDIUM
    }

    pub(super) fn new(
        farmer: &Farmer,
        settings: &Settings,
        found: &Proposal,
        draft: Draft,
        last: Option<PlanAcceptance>,
    ) -> Self {
        let (s, today) = (&found.situation, farmer.now.today);
        let hang = after(s, &found.lines);
        let changes = found.lines.iter().filter(|l| l.changes()).count();
        let rows = |wanted: &dyn Fn(&Line) -> bool| -> Vec<Row> {
            let both = s.orders.iter().zip(&found.lines).filter(|(_, l)| wanted(l));
            both.map(|(w, l)| row(s, w, l, &hang, today, &draft)).collect()
        };
        let days = s.dates.iter().filter_map(|date| day(s, date, found, &hang, farmer, &rows)).collect();
        let species = settings.species.map_or("", Species::as_str);
        let missing = found.part_sold.iter().filter_map(|(id, says)| {
            let animal = s.head.iter().find(|a| a.id == *id)?;
            Some((Link::new(format!("/animals/{id}"), animal.name()), says.clone()))
        });
        let last = last.map(|a| {
            let what = if a.undoes.is_some() { "Last taken back" } else { "Last taken" };
            let words = format!("{what} {} by {}", short(a.accepted_at.day(farmer.now.zone), today), a.accepted_by);
            Link::new(format!("/plan/accepted/{}", a.id), words)
        });
        let set = Draft::empty()
            .with("species", species)
            .with_some("keep", settings.keep.then_some("yes"))
            .with("from", settings.from.to_string());
        Self {
            frame: farmer.frame(Tab::Animals),
            heading: heading(&found.lines),
            lead: lead(&found.lines),
            proof: found
                .open
                .clone()
                .unwrap_or_else(|| "Proven: by the rules of the plan there is no better one.".into()),
            basis: found.basis.clone(),
            days,
            out: rows(&|l| l.to.is_none()),
            missing: missing.collect(),
            elsewhere: elsewhere(s.elsewhere),
            last,
            any_head: !s.head.is_empty(),
            any_order: !s.orders.is_empty(),
            changes,
            species,
            keep: settings.keep,
            from: settings.from,
            all_species: choices(Species::ALL, Species::as_str, Species::label),
            froms: quarters(),
            settings: set,
            draft,
        }
    }
}

/// One date; none when no head of the plan is on it.
fn day(
    s: &Situation,
    (date, plant): &(ProcessingDate, Processor),
    found: &Proposal,
    hang: &[Share],
    farmer: &Farmer,
    rows: &dyn Fn(&dyn Fn(&Line) -> bool) -> Vec<Row>,
) -> Option<Day> {
    let head: Vec<&Animal> = s.head.iter().filter(|a| a.date_id == Some(date.id)).collect();
    if head.is_empty() {
        return None;
    }
    let here = |t: Option<Target>| t.is_some_and(|t| head.iter().any(|a| a.id == t.animal));
    let over: Vec<String> = Species::ALL
        .iter()
        .filter_map(|species| {
            let n = head.iter().filter(|a| a.species == *species).count();
            let booked = s.slots.iter().filter(|b| b.date_id == date.id && b.species == *species);
            let booked: i64 = booked.map(|b| b.head).sum();
            (i64::try_from(n).unwrap_or(i64::MAX) > booked)
                .then(|| format!("{n} {} head are on this date, and {booked} slots are booked.", species.label()))
        })
        .collect();
    Some(Day {
        id: format!("d{}", date.id),
        heading: format!("{}, {}", long(date.kill_on, farmer.now.today), plant.name),
        note: match plant.inspection {
            Inspection::Custom => "Custom-exempt: every quarter must have an owner before slaughter.".into(),
            _ => String::new(),
        },
        caution: over.join(" "),
        figures: head.iter().flat_map(|a| figures(s, a, found, hang)).collect(),
        rows: rows(&|l| here(l.to)),
    })
}

/// A head once when nothing changes on it, else as it is and as it would be.
fn figures(s: &Situation, animal: &Animal, found: &Proposal, hang: &[Share]) -> Vec<Figure> {
    let touched = |t: Option<Target>| t.is_some_and(|t| t.animal == animal.id);
    let changed = found.lines.iter().any(|l| l.changes() && (touched(l.from) || touched(l.to)));
    let figure = |shares: &[Share], which: &str, standing: Standing| {
        let rail = rail_called(format!("rail-{}-{which}", animal.id), animal, shares, None);
        let owners: Vec<_> = rail.owners().into_iter().map(|o| format!("{} {}", o.letter, o.name)).collect();
        Figure {
            rail,
            name: Link::new(format!("/animals/{}", animal.id), animal.name()),
            head: (which != "now").then_some(animal.id.0),
            owners: owners.join(", "),
            standing,
        }
    };
    let free = |shares: &[Share]| free_words(free_quarters(animal, shares)).to_lowercase();
    if !changed {
        return vec![figure(hang, "stays", Standing::wait(format!("Unchanged, {}", free(hang))))];
    }
    vec![
        figure(&s.shares, "now", Standing::wait(format!("Now, {}", free(&s.shares)))),
        figure(hang, "then", Standing::part(format!("Proposed, {}", free(hang)))),
    ]
}

fn how_many(lines: &[Line], change: Change) -> usize {
    lines.iter().filter(|l| l.change() == change).count()
}

/// The answer first: "Three shares can get a place, one would move".
fn heading(lines: &[Line]) -> String {
    let n = |change| how_many(lines, change);
    let mut parts = Vec::new();
    if n(Change::New) > 0 {
        parts.push(format!("{} can get a place", counted(n(Change::New), "share", "shares")));
    }
    if n(Change::Moves) > 0 {
        parts.push(format!("{} would move", counted(n(Change::Moves), "share", "shares")));
    }
    if n(Change::Loses) > 0 {
        parts.push(format!("{} would lose its place", counted(n(Change::Loses), "share", "shares")));
    }
    if parts.is_empty() { "Nothing to move".into() } else { capital(&parts.join(", ")) }
}

fn lead(lines: &[Line]) -> String {
    let n = |change| how_many(lines, change);
    let stay = match n(Change::Stays) {
        0 => String::new(),
        stay => format!("{} where it is. ", capital(&counted(stay, "share stays", "shares stay"))),
    };
    let out = match n(Change::LeftOut) {
        0 => "Nobody is left out.".to_string(),
        out => format!("{} left out.", capital(&counted(out, "share is", "shares are"))),
    };
    let stay = stay.replace("shares stay where it is", "shares stay where they are");
    format!("{stay}{out} Nothing moves before you take it, and nobody is told by it.")
}

fn elsewhere(n: usize) -> String {
    match n {
        0 => String::new(),
        n => format!(
            "{} on head without a date and stay out of the plan.",
            capital(&counted(n, "share hangs", "shares hang"))
        )
        .replace("share hangs on head without a date and stay", "share hangs on a head without a date and stays"),
    }
}
