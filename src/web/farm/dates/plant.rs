//! What the plant entered, beside what is in the book: taken into the book, all or one by one, or refused with words.

use crate::actions::Failure;
use crate::actions::answer_entry::{Taken, WORDS, field, refuse, take};
use crate::actions::record_weights::{confirming, doubts_about};
use crate::book::ids::{AnimalId, DateId, PlantEntryId, ReservationId};
use crate::book::placements::Share;
use crate::book::rows::animals::{Animal, WeighIn};
use crate::book::rows::plant_page::{PacketReceipt, PlantEntry, PlantLink};
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::sheets::Packet;
use crate::book::{animals, carcasses, dates, placements, plant_entries, plant_links, sheets};
use crate::trade::animal::Class;
use crate::trade::carcass::Hung;
use crate::trade::dates::{long, near};
use crate::trade::dressing::{Dressed, percent_tenths, shown};
use crate::trade::plant_entry::{Carcass, Entered, Fate};
use crate::trade::vocabulary::{Condemned, EntryAnswer, EntryKind};
use crate::trade::weight::Weight;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// What the page rests on, read in one snapshot.
struct Seen {
    date: ProcessingDate,
    plant: Processor,
    entries: Vec<PlantEntry>,
    head: HashMap<AnimalId, Animal>,
    shares: HashMap<ReservationId, Share>,
    stored: HashMap<AnimalId, WeighIn>,
    live: HashMap<AnimalId, Weight>,
    links: Vec<PlantLink>,
    packets: Vec<(Packet, Option<PacketReceipt>)>,
}

async fn look(app: &App, id: DateId) -> Result<Seen, Failure> {
    app.read(move |c| {
        let (date, plant) = dates::get(c, id)?;
        let entries = plant_entries::of_date(c, id)?;
        let ids: Vec<AnimalId> = entries.iter().filter_map(|e| e.animal_id).collect();
        let orders: Vec<ReservationId> = entries.iter().filter_map(|e| e.reservation_id).collect();
        let live = animals::last_live_weights(c, &ids)?;
        let mut receipts = plant_entries::receipts(c, id)?;
        let sent = sheets::packets_of(c, id)?.into_iter().filter(|p| p.sent_at.is_some());
        Ok(Seen {
            date,
            plant,
            head: animals::on_date(c, id)?.into_iter().map(|a| (a.id, a)).collect(),
            shares: placements::shares_of(c, &orders)?.into_iter().map(|s| (s.reservation, s)).collect(),
            stored: carcasses::weigh_ins(c, &ids)?,
            live: live.into_iter().map(|(id, w)| (id, w.weight)).collect(),
            links: plant_links::live_of(c, id)?,
            packets: sent.map(|p| (receipts.remove(&p.id), p)).map(|(r, p)| (p, r)).collect(),
            entries,
        })
    })
    .await
}

/// An entry that waits.
struct Row {
    id: PlantEntryId,
    /// What it is about, and where to look at it.
    name: String,
    href: String,
    says: String,
    who: String,
    /// What is in the book: "Not weighed yet", "The same", or what differs.
    book: Standing,
    /// What differs, in words.
    differs: String,
    reckoned: String,
    plausible: bool,
    /// What the tick repeats, its words, and why it is asked.
    confirm: Option<(String, String, String)>,
    version: i64,
    /// The word of its button: "Take", "Read".
    act: &'static str,
    /// "Do not take it", "Answer it".
    other: &'static str,
}

impl Row {
    fn field(&self, what: &str) -> String {
        field(self.id, what)
    }
}

/// An entry that was answered.
struct Past {
    when: String,
    says: String,
    why: String,
}

#[derive(Template)]
#[template(path = "farm/dates/plant.html")]
struct PlantPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    day: String,
    plant: String,
    lead: String,
    rows: Vec<Row>,
    past: Vec<Past>,
    link_words: String,
    packets: Vec<(String, Standing, String)>,
}

