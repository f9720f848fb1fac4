//! Today: what is due now, in order; late first, each line with its one button.

use crate::book::ids::DateId;
use crate::book::reservations::{self, Narrow, Wanted};
use crate::book::schema::{animal, processing_date, processor, weigh_in};
use crate::book::{animals, invoices, money_sums, outbox, standing};
use crate::trade::{dates, terms};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{DueLine, Link, Standing};
use crate::web::look::respond::page;
use crate::web::look::words::count;
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use diesel::prelude::*;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/", web::get().to(show));
}

/// Lines of one kind at most.
const MOST: i64 = 20;

#[derive(Template)]
#[template(path = "farm/today.html")]
struct TodayPage {
    frame: Frame,
    day: String,
    heading: String,
    late: Vec<DueLine>,
    now: Vec<DueLine>,
    next: Option<Link>,
}

fn line(when: Standing, what: Link, why: String, act: Link) -> DueLine {
    DueLine { when, what, why, act }
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let today = farmer.now.today;
    let (open, mail, held_up, unweighed, to_invoice, no_deposit, credits, next, has_offering, has_date) = app
        .read(move |c| {
            let wanted = |standing| Wanted { standing: Some(standing), today: Some(today), ..Wanted::default() };
            let unweighed: Vec<(DateId, NaiveDate, String)> = processing_date::table
                .inner_join(processor::table)
                .filter(processing_date::kill_on.le(today))
                .filter(processing_date::cancelled_at.is_null())
                .filter(
                    processing_date::id.nullable().eq_any(
                        animal::table
                            .left_join(weigh_in::table)
                            .filter(animal::lost_on.is_null())
                            .filter(weigh_in::animal_id.nullable().is_null())
                            .select(animal::date_id),
                    ),
                )
                .order(processing_date::kill_on)
                .limit(MOST)
                .select((processing_date::id, processing_date::kill_on, processor::name))
                .load(c)?;
            let next: Option<(DateId, NaiveDate, String)> = processing_date::table
                .inner_join(processor::table)
                .filter(processing_date::kill_on.ge(today))
                .filter(processing_date::cancelled_at.is_null())
                .order(processing_date::kill_on)
                .select((processing_date::id, processing_date::kill_on, processor::name))
                .first(c)
                .optional()?;
            let no_deposit = reservations::page(c, &wanted(Narrow::DepositDue), MOST)?;
            let facts = standing::facts(c, &no_deposit.iter().map(|(r, ..)| r).collect::<Vec<_>>())?;
            Ok((
                invoices::open(c, None, MOST)?,
                outbox::counts(c)?,
                animals::in_withdrawal(c)?,
                unweighed,
                reservations::page(c, &wanted(Narrow::ToInvoice), MOST)?,
                (no_deposit, facts),
                money_sums::credits(c, MOST)?,
                next,
                !crate::book::offerings::open(c)?.is_empty(),
                processing_date::table.count().get_result::<i64>(c)? > 0,
            ))
        })
        .await?;
    let mut late = Vec::new();
    for h in &held_up {
        late.push(line(
            Standing::late("Withdrawal"),
            Link::new(format!("/animals/{}", h.animal), format!("{} is still inside a withdrawal period", h.name)),
            "It must not be slaughtered before it ends. Ask your veterinarian when in doubt.".into(),
            Link::new(format!("/animals/{}", h.animal), format!("Look at {}", h.name)),
        ));
    }
    for (i, who, owed) in &open {
        let days = terms::days_late(i.due_on, today);
        if days > 0 {
            late.push(line(
                Standing::late(format!("{days} day{} late", if days == 1 { "" } else { "s" })),
                Link::new(format!("/invoices/{}", i.id), format!("{} owes {}", who.name, owed.dollars())),
                format!("Invoice {}, due {}.", i.number, i.due_on.map(|d| dates::long(d, today)).unwrap_or_default()),
                Link::new(format!("/invoices/{}", i.id), format!("Open invoice {}", i.number)),
            ));
        }
    }
    if mail.failed > 0 {
        late.push(line(
            Standing::late("Came back"),
            Link::new(
                "/outbox",
                format!(
                    "{} message{} not delivered",
                    capital(&count(usize::try_from(mail.failed).unwrap_or(0))),
                    if mail.failed == 1 { " was" } else { "s were" }
                ),
            ),
            "The Outbox says why.".into(),
            Link::new("/outbox", "Open the Outbox"),
        ));
    }
    let mut now = Vec::new();
    for (id, day, plant) in &unweighed {
        now.push(line(
            Standing::todo(format!("Since {}", dates::short(*day, today))),
            Link::new(format!("/dates/{id}"), format!("Hanging weights of {} to enter", dates::long(*day, today))),
            plant.clone(),
            Link::new(format!("/dates/{id}/weigh-in"), "Enter the weights"),
        ));
    }
    for (r, who, o) in &to_invoice {
        now.push(line(
            Standing::todo("Weighed"),
            Link::new(format!("/orders/{}", r.id), format!("Invoice to issue for {}", who.name)),
            format!("{}, order {}.", words::share(r, o), r.number),
            Link::new(format!("/orders/{}/invoice", r.id), format!("Look over the invoice of {}", who.name)),
        ));
    }
    for (r, who, o) in &no_deposit.0 {
        let held = no_deposit.1.get(&r.id).map(|f| f.held).unwrap_or_default();
        let missing = r.deposit_asked.minus(held).unwrap_or_default();
        now.push(line(
            Standing::todo("Deposit due"),
            Link::new(format!("/orders/{}", r.id), format!("{} deposit from {}", missing.dollars(), who.name)),
            format!("{}, order {}.", words::share(r, o), r.number),
            Link::new(format!("/orders/{}/deposit", r.id), format!("Record the deposit of {}", who.name)),
        ));
    }
    for (id, name, amount) in &credits {
        now.push(line(
            Standing::todo("Owed back"),
            Link::new(format!("/customers/{id}"), format!("{} stands to the credit of {name}", amount.dollars())),
            "Put it to an invoice, or give it back.".into(),
            Link::new(format!("/customers/{id}/credit"), format!("Settle with {name}")),
        ));
    }
    if mail.by_hand > 0 {
        now.push(line(
            Standing::todo("To hand over"),
            Link::new(
                "/outbox",
                format!("{} for you to send", capital(&count(usize::try_from(mail.by_hand).unwrap_or(0)))),
            ),
            "Text messages and letters wait for your hand.".into(),
            Link::new("/outbox", "Open the Outbox"),
        ));
    }
    if !has_offering {
        now.push(line(
            Standing::todo("To begin"),
            Link::new("/for-sale/new", "Say what you sell"),
            "Species, season, how many head, and the price of each share.".into(),
            Link::new("/for-sale/new", "Put animals up for sale"),
        ));
    }
    if !has_date {
        now.push(line(
            Standing::todo("To begin"),
            Link::new("/processors", "Book a day at your processor"),
            "With the processor’s charges first, then the date and its head.".into(),
            Link::new("/processors", "Add a processor"),
        ));
    }
    let n = late.len() + now.len();
    let heading = match (n, late.len()) {
        (0, _) => "Nothing to do today".to_string(),
        (1, 0) => "One thing to do".to_string(),
        (n, 0) => format!("{} things to do", capital(&count(n))),
        (n, l) if n == l => format!("{} late", capital(&count(n))),
        (n, l) => format!("{} things to do, {} of them late", capital(&count(n)), count(l)),
    };
    Ok(page(&TodayPage {
        frame: farmer.frame(Tab::Today),
        day: dates::full(today),
        heading,
        late,
        now,
        next: next
            .map(|(id, day, plant)| Link::new(format!("/dates/{id}"), format!("{}, {plant}", dates::long(day, today)))),
    }))
}
