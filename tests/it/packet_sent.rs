//! The packet on its way to the plant: mailed once, only as it stands in the book, and what changed since the last one sent.

use crate::mail_peer::Peer;
use crate::paper::outside;
use crate::sheets_due::{chosen, coming, save};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::make_packet::{make_packet, packet_again, read_packet, ready};
use gambrel::actions::send_mail::{PostRoom, Round};
use gambrel::actions::send_packet::{hand_over_packet, mail_packet};
use gambrel::actions::sheet_open::lock_of;
use gambrel::book::ids::{DateId, PacketId};
use gambrel::book::{outbox, sheets, stories};
use gambrel::paper::packet::Packet;
use gambrel::trade::sheets_due::Lock;
use gambrel::trade::vocabulary::PaperKind;

fn make(book: &TestBook, date: DateId) -> PacketId {
    book.act(|tx, doing| make_packet(tx, doing, date, true))
}

fn document(book: &TestBook, id: PacketId) -> Packet {
    book.read(|c| read_packet(&sheets::packet(c, id)?.document))
}

fn refused<T: std::fmt::Debug>(done: Result<T, Failure>) -> String {
    let Err(Failure::Refused(problems)) = done else { panic!("{done:?}") };
    problems.0[0].sentence.clone()
}

#[test]
fn a_packet_is_sent_once_and_only_as_the_book_stands() {
    on_each_engine(|book| {
        let c = coming(book);
        save(book, c.orders[0], 0, &chosen(&[("ham_body", "grind")], ""));
        let first = make(book, c.date);
        save(book, c.orders[0], 1, &chosen(&[("ham_body", "grind")], "Leave the rind"));
        let says = refused(book.try_act(|tx, doing| mail_packet(tx, doing, first)));
        assert!(says.starts_with("Something changed after packet 1 was made"), "{says}");
        let second = make(book, c.date);
        assert!(document(book, second).since.is_empty(), "nothing was sent yet, so nothing changed since");
        let says = refused(book.try_act(|tx, doing| mail_packet(tx, doing, first)));
        assert!(says.starts_with("Packet 2 was made after this one"), "{says}");
        let message = book.act(|tx, doing| mail_packet(tx, doing, second));
        let m = book.read(|x| Ok(outbox::get(x, message)?));
        assert_eq!(
            (m.customer_id, m.attachment_kind, m.attachment_id),
            (None, Some(PaperKind::Packet), Some(second.0))
        );
        assert_eq!((m.to_address.as_str(), m.to_name.as_str()), ("floor@pellroad.example", "Pell Road Meats"));
        assert!(m.body.contains("packet 2, with 1 hog and 2 cut sheets"), "{}", m.body);
        assert!(refused(book.try_act(|tx, doing| mail_packet(tx, doing, second))).contains("was sent already"));
        assert!(refused(book.try_act(|tx, doing| hand_over_packet(tx, doing, second))).contains("was sent already"));
        let today = book.now().today;
        assert_eq!(book.read(|x| lock_of(x, today, c.orders[0])).1, Lock::Sent);
        let stored = book.read(|x| Ok(sheets::packet(x, second)?));
        assert_eq!((stored.sent_at, stored.sent_by.as_str()), (Some(book.clock.at()), "Ada"));
    });
}

#[test]
fn the_next_packet_lists_what_changed_since_the_one_that_was_sent() {
    on_each_engine(|book| {
        let c = coming(book);
        save(book, c.orders[0], 0, &chosen(&[("ham_body", "grind")], ""));
        let first = make(book, c.date);
        book.act(|tx, doing| hand_over_packet(tx, doing, first));
        assert!(book.read(|x| ready(x, c.date)).changed().is_empty());
        save(book, c.orders[0], 1, &chosen(&[("ham_body", "fresh_boneless")], "Leave the rind"));
        // Made and not sent: it is passed over.
        make(book, c.date);
        let late = book.order(book.customer("Dele Ashworth"), book.hogs(), gambrel::trade::share::Size::Half);
        let animal = book.head(gambrel::trade::animal::Class::Gilt, "42", c.date);
        book.place(late, animal, gambrel::trade::share::Side::Left);
        save(book, late, 0, &chosen(&[], ""));
        let third = make(book, c.date);
        let doc = document(book, third);
        assert_eq!(doc.since, "packet 1");
        let said: Vec<(&str, usize)> = doc.changed.iter().map(|s| (s.heading.as_str(), s.body.len())).collect();
        assert_eq!(said.len(), 3, "{said:?}");
        assert!(
            said[0].0.starts_with("Changed: 41, Left side · half hog, Ines Halvard, order 2027-") && said[0].1 == 2,
            "{said:?}"
        );
        assert!(said[1].0.starts_with("Added: 42, Left side · half hog, Dele Ashworth"), "{said:?}");
        assert_eq!(said[2].0, "Added: Gilt 42");
        let ham = &doc.changed[0].body[0];
        assert!(
            ham.starts_with("Ham: “Ham: ground or sausage.") && ham.contains("” becomes “Boneless fresh ham roasts"),
            "{ham}"
        );
        insta::assert_snapshot!("a_packet_after_changes", serde_json::to_string_pretty(&doc).unwrap());
        let marks: Vec<&str> = doc.sheets.iter().map(|s| s.mark.as_str()).collect();
        assert_eq!(marks, ["Changed since packet 1", "Unchanged since packet 1", "New since packet 1"]);
        let bold: Vec<&str> = doc.sheets[0].lines.iter().filter(|l| l.changed).map(|l| l.part.as_str()).collect();
        assert_eq!(bold, ["Ham"], "only the line that changed");
        let (name, pdf) = book.read(|x| packet_again(x, third));
        assert_eq!(name, "packet 2027-10-28 3.pdf");
        if let Some(words) = outside("pdftotext", &["-layout", "FILE", "-"], &pdf) {
            for wanted in [
                "What changed since packet 1",
                "Unchanged since packet 1",
                "Revision 2",
                "Caution: 1 head still has quarters",
            ] {
                assert!(words.contains(wanted), "“{wanted}” is not in the packet:\n{words}");
            }
        }
    });
}

