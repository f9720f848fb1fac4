//! One line of a bank: what it may be, another choice by hand, and taking back what was said of it.

use super::bank_words::{LineRow, read_word, row, settled};
use super::for_what;
use crate::actions::bank_line::{book_line, line_not_matched, method_of, set_line_aside, tie_line, untie_line};
use crate::actions::unmatched_money::ForWhat;
use crate::actions::{Doing, Failure};
use crate::book::bank;
use crate::book::bank_open::{candidates, payers};
use crate::book::ids::{BankLineId, InvoiceId, ReservationId};
use crate::book::store::Tx;
use crate::trade::bank::TieKind;
use crate::trade::bank::suggest::What;
use crate::trade::dates;
use crate::trade::vocabulary::PayMethod;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::deposit::methods;
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

#[derive(Template)]
#[template(path = "farm/money/bank_line.html")]
struct LinePage {
    frame: Frame,
    draft: Draft,
    row: LineRow,
    heading: String,
    account: String,
    is_settled: bool,
    what: String,
    link: Option<Link>,
    choices: Choices,
    methods: Choices,
    looked: bool,
}

async fn line_page(
    farmer: &Farmer,
    app: &App,
    id: BankLineId,
    q: String,
    draft: Option<Draft>,
) -> Result<LinePage, PageError> {
    let today = farmer.now.today;
    let looked = q.clone();
    let (line, account, tie, payer, found, choices) = app
        .read(move |c| {
            let line = bank::line(c, id)?;
            let account = bank::account(c, line.account_id)?;
            let tie = bank::tie_of(c, id)?;
            let paid = tie.as_ref().and_then(|t| t.payment_id);
            let payer = match paid {
                Some(id) => payers(c, &[id])?.remove(&id),
                None => None,
            };
            let open = tie.is_none();
            let found = if open { candidates(c, line.day, line.day)? } else { Vec::new() };
            let choices = if open && line.amount.is_positive() { for_what::choices(c, &q)? } else { Vec::new() };
            Ok((line, account, tie, payer, found, choices))
        })
        .await?;
    let (what, link) = tie.as_ref().map(|t| settled(t, payer)).unwrap_or_default();
    let shown = row(&line, &found, today);
    let fresh = Draft::empty().with("method", method_of(&line).as_str());
    Ok(LinePage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or(fresh).with("q", looked.clone()),
        heading: format!("{} on {}", shown.says, dates::long(line.day, today)),
        row: shown,
        account: account.name,
        is_settled: tie.is_some(),
        what,
        link,
        choices,
        methods: methods(),
        looked: !looked.is_empty(),
    })
}

/// The page; `?q=` looks for a customer.
///
/// # Errors
/// 404 when there is no such line.
pub async fn show(
    farmer: Farmer,
    app: web::Data<App>,
    id: web::Path<i64>,
    query: web::Query<HashMap<String, String>>,
) -> Answer {
    let q: String = query.get("q").map(|q| q.trim().chars().take(100).collect()).unwrap_or_default();
    Ok(page(&line_page(&farmer, &app, BankLineId(*id), q, None).await?))
}

/// What somebody says of a line.
#[derive(Debug, Clone)]
enum Said {
    Book(ForWhat, Option<PayMethod>, bool),
    Tie(What, i64),
    NotMatched(Option<PayMethod>),
    Aside(String),
    Open,
}

impl Said {
    fn notice(&self) -> &'static str {
        match self {
            Self::Book(_, _, true) => "The payment is booked; its receipt is in the Outbox.",
            Self::Book(..) => "The payment is booked and its receipt made.",
            Self::Tie(..) => "The line is tied to what is recorded. Nothing was booked.",
            Self::NotMatched(_) => "It is recorded as not yet matched.",
            Self::Aside(_) => "The line is set aside. It can be taken back under the settled lines.",
            Self::Open => "The line waits again. What was booked stays booked.",
        }
    }
    fn act(&self, tx: &mut Tx, doing: &Doing, id: BankLineId) -> Result<String, Failure> {
        let method = |tx: &mut Tx, m: &Option<PayMethod>| match m {
            Some(m) => Ok::<_, Failure>(*m),
            None => Ok(method_of(&bank::line(tx.conn(), id)?)),
        };
        match self {
            Self::Book(what, m, tell) => {
                let m = method(tx, m)?;
                book_line(tx, doing, id, *what, m, *tell)?;
            }
            Self::Tie(what, of) => tie_line(tx, doing, id, *what, *of)?,
            Self::NotMatched(m) => {
                let m = method(tx, m)?;
                line_not_matched(tx, doing, id, m)?;
            }
            Self::Aside(words) => set_line_aside(tx, doing, id, words)?,
            Self::Open => {
                return Ok(match untie_line(tx, doing, id)? {
                    TieKind::Aside => "/money/bank".to_string(),
                    _ => format!("/money/bank/lines/{id}"),
                });
            }
        }
        Ok("/money/bank".to_string())
    }
}

/// Settles a line, or opens it again.
///
/// # Errors
/// 404 when there is no such line.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = BankLineId(*id);
    let (mut form, key) = sent.with_key();
    let method: Option<Option<PayMethod>> = form.optional_word("method", "How it came");
    let words = form.optional_text("words", "Why", 120);
    let act = form.raw("act").to_string();
    let of = form.optional_id("of", "What it is").flatten();
    let what = read_word(form.raw("what"));
    let chosen = for_what::read(form.raw("for_what"));
    let tell = form.tick("tell");
    let parts = form.finish((method, words));
    let (method, words) = match parts {
        Ok(all) => all,
        Err(draft) => return Ok(refused(&line_page(&farmer, &app, id, String::new(), Some(draft)).await?)),
    };
    let said = match (act.as_str(), what, of, chosen) {
        ("book", Some(What::Invoice), Some(of), _) => Some(Said::Book(ForWhat::Invoice(InvoiceId(of)), method, tell)),
        ("book", Some(What::Deposit), Some(of), _) => Some(Said::Book(ForWhat::Order(ReservationId(of)), method, tell)),
        ("book", _, _, Some(chosen)) => Some(Said::Book(chosen, method, tell)),
        ("tie", Some(what), Some(of), _) => Some(Said::Tie(what, of)),
        ("not_matched", ..) => Some(Said::NotMatched(method)),
        ("aside", ..) => Some(Said::Aside(words)),
        ("open", ..) => Some(Said::Open),
        _ => None,
    };
    let Some(said) = said else {
        let draft = form.refuse("for_what", "Choose what it is for");
        return Ok(refused(&line_page(&farmer, &app, id, String::new(), Some(draft)).await?));
    };
    let words = said.notice();
    let done = app.act(&farmer, &key, move |tx, doing| said.act(tx, doing, id));
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), words)),
        Err(f) => {
            let draft = refusal(&form, for_what::on_this_page(f, &["for_what", "method", "words"]))?;
            Ok(refused(&line_page(&farmer, &app, id, String::new(), Some(draft)).await?))
        }
    }
}
