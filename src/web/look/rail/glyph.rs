//! The rail in a line of text: a small pair of sides that shows what share is meant. Words always follow it.

use crate::trade::share::{Part, Side, Size};
use askama::Template;

const LEFT: &str = "M4 5C4 8 2 9 2 12C2 14 3.5 15 3.5 16.5C3.5 18 2 19 2 21C2 24 8 24 9 21.5V12C9 10 6.5 9 6.5 5Z";
const RIGHT: &str =
    "M18 5C18 8 20 9 20 12C20 14 18.5 15 18.5 16.5C18.5 18 20 19 20 21C20 24 14 24 13 21.5V12C13 10 15.5 9 15.5 5Z";
const LEFT_SPLIT: &str = "M6 9C7 10 9 10.5 9 12V21.5C8.5 22.5 7 23 6 23Z";
const RIGHT_SPLIT: &str = "M16 9C15 10 13 10.5 13 12V21.5C13.5 22.5 15 23 16 23Z";
const LEFT_FORE: &str = "M3.5 16.5C3.5 18 2 19 2 21C2 24 8 24 9 21.5V16.5Z";
const RIGHT_FORE: &str = "M18.5 16.5C18.5 18 20 19 20 21C20 24 14 24 13 21.5V16.5Z";
const LEFT_HIND: &str = "M4 5C4 8 2 9 2 12C2 14 3.5 15 3.5 16.5H9V12C9 10 6.5 9 6.5 5Z";
const RIGHT_HIND: &str = "M18 5C18 8 20 9 20 12C20 14 18.5 15 18.5 16.5H13V12C13 10 15.5 9 15.5 5Z";

/// How the share is filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Mark {
    /// This order's share.
    #[default]
    Taken,
    /// Held without its deposit.
    Held,
}

impl Mark {
    const fn class(self) -> &'static str {
        match self {
            Self::Taken => "g1",
            Self::Held => "g3",
        }
    }
}

/// A pair of sides at the height of a line, with one share filled in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Template)]
#[template(
    source = r#"<svg class="glyph" viewBox="0 0 22 25" aria-hidden="true"><path class="g2" d="M0 .7H22M4.5 6L6.5 3.5L11 2L15.5 3.5L17.5 6"/>{% for (class, path) in self.paths() %}<path class="{{ class }}" d="{{ path }}"/>{% endfor %}</svg>"#,
    ext = "html"
)]
pub struct Glyph {
    size: Size,
    side: Side,
    part: Part,
    mark: Mark,
}

impl Glyph {
    /// The share; a half or quarter without a side yet is drawn on the left, a quarter without a part as split.
    pub fn new(size: Size, side: Option<Side>, part: Option<Part>) -> Self {
        Self { size, side: side.unwrap_or(Side::Left), part: part.unwrap_or(Part::Split), mark: Mark::Taken }
    }

    /// Gray: held without its deposit.
    #[must_use]
    pub const fn held(mut self) -> Self {
        self.mark = Mark::Held;
        self
    }

    fn paths(&self) -> Vec<(&'static str, &'static str)> {
        let taken = self.mark.class();
        let is = |side, class| if self.size == Size::Half && self.side == side { class } else { "g0" };
        if self.size == Size::Whole {
            return vec![(taken, LEFT), (taken, RIGHT)];
        }
        let mut paths = vec![(is(Side::Left, taken), LEFT), (is(Side::Right, taken), RIGHT)];
        if self.size == Size::Quarter {
            paths.push((
                taken,
                match (self.side, self.part) {
                    (Side::Left, Part::Split) => LEFT_SPLIT,
                    (Side::Right, Part::Split) => RIGHT_SPLIT,
                    (Side::Left, Part::Fore) => LEFT_FORE,
                    (Side::Right, Part::Fore) => RIGHT_FORE,
                    (Side::Left, Part::Hind) => LEFT_HIND,
                    (Side::Right, Part::Hind) => RIGHT_HIND,
                },
            ));
        }
        paths
    }
}

// Constant markup.
impl askama::filters::HtmlSafe for Glyph {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_glyph_fills_in_its_share_only() {
        let html = |glyph: Glyph| glyph.to_string();
        let count = |html: &str, class: &str| html.matches(&format!("class=\"{class}\"")).count();
        let whole = html(Glyph::new(Size::Whole, None, None));
        assert_eq!((count(&whole, "g1"), count(&whole, "g0")), (2, 0));
        let half = html(Glyph::new(Size::Half, Some(Side::Right), None));
        assert!(
            half.contains(&format!("class=\"g0\" d=\"{LEFT}\""))
                && half.contains(&format!("class=\"g1\" d=\"{RIGHT}\""))
        );
        let held = html(Glyph::new(Size::Half, None, None).held());
        assert_eq!((count(&held, "g3"), count(&held, "g1"), count(&held, "g0")), (1, 0, 1));
        for (part, path) in [(Part::Split, LEFT_SPLIT), (Part::Fore, LEFT_FORE), (Part::Hind, LEFT_HIND)] {
            let quarter = html(Glyph::new(Size::Quarter, Some(Side::Left), Some(part)));
            assert!(quarter.contains(path) && count(&quarter, "g1") == 1 && count(&quarter, "g0") == 2);
        }
        assert!(whole.contains("aria-hidden=\"true\""), "words follow it");
    }
}
