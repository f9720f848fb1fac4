//! The day's takings and the bank deposit slip: a check is on one slip only, and a slip is one line of the bank.

use crate::bank::read_table;
use crate::ledger::holds;
use crate::support::farm::{day, usd};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::bank_line::tie_line;
use gambrel::actions::bounce_payment::{Bounced, bounce_payment};
use gambrel::actions::deposit_slip::{SlipIn, make_slip, on_hand, slip_paper, take_slip_apart};
use gambrel::actions::record_deposit::{MoneyIn, record_deposit};
use gambrel::actions::unmatched_money::{MatchTo, match_money, record_unmatched};
use gambrel::book::bank;
use gambrel::book::slips::{self, CameIn, Item};
use gambrel::trade::bank::suggest::What;
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::PayMethod;

/// Two checks, some cash, a transfer, and a check from nobody known, all of today; the order they are for.
pub(crate) fn takings(book: &TestBook) -> gambrel::book::ids::ReservationId {
    let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
    for (method, amount, reference) in [
        (PayMethod::Check, "50.00", "1204"),
        (PayMethod::Cash, "20.00", ""),
        (PayMethod::Check, "30.25", "1205"),
        (PayMethod::Transfer, "40.00", ""),
    ] {
        let money = MoneyIn { method, reference: reference.into(), ..book.money(amount) };
        book.act(|tx, doing| record_deposit(tx, doing, order, &money, false));
    }
    let nobody = MoneyIn { reference: "77".into(), ..book.money("9.75") };
    book.act(|tx, doing| record_unmatched(tx, doing, &nobody, "Unreadable"));
    order
}

fn hand(book: &TestBook) -> Vec<CameIn> {
    let today = book.now().today;
    book.read(|c| on_hand(c, today))
}

fn all_of(book: &TestBook, cash: &str) -> SlipIn {
    let items: Vec<Item> = hand(book).into_iter().map(|m| m.item).collect();
    SlipIn { day: book.now().today, cash: usd(cash), items, differs: false }
}

/// Money from nobody known, and a slip of everything on hand, so that the pages can be asked for.
pub(crate) fn slip(book: &TestBook) {
    crate::unmatched::unknown(book, "60.00");
    let input = SlipIn { differs: true, ..all_of(book, "0.00") };
    book.act(|tx, doing| make_slip(tx, doing, &input));
}

