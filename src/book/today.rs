//! What is due: read for Today in a handful of queries, each cut to what a page shows.

use super::animals::{self, InWithdrawal};
use super::at::{At, Now};
use super::conn::DbConn;
use super::dates::{self, DateDue};
pub use super::few::{Few, MOST};
use super::ids::{AnimalId, CustomerId, DateId, InvoiceId, OfferingId, ReservationId};
use super::placements::{self, Share};
use super::plant_entries::{self, Unacknowledged};
use super::reservations::{DEPOSIT_DUE, Order, TO_INVOICE};
use super::rows::animals::{Animal, WeighIn};
use super::rows::links::CancelRequest;
use super::rows::outbox::Message;
use super::rows::people::Customer;
use super::rows::selling::{Offering, Reservation};
use super::schema::{
    animal, customer, lost_share, message, offering, placement, processing_date, processor, reservation, weigh_in,
};
use super::sheets_due::{self, Ahead, Asked};
use super::waiting_offers::{self, OpenOffer};
use super::{bank, cancel_requests, carcasses, invoices, money_sums, outbox, planning, requests, unmatched};
use crate::trade::money::Money;
use crate::trade::room::Sold;
use crate::trade::share::{Part, Size, Species};
use chrono::{NaiveDate, TimeDelta};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::Bool;
use std::collections::{BTreeMap, HashMap};

/// Head of the next date that are drawn, at most.
pub const DRAWN: usize = 12;
/// People on the waiting lists who are looked at, at most.
const IN_LINE: i64 = 500;
/// Orders looked at for invoices to issue, at most.
const TO_BILL: i64 = 2_000;

/// How long a plant has to say that it has a packet before somebody should ask.
const ANSWER_IN: TimeDelta = TimeDelta::days(2);

/// A balance that is past its day.
#[derive(Debug, Clone)]
pub struct Overdue {
    /// The invoice.
    pub invoice: InvoiceId,
    /// Its number.
    pub number: String,
    /// Who owes it.
    pub name: String,
    /// How much.
    pub owed: Money,
    /// Since when.
    pub due_on: NaiveDate,
    /// How often somebody was reminded of it, and when last.
    pub reminded: Option<(usize, At)>,
}

/// Somebody on the waiting list for whom there is room.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CanMoveUp {
    /// The order.
    pub reservation: ReservationId,
    /// Whose it is.
    pub name: String,
    /// Its place in the line of its offering, from 1.
    pub in_line: usize,
    /// Its size.
    pub size: Size,
    /// Its part.
    pub part: Option<Part>,
    /// The species.
    pub species: Species,
    /// The season.
    pub season: String,
}

/// An animal that was lost, and how many of its owners were not told yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Untold {
    /// The animal.
    pub animal: AnimalId,
    /// "Steer 229".
    pub name: String,
    /// How many owners.
    pub owners: usize,
}

/// The next date with its head.
#[derive(Debug, Clone)]
pub struct NextDate {
    /// The date.
    pub date: DateId,
    /// The day of slaughter.
    pub kill_on: NaiveDate,
    /// The plant.
    pub processor: String,
    /// Its first [`DRAWN`] head.
    pub head: Vec<Animal>,
    /// How many head there are.
    pub all: usize,
    /// Who owns what of them.
    pub shares: Vec<Share>,
    /// Which are weighed in already.
    pub weighed: HashMap<AnimalId, WeighIn>,
}

/// What a new farm has done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Begun {
    /// Put something up for sale.
    pub offering: bool,
    /// Written down a processor.
    pub processor: bool,
    /// Booked a date.
    pub date: bool,
    /// Entered an animal.
    pub animal: bool,
    /// Taken a reservation.
    pub order: bool,
}

