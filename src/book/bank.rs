//! Accounts at a bank, their statements, and what each line is in the book.

use super::at::At;
use super::conn::DbConn;
use super::ids::{BankAccountId, BankFileId, BankLineId, BankUploadId};
use super::rows::bank::{
    BankAccount, BankFile, BankLine, BankTie, BankUpload, NewBankAccount, NewBankFile, NewBankLine, NewBankUpload,
};
use super::schema::{bank_account, bank_file, bank_line, bank_tie, bank_upload};
use super::store::Tx;
use crate::trade::bank::{Form, TieKind};
use crate::trade::money::Money;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashSet;

/// Keys asked for in one query.
const CHUNK: usize = 500;

/// Every account, by name.
///
/// # Errors
/// The database's own.
pub fn accounts(c: &mut DbConn) -> QueryResult<Vec<BankAccount>> {
    bank_account::table.order((bank_account::name, bank_account::id)).select(BankAccount::as_select()).load(c)
}

/// One account.
///
/// # Errors
/// `NotFound` when there is none.
pub fn account(c: &mut DbConn, id: BankAccountId) -> QueryResult<BankAccount> {
    bank_account::table.find(id).select(BankAccount::as_select()).first(c)
}

/// Adds an account.
///
/// # Errors
/// The database's own.
pub fn add_account(tx: &mut Tx, new: &NewBankAccount) -> QueryResult<BankAccountId> {
    diesel::insert_into(bank_account::table).values(new.clone()).returning(bank_account::id).get_result(tx.conn())
}

/// Writes down how an account's statements come, and by what an OFX file names it.
///
/// # Errors
/// The database's own.
pub fn set_form(tx: &mut Tx, id: BankAccountId, form: Form, known: Option<&str>) -> QueryResult<()> {
    diesel::update(bank_account::table.find(id))
        .set((bank_account::form.eq(Some(form)), bank_account::known.eq(known.map(String::from))))
        .execute(tx.conn())?;
    Ok(())
}

/// Remembers which column is which in an account's tables.
///
/// # Errors
/// The database's own.
pub fn set_matched(tx: &mut Tx, id: BankAccountId, matched: &str) -> QueryResult<()> {
    diesel::update(bank_account::table.find(id))
        .set(bank_account::matched.eq(matched.to_string()))
        .execute(tx.conn())?;
    Ok(())
}

/// Keeps a table until its columns are matched, and forgets those from before `before`.
///
/// # Errors
/// The database's own.
pub fn add_upload(tx: &mut Tx, new: &NewBankUpload, before: At) -> QueryResult<BankUploadId> {
    let c = tx.conn();
    diesel::delete(bank_upload::table.filter(bank_upload::made_at.lt(before))).execute(c)?;
    let of_account = bank_upload::table.filter(bank_upload::account_id.eq(new.account_id));
    diesel::delete(of_account).execute(c)?;
    diesel::insert_into(bank_upload::table).values(new.clone()).returning(bank_upload::id).get_result(c)
}

/// A table that waits.
///
/// # Errors
/// `NotFound` when it was taken or forgotten.
pub fn upload(c: &mut DbConn, id: BankUploadId) -> QueryResult<BankUpload> {
    bank_upload::table.find(id).select(BankUpload::as_select()).first(c)
}

/// Forgets a table.
///
/// # Errors
/// The database's own.
pub fn remove_upload(tx: &mut Tx, id: BankUploadId) -> QueryResult<()> {
    diesel::delete(bank_upload::table.find(id)).execute(tx.conn())?;
    Ok(())
}

/// Writes down that a statement was read.
///
/// # Errors
/// The database's own.
pub fn add_file(tx: &mut Tx, new: &NewBankFile) -> QueryResult<BankFileId> {
    diesel::insert_into(bank_file::table).values(new.clone()).returning(bank_file::id).get_result(tx.conn())
}

/// The latest statements with the names of their accounts, newest first.
///
/// # Errors
/// The database's own.
pub fn files(c: &mut DbConn, limit: i64) -> QueryResult<Vec<(BankFile, String)>> {
    bank_file::table
        .inner_join(bank_account::table)
        .order(bank_file::id.desc())
        .limit(limit)
        .select((BankFile::as_select(), bank_account::name))
        .load(c)
}

/// Which of these keys an account has already.
///
/// # Errors
/// The database's own.
pub fn known_keys(c: &mut DbConn, id: BankAccountId, keys: &[String]) -> QueryResult<HashSet<String>> {
    let mut known = HashSet::new();
    for some in keys.chunks(CHUNK) {
        let found: Vec<String> = bank_line::table
            .filter(bank_line::account_id.eq(id))
            .filter(bank_line::line_key.eq_any(some.to_vec()))
            .select(bank_line::line_key)
            .load(c)?;
        known.extend(found);
    }
    Ok(known)
}

