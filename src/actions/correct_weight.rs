//! A hanging weight was wrong and invoices went out: the weight is corrected, and every invoice it changes is taken back and
//! issued again, in one step.

use super::draft_invoice::drafts;
use super::issue_invoices::issue_invoices;
use super::record_weights::{confirming, doubtful_words, doubts_about};
use super::void_invoice::void_invoice;
use super::{Doing, Failure};
use crate::book::ids::{AnimalId, InvoiceId, ReservationId};
use crate::book::rows::animals::WeighIn;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, farm, invoices, placements};
use crate::trade::carcass::Hung;
use crate::trade::dressing::Dressed;
use crate::trade::money::Money;
use crate::trade::weight::Weight;
use std::collections::HashMap;

/// What is to be corrected.
#[derive(Debug, Clone)]
pub struct Correction {
    /// The version of the weigh-in the form was opened with.
    pub version: i64,
    /// What hung, weighed in the same way as before: one total, two sides or four quarters.
    pub hung: Hung,
    /// The doubtful weights the farmer ticked as right, as [`confirming`] writes them.
    pub confirmed: String,
    /// Why; it stands on the credit notes.
    pub reason: String,
}

/// One invoice that came out differently.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Again {
    /// Whose order.
    pub order: ReservationId,
    /// The customer's name.
    pub who: String,
    /// The invoice that was taken back.
    pub old_number: String,
    /// Its billed weight and its total with tax.
    pub old: (Weight, Money),
    /// The new one.
    pub id: InvoiceId,
    /// Its number.
    pub number: String,
    /// Its billed weight and its total with tax.
    pub new: (Weight, Money),
    /// What is owed on it now; below zero when the customer has credit from it.
    pub balance: Money,
}

/// Corrects the weights and issues anew what they change. Invoices whose billed weight stays are left alone.
///
/// # Errors
/// [`Failure::Refused`] when the animal is not weighed, nothing changes, a weight is doubtful and not confirmed, there is no
/// reason, or a new invoice cannot be issued; [`Failure::Stale`] when somebody saved in between.
pub fn correct_weight(
    tx: &mut Tx,
    doing: &Doing,
    id: AnimalId,
    input: &Correction,
    tell: bool,
) -> Result<Vec<Again>, Failure> {
    if input.reason.trim().is_empty() {
        return Err(Failure::refuse("reason", "Write why; it stands on the credit notes"));
    }
    let farm = farm::get(tx.conn())?;
    let animal = animals::get(tx.conn(), id)?;
    let old = carcasses::weigh_ins(tx.conn(), &[id])?.remove(&id);
    let Some((old, was)) = old.and_then(|w| w.hung().map(|h| (w, h))) else {
        return Err(Failure::refuse(
            "",
            format!("{} has no hanging weight yet. Enter it at the weigh-in.", animal.name()),
        ));
    };
    if std::mem::discriminant(&was) != std::mem::discriminant(&input.hung) {
        return Err(Failure::refuse("", "It was weighed in another way. Open the page again."));
    }
    let weights = |tx: &mut Tx| -> Result<HashMap<ReservationId, Weight>, Failure> {
        let all = carcasses::billed_weights(tx.conn(), &farm, &[id])?;
        Ok(all.into_iter().flat_map(|c| c.shares).map(|s| (s.reservation, s.weight)).collect())
    };
    let before = weights(tx)?;
    look_again(tx, &farm, &animal, &old, input)?;
    if !carcasses::correct(tx, &corrected(&old, input, doing), input.version)? {
        return Err(Failure::Stale);
    }
    let after = weights(tx)?;
    let line = Line {
        line: format!(
            "The weight of {} was corrected from {} to {} {}",
            animal.name(),
            was.total()?.shown(),
            input.hung.total()?.shown(),
            farm.unit
        ),
        detail: format!("{}.", input.reason.trim().trim_end_matches('.')),
        animal: Some(id),
        date: animal.date_id,
        ..Line::default()
    };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    let shares = placements::shares_on(tx.conn(), &[id])?;
    let orders: Vec<ReservationId> = shares.iter().map(|s| s.reservation).collect();
    let issued = placements::invoiced(tx.conn(), &orders)?;
    let changed: Vec<_> =
        issued.into_iter().filter(|i| before.get(&i.reservation) != after.get(&i.reservation)).collect();
    if changed.is_empty() {
        return Err(Failure::refuse(
            "",
            "No invoice is changed by these weights. Correct them at the weigh-in instead.",
        ));
    }
    let mut out = Vec::with_capacity(changed.len());
    for one in &changed {
        let (invoice, who, _) = invoices::get(tx.conn(), one.invoice)?;
        void_invoice(tx, doing, one.invoice, input.reason.trim(), tell)?;
        let of = |weights: &HashMap<ReservationId, Weight>| weights.get(&one.reservation).copied().unwrap_or_default();
        out.push(Again {
            order: one.reservation,
            who: who.name,
            old_number: one.number.clone(),
            old: (of(&before), invoice.farm_total.plus(invoice.farm_tax)?),
            id: one.invoice,
            number: String::new(),
            new: (of(&after), Money::ZERO),
            balance: Money::ZERO,
        });
    }
    let ids: Vec<ReservationId> = out.iter().map(|a| a.order).collect();
    let mut bills = Vec::with_capacity(ids.len());
    for d in drafts(tx.conn(), &farm, doing.now, &ids)? {
        let balance = d.ready().ok_or_else(|| Failure::refuse("", d.not_yet.clone().unwrap_or_default()))?;
        bills.push((d.order.id, balance));
    }
    let new = issue_invoices(tx, doing, &bills, tell)?;
    for ((again, id), (_, balance)) in out.iter_mut().zip(new).zip(bills) {
        let (invoice, ..) = invoices::get(tx.conn(), id)?;
        (again.id, again.number, again.balance) = (id, invoice.number, balance);
        again.new.1 = invoice.farm_total.plus(invoice.farm_tax)?;
    }
    Ok(out)
}

/// Refuses doubtful weights that are not confirmed.
fn look_again(
    tx: &mut Tx,
    farm: &crate::book::rows::farm::Farm,
    animal: &crate::book::rows::animals::Animal,
    old: &WeighIn,
    input: &Correction,
) -> Result<(), Failure> {
    let live = animals::last_live_weights(tx.conn(), &[animal.id])?.remove(&animal.id).map(|w| w.weight);
    let dressed = Dressed { basis: old.basis, head_on: old.head_on, skin_on: old.skin_on };
    let doubts = doubts_about(animal.class(), dressed, live, input.hung)?;
    if doubts.is_empty() || input.confirmed == confirming(input.hung) {
        return Ok(());
    }
    Err(Failure::refuse("ok", doubtful_words(animal, &doubts, input.hung, farm.unit.as_str())?))
}

fn corrected(old: &WeighIn, input: &Correction, doing: &Doing) -> WeighIn {
    let mut new = WeighIn { recorded_at: doing.now.at, doubtful_confirmed: !input.confirmed.is_empty(), ..old.clone() };
    match input.hung {
        Hung::Total(total) => new.total = Some(total),
        Hung::Sides { left, right } => (new.left_side, new.right_side) = (Some(left), Some(right)),
        Hung::Quarters { left_fore, left_hind, right_fore, right_hind } => {
            (new.left_fore, new.left_hind) = (Some(left_fore), Some(left_hind));
            (new.right_fore, new.right_hind) = (Some(right_fore), Some(right_hind));
        }
    }
    new
}
