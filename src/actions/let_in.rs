//! Letting other people of the farm in: a new account with a link to choose its password, and switching one off and on again.

use super::{Doing, Failure, Problems};
use crate::book::accounts;
use crate::book::ids::AccountId;
use crate::book::passwords;
use crate::book::rows::accounts::NewAccount;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::secret;
use crate::trade::vocabulary::Role;
use chrono::TimeDelta;

/// How long the link with which a new person chooses a password is good.
pub const LINK_DAYS: i64 = 7;
/// The most accounts a farm has; it is a farm, not a company.
pub const MOST: i64 = 50;
/// What stands in place of a hash until a password is chosen: no password fits it.
const NO_PASSWORD: &str = "none chosen yet";

/// A person who is to be let in.
#[derive(Debug, Clone)]
pub struct PersonIn {
    /// Name, as it stands in the history.
    pub name: String,
    /// Mail address they sign in with.
    pub mail: String,
    /// What they may do.
    pub role: Role,
}

/// Adds an account; the link with `token` lets its person choose a password within [`LINK_DAYS`].
///
/// # Errors
/// [`Failure::Refused`] when the address signs in already, or there are [`MOST`] accounts.
pub fn add_person(tx: &mut Tx, doing: &Doing, input: &PersonIn, token: &str) -> Result<AccountId, Failure> {
    let mail = input.mail.trim().to_lowercase();
    let all = accounts::all(tx.conn())?;
    let mut p = Problems::default();
    if let Some(there) = all.iter().find(|a| a.mail == mail) {
        let is_off =
            if there.disabled_at.is_some() { ". That account is switched off; switch it on again" } else { "" };
        p.add("mail", format!("{} signs in with this address already{is_off}", there.name));
    }
    if i64::try_from(all.len()).unwrap_or(i64::MAX) >= MOST {
        p.add("", format!("There are {MOST} accounts, the most there can be"));
    }
    p.check()?;
    let now = doing.now.at;
    let new = NewAccount {
        mail,
        name: input.name.trim().to_string(),
        password_hash: NO_PASSWORD.into(),
        role: input.role,
        created_at: now,
        disabled_at: None,
    };
    let id = accounts::insert(tx, &new)?;
    passwords::put_link(tx, id, &secret::hash(token), now, now.plus(TimeDelta::days(LINK_DAYS)))?;
    let line = format!("{} was given an account ({})", new.name, input.role.label().to_lowercase());
    stories::tell(tx, now, &doing.actor, Line { line, ..Line::default() })?;
    Ok(id)
}

/// Makes a new link for a person who has not chosen a password, or lost theirs; earlier ones stop working.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such account; [`Failure::Refused`] when it is switched off.
pub fn link_again(tx: &mut Tx, doing: &Doing, id: AccountId, token: &str) -> Result<(), Failure> {
    let account = accounts::all(tx.conn())?.into_iter().find(|a| a.id == id).ok_or(Failure::NotFound)?;
    if account.disabled_at.is_some() {
        return Err(Failure::refuse("", format!("{}’s account is switched off. Switch it on first.", account.name)));
    }
    let now = doing.now.at;
    passwords::put_link(tx, id, &secret::hash(token), now, now.plus(TimeDelta::days(LINK_DAYS)))?;
    let line = format!("{} was given a link to choose a password", account.name);
    stories::tell(tx, now, &doing.actor, Line { line, ..Line::default() })?;
    Ok(())
}

/// Switches an account off, which signs its browsers out at once, or on again.
///
/// # Errors
/// [`Failure::NotFound`] when there is no such account; [`Failure::Refused`] for one's own, so that a farmer is always left.
pub fn switch(tx: &mut Tx, doing: &Doing, id: AccountId, on: bool) -> Result<(), Failure> {
    let account = accounts::all(tx.conn())?.into_iter().find(|a| a.id == id).ok_or(Failure::NotFound)?;
    if doing.account == Some(id) {
        return Err(Failure::refuse("", "This is your own account. Another farmer can switch it off."));
    }
    if account.disabled_at.is_none() == on {
        return Ok(());
    }
    accounts::switch(tx, id, (!on).then_some(doing.now.at))?;
    if !on {
        accounts::end_sessions_of(tx, id)?;
        passwords::end_links(tx, id)?;
    }
    let line = format!("{}’s account was switched {}", account.name, if on { "on" } else { "off" });
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(())
}

/// Whether a person has chosen a password.
pub fn has_password(hash: &str) -> bool {
    hash != NO_PASSWORD
}
