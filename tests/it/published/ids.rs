//! The forms of official identification numbers.

use super::rows;
use gambrel::trade::official_id::{BadId, IdKind, is_ain, is_fin, is_pin, recognize};

#[test]
fn every_published_form_is_told_apart() {
    for row in rows(include_str!("../../published/id_formats.csv"), 9) {
        let found = match row.kind.as_str() {
            "ain_valid" => is_ain(&row.inputs, false),
            "pin_valid" => is_pin(&row.inputs),
            "fin_valid" => is_fin(&row.inputs),
            "ain_check" => {
                let number = row.inputs.strip_suffix(" + foreign_born=true").unwrap();
                assert_eq!(recognize(number, true), Err(BadId::ForeignBorn));
                is_ain(number, true)
            }
            other => panic!("{}: {other}", row.id),
        };
        assert_eq!(found, row.expected == "true", "{}", row.id);
    }
}

/// A slide deck of a goat growers' federation says that a premises number "begins with 840": that is the animal's number.
#[test]
fn a_misprint_a_premises_number_does_not_begin_with_840() {
    assert!(!is_pin("840003123456789"));
    assert_eq!(recognize("840003123456789", false).unwrap().0, IdKind::Ain);
}
