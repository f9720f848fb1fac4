//! A message as RFC 5322 bytes: what the mail server gets and what the `.eml` download gives, the same every time.

use super::wording::{one_line, tidy_lines};
use chrono::{DateTime, Utc};
use lettre::address::Envelope;
use lettre::message::header::{ContentType, HeaderName, HeaderValue};
use lettre::message::{Attachment, Mailbox, Message, MultiPart, SinglePart};
use lettre::{Address, message};
use sha2::{Digest, Sha256};
use std::time::SystemTime;

/// The longest name or subject that is put into a header, in characters.
const HEADER_LIMIT: usize = 300;

/// Everything that makes up one message. The same values give the same bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Outgoing {
    /// The farm's name.
    pub from_name: String,
    /// The farm's mail address.
    pub from_address: String,
    /// Where answers go; empty: to `from_address`.
    pub reply_to: String,
    /// The customer's name.
    pub to_name: String,
    /// The customer's one mail address.
    pub to_address: String,
    /// One line; control characters become blanks.
    pub subject: String,
    /// The words; the HTML alternative is made from them.
    pub text_body: String,
    /// File name and bytes of a PDF.
    pub attachment: Option<(String, Vec<u8>)>,
    /// Method (RFC 5546) and text of a calendar file.
    pub calendar: Option<(String, String)>,
    /// Ours, from [`new_message_id`]; the same at every try.
    pub message_id: String,
    /// When the message was queued, to the second.
    pub date: DateTime<Utc>,
}

/// Why a message cannot be made; each text is a sentence for a person.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum EnvelopeFault {
    /// The customer's address.
    #[error("{0}")]
    To(String),
    /// The farm's own addresses, to be put right in Settings.
    #[error("The farm's mail address: {0}")]
    From(String),
    /// The words, id or date.
    #[error("{0}")]
    Words(String),
}

/// Checks that `text` is one plain mail address of at most 254 characters and gives it back trimmed.
///
/// # Errors
/// A sentence for the person who typed it. Letters outside a–z are refused: many mail servers still cannot deliver to them.
pub fn check_address(text: &str) -> Result<String, String> {
    let text = text.trim();
    let shown = one_line(text);
    if !text.is_ascii() {
        return Err(format!(
            "“{shown}” has letters that mail addresses seldom take. Use plain letters, such as ruth@kessel.example."
        ));
    }
    let dotted = text.rsplit_once('@').is_some_and(|(_, domain)| domain.contains('.') && !domain.contains('['));
    if text.len() > 254 || !dotted || text.contains(['"', '\\', '(', ')', ',']) || text.parse::<Address>().is_err() {
        return Err(format!("“{shown}” is not a mail address. Write it like ruth@kessel.example."));
    }
    Ok(text.to_owned())
}

/// A new Message-ID (RFC 5322, section 3.6.4): 128 random bits at the domain of the farm's address.
///
/// # Errors
/// A sentence when the machine gives no random bits.
pub fn new_message_id(from_address: &str) -> Result<String, String> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes).map_err(|e| format!("The machine gives no random numbers: {e}."))?;
    let random: String = bytes.iter().map(|b| format!("{b:02x}")).collect();
    let domain = check_address(from_address).ok().and_then(|a| a.rsplit_once('@').map(|(_, d)| d.to_ascii_lowercase()));
    Ok(format!("<{random}@{}>", domain.as_deref().unwrap_or("gambrel.invalid")))
}

fn id_is_plain(id: &str) -> bool {
    let inner = id.strip_prefix('<').and_then(|i| i.strip_suffix('>'));
    inner.and_then(|i| i.split_once('@')).is_some_and(|(left, right)| {
        let plain = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_alphanumeric() || b".-_".contains(&b));
        id.len() <= 300 && plain(left) && plain(right)
    })
}

fn address(text: &str) -> Result<Address, String> {
    check_address(text)?.parse().map_err(|_| format!("“{}” is not a mail address.", one_line(text)))
}

/// lettre panics on control characters in a name, so none reaches it; a name that is all blank is left out.
fn mailbox(name: &str, address: Address) -> Mailbox {
    let name: String = one_line(name).chars().take(HEADER_LIMIT).collect();
    Mailbox::new(Some(name).filter(|n| !n.is_empty()), address)
}

fn html_of(text: &str) -> String {
    let escaped = text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;");
    let paragraphs: Vec<String> = escaped
        .split("\n\n")
        .map(|p| p.trim_matches('\n'))
        .filter(|p| !p.is_empty())
        .map(|p| format!("<p>{}</p>", p.replace('\n', "<br>\n")))
        .collect();
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Message</title></head>\n<body>\n{}\n</body></html>\n",
        paragraphs.join("\n")
    )
}

