//! What a share will cost, all in: the farm's price, and the processor's charges for its cut sheet.
//!
//! Reckoned with the arithmetic of an invoice, three times: at the lightest weight, the expected one and the heaviest. What is
//! charged by product or pack comes from the forecast of the sheet. For planning only; no invoice is made from it.

use super::charge::{BilledBy, Charge, Per};
use super::cuts::offer::Service;
use super::cuts::sheet::{Hanging, Sheet};
use super::cuts::take_home::{Band, TakeHome, take_home};
use super::invoice::{Adjustment, Invoice, InvoiceError, Price, ToBill, per_unit, reckon_invoice};
use super::money::{Money, Overflow, Percent};
use super::weight::Weight;
use std::cmp::{max, min};

/// A charge and what of a cut sheet it is for. A quantity in the charge is what the order says, and is not reckoned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Work {
    /// The charge.
    pub charge: Charge,
    /// What it is for, if it goes by product or pack.
    pub service: Option<Service>,
}

/// What the cost of a share is reckoned from.
#[derive(Debug, Clone, Copy)]
pub struct ToExpect<'a> {
    /// The share with its expected hanging weight.
    pub hanging: &'a Hanging,
    /// The lightest and the heaviest it may hang.
    pub between: (Weight, Weight),
    /// Its cut sheet.
    pub sheet: &'a Sheet,
    /// What comes home of it at the expected weight.
    pub home: &'a TakeHome<'a>,
    /// The farm's price; none while it cannot be told.
    pub price: Option<Price>,
    /// The charges for this share.
    pub work: &'a [Work],
    /// Free lines of the order.
    pub adjustments: &'a [Adjustment],
}

/// From, most likely, to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Span {
    /// From.
    pub low: Money,
    /// Most likely.
    pub expected: Money,
    /// To.
    pub high: Money,
}

impl Span {
    fn of([low, expected, high]: [Money; 3]) -> Self {
        Self { low: min(low, expected), expected, high: max(high, expected) }
    }
}

/// One charge or free line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CostLine {
    /// What it is for.
    pub name: String,
    /// How much, without tax.
    pub amount: Span,
    /// Who collects it.
    pub billed_by: BilledBy,
    /// How the expected amount was reckoned, or empty.
    pub how: String,
}

/// What a share will cost.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AllIn {
    /// The farm's price for the meat; none while it cannot be told, and then there is no sum either.
    pub price: Option<Span>,
    /// Charges and free lines, in order.
    pub lines: Vec<CostLine>,
    /// What is paid to the farm, with tax; without a price only its charges.
    pub farm: Span,
    /// What is paid to the processor, with tax.
    pub processor: Span,
    /// Everything, with tax.
    pub all_in: Option<Span>,
    /// Everything by the weight that comes home packaged. The range is that of weights and yields together.
    pub per_packaged: Option<Span>,
    /// Charges by product or pack that nothing is known of.
    pub not_reckoned: Vec<String>,
}

#[derive(Clone, Copy)]
enum End {
    Low,
    Expected,
    High,
}

/// One of the three times.
struct Case<'a> {
    weight: Weight,
    home: &'a TakeHome<'a>,
    end: End,
}

impl Case<'_> {
    fn of(&self, band: &Band) -> i64 {
        match self.end {
            End::Low => band.low,
            End::Expected => band.expected,
            End::High => band.high,
        }
        .hundredths()
    }

    /// How much of a service this share has: a weight, or hundredths of packs.
    fn quantity(&self, sheet: &Sheet, service: Service, per: Per) -> Weight {
        let (home, packs) = (self.home, per == Per::Pack);
        let one = |band: &Band, n: i64| if packs { n.saturating_mul(100) } else { self.of(band) };
        let cuts = |wanted: &dyn Fn(&str, &str) -> bool| -> i64 {
            home.lines.iter().filter(|l| wanted(l.cut, l.keeps)).map(|l| one(&l.weight, l.packages)).sum()
        };
        let sausage = |form: Option<&str>| -> i64 {
            let of = home.sausage.iter().filter(|s| form.is_none_or(|f| s.form == f));
            of.map(|s| one(&s.weight, s.packages)).sum()
        };
        let ground = || one(&home.ground, home.ground_packages);
        let hundredths = match service {
            Service::Pack if packs => cuts(&|_, _| true) + sausage(None) + ground(),
            Service::Pack => self.of(&home.packaged),
            Service::Cure => cuts(&|_, keeps| matches!(keeps, "bacon" | "ham" | "cured")),
            Service::Season => sausage(None),
            Service::Link => sausage(Some("link")),
            Service::Patty if sheet.parameters.contains_key("patties_per_lb") => ground() + sausage(Some("patty")),
            Service::Patty => sausage(Some("patty")),
            Service::Cube => cuts(&|cut, _| cut == "cubed_steak"),
            Service::Lard => cuts(&|cut, _| cut == "lard"),
        };
        Weight::from_hundredths(hundredths)
    }
}

