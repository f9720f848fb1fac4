//! One connection type over both engines, chosen by URL when it is opened.

#![expect(missing_docs, reason = "the derive adds items of its own; ours are documented")]

use diesel::prelude::*;
use diesel::sqlite::SqliteConnection;
use std::path::{Path, PathBuf};

/// A connection to a book: PostgreSQL or embedded SQLite.
#[derive(diesel::MultiConnection)]
pub enum DbConn {
    #[cfg(feature = "postgres")]
    Pg(diesel::pg::PgConnection),
    Sqlite(SqliteConnection),
}

/// How long a write waits for other programs that write into the same book, in milliseconds.
pub(super) const PATIENCE: u32 = 10_000;

/// Runs a statement that only a concrete engine's connection type can carry; the body is compiled once per engine.
#[macro_export]
macro_rules! on_db {
    ($conn:expr, $c:ident => $body:expr) => {
        match $conn {
            #[cfg(feature = "postgres")]
            $crate::book::conn::DbConn::Pg($c) => $body,
            $crate::book::conn::DbConn::Sqlite($c) => $body,
        }
    };
}

/// Where a book is kept.
#[derive(Clone, PartialEq, Eq)]
pub enum Place {
    /// A SQLite file.
    File(PathBuf),
    /// A PostgreSQL database by URL; may hold a password, so it is never printed whole.
    #[cfg(feature = "postgres")]
    Postgres(String),
}

impl std::fmt::Debug for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.shown())
    }
}

impl Place {
    /// Reads a `DATABASE_URL`. Only `postgres://` and `postgresql://` are taken: a misspelt scheme must not make an empty book.
    ///
    /// # Errors
    /// A sentence that says what to write instead.
    pub fn from_url(url: &str) -> Result<Self, String> {
        let scheme = url.split_once("://").map(|(s, _)| s.to_ascii_lowercase());
        match scheme.as_deref() {
            #[cfg(feature = "postgres")]
            Some("postgres" | "postgresql") => Ok(Self::Postgres(url.to_string())),
            #[cfg(not(feature = "postgres"))]
            Some("postgres" | "postgresql") => {
                Err("this program was built without PostgreSQL; leave DATABASE_URL out to use the embedded book".into())
            }
            _ => Err(
                "DATABASE_URL must begin with postgres://; leave it out to use the embedded book in the data folder"
                    .into(),
            ),
        }
    }

    /// The embedded book in a data folder.
    pub fn in_folder(folder: &Path) -> Self {
        Self::File(folder.join("book.sqlite"))
    }

    /// Where the book is, without any password.
    pub fn shown(&self) -> String {
        match self {
            Self::File(path) => path.display().to_string(),
            #[cfg(feature = "postgres")]
            Self::Postgres(url) => {
                match url.split_once("://").and_then(|(s, rest)| rest.rsplit_once('@').map(|(_, host)| (s, host))) {
                    Some((scheme, host)) => format!("{scheme}://…@{}", host.split('?').next().unwrap_or(host)),
                    None => "postgres://…".into(),
                }
            }
        }
    }

    /// The file of an embedded book.
    pub fn file(&self) -> Option<&Path> {
        match self {
            Self::File(path) => Some(path),
            #[cfg(feature = "postgres")]
            Self::Postgres(_) => None,
        }
    }

    /// Whether it is the embedded engine.
    pub fn is_embedded(&self) -> bool {
        matches!(self, Self::File(_))
    }

    pub(super) fn connect(&self, read_only: bool) -> Result<DbConn, ConnectionError> {
        match self {
            Self::File(path) => {
                let mut c = SqliteConnection::establish(&path.to_string_lossy())?;
                // The busy timeout comes first: switching to WAL can itself meet a lock.
                let lane = if read_only { "PRAGMA query_only=ON;" } else { "" };
                c.batch_execute(&format!(
                    "PRAGMA busy_timeout={PATIENCE}; PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;
                     PRAGMA journal_size_limit=67108864; PRAGMA temp_store=MEMORY; PRAGMA trusted_schema=OFF; PRAGMA cache_size=-4096; {lane}"
                ))
                .map_err(ConnectionError::CouldntSetupConfiguration)?;
                Ok(DbConn::Sqlite(c))
            }
            #[cfg(feature = "postgres")]
            Self::Postgres(url) => {
                let mut c = diesel::pg::PgConnection::establish(url)?;
                let lane = if read_only { "SET default_transaction_read_only = on;" } else { "" };
                c.batch_execute(&format!("SET client_encoding = 'UTF8'; SET timezone = 'UTC'; {lane}"))
                    .map_err(ConnectionError::CouldntSetupConfiguration)?;
                Ok(DbConn::Pg(c))
            }
        }
    }
}
use diesel::connection::SimpleConnection;
