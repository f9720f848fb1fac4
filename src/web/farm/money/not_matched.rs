//! Money that came in and nobody knows from whom: the list, recording it, matching it, giving it back.

use super::for_what;
use crate::actions::make_receipt::method_words;
use crate::actions::unmatched_money::{GivenBack, give_back_unmatched, match_money, match_to, record_unmatched};
use crate::book::bank_open::{payers, waiting_for_money};
use crate::book::ids::UnmatchedId;
use crate::book::rows::bank::Unmatched;
use crate::book::unmatched;
use crate::trade::bank::Entry;
use crate::trade::bank::suggest::{Reason, suggest};
use crate::trade::dates;
use crate::trade::vocabulary::PayMethod;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::money::act::{ActPage, Field};
use crate::web::farm::orders::deposit::{methods, money_in};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Link;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// Lines of each kind.
const MOST: i64 = 50;

struct Row {
    href: String,
    day: String,
    amount: String,
    how: String,
    payer: String,
    what: String,
    who: Option<Link>,
}

#[derive(Template)]
#[template(path = "farm/money/not_matched.html")]
struct ListPage {
    frame: Frame,
    heading: String,
    waiting: Vec<Row>,
    settled: Vec<Row>,
}

fn row(u: &Unmatched, today: chrono::NaiveDate) -> Row {
    Row {
        href: format!("/money/not-matched/{}", u.id),
        day: dates::short(u.received_on, today),
        amount: u.amount.shown(),
        how: method_words(u.method, &u.reference),
        payer: u.payer.clone(),
        what: u.back_on.map(|d| format!("Given back {}", dates::short(d, today))).unwrap_or_default(),
        who: None,
    }
}

/// The list.
///
/// # Errors
/// When the book cannot be read.
pub async fn list(farmer: Farmer, app: web::Data<App>) -> Answer {
    let today = farmer.now.today;
    let (waiting, settled, (sum, n), names) = app
        .read(|c| {
            let settled = unmatched::settled(c, MOST)?;
            let ids: Vec<_> = settled.iter().filter_map(|u| u.payment_id).collect();
            Ok((unmatched::waiting(c, MOST)?, settled, unmatched::waiting_in_all(c)?, payers(c, &ids)?))
        })
        .await?;
    Ok(page(&ListPage {
        frame: farmer.frame(Tab::Money),
        heading: if n == 0 { "All money is matched".into() } else { format!("{} is not yet matched", sum.dollars()) },
        waiting: waiting.iter().map(|u| row(u, today)).collect(),
        settled: settled
            .iter()
            .map(|u| {
                let who = u.payment_id.and_then(|id| names.get(&id));
                let who = who.map(|(id, name)| Link::new(format!("/customers/{id}"), name.clone()));
                Row { who, ..row(u, today) }
            })
            .collect(),
    }))
}

fn new_page(farmer: &Farmer, draft: Option<Draft>) -> ActPage {
    let fresh = Draft::empty().with("received_on", farmer.now.today.to_string()).with("method", "check");
    ActPage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or(fresh),
        over: vec![Link::new("/money", "Money"), Link::new("/money/not-matched", "Not yet matched")],
        heading: "Money from nobody known".into(),
        lead: "It is kept apart until you find out whose it is, or give it back.".into(),
        caution: String::new(),
        search: None,
        fields: vec![
            Field::Radios("method", "How did it come?", methods()),
            Field::Money("amount", "Amount", String::new()),
            Field::Date("received_on", "Day received"),
            Field::MaybeText("payer", "What is known of the payer"),
            Field::MaybeText("reference", "Check number or reference"),
            Field::MaybeText("note", "Note for yourself"),
        ],
        button: "Record it",
    }
}

/// The form of new money.
///
/// # Errors
/// None of its own.
pub async fn ask(farmer: Farmer) -> Answer {
    Ok(page(&new_page(&farmer, None)))
}

/// Records it.
///
/// # Errors
/// When the book cannot be written.
pub async fn record(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let money = money_in(&mut form);
    let payer = form.optional_text("payer", "What is known of the payer", 80);
    let (money, payer) = match form.finish((money, payer)) {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&new_page(&farmer, Some(draft)))),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let id = record_unmatched(tx, doing, &money, &payer)?;
        Ok(format!("/money/not-matched/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "It is recorded as not yet matched.")),
        Err(f) => Ok(refused(&new_page(&farmer, Some(refusal(&form, f)?)))),
    }
}

#[derive(Template)]
#[template(path = "farm/money/not_matched_one.html")]
struct OnePage {
    frame: Frame,
    draft: Draft,
    heading: String,
    lead: String,
    note: String,
    waits: bool,
    what: String,
    who: Option<Link>,
    offers: Vec<(String, String, String)>,
    choices: Choices,
    methods: Choices,
    looked: bool,
}