fn sentence<T: std::fmt::Debug>(outcome: Result<T, Failure>) -> String {
    match outcome {
        Err(f @ Failure::Refused(_)) => f.to_string(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_slip_takes_cash_and_checks_to_the_bank_once() {
    on_each_engine(|book| {
        let order = takings(book);
        let amounts: Vec<String> = hand(book).iter().map(|m| m.amount.plain()).collect();
        assert_eq!(amounts, ["50.00", "20.00", "30.25", "9.75"], "no transfer goes to the bank by hand");
        let make = |input: &SlipIn| book.try_act(|tx, doing| make_slip(tx, doing, input));
        let input = all_of(book, "19.00");
        assert!(sentence(make(&input)).contains("You counted $19.00 and the cash that is ticked is $20.00"));
        assert!(sentence(make(&SlipIn { items: Vec::new(), ..input.clone() })).contains("Choose the checks"));
        assert!(sentence(make(&SlipIn { day: day("2027-10-15"), ..input.clone() })).contains("still to come"));
        assert!(sentence(make(&SlipIn { cash: usd("-1.00"), ..input.clone() })).contains("zero or more"));
        let input = SlipIn { differs: true, ..input };
        let id = make(&input).unwrap();
        let slip = book.read(|c| Ok(slips::get(c, id)?));
        assert_eq!((slip.cash, slip.total), (usd("19.00"), usd("109.00")));
        assert!(slip.document.contains("Counted: $19.00") && slip.document.contains("Unreadable"));
        assert!(hand(book).is_empty());
        assert!(sentence(make(&input)).contains("went to the bank in between"));
        let (name, pdf) = book.read(|c| slip_paper(c, id));
        assert!(name.ends_with(".pdf") && pdf.starts_with(b"%PDF"));
        assert_eq!(book.read(|c| slip_paper(c, id)).1, pdf, "the same bytes again");
        holds(book);
        // What was not matched is matched while it is on the slip; it stays there once.
        let nobody = book.read(|c| Ok(gambrel::book::unmatched::waiting(c, 5)?))[0].id;
        book.act(|tx, doing| match_money(tx, doing, nobody, &MatchTo::Order(order), false));
        assert!(hand(book).is_empty());
        let today = book.now().today;
        let of_day = book.read(|c| Ok(slips::of_day(c, today)?));
        assert_eq!(of_day.iter().map(|m| m.amount.cents()).sum::<i64>(), 15_000, "nothing counts twice");
        assert!(of_day.iter().all(|m| m.from == "Ines Halvard"));
        holds(book);
    });
}

#[test]
fn a_slip_is_one_line_of_the_bank() {
    on_each_engine(|book| {
        takings(book);
        let input = all_of(book, "20.00");
        let id = book.act(|tx, doing| make_slip(tx, doing, &input));
        read_table(
            book,
            "Date,Description,Amount\n10/14/2027,DEPOSIT,110.00\n10/14/2027,DEP,50.00\n10/14/2027,OTHER,9.75\n",
        );
        let lines = book.read(|c| Ok(bank::untied(c, None, 9)?));
        let of = |words: &str| lines.iter().find(|l| l.words == words).unwrap().id;
        let tie = |line, what, of| book.try_act(|tx, doing| tie_line(tx, doing, line, what, of));
        let Item::Payment(check) = input.items[0] else { panic!("a payment comes first") };
        assert!(sentence(tie(of("DEP"), What::Payment, check.0)).contains("Tie the line to the slip instead"));
        let Item::Unmatched(nobody) = input.items[3] else { panic!("what is not matched comes last") };
        assert!(sentence(tie(of("OTHER"), What::Unmatched, nobody.0)).contains("Tie the line to the slip"));
        assert!(sentence(tie(of("DEP"), What::Slip, id.0)).contains("Only equal amounts"));
        tie(of("DEPOSIT"), What::Slip, id.0).unwrap();
        holds(book);
        assert!(sentence(book.try_act(|tx, doing| take_slip_apart(tx, doing, id))).contains("tied to this slip"));
        book.act(|tx, doing| gambrel::actions::bank_line::untie_line(tx, doing, of("DEPOSIT")));
        book.act(|tx, doing| take_slip_apart(tx, doing, id));
        assert_eq!(hand(book).len(), 4);
        // A check that stands on a statement by itself goes on no slip, and neither does one the bank returned.
        tie(of("DEP"), What::Payment, check.0).unwrap();
        assert_eq!(hand(book).len(), 3);
        let Item::Payment(other) = input.items[2] else { panic!("the second check") };
        let back = Bounced { day: book.now().today, reason: String::new(), charge: None };
        book.act(|tx, doing| bounce_payment(tx, doing, other, &back));
        assert_eq!(hand(book).len(), 2);
        holds(book);
    });
}

#[actix_web::test]
async fn the_page_adds_the_day_up_and_makes_the_slip() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        takings(&book);
        let page = app.get("/money/takings").await.expect(200);
        page.says("$150.00 came in").says("By method").says("90.00").says("Not yet matched: Unreadable");
        app.get("/money/takings?day=2027-10-13").await.expect(200).says("Nothing came in").says("The day after");
        app.get("/money/takings?day=2099-10-13").await.expect(200).says("$150.00 came in");
        let form = page.forms().into_iter().find(|f| f.post && f.action == "/money/takings").unwrap();
        let again = app.post("/money/takings", form.body(&[("cash", "19.00")])).await.expect(422);
        again.says("You counted $19.00").says("The cash I counted is right");
        let ticked: Vec<(&str, &str)> =
            form.fields.iter().filter(|(n, _)| n.starts_with("item-")).map(|(n, _)| (n.as_str(), "")).collect();
        assert_eq!(ticked.len(), 4, "everything on hand is ticked");
        app.post("/money/takings", form.body(&ticked)).await.expect(422).says("Choose the checks and the cash");
        let made = app.post("/money/takings", form.body(&[])).await.expect(303);
        let slip = made.location().to_string();
        app.follow(&made).await.expect(200).says("Deposit slip").says("$110.00").says("Check 1204");
        let pdf = app.get(&format!("{slip}.pdf")).await.expect(200);
        assert_eq!(pdf.header("content-type"), "application/pdf");
        app.get("/money/takings").await.expect(200).says("No cash and no check").says(&slip);
        app.submit_to(&slip, &format!("{slip}/apart"), &[]).await.expect(303);
        app.get(&slip).await.expect(404);
        app.get("/money/takings").await.expect(200).says("What goes to the bank?");
        holds(&book);
    }
}
