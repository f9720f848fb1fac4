//! The outbox: messages on their way, and what became of each.

use crate::actions::letterhead::letterhead;
use crate::actions::link_in_mail::wants_link;
use crate::actions::{Failure, handle_message};
use crate::book::at::At;
use crate::book::ids::MessageId;
use crate::book::outbox::{self, Counts, Shown, Standing as Became};
use crate::book::rows::outbox::Message;
use crate::paper::letter::Letter;
use crate::post::{by_hand, private_link};
use crate::secret;
use crate::trade::dates;
use crate::trade::vocabulary::{Channel, PaperKind};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::http::header::{ContentDisposition, DispositionParam, DispositionType};
use actix_web::{HttpRequest, HttpResponse, web};
use askama::Template;
use std::collections::HashMap;
use std::sync::{Arc, Mutex};

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/outbox", web::get().to(list));
    cfg.route("/outbox/{id}.eml", web::get().to(eml));
    cfg.route("/outbox/{id}.pdf", web::get().to(letter));
    cfg.route("/outbox/{id}", web::get().to(show));
    cfg.route("/outbox/{id}/with-link", web::post().to(with_link));
    cfg.route("/outbox/{id}/send", web::post().to(send));
    cfg.route("/outbox/{id}/handed-over", web::post().to(handed_over));
}

/// Messages on a page.
const PAGE: usize = 25;

struct Row {
    href: String,
    to: String,
    subject: String,
    by: String,
    standing: Standing,
}

struct Narrower {
    link: Link,
    is_here: bool,
}

#[derive(Template)]
#[template(path = "farm/outbox/list.html")]
struct ListPage {
    frame: Frame,
    heading: String,
    rows: Vec<Row>,
    narrowers: Vec<Narrower>,
    is_narrowed: bool,
    count: String,
    newer: Option<Link>,
    older: Option<Link>,
    has_smtp: bool,
}

fn became(m: &Message, farmer: &Farmer, has_smtp: bool) -> Standing {
    let day = |at: At| dates::short(at.day(farmer.now.zone), farmer.now.today);
    match m.standing() {
        Became::Sent(at) => Standing::done(format!("Sent {}", day(at))),
        Became::HandedOver(at) => Standing::done(format!("Handed over {}", day(at))),
        Became::Failed(..) => Standing::late("Not delivered"),
        Became::Waiting(_) if !has_smtp => Standing::todo("For you to send"),
        Became::Waiting(0) => Standing::wait("Waiting to be sent"),
        Became::Waiting(1) => Standing::part("Tried once"),
        Became::Waiting(n) => Standing::part(format!("Tried {n} times")),
        Became::ByHand => Standing::todo("For you to send"),
    }
}

/// The word in the address, the words on the page, and what is shown.
const NARROW: [(&str, &str, Shown); 4] = [
    ("", "All", Shown::All),
    ("waiting", "Waiting", Shown::Waiting),
    ("failed", "Not delivered", Shown::Failed),
    ("sent", "Sent and handed over", Shown::Gone),
];

/// "Two messages were not delivered, three are for you to send".
fn heading(counts: Counts, has_smtp: bool) -> String {
    let (by_hand, waiting) =
        if has_smtp { (counts.by_hand, counts.waiting) } else { (counts.by_hand + counts.waiting, 0) };
    let mut parts: Vec<String> = Vec::new();
    for (n, one, more) in [
        (counts.failed, "was not delivered", "were not delivered"),
        (by_hand, "is for you to send", "are for you to send"),
        (waiting, "waits to be sent", "wait to be sent"),
    ] {
        let n = usize::try_from(n).unwrap_or(0);
        let words = if parts.is_empty() { ("message ", "messages ") } else { ("", "") };
        if n > 0 {
            parts.push(counted(n, &format!("{}{one}", words.0), &format!("{}{more}", words.1)));
        }
    }
    if parts.is_empty() { "Nothing waits in the Outbox".into() } else { capital(&parts.join(", ")) }
}

async fn list(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let before = query.get("before").and_then(|b| b.parse().ok()).map(MessageId);
    let asked = query.get("show").map(String::as_str).unwrap_or_default();
    let (word, name, shown) = NARROW.into_iter().find(|n| n.0 == asked).unwrap_or(("", "All", Shown::All));
    let (messages, counts) =
        app.read(move |c| Ok((outbox::page(c, shown, before, PAGE as i64 + 1)?, outbox::counts(c)?))).await?;
    let more = messages.len() > PAGE;
    let last = messages.get(PAGE - 1).map(|m| m.id);
    let at = |word: &str| if word.is_empty() { "/outbox".to_string() } else { format!("/outbox?show={word}") };
    let here = at(word);
    let joint = if word.is_empty() { '?' } else { '&' };
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Outbox),
        heading: heading(counts, app.config.smtp_url.is_some()),
        rows: messages
            .iter()
            .take(PAGE)
            .map(|m| Row {
                href: format!("/outbox/{}", m.id),
                to: m.to_name.clone(),
                subject: m.subject.clone(),
                by: capital(m.channel.label()),
                standing: became(m, &farmer, app.config.smtp_url.is_some()),
            })
            .collect(),
        narrowers: NARROW.iter().map(|n| Narrower { link: Link::new(at(n.0), n.1), is_here: n.0 == word }).collect(),
        is_narrowed: !word.is_empty(),
        count: format!("{name}, newest first"),
        newer: before.map(|_| Link::new(here.clone(), "Newest messages")),
        older: last.filter(|_| more).map(|l| Link::new(format!("{here}{joint}before={l}"), "Older messages")),
        has_smtp: app.config.smtp_url.is_some(),
    }))
}

