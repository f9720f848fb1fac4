//! Calendar files: read by an independent library (Python icalendar, tests/ics_peer.py) and held against RFC 5545 here; the event of
//! an order is the same one through every change; the feed's address is secret.

use crate::pickup::{place, ready_with_windows, say, window};
use crate::support::book::left_out;
use crate::support::farm::day;
use crate::support::{TestApp, TestBook, on_each_engine};
use chrono::{NaiveDate, TimeZone, Utc};
use gambrel::actions::calendar_feed::{begin, feed, stop};
use gambrel::actions::choose_pickup::{Chooser, choose};
use gambrel::actions::pickup_window::{WindowIn, call_off, change_window};
use gambrel::actions::send_mail::outgoing;
use gambrel::book::calendars;
use gambrel::book::ids::{MessageId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::rows::calendars::MessageCalendar;
use gambrel::post::calendar::{Entry, Method, When, calendar};
use proptest::prelude::*;
use serde_json::Value;
use std::collections::BTreeSet;
use std::process::{Command, Stdio};

/// The content lines of a file, unfolded, after every rule of RFC 5545 on lines was held against it.
#[track_caller]
fn lines(file: &str) -> Vec<String> {
    assert!(file.ends_with("\r\n"), "the last line is ended too");
    let bare = file.replace("\r\n", "");
    assert!(!bare.contains(['\r', '\n']), "every line ends with CRLF");
    assert!(!bare.chars().any(|c| c.is_control() && c != '\t'), "no control characters");
    let mut all: Vec<String> = Vec::new();
    for line in file.split_terminator("\r\n") {
        assert!(line.len() <= 75, "{} octets: {line}", line.len());
        match line.strip_prefix(' ') {
            Some(rest) => all.last_mut().expect("no file begins with a fold").push_str(rest),
            None => all.push(line.to_string()),
        }
    }
    all
}

/// The whole file held against RFC 5545 (3.4, 3.6.1, 3.8) as far as we use it; how many events it has.
#[track_caller]
fn by_the_rules(file: &str) -> usize {
    let all = lines(file);
    assert_eq!(all.first().unwrap(), "BEGIN:VCALENDAR");
    assert_eq!(all.last().unwrap(), "END:VCALENDAR");
    for once in ["VERSION:2.0", "PRODID:", "METHOD:"] {
        assert_eq!(all.iter().filter(|l| l.starts_with(once)).count(), 1, "{once} once in {file}");
    }
    let (mut ids, mut events) = (BTreeSet::new(), 0);
    for event in all.join("\n").split("BEGIN:VEVENT\n").skip(1) {
        let event: Vec<&str> = event.split("\nEND:VEVENT").next().unwrap().split('\n').collect();
        let of = |name: &str| -> Vec<&str> {
            event.iter().filter(|l| l.split([':', ';']).next() == Some(name)).copied().collect()
        };
        for once in ["UID", "DTSTAMP", "DTSTART", "SUMMARY", "SEQUENCE", "STATUS"] {
            assert_eq!(of(once).len(), 1, "{once} once in {event:?}");
        }
        assert!(ids.insert(of("UID")[0].to_string()), "an id twice: {:?}", of("UID"));
        let utc = |line: &str| {
            let value = line.rsplit(':').next().unwrap();
            assert!(value.len() == 16 && value.ends_with('Z') && value.as_bytes()[8] == b'T', "{line}");
        };
        utc(of("DTSTAMP")[0]);
        match of("DTEND").first() {
            Some(end) => {
                utc(of("DTSTART")[0]);
                utc(end);
            }
            None => assert!(of("DTSTART")[0].starts_with("DTSTART;VALUE=DATE:"), "{:?}", of("DTSTART")),
        }
        for text in ["SUMMARY", "LOCATION", "DESCRIPTION"] {
            for line in of(text) {
                let value = line.split_once(':').unwrap().1;
                let plain = value.replace("\\\\", "").replace("\\,", "").replace("\\;", "").replace("\\n", "");
                assert!(!plain.contains([',', ';', '\\']), "not escaped: {line}");
            }
        }
        events += 1;
    }
    events
}

/// What the independent library reads in these files; none where it is not installed.
fn told(files: &[String]) -> Option<Vec<Value>> {
    let python = std::env::var("GAMBREL_PYTHON").unwrap_or_else(|_| "python3".to_owned());
    let has_it = Command::new(&python).args(["-c", "import icalendar"]).stderr(Stdio::null()).status();
    if !has_it.is_ok_and(|s| s.success()) {
        left_out(&format!("{python} with icalendar is missing: calendars were NOT read by another library"));
        return None;
    }
    let folder = tempfile::tempdir().unwrap();
    let mut call = Command::new(python);
    call.arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/ics_peer.py"));
    for (n, file) in files.iter().enumerate() {
        let path = folder.path().join(format!("{n}.ics"));
        std::fs::write(&path, file).unwrap();
        call.arg(path);
    }
    let out = call.output().unwrap();
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    Some(serde_json::from_slice(&out.stdout).unwrap())
}

fn entry(summary: &str, location: &str) -> Entry {
    Entry {
        uid: "pickup-1.0@gambrel.invalid".into(),
        sequence: 3,
        stamp: Utc.with_ymd_and_hms(2027, 10, 14, 18, 0, 0).unwrap(),
        when: When::Day(day("2027-10-30")),
        summary: summary.into(),
        location: location.into(),
        description: String::new(),
        cancelled: false,
    }
}

#[test]
fn odd_words_come_through_whole() {
    let odd = [
        "Half hog; 2 boxes, “frozen” \\ and a backslash",
        "Two\nlines, and a third:\r\nhere",
        "Łukasz Żółć’s fore\u{AD}quarter, very long ".repeat(9).as_str(),
        "BEGIN:VEVENT\r\nSUMMARY:not another event\r\nEND:VEVENT",
        "\u{0}\u{7}bell",
    ]
    .map(|text| calendar("Farm; and, name", Method::Publish, "ada@nettlebend.example", &[entry(text, text)]));
    for file in &odd {
        assert_eq!(by_the_rules(file), 1, "{file}");
    }
    let Some(read) = told(&odd) else { return };
    let summary = |n: usize| read[n]["entries"][0]["summary"].as_str().unwrap().to_string();
    assert_eq!(summary(0), "Half hog; 2 boxes, “frozen” \\ and a backslash");
    assert_eq!(summary(1), "Two\nlines, and a third:\nhere");
    assert!(summary(2).starts_with("Łukasz Żółć’s") && summary(2).len() > 300, "{}", summary(2));
    assert_eq!(read[3]["entries"].as_array().unwrap().len(), 1, "words never become an event");
    assert_eq!(summary(4), "bell");
    assert_eq!(read[0]["entries"][0]["sequence"], "3");
    assert_eq!(read[0]["entries"][0]["dtstart"], "2027-10-30");
    assert_eq!(read[0]["entries"][0]["location"], "Half hog; 2 boxes, “frozen” \\ and a backslash");
}

proptest! {
    #[test]
    fn whatever_is_typed_keeps_the_rules(text in "\\PC{0,200}", day in 0_i64..20_000, seconds in 0_i64..80_000) {
        let from = Utc.timestamp_opt(day * 86_400 + seconds, 0).unwrap();
        let hours = Entry { when: When::Hours(from, from + chrono::TimeDelta::hours(2)), uid: "b@x.invalid".into(), ..entry(&text, &text) };
        let whole = Entry { when: When::Day(NaiveDate::default() + chrono::TimeDelta::days(day)), ..entry(&text, "") };
        let file = calendar("", Method::Cancel, "", &[hours, whole]);
        prop_assert_eq!(by_the_rules(&file), 2);
    }
}

#[test]
fn the_feed_is_right_across_the_change_of_the_clocks_and_names_nobody() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        ready_with_windows(book, &hog);
        let counter = place_of(book);
        // Clocks go back on November 7: nine in the morning is 14:00 UTC before and 15:00 after.
        for on in ["2027-11-06", "2027-11-08"] {
            book.act(|tx, doing| {
                let new = WindowIn {
                    place: counter,
                    on_day: day(on),
                    opens: "09:00".into(),
                    closes: "12:30".into(),
                    most: 5,
                };
                gambrel::actions::pickup_window::add_window(tx, doing, hog.date, &new)
            });
        }
        book.act(|tx, doing| begin(tx, doing, "first"));
        let at = book.clock.at();
        let read = |token: &'static str| book.read(move |c| feed(c, at, token));
        let file = read("first").unwrap();
        assert!(by_the_rules(&file) >= 5, "{file}");
        for start in ["DTSTART:20271106T140000Z", "DTSTART:20271108T150000Z", "DTSTART;VALUE=DATE:20271014"] {
            assert!(file.contains(start), "{start} is not in {file}");
        }
        assert!(file.contains("1 of 4 come") && !file.contains("Ines") && !file.contains("Halvard"), "{file}");
        // Another zone, other instants.
        book.act(|tx, _| {
            let mut f = gambrel::book::farm::get(tx.conn())?;
            f.time_zone = "America/Phoenix".into();
            let version = f.version;
            assert!(gambrel::book::farm::save(tx, &f, version)?);
            Ok(())
        });
        let there = read("first").unwrap();
        assert!(there.contains("DTSTART:20271106T160000Z") && there.contains("DTSTART:20271108T160000Z"), "{there}");
        if let Some(all) = told(&[file]) {
            let entries = all[0]["entries"].as_array().unwrap();
            let starts: Vec<&str> = entries.iter().filter_map(|e| e["dtstart"].as_str()).collect();
            assert!(starts.contains(&"2027-11-06T14:00:00+00:00") && starts.contains(&"2027-10-14"), "{starts:?}");
            assert_eq!(all[0]["method"], "PUBLISH");
        }
        assert_eq!(read("second"), None);
        book.act(|tx, doing| begin(tx, doing, "second"));
        assert_eq!(read("first"), None, "renewed");
        assert!(read("second").is_some());
        book.act(stop);
        assert_eq!(read("second"), None, "ended");
    });
}

