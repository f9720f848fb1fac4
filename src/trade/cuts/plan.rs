//! From a sheet to one cutting of every block: the standard cut where nothing is said, pieces where they are given out.

use super::catalogue::{Block, Catalogue, Choice, Pieces};
use super::sheet::{Hanging, Note, Refused, Sheet, Slice};

/// A choice and how many of its block's pieces it takes.
#[derive(Debug, Clone, Copy)]
pub struct Cutting<'a> {
    /// The block.
    pub block: &'a Block,
    /// The choice.
    pub choice: &'a Choice,
    /// How many of `block.count()` pieces.
    pub pieces: u32,
}

/// Every block of a side with what becomes of it.
#[derive(Debug)]
pub struct Plan<'a> {
    /// In the order of the catalogue; a block's cuttings take all its pieces.
    pub cuttings: Vec<Cutting<'a>>,
    /// Rules broken on the way. The cuttings are complete even then.
    pub broken: Vec<Note>,
}

impl<'a> Plan<'a> {
    /// Reads a sheet against the catalogue.
    ///
    /// # Errors
    /// [`Refused::Unknown`] when a block or choice is named that there is none of.
    pub fn new(catalogue: &'a Catalogue, hanging: &Hanging, sheet: &Sheet) -> Result<Self, Refused> {
        let known = || catalogue.blocks.iter().map(|b| b.id.as_str());
        let unknown = |under: &str, id: &str| Refused::not_one_of(format!("sheet.{under}.{id}"), id, known());
        if let Some(id) = sheet.blocks.keys().find(|id| catalogue.block(id).is_none()) {
            return Err(unknown("blocks", id));
        }
        if let Some(id) = sheet.partitions.keys().find(|id| catalogue.block(id).is_none()) {
            return Err(unknown("partitions", id));
        }
        let mut plan = Self { cuttings: Vec::new(), broken: Vec::new() };
        for block in &catalogue.blocks {
            plan.block(catalogue, hanging, sheet, block)?;
        }
        Ok(plan)
    }

    /// The choices of a block.
    pub fn of(&self, block: &str) -> impl Iterator<Item = &Cutting<'a>> {
        self.cuttings.iter().filter(move |c| c.block.id == block)
    }

    fn block(
        &mut self,
        catalogue: &'a Catalogue,
        hanging: &Hanging,
        sheet: &Sheet,
        block: &'a Block,
    ) -> Result<(), Refused> {
        let one = match sheet.blocks.get(&block.id) {
            Some(id) => Some(choice(block, id, &format!("sheet.blocks.{}", block.id))?),
            None => None,
        };
        let slices = sheet.partitions.get(&block.id);
        if let (Some(one), Some(slices)) = (one, slices) {
            let at = format!("sheet.blocks.{}", block.id);
            let why = format!(
                "The {} has one choice and is given out by pieces as well. Keep one of the two. {}",
                block.name, block.shared
            );
            self.broken.push(Note::new("V1", &at, why));
            if block.pieces.is_none() {
                // Asked in two places is asked twice of one muscle.
                let mut all = slices.clone();
                all.push(Slice { choice: one.id.clone(), pieces: 1 });
                return self.partition(block, &all, &at);
            }
        }
        if let Some(slices) = slices {
            return self.partition(block, slices, &at(sheet, block));
        }
        let with_part =
            || block.choices.iter().find(|c| c.with_part.as_ref().is_some_and(|part| sheet.parts.contains(part)));
        let standard = || with_part().or_else(|| catalogue.standard(block, hanging.from_30_months()));
        if let Some(choice) = one.or_else(standard) {
            self.cuttings.push(Cutting { block, choice, pieces: block.count() });
        }
        Ok(())
    }

    fn partition(&mut self, block: &'a Block, slices: &[Slice], at: &str) -> Result<(), Refused> {
        let mut taken: Vec<Cutting<'a>> = Vec::new();
        for (i, slice) in slices.iter().enumerate() {
            let choice = choice(block, &slice.choice, &format!("{at}[{i}].choice"))?;
            match taken.iter_mut().find(|c| c.choice.id == choice.id) {
                Some(same) => same.pieces = same.pieces.saturating_add(slice.pieces),
                None => taken.push(Cutting { block, choice, pieces: slice.pieces }),
            }
        }
        let before = self.broken.len();
        match &block.pieces {
            None => self.undivided(block, &taken, at),
            Some(pieces) => self.pieces(block, pieces, &taken, at),
        }
        if self.broken.len() == before {
            self.cuttings.extend(taken);
        } else if let Some(choice) = taken.first().map(|c| c.choice).or(block.choices.first()) {
            // Something whole, so that the other rules can still be looked at.
            self.cuttings.push(Cutting { block, choice, pieces: block.count() });
        }
        Ok(())
    }

    /// A block without pieces is not given out; with more than one choice the shared muscle is named.
    fn undivided(&mut self, block: &Block, taken: &[Cutting<'_>], at: &str) {
        if taken.len() < 2 {
            let why = format!("The {} is not counted in pieces. Name one choice for it under blocks", block.name);
            self.broken.push(Note::new("V8", at, why));
            return;
        }
        let mut rules: Vec<&str> = block.rules.iter().map(String::as_str).collect();
        rules.extend(taken.iter().filter_map(|c| c.choice.rule.as_deref()));
        if taken.iter().any(|c| c.choice.cured) && taken.iter().any(|c| !c.choice.cured) {
            rules.push(if block.id == "brisket" { "B10" } else { "H5" });
        }
        for rule in in_order(rules) {
            self.broken.push(Note::new(rule, at, &block.shared));
        }
    }

    fn pieces(&mut self, block: &Block, pieces: &Pieces, taken: &[Cutting<'_>], at: &str) {
        let given = taken.iter().fold(0_u32, |sum, c| sum.saturating_add(c.pieces));
        let own = block.rules.first().map_or("V1", String::as_str);
        if given != pieces.number {
            let why = format!(
                "The {} has {} {}s and these choices take {given}. {}",
                block.name, pieces.number, pieces.name, block.shared
            );
            for rule in [own, "V1"] {
                self.broken.push(Note::new(rule, at, &why));
            }
        }
        for cutting in taken {
            if cutting.choice.all_pieces && cutting.pieces != pieces.number {
                let why = format!(
                    "“{}” takes all {} {}s of the {}. Choose it alone, or leave it out",
                    cutting.choice.name, pieces.number, pieces.name, block.name
                );
                self.broken.push(Note::new(own, at, why));
            } else if cutting.choice.roast && cutting.pieces < pieces.shortest_roast {
                let why = format!(
                    "A roast has at least {} {}s, and “{}” gets {}. Give it more, or leave it out. {}",
                    pieces.shortest_roast, pieces.name, cutting.choice.name, cutting.pieces, block.shared
                );
                self.broken.push(Note::new(own, at, why));
            }
        }
    }
}

/// Where a sheet speaks of a block.
pub fn at(sheet: &Sheet, block: &Block) -> String {
    let under = if sheet.partitions.contains_key(&block.id) { "partitions" } else { "blocks" };
    format!("sheet.{under}.{}", block.id)
}

fn choice<'a>(block: &'a Block, id: &str, at: &str) -> Result<&'a Choice, Refused> {
    let known = block.choices.iter().map(|c| c.id.as_str());
    block.choice(id).ok_or_else(|| Refused::not_one_of(at, id, known))
}

/// Each once, in the order of first mention.
fn in_order(rules: Vec<&str>) -> Vec<&str> {
    let mut seen = Vec::new();
    for rule in rules {
        if !seen.contains(&rule) {
            seen.push(rule);
        }
    }
    seen
}
