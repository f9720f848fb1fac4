//! The demo farm, and `gambrel check` on it: a whole season holds together, and each rule finds what breaks it.

use crate::support::book::{Fresh, on_each_engine_empty};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::book::store::Store;
use gambrel::book::{farm, invoices};
use gambrel::clock::Clock;
use gambrel::config::Config;
use gambrel::demo;
use std::collections::BTreeMap;

/// The season lies around today, so it is made on days that differ in weekday, month, year and clock change.
const DAYS: &[&str] = &["2026-11-25", "2027-01-01", "2028-02-29", "2027-03-14", "2027-06-06", "2027-12-31"];

fn clock_on(day: &str) -> Clock {
    let noon: chrono::NaiveDateTime = format!("{day}T18:00:00").parse().unwrap();
    Clock::set(gambrel::book::at::At(noon.and_utc().timestamp_millis()))
}

fn filled(store: &Store, day: &str) {
    demo::fill(store, &clock_on(day)).unwrap();
}

#[test]
fn the_demo_season_holds_together_on_any_day() {
    for day in DAYS {
        let fresh = Fresh::sqlite();
        let store = Store::open(fresh.place.clone()).unwrap();
        filled(&store, day);
        let all = store.read(check_book).unwrap();
        let (said, holds) = in_words(&all);
        assert!(holds, "made on {day}:\n{said}");
        // A rule that looked at nothing would hold always.
        for rule in all.iter() {
            assert!(rule.looked_at > 0, "made on {day}, nothing to look at: {}", rule.rule);
        }
    }
}

#[test]
fn the_demo_shows_every_kind_of_work() {
    on_each_engine_empty(|store| {
        filled(store, "2026-11-25");
        let today = "2026-11-25".parse().unwrap();
        let (is_demo, owed, late) = store
            .read(|c| {
                let (owed, late) = invoices::owed_in_all(c, today)?;
                Ok::<_, Failure>((farm::get(c)?.is_demo, owed, late))
            })
            .unwrap();
        assert!(is_demo);
        assert!(late.is_positive() && late <= owed);
        let waiting: i64 = one(store, "SELECT COUNT(*) AS n FROM reservation WHERE waiting_since IS NOT NULL");
        assert_eq!(waiting, 2);
        assert_eq!(one(store, "SELECT COUNT(*) AS n FROM credit_note"), 1);
        assert_eq!(one(store, "SELECT COUNT(*) AS n FROM lost_share WHERE told_at IS NULL"), 1);
        assert_eq!(one(store, "SELECT COUNT(*) AS n FROM reservation WHERE cancelled_at IS NOT NULL"), 1);
        let unfit = store.read(|c| {
            let farm = farm::get(c)?;
            gambrel::actions::plant_offer::unfit_ahead(c, &farm, today, None)
        });
        let unfit = unfit.unwrap();
        assert_eq!(unfit.iter().map(|u| u.name.as_str()).collect::<Vec<_>>(), ["Ines Halvard"], "{unfit:?}");
        let weigh_in_open = store.read(|c| Ok::<_, Failure>(gambrel::book::dates::without_weights(c, today)?)).unwrap();
        assert_eq!(weigh_in_open.len(), 1);
        let early = "SELECT COUNT(*) AS n FROM message WHERE handed_over_at < queued_at";
        assert_eq!(one(store, early), 0, "handed over before it was written");
    });
}

