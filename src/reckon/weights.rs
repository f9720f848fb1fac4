//! `gambrel reckon weights`: a carcass among its shares.

use super::Refusal;
use super::json::{Field, Fields, Node};
use crate::trade::carcass::{Billed, CarcassError, Claim, Hung, Place, SplitBasis, divide};
use crate::trade::share::{Part, Size};
use crate::trade::weight::Unit;
use serde::Serialize;

/// The answer, in this order.
#[derive(Serialize)]
pub(super) struct Answer {
    shares: Vec<ShareAnswer>,
    billed: String,
    unsold: String,
    total: String,
}

#[derive(Serialize)]
struct ShareAnswer {
    id: String,
    weight: String,
    estimated: bool,
}

impl From<Billed<String>> for ShareAnswer {
    fn from(share: Billed<String>) -> Self {
        Self { id: share.id, weight: share.weight.plain(), estimated: share.estimated }
    }
}

pub(super) fn reckon(root: &Node) -> Result<Answer, Refusal> {
    let fields = Fields::root(root, &["unit", "basis", "carcass", "shares"])?;
    // The unit changes nothing in the sums; it must still be one a farm can have.
    fields.need("unit")?.word::<Unit>()?;
    let basis: SplitBasis = fields.need("basis")?.word()?;
    let hung = hung(fields.need("carcass")?)?;
    let claims = fields.need("shares")?.list()?.into_iter().map(claim).collect::<Result<Vec<_>, _>>()?;
    let division = divide(hung, basis, &claims).map_err(|e| Refusal::new(at(e), e))?;
    Ok(Answer {
        shares: division.shares.into_iter().map(ShareAnswer::from).collect(),
        billed: division.billed.plain(),
        unsold: division.unsold.plain(),
        total: division.total.plain(),
    })
}

fn at(error: CarcassError) -> String {
    match error {
        CarcassError::RepeatedId { share } => format!("shares[{share}].id"),
        CarcassError::WholeWithOthers { share } | CarcassError::NoRoom { share, .. } => format!("shares[{share}]"),
        CarcassError::Nothing | CarcassError::TooHeavy => "carcass".to_string(),
    }
}

fn hung(field: Field<'_>) -> Result<Hung, Refusal> {
    const SIDES: [&str; 2] = ["left", "right"];
    const QUARTERS: [&str; 4] = ["left_fore", "left_hind", "right_fore", "right_hind"];
    let fields = field.object(&["total", "left", "right", "left_fore", "left_hind", "right_fore", "right_hind"])?;
    let total = fields.get("total");
    let any = |names: &[&str]| names.iter().any(|name| fields.get(name).is_some());
    let ways = [total.is_some(), any(&SIDES), any(&QUARTERS)];
    if ways.iter().filter(|way| **way).count() != 1 {
        let error =
            "Give the carcass in one way: total; or left and right; or left_fore, left_hind, right_fore and right_hind";
        return Err(Refusal::new(fields.at, error));
    }
    let weight = |name: &str| fields.need(name)?.weight();
    if let Some(total) = total {
        Ok(Hung::Total(total.weight()?))
    } else if any(&SIDES) {
        Ok(Hung::Sides { left: weight("left")?, right: weight("right")? })
    } else {
        Ok(Hung::Quarters {
            left_fore: weight("left_fore")?,
            left_hind: weight("left_hind")?,
            right_fore: weight("right_fore")?,
            right_hind: weight("right_hind")?,
        })
    }
}

fn claim(field: Field<'_>) -> Result<Claim<String>, Refusal> {
    let fields = field.object(&["id", "size", "side", "part"])?;
    let id = fields.need("id")?.name()?;
    let size: Size = fields.need("size")?.word()?;
    let without = |name: &str, why: &str| match fields.get(name) {
        Some(field) => Err(Refusal::new(field.at, why)),
        None => Ok(()),
    };
    let place = match size {
        Size::Whole => {
            without("side", "A whole animal has both sides. Leave “side” out")?;
            without("part", "Only a quarter has a part. Leave “part” out")?;
            Place::Whole
        }
        Size::Half => {
            without("part", "Only a quarter has a part. Leave “part” out")?;
            Place::Half(fields.need("side")?.word()?)
        }
        Size::Quarter => {
            let part = fields.get("part").map_or(Ok(Part::Split), |field| field.word())?;
            Place::Quarter(fields.need("side")?.word()?, part)
        }
    };
    Ok(Claim { id, place })
}
