//! Writing a book: a head, then table after table, row after row.

use super::secrets::{KEPT_BACK, take_out};
use super::{FORMAT, Trouble, VERSION, order};
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::content::{self, Adding, Column, Kind, Sum, Table};
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};
use std::io::Write;

/// What is asked for.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// When it is made.
    pub at: At,
    /// Whether hashes of passwords and links go with it.
    pub with_secrets: bool,
}

#[derive(QueryableByName)]
struct Last {
    #[diesel(sql_type = BigInt)]
    id: i64,
}

/// Writes the whole book; call it in one snapshot. Returns what each table came to, in the order of their names.
///
/// # Errors
/// The database's own, and those of `out`.
pub fn write(c: &mut DbConn, asked: Asked, out: &mut dyn Write) -> Result<Vec<Sum>, Trouble> {
    let steps = content::steps(c)?;
    let text = |value: &str| serde_json::to_string(value).unwrap_or_default();
    let all: Vec<String> = steps.iter().map(|s| text(s)).collect();
    writeln!(out, "{{")?;
    writeln!(out, "\"format\": {}, \"version\": {VERSION},", text(FORMAT))?;
    writeln!(out, "\"schema\": {},", text(steps.last().map_or("", String::as_str)))?;
    writeln!(out, "\"steps\": [{}],", all.join(", "))?;
    writeln!(out, "\"made_at\": {},", text(&asked.at.utc().format("%Y-%m-%dT%H:%M:%S%.3fZ").to_string()))?;
    writeln!(out, "\"secrets\": {},", asked.with_secrets)?;
    write!(out, "\"tables\": [")?;
    let mut sums = Vec::new();
    for (n, table) in order::by_reference(c)?.iter().enumerate() {
        writeln!(out, "{}", if n == 0 { "" } else { "," })?;
        sums.push(write_table(c, table, asked.with_secrets, out)?);
    }
    writeln!(out, "\n]\n}}")?;
    out.flush()?;
    sums.sort_by(|a, b| a.table.cmp(&b.table));
    Ok(sums)
}

fn write_table(c: &mut DbConn, table: &Table, with_secrets: bool, out: &mut dyn Write) -> Result<Sum, Trouble> {
    let column = |c: &Column| format!("{{\"name\": \"{}\", \"type\": \"{}\"}}", c.name, c.kind.word());
    let columns: Vec<String> = table.columns.iter().map(column).collect();
    writeln!(out, "{{\"table\": \"{}\",", table.name)?;
    writeln!(out, " \"columns\": [{}],", columns.join(", "))?;
    if let Some(last) = last_id(c, &table.name)? {
        writeln!(out, " \"last_id\": {last},")?;
    }
    write!(out, " \"rows\": [")?;
    let mut adding = Adding::default();
    let mut is_first = true;
    if with_secrets || !KEPT_BACK.contains(&table.name.as_str()) {
        let mut line = String::new();
        content::each_row(c, table, &mut |row| {
            let mut values = content::values(&row).ok_or_else(|| unreadable(&table.name))?;
            if !with_secrets {
                take_out(&table.name, &table.columns, &mut values);
            }
            adding.row(&if with_secrets { row } else { content::text_of(&values) });
            line.clear();
            for (column, value) in table.columns.iter().zip(&values) {
                line.push_str(if line.is_empty() { "[" } else { "," });
                put(&mut line, column.kind, value.as_deref()).ok_or_else(|| unreadable(&table.name))?;
            }
            write!(out, "{}\n  {line}]", if is_first { "" } else { "," })?;
            is_first = false;
            Ok::<_, Trouble>(())
        })?;
    }
    let sum = adding.sum(table.name.clone());
    write!(out, "],\n \"count\": {}, \"sha256\": \"{}\"}}", sum.rows, sum.fingerprint)?;
    Ok(sum)
}

fn unreadable(table: &str) -> Trouble {
    Trouble::Said(format!("a row of the table {table} cannot be read as what it should be"))
}

/// Puts a value as JSON; none when it is not of its kind.
fn put(line: &mut String, kind: Kind, value: Option<&str>) -> Option<()> {
    let Some(value) = value else {
        line.push_str("null");
        return Some(());
    };
    match kind {
        Kind::Number => line.push_str(&value.parse::<i64>().ok()?.to_string()),
        Kind::YesNo => line.push_str(match value {
            "0" => "false",
            "1" => "true",
            _ => return None,
        }),
        Kind::Day | Kind::Text => line.push_str(&serde_json::to_string(value).ok()?),
    }
    Some(())
}

/// The highest id a table ever gave, where it gives them by itself: a row that went must not lend its id to another.
fn last_id(c: &mut DbConn, table: &str) -> QueryResult<Option<i64>> {
    match c {
        #[cfg(feature = "postgres")]
        DbConn::Pg(c) => {
            let sequence: Option<Name> = diesel::sql_query(
                "SELECT COALESCE(pg_get_serial_sequence(quote_ident($1), 'id'), '') AS text FROM information_schema.columns
                 WHERE table_schema = 'public' AND table_name = $1 AND column_name = 'id' AND is_identity = 'YES'",
            )
            .bind::<Text, _>(table)
            .get_result(c)
            .optional()?;
            let Some(Name { text }) = sequence.filter(|s| !s.text.is_empty()) else { return Ok(None) };
            let query = format!("SELECT CASE WHEN is_called THEN last_value ELSE 0 END AS id FROM {text}");
            diesel::sql_query(query).get_result(c).map(|last: Last| Some(last.id))
        }
        DbConn::Sqlite(c) => {
            let found: Option<Last> = diesel::sql_query(
                "SELECT COALESCE((SELECT seq FROM sqlite_sequence s WHERE s.name = m.name), 0) AS id FROM sqlite_schema m
                 WHERE m.type = 'table' AND m.name = ? AND upper(m.sql) LIKE '%AUTOINCREMENT%'",
            )
            .bind::<Text, _>(table)
            .get_result(c)
            .optional()?;
            Ok(found.map(|last| last.id))
        }
    }
}

#[cfg(feature = "postgres")]
#[derive(QueryableByName)]
struct Name {
    #[diesel(sql_type = Text)]
    text: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_written_exactly() {
        let said = |kind, value| {
            let mut line = String::new();
            put(&mut line, kind, value).map(|()| line)
        };
        assert_eq!(said(Kind::Number, Some("9007199254740993")).unwrap(), "9007199254740993");
        assert_eq!(said(Kind::Number, Some("1.5")), None);
        assert_eq!(said(Kind::YesNo, Some("1")).unwrap(), "true");
        assert_eq!(said(Kind::YesNo, Some("t")), None);
        assert_eq!(said(Kind::Day, Some("2027-10-14")).unwrap(), "\"2027-10-14\"");
        assert_eq!(said(Kind::Text, Some("Þóra \"the\"\n")).unwrap(), "\"Þóra \\\"the\\\"\\n\"");
        assert_eq!(said(Kind::Text, None).unwrap(), "null");
    }
}
