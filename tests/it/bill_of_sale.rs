//! The bill of sale: only for a share of a live animal, before its day of slaughter; frozen; in the farm's words; mailed when asked to.

use crate::support::book::DAY;
use crate::support::farm::day;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::make_bill_of_sale::{make_bill_of_sale, write_bill_of_sale};
use gambrel::actions::paper_again::paper_again;
use gambrel::book::ids::{ProcessorId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::{bills_of_sale, stories};
use gambrel::paper::bill_of_sale::BillOfSale;
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size};
use gambrel::trade::vocabulary::PaperKind;

#[track_caller]
fn refused<T: std::fmt::Debug>(done: Result<T, Failure>, words: &str) {
    match done {
        Err(Failure::Refused(p)) => assert!(p.0.iter().any(|p| p.sentence.contains(words)), "{p:?}, not “{words}”"),
        other => panic!("not refused: {other:?}"),
    }
}

#[track_caller]
fn sound(book: &TestBook) {
    let (said, holds) = in_words(&book.read(check_book));
    assert!(holds, "{said}");
}

/// Half a hog that hangs on barrow 42, which goes to slaughter on November 18.
fn alive(book: &TestBook) -> ReservationId {
    half_of_42(book, "Ines Halvard", book.plant())
}

fn half_of_42(book: &TestBook, name: &str, plant: ProcessorId) -> ReservationId {
    let offering = book.hogs();
    let order = book.order(book.customer(name), offering, Size::Half);
    book.deposit(order, "150.00");
    let date = book.date(plant, "2027-11-18");
    let barrow = book.head(Class::Barrow, "42", date);
    book.place(order, barrow, Side::Left);
    order
}

/// For the walk over every page: one that was made.
pub(crate) fn made(book: &TestBook, order: ReservationId) {
    book.act(|tx, doing| make_bill_of_sale(tx, doing, order, false));
}

#[test]
fn it_says_who_sells_what_to_whom_and_stays_as_it_was() {
    on_each_engine(|book| {
        let order = alive(book);
        let id = book.act(|tx, doing| make_bill_of_sale(tx, doing, order, true));
        let (number, json) = book.read(|c| Ok(bills_of_sale::paper(c, id)?));
        let paper: BillOfSale = serde_json::from_str(&json).unwrap();
        assert_eq!(paper.number, number);
        assert_eq!(paper.date, "October 14, 2027");
        assert_eq!(paper.to[0], "Ines Halvard");
        assert_eq!(paper.signs, [format!("Seller, {}", paper.head.farm), "Buyer, Ines Halvard".to_string()]);
        let all: Vec<&str> = paper.sections.iter().flat_map(|s| &s.body).map(String::as_str).collect();
        let said = all.join("\n");
        for words in [
            "one half of the live animal below, before slaughter",
            "Barrow 42, ear tag or mark 42",
            "November 18, 2027 at",
            "of hanging weight, locked on October 14, 2027",
            "Paid down by the buyer until today: $150.00",
            "may not be sold",
        ] {
            assert!(said.contains(words), "{words}: {said}");
        }
        let pdf = || book.read(|c| paper_again(c, PaperKind::BillOfSale, id.0));
        let (name, first) = pdf();
        assert_eq!(name, format!("bill of sale {number}.pdf"));
        // Other words and another day change nothing of it.
        book.act(|tx, doing| write_bill_of_sale(tx, doing, "1. Ours.\n\n2. Too.", 0));
        book.clock.advance(3 * DAY);
        assert_eq!(pdf().1, first, "byte for byte");
        let later = book.act(|tx, doing| make_bill_of_sale(tx, doing, order, false));
        let (_, json) = book.read(|c| Ok(bills_of_sale::paper(c, later)?));
        let paper: BillOfSale = serde_json::from_str(&json).unwrap();
        assert_eq!(paper.sections.last().unwrap().body, ["1. Ours.", "2. Too."]);
        // One went out, with the paper.
        let mails = book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 50)?));
        let with: Vec<_> = mails.iter().filter(|m| m.attachment_kind == Some(PaperKind::BillOfSale)).collect();
        assert_eq!((with.len(), with[0].attachment_id), (1, Some(id.0)));
        assert!(with[0].body.contains("Barrow 42"), "{}", with[0].body);
        let story = book.read(|c| Ok(stories::of_reservation(c, order)?));
        assert_eq!(
            story.iter().filter(|l| l.line.contains("bill of sale was made for a share of Barrow 42")).count(),
            2
        );
        sound(book);
    });
}

#[test]
fn it_is_for_a_live_animal_and_made_before_the_day_of_slaughter() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let make = |order| book.try_act(move |tx, doing| make_bill_of_sale(tx, doing, order, false));
        refused(make(hog.orders[0]), "for a share of a live animal and is made before that day");
        let nowhere = book.order(book.customer("Ned Pell"), hog.offering, Size::Half);
        refused(make(nowhere), "Give this order its place on one first");
        let order = half_of_42(book, "Wilma Stroud", hog.plant);
        book.clock.advance(34 * DAY);
        assert_eq!(book.now().today, day("2027-11-17"));
        make(order).unwrap();
        book.clock.advance(DAY);
        refused(make(order), "Barrow 42 was booked for slaughter on November 18, 2027");
        sound(book);
    });
}

#[actix_web::test]
async fn it_is_made_on_the_orders_page_and_its_words_in_settings() {
    for book in TestBook::each() {
        let order = alive(&book);
        let app = TestApp::signed_in(&book).await;
        let url = format!("/orders/{order}/bill-of-sale");
        app.get(&format!("/orders/{order}")).await.says(&url);
        app.get(&url).await.expect(200).says("Barrow 42").says("by a lawyer").says("Mail it to ines@customers.example");
        let made = app.submit_to(&url, &url, &[("send", "yes")]).await.expect(303);
        app.follow(&made).await.says("in the Outbox").says("Bill of sale of");
        app.get("/bills-of-sale/1.pdf").await.expect(200);
        app.get("/bills-of-sale/9.pdf").await.expect(404);
        let words = "/settings/bill-of-sale";
        let stale = app.get(words).await.forms().into_iter().find(|f| f.action == words).unwrap();
        app.get(words).await.says("a sample until you save your own").says("meat inspection program");
        app.submit_to(words, words, &[("body", "")]).await.expect(422);
        app.submit_to(words, words, &[("body", "Our own words.")]).await.expect(303);
        app.get(words).await.says("Our own words.");
        app.post(words, stale.body(&[("body", "Other words.")])).await.expect(422).says("Keep theirs");
        book.clock.advance(40 * DAY);
        app.begin_session();
        app.get(&url).await.expect(200).says("is made before that day").says_not("Make the bill of sale");
    }
}
