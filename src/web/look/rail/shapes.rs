//! Outlines of a head hanging from the gambrel, 104 × 206 units, and where a side is cut.
//!
//! The right side is the left one mirrored about x = 52 with mirrored numbers, not by a transform, so that hatchings keep
//! their slant; a test holds the two together. Goats hang as lambs do.

use crate::trade::share::{Side, Species};

const BEEF_LEFT: &str = "M16 13 C15 17 17 20 17 25 C18 38 16 48 11 56 C5 66 2 78 4 90 C6 100 12 105 13 116 \
    C13 126 7 132 5 143 C4 152 6 160 5 168 C4 177 2 186 4 192 C6 197 11 196 12 190 \
    C13 184 14 179 17 177 C22 179 24 187 28 195 C31 203 38 206 43 201 C47 196 48 186 48 176 \
    C49 150 48 120 48 92 C48 80 44 74 37 68 C30 61 26 50 26 38 C26 30 27 26 26 20 C26 16 25 13 23 12 \
    C20 11 17 11 16 13 Z";
const BEEF_RIGHT: &str = "M88 13 C89 17 87 20 87 25 C86 38 88 48 93 56 C99 66 102 78 100 90 C98 100 92 105 91 116 \
    C91 126 97 132 99 143 C100 152 98 160 99 168 C100 177 102 186 100 192 C98 197 93 196 92 190 \
    C91 184 90 179 87 177 C82 179 80 187 76 195 C73 203 66 206 61 201 C57 196 56 186 56 176 \
    C55 150 56 120 56 92 C56 80 60 74 67 68 C74 61 78 50 78 38 C78 30 77 26 78 20 C78 16 79 13 81 12 \
    C84 11 87 11 88 13 Z";
const HOG_LEFT: &str = "M17 14 C16 17 17 20 17 24 C17 34 14 42 9 50 C3 60 1 74 4 86 C7 96 12 102 12 114 C12 126 6 134 5 148 \
    C4 160 7 166 7 174 C7 182 5 189 8 194 C11 198 15 196 16 190 C16 184 18 181 21 182 \
    C24 188 26 196 33 201 C40 205 47 200 48 190 C49 160 48 124 48 94 C48 82 45 75 38 68 \
    C31 61 26 50 26 38 C26 30 27 26 26 20 C26 16 25 13 23 12 C20 11 18 12 17 14 Z";
const HOG_RIGHT: &str = "M87 14 C88 17 87 20 87 24 C87 34 90 42 95 50 C101 60 103 74 100 86 C97 96 92 102 92 114 \
    C92 126 98 134 99 148 C100 160 97 166 97 174 C97 182 99 189 96 194 C93 198 89 196 88 190 \
    C88 184 86 181 83 182 C80 188 78 196 71 201 C64 205 57 200 56 190 C55 160 56 124 56 94 \
    C56 82 59 75 66 68 C73 61 78 50 78 38 C78 30 77 26 78 20 C78 16 79 13 81 12 C84 11 86 12 87 14 Z";
const LAMB_LEFT: &str = "M18 14 C17 17 18 20 18 24 C19 40 18 52 14 61 C9 71 6 82 9 93 C12 102 17 107 17 118 \
    C17 128 12 136 11 147 C10 156 12 163 11 171 C10 180 9 190 11 196 C13 200 16 198 17 192 \
    C18 185 19 179 22 176 C26 178 28 186 32 193 C35 200 41 203 44 197 C47 191 47 182 47 172 \
    C48 148 47 122 47 98 C47 86 43 79 37 73 C31 66 27 54 26 40 C26 31 27 26 26 20 C26 16 25 13 23 12 \
    C21 11 19 12 18 14 Z";
const LAMB_RIGHT: &str = "M86 14 C87 17 86 20 86 24 C85 40 86 52 90 61 C95 71 98 82 95 93 C92 102 87 107 87 118 \
    C87 128 92 136 93 147 C94 156 92 163 93 171 C94 180 95 190 93 196 C91 200 88 198 87 192 \
    C86 185 85 179 82 176 C78 178 76 186 72 193 C69 200 63 203 60 197 C57 191 57 182 57 172 \
    C56 148 57 122 57 98 C57 86 61 79 67 73 C73 66 77 54 78 40 C78 31 77 26 78 20 C78 16 79 13 81 12 \
    C83 11 85 12 86 14 Z";

