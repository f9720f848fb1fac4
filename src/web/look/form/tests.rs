//! One sentence per cause, and what was typed is kept.

use super::*;
use crate::trade::share::{Size, Species};
use crate::web::look::FORM_KEY;

fn form(pairs: &[(&str, &str)]) -> FormIn {
    FormIn::new(pairs.iter().map(|(n, v)| ((*n).to_string(), (*v).to_string())).collect())
}

/// Reads the value as field `f` and gives the sentence, or "" when it was taken.
fn says<T>(value: &str, read: impl Fn(&mut FormIn) -> Option<T>) -> String {
    let mut form = form(&[("f", value)]);
    let read = read(&mut form);
    let draft = form.into_draft();
    assert_eq!(read.is_none(), draft.is_refused(), "None exactly when a sentence was recorded: {value}");
    assert_eq!(draft.val("f"), value, "what was typed is kept");
    draft.err("f").to_string()
}

#[test]
fn texts() {
    let name = |value| says(value, |form| form.text("f", "Name", 5));
    assert_eq!(name(" Þóra "), "");
    assert_eq!(name(" \t"), "Name is empty. Fill it in.");
    assert_eq!(name("Łukasz"), "Name has 6 characters and only 5 fit. Shorten it.");
    assert_eq!(says("", |form| form.optional_text("f", "Breed", 5)), "");
    assert_eq!(form(&[("f", "a\r\nb\0")]).text("f", "Name", 9).as_deref(), Some("a b"));
    assert_eq!(form(&[("f", "a\r\nb\0 ")]).lines("f", "Address", 9).as_deref(), Some("a\nb"));
    assert_eq!(says("\n", |form| form.lines("f", "Address", 9)), "Address is empty. Fill it in.");
}

#[test]
fn money() {
    let money = |value| says(value, |form| form.money("f", "Deposit"));
    assert_eq!(money("$1,481.18"), "");
    assert_eq!(money("0"), "");
    assert_eq!(money(""), "Deposit is empty. Write an amount, such as 400.00.");
    assert_eq!(money("4oo"), "Deposit: “4oo” is not an amount. Write it in figures, such as 400.00.");
    assert_eq!(money("1.234"), "Deposit: “1.234” has more than 2 decimals. Write it like 400.00.");
    assert_eq!(money("-5"), "Deposit: “-5” is less than nothing. Write it like 400.00.");
    assert_eq!(money("100000000"), "Deposit: “100000000” is too much. At most 99,999,999.99 can be recorded.");
    assert_eq!(
        says("0.00", |form| form.positive_money("f", "Amount")),
        "Amount is nothing. Write an amount, such as 400.00."
    );
    assert_eq!(form(&[("f", "−10")]).signed_money("f", "Discount").map(|m| m.cents()), Some(-1000));
    assert_eq!(form(&[("f", " ")]).optional_money("f", "Least"), Some(None));
}

#[test]
fn prices_weights_and_per_cents() {
    let rate = |value| says(value, |form| form.rate("f", "Price"));
    assert_eq!((rate("4.6525").as_str(), rate("$4.65").as_str()), ("", ""));
    assert_eq!(rate("4.65255"), "Price: “4.65255” has more than 4 decimals. Write it like 4.65.");
    assert_eq!(rate(""), "Price is empty. Write a price, such as 4.65.");
    assert_eq!(rate("100000"), "Price: “100000” is too much. At most 99,999.9999 can be recorded.");

    let weight = |value| says(value, |form| form.weight("f", "Left"));
    assert_eq!((weight("1,290 lb").as_str(), weight("351.5").as_str()), ("", ""));
    assert_eq!(weight("35l.5"), "Left: “35l.5” is not a weight. Write it in figures, such as 351.5.");
    assert_eq!(weight("0"), "Left is nothing. Write a weight, such as 351.5, or leave it blank.");
    assert_eq!(weight("100000"), "Left: “100000” is too much. At most 99,999.99 can be recorded.");
    assert_eq!(form(&[]).optional_weight("f", "Left"), Some(None));

    let percent = |value| says(value, |form| form.percent("f", "Tax"));
    assert_eq!((percent("5.5 %").as_str(), percent("").as_str()), ("", ""));
    assert_eq!(percent("101"), "Tax: “101” is too much. At most 100 can be recorded.");
    let length = |value| says(value, |form| form.optional_length("f", "Girth"));
    assert_eq!((length("74.5").as_str(), length("").as_str()), ("", ""));
    assert_eq!(length("0"), "Girth: “0” is not a length. Write it in figures, such as 74.5.");
}

#[test]
fn whole_numbers() {
    let head = |value| says(value, |form| form.whole_number("f", "Head", 1..=10_000));
    assert_eq!((head("12").as_str(), head("10,000").as_str()), ("", ""));
    assert_eq!(head(""), "Head is empty. Write a number from 1 to 10,000.");
    assert_eq!(head("1.5"), "Head: “1.5” has decimals. Write a whole number, such as 12.");
    assert_eq!(head("0"), "Head: 0 is out of range. Write a number from 1 to 10,000.");
    assert_eq!(head("-3"), "Head: −3 is out of range. Write a number from 1 to 10,000.");
    assert_eq!(
        head("99999999999999999999"),
        "Head: “99999999999999999999” is too much. At most 10,000 can be recorded."
    );
    assert_eq!(head("ten"), "Head: “ten” is not a number. Write it in figures, such as 12.");
}

