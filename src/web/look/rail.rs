//! The rail: one head drawn as two sides of two quarters, and who owns each. The shapes are in `rail/shapes.rs`.
//!
//! A page with rails puts `{{ rail::Defs }}` once into its `defs` block (hatchings and clip paths, coloured by the style
//! sheet) and then any number of `{{ head }}` where `head` is a [`Rail`]. The visible list beside a drawing says the same
//! as its text equivalent, so nothing depends on the picture.

mod glyph;
mod shapes;

pub use glyph::{Glyph, Mark};

use crate::trade::share::{Part, Side, Species};
use askama::Template;
use shapes::Piece;

/// What kind of share an owner has; where the cut runs says it in the drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The whole animal: all four slots.
    Whole,
    /// One side: both its slots.
    Half,
    /// A quarter of a side cut lengthwise.
    Split,
    /// A forequarter: slot 1 of a side.
    Fore,
    /// A hindquarter: slot 2 of a side.
    Hind,
}

impl Kind {
    /// A quarter as the book has it.
    pub const fn quarter(part: Part) -> Self {
        match part {
            Part::Split => Self::Split,
            Part::Fore => Self::Fore,
            Part::Hind => Self::Hind,
        }
    }
    /// "half", "one quarter", "fore quarter".
    const fn words(self) -> &'static str {
        match self {
            Self::Whole => "whole",
            Self::Half => "half",
            Self::Split => "one quarter",
            Self::Fore => "fore quarter",
            Self::Hind => "hind quarter",
        }
    }
}

/// What one quarter of a head is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum Slot {
    /// Nobody's yet.
    #[default]
    Free,
    /// Somebody's.
    Owner {
        /// The letter in the drawing and in the list beside it, A to D; [`Rail::new`] deals them out.
        letter: char,
        /// Whose it is.
        name: String,
        /// As part of what share.
        kind: Kind,
    },
    /// Not fit to eat, by the inspector's word.
    Condemned,
    /// Drawn as an outline only: not this page's business.
    Plain,
}

impl Slot {
    /// A slot of somebody's share. The letter is dealt out by [`Rail::new`].
    pub fn owner(name: impl Into<String>, kind: Kind) -> Self {
        Self::Owner { letter: 'A', name: name.into(), kind }
    }
    const fn kind(&self) -> Option<Kind> {
        match self {
            Self::Owner { kind, .. } => Some(*kind),
            _ => None,
        }
    }
    fn letter(&self) -> Option<char> {
        match self {
            Self::Owner { letter, .. } => Some(*letter),
            _ => None,
        }
    }
}

/// How large a rail is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// In a row of heads, `.rails > figure.head-of`.
    #[default]
    Medium,
    /// Between two lists of owners, `.carcass`.
    Large,
}

/// One owner of a head, for the list beside the drawing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Owner {
    /// The letter in the drawing.
    pub letter: char,
    /// Whose share it is.
    pub name: String,
    /// What kind of share.
    pub kind: Kind,
    /// On which side it hangs; a whole animal counts as left.
    pub side: Side,
}

/// One head as it is drawn.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rail {
    /// Unique on its page, such as "rail-229".
    id: String,
    /// "Steer 229".
    name: String,
    species: Species,
    /// Left 1, left 2, right 1, right 2; for fore and hind quarters 1 is the fore, 2 the hind.
    slots: [Slot; 4],
    scale: Scale,
    title: Option<String>,
}

impl Rail {
    /// A head. `id` must be unique on the page; `slots` are left 1, left 2, right 1, right 2, where for fore and hind
    /// quarters 1 is the fore and 2 the hind. Letters are dealt out as one reads: left to right, top to bottom.
    pub fn new(id: impl Into<String>, name: impl Into<String>, species: Species, slots: [Slot; 4]) -> Self {
        let [l1, l2, r1, r2] = slots;
        let mut next = 'A';
        let [l1, l2] = lettered([l1, l2], &mut next);
        let whole = l1.kind() == Some(Kind::Whole);
        let [r1, r2] = if whole { [r1, r2] } else { lettered([r1, r2], &mut next) };
        Self { id: id.into(), name: name.into(), species, slots: [l1, l2, r1, r2], scale: Scale::Medium, title: None }
    }

    /// The large drawing.
    #[must_use]
    pub fn large(mut self) -> Self {
        self.scale = Scale::Large;
        self
    }

