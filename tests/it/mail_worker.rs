//! The mail worker against a real server, on both engines: once each, put off, given up, refused, handed over.

use crate::mail_peer::Peer;
use crate::outbox_book::{Book, MINUTE, nobody};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::handle_message::{download, mark_handed_over, resend};
use gambrel::actions::send_mail::{Round, post_worker};
use gambrel::book::at::At;
use gambrel::book::outbox::{Counts, Standing};
use gambrel::book::rows::money::{NewPayment, NewReceipt};
use gambrel::book::schema;
use gambrel::post::wording::{Purpose, Values};
use gambrel::trade::money::Money;
use gambrel::trade::vocabulary::{PaperKind, PayMethod, PaymentKind};
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::Notify;

#[tokio::test]
async fn two_workers_send_each_message_once() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let mut ids: Vec<String> = (0..30).map(|_| book.get(book.queue(ruth)).message_id).collect();
        let other = book.beside();
        let (a, b) =
            (book.room(peer.sender("smtp+plain", "", "plain")), other.room(peer.sender("smtp+plain", "", "plain")));
        let (a, b) = tokio::join!(
            tokio::spawn(async move { a.send_due().await }),
            tokio::spawn(async move { b.send_due().await })
        );
        let (a, b) = (a.unwrap().unwrap(), b.unwrap().unwrap());
        assert_eq!(a.sent + b.sent, 30);
        assert!(a.sent > 0 && b.sent > 0, "both had a share: {a:?} {b:?}");
        let mut got: Vec<String> =
            peer.received().iter().map(|m| m["message_id"].as_str().unwrap().to_owned()).collect();
        got.sort();
        ids.sort();
        assert_eq!(got, ids);
        assert_eq!(book.counts(), Counts::default());
    }
}

#[tokio::test]
async fn a_message_keeps_its_id_while_it_is_put_off() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        let ruth =
            book.customer("Ruth Kessel", &format!("ruth{}@kessel.example", u8::from(book.place.is_embedded())), "");
        let id = book.queue(ruth);
        let room = book.room(peer.sender("smtp+plain", "", "later"));
        for (wait, tries) in [(MINUTE, 1), (5 * MINUTE, 2)] {
            assert_eq!(room.send_due().await.unwrap(), Round { later: 1, ..Round::default() });
            let m = book.get(id);
            assert_eq!((m.tries, m.next_try_at), (tries, Some(At(book.clock.at().0 + wait))));
            assert!(m.last_error.unwrap().contains("451"));
            assert_eq!(room.send_due().await.unwrap(), Round::default(), "not before its time");
            book.clock.advance(wait);
        }
        assert_eq!(room.send_due().await.unwrap(), Round { sent: 1, ..Round::default() });
        let m = book.get(id);
        assert_eq!((m.standing(), m.last_error, m.next_try_at), (Standing::Sent(book.clock.at()), None, None));
        assert_eq!(peer.received()[0]["message_id"], m.message_id);
        assert_eq!(book.told(ruth), [format!("“Invoice 2027-014 for your half hog” was mailed to {}.", m.to_address)]);
    }
}

#[tokio::test]
async fn a_refusal_for_good_stops_that_message_only() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        let (ruth, jose) = (
            book.customer("Ruth Kessel", "ruth@kessel.example", ""),
            book.customer("José Núñez", "jose@nunez.example", ""),
        );
        let bad = book.queue(ruth);
        assert_eq!(
            book.room(peer.sender("smtp+plain", "", "never")).send_due().await.unwrap(),
            Round { failed: 1, ..Round::default() }
        );
        let m = book.get(bad);
        assert_eq!((m.standing(), m.next_try_at), (Standing::Failed(book.clock.at()), None));
        assert!(m.last_error.unwrap().contains("No such mailbox"));
        assert!(
            book.told(ruth)[0]
                .starts_with("“Invoice 2027-014 for your half hog” could not be mailed to ruth@kessel.example.")
        );
        let good = book.queue(jose);
        assert_eq!(
            book.room(peer.sender("smtp+plain", "", "plain")).send_due().await.unwrap(),
            Round { sent: 1, ..Round::default() }
        );
        assert!(matches!(book.get(good).standing(), Standing::Sent(_)));
        assert_eq!(book.counts(), Counts { failed: 1, ..Counts::default() });

        // the customer's address is put right, and the same message goes out by one click
        let update = |tx: &mut gambrel::book::store::Tx| {
            diesel::update(schema::customer::table.find(ruth))
                .set(schema::customer::mail.eq("ruth@new.example"))
                .execute(tx.conn())?;
            Ok::<_, Failure>(())
        };
        book.store.write(update).unwrap();
        let m = book.get(bad);
        assert!(matches!(book.store.write(|tx| resend(tx, &book.doing(), bad, m.version - 1)), Err(Failure::Stale)));
        assert_eq!(book.store.write(|tx| resend(tx, &book.doing(), bad, m.version)).unwrap(), bad);
        peer.received();
        assert_eq!(
            book.room(peer.sender("smtp+plain", "", "plain")).send_due().await.unwrap(),
            Round { sent: 1, ..Round::default() }
        );
        let got = peer.received();
        assert_eq!(
            (&got[0]["message_id"], &got[0]["rcpt_tos"][0]),
            (&m.message_id.clone().into(), &"ruth@new.example".into())
        );

        // what was sent goes out as a copy of its own
        let sent = book.get(bad);
        let copy = book.store.write(|tx| resend(tx, &book.doing(), bad, sent.version)).unwrap();
        assert_ne!(copy, bad);
        assert_ne!(book.get(copy).message_id, sent.message_id);
        assert_eq!(book.get(copy).body, sent.body);
    }
}

