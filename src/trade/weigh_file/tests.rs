//! What lines of a file say of head, and what is wrong with them.

use super::*;
use crate::trade::weight::Weight;
use proptest::prelude::*;

fn lines(text: &str, unit: Unit) -> Lines {
    let table = Table::from_bytes(text.as_bytes()).unwrap();
    let columns = guessed(&table.headings);
    assert!(mismatched(&table, &columns).is_empty(), "{text}");
    read(&table, &columns, unit)
}

fn faults(text: &str) -> Vec<String> {
    let all = lines(text, Unit::Lb);
    assert!(all.said.is_empty(), "{:?}", all.said);
    all.faults.iter().map(Fault::sentence).collect()
}

fn fates(text: &str) -> Vec<Fate> {
    let all = lines(text, Unit::Lb);
    assert!(all.faults.is_empty(), "{:?}", all.faults);
    all.said.into_iter().map(|s| s.fate).collect()
}

fn lb(text: &str) -> Weight {
    Weight::parse(text).unwrap()
}

fn hung(hung: Hung) -> Fate {
    Fate::Hung { hung, condemned_parts: None }
}

#[test]
fn columns_are_guessed_from_the_words_of_the_trade() {
    for (headings, expected) in [
        ("Ear tag|Carcass no.|Left (lb)|Right (lb)|Total", "left=2 number=1 right=3 tag=0 total=4"),
        (
            "Animal ID|Left fore|Left hind|Right fore|Right hind",
            "left_fore=1 left_hind=2 right_fore=3 right_hind=4 tag=0",
        ),
        ("Tag|Live weight|Hot weight|Condemned|Reason", "condemned=3 note=4 tag=0 total=2"),
        ("Tag|Hot/cold|Hanging weight", "basis=1 tag=0 total=2"),
        ("Date|Customer", ""),
    ] {
        let headings: Vec<String> = headings.split('|').map(String::from).collect();
        let found: Vec<_> = guessed(&headings).into_iter().map(|(k, n)| format!("{k}={n}")).collect();
        assert_eq!(found.join(" "), expected, "{headings:?}");
    }
}

#[test]
fn a_match_that_cannot_be_is_said_at_its_field() {
    let table = Table::from_bytes(b"Tag,Left,Right\n229,1,2\n").unwrap();
    let wrong = |pairs: &[(&str, usize)]| {
        let columns: Matched = pairs.iter().map(|(k, n)| (k.to_string(), *n)).collect();
        mismatched(&table, &columns).into_iter().map(|(f, _)| f).collect::<Vec<_>>()
    };
    assert!(wrong(&[("tag", 0), ("left", 1), ("right", 2)]).is_empty());
    assert_eq!(wrong(&[("left", 1), ("right", 2)]), [Field::Tag]);
    assert_eq!(wrong(&[("tag", 0)]), [Field::Total]);
    assert_eq!(wrong(&[("tag", 0), ("left", 1)]), [Field::Right]);
    assert_eq!(wrong(&[("tag", 0), ("total", 0)]), [Field::Total], "one column, two meanings");
    assert_eq!(wrong(&[("tag", 0), ("total", 7)]), [Field::Total], "no such column");
    assert_eq!(wrong(&[("tag", 0), ("left_fore", 1), ("left_hind", 2)]), [Field::RightFore, Field::RightHind]);
}

#[test]
fn sides_quarters_and_totals_are_read_and_have_to_add_up() {
    let sides = |l: &str, r: &str| hung(Hung::Sides { left: lb(l), right: lb(r) });
    assert_eq!(fates("Tag;Left;Right\n229;389,5;386\n"), [sides("389.5", "386")]);
    assert_eq!(fates("Tag,Left,Right,Total\n229,389.5,386,775.5\n"), [sides("389.5", "386")]);
    assert_eq!(fates("Tag,Left,Right,Total\n229,,,775.5\n"), [hung(Hung::Total(lb("775.5")))]);
    let quarters =
        Hung::Quarters { left_fore: lb("200"), left_hind: lb("189"), right_fore: lb("201"), right_hind: lb("188") };
    assert_eq!(fates("Tag,LF,LH,RF,RH\n229,200,189,201,188\n"), [hung(quarters)]);
    assert_eq!(
        faults("Tag,Left,Right,Total\n229,389.5,386,775\n"),
        [
            "Line 2, column 4 (Total): The total is 775.00, and both sides are 775.50 together. Correct one of them in the file."
        ]
    );
    assert_eq!(
        faults("Tag,Left,Right\n229,389.5,-\n"),
        ["Line 2, column 3 (Right): The right side is blank. Write both sides, or the total only."]
    );
}

