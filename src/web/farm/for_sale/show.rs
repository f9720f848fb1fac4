//! One offering: what is left, who reserved, its price list; closing it and opening it again.

use super::rows::{ShareRow, name, price_words, rows};
use crate::actions::Failure;
use crate::actions::offer::close_offering;
use crate::book::ids::OfferingId;
use crate::book::{offerings, reservations};
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::respond::{page, see_other};
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/for_sale/show.html")]
struct ShowPage {
    frame: Frame,
    id: OfferingId,
    version: i64,
    heading: String,
    lead: String,
    rows: Vec<ShareRow>,
    history: Vec<(String, String, String, String)>,
    orders: Vec<(String, String, String, bool)>,
    head: String,
    expected: String,
    quarters: String,
    notes: String,
    is_closed: bool,
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = OfferingId(*id);
    let (today, unit) = (farmer.now.today, farmer.unit());
    let (o, prices, taken, orders) = app
        .read(move |c| {
            Ok((
                offerings::get(c, id)?,
                offerings::prices(c, &[id])?,
                offerings::taken(c, &[id])?,
                reservations::of_offering(c, id, 500)?,
            ))
        })
        .await?;
    let taken = taken.get(&id).copied().unwrap_or_default();
    let shares = rows(&o, &prices, taken.sold, today, unit);
    let free = o.head_count.saturating_mul(2).saturating_sub(taken.sold.sides()).max(0);
    let lead = if o.closed_at.is_some() {
        "Closed: it takes no new reservations. Those it has stay as they are.".to_string()
    } else if shares.iter().all(|s| s.n == 0) {
        "All sold. New reservations go to the waiting list.".to_string()
    } else {
        match free {
            0 => "The last quarter is left.".to_string(),
            1 => format!("One side of {} is left.", o.head_count.saturating_mul(2)),
            n => format!("{n} sides of {} are left.", o.head_count.saturating_mul(2)),
        }
    };
    Ok(page(&ShowPage {
        frame: farmer.frame(Tab::ForSale),
        id,
        version: o.version,
        heading: name(&o),
        lead,
        rows: shares,
        history: prices
            .iter()
            .map(|p| {
                (dates::full(p.effective_from), capital(p.size.label()), price_words(p, unit), p.deposit.dollars())
            })
            .collect(),
        orders: orders
            .iter()
            .map(|(r, who)| {
                let what = format!("{}, {}", r.number, words::kind_alone(r.size, r.part));
                (format!("/orders/{}", r.id), who.clone(), what, r.waiting_since.is_some())
            })
            .collect(),
        head: o.head_count.to_string(),
        expected: match (o.expected_low, o.expected_high) {
            (Some(low), Some(high)) => format!("{}–{} {unit} hanging a head", low.short(), high.short()),
            _ => String::new(),
        },
        quarters: if o.sells_quarter { capital(o.quarter_part.label()) } else { String::new() },
        notes: o.notes.clone(),
        is_closed: o.closed_at.is_some(),
    }))
}

pub(super) async fn close(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = OfferingId(*id);
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).unwrap_or(-1);
    let closing = form.tick("close");
    let done = app.act(&farmer, &key, move |tx, doing| {
        close_offering(tx, doing, id, version, closing)?;
        Ok(format!("/for-sale/{id}"))
    });
    let url = match done.await {
        Ok(url) => url,
        // Somebody changed it in between: the page shows it as it is now, with the button again.
        Err(Failure::Stale) => {
            let says = "Somebody else changed this offering in between. Look it over, then try again.";
            return Ok(notice::with(see_other(&format!("/for-sale/{id}")), says));
        }
        Err(f) => return Err(f.into()),
    };
    Ok(notice::with(see_other(&url), if closing { "Closed: no new reservations." } else { "Open again." }))
}
