//! Messages on their way: queued, claimed, sent, refused, handed over.
//!
//! A worker claims a message by moving its next try into the future in a committed write before it sends; two instances on
//! one book cannot both have it, and a crash in between only delays it.

use super::at::At;
use super::conn::DbConn;
use super::ids::{CustomerId, MessageId, ReservationId};
use super::rows::outbox::{Message, NewMessage};
use super::schema::{
    bill_of_sale, confirmation, credit_note, invoice, invoice_change, message, packet, receipt, refund_slip,
    reservation,
};
use super::store::Tx;
use crate::trade::vocabulary::{Channel, PaperKind};
use diesel::prelude::*;

/// What became of a message so far.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// The worker will send it; so many tries were made.
    Waiting(i64),
    /// The farmer sends or hands it over.
    ByHand,
    /// The mail server took it.
    Sent(At),
    /// The farmer said that it reached its reader another way.
    HandedOver(At),
    /// It was refused for good, or given up.
    Failed(At),
}

impl Message {
    /// What became of it so far.
    pub fn standing(&self) -> Standing {
        match (self.sent_at, self.handed_over_at, self.failed_at, self.channel) {
            (Some(at), ..) => Standing::Sent(at),
            (None, Some(at), ..) => Standing::HandedOver(at),
            (None, None, Some(at), _) => Standing::Failed(at),
            (None, None, None, Channel::Mail) => Standing::Waiting(self.tries),
            (None, None, None, Channel::Text | Channel::Letter) => Standing::ByHand,
        }
    }
}

/// Which messages a list shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shown {
    /// All of them.
    All,
    /// Those that still wait for the worker or for somebody's hand, and the failed ones.
    Open,
    /// Those that failed.
    Failed,
    /// Those that wait for the worker or for somebody's hand.
    Waiting,
    /// Those that were sent or handed over.
    Gone,
    /// Those of one customer.
    Customer(CustomerId),
    /// Those of one order.
    Reservation(ReservationId),
}

/// How many messages wait.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Counts {
    /// Mail the worker will send.
    pub waiting: i64,
    /// Text messages and letters.
    pub by_hand: i64,
    /// Mail that failed.
    pub failed: i64,
}

/// Adds a message.
///
/// # Errors
/// The database's own; a unique violation when the Message-ID is taken.
pub fn add(tx: &mut Tx, new: &NewMessage) -> QueryResult<MessageId> {
    diesel::insert_into(message::table).values(new.clone()).returning(message::id).get_result(tx.conn())
}

/// One message.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn get(c: &mut DbConn, id: MessageId) -> QueryResult<Message> {
    message::table.find(id).select(Message::as_select()).first(c)
}

/// At most `limit` messages older than `before`, newest first.
///
/// # Errors
/// The database's own.
pub fn page(c: &mut DbConn, shown: Shown, before: Option<MessageId>, limit: i64) -> QueryResult<Vec<Message>> {
    let mut query = message::table.select(Message::as_select()).order(message::id.desc()).limit(limit).into_boxed();
    if let Some(before) = before {
        query = query.filter(message::id.lt(before));
    }
    query = match shown {
        Shown::All => query,
        Shown::Open => query.filter(message::sent_at.is_null()).filter(message::handed_over_at.is_null()),
        Shown::Failed => query
            .filter(message::sent_at.is_null())
            .filter(message::handed_over_at.is_null())
            .filter(message::failed_at.is_not_null()),
        Shown::Waiting => query
            .filter(message::sent_at.is_null())
            .filter(message::handed_over_at.is_null())
            .filter(message::failed_at.is_null()),
        Shown::Gone => query.filter(message::sent_at.is_not_null().or(message::handed_over_at.is_not_null())),
        Shown::Customer(id) => query.filter(message::customer_id.eq(id)),
        Shown::Reservation(id) => query.filter(message::reservation_id.eq(id)),
    };
    query.load(c)
}

/// Whether a message of that purpose about an order has one of these bodies.
///
/// # Errors
/// The database's own.
pub fn was_said(c: &mut DbConn, order: ReservationId, purpose: &str, bodies: &[&str]) -> QueryResult<bool> {
    let bodies: Vec<String> = bodies.iter().map(ToString::to_string).collect();
    let found: Option<MessageId> = message::table
        .filter(message::reservation_id.eq(order))
        .filter(message::purpose.eq(purpose.to_string()))
        .filter(message::body.eq_any(bodies))
        .select(message::id)
        .first(c)
        .optional()?;
    Ok(found.is_some())
}

/// Who has an order now.
fn holder_of(c: &mut DbConn, order: ReservationId) -> QueryResult<CustomerId> {
    reservation::table.find(order).select(reservation::customer_id).first(c)
}

