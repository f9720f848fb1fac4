//! The farm's terms in versions, and which version the customer of an order accepted.

use super::conn::DbConn;
use super::ids::{CustomerId, ReservationId, SaleTermsId};
use super::rows::requests::{NewSaleTerms, SaleTerms, TermsAcceptance};
use super::schema::{sale_terms, terms_acceptance};
use super::store::Tx;
use diesel::prelude::*;

/// Adds a version.
///
/// # Errors
/// The database's own; a number that is there already is refused by the table.
pub fn insert(tx: &mut Tx, new: &NewSaleTerms) -> QueryResult<SaleTermsId> {
    diesel::insert_into(sale_terms::table).values(new.clone()).returning(sale_terms::id).get_result(tx.conn())
}

/// The last version, also one without words.
///
/// # Errors
/// The database's own.
pub fn latest(c: &mut DbConn) -> QueryResult<Option<SaleTerms>> {
    sale_terms::table.order(sale_terms::number.desc()).select(SaleTerms::as_select()).first(c).optional()
}

/// The version that is asked for now; `None` when the farm uses none.
///
/// # Errors
/// The database's own.
pub fn in_force(c: &mut DbConn) -> QueryResult<Option<SaleTerms>> {
    Ok(latest(c)?.filter(|t| !t.body.is_empty()))
}

/// The version with this number.
///
/// # Errors
/// `NotFound` when there is none.
pub fn version(c: &mut DbConn, number: i64) -> QueryResult<SaleTerms> {
    sale_terms::table.filter(sale_terms::number.eq(number)).select(SaleTerms::as_select()).first(c)
}

/// A version by its id.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: SaleTermsId) -> QueryResult<SaleTerms> {
    sale_terms::table.find(id).select(SaleTerms::as_select()).first(c)
}

/// The versions, newest first, the last hundred.
///
/// # Errors
/// The database's own.
pub fn all(c: &mut DbConn) -> QueryResult<Vec<SaleTerms>> {
    sale_terms::table.order(sale_terms::number.desc()).limit(100).select(SaleTerms::as_select()).load(c)
}

/// What the customer of an order accepted, with its words.
///
/// # Errors
/// The database's own.
pub fn accepted(
    c: &mut DbConn,
    order: ReservationId,
    customer: CustomerId,
) -> QueryResult<Option<(TermsAcceptance, SaleTerms)>> {
    terms_acceptance::table
        .inner_join(sale_terms::table)
        .filter(terms_acceptance::reservation_id.eq(order))
        .filter(terms_acceptance::customer_id.eq(customer))
        .select((TermsAcceptance::as_select(), SaleTerms::as_select()))
        .first(c)
        .optional()
}

/// Keeps an acceptance; there is one for each order and customer, and it never changes.
///
/// # Errors
/// The database's own; a second one is refused by the table.
pub fn accept(tx: &mut Tx, new: &TermsAcceptance) -> QueryResult<()> {
    diesel::insert_into(terms_acceptance::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}
