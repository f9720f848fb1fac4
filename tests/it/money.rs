//! Deposits, invoices, credit notes, payments and credit, through their actions on each engine.

use crate::support::farm::usd;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::give_back::give_back;
use gambrel::actions::issue_invoices::issue_invoices;
use gambrel::actions::paper_again::paper_again;
use gambrel::actions::record_payment::{record_payment, use_credit};
use gambrel::actions::void_invoice::void_invoice;
use gambrel::book::payments::{self, For};
use gambrel::book::{invoices, reservations, standing};
use gambrel::trade::money::Money;
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::{DepositFate, PaperKind};

fn sentences(f: Failure) -> String {
    match f {
        Failure::Refused(p) => p.0.iter().map(|p| p.sentence.clone()).collect::<Vec<_>>().join(" "),
        other => panic!("not a refusal: {other:?}"),
    }
}

#[test]
fn an_invoice_is_the_weight_at_the_locked_price_and_the_charges_dealt_out_less_the_deposit() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        // 82.50 × 5.25 = 433.125 → 433.13; 45.01 a head dealt 22.51 and 22.50; less 150.00.
        assert_eq!(hog.orders.map(|o| book.balance(o).plain()), ["305.64".to_string(), "292.50".to_string()]);
        let ids = hog.orders.map(|o| book.issue(o));
        let (first, second) = book.read(|c| Ok((invoices::get(c, ids[0])?.0, invoices::get(c, ids[1])?.0)));
        assert_eq!((first.number.as_str(), second.number.as_str()), ("I-2027-001", "I-2027-002"));
        assert_eq!((first.farm_total.plain(), second.farm_total.plain()), ("455.64".into(), "442.50".into()));
        let smoking =
            first.farm_total.minus(usd("433.13")).unwrap().plus(second.farm_total.minus(usd("420.00")).unwrap());
        assert_eq!(smoking.unwrap(), usd("45.01"), "the per-head charge adds up to itself");
        // Kill fee 47.50 each and 0.85 a pound: 70.125 → 70.13.
        assert_eq!(first.processor_total, usd("117.63"));
    });
}

#[test]
fn a_changed_balance_and_a_repeated_order_are_refused_and_nothing_is_issued() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let (order, balance) = (hog.orders[0], book.balance(hog.orders[0]));
        let wrong = balance.plus(Money::from_cents(1)).unwrap();
        let said = book.try_act(|tx, doing| issue_invoices(tx, doing, &[(order, wrong)], false)).unwrap_err();
        assert!(sentences(said).contains("Look it over again"));
        let twice = [(order, balance), (order, balance)];
        let said = book.try_act(|tx, doing| issue_invoices(tx, doing, &twice, false)).unwrap_err();
        assert!(sentences(said).contains("twice"));
        let half_bad = [(order, balance), (hog.orders[1], wrong)];
        book.try_act(|tx, doing| issue_invoices(tx, doing, &half_bad, false)).unwrap_err();
        assert_eq!(book.read(|c| Ok(invoices::page(c, None, 10)?.len())), 0);
        book.issue(order);
        let said = book.try_act(|tx, doing| issue_invoices(tx, doing, &[(order, balance)], false)).unwrap_err();
        assert!(sentences(said).contains("invoiced already"));
        assert_eq!(book.read(|c| Ok(invoices::page(c, None, 10)?[0].0.0.number.clone())), "I-2027-001");
    });
}

#[test]
fn a_voided_invoice_gives_its_money_back_to_the_order_and_never_changes() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let order = hog.orders[0];
        let first = book.issue(order);
        book.pay(first, "100.00");
        let before = book.read(|c| Ok((invoices::get(c, first)?.0, paper_again(c, PaperKind::Invoice, first.0)?.1)));
        book.act(|tx, doing| void_invoice(tx, doing, first, "The weight was read wrong", false));
        let said = book.try_act(|tx, doing| void_invoice(tx, doing, first, "Again", false)).unwrap_err();
        assert!(sentences(said).contains("C-2027-001"));
        let after = book.read(|c| Ok((invoices::get(c, first)?.0, paper_again(c, PaperKind::Invoice, first.0)?.1)));
        assert!(before == after, "the row and every byte of the paper stay");
        let held = book.read(|c| Ok(payments::held(c, For::Order(order))?));
        assert_eq!(held.iter().map(|h| h.amount.plain()).collect::<Vec<_>>(), ["150.00", "100.00"]);
        assert_eq!(book.balance(order), usd("205.64"));
        let second = book.issue(order);
        let (r, _, _) = book.read(|c| Ok(reservations::get(c, order)?));
        let facts = book.read(|c| Ok(standing::facts(c, &[&r])?.remove(&order).unwrap()));
        assert_eq!(facts.invoice.as_ref().map(|(i, _)| i.id), Some(second));
        assert_eq!(facts.balance(), Some(usd("205.64")));
    });
}

