//! The demo farm: an invented farm with invented people, in a book of its own.
//!
//! Its season is told through the real actions, with days counted back from today, so that whoever opens it finds a farm in
//! the middle of its work: one date done and mostly paid, one being weighed, one to prepare, one to come.

mod asked;
mod bank;
mod came_home;
mod cast;
mod coming;
mod costs;
mod farm;
mod listed;
mod moved;
mod past;
mod pickup;
mod plants;
mod scale_file;
mod shop;
mod teller;
mod under_way;

use crate::actions::keep_time::{BY_ITSELF, JOBS};
use crate::actions::{Doing, Failure, accounts as account_actions, plant_link, private_link};
use crate::book::at::Now;
use crate::book::conn::Place;
use crate::book::rows::accounts::NewAccount;
use crate::book::store::Store;
use crate::book::{accounts, dates, farm as stored, people, reservations};
use crate::clock::Clock;
use crate::config::Config;
use crate::trade::fold::fold;
use crate::trade::vocabulary::Role;
use std::path::Path;
use teller::Teller;

/// The demo's sign-in; works for the demo's book only.
pub const MAIL: &str = "ada@nettlebend.example";
/// The demo's helper, who sees no money.
pub const HELPER: &str = "dov@nettlebend.example";
/// The demo's password, of both.
pub const PASSWORD: &str = "ink on butcher paper";

/// The settings of the demo: its own folder, no database server, and no mail server, because its people are invented.
pub fn settings(mut config: Config, folder: &Path) -> Config {
    config.place = Place::in_folder(folder);
    config.data = folder.to_path_buf();
    (config.smtp_url, config.mail_from) = (None, None);
    config
}

/// Opens the demo's book and fills it when it is new; with `anew` a demo that is there is thrown away first.
///
/// # Errors
/// A sentence for the operator: the book is not a demo, or cannot be opened, written or removed.
pub fn open(config: &Config, clock: &Clock, anew: bool) -> Result<Store, String> {
    let refuse = || {
        let kept = config.place.shown();
        format!("{kept} holds a farm of its own, not the demo. Name another folder with --folder.")
    };
    let is_there = matches!(&config.place, Place::File(path) if path.exists());
    let store = Store::open(config.place.clone())?;
    let farm = |s: &Store| s.read(|c| Ok::<_, Failure>((accounts::count(c)?, stored::get(c)?.is_demo)));
    if is_there {
        match farm(&store) {
            Ok((_, true)) if anew => {
                drop(store);
                remove(&config.place)?;
                return open(config, clock, false);
            }
            Ok((_, true)) => return Ok(store),
            // A book without a farm: filling was cut off before it began.
            Err(Failure::NotFound) => {}
            Ok(_) => return Err(refuse()),
            Err(e) => return Err(e.to_string()),
        }
    }
    fill(&store, clock).map_err(|e| format!("the demo farm could not be made: {e}"))?;
    Ok(store)
}

fn remove(place: &Place) -> Result<(), String> {
    let Some(path) = place.file() else { return Ok(()) };
    for end in ["", "-wal", "-shm"] {
        let mut name = path.as_os_str().to_os_string();
        name.push(end);
        match std::fs::remove_file(&name) {
            Err(e) if e.kind() != std::io::ErrorKind::NotFound => {
                return Err(format!("the old demo at {} cannot be removed: {e}", place.shown()));
            }
            _ => {}
        }
    }
    Ok(())
}

/// The customer whose private link the demo prints: half a beef, with a cut sheet to send.
pub const CUSTOMER: &str = "Yusra Bell";

/// A fresh private link of [`CUSTOMER`]; `url` is where the service is.
///
/// # Errors
/// Those of the action; `None` when her order is not there any more or its links have ended.
pub fn customer_link(store: &Store, clock: &Clock, url: &str) -> Result<Option<String>, Failure> {
    let (token, at) = (private_link::new_token()?, clock.at());
    let made = store.write(|tx| {
        let zone = stored::get(tx.conn())?.zone();
        let doing = Doing { now: Now { at, today: at.day(zone), zone }, account: None, actor: BY_ITSELF.into() };
        let found = people::page(tx.conn(), &fold(CUSTOMER), None, 1)?;
        let Some(person) = found.first() else { return Ok(false) };
        let orders = reservations::of_customer(tx.conn(), person.id, 20)?;
        let Some((order, _)) = orders.into_iter().find(|(r, _)| r.cancelled_at.is_none()) else { return Ok(false) };
        private_link::show_link(tx, &doing, order.id, &token, false)?;
        Ok(true)
    });
    match made {
        Ok(made) => Ok(made.then(|| private_link::url(url, &token))),
        Err(Failure::Refused(_)) => Ok(None),
        Err(e) => Err(e),
    }
}

/// A fresh private link of the plant to the date that is being weighed; `url` is where the service is.
///
/// # Errors
/// Those of the action; `None` when no date waits for weights or its links have ended.
pub fn plant_link(store: &Store, clock: &Clock, url: &str) -> Result<Option<String>, Failure> {
    let (token, at) = (private_link::new_token()?, clock.at());
    let made = store.write(|tx| {
        let zone = stored::get(tx.conn())?.zone();
        let doing = Doing { now: Now { at, today: at.day(zone), zone }, account: None, actor: BY_ITSELF.into() };
        let open = dates::without_weights(tx.conn(), doing.now.today)?;
        let Some(date) = open.first() else { return Ok(false) };
        plant_link::show_link(tx, &doing, date.date, &token, false)?;
        Ok(true)
    });
    match made {
        Ok(made) => Ok(made.then(|| plant_link::url(url, &token))),
        Err(Failure::Refused(_)) => Ok(None),
        Err(e) => Err(e),
    }
}

/// Writes the whole season into an empty book, all of it or nothing, and then takes a list of neighbors.
///
/// # Errors
/// Those of the actions; a demo that cannot be told is a fault of ours.
pub fn fill(store: &Store, clock: &Clock) -> Result<(), Failure> {
    let password_hash = account_actions::hash_password(PASSWORD)?;
    let at = clock.at();
    let yesterday = store.write(|tx| {
        let mut t = Teller::new(tx, at);
        let began = t.doing(-210, 8).now.at;
        farm::set_up(&mut t)?;
        let owner = NewAccount {
            mail: MAIL.into(),
            name: "Ada Moen".into(),
            password_hash: password_hash.clone(),
            role: Role::Farmer,
            created_at: began,
            disabled_at: None,
        };
        let helper = NewAccount {
            mail: HELPER.into(),
            name: "Dov Arnesen".into(),
            role: Role::Helper,
            created_at: t.doing(-180, 8).now.at,
            ..owner.clone()
        };
        accounts::insert(t.tx, &owner)?;
        accounts::insert(t.tx, &helper)?;
        asked::write(&mut t)?;
        let farm = farm::sell(&mut t)?;
        shop::open(&mut t, &farm)?;
        let people = cast::enter(&mut t)?;
        past::tell(&mut t, &farm, &people)?;
        under_way::tell(&mut t, &farm, &people)?;
        coming::tell(&mut t, &farm, &people)?;
        asked::tell(&mut t, &farm)?;
        bank::tell(&mut t)?;
        // What Gambrel did by itself yesterday morning.
        let morning = Doing { actor: BY_ITSELF.into(), ..t.doing(-1, 9) };
        for job in JOBS {
            (job.run)(t.tx, &morning)?;
        }
        Ok::<_, Failure>(t.doing(-1, 10))
    })?;
    listed::take(store, &yesterday)
}
