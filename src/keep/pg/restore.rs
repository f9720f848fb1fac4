//! Putting a copy back in place of a book in PostgreSQL: restored into a database beside it, then both are renamed.

use super::scratch::Scratch;
use super::tools::Tools;
use super::{ENDING, bring_forward};
use crate::book::at::At;
use crate::book::server::Server;
use crate::config::Config;
use std::path::Path;

/// Puts a copy in place; what it replaces stays under another name on the same server. Returns what was done, a sentence a line.
///
/// # Errors
/// A sentence; the book is as it was then.
pub fn restore(config: &Config, url: &str, file: &Path, at: At) -> Result<Vec<String>, String> {
    if file.extension().is_none_or(|e| e != ENDING) {
        return Err(format!(
            "{} is no copy of a book in PostgreSQL (book-….{ENDING}). A whole book in JSON is read by `gambrel import`; a copy of an embedded \
             book is restored where it is embedded, and moved by `gambrel move`",
            file.display()
        ));
    }
    let server = Server::of(url)?;
    let name = server.name()?;
    let connected = server.others()?;
    if connected > 0 {
        return Err(format!(
            "{connected} others are connected to the database {name}: the book is being served. Stop Gambrel first, on every machine, then restore"
        ));
    }
    let tools = Tools::find(config, server.version()?)?;
    let scratch = Scratch::make(&server, at)?;
    tools.restore(scratch.server(), file)?;
    let rules = bring_forward(&scratch, file)?;
    let mut said = vec![format!("It was opened, brought up to date, and all {rules} rules hold in it.")];
    let short: String = name.chars().take(36).collect();
    let aside = format!("{short}_replaced_{}", at.utc().format("%Y%m%dt%H%M%Sz"));
    server.put_in_place(scratch.name(), &aside)?;
    scratch.keep();
    said.push(format!(
        "What was there before is kept as the database {aside} on the same server. When all is well, take it away with DROP DATABASE."
    ));
    said.push(format!("It is now the book in the database {name}."));
    Ok(said)
}
