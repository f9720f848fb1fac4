//! What orders ask of the planner: dates that suit, with whom, and what the share should weigh.

use super::conn::DbConn;
use super::ids::{DateId, ReservationId};
use super::rows::plan::{LaterChoice, ShareWish};
use super::schema::{later_choice, reservation, share_wish};
use super::store::Tx;
use crate::trade::weight::Weight;
use diesel::prelude::*;
use std::collections::HashMap;

/// What an order asks for. The first choice of date stands in the reservation itself.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Wishes {
    /// Second and later choices of date.
    pub later: Vec<DateId>,
    /// Whether no other date suits than those chosen.
    pub only_these: bool,
    /// The name of its group; empty when it is in none.
    pub together: String,
    /// The least the share should weigh, hanging.
    pub low: Option<Weight>,
    /// The most.
    pub high: Option<Weight>,
}

impl Wishes {
    /// Every chosen date, best first.
    pub fn dates(&self, first: Option<DateId>) -> Vec<DateId> {
        first.into_iter().chain(self.later.iter().copied()).collect()
    }
}

/// The wishes of these orders; those who asked for nothing are left out.
///
/// # Errors
/// The database's own.
pub fn of(c: &mut DbConn, orders: &[ReservationId]) -> QueryResult<HashMap<ReservationId, Wishes>> {
    let mut found: HashMap<ReservationId, Wishes> = HashMap::new();
    let rows: Vec<ShareWish> = share_wish::table
        .filter(share_wish::reservation_id.eq_any(orders.to_vec()))
        .select(ShareWish::as_select())
        .load(c)?;
    for row in rows {
        let (only_these, together) = (row.only_these, row.together);
        let wishes = Wishes { later: Vec::new(), only_these, together, low: row.weight_low, high: row.weight_high };
        found.insert(row.reservation_id, wishes);
    }
    let choices: Vec<LaterChoice> = later_choice::table
        .filter(later_choice::reservation_id.eq_any(orders.to_vec()))
        .order((later_choice::reservation_id, later_choice::place))
        .select(LaterChoice::as_select())
        .load(c)?;
    for choice in choices {
        found.entry(choice.reservation_id).or_default().later.push(choice.date_id);
    }
    Ok(found)
}

/// Keeps the wishes of an order instead of those it had.
///
/// # Errors
/// The database's own; a date chosen twice is refused by the table.
pub fn save(tx: &mut Tx, order: ReservationId, wishes: &Wishes) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(later_choice::table.filter(later_choice::reservation_id.eq(order))).execute(c)?;
    diesel::delete(share_wish::table.filter(share_wish::reservation_id.eq(order))).execute(c)?;
    if *wishes == Wishes::default() {
        return Ok(());
    }
    let row = ShareWish {
        reservation_id: order,
        only_these: wishes.only_these,
        together: wishes.together.clone(),
        weight_low: wishes.low,
        weight_high: wishes.high,
    };
    diesel::insert_into(share_wish::table).values(row).execute(c)?;
    for (place, date_id) in (2_i64..).zip(&wishes.later) {
        let row = LaterChoice { reservation_id: order, place, date_id: *date_id };
        diesel::insert_into(later_choice::table).values(row).execute(c)?;
    }
    Ok(())
}

/// Groups most orders of today could join, and how many are in each: those of open orders, by name; at most 50.
///
/// # Errors
/// The database's own.
pub fn groups(c: &mut DbConn) -> QueryResult<Vec<(String, i64)>> {
    share_wish::table
        .inner_join(reservation::table.on(reservation::id.eq(share_wish::reservation_id)))
        .filter(share_wish::together.ne(""))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::collected_at.is_null())
        .group_by(share_wish::together)
        .order(share_wish::together)
        .limit(50)
        .select((share_wish::together, diesel::dsl::count_star()))
        .load(c)
}
