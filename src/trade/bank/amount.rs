//! Amounts as banks write them: a minus in front or behind, parentheses, a sign of dollars, CR and DR, decimal points and commas.

use crate::trade::money::Money;
use crate::trade::sheet_file::figure::{self, Mark, Style};
use crate::trade::sheet_file::shortened;

/// What a cell says without its figure: taken off (DR, a minus, parentheses), added (CR, a plus), or nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Sign {
    Plus,
    Minus,
    Unsaid,
}

/// Whether a word says that money was taken off (`true`) or added (`false`); none when it says neither.
pub fn takes_off(word: &str) -> Option<bool> {
    match word.trim().trim_end_matches('.').to_ascii_lowercase().as_str() {
        "dr" | "debit" | "d" | "withdrawal" | "out" | "-" => Some(true),
        "cr" | "credit" | "c" | "deposit" | "in" | "+" => Some(false),
        _ => None,
    }
}

/// The figure of a cell and its sign.
fn split(cell: &str) -> (String, Sign) {
    let plain = |c: char| match c {
        '−' | '–' => '-',
        '\u{a0}' | '\u{202f}' | '\u{2009}' => ' ',
        c => c,
    };
    let mut text: String = cell.trim().chars().map(plain).filter(|c| *c != '$').collect();
    let mut sign = Sign::Unsaid;
    let trimmed = text.trim().to_string();
    text = trimmed;
    if let Some(inner) = text.strip_prefix('(').and_then(|t| t.strip_suffix(')')) {
        (text, sign) = (inner.trim().to_string(), Sign::Minus);
    }
    let word: String =
        text.chars().rev().take_while(char::is_ascii_alphabetic).collect::<Vec<_>>().into_iter().rev().collect();
    if !word.is_empty()
        && let Some(rest) = text.strip_suffix(word.as_str())
    {
        match takes_off(&word) {
            Some(true) => (text, sign) = (rest.trim().to_string(), Sign::Minus),
            Some(false) => (text, sign) = (rest.trim().to_string(), Sign::Plus),
            None if word.eq_ignore_ascii_case("usd") => text = rest.trim().to_string(),
            None => {}
        }
    }
    if let Some(rest) = text.strip_prefix("USD").or_else(|| text.strip_prefix("US")) {
        text = rest.trim().to_string();
    }
    for (mark, means) in [('-', Sign::Minus), ('+', Sign::Plus)] {
        let cut = text.strip_suffix(mark).or_else(|| text.strip_prefix(mark)).map(|t| t.trim().to_string());
        if let Some(rest) = cut {
            (text, sign) = (rest, means);
        }
    }
    (text, sign)
}

/// The decimal mark of the amounts that are read together.
pub fn style<'a>(cells: impl IntoIterator<Item = &'a str>) -> Style {
    let cores: Vec<String> = cells.into_iter().map(|c| split(c).0).collect();
    Style::of(cores.iter().map(String::as_str))
}

/// The amount of a cell; none when the cell is blank.
///
/// "1,234" alone is a thousand and more: an amount of dollars has two digits behind its mark, never three.
///
/// # Errors
/// What is wrong and what to do, in a sentence.
pub fn read(cell: &str, style: Style) -> Result<Option<Money>, String> {
    if figure::is_blank(cell) {
        return Ok(None);
    }
    let wrong = || format!("“{}” is not an amount. Write it like 1234.50.", shortened(cell));
    let (core, sign) = split(cell);
    let style = match style {
        Style::One(mark) => Style::One(mark),
        Style::Unknown | Style::Mixed if core.contains(',') => Style::One(Mark::Point),
        Style::Unknown | Style::Mixed => Style::One(Mark::Comma),
    };
    let figure = figure::read(&core, style).map_err(|_| wrong())?;
    if figure.unit.is_some() || figure.plain.starts_with('-') {
        return Err(wrong());
    }
    let amount = Money::parse(&figure.plain).map_err(|_| wrong())?;
    Ok(Some(if sign == Sign::Minus { amount.negated() } else { amount }))
}
