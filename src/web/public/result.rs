//! The estimator's answer as a page shows it: the sum in one sentence, then low, expected and high of everything.

use super::words;
use crate::actions::Failure;
use crate::actions::own_yields::OwnYields;
use crate::actions::shop_estimate::{Answered, Asked};
use crate::book::rows::farm::Farm;
use crate::book::rows::selling::Offering;
use crate::trade::all_in::{AllIn, CostLine};
use crate::trade::charge::BilledBy;
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::{catalogue, common, said};
use crate::trade::estimate::SERVING_SOURCE;
use crate::trade::weight::Unit;
use crate::web::farm::orders::words::kind;
use crate::web::sheet_form::show::{cautions, freezer_source};

/// A line of a table with three figures.
pub(super) struct Row {
    pub(super) what: String,
    pub(super) small: String,
    pub(super) figures: [String; 3],
    /// `mid`, `tot`, `apart` or empty.
    pub(super) class: &'static str,
}

/// Everything the page shows of an answer.
pub(super) struct Shown {
    pub(super) heading: String,
    pub(super) lead: String,
    pub(super) caption: String,
    pub(super) costs: Vec<Row>,
    /// Why there is no sum, and what is not in it.
    pub(super) notes: Vec<String>,
    pub(super) home_caption: String,
    pub(super) home: Vec<Row>,
    pub(super) freezer: String,
    pub(super) lasts: String,
    pub(super) table: String,
    pub(super) sources: Vec<String>,
    /// Every cut at the middle weight.
    pub(super) cuts: Vec<String>,
    pub(super) cautions: Vec<String>,
}

fn row(what: impl Into<String>, small: impl Into<String>, figures: [String; 3], class: &'static str) -> Row {
    Row { what: what.into(), small: small.into(), figures, class }
}

/// Lines of one of the two who are paid, and their sum.
fn paid(out: &mut Vec<Row>, cost: &AllIn, by: BilledBy, to: &str) {
    let lines: Vec<&CostLine> = cost.lines.iter().filter(|l| l.billed_by == by).collect();
    let small = |l: &CostLine| match (l.how.is_empty(), l.amount.low == l.amount.high) {
        (true, _) => String::new(),
        (false, true) => l.how.clone(),
        (false, false) => format!("expected: {}", l.how),
    };
    let sum = if by == BilledBy::Farm { cost.farm } else { cost.processor };
    if by == BilledBy::Processor && lines.is_empty() {
        return;
    }
    out.extend(lines.iter().map(|l| row(l.name.clone(), small(l), words::three(l.amount), "")));
    out.push(row(to, "", words::three(sum), "mid"));
}

fn costs(a: &Answered, cost: &AllIn, unit: Unit, plant: &str) -> Vec<Row> {
    let mut out = Vec::new();
    let (low, high) = a.between;
    if let Some(price) = cost.price {
        let hangs = format!("{}–{} {unit} hanging", low.short(), high.short());
        out.push(row("The meat", if price.low == price.high { String::new() } else { hangs }, words::three(price), ""));
    }
    paid(&mut out, cost, BilledBy::Farm, "To us");
    paid(&mut out, cost, BilledBy::Processor, &format!("To {plant}"));
    if let Some(all) = cost.all_in {
        out.push(row("All in", "", words::three(all), "tot"));
    }
    if let Some(each) = cost.per_packaged {
        out.push(row(format!("For each packaged {unit}"), "", words::three_cents(each), ""));
    }
    if let Some(balance) = a.estimate.balance {
        let now = a.deposit.shown();
        out.push(row("Deposit now", "comes off the sum", [now.clone(), now.clone(), now], "apart"));
        out.push(row("To us when the weight is known", "", words::three(balance), ""));
    }
    out
}

fn lead(a: &Answered, plant: &str, unit: Unit) -> String {
    let home = format!(
        "About {} {unit} of meat comes home, for {} of freezer.",
        words::weight(a.estimate.packaged.expected, false),
        words::feet(a.estimate.cubic_feet)
    );
    let Some((cost, all)) = a.estimate.cost.as_ref().and_then(|c| Some((c, c.all_in?))) else {
        return format!("There is no sum yet. {home}");
    };
    let mut says = format!("From {} to {}, by what the animal weighs.", words::down(all.low), words::up(all.high));
    let deposit = if a.deposit.is_zero() { String::new() } else { format!("{} now, ", words::plain(a.deposit)) };
    if let Some(balance) = a.estimate.balance {
        says.push_str(&format!(
            " You pay {deposit}about {} to us when the weight is known",
            words::near(balance.expected)
        ));
    }
    if cost.processor.expected.is_positive() {
        says.push_str(&format!(", and about {} to {plant} when you collect", words::near(cost.processor.expected)));
    }
    format!("{says}. {home}")
}

