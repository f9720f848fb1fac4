//! Private links of processors and the browsers that opened them. A token is never stored, only its hash.

use super::at::At;
use super::conn::DbConn;
use super::ids::{DateId, PlantLinkId};
use super::rows::plant_page::{NewPlantLink, PlantLink, PlantSession};
use super::rows::plants::{ProcessingDate, Processor};
use super::schema::{plant_link, plant_session, processing_date, processor};
use super::store::Tx;
use diesel::prelude::*;

/// Adds a live link.
///
/// # Errors
/// The database's own.
pub fn insert(tx: &mut Tx, new: &NewPlantLink) -> QueryResult<PlantLinkId> {
    diesel::insert_into(plant_link::table).values(new.clone()).returning(plant_link::id).get_result(tx.conn())
}

/// The live link with this hash.
///
/// # Errors
/// The database's own.
pub fn live(c: &mut DbConn, token_hash: &str) -> QueryResult<Option<PlantLink>> {
    plant_link::table
        .filter(plant_link::token_hash.eq(token_hash))
        .filter(plant_link::revoked_at.is_null())
        .select(PlantLink::as_select())
        .first(c)
        .optional()
}

/// The live links of a date, newest first.
///
/// # Errors
/// The database's own.
pub fn live_of(c: &mut DbConn, date: DateId) -> QueryResult<Vec<PlantLink>> {
    plant_link::table
        .filter(plant_link::date_id.eq(date))
        .filter(plant_link::revoked_at.is_null())
        .order(plant_link::id.desc())
        .select(PlantLink::as_select())
        .load(c)
}

/// Revokes every live link of a date; how many there were.
///
/// # Errors
/// The database's own.
pub fn revoke_all(tx: &mut Tx, date: DateId, at: At) -> QueryResult<usize> {
    let live = plant_link::table.filter(plant_link::date_id.eq(date)).filter(plant_link::revoked_at.is_null());
    diesel::update(live).set(plant_link::revoked_at.eq(at)).execute(tx.conn())
}

/// Takes a link away that never left the house; nothing when somebody used it.
///
/// # Errors
/// The database's own.
pub fn forget(tx: &mut Tx, id: PlantLinkId) -> QueryResult<()> {
    diesel::delete(plant_link::table.find(id).filter(plant_link::last_used_at.is_null())).execute(tx.conn())?;
    Ok(())
}

/// Stores a browser that opened a link, notes that the link was used, and forgets browsers whose time ended.
///
/// # Errors
/// The database's own.
pub fn begin_session(tx: &mut Tx, s: &PlantSession) -> QueryResult<()> {
    let c = tx.conn();
    diesel::delete(plant_session::table.filter(plant_session::ends_at.lt(s.made_at))).execute(c)?;
    diesel::insert_into(plant_session::table).values(s.clone()).execute(c)?;
    diesel::update(plant_link::table.find(s.link_id)).set(plant_link::last_used_at.eq(s.made_at)).execute(c)?;
    Ok(())
}

/// Notes that a browser, and so its link, was used.
///
/// # Errors
/// The database's own.
pub fn touch(tx: &mut Tx, s: &PlantSession, at: At) -> QueryResult<()> {
    let c = tx.conn();
    diesel::update(plant_session::table.find(&s.id_hash)).set(plant_session::last_seen_at.eq(at)).execute(c)?;
    diesel::update(plant_link::table.find(s.link_id)).set(plant_link::last_used_at.eq(at)).execute(c)?;
    Ok(())
}

/// Ends one browser's session.
///
/// # Errors
/// The database's own.
pub fn end_session(tx: &mut Tx, id_hash: &str) -> QueryResult<()> {
    diesel::delete(plant_session::table.find(id_hash)).execute(tx.conn())?;
    Ok(())
}

/// A browser that opened a link, and the date it opened.
pub type Opened = (PlantSession, ProcessingDate, Processor);

/// The browser with this hash and its date, if the link is not revoked and the browser's time has not ended at `now`. Whether the date
/// still opens is asked apart.
///
/// # Errors
/// The database's own.
pub fn session_of(c: &mut DbConn, id_hash: &str, now: At) -> QueryResult<Option<Opened>> {
    plant_session::table
        .inner_join(plant_link::table.inner_join(processing_date::table.inner_join(processor::table)))
        .filter(plant_session::id_hash.eq(id_hash))
        .filter(plant_session::ends_at.gt(now))
        .filter(plant_link::revoked_at.is_null())
        .select((PlantSession::as_select(), ProcessingDate::as_select(), Processor::as_select()))
        .first(c)
        .optional()
}
