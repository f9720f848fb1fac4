//! Instants as they are stored: milliseconds since 1970 in UTC.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};

/// An instant: milliseconds since 1970-01-01 in UTC.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    diesel::expression::AsExpression,
    diesel::deserialize::FromSqlRow,
)]
#[diesel(sql_type = diesel::sql_types::BigInt)]
pub struct At(pub i64);

impl At {
    /// The instant of a clock reading.
    pub fn from_utc(t: DateTime<Utc>) -> Self {
        Self(t.timestamp_millis())
    }
    /// As a UTC date and time; instants outside chrono's range show as 1970.
    pub fn utc(self) -> DateTime<Utc> {
        DateTime::from_timestamp_millis(self.0).unwrap_or_default()
    }
    /// The calendar day in `zone`.
    pub fn day(self, zone: chrono_tz::Tz) -> NaiveDate {
        self.utc().with_timezone(&zone).date_naive()
    }
    /// Later by `delta`.
    pub fn plus(self, delta: TimeDelta) -> Self {
        Self(self.0.saturating_add(delta.num_milliseconds()))
    }
}

crate::big_int_column!(At);

/// When something is done: the instant, and the calendar day it is on the farm.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    /// The instant.
    pub at: At,
    /// The day on the farm's calendar.
    pub today: NaiveDate,
    /// The farm's time zone.
    pub zone: chrono_tz::Tz,
}
