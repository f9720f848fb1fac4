//! Taking a reservation by phone or at the market stall.

use crate::actions::add_customer::CustomerIn;
use crate::actions::queue_message::{ToSay, queue_message};
use crate::actions::take_reservation::{TakeReservation, Who, take_reservation};
use crate::actions::{Failure, message_values};
use crate::book::ids::{CustomerId, DateId, OfferingId};
use crate::book::reservations;
use crate::post::wording::Purpose;
use crate::trade::dates;
use crate::trade::room::{Sold, left};
use crate::trade::share::{Part, Size};
use crate::trade::vocabulary::{PriceBasis, QuarterPart};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use diesel::prelude::*;
use std::collections::HashMap;

#[derive(Template)]
#[template(path = "farm/orders/new.html")]
struct NewPage {
    frame: Frame,
    draft: Draft,
    /// Offering and share in one choice: "3-half", with price, deposit and what is left.
    shares: Vec<(String, String, String, String)>,
    dates: Choices,
    customers: Choices,
}

/// What can be reserved today, each as one choice.
fn shares_on_sale(
    c: &mut crate::book::conn::DbConn,
    today: chrono::NaiveDate,
    unit: &str,
) -> Result<Vec<(String, String, String, String)>, Failure> {
    let mut out = Vec::new();
    for o in crate::book::offerings::open(c)? {
        let sold = Sold::count(reservations::held(c, o.id)?);
        let mut kinds: Vec<(Size, Option<Part>)> = Vec::new();
        if o.sells_whole {
            kinds.push((Size::Whole, None));
        }
        if o.sells_half {
            kinds.push((Size::Half, None));
        }
        if o.sells_quarter && o.quarter_part == QuarterPart::Split {
            kinds.push((Size::Quarter, Some(Part::Split)));
        } else if o.sells_quarter {
            kinds.extend([(Size::Quarter, Some(Part::Fore)), (Size::Quarter, Some(Part::Hind))]);
        }
        for (size, part) in kinds {
            let Some(price) = crate::book::offerings::price_on(c, o.id, size, today)? else { continue };
            let name = match part {
                Some(part @ (Part::Fore | Part::Hind)) => {
                    crate::web::look::capital(&format!("{} {}", part.label(), o.species.label()))
                }
                _ => size.of(o.species),
            };
            let cost = match price.basis {
                PriceBasis::Hanging => {
                    format!("{} per {unit} of hanging weight", price.rate.unwrap_or_default().dollars())
                }
                PriceBasis::Live => format!("{} per {unit} of live weight", price.rate.unwrap_or_default().dollars()),
                PriceBasis::Flat => format!("{} for the share", price.flat_price.unwrap_or_default().dollars()),
            };
            let n = left(o.head_count, sold, size, part);
            let room = if n == 0 { "None left: goes to the waiting list".to_string() } else { format!("{n} left") };
            let value = format!("{}-{}{}", o.id, size, part.map_or(String::new(), |p| format!("-{p}")));
            out.push((
                value,
                format!("{name}, {}", o.season),
                format!("{cost}, deposit {}", price.deposit.dollars()),
                room,
            ));
        }
    }
    Ok(out)
}

