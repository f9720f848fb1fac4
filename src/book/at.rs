//! Instants as they are stored: milliseconds since 1970 in UTC.

use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};

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
    /// The instant at which clocks in `zone` show `local`. An hour that clocks skip is taken as the one after it; of one they show
    /// twice, the first.
    pub fn local(local: NaiveDateTime, zone: chrono_tz::Tz) -> Self {
        let hour = TimeDelta::hours(1);
        let found = zone.from_local_datetime(&local).earliest();
        let found = found.or_else(|| zone.from_local_datetime(&local.checked_add_signed(hour)?).earliest());
        found.map_or_else(|| Self::from_utc(local.and_utc()), |t| Self::from_utc(t.to_utc()))
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

#[cfg(test)]
mod tests {
    use super::*;
    use chrono_tz::America::Chicago;

    #[test]
    fn the_farms_clock_is_read_across_its_changes() {
        for (local, utc) in [
            ("2027-10-14T09:00:00", "2027-10-14T14:00:00"),
            ("2027-12-14T09:00:00", "2027-12-14T15:00:00"),
            // Clocks jump from two to three, and go back from two to one.
            ("2027-03-14T02:30:00", "2027-03-14T08:30:00"),
            ("2027-11-07T01:30:00", "2027-11-07T06:30:00"),
        ] {
            let wanted: NaiveDateTime = utc.parse().unwrap();
            assert_eq!(At::local(local.parse().unwrap(), Chicago).utc(), wanted.and_utc(), "{local}");
        }
    }
}