/// The messages about an order that left for their reader, newest first, at most a hundred.
///
/// # Errors
/// The database's own.
pub fn reached(c: &mut DbConn, order: ReservationId) -> QueryResult<Vec<Message>> {
    let holder = holder_of(c, order)?;
    message::table
        .filter(message::reservation_id.eq(order))
        // What was written to somebody who had the share before is theirs alone.
        .filter(message::customer_id.eq(holder))
        .filter(message::sent_at.is_not_null().or(message::handed_over_at.is_not_null()))
        .order(message::id.desc())
        .limit(100)
        .select(Message::as_select())
        .load(c)
}

/// How many messages about an order left for their reader.
///
/// # Errors
/// The database's own.
pub fn count_reached(c: &mut DbConn, order: ReservationId) -> QueryResult<i64> {
    let holder = holder_of(c, order)?;
    message::table
        .filter(message::reservation_id.eq(order))
        // What was written to somebody who had the share before is theirs alone.
        .filter(message::customer_id.eq(holder))
        .filter(message::sent_at.is_not_null().or(message::handed_over_at.is_not_null()))
        .count()
        .get_result(c)
}

/// Whether a message of that purpose about an order was written after an instant.
///
/// # Errors
/// The database's own.
pub fn written_since(c: &mut DbConn, order: ReservationId, purpose: &str, since: At) -> QueryResult<bool> {
    let found: Option<MessageId> = message::table
        .filter(message::reservation_id.eq(order))
        .filter(message::purpose.eq(purpose.to_string()))
        .filter(message::queued_at.gt(since))
        .select(message::id)
        .first(c)
        .optional()?;
    Ok(found.is_some())
}

/// How many messages wait, for Today.
///
/// # Errors
/// The database's own.
pub fn counts(c: &mut DbConn) -> QueryResult<Counts> {
    let rows: Vec<(Channel, i64, i64)> = message::table
        .filter(message::sent_at.is_null())
        .filter(message::handed_over_at.is_null())
        .group_by(message::channel)
        .select((message::channel, diesel::dsl::count_star(), diesel::dsl::count(message::failed_at)))
        .load(c)?;
    let mut counts = Counts::default();
    for (channel, open, failed) in rows {
        counts.failed += failed;
        match channel {
            Channel::Mail => counts.waiting += open - failed,
            Channel::Text | Channel::Letter => counts.by_hand += open - failed,
        }
    }
    Ok(counts)
}

/// Takes the next mail that is due at `now`, counts the try, and keeps every other worker off it until `until`.
///
/// # Errors
/// The database's own.
pub fn claim(tx: &mut Tx, now: At, until: At) -> QueryResult<Option<Message>> {
    let c = tx.conn();
    let due: Option<Message> = message::table
        .filter(message::next_try_at.le(now))
        .filter(message::channel.eq(Channel::Mail))
        .filter(message::sent_at.is_null())
        .filter(message::failed_at.is_null())
        .filter(message::handed_over_at.is_null())
        .order((message::next_try_at, message::id))
        .select(Message::as_select())
        .first(c)
        .optional()?;
    let Some(due) = due else { return Ok(None) };
    diesel::update(message::table.find(due.id).filter(message::next_try_at.eq(due.next_try_at)))
        .set((message::next_try_at.eq(Some(until)), message::tries.eq(message::tries + 1)))
        .execute(c)?;
    get(c, due.id).map(Some)
}

