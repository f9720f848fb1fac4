//! Strict reading of JSON: repeated and unknown names are refused, figures must be strings, and every complaint says where.

use super::Refusal;
use crate::trade::decimal::BadFigure;
use crate::trade::money::{Money, Percent, Rate};
use crate::trade::weight::Weight;
use serde::de::{Deserialize, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use std::fmt;
use std::str::FromStr;

/// The longest name or id, in characters.
const LONGEST_NAME: usize = 200;
/// The longest list.
const LONGEST_LIST: usize = 1000;

/// A JSON value that has kept repeated names and forgotten what numbers said, except small whole ones.
#[derive(Debug)]
pub(super) enum Node {
    Null,
    Bool(bool),
    /// The number, if it is whole, not negative and below 2^32.
    Number(Option<u32>),
    Text(String),
    List(Vec<Node>),
    Object(Vec<(String, Node)>),
}

impl Node {
    /// Reads one JSON value and nothing after it.
    pub(super) fn read(input: &[u8]) -> Result<Self, Refusal> {
        if input.iter().all(u8::is_ascii_whitespace) {
            return Err(Refusal::new("", "There is no input. Give one JSON object"));
        }
        serde_json::from_slice(input).map_err(|e| Refusal::new("", format!("This is not one JSON object: {e}")))
    }

    fn kind(&self) -> &'static str {
        match self {
            Self::Null => "null",
            Self::Bool(_) => "true or false",
            Self::Number(_) => "a number",
            Self::Text(_) => "a string",
            Self::List(_) => "a list",
            Self::Object(_) => "an object",
        }
    }
}

struct NodeVisitor;

impl<'de> Visitor<'de> for NodeVisitor {
    type Value = Node;
    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("JSON")
    }
    fn visit_unit<E: Error>(self) -> Result<Node, E> {
        Ok(Node::Null)
    }
    fn visit_bool<E: Error>(self, yes: bool) -> Result<Node, E> {
        Ok(Node::Bool(yes))
    }
    fn visit_i64<E: Error>(self, n: i64) -> Result<Node, E> {
        Ok(Node::Number(u32::try_from(n).ok()))
    }
    fn visit_u64<E: Error>(self, n: u64) -> Result<Node, E> {
        Ok(Node::Number(u32::try_from(n).ok()))
    }
    fn visit_f64<E: Error>(self, _: f64) -> Result<Node, E> {
        Ok(Node::Number(None))
    }
    fn visit_str<E: Error>(self, text: &str) -> Result<Node, E> {
        Ok(Node::Text(text.to_string()))
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Node, A::Error> {
        let mut nodes = Vec::new();
        while let Some(node) = list.next_element()? {
            nodes.push(node);
        }
        Ok(Node::List(nodes))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Node, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
        }
        Ok(Node::Object(entries))
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(NodeVisitor)
    }
}

/// A value and where it stands.
#[derive(Clone)]
pub(super) struct Field<'a> {
    node: &'a Node,
    pub(super) at: String,
}

/// An object whose names have been checked.
pub(super) struct Fields<'a> {
    entries: &'a [(String, Node)],
    pub(super) at: String,
}

impl<'a> Fields<'a> {
    /// The whole input as an object with only these names.
    pub(super) fn root(node: &'a Node, names: &[&str]) -> Result<Self, Refusal> {
        Field { node, at: String::new() }.object(names)
    }

    /// The path of a name in this object.
    pub(super) fn path(&self, name: &str) -> String {
        if self.at.is_empty() { name.to_string() } else { format!("{}.{name}", self.at) }
    }

    /// A field that may be left out.
    pub(super) fn get(&self, name: &str) -> Option<Field<'a>> {
        let (_, node) = self.entries.iter().find(|(n, _)| n == name)?;
        Some(Field { node, at: self.path(name) })
    }

    /// A field that must be there.
    pub(super) fn need(&self, name: &str) -> Result<Field<'a>, Refusal> {
        self.get(name).ok_or_else(|| Refusal::new(self.path(name), format!("“{name}” is missing")))
    }

    /// A list that may be left out, which is the same as an empty one.
    pub(super) fn list(&self, name: &str) -> Result<Vec<Field<'a>>, Refusal> {
        self.get(name).map_or(Ok(Vec::new()), Field::list)
    }
}

impl<'a> Field<'a> {
    fn expected<T>(&self, what: &str) -> Result<T, Refusal> {
        Err(Refusal::new(self.at.clone(), format!("This is {}. Give {what}", self.node.kind())))
    }

