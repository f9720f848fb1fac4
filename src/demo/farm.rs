//! The demo's farm and what it sells. Prices are invented, in the range that extension
//! services report (common practice, no source).

use super::plants;
use super::teller::{Teller, lb, usd};
use crate::actions::Failure;
use crate::actions::offer::{OfferingIn, PriceIn, add_offering, set_prices};
use crate::book::farm;
use crate::book::ids::{OfferingId, ProcessorId};
use crate::trade::money::{Money, Rate};
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{PaperSize, PriceBasis, QuarterPart, Terms};
use crate::trade::weight::{Unit, Weight};
use chrono::Datelike;

/// What the farm sells and where it goes.
pub(super) struct Farm {
    pub(super) beef: OfferingId,
    /// One steer of which quarters are the forequarter and the hindquarter.
    pub(super) apart: OfferingId,
    pub(super) hogs: OfferingId,
    pub(super) lambs: OfferingId,
    pub(super) goats: OfferingId,
    pub(super) pell_road: ProcessorId,
    pub(super) tannery: ProcessorId,
}

/// Who the farm is and how it does business.
pub(super) fn set_up(t: &mut Teller) -> Result<(), Failure> {
    farm::ensure(t.tx)?;
    let mut f = farm::get(t.tx.conn())?;
    let address = "118 Slough Road\nElm Fork, WI 53000";
    f.name = "Nettle Bend Farm".into();
    f.contact_name = "Ada Moen".into();
    f.address = address.into();
    f.phone = "555-0118".into();
    f.mail = "office@nettlebend.example".into();
    (f.unit, f.paper, f.time_zone) = (Unit::Lb, PaperSize::Letter, "America/Chicago".into());
    f.payee = "Nettle Bend Farm".into();
    f.pay_address = address.into();
    f.pay_words = "Checks or bank transfer; write the invoice number on it.".into();
    (f.terms, f.terms_days) = (Terms::Days, 14);
    f.deposit_policy =
        "Your deposit holds your share and its price. It comes off the balance. If you cancel before the cut-sheet \
                        deadline, we give it back or move it to the next season, as you like; after that we keep it."
            .into();
    f.set_up_at = Some(t.doing(-210, 9).now.at);
    f.is_demo = true;
    let version = f.version;
    if farm::save(t.tx, &f, version)? { Ok(()) } else { Err(Failure::Stale) }
}

const fn cents(c: i64) -> Rate {
    Rate::from_ten_thousandths(c * 100)
}

fn price(size: Size, basis: PriceBasis, rate: Option<Rate>, flat_price: Option<Money>, deposit: i64) -> PriceIn {
    PriceIn { size, basis, rate, flat_price, deposit: usd(deposit) }
}

fn hanging(size: Size, per_lb: i64, deposit: i64) -> PriceIn {
    price(size, PriceBasis::Hanging, Some(cents(per_lb)), None, deposit)
}

/// Offerings and plants.
pub(super) fn sell(t: &mut Teller) -> Result<Farm, Failure> {
    let doing = t.doing(-205, 11);
    let season = season(t);
    let from = t.day(-205);
    let mut offer = |species,
                     quarter_part,
                     head_count,
                     sizes: &[Size],
                     expected: Option<(Weight, Weight)>,
                     notes: &str,
                     prices: &[PriceIn]| {
        let input = OfferingIn {
            species,
            season: season.clone(),
            head_count,
            sizes: sizes.to_vec(),
            quarter_part,
            expected_low: expected.map(|e| e.0),
            expected_high: expected.map(|e| e.1),
            notes: notes.into(),
        };
        add_offering(t.tx, &doing, &input, prices, from)
    };
    let beef_prices = [hanging(Size::Whole, 455, 600), hanging(Size::Half, 465, 300), hanging(Size::Quarter, 480, 150)];
    let beef = offer(
        Species::Beef,
        QuarterPart::Split,
        6,
        &[Size::Whole, Size::Half, Size::Quarter],
        Some((lb(6400), lb(7800))),
        "Grass all summer, barley for the last ten weeks.",
        &beef_prices,
    )?;
    let apart = offer(
        Species::Beef,
        QuarterPart::ForeHind,
        1,
        &[Size::Half, Size::Quarter],
        Some((lb(6400), lb(7800))),
        "For those who want steaks, or roasts and ground: quarters are the forequarter or the hindquarter.",
        &[hanging(Size::Half, 465, 300), hanging(Size::Quarter, 480, 150)],
    )?;
    let hogs = offer(
        Species::Hog,
        QuarterPart::Split,
        8,
        &[Size::Whole, Size::Half],
        Some((lb(1750), lb(2150))),
        "Raised in the oak lot. Hams and bacon are smoked at the plant.",
        &[hanging(Size::Whole, 475, 200), hanging(Size::Half, 495, 100)],
    )?;
    let flat = price(Size::Whole, PriceBasis::Flat, None, Some(usd(385)), 75);
    let lambs = offer(
        Species::Lamb,
        QuarterPart::Split,
        6,
        &[Size::Whole],
        Some((lb(480), lb(640))),
        "One price for the whole lamb.",
        &[flat],
    )?;
    let live = price(Size::Whole, PriceBasis::Live, Some(cents(425)), None, 60);
    let goats = offer(
        Species::Goat,
        QuarterPart::Split,
        2,
        &[Size::Whole],
        None,
        "By live weight on the farm’s own scale.",
        &[live],
    )?;
    // Hogs went up in summer; whoever reserved before keeps the old price.
    let doing = t.doing(-92, 18);
    let from = t.day(-90);
    set_prices(t.tx, &doing, hogs, &[hanging(Size::Whole, 500, 200), hanging(Size::Half, 525, 100)], from)?;
    let (pell_road, tannery) = (plants::pell_road(t)?, plants::tannery(t)?);
    Ok(Farm { beef, apart, hogs, lambs, goats, pell_road, tannery })
}

/// "Fall 2027": the season today lies in.
fn season(t: &Teller) -> String {
    let name = match t.today.month() {
        3..=5 => "Spring",
        6..=8 => "Summer",
        9..=11 => "Fall",
        _ => "Winter",
    };
    format!("{name} {}", t.today.year())
}
