//! Lists from spreadsheets: read whatever their shape, tried out, taken whole or not at all, through the acts that pages use.

use crate::support::{TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::import_list::{Fate, Preview, Take, Taken, keep_list, look, match_columns, rehearse, take_list};
use gambrel::actions::sheet_in::open;
use gambrel::book::content;
use gambrel::book::ids::ImportFileId;
use gambrel::trade::import_file::Kind;

mod files;
mod pages;
mod round_trip;
mod rules;

/// Keeps a list and matches its columns as its headings suggest.
pub(crate) fn send(book: &TestBook, kind: Kind, text: &str) -> ImportFileId {
    let text = open(text.as_bytes()).unwrap();
    let file = book.act(|tx, doing| keep_list(tx, doing, kind, "list.csv", &text));
    let columns = book.read(|c| look(c, kind, file)).columns;
    book.act(|tx, doing| match_columns(tx, doing, kind, file, &columns));
    file
}

fn tried(book: &TestBook, kind: Kind, file: ImportFileId) -> Preview {
    rehearse(&book.store, &book.doing(), kind, file).unwrap().1
}

fn take(book: &TestBook, kind: Kind, file: ImportFileId, seen: &Preview) -> Result<Taken, Failure> {
    let take = Take { fingerprint: seen.fingerprint.clone(), again: true };
    book.try_act(|tx, doing| take_list(tx, doing, kind, file, &take))
}

/// Takes a list that has to be good; what became of its lines.
#[track_caller]
fn taken(book: &TestBook, kind: Kind, text: &str) -> Vec<String> {
    let file = send(book, kind, text);
    let seen = tried(book, kind, file);
    assert!(seen.faults.is_empty(), "{:?}", sentences(&seen));
    if seen.count(Fate::New) > 0 {
        take(book, kind, file, &seen).unwrap();
    }
    shown(&seen)
}

fn shown(seen: &Preview) -> Vec<String> {
    seen.rows.iter().map(|r| format!("{} {}: {} ({})", r.line, r.fate, r.what, r.detail)).collect()
}

fn sentences(seen: &Preview) -> Vec<String> {
    seen.faults.iter().map(|f| f.sentence()).collect()
}

/// What is in the book, without the lists that wait and what is remembered of their columns.
fn inside(book: &TestBook) -> Vec<content::Sum> {
    let mut all = book.read(|c| Ok(content::sums(c)?));
    all.retain(|s| !["import_file", "import_columns", "story"].contains(&s.table.as_str()));
    all
}

#[track_caller]
fn is_well(book: &TestBook) {
    let (said, well) = in_words(&book.read(check_book));
    assert!(well, "{said}");
}

#[test]
fn trying_a_list_out_changes_nothing_and_taking_it_does_what_was_shown() {
    on_each_engine(|book| {
        let hogs = book.hogs();
        let text = "Name,Mail,Share,Species,Date,Deposit,Method\nInes Halvard,ines@halvard.example,half,hog,3/4/2027,150,check 1204\n";
        let file = send(book, Kind::Reservations, text);
        let before = book.read(|c| Ok(content::sums(c)?));
        let seen = tried(book, Kind::Reservations, file);
        assert_eq!(book.read(|c| Ok(content::sums(c)?)), before, "a try leaves nothing behind");
        assert_eq!(
            shown(&seen),
            [
                "2 new: Half hog, Fall 2027, for Ines Halvard (Taken March 4, 2027; a new customer; deposit of $150.00, check, on March 4, 2027)"
            ]
        );
        let done = take(book, Kind::Reservations, file, &seen).unwrap();
        assert_eq!(done, Taken { made: 1, there: 0, left_out: 0 });
        is_well(book);
        assert!(matches!(take(book, Kind::Reservations, file, &seen), Err(Failure::NotFound)), "the list is gone");
        let held = book.read(|c| Ok(gambrel::book::reservations::held(c, hogs)?));
        assert_eq!(held.len(), 1);
    });
}

#[test]
fn one_bad_line_keeps_all_of_it_out() {
    on_each_engine(|book| {
        book.hogs();
        let begin = "Name,Species,Share,Date,Deposit\nAda,hog,half,3/4/2027,150\n";
        for (line, says) in [
            (
                "Bo,hog,half,2/30/2027,\n",
                "Line 3, column 4 (Date): “2/30/2027” is not in the calendar. Write month, day and year, such as 10/14/2027.",
            ),
            (
                "Bo,beef,half,3/4/2027,\n",
                "Line 3: Nothing for sale is called “beef”. Put it up for sale first, or write species and season as they stand under For sale.",
            ),
            (
                "Bo,hog,half,3/4/2028,\n",
                "Line 3: March 4, 2028 is still to come. Write the day the reservation was taken.",
            ),
            (
                "Bo,hog,half,3/4/2026,\n",
                "Line 3: The price list has no price of a half on March 4, 2026. Set one from that day or before on the offering’s page first.",
            ),
            (
                "Bo,hog,half,3/4/2027,x\n",
                "Line 3, column 5 (Deposit): “x” is not a figure. Write it like 389.5, or leave the cell blank.",
            ),
        ] {
            let file = send(book, Kind::Reservations, &format!("{begin}{line}"));
            let before = inside(book);
            let seen = tried(book, Kind::Reservations, file);
            assert_eq!(sentences(&seen), [says]);
            match take(book, Kind::Reservations, file, &seen) {
                Err(Failure::Refused(p)) => assert_eq!(p.0[0].sentence, says),
                other => panic!("{other:?}"),
            }
            assert_eq!(inside(book), before, "{line}");
        }
    });
}

#[test]
fn a_list_sent_twice_is_known_and_its_lines_are_there() {
    on_each_engine(|book| {
        let text = "Name,Mail\nInes Halvard,ines@halvard.example\nOle Bran,\n";
        assert_eq!(
            taken(book, Kind::Customers, text),
            ["2 new: Ines Halvard (ines@halvard.example)", "3 new: Ole Bran ()"]
        );
        let file = send(book, Kind::Customers, text);
        let (opened, seen) = rehearse(&book.store, &book.doing(), Kind::Customers, file).unwrap();
        assert_eq!(opened.taken.map(|t| (t.made, t.taken_by)), Some((2, "Ada".to_string())));
        assert_eq!(seen.count(Fate::There), 2);
        let before = inside(book);
        for again in [false, true] {
            let take = Take { fingerprint: seen.fingerprint.clone(), again };
            let done = book.try_act(|tx, doing| take_list(tx, doing, Kind::Customers, file, &take));
            let Err(Failure::Refused(says)) = done else { panic!("{done:?}") };
            let wanted = if again { "Nothing in this file is new" } else { "This file was taken before." };
            assert!(says.0[0].sentence.starts_with(wanted), "{says:?}");
        }
        assert_eq!(inside(book), before);
    });
}

#[test]
fn what_changed_since_the_page_was_shown_is_looked_at_again() {
    on_each_engine(|book| {
        let file = send(book, Kind::Customers, "Name,Mail\nInes Halvard,ines@halvard.example\n");
        let seen = tried(book, Kind::Customers, file);
        book.act(|tx, doing| {
            let input = gambrel::actions::add_customer::CustomerIn {
                name: "Ines Halvard".into(),
                mail: "ines@halvard.example".into(),
                ..Default::default()
            };
            gambrel::actions::add_customer::add_customer(tx, doing, &input)
        });
        let before = inside(book);
        assert!(matches!(take(book, Kind::Customers, file, &seen), Err(Failure::Stale)));
        assert_eq!(inside(book), before);
    });
}

#[test]
fn fifty_thousand_lines_are_refused_with_a_sentence() {
    let book = TestBook::sqlite();
    let text = format!("Name\n{}", "Ada\n".repeat(50_000));
    let text = open(text.as_bytes()).unwrap();
    let kept = book.try_act(|tx, doing| keep_list(tx, doing, Kind::Customers, "", &text));
    let Err(Failure::Refused(says)) = kept else { panic!("{kept:?}") };
    assert_eq!(says.0[0].sentence, "The file has 50000 lines, and at most 10000 are taken at once. Send it in parts.");
}
