//! Lines of a bank's statement: read from a table ([`table`]) or an OFX file ([`ofx`]), known when they come again, and held against what
//! the book waits for ([`suggest`]).
//!
//! Pure: bytes in, lines out, or sentences saying what to do.

pub mod amount;
pub mod day;
pub mod ofx;
pub mod suggest;
pub mod table;

use super::fold::fold;
use super::money::Money;
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use chrono::NaiveDate;
use sha2::{Digest, Sha256};
use std::collections::HashMap;

/// The most characters that are kept of a line's words.
pub const LONGEST_WORDS: usize = 200;
/// The most characters that are kept of a check number or the bank's own reference.
pub const LONGEST_REFERENCE: usize = 60;

crate::words! {
    /// How the statements of an account come.
    pub enum Form {
        /// Tables with a line of headings.
        Csv = "csv", "CSV";
        /// Open Financial Exchange.
        Ofx = "ofx", "OFX";
    }
}

crate::words! {
    /// What a line of a statement is in the book.
    pub enum TieKind {
        /// A payment that came in.
        Payment = "payment", "Payment";
        /// Money given back, or a payment the bank returned.
        Refund = "refund", "Money given back";
        /// Money that came in and is not matched to a customer.
        Unmatched = "unmatched", "Not yet matched";
        /// Such money given back.
        GivenBack = "given_back", "Given back, not matched";
        /// A bank deposit slip.
        Slip = "slip", "Deposit slip";
        /// Nothing of this book.
        Aside = "aside", "Set aside";
    }
}

/// One line of a statement.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// The day the bank posted it.
    pub day: NaiveDate,
    /// Added to the account; below zero when taken off. Never zero.
    pub amount: Money,
    /// Who paid and what for, in the bank's words.
    pub words: String,
    /// The check's number or a reference of the bank's; may be empty.
    pub reference: String,
    /// The bank's own name of the line (the FITID of an OFX file), where it has one.
    pub id: Option<String>,
}

/// Words on one line with single blanks, shortened.
pub fn one_line(text: &str, longest: usize) -> String {
    let joined = text.split(|c: char| c.is_whitespace() || c.is_control()).filter(|w| !w.is_empty());
    joined.collect::<Vec<_>>().join(" ").chars().take(longest).collect()
}

fn sum(text: &str) -> String {
    URL_SAFE_NO_PAD.encode(Sha256::digest(text.as_bytes()))
}

/// What each of these lines is known by when it comes again, in the same order.
///
/// A line with the bank's own name is known by that and its amount: a bank that names two lines alike must not lose one. Any other is
/// known by its day, amount and words, and by how many such lines stand before it in the file; so two equal payments of a day are two,
/// and files that overlap in whole days give each line once.
pub fn keys(entries: &[Entry]) -> Vec<String> {
    let mut seen: HashMap<String, usize> = HashMap::new();
    entries
        .iter()
        .map(|e| match &e.id {
            Some(id) => sum(&format!("id\n{id}\n{}", e.amount.cents())),
            None => {
                let such = format!("line\n{}\n{}\n{}\n{}", e.day, e.amount.cents(), fold(&e.words), fold(&e.reference));
                let before = seen.entry(such.clone()).or_default();
                let key = sum(&format!("{such}\n{before}"));
                *before = before.saturating_add(1);
                key
            }
        })
        .collect()
}

#[cfg(test)]
mod tests;
