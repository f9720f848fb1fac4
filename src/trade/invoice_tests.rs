//! Checks of the invoice: each refusal, each price, and that every total is the sum of the lines shown.

use super::super::charge::Per;
use super::super::weight::Unit;
use super::*;
use proptest::prelude::*;

fn m(text: &str) -> Money {
    Money::parse(text).unwrap()
}
fn w(text: &str) -> Weight {
    Weight::parse(text).unwrap()
}
fn r(text: &str) -> Rate {
    Rate::parse(text).unwrap()
}

fn half_beef() -> ToBill {
    ToBill {
        name: "Half beef".into(),
        weight: Some(w("389.5")),
        price: Price::Hanging(r("4.65")),
        share: Size::Half,
        tax: Percent::ZERO,
        charges: vec![
            Charge::new("Kill fee", Per::Head, r("110"), BilledBy::Farm),
            Charge::new("Cut and wrap", Per::UnitHanging, r("0.85"), BilledBy::Processor),
            Charge {
                quantity: Some(w("20")),
                ..Charge::new("Patties", Per::UnitProduct, r("0.5"), BilledBy::Processor)
            },
        ],
        adjustments: vec![Adjustment { name: "Delivery".into(), amount: m("15"), tax: Percent::ZERO }],
        deposit: m("400"),
        payments: vec![],
    }
}

#[test]
fn an_invoice_adds_up_and_says_how() {
    let invoice = reckon_invoice(&half_beef()).unwrap();
    assert_eq!(invoice.farm_total, m("1881.18"));
    assert_eq!(invoice.balance_due, m("1481.18"));
    assert_eq!(invoice.processor_total, m("341.08"));
    assert_eq!(invoice.all_in, m("2222.26"));
    assert_eq!(invoice.all_in_per_unit_hanging, Some(m("5.71")));
    let how: Vec<_> = invoice.lines.iter().map(|l| l.reckoned.words(Unit::Lb)).collect();
    assert_eq!(how, ["389.50 lb × $4.65", "$110.00 a head × ½", "389.50 lb × $0.85", "20.00 lb × $0.50", ""]);
    let kinds: Vec<_> = invoice.lines.iter().map(|l| l.kind.as_str()).collect();
    assert_eq!(kinds, ["share", "charge", "charge", "charge", "free"]);
}

#[test]
fn tax_is_per_line_on_the_rounded_amount() {
    let taxed = Percent::parse("6").unwrap();
    let mut bill = ToBill { tax: taxed, adjustments: vec![], charges: vec![], ..half_beef() };
    bill.price = Price::Flat(m("10.08"));
    for _ in 0..3 {
        // 1.005 is 1.01 before the tax, so each line is taxed 0.06 and three of them 0.18, not 6 % of 3.02.
        let each = Charge { tax: taxed, ..Charge::new("x", Per::Share, r("1.005"), BilledBy::Processor) };
        bill.charges.push(each);
    }
    bill.adjustments.push(Adjustment { name: "Discount".into(), amount: m("-0.25"), tax: taxed });
    let invoice = reckon_invoice(&bill).unwrap();
    assert_eq!(invoice.processor_tax, m("0.18"));
    assert_eq!(invoice.processor_total, m("3.03"));
    // 0.6048 and -0.015: half away from zero either way.
    assert_eq!(invoice.farm_tax, m("0.58"));
}

#[test]
fn live_and_flat_prices_need_no_hanging_weight() {
    let bill = ToBill { weight: None, charges: vec![], adjustments: vec![], ..half_beef() };
    assert_eq!(reckon_invoice(&bill), Err(InvoiceError::NoWeight));
    let live = ToBill { price: Price::Live { rate: r("2.10"), weight: w("645") }, ..bill.clone() };
    let invoice = reckon_invoice(&live).unwrap();
    assert_eq!(invoice.farm_total, m("1354.50"));
    assert_eq!(invoice.all_in_per_unit_hanging, None);
    assert_eq!(invoice.lines.first().unwrap().reckoned.words(Unit::Lb), "645.00 lb live × $2.10");
    let flat = ToBill { price: Price::Flat(m("790")), ..bill };
    assert_eq!(reckon_invoice(&flat).unwrap().farm_total, m("790"));
    let by_weight = ToBill { charges: half_beef().charges, ..flat };
    assert_eq!(reckon_invoice(&by_weight), Err(InvoiceError::Charge(1, ChargeError::NoWeight)));
}

