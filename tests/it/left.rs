//! Offers to the waiting list: what is held is never sold, an answer or its absence moves the line on; the page of what is left.

use crate::support::{TestApp, TestBook, on_each_engine};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::add_customer::{CustomerIn, change_customer};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::offer_share::{answer_offer, lapse_offers, offer_share};
use gambrel::actions::place_share::{Move, Spot, Target, place_shares};
use gambrel::actions::write_shares_left::{SharesLeft, write_shares_left};
use gambrel::book::ids::{OfferingId, ReservationId};
use gambrel::book::schema::{message, waiting_offer};
use gambrel::book::{offerings, reservations, waiting_offers};
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::{DepositFate, OfferEnd};

/// One hog: one side sold, then three who wait for a half after the other side is sold too; then the other side comes free.
struct Line {
    offering: OfferingId,
    waiting: Vec<ReservationId>,
}

fn cancel(book: &TestBook, order: ReservationId) {
    let version = book.read(|c| Ok(reservations::get(c, order)?.0.version));
    let input = Cancel { version, reason: "Moving away".into(), fate: DepositFate::None, carry_to: None };
    book.act(|tx, doing| cancel_reservation(tx, doing, order, &input));
}

fn line(book: &TestBook) -> Line {
    let offering = book.offering(Species::Hog, 1, "5.25");
    book.order(book.customer("Abel Storrow"), offering, Size::Half);
    let gone = book.order(book.customer("Silas Merrow"), offering, Size::Half);
    let names = ["Greta Fenn", "Tobias Wren", "Hanne Brand"];
    let waiting = names.map(|name| book.order(book.customer(name), offering, Size::Half)).to_vec();
    cancel(book, gone);
    Line { offering, waiting }
}

fn waits(book: &TestBook, order: ReservationId) -> bool {
    book.read(|c| Ok(reservations::get(c, order)?.0)).waiting_since.is_some()
}

fn open(book: &TestBook) -> Vec<ReservationId> {
    book.read(|c| Ok(waiting_offers::open(c)?)).into_iter().map(|o| o.reservation).collect()
}

fn outcomes(book: &TestBook) -> Vec<Option<OfferEnd>> {
    book.read(|c| Ok(waiting_offer::table.order(waiting_offer::id).select(waiting_offer::outcome).load(c)?))
}

fn messages(book: &TestBook, purpose: &str) -> Vec<String> {
    let purpose = purpose.to_string();
    book.read(|c| {
        Ok(message::table.filter(message::purpose.eq(purpose)).order(message::id).select(message::body).load(c)?)
    })
}

fn refused<T: std::fmt::Debug>(outcome: Result<T, Failure>) -> String {
    match outcome {
        Err(Failure::Refused(p)) => p.0.into_iter().map(|p| p.sentence).collect(),
        other => panic!("not refused: {other:?}"),
    }
}

fn holds(book: &TestBook) {
    let (said, holds) = in_words(&book.read(check_book));
    assert!(holds, "{said}");
}

#[test]
fn what_is_offered_is_held_and_taken_by_its_owner_alone() {
    on_each_engine(|book| {
        let l = line(book);
        book.act(|tx, doing| offer_share(tx, doing, l.waiting[0]));
        assert_eq!(open(book), [l.waiting[0]]);
        // Held: a new reservation waits, the next cannot be moved up, offered to, or placed on an animal.
        let late = book.order(book.customer("Late Comer"), l.offering, Size::Half);
        assert!(waits(book, late));
        let said = refused(book.try_act(|tx, doing| offer_share(tx, doing, l.waiting[1])));
        assert!(said.contains("held for others"), "{said}");
        refused(book.try_act(|tx, doing| gambrel::actions::move_up::move_up(tx, doing, l.waiting[1], false)));
        let head = book.head(Class::Barrow, "41", book.date(book.plant(), "2027-11-04"));
        let to = Some(Target { animal: head, spot: Spot::Side(Side::Left) });
        let place = |order| [Move { reservation: order, to, field: "place".into() }];
        refused(book.try_act(|tx, doing| place_shares(tx, doing, &place(l.waiting[1]))));
        let said = refused(book.try_act(|tx, doing| offer_share(tx, doing, l.waiting[0])));
        assert!(said.contains("October 17, 2027 already"), "{said}");
        let texts = messages(book, "waiting_offer");
        assert_eq!(texts.len(), 1);
        assert!(texts[0].contains("through Sunday, October 17") && texts[0].contains("$5.25 per lb"), "{}", texts[0]);
        holds(book);
        // Yes: it has its share at the price locked, and is told so.
        book.act(|tx, doing| answer_offer(tx, doing, l.waiting[0], true));
        assert!(!waits(book, l.waiting[0]) && waits(book, l.waiting[1]));
        assert_eq!(outcomes(book), [Some(OfferEnd::Accepted)]);
        assert_eq!(messages(book, "moved_up").len(), 1);
        let said = refused(book.try_act(|tx, doing| answer_offer(tx, doing, l.waiting[0], false)));
        assert!(said.contains("over"), "{said}");
        holds(book);
    });
}

