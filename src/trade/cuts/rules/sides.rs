//! V18: two holders of one side who want different things.

use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::plan::Plan;
use crate::trade::cuts::sheet::{Hanging, Note, Refused, Sheet, Slice};

/// A block that two holders of one side want cut in different ways.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The block.
    pub block: String,
    /// What the first wants; nothing if it has not said.
    pub first: Option<Vec<Slice>>,
    /// What the second wants; nothing if it has not said.
    pub second: Option<Vec<Slice>>,
    /// The rule that holds the side, when both have said something, it differs and the block cannot be given out by pieces.
    pub held: Option<Note>,
}

/// Where two sheets of one side differ. A blank gives way to the other's wish, which is then no difference that holds.
///
/// # Errors
/// [`Refused::Unknown`] when a sheet names a block or choice there is none of.
pub fn differences(
    catalogue: &Catalogue,
    hanging: &Hanging,
    first: &Sheet,
    second: &Sheet,
) -> Result<Vec<Difference>, Refused> {
    Plan::new(catalogue, hanging, first)?;
    Plan::new(catalogue, hanging, second)?;
    let mut found = Vec::new();
    for block in &catalogue.blocks {
        let (a, b) = (wish(first, block), wish(second, block));
        if a == b {
            continue;
        }
        let both = a.is_some() && b.is_some();
        let held = (both && block.pieces.is_none()).then(|| {
            let why = format!(
                "The other owner of this side wants the {} cut in another way, and it is not divided. Agree on one choice; \
                 otherwise the farm decides",
                block.name
            );
            Note::new("V18", format!("sheet.blocks.{}", block.id), why)
        });
        found.push(Difference { block: block.id.clone(), first: a, second: b, held });
    }
    Ok(found)
}

fn wish(sheet: &Sheet, block: &Block) -> Option<Vec<Slice>> {
    let mut slices = match (sheet.partitions.get(&block.id), sheet.blocks.get(&block.id)) {
        (Some(slices), _) => slices.clone(),
        (None, Some(choice)) => vec![Slice { choice: choice.clone(), pieces: block.count() }],
        (None, None) => return None,
    };
    slices.sort_by(|a, b| (&a.choice, a.pieces).cmp(&(&b.choice, b.pieces)));
    Some(slices)
}
