//! Boxes and packaged weight of each share, saved one by one.

use super::frame::{Place, PlantFrame};
use super::holder::PlantHolder;
use super::latest::{entered, latest, standing};
use crate::actions::Failure;
use crate::actions::plant_entry::{Entry, enter};
use crate::book::ids::ReservationId;
use crate::book::placements::{self, Share};
use crate::book::plant_entries::{self, Subject};
use crate::book::rows::animals::Animal;
use crate::book::rows::plant_page::PlantEntry;
use crate::book::{animals, carcasses};
use crate::trade::plant_entry::{Boxes, Entered, MOST_BOXES};
use crate::trade::vocabulary::{EntryAnswer, EntryKind};
use crate::trade::weight::Weight;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farm::heads::place_words;
use crate::web::look::draft::Draft;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, refused, see_other};
use crate::web::notice;
use crate::web::sent::Sent;
use actix_web::web;
use askama::Template;

struct Seen {
    /// Shares on head that hung or are still to hang, in the order of head.
    shares: Vec<(Share, Animal)>,
    entries: Vec<PlantEntry>,
}

async fn look(app: &App, holder: &PlantHolder) -> Result<Seen, Failure> {
    let id = holder.id();
    app.read(move |c| {
        let head: Vec<_> = animals::on_date(c, id)?.into_iter().filter(|a| a.lost_on.is_none()).collect();
        let ids: Vec<_> = head.iter().map(|a| a.id).collect();
        let weighed = carcasses::weigh_ins(c, &ids)?;
        let mut shares: Vec<(Share, Animal)> = placements::shares_on(c, &ids)?
            .into_iter()
            .filter_map(|s| Some((head.iter().find(|a| a.id == s.animal)?.clone(), s)).map(|(a, s)| (s, a)))
            .filter(|(s, _)| weighed.get(&s.animal).is_none_or(|w| w.hung().is_some()))
            .collect();
        shares.sort_by_key(|(s, a)| (a.id, s.slots.clone()));
        Ok(Seen { shares, entries: plant_entries::of_date(c, id)? })
    })
    .await
}

/// The field of a share: `o12-boxes`.
fn field(order: ReservationId, what: &str) -> String {
    format!("o{order}-{what}")
}

struct Row {
    order: ReservationId,
    key: String,
    name: String,
    place: String,
    standing: Standing,
    says: String,
    next: bool,
    /// Whether they are counted, for the list at the top.
    done: bool,
    errors: Vec<(String, String)>,
}

impl Row {
    fn field(&self, what: &str) -> String {
        field(self.order, what)
    }
}

#[derive(Template)]
#[template(path = "processor/boxes.html")]
struct BoxesPage {
    frame: PlantFrame,
    draft: Draft,
    date: i64,
    unit: &'static str,
    rows: Vec<Row>,
}

fn fill(draft: Draft, seen: &Seen, order: ReservationId) -> Draft {
    let entry = latest(&seen.entries, EntryKind::Boxes, Subject::Order(order));
    let draft = draft.with(field(order, "version"), entry.map_or(0, |e| e.revision).to_string());
    let Some(Entered::Boxes(b)) = entered(entry) else { return draft };
    draft
        .with(field(order, "boxes"), b.boxes.to_string())
        .with_some(field(order, "packaged"), b.packaged.map(Weight::short))
        .with(field(order, "where"), b.words)
}

