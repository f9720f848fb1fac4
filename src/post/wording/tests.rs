//! Wordings: what can be saved, and how they are filled.

use super::*;
use proptest::prelude::*;

fn wording(body: &str) -> Wording {
    Wording { body: body.to_owned(), ..default_wording(Purpose::Invoice) }
}

#[test]
fn every_default_can_be_saved_and_filled() {
    for purpose in Purpose::ALL {
        let w = default_wording(*purpose);
        w.check(*purpose).unwrap();
        let filled = w.fill(*purpose, &Values::examples(*purpose)).unwrap();
        assert!(filled.short.chars().count() <= SHORT_LIMIT, "{purpose}: {} characters", filled.short.chars().count());
        assert!(!filled.subject.contains(['{', '}', '\n']), "{}", filled.subject);
        // To an address that nobody confirmed no name is written that somebody typed.
        let reader = match *purpose {
            Purpose::Packet => "Cedar Locker",
            Purpose::RequestConfirm => "Hello,",
            _ => "Ruth Kessel",
        };
        assert!(filled.body.contains(reader) && filled.body.ends_with("office@nettlebend.example"));
        assert!(!filled.body.contains("\n\n\n"), "{purpose} has a hole");
    }
}

#[test]
fn placeholders_are_named_once_and_explained() {
    for purpose in Purpose::ALL {
        let list = placeholders(*purpose);
        for p in list {
            assert_eq!(list.iter().filter(|q| q.name == p.name).count(), 1, "{purpose} {}", p.name);
            assert!(p.name.chars().all(|c| c.is_ascii_lowercase() || c == '_'));
            assert!(!p.meaning.is_empty() && !p.example.is_empty());
        }
    }
}

#[test]
fn an_unknown_placeholder_is_named_with_those_that_work() {
    let faults = wording("Hello {custmer}").check(Purpose::Invoice).unwrap_err();
    assert_eq!(faults.len(), 1);
    assert_eq!(faults[0].field, "body");
    assert!(faults[0].sentence.starts_with("{custmer} is not known in this message. You can use {customer}, {order}"));
    // known elsewhere, but not here
    assert!(wording("{receipt}").check(Purpose::Invoice).is_err());
}

#[test]
fn braces_are_written_twice() {
    let w = wording("{{customer}} is {customer}, {{{order}}}, 100 %");
    w.check(Purpose::Invoice).unwrap();
    let filled = w.fill(Purpose::Invoice, &Values::examples(Purpose::Invoice)).unwrap();
    assert_eq!(filled.body, "{customer} is Ruth Kessel, {2027-031}, 100 %");
    for bad in ["a } b", "a { b", "{customer", "{cust{omer}", "{cust\nomer}", "{}"] {
        assert!(wording(bad).check(Purpose::Invoice).is_err(), "{bad}");
    }
}

#[test]
fn a_missing_value_is_an_error() {
    let values = Values::examples(Purpose::Invoice).with("balance", "  ");
    assert!(default_wording(Purpose::Invoice).fill(Purpose::Invoice, &values).is_ok(), "not used by the default");
    let fault = wording("{balance}").fill(Purpose::Invoice, &values).unwrap_err();
    assert!(fault.sentence.starts_with("There is nothing to put in the place of {balance}."), "{fault}");
}

#[test]
fn a_value_is_never_read_as_a_wording_and_cannot_break_the_subject() {
    let values = Values::examples(Purpose::Invoice).with("share", "{order}\r\nBcc: all@example.com");
    let filled = default_wording(Purpose::Invoice).fill(Purpose::Invoice, &values).unwrap();
    assert_eq!(filled.subject, "Invoice 2027-014 for your {order} Bcc: all@example.com");
    assert!(!filled.body.contains('\r'));
}

#[test]
fn the_mark_of_a_link_comes_from_its_own_place_only() {
    let values = Values::examples(Purpose::Invoice).with("link", MARK).with("customer", format!("Ines{MARK}"));
    let filled = wording(&format!("{MARK}{{customer}}: {{link}}")).fill(Purpose::Invoice, &values).unwrap();
    assert_eq!(filled.body, format!("Ines: {MARK}"));
    for (subject, short) in [("Invoice {link}", "short"), ("Invoice", "{link}")] {
        let w = Wording { subject: subject.into(), short: short.into(), ..default_wording(Purpose::Invoice) };
        assert!(w.check(Purpose::Invoice).unwrap_err()[0].sentence.contains("in the message only"));
    }
    wording("{link}").check(Purpose::Invoice).unwrap();
}

#[test]
fn too_long_or_empty_is_refused() {
    let faults = Wording::typed("", &"x".repeat(BODY_LIMIT + 1), &"y".repeat(SHORT_LIMIT)).check(Purpose::Refund);
    let faults = faults.unwrap_err();
    assert_eq!(faults.iter().map(|f| f.field).collect::<Vec<_>>(), ["subject", "body"]);
}

proptest! {
    #[test]
    fn any_text_doubled_comes_back(text in "\\PC{0,60}") {
        let doubled = text.replace('{', "{{").replace('}', "}}");
        let filled = fill_text(Purpose::Invoice, &doubled, &Values::new()).unwrap();
        prop_assert_eq!(filled, tidy_lines(&text));
    }
    #[test]
    fn what_can_be_saved_can_be_filled(text in "[ a{}ordecustm\n]{1,40}") {
        if check_text(Purpose::Invoice, &text, BODY_LIMIT, "it").is_ok() {
            prop_assert!(fill_text(Purpose::Invoice, &text, &Values::examples(Purpose::Invoice)).is_ok());
        }
    }
}
