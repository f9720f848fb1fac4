//! Where the hanging weight goes: every cut, grind, bone, fat, loss and shrink as whole-number parts of it.

use super::catalogue::{Block, Catalogue, Cut};
use super::common::Common;
use super::plan::{Cutting, Plan};
use super::settings::Settings;
use crate::trade::split::by_largest_remainder;
use std::cmp::max;

/// One cut of one block.
#[derive(Debug, Clone, Copy)]
pub struct CutMass<'a> {
    /// The block.
    pub block: &'a Block,
    /// The cut's id.
    pub id: &'a str,
    /// The cut.
    pub cut: &'a Cut,
    /// How many of `block.count()` pieces it comes from.
    pub pieces: u32,
    /// Its part of the hanging weight.
    pub parts: i64,
}

/// The parts of one hanging weight; all together are the whole.
#[derive(Debug, Default)]
pub struct Masses<'a> {
    /// The cuts, in the order of the catalogue.
    pub cuts: Vec<CutMass<'a>>,
    /// Trim for ground meat and sausage.
    pub grind: i64,
    /// How much of it is pure fat added to it.
    pub grind_fat: i64,
    /// Bone left out.
    pub bone: i64,
    /// Fat left out.
    pub fat: i64,
    /// Lost in curing, smoking, rendering; trim that is thrown away.
    pub loss: i64,
    /// Lost in the cooler.
    pub shrink: i64,
}

/// A weight dealt out by the parts, in hundredths of its unit.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Dealt {
    /// As [`Masses::cuts`].
    pub cuts: Vec<i64>,
    /// As [`Masses::grind`].
    pub grind: i64,
    /// As [`Masses::bone`].
    pub bone: i64,
    /// As [`Masses::fat`].
    pub fat: i64,
    /// As [`Masses::loss`].
    pub loss: i64,
    /// As [`Masses::shrink`].
    pub shrink: i64,
}

/// Hundredths of a per cent in the whole.
const WHOLE: i64 = 10_000;

impl<'a> Masses<'a> {
    /// The parts of a plan.
    pub fn new(catalogue: &'a Catalogue, common: &'a Common, plan: &Plan<'a>, settings: &Settings<'_>) -> Self {
        let together = catalogue.pieces_together();
        let shrink = catalogue.shrink.expected.hundredths();
        let mut masses = Self::default();
        for cutting in &plan.cuttings {
            let pieces = i64::from(cutting.pieces) * (together / i64::from(cutting.block.count()));
            // Fits by far: shrink, share and per cent are at most 10,000 each, pieces together 7 or 8.
            let scale = (WHOLE - shrink) * cutting.block.share.hundredths() * pieces;
            masses.take(catalogue, cutting, scale, cured(common, cutting, settings));
        }
        masses.shrink = shrink * WHOLE * WHOLE * together;
        if settings.word("ground") == Some("discard_trim") {
            masses.loss += masses.grind;
            (masses.grind, masses.grind_fat) = (0, 0);
        }
        masses.join();
        masses
    }

    fn take(&mut self, catalogue: &'a Catalogue, cutting: &Cutting<'a>, scale: i64, cured: (i64, i64)) {
        let choice = cutting.choice;
        for (id, percent) in &choice.cut {
            let Some(cut) = catalogue.cuts.get(id) else { continue };
            let fresh = percent.hundredths();
            let left = fresh * cured.0 / max(cured.1, 1);
            self.loss += scale * (fresh - left);
            let same = self.cuts.iter_mut().find(|c| c.id == id && c.block.id == cutting.block.id);
            match same {
                Some(same) => {
                    same.parts += scale * left;
                    same.pieces = same.pieces.saturating_add(cutting.pieces);
                }
                None => {
                    let (block, pieces, parts) = (cutting.block, cutting.pieces, scale * left);
                    self.cuts.push(CutMass { block, id, cut, pieces, parts });
                }
            }
        }
        self.grind += scale * choice.grind.hundredths();
        self.grind_fat += scale * choice.grind_fat.hundredths();
        self.bone += scale * choice.bone.hundredths();
        self.fat += scale * choice.fat.hundredths();
        self.loss += scale * choice.loss.hundredths();
    }

    /// What is one piece with another cut goes into that cut's line.
    fn join(&mut self) {
        let mut kept: Vec<CutMass<'a>> = Vec::with_capacity(self.cuts.len());
        let mut joining = Vec::new();
        for cut in std::mem::take(&mut self.cuts) {
            if cut.cut.joins.is_some() { joining.push(cut) } else { kept.push(cut) }
        }
        for cut in joining {
            match kept.iter_mut().find(|k| Some(k.id) == cut.cut.joins.as_deref()) {
                Some(target) => target.parts += cut.parts,
                None => kept.push(cut),
            }
        }
        self.cuts = kept;
    }

    /// Deals a weight out, to the hundredth: the result adds up to `weight` exactly. `None` for a negative weight.
    pub fn deal(&self, weight: i64) -> Option<Dealt> {
        let mut parts: Vec<i64> = self.cuts.iter().map(|c| c.parts).collect();
        parts.extend([self.grind, self.bone, self.fat, self.loss, self.shrink]);
        let mut cuts = by_largest_remainder(weight, &parts)?;
        let rest = cuts.split_off(self.cuts.len());
        let [grind, bone, fat, loss, shrink] = <[i64; 5]>::try_from(rest).ok()?;
        Some(Dealt { cuts, grind, bone, fat, loss, shrink })
    }
}

/// What the chosen cure leaves over what the figures of the catalogue count with, which is the first cure.
fn cured(common: &Common, cutting: &Cutting<'_>, settings: &Settings<'_>) -> (i64, i64) {
    let parameter = cutting.block.cure_parameter.as_ref().filter(|_| cutting.choice.cured);
    let word = parameter.and_then(|id| settings.word(id));
    let chosen = word.and_then(|word| common.cures.iter().find(|c| c.id == word));
    match (chosen, common.cures.first()) {
        (Some(chosen), Some(first)) => (chosen.percent.hundredths(), first.percent.hundredths()),
        _ => (1, 1),
    }
}
