//! Figures of the public pages in words: ranges of money and weight, charges, how long it lasts.

use crate::book::rows::plants::ProcessorCharge;
use crate::book::rows::selling::Price;
use crate::trade::all_in::Span;
use crate::trade::cuts::said;
use crate::trade::cuts::take_home::Band;
use crate::trade::decimal::round_fixed;
use crate::trade::money::Money;
use crate::trade::share::Species;
use crate::trade::vocabulary::{Per, PriceBasis};
use crate::trade::weight::{Unit, Weight};
use rust_decimal::Decimal;

fn whole(dollars: i64) -> String {
    let text = Money::from_cents(dollars.saturating_mul(100)).dollars();
    text.strip_suffix(".00").map_or_else(|| text.clone(), str::to_string)
}

/// Whole dollars, down.
pub(super) fn down(m: Money) -> String {
    whole(m.cents().div_euclid(100))
}

/// Whole dollars, up.
pub(super) fn up(m: Money) -> String {
    whole(m.cents().saturating_neg().div_euclid(100).saturating_neg())
}

/// "$100", "$99.50": no needless cents.
pub(super) fn plain(m: Money) -> String {
    let text = m.dollars();
    text.strip_suffix(".00").map_or_else(|| text.clone(), str::to_string)
}

/// Whole dollars, the nearest.
pub(super) fn near(m: Money) -> String {
    whole(m.cents().saturating_add(50).div_euclid(100))
}

/// "$574–$705", never narrower than its sums; one figure to the cent where both are the same.
pub(super) fn dollars(span: Span) -> String {
    if span.low == span.high { span.expected.dollars() } else { format!("{}–{}", down(span.low), up(span.high)) }
}

/// The three columns of a table in dollars, without their sign: low, expected, high.
pub(super) fn three(span: Span) -> [String; 3] {
    let figures = if span.low == span.high {
        [span.low, span.expected, span.high].map(Money::dollars)
    } else {
        [down(span.low), near(span.expected), up(span.high)]
    };
    figures.map(|f| f.replace('$', ""))
}

/// The same to the cent, for what is small.
pub(super) fn three_cents(span: Span) -> [String; 3] {
    [span.low, span.expected, span.high].map(Money::shown)
}

/// A weight as coarse as an estimate deserves: tenths below 10.
pub(super) fn weight(w: Weight, fine: bool) -> String {
    let places = u32::from(fine);
    let n = round_fixed(w.decimal(), places).unwrap_or(0);
    crate::trade::decimal::grouped(n, places)
}

/// "62–78 lb".
pub(super) fn weights(band: Band, unit: Unit) -> String {
    said::range(band.low, band.high, unit)
}

/// Low, expected, high; with tenths where the most is below 10.
pub(super) fn three_weights(band: Band) -> [String; 3] {
    let fine = band.high.hundredths() < 1_000;
    [band.low, band.expected, band.high].map(|w| weight(w, fine))
}

/// "1.5–2.2 cubic feet".
pub(super) fn feet((low, high): (Decimal, Decimal)) -> String {
    let one = |feet: Decimal| feet.round_dp(1).normalize().to_string();
    let (low, high) = (one(low), one(high));
    if low == high { format!("{low} cubic feet") } else { format!("{low}–{high} cubic feet") }
}

/// "6–11 weeks", "4–7 months": months from ten weeks on.
pub(super) fn lasts([least, _, most]: [Decimal; 3]) -> String {
    let is_long = most >= Decimal::TEN;
    // 365.25 days in twelve months of seven-day weeks.
    let month = Decimal::new(4_348, 3);
    let count = |weeks: Decimal| {
        let n = if is_long { weeks.checked_div(month).unwrap_or_default() } else { weeks };
        round_fixed(n, 0).unwrap_or(0).max(1)
    };
    let (low, high) = (count(least), count(most));
    let what = if is_long { "month" } else { "week" };
    match (low, high) {
        (1, 1) => format!("1 {what}"),
        (low, high) if low == high => format!("{low} {what}s"),
        (low, high) => format!("{low}–{high} {what}s"),
    }
}

