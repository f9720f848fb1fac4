//! That the whole book was handed out as one file, in the story: who took it, and whether secrets were in it.

use super::{Doing, Failure};
use crate::book::store::Tx;
use crate::book::stories::{Line, tell};

/// Notes it.
///
/// # Errors
/// The database's own.
pub fn note_export(tx: &mut Tx, doing: &Doing, with_secrets: bool) -> Result<(), Failure> {
    let detail = if with_secrets {
        "With hashes of passwords and private links."
    } else {
        "Without passwords and private links."
    };
    let line = "The whole book was handed out as one file".into();
    Ok(tell(tx, doing.now.at, &doing.actor, Line { line, detail: detail.into(), ..Line::default() })?)
}
