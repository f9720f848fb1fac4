//! Processors: what they leave out of the cuts.

use super::Checked;
use crate::book::conn::DbConn;
use crate::book::rows::plants::ProcessorOffer;
use crate::book::schema::processor_offer;
use crate::trade::cuts::offer::Offer;
use crate::trade::cuts::{catalogue, common};
use diesel::prelude::*;

/// 16: what a processor leaves out can be read, and something is left to choose of every part of the side.
pub(super) fn offers(c: &mut DbConn) -> QueryResult<Checked> {
    let rows: Vec<ProcessorOffer> = processor_offer::table.select(ProcessorOffer::as_select()).load(c)?;
    let mut faults = Vec::new();
    for row in &rows {
        let said = format!("what processor {} does with {}", row.processor_id, row.species);
        let (Ok(catalogue), Ok(common)) = (catalogue(row.species), common()) else {
            faults.push(format!("{said} cannot be looked at: the catalogue cannot be used"));
            continue;
        };
        match Offer::read(&row.document) {
            Ok(offer) => {
                faults.extend(offer.faults(catalogue, common).into_iter().map(|(_, why)| format!("{said}: {why}")))
            }
            Err(e) => faults.push(format!("{said}: {e}")),
        }
    }
    Ok(Checked {
        rule: "16 what processors do can be read and leaves a way to cut every part",
        looked_at: rows.len(),
        faults,
    })
}
