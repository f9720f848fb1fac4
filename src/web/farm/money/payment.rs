//! Recording a payment for one or several invoices of a customer.

use crate::actions::record_payment::{PutTo, record_payment};
use crate::book::ids::{CustomerId, InvoiceId};
use crate::book::{invoices, people};
use crate::trade::dates;
use crate::trade::money::Money;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::deposit::{methods, money_in};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

struct OpenRow {
    id: InvoiceId,
    field: String,
    label: String,
    hint: String,
}

#[derive(Template)]
#[template(path = "farm/money/payment.html")]
struct PaymentPage {
    frame: Frame,
    draft: Draft,
    who: String,
    customer: CustomerId,
    methods: Choices,
    open: Vec<OpenRow>,
    lead: String,
}

async fn form_page(
    farmer: &Farmer,
    app: &App,
    customer: CustomerId,
    first: Option<InvoiceId>,
    draft: Option<Draft>,
) -> Result<PaymentPage, PageError> {
    let (who, open) =
        app.read(move |c| Ok((people::get(c, customer)?, invoices::open(c, Some(customer), 100)?))).await?;
    let today = farmer.now.today;
    let chosen: Vec<_> = open.iter().filter(|(i, ..)| first.is_none_or(|f| f == i.id)).collect();
    let sum: i64 = chosen.iter().map(|(_, _, m)| m.cents()).sum();
    let draft = draft.unwrap_or_else(|| {
        let mut d = Draft::empty()
            .with("method", "check")
            .with("received_on", today.to_string())
            .with("amount", if sum > 0 { Money::from_cents(sum).plain() } else { String::new() })
            .with("receipt", "yes");
        for (i, _, owed) in &open {
            let fill = if first.is_none_or(|f| f == i.id) { owed.plain() } else { String::new() };
            d = d.with(format!("to-{}", i.id), fill);
        }
        d
    });
    let lead = match open.len() {
        0 => "No invoice is open. What you record stands as credit.".to_string(),
        1 => "One invoice is open.".to_string(),
        n => format!("{n} invoices are open. One check may pay several: say how much goes to each."),
    };
    Ok(PaymentPage {
        frame: farmer.frame(Tab::Money),
        draft,
        who: who.name,
        customer,
        methods: methods(),
        open: open
            .iter()
            .map(|(i, _, owed)| OpenRow {
                id: i.id,
                field: format!("to-{}", i.id),
                label: format!("To invoice {}", i.number),
                hint: format!(
                    "{} is owed, due {}",
                    owed.dollars(),
                    i.due_on.map_or("before pickup".into(), |d| dates::long(d, today))
                ),
            })
            .collect(),
        lead,
    })
}

/// The form: `?customer=` or `?invoice=`.
///
/// # Errors
/// 404 when there is no such customer or invoice.
pub async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let get = |name: &str| query.get(name).and_then(|v| v.parse::<i64>().ok());
    let first = get("invoice").map(InvoiceId);
    let customer = match (first, get("customer")) {
        (Some(id), _) => app.read(move |c| Ok(invoices::get(c, id)?)).await?.1.id,
        (None, Some(id)) => CustomerId(id),
        (None, None) => return Err(PageError::Elsewhere("/customers".into())),
    };
    Ok(page(&form_page(&farmer, &app, customer, first, None).await?))
}

/// Records it.
///
/// # Errors
/// 404 when there is no such customer.
pub async fn record(farmer: Farmer, app: web::Data<App>, sent: Sent) -> Answer {
    let (mut form, key) = sent.with_key();
    let customer = CustomerId(form.id("customer", "Customer").unwrap_or(0));
    let money = money_in(&mut form);
    let mut parts: Vec<PutTo> = Vec::new();
    // Every invoice that stood on the page, also one paid or voided since: the action says so, nothing typed is lost.
    for id in form.ids("to", "Invoice").unwrap_or_default() {
        if let Some(Some(amount)) = form.optional_money(&format!("to-{id}"), "To the invoice") {
            parts.push((InvoiceId(id), amount));
        }
    }
    let (receipt, tell) = (form.tick("receipt"), form.tick("tell"));
    let money = match form.finish((money,)) {
        Ok((money,)) => money,
        Err(draft) => return Ok(refused(&form_page(&farmer, &app, customer, None, Some(draft)).await?)),
    };
    let done = app.act(&farmer, &key, move |tx, doing| {
        record_payment(tx, doing, customer, &money, &parts, receipt, tell)?;
        Ok(match parts.as_slice() {
            [(one, _)] => format!("/invoices/{one}"),
            _ => format!("/customers/{customer}"),
        })
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The payment is recorded.")),
        Err(f) => Ok(refused(&form_page(&farmer, &app, customer, None, Some(refusal(&form, f)?)).await?)),
    }
}
