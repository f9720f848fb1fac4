//! The private link on a receipt: a square for a phone's camera, read back from the printed page, and the same address in words. The
//! receipt that was issued stays as it is.

use crate::paper::outside;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::link_in_mail::put_link_in;
use gambrel::actions::paper_again::paper_again;
use gambrel::actions::private_link::order_of;
use gambrel::actions::record_deposit::record_deposit;
use gambrel::actions::send_mail::outgoing;
use gambrel::book::ids::{ReceiptId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::rows::outbox::Message;
use gambrel::book::{links, reservations, stories};
use gambrel::paper::PaperSize;
use gambrel::paper::receipt::Receipt;
use gambrel::secret;
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::{DepositFate, PaperKind};

const BASE: &str = "https://farm.example";

/// What a phone's camera reads of the squares on the page of a paper that has some.
fn scanned(pdf: &[u8]) -> Option<Vec<String>> {
    let folder = tempfile::tempdir().unwrap();
    let root = folder.path().join("page");
    outside("pdftoppm", &["-gray", "-r", "200", "FILE", root.to_str().unwrap()], pdf)?;
    let mut found = Vec::new();
    for page in std::fs::read_dir(folder.path()).unwrap() {
        let picture = std::fs::read(page.unwrap().path()).unwrap();
        // A PGM: P5, width and height, 255, then a byte for each point.
        let mut words = picture.splitn(4, |b| b.is_ascii_whitespace());
        assert_eq!(words.next(), Some(&b"P5"[..]));
        let mut number = || std::str::from_utf8(words.next().unwrap()).unwrap().parse::<usize>().unwrap();
        let (width, height) = (number(), number());
        let points = &words.next().unwrap()[4..];
        assert_eq!(points.len(), width * height);
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| points[y * width + x]);
        found.extend(image.detect_grids().iter().map(|grid| grid.decode().unwrap().1));
    }
    Some(found)
}

/// Words without spaces and line ends, so that broken lines compare equal.
fn words(pdf: &[u8]) -> Option<String> {
    Some(outside("pdftotext", &["-layout", "FILE", "-"], pdf)?.split_whitespace().collect())
}

#[test]
fn the_square_reads_as_the_address_beside_it_on_every_sheet_and_at_every_length() {
    let url = format!("{BASE}/c/{}", secret::token().unwrap());
    for paper in [PaperSize::Letter, PaperSize::A4] {
        for notes in [0, 12, 22, 60] {
            let mut receipt: Receipt = serde_json::from_str(include_str!("papers/receipt.json")).unwrap();
            receipt.head.paper = paper;
            receipt
                .notes
                .extend((0..notes).map(|n| format!("Paragraph {n} of a long policy. {}", "It goes on. ".repeat(9))));
            let plain = receipt.pdf().unwrap();
            let pdf = receipt.pdf_with_link(&url).unwrap();
            assert_eq!(receipt.pdf().unwrap(), plain, "the receipt itself stays the same");
            if let Some(said) = outside("qpdf", &["--check", "FILE"], &pdf) {
                assert!(said.contains("No syntax or stream encoding errors"), "{said}");
            }
            if let (Some(before), Some(after)) = (words(&plain), words(&pdf)) {
                assert!(after.contains(&url) && after.contains("Yourorder’spage"), "{after}");
                assert!(!before.contains("/c/") && !before.contains("Yourorder’spage"), "{before}");
            }
            if let (Some(none), Some(one)) = (scanned(&plain), scanned(&pdf)) {
                assert_eq!((none, one), (Vec::new(), vec![url.clone()]), "{notes} notes");
            }
        }
    }
    let receipt: Receipt = serde_json::from_str(include_str!("papers/receipt.json")).unwrap();
    assert!(receipt.pdf_with_link(&"x".repeat(5_000)).is_err(), "too long for a square");
}

/// An order with a deposit whose receipt waits in the outbox.
fn paid(book: &TestBook) -> (ReservationId, ReceiptId, Message) {
    let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
    let money = book.money("150.00");
    let receipt = book.act(|tx, doing| record_deposit(tx, doing, order, &money, true));
    let mail = book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 1)?.remove(0)));
    assert_eq!((mail.attachment_kind, mail.attachment_id), (Some(PaperKind::Receipt), Some(receipt.0)));
    (order, receipt, mail)
}

/// The mail as it leaves, and the order its link opens.
fn leaving(book: &TestBook, mail: &Message, base: Option<&str>) -> (Vec<u8>, Option<ReservationId>) {
    let token = secret::token().unwrap();
    let (m, link) = book.act(|tx, doing| {
        let mut m = mail.clone();
        let link = put_link_in(tx, doing.now, &mut m, base, &token)?;
        Ok((m, link.map(|(_, url)| url)))
    });
    let out = book.read(|c| outgoing(c, &m, None, link.as_deref()));
    let at = book.clock.at();
    (out.attachment.unwrap().1, book.read(|c| order_of(c, at, &token)).map(|(_, order)| order))
}