/// Everything Today shows.
#[derive(Debug, Clone)]
pub struct Due {
    /// Head that would be killed inside a withdrawal period.
    pub withdrawal: Few<InWithdrawal>,
    /// Balances past their day, the longest first.
    pub overdue: Few<Overdue>,
    /// Mail that came back.
    pub failed: Few<Message>,
    /// Lost animals whose owners were not told.
    pub untold: Few<Untold>,
    /// Dates past with head without a weight.
    pub unweighed: Few<DateDue>,
    /// Dates with orders to invoice; `count` is how many orders.
    pub to_invoice: Few<DateDue>,
    /// Deposits asked and not all there, the oldest first, with what is missing.
    pub deposits: Few<(Order, Money)>,
    /// Customers with credit.
    pub credits: Few<(CustomerId, String, Money)>,
    /// Lines of the bank that nobody said anything about.
    pub bank_lines: usize,
    /// Money that is not matched to a customer: how much, and how many of them.
    pub not_matched: (Money, usize),
    /// People on the waiting lists for whom there is room.
    pub room: Few<CanMoveUp>,
    /// Offers to people on the waiting lists that are not answered yet, the first to lapse first.
    pub offers: Few<OpenOffer>,
    /// Text messages and letters, and mail when there is no mail server, that wait for the farmer.
    pub by_hand: usize,
    /// Orders without a place for whose species a head has a coming date.
    pub to_place: usize,
    /// Dates at custom-exempt plants with quarters nobody has.
    pub free: Few<DateDue>,
    /// How the cut sheets of the next dates stand.
    pub sheets: Vec<Ahead>,
    /// Late wishes for cut sheets.
    pub asked: Few<Asked>,
    /// Requests from the farm's page that wait for an answer.
    pub requests: Few<requests::Asked>,
    /// Dates with entries of the plant that wait; `count` is how many.
    pub entered: Few<DateDue>,
    /// Packets that were sent two days ago or longer and that the plant did not acknowledge.
    pub unacknowledged: Few<Unacknowledged>,
    /// Wishes to cancel that wait for an answer.
    pub to_cancel: Few<(CancelRequest, String)>,
    /// The next date.
    pub next: Option<NextDate>,
    /// What a new farm has done.
    pub begun: Begun,
}

/// Everything Today shows now. `has_smtp`: whether the service can send mail by itself; `reminders`: the purposes of the
/// messages that remind of a balance.
///
/// # Errors
/// The database's own.
pub fn due(c: &mut DbConn, now: Now, has_smtp: bool, reminders: &[&str]) -> QueryResult<Due> {
    let today = now.today;
    let counts = outbox::counts(c)?;
    let by_hand = counts.by_hand + if has_smtp { 0 } else { counts.waiting };
    Ok(Due {
        withdrawal: Few::of(animals::in_withdrawal(c)?),
        overdue: overdue(c, today, reminders)?,
        failed: Few::counted(outbox::page(c, outbox::Shown::Failed, None, limit())?, counts.failed),
        untold: Few::of(untold(c)?),
        unweighed: Few::of(dates::without_weights(c, today)?),
        to_invoice: Few::of(to_invoice(c)?),
        deposits: deposits(c)?,
        credits: credits(c)?,
        bank_lines: bank_lines(c)?,
        not_matched: not_matched(c)?,
        room: Few::of(room(c)?),
        offers: Few::of(waiting_offers::open(c)?),
        by_hand: usize::try_from(by_hand).unwrap_or(0),
        to_place: usize::try_from(planning::waiting_for_a_place(c, today)?).unwrap_or(0),
        free: Few::of(dates::custom_exempt_free(c, today)?),
        sheets: sheets_due::ahead(c, today)?,
        asked: Few::of(sheets_due::open_requests(c)?),
        requests: requests::to_answer(c)?,
        entered: Few::of(plant_entries::waiting(c)?),
        unacknowledged: Few::of(plant_entries::unacknowledged(c, now.today, now.at.plus(-ANSWER_IN))?),
        to_cancel: cancel_requests::open(c)?,
        next: next(c, today)?,
        begun: begun(c)?,
    })
}

/// One more than is shown tells that there are more.
fn limit() -> i64 {
    i64::try_from(MOST).unwrap_or(20) + 1
}

