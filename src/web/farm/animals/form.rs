//! The form for entering an animal and correcting what is known of it.

use crate::actions::Failure;
use crate::actions::change_animal::{AnimalFacts, add_animal, change_animal};
use crate::book::animals;
use crate::book::ids::AnimalId;
use crate::book::rows::animals::Animal;
use crate::trade::animal::Class;
use crate::trade::official_id;
use crate::trade::share::Species;
use crate::trade::vocabulary::{BirthPrecision, Sex};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::{DayOrMonth, FormIn};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "farm/animals/form.html")]
struct FormPage {
    frame: Frame,
    draft: Draft,
    stored: Option<(AnimalId, String)>,
    /// The classes of each species, for one select in groups.
    classes: Vec<(String, Choices)>,
    sexes: Choices,
    id_caution: &'static str,
}

impl FormPage {
    fn new(farmer: &Farmer, draft: Draft, stored: Option<&Animal>) -> Self {
        let classes = Species::ALL.iter().map(|s| {
            let own: Vec<Class> = Class::of(*s).collect();
            (capital(s.label()), choices(&own, Class::as_str, Class::label))
        });
        Self {
            frame: farmer.frame(Tab::Animals),
            draft,
            stored: stored.map(|a| (a.id, a.name())),
            classes: classes.collect(),
            sexes: choices(Sex::ALL, Sex::as_str, Sex::label),
            id_caution: official_id::CAUTION,
        }
    }
}

fn draft_of(a: &Animal) -> Draft {
    let birth = a.birth_on.map(|day| match a.birth_precision {
        BirthPrecision::Month => day.format("%Y-%m").to_string(),
        _ => day.to_string(),
    });
    Draft::empty()
        .with("version", a.version.to_string())
        .with("tag", a.tag.clone())
        .with("class", a.class.clone())
        .with("sex", a.sex.as_str())
        .with_some("birth", birth)
        .with("breed", a.breed.clone())
        .with("official_id", a.official_id.clone())
        .with("notes", a.notes.clone())
}

const LABELS: &[(&str, &str)] = &[
    ("tag", "Tag"),
    ("class", "Class"),
    ("sex", "Sex"),
    ("birth", "Born"),
    ("breed", "Breed"),
    ("official_id", "Official ID"),
    ("notes", "Notes"),
];

fn read(form: &mut FormIn) -> Result<AnimalFacts, Draft> {
    let class: Option<Class> = form.word("class", "Class");
    let sex: Option<Option<Sex>> = form.optional_word("sex", "Sex");
    // The class says the sex of most animals; only lambs and kids have to be asked.
    let sex = match (class, sex) {
        (Some(class), Some(None)) => match class.sex() {
            Some(sex) => Some(sex),
            None => {
                form.problem("sex", format!("A {} can be of any sex. Choose one.", class.label()));
                None
            }
        },
        (_, sex) => sex.flatten(),
    };
    let parts = (
        form.text("tag", "Tag", 30),
        class,
        sex.or(if class.is_none() { Some(Sex::Female) } else { None }),
        form.optional_day_or_month("birth", "Born"),
        form.optional_text("breed", "Breed", 80),
        form.optional_text("official_id", "Official ID", 40),
        form.optional_lines("notes", "Notes", 2000),
    );
    let same_tag_ok = form.tick("same_tag_ok");
    let (tag, class, sex, birth, breed, official_id, notes) = form.finish(parts)?;
    let (birth_on, birth_precision) = match birth {
        None => (None, BirthPrecision::Unknown),
        Some(DayOrMonth::Day(day)) => (Some(day), BirthPrecision::Exact),
        Some(DayOrMonth::Month(day)) => (Some(day), BirthPrecision::Month),
    };
    Ok(AnimalFacts {
        tag,
        species: class.species(),
        class,
        sex,
        birth_on,
        birth_precision,
        breed,
        official_id,
        notes,
        same_tag_ok,
    })
}

#[derive(Debug, Deserialize)]
pub(super) struct NewQuery {
    class: Option<String>,
    breed: Option<String>,
    birth: Option<String>,
    sex: Option<String>,
}

pub(super) async fn new(farmer: Farmer, query: web::Query<NewQuery>) -> Answer {
    let q = query.into_inner();
    let short = |text: Option<String>| text.filter(|t| t.chars().count() <= 80);
    let draft = Draft::empty()
        .with_some("class", q.class.filter(|c| c.parse::<Class>().is_ok()))
        .with_some("sex", q.sex.filter(|s| s.parse::<Sex>().is_ok()))
        .with_some("breed", short(q.breed))
        .with_some("birth", short(q.birth));
    Ok(page(&FormPage::new(&farmer, draft, None)))
}

pub(super) async fn add(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let facts = match read(&mut form) {
        Ok(facts) => facts,
        Err(draft) => return Ok(refused(&FormPage::new(&farmer, draft, None))),
    };
    let name = format!("{} {}", facts.class.title(), facts.tag);
    // Several in a row keep what they have in common.
    let next = (form.raw("then") == "more").then(|| {
        let mut out = form_urlencoded::Serializer::new(String::new());
        for field in ["class", "sex", "breed", "birth"] {
            out.append_pair(field, &form.line(field));
        }
        format!("/animals/new?{}", out.finish())
    });
    let done = app.act(&farmer, &key, move |tx, doing| {
        let id = add_animal(tx, doing, &facts)?;
        Ok(next.clone().unwrap_or_else(|| format!("/animals/{id}")))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), &format!("{name} is entered."))),
        Err(f) => Ok(refused(&FormPage::new(&farmer, refusal(&form, f)?, None))),
    }
}

pub(super) async fn change(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>) -> Answer {
    let stored = app.read(move |c| Ok(animals::get(c, *id)?)).await?;
    Ok(page(&FormPage::new(&farmer, draft_of(&stored), Some(&stored))))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let stored = app.read(move |c| Ok(animals::get(c, id)?)).await?;
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let (facts, version) = match (read(&mut form), version) {
        (Ok(facts), Some(version)) => (facts, version),
        _ => return Ok(refused(&FormPage::new(&farmer, form.into_draft(), Some(&stored)))),
    };
    let back = format!("/animals/{id}");
    let to = back.clone();
    let done = app.act(&farmer, &key, move |tx, doing| {
        change_animal(tx, doing, id, version, &facts)?;
        Ok(to.clone())
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Saved.")),
        Err(Failure::Stale) => {
            let now = app.read(move |c| Ok(animals::get(c, id)?)).await?;
            let draft = form.into_draft().stale(&draft_of(&now), LABELS, &back);
            Ok(refused(&FormPage::new(&farmer, draft, Some(&now))))
        }
        Err(f) => Ok(refused(&FormPage::new(&farmer, refusal(&form, f)?, Some(&stored)))),
    }
}
