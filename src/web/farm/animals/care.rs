//! The forms for a live weight and for a treatment.

use crate::actions::Failure;
use crate::actions::care_for_animal::{self, Given, Weighed, record_live_weight, record_treatment};
use crate::book::ids::{AnimalId, LiveWeightId, TreatmentId};
use crate::book::rows::animals::Animal;
use crate::book::{animals, dates};
use crate::trade::dates::{full, near};
use crate::trade::live_weight;
use crate::trade::share::Species;
use crate::trade::vocabulary::WeighMethod;
use crate::trade::withdrawal;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

async fn animal(app: &App, id: AnimalId) -> Result<Animal, Failure> {
    app.read(move |c| Ok(animals::get(c, id)?)).await
}

#[derive(Template)]
#[template(path = "farm/animals/weight.html")]
struct WeightPage {
    frame: Frame,
    draft: Draft,
    animal: Animal,
    unit: &'static str,
    tape: &'static str,
    methods: Choices,
    formula: &'static str,
}

impl WeightPage {
    fn new(farmer: &Farmer, animal: Animal, draft: Draft) -> Self {
        Self {
            frame: farmer.frame(Tab::Animals),
            draft,
            unit: farmer.unit(),
            tape: live_weight::tape_unit(farmer.farm.unit),
            methods: choices(WeighMethod::ALL, WeighMethod::as_str, WeighMethod::label),
            formula: match animal.species {
                Species::Beef => {
                    "Girth × girth × length ÷ 300, in inches and pounds (“Determining weights of animals”, a development-agency manual). Girth just behind the front legs, length from the point of the shoulder to the pin bone."
                }
                Species::Hog => {
                    "Girth × girth × length ÷ 400, in inches and pounds (thepigsite.com, 2002). Girth just behind the front legs, length from between the ears to the base of the tail."
                }
                Species::Lamb | Species::Goat => {
                    "Girth × girth × length ÷ 300, in inches and pounds (Washington State University Extension). Girth just behind the front legs with the fleece pressed flat, length from the point of the shoulder to the pin bone."
                }
            },
            animal,
        }
    }
}

pub(super) async fn ask_weight(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>) -> Answer {
    let animal = animal(&app, *id).await?;
    let draft = Draft::empty().with("weighed_on", farmer.now.today.to_string()).with("method", "scale");
    Ok(page(&WeightPage::new(&farmer, animal, draft)))
}

pub(super) async fn save_weight(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let animal = animal(&app, id).await?;
    let weighed_on = form.date("weighed_on", "Weighed on");
    let weighed = match form.word("method", "How it was weighed") {
        Some(WeighMethod::Scale) => form.weight("weight", "Weight").map(Weighed::Scale),
        Some(WeighMethod::Girth) => {
            let girth = form.optional_length("girth", "Heart girth");
            let length = form.optional_length("length", "Length");
            for (name, label, value) in [("girth", "Heart girth", girth), ("length", "Length", length)] {
                if value == Some(None) {
                    form.problem(name, format!("{label} is empty. Measure it, or choose the scale."));
                }
            }
            girth.flatten().zip(length.flatten()).map(|(girth, length)| Weighed::Tape { girth, length })
        }
        None => None,
    };
    let (weighed_on, weighed) = match form.finish((weighed_on, weighed)) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&WeightPage::new(&farmer, animal, draft))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        record_live_weight(tx, doing, id, weighed_on, weighed)?;
        Ok(format!("/animals/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The live weight is saved.")),
        Err(f) => Ok(refused(&WeightPage::new(&farmer, animal, refusal(&form, f)?))),
    }
}

pub(super) async fn take_back_weight(
    farmer: Farmer,
    app: web::Data<App>,
    ids: web::Path<(AnimalId, LiveWeightId)>,
    sent: Sent,
) -> Answer {
    let (id, row) = *ids;
    let (_, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        care_for_animal::take_back_live_weight(tx, doing, id, row)?;
        Ok(format!("/animals/{id}"))
    });
    Ok(notice::with(see_other(&done.await?), "The live weight is taken back."))
}

#[derive(Template)]
#[template(path = "farm/animals/treatment.html")]
struct TreatmentPage {
    frame: Frame,
    draft: Draft,
    animal: Animal,
    on_date: Option<String>,
    caution: &'static str,
}

async fn treatment_page(farmer: &Farmer, app: &App, id: AnimalId, draft: Draft) -> Result<TreatmentPage, Failure> {
    let today = farmer.now.today;
    let (animal, on_date) = app
        .read(move |c| {
            let animal = animals::get(c, id)?;
            let on = match animal.date_id {
                Some(date) => Some(dates::get(c, date)?),
                None => None,
            };
            Ok((animal, on.map(|(d, p)| format!("{} at {}", near(d.kill_on, today), p.name))))
        })
        .await?;
    Ok(TreatmentPage { frame: farmer.frame(Tab::Animals), draft, animal, on_date, caution: withdrawal::CAUTION })
}

pub(super) async fn ask_treatment(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>) -> Answer {
    let draft = Draft::empty().with("last_dose_on", farmer.now.today.to_string());
    Ok(page(&treatment_page(&farmer, &app, *id, draft).await?))
}

pub(super) async fn save_treatment(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let parts = (
        form.text("product", "Product", 120),
        form.date("last_dose_on", "Last dose"),
        form.optional_time("last_dose_time", "Hour of the last dose"),
        form.whole_number("withdrawal_days", "Withdrawal days", 0..=1000),
        form.optional_lines("notes", "Notes", 1000),
    );
    let given = match form.finish(parts) {
        Ok((product, last_dose_on, last_dose_time, withdrawal_days, notes)) => {
            Given { product, last_dose_on, last_dose_time, withdrawal_days, notes }
        }
        Err(draft) => return Ok(refused(&treatment_page(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let clear = record_treatment(tx, doing, id, &given)?;
        let late = if clear.too_early { "&late" } else { "" };
        Ok(format!("/animals/{id}?clear={}{late}", clear.earliest))
    });
    match done.await {
        Ok(url) => {
            let day = url.split("clear=").nth(1).and_then(|rest| rest.split('&').next()).and_then(|d| d.parse().ok());
            let day = day.map(full).unwrap_or_default();
            let says = if url.ends_with("&late") {
                format!("The treatment is saved. Not before {day}: move the animal to a later date.")
            } else {
                format!("The treatment is saved. It may be killed from {day} on.")
            };
            Ok(notice::with(see_other(&format!("/animals/{id}")), &says))
        }
        Err(f) => Ok(refused(&treatment_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

pub(super) async fn take_back_treatment(
    farmer: Farmer,
    app: web::Data<App>,
    ids: web::Path<(AnimalId, TreatmentId)>,
    sent: Sent,
) -> Answer {
    let (id, row) = *ids;
    let (_, key) = sent.with_key();
    let done = app.act(&farmer, &key, move |tx, doing| {
        care_for_animal::take_back_treatment(tx, doing, id, row)?;
        Ok(format!("/animals/{id}"))
    });
    Ok(notice::with(see_other(&done.await?), "The treatment is taken back; the story keeps it."))
}
