//! What share of its live weight an animal is expected to hang, and which weights need a second look.
//!
//! The ranges are published ones; each names its source, and those from memory say so. A weight is called doubtful only
//! outside the range widened by two points either way, because full-fed animals dress 2 to 5 points lower than fasted ones
//! (University of Georgia Extension, Talton 2011). A cold weight may lie another 5 % of itself lower (cooler shrink of the
//! first day: 2-5 %, University of Tennessee PB 1822). Doubtful weights are asked about, never refused. An expected weight is
//! a range, not a promise.

use super::animal::Class;
use super::decimal::round_fixed;
use super::share::Species;
use super::vocabulary::CarcassBasis;
use super::weight::Weight;
use rust_decimal::Decimal;

/// Where a range comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Read in the publication named.
    Published,
    /// From memory, not verified.
    FromMemory,
}

/// A usual dressing percentage, in tenths of one per cent of live weight, hot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Usual {
    /// Lowest usual.
    pub low: i64,
    /// Highest usual.
    pub high: i64,
    /// Who says so.
    pub source: &'static str,
    /// How good the source is.
    pub mark: Mark,
}

/// How a carcass was dressed and weighed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dressed {
    /// Hot or cold.
    pub basis: CarcassBasis,
    /// Whether the head is still on. Beef always hangs without.
    pub head_on: bool,
    /// Whether the skin is still on. Beef always hangs without.
    pub skin_on: bool,
}

impl Dressed {
    /// The way most plants dress that species: hogs scalded with the skin on and the head off, the others skinned, head off.
    pub const fn usual(species: Species, basis: CarcassBasis) -> Self {
        Self { basis, head_on: false, skin_on: matches!(species, Species::Hog) }
    }
}

const fn published(low: i64, high: i64, source: &'static str) -> Usual {
    Usual { low, high, source, mark: Mark::Published }
}

const fn from_memory(low: i64, high: i64, source: &'static str) -> Usual {
    Usual { low, high, source, mark: Mark::FromMemory }
}

/// The usual dressing percentage of a class, hot.
pub const fn usual(class: Class, dressed: Dressed) -> Usual {
    let Dressed { head_on, skin_on, .. } = dressed;
    match class {
        Class::Steer => published(
            580,
            660,
            "Michigan State, Freezer beef Part One (61-66, average 63); University of Tennessee WP 2015-06 (58-63)",
        ),
        Class::Heifer => published(
            570,
            650,
            "Michigan State, Freezer beef Part One: average 62, one point under steers, whose range is moved by it",
        ),
        Class::DairySteer => published(560, 610, "Michigan State, Freezer beef Part One (dairy-type steers)"),
        Class::Cow => from_memory(460, 560, "from memory, not verified"),
        Class::Bull => from_memory(540, 620, "from memory, not verified"),
        Class::Barrow | Class::Gilt => match (skin_on, head_on) {
            (true, false) => published(700, 750, "University of Wisconsin-Madison Extension, hog yield (70-75)"),
            (true, true) => from_memory(
                700,
                780,
                "University of Wisconsin-Madison Extension (70-75; higher with the head on: by how much is from memory)",
            ),
            (false, false) => from_memory(
                640,
                710,
                "University of Wisconsin-Madison Extension (70-75), less 4-6 points without skin, which is from memory",
            ),
            (false, true) => from_memory(
                660,
                750,
                "University of Wisconsin-Madison Extension (70-75), without skin and with head, which is from memory",
            ),
        },
        Class::Sow | Class::Boar => match skin_on {
            true => from_memory(650, 750, "from memory, not verified"),
            false => from_memory(600, 710, "from memory, not verified"),
        },
        Class::Lamb | Class::Ewe | Class::Ram => match (skin_on, head_on) {
            (false, false) => published(440, 560, "University of Wisconsin-Madison and Ohio State, lamb yield (44-56)"),
            (false, true) => published(
                450,
                580,
                "Cornell, sheepgoatmarketing.info (hot-house lamb, hide off and head on: 55-58; others 45 up)",
            ),
            (true, _) => {
                published(650, 700, "Cornell, sheepgoatmarketing.info (hot-house lamb, hide and head on: 65-70)")
            }
        },
        Class::Kid | Class::Wether | Class::Doe | Class::Buck => match (skin_on, head_on) {
            (false, false) => published(
                430,
                550,
                "University of Georgia 2011 (43); University of Kentucky ASC-179 (45-50); University of Tennessee, Loveday (45-55)",
            ),
            (false, true) => {
                published(450, 600, "Cornell, sheepgoatmarketing.info (hide off, head on: goats 45-55, kids 50-60)")
            }
            (true, _) => published(600, 680, "Cornell, sheepgoatmarketing.info (kid, hide and head on: 60-68)"),
        },
    }
}