    /// A text equivalent of the page's own, such as "Steer 211. This order has the left side."
    #[must_use]
    pub fn titled(mut self, title: impl Into<String>) -> Self {
        self.title = Some(title.into());
        self
    }

    /// The owners in the order of their letters.
    pub fn owners(&self) -> Vec<Owner> {
        let mut found: Vec<Owner> = Vec::new();
        for (side, pair) in self.sides() {
            for slot in in_reading_order(pair) {
                if let Slot::Owner { letter, name, kind } = slot
                    && found.iter().all(|owner| owner.letter != *letter)
                {
                    found.push(Owner { letter: *letter, name: name.clone(), kind: *kind, side });
                }
            }
        }
        found
    }

    /// The owners on one side, for the list on that side of the large drawing.
    pub fn owners_on(&self, side: Side) -> Vec<Owner> {
        self.owners().into_iter().filter(|owner| owner.side == side).collect()
    }

    /// How many quarters are free.
    pub fn free_quarters(&self) -> usize {
        self.slots.iter().filter(|slot| **slot == Slot::Free).count()
    }

    /// The text equivalent: "Steer 229. Left side: half, Hanne Brandvold. Right side: one quarter, Łucja Bard; one quarter free."
    pub fn text(&self) -> String {
        if let Some(title) = &self.title {
            return title.clone();
        }
        let [l1, l2, r1, r2] = &self.slots;
        let said = match (l1, [l2, r1, r2]) {
            (Slot::Owner { name, kind: Kind::Whole, .. }, _) => format!("Whole animal: {name}."),
            (Slot::Free, [Slot::Free, Slot::Free, Slot::Free]) => "All four quarters free.".to_string(),
            (Slot::Condemned, [Slot::Condemned, Slot::Condemned, Slot::Condemned]) => "Condemned.".to_string(),
            _ => {
                let sides = self.sides().map(|(side, pair)| side_text(side, pair));
                sides.into_iter().flatten().collect::<Vec<_>>().join(" ")
            }
        };
        format!("{}. {said}", self.name).trim_end().to_string()
    }

    fn sides(&self) -> [(Side, [&Slot; 2]); 2] {
        let [l1, l2, r1, r2] = &self.slots;
        [(Side::Left, [l1, l2]), (Side::Right, [r1, r2])]
    }

    /// The drawing's parts, for the template.
    fn drawn(&self) -> [Drawn<'_>; 2] {
        let whole = matches!(&self.slots, [Slot::Owner { kind: Kind::Whole, .. }, ..]);
        let nothing_sold = self.free_quarters() == 4;
        self.sides().map(|(side, [one, two])| {
            let outline = shapes::outline(self.species, side);
            let clip = shapes::clip_id(self.species, side);
            if one == two || matches!(one.kind(), Some(Kind::Whole | Kind::Half)) {
                let lettered = !(nothing_sold || whole && side == Side::Right);
                let cell = Cell { piece: shapes::whole_side(side), slot: one, lettered };
                return Drawn { outline, clip, cut: None, cells: vec![cell] };
            }
            let across = [one, two].iter().any(|slot| matches!(slot.kind(), Some(Kind::Fore | Kind::Hind)));
            // Slot 2 is the hind quarter, which hangs on top.
            let (pieces, [first, second]) =
                if across { (shapes::across(side), [two, one]) } else { (shapes::lengthwise(side), [one, two]) };
            let [a, b] = pieces;
            let cells =
                vec![Cell { piece: a, slot: first, lettered: true }, Cell { piece: b, slot: second, lettered: true }];
            Drawn { outline, clip, cut: Some(shapes::cut(side, across)), cells }
        })
    }
}

/// The slots of one side in the order one reads them.
fn in_reading_order(pair: [&Slot; 2]) -> [&Slot; 2] {
    let [one, two] = pair;
    let across = pair.iter().any(|slot| matches!(slot.kind(), Some(Kind::Fore | Kind::Hind)));
    if across { [two, one] } else { [one, two] }
}

/// Deals out letters on one side: one for a half, one for each quarter.
fn lettered(mut pair: [Slot; 2], next: &mut char) -> [Slot; 2] {
    let across = pair.iter().any(|slot| matches!(slot.kind(), Some(Kind::Fore | Kind::Hind)));
    if across {
        pair.reverse();
    }
    let mut shared = None;
    for slot in &mut pair {
        if let Slot::Owner { letter, kind, .. } = slot {
            let one_share = matches!(kind, Kind::Whole | Kind::Half);
            *letter = *shared.get_or_insert(*next);
            if !one_share || *letter == *next {
                *next = char::from_u32(u32::from(*letter) + 1).unwrap_or(*letter);
            }
            if !one_share {
                shared = None;
            }
        }
    }
    if across {
        pair.reverse();
    }
    pair
}

