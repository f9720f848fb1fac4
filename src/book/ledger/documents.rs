//! What the ledger must say by the documents: payments, allocations, invoices and what became of them. Reads whole tables.

use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, InvoiceId, PaymentId, ReservationId};
use crate::book::rows::bank::Unmatched;
use crate::book::schema::*;
use crate::trade::ledger::{Account, Billed, ChangeKind, PairKind, Place, earned_on};
use crate::trade::money::Money;
use crate::trade::share::Species;
use crate::trade::vocabulary::{BilledBy, LineKind, PayMethod, PaymentKind};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::{BigInt, Nullable};
use std::collections::{BTreeMap, BTreeSet};

/// Balances in cents by place; those of zero are left out.
pub type Balances = BTreeMap<Place, i64>;

/// A place without order and invoice.
const fn plain(account: Account, customer: CustomerId) -> Place {
    Place { account, customer: Some(customer.0), order: None, invoice: None }
}

/// The same without a customer.
const fn nobody(account: Account) -> Place {
    Place { account, customer: None, order: None, invoice: None }
}

/// What the ledger says. What is promised back is told as credit, because no document tells them apart.
///
/// # Errors
/// The database's own.
pub fn by_ledger(c: &mut DbConn) -> QueryResult<Balances> {
    type Row = (Account, Option<CustomerId>, Option<ReservationId>, Option<InvoiceId>, Option<i64>);
    let rows: Vec<Row> = ledger_line::table
        .group_by((
            ledger_line::account,
            ledger_line::customer_id,
            ledger_line::reservation_id,
            ledger_line::invoice_id,
        ))
        .select((
            ledger_line::account,
            ledger_line::customer_id,
            ledger_line::reservation_id,
            ledger_line::invoice_id,
            sql::<Nullable<BigInt>>("CAST(SUM(ledger_line.amount) AS BIGINT)"),
        ))
        .load(c)?;
    let mut out = Balances::new();
    for (account, customer, order, invoice, cents) in rows {
        let account = if account == Account::Refunds { Account::Credit } else { account };
        let place = Place {
            account,
            customer: customer.map(|c| c.0),
            order: order.map(|o| o.0),
            invoice: invoice.map(|i| i.0),
        };
        *out.entry(place).or_default() += cents.unwrap_or(0);
    }
    out.retain(|_, cents| *cents != 0);
    Ok(out)
}

/// What the documents say.
///
/// # Errors
/// The database's own.
pub fn by_documents(c: &mut DbConn) -> QueryResult<Balances> {
    let mut out = Balances::new();
    money(c, &mut out)?;
    let mut add = |place: Place, cents: i64| *out.entry(place).or_default() += cents;
    let orders: BTreeMap<ReservationId, (CustomerId, Option<At>)> = reservation::table
        .select((reservation::id, reservation::customer_id, reservation::cancelled_at))
        .load::<(ReservationId, CustomerId, Option<At>)>(c)?
        .into_iter()
        .map(|(id, who, cancelled)| (id, (who, cancelled)))
        .collect();
    let invoices: Vec<(InvoiceId, CustomerId, Species)> = invoice::table
        .inner_join(reservation::table.inner_join(offering::table))
        .select((invoice::id, invoice::customer_id, offering::species))
        .load(c)?;
    let invoices: BTreeMap<InvoiceId, (CustomerId, Species)> =
        invoices.into_iter().map(|(id, who, species)| (id, (who, species))).collect();
    let voided: BTreeSet<InvoiceId> = credit_note::table.select(credit_note::invoice_id).load(c)?.into_iter().collect();
    let of_invoice = |account, customer, id: InvoiceId| Place { invoice: Some(id.0), ..plain(account, customer) };

    let allocations: Vec<(CustomerId, Option<ReservationId>, Option<InvoiceId>, Money)> = allocation::table
        .inner_join(payment::table)
        .select((payment::customer_id, allocation::reservation_id, allocation::invoice_id, allocation::amount))
        .load(c)?;
    for (payer, order, id, amount) in allocations {
        add(plain(Account::Credit, payer), amount.cents());
        if let Some((order, (who, cancelled))) = order.and_then(|o| Some((o, *orders.get(&o)?))) {
            let account = if cancelled.is_some() { Account::Forfeited } else { Account::Deposits };
            add(Place { order: Some(order.0), ..plain(account, who) }, -amount.cents());
        }
        if let Some((id, (who, _))) = id.and_then(|i| Some((i, *invoices.get(&i)?))) {
            add(of_invoice(Account::Receivable, who, id), -amount.cents());
        }
    }
    type Line = (InvoiceId, LineKind, BilledBy, Money, Money);
    let lines: Vec<Line> = invoice_line::table
        .select((
            invoice_line::invoice_id,
            invoice_line::kind,
            invoice_line::billed_by,
            invoice_line::amount,
            invoice_line::tax,
        ))
        .load(c)?;
    for (id, kind, by, amount, tax) in lines.into_iter().filter(|l| !voided.contains(&l.0)) {
        let Some((who, species)) = invoices.get(&id).copied() else { continue };
        let Some(account) = earned_on(&Billed { kind, by, amount, tax }, species) else { continue };
        add(of_invoice(account, who, id), -amount.cents());
        add(of_invoice(Account::Tax, who, id), -tax.cents());
    }
    let totals: Vec<(InvoiceId, Money, Money)> =
        invoice::table.select((invoice::id, invoice::farm_total, invoice::farm_tax)).load(c)?;
    for (id, total, tax) in totals.into_iter().filter(|t| !voided.contains(&t.0)) {
        let Some((who, _)) = invoices.get(&id).copied() else { continue };
        add(of_invoice(Account::Receivable, who, id), total.cents() + tax.cents());
    }
    let changes: Vec<(InvoiceId, ChangeKind, Money, Money)> = invoice_change::table
        .select((invoice_change::invoice_id, invoice_change::kind, invoice_change::amount, invoice_change::tax))
        .load(c)?;
    for (id, kind, amount, tax) in changes.into_iter().filter(|l| !voided.contains(&l.0)) {
        let Some((who, species)) = invoices.get(&id).copied() else { continue };
        let account = match kind {
            ChangeKind::WriteOff => Account::WriteOffs,
            ChangeKind::Credit => Account::of_sales(species),
            ChangeKind::Charge => Account::FarmCharges,
        };
        add(of_invoice(Account::Receivable, who, id), amount.cents());
        add(of_invoice(account, who, id), tax.cents() - amount.cents());
        add(of_invoice(Account::Tax, who, id), -tax.cents());
    }
    out.retain(|_, cents| *cents != 0);
    Ok(out)
}

