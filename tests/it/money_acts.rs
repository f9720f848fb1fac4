//! Giving back, keeping, carrying over, writing off, returned payments, transfers: through their actions and their pages, on
//! each engine. After each the books agree.

use crate::ledger::{holds, on};
use crate::support::farm::{day, lb, usd};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::bounce_payment::{Bounced, bounce_payment};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::carry_deposit::carry_deposit;
use gambrel::actions::correct_weight::{Correction, correct_weight};
use gambrel::actions::credit_part::{PartCredit, credit_part};
use gambrel::actions::customer_statement::customer_statement;
use gambrel::actions::give_back::{give_back, refund_deposit};
use gambrel::actions::keep_deposit::{keep_deposit, release_deposit};
use gambrel::actions::paper_again::paper_again;
use gambrel::actions::private_link::{order_of, show_link};
use gambrel::actions::record_payment::record_payment;
use gambrel::actions::transfer_share::transfer_share;
use gambrel::actions::void_invoice::void_invoice;
use gambrel::actions::write_off::write_off;
use gambrel::actions::{Doing, Failure};
use gambrel::book::ids::{CustomerId, InvoiceId, PaymentId, ReservationId};
use gambrel::book::payments::{self, For};
use gambrel::book::store::Tx;
use gambrel::book::{invoices, reservations};
use gambrel::trade::carcass::Hung;
use gambrel::trade::ledger::Account;
use gambrel::trade::money::Money;
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::{DepositFate, PaperKind, PayMethod};

#[track_caller]
fn refused<T: std::fmt::Debug>(book: &TestBook, says: &str, act: impl Fn(&mut Tx, &Doing) -> Result<T, Failure>) {
    let said = match book.try_act(act).unwrap_err() {
        Failure::Refused(p) => p.0.iter().map(|p| p.sentence.clone()).collect::<Vec<_>>().join(" "),
        other => panic!("not a refusal: {other:?}"),
    };
    assert!(said.contains(says), "{said}");
    holds(book);
}

fn version(book: &TestBook, order: ReservationId) -> i64 {
    book.read(|c| Ok(reservations::get(c, order)?.0.version))
}

fn held(book: &TestBook, order: ReservationId) -> String {
    let held = book.read(|c| Ok(payments::held(c, For::Order(order))?));
    Money::sum(held.iter().map(|h| h.amount)).unwrap().plain()
}

fn owed(book: &TestBook, id: InvoiceId) -> String {
    let open = book.read(|c| Ok(invoices::open(c, None, 100)?));
    open.iter().find(|(i, ..)| i.id == id).map_or("0.00".into(), |(_, _, m)| m.plain())
}

fn credit(book: &TestBook, who: CustomerId) -> String {
    book.read(|c| Ok(payments::credit(c, who)?)).plain()
}

fn first_payment(book: &TestBook, what: For) -> PaymentId {
    book.read(|c| Ok(payments::held(c, what)?))[0].payment.id
}

fn cancelled(book: &TestBook, order: ReservationId, fate: DepositFate) {
    let input = Cancel { version: version(book, order), reason: "Moved away".into(), fate, carry_to: None };
    book.act(|tx, doing| cancel_reservation(tx, doing, order, &input));
}

#[test]
fn a_deposit_is_given_back_with_a_slip_and_asked_for_again() {
    on_each_engine(|book| {
        let (offering, who) = (book.hogs(), book.customer("Ines Halvard"));
        let order = book.order(who, offering, Size::Half);
        book.deposit(order, "100.00");
        book.deposit(order, "50.00");
        let money = book.money("120.00");
        refused(book, "Only $150.00 is held", |tx, doing| {
            refund_deposit(tx, doing, order, &book.money("150.01"), false)
        });
        let slip = book.act(|tx, doing| refund_deposit(tx, doing, order, &money, true));
        assert_eq!((held(book, order).as_str(), on(book, Account::Deposits).as_str()), ("30.00", "-30.00"));
        assert_eq!((credit(book, who).as_str(), on(book, Account::Checks).as_str()), ("0.00", "30.00"));
        let (name, pdf) = book.read(|c| paper_again(c, PaperKind::RefundSlip, slip.0));
        assert_eq!(name, "refund slip RF-2027-001.pdf");
        assert!(pdf.starts_with(b"%PDF-"));
        holds(book);
        // What is promised to them for another order is not touched by it.
        let other = book.order(who, offering, Size::Half);
        book.deposit(other, "150.00");
        cancelled(book, other, DepositFate::Refund);
        let rest = book.money("30.00");
        book.act(|tx, doing| refund_deposit(tx, doing, order, &rest, false));
        assert_eq!((on(book, Account::Refunds).as_str(), on(book, Account::Credit).as_str()), ("-150.00", "0.00"));
        book.act(|tx, doing| give_back(tx, doing, who, &book.money("150.00"), false));
        assert_eq!(on(book, Account::Refunds), "0.00");
        refused(book, "is cancelled", |tx, doing| refund_deposit(tx, doing, other, &rest, false));
        holds(book);
    });
}

