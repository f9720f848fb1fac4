//! Days, amounts, keys and suggestions; files are in `tests/it/bank_files.rs`.

use super::amount;
use super::day::{self, Order};
use super::suggest::{Candidate, Reason, What, orders_in, suggest};
use super::{Entry, keys};
use crate::trade::money::Money;
use crate::trade::reference;
use crate::trade::sheet_file::figure::Style;
use chrono::NaiveDate;
use proptest::prelude::*;

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn line(day: &str, cents: i64, words: &str) -> Entry {
    Entry { day: date(day), amount: Money::from_cents(cents), words: words.into(), reference: String::new(), id: None }
}

#[test]
fn days_are_read_as_banks_write_them() {
    for (cell, order) in [
        ("2027-10-14", Order::MonthFirst),
        ("20271014", Order::MonthFirst),
        ("10/14/2027", Order::MonthFirst),
        ("10/14/27", Order::MonthFirst),
        ("14.10.2027", Order::DayFirst),
        ("14/10/27", Order::DayFirst),
        ("Oct 14, 2027", Order::DayFirst),
        ("14-Oct-27", Order::MonthFirst),
        ("October 14 2027", Order::MonthFirst),
        ("Thu 10/14/2027", Order::MonthFirst),
        ("2027-10-14T09:30:00", Order::DayFirst),
        ("10/14/2027 9:30 AM", Order::MonthFirst),
    ] {
        assert_eq!(day::read(cell, order), Ok(date("2027-10-14")), "{cell}");
    }
    for cell in ["", "Total", "13/13/2027", "2027-02-29", "14", "10/2027", "99999999", "1/1/1889"] {
        assert!(day::read(cell, Order::MonthFirst).is_err(), "{cell}");
    }
    assert_eq!(day::order(["03/04/2027", "14/04/2027"]), Order::DayFirst);
    assert_eq!(day::order(["03/04/2027", "04/14/2027"]), Order::MonthFirst);
    assert_eq!(day::order(["03/04/2027"]), Order::MonthFirst);
}

#[test]
fn amounts_are_read_as_banks_write_them() {
    let read = |cell: &str, all: &[&str]| {
        let style = amount::style(all.iter().copied().chain([cell]));
        amount::read(cell, style).unwrap().map(|m| m.plain())
    };
    for (cell, says) in [
        ("1234.50", "1234.50"),
        ("$1,234.50", "1234.50"),
        ("(1,234.50)", "-1234.50"),
        ("($5.00)", "-5.00"),
        ("-$5.00", "-5.00"),
        ("$-5.00", "-5.00"),
        ("5.00-", "-5.00"),
        ("5.00 DR", "-5.00"),
        ("5.00 CR", "5.00"),
        ("+5.00", "5.00"),
        ("USD 5", "5.00"),
        ("−5.5", "-5.50"),
        ("1 234,50", "1234.50"),
        // Dollars have no third decimal.
        ("1,234", "1234.00"),
        ("1.234", "1234.00"),
    ] {
        assert_eq!(read(cell, &[]).as_deref(), Some(says), "{cell}");
    }
    assert_eq!(read("1.234", &["12,50"]).as_deref(), Some("1234.00"));
    assert_eq!(read("12,50", &["1.234,00"]).as_deref(), Some("12.50"));
    assert_eq!((read("", &[]), read("--", &[])), (None, None));
    for cell in ["12x", "abc", "1.2.3", "5.0055", "99999999999", "()"] {
        assert!(amount::read(cell, Style::Unknown).is_err(), "{cell}");
    }
}

#[test]
fn references_are_found_in_the_banks_words() {
    let number = "2027-031";
    let good = reference::of(number);
    let plain = good.replace('-', "");
    let spaced = good.replace('-', " ");
    for words in [
        format!("WIRED FROM INES HALVARD {good}"),
        format!("ACH {plain} HALVARD"),
        format!("ref:{spaced};deposit"),
        format!("MOBILE DEP {}", good.replace('-', "/")),
    ] {
        assert!(orders_in(&words, date("2027-10-14")).contains(number), "{words}");
    }
    let none = orders_in("2027-031-2 20271014 715-555-0117", date("2027-10-14"));
    assert!(none.is_empty(), "wrong check sign, a day, a phone: {none:?}");
    // March 16 is the reference 2027-031-6 without its dashes; in a line of that month it is the day.
    assert!(orders_in(&format!("ACH {plain}"), date("2027-03-18")).is_empty());
}

fn candidate(what: What, id: i64, name: &str, cents: i64) -> Candidate {
    let (order, invoice) = (None, None);
    Candidate {
        what,
        id,
        name: name.into(),
        amount: Money::from_cents(cents),
        day: None,
        order,
        invoice,
        check: String::new(),
    }
}

