//! Making the packet of a date: every share's cut sheet on paper for the plant, frozen as it was sent.

use super::cut_sheet::{Basis, SheetIn, basis, save_sheet};
use super::letterhead::{addressed, letterhead};
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PacketId, ReservationId};
use crate::book::placements::{self, Share};
use crate::book::rows::animals::Animal;
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::sheets::{CutSheet, NewPacket};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, dates, farm, sheets};
use crate::paper::packet::{HeadLine, Packet, SheetLine, SheetPage};
use crate::paper::parts::Fact;
use crate::trade::cuts::sheet::Hanging;
use crate::trade::cuts::take_home::take_home;
use crate::trade::dates::{full, long, near, span};
use crate::trade::instructions::{Instruction, instructions};
use crate::trade::share::{Part, Species};
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::{Inspection, SheetOrigin};
use crate::trade::weight::Weight;
use crate::trade::{age, vocabulary::Sex};
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap};

/// What a packet of a date would hold now.
pub struct Ready {
    /// The date.
    pub date: ProcessingDate,
    /// The plant.
    pub plant: Processor,
    /// Its head that were not lost, in order.
    pub head: Vec<Animal>,
    /// The shares on them, in the order of head and side.
    pub shares: Vec<Share>,
    /// The sheets there are.
    pub sheets: HashMap<ReservationId, CutSheet>,
    /// The revisions in the packet before, if there was one, and its number.
    pub before: Option<(i64, HashMap<ReservationId, i64>)>,
}

impl Ready {
    /// The shares that have no cut sheet. Fore and hind quarters have their wishes in words.
    pub fn missing(&self) -> Vec<&Share> {
        self.shares.iter().filter(|s| takes_sheet(s) && !self.sheets.contains_key(&s.reservation)).collect()
    }
    /// Shares whose sheet is new or changed since the packet before; none when there was no packet.
    pub fn changed(&self) -> Vec<&Share> {
        let Some((_, revisions)) = &self.before else { return Vec::new() };
        let now = |s: &&Share| self.sheets.get(&s.reservation).map(|x| x.revision);
        self.shares.iter().filter(|s| revisions.get(&s.reservation).copied() != now(s)).collect()
    }
}

/// Whether a share has a cut sheet of choices.
pub fn takes_sheet(share: &Share) -> bool {
    !matches!(share.part, Some(Part::Fore | Part::Hind))
}

/// Looks at a date.
///
/// # Errors
/// [`Failure::NotFound`] when there is none.
pub fn ready(c: &mut DbConn, id: DateId) -> Result<Ready, Failure> {
    let (date, plant) = dates::get(c, id)?;
    let head: Vec<Animal> = animals::on_date(c, id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
    let ids: Vec<_> = head.iter().map(|a| a.id).collect();
    let mut shares = placements::shares_on(c, &ids)?;
    shares.sort_by_key(|s| (head.iter().position(|a| a.id == s.animal), s.slots.clone()));
    let orders: Vec<_> = shares.iter().map(|s| s.reservation).collect();
    let sheets = sheets::of(c, &orders)?;
    let before = match sheets::packets_of(c, id)?.first() {
        Some(p) => Some((p.number, sheets::revisions_in(c, p.id)?)),
        None => None,
    };
    Ok(Ready { date, plant, head, shares, sheets, before })
}

/// Makes the next packet of a date. With `standard` the shares without a cut sheet get the standard cut first.
///
/// # Errors
/// [`Failure::Refused`] when the date is cancelled, nothing is on it, or sheets are missing and `standard` is not given.
pub fn make_packet(tx: &mut Tx, doing: &Doing, id: DateId, standard: bool) -> Result<PacketId, Failure> {
    let now = ready(tx.conn(), id)?;
    if now.date.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This date is cancelled, so nothing goes to the plant."));
    }
    if now.shares.is_empty() {
        return Err(Failure::refuse("", "No share has a place on this date yet. Give shares their places first."));
    }
    let missing: Vec<ReservationId> = now.missing().iter().map(|s| s.reservation).collect();
    if !missing.is_empty() && !standard {
        let names: Vec<_> = now.missing().iter().map(|s| s.name.clone()).collect();
        let sentence = format!(
            "There is no cut sheet for: {}. Enter them, or tick that they get the standard cut.",
            names.join(", ")
        );
        return Err(Failure::refuse("standard", sentence));
    }
    for order in missing {
        save_sheet(tx, doing, order, 0, &SheetIn::default(), SheetOrigin::Standard)?;
    }
    let now = ready(tx.conn(), id)?;
    let farm = farm::get(tx.conn())?;
    let number = now.before.as_ref().map_or(1, |(n, _)| n.saturating_add(1));
    let document = write(tx.conn(), doing, &farm, &now, number)?;
    let json = serde_json::to_string(&document).map_err(|e| Failure::Unexpected(e.to_string()))?;
    let revisions: Vec<_> = now.sheets.values().map(|s| (s.reservation_id, s.revision)).collect();
    let new = NewPacket { date_id: id, number, document: json, made_at: doing.now.at };
    let packet = sheets::add_packet(tx, &new, &revisions)?;
    let line = format!("Packet {number} was made for {}, {} cut sheets", now.plant.name, now.sheets.len());
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, date: Some(id), ..Line::default() })?;
    Ok(packet)
}

