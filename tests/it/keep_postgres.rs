//! Copies of a book in PostgreSQL: made while it is written, opened again, compared, restored; and what happens when the programs are
//! missing, too old, or a copy is spoiled.

use crate::support::TestBook;
use crate::support::book::{DAY, Fresh, HOUR, TODAY};
use gambrel::actions::Failure;
use gambrel::book::at::At;
use gambrel::book::conn::Place;
use gambrel::book::content;
use gambrel::book::migrate::revert_last;
use gambrel::book::server::Server;
use gambrel::book::store::Store;
use gambrel::config::Config;
use gambrel::keep::record::Why;
use gambrel::keep::{copy, daily, folder, hold, restore};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn url(place: &Place) -> String {
    let Place::Postgres(url) = place else { panic!("a book in PostgreSQL") };
    url.clone()
}

fn server(config: &Config) -> Server {
    Server::of(&url(&config.place)).unwrap()
}

fn settings(place: &Place, data: &Path, more: &[(&str, &str)]) -> Config {
    let mut env = BTreeMap::from([
        ("GAMBREL_DATA".to_string(), data.to_string_lossy().into_owned()),
        ("DATABASE_URL".to_string(), url(place)),
    ]);
    env.extend(more.iter().map(|(k, v)| ((*k).to_string(), (*v).to_string())));
    Config::from_parts(&env, None).unwrap()
}

/// A book with a hog that hung, its settings, and the folder they name; none without a server.
fn hung() -> Option<(TestBook, Config, tempfile::TempDir)> {
    let book = TestBook::at(Fresh::postgres()?);
    let hog = book.hung_hog();
    book.issue(hog.orders[0]);
    let data = tempfile::tempdir().unwrap();
    let config = settings(&book.fresh.place, data.path(), &[]);
    Some((book, config, data))
}

/// Databases that were made for a while and are still there.
fn left_over(config: &Config) -> Vec<String> {
    let server = server(config);
    let short: String = server.name().unwrap().chars().take(24).collect();
    server.beginning(&format!("{short}_gambrel_copy_")).unwrap()
}

fn names(place: &Place) -> Vec<String> {
    use diesel::prelude::*;
    use gambrel::book::schema::customer;
    let store = Store::open(place.clone()).unwrap();
    store.read(|c| Ok::<_, Failure>(customer::table.order(customer::id).select(customer::name).load(c)?)).unwrap()
}

#[test]
fn a_copy_is_opened_again_and_holds_what_the_book_held() {
    let Some((book, config, _data)) = hung() else { return };
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    assert!(record.file.ends_with(".pgdump") && record.bytes > 5000, "{record:?}");
    assert!(record.rules > 20, "{}", record.rules);
    assert_eq!(record.tables, book.read(|c| Ok(content::sums(c)?)));
    assert_eq!(folder::records(&folder::of(&config.data)), [record]);
    assert_eq!(left_over(&config), [""; 0]);
    let status = daily::status(&config);
    assert!(!status.is_late(At(TODAY.0 + 48 * HOUR)) && status.is_late(At(TODAY.0 + 48 * HOUR + 1)));
}

#[test]
fn a_day_has_one_copy_a_month_one_rehearsed_restore_and_a_stick_gets_each() {
    let Some((_book, mut config, _data)) = hung() else { return };
    let stick = tempfile::tempdir().unwrap();
    config.backup_to = Some(stick.path().to_path_buf());
    let at = |ms: i64| At(TODAY.0 + ms);
    assert!(daily::keep_up(&config, at(0)).unwrap().unwrap().contains("rehearsed"));
    assert_eq!(daily::keep_up(&config, at(23 * HOUR)).unwrap(), None);
    assert!(daily::keep_up(&config, at(25 * HOUR)).unwrap().unwrap().contains("was made"));
    assert_eq!(daily::status(&config).rehearsed_at, Some(TODAY.0));
    assert!(daily::keep_up(&config, at(31 * DAY)).unwrap().unwrap().contains("rehearsed"));
    let there = fs::read_dir(stick.path()).unwrap();
    let copies = there.filter(|e| e.as_ref().unwrap().path().extension().is_some_and(|e| e == "pgdump")).count();
    assert_eq!(copies, 3);
    assert_eq!(left_over(&config), [""; 0]);
}