/// The range outside which a weight is asked about, in tenths of one per cent.
pub const fn plausible(class: Class, dressed: Dressed) -> (i64, i64) {
    let Usual { low, high, .. } = usual(class, dressed);
    let low = low - 20;
    match dressed.basis {
        CarcassBasis::Hot => (low, high + 20),
        CarcassBasis::Cold => (low * 95 / 100, high + 20),
    }
}

/// Hanging weight as a per cent of live weight, in tenths of one per cent, rounded half up; `None` when the live weight is zero.
pub fn percent_tenths(live: Weight, hanging: Weight) -> Option<i64> {
    let exact = hanging.decimal().checked_mul(Decimal::ONE_HUNDRED)?.checked_div(live.decimal())?;
    round_fixed(exact, 1)
}

/// `60.1 %`, `83 %`.
pub fn shown(tenths: i64) -> String {
    format!("{} %", Decimal::new(tenths, 1).normalize())
}

/// That per cent (in tenths) of a live weight, to the hundredth.
pub fn hanging_weight(live: Weight, tenths: i64) -> Option<Weight> {
    let exact = live.decimal().checked_mul(Decimal::new(tenths, 3))?;
    round_fixed(exact, 2).filter(|n| (0..=Weight::LIMIT).contains(n)).map(Weight::from_hundredths)
}

/// What an animal of that live weight is expected to hang, from the usual range: to 5 units from 200 on, below that to 1.
pub fn expected(live: Weight, class: Class, dressed: Dressed) -> Option<(Weight, Weight)> {
    let usual = usual(class, dressed);
    let step = if live.hundredths() >= 20_000 { 500 } else { 100 };
    let round = |w: Weight| Weight::from_hundredths((w.hundredths() + step / 2) / step * step);
    Some((round(hanging_weight(live, usual.low)?), round(hanging_weight(live, usual.high)?)))
}

/// The largest difference between two sides that passes without a question, in per cent of the lighter side (California
/// Business and Professions Code 12024.9 allows 8 % between the quarters of a half; here a measure for a second look only).
pub const SIDES_MAY_DIFFER_PERCENT: i64 = 8;

/// Whether the sides of a carcass differ by more than that. A side that weighs nothing beside one that does, does.
pub fn sides_differ(left: Weight, right: Weight) -> bool {
    let (a, b) = (left.hundredths(), right.hundredths());
    (a - b).abs().saturating_mul(100) > a.min(b).saturating_mul(SIDES_MAY_DIFFER_PERCENT)
}

/// Why a weight is asked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// Lighter or heavier than such an animal usually hangs.
    OutOfRange {
        /// What it hangs, in tenths of one per cent of live weight.
        tenths: i64,
        /// Lowest plausible.
        low: i64,
        /// Highest plausible.
        high: i64,
    },
    /// More than it weighed alive.
    HeavierThanAlive,
    /// The sides differ by more than 8 %.
    SidesDiffer,
}

impl Doubt {
    /// One sentence, such as "That is 83 % of live weight; for a barrow 68 % to 77 % is plausible".
    pub fn sentence(self, class: Class) -> String {
        match self {
            Self::OutOfRange { tenths, low, high } => format!(
                "That is {} of live weight; for a {} {} to {} is plausible",
                shown(tenths),
                class.label(),
                shown(low),
                shown(high)
            ),
            Self::HeavierThanAlive => "That is more than it weighed alive".to_string(),
            Self::SidesDiffer => {
                format!("The sides differ by more than {SIDES_MAY_DIFFER_PERCENT} % of the lighter one")
            }
        }
    }
}

