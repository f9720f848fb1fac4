//! Plain values for the parts of `templates/parts/lists.html`: standings, sums, stories, what is due, steps.

use crate::trade::money::Money;
use askama::Template;

/// The shape of a standing; see [`Standing`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Open square, oxblood: somebody has to act.
    Todo,
    /// Filled triangle, oxblood: the date is past.
    Late,
    /// Half filled: begun.
    Part,
    /// Half filled, oxblood: begun, and due.
    PartTodo,
    /// Tick, green: finished.
    Done,
    /// Open ring, soft: nothing to do yet.
    Wait,
    /// No shape: words only.
    None,
}

/// How a thing stands: a shape and a word, so that it reads in gray too. Put it on a page as `{{ standing }}`.
#[derive(Debug, Clone, PartialEq, Eq, Template)]
#[template(
    source = r#"{% if shape == Shape::None %}{{ words }}{% else %}<span class="st {{ self.class() }}">{{ words }}</span>{% endif %}"#,
    ext = "html"
)]
pub struct Standing {
    /// Its shape.
    pub shape: Shape,
    /// Its word: what is to be done, how late it is, when it was finished.
    pub words: String,
}

// The template escapes the words.
impl askama::filters::HtmlSafe for Standing {}

impl Standing {
    /// A standing with its word.
    pub fn new(shape: Shape, words: impl Into<String>) -> Self {
        Self { shape, words: words.into() }
    }
    /// Somebody has to act.
    pub fn todo(words: impl Into<String>) -> Self {
        Self::new(Shape::Todo, words)
    }
    /// The date is past; say by how much.
    pub fn late(words: impl Into<String>) -> Self {
        Self::new(Shape::Late, words)
    }
    /// Begun.
    pub fn part(words: impl Into<String>) -> Self {
        Self::new(Shape::Part, words)
    }
    /// Finished; say when.
    pub fn done(words: impl Into<String>) -> Self {
        Self::new(Shape::Done, words)
    }
    /// Nothing to do yet.
    pub fn wait(words: impl Into<String>) -> Self {
        Self::new(Shape::Wait, words)
    }
    /// Words without a shape, such as a date in a list.
    pub fn plain(words: impl Into<String>) -> Self {
        Self::new(Shape::None, words)
    }
    const fn class(&self) -> &'static str {
        match self.shape {
            Shape::Todo => "todo",
            Shape::Late => "late",
            Shape::Part => "part",
            Shape::PartTodo => "part todo",
            Shape::Done => "done",
            Shape::Wait => "wait",
            Shape::None => "",
        }
    }
}

/// What a line of a sum is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SumKind {
    /// One of the lines.
    Line,
    /// A subtotal, with a line above.
    Middle,
    /// The balance, over a double line.
    Total,
    /// The first line of what is not part of the sum.
    Apart,
}

/// A line of a sum, as on a ledger: what for, how it was reckoned, the amount.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SumLine {
    /// Line, subtotal, balance or apart.
    pub kind: SumKind,
    /// What for, with the workings: "Left side, hot, 389.50 lb × $4.65".
    pub what: String,
    /// A second line, small; empty when there is none.
    pub small: String,
    /// The amount without the dollar sign, or a range.
    pub amount: String,
}

impl SumLine {
    /// One of the lines.
    pub fn new(what: impl Into<String>, amount: Money) -> Self {
        Self { kind: SumKind::Line, what: what.into(), small: String::new(), amount: amount.shown() }
    }
    /// A line whose amount is words, such as a range "873 – 960".
    pub fn words(what: impl Into<String>, amount: impl Into<String>) -> Self {
        Self { kind: SumKind::Line, what: what.into(), small: String::new(), amount: amount.into() }
    }
    /// With a second line below.
    #[must_use]
    pub fn small(mut self, words: impl Into<String>) -> Self {
        self.small = words.into();
        self
    }
    /// As a subtotal, the balance, or apart.
    #[must_use]
    pub const fn as_a(mut self, kind: SumKind) -> Self {
        self.kind = kind;
        self
    }
    /// Whether the amount is words, which may run over several lines.
    pub fn is_words(&self) -> bool {
        self.amount.chars().any(char::is_alphabetic)
    }
    /// The row's class.
    pub const fn class(&self) -> &'static str {
        match self.kind {
            SumKind::Line => "",
            SumKind::Middle => "mid",
            SumKind::Total => "tot",
            SumKind::Apart => "apart",
        }
    }
}

