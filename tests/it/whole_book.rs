//! The whole book as one JSON file and back, and moved from one engine to the other: nothing is lost, and nothing wrong is taken.

use crate::support::app::PASSWORD;
use crate::support::book::{Fresh, TODAY};
use crate::support::{TestApp, TestBook};
use gambrel::actions::Failure;
use gambrel::book::content::{self, Sum};
use gambrel::book::schema::{customer, invoice, reservation, story};
use gambrel::book::store::Store;
use gambrel::book::stories::{Line, tell};
use gambrel::clock::Clock;
use gambrel::demo;
use gambrel::keep::{move_book, whole};
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::{BilledBy, Per};
use serde_json::{Value, json};

fn text(store: &Store, with_secrets: bool) -> String {
    let mut out = Vec::new();
    whole::write(store, TODAY, with_secrets, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

fn sums(store: &Store) -> Vec<Sum> {
    store.read(|c| Ok::<_, Failure>(content::sums(c)?)).unwrap()
}

/// Reads a text into a new book of each engine.
fn read_each(text: &str) -> Vec<(Fresh, Store, Result<whole::Done, String>)> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("book.json");
    std::fs::write(&file, text).unwrap();
    let read = |fresh: Fresh| {
        let store = Store::open(fresh.place.clone()).unwrap();
        let done = whole::import(&store, &file);
        (fresh, store, done)
    };
    Fresh::each().into_iter().map(read).collect()
}

/// A small book of a hog that hung, with an invoice.
fn hog() -> TestBook {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    book.issue(hog.orders[0]);
    book
}

fn demo_season() -> (Fresh, Store) {
    let fresh = Fresh::sqlite();
    let store = Store::open(fresh.place.clone()).unwrap();
    demo::fill(&store, &Clock::set(TODAY)).unwrap();
    (fresh, store)
}

#[test]
fn the_demo_season_comes_back_whole_on_each_engine() {
    let (_fresh, store) = demo_season();
    let written = text(&store, true);
    let parsed: Value = serde_json::from_str(&written).unwrap();
    assert_eq!((&parsed["format"], &parsed["version"]), (&json!("gambrel-book"), &json!(1)));
    assert_eq!(parsed["made_at"], json!("2027-10-14T18:00:00.000Z"));
    assert_eq!(parsed["tables"].as_array().unwrap().len(), sums(&store).len());
    for (_fresh, read, done) in read_each(&written) {
        let done = done.unwrap();
        assert!(done.rules > 20 && done.rows() > 500, "{} rules, {} rows", done.rules, done.rows());
        assert_eq!(sums(&read), sums(&store));
        // Written again it is the same file, whatever the engine.
        assert!(text(&read, true) == written, "the file differs after it was read and written");
    }
}

#[test]
fn a_book_moves_to_postgresql_and_back_and_the_work_goes_on() {
    let Some(server) = Fresh::postgres() else { return };
    let (_first, store) = demo_season();
    let on_server = Store::open(server.place.clone()).unwrap();
    let done = move_book::move_into(&store, &on_server, TODAY).unwrap();
    assert_eq!(done.rows(), sums(&store).iter().map(|s| s.rows).sum::<u64>());
    assert_eq!(sums(&on_server), sums(&store));
    let back = Fresh::sqlite();
    let home = Store::open(back.place.clone()).unwrap();
    move_book::move_into(&on_server, &home, TODAY).unwrap();
    assert_eq!(content::fingerprint(&sums(&home)), content::fingerprint(&sums(&store)));
    assert_eq!(text(&home, true), text(&store, true));
    // A second move into a book that is not empty is refused, and changes nothing.
    let refused = move_book::move_into(&store, &home, TODAY).unwrap_err();
    assert!(refused.contains("there is a book already"), "{refused}");
    assert_eq!(sums(&home), sums(&store));

    // The next number of each kind is the next one in both, and ids go on after the highest there ever was.
    let went_on: Vec<_> = [(on_server, server), (home, back)]
        .into_iter()
        .map(|(store, fresh)| {
            let book = TestBook { store, clock: Clock::set(TODAY), fresh };
            let who = book.customer("After the Move");
            let plant = book.another_plant("Fen Lane Meats");
            book.charge(plant, "Kill fee", Per::Head, "95.00", BilledBy::Processor);
            let date = book.date(plant, "2027-10-14");
            let animal = book.head(gambrel::trade::animal::Class::Barrow, "9041", date);
            let (other, hogs) = (book.customer("Her Neighbor"), book.offering(Species::Hog, 2, "5.25"));
            let [order, _] = [(who, Side::Left), (other, Side::Right)].map(|(who, side)| {
                let order = book.order(who, hogs, Size::Half);
                book.deposit(order, "150.00");
                book.place(order, animal, side);
                order
            });
            book.weigh(date, animal, "82.5", "80");
            let issued = book.issue(order);
            book.read(|c| {
                use diesel::prelude::*;
                let order: (i64, String) =
                    reservation::table.find(order).select((reservation::customer_id, reservation::number)).first(c)?;
                let number: String = invoice::table.find(issued).select(invoice::number).first(c)?;
                let highest: Option<i64> = customer::table.select(diesel::dsl::max(customer::id)).first(c)?;
                assert_eq!(highest, Some(order.0 + 1), "the new customers have the highest ids");
                Ok((order, number, gambrel::actions::check_book::check_book(c)?.iter().all(|r| r.faults.is_empty())))
            })
        })
        .collect();
    assert_eq!(went_on[0], went_on[1]);
    assert!(went_on[0].2, "every rule holds after the work went on");
    let (before, after) = (numbers(&store), &went_on[0]);
    assert!(!before.contains(&after.0.1) && !before.contains(&after.1), "{after:?}");
}

/// Every number of an order and an invoice.
fn numbers(store: &Store) -> Vec<String> {
    use diesel::prelude::*;
    store
        .read(|c| {
            let mut all: Vec<String> = reservation::table.select(reservation::number).load(c)?;
            all.extend(invoice::table.select(invoice::number).load::<String>(c)?);
            Ok::<_, Failure>(all)
        })
        .unwrap()
}

#[test]
fn an_id_that_was_given_and_went_is_not_given_again() {
    use diesel::prelude::*;
    let book = hog();
    let gone: i64 = book.act(|tx, _| {
        let last: Option<i64> = story::table.select(diesel::dsl::max(story::id)).first(tx.conn())?;
        diesel::delete(story::table.filter(story::id.eq(last.unwrap()))).execute(tx.conn())?;
        Ok(last.unwrap())
    });
    for (_fresh, store, done) in read_each(&text(&book.store, true)) {
        done.unwrap();
        let next: Option<i64> = store
            .write(|tx| {
                tell(tx, TODAY, "Ada", Line { line: "The next".into(), ..Line::default() })?;
                Ok::<_, Failure>(story::table.select(diesel::dsl::max(story::id)).first(tx.conn())?)
            })
            .unwrap();
        assert_eq!(next, Some(gone + 1));
    }
}

#[test]
fn what_is_wrong_with_a_file_is_told_and_nothing_is_taken() {
    let book = hog();
    let good = text(&book.store, true);
    let changed = |f: &dyn Fn(&mut Value)| {
        let mut value: Value = serde_json::from_str(&good).unwrap();
        f(&mut value);
        // Members must keep their order, which a map of this reader does not.
        let head = ["format", "version", "schema", "steps", "made_at", "secrets"];
        let mut all: Vec<String> = head.iter().map(|k| format!("{k:?}: {}", value[*k])).collect();
        let tables: Vec<String> = value["tables"]
            .as_array()
            .unwrap()
            .iter()
            .map(|t| {
                let parts = ["table", "columns", "last_id", "rows", "count", "sha256"];
                let parts: Vec<String> =
                    parts.iter().filter(|k| t.get(**k).is_some()).map(|k| format!("{k:?}: {}", t[*k])).collect();
                format!("{{{}}}", parts.join(", "))
            })
            .collect();
        all.push(format!("\"tables\": [{}]", tables.join(",\n")));
        format!("{{{}}}", all.join(",\n"))
    };
    fn table<'v>(v: &'v mut Value, name: &str) -> &'v mut Value {
        v["tables"].as_array_mut().unwrap().iter_mut().find(|t| t["table"] == name).unwrap()
    }
    fn forget(v: &mut Value, name: &str) {
        let t = table(v, name);
        (t["count"], t["sha256"]) = (Value::Null, Value::Null);
    }
    fn column(v: &mut Value, of: &str, name: &str) -> usize {
        table(v, of)["columns"].as_array().unwrap().iter().position(|c| c["name"] == name).unwrap()
    }
    assert!(read_each(&changed(&|_| {})).into_iter().all(|(.., done)| done.is_ok()), "unchanged it is taken");
    let cases: Vec<(&str, String)> = vec![
        ("not a whole book", String::new()),
        ("not a whole book", "Dear diary".into()),
        ("not a whole book", good[..good.len() - 3].into()),
        ("not a whole book", good.chars().take(good.len() / 2).collect()),
        ("not a whole book", format!("{good}{{}}")),
        ("does not say \"format\"", changed(&|v| v["format"] = json!("something-else"))),
        ("it is version 2 of the format", changed(&|v| v["version"] = json!(2))),
        ("written by a newer Gambrel", changed(&|v| v["steps"].as_array_mut().unwrap().push(json!("9999")))),
        ("rows, and", changed(&|v| drop(table(v, "story")["rows"].as_array_mut().unwrap().pop()))),
        (
            "does not add up",
            changed(&|v| {
                let name = column(v, "customer", "name");
                table(v, "customer")["rows"][0][name] = json!("Ines Halvart");
            }),
        ),
        ("has a table cow", changed(&|v| table(v, "story")["table"] = json!("cow"))),
        (
            "does not hold the table story",
            changed(&|v| {
                v["tables"].as_array_mut().unwrap().retain(|t| t["table"] != "story");
            }),
        ),
        (
            "has a table story",
            changed(&|v| {
                let twice = table(v, "story").clone();
                v["tables"].as_array_mut().unwrap().push(twice);
            }),
        ),
        (
            "does not hold the column",
            changed(&|v| {
                table(v, "story")["columns"].as_array_mut().unwrap().pop();
            }),
        ),
        ("has no column colour", changed(&|v| table(v, "story")["columns"][1]["name"] = json!("colour"))),
        ("values for", changed(&|v| table(v, "customer")["rows"][0].as_array_mut().unwrap().push(json!(1)))),
        (
            "is no number",
            changed(&|v| {
                let at = column(v, "customer", "created_at");
                table(v, "customer")["rows"][0][at] = json!(1.5);
            }),
        ),
        (
            "is no day",
            changed(&|v| {
                let at = column(v, "processing_date", "kill_on");
                table(v, "processing_date")["rows"][0][at] = json!("2027-02-30");
            }),
        ),
        (
            "is no text",
            changed(&|v| {
                let at = column(v, "customer", "notes");
                table(v, "customer")["rows"][0][at] = json!("a\u{0}b");
            }),
        ),
        // The tables themselves refuse what points to nothing and what is out of range.
        (
            "the table reservation",
            changed(&|v| {
                let at = column(v, "reservation", "customer_id");
                table(v, "reservation")["rows"][0][at] = json!(4711);
                forget(v, "reservation");
            }),
        ),
        (
            "the table farm",
            changed(&|v| {
                let at = column(v, "farm", "unit");
                table(v, "farm")["rows"][0][at] = json!("stone");
                forget(v, "farm");
            }),
        ),
        // And the rules of the book what the tables cannot know.
        (
            "a rule of the book does not hold",
            changed(&|v| {
                let at = column(v, "payment", "amount");
                table(v, "payment")["rows"][0][at] = json!(1);
                forget(v, "payment");
            }),
        ),
    ];
    for (says, text) in cases {
        for (fresh, store, done) in read_each(&text) {
            let why = done.err().unwrap_or_else(|| panic!("taken, though: {says}"));
            assert!(why.contains(says), "postgres {}: wanted “{says}”, was told “{why}”", fresh.is_postgres());
            assert!(sums(&store).iter().all(|s| s.rows == 0), "{says}: something was taken");
        }
    }
}