/// A packet's file name and PDF, made again from its frozen content.
///
/// # Errors
/// [`Failure::NotFound`] when there is none; [`Failure::Unexpected`] when it cannot be read or drawn.
pub fn packet_again(c: &mut DbConn, id: PacketId) -> Result<(String, Vec<u8>), Failure> {
    let stored = sheets::packet(c, id)?;
    let (date, _) = dates::get(c, stored.date_id)?;
    let packet: Packet = serde_json::from_str(&stored.document)
        .map_err(|e| Failure::Unexpected(format!("the stored packet cannot be read: {e}")))?;
    let pdf = packet.pdf().map_err(|e| Failure::Unexpected(e.to_string()))?;
    Ok((format!("packet {} {}.pdf", date.kill_on, stored.number), pdf))
}

struct Written {
    basis: Basis,
    kept: Kept,
    lines: Vec<Instruction>,
}

fn written(c: &mut DbConn, farm: &Farm, today: NaiveDate, sheet: &CutSheet) -> Result<Written, Failure> {
    let kept = sheet_json::read(&sheet.sheet).map_err(Failure::Unexpected)?;
    let basis = basis(c, farm, today, sheet.reservation_id)?;
    let lines = instructions(&hanging(&basis, &kept), &kept.sheet)
        .map_err(|e| Failure::Unexpected(format!("a stored cut sheet cannot be read: {e:?}")))?;
    Ok(Written { basis, kept, lines })
}

fn hanging(basis: &Basis, kept: &Kept) -> Hanging {
    Hanging { head_on: kept.head_on, skin_on: kept.skin_on, ..basis.hanging }
}

fn write(c: &mut DbConn, doing: &Doing, farm: &Farm, now: &Ready, number: i64) -> Result<Packet, Failure> {
    let today = doing.now.today;
    let weighed = carcasses::weigh_ins(c, &now.head.iter().map(|a| a.id).collect::<Vec<_>>())?;
    let changed: Vec<ReservationId> = now.changed().iter().map(|s| s.reservation).collect();
    let is_custom = now.plant.inspection == Inspection::Custom;
    let day = long(now.date.kill_on, today);
    let (mut pages, mut totals, mut changes) = (Vec::new(), BTreeMap::new(), Vec::new());
    let mut owners: HashMap<ReservationId, String> = HashMap::new();
    let mut n = 0;
    for share in &now.shares {
        let animal = now.head.iter().find(|a| a.id == share.animal).ok_or(Failure::NotFound)?;
        let order = crate::book::reservations::get(c, share.reservation)?;
        let address = addressed(&order.1).into_iter().skip(1).collect::<Vec<_>>().join(", ");
        let reach =
            [address, order.1.phone.clone()].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ");
        let place = place_words(share);
        owners.insert(
            share.reservation,
            format!("{place}: {}{}", share.name, if reach.is_empty() { String::new() } else { format!(", {reach}") }),
        );
        n += 1;
        let lines = match now.sheets.get(&share.reservation) {
            Some(sheet) => {
                let w = written(c, farm, today, sheet)?;
                add_up(&mut totals, &w)?;
                let is_new = changed.contains(&share.reservation);
                w.lines.into_iter().map(|i| SheetLine { part: i.part, says: i.says, changed: is_new }).collect()
            }
            None => vec![SheetLine { part: "As wished".into(), says: order.0.wishes.clone(), changed: false }],
        };
        if changed.contains(&share.reservation) {
            changes.push(format!("{}, {place}: {}", animal.name(), share.name));
        }
        let sheet = now.sheets.get(&share.reservation);
        let revision = sheet.map_or(String::new(), |s| {
            format!("Revision {}, {}", s.revision, near(s.entered_at.day(doing.now.zone), today))
        });
        let carcass = weighed.get(&animal.id).map(|w| w.carcass_number.clone()).filter(|t| !t.is_empty());
        pages.push(SheetPage {
            over: format!("Cut sheet {n} of {} · {} · {day}", now.shares.len(), now.plant.name),
            tag: animal.tag.clone(),
            side: format!("{place} · {} {}", share_word(share), animal.species.label()),
            who: vec![share.name.clone(), order.1.phone.clone()],
            about: vec![
                format!("Carcass no. {}", carcass.unwrap_or_else(|| "________".into())),
                about(animal, now.date.kill_on),
                revision,
            ],
            lines,
            special: sheet.map(|s| s.special.clone()).unwrap_or_default(),
            flag: if is_custom { "NOT FOR SALE".into() } else { String::new() },
        });
    }
    let animals = now
        .head
        .iter()
        .map(|a| HeadLine {
            name: a.name(),
            about: [about(a, now.date.kill_on), a.official_id.clone()]
                .into_iter()
                .filter(|t| !t.is_empty())
                .collect::<Vec<_>>()
                .join(", "),
            owners: now
                .shares
                .iter()
                .filter(|s| s.animal == a.id)
                .filter_map(|s| owners.get(&s.reservation).cloned())
                .collect(),
        })
        .collect();
    Ok(Packet {
        layout: crate::paper::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        head: letterhead(farm),
        title: format!("Packet {number} for {day}"),
        to: std::iter::once(now.plant.name.clone()).chain(now.plant.address.lines().map(str::to_string)).collect(),
        facts: facts(now, today),
        animals,
        totals: totals
            .into_iter()
            .map(|(name, weight): (String, Weight)| Fact { name, value: format!("{} {}", weight.short(), farm.unit) })
            .collect(),
        changes,
        reminder: reminder(now, is_custom),
        sheets: pages,
        weigh_in: now.head.iter().map(Animal::name).collect(),
    })
}

