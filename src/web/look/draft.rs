//! A form as it was typed, with what is wrong with it; shown by `templates/parts/fields.html`.

/// One thing wrong with a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The field's name, which is also its id; empty when it is about the form as a whole.
    pub field: String,
    /// One sentence that says what is wrong and what to do.
    pub says: String,
}

/// What stands in the fields of a form, and what is wrong with it, in the order of the page.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Draft {
    values: Vec<(String, String)>,
    problems: Vec<Problem>,
    headline: Option<String>,
    clashes: Vec<Clash>,
    keep_theirs: String,
}

/// A field that somebody else saved differently while it was typed here.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clash {
    /// The field's label.
    pub label: String,
    /// What was typed here.
    pub mine: String,
    /// What is saved.
    pub theirs: String,
}

impl Draft {
    /// An empty form.
    pub fn empty() -> Self {
        Self::default()
    }

    /// A form as it was sent; a name may have several values.
    pub const fn typed(values: Vec<(String, String)>) -> Self {
        Self { values, problems: Vec::new(), headline: None, clashes: Vec::new(), keep_theirs: String::new() }
    }

    /// Fills in a field. A second value under one name is kept beside the first (for ticks).
    #[must_use]
    pub fn with(mut self, name: impl Into<String>, value: impl Into<String>) -> Self {
        self.values.push((name.into(), value.into()));
        self
    }

    /// Fills in a field when there is something to fill in.
    #[must_use]
    pub fn with_some(self, name: impl Into<String>, value: Option<impl Into<String>>) -> Self {
        match value {
            Some(value) => self.with(name, value),
            None => self,
        }
    }

    /// Fills in a field unless something stands in it already.
    #[must_use]
    pub fn or(self, name: &str, value: impl Into<String>) -> Self {
        if self.values.iter().any(|(n, _)| n == name) { self } else { self.with(name, value) }
    }

    /// This form with what is wrong with another form of the same page, and what was typed there beside its own fields.
    #[must_use]
    pub fn under(mut self, other: Self) -> Self {
        for (name, value) in other.values {
            if !self.values.iter().any(|(n, _)| *n == name) {
                self.values.push((name, value));
            }
        }
        self.problems.extend(other.problems);
        self
    }

    /// Forgets what stands in a field (passwords).
    #[must_use]
    pub fn without(mut self, name: &str) -> Self {
        self.values.retain(|(n, _)| n != name);
        self
    }

    /// Records what is wrong with a field; an empty name is about the form as a whole.
    #[must_use]
    pub fn problem(mut self, name: impl Into<String>, says: impl Into<String>) -> Self {
        self.problems.push(Problem { field: name.into(), says: says.into() });
        self
    }

    /// Turns the draft into a stale one: somebody saved `stored` in between. The fields that differ are shown side by side;
    /// the hidden `version` is renewed, so that saving again keeps mine; `keep_theirs` is the page that shows theirs.
    #[must_use]
    pub fn stale(mut self, stored: &Self, labels: &[(&str, &str)], keep_theirs: &str) -> Self {
        for (name, label) in labels {
            let (mine, theirs): (Vec<_>, Vec<_>) = (self.all(name).collect(), stored.all(name).collect());
            if mine != theirs {
                let (mine, theirs) = (mine.join(", "), theirs.join(", "));
                self.clashes.push(Clash { label: (*label).to_string(), mine, theirs });
            }
        }
        self.values.retain(|(name, _)| name != "version");
        self.keep_theirs = keep_theirs.to_string();
        let version = stored.val("version").to_string();
        self.with("version", version)
            .headed("Somebody else saved this while you had it open")
            .problem("", "Save again to keep what you typed, or keep what they saved.")
    }

    /// The fields somebody else saved differently.
    pub fn clashes(&self) -> &[Clash] {
        &self.clashes
    }

    /// Where "Keep theirs" leads.
    pub fn keep_theirs(&self) -> &str {
        &self.keep_theirs
    }

    /// The summary's first line in the page's own words, such as "Two weights need another look".
    #[must_use]
    pub fn headed(mut self, words: impl Into<String>) -> Self {
        self.headline = Some(words.into());
        self
    }

    /// Whether anything is wrong.
    pub const fn is_refused(&self) -> bool {
        !self.problems.is_empty()
    }

