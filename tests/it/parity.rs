//! `book/schema.rs` held against both migrated databases, and the two engines' migrations against each other.

use crate::support::TestBook;
use diesel::prelude::*;
use diesel::sql_types::Text;
use gambrel::actions::Failure;
use gambrel::book::conn::DbConn;
use gambrel::book::store::Store;
use std::collections::BTreeSet;

/// A column: its table, name, type in schema.rs's words, and whether it may be null.
type Column = (String, String, String, bool);

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = Text)]
    of: String,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = Text)]
    null: String,
}

/// Every column of a migrated book, as the engine itself tells it.
pub(crate) fn columns(store: &Store) -> Vec<Column> {
    let rows: Vec<Row> = store
        .read(|c| {
            Ok::<_, Failure>(match c {
                #[cfg(feature = "postgres")]
                DbConn::Pg(c) => diesel::sql_query(
                    "SELECT table_name::text AS of, column_name::text AS name, data_type::text AS kind, is_nullable::text AS null
                     FROM information_schema.columns WHERE table_schema = 'public'",
                )
                .load(c)?,
                DbConn::Sqlite(c) => diesel::sql_query(
                    "SELECT m.name AS \"of\", p.name AS name, p.type AS kind,
                     CASE WHEN p.\"notnull\" OR p.pk THEN 'NO' ELSE 'YES' END AS \"null\"
                     FROM sqlite_master m JOIN pragma_table_info(m.name) p WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%'",
                )
                .load(c)?,
            })
        })
        .unwrap();
    let mut all: Vec<Column> = rows
        .into_iter()
        .filter(|r| r.of != "__diesel_schema_migrations")
        .map(|r| (r.of, r.name, r.kind.to_lowercase(), r.null == "YES"))
        .collect();
    all.sort();
    all
}

/// Every column that schema.rs names.
fn written() -> Vec<Column> {
    let text = include_str!("../../src/book/schema.rs");
    let (mut table, mut all) = (String::new(), Vec::new());
    for line in text.lines().map(str::trim).filter(|l| !l.starts_with("//") && !l.contains('!')) {
        if let Some((name, _)) = line.split_once(" (").filter(|_| line.ends_with('{')) {
            table = name.to_string();
        } else if let Some((name, kind)) = line.split_once(" -> ") {
            let kind = kind.trim_end_matches(',');
            let inner = kind.strip_prefix("Nullable<").and_then(|k| k.strip_suffix('>'));
            all.push((table.clone(), name.to_string(), inner.unwrap_or(kind).to_string(), inner.is_some()));
        }
    }
    all.sort();
    all
}

#[test]
fn schema_rs_is_what_both_engines_have() {
    for book in TestBook::each() {
        let engine = |kind: &str| match (kind, book.fresh.is_postgres()) {
            ("BigInt", true) => "bigint",
            ("BigInt" | "Bool", false) => "integer",
            ("Text", _) | ("Date", false) => "text",
            ("Bool", true) => "boolean",
            ("Date", true) => "date",
            (other, _) => panic!("{other} is not a type that both engines share"),
        };
        let wanted: Vec<Column> =
            written().into_iter().map(|(t, n, kind, null)| (t, n, engine(&kind).to_string(), null)).collect();
        assert!(wanted.len() > 100);
        let there = columns(&book.store);
        let (wanted, there): (BTreeSet<_>, BTreeSet<_>) = (wanted.into_iter().collect(), there.into_iter().collect());
        let missing: Vec<_> = wanted.difference(&there).collect();
        let more: Vec<_> = there.difference(&wanted).collect();
        assert!(
            missing.is_empty() && more.is_empty(),
            "only in schema.rs: {missing:?}; only in the database: {more:?}"
        );
    }
}

#[test]
fn both_engines_have_the_same_indexes() {
    let mut found: Vec<(bool, BTreeSet<String>)> = Vec::new();
    for book in TestBook::each() {
        let rows: Vec<Row> = book.read(|c| {
            Ok(match c {
                #[cfg(feature = "postgres")]
                DbConn::Pg(c) => diesel::sql_query(
                    "SELECT tablename::text AS of, indexname::text AS name, '' AS kind, '' AS null FROM pg_indexes
                     WHERE schemaname = 'public' AND indexname NOT IN (SELECT conname FROM pg_constraint)",
                )
                .load(c)?,
                DbConn::Sqlite(c) => diesel::sql_query(
                    "SELECT tbl_name AS \"of\", name, '' AS kind, '' AS \"null\" FROM sqlite_master
                     WHERE type = 'index' AND sql IS NOT NULL",
                )
                .load(c)?,
            })
        });
        let names: BTreeSet<String> = rows.into_iter().map(|r| format!("{} on {}", r.name, r.of)).collect();
        found.push((book.fresh.is_postgres(), names));
    }
    assert!(found[0].1.len() > 20);
    for (postgres, names) in &found {
        assert_eq!(names, &found[0].1, "PostgreSQL: {postgres}");
    }
}

/// What a line of the SQLite migration is in PostgreSQL's words.
fn turned_around(line: &str) -> String {
    let comma = if line.ends_with(',') { "," } else { "" };
    let column = line.split_once(" CHECK (").map(|(head, check)| (head, check.trim_end_matches(',')));
    match column {
        Some((head, check)) if check.ends_with(" IN (0, 1))") => {
            head.replace(" INTEGER", " BOOLEAN").replace(" DEFAULT 0", " DEFAULT FALSE") + comma
        }
        Some((head, check)) if check.ends_with(" GLOB '????-??-??')") => head.replace(" TEXT", " DATE") + comma,
        _ => line
            .replace(
                "INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL",
                "BIGINT GENERATED BY DEFAULT AS IDENTITY PRIMARY KEY",
            )
            .replace(") STRICT;", ");")
            .replace(" INTEGER", " BIGINT"),
    }
}

#[test]
fn the_two_dialects_say_the_same() {
    let sqlite = include_str!("../../migrations/sqlite/0001_book/up.sql");
    let postgres = include_str!("../../migrations/postgres/0001_book/up.sql");
    for (n, (s, p)) in sqlite.lines().zip(postgres.lines()).enumerate() {
        assert_eq!(turned_around(s), p, "line {}", n + 1);
    }
    assert_eq!(sqlite.lines().count(), postgres.lines().count());
    assert_eq!(
        include_str!("../../migrations/sqlite/0001_book/down.sql"),
        include_str!("../../migrations/postgres/0001_book/down.sql")
    );
}
