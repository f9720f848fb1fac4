//! Dealing out an agreed side: who gets how many pieces and how much of each cut.
//!
//! Countable cuts go half and half; an odd piece, and a piece that is not cut in two, goes to whoever is furthest behind by weight,
//! among equals to the earlier deposit, the heaviest piece first. Ribs are dealt in whole ribs, large single pieces are halved, what
//! goes by weight is shared evenly, and ground meat evens out the rest.

use super::two::{Two, Who};
use super::weighed::{SideWeights, Weighed, discards, divide, weigh};
use super::{Settlement, Side, halves};
use crate::trade::cuts::catalogue::Count;
use crate::trade::cuts::pieces::{Quarters, pieces_on_side};
use crate::trade::cuts::settings::Settings;
use crate::trade::cuts::sheet::{Note, Refused, Sheet};
use crate::trade::cuts::take_home::{self, pounds};
use crate::trade::weight::Weight;
use rust_decimal::Decimal;

/// Single pieces that are not cut in two: one goes here, another there. Common practice, no source.
const UNCUT: &[&str] = &[
    "flank_steak",
    "tri_tip",
    "culotte",
    "inside_skirt",
    "outside_skirt",
    "petite_tender",
    "brisket_flat",
    "brisket_point",
    "kidney",
    "kidneys",
    "hock",
    "hock_smoked",
    "jowl",
    "leaf_fat",
    "butt_tender",
];

/// How a cut is dealt.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// By pieces.
    Counted,
    /// By the bones of the block, such as ribs, of which each quarter gets so many.
    Bones(Two<i64>),
    /// One piece, cut in two.
    Halved,
    /// One piece that goes whole to one.
    Uncut(Who),
    /// By weight, half each.
    ByWeight,
    /// Each quarter its own, or only one quarter has it.
    Own,
}

/// A cut of the side, dealt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deal {
    /// The block's id.
    pub block: &'static str,
    /// The cut's id.
    pub cut: &'static str,
    /// What a person reads.
    pub name: &'static str,
    /// The kind of meat for storage.
    pub keeps: &'static str,
    /// How it is dealt.
    pub how: How,
    /// What each gets.
    pub weight: Two<Weight>,
    /// The pieces each gets; none where they are not counted.
    pub pieces: Option<Two<Quarters>>,
}

/// A side, dealt out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Dealing {
    /// The cuts, in the order of the catalogue.
    pub deals: Vec<Deal>,
    /// Ground meat, with what becomes sausage of it.
    pub ground: Two<Weight>,
    /// Cuts and ground meat together.
    pub packaged: Two<Weight>,
    /// What each quarter’s cutting gives of half of the side.
    pub target: Two<Weight>,
    /// Bone, fat, loss and shrink of the side, and trim that is thrown away.
    pub gone: Weight,
}

/// An odd piece that waits for its owner.
struct Odd {
    line: usize,
    weight: i64,
    bones: bool,
}

