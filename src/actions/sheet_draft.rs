//! A cut sheet that its customer fills in page by page: begun, saved at every step as it stands, sent when it keeps every rule.

use super::cut_sheet::{Basis, LONGEST_WISH, SheetIn, basis, field_of};
use super::sheet_open::{Became, May, may_change, send_sheet};
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::rows::sheets::SheetDraft;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, sheet_drafts, sheets};
use crate::trade::cuts::catalogue::{Block, Choice};
use crate::trade::cuts::quarter::fitting;
use crate::trade::cuts::questions::{Answers, sheet_for};
use crate::trade::cuts::sheet::{Hanging, Refused};
use crate::trade::cuts::take_home::take_home;
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::SheetOrigin;

/// The most characters a draft may have as it is kept.
const LONGEST_SHEET: usize = 20_000;
/// The most characters of the pages saved.
const LONGEST_LOOKED: usize = 2_000;

/// What a sheet begins with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Start {
    /// The standard cut.
    Standard,
    /// The sheet that is in already.
    Stored,
    /// What this customer sent last time for a share of this species.
    LastTime,
    /// A ready-made sheet of the catalogue, by its id.
    Ready(String),
    /// Three answers.
    Questions(Answers),
}

/// The draft of an order as its customer left it.
///
/// # Errors
/// [`Failure::Unexpected`] when it cannot be read.
pub fn draft_of(c: &mut DbConn, order: ReservationId) -> Result<Option<(SheetDraft, SheetIn)>, Failure> {
    let Some(draft) = sheet_drafts::of(c, &[order])?.remove(&order) else { return Ok(None) };
    let kept = sheet_json::read(&draft.sheet).map_err(Failure::Unexpected)?;
    let input = SheetIn { kept, special: draft.special.clone() };
    Ok(Some((draft, input)))
}

