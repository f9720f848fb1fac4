//! What an animal has to sell for: the worksheet of Michigan State University Extension (“Grain Fed Freezer Beef Pricing
//! Worksheet”, April 1, 2024, <https://www.canr.msu.edu/resources/grain-fed-freezer-beef-pricing-worksheet-1>), read both ways.
//!
//! Its chain: live weight × dressing % = carcass; carcass × price = what the customer pays the farm; that + harvest + processing by the
//! pound of carcass = what the customer pays in all; divided by carcass × yield % = the price of a packaged pound. Break-even is what
//! the animal cost the farm divided by the same weights (Ohio State University Extension, Knox County 2020: price per lb = (break-even +
//! profit) / carcass weight). Kept as the worksheet does: weights to the hundredth, money to the cent, each rounded once.

use super::dressing::{Mark, Usual, hanging_weight};
use super::invoice::per_unit;
use super::money::{Money, Overflow, Rate};
use super::share::Species;
use super::weight::Weight;

/// What is put in for one animal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Figures {
    /// Live weight.
    pub live: Weight,
    /// Dressing percentage in tenths of one per cent, 1 to 1,000.
    pub dressing: i64,
    /// What comes home of the carcass, in tenths of one per cent, 1 to 1,000.
    pub yields: i64,
    /// Price per unit of hanging weight.
    pub price: Rate,
    /// What the animal cost the farm in all.
    pub cost: Money,
    /// What the processor asks for a head; the customer pays it.
    pub harvest: Money,
    /// What the processor asks for a unit of hanging weight; the customer pays it.
    pub processing: Rate,
}

/// What comes of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Worked {
    /// Hanging weight.
    pub carcass: Weight,
    /// Packaged weight.
    pub packaged: Weight,
    /// What customers pay the farm.
    pub income: Money,
    /// What customers pay the processor.
    pub to_processor: Money,
    /// What customers pay in all.
    pub all_in: Money,
    /// The same for a packaged unit.
    pub all_in_packaged: Money,
    /// What the farm keeps over its cost; below nothing when it loses.
    pub margin: Money,
    /// Cost for a unit of hanging weight: at this price the farm neither gains nor loses.
    pub even_hanging: Money,
    /// Cost for a packaged unit, without the processor.
    pub even_packaged: Money,
    /// Margin for a unit of hanging weight.
    pub margin_hanging: Money,
    /// Margin for a packaged unit.
    pub margin_packaged: Money,
}

/// Reckons one animal.
///
/// # Errors
/// [`Overflow`] when a sum is larger than can be recorded, or a weight comes to nothing.
pub fn work(f: &Figures) -> Result<Worked, Overflow> {
    let carcass = hanging_weight(f.live, f.dressing).ok_or(Overflow)?;
    let packaged = hanging_weight(carcass, f.yields).ok_or(Overflow)?;
    let income = f.price.times(carcass)?;
    let to_processor = f.harvest.plus(f.processing.times(carcass)?)?;
    let all_in = income.plus(to_processor)?;
    let margin = income.minus(f.cost)?;
    let a_unit = per_unit;
    Ok(Worked {
        carcass,
        packaged,
        income,
        to_processor,
        all_in,
        all_in_packaged: a_unit(all_in, packaged)?,
        margin,
        even_hanging: a_unit(f.cost, carcass)?,
        even_packaged: a_unit(f.cost, packaged)?,
        margin_hanging: a_unit(margin, carcass)?,
        margin_packaged: a_unit(margin, packaged)?,
    })
}

/// What usually comes home of a carcass, in tenths of one per cent of its weight.
pub const fn usual_yield(species: Species) -> Usual {
    let (low, high, source) = match species {
        Species::Beef => {
            (650, 700, "Iowa State University Extension (65-70); the Michigan State worksheet of 2024 reckons with 68")
        }
        Species::Hog => (
            650,
            760,
            "Penn State (Raines, quoted by ATTRA: boneless 65-70); National Pork Producers Council, by way of the University of Kentucky \
             (140 of 184 lb, 76)",
        ),
        Species::Lamb => {
            (650, 750, "University of Wisconsin-Madison and Ohio State, lamb yield (bone in, regular trim: 65-75)")
        }
        Species::Goat => (700, 850, "University of Tennessee, Loveday (bone in: 70-85)"),
    };
    Usual { low, high, source, mark: Mark::Published }
}

