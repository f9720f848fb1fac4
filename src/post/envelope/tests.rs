//! What no name, subject or body can do to a message.

use super::*;
use proptest::prelude::*;

fn outgoing() -> Outgoing {
    Outgoing {
        from_name: "Nettle Bend Farm".into(),
        from_address: "office@nettlebend.example".into(),
        reply_to: String::new(),
        to_name: "Łukasz Núñez".into(),
        to_address: "lukasz@nunez.example".into(),
        subject: "Invoice 2027-014".into(),
        text_body: "Hello,\n\n1 < 2 & “three”\n\nBye".into(),
        calendar: None,
        attachment: Some(("Invoice 2027-014 Núñez.pdf".into(), vec![0, 13, 10, 255, 46, 13, 10])),
        message_id: "<0123456789abcdef@nettlebend.example>".into(),
        date: "2027-10-08T15:33:20Z".parse().unwrap(),
    }
}

fn text(o: &Outgoing) -> String {
    String::from_utf8(o.eml().unwrap()).unwrap()
}

fn header_names(eml: &str) -> Vec<&str> {
    let head = eml.split_once("\r\n\r\n").unwrap().0;
    head.split("\r\n").filter(|l| !l.starts_with([' ', '\t'])).map(|l| l.split_once(':').unwrap().0).collect()
}

const HEADERS: [&str; 8] =
    ["From", "To", "Subject", "Message-ID", "Date", "Auto-Submitted", "MIME-Version", "Content-Type"];

#[test]
fn bytes_are_the_same_every_time() {
    assert_eq!(outgoing().eml().unwrap(), outgoing().eml().unwrap());
    let eml = text(&outgoing());
    assert_eq!(header_names(&eml), HEADERS);
    assert!(eml.contains("Message-ID: <0123456789abcdef@nettlebend.example>\r\n"));
    assert!(eml.contains("Date: Fri, 08 Oct 2027 15:33:20 +0000\r\n"), "{eml}");
    assert!(eml.contains("Auto-Submitted: auto-generated\r\n"));
}

#[test]
fn addresses_are_one_plain_address() {
    for good in ["a@b.example", " ruth.kessel+farm@kessel.example "] {
        assert!(check_address(good).is_ok(), "{good}");
    }
    let long = format!("{}@b.example", "a".repeat(250));
    for bad in [
        "",
        "ruth",
        "ruth@",
        "@b.example",
        "a@b.example, c@d.example",
        "a@b.example\r\nBcc: c@d.example",
        "Ruth <a@b.example>",
        "a b@c.example",
        "a@localhost",
        "núñez@b.example",
        "\"a b\"@c.example",
        "a@[127.0.0.1]",
        &long,
    ] {
        assert!(check_address(bad).is_err(), "{bad}");
        let o = Outgoing { to_address: bad.to_owned(), ..outgoing() };
        assert!(matches!(o.eml(), Err(EnvelopeFault::To(_))), "{bad}");
        let o = Outgoing { from_address: bad.to_owned(), ..outgoing() };
        assert!(matches!(o.eml(), Err(EnvelopeFault::From(_))), "{bad}");
    }
}

#[test]
fn message_ids_are_ours() {
    let (a, b) = (new_message_id("o@farm.example").unwrap(), new_message_id("o@farm.example").unwrap());
    assert!(id_is_plain(&a) && a.ends_with("@farm.example>") && a != b, "{a}");
    assert!(new_message_id("").unwrap().ends_with("@gambrel.invalid>"));
    for bad in ["", "<a>", "<a@b>\r\nBcc: c@d.example", "<a@b\r\n>", "a@b", "<a b@c>", "<@b>"] {
        let o = Outgoing { message_id: bad.to_owned(), ..outgoing() };
        assert!(matches!(o.eml(), Err(EnvelopeFault::Words(_))), "{bad}");
    }
}

#[test]
fn html_is_escaped() {
    let html = html_of("a <script> & \"b\"\nc\n\n\nd");
    assert!(html.contains("<p>a &lt;script&gt; &amp; &quot;b&quot;<br>\nc</p>\n<p>d</p>"), "{html}");
}

#[test]
fn an_empty_subject_is_refused() {
    let o = Outgoing { subject: "\r\n \u{0}".to_owned(), ..outgoing() };
    assert!(matches!(o.eml(), Err(EnvelopeFault::Words(_))));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]
    #[test]
    fn nothing_adds_a_header_or_panics(
        from in any::<String>(), to in any::<String>(), subject in any::<String>(), body in any::<String>(), file in any::<String>(),
        evil in "[\r\n\t\u{0}\u{b}\u{85}\u{2028}]{0,2}", place in 0..4,
    ) {
        let bad = |s: &str, n: i32| if n == place { format!("{s}{evil}Bcc: all@example.com{evil}{evil}x") } else { s.to_owned() };
        let o = Outgoing {
            from_name: bad(&from, 0), to_name: bad(&to, 1), subject: bad(&format!("a{subject}"), 2), text_body: body,
            attachment: Some((bad(&file, 3), vec![1, 2, 3])), ..outgoing()
        };
        if one_line(&o.subject).chars().count() <= HEADER_LIMIT {
            let eml = text(&o);
            prop_assert_eq!(header_names(&eml), HEADERS);
            prop_assert!(eml.is_ascii());
            prop_assert!(eml.split("\r\n").all(|l| l.len() <= 998 && !l.contains(['\r', '\n'])), "a line is too long or badly ended");
        }
    }
}
