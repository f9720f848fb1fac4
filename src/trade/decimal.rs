//! Decimal figures as people and programs write them: one strict reader for money, weights, rates and per cents.

use rust_decimal::{Decimal, RoundingStrategy};

/// Why a figure could not be read. The caller knows what the figure is for and says so in its own sentence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BadFigure {
    /// Not a plain decimal figure, such as `12.50`.
    NotAFigure,
    /// More decimals than the quantity has.
    TooManyDecimals(u32),
    /// Outside the range the quantity may have.
    OutOfRange,
}

impl BadFigure {
    /// One sentence for the person who typed `text`, with `example` as a well-formed figure.
    pub fn sentence(self, text: &str, example: &str) -> String {
        let shown: String = text.trim().chars().take(40).collect();
        match self {
            Self::NotAFigure => format!("“{shown}” is not a figure. Write it like {example}"),
            Self::TooManyDecimals(0) => format!("“{shown}” has decimals. Write a whole figure like {example}"),
            Self::TooManyDecimals(n) => format!("“{shown}” has more than {n} decimals. Write it like {example}"),
            Self::OutOfRange => format!("“{shown}” is outside what can be recorded. Write it like {example}"),
        }
    }
}

/// Reads a plain decimal figure (optional leading `-`, digits, optional point and digits) into whole units of 10^-`decimals`.
///
/// No exponent, no blanks, no thousands separators, no plus sign; at most 15 digits before the point. The result's
/// absolute value is at most `limit`.
///
/// # Errors
/// [`BadFigure`] says which rule the text breaks.
pub fn parse_fixed(text: &str, decimals: u32, limit: i64) -> Result<i64, BadFigure> {
    let (negative, digits) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    let (whole, fraction) = match digits.split_once('.') {
        Some((whole, fraction)) if !fraction.is_empty() => (whole, fraction),
        Some(_) => return Err(BadFigure::NotAFigure),
        None => (digits, ""),
    };
    let plain = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    if whole.is_empty() || !plain(whole) || !plain(fraction) {
        return Err(BadFigure::NotAFigure);
    }
    if fraction.len() > decimals as usize {
        return Err(BadFigure::TooManyDecimals(decimals));
    }
    if whole.trim_start_matches('0').len() > 15 {
        return Err(BadFigure::OutOfRange);
    }
    let padded = format!("{whole}{fraction:0<width$}", width = decimals as usize);
    let value: i64 = padded.parse().map_err(|_| BadFigure::OutOfRange)?;
    if value > limit {
        return Err(BadFigure::OutOfRange);
    }
    Ok(if negative { -value } else { value })
}

/// What a person may type around a figure: blanks, a dollar sign, thousands commas, a unit. Strips them, keeps the rest.
pub fn tidy_typed(text: &str) -> String {
    let text = text.trim().trim_start_matches('$').trim();
    let text = text
        .strip_suffix("lb")
        .or_else(|| text.strip_suffix("kg"))
        .or_else(|| text.strip_suffix('%'))
        .unwrap_or(text)
        .trim();
    let text = if let Some(rest) = text.strip_prefix('−') { format!("-{rest}") } else { text.to_string() };
    // A comma counts as a thousands separator only where one belongs: "1,481.18" yes, "1,5" no.
    let (whole, fraction) = match text.split_once('.') {
        Some((w, f)) => (w.to_string(), format!(".{f}")),
        None => (text.clone(), String::new()),
    };
    let mut groups = whole.trim_start_matches('-').split(',');
    let first_fits = groups.next().is_some_and(|g| (1..=3).contains(&g.len()));
    if whole.contains(',') && first_fits && groups.all(|g| g.len() == 3) {
        return format!("{}{fraction}", whole.replace(',', ""));
    }
    text
}

/// Writes whole units of 10^-`decimals` as a plain decimal with exactly that many decimals.
pub fn plain(value: i64, decimals: u32) -> String {
    Decimal::new(value, decimals).to_string()
}

/// Writes a figure for people: thousands commas, a real minus sign, exactly `decimals` decimals.
pub fn grouped(value: i64, decimals: u32) -> String {
    let text = plain(value, decimals);
    let digits = text.trim_start_matches('-');
    let (whole, fraction) = digits.split_once('.').unwrap_or((digits, ""));
    let mut out = String::new();
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && (whole.len() - i) % 3 == 0 {
            out.push(',');
        }
        out.push(c);
    }
    if !fraction.is_empty() {
        out.push('.');
        out.push_str(fraction);
    }
    if value < 0 { format!("−{out}") } else { out }
}

/// Rounds to `decimals`, half away from zero, and returns whole units of 10^-`decimals`; `None` when it does not fit.
pub fn round_fixed(value: Decimal, decimals: u32) -> Option<i64> {
    let rounded = value.round_dp_with_strategy(decimals, RoundingStrategy::MidpointAwayFromZero);
    let scaled = rounded.checked_mul(Decimal::from(10_i64.checked_pow(decimals)?))?;
    i64::try_from(scaled.round()).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reads_only_plain_figures() {
        assert_eq!(parse_fixed("12.5", 2, 10_000), Ok(1250));
        assert_eq!(parse_fixed("-0.01", 2, 10_000), Ok(-1));
        assert_eq!(parse_fixed("007", 2, 10_000), Ok(700));
        for bad in ["", "-", ".5", "5.", "1e3", "+1", " 1", "1,000", "1_0", "--1", "NaN", "１"] {
            assert_eq!(parse_fixed(bad, 2, 1_000_000), Err(BadFigure::NotAFigure), "{bad}");
        }
        assert_eq!(parse_fixed("1.234", 2, 10_000), Err(BadFigure::TooManyDecimals(2)));
        assert_eq!(parse_fixed("100.01", 2, 10_000), Err(BadFigure::OutOfRange));
        assert_eq!(parse_fixed("9999999999999999999999", 2, i64::MAX), Err(BadFigure::OutOfRange));
    }

    #[test]
    fn strips_what_people_type_around_a_figure() {
        assert_eq!(tidy_typed(" $1,481.18 "), "1481.18");
        assert_eq!(tidy_typed("389.5 lb"), "389.5");
        assert_eq!(tidy_typed("1,5"), "1,5");
        assert_eq!(tidy_typed("−10"), "-10");
    }

    #[test]
    fn shows_thousands_and_a_real_minus() {
        assert_eq!(grouped(148_118, 2), "1,481.18");
        assert_eq!(grouped(-40_000, 2), "−400.00");
        assert_eq!(grouped(5, 2), "0.05");
        assert_eq!(grouped(123_456_789, 0), "123,456,789");
    }

    #[test]
    fn rounds_half_away_from_zero() {
        assert_eq!(round_fixed(Decimal::new(1005, 3), 2), Some(101));
        assert_eq!(round_fixed(Decimal::new(-1005, 3), 2), Some(-101));
        assert_eq!(round_fixed(Decimal::new(1004, 3), 2), Some(100));
    }
}
