//! What a customer reads of the other quarter of the same side: where its wishes differ, and what comes of it. Without a name.

use super::parts::contested;
use super::two::Who;
use super::{Settled, Settlement};

/// One line for the customer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The block: "short loin".
    pub name: String,
    /// What this customer wishes; nothing where nothing was said.
    pub yours: Option<String>,
    /// What the neighbor on the side wishes.
    pub neighbors: String,
    /// What is cut, or what is cut until the farm decides.
    pub takes: String,
    /// Why, in a sentence.
    pub why: String,
    /// Whether the farm has still to decide.
    pub is_open: bool,
}

/// All of it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Panel {
    /// Where the neighbor wishes otherwise, or wishes something where this customer left it open.
    pub lines: Vec<Line>,
    /// Parts of the animal this customer asked for that others asked for too: who gets them, a sentence each.
    pub parts: Vec<String>,
}

/// What one of the two reads.
pub fn panel(settlement: &Settlement, who: Who) -> Panel {
    let place = match who {
        Who::First => 0,
        Who::Second => 1,
    };
    Panel { lines: lines(settlement, who), parts: contested(&settlement.parts, place) }
}

/// Where the neighbor wishes otherwise, or wishes something where this customer left it open.
fn lines(settlement: &Settlement, who: Who) -> Vec<Line> {
    let shown = settlement.items.iter().filter(|i| i.differs() || i.settled == Settled::Follows(who.other()));
    shown
        .filter_map(|i| {
            Some(Line {
                name: i.name.clone(),
                yours: i.wishes.of(who).clone(),
                neighbors: i.wishes.of(who.other()).clone()?,
                takes: i.takes.clone(),
                why: i.why.clone(),
                is_open: i.is_open(),
            })
        })
        .collect()
}
