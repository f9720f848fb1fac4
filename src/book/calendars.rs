//! The farm's calendar feed, and calendar files that go with messages.

use super::at::At;
use super::conn::DbConn;
use super::ids::MessageId;
use super::rows::calendars::{CalendarFeed, MessageCalendar};
use super::rows::pickups::{PickupPlace, PickupWindow};
use super::rows::plants::{ProcessingDate, Processor};
use super::schema::{calendar_feed, message_calendar, pickup_place, pickup_window, processing_date, processor};
use super::store::Tx;
use chrono::NaiveDate;
use diesel::prelude::*;

/// The feed that works, if there is one.
///
/// # Errors
/// The database's own.
pub fn feed(c: &mut DbConn) -> QueryResult<Option<CalendarFeed>> {
    calendar_feed::table.filter(calendar_feed::ended_at.is_null()).select(CalendarFeed::as_select()).first(c).optional()
}

/// The feed of a token that works.
///
/// # Errors
/// The database's own.
pub fn by_token(c: &mut DbConn, hash: &str) -> QueryResult<Option<CalendarFeed>> {
    calendar_feed::table
        .filter(calendar_feed::token_hash.eq(hash))
        .filter(calendar_feed::ended_at.is_null())
        .select(CalendarFeed::as_select())
        .first(c)
        .optional()
}

/// Ends every feed; how many there were.
///
/// # Errors
/// The database's own.
pub fn end(tx: &mut Tx, at: At) -> QueryResult<usize> {
    diesel::update(calendar_feed::table.filter(calendar_feed::ended_at.is_null()))
        .set(calendar_feed::ended_at.eq(Some(at)))
        .execute(tx.conn())
}

/// Begins a feed.
///
/// # Errors
/// The database's own; a unique violation when one works.
pub fn begin(tx: &mut Tx, new: &CalendarFeed) -> QueryResult<()> {
    diesel::insert_into(calendar_feed::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// The calendar file of a message.
///
/// # Errors
/// The database's own.
pub fn of_message(c: &mut DbConn, id: MessageId) -> QueryResult<Option<MessageCalendar>> {
    message_calendar::table.find(id).select(MessageCalendar::as_select()).first(c).optional()
}

/// Lets a calendar file go with a message.
///
/// # Errors
/// The database's own.
pub fn attach(tx: &mut Tx, new: &MessageCalendar) -> QueryResult<()> {
    diesel::insert_into(message_calendar::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Lets the calendar file of a message go with another one too, if it has one.
///
/// # Errors
/// The database's own.
pub fn copy(tx: &mut Tx, from: MessageId, to: MessageId) -> QueryResult<()> {
    match of_message(tx.conn(), from)? {
        Some(file) => attach(tx, &MessageCalendar { message_id: to, ..file }),
        None => Ok(()),
    }
}

/// Dates since a day that were not cancelled, with their plants; at most 300.
///
/// # Errors
/// The database's own.
pub fn dates_since(c: &mut DbConn, day: NaiveDate) -> QueryResult<Vec<(ProcessingDate, Processor)>> {
    processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::kill_on.ge(day))
        .filter(processing_date::cancelled_at.is_null())
        .order((processing_date::kill_on, processing_date::id))
        .limit(300)
        .select((ProcessingDate::as_select(), Processor::as_select()))
        .load(c)
}

/// Pickup windows since a day that were not called off, with their places; at most 500.
///
/// # Errors
/// The database's own.
pub fn windows_since(c: &mut DbConn, day: NaiveDate) -> QueryResult<Vec<(PickupWindow, PickupPlace)>> {
    pickup_window::table
        .inner_join(pickup_place::table)
        .filter(pickup_window::on_day.ge(day))
        .filter(pickup_window::cancelled_at.is_null())
        .order((pickup_window::on_day, pickup_window::opens, pickup_window::id))
        .limit(500)
        .select((PickupWindow::as_select(), PickupPlace::as_select()))
        .load(c)
}
