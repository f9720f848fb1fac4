//! Giving every share of a date its place, with a plain select each.

use crate::actions::Failure;
use crate::actions::place_share::{Move, Target, place_shares, target_of};
use crate::book::ids::{DateId, ReservationId};
use crate::book::placements;
use crate::book::{animals, carcasses, dates, unplaced};
use crate::trade::dates::long;
use crate::trade::share::{Part, Size, Species};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::heads::{all_targets, free_quarters, free_words, ordinal, rail_of, share_words};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Standing;
use crate::web::look::rail::{Defs, Rail};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::count;
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// One share with its select.
struct Line {
    reservation: ReservationId,
    field: String,
    name: String,
    why: String,
    /// Where it is now.
    now: String,
    targets: Choices,
    /// The invoice that fixes it where it is.
    invoice: Option<(String, String)>,
}

#[derive(Template)]
#[template(path = "farm/dates/shares.html")]
struct SharesPage {
    frame: Frame,
    draft: Draft,
    date: DateId,
    day: String,
    heads: Vec<(Rail, String, Standing)>,
    here: Vec<Line>,
    elsewhere: Vec<Line>,
}

impl SharesPage {
    const fn defs(&self) -> Defs {
        Defs::MEDIUM
    }
}

fn field(id: ReservationId) -> String {
    format!("share-{id}")
}

async fn asked(farmer: &Farmer, app: &App, id: DateId) -> Result<SharesPage, Failure> {
    let today = farmer.now.today;
    let (date, head, shares, weighed, invoiced, free, species) = app
        .read(move |c| {
            let (date, _) = dates::get(c, id)?;
            let head: Vec<_> = animals::on_date(c, id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
            let ids: Vec<_> = head.iter().map(|a| a.id).collect();
            let shares = placements::shares_on(c, &ids)?;
            let orders: Vec<_> = shares.iter().map(|s| s.reservation).collect();
            let species: Vec<Species> =
                Species::ALL.iter().copied().filter(|s| head.iter().any(|a| a.species == *s)).collect();
            let mut free = Vec::new();
            for one in &species {
                free.extend(unplaced::of_species(c, *one)?);
            }
            let weighed = carcasses::weigh_ins(c, &ids)?;
            Ok((date, head, shares, weighed, placements::invoiced(c, &orders)?, free, species))
        })
        .await?;
    let targets = |of: Species, size: Size| {
        let own: Vec<_> = head.iter().filter(|a| a.species == of).cloned().collect();
        all_targets(&own, size)
    };
    let words = |size: Size, part: Option<Part>, of: Species| format!("{} {}", share_words(size, part), of.label());
    let here = shares
        .iter()
        .map(|s| {
            let of = head.iter().find(|a| a.id == s.animal).map_or(Species::Beef, |a| a.species);
            let invoice = invoiced.iter().find(|i| i.reservation == s.reservation);
            Line {
                reservation: s.reservation,
                field: field(s.reservation),
                name: s.name.clone(),
                why: format!("Order {}, {}", s.number, words(s.size, s.part, of)),
                now: target_of(s).to_string(),
                targets: targets(of, s.size),
                invoice: invoice.map(|i| (format!("/invoices/{}", i.invoice), i.number.clone())),
            }
        })
        .collect();
    let elsewhere = free
        .into_iter()
        .filter(|u| species.contains(&u.species))
        .map(|u| {
            let waits = u.waiting.map(|n| format!(" · {} on the waiting list", ordinal(n))).unwrap_or_default();
            Line {
                reservation: u.reservation,
                field: field(u.reservation),
                name: u.name,
                why: format!("Order {}, {}{waits}", u.number, words(u.size, u.part, u.species)),
                now: String::new(),
                targets: targets(u.species, u.size),
                invoice: None,
            }
        })
        .collect();
    let heads = head
        .iter()
        .map(|a| {
            let standing = match free_quarters(a, &shares) {
                0 => Standing::done("All sold"),
                n => Standing::todo(free_words(n)),
            };
            (rail_of(a, &shares, weighed.get(&a.id)), a.name(), standing)
        })
        .collect();
    Ok(SharesPage {
        frame: farmer.frame(Tab::Dates),
        draft: Draft::empty(),
        date: id,
        day: long(date.kill_on, today),
        heads,
        here,
        elsewhere,
    })
}

fn filled(mut page: SharesPage) -> SharesPage {
    for line in page.here.iter().chain(&page.elsewhere) {
        page.draft = page.draft.or(&line.field, line.now.clone());
    }
    page
}

pub(super) async fn ask(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>) -> Answer {
    Ok(page(&filled(asked(&farmer, &app, *id).await?)))
}

pub(super) async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<DateId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let asked = asked(&farmer, &app, id).await?;
    let mut moves = Vec::new();
    for line in asked.here.iter().chain(&asked.elsewhere).filter(|l| l.invoice.is_none()) {
        let typed = form.line(&line.field);
        let to: Option<Target> = match typed.parse() {
            Ok(target) => Some(target),
            Err(()) if typed.is_empty() => None,
            Err(()) => {
                form.problem(&line.field, format!("{}: choose one of the list.", line.name));
                continue;
            }
        };
        // An order that appeared after the page was opened has no field in the form: it stays where it is.
        if form.all(&line.field).is_empty() {
            continue;
        }
        moves.push(Move { reservation: line.reservation, to, field: line.field.clone() });
    }
    if form.is_refused() {
        return Ok(refused(&filled(SharesPage { draft: form.into_draft(), ..asked })));
    }
    let n = moves.iter().filter(|m| {
        let line = asked.here.iter().chain(&asked.elsewhere).find(|l| l.reservation == m.reservation);
        line.is_some_and(|l| l.now != m.to.map(|t| t.to_string()).unwrap_or_default())
    });
    let n = n.count();
    let done = app.act(&farmer, &key, move |tx, doing| {
        place_shares(tx, doing, &moves)?;
        Ok(format!("/dates/{id}"))
    });
    let says =
        if n == 1 { "One share has a new place.".into() } else { format!("{} shares have new places.", count(n)) };
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), &says)),
        Err(f) => Ok(refused(&filled(SharesPage { draft: refusal(&form, f)?, ..asked }))),
    }
}
