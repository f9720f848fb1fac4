//! Cut sheets as their deadline comes: reminders, the standard cut when time is up, and what the farmer sets for one date.

use super::cut_sheet::{SheetIn, save_sheet};
use super::message_values::order_values;
use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, MessageId, ReservationId};
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::ProcessingDate;
use crate::book::rows::sheets::SheetReminder;
use crate::book::sheets_due::{self, Due};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, farm};
use crate::post::envelope::check_address;
use crate::post::phrases::{how_to_send, if_no_sheet, long_date};
use crate::post::wording::{Purpose, Values};
use crate::trade::sheets_due::{ReminderDays, days_left};
use crate::trade::vocabulary::SheetOrigin;
use chrono::Timelike;

/// From which hour of the farm's day reminders go out; nobody wants one at midnight.
const MORNING: u32 = 8;

/// What messages about an order's cut sheet can say.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn sheet_values(
    c: &mut DbConn,
    farm: &Farm,
    date: &ProcessingDate,
    order: ReservationId,
) -> Result<Values, Failure> {
    let last = date.sheets_due.map_or_else(|| "the day before slaughter".to_string(), long_date);
    Ok(order_values(c, order)?
        .with("date", long_date(date.kill_on))
        .with("sheets_due", last)
        .with("how_to_send", how_to_send(&farm.phone, &farm.mail))
        .with("if_none", if_no_sheet(farm.sheets_standard && date.sheets_due.is_some())))
}

/// The farm's reminder days. What cannot be read counts as none.
pub fn reminder_days(farm: &Farm) -> ReminderDays {
    ReminderDays::parse(&farm.sheet_reminders).unwrap_or_default()
}

/// Whether a customer can be reminded by mail; the others are for the farmer to phone.
pub fn has_mail(due: &Due) -> bool {
    check_address(&due.mail).is_ok()
}

/// Reminds, by mail, those whose cut sheet is missing: once for each reminder day of the farm, from the morning on. Safe to run
/// again. Returns how many were reminded.
///
/// # Errors
/// [`Failure::Refused`] when the wording cannot be filled.
pub fn remind_missing(tx: &mut Tx, doing: &Doing) -> Result<usize, Failure> {
    if doing.now.at.utc().with_timezone(&doing.now.zone).hour() < MORNING {
        return Ok(0);
    }
    let farm = farm::get(tx.conn())?;
    let days = reminder_days(&farm);
    let mut coming: Vec<(ProcessingDate, i64)> = Vec::new();
    for (date, _) in dates::coming(tx.conn(), doing.now.today)? {
        let today = date.sheets_due.and_then(|due| days.due(days_left(due, doing.now.today)));
        if let Some(day) = today.filter(|_| !date.no_reminders) {
            coming.push((date, day));
        }
    }
    let ids: Vec<_> = coming.iter().map(|(d, _)| d.id).collect();
    let (shares, done) = (sheets_due::on_dates(tx.conn(), &ids)?, sheets_due::reminders(tx.conn(), &ids)?);
    let mut n = 0;
    for (date, day) in &coming {
        let is_done =
            |s: &Due| done.iter().any(|r| (r.reservation_id, r.date_id, r.days) == (s.reservation, date.id, *day));
        for share in shares.iter().filter(|s| s.date == date.id && s.is_missing() && has_mail(s) && !is_done(s)) {
            remind(tx, doing, &farm, date, share, *day)?;
            n += 1;
        }
    }
    Ok(n)
}

