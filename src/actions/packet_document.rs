//! What stands in a packet: the cover, every share's cut sheet in sentences, and what changed since the packet sent before.

use super::cut_sheet::{Basis, basis};
use super::letterhead::{addressed, letterhead};
use super::make_packet::Ready;
use super::packet_side;
use super::share_side::dealt;
use super::{Doing, Failure};
use crate::book::carcasses;
use crate::book::conn::DbConn;
use crate::book::ids::ReservationId;
use crate::book::placements::Share;
use crate::book::rows::animals::Animal;
use crate::book::rows::farm::Farm;
use crate::book::rows::sheets::CutSheet;
use crate::book::sides::{self, Owners};
use crate::paper::packet::{HeadLine, Packet, SheetLine, SheetPage};
use crate::paper::packet_changes;
use crate::paper::parts::Fact;
use crate::trade::age;
use crate::trade::agree::deal::Dealing;
use crate::trade::agree::parts::PartDeal;
use crate::trade::agree::two::{Two, Who};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::Hanging;
use crate::trade::cuts::take_home::take_home;
use crate::trade::dates::{full, long, near, span};
use crate::trade::instructions::{Instruction, instructions};
use crate::trade::ownership::ON_THE_PACKET;
use crate::trade::share::{Part, Species};
use crate::trade::sheet_json::{self, Kept};
use crate::trade::vocabulary::Inspection;
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap};

/// A share's sheet as it stands in the packet.
struct Written<'a> {
    basis: &'a Basis,
    kept: Kept,
    lines: Vec<Instruction>,
    /// Of a quarter that shares its side: the deal, and which of the two it is.
    deal: Option<(&'a Dealing, Who)>,
}

/// What the sheets are made for, and the deals of the sides that two quarters share.
struct Rests {
    basis: HashMap<ReservationId, Basis>,
    deals: Vec<Dealing>,
    /// The owners of each head with the parts dealt out among them.
    parts: Vec<(Owners, Vec<PartDeal>)>,
}

impl Rests {
    fn new(c: &mut DbConn, farm: &Farm, today: NaiveDate, now: &Ready) -> Result<Self, Failure> {
        let mut rests = Self { basis: HashMap::new(), deals: Vec::new(), parts: Vec::new() };
        let shared = now.sides.iter().flat_map(|a| a.shared.quarters.each()).map(|q| &q.reservation);
        for id in now.sheets.keys().chain(shared) {
            if !rests.basis.contains_key(id) {
                rests.basis.insert(*id, basis(c, farm, today, *id)?);
            }
        }
        for agreed in &now.sides {
            let of = agreed.shared.quarters.as_ref().map(|q| rests.basis.get(&q.reservation));
            let (Some(first), Some(second)) = (of.first, of.second) else { return Err(Failure::NotFound) };
            rests.deals.push(dealt(agreed, &Two::new(first, second))?);
        }
        for owners in sides::owners_of(c, &now.head.iter().map(|a| a.id).collect::<Vec<_>>())? {
            let parts = owners.parts().map_err(Failure::Unexpected)?;
            rests.parts.push((owners, parts));
        }
        Ok(rests)
    }

    fn written(&self, now: &Ready, sheet: &CutSheet) -> Result<Written<'_>, Failure> {
        let order = sheet.reservation_id;
        let basis = self.basis.get(&order).ok_or(Failure::NotFound)?;
        let mut kept = sheet_json::read(&sheet.sheet).map_err(Failure::Unexpected)?;
        let mut sides = now.sides.iter().zip(&self.deals);
        let side = sides.find_map(|(a, d)| Some((a, d, a.shared.who(order)?)));
        if let Some((agreed, _, who)) = side {
            kept.sheet = agreed.settlement.sheets.of(who).clone();
        } else {
            // What there is one of is on the sheet of the owner who gets it, and on no other.
            let gets = |(owners, parts): &(Owners, Vec<PartDeal>)| Some((owners.place(order)?, parts.clone()));
            if let Some((place, parts)) = self.parts.iter().find_map(gets) {
                let mine = |id: &String| parts.iter().any(|p| p.part == *id && p.gets.contains(&place));
                kept.sheet.parts.retain(mine);
            }
        }
        let mut lines = instructions(&hanging(basis, &kept), &kept.sheet)
            .map_err(|e| Failure::Unexpected(format!("a stored cut sheet cannot be read: {e:?}")))?;
        if let Some((agreed, dealing, who)) = side {
            packet_side::add(&mut lines, agreed, dealing, who, basis.hanging.unit);
        }
        Ok(Written { basis, kept, lines, deal: side.map(|(_, dealing, who)| (dealing, who)) })
    }
}