async fn one_page(
    farmer: &Farmer,
    app: &App,
    id: UnmatchedId,
    q: String,
    draft: Option<Draft>,
) -> Result<OnePage, PageError> {
    let today = farmer.now.today;
    let looked = q.clone();
    let (u, names, open, choices) = app
        .read(move |c| {
            let u = unmatched::get(c, id)?;
            let ids: Vec<_> = u.payment_id.into_iter().collect();
            let open = if u.waits() { waiting_for_money(c)? } else { Vec::new() };
            let choices = if u.waits() { for_what::choices(c, &q)? } else { Vec::new() };
            Ok((u, payers(c, &ids)?, open, choices))
        })
        .await?;
    let as_line = Entry {
        day: u.received_on,
        amount: u.amount,
        words: format!("{} {}", u.payer, u.note),
        reference: u.reference.clone(),
        id: None,
    };
    let offers = suggest(&as_line, &open)
        .into_iter()
        .filter_map(|s| {
            let (word, words) = for_what::choice(open.get(s.at)?)?;
            let why: Vec<String> = s.reasons.iter().map(Reason::said).collect();
            Some((word, words, why.join(", ")))
        })
        .collect();
    let fresh = Draft::empty().with("method", u.method.as_str()).with("day", today.to_string());
    let who = u.payment_id.and_then(|id| names.get(&id).cloned());
    let how = method_words(u.method, &u.reference);
    let payer = if u.payer.is_empty() { "Nothing is known of the payer.".to_string() } else { format!("{}.", u.payer) };
    let back = u.back_words.clone();
    Ok(OnePage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or(fresh).with("q", looked.clone()),
        heading: if u.waits() {
            format!("{} is not yet matched", u.amount.dollars())
        } else {
            format!("{} that was not matched", u.amount.dollars())
        },
        lead: format!("Received {}, {how}. {payer}", dates::long(u.received_on, today)),
        note: u.note.clone(),
        waits: u.waits(),
        what: match (u.payment_id, u.back_on) {
            (Some(_), _) => "It was matched, and is a payment of".into(),
            (None, Some(day)) => {
                let words = if back.is_empty() { String::new() } else { format!(": {back}") };
                format!("It was given back on {}{words}.", dates::long(day, today))
            }
            (None, None) => String::new(),
        },
        who: who.map(|(id, name)| Link::new(format!("/customers/{id}"), name)),
        offers,
        choices,
        methods: methods(),
        looked: !looked.is_empty(),
    })
}

/// The page of one; `?q=` looks for a customer.
///
/// # Errors
/// 404 when there is none.
pub async fn show(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<i64>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let q: String = query.get("q").map(|q| q.trim().chars().take(100).collect()).unwrap_or_default();
    Ok(page(&one_page(&farmer, &app, UnmatchedId(*id), q, None).await?))
}

/// Matches it, or (with `act` = back) records that it was given back.
///
/// # Errors
/// 404 when there is none.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = UnmatchedId(*id);
    let (mut form, key) = sent.with_key();
    let outcome = if form.raw("act") == "back" {
        let method: Option<PayMethod> = form.word("method", "How it went back");
        let (day, words) = (form.date("day", "Day"), form.optional_text("words", "To whom, or why", 120));
        let (method, day, words) = match form.finish((method, day, words)) {
            Ok(all) => all,
            Err(draft) => return Ok(refused(&one_page(&farmer, &app, id, String::new(), Some(draft)).await?)),
        };
        let input = GivenBack { method, day, words };
        let done = app.act(&farmer, &key, move |tx, doing| {
            give_back_unmatched(tx, doing, id, &input)?;
            Ok("/money/not-matched".to_string())
        });
        done.await
    } else {
        let tell = form.tick("tell");
        let Some(what) = for_what::read(form.raw("for_what")) else {
            let draft = form.refuse("for_what", "Choose what it is for");
            return Ok(refused(&one_page(&farmer, &app, id, String::new(), Some(draft)).await?));
        };
        let done = app.act(&farmer, &key, move |tx, doing| {
            let amount = unmatched::get(tx.conn(), id)?.amount;
            let to = match_to(tx, what, amount)?;
            match_money(tx, doing, id, &to, tell)?;
            Ok(format!("/money/not-matched/{id}"))
        });
        done.await
    };
    match outcome {
        Ok(url) => Ok(notice::with(see_other(&url), "Recorded.")),
        Err(f) => {
            let draft = refusal(&form, for_what::on_this_page(f, &["for_what", "method", "day", "words"]))?;
            Ok(refused(&one_page(&farmer, &app, id, String::new(), Some(draft)).await?))
        }
    }
}
