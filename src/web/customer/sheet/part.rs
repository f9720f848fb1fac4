//! One page of the cut sheet: a primal with its choices, or ground meat, parts of the animal, wishes in words.

use super::so_far::SoFar;
use super::{HOME, Seen, look};
use crate::actions::Failure;
use crate::actions::cut_sheet::SheetIn;
use crate::actions::sheet_draft::save_draft;
use crate::trade::cuts::settings::upper;
use crate::web::app::App;
use crate::web::customer::frame::CustomerFrame;
use crate::web::customer::holder::Holder;
use crate::web::customer::sheet::block::{BlockCard, before_cutting, card};
use crate::web::errors::{Answer, PageError};
use crate::web::look::Choices;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::side::Drawing;
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use crate::web::sheet_form::show::ParamField;
use crate::web::sheet_form::steps::{self, Kind, Step};
use crate::web::sheet_form::{SAUSAGES, read, show as shown};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "customer/sheet/part.html")]
struct PartPage {
    frame: CustomerFrame,
    draft: Draft,
    /// What is saved and cannot be cut so: where it stands, and the sentence.
    broken: Vec<(String, String)>,
    over: String,
    title: String,
    intro: String,
    drawing: Option<Drawing>,
    blocks: Vec<BlockCard>,
    parameters: Vec<ParamField>,
    sausages: Vec<usize>,
    seasonings: Choices,
    forms: Choices,
    parts: Choices,
    asks_head: bool,
    asks_skin: bool,
    asks_wish: bool,
    is_ground: bool,
    unit: &'static str,
    next: String,
    /// The words of the button back, when there is a page before.
    back: Option<String>,
    cautions: Vec<String>,
    so_far: SoFar,
}

/// Head and skin are asked where there is something to keep.
fn asks(seen: &Seen, step: &Step) -> (bool, bool) {
    let is_parts = step.kind == Kind::Parts;
    let head = seen.catalogue.parts.iter().any(|p| p.needs_head);
    let skin = seen.catalogue.blocks.iter().flat_map(|b| &b.choices).any(|c| c.skin_on);
    (is_parts && head, is_parts && skin)
}

