//! The bill of sale of an order's share: what it would say, making and mailing it, and those that were made.

use crate::actions::Failure;
use crate::actions::make_bill_of_sale::{make_bill_of_sale, subject};
use crate::actions::message_values::price_words;
use crate::actions::paper_again::paper_again;
use crate::actions::queue_message::channel_for;
use crate::book::ids::ReservationId;
use crate::book::{bills_of_sale, reservations};
use crate::trade::bill_of_sale::CAUTION;
use crate::trade::dates;
use crate::trade::vocabulary::{Channel, PaperKind};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/orders/bill_of_sale.html")]
struct BillPage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    lead: String,
    /// What it would say; empty when none can be made.
    facts: Vec<(&'static str, String)>,
    /// How it would go out.
    send: String,
    made: Vec<Link>,
    caution: &'static str,
}

async fn bill_page(farmer: &Farmer, app: &App, id: ReservationId, draft: Draft) -> Result<BillPage, PageError> {
    let today = farmer.now.today;
    let (order, made, about) = app
        .read(move |c| {
            let order = reservations::get(c, id)?;
            let made = bills_of_sale::of_order(c, id)?;
            let about = match subject(c, id, today) {
                Ok(about) => Ok(about),
                Err(Failure::Refused(p)) => Err(p.0.into_iter().map(|p| p.sentence).collect::<Vec<_>>().join(" ")),
                Err(e) => return Err(e),
            };
            Ok((order, made, about))
        })
        .await?;
    let (r, customer, o) = &order;
    let (lead, facts) = match about {
        Err(why) => (why, Vec::new()),
        Ok(s) => {
            let on = s
                .on
                .as_ref()
                .map_or("Not set yet".to_string(), |(d, p)| format!("{} at {}", dates::long(d.kill_on, today), p.name));
            let facts = vec![
                ("Seller", farmer.farm.name.clone()),
                ("Buyer", customer.name.clone()),
                (
                    "Animal",
                    format!(
                        "{}{}",
                        s.animal.name(),
                        match s.animal.official_id.as_str() {
                            "" => String::new(),
                            number => format!(", official number {}", crate::trade::official_id::shown(number)),
                        }
                    ),
                ),
                ("Share", r.size.of(o.species)),
                ("Price", price_words(r, farmer.farm.unit)),
                ("Paid down", s.held.dollars()),
                ("Slaughter", on),
            ];
            ("It says that the customer owns the share before slaughter, as custom-exempt processing asks. Both sign it.".into(), facts)
        }
    };
    let send = match channel_for(customer) {
        (Channel::Mail, address) => format!("Mail it to {address}"),
        _ => "Put it with a letter into the Outbox".into(),
    };
    Ok(BillPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        id,
        number: r.number.clone(),
        lead,
        facts,
        send,
        made: made
            .iter()
            .map(|b| {
                let words = format!("Bill of sale of {}", dates::long(b.made_on, today));
                Link::new(format!("/bills-of-sale/{}.pdf", b.id), words)
            })
            .collect(),
        caution: CAUTION,
    })
}

/// The page.
///
/// # Errors
/// 404 when there is no such order.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>) -> Answer {
    Ok(page(&bill_page(&farmer, &app, *id, Draft::empty()).await?))
}

/// Makes it.
///
/// # Errors
/// 404 when there is no such order; 422 when there is no live animal to sell a share of.
pub(super) async fn make(farmer: Farmer, app: web::Data<App>, id: web::Path<ReservationId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let send = form.tick("send");
    let done = app.act(&farmer, &key, move |tx, doing| {
        make_bill_of_sale(tx, doing, id, send)?;
        Ok(format!("/orders/{id}/bill-of-sale"))
    });
    match done.await {
        Ok(url) => {
            let says =
                if send { "It is made, and in the Outbox." } else { "It is made. Print it twice and sign both." };
            Ok(notice::with(see_other(&url), says))
        }
        Err(f) => Ok(refused(&bill_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

/// The PDF.
///
/// # Errors
/// 404 when there is none.
pub(super) async fn pdf(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = *id;
    let (name, pdf) = app.read(move |c| paper_again(c, PaperKind::BillOfSale, id)).await?;
    Ok(pdf_answer(&name, pdf))
}
