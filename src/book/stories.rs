//! Writing and reading what happened.

use super::at::At;
use super::conn::DbConn;
use super::ids::{AnimalId, CustomerId, DateId, InvoiceId, ReservationId};
use super::rows::stories::{NewStory, Story};
use super::schema::story;
use super::store::Tx;
use diesel::prelude::*;

/// One line of the story: who, what, and whose story it is part of.
#[derive(Debug, Clone, Default)]
pub struct Line {
    /// One sentence: what happened.
    pub line: String,
    /// A second sentence with particulars, or empty.
    pub detail: String,
    /// Whose stories it belongs to.
    pub customer: Option<CustomerId>,
    /// The order it belongs to.
    pub reservation: Option<ReservationId>,
    /// The animal it belongs to.
    pub animal: Option<AnimalId>,
    /// The processing date it belongs to.
    pub date: Option<DateId>,
    /// The invoice it belongs to.
    pub invoice: Option<InvoiceId>,
}

/// Adds a line to the story; it is never changed afterwards.
///
/// # Errors
/// The database's own.
pub fn tell(tx: &mut Tx, at: At, actor: &str, line: Line) -> QueryResult<()> {
    diesel::insert_into(story::table)
        .values(NewStory {
            at,
            actor: actor.to_string(),
            line: line.line,
            detail: line.detail,
            customer_id: line.customer,
            reservation_id: line.reservation,
            animal_id: line.animal,
            date_id: line.date,
            invoice_id: line.invoice,
        })
        .execute(tx.conn())?;
    Ok(())
}

/// The number of the last line that was told; 0 before the first.
///
/// # Errors
/// The database's own.
pub fn last(c: &mut DbConn) -> QueryResult<i64> {
    Ok(story::table.order(story::id.desc()).select(story::id).first::<i64>(c).optional()?.unwrap_or(0))
}

/// How many lines a story shows at most.
const LINES: i64 = 200;

/// An order's story, oldest first, at most the last 200 lines.
///
/// # Errors
/// The database's own.
pub fn of_reservation(c: &mut DbConn, id: ReservationId) -> QueryResult<Vec<Story>> {
    let mut lines: Vec<Story> = story::table
        .filter(story::reservation_id.eq(id))
        .order(story::id.desc())
        .limit(LINES)
        .select(Story::as_select())
        .load(c)?;
    // What was entered later about an earlier moment stands where it happened.
    lines.sort_by_key(|l| (l.at, l.id));
    Ok(lines)
}

/// An animal's story, oldest first, at most the last 200 lines.
///
/// # Errors
/// The database's own.
pub fn of_animal(c: &mut DbConn, id: AnimalId) -> QueryResult<Vec<Story>> {
    let mut lines: Vec<Story> = story::table
        .filter(story::animal_id.eq(id))
        .order(story::id.desc())
        .limit(LINES)
        .select(Story::as_select())
        .load(c)?;
    // What was entered later about an earlier moment stands where it happened.
    lines.sort_by_key(|l| (l.at, l.id));
    Ok(lines)
}

/// A processing date's story, oldest first, at most the last 200 lines.
///
/// # Errors
/// The database's own.
pub fn of_date(c: &mut DbConn, id: DateId) -> QueryResult<Vec<Story>> {
    let mut lines: Vec<Story> = story::table
        .filter(story::date_id.eq(id))
        .order(story::id.desc())
        .limit(LINES)
        .select(Story::as_select())
        .load(c)?;
    lines.sort_by_key(|l| (l.at, l.id));
    Ok(lines)
}

/// A customer's story, oldest first, at most the last 200 lines.
///
/// # Errors
/// The database's own.
pub fn of_customer(c: &mut DbConn, id: CustomerId) -> QueryResult<Vec<Story>> {
    let mut lines: Vec<Story> = story::table
        .filter(story::customer_id.eq(id))
        .order(story::id.desc())
        .limit(LINES)
        .select(Story::as_select())
        .load(c)?;
    // What was entered later about an earlier moment stands where it happened.
    lines.sort_by_key(|l| (l.at, l.id));
    Ok(lines)
}