fn called(seen: &Seen, entry: &PlantEntry) -> (String, String) {
    let date = format!("/dates/{}", seen.date.id);
    match (entry.animal_id, entry.reservation_id) {
        (Some(id), _) => {
            let name =
                seen.head.get(&id).map_or_else(|| "An animal that is not on this date any more".into(), Animal::name);
            (name, format!("/animals/{id}"))
        }
        (_, Some(id)) => {
            let name = seen.shares.get(&id).map_or_else(|| "A share".into(), |s| format!("Boxes of {}", s.name));
            (name, format!("/orders/{id}"))
        }
        _ if entry.kind == EntryKind::Ready => ("Everything is ready".into(), date),
        _ => ("A note".into(), date),
    }
}

fn words(entry: &PlantEntry, unit: &str) -> String {
    match entry.entered() {
        Ok(Entered::Carcass(c)) => c.says(unit).unwrap_or_default(),
        Ok(Entered::Boxes(b)) => b.says(unit),
        Ok(Entered::Ready { on }) => crate::trade::dates::full(on),
        Ok(Entered::Note { words }) => format!("“{words}”"),
        Err(_) => "This entry cannot be read.".into(),
    }
}

/// The book's weigh-in as an entry would say it.
fn in_book(w: &WeighIn, unit: &str) -> String {
    let fate = match (w.hung(), w.condemned) {
        (Some(hung), Condemned::Parts) => Fate::Hung { hung, condemned_parts: Some(w.condemned_note.clone()) },
        (Some(hung), _) => Fate::Hung { hung, condemned_parts: None },
        (None, _) => Fate::Condemned(w.condemned_note.clone()),
    };
    let carcass = Carcass {
        weighed_on: w.weighed_on,
        basis: w.basis,
        head_on: w.head_on,
        skin_on: w.skin_on,
        number: w.carcass_number.clone(),
        fate,
    };
    carcass.says(unit).unwrap_or_default()
}

/// How the book stands to a weight: nothing there, the same, or what differs.
pub(super) fn compared(entry: &Carcass, book: Option<&WeighIn>, unit: &str) -> (Standing, String) {
    let Some(book) = book else { return (Standing::wait("Not in the book yet"), String::new()) };
    let (mine, theirs) = (entry.says(unit).unwrap_or_default(), in_book(book, unit));
    let mut differs = Vec::new();
    if mine != theirs {
        differs.push(format!("in the book: {theirs}"));
    }
    if entry.number != book.carcass_number {
        let number = if book.carcass_number.is_empty() { "none" } else { &book.carcass_number };
        differs.push(format!("carcass number in the book: {number}"));
    }
    if entry.weighed_on != book.weighed_on {
        differs.push(format!("weighed on in the book: {}", crate::trade::dates::full(book.weighed_on)));
    }
    if (entry.head_on, entry.skin_on) != (book.head_on, book.skin_on) {
        differs.push("head or skin on differs".into());
    }
    match differs.is_empty() {
        true => (Standing::done("The same is in the book"), String::new()),
        false => (Standing::late("Differs from the book"), capital(&differs.join("; "))),
    }
}

fn row(farmer: &Farmer, seen: &Seen, entry: &PlantEntry) -> Row {
    let unit = farmer.unit();
    let (name, href) = called(seen, entry);
    let mut found = Row {
        id: entry.id,
        name,
        href,
        says: words(entry, unit),
        who: format!(
            "{}, {}{}",
            entry.entered_by,
            near(entry.entered_at.day(farmer.now.zone), farmer.now.today),
            if entry.revision > 1 && entry.kind != EntryKind::Note { ", corrected" } else { "" }
        ),
        book: Standing::plain(""),
        differs: String::new(),
        reckoned: String::new(),
        plausible: false,
        confirm: None,
        version: 0,
        act: if entry.kind == EntryKind::Note { "Mark as read" } else { "Take" },
        other: if entry.kind == EntryKind::Note { "Answer it" } else { "Do not take it" },
    };
    let (Ok(Entered::Carcass(c)), Some(animal_id)) = (entry.entered(), entry.animal_id) else { return found };
    let stored = seen.stored.get(&animal_id);
    found.version = stored.map_or(0, |w| w.version);
    (found.book, found.differs) = compared(&c, stored, unit);
    if !c.number.is_empty() {
        found.says.push_str(&format!("; carcass number {}", c.number));
    }
    let (Fate::Hung { hung, .. }, Some(animal)) = (&c.fate, seen.head.get(&animal_id)) else { return found };
    look_over(&mut found, animal, &c, *hung, seen.live.get(&animal_id).copied(), unit);
    found
}