#[test]
fn a_deposit_is_carried_over_in_part_to_an_order_of_the_same_customer() {
    on_each_engine(|book| {
        let offering = book.hogs();
        let (ines, tomas) = (book.customer("Ines Halvard"), book.customer("Tomas Wren"));
        let [from, to] = [(); 2].map(|()| book.order(ines, offering, Size::Half));
        let his = book.order(tomas, offering, Size::Half);
        book.deposit(from, "150.00");
        refused(book, "same customer", |tx, doing| carry_deposit(tx, doing, from, his, usd("10.00")));
        refused(book, "same customer", |tx, doing| carry_deposit(tx, doing, from, from, usd("10.00")));
        refused(book, "$150.00 is held", |tx, doing| carry_deposit(tx, doing, from, to, usd("150.01")));
        book.act(|tx, doing| carry_deposit(tx, doing, from, to, usd("40.00")));
        assert_eq!((held(book, from), held(book, to)), ("110.00".into(), "40.00".into()));
        assert_eq!(on(book, Account::Deposits), "-150.00");
        holds(book);
    });
}

#[test]
fn a_cancelled_deposit_is_kept_and_set_free_again_with_a_reason() {
    on_each_engine(|book| {
        let (offering, who) = (book.hogs(), book.customer("Ines Halvard"));
        let order = book.order(who, offering, Size::Half);
        book.deposit(order, "150.00");
        let v = version(book, order);
        refused(book, "is open", |tx, doing| keep_deposit(tx, doing, order, v, usd("50.00"), "No show"));
        cancelled(book, order, DepositFate::Refund);
        let v = version(book, order);
        refused(book, "Write why", |tx, doing| keep_deposit(tx, doing, order, v, usd("50.00"), " "));
        refused(book, "at most that", |tx, doing| keep_deposit(tx, doing, order, v, usd("150.01"), "No show"));
        book.act(|tx, doing| keep_deposit(tx, doing, order, v, usd("50.00"), "No show"));
        let stale = book.try_act(|tx, doing| keep_deposit(tx, doing, order, v, usd("10.00"), "No show"));
        assert!(matches!(stale, Err(Failure::Stale)));
        let three = |book: &TestBook| [Account::Forfeited, Account::Refunds, Account::Credit].map(|a| on(book, a));
        assert_eq!(three(book), ["-50.00", "-100.00", "0.00"]);
        holds(book);
        let v = version(book, order);
        refused(book, "$50.00 is kept", |tx, doing| release_deposit(tx, doing, order, v, usd("60.00"), "Goodwill"));
        book.act(|tx, doing| release_deposit(tx, doing, order, v, usd("50.00"), "Goodwill"));
        assert_eq!(three(book), ["0.00", "-150.00", "0.00"]);
        assert_eq!(credit(book, who), "150.00");
        holds(book);
    });
}

#[test]
fn what_is_written_off_is_owed_no_more_and_comes_back_with_a_void() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let id = book.issue(hog.orders[0]);
        refused(book, "$305.64 is owed", |tx, doing| write_off(tx, doing, id, usd("305.65"), "Gone"));
        refused(book, "Write why", |tx, doing| write_off(tx, doing, id, usd("5.00"), ""));
        book.act(|tx, doing| write_off(tx, doing, id, usd("5.64"), "Rounded for a friend"));
        assert_eq!((owed(book, id), on(book, Account::Receivable)), ("300.00".into(), "300.00".into()));
        assert_eq!(on(book, Account::WriteOffs), "5.64");
        let who = book.read(|c| Ok(invoices::get(c, id)?.1.id));
        let money = book.money("300.01");
        let parts = [(id, usd("300.01"))];
        refused(book, "Only $300.00 is owed", |tx, doing| record_payment(tx, doing, who, &money, &parts, false, false));
        holds(book);
        book.act(|tx, doing| void_invoice(tx, doing, id, "Wrong weight", false));
        assert_eq!((on(book, Account::WriteOffs), on(book, Account::Receivable)), ("0.00".into(), "0.00".into()));
        refused(book, "is voided", |tx, doing| write_off(tx, doing, id, usd("1.00"), "Gone"));
        holds(book);
    });
}