/// Begins a sheet, or begins it again: `version` is that of the draft it takes the place of, 0 for none. `may` says what the
/// processor does.
///
/// # Errors
/// [`Failure::Refused`] when nothing can be changed any more or there is nothing to begin with; [`Failure::Stale`] when it was
/// begun elsewhere in between; [`Failure::NotFound`] without such an order.
pub fn begin_draft(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    version: i64,
    start: &Start,
    may: &dyn Fn(&Block, &Choice) -> bool,
) -> Result<(), Failure> {
    let basis = open(tx, doing, order)?;
    let stored = sheets::of(tx.conn(), &[order])?.remove(&order);
    let input = match start {
        Start::Standard => SheetIn::default(),
        Start::Stored => match &stored {
            Some(s) => {
                SheetIn { kept: sheet_json::read(&s.sheet).map_err(Failure::Unexpected)?, special: s.special.clone() }
            }
            None => return Err(Failure::refuse("start", "There is no cut sheet yet. Begin with the standard cut.")),
        },
        Start::LastTime => {
            let (r, customer, o) = &basis.order;
            match sheet_drafts::last_time(tx.conn(), customer.id, o.species, r.id)? {
                // Last time may have been half a beef and this time its hindquarter.
                Some((s, ..)) => {
                    let mut kept = sheet_json::read(&s.sheet).map_err(Failure::Unexpected)?;
                    kept.sheet = fitting(&basis.hanging, &kept.sheet);
                    SheetIn { kept, special: s.special }
                }
                None => {
                    return Err(Failure::refuse(
                        "start",
                        "There is no sheet of an earlier time. Begin with the standard cut.",
                    ));
                }
            }
        }
        Start::Ready(id) => ready(&basis, id)?,
        Start::Questions(answers) => {
            let sheet = sheet_for(&basis.hanging, *answers, may).map_err(refused)?;
            SheetIn { kept: Kept { sheet, ..Kept::default() }, special: String::new() }
        }
    };
    let draft = SheetDraft {
        reservation_id: order,
        sheet: sheet_json::write(&input.kept).map_err(Failure::Unexpected)?,
        special: input.special,
        step: String::new(),
        looked: String::new(),
        began_with: stored.map_or(0, |s| s.version),
        changed_at: doing.now.at,
        version: 1,
    };
    match sheet_drafts::of(tx.conn(), &[order])?.remove(&order) {
        None if version == 0 => sheet_drafts::add(tx, &draft)?,
        Some(before) if before.version == version => {
            if !sheet_drafts::save(tx, &draft, version)? {
                return Err(Failure::Stale);
            }
        }
        _ => return Err(Failure::Stale),
    }
    let line = Line {
        line: "The cut sheet was begun by its customer".into(),
        reservation: Some(order),
        customer: Some(basis.order.1.id),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(())
}

/// A ready-made sheet of the catalogue.
fn ready(basis: &Basis, id: &str) -> Result<SheetIn, Failure> {
    let catalogue = basis.hanging.catalogue().map_err(|e| Failure::Unexpected(e.to_string()))?;
    let profile = catalogue
        .profile(id)
        .ok_or_else(|| Failure::refuse("start", "There is no such sheet. Choose one of the list."))?;
    let mut kept = Kept::default();
    kept.sheet.blocks = profile.blocks.clone();
    Ok(SheetIn { kept, special: String::new() })
}

/// Saves what was chosen so far, broken rules and all; `version` is that of the draft the page was opened with. Returns its new
/// version. Steps are not told in the story: what counts is what is sent.
///
/// # Errors
/// [`Failure::Refused`] when something is named that there is none of, or nothing can be changed any more; [`Failure::Stale`]
/// when it was saved elsewhere in between, or never begun.
pub fn save_draft(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    version: i64,
    step: &str,
    input: &SheetIn,
) -> Result<i64, Failure> {
    let basis = open(tx, doing, order)?;
    if input.special.chars().count() > LONGEST_WISH {
        return Err(Failure::refuse("special", format!("Write the wish in at most {LONGEST_WISH} characters.")));
    }
    let hanging = Hanging { head_on: input.kept.head_on, skin_on: input.kept.skin_on, ..basis.hanging };
    if let Err(unknown @ Refused::Unknown { .. }) = take_home(&hanging, &input.kept.sheet) {
        return Err(refused(unknown));
    }
    let before = sheet_drafts::of(tx.conn(), &[order])?.remove(&order).ok_or(Failure::Stale)?;
    let looked = if before.has_looked(step) || step.is_empty() {
        before.looked.clone()
    } else if before.looked.is_empty() {
        step.to_string()
    } else {
        format!("{},{step}", before.looked)
    };
    let sheet = sheet_json::write(&input.kept).map_err(Failure::Unexpected)?;
    if sheet.len() > LONGEST_SHEET || looked.len() > LONGEST_LOOKED {
        return Err(Failure::refuse("", "This cut sheet is longer than the service keeps. Leave something out."));
    }
    let next = SheetDraft {
        sheet,
        special: input.special.clone(),
        step: step.to_string(),
        looked,
        changed_at: doing.now.at,
        ..before
    };
    if !sheet_drafts::save(tx, &next, version)? {
        return Err(Failure::Stale);
    }
    Ok(version.saturating_add(1))
}

/// Sends a draft: it becomes the order's cut sheet, or a wish for the farmer once the sheets are closed, and is a draft no more.
/// `version` is that of the draft, `over` that of the cut sheet its customer has seen beside it, 0 for none.
///
/// # Errors
/// [`Failure::Refused`] with every rule it breaks, each at its field; [`Failure::Stale`] when the draft or the cut sheet changed in
/// between.
pub fn send_draft(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    version: i64,
    over: i64,
) -> Result<Became, Failure> {
    let (draft, input) = draft_of(tx.conn(), order)?.ok_or(Failure::Stale)?;
    if draft.version != version {
        return Err(Failure::Stale);
    }
    let became = send_sheet(tx, doing, order, over, &input, SheetOrigin::Entered)?;
    sheet_drafts::remove(tx, order)?;
    Ok(became)
}

fn open(tx: &mut Tx, doing: &Doing, order: ReservationId) -> Result<Basis, Failure> {
    let farm = farm::get(tx.conn())?;
    let basis = basis(tx.conn(), &farm, doing.now.today, order)?;
    match may_change(tx.conn(), doing.now.today, order)? {
        May::Nothing(why) => Err(Failure::refuse("", why)),
        May::Change(_) | May::Ask(_) => Ok(basis),
    }
}

fn refused(why: Refused) -> Failure {
    match why {
        Refused::Unknown { at, error } => Failure::refuse(field_of(&at), format!("{error}.")),
        Refused::Broken(notes) => {
            let sentence = notes.first().map_or_else(String::new, |n| format!("{}.", n.why));
            Failure::refuse("", sentence)
        }
    }
}
