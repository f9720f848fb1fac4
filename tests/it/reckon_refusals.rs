//! `gambrel reckon`: what is refused, in which words and at which place, by the binary itself.

use std::io::Write;
use std::process::{Command, Stdio};

/// Runs the binary and returns its exit status and what it wrote on standard output.
pub(crate) fn gambrel(args: &[&str], input: &[u8]) -> (i32, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_gambrel"))
        .args(args)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the binary starts");
    // It may stop reading before the end of too long an input.
    let _ = child.stdin.take().expect("a pipe").write_all(input);
    let output = child.wait_with_output().expect("it ends");
    (output.status.code().expect("a status"), String::from_utf8(output.stdout).expect("UTF-8"))
}

/// The refusal of each input, as `(input, at, error)`.
fn refusals(what: &str, inputs: &[&str]) -> Vec<(String, String, String)> {
    let joined = inputs.iter().map(|s| s.replace('\n', " ")).collect::<Vec<_>>().join("\n");
    let (status, output) = gambrel(&["reckon", what, "--lines"], joined.as_bytes());
    assert_eq!(status, 2);
    let lines: Vec<_> = output.lines().collect();
    assert_eq!(lines.len(), inputs.len(), "one answer for each line");
    let read = |line: &str| -> (String, String) {
        let answer: serde_json::Map<String, serde_json::Value> = serde_json::from_str(line).expect("JSON");
        assert!(answer.keys().eq(["at", "error"]) || answer.keys().eq(["error", "at"]), "{line}");
        let text = |name: &str| answer[name].as_str().expect("a string").to_string();
        (text("at"), text("error"))
    };
    lines
        .iter()
        .zip(inputs)
        .map(|(line, input)| {
            let (at, error) = read(line);
            (input.to_string(), at, error)
        })
        .collect()
}

fn assert_refused(what: &str, cases: &[(&str, &str, &str)]) {
    let inputs: Vec<_> = cases.iter().map(|c| c.0).collect();
    for ((input, at, error), (_, want_at, want_words)) in refusals(what, &inputs).into_iter().zip(cases) {
        assert_eq!(at, *want_at, "at, for {input}: {error}");
        assert!(error.contains(want_words), "“{want_words}” is not in “{error}”, for {input}");
    }
}