#[test]
fn a_real_book_is_never_taken_for_the_demo() {
    let folder = tempfile::tempdir().unwrap();
    let config = demo::settings(Config::from_parts(&BTreeMap::new(), None).unwrap(), folder.path());
    let clock = clock_on("2026-11-25");
    let store = demo::open(&config, &clock, false).unwrap();
    let before = one(&store, "SELECT COUNT(*) AS n FROM reservation");
    drop(store);
    // Opened again it is as it was; made anew it is the same season.
    let store = demo::open(&config, &clock, false).unwrap();
    run(&store, "DELETE FROM story");
    drop(store);
    let store = demo::open(&config, &clock, true).unwrap();
    assert_eq!(one(&store, "SELECT COUNT(*) AS n FROM reservation"), before);
    assert!(one(&store, "SELECT COUNT(*) AS n FROM story") > 0);
    run(&store, &format!("UPDATE farm SET is_demo = {}", "0"));
    drop(store);
    for anew in [false, true] {
        let refused = demo::open(&config, &clock, anew).err().unwrap();
        assert!(refused.contains("--folder"), "{refused}");
    }
    let store = Store::open(config.place.clone()).unwrap();
    assert_eq!(one(&store, "SELECT COUNT(*) AS n FROM reservation"), before, "nothing was removed");
}

