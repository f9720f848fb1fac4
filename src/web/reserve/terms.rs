//! The farm's terms, for everybody to read.

use super::stranger::Stranger;
use crate::actions::Failure;
use crate::book::rows::requests::SaleTerms;
use crate::book::sale_terms;
use crate::trade::{dates, sale_terms as words};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::look::Frame;
use crate::web::look::respond::page;
use actix_web::web;
use askama::Template;

/// Terms as pages show them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The version's number.
    pub number: i64,
    /// `October 14, 2027`.
    pub date: String,
    /// The words, one string per paragraph.
    pub paragraphs: Vec<String>,
}

impl From<SaleTerms> for Shown {
    fn from(t: SaleTerms) -> Self {
        Self { number: t.number, date: dates::full(t.made_on), paragraphs: words::paragraphs(&t.body) }
    }
}

#[derive(Template)]
#[template(path = "public/terms.html")]
struct TermsPage {
    frame: Frame,
    terms: Shown,
}

/// The page.
///
/// # Errors
/// 404 when the farm has no terms.
pub async fn show(app: web::Data<App>) -> Answer {
    let stranger = Stranger::now(&app).await?;
    let terms = app.read(|c| sale_terms::in_force(c)?.ok_or(Failure::NotFound)).await?;
    Ok(page(&TermsPage { frame: stranger.frame(), terms: terms.into() }))
}
