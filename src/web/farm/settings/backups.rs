//! The copies of the book: how old the last verified one is, making one now, taking one away.

use crate::actions::Failure;
use crate::keep::copy::back_up;
use crate::keep::daily::{Status, status};
use crate::keep::folder;
use crate::keep::record::{Record, Why};
use crate::trade::dates;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::http::header::{ContentDisposition, DispositionParam, DispositionType};
use actix_web::{HttpResponse, web};
use askama::Template;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// Copies that are listed, at most; the rule keeps about thirty.
const LISTED: usize = 60;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/settings/backups", web::get().to(show));
    cfg.route("/settings/backups", web::post().to(make));
    cfg.route("/settings/backups/{file}", web::get().to(take));
}

struct Row {
    file: String,
    made: String,
    why: &'static str,
    size: String,
    rules: String,
    also_in: String,
}

#[derive(Template)]
#[template(path = "farm/backups.html")]
struct BackupsPage {
    frame: Frame,
    is_embedded: bool,
    /// Whether Gambrel makes the copies itself.
    is_ours: bool,
    standing: Standing,
    failure: String,
    rehearsed: String,
    folder: String,
    second: String,
    rows: Vec<Row>,
}

/// How the copies stand, in words: late when the last verified one is older than 48 hours.
pub fn standing(farmer: &Farmer, status: &Status) -> Standing {
    match &status.newest {
        None => Standing::late("There is no verified copy of the book yet"),
        Some(r) if status.is_late(farmer.now.at) => {
            Standing::late(format!("The last verified copy is {} old", age(farmer.now.at.0.saturating_sub(r.made_at))))
        }
        Some(r) => {
            Standing::done(format!("The last verified copy is {} old", age(farmer.now.at.0.saturating_sub(r.made_at))))
        }
    }
}

/// "5 minutes", "3 hours", "4 days".
fn age(ms: i64) -> String {
    let said = |n: i64, one: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {one}s") };
    match ms.max(0) / 60_000 {
        0 => "less than a minute".into(),
        m @ 1..60 => said(m, "minute"),
        m @ 60..2880 => said(m / 60, "hour"),
        m => said(m / 1440, "day"),
    }
}

fn moment(farmer: &Farmer, at: i64) -> String {
    let local = crate::book::at::At(at).utc().with_timezone(&farmer.now.zone);
    format!("{}, {}", dates::long(local.date_naive(), farmer.now.today), local.format("%-I:%M %p"))
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let config = app.config.clone();
    let (status, records) =
        web::block(move || (status(&config), folder::records(&folder::of(&config.data)))).await.map_err(blocked)?;
    let rows = records.iter().take(LISTED).map(|r| Row {
        file: r.file.clone(),
        made: moment(&farmer, r.made_at),
        why: r.why.words(),
        size: r.size(),
        rules: match &r.fault {
            None => r.rules.to_string(),
            Some(_) => "not all".into(),
        },
        also_in: if r.also_in.is_some() { "yes".into() } else { String::new() },
    });
    Ok(page(&BackupsPage {
        is_embedded: app.config.place.is_embedded(),
        is_ours: app.config.makes_copies(),
        standing: standing(&farmer, &status),
        failure: status.failure.map(|f| format!("{}: {}", moment(&farmer, f.at), f.why)).unwrap_or_default(),
        rehearsed: status.rehearsed_at.map(|at| moment(&farmer, at)).unwrap_or_default(),
        folder: folder::of(&app.config.data).display().to_string(),
        second: app.config.backup_to.as_ref().map(|p| p.display().to_string()).unwrap_or_default(),
        rows: rows.collect(),
        frame: farmer.frame(Tab::Settings),
    }))
}

async fn make(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (_, key) = sent.with_key();
    // The form is used up first: sent twice, it makes one copy.
    let is_first = Arc::new(AtomicBool::new(false));
    let first = is_first.clone();
    app.act(&farmer, &key, move |_, _| {
        first.store(true, Ordering::SeqCst);
        Ok("/settings/backups".into())
    })
    .await?;
    if !is_first.load(Ordering::SeqCst) {
        return Ok(see_other("/settings/backups"));
    }
    let (config, at) = (app.config.clone(), app.clock.at());
    let made = web::block(move || back_up(&config, at, Why::Asked)).await.map_err(blocked)?;
    let said = match made {
        Ok(Record { file, fault: Some(_), .. }) => format!("{file} was made, but not every rule of the book holds."),
        Ok(Record { file, .. }) => format!("{file} was made and verified."),
        // The page shows why, from the note that was left.
        Err(_) => "No copy was made; the reason stands below.".into(),
    };
    Ok(notice::with(see_other("/settings/backups"), &said))
}

async fn take(farmer: Farmer, app: web::Data<App>, file: web::Path<String>) -> Answer {
    let _ = farmer;
    let (config, name) = (app.config.clone(), file.into_inner());
    let asked = name.clone();
    let bytes = web::block(move || {
        let folder = folder::of(&config.data);
        // Only what has a record is a copy.
        let is_copy = folder::records(&folder).iter().any(|r| r.file == asked);
        is_copy.then(|| std::fs::read(folder.join(&asked)))
    });
    let bytes = bytes.await.map_err(blocked)?.ok_or(Failure::NotFound)?;
    let bytes = bytes.map_err(|e| Failure::Unexpected(format!("the copy cannot be read: {e}")))?;
    Ok(HttpResponse::Ok()
        .content_type(if name.ends_with(".sqlite") { "application/vnd.sqlite3" } else { "application/octet-stream" })
        .insert_header(ContentDisposition {
            disposition: DispositionType::Attachment,
            parameters: vec![DispositionParam::Filename(name)],
        })
        .body(bytes))
}

fn blocked(e: actix_web::error::BlockingError) -> Failure {
    Failure::Unexpected(e.to_string())
}

#[cfg(test)]
mod tests {
    use super::age;

    #[test]
    fn ages_are_said_as_people_say_them() {
        let minute = 60_000;
        assert_eq!(age(-5), "less than a minute");
        assert_eq!(age(minute), "1 minute");
        assert_eq!(age(59 * minute), "59 minutes");
        assert_eq!(age(60 * minute), "1 hour");
        assert_eq!(age(47 * 60 * minute), "47 hours");
        assert_eq!(age(49 * 60 * minute), "2 days");
    }
}