#[test]
fn a_receipt_leaves_by_mail_with_a_link_of_its_own_and_stays_as_it_was_issued() {
    on_each_engine(|book| {
        let (order, receipt, mail) = paid(book);
        let issued = book.read(|c| paper_again(c, PaperKind::Receipt, receipt.0)).1;
        let (pdf, opens) = leaving(book, &mail, Some(BASE));
        assert_eq!(opens, Some(order));
        if let Some(squares) = scanned(&pdf) {
            assert_eq!(squares.len(), 1);
            assert!(squares[0].starts_with("https://farm.example/c/"), "{squares:?}");
            let token = squares[0].rsplit('/').next().unwrap();
            let at = book.clock.at();
            assert_eq!(book.read(|c| order_of(c, at, token)).map(|(_, order)| order), Some(order));
        }
        // Without an address people type there is none.
        let (pdf, opens) = leaving(book, &mail, None);
        assert_eq!((pdf == issued, opens), (true, None));
        assert_eq!(book.read(|c| paper_again(c, PaperKind::Receipt, receipt.0)).1, issued);
        // The share went to somebody else: who had it is not let in.
        let taker = book.customer("Tomas Wren");
        book.act(|tx, _| {
            use diesel::prelude::*;
            use gambrel::book::schema::reservation;
            let new = reservation::customer_id.eq(taker);
            Ok(diesel::update(reservation::table.find(order)).set(new).execute(tx.conn())?)
        });
        let (pdf, opens) = leaving(book, &mail, Some(BASE));
        assert_eq!((pdf == issued, opens), (true, None));
        // Nor is there one once the order is cancelled.
        let (order, receipt, mail) = paid(book);
        let version = book.read(|c| Ok(reservations::get(c, order)?.0.version));
        let gone = Cancel { version, reason: "moving".into(), fate: DepositFate::Keep, carry_to: None };
        book.act(|tx, doing| cancel_reservation(tx, doing, order, &gone));
        let issued = book.read(|c| paper_again(c, PaperKind::Receipt, receipt.0)).1;
        let (pdf, opens) = leaving(book, &mail, Some(BASE));
        assert_eq!((pdf == issued, opens), (true, None));
    });
}

#[actix_web::test]
async fn the_farmer_prints_a_receipt_with_a_link_and_every_copy_has_its_own() {
    for book in TestBook::each() {
        let (order, receipt, _) = paid(&book);
        let other = book.order(book.customer("Tomas Wren"), book.hogs(), Size::Half);
        let app = TestApp::with(&book, &[("GAMBREL_PUBLIC_URL", BASE)]).await;
        app.make_account();
        app.begin_session();
        let page = format!("/orders/{order}/link");
        let copy = format!("/orders/{order}/receipts/{receipt}/with-link");
        app.get(&page).await.expect(200).says("with the square to scan");
        let form = app.get(&page).await.forms().into_iter().find(|f| f.action == copy).unwrap();
        let first = app.post(&copy, form.body(&[])).await.expect(200);
        let again = app.post(&copy, form.body(&[])).await.expect(303);
        app.follow(&again).await.says("That copy was made already");
        let second = app.submit_to(&page, &copy, &[]).await.expect(200);
        let live = book.read(|c| Ok(links::live_of(c, order)?.len()));
        assert_eq!(live, 2);
        if let (Some(one), Some(two)) = (scanned(&first.bytes), scanned(&second.bytes)) {
            assert!(one[0].starts_with(BASE) && one != two, "{one:?} {two:?}");
        }
        let told = book.read(|c| Ok(stories::of_reservation(c, order)?));
        assert!(told.iter().any(|l| l.line == "A private link was put on a copy of a receipt"));
        // A receipt of another order is none of this one's.
        let form = app
            .get(&format!("/orders/{other}/link"))
            .await
            .forms()
            .into_iter()
            .find(|f| f.action.ends_with("/show"))
            .unwrap();
        app.post(&format!("/orders/{other}/receipts/{receipt}/with-link"), form.body(&[])).await.expect(404);
        let plain = app.get(&format!("/receipts/{receipt}.pdf")).await.expect(200);
        if let Some(squares) = scanned(&plain.bytes) {
            assert_eq!(squares, Vec::<String>::new());
        }
        // Without an address people type a paper carries no link, and the page offers none.
        let bare = TestApp::new(&book).await;
        bare.begin_session();
        let form = bare
            .get(&page)
            .await
            .says_not("with the square to scan")
            .forms()
            .into_iter()
            .find(|f| f.action.ends_with("/show"))
            .unwrap();
        bare.post(&copy, form.body(&[])).await.expect(422).says("No public address is set");
    }
}
