//! Reservations: the order book.

use super::conn::DbConn;
use super::ids::{ChargeId, OfferingId, ReservationId};
use super::people::{anywhere, word_pattern};
use super::rows::people::Customer;
use super::rows::plants::ProcessorCharge;
use super::rows::selling::{NewReservation, Offering, OrderCharge, OrderProduct, Reservation};
use super::schema::{
    animal, customer, offering, order_charge, order_product, placement, processing_date, processor_charge, reservation,
};
use super::store::Tx;
use crate::trade::money::{Money, Percent};
use crate::trade::share::{Part, Size, Species};
use crate::trade::weight::Weight;
use diesel::prelude::*;
use diesel::sql_types::Bool;
use std::collections::HashMap;

/// A reservation with its customer and its offering.
pub type Order = (Reservation, Customer, Offering);

/// One order.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: ReservationId) -> QueryResult<Order> {
    reservation::table
        .inner_join(customer::table)
        .inner_join(offering::table)
        .filter(reservation::id.eq(id))
        .select((Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .first(c)
}

/// The order with this number.
///
/// # Errors
/// The database's own.
pub fn by_number(c: &mut DbConn, number: &str) -> QueryResult<Option<ReservationId>> {
    reservation::table.filter(reservation::number.eq(number.to_string())).select(reservation::id).first(c).optional()
}

/// These orders, by id; those that there are none of are left out.
///
/// # Errors
/// The database's own.
pub fn many(c: &mut DbConn, ids: &[ReservationId]) -> QueryResult<HashMap<ReservationId, Order>> {
    let rows: Vec<Order> = reservation::table
        .inner_join(customer::table)
        .inner_join(offering::table)
        .filter(reservation::id.eq_any(ids.to_vec()))
        .select((Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .load(c)?;
    Ok(rows.into_iter().map(|order| (order.0.id, order)).collect())
}

/// Adds a reservation.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewReservation) -> QueryResult<ReservationId> {
    diesel::insert_into(reservation::table).values(new.clone()).returning(reservation::id).get_result(tx.conn())
}

/// The shares of an offering that have their place, neither waiting nor cancelled, and those held for somebody to whom they
/// are offered.
///
/// # Errors
/// The database's own.
pub fn held(c: &mut DbConn, id: OfferingId) -> QueryResult<Vec<(Size, Option<Part>)>> {
    let mut shares = reservation::table
        .filter(reservation::offering_id.eq(id))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::waiting_since.is_null())
        .select((reservation::size, reservation::part))
        .load(c)?;
    shares.extend(super::waiting_offers::held(c, &[id])?.into_iter().map(|(_, size, part)| (size, part)));
    Ok(shares)
}

/// The waiting list of an offering, in order of time.
///
/// # Errors
/// The database's own.
pub fn waiting(c: &mut DbConn, offering_ids: &[OfferingId]) -> QueryResult<Vec<(ReservationId, OfferingId, String)>> {
    reservation::table
        .inner_join(customer::table)
        .filter(reservation::offering_id.eq_any(offering_ids.to_vec()))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::waiting_since.is_not_null())
        .order((reservation::waiting_since, reservation::id))
        .select((reservation::id, reservation::offering_id, customer::name))
        .load(c)
}

/// Saves a changed reservation if nobody saved it since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &Reservation, version: i64) -> QueryResult<bool> {
    let next = Reservation { version: version.saturating_add(1), ..changed.clone() };
    let n = diesel::update(
        reservation::table.filter(reservation::id.eq(changed.id)).filter(reservation::version.eq(version)),
    )
    .set(next)
    .execute(tx.conn())?;
    Ok(n == 1)
}

/// The free lines of an order.
///
/// # Errors
/// The database's own.
pub fn lines(c: &mut DbConn, id: ReservationId) -> QueryResult<Vec<OrderCharge>> {
    order_charge::table
        .filter(order_charge::reservation_id.eq(id))
        .order(order_charge::id)
        .select(OrderCharge::as_select())
        .load(c)
}

