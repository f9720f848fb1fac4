//! The outbox on both engines: choosing the channel, claiming, retrying, giving up, sending again, wordings.
//!
//! PostgreSQL is tried when `GAMBREL_TEST_PG` holds the URL of a server whose user may make databases.

use crate::mail_peer::Peer;
use diesel::prelude::*;
use gambrel::actions::edit_wording::{edit_wording, reset_wording, wording_of};
use gambrel::actions::handle_message::{download, mark_handed_over, resend};
use gambrel::actions::queue_message::{ToSay, queue_message};
use gambrel::actions::send_mail::{PostRoom, Round};
use gambrel::actions::{Doing, Failure};
use gambrel::book::at::{At, Now};
use gambrel::book::conn::Place;
use gambrel::book::ids::{CustomerId, MessageId};
use gambrel::book::outbox::{self, Counts, Shown, Standing};
use gambrel::book::rows::money::{NewPayment, NewReceipt};
use gambrel::book::rows::outbox::Message;
use gambrel::book::rows::people::NewCustomer;
use gambrel::book::schema;
use gambrel::book::store::Store;
use gambrel::book::{farm, stories};
use gambrel::clock::Clock;
use gambrel::post::smtp::{PlainAllowed, Sender, SmtpSettings};
use gambrel::post::wording::{Purpose, Values, Wording, default_wording};
use gambrel::trade::money::Money;
use gambrel::trade::vocabulary::{Channel, PaperKind, PayMethod, PaymentKind};

const MINUTE: i64 = 60_000;

/// A book of its own on one engine, gone when dropped.
struct Book {
    store: Store,
    place: Place,
    clock: Clock,
    _folder: tempfile::TempDir,
    #[cfg(feature = "postgres")]
    drop_database: Option<(String, String)>,
}

impl Book {
    fn of(place: Place, folder: tempfile::TempDir) -> Self {
        let store = Store::open(place.clone()).unwrap();
        store
            .write(|tx| {
                farm::ensure(tx)?;
                let mut f = farm::get(tx.conn())?;
                f.name = "Nettle Bend Farm".into();
                f.contact_name = "Ada Moen".into();
                f.mail = "office@nettlebend.example".into();
                let version = f.version;
                assert!(farm::save(tx, &f, version)?);
                Ok::<_, Failure>(())
            })
            .unwrap();
        Self {
            store,
            place,
            clock: Clock::set(At(1_823_000_000_000)),
            _folder: folder,
            #[cfg(feature = "postgres")]
            drop_database: None,
        }
    }
    /// One on each engine there is.
    fn each() -> Vec<Self> {
        let folder = tempfile::tempdir().unwrap();
        #[cfg_attr(not(feature = "postgres"), allow(unused_mut, reason = "only PostgreSQL adds one"))]
        let mut books = vec![Self::of(Place::in_folder(folder.path()), folder)];
        #[cfg(feature = "postgres")]
        if let Ok(url) = std::env::var("GAMBREL_TEST_PG") {
            use diesel::connection::SimpleConnection;
            let name = format!(
                "gambrel_outbox_{}_{}",
                std::process::id(),
                gambrel::secret::token().unwrap().to_lowercase().replace('-', "_")
            );
            diesel::PgConnection::establish(&url).unwrap().batch_execute(&format!("CREATE DATABASE {name}")).unwrap();
            let (server, _) = url.rsplit_once('/').unwrap();
            let mut book =
                Self::of(Place::from_url(&format!("{server}/{name}")).unwrap(), tempfile::tempdir().unwrap());
            book.drop_database = Some((url, name));
            books.push(book);
        }
        books
    }
    fn doing(&self) -> Doing {
        let at = self.clock.at();
        Doing {
            now: Now { at, today: at.day(chrono_tz::UTC), zone: chrono_tz::UTC },
            account: None,
            actor: "Ada".into(),
        }
    }
    fn customer(&self, name: &str, mail: &str, phone: &str) -> CustomerId {
        let new = NewCustomer {
            name: name.into(),
            mail: mail.into(),
            phone: phone.into(),
            address: "3 Pell Road\nElm Fork".into(),
            notes: String::new(),
            search: name.to_lowercase(),
            created_at: self.clock.at(),
        };
        self.store
            .write(|tx| {
                Ok::<_, Failure>(
                    diesel::insert_into(schema::customer::table)
                        .values(new.clone())
                        .returning(schema::customer::id)
                        .get_result(tx.conn())?,
                )
            })
            .unwrap()
    }
    fn queue(&self, customer: CustomerId) -> MessageId {
        self.try_queue(customer, Values::examples(Purpose::Invoice), None).unwrap()
    }
    fn try_queue(
        &self,
        customer: CustomerId,
        values: Values,
        attachment: Option<(PaperKind, i64)>,
    ) -> Result<MessageId, Failure> {
        let say = ToSay { customer, reservation: None, purpose: Purpose::Invoice, values, attachment };
        self.store.write(|tx| queue_message(tx, &self.doing(), &say))
    }
    fn get(&self, id: MessageId) -> Message {
        self.store.read(|c| Ok::<_, Failure>(outbox::get(c, id)?)).unwrap()
    }
    fn room(&self, sender: Sender) -> PostRoom {
        let clock = self.clock.clone();
        PostRoom::new(
            self.store.clone(),
            sender,
            None,
            |_, document| Ok(document.as_bytes().to_vec()),
            move || clock.at(),
        )
    }
    fn counts(&self) -> Counts {
        self.store.read(|c| Ok::<_, Failure>(outbox::counts(c)?)).unwrap()
    }
    fn told(&self, customer: CustomerId) -> Vec<String> {
        let lines = self.store.read(|c| Ok::<_, Failure>(stories::of_customer(c, customer)?)).unwrap();
        lines.into_iter().map(|l| format!("{} {}", l.line, l.detail).trim().to_owned()).collect()
    }
}