/// What about a carcass's weights needs a second look; empty when all is plausible or nothing is known to judge it by.
pub fn doubts(
    class: Class,
    dressed: Dressed,
    live: Option<Weight>,
    hanging: Weight,
    sides: Option<(Weight, Weight)>,
) -> Vec<Doubt> {
    let mut doubts = Vec::new();
    if let Some(live) = live.filter(|l| !l.is_zero()) {
        let (low, high) = plausible(class, dressed);
        match percent_tenths(live, hanging) {
            Some(tenths) if tenths <= 1000 && !(low..=high).contains(&tenths) => {
                doubts.push(Doubt::OutOfRange { tenths, low, high });
            }
            Some(tenths) if tenths <= 1000 => {}
            _ => doubts.push(Doubt::HeavierThanAlive),
        }
    }
    if sides.is_some_and(|(left, right)| sides_differ(left, right)) {
        doubts.push(Doubt::SidesDiffer);
    }
    doubts
}

#[cfg(test)]
mod tests {
    use super::*;

    fn w(text: &str) -> Weight {
        Weight::parse(text).unwrap()
    }
    const HOT: CarcassBasis = CarcassBasis::Hot;

    #[test]
    fn a_hog_that_hangs_83_per_cent_is_asked_about() {
        let dressed = Dressed::usual(Species::Hog, HOT);
        let found = doubts(Class::Barrow, dressed, Some(w("290")), w("241"), None);
        assert_eq!(found, [Doubt::OutOfRange { tenths: 831, low: 680, high: 770 }]);
        let sentence = found.first().unwrap().sentence(Class::Barrow);
        assert_eq!(sentence, "That is 83.1 % of live weight; for a barrow 68 % to 77 % is plausible");
        assert!(doubts(Class::Barrow, dressed, Some(w("290")), w("210"), None).is_empty());
        assert!(doubts(Class::Barrow, dressed, None, w("241"), None).is_empty());
        assert_eq!(doubts(Class::Barrow, dressed, Some(w("241")), w("290"), None), [Doubt::HeavierThanAlive]);
    }

    #[test]
    fn a_cold_weight_may_be_lighter() {
        let hot = Dressed::usual(Species::Beef, HOT);
        let cold = Dressed { basis: CarcassBasis::Cold, ..hot };
        let asked = |dressed| !doubts(Class::Steer, dressed, Some(w("1200")), w("648"), None).is_empty();
        assert!(asked(hot), "54 % hot");
        assert!(!asked(cold), "54 % cold");
    }

    #[test]
    fn sides_may_differ_by_eight_per_cent_of_the_lighter() {
        assert!(!sides_differ(w("108"), w("100")));
        assert!(sides_differ(w("108.01"), w("100")));
        assert!(sides_differ(w("100"), w("108.01")));
        assert!(sides_differ(w("0"), w("100")));
        assert!(!sides_differ(w("0"), w("0")));
    }

    #[test]
    fn an_expected_weight_is_a_range_in_round_figures() {
        let range = |live, class: Class| {
            let (low, high) = expected(w(live), class, Dressed::usual(class.species(), HOT)).unwrap();
            format!("{}–{}", low.short(), high.short())
        };
        assert_eq!(range("1265", Class::Steer), "735–835");
        assert_eq!(range("290", Class::Barrow), "205–220");
        assert_eq!(range("120", Class::Lamb), "53–67");
    }

    #[test]
    fn every_class_has_a_range_however_it_is_dressed() {
        for class in Class::ALL {
            for (head_on, skin_on) in [(false, false), (true, false), (false, true), (true, true)] {
                for basis in [CarcassBasis::Hot, CarcassBasis::Cold] {
                    let dressed = Dressed { basis, head_on, skin_on };
                    let Usual { low, high, source, .. } = usual(*class, dressed);
                    assert!(350 < low && low < high && high < 900 && !source.is_empty(), "{class}");
                    let (least, most) = plausible(*class, dressed);
                    assert!(least < low && high < most, "{class}");
                }
            }
        }
    }
}
