//! A picture for a phone's camera (QR code), drawn by `templates/parts/qr.html`.

use crate::actions::Failure;
use crate::paper::qr::Squares;
use std::fmt::Write;

/// The dark squares as one path, and how many squares there are on a side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QrPicture {
    /// A path of squares of one unit.
    pub squares: String,
    /// The length of a side in squares, the quiet border with it.
    pub side: usize,
}

impl QrPicture {
    /// The picture of a text, with its quiet border.
    ///
    /// # Errors
    /// [`Failure::Unexpected`] for a text too long for one picture (about 2,000 letters).
    pub fn of(text: &str) -> Result<Self, Failure> {
        let Squares { dark, side } = Squares::of(text).map_err(|e| Failure::Unexpected(e.to_string()))?;
        let mut squares = String::new();
        for (x, y) in dark {
            let _ = write!(squares, "M{x} {y}h1v1h-1z");
        }
        Ok(Self { squares, side })
    }
}

#[cfg(test)]
mod tests {
    use super::QrPicture;

    #[test]
    fn the_picture_has_its_three_corners_and_its_quiet_border() {
        let QrPicture { squares, side } = QrPicture::of("otpauth://totp/x").unwrap();
        // Finder patterns begin at the corners inside the border.
        for corner in [(4, 4), (side - 5, 4), (4, side - 5)] {
            assert!(squares.contains(&format!("M{} {}h1", corner.0, corner.1)), "{corner:?} in {side}");
        }
        assert!(!squares.contains("M3 ") && !squares.contains(" 3h1"), "nothing stands in the border");
        assert!(QrPicture::of(&"x".repeat(5_000)).is_err());
    }
}
