//! Lists from spreadsheets: which there are, an empty file of each, and the way of a list into the book.

use crate::book::imports;
use crate::book::rows::imports::ImportTaken;
use crate::trade::csv::{Cell, row};
use crate::trade::dates::long;
use crate::trade::import_file::Kind;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::respond::{CSV, attachment, page};
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;

mod columns;
mod look;
mod send;

/// Lists taken before that the page shows.
const SHOWN: i64 = 12;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/import", web::get().to(list));
    cfg.route("/import/{kind}", web::get().to(send::ask));
    cfg.route("/import/{kind}", web::post().to(send::send));
    cfg.route("/import/{kind}/empty.csv", web::get().to(empty));
    cfg.route("/import/{kind}/{file}", web::get().to(columns::ask));
    cfg.route("/import/{kind}/{file}", web::post().to(columns::choose));
    cfg.route("/import/{kind}/{file}/look", web::get().to(look::show));
    cfg.route("/import/{kind}/{file}/look", web::post().to(look::take));
}

/// The kind an address names.
fn kind(word: &str) -> Result<Kind, PageError> {
    word.parse().map_err(|_| PageError::Failed(crate::actions::Failure::NotFound))
}

/// What a list of this kind is good for, in one or two sentences.
pub(super) const fn says(kind: Kind) -> &'static str {
    match kind {
        Kind::Customers => {
            "Name, mail address, phone, address. Who is in the book already is known by mail address, or by name and phone."
        }
        Kind::Offerings => {
            "What is for sale, a line for each price: species, season, head, share, price, deposit, the day it holds from."
        }
        Kind::Animals => "Tag, class, birth date, breed, official ID. Live head with the same tag are there already.",
        Kind::Reservations => {
            "Who has which share of what, perhaps with the deposit that came in. New customers are added; what is for sale has to be in the book."
        }
        Kind::Payments => "Money that came in: as a deposit on an order, for an invoice, or as credit.",
    }
}

struct Taken {
    day: String,
    what: String,
    by: String,
}

#[derive(Template)]
#[template(path = "farm/import/list.html")]
struct ListPage {
    frame: Frame,
    kinds: Vec<(Kind, &'static str)>,
    taken: Vec<Taken>,
}

async fn list(farmer: Farmer, app: web::Data<App>) -> Answer {
    let rows = app.read(|c| Ok(imports::taken_last(c, SHOWN)?)).await?;
    let taken = |t: ImportTaken| Taken {
        day: long(t.taken_at.day(farmer.now.zone), farmer.now.today),
        what: format!(
            "“{}”, {}: {} new",
            t.name,
            t.kind.parse::<Kind>().map_or(t.kind.clone(), |k| k.label().to_lowercase()),
            t.made
        ),
        by: t.taken_by,
    };
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Settings),
        kinds: Kind::ALL.iter().map(|k| (*k, says(*k))).collect(),
        taken: rows.into_iter().map(taken).collect(),
    }))
}

/// An empty file with the headings that are understood.
async fn empty(_farmer: Farmer, word: web::Path<String>) -> Answer {
    let kind = kind(&word)?;
    let headings: Vec<Cell> = kind.fields().iter().map(|f| f.label().into()).collect();
    Ok(attachment(&format!("{kind}-empty.csv"), CSV, row(&headings)))
}
