//! The requests that wait for an answer, and those answered lately.

use crate::book::requests::{self, Asked};
use crate::trade::dates;
use crate::trade::requests::{RequestEnd, Requests};
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::page;
use crate::web::look::words::{count, counted};
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;

/// Answered requests that are shown.
const ANSWERED: i64 = 50;

struct Row {
    who: Link,
    share: String,
    when: String,
    standing: Standing,
}

#[derive(Template)]
#[template(path = "farm/requests/list.html")]
struct ListPage {
    frame: Frame,
    heading: String,
    lead: String,
    open: Vec<Row>,
    more: usize,
    answered: Vec<Row>,
    is_off: bool,
}

fn row(farmer: &Farmer, (r, o): &Asked) -> Row {
    let today = farmer.now.today;
    let day = |at: crate::book::at::At| dates::short(at.day(farmer.now.zone), today);
    let share = format!("{}, {}", capital(&words::kind(r.size, r.part, o.species)), o.season);
    let standing = match (r.outcome, r.answered_at) {
        (Some(RequestEnd::Accepted), Some(at)) => Standing::done(format!("Accepted {}", day(at))),
        (Some(RequestEnd::Declined), Some(at)) => Standing::wait(format!("Declined {}", day(at))),
        _ => Standing::todo("To answer"),
    };
    Row { who: Link::new(format!("/requests/{}", r.id), r.name.clone()), share, when: day(r.asked_at), standing }
}

/// The page.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let (open, unconfirmed, answered) = app
        .read(|c| Ok((requests::to_answer(c)?, requests::unconfirmed(c)?, requests::answered(c, ANSWERED)?)))
        .await?;
    let heading = match open.all {
        0 => "No request waits for you".to_string(),
        1 => "One request to answer".into(),
        n => format!("{} requests to answer", count(n)),
    };
    let waiting = usize::try_from(unconfirmed).unwrap_or(0);
    let lead = match waiting {
        0 => String::new(),
        n => format!(
            "{} to confirm the mail address; nothing is to be done for {}.",
            capital(&counted(n, "more request still has", "more requests still have")),
            if n == 1 { "it" } else { "them" }
        ),
    };
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Orders),
        heading,
        lead,
        more: open.more(),
        open: open.first.iter().map(|r| row(&farmer, r)).collect(),
        answered: answered.iter().map(|r| row(&farmer, r)).collect(),
        is_off: farmer.farm.requests == Requests::Off,
    }))
}