fn place_of(book: &TestBook) -> gambrel::book::ids::PickupPlaceId {
    book.read(|c| Ok(gambrel::book::pickup_places::places(c)?))[0].id
}

/// The calendar files of an order's messages, oldest first.
fn files(book: &TestBook, order: ReservationId) -> Vec<(MessageId, MessageCalendar)> {
    let mut all = book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 50)?));
    all.reverse();
    all.into_iter().filter_map(|m| Some((m.id, book.read(move |c| Ok(calendars::of_message(c, m.id)?))?))).collect()
}

fn line(file: &MessageCalendar, name: &str) -> String {
    let found = lines(&file.body).into_iter().find(|l| l.split([':', ';']).next() == Some(name));
    found.map(|l| l.split_once(':').unwrap().1.to_string()).unwrap_or_default()
}

#[test]
fn an_order_has_one_event_through_every_change_and_it_is_taken_back() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let ines = hog.orders[0];
        let counter = place(book);
        let (a, b) =
            (window(book, hog.date, counter, "2027-10-23", 4), window(book, hog.date, counter, "2027-10-30", 4));
        say(book, hog.date, &[ines], None);
        book.act(|tx, doing| choose(tx, doing, ines, a, Chooser::Customer));
        book.act(|tx, doing| choose(tx, doing, ines, b, Chooser::Customer));
        let moved = WindowIn {
            place: counter,
            on_day: day("2027-10-31"),
            opens: "15:00".into(),
            closes: "18:00".into(),
            most: 4,
        };
        book.act(|tx, doing| change_window(tx, doing, b, 1, &moved));
        book.act(|tx, doing| call_off(tx, doing, b, 2));
        book.act(|tx, doing| choose(tx, doing, ines, a, Chooser::Farmer));
        let all = files(book, ines);
        let of = |name: &str| all.iter().map(|(_, f)| line(f, name)).collect::<Vec<_>>();
        assert_eq!(of("SEQUENCE"), ["0", "1", "2", "3", "4"]);
        assert_eq!(of("METHOD"), ["PUBLISH", "PUBLISH", "PUBLISH", "CANCEL", "PUBLISH"]);
        assert_eq!(of("STATUS"), ["CONFIRMED", "CONFIRMED", "CONFIRMED", "CANCELLED", "CONFIRMED"]);
        assert_eq!(
            of("DTSTART"),
            ["20271023T200000Z", "20271030T200000Z", "20271031T200000Z", "20271031T200000Z", "20271023T200000Z"]
        );
        assert_eq!(of("UID").into_iter().collect::<BTreeSet<_>>().len(), 1, "one event");
        assert_eq!(of("ORGANIZER")[0], "mailto:office@nettlebend.example");
        for (_, file) in &all {
            assert_eq!(by_the_rules(&file.body), 1);
        }
        if let Some(read) = told(&all.iter().map(|(_, f)| f.body.clone()).collect::<Vec<_>>()) {
            let starts: Vec<_> = read.iter().map(|r| r["entries"][0]["dtstart"].as_str().unwrap()).collect();
            assert_eq!(starts[0], "2027-10-23T20:00:00+00:00");
            assert_eq!(read[3]["method"], "CANCEL");
        }
        // It goes with the mail, and with a copy of it.
        let (id, _) = all[3];
        let eml = book.read(|c| {
            let m = outbox::get(c, id)?;
            Ok(outgoing(c, &m, None, None)?.eml().unwrap())
        });
        let eml = String::from_utf8(eml).unwrap();
        assert!(eml.contains("text/calendar; charset=utf-8; method=CANCEL") && eml.contains("pickup.ics"), "{eml}");
        book.act(|tx, doing| {
            let m = outbox::get(tx.conn(), id)?;
            gambrel::actions::handle_message::mark_handed_over(tx, doing, id, m.version)
        });
        book.act(|tx, doing| {
            let m = outbox::get(tx.conn(), id)?;
            gambrel::actions::handle_message::resend(tx, doing, id, m.version)
        });
        assert_eq!(files(book, ines).len(), 6, "the copy has it too");
    });
}