#[test]
fn a_book_that_was_only_started_is_taken_for_empty_and_one_in_use_is_not() {
    let text = text(&hog().store, true);
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("book.json");
    std::fs::write(&file, &text).unwrap();
    for fresh in Fresh::each() {
        let store = Store::open(fresh.place.clone()).unwrap();
        store
            .write(|tx| {
                gambrel::book::farm::ensure(tx)?;
                gambrel::actions::accounts::make_setup_link(tx, TODAY, "link")
            })
            .unwrap();
        whole::import(&store, &file).unwrap();
        let held = sums(&store);
        let refused = whole::import(&store, &file).unwrap_err();
        assert!(refused.contains("there is a book already"), "{refused}");
        assert_eq!(sums(&store), held);
    }
}

#[actix_web::test]
async fn without_secrets_nothing_in_the_file_lets_anybody_in() {
    let book = hog();
    let app = TestApp::signed_in(&book).await;
    let order = book.read(|c| {
        use diesel::prelude::*;
        Ok(reservation::table.select(reservation::id).first(c)?)
    });
    app.link(order);
    let whole_text = text(&book.store, true);
    let without = text(&book.store, false);
    let parsed: Value = serde_json::from_str(&whole_text).unwrap();
    let mut looked_for = 0;
    for table in parsed["tables"].as_array().unwrap() {
        for (n, column) in table["columns"].as_array().unwrap().iter().enumerate() {
            let name = column["name"].as_str().unwrap();
            if !["hash", "secret", "token"].iter().any(|w| name.contains(w)) {
                continue;
            }
            for row in table["rows"].as_array().unwrap() {
                if let Some(secret) = row[n].as_str() {
                    assert!(whole_text.contains(secret));
                    assert!(!without.contains(secret), "{}.{name}", table["table"]);
                    looked_for += 1;
                }
            }
        }
    }
    assert!(looked_for >= 4, "a password, a session and a link: {looked_for}");
    for (_fresh, store, done) in read_each(&without) {
        assert!(!done.unwrap().has_secrets);
        let hash = store.read(|c| {
            let account = gambrel::book::accounts::by_mail(c, crate::support::app::MAIL)?.unwrap();
            Ok::<_, Failure>(account.password_hash)
        });
        let hash = hash.unwrap();
        assert!(!gambrel::actions::let_in::has_password(&hash));
        assert!(!gambrel::actions::accounts::password_fits(PASSWORD, Some(&hash)));
    }
}

