//! How the newest entry about something stands, in the plant's eyes.

use super::holder::PlantHolder;
use crate::book::at::At;
use crate::book::plant_entries::Subject;
use crate::book::rows::plant_page::PlantEntry;
use crate::trade::dates::{hour, near};
use crate::trade::plant_entry::Entered;
use crate::trade::vocabulary::{EntryAnswer, EntryKind};
use crate::web::look::parts::Standing;

/// The newest entry about something; `all` has the newest first.
pub fn latest(all: &[PlantEntry], kind: EntryKind, about: Subject) -> Option<&PlantEntry> {
    all.iter().find(|e| {
        e.kind == kind
            && match about {
                Subject::Animal(id) => e.animal_id == Some(id),
                Subject::Order(id) => e.reservation_id == Some(id),
                Subject::Date => true,
            }
    })
}

/// What stands in it; `None` when there is none or it cannot be read.
pub fn entered(entry: Option<&PlantEntry>) -> Option<Entered> {
    entry.and_then(|e| e.entered().ok())
}

/// "9:12 AM" today, else the day.
pub fn when(holder: &PlantHolder, at: At) -> String {
    let day = at.day(holder.now.zone);
    if day == holder.now.today {
        hour(at.utc().with_timezone(&holder.now.zone).time())
    } else {
        near(day, holder.now.today)
    }
}

/// How it stands, and what the farm said when it did not take it. `nothing`: the word while there is none.
pub fn standing(holder: &PlantHolder, entry: Option<&PlantEntry>, nothing: &str) -> (Standing, String) {
    let Some(e) = entry else { return (Standing::wait(nothing), String::new()) };
    match e.answer {
        None => (Standing::done(format!("Saved {}; the farm looks at it", when(holder, e.entered_at))), String::new()),
        Some(EntryAnswer::Refused) => {
            let says = format!("{} says: “{}”", holder.farm.name, e.words);
            (Standing::todo("Look at it again"), says)
        }
        Some(_) => (Standing::done("The farm has taken it"), String::new()),
    }
}
