//! The packet of a date: which cut sheets are in, which are missing, what changed, and the paper for the plant.

use crate::actions::make_packet::{Ready, make_packet, packet_again, ready, takes_sheet};
use crate::book::ids::{DateId, PacketId};
use crate::book::sheets;
use crate::trade::dates::{long, near};
use crate::trade::vocabulary::{Inspection, SheetOrigin};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::heads::share_words;
use crate::web::farm::invoices::papers::pdf_answer;
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::{count, counted};
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

struct Row {
    href: String,
    name: String,
    share: String,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "farm/dates/packet.html")]
struct PacketPage {
    frame: Frame,
    draft: Draft,
    id: DateId,
    day: String,
    lead: String,
    rows: Vec<Row>,
    missing: usize,
    packets: Vec<(Link, String)>,
    is_custom: bool,
    can_make: bool,
}

async fn form_page(farmer: &Farmer, app: &App, id: DateId, draft: Draft) -> Result<PacketPage, PageError> {
    let (now, packets) = app.read(move |c| Ok((ready(c, id)?, sheets::packets_of(c, id)?))).await?;
    let today = farmer.now.today;
    let missing = now.missing().len();
    let changed = now.changed().len();
    let mut lead = match (now.shares.len(), missing) {
        (0, _) => "No share has a place on this date yet.".to_string(),
        (n, 0) => format!("{} in.", capital(&counted(n, "cut sheet is", "cut sheets are"))),
        (n, m) => format!("{} of {} missing.", count(m), counted(n, "cut sheet is", "cut sheets are")),
    };
    if let Some((number, _)) = &now.before {
        lead.push_str(&match changed {
            0 => format!(" Packet {number} holds them as they are."),
            n => format!(" {} changed since packet {number}.", capital(&counted(n, "sheet", "sheets"))),
        });
    }
    Ok(PacketPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        id,
        day: long(now.date.kill_on, today),
        lead,
        rows: rows(&now),
        missing,
        packets: packets
            .iter()
            .map(|p| {
                let link = Link::new(format!("/packets/{}.pdf", p.id), format!("Packet {}", p.number));
                (link, near(p.made_at.day(farmer.now.zone), today))
            })
            .collect(),
        is_custom: now.plant.inspection == Inspection::Custom,
        can_make: now.date.cancelled_at.is_none() && !now.shares.is_empty(),
    })
}

fn rows(now: &Ready) -> Vec<Row> {
    let changed: Vec<_> = now.changed().iter().map(|s| s.reservation).collect();
    now.shares
        .iter()
        .map(|s| {
            let animal = now.head.iter().find(|a| a.id == s.animal).map(|a| a.name()).unwrap_or_default();
            let standing = match now.sheets.get(&s.reservation) {
                None if !takes_sheet(s) => Standing::wait("Wishes in words"),
                None => Standing::todo("Missing"),
                Some(_) if changed.contains(&s.reservation) => Standing::part("Changed"),
                Some(sheet) if sheet.origin == SheetOrigin::Standard => Standing::done("Standard cut"),
                Some(_) => Standing::done("In"),
            };
            Row {
                href: format!("/orders/{}/cut-sheet", s.reservation),
                name: s.name.clone(),
                share: format!("{}, {animal}", capital(&share_words(s.size, s.part))),
                standing,
            }
        })
        .collect()
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&form_page(&farmer, &app, *id, Draft::empty()).await?))
}

pub(super) async fn make(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (form, key) = sent.with_key();
    let standard = form.tick("standard");
    let done = app.act(&farmer, &key, move |tx, doing| {
        make_packet(tx, doing, id, standard)?;
        Ok(format!("/dates/{id}/packet"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The packet is made. Print it, or send the file to the plant.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

pub(super) async fn paper(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = PacketId(*id);
    let (name, pdf) = app.read(move |c| packet_again(c, id)).await?;
    Ok(pdf_answer(&name, pdf))
}