/// The dressing percentage, as the weigh-in page shows it.
fn look_over(found: &mut Row, animal: &Animal, c: &Carcass, hung: Hung, live: Option<Weight>, unit: &str) {
    let dressed = Dressed { basis: c.basis, head_on: c.head_on, skin_on: c.skin_on };
    let (Ok(total), Ok(doubts)) = (hung.total(), doubts_about(animal.class(), dressed, live, hung)) else { return };
    found.reckoned = live
        .and_then(|live| percent_tenths(live, total))
        .map(|p| format!("{} {unit}, {} of live weight", total.shown(), shown(p)))
        .unwrap_or_default();
    found.plausible = doubts.is_empty() && live.is_some() && animal.class().is_some();
    if !doubts.is_empty() {
        let class = animal.class().unwrap_or(Class::Steer);
        let why: Vec<_> = doubts.iter().map(|d| format!("{}.", d.sentence(class))).collect();
        let words = format!("{} {unit} is right ({})", total.shown(), confirming(hung));
        found.confirm = Some((confirming(hung), words, why.join(" ")));
    }
}

fn plant_page(farmer: &Farmer, seen: &Seen, draft: Draft) -> PlantPage {
    let (today, zone) = (farmer.now.today, farmer.now.zone);
    let mut waiting: Vec<_> = seen.entries.iter().filter(|e| e.waits()).collect();
    waiting.sort_by_key(|e| (e.kind, e.animal_id, e.reservation_id, e.id));
    let past = seen.entries.iter().filter(|e| !e.waits()).take(30).map(|e| Past {
        when: near(e.entered_at.day(zone), today),
        says: format!("{}: {}", called(seen, e).0, words(e, farmer.unit())),
        why: match e.answer {
            Some(EntryAnswer::Taken) if e.kind == EntryKind::Note => {
                format!("{}; read by {}.", e.entered_by, e.answered_by)
            }
            Some(EntryAnswer::Taken) => format!("{}; taken by {}.", e.entered_by, e.answered_by),
            Some(EntryAnswer::Refused) if e.kind == EntryKind::Note => {
                format!("{}; answered by {}: “{}”", e.entered_by, e.answered_by, e.words)
            }
            Some(EntryAnswer::Refused) => format!("{}; not taken by {}: “{}”", e.entered_by, e.answered_by, e.words),
            _ => format!("{}; corrected before it was looked at.", e.entered_by),
        },
    });
    let n = waiting.len();
    PlantPage {
        frame: farmer.frame(Tab::Dates),
        id: seen.date.id,
        day: long(seen.date.kill_on, today),
        plant: seen.plant.name.clone(),
        lead: match n {
            0 => "Nothing waits for you. What the plant enters by its link stands here until you take it.".into(),
            n => format!(
                "{} for you. Nothing of it is billed before you take it.",
                capital(&counted(n, "entry waits", "entries wait"))
            ),
        },
        rows: waiting.into_iter().map(|e| row(farmer, seen, e)).collect(),
        past: past.collect(),
        link_words: super::plant_link::standing(&seen.links, farmer),
        packets: receipts(farmer, &seen.packets),
        draft,
    }
}

/// "Packet 2", "Received", "by Sam, October 8".
fn receipts(farmer: &Farmer, packets: &[(Packet, Option<PacketReceipt>)]) -> Vec<(String, Standing, String)> {
    let day = |at: crate::book::at::At| near(at.day(farmer.now.zone), farmer.now.today);
    let line = |n: usize, p: &Packet, receipt: Option<&PacketReceipt>| {
        let standing = match receipt {
            Some(_) => Standing::done("Received"),
            None if n == 0 => Standing::todo("Not acknowledged"),
            None => Standing::wait("Not acknowledged"),
        };
        let by = receipt.map(|r| format!("by {}, {}", r.received_by, day(r.received_at)));
        (format!("Packet {}", p.number), standing, by.unwrap_or_default())
    };
    packets.iter().enumerate().map(|(n, (p, r))| line(n, p, r.as_ref())).collect()
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    let seen = look(&app, *id).await?;
    Ok(page(&plant_page(&farmer, &seen, Draft::empty())))
}