#[test]
fn the_likeliest_comes_first_and_says_why() {
    let open = Candidate {
        order: Some("2027-031".into()),
        invoice: Some("I-2027-003".into()),
        ..candidate(What::Invoice, 1, "Ines Halvard", 40_000)
    };
    let other = candidate(What::Invoice, 2, "Tobias Wren", 41_000);
    let recorded = Candidate {
        day: Some(date("2027-10-12")),
        check: "1204".into(),
        ..candidate(What::Payment, 3, "Ruth Kessel", 41_000)
    };
    let all = [open, other, recorded, candidate(What::Refund, 4, "Ines Halvard", 40_000)];
    let first = |l: &Entry| suggest(l, &all).into_iter().map(|s| (all[s.at].id, s.reasons)).next();
    let (id, why) = first(&line("2027-10-14", 10_000, &format!("P2P {} Halvard", reference::of("2027-031")))).unwrap();
    assert_eq!((id, &why), (1, &vec![Reason::Reference("2027-031-6".into()), Reason::Name("Halvard".into())]));
    let (id, why) = first(&line("2027-10-14", 41_000, "DEPOSIT")).unwrap();
    assert_eq!((id, why), (3, vec![Reason::Amount, Reason::Days(2)]), "what is recorded before what is open");
    let (id, _) = first(&line("2027-10-14", 41_000, "WIRED TOBIAS WREN")).unwrap();
    assert_eq!(id, 3, "recorded and near, all the same");
    assert_eq!(first(&line("2028-10-14", 41_000, "WIRED TOBIAS WREN")).unwrap().0, 2, "a year later it is another");
    assert_eq!(first(&line("2027-10-14", -40_000, "CHECK PAID")).unwrap().0, 4);
    assert_eq!(first(&line("2027-10-14", 12_345, "HALVARD FEED MILL")), None, "a name alone is no reason");
    assert_eq!(first(&line("2027-10-14", 10_000, "invoice I-2027-003")).unwrap().0, 1);
    assert_eq!(first(&line("2027-10-14", 10_000, "invoice I-2027-0031")), None, "another number");
}

fn some_line() -> impl Strategy<Value = Entry> {
    (0_u32..4, 1_i64..4, 0_usize..3, proptest::option::of(0_u8..4)).prop_map(|(day, dollars, words, id)| Entry {
        day: NaiveDate::from_ymd_opt(2027, 10, 1 + day).unwrap(),
        amount: Money::from_cents(dollars * 100),
        words: ["Deposit", "Transfer  from Wren", "TRANSFER FROM WREN"][words].into(),
        reference: String::new(),
        id: id.map(|n| n.to_string()),
    })
}

proptest! {
    /// Two files of whole days that overlap give each line once, whatever equal lines a day has; and the same file again gives none.
    #[test]
    fn files_that_overlap_in_whole_days_give_each_line_once(all in proptest::collection::vec(some_line(), 0..40), a in 0_u32..5, b in 0_u32..5) {
        // Without names of the bank's own: those are known by the name.
        let mut all: Vec<Entry> = all.into_iter().map(|l| Entry { id: None, ..l }).collect();
        all.sort_by_key(|l| l.day);
        let whole: std::collections::BTreeSet<String> = keys(&all).into_iter().collect();
        prop_assert_eq!(whole.len(), all.len(), "every line is known by itself");
        let until = NaiveDate::from_ymd_opt(2027, 10, 1 + a.max(b)).unwrap();
        let from = NaiveDate::from_ymd_opt(2027, 10, 1 + a.min(b)).unwrap();
        let early: Vec<Entry> = all.iter().filter(|l| l.day <= until).cloned().collect();
        let late: Vec<Entry> = all.iter().filter(|l| l.day >= from).cloned().collect();
        let both: std::collections::BTreeSet<String> = keys(&early).into_iter().chain(keys(&late)).collect();
        prop_assert_eq!(both, whole);
    }
    #[test]
    fn a_line_with_a_name_of_the_banks_is_known_by_it_wherever_it_stands(all in proptest::collection::vec(some_line(), 1..40)) {
        let named: Vec<Entry> = all.into_iter().filter(|l| l.id.is_some()).collect();
        let forward = keys(&named);
        let mut turned = named.clone();
        turned.reverse();
        let mut back = keys(&turned);
        back.reverse();
        prop_assert_eq!(forward, back);
    }
    #[test]
    fn whatever_stands_in_a_cell_is_read_or_refused(cell in ".{0,24}") {
        let _ = amount::read(&cell, amount::style([cell.as_str()]));
        let _ = day::read(&cell, day::order([cell.as_str()]));
        let _ = super::ofx::read(&format!("<OFX><STMTRS><STMTTRN>{cell}"));
    }
    #[test]
    fn an_amount_written_any_way_is_the_same(cents in 1_i64..9_999_999) {
        let m = Money::from_cents(cents);
        for (cell, sign) in [(m.dollars(), 1), (format!("({})", m.shown()), -1), (format!("{}-", m.plain()), -1), (format!("{} DR", m.shown()), -1), (m.plain().replace('.', ","), 1)] {
            let read = amount::read(&cell, amount::style([cell.as_str()])).unwrap().unwrap();
            prop_assert_eq!(read.cents(), sign * cents, "{}", cell);
        }
    }
}