#[actix_web::test]
async fn the_feeds_address_is_shown_once_and_the_customer_adds_the_event() {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    ready_with_windows(&book, &hog);
    let app = TestApp::signed_in(&book).await;
    let shown = app.submit_to("/settings/calendar", "/settings/calendar", &[]).await.expect(200);
    let url = shown.text().split("id=\"feed-url\">").nth(1).unwrap().split('<').next().unwrap().to_string();
    let path = url.split_once("://").unwrap().1.split_once('/').unwrap().1;
    let stranger = app.other_browser();
    let feed = stranger.get(&format!("/{path}")).await.expect(200);
    assert!(feed.header("content-type").starts_with("text/calendar"));
    by_the_rules(feed.text());
    app.get("/settings/calendar").await.says_not(path).says("Renew it");
    stranger.get("/calendar/abcdefghijklmnopqrstuvwxyz012345.ics").await.expect(404);
    app.submit_to("/settings/calendar", "/settings/calendar/stop", &[]).await.expect(303);
    stranger.get(&format!("/{path}")).await.expect(404);

    let hers = app.other_browser();
    hers.hold(hog.orders[0]);
    hers.get("/my/pickup").await.says("/my/pickup.ics");
    let file = hers.get("/my/pickup.ics").await.expect(200);
    assert_eq!(by_the_rules(file.text()), 1);
    hers.hold(hog.orders[1]);
    hers.get("/my/pickup.ics").await.expect(404);
}
