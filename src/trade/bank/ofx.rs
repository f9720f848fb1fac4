//! Statements in Open Financial Exchange: version 1 (SGML, where a value's closing tag may be left out) and version 2 (XML).
//!
//! Source: the OFX specification, versions 1.0.3, 1.6 and 2.3 (Financial Data Exchange), chapters 2 (structure), 3 (data types) and 11
//! (banking). Both are read the same way, tag by tag, because what is asked of a statement is flat: the account, and its transactions.
//! What is not known is passed over. Banks write this form carelessly, so tags may stand in any letters and order, and values may be empty.

use super::{Entry, LONGEST_REFERENCE, LONGEST_WORDS, one_line};
use crate::trade::money::Money;
use crate::trade::sheet_file::{Fault, decode};
use chrono::{Datelike, NaiveDate};

/// The most transactions of a file.
pub const MOST_LINES: usize = 50_000;
/// The longest value that is read; the specification has none longer than 255 characters in a transaction.
const LONGEST_VALUE: usize = 2_000;
/// The longest tag.
const LONGEST_TAG: usize = 64;

/// An account's statement.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Statement {
    /// The bank's number; empty for a card.
    pub bank: String,
    /// The account's number.
    pub account: String,
    /// "checking", "savings", "credit card"; may be empty.
    pub kind: String,
    /// Its transactions in the order of the file.
    pub entries: Vec<Entry>,
}

impl Statement {
    /// A name by which people know the account without its number being shown: "Checking ending in 6789".
    pub fn name(&self) -> String {
        let kind = if self.kind.is_empty() { "account".to_string() } else { self.kind.to_lowercase() };
        let mut letters = kind.chars();
        let kind: String = letters.next().map(|c| c.to_uppercase().chain(letters).collect()).unwrap_or_default();
        let last: Vec<char> = self.account.chars().filter(|c| c.is_alphanumeric()).collect();
        let last: String = last.iter().skip(last.len().saturating_sub(4)).collect();
        if last.is_empty() { kind } else { format!("{kind} ending in {last}") }
    }
}

/// Whether a text is meant to be OFX.
pub fn is_ofx(text: &str) -> bool {
    let begins: String = text.chars().take(4_000).collect::<String>().to_ascii_uppercase();
    begins.contains("<OFX>") || begins.trim_start().starts_with("OFXHEADER:")
}

/// A tag and the value behind it.
struct Token<'t> {
    name: String,
    closes: bool,
    value: &'t str,
}

/// The tags of a text, one after the other.
struct Tokens<'t> {
    rest: &'t str,
}

impl<'t> Iterator for Tokens<'t> {
    type Item = Token<'t>;
    fn next(&mut self) -> Option<Token<'t>> {
        loop {
            let (_, rest) = self.rest.split_once('<')?;
            // Comments, declarations, and values that are marked off as text.
            if let Some(rest) = rest.strip_prefix("!--") {
                self.rest = rest.split_once("-->").map_or("", |(_, r)| r);
                continue;
            }
            let Some((tag, after)) = rest.split_once('>') else {
                self.rest = "";
                return None;
            };
            if tag.starts_with(['?', '!']) || tag.len() > LONGEST_TAG {
                self.rest = after;
                continue;
            }
            let (closes, tag) = match tag.strip_prefix('/') {
                Some(tag) => (true, tag),
                None => (false, tag.strip_suffix('/').unwrap_or(tag)),
            };
            let name = tag.split_whitespace().next().unwrap_or("").to_ascii_uppercase();
            let (value, rest) = match after.trim_start().strip_prefix("<![CDATA[").and_then(|v| v.split_once("]]>")) {
                Some((value, rest)) => (value, rest),
                None => after.split_at(after.find('<').unwrap_or(after.len())),
            };
            self.rest = rest;
            return Some(Token { name, closes, value });
        }
    }
}

