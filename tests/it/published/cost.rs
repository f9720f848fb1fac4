//! Prices times weights and what a pound comes to.

use super::{Row, rows};
use gambrel::trade::invoice::per_unit;
use gambrel::trade::money::{Money, Rate};
use rust_decimal::Decimal;

fn money(row: &Row, key: &str) -> Money {
    Money::parse(row.pair(key)).unwrap()
}

fn price(row: &Row) -> Decimal {
    Rate::parse(row.pair("usd_per_lb")).unwrap().times(row.weight("lb")).unwrap().decimal()
}

fn a_pound(row: &Row, cost: &str, lb: &str) -> Decimal {
    per_unit(money(row, cost), row.weight(lb)).unwrap().decimal()
}

#[test]
fn every_published_cost_comes_out() {
    let hundred = Decimal::ONE_HUNDRED;
    for row in rows(include_str!("../../published/cost.csv"), 16) {
        match row.kind.as_str() {
            "carcass_cost" | "processing" | "live_value" | "side_cost" => row.agrees(price(&row)),
            "total" => {
                let parts = ["carcass", "harvest", "processing"].map(|key| money(&row, key));
                row.agrees(Money::sum(parts).unwrap().decimal());
            }
            "usd_per_packaged_lb" => row.agrees(a_pound(&row, "total", "packaged_lb")),
            "usd_per_takehome_lb" | "live_cost_per_lb" => row.agrees(a_pound(&row, "cost", "lb")),
            "hang_cost_exact" => row.agrees(a_pound(&row, "cost", "carcass_lb")),
            // From here on arithmetic only: planning formulas of the sources that Gambrel does not use.
            "pct_below_retail" => {
                let retail = row.figure("retail");
                row.agrees((retail - row.figure("packaged")) / retail * hundred);
            }
            "takehome_price" => row.agrees_rounded(row.figure("hang_usd") * hundred / row.figure("yield_pct")),
            "hang_cost" | "hang_cost_from_rounded" => {
                row.agrees_rounded(row.figure("live_usd") * hundred / row.figure("dressing_pct"));
            }
            "value_of_gain" => {
                assert_eq!(row.inputs, "((1200*0.97)-(700*0.80))/500");
                let d = |text: &str| text.parse::<Decimal>().unwrap();
                row.agrees_rounded((d("1200") * d("0.97") - d("700") * d("0.80")) / d("500"));
            }
            other => panic!("{}: {other}", row.id),
        }
    }
}
