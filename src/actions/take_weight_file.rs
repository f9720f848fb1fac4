//! Taking a file of weights into the book: all of its lines in one transaction, or none.

use super::read_weight_file::{How, Preview, digest, look, preview};
use super::record_weights::{Recorded, WeighForm, WeighRow, record_weights};
use super::sheet_in;
use super::{Doing, Failure, Problem, Problems};
use crate::book::ids::{AnimalId, DateId, WeightFileId};
use crate::book::rows::plant_page::WeightFileTaken;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::weight_files;
use crate::trade::vocabulary::CarcassBasis;
use std::collections::HashMap;

/// What somebody says with the button.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Take {
    /// Basis and day, as the page showed them.
    pub how: How,
    /// The fingerprint of the page that was looked at.
    pub fingerprint: String,
    /// Whether lines about no head of this date are left out.
    pub leave_out: bool,
    /// Whether the file is taken although the same one was before.
    pub again: bool,
    /// The ticks of doubtful weights, as the weigh-in has them.
    pub confirmed: HashMap<AnimalId, String>,
}

/// Takes a file in.
///
/// # Errors
/// [`Failure::Refused`] for lines with faults (each a sentence with line and column), lines about no head of this date that are not
/// left out, a file that was taken before, and all that [`record_weights`] refuses; [`Failure::Stale`] when anything the page showed
/// changed; [`Failure::NotFound`] when the file is gone. Nothing is recorded then.
pub fn take_file(tx: &mut Tx, doing: &Doing, date: DateId, id: WeightFileId, take: &Take) -> Result<Recorded, Failure> {
    let opened = look(tx.conn(), date, id)?;
    if !opened.is_matched {
        return Err(Failure::Stale);
    }
    let seen = preview(tx.conn(), &opened, take.how)?;
    if seen.fingerprint != take.fingerprint {
        return Err(Failure::Stale);
    }
    let mut problems = standing_against(&seen, take);
    if opened.taken.is_some() && !take.again {
        problems.add("again", "This file was taken before. Tick that it is to be taken again, or leave it.");
    }
    problems.check()?;
    let done = record(tx, doing, date, &seen, take)?;
    let head = i64::try_from(done.weighed.saturating_add(done.gone)).unwrap_or(i64::MAX);
    let taken = WeightFileTaken {
        date_id: date,
        digest: digest(&opened.file),
        name: opened.file.name.clone(),
        head,
        taken_by: doing.actor.clone(),
        taken_at: doing.now.at,
    };
    weight_files::mark_taken(tx, &taken)?;
    weight_files::remove(tx, id)?;
    let line = format!("Weights were taken from the file “{}”: {head} head changed", opened.file.name);
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, date: Some(date), ..Line::default() })?;
    Ok(done)
}

/// What keeps the file out, whoever looks at it.
fn standing_against(seen: &Preview, take: &Take) -> Problems {
    let mut problems = Problems::default();
    sheet_in::say(&mut problems, &seen.faults);
    if !seen.strangers.is_empty() && !take.leave_out {
        problems.add(
            "leave_out",
            format!(
                "{} about no head of this date. Correct the file, or tick that they are left out.",
                match seen.strangers.len() {
                    1 => "1 line of the file is".to_string(),
                    n => format!("{n} lines of the file are"),
                }
            ),
        );
    }
    problems
}

/// Records the rows by the rules of the weigh-in, those weighed hot and those weighed cold, and says all that is refused at once.
fn record(tx: &mut Tx, doing: &Doing, date: DateId, seen: &Preview, take: &Take) -> Result<Recorded, Failure> {
    let (mut done, mut refused) = (Recorded::default(), Vec::<Problem>::new());
    for basis in CarcassBasis::ALL {
        let rows: Vec<WeighRow> = seen
            .rows
            .iter()
            .filter(|r| r.basis == *basis && !r.is_same)
            .map(|r| WeighRow {
                confirmed: take.confirmed.get(&r.animal.id).cloned().unwrap_or_default(),
                ..r.row.clone()
            })
            .collect();
        if rows.is_empty() {
            continue;
        }
        let form = WeighForm { date, basis: *basis, weighed_on: take.how.weighed_on, for_saved_too: true, rows };
        match record_weights(tx, doing, &form) {
            Ok(more) => {
                done.weighed = done.weighed.saturating_add(more.weighed);
                done.gone = done.gone.saturating_add(more.gone);
                done.to_tell = done.to_tell.saturating_add(more.to_tell);
            }
            Err(Failure::Refused(problems)) => {
                for problem in problems.0 {
                    if !refused.contains(&problem) {
                        refused.push(problem);
                    }
                }
            }
            Err(other) => return Err(other),
        }
    }
    Problems(refused).check()?;
    Ok(done)
}
