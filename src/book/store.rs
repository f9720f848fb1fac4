//! Opening a book, and its two lanes: reads (many at once) and writes (one transaction each, one at a time).

#[cfg(feature = "postgres")]
use super::conn::PATIENCE;
use super::conn::{DbConn, Place};
use super::migrate;
#[cfg(feature = "postgres")]
use diesel::connection::SimpleConnection;
use diesel::connection::{AnsiTransactionManager, TransactionManager};
use diesel::r2d2::{ManageConnection, Pool, R2D2Connection};
use diesel::result::{DatabaseErrorKind, Error as DbError};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// How many readers a book serves at once.
const READERS: u32 = 4;
/// How often a write is run again when PostgreSQL finds that it would not have been serial. Our own programs wait for each other
/// ([`lane_lock`]), so this is for strangers that write into the same database.
const RETRIES: u32 = 20;

/// The name of the write lane among PostgreSQL's advisory locks, which are of one database: the letters of "gambrel" as a number.
#[cfg(feature = "postgres")]
const LANE: i64 = 0x0067_616d_6272_656c;

/// An open book. Cheap to clone.
#[derive(Clone)]
pub struct Store(Arc<Inner>);

struct Inner {
    place: Place,
    readers: Pool<Lane>,
    /// The write lane. SQLite has one writer anyway and its own waiting is unfair: a queue of ours keeps the wait short.
    writer: Mutex<Option<DbConn>>,
}

/// A write transaction. Only this can change the book.
pub struct Tx<'c>(&'c mut DbConn);

impl Tx<'_> {
    /// The connection inside the transaction, for queries.
    pub fn conn(&mut self) -> &mut DbConn {
        self.0
    }
}

#[derive(Clone)]
struct Lane(Place);

impl ManageConnection for Lane {
    type Connection = DbConn;
    type Error = diesel::r2d2::Error;
    fn connect(&self) -> Result<DbConn, Self::Error> {
        self.0.connect(true).map_err(diesel::r2d2::Error::ConnectionError)
    }
    fn is_valid(&self, c: &mut DbConn) -> Result<(), Self::Error> {
        c.ping().map_err(diesel::r2d2::Error::QueryError)
    }
    fn has_broken(&self, c: &mut DbConn) -> bool {
        std::thread::panicking() || c.is_broken()
    }
}

/// A failure that came from the book itself and not from a rule.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// No connection could be had.
    #[error("the book cannot be opened: {0}")]
    Closed(String),
    /// Another program has been writing for longer than a write waits. Nothing was written; the same write may go through later.
    #[error("another program is writing into the book")]
    Busy,
    /// The database's own error.
    #[error("the book could not be read or written: {0}")]
    Db(#[from] DbError),
}

impl Store {
    /// Opens a book and brings its tables up to date.
    ///
    /// # Errors
    /// A sentence for the operator.
    pub fn open(place: Place) -> Result<Self, String> {
        if let Place::File(path) = &place
            && let Some(folder) = path.parent()
        {
            std::fs::create_dir_all(folder)
                .map_err(|e| format!("the data folder {} cannot be made: {e}", folder.display()))?;
        }
        let mut writer =
            place.connect(false).map_err(|e| format!("the book at {} cannot be opened: {e}", place.shown()))?;
        migrate::migrate(&mut writer)?;
        let readers = Pool::builder()
            .max_size(READERS)
            .min_idle(Some(1))
            .connection_timeout(Duration::from_secs(10))
            .test_on_check_out(!place.is_embedded())
            .build(Lane(place.clone()))
            .map_err(|e| format!("the book at {} cannot be opened: {e}", place.shown()))?;
        Ok(Self(Arc::new(Inner { place, readers, writer: Mutex::new(Some(writer)) })))
    }

    /// Where the book is kept.
    pub fn place(&self) -> &Place {
        &self.0.place
    }

    /// Runs queries on a read-only connection, in one snapshot. Blocking: call it from a blocking thread.
    ///
    /// # Errors
    /// Those of `f`, and [`StoreError`] when no connection can be had.
    pub fn read<T, E: From<StoreError>>(&self, f: impl FnOnce(&mut DbConn) -> Result<T, E>) -> Result<T, E> {
        let mut c = self.0.readers.get().map_err(|e| StoreError::Closed(e.to_string()))?;
        begin(&mut c, Begin::Snapshot).map_err(StoreError::Db)?;
        finish(&mut c, f)
    }

    /// Runs one write transaction: all of it happens or nothing. `f` may be run again when another instance got in between,
    /// so it must do nothing but work on the book. Blocking: call it from a blocking thread. Does not nest.
    ///
    /// # Errors
    /// Those of `f` (nothing is written then), and [`StoreError`] when the book cannot be written: [`StoreError::Busy`] when others
    /// write all the time.
    pub fn write<T, E: From<StoreError> + AsDbError>(&self, f: impl Fn(&mut Tx) -> Result<T, E>) -> Result<T, E> {
        self.run(1, f)
    }

    /// The same for what has happened outside already, such as a mail that left: it waits for others twelve times as long.
    ///
    /// # Errors
    /// As [`Store::write`].
    pub fn write_surely<T, E: From<StoreError> + AsDbError>(
        &self,
        f: impl Fn(&mut Tx) -> Result<T, E>,
    ) -> Result<T, E> {
        self.run(12, f)
    }

