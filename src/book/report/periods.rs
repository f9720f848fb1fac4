//! The years and seasons there is anything to report of.

use crate::book::conn::DbConn;
use crate::book::schema::{ledger_entry, offering, processing_date, reservation};
use crate::trade::report::period::Period;
use chrono::{Datelike, NaiveDate};
use diesel::dsl::min;
use diesel::prelude::*;
use std::collections::BTreeMap;

/// Seasons that can be chosen at most; the newest.
const MOST: usize = 60;

/// This year and those before it back to the first entry or day of slaughter, newest first; then the seasons in which anything was
/// ordered, newest first.
///
/// # Errors
/// The database's own.
pub fn periods(c: &mut DbConn, today: NaiveDate) -> QueryResult<Vec<Period>> {
    let posted: Option<NaiveDate> = ledger_entry::table.select(min(ledger_entry::day)).first(c)?;
    let killed: Option<NaiveDate> = processing_date::table.select(min(processing_date::kill_on)).first(c)?;
    let first = [posted, killed].into_iter().flatten().min().map_or(today.year(), |d| d.year().min(today.year()));
    let seasons: Vec<(String, i64)> = offering::table
        .inner_join(reservation::table)
        .group_by(offering::season)
        .select((offering::season, diesel::dsl::sql::<diesel::sql_types::BigInt>("MAX(reservation.id)")))
        .load(c)?;
    let newest: BTreeMap<i64, String> = seasons.into_iter().map(|(name, last)| (last, name)).collect();
    let years = (first..=today.year()).rev().map(Period::Year);
    Ok(years.chain(newest.into_values().rev().take(MOST).map(Period::Season)).collect())
}
