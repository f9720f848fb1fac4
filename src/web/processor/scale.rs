//! The scale: a row for each head, saved by its own button. What is saved waits for the farm.

use super::frame::{Place, PlantFrame};
use super::holder::PlantHolder;
use super::latest::{entered, latest, standing};
use crate::actions::Failure;
use crate::actions::plant_entry::{Entry, enter};
use crate::actions::record_weights::{Fate as Typed, WeighRow, doubts_about, field};
use crate::book::ids::AnimalId;
use crate::book::placements::{self, Share};
use crate::book::plant_entries::{self, Subject};
use crate::book::rows::animals::{Animal, WeighIn};
use crate::book::rows::plant_page::PlantEntry;
use crate::book::{animals, carcasses};
use crate::trade::animal::Class;
use crate::trade::carcass::Hung;
use crate::trade::dressing::Dressed;
use crate::trade::plant_entry::{Carcass, Entered, Fate};
use crate::trade::vocabulary::{CarcassBasis, EntryKind};
use crate::trade::weight::Weight;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::dates::rows::{self, What, asks_head, asks_skin};
use crate::web::farm::heads::place_words;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::{count, counted};
use crate::web::look::{Choices, capital, choices};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// What the page rests on, read in one snapshot.
struct Seen {
    head: Vec<Animal>,
    shares: Vec<Share>,
    entries: Vec<PlantEntry>,
    stored: HashMap<AnimalId, WeighIn>,
    live: HashMap<AnimalId, Weight>,
}

