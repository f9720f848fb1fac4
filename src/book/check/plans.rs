//! Planning: locks, and what plans moved.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::ids::{AcceptanceId, AnimalId, ReservationId};
use crate::book::rows::plan::{PlanAcceptance, PlanMove};
use crate::book::schema::*;
use diesel::prelude::*;
use std::collections::HashMap;

/// 13: a locked share hangs on the animal it is locked on.
pub(super) fn locks(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<(ReservationId, AnimalId)> =
        place_lock::table.select((place_lock::reservation_id, place_lock::animal_id)).load(c)?;
    let mut faults = Vec::new();
    for some in rows.chunks(500) {
        let orders: Vec<_> = some.iter().map(|(order, _)| *order).collect();
        let hang: Vec<(ReservationId, AnimalId)> = placement::table
            .filter(placement::reservation_id.eq_any(orders))
            .select((placement::reservation_id, placement::animal_id))
            .load(c)?;
        let loose = some.iter().filter(|lock| !hang.contains(lock));
        faults.extend(
            loose.map(|(order, on)| format!("reservation {order} is locked on animal {on} and does not hang there")),
        );
    }
    Ok(Checked { rule: "13 a locked share hangs on the animal it is locked on", looked_at: rows.len(), faults })
}

/// 20: every plan that was taken moved something, each share to another place; one that was taken back was so share by share.
pub(super) fn acceptances(c: &mut DbConn) -> QueryResult<Checked> {
    let all: Vec<PlanAcceptance> =
        plan_acceptance::table.order(plan_acceptance::id).select(PlanAcceptance::as_select()).load(c)?;
    let rows: Vec<PlanMove> = plan_move::table
        .order((plan_move::acceptance_id, plan_move::reservation_id))
        .select(PlanMove::as_select())
        .load(c)?;
    let from = |m: &PlanMove| (m.from_animal_id, m.from_sides, m.from_date_id);
    let to = |m: &PlanMove| (m.to_animal_id, m.to_sides, m.to_date_id);
    let mut of: HashMap<AcceptanceId, Vec<&PlanMove>> = HashMap::new();
    let mut faults = Vec::new();
    for m in &rows {
        of.entry(m.acceptance_id).or_default().push(m);
        if from(m) == to(m) {
            faults.push(format!("plan {} moved reservation {} to where it was", m.acceptance_id, m.reservation_id));
        }
    }
    for one in &all {
        let Some(moves) = of.get(&one.id) else {
            faults.push(format!("plan {} moved nothing", one.id));
            continue;
        };
        let Some(there) = one.undoes.and_then(|id| of.get(&id)) else { continue };
        let mirrored =
            |a: &PlanMove, b: &PlanMove| a.reservation_id == b.reservation_id && from(a) == to(b) && to(a) == from(b);
        if moves.len() != there.len() || !moves.iter().zip(there).all(|(a, b)| mirrored(a, b)) {
            faults.push(format!("plan {} does not take back what it says it takes back", one.id));
        }
    }
    let rule = "20 every plan that was taken moved shares to other places, and was taken back share by share";
    Ok(Checked { rule, looked_at: rows.len(), faults })
}