/// Notes that the mail server took it.
///
/// # Errors
/// The database's own.
pub fn mark_sent(tx: &mut Tx, id: MessageId, at: At) -> QueryResult<()> {
    diesel::update(message::table.find(id))
        .set((
            message::sent_at.eq(Some(at)),
            message::failed_at.eq(None::<At>),
            message::next_try_at.eq(None::<At>),
            message::last_error.eq(None::<String>),
            message::version.eq(message::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Notes that it was refused for good or given up, and why.
///
/// # Errors
/// The database's own.
pub fn mark_failed(tx: &mut Tx, id: MessageId, at: At, why: &str) -> QueryResult<()> {
    diesel::update(message::table.find(id).filter(message::handed_over_at.is_null()))
        .set((
            message::failed_at.eq(Some(at)),
            message::next_try_at.eq(None::<At>),
            message::last_error.eq(Some(why)),
            message::version.eq(message::version + 1),
        ))
        .execute(tx.conn())?;
    Ok(())
}

/// Puts it off until `until`, and why. `tries` is the number of tries that count.
///
/// # Errors
/// The database's own.
pub fn put_off(tx: &mut Tx, id: MessageId, until: At, why: &str, tries: i64) -> QueryResult<()> {
    diesel::update(message::table.find(id).filter(message::handed_over_at.is_null()))
        .set((message::next_try_at.eq(Some(until)), message::last_error.eq(Some(why)), message::tries.eq(tries)))
        .execute(tx.conn())?;
    Ok(())
}

/// Starts a message over: same Message-ID, at the address given, due now. `false` if somebody changed it since `version`.
///
/// # Errors
/// The database's own.
pub fn start_over(tx: &mut Tx, id: MessageId, version: i64, to: (&str, &str), now: At) -> QueryResult<bool> {
    let n = diesel::update(message::table.find(id).filter(message::version.eq(version)))
        .set((
            message::to_name.eq(to.0),
            message::to_address.eq(to.1),
            message::failed_at.eq(None::<At>),
            message::last_error.eq(None::<String>),
            message::tries.eq(0),
            message::next_try_at.eq(Some(now)),
            message::version.eq(version.saturating_add(1)),
        ))
        .execute(tx.conn())?;
    Ok(n == 1)
}

/// Notes that it reached its reader another way. `false` if somebody changed it since `version`.
///
/// # Errors
/// The database's own.
pub fn mark_handed_over(tx: &mut Tx, id: MessageId, version: i64, at: At) -> QueryResult<bool> {
    let n = diesel::update(message::table.find(id).filter(message::version.eq(version)))
        .set((
            message::handed_over_at.eq(Some(at)),
            message::next_try_at.eq(None::<At>),
            message::version.eq(version.saturating_add(1)),
        ))
        .execute(tx.conn())?;
    Ok(n == 1)
}

/// Number and frozen content of a paper that goes with a message.
///
/// # Errors
/// The database's own; not found when there is none.
pub fn paper(c: &mut DbConn, kind: PaperKind, id: i64) -> QueryResult<(String, String)> {
    use super::ids::{
        BillOfSaleId, ChangeId, ConfirmationId, CreditNoteId, InvoiceId, PacketId, ReceiptId, RefundSlipId,
    };
    match kind {
        PaperKind::Invoice => invoice::table.find(InvoiceId(id)).select((invoice::number, invoice::document)).first(c),
        PaperKind::Receipt => receipt::table.find(ReceiptId(id)).select((receipt::number, receipt::document)).first(c),
        PaperKind::CreditNote => {
            credit_note::table.find(CreditNoteId(id)).select((credit_note::number, credit_note::document)).first(c)
        }
        PaperKind::RefundSlip => {
            refund_slip::table.find(RefundSlipId(id)).select((refund_slip::number, refund_slip::document)).first(c)
        }
        PaperKind::PartCredit => {
            let row: (Option<String>, Option<String>) = invoice_change::table
                .find(ChangeId(id))
                .select((invoice_change::number, invoice_change::document))
                .first(c)?;
            row.0.zip(row.1).ok_or(diesel::result::Error::NotFound)
        }
        PaperKind::Confirmation => super::confirmations::paper(c, ConfirmationId(id)),
        PaperKind::BillOfSale => super::bills_of_sale::paper(c, BillOfSaleId(id)),
        PaperKind::Packet => {
            let row: super::rows::sheets::Packet = super::sheets::packet(c, PacketId(id))?;
            Ok((row.number.to_string(), row.document))
        }
    }
}

/// Whether any message of an order ever carried this paper.
///
/// # Errors
/// The database's own.
pub fn has_carried(c: &mut DbConn, order: ReservationId, kind: PaperKind, id: i64) -> QueryResult<bool> {
    let mine = message::table.filter(message::reservation_id.eq(order));
    let with = mine.filter(message::attachment_kind.eq(kind)).filter(message::attachment_id.eq(id));
    Ok(with.select(message::id).first::<MessageId>(c).optional()?.is_some())
}

/// The ids of every issued paper of a kind, in the order they were issued.
///
/// # Errors
/// The database's own.
pub fn papers(c: &mut DbConn, kind: PaperKind) -> QueryResult<Vec<i64>> {
    match kind {
        PaperKind::Invoice => invoice::table.order(invoice::id).select(invoice::id).load(c),
        PaperKind::Receipt => receipt::table.order(receipt::id).select(receipt::id).load(c),
        PaperKind::CreditNote => credit_note::table.order(credit_note::id).select(credit_note::id).load(c),
        PaperKind::Packet => packet::table.order(packet::id).select(packet::id).load(c),
        PaperKind::RefundSlip => refund_slip::table.order(refund_slip::id).select(refund_slip::id).load(c),
        PaperKind::Confirmation => confirmation::table.order(confirmation::id).select(confirmation::id).load(c),
        PaperKind::BillOfSale => bill_of_sale::table.order(bill_of_sale::id).select(bill_of_sale::id).load(c),
        PaperKind::PartCredit => invoice_change::table
            .filter(invoice_change::document.is_not_null())
            .order(invoice_change::id)
            .select(invoice_change::id)
            .load(c),
    }
}
