//! The form that writes to past customers what is left.

use crate::actions::write_shares_left::{AT_ONCE, QUIET_DAYS, SHOWN, SharesLeft, since, write_shares_left};
use crate::book::ids::CustomerId;
use crate::book::left::{left, past_customers, sell_by};
use crate::book::placements;
use crate::post::wording::Purpose;
use crate::trade::left::of_animal;
use crate::trade::share::Species;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use serde::Deserialize;

#[derive(Debug, Deserialize, Default)]
pub(super) struct Query {
    species: Option<String>,
}

#[derive(Template)]
#[template(path = "farm/for_sale/write.html")]
struct WritePage {
    frame: Frame,
    draft: Draft,
    species: Choices,
    chosen: Species,
    customers: Choices,
    at_once: usize,
    quiet: i64,
}

async fn asked(
    farmer: &Farmer,
    app: &App,
    chosen: Option<Species>,
    draft: Option<Draft>,
) -> Result<WritePage, PageError> {
    let (today, from) = (farmer.now.today, since(farmer.now.at));
    let (found, chosen, customers) = app
        .read(move |c| {
            let all = left(c, today)?;
            let free = all.head.iter().filter_map(|(a, date, _)| {
                of_animal(&placements::taken(&all.shares, a.id)).map(|words| (a.species, words, sell_by(date, today)))
            });
            let free: Vec<_> = free.collect();
            let chosen = chosen.or_else(|| free.first().map(|f| f.0)).unwrap_or(Species::Beef);
            let customers = past_customers(c, chosen, Purpose::SharesLeft.as_str(), from, SHOWN)?;
            Ok((free.into_iter().find(|f| f.0 == chosen), chosen, customers))
        })
        .await?;
    let draft = draft.unwrap_or_else(|| {
        let (words, day) = found.map_or((String::new(), String::new()), |(species, words, day)| {
            (format!("{words} ({})", species.label()), day.to_string())
        });
        Draft::empty().with("left", words).with("sell_by", day)
    });
    Ok(WritePage {
        frame: farmer.frame(Tab::ForSale),
        draft: draft.with("species", chosen.as_str()),
        species: choices(Species::ALL, Species::as_str, Species::label),
        chosen,
        customers: customers.into_iter().map(|c| (c.id.to_string(), c.name)).collect(),
        at_once: AT_ONCE,
        quiet: QUIET_DAYS,
    })
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, query: web::Query<Query>) -> Answer {
    let chosen = query.species.as_deref().and_then(|s| s.parse().ok());
    Ok(page(&asked(&farmer, &app, chosen, None).await?))
}

pub(super) async fn send(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let chosen: Option<Species> = form.raw("species").parse().ok();
    let parts = (
        form.word::<Species>("species", "Species"),
        form.text("left", "What is left", 200),
        form.text("price", "Price", 120),
        form.date("sell_by", "To be sold by"),
        form.ids("to", "Customers"),
    );
    let (species, left, price, sell_by, to) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&asked(&farmer, &app, chosen, Some(draft)).await?)),
    };
    let say = SharesLeft { species, left, price, sell_by, to: to.into_iter().map(CustomerId).collect() };
    let n = say.to.len();
    let done = app.act(&farmer, &key, move |tx, doing| {
        write_shares_left(tx, doing, &say)?;
        Ok("/for-sale/left".to_string())
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), &format!("Written: {} in the Outbox.", counted(n, "message", "messages"))))
        }
        Err(f) => Ok(refused(&asked(&farmer, &app, chosen, Some(refusal(&form, f)?)).await?)),
    }
}