fn hanging(basis: &Basis, kept: &Kept) -> Hanging {
    Hanging { head_on: kept.head_on, skin_on: kept.skin_on, ..basis.hanging }
}

/// The packet of a date as it would be made now.
///
/// # Errors
/// [`Failure`] when a stored sheet cannot be read any more.
pub fn document(c: &mut DbConn, doing: &Doing, farm: &Farm, now: &Ready, number: i64) -> Result<Packet, Failure> {
    let today = doing.now.today;
    let rests = Rests::new(c, farm, today, now)?;
    let weighed = carcasses::weigh_ins(c, &now.head.iter().map(|a| a.id).collect::<Vec<_>>())?;
    let is_custom = now.plant.inspection == Inspection::Custom;
    let day = long(now.date.kill_on, today);
    let (mut pages, mut totals) = (Vec::new(), BTreeMap::new());
    let mut owners: HashMap<ReservationId, String> = HashMap::new();
    let mut n = 0;
    for share in &now.shares {
        let animal = now.head.iter().find(|a| a.id == share.animal).ok_or(Failure::NotFound)?;
        let order = crate::book::reservations::get(c, share.reservation)?;
        let address = addressed(&order.1).into_iter().skip(1).collect::<Vec<_>>().join(", ");
        let reach =
            [address, order.1.phone.clone()].into_iter().filter(|t| !t.is_empty()).collect::<Vec<_>>().join(", ");
        let place = place_words(share);
        let where_on = whose_words(share);
        owners.insert(
            share.reservation,
            format!(
                "{where_on}: {}{}",
                share.name,
                if reach.is_empty() { String::new() } else { format!(", {reach}") }
            ),
        );
        n += 1;
        let lines = match now.sheets.get(&share.reservation) {
            Some(sheet) => {
                let w = rests.written(now, sheet)?;
                add_up(&mut totals, &w)?;
                w.lines.into_iter().map(|i| SheetLine { part: i.part, says: i.says, changed: false }).collect()
            }
            None => vec![SheetLine { part: "As wished".into(), says: order.0.wishes.clone(), changed: false }],
        };
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
            about: std::iter::once(format!("Carcass no. {}", carcass.unwrap_or_else(|| "________".into())))
                .chain(reference(now).map(|r| format!("Your reference {r}")))
                .chain([about(animal, now.date.kill_on), format!("Order {}", share.number), revision])
                .chain(neighbor(now, share.reservation))
                .filter(|t| !t.is_empty())
                .collect(),
            lines,
            special: sheet.map(|s| s.special.clone()).unwrap_or_default(),
            flag: if is_custom { "NOT FOR SALE".into() } else { String::new() },
            order: share.number.clone(),
            mark: String::new(),
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
    let mut packet = Packet {
        layout: crate::paper::packet::LAYOUT,
        made: doing.now.at.0.div_euclid(1000),
        head: letterhead(farm),
        title: format!("Packet {number} for {day}"),
        to: std::iter::once(now.plant.name.clone()).chain(now.plant.address.lines().map(str::to_string)).collect(),
        facts: facts(now, today),
        animals,
        totals: totals
            .into_iter()
            .map(|(name, weight): (String, Weight)| Fact {
                name: upper(&name),
                value: format!("{} {}", whole(weight), farm.unit),
            })
            .collect(),
        changes: Vec::new(),
        since: String::new(),
        changed: Vec::new(),
        open: now.open(),
        reminder: reminder(now, is_custom),
        sheets: pages,
        weigh_in: now.head.iter().map(Animal::name).collect(),
    };
    if let Some(before) = &now.before {
        packet_changes::mark(&before.document, &mut packet, &format!("packet {}", before.number));
    }
    Ok(packet)
}

/// To the pound or kilogram: a forecast is no finer than that.
fn whole(weight: Weight) -> i64 {
    crate::trade::decimal::round_fixed(weight.decimal(), 0).unwrap_or(0)
}

/// "Cut as one with order 2027-012".
fn neighbor(now: &Ready, order: ReservationId) -> Option<String> {
    let (shared, who) = now.sides.iter().find_map(|a| Some((&a.shared, a.shared.who(order)?)))?;
    Some(format!("Cut as one with order {}", shared.quarters.of(who.other()).number))
}

fn reference(now: &Ready) -> Option<&str> {
    Some(now.date.plant_reference.trim()).filter(|r| !r.is_empty())
}

/// "2 beef, 3 hog".
pub fn head_words(now: &Ready) -> String {
    let mut by_species: Vec<(Species, usize)> = Vec::new();
    for a in &now.head {
        match by_species.iter_mut().find(|(s, _)| *s == a.species) {
            Some((_, n)) => *n += 1,
            None => by_species.push((a.species, 1)),
        }
    }
    by_species.iter().map(|(s, n)| format!("{n} {}", s.label())).collect::<Vec<_>>().join(", ")
}

fn facts(now: &Ready, today: NaiveDate) -> Vec<Fact> {
    let d = &now.date;
    let fact = |name: &str, value: String| Fact { name: name.into(), value };
    let mut out = vec![
        fact("Slaughter", full(d.kill_on)),
        fact("Head", head_words(now)),
        fact("Cut sheets", now.sheets.len().to_string()),
    ];
    if let Some(r) = reference(now) {
        out.push(fact("Your reference", r.to_string()));
    }
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
        out.push(ON_THE_PACKET.to_string());
        let free = now.head.iter().filter(|a| quarters(now, a) < 4).count();
        if free > 0 {
            let head = if free == 1 { "1 head still has".to_string() } else { format!("{free} head still have") };
            out.push(format!("Caution: {head} quarters without an owner when this packet is made. Every quarter needs an owner before slaughter."));
        }
    }
    out.push("Write the hanging weights on the last page, or phone them through.".to_string());
    out
}

