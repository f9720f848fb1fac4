//! The page around a report, its file, and what is asked for in its address.

use super::table::{Table, address};
use super::{ALL, Which};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::report::periods::periods;
use crate::trade::costs::CostKind;
use crate::trade::report::period::Period;
use crate::trade::share::{Size, Species};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::chart::Chart;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::{Choices, Frame, Tab};
use actix_web::HttpResponse;
use actix_web::http::header::{ContentDisposition, DispositionParam, DispositionType};
use actix_web::web;
use askama::Template;
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;

/// The address's query.
pub type Query = web::Query<HashMap<String, String>>;

/// What is asked for. What cannot be read counts as left out.
pub struct Asked {
    /// The year or season; this year when none is named.
    pub period: Period,
    /// Today on the farm.
    pub today: NaiveDate,
    /// The farm's clock.
    pub zone: chrono_tz::Tz,
    /// The farm.
    pub farm: crate::book::rows::farm::Farm,
    /// Only of this species.
    pub species: Option<Species>,
    /// Only shares of this size.
    pub share: Option<Size>,
    /// Only of this customer.
    pub customer: Option<i64>,
    /// Only of this animal.
    pub animal: Option<i64>,
    /// Only costs of this kind.
    pub kind: Option<CostKind>,
    /// Only at this processor.
    pub plant: Option<i64>,
    /// Which list; empty for the first.
    pub list: String,
}

impl Asked {
    fn new(farmer: &Farmer, query: &Query, years_only: bool) -> Self {
        let get = |name: &str| query.get(name).map(String::as_str).unwrap_or_default();
        let this_year = Period::Year(farmer.now.today.year());
        let named = Period::read(get("period")).filter(|p| !years_only || p.days().is_some());
        Self {
            period: named.unwrap_or(this_year),
            today: farmer.now.today,
            zone: farmer.now.zone,
            farm: farmer.farm.clone(),
            species: get("species").parse().ok(),
            share: get("share").parse().ok(),
            customer: get("customer").parse().ok(),
            animal: get("animal").parse().ok(),
            kind: get("kind").parse().ok(),
            plant: get("plant").parse().ok(),
            list: get("list").to_string(),
        }
    }
    /// The farm's unit of weight.
    pub fn unit(&self) -> &str {
        self.farm.unit.as_str()
    }
    /// The last day that counts: the end of a year, today at most.
    pub fn last(&self) -> NaiveDate {
        self.period.days().map_or(self.today, |(_, last)| last.min(self.today))
    }
    /// A page of the reports for the same time.
    pub fn to(&self, path: &str, more: &[(&str, String)], place: &str) -> String {
        let pairs: Vec<_> = std::iter::once(("period", self.period.value())).chain(more.iter().cloned()).collect();
        address(path, &pairs, place)
    }
}

/// A report: what its page shows.
#[derive(Default)]
pub struct Report {
    /// The answer, as the page's heading.
    pub heading: String,
    /// What it rests on.
    pub lead: String,
    /// A caution; empty when there is none.
    pub caution: String,
    /// What is drawn.
    pub charts: Vec<Chart>,
    /// Its tables.
    pub tables: Vec<Table>,
    /// What has to be known about the figures.
    pub notes: Vec<String>,
}

#[derive(Template)]
#[template(path = "farm/reports/page.html")]
struct ReportPage {
    frame: Frame,
    name: &'static str,
    over: Option<Link>,
    path: &'static str,
    chosen: String,
    choices: Choices,
    report: Report,
    others: Vec<Link>,
}

/// Shows a report.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: Query, which: &'static Which) -> Answer {
    let asked = Asked::new(&farmer, &query, which.years_only);
    let (period, today) = (asked.period.clone(), asked.today);
    let kept: Vec<(String, String)> = query.iter().map(|(k, v)| (k.clone(), v.clone())).collect();
    let (mut report, periods) = app.read(move |c| Ok(((which.make)(c, &asked)?, periods(c, today)?))).await?;
    for table in &mut report.tables {
        let narrowing = kept.iter().filter(|(k, _)| k != "table").map(|(k, v)| (k.as_str(), v.clone()));
        let pairs: Vec<_> = narrowing.chain([("table", table.id.to_string())]).collect();
        table.file = address(&format!("{}.csv", which.path), &pairs, "");
    }
    let mut choices: Choices =
        periods.iter().filter(|p| !which.years_only || p.days().is_some()).map(|p| (p.value(), p.label())).collect();
    if !choices.iter().any(|(value, _)| *value == period.value()) {
        choices.push((period.value(), period.label()));
    }
    let same = |w: &&&Which| w.is_listed && w.path != which.path;
    let for_them =
        |w: &Which| if w.years_only && period.days().is_none() { Vec::new() } else { vec![("period", period.value())] };
    Ok(page(&ReportPage {
        frame: farmer.frame(Tab::Money),
        name: which.name,
        over: (which.path != "/reports").then(|| Link::new(address("/reports", &for_them(which), ""), "Reports")),
        path: which.path,
        chosen: period.value(),
        choices,
        others: ALL.iter().filter(same).map(|w| Link::new(address(w.path, &for_them(w), ""), w.name)).collect(),
        report,
    }))
}

/// A table of a report as a file: the one asked for by `table`, else the first.
///
/// # Errors
/// When the book cannot be read, or there is no such table.
pub async fn file(farmer: Farmer, app: web::Data<App>, query: Query, which: &'static Which) -> Answer {
    let asked = Asked::new(&farmer, &query, which.years_only);
    let time = asked.period.label();
    let wanted = query.get("table").cloned();
    let report = app.read(move |c| (which.make)(c, &asked)).await?;
    let mut tables = report.tables.into_iter();
    let table = match wanted {
        Some(id) => tables.find(|t| t.id == id),
        None => tables.next(),
    }
    .ok_or(Failure::NotFound)?;
    let safe: String = time.chars().map(|ch| if ch.is_ascii_alphanumeric() { ch } else { '-' }).collect();
    let name = format!("{}-{safe}.csv", table.id);
    let header = ContentDisposition {
        disposition: DispositionType::Attachment,
        parameters: vec![DispositionParam::Filename(name)],
    };
    Ok(HttpResponse::Ok().content_type("text/csv; charset=utf-8").insert_header(header).body(table.csv()))
}

/// How a report is made.
pub type Make = fn(&mut DbConn, &Asked) -> Result<Report, Failure>;

/// The page and the file of the report `REPORT` of a module.
macro_rules! pages {
    () => {
        /// The page.
        ///
        /// # Errors
        /// When the book cannot be read.
        pub async fn show(
            farmer: crate::web::farmer::Farmer,
            app: actix_web::web::Data<crate::web::app::App>,
            query: crate::web::farm::reports::page::Query,
        ) -> crate::web::errors::Answer {
            crate::web::farm::reports::page::show(farmer, app, query, &REPORT).await
        }
        /// One of its tables as a file.
        ///
        /// # Errors
        /// When the book cannot be read.
        pub async fn file(
            farmer: crate::web::farmer::Farmer,
            app: actix_web::web::Data<crate::web::app::App>,
            query: crate::web::farm::reports::page::Query,
        ) -> crate::web::errors::Answer {
            crate::web::farm::reports::page::file(farmer, app, query, &REPORT).await
        }
    };
}
pub(super) use pages;
