//! Mail against a real server on loopback, see `mail_peer`.

use crate::mail_peer::{LOGIN, Peer};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use gambrel::post::envelope::Outgoing;
use gambrel::post::smtp::{PlainAllowed, SendFailure, Sender, SmtpSettings};
use serde_json::Value;
use std::path::PathBuf;
use std::time::{Duration, Instant};

fn invoice_mail(to_name: &str) -> Outgoing {
    Outgoing {
        from_name: "Nettle Bend Farm".into(),
        from_address: "office@nettlebend.example".into(),
        reply_to: "ada@nettlebend.example".into(),
        to_name: to_name.into(),
        to_address: "customer@kessel.example".into(),
        subject: format!("Invoice 2027-014 for {to_name}"),
        text_body: format!(
            "Hello {to_name},\n\nThe balance due is $705.75 — “all in”.\n.\nFrom here on <b>nothing</b> & no more.\n{}",
            "long ".repeat(400)
        ),
        attachment: Some((
            format!("Invoice 2027-014 {to_name}.pdf"),
            (0..40_000_u32).map(|i| (i * 7 % 256) as u8).collect(),
        )),
        calendar: None,
        message_id: "<9f8e7d6c5b4a39281706f5e4d3c2b1a0@nettlebend.example>".into(),
        date: "2027-10-08T15:33:20Z".parse().unwrap(),
    }
}

fn check_reading(read: &Value, sent: &Outgoing) {
    assert_eq!(read["defects"], serde_json::json!([]));
    assert_eq!(read["subject"], sent.subject);
    assert_eq!(read["from"], serde_json::json!([[sent.from_name, sent.from_address]]));
    assert_eq!(read["to"], serde_json::json!([[sent.to_name, sent.to_address]]));
    assert_eq!(read["reply_to"], serde_json::json!([["", sent.reply_to]]));
    assert_eq!(read["message_id"], sent.message_id);
    assert_eq!(read["date"], "2027-10-08T15:33:20+00:00");
    assert_eq!(read["auto_submitted"], "auto-generated");
    assert_eq!(
        read["types"],
        serde_json::json!(["multipart/mixed", "multipart/alternative", "text/plain", "text/html", "application/pdf"])
    );
    assert_eq!(read["text"].as_str().unwrap().replace("\r\n", "\n").trim_end(), sent.text_body.trim_end());
    assert!(read["html"].as_str().unwrap().contains("&lt;b&gt;nothing&lt;/b&gt; &amp; no more."));
    let (name, bytes) = sent.attachment.as_ref().unwrap();
    assert_eq!(read["attachments"].as_array().unwrap().len(), 1);
    assert_eq!(read["attachments"][0]["name"], *name);
    assert!(
        STANDARD.decode(read["attachments"][0]["base64"].as_str().unwrap()).unwrap() == *bytes,
        "the PDF came through changed"
    );
    assert!(read["longest_line"].as_u64().unwrap() <= 998);
    assert_eq!(read["bare_line_ends"], 0);
}

#[tokio::test]
async fn mail_arrives_by_every_door_as_it_was_written() {
    let Some(mut peer) = Peer::start() else { return };
    for (scheme, login, door) in [("smtp+plain", "", "plain"), ("smtp", LOGIN, "starttls"), ("smtps", LOGIN, "tls")] {
        let sender = peer.sender(scheme, login, door);
        for name in ["Ruth Kessel", "José Núñez", "Łukasz Bard", "Nguyễn Văn An", "Þóra \"Tóta\" Ámundadóttir, Jr."]
        {
            let mail = Outgoing {
                attachment: invoice_mail("x")
                    .attachment
                    .map(|(_, b)| (format!("Invoice {}.pdf", name.replace('"', "")), b)),
                ..invoice_mail(name)
            };
            sender.send(&mail).await.unwrap();
            let got = peer.received();
            assert_eq!(got.len(), 1, "{door}");
            check_reading(&got[0], &mail);
            assert_eq!(
                (&got[0]["tls"], &got[0]["signed_in"]),
                (&(door != "plain").into(), &(door != "plain").into()),
                "{door}"
            );
            assert_eq!(got[0]["rcpt_tos"], serde_json::json!(["customer@kessel.example"]));
            let (came, eml) = (STANDARD.decode(got[0]["base64"].as_str().unwrap()).unwrap(), mail.eml().unwrap());
            assert_eq!(
                String::from_utf8(came).unwrap(),
                String::from_utf8(eml).unwrap(),
                "the .eml download is what was sent"
            );
        }
    }
}

