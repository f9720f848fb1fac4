//! The look: the frame around every page, shared parts, forms as they are typed, style sheet and script.
//!
//! | file | what is in it |
//! |---|---|
//! | `mod.rs` | [`Frame`]: what `templates/frame.html` needs; [`Tab`], [`Notice`], [`choices`] |
//! | [`chart`] | bars and lines, drawn |
//! | [`draft`] | [`draft::Draft`]: a form as it was typed, with what is wrong; `templates/parts/fields.html` shows it |
//! | [`form`] | [`form::FormIn`]: reads a submitted form, one sentence per fault |
//! | [`assets`] | style sheet, script and icon, with addresses that change when they do |
//! | [`parts`] | values for `templates/parts/lists.html`: standings, sums, stories, what is due |
//! | [`qr`] | a picture for a phone's camera |
//! | [`rail`] | who owns what of a head, drawn |
//! | [`respond`] | templates to responses |
//! | [`side`] | a side with its blocks, some marked |
//! | [`words`] | counts written out |

pub mod assets;
pub mod chart;
pub mod draft;
pub mod form;
pub mod neighbor;
pub mod parts;
pub mod qr;
pub mod rail;
pub mod respond;
pub mod side;
pub mod words;

use super::permission::helper_may;

/// The name of the hidden field that carries the one-use form key.
pub const FORM_KEY: &str = "form_key";

/// The words of the main navigation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Tab {
    /// What is due.
    Today,
    /// The order book.
    Orders,
    /// Each head.
    Animals,
    /// Processing dates.
    Dates,
    /// Offerings and prices.
    ForSale,
    /// People.
    Customers,
    /// Invoices, payments, what is owed.
    Money,
    /// Messages.
    Outbox,
    /// The farm, processors, mail, accounts.
    Settings,
    /// A page below none of them, such as the search.
    #[default]
    None,
}

impl Tab {
    const FIRST: [Self; 4] = [Self::Today, Self::Orders, Self::Animals, Self::Dates];
    /// What a helper sees of the others.
    const HELPERS: [Self; 1] = [Self::Customers];
    const OTHERS: [Self; 5] = [Self::ForSale, Self::Customers, Self::Money, Self::Outbox, Self::Settings];

    /// The word people read.
    pub const fn label(self) -> &'static str {
        match self {
            Self::Today => "Today",
            Self::Orders => "Orders",
            Self::Animals => "Animals",
            Self::Dates => "Dates",
            Self::ForSale => "For sale",
            Self::Customers => "Customers",
            Self::Money => "Money",
            Self::Outbox => "Outbox",
            Self::Settings => "Settings",
            Self::None => "",
        }
    }

    /// Where it leads.
    pub const fn href(self) -> &'static str {
        match self {
            Self::Today | Self::None => "/",
            Self::Orders => "/orders",
            Self::Animals => "/animals",
            Self::Dates => "/dates",
            Self::ForSale => "/for-sale",
            Self::Customers => "/customers",
            Self::Money => "/money",
            Self::Outbox => "/outbox",
            Self::Settings => "/settings",
        }
    }
}

/// What kind of word a [`Notice`] is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoticeKind {
    /// Something was saved.
    Ok,
    /// A caution.
    Warn,
    /// Neither.
    Plain,
}

impl NoticeKind {
    /// The class in the style sheet.
    pub const fn class(self) -> &'static str {
        match self {
            Self::Ok => "ok",
            Self::Warn => "warn",
            Self::Plain => "",
        }
    }
}

/// One sentence at the top of the page, gone on the next one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
    /// Saved, caution or plain.
    pub kind: NoticeKind,
    /// The sentence.
    pub text: String,
}

impl Notice {
    /// "Weights of five head saved."
    pub fn ok(text: impl Into<String>) -> Self {
        Self { kind: NoticeKind::Ok, text: text.into() }
    }
    /// A caution.
    pub fn warn(text: impl Into<String>) -> Self {
        Self { kind: NoticeKind::Warn, text: text.into() }
    }
}

/// What the frame around a page shows. Every page template has it as its field `frame`.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Frame {
    /// The farm's name; "Gambrel" before set-up.
    pub farm: String,
    /// Who is signed in.
    pub signed_in: Option<String>,
    /// Which word of the navigation carries the gambrel.
    pub current: Tab,
    /// One sentence about what was just done.
    pub notice: Option<Notice>,
    /// A fresh one-use form key for the forms of this page.
    pub form_key: String,
    /// Whether this is the demo farm.
    pub demo: bool,
    /// Whether it is a helper's page: no money, and no links to what a helper may not open.
    pub limited: bool,
}

impl Frame {
    /// A frame for a page below `current`; the other fields are filled in by whoever knows them.
    pub fn new(farm: impl Into<String>, current: Tab) -> Self {
        Self { farm: farm.into(), current, ..Self::default() }
    }
    /// The address of a file of `assets/`, see [`assets::asset_url`].
    pub fn asset(&self, name: &str) -> String {
        assets::asset_url(name)
    }
    /// The name of the hidden field with the form key.
    pub const fn form_key_name(&self) -> &'static str {
        FORM_KEY
    }
    /// Whether this page is below `tab`.
    pub fn is_at(&self, tab: &Tab) -> bool {
        self.current == *tab
    }
    /// Whether this page is below a word that phones keep under "More".
    pub fn is_under_more(&self) -> bool {
        Tab::OTHERS.contains(&self.current)
    }
    /// The words that are always in view.
    pub const fn first_tabs(&self) -> &'static [Tab] {
        &Tab::FIRST
    }
    /// The words that phones keep under "More".
    pub const fn other_tabs(&self) -> &'static [Tab] {
        if self.limited { &Tab::HELPERS } else { &Tab::OTHERS }
    }
    /// Whether the person may open this address.
    pub fn may(&self, href: &str) -> bool {
        !self.limited || helper_may(href)
    }
}

/// The lines of a select or a set of ticks: what is sent, and what people read.
pub type Choices = Vec<(String, String)>;

/// Lines for a list of words: `choices(Species::ALL, Species::as_str, Species::label)`. Labels begin with a capital.
pub fn choices<T: Copy>(all: &[T], word: fn(T) -> &'static str, label: fn(T) -> &'static str) -> Choices {
    all.iter().map(|&one| (word(one).to_string(), capital(label(one)))).collect()
}

/// The same words beginning with a capital letter.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests;
