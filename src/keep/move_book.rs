//! A book from one place to another, SQLite or PostgreSQL, without a file between (`gambrel move`).
//!
//! What is moved goes through a pipe: the writer of the whole book at one end, its reader at the other.

use super::whole::{self, Done};
use crate::book::at::At;
use crate::book::content;
use crate::book::store::Store;
use crate::book::whole::Trouble;
use std::io::BufWriter;
use std::sync::{Mutex, PoisonError};

/// Moves what is in one open book into another, empty one, checks every rule there, and holds the sums of both against each
/// other. The book it comes from is not changed.
///
/// # Errors
/// A sentence; the other book is empty as before then.
pub fn move_into(from: &Store, to: &Store, at: At) -> Result<Done, String> {
    let (reader, writer) = std::io::pipe().map_err(|e| format!("no pipe could be had: {e}"))?;
    let reader = Mutex::new(Some(reader));
    let (written, moved) = std::thread::scope(|scope| {
        let writing = scope.spawn(move || whole::write(from, at, true, &mut BufWriter::with_capacity(1 << 16, writer)));
        let moved = to.write(|tx| {
            // The pipe can be read once; a database that wants it again is one where somebody else is at work.
            let reader = reader.lock().unwrap_or_else(PoisonError::into_inner).take();
            let reader = reader.ok_or_else(|| {
                Trouble::Said("the other database was written by somebody else in between; nothing was moved".into())
            })?;
            whole::read(tx, reader)
        });
        (writing.join(), moved)
    });
    // The reader's trouble comes first: what it leaves unread breaks the pipe of the writer.
    let moved = moved.map_err(|e| e.to_string())?;
    let written = written.map_err(|_| "the book could not be read to its end".to_string())??;
    let here = from.read(|c| Ok::<_, Trouble>(content::sums(c)?)).map_err(|e| e.to_string())?;
    let there = to.read(|c| Ok::<_, Trouble>(content::sums(c)?)).map_err(|e| e.to_string())?;
    if here != written.sums {
        return Err("the book was written while it was moved; the other one is not the same. Stop Gambrel, empty the other database, and \
                    move again"
            .into());
    }
    match content::first_difference(&here, &there) {
        None => Ok(moved),
        Some(differs) => Err(format!("the other book is not the same: {differs}. Keep to the one you have")),
    }
}
