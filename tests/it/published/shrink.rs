//! Cooler shrink. Gambrel bills the weight the plant reports and reckons no shrink, so this is only the sources' own arithmetic.

use super::rows;
use rust_decimal::Decimal;

#[test]
fn arithmetic_only_the_published_shrinks_agree_with_themselves() {
    for row in rows(include_str!("../../published/shrink.csv"), 7) {
        let hot = row.figure("hcw_lb");
        match row.kind.as_str() {
            "loss_lb" => row.agrees(hot * row.figure("shrink_pct") / Decimal::ONE_HUNDRED),
            "cold_lb" => row.agrees(hot * (Decimal::ONE_HUNDRED - row.figure("shrink_pct")) / Decimal::ONE_HUNDRED),
            "shrink_pct" => row.agrees((hot - row.figure("ccw_lb")) / hot * Decimal::ONE_HUNDRED),
            other => panic!("{}: {other}", row.id),
        }
    }
}
