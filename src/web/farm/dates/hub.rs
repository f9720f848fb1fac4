//! One processing date: where it stands, its head on the rail, and its shares.

use crate::actions::Failure;
use crate::book::animals::{self, InWithdrawal};
use crate::book::at::At;
use crate::book::carcasses::{self, billed_weights};
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, DateId, ReservationId};
use crate::book::placements::{self, Invoiced, Share, ToTell};
use crate::book::rows::animals::{Animal, WeighIn};
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::{DateSlot, ProcessingDate, Processor};
use crate::book::{dates, plant_entries, sheets, unplaced};
use crate::trade::dates::{long, near, short, span};
use crate::trade::dressing::{percent_tenths, shown};
use crate::trade::vocabulary::{Condemned, Inspection};
use crate::trade::weight::Weight;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::heads::{free_quarters, free_words, rail_of, share_words};
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing, Step};
use crate::web::look::rail::{Defs, Glyph, Rail};
use crate::web::look::respond::page;
use crate::web::look::words::{count, counted};
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use std::collections::HashMap;

/// Everything the page is made of, read in one snapshot.
struct Seen {
    date: ProcessingDate,
    plant: Processor,
    slots: Vec<DateSlot>,
    head: Vec<Animal>,
    lost: Vec<Animal>,
    shares: Vec<Share>,
    weighed: HashMap<AnimalId, WeighIn>,
    live: HashMap<AnimalId, Weight>,
    withdrawal: Vec<InWithdrawal>,
    invoiced: Vec<Invoiced>,
    collected: HashMap<ReservationId, At>,
    billed: HashMap<ReservationId, Weight>,
    to_tell: Vec<ToTell>,
    sheets: usize,
    /// How many entries of the plant wait.
    entered: usize,
}

fn look(c: &mut DbConn, id: DateId, farm: &Farm) -> Result<Seen, Failure> {
    let (date, plant) = dates::get(c, id)?;
    let all = animals::on_date(c, id)?;
    let all_ids: Vec<_> = all.iter().map(|a| a.id).collect();
    let (lost, head): (Vec<_>, Vec<_>) = all.into_iter().partition(|a| a.lost_on.is_some());
    let ids: Vec<_> = head.iter().map(|a| a.id).collect();
    let shares = placements::shares_on(c, &ids)?;
    let orders: Vec<_> = shares.iter().map(|s| s.reservation).collect();
    let rows = unplaced::orders(c, &orders)?;
    let billed = billed_weights(c, farm, &ids)?;
    let live = animals::last_live_weights(c, &ids)?;
    Ok(Seen {
        slots: dates::slots(c, &[id])?,
        weighed: carcasses::weigh_ins(c, &ids)?,
        live: live.into_iter().map(|(id, w)| (id, w.weight)).collect(),
        withdrawal: animals::in_withdrawal(c)?.into_iter().filter(|w| w.date == id).collect(),
        invoiced: placements::invoiced(c, &orders)?,
        collected: rows.into_iter().filter_map(|(id, (r, ..))| Some((id, r.collected_at?))).collect(),
        billed: billed.into_iter().flat_map(|b| b.shares).map(|s| (s.reservation, s.weight)).collect(),
        sheets: sheets::of(c, &orders)?.len(),
        entered: plant_entries::of_date(c, id)?.iter().filter(|e| e.waits()).count(),
        to_tell: placements::to_tell(c, &all_ids)?,
        date,
        plant,
        head,
        lost,
        shares,
    })
}

struct HeadFigure {
    rail: Rail,
    href: String,
    name: String,
    owners: String,
    standing: Standing,
}

struct ShareLine {
    href: String,
    name: String,
    glyph: Glyph,
    place: String,
    weight: String,
    standing: Standing,
}

struct WeighedLine {
    href: String,
    name: String,
    weight: String,
    of_live: String,
    number: String,
    note: String,
}

#[derive(Template)]
#[template(path = "farm/dates/hub.html")]
struct HubPage {
    frame: Frame,
    date: ProcessingDate,
    plant: Processor,
    day: String,
    lead: String,
    next: Option<Link>,
    steps: Vec<Step>,
    figures: Vec<HeadFigure>,
    shares: Vec<ShareLine>,
    shares_caption: String,
    weighed: Vec<WeighedLine>,
    missing: usize,
    entered: usize,
    is_past: bool,
    to_tell: Vec<ToTell>,
    lost: Vec<Link>,
    deliver: String,
    sheets_due: String,
    sheets_words: String,
    pickup: String,
    slots: String,
    unit: &'static str,
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    let (id, farm) = (*id, farmer.farm.clone());
    let seen = app.read(move |c| look(c, id, &farm)).await?;
    Ok(page(&hub(&farmer, seen)))
}