/// What is broken, and the number of the rules that must find it.
const BREAKS: &[(&str, &[&str])] = &[
    ("DELETE FROM placement WHERE slot = 'l1' AND reservation_id = 5", &["1  no quarter"]),
    ("UPDATE offering SET head_count = 1 WHERE species = 'hog'", &["1  no offering"]),
    (
        "UPDATE reservation SET waiting_since = NULL WHERE id IN (SELECT reservation_id FROM waiting_offer WHERE outcome IS NULL)",
        &["1  what is offered"],
    ),
    ("UPDATE weigh_in SET left_side = left_side + 100 WHERE animal_id = 2", &["2  "]),
    (
        "UPDATE invoice_line SET amount = amount + 2 WHERE invoice_id = 1 AND name LIKE 'Kill%'",
        &["3  ", "4  every issued invoice"],
    ),
    ("UPDATE counter SET value = value + 1 WHERE name LIKE 'invoice-%'", &["5  "]),
    ("UPDATE payment SET amount = amount - 1 WHERE id = 1", &["6  every cent", "6  the ledger’s balances"]),
    (
        "INSERT INTO ledger_line (entry_id, position, account, amount, customer_id) SELECT id, 99, 'cash', 1, customer_id FROM ledger_entry WHERE id = 1",
        &["6  every entry", "6  the ledger’s balances"],
    ),
    (
        "INSERT INTO ledger_entry (kind, day, customer_id, actor, made_at) SELECT kind, day, customer_id, actor, made_at FROM ledger_entry WHERE id = 1",
        &["6  every entry"],
    ),
    ("UPDATE payment SET method = 'cash' WHERE method = 'check'", &["6  the ledger’s balances"]),
    ("UPDATE allocation SET amount = amount - 1 WHERE invoice_id IS NOT NULL", &["6  the ledger’s balances"]),
    ("UPDATE allocation SET amount = amount + 1 WHERE reservation_id IS NOT NULL", &["6  the ledger’s balances"]),
    ("UPDATE invoice_line SET billed_by = 'processor' WHERE kind = 'share'", &["6  the ledger’s balances"]),
    (
        "UPDATE unmatched_money SET amount = amount + 1",
        &["6  the ledger’s balances", "25 money that was matched", "25 a line"],
    ),
    ("UPDATE unmatched_money SET payment_id = NULL WHERE payment_id IS NOT NULL", &["6  the ledger’s balances"]),
    ("UPDATE bank_line SET amount = amount + 1", &["25 a line of the bank"]),
    ("UPDATE deposit_slip SET total = total + 1", &["25 a line of the bank", "25 a deposit slip"]),
    ("DELETE FROM deposit_slip_item WHERE position = 0", &["25 a deposit slip"]),
    (
        "UPDATE bank_tie SET kind = 'payment', slip_id = NULL, payment_id = (SELECT MIN(payment_id) FROM deposit_slip_item) WHERE kind = 'slip'",
        &["25 a line of the bank"],
    ),
    ("UPDATE reservation SET rate = rate + 1 WHERE id = 1", &["7  "]),
    ("UPDATE animal SET date_id = 4 WHERE tag = '204'", &["8  "]),
    (
        "UPDATE customer_link SET revoked_at = NULL WHERE reservation_id IN (SELECT id FROM reservation WHERE cancelled_at IS NOT NULL)",
        &["9  every private link"],
    ),
    (
        "UPDATE reservation SET cancelled_at = 1 WHERE id IN (SELECT reservation_id FROM cancel_request WHERE answer IS NULL)",
        &["9  every wish"],
    ),
    (
        "UPDATE customer_link SET token_hash = 'kX2mQ9vB7tRw4yZs8uNp3dLf6hJc1gAe' WHERE id = 1",
        &["9  every private link"],
    ),
    ("UPDATE invoice SET document = '{}' WHERE id = 1", &["4  every issued paper"]),
    ("UPDATE packet SET document = '{}' WHERE id = 2", &["4  every issued paper"]),
    ("UPDATE packet_sheet SET revision = revision + 9 WHERE packet_id = 1", &["11 packets"]),
    ("UPDATE packet SET number = 3 WHERE id = 2", &["11 packets"]),
    ("UPDATE sheet_reminder SET message_id = NULL", &["12 every reminder"]),
    ("UPDATE place_lock SET animal_id = 1", &["13 a locked share"]),
    ("UPDATE sheet_draft SET sheet = '{\"block\":{}}'", &["every cut sheet that was begun"]),
    (
        "UPDATE cut_sheet SET sheet = replace(sheet, '\"rib\"', '\"flank\"') WHERE reservation_id IN (SELECT id FROM reservation WHERE part = 'fore')",
        &["every cut sheet names"],
    ),
    ("UPDATE side_decision SET first_revision = first_revision + 9", &["14 every decision"]),
    ("UPDATE side_decision SET block = 'ham_body'", &["14 every decision"]),
    (
        "UPDATE processor_offer SET document = '{\"without_services\":[\"fly\"]}' WHERE version = 1",
        &["16 what processors"],
    ),
    (
        "UPDATE plan_move SET from_animal_id = to_animal_id, from_sides = to_sides, from_date_id = to_date_id",
        &["20 every plan"],
    ),
    ("DELETE FROM plan_move", &["20 every plan"]),
    ("UPDATE public_picture_size SET body = 'iVBORw0KGgo='", &["17 pictures"]),
    ("DELETE FROM public_picture_size WHERE picture_id = 1", &["17 pictures"]),
    ("UPDATE terms_acceptance SET accepted_on = '2001-01-01'", &["every acceptance of terms"]),
    ("UPDATE reserve_request SET confirmed_at = NULL WHERE outcome IS NOT NULL", &["every accepted request"]),
    (
        "UPDATE reserve_request SET size = 'quarter', part = 'split' WHERE reservation_id IS NOT NULL",
        &["every accepted request"],
    ),
    ("UPDATE reserve_request SET reservation_id = NULL WHERE outcome = 'accepted'", &["every accepted request"]),
    (
        "UPDATE request_link SET token_hash = 'kX2mQ9vB7tRw4yZs8uNp3dLf6hJc1gAe' WHERE request_id = (SELECT MIN(request_id) FROM request_link)",
        &["every accepted request"],
    ),
    ("UPDATE confirmation SET document = '{}'", &["4  every issued paper"]),
    ("UPDATE pickup_choice SET window_id = 3 WHERE window_id = 2", &["18 no pickup window"]),
    ("UPDATE pickup_window SET cancelled_at = 1 WHERE id = 1", &["18 no pickup window"]),
    ("UPDATE pickup_window SET date_id = 3", &["18 every pickup window"]),
    (
        "DELETE FROM pickup_ready WHERE reservation_id IN (SELECT reservation_id FROM pickup_choice)",
        &["18 every pickup window"],
    ),
    ("DELETE FROM pickup_collected", &["18 every order that was collected"]),
    (
        "UPDATE reservation SET collected_at = 1 WHERE id IN (SELECT reservation_id FROM pickup_note)",
        &["18 every order that was collected"],
    ),
    ("UPDATE pickup_reminder SET message_id = 1", &["18 every reminder"]),
    ("UPDATE calendar_feed SET token_hash = 'kX2mQ9vB7tRw4yZs8uNp3dLf6hJc1gAe'", &["9  one calendar feed"]),
    (
        "INSERT INTO calendar_feed (token_hash, made_at) SELECT SUBSTR(token_hash, 2) || 'x', 1 FROM calendar_feed",
        &["9  one calendar feed"],
    ),
    ("UPDATE storage_charge SET amount = amount + 1", &["18 storage"]),
    (
        "UPDATE processing_date SET cancelled_at = 1 WHERE id IN (SELECT date_id FROM plant_link)",
        &["9  every link of a processor"],
    ),
    (
        "UPDATE plant_link SET token_hash = 'kX2mQ9vB7tRw4yZs8uNp3dLf6hJc1gAe' WHERE id = 1",
        &["9  every link of a processor"],
    ),
    (
        "UPDATE packet SET sent_at = NULL WHERE id IN (SELECT packet_id FROM packet_receipt)",
        &["9  every link of a processor"],
    ),
    ("UPDATE plant_entry SET revision = revision + 1", &["19 what processors"]),
    ("UPDATE plant_entry SET document = '{}' WHERE kind = 'note'", &["19 what processors"]),
    ("UPDATE plant_entry SET answer = 'replaced', answered_at = 1 WHERE kind = 'note'", &["19 what processors"]),
    ("DELETE FROM cost_head WHERE cost_id = 1", &["22 every cost"]),
    ("UPDATE bill_of_sale SET made_on = '2999-01-01', kill_on = NULL, animal_id = 1", &["23 every bill"]),
    ("UPDATE bill_of_sale SET document = '{}'", &["4  every issued paper"]),
    ("UPDATE balance_letter SET tone = 'last'", &["24 every letter"]),
    ("UPDATE balance_letter SET message_id = 1", &["24 every letter"]),
    ("UPDATE cost SET on_day = '2999-01-01' WHERE id = 2", &["22 every cost"]),
    ("UPDATE packaged_weight SET revision = revision + 9", &["21 "]),
    ("DELETE FROM packaged_weight WHERE revision = 1", &["21 "]),
    ("UPDATE packaged_weight SET on_day = '2001-01-01' WHERE source = 'customer'", &["21 "]),
];