/// A link: where to, and its words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    /// An address on this service.
    pub href: String,
    /// What people read.
    pub words: String,
}

impl Link {
    /// A link.
    pub fn new(href: impl Into<String>, words: impl Into<String>) -> Self {
        Self { href: href.into(), words: words.into() }
    }
}

/// A line of a story: one sentence, oldest first; the last line is what comes next.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoryLine {
    /// "Mar 8", or a standing such as "Next".
    pub when: Standing,
    /// One sentence.
    pub says: String,
    /// A second line; empty when there is none.
    pub why: String,
    /// Where to read more.
    pub link: Option<Link>,
    /// Still to come.
    pub later: bool,
}

impl StoryLine {
    /// Something that happened.
    pub fn new(when: impl Into<String>, says: impl Into<String>) -> Self {
        Self { when: Standing::plain(when), says: says.into(), why: String::new(), link: None, later: false }
    }
    /// What comes next.
    pub fn next(says: impl Into<String>) -> Self {
        Self { when: Standing::todo("Next"), ..Self::new("", says) }
    }
    /// What is still to come after that.
    pub fn later(when: impl Into<String>, says: impl Into<String>) -> Self {
        Self { later: true, ..Self::new(when, says) }
    }
    /// With a second line.
    #[must_use]
    pub fn why(mut self, words: impl Into<String>) -> Self {
        self.why = words.into();
        self
    }
    /// With a link behind the second line.
    #[must_use]
    pub fn link(mut self, href: impl Into<String>, words: impl Into<String>) -> Self {
        self.link = Some(Link::new(href, words));
        self
    }
}

/// A line of what is due: when, what, and the one button that does it. The button names its object.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DueLine {
    /// "8 days late", "Due today", or a plain date.
    pub when: Standing,
    /// What, with where to look at it.
    pub what: Link,
    /// A second line.
    pub why: String,
    /// The button: "Remind Ruth Kessel".
    pub act: Link,
}

/// A step of a date's way from booked to collected.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    /// "Weigh-in".
    pub name: String,
    /// How it stands.
    pub standing: Standing,
    /// Whether it is the one that is on now.
    pub now: bool,
}

/// The address a phone dials (RFC 3966): the figures, and a plus sign when it leads; the extension stays out.
pub fn tel(phone: &str) -> String {
    let number = phone.split(['x', 'X', 'e', 'E']).next().unwrap_or(phone);
    let plus = if number.trim_start().starts_with('+') { "+" } else { "" };
    let figures: String = number.chars().filter(char::is_ascii_digit).collect();
    format!("tel:{plus}{figures}")
}

/// The address a mail program opens (RFC 6068): everything but letters, figures and a few signs percent-encoded.
pub fn mailto(address: &str) -> String {
    let mut out = String::from("mailto:");
    for byte in address.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~@+".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_standing_is_a_shape_and_an_escaped_word() {
        assert_eq!(
            Standing::late("8 days <late>").to_string(),
            r#"<span class="st late">8 days &#60;late&#62;</span>"#
        );
        assert_eq!(Standing::new(Shape::PartTodo, "6 of 9").to_string(), r#"<span class="st part todo">6 of 9</span>"#);
        assert_eq!(Standing::plain("Sat & Sun").to_string(), "Sat &#38; Sun");
    }

    #[test]
    fn a_sum_line_shows_a_real_minus() {
        let line = SumLine::new("Deposit", Money::from_cents(-40_000)).small("Check 1182").as_a(SumKind::Middle);
        assert_eq!((line.amount.as_str(), line.class(), line.small.as_str()), ("−400.00", "mid", "Check 1182"));
    }

    #[test]
    fn a_mail_address_cannot_bring_its_own_subject() {
        assert_eq!(mailto("ines+farm@halvard.example"), "mailto:ines+farm@halvard.example");
        assert_eq!(mailto("a?subject=x&y@b.example"), "mailto:a%3Fsubject%3Dx%26y@b.example");
    }

    #[test]
    fn a_phone_dials_figures_only() {
        assert_eq!(tel("(715) 555-0117 x12"), "tel:7155550117");
        assert_eq!(tel("+1 715.555.0117 ext 4"), "tel:+17155550117");
    }
}
