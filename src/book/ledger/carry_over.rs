//! Beginning the ledger of a book that is older than it: its entries are made from its documents, in the order in which things
//! happened, and are held against them before they stay.

use super::documents::{by_documents, by_ledger, differences};
use super::{PostError, Posting, post_on};
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, EntryId, InvoiceId, PaymentId, ReservationId};
use crate::book::payments::For;
use crate::book::schema::*;
use crate::trade::ledger::{Act, What};
use crate::trade::money::Money;
use crate::trade::vocabulary::{DepositFate, PayMethod, PaymentKind};
use chrono::NaiveDate;
use diesel::prelude::*;
use std::collections::BTreeMap;

/// Who stands as the one who carried the books over.
const BY: &str = "Gambrel";
/// What every carried entry says.
const NOTE: &str = "From before the ledger";

/// Something of the documents that moved money.
enum Event {
    Payment(PaymentId, PaymentKind, PayMethod, Money, NaiveDate),
    Invoice(InvoiceId, ReservationId, NaiveDate),
    Void(InvoiceId, ReservationId, NaiveDate),
    Cancelled(ReservationId, DepositFate),
    Put(For, Money),
}

/// Makes the entries of everything that is in the book, when its ledger is empty; how many. A ledger that is begun is left
/// as it is, so this may run as often as it likes.
///
/// # Errors
/// A sentence for the operator: the ledger made from the documents does not say what they say. Nothing stays then.
pub fn carry_over(c: &mut DbConn) -> Result<usize, String> {
    let first = ledger_entry::table.select(ledger_entry::id).first::<EntryId>(c).optional().map_err(sentence)?;
    if first.is_some() {
        return Ok(0);
    }
    c.transaction::<usize, Stopped, _>(|c| {
        let made = make(c)?;
        let faults = differences(&by_ledger(c)?, &by_documents(c)?);
        match faults.first() {
            None => Ok(made),
            Some(first) => Err(Stopped(format!(
                "the ledger could not be begun, and nothing was changed: {} of its balances differ from the documents; {first}",
                faults.len()
            ))),
        }
    })
    .map_err(|Stopped(why)| why)
}

struct Stopped(String);
impl From<diesel::result::Error> for Stopped {
    fn from(e: diesel::result::Error) -> Self {
        Self(sentence(e))
    }
}
impl From<PostError> for Stopped {
    fn from(e: PostError) -> Self {
        Self(format!("the ledger could not be begun: {e}"))
    }
}

fn sentence(e: diesel::result::Error) -> String {
    format!("the ledger could not be begun: {e}")
}

/// An entry for each instant and customer: what one act did has one instant.
fn make(c: &mut DbConn) -> Result<usize, Stopped> {
    let zone = farm::table.select(farm::time_zone).first::<String>(c).optional()?;
    let zone: chrono_tz::Tz = zone.and_then(|z| z.parse().ok()).unwrap_or(chrono_tz::America::Chicago);
    let mut made = 0;
    for ((at, who), events) in events(c)? {
        let (kind, day) = kind_and_day(&events, at.day(zone));
        let mut posting = Posting::new(kind, day, who, BY, at).note(NOTE);
        for event in &events {
            match event {
                Event::Payment(id, kind, method, amount, _) => {
                    posting.payment(*id);
                    posting.step(
                        who,
                        match kind {
                            PaymentKind::Received => What::Received(*method, *amount),
                            PaymentKind::Refund => What::GivenBack(*method, *amount),
                        },
                    );
                }
                Event::Invoice(id, order, _) => {
                    posting = posting.invoice(*id).order(*order);
                    posting.billed(c, *id, false)?;
                }
                Event::Void(id, order, _) => {
                    posting = posting.invoice(*id).order(*order);
                    posting.billed(c, *id, true)?;
                }
                Event::Put(what, amount) => {
                    match what {
                        // Whether the order is cancelled now says nothing about then.
                        For::Order(id) => posting.step(who, What::Held(id.0, *amount)),
                        For::Invoice(id) => posting.step(who, What::Paid(id.0, *amount)),
                    }
                    posting = match what {
                        For::Order(id) => posting.order(*id),
                        For::Invoice(id) => posting.invoice(*id),
                    };
                }
                Event::Cancelled(id, fate) => {
                    posting = posting.order(*id);
                    cancelled(c, &mut posting, who, *id, *fate, &events)?;
                }
            }
        }
        made += usize::from(post_on(c, posting)?.is_some());
    }
    Ok(made)
}

