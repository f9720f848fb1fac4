//! Writing the farm's terms: other words are another version.

use super::{Doing, Failure};
use crate::book::rows::requests::NewSaleTerms;
use crate::book::sale_terms;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::sale_terms::LONGEST;

/// Saves the words as the next version; empty words say that none are asked for from now on. `seen` is the number of the version the form
/// was opened with, 0 for none. Returns whether there is a new version: the same words are none.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between; [`Failure::Refused`] when they are too long.
pub fn write_terms(tx: &mut Tx, doing: &Doing, seen: i64, body: &str) -> Result<bool, Failure> {
    if body.chars().count() > LONGEST {
        return Err(Failure::refuse("body", format!("Keep the terms to {LONGEST} characters.")));
    }
    let last = sale_terms::latest(tx.conn())?;
    let (number, words) = last.map_or((0, String::new()), |t| (t.number, t.body));
    if number != seen {
        return Err(Failure::Stale);
    }
    if words == body {
        return Ok(false);
    }
    let number = number.saturating_add(1);
    let new = NewSaleTerms {
        number,
        body: body.to_owned(),
        made_on: doing.now.today,
        made_at: doing.now.at,
        made_by: doing.actor.clone(),
    };
    sale_terms::insert(tx, &new)?;
    let line = if body.is_empty() {
        "The farm’s terms were taken back; none are asked for any more".to_string()
    } else {
        format!("Version {number} of the farm’s terms was written")
    };
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(true)
}