/// Adds a free line.
///
/// # Errors
/// The database's own.
pub fn add_line(
    tx: &mut Tx,
    id: ReservationId,
    name: &str,
    amount: Money,
    tax: Percent,
    at: super::at::At,
) -> QueryResult<super::ids::OrderChargeId> {
    diesel::insert_into(order_charge::table)
        .values((
            order_charge::reservation_id.eq(id),
            order_charge::name.eq(name),
            order_charge::amount.eq(amount),
            order_charge::tax_percent.eq(tax),
            order_charge::created_at.eq(at),
        ))
        .returning(order_charge::id)
        .get_result(tx.conn())
}

/// Takes a free line off; the line taken, if it was there.
///
/// # Errors
/// The database's own.
pub fn take_line_off(
    tx: &mut Tx,
    id: ReservationId,
    line: super::ids::OrderChargeId,
) -> QueryResult<Option<OrderCharge>> {
    let c = tx.conn();
    let mine = order_charge::table.filter(order_charge::id.eq(line)).filter(order_charge::reservation_id.eq(id));
    let found: Option<OrderCharge> = mine.select(OrderCharge::as_select()).first(c).optional()?;
    diesel::delete(mine).execute(c)?;
    Ok(found)
}

/// The charges per unit of product or per pack that an order on this date's processor can have, with what is recorded for it.
///
/// # Errors
/// The database's own.
pub fn products(c: &mut DbConn, id: ReservationId) -> QueryResult<Vec<(ProcessorCharge, Option<Weight>)>> {
    let processor = placement::table
        .inner_join(animal::table.inner_join(processing_date::table))
        .filter(placement::reservation_id.eq(id))
        .select((processing_date::processor_id, animal::species))
        .first::<(super::ids::ProcessorId, Species)>(c)
        .optional()?;
    let Some((processor, species)) = processor else { return Ok(Vec::new()) };
    let charges: Vec<ProcessorCharge> = processor_charge::table
        .filter(processor_charge::processor_id.eq(processor))
        .filter(processor_charge::per.eq_any(vec!["unit_product", "pack"]))
        .filter(processor_charge::retired_at.is_null())
        .filter(processor_charge::species.is_null().or(processor_charge::species.eq(species)))
        .order((processor_charge::position, processor_charge::id))
        .select(ProcessorCharge::as_select())
        .load(c)?;
    let made: Vec<OrderProduct> =
        order_product::table.filter(order_product::reservation_id.eq(id)).select(OrderProduct::as_select()).load(c)?;
    Ok(charges
        .into_iter()
        .map(|charge| {
            let quantity = made.iter().find(|m| m.charge_id == charge.id).map(|m| m.quantity);
            (charge, quantity)
        })
        .collect())
}

/// Records how much of a product is made for an order; nothing takes it off.
///
/// # Errors
/// The database's own.
pub fn set_product(tx: &mut Tx, id: ReservationId, charge: ChargeId, quantity: Option<Weight>) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(order_product::table.find((id, charge))).execute(c)?;
    if let Some(quantity) = quantity.filter(|q| !q.is_zero()) {
        diesel::insert_into(order_product::table)
            .values(OrderProduct { reservation_id: id, charge_id: charge, quantity })
            .execute(c)?;
    }
    Ok(())
}

crate::words! {
    /// What the list of orders can be narrowed down to.
    pub enum Narrow {
        /// On the waiting list.
        Waiting = "waiting", "waiting list";
        /// Deposit asked and not all there.
        DepositDue = "deposit_due", "deposit due";
        /// On an animal, not weighed yet.
        OnAnimal = "on_animal", "on an animal";
        /// Without an animal.
        NoAnimal = "no_animal", "without an animal";
        /// Weighed and not invoiced.
        ToInvoice = "to_invoice", "invoice to issue";
        /// Something is owed.
        BalanceDue = "balance_due", "balance due";
        /// Owed and late.
        Overdue = "overdue", "overdue";
        /// Invoiced and paid.
        Paid = "paid", "paid";
        /// Cancelled.
        Cancelled = "cancelled", "cancelled";
    }
}

