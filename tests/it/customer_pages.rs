//! What a customer sees and does by private link: where the order stands, what it costs, papers, contact, cancelling, offers.

use crate::support::book::{DAY, HOUR};
use crate::support::farm::{lb, usd};
use crate::support::{Page, TestApp, TestBook};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::care_for_animal::{Weighed, record_live_weight};
use gambrel::actions::handle_message::mark_handed_over;
use gambrel::actions::offer::{OfferingIn, change_offering};
use gambrel::actions::offer_share::offer_share;
use gambrel::actions::record_payment::record_payment;
use gambrel::book::ids::{OfferingId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::rows::outbox::Message;
use gambrel::book::{offerings, reservations, stories};
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::{BilledBy, DepositFate, Per};

/// A customer's browser with the order open.
async fn holding(app: &TestApp, order: ReservationId) -> TestApp {
    let browser = app.other_browser();
    browser.hold(order);
    browser
}

fn heading(page: &Page) -> String {
    page.text().split("<h1>").nth(1).unwrap().split("</h1>").next().unwrap().to_string()
}

fn last_message(book: &TestBook, order: ReservationId) -> Message {
    book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 1)?.remove(0)))
}

#[actix_web::test]
async fn the_page_says_first_what_there_is_to_do_all_the_way() {
    for book in TestBook::each() {
        let app = TestApp::new(&book).await;
        let (hogs, plant) = (book.hogs(), book.plant());
        book.charge(plant, "Cut and wrap", Per::UnitHanging, "0.85", BilledBy::Processor);
        let order = book.order(book.customer("Ines Halvard"), hogs, Size::Half);
        let ines = holding(&app, order).await;
        let page = ines.get("/my").await.expect(200);
        assert_eq!(heading(&page), "Please send the deposit of $150.00");
        page.says("Make checks payable to Nettle Bend Farm")
            .says("$5.25 per lb of hanging weight. That price is locked since");
        page.says("The sum is known when the share is weighed");
        book.deposit(order, "150.00");
        let page = ines.get("/my").await.expect(200);
        assert_eq!(heading(&page), "Nothing to do for your half hog now");
        page.says("Deposit of $150.00").says("Received").says("Receipt R-2027-001").says("has its animal and its day");
        let date = book.date(plant, "2027-10-20");
        let animal = book.head(Class::Barrow, "41", date);
        book.place(order, animal, Side::Left);
        let page = ines.get("/my").await.expect(200);
        assert_eq!(heading(&page), "Tell us how to cut your half hog");
        page.says("Left side of barrow 41, Wednesday, October 20 at Pell Road Meats.").says("Your share: left side.");
        book.clock.advance(7 * DAY);
        book.weigh(date, animal, "82.5", "80");
        let page = ines.get("/my").await.expect(200);
        page.says("Hanging weight 82.50 lb").says("433.13").says("283.13").says("70.13").says("The invoice follows.");
        let invoice = book.issue(order);
        let page = ines.get("/my").await.expect(200);
        assert_eq!(heading(&page), "Please pay the balance of $283.13");
        page.says("As invoiced.").says(&format!("/my/invoice/{invoice}"));
        book.clock.advance(60 * DAY);
        ines.get("/my").await.expect(200).says("If it is on its way, thank you.");
        book.pay(invoice, "283.13");
        let page = ines.get("/my").await.expect(200);
        assert_eq!(heading(&page), "Your half hog is paid");
    }
}

/// An offering of hogs that are expected to hang at 160 to 190 lb.
fn expected_hogs(book: &TestBook) -> OfferingId {
    let hogs = book.hogs();
    let o = book.read(|c| Ok(offerings::get(c, hogs)?));
    let input = OfferingIn {
        species: o.species,
        season: o.season.clone(),
        head_count: o.head_count,
        sizes: vec![Size::Whole, Size::Half, Size::Quarter],
        quarter_part: o.quarter_part,
        expected_low: Some(lb("160")),
        expected_high: Some(lb("190")),
        notes: String::new(),
    };
    book.act(|tx, doing| change_offering(tx, doing, hogs, o.version, &input));
    hogs
}