async fn form_page(farmer: &Farmer, app: &App, draft: Draft) -> Result<NewPage, PageError> {
    let (today, unit) = (farmer.now.today, farmer.unit());
    let known: Option<i64> = draft.val("customer").parse().ok();
    let (shares, dates, customers) = app
        .read(move |c| {
            use crate::book::schema::{customer, processing_date, processor};
            let shares = shares_on_sale(c, today, unit)?;
            let days: Vec<(DateId, chrono::NaiveDate, String)> = processing_date::table
                .inner_join(processor::table)
                .filter(processing_date::kill_on.ge(today))
                .filter(processing_date::cancelled_at.is_null())
                .order(processing_date::kill_on)
                .limit(50)
                .select((processing_date::id, processing_date::kill_on, processor::name))
                .load(c)?;
            let dates: Choices = days
                .into_iter()
                .map(|(id, day, who)| (id.to_string(), format!("{}, {who}", dates::long(day, today))))
                .collect();
            let customers: Vec<(CustomerId, String, String)> = match known {
                Some(id) => customer::table
                    .find(CustomerId(id))
                    .select((customer::id, customer::name, customer::phone))
                    .load(c)?,
                None => Vec::new(),
            };
            Ok((shares, dates, customers))
        })
        .await?;
    Ok(NewPage {
        frame: farmer.frame(Tab::Orders),
        draft,
        shares,
        dates,
        customers: customers
            .into_iter()
            .map(|(id, name, phone)| (id.to_string(), if phone.is_empty() { name } else { format!("{name}, {phone}") }))
            .collect(),
    })
}

/// The form; `?customer=` chooses somebody in the book, `?share=` a share.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let mut draft = Draft::empty().with("tell", "yes");
    for name in ["customer", "share", "name", "phone", "mail"] {
        if let Some(v) = query.get(name) {
            draft = draft.with(name, v.chars().take(200).collect::<String>());
        }
    }
    Ok(page(&form_page(&farmer, &app, draft).await?))
}

/// Takes the reservation.
///
/// # Errors
/// When the book cannot be written.
pub async fn take(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let share = form.text("share", "Share", 60);
    let chosen = share.and_then(|s| {
        let mut parts = s.splitn(3, '-');
        let offering: i64 = parts.next()?.parse().ok()?;
        let size: Size = parts.next()?.parse().ok()?;
        let part: Option<Part> = parts.next().and_then(|p| p.parse().ok());
        Some((OfferingId(offering), size, part))
    });
    if chosen.is_none() && !form.is_blank("share") {
        form.problem("share", "Share: choose one of the list.");
    }
    let known = form.optional_id("customer", "Customer");
    let who = match known {
        Some(Some(id)) => Some(Who::Known(CustomerId(id))),
        Some(None) => {
            let name = form.text("name", "Name", 120);
            let mail = form.optional_mail_address("mail", "Mail address");
            let phone = form.optional_phone("phone", "Phone");
            let address = form.optional_lines("address", "Address", 400);
            match (name, mail, phone, address) {
                (Some(name), Some(mail), Some(phone), Some(address)) => {
                    Some(Who::New(CustomerIn { name, mail, phone, address, notes: String::new() }))
                }
                _ => None,
            }
        }
        None => None,
    };
    let wishes = form.optional_lines("wishes", "Wishes", 1000);
    let preferred = form.optional_id("preferred_date", "Date");
    let tell = form.tick("tell");
    let (chosen, who, wishes, preferred) = match form.finish((chosen, who, wishes, preferred)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, draft).await?)),
    };
    let (offering, size, part) = chosen;
    let input = TakeReservation { who, offering, size, part, wishes, preferred_date: preferred.map(DateId) };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let id = take_reservation(tx, doing, &input)?;
        let (r, customer, _) = reservations::get(tx.conn(), id)?;
        if tell && r.waiting_since.is_none() {
            let values = message_values::order_values(tx.conn(), id)?;
            queue_message(
                tx,
                doing,
                &ToSay {
                    customer: customer.id,
                    reservation: Some(id),
                    purpose: Purpose::ReservationConfirmed,
                    values,
                    attachment: None,
                },
            )?;
        }
        Ok(format!("/orders/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The reservation is taken. Price and deposit are locked.")),
        Err(f) => {
            // Rules name the offering and the size; on the page both are one choice.
            let f = match f {
                Failure::Refused(mut p) => {
                    for one in p.0.iter_mut().filter(|p| matches!(p.field.as_str(), "offering" | "size" | "part")) {
                        one.field = "share".into();
                    }
                    Failure::Refused(p)
                }
                other => other,
            };
            Ok(refused(&form_page(&farmer, &app, refusal(&form, f)?).await?))
        }
    }
}