#[test]
fn a_part_of_an_invoice_is_taken_back_and_what_was_paid_too_much_is_credit() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let id = book.issue(hog.orders[0]);
        let who = book.read(|c| Ok(invoices::get(c, id)?.1.id));
        let part = |amount: &str| PartCredit { amount: usd(amount), tax: usd("0"), reason: "Short of a roast".into() };
        let taxed = PartCredit { tax: usd("0.01"), ..part("1.00") };
        refused(book, "$0.00 of tax is left", |tx, doing| credit_part(tx, doing, id, &taxed, false));
        refused(book, "$455.64 is left", |tx, doing| credit_part(tx, doing, id, &part("455.65"), false));
        let first = book.act(|tx, doing| credit_part(tx, doing, id, &part("55.64"), true));
        assert_eq!((owed(book, id), on(book, Account::SalesHog)), ("250.00".into(), "-377.49".into()));
        let (name, pdf) = book.read(|c| paper_again(c, PaperKind::PartCredit, first.0));
        assert_eq!(name, "credit note C-2027-001.pdf");
        assert!(pdf.starts_with(b"%PDF-"));
        book.pay(id, "250.00");
        book.act(|tx, doing| credit_part(tx, doing, id, &part("30.00"), false));
        assert_eq!((owed(book, id), credit(book, who)), ("0.00".into(), "30.00".into()));
        refused(book, "$370.00 is left", |tx, doing| credit_part(tx, doing, id, &part("370.01"), false));
        // The same series as the notes that take a whole invoice back.
        book.act(|tx, doing| void_invoice(tx, doing, id, "Wrong weight", false));
        assert_eq!(book.read(|c| Ok(invoices::get(c, id)?.2.unwrap().number)), "C-2027-003");
        assert_eq!(
            book.read(|c| Ok(invoices::get(c, id)?.2.unwrap().amount)),
            usd("370.00"),
            "no more than was left of it"
        );
        assert_eq!((held(book, hog.orders[0]), on(book, Account::SalesHog)), ("370.00".into(), "0.00".into()));
        holds(book);
    });
}

#[test]
fn a_corrected_weight_makes_the_invoices_it_changes_anew_in_one_step() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders.map(|o| book.issue(o));
        book.pay(ines, "305.64");
        let weighed =
            book.read(|c| Ok(gambrel::book::carcasses::weigh_ins(c, &[hog.animal])?.remove(&hog.animal).unwrap()));
        let correction = |left: &str, right: &str| Correction {
            version: weighed.version,
            hung: Hung::Sides { left: lb(left), right: lb(right) },
            confirmed: String::new(),
            reason: "Left side was read wrong".into(),
        };
        refused(book, "No invoice is changed", |tx, doing| {
            correct_weight(tx, doing, hog.animal, &correction("82.5", "80"), false)
        });
        let other = Correction { hung: Hung::Total(lb("160")), ..correction("80", "80") };
        refused(book, "another way", |tx, doing| correct_weight(tx, doing, hog.animal, &other, false));
        let why = Correction { reason: " ".into(), ..correction("80", "80") };
        refused(book, "Write why", |tx, doing| correct_weight(tx, doing, hog.animal, &why, false));
        let all = book.act(|tx, doing| correct_weight(tx, doing, hog.animal, &correction("80.5", "80"), true));
        // 80.50 × 5.25 = 422.625 → 422.63; with 22.51 of smoking.
        assert_eq!(all.len(), 1, "the other side’s invoice stays");
        assert_eq!((all[0].old.1, all[0].new.1, all[0].balance), (usd("455.64"), usd("445.14"), usd("-10.50")));
        assert_eq!((all[0].old_number.as_str(), all[0].number.as_str()), ("I-2027-001", "I-2027-003"));
        let who = book.read(|c| Ok(invoices::get(c, all[0].id)?.1.id));
        assert_eq!(
            (credit(book, who), owed(book, all[0].id), owed(book, tomas)),
            ("10.50".into(), "0.00".into(), "292.50".into())
        );
        let stale = book.try_act(|tx, doing| correct_weight(tx, doing, hog.animal, &correction("79", "80"), false));
        assert!(matches!(stale, Err(Failure::Stale)));
        holds(book);
    });
}

