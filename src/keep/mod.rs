//! Copies of the book that are known to work.
//!
//! A copy is made by the engine's own snapshot, opened again, held against what the book held at that moment row by row,
//! put through `gambrel check`, and only then gets its name and its record. A copy without a record is not one.
//!
//! ```text
//! backups/
//!   book-20271014T180000Z.sqlite   the copy, an ordinary book
//!   book-20271014T180000Z.json     its record: when, why, how large, SHA-256, what each table holds, when it was verified
//!   book-20271014T180000Z.pgdump   of a book in PostgreSQL: what pg_dump writes, opened again by pg_restore
//!   last-failure.json              why the last try failed; gone after the next good one
//! ```

pub mod copy;
pub mod daily;
pub mod folder;
pub mod hold;
pub mod move_book;
#[cfg(feature = "postgres")]
pub mod pg;
pub mod record;
pub mod restore;
pub mod rotate;
pub mod verify;
pub mod whole;

/// A day in milliseconds.
pub(crate) const DAY: i64 = 86_400_000;
/// From this age on, in milliseconds, the last verified copy is too old: 48 hours.
pub const TOO_OLD: i64 = 2 * DAY;