/// Reckons what a share will cost.
///
/// # Errors
/// [`InvoiceError`] when a sum is larger than can be recorded or the discounts are larger than the rest.
pub fn all_in(ask: &ToExpect<'_>) -> Result<AllIn, InvoiceError> {
    // At another weight a sheet may ask for more than there is; then it is reckoned with what the expected weight gives.
    let at = |weight: Weight| {
        let other = weight != ask.hanging.weight && !weight.is_zero();
        other.then(|| take_home(&Hanging { weight, ..*ask.hanging }, ask.sheet).ok()).flatten()
    };
    let (light, heavy) = (at(ask.between.0), at(ask.between.1));
    let cases = [
        Case { weight: ask.between.0, home: light.as_ref().unwrap_or(ask.home), end: End::Low },
        Case { weight: ask.hanging.weight, home: ask.home, end: End::Expected },
        Case { weight: ask.between.1, home: heavy.as_ref().unwrap_or(ask.home), end: End::High },
    ];
    let by_quantity = |w: &&Work| matches!(w.charge.per, Per::UnitProduct | Per::Pack);
    let unknown = |w: &&Work| by_quantity(w) && w.service.is_none() && w.charge.quantity.is_none();
    let [_, _, most] = &cases;
    let is_there = |w: &&Work| match w.service.filter(|_| by_quantity(w) && w.charge.quantity.is_none()) {
        Some(service) => !most.quantity(ask.sheet, service, w.charge.per).is_zero(),
        None => !unknown(w),
    };
    let work: Vec<&Work> = ask.work.iter().filter(is_there).collect();
    let [low, expected, high] = &cases;
    let bills = [bill(ask, &work, low)?, bill(ask, &work, expected)?, bill(ask, &work, high)?];
    let span = |of: fn(&Invoice) -> Result<Money, Overflow>| -> Result<Span, InvoiceError> {
        let [low, expected, high] = &bills;
        Ok(Span::of([of(low)?, of(expected)?, of(high)?]))
    };
    let all = span(|b| Ok(b.all_in))?;
    Ok(AllIn {
        price: ask.price.map(|_| span(|b| Ok(b.lines.first().map_or(Money::ZERO, |l| l.amount)))).transpose()?,
        lines: lines(ask, &bills),
        farm: span(|b| b.farm_total.plus(b.farm_tax))?,
        processor: span(|b| b.processor_total.plus(b.processor_tax))?,
        all_in: ask.price.map(|_| all),
        per_packaged: ask.price.and_then(|_| packaged(&cases, &bills)),
        not_reckoned: ask.work.iter().filter(unknown).map(|w| w.charge.name.clone()).collect(),
    })
}

fn bill(ask: &ToExpect<'_>, work: &[&Work], case: &Case<'_>) -> Result<Invoice, InvoiceError> {
    let charge = |w: &&Work| {
        let wanted = w.service.filter(|_| matches!(w.charge.per, Per::UnitProduct | Per::Pack));
        let reckoned = wanted.map(|service| case.quantity(ask.sheet, service, w.charge.per));
        Charge { quantity: w.charge.quantity.or(reckoned), ..w.charge.clone() }
    };
    reckon_invoice(&ToBill {
        name: String::new(),
        weight: Some(case.weight),
        price: ask.price.unwrap_or(Price::Flat(Money::ZERO)),
        share: ask.hanging.size,
        tax: Percent::ZERO,
        charges: work.iter().map(charge).collect(),
        adjustments: ask.adjustments.to_vec(),
        deposit: Money::ZERO,
        payments: Vec::new(),
    })
}

/// Everything but the share itself.
fn lines(ask: &ToExpect<'_>, [low, expected, high]: &[Invoice; 3]) -> Vec<CostLine> {
    let three = low.lines.iter().zip(&expected.lines).zip(&high.lines).skip(1);
    let line =
        |((low, expected), high): ((&super::invoice::Line, &super::invoice::Line), &super::invoice::Line)| CostLine {
            name: expected.name.clone(),
            amount: Span::of([low.amount, expected.amount, high.amount]),
            billed_by: expected.billed_by,
            how: expected.reckoned.words(ask.hanging.unit),
        };
    three.map(line).collect()
}

/// All in by packaged weight: the cheapest of the three with the most that may come of it, the dearest with the least.
fn packaged(cases: &[Case<'_>; 3], bills: &[Invoice; 3]) -> Option<Span> {
    let all = || cases.iter().zip(bills);
    let [_, middle, _] = cases;
    let [_, bill, _] = bills;
    let expected = per_unit(bill.all_in, middle.home.packaged.expected).ok()?;
    let low = all().filter_map(|(c, b)| per_unit(b.all_in, c.home.packaged.high).ok()).min()?;
    let high = all().filter_map(|(c, b)| per_unit(b.all_in, c.home.packaged.low).ok()).max()?;
    Some(Span::of([low, expected, high]))
}

#[cfg(test)]
#[path = "all_in_tests.rs"]
mod tests;
