//! Customers.

use super::conn::DbConn;
use super::ids::CustomerId;
use super::rows::people::{Customer, NewCustomer};
use super::schema::customer;
use super::store::Tx;
use crate::trade::fold::fold;
use diesel::prelude::*;

/// What a customer is found by: name, mail and the digits of the phone, folded.
pub fn search_text(name: &str, mail: &str, phone: &str) -> String {
    let digits: String = phone.chars().filter(char::is_ascii_digit).collect();
    fold(&format!("{name} {mail} {digits}"))
}

/// A `LIKE` pattern that finds the words anywhere, with its own signs escaped by a backslash.
pub fn anywhere(folded: &str) -> String {
    let mut out = String::from("%");
    for ch in folded.chars() {
        if matches!(ch, '%' | '_' | '\\') {
            out.push('\\');
        }
        out.push(ch);
    }
    out.push('%');
    out
}

/// The pattern for one folded word of a search. A word of digits and the signs of a phone number, such as "(715)" or
/// "555-0117", looks for its digits alone, because only they are stored.
pub fn word_pattern(word: &str) -> String {
    let digits: String = word.chars().filter(char::is_ascii_digit).collect();
    let is_phone = !digits.is_empty() && word.chars().all(|ch| ch.is_ascii_digit() || "()-+./".contains(ch));
    if is_phone { anywhere(&digits) } else { anywhere(word) }
}

/// Adds a customer.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewCustomer) -> QueryResult<CustomerId> {
    diesel::insert_into(customer::table).values(new.clone()).returning(customer::id).get_result(tx.conn())
}

/// One customer.
///
/// # Errors
/// `NotFound` when there is none.
pub fn get(c: &mut DbConn, id: CustomerId) -> QueryResult<Customer> {
    customer::table.find(id).select(Customer::as_select()).first(c)
}

/// The customers with this mail address, which is stored in small letters; at most ten.
///
/// # Errors
/// The database's own.
pub fn with_mail(c: &mut DbConn, mail: &str) -> QueryResult<Vec<Customer>> {
    customer::table
        .filter(customer::mail.eq(mail.to_lowercase()))
        .order(customer::id)
        .limit(10)
        .select(Customer::as_select())
        .load(c)
}

/// Saves a customer if nobody did since `version`; `false` if somebody did.
///
/// # Errors
/// The database's own.
pub fn save(tx: &mut Tx, changed: &Customer, version: i64) -> QueryResult<bool> {
    let next = Customer { version: version.saturating_add(1), ..changed.clone() };
    let n = diesel::update(customer::table.filter(customer::id.eq(changed.id)).filter(customer::version.eq(version)))
        .set(next)
        .execute(tx.conn())?;
    Ok(n == 1)
}

/// A page of customers by name, folding case and accents, after the one with this search text and id; only those the folded
/// words are found in. The search text begins with the folded name, so its order is that of the names.
///
/// # Errors
/// The database's own.
pub fn page(
    c: &mut DbConn,
    words: &str,
    after: Option<(String, CustomerId)>,
    limit: i64,
) -> QueryResult<Vec<Customer>> {
    let mut query = customer::table.into_boxed();
    for word in words.split(' ').filter(|w| !w.is_empty()).take(6) {
        query = query.filter(customer::search.like(word_pattern(word)).escape('\\'));
    }
    if let Some((name, id)) = after {
        query = query.filter(customer::search.gt(name.clone()).or(customer::search.eq(name).and(customer::id.gt(id))));
    }
    query.order((customer::search, customer::id)).limit(limit).select(Customer::as_select()).load(c)
}

/// People who may be the same one: same mail address, same digits of the phone, or a name that holds every word typed.
///
/// # Errors
/// The database's own.
pub fn alike(c: &mut DbConn, name: &str, mail: &str, phone: &str) -> QueryResult<Vec<Customer>> {
    let digits: String = phone.chars().filter(char::is_ascii_digit).collect();
    let name = fold(name);
    let mut found: Vec<Customer> = Vec::new();
    let mail = mail.trim().to_lowercase();
    if mail.contains('@') {
        found.extend(customer::table.filter(customer::mail.eq(mail)).limit(5).select(Customer::as_select()).load(c)?);
    }
    if digits.len() >= 7 {
        found.extend(
            customer::table
                .filter(customer::search.like(anywhere(&digits)).escape('\\'))
                .limit(5)
                .select(Customer::as_select())
                .load(c)?,
        );
    }
    if name.len() >= 3 {
        found.extend(page(c, &name, None, 5)?);
    }
    let mut seen = std::collections::BTreeSet::new();
    found.retain(|p| seen.insert(p.id));
    found.truncate(5);
    Ok(found)
}
