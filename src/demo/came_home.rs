//! What came home of the demo's first date: weighed by the farmer as the boxes came, told by two customers, one of them after a slip of
//! the pen, and one share so light that nothing is learned of it: its broken box was never found.

use super::teller::{Teller, lb};
use crate::actions::tell_packaged::{PackagedIn, tell_packaged};
use crate::actions::{Doing, Failure};
use crate::book::ids::ReservationId;
use crate::book::packaged;
use crate::trade::vocabulary::PackagedBy;

fn told(t: &mut Teller, days: i64, order: ReservationId, source: PackagedBy, pounds: i64) -> Result<(), Failure> {
    let by = match source {
        PackagedBy::Customer => Doing { actor: "the customer by private link".into(), ..t.doing(days, 20) },
        PackagedBy::Farm | PackagedBy::Plant => t.doing(days, 16),
    };
    let before = packaged::of(t.tx.conn(), &[order])?.remove(&order).unwrap_or_default();
    let seen = before.of(source).map_or(0, |b| b.revision);
    let input = PackagedIn { weight: Some(lb(pounds)), on: t.day(days), seen };
    tell_packaged(t.tx, &by, order, source, &input)
}

/// `orders` are the eight of the date, in the order in which they were taken: four quarters of beef, four half hogs.
pub(super) fn tell(t: &mut Teller, orders: &[ReservationId]) -> Result<(), Failure> {
    let [hanne, owen, marta, jonas, ines, tobias, harlow, ruth] = orders else { return Ok(()) };
    for (order, pounds) in [(marta, 1_174), (jonas, 985), (ines, 662), (tobias, 654), (harlow, 631), (ruth, 622)] {
        told(t, -13, *order, PackagedBy::Farm, pounds)?;
    }
    told(t, -7, *hanne, PackagedBy::Customer, 1_185)?;
    told(t, -7, *owen, PackagedBy::Customer, 1_124)?;
    told(t, -6, *owen, PackagedBy::Customer, 1_214)
}
