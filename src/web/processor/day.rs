//! The day at the plant: what to do first, the head with their owners, and what changed since the last packet.

use super::frame::{Place, PlantFrame};
use super::holder::PlantHolder;
use super::latest::{latest, standing};
use super::packets::{Line, lines, sent_packets};
use crate::actions::make_packet::read_packet;
use crate::book::plant_entries::{self, Subject};
use crate::book::{animals, carcasses, placements};
use crate::paper::parts::Section;
use crate::trade::dates::long;
use crate::trade::vocabulary::EntryKind;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::heads::{place_words, rail_of};
use crate::web::look::capital;
use crate::web::look::parts::Standing;
use crate::web::look::rail::{Defs, Rail};
use crate::web::look::respond::page;
use crate::web::look::words::counted;
use actix_web::web;
use askama::Template;

struct Head {
    rail: Rail,
    name: String,
    owners: Vec<String>,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "processor/day.html")]
struct DayPage {
    frame: PlantFrame,
    heading: String,
    lead: String,
    /// The packet sent last, while nobody said that it is here.
    to_receive: Option<Line>,
    packets: Vec<Line>,
    /// What changed since the packet before, and its name.
    since: String,
    changed: Vec<Section>,
    head: Vec<Head>,
    to_weigh: usize,
    /// Whether weights can be entered: the day has come.
    is_there: bool,
}

impl DayPage {
    fn defs(&self) -> Defs {
        Defs::MEDIUM
    }
}

/// The page.
///
/// # Errors
/// When the book or the packet cannot be read.
pub async fn show(holder: PlantHolder, app: web::Data<App>) -> Answer {
    let id = holder.id();
    let (head, shares, weighed, entries, packets) = app
        .read(move |c| {
            let head: Vec<_> = animals::on_date(c, id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
            let ids: Vec<_> = head.iter().map(|a| a.id).collect();
            let (shares, weighed) = (placements::shares_on(c, &ids)?, carcasses::weigh_ins(c, &ids)?);
            Ok((head, shares, weighed, plant_entries::of_date(c, id)?, sent_packets(c, id)?))
        })
        .await?;
    let today = holder.now.today;
    let drawn: Vec<_> = head
        .iter()
        .map(|animal| {
            let entry = latest(&entries, EntryKind::Carcass, Subject::Animal(animal.id));
            let standing = match (entry, weighed.contains_key(&animal.id)) {
                (None, true) => Standing::done("The farm has its weight"),
                (entry, _) => standing(&holder, entry, "To weigh").0,
            };
            Head {
                rail: rail_of(animal, &shares, weighed.get(&animal.id)),
                name: animal.name(),
                owners: shares
                    .iter()
                    .filter(|s| s.animal == animal.id)
                    .map(|s| format!("{}: {}", place_words(s.place), s.name))
                    .collect(),
                standing,
            }
        })
        .collect();
    let to_weigh = head.iter().filter(|a| {
        !weighed.contains_key(&a.id) && latest(&entries, EntryKind::Carcass, Subject::Animal(a.id)).is_none()
    });
    let to_weigh = to_weigh.count();
    let newest = packets.first().map(|(p, _)| read_packet(&p.document)).transpose()?;
    let mut all = lines(&holder, &packets);
    let to_receive = (packets.first().is_some_and(|(_, receipt)| receipt.is_none())).then(|| all.remove(0));
    let n = head.len();
    let page_of = DayPage {
        frame: holder.frame(Place::Head),
        heading: format!("{}, {}", capital(&counted(n, "head", "head")), long(holder.date.kill_on, today)),
        lead: match (packets.is_empty(), to_weigh) {
            (true, _) => "The cut sheets are still to come.".into(),
            (false, 0) if n > 0 => "Every weight is entered.".into(),
            (false, m) => format!("{} to weigh.", capital(&counted(m, "head", "head"))),
        },
        to_receive,
        packets: all,
        since: newest.as_ref().map(|p| p.since.clone()).unwrap_or_default(),
        changed: newest.map(|p| p.changed).unwrap_or_default(),
        head: drawn,
        to_weigh,
        is_there: holder.date.kill_on <= today,
    };
    Ok(page(&page_of))
}
