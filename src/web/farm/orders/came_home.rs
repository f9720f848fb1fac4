//! What came home of a share: who told it, what counts, and the farmer's own figure.

use super::words;
use crate::actions::Failure;
use crate::actions::cut_sheet::{basis, forecast};
use crate::actions::own_yields::all_packaged;
use crate::actions::tell_packaged::{PackagedIn, tell_packaged};
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::packaged::{self, Told};
use crate::book::rows::farm::Farm;
use crate::book::sheets;
use crate::trade::cuts::said::range;
use crate::trade::dates::long;
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::PackagedBy;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;

/// One source on the page.
struct Line {
    who: String,
    weight: String,
    when: String,
    counts: bool,
}

#[derive(Template)]
#[template(path = "farm/orders/came_home.html")]
struct CameHomePage {
    frame: Frame,
    draft: Draft,
    id: ReservationId,
    number: String,
    heading: String,
    lead: String,
    lines: Vec<Line>,
    unit: &'static str,
    can_tell: bool,
}

struct Seen {
    number: String,
    share: String,
    customer: String,
    told: Told,
    /// The hanging weight and what is forecast to come home of it, where both can be said.
    forecast: Option<(String, String)>,
    is_weighed: bool,
}

fn look(c: &mut DbConn, farm: &Farm, today: NaiveDate, id: ReservationId) -> Result<Seen, Failure> {
    let basis = basis(c, farm, today, id)?;
    let kept = match sheets::of(c, &[id])?.remove(&id) {
        Some(sheet) => sheet_json::read(&sheet.sheet).map_err(Failure::Unexpected)?,
        None => Kept::default(),
    };
    let home = forecast(&basis, &kept).ok().filter(|_| basis.is_weighed).map(|home| all_packaged(&home));
    let (r, customer, o) = &basis.order;
    Ok(Seen {
        number: r.number.clone(),
        share: words::share(r, o),
        customer: customer.name.clone(),
        told: packaged::of(c, &[id])?.remove(&id).unwrap_or_default(),
        forecast: home.map(|band| (basis.hanging.weight.short(), range(band.low, band.high, farm.unit))),
        is_weighed: basis.is_weighed && r.cancelled_at.is_none(),
    })
}

fn stored(told: &Told, today: NaiveDate) -> Draft {
    let last = told.farm.as_ref();
    Draft::empty()
        .with("version", last.map_or(0, |l| l.revision).to_string())
        .with("weight", last.and_then(|l| l.weight).map_or(String::new(), |w| w.short()))
        .with("on_day", last.map_or(today, |l| l.on_day).to_string())
}

fn lines(told: &Told, unit: &str, today: NaiveDate) -> Vec<Line> {
    let counted = told.counts().map(|(source, _)| source);
    let line = |source: &PackagedBy| {
        let weight = told.weight(*source)?;
        Some(Line {
            who: capital(source.label()),
            weight: format!("{} {unit}", weight.short()),
            when: told.of(*source).map_or(String::new(), |t| format!("weighed {}", long(t.on_day, today))),
            counts: counted == Some(*source),
        })
    };
    PackagedBy::ALL.iter().filter_map(line).collect()
}

async fn came_home_page(
    farmer: &Farmer,
    app: &App,
    id: ReservationId,
    draft: Option<Draft>,
) -> Result<CameHomePage, PageError> {
    let (farm, today) = (farmer.farm.clone(), farmer.now.today);
    let seen = app.read(move |c| look(c, &farm, today, id)).await?;
    let unit = farmer.unit();
    let lead = match &seen.forecast {
        Some((hung, range)) => format!("{hung} {unit} hung, and {range} were forecast to come home of it."),
        None if seen.is_weighed => "There is no forecast for its cut sheet, so nothing can be learned of it.".into(),
        None => "It has no hanging weight yet. What came home is told after that.".into(),
    };
    Ok(CameHomePage {
        frame: farmer.frame(Tab::Orders),
        draft: draft.unwrap_or_else(|| stored(&seen.told, today)),
        id,
        number: seen.number,
        heading: format!("What came home: {} of {}", seen.share.to_lowercase(), seen.customer),
        lead,
        lines: lines(&seen.told, unit, today),
        unit,
        can_tell: seen.is_weighed,
    })
}

/// The page.
///
/// # Errors
/// 404 when there is no such order.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&came_home_page(&farmer, &app, ReservationId(*id), None).await?))
}

/// Keeps what the farmer tells.
///
/// # Errors
/// 404 when there is no such order.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.optional_weight("weight", "Packaged weight"),
        form.date("on_day", "Weighed on"),
    );
    let (seen, weight, on) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&came_home_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        tell_packaged(tx, doing, id, PackagedBy::Farm, &PackagedIn { weight, on, seen })?;
        Ok(format!("/orders/{id}/came-home"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let (farm, today) = (farmer.farm.clone(), farmer.now.today);
            let seen = app.read(move |c| look(c, &farm, today, id)).await?;
            let labels = [("weight", "Packaged weight"), ("on_day", "Weighed on")];
            let url = format!("/orders/{id}/came-home");
            let draft = form.into_draft().stale(&stored(&seen.told, today), &labels, &url);
            Ok(refused(&came_home_page(&farmer, &app, id, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&came_home_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}