#[test]
fn a_unit_that_is_not_the_farms_is_refused_and_never_converted() {
    let says = faults("Tag,Total\n229,350 kg\n");
    assert!(
        says[0].starts_with("Line 2, column 2 (Total): “350 kg”: This weight is in kg and the farm weighs in lb."),
        "{says:?}"
    );
    let says = faults("Tag,Total (kg)\n229,350\n");
    assert!(says[0].starts_with("Line 1, column 2 (Total (kg)): This weight is in kg"), "{says:?}");
    assert!(lines("Tag,Total (kg)\n229,350 kg\n", Unit::Kg).faults.is_empty());
    assert_eq!(fates("Tag,Total\n229,775.5 lb\n230,700#\n").len(), 2);
}

#[test]
fn faults_name_line_and_column_and_every_one_is_said() {
    let text = "Tag,Left,Right,Hot/cold\n229,12x,0,warmish\n230,389.5555,386,hot\n";
    assert_eq!(
        faults(text),
        [
            "Line 2, column 2 (Left): “12x” is not a figure. Write it like 389.5, or leave the cell blank.",
            "Line 2, column 3 (Right): The weight is 0. Leave the cell blank when it was not weighed.",
            "Line 2, column 4 (Hot/cold): “warmish” is neither hot nor cold. Write one of them, or leave it blank.",
            "Line 3, column 2 (Left): “389.5555” has more than 2 decimals. Write it like 389.5.",
        ]
    );
}

#[test]
fn condemned_carcasses_and_parts() {
    let text =
        "Tag,Total,Condemned,Reason\n1,,Whole,Abscesses\n2,180,Liver,\n3,180,x,Liver\n4,180,no,\n5,,,\n6,,whole,\n";
    let parts = |says: &str| Fate::Hung { hung: Hung::Total(lb("180")), condemned_parts: Some(says.into()) };
    assert_eq!(
        fates(text),
        [
            Fate::Condemned("Abscesses".into()),
            parts("Liver"),
            parts("Liver"),
            hung(Hung::Total(lb("180"))),
            Fate::NotYet,
            Fate::Condemned(String::new()),
        ]
    );
    // Never a whole head by a guess: the liver may be gone and the carcass not weighed yet.
    for cell in ["yes", "x", "Liver", "condemned", "parts"] {
        let says = faults(&format!("Tag,Total,Condemned,Reason\n1,,{cell},Abscesses\n"));
        assert!(says[0].contains("no weight is written. Write “whole”"), "{cell}: {says:?}");
    }
    assert!(faults("Tag,Total,Condemned\n1,180,yes\n")[0].contains("Write which ones"));
    assert!(faults("Tag,Total,Condemned\n1,180,whole\n")[0].contains("Take one of them out"));
}

proptest! {
    /// Whatever stands in the cells, each line is said, faulty or blank.
    #[test]
    fn no_cells_break_it(rows in proptest::collection::vec("[^\u{0}]{0,20},[0-9a-z.,# ]{0,8},[ -~]{0,8}", 1..20)) {
        let text = format!("Tag,Left,Right\n{}\n", rows.join("\n"));
        if let Ok(table) = Table::from_bytes(text.as_bytes()) {
            let columns = guessed(&table.headings);
            let all = read(&table, &columns, Unit::Lb);
            prop_assert!(all.said.len() <= table.lines.len());
            prop_assert!(all.faults.iter().all(|f| f.sentence().starts_with("Line ")));
        }
    }
}