fn weights(carcass: &str, shares: &str) -> String {
    format!(r#"{{"unit":"lb","basis":"as_hung","carcass":{carcass},"shares":[{shares}]}}"#)
}

#[test]
fn weights_are_refused_with_a_place_and_a_sentence() {
    let total = r#"{"total":"163"}"#;
    let half = r#"{"id":"A","size":"half","side":"left"}"#;
    let share = |rest: &str| weights(total, &format!("{half},{rest}"));
    let made: Vec<(String, &str, &str)> = vec![
        (String::from("{"), "", "not one JSON object"),
        (String::from("[]"), "", "a list"),
        (String::from("{} {}"), "", "not one JSON object"),
        (weights(r#"{"total":163}"#, ""), "carcass.total", "This is a number"),
        (weights(r#"{"total":"1e2"}"#, ""), "carcass.total", "is not a figure"),
        (weights(r#"{"total":"163.001"}"#, ""), "carcass.total", "more than 2 decimals"),
        (weights(r#"{"total":"-1"}"#, ""), "carcass.total", "outside"),
        (weights(r#"{"total":"100000"}"#, ""), "carcass.total", "outside"),
        (weights(r#"{"total":"0.00"}"#, ""), "carcass", "weighs nothing"),
        (weights(r#"{"left":"0","right":"0"}"#, half), "carcass", "weighs nothing"),
        (weights(r#"{"left":"99999.99","right":"0.01"}"#, half), "carcass", "more than can be recorded"),
        (weights("{}", ""), "carcass", "in one way"),
        (weights(r#"{"total":"1","left":"1","right":"1"}"#, ""), "carcass", "in one way"),
        (weights(r#"{"left":"1","left_fore":"1"}"#, ""), "carcass", "in one way"),
        (weights(r#"{"left":"1"}"#, ""), "carcass.right", "missing"),
        (weights(r#"{"left_fore":"1","left_hind":"1","right_fore":"1"}"#, ""), "carcass.right_hind", "missing"),
        (weights(r#"{"total":"1","total":"1"}"#, ""), "carcass.total", "twice"),
        (weights(r#"{"total":"1","hot":"1"}"#, ""), "carcass.hot", "“hot” is not a field"),
        (share(r#"{"id":"A","size":"half","side":"right"}"#), "shares[1].id", "already"),
        (share(r#"{"id":"B","size":"half","side":"left"}"#), "shares[1]", "no room"),
        (share(r#"{"id":"B","size":"quarter","side":"left"}"#), "shares[1]", "no room"),
        (share(r#"{"id":"B","size":"whole"}"#), "shares[1]", "cannot be shared"),
        (share(r#"{"id":"B","size":"half"}"#), "shares[1].side", "missing"),
        (share(r#"{"id":"B","size":"half","side":"right","part":"split"}"#), "shares[1].part", "Leave"),
        (weights(total, r#"{"id":"A","size":"whole","side":"left"}"#), "shares[0].side", "Leave"),
        (weights(total, r#"{"id":"A","size":"whole","part":"fore"}"#), "shares[0].part", "Leave"),
        (weights(total, r#"{"id":"A","size":"eighth","side":"left"}"#), "shares[0].size", "whole, half, quarter"),
        (
            weights(total, r#"{"id":"A","size":"quarter","side":"left","part":"top"}"#),
            "shares[0].part",
            "split, fore, hind",
        ),
        (weights(total, r#"{"id":1,"size":"whole"}"#), "shares[0].id", "a number"),
        (weights(total, r#"{"id":" ","size":"whole"}"#), "shares[0].id", "empty"),
        (weights(total, r#"{"id":"A","size":"whole","name":"x"}"#), "shares[0].name", "not a field"),
        (
            weights(
                total,
                r#"{"id":"A","size":"quarter","side":"left"},{"id":"B","size":"quarter","side":"left","part":"fore"}"#,
            ),
            "shares[1]",
            "no room",
        ),
        (String::from(r#"{"basis":"even","carcass":{"total":"1"},"shares":[]}"#), "unit", "missing"),
        (String::from(r#"{"unit":"st","basis":"even","carcass":{"total":"1"},"shares":[]}"#), "unit", "lb, kg"),
        (String::from(r#"{"unit":"lb","basis":"odd","carcass":{"total":"1"},"shares":[]}"#), "basis", "as_hung, even"),
        (String::from(r#"{"unit":"lb","basis":"even","carcass":{"total":"1"}}"#), "shares", "missing"),
        (String::from(r#"{"unit":"lb","basis":"even","carcass":null,"shares":[]}"#), "carcass", "null"),
        (
            String::from(r#"{"unit":"lb","unit":"lb","basis":"even","carcass":{"total":"1"},"shares":[]}"#),
            "unit",
            "twice",
        ),
    ];
    assert_refused("weights", &made.iter().map(|(i, a, w)| (i.as_str(), *a, *w)).collect::<Vec<_>>());
}

#[test]
fn invoices_are_refused_with_a_place_and_a_sentence() {
    let charge = |fields: &str| {
        format!(
            r#"{{"weight":"163","price_per_unit":"5.25","share_of_head":"0.5","charges":[
                {{"name":"Kill fee","per":"head","rate":"95","billed_by":"farm"}},{{"name":"x",{fields}}}]}}"#
        )
    };
    let with = |fields: &str| format!(r#"{{"weight":"163","price_per_unit":"5.25","share_of_head":"0.5",{fields}}}"#);
    let made: Vec<(String, &str, &str)> = vec![
        (charge(r#""per":"share","rate":"1.00001","billed_by":"farm""#), "charges[1].rate", "more than 4 decimals"),
        (charge(r#""per":"share","rate":95,"billed_by":"farm""#), "charges[1].rate", "a number"),
        (charge(r#""per":"share","rate":"-1","billed_by":"farm""#), "charges[1].rate", "outside"),
        (charge(r#""per":"share","billed_by":"farm""#), "charges[1].rate", "missing"),
        (charge(r#""per":"share","rate":"1""#), "charges[1].billed_by", "missing"),
        (
            charge(r#""per":"side","rate":"1","billed_by":"farm""#),
            "charges[1].per",
            "head, share, unit_hanging, unit_product",
        ),
        (charge(r#""per":"unit_product","rate":"1","billed_by":"farm""#), "charges[1].quantity", "needs its quantity"),
        (charge(r#""per":"head","rate":"1","quantity":"1","billed_by":"farm""#), "charges[1].quantity", "Leave it out"),
        (
            charge(r#""per":"unit_hanging","rate":"1","quantity":"1","billed_by":"farm""#),
            "charges[1].quantity",
            "Leave it out",
        ),
        (
            charge(r#""per":"share","rate":"1","minimum_quantity":"1","billed_by":"farm""#),
            "charges[1].minimum_quantity",
            "minimum weight",
        ),
        (
            charge(r#""per":"share","rate":"1","minimum_amount":"-1","billed_by":"farm""#),
            "charges[1].minimum_amount",
            "negative",
        ),
        (
            charge(r#""per":"share","rate":"1","tax_percent":"5.5555","billed_by":"farm""#),
            "charges[1].tax_percent",
            "3 decimals",
        ),
        (
            charge(r#""per":"share","rate":"1","tax_percent":"101","billed_by":"farm""#),
            "charges[1].tax_percent",
            "outside",
        ),
        (
            charge(r#""per":"share","rate":"1","colour":"red","billed_by":"farm""#),
            "charges[1].colour",
            "“colour” is not a field",
        ),
        (charge(r#""per":"share","rate":"1","rate":"1","billed_by":"farm""#), "charges[1].rate", "twice"),
        (
            charge(r#""per":"unit_product","rate":"99999.9999","quantity":"99999.99","billed_by":"farm""#),
            "charges[1].rate",
            "more than",
        ),
        (String::from(r#"{"weight":"163","share_of_head":"0.5"}"#), "price_per_unit", "missing"),
        (with(r#""flat_price":"1""#), "flat_price", "not both"),
        (String::from(r#"{"weight":"163","flat_price":"-1","share_of_head":"1"}"#), "flat_price", "negative"),
        (String::from(r#"{"weight":"0","flat_price":"1","share_of_head":"1"}"#), "weight", "zero"),
        (String::from(r#"{"flat_price":"1","share_of_head":"1"}"#), "weight", "missing"),
        (String::from(r#"{"weight":"1","flat_price":"1"}"#), "share_of_head", "missing"),
        (String::from(r#"{"weight":"1","flat_price":"1","share_of_head":"0.33"}"#), "share_of_head", "1, 0.5 or 0.25"),
        (
            String::from(r#"{"weight":"1","flat_price":"1","share_of_head":"1","payments":["1","0"]}"#),
            "payments[1]",
            "more than zero",
        ),
        (with(r#""payments":["-1"]"#), "payments[0]", "more than zero"),
        (with(r#""payments":{}"#), "payments", "an object"),
        (with(r#""deposit":"-1""#), "deposit", "negative"),
        (with(r#""deposit":150"#), "deposit", "a number"),
        (with(r#""deposit":null"#), "deposit", "null"),
        (with(r#""adjustments":[{"name":"x","amount":"-855.76"}]"#), "adjustments", "discounts"),
        (with(r#""adjustments":[{"name":"","amount":"1"}]"#), "adjustments[0].name", "empty"),
        (with(r#""adjustments":[{"name":"a\nb","amount":"1"}]"#), "adjustments[0].name", "control character"),
        (
            with(r#""adjustments":[{"name":"x","amount":"1","billed_by":"farm"}]"#),
            "adjustments[0].billed_by",
            "not a field",
        ),
        (with(r#""unit":"lb""#), "unit", "not a field"),
    ];
    assert_refused("invoice", &made.iter().map(|(i, a, w)| (i.as_str(), *a, *w)).collect::<Vec<_>>());
}

#[test]
fn a_refusal_is_one_object_and_exit_status_2() {
    for input in [&b""[..], b"\xff", b"{\"unit\":\"\xff\"}", &vec![b'['; 1_000_000], &vec![b' '; 2_000_000]] {
        let (status, output) = gambrel(&["reckon", "weights"], input);
        assert_eq!(status, 2);
        assert!(output.starts_with(r#"{"error":""#) && output.ends_with("\",\"at\":\"\"}\n"), "{output}");
        assert_eq!(output.lines().count(), 1);
    }
}