    /// What is wrong, in the order of the page.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }

    /// "Error: " when something is wrong; stands first in the page's title.
    pub const fn mark(&self) -> &'static str {
        if self.is_refused() { "Error: " } else { "" }
    }

    /// The summary's first line.
    pub fn headline(&self) -> String {
        if let Some(words) = &self.headline {
            return words.clone();
        }
        match self.problems.len() {
            1 => "One thing needs another look".to_string(),
            n => format!("{} things need another look", super::words::count(n)),
        }
    }

    /// What stands in a field; empty when nothing does.
    pub fn val(&self, name: impl AsRef<str>) -> &str {
        self.values.iter().find(|(n, _)| n == name.as_ref()).map_or("", |(_, value)| value)
    }

    /// Everything under one name, in order.
    pub fn all(&self, name: impl AsRef<str>) -> impl Iterator<Item = &str> {
        self.values.iter().filter(move |(n, _)| n == name.as_ref()).map(|(_, value)| value.as_str())
    }

    /// What is wrong with a field; empty when nothing is.
    pub fn err(&self, name: impl AsRef<str>) -> &str {
        self.problems.iter().find(|p| p.field == name.as_ref()).map_or("", |p| &p.says)
    }

    /// Whether something is wrong with a field.
    pub fn has_err(&self, name: impl AsRef<str>) -> bool {
        !self.err(name).is_empty()
    }

    /// Whether `value` stands in the field.
    pub fn is(&self, name: impl AsRef<str>, value: impl AsRef<str>) -> bool {
        self.val(name) == value.as_ref()
    }

    /// Whether `value` is among the field's values.
    pub fn checked(&self, name: impl AsRef<str>, value: impl AsRef<str>) -> bool {
        self.all(name).any(|one| one == value.as_ref())
    }

    /// The input type for a date: `text` when a date field would drop what was typed.
    pub fn date_kind(&self, name: impl AsRef<str>) -> &'static str {
        let value = self.val(name);
        let is_iso = value.len() == 10 && chrono::NaiveDate::parse_from_str(value, "%Y-%m-%d").is_ok();
        if value.is_empty() || is_iso { "date" } else { "text" }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_and_problems_are_found_by_name() {
        let draft = Draft::empty().with("size", "half").with("size", "quarter").problem("price", "Price is empty.");
        assert_eq!(draft.val("size"), "half");
        assert!(draft.checked("size", "quarter") && !draft.checked("size", "whole"));
        assert!(draft.has_err("price") && !draft.has_err("size"));
        assert_eq!((draft.mark(), draft.headline().as_str()), ("Error: ", "One thing needs another look"));
        let two = draft.problem("", "The offering is closed.");
        assert_eq!(two.headline(), "Two things need another look");
        assert!(!two.has_err("nothing"));
        assert_eq!(Draft::empty().mark(), "");
    }

    #[test]
    fn a_stale_draft_shows_both_and_saves_over_theirs_only_when_sent_again() {
        let stored = Draft::empty().with("name", "Ada B.").with("phone", "1").with("version", "8");
        let mine = Draft::typed(vec![
            ("name".into(), "Ada".into()),
            ("phone".into(), "1".into()),
            ("version".into(), "7".into()),
        ]);
        let stale = mine.stale(&stored, &[("name", "Name"), ("phone", "Phone")], "/customers/3");
        assert_eq!(stale.clashes(), [Clash { label: "Name".into(), mine: "Ada".into(), theirs: "Ada B.".into() }]);
        assert_eq!((stale.val("version"), stale.val("name")), ("8", "Ada"));
        assert!(stale.is_refused());
    }

    #[test]
    fn a_default_never_replaces_what_was_typed() {
        let typed = Draft::typed(vec![("days".into(), String::new())]);
        assert_eq!(typed.or("days", "14").val("days"), "");
        assert_eq!(Draft::empty().or("days", "14").val("days"), "14");
    }

    #[test]
    fn a_date_field_never_drops_what_was_typed() {
        let kind = |value: &str| Draft::empty().with("d", value).date_kind("d");
        assert_eq!(
            (kind(""), kind("2027-10-14"), kind("Oct 14"), kind("2027-02-30")),
            ("date", "date", "text", "text")
        );
    }
}