impl Drop for Book {
    fn drop(&mut self) {
        #[cfg(feature = "postgres")]
        if let Some((url, name)) = self.drop_database.take() {
            use diesel::connection::SimpleConnection;
            let mut c = diesel::PgConnection::establish(&url).unwrap();
            c.batch_execute(&format!("DROP DATABASE {name} WITH (FORCE)")).unwrap();
        }
    }
}

/// A sender to a port nobody listens on.
fn nobody() -> Sender {
    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    Sender::new(&SmtpSettings::parse(&format!("smtp+plain://{free}"), PlainAllowed::Loopback).unwrap(), None).unwrap()
}

#[test]
fn the_channel_is_mail_else_text_else_letter() {
    for book in Book::each() {
        let mail = book.queue(book.customer("Ruth Kessel", "ruth@kessel.example", "402 555 0101"));
        let text = book.queue(book.customer("José Núñez", "no address", "402 555 0102"));
        let letter = book.queue(book.customer("Þóra Bard", "", "ask at the market"));
        let (mail, text, letter) = (book.get(mail), book.get(text), book.get(letter));
        assert_eq!(
            (mail.channel, mail.to_address.as_str(), mail.standing()),
            (Channel::Mail, "ruth@kessel.example", Standing::Waiting(0))
        );
        assert_eq!(
            (text.channel, text.to_address.as_str(), text.standing()),
            (Channel::Text, "402 555 0102", Standing::ByHand)
        );
        assert_eq!((letter.channel, letter.to_address.as_str()), (Channel::Letter, "3 Pell Road\nElm Fork"));
        assert_eq!(mail.next_try_at, Some(book.clock.at()));
        assert_eq!((text.next_try_at, letter.next_try_at), (None, None));
        assert!(
            mail.body.starts_with("Hello Ruth Kessel,\n\n")
                && mail.body.ends_with("Ada Moen\nNettle Bend Farm\noffice@nettlebend.example"),
            "{}",
            mail.body
        );
        assert!(text.body.starts_with("Hello José Núñez, invoice") && !text.body.contains('\n'));
        assert!(letter.body.starts_with("Hello Þóra Bard,\n\n"));
        assert!(mail.message_id.ends_with("@nettlebend.example>") && mail.message_id != text.message_id);
        assert_eq!(book.counts(), Counts { waiting: 1, by_hand: 2, failed: 0 });

        // lists are paged by key, newest first
        let page = |shown, before| book.store.read(|c| Ok::<_, Failure>(outbox::page(c, shown, before, 2)?)).unwrap();
        let ids = |m: Vec<Message>| m.into_iter().map(|m| m.id).collect::<Vec<_>>();
        assert_eq!(ids(page(Shown::Open, None)), [letter.id, text.id]);
        assert_eq!(ids(page(Shown::Open, Some(text.id))), [mail.id]);
        assert_eq!(ids(page(Shown::Customer(text.customer_id.unwrap()), None)), [text.id]);
        assert!(page(Shown::Failed, None).is_empty());
    }
}

#[test]
fn a_hole_in_the_wording_queues_nothing() {
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let refused = book.try_queue(ruth, Values::examples(Purpose::Invoice).with("invoice", ""), None);
        assert!(matches!(&refused, Err(Failure::Refused(p)) if p.0[0].sentence.contains("{invoice}")), "{refused:?}");
        assert_eq!(book.counts(), Counts::default());
    }
}

