//! The hard rules, looked through one by one: what no plan may do, however good it is.

use super::problem::{Problem, Spot};

/// Every hard rule a plan breaks, as sentences; empty when it may be proposed.
///
/// Written apart from the search on purpose, so that the one checks the other.
pub fn broken(problem: &Problem, places: &[Option<Spot>]) -> Vec<String> {
    let mut faults = Vec::new();
    if places.len() != problem.orders.len() {
        faults.push("Not every reservation has an answer".to_string());
    }
    let mut placed = vec![[0_u8; 2]; problem.heads.len()];
    for (order, place) in problem.orders.iter().zip(places) {
        let locked = order.current.filter(|now| now.locked);
        if let Some(lock) = locked
            && *place != Some(lock.spot)
        {
            faults.push(format!("{} is locked and was moved", order.id));
        }
        let Some(spot) = *place else { continue };
        let (Some(head), Some(on)) = (problem.heads.get(spot.head), placed.get_mut(spot.head)) else {
            faults.push(format!("{} is on no animal", order.id));
            continue;
        };
        if head.species != order.species {
            faults.push(format!("{} is on another species", order.id));
        }
        match spot.sides.quarters(order.size) {
            Some(quarters) => on.iter_mut().zip(quarters).for_each(|(side, more)| *side += more),
            None => faults.push(format!("{} cannot hang so", order.id)),
        }
        if locked.is_none() {
            if !order.dates.is_empty() && !order.dates.contains(&head.date) {
                faults.push(format!("{} is on a date it does not accept", order.id));
            }
            if head.barred() {
                faults.push(format!("{} is on an animal before its withdrawal ends", order.id));
            }
        }
    }
    for (i, (head, on)) in problem.heads.iter().zip(&placed).enumerate() {
        if head.taken.iter().zip(on).any(|(taken, more)| taken + more > 2) {
            faults.push(format!("{} carries more than it has", head.id));
        }
        let stands = head.taken != [0, 0] || problem.orders.iter().any(|o| o.current.is_some_and(|c| c.spot.head == i));
        let quarters = on[0] + on[1];
        if head.custom_exempt && !stands && quarters > 0 && quarters < problem.open_custom_from {
            faults.push(format!("{} is opened for too few quarters", head.id));
        }
    }
    faults
}
