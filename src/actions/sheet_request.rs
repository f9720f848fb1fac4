//! Late wishes for a cut sheet: after the sheets of a date are closed, a customer asks and the farmer takes or refuses.

use super::cut_sheet::{LONGEST_WISH, SheetIn, basis, checked, save_sheet};
use super::queue_message::{ToSay, queue_message};
use super::sheet_open::lock_of;
use super::sheet_time::sheet_values;
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{ReservationId, SheetRequestId};
use crate::book::reservations::Order;
use crate::book::rows::plants::ProcessingDate;
use crate::book::rows::sheets::{CutSheet, NewSheetRequest, SheetRequest};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{farm, sheets, sheets_due};
use crate::post::wording::Purpose;
use crate::trade::cuts::sheet::Hanging;
use crate::trade::instructions::{Instruction, instructions};
use crate::trade::sheet_changes::{Difference, differences, parts};
use crate::trade::sheet_json::{self, Kept};
use crate::trade::sheets_due::Lock;
use crate::trade::vocabulary::{RequestDecision, SheetOrigin};
use chrono::NaiveDate;

/// The longest note to a customer, in characters.
pub const LONGEST_NOTE: usize = 300;

/// Writes down what a customer wants changed; an earlier wish of the order that waits is replaced. For orders whose sheet is
/// closed only.
///
/// # Errors
/// [`Failure::Refused`] when the sheet can still be changed, a rule is broken, or the order is cancelled.
pub fn ask_change(tx: &mut Tx, doing: &Doing, id: ReservationId, input: &SheetIn) -> Result<SheetRequestId, Failure> {
    let farm = farm::get(tx.conn())?;
    let basis = basis(tx.conn(), &farm, doing.now.today, id)?;
    if basis.order.0.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This order is cancelled, so it needs no cut sheet."));
    }
    if matches!(lock_of(tx.conn(), doing.now.today, id)?.1, Lock::Open(_)) {
        return Err(Failure::refuse("", "This cut sheet is still open. Save the change itself."));
    }
    if input.special.chars().count() > LONGEST_WISH {
        return Err(Failure::refuse("special", format!("Write the wish in at most {LONGEST_WISH} characters.")));
    }
    let sheet = checked(tx.conn(), &basis, input)?;
    let special = input.special.clone();
    let asked = sheets_due::ask(tx, &NewSheetRequest { reservation_id: id, sheet, special, asked_at: doing.now.at })?;
    let line = Line {
        line: "A late change to the cut sheet was asked for".into(),
        reservation: Some(id),
        customer: Some(basis.order.1.id),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(asked)
}

/// A wish as the farmer looks at it.
pub struct Wish {
    /// What was asked.
    pub request: SheetRequest,
    /// The order.
    pub order: Order,
    /// The date its share is on.
    pub date: Option<ProcessingDate>,
    /// The sheet as it is.
    pub sheet: Option<CutSheet>,
    /// What would change, a sentence for each part.
    pub changes: Vec<String>,
}

fn written(hanging: &Hanging, text: &str) -> Result<Vec<Instruction>, Failure> {
    let kept = sheet_json::read(text).map_err(Failure::Unexpected)?;
    let hanging = Hanging { head_on: kept.head_on, skin_on: kept.skin_on, ..*hanging };
    instructions(&hanging, &kept.sheet)
        .map_err(|e| Failure::Unexpected(format!("a stored cut sheet cannot be read: {e:?}")))
}

