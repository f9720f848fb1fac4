//! What one share costs: the invoice's lines, its totals and balance, and beside it what goes to the processor.
//!
//! Every line is rounded once to the cent, half away from zero; tax is reckoned per line on the rounded amount and rounded
//! per line; totals exclude tax. Whether and how a line is taxed differs by state and by line: the farm sets it, and should
//! ask a tax adviser. No constant here decides it.

use super::charge::{Charge, ChargeError, Reckoned, reckon_charge};
use super::money::{Money, Overflow, Percent, Rate};
use super::share::Size;
pub use super::vocabulary::{BilledBy, LineKind};
use super::weight::Weight;

/// The price of one share.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Price {
    /// Per unit of the share's hanging weight, which must be known.
    Hanging(Rate),
    /// Per unit of live weight.
    Live {
        /// Price per unit.
        rate: Rate,
        /// The share's part of the live weight, as [`super::charge::deal_live_weight`] dealt it; not zero.
        weight: Weight,
    },
    /// A fixed price; not negative.
    Flat(Money),
}

/// A free line: delivery, a discount. Billed by the farm.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Adjustment {
    /// What it is for.
    pub name: String,
    /// Amount; a discount is negative.
    pub amount: Money,
    /// Tax on it.
    pub tax: Percent,
}

/// Everything one share's invoice is made from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToBill {
    /// The share as the customer reads it, such as "Half beef".
    pub name: String,
    /// The share's hanging weight. `None` when it is not known, which is enough for a live or flat price without charges
    /// by hanging weight. Zero is refused: a price per unit cannot be told from it, and nothing hung to be billed.
    pub weight: Option<Weight>,
    /// The price locked into the reservation.
    pub price: Price,
    /// How much of a head it is.
    pub share: Size,
    /// Tax on the share.
    pub tax: Percent,
    /// Charges, in the order they are shown.
    pub charges: Vec<Charge>,
    /// Free lines, in the order they are shown.
    pub adjustments: Vec<Adjustment>,
    /// Deposit applied; not negative.
    pub deposit: Money,
    /// Payments made so far; each positive.
    pub payments: Vec<Money>,
}

/// One line of an invoice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// What it is.
    pub kind: LineKind,
    /// What it is for.
    pub name: String,
    /// Amount without tax.
    pub amount: Money,
    /// Rate of tax.
    pub tax_percent: Percent,
    /// Tax on the amount.
    pub tax: Money,
    /// Whom it is paid to.
    pub billed_by: BilledBy,
    /// How the amount was reckoned.
    pub reckoned: Reckoned,
}

/// One share's invoice, added up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invoice {
    /// The share, then charges, then free lines.
    pub lines: Vec<Line>,
    /// Farm-billed lines without tax; never negative.
    pub farm_total: Money,
    /// Tax on them.
    pub farm_tax: Money,
    /// Deposit applied.
    pub deposit: Money,
    /// Payments together.
    pub paid: Money,
    /// `farm_total + farm_tax - deposit - paid`; negative when the customer is owed.
    pub balance_due: Money,
    /// Lines paid to the processor, without tax.
    pub processor_total: Money,
    /// Tax on them.
    pub processor_tax: Money,
    /// Both totals with both taxes.
    pub all_in: Money,
    /// `all_in` by the hanging weight, to the cent; `None` while that is not known.
    pub all_in_per_unit_hanging: Option<Money>,
}

/// Which part of an invoice cannot be reckoned. Numbers count from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum InvoiceError {
    /// A hanging weight of zero.
    #[error("A hanging weight of zero cannot be billed. Give the share’s weight")]
    NothingHung,
    /// A price by hanging weight without one.
    #[error("The price goes by hanging weight, which is not known yet")]
    NoWeight,
    /// A price by live weight without one.
    #[error("The price goes by live weight, and none is known")]
    NoLiveWeight,
    /// A fixed price below zero.
    #[error("A price cannot be negative")]
    NegativePrice,
    /// One of the charges.
    #[error("{1}")]
    Charge(usize, ChargeError),
    /// Discounts above the rest.
    #[error("The discounts are larger than everything the farm bills. The farm’s total cannot be negative")]
    NegativeTotal,
    /// A deposit below zero.
    #[error("A deposit cannot be negative")]
    NegativeDeposit,
    /// A payment of nothing or less.
    #[error("A payment must be more than zero")]
    PaymentNotPositive(usize),
    /// Too large.
    #[error("The amounts add up to more than can be recorded (99,999,999.99)")]
    TooLarge,
}

impl From<Overflow> for InvoiceError {
    fn from(_: Overflow) -> Self {
        Self::TooLarge
    }
}