/// The same animal where it dresses and yields least, in the middle, and where it does most.
///
/// # Errors
/// As [`work`].
pub fn three(f: &Figures, dressing: (i64, i64), yields: (i64, i64)) -> Result<[Worked; 3], Overflow> {
    let at = |dressing, yields| work(&Figures { dressing, yields, ..*f });
    let middle = |(low, high): (i64, i64)| low.saturating_add(high) / 2;
    Ok([at(dressing.0, yields.0)?, at(middle(dressing), middle(yields))?, at(dressing.1, yields.1)?])
}

/// The lowest price of a unit of hanging weight, to the cent, that leaves at least `profit` over the cost. Rounded up: rounded half up
/// it could fall short of the profit.
///
/// # Errors
/// As [`work`].
pub fn price_for(f: &Figures, profit: Money) -> Result<Rate, Overflow> {
    let carcass = hanging_weight(f.live, f.dressing).ok_or(Overflow)?;
    let wanted = f.cost.plus(profit)?.cents().max(0);
    let weight = carcass.hundredths();
    if weight <= 0 {
        return Err(Overflow);
    }
    // Cents per unit = cents / (hundredths / 100), rounded up.
    let cents = i128::from(wanted).checked_mul(100).ok_or(Overflow)?;
    let up = (cents + i128::from(weight) - 1) / i128::from(weight);
    let cents = i64::try_from(up).map_err(|_| Overflow)?;
    let ten_thousandths = cents.checked_mul(100).filter(|n| *n <= Rate::LIMIT).ok_or(Overflow)?;
    Ok(Rate::from_ten_thousandths(ten_thousandths))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn figures(live: i64, dressing: i64, yields: i64, price: i64, cost: i64) -> Figures {
        Figures {
            live: Weight::from_hundredths(live),
            dressing,
            yields,
            price: Rate::from_ten_thousandths(price),
            cost: Money::from_cents(cost),
            harvest: Money::from_cents(10_000),
            processing: Rate::from_ten_thousandths(7_000),
        }
    }

    #[test]
    fn a_loss_is_below_nothing() {
        let w = work(&figures(100_000, 600, 650, 30_000, 200_000)).unwrap();
        assert_eq!((w.carcass.plain(), w.packaged.plain()), ("600.00".into(), "390.00".into()));
        assert_eq!((w.income.plain(), w.margin.plain()), ("1800.00".into(), "-200.00".into()));
        assert_eq!((w.even_hanging.plain(), w.even_packaged.plain()), ("3.33".into(), "5.13".into()));
        assert_eq!((w.margin_hanging.plain(), w.margin_packaged.plain()), ("-0.33".into(), "-0.51".into()));
    }

    proptest! {
        #[test]
        fn the_price_for_a_profit_leaves_it_and_a_cent_less_does_not(
            live in 3_000_i64..200_000, dressing in 400_i64..750, cost in 0_i64..500_000, profit in 0_i64..200_000,
        ) {
            let mut f = figures(live, dressing, 650, 0, cost);
            let profit = Money::from_cents(profit);
            f.price = price_for(&f, profit).unwrap();
            prop_assert!(work(&f).unwrap().margin >= profit);
            if f.price.ten_thousandths() >= 100 {
                f.price = Rate::from_ten_thousandths(f.price.ten_thousandths() - 100);
                // Rounding the income to the cent may give back half a cent.
                prop_assert!(work(&f).unwrap().margin <= profit);
            }
        }

        #[test]
        fn a_higher_price_dressing_or_yield_never_hurts(
            live in 3_000_i64..200_000, dressing in 400_i64..750, yields in 400_i64..800, price in 1_i64..100_000, cost in 0_i64..500_000,
        ) {
            let low = work(&figures(live, dressing, yields, price, cost)).unwrap();
            let more = |f: Figures| work(&f).unwrap();
            prop_assert!(more(figures(live, dressing, yields, price + 100, cost)).margin >= low.margin);
            let dressed = more(figures(live, dressing + 10, yields, price, cost));
            prop_assert!(dressed.margin >= low.margin && dressed.even_hanging <= low.even_hanging);
            let kept = more(figures(live, dressing, yields + 10, price, cost));
            prop_assert!(kept.margin == low.margin && kept.even_packaged <= low.even_packaged);
            prop_assert!(kept.all_in_packaged <= low.all_in_packaged);
        }
    }
}