#[tokio::test]
async fn nothing_typed_can_add_a_header() {
    let Some(mut peer) = Peer::start() else { return };
    let sender = peer.sender("smtp+plain", "", "plain");
    let plain = invoice_mail("Ruth Kessel");
    sender.send(&plain).await.unwrap();
    let headers = peer.received()[0]["headers"].clone();
    for evil in [
        "\r\nBcc: all@example.com",
        "\nX-Evil: 1\n\nbody",
        "\rTo: x@example.com",
        "\u{0}\t\u{b}",
        "\u{85}Bcc: a@b.example",
        "=?utf-8?q?=0D=0ABcc:_a@b.example?=",
    ] {
        let mail = Outgoing {
            from_name: format!("Farm{evil}"),
            to_name: format!("Łu{evil}"),
            subject: format!("Invoice{evil}"),
            attachment: Some((format!("a{evil}.pdf"), vec![1])),
            ..plain.clone()
        };
        sender.send(&mail).await.unwrap();
        let got = peer.received();
        assert_eq!(got.len(), 1);
        assert_eq!(got[0]["headers"], headers, "{evil:?}");
        assert_eq!(got[0]["rcpt_tos"], serde_json::json!(["customer@kessel.example"]));
        assert_eq!(got[0]["to"].as_array().unwrap().len(), 1);
        assert_eq!(got[0]["text"].as_str().unwrap().replace("\r\n", "\n").trim_end(), mail.text_body.trim_end());
    }
    let mail = Outgoing { to_address: "a@b.example>\r\nRCPT TO:<c@d.example".into(), ..plain };
    assert!(matches!(sender.send(&mail).await, Err(SendFailure::Never(_))));
    assert!(peer.received().is_empty());
}

#[tokio::test]
async fn refusals_are_told_apart() {
    let Some(mut peer) = Peer::start() else { return };
    let mail = invoice_mail("Ruth Kessel");

    let later = peer.sender("smtp+plain", "", "later");
    for _ in 0..2 {
        let said = later.send(&mail).await.unwrap_err();
        assert!(
            matches!(&said, SendFailure::Later(s) if s.contains("451") && s.contains("Please try again")),
            "{said:?}"
        );
    }
    later.send(&mail).await.unwrap();
    assert_eq!(peer.received()[0]["message_id"], mail.message_id);

    let said = peer.sender("smtp+plain", "", "never").send(&mail).await.unwrap_err();
    assert!(matches!(&said, SendFailure::Never(s) if s.contains("550") && s.contains("No such mailbox")), "{said:?}");

    for (scheme, login, door, words) in [
        ("smtp", "office%40nettlebend.example:wrong", "starttls", "user and password"),
        ("smtps", "office%40nettlebend.example:wrong", "tls", "user and password"),
        ("smtp+plain", "", "relay", "user and password"),
        ("smtp", "", "plain", "STARTTLS"),
        ("smtps", "", "other_ca", "certificate"),
    ] {
        let said = peer.sender(scheme, login, door).send(&mail).await.unwrap_err();
        assert!(
            matches!(&said, SendFailure::Settings(s) if s.contains(words) && !s.contains("wrong")),
            "{door}: {said:?}"
        );
    }
    assert!(peer.received().is_empty());

    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    let nobody = SmtpSettings::parse(&format!("smtp+plain://{free}"), PlainAllowed::Loopback).unwrap();
    let said = Sender::new(&nobody, None).unwrap().send(&mail).await.unwrap_err();
    assert!(matches!(said, SendFailure::Later(_)), "{said:?}");
}

#[tokio::test]
async fn a_silent_server_does_not_hold_the_worker() {
    let Some(peer) = Peer::start() else { return };
    let sender = peer.sender("smtp+plain", "", "slow").with_limit(Duration::from_secs(2));
    let began = Instant::now();
    let said = sender.send(&invoice_mail("Ruth Kessel")).await.unwrap_err();
    assert_eq!(said, SendFailure::Later("The mail server did not answer within 2 seconds.".into()));
    assert!(began.elapsed() < Duration::from_secs(10));
}

#[test]
fn a_downloaded_message_reads_the_same() {
    let Some(mut peer) = Peer::start() else { return };
    let mail = invoice_mail("Łucja Núñez");
    let path: PathBuf = peer.folder.path().join("message.eml");
    std::fs::write(&path, mail.eml().unwrap()).unwrap();
    let read = peer.ask(&format!("eml {}", path.display()));
    check_reading(&read, &mail);
}

#[test]
fn mail_test_says_what_happened() {
    let Some(mut peer) = Peer::start() else { return };
    let folder = tempfile::tempdir().unwrap();
    let run = |door: Option<(&str, &str)>| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_gambrel"));
        command.args(["mail-test", "ada@nettlebend.example"]).current_dir(folder.path()).env_remove("DATABASE_URL");
        command.env("GAMBREL_MAIL_FROM", "office@nettlebend.example").env_remove("SMTP_URL");
        command.env("GAMBREL_SMTP_CA", peer.folder.path().join("ca.pem"));
        if let Some((scheme, door)) = door {
            command.env("SMTP_URL", format!("{scheme}127.0.0.1:{}", peer.port(door)));
        }
        let out = command.output().unwrap();
        let said = format!("{}{}", String::from_utf8_lossy(&out.stdout), String::from_utf8_lossy(&out.stderr));
        (out.status.success(), said)
    };
    let (well, said) = run(Some((&format!("smtp://{LOGIN}@"), "starttls")));
    assert!(well && said.starts_with("The mail server took a test message to ada@nettlebend.example."), "{said}");
    let (well, said) = run(Some(("smtp://office%40nettlebend.example:hunter2@", "starttls")));
    assert!(!well && said.contains("user and password") && !said.contains("hunter2"), "{said}");
    let (well, said) = run(Some(("smtp+plain://", "never")));
    assert!(!well && said.contains("No such mailbox"), "{said}");
    let (well, said) = run(None);
    assert!(!well && said.contains("Set SMTP_URL"), "{said}");
    let got = peer.received();
    assert_eq!(got.len(), 1);
    assert_eq!(got[0]["subject"], "Test message from Gambrel");
}
