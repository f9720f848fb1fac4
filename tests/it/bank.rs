//! Statements of a bank in the book: every line once, nothing booked by itself, each line one thing at most.

use crate::ledger::{holds, on};
use crate::support::farm::{day, usd};
use crate::support::{TestApp, TestBook, on_each_engine};
use crate::unmatched::unknown;
use gambrel::actions::Failure;
use gambrel::actions::bank_file::{Of, Opened, Sent, Taken, look, match_and_take, open, send};
use gambrel::actions::bank_line::{book_line, line_not_matched, set_line_aside, tie_line, untie_line};
use gambrel::actions::give_back::give_back;
use gambrel::actions::record_deposit::MoneyIn;
use gambrel::actions::unmatched_money::{ForWhat, GivenBack, give_back_unmatched};
use gambrel::book::bank;
use gambrel::book::bank_open::candidates;
use gambrel::book::ids::{BankAccountId, BankLineId, BankUploadId};
use gambrel::book::payments;
use gambrel::book::rows::bank::BankLine;
use gambrel::trade::bank::suggest::{Candidate, What};
use gambrel::trade::ledger::Account;
use gambrel::trade::reference;
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::PayMethod;
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

/// The account of the tests' tables, by its name.
fn checking() -> Of {
    Of::New("Farm checking".into())
}

fn columns_of(sent: &Sent) -> BankUploadId {
    match sent {
        Sent::Columns(id) => *id,
        Sent::Taken(taken) => panic!("taken already: {taken:?}"),
    }
}

/// A table, matched as its headings suggest, if nobody matched such headings before.
pub(crate) fn read_table(book: &TestBook, text: &str) -> Taken {
    let opened = open(text.as_bytes()).unwrap();
    match book.act(|tx, doing| send(tx, doing, &checking(), "statement.csv", &opened)) {
        Sent::Taken(taken) => taken,
        Sent::Columns(id) => {
            let columns = book.read(|c| look(c, id)).columns;
            book.act(|tx, doing| match_and_take(tx, doing, id, &columns))
        }
    }
}

fn lines(book: &TestBook) -> Vec<BankLine> {
    book.read(|c| Ok(bank::untied(c, None, 1_000)?))
}

fn line(book: &TestBook, words: &str) -> BankLineId {
    let all = lines(book);
    all.iter().find(|l| l.words.contains(words)).unwrap_or_else(|| panic!("no line {words}: {all:?}")).id
}

fn found(book: &TestBook, what: What) -> Option<Candidate> {
    let today = book.now().today;
    book.read(|c| Ok(candidates(c, today, today)?)).into_iter().find(|c| c.what == what)
}

fn sentence<T: std::fmt::Debug>(outcome: Result<T, Failure>) -> String {
    match outcome {
        Err(f @ Failure::Refused(_)) => f.to_string(),
        other => panic!("{other:?}"),
    }
}

/// A statement that waits for its columns, three lines that wait, one set aside, so that the pages can be asked for.
pub(crate) fn fill(book: &TestBook) {
    let other = Of::New("Savings".into());
    let opened = open(b"Day;What;Sum\n2027-10-14;x;1\n").unwrap();
    book.act(|tx, doing| send(tx, doing, &other, "other.csv", &opened));
    read_table(
        book,
        "Date,Description,Amount\n10/14/2027,WIRED FROM INES HALVARD,150.00\n10/13/2027,FEED MILL,-31.20\n10/12/2027,PRIVATE,9.00\n",
    );
    let aside = line(book, "PRIVATE");
    book.act(|tx, doing| set_line_aside(tx, doing, aside, "private"));
}