#[test]
fn a_claimed_message_is_left_alone_and_comes_back_after_a_crash() {
    for book in Book::each() {
        let id = book.queue(book.customer("Ruth Kessel", "ruth@kessel.example", ""));
        let claim = || {
            let (now, until) = (book.clock.at(), At(book.clock.at().0 + 5 * MINUTE));
            book.store.write(|tx| Ok::<_, Failure>(outbox::claim(tx, now, until)?)).unwrap()
        };
        let first = claim().unwrap();
        assert_eq!((first.id, first.tries), (id, 1));
        assert_eq!(claim(), None);
        book.clock.advance(5 * MINUTE);
        let again = claim().unwrap();
        assert_eq!((again.id, again.tries, again.message_id), (id, 2, first.message_id));
    }
}

#[tokio::test]
async fn two_workers_send_each_message_once() {
    let Some(mut peer) = Peer::start() else { return };
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let mut ids: Vec<String> = (0..30).map(|_| book.get(book.queue(ruth)).message_id).collect();
        let other = Book {
            store: Store::open(book.place.clone()).unwrap(),
            place: book.place.clone(),
            clock: book.clock.clone(),
            _folder: tempfile::tempdir().unwrap(),
            #[cfg(feature = "postgres")]
            drop_database: None,
        };
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
                    document: "{\"ñ\": 1}".into(),
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
        let (name, bytes) = book.store.read(|c| download(c, id, None, |_, d| Ok(d.as_bytes().to_vec()))).unwrap();
        assert_eq!(name, format!("message-{id}.eml"));
        book.room(peer.sender("smtp+plain", "", "plain")).send_due().await.unwrap();
        let got = peer.received();
        assert_eq!(got[0]["attachments"][0]["name"], "receipt R-2027-014.pdf");
        assert_eq!(got[0]["from"], serde_json::json!([["Nettle Bend Farm", "office@nettlebend.example"]]));
        use base64::Engine as _;
        let b64 = |v: &[u8]| serde_json::Value::from(base64::engine::general_purpose::STANDARD.encode(v));
        assert_eq!(got[0]["attachments"][0]["base64"], b64("{\"ñ\": 1}".as_bytes()));
        assert_eq!(got[0]["base64"], b64(&bytes));

        // a paper that cannot be made stops its message and says why
        let lost = book.try_queue(ruth, Values::examples(Purpose::Invoice), Some((PaperKind::Invoice, 4711))).unwrap();
        assert_eq!(book.room(nobody()).send_due().await.unwrap(), Round { failed: 1, ..Round::default() });
        assert!(book.get(lost).last_error.unwrap().starts_with("The paper that goes with this message cannot be made"));
    }
}

#[test]
fn wordings_are_edited_used_and_reset() {
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let edit =
            |w: &Wording, seen| book.store.write(|tx| edit_wording(tx, &book.doing(), Purpose::Invoice, w, seen));
        let of = || book.store.read(|c| wording_of(c, Purpose::Invoice)).unwrap();
        assert_eq!((of().version, of().wording), (0, default_wording(Purpose::Invoice)));
        let bad = Wording::typed("Invoice {inovice}", "x", "");
        let Err(Failure::Refused(p)) = edit(&bad, 0) else { panic!("taken") };
        assert_eq!(p.0.iter().map(|p| p.field.as_str()).collect::<Vec<_>>(), ["subject", "short"]);
        assert_eq!(of().version, 0);

        let mine = Wording::typed(
            "Your invoice {invoice}",
            "Dear {customer}:\r\n{balance}, {due}.\r\n",
            "{invoice}: {balance}",
        );
        edit(&mine, 0).unwrap();
        assert_eq!((of().version, of().wording), (1, mine.clone()));
        assert!(matches!(edit(&mine, 0), Err(Failure::Stale)));
        edit(&mine, 1).unwrap();
        assert!(matches!(edit(&mine, 1), Err(Failure::Stale)));
        let m = book.get(book.queue(ruth));
        assert_eq!(
            (m.subject.as_str(), m.body.as_str()),
            ("Your invoice 2027-014", "Dear Ruth Kessel:\n$705.75, by Thursday, October 28.")
        );

        let reset = |seen| book.store.write(|tx| reset_wording(tx, &book.doing(), Purpose::Invoice, seen));
        assert!(matches!(reset(1), Err(Failure::Stale)));
        reset(2).unwrap();
        assert_eq!((of().version, of().wording), (0, default_wording(Purpose::Invoice)));
        reset(0).unwrap();
    }
}
