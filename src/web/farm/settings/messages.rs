//! The words of the messages: the list of what they are for, and the form that changes one, with a preview.

use crate::actions::Failure;
use crate::actions::edit_wording::{InForce, edit_wording, reset_wording, wording_of};
use crate::actions::message_values::preview;
use crate::book::ids::ReservationId;
use crate::book::reservations::{self, Wanted};
use crate::book::wordings;
use crate::post::placeholders::{Placeholder, placeholders};
use crate::post::wording::{BODY_LIMIT, Filled, Purpose, SHORT_LIMIT, SUBJECT_LIMIT, Wording};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// The routes; they come before `/settings/{part}`.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/messages", web::get().to(list));
    cfg.route("/settings/messages/{purpose}", web::get().to(show));
    cfg.route("/settings/messages/{purpose}", web::post().to(save));
    cfg.route("/settings/messages/{purpose}/preview", web::post().to(look));
    cfg.route("/settings/messages/{purpose}/reset", web::post().to(reset));
}

/// Orders offered for the preview.
const ORDERS: i64 = 25;

const LABELS: &[(&str, &str)] = &[("subject", "Subject"), ("body", "Message"), ("short", "Text message")];

struct Row {
    href: String,
    name: &'static str,
    when: &'static str,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "farm/messages/list.html")]
struct ListPage {
    frame: Frame,
    rows: Vec<Row>,
}

/// When a message of this purpose goes out.
const fn when(purpose: Purpose) -> &'static str {
    match purpose {
        Purpose::DepositReceipt => "With the receipt, when you record a deposit and tick to send it.",
        Purpose::PaymentReceipt => "With the receipt, when you record a payment and tick to send it.",
        Purpose::ReservationConfirmed => "When you take a reservation and tick to confirm it.",
        Purpose::RequestConfirm => "When somebody asks for a share on your public page, to the address they gave.",
        Purpose::RequestAccepted => "When a request from your public page is accepted, with the confirmation.",
        Purpose::RequestWaiting => "When a request is accepted and no share is left.",
        Purpose::RequestDeclined => "When you decline a request.",
        Purpose::WaitingOffer => "When you offer a share to somebody on the waiting list, or it goes to the next.",
        Purpose::SharesLeft => "When you write to past customers that shares are left.",
        Purpose::MovedUp => "When you move an order up from the waiting list.",
        Purpose::DateAssigned => "When you write to the owners from the page of a date.",
        Purpose::PlaceChanged => "When you took a plan of shares and write to those it moved.",
        Purpose::SheetReminder => {
            "By itself on the days before the cut-sheet deadline, to those whose sheet is missing."
        }
        Purpose::SheetStandard => "When the standard cut is entered for somebody who sent no cut sheet.",
        Purpose::SheetTaken => "When you take a late change to a cut sheet.",
        Purpose::SheetRefused => "When you refuse a late change to a cut sheet.",
        Purpose::PrivateLink => "When you mail a private link, or a customer who lost it asks for it again.",
        Purpose::SideDecided => "When you decide how a side is cut that two quarters wish otherwise, to both.",
        Purpose::ContactChanged => "To the old mail address, when a customer changes it on the private page.",
        Purpose::CancelStays => "When you answer a customer’s wish to cancel and the order stays.",
        Purpose::OrderCancelled => "When you cancel an order because its customer asked for it on the private page.",
        Purpose::PickupReady => "When you say that an order’s meat can be collected.",
        Purpose::PickupNotYet => "When you take back that an order’s meat is ready.",
        Purpose::PickupChosen => "When a customer chooses a pickup window, or you do it for them.",
        Purpose::PickupMoved => "When you move a pickup window or call it off, to those who chose it.",
        Purpose::PickupComing => "By itself, the morning before a pickup window, to those who chose it.",
        Purpose::PickupMissing => {
            "By itself, while the meat is ready and no window was chosen; see Pickup in Settings."
        }
        Purpose::Packet => "With the packet, when you mail it to the processor.",
        Purpose::PlantNews => "To you, when a processor entered something on its page and has stopped typing.",
        Purpose::Invoice => "With the invoice, when you issue it or send it again.",
        Purpose::BalanceReminder => {
            "When you remind somebody of what is still to be paid, or by itself; see Overdue balances in Settings."
        }
        Purpose::BalanceFirm => {
            "When you write a firm letter about what is overdue, or by itself; see Overdue balances in Settings."
        }
        Purpose::BalanceLast => "When you write the last letter before you ask for help outside. Never by itself.",
        Purpose::BillOfSale => "With the bill of sale, when you mail it from an order’s page.",
        Purpose::CreditNote => "With the credit note, when you void an invoice.",
        Purpose::AnimalLost => "When an animal is lost and you tell the owners of its shares.",
        Purpose::Refund => "When you pay money back.",
    }
}

