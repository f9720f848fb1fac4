//! Tests of lists: columns, words, cells.

use super::words::{basis, class, method, quarters, sex, share, shares, species, yes};
use super::*;
use crate::trade::animal::Class;
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::{PayMethod, PriceBasis, QuarterPart, Sex};
use proptest::prelude::*;

fn table(text: &str) -> Table {
    Table::read(text).unwrap()
}

fn headings(all: &[&str]) -> Vec<String> {
    all.iter().map(|h| (*h).to_string()).collect()
}

fn lines(kind: Kind, text: &str) -> Lines {
    let table = table(text);
    let columns = guessed(kind, &table.headings);
    assert_eq!(mismatched(kind, &table, &columns), []);
    read(kind, &table, &columns, Unit::Lb)
}

#[test]
fn the_headings_of_the_empty_file_are_understood() {
    for kind in Kind::ALL {
        let labels: Vec<String> = kind.fields().iter().map(|f| f.label().to_string()).collect();
        let found = guessed(*kind, &labels);
        for (n, field) in kind.fields().iter().enumerate() {
            assert_eq!(found.get(field.as_str()), Some(&n), "{kind}: {}", field.label());
        }
    }
}

#[test]
fn columns_are_guessed_from_headings_people_write() {
    let found = |kind, all: &[&str]| {
        let mut found: Vec<_> = guessed(kind, &headings(all)).into_iter().collect();
        found.sort_by_key(|(_, n)| *n);
        found.into_iter().map(|(key, n)| format!("{n} {key}")).collect::<Vec<_>>().join(", ")
    };
    assert_eq!(
        found(Kind::Customers, &["Last Name", "First Name", "E-mail", "Cell", "City", "Zip"]),
        "0 name, 1 first_name, 2 mail, 3 phone, 4 city, 5 zip"
    );
    assert_eq!(
        found(Kind::Reservations, &["Date", "Customer", "Size", "Deposit date", "Deposit", "Check #"]),
        "0 taken_on, 1 name, 2 share, 3 deposit_on, 4 deposit, 5 reference"
    );
    assert_eq!(found(Kind::Animals, &["Ear tag", "Type", "DOB"]), "0 tag, 1 class, 2 born");
}

#[test]
fn a_match_without_what_is_needed_is_refused_with_a_sentence() {
    let table = table("A,B\n1,2\n");
    let chosen = |all: &[(&str, usize)]| all.iter().map(|(k, n)| ((*k).to_string(), *n)).collect::<Matched>();
    let wrong = |kind, all: &[(&str, usize)]| {
        mismatched(kind, &table, &chosen(all)).into_iter().map(|(f, s)| format!("{f}: {s}")).collect::<Vec<_>>()
    };
    assert_eq!(wrong(Kind::Customers, &[]), ["name: Choose the column of “Name”; without it no line can be read."]);
    assert_eq!(
        wrong(Kind::Reservations, &[("share", 0)]),
        ["name: Choose the column of “Name” or “Mail address”; without it no line can be read."]
    );
    assert_eq!(
        wrong(Kind::Customers, &[("name", 0), ("mail", 0), ("phone", 7)]),
        [
            "mail: This column is chosen for “Name” already. Choose another one, or none.",
            "phone: Phone: choose a column of this file."
        ]
    );
}

