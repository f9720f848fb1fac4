//! The packet of a date: which cut sheets are in, which are missing, what changed, and sending the paper to the plant.

use crate::actions::make_packet::{Before, Ready, make_packet, packet_again, ready};
use crate::actions::plant_offer::{Unfit, unfit};
use crate::actions::send_packet::{hand_over_packet, is_current, mail_packet};
use crate::actions::share_side::standard_where_open;
use crate::book::ids::{DateId, PacketId};
use crate::book::rows::sheets::Packet;
use crate::book::{sheets, sheets_due};
use crate::trade::dates::{long, near};
use crate::trade::vocabulary::{Inspection, SheetOrigin};
use crate::web::app::{App, Doer};
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

/// The packet that was made last and not sent.
struct Unsent {
    id: PacketId,
    number: i64,
    /// Whether it still says what the book says.
    is_current: bool,
}

struct Made {
    link: Link,
    when: String,
    /// The message that carried it.
    message: String,
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
    /// Sides on which two quarters have not agreed: where to decide, and about what.
    open: Vec<(String, String)>,
    missing: usize,
    /// How many sheets the plant does not do.
    unfit: usize,
    packets: Vec<Made>,
    unsent: Option<Unsent>,
    plant: Link,
    plant_mail: String,
    is_custom: bool,
    is_changed: bool,
    can_make: bool,
}

/// What the page rests on.
struct Seen {
    now: Ready,
    packets: Vec<(Packet, Option<i64>)>,
    unsent: Option<Unsent>,
    unfit: Vec<Unfit>,
}

async fn look(farmer: &Farmer, app: &App, id: DateId) -> Result<Seen, PageError> {
    let (doing, farm) = (farmer.doing(), farmer.farm.clone());
    Ok(app
        .read(move |c| {
            let now = ready(c, id)?;
            // What is cut already is not held against what the plant says today.
            let due = if now.date.kill_on < doing.now.today { Vec::new() } else { sheets_due::on_dates(c, &[id])? };
            let unfit = unfit(c, &farm, doing.now.today, &[(&now.date, &now.plant, &due)])?;
            let mut packets = Vec::new();
            for p in sheets::packets_of(c, id)? {
                let message = if p.sent_at.is_some() { sheets_due::message_with(c, p.id)? } else { None };
                packets.push((p, message.map(|m| m.0)));
            }
            let unsent = match packets.first().filter(|(p, _)| p.sent_at.is_none()) {
                Some((p, _)) => {
                    Some(Unsent { id: p.id, number: p.number, is_current: is_current(c, &doing, &now, p)? })
                }
                None => None,
            };
            Ok(Seen { now, packets, unsent, unfit })
        })
        .await?)
}

async fn form_page(farmer: &Farmer, app: &App, id: DateId, draft: Draft) -> Result<PacketPage, PageError> {
    let Seen { now, packets, unsent, unfit } = look(farmer, app, id).await?;
    let today = farmer.now.today;
    let missing = now.missing().len();
    let changed = now.changed().len();
    let mut lead = match (now.shares.len(), missing) {
        (0, _) => "No share has a place on this date yet.".to_string(),
        (n, 0) => format!("{} in.", capital(&counted(n, "cut sheet is", "cut sheets are"))),
        (n, m) => format!("{} of {} missing.", count(m), counted(n, "cut sheet is", "cut sheets are")),
    };
    let day = |at: crate::book::at::At| near(at.day(farmer.now.zone), today);
    if let Some(Before { number, sent_at, .. }) = &now.before {
        lead.push_str(&match changed {
            0 => format!(" Packet {number}, sent {}, holds them as they are.", day(*sent_at)),
            n => format!(" {} changed since packet {number} was sent.", capital(&counted(n, "sheet", "sheets"))),
        });
    } else if !packets.is_empty() {
        lead.push_str(" No packet was sent yet.");
    }
    Ok(PacketPage {
        frame: farmer.frame(Tab::Dates),
        draft,
        id,
        day: long(now.date.kill_on, today),
        lead,
        rows: rows(&now, &unfit),
        unfit: unfit.len(),
        open: now.sides.iter().filter_map(|a| Some((a.shared.url(), a.open_words()?))).collect(),
        missing,
        packets: packets
            .iter()
            .map(|(p, message)| Made {
                link: Link::new(format!("/packets/{}.pdf", p.id), format!("Packet {}", p.number)),
                when: match p.sent_at {
                    Some(at) if message.is_some() => format!("Mailed {} by {}", day(at), p.sent_by),
                    Some(at) => format!("Given by hand {}, {}", day(at), p.sent_by),
                    None => format!("Made {}, not sent", day(p.made_at)),
                },
                // The Outbox is closed to helpers.
                message: message.filter(|_| farmer.sees_money()).map(|m| format!("/outbox/{m}")).unwrap_or_default(),
            })
            .collect(),
        unsent,
        plant: Link::new(format!("/processors/{}", now.plant.id), now.plant.name.clone()),
        plant_mail: now.plant.mail.clone(),
        is_changed: changed > 0,
        is_custom: now.plant.inspection == Inspection::Custom,
        can_make: now.date.cancelled_at.is_none() && !now.shares.is_empty(),
    })
}

fn rows(now: &Ready, unfit: &[Unfit]) -> Vec<Row> {
    let changed: Vec<_> = now.changed().iter().map(|s| s.reservation).collect();
    now.shares
        .iter()
        .map(|s| {
            let animal = now.head.iter().find(|a| a.id == s.animal).map(|a| a.name()).unwrap_or_default();
            let standing = match now.sheets.get(&s.reservation) {
                None => Standing::todo("Missing"),
                Some(_) if unfit.iter().any(|u| u.reservation == s.reservation) => Standing::late("Does not fit"),
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
        Ok(url) => Ok(notice::with(see_other(&url), "The packet is made. Look at it, then send it to the plant.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}

/// Mails the packet to the plant, or notes that it was given by hand.
pub(super) async fn send(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let (by_mail, anyway) = (form.raw("how") == "mail", form.tick("anyway"));
    let Some(packet) = form.id("packet", "Packet").map(PacketId) else {
        return Ok(refused(&form_page(&farmer, &app, id, form.into_draft()).await?));
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        if anyway {
            standard_where_open(tx, doing, id)?;
        }
        if by_mail {
            mail_packet(tx, doing, packet)?;
        } else {
            hand_over_packet(tx, doing, packet)?;
        }
        Ok(format!("/dates/{id}/packet"))
    });
    let says = match (by_mail, app.config.smtp_url.is_some()) {
        (true, true) => "The packet is on its way to the plant.",
        (true, false) => "The packet waits in the Outbox: no mail server is set, so send its mail file yourself.",
        (false, _) => "Marked as given by hand.",
    };
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), says)),
        Err(f) => {
            let draft = refusal(&form, f)?.headed("The packet was not sent");
            Ok(refused(&form_page(&farmer, &app, id, draft).await?))
        }
    }
}

pub(super) async fn paper(_farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    let id = PacketId(*id);
    let (name, pdf) = app.read(move |c| packet_again(c, id)).await?;
    Ok(pdf_answer(&name, pdf))
}

impl PacketPage {
    /// Whether making a packet is what comes next: none was made yet, or the one made last does not hold any more.
    fn is_next(&self) -> bool {
        match &self.unsent {
            Some(u) => !u.is_current,
            None => self.packets.is_empty() || self.is_changed,
        }
    }
}
