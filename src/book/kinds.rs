//! Which columns hold a day, or yes or no: SQLite has no types for them, so that its own word is text or a number. Read from
//! `schema.rs`, which a test holds against both engines.

use super::content::Kind;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// What a column holds, where the engine does not say it.
pub(super) fn known(table: &str, column: &str) -> Option<Kind> {
    static ALL: OnceLock<BTreeMap<(&str, &str), Kind>> = OnceLock::new();
    ALL.get_or_init(|| read(include_str!("schema.rs"))).get(&(table, column)).copied()
}

fn read(schema: &str) -> BTreeMap<(&str, &str), Kind> {
    let (mut table, mut all) = ("", BTreeMap::new());
    for line in schema.lines().map(str::trim).filter(|l| !l.starts_with("//")) {
        if let Some((name, _)) = line.split_once(" (").filter(|_| line.ends_with(") {")) {
            table = name;
        } else if let Some((name, kind)) = line.split_once(" -> ") {
            let kind = kind.trim_end_matches(',');
            let inner = kind.strip_prefix("Nullable<").and_then(|k| k.strip_suffix('>')).unwrap_or(kind);
            match inner {
                "Date" => all.insert((table, name), Kind::Day),
                "Bool" => all.insert((table, name), Kind::YesNo),
                _ => None,
            };
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_and_yes_or_no_are_known() {
        assert_eq!(known("payment", "received_on"), Some(Kind::Day));
        assert_eq!(known("animal", "lost_on"), Some(Kind::Day));
        assert_eq!(known("farm", "is_demo"), Some(Kind::YesNo));
        assert_eq!(known("farm", "name"), None);
        assert_eq!(known("no such", "name"), None);
    }
}