async fn look(app: &App, holder: &PlantHolder) -> Result<Seen, Failure> {
    let id = holder.id();
    app.read(move |c| {
        let head: Vec<_> = animals::on_date(c, id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
        let ids: Vec<_> = head.iter().map(|a| a.id).collect();
        let live = animals::last_live_weights(c, &ids)?;
        Ok(Seen {
            shares: placements::shares_on(c, &ids)?,
            entries: plant_entries::of_date(c, id)?,
            stored: carcasses::weigh_ins(c, &ids)?,
            live: live.into_iter().map(|(id, w)| (id, w.weight)).collect(),
            head,
        })
    })
    .await
}

struct Row {
    id: AnimalId,
    key: String,
    tag: String,
    name: String,
    class: String,
    owners: Vec<String>,
    standing: Standing,
    /// What the farm said, or what looks odd.
    says: Vec<String>,
    asks_skin: bool,
    asks_head: bool,
    /// Whether the fold has to stand open.
    open: bool,
    /// Whether it is the next one to weigh.
    next: bool,
    /// Whether nothing is left to do, for the list at the top.
    done: bool,
    errors: Vec<(String, String)>,
}

impl Row {
    fn field(&self, what: &str) -> String {
        field(self.id, what)
    }
}

#[derive(Template)]
#[template(path = "processor/scale.html")]
struct ScalePage {
    frame: PlantFrame,
    draft: Draft,
    /// The date, so that one device keeps what was typed for each apart.
    date: i64,
    heading: String,
    unit: &'static str,
    bases: Choices,
    whats: Choices,
    rows: Vec<Row>,
}

/// Whether a head has nothing left to do: it is with the farm, or in the farm's book.
fn is_done(seen: &Seen, animal: &Animal) -> bool {
    match latest(&seen.entries, EntryKind::Carcass, Subject::Animal(animal.id)) {
        Some(e) => e.answer != Some(crate::trade::vocabulary::EntryAnswer::Refused),
        None => seen.stored.contains_key(&animal.id),
    }
}

/// A head's fields as they were entered last, or as usual for its species.
fn fill(draft: Draft, holder: &PlantHolder, seen: &Seen, animal: &Animal) -> Draft {
    let name = |what: &str| field(animal.id, what);
    let entry = latest(&seen.entries, EntryKind::Carcass, Subject::Animal(animal.id));
    let version = entry.map_or(0, |e| e.revision);
    let Some(Entered::Carcass(c)) = entered(entry) else {
        let basis = seen.entries.iter().find_map(|e| match e.entered() {
            Ok(Entered::Carcass(c)) => Some(c.basis),
            _ => None,
        });
        let day = holder.date.kill_on;
        let draft =
            rows::fill(draft, animal, None).without(&name("version")).with(name("version"), version.to_string());
        return draft
            .with(name("basis"), basis.unwrap_or(CarcassBasis::Hot).as_str())
            .with(name("day"), day.to_string());
    };
    let (what, note) = match &c.fate {
        Fate::Hung { condemned_parts: None, .. } => (What::Hung, ""),
        Fate::Hung { condemned_parts: Some(parts), .. } => (What::Parts, parts.as_str()),
        Fate::Condemned(why) => (What::Condemned, why.as_str()),
        Fate::Lost(why) => (What::Lost, why.as_str()),
    };
    let mut draft = draft
        .with(name("version"), version.to_string())
        .with(name("what"), what.as_str())
        .with(name("note"), note)
        .with(name("number"), c.number.clone())
        .with(name("basis"), c.basis.as_str())
        .with(name("day"), c.weighed_on.to_string());
    if let Fate::Hung { hung, .. } = c.fate {
        for (end, weight) in fields_of(hung) {
            draft = draft.with(name(end), weight.short());
        }
    }
    if c.head_on {
        draft = draft.with(name("head"), "yes");
    }
    if c.skin_on {
        draft = draft.with(name("skin"), "yes");
    }
    draft
}

/// The weights under their fields' names.
fn fields_of(hung: Hung) -> Vec<(&'static str, Weight)> {
    match hung {
        Hung::Total(total) => vec![("total", total)],
        Hung::Sides { left, right } => vec![("left", left), ("right", right)],
        Hung::Quarters { left_fore, left_hind, right_fore, right_hind } => {
            vec![("lf", left_fore), ("lh", left_hind), ("rf", right_fore), ("rh", right_hind)]
        }
    }
}

/// What looks odd about the weights entered last. It is saved all the same: the farm decides.
fn doubt(seen: &Seen, animal: &Animal) -> Option<String> {
    let entry = latest(&seen.entries, EntryKind::Carcass, Subject::Animal(animal.id)).filter(|e| e.waits());
    let Some(Entered::Carcass(c)) = entered(entry) else { return None };
    let Fate::Hung { hung, .. } = c.fate else { return None };
    let dressed = Dressed { basis: c.basis, head_on: c.head_on, skin_on: c.skin_on };
    let doubts = doubts_about(animal.class(), dressed, seen.live.get(&animal.id).copied(), hung).ok()?;
    let class = animal.class().unwrap_or(Class::Steer);
    let why: Vec<_> = doubts.iter().map(|d| format!("{}.", d.sentence(class))).collect();
    (!why.is_empty()).then(|| format!("Saved. {} If the scale says so, leave it.", why.join(" ")))
}

fn row(holder: &PlantHolder, seen: &Seen, draft: &Draft, animal: &Animal, next: Option<AnimalId>) -> Row {
    let entry = latest(&seen.entries, EntryKind::Carcass, Subject::Animal(animal.id));
    let (mut standing, refusal) = standing(holder, entry, "To weigh");
    if entry.is_none() && seen.stored.contains_key(&animal.id) {
        standing = Standing::done("The farm has it");
    }
    let own = field(animal.id, "");
    let errors: Vec<_> = draft
        .problems()
        .iter()
        .filter(|p| p.field.starts_with(&own))
        .map(|p| (p.field.clone(), p.says.clone()))
        .collect();
    let filled = |end: &str| !draft.val(field(animal.id, end)).is_empty() || draft.has_err(field(animal.id, end));
    Row {
        id: animal.id,
        key: holder.form_key(),
        tag: animal.tag.clone(),
        name: animal.name(),
        class: capital(&animal.class),
        owners: seen
            .shares
            .iter()
            .filter(|s| s.animal == animal.id)
            .map(|s| format!("{}: {}", place_words(s.place), s.name))
            .collect(),
        standing,
        says: [Some(refusal).filter(|r| !r.is_empty()), doubt(seen, animal)].into_iter().flatten().collect(),
        asks_skin: asks_skin(animal.species),
        asks_head: asks_head(animal.species),
        open: ["total", "lf", "lh", "rf", "rh", "note", "day"].iter().any(|end| *end != "day" && filled(end))
            || draft.has_err(field(animal.id, "day"))
            || matches!(draft.val(field(animal.id, "what")), "parts" | "condemned" | "lost"),
        next: next == Some(animal.id),
        done: is_done(seen, animal),
        errors,
    }
}

impl ScalePage {
    /// `typed`: a row's form that was not kept, which stands as it was typed.
    fn new(holder: &PlantHolder, seen: &Seen, typed: Option<(AnimalId, Draft)>) -> Self {
        let mine = typed.as_ref().map(|(id, _)| *id);
        let begun = typed.map_or_else(Draft::empty, |(_, draft)| draft);
        let others = seen.head.iter().filter(|a| Some(a.id) != mine);
        let draft = others.fold(begun, |draft, animal| fill(draft, holder, seen, animal));
        let next = seen.head.iter().find(|a| !is_done(seen, a)).map(|a| a.id);
        let done = seen.head.iter().filter(|a| is_done(seen, a)).count();
        let heading = match (seen.head.len(), done) {
            (0, _) => "No head is on this date".into(),
            (n, d) if n == d => format!("{} weighed", capital(&counted(n, "head", "head"))),
            (n, 0) => format!("{} to weigh", capital(&counted(n, "head", "head"))),
            (n, d) => format!("{} of {} weighed", count(d), counted(n, "head", "head")),
        };
        Self {
            frame: holder.frame(Place::Scale),
            date: holder.id().0,
            heading,
            unit: holder.unit(),
            bases: choices(CarcassBasis::ALL, CarcassBasis::as_str, CarcassBasis::label),
            whats: choices(What::ALL, What::as_str, What::label),
            rows: seen.head.iter().map(|a| row(holder, seen, &draft, a, next)).collect(),
            draft,
        }
    }
}

/// The rows.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: PlantHolder, app: web::Data<App>) -> Answer {
    let seen = look(&app, &holder).await?;
    Ok(page(&ScalePage::new(&holder, &seen, None)))
}

