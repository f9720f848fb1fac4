//! The demo's first date is ready to collect: windows, some of them chosen, two who came, one who writes that none fits, storage charged.

use super::farm::Farm;
use super::teller::{Teller, usd};
use crate::actions::calendar_feed::begin;
use crate::actions::charge_storage::{charge_storage, proposed};
use crate::actions::choose_pickup::{Chooser, choose, none_fits};
use crate::actions::collect::{Tick, hand_over};
use crate::actions::pickup_place::{PlaceIn, add_place};
use crate::actions::pickup_rules::{in_force, save_rules};
use crate::actions::pickup_window::{WindowIn, add_window};
use crate::actions::private_link::new_token;
use crate::actions::say_ready::{Packed, say_ready};
use crate::actions::{Doing, Failure};
use crate::book::ids::{DateId, PickupPlaceId, PickupWindowId, ReservationId};
use crate::book::rows::pickups::PickupRule;
use crate::book::{pickups, plants, reservations};
use crate::trade::pickup::StoragePer;

/// Days from today on which the notices went out.
const READY: i64 = -12;
/// The day of the first of them.
const FIRST: i64 = -20;

fn place(t: &mut Teller, name: &str, address: &str, words: &str) -> Result<PickupPlaceId, Failure> {
    let doing = t.doing(-140, 20);
    add_place(t.tx, &doing, &PlaceIn { name: name.into(), address: address.into(), words: words.into() })
}

fn window(
    t: &mut Teller,
    date: DateId,
    place: PickupPlaceId,
    days: i64,
    hours: (&str, &str),
    most: i64,
) -> Result<PickupWindowId, Failure> {
    let doing = t.doing(FIRST - 1, 19);
    let on_day = t.day(days);
    add_window(t.tx, &doing, date, &WindowIn { place, on_day, opens: hours.0.into(), closes: hours.1.into(), most })
}

/// `orders` are the eight of the date, in the order in which they were taken.
pub(super) fn tell(t: &mut Teller, farm: &Farm, date: DateId, orders: &[ReservationId]) -> Result<(), Failure> {
    let plant = plants::get(t.tx.conn(), farm.pell_road)?;
    let rule = in_force(t.tx.conn())?;
    let doing = t.doing(-140, 20);
    let rule = PickupRule { free_days: 14, storage_per: Some(StoragePer::Day), storage_amount: usd(2), ..rule };
    save_rules(t.tx, &doing, &rule, rule.version)?;
    let counter = format!("{}, counter", plant.name);
    let counter = place(t, &counter, &plant.address, "Ring at the side door and say your order number.")?;
    let own =
        place(t, "Our farm", "118 Slough Road\nElm Fork, WI 53000", "The freezer is in the red shed. Bring coolers.")?;
    place(t, "Elm Fork market, our stand", "Market Square\nElm Fork, WI 53000", "Saturdays only, under the clock.")?;

    let past = window(t, date, counter, -8, ("15:00", "18:00"), 4)?;
    let now = window(t, date, counter, 0, ("16:00", "19:00"), 4)?;
    let later = window(t, date, own, 3, ("09:00", "12:30"), 1)?;
    window(t, date, own, 4, ("14:00", "17:00"), 6)?;

    let boxes = [Some(3), Some(3), Some(2), Some(3), Some(2), Some(2), None, None];
    let packed: Vec<Packed> = orders.iter().zip(boxes).map(|(order, boxes)| Packed { order: *order, boxes }).collect();
    let [hanne, owen, marta, _jonas, ines, tobias, harlow, ruth] = orders else { return Ok(()) };
    // Her half needed no smoking and was there first.
    let (first, others): (Vec<_>, Vec<_>) = packed.into_iter().partition(|p| p.order == *ruth);
    for (days, packed) in [(FIRST, first), (READY, others)] {
        let doing = t.doing(days, 15);
        say_ready(t.tx, &doing, date, &packed)?;
    }
    for (order, chosen, days) in
        [(hanne, past, -11), (owen, past, -10), (marta, now, -5), (ines, later, -4), (harlow, now, -3)]
    {
        let by = Doing { actor: "the customer by private link".into(), ..t.doing(days, 20) };
        choose(t.tx, &by, *order, chosen, Chooser::Customer)?;
    }
    let by = Doing { actor: "the customer by private link".into(), ..t.doing(-2, 20) };
    none_fits(t.tx, &by, *tobias, "I work weekdays until seven. Could I come on a Sunday?")?;
    for (order, name) in [(hanne, "Hanne Brandvold"), (owen, "Mika Sandoz, his son")] {
        let doing = t.doing(-8, 17);
        let tick = Tick { by_name: name.into(), at: None, anyway: false };
        hand_over(t.tx, &doing, *order, &tick)?;
    }
    // Ruth was told twice on the phone; days of storage stand on her invoice.
    let doing = t.doing(-2, 11);
    let (r, ..) = reservations::get(t.tx.conn(), *ruth)?;
    let pickup = pickups::of_orders(t.tx.conn(), &[*ruth])?.remove(ruth).unwrap_or_default();
    if let Some(found) = proposed(&r, &pickup, doing.now)? {
        charge_storage(t.tx, &doing, *ruth, found.amount)?;
    }
    // A calendar of the farm reads its feed; nobody knows the address any more.
    let doing = t.doing(-30, 21);
    begin(t.tx, &doing, &new_token()?)?;
    t.hand_over(-2)
}
