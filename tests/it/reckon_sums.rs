//! `gambrel reckon`: exact answers, byte for byte.

use crate::reckon_refusals::gambrel;

fn answers(what: &str, input: &str, want: &str) {
    let (status, output) = gambrel(&["reckon", what], input.as_bytes());
    let want: String = want.lines().map(str::trim).collect();
    assert_eq!((status, output.trim_end()), (0, want.as_str()), "{input}");
}

#[test]
fn a_half_that_hangs_on_the_left() {
    answers(
        "weights",
        r#"{"unit":"lb","basis":"as_hung","carcass":{"left":"82.5","right":"80"},
            "shares":[{"id":"A","size":"half","side":"left"}]}"#,
        r#"{"shares":[{"id":"A","weight":"82.50","estimated":false}],"billed":"82.50","unsold":"80.00","total":"162.50"}"#,
    );
}

#[test]
fn the_same_carcass_weighed_in_three_ways() {
    let shares = r#""shares":[{"id":"A","size":"half","side":"right"},{"id":"B","size":"quarter","side":"left","part":"hind"},
        {"id":"C","size":"quarter","side":"left","part":"fore"}]"#;
    let ask = |basis: &str, carcass: &str| format!(r#"{{"unit":"kg","basis":"{basis}","carcass":{carcass},{shares}}}"#);
    let say = |a: &str, b: &str, c: &str, estimated: bool| {
        format!(
            r#"{{"shares":[{{"id":"A","weight":"{a}","estimated":false}},{{"id":"B","weight":"{b}","estimated":{estimated}}},
            {{"id":"C","weight":"{c}","estimated":{estimated}}}],"billed":"163.01","unsold":"0.00","total":"163.01"}}"#
        )
    };
    // 81.51 x 45 % = 36.6795 and x 55 % = 44.8305: the hind has the larger remainder.
    answers("weights", &ask("as_hung", r#"{"total":"163.01"}"#), &say("81.50", "36.68", "44.83", true));
    // 83.01 x 45 % = 37.3545 and x 55 % = 45.6555: now the fore has it.
    answers("weights", &ask("as_hung", r#"{"left":"83.01","right":"80"}"#), &say("80.00", "37.35", "45.66", true));
    let quarters = r#"{"left_fore":"46","left_hind":"37.01","right_fore":"44","right_hind":"36"}"#;
    answers("weights", &ask("as_hung", quarters), &say("80.00", "37.01", "46.00", false));
    for carcass in [r#"{"total":"163.01"}"#, r#"{"left":"83.01","right":"80"}"#, quarters] {
        answers("weights", &ask("even", carcass), &say("81.50", "40.76", "40.75", false));
    }
}

#[test]
fn an_invoice_with_every_kind_of_line() {
    answers(
        "invoice",
        r#"{"weight":"110.25","price_per_unit":"4.5555","share_of_head":"0.25","share_tax_percent":"2.125","charges":[
            {"name":"Kill fee","per":"head","rate":"95.01","billed_by":"farm"},
            {"name":"Split fee","per":"share","rate":"15","billed_by":"processor","tax_percent":"6"},
            {"name":"Cut and wrap","per":"unit_hanging","rate":"1","minimum_quantity":"500","billed_by":"processor","tax_percent":"6"},
            {"name":"Sausage","per":"unit_product","rate":"1.25","quantity":"12.5","minimum_amount":"100","billed_by":"processor"}],
            "adjustments":[{"name":"Delivery","amount":"12"},{"name":"Discount","amount":"-10.05","tax_percent":"10"}],
            "deposit":"600","payments":["0.01","9.99"]}"#,
        r#"{"lines":[
            {"name":"Share","amount":"502.24","tax":"10.67","billed_by":"farm"},
            {"name":"Kill fee","amount":"23.75","tax":"0.00","billed_by":"farm"},
            {"name":"Split fee","amount":"15.00","tax":"0.90","billed_by":"processor"},
            {"name":"Cut and wrap","amount":"125.00","tax":"7.50","billed_by":"processor"},
            {"name":"Sausage","amount":"25.00","tax":"0.00","billed_by":"processor"},
            {"name":"Delivery","amount":"12.00","tax":"0.00","billed_by":"farm"},
            {"name":"Discount","amount":"-10.05","tax":"-1.01","billed_by":"farm"}],
            "farm_total":"527.94","farm_tax":"9.66","deposit":"600.00","paid":"10.00","balance_due":"-72.40",
            "processor_total":"165.00","processor_tax":"8.40","all_in":"711.00","all_in_per_unit_hanging":"6.45"}"#,
    );
}

#[test]
fn the_least_that_can_be_asked() {
    answers(
        "invoice",
        r#"{"weight":"163","flat_price":"790.00","share_of_head":"1"}"#,
        r#"{"lines":[{"name":"Share","amount":"790.00","tax":"0.00","billed_by":"farm"}],"farm_total":"790.00","farm_tax":"0.00",
            "deposit":"0.00","paid":"0.00","balance_due":"790.00","processor_total":"0.00","processor_tax":"0.00",
            "all_in":"790.00","all_in_per_unit_hanging":"4.85"}"#,
    );
}
