//! What goes out of one book is taken into an empty one, and goes out of that the same.

use super::{is_well, send, taken, tried};
use crate::support::farm::{day, usd};
use crate::support::{TestBook, on_each_engine};
use gambrel::actions::add_customer::{CustomerIn, add_customer};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::change_animal::{AnimalFacts, add_animal};
use gambrel::actions::export_tables::{Table, everything, whole};
use gambrel::actions::offer::{OfferingIn, PriceIn, add_offering, set_prices};
use gambrel::actions::take_reservation::{TakeReservation, Who, take_reservation};
use gambrel::trade::animal::Class;
use gambrel::trade::import_file::Kind;
use gambrel::trade::money::Rate;
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::vocabulary::{BirthPrecision, DepositFate, PriceBasis, QuarterPart, Sex};
use std::io::Read;

fn out(book: &TestBook, table: Table) -> String {
    let today = book.now().today;
    book.read(|c| whole(c, table, today))
}

/// The lines of a table, without some columns.
fn without(text: &str, columns: &[&str]) -> Vec<Vec<String>> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    let out: Vec<usize> = rows[0].iter().enumerate().filter(|(_, h)| columns.contains(h)).map(|(n, _)| n).collect();
    assert_eq!(out.len(), columns.len(), "{:?}", rows[0]);
    let keep = |r: &csv::StringRecord| {
        r.iter().enumerate().filter(|(n, _)| !out.contains(n)).map(|(_, c)| c.to_string()).collect::<Vec<_>>()
    };
    rows.iter().map(keep).collect()
}

fn add(
    book: &TestBook,
    name: &str,
    mail: &str,
    phone: &str,
    address: &str,
    notes: &str,
    no_offers: bool,
) -> gambrel::book::ids::CustomerId {
    let input = CustomerIn {
        name: name.into(),
        mail: mail.into(),
        phone: phone.into(),
        address: address.into(),
        notes: notes.into(),
        no_offers,
    };
    book.act(|tx, doing| add_customer(tx, doing, &input))
}

/// A book with what is hard to carry over: texts that look like formulas, prices that changed, quarters of both kinds, a waiting
/// list, deposits in two parts, something cancelled, dead and living head.
fn full(book: &TestBook) {
    let day_of = |text: &str| (day(text) - day("2027-10-14")).num_days() * crate::support::book::DAY;
    let moved = day_of("2027-03-01");
    book.clock.advance(moved);
    let ines = add(
        book,
        "Ines Halvard",
        "ines@halvard.example",
        "+1 715 555 0117",
        "3 Pell Road\nApt 2, rear\nElm Fork, WI 53000",
        "=HYPERLINK(\"x\")\n\n- likes liver",
        true,
    );
    let ole = add(book, "=Ole, \"the Elder\" Bran", "", "(715) 555-0142", "", "@noon", false);
    let thora = add(book, "Þóra Núñez-O’Neil", "thora@nunez.example", "", "", "'=quoted", false);
    let beef = OfferingIn {
        species: Species::Beef,
        season: "Fall, \"late\" 2027".into(),
        head_count: 1,
        sizes: vec![Size::Whole, Size::Half, Size::Quarter],
        quarter_part: QuarterPart::ForeHind,
        expected_low: Some(crate::support::farm::lb("650")),
        expected_high: Some(crate::support::farm::lb("1050.5")),
        notes: "Grass fed,\nfinished on hay".into(),
    };
    let price = |size, rate: &str| PriceIn {
        size,
        basis: PriceBasis::Hanging,
        rate: Some(Rate::parse(rate).unwrap()),
        flat_price: None,
        deposit: usd("400.00"),
    };
    let flat =
        PriceIn { basis: PriceBasis::Flat, rate: None, flat_price: Some(usd("1790.00")), ..price(Size::Whole, "1") };
    let first = [flat, price(Size::Half, "4.125"), price(Size::Quarter, "4.4")];
    // Of the same words but for its quarters.
    let split = OfferingIn {
        head_count: 2,
        sizes: vec![Size::Half],
        quarter_part: QuarterPart::Split,
        notes: String::new(),
        ..beef.clone()
    };
    let beef = book.act(|tx, doing| add_offering(tx, doing, &beef, &first, day("2027-01-01")));
    let later = [price(Size::Half, "4.5")];
    book.act(|tx, doing| set_prices(tx, doing, beef, &later, day("2027-03-02")));
    let hogs = book.offering_from(Species::Hog, 3, "5.25", "2027-02-01");
    let its_price = [price(Size::Half, "4.6")];
    let split = book.act(|tx, doing| add_offering(tx, doing, &split, &its_price, day("2027-01-01")));
    let take = |who, offering, size, part, wishes: &str| {
        let input =
            TakeReservation { who: Who::Known(who), offering, size, part, wishes: wishes.into(), preferred_date: None };
        book.act(|tx, doing| take_reservation(tx, doing, &input))
    };
    let half = take(ines, beef, Size::Half, None, "-no tongue\nsee her mail");
    book.clock.advance(crate::support::book::DAY);
    take(ole, beef, Size::Quarter, Some(Part::Fore), "");
    take(thora, beef, Size::Quarter, Some(Part::Hind), "");
    take(thora, beef, Size::Half, None, "");
    let gone = take(ole, hogs, Size::Whole, None, "");
    take(ole, hogs, Size::Half, None, "");
    take(ole, hogs, Size::Half, None, "");
    take(thora, split, Size::Half, None, "");
    book.deposit(half, "250.00");
    book.deposit(half, "150.00");
    let version = book.read(|c| Ok(gambrel::book::reservations::get(c, gone)?.0.version));
    let input = Cancel { version, reason: "moved away".into(), fate: DepositFate::None, carry_to: None };
    book.act(|tx, doing| cancel_reservation(tx, doing, gone, &input));
    let head = |class: Class, tag: &str, birth_on: Option<&str>, birth_precision| {
        let facts = AnimalFacts {
            tag: tag.into(),
            species: class.species(),
            class,
            sex: class.sex().unwrap_or(Sex::Female),
            birth_on: birth_on.map(day),
            birth_precision,
            breed: "Angus, red".into(),
            official_id: if tag == "229" { "840 003 000 000 229".into() } else { String::new() },
            notes: "+ limps".into(),
            same_tag_ok: false,
        };
        book.act(|tx, doing| add_animal(tx, doing, &facts))
    };
    head(Class::Steer, "229", Some("2026-04-12"), BirthPrecision::Exact);
    head(Class::Kid, "=7", Some("2027-02-01"), BirthPrecision::Month);
    head(Class::DairySteer, "230", None, BirthPrecision::Unknown);
    book.clock.advance(-moved - crate::support::book::DAY);
}

