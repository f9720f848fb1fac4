//! For sale: offerings, what is left of them, and their price lists.

use crate::actions::Failure;
use crate::actions::offer::{OfferingIn, PriceIn, add_offering, change_offering, close_offering, set_prices};
use crate::book::ids::OfferingId;
use crate::book::offerings;
use crate::book::rows::selling::{Offering, Price};
use crate::trade::dates;
use crate::trade::room::{Sold, left};
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::{PriceBasis, QuarterPart};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::rail::Glyph;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/for-sale", web::get().to(list));
    cfg.route("/for-sale/new", web::get().to(new));
    cfg.route("/for-sale/new", web::post().to(add));
    cfg.route("/for-sale/{id}", web::get().to(show));
    cfg.route("/for-sale/{id}/edit", web::get().to(edit));
    cfg.route("/for-sale/{id}/edit", web::post().to(save));
    cfg.route("/for-sale/{id}/prices", web::get().to(prices));
    cfg.route("/for-sale/{id}/prices", web::post().to(price));
    cfg.route("/for-sale/{id}/close", web::post().to(close));
}

/// One share of an offering as the page shows it.
struct ShareRow {
    glyph: Glyph,
    name: String,
    price: String,
    deposit: String,
    hangs: String,
    left: String,
}

fn price_words(p: &Price, unit: &str) -> String {
    match p.basis {
        PriceBasis::Hanging => format!("{} per {unit} hanging", p.rate.unwrap_or_default().dollars()),
        PriceBasis::Live => format!("{} per {unit} live", p.rate.unwrap_or_default().dollars()),
        PriceBasis::Flat => format!("{} for the share", p.flat_price.unwrap_or_default().dollars()),
    }
}

fn rows(o: &Offering, prices: &[Price], sold: Sold, today: NaiveDate, unit: &str) -> Vec<ShareRow> {
    let mut kinds: Vec<(Size, Option<Part>)> = Vec::new();
    if o.sells_whole {
        kinds.push((Size::Whole, None));
    }
    if o.sells_half {
        kinds.push((Size::Half, None));
    }
    match (o.sells_quarter, o.quarter_part) {
        (false, _) => {}
        (true, QuarterPart::Split) => kinds.push((Size::Quarter, Some(Part::Split))),
        (true, QuarterPart::ForeHind) => {
            kinds.extend([(Size::Quarter, Some(Part::Fore)), (Size::Quarter, Some(Part::Hind))])
        }
    }
    kinds
        .into_iter()
        .map(|(size, part)| {
            // The list comes newest first, so the first that has begun is the one in force.
            let price = prices.iter().find(|p| p.offering_id == o.id && p.size == size && p.effective_from <= today);
            let hangs = match (o.expected_low, o.expected_high) {
                (Some(low), Some(high)) => {
                    let of = |w: crate::trade::weight::Weight| w.hundredths() * size.quarters() / 400;
                    format!("{}–{} {unit}", of(low), of(high))
                }
                _ => "—".into(),
            };
            let n = left(o.head_count, sold, size, part);
            ShareRow {
                glyph: Glyph::new(size, None, part),
                name: match part {
                    Some(part @ (Part::Fore | Part::Hind)) => {
                        capital(&format!("{} {}", part.label(), o.species.label()))
                    }
                    _ => size.of(o.species),
                },
                price: price.map_or("no price yet".into(), |p| price_words(p, unit)),
                deposit: price.map_or("—".into(), |p| p.deposit.dollars()),
                hangs,
                left: if n == 0 { "none left".into() } else { format!("{n} left") },
            }
        })
        .collect()
}

struct OfferingCard {
    href: String,
    name: String,
    head: String,
    rows: Vec<ShareRow>,
    waiting: usize,
}

#[derive(Template)]
#[template(path = "farm/for_sale/list.html")]
struct ListPage {
    frame: Frame,
    open: Vec<OfferingCard>,
    closed: Vec<(String, String)>,
}

fn name(o: &Offering) -> String {
    format!("{}, {}", capital(o.species.label()), o.season)
}