#[actix_web::test]
async fn the_page_hands_the_book_out_for_the_password_only() {
    for book in TestBook::each() {
        book.hung_hog();
        let app = TestApp::signed_in(&book).await;
        app.get("/settings").await.says("/settings/whole-book");
        let forms = app.get("/settings/whole-book").await.expect(200).forms();
        let form = forms.into_iter().find(|f| f.typed.iter().any(|n| n == "password")).unwrap();
        for wrong in ["", "not the password"] {
            app.post("/settings/whole-book", form.body(&[("password", wrong)])).await.expect(422).says("password");
        }
        let told = |book: &TestBook| sums(&book.store).iter().find(|s| s.table == "story").unwrap().rows;
        let before = told(&book);
        let body = form.body(&[("password", PASSWORD)]);
        let file = app.post("/settings/whole-book", body.clone()).await.expect(200);
        assert_eq!(file.header("content-disposition"), "attachment; filename=\"book-20271014T180000Z.json\"");
        assert_eq!(file.header("cache-control"), "no-store");
        let parsed: Value = serde_json::from_str(file.text()).unwrap();
        assert_eq!(parsed["secrets"], json!(false));
        assert_eq!(told(&book), before + 1, "the story says who took it");
        assert_eq!(app.post("/settings/whole-book", body).await.status, 303, "the same form sent twice acts once");
        for (_fresh, store, done) in read_each(file.text()) {
            done.unwrap();
            let customers = |s: &Store| sums(s).into_iter().find(|t| t.table == "customer").unwrap();
            assert_eq!(customers(&store), customers(&book.store));
        }
    }
}

#[test]
fn a_file_that_is_there_is_not_written_over_and_nobody_else_reads_it() {
    let book = hog();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("book.json");
    whole::export(&book.store, &file, TODAY, true).unwrap();
    let held = std::fs::read(&file).unwrap();
    assert!(whole::export(&book.store, &file, TODAY, true).unwrap_err().contains("there already"));
    assert_eq!(std::fs::read(&file).unwrap(), held);
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        assert_eq!(std::fs::metadata(&file).unwrap().permissions().mode() & 0o777, 0o600);
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1, "nothing half-written is left");
    assert!(whole::export(&book.store, &folder.path().join("no/such/file"), TODAY, true).is_err());
}
