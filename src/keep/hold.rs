//! Whether a book is being served: those who serve it share a lock, a restore wants it alone.

use std::fs::{File, TryLockError};
use std::path::Path;

fn file(data: &Path) -> Result<File, String> {
    std::fs::create_dir_all(data).map_err(|e| format!("the data folder {} cannot be made: {e}", data.display()))?;
    let path = data.join("serving.lock");
    let opened = File::options().create(true).truncate(false).write(true).open(&path);
    opened.map_err(|e| format!("{} cannot be written: {e}", path.display()))
}

/// Held by a program that serves the book of a data folder, until dropped.
///
/// # Errors
/// A sentence; also when a restore is at work.
pub fn serving(data: &Path) -> Result<File, String> {
    let file = file(data)?;
    match file.try_lock_shared() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => {
            Err("the book is being restored at this moment; start again when that is done".into())
        }
        Err(TryLockError::Error(e)) => Err(format!("the data folder {} cannot be locked: {e}", data.display())),
    }
}

/// Held by a restore, until dropped.
///
/// # Errors
/// A sentence when the book is being served.
pub fn alone(data: &Path) -> Result<File, String> {
    let file = file(data)?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => {
            Err("the book is being served at this moment; stop Gambrel first, then restore".into())
        }
        Err(TryLockError::Error(e)) => Err(format!("the data folder {} cannot be locked: {e}", data.display())),
    }
}
