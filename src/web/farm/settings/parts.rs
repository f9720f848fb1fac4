//! The short parts of the farm's settings; set-up asks the first four one after the other.

use crate::actions::Failure;
use crate::actions::change_farm::{Part, change_farm};
use crate::book::farm;
use crate::book::rows::farm::Farm;
use crate::trade::requests::Requests;
use crate::trade::sheets_due::ReminderDays;
use crate::trade::vocabulary::{PaperSize, Terms};
use crate::trade::weight::Unit;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// The parts in the order set-up asks them.
pub const PARTS: [&str; 4] = ["farm", "ways", "payment", "terms"];

/// One part's form, inside set-up or settings.
#[derive(Template)]
#[template(path = "farm/settings_part.html")]
pub struct PartPage {
    frame: Frame,
    draft: Draft,
    part: String,
    set_up_step: Option<usize>,
    units: Choices,
    papers: Choices,
    zones: Choices,
    terms: Choices,
    bases: Choices,
    quarters: Choices,
    requests: Choices,
}

impl PartPage {
    /// The page of one part; `set_up_step` counts from 1 inside set-up.
    pub fn new(frame: Frame, draft: Draft, part: &str, set_up_step: Option<usize>) -> Self {
        let zone_names = [
            "America/New_York",
            "America/Chicago",
            "America/Denver",
            "America/Phoenix",
            "America/Los_Angeles",
            "America/Anchorage",
            "Pacific/Honolulu",
            "America/Halifax",
            "America/Toronto",
            "America/Winnipeg",
            "America/Vancouver",
            "Europe/London",
            "Europe/Dublin",
            "Europe/Berlin",
            "Australia/Sydney",
            "Pacific/Auckland",
            "UTC",
        ];
        let chosen = draft.val("time_zone").to_string();
        let mut zones: Choices = zone_names.iter().map(|z| (z.to_string(), z.replace('_', " "))).collect();
        if !chosen.is_empty() && !zone_names.contains(&chosen.as_str()) {
            zones.push((chosen.clone(), chosen.replace('_', " ")));
        }
        Self {
            frame,
            draft,
            part: part.to_string(),
            set_up_step,
            units: choices(Unit::ALL, Unit::as_str, Unit::label),
            papers: choices(PaperSize::ALL, PaperSize::as_str, PaperSize::label),
            zones,
            terms: choices(Terms::ALL, Terms::as_str, Terms::label),
            bases: vec![
                ("as_hung".into(), "Each side as it was weighed: a half pays for its own side".into()),
                ("even".into(), "An even split: every half of one animal pays for the same weight".into()),
            ],
            quarters: quarters(),
            requests: choices(Requests::ALL, Requests::as_str, Requests::label),
        }
    }

    fn action(&self) -> String {
        if self.set_up_step.is_some() { format!("/set-up/{}", self.part) } else { format!("/settings/{}", self.part) }
    }
}

/// From how many quarters on a head is begun.
pub fn quarters() -> Choices {
    vec![
        ("1".into(), "One quarter: begin it for anybody".into()),
        ("2".into(), "Two quarters: half of it".into()),
        ("3".into(), "Three quarters".into()),
        ("4".into(), "Four quarters: only when all of it is sold".into()),
    ]
}

/// The part as it is stored, as a form.
///
/// # Errors
/// 404 for a part there is not.
pub fn stored(farm: &Farm, part: &str) -> Result<Draft, PageError> {
    let d = Draft::empty().with("version", farm.version.to_string());
    Ok(match part {
        "farm" => d
            .with("name", farm.name.clone())
            .with("contact_name", farm.contact_name.clone())
            .with("address", farm.address.clone())
            .with("phone", farm.phone.clone())
            .with("mail", farm.mail.clone()),
        "ways" => d
            .with("unit", farm.unit.as_str())
            .with("paper", farm.paper.as_str())
            .with("time_zone", farm.time_zone.clone()),
        "payment" => d
            .with("payee", if farm.payee.is_empty() { farm.name.clone() } else { farm.payee.clone() })
            .with("pay_address", farm.pay_address.clone())
            .with("pay_words", farm.pay_words.clone()),
        "terms" => d
            .with("terms", farm.terms.as_str())
            .with("terms_days", farm.terms_days.to_string())
            .with("deposit_policy", farm.deposit_policy.clone())
            .with("split_basis", farm.split_basis.clone())
            .with("offer_days", farm.offer_days.to_string()),
        "sheets" => d
            .with("sheet_reminders", farm.sheet_reminders.clone())
            .with_some("sheets_standard", farm.sheets_standard.then_some("yes")),
        "requests" => d.with("requests", farm.requests.as_str()).with("deposit_days", farm.deposit_days.to_string()),
        "plan" => d.with("open_custom_from", farm.open_custom_from.to_string()),
        _ => return Err(Failure::NotFound.into()),
    })
}

