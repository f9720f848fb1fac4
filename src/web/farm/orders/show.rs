//! One order: how it stands, what to do next, its money, its story.

use super::agreed::{Agreed, agreed};
use super::{beside, words};
use crate::actions::Failure;
use crate::actions::ask_place::weight_words;
use crate::actions::draft_invoice::{self, DraftInvoice};
use crate::actions::message_values::price_words;
use crate::book::ids::ReservationId;
use crate::book::reservations;
use crate::book::rows::sheets::{CutSheet, SheetDraft};
use crate::book::standing::{self, Facts, OrderStanding};
use crate::book::stories;
use crate::book::wishes::{self, Wishes};
use crate::book::{cancel_requests, dates as dates_book, payments, place_locks, placements, refunds, waiting_offers};
use crate::book::{sheet_drafts, sheets};
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::vocabulary::DepositFate;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing, StoryLine, SumLine};
use crate::web::look::rail::{Defs, Rail};
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use crate::web::permission::helper_may;
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;

#[derive(Template)]
#[template(path = "farm/orders/show.html")]
struct OrderPage {
    frame: Frame,
    id: ReservationId,
    number: String,
    heading: String,
    standing: Standing,
    lead: String,
    buttons: Vec<Link>,
    money_note: String,
    sums: Vec<SumLine>,
    papers: Vec<Link>,
    story: Vec<StoryLine>,
    rail: Option<(Rail, Link, String)>,
    customer: Link,
    pickup: Option<Link>,
    phone: String,
    mail: String,
    address: String,
    wishes: String,
    locked: String,
    preferred: String,
    asked_for: String,
    is_locked: bool,
    others: Vec<Link>,
    is_cancelled: bool,
    is_invoiced: bool,
    is_waiting: bool,
    has_place: bool,
    /// Whether it has a hanging weight, so that what came home can be told.
    is_weighed: bool,
    has_deposit: bool,
    /// Of a cancelled order: something is kept, or stands to the customer's credit.
    has_money: bool,
    cancel_words: String,
    /// Whether a share is held for an answer: then the page asks for it.
    is_offered: bool,
    /// Whether the customer asked to cancel and waits for an answer.
    wants_out: bool,
    /// How its cut sheet stands.
    sheet: String,
    agreed: Agreed,
}

pub(super) struct Loaded {
    pub(super) order: reservations::Order,
    pub(super) facts: Facts,
    story: Vec<crate::book::rows::stories::Story>,
    beside: Vec<placements::Share>,
    pub(super) draft: Option<DraftInvoice>,
    /// Receipts and refund slips.
    papers: Vec<Link>,
    others: Vec<(crate::book::rows::selling::Reservation, crate::book::rows::selling::Offering)>,
    /// The dates chosen, best first.
    chosen: Vec<NaiveDate>,
    asked: Wishes,
    is_locked: bool,
    credit: Money,
    /// The last day to answer the offer of a share, while one is open.
    answer_by: Option<NaiveDate>,
    wants_out: bool,
    sheet: Option<CutSheet>,
    /// What its customer has begun and not sent.
    begun: Option<SheetDraft>,
    agreed: Agreed,
}

/// The page.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = ReservationId(*id);
    let (farm, now) = (farmer.farm.clone(), farmer.now);
    let loaded = app.read(move |c| load(c, &farm, now, id)).await?;
    Ok(page(&order_page(&farmer, id, loaded)))
}

/// "Thursday, October 14, then Monday, October 18; no other date".
fn chosen_words(l: &Loaded, today: NaiveDate) -> String {
    let days: Vec<_> = l.chosen.iter().map(|day| dates::long(*day, today)).collect();
    let only = if l.asked.only_these { "; no other date" } else { "" };
    if days.is_empty() { String::new() } else { format!("{}{only}", days.join(", then ")) }
}

