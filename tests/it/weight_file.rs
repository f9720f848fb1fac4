//! A file of weights: read whatever its shape, matched once, looked over, and taken whole or not at all.

use crate::support::book::DAY;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::read_weight_file::{How, Opened, Preview, keep_file, look, match_columns, preview};
use gambrel::actions::record_weights::{Recorded, confirming};
use gambrel::actions::sheet_in::open;
use gambrel::actions::take_weight_file::{Take, take_file};
use gambrel::book::carcasses::weigh_ins;
use gambrel::book::ids::{AnimalId, DateId, WeightFileId};
use gambrel::book::stories;
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Hung;
use gambrel::trade::sheet_file::columns::Matched;
use gambrel::trade::sheet_file::{Fault, Table};
use gambrel::trade::vocabulary::CarcassBasis;
use gambrel::trade::weigh_file::{Fate, Said, guessed, read};
use gambrel::trade::weight::{Unit, Weight};
use std::collections::HashMap;

/// A file for the head with the tag 41 on this date, matched as its headings suggest, so that its pages can be asked for.
pub(crate) fn waiting(book: &TestBook, date: DateId) -> WeightFileId {
    send(book, date, "Tag,Left,Right\n41,82.5,80\n999,1,1\n")
}

fn send(book: &TestBook, date: DateId, text: &str) -> WeightFileId {
    let text = open(text.as_bytes()).unwrap();
    let file = book.act(|tx, doing| keep_file(tx, doing, date, "scale.csv", &text));
    let columns = book.read(|c| look(c, date, file)).columns;
    book.act(|tx, doing| match_columns(tx, doing, date, file, &columns));
    file
}

const HOW: &str = "2027-10-14";

fn how() -> How {
    How { basis: CarcassBasis::Hot, weighed_on: HOW.parse().unwrap() }
}

fn seen(book: &TestBook, date: DateId, file: WeightFileId) -> (Opened, Preview) {
    book.read(|c| {
        let opened = look(c, date, file)?;
        let seen = preview(c, &opened, how())?;
        Ok((opened, seen))
    })
}

/// The button, with every doubt ticked.
fn ticked(seen: &Preview) -> Take {
    let ticks = seen.rows.iter().filter_map(|r| Some((r.animal.id, confirming(r.hung()?))));
    Take { how: how(), fingerprint: seen.fingerprint.clone(), leave_out: true, again: true, confirmed: ticks.collect() }
}

fn take(book: &TestBook, date: DateId, file: WeightFileId, take: &Take) -> Result<Recorded, Failure> {
    book.try_act(|tx, doing| take_file(tx, doing, date, file, take))
}

fn refused(result: Result<Recorded, Failure>) -> Vec<(String, String)> {
    match result {
        Err(Failure::Refused(problems)) => problems.0.into_iter().map(|p| (p.field, p.sentence)).collect(),
        other => panic!("{other:?}"),
    }
}

fn hung(book: &TestBook, animal: AnimalId) -> Option<String> {
    book.read(|c| Ok(weigh_ins(c, &[animal])?.get(&animal).map(|w| w.recorded().unwrap().plain())))
}

/// A steer 229 and a barrow 41 on a date that is today.
fn barn(book: &TestBook) -> (DateId, AnimalId, AnimalId) {
    let date = book.date(book.plant(), "2027-10-14");
    (date, book.head(Class::Steer, "229", date), book.head(Class::Barrow, "41", date))
}

fn shown(said: &Said) -> String {
    let weights = |hung: Hung| match hung {
        Hung::Total(total) => vec![total],
        Hung::Sides { left, right } => vec![left, right],
        Hung::Quarters { left_fore, left_hind, right_fore, right_hind } => {
            vec![left_fore, left_hind, right_fore, right_hind]
        }
    };
    let plain = |hung: Hung| weights(hung).into_iter().map(Weight::plain).collect::<Vec<_>>().join(" + ");
    let fate = match &said.fate {
        Fate::Hung { hung, condemned_parts: None } => plain(*hung),
        Fate::Hung { hung, condemned_parts: Some(parts) } => format!("{}; condemned: {parts}", plain(*hung)),
        Fate::Condemned(why) => format!("condemned whole: {why}"),
        Fate::NotYet => "not yet".into(),
    };
    let basis = said.basis.map_or("-", CarcassBasis::as_str);
    format!("{} | {} | {} | {basis} | {fate}", said.line, said.tag, said.number)
}

