//! The form for what is known of a processor.

use super::caution;
use crate::actions::Failure;
use crate::actions::change_processor::{ProcessorFacts, add_processor, change_processor};
use crate::book::ids::ProcessorId;
use crate::book::plants;
use crate::book::rows::plants::Processor;
use crate::trade::vocabulary::Inspection;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/processors/form.html")]
struct FormPage {
    frame: Frame,
    draft: Draft,
    /// The plant as it is stored, when it is changed.
    stored: Option<Processor>,
    inspections: Vec<(&'static str, &'static str, &'static str)>,
}

impl FormPage {
    fn new(farmer: &Farmer, draft: Draft, stored: Option<Processor>) -> Self {
        let inspections = Inspection::ALL.iter().map(|i| (i.as_str(), i.label(), caution(*i))).collect();
        Self { frame: farmer.frame(Tab::Settings), draft, stored, inspections }
    }
}

fn draft_of(p: &Processor) -> Draft {
    Draft::empty()
        .with("version", p.version.to_string())
        .with("name", p.name.clone())
        .with("address", p.address.clone())
        .with("phone", p.phone.clone())
        .with("mail", p.mail.clone())
        .with("inspection", p.inspection.as_str())
        .with("days_notice", p.days_notice.to_string())
        .with("notes", p.notes.clone())
}

const LABELS: &[(&str, &str)] = &[
    ("name", "Name"),
    ("address", "Address"),
    ("phone", "Phone"),
    ("mail", "Mail address"),
    ("inspection", "Inspection"),
    ("days_notice", "Days’ notice"),
    ("notes", "Notes"),
];

fn read(form: &mut FormIn) -> Result<ProcessorFacts, Draft> {
    let parts = (
        form.text("name", "Name", 120),
        form.optional_lines("address", "Address", 400),
        form.optional_phone("phone", "Phone"),
        form.optional_mail_address("mail", "Mail address"),
        form.word("inspection", "Inspection"),
        form.optional_whole_number("days_notice", "Days’ notice", 0..=365),
        form.optional_lines("notes", "Notes", 2000),
    );
    let (name, address, phone, mail, inspection, days_notice, notes) = form.finish(parts)?;
    Ok(ProcessorFacts { name, address, phone, mail, inspection, days_notice: days_notice.unwrap_or(0), notes })
}

pub(super) async fn new(farmer: Farmer) -> Answer {
    Ok(page(&FormPage::new(&farmer, Draft::empty(), None)))
}

pub(super) async fn add(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let facts = match read(&mut form) {
        Ok(facts) => facts,
        Err(draft) => return Ok(refused(&FormPage::new(&farmer, draft, None))),
    };
    let name = facts.name.clone();
    let done =
        app.act(&farmer, &key, move |tx, doing| Ok(format!("/processors/{}", add_processor(tx, doing, &facts)?)));
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), &format!("{name} is saved. Now add its charges."))),
        Err(f) => Ok(refused(&FormPage::new(&farmer, refusal(&form, f)?, None))),
    }
}

pub(super) async fn change(farmer: Farmer, app: web::Data<App>, id: web::Path<ProcessorId>) -> Answer {
    let stored = app.read(move |c| Ok(plants::get(c, *id)?)).await?;
    Ok(page(&FormPage::new(&farmer, draft_of(&stored), Some(stored))))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<ProcessorId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let stored = app.read(move |c| Ok(plants::get(c, id)?)).await?;
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let (facts, version) = match (read(&mut form), version) {
        (Ok(facts), Some(version)) => (facts, version),
        _ => return Ok(refused(&FormPage::new(&farmer, form.into_draft(), Some(stored)))),
    };
    let back = format!("/processors/{id}");
    let to = back.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_processor(tx, doing, id, version, &facts)?;
        Ok(to.clone())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let now = app.read(move |c| Ok(plants::get(c, id)?)).await?;
            let draft = form.into_draft().stale(&draft_of(&now), LABELS, &back);
            Ok(refused(&FormPage::new(&farmer, draft, Some(now))))
        }
        Err(f) => Ok(refused(&FormPage::new(&farmer, refusal(&form, f)?, Some(stored)))),
    }
}