/// Deals out a settled side.
///
/// # Errors
/// [`Refused::Unknown`] when the weight is nothing or cannot be reckoned with.
pub fn deal(side: &Side<'_>, settlement: &Settlement) -> Result<Dealing, Refused> {
    let species = side.hanging.species;
    let (catalogue, common) = (halves::catalogue(species)?, halves::common()?);
    if side.hanging.weight.is_zero() {
        return Err(Refused::unknown("hanging_weight", "The hanging weight is nothing. Give a weight above 0"));
    }
    let weights = weigh(catalogue, common, side, settlement)?;
    let whole = Settings::new(common, species, &settlement.side)?;
    let own = [Who::First, Who::Second].map(|who| Settings::new(common, species, settlement.sheets.of(who)));
    let [Ok(first), Ok(second)] = &own else {
        return Err(Refused::unknown("sheet", "This cut sheet cannot be reckoned with"));
    };
    let settings = Two::new(first, second);
    let kerf = common.saw_kerf_in.inches;
    let lb = |weight: i64| pounds(side.hanging.unit, Decimal::new(weight, 2));
    let earlier = side.earlier();

    let mut deals: Vec<Deal> = Vec::new();
    let mut odd: Vec<Odd> = Vec::new();
    for (i, line) in weights.lines.iter().enumerate() {
        let count = |settings: &Settings<'_>, n: u32, weight: i64| {
            pieces_on_side(&line.cut.count, (i64::from(n), i64::from(line.of)), settings, kerf, lb(weight))
        };
        let (how, weight, pieces) = match line.own {
            Some(own) => {
                let n = |who: Who| match *line.own_pieces.of(who) {
                    0 => Some(Quarters(0)),
                    n => count(settings.of(who), n, *own.of(who)),
                };
                let pieces = n(Who::First).zip(n(Who::Second)).map(|(a, b)| Two::new(a, b));
                (How::Own, own, pieces)
            }
            None => shared(line, count(&whole, line.pieces, line.weight), &settlement.sheets, earlier, i, &mut odd),
        };
        deals.push(Deal {
            block: line.block,
            cut: line.id,
            name: &line.cut.name,
            keeps: &line.cut.keeps,
            how,
            weight: weight.map(Weight::from_hundredths),
            pieces,
        });
    }
    give_out(&mut deals, odd, &weights, earlier);
    let cuts = |who: Who| deals.iter().map(|d| d.weight.of(who).hundredths()).sum::<i64>();
    let cuts = Two::new(cuts(Who::First), cuts(Who::Second));
    let ground = even_out(&weights, cuts, settlement, earlier);
    let packaged = Two::new(cuts.first + ground.first, cuts.second + ground.second);
    Ok(Dealing {
        deals,
        ground: ground.map(Weight::from_hundredths),
        packaged: packaged.map(Weight::from_hundredths),
        target: weights.target.map(Weight::from_hundredths),
        gone: Weight::from_hundredths(weights.gone),
    })
}

/// What two sheets that each keep every rule break together, such as more sausage than the side gives ground meat. Looked at on the
/// side as one half.
///
/// # Errors
/// [`Refused::Unknown`] as for [`deal`].
pub fn broken(side: &Side<'_>, settlement: &Settlement) -> Result<Vec<Note>, Refused> {
    let (catalogue, common) = (halves::catalogue(side.hanging.species)?, halves::common()?);
    match take_home::by(catalogue, common, &side.hanging, &settlement.side) {
        Ok(_) => Ok(Vec::new()),
        Err(Refused::Broken(notes)) => Ok(notes),
        Err(unknown) => Err(unknown),
    }
}

/// A line that both quarters share: what each surely gets; what is left over goes to `odd`.
fn shared(
    line: &Weighed<'_>,
    pieces: Option<Quarters>,
    sheets: &Two<Sheet>,
    earlier: Who,
    i: usize,
    odd: &mut Vec<Odd>,
) -> (How, Two<i64>, Option<Two<Quarters>>) {
    let even = divide(line.weight, Two::new(1, 1), earlier);
    let Some(pieces) = pieces else { return (How::ByWeight, even, None) };
    let n = pieces.0 / 4;
    let one = |n: i64, of: i64| line.weight.checked_mul(n).map_or(0, |w| w / of.max(1));
    let is_ribs = line.of > 2 && matches!(line.cut.count, Count::Piece { .. }) && line.pieces > 1;
    let ribs = i64::from(line.pieces);
    let each = ribs / 2;
    // A roast or slab over the ribs goes in whole ribs; a roast of one rib is none, so a short one goes whole to one.
    if is_ribs && each < 2 {
        odd.push(Odd { line: i, weight: line.weight, bones: false });
        return (How::Uncut(earlier), Two::new(0, 0), Some(Two::new(Quarters(0), Quarters(0))));
    }
    if is_ribs {
        if ribs % 2 == 1 {
            odd.push(Odd { line: i, weight: one(1, ribs), bones: true });
        }
        return (How::Bones(Two::new(each, each)), Two::new(one(each, ribs), one(each, ribs)), Some(halved(pieces)));
    }
    if pieces.0 % 4 != 0 || (n == 1 && UNCUT.contains(&line.id)) {
        odd.push(Odd { line: i, weight: line.weight, bones: false });
        return (How::Uncut(earlier), Two::new(0, 0), Some(Two::new(Quarters(0), Quarters(0))));
    }
    if matches!(line.cut.count, Count::Roast) && own_roasts(line, sheets) {
        return (How::ByWeight, even, None);
    }
    if n == 1 {
        return (How::Halved, even, Some(halved(pieces)));
    }
    let each = n / 2;
    if n % 2 == 1 {
        odd.push(Odd { line: i, weight: one(1, n), bones: false });
    }
    let all = Quarters::whole(each);
    (How::Counted, Two::new(one(each, n), one(each, n)), Some(Two::new(all, all)))
}

