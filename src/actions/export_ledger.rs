//! The ledger for a bookkeeper: as a table for spreadsheets, and as a journal in the general form of plain-text accounting.

use super::Failure;
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::ledger::read::{self, Shown};
use crate::trade::csv::{Cell, row};
use crate::trade::ledger::Account;
use crate::trade::money::Money;
use chrono::NaiveDate;
use std::fmt::Write;

const HEADINGS: [&str; 11] =
    ["Entry", "Day", "Act", "Customer", "Order", "Invoice", "Account", "Debit", "Credit", "Note", "Recorded by"];

/// A row for each line of each entry up to a day, oldest first.
///
/// # Errors
/// When the book cannot be read.
pub fn table(c: &mut DbConn, day: NaiveDate) -> Result<String, Failure> {
    let mut out = row(&HEADINGS.map(Cell::from));
    for shown in read::all(c, day)? {
        let e = &shown.entry;
        for line in &shown.lines {
            let side =
                |is_mine: bool, amount: Money| Cell::Figure(if is_mine { amount.plain() } else { String::new() });
            out.push_str(&row(&[
                Cell::Figure(e.id.to_string()),
                Cell::Figure(e.day.to_string()),
                e.kind.label().into(),
                shown.customer.as_str().into(),
                shown.order.clone().unwrap_or_default().into(),
                shown.invoice.clone().unwrap_or_default().into(),
                line.account.label().into(),
                side(line.amount.is_positive(), line.amount),
                side(!line.amount.is_positive(), line.amount.negated()),
                e.note.as_str().into(),
                e.actor.as_str().into(),
            ]));
        }
    }
    Ok(out)
}

/// The journal up to a day: the accounts are opened, every entry stands with its lines, and at the end each balance is stated,
/// so that the program that reads it can hold its own sums against ours.
///
/// # Errors
/// When the book cannot be read.
pub fn journal(c: &mut DbConn, day: NaiveDate) -> Result<String, Failure> {
    let farm = farm::get(c)?;
    let (balances, entries) = (read::balances(c, day)?, read::all(c, day)?);
    let mut out = format!("; Ledger up to and including {day}. Made by Gambrel.\n");
    let _ = writeln!(out, "option \"title\" {}", quoted(&farm.name));
    out.push_str("option \"operating_currency\" \"USD\"\n\n");
    let first = entries.first().map_or(day, |e| e.entry.day);
    for (account, _) in &balances {
        let _ = writeln!(out, "{first} open {} USD", account.journal_name());
    }
    for shown in &entries {
        out.push('\n');
        write_entry(&mut out, shown);
    }
    // A balance is stated for the beginning of a day, so for that after the last one.
    if let Some(after) = day.succ_opt() {
        out.push('\n');
        for (account, amount) in &balances {
            let _ = writeln!(out, "{after} balance {} {} USD", account.journal_name(), amount.plain());
        }
    }
    Ok(out)
}

fn write_entry(out: &mut String, shown: &Shown) {
    let e = &shown.entry;
    let mut says = e.kind.label().to_string();
    for part in [&shown.order.as_ref().map(|n| format!("order {n}")), &shown.invoice, &Some(e.note.clone())] {
        if let Some(part) = part.as_ref().filter(|p| !p.is_empty()) {
            says.push_str(", ");
            says.push_str(part);
        }
    }
    let _ = writeln!(out, "{} * {} {}", e.day, quoted(&shown.customer), quoted(&says));
    let _ = writeln!(out, "  entry: \"{}\"", e.id);
    let name = |account: Account| account.journal_name();
    let width = shown.lines.iter().map(|l| name(l.account).len()).max().unwrap_or(0);
    for line in &shown.lines {
        let _ = writeln!(out, "  {:width$}  {:>12} USD", name(line.account), line.amount.plain());
    }
}

/// A text between quotation marks, on one line.
fn quoted(text: &str) -> String {
    let one_line: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    format!("\"{}\"", one_line.replace('\\', "\\\\").replace('"', "\\\""))
}
