//! The outbox: messages on their way, and what became of each.

use crate::actions::handle_message;
use crate::actions::letterhead::letterhead;
use crate::book::ids::MessageId;
use crate::book::outbox::{self, Shown, Standing as Became};
use crate::book::rows::outbox::Message;
use crate::paper::letter::Letter;
use crate::post::by_hand;
use crate::trade::dates;
use crate::trade::vocabulary::{Channel, PaperKind};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::http::header::{ContentDisposition, DispositionParam, DispositionType};
use actix_web::{HttpResponse, web};
use askama::Template;
use std::collections::HashMap;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/outbox", web::get().to(list));
    cfg.route("/outbox/{id}.eml", web::get().to(eml));
    cfg.route("/outbox/{id}.pdf", web::get().to(letter));
    cfg.route("/outbox/{id}", web::get().to(show));
    cfg.route("/outbox/{id}/send", web::post().to(send));
    cfg.route("/outbox/{id}/handed-over", web::post().to(handed_over));
}

/// Messages on a page.
const PAGE: usize = 25;

struct Row {
    href: String,
    to: String,
    subject: String,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "farm/outbox/list.html")]
struct ListPage {
    frame: Frame,
    heading: String,
    rows: Vec<Row>,
    newer: Option<Link>,
    older: Option<Link>,
    has_smtp: bool,
}

fn became(m: &Message, farmer: &Farmer) -> Standing {
    let day = |at: crate::book::at::At| dates::short(at.day(farmer.now.zone), farmer.now.today);
    match m.standing() {
        Became::Sent(at) => Standing::done(format!("Sent {}", day(at))),
        Became::HandedOver(at) => Standing::done(format!("Handed over {}", day(at))),
        Became::Failed(..) => Standing::late("Not delivered"),
        Became::Waiting(0) => Standing::wait("Waiting to be sent"),
        Became::Waiting(n) => Standing::part(format!("Tried {n} times")),
        Became::ByHand => Standing::todo("For you to send"),
    }
}

async fn list(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let before = query.get("before").and_then(|b| b.parse().ok()).map(MessageId);
    let (messages, counts) =
        app.read(move |c| Ok((outbox::page(c, Shown::All, before, PAGE as i64 + 1)?, outbox::counts(c)?))).await?;
    let more = messages.len() > PAGE;
    let last = messages.get(PAGE - 1).map(|m| m.id);
    let heading = match (counts.failed, counts.by_hand, counts.waiting) {
        (0, 0, 0) => "Every message is on its way or there".to_string(),
        (0, 0, n) => format!("{n} waiting to be sent"),
        (0, h, _) => format!("{h} for you to send"),
        (f, ..) => format!("{f} not delivered"),
    };
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Outbox),
        heading,
        rows: messages
            .iter()
            .take(PAGE)
            .map(|m| Row {
                href: format!("/outbox/{}", m.id),
                to: m.to_name.clone(),
                subject: m.subject.clone(),
                standing: became(m, &farmer),
            })
            .collect(),
        newer: before.map(|_| Link::new("/outbox", "Newest messages")),
        older: last.filter(|_| more).map(|l| Link::new(format!("/outbox?before={l}"), "Older messages")),
        has_smtp: app.config.smtp_url.is_some(),
    }))
}

#[derive(Template)]
#[template(path = "farm/outbox/show.html")]
struct ShowPage {
    frame: Frame,
    m: Message,
    standing: Standing,
    paper: Option<Link>,
    sms: String,
    is_mail: bool,
    is_open: bool,
    error: String,
}

async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = MessageId(*id);
    let m = app.read(move |c| Ok(outbox::get(c, id)?)).await?;
    let paper = match (m.attachment_kind, m.attachment_id) {
        (Some(PaperKind::Invoice), Some(n)) => {
            Some(Link::new(format!("/invoices/{n}.pdf"), "The invoice that goes with it"))
        }
        (Some(PaperKind::Receipt), Some(n)) => {
            Some(Link::new(format!("/receipts/{n}.pdf"), "The receipt that goes with it"))
        }
        (Some(PaperKind::CreditNote), Some(n)) => {
            Some(Link::new(format!("/credit-notes/{n}.pdf"), "The credit note that goes with it"))
        }
        _ => None,
    };
    let sms = if m.channel == Channel::Text {
        by_hand::sms_link(&m.to_address, &m.body).unwrap_or_default()
    } else {
        String::new()
    };
    Ok(page(&ShowPage {
        frame: farmer.frame(Tab::Outbox),
        standing: became(&m, &farmer),
        paper,
        sms,
        is_mail: m.channel == Channel::Mail,
        is_open: m.sent_at.is_none() && m.handed_over_at.is_none(),
        error: m.last_error.clone().unwrap_or_default(),
        m,
    }))
}

async fn eml(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let (id, from) = (MessageId(*id), app.config.mail_from.clone());
    let (name, bytes) = app.read(move |c| handle_message::download(c, id, from.as_deref())).await?;
    let name: String =
        name.chars().filter(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '-' | '.' | '_')).collect();
    Ok(HttpResponse::Ok()
        .content_type("message/rfc822")
        .insert_header(ContentDisposition {
            disposition: DispositionType::Attachment,
            parameters: vec![DispositionParam::Filename(name)],
        })
        .body(bytes))
}

async fn letter(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = MessageId(*id);
    let m = app.read(move |c| Ok(outbox::get(c, id)?)).await?;
    let mut to = vec![m.to_name.clone()];
    if m.channel == Channel::Letter {
        to.extend(m.to_address.lines().map(|l| l.trim().to_string()).filter(|l| !l.is_empty()));
    }
    let letter = Letter {
        layout: crate::paper::LAYOUT,
        made: m.queued_at.0.div_euclid(1000),
        head: letterhead(&farmer.farm),
        date: dates::full(m.queued_at.day(farmer.now.zone)),
        to,
        subject: m.subject.clone(),
        body: m.body.split("\n\n").map(ToString::to_string).collect(),
    };
    let pdf = letter.pdf().map_err(|e| crate::actions::Failure::Unexpected(e.to_string()))?;
    Ok(pdf_answer(&format!("Letter {id}.pdf"), pdf))
}

async fn send(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = MessageId(*id);
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).unwrap_or(-1);
    let done = app.act(&farmer, &key, move |tx, doing| {
        Ok(format!("/outbox/{}", handle_message::resend(tx, doing, id, version)?))
    });
    Ok(notice::with(see_other(&done.await?), "It is on its way again."))
}

async fn handed_over(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = MessageId(*id);
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).unwrap_or(-1);
    let done = app.act(&farmer, &key, move |tx, doing| {
        handle_message::mark_handed_over(tx, doing, id, version)?;
        Ok("/outbox".to_string())
    });
    Ok(notice::with(see_other(&done.await?), "Marked as handed over."))
}