fn hub(farmer: &Farmer, seen: Seen) -> HubPage {
    let today = farmer.now.today;
    let unit = farmer.unit();
    let figures = seen.head.iter().map(|a| figure(a, &seen, today)).collect();
    let invoices = seen.shares.iter().filter(|s| is_invoiced(&seen, s)).count();
    let missing = seen.head.iter().filter(|a| !seen.weighed.contains_key(&a.id)).count();
    let weighed = seen.head.iter().filter_map(|a| weighed_line(a, &seen)).collect();
    let mut lines: Vec<_> = seen.shares.iter().collect();
    lines.sort_by_key(|s| (seen.head.iter().position(|a| a.id == s.animal), s.slots.clone()));
    let lines: Vec<_> = lines.into_iter().map(|s| share_line(farmer, s, &seen, today)).collect();
    let d = &seen.date;
    let pickup = match (d.pickup_from, d.pickup_to) {
        (Some(from), Some(to)) => span(from, to, today),
        (Some(from), None) => format!("from {}", near(from, today)),
        (None, Some(to)) => format!("until {}", near(to, today)),
        (None, None) => String::new(),
    };
    let deliver = [d.deliver_on.map(|day| near(day, today)), Some(d.deliver_time.clone()).filter(|t| !t.is_empty())];
    HubPage {
        frame: farmer.frame(Tab::Dates),
        day: long(d.kill_on, today),
        lead: lead(&seen, today),
        next: next(&seen, today, missing, invoices),
        steps: steps(farmer, &seen, today, missing, invoices, &pickup),
        figures,
        shares_caption: format!(
            "{} on {}.",
            capital(&counted(lines.len(), "share", "shares")),
            counted(seen.head.len(), "head", "head")
        ),
        shares: lines,
        weighed,
        missing,
        entered: seen.entered,
        is_past: d.kill_on <= today,
        lost: seen.lost.iter().map(|a| Link::new(format!("/animals/{}", a.id), a.name())).collect(),
        deliver: deliver.into_iter().flatten().collect::<Vec<_>>().join(", "),
        sheets_words: match seen.shares.len().saturating_sub(seen.sheets) {
            0 => "Every share has its cut sheet.".into(),
            n => format!("{} no cut sheet yet.", capital(&counted(n, "share has", "shares have"))),
        },
        sheets_due: d.sheets_due.map(|day| near(day, today)).unwrap_or_default(),
        pickup,
        slots: slot_lines(&seen).join("\n"),
        unit,
        to_tell: seen.to_tell,
        date: seen.date,
        plant: seen.plant,
    }
}

fn slot_lines(seen: &Seen) -> Vec<String> {
    let on: Vec<_> = seen
        .head
        .iter()
        .map(|a| dates::HeadOn {
            date: seen.date.id,
            animal: a.id,
            species: a.species,
            weighed: seen.weighed.contains_key(&a.id),
            free_quarters: 0,
        })
        .collect();
    super::slot_words(seen.date.id, &seen.slots, &on)
}

fn is_invoiced(seen: &Seen, share: &Share) -> bool {
    seen.invoiced.iter().any(|i| i.reservation == share.reservation)
}

/// "Five head, nine owners. One quarter of steer 229 has no owner."
fn lead(seen: &Seen, today: NaiveDate) -> String {
    if seen.date.cancelled_at.is_some() {
        return "This date was cancelled.".into();
    }
    if seen.head.is_empty() {
        return "No head is on this date yet.".into();
    }
    let mut owners: Vec<_> = seen.shares.iter().map(|s| s.customer).collect();
    owners.sort_unstable();
    owners.dedup();
    let n = owners.len();
    let mut says = format!(
        "{} head, {}.",
        count(seen.head.len()),
        if n == 0 { "no owner yet".to_string() } else { counted(n, "owner", "owners") }
    );
    for late in &seen.withdrawal {
        let until = late.earliest.map_or("its treatments are put right".to_string(), |day| near(day, today));
        says.push_str(&format!(" {} is inside a withdrawal period and may not be killed before {until}.", late.name));
    }
    let free: Vec<_> = seen.head.iter().filter(|a| is_open(seen, a) && free_quarters(a, &seen.shares) > 0).collect();
    if let [one] = free.as_slice() {
        let n = free_quarters(one, &seen.shares);
        let have = if n == 1 { "has" } else { "have" };
        says.push_str(&format!(" {} of {} {have} no owner.", count_of(n), one.name()));
    } else if !free.is_empty() {
        let n: usize = free.iter().map(|a| free_quarters(a, &seen.shares)).sum();
        says.push_str(&format!(" {} of {} have no owner.", count_of(n), counted(free.len(), "head", "head")));
    }
    says
}

