//! What was agreed about an order: the payment reference, the confirmation, the terms its customer accepted; and noting that they did.

use crate::actions::Failure;
use crate::actions::accept_terms::note_acceptance;
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::reservations::Order;
use crate::book::{confirmations, reservations, sale_terms};
use crate::trade::dates::full;
use crate::trade::reference;
use crate::trade::sale_terms::AcceptedBy;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// What was agreed, in words.
#[derive(Debug, Clone)]
pub struct Agreed {
    /// The payment reference.
    pub reference: String,
    /// "Version 2, accepted October 14, 2027, on paper"; empty where there is nothing to say.
    pub terms: String,
    /// Where to note that they were accepted, while they are not.
    pub note: Option<Link>,
    /// The last confirmation.
    pub confirmation: Option<Link>,
}

/// Reads it.
///
/// # Errors
/// The database's own.
pub fn agreed(c: &mut DbConn, (r, customer, _): &Order) -> Result<Agreed, Failure> {
    let accepted = sale_terms::accepted(c, r.id, customer.id)?;
    let may_note = accepted.is_none() && r.cancelled_at.is_none() && sale_terms::in_force(c)?.is_some();
    let terms = match accepted {
        Some((a, t)) => format!("Version {}, accepted {}, {}", t.number, full(a.accepted_on), a.way.label()),
        None => String::new(),
    };
    Ok(Agreed {
        reference: reference::of(&r.number),
        terms,
        note: may_note.then(|| Link::new(format!("/orders/{}/terms", r.id), "Not accepted yet")),
        confirmation: confirmations::last_of(c, r.id, customer.id)?
            .map(|paper| Link::new(format!("/confirmations/{}.pdf", paper.id), "Confirmation")),
    })
}

/// The ways a farmer notes, as choices.
pub fn ways() -> Choices {
    [(AcceptedBy::Paper, "On paper, signed"), (AcceptedBy::Person, "In person or by phone")]
        .map(|(way, words)| (way.to_string(), words.to_string()))
        .into()
}

#[derive(Template)]
#[template(path = "farm/orders/terms.html")]
struct NotePage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    name: String,
    lead: String,
    ways: Choices,
}

async fn note_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Draft) -> Result<NotePage, PageError> {
    let (order, accepted, in_force) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            let accepted = sale_terms::accepted(c, id, order.1.id)?;
            Ok((order, accepted, sale_terms::in_force(c)?))
        })
        .await?;
    let (r, customer, _) = order;
    let lead = match (accepted, in_force) {
        (Some((a, t)), _) => {
            format!("Version {} was accepted on {}, {}.", t.number, full(a.accepted_on), a.way.label())
        }
        (None, Some(t)) => format!(
            "Version {} of {} is in force. On the private page it stands first among what is to be done: mail the link, and {} can read and accept \
             it there. Or note here that you have it on paper or by word.",
            t.number,
            full(t.made_on),
            customer.name
        ),
        (None, None) => "You have no terms yet. Write them in Settings first.".into(),
    };
    Ok(NotePage {
        frame: farmer.frame(Tab::Orders),
        draft,
        id,
        number: r.number,
        name: customer.name,
        lead,
        ways: ways(),
    })
}

/// The form.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let draft = Draft::empty().with("accepted_on", farmer.now.today.to_string());
    Ok(page(&note_page(&farmer, &app, ReservationId(*id), draft).await?))
}

/// Notes it.
///
/// # Errors
/// 404 when there is no such order.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let way = form.word("way", "How");
    if way.is_some_and(|w| !matches!(w, AcceptedBy::Paper | AcceptedBy::Person)) {
        form.problem("way", "Choose one of the two ways.");
    }
    let parts = (way, form.date("accepted_on", "Day"));
    let (way, on) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&note_page(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        note_acceptance(tx, doing, id, way, on)?;
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Noted.")),
        Err(f) => Ok(refused(&note_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

/// A confirmation's PDF.
///
/// # Errors
/// 404 when there is none.
pub async fn confirmation_pdf(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = *id;
    let (name, pdf) = app
        .read(move |c| {
            crate::actions::paper_again::paper_again(c, crate::trade::vocabulary::PaperKind::Confirmation, id)
        })
        .await?;
    Ok(crate::web::farm::invoices::papers::pdf_answer(&name, pdf))
}
