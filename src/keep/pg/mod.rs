//! Copies of a book in PostgreSQL: by pg_dump, opened again by pg_restore in a database that is made for it and taken away.

mod restore;
mod scratch;
mod tools;

pub use restore::restore;

use super::record::Why;
use super::verify::{Rules, all_hold, verify_in};
use crate::book::at::At;
use crate::book::migrate;
use crate::book::server::Server;
use crate::book::snapshot::Taken;
use crate::config::Config;
use scratch::Scratch;
use std::path::Path;
use tools::Tools;

/// The ending of such a copy.
pub const ENDING: &str = "pgdump";

/// Copies the book into a new file and verifies it. Readers and writers of the book go on meanwhile.
///
/// # Errors
/// A sentence.
pub fn take(config: &Config, url: &str, part: &Path, at: At, why: Why) -> Result<(Taken, Rules), String> {
    let server = Server::of(url)?;
    let tools = Tools::find(config, server.version()?)?;
    Scratch::sweep(&server, at)?;
    let taken = server.in_snapshot(|snapshot| tools.dump(&server, snapshot, part))?;
    let scratch = Scratch::make(&server, at)?;
    tools.restore(scratch.server(), part)?;
    let shown = part.display().to_string();
    let mut c = scratch.open()?;
    let mut rules = verify_in(&mut c, &taken, &shown)?;
    // Before an upgrade the copy must also come through it: the book is not touched when it does not.
    if why == Why::BeforeUpgrade {
        let rehearsed = migrate::migrate(&mut c).and_then(|()| all_hold(&mut c, &shown));
        let looked_at = rehearsed.map_err(|e| {
            format!("the upgrade was rehearsed on a copy and failed, so the book was left as it is: {e}")
        })?;
        rules = Rules { looked_at, fault: None };
    }
    Ok((taken, rules))
}

/// Rehearses a restore of a copy: into a database that is made for it, brought up to date there, every rule checked. Returns how
/// many rules hold.
///
/// # Errors
/// A sentence.
pub fn rehearse(config: &Config, url: &str, copy: &Path, at: At) -> Result<usize, String> {
    let server = Server::of(url)?;
    let tools = Tools::find(config, server.version()?)?;
    let scratch = Scratch::make(&server, at)?;
    tools.restore(scratch.server(), copy)?;
    bring_forward(&scratch, copy)
}

/// Brings a database that was restored up to date and checks every rule. Returns how many rules hold.
fn bring_forward(scratch: &Scratch, copy: &Path) -> Result<usize, String> {
    let mut c = scratch.open()?;
    migrate::migrate(&mut c)?;
    all_hold(&mut c, &copy.display().to_string())
}