#[test]
fn the_trades_words_are_read_as_people_write_them() {
    for (text, wanted) in [
        ("half", (Size::Half, None, None)),
        ("½ beef", (Size::Half, None, Some(Species::Beef))),
        ("1/2 Hog", (Size::Half, None, Some(Species::Hog))),
        ("Whole", (Size::Whole, None, None)),
        ("Quarter, split side", (Size::Quarter, None, None)),
        ("1/4", (Size::Quarter, None, None)),
        ("forequarter", (Size::Quarter, Some(Part::Fore), None)),
        ("hind quarter", (Size::Quarter, Some(Part::Hind), None)),
        ("Quarter (front)", (Size::Quarter, Some(Part::Fore), None)),
    ] {
        assert_eq!(share(text), Some(wanted), "{text}");
    }
    assert_eq!([share("third"), share(""), share("beef")], [None, None, None]);
    assert_eq!(shares("whole, half/quarter"), Some(vec![Size::Whole, Size::Half, Size::Quarter]));
    assert_eq!(shares("1/2 and 1/4"), Some(vec![Size::Half, Size::Quarter]));
    assert_eq!(shares("half, third"), None);
    assert_eq!(
        [species("Pigs"), species("grass-fed beef"), species("emu")],
        [Some(Species::Hog), Some(Species::Beef), None]
    );
    assert_eq!(class("Dairy-Steer"), Some(Class::DairySteer));
    assert_eq!(class("beef heifers"), None, "a plural beside a species is not guessed");
    assert_eq!([class("Heifers"), class("beef steer"), class("ox")], [Some(Class::Heifer), Some(Class::Steer), None]);
    assert_eq!([sex("F"), sex("castrated male"), sex("?")], [Some(Sex::Female), Some(Sex::Castrated), None]);
    assert_eq!(method("Check #1204"), Some((PayMethod::Check, "1204".into())));
    assert_eq!(method("cash"), Some((PayMethod::Cash, String::new())));
    assert_eq!(method("barter"), None);
    assert_eq!(
        [basis("hanging weight"), basis("Live"), basis("each"), basis("?")],
        [Some(PriceBasis::Hanging), Some(PriceBasis::Live), Some(PriceBasis::Flat), None]
    );
    assert_eq!(
        [quarters("split side"), quarters("fore & hind")],
        [Some(QuarterPart::Split), Some(QuarterPart::ForeHind)]
    );
    assert_eq!([yes("X"), yes("No"), yes("perhaps")], [Some(true), Some(false), None]);
    // Every word that is written out is read back.
    for one in Size::ALL {
        assert_eq!(share(one.label()).map(|s| s.0), Some(*one));
    }
    for one in Class::ALL {
        assert_eq!([class(one.label()), class(one.as_str())], [Some(*one), Some(*one)]);
    }
    for one in Species::ALL {
        assert_eq!(species(one.label()), Some(*one));
    }
    for one in Sex::ALL {
        assert_eq!(sex(one.as_str()), Some(*one));
    }
    for one in PayMethod::ALL {
        assert_eq!(method(one.as_str()).map(|m| m.0), Some(*one));
    }
    for one in QuarterPart::ALL {
        assert_eq!(quarters(one.label()), Some(*one));
    }
}

#[test]
fn more_lines_than_are_taken_are_refused_with_a_sentence() {
    let text = format!("Name\n{}", "Ada\n".repeat(MOST_LINES + 1));
    let all = lines(Kind::Customers, &text);
    assert_eq!(all.said.len(), 0);
    let says: Vec<_> = all.faults.iter().map(Fault::sentence).collect();
    assert_eq!(says, ["The file has 10001 lines, and at most 10000 are taken at once. Send it in parts."]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Whatever stands in a table, every line gives something or a sentence, and nothing breaks.
    #[test]
    fn no_table_breaks_it(
        kind in proptest::sample::select(Kind::ALL),
        cells in proptest::collection::vec(proptest::collection::vec("[ -~½¼é\t=+@']{0,14}", 1..14), 1..12),
    ) {
        let mut text = kind.fields().iter().map(|f| format!("\"{}\"", f.label())).collect::<Vec<_>>().join(",") + "\n";
        for row in &cells {
            text.push_str(&row.iter().map(|c| format!("\"{}\"", c.replace('"', "\"\""))).collect::<Vec<_>>().join(","));
            text.push('\n');
        }
        if let Ok(table) = Table::read(&text) {
            let all = read(kind, &table, &guessed(kind, &table.headings), Unit::Lb);
            prop_assert!(all.said.len() + all.faults.len() <= table.lines.len() * kind.fields().len());
            for fault in &all.faults {
                prop_assert!(fault.sentence().ends_with('.'), "{}", fault.sentence());
            }
        }
    }

    /// A customer that is written out as a table says it is read back.
    #[test]
    fn customers_are_read_back(name in "[A-Za-zÀ-ž=+@'-][A-Za-zÀ-ž '.-]{0,30}[a-z]", notes in "[ -~\n]{0,60}") {
        use crate::trade::clean::{one_line, several_lines};
        let (name, notes) = (one_line(&name), several_lines(&notes));
        let row = |cells: &[&str]| crate::trade::csv::row(&cells.iter().map(|c| (*c).into()).collect::<Vec<_>>());
        let text = row(&["Name", "Mail address", "Notes"]) + &row(&[&name, "ines@halvard.example", &notes]);
        let (text, _) = crate::trade::sheet_file::decode(text.as_bytes()).unwrap();
        let blank = crate::trade::sheet_file::figure::is_blank;
        prop_assume!(!blank(&name));
        // A note of many lines with commas looks like lines that a stray quotation mark swallowed, and is refused with a sentence; one
        // with many semicolons may make one row alone look like a table between semicolons.
        let read_back = Table::read(&text).ok().filter(|t| t.separator == crate::trade::sheet_file::Separator::Comma);
        if let Some(table) = read_back {
            let all = read(Kind::Customers, &table, &guessed(Kind::Customers, &table.headings), Unit::Lb);
            let Some((_, Said::Person(p))) = all.said.first() else { panic!("{all:?}") };
            prop_assert_eq!(&p.name, &name);
            prop_assert!(p.notes == notes || blank(&notes), "{:?} {:?}", p.notes, notes);
        }
    }
}