fn remind(
    tx: &mut Tx,
    doing: &Doing,
    farm: &Farm,
    date: &ProcessingDate,
    share: &Due,
    days: i64,
) -> Result<MessageId, Failure> {
    let values = sheet_values(tx.conn(), farm, date, share.reservation)?;
    let (customer, reservation) = (share.customer, Some(share.reservation));
    let say = ToSay { customer, reservation, purpose: Purpose::SheetReminder, values, attachment: None };
    let message = queue_message(tx, doing, &say)?;
    let (reservation_id, date_id, made_at) = (share.reservation, date.id, doing.now.at);
    sheets_due::note_reminder(
        tx,
        &SheetReminder { reservation_id, date_id, days, made_at, message_id: Some(message) },
    )?;
    let left = date.sheets_due.map(|due| days_left(due, doing.now.today));
    let when = match left {
        Some(0) => ", due today".to_string(),
        Some(1) => ", due tomorrow".to_string(),
        Some(n) if n > 1 => format!(", due in {n} days"),
        _ => String::new(),
    };
    let line = Line {
        line: format!("A reminder of the missing cut sheet was put into the outbox{when}"),
        customer: Some(customer),
        reservation,
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(message)
}

fn missing_share(tx: &mut Tx, date: DateId, order: ReservationId) -> Result<(ProcessingDate, Due), Failure> {
    let (stored, _) = dates::get(tx.conn(), date)?;
    let share = sheets_due::on_dates(tx.conn(), &[date])?.into_iter().find(|s| s.reservation == order);
    let share = share.ok_or(Failure::NotFound)?;
    if !share.is_missing() {
        return Err(Failure::refuse("", format!("The cut sheet of {} is in already.", share.name)));
    }
    Ok((stored, share))
}

/// The farmer reminds one customer now, by mail, text message or letter. The reminder of the farm's day that holds today does
/// not follow then.
///
/// # Errors
/// [`Failure::Refused`] when the sheet is in already; [`Failure::NotFound`] when the share is not on that date.
pub fn remind_now(tx: &mut Tx, doing: &Doing, date: DateId, order: ReservationId) -> Result<MessageId, Failure> {
    let (date, share) = missing_share(tx, date, order)?;
    let farm = farm::get(tx.conn())?;
    let left = date.sheets_due.map_or(0, |due| days_left(due, doing.now.today)).max(0);
    let day = reminder_days(&farm).due(left).unwrap_or(left);
    remind(tx, doing, &farm, &date, &share, day)
}

/// Enters the standard cut where the deadline's day is over and no sheet came, and tells the customers. An order that was taken
/// after the deadline is left to the farmer, and so is a date whose sheets the farmer opened again. Safe to run again. Returns
/// how many sheets were entered.
///
/// # Errors
/// [`Failure::Refused`] when the wording cannot be filled.
pub fn standard_when_time_is_up(tx: &mut Tx, doing: &Doing) -> Result<usize, Failure> {
    let farm = farm::get(tx.conn())?;
    if !farm.sheets_standard {
        return Ok(0);
    }
    let mut over = dates::coming(tx.conn(), doing.now.today)?;
    over.retain(|(d, _)| d.sheets_due.is_some_and(|due| due < doing.now.today) && !d.sheets_open);
    let ids: Vec<_> = over.iter().map(|(d, _)| d.id).collect();
    let shares = sheets_due::on_dates(tx.conn(), &ids)?;
    let mut n = 0;
    for share in shares.iter().filter(|s| s.is_missing()) {
        let Some((date, _)) = over.iter().find(|(d, _)| d.id == share.date) else { continue };
        if date.sheets_due.is_none_or(|due| share.taken_at.day(doing.now.zone) > due) {
            continue;
        }
        match save_standard(tx, doing, share) {
            Ok(()) => {}
            // A share the standard cut does not fit is for the farmer to look at; its sheet was refused before it was written.
            Err(Failure::Refused(why)) => {
                tracing::warn!(order = %share.number, ?why, "no standard cut was entered");
                continue;
            }
            Err(e) => return Err(e),
        }
        // A notice that cannot be written takes the sheet back with it: nobody gets the standard cut in silence.
        tell_standard(tx, doing, &farm, date, share)?;
        n += 1;
    }
    Ok(n)
}

fn save_standard(tx: &mut Tx, doing: &Doing, share: &Due) -> Result<(), Failure> {
    save_sheet(tx, doing, share.reservation, 0, &SheetIn::default(), SheetOrigin::Standard)?;
    Ok(())
}

fn tell_standard(tx: &mut Tx, doing: &Doing, farm: &Farm, date: &ProcessingDate, share: &Due) -> Result<(), Failure> {
    let values = sheet_values(tx.conn(), farm, date, share.reservation)?;
    let (customer, reservation) = (share.customer, Some(share.reservation));
    queue_message(
        tx,
        doing,
        &ToSay { customer, reservation, purpose: Purpose::SheetStandard, values, attachment: None },
    )?;
    Ok(())
}

/// The farmer enters the standard cut for one customer, who is told.
///
/// # Errors
/// As [`remind_now`].
pub fn standard_now(tx: &mut Tx, doing: &Doing, date: DateId, order: ReservationId) -> Result<(), Failure> {
    let (date, share) = missing_share(tx, date, order)?;
    let farm = farm::get(tx.conn())?;
    save_standard(tx, doing, &share)?;
    tell_standard(tx, doing, &farm, &date, &share)
}

/// What the farmer sets for the cut sheets of one date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SheetWays {
    /// Nobody is reminded by itself.
    pub no_reminders: bool,
    /// Customers may change their sheets although time is up or the packet is sent.
    pub sheets_open: bool,
    /// What the plant calls the booking, or empty.
    pub plant_reference: String,
}

/// Saves it. `version` is that of the date the form was opened with.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between; [`Failure::NotFound`] when there is no such date.
pub fn set_sheet_ways(tx: &mut Tx, doing: &Doing, id: DateId, version: i64, ways: &SheetWays) -> Result<(), Failure> {
    let (stored, _) = dates::get(tx.conn(), id)?;
    let SheetWays { no_reminders, sheets_open, plant_reference } = ways.clone();
    let changed = ProcessingDate { no_reminders, sheets_open, plant_reference, ..stored.clone() };
    if !dates::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    let line = match (stored.sheets_open, changed.sheets_open) {
        (false, true) => "The cut sheets were opened again for the customers",
        (true, false) => "The cut sheets were closed for the customers",
        _ => "What holds for the cut sheets of this date was changed",
    };
    stories::tell(tx, doing.now.at, &doing.actor, Line { line: line.into(), date: Some(id), ..Line::default() })?;
    Ok(())
}
