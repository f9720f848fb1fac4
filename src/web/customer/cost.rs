//! What an order costs, on the customer's page: a range until the share is weighed, then the sum, then the invoice.

use crate::actions::draft_invoice::DraftInvoice;
use crate::actions::estimate_cost::Estimate;
use crate::trade::dates;
use crate::trade::invoice::{Invoice, Line};
use crate::trade::money::Money;
use crate::trade::vocabulary::{BilledBy, LineKind};
use crate::trade::weight::Unit;
use crate::web::look::parts::{SumKind, SumLine};
use chrono::NaiveDate;

/// A sum and what it rests on.
#[derive(Debug, Clone, Default)]
pub struct Cost {
    /// What it rests on; read before the lines.
    pub rests_on: String,
    /// The lines; empty when there is nothing to reckon with yet.
    pub lines: Vec<SumLine>,
}

/// "1,674 – 1,838": whole dollars, the lower one rounded down and the higher one up; one figure to the cent when they are the same.
fn range(low: Money, high: Money) -> String {
    let dollars = |n: i64| Money::from_cents(n.saturating_mul(100)).shown().trim_end_matches(".00").to_string();
    if low == high {
        return low.shown().trim_end_matches(".00").to_string();
    }
    let up = high.cents().saturating_neg().div_euclid(100).saturating_neg();
    format!("{} – {}", dollars(low.cents().div_euclid(100)), dollars(up))
}

/// "Half beef, 360–395 lb × $4.65": the lower line's words with the range of weights in the place of its weight.
fn name(low: &Line, high: &Line, e: &Estimate, unit: Unit) -> String {
    let (one, other) = (low.reckoned.words(unit), high.reckoned.words(unit));
    if one.is_empty() {
        return low.name.clone();
    }
    match one.split_once(" × ") {
        Some((_, rate)) if one != other => {
            format!("{}, {}–{} {unit} × {rate}", low.name, e.from.short(), e.to.short())
        }
        _ => format!("{}, {one}", low.name),
    }
}

/// The range before the share hangs.
pub fn estimated(e: &Estimate, plant: &str, unit: Unit) -> Cost {
    let pairs = || e.low.lines.iter().zip(&e.high.lines);
    let mut lines: Vec<SumLine> = pairs()
        .filter(|(l, _)| l.billed_by == BilledBy::Farm)
        .map(|(l, h)| SumLine::words(name(l, h, e, unit), range(l.amount, h.amount)))
        .collect();
    if e.high.farm_tax.is_positive() {
        lines.push(SumLine::words("Tax", range(e.low.farm_tax, e.high.farm_tax)));
    }
    if let Some(held) = deposit(&e.low) {
        lines.push(SumLine::words("Less your deposit", range(held.negated(), held.negated())));
    }
    let balance = if e.high.balance_due.cents() < 0 { "We would owe you" } else { "Balance to us" };
    lines.push(SumLine::words(balance, range(e.low.balance_due, e.high.balance_due)).as_a(SumKind::Total));
    let to_plant: Vec<String> =
        pairs().filter(|(l, _)| l.billed_by == BilledBy::Processor).map(|(l, h)| name(l, h, e, unit)).collect();
    if !to_plant.is_empty() {
        let all = |i: &Invoice| i.processor_total.plus(i.processor_tax).unwrap_or(i.processor_total);
        lines.push(
            SumLine::words(format!("To {plant}, when you collect"), range(all(&e.low), all(&e.high)))
                .small(to_plant.join("; "))
                .as_a(SumKind::Apart),
        );
    }
    Cost {
        rests_on: format!(
            "An estimate in dollars, not a promise: the share is expected to hang at {}–{} {unit}. {} What it weighs in the end decides.",
            e.from.short(),
            e.to.short(),
            e.rests_on
        ),
        lines,
    }
}

/// What was taken off: total and tax less the balance.
fn deposit(i: &Invoice) -> Option<Money> {
    let all = i.farm_total.plus(i.farm_tax).ok()?;
    all.minus(i.balance_due).ok().filter(|m| m.is_positive())
}

/// The sum of a share that was weighed and is not invoiced yet.
pub fn weighed(d: &DraftInvoice, today: NaiveDate) -> Cost {
    let (Some(sums), Some(billed)) = (&d.sums, &d.billed) else { return Cost::default() };
    let unit = d.farm.unit;
    let named = |l: &Line| {
        let words = l.reckoned.words(unit);
        if words.is_empty() { l.name.clone() } else { format!("{}, {words}", l.name) }
    };
    let mut lines: Vec<SumLine> = sums
        .lines
        .iter()
        .filter(|l| l.billed_by == BilledBy::Farm)
        .map(|l| {
            let small = if l.kind == LineKind::Share { billed.origin_words.clone() } else { String::new() };
            SumLine::new(named(l), l.amount).small(small)
        })
        .collect();
    if !sums.farm_tax.is_zero() {
        lines.push(SumLine::new("Tax", sums.farm_tax));
    }
    if let Some(held) = deposit(sums) {
        lines.push(SumLine::new("Less your deposit", held.negated()));
    }
    let balance = if sums.balance_due.cents() < 0 { "We owe you" } else { "Balance to us" };
    lines.push(SumLine::new(balance, sums.balance_due).as_a(SumKind::Total));
    let to_plant: Vec<String> = sums
        .lines
        .iter()
        .filter(|l| l.billed_by == BilledBy::Processor)
        .map(|l| format!("{} = {}", named(l), l.amount.dollars()))
        .collect();
    if !to_plant.is_empty() {
        let plant = d.date.as_ref().map_or("the processor", |(_, p)| p.name.as_str());
        let about = if d.is_estimate { "About, to" } else { "To" };
        let all = sums.processor_total.plus(sums.processor_tax).unwrap_or(sums.processor_total);
        lines.push(
            SumLine::new(format!("{about} {plant}, when you collect"), all)
                .small(to_plant.join("; "))
                .as_a(SumKind::Apart),
        );
    }
    Cost {
        rests_on: format!(
            "Your share hung at {} {unit}, slaughtered on {}. The invoice follows.",
            billed.weight.shown(),
            dates::long(billed.slaughtered_on, today)
        ),
        lines,
    }
}

#[cfg(test)]
mod tests {
    use super::range;
    use crate::trade::money::Money;

    #[test]
    fn a_range_is_never_narrower_than_its_sums() {
        let range = |low, high| range(Money::from_cents(low), Money::from_cents(high));
        assert_eq!(range(167_499, 183_701), "1,674 – 1,838");
        assert_eq!(range(5_500, 5_500), "55");
        assert_eq!(range(4_751, 4_751), "47.51");
        assert_eq!(range(-40_000, -40_000), "−400");
        assert_eq!(range(-150, 150), "−2 – 2");
    }
}
