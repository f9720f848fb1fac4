//! A plant's file of weights, taken into the demo's book as a farmer does it: kept, its columns matched, looked over, taken.

use super::teller::Teller;
use crate::actions::read_weight_file::{How, keep_file, look, match_columns, preview};
use crate::actions::record_weights::confirming;
use crate::actions::sheet_in::open;
use crate::actions::take_weight_file::{Take, take_file};
use crate::actions::{Doing, Failure};
use crate::book::animals;
use crate::book::ids::{AnimalId, DateId};
use std::collections::HashMap;

/// The file's text for these head: tag, carcass number, then the four quarters and the two sides as the plant writes them.
pub(super) fn text(t: &mut Teller, head: &[(AnimalId, &str, &str)]) -> Result<String, Failure> {
    let mut text = String::from(
        "Hanging weights\r\n\r\nEar tag;Carcass no.;Left fore;Left hind;Right fore;Right hind;Left;Right\r\n",
    );
    for (animal, number, weights) in head {
        let tag = animals::get(t.tx.conn(), *animal)?.tag;
        text.push_str(&format!("{tag};{number};{weights}\r\n"));
    }
    Ok(text)
}

/// Takes a file in, every doubt ticked.
pub(super) fn take(t: &mut Teller, doing: &Doing, date: DateId, text: &str, how: How) -> Result<(), Failure> {
    let text = open(text.as_bytes())?;
    let file = keep_file(t.tx, doing, date, "hanging-weights.csv", &text)?;
    let columns = look(t.tx.conn(), date, file)?.columns;
    match_columns(t.tx, doing, date, file, &columns)?;
    let opened = look(t.tx.conn(), date, file)?;
    let seen = preview(t.tx.conn(), &opened, how)?;
    let ticks = seen.rows.iter().filter_map(|r| Some((r.animal.id, confirming(r.hung()?))));
    let confirmed: HashMap<AnimalId, String> = ticks.collect();
    let take = Take { how, fingerprint: seen.fingerprint.clone(), leave_out: false, again: false, confirmed };
    take_file(t.tx, doing, date, file, &take)?;
    Ok(())
}
