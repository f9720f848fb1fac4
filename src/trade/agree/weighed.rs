//! What each line of an agreed side weighs before it is dealt out: shared lines, and lines that are one quarter's own.

use super::two::{Two, Who};
use super::{Cutting, Settlement, Side};
use crate::trade::cuts::catalogue::{Catalogue, Cut};
use crate::trade::cuts::common::Common;
use crate::trade::cuts::ground::to_lean;
use crate::trade::cuts::mass::{Dealt, Masses};
use crate::trade::cuts::plan::{Cutting as Planned, Plan};
use crate::trade::cuts::settings::Settings;
use crate::trade::cuts::sheet::{Refused, Sheet};
use crate::trade::split::by_largest_remainder;

/// One cut of one block of the side.
pub struct Weighed<'a> {
    /// The block's id.
    pub block: &'a str,
    /// The cut's id.
    pub id: &'a str,
    /// The cut.
    pub cut: &'a Cut,
    /// How many of the block's pieces it comes from.
    pub pieces: u32,
    /// Of how many.
    pub of: u32,
    /// What it weighs on the side, in hundredths.
    pub weight: i64,
    /// How much of that is each quarter's own; nothing where it is shared.
    pub own: Option<Two<i64>>,
    /// How many of the block's pieces are each quarter's own.
    pub own_pieces: Two<u32>,
}

/// A side as it is weighed out.
pub struct SideWeights<'a> {
    /// Its cuts, in the order of the catalogue.
    pub lines: Vec<Weighed<'a>>,
    /// Ground meat: what each quarter's cutting gives.
    pub ground: Two<i64>,
    /// Bone, fat, loss and shrink.
    pub gone: i64,
    /// What each quarter's own sheet gives of its half: its aim.
    pub target: Two<i64>,
}

/// What stops the reckoning when a weight is too large.
fn too_large() -> Refused {
    Refused::unknown("hanging_weight", "This weight cannot be reckoned with. Give a smaller one")
}

/// The two halves of the side's weight; the earlier deposit has the odd hundredth.
fn halved(side: &Side<'_>) -> Two<i64> {
    let weight = side.hanging.weight.hundredths().max(0);
    Two::from(side.earlier(), weight - weight / 2, weight / 2)
}

/// Weighs it out.
///
/// # Errors
/// [`Refused::Unknown`] when a sheet does not fit the catalogue or the weight cannot be reckoned with.
pub fn weigh(
    catalogue: &'static Catalogue,
    common: &'static Common,
    side: &Side<'_>,
    settlement: &Settlement,
) -> Result<SideWeights<'static>, Refused> {
    let species = side.hanging.species;
    let plan = Plan::new(catalogue, &side.hanging, &settlement.side)?;
    let settings = Settings::new(common, species, &settlement.side)?;
    let is_own = |id: &str| settlement.cuttings.iter().any(|(b, c)| b == id && matches!(c, Cutting::Own(_)));
    let shared =
        Plan { cuttings: plan.cuttings.iter().filter(|c| !is_own(&c.block.id)).copied().collect(), broken: Vec::new() };
    let all = Masses::new(catalogue, common, &plan, &settings);
    let common_part = Masses::new(catalogue, common, &shared, &settings);
    let mut own_part = Vec::new();
    for who in Who::BOTH {
        let sheet = settlement.sheets.of(who);
        let settings = Settings::new(common, species, sheet)?;
        own_part.push((who, Masses::new(catalogue, common, &own_plan(catalogue, settlement, who), &settings)));
    }
    let of = |who: Who| own_part.iter().find(|(w, _)| *w == who).map(|(_, m)| m);
    let parts_of = |who: Who, block: &str, id: &str| {
        of(who)
            .and_then(|m| m.cuts.iter().find(|c| c.block.id == block && c.id == id))
            .map_or((0, 0), |c| (c.parts, c.pieces))
    };
    // What a holder throws away of the trim of the shared blocks is lost; of the own ones it is in its own parts.
    let ground = Two::new(Who::First, Who::Second).map(|who| of(who).map_or(0, |m| m.grind));
    let mut parts: Vec<i64> = Vec::new();
    let mut own: Vec<Option<(Two<i64>, Two<u32>)>> = Vec::new();
    for line in &all.cuts {
        if is_own(&line.block.id) {
            let [(a, an), (b, bn)] = Who::BOTH.map(|who| parts_of(who, &line.block.id, line.id));
            parts.push(a + b);
            own.push(Some((Two::new(a, b), Two::new(an, bn))));
        } else {
            parts.push(line.parts);
            own.push(None);
        }
    }
    let sum = |f: fn(&Masses<'_>) -> i64| f(&common_part) + own_part.iter().map(|(_, m)| f(m)).sum::<i64>();
    parts.extend([sum(|m| m.grind), sum(|m| m.bone), sum(|m| m.fat), sum(|m| m.loss), all.shrink]);

    let lean = settings.figure("ground_lean_pct");
    let mut total = Dealt { cuts: vec![0; all.cuts.len()], ..Dealt::default() };
    for quarter in halved(side).each() {
        let mut dealt = deal(*quarter, &parts, all.cuts.len()).ok_or_else(too_large)?;
        if let Some(lean) = lean {
            to_lean(&mut dealt, catalogue.trim_lean.percent, lean);
        }
        for (sum, n) in total.cuts.iter_mut().zip(&dealt.cuts) {
            *sum += n;
        }
        total.grind += dealt.grind;
        total.bone += dealt.bone + dealt.fat + dealt.loss + dealt.shrink;
    }
    let earlier = side.earlier();
    let lines = all.cuts.iter().zip(&total.cuts).zip(own).map(|((cut, weight), own)| Weighed {
        block: &cut.block.id,
        id: cut.id,
        cut: cut.cut,
        pieces: cut.pieces,
        of: cut.block.count(),
        weight: *weight,
        own: own.map(|(parts, _)| divide(*weight, parts, earlier)),
        own_pieces: own.map_or_else(Two::default, |(_, n)| n),
    });
    let lines = lines.collect();
    let grind = ground.map(|own| own + common_part.grind / 2);
    let mut ground = divide(total.grind, grind, earlier);
    let mut gone = total.bone;
    for who in Who::BOTH {
        if discards(settlement.sheets.of(who)) {
            gone += std::mem::take(ground.of_mut(who));
        }
    }
    let target = target(catalogue, common, side, settlement)?;
    Ok(SideWeights { lines, ground, gone, target })
}

