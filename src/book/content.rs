//! The whole content of a book as text, the same on both engines: to compare a copy with its book, and to carry a book over.
//!
//! A row is written as its columns one after the other, each as its number of characters, a colon and its text, or `-` for
//! nothing; so that no two different rows read the same. Yes and no are 1 and 0, dates are `2027-10-14`.

use super::conn::DbConn;
use diesel::prelude::*;
use diesel::sql_types::Text;
use sha2::{Digest, Sha256};

/// A table as the engine tells it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its columns in order.
    pub columns: Vec<Column>,
}

/// A column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What is in it.
    pub kind: Kind,
}

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A whole number.
    Number,
    /// Yes or no; a number in SQLite.
    YesNo,
    /// A day; text in SQLite.
    Day,
    /// Text.
    Text,
}

/// How much a table holds, and a fingerprint of it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Sum {
    /// The table.
    pub table: String,
    /// Its rows.
    pub rows: u64,
    /// SHA-256 over its rows in order of their text, in hexadecimal.
    pub fingerprint: String,
}

#[derive(QueryableByName)]
struct Told {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    kind: String,
}

#[derive(QueryableByName)]
struct One {
    #[diesel(sql_type = Text)]
    text: String,
}

/// The tables of a book in order of their names, without the list of migrations.
///
/// # Errors
/// The database's own.
pub fn tables(c: &mut DbConn) -> QueryResult<Vec<Table>> {
    let told: Vec<Told> = match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => diesel::sql_query(
            "SELECT table_name::text AS of, column_name::text AS name, data_type::text AS kind FROM information_schema.columns
             WHERE table_schema = 'public' AND table_name <> '__diesel_schema_migrations' ORDER BY table_name, ordinal_position",
        )
        .load(c)?,
        DbConn::Sqlite(c) => diesel::sql_query(
            "SELECT m.name AS \"of\", p.name AS name, lower(p.type) AS kind FROM sqlite_schema m JOIN pragma_table_info(m.name) p
             WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%' AND m.name <> '__diesel_schema_migrations' ORDER BY m.name, p.cid",
        )
        .load(c)?,
    };
    let mut all: Vec<Table> = Vec::new();
    for Told { of, name, kind } in told {
        let kind = match kind.as_str() {
            "boolean" => Kind::YesNo,
            "date" => Kind::Day,
            "text" => Kind::Text,
            _ => Kind::Number,
        };
        let column = Column { name, kind };
        match all.last_mut() {
            Some(table) if table.name == of => table.columns.push(column),
            _ => all.push(Table { name: of, columns: vec![column] }),
        }
    }
    // The engines order names differently where there is an underscore.
    all.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(all)
}

/// The rows of a table as text, in the order of that text; `columns` in the order they are to be written.
///
/// # Errors
/// The database's own.
pub fn rows(c: &mut DbConn, table: &str, columns: &[Column]) -> QueryResult<Vec<String>> {
    let is_postgres = !matches!(c, DbConn::Sqlite(_));
    let written: Vec<String> = columns.iter().map(|column| as_text(column, is_postgres)).collect();
    let query = format!("SELECT {} AS text FROM {}", written.join(" || "), quoted(table));
    let rows: Vec<One> = crate::on_db!(c, c => diesel::sql_query(query).load(c))?;
    let mut rows: Vec<String> = rows.into_iter().map(|r| r.text).collect();
    rows.sort_unstable();
    Ok(rows)
}

/// What a book holds, a line for each table.
///
/// # Errors
/// The database's own.
pub fn sums(c: &mut DbConn) -> QueryResult<Vec<Sum>> {
    let mut all = Vec::new();
    for table in tables(c)? {
        // The engines may hold the columns of a table in different order after a migration.
        let mut columns = table.columns;
        columns.sort_by(|a, b| a.name.cmp(&b.name));
        let rows = rows(c, &table.name, &columns)?;
        let mut hash = Sha256::new();
        for row in &rows {
            hash.update(row.as_bytes());
            hash.update(b"\n");
        }
        let fingerprint = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        all.push(Sum { table: table.name, rows: u64::try_from(rows.len()).unwrap_or(u64::MAX), fingerprint });
    }
    Ok(all)
}

/// The migrations a book has behind it, the last one; empty for a book without any.
///
/// # Errors
/// The database's own.
pub fn last_step(c: &mut DbConn) -> QueryResult<String> {
    let query = "SELECT COALESCE(MAX(version), '') AS text FROM __diesel_schema_migrations";
    let one: One = crate::on_db!(c, c => diesel::sql_query(query).get_result(c))?;
    Ok(one.text)
}

/// A name as the engines take it literally.
pub(super) fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

fn as_text(column: &Column, is_postgres: bool) -> String {
    let name = quoted(&column.name);
    let text = match (column.kind, is_postgres) {
        (Kind::YesNo, true) => format!("{name}::int::text"),
        (_, true) => format!("{name}::text"),
        (_, false) => format!("CAST({name} AS TEXT)"),
    };
    format!("COALESCE(LENGTH({text}) || ':' || {text}, '-')")
}

/// A row's text as its values; none when it is not such a text.
pub fn values(row: &str) -> Option<Vec<Option<String>>> {
    let mut all = Vec::new();
    let mut rest = row;
    while !rest.is_empty() {
        if let Some(after) = rest.strip_prefix('-') {
            all.push(None);
            rest = after;
            continue;
        }
        let (length, after) = rest.split_once(':')?;
        let length: usize = length.parse().ok()?;
        let end = after.char_indices().nth(length).map_or(after.len(), |(at, _)| at);
        let (value, after) = after.split_at_checked(end)?;
        if value.chars().count() != length {
            return None;
        }
        all.push(Some(value.to_string()));
        rest = after;
    }
    Some(all)
}

#[cfg(test)]
mod tests {
    use super::values;

    #[test]
    fn a_row_reads_back_as_it_was_written() {
        let some = |s: &str| Some(s.to_string());
        assert_eq!(values("1:73:a:b-0:"), Some(vec![some("7"), some("a:b"), None, some("")]));
        assert_eq!(values("4:Þóra-"), Some(vec![some("Þóra"), None]));
        assert_eq!(values("5:abc"), None);
        assert_eq!(values("x"), None);
    }
}
