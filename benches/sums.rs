//! Invoice arithmetic, dividing a carcass, and a take-home forecast (aim: under a millisecond), on one core.

use gambrel::trade::carcass::{Claim, Hung, Place, SplitBasis, divide};
use gambrel::trade::cuts::sheet::{Hanging, Sheet};
use gambrel::trade::cuts::take_home::take_home;
use gambrel::trade::share::{Part, Side, Size, Species};
use gambrel::trade::weight::{Unit, Weight};
use std::hint::black_box;
use std::io::Write;
use std::time::Instant;

fn main() {
    let one = r#"{"weight":"163","price_per_unit":"5.25","share_of_head":"0.5","charges":[
        {"name":"Kill fee","per":"head","rate":"95.00","billed_by":"processor"},
        {"name":"Cut and wrap","per":"unit_hanging","rate":"0.85","billed_by":"processor"},
        {"name":"Cure and smoke","per":"unit_product","rate":"1.15","quantity":"24","billed_by":"processor"},
        {"name":"Trailer","per":"head","rate":"25.00","billed_by":"farm"}],
        "adjustments":[{"name":"Discount","amount":"-10.00"}],"deposit":"150.00","payments":["100.00"]}"#
        .replace('\n', " ");
    let n = 200_000_u32;
    let many = vec![one; n as usize].join("\n");
    let (mut out, began) = (Vec::with_capacity(120 << 20), Instant::now());
    let status = gambrel::reckon::run(gambrel::reckon::What::Invoice, true, &mut many.as_bytes(), &mut out);
    let took = began.elapsed();
    assert_eq!(status, 0);
    assert_eq!(out.iter().filter(|b| **b == b'\n').count(), n as usize);
    out.flush().ok();
    println!("invoices reckoned, JSON to JSON   {:>9.0} a second", f64::from(n) / took.as_secs_f64());

    let claims = [
        Claim { id: 1, place: Place::Half(Side::Left) },
        Claim { id: 2, place: Place::Quarter(Side::Right, Part::Split) },
        Claim { id: 3, place: Place::Quarter(Side::Right, Part::Split) },
    ];
    let n = 2_000_000_u32;
    let began = Instant::now();
    for i in 0..n {
        let hung = Hung::Sides {
            left: Weight::from_hundredths(8_000 + i64::from(i % 500)),
            right: Weight::from_hundredths(8_100),
        };
        black_box(divide(black_box(hung), SplitBasis::AsHung, &claims).is_ok());
    }
    println!("carcasses divided                 {:>9.0} a second", f64::from(n) / began.elapsed().as_secs_f64());

    let hanging = Hanging {
        species: Species::Beef,
        unit: Unit::Lb,
        weight: Weight::from_hundredths(34_000),
        size: Size::Half,
        part: Part::Split,
        age_months: None,
        head_on: false,
        skin_on: false,
    };
    let sheet = Sheet::default();
    let n = 2_000_u32;
    assert!(take_home(&hanging, &sheet).is_ok());
    let began = Instant::now();
    for _ in 0..n {
        black_box(take_home(black_box(&hanging), &sheet).is_ok());
    }
    println!("one take-home forecast            {:>9.3} ms", began.elapsed().as_secs_f64() * 1e3 / f64::from(n));
}
