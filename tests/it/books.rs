//! Filled books of every earlier schema (tests/books), brought up to date on both engines: every rule holds afterwards, and what
//! people entered is still there.

use crate::support::book::{Fresh, TODAY};
use flate2::read::GzDecoder;
use gambrel::actions::Failure;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::book::content::{self, Sum};
use gambrel::book::store::Store;
use gambrel::book::whole::{self, Trouble};
use gambrel::config::Config;
use gambrel::keep::record::Why;
use gambrel::keep::{daily, whole as file};
use std::collections::BTreeMap;
use std::fs::File;
use std::io::Read;
use std::path::PathBuf;
use std::process::Command;

/// The kept books, the oldest first: the name of their last step, and the file.
fn books() -> Vec<(String, PathBuf)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/books");
    let mut all: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().path())
        .filter_map(|p| Some((p.file_name()?.to_str()?.strip_suffix(".json.gz")?.to_string(), p.clone())))
        .collect();
    all.sort();
    all
}

/// The names of all steps.
fn steps() -> Vec<String> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/migrations/sqlite");
    let mut all: Vec<_> =
        std::fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    all.sort();
    all
}

/// Puts a kept book into an empty place as it was then; what it held.
fn as_it_was(fresh: &Fresh, book: &PathBuf) -> Vec<Sum> {
    let store = Store::open(fresh.place.clone()).unwrap();
    let open = || GzDecoder::new(File::open(book).unwrap());
    store.write(|tx| Ok::<_, Trouble>(whole::fill(tx, open())?.sums)).unwrap()
}

fn settings(fresh: &Fresh) -> Config {
    let mut config = Config::from_parts(&BTreeMap::new(), None).unwrap();
    (config.place, config.data) = (fresh.place.clone(), fresh.data());
    config
}

#[test]
fn there_is_a_book_of_every_schema_up_to_the_newest_kept_one() {
    let (books, steps) = (books(), steps());
    let kept: Vec<String> = books.into_iter().map(|(name, _)| name).collect();
    assert!(kept.len() >= 20, "{kept:?}");
    assert_eq!(kept, steps[..kept.len()], "make the missing ones as tests/books/README.md says");
}

#[test]
fn every_earlier_book_comes_up_to_date_whole() {
    for (name, path) in books() {
        for fresh in Fresh::each() {
            let on = if fresh.is_postgres() { "PostgreSQL" } else { "SQLite" };
            let held = as_it_was(&fresh, &path);
            let rows: u64 = held.iter().map(|s| s.rows).sum();
            assert!(rows > 300, "{name} holds {rows} rows");
            let (_, to_come) = gambrel::book::snapshot::steps_to_come(&fresh.place).unwrap();
            assert_eq!(to_come.len(), steps().len() - 1 - steps().iter().position(|s| *s == name).unwrap());
            let store = Store::open(fresh.place.clone()).unwrap();
            let all = store.read(check_book).unwrap();
            let (said, holds) = in_words(&all);
            assert!(holds, "{name} on {on}, after the upgrade:\n{said}");
            let now = store.read(|c| Ok::<_, Failure>(content::sums(c)?)).unwrap();
            for before in &held {
                let after = now.iter().find(|s| s.table == before.table).unwrap();
                assert_eq!(after.rows, before.rows, "{name} on {on}: rows of {}", before.table);
            }
        }
    }
}

#[test]
fn a_file_of_an_earlier_program_is_read_as_its_upgrade_would_leave_it() {
    let folder = tempfile::tempdir().unwrap();
    let unpacked = folder.path().join("book.json");
    let books = books();
    // The first of all, the last before the ledger, and the newest.
    for n in [0, 10, books.len() - 1] {
        let (name, path) = &books[n];
        let mut text = String::new();
        GzDecoder::new(File::open(path).unwrap()).read_to_string(&mut text).unwrap();
        std::fs::write(&unpacked, text).unwrap();
        for (upgraded, read) in Fresh::each().into_iter().zip(Fresh::each()) {
            as_it_was(&upgraded, path);
            let upgraded = Store::open(upgraded.place.clone()).unwrap();
            let store = Store::open(read.place.clone()).unwrap();
            let done = file::import(&store, &unpacked).unwrap();
            assert_eq!(done.steps.len(), steps().len() - 1 - steps().iter().position(|s| s == name).unwrap());
            let sums = |s: &Store| s.read(|c| Ok::<_, Failure>(content::sums(c)?)).unwrap();
            assert_eq!(content::first_difference(&sums(&upgraded), &sums(&store)), None, "{name}");
        }
    }
}

#[test]
fn before_the_oldest_book_is_touched_its_upgrade_is_rehearsed_and_the_program_says_each_step() {
    let fresh = Fresh::sqlite();
    let held = as_it_was(&fresh, &books()[0].1);
    let record = daily::before_upgrade(&settings(&fresh), TODAY).unwrap().unwrap();
    assert_eq!((record.why, record.step.as_str()), (Why::BeforeUpgrade, "0001"));
    assert_eq!(record.tables, held);
    let file = fresh.data().join("book.json");
    let ran = Command::new(env!("CARGO_BIN_EXE_gambrel"))
        .arg("export")
        .arg(&file)
        .env_remove("DATABASE_URL")
        .env("GAMBREL_DATA", fresh.data())
        .env("GAMBREL_LOG", "info")
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&ran.stderr).into_owned();
    assert!(ran.status.success(), "{said}");
    let all = steps().len() - 1;
    for (n, step) in steps().iter().enumerate().skip(1) {
        assert!(said.contains(&format!("step {n} of {all}, {step}, ")), "{step}: {said}");
    }
    assert!(said.contains(" ms") && said.contains("copied and the change rehearsed"), "{said}");
    assert!(std::fs::metadata(&file).unwrap().len() > 50_000);
}
