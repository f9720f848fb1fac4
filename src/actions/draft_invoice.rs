//! What an order's invoice would be now: the sum behind a preview, an order's page, and what issuing writes down.
//!
//! Reads only. The sums are those of [`crate::trade::invoice`], the same that `gambrel reckon invoice` uses; per-head charges
//! are dealt out over all shares of the animal, so that they add up to the charge, to the cent.

use super::Failure;
use super::draft_words;
use crate::book::at::Now;
use crate::book::carcasses::{self, CarcassBilled, ShareBilled};
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, ChargeId, DateId, ReservationId};
use crate::book::payments::{self, For, Held};
use crate::book::reservations::Order;
use crate::book::rows::animals::{Animal, LiveWeight};
use crate::book::rows::farm::Farm;
use crate::book::rows::people::Customer;
use crate::book::rows::plants::{ProcessingDate, Processor, ProcessorCharge};
use crate::book::rows::selling::{Offering, OrderCharge, OrderProduct, Reservation};
use crate::book::schema::{
    animal, customer, live_weight, offering, order_charge, order_product, processing_date, processor, processor_charge,
    reservation,
};
use crate::book::{placements, standing};
use crate::trade::charge::{self, Charge};
use crate::trade::invoice::{Adjustment, Invoice, Price, ToBill, reckon_invoice};
use crate::trade::money::{Money, Percent};
use crate::trade::terms;
use crate::trade::vocabulary::{BilledBy, Condemned, Per, PriceBasis};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::HashMap;

/// An order's invoice as it would be issued now.
#[derive(Debug, Clone)]
pub struct DraftInvoice {
    /// The order.
    pub order: Reservation,
    /// Its customer.
    pub customer: Customer,
    /// What it was sold from.
    pub offering: Offering,
    /// The animal.
    pub animal: Option<Animal>,
    /// Its processing date and processor.
    pub date: Option<(ProcessingDate, Processor)>,
    /// What the share weighed.
    pub billed: Option<ShareBilled>,
    /// The sums; none when they cannot be reckoned yet.
    pub sums: Option<Invoice>,
    /// The charge of each line of the sums, where it has one.
    pub charges: Vec<Option<ChargeId>>,
    /// Deposits held for it.
    pub held: Vec<Held>,
    /// When it will be due; none = before pickup.
    pub due_on: Option<NaiveDate>,
    /// The day it would be issued.
    pub issued_on: NaiveDate,
    /// Whether what goes to the processor rests on a weight nobody took yet: wished product, or a quarter not weighed.
    pub is_estimate: bool,
    /// Why it cannot be issued yet, as a sentence.
    pub not_yet: Option<String>,
    /// The farm, for words.
    pub farm: Farm,
}

impl DraftInvoice {
    /// The balance due, when it can be issued.
    pub fn ready(&self) -> Option<Money> {
        if self.not_yet.is_some() { None } else { self.sums.as_ref().map(|s| s.balance_due) }
    }

    /// The sum as a page shows it.
    pub fn sum_lines(&self) -> Vec<draft_words::SumRow> {
        draft_words::sum_rows(self)
    }
}

