//! Where the cut sheet begins: what stands already, and with what to begin.

use super::{HOME, Seen, look};
use crate::actions::Failure;
use crate::actions::sheet_draft::{Start, begin_draft};
use crate::actions::sheet_open::May;
use crate::trade::cuts::catalogue::{Block, Choice};
use crate::trade::cuts::questions::{Answers, Kind, MOST_EATERS};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::Sheet;
use crate::trade::cuts::take_home::take_home;
use crate::trade::dates::{full, long, near};
use crate::web::app::App;
use crate::web::customer::frame::CustomerFrame;
use crate::web::customer::holder::Holder;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, choices};
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// Something to begin with.
struct Beginning {
    value: String,
    title: String,
    why: String,
}

#[derive(Template)]
#[template(path = "customer/sheet/start.html")]
struct StartPage {
    frame: CustomerFrame,
    draft: Draft,
    heading: String,
    lead: String,
    /// Where to go on, when it was begun: the page and the words of the button, and what stands there.
    go_on: Option<(String, String, String)>,
    /// What was sent, when something was.
    stored: String,
    options: Vec<Beginning>,
    kinds: Choices,
    bones: Choices,
    /// What may be written for how many eat.
    eaters: String,
    /// Whether nothing can be changed any more.
    is_over: bool,
    begun: bool,
}

fn lead(seen: &Seen, holder: &Holder) -> String {
    match &seen.may {
        May::Change(Some(day)) => {
            let left = day.signed_duration_since(holder.now.today).num_days();
            let days = match left {
                0 => "today".to_string(),
                1 => "tomorrow".to_string(),
                _ => full(*day),
            };
            format!("The butcher needs your cut sheet by {days}. After that you would get the standard cut.")
        }
        May::Change(None) => "There is no day yet by which the butcher needs your cut sheet. Take your time.".into(),
        May::Ask(why) | May::Nothing(why) => why.clone(),
    }
}

/// Ready-made sheets that this share can have, besides the standard cut.
fn ready(seen: &Seen) -> impl Iterator<Item = Beginning> {
    let can = |blocks: &std::collections::BTreeMap<String, String>| {
        let offered = blocks.iter().all(|(b, c)| {
            let found = seen.catalogue.block(b).and_then(|b| Some((b, b.choice(c)?)));
            found.is_some_and(|(b, c)| seen.offered.choice(b, c))
        });
        offered && take_home(&seen.basis.hanging, &Sheet { blocks: blocks.clone(), ..Sheet::default() }).is_ok()
    };
    let others = seen.catalogue.profiles.iter().filter(|p| !p.id.starts_with("standard"));
    others.filter(move |p| can(&p.blocks)).map(|p| Beginning {
        value: format!("ready-{}", p.id),
        title: upper(&p.name),
        why: "A ready-made sheet. You can change every part of it.".into(),
    })
}

fn options(seen: &Seen, holder: &Holder) -> Vec<Beginning> {
    let mut all = Vec::new();
    let mut add = |value: &str, title: &str, why: String| {
        all.push(Beginning { value: value.into(), title: title.into(), why });
    };
    if let Some(stored) = &seen.stored {
        let on = near(stored.entered_at.day(holder.now.zone), holder.now.today);
        add("stored", "The sheet that is in now", format!("Entered {on}. Go through it and change what you like."));
    }
    add(
        "standard",
        "The standard cut",
        "What most people like. Go through it part by part and change what you like.".into(),
    );
    if let Some((sheet, r, o)) = &seen.last {
        let on = long(sheet.entered_at.day(holder.now.zone), holder.now.today);
        let why = format!("Your {} of {on}, order {}.", words::share(r, o).to_lowercase(), r.number);
        add("last", "The same as last time", why);
    }
    add(
        "questions",
        "Three questions",
        "Answer the three below, and we fill in the rest. You can change every part of it.".into(),
    );
    all.extend(ready(seen));
    all
}

