//! The whole content of a book as text, the same on both engines: to compare a copy with its book, and to carry a book over.
//!
//! A row is written as its columns one after the other, each as its number of characters, a colon and its text, or `-` for
//! nothing; so that no two different rows read the same. Yes and no are 1 and 0, dates are `2027-10-14`.

use super::conn::DbConn;
use super::kinds;
use diesel::prelude::*;
use diesel::result::Error as DbError;
use diesel::sql_types::{BigInt, Text};
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// A table as the engine tells it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Table {
    /// Its name.
    pub name: String,
    /// Its columns: first those of the primary key, then the others by name, because the engines hold the columns of a table
    /// in different order after a migration.
    pub columns: Vec<Column>,
    /// How many columns the primary key has.
    pub keys: usize,
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

impl Kind {
    /// Its name in a file of the whole book.
    pub fn word(self) -> &'static str {
        match self {
            Self::Number => "number",
            Self::YesNo => "yes or no",
            Self::Day => "day",
            Self::Text => "text",
        }
    }
}

/// How much a table holds, and a fingerprint of it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Sum {
    /// The table.
    pub table: String,
    /// Its rows.
    pub rows: u64,
    /// SHA-256 over its rows in order of their primary key, a line each, in hexadecimal.
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
    /// Place in the primary key from 1 on, 0 for none.
    #[diesel(sql_type = BigInt)]
    key: i64,
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
            "SELECT t.relname::text AS of, a.attname::text AS name, format_type(a.atttypid, NULL) AS kind,
             COALESCE(array_position(i.indkey::int2[], a.attnum) + 1, 0)::bigint AS key
             FROM pg_class t JOIN pg_namespace n ON n.oid = t.relnamespace AND n.nspname = 'public'
             JOIN pg_attribute a ON a.attrelid = t.oid AND a.attnum > 0 AND NOT a.attisdropped
             LEFT JOIN pg_index i ON i.indrelid = t.oid AND i.indisprimary
             WHERE t.relkind = 'r' AND t.relname <> '__diesel_schema_migrations'",
        )
        .load(c)?,
        DbConn::Sqlite(c) => diesel::sql_query(
            "SELECT m.name AS \"of\", p.name AS name, lower(p.type) AS kind, p.pk AS key
             FROM sqlite_schema m JOIN pragma_table_info(m.name) p
             WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%' AND m.name <> '__diesel_schema_migrations'",
        )
        .load(c)?,
    };
    let mut by_name: BTreeMap<String, Vec<Told>> = BTreeMap::new();
    for one in told {
        by_name.entry(one.of.clone()).or_default().push(one);
    }
    let table = |(name, mut columns): (String, Vec<Told>)| {
        columns.sort_by(|a, b| (a.key == 0, a.key, &a.name).cmp(&(b.key == 0, b.key, &b.name)));
        let keys = columns.iter().filter(|c| c.key > 0).count();
        let columns = columns.into_iter().map(|c| {
            let kind = kinds::known(&name, &c.name).unwrap_or(match c.kind.as_str() {
                "boolean" => Kind::YesNo,
                "date" => Kind::Day,
                "text" => Kind::Text,
                _ => Kind::Number,
            });
            Column { kind, name: c.name }
        });
        Table { keys, columns: columns.collect(), name }
    };
    Ok(by_name.into_iter().map(table).collect())
}

/// Hands out the rows of a table as text, one after the other in the order of their primary key; no more than one is held in
/// memory.
///
/// # Errors
/// The database's own, and those of `f`, which end it.
pub fn each_row<E: From<DbError>>(
    c: &mut DbConn,
    table: &Table,
    f: &mut dyn FnMut(String) -> Result<(), E>,
) -> Result<(), E> {
    let is_postgres = !matches!(c, DbConn::Sqlite(_));
    let written: Vec<String> = table.columns.iter().map(|column| as_text(column, is_postgres)).collect();
    // The order of bytes, whatever the language of the database.
    let key = |column: &Column| match (column.kind, is_postgres) {
        (Kind::Text, true) => format!("{} COLLATE \"C\"", quoted(&column.name)),
        _ => quoted(&column.name),
    };
    let keys: Vec<String> = table.columns.iter().take(table.keys.max(1)).map(key).collect();
    let query =
        format!("SELECT {} AS text FROM {} ORDER BY {}", written.join(" || "), quoted(&table.name), keys.join(", "));
    match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => {
            for row in diesel::sql_query(query).load_iter::<One, diesel::pg::PgRowByRowLoadingMode>(c)? {
                f(row?.text)?;
            }
        }
        DbConn::Sqlite(c) => {
            for row in diesel::sql_query(query).load_iter::<One, diesel::connection::DefaultLoadingMode>(c)? {
                f(row?.text)?;
            }
        }
    }
    Ok(())
}

