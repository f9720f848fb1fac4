//! The weigh-in: one form for all head of a date.

use super::rows::{self, What, asks_head, asks_skin};
use crate::actions::Failure;
use crate::actions::record_weights::{
    Fate, Recorded, WeighForm, WeighRow, confirming, doubtful_words, doubts_about, field, record_weights,
};
use crate::book::ids::{AnimalId, DateId};
use crate::book::placements::{self, Invoiced};
use crate::book::rows::animals::{Animal, LiveWeight, WeighIn};
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::{animals, carcasses, dates};
use crate::trade::animal::Class;
use crate::trade::carcass::Hung;
use crate::trade::dates::long;
use crate::trade::dressing::{Dressed, percent_tenths, shown};
use crate::trade::vocabulary::CarcassBasis;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::{count, counted};
use crate::web::look::{Choices, Frame, Tab, capital, choices};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::{HttpResponse, web};
use askama::Template;
use std::collections::HashMap;

/// What the form is about, read in one snapshot.
struct Seen {
    date: ProcessingDate,
    plant: Processor,
    head: Vec<Animal>,
    stored: HashMap<AnimalId, WeighIn>,
    live: HashMap<AnimalId, LiveWeight>,
    invoiced: HashMap<AnimalId, Invoiced>,
}

async fn look(app: &App, id: DateId) -> Result<Seen, Failure> {
    app.read(move |c| {
        let (date, plant) = dates::get(c, id)?;
        let head: Vec<_> = animals::on_date(c, id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
        let ids: Vec<_> = head.iter().map(|a| a.id).collect();
        let shares = placements::shares_on(c, &ids)?;
        let orders: Vec<_> = shares.iter().map(|s| s.reservation).collect();
        let issued = placements::invoiced(c, &orders)?;
        let invoiced = issued.into_iter().filter_map(|i| {
            let share = shares.iter().find(|s| s.reservation == i.reservation)?;
            Some((share.animal, i))
        });
        let invoiced = invoiced.collect();
        let stored = carcasses::weigh_ins(c, &ids)?;
        Ok(Seen { date, plant, stored, live: animals::last_live_weights(c, &ids)?, invoiced, head })
    })
    .await
}

/// One head of the form.
struct Row {
    id: AnimalId,
    name: String,
    live: String,
    asks_skin: bool,
    asks_head: bool,
    /// "775.50 lb, 60.1 % of live weight", when its weights can be read.
    reckoned: String,
    plausible: bool,
    /// What the tick repeats, and why it is asked.
    confirm: Option<(String, String, String)>,
    /// Its invoice's address and number, when its weight cannot be corrected any more.
    invoice: Option<(String, String)>,
    /// Whether the fold has to stand open.
    open: bool,
    /// Whether anything in the row's first line is wrong.
    errors: Vec<(String, String)>,
}

impl Row {
    fn field(&self, what: &str) -> String {
        field(self.id, what)
    }
}

#[derive(Template)]
#[template(path = "farm/dates/weigh_in.html")]
struct WeighPage {
    frame: Frame,
    draft: Draft,
    date: ProcessingDate,
    plant: Processor,
    day: String,
    unit: &'static str,
    bases: Choices,
    whats: Choices,
    rows: Vec<Row>,
    some_saved: bool,
    too_soon: bool,
}

fn stored_draft(seen: &Seen) -> Draft {
    let first = seen.head.iter().find_map(|a| seen.stored.get(&a.id));
    let basis = first.map_or(CarcassBasis::Hot, |w| w.basis);
    let day = first.map_or(seen.date.kill_on, |w| w.weighed_on);
    let draft = Draft::empty().with("basis", basis.as_str()).with("weighed_on", day.to_string());
    seen.head.iter().fold(draft, |draft, animal| rows::fill(draft, animal, seen.stored.get(&animal.id)))
}

impl WeighPage {
    fn new(farmer: &Farmer, seen: Seen, draft: Draft, typed: &[WeighRow]) -> Self {
        let rows = seen.head.iter().map(|a| row(farmer, &seen, &draft, a, typed)).collect();
        Self {
            frame: farmer.frame(Tab::Dates),
            day: long(seen.date.kill_on, farmer.now.today),
            unit: farmer.unit(),
            bases: choices(CarcassBasis::ALL, CarcassBasis::as_str, CarcassBasis::label),
            whats: choices(What::ALL, What::as_str, What::label),
            some_saved: !seen.stored.is_empty(),
            too_soon: seen.date.kill_on > farmer.now.today,
            rows,
            draft,
            date: seen.date,
            plant: seen.plant,
        }
    }
}

/// The basis a row's weights are judged by: the form's, unless the head was saved before and keeps its own.
fn basis_of(seen: &Seen, animal: &Animal, draft: &Draft) -> CarcassBasis {
    match seen.stored.get(&animal.id) {
        Some(stored) if !draft.checked("for_saved_too", "yes") => stored.basis,
        _ => draft.val("basis").parse().unwrap_or(CarcassBasis::Hot),
    }
}

/// What is weighed in a row: as typed if it could be read, else as stored.
fn hung_in(seen: &Seen, animal: &Animal, typed: &[WeighRow], draft: &Draft) -> Option<(Hung, Dressed)> {
    if let Some(row) = typed.iter().find(|r| r.animal == animal.id) {
        let basis = basis_of(seen, animal, draft);
        return match row.fate {
            Fate::Hung { hung, .. } => Some((hung, Dressed { basis, head_on: row.head_on, skin_on: row.skin_on })),
            _ => None,
        };
    }
    let stored = seen.stored.get(&animal.id).filter(|_| !draft.is_refused())?;
    let dressed = Dressed { basis: stored.basis, head_on: stored.head_on, skin_on: stored.skin_on };
    Some((stored.hung()?, dressed))
}

fn row(farmer: &Farmer, seen: &Seen, draft: &Draft, animal: &Animal, typed: &[WeighRow]) -> Row {
    let unit = farmer.unit();
    let live = seen.live.get(&animal.id).map(|w| w.weight);
    let mut found = Row {
        id: animal.id,
        name: animal.name(),
        live: live.map(|w| format!("live {} {unit}", w.short())).unwrap_or_default(),
        asks_skin: asks_skin(animal.species),
        asks_head: asks_head(animal.species),
        reckoned: String::new(),
        plausible: false,
        confirm: None,
        invoice: seen.invoiced.get(&animal.id).map(|i| (format!("/invoices/{}", i.invoice), i.number.clone())),
        open: false,
        errors: Vec::new(),
    };
    for end in ["left", "right", "number"] {
        let name = found.field(end);
        if draft.has_err(&name) {
            found.errors.push((name.clone(), draft.err(&name).to_string()));
        }
    }
    let folded = ["total", "lf", "lh", "rf", "rh", "note", "what"];
    let filled = |end: &&str| !draft.val(found.field(end)).is_empty() && *end != "what";
    found.open = folded.iter().any(|end| filled(end) || draft.has_err(found.field(end)))
        || matches!(draft.val(found.field("what")), "parts" | "condemned" | "lost");
    let Some((hung, dressed)) = hung_in(seen, animal, typed, draft) else { return found };
    let (Ok(total), Ok(doubts)) = (hung.total(), doubts_about(animal.class(), dressed, live, hung)) else {
        return found;
    };
    let percent = live.and_then(|live| percent_tenths(live, total)).map(|p| format!(", {} of live weight", shown(p)));
    found.reckoned = format!("{} {unit}{}", total.shown(), percent.unwrap_or_default());
    found.plausible = doubts.is_empty() && live.is_some() && animal.class().is_some();
    if !doubts.is_empty() {
        let class = animal.class().unwrap_or(Class::Steer);
        let why: Vec<_> = doubts.iter().map(|d| format!("{}.", d.sentence(class))).collect();
        let what = match hung {
            Hung::Total(total) => format!("{} {unit} is right", total.shown()),
            Hung::Sides { left, right } => {
                format!("{} {unit} is right ({} and {})", total.shown(), left.shown(), right.shown())
            }
            Hung::Quarters { .. } => format!("{} {unit} is right ({})", total.shown(), confirming(hung)),
        };
        found.confirm = Some((confirming(hung), what, why.join(" ")));
    }
    found
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    let seen = look(&app, *id).await?;
    let draft = stored_draft(&seen);
    Ok(page(&WeighPage::new(&farmer, seen, draft, &[])))
}

fn headed(draft: Draft) -> Draft {
    let n = draft.problems().len();
    let words =
        if n == 1 { "One weight needs another look".into() } else { format!("{} weights need another look", count(n)) };
    // Only rows are weights; a wrong day above them is not.
    let rows_only = draft.problems().iter().all(|p| p.field.starts_with('w') && p.field != "weighed_on");
    if rows_only { draft.headed(words) } else { draft }
}

fn read(form: &mut FormIn, seen: &Seen) -> (Option<WeighForm>, Vec<WeighRow>) {
    let basis = form.word("basis", "How they were weighed");
    let weighed_on = form.date("weighed_on", "Weighed on");
    let asked = seen.head.iter().filter(|a| !seen.invoiced.contains_key(&a.id) && rows::is_there(form, a.id));
    let asked: Vec<_> = asked.cloned().collect();
    let read: Vec<_> = asked.iter().map(|a| rows::read(form, a)).collect();
    let good: Vec<_> = read.iter().flatten().cloned().collect();
    let for_saved_too = form.tick("for_saved_too");
    let whole = match (basis, weighed_on) {
        (Some(basis), Some(weighed_on)) if !form.is_refused() => {
            Some(WeighForm { date: seen.date.id, basis, weighed_on, for_saved_too, rows: good.clone() })
        }
        _ => None,
    };
    (whole, good)
}

fn says(done: Recorded) -> String {
    let mut says = Vec::new();
    if done.weighed > 0 {
        says.push(format!("Weights of {} saved.", counted(done.weighed, "head", "head")));
    }
    if done.taken_back > 0 {
        says.push(format!("{} open again.", count(done.taken_back)));
    }
    if done.gone > 0 {
        says.push(format!("{} condemned or lost.", count(done.gone)));
    }
    if done.to_tell > 0 {
        says.push(format!("{} to be told.", capital(&counted(done.to_tell, "customer has", "customers have"))));
    }
    if says.is_empty() { "Nothing was changed.".into() } else { says.join(" ") }
}

/// What was done, in an address.
pub(super) fn done_at(id: DateId, done: Recorded) -> String {
    format!("/dates/{id}?saved={}-{}-{}-{}", done.weighed, done.taken_back, done.gone, done.to_tell)
}

/// Back to the date, saying what [`done_at`] wrote down.
pub(super) fn after(id: DateId, url: &str) -> HttpResponse {
    let counts: Vec<usize> = url.rsplit('=').next().unwrap_or("").split('-').filter_map(|n| n.parse().ok()).collect();
    let done = match counts.as_slice() {
        [weighed, taken_back, gone, to_tell] => {
            Recorded { weighed: *weighed, taken_back: *taken_back, gone: *gone, to_tell: *to_tell }
        }
        _ => Recorded::default(),
    };
    notice::with(see_other(&format!("/dates/{id}")), &says(done))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let seen = look(&app, id).await?;
    let (whole, rows) = read(&mut form, &seen);
    let Some(whole) = whole else {
        // Doubts of the rows that could be read are asked about in the same go.
        for (animal, sentence) in doubtful(&farmer, &seen, &form, &rows) {
            form.problem(&field(animal, "ok"), sentence);
        }
        return Ok(refused(&WeighPage::new(&farmer, seen, headed(form.into_draft()), &rows)));
    };
    // What was done travels in the address, so that a form sent twice says the same.
    let done = app.act(&farmer, &key, move |tx, doing| {
        let done = record_weights(tx, doing, &whole)?;
        Ok(done_at(id, done))
    });
    match done.await {
        Ok(url) => Ok(after(id, &url)),
        Err(Failure::Stale) => {
            let now = look(&app, id).await?;
            let draft = stale(form.into_draft(), &now, id);
            Ok(refused(&WeighPage::new(&farmer, now, draft, &rows)))
        }
        Err(f) => Ok(refused(&WeighPage::new(&farmer, seen, headed(refusal(&form, f)?), &rows))),
    }
}

/// The doubts of the rows that could be read and are not ticked, each with its sentence.
fn doubtful(farmer: &Farmer, seen: &Seen, form: &FormIn, typed: &[WeighRow]) -> Vec<(AnimalId, String)> {
    let draft = form.clone().into_draft();
    let asked = seen.head.iter().filter_map(|animal| {
        let row = typed.iter().find(|r| r.animal == animal.id)?;
        let (hung, dressed) = hung_in(seen, animal, typed, &draft)?;
        let live = seen.live.get(&animal.id).map(|w| w.weight);
        let doubts = doubts_about(animal.class(), dressed, live, hung).ok()?;
        let asks = !doubts.is_empty() && row.confirmed != confirming(hung);
        let says = doubtful_words(animal, &doubts, hung, farmer.unit()).ok()?;
        asks.then_some((animal.id, says))
    });
    asked.collect()
}

/// Somebody saved weights in between: both stand side by side, and saving again keeps what was typed.
fn stale(mut draft: Draft, now: &Seen, id: DateId) -> Draft {
    let stored = stored_draft(now);
    let names: Vec<(String, String)> = now
        .head
        .iter()
        .flat_map(|a| {
            let called = a.name();
            let weights = rows::WEIGHTS.iter().map(|(end, words)| (*end, *words));
            let others = [("number", "carcass number"), ("what", "what became of it"), ("note", "note")];
            weights.chain(others).map(move |(end, words)| (field(a.id, end), format!("{called}, {words}")))
        })
        .collect();
    let labels: Vec<(&str, &str)> = names.iter().map(|(name, label)| (name.as_str(), label.as_str())).collect();
    for animal in &now.head {
        let version = field(animal.id, "version");
        let fresh = stored.val(&version).to_string();
        draft = draft.without(&version).with(version, fresh);
    }
    draft.stale(&stored, &labels, &format!("/dates/{id}/weigh-in"))
}