#[actix_web::test]
async fn a_corrected_weight_shows_old_and_new_before_anything_is_done() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let id = book.issue(hog.orders[0]);
        let app = TestApp::signed_in(&book).await;
        let url = format!("/animals/{}/correct-weight", hog.animal);
        app.get(&format!("/invoices/{id}")).await.says(&url);
        let shown = app.submit(&url, &[("left", "80.5"), ("reason", "Read wrong")]).await.expect(422);
        shown.says("Was, $").says("455.64").says("445.14").says("−10.50").says("Take back and issue again");
        assert_eq!(owed(&book, id), "305.64", "nothing is done yet");
        let form = shown.forms().into_iter().find(|f| f.body(&[]).contains("seen=")).unwrap();
        // Another weight than the one that was shown is shown first, too.
        app.post(&url, form.body(&[("left", "81.5")])).await.expect(422).says("Take back and issue again");
        let done = app.post(&url, form.body(&[])).await.expect(303);
        app.get(done.location()).await.expect(200).says("I-2027-002").says("295.14");
        holds(&book);
    }
}

#[test]
fn a_bounced_check_opens_what_it_had_paid_and_may_cost_a_charge() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let id = book.issue(hog.orders[0]);
        let who = book.read(|c| Ok(invoices::get(c, id)?.1.id));
        let money = book.money("350.00");
        book.act(|tx, doing| record_payment(tx, doing, who, &money, &[(id, usd("305.64"))], false, false));
        let payment = book.read(|c| Ok(payments::held(c, For::Invoice(id))?))[1].payment.id;
        let bounced = |charge: Option<&str>| Bounced {
            day: day("2027-10-14"),
            reason: "Not enough funds".into(),
            charge: charge.map(usd),
        };
        let early = Bounced { day: day("2027-10-13"), ..bounced(None) };
        refused(book, "not before it came in", |tx, doing| bounce_payment(tx, doing, payment, &early));
        book.act(|tx, doing| bounce_payment(tx, doing, payment, &bounced(Some("25.00"))));
        assert_eq!((owed(book, id), credit(book, who)), ("330.64".into(), "0.00".into()));
        assert_eq!((on(book, Account::Checks), on(book, Account::FarmCharges)), ("300.00".into(), "-25.00".into()));
        refused(book, "only once", |tx, doing| bounce_payment(tx, doing, payment, &bounced(None)));
        // The deposit itself bounces as well, though it pays an invoice now.
        let deposit = first_payment(book, For::Invoice(id));
        book.act(|tx, doing| bounce_payment(tx, doing, deposit, &bounced(None)));
        assert_eq!(owed(book, id), "480.64");
        holds(book);
        // A deposit of an open order; the charge is a line of it.
        let second = hog.orders[1];
        let deposit = first_payment(book, For::Order(second));
        book.act(|tx, doing| bounce_payment(tx, doing, deposit, &bounced(Some("20.00"))));
        assert_eq!((held(book, second), book.balance(second).plain()), ("0.00".into(), "462.50".into()));
        holds(book);
        // Money that is gone cannot be undone before it came back.
        let other = book.read(|c| Ok(reservations::get(c, second)?.1.id));
        let check = book.money("80.00");
        let (payment, _) = book.act(|tx, doing| record_payment(tx, doing, other, &check, &[], false, false));
        book.act(|tx, doing| give_back(tx, doing, other, &book.money("30.00"), false));
        refused(book, "$30.00 of this money", |tx, doing| bounce_payment(tx, doing, payment, &bounced(None)));
        let mut cash = book.money("30.00");
        cash.method = PayMethod::Cash;
        let (coins, _) = book.act(|tx, doing| record_payment(tx, doing, other, &cash, &[], false, false));
        refused(book, "Only a check", |tx, doing| bounce_payment(tx, doing, coins, &bounced(None)));
        refused(book, "nothing to add a charge to", |tx, doing| {
            bounce_payment(tx, doing, payment, &bounced(Some("1.00")))
        });
        book.act(|tx, doing| bounce_payment(tx, doing, payment, &bounced(None)));
        assert_eq!(credit(book, other), "0.00");
        holds(book);
    });
}

