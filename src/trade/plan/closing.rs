//! What a block loses by its animals' fill alone, by the quarters put on it, whoever has them.

use super::cost::Cost;
use super::model::{Beast, Model};
use super::part::Block;

/// What an animal loses when `more` quarters are put on it, split over its sides in the best way.
fn of_head(beast: &Beast, more: u8) -> Option<Cost> {
    let [left, right] = beast.room();
    if more > left + right || (more > 0 && more < beast.least) {
        return None;
    }
    let halves = (0..=more.min(left)).filter(|l| more - l <= right).map(|l| {
        let sides = [beast.held[0] + l, beast.held[1] + more - l];
        sides.iter().map(|side| i64::from(*side == 1)).sum::<i64>()
    });
    let filled = beast.held[0] + beast.held[1] + more;
    let unsold = if beast.custom && filled > 0 { 4 - i64::from(filled) } else { 0 };
    let opened = i64::from(!beast.stands && more > 0);
    Some(Cost::unsold(unsold) + Cost::opened(opened) + Cost::half(halves.min().unwrap_or(0)))
}

/// By quarters put on the block in all: the least it loses in unsold quarters, opened animals and half-filled sides.
pub(super) fn table(model: &Model, block: &Block) -> Vec<Cost> {
    let mut best = vec![Some(Cost::ZERO)];
    for beast in block.heads.iter().filter_map(|h| model.beasts.get(*h)) {
        let mut next: Vec<Option<Cost>> = vec![None; best.len() + usize::from(beast.free())];
        for (used, so_far) in best.iter().enumerate() {
            for more in 0..=beast.free() {
                let (Some(so_far), Some(loss)) = (so_far, of_head(beast, more)) else { continue };
                if let Some(slot) = next.get_mut(used + usize::from(more)) {
                    let cost = *so_far + loss;
                    *slot = Some(slot.map_or(cost, |old| old.min(cost)));
                }
            }
        }
        best = next;
    }
    best.into_iter().map(|cost| cost.unwrap_or(Cost::NEVER)).collect()
}
