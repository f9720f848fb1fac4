//! Until when a customer may change a cut sheet, and what becomes of it afterwards: saved while the sheets of the date are open,
//! a wish for the farmer to decide once they are closed.

use super::cut_sheet::{SheetIn, save_sheet};
use super::sheet_request::ask_change;
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{ReservationId, SheetRequestId};
use crate::book::rows::plants::ProcessingDate;
use crate::book::store::Tx;
use crate::book::{reservations, sheets_due};
use crate::trade::dates::full;
use crate::trade::sheets_due::{Lock, lock};
use crate::trade::vocabulary::SheetOrigin;
use chrono::NaiveDate;

/// Whether an order's customer may change the cut sheet on that day, and the date its share is on. Without a date nothing is
/// closed yet. The farmer may always change it.
///
/// # Errors
/// The database's own.
pub fn lock_of(
    c: &mut DbConn,
    today: NaiveDate,
    order: ReservationId,
) -> Result<(Option<ProcessingDate>, Lock), Failure> {
    let Some(date) = sheets_due::date_of(c, order)? else { return Ok((None, Lock::Open(None))) };
    let is_sent = sheets_due::sent(c, &[date.id])?.contains_key(&date.id);
    let holds = lock(date.sheets_due, date.kill_on, today, is_sent, date.sheets_open);
    Ok((Some(date), holds))
}

/// What a customer may do with the cut sheet of an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum May {
    /// Change it, until the end of that day where there is one.
    Change(Option<NaiveDate>),
    /// Ask for a change; the sentence says why no more than that.
    Ask(String),
    /// Nothing any more; the sentence says why.
    Nothing(String),
}

/// What a customer may do with the cut sheet of an order on that day.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn may_change(c: &mut DbConn, today: NaiveDate, order: ReservationId) -> Result<May, Failure> {
    let (r, ..) = reservations::get(c, order)?;
    if r.cancelled_at.is_some() {
        return Ok(May::Nothing("This order is cancelled, so it needs no cut sheet.".into()));
    }
    if r.collected_at.is_some() {
        return Ok(May::Nothing("This share was picked up, so its cut sheet stays as it was.".into()));
    }
    Ok(match lock_of(c, today, order)?.1 {
        Lock::Open(until) => May::Change(until),
        Lock::TimeUp(day) => May::Ask(format!(
            "Cut sheets for this day were due on {}. You can still ask for a change; the farm decides whether it can be done.",
            full(day)
        )),
        Lock::Sent => May::Ask(
            "The processor has the cut sheets for this day. You can still ask for a change; the farm decides whether it \
             can be done."
                .into(),
        ),
    })
}

/// What became of a customer's sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Became {
    /// It is saved as that revision.
    Saved(i64),
    /// It waits for the farmer.
    Asked(SheetRequestId),
}

/// Takes a cut sheet as its customer sent it: saved while the sheets are open, else kept as a wish. `version` is that of the
/// stored sheet the customer began with, 0 for none.
///
/// # Errors
/// [`Failure::Refused`] when a rule is broken or nothing can be changed any more; [`Failure::Stale`] when somebody saved in
/// between.
pub fn send_sheet(
    tx: &mut Tx,
    doing: &Doing,
    order: ReservationId,
    version: i64,
    input: &SheetIn,
    origin: SheetOrigin,
) -> Result<Became, Failure> {
    match may_change(tx.conn(), doing.now.today, order)? {
        May::Change(_) => Ok(Became::Saved(save_sheet(tx, doing, order, version, input, origin)?)),
        May::Ask(_) => Ok(Became::Asked(ask_change(tx, doing, order, input)?)),
        May::Nothing(why) => Err(Failure::refuse("", why)),
    }
}