#[derive(Template)]
#[template(path = "farm/outbox/show.html")]
struct ShowPage {
    frame: Frame,
    draft: Draft,
    m: Message,
    /// The words, with words in the place of a private link.
    body: String,
    /// Whether a private link goes into the mail as it leaves, and there is an address for it.
    has_link: bool,
    /// Whether the link stands on the receipt that goes with it.
    on_receipt: bool,
    /// The form key of the download: the page stays as it is when a file is downloaded, and its other forms keep theirs.
    download_key: String,
    standing: Standing,
    lead: String,
    paper: Option<Link>,
    customer: Option<Link>,
    order: Option<String>,
    sms: String,
    queued: String,
    is_mail: bool,
    is_open: bool,
    is_failed: bool,
    has_smtp: bool,
}

fn paper_of(m: &Message) -> Option<Link> {
    let n = m.attachment_id?;
    Some(match m.attachment_kind? {
        PaperKind::Invoice => Link::new(format!("/invoices/{n}.pdf"), "The invoice that goes with it"),
        PaperKind::Receipt => Link::new(format!("/receipts/{n}.pdf"), "The receipt that goes with it"),
        PaperKind::CreditNote => Link::new(format!("/credit-notes/{n}.pdf"), "The credit note that goes with it"),
        PaperKind::RefundSlip => Link::new(format!("/refund-slips/{n}.pdf"), "The refund slip that goes with it"),
        PaperKind::PartCredit => Link::new(format!("/part-credits/{n}.pdf"), "The credit note that goes with it"),
        PaperKind::Confirmation => Link::new(format!("/confirmations/{n}.pdf"), "The confirmation that goes with it"),
        PaperKind::BillOfSale => Link::new(format!("/bills-of-sale/{n}.pdf"), "The bill of sale that goes with it"),
        PaperKind::Packet => Link::new(format!("/packets/{n}.pdf"), "The packet that goes with it"),
    })
}

/// How it stands, in a sentence.
fn lead(m: &Message, farmer: &Farmer, has_smtp: bool) -> String {
    let day = |at: At| dates::long(at.day(farmer.now.zone), farmer.now.today);
    let why = m.last_error.clone().unwrap_or_default();
    match (m.standing(), m.channel) {
        (Became::Sent(at), _) => format!("The mail server took it on {}.", day(at)),
        (Became::HandedOver(at), _) => format!("You marked it as handed over on {}.", day(at)),
        (Became::Failed(at), _) => format!("It came back on {}. {why}", day(at)),
        (Became::ByHand, Channel::Letter) if m.to_address.is_empty() => {
            format!("{} has no mail address, phone number or postal address in the book. Print it, or add one and send the next one there.", m.to_name)
        }
        (Became::ByHand, Channel::Letter) => "Print it and post it, then mark it as handed over.".into(),
        (Became::ByHand, _) => "Send it from your phone, then mark it as handed over.".into(),
        (Became::Waiting(_), _) if !has_smtp => {
            "No mail server is set, so it waits here. Send the mail file from your own mail program, then mark it as handed over.".into()
        }
        (Became::Waiting(0), _) => "It goes out within a minute.".into(),
        (Became::Waiting(_), _) => format!("It could not be sent yet and is tried again. {why}"),
    }
}

async fn show_page(farmer: &Farmer, app: &App, id: MessageId, draft: Draft) -> Result<ShowPage, PageError> {
    let m = app.read(move |c| Ok(outbox::get(c, id)?)).await?;
    let has_smtp = app.config.smtp_url.is_some();
    let is_text = m.channel == Channel::Text;
    Ok(ShowPage {
        frame: farmer.frame(Tab::Outbox),
        draft,
        download_key: secret::form_key(&farmer.form_secret).unwrap_or_default(),
        has_link: wants_link(&m) && m.channel == Channel::Mail,
        on_receipt: m.attachment_kind == Some(PaperKind::Receipt) && m.reservation_id.is_some(),
        body: if m.channel == Channel::Mail { private_link::shown(&m.body) } else { private_link::without(&m.body) },
        standing: became(&m, farmer, has_smtp),
        lead: lead(&m, farmer, has_smtp),
        paper: paper_of(&m),
        customer: m.customer_id.map(|id| Link::new(format!("/customers/{id}"), m.to_name.clone())),
        order: m.reservation_id.map(|id| format!("/orders/{id}")),
        sms: if is_text {
            by_hand::sms_link(&m.to_address, &private_link::without(&m.body)).unwrap_or_default()
        } else {
            String::new()
        },
        queued: dates::full(m.queued_at.day(farmer.now.zone)),
        is_mail: m.channel == Channel::Mail,
        is_open: m.sent_at.is_none() && m.handed_over_at.is_none(),
        is_failed: matches!(m.standing(), Became::Failed(_)),
        has_smtp,
        m,
    })
}

