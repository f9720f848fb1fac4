//! The cost of a share against sums by hand.

use super::*;
use crate::trade::cuts::sheet::Sausage;
use crate::trade::money::Rate;
use crate::trade::share::{Part, Size, Species};
use crate::trade::weight::Unit;
use proptest::prelude::*;

fn w(text: &str) -> Weight {
    Weight::parse(text).unwrap()
}

fn hanging(weight: Weight) -> Hanging {
    let (species, size, unit) = (Species::Hog, Size::Half, Unit::Lb);
    Hanging { species, unit, weight, size, part: Part::Split, age_months: None, head_on: false, skin_on: false }
}

fn work(name: &str, per: Per, rate: &str, service: Option<Service>) -> Work {
    Work { charge: Charge::new(name, per, Rate::parse(rate).unwrap(), BilledBy::Processor), service }
}

fn hanging_price() -> Option<Price> {
    Some(Price::Hanging(Rate::parse("5").unwrap()))
}

/// Reckons a hog half that is expected to hang 90 lb.
fn cost(between: (&str, &str), sheet: &Sheet, price: Option<Price>, work: &[Work]) -> AllIn {
    let hanging = hanging(w("90"));
    let home = take_home(&hanging, sheet).unwrap();
    let between = (w(between.0), w(between.1));
    all_in(&ToExpect { hanging: &hanging, between, sheet, home: &home, price, work, adjustments: &[] }).unwrap()
}

fn shown(span: Span) -> [String; 3] {
    [span.low, span.expected, span.high].map(Money::plain)
}

#[test]
fn kill_fee_by_share_cut_and_wrap_by_weight_and_work_by_what_comes_home() {
    let schedule = [
        work("Kill fee", Per::Head, "65", None),
        work("Cut and wrap", Per::UnitHanging, "0.9", None),
        work("Cure and smoke", Per::UnitProduct, "1.15", Some(Service::Cure)),
        work("Seasoned sausage", Per::UnitProduct, "0.75", Some(Service::Season)),
        work("Links", Per::UnitProduct, "1", Some(Service::Link)),
        work("Boxes", Per::UnitProduct, "0.1", None),
    ];
    let sausage = Sausage { seasoning: "maple".into(), form: "bulk".into(), weight: w("10") };
    let sheet = Sheet { sausage: vec![sausage], ..Sheet::default() };
    let all = cost(("80", "100"), &sheet, hanging_price(), &schedule);
    assert_eq!(shown(all.price.unwrap()), ["400.00", "450.00", "500.00"]);
    let line = |name: &str| all.lines.iter().find(|l| l.name == name).map(|l| shown(l.amount));
    assert_eq!(line("Kill fee").unwrap(), ["32.50", "32.50", "32.50"]);
    assert_eq!(line("Cut and wrap").unwrap(), ["72.00", "81.00", "90.00"]);
    assert_eq!(line("Seasoned sausage").unwrap()[1], "7.50");
    assert_eq!(line("Links"), None, "none are made");
    assert_eq!((line("Boxes"), all.not_reckoned.as_slice()), (None, &["Boxes".to_string()][..]));
    // What is cured, by hand from the forecast.
    let home = take_home(&hanging(w("90")), &sheet).unwrap();
    let cured: i64 = home
        .lines
        .iter()
        .filter(|l| matches!(l.cut, "ham_cured_ends" | "ham_steak" | "hock_smoked" | "bacon"))
        .map(|l| l.weight.expected.hundredths())
        .sum();
    let by_hand = Money::rounded(Weight::from_hundredths(cured).decimal() * Rate::parse("1.15").unwrap().decimal());
    let cure = all.lines.iter().find(|l| l.name == "Cure and smoke").unwrap();
    assert_eq!(cure.amount.expected, by_hand.unwrap());
    assert!(cure.amount.low < cure.amount.expected && cure.amount.expected < cure.amount.high);
    assert!(cure.how.contains("lb × $1.15"), "{}", cure.how);

    let sum: i64 = all.lines.iter().map(|l| l.amount.expected.cents()).sum();
    assert_eq!(all.processor.expected.cents(), sum, "all of it goes to the processor");
    assert_eq!(all.all_in.unwrap().expected.cents(), 45_000 + sum);
    let each = all.per_packaged.unwrap();
    assert_eq!(each.expected, per_unit(all.all_in.unwrap().expected, home.packaged.expected).unwrap());
    assert!(each.low < each.expected && each.expected < each.high);
}

#[test]
fn packs_are_counted_and_what_the_order_says_goes_before_the_forecast() {
    let mut bacon = work("Cure and smoke", Per::UnitProduct, "1", Some(Service::Cure));
    bacon.charge.quantity = Some(w("12"));
    let all = cost(
        ("90", "90"),
        &Sheet::default(),
        Some(Price::Flat(Money::from_cents(40_000))),
        &[work("Packing", Per::Pack, "0.35", Some(Service::Pack)), bacon],
    );
    let home = take_home(&hanging(w("90")), &Sheet::default()).unwrap();
    let packs = home.lines.iter().map(|l| l.packages).sum::<i64>() + home.ground_packages;
    let [packing, cure] = all.lines.as_slice() else { panic!("{:?}", all.lines) };
    assert_eq!(packing.amount.expected.cents(), packs * 35);
    assert_eq!(packing.how, format!("{packs} packs × $0.35"));
    assert_eq!(shown(cure.amount), ["12.00", "12.00", "12.00"]);
    assert_eq!(shown(all.price.unwrap()), ["400.00", "400.00", "400.00"]);
}

#[test]
fn without_a_price_there_are_charges_and_no_sum() {
    let all = cost(("80", "100"), &Sheet::default(), None, &[work("Kill fee", Per::Head, "65", None)]);
    assert_eq!((all.price, all.all_in, all.per_packaged), (None, None, None));
    assert_eq!(all.processor.expected.cents(), 3_250);
}

proptest! {
    /// Whatever is charged, the range holds what is expected, and the sum is that of its parts.
    #[test]
    fn ranges_hold_what_is_expected(
        low in 5_000_i64..9_000, more in 0_i64..4_000,
        rates in proptest::collection::vec((0_usize..5, 0_usize..8, 1_i64..30_000), 0..6)
    ) {
        let pers = [Per::Head, Per::Share, Per::UnitHanging, Per::UnitProduct, Per::Pack];
        let schedule: Vec<Work> = rates
            .iter()
            .map(|(per, service, rate)| {
                let rate = Rate::from_ten_thousandths(*rate);
                let service = Service::ALL.get(*service).copied();
                Work { charge: Charge::new("x", pers[*per], rate, BilledBy::Processor), service }
            })
            .collect();
        let (low, high) = (Weight::from_hundredths(low), Weight::from_hundredths(low + 2 * more));
        let hanging = hanging(Weight::from_hundredths(low.hundredths() + more));
        let sheet = Sheet::default();
        let home = take_home(&hanging, &sheet).unwrap();
        let ask = ToExpect {
            hanging: &hanging, between: (low, high), sheet: &sheet, home: &home,
            price: hanging_price(), work: &schedule, adjustments: &[],
        };
        let all = all_in(&ask).unwrap();
        let spans = all.lines.iter().map(|l| l.amount).chain([all.processor]).chain(all.all_in).chain(all.per_packaged);
        for span in spans {
            prop_assert!(span.low <= span.expected && span.expected <= span.high, "{span:?}");
        }
        let lines: i64 = all.lines.iter().map(|l| l.amount.expected.cents()).sum();
        prop_assert_eq!(all.all_in.unwrap().expected.cents(), all.price.unwrap().expected.cents() + lines);
    }
}
