//! The farm's terms: versions that stay, and which one the customer of an order accepted.

use crate::support::{TestApp, TestBook, on_each_engine};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::accept_terms::{accept_by_link, note_acceptance};
use gambrel::actions::confirm_order::make_confirmation;
use gambrel::actions::transfer_share::transfer_share;
use gambrel::actions::write_terms::write_terms;
use gambrel::book::ids::ReservationId;
use gambrel::book::schema::sale_terms as table;
use gambrel::book::{reservations, sale_terms};
use gambrel::trade::sale_terms::AcceptedBy;
use gambrel::trade::share::Size;

#[test]
fn other_words_are_another_version_and_the_old_one_stays() {
    on_each_engine(|book| {
        assert!(book.act(|tx, doing| write_terms(tx, doing, 0, "One.")));
        assert!(!book.act(|tx, doing| write_terms(tx, doing, 1, "One.")), "the same words are no new version");
        assert!(matches!(book.try_act(|tx, doing| write_terms(tx, doing, 0, "Two.")), Err(Failure::Stale)));
        assert!(book.act(|tx, doing| write_terms(tx, doing, 1, "Two.")));
        assert_eq!(book.read(|c| Ok(sale_terms::version(c, 1)?)).body, "One.");
        for sql in [false, true] {
            let changed = book.try_act(|tx, _| {
                let c = tx.conn();
                Ok(if sql {
                    diesel::delete(table::table).execute(c)?
                } else {
                    diesel::update(table::table).set(table::body.eq("Bent.")).execute(c)?
                })
            });
            assert!(changed.unwrap_err().to_string().contains("never changes"), "delete: {sql}");
        }
        assert!(book.act(|tx, doing| write_terms(tx, doing, 2, "")));
        assert_eq!(book.read(|c| Ok(sale_terms::in_force(c)?)), None);
        assert!(book.try_act(|tx, doing| write_terms(tx, doing, 3, &"x".repeat(20_001))).is_err());
    });
}

#[test]
fn what_was_accepted_is_kept_with_the_order_and_printed() {
    on_each_engine(|book| {
        book.act(|tx, doing| write_terms(tx, doing, 0, "First words.\n\nMore of them."));
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        let who = book.read(|c| Ok(reservations::get(c, order)?)).1.id;
        let today = book.now().today;
        let early =
            book.try_act(|tx, doing| note_acceptance(tx, doing, order, AcceptedBy::Paper, today.pred_opt().unwrap()));
        assert!(early.unwrap_err().to_string().contains("none were in force"));
        let to_come =
            book.try_act(|tx, doing| note_acceptance(tx, doing, order, AcceptedBy::Paper, today.succ_opt().unwrap()));
        assert!(to_come.unwrap_err().to_string().contains("still to come"));
        let stale = book.try_act(|tx, doing| accept_by_link(tx, doing, order, 2));
        assert!(stale.unwrap_err().to_string().contains("Read them once more"));
        book.act(|tx, doing| note_acceptance(tx, doing, order, AcceptedBy::Paper, today));
        book.act(|tx, doing| write_terms(tx, doing, 1, "Other words."));
        // A second acceptance changes nothing: the order keeps what it was made with.
        book.act(|tx, doing| accept_by_link(tx, doing, order, 2));
        let (a, t) = book.read(|c| Ok(sale_terms::accepted(c, order, who)?)).unwrap();
        assert_eq!((t.number, a.way), (1, AcceptedBy::Paper));
        let paper = book.act(|tx, doing| make_confirmation(tx, doing, order));
        let document = book.read(|c| Ok(gambrel::book::confirmations::paper(c, paper)?)).1;
        assert!(
            document.contains("More of them.") && document.contains("on paper") && !document.contains("Other words")
        );
        // Who has the share next accepts for themselves, and sees no paper that went to somebody else.
        let next = book.customer("Tomas Wren");
        let version = book.read(|c| Ok(reservations::get(c, order)?)).0.version;
        book.act(|tx, doing| transfer_share(tx, doing, order, version, next, false));
        assert_eq!(book.read(|c| Ok(sale_terms::accepted(c, order, next)?)), None);
        assert_eq!(book.read(|c| Ok(gambrel::book::confirmations::last_of(c, order, next)?)), None);
    });
}

