//! Charges beside the meat: kill fee, cut and wrap, sausage, split fee, delivery.
//!
//! How the minima are read: a rate `per head` and every minimum are stated for a whole head, so one share owes its fraction
//! of them. `minimum_quantity` is a minimum weight a head is charged for ("at least as for a 500-lb carcass", University of
//! Georgia, custom-exempt processing page): it goes with the two charges that multiply a weight, and is refused with the
//! others. `minimum_amount` may go with any charge; the dearer of the two is owed. Each charge is rounded once, to the cent.

use super::decimal::grouped;
use super::money::{Money, Overflow, Percent, Rate};
use super::share::Size;
use super::split::by_largest_remainder;
pub use super::vocabulary::{BilledBy, Per};
use super::weight::{Unit, Weight};
use rust_decimal::Decimal;

/// One charge as it holds for one share.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Charge {
    /// What it is for, as the customer reads it.
    pub name: String,
    /// What the rate is multiplied with.
    pub per: Per,
    /// Price; for a whole head when `per` is head.
    pub rate: Rate,
    /// Weight of product made for this share, or hundredths of packs; only for [`Per::UnitProduct`] and [`Per::Pack`], which
    /// need it.
    pub quantity: Option<Weight>,
    /// Least weight charged, for a whole head; only for the charges by weight.
    pub minimum_quantity: Option<Weight>,
    /// Least amount charged, for a whole head; not negative.
    pub minimum_amount: Option<Money>,
    /// Who collects it.
    pub billed_by: BilledBy,
    /// Tax on the rounded amount.
    pub tax: Percent,
    /// This share's part of a per-head charge as [`deal_per_head`] dealt it, in place of rate times fraction.
    pub dealt: Option<Money>,
}

impl Charge {
    /// A charge with only the usual parts; set the others by hand.
    pub fn new(name: impl Into<String>, per: Per, rate: Rate, billed_by: BilledBy) -> Self {
        Self {
            name: name.into(),
            per,
            rate,
            quantity: None,
            minimum_quantity: None,
            minimum_amount: None,
            billed_by,
            tax: Percent::ZERO,
            dealt: None,
        }
    }
}

/// Which part of a charge cannot be reckoned, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChargeError {
    /// A charge by hanging weight and no hanging weight.
    #[error("This charge goes by hanging weight, which is not known yet")]
    NoWeight,
    /// A charge by product without its weight.
    #[error(
        "A charge per unit of product needs its quantity, the weight of product made; one per pack the number of packs"
    )]
    NoQuantity,
    /// A quantity where none belongs.
    #[error("Only a charge per unit of product or per pack has a quantity. Leave it out here")]
    NeedlessQuantity,
    /// A minimum weight where none belongs.
    #[error("Only a charge by weight has a minimum weight. Use minimum_amount, or leave it out")]
    NeedlessMinimum,
    /// A negative minimum.
    #[error("A minimum cannot be negative")]
    NegativeMinimum,
    /// A dealt amount where none belongs.
    #[error("Only a charge per head is dealt out among several owners")]
    NeedlessDealt,
    /// Too large.
    #[error("The charge comes to more than can be recorded (99,999,999.99)")]
    TooLarge,
}

impl From<Overflow> for ChargeError {
    fn from(_: Overflow) -> Self {
        Self::TooLarge
    }
}

/// How a line's amount was reckoned; enough to do it again with a pocket calculator.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reckoned {
    /// A weight times a rate.
    Weight {
        /// Weight charged, at most four decimals (a fraction of a minimum may have them).
        quantity: Decimal,
        /// Price per unit.
        rate: Rate,
        /// Whether `quantity` is this share's part of the minimum, because less hung or was made.
        minimum: bool,
    },
    /// A number of packs times a rate.
    Packs {
        /// How many.
        quantity: Decimal,
        /// Price of a pack.
        rate: Rate,
    },
    /// A live weight times a rate.
    LiveWeight {
        /// The share's part of the live weight.
        quantity: Weight,
        /// Price per unit of live weight.
        rate: Rate,
    },
    /// A rate for a whole head times the share's fraction.
    Head {
        /// Price of a whole head.
        rate: Rate,
        /// The share.
        share: Size,
        /// Whether the cents were dealt out among several owners.
        dealt: bool,
    },
    /// A minimum for a whole head times the share's fraction.
    MinimumAmount {
        /// The least a whole head is charged.
        minimum: Money,
        /// The share.
        share: Size,
        /// Whether the cents were dealt out among several owners.
        dealt: bool,
    },
    /// An amount that is what it is: a fixed price, a charge per share, an adjustment.
    Fixed,
}