#[test]
fn a_table_is_matched_once_and_each_line_is_kept_once() {
    on_each_engine(|book| {
        let first =
            "Date,Description,Amount\n10/13/2027,DEPOSIT,150.00\n10/13/2027,DEPOSIT,150.00\n10/14/2027,Fee,-5.00\n";
        let opened = open(first.as_bytes()).unwrap();
        let sent = book.act(|tx, doing| send(tx, doing, &checking(), "a.csv", &opened));
        let waiting = book.read(|c| look(c, columns_of(&sent)));
        assert!(!waiting.is_matched && lines(book).is_empty(), "nothing is kept before somebody looked");
        assert_eq!(read_table(book, first), Taken { lines: 3, new: 3 });
        assert_eq!(read_table(book, first), Taken { lines: 3, new: 0 }, "the same file again");
        let later = "Date,Description,Amount\n10/13/2027,DEPOSIT,150.00\n10/13/2027,DEPOSIT,150.00\n10/13/2027,DEPOSIT,150.00\n10/15/2027,New,7.00\n";
        let opened = open(later.as_bytes()).unwrap();
        let sent = book.act(|tx, doing| send(tx, doing, &checking(), "b.csv", &opened));
        assert_eq!(sent, Sent::Taken(Taken { lines: 4, new: 2 }), "known headings need no second look");
        assert_eq!(lines(book).len(), 5);
        assert_eq!(on(book, Account::Transfers), "0.00", "nothing is booked by that");
        let accounts = book.read(|c| Ok(bank::accounts(c)?));
        assert_eq!(accounts.len(), 1);
        let ofx = open(include_bytes!("../files/bank/checking_1.ofx")).unwrap();
        let of = Of::Known(accounts[0].id);
        let says = sentence(book.try_act(|tx, doing| send(tx, doing, &of, "c.ofx", &ofx)));
        assert!(says.contains("came as CSV so far"), "{says}");
        let bad = open(b"Date,Description,Amount\n10/13/2027,DEPOSIT,15x\n").unwrap();
        let sent = book.act(|tx, doing| send(tx, doing, &checking(), "d.csv", &bad));
        let columns = book.read(|c| look(c, columns_of(&sent))).columns;
        let says = sentence(book.try_act(|tx, doing| match_and_take(tx, doing, columns_of(&sent), &columns)));
        assert!(says.contains("Line 2, column 3 (Amount): “15x” is not an amount."), "{says}");
        assert_eq!(lines(book).len(), 5, "all or nothing");
    });
}

#[test]
fn ofx_names_its_account_and_overlapping_files_give_each_line_once() {
    on_each_engine(|book| {
        let (one, two) =
            (include_bytes!("../files/bank/checking_1.ofx"), include_bytes!("../files/bank/checking_2.ofx"));
        let new = Of::New(String::new());
        let read = |bytes: &[u8], of: &Of| {
            let opened = open(bytes).unwrap();
            assert!(matches!(opened, Opened::Ofx(_)));
            book.act(|tx, doing| send(tx, doing, of, "statement.ofx", &opened))
        };
        assert_eq!(read(one, &new), Sent::Taken(Taken { lines: 4, new: 4 }));
        assert_eq!(read(one, &new), Sent::Taken(Taken { lines: 4, new: 0 }));
        // The other form of OFX, with one line of before and a card beside it.
        assert_eq!(read(two, &new), Sent::Taken(Taken { lines: 3, new: 2 }));
        let accounts = book.read(|c| Ok(bank::accounts(c)?));
        let names: Vec<&str> = accounts.iter().map(|a| a.name.as_str()).collect();
        assert_eq!(names, ["Checking ending in 6789", "Credit card ending in 0012"]);
        assert!(accounts.iter().all(|a| !a.known.as_ref().unwrap().contains("6789")), "no number is kept");
        // Another account's file for an account that is known: refused, so that nothing is mixed.
        let other = String::from_utf8(one.to_vec()).unwrap().replace("0001236789", "42");
        let opened = open(other.as_bytes()).unwrap();
        let of = Of::Known(accounts[0].id);
        let says = sentence(book.try_act(|tx, doing| send(tx, doing, &of, "x.ofx", &opened)));
        assert!(says.contains("of another account"), "{says}");
        // A bank that names two lines alike loses none of them.
        let alike = String::from_utf8(one.to_vec()).unwrap().replace("2027101400002", "2027101400001");
        let opened = open(alike.as_bytes()).unwrap();
        let taken = book.act(|tx, doing| send(tx, doing, &new, "y.ofx", &opened));
        assert_eq!(taken, Sent::Taken(Taken { lines: 4, new: 1 }));
        assert_eq!(book.read(|c| Ok(bank::account(c, BankAccountId(1))?)).id, accounts[0].id);
    });
}

