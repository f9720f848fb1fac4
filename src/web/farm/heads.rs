//! Heads and their owners as several pages show them: rails, places in words, targets of a move.

use crate::actions::place_share::{Spot, Target};
use crate::book::placements::{Share, taken};
use crate::book::rows::animals::{Animal, WeighIn};
use crate::trade::carcass::Place;
use crate::trade::dates::short;
use crate::trade::dressing::{self, Dressed};
use crate::trade::placing::choices;
use crate::trade::share::{Part, Side, Size};
use crate::trade::vocabulary::{CarcassBasis, Condemned, Slot};
use crate::trade::weight::Weight;
use crate::web::look::Choices;
use crate::web::look::rail::{self, Kind, Rail};
use chrono::NaiveDate;

/// The rail of an animal with its owners. `shares` may hold other animals' shares.
pub fn rail_of(animal: &Animal, shares: &[Share], weighed: Option<&WeighIn>) -> Rail {
    rail_called(format!("rail-{}", animal.id), animal, shares, weighed)
}

/// The same under an id of its own, for a page that draws one animal twice.
pub fn rail_called(id: String, animal: &Animal, shares: &[Share], weighed: Option<&WeighIn>) -> Rail {
    let slots = if weighed.is_some_and(|w| w.condemned == Condemned::Whole) {
        [const { rail::Slot::Condemned }; 4]
    } else if animal.lost_on.is_some() {
        [const { rail::Slot::Plain }; 4]
    } else {
        [Slot::L1, Slot::L2, Slot::R1, Slot::R2].map(|slot| {
            let owner = shares.iter().find(|s| s.animal == animal.id && s.slots.contains(&slot));
            owner.map_or(rail::Slot::Free, |s| rail::Slot::owner(s.name.clone(), kind(s)))
        })
    };
    Rail::new(id, animal.name(), animal.species, slots)
}

fn kind(share: &Share) -> Kind {
    match share.place {
        Place::Whole => Kind::Whole,
        Place::Half(_) => Kind::Half,
        Place::Quarter(_, part) => Kind::quarter(part),
    }
}

/// How many quarters of an animal nobody has.
pub fn free_quarters(animal: &Animal, shares: &[Share]) -> usize {
    4_usize.saturating_sub(taken(shares, animal.id).len())
}

/// "1 quarter free", "half free", "all free".
pub fn free_words(quarters: usize) -> String {
    match quarters {
        0 => "All sold".into(),
        1 => "1 quarter free".into(),
        4 => "All free".into(),
        n => format!("{n} quarters free"),
    }
}

/// "Left side, half", "Right side, quarter, split", "Whole animal".
pub fn place_words(place: Place) -> String {
    match place {
        Place::Whole => "Whole animal".into(),
        Place::Half(side) => format!("{}, half", side_words(side)),
        Place::Quarter(side, Part::Split) => format!("{}, quarter, split", side_words(side)),
        Place::Quarter(side, part) => format!("{}, {}", side_words(side), part.label()),
    }
}

/// "Left side".
pub const fn side_words(side: Side) -> &'static str {
    match side {
        Side::Left => "Left side",
        Side::Right => "Right side",
    }
}

/// "half", "quarter, split", "forequarter": a share inside a sentence.
pub fn share_words(size: Size, part: Option<Part>) -> String {
    match (size, part) {
        (Size::Quarter, Some(part @ (Part::Fore | Part::Hind))) => part.label().to_string(),
        (size, _) => size.label().to_string(),
    }
}

/// What these shares' animal is expected to hang, for a whole head: from its last live weight, dressed as usual.
pub fn expected(animal: &Animal, live: Option<Weight>) -> Option<(Weight, Weight)> {
    dressing::expected(live?, animal.class()?, Dressed::usual(animal.species, CarcassBasis::Hot))
}

/// "360–395": a part of an expected range, in quarters of a head, without decimals.
pub fn range_of(range: (Weight, Weight), quarters: i64) -> String {
    let part = |w: Weight| Weight::from_hundredths((w.hundredths() * quarters / 4 + 50) / 100 * 100).short();
    let (low, high) = (part(range.0), part(range.1));
    if low == high { low } else { format!("{low}–{high}") }
}

/// Every place on these animals with room for a share, for a select. The share's own present place counts as room.
pub fn targets(
    head: &[(Animal, Option<NaiveDate>)],
    shares: &[Share],
    size: Size,
    part: Option<Part>,
    own: Option<&Share>,
    today: NaiveDate,
) -> Choices {
    let others: Vec<_> =
        shares.iter().filter(|s| own.is_none_or(|o| o.reservation != s.reservation)).cloned().collect();
    let mut found = Vec::new();
    for (animal, kill_on) in head {
        let day = kill_on.map_or_else(|| "no date yet".to_string(), |day| short(day, today));
        for choice in choices(&taken(&others, animal.id), size, part) {
            let spot = Spot::of(choice.place);
            let at = match spot {
                Spot::Whole => animal.name(),
                Spot::Side(side) => format!("{}, {} side", animal.name(), side.label()),
            };
            found.push((Target { animal: animal.id, spot }.to_string(), format!("{at} ({day})")));
        }
    }
    found
}

/// Every place a share of that size could have on these animals, taken or not: for moving many at once.
pub fn all_targets(head: &[Animal], size: Size) -> Choices {
    let spots: &[Spot] = match size {
        Size::Whole => &[Spot::Whole],
        Size::Half | Size::Quarter => &[Spot::Side(Side::Left), Spot::Side(Side::Right)],
    };
    let one = |animal: &Animal, spot: Spot| {
        let words = match spot {
            Spot::Whole => animal.name(),
            Spot::Side(side) => format!("{}, {} side", animal.name(), side.label()),
        };
        (Target { animal: animal.id, spot }.to_string(), words)
    };
    head.iter().flat_map(|animal| spots.iter().map(move |spot| one(animal, *spot))).collect()
}

/// "1st", "2nd", "3rd", "11th".
pub fn ordinal(n: usize) -> String {
    let end = match (n % 10, n % 100) {
        (1, 11) | (2, 12) | (3, 13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{end}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ordinals_and_free_quarters_read_well() {
        let read: Vec<_> = [1, 2, 3, 4, 11, 12, 13, 21, 112].map(ordinal).into();
        assert_eq!(read, ["1st", "2nd", "3rd", "4th", "11th", "12th", "13th", "21st", "112th"]);
        assert_eq!(
            (free_words(1).as_str(), free_words(3).as_str(), free_words(0).as_str()),
            ("1 quarter free", "3 quarters free", "All sold")
        );
    }

    #[test]
    fn a_range_is_shared_out_in_quarters() {
        let range = (Weight::from_hundredths(72_000), Weight::from_hundredths(79_000));
        assert_eq!((range_of(range, 2).as_str(), range_of(range, 1).as_str()), ("360–395", "180–198"));
    }
}
