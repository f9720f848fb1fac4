//! One block on its page: its choices as cards, what this share gets of each, and its pieces given out.

use super::Seen;
use crate::actions::Failure;
use crate::trade::cuts::catalogue::{Block, Catalogue, Choice};
use crate::trade::cuts::gets::gets;
use crate::trade::cuts::said::range;
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::{Hanging, Refused, Sheet, listed};
use crate::trade::share::Size;
use crate::trade::weight::Weight;
use crate::web::look::Choices;

/// One choice as a card.
pub(super) struct Card {
    pub(super) value: String,
    pub(super) title: String,
    pub(super) why: String,
    pub(super) gets: String,
}

/// The second way for some pieces of a block.
pub(super) struct Second {
    /// The field of the choice.
    pub(super) field: String,
    /// The field of how many pieces.
    pub(super) pieces: String,
    pub(super) options: Choices,
    /// "Some of the 7 ribs in another way".
    pub(super) summary: String,
    /// "How many ribs, of 7".
    pub(super) how_many: String,
}

/// A block on its page.
pub(super) struct BlockCard {
    pub(super) field: String,
    pub(super) title: String,
    pub(super) hint: String,
    pub(super) cards: Vec<Card>,
    /// What is not offered for this share or animal, and why.
    pub(super) left_out: Vec<String>,
    pub(super) second: Option<Second>,
}

/// Why a choice is not shown at all.
enum Bar {
    /// The processor does not do it.
    NotOffered,
    /// It holds backbone, and the animal is too old.
    Backbone,
    /// It needs both sides of one animal.
    WholeAnimal,
}

fn barred(seen: &Seen, hanging: &Hanging, block: &Block, choice: &Choice) -> Option<Bar> {
    if !seen.offered.choice(block, choice) {
        Some(Bar::NotOffered)
    } else if hanging.from_30_months() && choice.backbone {
        Some(Bar::Backbone)
    } else if hanging.size != Size::Whole && !choice.whole_animal.is_empty() {
        Some(Bar::WholeAnimal)
    } else {
        None
    }
}

/// The card of a block.
///
/// # Errors
/// [`Failure::Unexpected`] when the sheet names something there is none of; a draft never does.
pub(super) fn card(seen: &Seen, hanging: &Hanging, sheet: &Sheet, block: &Block) -> Result<BlockCard, Failure> {
    let all = gets(hanging, sheet, &block.id).map_err(|e: Refused| Failure::Unexpected(format!("{e:?}")))?;
    let guide = seen.catalogue.guide.get(&block.id);
    let standard = seen.standard(block).map(|c| c.id.as_str());
    let chosen = |id: &str| {
        let of_pieces = sheet.partitions.get(&block.id).is_some_and(|all| all.iter().any(|s| s.choice == id));
        of_pieces || sheet.blocks.get(&block.id).is_some_and(|c| c == id)
    };
    let (mut cards, mut old, mut whole) = (Vec::new(), Vec::new(), Vec::new());
    for (choice, got) in block.choices.iter().zip(all) {
        // What is chosen already stays in sight, so that it can be seen why it cannot be had.
        match barred(seen, hanging, block, choice).filter(|_| !chosen(&choice.id)) {
            Some(Bar::Backbone) => old.push(choice.name.as_str()),
            Some(Bar::WholeAnimal) => whole.push(choice.name.as_str()),
            Some(Bar::NotOffered) => {}
            None => {
                let good_for = guide.and_then(|g| g.good_for.get(&choice.id)).map_or("", String::as_str);
                let is_standard = standard == Some(choice.id.as_str());
                cards.push(Card {
                    value: choice.id.clone(),
                    title: upper(&choice.name),
                    why: if is_standard { format!("{good_for} The standard cut.") } else { good_for.to_string() },
                    gets: got.home.unwrap_or_else(|| match got.why.as_str() {
                        "" => String::new(),
                        why => format!("Not with the rest of your sheet: {why}"),
                    }),
                });
            }
        }
    }
    let mut left_out = Vec::new();
    if !old.is_empty() {
        left_out.push(format!(
            "Not from this animal: {}. It is {} months or older, and from that age the plant takes the backbone out (9 CFR 310.22).",
            listed(&old, "and"),
            Hanging::OLD
        ));
    }
    if !whole.is_empty() {
        left_out.push(format!("For a whole animal only: {}.", listed(&whole, "and")));
    }
    let options: Choices = cards.iter().map(|c| (c.value.clone(), c.title.clone())).collect();
    let second = block.pieces.as_ref().map(|p| Second {
        field: format!("second-{}", block.id),
        pieces: format!("pieces-{}", block.id),
        options,
        summary: format!("Some of the {} {}s in another way", p.number, p.name),
        how_many: format!("How many {}s, of {}", p.name, p.number),
    });
    let hint = guide.map_or_else(String::new, |g| {
        let pieces = block.pieces.as_ref().map_or_else(String::new, |p| format!(" It has {} {}s.", p.number, p.name));
        format!(
            "{}; about {} before cutting.{pieces}",
            upper(&g.lies),
            before_cutting(hanging, seen.catalogue, &[block])
        )
    });
    Ok(BlockCard { field: format!("block-{}", block.id), title: upper(&block.name), hint, cards, left_out, second })
}

/// About how much blocks weigh before they are cut: "36 lb".
pub(super) fn before_cutting(hanging: &Hanging, catalogue: &Catalogue, blocks: &[&Block]) -> String {
    let share: i64 = blocks.iter().map(|b| b.share.hundredths()).sum();
    let chilled = 10_000 - catalogue.shrink.expected.hundredths();
    let weight = i128::from(hanging.weight.hundredths()) * i128::from(share) * i128::from(chilled) / 100_000_000;
    let weight = Weight::from_hundredths(i64::try_from(weight).unwrap_or(0));
    range(weight, weight, hanging.unit)
}
