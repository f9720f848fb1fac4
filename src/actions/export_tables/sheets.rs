//! Cut sheets in words, as a packet says them for a share by itself.

use super::{Rows, Ways, figure};
use crate::actions::Failure;
use crate::actions::cut_sheet::bases;
use crate::book::conn::DbConn;
use crate::book::exports;
use crate::book::ids::ReservationId;
use crate::trade::cuts::sheet::Hanging;
use crate::trade::instructions::instructions;
use crate::trade::share::sold_as;
use crate::trade::sheet_json;

/// Rows of a page; each sheet is read by its catalogue.
const PAGE: i64 = 100;

pub(super) fn headings() -> Vec<String> {
    ["Order", "Customer", "Share", "Season", "Revision", "Origin", "Instructions", "In the customer’s words"]
        .map(String::from)
        .to_vec()
}

pub(super) fn sheets(c: &mut DbConn, ways: &Ways, after: i64) -> Result<Rows, Failure> {
    let found = exports::cut_sheets(c, after, PAGE)?;
    let ids: Vec<ReservationId> = found.iter().map(|s| s.reservation_id).collect();
    let bases = bases(c, &ways.farm, ways.today, &ids)?;
    let mut out = Rows::default();
    for sheet in &found {
        let Some(basis) = bases.get(&sheet.reservation_id) else { continue };
        let (r, who, o) = &basis.order;
        let kept = sheet_json::read(&sheet.sheet).map_err(Failure::Unexpected)?;
        let hanging = Hanging { head_on: kept.head_on, skin_on: kept.skin_on, ..basis.hanging };
        // A sheet of an older catalogue is still a row: what was chosen stands in the book.
        let words = match instructions(&hanging, &kept.sheet) {
            Ok(all) => all.into_iter().map(|i| format!("{}: {}", i.part, i.says)).collect::<Vec<_>>().join("\n"),
            Err(_) => "This sheet cannot be said in words by this version of Gambrel.".into(),
        };
        out.push(&[
            r.number.as_str().into(),
            who.name.as_str().into(),
            sold_as(r.size, r.part, o.species).into(),
            o.season.as_str().into(),
            figure(sheet.revision),
            sheet.origin.label().into(),
            words.into(),
            sheet.special.as_str().into(),
        ]);
    }
    Ok(out.ends(found.len(), PAGE, ids.last().map(|id| id.0)))
}
