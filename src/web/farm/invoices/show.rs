//! One issued invoice: the same as its paper, what is paid on it, and what can be done.

use crate::actions::balance_letter::write_letter;
use crate::actions::queue_message::{ToSay, queue_message};
use crate::actions::void_invoice::void_invoice;
use crate::actions::{Failure, message_values};
use crate::book::ids::{AnimalId, InvoiceId, PaymentId};
use crate::book::payments::{self, For};
use crate::book::rows::invoices::CreditNote;
use crate::book::{farm, invoices, outbox, placements};
use crate::paper::invoice::Invoice as Paper;
use crate::post::wording::Purpose;
use crate::trade::money::Money;
use crate::trade::overdue::Tone;
use crate::trade::vocabulary::{PaperKind, PayMethod};
use crate::trade::{dates, terms};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing, SumKind, SumLine};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

#[derive(Template)]
#[template(path = "farm/invoices/show.html")]
struct InvoicePage {
    frame: Frame,
    id: InvoiceId,
    paper: Paper,
    standing: Standing,
    lead: String,
    sums: Vec<SumLine>,
    apart: Vec<SumLine>,
    customer: Link,
    order: Link,
    note: Option<(i64, String, String)>,
    is_open: bool,
    is_late: bool,
    /// Whether a message with it was ever written.
    was_sent: bool,
    /// The animal whose weight is billed.
    animal: Option<AnimalId>,
    /// Payments on it that a bank could take back: which, and in words.
    could_return: Vec<(PaymentId, String)>,
    /// Payments on it without a receipt: which, and in words.
    bare: Vec<(PaymentId, String)>,
}

async fn show_page(farmer: &Farmer, app: &App, id: InvoiceId) -> Result<InvoicePage, PageError> {
    let (invoice, who, note, held, was_sent, changes, shares) = app
        .read(move |c| {
            let (invoice, who, note) = invoices::get(c, id)?;
            let held = payments::held(c, For::Invoice(id))?;
            let shares = placements::shares_of(c, &[invoice.reservation_id])?;
            let was_sent = outbox::has_carried(c, invoice.reservation_id, PaperKind::Invoice, id.0)?;
            Ok((invoice, who, note, held, was_sent, invoices::changes(c, id)?, shares))
        })
        .await?;
    let paper: Paper = serde_json::from_str(&invoice.document)
        .map_err(|e| Failure::Unexpected(format!("the stored paper cannot be read: {e}")))?;
    let today = farmer.now.today;
    let paid = Money::sum(held.iter().map(|h| h.amount)).map_err(Failure::from)?;
    let changed = Money::sum(changes.iter().map(|k| k.amount)).map_err(Failure::from)?;
    let billed = invoice.farm_total.plus(invoice.farm_tax).and_then(|t| t.plus(changed)).map_err(Failure::from)?;
    let owed = billed.minus(paid).map_err(Failure::from)?;
    let late = terms::days_late(invoice.due_on, today);
    let standing = match (&note, owed.is_positive(), late) {
        (Some(n), ..) => Standing::wait(format!("Voided by {}", n.number)),
        (None, false, _) => Standing::done("Paid"),
        (None, true, 0) => Standing::part(
            invoice.due_on.map_or("Due before pickup".into(), |d| format!("Due {}", dates::short(d, today))),
        ),
        (None, true, n) => Standing::late(format!("{n} day{} overdue", if n == 1 { "" } else { "s" })),
    };
    let mut sums: Vec<SumLine> = paper
        .lines
        .iter()
        .map(|l| {
            SumLine::new(
                if l.reckoned.is_empty() { l.name.clone() } else { format!("{}, {}", l.name, l.reckoned) },
                l.amount,
            )
            .small(l.note.clone())
        })
        .collect();
    sums.push(SumLine::new(paper.total.name.clone(), paper.total.amount).as_a(SumKind::Middle));
    sums.extend(paper.taxes.iter().map(|l| SumLine::new(format!("{}, {}", l.name, l.reckoned), l.amount)));
    for h in &held {
        let how = crate::actions::make_receipt::method_words(h.payment.method, &h.payment.reference);
        let receipt = h.receipt.as_ref().map_or(String::new(), |n| format!(", receipt {n}"));
        sums.push(
            SumLine::new(format!("Paid {}", dates::long(h.payment.received_on, today)), h.amount.negated())
                .small(format!("{how}{receipt}")),
        );
    }
    for k in &changes {
        let number = k.number.as_ref().map_or(String::new(), |n| format!(" {n}"));
        let what = format!("{}{number} {}", k.kind.label(), dates::long(k.made_on, today));
        sums.push(SumLine::new(what, k.amount).small(k.reason.clone()));
    }
    let owed = match &note {
        // What was paid went back to the order, so the credit note takes all of it.
        Some(n) => {
            sums.push(SumLine::new(format!("Taken back by credit note {}", n.number), n.amount.negated()));
            owed.minus(n.amount).map_err(Failure::from)?
        }
        None => owed,
    };
    sums.push(
        SumLine::new(if owed.cents() < 0 { "Owed to the customer" } else { "Balance due" }, owed).as_a(SumKind::Total),
    );
    let apart = paper.processor.as_ref().map_or(Vec::new(), |p| {
        let mut lines: Vec<SumLine> = p.lines.iter().map(|s| SumLine::new(s.name.clone(), s.amount)).collect();
        lines.push(SumLine::new(p.total.name.clone(), p.total.amount).as_a(SumKind::Total));
        lines
    });
    let lead = match (&note, owed.is_positive()) {
        (Some(n), _) => {
            format!("It was voided on {}: {}.", dates::long(n.issued_on, today), n.reason.trim_end_matches('.'))
        }
        (None, true) => format!("{} owes {}.", who.name, owed.dollars()),
        (None, false) => "It is paid in full.".to_string(),
    };
    Ok(InvoicePage {
        frame: farmer.frame(Tab::Money),
        id,
        standing,
        lead,
        sums,
        apart,
        customer: Link::new(format!("/customers/{}", who.id), who.name.clone()),
        order: Link::new(format!("/orders/{}", invoice.reservation_id), "the order"),
        animal: shares.first().map(|s| s.animal),
        could_return: held
            .iter()
            .filter(|h| !matches!(h.payment.method, PayMethod::Cash | PayMethod::Other))
            .map(|h| {
                let day = dates::long(h.payment.received_on, today);
                (h.payment.id, format!("the {} of {day}", h.payment.amount.dollars()))
            })
            .collect(),
        bare: held
            .iter()
            .filter(|h| h.receipt.is_none())
            .map(|h| {
                let day = dates::long(h.payment.received_on, today);
                (h.payment.id, format!("the {} of {day}", h.payment.amount.dollars()))
            })
            .collect(),
        is_open: note.is_none() && owed.is_positive(),
        was_sent,
        is_late: note.is_none() && owed.is_positive() && late > 0,
        note: note.map(|n: CreditNote| (n.id.0, n.number, n.reason)),
        paper,
    })
}

