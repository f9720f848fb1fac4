//! Writing to somebody who has not paid: three tones with their words as they would go out, the stop for letters by schedule, and interest.

use crate::actions::balance_letter::{in_force, letter_values, stop_letters, write_letter};
use crate::actions::charge_interest::{self, charge_interest};
use crate::actions::edit_wording::wording_of;
use crate::actions::queue_message::{channel_for, common_values};
use crate::actions::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, InvoiceId};
use crate::book::rows::balances::{BalanceLetter, BalanceRule};
use crate::book::rows::invoices::Invoice;
use crate::book::rows::people::Customer;
use crate::book::{balances, farm, invoices};
use crate::post::balance_words::COLLECTION_CAUTION;
use crate::post::private_link;
use crate::post::wording::Filled;
use crate::trade::money::Money;
use crate::trade::overdue::{Interest, Tone};
use crate::trade::vocabulary::Channel;
use crate::trade::{dates, terms};
use crate::web::app::{App, Doer};
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// A tone, its words as they would go out, and where they are edited.
struct Words {
    tone: &'static str,
    name: String,
    filled: Filled,
    edit: String,
}

#[derive(Template)]
#[template(path = "farm/invoices/letter.html")]
struct LetterPage {
    frame: Frame,
    draft: Draft,
    id: InvoiceId,
    number: String,
    customer: Link,
    lead: String,
    /// Empty when nothing is owed.
    words: Vec<Words>,
    tones: Choices,
    ways: Choices,
    /// Letters written before: day and tone, with the message.
    before: Vec<Link>,
    schedule: String,
    /// Why letters by schedule are stopped; none while they are not.
    stopped: Option<String>,
    interest: Option<(String, String)>,
    caution: &'static str,
    interest_caution: &'static str,
}

struct Seen {
    invoice: Invoice,
    who: Customer,
    owed: Option<Money>,
    why_not: String,
    words: Vec<(Tone, Filled)>,
    letters: Vec<BalanceLetter>,
    stopped: Option<String>,
    rule: BalanceRule,
    interest: Option<Interest>,
}

fn look(c: &mut DbConn, id: InvoiceId, doing: &Doing) -> Result<Seen, Failure> {
    let (invoice, who, _) = invoices::get(c, id)?;
    let farm = farm::get(c)?;
    let (mut owed, mut why_not, mut words) = (None, String::new(), Vec::new());
    match letter_values(c, doing, id) {
        Ok((values, amount)) => {
            owed = Some(amount);
            let values = values.overlaid(&common_values(&farm, &who.name));
            for tone in Tone::ALL {
                let filled = wording_of(c, tone.purpose())?.wording.fill(tone.purpose(), &values);
                let mut filled = filled.map_err(|fault| Failure::refuse("", fault.sentence))?;
                // The link is made as the mail leaves, and a letter has none.
                filled.body = private_link::without(&filled.body);
                words.push((*tone, filled));
            }
        }
        Err(Failure::Refused(p)) => {
            why_not = p.0.into_iter().map(|p| p.sentence).collect::<Vec<_>>().join(" ");
        }
        Err(e) => return Err(e),
    }
    Ok(Seen {
        letters: balances::letters(c, &[id])?.remove(&id).unwrap_or_default(),
        stopped: balances::stops(c, &[who.id])?.remove(&who.id).map(|s| s.reason),
        rule: in_force(c)?,
        interest: charge_interest::proposed(c, id, doing.now)?,
        invoice,
        who,
        owed,
        why_not,
        words,
    })
}

/// When letters go out by themselves, in a sentence.
pub fn schedule_words(rule: &BalanceRule) -> String {
    match (rule.friendly_after, rule.firm_after) {
        (None, None) => "Nothing goes out by itself.".into(),
        (Some(n), None) => format!("By itself a friendly reminder goes out {n} days after the due day."),
        (None, Some(n)) => format!("By itself a firm letter goes out {n} days after the due day."),
        (Some(n), Some(m)) => {
            format!("By itself a friendly reminder goes out {n} days after the due day, and a firm letter after {m}.")
        }
    }
}