#[test]
fn a_book_goes_out_and_comes_in_again() {
    on_each_engine(|book| {
        full(book);
        is_well(book);
        let empty = TestBook::at(if book.fresh.is_postgres() {
            crate::support::book::Fresh::postgres().unwrap()
        } else {
            crate::support::book::Fresh::sqlite()
        });
        for (kind, table) in [
            (Kind::Customers, Table::Customers),
            (Kind::Offerings, Table::Offerings),
            (Kind::Animals, Table::Animals),
            (Kind::Reservations, Table::Reservations),
        ] {
            let text = out(book, table);
            let rows = taken(&empty, kind, &text);
            assert!(rows.iter().all(|r| r.contains(" new: ") || r.contains("cancelled")), "{rows:#?}");
            // Numbers of orders are the new book's own; what is cancelled stays behind.
            let apart: &[&str] = if table == Table::Reservations { &["Order number"] } else { &[] };
            let mut before = without(&text, apart);
            if table == Table::Reservations {
                let cancelled = before[0].iter().position(|h| h == "Cancelled").unwrap();
                before.retain(|r| r[cancelled].is_empty() || r[cancelled] == "Cancelled");
                assert_eq!(before.len(), 8, "{before:#?}");
            }
            assert_eq!(without(&out(&empty, table), apart), before);
        }
        is_well(&empty);
        // The same lists once more bring nothing new, and one payment of a deposit is known again.
        let paid = out(&empty, Table::Payments);
        assert!(taken(&empty, Kind::Payments, &paid).iter().all(|r| r.contains(" there: ")));
        for (kind, table) in [
            (Kind::Customers, Table::Customers),
            (Kind::Offerings, Table::Offerings),
            (Kind::Reservations, Table::Reservations),
        ] {
            let file = send(&empty, kind, &out(book, table));
            let seen = tried(&empty, kind, file);
            assert_eq!(seen.count(gambrel::actions::import_list::Fate::New), 0, "{:?}", super::shown(&seen));
        }
    });
}

#[test]
fn no_cell_that_goes_out_is_a_formula() {
    on_each_engine(|book| {
        full(book);
        let mut guarded = 0;
        for table in Table::ALL {
            let text = out(book, *table);
            let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
            for record in reader.records().map(Result::unwrap) {
                for cell in &record {
                    let is_figure =
                        cell.strip_prefix('-').unwrap_or(cell).bytes().all(|b| b.is_ascii_digit() || b == b'.');
                    assert!(
                        is_figure || !cell.trim_start().starts_with(['=', '+', '-', '@', '\t', '\r']),
                        "{table}: {cell}"
                    );
                    guarded += usize::from(cell.starts_with('\''));
                }
            }
        }
        assert!(guarded >= 7, "only {guarded} cells were guarded");
    });
}

#[test]
fn every_table_is_in_the_zip_file_as_it_goes_out_alone() {
    on_each_engine(|book| {
        full(book);
        let hog = book.hung_hog();
        let invoice = book.issue(hog.orders[0]);
        book.pay(invoice, "100.00");
        let today = book.now().today;
        let packed = book.read(|c| everything(c, today));
        let mut zip = zip::ZipArchive::new(std::io::Cursor::new(packed)).unwrap();
        assert_eq!(zip.len(), Table::ALL.len() + 1);
        for table in Table::ALL {
            let mut text = String::new();
            zip.by_name(&format!("{table}.csv")).unwrap().read_to_string(&mut text).unwrap();
            assert_eq!(text, out(book, *table), "{table}");
            assert!(text.ends_with("\r\n"));
            let lines = csv::ReaderBuilder::new().from_reader(text.as_bytes()).records().map(Result::unwrap).count();
            let wanted = match table {
                Table::CutSheets => 0..=9,
                _ => 1..=99,
            };
            assert!(wanted.contains(&lines), "{table}: {lines}");
        }
    });
}

#[test]
fn tables_larger_than_a_page_lose_and_double_nothing() {
    let book = TestBook::sqlite();
    let mut text = String::from("Name,Mail\n");
    for n in 0..1_250 {
        text.push_str(&format!("Customer {n},c{n}@customers.example\n"));
    }
    taken(&book, Kind::Customers, &text);
    let rows = without(&out(&book, Table::Customers), &[]);
    let names: std::collections::HashSet<&String> = rows.iter().skip(1).map(|r| &r[0]).collect();
    assert_eq!((rows.len(), names.len()), (1_251, 1_250));
}
