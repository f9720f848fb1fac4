//! Rows for the tables that go out of the book: in pages by key, each with what stands beside it in a fixed number of queries.

use super::conn::DbConn;
use super::ids::{AnimalId, CustomerId, DateId, InvoiceId, OfferingId, PaymentId, ProcessorId, ReservationId};
use super::reservations::Order;
use super::rows::animals::{Animal, WeighIn};
use super::rows::invoices::{Invoice, InvoiceLine};
use super::rows::money::{Allocation, Payment};
use super::rows::people::Customer;
use super::rows::plants::ProcessorCharge;
use super::rows::selling::{Offering, Price, Reservation};
use super::rows::sheets::CutSheet;
use super::schema::{
    allocation, animal, credit_note, customer, cut_sheet, invoice, invoice_line, offering, payment, placement, price,
    processing_date, processor, processor_charge, reservation, weigh_in,
};
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::Slot;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// Customers after an id.
///
/// # Errors
/// The database's own.
pub fn customers(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<Customer>> {
    customer::table
        .filter(customer::id.gt(CustomerId(after)))
        .order(customer::id)
        .limit(limit)
        .select(Customer::as_select())
        .load(c)
}

/// Prices after an id, with what they are of.
///
/// # Errors
/// The database's own.
pub fn prices(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<(Price, Offering)>> {
    let rows: Vec<Price> = price::table
        .filter(price::id.gt(super::ids::PriceId(after)))
        .order(price::id)
        .limit(limit)
        .select(Price::as_select())
        .load(c)?;
    let ids: Vec<OfferingId> = rows.iter().map(|p| p.offering_id).collect();
    let of: Vec<Offering> = offering::table.filter(offering::id.eq_any(ids)).select(Offering::as_select()).load(c)?;
    let of: HashMap<OfferingId, Offering> = of.into_iter().map(|o| (o.id, o)).collect();
    Ok(rows.into_iter().filter_map(|p| Some((of.get(&p.offering_id)?.clone(), p))).map(|(o, p)| (p, o)).collect())
}

/// Offerings that have no price.
///
/// # Errors
/// The database's own.
pub fn unpriced(c: &mut DbConn) -> QueryResult<Vec<Offering>> {
    offering::table
        .filter(offering::id.ne_all(price::table.select(price::offering_id)))
        .order(offering::id)
        .select(Offering::as_select())
        .load(c)
}

/// Orders after an id.
///
/// # Errors
/// The database's own.
pub fn orders(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<Order>> {
    reservation::table
        .inner_join(customer::table)
        .inner_join(offering::table)
        .filter(reservation::id.gt(ReservationId(after)))
        .order(reservation::id)
        .limit(limit)
        .select((Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .load(c)
}

/// What was allocated to these orders, with the payments, in order of entry.
///
/// # Errors
/// The database's own.
pub fn deposits(c: &mut DbConn, ids: &[ReservationId]) -> QueryResult<Vec<(Allocation, Payment)>> {
    allocation::table
        .inner_join(payment::table)
        .filter(allocation::reservation_id.eq_any(ids.to_vec()))
        .order(allocation::id)
        .select((Allocation::as_select(), Payment::as_select()))
        .load(c)
}

/// Animals after an id, with their weigh-ins.
///
/// # Errors
/// The database's own.
pub fn animals(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<(Animal, Option<WeighIn>)>> {
    animal::table
        .left_join(weigh_in::table)
        .filter(animal::id.gt(AnimalId(after)))
        .order(animal::id)
        .limit(limit)
        .select((Animal::as_select(), Option::<WeighIn>::as_select()))
        .load(c)
}

/// Day of slaughter and processor of these dates.
///
/// # Errors
/// The database's own.
pub fn days(c: &mut DbConn, ids: &[DateId]) -> QueryResult<HashMap<DateId, (NaiveDate, String)>> {
    let rows: Vec<(DateId, NaiveDate, String)> = processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::id.eq_any(ids.to_vec()))
        .select((processing_date::id, processing_date::kill_on, processor::name))
        .load(c)?;
    Ok(rows.into_iter().map(|(id, day, plant)| (id, (day, plant))).collect())
}

/// A quarter of an animal and whose it is: animal, quarter, order number, customer, share.
pub type Place = (AnimalId, Slot, String, String, Size, Option<Part>);

/// Whose these animals are, quarter by quarter.
///
/// # Errors
/// The database's own.
pub fn places(c: &mut DbConn, ids: &[AnimalId]) -> QueryResult<Vec<Place>> {
    placement::table
        .inner_join(reservation::table.inner_join(customer::table))
        .filter(placement::animal_id.eq_any(ids.to_vec()))
        .order((placement::animal_id, placement::slot))
        .select((
            placement::animal_id,
            placement::slot,
            reservation::number,
            customer::name,
            reservation::size,
            reservation::part,
        ))
        .load(c)
}

/// An invoice with its customer, its order's number, and whether it was voided.
pub type Issued = (Invoice, Customer, String, Option<String>);

/// Invoices after an id; the last is the credit note's number where one voids it.
///
/// # Errors
/// The database's own.
pub fn invoices(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<Issued>> {
    invoice::table
        .inner_join(customer::table)
        .inner_join(reservation::table)
        .left_join(credit_note::table)
        .filter(invoice::id.gt(InvoiceId(after)))
        .order(invoice::id)
        .limit(limit)
        .select((Invoice::as_select(), Customer::as_select(), reservation::number, credit_note::number.nullable()))
        .load(c)
}

/// The lines of these invoices, in their order.
///
/// # Errors
/// The database's own.
pub fn invoice_lines(c: &mut DbConn, ids: &[InvoiceId]) -> QueryResult<Vec<InvoiceLine>> {
    invoice_line::table
        .filter(invoice_line::invoice_id.eq_any(ids.to_vec()))
        .order((invoice_line::invoice_id, invoice_line::position))
        .select(InvoiceLine::as_select())
        .load(c)
}

/// Payments after an id.
///
/// # Errors
/// The database's own.
pub fn payments(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<(Payment, Customer)>> {
    payment::table
        .inner_join(customer::table)
        .filter(payment::id.gt(PaymentId(after)))
        .order(payment::id)
        .limit(limit)
        .select((Payment::as_select(), Customer::as_select()))
        .load(c)
}

/// What these payments are for, with the number of the order or of the invoice.
///
/// # Errors
/// The database's own.
pub fn allocations(
    c: &mut DbConn,
    ids: &[PaymentId],
) -> QueryResult<Vec<(Allocation, Option<String>, Option<String>)>> {
    let rows: Vec<Allocation> = allocation::table
        .filter(allocation::payment_id.eq_any(ids.to_vec()))
        .order(allocation::id)
        .select(Allocation::as_select())
        .load(c)?;
    let orders: Vec<ReservationId> = rows.iter().filter_map(|a| a.reservation_id).collect();
    let orders: Vec<(ReservationId, String)> = reservation::table
        .filter(reservation::id.eq_any(orders))
        .select((reservation::id, reservation::number))
        .load(c)?;
    let bills: Vec<InvoiceId> = rows.iter().filter_map(|a| a.invoice_id).collect();
    let bills: Vec<(InvoiceId, String)> =
        invoice::table.filter(invoice::id.eq_any(bills)).select((invoice::id, invoice::number)).load(c)?;
    let (orders, bills): (HashMap<_, _>, HashMap<_, _>) = (orders.into_iter().collect(), bills.into_iter().collect());
    let with = |a: Allocation| {
        let order = a.reservation_id.and_then(|id| orders.get(&id).cloned());
        let bill = a.invoice_id.and_then(|id| bills.get(&id).cloned());
        (a, order, bill)
    };
    Ok(rows.into_iter().map(with).collect())
}

/// Cut sheets after an order's id.
///
/// # Errors
/// The database's own.
pub fn cut_sheets(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<CutSheet>> {
    cut_sheet::table
        .filter(cut_sheet::reservation_id.gt(ReservationId(after)))
        .order(cut_sheet::reservation_id)
        .limit(limit)
        .select(CutSheet::as_select())
        .load(c)
}

/// Charges of processors' schedules after an id, with the processor.
///
/// # Errors
/// The database's own.
pub fn charges(c: &mut DbConn, after: i64, limit: i64) -> QueryResult<Vec<(ProcessorCharge, String)>> {
    let rows: Vec<ProcessorCharge> = processor_charge::table
        .filter(processor_charge::id.gt(super::ids::ChargeId(after)))
        .order(processor_charge::id)
        .limit(limit)
        .select(ProcessorCharge::as_select())
        .load(c)?;
    let ids: Vec<ProcessorId> = rows.iter().map(|r| r.processor_id).collect();
    let names: Vec<(ProcessorId, String)> =
        processor::table.filter(processor::id.eq_any(ids)).select((processor::id, processor::name)).load(c)?;
    let names: HashMap<ProcessorId, String> = names.into_iter().collect();
    let name = |r: &ProcessorCharge| names.get(&r.processor_id).cloned().unwrap_or_default();
    Ok(rows.into_iter().map(|r| (r.clone(), name(&r))).collect())
}
