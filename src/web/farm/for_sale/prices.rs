//! The price list of an offering: prices are added with the day they hold from, and never changed.

use super::edit::{EditPage, edit_page};
use crate::actions::offer::{PriceIn, set_prices};
use crate::book::ids::OfferingId;
use crate::book::offerings;
use crate::book::rows::selling::Offering;
use crate::trade::share::Size;
use crate::trade::vocabulary::PriceBasis;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::capital;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;

/// Prices of the sizes: each with its basis, price and deposit.
pub(super) fn read_prices(form: &mut FormIn, sizes: &[Size]) -> Option<Vec<PriceIn>> {
    let mut out = Vec::new();
    let mut whole = true;
    for size in sizes {
        let label = capital(size.label());
        let basis: Option<PriceBasis> = form.word(&format!("basis_{size}"), &format!("{label}, price basis"));
        let field = format!("price_{size}");
        let (rate, flat) = match basis {
            Some(PriceBasis::Flat) => (Some(None), form.money(&field, &format!("{label}, price")).map(Some)),
            _ => (form.rate(&field, &format!("{label}, price")).map(Some), Some(None)),
        };
        let deposit = form.money(&format!("deposit_{size}"), &format!("{label}, deposit"));
        match (basis, rate, flat, deposit) {
            (Some(basis), Some(rate), Some(flat_price), Some(deposit)) => {
                out.push(PriceIn { size: *size, basis, rate, flat_price, deposit })
            }
            _ => whole = false,
        }
    }
    whole.then_some(out)
}

fn sizes_of(o: &Offering) -> Vec<Size> {
    [(Size::Whole, o.sells_whole), (Size::Half, o.sells_half), (Size::Quarter, o.sells_quarter)]
        .into_iter()
        .filter(|(_, s)| *s)
        .map(|(s, _)| s)
        .collect()
}

fn prices_page(farmer: &Farmer, o: &Offering, draft: Draft) -> EditPage {
    let mut p = edit_page(farmer, draft, Some(o.id), true);
    p.sizes.retain(|(value, _)| sizes_of(o).iter().any(|s| s.as_str() == value));
    p
}

pub(super) async fn prices(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = OfferingId(*id);
    let (o, list) = app.read(move |c| Ok((offerings::get(c, id)?, offerings::prices(c, &[id])?))).await?;
    let mut draft = Draft::empty().with("from", farmer.now.today.to_string());
    for size in sizes_of(&o) {
        let now = list.iter().find(|p| p.size == size && p.effective_from <= farmer.now.today);
        draft = draft
            .with(format!("basis_{size}"), now.map_or("hanging", |p| p.basis.as_str()))
            .with(
                format!("price_{size}"),
                now.map(|p| p.rate.map(|r| r.plain()).or(p.flat_price.map(|m| m.plain())).unwrap_or_default())
                    .unwrap_or_default(),
            )
            .with(format!("deposit_{size}"), now.map(|p| p.deposit.plain()).unwrap_or_default());
    }
    Ok(page(&prices_page(&farmer, &o, draft)))
}

pub(super) async fn price(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = OfferingId(*id);
    let (mut form, key) = sent.with_key();
    let o = app.read(move |c| Ok(offerings::get(c, id)?)).await?;
    let parts = (read_prices(&mut form, &sizes_of(&o)), form.date("from", "Prices hold from"));
    let (list, from) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&prices_page(&farmer, &o, draft))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        set_prices(tx, doing, id, &list, from)?;
        Ok(format!("/for-sale/{id}"))
    });
    match done.await {
        Ok(url) => {
            Ok(notice::with(see_other(&url), "The new prices are in the list. Prices locked before stay as they are."))
        }
        Err(f) => Ok(refused(&prices_page(&farmer, &o, refusal(&form, f)?))),
    }
}
