//! A plan as one makes it by hand, for when there is no time for a better one: the greatest promise first, each where there
//! is just room enough; what would open an animal for too few quarters is taken off again.
#![expect(clippy::indexing_slicing, reason = "places are counted out here from the lists they point into")]

use super::cost::Cost;
use super::model::{Model, takes, ways};
use super::part::{Part, Way};
use super::pen::{Ask, Guest, house};
use super::problem::Spot;
use super::search::Found;
use super::work::Work;
use std::collections::HashMap;

/// Makes the plan. Nobody may be held to a date.
pub(super) fn rough(model: &Model, part: &Part) -> Option<Found> {
    let mut room: HashMap<usize, [u8; 2]> = HashMap::new();
    for head in part.blocks.iter().flat_map(|block| &block.heads) {
        room.insert(*head, model.beasts[*head].room());
    }
    let mut order = part.items.clone();
    order
        .sort_by_key(|want| (model.wants[*want].stay.is_none(), std::cmp::Reverse(model.wants[*want].left_out), *want));
    let mut places: HashMap<usize, Option<Spot>> = order.iter().map(|want| (*want, None)).collect();
    for want in &order {
        let spot = best_spot(model, part, &room, *want);
        if let Some(spot) = spot
            && let Some(room) = room.get_mut(&spot.head)
        {
            let [l, r] = takes(model.wants[*want].quarters, spot.sides);
            *room = [room[0] - l, room[1] - r];
            places.insert(*want, Some(spot));
        }
    }
    for (head, room) in &room {
        let put = model.beasts[*head].free() - room[0] - room[1];
        if put > 0 && put < model.beasts[*head].least {
            places.values_mut().filter(|place| place.is_some_and(|spot| spot.head == *head)).for_each(|p| *p = None);
        }
    }
    cost(model, part, &places).map(|cost| Found { cost, places, first: false })
}

fn best_spot(model: &Model, part: &Part, room: &HashMap<usize, [u8; 2]>, want: usize) -> Option<Spot> {
    let w = &model.wants[want];
    let mut best = None;
    for block in &part.blocks {
        let Some(rank) = w.rank[block.date] else { continue };
        for head in &block.heads {
            let [left, right] = room[head];
            let touched = model.beasts[*head].room() != [left, right] || model.beasts[*head].stands;
            for sides in ways(w.quarters) {
                let spot = Spot { head: *head, sides: *sides };
                let [l, r] = takes(w.quarters, *sides);
                if l > left || r > right {
                    continue;
                }
                let side = if l > 0 { left } else { right };
                let key = (w.stay != Some(spot), rank, !touched, side, left + right, model.outside(want, *head), spot);
                if best.is_none_or(|old| key < old) {
                    best = Some(key);
                }
            }
        }
    }
    best.map(|key| key.6)
}

/// What a finished plan of a part loses.
fn cost(model: &Model, part: &Part, places: &HashMap<usize, Option<Spot>>) -> Option<Cost> {
    let mut cost = Cost::ZERO;
    let mut guests: Vec<Vec<Guest>> = vec![Vec::new(); part.blocks.len()];
    let mut date_of = HashMap::new();
    for (k, want) in part.items.iter().enumerate() {
        let way = match places[want] {
            None => Way::Out,
            Some(spot) => {
                let b = part.blocks.iter().position(|block| block.heads.contains(&spot.head))?;
                let stay = model.wants[*want].stay == Some(spot);
                guests[b].push(Guest { want: *want, stay, fixed: Some((spot.head, spot.sides)) });
                date_of.insert(*want, b);
                if stay { Way::Stay(b) } else { Way::In(b) }
            }
        };
        cost += part.choices[k].iter().find(|c| c.way == way)?.cost;
    }
    for (b, guests) in guests.iter().enumerate() {
        let enough = 1000 + (guests.len() * part.blocks[b].heads.len() * 1000) as u64;
        cost += house(model, part, b, guests, Ask::Best, Cost::NEVER, &mut Work::units(enough * 100)).best?.0;
    }
    for band in &part.bands {
        let loose = model.teams[band.team].members.iter().filter(|i| model.wants[**i].locked.is_none());
        let blocks: Vec<Option<usize>> = loose.map(|want| date_of.get(want).copied()).collect();
        let first = blocks.first().copied().flatten();
        let together = first.is_some_and(|b| band.fits[b]) && blocks.iter().all(|b| *b == first);
        cost += Cost::groups(i64::from(!together));
    }
    Some(cost)
}
