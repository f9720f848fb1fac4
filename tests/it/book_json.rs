//! docs/book-json.md held against the tables: none is missing, none is too much, and each says what it means.

use crate::support::TestBook;
use gambrel::book::whole::{HASHES, KEPT_BACK};
use gambrel::book::{content, whole};
use std::fmt::Write;

const BEGIN: &str = "INSTA_UPDATE=always makes them anew -->\n";
const END: &str = "<!-- end of the tables -->";

/// A table as `schema.rs` has it: its name, meaning, key, and columns with their type and whether they may be nothing.
struct Said {
    name: String,
    meaning: String,
    keys: Vec<String>,
    columns: Vec<(String, &'static str, bool)>,
}

/// Every table of `schema.rs`.
fn said() -> Vec<Said> {
    let (mut all, mut meaning): (Vec<Said>, Vec<&str>) = (Vec::new(), Vec::new());
    for line in include_str!("../../src/book/schema.rs").lines().map(str::trim) {
        if let Some(words) = line.strip_prefix("/// ") {
            meaning.push(words);
        } else if let Some((name, rest)) = line.split_once(" (").filter(|_| line.ends_with(") {")) {
            let keys = rest.trim_end_matches(") {").split(", ").map(str::to_string).collect();
            all.push(Said { name: name.into(), meaning: meaning.join(" "), keys, columns: Vec::new() });
            meaning.clear();
        } else if let Some((name, kind)) = line.split_once(" -> ").filter(|_| line.ends_with(',')) {
            let kind = kind.trim_end_matches(',');
            let inner = kind.strip_prefix("Nullable<").and_then(|k| k.strip_suffix('>'));
            let word = match inner.unwrap_or(kind) {
                "BigInt" => "number",
                "Bool" => "yes or no",
                "Date" => "day",
                "Text" => "text",
                other => panic!("{other} has no name in the file"),
            };
            all.last_mut().unwrap().columns.push((name.into(), word, inner.is_some()));
        }
    }
    all.sort_by(|a, b| a.name.cmp(&b.name));
    all
}

/// The part of the page about tables.
fn written() -> String {
    let mut text = String::new();
    for table in said() {
        assert!(!table.meaning.is_empty(), "schema.rs says nothing about {}", table.name);
        let mut columns = table.columns.clone();
        let place = |name: &String| table.keys.iter().position(|k| k == name);
        columns.sort_by(|a, b| {
            (place(&a.0).is_none(), place(&a.0), &a.0).cmp(&(place(&b.0).is_none(), place(&b.0), &b.0))
        });
        let columns: Vec<String> = columns
            .iter()
            .map(|(name, kind, nothing)| format!("`{name}` {kind}{}", if *nothing { " or nothing" } else { "" }))
            .collect();
        write!(text, "\n### {}\n\n{}\n\n", table.name, table.meaning).unwrap();
        writeln!(text, "Key: {}. Columns: {}.", table.keys.join(", "), columns.join(", ")).unwrap();
    }
    text + "\n"
}

#[test]
fn the_page_names_every_table_and_column() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/docs/book-json.md");
    let page = std::fs::read_to_string(path).unwrap();
    let (before, rest) = page.split_once(BEGIN).unwrap();
    let (tables, after) = rest.split_once(END).unwrap();
    if std::env::var("INSTA_UPDATE").is_ok_and(|v| v == "always") {
        std::fs::write(path, format!("{before}{BEGIN}{}{END}{after}", written())).unwrap();
        return;
    }
    assert_eq!(tables, written(), "docs/book-json.md is behind the tables: run this test with INSTA_UPDATE=always");
}

#[test]
fn what_the_page_says_of_the_tables_is_what_both_engines_write() {
    for book in TestBook::each() {
        let tables = book.read(|c| Ok(content::tables(c)?));
        let said = said();
        assert!(said.len() > 60);
        assert_eq!(
            tables.iter().map(|t| &t.name).collect::<Vec<_>>(),
            said.iter().map(|t| &t.name).collect::<Vec<_>>()
        );
        for (table, said) in tables.iter().zip(&said) {
            let keys: Vec<&String> = table.columns.iter().take(table.keys).map(|c| &c.name).collect();
            assert_eq!(keys, said.keys.iter().collect::<Vec<_>>(), "{}", table.name);
            assert_eq!(table.columns.len(), said.columns.len(), "{}", table.name);
            for column in &table.columns {
                let found = said.columns.iter().find(|c| c.0 == column.name).map(|c| c.1);
                let wanted = column.kind.word();
                assert!(found == Some(wanted), "{}.{}: {found:?}, {wanted}", table.name, column.name);
            }
        }
        // Each table stands after all that it points to, on both engines in the same order.
        let order = book.store.read(whole::by_reference).unwrap();
        let place = |name: &str| order.iter().position(|t| t.name == name).unwrap();
        assert!(place("customer") < place("reservation") && place("payment") < place("allocation"));
        assert_eq!(order.len(), tables.len());
    }
}

#[test]
fn what_is_kept_back_exists_and_is_named_on_the_page() {
    let page = include_str!("../../docs/book-json.md");
    let said = said();
    for table in KEPT_BACK {
        assert!(said.iter().any(|t| t.name == *table), "{table}");
        assert!(page.split("## Secrets").nth(1).unwrap().contains(&format!("`{table}`")), "{table}");
    }
    for (table, column, _) in HASHES {
        assert!(said.iter().any(|t| t.name == *table && t.columns.iter().any(|c| c.0 == *column)), "{table}.{column}");
    }
    // Whatever is a hash or a secret by its name is kept back.
    for table in &said {
        for (column, ..) in &table.columns {
            let is_secret = ["token", "secret", "password", "code_hash", "id_hash"].iter().any(|w| column.contains(w));
            let is_kept = KEPT_BACK.contains(&table.name.as_str())
                || HASHES.iter().any(|(t, c, _)| *t == table.name && c == column);
            assert!(!is_secret || is_kept, "{}.{column} would stand in a file without secrets", table.name);
        }
    }
}
