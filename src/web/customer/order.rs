//! The customer's page: what there is to do first, where the order stands, what it costs.

use super::cost::Cost;
use super::frame::CustomerFrame;
use super::holder::Holder;
use super::mine::{Mine, Terms, mine};
use super::steps::{Step, steps};
use super::todo::{TERMS, ToDo, must_read, to_do};
use crate::actions::ask_to_cancel::{deposit_words, why_not};
use crate::actions::sheet_open::May;
use crate::trade::reference;
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::Slot as Quarter;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::look::parts::{Link, SumKind, SumLine};
use crate::web::look::rail::{Defs, Kind, Rail, Slot};
use crate::web::look::respond::page;
use actix_web::{HttpRequest, web};
use askama::Template;

/// Where the customer's own form of the cut sheet is.
const SHEET: &str = "/my/cut-sheet";

#[derive(Template)]
#[template(path = "customer/standing.html")]
struct OrderPage {
    frame: CustomerFrame,
    name: String,
    first: ToDo,
    steps: Vec<Step>,
    cost: Cost,
    papers: Vec<Link>,
    rail: Option<(Rail, String, String)>,
    phone: String,
    mail: String,
    address: String,
    messages: i64,
    /// What becomes of the deposit; empty when it is not the time to ask.
    cancel_words: String,
    /// The payment reference, while something may be paid.
    reference: String,
    /// How the terms stand.
    terms: Terms,
    /// Whether the terms are to be read beside what stands first.
    read_terms: bool,
    /// Whether a wish to cancel waits for the farm.
    asked: bool,
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: Holder, app: web::Data<App>, req: HttpRequest) -> Answer {
    let (id, now, farm) = (holder.order, holder.now, holder.farm.clone());
    let mut m = app.read(move |c| mine(c, &farm, now, id)).await?;
    let is_served = req.resource_map().has_resource(SHEET) && !matches!(m.may, May::Nothing(_));
    m.sheet_page = is_served.then(|| Link::new(SHEET, "Open the cut sheet"));
    Ok(page(&order_page(&holder, m)))
}

fn order_page(holder: &Holder, m: Mine) -> OrderPage {
    let (r, customer, _) = &m.order;
    let may_cancel = m.cancel.is_none() && why_not(r, &m.facts).is_none();
    let first = to_do(&m, holder);
    OrderPage {
        reference: reference::of(&r.number),
        terms: m.terms,
        read_terms: must_read(&m) && first.button.as_ref().is_none_or(|b| b.href != TERMS),
        frame: holder.frame(),
        name: customer.name.clone(),
        first,
        steps: steps(&m, &holder.farm, holder.now),
        papers: papers(&m),
        rail: rail(&m),
        phone: customer.phone.clone(),
        mail: customer.mail.clone(),
        address: customer.address.clone(),
        messages: m.messages,
        cancel_words: if may_cancel { deposit_words(&holder.farm, m.facts.held) } else { String::new() },
        asked: m.cancel.is_some(),
        cost: invoiced(&m).unwrap_or(m.cost),
    }
}

/// The invoice in three lines, when there is one.
fn invoiced(m: &Mine) -> Option<Cost> {
    let (invoice, paid) = m.facts.invoice.as_ref()?;
    let mut lines = vec![SumLine::new(format!("Invoice {}", invoice.number), invoice.farm_total)];
    if !invoice.farm_tax.is_zero() {
        lines.push(SumLine::new("Tax", invoice.farm_tax));
    }
    lines.push(SumLine::new("Deposit and payments", paid.negated()));
    let balance = m.facts.balance().unwrap_or_default();
    let words = if balance.cents() < 0 { "We owe you" } else { "Balance to us" };
    lines.push(SumLine::new(words, balance).as_a(SumKind::Total));
    Some(Cost { rests_on: "As invoiced. Every weight and price stands on the invoice.".into(), lines })
}

fn papers(m: &Mine) -> Vec<Link> {
    let mut all = m.receipt_links();
    if m.confirmation.is_some() {
        all.insert(0, Link::new("/my/confirmation.pdf", "Confirmation"));
    }
    if let Some((i, _)) = &m.facts.invoice {
        all.push(Link::new(format!("/my/invoice/{}", i.id), format!("Invoice {}", i.number)));
    }
    all
}

/// The animal with the own share hatched; whose the rest is, and what is free, is nobody's business here.
fn rail(m: &Mine) -> Option<(Rail, String, String)> {
    let (a, share) = (m.facts.animal.as_ref()?, m.facts.share.as_ref()?);
    let kind = match share.size {
        Size::Whole => Kind::Whole,
        Size::Half => Kind::Half,
        Size::Quarter => Kind::quarter(share.part.unwrap_or(Part::Split)),
    };
    let slots = [Quarter::L1, Quarter::L2, Quarter::R1, Quarter::R2]
        .map(|q| if share.slots.contains(&q) { Slot::owner(share.name.clone(), kind) } else { Slot::Plain });
    let place = words::place(share.place);
    let title = format!("{}. Your share: {place}.", words::animal(a));
    let rail = Rail::new("mine", words::animal(a), a.species, slots).titled(title);
    let is = if share.size == Size::Whole { "All of it is yours".into() } else { format!("Yours: {place}") };
    Some((rail, words::animal(a), is))
}

impl OrderPage {
    fn defs(&self) -> Defs {
        Defs::MEDIUM
    }
}
