//! What is left to sell of an animal or an offering, in the trade's words: a whole, a side, a quarter.

use super::placing::{Taken, slots_of};
use super::room::Sold;
use super::share::{Part, Side, Size};

/// What nobody has of an animal: "a side and a quarter", "2 quarters on different sides"; `None` when all is sold.
pub fn of_animal(taken: &[Taken]) -> Option<String> {
    let on = |side: Side| -> Vec<&Taken> { taken.iter().filter(|t| slots_of(side).contains(&t.slot)).collect() };
    let side_words = |side: Side| match on(side).as_slice() {
        [] => Some("a side"),
        [one] => Some(match (one.size, one.part) {
            (Size::Quarter, Some(Part::Fore)) => "a hindquarter",
            (Size::Quarter, Some(Part::Hind)) => "a forequarter",
            _ => "a quarter",
        }),
        _ => None,
    };
    match (side_words(Side::Left), side_words(Side::Right)) {
        (None, None) => None,
        (Some("a side"), Some("a side")) => Some("a whole animal".into()),
        (Some(one), None) | (None, Some(one)) => Some(one.into()),
        (Some("a side"), Some(other)) | (Some(other), Some("a side")) => Some(format!("a side and {other}")),
        (Some("a quarter"), Some("a quarter")) => Some("2 quarters on different sides".into()),
        (Some(left), Some(right)) => Some(format!("{left} and {right}, on different sides")),
    }
}

/// What nobody has of an offering of `head` animals: "2 head, a side and a quarter"; `None` when all is sold.
pub fn of_offering(head: i64, sold: Sold) -> Option<String> {
    let free = head.saturating_mul(2).saturating_sub(sold.sides());
    if free < 0 {
        return None;
    }
    let mut parts = Vec::new();
    match free / 2 {
        0 => {}
        n => parts.push(format!("{n} head")),
    }
    if free % 2 == 1 {
        parts.push("a side".into());
    }
    if sold.split % 2 == 1 {
        parts.push("a quarter".into());
    }
    match sold.fore - sold.hind {
        0 => {}
        1 => parts.push("a hindquarter".into()),
        -1 => parts.push("a forequarter".into()),
        n if n > 0 => parts.push(format!("{n} hindquarters")),
        n => parts.push(format!("{} forequarters", n.saturating_neg())),
    }
    let last = parts.pop()?;
    Some(if parts.is_empty() { last } else { format!("{} and {last}", parts.join(", ")) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::vocabulary::Slot;

    const fn at(slot: Slot, size: Size, part: Option<Part>) -> Taken {
        Taken { slot, size, part }
    }

    #[test]
    fn an_animal_in_the_trades_words() {
        let half = |a, b| vec![at(a, Size::Half, None), at(b, Size::Half, None)];
        let quarter = |slot| at(slot, Size::Quarter, Some(Part::Split));
        assert_eq!(of_animal(&[]).unwrap(), "a whole animal");
        assert_eq!(of_animal(&half(Slot::L1, Slot::L2)).unwrap(), "a side");
        assert_eq!(of_animal(&[quarter(Slot::R2)]).unwrap(), "a side and a quarter");
        assert_eq!(of_animal(&[quarter(Slot::L1), quarter(Slot::R2)]).unwrap(), "2 quarters on different sides");
        let mut three = half(Slot::L1, Slot::L2);
        three.push(at(Slot::R1, Size::Quarter, Some(Part::Fore)));
        assert_eq!(of_animal(&three).unwrap(), "a hindquarter");
        three.push(at(Slot::R2, Size::Quarter, Some(Part::Hind)));
        assert_eq!(of_animal(&three), None);
    }

    #[test]
    fn an_offering_in_the_trades_words() {
        assert_eq!(of_offering(3, Sold { split: 1, ..Sold::default() }).unwrap(), "2 head, a side and a quarter");
        assert_eq!(of_offering(1, Sold { half: 1, ..Sold::default() }).unwrap(), "a side");
        assert_eq!(of_offering(1, Sold { fore: 2, ..Sold::default() }).unwrap(), "2 hindquarters");
        assert_eq!(of_offering(1, Sold { whole: 1, ..Sold::default() }), None);
        assert_eq!(of_offering(0, Sold { half: 1, ..Sold::default() }), None, "oversold");
    }
}