/// What a row says; `None` after recording what is wrong with it.
fn read(form: &mut FormIn, animal: &Animal) -> Option<(Carcass, i64)> {
    let called = animal.name();
    let basis = form.word(&field(animal.id, "basis"), &format!("{called}, hot or cold"));
    let day = form.date(&field(animal.id, "day"), &format!("{called}, weighed on"));
    let row: Option<WeighRow> = rows::read(form, animal);
    let (basis, weighed_on, row) = (basis?, day?, row?);
    let fate = match row.fate {
        Typed::Hung { hung, condemned_parts } => Fate::Hung { hung, condemned_parts },
        Typed::Condemned(why) => Fate::Condemned(why),
        Typed::Lost(why) => Fate::Lost(why),
        Typed::Open => {
            form.problem(&field(animal.id, "left"), format!("{called}: write both sides, or the total below."));
            return None;
        }
    };
    if matches!(&fate, Fate::Condemned(why) | Fate::Lost(why) if why.is_empty()) {
        form.problem(&field(animal.id, "note"), format!("{called}: write why, so that the farm can tell the owners."));
        return None;
    }
    let (head_on, skin_on) = (row.head_on, row.skin_on);
    Some((Carcass { weighed_on, basis, head_on, skin_on, number: row.carcass_number, fate }, row.version))
}

/// Saves one row; it waits for the farm.
///
/// # Errors
/// 404 when the head is not on this date; 422 with the row as it was typed.
pub async fn save(holder: PlantHolder, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = AnimalId(*id);
    let (mut form, key) = sent.with_key();
    let seen = look(&app, &holder).await?;
    let animal = seen.head.iter().find(|a| a.id == id).cloned().ok_or(PageError::Failed(Failure::NotFound))?;
    let Some((carcass, seen_revision)) = read(&mut form, &animal) else {
        return Ok(refused(&ScalePage::new(&holder, &seen, Some((id, form.into_draft())))));
    };
    let entered = Entered::Carcass(carcass);
    let entry = Entry { about: Subject::Animal(id), seen: seen_revision, entered, by: holder.name.clone() };
    let date = holder.id();
    let done = app.act(&holder, &key, move |tx, doing| {
        enter(tx, doing, date, &entry)?;
        Ok(format!("/plant/scale#row-w{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), &format!("{} is saved. The farm looks at it.", animal.name()))),
        Err(Failure::Stale) => {
            let now = look(&app, &holder).await?;
            let version = field(id, "version");
            let entry = latest(&now.entries, EntryKind::Carcass, Subject::Animal(id));
            let theirs = match entered_words(entry, holder.unit()) {
                Some(words) => format!("{} entered: {words}.", entry.map_or("Somebody", |e| e.entered_by.as_str())),
                None => String::new(),
            };
            let draft = form
                .refuse(
                    &field(id, "left"),
                    format!(
                        "{}: somebody entered it in between. {theirs} Save again to put yours in its place.",
                        animal.name()
                    ),
                )
                .without(&version)
                .with(version, entry.map_or(0, |e| e.revision).to_string());
            Ok(refused(&ScalePage::new(&holder, &now, Some((id, draft)))))
        }
        Err(Failure::Refused(problems)) => {
            for p in problems.0 {
                form.problem(&field(id, if p.field == "day" { "day" } else { "left" }), p.sentence);
            }
            Ok(refused(&ScalePage::new(&holder, &seen, Some((id, form.into_draft())))))
        }
        Err(other) => Err(other.into()),
    }
}

fn entered_words(entry: Option<&PlantEntry>, unit: &str) -> Option<String> {
    match entered(entry) {
        Some(Entered::Carcass(c)) => c.says(unit).ok(),
        _ => None,
    }
}
