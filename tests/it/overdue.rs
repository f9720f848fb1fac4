//! Letters about overdue balances in three tones, by hand and by schedule, the stop for a customer, and interest by a click.

use crate::ledger::holds;
use crate::support::book::{DAY, HOUR};
use crate::support::farm::usd;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::balance_letter::{DEFAULTS, remind_of_balances, save_rule, stop_letters, write_letter};
use gambrel::actions::charge_interest::{charge_interest, proposed};
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::void_invoice::void_invoice;
use gambrel::book::ids::{CustomerId, InvoiceId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::rows::balances::BalanceRule;
use gambrel::book::rows::outbox::Message;
use gambrel::book::{balances, invoices};
use gambrel::trade::money::Percent;
use gambrel::trade::overdue::Tone;
use gambrel::trade::vocabulary::Channel;

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

/// An invoice of Ines, and days until it is due.
fn billed(book: &TestBook) -> (InvoiceId, CustomerId, i64) {
    let hog = book.hung_hog();
    let id = book.issue(hog.orders[0]);
    let (invoice, who, _) = book.read(|c| Ok(invoices::get(c, id)?));
    let days = invoice.due_on.unwrap().signed_duration_since(book.now().today).num_days();
    (id, who.id, days)
}

/// The clock on the n-th day after the due day, about noon.
fn late(book: &TestBook, due_in: i64, days: i64) {
    book.clock.advance((due_in + days) * DAY);
}

fn rule(book: &TestBook, friendly: Option<i64>, firm: Option<i64>, interest: Option<i64>) {
    let interest = interest.map(Percent::from_thousandths);
    let new = BalanceRule { friendly_after: friendly, firm_after: firm, interest, version: 0 };
    book.act(|tx, doing| save_rule(tx, doing, &new, 0));
}

fn letters(book: &TestBook, id: InvoiceId) -> Vec<(Tone, bool)> {
    let all = book.read(|c| Ok(balances::letters(c, &[id])?)).remove(&id).unwrap_or_default();
    all.into_iter().map(|l| (l.tone, l.by_itself)).collect()
}

fn last_message(book: &TestBook) -> Message {
    book.read(|c| Ok(outbox::page(c, Shown::All, None, 1)?)).remove(0)
}

fn owed(book: &TestBook, id: InvoiceId) -> String {
    let open = book.read(|c| Ok(invoices::open(c, None, 100)?));
    open.iter().find(|(i, ..)| i.id == id).map_or("0.00".into(), |(_, _, m)| m.plain())
}

#[test]
fn each_tone_has_its_words_and_goes_by_mail_or_on_paper() {
    on_each_engine(|book| {
        let (id, _, due_in) = billed(book);
        refused(book.try_act(|tx, doing| write_letter(tx, doing, id, Tone::Firm, false)), "not past due");
        late(book, due_in, 40);
        let says = [
            (Tone::Friendly, "This is a reminder"),
            (Tone::Firm, "Please pay it by"),
            (Tone::Last, "This is our last letter"),
        ];
        for (tone, words) in says {
            book.act(|tx, doing| write_letter(tx, doing, id, tone, false));
            let m = last_message(book);
            assert_eq!((m.channel, m.to_address.as_str()), (Channel::Mail, "ines@customers.example"));
            assert!(m.body.contains(words) && m.body.contains(&owed(book, id)), "{}", m.body);
            assert!(!m.body.contains('{'), "{}", m.body);
        }
        assert!(last_message(book).subject.contains(&format!("${}", owed(book, id))));
        book.act(|tx, doing| write_letter(tx, doing, id, Tone::Last, true));
        let m = last_message(book);
        assert_eq!((m.channel, m.to_address.as_str()), (Channel::Letter, "3 Pell Road\nElm Fork, WI 53000"));
        let by_hand = [Tone::Friendly, Tone::Firm, Tone::Last, Tone::Last].map(|t| (t, false));
        assert_eq!(letters(book, id), by_hand);
        book.act(|tx, doing| void_invoice(tx, doing, id, "wrong side", false));
        refused(book.try_act(|tx, doing| write_letter(tx, doing, id, Tone::Friendly, false)), "is voided");
        sound(book);
    });
}

#[test]
fn by_schedule_each_letter_goes_once_unless_it_is_stopped_or_paid() {
    on_each_engine(|book| {
        let (id, ines, due_in) = billed(book);
        let run = || book.act(remind_of_balances);
        late(book, due_in, 60);
        assert_eq!(run(), 0, "off unless the farmer says so");
        rule(book, Some(7), Some(30), None);
        book.clock.advance(-6 * HOUR);
        assert_eq!(run(), 0, "not at night");
        book.clock.advance(6 * HOUR);
        book.act(|tx, doing| stop_letters(tx, doing, ines, true, "pays in parts"));
        assert_eq!(run(), 0, "stopped for her");
        book.act(|tx, doing| stop_letters(tx, doing, ines, false, ""));
        assert_eq!(run(), 1);
        assert_eq!(run(), 0, "run again it does nothing");
        book.clock.advance(6 * DAY);
        assert_eq!(run(), 0, "a week lies between two");
        book.clock.advance(DAY);
        assert_eq!(run(), 1);
        assert_eq!(letters(book, id), [(Tone::Friendly, true), (Tone::Firm, true)]);
        book.clock.advance(200 * DAY);
        assert_eq!(run(), 0, "the last letter never goes by itself");
        sound(book);
    });
}

#[test]
fn nobody_who_paid_is_reminded_and_the_rule_is_looked_at() {
    on_each_engine(|book| {
        let (id, _, due_in) = billed(book);
        rule(book, Some(7), None, None);
        let firm_first = BalanceRule { friendly_after: Some(30), firm_after: Some(7), ..DEFAULTS };
        refused(book.try_act(|tx, doing| save_rule(tx, doing, &firm_first, 1)), "comes after the friendly one");
        assert!(matches!(book.try_act(|tx, doing| save_rule(tx, doing, &DEFAULTS, 0)), Err(Failure::Stale)));
        late(book, due_in, 10);
        book.pay(id, &owed(book, id));
        assert_eq!(book.act(remind_of_balances), 0);
        refused(book.try_act(|tx, doing| write_letter(tx, doing, id, Tone::Friendly, false)), "Nothing is owed");
        sound(book);
    });
}

#[test]
fn interest_is_off_shown_for_whole_months_and_charged_once_by_a_click() {
    on_each_engine(|book| {
        let (id, _, due_in) = billed(book);
        late(book, due_in, 70);
        let now = || book.read(|c| proposed(c, id, book.now()));
        assert_eq!(now(), None, "off by default");
        rule(book, None, None, Some(1_500));
        let before = usd(&owed(book, id));
        let shown = now().unwrap();
        assert_eq!((shown.months, shown.on), (2, before));
        assert_eq!(shown.amount, Percent::from_thousandths(3_000).of(before).unwrap());
        refused(book.try_act(|tx, doing| charge_interest(tx, doing, id, usd("1.00"))), "when you looked");
        assert_eq!(usd(&owed(book, id)), before, "nothing is charged by itself");
        book.act(|tx, doing| charge_interest(tx, doing, id, shown.amount));
        assert_eq!(usd(&owed(book, id)), before.plus(shown.amount).unwrap());
        refused(book.try_act(|tx, doing| charge_interest(tx, doing, id, shown.amount)), "no interest to charge");
        holds(book);
        sound(book);
        // A month later: on what was owed without the interest.
        book.clock.advance(31 * DAY);
        let next = now().unwrap();
        assert_eq!((next.months, next.on), (1, before));
        book.act(|tx, doing| charge_interest(tx, doing, id, next.amount));
        sound(book);
        // A month that was noted twice is found.
        book.act(|tx, _| {
            use diesel::RunQueryDsl;
            diesel::sql_query("UPDATE interest_charge SET months = months + 1 WHERE id = 1").execute(tx.conn())?;
            Ok(())
        });
        let (said, good) = in_words(&book.read(check_book));
        assert!(!good && said.contains("month by month"), "{said}");
    });
}

#[actix_web::test]
async fn letters_are_written_from_what_is_owed_and_the_last_one_asks_twice() {
    for book in TestBook::each() {
        let (id, _, due_in) = billed(&book);
        late(&book, due_in, 40);
        let app = TestApp::signed_in(&book).await;
        app.get("/money/owed")
            .await
            .expect(200)
            .says("40 days overdue")
            .says("None yet")
            .says("Nothing goes out by itself");
        let url = format!("/invoices/{id}/letter");
        app.get(&url).await.expect(200).says("Ask a lawyer").says("This is our last letter").says("This is a reminder");
        let write = |fields: &'static [(&'static str, &'static str)]| app.submit_to(&url, &url, fields);
        write(&[("tone", "last"), ("way", "usual")]).await.expect(422).says("read the caution");
        assert!(letters(&book, id).is_empty());
        let paper = write(&[("tone", "last"), ("way", "paper"), ("sure", "yes")]).await.expect(303);
        app.follow(&paper).await.says("Print it and post it");
        app.get("/outbox/1.pdf").await;
        app.get("/money/owed").await.says("Last letter, ");
        let stop = format!("/invoices/{id}/letter/stop");
        app.submit_to(&url, &stop, &[("stop", "yes"), ("reason", "pays in parts")]).await.expect(303);
        app.get(&url).await.says("gets no letters by schedule").says("pays in parts");
        app.get("/money/owed").await.says("none by schedule");
        // The rule, and interest beside the letter.
        let rule = "/settings/overdue";
        app.get(rule).await.expect(200).says("Nothing goes out by itself").says("ask a lawyer");
        app.submit_to(rule, rule, &[("interest", "18")]).await.expect(422).says("for a month").says("18");
        app.submit_to(rule, rule, &[("friendly_after", "7"), ("interest", "1.5")]).await.expect(303);
        app.get(&url).await.says("1.5 % a month").says("7 days after the due day");
        let interest = format!("/invoices/{id}/interest");
        let charged = app.submit_to(&url, &interest, &[]).await.expect(303);
        app.follow(&charged).await.says("Interest through");
        app.get("/invoices/99/letter").await.expect(404);
    }
}