fn part_page(
    holder: &Holder,
    seen: &Seen,
    n: usize,
    input: &SheetIn,
    draft: Draft,
    is_saved: bool,
) -> Result<PartPage, Failure> {
    let step = seen.steps.get(n).ok_or(Failure::NotFound)?;
    let hanging = seen.hanging(input);
    let own = steps::blocks(seen.catalogue, step);
    let mut draft = draft;
    let mut broken = Vec::new();
    let home = seen.forecast(input)?;
    if let (Err(wrong), true) = (&home, is_saved) {
        for (field, sentence) in wrong.iter().filter(|(field, _)| seen.step_of(field) == Some(n)) {
            draft = draft.problem(field.clone(), sentence.clone());
            broken.push((format!("#{field}"), sentence.clone()));
        }
    }
    let mut blocks = Vec::new();
    for block in &own {
        blocks.push(card(seen, &hanging, &input.kept.sheet, block)?);
        if let Some(standard) = seen.standard(block) {
            draft = draft.or(&format!("block-{}", block.id), standard.id.clone());
        }
    }
    let (title, intro) = match &step.kind {
        Kind::Primal(_) => {
            let lies: Vec<String> = own
                .iter()
                .filter_map(|b| seen.catalogue.guide.get(&b.id).filter(|_| own.len() == 1).map(|g| upper(&g.lies)))
                .collect();
            let before = before_cutting(&hanging, seen.catalogue, &own);
            let lies = lies.first().map_or_else(String::new, |l| format!("{l}. "));
            (format!("The {}", step.name), format!("{lies}About {before} of your share before cutting."))
        }
        Kind::Ground => (
            step.title(),
            "Ground meat is what trimming leaves and what you choose to grind. Sausage is made from it.".to_string(),
        ),
        Kind::Parts => (
            step.title(),
            "They come home only if the plant saves them and the inspector passes them. There is one of most on an animal, so \
             another owner may be before you."
                .to_string(),
        ),
        Kind::Wishes if seen.offered.words() => {
            (step.title(), "For what no list can say. Ask us which wishes the plant takes.".to_string())
        }
        Kind::Wishes => (step.title(), format!("{} takes no wishes in words.", seen.there.name())),
    };
    let named = |all: &[crate::trade::cuts::common::Named], may: &dyn Fn(&str) -> bool| -> Choices {
        all.iter().filter(|one| may(&one.id)).map(|one| (one.id.clone(), upper(&one.name))).collect()
    };
    let (asks_head, asks_skin) = asks(seen, step);
    let is_ground = step.kind == Kind::Ground;
    let looked = |primal: &str| {
        let slug = seen.steps.iter().find(|s| s.kind == Kind::Primal(primal.to_string()));
        slug.is_some_and(|s| seen.draft.as_ref().is_some_and(|(d, _)| d.has_looked(&s.slug)))
    };
    Ok(PartPage {
        frame: holder.frame(),
        broken,
        over: format!("Part {} of {}", n + 1, seen.steps.len()),
        title,
        intro,
        drawing: match &step.kind {
            Kind::Primal(primal) => Some(Drawing::new(seen.catalogue, hanging.part, primal, looked)),
            _ => None,
        },
        blocks,
        parameters: parameters(seen, step),
        sausages: if is_ground { (1..=SAUSAGES).collect() } else { Vec::new() },
        seasonings: named(&seen.common.seasonings, &|id| seen.offered.seasoning(id)),
        forms: named(&seen.common.forms, &|id| seen.offered.form(id)),
        parts: if step.kind == Kind::Parts {
            let parts = seen.catalogue.parts.iter().filter(|p| seen.offered.part(&p.id));
            parts.map(|p| (p.id.clone(), upper(&p.name))).collect()
        } else {
            Vec::new()
        },
        asks_head,
        asks_skin,
        asks_wish: step.kind == Kind::Wishes && (seen.offered.words() || !input.special.is_empty()),
        is_ground,
        unit: holder.unit(),
        next: if n + 1 < seen.steps.len() {
            format!("Save and go to {}", seen.name_of(n + 1))
        } else {
            "Save and look at the whole sheet".into()
        },
        back: n.checked_sub(1).map(|before| format!("Back to {}", seen.name_of(before))),
        cautions: cautions(seen, n, home.as_ref().ok()),
        so_far: SoFar::new(seen, input, Some(n))?,
        draft,
    })
}

/// The parameters of a page with the values this processor does.
fn parameters(seen: &Seen, step: &Step) -> Vec<ParamField> {
    let own = steps::parameters(seen.catalogue, seen.common, step).into_iter();
    own.filter_map(|p| {
        let open = seen.open.parameters.iter().find(|open| open.parameter.id == p.id)?;
        let mut field = shown::parameter(p)?;
        field.choices.retain(|(value, _)| open.values.contains(value));
        if open.usual != p.default
            && let Some((_, words)) = field.choices.iter().find(|(value, _)| Some(value) == open.usual.as_ref())
        {
            field.none = format!("{words} (usual there)");
        }
        Some(field)
    })
    .collect()
}

/// The cautions that belong to a page.
fn cautions(seen: &Seen, n: usize, home: Option<&crate::trade::cuts::take_home::TakeHome<'_>>) -> Vec<String> {
    let notes = home.map_or(&[][..], |h| h.cautions.as_slice());
    let here = notes.iter().filter(|note| seen.step_of(&crate::actions::cut_sheet::field_of(&note.at)) == Some(n));
    here.map(|note| format!("{}.", note.why)).collect()
}

/// The page of a step; back to the beginning when nothing was begun.
///
/// # Errors
/// 404 when there is no such step.
pub(super) async fn show(holder: Holder, app: web::Data<App>, step: web::Path<String>) -> Answer {
    let seen = look(&holder, &app).await?;
    let n = steps::find(seen.catalogue, &seen.steps, &step).ok_or(PageError::Failed(Failure::NotFound))?;
    let Some((stored, input)) = &seen.draft else { return Ok(see_other(HOME)) };
    let draft = shown::fields(input).with("version", stored.version.to_string());
    Ok(page(&part_page(&holder, &seen, n, input, draft, true)?))
}

