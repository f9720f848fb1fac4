//! Another password: chosen by a person who knows the old one, or with a link that is good once.

use super::{Failure, second_factor};
use crate::book::at::At;
use crate::book::ids::AccountId;
use crate::book::rows::accounts::Account;
use crate::book::store::{Store, Tx};
use crate::book::{accounts, passwords, sign_ins};
use crate::config::Config;
use crate::secret;
use chrono::TimeDelta;

/// How long a link to choose another password is good.
pub const RESET_MINUTES: i64 = 30;

/// Stores a person's new password and signs every other browser of theirs out; returns how many.
///
/// # Errors
/// The database's own.
pub fn change(tx: &mut Tx, id: AccountId, password_hash: &str, this_browser: &str) -> Result<usize, Failure> {
    passwords::set(tx, id, password_hash)?;
    passwords::end_links(tx, id)?;
    Ok(sign_ins::end_others(tx, id, this_browser)?)
}

/// Makes a link with which the person of this mail address chooses another password; none when nobody has it.
///
/// # Errors
/// The database's own.
pub fn make_link(tx: &mut Tx, mail: &str, token: &str, now: At) -> Result<Option<Account>, Failure> {
    let Some(account) = accounts::by_mail(tx.conn(), mail)? else { return Ok(None) };
    let ends = now.plus(TimeDelta::minutes(RESET_MINUTES));
    passwords::put_link(tx, account.id, &secret::hash(token), now, ends)?;
    Ok(Some(account))
}

/// Makes a link for somebody at the machine's own keyboard, and switches the person's second factor off if that is asked for.
///
/// # Errors
/// A sentence for the operator, when nobody has this mail address.
pub fn link_by_hand(
    config: &Config,
    store: &Store,
    mail: &str,
    without_second_factor: bool,
    now: At,
) -> Result<String, String> {
    let token = secret::token()?;
    let account = store
        .write(|tx| {
            let account = make_link(tx, mail, &token, now)?;
            if let Some(account) = account.as_ref().filter(|_| without_second_factor) {
                second_factor::switch_off(tx, account.id, now)?;
            }
            Ok::<_, Failure>(account)
        })
        .map_err(|e| e.to_string())?;
    if account.is_none() {
        return Err(format!("nobody signs in as {mail}"));
    }
    let url = config.public_url.clone().unwrap_or_else(|| format!("http://{}", config.listen));
    Ok(format!("{url}/sign-in/new/{token}"))
}

/// Uses a link up: stores the new password and signs every browser of the person out. The second factor stays as it is.
///
/// # Errors
/// [`Failure::Refused`] when the link was used or is too old.
pub fn with_link(tx: &mut Tx, token: &str, password_hash: &str, now: At) -> Result<Account, Failure> {
    let Some(account) = passwords::account_of_link(tx.conn(), &secret::hash(token), now)? else {
        return Err(Failure::refuse("", "This link was used already or is too old. Ask for a new one."));
    };
    passwords::set(tx, account.id, password_hash)?;
    passwords::end_links(tx, account.id)?;
    accounts::end_sessions_of(tx, account.id)?;
    Ok(account)
}