async fn letter_page(farmer: &Farmer, app: &App, id: InvoiceId, draft: Option<Draft>) -> Result<LetterPage, PageError> {
    let (today, doing) = (farmer.now.today, farmer.doing());
    let seen = app.read(move |c| look(c, id, &doing)).await?;
    let late = terms::days_late(seen.invoice.due_on, today);
    let proposed = match seen.letters.iter().map(|l| l.tone).max() {
        _ if late == 0 => Tone::Friendly,
        None => Tone::Friendly,
        Some(Tone::Friendly) => Tone::Firm,
        Some(Tone::Firm | Tone::Last) => Tone::Last,
    };
    let mail = match channel_for(&seen.who) {
        (Channel::Mail, address) => format!("By mail to {address}"),
        (Channel::Text, number) => format!("As a text message to {number}"),
        _ => "As a letter to print".into(),
    };
    let mut ways = vec![("usual".to_string(), mail)];
    if channel_for(&seen.who).0 != Channel::Letter {
        ways.push(("paper".into(), "As a letter to print".into()));
    }
    let lead = match seen.owed {
        None => seen.why_not.clone(),
        Some(owed) => {
            let how = crate::post::phrases::how_late(seen.invoice.due_on, today);
            format!("{} is still to be paid on invoice {}; it is {how}.", owed.dollars(), seen.invoice.number)
        }
    };
    Ok(LetterPage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or_else(|| Draft::empty().with("tone", proposed.as_str()).with("way", "usual")),
        id,
        number: seen.invoice.number.clone(),
        customer: Link::new(format!("/customers/{}", seen.who.id), seen.who.name.clone()),
        lead,
        words: seen
            .words
            .into_iter()
            .map(|(tone, filled)| Words {
                tone: tone.as_str(),
                name: capital(tone.label()),
                filled,
                edit: format!("/settings/messages/{}", tone.purpose()),
            })
            .collect(),
        tones: Tone::ALL.iter().map(|t| (t.as_str().to_string(), capital(t.label()))).collect(),
        ways,
        before: seen
            .letters
            .iter()
            .map(|l| {
                let by = if l.by_itself { ", by schedule" } else { "" };
                let words = format!("{} of {}{by}", capital(l.tone.label()), dates::long(l.written_on, today));
                Link::new(format!("/outbox/{}", l.message_id), words)
            })
            .collect(),
        schedule: schedule_words(&seen.rule),
        stopped: seen.stopped,
        interest: seen.interest.map(|i| {
            let months = if i.months == 1 { "one month".to_string() } else { format!("{} months", i.months) };
            let rate = seen.rule.interest.map_or(String::new(), |r| r.shown());
            let words = format!(
                "{} for {months} through {}: {rate} % a month of {}.",
                i.amount.dollars(),
                dates::full(i.through),
                i.on.dollars()
            );
            (i.amount.plain(), words)
        }),
        caution: COLLECTION_CAUTION,
        interest_caution: charge_interest::CAUTION,
    })
}

/// The page.
///
/// # Errors
/// 404 when there is no such invoice.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&letter_page(&farmer, &app, InvoiceId(*id), None).await?))
}

/// Writes the letter.
///
/// # Errors
/// 404 when there is no such invoice; 422 when nothing is owed, or the last letter is not confirmed.
pub async fn write(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = InvoiceId(*id);
    let (mut form, key) = sent.with_key();
    let tone: Option<Tone> = form.word("tone", "Tone");
    if tone == Some(Tone::Last) && !form.tick("sure") {
        form.problem("sure", "The last letter: read the caution and tick that you thought of it.");
    }
    let on_paper = form.raw("way") == "paper";
    let (tone,) = match form.finish((tone,)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&letter_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let message = write_letter(tx, doing, id, tone, on_paper)?;
        Ok(if on_paper { format!("/outbox/{message}") } else { format!("/invoices/{id}/letter") })
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The letter is in the Outbox.")),
        Err(f) => Ok(refused(&letter_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}

/// Charges interest.
///
/// # Errors
/// 404 when there is no such invoice; 422 when it comes to something else by now.
pub async fn interest(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = InvoiceId(*id);
    let (mut form, key) = sent.with_key();
    let shown = form.money("amount", "Amount");
    let (shown,) = match form.finish((shown,)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&letter_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        charge_interest(tx, doing, id, shown)?;
        Ok(format!("/invoices/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "Interest is charged.")),
        Err(f) => Ok(refused(&letter_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?)),
    }
}

/// Stops letters by schedule for the invoice's customer, or lets them go out again.
///
/// # Errors
/// 404 when there is no such invoice.
pub async fn stop(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = InvoiceId(*id);
    let (mut form, key) = sent.with_key();
    let stop = form.raw("stop") == "yes";
    let reason = form.optional_text("reason", "Why", 200);
    let (reason,) = match form.finish((reason,)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&letter_page(&farmer, &app, id, Some(draft)).await?)),
    };
    let url = app
        .act(&farmer, &key, move |tx, doing| {
            let customer: CustomerId = invoices::get(tx.conn(), id)?.1.id;
            stop_letters(tx, doing, customer, stop, &reason)?;
            Ok(format!("/invoices/{id}/letter"))
        })
        .await?;
    let says = if stop { "No letters go out by themselves any more." } else { "Letters go out by schedule again." };
    Ok(notice::with(see_other(&url), says))
}