#[test]
fn a_book_that_is_written_all_the_while_gives_copies_that_agree_with_themselves() {
    let Some((book, config, _data)) = hung() else { return };
    std::thread::scope(|scope| {
        let writer = scope.spawn(|| {
            (0..60).for_each(|n| {
                book.customer(&format!("Customer {n}"));
            })
        });
        for n in 0..2 {
            copy::back_up(&config, At(TODAY.0 + n * 1000), Why::Asked).unwrap();
        }
        writer.join().unwrap();
    });
    assert_eq!(folder::records(&folder::of(&config.data)).len(), 2);
}

#[test]
fn a_restore_puts_the_copy_back_and_what_it_replaces_stays_beside_it() {
    let Some((book, config, _data)) = hung() else { return };
    let place = book.fresh.place.clone();
    let before = names(&place);
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    let file = folder::of(&config.data).join(&record.file);
    book.customer("Later");
    // While it is served it is refused, and nothing is made.
    let refused = restore::restore(&config, &file, At(TODAY.0 + HOUR)).unwrap_err();
    assert!(refused.contains("being served"), "{refused}");
    assert!(hold::nobody_else(&config).unwrap_err().contains("being served"));
    let TestBook { store, fresh, .. } = book;
    drop(store);
    let said = restore::restore(&config, &file, At(TODAY.0 + HOUR)).unwrap();
    assert!(said.iter().any(|l| l.contains("unchanged since it was made")), "{said:?}");
    assert!(said.iter().any(|l| l.contains("rules hold")), "{said:?}");
    assert_eq!(names(&place), before);
    let sums = Store::open(place.clone()).unwrap().read(|c| Ok::<_, Failure>(content::sums(c)?)).unwrap();
    assert_eq!(sums, record.tables);
    let name = server(&config).name().unwrap();
    let short: String = name.chars().take(36).collect();
    let aside = server(&config).beginning(&format!("{short}_replaced_")).unwrap();
    assert_eq!(aside.len(), 1, "{aside:?}");
    assert!(said.iter().any(|l| l.contains(&aside[0])), "{said:?}");
    let kept = server(&config).beside(&aside[0]).unwrap().place();
    assert_eq!(names(&kept).len(), before.len() + 1, "what was written later is in what was kept");
    server(&config).drop_beside(&aside[0]).unwrap();
    assert_eq!(left_over(&config), [""; 0]);
    drop(fresh);
}

#[test]
fn a_spoiled_copy_or_one_of_the_other_engine_is_refused_and_the_book_stays() {
    let Some((book, config, data)) = hung() else { return };
    let record = copy::back_up(&config, TODAY, Why::Asked).unwrap();
    let file = folder::of(&config.data).join(&record.file);
    let place = book.fresh.place.clone();
    let before = names(&place);
    let TestBook { store, fresh, .. } = book;
    drop(store);
    let mut bytes = fs::read(&file).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 0x55;
    fs::write(&file, &bytes).unwrap();
    assert!(restore::restore(&config, &file, TODAY).unwrap_err().contains("SHA-256"));
    // Without its record pg_restore finds it, or the rules do.
    for (name, bytes) in [("a.pgdump", &bytes[..middle]), ("b.pgdump", b"no copy".as_slice())] {
        let stranger = data.path().join(name);
        fs::write(&stranger, bytes).unwrap();
        let refused = restore::restore(&config, &stranger, TODAY).unwrap_err();
        assert!(refused.contains("could not be opened again"), "{refused}");
    }
    let other = data.path().join("book.sqlite");
    fs::write(&other, "whatever").unwrap();
    assert!(restore::restore(&config, &other, TODAY).unwrap_err().contains("no copy of a book in PostgreSQL"));
    assert_eq!(names(&place), before);
    assert_eq!(left_over(&config), [""; 0]);
    drop(fresh);
}

