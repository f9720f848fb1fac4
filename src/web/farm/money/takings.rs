//! The day's takings: what came in by method, and the deposit slip for the cash and checks that go to the bank.

use crate::actions::deposit_slip::{SlipIn, make_slip, on_hand};
use crate::actions::make_receipt::method_words;
use crate::book::ids::{PaymentId, UnmatchedId};
use crate::book::slips::{self, CameIn, Item};
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::vocabulary::PayMethod;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, SumKind, SumLine};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use std::collections::HashMap;

/// What came in so many days ago at most is ticked.
const NEW: i64 = 14;
/// Slips that are listed.
const SLIPS: i64 = 10;

struct Row {
    from: String,
    customer: Option<String>,
    how: String,
    amount: String,
    where_to: String,
    slip: Option<Link>,
}

struct Choice {
    word: String,
    field: String,
    words: String,
}

#[derive(Template)]
#[template(path = "farm/money/takings.html")]
struct TakingsPage {
    frame: Frame,
    draft: Draft,
    day: String,
    day_words: String,
    before: String,
    after: Option<String>,
    heading: String,
    sums: Vec<SumLine>,
    rows: Vec<Row>,
    hand: Vec<Choice>,
    slips: Vec<(Link, String)>,
}

fn word(item: Item) -> String {
    match item {
        Item::Payment(id) => format!("p{id}"),
        Item::Unmatched(id) => format!("u{id}"),
    }
}

fn read_word(word: &str) -> Option<Item> {
    match word.split_at_checked(1)? {
        ("p", id) => Some(Item::Payment(PaymentId(id.parse().ok()?))),
        ("u", id) => Some(Item::Unmatched(UnmatchedId(id.parse().ok()?))),
        _ => None,
    }
}

fn named(m: &CameIn) -> String {
    match (m.customer.is_some(), m.from.is_empty()) {
        (true, _) => m.from.clone(),
        (false, true) => "Not yet matched".into(),
        (false, false) => format!("Not yet matched: {}", m.from),
    }
}

fn row(m: &CameIn) -> Row {
    let to_bank = matches!(m.method, PayMethod::Cash | PayMethod::Check);
    Row {
        from: named(m),
        customer: m.customer.map(|id| format!("/customers/{id}")),
        how: method_words(m.method, &m.reference),
        amount: m.amount.shown(),
        where_to: match (m.slip.is_some(), m.at_bank, to_bank) {
            (true, ..) => String::new(),
            (_, true, _) => "At the bank".into(),
            (.., true) => "On hand".into(),
            _ => "—".into(),
        },
        slip: m.slip.map(|id| Link::new(format!("/money/slips/{id}"), format!("Slip {id}"))),
    }
}

/// Sums by method, those with nothing left out, and all of it.
fn sums(all: &[CameIn]) -> Vec<SumLine> {
    let of = |method: PayMethod| -> i64 { all.iter().filter(|m| m.method == method).map(|m| m.amount.cents()).sum() };
    let mut lines: Vec<SumLine> = PayMethod::ALL
        .iter()
        .filter(|m| of(**m) != 0)
        .map(|m| {
            let n = all.iter().filter(|a| a.method == *m).count();
            SumLine::new(m.label(), Money::from_cents(of(*m))).small(format!("{n} of them"))
        })
        .collect();
    let total: i64 = all.iter().map(|m| m.amount.cents()).sum();
    lines.push(SumLine::new("Together", Money::from_cents(total)).as_a(SumKind::Total));
    lines
}

async fn takings_page(
    farmer: &Farmer,
    app: &App,
    day: NaiveDate,
    draft: Option<Draft>,
) -> Result<TakingsPage, PageError> {
    let today = farmer.now.today;
    let (all, hand, latest) =
        app.read(move |c| Ok((slips::of_day(c, day)?, on_hand(c, day)?, slips::latest(c, SLIPS)?))).await?;
    let total: i64 = all.iter().map(|m| m.amount.cents()).sum();
    // What lies here longer was perhaps taken to the bank before slips were made here: it is offered, and not ticked.
    let is_new = |on: NaiveDate| (day - on).num_days() <= NEW;
    let cash: i64 =
        hand.iter().filter(|m| m.method == PayMethod::Cash && is_new(m.day)).map(|m| m.amount.cents()).sum();
    let fresh = || Draft::empty().with("cash", Money::from_cents(cash).plain()).with("day", day.to_string());
    let is_fresh = draft.is_none();
    let mut draft = draft.unwrap_or_else(fresh);
    if is_fresh {
        for m in hand.iter().filter(|m| is_new(m.day)) {
            draft = draft.with(format!("item-{}", word(m.item)), "yes");
        }
    }
    Ok(TakingsPage {
        frame: farmer.frame(Tab::Money),
        draft,
        day: day.to_string(),
        day_words: dates::long(day, today),
        before: day.pred_opt().unwrap_or(day).to_string(),
        after: day.succ_opt().filter(|d| *d <= today).map(|d| d.to_string()),
        heading: match total {
            0 => "Nothing came in".into(),
            n => format!("{} came in", Money::from_cents(n).dollars()),
        },
        sums: sums(&all),
        rows: all.iter().map(row).collect(),
        hand: hand
            .iter()
            .map(|m| Choice {
                word: word(m.item),
                field: format!("item-{}", word(m.item)),
                words: format!(
                    "{}, {}, {}, {}",
                    m.amount.dollars(),
                    method_words(m.method, &m.reference),
                    named(m),
                    dates::short(m.day, today)
                ),
            })
            .collect(),
        slips: latest
            .iter()
            .map(|(s, at_bank)| {
                let words = format!("Slip {} of {}, {}", s.id, dates::short(s.made_on, today), s.total.dollars());
                let standing = if *at_bank { "on a statement" } else { "not on a statement yet" };
                (Link::new(format!("/money/slips/{}", s.id), words), standing.to_string())
            })
            .collect(),
    })
}

/// The page of a day: `?day=`, else today. What cannot be read counts as left out, and so does a day to come.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let today = farmer.now.today;
    let day = query.get("day").and_then(|d| dates::read(d).ok()).filter(|d| *d <= today).unwrap_or(today);
    Ok(page(&takings_page(&farmer, &app, day, None).await?))
}

/// Makes the slip.
///
/// # Errors
/// When the book cannot be written.
pub async fn make(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let parts = (form.date("day", "Day"), form.money("cash", "Cash counted"));
    let differs = form.tick("differs");
    let words = form.all("hand");
    let items: Vec<Item> =
        words.iter().filter(|w| form.tick(&format!("item-{w}"))).filter_map(|w| read_word(w)).collect();
    let today = farmer.now.today;
    let (day, cash) = match form.finish(parts) {
        Ok(all) => all,
        Err(draft) => {
            let day = dates::read(draft.val("day")).unwrap_or(today);
            return Ok(refused(&takings_page(&farmer, &app, day, Some(draft)).await?));
        }
    };
    let input = SlipIn { day, cash, items, differs };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let id = make_slip(tx, doing, &input)?;
        Ok(format!("/money/slips/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The slip is made. What is on it counts as taken to the bank.")),
        Err(f) => Ok(refused(&takings_page(&farmer, &app, day.min(today), Some(refusal(&form, f)?)).await?)),
    }
}
