//! Reading, changing and resetting the words of the messages.

use super::{Doing, Failure, Problems};
use crate::book::conn::DbConn;
use crate::book::rows::outbox::MessageTemplate;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::wordings;
use crate::post::wording::{Purpose, Wording, default_wording};

/// The wording in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct InForce {
    /// The words.
    pub wording: Wording,
    /// For the editor: send it back with the form. 0 is the default.
    pub version: i64,
}

/// The wording in force for a purpose.
///
/// # Errors
/// The database's own.
pub fn wording_of(c: &mut DbConn, purpose: Purpose) -> Result<InForce, Failure> {
    Ok(match wordings::of(c, purpose.as_str())? {
        Some(t) => {
            InForce { version: t.version, wording: Wording { subject: t.subject, body: t.body, short: t.short } }
        }
        None => InForce { version: 0, wording: default_wording(purpose) },
    })
}

/// Saves a wording. `seen` is the version the editor started from.
///
/// # Errors
/// [`Failure::Refused`] with a sentence for `subject`, `body` or `short`; [`Failure::Stale`] when somebody saved in between.
pub fn edit_wording(tx: &mut Tx, doing: &Doing, purpose: Purpose, new: &Wording, seen: i64) -> Result<(), Failure> {
    if let Err(faults) = new.check(purpose) {
        let mut problems = Problems::default();
        for fault in faults {
            problems.add(fault.field, fault.sentence);
        }
        return Err(Failure::Refused(problems));
    }
    let row = MessageTemplate {
        purpose: purpose.as_str().to_owned(),
        subject: new.subject.clone(),
        body: new.body.clone(),
        short: new.short.clone(),
        version: 1,
    };
    if !wordings::save(tx, &row, seen)? {
        return Err(Failure::Stale);
    }
    tell(tx, doing, format!("The wording “{}” was changed.", purpose.label()))
}

/// Goes back to the default wording. Nothing happens when it is the default already.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved since `seen`.
pub fn reset_wording(tx: &mut Tx, doing: &Doing, purpose: Purpose, seen: i64) -> Result<(), Failure> {
    if seen == 0 && wordings::of(tx.conn(), purpose.as_str())?.is_none() {
        return Ok(());
    }
    if !wordings::reset(tx, purpose.as_str(), seen)? {
        return Err(Failure::Stale);
    }
    tell(tx, doing, format!("The wording “{}” was set back to the default.", purpose.label()))
}

fn tell(tx: &mut Tx, doing: &Doing, line: String) -> Result<(), Failure> {
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(())
}