/// A value with its entities read.
fn read_value(value: &str) -> String {
    let value = value.trim();
    if !value.contains('&') {
        return value.chars().take(LONGEST_VALUE).collect();
    }
    let mut out = String::with_capacity(value.len());
    let mut rest = value;
    while let Some((before, after)) = rest.split_once('&') {
        out.push_str(before);
        let entity = after.split_once(';').filter(|(name, _)| name.len() <= 8);
        let read = entity.and_then(|(name, behind)| {
            let letter = match name {
                "amp" => '&',
                "lt" => '<',
                "gt" => '>',
                "quot" => '"',
                "apos" => '\'',
                "nbsp" => ' ',
                _ => char::from_u32(match name.strip_prefix('#')? {
                    n if n.starts_with(['x', 'X']) => u32::from_str_radix(n.get(1..)?, 16).ok()?,
                    n => n.parse().ok()?,
                })?,
            };
            Some((letter, behind))
        });
        match read {
            Some((letter, behind)) => {
                out.push(letter);
                rest = behind;
            }
            // "B&B" as careless programs write it.
            None => {
                out.push('&');
                rest = after;
            }
        }
    }
    out.push_str(rest);
    out.chars().take(LONGEST_VALUE).collect()
}

/// The day of an OFX instant, as it is written in its own zone: `20271014120000[-5:EST]`.
fn day(value: &str) -> Option<NaiveDate> {
    let digits = value.get(..8).filter(|d| d.bytes().all(|b| b.is_ascii_digit()))?;
    NaiveDate::parse_from_str(digits, "%Y%m%d").ok().filter(|d| (1990..2200).contains(&d.year()))
}

/// An OFX amount: a sign, digits, and a point or a comma before at most two decimals; never a mark for thousands.
fn amount(value: &str) -> Option<Money> {
    let value = value.trim();
    let plain = value.strip_prefix('+').unwrap_or(value).replace(',', ".");
    let tidy = match plain.split_once('.') {
        // Three decimals and more are allowed; what is not nothing would be lost.
        Some((whole, fraction)) if fraction.len() > 2 => {
            let (two, more) = fraction.split_at_checked(2)?;
            if more.bytes().any(|b| b != b'0') {
                return None;
            }
            format!("{whole}.{two}")
        }
        _ => plain,
    };
    Money::parse(tidy.trim_end_matches('.')).ok()
}

/// What stands in a transaction.
#[derive(Default)]
struct Transaction {
    posted: String,
    amount: String,
    id: String,
    check: String,
    reference: String,
    name: String,
    memo: String,
    /// Inside an account or an address within it, whose names are none of the transaction's.
    inner: Option<String>,
}

impl Transaction {
    fn set(&mut self, name: &str, value: String) {
        let field = match name {
            "DTPOSTED" => &mut self.posted,
            "TRNAMT" => &mut self.amount,
            "FITID" => &mut self.id,
            "CHECKNUM" => &mut self.check,
            "REFNUM" => &mut self.reference,
            "NAME" => &mut self.name,
            "MEMO" => &mut self.memo,
            _ => return,
        };
        if field.is_empty() {
            *field = value;
        }
    }

    /// The entry; none for one of nothing.
    fn entry(&self, n: usize) -> Result<Option<Entry>, Fault> {
        let fault = |says: String| Fault::whole(format!("Transaction {n} of the file: {says}"));
        let Some(amount) = amount(&self.amount) else {
            return Err(fault(format!("“{}” is not an amount.", crate::trade::sheet_file::shortened(&self.amount))));
        };
        let Some(day) = day(&self.posted) else {
            return Err(fault(format!("“{}” is not a day.", crate::trade::sheet_file::shortened(&self.posted))));
        };
        if amount.is_zero() {
            return Ok(None);
        }
        let same = self.memo.is_empty() || self.memo == self.name;
        let words = if same { self.name.clone() } else { format!("{} {}", self.name, self.memo) };
        let check = self.check.trim_start_matches('0');
        let reference = if check.is_empty() { &self.reference } else { check };
        Ok(Some(Entry {
            day,
            amount,
            words: one_line(&words, LONGEST_WORDS),
            reference: one_line(reference, LONGEST_REFERENCE),
            id: (!self.id.is_empty()).then(|| self.id.clone()),
        }))
    }
}

