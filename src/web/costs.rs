//! What a share will cost and how long its meat keeps, in words: a part of every page that shows what comes home.
//!
//! `templates/parts/costs.html` draws it: `{% import "parts/costs.html" as c %}` and `{{ c::costs(costs) }}`.

use crate::actions::cut_sheet::Basis;
use crate::actions::sheet_cost::{Prices, cost};
use crate::trade::all_in::{AllIn, Span};
use crate::trade::charge::BilledBy;
use crate::trade::cuts::catalogue::Mark;
use crate::trade::cuts::common::Common;
use crate::trade::cuts::keeps::keeps;
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::listed;
use crate::trade::cuts::take_home::TakeHome;
use crate::trade::money::Money;
use crate::trade::sheet_json::Kept;

/// A line of the sum.
pub struct CostRow {
    /// What it is for.
    pub what: String,
    /// How it was reckoned, or empty.
    pub small: String,
    /// From and to.
    pub amount: String,
    /// Whether it is a sum.
    pub is_sum: bool,
}

/// What it costs and how long it keeps.
#[derive(Default)]
pub struct Costs {
    /// The lines; empty when nothing can be reckoned.
    pub rows: Vec<CostRow>,
    /// What the figures rest on.
    pub rests_on: Vec<String>,
    /// Kinds of meat and for how long.
    pub keeps: Vec<(String, String)>,
    /// Where the months come from.
    pub keeps_source: String,
}

/// “$412–$458”, to the dollar, or “$32.50” where it is the same from and to.
fn range(span: Span) -> String {
    let dollars = |m: Money| {
        let whole = Money::rounded(m.decimal().round_dp(0)).unwrap_or(m).dollars();
        whole.strip_suffix(".00").map_or_else(|| whole.clone(), str::to_string)
    };
    if span.low == span.high {
        span.expected.dollars()
    } else {
        format!("{}–{}", dollars(span.low), dollars(span.high))
    }
}

fn cents(span: Span) -> String {
    if span.low == span.high {
        return span.expected.dollars();
    }
    format!("{}–{}", span.low.dollars(), span.high.dollars())
}

fn rows(all: &AllIn, unit: &str, plant: &str) -> Vec<CostRow> {
    let row = |what: &str, small: String, amount: String, is_sum| CostRow { what: what.into(), small, amount, is_sum };
    let mut out = Vec::new();
    if let Some(price) = all.price {
        out.push(row("The farm’s price", String::new(), range(price), false));
    }
    for line in &all.lines {
        let who = match line.billed_by {
            BilledBy::Farm => "billed by the farm",
            BilledBy::Processor => "paid to the processor",
        };
        let about = if line.amount.low == line.amount.high { "" } else { "about " };
        let how = if line.how.is_empty() { who.to_string() } else { format!("{about}{}, {who}", line.how) };
        out.push(row(&line.name, how, range(line.amount), false));
    }
    if !all.lines.is_empty() && all.lines.iter().any(|l| l.billed_by == BilledBy::Processor) {
        out.push(row(&format!("To {plant}"), String::new(), range(all.processor), true));
    }
    if let Some(sum) = all.all_in {
        out.push(row("All in", "meat and charges, with tax where it is set".into(), range(sum), true));
    }
    if let Some(each) = all.per_packaged {
        let small = format!("about {}", each.expected.dollars());
        out.push(row(&format!("All in for each packaged {unit}"), small, cents(each), false));
    }
    out
}

fn rests_on(all: &AllIn, basis: &Basis, has_plant: bool) -> Vec<String> {
    let unit = basis.hanging.unit.as_str();
    let mut out = Vec::new();
    let (low, high) = basis.between;
    out.push(if basis.is_weighed {
        format!(
            "The share hung {} {unit}. What comes of it, and the work charged by product, are planning figures. Nothing is \
             billed on them.",
            basis.hanging.weight.short()
        )
    } else {
        format!(
            "From the lightest to the heaviest this share may hang, {} to {} {unit} by {}, and from the least to the most that \
             may come of it. Nothing is billed on it: the invoice is reckoned from what hangs.",
            low.short(),
            high.short(),
            basis.rests_on.trim_start_matches("the middle of ")
        )
    });
    if !has_plant {
        out.push("The share has no date yet, so the processor’s charges come on top.".into());
    }
    if all.price.is_none() {
        out.push("The price goes by live weight, and there is none from a scale yet, so there is no sum.".into());
    }
    if !all.not_reckoned.is_empty() {
        let names: Vec<&str> = all.not_reckoned.iter().map(String::as_str).collect();
        out.push(format!(
            "Not reckoned, because it is not known how much of it there will be: {}.",
            listed(&names, "and")
        ));
    }
    out
}

/// What a share will cost and how long its meat keeps; `plant` is the name of the processor of its date, if it has one.
pub fn costs(
    common: &Common,
    basis: &Basis,
    prices: &Prices,
    plant: Option<&str>,
    kept: &Kept,
    home: &TakeHome<'_>,
) -> Costs {
    let all = cost(basis, prices, kept, home);
    let kinds = keeps(common, home);
    let months = |low: u32, high: u32| match (low, high) {
        (1, 1) => "1 month".to_string(),
        (low, high) if low == high => format!("{low} months"),
        (low, high) => format!("{low}–{high} months"),
    };
    let mut sources: Vec<&str> = Vec::new();
    for key in kinds.iter().filter(|s| s.mark != Mark::Remembered).flat_map(|s| &s.source) {
        if let Some(source) = common.source(key).filter(|s| !sources.contains(s)) {
            sources.push(source);
        }
    }
    let from_memory = kinds.iter().any(|s| s.mark == Mark::Remembered);
    let mark = if from_memory { " What is marked * is from memory." } else { "" };
    Costs {
        rows: all
            .as_ref()
            .map_or(Vec::new(), |all| rows(all, basis.hanging.unit.as_str(), plant.unwrap_or("the processor"))),
        rests_on: all.as_ref().map_or(Vec::new(), |all| rests_on(all, basis, plant.is_some())),
        keeps: kinds
            .iter()
            .map(|s| {
                let star = if s.mark == Mark::Remembered { " *" } else { "" };
                (format!("{}{star}", upper(&s.name)), months(s.months.low, s.months.high))
            })
            .collect(),
        keeps_source: if sources.is_empty() {
            String::new()
        } else {
            format!("For best quality at 0 °F. Sources: {}.{mark}", sources.join("; "))
        },
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_is_to_the_dollar_and_a_fixed_amount_to_the_cent() {
        let span = |low, expected, high| Span {
            low: Money::from_cents(low),
            expected: Money::from_cents(expected),
            high: Money::from_cents(high),
        };
        assert_eq!(range(span(41_249, 43_000, 145_851)), "$412–$1,459");
        assert_eq!(range(span(3_250, 3_250, 3_250)), "$32.50");
        assert_eq!(cents(span(749, 812, 990)), "$7.49–$9.90");
    }
}