/// Drafts the invoices of these orders, in the order asked for, in a fixed number of queries.
///
/// # Errors
/// [`Failure::NotFound`] when one of them does not exist.
pub fn drafts(c: &mut DbConn, farm: &Farm, now: Now, ids: &[ReservationId]) -> Result<Vec<DraftInvoice>, Failure> {
    let orders: HashMap<ReservationId, Order> = reservation::table
        .inner_join(customer::table)
        .inner_join(offering::table)
        .filter(reservation::id.eq_any(ids.to_vec()))
        .select((Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .load::<Order>(c)?
        .into_iter()
        .map(|o| (o.0.id, o))
        .collect();
    let rows: Vec<&Reservation> = orders.values().map(|o| &o.0).collect();
    let facts = standing::facts(c, &rows)?;
    let animals: Vec<AnimalId> = facts.values().filter_map(|f| f.animal.as_ref().map(|a| a.id)).collect();
    let gathered = gather(c, farm, &animals, ids)?;
    let mut out = Vec::with_capacity(ids.len());
    for id in ids {
        let (order, customer, offering) = orders.get(id).cloned().ok_or(Failure::NotFound)?;
        let f = facts.get(id).cloned().unwrap_or_default();
        let billed = f
            .animal
            .as_ref()
            .and_then(|a| gathered.carcasses.get(&a.id))
            .and_then(|c| c.shares.iter().find(|s| s.reservation == *id))
            .cloned();
        let mut draft = DraftInvoice {
            date: f.date.and_then(|(d, _)| gathered.dates.get(&d).cloned()),
            animal: f.animal.clone(),
            billed,
            sums: None,
            charges: Vec::new(),
            held: gathered.held.iter().filter(|(w, _)| *w == For::Order(*id)).map(|(_, h)| h.clone()).collect(),
            due_on: terms::due_on(farm.terms, farm.terms_days, now.today),
            issued_on: now.today,
            is_estimate: false,
            not_yet: None,
            farm: farm.clone(),
            order,
            customer,
            offering,
        };
        let hung = draft.billed.as_ref().map(|b| (b.weight, b.estimated));
        draft.not_yet = refuse(&draft, &f).or_else(|| match hung {
            Some((weight, estimated)) => reckon(&mut draft, &gathered, weight, estimated).err(),
            None => Some("It has no weight yet.".into()),
        });
        out.push(draft);
    }
    Ok(out)
}

/// The sums of an order that is not weighed, if its share hung at each of these weights: for estimates. Charges of a plant are in them
/// once the share has its animal and date. Fewer sums than weights when they cannot be reckoned.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such order.
pub fn sums_at(
    c: &mut DbConn,
    farm: &Farm,
    now: Now,
    id: ReservationId,
    weights: &[Weight],
) -> Result<Vec<Invoice>, Failure> {
    let Some(mut draft) = drafts(c, farm, now, &[id])?.into_iter().next() else { return Ok(Vec::new()) };
    let animals: Vec<AnimalId> = draft.animal.iter().map(|a| a.id).collect();
    let gathered = gather(c, farm, &animals, &[id])?;
    let mut all = Vec::new();
    for weight in weights {
        if reckon(&mut draft, &gathered, *weight, true).is_ok() {
            all.extend(draft.sums.clone());
        }
    }
    Ok(all)
}

/// What the drafts of several orders need from the book.
struct Gathered {
    carcasses: HashMap<AnimalId, CarcassBilled>,
    dates: HashMap<DateId, (ProcessingDate, Processor)>,
    charges: Vec<ProcessorCharge>,
    products: Vec<OrderProduct>,
    free: Vec<OrderCharge>,
    held: Vec<(For, Held)>,
    shares: Vec<placements::Share>,
    live: HashMap<AnimalId, Weight>,
}

fn gather(c: &mut DbConn, farm: &Farm, animals: &[AnimalId], ids: &[ReservationId]) -> Result<Gathered, Failure> {
    let carcasses = carcasses::billed_weights(c, farm, animals)?.into_iter().map(|b| (b.animal, b)).collect();
    let dates: HashMap<DateId, (ProcessingDate, Processor)> = processing_date::table
        .inner_join(processor::table)
        .filter(
            processing_date::id
                .nullable()
                .eq_any(animal::table.filter(animal::id.eq_any(animals.to_vec())).select(animal::date_id)),
        )
        .select((ProcessingDate::as_select(), Processor::as_select()))
        .load::<(ProcessingDate, Processor)>(c)?
        .into_iter()
        .map(|d| (d.0.id, d))
        .collect();
    let plants: Vec<_> = dates.values().map(|(_, p)| p.id).collect();
    let charges = processor_charge::table
        .filter(processor_charge::processor_id.eq_any(plants))
        .filter(processor_charge::retired_at.is_null())
        .order((processor_charge::position, processor_charge::id))
        .select(ProcessorCharge::as_select())
        .load(c)?;
    let mut live: HashMap<AnimalId, Weight> = HashMap::new();
    let weights: Vec<LiveWeight> = live_weight::table
        .filter(live_weight::animal_id.eq_any(animals.to_vec()))
        .order((live_weight::weighed_on, live_weight::id))
        .select(LiveWeight::as_select())
        .load(c)?;
    for w in weights.into_iter().filter(|w| w.method == crate::trade::vocabulary::WeighMethod::Scale) {
        live.insert(w.animal_id, w.weight);
    }
    Ok(Gathered {
        carcasses,
        dates,
        charges,
        products: order_product::table
            .filter(order_product::reservation_id.eq_any(ids.to_vec()))
            .select(OrderProduct::as_select())
            .load(c)?,
        free: order_charge::table
            .filter(order_charge::reservation_id.eq_any(ids.to_vec()))
            .order(order_charge::id)
            .select(OrderCharge::as_select())
            .load(c)?,
        held: payments::held_for(c, &ids.iter().map(|id| For::Order(*id)).collect::<Vec<_>>())?,
        shares: placements::shares_on(c, animals)?,
        live,
    })
}

/// Why an order cannot be invoiced whatever its sums are.
fn refuse(d: &DraftInvoice, f: &standing::Facts) -> Option<String> {
    let condemned = f.weigh_in.as_ref().is_some_and(|w| w.condemned == Condemned::Whole);
    Some(match () {
        () if d.order.cancelled_at.is_some() => "This order is cancelled.".into(),
        () if d.order.waiting_since.is_some() => "This order is on the waiting list.".into(),
        () if f.invoice.is_some() => "This order is invoiced already.".into(),
        () if d.animal.is_none() => "It has no animal yet.".into(),
        () if condemned => "The carcass was condemned; nothing is billed for it.".into(),
        () if d.billed.is_none() => "The invoice can be issued when the hanging weight is recorded.".into(),
        () => return None,
    })
}

/// Said when a sum is too large to be recorded.
const TOO_LARGE: &str = "A sum comes to more than can be recorded. Look for a rate or a weight with too many digits.";

/// Where a share hangs among the others of its animal.
struct OnRail<'a> {
    animal: &'a Animal,
    /// The quarters of every share on it, in order of their numbers.
    quarters: Vec<i64>,
    /// Which of them is this order's.
    mine: usize,
}

fn on_rail<'a>(d: &'a DraftInvoice, g: &Gathered) -> Result<Option<OnRail<'a>>, String> {
    let Some(animal) = &d.animal else { return Ok(None) };
    let mut on_it: Vec<&placements::Share> = g.shares.iter().filter(|s| s.animal == animal.id).collect();
    on_it.sort_by_key(|s| placements::number_order(&s.number));
    let mine = on_it
        .iter()
        .position(|s| s.reservation == d.order.id)
        .ok_or("It has no place on the animal any more. Load the page again.")?;
    Ok(Some(OnRail { animal, quarters: on_it.iter().map(|s| s.size.quarters()).collect(), mine }))
}

