//! Figures that are printed otherwise than they come out: recorded as such, and our functions give what comes out.

use super::{figure, pair, weight};
use gambrel::trade::carcass::{Claim, Hung, Place, SplitBasis, divide};
use gambrel::trade::dressing::hanging_weight;
use gambrel::trade::invoice::per_unit;
use gambrel::trade::live_weight::by_girth;
use gambrel::trade::money::Money;
use gambrel::trade::share::{Part, Side, Species};
use gambrel::trade::weight::Unit;
use rust_decimal::Decimal;

#[test]
fn misprints_are_recorded_and_not_bent_to_fit() {
    let mut reader = csv::Reader::from_reader(include_str!("../../published/misprints.csv").as_bytes());
    let mut count = 0;
    for record in reader.records() {
        let record = record.unwrap();
        let (id, inputs) = (&record[0], &record[2]);
        let printed: Decimal = record[3].parse().unwrap();
        let reckoned: Decimal = record[4].parse().unwrap();
        let hundredths = |key| i64::try_from(figure(inputs, key) * Decimal::ONE_HUNDRED).unwrap();
        let ours = match &record[1] {
            "girth_lb" => {
                assert_eq!(pair(inputs, "species"), "sheep");
                by_girth(Species::Lamb, hundredths("girth_in"), hundredths("length_in"), Unit::Lb).unwrap()
            }
            "hog_kg" => {
                let [girth, length] = ["girth_m", "length_m"].map(|key| hundredths(key) * 100);
                by_girth(Species::Hog, girth, length, Unit::Kg).unwrap().round_dp(2)
            }
            "hanging_lb" => {
                let tenths = i64::try_from(figure(inputs, "dressing_pct") * Decimal::TEN).unwrap();
                hanging_weight(weight(inputs, "live_lb"), tenths).unwrap().decimal()
            }
            "fore_lb" => {
                let side = weight(inputs, "side_lb");
                let claim = Claim { id: 1, place: Place::Quarter(Side::Left, Part::Fore) };
                divide(Hung::Sides { left: side, right: side }, SplitBasis::AsHung, &[claim]).unwrap().billed.decimal()
            }
            "per_lb" => per_unit(Money::parse(pair(inputs, "usd")).unwrap(), weight(inputs, "lb")).unwrap().decimal(),
            // Arithmetic only.
            "percent_of" => figure(inputs, "lb") * figure(inputs, "pct") / Decimal::ONE_HUNDRED,
            other => panic!("{id}: {other}"),
        };
        assert_eq!(ours, reckoned, "{id}");
        assert_ne!(printed, reckoned, "{id} is printed as it comes out and belongs in another table");
        assert!(!record[5].is_empty() && !record[6].is_empty(), "{id} says neither what is wrong nor where");
        count += 1;
    }
    assert_eq!(count, 12);
}