fn start_page(holder: &Holder, seen: &Seen, draft: Draft) -> StartPage {
    let share = holder.share.to_lowercase();
    let next = seen.draft.as_ref().map(|(d, _)| {
        let n = seen.steps.iter().position(|s| s.slug == d.step).map_or(0, |n| n + 1);
        let done = seen.steps.iter().filter(|s| d.has_looked(&s.slug)).count();
        let on = near(d.changed_at.day(holder.now.zone), holder.now.today);
        let stands = format!("You have begun: {done} of {} parts, saved {on}.", seen.steps.len());
        (seen.href(n), format!("Go on with {}", seen.name_of(n)), stands)
    });
    let is_over = matches!(seen.may, May::Nothing(_));
    let version = seen.draft.as_ref().map_or(0, |(d, _)| d.version);
    let first = if seen.stored.is_some() { "stored" } else { "standard" };
    StartPage {
        frame: holder.frame(),
        draft: draft.or("version", version.to_string()).or("start", first),
        heading: match (&seen.stored, is_over) {
            (Some(_), _) => format!("The cut sheet of your {share} is in"),
            (None, true) => format!("The cut sheet of your {share}"),
            (None, false) => format!("Tell us how to cut your {share}"),
        },
        lead: match &seen.stored {
            Some(_) => seen.until(),
            None => lead(seen, holder),
        },
        stored: seen.stored.as_ref().map_or_else(String::new, |s| {
            let on = long(s.entered_at.day(holder.now.zone), holder.now.today);
            format!("Revision {}, {}, {on}.", s.revision, s.origin.label())
        }),
        options: options(seen, holder),
        kinds: choices(Kind::ALL, Kind::as_str, Kind::label),
        bones: vec![("in".into(), "With bones".into()), ("out".into(), "Boneless".into())],
        eaters: format!("1 to {MOST_EATERS}. Roasts and packs are made for so many."),
        begun: next.is_some(),
        go_on: next.filter(|_| !is_over),
        is_over,
    }
}

/// The page.
///
/// # Errors
/// 422 for a share that takes no cut sheet of choices.
pub(super) async fn show(holder: Holder, app: web::Data<App>) -> Answer {
    let seen = look(&holder, &app).await?;
    Ok(page(&start_page(&holder, &seen, Draft::empty())))
}

/// What was asked to begin with.
fn read(form: &mut FormIn) -> Option<Start> {
    let word = form.line("start");
    match word.as_str() {
        "standard" => Some(Start::Standard),
        "stored" => Some(Start::Stored),
        "last" => Some(Start::LastTime),
        "questions" => {
            let kind = form.word::<Kind>("kind", "What you cook most");
            let bones = form.line("bones");
            if !matches!(bones.as_str(), "in" | "out") {
                form.problem("bones", "With bones or boneless: choose one.");
            }
            let eaters = form.whole_number("eaters", "How many eat", 1..=MOST_EATERS);
            Some(Start::Questions(Answers { kind: kind?, bone_in: bones == "in", eaters: eaters? }))
        }
        other => match other.strip_prefix("ready-") {
            Some(id) => Some(Start::Ready(id.to_string())),
            None => {
                form.problem("start", "Choose what to begin with.");
                None
            }
        },
    }
}

/// Begins it and leads to the first part.
///
/// # Errors
/// 422 with what is wrong.
pub(super) async fn begin(holder: Holder, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let seen = look(&holder, &app).await?;
    let start = read(&mut form);
    let version = form.whole_number("version", "Version", 0..=i64::MAX);
    let (Some(start), Some(version), false) = (start, version, form.is_refused()) else {
        return Ok(refused(&start_page(&holder, &seen, form.into_draft())));
    };
    let (order, first, offered) = (holder.order, seen.href(0), seen.offered.to_owned());
    let done = app.act(&holder, &key, move |tx, doing| {
        let may = |b: &Block, c: &Choice| offered.choice(b, c);
        begin_draft(tx, doing, order, version, &start, &may)?;
        Ok(first.clone())
    });
    match done.await {
        Ok(url) => Ok(see_other(&url)),
        // Begun elsewhere in between: what was begun is shown, nothing is thrown away.
        Err(Failure::Stale) => Ok(see_other(HOME)),
        Err(f) => Ok(refused(&start_page(&holder, &seen, refusal(&form, f)?))),
    }
}
