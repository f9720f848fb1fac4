//! An estimate redone by hand, and what must hold for any.

use super::*;
use crate::trade::charge::{BilledBy, Charge, Per};
use crate::trade::cuts::offer::Service;
use crate::trade::cuts::questions::Kind as Cooks;
use crate::trade::money::Rate;
use proptest::prelude::*;

const fn lb(n: i64) -> Weight {
    Weight::from_hundredths(n * 100)
}

const fn rate(cents: i64) -> Rate {
    Rate::from_ten_thousandths(cents * 100)
}

fn charges() -> Vec<Work> {
    let work = |name: &str, per, cents, by, service| Work { charge: Charge::new(name, per, rate(cents), by), service };
    vec![
        work("Kill fee", Per::Head, 6_500, BilledBy::Processor, None),
        work("Cut and wrap", Per::UnitHanging, 90, BilledBy::Processor, None),
        work("Cure and smoke", Per::UnitProduct, 115, BilledBy::Processor, Some(Service::Cure)),
        work("Trailer", Per::Head, 2_500, BilledBy::Farm, None),
    ]
}

fn half_hog<'a>(offer: &'a Offer, work: &'a [Work]) -> ToEstimate<'a> {
    ToEstimate {
        species: Species::Hog,
        unit: Unit::Lb,
        size: Size::Half,
        part: None,
        between: part_of((lb(176), lb(216)), 100),
        style: Style::Standard,
        offer,
        price: Some(Price::Hanging(rate(525))),
        deposit: Money::from_cents(10_000),
        work,
        eaters: 4,
        meals: 2,
    }
}

#[test]
fn a_half_hog_by_hand() {
    let (offer, work) = (Offer::default(), charges());
    let e = estimate(&half_hog(&offer, &work)).unwrap();
    assert_eq!(e.middle, lb(98));
    let cost = e.cost.unwrap();
    // 88, 98 and 108 lb at $5.25, and half of the trailer at $25.00.
    let farm = [88, 98, 108].map(|n| n * 525 + 1_250);
    assert_eq!([cost.farm.low, cost.farm.expected, cost.farm.high].map(Money::cents), farm);
    let balance = e.balance.unwrap();
    assert_eq!([balance.low, balance.expected, balance.high].map(Money::cents), farm.map(|n| n - 10_000));
    let line = |name: &str| cost.lines.iter().find(|l| l.name == name).unwrap().amount;
    assert_eq!(line("Kill fee").expected.cents(), 3_250);
    assert_eq!([line("Cut and wrap").low, line("Cut and wrap").high].map(Money::cents), [7_920, 9_720]);
    assert!(line("Cure and smoke").low.is_positive(), "the standard cut has ham and bacon");
    let all = cost.all_in.unwrap();
    assert_eq!(all.expected, cost.farm.expected.plus(cost.processor.expected).unwrap());
    // University of Missouri MX3001: 35 to 40 lb in a cubic foot.
    let feet = |w: Weight, per: i64| (w.decimal() / Decimal::from(per)).round_dp(2);
    assert_eq!(e.cubic_feet, (feet(e.packaged.low, 40), feet(e.packaged.high, 35)));
    // Four people twice a week: 4 to 6 lb.
    let weeks = |w: Weight, tenths: i64| (w.decimal() / Decimal::new(tenths, 1)).round_dp(1);
    assert_eq!(
        e.weeks,
        [
            weeks(e.packaged.low, 60),
            (e.packaged.expected.decimal() / Decimal::new(496, 2)).round_dp(1),
            weeks(e.packaged.high, 40)
        ]
    );
}

#[test]
fn the_kinds_of_meat_are_all_that_comes_home() {
    let (offer, work) = (Offer::default(), charges());
    for cooks in [Cooks::Ground, Cooks::Balanced, Cooks::Roasts] {
        let answers = Answers { kind: cooks, bone_in: true, eaters: 4 };
        let e = estimate(&ToEstimate { style: Style::Questions(answers), ..half_hog(&offer, &work) }).unwrap();
        let sum: i64 = e.kinds.iter().map(|k| k.weight.expected.hundredths()).sum();
        assert_eq!(sum, e.packaged.expected.hundredths(), "{cooks}");
        let names: Vec<&str> = e.kinds.iter().map(|k| k.name).collect();
        assert_eq!(names.contains(&"raw sausage"), cooks == Cooks::Ground, "{names:?}");
        assert_eq!(names.contains(&"chops"), cooks != Cooks::Roasts, "{names:?}");
    }
}

