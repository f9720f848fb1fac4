//! Filling an empty book from a file: every table that the file's steps have, every row, compared with the file's sums.

use super::read::{Named, Take, read};
use super::{Head, Trouble, empty};
use crate::book::conn::DbConn;
use crate::book::content::{self, Column, Kind, Sum, Table, quoted};
use crate::book::migrate;
use crate::book::store::Tx;
use chrono::NaiveDate;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};
use serde_json::Value;
use std::io::Read;

/// Rows that are written at once, at most.
const AT_ONCE: usize = 500;
/// Letters that are written at once, at most but for one row.
const LETTERS: usize = 1 << 19;

/// What was read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Filled {
    /// What the file said of itself.
    pub head: Head,
    /// What each table holds now, as the file said, at the file's steps.
    pub sums: Vec<Sum>,
}

/// Fills an empty book with what a file holds, at the steps the file has; bring the tables up to date afterwards, in the same
/// transaction. Refuses a book that is not empty.
///
/// # Errors
/// The database's own; a sentence that says what is wrong with the file or the book.
pub fn fill(tx: &mut Tx, from: impl Read) -> Result<Filled, Trouble> {
    let c = tx.conn();
    empty::refuse_unless_empty(c)?;
    let mut filling = Filling { c, head: None, tables: Vec::new(), now: None, told: Vec::new() };
    read(from, &mut filling)?;
    let Filling { head, tables, told, .. } = filling;
    let head = head.ok_or_else(|| Trouble::Said("the file has no head".into()))?;
    if let Some(missing) = tables.first() {
        return Err(Trouble::Said(format!("the file does not hold the table {}", missing.name)));
    }
    let sums = content::sums(tx.conn())?;
    for (name, rows, sha256) in told {
        let Some(sum) = sums.iter().find(|s| s.table == name) else { continue };
        if rows.is_some_and(|rows| rows != sum.rows) {
            return Err(Trouble::Said(format!(
                "the file says that the table {name} has {} rows, and {} were read; it is not whole",
                rows.unwrap_or_default(),
                sum.rows
            )));
        }
        if sha256.is_some_and(|s| s != sum.fingerprint) {
            return Err(Trouble::Said(format!(
                "the table {name} does not add up to what the file says (sha256): the file was changed after it was written"
            )));
        }
    }
    Ok(Filled { head, sums })
}

/// The table that is being read.
struct Now {
    name: String,
    columns: Vec<Column>,
    statement: String,
    last_id: Option<i64>,
    rows: usize,
    waiting: usize,
    batch: String,
}

struct Filling<'c> {
    c: &'c mut DbConn,
    head: Option<Head>,
    /// Tables that are still to come.
    tables: Vec<Table>,
    now: Option<Now>,
    /// What the file says of its tables.
    told: Vec<(String, Option<u64>, Option<String>)>,
}

impl Take for Filling<'_> {
    fn head(&mut self, head: Head) -> Result<(), Trouble> {
        empty::sweep(self.c)?;
        if content::steps(self.c)? != head.steps {
            migrate::only(self.c, &head.steps).map_err(|e| Trouble::Said(format!("the file cannot be taken: {e}")))?;
        }
        self.tables = content::tables(self.c)?;
        self.head = Some(head);
        Ok(())
    }

    fn begin(&mut self, table: &str, columns: &[Named], last_id: Option<i64>) -> Result<(), Trouble> {
        let Some(at) = self.tables.iter().position(|t| t.name == table) else {
            return Err(Trouble::Said(format!(
                "the file has a table {table} that is not in such a book, or has it twice"
            )));
        };
        let ours = self.tables.remove(at);
        let mut in_order = Vec::new();
        for named in columns {
            let column = ours.columns.iter().find(|c| c.name == named.name && c.kind.word() == named.kind);
            let column = column.filter(|c| !in_order.contains(*c)).ok_or_else(|| {
                Trouble::Said(format!("the table {table} has no column {} of the type {}", named.name, named.kind))
            })?;
            in_order.push(column.clone());
        }
        if let Some(missing) = ours.columns.iter().find(|c| !in_order.contains(c)) {
            return Err(Trouble::Said(format!(
                "the file does not hold the column {} of the table {table}",
                missing.name
            )));
        }
        let is_postgres = !matches!(self.c, DbConn::Sqlite(_));
        let statement = statement(table, &in_order, is_postgres);
        let name = table.to_string();
        self.now = Some(Now { name, columns: in_order, statement, last_id, rows: 0, waiting: 0, batch: String::new() });
        Ok(())
    }

    fn row(&mut self, values: Vec<Value>) -> Result<(), Trouble> {
        let Some(now) = &mut self.now else { return Ok(()) };
        now.rows = now.rows.saturating_add(1);
        let wrong = |what: &str| Trouble::Said(format!("row {} of the table {}: {what}", now.rows, now.name));
        if values.len() != now.columns.len() {
            return Err(wrong(&format!("{} values for {} columns", values.len(), now.columns.len())));
        }
        if let Some((column, _)) = now.columns.iter().zip(&values).find(|(column, value)| !fits(column.kind, value)) {
            return Err(wrong(&format!("the value of {} is no {}", column.name, column.kind.word())));
        }
        now.batch.push_str(if now.batch.is_empty() { "[" } else { "," });
        now.batch.push_str(&Value::Array(values).to_string());
        now.waiting = now.waiting.saturating_add(1);
        if now.waiting >= AT_ONCE || now.batch.len() >= LETTERS { self.flush() } else { Ok(()) }
    }

    fn end(&mut self, rows: Option<u64>, sha256: Option<String>) -> Result<(), Trouble> {
        self.flush()?;
        if let Some(now) = self.now.take() {
            remember(self.c, &now.name, now.last_id)?;
            self.told.push((now.name, rows, sha256));
        }
        Ok(())
    }
}