fn facts(now: &Ready, today: NaiveDate) -> Vec<Fact> {
    let d = &now.date;
    let fact = |name: &str, value: String| Fact { name: name.into(), value };
    let mut by_species: Vec<(Species, usize)> = Vec::new();
    for a in &now.head {
        match by_species.iter_mut().find(|(s, _)| *s == a.species) {
            Some((_, n)) => *n += 1,
            None => by_species.push((a.species, 1)),
        }
    }
    let head = by_species.iter().map(|(s, n)| format!("{n} {}", s.label())).collect::<Vec<_>>().join(", ");
    let mut out =
        vec![fact("Slaughter", full(d.kill_on)), fact("Head", head), fact("Cut sheets", now.sheets.len().to_string())];
    if let Some(day) = d.deliver_on {
        out.push(fact("Delivered", format!("{} {}", near(day, today), d.deliver_time)));
    }
    match (d.pickup_from, d.pickup_to) {
        (Some(from), Some(to)) => out.push(fact("Pickup", span(from, to, today))),
        (Some(day), None) | (None, Some(day)) => out.push(fact("Pickup", near(day, today))),
        (None, None) => {}
    }
    out
}

fn reminder(now: &Ready, is_custom: bool) -> Vec<String> {
    let mut out = Vec::new();
    if is_custom {
        out.push(
            "Custom-exempt: for the owners named here, their households, guests and employees only. Packages are marked \
             “Not for Sale” (21 U.S.C. 623; 9 CFR 303.1 and 316.16). Ask the state’s meat inspection program when unsure."
                .to_string(),
        );
        let free = now.head.iter().filter(|a| quarters(now, a) < 4).count();
        if free > 0 {
            out.push(format!("{free} head still have quarters without an owner when this packet is made."));
        }
    }
    out.push("Write the hanging weights on the last page, or phone them through.".to_string());
    out
}

fn quarters(now: &Ready, animal: &Animal) -> usize {
    now.shares.iter().filter(|s| s.animal == animal.id).map(|s| s.slots.len()).sum()
}

/// Adds what one sheet gives to cure, smoke, season and form.
fn add_up(totals: &mut BTreeMap<String, Weight>, w: &Written) -> Result<(), Failure> {
    let home = take_home(&hanging(&w.basis, &w.kept), &w.kept.sheet)
        .map_err(|e| Failure::Unexpected(format!("a stored cut sheet does not reckon any more: {e:?}")))?;
    let mut add = |name: String, weight: Weight| -> Result<(), Failure> {
        let sum = totals.entry(name).or_default();
        *sum = sum.plus(weight)?;
        Ok(())
    };
    for line in home.lines.iter().filter(|l| matches!(l.keeps, "bacon" | "ham" | "cured")) {
        add(line.name.to_string(), line.weight.expected)?;
    }
    for s in &home.sausage {
        add(format!("{} sausage, {}", s.seasoning.replace('_', " "), s.form), s.weight.expected)?;
    }
    if w.kept.sheet.parameters.contains_key("patties_per_lb") {
        add("patties".into(), home.ground.expected)?;
    }
    Ok(())
}

fn place_words(share: &Share) -> String {
    match share.side() {
        None => "Both sides".into(),
        Some(side) => format!("{} side", crate::trade::cuts::settings::upper(side.label())),
    }
}

fn share_word(share: &Share) -> &'static str {
    match share.part {
        Some(part @ (Part::Fore | Part::Hind)) => part.label(),
        _ => share.size.label(),
    }
}

/// "castrated male, Under 30 months".
fn about(animal: &Animal, on: NaiveDate) -> String {
    let sex: Sex = animal.sex;
    let class = age::class_on(animal.species, animal.birth_on, animal.birth_precision, on);
    let age = class.map_or(String::new(), |c| format!(", {}", c.label().to_lowercase()));
    format!("{}{age}", crate::trade::cuts::settings::upper(sex.label()))
}
