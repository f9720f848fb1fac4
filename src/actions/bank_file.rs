//! A bank's statement on its way into the book: its lines are kept once each, and nothing is booked by that.

use super::{Doing, Failure, Problems};
use crate::book::at::At;
use crate::book::bank;
use crate::book::conn::DbConn;
use crate::book::ids::{BankAccountId, BankUploadId};
use crate::book::rows::bank::{BankAccount, BankUpload, NewBankAccount, NewBankFile, NewBankLine, NewBankUpload};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::secret;
use crate::trade::bank::table::{self, Lines};
use crate::trade::bank::{Entry, Form, keys, ofx};
use crate::trade::sheet_file::columns::{Known, Matched, remember, remembered};
use crate::trade::sheet_file::{Fault, Table, decode};
use std::collections::HashSet;

/// How long a table waits for its columns: a day, in milliseconds.
const KEPT: i64 = 24 * 60 * 60 * 1000;
/// Faults that are told at once.
const TOLD: usize = 5;

fn refused(field: &str, fault: &Fault) -> Failure {
    Failure::refuse(field, fault.sentence())
}

/// A file as it was read, before anything is kept.
#[derive(Debug, Clone)]
pub enum Opened {
    /// A table: its text.
    Table(String),
    /// Statements in OFX.
    Ofx(Vec<ofx::Statement>),
}

/// Reads a file's bytes. It may take a moment: not in a transaction.
///
/// # Errors
/// [`Failure::Refused`] about the field `file` when it is neither.
pub fn open(bytes: &[u8]) -> Result<Opened, Failure> {
    let (text, _) = decode(bytes).map_err(|f| refused("file", &f))?;
    if ofx::is_ofx(&text) {
        return ofx::read(&text).map(Opened::Ofx).map_err(|f| refused("file", &f));
    }
    Table::read(&text).map_err(|f| refused("file", &f))?;
    Ok(Opened::Table(text))
}

/// Which account a statement is of.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Of {
    /// One that is there.
    Known(BankAccountId),
    /// A new one with this name.
    New(String),
}

/// What was kept of a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Taken {
    /// Its lines.
    pub lines: usize,
    /// How many of them were new.
    pub new: usize,
}

/// What became of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Sent {
    /// Its lines are kept.
    Taken(Taken),
    /// Somebody has to say which column is which.
    Columns(BankUploadId),
}

/// The account, made when it is new.
fn account(tx: &mut Tx, doing: &Doing, of: &Of) -> Result<BankAccount, Failure> {
    match of {
        Of::Known(id) => Ok(bank::account(tx.conn(), *id)?),
        Of::New(name) => {
            let name = name.trim();
            if name.is_empty() {
                return Err(Failure::refuse("name", "Write a name for the account, such as “Farm checking”"));
            }
            if let Some(same) = bank::accounts(tx.conn())?.into_iter().find(|a| a.name == name) {
                return Ok(same);
            }
            let new = NewBankAccount { name: name.to_string(), known: None, made_at: doing.now.at };
            let id = bank::add_account(tx, &new)?;
            Ok(bank::account(tx.conn(), id)?)
        }
    }
}

/// An account's statements come in one form, because one line looks different in the two and would be taken twice.
fn in_form(account: &BankAccount, form: Form) -> Result<(), Failure> {
    match account.form {
        Some(other) if other != form => Err(Failure::refuse(
            "file",
            format!(
                "Statements of “{}” came as {} so far, and the same lines would be taken twice. Ask the bank for {}, or give this one an account of its own.",
                account.name,
                other.label(),
                other.label()
            ),
        )),
        _ => Ok(()),
    }
}

/// Keeps the lines of a file that [`open`] read, or the file itself until its columns are matched.
///
/// # Errors
/// [`Failure::Refused`] when the account takes another form, or lines cannot be read.
pub fn send(tx: &mut Tx, doing: &Doing, of: &Of, name: &str, opened: &Opened) -> Result<Sent, Failure> {
    let name = if name.is_empty() { "statement" } else { name };
    match opened {
        Opened::Ofx(statements) => {
            let mut all = Taken::default();
            for statement in statements {
                let account = of_statement(tx, doing, of, statement, statements.len() == 1)?;
                let taken = keep(tx, doing, &account, name, &statement.entries)?;
                all.lines = all.lines.saturating_add(taken.lines);
                all.new = all.new.saturating_add(taken.new);
            }
            Ok(Sent::Taken(all))
        }
        Opened::Table(text) => {
            let account = account(tx, doing, of)?;
            in_form(&account, Form::Csv)?;
            let new = NewBankUpload {
                account_id: account.id,
                name: name.to_string(),
                content: text.clone(),
                made_at: doing.now.at,
            };
            let id = bank::add_upload(tx, &new, At(doing.now.at.0.saturating_sub(KEPT)))?;
            let waiting = look(tx.conn(), id)?;
            if waiting.is_matched && waiting.lines.faults.is_empty() {
                return Ok(Sent::Taken(take(tx, doing, &waiting)?));
            }
            Ok(Sent::Columns(id))
        }
    }
}

