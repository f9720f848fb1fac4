//! A bank deposit slip: what is on it, its paper, and taking it apart.

use crate::actions::deposit_slip::{frozen, line_of, slip_paper, take_slip_apart};
use crate::book::ids::SlipId;
use crate::book::slips;
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, SumKind, SumLine};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/money/slip.html")]
struct SlipPage {
    frame: Frame,
    draft: Draft,
    id: SlipId,
    heading: String,
    lead: String,
    sums: Vec<SumLine>,
    notes: Vec<String>,
    line: Option<Link>,
}

async fn slip_page(farmer: &Farmer, app: &App, id: SlipId, draft: Draft) -> Result<SlipPage, PageError> {
    let (slip, line) = app.read(move |c| Ok((slips::get(c, id)?, line_of(c, id)?))).await?;
    let paper = frozen(&slip.document)?;
    let mut sums = vec![SumLine::new("Cash, notes and coins", paper.cash)];
    sums.extend(paper.checks.iter().map(|c| {
        let number = if c.number.is_empty() { "Check".to_string() } else { format!("Check {}", c.number) };
        SumLine::new(c.from.clone(), c.amount).small(number)
    }));
    sums.push(SumLine::new("Total of the deposit", paper.total).as_a(SumKind::Total));
    Ok(SlipPage {
        frame: farmer.frame(Tab::Money),
        draft,
        id,
        heading: format!("Deposit slip {id} over {}", slip.total.dollars()),
        lead: format!("To the bank on {}, made by {}.", dates::long(slip.made_on, farmer.now.today), slip.made_by),
        sums,
        notes: paper.notes,
        line: line.map(|l| Link::new(format!("/money/bank/lines/{l}"), "It stands on a statement of the bank.")),
    })
}

/// The page.
///
/// # Errors
/// 404 when there is no such slip.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&slip_page(&farmer, &app, SlipId(*id), Draft::empty()).await?))
}

/// The paper.
///
/// # Errors
/// 404 when there is no such slip.
pub async fn pdf(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = SlipId(*id);
    let (name, pdf) = app.read(move |c| slip_paper(c, id)).await?;
    Ok(pdf_answer(&name, pdf))
}

/// Takes it apart.
///
/// # Errors
/// 404 when there is no such slip.
pub async fn apart(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = SlipId(*id);
    let (form, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        let day = slips::get(tx.conn(), id)?.made_on;
        take_slip_apart(tx, doing, id)?;
        Ok(format!("/money/takings?day={day}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The slip is taken apart; its cash and checks are on hand again.")),
        Err(f) => Ok(refused(&slip_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