/// Money in hand by method, and the credit it makes.
fn money(c: &mut DbConn, out: &mut Balances) -> QueryResult<()> {
    let pairs: Vec<(PaymentId, PaymentId, PairKind)> =
        payment_pair::table.select((payment_pair::first_id, payment_pair::second_id, payment_pair::kind)).load(c)?;
    // What only went from one customer to another was never in hand.
    let moved: BTreeSet<PaymentId> =
        pairs.into_iter().filter(|p| p.2 == PairKind::Moved).flat_map(|p| [p.0, p.1]).collect();
    let payments: Vec<(PaymentId, CustomerId, PaymentKind, PayMethod, Money)> = payment::table
        .select((payment::id, payment::customer_id, payment::kind, payment::method, payment::amount))
        .load(c)?;
    let unmatched: Vec<Unmatched> = unmatched_money::table.select(Unmatched::as_select()).load(c)?;
    // Money that was matched later came into hand without a customer and stays there.
    let nobodys: BTreeSet<PaymentId> = unmatched.iter().filter_map(|u| u.payment_id).collect();
    for u in &unmatched {
        let mut add = |account, cents: i64| *out.entry(nobody(account)).or_default() += cents;
        add(Account::of_money(u.method), u.amount.cents());
        match (u.payment_id, u.back_method) {
            (None, None) => add(Account::NotMatched, -u.amount.cents()),
            (None, Some(how)) => add(Account::of_money(how), -u.amount.cents()),
            (Some(_), _) => {}
        }
    }
    for (id, who, kind, method, amount) in payments {
        let cents = if kind == PaymentKind::Received { amount.cents() } else { -amount.cents() };
        *out.entry(plain(Account::Credit, who)).or_default() -= cents;
        if !moved.contains(&id) && !nobodys.contains(&id) {
            *out.entry(plain(Account::of_money(method), who)).or_default() += cents;
        }
    }
    Ok(())
}

/// A place in words.
pub fn named(place: &Place) -> String {
    let of = match (place.order, place.invoice) {
        (Some(id), _) => format!(", reservation {id}"),
        (_, Some(id)) => format!(", invoice {id}"),
        _ => String::new(),
    };
    let whose = place.customer.map_or_else(|| "nobody known".to_string(), |id| format!("customer {id}"));
    format!("{} of {whose}{of}", place.account.label().to_lowercase())
}

/// Where the two differ, in sentences.
pub fn differences(ledger: &Balances, documents: &Balances) -> Vec<String> {
    let places: BTreeSet<&Place> = ledger.keys().chain(documents.keys()).collect();
    let of = |balances: &Balances, place: &Place| Money::from_cents(balances.get(place).copied().unwrap_or(0));
    places
        .into_iter()
        .map(|place| (place, of(ledger, place), of(documents, place)))
        .filter(|(_, l, d)| l != d)
        .map(|(place, l, d)| {
            format!("{}: the ledger says {}, the documents {}", named(place), l.dollars(), d.dollars())
        })
        .collect()
}
