//! Writing to past customers that shares are left: each chosen by the farmer, each once, a few at a time.

use super::queue_message::{ToSay, queue_message};
use super::{Doing, Failure};
use crate::book::at::At;
use crate::book::ids::CustomerId;
use crate::book::left;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::post::phrases::long_date;
use crate::post::wording::{Purpose, Values};
use crate::trade::share::Species;
use chrono::{NaiveDate, TimeDelta};

/// Messages written at one time, at most.
pub const AT_ONCE: usize = 50;
/// Days in which nobody is written to twice.
pub const QUIET_DAYS: i64 = 60;
/// Past customers shown to choose from, at most.
pub const SHOWN: i64 = 300;

/// Since when a message counts as this one.
pub fn since(now: At) -> At {
    now.plus(TimeDelta::days(-QUIET_DAYS))
}

/// What is said, and to whom.
#[derive(Debug, Clone)]
pub struct SharesLeft {
    /// Of what.
    pub species: Species,
    /// What is left, in words.
    pub left: String,
    /// Its price, in words.
    pub price: String,
    /// Until when it is to be sold.
    pub sell_by: NaiveDate,
    /// To whom.
    pub to: Vec<CustomerId>,
}

/// Writes one message to each; how many.
///
/// # Errors
/// [`Failure::Refused`] when nobody or more than [`AT_ONCE`] are chosen, or somebody is not a past customer to be written to
/// any more: they have an order now, asked not to hear of it, or were written to within [`QUIET_DAYS`].
pub fn write_shares_left(tx: &mut Tx, doing: &Doing, say: &SharesLeft) -> Result<usize, Failure> {
    let mut to = say.to.clone();
    to.sort_unstable();
    to.dedup();
    if to.is_empty() || to.len() > AT_ONCE {
        return Err(Failure::refuse("to", format!("Tick at least one and at most {AT_ONCE} customers.")));
    }
    if say.sell_by < doing.now.today {
        return Err(Failure::refuse("sell_by", "That day is past. Choose a later one."));
    }
    let purpose = Purpose::SharesLeft;
    let may = left::past_customers(tx.conn(), say.species, purpose.as_str(), since(doing.now.at), SHOWN)?;
    if to.iter().any(|id| may.iter().all(|c| c.id != *id)) {
        let sentence = format!(
            "Somebody you ticked has an order by now, asked not to hear of it, or was written to in the last {QUIET_DAYS} days. Look over the list again."
        );
        return Err(Failure::refuse("to", sentence));
    }
    for id in &to {
        let values = Values::new()
            .with("left", say.left.as_str())
            .with("price", say.price.as_str())
            .with("sell_by", long_date(say.sell_by));
        queue_message(tx, doing, &ToSay { customer: *id, reservation: None, purpose, values, attachment: None })?;
        let line = format!("Was told what is left of {}", say.species.label());
        let told = Line { line, detail: say.left.clone(), customer: Some(*id), ..Line::default() };
        stories::tell(tx, doing.now.at, &doing.actor, told)?;
    }
    Ok(to.len())
}
