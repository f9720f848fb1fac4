//! The deal of a shared side in sentences for the cutting room: which pieces go to this quarter, and where the two differ.

use super::share_side::Agreed;
use crate::trade::agree::deal::{Deal, Dealing, How};
use crate::trade::agree::two::Who;
use crate::trade::agree::{Cutting, Decision, Settled, halves, wish};
use crate::trade::cuts::settings::upper;
use crate::trade::instructions::Instruction;
use crate::trade::weight::Unit;

/// What stands where the two quarters differ and the standard cut is used, decided or not.
const DIFFER: &str = "The two quarters of this side differ here, so it is the standard cut.";

/// Adds the deal to the instructions of one of the two quarters.
pub fn add(lines: &mut [Instruction], agreed: &Agreed, dealing: &Dealing, who: Who, unit: Unit) {
    let Ok(catalogue) = halves::catalogue(agreed.shared.animal.species) else { return };
    for line in lines.iter_mut() {
        let blocks: Vec<_> = catalogue.blocks.iter().filter(|b| upper(&b.primal) == line.part).collect();
        let is_here = |id: &str| blocks.iter().any(|b| b.id == id);
        let mut says: Vec<String> = Vec::new();
        for (id, cutting) in agreed.settlement.cuttings.iter().filter(|(id, _)| is_here(id)) {
            if let (Cutting::Own(own), Some(block)) = (cutting, catalogue.block(id)) {
                let own = own.of(who);
                let pieces = wish::pieces(block, own.iter().map(|s| s.pieces).sum());
                // One way to cut it is said already.
                let ways = if own.len() > 1 { format!(": {}", wish::words(block, own)) } else { String::new() };
                says.push(format!("This quarter’s part of the {}: {pieces}{ways}.", block.name));
            }
        }
        let here: Vec<&Deal> = dealing.deals.iter().filter(|d| is_here(d.block)).collect();
        let get: Vec<String> = here.iter().filter_map(|d| gets(d, who)).collect();
        let not: Vec<&str> = here.iter().filter(|d| d.how == How::Uncut(who.other())).map(|d| d.name).collect();
        if !get.is_empty() {
            says.push(format!("To this quarter: {}.", get.join("; ")));
        }
        if !not.is_empty() {
            says.push(format!("To the other quarter: {}.", not.join(", ")));
        }
        let is_standard = |s: Settled| matches!(s, Settled::Open | Settled::Decided(Decision::Standard));
        let differ = agreed.settlement.items.iter().filter(|i| is_standard(i.settled));
        let differ: Vec<&str> = differ.filter(|i| is_here(&i.id)).map(|i| i.name.as_str()).collect();
        if !differ.is_empty() {
            says.push(if blocks.len() > 1 {
                format!("{}: {DIFFER}", upper(&differ.join(", ")))
            } else {
                DIFFER.into()
            });
        }
        if line.part == "Ground and sausage" {
            let [its, other] = [who, who.other()].map(|w| dealing.ground.of(w).hundredths());
            let whole = |n: i64| n.saturating_add(50) / 100;
            says.push(format!(
                "Ground meat evens the two quarters out: about {} {unit} here, {} {unit} to the other quarter.",
                whole(its),
                whole(other)
            ));
        }
        if !says.is_empty() {
            line.says = format!("{} {}", line.says, says.join(" "));
        }
    }
}

/// "rib steak, 6 of 12", "half of the brisket", "flank steak"; nothing where the own choice says it already.
fn gets(deal: &Deal, who: Who) -> Option<String> {
    let name = deal.name;
    match deal.how {
        How::Counted => {
            let pieces = deal.pieces?;
            let all = pieces.first.0.saturating_add(pieces.second.0);
            Some(format!("{name}, {} of {}", pieces.of(who).decimal(), all / 4))
        }
        How::Bones(ribs) => Some(format!("{name}, {} of {} ribs", ribs.of(who), ribs.sum())),
        How::Halved | How::ByWeight => Some(format!("half of the {name}")),
        How::Uncut(to) if to == who => Some(name.to_string()),
        How::Uncut(_) | How::Own => None,
    }
}
