//! A square for a phone's camera (QR code, ISO/IEC 18004) as dark squares on a grid. Papers print it and pages draw it.

use super::PaperError;
use qrcode::{Color, QrCode};

/// The quiet border around it, in squares, that ISO/IEC 18004 asks for.
pub const QUIET: usize = 4;

/// The dark squares, and how many there are on a side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Squares {
    /// Column and row of each dark square, from the top left corner, the quiet border counted.
    pub dark: Vec<(usize, usize)>,
    /// The length of a side in squares, the quiet border with it.
    pub side: usize,
}

impl Squares {
    /// The squares of a text.
    ///
    /// # Errors
    /// [`PaperError::Write`] for a text too long for one square (about 2,000 letters).
    pub fn of(text: &str) -> Result<Self, PaperError> {
        let code = QrCode::new(text).map_err(|e| PaperError::Write(e.to_string()))?;
        let dark = (0..).zip(code.to_colors()).filter(|(_, c)| *c == Color::Dark);
        let dark = dark.map(|(n, _): (usize, Color)| (n % code.width() + QUIET, n / code.width() + QUIET)).collect();
        Ok(Self { dark, side: code.width().saturating_add(2 * QUIET) })
    }
}