fn count_of(quarters: usize) -> String {
    format!("{} {}", count(quarters), if quarters == 1 { "quarter" } else { "quarters" })
}

/// Whether an animal's shares can still be sold for this date: it was not condemned.
fn is_open(seen: &Seen, animal: &Animal) -> bool {
    seen.weighed.get(&animal.id).is_none_or(|w| w.condemned != Condemned::Whole)
}

/// The one filled button: what comes next.
fn next(seen: &Seen, today: NaiveDate, missing: usize, invoices: usize) -> Option<Link> {
    let id = seen.date.id;
    if seen.date.cancelled_at.is_some() {
        return None;
    }
    if let Some(late) = seen.withdrawal.first() {
        return Some(Link::new(format!("/animals/{}/date", late.animal), format!("Move {}", late.name)));
    }
    if let Some(who) = seen.to_tell.iter().find(|t| !t.placed) {
        let words = format!("Give {} another place", who.name);
        return Some(Link::new(format!("/orders/{}/place", who.reservation), words));
    }
    if seen.entered > 0 {
        return Some(Link::new(format!("/dates/{id}/plant"), "Look at what the plant entered"));
    }
    if seen.head.is_empty() {
        return Some(Link::new(format!("/dates/{id}/head"), "Put head on this date"));
    }
    if seen.date.kill_on <= today && missing > 0 {
        return Some(Link::new(format!("/dates/{id}/weigh-in"), "Enter the weights"));
    }
    if missing < seen.head.len() && seen.billed.len() > invoices {
        return Some(Link::new(format!("/dates/{id}/invoices"), "Look over the invoices"));
    }
    if missing == 0 && invoices > 0 && seen.shares.iter().any(|s| !seen.collected.contains_key(&s.reservation)) {
        return Some(Link::new(format!("/dates/{id}/pickup"), "Open the pickup list"));
    }
    let free: usize = seen.head.iter().filter(|a| is_open(seen, a)).map(|a| free_quarters(a, &seen.shares)).sum();
    (free > 0).then(|| Link::new(format!("/dates/{id}/shares"), "Give shares their places"))
}

fn steps(farmer: &Farmer, seen: &Seen, today: NaiveDate, missing: usize, invoices: usize, pickup: &str) -> Vec<Step> {
    let (kill, n, m) = (seen.date.kill_on, seen.head.len(), seen.shares.len());
    let booked: i64 = seen.slots.iter().map(|s| s.head).sum();
    let all_on = i64::try_from(n).unwrap_or(i64::MAX) >= booked;
    let collected = seen.shares.iter().filter(|s| seen.collected.contains_key(&s.reservation)).count();
    let weighed = n - missing;
    let billable = seen.billed.len();
    let assigned = match n {
        0 => Standing::todo(format!("0 of {booked}")),
        _ if all_on || kill < today || weighed > 0 => Standing::done(format!("{n} of {booked}")),
        _ => Standing::part(format!("{n} of {booked}")),
    };
    let due = seen.date.sheets_due.is_some_and(|day| day <= today) && weighed == 0;
    let cut_sheets = match seen.sheets {
        s if s == m && m > 0 => Standing::done(format!("{s} of {m}")),
        s if due => Standing::todo(format!("{s} of {m}")),
        s => Standing::part(format!("{s} of {m}")),
    };
    let weigh_in = match weighed {
        0 if kill < today && n > 0 => Standing::late(format!("Missing since {}", short(kill, today))),
        0 if kill == today && n > 0 => Standing::todo("Today"),
        0 => Standing::wait(short(kill, today)),
        w if w == n => Standing::done(format!("{w} of {n}")),
        w => Standing::new(crate::web::look::parts::Shape::PartTodo, format!("{w} of {n}")),
    };
    let issued = match invoices {
        _ if weighed == 0 => Standing::wait("after weigh-in"),
        i if i >= m && m > 0 => Standing::done(format!("{i} of {m}")),
        0 => Standing::todo(format!("{billable} to issue")),
        i if i < billable => Standing::new(crate::web::look::parts::Shape::PartTodo, format!("{i} of {m} issued")),
        i => Standing::part(format!("{i} of {m} issued")),
    };
    let pickup = match collected {
        c if c == m && m > 0 => Standing::done(format!("{c} of {m}")),
        0 if pickup.is_empty() => Standing::wait("not known yet"),
        0 => Standing::wait(pickup),
        c => Standing::part(format!("{c} of {m}")),
    };
    let made = seen.date.created_at.day(farmer.now.zone);
    let list = [
        ("Booked", Standing::done(short(made, today))),
        ("Head assigned", assigned),
        ("Cut sheets", cut_sheets),
        ("Weigh-in", weigh_in),
        ("Invoices", issued),
        ("Pickup", pickup),
    ];
    let now = list.iter().position(|(_, s)| s.shape != crate::web::look::parts::Shape::Done);
    list.into_iter()
        .enumerate()
        .map(|(i, (name, standing))| Step { name: name.into(), standing, now: Some(i) == now })
        .collect()
}