#[test]
fn a_share_goes_to_another_customer_with_its_deposit_or_without() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let (ines, taker) = (book.read(|c| Ok(reservations::get(c, hog.orders[0])?.1.id)), book.customer("Odd Lunde"));
        let order = hog.orders[0];
        let v = version(book, order);
        refused(book, "theirs already", |tx, doing| transfer_share(tx, doing, order, v, ines, true));
        let before = book.balance(order);
        let token = gambrel::secret::token().unwrap();
        book.act(|tx, doing| show_link(tx, doing, order, &token, false));
        let at = book.clock.at();
        assert!(book.read(|c| order_of(c, at, &token)).is_some());
        book.act(|tx, doing| transfer_share(tx, doing, order, v, taker, true));
        assert!(book.read(|c| order_of(c, at, &token)).is_none(), "who had a link to it sees it no more");
        assert!(matches!(
            book.try_act(|tx, doing| transfer_share(tx, doing, order, v, ines, true)),
            Err(Failure::Stale)
        ));
        assert_eq!(book.read(|c| Ok(reservations::get(c, order)?.1.id)), taker);
        assert_eq!(
            (held(book, order), credit(book, ines), credit(book, taker)),
            ("150.00".into(), "0.00".into(), "0.00".into())
        );
        assert_eq!(book.balance(order), before, "price, weight and charges stay");
        assert_eq!(on(book, Account::Checks), "300.00", "no money changed hands");
        holds(book);
        let id = book.issue(order);
        assert_eq!(book.read(|c| Ok(invoices::get(c, id)?.1.id)), taker);
        let v = version(book, order);
        refused(book, "Void it first", |tx, doing| transfer_share(tx, doing, order, v, ines, true));
        // What went along did not come from a bank, so no bank can take it back.
        let moved = first_payment(book, For::Invoice(id));
        let bounced = Bounced { day: day("2027-10-14"), reason: String::new(), charge: None };
        refused(book, "Only a check", |tx, doing| bounce_payment(tx, doing, moved, &bounced));
        let second = hog.orders[1];
        let (v, tomas) = (version(book, second), book.read(|c| Ok(reservations::get(c, second)?.1.id)));
        book.act(|tx, doing| transfer_share(tx, doing, second, v, taker, false));
        assert_eq!(
            (held(book, second), credit(book, tomas), credit(book, taker)),
            ("0.00".into(), "150.00".into(), "0.00".into())
        );
        assert_eq!(on(book, Account::Refunds), "-150.00");
        holds(book);
    });
}

#[test]
fn a_statement_begins_where_the_last_one_ended() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let id = book.issue(hog.orders[0]);
        let who = book.read(|c| Ok(invoices::get(c, id)?.1.id));
        let mut early = book.money("100.00");
        early.received_on = day("2027-10-10");
        book.act(|tx, doing| record_payment(tx, doing, who, &early, &[], false, false));
        book.act(|tx, doing| write_off(tx, doing, id, usd("5.64"), "The farmer’s own reason"));
        let now = book.now();
        let of = |from: &str, to: &str| book.read(|c| customer_statement(c, now, who, day(from), day(to)));
        let (first, second) = (of("2027-01-01", "2027-10-13"), of("2027-10-14", "2027-10-14"));
        assert_eq!((first.closing.name.as_str(), first.closing.amount.plain().as_str()), ("In your favor", "100.00"));
        assert_eq!(second.rows[0].balance, "−100.00");
        let told: Vec<_> =
            second.rows.iter().skip(1).map(|r| [&r.what, &r.billed, &r.paid, &r.balance].map(String::as_str)).collect();
        assert_eq!(
            told,
            [
                ["Deposit, order 2027-001", "", "150.00", "−250.00"],
                ["Invoice I-2027-001", "455.64", "", "205.64"],
                ["Taken off, invoice I-2027-001", "", "5.64", "200.00"],
            ]
        );
        assert_eq!((second.closing.name.as_str(), second.closing.amount.plain().as_str()), ("Balance due", "200.00"));
        assert!(!format!("{second:?}").contains("own reason"), "the farmer’s notes stay with the farmer");
        assert!(second.pdf().unwrap().starts_with(b"%PDF-"));
        let turned =
            book.try_act(|tx, _| customer_statement(tx.conn(), now, who, day("2027-10-14"), day("2027-10-13")));
        assert!(matches!(turned, Err(Failure::Refused(_))));
    });
}