/// Whether a quarter throws its trim away.
pub fn discards(sheet: &Sheet) -> bool {
    sheet.parameters.get("ground").is_some_and(|word| word == "discard_trim")
}

fn own_plan<'a>(catalogue: &'a Catalogue, settlement: &Settlement, who: Who) -> Plan<'a> {
    let mut cuttings = Vec::new();
    for (id, cutting) in &settlement.cuttings {
        let (Some(block), Cutting::Own(own)) = (catalogue.block(id), cutting) else { continue };
        for slice in own.of(who) {
            if let Some(choice) = block.choice(&slice.choice) {
                cuttings.push(Planned { block, choice, pieces: slice.pieces });
            }
        }
    }
    Plan { cuttings, broken: Vec::new() }
}

/// A weight divided by parts; the earlier deposit goes first among equals. Nothing where there are no parts.
pub fn divide(weight: i64, parts: Two<i64>, earlier: Who) -> Two<i64> {
    let dealt = by_largest_remainder(weight, &[*parts.of(earlier), *parts.of(earlier.other())]);
    match dealt.as_deref() {
        Some([its, other]) => Two::from(earlier, *its, *other),
        _ => Two::from(earlier, weight - weight / 2, weight / 2),
    }
}

fn deal(weight: i64, parts: &[i64], cuts: usize) -> Option<Dealt> {
    let mut dealt = by_largest_remainder(weight, parts)?;
    let rest = dealt.split_off(cuts);
    let [grind, bone, fat, loss, shrink] = <[i64; 5]>::try_from(rest).ok()?;
    Some(Dealt { cuts: dealt, grind, bone, fat, loss, shrink })
}

/// What each quarter's sheet gives of its half of the side.
fn target(
    catalogue: &'static Catalogue,
    common: &'static Common,
    side: &Side<'_>,
    settlement: &Settlement,
) -> Result<Two<i64>, Refused> {
    let halves = halved(side);
    let mut out = Two::default();
    for who in Who::BOTH {
        let sheet = settlement.sheets.of(who);
        let settings = Settings::new(common, side.hanging.species, sheet)?;
        let masses = Masses::new(catalogue, common, &Plan::new(catalogue, &side.hanging, sheet)?, &settings);
        let mut dealt = masses.deal(*halves.of(who)).ok_or_else(too_large)?;
        if let Some(lean) = settings.figure("ground_lean_pct") {
            to_lean(&mut dealt, catalogue.trim_lean.percent, lean);
        }
        *out.of_mut(who) = dealt.cuts.iter().sum::<i64>() + dealt.grind;
    }
    Ok(out)
}
