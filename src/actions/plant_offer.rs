//! What a processor does with a species: looked up for a share, changed by the farmer, and every cut sheet held against it.

use super::cut_sheet::{Basis, bases, said_once};
use super::{Doing, Failure, Problems};
use crate::book::conn::DbConn;
use crate::book::ids::{CustomerId, DateId, ProcessorId, ReservationId};
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::{ProcessingDate, Processor, ProcessorOffer};
use crate::book::sheets_due::{self, Due};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, farm, plant_offers, plants};
use crate::trade::cuts::offer::{Offer, Open, filled, fits, narrowed};
use crate::trade::cuts::sheet::{Hanging, Note};
use crate::trade::cuts::{BadCatalogue, catalogue, common};
use crate::trade::share::Species;
use crate::trade::sheet_json::{self, Kept};
use chrono::NaiveDate;
use std::collections::HashMap;

/// What is to be had for one share: the plant it goes to, if it has a date, and what that plant does.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct There {
    /// The plant; none while the share has no date, and then everything is to be had.
    pub plant: Option<Processor>,
    /// What it does.
    pub offer: Offer,
}

fn faulty(e: &BadCatalogue) -> Failure {
    Failure::Unexpected(e.to_string())
}

fn hanging(basis: &Basis, kept: &Kept) -> Hanging {
    Hanging { head_on: kept.head_on, skin_on: kept.skin_on, ..basis.hanging }
}

impl There {
    /// The plant's name; “The processor” while there is none.
    pub fn name(&self) -> &str {
        self.plant.as_ref().map_or("The processor", |p| p.name.as_str())
    }

    /// What a form for this share may show. The farmer's and the customer's forms both ask here.
    ///
    /// # Errors
    /// [`Failure::Unexpected`] when the catalogue cannot be used.
    pub fn open(&self, basis: &Basis) -> Result<Open<'static>, Failure> {
        let (catalogue, common) = (basis.hanging.catalogue().map_err(faulty)?, common().map_err(faulty)?);
        Ok(narrowed(catalogue, common, &self.offer, basis.hanging.from_30_months()))
    }

    /// A sheet with what this plant does where a field is left open written out, if it is not what is usual.
    pub fn filled(&self, basis: &Basis, kept: &Kept) -> Kept {
        let (Ok(catalogue), Ok(common)) = (basis.hanging.catalogue(), common()) else { return kept.clone() };
        Kept { sheet: filled(catalogue, common, &hanging(basis, kept), &kept.sheet, &self.offer), ..kept.clone() }
    }

    /// What of a sheet this plant does not do.
    pub fn fits(&self, basis: &Basis, kept: &Kept, special: &str) -> Vec<Note> {
        fits(&hanging(basis, kept), &kept.sheet, !special.trim().is_empty(), &self.offer, self.name())
    }

    /// The same as what a form is refused with: each sentence once, at the field it is about.
    pub fn problems(&self, basis: &Basis, kept: &Kept, special: &str) -> Problems {
        said_once(&self.fits(basis, kept, special))
    }
}

fn read(row: Option<&ProcessorOffer>) -> Result<Offer, Failure> {
    row.map_or_else(|| Ok(Offer::default()), |row| Offer::read(&row.document).map_err(Failure::Unexpected))
}

/// What is to be had for an order at the processor of its date.
///
/// # Errors
/// The database's own.
pub fn of_order(c: &mut DbConn, basis: &Basis) -> Result<There, Failure> {
    let Some(date) = sheets_due::date_of(c, basis.order.0.id)? else { return Ok(There::default()) };
    let offer = look(c, date.processor_id, basis.hanging.species)?.0;
    Ok(There { plant: Some(plants::get(c, date.processor_id)?), offer })
}

/// What a plant does with a species, and the version of that; 0 when it said nothing yet.
///
/// # Errors
/// The database's own.
pub fn look(c: &mut DbConn, plant: ProcessorId, species: Species) -> Result<(Offer, i64), Failure> {
    let row = plant_offers::of(c, &[plant])?.remove(&(plant, species));
    Ok((read(row.as_ref())?, row.map_or(0, |row| row.version)))
}

/// A cut sheet that cannot be cut where its share goes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unfit {
    /// The date.
    pub date: DateId,
    /// The order.
    pub reservation: ReservationId,
    /// Whose it is.
    pub customer: CustomerId,
    /// The customer's name.
    pub name: String,
    /// What cannot be done, a sentence each.
    pub why: Vec<String>,
}