/// "Together with “Wren family”; 150 to 220 lb".
fn asked_words(asked: &Wishes, unit: &str) -> String {
    let group = (!asked.together.is_empty()).then(|| format!("Together with “{}”", asked.together));
    group.into_iter().chain(weight_words(asked, unit)).collect::<Vec<_>>().join("; ")
}

fn load(
    c: &mut crate::book::conn::DbConn,
    farm: &crate::book::rows::farm::Farm,
    now: crate::book::at::Now,
    id: ReservationId,
) -> Result<Loaded, Failure> {
    let order = reservations::get(c, id)?;
    let facts = standing::facts(c, &[&order.0])?.remove(&id).unwrap_or_default();
    let beside = match &facts.animal {
        Some(a) => placements::shares_on(c, &[a.id])?,
        None => Vec::new(),
    };
    let draft = if order.0.cancelled_at.is_none() && order.0.waiting_since.is_none() && facts.invoice.is_none() {
        draft_invoice::drafts(c, farm, now, &[id])?.into_iter().next()
    } else {
        None
    };
    let receipts = payments::receipts_of_order(c, id, facts.invoice.as_ref().map(|(i, _)| i.id))?;
    let slips = refunds::slips_of_order(c, id)?;
    let receipts = receipts.iter().map(|(rid, n)| Link::new(format!("/receipts/{rid}.pdf"), format!("Receipt {n}")));
    let slips = slips.iter().map(|(sid, n)| Link::new(format!("/refund-slips/{sid}.pdf"), format!("Refund slip {n}")));
    let papers = receipts.chain(slips).collect();
    let asked = wishes::of(c, &[id])?.remove(&id).unwrap_or_default();
    let mut chosen = Vec::new();
    for day in asked.dates(order.0.preferred_date_id) {
        chosen.push(dates_book::get(c, day)?.0.kill_on);
    }
    let is_locked = place_locks::of(c, &[id])?.contains(&id);
    let credit = if order.0.cancel_deposit == Some(DepositFate::Refund) {
        payments::credit(c, order.1.id)?
    } else {
        Money::ZERO
    };
    let others = reservations::others_of(c, order.1.id, id)?;
    let story = stories::of_reservation(c, id)?;
    let answer_by = if order.0.waiting_since.is_some() { waiting_offers::answer_by(c, id)? } else { None };
    let wants_out = cancel_requests::open_of(c, id)?.is_some();
    let agreed = agreed(c, &order)?;
    Ok(Loaded {
        agreed,
        order,
        facts,
        story,
        beside,
        draft,
        papers,
        others,
        chosen,
        asked,
        is_locked,
        credit,
        answer_by,
        wants_out,
        sheet: sheets::of(c, &[id])?.remove(&id),
        begun: sheet_drafts::of(c, &[id])?.remove(&id),
    })
}

