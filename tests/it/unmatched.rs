//! Money that came in and nobody knows from whom: on an account of its own, matched by the ordinary acts, or given back.

use crate::ledger::{holds, on};
use crate::support::farm::{day, usd};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::bounce_payment::{Bounced, bounce_payment};
use gambrel::actions::record_deposit::MoneyIn;
use gambrel::actions::unmatched_money::{
    ForWhat, GivenBack, MatchTo, give_back_unmatched, match_money, match_to, record_unmatched,
};
use gambrel::book::ids::UnmatchedId;
use gambrel::book::ledger::read;
use gambrel::book::{invoices, payments, unmatched};
use gambrel::trade::ledger::{Account, Act};
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::PayMethod;

pub(crate) fn unknown(book: &TestBook, amount: &str) -> UnmatchedId {
    let money = MoneyIn { method: PayMethod::Transfer, reference: "P2P 77".into(), ..book.money(amount) };
    book.act(|tx, doing| record_unmatched(tx, doing, &money, "HALV I"))
}

fn back(book: &TestBook) -> GivenBack {
    GivenBack { method: PayMethod::Check, day: book.now().today, words: "The bank of the payer".into() }
}

#[test]
fn it_waits_on_an_account_of_its_own_and_becomes_a_deposit() {
    on_each_engine(|book| {
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        let id = unknown(book, "150.00");
        assert_eq!(
            (on(book, Account::NotMatched).as_str(), on(book, Account::Transfers).as_str()),
            ("-150.00", "150.00")
        );
        assert_eq!(on(book, Account::Credit), "0.00");
        holds(book);
        book.clock.advance(3 * crate::support::book::HOUR * 24);
        let payment = book.act(|tx, doing| match_money(tx, doing, id, &MatchTo::Order(order), false));
        assert_eq!((on(book, Account::NotMatched).as_str(), on(book, Account::Deposits).as_str()), ("0.00", "-150.00"));
        assert_eq!(on(book, Account::Transfers), "150.00", "the money came in once");
        holds(book);
        let (row, receipt) = book.read(|c| Ok((payments::get(c, payment)?, payments::receipt_of(c, payment)?)));
        assert_eq!((row.received_on, row.reference.as_str()), (day("2027-10-14"), "P2P 77"), "the day it came in");
        assert!(receipt.unwrap().document.contains("Deposit on order"));
        let today = book.now().today;
        let entries = book.read(|c| Ok(read::all(c, today)?));
        let kinds: Vec<(Act, String)> = entries.iter().map(|e| (e.entry.kind, e.customer.clone())).collect();
        assert_eq!(kinds, [(Act::Unmatched, String::new()), (Act::Match, "Ines Halvard".into())]);
        assert_eq!(entries[1].entry.day, today, "the day it became known");
        // It is hers like any other money.
        let bounced = Bounced { day: today, reason: String::new(), charge: None };
        book.act(|tx, doing| bounce_payment(tx, doing, payment, &bounced));
        assert_eq!((on(book, Account::Transfers).as_str(), on(book, Account::Deposits).as_str()), ("0.00", "0.00"));
        holds(book);
    });
}

#[test]
fn it_pays_an_invoice_and_what_is_over_is_credit() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let invoice = book.issue(hog.orders[0]);
        let who = book.read(|c| Ok(invoices::get(c, invoice)?.1.id));
        let id = unknown(book, "400.00");
        let to = book.act(|tx, _| match_to(tx, ForWhat::Invoice(invoice), usd("400.00")));
        assert_eq!(to, MatchTo::Customer(who, vec![(invoice, usd("305.64"))]));
        book.act(|tx, doing| match_money(tx, doing, id, &to, true));
        assert_eq!((on(book, Account::Receivable).as_str(), on(book, Account::Credit).as_str()), ("0.00", "-94.36"));
        holds(book);
        let none = book.try_act(|tx, _| match_to(tx, ForWhat::Invoice(invoice), usd("1.00")));
        assert!(matches!(none, Err(Failure::Refused(_))), "nothing more is owed");
        let (from, to) = (day("2027-10-01"), book.now().today);
        let said = book.read(|c| Ok(gambrel::book::ledger::statement::statement(c, who, from, to)?));
        assert_eq!(said.closing, usd("-94.36"));
    });
}

