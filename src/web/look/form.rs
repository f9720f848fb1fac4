//! Reads a submitted form: each method reads one field, and records one sentence when it is not what it should be.
//!
//! Every method gives `None` only after recording a sentence, so that one pass finds every fault. [`FormIn::finish`]
//! opens all the `Option`s at once, or gives the [`Draft`] to show again:
//!
//! ```
//! use gambrel::web::look::form::FormIn;
//! let mut form = FormIn::parse(b"name=Ines+Halvard&deposit=400&mail=").unwrap();
//! let name = form.text("name", "Name", 120);
//! let deposit = form.money("deposit", "Deposit");
//! let mail = form.optional_mail_address("mail", "Mail address");
//! let (name, deposit, mail) = form.finish((name, deposit, mail)).unwrap();
//! assert_eq!((name.as_str(), deposit.cents(), mail.as_str()), ("Ines Halvard", 40_000, ""));
//! ```
//!
//! `optional_…` gives an empty text, or `Some(None)` for what is not a text, when the field is blank.

mod contact;
mod dates;
mod figures;

pub use dates::DayOrMonth;

use super::draft::Draft;
use crate::trade::clean::{self, one_line, quoted, several_lines};
use std::str::FromStr;

/// The most fields a form may have; a weigh-in of 200 head has about 1,600.
const MOST_FIELDS: usize = 4_000;

/// A form as it was sent, and what was found wrong so far.
#[derive(Debug, Clone, Default)]
pub struct FormIn {
    pairs: Vec<(String, String)>,
    draft: Draft,
}

impl FormIn {
    /// A form from its fields in the order they were sent.
    pub fn new(pairs: Vec<(String, String)>) -> Self {
        let typed = pairs.iter().filter(|(name, _)| name != super::FORM_KEY).cloned().collect();
        Self { pairs, draft: Draft::typed(typed) }
    }