#[test]
fn an_upgrade_is_rehearsed_on_a_copy_before_the_book_is_touched() {
    let Some((book, config, _data)) = hung() else { return };
    assert_eq!(daily::before_upgrade(&config, TODAY).unwrap(), None, "nothing is to be changed");
    book.act(|tx, _| revert_last(tx.conn()).map_err(Failure::Unexpected));
    let record = daily::before_upgrade(&config, TODAY).unwrap().unwrap();
    assert_eq!((record.why, record.rehearsed_at), (Why::BeforeUpgrade, Some(TODAY.0)));
    let steps = gambrel::book::snapshot::steps_to_come(&config.place).unwrap();
    assert_eq!(steps.1.len(), 1, "the book itself was not upgraded by it");
    // And the old copy is brought up to date when it is put back.
    let file = folder::of(&config.data).join(&record.file);
    let TestBook { store, fresh, .. } = book;
    drop(store);
    restore::restore(&config, &file, TODAY).unwrap();
    assert_eq!(daily::before_upgrade(&config, TODAY).unwrap(), None);
    let name = server(&config).name().unwrap();
    let short: String = name.chars().take(36).collect();
    for aside in server(&config).beginning(&format!("{short}_replaced_")).unwrap() {
        server(&config).drop_beside(&aside).unwrap();
    }
    drop(fresh);
}

#[cfg(unix)]
#[test]
fn missing_or_old_programs_are_told_and_can_be_done_without() {
    use std::os::unix::fs::PermissionsExt;
    let Some((book, _config, data)) = hung() else { return };
    let place = &book.fresh.place;
    let tools = tempfile::tempdir().unwrap();
    let folder_of_tools = tools.path().to_string_lossy().into_owned();
    let config = settings(place, data.path(), &[("GAMBREL_PG_TOOLS", &folder_of_tools)]);
    let missing = copy::back_up(&config, TODAY, Why::Daily).unwrap_err();
    assert!(missing.contains("pg_dump, which was not found in") && missing.contains("GAMBREL_PG_TOOLS"), "{missing}");
    assert_eq!(folder::last_failure(&folder::of(&config.data)).unwrap().why, missing, "the farmer sees it");
    for program in ["pg_dump", "pg_restore"] {
        let path = tools.path().join(program);
        fs::write(&path, format!("#!/bin/sh\necho '{program} (PostgreSQL) 9.6.24'\n")).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o755)).unwrap();
    }
    let old = copy::back_up(&config, TODAY, Why::Daily).unwrap_err();
    assert!(old.contains("of version 9 and the database server of version"), "{old}");
    let without = settings(place, data.path(), &[("GAMBREL_PG_TOOLS", "none")]);
    assert_eq!(daily::keep_up(&without, TODAY).unwrap(), None);
    assert_eq!(left_over(&config), [""; 0]);
}

#[test]
fn what_a_killed_program_left_behind_is_taken_away() {
    let Some((_book, config, _data)) = hung() else { return };
    let short: String = server(&config).name().unwrap().chars().take(24).collect();
    let old = format!("{short}_gambrel_copy_{}_1_1", (TODAY.0 - 2 * HOUR) / 1000);
    let young = format!("{short}_gambrel_copy_{}_1_1", (TODAY.0 - 60_000) / 1000);
    for name in [&old, &young] {
        server(&config).make_beside(name).unwrap();
    }
    copy::back_up(&config, TODAY, Why::Asked).unwrap();
    assert_eq!(left_over(&config), std::slice::from_ref(&young), "another program may be at work in the young one");
    server(&config).drop_beside(&young).unwrap();
}
