//! A look at the whole cut sheet in sentences, and sending it.

use super::so_far::SoFar;
use super::{HOME, Seen, look};
use crate::actions::Failure;
use crate::actions::cut_sheet::SheetIn;
use crate::actions::sheet_draft::send_draft;
use crate::actions::sheet_open::{Became, May};
use crate::trade::cuts::settings::upper;
use crate::trade::dates::long;
use crate::trade::instructions::instructions;
use crate::web::app::App;
use crate::web::costs::Costs;
use crate::web::customer::frame::CustomerFrame;
use crate::web::customer::holder::Holder;
use crate::web::errors::Answer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use crate::web::sheet_form::show;
use crate::web::sheet_form::show::HomeLine;
use crate::web::sheet_form::steps::{Kind, Step};
use actix_web::web;
use askama::Template;

/// A part of the sheet in sentences, and where it is changed.
struct Line {
    part: String,
    says: String,
    href: String,
}

#[derive(Template)]
#[template(path = "customer/sheet/check.html")]
struct CheckPage {
    frame: CustomerFrame,
    draft: Draft,
    /// What cannot be cut so: where it stands, and the sentence.
    broken: Vec<(String, String)>,
    lines: Vec<Line>,
    special: String,
    wishes: String,
    home: Vec<HomeLine>,
    costs: Costs,
    cautions: Vec<String>,
    /// When the farm changed the sheet that is in after this was begun: a sentence, or empty.
    meanwhile: String,
    until: String,
    button: &'static str,
    /// Whether it can be sent as it stands.
    can_send: bool,
    back: String,
    so_far: SoFar,
}

/// The sheet in sentences; each leads to the page it is changed on.
fn lines(seen: &Seen, input: &SheetIn) -> Result<Vec<Line>, Failure> {
    let all = instructions(&seen.hanging(input), &input.kept.sheet)
        .map_err(|e| Failure::Unexpected(format!("a draft cannot be read: {e:?}")))?;
    let step = |part: &str| {
        let of_primal = |kind: &Kind| matches!(kind, Kind::Primal(primal) if upper(primal) == part);
        seen.steps.iter().position(|s| of_primal(&s.kind)).or_else(|| match part {
            "Ground and sausage" => seen.step_of("sausage-1-weight"),
            "Organs and other parts" => seen.step_of("parts"),
            _ => seen.step_of("special"),
        })
    };
    let line = |part: String, says: String| {
        let n = step(&part);
        let own = n.and_then(|n| seen.steps.get(n)).filter(|s| matches!(s.kind, Kind::Primal(_)));
        let href = n.map_or_else(|| HOME.to_string(), |n| seen.href(n));
        Line { part: own.map_or(part, Step::title), says, href }
    };
    Ok(all.into_iter().map(|i| line(i.part, i.says)).collect())
}

fn check_page(holder: &Holder, seen: &Seen, input: &SheetIn, draft: Draft) -> Result<CheckPage, Failure> {
    let home = seen.forecast(input)?;
    let broken = match &home {
        Ok(_) => Vec::new(),
        Err(wrong) => wrong.iter().map(|(field, sentence)| (seen.href_of(field), sentence.clone())).collect(),
    };
    let (version, began_with) = seen.draft.as_ref().map_or((0, 0), |(d, _)| (d.version, d.began_with));
    let over = seen.stored.as_ref().map_or(0, |s| s.version);
    let meanwhile = match &seen.stored {
        Some(s) if s.version != began_with => {
            let on = long(s.entered_at.day(holder.now.zone), holder.now.today);
            let how = s.origin.label();
            format!(
                "After you began, a cut sheet came in another way: {how}, {on}. If you send yours, it takes its place."
            )
        }
        _ => String::new(),
    };
    let last = seen.steps.len().saturating_sub(1);
    let can_send = home.is_ok() && !matches!(seen.may, May::Nothing(_));
    let home = home.ok();
    Ok(CheckPage {
        frame: holder.frame(),
        draft: draft.or("version", version.to_string()).or("over", over.to_string()),
        lines: lines(seen, input)?,
        special: input.special.clone(),
        wishes: seen.step_of("special").map_or_else(|| HOME.to_string(), |n| seen.href(n)),
        costs: home.as_ref().map_or_else(Costs::default, |h| seen.costs(input, h)),
        home: home.as_ref().map_or_else(Vec::new, |h| show::home_lines(h, seen.basis.hanging.unit)),
        cautions: show::cautions(home.as_ref()).into_iter().map(|c| format!("{}.", upper(&c))).collect(),
        meanwhile,
        until: seen.until(),
        button: if matches!(seen.may, May::Ask(_)) { "Ask for this change" } else { "Send this cut sheet" },
        can_send,
        back: seen.href(last),
        so_far: SoFar::new(seen, input, None)?,
        broken,
    })
}

/// The page; back to the beginning when nothing was begun.
pub(super) async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    let seen = look(&holder, &app).await?;
    let Some((_, input)) = &seen.draft else { return Ok(see_other(HOME)) };
    Ok(page(&check_page(&holder, &seen, input, Draft::empty())?))
}

/// Sends it.
///
/// # Errors
/// 422 with every rule it breaks, each leading to its block.
pub(super) async fn send(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let seen = look(&holder, &app).await?;
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let over = form.whole_number("over", "Version", 0..=i64::MAX);
    let Some((_, input)) = &seen.draft else { return Ok(see_other(&format!("{HOME}/sent"))) };
    let (Some(version), Some(over)) = (version, over) else {
        return Ok(refused(&check_page(&holder, &seen, input, form.into_draft())?));
    };
    let order = holder.order;
    let done = app.act(&holder, &key, move |tx, doing| {
        Ok(match send_draft(tx, doing, order, version, over)? {
            Became::Saved(_) => format!("{HOME}/sent"),
            Became::Asked(_) => format!("{HOME}/sent?asked=yes"),
        })
    });
    match done.await {
        Ok(url) => {
            let says = if url.contains("asked") { "Your wish is with us." } else { "Your cut sheet is with us." };
            Ok(notice::with(see_other(&url), says))
        }
        Err(Failure::Stale) => {
            let now = look(&holder, &app).await?;
            let Some((_, input)) = &now.draft else { return Ok(see_other(&format!("{HOME}/sent"))) };
            let draft = Draft::empty().problem("", "It was changed somewhere else while you looked at it. This is how it stands now: look it over, and send it again.");
            Ok(refused(&check_page(&holder, &now, input, draft)?))
        }
        Err(f @ Failure::Refused(_)) => {
            // What rules have against it stands on the page already, at its blocks; the rest is said above.
            let draft = refusal(&form, f)?;
            let about_all: Vec<String> =
                draft.problems().iter().filter(|p| p.field.is_empty()).map(|p| p.says.clone()).collect();
            let draft = about_all.into_iter().fold(Draft::empty(), |d, says| d.problem("", says));
            Ok(refused(&check_page(&holder, &seen, input, draft)?))
        }
        Err(other) => Err(other.into()),
    }
}