/// Which orders are wanted.
#[derive(Debug, Clone, Default)]
pub struct Wanted {
    /// Folded words to look for in name, order number, tag or invoice number, each of them; empty = all.
    pub words: String,
    /// A season.
    pub season: Option<String>,
    /// A species.
    pub species: Option<Species>,
    /// A standing.
    pub standing: Option<Narrow>,
    /// Only orders older than this one.
    pub before: Option<ReservationId>,
    /// The farm's day, for what is overdue.
    pub today: Option<chrono::NaiveDate>,
}

/// What an order's good invoice still lacks, in cents, as SQL.
const OWED: &str = "(SELECT i.farm_total + i.farm_tax - COALESCE((SELECT SUM(a.amount) FROM allocation a WHERE a.invoice_id = i.id), 0) \
    + COALESCE((SELECT SUM(k.amount) FROM invoice_change k WHERE k.invoice_id = i.id), 0) FROM invoice i WHERE i.reservation_id = reservation.id AND NOT EXISTS (SELECT 1 FROM credit_note n WHERE n.invoice_id = i.id) ORDER BY i.id DESC LIMIT 1)";

/// More deposit was asked than is held, it is not weighed, and no invoice was ever issued, as SQL.
pub(super) const DEPOSIT_DUE: &str = "reservation.deposit_asked > COALESCE((SELECT SUM(a.amount) FROM allocation a WHERE a.reservation_id = reservation.id), 0) \
    AND NOT EXISTS (SELECT 1 FROM placement p JOIN weigh_in w ON w.animal_id = p.animal_id WHERE p.reservation_id = reservation.id) \
    AND NOT EXISTS (SELECT 1 FROM invoice i WHERE i.reservation_id = reservation.id)";

/// It has its place on an animal that is not weighed, as SQL.
const ON_ANIMAL: &str = "EXISTS (SELECT 1 FROM placement p WHERE p.reservation_id = reservation.id \
    AND NOT EXISTS (SELECT 1 FROM weigh_in w WHERE w.animal_id = p.animal_id))";

/// Its carcass is weighed and passed, and it has no good invoice, as SQL.
pub(super) const TO_INVOICE: &str = "EXISTS (SELECT 1 FROM placement p JOIN weigh_in w ON w.animal_id = p.animal_id \
        WHERE p.reservation_id = reservation.id AND w.condemned <> 'whole') \
    AND NOT EXISTS (SELECT 1 FROM invoice i WHERE i.reservation_id = reservation.id \
        AND NOT EXISTS (SELECT 1 FROM credit_note n WHERE n.invoice_id = i.id))";