fn overdue(c: &mut DbConn, today: NaiveDate, reminders: &[&str]) -> QueryResult<Few<Overdue>> {
    // The longest due come first, so those past their day are the first of all that are open.
    let open = invoices::open(c, None, limit())?;
    let late: Vec<_> = open.into_iter().filter(|(i, ..)| i.due_on.is_some_and(|day| day < today)).collect();
    let orders: Vec<_> = late.iter().map(|(i, ..)| Some(i.reservation_id)).collect();
    let sent: Vec<(Option<i64>, At)> = message::table
        .filter(message::reservation_id.eq_any(orders))
        .filter(message::purpose.eq_any(reminders.iter().map(ToString::to_string).collect::<Vec<_>>()))
        .select((message::attachment_id, message::queued_at))
        .load(c)?;
    let mut reminded: HashMap<i64, (usize, At)> = HashMap::new();
    for (invoice, at) in sent {
        let Some(id) = invoice else { continue };
        let seen = reminded.entry(id).or_insert((0, at));
        *seen = (seen.0 + 1, seen.1.max(at));
    }
    let all = if late.len() > MOST { invoices::count_overdue(c, today)? } else { 0 };
    let lines = late
        .into_iter()
        .filter_map(|(i, who, owed)| {
            let reminded = reminded.get(&i.id.0).copied();
            Some(Overdue { invoice: i.id, number: i.number, name: who.name, owed, due_on: i.due_on?, reminded })
        })
        .collect();
    Ok(Few::counted(lines, all))
}

fn untold(c: &mut DbConn) -> QueryResult<Vec<Untold>> {
    let rows: Vec<Animal> = lost_share::table
        .inner_join(animal::table)
        .inner_join(reservation::table)
        .filter(lost_share::told_at.is_null())
        .filter(reservation::cancelled_at.is_null())
        .filter(diesel::dsl::not(diesel::dsl::exists(
            placement::table.filter(placement::reservation_id.eq(lost_share::reservation_id)),
        )))
        .order((lost_share::lost_at, animal::id))
        .limit(IN_LINE)
        .select(Animal::as_select())
        .load(c)?;
    let mut found: Vec<Untold> = Vec::new();
    for head in rows {
        match found.iter_mut().find(|u| u.animal == head.id) {
            Some(known) => known.owners += 1,
            None => found.push(Untold { animal: head.id, name: head.name(), owners: 1 }),
        }
    }
    Ok(found)
}

fn to_invoice(c: &mut DbConn) -> QueryResult<Vec<DateDue>> {
    let orders: Vec<(ReservationId, Option<DateId>)> = placement::table
        .inner_join(animal::table)
        .inner_join(reservation::table)
        .filter(reservation::cancelled_at.is_null())
        .filter(sql::<Bool>(TO_INVOICE))
        .select((reservation::id, animal::date_id))
        .distinct()
        .limit(TO_BILL)
        .load(c)?;
    let mut per: BTreeMap<DateId, i64> = BTreeMap::new();
    for date in orders.into_iter().filter_map(|(_, date)| date) {
        *per.entry(date).or_default() += 1;
    }
    let rows: Vec<(DateId, NaiveDate, Option<NaiveDate>, String)> = processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::id.eq_any(per.keys().copied().collect::<Vec<_>>()))
        .order((processing_date::kill_on, processing_date::id))
        .select((processing_date::id, processing_date::kill_on, processing_date::sheets_due, processor::name))
        .load(c)?;
    Ok(rows
        .into_iter()
        .map(|(date, kill_on, sheets_due, processor)| {
            let count = per.get(&date).copied().unwrap_or(0);
            DateDue { date, kill_on, sheets_due, processor, count }
        })
        .collect())
}

fn deposits(c: &mut DbConn) -> QueryResult<Few<(Order, Money)>> {
    // A macro, because the two queries have different types.
    macro_rules! asked {
        () => {
            reservation::table
                .inner_join(customer::table)
                .inner_join(offering::table)
                .filter(reservation::cancelled_at.is_null())
                .filter(reservation::waiting_since.is_null())
                .filter(sql::<Bool>(DEPOSIT_DUE))
        };
    }
    let orders: Vec<Order> = asked!()
        .order(reservation::id)
        .limit(limit())
        .select((Reservation::as_select(), Customer::as_select(), Offering::as_select()))
        .load(c)?;
    let all = if orders.len() > MOST { asked!().count().get_result(c)? } else { 0 };
    let held = money_sums::held_for_orders(c, &orders.iter().map(|(r, ..)| r.id).collect::<Vec<_>>())?;
    let lines = orders
        .into_iter()
        .map(|order| {
            let have = held.get(&order.0.id).copied().unwrap_or_default();
            let missing = order.0.deposit_asked.minus(have).unwrap_or_default();
            (order, missing)
        })
        .collect();
    Ok(Few::counted(lines, all))
}

fn bank_lines(c: &mut DbConn) -> QueryResult<usize> {
    let (added, taken_off) = bank::count_untied(c)?;
    Ok(usize::try_from(added.saturating_add(taken_off)).unwrap_or(0))
}

