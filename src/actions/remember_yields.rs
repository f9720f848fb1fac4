//! Own yields kept in memory from page to page: reading 400 shares and reckoning their forecasts again takes longer than a page should.

use super::Failure;
use super::own_yields::OwnYields;
use crate::book::conn::DbConn;
use crate::book::rows::farm::Farm;
use crate::book::stories;
use chrono::NaiveDate;
use std::sync::{Arc, Mutex, PoisonError};

/// How the book was when they were read: the last line of its story (whatever is done to an order, an animal or a date tells one in
/// its transaction), the version of the farm's settings, and the day.
type Read = (i64, i64, NaiveDate);

/// What was read last.
#[derive(Debug, Default)]
pub struct Remembered(Mutex<Option<(Read, Arc<OwnYields>)>>);

impl Remembered {
    /// Own yields as the book has them in this snapshot.
    ///
    /// # Errors
    /// As [`OwnYields::read`].
    pub fn read(&self, c: &mut DbConn, farm: &Farm, today: NaiveDate) -> Result<Arc<OwnYields>, Failure> {
        let now = (stories::last(c)?, farm.version, today);
        let kept = self.0.lock().unwrap_or_else(PoisonError::into_inner).clone();
        if let Some((_, own)) = kept.filter(|(then, _)| *then == now) {
            return Ok(own);
        }
        let own = Arc::new(OwnYields::read(c, farm, today)?);
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = Some((now, own.clone()));
        Ok(own)
    }
}