impl Reckoned {
    /// `389.50 lb × $4.65`, `$110.00 a head × ½`; empty when there is nothing to reckon.
    pub fn words(self, unit: Unit) -> String {
        let unit = unit.as_str();
        match self {
            Self::Weight { quantity, rate, minimum } => {
                let least = if minimum { " (minimum)" } else { "" };
                format!("{} {unit}{least} × {}", shown_quantity(quantity), rate.dollars())
            }
            Self::Packs { quantity, rate } => format!("{} packs × {}", quantity.normalize(), rate.dollars()),
            Self::LiveWeight { quantity, rate } => {
                format!("{} {unit} live × {}", quantity.shown(), rate.dollars())
            }
            Self::Head { rate, share, dealt } => head_words(&rate.dollars(), "a head", share, dealt),
            Self::MinimumAmount { minimum, share, dealt } => {
                head_words(&minimum.dollars(), "minimum a head", share, dealt)
            }
            Self::Fixed => String::new(),
        }
    }
}

fn head_words(price: &str, what: &str, share: Size, dealt: bool) -> String {
    let dealt = if dealt { ", to the cent among the owners" } else { "" };
    match share {
        Size::Whole => format!("{price} {what}"),
        Size::Half | Size::Quarter => format!("{price} {what} × {}{dealt}", share.fraction()),
    }
}

/// A weight with two to four decimals.
fn shown_quantity(quantity: Decimal) -> String {
    let text = i64::try_from(quantity.mantissa())
        .ok()
        .map_or_else(|| quantity.to_string(), |mantissa| grouped(mantissa, quantity.scale()));
    let cut = text.trim_end_matches('0');
    let decimals = cut.rsplit_once('.').map_or(0, |(_, d)| d.len());
    format!("{cut}{}", "0".repeat(2_usize.saturating_sub(decimals)))
}

/// The share as an exact fraction of one head: 1, 0.5 or 0.25.
pub(crate) fn fraction(share: Size) -> Decimal {
    Decimal::new(share.quarters() * 25, 2)
}

/// Reckons one charge for one share: the amount, rounded once half away from zero, and how it came about.
///
/// # Errors
/// [`ChargeError`] names what is missing or does not belong.
pub fn reckon_charge(charge: &Charge, hanging: Option<Weight>, share: Size) -> Result<(Money, Reckoned), ChargeError> {
    let by_weight = matches!(charge.per, Per::UnitHanging | Per::UnitProduct);
    if !matches!(charge.per, Per::UnitProduct | Per::Pack) && charge.quantity.is_some() {
        return Err(ChargeError::NeedlessQuantity);
    }
    if !by_weight && charge.minimum_quantity.is_some() {
        return Err(ChargeError::NeedlessMinimum);
    }
    if charge.minimum_amount.is_some_and(|m| m.cents() < 0) {
        return Err(ChargeError::NegativeMinimum);
    }
    let (exact, reckoned) = match charge.per {
        Per::Head => {
            let exact = charge.rate.decimal().checked_mul(fraction(share)).ok_or(Overflow)?;
            (exact, Reckoned::Head { rate: charge.rate, share, dealt: false })
        }
        Per::Share => (charge.rate.decimal(), Reckoned::Fixed),
        Per::UnitHanging => by_the_weight(charge, hanging.ok_or(ChargeError::NoWeight)?, share)?,
        Per::UnitProduct => by_the_weight(charge, charge.quantity.ok_or(ChargeError::NoQuantity)?, share)?,
        Per::Pack => {
            let quantity = charge.quantity.ok_or(ChargeError::NoQuantity)?.decimal();
            let exact = quantity.checked_mul(charge.rate.decimal()).ok_or(Overflow)?;
            (exact, Reckoned::Packs { quantity, rate: charge.rate })
        }
    };
    let least = charge.minimum_amount.unwrap_or(Money::ZERO);
    let least_here = least.decimal().checked_mul(fraction(share)).ok_or(Overflow)?;
    let (exact, mut reckoned) = if least_here > exact {
        (least_here, Reckoned::MinimumAmount { minimum: least, share, dealt: false })
    } else {
        (exact, reckoned)
    };
    match (charge.dealt, &mut reckoned) {
        (None, _) => Ok((Money::rounded(exact)?, reckoned)),
        (Some(amount), Reckoned::Head { dealt, .. } | Reckoned::MinimumAmount { dealt, .. })
            if charge.per == Per::Head =>
        {
            *dealt = true;
            Ok((amount, reckoned))
        }
        (Some(_), _) => Err(ChargeError::NeedlessDealt),
    }
}