#[test]
fn without_a_price_there_is_no_sum_and_without_a_way_to_cut_no_estimate() {
    let (offer, work) = (Offer::default(), charges());
    let e = estimate(&ToEstimate { price: None, ..half_hog(&offer, &work) }).unwrap();
    assert!(e.balance.is_none() && e.cost.unwrap().all_in.is_none());
    let lamb = ToEstimate { species: Species::Lamb, size: Size::Quarter, ..half_hog(&offer, &work) };
    assert!(matches!(estimate(&lamb), Err(Refused::Broken(_))));
    assert!(estimate(&ToEstimate { between: (Weight::ZERO, Weight::ZERO), ..half_hog(&offer, &work) }).is_err());
}

#[test]
fn what_the_plant_leaves_out_is_in_no_estimate() {
    let no_cure = Offer { without_services: [Service::Cure].into(), ..Offer::default() };
    let work = charges();
    let e = estimate(&half_hog(&no_cure, &work)).unwrap();
    assert!(e.kinds.iter().all(|k| k.name != "bacon"), "{:?}", e.kinds);
    assert!(e.cost.unwrap().lines.iter().all(|l| l.name != "Cure and smoke"));
}

proptest! {
    /// Ranges are ranges, of any animal and share; what is dearer with more weight is; and a kilogram is no pound.
    #[test]
    fn every_figure_lies_in_its_range(
        species in prop::sample::select(Species::ALL), half in any::<bool>(), low in 4_000_i64..40_000, more in 0_i64..20_000,
        eaters in 1_i64..20, meals in 1_i64..21, kg in any::<bool>(), standard in any::<bool>(),
    ) {
        let (offer, work) = (Offer::default(), charges());
        let size = if half { Size::Half } else { Size::Whole };
        let answers = Answers { kind: Cooks::Balanced, bone_in: true, eaters };
        let ask = ToEstimate {
            species, size, eaters, meals,
            unit: if kg { Unit::Kg } else { Unit::Lb },
            between: part_of((Weight::from_hundredths(low), Weight::from_hundredths(low + more)), size.quarters() * 50),
            style: if standard { Style::Standard } else { Style::Questions(answers) },
            ..half_hog(&offer, &work)
        };
        let Ok(e) = estimate(&ask) else { return Ok(()) };
        let bands = e.kinds.iter().map(|k| k.weight).chain([e.packaged]);
        for b in bands {
            prop_assert!(b.low <= b.expected && b.expected <= b.high, "{b:?}");
        }
        let cost = e.cost.unwrap();
        for s in [cost.farm, cost.processor, cost.all_in.unwrap(), cost.per_packaged.unwrap(), e.balance.unwrap()] {
            prop_assert!(s.low <= s.expected && s.expected <= s.high, "{s:?}");
        }
        prop_assert!(e.cubic_feet.0 <= e.cubic_feet.1);
        prop_assert!(e.weeks[0] <= e.weeks[1] && e.weeks[1] <= e.weeks[2], "{:?}", e.weeks);
        prop_assert!(e.packaged.high <= ask.between.1);
    }
}

#[test]
fn a_forequarter_and_a_hindquarter_are_estimated_by_their_own_cuts() {
    let (offer, work) = (Offer::default(), charges());
    let beef = |part, percent| ToEstimate {
        species: Species::Beef,
        size: Size::Quarter,
        part: Some(part),
        between: part_of((lb(640), lb(780)), percent),
        ..half_hog(&offer, &work)
    };
    let (fore, hind) = (estimate(&beef(Part::Fore, 55)).unwrap(), estimate(&beef(Part::Hind, 45)).unwrap());
    let has = |e: &Estimate, block: &str| e.home.lines.iter().any(|l| l.block == block);
    assert!(has(&hind, "short_loin") && !has(&fore, "short_loin"));
    assert!(fore.middle > hind.middle);
    let farm = |e: &Estimate| e.cost.as_ref().unwrap().farm.expected.cents();
    assert_eq!(farm(&fore), (fore.middle.hundredths() * 525 + 50) / 100 + 625);
}
