//! A customer's statement for a period, as a page and as a paper.

use crate::actions::Failure;
use crate::actions::customer_statement::customer_statement;
use crate::book::ids::CustomerId;
use crate::book::people;
use crate::paper::statement::Statement;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use chrono::{Datelike, NaiveDate};
use std::collections::HashMap;

#[derive(Template)]
#[template(path = "farm/customers/statement.html")]
struct StatementPage {
    frame: Frame,
    draft: Draft,
    who: Link,
    paper: Option<Statement>,
    pdf: String,
    closing: String,
    /// What is wrong with the period.
    wrong: String,
}

/// The period asked for; by default this year through today. What cannot be read counts as left out.
fn period(query: &HashMap<String, String>, today: NaiveDate) -> (NaiveDate, NaiveDate) {
    let get = |name: &str| query.get(name).and_then(|text| text.parse::<NaiveDate>().ok());
    let to = get("to").unwrap_or(today);
    let first = NaiveDate::from_ymd_opt(to.year(), 1, 1).unwrap_or(to);
    (get("from").unwrap_or(first), to)
}

/// The page: `?from=` and `?to=`.
///
/// # Errors
/// 404 when there is no such customer.
pub async fn show(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<i64>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let (id, now) = (CustomerId(*id), farmer.now);
    let (from, to) = period(&query, now.today);
    let (who, made) = app
        .read(move |c| {
            let who = people::get(c, id)?;
            Ok((
                who,
                match customer_statement(c, now, id, from, to) {
                    Err(Failure::Refused(p)) => Err(p),
                    other => Ok(other?),
                },
            ))
        })
        .await?;
    let wrong = made.as_ref().err().and_then(|p| p.0.first()).map(|p| p.sentence.clone()).unwrap_or_default();
    let paper = made.ok();
    Ok(page(&StatementPage {
        frame: farmer.frame(Tab::Customers),
        draft: Draft::empty().with("from", from.to_string()).with("to", to.to_string()),
        who: Link::new(format!("/customers/{id}"), who.name),
        closing: paper.as_ref().map(|p| p.closing.amount.dollars()).unwrap_or_default(),
        paper,
        pdf: format!("/customers/{id}/statement.pdf?from={from}&to={to}"),
        wrong,
    }))
}

/// The paper.
///
/// # Errors
/// 404 when there is no such customer.
pub async fn paper(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<i64>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let (id, now) = (CustomerId(*id), farmer.now);
    let (from, to) = period(&query, now.today);
    let pdf = app
        .read(move |c| {
            let made = customer_statement(c, now, id, from, to)?;
            made.pdf().map_err(|e| Failure::Unexpected(e.to_string()))
        })
        .await?;
    Ok(pdf_answer(&format!("statement {from} {to}.pdf"), pdf))
}