#[actix_web::test]
async fn every_act_is_reached_from_its_page_and_done_by_its_form() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let app = TestApp::signed_in(&book).await;
        let [order, second] = hog.orders;
        let taker = book.customer("Odd Lunde");
        let third = book.order(book.read(|c| Ok(reservations::get(c, order)?.1.id)), hog.offering, Size::Half);
        let page = app.get(&format!("/orders/{order}")).await.expect(200);
        for link in ["deposit/refund", "deposit/carry", "transfer"] {
            page.says(&format!("/orders/{order}/{link}"));
        }
        let url = format!("/orders/{order}/deposit/carry");
        app.submit(&url, &[("amount", "200"), ("to", &third.to_string())]).await.expect(422).says("$150.00 is held");
        app.submit(&url, &[("amount", "20.00"), ("to", &third.to_string())]).await.expect(303);
        app.submit(&format!("/orders/{order}/deposit/refund"), &[("amount", "30.00"), ("method", "cash")])
            .await
            .expect(303);
        assert_eq!((held(&book, order), held(&book, third)), ("100.00".into(), "20.00".into()));
        app.get("/refund-slips/1.pdf").await.expect(200);
        app.get(&format!("/orders/{order}")).await.says("/refund-slips/1.pdf");
        app.get("/money").await.says("RF-2027-001");
        let url = format!("/orders/{second}/transfer");
        app.get(&format!("{url}?q=odd")).await.expect(200).says("Odd Lunde").says("before slaughter");
        app.submit(&url, &[("to", &taker.to_string())]).await.expect(303);
        assert_eq!(held(&book, second), "150.00");
        let id = book.issue(order);
        book.pay(id, "100.00");
        let page = app.get(&format!("/invoices/{id}")).await.expect(200);
        page.says(&format!("/invoices/{id}/write-off"));
        let payment = book.read(|c| Ok(payments::held(c, For::Invoice(id))?)).last().unwrap().payment.id;
        page.says(&format!("/payments/{payment}/returned"));
        app.submit(&format!("/payments/{payment}/returned"), &[("charge", "25.00")]).await.expect(303);
        app.submit(&format!("/invoices/{id}/write-off"), &[("amount", "10.00"), ("reason", "")])
            .await
            .expect(422)
            .says("empty");
        app.submit(&format!("/invoices/{id}/write-off"), &[("amount", "10.00"), ("reason", "Goodwill")])
            .await
            .expect(303);
        app.get(&format!("/invoices/{id}"))
            .await
            .says("Written off")
            .says("Charge for a returned payment")
            .says("370.64");
        app.submit(&format!("/invoices/{id}/credit"), &[("amount", "0.64"), ("reason", "A cent too many")])
            .await
            .expect(303);
        app.get("/part-credits/1.pdf").await.expect(404);
        app.get("/part-credits/3.pdf").await.expect(200);
        app.get(&format!("/invoices/{id}")).await.says("370.00").says("C-2027-001");
        cancelled(&book, third, DepositFate::Refund);
        app.get(&format!("/orders/{third}")).await.says(&format!("/orders/{third}/deposit/kept"));
        let url = format!("/orders/{third}/deposit/kept");
        app.submit(&url, &[("what", "keep"), ("amount", "20.00"), ("reason", "No show")]).await.expect(303);
        app.get(&url).await.expect(200).says("free");
        let who = book.read(|c| Ok(invoices::get(c, id)?.1.id));
        app.get("/money/owed").await.expect(200).says("Ines Halvard").says("370.00");
        app.get(&format!("/customers/{who}/statement")).await.expect(200).says("350.00");
        app.get(&format!("/customers/{who}/statement?from=2027-10-14&to=2027-10-13"))
            .await
            .expect(200)
            .says("other way round");
        app.get(&format!("/customers/{who}/statement.pdf")).await.expect(200);
        holds(&book);
    }
}
