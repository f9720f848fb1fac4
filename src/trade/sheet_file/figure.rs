//! Figures as other programs and people write them: decimal points and commas, thousands in groups, a unit behind or in front.
//!
//! Nothing ambiguous is decided in silence. "1,234" is a thousand or one and a bit; a column that shows its decimal mark elsewhere
//! ("389,5") settles it, and else the figure is refused with both readings.

use crate::trade::weight::Unit;

/// A decimal mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// `389.5`.
    Point,
    /// `389,5`.
    Comma,
}

impl Mark {
    const fn char(self) -> char {
        match self {
            Self::Point => '.',
            Self::Comma => ',',
        }
    }
    const fn other(self) -> Self {
        match self {
            Self::Point => Self::Comma,
            Self::Comma => Self::Point,
        }
    }
}

/// What the figures of a column show of its decimal mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Style {
    /// None of them shows it.
    #[default]
    Unknown,
    /// Those that show it agree.
    One(Mark),
    /// Some show a point, some a comma.
    Mixed,
}

impl Style {
    /// The style of all figures that are read together.
    pub fn of<'a>(cells: impl IntoIterator<Item = &'a str>) -> Self {
        cells.into_iter().fold(Self::Unknown, |style, cell| {
            let shown = split(cell).and_then(|(core, _)| shows(&core));
            match (style, shown) {
                (style, None) => style,
                (Self::Unknown, Some(mark)) => Self::One(mark),
                (Self::One(one), Some(mark)) if one == mark => style,
                _ => Self::Mixed,
            }
        })
    }
}

/// A figure as it was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Figure {
    /// Digits, perhaps a minus in front and a point with decimals: "1234.5".
    pub plain: String,
    /// The unit that stood with it.
    pub unit: Option<Unit>,
}

/// Whether a cell says nothing: empty, or a dash and the like that people write for "nothing".
pub fn is_blank(cell: &str) -> bool {
    let cell = cell.trim();
    matches!(cell.to_ascii_lowercase().as_str(), "" | "n/a" | "na" | "none" | "null" | "nil" | "." | "?" | "#n/a")
        || cell.chars().all(|c| matches!(c, '-' | '–' | '—' | '_' | ' '))
}

/// Whether a cell is more of a figure than of a word: a heading is none.
pub fn looks_like_one(cell: &str) -> bool {
    cell.trim().starts_with(|c: char| c.is_ascii_digit()) || split(cell).is_some()
}

/// Reads a figure.
///
/// # Errors
/// What is wrong and what to do, in sentences.
pub fn read(cell: &str, style: Style) -> Result<Figure, String> {
    let quoted = super::shortened(cell);
    let no_figure = || format!("“{quoted}” is not a figure. Write it like 389.5, or leave the cell blank.");
    let (core, unit) = split(cell).ok_or_else(no_figure)?;
    let has_mark = core.contains(['.', ',']);
    let decimal = match (shows(&core), style) {
        (Some(mark), _) => mark,
        (None, Style::One(mark)) => mark,
        (None, _) if !has_mark => Mark::Point,
        (None, _) => {
            let whole: String = core.chars().filter(|c| !matches!(c, '.' | ',' | ' ' | '\'')).collect();
            let broken = core.replace(',', ".");
            return Err(format!(
                "“{quoted}” can be read as {whole} or as {broken}. Write it without a mark for thousands."
            ));
        }
    };
    let (sign, digits) = match core.strip_prefix('-') {
        Some(rest) => ("-", rest),
        None => ("", core.as_str()),
    };
    let (whole, fraction) = match digits.rsplit_once(decimal.char()) {
        Some((whole, fraction)) => (whole, fraction),
        None => (digits, ""),
    };
    let grouped = |c: char| matches!(c, ' ' | '\'') || c == decimal.other().char();
    let groups: Vec<&str> = whole.split(grouped).collect();
    let plain = |s: &str| s.bytes().all(|b| b.is_ascii_digit());
    let first_fits = groups.first().is_some_and(|g| groups.len() == 1 || (1..=3).contains(&g.len()));
    let well_grouped = first_fits && groups.iter().skip(1).all(|g| g.len() == 3);
    let whole = groups.concat();
    if !well_grouped || !plain(&whole) || !plain(fraction) || (whole.is_empty() && fraction.is_empty()) {
        return Err(no_figure());
    }
    let whole = if whole.is_empty() { "0" } else { &whole };
    // A scale that writes 121.350 weighs 121.35; nothing is rounded.
    let fraction = fraction.trim_end_matches('0');
    let point = if fraction.is_empty() { "" } else { "." };
    Ok(Figure { plain: format!("{sign}{whole}{point}{fraction}"), unit })
}

