//! An invoice in words: the rows of a page's sum, and the paper that is frozen when it is issued.

use super::draft_invoice::DraftInvoice;
use super::letterhead::{addressed, letterhead};
use super::make_receipt::method_words;
use crate::book::payments::Held;
use crate::book::rows::selling::{Offering, Reservation};
use crate::paper::invoice::{Invoice as Paper, Processor as PaperProcessor};
use crate::paper::parts::{Fact, Line as PaperLine, Section, Sum};
use crate::trade::dates;
use crate::trade::invoice::{Invoice, Line};
use crate::trade::money::Money;
use crate::trade::share::sold_as;
use crate::trade::vocabulary::{BilledBy, LineKind, PriceBasis};

/// What a row of a sum is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Row {
    /// A line.
    Line,
    /// A subtotal.
    Middle,
    /// The balance.
    Total,
    /// The first of what is not part of it.
    Apart,
}

/// One row of a sum, in the order of the pocket calculator.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SumRow {
    /// What it is.
    pub row: Row,
    /// What for, with its working.
    pub what: String,
    /// Second line.
    pub small: String,
    /// How much.
    pub amount: Money,
}

/// "Half beef", "Forequarter beef".
pub fn share_name(r: &Reservation, o: &Offering) -> String {
    sold_as(r.size, r.part, o.species)
}

/// "Steer 211".
pub fn animal_name(class: &str, species: &str, tag: &str) -> String {
    let kind = if class.is_empty() { species.to_string() } else { class.replace('_', " ") };
    let mut name = format!("{kind} {tag}");
    if let Some(first) = name.get_mut(0..1) {
        first.make_ascii_uppercase();
    }
    name
}

/// Where the billed weight comes from and when the rate was locked.
fn origin(d: &DraftInvoice) -> String {
    let locked = format!("Rate locked {}.", dates::long(d.order.price_locked_on, d.issued_on));
    let Some(b) = &d.billed else { return locked };
    let estimated = if b.estimated { " The quarter was not weighed itself." } else { "" };
    let by = d.date.as_ref().map_or(String::new(), |(_, p)| format!(" by {}", p.name));
    match d.order.price_basis {
        PriceBasis::Flat => format!(
            "Fixed price, locked {}. It hung at {} {}.",
            dates::long(d.order.price_locked_on, d.issued_on),
            b.weight.shown(),
            d.farm.unit
        ),
        PriceBasis::Live => format!("By live weight on the scale. {locked}"),
        PriceBasis::Hanging => format!(
            "{}, weighed {}{by}.{estimated} {locked}",
            b.origin_words,
            dates::long(b.slaughtered_on, d.issued_on)
        ),
    }
}

fn held_line(h: &Held, today: chrono::NaiveDate) -> (String, String) {
    let receipt = h.receipt.as_ref().map_or(String::new(), |n| format!(", receipt {n}"));
    (
        if h.was_deposit { "Less deposit".into() } else { "Less payment".into() },
        format!(
            "Received {}, {}{receipt}",
            dates::long(h.payment.received_on, today),
            method_words(h.payment.method, &h.payment.reference)
        ),
    )
}

fn of(sums: &Invoice, by: BilledBy) -> impl Iterator<Item = &Line> {
    sums.lines.iter().filter(move |l| l.billed_by == by)
}

/// The sum as a page shows it.
pub fn sum_rows(d: &DraftInvoice) -> Vec<SumRow> {
    let Some(sums) = &d.sums else { return Vec::new() };
    let today = d.issued_on;
    let row = |row, what: String, small: String, amount| SumRow { row, what, small, amount };
    let named = |l: &Line| {
        let words = l.reckoned.words(d.farm.unit);
        if words.is_empty() { l.name.clone() } else { format!("{}, {words}", l.name) }
    };
    let mut out = Vec::new();
    for l in of(sums, BilledBy::Farm) {
        let small = if l.kind == LineKind::Share { origin(d) } else { String::new() };
        out.push(row(Row::Line, named(l), small, l.amount));
    }
    out.push(row(Row::Middle, "Farm total".into(), String::new(), sums.farm_total));
    if !sums.farm_tax.is_zero() {
        out.push(row(Row::Line, "Tax".into(), "Set by the farm, line by line.".into(), sums.farm_tax));
    }
    for h in &d.held {
        let (what, small) = held_line(h, today);
        out.push(row(Row::Line, what, small, h.amount.negated()));
    }
    let due = d.due_on.map_or("before pickup".to_string(), |day| dates::long(day, today));
    let name =
        if sums.balance_due.cents() < 0 { "Owed to the customer".to_string() } else { format!("Balance due {due}") };
    out.push(row(Row::Total, name, String::new(), sums.balance_due));
    if of(sums, BilledBy::Processor).next().is_some() {
        let plant = d.date.as_ref().map_or("the processor".to_string(), |(_, p)| p.name.clone());
        let workings: Vec<String> =
            of(sums, BilledBy::Processor).map(|l| format!("{} = {}", named(l), l.amount.dollars())).collect();
        let paid = if d.is_estimate { "About, paid" } else { "Paid" };
        out.push(row(
            Row::Apart,
            format!("{paid} by the customer to {plant}"),
            workings.join("; "),
            sums.processor_total,
        ));
        if !sums.processor_tax.is_zero() {
            out.push(row(Row::Line, format!("Tax on it, to {plant}"), String::new(), sums.processor_tax));
        }
    }
    let per = sums
        .all_in_per_unit_hanging
        .map_or("All in".to_string(), |p| format!("All in, {} per {} hanging", p.dollars(), d.farm.unit));
    out.push(row(
        if of(sums, BilledBy::Processor).next().is_some() { Row::Line } else { Row::Apart },
        per,
        String::new(),
        sums.all_in,
    ));
    out
}