fn quarters(now: &Ready, animal: &Animal) -> usize {
    now.shares.iter().filter(|s| s.animal == animal.id).map(|s| s.slots.len()).sum()
}

/// Adds what one sheet gives to cure, smoke, season and form.
fn add_up(totals: &mut BTreeMap<String, Weight>, w: &Written<'_>) -> Result<(), Failure> {
    let mut add = |name: String, weight: Weight| -> Result<(), Failure> {
        let sum = totals.entry(name).or_default();
        *sum = sum.plus(weight)?;
        Ok(())
    };
    let cured = |keeps: &str| matches!(keeps, "bacon" | "ham" | "cured");
    let sausage = w.kept.sheet.sausage.iter().fold(0_i64, |sum, s| sum.saturating_add(s.weight.hundredths()));
    let ground = match w.deal {
        Some((dealing, who)) => {
            for deal in dealing.deals.iter().filter(|d| cured(d.keeps) && !d.weight.of(who).is_zero()) {
                add(deal.name.to_string(), *deal.weight.of(who))?;
            }
            Weight::from_hundredths(dealing.ground.of(who).hundredths().saturating_sub(sausage).max(0))
        }
        None => {
            let home = take_home(&hanging(w.basis, &w.kept), &w.kept.sheet)
                .map_err(|e| Failure::Unexpected(format!("a stored cut sheet does not reckon any more: {e:?}")))?;
            for line in home.lines.iter().filter(|l| cured(l.keeps)) {
                add(line.name.to_string(), line.weight.expected)?;
            }
            home.ground.expected
        }
    };
    for s in &w.kept.sheet.sausage {
        add(format!("{} sausage, {}", s.seasoning.replace('_', " "), s.form), s.weight)?;
    }
    if w.kept.sheet.parameters.contains_key("patties_per_lb") {
        add("patties".into(), ground)?;
    }
    Ok(())
}

fn place_words(share: &Share) -> String {
    match share.side() {
        None => "Both sides".into(),
        Some(side) => format!("{} side", upper(side.label())),
    }
}

/// "Left side", "Left forequarter": where an owner's share hangs, for the list of the head.
fn whose_words(share: &Share) -> String {
    match (share.side(), share.part) {
        (Some(side), Some(part @ (Part::Fore | Part::Hind))) => format!("{} {}", upper(side.label()), part.label()),
        _ => place_words(share),
    }
}

fn share_word(share: &Share) -> &'static str {
    match share.part {
        Some(part @ (Part::Fore | Part::Hind)) => part.label(),
        _ => share.size.label(),
    }
}

/// "Hog, castrated male, under 30 months".
fn about(animal: &Animal, on: NaiveDate) -> String {
    let class = age::class_on(animal.species, animal.birth_on, animal.birth_precision, on);
    let age = class.map_or(String::new(), |c| format!(", {}", c.label().to_lowercase()));
    format!("{}, {}{age}", upper(animal.species.label()), animal.sex.label())
}