/// Reckons one share's invoice.
///
/// # Errors
/// [`InvoiceError`] names the part that cannot be reckoned.
pub fn reckon_invoice(bill: &ToBill) -> Result<Invoice, InvoiceError> {
    if bill.weight.is_some_and(Weight::is_zero) {
        return Err(InvoiceError::NothingHung);
    }
    if bill.deposit.cents() < 0 {
        return Err(InvoiceError::NegativeDeposit);
    }
    if let Some(i) = bill.payments.iter().position(|p| !p.is_positive()) {
        return Err(InvoiceError::PaymentNotPositive(i));
    }
    let mut lines = Vec::with_capacity(1 + bill.charges.len() + bill.adjustments.len());
    lines.push(share_line(bill)?);
    for (i, charge) in bill.charges.iter().enumerate() {
        let (amount, reckoned) =
            reckon_charge(charge, bill.weight, bill.share).map_err(|e| InvoiceError::Charge(i, e))?;
        lines.push(Line {
            kind: LineKind::Charge,
            name: charge.name.clone(),
            amount,
            tax_percent: charge.tax,
            tax: charge.tax.of(amount)?,
            billed_by: charge.billed_by,
            reckoned,
        });
    }
    for free in &bill.adjustments {
        lines.push(Line {
            kind: LineKind::Free,
            name: free.name.clone(),
            amount: free.amount,
            tax_percent: free.tax,
            tax: free.tax.of(free.amount)?,
            billed_by: BilledBy::Farm,
            reckoned: Reckoned::Fixed,
        });
    }
    add_up(bill, lines)
}

fn share_line(bill: &ToBill) -> Result<Line, InvoiceError> {
    let (amount, reckoned) = match bill.price {
        Price::Hanging(rate) => {
            let weight = bill.weight.ok_or(InvoiceError::NoWeight)?;
            (rate.times(weight)?, Reckoned::Weight { quantity: weight.decimal(), rate, minimum: false })
        }
        Price::Live { weight, .. } if weight.is_zero() => return Err(InvoiceError::NoLiveWeight),
        Price::Live { rate, weight } => (rate.times(weight)?, Reckoned::LiveWeight { quantity: weight, rate }),
        Price::Flat(price) if price.cents() < 0 => return Err(InvoiceError::NegativePrice),
        Price::Flat(price) => (price, Reckoned::Fixed),
    };
    Ok(Line {
        kind: LineKind::Share,
        name: bill.name.clone(),
        amount,
        tax_percent: bill.tax,
        tax: bill.tax.of(amount)?,
        billed_by: BilledBy::Farm,
        reckoned,
    })
}

fn add_up(bill: &ToBill, lines: Vec<Line>) -> Result<Invoice, InvoiceError> {
    let of = |by: BilledBy| lines.iter().filter(move |l| l.billed_by == by);
    let farm_total = Money::sum(of(BilledBy::Farm).map(|l| l.amount))?;
    if farm_total.cents() < 0 {
        return Err(InvoiceError::NegativeTotal);
    }
    let farm_tax = Money::sum(of(BilledBy::Farm).map(|l| l.tax))?;
    let processor_total = Money::sum(of(BilledBy::Processor).map(|l| l.amount))?;
    let processor_tax = Money::sum(of(BilledBy::Processor).map(|l| l.tax))?;
    let paid = Money::sum(bill.payments.iter().copied())?;
    let balance_due = farm_total.plus(farm_tax)?.minus(bill.deposit)?.minus(paid)?;
    let all_in = Money::sum([farm_total, farm_tax, processor_total, processor_tax])?;
    let all_in_per_unit_hanging = bill.weight.map(|w| per_unit(all_in, w)).transpose()?;
    Ok(Invoice {
        lines,
        farm_total,
        farm_tax,
        deposit: bill.deposit,
        paid,
        balance_due,
        processor_total,
        processor_tax,
        all_in,
        all_in_per_unit_hanging,
    })
}

/// Money by weight, to the cent, half away from zero; in whole numbers, so that no quotient is cut short before rounding.
///
/// # Errors
/// [`Overflow`] when the weight is zero or the result is larger than can be recorded.
pub fn per_unit(amount: Money, weight: Weight) -> Result<Money, Overflow> {
    let hundredths = i128::from(weight.hundredths());
    if hundredths <= 0 {
        return Err(Overflow);
    }
    let scaled = i128::from(amount.cents().unsigned_abs()) * 100;
    let cents = i64::try_from((2 * scaled + hundredths) / (2 * hundredths)).map_err(|_| Overflow)?;
    Money::from_cents(if amount.cents() < 0 { -cents } else { cents }).plus(Money::ZERO)
}

#[cfg(test)]
#[path = "invoice_tests.rs"]
mod tests;