/// The account an OFX statement names; the one chosen on the page, when it is the only one and nobody knows it yet.
fn of_statement(
    tx: &mut Tx,
    doing: &Doing,
    of: &Of,
    statement: &ofx::Statement,
    is_alone: bool,
) -> Result<BankAccount, Failure> {
    let known = secret::hash(&format!("{}\n{}\n{}", statement.bank, statement.account, statement.kind));
    let all = bank::accounts(tx.conn())?;
    if let Some(same) = all.iter().find(|a| a.known.as_deref() == Some(known.as_str())) {
        return Ok(same.clone());
    }
    let chosen = match of {
        Of::Known(_) if is_alone => of.clone(),
        Of::New(name) if is_alone && !name.trim().is_empty() => of.clone(),
        _ => Of::New(statement.name()),
    };
    let account = account(tx, doing, &chosen)?;
    in_form(&account, Form::Ofx)?;
    if account.known.is_some() {
        return Err(Failure::refuse(
            "account",
            format!("The file is of another account than “{}”. Choose “Another account”.", account.name),
        ));
    }
    bank::set_form(tx, account.id, Form::Ofx, Some(&known))?;
    Ok(bank::account(tx.conn(), account.id)?)
}

/// Keeps the lines that the account does not have yet.
fn keep(tx: &mut Tx, doing: &Doing, account: &BankAccount, name: &str, entries: &[Entry]) -> Result<Taken, Failure> {
    let (Some(first), Some(last)) = (entries.iter().map(|e| e.day).min(), entries.iter().map(|e| e.day).max()) else {
        return Ok(Taken::default());
    };
    let keys = keys(entries);
    let mut known: HashSet<String> = bank::known_keys(tx.conn(), account.id, &keys)?;
    // The bank's own name twice in one file is one line.
    let new: Vec<(&String, &Entry)> =
        keys.iter().zip(entries).filter(|(key, _)| known.insert((*key).clone())).collect();
    let taken = Taken { lines: entries.len(), new: new.len() };
    let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    let file = bank::add_file(
        tx,
        &NewBankFile {
            account_id: account.id,
            name: name.to_string(),
            first_on: first,
            last_on: last,
            line_count: count(taken.lines),
            new_count: count(taken.new),
            taken_by: doing.actor.clone(),
            taken_at: doing.now.at,
        },
    )?;
    let lines: Vec<NewBankLine> = new
        .into_iter()
        .map(|(key, e)| NewBankLine {
            account_id: account.id,
            file_id: file,
            line_key: key.clone(),
            day: e.day,
            amount: e.amount,
            words: e.words.clone(),
            reference: e.reference.clone(),
        })
        .collect();
    bank::add_lines(tx, &lines)?;
    let line = format!("A statement of {} was read: {} of {} lines were new", account.name, taken.new, taken.lines);
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(taken)
}

/// A table that waits, as its columns make it.
#[derive(Debug, Clone)]
pub struct Waiting {
    /// The file.
    pub upload: BankUpload,
    /// Its account.
    pub account: BankAccount,
    /// Its table.
    pub table: Table,
    /// What was matched for such headings before, else what the headings suggest.
    pub columns: Matched,
    /// Whether somebody matched them.
    pub is_matched: bool,
    /// Its lines, when the columns can be read so.
    pub lines: Lines,
}

fn known(account: &BankAccount) -> Vec<Known> {
    // What an older Gambrel wrote and this one cannot read is matched anew.
    serde_json::from_str(&account.matched).unwrap_or_default()
}

/// Opens a table that waits.
///
/// # Errors
/// [`Failure::NotFound`] when it was taken or forgotten.
pub fn look(c: &mut DbConn, id: BankUploadId) -> Result<Waiting, Failure> {
    let upload = bank::upload(c, id)?;
    let account = bank::account(c, upload.account_id)?;
    let table = Table::read(&upload.content).map_err(|f| refused("", &f))?;
    let before = known(&account);
    let matched = remembered(&before, &table.headings);
    let matched = matched.filter(|m| table::mismatched(&table, m).is_empty()).cloned();
    let is_matched = matched.is_some();
    let columns = matched.unwrap_or_else(|| table::guessed(&table.headings));
    let lines = if is_matched { table::read(&table, &columns) } else { Lines::default() };
    Ok(Waiting { upload, account, table, columns, is_matched, lines })
}

/// Remembers which column is which, and keeps the lines.
///
/// # Errors
/// [`Failure::Refused`] with a sentence for each field (by its word) that cannot be so, or for lines that cannot be read.
pub fn match_and_take(tx: &mut Tx, doing: &Doing, id: BankUploadId, columns: &Matched) -> Result<Taken, Failure> {
    let mut waiting = look(tx.conn(), id)?;
    let mut problems = Problems::default();
    for (field, says) in table::mismatched(&waiting.table, columns) {
        problems.add(field.as_str(), says);
    }
    problems.check()?;
    waiting.lines = table::read(&waiting.table, columns);
    let taken = take(tx, doing, &waiting)?;
    let all = remember(known(&waiting.account), &waiting.table.headings, columns.clone());
    let document = serde_json::to_string(&all).map_err(|e| Failure::Unexpected(e.to_string()))?;
    bank::set_matched(tx, waiting.account.id, &document)?;
    Ok(taken)
}

fn take(tx: &mut Tx, doing: &Doing, waiting: &Waiting) -> Result<Taken, Failure> {
    let mut problems = Problems::default();
    for fault in waiting.lines.faults.iter().take(TOLD) {
        problems.add("", fault.sentence());
    }
    let more = waiting.lines.faults.len().saturating_sub(TOLD);
    if more > 0 {
        problems.add("", format!("{more} more lines cannot be read. Are the columns the right ones?"));
    }
    problems.check()?;
    if waiting.lines.entries.is_empty() {
        return Err(Failure::refuse("", "No line of this file has an amount. Are the columns the right ones?"));
    }
    in_form(&waiting.account, Form::Csv)?;
    let taken = keep(tx, doing, &waiting.account, &waiting.upload.name, &waiting.lines.entries)?;
    bank::set_form(tx, waiting.account.id, Form::Csv, None)?;
    bank::remove_upload(tx, waiting.upload.id)?;
    Ok(taken)
}