/// The cut sheets of these dates that their processors do not do, in the order of the dates. A fixed number of queries, and
/// one where no plant has said anything.
///
/// # Errors
/// [`Failure::Unexpected`] when something stored cannot be read.
pub fn unfit(
    c: &mut DbConn,
    farm: &Farm,
    today: NaiveDate,
    all: &[(&ProcessingDate, &Processor, &[Due])],
) -> Result<Vec<Unfit>, Failure> {
    let ids: Vec<ProcessorId> = all.iter().map(|(_, plant, _)| plant.id).collect();
    let said = plant_offers::of(c, &ids)?;
    let mut limited: HashMap<(ProcessorId, Species), There> = HashMap::new();
    for (key, row) in &said {
        let offer = read(Some(row))?;
        let plant = all.iter().find(|(_, plant, _)| plant.id == key.0).map(|(_, plant, _)| (*plant).clone());
        if !offer.is_everything() {
            limited.insert(*key, There { plant, offer });
        }
    }
    let there: Vec<(&ProcessingDate, &Due)> = all
        .iter()
        .filter(|(_, plant, _)| limited.keys().any(|(id, _)| *id == plant.id))
        .flat_map(|(date, _, shares)| shares.iter().map(move |s| (*date, s)))
        .filter(|(_, s)| s.sheet.is_some())
        .collect();
    if there.is_empty() {
        return Ok(Vec::new());
    }
    let bases = bases(c, farm, today, &there.iter().map(|(_, s)| s.reservation).collect::<Vec<_>>())?;
    let mut out = Vec::new();
    for (date, share) in there {
        let (Some(basis), Some(sheet)) = (bases.get(&share.reservation), &share.sheet) else { continue };
        let Some(there) = limited.get(&(date.processor_id, basis.hanging.species)) else { continue };
        let kept = sheet_json::read(&sheet.sheet).map_err(Failure::Unexpected)?;
        let why: Vec<String> = there.problems(basis, &kept, &sheet.special).0.into_iter().map(|p| p.sentence).collect();
        if !why.is_empty() {
            let (date, name) = (date.id, share.name.clone());
            out.push(Unfit { date, reservation: share.reservation, customer: share.customer, name, why });
        }
    }
    Ok(out)
}

/// The same for the dates to come of one plant, or of all.
///
/// # Errors
/// As [`unfit`].
pub fn unfit_ahead(
    c: &mut DbConn,
    farm: &Farm,
    today: NaiveDate,
    plant: Option<ProcessorId>,
) -> Result<Vec<Unfit>, Failure> {
    let mut coming = dates::coming(c, today)?;
    coming.retain(|(d, _)| plant.is_none_or(|id| d.processor_id == id));
    let shares = sheets_due::on_dates(c, &coming.iter().map(|(d, _)| d.id).collect::<Vec<_>>())?;
    let of = |id: DateId| shares.iter().filter(move |s| s.date == id).cloned().collect::<Vec<Due>>();
    let own: Vec<_> = coming.iter().map(|(d, p)| (d, p, of(d.id))).collect();
    let all: Vec<_> = own.iter().map(|(d, p, s)| (*d, *p, s.as_slice())).collect();
    unfit(c, farm, today, &all)
}

/// “Ines Halvard and Tomas Wren”: whose sheets they are, each once, for a story.
pub fn whose(all: &[Unfit]) -> String {
    let mut names: Vec<&str> = Vec::new();
    for one in all.iter().filter(|u| !u.name.is_empty()) {
        if !names.contains(&one.name.as_str()) {
            names.push(&one.name);
        }
    }
    crate::trade::cuts::sheet::listed(&names, "and")
}

/// Saves what a plant does with a species; `version` is that of what the form was opened with, 0 for nothing. The dates
/// to come whose cut sheets do not fit any more are told so.
///
/// # Errors
/// [`Failure::Refused`] when a block or a parameter is left with nothing to choose; [`Failure::Stale`] when somebody saved in
/// between.
pub fn save_offer(
    tx: &mut Tx,
    doing: &Doing,
    plant: ProcessorId,
    species: Species,
    version: i64,
    offer: &Offer,
) -> Result<(), Failure> {
    let owner = plants::get(tx.conn(), plant)?;
    let (catalogue, common) = (catalogue(species).map_err(faulty)?, common().map_err(faulty)?);
    let mut problems = Problems::default();
    for (field, why) in offer.faults(catalogue, common) {
        problems.add(field, format!("{why}."));
    }
    problems.check()?;
    let (before, stored) = look(tx.conn(), plant, species)?;
    if stored != version {
        return Err(Failure::Stale);
    }
    // To have asked and heard that everything is done is worth keeping too.
    if before == *offer && version > 0 {
        return Ok(());
    }
    let document = offer.write().map_err(Failure::Unexpected)?;
    let row = ProcessorOffer { processor_id: plant, species, document, changed_at: doing.now.at, version };
    if !plant_offers::save(tx, &row, version)? {
        return Err(Failure::Stale);
    }
    let farm = farm::get(tx.conn())?;
    let unfit = unfit_ahead(tx.conn(), &farm, doing.now.today, Some(plant))?;
    let line = format!("What {} does with {} was changed", owner.name, species.label());
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, detail: offer.in_words(), ..Line::default() })?;
    tell_unfit(tx, doing, &owner.name, &unfit)
}

/// Tells the story of each date whose sheets do not fit its processor.
///
/// # Errors
/// The database's own.
pub(super) fn tell_unfit(tx: &mut Tx, doing: &Doing, plant: &str, unfit: &[Unfit]) -> Result<(), Failure> {
    let mut told: Vec<DateId> = Vec::new();
    for one in unfit {
        if told.contains(&one.date) {
            continue;
        }
        told.push(one.date);
        let own: Vec<Unfit> = unfit.iter().filter(|u| u.date == one.date).cloned().collect();
        let line = Line {
            line: format!("{plant} does not do all of the cut sheets of {}", whose(&own)),
            date: Some(one.date),
            ..Line::default()
        };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(())
}
