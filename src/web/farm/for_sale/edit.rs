//! Putting animals up for sale, and changing an offering.

use super::prices::read_prices;
use crate::actions::Failure;
use crate::actions::offer::{OfferingIn, add_offering, change_offering};
use crate::book::ids::OfferingId;
use crate::book::offerings;
use crate::book::rows::selling::Offering;
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{PriceBasis, QuarterPart};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/for_sale/edit.html")]
pub(super) struct EditPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    action: String,
    back: String,
    is_new: bool,
    has_prices: bool,
    unit: &'static str,
    species: Choices,
    pub(super) sizes: Choices,
    quarters: Choices,
    bases: Choices,
}

/// The form of an offering, of its prices, or of both when it is new.
pub(super) fn edit_page(farmer: &Farmer, draft: Draft, id: Option<OfferingId>, prices_only: bool) -> EditPage {
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

pub(super) async fn new(farmer: Farmer) -> Answer {
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

pub(super) async fn add(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
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

pub(super) async fn edit(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = OfferingId(*id);
    let o = app.read(move |c| Ok(offerings::get(c, id)?)).await?;
    Ok(page(&edit_page(&farmer, stored(&o), Some(id), false)))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
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
                ("quarter_part", "Quarters"),
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