fn notes(a: &Answered, unit: Unit) -> Vec<String> {
    let mut out = Vec::new();
    if !a.is_priced {
        out.push("There is no price for this share yet, so there is no sum. Ask us.".to_string());
    }
    if a.is_live {
        out.push(format!(
            "The price goes by {unit} of live weight on our scale, which nobody knows yet, so there is no sum. Ask us."
        ));
    }
    if a.plant.is_none() {
        out.push("No processor is booked yet, so the processor’s charges come on top.".into());
    }
    if let Some(cost) = a.estimate.cost.as_ref().filter(|c| !c.not_reckoned.is_empty()) {
        let names: Vec<&str> = cost.not_reckoned.iter().map(String::as_str).collect();
        out.push(format!("Not in it, because it is not known how much of it there will be: {}.", names.join(", ")));
    }
    out
}

/// Puts an answer into words.
///
/// # Errors
/// [`Failure::Unexpected`] when the catalogue cannot be used.
pub(super) fn shown(farm: &Farm, o: &Offering, asked: &Asked, a: &Answered, own: &OwnYields) -> Result<Shown, Failure> {
    let faulty = |e: &crate::trade::cuts::BadCatalogue| Failure::Unexpected(e.to_string());
    let (catalogue, common) = (catalogue(o.species).map_err(faulty)?, common().map_err(faulty)?);
    let (unit, e) = (farm.unit, &a.estimate);
    let share = kind(asked.size, asked.part, o.species);
    let plant = a.plant.as_ref().map_or("the processor", |p| p.name.as_str());
    let all = e.cost.as_ref().and_then(|c| c.all_in);
    let (low, high) = a.between;
    let mut home: Vec<Row> =
        e.kinds.iter().map(|k| row(upper(k.name), "", words::three_weights(k.weight), "")).collect();
    home.push(row("Packaged together", "", words::three_weights(e.packaged), "tot"));
    let mut cuts: Vec<String> = e.home.lines.iter().map(|l| upper(&said::line(catalogue, l, unit))).collect();
    if !e.home.ground.expected.is_zero() {
        let ground = said::range(e.home.ground.low, e.home.ground.high, unit);
        cuts.push(format!("{ground} of ground meat in {}", said::packs(e.home.ground_packages)));
    }
    cuts.extend(e.home.sausage.iter().map(|s| {
        let name =
            common.seasonings.iter().find(|n| n.id == s.seasoning).map_or(s.seasoning.as_str(), |n| n.name.as_str());
        format!("{} of sausage, {name}", said::range(s.weight.low, s.weight.high, unit))
    }));
    let who = if asked.eaters == 1 { "one person".to_string() } else { format!("{} people", asked.eaters) };
    let times = match asked.meals {
        1 => "once a week".to_string(),
        2 => "twice a week".to_string(),
        n => format!("{n} times a week"),
    };
    let own = own.say(&e.hanging, &e.home, a.plant.as_ref().map(|p| p.id));
    let own = own.map(|own| {
        let about = said::range(own.expected, own.expected, unit);
        format!("{} it is about {about} at the expected weight.", own.rests_on("our"))
    });
    Ok(Shown {
        heading: match all {
            Some(all) => format!("A {share}: about {} all in", words::near(all.expected)),
            None => format!("A {share}: {} comes home", words::weights(e.packaged, unit)),
        },
        lead: lead(a, plant, unit),
        caption: format!("In dollars, for a {share} that hangs at {}–{} {unit}", low.short(), high.short()),
        costs: e.cost.as_ref().map_or_else(Vec::new, |cost| costs(a, cost, unit, plant)),
        notes: notes(a, unit),
        home_caption: format!("In {unit}, packaged: from the lightest animal and the least of it to the heaviest and the most"),
        home,
        freezer: words::feet(e.cubic_feet),
        lasts: words::lasts(e.weeks),
        table: format!("{who} who eat of it {times}"),
        sources: vec![
            format!("Freezer: {}.", freezer_source(common)),
            format!("How long it lasts: {SERVING_SOURCE}. How often you eat of it is your own figure."),
            "What comes home is reckoned from published cutting yields, with the range that carcasses differ by; nothing is billed by it."
                .into(),
        ]
        .into_iter()
        .chain(own)
        .collect(),
        cuts,
        cautions: cautions(Some(&e.home)),
    })
}
