//! Adding and changing a customer.

use super::{Doing, Failure};
use crate::book::ids::CustomerId;
use crate::book::people;
use crate::book::rows::people::NewCustomer;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};

/// A customer's facts.
#[derive(Debug, Clone, Default)]
pub struct CustomerIn {
    /// Name, 1 to 120 characters.
    pub name: String,
    /// Mail address, or empty.
    pub mail: String,
    /// Phone, or empty.
    pub phone: String,
    /// Address on several lines, or empty.
    pub address: String,
    /// The farm's notes; never shown to the customer.
    pub notes: String,
    /// Asked not to hear what else is for sale.
    pub no_offers: bool,
}

/// Adds a customer.
///
/// # Errors
/// [`Failure::Refused`] without a name.
pub fn add_customer(tx: &mut Tx, doing: &Doing, input: &CustomerIn) -> Result<CustomerId, Failure> {
    if input.name.trim().is_empty() {
        return Err(Failure::refuse("name", "Write the customer’s name"));
    }
    let mail = input.mail.trim().to_lowercase();
    let id = people::insert(
        tx,
        &NewCustomer {
            search: people::search_text(&input.name, &mail, &input.phone),
            name: input.name.clone(),
            mail,
            phone: input.phone.clone(),
            address: input.address.clone(),
            notes: input.notes.clone(),
            created_at: doing.now.at,
            no_offers: input.no_offers,
        },
    )?;
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line { line: format!("{} was added", input.name), customer: Some(id), ..Line::default() },
    )?;
    Ok(id)
}

/// Changes a customer's facts.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between; [`Failure::Refused`] without a name.
pub fn change_customer(
    tx: &mut Tx,
    doing: &Doing,
    id: CustomerId,
    version: i64,
    input: &CustomerIn,
) -> Result<(), Failure> {
    if input.name.trim().is_empty() {
        return Err(Failure::refuse("name", "Write the customer’s name"));
    }
    let mut changed = people::get(tx.conn(), id)?;
    let mut what = Vec::new();
    let mail = input.mail.trim().to_lowercase();
    for (label, before, after) in [
        ("name", &changed.name, &input.name),
        ("mail", &changed.mail, &mail),
        ("phone", &changed.phone, &input.phone),
        ("address", &changed.address, &input.address),
        ("notes", &changed.notes, &input.notes),
    ] {
        if before != after && label != "notes" {
            what.push(format!("{label} was “{}”", before.replace('\n', ", ")));
        }
    }
    if changed.no_offers != input.no_offers {
        let asked =
            if input.no_offers { "asked not to hear what is for sale" } else { "may hear again what is for sale" };
        what.push(asked.into());
    }
    changed.no_offers = input.no_offers;
    changed.mail = mail;
    changed.search = people::search_text(&input.name, &changed.mail, &input.phone);
    (changed.name, changed.phone, changed.address, changed.notes) =
        (input.name.clone(), input.phone.clone(), input.address.clone(), input.notes.clone());
    if !people::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line {
            line: format!("{}’s facts were changed", input.name),
            detail: what.join("; "),
            customer: Some(id),
            ..Line::default()
        },
    )?;
    Ok(())
}