/// The paper of an invoice, every word and sum of it, to be frozen under its number.
pub fn paper(d: &DraftInvoice, number: &str, made: i64) -> Option<Paper> {
    let sums = d.sums.as_ref()?;
    let unit = d.farm.unit;
    let line = |l: &Line| {
        let by = match (l.kind, d.order.price_basis) {
            (LineKind::Share, PriceBasis::Hanging) => ", by hanging weight",
            (LineKind::Share, PriceBasis::Live) => ", by live weight",
            _ => "",
        };
        PaperLine {
            name: format!("{}{by}", l.name),
            note: if l.kind == LineKind::Share { origin(d) } else { String::new() },
            reckoned: l.reckoned.words(unit),
            amount: l.amount,
        }
    };
    let less: Vec<PaperLine> = d
        .held
        .iter()
        .map(|h| {
            let (name, note) = held_line(h, d.issued_on);
            PaperLine { name, note, reckoned: String::new(), amount: h.amount.negated() }
        })
        .collect();
    let mut taxes = Vec::new();
    for l in of(sums, BilledBy::Farm).filter(|l| !l.tax.is_zero()) {
        taxes.push(PaperLine {
            name: format!("Tax on {}", l.name),
            note: String::new(),
            reckoned: format!("{} × {} %", l.amount.dollars(), l.tax_percent.shown()),
            amount: l.tax,
        });
    }
    let share = share_name(&d.order, &d.offering).to_lowercase();
    let mut facts = vec![Fact { name: "Order".into(), value: format!("{}, {share}", d.order.number) }];
    if let (Some(a), Some(b)) = (&d.animal, &d.billed) {
        let side = b.side.map_or("both sides".to_string(), |s| format!("{} side", s.label()));
        facts.push(Fact {
            name: "Animal".into(),
            value: format!("{}, {side}", animal_name(&a.class, a.species.label(), &a.tag)),
        });
        facts.push(Fact { name: "Slaughtered".into(), value: dates::full(b.slaughtered_on) });
    }
    let plant = d.date.as_ref().map(|(_, p)| p.name.clone()).unwrap_or_default();
    let to_plant: Vec<&Line> = of(sums, BilledBy::Processor).collect();
    let processor = (!to_plant.is_empty()).then(|| {
        let mut lines: Vec<Sum> = to_plant
            .iter()
            .map(|l| {
                let words = l.reckoned.words(unit);
                Sum {
                    name: if words.is_empty() { l.name.clone() } else { format!("{}, {words}", l.name) },
                    amount: l.amount,
                }
            })
            .collect();
        if !sums.processor_tax.is_zero() {
            lines.push(Sum { name: "Tax".into(), amount: sums.processor_tax });
        }
        let estimate = if d.is_estimate {
            " An estimate: the processor’s own bill counts."
        } else {
            " The processor’s own bill counts."
        };
        PaperProcessor {
            heading: format!("What you pay {plant}"),
            note: format!("Not part of this invoice. Paid to them when you collect.{estimate}"),
            lines,
            total: Sum {
                name: format!("To {plant}"),
                amount: sums.processor_total.plus(sums.processor_tax).unwrap_or(sums.processor_total),
            },
        }
    });
    let farm_all = sums.farm_total.plus(sums.farm_tax).ok()?;
    let plant_all = sums.processor_total.plus(sums.processor_tax).ok()?;
    let all_in = match (sums.all_in_per_unit_hanging, &d.billed) {
        (Some(per), Some(b)) => format!(
            "Everything together, {} + {} = {}, which is {} per {unit} of hanging weight ({} ÷ {}).",
            farm_all.shown(),
            plant_all.shown(),
            sums.all_in.dollars(),
            per.dollars(),
            sums.all_in.shown(),
            b.weight.shown()
        ),
        _ => String::new(),
    };
    let pickup =
        d.date.as_ref().and_then(|(date, p)| date.pickup_from.map(|from| (from, date.pickup_to, p.name.clone())));
    let mut pay =
        vec![crate::post::phrases::how_to_pay(&d.farm.name, &d.farm.payee, &d.farm.pay_address, &d.farm.pay_words)];
    if d.farm.pay_address.is_empty() {
        pay.push("Checks go to the address above.".into());
    }
    pay.push(format!("Please write {number} on it."));
    if let Some((from, to, place)) = pickup {
        let days =
            to.map_or(format!("from {}", dates::long(from, d.issued_on)), |to| dates::span(from, to, d.issued_on));
        pay.push(format!("Pickup is at {place}, {days}, once paid."));
    }
    let due = d.due_on.map_or("before pickup".to_string(), dates::full);
    Some(Paper {
        layout: crate::paper::LAYOUT,
        made,
        head: letterhead(&d.farm),
        number: number.to_string(),
        date: dates::full(d.issued_on),
        due,
        to: addressed(&d.customer),
        facts,
        lines: of(sums, BilledBy::Farm).map(line).collect(),
        total: Sum { name: "Farm total".into(), amount: sums.farm_total },
        taxes,
        less,
        balance: Sum {
            name: if sums.balance_due.cents() < 0 { "Owed to you".into() } else { "Balance due".into() },
            amount: if sums.balance_due.cents() < 0 { sums.balance_due.negated() } else { sums.balance_due },
        },
        pay: Section { heading: "How to pay".into(), body: pay },
        processor,
        all_in,
    })
}
