//! A list the farm kept before Gambrel: neighbors who asked about meat and have not ordered yet.

use crate::actions::import_list::{Take, keep_list, look, match_columns, rehearse, take_list};
use crate::actions::sheet_in::open;
use crate::actions::{Doing, Failure};
use crate::book::store::Store;
use crate::trade::import_file::Kind;

/// As a spreadsheet program saves it; one of them is in the book already.
const LIST: &str = "Who asked at the market\n\nLast name;First name;E-mail;Cell;Street;City;State;ZIP;Notes\n\
Voss;Linnea;linnea@voss.example;555-0161;22 Mill Street;Elm Fork;WI;53000;Asked about lamb\n\
Torrey;Gil;;555-0162;9 Quarry Road;Stony Ford;WI;53002;\n\
Kessel;Ruth;;555-0137;;;;;\n";

/// Takes the list, tried out first as the page does.
pub(super) fn take(store: &Store, doing: &Doing) -> Result<(), Failure> {
    let text = open(LIST.as_bytes())?;
    let kind = Kind::Customers;
    let file = store.write(|tx| {
        let file = keep_list(tx, doing, kind, "market-2026.csv", &text)?;
        let columns = look(tx.conn(), kind, file)?.columns;
        match_columns(tx, doing, kind, file, &columns)?;
        Ok::<_, Failure>(file)
    })?;
    let (_, seen) = rehearse(store, doing, kind, file)?;
    let take = Take { fingerprint: seen.fingerprint, again: false };
    store.write(|tx| take_list(tx, doing, kind, file, &take))?;
    Ok(())
}
