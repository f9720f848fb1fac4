//! Copies of the book: made while it is written, verified, let go, restored; and what happens when one is broken.

use crate::support::book::{DAY, HOUR, TODAY};
use crate::support::{TestApp, TestBook};
use diesel::Connection;
use gambrel::book::at::At;
use gambrel::book::conn::Place;
use gambrel::book::store::Store;
use gambrel::book::{content, snapshot};
use gambrel::config::Config;
use gambrel::keep::record::Why;
use gambrel::keep::verify::verify;
use gambrel::keep::{copy, daily, folder, hold, restore};
use gambrel::trade::share::Species;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// The settings of a test's book, with its folder of copies beside it.
fn settings(book: &TestBook) -> Config {
    let Place::File(path) = &book.fresh.place else { panic!("an embedded book") };
    let data = path.parent().unwrap().to_string_lossy().into_owned();
    Config::from_parts(&BTreeMap::from([("GAMBREL_DATA".to_string(), data)]), None).unwrap()
}

fn copies(config: &Config) -> PathBuf {
    folder::of(&config.data)
}

fn names(book: &Store) -> Vec<String> {
    use diesel::prelude::*;
    use gambrel::book::schema::customer;
    let mut all: Vec<String> =
        book.read(|c| Ok::<_, gambrel::actions::Failure>(customer::table.select(customer::name).load(c)?)).unwrap();
    all.sort();
    all
}

fn files(at: &Path, ending: &str) -> Vec<String> {
    let mut all: Vec<String> = fs::read_dir(at)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|n| n.ends_with(ending))
        .collect();
    all.sort();
    all
}

#[test]
fn a_copy_holds_what_the_book_held_and_says_so() {
    let book = TestBook::sqlite();
    book.hung_hog();
    book.customer("Þóra Núñez");
    let config = settings(&book);
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    assert!(record.rules >= 11, "every rule of the check was looked at: {}", record.rules);
    let held = record.tables.iter().find(|t| t.table == "customer").unwrap();
    assert_eq!(usize::try_from(held.rows).unwrap(), names(&book.store).len());
    let copied = Store::open(Place::File({
        let elsewhere = config.data.join("opened.sqlite");
        fs::copy(copies(&config).join(&record.file), &elsewhere).unwrap();
        elsewhere
    }))
    .unwrap();
    assert_eq!(names(&copied), names(&book.store));
    assert_eq!(folder::records(&copies(&config)), [record]);
    assert_eq!(files(&copies(&config), ".part"), [""; 0]);
}

#[test]
fn a_copy_that_is_not_what_the_book_was_is_found_out() {
    use diesel::connection::SimpleConnection;
    let book = TestBook::sqlite();
    book.hung_hog();
    let config = settings(&book);
    let copy = config.data.join("copy.sqlite");
    let taken = snapshot::copy_into(&config.data.join("book.sqlite"), &copy).unwrap();
    assert_eq!(verify(&copy, &taken).unwrap().fault, None);
    // One letter of one name, with the number of rows and the engine's own checks as they were.
    let mut c = diesel::SqliteConnection::establish(&copy.to_string_lossy()).unwrap();
    c.batch_execute("UPDATE customer SET name = replace(name, 'a', 'e') WHERE id = 1").unwrap();
    drop(c);
    let found = verify(&copy, &taken).unwrap_err();
    assert!(found.contains("customer holds other things than the book"), "{found}");
}

#[test]
fn a_book_that_is_written_all_the_while_gives_copies_that_agree_with_themselves() {
    let book = TestBook::sqlite();
    let config = settings(&book);
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            (0..60).for_each(|n| {
                book.customer(&format!("Customer {n}"));
            })
        });
        for n in 0..6 {
            copy::back_up(&config, At(TODAY.0 + n * 1000), Why::Asked).unwrap();
        }
        writer.join().unwrap();
    });
    let rows: Vec<u64> = folder::records(&copies(&config))
        .iter()
        .map(|r| r.tables.iter().find(|t| t.table == "customer").unwrap().rows)
        .collect();
    assert_eq!(rows.len(), 6);
    assert!(rows.windows(2).all(|w| w[0] >= w[1]), "newest first, so never fewer before: {rows:?}");
    assert_eq!(names(&book.store).len(), 60);
}

#[test]
fn a_day_has_one_copy_and_a_month_one_rehearsed_restore() {
    let book = TestBook::sqlite();
    let config = settings(&book);
    let at = |ms: i64| At(TODAY.0 + ms);
    assert!(daily::status(&config).is_late(at(0)), "there is none yet");
    assert!(daily::keep_up(&config, at(0)).unwrap().unwrap().contains("rehearsed"));
    assert_eq!(daily::keep_up(&config, at(23 * HOUR)).unwrap(), None);
    assert!(daily::keep_up(&config, at(25 * HOUR)).unwrap().unwrap().contains("was made"));
    assert_eq!(folder::records(&copies(&config)).len(), 2);
    let status = daily::status(&config);
    assert!(!status.is_late(at(25 * HOUR + 48 * HOUR)));
    assert!(status.is_late(at(25 * HOUR + 48 * HOUR + 1)));
    assert_eq!(status.rehearsed_at, Some(TODAY.0));
    daily::keep_up(&config, at(31 * DAY)).unwrap();
    assert_eq!(daily::status(&config).rehearsed_at, Some(TODAY.0 + 31 * DAY));
    // A clock that went back does not wait until it has caught up with the last copy.
    assert!(daily::keep_up(&config, at(2 * DAY)).unwrap().unwrap().contains("was made"));
}