#[test]
fn one_check_pays_two_invoices_and_what_is_over_is_credit_until_used_or_given_back() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders.map(|o| book.issue(o));
        let who = book.read(|c| Ok(invoices::get(c, ines)?.1.id));
        let money = book.money("400.00");
        // Another customer's invoice is not hers to pay.
        let parts = [(ines, usd("305.64")), (tomas, usd("10.00"))];
        let stranger = book.try_act(|tx, doing| record_payment(tx, doing, who, &money, &parts, true, false));
        assert!(matches!(stranger, Err(Failure::NotFound)));
        let much =
            book.try_act(|tx, doing| record_payment(tx, doing, who, &money, &[(ines, usd("305.65"))], true, false));
        assert!(sentences(much.unwrap_err()).contains("Only $305.64 is owed"));
        let second = book.order(who, hog.offering, Size::Half);
        let other = book.head(gambrel::trade::animal::Class::Barrow, "42", hog.date);
        book.place(second, other, gambrel::trade::share::Side::Left);
        book.weigh(hog.date, other, "10", "10");
        let small = book.issue(second);
        // 10 × 5.25 + 22.51 (half of 45.01, the first of two takes the cent: nobody else is on it).
        assert_eq!(book.read(|c| Ok(invoices::get(c, small)?.0.farm_total)), usd("75.01"));
        let parts = [(ines, usd("305.64")), (small, usd("75.01"))];
        let (_, receipt) = book.act(|tx, doing| record_payment(tx, doing, who, &money, &parts, true, false));
        assert!(receipt.is_some());
        assert_eq!(book.read(|c| Ok(payments::credit(c, who)?)), usd("19.35"));
        assert!(book.read(|c| Ok(invoices::open(c, Some(who), 10)?)).is_empty());
        let back = book.money("19.36");
        assert!(
            sentences(book.try_act(|tx, doing| give_back(tx, doing, who, &back, false)).unwrap_err())
                .contains("$19.35")
        );
        let some = book.money("9.35");
        book.act(|tx, doing| give_back(tx, doing, who, &some, false));
        assert_eq!(book.read(|c| Ok(payments::credit(c, who)?)), usd("10.00"));
        let none = book.try_act(|tx, doing| use_credit(tx, doing, who, ines, usd("1.00"))).unwrap_err();
        assert!(sentences(none).contains("Only $0.00 is owed"));
    });
}

#[test]
fn a_deposit_over_the_bill_becomes_credit() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let order = hog.orders[0];
        book.deposit(order, "400.00");
        assert_eq!(book.balance(order), usd("-94.36"));
        let id = book.issue(order);
        let who = book.read(|c| Ok(invoices::get(c, id)?.1.id));
        assert_eq!(book.read(|c| Ok(payments::credit(c, who)?)), usd("94.36"));
        assert_eq!(book.read(|c| Ok(invoices::paid(c, &[id])?[&id])), usd("455.64"));
    });
}

#[test]
fn a_cancelled_order_keeps_carries_or_gives_back_its_deposit() {
    on_each_engine(|book| {
        let (offering, who) = (book.hogs(), book.customer("Ines Halvard"));
        let cancel = |order, fate, carry_to| {
            let version = book.read(|c| Ok(reservations::get(c, order)?.0.version));
            let input = Cancel { version, reason: "Moved away".into(), fate, carry_to };
            book.try_act(|tx, doing| cancel_reservation(tx, doing, order, &input))
        };
        let held =
            |order| book.read(|c| Ok(Money::sum(payments::held(c, For::Order(order))?.iter().map(|h| h.amount))?));
        let [back, keep, carry, other] = [(); 4].map(|()| book.order(who, offering, Size::Half));
        for order in [back, keep, carry] {
            book.deposit(order, "150.00");
        }
        assert!(sentences(cancel(back, DepositFate::None, None).unwrap_err()).contains("$150.00"));
        cancel(back, DepositFate::Refund, None).unwrap();
        cancel(keep, DepositFate::Keep, None).unwrap();
        cancel(carry, DepositFate::Carry, Some(other)).unwrap();
        assert_eq!([back, keep, carry, other].map(held), [usd("0"), usd("150"), usd("0"), usd("150")]);
        assert_eq!(book.read(|c| Ok(payments::credit(c, who)?)), usd("150.00"));
        assert!(sentences(cancel(keep, DepositFate::Refund, None).unwrap_err()).contains("already"));
    });
}

#[actix_web::test]
async fn an_amount_typed_for_an_invoice_paid_meanwhile_is_refused_and_kept() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let id = book.issue(hog.orders[0]);
        let app = TestApp::signed_in(&book).await;
        let url = format!("/payments/new?invoice={id}");
        let form = app.get(&url).await.expect(200);
        book.pay(id, "305.64");
        let body = form.forms().into_iter().find(|f| f.body(&[]).contains("received_on")).unwrap().body(&[]);
        let refused = app.post("/payments/new", body).await.expect(422);
        refused.says("Only $0.00 is owed on invoice I-2027-001");
        let who = book.read(|c| Ok(invoices::get(c, id)?.1.id));
        assert_eq!(book.read(|c| Ok(payments::credit(c, who)?)), Money::ZERO, "nothing was recorded");
    }
}

#[actix_web::test]
async fn a_voided_invoice_ends_in_nothing_due_and_a_phone_is_found_as_people_write_it() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let id = book.issue(hog.orders[0]);
        book.act(|tx, doing| void_invoice(tx, doing, id, "Wrong weight", false));
        let app = TestApp::signed_in(&book).await;
        let page = app.get(&format!("/invoices/{id}")).await.expect(200);
        page.says("Taken back by credit note C-2027-001").says("<td>Balance due</td><td class=\"n\">0.00</td>");
        for typed in ["555-0142", "5550142", "(555) 0142", "halvard 555.0142"] {
            let q: String = form_urlencoded::byte_serialize(typed.as_bytes()).collect();
            app.get(&format!("/customers?q={q}")).await.expect(200).says("Ines Halvard");
        }
        app.get("/customers?q=555-0143").await.says_not("Ines Halvard");
        app.get("/orders?q=2027-001").await.says("Ines Halvard").says_not("Tomas Wren");
    }
}