/// The page.
///
/// # Errors
/// 404 when there is none.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&show_page(&farmer, &app, InvoiceId(*id)).await?))
}

async fn say(farmer: Farmer, app: web::Data<App>, id: InvoiceId, sent: Sent, purpose: Purpose, done: &str) -> Answer {
    let (form, key) = sent.with_key();
    // Today sends its own address along, so that one reminder after the other can be sent from there.
    let next = if form.raw("back") == "/" { "/".to_string() } else { format!("/invoices/{id}") };
    let url = app
        .act(&farmer, &key, move |tx, doing| {
            if purpose == Purpose::BalanceReminder {
                write_letter(tx, doing, id, Tone::Friendly, false)?;
                return Ok(next.clone());
            }
            let (invoice, who, note) = invoices::get(tx.conn(), id)?;
            if note.is_some() {
                return Err(Failure::refuse("", "This invoice is voided; it is not sent any more."));
            }
            let paid = invoices::paid(tx.conn(), &[id])?.get(&id).copied().unwrap_or_default();
            let owed = invoice.farm_total.plus(invoice.farm_tax)?.minus(paid)?;
            let farm = farm::get(tx.conn())?;
            let values = message_values::order_values(tx.conn(), invoice.reservation_id)?;
            let values = message_values::with_invoice(values, &invoice.number, owed, invoice.due_on, doing.now, &farm);
            queue_message(
                tx,
                doing,
                &ToSay {
                    customer: who.id,
                    reservation: Some(invoice.reservation_id),
                    purpose,
                    values,
                    attachment: Some((PaperKind::Invoice, id.0)),
                },
            )?;
            Ok(next.clone())
        })
        .await?;
    Ok(notice::with(see_other(&url), done))
}

/// Sends the invoice again.
///
/// # Errors
/// 404 when there is none.
pub async fn send(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    say(farmer, app, InvoiceId(*id), sent, Purpose::Invoice, "The invoice is in the Outbox.").await
}

/// Reminds of the balance.
///
/// # Errors
/// 404 when there is none.
pub async fn remind(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    say(farmer, app, InvoiceId(*id), sent, Purpose::BalanceReminder, "The reminder is in the Outbox.").await
}

#[derive(Template)]
#[template(path = "farm/invoices/void.html")]
struct VoidPage {
    frame: Frame,
    draft: Draft,
    id: InvoiceId,
    number: String,
    who: String,
}

async fn void_page(farmer: &Farmer, app: &App, id: InvoiceId, draft: Draft) -> Result<VoidPage, PageError> {
    let (invoice, who, _) = app.read(move |c| Ok(invoices::get(c, id)?)).await?;
    Ok(VoidPage { frame: farmer.frame(Tab::Money), draft, id, number: invoice.number, who: who.name })
}

/// Asks why before voiding.
///
/// # Errors
/// 404 when there is none.
pub async fn ask_void(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&void_page(&farmer, &app, InvoiceId(*id), Draft::empty().with("tell", "yes")).await?))
}

/// Voids by credit note.
///
/// # Errors
/// 404 when there is none.
pub async fn void(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = InvoiceId(*id);
    let (mut form, key) = sent.with_key();
    let reason = form.text("reason", "Reason", 300);
    let tell = form.tick("tell");
    let reason = match form.finish((reason,)) {
        Ok((reason,)) => reason,
        Err(draft) => return Ok(refused(&void_page(&farmer, &app, id, draft).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        void_invoice(tx, doing, id, &reason, tell)?;
        Ok(format!("/invoices/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The invoice is voided. The order can be invoiced again.")),
        Err(f) => Ok(refused(&void_page(&farmer, &app, id, refusal(&form, f)?).await?)),
    }
}
