//! A customer's credit: putting it to an invoice, or giving it back.

use crate::actions::Failure;
use crate::actions::give_back::give_back;
use crate::actions::record_payment::use_credit;
use crate::book::ids::{CustomerId, InvoiceId};
use crate::book::{invoices, payments, people};
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

#[derive(Template)]
#[template(path = "farm/money/credit.html")]
struct CreditPage {
    frame: Frame,
    draft: Draft,
    id: CustomerId,
    who: String,
    credit: String,
    open: Choices,
    methods: Choices,
}

async fn form_page(farmer: &Farmer, app: &App, id: CustomerId, draft: Option<Draft>) -> Result<CreditPage, PageError> {
    let (who, credit, open) = app
        .read(move |c| Ok((people::get(c, id)?, payments::credit(c, id)?, invoices::open(c, Some(id), 100)?)))
        .await?;
    let fresh = Draft::empty()
        .with("amount", credit.plain())
        .with("received_on", farmer.now.today.to_string())
        .with("method", "check")
        .with("tell", "yes");
    Ok(CreditPage {
        frame: farmer.frame(Tab::Money),
        draft: draft.unwrap_or(fresh),
        id,
        who: who.name,
        credit: credit.dollars(),
        open: open
            .iter()
            .map(|(i, _, owed)| (i.id.to_string(), format!("{}, {} owed", i.number, owed.dollars())))
            .collect(),
        methods: methods(),
    })
}

/// The two forms.
///
/// # Errors
/// 404 when there is no such customer.
pub async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>) -> Answer {
    Ok(page(&form_page(&farmer, &app, CustomerId(*id), None).await?))
}

/// Uses credit (when an invoice is chosen) or gives it back.
///
/// # Errors
/// 404 when there is no such customer.
pub async fn save(farmer: Farmer, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let id = CustomerId(*id);
    let (mut form, key) = sent.with_key();
    let invoice = form.optional_id("invoice", "Invoice").flatten();
    let outcome = if let Some(invoice) = invoice {
        let amount = form.positive_money("amount", "Amount");
        let amount = match form.finish((amount,)) {
            Ok((amount,)) => amount,
            Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
        };
        let done = app.act(&farmer, &key, move |tx, doing| {
            use_credit(tx, doing, id, InvoiceId(invoice), amount)?;
            Ok(format!("/invoices/{invoice}"))
        });
        done.await
    } else {
        let money = money_in(&mut form);
        let tell = form.tick("tell");
        let money = match form.finish((money,)) {
            Ok((money,)) => money,
            Err(draft) => return Ok(refused(&form_page(&farmer, &app, id, Some(draft)).await?)),
        };
        let done = app.act(&farmer, &key, move |tx, doing| {
            give_back(tx, doing, id, &money, tell)?;
            Ok(format!("/customers/{id}"))
        });
        done.await
    };
    match outcome {
        Ok(url) => Ok(notice::with(see_other(&url), "Recorded.")),
        Err(f) => {
            // The action names the field of the payment form; here there is one amount.
            let f = match f {
                Failure::Refused(mut problems) => {
                    for p in problems.0.iter_mut().filter(|p| p.field.starts_with("to-")) {
                        p.field = "amount".into();
                    }
                    Failure::Refused(problems)
                }
                other => other,
            };
            Ok(refused(&form_page(&farmer, &app, id, Some(refusal(&form, f)?)).await?))
        }
    }
}
