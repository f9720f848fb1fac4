//! Overdue balances: when letters go out by themselves, and interest. Both are off until the farmer says otherwise.

use crate::actions::Failure;
use crate::actions::balance_letter::{in_force, save_rule};
use crate::actions::charge_interest::CAUTION;
use crate::book::rows::balances::BalanceRule;
use crate::trade::money::Percent;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::invoices::letter::schedule_words;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

const LABELS: &[(&str, &str)] =
    &[("friendly_after", "Friendly reminder"), ("firm_after", "Firm letter"), ("interest", "Interest")];

/// The routes; they come before `/settings/{part}`.
pub(super) fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/overdue", web::get().to(show));
    cfg.route("/settings/overdue", web::post().to(save));
}

#[derive(Template)]
#[template(path = "farm/overdue.html")]
struct OverduePage {
    frame: Frame,
    draft: Draft,
    lead: String,
    caution: &'static str,
}

fn stored(rule: &BalanceRule) -> Draft {
    let days = |n: Option<i64>| n.map_or(String::new(), |n| n.to_string());
    Draft::empty()
        .with("version", rule.version.to_string())
        .with("friendly_after", days(rule.friendly_after))
        .with("firm_after", days(rule.firm_after))
        .with("interest", rule.interest.map_or(String::new(), |p| p.shown()))
}

async fn rule_page(farmer: &Farmer, app: &App, draft: Option<Draft>) -> Result<OverduePage, Failure> {
    let rule = app.read(in_force).await?;
    Ok(OverduePage {
        frame: farmer.frame(Tab::Settings),
        draft: draft.unwrap_or_else(|| stored(&rule)),
        lead: schedule_words(&rule),
        caution: CAUTION,
    })
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    Ok(page(&rule_page(&farmer, &app, None).await?))
}

fn read(form: &mut FormIn) -> Result<(i64, BalanceRule), Draft> {
    let interest = form.percent("interest", "Interest");
    if interest.is_some_and(|p| p > Percent::from_thousandths(10_000)) {
        form.problem(
            "interest",
            "More than 10 % a month is surely a slip. Write the rate for a month, not for a year.",
        );
    }
    let parts = (
        form.whole_number("version", "Version", 0..=i64::MAX),
        form.optional_whole_number("friendly_after", "Friendly reminder", 1..=365),
        form.optional_whole_number("firm_after", "Firm letter", 1..=365),
        interest,
    );
    let (version, friendly_after, firm_after, interest) = form.finish(parts)?;
    let interest = Some(interest).filter(|p| !p.is_zero());
    Ok((version, BalanceRule { friendly_after, firm_after, interest, version }))
}

async fn save(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let (version, rule) = match read(&mut form) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&rule_page(&farmer, &app, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        save_rule(tx, doing, &rule, version)?;
        Ok("/settings/overdue".to_string())
    });
    let draft = match done.await {
        Ok(url) => return Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let rule = app.read(in_force).await?;
            form.into_draft().stale(&stored(&rule), LABELS, "/settings/overdue")
        }
        Err(f) => refusal(&form, f)?,
    };
    Ok(refused(&rule_page(&farmer, &app, Some(draft)).await?))
}
