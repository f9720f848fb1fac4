//! The farm's public page: its words, the offerings on it, and its pictures.

use super::conn::DbConn;
use super::ids::{OfferingId, PictureId};
use super::rows::public::{NewPicture, NewPictureSize, Picture, PictureSize, PublicPage};
use super::schema::{public_offering, public_page, public_picture, public_picture_size};
use super::store::Tx;
use diesel::prelude::*;

/// The page; none while nobody saved it, and then it is off.
///
/// # Errors
/// The database's own.
pub fn get(c: &mut DbConn) -> QueryResult<Option<PublicPage>> {
    public_page::table.select(PublicPage::as_select()).first(c).optional()
}

/// Saves the page if nobody did since `version`, which is 0 while there is none; `false` if somebody did.
///
/// # Errors
/// The database's own; a unique violation when there is one already and `version` is 0.
pub fn save(tx: &mut Tx, changed: &PublicPage, version: i64) -> QueryResult<bool> {
    let next = PublicPage { version: version.saturating_add(1), ..changed.clone() };
    if version == 0 {
        diesel::insert_into(public_page::table).values(next).execute(tx.conn())?;
        return Ok(true);
    }
    let mine = public_page::table.filter(public_page::id.eq(changed.id)).filter(public_page::version.eq(version));
    Ok(diesel::update(mine).set(next).execute(tx.conn())? == 1)
}

/// The offerings that are chosen for the page, closed ones too.
///
/// # Errors
/// The database's own.
pub fn chosen(c: &mut DbConn) -> QueryResult<Vec<OfferingId>> {
    public_offering::table.order(public_offering::offering_id.desc()).select(public_offering::offering_id).load(c)
}

/// Whether strangers see an offering: the page is on, and it is chosen for it. Whether it is still open is not asked.
///
/// # Errors
/// The database's own.
pub fn shows(c: &mut DbConn, id: OfferingId) -> QueryResult<bool> {
    let found =
        public_offering::table.find(id).select(public_offering::offering_id).first::<OfferingId>(c).optional()?;
    Ok(found.is_some() && get(c)?.is_some_and(|page| page.is_on))
}

/// Chooses these offerings and no others.
///
/// # Errors
/// The database's own; a foreign-key violation when there is no such offering.
pub fn choose(tx: &mut Tx, ids: &[OfferingId]) -> QueryResult<()> {
    diesel::delete(public_offering::table).execute(tx.conn())?;
    let rows: Vec<_> = ids.iter().map(|id| public_offering::offering_id.eq(*id)).collect();
    for row in rows {
        diesel::insert_into(public_offering::table).values(row).execute(tx.conn())?;
    }
    Ok(())
}

/// A picture with its widths, narrowest first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Shown {
    /// The picture.
    pub picture: Picture,
    /// Its widths; never empty in a sound book.
    pub sizes: Vec<PictureSize>,
}

/// The pictures in order, without their bodies, in two queries.
///
/// # Errors
/// The database's own.
pub fn pictures(c: &mut DbConn) -> QueryResult<Vec<Shown>> {
    let pictures: Vec<Picture> = public_picture::table
        .order((public_picture::position, public_picture::id))
        .select(Picture::as_select())
        .load(c)?;
    let sizes: Vec<PictureSize> = public_picture_size::table
        .order((public_picture_size::picture_id, public_picture_size::width))
        .select(PictureSize::as_select())
        .load(c)?;
    let of = |id| sizes.iter().filter(|s| s.picture_id == id).cloned().collect();
    Ok(pictures.into_iter().map(|picture| Shown { sizes: of(picture.id), picture }).collect())
}

/// The body of a picture by its address, as base64.
///
/// # Errors
/// `NotFound` when there is none.
pub fn body(c: &mut DbConn, digest: &str) -> QueryResult<String> {
    public_picture_size::table
        .filter(public_picture_size::digest.eq(digest.to_string()))
        .select(public_picture_size::body)
        .first(c)
}

/// Whether one of these pictures is there already.
///
/// # Errors
/// The database's own.
pub fn has_any(c: &mut DbConn, digests: &[String]) -> QueryResult<bool> {
    let n: i64 = public_picture_size::table
        .filter(public_picture_size::digest.eq_any(digests.to_vec()))
        .count()
        .get_result(c)?;
    Ok(n > 0)
}

/// Adds a picture behind the others; returns its id. Its widths are added by [`add_size`].
///
/// # Errors
/// The database's own.
pub fn add(tx: &mut Tx, new: &NewPicture) -> QueryResult<PictureId> {
    diesel::insert_into(public_picture::table).values(new.clone()).returning(public_picture::id).get_result(tx.conn())
}

/// Adds a width of a picture.
///
/// # Errors
/// The database's own; a unique violation when the same picture is there already.
pub fn add_size(tx: &mut Tx, new: &NewPictureSize) -> QueryResult<()> {
    diesel::insert_into(public_picture_size::table).values(new.clone()).execute(tx.conn())?;
    Ok(())
}

/// Changes the words and the place of a picture.
///
/// # Errors
/// The database's own.
pub fn arrange(tx: &mut Tx, id: PictureId, alt: &str, position: i64) -> QueryResult<()> {
    diesel::update(public_picture::table.find(id))
        .set((public_picture::alt.eq(alt.to_string()), public_picture::position.eq(position)))
        .execute(tx.conn())?;
    Ok(())
}

/// Takes a picture off, with its widths.
///
/// # Errors
/// The database's own.
pub fn remove(tx: &mut Tx, id: PictureId) -> QueryResult<()> {
    diesel::delete(public_picture_size::table.filter(public_picture_size::picture_id.eq(id))).execute(tx.conn())?;
    diesel::delete(public_picture::table.find(id)).execute(tx.conn())?;
    Ok(())
}