fn file_name(name: &str) -> String {
    let name: String =
        one_line(name).chars().map(|c| if matches!(c, '/' | '\\' | ':' | '"') { '-' } else { c }).collect();
    let name: String = name.chars().take(120).collect();
    if name.is_empty() { "document.pdf".to_owned() } else { name }
}

impl Outgoing {
    /// The bytes of the message, lines ended by CRLF.
    ///
    /// # Errors
    /// [`EnvelopeFault`] when an address, the id or the date does not fit.
    pub fn eml(&self) -> Result<Vec<u8>, EnvelopeFault> {
        self.parts().map(|(_, bytes)| bytes)
    }

    /// SMTP envelope and bytes.
    pub(super) fn parts(&self) -> Result<(Envelope, Vec<u8>), EnvelopeFault> {
        let message = self.message()?;
        Ok((message.envelope().clone(), message.formatted()))
    }

    fn message(&self) -> Result<Message, EnvelopeFault> {
        let from = address(&self.from_address).map_err(EnvelopeFault::From)?;
        let to = address(&self.to_address).map_err(EnvelopeFault::To)?;
        if !id_is_plain(&self.message_id) {
            return Err(EnvelopeFault::Words("The message has no usable Message-ID.".to_owned()));
        }
        let subject = one_line(&self.subject);
        if subject.is_empty() || subject.chars().count() > HEADER_LIMIT {
            return Err(EnvelopeFault::Words(format!(
                "Give the message a subject of at most {HEADER_LIMIT} characters."
            )));
        }
        let seconds = u64::try_from(self.date.timestamp()).ok().filter(|s| *s < 253_402_300_800);
        let date = seconds
            .and_then(|s| SystemTime::UNIX_EPOCH.checked_add(std::time::Duration::from_secs(s)))
            .ok_or_else(|| EnvelopeFault::Words("The message's date is before 1970 or after 9999.".to_owned()))?;

        let mut builder = Message::builder()
            .from(mailbox(&self.from_name, from))
            .to(mailbox(&self.to_name, to))
            .subject(subject)
            .message_id(Some(self.message_id.clone()))
            .date(date)
            // RFC 3834, section 5: keeps absence notes from answering. (Section from memory.)
            .raw_header(HeaderValue::new(
                HeaderName::new_from_ascii_str("Auto-Submitted"),
                "auto-generated".to_owned(),
            ));
        if !self.reply_to.trim().is_empty() {
            builder = builder.reply_to(Mailbox::new(None, address(&self.reply_to).map_err(EnvelopeFault::From)?));
        }
        let text = tidy_lines(&self.text_body);
        let alternative = MultiPart::alternative()
            .boundary(self.boundary("words"))
            .singlepart(SinglePart::plain(format!("{text}\n")))
            .singlepart(SinglePart::html(html_of(&text)));
        let kind = |text: &str| ContentType::parse(text).map_err(|e| EnvelopeFault::Words(e.to_string()));
        let mut whole = None;
        let mixed = || MultiPart::mixed().boundary(self.boundary("whole")).multipart(alternative.clone());
        if let Some((name, bytes)) = &self.attachment {
            let bytes = message::Body::new(bytes.clone());
            whole = Some(mixed().singlepart(Attachment::new(file_name(name)).body(bytes, kind("application/pdf")?)));
        }
        if let Some((method, text)) = &self.calendar {
            // RFC 6047, section 2.4: the method stands in the content type too.
            let of = kind(&format!("text/calendar; charset=utf-8; method={method}"))?;
            let part = Attachment::new("pickup.ics".into()).body(text.clone(), of);
            whole = Some(whole.unwrap_or_else(mixed).singlepart(part));
        }
        let built = builder.multipart(whole.unwrap_or(alternative));
        built.map_err(|e| EnvelopeFault::Words(format!("The message cannot be made: {e}.")))
    }

    /// Fixed for this message, so that its bytes are the same at every try; `=_` cannot occur in encoded parts.
    fn boundary(&self, part: &str) -> String {
        let hash = Sha256::new().chain_update(self.message_id.as_bytes()).chain_update(part.as_bytes()).finalize();
        let hex: String = hash.iter().take(12).map(|b| format!("{b:02x}")).collect();
        format!("=_{hex}")
    }
}

#[cfg(test)]
mod tests;