async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&show_page(&farmer, &app, MessageId(*id), Draft::empty()).await?))
}

/// The page again after a button on it was refused, or somebody else was faster.
async fn again(farmer: &Farmer, app: &App, id: MessageId, failure: Failure) -> Answer {
    let draft = match failure {
        Failure::Refused(problems) => {
            problems.0.into_iter().fold(Draft::empty().headed("Nothing was changed"), |d, p| d.problem("", p.sentence))
        }
        Failure::Stale => Draft::empty()
            .headed("This message changed meanwhile")
            .problem("", "See below how it stands now, and press the button again if you still want to."),
        other => return Err(other.into()),
    };
    Ok(refused(&show_page(farmer, app, id, draft).await?))
}

async fn eml(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let (id, from) = (MessageId(*id), app.config.mail_from.clone());
    let (name, bytes) = app.read(move |c| handle_message::download(c, id, from.as_deref())).await?;
    Ok(mail_file(&name, bytes))
}

fn mail_file(name: &str, bytes: Vec<u8>) -> HttpResponse {
    let name: String =
        name.chars().filter(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '-' | '.' | '_')).collect();
    HttpResponse::Ok()
        .content_type("message/rfc822")
        .insert_header(ContentDisposition {
            disposition: DispositionType::Attachment,
            parameters: vec![DispositionParam::Filename(name)],
        })
        .body(bytes)
}

/// The mail file with a private link in it, made for this download; asked for by a form, because looking makes nothing.
async fn with_link(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, req: HttpRequest, sent: Sent) -> Answer {
    let id = MessageId(*id);
    let (_, key) = sent.with_key();
    let token = secret::token().map_err(Failure::Unexpected)?;
    let (from, base) = (app.config.mail_from.clone(), app.base(&req));
    let file = Arc::new(Mutex::new(None));
    let (made, mine) = (file.clone(), token.clone());
    app.act(&farmer, &key, move |tx, doing| {
        let whole = handle_message::download_with_link(tx, doing, id, from.as_deref(), &base, &mine)?;
        if let Ok(mut made) = made.lock() {
            *made = Some(whole);
        }
        Ok(format!("/outbox/{id}"))
    })
    .await?;
    let whole = file.lock().ok().and_then(|mut whole| whole.take());
    Ok(match whole {
        Some((name, bytes)) => mail_file(&name, bytes),
        None => notice::with(
            see_other(&format!("/outbox/{id}")),
            "The mail file was made already. Press the button again for another one with a new link.",
        ),
    })
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
        body: private_link::without(&m.body).split("\n\n").map(ToString::to_string).collect(),
    };
    let pdf = letter.pdf().map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok(pdf_answer(&format!("Letter {id}.pdf"), pdf))
}

async fn send(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = MessageId(*id);
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).unwrap_or(-1);
    let done = app.act(&farmer, &key, move |tx, doing| {
        Ok(format!("/outbox/{}", handle_message::resend(tx, doing, id, version)?))
    });
    match done.await {
        Ok(url) if app.config.smtp_url.is_some() => Ok(notice::with(see_other(&url), "It is on its way again.")),
        Ok(url) => Ok(notice::with(see_other(&url), "It waits in the Outbox again.")),
        Err(failure) => again(&farmer, &app, id, failure).await,
    }
}

async fn handed_over(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = MessageId(*id);
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).unwrap_or(-1);
    let done = app.act(&farmer, &key, move |tx, doing| {
        handle_message::mark_handed_over(tx, doing, id, version)?;
        Ok("/outbox".to_string())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Marked as handed over.")),
        Err(failure) => again(&farmer, &app, id, failure).await,
    }
}

#[cfg(test)]
mod tests {
    use super::{Counts, heading};

    #[test]
    fn the_heading_is_the_answer() {
        let counts = Counts { waiting: 1, by_hand: 2, failed: 1 };
        assert_eq!(
            heading(counts, true),
            "One message was not delivered, two are for you to send, one waits to be sent"
        );
        assert_eq!(heading(counts, false), "One message was not delivered, three are for you to send");
        assert_eq!(heading(Counts { waiting: 3, ..Counts::default() }, true), "Three messages wait to be sent");
        assert_eq!(heading(Counts::default(), false), "Nothing waits in the Outbox");
    }
}