#[actix_web::test]
async fn an_estimate_is_a_range_that_says_what_it_rests_on_and_sharpens() {
    for book in TestBook::each() {
        let app = TestApp::new(&book).await;
        let (hogs, plant) = (expected_hogs(&book), book.plant());
        book.charge(plant, "Kill fee", Per::Head, "95.00", BilledBy::Farm);
        book.charge(plant, "Cut and wrap", Per::UnitHanging, "0.85", BilledBy::Processor);
        let order = book.order(book.customer("Ines Halvard"), hogs, Size::Half);
        book.deposit(order, "150.00");
        let ines = holding(&app, order).await;
        // 80 and 95 lb at $5.25 are 420.00 and 498.75; less 150.00.
        let page = ines.get("/my").await.expect(200);
        page.says("expected to hang at 80–95 lb").says("what we expect of the hog season, Fall 2027");
        page.says("Half hog, 80–95 lb × $5.25").says("420 – 499").says("270 – 349").says("−150");
        page.says_not("Kill fee");
        let date = book.date(plant, "2027-11-18");
        let animal = book.head(Class::Barrow, "41", date);
        book.place(order, animal, Side::Left);
        // Half of the kill fee of 95.00 is 47.50; 0.85 a pound are 68.00 and 80.75 to the plant.
        let page = ines.get("/my").await.expect(200);
        page.says("47.50").says("317 – 397").says("To Pell Road Meats, when you collect").says("68 – 81");
        // On the scale alive at 250 lb: 70 to 75 % hang, to the next 5 lb for the head.
        let on = book.now().today;
        book.act(|tx, doing| record_live_weight(tx, doing, animal, on, Weighed::Scale(lb("250"))));
        let page = ines.get("/my").await.expect(200);
        page.says("Barrow 41 weighed 250 lb alive on").says_not("what we expect of the hog season");
        page.says("expected to hang at 87.5–95 lb").says("An estimate in dollars, not a promise");
    }
}

#[actix_web::test]
async fn papers_are_found_by_their_own_order_only() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let [mine, theirs] = hog.orders;
        let (invoice, other) = (book.issue(mine), book.issue(theirs));
        let app = TestApp::new(&book).await;
        let (ines, tomas) = (holding(&app, mine).await, holding(&app, theirs).await);
        let page = ines.get(&format!("/my/invoice/{invoice}")).await.expect(200);
        page.says("Half hog").says("Make checks payable");
        assert!(ines.get(&format!("/my/invoice/{invoice}.pdf")).await.expect(200).bytes.starts_with(b"%PDF-"));
        ines.get("/my/receipt/1").await.expect(200).says("Receipt R-2027-001").says("150.00");
        assert!(ines.get("/my/receipt/1.pdf").await.expect(200).bytes.starts_with(b"%PDF-"));
        for url in [
            format!("/my/invoice/{other}"),
            format!("/my/invoice/{other}.pdf"),
            "/my/receipt/2".into(),
            "/my/receipt/2.pdf".into(),
        ] {
            ines.get(&url).await.expect(404).says_not("Tomas");
            tomas.get(&url).await.expect(200);
            app.get(&url).await.expect(303);
        }
    }
}

#[actix_web::test]
async fn a_receipt_that_names_another_order_is_not_shown() {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    // Both shares belong to one customer from here on: one check pays both invoices.
    let who = book.customer("Abel Storrow");
    let hogs = hog.offering;
    let orders = [Size::Half, Size::Half].map(|size| book.order(who, hogs, size));
    let animal = book.head(Class::Gilt, "42", hog.date);
    for (order, side) in orders.into_iter().zip([Side::Left, Side::Right]) {
        book.place(order, animal, side);
    }
    book.weigh(hog.date, animal, "82.5", "80");
    let invoices = orders.map(|o| book.issue(o));
    let money = book.money("200.00");
    let parts = invoices.map(|i| (i, usd("100.00")));
    book.act(|tx, doing| record_payment(tx, doing, who, &money, &parts, true, false));
    let app = TestApp::new(&book).await;
    let abel = holding(&app, orders[0]).await;
    let other = book.read(|c| Ok(reservations::get(c, orders[1])?.0.number));
    abel.get("/my").await.expect(200).says_not("Receipt R-").says_not(&other);
    abel.get("/my/receipt/3").await.expect(404);
    book.pay(invoices[0], "10.00");
    abel.get("/my").await.expect(200).says_not(&other);
}

