//! A word to the farm: the day everything is ready, and notes.

use super::frame::{Place, PlantFrame};
use super::holder::PlantHolder;
use super::latest::{entered, latest, standing, when};
use crate::actions::Failure;
use crate::actions::plant_entry::{Entry, enter};
use crate::book::plant_entries::{self, Subject};
use crate::book::rows::plant_page::PlantEntry;
use crate::trade::plant_entry::{Entered, WORDS};
use crate::trade::vocabulary::EntryKind;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// A note that was sent.
struct Told {
    when: String,
    words: String,
    standing: Standing,
    /// What the farm answered.
    answer: String,
}

#[derive(Template)]
#[template(path = "processor/word.html")]
struct WordPage {
    frame: PlantFrame,
    draft: Draft,
    note_key: String,
    standing: Standing,
    says: String,
    notes: Vec<Told>,
}

async fn entries(app: &App, holder: &PlantHolder) -> Result<Vec<PlantEntry>, Failure> {
    let id = holder.id();
    app.read(move |c| Ok(plant_entries::of_date(c, id)?)).await
}

async fn word_page(app: &App, holder: &PlantHolder, typed: Option<Draft>) -> Result<WordPage, PageError> {
    let all = entries(app, holder).await?;
    let ready = latest(&all, EntryKind::Ready, Subject::Date);
    let (standing, says) = standing(holder, ready, "Not said yet");
    let draft = typed.unwrap_or_else(|| {
        let day = match entered(ready) {
            Some(Entered::Ready { on }) => Some(on.to_string()),
            _ => None,
        };
        Draft::empty().with_some("on", day)
    });
    let revision = ready.map_or(0, |e| e.revision).to_string();
    let notes = all.iter().filter(|e| e.kind == EntryKind::Note).filter_map(|e| match e.entered() {
        Ok(Entered::Note { words }) => Some(Told {
            when: format!("{}, {}", when(holder, e.entered_at), e.entered_by),
            words,
            standing: if e.waits() { Standing::wait("Not read yet") } else { Standing::done("Read by the farm") },
            answer: e.words.clone(),
        }),
        _ => None,
    });
    Ok(WordPage {
        frame: holder.frame(Place::Farm),
        note_key: holder.form_key(),
        standing,
        says,
        notes: notes.collect(),
        draft: draft.without("version").with("version", revision),
    })
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: PlantHolder, app: web::Data<App>) -> Answer {
    Ok(page(&word_page(&app, &holder, None).await?))
}

async fn keep(app: &App, holder: &PlantHolder, form: FormIn, key: String, entry: Entry, says: &str) -> Answer {
    let date = holder.id();
    let done = app.act(holder, &key, move |tx, doing| {
        enter(tx, doing, date, &entry)?;
        Ok("/plant/farm".into())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), says)),
        Err(Failure::Stale) => {
            let draft = form
                .refuse("on", "Somebody else entered a day in between. Look at it, and save again if yours is right.");
            Ok(refused(&word_page(app, holder, Some(draft)).await?))
        }
        Err(f) => Ok(refused(&word_page(app, holder, Some(refusal(&form, f)?)).await?)),
    }
}

/// The day everything is ready.
///
/// # Errors
/// 422 with what was typed.
pub async fn ready(holder: PlantHolder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let (on, seen) = (form.date("on", "Ready on"), form.whole_number("version", "Version", 0..=i64::MAX));
    let (Some(on), Some(seen)) = (on, seen) else {
        return Ok(refused(&word_page(&app, &holder, Some(form.into_draft())).await?));
    };
    let entry = Entry { about: Subject::Date, seen, entered: Entered::Ready { on }, by: holder.name.clone() };
    keep(&app, &holder, form, key, entry, "The day is saved. The farm looks at it.").await
}

/// A note to the farm.
///
/// # Errors
/// 422 with what was typed.
pub async fn note(holder: PlantHolder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let Some(words) = form.lines("words", "Your note", WORDS) else {
        return Ok(refused(&word_page(&app, &holder, Some(form.into_draft())).await?));
    };
    let entry = Entry { about: Subject::Date, seen: 0, entered: Entered::Note { words }, by: holder.name.clone() };
    keep(&app, &holder, form, key, entry, "Your note is with the farm.").await
}