fn side_text(side: Side, pair: [&Slot; 2]) -> Option<String> {
    let side = if side == Side::Left { "Left side" } else { "Right side" };
    let [one, two] = in_reading_order(pair);
    let says = |slot: &Slot| match slot {
        Slot::Owner { name, kind, .. } => Some(format!("{}, {name}", kind.words())),
        Slot::Free => Some("one quarter free".to_string()),
        Slot::Condemned => Some("one quarter condemned".to_string()),
        Slot::Plain => None,
    };
    let words = match (one, two) {
        (Slot::Owner { kind: Kind::Half, .. }, _) => says(one)?,
        (Slot::Free, Slot::Free) => "free".to_string(),
        (Slot::Condemned, Slot::Condemned) => "condemned".to_string(),
        (Slot::Plain, Slot::Plain) => return None,
        _ => [says(one), says(two)].into_iter().flatten().collect::<Vec<_>>().join("; "),
    };
    Some(format!("{side}: {words}."))
}

/// One side as the template draws it.
struct Drawn<'a> {
    outline: &'static str,
    clip: String,
    cut: Option<&'static str>,
    cells: Vec<Cell<'a>>,
}

impl Drawn<'_> {
    /// Whether the outline is one path, or one for each piece because only some of it is dashed.
    fn outline_in_pieces(&self) -> bool {
        self.cells.len() > 1 && self.cells.iter().any(|cell| cell.is_free())
    }
    fn is_free(&self) -> bool {
        self.cells.iter().all(|cell| cell.is_free())
    }
}

/// One piece of a side: what fills it, and what is written on it.
struct Cell<'a> {
    piece: Piece,
    slot: &'a Slot,
    lettered: bool,
}

impl Cell<'_> {
    fn is_free(&self) -> bool {
        *self.slot == Slot::Free
    }
    /// The id of its hatching; none for what is free or plain.
    fn hatch(&self) -> Option<String> {
        match self.slot {
            Slot::Owner { .. } => self.slot.letter().map(|letter| format!("own-{}", letter.to_ascii_lowercase())),
            Slot::Condemned => Some("own-lost".to_string()),
            Slot::Free | Slot::Plain => None,
        }
    }
    /// What is written on it: the letter, "free" or ×.
    fn word(&self) -> Option<String> {
        match self.slot {
            Slot::Owner { letter, .. } => Some(letter.to_string()),
            Slot::Free => Some("free".to_string()),
            Slot::Condemned => Some("×".to_string()),
            Slot::Plain => None,
        }
        .filter(|_| self.lettered)
    }
}

#[derive(Template)]
#[template(path = "parts/rail.html")]
struct Drawing<'a> {
    rail: &'a Rail,
    sides: [Drawn<'a>; 2],
}

impl std::fmt::Display for Rail {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let html = Drawing { rail: self, sides: self.drawn() }.render().map_err(|_| std::fmt::Error)?;
        f.write_str(&html)
    }
}

// The template above escapes every name; what comes out is markup.
impl askama::filters::HtmlSafe for Rail {}

/// Hatchings and clip paths, once on every page with rails.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Template)]
#[template(path = "parts/rail_defs.html")]
pub struct Defs {
    /// The scale the page's rails are drawn at.
    pub scale: Scale,
}

impl Defs {
    /// For a page with medium rails.
    pub const MEDIUM: Self = Self { scale: Scale::Medium };
    /// For a page with a large rail.
    pub const LARGE: Self = Self { scale: Scale::Large };

    const fn hatch_scale(&self) -> &'static str {
        match self.scale {
            Scale::Medium => "1",
            Scale::Large => "0.42",
        }
    }
    fn clips(&self) -> Vec<(String, &'static str)> {
        let mut found = Vec::new();
        for species in [Species::Beef, Species::Hog, Species::Lamb] {
            for side in [Side::Left, Side::Right] {
                found.push((shapes::clip_id(species, side), shapes::outline(species, side)));
            }
        }
        found
    }
}

// Constant markup.
impl askama::filters::HtmlSafe for Defs {}

#[cfg(test)]
mod tests;
