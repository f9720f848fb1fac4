//! Files of `tests/files/import`: each gives what stands beside it. And whatever the bytes are, nothing is half taken.

use super::{inside, send, take, tried};
use crate::support::TestBook;
use gambrel::actions::import_list::{Fate, keep_list, look, match_columns};
use gambrel::actions::sheet_in::open;
use gambrel::trade::import_file::{
    Claim, Head, Kind, MoneyLine, Person, PriceLine, Said, Who, guessed, mismatched, read,
};
use gambrel::trade::sheet_file::{Fault, Table};
use gambrel::trade::typed_day::DayOrMonth;
use gambrel::trade::weight::Unit;
use proptest::prelude::*;
use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};

fn line(parts: &[String]) -> String {
    parts.iter().map(|p| if p.is_empty() { "-" } else { p }).collect::<Vec<_>>().join(" | ")
}

fn opt<T: ToString>(value: Option<T>) -> String {
    value.map(|v| v.to_string()).unwrap_or_default()
}

fn whose(who: &Who) -> String {
    [&who.name, &who.mail, &who.phone].into_iter().filter(|p| !p.is_empty()).cloned().collect::<Vec<_>>().join(", ")
}

fn shown(n: usize, said: &Said) -> String {
    let all = match said {
        Said::Person(Person { name, mail, phone, address, notes, no_offers }) => vec![
            name.clone(),
            mail.clone(),
            phone.clone(),
            address.replace('\n', " / "),
            notes.replace('\n', " / "),
            if *no_offers { "no offers".into() } else { String::new() },
        ],
        Said::Price(PriceLine {
            species,
            season,
            head_count,
            sells,
            quarters,
            low,
            high,
            notes,
            shares,
            basis,
            rate,
            flat,
            deposit,
            from,
        }) => {
            let sizes =
                |all: &[gambrel::trade::share::Size]| all.iter().map(|s| s.as_str()).collect::<Vec<_>>().join("+");
            vec![
                format!("{species} {season}"),
                opt(*head_count),
                sizes(sells),
                opt(*quarters),
                [low, high].into_iter().flatten().map(|w| w.plain()).collect::<Vec<_>>().join(" to "),
                sizes(shares),
                format!("{basis} {}", rate.map(|r| r.plain()).or(flat.map(|m| m.plain())).unwrap_or_default()),
                deposit.plain(),
                opt(*from),
                notes.clone(),
            ]
        }
        Said::Head(Head { tag, class, sex, born, breed, official_id, notes, gone }) => vec![
            tag.clone(),
            class.to_string(),
            sex.to_string(),
            match born {
                None => String::new(),
                Some(DayOrMonth::Day(day)) => day.to_string(),
                Some(DayOrMonth::Month(day)) => day.format("%Y-%m").to_string(),
            },
            breed.clone(),
            official_id.clone(),
            notes.clone(),
            if *gone { "gone".into() } else { String::new() },
        ],
        Said::Claim(Claim {
            who,
            offering,
            species,
            season,
            quarters,
            size,
            part,
            taken_on,
            price,
            waits,
            cancelled,
            wishes,
            deposit,
        }) => vec![
            whose(who),
            offering.clone(),
            opt(*species),
            format!("{season} {}", opt(*quarters)).trim().to_string(),
            format!("{size} {}", opt(*part)).trim().to_string(),
            opt(*taken_on),
            price.map(|r| r.plain()).unwrap_or_default(),
            if *waits { "waits".into() } else { String::new() },
            if *cancelled { "cancelled".into() } else { String::new() },
            wishes.clone(),
            deposit
                .as_ref()
                .map(|d| format!("{} {} {} {}", d.amount.plain(), opt(d.on), d.method, d.reference).trim().to_string())
                .unwrap_or_default(),
        ],
        Said::Money(MoneyLine { who, amount, on, method, reference, note, order, invoice, given_back }) => vec![
            whose(who),
            amount.plain(),
            on.to_string(),
            method.to_string(),
            reference.clone(),
            order.clone(),
            invoice.clone(),
            note.clone(),
            if *given_back { "given back".into() } else { String::new() },
        ],
    };
    format!("{n} | {}", line(&all))
}

/// The kind a file is of, by its name; those that are no table are tried as customers.
fn kind_of(name: &str) -> Kind {
    name.split('_').next().and_then(|k| k.parse().ok()).unwrap_or(Kind::Customers)
}