#[test]
fn placing_the_one_it_is_held_for_uses_the_held_share() {
    on_each_engine(|book| {
        let l = line(book);
        book.act(|tx, doing| offer_share(tx, doing, l.waiting[0]));
        let head = book.head(Class::Barrow, "41", book.date(book.plant(), "2027-11-04"));
        book.place(l.waiting[0], head, Side::Left);
        assert!(!waits(book, l.waiting[0]));
        assert_eq!((open(book), outcomes(book)), (vec![], vec![Some(OfferEnd::Accepted)]));
        holds(book);
    });
}

#[test]
fn no_and_silence_move_the_line_on_and_nobody_is_asked_twice_by_itself() {
    on_each_engine(|book| {
        let l = line(book);
        book.act(|tx, doing| offer_share(tx, doing, l.waiting[0]));
        book.act(|tx, doing| answer_offer(tx, doing, l.waiting[0], false));
        assert!(waits(book, l.waiting[0]), "who says no stays on the list");
        assert_eq!(open(book), [l.waiting[1]]);
        // The last day itself is still in time.
        book.clock.advance(3 * 86_400_000);
        assert_eq!(book.act(lapse_offers), 0);
        book.clock.advance(86_400_000);
        assert_eq!(book.act(lapse_offers), 1);
        assert_eq!(book.act(lapse_offers), 0, "run twice, done once");
        assert_eq!(open(book), [l.waiting[2]]);
        book.act(|tx, doing| answer_offer(tx, doing, l.waiting[2], false));
        assert_eq!(open(book), [], "all were asked");
        assert_eq!(outcomes(book), [OfferEnd::Declined, OfferEnd::Lapsed, OfferEnd::Declined].map(Some));
        // The farmer may ask again.
        book.act(|tx, doing| offer_share(tx, doing, l.waiting[0]));
        assert_eq!(open(book), [l.waiting[0]]);
        // A cancelled order gives back what was held, to the next not asked: nobody is left.
        cancel(book, l.waiting[0]);
        assert_eq!(open(book), []);
        holds(book);
    });
}

#[test]
fn everybody_at_once_and_still_one_side_is_one_side() {
    on_each_engine(|book| {
        let l = line(book);
        let new: Vec<_> = (0..4).map(|n| book.customer(&format!("Person{n} Last"))).collect();
        std::thread::scope(|s| {
            for order in &l.waiting {
                s.spawn(|| drop(book.try_act(|tx, doing| offer_share(tx, doing, *order))));
                s.spawn(|| drop(book.try_act(|tx, doing| answer_offer(tx, doing, *order, true))));
                s.spawn(|| {
                    drop(book.try_act(|tx, doing| gambrel::actions::move_up::move_up(tx, doing, *order, false)))
                });
            }
            for who in new {
                s.spawn(move || book.order(who, l.offering, Size::Half));
            }
        });
        let taken = book.read(|c| Ok(offerings::taken(c, &[l.offering])?))[&l.offering];
        assert_eq!(taken.sold.sides(), 2, "one side was sold before, one is sold or held now: {taken:?}");
        assert!(open(book).len() <= 1);
        holds(book);
    });
}

