//! Whether a book is being served: those who serve it share a lock, a restore wants it alone.

#[cfg(feature = "postgres")]
use crate::book::conn::Place;
#[cfg(feature = "postgres")]
use crate::book::server::Server;
use crate::config::Config;
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

/// Held by whoever needs the book of these settings alone, until dropped. A book on a server is alone when nobody is connected.
///
/// # Errors
/// A sentence when the book is being served.
pub fn nobody_else(config: &Config) -> Result<File, String> {
    let held = alone(&config.data)?;
    #[cfg(feature = "postgres")]
    if let Place::Postgres(url) = &config.place {
        let server = Server::of(url)?;
        let others = server.others()?;
        if others > 0 {
            return Err(format!(
                "{others} others are connected to the database {}: the book is being served. Stop Gambrel first, on every machine, and try again",
                server.name()?
            ));
        }
    }
    Ok(held)
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
            Err("the book is being served at this moment; stop Gambrel first, and try again".into())
        }
        Err(TryLockError::Error(e)) => Err(format!("the data folder {} cannot be locked: {e}", data.display())),
    }
}