#[test]
fn a_book_that_breaks_a_rule_is_copied_all_the_same_and_the_farmer_is_told() {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    book.issue(hog.orders[0]);
    let config = settings(&book);
    daily::keep_up(&config, TODAY).unwrap();
    book.act(|tx, _| {
        use diesel::prelude::*;
        use gambrel::book::schema::invoice_line;
        diesel::delete(invoice_line::table.filter(invoice_line::position.eq(1))).execute(tx.conn())?;
        Ok(())
    });
    let at = At(TODAY.0 + DAY);
    let doubtful = copy::back_up(&config, at, Why::Daily).unwrap();
    let fault = doubtful.fault.unwrap();
    assert!(fault.contains("I-2027-001"), "{fault}");
    let status = daily::status(&config);
    assert!(status.failure.unwrap().why.contains(&fault));
    assert_eq!(status.newest.unwrap().made_at, TODAY.0, "the good one counts as the last");
    assert_eq!(daily::keep_up(&config, At(at.0 + HOUR)).unwrap(), None, "it is not made again every ten minutes");
}

#[test]
fn a_restore_puts_the_copy_back_and_keeps_what_it_replaces() {
    let book = TestBook::sqlite();
    book.customer("Before");
    let config = settings(&book);
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    book.customer("After");
    drop(book.store.clone());
    let TestBook { store, fresh, .. } = book;
    drop(store);
    let said = restore::restore(&config, &copies(&config).join(&record.file), At(TODAY.0 + HOUR)).unwrap();
    assert!(said.iter().any(|l| l.contains("all") && l.contains("rules hold")), "{said:?}");
    assert_eq!(names(&Store::open(fresh.place.clone()).unwrap()), ["Before"]);
    let kept = folder::records(&copies(&config)).remove(0);
    assert_eq!(kept.why, Why::BeforeRestore);
    // And back again.
    restore::restore(&config, &copies(&config).join(&kept.file), At(TODAY.0 + 2 * HOUR)).unwrap();
    assert_eq!(names(&Store::open(fresh.place.clone()).unwrap()), ["After", "Before"]);
}

#[test]
fn what_stands_in_the_journal_only_is_not_lost_by_a_restore() {
    let book = TestBook::sqlite();
    let config = settings(&book);
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    book.customer("In the journal");
    // As after a power cut: the files are taken as they lie, the journal beside the book.
    let cut = tempfile::tempdir().unwrap();
    for file in ["book.sqlite", "book.sqlite-wal"] {
        fs::copy(config.data.join(file), cut.path().join(file)).unwrap();
    }
    let env = BTreeMap::from([("GAMBREL_DATA".to_string(), cut.path().to_string_lossy().into_owned())]);
    let after = Config::from_parts(&env, None).unwrap();
    restore::restore(&after, &copies(&config).join(&record.file), At(TODAY.0 + HOUR)).unwrap();
    assert_eq!(names(&Store::open(after.place.clone()).unwrap()), [""; 0]);
    let kept = folder::records(&copies(&after)).remove(0);
    restore::restore(&after, &copies(&after).join(&kept.file), At(TODAY.0 + 2 * HOUR)).unwrap();
    assert_eq!(names(&Store::open(after.place.clone()).unwrap()), ["In the journal"]);
}

#[test]
fn a_restore_refuses_while_the_book_is_served_and_leaves_all_as_it_was() {
    let book = TestBook::sqlite();
    book.customer("Here");
    let config = settings(&book);
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    book.customer("Later");
    let serving = hold::serving(&config.data).unwrap();
    let _beside = hold::serving(&config.data).unwrap();
    let refused = restore::restore(&config, &copies(&config).join(&record.file), TODAY).unwrap_err();
    assert!(refused.contains("served"), "{refused}");
    assert_eq!(names(&book.store), ["Here", "Later"]);
    drop(serving);
}

#[test]
fn a_spoiled_copy_is_refused_and_the_book_stays() {
    let book = TestBook::sqlite();
    book.customer("Here");
    let config = settings(&book);
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    let path = copies(&config).join(&record.file);
    let mut bytes = fs::read(&path).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x55;
    fs::write(&path, &bytes).unwrap();
    let refused = restore::restore(&config, &path, TODAY).unwrap_err();
    assert!(refused.contains("SHA-256"), "{refused}");
    // Without its record the engine and the rules find it, or it is no book at all.
    let stranger = config.data.join("stranger.sqlite");
    fs::write(&stranger, &bytes[..middle]).unwrap();
    restore::restore(&config, &stranger, TODAY).unwrap_err();
    fs::write(&stranger, "not a book").unwrap();
    restore::restore(&config, &stranger, TODAY).unwrap_err();
    assert_eq!(names(&book.store), ["Here"]);
    assert_eq!(files(&config.data, ".restoring"), [""; 0]);
}