#[test]
fn ugly_files_give_what_stands_beside_them() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/files/import");
    let (mut looked_at, mut wrong) = (0, Vec::new());
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "csv") {
            continue;
        }
        looked_at += 1;
        let kind = kind_of(path.file_stem().unwrap().to_str().unwrap());
        let given: Vec<String> = match Table::from_bytes(&std::fs::read(&path).unwrap()) {
            Err(fault) => vec![fault.sentence()],
            Ok(table) => {
                let columns = guessed(kind, &table.headings);
                let unfit = mismatched(kind, &table, &columns);
                let all = if unfit.is_empty() { read(kind, &table, &columns, Unit::Lb) } else { Default::default() };
                let unfit = unfit.into_iter().map(|(f, s)| format!("{f}: {s}"));
                let said = all.said.iter().map(|(n, s)| shown(*n, s));
                unfit.chain(said).chain(all.faults.iter().map(Fault::sentence)).collect()
            }
        };
        let beside = path.with_extension("gives");
        if std::env::var("GAMBREL_GIVES").is_ok() {
            std::fs::write(&beside, given.join("\n") + "\n").unwrap();
        }
        let expected = std::fs::read_to_string(beside).unwrap_or_default();
        if given != expected.lines().collect::<Vec<_>>() {
            wrong.push(format!("{}: {given:#?}", path.display()));
        }
    }
    assert!(looked_at >= 20, "only {looked_at} files");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// A book in which some lines find what they name.
fn filled() -> TestBook {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    book.issue(hog.orders[0]);
    book
}

#[test]
fn whatever_the_bytes_are_nothing_is_half_taken() {
    let book = filled();
    let config = Config { cases: 100, failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new_with_rng(config, TestRng::deterministic_rng(RngAlgorithm::ChaCha));
    let cell = prop_oneof![
        "[ -~é½\t]{0,10}",
        Just("hog".to_string()),
        Just("half".to_string()),
        Just("Fall 2027".to_string()),
        Just("2027-10-01".to_string()),
        Just("150".to_string()),
        Just("4.25".to_string()),
        Just("steer".to_string()),
        Just("cash".to_string()),
        Just("ines@customers.example".to_string()),
        Just(String::new()),
        "[0-9]{1,4}",
        "[A-Z][a-z]{2,6} [A-Z][a-z]{2,6}",
    ];
    let rows = proptest::collection::vec(proptest::collection::vec(cell, 1..14), 1..8);
    let raw = proptest::collection::vec(any::<u8>(), 0..300);
    let cases = (proptest::sample::select(Kind::ALL), rows, raw, 0..6_u8);
    let made = std::cell::Cell::new(0);
    let ran = runner.run(&cases, |(kind, rows, raw, which)| {
        let bytes = if which == 0 {
            raw
        } else if which == 1 {
            // Names alone are nearly always good, so that some lists are taken.
            let names: Vec<String> =
                rows.iter().filter_map(|r| r.first()).map(|c| c.replace(['"', '\t'], " ")).collect();
            format!("Name\n{}\n", names.iter().map(|n| format!("\"N {n}\"")).collect::<Vec<_>>().join("\n"))
                .into_bytes()
        } else {
            let quoted = |c: &String| format!("\"{}\"", c.replace('"', "\"\""));
            let labels: Vec<String> = kind.fields().iter().map(|f| quoted(&f.label().to_string())).collect();
            let lines: Vec<String> = rows.iter().map(|r| r.iter().map(quoted).collect::<Vec<_>>().join(",")).collect();
            format!("{}\n{}\n", labels.join(","), lines.join("\n")).into_bytes()
        };
        let kind = if which == 1 { Kind::Customers } else { kind };
        let before = inside(&book);
        let Ok(text) = open(&bytes) else { return Ok(()) };
        let Ok(file) = book.try_act(|tx, doing| keep_list(tx, doing, kind, "x.csv", &text)) else { return Ok(()) };
        let columns = book.read(|c| look(c, kind, file)).columns;
        if book.try_act(|tx, doing| match_columns(tx, doing, kind, file, &columns)).is_err() {
            prop_assert_eq!(inside(&book), before);
            return Ok(());
        }
        let seen = tried(&book, kind, file);
        prop_assert_eq!(&inside(&book), &before, "a try changes nothing");
        let new = seen.count(Fate::New);
        match take(&book, kind, file, &seen) {
            Ok(done) => {
                prop_assert!(seen.faults.is_empty() && done.made == new && new > 0);
                made.set(made.get() + new);
            }
            Err(_) => {
                prop_assert!(!seen.faults.is_empty() || new == 0);
                prop_assert_eq!(inside(&book), before);
            }
        }
        Ok(())
    });
    ran.unwrap();
    assert!(made.get() > 3, "some lists were good: {}", made.get());
    super::is_well(&book);
}

#[test]
fn a_whole_list_of_a_thousand_lines_is_taken() {
    let book = TestBook::sqlite();
    book.offering(gambrel::trade::share::Species::Beef, 10_000, "4.25");
    let mut text = String::from("Name,Mail,Share,Date,Deposit,Method\n");
    for n in 0..1_000 {
        text.push_str(&format!("Customer {n},c{n}@customers.example,half,3/4/2027,150,check {n}\n"));
    }
    let file = send(&book, Kind::Reservations, &text);
    let seen = tried(&book, Kind::Reservations, file);
    assert_eq!((seen.count(Fate::New), seen.faults.len()), (1_000, 0));
    assert_eq!(take(&book, Kind::Reservations, file, &seen).unwrap().made, 1_000);
    super::is_well(&book);
}