impl BoxesPage {
    fn new(holder: &PlantHolder, seen: &Seen, typed: Option<(ReservationId, Draft)>) -> Self {
        let mine = typed.as_ref().map(|(id, _)| *id);
        let begun = typed.map_or_else(Draft::empty, |(_, draft)| draft);
        let others = seen.shares.iter().map(|(s, _)| s.reservation).filter(|id| Some(*id) != mine);
        let draft = others.fold(begun, |draft, order| fill(draft, seen, order));
        let of = |order| latest(&seen.entries, EntryKind::Boxes, Subject::Order(order));
        let next = seen.shares.iter().map(|(s, _)| s.reservation).find(|id| of(*id).is_none());
        let rows = seen.shares.iter().map(|(share, animal)| {
            let order = share.reservation;
            let (standing, says) = standing(holder, of(order), "To count");
            let own = field(order, "");
            let errors = draft.problems().iter().filter(|p| p.field.starts_with(&own));
            Row {
                order,
                key: holder.form_key(),
                name: share.name.clone(),
                place: format!(
                    "{}, {}, order {}",
                    animal.name(),
                    place_words(share.place).to_lowercase(),
                    share.number
                ),
                standing,
                says,
                next: next == Some(order),
                done: of(order).is_some_and(|e| e.answer != Some(EntryAnswer::Refused)),
                errors: errors.map(|p| (p.field.clone(), p.says.clone())).collect(),
            }
        });
        Self {
            frame: holder.frame(Place::Boxes),
            date: holder.id().0,
            unit: holder.unit(),
            rows: rows.collect(),
            draft,
        }
    }
}

/// The shares with their boxes.
///
/// # Errors
/// When the book cannot be read.
pub async fn show(holder: PlantHolder, app: web::Data<App>) -> Answer {
    let seen = look(&app, &holder).await?;
    Ok(page(&BoxesPage::new(&holder, &seen, None)))
}

/// Saves the boxes of one share; it waits for the farm.
///
/// # Errors
/// 404 when the share is not on this date; 422 with the row as it was typed.
pub async fn save(holder: PlantHolder, app: web::Data<App>, id: web::Path<i64>, sent: Sent) -> Answer {
    let order = ReservationId(*id);
    let (mut form, key) = sent.with_key();
    let seen = look(&app, &holder).await?;
    let found = seen.shares.iter().find(|(s, _)| s.reservation == order);
    let (share, _) = found.cloned().ok_or(PageError::Failed(Failure::NotFound))?;
    let revision = form.whole_number(&field(order, "version"), "Version", 0..=i64::MAX);
    let boxes = form.whole_number(&field(order, "boxes"), &format!("{}, boxes", share.name), 0..=MOST_BOXES);
    let packaged = form.optional_weight(&field(order, "packaged"), &format!("{}, packaged", share.name));
    let words = form.optional_text(&field(order, "where"), &format!("{}, where they are", share.name), 100);
    let (Some(revision), Some(boxes), Some(packaged), Some(words)) = (revision, boxes, packaged, words) else {
        return Ok(refused(&BoxesPage::new(&holder, &seen, Some((order, form.into_draft())))));
    };
    let entered = Entered::Boxes(Boxes { boxes, packaged, words });
    let entry = Entry { about: Subject::Order(order), seen: revision, entered, by: holder.name.clone() };
    let date = holder.id();
    let done = app.act(&holder, &key, move |tx, doing| {
        enter(tx, doing, date, &entry)?;
        Ok(format!("/plant/boxes#row-o{order}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), &format!("The boxes of {} are saved.", share.name))),
        Err(Failure::Stale) => {
            let now = look(&app, &holder).await?;
            let entry = latest(&now.entries, EntryKind::Boxes, Subject::Order(order));
            let version = field(order, "version");
            let says =
                format!("{}: somebody entered boxes in between. Save again to put yours in their place.", share.name);
            let draft = form
                .refuse(&field(order, "boxes"), says)
                .without(&version)
                .with(version, entry.map_or(0, |e| e.revision).to_string());
            Ok(refused(&BoxesPage::new(&holder, &now, Some((order, draft)))))
        }
        Err(Failure::Refused(problems)) => {
            for p in problems.0 {
                form.problem(&field(order, "boxes"), p.sentence);
            }
            Ok(refused(&BoxesPage::new(&holder, &seen, Some((order, form.into_draft())))))
        }
        Err(other) => Err(other.into()),
    }
}
