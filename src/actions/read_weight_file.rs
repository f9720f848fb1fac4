//! A file of weights on its way into the book: kept for a day, its columns matched, its lines held against the head of its date.
//!
//! Nothing here touches weights; [`super::take_weight_file`] does, by a button.

use super::record_weights::{self as weights, WeighForm, WeighRow, doubts_about, says_what_is_stored};
use super::sheet_in::{self, KEPT};
use super::{Doing, Failure, Problems};
use crate::book::at::At;
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, DateId, ProcessorId, WeightFileId};
use crate::book::rows::animals::{Animal, WeighIn};
use crate::book::rows::plant_page::{NewWeightFile, ProcessorColumns, WeightFile, WeightFileTaken};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{animals, carcasses, dates, farm, weight_files};
use crate::secret;
use crate::trade::carcass::Hung;
use crate::trade::dressing::{Doubt, Dressed};
use crate::trade::fold::fold;
use crate::trade::sheet_file::columns::{Known, Matched, remember, remembered};
use crate::trade::sheet_file::{Fault, Table};
use crate::trade::vocabulary::CarcassBasis;
use crate::trade::weigh_file::{Fate, Said, guessed, mismatched, read};
use crate::trade::weight::Weight;
use chrono::NaiveDate;
use std::collections::{HashMap, HashSet};

/// Keeps a file that [`sheet_in::open`] read; it is forgotten when it was taken, and when another one comes a day later.
///
/// # Errors
/// [`Failure::NotFound`] without such a date, [`Failure::Refused`] when it is cancelled.
pub fn keep_file(tx: &mut Tx, doing: &Doing, date: DateId, name: &str, text: &str) -> Result<WeightFileId, Failure> {
    let (row, _) = dates::get(tx.conn(), date)?;
    if row.cancelled_at.is_some() {
        return Err(Failure::refuse("file", "This date is cancelled. Open the date that took its place."));
    }
    let name = if name.is_empty() { "weights.csv" } else { name };
    let new = NewWeightFile { date_id: date, name: name.to_string(), content: text.to_string(), made_at: doing.now.at };
    Ok(weight_files::add(tx, &new, At(doing.now.at.0.saturating_sub(KEPT)))?)
}

/// A file that waits, with its table and columns.
#[derive(Debug, Clone)]
pub struct Opened {
    /// The file.
    pub file: WeightFile,
    /// Its plant.
    pub plant: ProcessorId,
    /// Its table.
    pub table: Table,
    /// What was matched for such headings before, else what the headings suggest.
    pub columns: Matched,
    /// Whether somebody matched them.
    pub is_matched: bool,
    /// When the same file was taken for this date.
    pub taken: Option<WeightFileTaken>,
}

fn known(c: &mut DbConn, plant: ProcessorId) -> Result<Vec<Known>, Failure> {
    let row = weight_files::columns(c, plant)?;
    Ok(sheet_in::known(row.as_ref().map(|r| r.document.as_str())))
}

/// What a file's text is known by when it comes again.
pub fn digest(file: &WeightFile) -> String {
    secret::hash(&file.content)
}

/// Opens a file that waits.
///
/// # Errors
/// [`Failure::NotFound`] when it was taken or forgotten.
pub fn look(c: &mut DbConn, date: DateId, id: WeightFileId) -> Result<Opened, Failure> {
    let (row, plant) = dates::get(c, date)?;
    let file = weight_files::get(c, row.id, id)?;
    let table = sheet_in::table(&file.content)?;
    let known = known(c, plant.id)?;
    let matched = remembered(&known, &table.headings).filter(|m| mismatched(&table, m).is_empty()).cloned();
    let taken = weight_files::taken(c, date, &digest(&file))?;
    let is_matched = matched.is_some();
    let columns = matched.unwrap_or_else(|| guessed(&table.headings));
    Ok(Opened { file, plant: plant.id, table, columns, is_matched, taken })
}