async fn list(farmer: Farmer, app: web::Data<App>) -> Answer {
    let changed = app.read(|c| Ok(wordings::changed(c)?)).await?;
    let row = |p: &Purpose| Row {
        href: format!("/settings/messages/{p}"),
        name: p.label(),
        when: when(*p),
        standing: if changed.iter().any(|c| c == p.as_str()) {
            Standing::done("In your words")
        } else {
            Standing::plain("As delivered")
        },
    };
    Ok(page(&ListPage { frame: farmer.frame(Tab::Settings), rows: Purpose::ALL.iter().map(row).collect() }))
}

#[derive(Template)]
#[template(path = "farm/messages/edit.html")]
struct EditPage {
    frame: Frame,
    draft: Draft,
    purpose: Purpose,
    when: &'static str,
    holes: &'static [Placeholder],
    orders: Choices,
    filled: Option<Filled>,
    cannot: String,
    is_changed: bool,
}

fn as_draft(now: &InForce) -> Draft {
    Draft::empty()
        .with("version", now.version.to_string())
        .with("subject", now.wording.subject.clone())
        .with("body", now.wording.body.clone())
        .with("short", now.wording.short.clone())
}

/// The form with `draft` in it, and how `shown` reads with the order chosen; no words to show when `shown` is none.
async fn edit_page(
    farmer: &Farmer,
    app: &App,
    purpose: Purpose,
    draft: Draft,
    shown: Option<Wording>,
) -> Result<EditPage, PageError> {
    let chosen = draft.val("order").parse().ok().map(ReservationId);
    let (orders, order, filled, version) = app
        .read(move |c| {
            let orders = reservations::page(c, &Wanted::default(), ORDERS)?;
            let order = chosen.filter(|id| orders.iter().any(|(r, ..)| r.id == *id));
            let order = order.or_else(|| orders.first().map(|(r, ..)| r.id));
            let filled = match &shown {
                None => None,
                Some(words) => match preview(c, purpose, Some(words), order) {
                    Ok(filled) => Some(Ok(filled)),
                    Err(Failure::Refused(problems)) => Some(Err(problems)),
                    Err(other) => return Err(other),
                },
            };
            Ok((orders, order, filled, wording_of(c, purpose)?.version))
        })
        .await?;
    let (filled, cannot) = match filled {
        None => (None, String::new()),
        Some(Ok(filled)) => (Some(filled), String::new()),
        Some(Err(problems)) => (None, problems.0.into_iter().map(|p| p.sentence).collect::<Vec<_>>().join(" ")),
    };
    let draft = draft.without("order").with_some("order", order.map(|id| id.to_string()));
    let orders = orders
        .iter()
        .map(|(r, who, o)| {
            (r.id.to_string(), format!("{}, {}, {}", who.name, words::share(r, o).to_lowercase(), r.number))
        })
        .collect();
    Ok(EditPage {
        frame: farmer.frame(Tab::Settings),
        draft,
        purpose,
        when: when(purpose),
        holes: placeholders(purpose),
        orders,
        filled,
        cannot,
        is_changed: version != 0,
    })
}

