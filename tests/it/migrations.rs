//! Migrations go up, come back, and go up again; a book of a newer program is refused, not guessed at.

use crate::support::book::{Fresh, TestBook};
use diesel::connection::SimpleConnection;
use gambrel::actions::Failure;
use gambrel::book::migrate::{migrate, revert_all};
use gambrel::book::store::Store;
use gambrel::on_db;

#[test]
fn up_back_and_up_again_gives_the_same_tables() {
    for fresh in Fresh::each() {
        let store = Store::open(fresh.place.clone()).unwrap();
        let first = crate::parity::columns(&store);
        assert!(first.len() > 100, "the tables are there");
        store
            .write(|tx| {
                revert_all(tx.conn()).map_err(Failure::Unexpected)?;
                Ok::<_, Failure>(())
            })
            .unwrap();
        assert_eq!(crate::parity::columns(&store), [], "nothing is left behind");
        store
            .write(|tx| {
                migrate(tx.conn()).map_err(Failure::Unexpected)?;
                migrate(tx.conn()).map_err(Failure::Unexpected)?;
                Ok::<_, Failure>(())
            })
            .unwrap();
        assert_eq!(crate::parity::columns(&store), first);
    }
}

#[test]
fn a_step_with_a_lower_number_than_the_last_one_is_still_taken() {
    for fresh in Fresh::each() {
        let store = Store::open(fresh.place.clone()).unwrap();
        let all = crate::parity::columns(&store);
        // As a book stands that was brought up to date before this step was written.
        let back = include_str!("../../migrations/sqlite/0008_plan/down.sql");
        store
            .write(|tx| {
                let forget = "DELETE FROM __diesel_schema_migrations WHERE version = '0008'";
                on_db!(tx.conn(), c => { c.batch_execute(back)?; c.batch_execute(forget) }).map_err(Failure::from)
            })
            .unwrap();
        assert!(crate::parity::columns(&store).len() < all.len());
        drop(store);
        assert_eq!(crate::parity::columns(&Store::open(fresh.place.clone()).unwrap()), all);
    }
}

#[test]
fn a_book_of_a_newer_program_is_refused_with_a_sentence() {
    for book in TestBook::each() {
        book.act(|tx, _| {
            let newer = "INSERT INTO __diesel_schema_migrations (version) VALUES ('9999')";
            on_db!(tx.conn(), c => c.batch_execute(newer)).map_err(Failure::from)
        });
        let refused = Store::open(book.fresh.place.clone()).err().unwrap();
        assert!(refused.contains("written by a newer Gambrel") && refused.contains("9999"), "{refused}");
    }
}

#[test]
fn a_file_that_is_no_book_is_refused_and_left_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("book.sqlite");
    std::fs::write(&path, "Dear diary, this is not a database at all, but it is long enough to have a header.\n")
        .unwrap();
    let before = std::fs::read(&path).unwrap();
    let refused = Store::open(gambrel::book::conn::Place::in_folder(folder.path())).err().unwrap();
    assert!(refused.contains("cannot be opened") || refused.contains("not a book of ours"), "{refused}");
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn a_book_opened_again_keeps_what_is_in_it() {
    for book in TestBook::each() {
        book.customer("Þóra Núñez");
        let again = book.beside();
        let name: String = again
            .read(|c| {
                use diesel::prelude::*;
                use gambrel::book::schema::customer;
                Ok::<_, Failure>(customer::table.select(customer::name).first(c)?)
            })
            .unwrap();
        assert_eq!(name, "Þóra Núñez");
    }
}