async fn list(farmer: Farmer, app: web::Data<App>) -> Answer {
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
            let mine = || taken.iter().filter(|t| t.0 == o.id);
            let sold = Sold::count(mine().filter(|t| !t.3).map(|t| (t.1, t.2)));
            OfferingCard {
                href: format!("/for-sale/{}", o.id),
                name: name(o),
                head: format!("{} head", o.head_count),
                rows: rows(o, &prices, sold, today, unit),
                waiting: mine().filter(|t| t.3).count(),
            }
        })
        .collect();
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::ForSale),
        open: cards,
        closed: closed.iter().map(|o| (format!("/for-sale/{}", o.id), name(o))).collect(),
    }))
}

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

async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    use crate::book::schema::{customer, reservation};
    use diesel::prelude::*;
    let id = OfferingId(*id);
    let (today, unit) = (farmer.now.today, farmer.unit());
    let (o, prices, taken, orders) = app
        .read(move |c| {
            let orders: Vec<(i64, String, String, Size, bool)> = reservation::table
                .inner_join(customer::table)
                .filter(reservation::offering_id.eq(id))
                .filter(reservation::cancelled_at.is_null())
                .order((reservation::waiting_since.is_not_null(), reservation::id))
                .limit(500)
                .select((
                    reservation::id,
                    reservation::number,
                    customer::name,
                    reservation::size,
                    reservation::waiting_since.is_not_null(),
                ))
                .load(c)?;
            Ok((offerings::get(c, id)?, offerings::prices(c, &[id])?, offerings::taken(c, &[id])?, orders))
        })
        .await?;
    let sold = Sold::count(taken.iter().filter(|t| !t.3).map(|t| (t.1, t.2)));
    let free = (o.head_count * 2 - sold.sides()).max(0);
    let lead = match free {
        0 => "All sold. New reservations go to the waiting list.".to_string(),
        1 => "One side is left.".to_string(),
        n => format!("{n} sides of {} are left.", o.head_count * 2),
    };
    Ok(page(&ShowPage {
        frame: farmer.frame(Tab::ForSale),
        id,
        version: o.version,
        heading: name(&o),
        lead,
        rows: rows(&o, &prices, sold, today, unit),
        history: prices
            .iter()
            .map(|p| {
                (dates::full(p.effective_from), capital(p.size.label()), price_words(p, unit), p.deposit.dollars())
            })
            .collect(),
        orders: orders
            .iter()
            .map(|(rid, number, who, size, waits)| {
                (format!("/orders/{rid}"), who.clone(), format!("{number}, {}", size.label()), *waits)
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

#[derive(Template)]
#[template(path = "farm/for_sale/edit.html")]
struct EditPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    action: String,
    back: String,
    is_new: bool,
    has_prices: bool,
    unit: &'static str,
    species: Choices,
    sizes: Choices,
    quarters: Choices,
    bases: Choices,
}

fn edit_page(farmer: &Farmer, draft: Draft, id: Option<OfferingId>, prices_only: bool) -> EditPage {
    let (heading, action, back) = match (id, prices_only) {
        (None, _) => ("Put animals up for sale".to_string(), "/for-sale/new".to_string(), "/for-sale".to_string()),
        (Some(id), false) => ("Change the offering".into(), format!("/for-sale/{id}/edit"), format!("/for-sale/{id}")),
        (Some(id), true) => ("New prices".into(), format!("/for-sale/{id}/prices"), format!("/for-sale/{id}")),
    };
    EditPage {
        frame: farmer.frame(Tab::ForSale),
        draft,
        heading,
        action,
        back,
        is_new: id.is_none(),
        has_prices: id.is_none() || prices_only,
        unit: farmer.unit(),
        species: choices(Species::ALL, Species::as_str, Species::label),
        sizes: choices(Size::ALL, Size::as_str, Size::label),
        quarters: choices(QuarterPart::ALL, QuarterPart::as_str, QuarterPart::label),
        bases: choices(PriceBasis::ALL, PriceBasis::as_str, PriceBasis::label),
    }
}

fn read_offering(form: &mut FormIn, species: Option<Species>) -> Option<OfferingIn> {
    let species = species.or_else(|| form.word("species", "Species"));
    let season = form.text("season", "Season", 60);
    let head = form.whole_number("head_count", "Head for sale", 0..=10_000);
    let sizes = form.words::<Size>("sizes", "Shares sold");
    let part =
        if form.is_blank("quarter_part") { Some(QuarterPart::Split) } else { form.word("quarter_part", "Quarters") };
    let low = form.optional_weight("expected_low", "Expected weight, low");
    let high = form.optional_weight("expected_high", "Expected weight, high");
    let notes = form.optional_lines("notes", "Notes", 2000);
    Some(OfferingIn {
        species: species?,
        season: season?,
        head_count: head?,
        sizes: sizes?,
        quarter_part: part?,
        expected_low: low?,
        expected_high: high?,
        notes: notes?,
    })
}

/// Prices of the sizes: each with its basis, price and deposit.
fn read_prices(form: &mut FormIn, sizes: &[Size]) -> Option<Vec<PriceIn>> {
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

async fn new(farmer: Farmer) -> Answer {
    let mut draft = Draft::empty()
        .with("from", farmer.now.today.to_string())
        .with("sizes", "half")
        .with("sizes", "whole")
        .with("quarter_part", "split");
    for size in Size::ALL {
        draft = draft.with(format!("basis_{size}"), "hanging");
    }
    Ok(page(&edit_page(&farmer, draft, None, false)))
}

async fn add(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let input = read_offering(&mut form, None);
    let sizes = input.as_ref().map(|i| i.sizes.clone()).unwrap_or_default();
    let prices = read_prices(&mut form, &sizes);
    let from = form.date("from", "Prices hold from");
    let (input, prices, from) = match form.finish((input, prices, from)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&edit_page(&farmer, draft, None, false))),
    };
    match app
        .act(&farmer, &key, move |tx, doing| {
            Ok(format!("/for-sale/{}", add_offering(tx, doing, &input, &prices, from)?))
        })
        .await
    {
        Ok(url) => Ok(notice::with(see_other(&url), "It is for sale. Reservations can be taken.")),
        Err(f) => Ok(refused(&edit_page(&farmer, refusal(&form, f)?, None, false))),
    }
}

fn stored(o: &Offering) -> Draft {
    let mut d = Draft::empty()
        .with("version", o.version.to_string())
        .with("season", o.season.clone())
        .with("head_count", o.head_count.to_string())
        .with("quarter_part", o.quarter_part.as_str())
        .with("expected_low", o.expected_low.map(|w| w.short()).unwrap_or_default())
        .with("expected_high", o.expected_high.map(|w| w.short()).unwrap_or_default())
        .with("notes", o.notes.clone());
    for (size, sold) in [("whole", o.sells_whole), ("half", o.sells_half), ("quarter", o.sells_quarter)] {
        if sold {
            d = d.with("sizes", size);
        }
    }
    d
}

async fn edit(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = OfferingId(*id);
    let o = app.read(move |c| Ok(offerings::get(c, id)?)).await?;
    Ok(page(&edit_page(&farmer, stored(&o), Some(id), false)))
}

async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = OfferingId(*id);
    let (mut form, key) = sent.with_key();
    let o = app.read(move |c| Ok(offerings::get(c, id)?)).await?;
    let parts = (form.whole_number("version", "Version", 0..=i64::MAX), read_offering(&mut form, Some(o.species)));
    let (version, input) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&edit_page(&farmer, draft, Some(id), false))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_offering(tx, doing, id, version, &input)?;
        Ok(format!("/for-sale/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let o = app.read(move |c| Ok(offerings::get(c, id)?)).await?;
            let labels = [
                ("season", "Season"),
                ("head_count", "Head"),
                ("sizes", "Shares sold"),
                ("expected_low", "Low"),
                ("expected_high", "High"),
                ("notes", "Notes"),
            ];
            let draft = form.into_draft().stale(&stored(&o), &labels, &format!("/for-sale/{id}"));
            Ok(refused(&edit_page(&farmer, draft, Some(id), false)))
        }
        Err(f) => Ok(refused(&edit_page(&farmer, refusal(&form, f)?, Some(id), false))),
    }
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

async fn prices(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
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

async fn price(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
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

async fn close(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = OfferingId(*id);
    let (mut form, key) = sent.with_key();
    let version = form.whole_number("version", "Version", 0..=i64::MAX).unwrap_or(-1);
    let closing = form.tick("close");
    let done = app.act(&farmer, &key, move |tx, doing| {
        close_offering(tx, doing, id, version, closing)?;
        Ok(format!("/for-sale/{id}"))
    });
    Ok(notice::with(see_other(&done.await?), if closing { "Closed: no new reservations." } else { "Open again." }))
}
