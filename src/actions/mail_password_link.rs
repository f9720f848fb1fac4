//! Mailing a person the link with which they choose another password. It goes out at once and is not kept in the outbox, where
//! others could read it.

use super::Failure;
use super::let_in::LINK_DAYS;
use super::send_mail::sender_of;
use crate::book::at::At;
use crate::book::farm;
use crate::book::store::Store;
use crate::config::Config;
use crate::post::envelope::{Outgoing, check_address, new_message_id};

/// Sends the link to the address of the account.
///
/// # Errors
/// A sentence for the log.
pub async fn send(config: &Config, store: &Store, name: &str, to: &str, link: &str, now: At) -> Result<(), String> {
    write(config, store, name, to, now, |farm| (format!("Another password for {farm}"), words(name, farm, link))).await
}

/// Sends a new person the link with which they choose their first password.
///
/// # Errors
/// A sentence for the log.
pub async fn invite(config: &Config, store: &Store, name: &str, to: &str, link: &str, now: At) -> Result<(), String> {
    write(config, store, name, to, now, |farm| (format!("Your account at {farm}"), invited(name, farm, link))).await
}

/// Tells the person that their password was changed, in case it was not they who did it.
///
/// # Errors
/// A sentence for the log.
pub async fn tell_changed(config: &Config, store: &Store, name: &str, to: &str, now: At) -> Result<(), String> {
    write(config, store, name, to, now, |farm| (format!("Your password for {farm} was changed"), changed(name, farm)))
        .await
}

async fn write(
    config: &Config,
    store: &Store,
    name: &str,
    to: &str,
    now: At,
    say: impl FnOnce(&str) -> (String, String),
) -> Result<(), String> {
    let sender = sender_of(config)?.ok_or("there is no mail server in the settings")?;
    let farm = store.read(|c| Ok::<_, Failure>(farm::get(c)?)).map_err(|e| e.to_string())?;
    let from = config.mail_from.as_deref().unwrap_or(&farm.mail);
    let (subject, text_body) = say(&farm.name);
    let message = Outgoing {
        from_name: farm.name.clone(),
        from_address: from.to_owned(),
        reply_to: String::new(),
        to_name: name.to_owned(),
        to_address: check_address(to)?,
        subject,
        text_body,
        attachment: None,
        calendar: None,
        message_id: new_message_id(from)?,
        date: now.utc(),
    };
    sender.send(&message).await.map_err(|e| e.to_string())
}

fn words(name: &str, farm: &str, link: &str) -> String {
    format!(
        "Hello {name},

somebody, most likely you, asked for another password for the order book of {farm}. Choose one here within 30 minutes:

{link}

If you did not ask, do nothing: your password stays as it is. If this happens again, tell whoever runs the order book."
    )
}

fn invited(name: &str, farm: &str, link: &str) -> String {
    format!(
        "Hello {name},

you can sign in to the order book of {farm} now. Choose your password here within {LINK_DAYS} days:

{link}

If you do not know what this is about, do nothing."
    )
}

fn changed(name: &str, farm: &str) -> String {
    format!(
        "Hello {name},

your password for the order book of {farm} was changed just now. If it was not you, choose another one at once with “Password forgotten?” on the sign-in page, and tell whoever runs the order book."
    )
}
