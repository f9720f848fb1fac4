//! The bank: a statement is sent, and each line waits until somebody says what it is.

use super::bank_words::{LineRow, row};
use crate::actions::Failure;
use crate::actions::bank_file::{Of, Sent as FileSent, open, send as send_file};
use crate::book::bank::{self, Key};
use crate::book::bank_open::candidates;
use crate::book::ids::{BankAccountId, BankLineId};
use crate::trade::dates;
use crate::trade::sheet_file::MOST_BYTES;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::count;
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::refusal;
use crate::web::upload;
use actix_web::{HttpRequest, web};
use askama::Template;
use std::collections::HashMap;

/// Lines on a page.
const PAGE: usize = 20;
/// Statements that are listed.
const FILES: i64 = 8;

#[derive(Template)]
#[template(path = "farm/money/bank.html")]
struct BankPage {
    frame: Frame,
    draft: Draft,
    heading: String,
    lead: String,
    lines: Vec<LineRow>,
    newer: Option<Link>,
    older: Option<Link>,
    accounts: Choices,
    files: Vec<(String, String, String)>,
}

/// A page's key in an address: `2027-10-14_12`.
pub fn key_of(query: &HashMap<String, String>) -> Option<Key> {
    let (day, id) = query.get("before")?.split_once('_')?;
    Some((day.parse().ok()?, BankLineId(id.parse().ok()?)))
}

fn heading(added: i64, taken_off: i64) -> String {
    let all = usize::try_from(added.saturating_add(taken_off)).unwrap_or(usize::MAX);
    match all {
        0 => "Every line of the bank is settled".into(),
        1 => "One line of the bank waits for you".into(),
        n => format!("{} lines of the bank wait for you", count(n)),
    }
}

/// "Three", "None".
fn count_of(n: i64) -> String {
    match usize::try_from(n).unwrap_or(0) {
        0 => "None".into(),
        n => count(n),
    }
}

async fn list_page(
    farmer: &Farmer,
    app: &App,
    before: Option<Key>,
    draft: Option<Draft>,
) -> Result<BankPage, PageError> {
    let today = farmer.now.today;
    let (mut lines, (added, taken_off), accounts, files, found) = app
        .read(move |c| {
            let lines = bank::untied(c, before, PAGE as i64 + 1)?;
            let days = lines.iter().map(|l| l.day).min().zip(lines.iter().map(|l| l.day).max());
            let found = match days {
                Some((first, last)) => candidates(c, first, last)?,
                None => Vec::new(),
            };
            Ok((lines, bank::count_untied(c)?, bank::accounts(c)?, bank::files(c, FILES)?, found))
        })
        .await?;
    let more = lines.len() > PAGE;
    lines.truncate(PAGE);
    let last = lines.last().map(|l| format!("/money/bank?before={}_{}#lines", l.day, l.id));
    let fresh = || match accounts.first() {
        Some(first) => Draft::empty().with("account", first.id.to_string()),
        None => Draft::empty().with("account", "new"),
    };
    let draft = draft.unwrap_or_else(fresh);
    let mut choices: Choices = accounts.iter().map(|a| (a.id.to_string(), a.name.clone())).collect();
    choices.push(("new".into(), "Another account".into()));
    Ok(BankPage {
        frame: farmer.frame(Tab::Money),
        draft,
        heading: heading(added, taken_off),
        lead: match (files.is_empty(), added + taken_off) {
            (true, _) => "Send a statement of your bank. Each line is kept once, and nothing is booked before you say what it is.".into(),
            (_, 0) => "Send the next statement when there is one.".into(),
            _ => format!(
                "{} came in, {} went out. Nothing is booked before you say what a line is.",
                count_of(added),
                count_of(taken_off).to_lowercase()
            ),
        },
        lines: lines.iter().map(|l| row(l, &found, today)).collect(),
        newer: before.map(|_| Link::new("/money/bank#lines", "Newest lines")),
        older: last.filter(|_| more).map(|href| Link::new(href, "Older lines")),
        accounts: choices,
        files: files
            .iter()
            .map(|(f, account)| {
                let new = match (f.new_count, f.line_count) {
                    (0, n) => format!("{n} lines, none of them new"),
                    (new, n) if new == n => format!("{n} lines"),
                    (new, n) => format!("{n} lines, {new} of them new"),
                };
                (account.clone(), dates::span(f.first_on, f.last_on, today), new)
            })
            .collect(),
    })
}

/// The page; `?before=` pages through the lines that wait.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    Ok(page(&list_page(&farmer, &app, key_of(&query), None).await?))
}

/// Takes a statement in.
///
/// # Errors
/// When the book cannot be written.
pub async fn send(req: HttpRequest, farmer: Farmer, app: web::Data<App>, body: web::Payload) -> Answer {
    let mut sent = upload::read(&req, body, "file", MOST_BYTES).await?;
    let file = std::mem::take(&mut sent.file);
    let opened = if sent.is_too_large {
        let mb = MOST_BYTES / 1024 / 1024;
        Err(Failure::refuse("file", format!("The file has more than {mb} MB. Ask the bank for a shorter time.")))
    } else if file.is_empty() {
        Err(Failure::refuse("file", "Choose the file of your bank"))
    } else {
        web::block(move || open(&file)).await.map_err(|e| Failure::Unexpected(e.to_string()))?
    };
    let chosen = sent.form.raw("account").to_string();
    let name = sent.form.optional_text("name", "Name of the account", 60);
    let opened = match (opened, name) {
        (Ok(opened), Some(name)) => Ok((opened, name)),
        (Ok(_), None) => Err(sent.form.clone().into_draft()),
        (Err(f), _) => Err(refusal(&sent.form, f)?),
    };
    let (opened, name) = match opened {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&list_page(&farmer, &app, None, Some(draft)).await?)),
    };
    let of = match chosen.parse::<i64>() {
        Ok(id) => Of::Known(BankAccountId(id)),
        Err(_) => Of::New(name),
    };
    let file_name = sent.file_name.clone();
    let done = app.act(&farmer, &sent.key, move |tx, doing| {
        Ok(match send_file(tx, doing, &of, &file_name, &opened)? {
            FileSent::Taken(_) => "/money/bank".to_string(),
            FileSent::Columns(id) => format!("/money/bank/files/{id}"),
        })
    });
    match done.await {
        Ok(url) if url == "/money/bank" => {
            Ok(notice::with(see_other(&url), "The statement is read. What is new in it stands below."))
        }
        Ok(url) => Ok(see_other(&url)),
        Err(f) => Ok(refused(&list_page(&farmer, &app, None, Some(refusal(&sent.form, f)?)).await?)),
    }
}
