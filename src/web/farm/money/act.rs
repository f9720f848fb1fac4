//! The page of a small act about money: what it is, a caution, a few fields, one button.

use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::{Choices, Frame};
use askama::Template;

/// A field of such a form, in the order of the page.
pub enum Field {
    /// Sent along unseen.
    Hidden(&'static str),
    /// How money came or went.
    Radios(&'static str, &'static str, Choices),
    /// An amount; name, label, hint.
    Money(&'static str, &'static str, String),
    /// An amount that may be left out; name, label, hint.
    MaybeMoney(&'static str, &'static str, String),
    /// A day; name, label.
    Date(&'static str, &'static str),
    /// A line of text; name, label, hint.
    Text(&'static str, &'static str, String),
    /// A line of text that may be left out; name, label.
    MaybeText(&'static str, &'static str),
    /// One of a list; name, label, choices.
    Select(&'static str, &'static str, Choices),
    /// A box to tick; name, label, why.
    Tick(&'static str, &'static str, &'static str),
}

/// The page.
#[derive(Template)]
#[template(path = "farm/money/act.html")]
pub struct ActPage {
    /// The frame.
    pub frame: Frame,
    /// What was typed.
    pub draft: Draft,
    /// Where it is reached from; the last one is where "back" leads.
    pub over: Vec<Link>,
    /// What is to be done.
    pub heading: String,
    /// One sentence more.
    pub lead: String,
    /// A caution, or empty.
    pub caution: String,
    /// A box to look for something in a long list: its label. What is looked for stands in the draft as "q".
    pub search: Option<&'static str>,
    /// The fields; without any there is nothing to be done, and the lead says why.
    pub fields: Vec<Field>,
    /// The words of the button.
    pub button: &'static str,
}

impl ActPage {
    fn back(&self) -> &str {
        self.over.last().map_or("/money", |link| link.href.as_str())
    }
}