fn figure(animal: &Animal, seen: &Seen, today: NaiveDate) -> HeadFigure {
    let weighed = seen.weighed.get(&animal.id);
    let rail = rail_of(animal, &seen.shares, weighed);
    let owners: Vec<_> = rail.owners().into_iter().map(|o| format!("{} {}", o.letter, o.name)).collect();
    let standing = if weighed.is_some_and(|w| w.condemned == Condemned::Whole) {
        Standing::late("Condemned")
    } else if let Some(late) = seen.withdrawal.iter().find(|w| w.animal == animal.id) {
        let day = late.earliest.map_or("put right".to_string(), |day| short(day, today));
        Standing::late(format!("Withdrawal until {day}"))
    } else {
        match free_quarters(animal, &seen.shares) {
            0 => Standing::done("All sold"),
            n => Standing::todo(free_words(n)),
        }
    };
    HeadFigure {
        rail,
        href: format!("/animals/{}", animal.id),
        name: animal.name(),
        owners: owners.join(", "),
        standing,
    }
}

fn share_line(farmer: &Farmer, share: &Share, seen: &Seen, today: NaiveDate) -> ShareLine {
    let animal = seen.head.iter().find(|a| a.id == share.animal);
    let name = animal.map(Animal::name).unwrap_or_default();
    let side = share.side().map(|s| format!(", {}", s.label())).unwrap_or_default();
    let standing = if let Some(at) = seen.collected.get(&share.reservation) {
        Standing::done(format!("Collected {}", short(at.day(farmer.now.zone), today)))
    } else if let Some(invoice) = seen.invoiced.iter().find(|i| i.reservation == share.reservation) {
        Standing::done(format!("Invoice {}", invoice.number))
    } else if seen.billed.contains_key(&share.reservation) {
        Standing::todo("Invoice to issue")
    } else {
        Standing::wait("Not weighed yet")
    };
    ShareLine {
        href: format!("/orders/{}", share.reservation),
        name: share.name.clone(),
        glyph: Glyph::new(share.size, share.side(), share.part),
        place: format!("{}, {name}{side}", capital(&share_words(share.size, share.part))),
        weight: seen.billed.get(&share.reservation).map(|w| w.shown()).unwrap_or_default(),
        standing,
    }
}

fn weighed_line(animal: &Animal, seen: &Seen) -> Option<WeighedLine> {
    let w = seen.weighed.get(&animal.id)?;
    let total = w.recorded().ok()?;
    let percent = seen.live.get(&animal.id).and_then(|live| percent_tenths(*live, total));
    let note = match w.condemned {
        Condemned::None => String::new(),
        Condemned::Parts => format!("Parts condemned: {}", w.condemned_note),
        Condemned::Whole => format!("Condemned. {}", w.condemned_note),
    };
    Some(WeighedLine {
        href: format!("/animals/{}", animal.id),
        name: animal.name(),
        weight: if w.condemned == Condemned::Whole {
            "–".into()
        } else {
            format!("{}, {}", total.shown(), w.basis.as_str())
        },
        of_live: percent.filter(|_| w.condemned != Condemned::Whole).map(shown).unwrap_or_default(),
        number: w.carcass_number.clone(),
        note,
    })
}

impl HubPage {
    const fn defs(&self) -> Defs {
        Defs::MEDIUM
    }
    fn is_custom(&self) -> bool {
        self.plant.inspection == Inspection::Custom
    }
}