/// What a request would change.
///
/// # Errors
/// [`Failure::NotFound`] when there is none; [`Failure::Unexpected`] when a stored sheet cannot be read.
pub fn look(c: &mut DbConn, today: NaiveDate, id: SheetRequestId) -> Result<Wish, Failure> {
    let request = sheets_due::request(c, id)?;
    let farm = farm::get(c)?;
    let order = request.reservation_id;
    let basis = basis(c, &farm, today, order)?;
    let sheet = sheets::of(c, &[order])?.remove(&order);
    let standard = sheet_json::write(&Kept::default()).map_err(Failure::Unexpected)?;
    let (text, special) = sheet.as_ref().map_or((standard.as_str(), ""), |s| (s.sheet.as_str(), s.special.as_str()));
    let (was, now) = (written(&basis.hanging, text)?, written(&basis.hanging, &request.sheet)?);
    let changes =
        differences(parts(&was, special), parts(&now, &request.special)).iter().map(Difference::says).collect();
    Ok(Wish { date: sheets_due::date_of(c, order)?, order: basis.order, sheet, changes, request })
}

/// Takes a request: the sheet gets a new revision, and the customer is told.
///
/// # Errors
/// [`Failure::Refused`] when it was decided already or a rule is broken by now; [`Failure::NotFound`] when there is none.
pub fn take_change(tx: &mut Tx, doing: &Doing, id: SheetRequestId) -> Result<ReservationId, Failure> {
    let wish = open_wish(tx, doing, id)?;
    let kept = sheet_json::read(&wish.request.sheet).map_err(Failure::Unexpected)?;
    let input = SheetIn { kept, special: wish.request.special.clone() };
    let (order, version) = (wish.request.reservation_id, wish.sheet.as_ref().map_or(0, |s| s.version));
    save_sheet(tx, doing, order, version, &input, SheetOrigin::Entered)?;
    decided(tx, doing, &wish, RequestDecision::Taken, "")?;
    Ok(order)
}

/// Refuses a request: the sheet stays as it is, and the customer is told why.
///
/// # Errors
/// [`Failure::Refused`] when it was decided already, or `note` is empty or longer than [`LONGEST_NOTE`].
pub fn refuse_change(tx: &mut Tx, doing: &Doing, id: SheetRequestId, note: &str) -> Result<ReservationId, Failure> {
    let wish = open_wish(tx, doing, id)?;
    if note.trim().is_empty() || note.chars().count() > LONGEST_NOTE {
        let sentence = format!("Write why, in at most {LONGEST_NOTE} characters; the customer reads it.");
        return Err(Failure::refuse("note", sentence));
    }
    decided(tx, doing, &wish, RequestDecision::Refused, note.trim())?;
    Ok(wish.request.reservation_id)
}

fn open_wish(tx: &mut Tx, doing: &Doing, id: SheetRequestId) -> Result<Wish, Failure> {
    let wish = look(tx.conn(), doing.now.today, id)?;
    match wish.request.decision {
        None => Ok(wish),
        Some(d) => Err(Failure::refuse("", format!("This was {} already.", d.label()))),
    }
}

fn decided(tx: &mut Tx, doing: &Doing, wish: &Wish, decision: RequestDecision, note: &str) -> Result<(), Failure> {
    let (r, customer, _) = &wish.order;
    if !sheets_due::decide(tx, wish.request.id, decision, note, doing.now.at)? {
        return Err(Failure::Stale);
    }
    let (purpose, line) = match decision {
        RequestDecision::Taken => (Purpose::SheetTaken, "The late change to the cut sheet was taken"),
        RequestDecision::Refused => (Purpose::SheetRefused, "The late change to the cut sheet was refused"),
    };
    if let Some(date) = &wish.date {
        let farm = farm::get(tx.conn())?;
        let changes = if wish.changes.is_empty() { "Nothing differs.".into() } else { wish.changes.join("\n") };
        let values =
            sheet_values(tx.conn(), &farm, date, r.id)?.with("changes", changes).with("reason", note.to_string());
        queue_message(
            tx,
            doing,
            &ToSay { customer: customer.id, reservation: Some(r.id), purpose, values, attachment: None },
        )?;
    }
    let line = Line {
        line: line.into(),
        detail: note.into(),
        reservation: Some(r.id),
        customer: Some(customer.id),
        date: wish.date.as_ref().map(|d| d.id),
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(())
}