#[tokio::test]
async fn the_mail_worker_takes_the_packet_to_the_plant() {
    let Some(mut peer) = Peer::start() else { return };
    for book in TestBook::each() {
        let c = coming(&book);
        let packet = make(&book, c.date);
        book.act(|tx, doing| mail_packet(tx, doing, packet));
        let (clock, sender) = (book.clock.clone(), peer.sender("smtp+plain", "", "plain"));
        let room = PostRoom::new(book.store.clone(), sender, None, move || clock.at());
        // The two owners were told of their standard cut at the packet’s making or not; only the packet is looked at.
        let done = room.send_due().await.unwrap();
        assert!(done.sent >= 1 && done == Round { sent: done.sent, ..Round::default() }, "{done:?}");
        let got = peer.received();
        let mail = got.iter().find(|m| m["to"][0][0] == "Pell Road Meats").expect("it reached the plant");
        assert_eq!(mail["attachments"][0]["name"], "packet 2027-10-28 1.pdf");
        use base64::Engine as _;
        let (_, pdf) = book.read(|x| packet_again(x, packet));
        let b64 = base64::engine::general_purpose::STANDARD.encode(pdf);
        assert_eq!(mail["attachments"][0]["base64"], b64.as_str());
        let sent = book.read(|x| {
            let all = stories::of_date(x, c.date)?;
            Ok(all.into_iter().map(|s| s.line).collect::<Vec<_>>())
        });
        assert!(sent.iter().any(|l| l.contains("was mailed to floor@pellroad.example")), "{sent:?}");
    }
}

#[actix_web::test]
async fn the_page_makes_mails_and_marks_what_changed() {
    let book = TestBook::sqlite();
    let c = coming(&book);
    let app = TestApp::signed_in(&book).await;
    let url = format!("/dates/{}/packet", c.date);
    app.submit(&url, &[("standard", "yes")]).await.expect(303);
    let page = app.get(&url).await.expect(200);
    page.says("Packet 1 is not sent yet").says("Mail it to Pell Road Meats").says("Made Thu, Oct 14, not sent");
    app.get("/").await.says("The packet for Thu, Oct 28 is to be sent");
    let send = format!("{url}/send");
    let sent = app.submit_to(&url, &send, &[]).await.expect(303);
    app.follow(&sent).await.says("Mailed Thu, Oct 14 by").says_not("is not sent yet").says("holds them as they are");
    app.get("/").await.says_not("is to be sent");
    save(&book, c.orders[1], 1, &chosen(&[("ham_body", "grind")], ""));
    app.get(&url).await.says("One sheet changed since packet 1 was sent");
    app.get("/").await.says("One cut sheet changed for Thu, Oct 28");
    let old = app.get(&url).await.forms().into_iter().find(|f| f.post && f.action != "/sign-out").unwrap();
    let again = app.post(&send, old.body(&[("packet", "1"), ("how", "mail")])).await.expect(422);
    again.says("The packet was not sent").says("Packet 1 was sent already");
}

#[test]
fn a_long_list_of_head_becomes_smaller_before_the_cover_runs_over() {
    let book = TestBook::sqlite();
    let c = coming(&book);
    let id = make(&book, c.date);
    let mut doc = document(&book, id);
    let last = "Write the hanging weights on the last page, or phone them through.";
    assert_eq!(doc.reminder.last().map(String::as_str), Some(last));
    // What stands on the cover of a packet of so many head.
    let mut cover = |head: usize, layout: u16| {
        let one = doc.animals[0].clone();
        (doc.animals, doc.layout) = (vec![one; head], layout);
        let words = outside("pdftotext", &["-f", "1", "-l", "1", "FILE", "-"], &doc.pdf().unwrap())?;
        Some(words.split_whitespace().collect::<Vec<_>>().join(" ").contains(last))
    };
    let Some(short) = cover(2, 1) else { return };
    assert!(short, "a short list fits in any layout");
    let first = (2..40).find(|head| cover(*head, 1) == Some(false)).unwrap();
    assert_eq!(cover(first, 2), Some(true), "{first} head");
    assert_eq!(cover(first + 1, 2), Some(true));
    assert_eq!(cover(39, 2), Some(false), "a list of any length is printed, over more than one page");
}