    /// A form from an `application/x-www-form-urlencoded` body or a query.
    ///
    /// # Errors
    /// A sentence when it has more than 4,000 fields.
    pub fn parse(body: &[u8]) -> Result<Self, &'static str> {
        let pairs: Vec<_> = form_urlencoded::parse(body).into_owned().take(MOST_FIELDS + 1).collect();
        if pairs.len() > MOST_FIELDS {
            return Err("This form has more fields than the service reads. Send it in parts.");
        }
        Ok(Self::new(pairs))
    }

    /// The first value under a name, as it was sent; empty when there is none.
    pub fn raw(&self, name: &str) -> &str {
        self.pairs.iter().find(|(n, _)| n == name).map_or("", |(_, value)| value)
    }

    /// Every value under a name, as it was sent.
    pub fn all(&self, name: &str) -> Vec<String> {
        self.pairs.iter().filter(|(n, _)| n == name).map(|(_, value)| value.clone()).collect()
    }

    /// The first value under a name on one line, without control characters and blanks around it.
    pub fn line(&self, name: &str) -> String {
        one_line(self.raw(name))
    }

    /// Whether nothing but blanks stands in a field.
    pub fn is_blank(&self, name: &str) -> bool {
        self.line(name).is_empty()
    }

    /// Whether a box is ticked.
    pub fn tick(&self, name: &str) -> bool {
        matches!(self.raw(name), "yes" | "on" | "1" | "true")
    }

    /// Records what is wrong with a field; an empty name is about the form as a whole.
    pub fn problem(&mut self, name: &str, says: impl Into<String>) {
        self.draft = std::mem::take(&mut self.draft).problem(name, says);
    }

    /// Whether anything was found wrong so far.
    pub const fn is_refused(&self) -> bool {
        self.draft.is_refused()
    }

    /// The form to show again, with everything found wrong.
    pub fn into_draft(self) -> Draft {
        self.draft
    }

    /// The form to show again with one more sentence, for what only the book could know.
    #[must_use]
    pub fn refuse(&self, name: &str, says: impl Into<String>) -> Draft {
        self.draft.clone().problem(name, says)
    }

    /// Opens a tuple of up to sixteen `Option`s (or one in a tuple of one) when nothing is wrong.
    ///
    /// # Errors
    /// The form to show again.
    pub fn finish<T: Together>(&mut self, parts: T) -> Result<T::Whole, Draft> {
        let whole = parts.together();
        if whole.is_none() && !self.draft.is_refused() {
            self.problem("", "Something in this form is missing. Look it over once more.");
        }
        whole.filter(|_| !self.draft.is_refused()).ok_or_else(|| self.draft.clone())
    }

    /// A text on one line, not empty, at most `max` characters.
    pub fn text(&mut self, name: &str, label: &str, max: usize) -> Option<String> {
        let text = self.optional_text(name, label, max)?;
        self.filled(name, label, text)
    }

    /// A text on one line, at most `max` characters; may be empty.
    pub fn optional_text(&mut self, name: &str, label: &str, max: usize) -> Option<String> {
        let text = self.line(name);
        self.short_enough(name, label, max, text)
    }

    /// A text on several lines, not empty, at most `max` characters.
    pub fn lines(&mut self, name: &str, label: &str, max: usize) -> Option<String> {
        let text = self.optional_lines(name, label, max)?;
        self.filled(name, label, text)
    }

    /// A text on several lines, at most `max` characters; may be empty.
    pub fn optional_lines(&mut self, name: &str, label: &str, max: usize) -> Option<String> {
        let text = several_lines(self.raw(name));
        self.short_enough(name, label, max, text)
    }

    /// A password of `min` to 200 characters, exactly as typed. It does not stay in the draft.
    pub fn secret(&mut self, name: &str, label: &str, min: usize) -> Option<String> {
        let text = self.raw(name).to_string();
        self.pairs.retain(|(n, _)| n != name);
        self.draft = std::mem::take(&mut self.draft).without(name);
        let length = text.chars().count();
        if length == 0 {
            self.problem(name, format!("{label} is empty. Fill it in."));
        } else if length < min {
            self.problem(name, format!("{label} is too short: take at least {min} characters."));
        } else if length > 200 {
            self.problem(name, format!("{label} is too long: take at most 200 characters."));
        } else {
            return Some(text);
        }
        None
    }

    /// One of a closed list of words.
    pub fn word<E: FromStr>(&mut self, name: &str, label: &str) -> Option<E> {
        let word = self.optional_word(name, label)?;
        if word.is_none() {
            self.problem(name, format!("{label}: choose one."));
        }
        word
    }

    /// One of a closed list of words, or none.
    pub fn optional_word<E: FromStr>(&mut self, name: &str, label: &str) -> Option<Option<E>> {
        let text = self.line(name);
        if text.is_empty() {
            return Some(None);
        }
        let word = text.parse().ok().map(Some);
        if word.is_none() {
            self.problem(name, format!("{label}: {} is not on the list. Choose one of the list.", quoted(&text)));
        }
        word
    }

    /// Every ticked word of a closed list, at least one, each once.
    pub fn words<E: FromStr + PartialEq>(&mut self, name: &str, label: &str) -> Option<Vec<E>> {
        let mut found = Vec::new();
        for text in self.all(name) {
            match text.parse() {
                Ok(word) if found.contains(&word) => {}
                Ok(word) => found.push(word),
                Err(_) => {
                    self.problem(name, format!("{label}: {} is not on the list.", quoted(&text)));
                    return None;
                }
            }
        }
        if found.is_empty() {
            self.problem(name, format!("{label}: tick at least one."));
            return None;
        }
        Some(found)
    }

    /// The number of a stored row, as selects and hidden fields send it: 1 and up.
    pub fn id(&mut self, name: &str, label: &str) -> Option<i64> {
        let id = self.optional_id(name, label)?;
        if id.is_none() {
            self.problem(name, format!("{label}: choose one."));
        }
        id
    }

    /// The number of a stored row, or none.
    pub fn optional_id(&mut self, name: &str, label: &str) -> Option<Option<i64>> {
        let text = self.line(name);
        if text.is_empty() {
            return Some(None);
        }
        let id = read_id(&text).map(Some);
        if id.is_none() {
            self.problem(name, format!("{label}: {} is not on the list. Choose one of the list.", quoted(&text)));
        }
        id
    }

    /// The numbers of every ticked row, each once; may be none.
    pub fn ids(&mut self, name: &str, label: &str) -> Option<Vec<i64>> {
        let mut found = Vec::new();
        for text in self.all(name) {
            match read_id(&text) {
                Some(id) if found.contains(&id) => {}
                Some(id) => found.push(id),
                None => {
                    self.problem(name, format!("{label}: {} is not on the list.", quoted(&text)));
                    return None;
                }
            }
        }
        Some(found)
    }

    fn filled(&mut self, name: &str, label: &str, text: String) -> Option<String> {
        if text.is_empty() {
            self.problem(name, format!("{label} is empty. Fill it in."));
            return None;
        }
        Some(text)
    }

    fn short_enough(&mut self, name: &str, label: &str, max: usize, text: String) -> Option<String> {
        let length = text.chars().count();
        if length > max {
            self.problem(name, format!("{label} has {length} characters and only {max} fit. Shorten it."));
            return None;
        }
        Some(text)
    }
}

/// A plain whole number from 1 up.
fn read_id(text: &str) -> Option<i64> {
    let digits = text.bytes().all(|b| b.is_ascii_digit());
    text.parse().ok().filter(|id| digits && *id > 0)
}

/// A tuple of `Option`s that can be opened at once.
pub trait Together {
    /// The tuple without the `Option`s.
    type Whole;
    /// Everything, or nothing when one is missing.
    fn together(self) -> Option<Self::Whole>;
}

impl Together for () {
    type Whole = ();
    fn together(self) -> Option<()> {
        Some(())
    }
}

macro_rules! together {
    ($($part:ident)+) => {
        impl<$($part),+> Together for ($(Option<$part>,)+) {
            type Whole = ($($part,)+);
            fn together(self) -> Option<Self::Whole> {
                #[expect(non_snake_case, reason = "one name serves as type and as value")]
                let ($($part,)+) = self;
                Some(($($part?,)+))
            }
        }
    };
}
together!(A);
together!(A B);
together!(A B C);
together!(A B C D);
together!(A B C D E);
together!(A B C D E F);
together!(A B C D E F G);
together!(A B C D E F G H);
together!(A B C D E F G H I);
together!(A B C D E F G H I J);
together!(A B C D E F G H I J K);
together!(A B C D E F G H I J K L);
together!(A B C D E F G H I J K L M);
together!(A B C D E F G H I J K L M N);
together!(A B C D E F G H I J K L M N O);
together!(A B C D E F G H I J K L M N O P);

#[cfg(test)]
mod tests;
