//! Today: what is due now, in order; late first, each line with its one button. The heading is the answer.

use crate::actions::Failure;
use crate::actions::pickup_waiting::waiting;
use crate::actions::plant_offer::unfit;
use crate::book::today::{self, NextDate};
use crate::keep::TOO_OLD;
use crate::keep::daily::status;
use crate::keep::folder;
use crate::trade::dates;
use crate::trade::overdue::Tone;
use crate::trade::vocabulary::Condemned;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::heads::{free_quarters, free_words, rail_of};
use crate::web::farm::settings::backups;
use crate::web::farmer::Farmer;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::rail::{Defs, Rail};
use crate::web::look::respond::page;
use crate::web::look::words::count;
use crate::web::look::{Frame, Tab, capital};
use actix_web::web;
use askama::Template;
use lines::{Act, Section};

mod lines;
mod pickup;
mod plants;
mod sheets;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/", web::get().to(show));
}

struct Head {
    rail: Rail,
    href: String,
    name: String,
    owners: String,
    standing: Standing,
}

struct OnTheRail {
    heading: String,
    date: Link,
    plant: String,
    head: Vec<Head>,
    more: usize,
}

#[derive(Template)]
#[template(path = "farm/today.html")]
struct TodayPage {
    frame: Frame,
    day: String,
    heading: String,
    lead: String,
    sections: Vec<Section>,
    next: Option<OnTheRail>,
}

impl TodayPage {
    fn defs(&self) -> Defs {
        Defs::MEDIUM
    }
}

async fn show(farmer: Farmer, app: web::Data<App>) -> Answer {
    let (today, has_smtp) = (farmer.now.today, app.config.smtp_url.is_some());
    let (farm, now) = (farmer.farm.clone(), farmer.now);
    let (due, unfit, waiting) = app
        .read(move |c| {
            let due =
                today::due(c, now, has_smtp, &Tone::ALL.iter().map(|t| t.purpose().as_str()).collect::<Vec<_>>())?;
            let dates: Vec<_> = due.sheets.iter().map(|a| (&a.date, &a.plant, a.shares.as_slice())).collect();
            let unfit = unfit(c, &farm, today, &dates)?;
            Ok((due, unfit, waiting(c, now)?))
        })
        .await?;
    let copies = old_copies(&farmer, &app).await?;
    let sections = lines::sections(&due, &unfit, &waiting, copies, now);
    let sections = if farmer.sees_money() { sections } else { lines::for_helper(sections) };
    let steps = sections.iter().filter(|s| s.id == lines::STEPS).map(|s| s.all).sum();
    let late = sections.iter().filter(|s| s.id == lines::LATE).map(|s| s.all).sum();
    let all = sections.iter().map(|s| s.all).sum();
    Ok(page(&TodayPage {
        frame: farmer.frame(Tab::Today),
        day: today.format("%A, %B %-d, %Y").to_string(),
        heading: heading(all, late, steps),
        lead: if all == 0 { "Nobody waits for you, and nothing is late.".into() } else { String::new() },
        sections,
        next: due.next.map(|next| on_the_rail(next, today)),
    }))
}

/// The age of the last verified copy of the book, when it is too old; not of the demo, and not in a farm's first two days.
async fn old_copies(farmer: &Farmer, app: &App) -> Result<Option<Standing>, Failure> {
    let is_new = farmer.farm.set_up_at.is_none_or(|at| farmer.now.at.0.saturating_sub(at.0) <= TOO_OLD);
    if !app.config.makes_copies() || farmer.farm.is_demo {
        return Ok(None);
    }
    let config = app.config.clone();
    // Without the folder nobody has begun to copy: the service makes it when it starts.
    let looked = web::block(move || folder::of(&config.data).is_dir().then(|| status(&config)));
    let Some(status) = looked.await.map_err(|e| Failure::Unexpected(e.to_string()))? else { return Ok(None) };
    let is_late = status.is_late(farmer.now.at) && !(is_new && status.newest.is_none());
    Ok(is_late.then(|| backups::standing(farmer, &status)))
}

/// "Seven things to do, two of them late".
fn heading(all: usize, late: usize, steps: usize) -> String {
    let things = |n: usize| format!("{} {} to do", count(n), if n == 1 { "thing" } else { "things" });
    match (all, late) {
        (0, _) => "Nothing to do today".into(),
        (n, _) if n == steps && n == 1 => "One step to begin".into(),
        (n, _) if n == steps => format!("{} steps to begin", count(n)),
        (n, 0) => things(n),
        (1, 1) => "One thing to do, and it is late".into(),
        (n, l) if n == l => format!("{}, all late", things(n)),
        (n, l) => format!("{}, {} of them late", things(n), count(l).to_lowercase()),
    }
}

fn on_the_rail(next: NextDate, today: chrono::NaiveDate) -> OnTheRail {
    let NextDate { date, kill_on, processor, head, all, shares, weighed } = next;
    let drawn: Vec<_> = head
        .iter()
        .map(|animal| {
            let weigh_in = weighed.get(&animal.id);
            let rail = rail_of(animal, &shares, weigh_in);
            let owners: Vec<_> = rail.owners().into_iter().map(|o| format!("{} {}", o.letter, o.name)).collect();
            Head {
                href: format!("/animals/{}", animal.id),
                name: animal.name(),
                owners: owners.join(", "),
                standing: match (weigh_in, free_quarters(animal, &shares)) {
                    (Some(w), _) if w.condemned == Condemned::Whole => Standing::late("Condemned"),
                    (Some(_), _) => Standing::done("Weighed"),
                    (None, 0) => Standing::done("All sold"),
                    (None, n) => Standing::todo(free_words(n)),
                },
                rail,
            }
        })
        .collect();
    OnTheRail {
        heading: format!("Next on the rail: {}", dates::long(kill_on, today)),
        date: Link::new(format!("/dates/{date}"), format!("Open {}", dates::long(kill_on, today))),
        plant: capital(&processor),
        more: all.saturating_sub(drawn.len()),
        head: drawn,
    }
}

#[cfg(test)]
mod tests {
    use super::heading;

    #[test]
    fn the_heading_is_the_answer() {
        for (given, says) in [
            ((0, 0, 0), "Nothing to do today"),
            ((7, 2, 0), "Seven things to do, two of them late"),
            ((1, 0, 0), "One thing to do"),
            ((1, 1, 0), "One thing to do, and it is late"),
            ((3, 3, 0), "Three things to do, all late"),
            ((5, 0, 5), "Five steps to begin"),
            ((1, 0, 1), "One step to begin"),
            ((6, 0, 2), "Six things to do"),
            ((31, 14, 0), "31 things to do, 14 of them late"),
        ] {
            assert_eq!(heading(given.0, given.1, given.2), says);
        }
    }
}
