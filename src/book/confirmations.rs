//! Confirmations of reservations: the papers as they went out.

use super::conn::DbConn;
use super::ids::{ConfirmationId, CustomerId, ReservationId};
use super::rows::requests::{Confirmation, NewConfirmation};
use super::schema::{confirmation, reservation};
use super::store::Tx;
use diesel::prelude::*;

/// Keeps a confirmation.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewConfirmation) -> QueryResult<ConfirmationId> {
    diesel::insert_into(confirmation::table).values(new.clone()).returning(confirmation::id).get_result(tx.conn())
}

/// The last confirmation of an order that went to this customer.
///
/// # Errors
/// The database's own.
pub fn last_of(c: &mut DbConn, order: ReservationId, customer: CustomerId) -> QueryResult<Option<Confirmation>> {
    confirmation::table
        .filter(confirmation::reservation_id.eq(order))
        .filter(confirmation::customer_id.eq(customer))
        .order(confirmation::id.desc())
        .select(Confirmation::as_select())
        .first(c)
        .optional()
}

/// The number of the order and the content of a confirmation.
///
/// # Errors
/// `NotFound` when there is none.
pub fn paper(c: &mut DbConn, id: ConfirmationId) -> QueryResult<(String, String)> {
    confirmation::table
        .inner_join(reservation::table)
        .filter(confirmation::id.eq(id))
        .select((reservation::number, confirmation::document))
        .first(c)
}
