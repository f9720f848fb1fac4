//! Whole invoices through `gambrel reckon invoice`, to the cent.

use crate::reckon_refusals::gambrel;
use gambrel::trade::dressing::hanging_weight;
use gambrel::trade::invoice::per_unit;
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::set_price::{Figures, price_for, work};
use gambrel::trade::weight::Weight;
use serde_json::Value;

fn invoice(input: &str) -> Value {
    let (status, output) = gambrel(&["reckon", "invoice"], input.as_bytes());
    assert_eq!(status, 0, "{output}");
    serde_json::from_str(&output).unwrap()
}

fn amounts(answer: &Value) -> Vec<&str> {
    answer["lines"].as_array().unwrap().iter().map(|line| line["amount"].as_str().unwrap()).collect()
}

/// Michigan State University Extension, Grain Fed Freezer Beef Pricing Worksheet, 2024-04-01, every line of it:
/// <https://www.canr.msu.edu/resources/grain-fed-freezer-beef-pricing-worksheet-1>.
#[test]
fn the_freezer_beef_worksheet_of_2024() {
    let live = Weight::parse("1300").unwrap();
    let carcass = hanging_weight(live, 630).unwrap();
    assert_eq!(carcass.plain(), "819.00");
    let answer = invoice(
        r#"{"weight":"819","price_per_unit":"3.00","share_of_head":"1","charges":[
            {"name":"Harvest","per":"head","rate":"100.00","billed_by":"processor"},
            {"name":"Processing and packaging","per":"unit_hanging","rate":"0.70","billed_by":"processor"}]}"#,
    );
    assert_eq!(amounts(&answer), ["2457.00", "100.00", "573.30"]);
    assert_eq!(answer["farm_total"], "2457.00");
    assert_eq!(answer["balance_due"], "2457.00");
    assert_eq!(answer["processor_total"], "673.30");
    assert_eq!(answer["all_in"], "3130.30");
    // Take-home is 68 % of the carcass; what a packaged pound costs.
    let packaged = hanging_weight(carcass, 680).unwrap();
    assert_eq!(packaged.plain(), "556.92");
    let all_in = Money::parse(answer["all_in"].as_str().unwrap()).unwrap();
    let a_pound = per_unit(all_in, packaged).unwrap();
    assert_eq!(a_pound.plain(), "5.62");
    // 22 % under the retail price of 7.20 (arithmetic only).
    let below = (720 - a_pound.cents()) * 100;
    assert_eq!((below + 360) / 720, 22);
    // The live price it is compared with.
    assert_eq!(Rate::parse("1.50").unwrap().times(live).unwrap().plain(), "1950.00");
}

/// The same worksheet as the page “Set a price” reckons it; the cost is the live price it is compared with, $1,950.
#[test]
fn the_freezer_beef_worksheet_read_for_a_price() {
    let figures = Figures {
        live: Weight::parse("1300").unwrap(),
        dressing: 630,
        yields: 680,
        price: Rate::parse("3.00").unwrap(),
        cost: Money::parse("1950.00").unwrap(),
        harvest: Money::parse("100.00").unwrap(),
        processing: Rate::parse("0.70").unwrap(),
    };
    let w = work(&figures).unwrap();
    assert_eq!((w.carcass.plain(), w.packaged.plain()), ("819.00".into(), "556.92".into()));
    let money = [w.income, w.to_processor, w.all_in, w.all_in_packaged].map(Money::plain);
    assert_eq!(money, ["2457.00", "673.30", "3130.30", "5.62"]);
    // By the farm's side of it: 1,950 / 819 and / 556.92; what 3.00 leaves, by hand.
    let own = [w.even_hanging, w.even_packaged, w.margin, w.margin_hanging, w.margin_packaged].map(Money::plain);
    assert_eq!(own, ["2.38", "3.50", "507.00", "0.62", "0.91"]);
    // The price of the worksheet is the one for the margin it leaves.
    assert_eq!(price_for(&figures, w.margin).unwrap(), figures.price);
}

/// Common practice, no source: the usual way a half hog is settled.
#[test]
fn a_hog_share_with_the_processor_paid_apart() {
    let ask = |adjustments: &str| {
        invoice(&format!(
            r#"{{"weight":"149","price_per_unit":"4.50","share_of_head":"0.5","deposit":"200","charges":[
                {{"name":"Kill fee","per":"share","rate":"80","billed_by":"processor"}},
                {{"name":"Cut and wrap","per":"unit_hanging","rate":"0.70","billed_by":"processor"}}],
                "adjustments":[{adjustments}]}}"#
        ))
    };
    let plain = ask("");
    assert_eq!(amounts(&plain), ["670.50", "80.00", "104.30"]);
    let totals = |answer: &Value| {
        ["farm_total", "balance_due", "processor_total", "all_in"].map(|key| answer[key].as_str().unwrap().to_string())
    };
    assert_eq!(totals(&plain), ["670.50", "470.50", "184.30", "854.80"]);
    // One more line billed by the farm moves the balance and the total by itself, which is why every line is shown.
    let with_one_more = ask(r#"{"name":"Delivery","amount":"18.50"}"#);
    assert_eq!(amounts(&with_one_more), ["670.50", "80.00", "104.30", "18.50"]);
    assert_eq!(totals(&with_one_more), ["689.00", "489.00", "184.30", "873.30"]);
}
