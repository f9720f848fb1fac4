//! Today and the search, through the whole service on each engine.

use crate::support::book::DAY;
use crate::support::{TestApp, TestBook};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::book::today::{MOST, due};
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::DepositFate;

/// How many lines of what is due a page has.
fn lines(html: &str) -> usize {
    html.split("<ol class=\"due\"").skip(1).map(|l| l.split("</ol>").next().unwrap().matches("<li").count()).sum()
}

#[actix_web::test]
async fn a_new_farm_gets_its_first_steps() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let page = app.get("/").await.expect(200);
        page.says("<h1>Five steps to begin</h1>").says("Put animals up for sale").says("Take a reservation");
        assert_eq!((lines(page.text()), page.text().matches("btn do").count()), (5, 1));
        book.offering(Species::Beef, 2, "5.25");
        app.get("/").await.says("<h1>Four steps to begin</h1>").says_not("Put animals up for sale");
    }
}

#[actix_web::test]
async fn a_season_goes_through_today() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let app = TestApp::signed_in(&book).await;
        app.get("/").await.says("<h1>One thing to do</h1>").says("Two invoices to issue").says("/dates/1/invoices");
        let [ines, tomas] = hog.orders.map(|o| book.issue(o));
        app.get("/").await.says("<h1>Nothing to do today</h1>").says("nothing is late");
        book.pay(tomas, "100.00");
        book.clock.advance(40 * DAY);
        app.begin_session();
        let page = app.get("/").await.expect(200);
        page.says("Two things to do, all late").says("Ines Halvard owes").says("Tomas Wren owes");
        assert_eq!(page.text().matches("btn do").count(), 1, "one filled button");
        let remind = format!("/invoices/{ines}/remind");
        let sent = app.submit_to("/", &remind, &[]).await.expect(303);
        assert_eq!(sent.location(), "/");
        let page = app.get("/").await;
        page.says("One reminder, written")
            .says(&format!("/payments/new?invoice={ines}"))
            .says("One message for you to send");
        page.says_not(&remind);
        let outbox = app.get("/outbox?show=waiting").await.expect(200);
        outbox.says("Ines Halvard").says("No mail server is set");
        let owed = book.read(|c| Ok(gambrel::book::invoices::open(c, None, 5)?));
        for (invoice, _, balance) in owed {
            book.pay(invoice.id, &balance.shown());
        }
        app.get("/").await.says_not("owes $").says_not("late</h1>");
        // Nobody is reminded of nothing.
        let refused = app.post(&remind, app.get("/").await.forms().last().unwrap().body(&[])).await;
        assert_eq!(refused.status, 422);
        refused.says("Nothing is owed");
    }
}

#[actix_web::test]
async fn today_never_shows_more_than_its_bounds_and_counts_the_rest() {
    for book in TestBook::each() {
        let (cattle, n) = (book.offering(Species::Beef, 40, "4.65"), MOST + 7);
        for i in 0..n {
            book.order(book.customer(&format!("Customer {i}")), cattle, Size::Half);
        }
        let app = TestApp::signed_in(&book).await;
        let page = app.get("/").await.expect(200);
        page.says("And seven more deposits").says("<h1>30 things to do</h1>");
        // The deposits, the line for the others, and three steps of the farm: processor, date, animal.
        assert_eq!(lines(page.text()), MOST + 1 + 3);
        let now = book.now();
        let due = book.read(|c| Ok(due(c, now, false, &["balance_reminder"])?));
        assert_eq!((due.deposits.first.len(), due.deposits.all, due.deposits.more()), (MOST, n, 7));
        let oldest: Vec<_> = due.deposits.first.iter().map(|((r, ..), _)| r.id).collect();
        assert!(oldest.is_sorted(), "the oldest come first");
    }
}

#[actix_web::test]
async fn room_on_the_waiting_list_and_free_quarters_show() {
    for book in TestBook::each() {
        let cattle = book.offering(Species::Beef, 1, "4.65");
        let [whole, waits, small] = [("Ines", Size::Whole), ("Owen", Size::Whole), ("Marta", Size::Quarter)]
            .map(|(name, size)| book.order(book.customer(name), cattle, size));
        let app = TestApp::signed_in(&book).await;
        app.get("/").await.says_not("There is room");
        let cancel = Cancel { version: 1, reason: "Moved away".into(), fate: DepositFate::None, carry_to: None };
        let version = book.read(|c| Ok(gambrel::book::reservations::get(c, whole)?.0.version));
        book.act(|tx, doing| cancel_reservation(tx, doing, whole, &Cancel { version, ..cancel.clone() }));
        let page = app.get("/").await;
        page.says("There is room for Owen").says(&format!("/orders/{waits}/move-up")).says("1st in line");
        page.says_not("There is room for Marta");
        let date = book.date(book.plant(), "2027-10-20");
        let steer = book.head(Class::Steer, "229", date);
        let version = book.read(|c| Ok(gambrel::book::reservations::get(c, waits)?.0.version));
        book.act(|tx, doing| cancel_reservation(tx, doing, waits, &Cancel { version, ..cancel.clone() }));
        book.act(|tx, doing| gambrel::actions::move_up::move_up(tx, doing, small, false));
        book.place(small, steer, Side::Left);
        let page = app.get("/").await;
        page.says("Three quarters are free at Pell Road Meats").says("Before the next dates").says("custom-exempt");
        page.says("Next on the rail: Wednesday, October 20").says("Steer 229. Left side: one quarter, Marta");
    }
}

#[actix_web::test]
async fn the_search_folds_case_and_accents() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let order = book.order(book.customer("Łucja Núñez"), hog.offering, Size::Half);
        let invoice = book.issue(hog.orders[0]);
        let number = book.read(|c| Ok(gambrel::book::invoices::get(c, invoice)?.0.number));
        let app = TestApp::signed_in(&book).await;
        for q in ["nunez", "LUCJA", "N%C3%BA%C3%B1ez+%C5%81ucja", "nunez+lucja"] {
            let page = app.get(&format!("/search?q={q}")).await.expect(200);
            page.says(">Łucja Núñez</a>").says(&format!("/orders/{order}")).says("Two things found");
        }
        app.get("/search?q=41").await.says(&format!("/animals/{}", hog.animal));
        let page = app.get(&format!("/search?q={}", number.to_lowercase())).await;
        page.says(&format!("/invoices/{invoice}"));
        app.get("/search?q=r-2027").await.says("/receipts/");
        for q in ["zzz", "%25", "_", "%27%22%3Cb%3E"] {
            let page = app.get(&format!("/search?q={q}")).await.expect(200);
            page.says("Nothing found for").says("were searched").says("/customers/new").says_not("<b>”");
        }
        app.get("/search").await.expect(200).says("<h1>Search</h1>");
        for i in 0..12 {
            book.customer(&format!("Wren number {i}"));
        }
        let page = app.get("/search?q=wren+number").await;
        page.says("More than 10 things").says("These are the first ten");
        assert_eq!(page.text().matches("<th scope=\"row\"").count(), 10);
    }
}