/// Reckons the sums of a share that hangs at `weight`; a sentence when they cannot be.
fn reckon(d: &mut DraftInvoice, g: &Gathered, weight: Weight, estimated: bool) -> Result<(), String> {
    let hangs = on_rail(d, g)?;

    let mut charges = Vec::new();
    let mut charge_ids = vec![None];
    let mut is_estimate = estimated;
    if let (Some((_, plant)), Some(OnRail { animal, quarters, mine })) = (&d.date, &hangs) {
        let fits = |p: &&ProcessorCharge| {
            p.processor_id == plant.id
                && p.species.is_none_or(|s| s == animal.species)
                && p.size.is_none_or(|s| s == d.order.size)
        };
        for p in g.charges.iter().filter(fits) {
            let quantity =
                g.products.iter().find(|q| q.reservation_id == d.order.id && q.charge_id == p.id).map(|q| q.quantity);
            let is_made = matches!(p.per, Per::UnitProduct | Per::Pack);
            if is_made && quantity.is_none() {
                continue; // nothing of it is made for this order
            }
            let mut one = Charge::new(p.name.clone(), p.per, p.rate, p.billed_by);
            one.quantity = quantity.filter(|_| is_made);
            one.minimum_quantity = p.minimum_quantity.filter(|_| matches!(p.per, Per::UnitHanging | Per::UnitProduct));
            one.minimum_amount = p.minimum_amount;
            one.tax = p.tax_percent;
            // A charge for one share size is owed by those shares alone; one for all is dealt out over the whole head.
            if p.per == Per::Head && p.size.is_none() {
                let whole = charge::head_charge(p.rate, p.minimum_amount).map_err(|_| TOO_LARGE)?;
                one.dealt = charge::deal_per_head(whole, quarters).and_then(|dealt| dealt.owners.get(*mine).copied());
            }
            // What the customer wishes for is made later; its weight is known only then.
            is_estimate |= is_made && p.billed_by == BilledBy::Processor;
            charges.push(one);
            charge_ids.push(Some(p.id));
        }
    }
    let price = match d.order.price_basis {
        PriceBasis::Hanging => Price::Hanging(d.order.rate.unwrap_or_default()),
        PriceBasis::Flat => Price::Flat(d.order.flat_price.unwrap_or_default()),
        PriceBasis::Live => {
            let Some(OnRail { animal, quarters, mine }) = &hangs else { return Err("It has no animal yet.".into()) };
            let Some(live) = g.live.get(&animal.id) else {
                return Err(
                    "The price goes by live weight. Record a live weight from a scale for the animal first.".into()
                );
            };
            let weight = charge::deal_live_weight(*live, quarters)
                .and_then(|dealt| dealt.owners.get(*mine).copied())
                .ok_or("The animal has more shares than it has quarters. Look at its page.")?;
            Price::Live { rate: d.order.rate.unwrap_or_default(), weight }
        }
    };
    let bill = ToBill {
        name: draft_words::share_name(&d.order, &d.offering),
        weight: Some(weight),
        price,
        share: d.order.size,
        tax: Percent::ZERO,
        charges,
        adjustments: g
            .free
            .iter()
            .filter(|f| f.reservation_id == d.order.id)
            .map(|f| Adjustment { name: f.name.clone(), amount: f.amount, tax: f.tax_percent })
            .collect(),
        deposit: Money::sum(d.held.iter().map(|h| h.amount)).map_err(|_| TOO_LARGE)?,
        payments: Vec::new(),
    };
    let sums = reckon_invoice(&bill).map_err(|e| format!("{e}."))?;
    charge_ids.resize(sums.lines.len(), None);
    d.is_estimate = is_estimate;
    d.charges = charge_ids;
    d.sums = Some(sums);
    Ok(())
}
