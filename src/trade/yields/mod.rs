//! Own yields: what came home against what was forecast, and how much of it the forecast learns.
//!
//! Of every share that came home the ratio `r = packaged weight / forecast at its hanging weight` is taken. A ratio and not its
//! logarithm, because what is wanted is a weight: the mean of ratios is what the next forecast must be multiplied by, near 1 the two
//! hardly differ (at 0.9 by half a per cent), and a farmer can do it again with a pocket calculator. Each share counts once,
//! whatever its size.
//!
//! The factor shrinks towards the published figures, which are 1, while shares are few:
//!
//! ```text
//! factor = (k × before + sum of r) / (k + n)        k = 8, n shares
//! ```
//!
//! `before` is the factor of the next wider ring, and 1 outside the widest. The rings of “this plant, this way of cutting” are: shares
//! of the species from other plants; of this plant, cut otherwise; of this plant, cut this way. Every share lies in one ring, so
//! none is counted twice, and with one plant and one way of cutting the formula is `(k + sum of r) / (k + n)`. With n = 0 a ring
//! changes nothing, so without any share the factor is exactly 1.
//!
//! This is the credibility formula `Z = n / (n + k)`: H. Bühlmann, Experience Rating and Credibility, ASTIN Bulletin 4 (1967), from
//! memory; that its formula is the best linear approximation to the Bayesian forecast is read in the abstract of “Bayesian Inference
//! in Credibility Theory”, ASTIN Bulletin, Cambridge University Press. There k is the variance among shares of one farm over the
//! variance among farms. The catalogue's range of 5 points of hanging weight is some 7 per cent of what comes home; taken as two
//! standard deviations of one share that is 3.5 per cent, and plants and farms are taken to differ by about a third of that range,
//! 1.25 per cent: (3.5 / 1.25)² is about 8. Both are assumptions of ours without a source. In words: after eight shares a farm's own
//! weights count as much as the published figures.
//!
//! A share that came home outside the published range of its forecast is shown and not learned from: more often a box was left
//! behind, another sheet was cut or a figure was mistyped. So a factor never leaves those ranges. The range of a forecast stays
//! as published; only what is most likely is said a second time. Nothing is billed by any of this.

pub mod style;

use super::cuts::take_home::Band;
use super::share::Species;
use super::weight::Weight;
use rust_decimal::Decimal;
use style::Style;

/// How many shares the published figures are worth.
pub const K: i64 = 8;
/// The shares learned from at most: the newest. A farm that sells a hundred shares a year learns from its last four.
pub const MOST: usize = 400;

/// Millionths in one.
const ONE: i64 = 1_000_000;

/// What a published forecast is multiplied by, in millionths.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Factor(i64);

impl Factor {
    /// The published figures as they are.
    pub const PUBLISHED: Self = Self(ONE);

    /// What came home over what was forecast; `None` where nothing was forecast.
    pub fn ratio(actual: Weight, forecast: Weight) -> Option<Self> {
        let (actual, forecast) = (i128::from(actual.hundredths()), i128::from(forecast.hundredths()));
        if forecast <= 0 || actual < 0 {
            return None;
        }
        i64::try_from(rounded(actual * i128::from(ONE), forecast)).ok().map(Self)
    }
    /// The factor as a decimal number, six decimals.
    pub fn decimal(self) -> Decimal {
        Decimal::new(self.0, 6)
    }
    /// `×0.970`: three decimals, because the first few shares move it by less than a hundredth.
    pub fn shown(self) -> String {
        format!("×{}", Decimal::new(i64::try_from(rounded(i128::from(self.0), 1_000)).unwrap_or(1_000), 3))
    }
    /// `97 %`.
    pub fn percent(self) -> String {
        format!("{} %", rounded(i128::from(self.0), 10_000))
    }
    /// A forecast multiplied by it, to the hundredth.
    pub fn of(self, forecast: Weight) -> Weight {
        let exact = i128::from(forecast.hundredths()) * i128::from(self.0);
        Weight::from_hundredths(i64::try_from(rounded(exact, i128::from(ONE))).unwrap_or(Weight::LIMIT))
    }
}

/// A share that came home.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Observed<P> {
    /// The species.
    pub species: Species,
    /// The plant that cut it.
    pub plant: P,
    /// How it was cut.
    pub style: Style,
    /// What was forecast at its hanging weight, with the parts outside of it that were asked for.
    pub forecast: Band,
    /// What came home.
    pub actual: Weight,
}

impl<P> Observed<P> {
    /// What came home over what was forecast.
    pub fn ratio(&self) -> Option<Factor> {
        Factor::ratio(self.actual, self.forecast.expected)
    }
    /// Whether it is learned from: it lies within the published range.
    pub fn counts(&self) -> bool {
        (self.forecast.low..=self.forecast.high).contains(&self.actual) && self.ratio().is_some()
    }
}

/// What a factor is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked<P> {
    /// The species.
    pub species: Species,
    /// The plant; `None` while it is not known, then all plants count alike.
    pub plant: Option<P>,
    /// How it is cut; `None` for however.
    pub style: Option<Style>,
}

/// A factor and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Learned {
    /// The factor.
    pub factor: Factor,
    /// How many shares it rests on, all rings together.
    pub shares: usize,
    /// How many of them are of the innermost ring: just what was asked for.
    pub alike: usize,
}

/// Learns from what came home, in whatever order.
pub fn learn<P: Copy + Eq>(all: &[Observed<P>], asked: &Asked<P>) -> Learned {
    // Sum of ratios and number of shares of each ring, the widest first.
    let mut rings = [(0_i128, 0_usize); 3];
    for share in all.iter().filter(|s| s.species == asked.species && s.counts()) {
        let Some(ratio) = share.ratio() else { continue };
        let is_of_plant = asked.plant.is_none_or(|plant| plant == share.plant);
        let is_of_style = asked.style.is_none_or(|style| style == share.style);
        let [other, plant, inner] = &mut rings;
        let ring = match (is_of_plant, is_of_style) {
            (true, true) => inner,
            (true, false) => plant,
            (false, _) => other,
        };
        ring.0 += i128::from(ratio.0);
        ring.1 += 1;
    }
    let factor = rings.iter().fold(Factor::PUBLISHED, |before, (sum, n)| shrink(before, *sum, *n));
    let [_, _, (_, alike)] = rings;
    Learned { factor, shares: rings.iter().map(|(_, n)| n).sum(), alike }
}

/// `(k × before + sum) / (k + n)`, to the millionth. Rounding keeps it between its parts, because they are whole millionths too.
fn shrink(before: Factor, sum: i128, n: usize) -> Factor {
    let n = i128::try_from(n).unwrap_or(0);
    let k = i128::from(K);
    let factor = rounded(k * i128::from(before.0) + sum, k + n);
    i64::try_from(factor).map_or(before, Factor)
}

/// A quotient of numbers that are not negative, half up.
fn rounded(over: i128, under: i128) -> i128 {
    (over + under / 2).checked_div(under).unwrap_or(0)
}

#[cfg(test)]
mod tests;