/// "Hogs": a species as a heading.
pub(super) const fn many(species: Species) -> &'static str {
    match species {
        Species::Beef => "Beef",
        Species::Hog => "Hogs",
        Species::Lamb => "Lambs",
        Species::Goat => "Goats",
    }
}

/// "a whole beef", "a whole hog".
pub(super) fn animal(species: Species) -> String {
    format!("a whole {}", species.label())
}

/// "$5.25 per lb hanging".
pub(super) fn price(p: &Price, unit: Unit) -> (String, String) {
    let rate = || p.rate.unwrap_or_default().dollars();
    match p.basis {
        PriceBasis::Hanging => (rate(), format!("per {unit} hanging")),
        PriceBasis::Live => (rate(), format!("per {unit} live")),
        PriceBasis::Flat => (p.flat_price.unwrap_or_default().dollars(), "for the share".into()),
    }
}

/// What a price rests on, as a sentence.
pub(super) fn rests_on(basis: PriceBasis, unit: Unit) -> String {
    match basis {
        PriceBasis::Hanging => format!(
            "You pay by {unit} of hanging weight: the dressed carcass on the rail, before it is cut. Less than that comes home, because \
             bone, fat and water stay behind."
        ),
        PriceBasis::Live => format!("You pay by {unit} of live weight, weighed on the farm’s scale before slaughter."),
        PriceBasis::Flat => "One price for the share, whatever it weighs.".into(),
    }
}

/// "Kill fee $65.00 a head".
pub(super) fn charge(c: &ProcessorCharge, unit: Unit) -> String {
    let per = match c.per {
        Per::Head => "a head".to_string(),
        Per::Share => "a share".to_string(),
        Per::UnitHanging => format!("per {unit} hanging"),
        Per::UnitProduct => format!("per {unit} of it"),
        Per::Pack => "a pack".to_string(),
    };
    let least = match (c.minimum_quantity, c.minimum_amount) {
        (Some(w), _) => format!(", at least {} {unit} a head", w.short()),
        (None, Some(m)) => format!(", at least {} a head", m.dollars()),
        (None, None) => String::new(),
    };
    let only = c.size.map_or(String::new(), |s| format!(" (for a {})", s.label()));
    let tax = if c.tax_percent.is_zero() { String::new() } else { format!(", plus {} % tax", c.tax_percent.shown()) };
    format!("{} {} {per}{least}{tax}{only}", c.name, c.rate.dollars())
}

/// Paragraphs: an empty line begins one, other line ends are kept as blanks.
pub(super) fn paragraphs(text: &str) -> Vec<String> {
    let mut all: Vec<String> = vec![String::new()];
    for line in text.lines().map(str::trim) {
        match all.last_mut() {
            Some(_) if line.is_empty() => all.push(String::new()),
            Some(last) if last.is_empty() => last.push_str(line),
            Some(last) => {
                last.push(' ');
                last.push_str(line);
            }
            None => {}
        }
    }
    all.retain(|p| !p.is_empty());
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_of_dollars_is_never_narrower_than_its_sums() {
        let span = |low, expected, high| Span {
            low: Money::from_cents(low),
            expected: Money::from_cents(expected),
            high: Money::from_cents(high),
        };
        assert_eq!(dollars(span(57_499, 64_050, 170_501)), "$574–$1,706");
        assert_eq!(three(span(57_499, 64_050, 70_501)), ["574", "641", "706"]);
        assert_eq!(dollars(span(3_250, 3_250, 3_250)), "$32.50");
    }

    #[test]
    fn long_times_are_months_and_short_ones_weeks() {
        let weeks = |a, b| lasts([Decimal::from(a), Decimal::from(a), Decimal::from(b)]);
        assert_eq!(
            [weeks(6, 9), weeks(9, 17), weeks(44, 52), weeks(0, 1)],
            ["6–9 weeks", "2–4 months", "10–12 months", "1 week"]
        );
    }

    #[test]
    fn an_empty_line_begins_a_paragraph() {
        assert_eq!(paragraphs("One\ntwo\n\n\n three "), ["One two", "three"]);
        assert!(paragraphs(" \n\n").is_empty());
    }
}
