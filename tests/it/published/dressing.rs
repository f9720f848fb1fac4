//! Dressing percentages: live weight to hanging weight and back.

use super::rows;
use gambrel::trade::animal::Class;
use gambrel::trade::dressing::{Dressed, doubts, hanging_weight, percent_tenths};
use gambrel::trade::share::Species;
use gambrel::trade::vocabulary::CarcassBasis;
use rust_decimal::Decimal;

const TABLE: &str = include_str!("../../published/dressing.csv");

#[test]
fn every_published_dressing_comes_out() {
    for row in rows(TABLE, 19) {
        match row.kind.as_str() {
            "hcw_from_live" => {
                let tenths = i64::try_from(row.figure("dressing_pct") * Decimal::TEN).unwrap();
                row.agrees(hanging_weight(row.weight("live_lb"), tenths).unwrap().decimal());
            }
            "dressing_pct" => {
                let tenths = percent_tenths(row.weight("live_lb"), row.weight("hcw_lb")).unwrap();
                row.agrees(Decimal::new(tenths, 1));
            }
            other => panic!("{}: {other}", row.id),
        }
    }
}

#[test]
fn no_published_carcass_is_called_doubtful() {
    for row in rows(TABLE, 19).iter().filter(|row| row.kind == "hcw_from_live") {
        let species: Species = row.pair("species").parse().unwrap();
        let class = Class::of(species).next().unwrap();
        let live = row.weight("live_lb");
        let tenths = i64::try_from(row.figure("dressing_pct") * Decimal::TEN).unwrap();
        let hanging = hanging_weight(live, tenths).unwrap();
        let dressed = Dressed::usual(species, CarcassBasis::Hot);
        assert_eq!(doubts(class, dressed, Some(live), hanging, None), [], "{}", row.id);
    }
}
