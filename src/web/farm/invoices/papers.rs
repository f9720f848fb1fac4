//! Issued papers as PDF, made again from their frozen content.

use crate::actions::paper_again::paper_again;
use crate::trade::vocabulary::PaperKind;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use actix_web::http::header::{ContentDisposition, DispositionParam, DispositionType};
use actix_web::{HttpResponse, web};

async fn paper(app: &App, kind: PaperKind, id: i64) -> Answer {
    let (name, pdf) = app.read(move |c| paper_again(c, kind, id)).await?;
    Ok(pdf_answer(&name, pdf))
}

/// A PDF shown in the browser, with a safe file name.
pub fn pdf_answer(name: &str, pdf: Vec<u8>) -> HttpResponse {
    let name: String =
        name.chars().filter(|c| c.is_ascii_alphanumeric() || matches!(c, ' ' | '-' | '.' | '_')).collect();
    HttpResponse::Ok()
        .content_type("application/pdf")
        .insert_header(ContentDisposition {
            disposition: DispositionType::Inline,
            parameters: vec![DispositionParam::Filename(name)],
        })
        .body(pdf)
}

/// An invoice's paper.
///
/// # Errors
/// 404 when there is none.
pub async fn invoice(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    paper(&app, PaperKind::Invoice, *id).await
}

/// A receipt's paper.
///
/// # Errors
/// 404 when there is none.
pub async fn receipt(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    paper(&app, PaperKind::Receipt, *id).await
}

/// A refund slip's paper.
///
/// # Errors
/// 404 when there is none.
pub async fn refund_slip(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    paper(&app, PaperKind::RefundSlip, *id).await
}

/// The paper of a credit note for a part.
///
/// # Errors
/// 404 when there is none.
pub async fn part_credit(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    paper(&app, PaperKind::PartCredit, *id).await
}

/// A credit note's paper.
///
/// # Errors
/// 404 when there is none.
pub async fn credit_note(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    paper(&app, PaperKind::CreditNote, *id).await
}