/// The statements of a file's bytes.
///
/// # Errors
/// A [`Fault`] saying what to do when it is no OFX, has no statement of an account in dollars, or is larger than is read.
pub fn from_bytes(bytes: &[u8]) -> Result<Vec<Statement>, Fault> {
    read(&decode(bytes)?.0)
}

/// The statements of a decoded text.
///
/// # Errors
/// As [`from_bytes`].
pub fn read(text: &str) -> Result<Vec<Statement>, Fault> {
    if !is_ofx(text) {
        return Err(Fault::whole("This is no OFX file. Ask the bank’s page for OFX, or for CSV."));
    }
    let mut statements: Vec<Statement> = Vec::new();
    let mut now: Option<Transaction> = None;
    let mut in_account = false;
    let mut counted = 0_usize;
    for Token { name, closes, value } in (Tokens { rest: text }) {
        let is_statement = matches!(name.as_str(), "STMTRS" | "CCSTMTRS");
        let ends_transaction = name == "STMTTRN" || (closes && (is_statement || name == "BANKTRANLIST"));
        if ends_transaction && let Some(done) = now.take() {
            counted = counted.saturating_add(1);
            if counted > MOST_LINES {
                return Err(Fault::whole(format!(
                    "The file has more than {MOST_LINES} transactions. Ask the bank for a shorter time."
                )));
            }
            if let (Some(entry), Some(statement)) = (done.entry(counted)?, statements.last_mut()) {
                statement.entries.push(entry);
            }
        }
        match (name.as_str(), closes) {
            ("STMTRS" | "CCSTMTRS", false) => {
                let kind = if name == "CCSTMTRS" { "credit card" } else { "" };
                statements.push(Statement { kind: kind.into(), ..Statement::default() });
            }
            ("STMTTRN", false) if !statements.is_empty() => now = Some(Transaction::default()),
            ("BANKACCTFROM" | "CCACCTFROM", closes) => in_account = !closes,
            ("CURDEF", false) if !read_value(value).eq_ignore_ascii_case("USD") => {
                let says = format!(
                    "This account is kept in {}. Only accounts in US dollars are read.",
                    crate::trade::sheet_file::shortened(&read_value(value))
                );
                return Err(Fault::whole(says));
            }
            (tag, closes) => match (&mut now, statements.last_mut()) {
                (Some(t), _) => match &t.inner {
                    Some(inner) if closes && inner == tag => t.inner = None,
                    Some(_) => {}
                    None if !closes && matches!(tag, "BANKACCTTO" | "CCACCTTO" | "EXTDPAYEE") => {
                        t.inner = Some(tag.to_string())
                    }
                    None if !closes => t.set(tag, read_value(value)),
                    None => {}
                },
                (None, Some(s)) if in_account && !closes => match tag {
                    "BANKID" => s.bank = read_value(value),
                    "ACCTID" => s.account = read_value(value),
                    "ACCTTYPE" => s.kind = read_value(value).to_lowercase(),
                    _ => {}
                },
                _ => {}
            },
        }
    }
    if now.is_some() {
        return Err(Fault::whole(
            "The file breaks off in the middle of a transaction. Fetch it from the bank once more.",
        ));
    }
    statements.retain(|s| !s.account.is_empty() || !s.entries.is_empty());
    if statements.is_empty() {
        return Err(Fault::whole(
            "No statement of an account is in this file. Ask the bank’s page for the account’s transactions.",
        ));
    }
    Ok(statements)
}
