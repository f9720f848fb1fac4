//! What may be done. Gambrel decides only the withdrawal period; the other rules are accounted for one by one.

use super::rows;
use chrono::NaiveDateTime;
use gambrel::trade::withdrawal::{ends, may_kill_at};

/// Rules Gambrel does not decide, and why. A row that is neither reckoned nor listed here fails the test.
const NOT_DECIDED: [(&str, &str); 13] = [
    ("RL01", "the farmer and the state's meat inspection program decide when an animal may be slaughtered"),
    ("RL02", "as RL01"),
    ("RL03", "a state's rule about who may own an animal at a custom-exempt plant; shown as a caution"),
    ("RL04", "nothing is resold through Gambrel"),
    ("RL05", "Gambrel sells shares of live animals, not meat across state lines"),
    ("RL06", "as RL05"),
    ("RL07", "belongs to the cut sheets, which are not built"),
    ("RL08", "as RL07"),
    ("RL09", "as RL07"),
    ("RL10", "as RL07"),
    ("RL11", "as RL07"),
    ("RL14", "a state's share sizes: the farmer chooses which sizes an offering sells; there is no eighth"),
    ("RL15", "a state's share sizes: the farmer chooses which sizes an offering sells"),
];

#[test]
fn every_rule_is_reckoned_or_accounted_for() {
    let mut reckoned = 0;
    for row in rows(include_str!("../../published/rules.csv"), 15) {
        let listed = NOT_DECIDED.iter().any(|(id, reason)| *id == row.id && !reason.is_empty());
        if row.kind != "kill_allowed" {
            assert!(listed, "{} is neither reckoned nor accounted for", row.id);
            continue;
        }
        assert!(!listed);
        let at = |key: &str| NaiveDateTime::parse_from_str(row.pair(key), "%Y-%m-%dT%H:%M").unwrap();
        let dose = at("last_dose");
        let end = ends(dose.date(), Some(dose.time()), row.pair("withdrawal_days").parse().unwrap()).unwrap();
        assert_eq!(may_kill_at(end, at("kill")), row.expected == "true", "{}", row.id);
        reckoned += 1;
    }
    assert_eq!(reckoned + NOT_DECIDED.len(), 15);
}
