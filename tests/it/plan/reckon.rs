//! `reckon plan`: one JSON object in, one out.

use gambrel::reckon::{What, reckon, run};
use serde_json::{Value, json};

fn input() -> Value {
    json!({
        "animals": [
            {"id": "A1", "species": "beef", "date": "2027-10-04", "processor": "P1", "custom_exempt": true,
             "not_before": "2027-09-01", "expected_hanging": "720", "taken": [{"side": "left", "quarters": 1}]},
            {"id": "A2", "species": "beef", "date": "2027-11-08", "processor": "P1", "custom_exempt": false,
             "not_before": null, "expected_hanging": null, "taken": []}
        ],
        "reservations": [
            {"id": "R1", "species": "beef", "size": "half", "taken_at": "2027-03-01T10:00:00Z", "deposit_paid": true,
             "dates": ["2027-10-04"], "together": null, "weight": {"low": "150", "high": "347.5"},
             "current": {"animal": "A1", "side": "right", "locked": false}},
            {"id": "R9", "species": "beef", "size": "half", "taken_at": "2027-03-02T10:00:00+02:00",
             "deposit_paid": true, "dates": ["2027-10-04"], "together": "g1", "weight": null, "current": null}
        ],
        "sheet_differences": [{"a": "R1", "b": "R9", "blocks": 3}],
        "keep": true, "open_custom_from": 1, "time_limit_ms": 2000
    })
}

fn answer(input: &Value) -> Value {
    serde_json::from_str(&reckon(What::Plan, input.to_string().as_bytes()).unwrap()).unwrap()
}

#[test]
fn the_answer_has_just_these_fields() {
    let got = answer(&input());
    assert_eq!(
        got,
        json!({
            "assignments": [{"reservation": "R1", "animal": "A1", "side": "right", "quarters": 2,
                "why": "It stays on A1 for October 4, 2027, where it stands; about 360 is 12.5 outside the weight it asks for."}],
            "left_out": [{"reservation": "R9",
                "why": "On its dates 1 quarter is free, but a half needs a whole side; 4 quarters are free on November 8, 2027."}],
            "score": {"paid": 4, "unpaid": 0, "moved": 0, "unsold_custom": 1, "groups": 0, "date_rank": 0, "opened": 0,
                "weight_outside": "12.50", "half_filled_sides": 1, "sheet_differences": 0},
            "proven": true, "bound": null
        })
    );
}

#[test]
fn an_empty_farm_has_an_empty_plan() {
    let got = answer(&json!({"animals": [], "reservations": [], "keep": false, "open_custom_from": 4}));
    assert_eq!((&got["assignments"], &got["proven"], &got["bound"]), (&json!([]), &json!(true), &Value::Null));
}

#[test]
fn what_is_not_known_or_not_right_is_refused_where_it_stands() {
    let cases: [(&str, Value, &str); 22] = [
        ("/animals/0/colour", json!("red"), "animals[0].colour"),
        ("/reservations/1/priority", json!(1), "reservations[1].priority"),
        ("/hurry", json!(true), "hurry"),
        ("/animals/0/taken/0/part", json!("fore"), "animals[0].taken[0].part"),
        ("/animals/0/taken/0/quarters", json!(3), "animals[0].taken[0].quarters"),
        ("/animals/0/taken/0/quarters", json!("1"), "animals[0].taken[0].quarters"),
        ("/animals/0/date", json!("2027-02-30"), "animals[0].date"),
        ("/animals/0/expected_hanging", json!("720.125"), "animals[0].expected_hanging"),
        ("/animals/0/expected_hanging", json!(720), "animals[0].expected_hanging"),
        ("/animals/1/id", json!("A1"), "animals[1].id"),
        ("/animals/0/species", json!("deer"), "animals[0].species"),
        ("/reservations/0/size", json!("eighth"), "reservations[0].size"),
        ("/reservations/0/taken_at", json!("2027-03-01"), "reservations[0].taken_at"),
        ("/reservations/0/deposit_paid", json!("yes"), "reservations[0].deposit_paid"),
        ("/reservations/0/weight/low", json!("400"), "reservations[0].weight"),
        ("/reservations/0/weight/low", json!("1.001"), "reservations[0].weight.low"),
        ("/reservations/0/current/animal", json!("A7"), "reservations[0].current.animal"),
        ("/reservations/0/current/locked", Value::Null, "reservations[0].current.locked"),
        ("/sheet_differences/0/b", json!("R7"), "sheet_differences[0].b"),
        ("/sheet_differences/0/blocks", json!(-1), "sheet_differences[0].blocks"),
        ("/open_custom_from", json!(0), "open_custom_from"),
        ("/time_limit_ms", json!(0), "time_limit_ms"),
    ];
    for (path, value, at) in cases {
        let mut bad = input();
        let (parent, name) = path.rsplit_once('/').unwrap();
        let object = if parent.is_empty() { &mut bad } else { bad.pointer_mut(parent).unwrap() };
        object[name] = value;
        let mut out = Vec::new();
        assert_eq!(run(What::Plan, false, &mut bad.to_string().as_bytes(), &mut out), 2, "{path}");
        let refusal: Value = serde_json::from_slice(&out).unwrap();
        assert_eq!(refusal["at"], at, "{refusal}");
        assert!(refusal["error"].as_str().unwrap().len() > 10, "{refusal}");
    }
}

#[test]
fn what_must_be_said_must_be_said() {
    for name in ["animals", "reservations", "keep", "open_custom_from"] {
        let mut bad = input();
        bad.as_object_mut().unwrap().remove(name);
        let refusal = reckon(What::Plan, bad.to_string().as_bytes()).unwrap_err();
        assert_eq!(refusal.at.as_deref(), Some(name));
    }
}

#[test]
fn a_lock_that_cannot_be_kept_is_refused() {
    let mut bad = input();
    bad["reservations"][0]["current"] = json!({"animal": "A1", "side": "left", "locked": true});
    let refusal = reckon(What::Plan, bad.to_string().as_bytes()).unwrap_err();
    assert_eq!(refusal.at.as_deref(), Some("reservations[0].current"));
}

#[test]
fn more_than_one_megabyte_is_refused() {
    let text = format!("{}{}", input(), " ".repeat(1_000_000));
    assert!(reckon(What::Plan, text.as_bytes()).is_err());
}
