//! Everything a customer's page tells about the one order it is for, read in one snapshot.

use super::cost::{self, Cost};
use crate::actions::Failure;
use crate::actions::draft_invoice::{self, DraftInvoice};
use crate::actions::estimate_cost::estimate;
use crate::actions::pickup_rules::in_force;
use crate::actions::pickup_words::to_choose;
use crate::actions::sheet_open::{May, may_change};
use crate::book::at::Now;
use crate::book::conn::DbConn;
use crate::book::ids::{InvoiceId, ReceiptId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::pickups::{self, Pickup};
use crate::book::reservations::{self, Order};
use crate::book::rows::farm::Farm;
use crate::book::rows::links::CancelRequest;
use crate::book::rows::pickups::PickupRule;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::requests::Confirmation;
use crate::book::rows::sheets::CutSheet;
use crate::book::standing::{self, Facts, OrderStanding};
use crate::book::{
    cancel_requests, carcasses, confirmations, dates, links, outbox, sale_terms, sheets, waiting_offers,
};
use crate::trade::money::Money;
use crate::trade::weight::Weight;
use crate::web::look::parts::Link;
use chrono::NaiveDate;

/// One order as its customer may know it.
pub struct Mine {
    /// The order, its customer, what it was sold from.
    pub order: Order,
    /// What is derived.
    pub facts: Facts,
    /// Where it stands.
    pub standing: OrderStanding,
    /// Its processing date and plant.
    pub date: Option<(ProcessingDate, Processor)>,
    /// Deposit received, also where it is taken off an invoice by now, and the day of its last part.
    pub deposit: (Money, Option<NaiveDate>),
    /// Its cut sheet.
    pub sheet: Option<CutSheet>,
    /// What may still be done with the sheet.
    pub may: May,
    /// The page of the cut sheet, where the service has one.
    pub sheet_page: Option<Link>,
    /// What the share weighed.
    pub billed: Option<Weight>,
    /// The last day to answer an offer, while one is open.
    pub answer_by: Option<NaiveDate>,
    /// Receipts that are about this order alone.
    pub receipts: Vec<(ReceiptId, String)>,
    /// What it costs.
    pub cost: Cost,
    /// The customer's open wish to cancel.
    pub cancel: Option<CancelRequest>,
    /// The terms: accepted, still to be read, or none.
    pub terms: Terms,
    /// The last confirmation.
    pub confirmation: Option<Confirmation>,
    /// Messages about it that reached the customer.
    pub messages: i64,
    /// Whether it is ready, the window it has, who collected it.
    pub pickup: Pickup,
    /// Whether there is a window to choose.
    pub can_choose: bool,
    /// The farm's rule of handing over.
    pub rule: PickupRule,
}

impl Mine {
    /// Links to the receipts.
    pub fn receipt_links(&self) -> Vec<Link> {
        let link =
            |(id, number): &(ReceiptId, String)| Link::new(format!("/my/receipt/{id}"), format!("Receipt {number}"));
        self.receipts.iter().map(link).collect()
    }
}

/// Reads it.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn mine(c: &mut DbConn, farm: &Farm, now: Now, id: ReservationId) -> Result<Mine, Failure> {
    let order = reservations::get(c, id)?;
    let facts = standing::facts(c, &[&order.0])?.remove(&id).unwrap_or_default();
    let standing = facts.standing(&order.0, now.today);
    let date = match &facts.date {
        Some((date, _)) => Some(dates::get(c, *date)?),
        None => None,
    };
    let invoice = facts.invoice.as_ref().map(|(i, _)| i.id);
    let billed = match &facts.animal {
        Some(a) if facts.weigh_in.is_some() => {
            let all = carcasses::billed_weights(c, farm, &[a.id])?;
            all.iter().flat_map(|b| &b.shares).find(|s| s.reservation == id).map(|s| s.weight)
        }
        _ => None,
    };
    let cost = cost_of(c, farm, now, &order, &facts, date.as_ref())?;
    let pickup = pickups::of_orders(c, &[id])?.remove(&id).unwrap_or_default();
    let rule = in_force(c)?;
    let can_choose = match facts.date.filter(|_| pickup.ready.is_some() && order.0.collected_at.is_none()) {
        Some((date, _)) => !to_choose(c, date, &rule, now)?.is_empty(),
        None => false,
    };
    Ok(Mine {
        standing,
        deposit: deposit(c, id, invoice)?,
        sheet: sheets::of(c, &[id])?.remove(&id),
        may: may_change(c, now.today, id)?,
        sheet_page: None,
        billed,
        answer_by: if order.0.waiting_since.is_some() { waiting_offers::answer_by(c, id)? } else { None },
        receipts: links::own_receipts(c, id)?,
        cost,
        cancel: cancel_requests::open_of(c, id)?,
        terms: terms(c, &order)?,
        confirmation: confirmations::last_of(c, id, order.1.id)?,
        messages: outbox::count_reached(c, id)?,
        pickup,
        can_choose,
        rule,
        date,
        facts,
        order,
    })
}

/// How the terms stand with an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Terms {
    /// The farm has none, and none were accepted.
    None,
    /// To be read and accepted.
    ToRead,
    /// Accepted.
    Accepted,
}

fn terms(c: &mut DbConn, (r, customer, _): &Order) -> Result<Terms, Failure> {
    if sale_terms::accepted(c, r.id, customer.id)?.is_some() {
        return Ok(Terms::Accepted);
    }
    Ok(if sale_terms::in_force(c)?.is_some() { Terms::ToRead } else { Terms::None })
}

/// What came in as a deposit and is held for the order or its invoice now, and the day of the last part of it.
fn deposit(
    c: &mut DbConn,
    id: ReservationId,
    invoice: Option<InvoiceId>,
) -> Result<(Money, Option<NaiveDate>), Failure> {
    let mut held = payments::held(c, For::Order(id))?;
    if let Some(invoice) = invoice {
        held.extend(payments::held(c, For::Invoice(invoice))?.into_iter().filter(|h| h.was_deposit));
    }
    let sum = Money::sum(held.iter().map(|h| h.amount))?;
    Ok((sum, held.iter().map(|h| h.payment.received_on).max()))
}

fn cost_of(
    c: &mut DbConn,
    farm: &Farm,
    now: Now,
    order: &Order,
    facts: &Facts,
    date: Option<&(ProcessingDate, Processor)>,
) -> Result<Cost, Failure> {
    if facts.invoice.is_some() || order.0.waiting_since.is_some() {
        return Ok(Cost::default());
    }
    let draft: Option<DraftInvoice> = draft_invoice::drafts(c, farm, now, &[order.0.id])?.into_iter().next();
    if let Some(d) = draft.filter(|d| d.ready().is_some()) {
        return Ok(cost::weighed(&d, now.today));
    }
    let plant = date.map_or("the processor", |(_, p)| p.name.as_str());
    Ok(estimate(c, farm, now, order, facts)?.map(|e| cost::estimated(&e, plant, farm.unit)).unwrap_or_default())
}