/// Reads a page's fields into the sheet as it was.
fn typed(seen: &Seen, step: &Step, was: &SheetIn, form: &mut FormIn) -> SheetIn {
    let mut input = was.clone();
    for block in steps::blocks(seen.catalogue, step) {
        read::block(form, seen.catalogue, block, &mut input.kept.sheet);
        // What was left as it stands stays the standard cut, and follows it.
        let before = &was.kept.sheet;
        let was_open = !before.blocks.contains_key(&block.id) && !before.partitions.contains_key(&block.id);
        let standard = seen.standard(block).map(|c| &c.id);
        if was_open && input.kept.sheet.blocks.get(&block.id) == standard {
            input.kept.sheet.blocks.remove(&block.id);
        }
    }
    for p in steps::parameters(seen.catalogue, seen.common, step) {
        read::parameter(form, p, &mut input.kept.sheet);
    }
    match step.kind {
        Kind::Primal(_) => {}
        Kind::Ground => read::sausages(form, &mut input.kept.sheet),
        Kind::Parts => read::parts(form, &mut input.kept),
        Kind::Wishes => read::special(form, &mut input),
    }
    input
}

/// Saves the page as it stands and goes on, back, or stays where something cannot be cut.
///
/// # Errors
/// 404 when there is no such step; 422 with what cannot be read.
pub(super) async fn save(holder: Holder, app: web::Data<App>, step: web::Path<String>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let seen = look(&holder, &app).await?;
    let n = steps::find(seen.catalogue, &seen.steps, &step).ok_or(PageError::Failed(Failure::NotFound))?;
    let at = seen.steps.get(n).ok_or(PageError::Failed(Failure::NotFound))?;
    let Some((_, was)) = &seen.draft else { return Ok(see_other(HOME)) };
    let input = typed(&seen, at, was, &mut form);
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    if form.is_refused() {
        return Ok(refused(&part_page(&holder, &seen, n, was, form.into_draft(), false)?));
    }
    let is_broken_here = match seen.forecast(&input)? {
        Ok(_) => false,
        Err(wrong) => wrong.iter().any(|(field, _)| seen.step_of(field) == Some(n)),
    };
    let go = form.line("go");
    let (to, says) = match go.as_str() {
        "back" => (seen.href(n.saturating_sub(1)), ""),
        "look" => (seen.href(n), "Saved. What comes home is reckoned anew."),
        "on" => (seen.href(n + 1), ""),
        _ if is_broken_here => (seen.href(n), "Saved as you chose it. It cannot be cut so yet; see below."),
        _ => (seen.href(n + 1), ""),
    };
    let (order, version, slug) = (holder.order, version.unwrap_or(0), at.slug.clone());
    let kept = input.clone();
    let done = app.act(&holder, &key, move |tx, doing| {
        save_draft(tx, doing, order, version, &slug, &kept)?;
        Ok(to.clone())
    });
    match done.await {
        Ok(url) if says.is_empty() => Ok(see_other(&url)),
        Ok(url) => Ok(notice::with(see_other(&url), says)),
        Err(Failure::Stale) => stale(&holder, &app, n, form).await,
        Err(f) => Ok(refused(&part_page(&holder, &seen, n, was, refusal(&form, f)?, false)?)),
    }
}

/// Saved on another device in between: what was typed stands on the page, and saving again keeps it.
async fn stale(holder: &Holder, app: &App, n: usize, form: FormIn) -> Answer {
    let now = look(holder, app).await?;
    let Some((stored, input)) = &now.draft else { return Ok(see_other(HOME)) };
    let draft = form
        .into_draft()
        .without("version")
        .with("version", stored.version.to_string())
        .headed("This cut sheet was saved on another device while you had it open")
        .problem("", "Save again to keep what stands on this page.");
    Ok(refused(&part_page(holder, &now, n, input, draft, false)?))
}