/// What became of the deposit: kept, what stands with the order still; given back, what was taken from it at that instant.
fn cancelled(
    c: &mut DbConn,
    posting: &mut Posting,
    who: CustomerId,
    id: ReservationId,
    fate: DepositFate,
    events: &[Event],
) -> Result<(), Stopped> {
    match fate {
        DepositFate::Keep => {
            let parts: Vec<Money> =
                allocation::table.filter(allocation::reservation_id.eq(id)).select(allocation::amount).load(c)?;
            for part in parts {
                posting.step(who, What::Held(id.0, part.negated()));
                posting.step(who, What::Kept(id.0, part));
            }
        }
        DepositFate::Refund => {
            for event in events {
                if let Event::Put(For::Order(order), amount) = event
                    && *order == id
                {
                    posting.step(who, What::Promised(amount.negated()));
                }
            }
        }
        DepositFate::None | DepositFate::Carry => {}
    }
    Ok(())
}

fn kind_and_day(events: &[Event], at_day: NaiveDate) -> (Act, NaiveDate) {
    let mut found = (Act::UseCredit, at_day);
    let mut rank = 0;
    for event in events {
        let (this, kind, day) = match event {
            Event::Invoice(_, _, day) => (5, Act::Invoice, *day),
            Event::Void(_, _, day) => (5, Act::Void, *day),
            Event::Cancelled(..) => (4, Act::Cancel, at_day),
            Event::Payment(_, PaymentKind::Refund, _, _, day) => (3, Act::Refund, *day),
            Event::Payment(_, PaymentKind::Received, _, _, day) => {
                let for_order = events.iter().any(|e| matches!(e, Event::Put(For::Order(_), _)));
                (3, if for_order { Act::Deposit } else { Act::Payment }, *day)
            }
            Event::Put(For::Order(_), _) => (2, Act::Carry, at_day),
            Event::Put(For::Invoice(_), _) => (1, Act::UseCredit, at_day),
        };
        if this > rank {
            (rank, found) = (this, (kind, day));
        }
    }
    found
}

fn events(c: &mut DbConn) -> QueryResult<BTreeMap<(At, CustomerId), Vec<Event>>> {
    let mut all: BTreeMap<(At, CustomerId), Vec<Event>> = BTreeMap::new();
    let mut add = |at, who, event| all.entry((at, who)).or_default().push(event);
    type Paid = (PaymentId, CustomerId, PaymentKind, PayMethod, Money, NaiveDate, At);
    let payments: Vec<Paid> = payment::table
        .order(payment::id)
        .select((
            payment::id,
            payment::customer_id,
            payment::kind,
            payment::method,
            payment::amount,
            payment::received_on,
            payment::recorded_at,
        ))
        .load(c)?;
    for (id, who, kind, method, amount, day, at) in payments {
        add(at, who, Event::Payment(id, kind, method, amount, day));
    }
    let invoices: Vec<(InvoiceId, ReservationId, CustomerId, NaiveDate, At)> = invoice::table
        .order(invoice::id)
        .select((invoice::id, invoice::reservation_id, invoice::customer_id, invoice::issued_on, invoice::issued_at))
        .load(c)?;
    for (id, order, who, day, at) in &invoices {
        add(*at, *who, Event::Invoice(*id, *order, *day));
    }
    let notes: Vec<(InvoiceId, NaiveDate, At)> = credit_note::table
        .order(credit_note::id)
        .select((credit_note::invoice_id, credit_note::issued_on, credit_note::issued_at))
        .load(c)?;
    for (id, day, at) in notes {
        if let Some((_, order, who, ..)) = invoices.iter().find(|i| i.0 == id) {
            add(at, *who, Event::Void(id, *order, day));
        }
    }
    let puts: Vec<(CustomerId, Option<ReservationId>, Option<InvoiceId>, Money, At)> = allocation::table
        .inner_join(payment::table)
        .order(allocation::id)
        .select((
            payment::customer_id,
            allocation::reservation_id,
            allocation::invoice_id,
            allocation::amount,
            allocation::made_at,
        ))
        .load(c)?;
    for (who, order, id, amount, at) in puts {
        if let Some(what) = order.map(For::Order).or(id.map(For::Invoice)) {
            add(at, who, Event::Put(what, amount));
        }
    }
    let gone: Vec<(ReservationId, CustomerId, Option<At>, Option<DepositFate>)> = reservation::table
        .filter(reservation::cancelled_at.is_not_null())
        .order(reservation::id)
        .select((reservation::id, reservation::customer_id, reservation::cancelled_at, reservation::cancel_deposit))
        .load(c)?;
    for (id, who, at, fate) in gone {
        if let Some(at) = at {
            add(at, who, Event::Cancelled(id, fate.unwrap_or(DepositFate::None)));
        }
    }
    Ok(all)
}
