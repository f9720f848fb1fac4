//! Orders and invoices as reports need them.

use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{CreditNoteId, CustomerId, InvoiceId, ReservationId};
use crate::book::schema::{credit_note, customer, invoice, offering, reservation};
use crate::trade::money::Money;
use crate::trade::report::people::Ordered;
use crate::trade::report::sold::Document;
use crate::trade::share::{Part, Size, Species, sold_as};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// An order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// The order.
    pub id: ReservationId,
    /// Its number.
    pub number: String,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
    /// Of what.
    pub species: Species,
    /// Its season.
    pub season: String,
    /// How much of an animal.
    pub size: Size,
    /// What kind of quarter.
    pub part: Option<Part>,
    /// When it was taken.
    pub taken_at: At,
    /// On the waiting list.
    pub waits: bool,
    /// Cancelled.
    pub cancelled: bool,
}

impl Order {
    /// "half beef".
    pub fn share(&self) -> String {
        sold_as(self.size, self.part, self.species)
    }
    /// As [`crate::trade::report::people`] counts it; `zone` is the farm's. Cancelled ones and those that wait do not count.
    pub fn ordered(&self, zone: chrono_tz::Tz) -> Option<Ordered> {
        (!self.cancelled && !self.waits).then(|| Ordered {
            customer: self.customer.0,
            day: self.taken_at.day(zone),
            season: self.season.clone(),
        })
    }
}

/// Every order, in the order they were taken.
///
/// # Errors
/// The database's own.
pub fn orders(c: &mut DbConn) -> QueryResult<Vec<Order>> {
    type Row = (
        (ReservationId, String, CustomerId, String),
        (Species, String, Size, Option<Part>),
        (At, Option<At>, Option<At>),
    );
    let rows: Vec<Row> = reservation::table
        .inner_join(offering::table)
        .inner_join(customer::table)
        .order(reservation::id)
        .select((
            (reservation::id, reservation::number, customer::id, customer::name),
            (offering::species, offering::season, reservation::size, reservation::part),
            (reservation::taken_at, reservation::waiting_since, reservation::cancelled_at),
        ))
        .load(c)?;
    Ok(rows
        .into_iter()
        .map(|((id, number, customer, name), (species, season, size, part), (taken_at, waiting, cancelled))| Order {
            id,
            number,
            customer,
            name,
            species,
            season,
            size,
            part,
            taken_at,
            waits: waiting.is_some(),
            cancelled: cancelled.is_some(),
        })
        .collect())
}

/// An invoice, and the credit note that took it back.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bill {
    /// The invoice.
    pub id: InvoiceId,
    /// Its number.
    pub number: String,
    /// Its order.
    pub order: ReservationId,
    /// The day of issue.
    pub issued_on: NaiveDate,
    /// Its billed weight.
    pub weight: Option<Weight>,
    /// What the processor bills itself, with its tax: on no account of this book.
    pub processor: Money,
    /// What took it back, and when.
    pub voided: Option<(CreditNoteId, String, NaiveDate)>,
}

/// Every invoice.
///
/// # Errors
/// The database's own.
pub fn bills(c: &mut DbConn) -> QueryResult<Vec<Bill>> {
    type Row = (
        (InvoiceId, String, ReservationId, NaiveDate),
        (Option<Weight>, Money, Money),
        Option<(CreditNoteId, String, NaiveDate)>,
    );
    let rows: Vec<Row> = invoice::table
        .left_join(credit_note::table)
        .order(invoice::id)
        .select((
            (invoice::id, invoice::number, invoice::reservation_id, invoice::issued_on),
            (invoice::billed_weight, invoice::processor_total, invoice::processor_tax),
            (credit_note::id, credit_note::number, credit_note::issued_on).nullable(),
        ))
        .load(c)?;
    Ok(rows
        .into_iter()
        .map(|((id, number, order, issued_on), (weight, total, tax), voided)| Bill {
            id,
            number,
            order,
            issued_on,
            weight,
            processor: Money::from_cents(total.cents().saturating_add(tax.cents())),
            voided,
        })
        .collect())
}

/// The documents of sales: each invoice, and each credit note that took one back.
pub fn documents(bills: &[Bill], orders: &HashMap<ReservationId, Order>) -> Vec<Document> {
    let mut all = Vec::new();
    for bill in bills {
        let Some(order) = orders.get(&bill.order) else { continue };
        let one = Document {
            invoice: bill.id.0,
            day: bill.issued_on,
            back: false,
            species: order.species,
            size: order.size,
            season: order.season.clone(),
            weight: bill.weight,
        };
        if let Some((_, _, day)) = &bill.voided {
            all.push(Document { day: *day, back: true, ..one.clone() });
        }
        all.push(one);
    }
    all.sort_by_key(|d| (d.day, d.invoice, d.back));
    all
}

/// Orders by their ids.
pub fn by_id(orders: Vec<Order>) -> HashMap<ReservationId, Order> {
    orders.into_iter().map(|o| (o.id, o)).collect()
}
