//! The shares of a proposal as the page lists them, and the places each could be put by hand.

use super::lines::{self, NONE};
use crate::actions::place_share::{Spot, Target};
use crate::actions::propose_plan::{Change, Line, is_barred, is_part};
use crate::book::placements::Share;
use crate::book::planning::{Situation, Wanted};
use crate::book::rows::animals::Animal;
use crate::trade::dates::short;
use crate::trade::share::{Side, Size};
use crate::web::farm::heads::{share_words, targets};
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::{Choices, capital};
use chrono::NaiveDate;

/// Selects get every place of their species while there are at most so many in all; above, only those with room.
const MOST_OPTIONS: usize = 4_000;

/// One share.
pub(super) struct Row {
    pub(super) order: Link,
    /// "half beef, 2027-031".
    pub(super) share: String,
    pub(super) size: Size,
    /// Its number, for what the script sets.
    pub(super) id: i64,
    /// The hidden line.
    pub(super) line: String,
    /// Whether there is something to take, and whether it is ticked.
    pub(super) changes: bool,
    pub(super) ticked: bool,
    pub(super) place: String,
    pub(super) standing: Standing,
    pub(super) why: String,
    pub(super) cautions: Vec<String>,
    pub(super) sheet: String,
    /// The name of its select.
    pub(super) field: String,
    pub(super) targets: Choices,
    /// The value of the box that holds it there; empty when it has no place or is locked.
    pub(super) held: String,
    pub(super) is_held: bool,
    /// "lock-12" or "unlock-12"; empty when it stands nowhere or would move.
    pub(super) lock: String,
    pub(super) is_locked: bool,
    /// Whether what can be done with it is folded away: it stays, and nothing was chosen for it.
    pub(super) is_folded: bool,
}

/// "Steer 211, left side".
pub(super) fn spot_words(animal: &Animal, spot: Spot) -> String {
    match spot {
        Spot::Whole => animal.name(),
        Spot::Side(side) => format!("{}, {} side", animal.name(), side.label()),
    }
}

fn place_words(s: &Situation, to: Target, today: NaiveDate) -> String {
    let Some(animal) = s.head.iter().find(|a| a.id == to.animal) else { return String::new() };
    let day = s.date_of(animal).map_or(String::new(), |(d, _)| format!(" ({})", short(d.kill_on, today)));
    format!("{}{day}", spot_words(animal, to.spot))
}

/// The line of one order; `after` is how all would hang, for finding room.
pub(super) fn row(
    s: &Situation,
    wanted: &Wanted,
    line: &Line,
    after: &[Share],
    today: NaiveDate,
    draft: &Draft,
) -> Row {
    let r = &wanted.reservation;
    let from = line.from.map(|t| place_words(s, t, today));
    let change = line.change();
    let (value, held) = (lines::value(line), lines::held(line));
    let was_shown = draft.checked("line", &value);
    let standing = match change {
        _ if wanted.locked => Standing::done("Locked"),
        Change::Stays => Standing::wait("Stays"),
        Change::Moves => Standing::part("Moves"),
        Change::New => Standing::part("New place"),
        Change::Loses => Standing::late("Loses its place"),
        Change::LeftOut => Standing::todo("Left out"),
    };
    let place = match (change, line.to.map(|t| place_words(s, t, today))) {
        (Change::Moves, Some(to)) => format!("{to}, from {}", from.unwrap_or_default()),
        (Change::Loses, _) => format!("No place, from {}", from.unwrap_or_default()),
        (_, Some(to)) => to,
        (_, None) => "No place".into(),
    };
    let id = r.id.0;
    Row {
        order: Link::new(format!("/orders/{id}"), wanted.name.clone()),
        share: format!("{} {}, {}", share_words(r.size, r.part), wanted.species.label(), r.number),
        size: r.size,
        id,
        changes: line.changes(),
        ticked: if was_shown { draft.checked("take", &value) } else { true },
        line: value,
        place: capital(&place),
        standing,
        why: line.why.clone(),
        cautions: line.cautions.clone(),
        sheet: format!("/orders/{id}/cut-sheet"),
        field: lines::field(r.id),
        targets: if wanted.locked || is_part(wanted) { Vec::new() } else { by_hand(s, wanted, after, today) },
        is_held: line.pinned && draft.checked("hold", &held),
        held: if line.to.is_none() || wanted.locked || is_part(wanted) { String::new() } else { held },
        lock: match (wanted.locked, change) {
            (true, _) => format!("unlock-{id}"),
            (false, Change::Stays) => format!("lock-{id}"),
            _ => String::new(),
        },
        is_locked: wanted.locked,
        is_folded: change == Change::Stays && !line.pinned && !wanted.locked,
    }
}

/// Every place it could be put by hand, then "No place".
fn by_hand(s: &Situation, wanted: &Wanted, after: &[Share], today: NaiveDate) -> Choices {
    let size = wanted.reservation.size;
    let may: Vec<&Animal> = s.head.iter().filter(|a| a.species == wanted.species && !is_barred(s, a)).collect();
    let mut found: Choices = if may.len().saturating_mul(s.orders.len()) <= MOST_OPTIONS {
        let spots: &[Spot] = match size {
            Size::Whole => &[Spot::Whole],
            Size::Half | Size::Quarter => &[Spot::Side(Side::Left), Spot::Side(Side::Right)],
        };
        let one = |a: &Animal, spot: Spot| {
            let to = Target { animal: a.id, spot };
            (to.to_string(), place_words(s, to, today))
        };
        may.iter().flat_map(|a| spots.iter().map(|spot| one(a, *spot))).collect()
    } else {
        let head: Vec<_> = may.iter().map(|a| ((*a).clone(), s.date_of(a).map(|(d, _)| d.kill_on))).collect();
        targets(&head, after, size, wanted.reservation.part, wanted.share.as_ref(), today)
    };
    found.push((NONE.into(), "No place".into()));
    found
}
