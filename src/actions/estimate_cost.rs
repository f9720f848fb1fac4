//! What an order would come to before its share hangs: a range, and what the range rests on.

use super::Failure;
use super::cut_sheet::percent_of_side;
use super::draft_invoice::sums_at;
use crate::book::animals;
use crate::book::at::Now;
use crate::book::conn::DbConn;
use crate::book::reservations::Order;
use crate::book::rows::farm::Farm;
use crate::book::standing::Facts;
use crate::trade::dates;
use crate::trade::dressing::{self, Dressed};
use crate::trade::invoice::Invoice;
use crate::trade::share::Part;
use crate::trade::vocabulary::CarcassBasis;
use crate::trade::weight::Weight;

/// A range of sums.
#[derive(Debug, Clone)]
pub struct Estimate {
    /// The share's hanging weight, from.
    pub from: Weight,
    /// To.
    pub to: Weight,
    /// What it comes to at the lower weight.
    pub low: Invoice,
    /// What it comes to at the higher weight.
    pub high: Invoice,
    /// What the range rests on, as a sentence.
    pub rests_on: String,
}

/// The share's expected hanging weight and what that rests on: the last live weight of its animal and the usual dressing percentage of
/// its class, else what the farm expects of the offering. `None` when neither is known.
fn expected(
    c: &mut DbConn,
    farm: &Farm,
    now: Now,
    (r, _, o): &Order,
    facts: &Facts,
) -> Result<Option<(Weight, Weight, String)>, Failure> {
    let head = match &facts.animal {
        None => None,
        Some(a) => {
            let live = animals::last_live_weights(c, &[a.id])?.remove(&a.id);
            live.zip(a.class()).and_then(|(live, class)| {
                let dressed = Dressed::usual(a.species, CarcassBasis::Hot);
                let (low, high) = dressing::expected(live.weight, class, dressed)?;
                let day = dates::long(live.weighed_on, now.today);
                Some((low, high, format!("{} weighed {} {} alive on {day}.", a.name(), live.weight.short(), farm.unit)))
            })
        }
    };
    let expected = head.or_else(|| {
        let (low, high) = o.expected_low.zip(o.expected_high)?;
        Some((low, high, format!("It rests on what we expect of the {} season, {}.", o.species.label(), o.season)))
    });
    let percent = percent_of_side(farm, r.size, r.part.unwrap_or(Part::Split));
    let part = |w: Weight| Weight::from_hundredths(w.hundredths().saturating_mul(percent) / 200);
    Ok(expected.map(|(low, high, words)| (part(low), part(high), words)))
}

/// The range of an order that hangs nowhere yet; `None` when nothing is known to reckon with.
///
/// # Errors
/// The database's own.
pub fn estimate(
    c: &mut DbConn,
    farm: &Farm,
    now: Now,
    order: &Order,
    facts: &Facts,
) -> Result<Option<Estimate>, Failure> {
    let Some((from, to, words)) = expected(c, farm, now, order, facts)? else { return Ok(None) };
    let mut sums = sums_at(c, farm, now, order.0.id, &[from, to])?.into_iter();
    let (Some(low), Some(high)) = (sums.next(), sums.next()) else { return Ok(None) };
    Ok(Some(Estimate { from, to, low, high, rests_on: words }))
}