#[actix_web::test]
async fn a_customer_corrects_contact_and_the_old_address_is_told() {
    for book in TestBook::each() {
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        let app = TestApp::new(&book).await;
        let ines = holding(&app, order).await;
        let stale = ines.get("/my/contact").await.forms().into_iter().find(|f| f.action == "/my/contact").unwrap();
        ines.submit_to("/my/contact", "/my/contact", &[("mail", ""), ("phone", "")])
            .await
            .expect(422)
            .says("Leave us a mail address");
        ines.submit_to("/my/contact", "/my/contact", &[("phone", "12")])
            .await
            .expect(422)
            .says("is not a telephone number");
        let new = [("mail", "Ines@New.example"), ("phone", "555-0199"), ("address", "9 Ferry Road")];
        let saved = ines.submit_to("/my/contact", "/my/contact", &new).await.expect(303);
        ines.follow(&saved).await.says("Thank you, we have it.").says("ines@new.example");
        let who = book.read(|c| Ok(reservations::get(c, order)?.1));
        assert_eq!(
            (who.name.as_str(), who.mail.as_str(), who.phone.as_str()),
            ("Ines Halvard", "ines@new.example", "555-0199")
        );
        let told = last_message(&book, order);
        assert_eq!((told.purpose.as_str(), told.to_address.as_str()), ("contact_changed", "ines@customers.example"));
        let story = book.read(|c| Ok(stories::of_reservation(c, order)?));
        let line = story.iter().find(|l| l.line.contains("corrected phone")).expect("the farmer sees it");
        assert_eq!(line.actor, "the customer by private link");
        ines.post(&stale.action, stale.body(&[("phone", "555-0111")])).await.expect(422).says("Keep theirs");
    }
}

#[actix_web::test]
async fn a_wish_to_cancel_is_answered_by_the_farm() {
    for book in TestBook::each() {
        let hogs = book.hogs();
        let order = book.order(book.customer("Ines Halvard"), hogs, Size::Half);
        book.deposit(order, "150.00");
        let app = TestApp::signed_in(&book).await;
        let ines = holding(&app, order).await;
        ines.get("/my").await.says("Cancel my order").says("We hold your deposit of $150.00.");
        ines.get("/my/cancel").await.says("We tell you whether it is given back or kept before anything is canceled.");
        ines.submit_to("/my/cancel", "/my/cancel", &[("reason", "")]).await.expect(422);
        ines.submit_to("/my/cancel", "/my/cancel", &[("reason", "We move away")]).await.expect(303);
        assert_eq!(heading(&ines.get("/my").await), "You asked to cancel your half hog");
        // Nothing has happened yet, and the farmer is asked.
        assert!(book.read(|c| Ok(reservations::get(c, order)?.0.cancelled_at)).is_none());
        app.get("/").await.says("Ines Halvard asks to cancel an order").says("We move away");
        app.get(&format!("/orders/{order}")).await.says("The customer asks to cancel this order.");
        let url = format!("/orders/{order}/cancel");
        app.get(&url).await.says("“We move away” They were told: We hold your deposit");
        app.submit_to(&url, &format!("{url}/stays"), &[("answer", "It is booked already.")]).await.expect(303);
        let told = last_message(&book, order);
        assert!(told.purpose == "cancel_stays" && told.body.contains("It is booked already."), "{}", told.body);
        app.get("/").await.says_not("asks to cancel");
        ines.get("/my/cancel").await.says("When you asked before, we answered: It is booked already.");
        // Asked again, taken back, asked again, and cancelled.
        let ask = [("reason", "No freezer")];
        ines.submit_to("/my/cancel", "/my/cancel", &ask).await.expect(303);
        ines.submit_to("/my/cancel", "/my/cancel/withdraw", &[]).await.expect(303);
        app.get("/").await.says_not("asks to cancel");
        ines.submit_to("/my/cancel", "/my/cancel", &ask).await.expect(303);
        let version = book.read(|c| Ok(reservations::get(c, order)?.0.version));
        let input = Cancel { version, reason: "No freezer".into(), fate: DepositFate::Refund, carry_to: None };
        book.act(|tx, doing| cancel_reservation(tx, doing, order, &input));
        let told = last_message(&book, order);
        assert!(
            told.purpose == "order_cancelled" && told.body.contains("The deposit of $150.00 is owed back."),
            "{}",
            told.body
        );
        assert_eq!(ines.get("/my").await.expect(303).location(), "/lost-link", "the link ended with the order");
        app.get("/").await.says_not("asks to cancel");
    }
}