/// What a book holds, a line for each table.
///
/// # Errors
/// The database's own.
pub fn sums(c: &mut DbConn) -> QueryResult<Vec<Sum>> {
    let mut all = Vec::new();
    for table in tables(c)? {
        let mut adding = Adding::default();
        each_row(c, &table, &mut |row| {
            adding.row(&row);
            Ok::<_, DbError>(())
        })?;
        all.push(adding.sum(table.name));
    }
    Ok(all)
}

/// Adds rows up to a sum.
#[derive(Default)]
pub struct Adding {
    hash: Sha256,
    rows: u64,
}

impl Adding {
    /// Takes a row's text.
    pub fn row(&mut self, text: &str) {
        self.hash.update(text.as_bytes());
        self.hash.update(b"\n");
        self.rows = self.rows.saturating_add(1);
    }
    /// The sum of what was taken.
    pub fn sum(self, table: String) -> Sum {
        Sum { table, rows: self.rows, fingerprint: hex(&self.hash.finalize()) }
    }
}

/// One fingerprint of all sums, in hexadecimal.
pub fn fingerprint(sums: &[Sum]) -> String {
    let mut hash = Sha256::new();
    for sum in sums {
        hash.update(format!("{} {} {}\n", sum.table, sum.rows, sum.fingerprint).as_bytes());
    }
    hex(&hash.finalize())
}

/// What the first table is that differs between two books, in words.
pub fn first_difference(book: &[Sum], copy: &[Sum]) -> Option<String> {
    let differs = book.iter().find(|b| !copy.contains(b));
    match differs {
        Some(b) => Some(match copy.iter().find(|c| c.table == b.table) {
            None => format!("the table {} is missing", b.table),
            Some(c) if c.rows != b.rows => format!("the table {} holds {} rows instead of {}", b.table, c.rows, b.rows),
            Some(_) => format!("the table {} holds other things than the book", b.table),
        }),
        None if book.len() != copy.len() => Some("it has tables that the book has not".into()),
        None => None,
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
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

/// The steps of the tables a book has, in order. Unlike the engine's own question it writes nothing.
///
/// # Errors
/// The database's own.
pub fn steps(c: &mut DbConn) -> QueryResult<Vec<String>> {
    let query = "SELECT version AS text FROM __diesel_schema_migrations ORDER BY version";
    let all: Vec<One> = crate::on_db!(c, c => diesel::sql_query(query).load(c))?;
    Ok(all.into_iter().map(|one| one.text).collect())
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

/// A row's values as its text.
pub fn text_of(values: &[Option<String>]) -> String {
    let one = |value: &Option<String>| match value {
        Some(text) => format!("{}:{text}", text.chars().count()),
        None => "-".into(),
    };
    values.iter().map(one).collect()
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
    use super::*;

    #[test]
    fn a_row_reads_back_as_it_was_written() {
        let some = |s: &str| Some(s.to_string());
        assert_eq!(values("1:73:a:b-0:"), Some(vec![some("7"), some("a:b"), None, some("")]));
        assert_eq!(values("4:Þóra-"), Some(vec![some("Þóra"), None]));
        assert_eq!(values("5:abc"), None);
        assert_eq!(values("x"), None);
        let row = [some("7"), some("Þóra\n-3:x"), None, some("")];
        assert_eq!(values(&text_of(&row)).unwrap(), row);
    }

    #[test]
    fn a_difference_is_named() {
        let sum =
            |table: &str, rows, fingerprint: &str| Sum { table: table.into(), rows, fingerprint: fingerprint.into() };
        let book = [sum("customer", 2, "aa"), sum("payment", 3, "bb")];
        assert_eq!(first_difference(&book, &book), None);
        let fewer = [sum("customer", 2, "aa"), sum("payment", 2, "cc")];
        assert_eq!(first_difference(&book, &fewer).unwrap(), "the table payment holds 2 rows instead of 3");
        let other = [sum("customer", 2, "aa"), sum("payment", 3, "cc")];
        assert_eq!(first_difference(&book, &other).unwrap(), "the table payment holds other things than the book");
        assert_eq!(first_difference(&book, &book[..1]).unwrap(), "the table payment is missing");
        assert_eq!(first_difference(&book[..1], &book).unwrap(), "it has tables that the book has not");
        assert_ne!(fingerprint(&book), fingerprint(&other));
    }
}