#[test]
fn past_customers_are_told_once_and_only_those_without_an_order() {
    on_each_engine(|book| {
        let old = book.offering(Species::Hog, 8, "5.00");
        let (bought, has_one) = (book.customer("Wilma Stroud"), book.customer("Marta Quillan"));
        book.order(bought, old, Size::Half);
        book.order(has_one, old, Size::Half);
        let version = book.read(|c| Ok(offerings::get(c, old)?.version));
        book.act(|tx, doing| gambrel::actions::offer::close_offering(tx, doing, old, version, true));
        let now = book.hogs();
        book.order(has_one, now, Size::Half);
        let say = |to: &[_]| SharesLeft {
            species: Species::Hog,
            left: "half a hog".into(),
            price: "$5.25 per lb".into(),
            sell_by: book.now().today,
            to: to.to_vec(),
        };
        refused(book.try_act(|tx, doing| write_shares_left(tx, doing, &say(&[bought, has_one]))));
        refused(book.try_act(|tx, doing| write_shares_left(tx, doing, &say(&[]))));
        assert_eq!(messages(book, "shares_left").len(), 0, "all or none");
        let quiet = |no_offers: bool| {
            book.act(|tx, doing| {
                let who = gambrel::book::people::get(tx.conn(), bought)?;
                let facts = CustomerIn {
                    name: who.name,
                    mail: who.mail,
                    phone: who.phone,
                    address: who.address,
                    notes: who.notes,
                    no_offers,
                };
                change_customer(tx, doing, bought, who.version, &facts)
            });
        };
        quiet(true);
        refused(book.try_act(|tx, doing| write_shares_left(tx, doing, &say(&[bought]))));
        quiet(false);
        assert_eq!(book.act(|tx, doing| write_shares_left(tx, doing, &say(&[bought, bought]))), 1);
        refused(book.try_act(|tx, doing| write_shares_left(tx, doing, &say(&[bought]))));
        let texts = messages(book, "shares_left");
        assert!(texts.len() == 1 && texts[0].contains("half a hog"), "{texts:?}");
    });
}

#[actix_web::test]
async fn the_page_says_what_is_left_and_takes_the_answers() {
    for book in TestBook::each() {
        let l = line(&book);
        let beef = book.offering(Species::Beef, 1, "4.65");
        let date = book.date(book.plant(), "2027-10-21");
        let steer = book.head(Class::Steer, "211", date);
        book.head(Class::Heifer, "212", date);
        book.place(book.order(book.customer("Ines Halvard"), beef, Size::Half), steer, Side::Left);
        book.place(book.order(book.customer("Tomas Wren"), beef, Size::Quarter), steer, Side::Right);
        let app = TestApp::signed_in(&book).await;
        let page = app.get("/for-sale/left").await.expect(200);
        let text = page.text();
        for says in [
            "Steer 211",
            "A quarter",
            "7 days left",
            "custom-exempt",
            "Heifer 212",
            "A whole animal",
            "Ask your state’s meat inspection program",
        ] {
            assert!(text.contains(says), "{says} is missing:\n{text}");
        }
        let first = format!("/orders/{}/offer", l.waiting[0]);
        app.submit_to("/for-sale/left", &first, &[]).await.expect(303);
        assert_eq!(open(&book), [l.waiting[0]]);
        let today = app.get("/").await.expect(200);
        let text = today.text();
        assert!(text.contains("A half hog is held for Greta Fenn") && text.contains("3 days left"), "{text}");
        let answer = format!("{first}/answer");
        let order = app.get(&format!("/orders/{}", l.waiting[0])).await.expect(200);
        order
            .says("Offered, answer by")
            .says("A share is held for the answer")
            .says_not("Give it a share that came free");
        assert!(order.forms().iter().any(|f| f.action == answer), "the order's own page takes the answer too");
        app.submit_to("/for-sale/left", &answer, &[]).await.expect(303);
        assert_eq!(open(&book), [l.waiting[0]], "neither yes nor no changes nothing");
        app.submit_to("/for-sale/left", &answer, &[("answer", "no")]).await.expect(303);
        assert_eq!(open(&book), [l.waiting[1]]);
        let answer = format!("/orders/{}/offer/answer", l.waiting[1]);
        app.submit_to("/for-sale/left", &answer, &[("answer", "yes")]).await.expect(303);
        assert!(!waits(&book, l.waiting[1]));
    }
}