/// The unit a heading names: "Left (kg)", "Hanging wt, lbs". None when it names none.
pub fn unit_in(heading: &str) -> Option<Unit> {
    heading.split(|c: char| !(c.is_alphanumeric() || c == '#')).find_map(unit)
}

fn unit(word: &str) -> Option<Unit> {
    match word.trim().trim_end_matches('.').to_ascii_lowercase().as_str() {
        "lb" | "lbs" | "pound" | "pounds" | "#" | "lb#" => Some(Unit::Lb),
        "kg" | "kgs" | "kilo" | "kilos" | "kilogram" | "kilograms" => Some(Unit::Kg),
        _ => None,
    }
}

/// The figure without its unit, blanks made plain; none when it is no figure at all.
fn split(cell: &str) -> Option<(String, Option<Unit>)> {
    let blank = |c: char| if matches!(c, '\u{a0}' | '\u{202f}' | '\u{2009}' | '\t') { ' ' } else { c };
    let text: String = cell.trim().chars().map(blank).map(|c| if c == '−' { '-' } else { c }).collect();
    let text = text.trim().trim_start_matches('\'').trim();
    let in_core = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',' | ' ' | '\'' | '-');
    let begins = text.find(|c: char| c.is_ascii_digit() || matches!(c, '-' | '.' | ','))?;
    let (front, rest) = text.split_at_checked(begins)?;
    let ends = rest.find(|c: char| !in_core(c)).unwrap_or(rest.len());
    let (core, back) = rest.split_at_checked(ends)?;
    let core = core.trim();
    // A point that ends the sentence and not the figure: "389."
    let core = core.strip_suffix('.').unwrap_or(core);
    let front_unit = if front.trim().is_empty() { None } else { Some(unit(front)?) };
    let back_unit = if back.trim().is_empty() { None } else { Some(unit(back)?) };
    let unit = match (front_unit, back_unit) {
        (Some(_), Some(_)) => return None,
        (front, back) => front.or(back),
    };
    let digits = core.strip_prefix('-').unwrap_or(core).trim_start();
    let good = digits.bytes().any(|b| b.is_ascii_digit()) && !digits.contains('-');
    let sign = if core.starts_with('-') { "-" } else { "" };
    good.then(|| (format!("{sign}{digits}"), unit))
}

/// The decimal mark a figure shows by itself; none when it could be read both ways, or has no mark.
fn shows(core: &str) -> Option<Mark> {
    let count = |mark: Mark| core.matches(mark.char()).count();
    let (points, commas) = (count(Mark::Point), count(Mark::Comma));
    let last = |mark: Mark| core.rfind(mark.char());
    match (points, commas) {
        (0, 0) => None,
        (1, 0) => alone(core, Mark::Point),
        (0, 1) => alone(core, Mark::Comma),
        // Several of one kind part thousands.
        (_, 0) => Some(Mark::Comma),
        (0, _) => Some(Mark::Point),
        _ if last(Mark::Point) > last(Mark::Comma) => Some(Mark::Point),
        _ => Some(Mark::Comma),
    }
}

/// One mark, once: a decimal mark unless exactly three digits stand behind it and one to three, not only a zero, in front.
fn alone(core: &str, mark: Mark) -> Option<Mark> {
    let (whole, fraction) = core.trim_start_matches('-').split_once(mark.char())?;
    // "1 234,5": the blank parts thousands, so the mark does not.
    let grouped = whole.contains([' ', '\'']);
    let could_be_thousands =
        fraction.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0') && !grouped;
    (!could_be_thousands).then_some(mark)
}