#[test]
fn a_second_folder_gets_the_copy_and_a_missing_one_is_told() {
    let book = TestBook::sqlite();
    let stick = tempfile::tempdir().unwrap();
    let mut config = settings(&book);
    config.backup_to = Some(stick.path().to_path_buf());
    let record = copy::back_up(&config, TODAY, Why::Daily).unwrap();
    assert_eq!(files(stick.path(), ".sqlite"), std::slice::from_ref(&record.file));
    assert_eq!(folder::fingerprint(&stick.path().join(&record.file)).unwrap().0, record.sha256);
    assert_eq!(folder::last_failure(&copies(&config)), None);
    config.backup_to = Some(stick.path().join("not plugged in"));
    let second = copy::back_up(&config, At(TODAY.0 + DAY), Why::Daily).unwrap();
    assert_eq!(second.also_in, None);
    assert!(folder::last_failure(&copies(&config)).unwrap().why.contains("second folder"));
    assert!(!stick.path().join("not plugged in").exists(), "no folder is made where the stick should be");
}

#[test]
fn old_copies_go_by_the_rule_with_their_records() {
    let book = TestBook::sqlite();
    let config = settings(&book);
    for n in 0..12 {
        copy::back_up(&config, At(TODAY.0 + n * DAY), Why::Daily).unwrap();
    }
    let left = folder::records(&copies(&config));
    assert!((8..12).contains(&left.len()), "{}", left.len());
    assert_eq!(files(&copies(&config), ".sqlite").len(), left.len());
    assert_eq!(files(&copies(&config), "Z.json").len(), left.len());
}

#[test]
fn an_upgrade_is_rehearsed_on_a_copy_before_the_book_is_touched() {
    let book = TestBook::sqlite();
    book.offering(Species::Hog, 3, "5.25");
    let config = settings(&book);
    assert_eq!(daily::before_upgrade(&config, TODAY).unwrap(), None, "nothing is to be changed");
    // The book of an earlier program: its last step is taken back.
    book.act(|tx, _| gambrel::book::migrate::revert_last(tx.conn()).map_err(gambrel::actions::Failure::Unexpected));
    let record = daily::before_upgrade(&config, TODAY).unwrap().unwrap();
    assert_eq!(record.why, Why::BeforeUpgrade);
    assert_eq!(record.rehearsed_at, Some(TODAY.0));
    let steps = gambrel::book::snapshot::steps_to_come(&config.place).unwrap();
    assert_eq!(steps.1.len(), 1, "the book itself was not upgraded by it");
    Store::open(config.place.clone()).unwrap();
    assert_eq!(daily::before_upgrade(&config, TODAY).unwrap(), None);
}

#[test]
fn the_content_reads_the_same_on_both_engines() {
    let mut all = Vec::new();
    for book in TestBook::each() {
        book.hung_hog();
        let sums = book.read(|c| Ok(content::sums(c)?));
        all.push((book.fresh.is_postgres(), sums));
    }
    // What is random or hashed differs; what people entered does not.
    for table in ["animal", "customer", "offering", "price", "reservation", "weigh_in", "placement", "farm"] {
        let seen: Vec<_> =
            all.iter().map(|(_, sums)| sums.iter().find(|s| s.table == table).unwrap().clone()).collect();
        assert!(seen.iter().all(|s| s.rows > 0), "{table}");
        assert!(seen.windows(2).all(|w| w[0] == w[1]), "{table} reads differently: {seen:?}");
    }
}

#[actix_web::test]
async fn the_page_says_how_old_the_last_copy_is_makes_one_and_hands_it_out() {
    let book = TestBook::sqlite();
    let config = settings(&book);
    let app = TestApp::signed_in(&book).await;
    app.get("/settings/backups").await.says("There is no verified copy of the book yet");
    let asked = app.get("/settings/backups").await;
    let form = asked.forms().into_iter().find(|f| f.action == "/settings/backups").unwrap();
    let after = app.post(&form.action, form.body(&[])).await;
    app.follow(&after).await.says("was made and verified").says("less than a minute old");
    assert_eq!(app.post(&form.action, form.body(&[])).await.status, 303);
    assert_eq!(folder::records(&copies(&config)).len(), 1, "the same form sent twice makes one copy");
    let record = folder::records(&copies(&config)).remove(0);
    let taken = app.get(&format!("/settings/backups/{}", record.file)).await;
    assert_eq!(taken.bytes, fs::read(copies(&config).join(&record.file)).unwrap());
    for nothing in ["book-x.sqlite", "in-use.lock", "..%2Fbook.sqlite", "book-20270101T000000Z.json"] {
        assert_eq!(app.get(&format!("/settings/backups/{nothing}")).await.status, 404, "{nothing}");
    }
    book.clock.advance(49 * HOUR);
    app.begin_session();
    app.get("/").await.says("The last verified copy is 2 days old");
}