fn by_the_weight(charge: &Charge, weight: Weight, share: Size) -> Result<(Decimal, Reckoned), Overflow> {
    let least =
        charge.minimum_quantity.unwrap_or(Weight::ZERO).decimal().checked_mul(fraction(share)).ok_or(Overflow)?;
    let minimum = least > weight.decimal();
    let quantity = if minimum { least } else { weight.decimal() };
    let exact = quantity.checked_mul(charge.rate.decimal()).ok_or(Overflow)?;
    Ok((exact, Reckoned::Weight { quantity, rate: charge.rate, minimum }))
}

/// A whole head's per-head charge, rounded to the cent: what [`deal_per_head`] deals out.
///
/// # Errors
/// [`Overflow`] when it is larger than can be recorded.
pub fn head_charge(rate: Rate, minimum_amount: Option<Money>) -> Result<Money, Overflow> {
    Ok(Money::rounded(rate.decimal())?.max(minimum_amount.unwrap_or(Money::ZERO)))
}

/// Something of one head dealt out in whole cents or hundredths; `owners` and `unsold` add up to it exactly.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dealt<T> {
    /// Each owner's part, in the order given.
    pub owners: Vec<T>,
    /// The part of the quarters nobody has bought; stays with the farm.
    pub unsold: T,
}

/// Deals one head's charge out among the owners of its quarters (4, 2 or 1 each, in order of reservation), unsold last.
///
/// By largest remainder, ties in that order. `None` when the charge is negative, a share is not positive or there are more
/// than four quarters.
pub fn deal_per_head(charge: Money, quarters: &[i64]) -> Option<Dealt<Money>> {
    let dealt = deal(charge.cents(), quarters)?;
    Some(Dealt {
        owners: dealt.owners.into_iter().map(Money::from_cents).collect(),
        unsold: Money::from_cents(dealt.unsold),
    })
}

/// The same for a live weight that several owners pay by: the parts add up to it to the hundredth.
pub fn deal_live_weight(live: Weight, quarters: &[i64]) -> Option<Dealt<Weight>> {
    let dealt = deal(live.hundredths(), quarters)?;
    Some(Dealt {
        owners: dealt.owners.into_iter().map(Weight::from_hundredths).collect(),
        unsold: Weight::from_hundredths(dealt.unsold),
    })
}