/// Reads one part from a form: the version it was opened with, and the part.
///
/// # Errors
/// The form to show again.
pub fn read(form: &mut FormIn, part: &str) -> Result<(i64, Part), Draft> {
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    match part {
        "ways" => {
            let parts = (
                version,
                form.word("unit", "Unit"),
                form.word("paper", "Paper"),
                form.text("time_zone", "Time zone", 60),
            );
            let (version, unit, paper, time_zone) = form.finish(parts)?;
            Ok((version, Part::Ways { unit, paper, time_zone }))
        }
        "payment" => {
            let parts = (
                version,
                form.text("payee", "Payee", 120),
                form.optional_lines("pay_address", "Address", 400),
                form.optional_lines("pay_words", "Other words", 1000),
            );
            let (version, payee, pay_address, pay_words) = form.finish(parts)?;
            Ok((version, Part::Payment { payee, pay_address, pay_words }))
        }
        "terms" => {
            let terms: Option<Terms> = form.word("terms", "Invoices are due");
            let days =
                if terms == Some(Terms::Pickup) { Some(0) } else { form.whole_number("terms_days", "Days", 0..=365) };
            let basis = form.text("split_basis", "Billed weight", 10);
            if basis.as_deref().is_some_and(|b| b != "as_hung" && b != "even") {
                form.problem("split_basis", "Choose one of the two ways.");
            }
            let answer = form.whole_number("offer_days", "Days to answer", 1..=60);
            let parts =
                (version, terms, days, form.optional_lines("deposit_policy", "Deposit policy", 2000), basis, answer);
            let (version, terms, terms_days, deposit_policy, split_basis, offer_days) = form.finish(parts)?;
            Ok((version, Part::Terms { terms, terms_days, deposit_policy, split_basis, offer_days }))
        }
        "sheets" => {
            let days = match ReminderDays::parse(form.raw("sheet_reminders")) {
                Ok(days) => Some(days),
                Err(says) => {
                    form.problem("sheet_reminders", format!("{says}."));
                    None
                }
            };
            let standard = form.tick("sheets_standard");
            let (version, reminders) = form.finish((version, days))?;
            Ok((version, Part::Sheets { reminders, standard }))
        }
        "requests" => {
            let parts = (version, form.word("requests", "Requests"), form.whole_number("deposit_days", "Days", 1..=90));
            let (version, requests, deposit_days) = form.finish(parts)?;
            Ok((version, Part::Requests { requests, deposit_days }))
        }
        "plan" => {
            let from = form.whole_number("open_custom_from", "Quarters", 1..=4);
            let (version, open_custom_from) = form.finish((version, from))?;
            Ok((version, Part::Plan { open_custom_from }))
        }
        _ => {
            let parts = (
                version,
                form.text("name", "Farm name", 120),
                form.optional_text("contact_name", "Contact", 120),
                form.lines("address", "Address", 400),
                form.optional_phone("phone", "Phone"),
                form.optional_mail_address("mail", "Mail address"),
            );
            let (version, name, contact_name, address, phone, mail) = form.finish(parts)?;
            Ok((version, Part::Farm { name, contact_name, address, phone, mail }))
        }
    }
}

/// One part of the settings.
///
/// # Errors
/// 404 for a part there is not.
pub async fn show(farmer: Farmer, part: web::Path<String>) -> Answer {
    let draft = stored(&farmer.farm, &part)?;
    Ok(page(&PartPage::new(farmer.frame(Tab::Settings), draft, &part, None)))
}

/// Saves one part of the settings.
///
/// # Errors
/// 404 for a part there is not; 409 when somebody saved in between.
pub async fn save(farmer: Farmer, app: web::Data<App>, part: web::Path<String>, sent: Sent) -> Answer {
    save_part(&farmer, &app, &part, sent, None, "/settings").await
}

/// Saves one part and goes on to `next`.
///
/// # Errors
/// As [`save`].
pub async fn save_part(
    farmer: &Farmer,
    app: &App,
    part: &str,
    sent: Sent,
    set_up_step: Option<usize>,
    next: &str,
) -> Answer {
    stored(&farmer.farm, part)?;
    let (mut form, key) = sent.with_key();
    let tab = if set_up_step.is_some() { Tab::None } else { Tab::Settings };
    let (version, read) = match read(&mut form, part) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&PartPage::new(farmer.frame(tab), draft, part, set_up_step))),
    };
    let (location, last) = (next.to_string(), set_up_step == Some(PARTS.len()));
    let done = app.act(farmer, &key, move |tx, doing| {
        change_farm(tx, doing, version, &read, last)?;
        Ok(location.clone())
    });
    match done.await {
        Ok(url) => Ok(notice::with(
            see_other(&url),
            if set_up_step.is_some() { "Saved. You can change it later in Settings." } else { "Saved." },
        )),
        Err(Failure::Stale) => {
            let farm = app.read(|c| Ok(farm::get(c)?)).await?;
            let draft = form.into_draft().stale(&stored(&farm, part)?, LABELS, next);
            Ok(refused(&PartPage::new(farmer.frame(tab), draft, part, set_up_step)))
        }
        Err(f) => Ok(refused(&PartPage::new(farmer.frame(tab), refusal(&form, f)?, part, set_up_step))),
    }
}

/// The fields' labels, for showing two versions side by side.
const LABELS: &[(&str, &str)] = &[
    ("name", "Farm name"),
    ("contact_name", "Who answers"),
    ("address", "Address"),
    ("phone", "Phone"),
    ("mail", "Mail address"),
    ("unit", "Unit"),
    ("paper", "Paper"),
    ("time_zone", "Time zone"),
    ("payee", "Payee"),
    ("pay_address", "Where to post a check"),
    ("pay_words", "Other words"),
    ("terms", "Due"),
    ("terms_days", "Days"),
    ("split_basis", "What owners pay for"),
    ("deposit_policy", "Deposit policy"),
    ("sheet_reminders", "Days before the deadline"),
    ("sheets_standard", "Standard cut when time is up"),
    ("offer_days", "Days to answer"),
    ("requests", "Requests on your page"),
    ("deposit_days", "Days to send a deposit"),
    ("open_custom_from", "Quarters to begin a head"),
];