#[tokio::test]
async fn wrong_settings_blame_no_message_and_stop_the_round() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let ids = [book.queue(ruth), book.queue(ruth)];
        let room = book.room(peer.sender("smtps", "office%40nettlebend.example:wrong", "tls"));
        assert_eq!(room.send_due().await.unwrap(), Round { later: 1, settings: true, ..Round::default() });
        let (first, second) = (book.get(ids[0]), book.get(ids[1]));
        assert_eq!((first.tries, first.standing(), second.tries), (0, Standing::Waiting(0), 0));
        assert!(first.last_error.unwrap().contains("user and password"));
        assert_eq!(second.last_error, None);
        assert!(peer.received().is_empty());
    }
}

#[tokio::test]
async fn nobody_answers_for_two_days_and_it_is_given_up() {
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let id = book.queue(ruth);
        let room = book.room(nobody());
        let began = book.clock.at();
        for n in 1..=16 {
            assert_eq!(room.send_due().await.unwrap(), Round { later: 1, ..Round::default() }, "try {n}");
            let next = book.get(id).next_try_at.unwrap();
            book.clock.advance(next.0 - book.clock.at().0);
        }
        assert_eq!(room.send_due().await.unwrap(), Round { failed: 1, ..Round::default() });
        let m = book.get(id);
        assert_eq!((m.standing(), m.tries), (Standing::Failed(book.clock.at()), 17));
        assert!(m.last_error.unwrap().starts_with("Given up after 17 tries."));
        assert!((48..50).contains(&((book.clock.at().0 - began.0) / (60 * MINUTE))));
        assert_eq!(room.send_due().await.unwrap(), Round::default());
    }
}

#[tokio::test]
async fn what_is_handed_over_is_not_sent() {
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let id = book.queue(ruth);
        let version = book.get(id).version;
        assert!(matches!(
            book.store.write(|tx| mark_handed_over(tx, &book.doing(), id, version + 1)),
            Err(Failure::Stale)
        ));
        book.store.write(|tx| mark_handed_over(tx, &book.doing(), id, version)).unwrap();
        assert_eq!(book.get(id).standing(), Standing::HandedOver(book.clock.at()));
        assert_eq!(book.room(nobody()).send_due().await.unwrap(), Round::default());
        assert_eq!(book.told(ruth), ["“Invoice 2027-014 for your half hog” was handed over to Ruth Kessel."]);
    }
}