#[test]
fn a_click_books_the_deposit_that_its_reference_names_and_nothing_else_does() {
    on_each_engine(|book| {
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        let reference = reference::of(&found(book, What::Deposit).unwrap().order.unwrap());
        read_table(book, &format!("Date,Description,Amount\n10/13/2027,P2P {reference},150.00\n"));
        let id = line(book, "P2P");
        let deposit = found(book, What::Deposit).unwrap();
        assert_eq!((deposit.id, deposit.amount), (order.0, usd("150.00")));
        let done = book.act(|tx, doing| book_line(tx, doing, id, ForWhat::Order(order), PayMethod::Transfer, false));
        let (row, receipt) = book.read(|c| Ok((payments::get(c, done)?, payments::receipt_of(c, done)?)));
        assert_eq!((row.received_on, row.amount, row.method), (day("2027-10-13"), usd("150.00"), PayMethod::Transfer));
        assert!(receipt.is_some());
        assert_eq!(
            (on(book, Account::Transfers).as_str(), on(book, Account::Deposits).as_str()),
            ("150.00", "-150.00")
        );
        assert!(lines(book).is_empty() && found(book, What::Deposit).is_none());
        assert!(found(book, What::Payment).is_none(), "it stands on a statement already");
        let says = sentence(
            book.try_act(|tx, doing| book_line(tx, doing, id, ForWhat::Order(order), PayMethod::Transfer, false)),
        );
        assert!(says.contains("settled already"), "{says}");
        holds(book);
        // Taken back the line waits again, and the payment is what it may be: no second booking is needed.
        book.act(|tx, doing| untie_line(tx, doing, id));
        let payment = found(book, What::Payment).unwrap();
        assert_eq!(payment.id, done.0);
        book.act(|tx, doing| tie_line(tx, doing, id, What::Payment, payment.id));
        assert_eq!(on(book, Account::Transfers), "150.00");
        holds(book);
    });
}