#[test]
fn dates_and_times() {
    let day = |value| says(value, |form| form.date("f", "Kill date"));
    assert_eq!((day("2027-10-14").as_str(), day("Oct 14, 2027").as_str()), ("", ""));
    assert_eq!(day(""), "Kill date is empty. Write a date, such as 10/14/2027.");
    assert_eq!(day("soon"), "Kill date: “soon” is not a date. Write it like 2027-10-14 or 10/14/2027.");
    assert_eq!(
        day("10/14/27"),
        "Kill date: “10/14/27” has a short year. Write the year with four figures, such as 2027."
    );
    assert_eq!(
        day("2/30/2027"),
        "Kill date: “2/30/2027” is not in the calendar. Write month, day and year, such as 10/14/2027."
    );
    assert_eq!(day("1/1/1999"), "Kill date: “1/1/1999” is too far away. The year must be from 2000 to 2099.");
    let born = |value| form(&[("f", value)]).optional_day_or_month("f", "Born");
    let first = chrono::NaiveDate::from_ymd_opt(2026, 4, 1).unwrap();
    assert_eq!(born("Apr 2026"), Some(Some(DayOrMonth::Month(first))));
    assert_eq!(born("4/1/2026"), Some(Some(DayOrMonth::Day(first))));
    assert_eq!(born("spring"), None);
    assert_eq!(form(&[("f", "4:30 pm")]).optional_time("f", "Time").as_deref(), Some("16:30"));
    assert_eq!(
        says("late", |form| form.optional_time("f", "Time")),
        "Time: “late” is not a time of day. Write it like 4:30 pm or 16:30."
    );
}

#[test]
fn words_and_rows() {
    let species = |value| says(value, |form| form.word::<Species>("f", "Species"));
    assert_eq!(species("goat"), "");
    assert_eq!(species(""), "Species: choose one.");
    assert_eq!(species("emu"), "Species: “emu” is not on the list. Choose one of the list.");
    let mut several = form(&[("f", "whole"), ("f", "half"), ("f", "whole")]);
    assert_eq!(several.words::<Size>("f", "Shares"), Some(vec![Size::Whole, Size::Half]));
    assert_eq!(form(&[]).words::<Size>("f", "Shares"), None);
    assert_eq!(form(&[]).optional_word::<Size>("f", "Share"), Some(None));
    let row = |value| says(value, |form| form.id("f", "Customer"));
    assert_eq!((row("7").as_str(), row("").as_str()), ("", "Customer: choose one."));
    for bad in ["0", "-1", "+1", "1e3", "99999999999999999999", "7 8"] {
        assert!(row(bad).contains("is not on the list"), "{bad}");
    }
    assert_eq!(form(&[("f", "3"), ("f", "1"), ("f", "3")]).ids("f", "Invoices"), Some(vec![3, 1]));
    assert_eq!(form(&[("f", "3"), ("f", "x")]).ids("f", "Invoices"), None);
}

#[test]
fn contacts() {
    let mail = |value| says(value, |form| form.mail_address("f", "Mail"));
    assert_eq!(mail("ines@halvard.example"), "");
    assert_eq!(mail(""), "Mail is empty. Fill it in.");
    assert_eq!(mail("ines"), "Mail: “ines” is not a mail address. Write it like ines@halvard.example.");
    assert_eq!(says("", |form| form.optional_phone("f", "Phone")), "");
    assert_eq!(
        says("55", |form| form.phone("f", "Phone")),
        "Phone: “55” is not a telephone number. Write it like (715) 555-0117."
    );
}

#[test]
fn passwords_do_not_stay_in_the_draft() {
    let mut form = form(&[("mail", "ada@nettle.example"), ("password", "  hunter "), (FORM_KEY, "k")]);
    assert_eq!(form.secret("password", "Password", 12), None);
    let draft = form.into_draft();
    assert_eq!(draft.err("password"), "Password is too short: take at least 12 characters.");
    assert_eq!((draft.val("password"), draft.val(FORM_KEY), draft.val("mail")), ("", "", "ada@nettle.example"));
    let mut form = self::form(&[("password", " twelve chars ")]);
    assert_eq!(form.secret("password", "Password", 12).as_deref(), Some(" twelve chars "));
}

#[test]
fn finish_opens_everything_or_nothing() {
    let mut good = form(&[("name", "Ines"), ("deposit", "400")]);
    let (name, deposit) = (good.text("name", "Name", 9), good.optional_money("deposit", "Deposit"));
    assert_eq!(good.finish((name, deposit)).map(|(n, d)| (n, d.map(|d| d.cents()))), Ok(("Ines".into(), Some(40_000))));
    let mut bad = form(&[("deposit", "x")]);
    let (name, deposit) = (bad.text("name", "Name", 9), bad.optional_money("deposit", "Deposit"));
    let draft = bad.finish((name, deposit)).unwrap_err();
    assert_eq!(draft.problems().iter().map(|p| p.field.as_str()).collect::<Vec<_>>(), ["name", "deposit"]);
    let mut noted = form(&[]);
    noted.problem("", "The offering is closed.");
    assert!(noted.finish(()).is_err(), "a problem without a missing value refuses too");
    assert!(form(&[]).finish((None::<i64>,)).is_err());
}

#[test]
fn a_form_has_limits() {
    let body = |n| "a=1&".repeat(n);
    assert!(FormIn::parse(body(4_000).as_bytes()).is_ok());
    assert!(FormIn::parse(body(4_001).as_bytes()).is_err());
    let form = FormIn::parse("name=%C3%9E%C3%B3ra+Lind&ok=yes&bad=%FF%00".as_bytes()).unwrap();
    assert_eq!(
        (form.line("name").as_str(), form.tick("ok"), form.line("bad").as_str()),
        ("Þóra Lind", true, "\u{FFFD}")
    );
}