/// Adds lines.
///
/// # Errors
/// The database's own; a unique violation when a line is there already.
pub fn add_lines(tx: &mut Tx, lines: &[NewBankLine]) -> QueryResult<()> {
    for line in lines {
        diesel::insert_into(bank_line::table).values(line.clone()).execute(tx.conn())?;
    }
    Ok(())
}

/// One line.
///
/// # Errors
/// `NotFound` when there is none.
pub fn line(c: &mut DbConn, id: BankLineId) -> QueryResult<BankLine> {
    bank_line::table.find(id).select(BankLine::as_select()).first(c)
}

/// Where a page of lines begins: after (that is, older than) this one.
pub type Key = (NaiveDate, BankLineId);

/// The lines nobody said anything about yet, newest first, a page by key.
///
/// # Errors
/// The database's own.
pub fn untied(c: &mut DbConn, before: Option<Key>, limit: i64) -> QueryResult<Vec<BankLine>> {
    let mut query =
        bank_line::table.left_join(bank_tie::table).filter(bank_tie::line_id.nullable().is_null()).into_boxed();
    if let Some((day, id)) = before {
        query = query.filter(bank_line::day.lt(day).or(bank_line::day.eq(day).and(bank_line::id.lt(id))));
    }
    query.order((bank_line::day.desc(), bank_line::id.desc())).limit(limit).select(BankLine::as_select()).load(c)
}

/// How many lines nobody said anything about yet: added to the account, and taken off.
///
/// # Errors
/// The database's own.
pub fn count_untied(c: &mut DbConn) -> QueryResult<(i64, i64)> {
    let open = || bank_line::table.left_join(bank_tie::table).filter(bank_tie::line_id.nullable().is_null());
    let added = open().filter(bank_line::amount.gt(Money::ZERO)).count().get_result(c)?;
    let taken_off = open().filter(bank_line::amount.lt(Money::ZERO)).count().get_result(c)?;
    Ok((added, taken_off))
}

/// The lines that are something, newest first, a page by key.
///
/// # Errors
/// The database's own.
pub fn tied(c: &mut DbConn, before: Option<Key>, limit: i64) -> QueryResult<Vec<(BankLine, BankTie)>> {
    let mut query = bank_line::table.inner_join(bank_tie::table).into_boxed();
    if let Some((day, id)) = before {
        query = query.filter(bank_line::day.lt(day).or(bank_line::day.eq(day).and(bank_line::id.lt(id))));
    }
    query
        .order((bank_line::day.desc(), bank_line::id.desc()))
        .limit(limit)
        .select((BankLine::as_select(), BankTie::as_select()))
        .load(c)
}

/// What a line is, if that was said.
///
/// # Errors
/// The database's own.
pub fn tie_of(c: &mut DbConn, id: BankLineId) -> QueryResult<Option<BankTie>> {
    bank_tie::table.find(id).select(BankTie::as_select()).first(c).optional()
}

/// The line that a payment, money not matched (of this kind) or slip is tied to.
///
/// # Errors
/// The database's own.
pub fn tied_to(c: &mut DbConn, tie: &BankTie) -> QueryResult<Option<BankLineId>> {
    let mut query = bank_tie::table.select(bank_tie::line_id).into_boxed();
    query = match tie.kind {
        TieKind::Payment | TieKind::Refund => query.filter(bank_tie::payment_id.eq(tie.payment_id)),
        TieKind::Unmatched | TieKind::GivenBack => {
            query.filter(bank_tie::unmatched_id.eq(tie.unmatched_id)).filter(bank_tie::kind.eq(tie.kind))
        }
        TieKind::Slip => query.filter(bank_tie::slip_id.eq(tie.slip_id)),
        TieKind::Aside => return Ok(None),
    };
    query.first(c).optional()
}

/// Says what a line is.
///
/// # Errors
/// The database's own.
pub fn tie(tx: &mut Tx, row: &BankTie) -> QueryResult<()> {
    diesel::insert_into(bank_tie::table).values(row.clone()).execute(tx.conn())?;
    Ok(())
}

/// Takes back what was said of a line; whether anything was.
///
/// # Errors
/// The database's own.
pub fn untie(tx: &mut Tx, id: BankLineId) -> QueryResult<bool> {
    Ok(diesel::delete(bank_tie::table.find(id)).execute(tx.conn())? == 1)
}