fn deal(total: i64, quarters: &[i64]) -> Option<Dealt<i64>> {
    let sold = quarters.iter().try_fold(0_i64, |sum, q| if *q > 0 { sum.checked_add(*q) } else { None })?;
    let left = 4_i64.checked_sub(sold).filter(|left| *left >= 0)?;
    let mut parts = quarters.to_vec();
    parts.push(left);
    let mut owners = by_largest_remainder(total, &parts)?;
    let unsold = owners.pop()?;
    Some(Dealt { owners, unsold })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn charge(per: Per, rate: &str) -> Charge {
        Charge::new("x", per, Rate::parse(rate).unwrap(), BilledBy::Processor)
    }
    fn w(text: &str) -> Weight {
        Weight::parse(text).unwrap()
    }
    fn amount(charge: &Charge, weight: &str, share: Size) -> (String, String) {
        let (money, how) = reckon_charge(charge, Some(w(weight)), share).unwrap();
        (money.plain(), how.words(Unit::Lb))
    }

    #[test]
    fn each_kind_of_charge_is_reckoned_its_own_way() {
        let said = |a: &str, b: &str| (a.to_string(), b.to_string());
        assert_eq!(amount(&charge(Per::Head, "110"), "389.5", Size::Half), said("55.00", "$110.00 a head × ½"));
        assert_eq!(amount(&charge(Per::Head, "95.01"), "1", Size::Half).0, "47.51");
        assert_eq!(amount(&charge(Per::Share, "15.005"), "1", Size::Quarter), said("15.01", ""));
        assert_eq!(amount(&charge(Per::UnitHanging, "0.85"), "389.5", Size::Half), said("331.08", "389.50 lb × $0.85"));
        let patties = Charge { quantity: Some(w("20")), ..charge(Per::UnitProduct, "0.5") };
        assert_eq!(amount(&patties, "389.5", Size::Half), said("10.00", "20.00 lb × $0.50"));
        let packs = Charge { quantity: Some(w("24")), ..charge(Per::Pack, "0.35") };
        assert_eq!(amount(&packs, "389.5", Size::Half), said("8.40", "24 packs × $0.35"));
    }

    #[test]
    fn minima_are_for_a_whole_head() {
        let least = Charge { minimum_quantity: Some(w("500.01")), ..charge(Per::UnitHanging, "1") };
        assert_eq!(amount(&least, "110", Size::Quarter), ("125.00".into(), "125.0025 lb (minimum) × $1.00".into()));
        assert_eq!(amount(&least, "130", Size::Quarter).0, "130.00");
        let least = Charge { minimum_amount: Some(Money::from_cents(20_001)), ..charge(Per::UnitHanging, "1") };
        assert_eq!(amount(&least, "90", Size::Half), ("100.01".into(), "$200.01 minimum a head × ½".into()));
        let least = Charge { minimum_amount: Some(Money::from_cents(8_000)), ..charge(Per::Share, "15") };
        assert_eq!(amount(&least, "90", Size::Quarter).0, "20.00");
    }

    #[test]
    fn what_does_not_belong_is_refused() {
        let refused = |c: &Charge, weight| reckon_charge(c, weight, Size::Half).unwrap_err();
        assert_eq!(refused(&charge(Per::UnitProduct, "1"), Some(w("1"))), ChargeError::NoQuantity);
        assert_eq!(refused(&charge(Per::UnitHanging, "1"), None), ChargeError::NoWeight);
        let needless = Charge { quantity: Some(w("1")), ..charge(Per::Head, "1") };
        assert_eq!(refused(&needless, None), ChargeError::NeedlessQuantity);
        assert_eq!(refused(&charge(Per::Pack, "1"), Some(w("1"))), ChargeError::NoQuantity);
        let least = Charge { quantity: Some(w("1")), minimum_quantity: Some(w("1")), ..charge(Per::Pack, "1") };
        assert_eq!(refused(&least, Some(w("1"))), ChargeError::NeedlessMinimum);
        let needless = Charge { minimum_quantity: Some(w("1")), ..charge(Per::Share, "1") };
        assert_eq!(refused(&needless, None), ChargeError::NeedlessMinimum);
        let negative = Charge { minimum_amount: Some(Money::from_cents(-1)), ..charge(Per::Share, "1") };
        assert_eq!(refused(&negative, None), ChargeError::NegativeMinimum);
        let dealt = Charge { dealt: Some(Money::ZERO), ..charge(Per::Share, "1") };
        assert_eq!(refused(&dealt, None), ChargeError::NeedlessDealt);
        assert_eq!(refused(&charge(Per::UnitHanging, "99999.9999"), Some(w("99999.99"))), ChargeError::TooLarge);
    }

    #[test]
    fn a_dealt_cent_takes_the_place_of_the_fraction() {
        let dealt = deal_per_head(Money::from_cents(9_501), &[2, 1]).unwrap();
        assert_eq!(dealt.owners, [Money::from_cents(4_751), Money::from_cents(2_375)]);
        assert_eq!(dealt.unsold, Money::from_cents(2_375));
        let charge = Charge { dealt: dealt.owners.last().copied(), ..charge(Per::Head, "95.01") };
        let said = "$95.01 a head × ¼, to the cent among the owners";
        assert_eq!(amount(&charge, "1", Size::Quarter), ("23.75".into(), said.into()));
        assert_eq!(deal_per_head(Money::from_cents(100), &[4, 1]), None);
        assert_eq!(deal_per_head(Money::from_cents(100), &[0]), None);
        assert_eq!(deal_per_head(Money::from_cents(100), &[]).unwrap().unsold.cents(), 100);
    }

    proptest! {
        #[test]
        fn dealt_cents_add_up(cents in 0_i64..1_000_000, shares in prop::sample::select(vec![
            vec![4], vec![2, 2], vec![2, 1, 1], vec![1, 2, 1], vec![1, 1, 1, 1], vec![2], vec![1], vec![1, 1], vec![2, 1], vec![1, 1, 1],
        ])) {
            let dealt = deal_per_head(Money::from_cents(cents), &shares).unwrap();
            let owners: i64 = dealt.owners.iter().map(|m| m.cents()).sum();
            prop_assert_eq!(owners + dealt.unsold.cents(), cents);
            for (money, quarters) in dealt.owners.iter().zip(&shares) {
                prop_assert!((4 * money.cents() - quarters * cents).abs() < 4);
            }
            let live = deal_live_weight(Weight::from_hundredths(cents), &shares).unwrap();
            prop_assert_eq!(live.owners.iter().map(|w| w.hundredths()).sum::<i64>() + live.unsold.hundredths(), cents);
        }
    }
}
