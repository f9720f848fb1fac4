//! What is for sale.

use super::rows::{ShareRow, name, rows};
use crate::book::ids::OfferingId;
use crate::book::offerings;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;

struct OfferingCard {
    href: String,
    name: String,
    head: String,
    rows: Vec<ShareRow>,
    waiting: i64,
}

#[derive(Template)]
#[template(path = "farm/for_sale/list.html")]
struct ListPage {
    frame: Frame,
    open: Vec<OfferingCard>,
    closed: Vec<(String, String)>,
}

pub(super) async fn list(farmer: Farmer, app: web::Data<App>) -> Answer {
    let (today, unit) = (farmer.now.today, farmer.unit());
    let (open, closed, prices, taken) = app
        .read(|c| {
            let open = offerings::open(c)?;
            let ids: Vec<OfferingId> = open.iter().map(|o| o.id).collect();
            Ok((open, offerings::closed(c)?, offerings::prices(c, &ids)?, offerings::taken(c, &ids)?))
        })
        .await?;
    let cards = open
        .iter()
        .map(|o| {
            let taken = taken.get(&o.id).copied().unwrap_or_default();
            OfferingCard {
                href: format!("/for-sale/{}", o.id),
                name: name(o),
                head: format!("{} head", o.head_count),
                rows: rows(o, &prices, taken.sold, today, unit),
                waiting: taken.waiting,
            }
        })
        .collect();
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::ForSale),
        open: cards,
        closed: closed.iter().map(|o| (format!("/for-sale/{}", o.id), name(o))).collect(),
    }))
}
