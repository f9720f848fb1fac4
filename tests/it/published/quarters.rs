//! Fore, hind and split quarters of a side, and how far sides may differ.

use super::rows;
use gambrel::trade::carcass::{Claim, Hung, Place, SplitBasis, divide};
use gambrel::trade::dressing::{SIDES_MAY_DIFFER_PERCENT, sides_differ};
use gambrel::trade::share::{Part, Side};
use gambrel::trade::weight::Weight;
use rust_decimal::Decimal;

#[test]
fn every_published_quarter_comes_out() {
    for row in rows(include_str!("../../published/quarters.csv"), 5) {
        let quarter = |side: Weight, part: Part| {
            let claim = Claim { id: 1, place: Place::Quarter(Side::Left, part) };
            let hung = Hung::Sides { left: side, right: side };
            divide(hung, SplitBasis::AsHung, &[claim]).unwrap().billed.decimal()
        };
        match row.kind.as_str() {
            "forequarter_lb" => row.agrees(quarter(row.weight("side_hcw_lb"), Part::Fore)),
            "hindquarter_lb" => row.agrees(quarter(row.weight("side_hcw_lb"), Part::Hind)),
            "split_quarter_lb" => row.agrees(quarter(row.weight("side_hcw_lb"), Part::Split)),
            "quarter_lb" => row.agrees(quarter(row.weight("side_lb"), Part::Split)),
            "half_tolerance_pct_max" => {
                row.agrees(Decimal::from(SIDES_MAY_DIFFER_PERCENT));
                let w = Weight::from_hundredths;
                assert!(!sides_differ(w(10_000), w(10_800)) && sides_differ(w(10_000), w(10_801)));
            }
            other => panic!("{}: {other}", row.id),
        }
    }
}