#[test]
fn a_line_is_tied_to_equal_amounts_only_and_to_one_thing() {
    on_each_engine(|book| {
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        book.deposit(order, "150.00");
        let nobody = unknown(book, "60.00");
        read_table(
            book,
            "Date,Description,Amount\n10/13/2027,A,150.00\n10/13/2027,B,150.00\n10/13/2027,C,149.00\n10/13/2027,D,-150.00\n10/13/2027,E,60.00\n10/14/2027,F,-60.00\n10/14/2027,G,-20.00\n",
        );
        let [a, b, c, d, e, f, g] = ["A", "B", "C", "D", "E", "F", "G"].map(|w| line(book, w));
        let payment = found(book, What::Payment).unwrap().id;
        let tie = |id, what, of| book.try_act(|tx, doing| tie_line(tx, doing, id, what, of));
        assert!(sentence(tie(c, What::Payment, payment)).contains("Only equal amounts"));
        assert!(sentence(tie(d, What::Payment, payment)).contains("Only equal amounts"), "taken off is not added");
        assert!(sentence(tie(d, What::Refund, payment)).contains("never at the bank so"));
        tie(a, What::Payment, payment).unwrap();
        assert!(sentence(tie(b, What::Payment, payment)).contains("Another line"));
        assert!(sentence(tie(b, What::Invoice, 1)).contains("not recorded yet"));
        assert!(tie(b, What::Payment, 9_999).is_err());
        tie(e, What::Unmatched, nobody.0).unwrap();
        assert!(sentence(tie(f, What::GivenBack, nobody.0)).contains("was not given back"));
        let back = GivenBack { method: PayMethod::Transfer, day: book.now().today, words: String::new() };
        book.act(|tx, doing| give_back_unmatched(tx, doing, nobody, &back));
        tie(f, What::GivenBack, nobody.0).unwrap();
        // Money given back, and what of it may be tied.
        let who = book.read(|c| Ok(gambrel::book::reservations::get(c, order)?.1.id));
        let more = MoneyIn { method: PayMethod::Cash, ..book.money("20.00") };
        book.act(|tx, doing| {
            gambrel::actions::record_payment::record_payment(tx, doing, who, &more, &[], false, false)
        });
        book.act(|tx, doing| give_back(tx, doing, who, &more, false));
        let refund = found(book, What::Refund).unwrap();
        tie(g, What::Refund, refund.id).unwrap();
        holds(book);
        assert!(
            sentence(book.try_act(|tx, doing| line_not_matched(tx, doing, d, PayMethod::Check))).contains("taken off")
        );
        book.act(|tx, doing| set_line_aside(tx, doing, d, "private"));
        assert!(sentence(book.try_act(|tx, doing| set_line_aside(tx, doing, d, ""))).contains("settled already"));
        book.act(|tx, doing| untie_line(tx, doing, d));
        assert!(sentence(book.try_act(|tx, doing| untie_line(tx, doing, d))).contains("Nothing is settled"));
        let nobody = book.act(|tx, doing| line_not_matched(tx, doing, c, PayMethod::Transfer));
        assert_eq!(on(book, Account::NotMatched), "-149.00");
        // Matched later, the payment it became stands on the statement through it and is not offered again.
        let to = gambrel::actions::unmatched_money::MatchTo::Customer(who, Vec::new());
        let became =
            book.act(|tx, doing| gambrel::actions::unmatched_money::match_money(tx, doing, nobody, &to, false));
        assert!(found(book, What::Payment).is_none_or(|p| p.id != became.0));
        assert!(sentence(tie(b, What::Payment, became.0)).contains("came in as not yet matched"));
        holds(book);
    });
}

/// Random statements cut into files that overlap, in any order, some sent twice: every line is there once, and sums agree.
#[test]
fn a_line_is_never_taken_twice_and_sums_agree() {
    let some = proptest::collection::vec((0_u32..20, 1_i64..5, 0_usize..3), 1..40);
    let cuts = proptest::collection::vec((0_u32..20, 0_u32..20), 1..6);
    let mut runner = TestRunner::new(Config { cases: 24, failure_persistence: None, ..Config::default() });
    let book = TestBook::sqlite();
    let count = std::cell::Cell::new(0);
    let outcome = runner.run(&(some, cuts), |(mut all, cuts)| {
        all.sort();
        count.set(count.get() + 1);
        let of = Of::New(format!("Account {}", count.get()));
        let mut covered = std::collections::BTreeSet::new();
        for (a, b) in cuts {
            let (from, to) = (a.min(b), a.max(b));
            covered.extend(from..=to);
            let mut text = "Date,Description,Money in\n".to_string();
            for (day, dollars, words) in all.iter().filter(|(d, ..)| (from..=to).contains(d)) {
                text.push_str(&format!("2027-10-{:02},{},{dollars}.00\n", day + 1, ["Dep", "P2P x", "p2p  X"][*words]));
            }
            let Ok(opened) = open(text.as_bytes()) else { continue };
            match book.act(|tx, doing| send(tx, doing, &of, "f", &opened)) {
                Sent::Taken(_) => {}
                Sent::Columns(id) => {
                    let columns = book.read(|c| look(c, id)).columns;
                    book.act(|tx, doing| match_and_take(tx, doing, id, &columns));
                }
            }
        }
        let want: Vec<_> = all.iter().filter(|(d, ..)| covered.contains(d)).collect();
        let account = book.read(|c| Ok(bank::accounts(c)?)).into_iter().find(|a| of == Of::New(a.name.clone()));
        let kept: Vec<BankLine> =
            lines(&book).into_iter().filter(|l| account.as_ref().is_some_and(|a| a.id == l.account_id)).collect();
        prop_assert_eq!(kept.len(), want.len());
        let (sum, wanted): (i64, i64) =
            (kept.iter().map(|l| l.amount.cents()).sum(), want.iter().map(|w| w.1 * 100).sum());
        prop_assert_eq!(sum, wanted);
        Ok(())
    });
    outcome.unwrap();
}

