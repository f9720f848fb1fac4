//! `gambrel reckon invoice`: one share's invoice.

use super::Refusal;
use super::json::{Field, Fields, Node};
use crate::trade::charge::{Charge, ChargeError};
use crate::trade::invoice::{Adjustment, Invoice, InvoiceError, Line, Price, ToBill, reckon_invoice};
use crate::trade::money::{Money, Percent};
use crate::trade::share::Size;
use serde::Serialize;

/// The answer, in this order.
#[derive(Serialize)]
pub(super) struct Answer {
    lines: Vec<LineAnswer>,
    farm_total: String,
    farm_tax: String,
    deposit: String,
    paid: String,
    balance_due: String,
    processor_total: String,
    processor_tax: String,
    all_in: String,
    all_in_per_unit_hanging: Option<String>,
}

#[derive(Serialize)]
struct LineAnswer {
    name: String,
    amount: String,
    tax: String,
    billed_by: &'static str,
}

impl From<Line> for LineAnswer {
    fn from(line: Line) -> Self {
        Self { name: line.name, amount: line.amount.plain(), tax: line.tax.plain(), billed_by: line.billed_by.as_str() }
    }
}

impl From<Invoice> for Answer {
    fn from(invoice: Invoice) -> Self {
        Self {
            lines: invoice.lines.into_iter().map(LineAnswer::from).collect(),
            farm_total: invoice.farm_total.plain(),
            farm_tax: invoice.farm_tax.plain(),
            deposit: invoice.deposit.plain(),
            paid: invoice.paid.plain(),
            balance_due: invoice.balance_due.plain(),
            processor_total: invoice.processor_total.plain(),
            processor_tax: invoice.processor_tax.plain(),
            all_in: invoice.all_in.plain(),
            all_in_per_unit_hanging: invoice.all_in_per_unit_hanging.map(Money::plain),
        }
    }
}

pub(super) fn reckon(root: &Node) -> Result<Answer, Refusal> {
    let fields = Fields::root(
        root,
        &[
            "weight",
            "price_per_unit",
            "flat_price",
            "share_of_head",
            "share_tax_percent",
            "charges",
            "adjustments",
            "deposit",
            "payments",
        ],
    )?;
    let bill = ToBill {
        name: "Share".to_string(),
        weight: Some(fields.need("weight")?.weight()?),
        price: price(&fields)?,
        share: share_of_head(&fields.need("share_of_head")?)?,
        tax: tax(&fields, "share_tax_percent")?,
        charges: fields.list("charges")?.into_iter().map(charge).collect::<Result<_, _>>()?,
        adjustments: fields.list("adjustments")?.into_iter().map(adjustment).collect::<Result<_, _>>()?,
        deposit: fields.get("deposit").map_or(Ok(Money::ZERO), |field| field.money())?,
        payments: fields.list("payments")?.iter().map(Field::money).collect::<Result<_, _>>()?,
    };
    let invoice = reckon_invoice(&bill).map_err(|e| Refusal::new(at(e), e))?;
    Ok(invoice.into())
}

fn at(error: InvoiceError) -> String {
    match error {
        InvoiceError::NothingHung | InvoiceError::NoWeight | InvoiceError::NoLiveWeight => "weight".to_string(),
        InvoiceError::NegativePrice => "flat_price".to_string(),
        InvoiceError::Charge(i, charge) => {
            let field = match charge {
                ChargeError::NoQuantity | ChargeError::NeedlessQuantity => "quantity",
                ChargeError::NeedlessMinimum => "minimum_quantity",
                ChargeError::NegativeMinimum => "minimum_amount",
                ChargeError::NoWeight | ChargeError::NeedlessDealt | ChargeError::TooLarge => "rate",
            };
            format!("charges[{i}].{field}")
        }
        InvoiceError::NegativeTotal => "adjustments".to_string(),
        InvoiceError::NegativeDeposit => "deposit".to_string(),
        InvoiceError::PaymentNotPositive(i) => format!("payments[{i}]"),
        InvoiceError::TooLarge => String::new(),
    }
}

fn price(fields: &Fields<'_>) -> Result<Price, Refusal> {
    match (fields.get("price_per_unit"), fields.get("flat_price")) {
        (Some(rate), None) => Ok(Price::Hanging(rate.rate()?)),
        (None, Some(flat)) => Ok(Price::Flat(flat.money()?)),
        (Some(_), Some(flat)) => Err(Refusal::new(flat.at, "Give price_per_unit or flat_price, not both")),
        (None, None) => {
            Err(Refusal::new(fields.path("price_per_unit"), "The price is missing. Give price_per_unit or flat_price"))
        }
    }
}

fn share_of_head(field: &Field<'_>) -> Result<Size, Refusal> {
    match field.money()?.cents() {
        100 => Ok(Size::Whole),
        50 => Ok(Size::Half),
        25 => Ok(Size::Quarter),
        _ => Err(Refusal::new(field.at.clone(), "A share is 1, 0.5 or 0.25 of a head")),
    }
}

fn tax(fields: &Fields<'_>, name: &str) -> Result<Percent, Refusal> {
    fields.get(name).map_or(Ok(Percent::ZERO), |field| field.percent())
}

fn charge(field: Field<'_>) -> Result<Charge, Refusal> {
    let fields = field.object(&[
        "name",
        "per",
        "rate",
        "quantity",
        "minimum_quantity",
        "minimum_amount",
        "billed_by",
        "tax_percent",
    ])?;
    Ok(Charge {
        name: fields.need("name")?.name()?,
        per: fields.need("per")?.word()?,
        rate: fields.need("rate")?.rate()?,
        quantity: fields.get("quantity").map(|f| f.weight()).transpose()?,
        minimum_quantity: fields.get("minimum_quantity").map(|f| f.weight()).transpose()?,
        minimum_amount: fields.get("minimum_amount").map(|f| f.money()).transpose()?,
        billed_by: fields.need("billed_by")?.word()?,
        tax: tax(&fields, "tax_percent")?,
        dealt: None,
    })
}

fn adjustment(field: Field<'_>) -> Result<Adjustment, Refusal> {
    let fields = field.object(&["name", "amount", "tax_percent"])?;
    Ok(Adjustment {
        name: fields.need("name")?.name()?,
        amount: fields.need("amount")?.money()?,
        tax: tax(&fields, "tax_percent")?,
    })
}