async fn answered(
    farmer: &Farmer,
    app: &App,
    id: DateId,
    form: &crate::web::look::form::FormIn,
    done: Result<String, Failure>,
    says: &str,
) -> Answer {
    match done {
        Ok(url) => Ok(notice::with(see_other(&url), says)),
        Err(Failure::Stale) => {
            let seen = look(app, id).await?;
            let draft = form
                .refuse("", "The plant corrected an entry, or a weight was typed, after this page was shown. Nothing was taken. Look it over again.")
                .headed("Something changed in between");
            Ok(refused(&plant_page(farmer, &seen, draft)))
        }
        Err(f) => {
            let seen = look(app, id).await?;
            Ok(refused(&plant_page(farmer, &seen, refusal(form, f)?)))
        }
    }
}

/// Takes one entry (`one`) or all that the page showed.
pub(super) async fn take_in(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let one: Option<i64> = form.raw("one").parse().ok();
    let shown: Vec<Taken> = form
        .all("entry")
        .iter()
        .filter_map(|e| e.parse().ok().map(PlantEntryId))
        .filter(|e| one.is_none_or(|one| one == e.0))
        .map(|entry| Taken {
            entry,
            version: form.raw(&field(entry, "version")).parse().unwrap_or(-1),
            confirmed: form.line(&field(entry, "ok")),
        })
        .collect();
    let n = shown.len();
    let done = app.act(&farmer, &key, move |tx, doing| {
        take(tx, doing, id, &shown)?;
        Ok(format!("/dates/{id}/plant"))
    });
    let done = done.await;
    let says = format!("{} taken into the book.", capital(&counted(n, "entry was", "entries were")));
    answered(&farmer, &app, id, &form, done, &says).await
}

/// Says why an entry is not taken.
pub(super) async fn refuse_it(farmer: Farmer, app: web::Data<App>, ids: web::Path<(i64, i64)>, sent: Sent) -> Answer {
    let (id, entry) = (DateId(ids.0), PlantEntryId(ids.1));
    let (mut form, key) = sent.with_key();
    let name = field(entry, "words");
    let Some(words) = form.optional_lines(&name, "Why", WORDS) else {
        let seen = look(&app, id).await?;
        return Ok(refused(&plant_page(&farmer, &seen, form.into_draft())));
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        refuse(tx, doing, id, entry, &words)?;
        Ok(format!("/dates/{id}/plant"))
    });
    let done = done.await;
    answered(&farmer, &app, id, &form, done, "It was not taken. The plant reads your words.").await
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::actions::answer_entry::row_of;
    use crate::actions::record_weights::Fate as Recorded;
    use crate::trade::vocabulary::CarcassBasis;

    #[test]
    fn a_difference_is_said_and_the_same_is_said() {
        let lb = |text: &str| Weight::parse(text).unwrap();
        let hung = Hung::Sides { left: lb("389.5"), right: lb("380") };
        let entry = Carcass {
            weighed_on: "2027-10-14".parse().unwrap(),
            basis: CarcassBasis::Hot,
            head_on: false,
            skin_on: false,
            number: "4502".into(),
            fate: Fate::Hung { hung, condemned_parts: None },
        };
        let line = row_of(AnimalId(3), &entry, 2, "");
        assert_eq!((line.version, line.fate), (2, Recorded::Hung { hung, condemned_parts: None }));
        assert_eq!(compared(&entry, None, "lb").0, Standing::wait("Not in the book yet"));
        let book = WeighIn {
            animal_id: AnimalId(3),
            weighed_on: entry.weighed_on,
            basis: entry.basis,
            head_on: false,
            skin_on: false,
            total: None,
            left_side: Some(lb("389.5")),
            right_side: Some(lb("380")),
            left_fore: None,
            left_hind: None,
            right_fore: None,
            right_hind: None,
            carcass_number: "4502".into(),
            condemned: Condemned::None,
            condemned_note: String::new(),
            doubtful_confirmed: false,
            recorded_at: crate::book::at::At(0),
            version: 2,
        };
        assert_eq!(compared(&entry, Some(&book), "lb").0, Standing::done("The same is in the book"));
        let other = WeighIn { left_side: Some(lb("398.5")), carcass_number: String::new(), ..book };
        assert_eq!(
            compared(&entry, Some(&other), "lb").1,
            "In the book: 398.5 + 380 = 778.5 lb, hot; carcass number in the book: none"
        );
    }
}