#[actix_web::test]
async fn the_pages_read_a_statement_and_settle_its_lines() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        let first = app.get("/money/bank").await.expect(200);
        first.says("Send a statement of your bank");
        let form = first.forms().into_iter().find(|f| f.action == "/money/bank").unwrap();
        let key = form.value("form_key").to_string();
        let fields = [("form_key", key.as_str()), ("account", "new"), ("name", "Farm <checking>")];
        app.upload("/money/bank", &fields, "file", b"").await.expect(422).says("Choose the file of your bank");
        app.upload("/money/bank", &fields, "file", b"%PDF-1.4").await.expect(422).says("This is a PDF");
        let nameless = [("form_key", key.as_str()), ("account", "new")];
        let table = b"Date,Description,Amount\n10/14/2027,WIRED FROM INES HALVARD,150.00\n10/14/2027,Hay,-31.20\n";
        app.upload("/money/bank", &nameless, "file", table).await.expect(422).says("Write a name for the account");
        let sent = app.upload("/money/bank", &fields, "file", table).await.expect(303);
        let columns = sent.location().to_string();
        app.follow(&sent).await.expect(200).says("Which column is which?").says("Description, such as WIRED");
        app.submit(&columns, &[("words", "")]).await.expect(422).says("Choose the column that says who paid");
        app.submit(&columns, &[]).await.expect(303);
        let list = app.get("/money/bank").await.expect(200);
        list.says("Two lines of the bank wait for you")
            .says("Book as deposit of Ines Halvard")
            .says("same amount, name Ines Halvard");
        let one = list.forms().into_iter().find(|f| f.value("act") == "book").unwrap();
        app.post(&one.action, one.body(&[])).await.expect(303);
        assert_eq!(on(&book, Account::Deposits), "-150.00");
        app.post(&one.action, one.body(&[])).await.expect(303);
        assert_eq!(on(&book, Account::Deposits), "-150.00", "a form sent twice acts once");
        app.get(&format!("/orders/{order}")).await.expect(200).says("Deposit of $150.00 received");
        let list = app.get("/money/bank").await.expect(200);
        list.says("One line of the bank waits for you").says("$31.20 went out");
        let aside = list.forms().into_iter().find(|f| f.value("act") == "aside").unwrap();
        app.post(&aside.action, aside.body(&[])).await.expect(303);
        let settled = app.get("/money/bank/settled").await.expect(200);
        settled.says("Set aside").says("A payment of").says("Ines Halvard");
        let open = settled.forms().into_iter().find(|f| f.action == aside.action).unwrap();
        app.post(&open.action, open.body(&[])).await.expect(303);
        app.get("/money/bank").await.expect(200).says("One line of the bank waits for you");
        app.get(&open.action).await.expect(200).says("No money given back has this amount");
        app.post(&open.action, open.body(&[("act", "nonsense")])).await.expect(422).says("Choose what it is for");
        app.get("/money/bank/lines/999").await.expect(404);
        app.get(&columns).await.expect(404);
        holds(&book);
    }
}