/// Every file of `tests/files/weights` gives what stands beside it.
#[test]
fn ugly_files_give_what_stands_beside_them() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/files/weights");
    let (mut looked_at, mut wrong) = (0, Vec::new());
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "csv") {
            continue;
        }
        looked_at += 1;
        let expected = std::fs::read_to_string(path.with_extension("gives")).unwrap();
        let (unit, expected) = expected.split_once('\n').unwrap();
        let unit: Unit = unit.parse().unwrap();
        let given: Vec<String> = match Table::from_bytes(&std::fs::read(&path).unwrap()) {
            Err(fault) => vec![fault.sentence()],
            Ok(table) => {
                let all = read(&table, &guessed(&table.headings), unit);
                all.said.iter().map(shown).chain(all.faults.iter().map(Fault::sentence)).collect()
            }
        };
        if given != expected.lines().collect::<Vec<_>>() {
            wrong.push(format!("{}: {given:#?}", path.display()));
        }
    }
    assert!(looked_at >= 16, "only {looked_at} files");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_file_is_taken_whole_and_is_known_when_it_comes_again() {
    on_each_engine(|book| {
        let (date, steer, hog) = barn(book);
        let text = "Tag,Carcass no.,Left,Right,Hot/cold\n#0229,4501,389.5,386,cold\nBarrow 41,4502,82.5,80,\n";
        let file = send(book, date, text);
        let (opened, all) = seen(book, date, file);
        assert!(opened.is_matched && opened.taken.is_none());
        assert!(all.faults.is_empty() && all.strangers.is_empty() && all.missing.is_empty(), "{all:?}");
        assert_eq!(
            all.rows.iter().map(|r| (r.line, r.animal.id, r.basis)).collect::<Vec<_>>(),
            [(2, steer, CarcassBasis::Cold), (3, hog, CarcassBasis::Hot)]
        );
        assert_eq!(hung(book, steer), None, "looking saves nothing");
        let done = take(book, date, file, &Take { again: false, leave_out: false, ..ticked(&all) }).unwrap();
        assert_eq!(done, Recorded { weighed: 2, ..Recorded::default() });
        assert_eq!([hung(book, steer), hung(book, hog)], [Some("775.50".into()), Some("162.50".into())]);
        let stored = book.read(|c| Ok(weigh_ins(c, &[steer, hog])?));
        assert_eq!((stored[&steer].basis, stored[&hog].basis), (CarcassBasis::Cold, CarcassBasis::Hot));
        assert_eq!((stored[&steer].carcass_number.as_str(), stored[&hog].skin_on), ("4501", true));
        let told = book.read(|c| Ok(stories::of_date(c, date)?));
        assert!(told.iter().any(|s| s.line.contains("taken from the file “scale.csv”: 2 head")), "{told:?}");
        assert!(matches!(take(book, date, file, &ticked(&all)), Err(Failure::NotFound)), "the file is gone");

        // The same again: it says so, nothing differs, and a weight that was corrected since is not put back in silence.
        let again = send(book, date, text);
        let (opened, all) = seen(book, date, again);
        assert_eq!((opened.taken.as_ref().map(|t| t.head), all.changes()), (Some(2), 0));
        book.weigh(date, hog, "83", "80");
        let (_, all) = seen(book, date, again);
        assert_eq!(all.changes(), 1);
        let says = refused(take(book, date, again, &Take { again: false, ..ticked(&all) }));
        assert_eq!(says.iter().map(|s| s.0.as_str()).collect::<Vec<_>>(), ["again"]);
        assert_eq!(hung(book, hog).as_deref(), Some("163.00"));
        take(book, date, again, &ticked(&all)).unwrap();
        assert_eq!(hung(book, hog).as_deref(), Some("162.50"));
    });
}

#[test]
fn one_bad_line_keeps_all_of_it_out() {
    on_each_engine(|book| {
        let (date, steer, hog) = barn(book);
        for (text, field, words) in [
            ("Tag,Left,Right\n229,389.5,386\n41,82x,80\n", "lines", "Line 3, column 2 (Left): “82x” is not a figure"),
            ("Tag,Left,Right\n229,389.5,386\n229,1,2\n", "lines", "Line 3: Steer 229 stands in line 2 already"),
            ("Tag,Left,Right\n229,389.5,386\n999,1,2\n", "leave_out", "1 line of the file is about no head"),
            ("Tag,Left,Right\n41,82.5,80\n229,389.5,300\n", "ok", "The sides differ by more than 8 %"),
        ] {
            let file = send(book, date, text);
            let (_, all) = seen(book, date, file);
            let bare = Take { leave_out: false, confirmed: HashMap::new(), ..ticked(&all) };
            let says = refused(take(book, date, file, &bare));
            assert!(says.iter().any(|s| s.0.ends_with(field) && s.1.contains(words)), "{text}: {says:?}");
            assert_eq!([hung(book, steer), hung(book, hog)], [None, None], "{text}");
        }
        // Left out by a tick, and the doubt ticked, the rest is taken.
        let file = send(book, date, "Tag,Left,Right\n229,389.5,300\nTotal,1,2\n41,,\n");
        let (_, all) = seen(book, date, file);
        assert_eq!((all.strangers.len(), all.not_yet.len()), (1, 1));
        assert_eq!(take(book, date, file, &ticked(&all)).unwrap().weighed, 1);
        assert_eq!([hung(book, steer), hung(book, hog)], [Some("689.50".into()), None]);
    });
}

