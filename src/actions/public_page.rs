//! The farm's public page: switched on and off, its words, the offerings on it, and its pictures.

use super::prepare_picture::Prepared;
use super::{Doing, Failure, Problems};
use crate::book::ids::{OfferingId, PictureId};
use crate::book::offerings;
use crate::book::public_page as stored;
use crate::book::rows::public::{NewPicture, NewPictureSize, PublicPage};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// The longest headline, in characters.
pub const LONGEST_HEADLINE: usize = 120;
/// The longest words, in characters.
pub const LONGEST_WORDS: usize = 4_000;
/// The longest alternative text, in characters.
pub const LONGEST_ALT: usize = 200;
/// Pictures on the page, at most.
pub const MOST_PICTURES: usize = 12;

/// What stands on the page besides its pictures.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct PageIn {
    /// Whether strangers may read it.
    pub is_on: bool,
    /// One line above all else; empty: what is for sale.
    pub headline: String,
    /// The farm's words; an empty line begins a paragraph.
    pub words: String,
    /// The offerings that stand on it while they are open.
    pub offerings: Vec<OfferingId>,
}

/// Saves the page. `version` is the one the form was opened with, 0 while nobody saved it.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between; [`Failure::Refused`] for an offering that is not there.
pub fn change_page(tx: &mut Tx, doing: &Doing, version: i64, input: &PageIn) -> Result<(), Failure> {
    let before = stored::get(tx.conn())?;
    if before.as_ref().map_or(0, |p| p.version) != version {
        return Err(Failure::Stale);
    }
    let known: Vec<OfferingId> = offerings::open(tx.conn())?.iter().map(|o| o.id).collect();
    let mut problems = Problems::default();
    if input.offerings.iter().any(|id| !known.contains(id)) {
        problems.add("offerings", "One of the offerings is not open any more. Tick those that the page shows.");
    }
    problems.check()?;
    let page = PublicPage {
        id: 1,
        is_on: input.is_on,
        headline: input.headline.clone(),
        words: input.words.clone(),
        changed_at: doing.now.at,
        version,
    };
    if !stored::save(tx, &page, version)? {
        return Err(Failure::Stale);
    }
    stored::choose(tx, &input.offerings)?;
    let line = match (before.is_some_and(|p| p.is_on), input.is_on) {
        (false, true) => "The public page was switched on",
        (true, false) => "The public page was switched off",
        _ => "The public page was changed",
    };
    stories::tell(tx, doing.now.at, &doing.actor, Line { line: line.into(), ..Line::default() })?;
    Ok(())
}

/// Adds a picture behind the others.
///
/// # Errors
/// [`Failure::Refused`] when there are [`MOST_PICTURES`], when it is there already, or without alternative text.
pub fn add_picture(tx: &mut Tx, doing: &Doing, alt: &str, picture: &Prepared) -> Result<PictureId, Failure> {
    let there = stored::pictures(tx.conn())?;
    let digests: Vec<String> = picture.0.iter().map(|s| s.digest.clone()).collect();
    let mut problems = Problems::default();
    if there.len() >= MOST_PICTURES {
        problems
            .add("picture", format!("The page has {MOST_PICTURES} pictures, which is the most. Take one off first."));
    }
    if stored::has_any(tx.conn(), &digests)? {
        problems.add("picture", "This picture is on the page already. Choose another.");
    }
    if alt.trim().is_empty() {
        problems.add("alt", "Say in a few words what is to be seen: for those who do not see the picture.");
    }
    problems.check()?;
    let last = there.last().map_or(0, |s| s.picture.position);
    let new = NewPicture { alt: alt.into(), position: last.saturating_add(1), added_at: doing.now.at };
    let picture_id = stored::add(tx, &new)?;
    for one in &picture.0 {
        let size = NewPictureSize {
            picture_id,
            width: one.width.into(),
            height: one.height.into(),
            digest: one.digest.clone(),
            body: STANDARD.encode(&one.jpeg),
        };
        stored::add_size(tx, &size)?;
    }
    tell(tx, doing, "A picture was added to the public page", alt)?;
    Ok(picture_id)
}

/// What becomes of a picture.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PictureIn {
    /// Which.
    pub id: PictureId,
    /// Its alternative text.
    pub alt: String,
    /// Its place; those with the same place keep the order they are given in.
    pub place: i64,
    /// Whether it is taken off.
    pub remove: bool,
}

/// Changes the words and the order of the pictures, and takes some off. Those that are not named stay behind the others.
///
/// # Errors
/// [`Failure::Stale`] when one of them is gone meanwhile.
pub fn arrange_pictures(tx: &mut Tx, doing: &Doing, input: &[PictureIn]) -> Result<(), Failure> {
    let there = stored::pictures(tx.conn())?;
    if input.iter().any(|p| !there.iter().any(|s| s.picture.id == p.id)) {
        return Err(Failure::Stale);
    }
    let mut problems = Problems::default();
    for one in input.iter().filter(|p| !p.remove && p.alt.trim().is_empty()) {
        problems.add(format!("alt-{}", one.id), "Say in a few words what is to be seen on this picture.");
    }
    problems.check()?;
    let mut kept: Vec<&PictureIn> = input.iter().filter(|p| !p.remove).collect();
    kept.sort_by_key(|p| p.place);
    let others = there.iter().filter(|s| !input.iter().any(|p| p.id == s.picture.id));
    let order =
        kept.iter().map(|p| (p.id, p.alt.as_str())).chain(others.map(|s| (s.picture.id, s.picture.alt.as_str())));
    for ((id, alt), position) in order.zip(1_i64..) {
        stored::arrange(tx, id, alt, position)?;
    }
    for one in input.iter().filter(|p| p.remove) {
        stored::remove(tx, one.id)?;
        tell(tx, doing, "A picture was taken off the public page", &one.alt)?;
    }
    Ok(())
}

fn tell(tx: &mut Tx, doing: &Doing, line: &str, alt: &str) -> Result<(), Failure> {
    let line = Line { line: line.into(), detail: format!("“{alt}”"), ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(())
}