fn not_matched(c: &mut DbConn) -> QueryResult<(Money, usize)> {
    let (sum, n) = unmatched::waiting_in_all(c)?;
    Ok((sum, usize::try_from(n).unwrap_or(0)))
}

fn credits(c: &mut DbConn) -> QueryResult<Few<(CustomerId, String, Money)>> {
    let some = money_sums::credits(c, limit())?;
    let all = if some.len() > MOST { money_sums::credit_count(c)? } else { 0 };
    Ok(Few::counted(some, all))
}

fn room(c: &mut DbConn) -> QueryResult<Vec<CanMoveUp>> {
    let line: Vec<(ReservationId, String, Size, Option<Part>, Offering)> = reservation::table
        .inner_join(customer::table)
        .inner_join(offering::table)
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::waiting_since.is_not_null())
        .filter(offering::closed_at.is_null())
        .order((reservation::offering_id, reservation::waiting_since, reservation::id))
        .limit(IN_LINE)
        .select((reservation::id, customer::name, reservation::size, reservation::part, Offering::as_select()))
        .load(c)?;
    let mut ids: Vec<OfferingId> = line.iter().map(|(.., o)| o.id).collect();
    ids.dedup();
    let held: Vec<(OfferingId, Size, Option<Part>, i64)> = reservation::table
        .filter(reservation::offering_id.eq_any(ids))
        .filter(reservation::cancelled_at.is_null())
        .filter(reservation::waiting_since.is_null())
        .group_by((reservation::offering_id, reservation::size, reservation::part))
        .select((reservation::offering_id, reservation::size, reservation::part, diesel::dsl::count_star()))
        .load(c)?;
    let mut sold: HashMap<OfferingId, (Sold, usize)> = HashMap::new();
    for (id, size, part, n) in held {
        let seen = sold.entry(id).or_default();
        seen.0 = seen.0.and(size, part, n);
    }
    let open = waiting_offers::open(c)?;
    for offer in &open {
        let seen = sold.entry(offer.offering).or_default();
        seen.0 = seen.0.and(offer.size, offer.part, 1);
    }
    let mut found = Vec::new();
    for (reservation, name, size, part, o) in line {
        let seen = sold.entry(o.id).or_default();
        seen.1 += 1;
        if open.iter().any(|offer| offer.reservation == reservation) {
            continue;
        }
        let with = seen.0.and(size, part, 1);
        if with.fits(o.head_count) {
            seen.0 = with;
            let in_line = seen.1;
            found.push(CanMoveUp { reservation, name, in_line, size, part, species: o.species, season: o.season });
        }
    }
    Ok(found)
}

fn next(c: &mut DbConn, today: NaiveDate) -> QueryResult<Option<NextDate>> {
    let found: Option<(DateId, NaiveDate, String)> = processing_date::table
        .inner_join(processor::table)
        .filter(processing_date::kill_on.ge(today))
        .filter(processing_date::cancelled_at.is_null())
        .filter(diesel::dsl::exists(
            animal::table
                .left_join(weigh_in::table)
                .filter(animal::date_id.eq(processing_date::id.nullable()))
                .filter(animal::lost_on.is_null())
                .filter(weigh_in::animal_id.nullable().is_null()),
        ))
        .order((processing_date::kill_on, processing_date::id))
        .select((processing_date::id, processing_date::kill_on, processor::name))
        .first(c)
        .optional()?;
    let Some((date, kill_on, processor)) = found else { return Ok(None) };
    let mut head = animals::on_date(c, date)?;
    head.retain(|a| a.lost_on.is_none());
    let all = head.len();
    head.truncate(DRAWN);
    let ids: Vec<_> = head.iter().map(|a| a.id).collect();
    let (shares, weighed) = (placements::shares_on(c, &ids)?, carcasses::weigh_ins(c, &ids)?);
    Ok(Some(NextDate { date, kill_on, processor, head, all, shares, weighed }))
}

fn begun(c: &mut DbConn) -> QueryResult<Begun> {
    macro_rules! any {
        ($table:ident) => {
            $table::table.select($table::id).limit(1).first::<i64>(c).optional()?.is_some()
        };
    }
    Ok(Begun {
        offering: any!(offering),
        processor: any!(processor),
        date: any!(processing_date),
        animal: any!(animal),
        order: any!(reservation),
    })
}