#[actix_web::test]
async fn it_is_too_late_to_cancel_when_the_share_hangs() {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    let app = TestApp::new(&book).await;
    let ines = holding(&app, hog.orders[0]).await;
    ines.get("/my").await.expect(200).says_not("Cancel my order");
    let page = ines.get("/my/cancel").await.expect(200);
    page.says("on the rail already").says_not("Ask to cancel");
    let form = page.forms().into_iter().find(|f| f.action == "/my/leave").unwrap();
    let forced = ines.post("/my/cancel", form.body(&[("reason", "still")])).await.expect(422);
    forced.says("on the rail already");
}

/// One share left and two in line for it; the first was offered it.
fn offered(book: &TestBook) -> [ReservationId; 2] {
    let one = book.offering(Species::Lamb, 1, "7.00");
    book.order(book.customer("Hanne Brandvold"), one, Size::Whole);
    let orders = ["Ines Halvard", "Tomas Wren"].map(|name| book.order(book.customer(name), one, Size::Whole));
    let o = book.read(|c| Ok(offerings::get(c, one)?));
    let more = OfferingIn {
        species: o.species,
        season: o.season.clone(),
        head_count: 2,
        sizes: vec![Size::Whole],
        quarter_part: o.quarter_part,
        expected_low: None,
        expected_high: None,
        notes: String::new(),
    };
    book.act(|tx, doing| change_offering(tx, doing, one, o.version, &more));
    book.act(|tx, doing| offer_share(tx, doing, orders[0]));
    orders
}

#[actix_web::test]
async fn an_offer_is_answered_by_button() {
    for book in TestBook::each() {
        let [ines_order, tomas_order] = offered(&book);
        let app = TestApp::new(&book).await;
        let (ines, tomas) = (holding(&app, ines_order).await, holding(&app, tomas_order).await);
        let mail = last_message(&book, ines_order);
        assert!(mail.purpose == "waiting_offer" && gambrel::post::private_link::is_wanted(&mail.body));
        tomas.get("/my").await.says("You are 2nd in line");
        tomas.get("/my/offer").await.expect(200).says("This offer is over").says_not("Ines");
        ines.get("/my").await.says("A whole lamb is yours if you want it").says("/my/offer");
        ines.get("/my/offer").await.says("We hold it for you through Sunday, October 17").says("$7.00 per lb");
        ines.submit_to("/my/offer", "/my/offer", &[("answer", "perhaps")]).await.expect(422);
        ines.submit_to("/my/offer", "/my/offer", &[("answer", "no")]).await.expect(303);
        ines.get("/my").await.says("in line for a whole lamb");
        // It went on to the next, who takes it.
        tomas.submit_to("/my/offer", "/my/offer", &[("answer", "yes")]).await.expect(303);
        assert_eq!(heading(&tomas.get("/my").await), "Please send the deposit of $150.00");
        let story = book.read(|c| Ok(stories::of_reservation(c, tomas_order)?));
        assert!(story.iter().any(|l| l.actor == "the customer by private link"));
    }
}

#[actix_web::test]
async fn an_answer_after_the_last_day_is_too_late() {
    let book = TestBook::sqlite();
    let [order, _] = offered(&book);
    let app = TestApp::new(&book).await;
    let ines = holding(&app, order).await;
    let form = ines.get("/my/offer").await.forms().into_iter().find(|f| f.action == "/my/offer").unwrap();
    // Noon on Thursday and three days: Sunday until midnight.
    book.clock.advance(3 * DAY + 10 * HOUR);
    ines.get("/my/offer").await.says("Yes, I take it");
    book.clock.advance(HOUR);
    ines.get("/my/offer").await.says("This offer is over");
    ines.post(&form.action, form.body(&[("answer", "yes")]))
        .await
        .expect(422)
        .says("The time to answer this offer is over");
    assert!(book.read(|c| Ok(reservations::get(c, order)?.0.waiting_since)).is_some());
}

#[actix_web::test]
async fn messages_are_shown_that_left_and_are_about_this_order() {
    let book = TestBook::sqlite();
    let orders = offered(&book);
    let app = TestApp::new(&book).await;
    let ines = holding(&app, orders[0]).await;
    ines.get("/my").await.says_not("Messages we sent you");
    let m = last_message(&book, orders[0]);
    book.act(|tx, doing| mark_handed_over(tx, doing, m.id, m.version));
    ines.get("/my").await.says("Messages we sent you (1)");
    ines.get("/my/messages").await.says("We hold it for you through").says_not("Tomas").says_not("/c/");
}
