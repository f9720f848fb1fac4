//! Every line of a list with what would be made of it, and the button that takes all of them.

use super::kind;
use crate::actions::Failure;
use crate::actions::import_list::{Fate, Opened, Preview, Row, Take, look, rehearse, take_list};
use crate::book::ids::ImportFileId;
use crate::trade::dates::full;
use crate::trade::import_file::Kind;
use crate::trade::sheet_file::Fault;
use crate::web::app::{App, Doer};
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::counted;
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// So many faults are shown; the rest is counted.
const FAULTS: usize = 50;
/// Lines on a page.
const PAGE: usize = 200;

struct Line {
    number: usize,
    standing: Standing,
    what: String,
    detail: String,
}

#[derive(Template)]
#[template(path = "farm/import/look.html")]
struct LookPage {
    frame: Frame,
    draft: Draft,
    kind: Kind,
    file: ImportFileId,
    name: String,
    lead: String,
    counts: String,
    /// When the same list was taken, and by whom.
    taken: String,
    faults: Vec<String>,
    faults_more: usize,
    lines: Vec<Line>,
    before: Option<Link>,
    shown: String,
    after: Option<Link>,
    new: usize,
    fingerprint: String,
}

fn line(row: &Row) -> Line {
    Line {
        number: row.line,
        standing: match row.fate {
            Fate::New => Standing::plain(Fate::New.label()),
            Fate::There => Standing::done(Fate::There.label()),
            Fate::LeftOut => Standing::wait(Fate::LeftOut.label()),
        },
        what: row.what.clone(),
        detail: row.detail.clone(),
    }
}

fn lead(seen: &Preview, of_file: usize) -> String {
    let lines = capital(&counted(of_file, "line", "lines"));
    if !seen.faults.is_empty() {
        return format!("{lines} read. Something has to be corrected first; nothing is saved before.");
    }
    match seen.count(Fate::New) {
        0 => format!("{lines} read. Nothing in it is new."),
        1 => format!("{lines} read; one would be taken into the book. Nothing is saved yet."),
        n => format!(
            "{lines} read; {} would be taken into the book, all together or none. Nothing is saved yet.",
            counted(n, "line", "lines")
        ),
    }
}

fn look_page(farmer: &Farmer, opened: &Opened, seen: &Preview, from: usize, draft: Draft) -> LookPage {
    let (kind, file) = (opened.kind, opened.file.id);
    let taken = opened.taken.as_ref().map(|t| {
        let day = full(t.taken_at.day(farmer.now.zone));
        format!(
            "The same file was taken on {day}, by {}. Lines that are in the book already are not taken twice.",
            t.taken_by
        )
    });
    let all = seen.rows.len();
    let from = if from < all { from } else { 0 };
    let to = from.saturating_add(PAGE).min(all);
    let url = |from: usize| format!("/import/{kind}/{file}/look?from={from}#lines");
    let counts = [
        (seen.count(Fate::New), "new"),
        (seen.count(Fate::There), "in the book already"),
        (seen.count(Fate::LeftOut), "left out"),
    ];
    let counts = counts.into_iter().filter(|(n, _)| *n > 0).map(|(n, words)| format!("{n} {words}"));
    LookPage {
        frame: farmer.frame(Tab::Settings),
        draft,
        kind,
        file,
        name: opened.file.name.clone(),
        lead: lead(seen, opened.table.lines.len()),
        counts: counts.collect::<Vec<_>>().join(", "),
        taken: taken.unwrap_or_default(),
        faults: seen.faults.iter().take(FAULTS).map(Fault::sentence).collect(),
        faults_more: seen.faults.len().saturating_sub(FAULTS),
        lines: seen.rows.iter().skip(from).take(PAGE).map(line).collect(),
        before: (from > 0).then(|| Link::new(url(from.saturating_sub(PAGE)), "Earlier lines")),
        shown: format!("{} to {to} of {all}", from.saturating_add(1)),
        after: (to < all).then(|| Link::new(url(to), "Later lines")),
        new: seen.count(Fate::New),
        fingerprint: seen.fingerprint.clone(),
    }
}

async fn tried(farmer: &Farmer, app: &App, kind: Kind, file: ImportFileId) -> Result<(Opened, Preview), PageError> {
    let opened = app.read(move |c| look(c, kind, file)).await?;
    if !opened.is_matched {
        return Err(PageError::Elsewhere(format!("/import/{kind}/{file}")));
    }
    let (store, doing) = (app.store.clone(), farmer.doing());
    let tried = web::block(move || rehearse(&store, &doing, kind, file)).await;
    Ok(tried.map_err(|e| Failure::Unexpected(e.to_string()))??)
}

pub(super) async fn show(
    farmer: Farmer,
    app: web::Data<App>,
    at: web::Path<(String, i64)>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let (kind, file) = (kind(&at.0)?, ImportFileId(at.1));
    let (opened, seen) = tried(&farmer, &app, kind, file).await?;
    let from = query.get("from").and_then(|f| f.parse().ok()).unwrap_or(0);
    Ok(page(&look_page(&farmer, &opened, &seen, from, Draft::empty())))
}

pub(super) async fn take(farmer: Farmer, app: web::Data<App>, at: web::Path<(String, i64)>, sent: Sent) -> Answer {
    let (kind, file) = (kind(&at.0)?, ImportFileId(at.1));
    let (form, key) = sent.with_key();
    let take = Take { fingerprint: form.line("fingerprint"), again: form.tick("again") };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let taken = take_list(tx, doing, kind, file, &take)?;
        Ok(format!("/import?made={}", taken.made))
    });
    match done.await {
        Ok(url) => {
            let made: usize = url.rsplit('=').next().and_then(|n| n.parse().ok()).unwrap_or(0);
            let says = format!("{}: {} taken into the book.", kind.label(), counted(made, "line", "lines"));
            Ok(notice::with(see_other("/import"), &says))
        }
        Err(Failure::Stale) => {
            let says = "The book or the columns were changed after this page was shown. Nothing was taken. Look the lines over again.";
            let draft = form.refuse("", says).headed("Something changed in between");
            again(&farmer, &app, kind, file, draft).await
        }
        Err(f) => again(&farmer, &app, kind, file, refusal(&form, f)?).await,
    }
}

/// The page once more, as things stand now.
async fn again(farmer: &Farmer, app: &App, kind: Kind, file: ImportFileId, draft: Draft) -> Answer {
    let (opened, seen) = tried(farmer, app, kind, file).await?;
    Ok(refused(&look_page(farmer, &opened, &seen, 0, draft)))
}