#[test]
fn refuses_what_cannot_be_billed() {
    let refused = |change: &dyn Fn(&mut ToBill)| {
        let mut bill = half_beef();
        change(&mut bill);
        reckon_invoice(&bill).unwrap_err()
    };
    assert_eq!(refused(&|b| b.weight = Some(Weight::ZERO)), InvoiceError::NothingHung);
    assert_eq!(refused(&|b| b.deposit = m("-0.01")), InvoiceError::NegativeDeposit);
    assert_eq!(refused(&|b| b.payments = vec![m("1"), m("0")]), InvoiceError::PaymentNotPositive(1));
    assert_eq!(refused(&|b| b.price = Price::Flat(m("-1"))), InvoiceError::NegativePrice);
    let no_live = Price::Live { rate: r("1"), weight: Weight::ZERO };
    assert_eq!(refused(&|b| b.price = no_live), InvoiceError::NoLiveWeight);
    let discount = |cents: &str| Adjustment { name: "Discount".into(), amount: m(cents), tax: Percent::ZERO };
    assert_eq!(refused(&|b| b.adjustments.push(discount("-1881.19"))), InvoiceError::NegativeTotal);
    let mut free = half_beef();
    free.adjustments.push(discount("-1881.18"));
    let invoice = reckon_invoice(&free).unwrap();
    assert_eq!((invoice.farm_total, invoice.balance_due), (Money::ZERO, m("-400")));
    assert_eq!(refused(&|b| b.price = Price::Flat(Money::from_cents(Money::LIMIT))), InvoiceError::TooLarge);
}

#[test]
fn per_unit_rounds_half_away_from_zero() {
    assert_eq!(per_unit(m("0.01"), w("2")), Ok(m("0.01")));
    assert_eq!(per_unit(m("-0.01"), w("2")), Ok(m("-0.01")));
    assert_eq!(per_unit(m("0.01"), w("2.01")), Ok(m("0")));
    assert_eq!(per_unit(m("1"), Weight::ZERO), Err(Overflow));
    assert_eq!(per_unit(Money::from_cents(Money::LIMIT), w("0.01")), Err(Overflow));
}

proptest! {
    #[test]
    fn every_total_is_the_sum_of_the_lines_shown(
        weight in 1_i64..200_000, rate in 0_i64..200_000, tax in 0_i64..20_000, deposit in 0_i64..100_000,
        rates in prop::collection::vec((0_i64..2_000_000, any::<bool>(), 0_usize..3), 0..6),
        free in prop::collection::vec(-5_000_i64..50_000, 0..4), payments in prop::collection::vec(1_i64..100_000, 0..3),
    ) {
        let tax = Percent::from_thousandths(tax);
        let bill = ToBill {
            weight: Some(Weight::from_hundredths(weight)),
            price: Price::Hanging(Rate::from_ten_thousandths(rate)),
            tax,
            charges: rates.iter().map(|(n, farm, per)| Charge {
                tax,
                ..Charge::new("x", [Per::Head, Per::Share, Per::UnitHanging][*per], Rate::from_ten_thousandths(*n),
                    if *farm { BilledBy::Farm } else { BilledBy::Processor })
            }).collect(),
            adjustments: free.iter().map(|c| Adjustment { name: "y".into(), amount: Money::from_cents(*c), tax }).collect(),
            deposit: Money::from_cents(deposit),
            payments: payments.iter().copied().map(Money::from_cents).collect(),
            ..half_beef()
        };
        match reckon_invoice(&bill) {
            Err(e) => prop_assert_eq!(e, InvoiceError::NegativeTotal),
            Ok(invoice) => {
                let sum = |by, tax: bool| -> i64 { invoice.lines.iter().filter(|l| l.billed_by == by)
                    .map(|l| if tax { l.tax.cents() } else { l.amount.cents() }).sum() };
                prop_assert_eq!(sum(BilledBy::Farm, false), invoice.farm_total.cents());
                prop_assert_eq!(sum(BilledBy::Farm, true), invoice.farm_tax.cents());
                prop_assert_eq!(sum(BilledBy::Processor, false), invoice.processor_total.cents());
                prop_assert_eq!(sum(BilledBy::Processor, true), invoice.processor_tax.cents());
                let paid: i64 = payments.iter().sum();
                let owed = invoice.farm_total.cents() + invoice.farm_tax.cents();
                prop_assert_eq!(owed - deposit - paid, invoice.balance_due.cents());
                let both = owed + invoice.processor_total.cents() + invoice.processor_tax.cents();
                prop_assert_eq!(both, invoice.all_in.cents());
                let per = invoice.all_in_per_unit_hanging.unwrap().cents();
                prop_assert!((2 * per * weight - 200 * both).abs() <= weight);
                for line in &invoice.lines {
                    prop_assert_eq!(line.tax, tax.of(line.amount).unwrap());
                }
            }
        }
    }
}