fn order_page(farmer: &Farmer, id: ReservationId, l: Loaded) -> OrderPage {
    let today = farmer.now.today;
    let (r, customer, o) = &l.order;
    let standing = l.facts.standing(r, today);
    let share = words::share(r, o);
    let (lead, buttons) = next_step(id, &l, &standing, farmer);
    let money = farmer.sees_money();
    let (lead, buttons) = if money { (lead, buttons) } else { for_helper(lead, buttons) };
    let sums = if money { beside::sums(&l, &standing, farmer) } else { Vec::new() };
    let mut papers = l.papers.clone();
    papers.extend(l.agreed.confirmation.clone());
    if !money {
        papers.clear();
    } else if let Some((invoice, _)) = &l.facts.invoice {
        papers.push(Link::new(format!("/invoices/{}", invoice.id), format!("Invoice {}", invoice.number)));
    }
    let mut story: Vec<StoryLine> = l
        .story
        .iter()
        .filter(|s| farmer.may_read(s))
        .map(|s| StoryLine::new(dates::short(s.at.day(farmer.now.zone), today), s.line.clone()).why(s.detail.clone()))
        .collect();
    if let Some(next) = words::next(&standing).map(|next| l.answer_by.map_or(next, |_| "Yes or no to the offer")) {
        story.push(StoryLine::next(next));
    }
    let is_cancelled = r.cancelled_at.is_some();
    OrderPage {
        frame: farmer.frame(Tab::Orders),
        id,
        number: r.number.clone(),
        heading: format!("{share} for {}", customer.name),
        standing: l.answer_by.map_or_else(
            || words::standing_for(farmer, &standing),
            |day| Standing::wait(format!("Offered, answer by {}", dates::near(day, today))),
        ),
        is_offered: l.answer_by.is_some(),
        wants_out: l.wants_out,
        sheet: words::sheet(l.sheet.as_ref(), l.begun.as_ref(), farmer.now),
        agreed: l.agreed.clone(),
        lead,
        buttons,
        money_note: l.draft.as_ref().and_then(|d| d.not_yet.clone()).unwrap_or_default(),
        sums,
        papers,
        story,
        rail: l.facts.animal.as_ref().map(|a| beside::rail(a, &l.beside, id)),
        customer: Link::new(format!("/customers/{}", customer.id), customer.name.clone()),
        pickup: l.facts.date.map(|(d, _)| Link::new(format!("/dates/{d}/pickup"), "When it is collected")),
        phone: customer.phone.clone(),
        mail: customer.mail.clone(),
        address: customer.address.clone(),
        wishes: r.wishes.clone(),
        locked: if !money {
            String::new()
        } else {
            format!("{}, since {}", price_words(r, farmer.farm.unit), dates::long(r.price_locked_on, today))
        },
        preferred: chosen_words(&l, today),
        asked_for: asked_words(&l.asked, farmer.unit()),
        is_locked: l.is_locked,
        others: l
            .others
            .iter()
            .take(5)
            .map(|(r, o)| {
                Link::new(format!("/orders/{}", r.id), format!("{}, {}", r.number, words::share(r, o).to_lowercase()))
            })
            .collect(),
        is_cancelled,
        is_invoiced: l.facts.invoice.is_some(),
        is_waiting: r.waiting_since.is_some(),
        has_place: l.facts.share.is_some(),
        is_weighed: l.facts.weigh_in.is_some() && standing != OrderStanding::Condemned && !is_cancelled,
        has_deposit: l.facts.held.is_positive(),
        has_money: l.facts.held.is_positive() || l.credit.is_positive(),
        cancel_words: if l.facts.held.is_positive() {
            format!(
                "You will be asked why, and what becomes of the {} deposit. Nothing is cancelled until you confirm.",
                l.facts.held.dollars()
            )
        } else {
            "You will be asked why. Nothing is cancelled until you confirm.".into()
        },
    }
}

/// What a helper reads of them: no sentence with an amount, and no button to a page of the farmer's.
fn for_helper(lead: String, mut buttons: Vec<Link>) -> (String, Vec<Link>) {
    buttons.retain(|b| helper_may(&b.href));
    let said: Vec<_> = lead.split_inclusive(". ").filter(|s| !s.contains('$')).collect();
    (said.concat().trim().to_string(), buttons)
}

