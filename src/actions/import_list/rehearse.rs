//! Trying a list out: it is carried out in a transaction that is taken back.

use super::carry::{Preview, carry_out};
use super::{Opened, look};
use crate::actions::{Doing, Failure};
use crate::book::ids::ImportFileId;
use crate::book::store::{AsDbError, Store, StoreError};
use crate::trade::import_file::Kind;
use diesel::result::Error as DbError;
use std::convert::Infallible;

/// How a try ends: always by being taken back.
enum Tried {
    Seen(Box<(Opened, Preview)>),
    Failed(Failure),
}

impl From<StoreError> for Tried {
    fn from(e: StoreError) -> Self {
        Self::Failed(e.into())
    }
}
impl AsDbError for Tried {
    fn as_db_error(&self) -> Option<&DbError> {
        match self {
            Self::Seen(_) => None,
            Self::Failed(f) => f.as_db_error(),
        }
    }
}

/// A list, and what it would make. Nothing of it stays; other writes wait meanwhile, so lists have at most 10,000 lines. Blocking.
///
/// # Errors
/// [`Failure::NotFound`] when the list was taken or forgotten.
pub fn rehearse(store: &Store, doing: &Doing, kind: Kind, id: ImportFileId) -> Result<(Opened, Preview), Failure> {
    let tried = store.write(|tx| -> Result<Infallible, Tried> {
        let opened = look(tx.conn(), kind, id).map_err(Tried::Failed)?;
        let seen = carry_out(tx, doing, &opened).map_err(Tried::Failed)?;
        Err(Tried::Seen(Box::new((opened, seen))))
    });
    match tried {
        Ok(never) => match never {},
        Err(Tried::Seen(both)) => Ok(*both),
        Err(Tried::Failed(failure)) => Err(failure),
    }
}