#[test]
fn every_rule_finds_what_breaks_it() {
    on_each_engine_empty(|store| {
        filled(store, "2026-11-25");
        for (break_it, finders) in BREAKS {
            // The fault is written, looked at, and taken back with its transaction.
            let mut found = Vec::new();
            let seen = std::sync::Mutex::new(&mut found);
            let outcome: Result<(), Failure> = store.write(|tx| {
                let n = diesel::sql_query(*break_it).execute(tx.conn())?;
                assert!(n > 0, "changed nothing: {break_it}");
                let broken = check_book(tx.conn())?.into_iter().filter(|r| !r.faults.is_empty());
                **seen.lock().unwrap() = broken.map(|r| r.rule).collect::<Vec<_>>();
                Err(Failure::NotFound)
            });
            assert!(matches!(outcome, Err(Failure::NotFound)), "{break_it}: {outcome:?}");
            for finder in *finders {
                assert!(found.iter().any(|rule| rule.starts_with(finder)), "{break_it}: {found:?}");
            }
        }
        assert!(in_words(&store.read(check_book).unwrap()).1, "the faults were taken back");
    });
}

#[derive(QueryableByName)]
struct N {
    #[diesel(sql_type = diesel::sql_types::BigInt)]
    n: i64,
}

fn one(store: &Store, sql: &str) -> i64 {
    let rows: Vec<N> = store.read(|c| Ok::<_, Failure>(diesel::sql_query(sql).load(c)?)).unwrap();
    rows[0].n
}

fn run(store: &Store, sql: &str) {
    store.write(|tx| Ok::<_, Failure>(diesel::sql_query(sql).execute(tx.conn())?)).unwrap();
}