fn purpose_of(word: &str) -> Result<Purpose, PageError> {
    word.parse().map_err(|_| Failure::NotFound.into())
}

async fn show(
    farmer: Farmer,
    app: web::Data<App>,
    purpose: web::Path<String>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let purpose = purpose_of(&purpose)?;
    let now = app.read(move |c| wording_of(c, purpose)).await?;
    let draft = as_draft(&now).with_some("order", query.get("order").cloned());
    Ok(page(&edit_page(&farmer, &app, purpose, draft, Some(now.wording)).await?))
}

/// What was typed: the version it was opened with, and the words, checked but for the placeholders.
fn typed(form: &mut FormIn) -> Result<(i64, Wording), Draft> {
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.text("subject", "Subject", SUBJECT_LIMIT),
        form.lines("body", "Message", BODY_LIMIT),
        form.lines("short", "Text message", SHORT_LIMIT),
    );
    let (version, subject, body, short) = form.finish(parts)?;
    Ok((version, Wording::typed(&subject, &body, &short)))
}

/// Shows how the words typed would read; nothing is saved.
async fn look(farmer: Farmer, app: web::Data<App>, purpose: web::Path<String>, sent: Sent) -> Answer {
    let purpose = purpose_of(&purpose)?;
    let (mut form, _) = sent.with_key();
    let words = match typed(&mut form) {
        Ok((_, words)) => words,
        Err(draft) => return Ok(refused(&edit_page(&farmer, &app, purpose, draft, None).await?)),
    };
    if let Err(faults) = words.check(purpose) {
        for fault in faults {
            form.problem(fault.field, fault.sentence);
        }
        return Ok(refused(&edit_page(&farmer, &app, purpose, form.into_draft(), None).await?));
    }
    Ok(page(&edit_page(&farmer, &app, purpose, form.into_draft(), Some(words)).await?))
}

async fn save(farmer: Farmer, app: web::Data<App>, purpose: web::Path<String>, sent: Sent) -> Answer {
    let purpose = purpose_of(&purpose)?;
    let (mut form, key) = sent.with_key();
    let (version, words) = match typed(&mut form) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&edit_page(&farmer, &app, purpose, draft, None).await?)),
    };
    let here = format!("/settings/messages/{purpose}");
    let done = app.act(&farmer, &key, move |tx, doing| {
        edit_wording(tx, doing, purpose, &words, version)?;
        Ok("/settings/messages".into())
    });
    let draft = match done.await {
        Ok(url) => return Ok(notice::with(see_other(&url), &format!("The words of “{}” are saved.", purpose.label()))),
        Err(Failure::Stale) => {
            let now = app.read(move |c| wording_of(c, purpose)).await?;
            form.into_draft().stale(&as_draft(&now), LABELS, &here)
        }
        Err(failure) => refusal(&form, failure)?,
    };
    Ok(refused(&edit_page(&farmer, &app, purpose, draft, None).await?))
}

async fn reset(farmer: Farmer, app: web::Data<App>, purpose: web::Path<String>, sent: Sent) -> Answer {
    let purpose = purpose_of(&purpose)?;
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).unwrap_or(-1);
    let here = format!("/settings/messages/{purpose}");
    let to = here.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        reset_wording(tx, doing, purpose, version)?;
        Ok(to.clone())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "These are the words as they were delivered.")),
        Err(Failure::Stale) => {
            let now = app.read(move |c| wording_of(c, purpose)).await?;
            let draft = as_draft(&now).headed("Somebody changed these words meanwhile").problem(
                "",
                "They stand below as they are now. Go back to the delivered words again if you still want to.",
            );
            Ok(refused(&edit_page(&farmer, &app, purpose, draft, Some(now.wording)).await?))
        }
        Err(failure) => Err(failure.into()),
    }
}