    fn run<T, E: From<StoreError> + AsDbError>(
        &self,
        patience: u32,
        f: impl Fn(&mut Tx) -> Result<T, E>,
    ) -> Result<T, E> {
        let mut lane = self.0.writer.lock().unwrap_or_else(PoisonError::into_inner);
        let (mut tries, mut waited) = (0, 0);
        loop {
            let kept = lane.take().and_then(|mut c| (self.0.place.is_embedded() || c.ping().is_ok()).then_some(c));
            let mut c = match kept {
                Some(c) => c,
                None => self.0.place.connect(false).map_err(|e| StoreError::Closed(e.to_string()))?,
            };
            if let Err(e) = lane_lock(&mut c).and_then(|()| begin(&mut c, Begin::Write)) {
                // The connection is dropped, and with it whatever lock it holds.
                waited += 1;
                if is_busy(&e) && waited < patience {
                    continue;
                }
                return Err(if is_busy(&e) { StoreError::Busy } else { StoreError::Db(e) }.into());
            }
            let outcome = finish(&mut c, |c| f(&mut Tx(c)));
            if !c.is_broken() && lane_unlock(&mut c).is_ok() {
                *lane = Some(c);
            }
            match outcome {
                Err(e) if e.as_db_error().is_some_and(is_serialization) => {
                    if tries >= RETRIES {
                        return Err(StoreError::Busy.into());
                    }
                    tries += 1;
                    // A short, growing pause; which of two instances goes first does not matter.
                    std::thread::sleep(Duration::from_millis(u64::from(tries) * 3 + u64::from(std::process::id() % 5)));
                }
                done => return done,
            }
        }
    }
}

/// Lets the write lane see whether an error came from the database, so that it can try again.
pub trait AsDbError {
    /// The database's error, if this is one.
    fn as_db_error(&self) -> Option<&DbError>;
}

impl AsDbError for StoreError {
    fn as_db_error(&self) -> Option<&DbError> {
        match self {
            Self::Db(e) => Some(e),
            Self::Closed(_) | Self::Busy => None,
        }
    }
}

fn is_serialization(e: &DbError) -> bool {
    match e {
        DbError::DatabaseError(DatabaseErrorKind::SerializationFailure, _) => true,
        DbError::DatabaseError(_, info) => info.message().contains("deadlock detected"),
        _ => false,
    }
}

/// Whether beginning a write failed because others write: SQLite's busy time-out, or PostgreSQL's for the lock below.
fn is_busy(e: &DbError) -> bool {
    let DbError::DatabaseError(_, info) = e else { return false };
    ["database is locked", "lock timeout"].iter().any(|words| info.message().contains(words))
}

/// On PostgreSQL every write waits here for the writes of other programs on the same book, first come first served. It is a lock of
/// the session, taken before BEGIN: a serializable transaction sees the book as of its first statement, so one that began before
/// it had to wait would look at an old book and be refused at its end, again and again while others write.
fn lane_lock(c: &mut DbConn) -> Result<(), DbError> {
    match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => c.batch_execute(&format!(
            "SET lock_timeout = {PATIENCE}; SELECT pg_advisory_lock({LANE}); SET lock_timeout = 0"
        )),
        DbConn::Sqlite(_) => Ok(()),
    }
}

fn lane_unlock(c: &mut DbConn) -> Result<(), DbError> {
    match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => c.batch_execute(&format!("SELECT pg_advisory_unlock({LANE})")),
        DbConn::Sqlite(_) => Ok(()),
    }
}

#[derive(Clone, Copy)]
enum Begin {
    Snapshot,
    Write,
}

fn begin(c: &mut DbConn, how: Begin) -> Result<(), DbError> {
    match (c, how) {
        #[cfg(feature = "postgres")]
        (DbConn::Pg(c), Begin::Snapshot) => {
            AnsiTransactionManager::begin_transaction_sql(c, "BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        }
        #[cfg(feature = "postgres")]
        (DbConn::Pg(c), Begin::Write) => {
            AnsiTransactionManager::begin_transaction_sql(c, "BEGIN ISOLATION LEVEL SERIALIZABLE")
        }
        (DbConn::Sqlite(c), Begin::Snapshot) => AnsiTransactionManager::begin_transaction_sql(c, "BEGIN DEFERRED"),
        // A deferred BEGIN that turns to writing is refused at once when another writes; this waits instead.
        (DbConn::Sqlite(c), Begin::Write) => AnsiTransactionManager::begin_transaction_sql(c, "BEGIN IMMEDIATE"),
    }
}

fn finish<T, E: From<StoreError>>(c: &mut DbConn, f: impl FnOnce(&mut DbConn) -> Result<T, E>) -> Result<T, E> {
    type Manager = <DbConn as diesel::Connection>::TransactionManager;
    match f(c) {
        Ok(value) => {
            Manager::commit_transaction(c).map_err(StoreError::Db)?;
            Ok(value)
        }
        Err(e) => match Manager::rollback_transaction(c) {
            Ok(()) | Err(DbError::BrokenTransactionManager) => Err(e),
            Err(rollback) => Err(StoreError::Db(rollback).into()),
        },
    }
}
