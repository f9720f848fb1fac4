//! What an animal cost the farm, and how the cost of a lot is shared among its animals: to the cent.

use super::money::Money;
use super::split::by_largest_remainder;
use super::weight::Weight;

crate::words! {
    /// What a cost was for.
    pub enum CostKind {
        /// The young animal that was bought.
        Feeder = "feeder", "feeder animal";
        /// Feed, hay, minerals, pasture.
        Feed = "feed", "feed";
        /// Veterinarian and drugs.
        Vet = "vet", "vet";
        /// Hauling.
        Haul = "haul", "haul";
        /// Anything else.
        Other = "other", "other";
    }
}

crate::words! {
    /// How the cost of several animals is shared.
    pub enum SharedBy {
        /// The same for each.
        Head = "head", "evenly";
        /// In proportion to what each hangs.
        Hanging = "hanging", "by hanging weight";
    }
}

/// The most animals one cost is of.
pub const MOST_HEAD: usize = 200;

/// How a cost is shared as things stand: by hanging weight only once every animal hangs or is lost, and something hangs.
/// `hangs` is each animal's hanging weight, nothing for a lost or condemned one, `None` while it is not known.
pub fn shared_now(by: SharedBy, hangs: &[Option<Weight>]) -> SharedBy {
    let known = hangs.iter().all(Option::is_some) && hangs.iter().flatten().any(|w| !w.is_zero());
    if known { by } else { SharedBy::Head }
}

/// What each of these animals bears of a cost, in their order; it adds up to the amount to the cent, by largest remainder, ties in the
/// order given. An animal that was lost bears nothing of what is shared by hanging weight. Empty for no animal or an amount below nothing.
pub fn shared(amount: Money, by: SharedBy, hangs: &[Option<Weight>]) -> Vec<Money> {
    let parts: Vec<i64> = match shared_now(by, hangs) {
        SharedBy::Head => vec![1; hangs.len()],
        SharedBy::Hanging => hangs.iter().map(|w| w.map_or(0, Weight::hundredths)).collect(),
    };
    let dealt = by_largest_remainder(amount.cents(), &parts).unwrap_or_default();
    dealt.into_iter().map(Money::from_cents).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn lb(n: i64) -> Option<Weight> {
        Some(Weight::from_hundredths(n * 100))
    }
    fn cents(all: &[Money]) -> Vec<i64> {
        all.iter().map(|m| m.cents()).collect()
    }

    #[test]
    fn evenly_until_every_animal_hangs() {
        let amount = Money::from_cents(10_001);
        assert_eq!(cents(&shared(amount, SharedBy::Head, &[lb(100), lb(300)])), [5001, 5000]);
        assert_eq!(cents(&shared(amount, SharedBy::Hanging, &[lb(100), lb(300)])), [2500, 7501]);
        assert_eq!(cents(&shared(amount, SharedBy::Hanging, &[lb(100), None])), [5001, 5000], "one is not weighed yet");
    }

    #[test]
    fn a_lost_animal_bears_nothing_by_weight_and_its_part_evenly() {
        let amount = Money::from_cents(9_000);
        assert_eq!(cents(&shared(amount, SharedBy::Hanging, &[lb(0), lb(200), lb(100)])), [0, 6000, 3000]);
        assert_eq!(cents(&shared(amount, SharedBy::Head, &[lb(0), lb(200), lb(100)])), [3000, 3000, 3000]);
        assert_eq!(cents(&shared(amount, SharedBy::Hanging, &[lb(0), lb(0)])), [4500, 4500], "all are lost");
    }

    proptest! {
        #[test]
        fn every_cent_is_borne_by_an_animal(
            amount in 1_i64..9_999_999_999,
            hangs in prop::collection::vec(prop::option::weighted(0.9, 0_i64..200_000), 1..40),
            by_weight in any::<bool>(),
        ) {
            let hangs: Vec<_> = hangs.into_iter().map(|w| w.map(Weight::from_hundredths)).collect();
            let by = if by_weight { SharedBy::Hanging } else { SharedBy::Head };
            let parts = shared(Money::from_cents(amount), by, &hangs);
            prop_assert_eq!(parts.len(), hangs.len());
            prop_assert_eq!(parts.iter().map(|m| m.cents()).sum::<i64>(), amount);
            prop_assert!(parts.iter().all(|m| m.cents() >= 0));
            match shared_now(by, &hangs) {
                // Evenly no two differ by more than a cent; by weight who hangs more never bears less, but for the odd cent.
                SharedBy::Head => {
                    let (low, high) = (parts.iter().min().unwrap().cents(), parts.iter().max().unwrap().cents());
                    prop_assert!(high - low <= 1);
                }
                SharedBy::Hanging => for (a, pa) in hangs.iter().zip(&parts) {
                    for (b, pb) in hangs.iter().zip(&parts) {
                        prop_assert!(a.unwrap() <= b.unwrap() || pa.cents() + 1 >= pb.cents());
                        prop_assert!(!a.unwrap().is_zero() || pa.is_zero());
                    }
                },
            }
        }
    }
}