/// One page of orders, newest first; one more than `limit` tells that there are older ones.
///
/// # Errors
/// The database's own.
pub fn page(c: &mut DbConn, wanted: &Wanted, limit: i64) -> QueryResult<Vec<Order>> {
    use diesel::dsl::sql;
    let mut query = reservation::table.inner_join(customer::table).inner_join(offering::table).into_boxed();
    if let Some(before) = wanted.before {
        query = query.filter(reservation::id.lt(before));
    }
    if let Some(species) = wanted.species {
        query = query.filter(offering::species.eq(species));
    }
    if let Some(season) = &wanted.season {
        query = query.filter(offering::season.eq(season.clone()));
    }
    for word in wanted.words.split(' ').filter(|w| !w.is_empty()).take(6) {
        let (somewhere, number) = (word_pattern(word), anywhere(&word.to_uppercase()));
        let by_tag = placement::table
            .inner_join(animal::table)
            .filter(sql::<diesel::sql_types::Text>("LOWER(animal.tag)").eq(word.to_string()))
            .select(placement::reservation_id);
        let by_invoice = super::schema::invoice::table
            .filter(super::schema::invoice::number.like(number.clone()).escape('\\'))
            .select(super::schema::invoice::reservation_id);
        query = query.filter(
            customer::search
                .like(somewhere)
                .escape('\\')
                .or(reservation::number.like(number).escape('\\'))
                .or(reservation::id.eq_any(by_tag))
                .or(reservation::id.eq_any(by_invoice)),
        );
    }
    let open = || reservation::cancelled_at.is_null();
    query = match wanted.standing {
        None => query,
        Some(Narrow::Cancelled) => query.filter(reservation::cancelled_at.is_not_null()),
        Some(Narrow::Waiting) => query.filter(open()).filter(reservation::waiting_since.is_not_null()),
        Some(Narrow::DepositDue) => {
            query.filter(open()).filter(reservation::waiting_since.is_null()).filter(sql::<Bool>(DEPOSIT_DUE))
        }
        Some(Narrow::OnAnimal) => query.filter(open()).filter(sql::<Bool>(ON_ANIMAL)),
        Some(Narrow::NoAnimal) => query
            .filter(open())
            .filter(reservation::waiting_since.is_null())
            .filter(sql::<Bool>("NOT EXISTS (SELECT 1 FROM placement p WHERE p.reservation_id = reservation.id)")),
        Some(Narrow::ToInvoice) => query.filter(open()).filter(sql::<Bool>(TO_INVOICE)),
        Some(Narrow::BalanceDue) => query.filter(sql::<Bool>(&format!("{OWED} > 0"))),
        Some(Narrow::Paid) => query.filter(sql::<Bool>(&format!("{OWED} <= 0"))),
        Some(Narrow::Overdue) => {
            let today = wanted.today.unwrap_or_default();
            let late = super::schema::invoice::table
                .filter(super::schema::invoice::due_on.lt(today))
                .filter(sql::<Bool>("NOT EXISTS (SELECT 1 FROM credit_note n WHERE n.invoice_id = invoice.id)"))
                .select(super::schema::invoice::reservation_id);
            query.filter(sql::<Bool>(&format!("{OWED} > 0"))).filter(reservation::id.eq_any(late))
        }
    };
    query
        .order(reservation::id.desc())
        .limit(limit)
        .select((Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .load(c)
}

/// The seasons there are, newest first.
///
/// # Errors
/// The database's own.
pub fn seasons(c: &mut DbConn) -> QueryResult<Vec<String>> {
    offering::table.select(offering::season).distinct().order(offering::season.desc()).limit(50).load(c)
}

/// Open orders of one customer other than `except`, to carry a deposit to.
///
/// # Errors
/// The database's own.
pub fn others_of(
    c: &mut DbConn,
    customer_id: super::ids::CustomerId,
    except: ReservationId,
) -> QueryResult<Vec<(Reservation, Offering)>> {
    reservation::table
        .inner_join(offering::table)
        .filter(reservation::customer_id.eq(customer_id))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::id.ne(except))
        .order(reservation::id.desc())
        .limit(50)
        .select((Reservation::as_select(), Offering::as_select()))
        .load(c)
}

/// The orders of an offering that are not cancelled, those that wait last.
///
/// # Errors
/// The database's own.
pub fn of_offering(c: &mut DbConn, id: OfferingId, limit: i64) -> QueryResult<Vec<(Reservation, String)>> {
    reservation::table
        .inner_join(customer::table)
        .filter(reservation::offering_id.eq(id))
        .filter(reservation::cancelled_at.is_null())
        .order((reservation::waiting_since.is_not_null(), reservation::id))
        .limit(limit)
        .select((Reservation::as_select(), customer::name))
        .load(c)
}

/// A customer's orders, newest first.
///
/// # Errors
/// The database's own.
pub fn of_customer(
    c: &mut DbConn,
    id: super::ids::CustomerId,
    limit: i64,
) -> QueryResult<Vec<(Reservation, Offering)>> {
    reservation::table
        .inner_join(offering::table)
        .filter(reservation::customer_id.eq(id))
        .order(reservation::id.desc())
        .limit(limit)
        .select((Reservation::as_select(), Offering::as_select()))
        .load(c)
}