/// The lead sentence and the buttons, the first of them filled.
fn next_step(id: ReservationId, l: &Loaded, standing: &OrderStanding, farmer: &Farmer) -> (String, Vec<Link>) {
    let today = farmer.now.today;
    let (r, _, o) = &l.order;
    let hangs = match (&l.facts.animal, &l.facts.share, &l.facts.date) {
        (Some(a), Some(s), Some((_, day))) => format!(
            "{} of {} goes to slaughter on {}.",
            crate::web::look::capital(&words::place(s.place)),
            words::animal(a),
            dates::long(*day, today)
        ),
        (Some(a), Some(s), None) => format!(
            "{} of {}, which has no processing date yet.",
            crate::web::look::capital(&words::place(s.place)),
            words::animal(a)
        ),
        _ => String::new(),
    };
    match standing {
        OrderStanding::Cancelled => {
            let settle = Link::new(format!("/customers/{}/credit", r.customer_id), "Give it back");
            let (fate, buttons) = match r.cancel_deposit {
                Some(DepositFate::Refund) if l.credit.is_positive() => {
                    (format!(" The deposit is owed back: {} stands to their credit.", l.credit.dollars()), vec![settle])
                }
                Some(DepositFate::Refund) => (" The deposit was given back or used.".into(), vec![]),
                Some(DepositFate::Keep) => (" The deposit is kept.".into(), vec![]),
                Some(DepositFate::Carry) => (" The deposit was carried over.".into(), vec![]),
                _ => (String::new(), vec![]),
            };
            (format!("Cancelled: {}.{fate}", r.cancel_reason.trim_end_matches('.')), buttons)
        }
        OrderStanding::Waiting(_) if let Some(day) = l.answer_by => {
            (format!("A share is held for the answer, through {}.", dates::long(day, today)), vec![])
        }
        OrderStanding::Waiting(n) => (
            format!("On the waiting list, {} in line for {} {}.", words::ordinal(*n), o.species.label(), o.season),
            vec![Link::new(format!("/orders/{id}/move-up"), "Give it a share that came free")],
        ),
        OrderStanding::DepositDue(missing, _) => (
            format!("{} of the deposit of {} is still to come. {hangs}", missing.dollars(), r.deposit_asked.dollars()),
            vec![Link::new(format!("/orders/{id}/deposit"), "Record the deposit")],
        ),
        OrderStanding::NoAnimal => (
            if r.deposit_asked.is_zero() {
                "No deposit was asked. Next it needs an animal.".into()
            } else {
                "The deposit is in. Next it needs an animal.".into()
            },
            vec![Link::new(format!("/orders/{id}/place"), "Choose its animal")],
        ),
        OrderStanding::OnAnimal => (hangs, vec![]),
        OrderStanding::WeightDue => {
            let enter = l.facts.date.map(|(date, _)| Link::new(format!("/dates/{date}/weigh-in"), "Enter the weight"));
            (hangs.replace("goes to slaughter", "went to slaughter"), enter.into_iter().collect())
        }
        OrderStanding::ToInvoice => match l.draft.as_ref().and_then(|d| d.ready()) {
            Some(balance) => (
                format!("It is weighed. The balance will be {}.", balance.dollars()),
                vec![Link::new(format!("/orders/{id}/invoice"), "Look over the invoice")],
            ),
            None => ("It is weighed, but cannot be invoiced yet.".into(), vec![]),
        },
        OrderStanding::Condemned => (
            "The carcass was condemned. The share needs another animal; nothing is billed.".into(),
            vec![Link::new(format!("/orders/{id}/place"), "Choose another animal")],
        ),
        OrderStanding::Owed(balance, due) => {
            let by = due.map_or("before pickup".to_string(), |d| format!("by {}", dates::long(d, today)));
            (format!("{} is to be paid {by}.", balance.dollars()), payment_button(l))
        }
        OrderStanding::Overdue(balance, days) => (
            format!("{} is owed, {days} day{} late.", balance.dollars(), if *days == 1 { "" } else { "s" }),
            payment_button(l),
        ),
        OrderStanding::Paid => match l.facts.balance() {
            Some(b) if b.cents() < 0 => {
                (format!("Invoiced and paid; {} too much came in and stands as credit.", b.negated().dollars()), vec![])
            }
            _ => ("Invoiced and paid in full.".into(), vec![]),
        },
    }
}

fn payment_button(l: &Loaded) -> Vec<Link> {
    l.facts
        .invoice
        .iter()
        .map(|(i, _)| Link::new(format!("/payments/new?invoice={}", i.id), "Record a payment"))
        .collect()
}