#[test]
fn what_changed_since_the_page_was_shown_is_not_overwritten() {
    on_each_engine(|book| {
        let (date, steer, _) = barn(book);
        let file = send(book, date, "Tag,Left,Right\n229,389.5,386\n");
        let (_, all) = seen(book, date, file);
        assert_eq!(all.missing, ["Barrow 41"]);
        book.weigh(date, steer, "390", "386");
        assert!(matches!(take(book, date, file, &ticked(&all)), Err(Failure::Stale)));
        assert_eq!(hung(book, steer).as_deref(), Some("776.00"));
        // Another basis than the page showed is another page.
        let (_, all) = seen(book, date, file);
        let other = How { basis: CarcassBasis::Cold, ..how() };
        assert!(matches!(take(book, date, file, &Take { how: other, ..ticked(&all) }), Err(Failure::Stale)));
        // Of another date it is not found, and after a day nowhere.
        let elsewhere = book.date(book.read(|c| Ok(gambrel::book::dates::get(c, date)?.1.id)), "2027-10-15");
        assert!(matches!(take(book, elsewhere, file, &ticked(&all)), Err(Failure::NotFound)));
        book.clock.advance(2 * DAY);
        send(book, date, "Tag,Left,Right\n229,1,2\n");
        assert!(matches!(take(book, date, file, &ticked(&all)), Err(Failure::NotFound)));
    });
}

#[test]
fn columns_are_remembered_for_the_processor_by_their_headings() {
    on_each_engine(|book| {
        let (date, ..) = barn(book);
        let keep = |text: &str| book.act(|tx, doing| keep_file(tx, doing, date, "", text));
        let file = keep("Beast,One,Two\n229,389.5,386\n");
        let opened = book.read(|c| look(c, date, file));
        assert!(!opened.is_matched && opened.columns.is_empty(), "{opened:?}");
        let columns: Matched = [("tag", 0), ("left", 1), ("right", 2)].map(|(k, n)| (k.to_string(), n)).into();
        book.act(|tx, doing| match_columns(tx, doing, date, file, &columns));
        let again = keep("BEAST, one ,Two\n230,1,2\n");
        let again = book.read(|c| look(c, date, again));
        assert!(again.is_matched && again.columns == columns);
        let other = keep("Beast,Two,One\n230,1,2\n");
        assert!(!book.read(|c| look(c, date, other)).is_matched);
        let bad: Matched = [("left".to_string(), 1)].into();
        let Err(Failure::Refused(says)) = book.try_act(|tx, doing| match_columns(tx, doing, date, file, &bad)) else {
            panic!("a match without tags was taken");
        };
        assert_eq!(says.0.iter().map(|p| p.field.as_str()).collect::<Vec<_>>(), ["tag", "right"]);
    });
}

/// A whole season's lines of other farms: bounded in what is said, and the farm's own head are found.
#[test]
fn fifty_thousand_lines_are_read() {
    on_each_engine(|book| {
        let (date, steer, _) = barn(book);
        let mut text = String::from("Tag,Left,Right\n");
        for n in 1_000..50_999 {
            text.push_str(&format!("{n},389.5,386\n"));
        }
        text.push_str("229,389.5,386\n");
        let file = send(book, date, &text);
        let (_, all) = seen(book, date, file);
        assert_eq!((all.rows.len(), all.strangers.len(), all.faults.len()), (1, 49_999, 0));
        take(book, date, file, &ticked(&all)).unwrap();
        assert_eq!(hung(book, steer).as_deref(), Some("775.50"));
        let faulty = text.replace("389.5,", "38x,");
        let file = send(book, date, &faulty);
        let (_, all) = seen(book, date, file);
        assert_eq!(all.faults.len(), 50_000);
        assert_eq!(refused(take(book, date, file, &ticked(&all))).len(), 21, "twenty, and how many more");
    });
}