    /// An object with only these names, none twice.
    pub(super) fn object(self, names: &[&str]) -> Result<Fields<'a>, Refusal> {
        let Node::Object(entries) = self.node else { return self.expected("an object, in { }") };
        let fields = Fields { entries, at: self.at };
        let mut seen: Vec<&str> = Vec::new();
        for (name, _) in entries {
            let short: String = name.chars().filter(|c| !c.is_control()).take(60).collect();
            if !names.contains(&name.as_str()) {
                let known = names.join(", ");
                let error = format!("“{short}” is not a field that is known here. Known are: {known}");
                return Err(Refusal::new(fields.path(&short), error));
            }
            if seen.contains(&name.as_str()) {
                return Err(Refusal::new(fields.path(&short), format!("“{short}” is given twice")));
            }
            seen.push(name);
        }
        Ok(fields)
    }

    /// A list; its items know their places.
    pub(super) fn list(self) -> Result<Vec<Field<'a>>, Refusal> {
        self.list_of(LONGEST_LIST)
    }

    /// A list of at most `most`.
    pub(super) fn list_of(self, most: usize) -> Result<Vec<Field<'a>>, Refusal> {
        let Node::List(nodes) = self.node else { return self.expected("a list, in [ ]") };
        if nodes.len() > most {
            return Err(Refusal::new(self.at, format!("The list is longer than {most}")));
        }
        Ok(nodes.iter().enumerate().map(|(i, node)| Field { node, at: format!("{}[{i}]", self.at) }).collect())
    }

    /// `None` when it is null.
    pub(super) fn or_null(self) -> Option<Self> {
        if self.is_null() { None } else { Some(self) }
    }

    /// True or false.
    pub(super) fn yes(&self) -> Result<bool, Refusal> {
        match self.node {
            Node::Bool(yes) => Ok(*yes),
            _ => self.expected("true or false"),
        }
    }

    /// A whole number of a range, both ends in it.
    pub(super) fn between(&self, least: u32, most: u32) -> Result<u32, Refusal> {
        match self.whole()? {
            n if (least..=most).contains(&n) => Ok(n),
            n => Err(Refusal::new(self.at.clone(), format!("This is {n}. Give a whole number from {least} to {most}"))),
        }
    }

    /// Text that `read` understands, else its complaint.
    pub(super) fn read<T>(&self, what: &str, read: impl FnOnce(&str) -> Result<T, String>) -> Result<T, Refusal> {
        read(self.text(what)?).map_err(|error| Refusal::new(self.at.clone(), error))
    }

    fn text(&self, what: &str) -> Result<&'a str, Refusal> {
        match self.node {
            Node::Text(text) => Ok(text),
            _ => self.expected(what),
        }
    }

    /// A name or id: 1 to 200 characters, no control characters, not only blanks.
    pub(super) fn name(&self) -> Result<String, Refusal> {
        let text = self.text("a name, in quotes")?;
        let refuse = |error: &str| Err(Refusal::new(self.at.clone(), error));
        if text.trim().is_empty() {
            return refuse("This is empty. Give a name");
        }
        if text.chars().count() > LONGEST_NAME {
            return refuse("This is longer than 200 characters. Give a shorter name");
        }
        if text.chars().any(char::is_control) {
            return refuse("This has a line end or another control character in it. Give a name on one line");
        }
        Ok(text.to_string())
    }

    /// A whole number, not negative: an age or a count, which no floating point can bend.
    pub(super) fn whole(&self) -> Result<u32, Refusal> {
        match self.node {
            Node::Number(Some(n)) => Ok(*n),
            Node::Number(None) => {
                Err(Refusal::new(self.at.clone(), "This is not a whole number, 0 or more, such as 3"))
            }
            _ => self.expected("a whole number without quotes, such as 3"),
        }
    }
    /// Whether this is `null`, which is the same as left out where it is allowed.
    pub(super) fn is_null(&self) -> bool {
        matches!(self.node, Node::Null)
    }
    /// Whether this is a string.
    pub(super) fn is_text(&self) -> bool {
        matches!(self.node, Node::Text(_))
    }

    /// One of a closed list of words.
    pub(super) fn word<T: FromStr<Err = String>>(&self) -> Result<T, Refusal> {
        let text = self.text("a word, in quotes")?;
        let short: String = text.chars().take(40).collect();
        text.parse().map_err(|choose| Refusal::new(self.at.clone(), format!("“{short}” is not known here: {choose}")))
    }

    fn figure<T>(&self, example: &str, read: fn(&str) -> Result<T, BadFigure>) -> Result<T, Refusal> {
        let text = self.text(&format!("a decimal figure as a string, such as \"{example}\""))?;
        read(text).map_err(|bad| Refusal::new(self.at.clone(), bad.sentence(text, &format!("\"{example}\""))))
    }

    /// An amount, at most two decimals; may be negative.
    pub(super) fn money(&self) -> Result<Money, Refusal> {
        self.figure("150.00", Money::parse)
    }
    /// A weight, at most two decimals, not negative.
    pub(super) fn weight(&self) -> Result<Weight, Refusal> {
        self.figure("162.50", Weight::parse)
    }
    /// A rate, at most four decimals, not negative.
    pub(super) fn rate(&self) -> Result<Rate, Refusal> {
        self.figure("5.25", Rate::parse)
    }
    /// A per cent, at most three decimals, 0 to 100.
    pub(super) fn percent(&self) -> Result<Percent, Refusal> {
        self.figure("5.5", Percent::parse)
    }
}