#[tokio::test]
async fn a_paper_goes_with_it_and_the_download_is_what_is_sent() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let receipt: gambrel::book::ids::ReceiptId = book
            .store
            .write(|tx| {
                let payment = diesel::insert_into(schema::payment::table)
                    .values(NewPayment {
                        customer_id: ruth,
                        kind: PaymentKind::Received,
                        method: PayMethod::Cash,
                        amount: Money::from_cents(15_000),
                        received_on: book.doing().now.today,
                        reference: String::new(),
                        note: String::new(),
                        recorded_at: book.clock.at(),
                    })
                    .returning(schema::payment::id)
                    .get_result(tx.conn())?;
                let new = NewReceipt {
                    number: "R-2027-014".into(),
                    payment_id: payment,
                    made_on: book.doing().now.today,
                    document: include_str!("papers/receipt.json").into(),
                };
                Ok::<_, Failure>(
                    diesel::insert_into(schema::receipt::table)
                        .values(new)
                        .returning(schema::receipt::id)
                        .get_result(tx.conn())?,
                )
            })
            .unwrap();
        let id =
            book.try_queue(ruth, Values::examples(Purpose::Invoice), Some((PaperKind::Receipt, receipt.0))).unwrap();
        let (name, bytes) = book.store.read(|c| download(c, id, None)).unwrap();
        assert_eq!(name, format!("message-{id}.eml"));
        book.room(peer.sender("smtp+plain", "", "plain")).send_due().await.unwrap();
        let got = peer.received();
        assert_eq!(got[0]["attachments"][0]["name"], "receipt R-2027-014.pdf");
        assert_eq!(got[0]["from"], serde_json::json!([["Nettle Bend Farm", "office@nettlebend.example"]]));
        use base64::Engine as _;
        let b64 = |v: &[u8]| serde_json::Value::from(base64::engine::general_purpose::STANDARD.encode(v));
        assert_eq!(got[0]["attachments"][0]["base64"], b64(&receipt_pdf()));
        assert_eq!(got[0]["base64"], b64(&bytes));

        // a paper that cannot be made stops its message and says why
        let lost = book.try_queue(ruth, Values::examples(Purpose::Invoice), Some((PaperKind::Invoice, 4711))).unwrap();
        assert_eq!(book.room(nobody()).send_due().await.unwrap(), Round { failed: 1, ..Round::default() });
        assert!(book.get(lost).last_error.unwrap().starts_with("The paper that goes with this message cannot be made"));
    }
}

#[tokio::test]
async fn the_worker_sends_at_once_when_it_is_woken() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        let wake = Arc::new(Notify::new());
        let room = book.room(peer.sender("smtp+plain", "", "plain"));
        let worker = tokio::spawn(post_worker(room.clone(), wake.clone()));
        tokio::time::sleep(Duration::from_millis(200)).await; // it has looked and found nothing
        let id = book.queue(book.customer("Ruth Kessel", "ruth@kessel.example", ""));
        wake.notify_one();
        let mut waited = 0;
        while !matches!(book.get(id).standing(), Standing::Sent(_)) {
            waited += 1;
            assert!(waited < 100, "not sent within ten seconds, although it was woken");
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        room.stop();
        wake.notify_one();
        tokio::time::timeout(Duration::from_secs(10), worker).await.expect("it ends when asked").unwrap();
        assert_eq!(peer.received().len(), 1);
    }
}

fn receipt_pdf() -> Vec<u8> {
    let paper: gambrel::paper::receipt::Receipt = serde_json::from_str(include_str!("papers/receipt.json")).unwrap();
    paper.pdf().unwrap()
}

#[test]
fn the_service_sends_what_waited_and_ends_when_told() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        book.clock.advance(chrono::Utc::now().timestamp_millis() - book.clock.at().0);
        let id = book.queue(book.customer("Łukasz Bard", "lukasz@bard.example", ""));
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_gambrel"));
        let folder = tempfile::tempdir().unwrap();
        command.arg("serve").current_dir(folder.path()).env("GAMBREL_LISTEN", "127.0.0.1:0").env_remove("DATABASE_URL");
        command.env("SMTP_URL", format!("smtp+plain://127.0.0.1:{}", peer.port("plain"))).env("GAMBREL_LOG", "error");
        match &book.place {
            gambrel::book::conn::Place::File(path) => command.env("GAMBREL_DATA", path.parent().unwrap()),
            #[cfg(feature = "postgres")]
            gambrel::book::conn::Place::Postgres(url) => command.env("DATABASE_URL", url),
        };
        let mut service = command.stdout(std::process::Stdio::null()).spawn().unwrap();
        let mut waited = 0;
        let sent = loop {
            waited += 1;
            if matches!(book.get(id).standing(), Standing::Sent(_)) || waited > 150 {
                break waited <= 150;
            }
            std::thread::sleep(Duration::from_millis(100));
        };
        let told = std::process::Command::new("kill").args(["-TERM", &service.id().to_string()]).status();
        let ended = (0..200).any(|_| {
            std::thread::sleep(Duration::from_millis(100));
            service.try_wait().unwrap().is_some_and(|s| s.success())
        });
        if !ended {
            service.kill().unwrap();
        }
        assert!(sent, "not sent within fifteen seconds");
        assert!(told.unwrap().success() && ended, "the service did not end well when told");
        assert_eq!(peer.received()[0]["to"][0][0], "Łukasz Bard");
    }
}