#[actix_web::test]
async fn the_pages_lead_from_the_weigh_in_to_weights_in_the_book() {
    for book in TestBook::each() {
        let (date, steer, hog) = barn(&book);
        let app = TestApp::signed_in(&book).await;
        let url = format!("/dates/{date}/weigh-in/file");
        let key = |forms: Vec<crate::support::page::Form>| {
            forms.iter().find(|f| f.post && f.action != "/sign-out").unwrap().value("form_key").to_string()
        };
        app.get(&format!("/dates/{date}/weigh-in")).await.expect(200).says(&url);
        let first = key(app.get(&url).await.expect(200).forms());
        let upload =
            async |key: &str, text: &str| app.upload(&url, &[("form_key", key)], "file", text.as_bytes()).await;
        upload(&first, "").await.expect(422).says("The file is empty");
        upload(&first, "PK\u{3}\u{4}").await.expect(422).says("This is a spreadsheet");
        let page = upload(&first, "Ear;One;Two;Weight\n229;389,5;386;\n41;82,5;76;\n").await.expect(303);
        let columns = page.location().to_string();
        let twice = upload(&first, "Ear;One;Two;Weight\n1;2;3;\n").await.expect(303);
        assert_eq!(twice.location(), columns, "sent twice, kept once");
        app.get(&columns).await.expect(200).says("Which column is which?").says("389,5");
        app.get(&url).await.expect(200).says("“a.jpg”, sent Thu, Oct 14, ").says(&format!("{columns}/look"));
        assert_eq!(app.get(&format!("{columns}/look")).await.expect(303).location(), columns, "matched first");

        // A wrong match keeps what was chosen; a right one leads to the lines.
        app.submit(&columns, &[("left", "2"), ("right", "")]).await.expect(422).says("Choose the column with the tags");
        let chosen = [("tag", "1"), ("left", "2"), ("right", "3"), ("total", ""), ("weighed_on", "2027-10-14")];
        let page = app.submit(&columns, &chosen).await.expect(303);
        let look = page.location().to_string();
        assert!(look.ends_with("/look?basis=hot&on=2027-10-14"), "{look}");
        let page = app.get(&look).await.expect(200);
        page.says("Steer 229")
            .says("Not in the book yet")
            .says("The sides differ by more than 8 %")
            .says("two head would be saved, all together or none")
            .says_not("To correct in the file");
        assert_eq!([hung(&book, steer), hung(&book, hog)], [None, None]);
        app.submit(&look, &[]).await.expect(422).says("tick that it is right");
        assert_eq!([hung(&book, steer), hung(&book, hog)], [None, None], "all or none");
        let tick = format!("w{hog}-ok");
        let done = app.submit(&look, &[(tick.as_str(), "82.50 + 76.00")]).await.expect(303);
        assert_eq!(done.location(), format!("/dates/{date}"));
        app.follow(&done).await.expect(200).says("Weights of two head saved.");
        assert_eq!([hung(&book, steer), hung(&book, hog)], [Some("775.50".into()), Some("158.50".into())]);
        app.get(&look).await.expect(404);

        // The next file of such headings goes straight to its lines, and the same one says when it was taken.
        let again = key(app.get(&url).await.expect(200).forms());
        let page = upload(&again, "Ear;One;Two;Weight\n229;389,5;386;\n41;82,5;76;\n").await.expect(303);
        assert!(page.location().ends_with("/look"), "{}", page.location());
        app.follow(&page)
            .await
            .expect(200)
            .says("The same file was taken for this date on October 14, 2027")
            .says("Nothing in it differs from the book");
        let third = key(app.get(&url).await.expect(200).forms());
        let page = upload(&third, "Ear;One;Two;Weight\n229;389,5;x;\n").await.expect(303);
        app.follow(&page)
            .await
            .expect(200)
            .says("Line 2, column 3 (Two): “x” is not a figure")
            .says_not("Take the weights");
    }
}

/// Strangers send no file: the body is not read.
#[actix_web::test]
async fn only_the_farm_sends_a_file() {
    let book = TestBook::sqlite();
    let (date, ..) = barn(&book);
    let app = TestApp::new(&book).await;
    let sent = app.upload(&format!("/dates/{date}/weigh-in/file"), &[], "file", b"Tag,Total\n229,775\n").await;
    assert!(sent.expect(303).location().starts_with("/sign-in"));
}