const fn halved(pieces: Quarters) -> Two<Quarters> {
    let half = pieces.0 / 2;
    Two { first: Quarters(half), second: Quarters(pieces.0 - half) }
}

/// Whether the roasts are each household’s own: of another weight, or so many from the chuck.
fn own_roasts(line: &Weighed<'_>, sheets: &Two<Sheet>) -> bool {
    let of = |who: Who, id: &str| sheets.of(who).parameters.get(id);
    let counted = line.block.starts_with("chuck") && Who::BOTH.into_iter().any(|who| of(who, "chuck_roasts").is_some());
    counted || of(Who::First, "roast_lb") != of(Who::Second, "roast_lb")
}

/// Gives out the odd pieces, the heaviest first, each to whoever is furthest behind; then weighs every counted line by its pieces.
fn give_out(deals: &mut [Deal], mut odd: Vec<Odd>, weights: &SideWeights<'_>, earlier: Who) {
    let so_far = |who: Who| deals.iter().map(|d| d.weight.of(who).hundredths()).sum::<i64>();
    // What each should have of the cuts, when its ground meat is what its cutting gives.
    let mut behind =
        Two::new(Who::First, Who::Second).map(|who| weights.target.of(who) - weights.ground.of(who) - so_far(who));
    odd.sort_by_key(|o| (std::cmp::Reverse(o.weight), o.line));
    for one in odd {
        let who = match behind.of(earlier.other()) > behind.of(earlier) {
            true => earlier.other(),
            false => earlier,
        };
        *behind.of_mut(who) -= one.weight;
        let (Some(deal), Some(line)) = (deals.get_mut(one.line), weights.lines.get(one.line)) else { continue };
        match &mut deal.how {
            How::Bones(ribs) => {
                debug_assert!(one.bones, "an odd rib is of ribs");
                *ribs.of_mut(who) += 1;
            }
            How::Uncut(to) => *to = who,
            _ => {}
        }
        if let (Some(pieces), How::Counted | How::Uncut(_)) = (&mut deal.pieces, deal.how) {
            let whole = if deal.how == How::Counted { 4 } else { uncut_pieces(line) };
            pieces.of_mut(who).0 += whole;
        }
    }
    for (deal, line) in deals.iter_mut().zip(&weights.lines) {
        let by = match (deal.how, deal.pieces) {
            (How::Bones(ribs), _) => ribs,
            (How::Counted | How::Uncut(_), Some(pieces)) => pieces.map(|p| p.0),
            _ => continue,
        };
        deal.weight = divide(line.weight, by, earlier).map(Weight::from_hundredths);
    }
}

/// One whole piece, or the half of one that hangs on this side.
fn uncut_pieces(line: &Weighed<'_>) -> i64 {
    if matches!(line.cut.count, Count::HalfPiece) { 2 } else { 4 }
}

/// Ground meat, so that both come to what they should have; never less than the sausage that is made of it, where there is enough.
fn even_out(weights: &SideWeights<'_>, cuts: Two<i64>, settlement: &Settlement, earlier: Who) -> Two<i64> {
    let total = weights.ground.sum();
    if Who::BOTH.into_iter().any(|who| discards(settlement.sheets.of(who))) {
        return weights.ground;
    }
    let later = earlier.other();
    let over = cuts.sum() + total - weights.target.sum();
    let sausage = |who: Who| settlement.sheets.of(who).sausage.iter().map(|s| s.weight.hundredths()).sum::<i64>();
    // Half of what is over, rounded up for the earlier deposit.
    let wanted = weights.target.of(earlier) + (over + 1).div_euclid(2) - cuts.of(earlier);
    let least = sausage(earlier).min(total);
    let most = (total - sausage(later)).max(least).min(total);
    let its = wanted.clamp(least, most);
    Two::from(earlier, its, total - its)
}
