//! Asking for a share of an offering: the form for strangers. The answer is the same whether we know the address or not.

use super::stranger::{SINCE, Stranger, TRAP};
use super::terms::Shown;
use crate::actions::Failure;
use crate::actions::ask_to_reserve::{Asking, LONGEST_COMPANY, LONGEST_NOTE, MOST_DATES, ask_to_reserve};
use crate::actions::confirm_request::{add_link, url};
use crate::actions::message_values::price_of;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, OfferingId, PriceId};
use crate::book::rows::selling::{Offering, Price};
use crate::book::{dates as dates_book, offerings, public_page, sale_terms};
use crate::secret;
use crate::trade::dates;
use crate::trade::requests::Requests;
use crate::trade::room::left;
use crate::trade::share::{Part, Size};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::words;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, capital};
use crate::web::sent::{Sent, refusal};
use actix_web::{HttpRequest, web};
use askama::Template;
use std::collections::HashMap;

/// A share that can be asked for: the value of its button, what it is, what it costs, what is left.
type Share = (String, String, String, String);

#[derive(Template)]
#[template(path = "public/reserve.html")]
struct AskPage {
    frame: Frame,
    draft: Draft,
    since: i64,
    offering: OfferingId,
    heading: String,
    /// Whether the farm can be asked here at all; if not, the page says how else.
    is_open: bool,
    by_itself: bool,
    phone: String,
    shares: Vec<Share>,
    dates: Choices,
    terms: Option<Shown>,
}

impl AskPage {
    const fn since_name(&self) -> &'static str {
        SINCE
    }
    const fn trap_name(&self) -> &'static str {
        TRAP
    }
}

#[derive(Template)]
#[template(path = "public/asked.html")]
struct AskedPage {
    frame: Frame,
    phone: String,
    /// In the demo, which sends no mail: the link its mail would carry.
    link: String,
}

/// Where strangers ask for a share of an offering; `None` while the farm takes no requests.
pub fn reserve_path(requests: Requests, offering: OfferingId) -> Option<String> {
    (requests != Requests::Off).then(|| format!("/farm/reserve/{offering}"))
}

/// Whether the link that confirms an address can be mailed; in the demo it is shown instead.
fn can_mail(app: &App, stranger: &Stranger) -> bool {
    stranger.farm.is_demo || (app.config.smtp_url.is_some() && app.config.public_url.is_some())
}

fn shares(o: &Offering, prices: &[Price], taken: offerings::Taken, stranger: &Stranger) -> Vec<Share> {
    let mut out = Vec::new();
    for (size, part) in o.kinds() {
        // The list comes newest first, so the first that has begun is the one in force.
        let in_force = |p: &&Price| p.size == size && p.effective_from <= stranger.now.today;
        let Some(price) = prices.iter().find(in_force) else { continue };
        let value = format!("{}-{size}{}", price.id, part.map_or(String::new(), |p| format!("-{p}")));
        let cost = price_of(price.basis, price.rate, price.flat_price, stranger.farm.unit);
        let deposit = if price.deposit.is_positive() {
            format!(", deposit {}", price.deposit.dollars())
        } else {
            ", no deposit".to_string()
        };
        let room = match left(o.head_count, taken.sold, size, part) {
            n if n > 0 && taken.waiting > 0 => format!("{n} left, and others wait for one"),
            n if n > 0 => format!("{n} left"),
            _ => "None left: you would go to the waiting list".into(),
        };
        out.push((value, capital(&words::kind(size, part, o.species)), format!("{cost}{deposit}"), room));
    }
    out
}

/// The dates to come that take this species, as choices.
fn coming(c: &mut DbConn, o: &Offering, today: chrono::NaiveDate) -> Result<Choices, Failure> {
    let coming = dates_book::coming(c, today)?;
    let ids: Vec<DateId> = coming.iter().map(|(d, _)| d.id).collect();
    let slots = dates_book::slots(c, &ids)?;
    let takes = |id: DateId| slots.iter().any(|s| s.date_id == id && s.species == o.species && s.head > 0);
    let choice = |d: &crate::book::rows::plants::ProcessingDate, plant: &str| {
        (d.id.to_string(), format!("{}, {plant}", dates::long(d.kill_on, today)))
    };
    Ok(coming.iter().filter(|(d, _)| takes(d.id)).map(|(d, plant)| choice(d, &plant.name)).collect())
}

async fn ask_page(app: &App, stranger: &Stranger, id: OfferingId, draft: Draft) -> Result<AskPage, PageError> {
    if stranger.farm.requests == Requests::Off {
        return Err(Failure::NotFound.into());
    }
    let today = stranger.now.today;
    let (o, prices, taken, dates, terms) = app
        .read(move |c| {
            let o = offerings::get(c, id)?;
            // What is asked for by strangers stands on the page that strangers read.
            if o.closed_at.is_some() || !public_page::shows(c, id)? {
                return Err(Failure::NotFound);
            }
            let (prices, mut taken) = (offerings::prices(c, &[id])?, offerings::taken(c, &[id])?);
            let dates = coming(c, &o, today)?;
            Ok((o, prices, taken.remove(&id).unwrap_or_default(), dates, sale_terms::in_force(c)?))
        })
        .await?;
    Ok(AskPage {
        frame: stranger.frame(),
        draft,
        since: stranger.since.0,
        offering: id,
        heading: format!("Ask for a share of {}, {}", o.species.label(), o.season),
        is_open: can_mail(app, stranger),
        by_itself: stranger.farm.requests == Requests::Automatic,
        phone: stranger.farm.phone.clone(),
        shares: shares(&o, &prices, taken, stranger),
        dates,
        terms: terms.map(Into::into),
    })
}

