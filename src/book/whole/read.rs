//! Reading the JSON of a whole book as a stream: what is read is handed on at once and not kept.
//!
//! The members come in the order in which they are written (a head, then the tables; in a table its name and columns, then its
//! rows), so that nothing has to wait in memory for what explains it.

use super::{FORMAT, Head, Trouble, VERSION};
use serde::de::{DeserializeSeed, Deserializer, Error, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::Value;
use std::fmt;
use std::io::Read;

/// A column as the file has it.
#[derive(Debug, Clone, PartialEq, Eq, serde::Deserialize)]
pub(super) struct Named {
    pub(super) name: String,
    #[serde(rename = "type")]
    pub(super) kind: String,
}

/// Takes what is read. A trouble ends the reading.
pub(super) trait Take {
    fn head(&mut self, head: Head) -> Result<(), Trouble>;
    fn begin(&mut self, table: &str, columns: &[Named], last_id: Option<i64>) -> Result<(), Trouble>;
    fn row(&mut self, values: Vec<Value>) -> Result<(), Trouble>;
    fn end(&mut self, rows: Option<u64>, sha256: Option<String>) -> Result<(), Trouble>;
}

/// Reads a whole book.
///
/// # Errors
/// Those of `take`; a sentence when the text is not what it should be.
pub(super) fn read(from: impl Read, take: &mut dyn Take) -> Result<(), Trouble> {
    let mut hands = Hands { take, trouble: None };
    let mut json = serde_json::Deserializer::from_reader(std::io::BufReader::with_capacity(1 << 16, from));
    let outcome = Whole(&mut hands).deserialize(&mut json).and_then(|()| json.end());
    match (hands.trouble, outcome) {
        (Some(trouble), _) => Err(trouble),
        (None, Ok(())) => Ok(()),
        (None, Err(e)) => Err(Trouble::Said(format!("this is not a whole book as Gambrel writes it: {e}"))),
    }
}

/// The taker, and its trouble on the way out through the JSON reader.
struct Hands<'t> {
    take: &'t mut dyn Take,
    trouble: Option<Trouble>,
}

impl Hands<'_> {
    fn pass<E: Error>(&mut self, outcome: impl FnOnce(&mut dyn Take) -> Result<(), Trouble>) -> Result<(), E> {
        outcome(self.take).map_err(|trouble| {
            let said = E::custom(&trouble);
            self.trouble = Some(trouble);
            said
        })
    }
}

/// The object itself.
struct Whole<'h, 't>(&'h mut Hands<'t>);

impl<'de> DeserializeSeed<'de> for Whole<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for Whole<'_, '_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an object that begins with \"format\": \"gambrel-book\"")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let (mut format, mut version, mut steps, mut made_at, mut secrets) = (None, None, None, None, None);
        let mut has_tables = false;
        while let Some(name) = map.next_key::<String>()? {
            match name.as_str() {
                "format" => format = Some(map.next_value::<String>()?),
                "version" => version = Some(map.next_value::<u64>()?),
                "steps" => steps = Some(map.next_value::<Vec<String>>()?),
                "made_at" => made_at = Some(map.next_value::<String>()?),
                "secrets" => secrets = Some(map.next_value::<bool>()?),
                "tables" if has_tables => return Err(Error::custom("it has “tables” twice")),
                "tables" => {
                    if format.as_deref() != Some(FORMAT) {
                        return Err(Error::custom(format!("before “tables” it does not say \"format\": \"{FORMAT}\"")));
                    }
                    match version {
                        Some(VERSION) => {}
                        Some(other) => {
                            let newer = format!(
                                "it is version {other} of the format, and this program reads version {VERSION}; use a newer Gambrel"
                            );
                            return Err(Error::custom(newer));
                        }
                        None => return Err(Error::custom("before “tables” it does not say its version")),
                    }
                    let missing = || Error::custom("before “tables” it does not say its steps, made_at and secrets");
                    let head = Head {
                        steps: steps.take().ok_or_else(missing)?,
                        made_at: made_at.take().ok_or_else(missing)?,
                        has_secrets: secrets.ok_or_else(missing)?,
                    };
                    self.0.pass(|take| take.head(head))?;
                    map.next_value_seed(Tables(&mut *self.0))?;
                    has_tables = true;
                }
                _ => {
                    map.next_value::<IgnoredAny>()?;
                }
            }
        }
        if has_tables { Ok(()) } else { Err(Error::custom("it has no tables")) }
    }
}

/// The list of tables.
struct Tables<'h, 't>(&'h mut Hands<'t>);

impl<'de> DeserializeSeed<'de> for Tables<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Tables<'_, '_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of tables")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        while seq.next_element_seed(OneTable(&mut *self.0))?.is_some() {}
        Ok(())
    }
}

/// One table.
struct OneTable<'h, 't>(&'h mut Hands<'t>);

impl<'de> DeserializeSeed<'de> for OneTable<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for OneTable<'_, '_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a table: its name, columns and rows")
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<(), A::Error> {
        let (mut table, mut columns, mut last_id) = (None::<String>, None::<Vec<Named>>, None);
        let (mut count, mut sha256, mut has_rows) = (None, None, false);
        while let Some(name) = map.next_key::<String>()? {
            match name.as_str() {
                "table" => table = Some(map.next_value()?),
                "columns" => columns = Some(map.next_value()?),
                "last_id" => last_id = Some(map.next_value::<i64>()?),
                "rows" if !has_rows => {
                    let (Some(table), Some(columns)) = (&table, &columns) else {
                        return Err(Error::custom("a table has its rows before its name and columns"));
                    };
                    self.0.pass(|take| take.begin(table, columns, last_id))?;
                    map.next_value_seed(Rows(&mut *self.0))?;
                    has_rows = true;
                }
                "count" => count = map.next_value::<Option<u64>>()?,
                "sha256" => sha256 = map.next_value::<Option<String>>()?,
                _ => {
                    map.next_value::<IgnoredAny>()?;
                }
            }
        }
        if !has_rows {
            return Err(Error::custom("a table has no rows"));
        }
        self.0.pass(|take| take.end(count, sha256))
    }
}

/// The rows of a table.
struct Rows<'h, 't>(&'h mut Hands<'t>);

impl<'de> DeserializeSeed<'de> for Rows<'_, '_> {
    type Value = ();
    fn deserialize<D: Deserializer<'de>>(self, d: D) -> Result<(), D::Error> {
        d.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for Rows<'_, '_> {
    type Value = ();
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of rows")
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<(), A::Error> {
        while let Some(values) = seq.next_element::<Vec<Value>>()? {
            self.0.pass(|take| take.row(values))?;
        }
        Ok(())
    }
}