#[actix_web::test]
async fn terms_are_accepted_while_a_reservation_is_taken() {
    for book in TestBook::each() {
        let hogs = book.hogs();
        let app = TestApp::signed_in(&book).await;
        let share = format!("{hogs}-half");
        app.get("/orders/new").await.expect(200).says_not("accepted our terms");
        book.act(|tx, doing| write_terms(tx, doing, 0, "Pay before pickup."));
        let of =
            |name: &'static str| vec![("share", share.as_str()), ("name", name), ("tell", "yes"), ("agreed", "yes")];
        let old = app.get("/orders/new").await.says("accepted our terms").forms();
        let old = old.into_iter().find(|f| f.action == "/orders/new").unwrap();
        let done = app.post("/orders/new", old.body(&of("Ines Halvard"))).await.expect(303);
        app.follow(&done).await.says("Version 1, accepted").says("in person");
        // Its confirmation says so, and who does not tick has accepted nothing.
        let paper = book.read(|c| {
            let ines = reservations::get(c, ReservationId(1))?.1.id;
            Ok(gambrel::book::confirmations::last_of(c, ReservationId(1), ines)?)
        });
        let document = book.read(|c| Ok(gambrel::book::confirmations::paper(c, paper.unwrap().id)?)).1;
        assert!(document.contains("Pay before pickup.") && document.contains("in person"), "{document}");
        let done = app.submit("/orders/new", &[("share", &share), ("name", "Tomas Wren")]).await.expect(303);
        app.follow(&done).await.says("Not accepted yet");
        // Other words since the page was opened: nothing is taken, and what was typed stays.
        let stale = app.get("/orders/new").await.forms().into_iter().find(|f| f.action == "/orders/new").unwrap();
        book.act(|tx, doing| write_terms(tx, doing, 1, "Pay at pickup."));
        let again = app.post("/orders/new", stale.body(&of("Ruth Kessel"))).await.expect(422);
        again.says("The terms were changed").says("Ruth Kessel");
        let orders: i64 = book.read(|c| Ok(gambrel::book::schema::reservation::table.count().get_result(c)?));
        assert_eq!(orders, 2);
    }
}

#[actix_web::test]
async fn a_customer_reads_and_accepts_the_terms_on_the_page_of_the_order() {
    for book in TestBook::each() {
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        let app = TestApp::signed_in(&book).await;
        app.hold(order);
        app.get("/my").await.says_not("our terms");
        app.get("/my/terms").await.expect(404);
        app.get("/farm/terms").await.expect(404);
        app.get("/settings/sale-terms").await.says("Begin from the sample").says("read by a lawyer");
        let sample = app.get("/settings/sale-terms/sample").await;
        sample.says("10. Questions");
        let form = sample.forms().into_iter().find(|f| f.action == "/settings/sale-terms").unwrap();
        app.post("/settings/sale-terms", form.body(&[("body", "Pay before pickup.\n\nNo resale.")])).await.expect(303);
        app.get("/farm/terms").await.expect(200).says("Version 1 of October 14, 2027").says("No resale.");
        app.get(&format!("/orders/{order}")).await.says("Not accepted yet").says("2027-001-");
        app.get("/my").await.says("read and accept our terms");
        app.submit("/my/terms", &[]).await.expect(422).says("Tick that you have read");
        let done = app.submit("/my/terms", &[("accept", "yes")]).await;
        app.follow(&done).await.says("The terms you accepted").says_not("Please read");
        app.get("/my/terms").await.says("You accepted them on");
        app.get(&format!("/orders/{order}")).await.says("Version 1, accepted October 14, 2027, on the order’s page");
        app.get("/my/confirmation.pdf").await.expect(404);
        book.act(|tx, doing| make_confirmation(tx, doing, order));
        let paper = app.get("/my/confirmation.pdf").await.expect(200);
        assert!(paper.bytes.starts_with(b"%PDF-"));
        // Somebody else's order has another one.
        app.hold(book.order(book.customer("Tomas Wren"), book.hogs(), Size::Half));
        app.get("/my/confirmation.pdf").await.expect(404);
    }
}