impl Filling<'_> {
    fn flush(&mut self) -> Result<(), Trouble> {
        let Some(now) = self.now.as_mut().filter(|now| now.waiting > 0) else { return Ok(()) };
        now.batch.push(']');
        let batch = std::mem::take(&mut now.batch);
        let (statement, waiting) = (&now.statement, std::mem::take(&mut now.waiting));
        let written = crate::on_db!(&mut *self.c, c => diesel::sql_query(statement).bind::<Text, _>(batch).execute(c));
        let written = written.map_err(|e| match e {
            // What the tables refuse is a fault of the file, told in the engine's words.
            diesel::result::Error::DatabaseError(_, why) => Trouble::Said(format!(
                "the table {}, rows {} to {}: {}",
                now.name,
                now.rows.saturating_sub(waiting).saturating_add(1),
                now.rows,
                why.message()
            )),
            e => e.into(),
        })?;
        if written == waiting {
            return Ok(());
        }
        Err(Trouble::Said(format!("the table {} took {written} of {waiting} rows", now.name)))
    }
}

/// Whether a value may stand in a column of a kind.
fn fits(kind: Kind, value: &Value) -> bool {
    match (kind, value) {
        (_, Value::Null) => true,
        (Kind::Number, Value::Number(n)) => n.is_i64(),
        (Kind::YesNo, Value::Bool(_)) => true,
        (Kind::Day, Value::String(day)) => {
            day.len() == 10 && NaiveDate::parse_from_str(day, "%Y-%m-%d").is_ok_and(|d| d.to_string() == *day)
        }
        // No engine keeps a zero byte as text the way the other does.
        (Kind::Text, Value::String(text)) => !text.contains('\0'),
        _ => false,
    }
}

/// Rows of a JSON list into a table, whatever their number.
fn statement(table: &str, columns: &[Column], is_postgres: bool) -> String {
    let names: Vec<String> = columns.iter().map(|c| quoted(&c.name)).collect();
    let value = |(n, column): (usize, &Column)| match (is_postgres, column.kind) {
        (false, _) => format!("value ->> {n}"),
        (true, Kind::Number) => format!("(r.value ->> {n})::bigint"),
        (true, Kind::YesNo) => format!("(r.value ->> {n})::boolean"),
        (true, Kind::Day) => format!("(r.value ->> {n})::date"),
        (true, Kind::Text) => format!("r.value ->> {n}"),
    };
    let values: Vec<String> = columns.iter().enumerate().map(value).collect();
    let from = if is_postgres { "json_array_elements($1::json) AS r(value)" } else { "json_each(?)" };
    format!("INSERT INTO {} ({}) SELECT {} FROM {from}", quoted(table), names.join(", "), values.join(", "))
}

#[cfg(feature = "postgres")]
#[derive(QueryableByName)]
struct Name {
    #[diesel(sql_type = Text)]
    text: String,
}

/// Lets a table go on counting after the highest id it ever gave, or has.
fn remember(c: &mut DbConn, table: &str, last_id: Option<i64>) -> Result<(), Trouble> {
    let Some(last_id) = last_id else { return Ok(()) };
    match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => {
            let sequence: Name =
                diesel::sql_query("SELECT COALESCE(pg_get_serial_sequence(quote_ident($1), 'id'), '') AS text")
                    .bind::<Text, _>(table)
                    .get_result(c)?;
            if sequence.text.is_empty() {
                return Ok(());
            }
            let highest = format!("GREATEST($2, (SELECT COALESCE(MAX(id), 0) FROM {}))", quoted(table));
            diesel::sql_query(format!("SELECT setval($1::regclass, GREATEST({highest}, 1), {highest} > 0)"))
                .bind::<Text, _>(sequence.text)
                .bind::<BigInt, _>(last_id)
                .execute(c)?;
        }
        DbConn::Sqlite(c) => {
            // The engine itself has noted the highest id there is.
            let raised = diesel::sql_query("UPDATE sqlite_sequence SET seq = MAX(seq, ?) WHERE name = ?")
                .bind::<BigInt, _>(last_id)
                .bind::<Text, _>(table)
                .execute(c)?;
            if raised == 0 && last_id > 0 {
                diesel::sql_query("INSERT INTO sqlite_sequence (name, seq) VALUES (?, ?)")
                    .bind::<Text, _>(table)
                    .bind::<BigInt, _>(last_id)
                    .execute(c)?;
            }
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn only_what_fits_is_taken() {
        assert!(fits(Kind::Number, &json!(9_007_199_254_740_993_i64)));
        assert!(!fits(Kind::Number, &json!(1.0)));
        assert!(!fits(Kind::Number, &json!(u64::MAX)));
        assert!(!fits(Kind::Number, &json!("1")));
        assert!(fits(Kind::Day, &json!("2028-02-29")));
        assert!(!fits(Kind::Day, &json!("2027-02-29")));
        assert!(!fits(Kind::Day, &json!("2027-2-9")));
        assert!(!fits(Kind::YesNo, &json!(1)));
        assert!(!fits(Kind::Text, &json!("a\0b")));
        assert!(fits(Kind::Text, &json!(null)));
    }
}
