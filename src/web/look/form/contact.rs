//! Mail addresses and telephone numbers in a form.

use super::FormIn;
use super::clean::quoted;
use crate::trade::contact::{is_mail, is_phone};

impl FormIn {
    /// A mail address.
    pub fn mail_address(&mut self, name: &str, label: &str) -> Option<String> {
        let mail = self.optional_mail_address(name, label)?;
        self.filled(name, label, mail)
    }

    /// A mail address; may be blank and is then empty.
    pub fn optional_mail_address(&mut self, name: &str, label: &str) -> Option<String> {
        let typed = self.line(name);
        if typed.is_empty() || is_mail(&typed) {
            return Some(typed);
        }
        let shown = quoted(&typed);
        self.problem(name, format!("{label}: {shown} is not a mail address. Write it like ines@halvard.example."));
        None
    }

    /// A telephone number as it was typed.
    pub fn phone(&mut self, name: &str, label: &str) -> Option<String> {
        let phone = self.optional_phone(name, label)?;
        self.filled(name, label, phone)
    }

    /// A telephone number as it was typed; may be blank and is then empty.
    pub fn optional_phone(&mut self, name: &str, label: &str) -> Option<String> {
        let typed = self.line(name);
        if typed.is_empty() || (typed.chars().count() <= 40 && is_phone(&typed)) {
            return Some(typed);
        }
        let shown = quoted(&typed);
        self.problem(name, format!("{label}: {shown} is not a telephone number. Write it like (715) 555-0117."));
        None
    }
}
