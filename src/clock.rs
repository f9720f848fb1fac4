//! The clock: the machine's, or one that tests set.

use crate::book::at::At;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};

/// Where "now" comes from. Cheap to clone; clones of a set clock move together.
#[derive(Debug, Clone)]
pub enum Clock {
    /// The machine's.
    Real,
    /// One that tests set: milliseconds since 1970 in UTC.
    Set(Arc<AtomicI64>),
}

impl Clock {
    /// A clock that stands still at `at` until it is moved.
    pub fn set(at: At) -> Self {
        Self::Set(Arc::new(AtomicI64::new(at.0)))
    }
    /// The clock's reading.
    pub fn at(&self) -> At {
        match self {
            Self::Real => At::from_utc(chrono::Utc::now()),
            Self::Set(ms) => At(ms.load(Ordering::SeqCst)),
        }
    }
    /// Moves a set clock; the machine's clock is not touched.
    pub fn advance(&self, ms: i64) {
        if let Self::Set(now) = self {
            now.fetch_add(ms, Ordering::SeqCst);
        }
    }
}
