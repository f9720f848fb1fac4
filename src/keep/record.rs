//! What is known of a copy, kept as JSON beside it.

use crate::book::at::At;
use crate::book::content::Sum;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Why a copy was made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// The one of the day.
    Daily,
    /// Somebody asked for it.
    Asked,
    /// Before the tables were brought up to date.
    BeforeUpgrade,
    /// What a restore replaced.
    BeforeRestore,
}

impl Why {
    /// In words, to stand after the day.
    pub fn words(self) -> &'static str {
        match self {
            Self::Daily => "daily",
            Self::Asked => "asked for",
            Self::BeforeUpgrade => "before an upgrade",
            Self::BeforeRestore => "before a restore",
        }
    }
}

/// A verified copy.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Record {
    /// The copy's file name.
    pub file: String,
    /// When it was made: milliseconds since 1970 in UTC.
    pub made_at: i64,
    /// Why.
    pub why: Why,
    /// Its size in bytes.
    pub bytes: u64,
    /// Its SHA-256 in hexadecimal.
    pub sha256: String,
    /// The last step of its tables.
    pub step: String,
    /// When it was opened again and found right.
    pub verified_at: i64,
    /// How many rules of `gambrel check` were looked at in it.
    pub rules: usize,
    /// A rule that does not hold in it, because it did not hold in the book.
    #[serde(default)]
    pub fault: Option<String>,
    /// What each table holds.
    pub tables: Vec<Sum>,
    /// When a restore of it was last rehearsed.
    #[serde(default)]
    pub rehearsed_at: Option<i64>,
    /// The second folder it was copied to as well.
    #[serde(default)]
    pub also_in: Option<String>,
}

impl Record {
    /// When it was made.
    pub fn made(&self) -> At {
        At(self.made_at)
    }
    /// All its rows.
    pub fn rows(&self) -> u64 {
        self.tables.iter().map(|t| t.rows).sum()
    }
    /// Its size in words: "1.2 MB".
    pub fn size(&self) -> String {
        let tenths = self.bytes.saturating_mul(10) / 1_000_000;
        if tenths == 0 {
            format!("{} KB", self.bytes.div_ceil(1000))
        } else {
            format!("{}.{} MB", tenths / 10, tenths % 10)
        }
    }
    /// The record's file name beside a copy's.
    pub fn name_beside(copy: &str) -> String {
        let stem = copy.rsplit_once('.').map_or(copy, |(stem, _)| stem);
        format!("{stem}.json")
    }

    /// Writes it beside the copy, whole or not at all.
    ///
    /// # Errors
    /// A sentence.
    pub fn write(&self, folder: &Path) -> Result<(), String> {
        let text = serde_json::to_vec_pretty(self).map_err(|e| e.to_string())?;
        super::folder::write_whole(&folder.join(Self::name_beside(&self.file)), &text)
    }
}

/// A try that failed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LastFailure {
    /// When: milliseconds since 1970 in UTC.
    pub at: i64,
    /// Why, in a sentence.
    pub why: String,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(bytes: u64) -> Record {
        Record {
            file: "book-20271014T180000Z.sqlite".into(),
            made_at: 0,
            why: Why::Daily,
            bytes,
            sha256: String::new(),
            step: String::new(),
            verified_at: 0,
            rules: 0,
            fault: None,
            tables: Vec::new(),
            rehearsed_at: None,
            also_in: None,
        }
    }

    #[test]
    fn sizes_are_said_as_people_say_them() {
        assert_eq!(of(412_001).size(), "0.4 MB");
        assert_eq!(of(98_304).size(), "99 KB");
        assert_eq!(of(12_345_678).size(), "12.3 MB");
    }

    #[test]
    fn the_record_stands_beside_its_copy() {
        assert_eq!(Record::name_beside(&of(1).file), "book-20271014T180000Z.json");
    }
}