/// The outline of one side.
pub(super) const fn outline(species: Species, side: Side) -> &'static str {
    match (species, side) {
        (Species::Beef, Side::Left) => BEEF_LEFT,
        (Species::Beef, Side::Right) => BEEF_RIGHT,
        (Species::Hog, Side::Left) => HOG_LEFT,
        (Species::Hog, Side::Right) => HOG_RIGHT,
        (Species::Lamb | Species::Goat, Side::Left) => LAMB_LEFT,
        (Species::Lamb | Species::Goat, Side::Right) => LAMB_RIGHT,
    }
}

/// The id of one side's clip path.
pub(super) fn clip_id(species: Species, side: Side) -> String {
    let shape = match species {
        Species::Beef => "beef",
        Species::Hog => "hog",
        Species::Lamb | Species::Goat => "lamb",
    };
    format!("{shape}-{}", if side == Side::Left { 'l' } else { 'r' })
}

/// A rectangle of a side, and where its letter stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    pub(super) x: u32,
    pub(super) y: u32,
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) letter_x: &'static str,
    pub(super) letter_y: u32,
}

const fn piece(x: u32, y: u32, width: u32, height: u32, letter_x: &'static str, letter_y: u32) -> Piece {
    Piece { x, y, width, height, letter_x, letter_y }
}

/// The whole side.
pub(super) const fn whole_side(side: Side) -> Piece {
    match side {
        Side::Left => piece(0, 0, 50, 210, "28", 140),
        Side::Right => piece(54, 0, 50, 210, "76", 140),
    }
}

/// The two halves of a side cut lengthwise, at x = 27 or 77: as one reads.
pub(super) const fn lengthwise(side: Side) -> [Piece; 2] {
    match side {
        Side::Left => [piece(0, 0, 27, 210, "17", 146), piece(27, 0, 23, 210, "37.5", 146)],
        Side::Right => [piece(54, 0, 23, 210, "66.5", 146), piece(77, 0, 27, 210, "87", 146)],
    }
}

/// Hind and fore quarter of a side cut across between the 12th and 13th rib, at y = 120: as one reads.
pub(super) const fn across(side: Side) -> [Piece; 2] {
    match side {
        Side::Left => [piece(0, 0, 50, 120, "28", 98), piece(0, 120, 50, 90, "28", 152)],
        Side::Right => [piece(54, 0, 50, 120, "76", 98), piece(54, 120, 50, 90, "76", 152)],
    }
}

/// The line of the cut.
pub(super) const fn cut(side: Side, across: bool) -> &'static str {
    match (side, across) {
        (Side::Left, false) => "M27 0V210",
        (Side::Right, false) => "M77 0V210",
        (Side::Left, true) => "M0 120H50",
        (Side::Right, true) => "M54 120H104",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The path with every x mirrored about 52.
    fn mirrored(path: &str) -> String {
        let mut is_x = true;
        let words: Vec<String> = path
            .split(' ')
            .map(|word| {
                let command = word.trim_end_matches(|c: char| c.is_ascii_digit());
                let Ok(n) = word.trim_start_matches(|c: char| c.is_ascii_alphabetic()).parse::<i64>() else {
                    return word.to_string();
                };
                let shown = if is_x { 104 - n } else { n };
                is_x = !is_x;
                format!("{command}{shown}")
            })
            .collect();
        words.join(" ")
    }

    #[test]
    fn the_right_side_mirrors_the_left_in_numbers() {
        for species in Species::ALL {
            let (left, right) = (outline(*species, Side::Left), outline(*species, Side::Right));
            assert!(left.starts_with('M') && left.ends_with(" Z") && left.len() > 300, "{species}");
            assert_eq!(mirrored(left), right, "{species}");
        }
    }

    #[test]
    fn the_pieces_of_a_side_make_up_the_side() {
        for side in [Side::Left, Side::Right] {
            let whole = whole_side(side);
            let area = |p: &Piece| p.width * p.height;
            for pieces in [lengthwise(side), across(side)] {
                assert_eq!(pieces.iter().map(area).sum::<u32>(), area(&whole));
                assert!(pieces.iter().all(|p| p.x >= whole.x && p.x + p.width <= whole.x + whole.width));
            }
        }
    }
}
