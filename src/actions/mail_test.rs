//! Sending one test message, so that the operator knows that mail works: `gambrel mail-test ADDRESS`.

use super::Failure;
use super::send_mail::sender_of;
use crate::book::at::At;
use crate::book::farm;
use crate::book::store::Store;
use crate::config::Config;
use crate::post::envelope::{Outgoing, check_address, new_message_id};
use crate::post::smtp::Sender;

/// Sends a test message to `to` and returns the sentence that says it went out.
///
/// # Errors
/// The sentence that says what is wrong and what to do.
pub async fn mail_test(sender: &Sender, farm: &str, from: &str, to: &str, now: At) -> Result<String, String> {
    let to = check_address(to)?;
    let farm = if farm.trim().is_empty() { "Gambrel" } else { farm };
    let message = Outgoing {
        from_name: farm.to_owned(),
        from_address: from.to_owned(),
        reply_to: String::new(),
        to_name: String::new(),
        to_address: to.clone(),
        subject: format!("Test message from {farm}"),
        text_body: "This is a test message. Mail from the farm's order book works.".to_owned(),
        attachment: None,
        calendar: None,
        message_id: new_message_id(from)?,
        date: now.utc(),
    };
    sender.send(&message).await.map_err(|e| e.to_string())?;
    Ok(format!("The mail server took a test message to {to}. See whether it arrives, also among the junk mail."))
}

/// The same with the operator's settings and the farm of the book.
///
/// # Errors
/// The sentence that says what is wrong and what to do.
pub async fn from_settings(config: &Config, store: &Store, to: &str) -> Result<String, String> {
    let Some(sender) = sender_of(config)? else {
        return Err("there is no mail server in the settings. Set SMTP_URL; `gambrel config` shows how.".to_owned());
    };
    let farm = store
        .write(|tx| {
            farm::ensure(tx)?;
            Ok::<_, Failure>(farm::get(tx.conn())?)
        })
        .map_err(|e| e.to_string())?;
    let from = config.mail_from.as_deref().unwrap_or(&farm.mail);
    if from.trim().is_empty() {
        return Err("there is no sender address. Write the farm's mail address in Settings, or set GAMBREL_MAIL_FROM."
            .to_owned());
    }
    mail_test(&sender, &farm.name, from, to, At::from_utc(chrono::Utc::now())).await
}