/// Remembers which column is which for these headings of this processor.
///
/// # Errors
/// [`Failure::Refused`] with a sentence for each field (by its word) that cannot be so.
pub fn match_columns(
    tx: &mut Tx,
    doing: &Doing,
    date: DateId,
    id: WeightFileId,
    columns: &Matched,
) -> Result<(), Failure> {
    let opened = look(tx.conn(), date, id)?;
    let mut problems = Problems::default();
    for (field, says) in mismatched(&opened.table, columns) {
        problems.add(field.as_str(), says);
    }
    problems.check()?;
    let all = remember(known(tx.conn(), opened.plant)?, &opened.table.headings, columns.clone());
    let document = sheet_in::document(&all)?;
    let row = ProcessorColumns { processor_id: opened.plant, document, changed_at: doing.now.at };
    weight_files::put_columns(tx, &row)?;
    let line = format!("The columns of the file “{}” were matched", opened.file.name);
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, date: Some(date), ..Line::default() })?;
    Ok(())
}

/// What the file itself does not say.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct How {
    /// Hot or cold, for lines that do not say it.
    pub basis: CarcassBasis,
    /// The day of weighing.
    pub weighed_on: NaiveDate,
}

/// A line held against its head.
#[derive(Debug, Clone)]
pub struct Row {
    /// The line in the file.
    pub line: usize,
    /// The head.
    pub animal: Animal,
    /// What is in the book.
    pub stored: Option<WeighIn>,
    /// Its last live weight.
    pub live: Option<Weight>,
    /// What would be recorded, without a tick.
    pub row: WeighRow,
    /// Hot or cold.
    pub basis: CarcassBasis,
    /// Whether the book says the same already.
    pub is_same: bool,
    /// What makes its weights doubtful; empty when nothing does.
    pub doubts: Vec<Doubt>,
}

impl Row {
    /// The weights of the line; none of a condemned carcass.
    pub const fn hung(&self) -> Option<Hung> {
        match self.row.fate {
            weights::Fate::Hung { hung, .. } => Some(hung),
            _ => None,
        }
    }
}

/// A file held against the head of its date.
#[derive(Debug, Clone, Default)]
pub struct Preview {
    /// The lines of head of this date, in the order of the file.
    pub rows: Vec<Row>,
    /// Lines of head of this date without a weight yet: the line and the head's name.
    pub not_yet: Vec<(usize, String)>,
    /// Lines about no head of this date; they may be left out.
    pub strangers: Vec<Fault>,
    /// What has to be corrected before anything is taken.
    pub faults: Vec<Fault>,
    /// Names of head of this date that no line is about and that have no weight in the book.
    pub missing: Vec<String>,
    /// Changes when anything does that this rests on.
    pub fingerprint: String,
}

impl Preview {
    /// Whether anything could be taken if nothing were wrong.
    pub fn changes(&self) -> usize {
        self.rows.iter().filter(|r| !r.is_same).count()
    }
}

/// Tags as they are compared: case and blanks do not count, nor a number sign in front, nor zeros before a number.
fn tag_key(text: &str) -> String {
    let folded = fold(text);
    let bare = folded.trim_start_matches(['#', ' ']);
    let bare = bare.strip_prefix("no. ").or_else(|| bare.strip_prefix("tag ")).unwrap_or(bare).trim();
    let digits = !bare.is_empty() && bare.bytes().all(|b| b.is_ascii_digit());
    let short = if digits { bare.trim_start_matches('0') } else { bare };
    if short.is_empty() { bare.to_string() } else { short.to_string() }
}

/// The head by everything it may be called in a file: tag, “Steer 229”, official number.
fn by_name(head: &[Animal]) -> HashMap<String, Vec<usize>> {
    let mut found: HashMap<String, Vec<usize>> = HashMap::new();
    for (n, animal) in head.iter().enumerate() {
        let keys: HashSet<String> =
            [animal.tag.clone(), animal.name(), animal.official_id.clone()].iter().map(|k| tag_key(k)).collect();
        for key in keys.into_iter().filter(|k| !k.is_empty()) {
            found.entry(key).or_default().push(n);
        }
    }
    found
}

