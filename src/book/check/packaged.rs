//! What came home.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::rows::packaged::PackagedWeight;
use crate::book::schema::{packaged_weight, reservation};
use crate::trade::vocabulary::PackagedBy;
use diesel::prelude::*;
use std::collections::BTreeMap;

/// 21: what was told of packaged weights is there with every revision, by who can have told it, weighed after the order was taken and
/// not after it was told.
pub(super) fn told(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(PackagedWeight, String, crate::book::at::At)> = packaged_weight::table
        .inner_join(reservation::table)
        .order(packaged_weight::id)
        .select((PackagedWeight::as_select(), reservation::number, reservation::taken_at))
        .load(c)?;
    let mut faults = Vec::new();
    let mut last: BTreeMap<(ReservationId, PackagedBy), i64> = BTreeMap::new();
    for (row, number, taken_at) in &rows {
        let by = row.source.label();
        let before = last.insert((row.reservation_id, row.source), row.revision).unwrap_or(0);
        if row.revision != before.saturating_add(1) {
            faults.push(format!("the packaged weights of order {number} told by {by} have a gap"));
        }
        if row.source == PackagedBy::Plant {
            faults.push(format!("a packaged weight of order {number} was told by {by}, which enters it on its page"));
        }
        // A day on either side, because the farm's clock may run behind or before that of the world.
        let (first, end) = (taken_at.utc().date_naive().pred_opt(), row.told_at.utc().date_naive().succ_opt());
        if first.is_some_and(|day| row.on_day < day) || end.is_some_and(|day| row.on_day > day) {
            faults
                .push(format!("a packaged weight of order {number} is of a day on which it cannot have been weighed"));
        }
    }
    Ok(Checked {
        rule: "21 what came home is told in revisions without a gap, of days on which it can have been weighed",
        looked_at: rows.len(),
        faults,
    })
}
