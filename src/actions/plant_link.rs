//! Private links of processors: made, shown, mailed with the packet, renewed, revoked, opened.
//!
//! A link opens one processing date and nothing else, as a customer's opens one order ([`super::private_link`]): 192 random bits,
//! stored as a hash, several side by side, revoked together.

use super::{Doing, Failure};
use crate::book::at::{At, Now};
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, PlantLinkId};
use crate::book::rows::plant_page::{NewPlantLink, PlantSession};
use crate::book::rows::plants::ProcessingDate;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, farm, plant_links};
use crate::secret;
use crate::trade::dates::full;
use crate::trade::private_link::{DATE_OPEN_DAYS, date_opens_until};
use crate::trade::vocabulary::LinkFor;
use chrono::TimeDelta;

/// How long a browser that opened a link keeps the date open at most; the link may end sooner.
pub const SESSION_DAYS: i64 = 90;
/// The longest name of whoever opens a link, in characters.
pub const NAME: usize = 60;

/// The address of a link. `base` has no slash at its end.
pub fn url(base: &str, token: &str) -> String {
    format!("{base}/p/{token}")
}

/// Whether the links of a date open it today: until [`DATE_OPEN_DAYS`] days after slaughter or the last day of pickup.
pub fn opens(date: &ProcessingDate, now: Now) -> bool {
    date.cancelled_at.is_none() && now.today <= date_opens_until(date.kill_on, date.pickup_to)
}

/// Adds a link to a date whose links open it.
///
/// # Errors
/// [`Failure::Refused`] when the date is cancelled or too long past.
pub fn mint(tx: &mut Tx, now: Now, date: DateId, token: &str, made_for: LinkFor) -> Result<PlantLinkId, Failure> {
    let (d, _) = dates::get(tx.conn(), date)?;
    if d.cancelled_at.is_some() {
        return Err(Failure::refuse("", "This date is cancelled, so the plant has no page for it any more."));
    }
    if !opens(&d, now) {
        let sentence = format!("This date is more than {DATE_OPEN_DAYS} days past. The plant’s page of it has ended.");
        return Err(Failure::refuse("", sentence));
    }
    let new = NewPlantLink { date_id: date, token_hash: secret::hash(token), made_at: now.at, made_for };
    Ok(plant_links::insert(tx, &new)?)
}

/// Makes a link to be shown to the farmer this once. With `renew` the earlier ones stop working.
///
/// # Errors
/// As [`mint`].
pub fn show_link(tx: &mut Tx, doing: &Doing, date: DateId, token: &str, renew: bool) -> Result<(), Failure> {
    let gone = if renew { plant_links::revoke_all(tx, date, doing.now.at)? } else { 0 };
    mint(tx, doing.now, date, token, LinkFor::Shown)?;
    let detail = match gone {
        0 => String::new(),
        1 => "The one before it does not work any more.".into(),
        n => format!("The {n} before it do not work any more."),
    };
    let what =
        if renew { "The plant’s link was renewed and shown once" } else { "A link for the plant was shown once" };
    tell(tx, doing, date, what, detail)
}

/// Revokes every link of a date. Browsers that opened one are out at once.
///
/// # Errors
/// [`Failure::Refused`] when there is none.
pub fn revoke(tx: &mut Tx, doing: &Doing, date: DateId) -> Result<(), Failure> {
    if plant_links::revoke_all(tx, date, doing.now.at)? == 0 {
        return Err(Failure::refuse("", "This date has no link that works. Nothing was changed."));
    }
    tell(tx, doing, date, "The plant’s link was revoked", "Nobody can open the date by it any more.".into())
}

/// The date a token opens now, and its link; `None` for a token that opens nothing. Changes nothing.
///
/// # Errors
/// The database's own.
pub fn date_of(c: &mut DbConn, at: At, token: &str) -> Result<Option<(PlantLinkId, DateId)>, Failure> {
    let Some(link) = plant_links::live(c, &secret::hash(token))? else { return Ok(None) };
    let zone = farm::get(c)?.zone();
    let (date, _) = dates::get(c, link.date_id)?;
    let now = Now { at, today: at.day(zone), zone };
    Ok(opens(&date, now).then_some((link.id, date.id)))
}

/// Opens a link in a browser, for somebody called `name`: `cookie` goes into its cookie. The link stays good for other devices.
/// `false` when the token opens nothing.
///
/// # Errors
/// The database's own.
pub fn open_link(
    tx: &mut Tx,
    at: At,
    token: &str,
    name: &str,
    cookie: &str,
    form_secret: &str,
) -> Result<bool, Failure> {
    let Some((link_id, _)) = date_of(tx.conn(), at, token)? else { return Ok(false) };
    plant_links::begin_session(
        tx,
        &PlantSession {
            id_hash: secret::hash(cookie),
            link_id,
            name: name.to_string(),
            form_secret: form_secret.to_string(),
            made_at: at,
            last_seen_at: at,
            ends_at: at.plus(TimeDelta::days(SESSION_DAYS)),
        },
    )?;
    Ok(true)
}

fn tell(tx: &mut Tx, doing: &Doing, date: DateId, line: &str, detail: String) -> Result<(), Failure> {
    let (d, plant) = dates::get(tx.conn(), date)?;
    let detail = match detail.is_empty() {
        true => format!("It opens {} for {}.", full(d.kill_on), plant.name),
        false => detail,
    };
    Ok(stories::tell(
        tx,
        doing.now.at,
        &doing.actor,
        Line { line: line.into(), detail, date: Some(date), ..Line::default() },
    )?)
}
