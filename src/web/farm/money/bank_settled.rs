//! Lines of a bank that are settled: what each is, and a button that opens it again.

use super::bank::key_of;
use super::bank_words::{says, settled, words};
use crate::book::bank;
use crate::book::bank_open::payers;
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// Lines on a page.
const PAGE: usize = 30;

struct Row {
    id: i64,
    day: String,
    says: String,
    words: String,
    what: String,
    link: Option<Link>,
}

#[derive(Template)]
#[template(path = "farm/money/bank_settled.html")]
struct SettledPage {
    frame: Frame,
    rows: Vec<Row>,
    newer: Option<Link>,
    older: Option<Link>,
}

/// The page; `?before=` for older ones.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let (today, before) = (farmer.now.today, key_of(&query));
    let (mut lines, mut names) = app
        .read(move |c| {
            let lines = bank::tied(c, before, PAGE as i64 + 1)?;
            let ids: Vec<_> = lines.iter().filter_map(|(_, t)| t.payment_id).collect();
            Ok((lines, payers(c, &ids)?))
        })
        .await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let last = lines.last().map(|(l, _)| format!("/money/bank/settled?before={}_{}", l.day, l.id));
    Ok(page(&SettledPage {
        frame: farmer.frame(Tab::Money),
        rows: lines
            .iter()
            .map(|(line, tie)| {
                let (what, link) = settled(tie, tie.payment_id.and_then(|id| names.remove(&id)));
                let day = dates::short(line.day, today);
                Row { id: line.id.0, day, says: says(line), words: words(line), what, link }
            })
            .collect(),
        newer: before.map(|_| Link::new("/money/bank/settled", "Newest lines")),
        older: last.filter(|_| more).map(|href| Link::new(href, "Older lines")),
    }))
}