/// The form; `?share=half` chooses a share.
///
/// # Errors
/// 404 when the farm takes no requests, or there is no such offering.
pub async fn show(app: web::Data<App>, id: web::Path<i64>, query: web::Query<HashMap<String, String>>) -> Answer {
    let stranger = Stranger::now(&app).await?;
    let mut shown = ask_page(&app, &stranger, OfferingId(*id), Draft::empty()).await?;
    let wanted = query.get("share").map(|s| format!("-{s}"));
    let found = wanted.and_then(|w| shown.shares.iter().find(|(value, ..)| value.contains(&w)).map(|s| s.0.clone()));
    // Else the first of which something is left.
    let best = || shown.shares.iter().find(|s| !s.3.starts_with("None")).or(shown.shares.first()).map(|s| s.0.clone());
    if let Some(value) = found.or_else(best) {
        shown.draft = shown.draft.with("share", value);
    }
    Ok(page(&shown))
}

/// "7-quarter-fore": the row of the price list, the size, the part.
fn read_share(text: &str) -> Option<(PriceId, Size, Option<Part>)> {
    let mut parts = text.splitn(3, '-');
    let (price, size) = (parts.next()?.parse().ok()?, parts.next()?.parse().ok()?);
    let part = match parts.next() {
        Some(part) => Some(part.parse().ok()?),
        None => None,
    };
    Some((price, size, part))
}

fn read(form: &mut FormIn, offering: OfferingId) -> Result<Asking, Draft> {
    let share = read_share(&form.line("share"));
    if share.is_none() {
        form.problem("share", "Choose a share.");
    }
    let name = form.text("name", "Your name", 120);
    let mail = form.mail_address("mail", "Your mail address");
    let phone = form.optional_phone("phone", "Your phone");
    let address = form.optional_lines("address", "Your address", 400);
    let mut chosen = Vec::new();
    let mut whole = Some(());
    for n in 1..=MOST_DATES {
        match form.optional_id(&format!("choice_{n}"), "Date") {
            Some(id) => chosen.extend(id.map(DateId)),
            None => whole = None,
        }
    }
    let together = form.optional_text("together", "Together with", LONGEST_COMPANY);
    let note = form.optional_lines("note", "Note", LONGEST_NOTE);
    let terms = form.whole_number("terms_version", "Terms", 0..=i64::MAX);
    if terms.is_some_and(|n| n > 0) && !form.tick("terms") {
        form.problem("terms", "Read the terms and tick that you have. Without them we cannot set a share aside.");
    }
    let only_these = form.tick("only_these");
    let parts = (share, name, mail, phone, address, whole, together, note, terms);
    let ((price, size, part), name, mail, phone, address, (), together, note, terms) = form.finish(parts)?;
    Ok(Asking {
        offering,
        size,
        part,
        price,
        name,
        mail,
        phone,
        address,
        dates: chosen,
        only_these,
        together,
        note,
        terms,
    })
}

/// Keeps the request and has the link mailed.
///
/// # Errors
/// 404 when the farm takes no requests; 429 after too many.
pub async fn ask(req: HttpRequest, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let stranger = Stranger::now(&app).await?.of_form(&app, &form);
    let id = OfferingId(*id);
    // Also says 404 where nothing can be asked for.
    let again = |draft: Draft| ask_page(&app, &stranger, id, draft);
    let empty = again(Draft::empty()).await?;
    if !empty.is_open {
        return Ok(refused(&empty));
    }
    if !form.raw(TRAP).is_empty() {
        // Nobody sees this field. What filled it in is told the same as everybody.
        return Ok(see_other("/farm/asked"));
    }
    let input = match read(&mut form, id) {
        Ok(input) => input,
        Err(draft) => return Ok(refused(&again(draft).await?)),
    };
    if let Some(why) = stranger.why_not(&form, &key) {
        return Ok(refused(&again(form.refuse("", why)).await?));
    }
    if !app.may_try(&format!("request from {}", app.visitor(&req))) || !app.strangers.may_ask() {
        return Err(PageError::Slow);
    }
    // The demo sends no mail, so its link is made here, the same when the form is sent twice.
    let demo = stranger.farm.is_demo.then(|| secret::hash(&key).chars().take(32).collect::<String>());
    let token = demo.clone();
    let done = app.act(&stranger, &key, move |tx, doing| {
        if let (Some(id), Some(token)) = (ask_to_reserve(tx, doing, &input)?, &token) {
            add_link(tx, doing.now.at, id, token)?;
        }
        Ok("/farm/asked".to_string())
    });
    match (done.await, demo) {
        (Ok(url), None) => Ok(see_other(&url)),
        (Ok(_), Some(token)) => Ok(page(&asked_page(&stranger, url("", &token)))),
        (Err(f), _) => Ok(refused(&again(refusal(&form, f)?).await?)),
    }
}

fn asked_page(stranger: &Stranger, link: String) -> AskedPage {
    AskedPage { frame: stranger.frame(), phone: stranger.farm.phone.clone(), link }
}

/// The page after asking, the same for everybody.
///
/// # Errors
/// 404 when the farm takes no requests.
pub async fn asked(app: web::Data<App>) -> Answer {
    let stranger = Stranger::now(&app).await?;
    if stranger.farm.requests == Requests::Off {
        return Err(Failure::NotFound.into());
    }
    Ok(page(&asked_page(&stranger, String::new())))
}