#[test]
fn it_is_given_back_whole_and_only_once() {
    on_each_engine(|book| {
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        let id = unknown(book, "75.50");
        let early = GivenBack { day: day("2027-10-13"), ..back(book) };
        assert!(book.try_act(|tx, doing| give_back_unmatched(tx, doing, id, &early)).is_err(), "before it came");
        let late = GivenBack { day: day("2027-10-15"), ..back(book) };
        assert!(book.try_act(|tx, doing| give_back_unmatched(tx, doing, id, &late)).is_err(), "after today");
        let input = back(book);
        book.act(|tx, doing| give_back_unmatched(tx, doing, id, &input));
        assert_eq!((on(book, Account::NotMatched).as_str(), on(book, Account::Transfers).as_str()), ("0.00", "75.50"));
        assert_eq!(on(book, Account::Checks), "-75.50", "it went back another way than it came");
        holds(book);
        assert!(book.try_act(|tx, doing| give_back_unmatched(tx, doing, id, &input)).is_err());
        assert!(book.try_act(|tx, doing| match_money(tx, doing, id, &MatchTo::Order(order), false)).is_err());
        let another = unknown(book, "150.00");
        book.act(|tx, doing| match_money(tx, doing, another, &MatchTo::Order(order), false));
        assert!(book.try_act(|tx, doing| give_back_unmatched(tx, doing, another, &input)).is_err());
        assert!(book.try_act(|tx, doing| match_money(tx, doing, another, &MatchTo::Order(order), false)).is_err());
        assert_eq!(book.read(|c| Ok(unmatched::waiting_in_all(c)?)), (usd("0.00"), 0));
        holds(book);
    });
}

#[actix_web::test]
async fn its_pages_record_match_and_give_back() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        app.get("/money/not-matched").await.expect(200).says("All money is matched");
        let new = "/money/not-matched/new";
        let page = app.submit(new, &[("amount", ""), ("payer", "HALV I")]).await.expect(422);
        page.says("HALV I").says("Nothing is saved yet");
        let money = [("method", "check"), ("amount", "150.00"), ("reference", "1204"), ("payer", "I Halvard")];
        let done = app.submit(new, &money).await;
        let one = done.location().to_string();
        app.follow(&done).await.expect(200).says("$150.00 is not yet matched").says("same amount, name Halvard");
        app.get("/money").await.expect(200).says("Received, not yet matched to a customer").says("150.00");
        app.get("/money/not-matched").await.expect(200).says("I Halvard").says(&one);
        app.get(&format!("{one}?q=Nobody")).await.expect(200).says("Nobody by that name");
        app.get(&format!("{one}?q=halvard")).await.expect(200).says("Ines Halvard: credit, for later");
        let page = app.get(&one).await;
        let form = page.forms().into_iter().find(|f| f.post && f.fields.iter().any(|(n, _)| n == "for_what")).unwrap();
        app.post(&one, form.body(&[("for_what", "nonsense")])).await.expect(422).says("Choose what it is for");
        app.post(&one, form.body(&[("for_what", "invoice-99")])).await.expect(404);
        let matched = app.post(&one, form.body(&[("for_what", &format!("order-{order}"))])).await;
        app.follow(&matched).await.expect(200).says("It was matched").says("Ines Halvard");
        app.get("/money/ledger").await.expect(200).says("from nobody known").says("Matched to a customer");
        let done = app.submit(new, &money).await;
        let other = done.location().to_string();
        let page = app.get(&other).await;
        let form = page.forms().into_iter().find(|f| f.value("act") == "back").unwrap();
        app.post(&other, form.body(&[("day", "2027-10-20")])).await.expect(422).says("Write the day it went back");
        app.post(&other, form.body(&[("words", "Not ours")])).await.expect(303);
        app.get(&other).await.expect(200).says("It was given back").says("Not ours");
        holds(&book);
    }
}