/// Holds a file against the head of its date.
///
/// # Errors
/// The database's own.
pub fn preview(c: &mut DbConn, opened: &Opened, how: How) -> Result<Preview, Failure> {
    let date = opened.file.date_id;
    let unit = farm::get(c)?.unit;
    let lines = read(&opened.table, &opened.columns, unit);
    let head = animals::on_date(c, date)?;
    let ids: Vec<AnimalId> = head.iter().map(|a| a.id).collect();
    let stored = carcasses::weigh_ins(c, &ids)?;
    let live = animals::last_live_weights(c, &ids)?;
    let names = by_name(&head);
    let mut seen: HashMap<AnimalId, usize> = HashMap::new();
    let mut all = Preview { faults: lines.faults, ..Preview::default() };
    for said in &lines.said {
        let animal = match names.get(&tag_key(&said.tag)).map(Vec::as_slice) {
            Some([one]) => head.get(*one),
            Some(_) => {
                let says = format!(
                    "Several head of this date are called “{}”. Write the kind with it, such as “Steer {}”.",
                    said.tag, said.tag
                );
                all.faults.push(Fault::line(said.line, says));
                continue;
            }
            None => None,
        };
        let Some(animal) = animal else {
            let says = match said.tag.is_empty() {
                true => "No tag stands here.".to_string(),
                false => format!("No head of this date has the tag “{}”.", said.tag),
            };
            all.strangers.push(Fault::line(said.line, says));
            continue;
        };
        if animal.lost_on.is_some() {
            all.strangers.push(Fault::line(said.line, format!("{} is recorded as lost.", animal.name())));
            continue;
        }
        if let Some(first) = seen.insert(animal.id, said.line) {
            let says = format!("{} stands in line {first} already. Keep one of the two lines.", animal.name());
            all.faults.push(Fault::line(said.line, says));
            continue;
        }
        let Some(row) = weigh_row(said, animal, stored.get(&animal.id)) else {
            all.not_yet.push((said.line, animal.name()));
            continue;
        };
        let live = live.get(&animal.id).map(|w| w.weight);
        match against(said, animal, row, stored.get(&animal.id), live, how, date) {
            Ok(row) => all.rows.push(row),
            Err(Failure::Refused(problems)) => {
                let says = problems.0.into_iter().map(|p| p.sentence).collect::<Vec<_>>().join(" ");
                all.faults.push(Fault::line(said.line, says));
            }
            Err(other) => return Err(other),
        }
    }
    all.faults.sort_by_key(|f| f.line);
    let silent =
        head.iter().filter(|a| a.lost_on.is_none() && !seen.contains_key(&a.id) && !stored.contains_key(&a.id));
    all.missing = silent.map(Animal::name).collect();
    let rests_on: Vec<_> = all.rows.iter().map(|r| (&r.row, r.basis, r.live)).collect();
    all.fingerprint = secret::hash(&format!("{how:?} {rests_on:?} {:?} {:?}", all.strangers, all.faults));
    Ok(all)
}

/// What a line would record; none when it has no weight yet. What the file does not say stays as it is in the book.
fn weigh_row(said: &Said, animal: &Animal, stored: Option<&WeighIn>) -> Option<WeighRow> {
    let fate = match &said.fate {
        Fate::Hung { hung, condemned_parts } => {
            weights::Fate::Hung { hung: *hung, condemned_parts: condemned_parts.clone() }
        }
        Fate::Condemned(why) => weights::Fate::Condemned(why.clone()),
        Fate::NotYet => return None,
    };
    let usual = Dressed::usual(animal.species, CarcassBasis::Hot);
    let number = stored.map(|w| w.carcass_number.clone()).filter(|_| said.number.is_empty());
    Some(WeighRow {
        animal: animal.id,
        version: stored.map_or(0, |w| w.version),
        fate,
        carcass_number: number.unwrap_or_else(|| said.number.clone()),
        head_on: stored.map_or(usual.head_on, |w| w.head_on),
        skin_on: stored.map_or(usual.skin_on, |w| w.skin_on),
        confirmed: String::new(),
    })
}

fn against(
    said: &Said,
    animal: &Animal,
    row: WeighRow,
    stored: Option<&WeighIn>,
    live: Option<Weight>,
    how: How,
    date: DateId,
) -> Result<Row, Failure> {
    let basis = said.basis.unwrap_or(how.basis);
    let form = WeighForm { date, basis, weighed_on: how.weighed_on, for_saved_too: true, rows: Vec::new() };
    let is_same = says_what_is_stored(&row, &form, stored);
    let doubts = match row.fate {
        weights::Fate::Hung { hung, .. } => {
            let dressed = Dressed { basis, head_on: row.head_on, skin_on: row.skin_on };
            doubts_about(animal.class(), dressed, live, hung)?
        }
        _ => Vec::new(),
    };
    Ok(Row { line: said.line, animal: animal.clone(), stored: stored.cloned(), live, row, basis, is_same, doubts })
}
