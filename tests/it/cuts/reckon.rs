//! `reckon take-home` and `reckon catalogue`: field names, answers byte for byte, refusals and their places.

use gambrel::reckon::{LONGEST, What, catalogue, reckon, run};
use gambrel::trade::share::Species;
use serde_json::Value;

fn refused(input: &str, at: &str, words: &str) {
    let refusal = reckon(What::TakeHome, input.as_bytes()).expect_err(input);
    assert_eq!((refusal.at.as_deref(), refusal.broken.len()), (Some(at), 0), "{refusal:?}");
    assert!(refusal.error.contains(words), "{}", refusal.error);
}

const HOG: &str = r#""species":"hog","unit":"lb","hanging_weight":"90","share":"half""#;

#[test]
fn a_hog_half_with_sausage_byte_for_byte() {
    let input = format!(
        r#"{{{HOG},"age_months":null,"head":"off","skin":"off","sheet":{{"blocks":{{"ham_body":"grind","belly":"fresh_slab"}},
        "parameters":{{"pork_chop_in":"1","ground_pkg_lb":"2"}},"sausage":[{{"seasoning":"breakfast","form":"bulk","weight":"15"}}],
        "parts":["heart"]}}}}"#
    );
    let text = reckon(What::TakeHome, input.as_bytes()).unwrap();
    let answer: Value = serde_json::from_str(&text).unwrap();
    let holds = |part: &str| assert!(text.contains(part), "{part} in {text}");
    holds(
        r#""sausage":[{"seasoning":"breakfast","form":"bulk","low":"15.00","expected":"15.00","high":"15.00","packages":"15"}],"parts":[{"part":"heart","expected":"0.30"}],"packaged":{"low""#,
    );
    // Center loin: 98 % of 90 lb, 10.3 % of it, 80 % of that is 7.2677; 17 in at 1 1/16 are 16 chops in packs of 4.
    // Reckoned as two quarters of 3.63, which is why it is not 7.27.
    holds(
        r#"{"cut":"loin_chop_bone_in","block":"loin_centre","low":"6.54","expected":"7.26","high":"7.98","pieces":"16","packages":"4"}"#,
    );
    let names: Vec<&String> = answer.as_object().unwrap().keys().collect();
    let want = [
        "lines",
        "ground",
        "sausage",
        "parts",
        "packaged",
        "percent_of_hanging",
        "bone",
        "fat",
        "loss",
        "shrink",
        "freezer_cubic_feet",
        "cautions",
    ];
    let mut want: Vec<&str> = want.to_vec();
    want.sort_unstable();
    let mut names: Vec<&str> = names.iter().map(|n| n.as_str()).collect();
    names.sort_unstable();
    assert_eq!(names, want);
    let keys = |v: &Value| v.as_object().unwrap().keys().cloned().collect::<Vec<_>>();
    for (value, wanted) in [
        (&answer["ground"], "expected high low packages"),
        (&answer["packaged"], "expected high low"),
        (&answer["freezer_cubic_feet"], "high low"),
    ] {
        let mut keys = keys(value);
        keys.sort_unstable();
        assert_eq!(keys.join(" "), wanted);
    }
    assert!(text.starts_with(r#"{"lines":[{"cut":"#), "{text}");
}

#[test]
fn kilograms_are_packed_and_frozen_in_pounds() {
    let ask = |unit: &str, weight: &str| -> Value {
        let input = format!(
            r#"{{"species":"lamb","unit":"{unit}","hanging_weight":"{weight}","share":"whole","sheet":"standard"}}"#
        );
        serde_json::from_str(&reckon(What::TakeHome, input.as_bytes()).unwrap()).unwrap()
    };
    // 45.359237 kg are 100 lb.
    let (kg, lb) = (ask("kg", "45.36"), ask("lb", "100"));
    assert_eq!(kg["ground"]["packages"], lb["ground"]["packages"]);
    let feet = |v: &Value, end: &str| v["freezer_cubic_feet"][end].as_str().unwrap().parse::<f64>().unwrap();
    assert!(
        (feet(&kg, "low") - feet(&lb, "low")).abs() <= 0.01 && (feet(&kg, "high") - feet(&lb, "high")).abs() <= 0.01
    );
    let packaged = |v: &Value, end: &str| v["packaged"][end].as_str().unwrap().parse::<f64>().unwrap();
    assert!((feet(&lb, "low") - packaged(&lb, "low") / 40.0).abs() < 0.006);
    assert!((feet(&lb, "high") - packaged(&lb, "high") / 35.0).abs() < 0.006);
}

#[test]
fn bad_input_says_where() {
    refused("", "", "There is no input");
    refused("[]", "", "Give an object");
    refused(r#"{"species":"emu"}"#, "species", "emu");
    refused(&format!(r#"{{{HOG},"sheet":"standard","wrap":"paper"}}"#), "wrap", "not a field");
    refused(&format!(r#"{{{HOG}}}"#), "sheet", "missing");
    refused(&format!(r#"{{{HOG},"sheet":"usual"}}"#), "sheet", "standard");
    refused(&format!(r#"{{{HOG},"sheet":{{"cuts":[]}}}}"#), "sheet.cuts", "not a field");
    refused(&format!(r#"{{{HOG},"sheet":{{"blocks":{{"loin":"grind"}}}}}}"#), "sheet.blocks.loin", "loin_centre");
    refused(&format!(r#"{{{HOG},"sheet":{{"blocks":{{"belly":"ham"}}}}}}"#), "sheet.blocks.belly", "fresh_side_sliced");
    refused(&format!(r#"{{{HOG},"sheet":{{"blocks":{{"belly":1}}}}}}"#), "sheet.blocks.belly", "a number");
    refused(
        &format!(r#"{{{HOG},"sheet":{{"parameters":{{"pork_chop_in":1}}}}}}"#),
        "sheet.parameters.pork_chop_in",
        "a number",
    );
    refused(
        &format!(r#"{{{HOG},"sheet":{{"parameters":{{"pork_chop_in":"1e0"}}}}}}"#),
        "sheet.parameters.pork_chop_in",
        "not a figure",
    );
    refused(
        &format!(r#"{{{HOG},"sheet":{{"parameters":{{"steak_in":"1"}}}}}}"#),
        "sheet.parameters.steak_in",
        "pork_chop_in",
    );
    refused(
        &format!(r#"{{{HOG},"sheet":{{"parameters":{{"ground_pkg_lb":"3"}}}}}}"#),
        "sheet.parameters.ground_pkg_lb",
        "1, 1.5, 2 or 5",
    );
    refused(
        &format!(r#"{{{HOG},"sheet":{{"sausage":[{{"seasoning":"plain","form":"bulk","weight":"1"}}]}}}}"#),
        "sheet.sausage[0].seasoning",
        "breakfast",
    );
    refused(
        &format!(r#"{{{HOG},"sheet":{{"sausage":[{{"seasoning":"maple","form":"coil","weight":"1"}}]}}}}"#),
        "sheet.sausage[0].form",
        "bulk, link, patty",
    );
    refused(
        &format!(r#"{{{HOG},"sheet":{{"sausage":[{{"seasoning":"maple","form":"bulk","weight":"0"}}]}}}}"#),
        "sheet.sausage[0].weight",
        "weighs nothing",
    );
    refused(
        &format!(r#"{{{HOG},"sheet":{{"sausage":[{{"seasoning":"maple","form":"bulk","weight":5}}]}}}}"#),
        "sheet.sausage[0].weight",
        "a number",
    );
    refused(&format!(r#"{{{HOG},"sheet":{{"parts":["wing"]}}}}"#), "sheet.parts[0]", "heart");
    refused(&format!(r#"{{{HOG},"sheet":{{"parts":["leaf_fat"]}}}}"#), "sheet.parts[0]", "hangs with the side");
    refused(
        r#"{"species":"hog","unit":"lb","hanging_weight":"0","share":"half","sheet":"standard"}"#,
        "hanging_weight",
        "above 0",
    );
    refused(
        r#"{"species":"hog","unit":"lb","hanging_weight":90,"share":"half","sheet":"standard"}"#,
        "hanging_weight",
        "a number",
    );
    refused(
        r#"{"species":"hog","unit":"lb","hanging_weight":"90.001","share":"half","sheet":"standard"}"#,
        "hanging_weight",
        "2 decimals",
    );
    let beef = r#""species":"beef","unit":"lb","hanging_weight":"360","share":"half""#;
    refused(&format!(r#"{{{beef},"sheet":"standard","skin":"off"}}"#), "skin", "only for hog");
    refused(&format!(r#"{{{beef},"sheet":"standard","head":"on"}}"#), "head", "only for hog, lamb and goat");
    refused(&format!(r#"{{{beef},"sheet":"standard","age_months":"20"}}"#), "age_months", "without quotes");
    refused(&format!(r#"{{{beef},"sheet":"standard","age_months":20.5}}"#), "age_months", "whole number");
    refused(&format!(r#"{{{beef},"sheet":"standard","age_months":-1}}"#), "age_months", "whole number");
    refused(&format!(r#"{{{beef},"sheet":{{"partitions":{{"rib":[]}}}}}}"#), "sheet.partitions.rib", "empty");
    refused(
        &format!(r#"{{{beef},"sheet":{{"partitions":{{"rib":[{{"choice":"rib_roast_bone_in","pieces":"3"}}]}}}}}}"#),
        "sheet.partitions.rib[0].pieces",
        "without quotes",
    );
    refused(
        &format!(r#"{{{beef},"sheet":{{"partitions":{{"rib":[{{"choice":"rib_roast_bone_in","pieces":0}}]}}}}}}"#),
        "sheet.partitions.rib[0].pieces",
        "no pieces",
    );
    refused(
        &format!(r#"{{{beef},"sheet":{{"partitions":{{"rib":[{{"choice":"chops","pieces":7}}]}}}}}}"#),
        "sheet.partitions.rib[0].choice",
        "ribeye_boneless",
    );
    refused(&format!(r#"{{{beef},"share":"half","sheet":"standard"}}"#), "share", "twice");
}

#[test]
fn broken_rules_answer_without_at_and_with_status_2() {
    let input = format!(r#"{{{HOG},"sheet":{{"blocks":{{"loin_centre":"crown_roast"}}}}}}"#);
    let mut out = Vec::new();
    assert_eq!(run(What::TakeHome, false, &mut input.as_bytes(), &mut out), 2);
    let answer: Value = serde_json::from_slice(&out).unwrap();
    assert!(answer["error"].is_string() && answer.get("at").is_none());
    assert_eq!(answer["broken"][0]["rule"], "H9");
    assert_eq!(answer["broken"][1]["rule"], "V22");
    assert_eq!(answer["broken"][0]["why"], answer["error"], "one sentence, said once");
}

#[test]
fn too_long_an_input_is_refused_and_the_next_line_still_answered() {
    let long = format!("{{\"x\":\"{}\"}}", "a".repeat(LONGEST));
    let good = format!(r#"{{{HOG},"sheet":"standard"}}"#);
    let mut out = Vec::new();
    assert_eq!(run(What::TakeHome, true, &mut format!("{long}\n\n{good}\n").as_bytes(), &mut out), 2);
    let text = String::from_utf8(out).unwrap();
    let lines: Vec<_> = text.lines().collect();
    assert!(lines.len() == 2 && lines[0].contains("longer than 1 MB") && lines[1].starts_with("{\"lines\""), "{text}");
}

#[test]
fn the_catalogue_prints_what_holds_with_source_and_mark() {
    for species in Species::ALL {
        let answer: Value = serde_json::from_str(&catalogue(*species).unwrap()).unwrap();
        for name in [
            "species",
            "blocks",
            "parts",
            "profiles",
            "cuts",
            "parameters",
            "seasonings",
            "forms",
            "storage",
            "freezer",
            "rules",
            "sources",
            "shrink",
        ] {
            assert!(!answer[name].is_null(), "{species} {name}");
        }
        let sources = answer["sources"].as_object().unwrap();
        let mut marked = 0;
        marks(&answer, sources, &mut marked);
        assert!(marked > 100, "{marked} figures");
        for block in answer["blocks"].as_array().unwrap() {
            assert!(block["share"].is_string() && block["mark"].is_string() && block["yields"]["mark"].is_string());
            assert!(!block["choices"].as_array().unwrap().is_empty());
        }
    }
    let beef: Value = serde_json::from_str(&catalogue(Species::Beef).unwrap()).unwrap();
    let rib = beef["blocks"].as_array().unwrap().iter().find(|b| b["id"] == "rib").unwrap();
    assert_eq!(rib["pieces"]["number"], 7);
    let steak = beef["parameters"].as_array().unwrap().iter().find(|p| p["id"] == "steak_in").unwrap();
    assert_eq!(steak["number"]["most"], "2");
}

/// Every `source` in the answer is explained, and stands beside a `mark` or a name.
fn marks(value: &Value, sources: &serde_json::Map<String, Value>, marked: &mut usize) {
    match value {
        Value::Object(map) => {
            if let Some(keys) = map.get("source") {
                for key in keys.as_array().unwrap() {
                    assert!(sources.contains_key(key.as_str().unwrap()), "{key} is not explained");
                }
                *marked += usize::from(map.contains_key("mark"));
            }
            map.values().for_each(|v| marks(v, sources, marked));
        }
        Value::Array(list) => list.iter().for_each(|v| marks(v, sources, marked)),
        Value::Number(n) => assert!(n.is_u64(), "{n} is no count"),
        _ => {}
    }
}

#[test]
fn storage_is_what_the_chart_says() {
    let beef: Value = serde_json::from_str(&catalogue(Species::Beef).unwrap()).unwrap();
    let months = |id: &str| {
        let kind = beef["storage"].as_array().unwrap().iter().find(|s| s["id"] == id).unwrap();
        (kind["months"]["low"].as_u64().unwrap(), kind["months"]["high"].as_u64().unwrap())
    };
    // foodsafety.gov chart, 0 F: ground 3-4, steaks 6-12, chops 4-6, roasts 4-12, bacon 1, raw sausage 1-2; ham 1-2.
    let want = [
        ("ground_and_stew", (3, 4)),
        ("steaks", (6, 12)),
        ("chops", (4, 6)),
        ("roasts", (4, 12)),
        ("bacon", (1, 1)),
        ("sausage", (1, 2)),
        ("ham", (1, 2)),
    ];
    for (id, range) in want {
        assert_eq!(months(id), range, "{id}");
    }
    assert_eq!(
        (&beef["freezer"]["lb_per_cubic_foot_low"], &beef["freezer"]["lb_per_cubic_foot_high"]),
        (&Value::from("35"), &Value::from("40"))
    );
}

#[test]
fn a_forequarter_and_a_hindquarter_of_beef_are_reckoned_from_their_own_weight() {
    let ask = |species: &str, share: &str, blocks: &str| {
        let input = format!(
            r#"{{"species":"{species}","unit":"lb","hanging_weight":"162","share":"{share}","age_months":20,"sheet":{{"blocks":{{{blocks}}}}}}}"#
        );
        reckon(What::TakeHome, input.as_bytes())
    };
    let answer: Value = serde_json::from_str(&ask("beef", "hindquarter", "").unwrap()).unwrap();
    let lines = answer["lines"].as_array().unwrap();
    let tbone = lines.iter().find(|l| l["block"] == "short_loin").unwrap();
    assert_eq!((tbone["cut"].as_str(), tbone["pieces"].as_str()), (Some("tbone_porterhouse"), Some("14")));
    assert!(lines.iter().all(|l| l["block"] != "rib"), "{lines:?}");
    let sum: i64 = ["bone", "fat", "loss", "shrink"]
        .map(|k| answer[k].as_str().unwrap())
        .into_iter()
        .chain([answer["packaged"]["expected"].as_str().unwrap()])
        .map(|text| text.replace('.', "").parse::<i64>().unwrap())
        .sum();
    assert_eq!(sum, 16_200, "to the hundredth");
    let wrong = ask("beef", "forequarter", r#""short_loin":"tbone""#).unwrap_err();
    assert_eq!(wrong.broken[0].at, "sheet.blocks.short_loin");
    assert!(wrong.broken[0].why.contains("lies in the hindquarter"), "{:?}", wrong.broken);
    assert!(ask("hog", "forequarter", "").unwrap_err().broken.iter().any(|n| n.rule == "V19"));
}
