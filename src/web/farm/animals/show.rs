//! One animal: its rail and owners, weights, treatments and story.

use super::costs::{Costs, costs};
use super::lines::{TreatmentLine, WeightLine, hanging, story, treatment, weights};
use super::species_title;
use crate::actions::Failure;
use crate::actions::place_share::{Move, Spot, Target, place_shares};
use crate::book::animals::{self, InWithdrawal};
use crate::book::carcasses::{self, billed_weights};
use crate::book::conn::DbConn;
use crate::book::costs::{self as costs_book, Lot};
use crate::book::ids::{AnimalId, ReservationId};
use crate::book::placements::{self, Share, ToTell, taken};
use crate::book::rows::animals::{Animal, LiveWeight, Treatment, WeighIn};
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::{ProcessingDate, Processor};
use crate::book::rows::stories::Story;
use crate::book::unplaced::{self, Unplaced};
use crate::book::{dates, stories};
use crate::trade::age::{class_on, months};
use crate::trade::dates::{full, long, month, near, short};
use crate::trade::live_weight::tape_unit;
use crate::trade::official_id;
use crate::trade::placing::choices;
use crate::trade::share::{Part, Side, Size};
use crate::trade::vocabulary::{BirthPrecision, Condemned, WeighMethod};
use crate::trade::weight::Weight;
use crate::trade::withdrawal;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::heads::{
    expected, free_quarters, free_words, ordinal, place_words, rail_of, range_of, share_words, side_words,
};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing, StoryLine};
use crate::web::look::rail::{Defs, Rail};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::{Choices, Frame, Tab};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;
use chrono::NaiveDate;
use std::collections::HashMap;

/// Everything the page is made of, read in one snapshot.
struct Seen {
    animal: Animal,
    on: Option<(ProcessingDate, Processor)>,
    shares: Vec<Share>,
    weighed: Option<WeighIn>,
    live: Vec<LiveWeight>,
    treatments: Vec<Treatment>,
    late: Option<InWithdrawal>,
    billed: HashMap<ReservationId, (Weight, String)>,
    free: Vec<Unplaced>,
    to_tell: Vec<ToTell>,
    story: Vec<Story>,
    costs: Vec<Lot>,
}

fn look(c: &mut DbConn, id: AnimalId, farm: &Farm) -> Result<Seen, Failure> {
    let animal = animals::get(c, id)?;
    let on = match animal.date_id {
        Some(date) => Some(dates::get(c, date)?),
        None => None,
    };
    let shares = placements::shares_on(c, &[id])?;
    let room = animal.lost_on.is_none() && taken(&shares, id).len() < 4;
    let billed = billed_weights(c, farm, &[id])?.into_iter().flat_map(|b| b.shares);
    Ok(Seen {
        on,
        weighed: carcasses::weigh_ins(c, &[id])?.remove(&id),
        live: animals::live_weights(c, id)?,
        treatments: animals::treatments(c, &[id])?,
        late: animals::in_withdrawal(c)?.into_iter().find(|w| w.animal == id),
        billed: billed.map(|s| (s.reservation, (s.weight, s.origin_words))).collect(),
        free: if room { unplaced::of_species(c, animal.species)? } else { Vec::new() },
        to_tell: placements::to_tell(c, &[id])?,
        story: stories::of_animal(c, id)?,
        costs: costs_book::of_animals(c, &[id])?,
        shares,
        animal,
    })
}

/// An owner, or a free place with whom it could be given to.
struct Owner {
    letter: char,
    name: String,
    place: String,
    reservation: ReservationId,
    number: String,
}

struct Free {
    side: &'static str,
    title: String,
    why: String,
    options: Choices,
}

#[derive(Template)]
#[template(path = "farm/animals/show.html")]
struct ShowPage {
    frame: Frame,
    draft: Draft,
    animal: Animal,
    name: String,
    group: String,
    standing: Standing,
    lead: String,
    date: Option<Link>,
    rail: Rail,
    left: Vec<Owner>,
    right: Vec<Owner>,
    free: Vec<Free>,
    weights: Vec<WeightLine>,
    treatments: Vec<TreatmentLine>,
    caution: &'static str,
    late: bool,
    weighed: bool,
    hanging: Option<(String, String)>,
    to_tell: Vec<ToTell>,
    born: String,
    age_class: &'static str,
    official_id: String,
    story: Vec<StoryLine>,
    /// What it cost; none for who does not see money.
    costs: Option<Costs>,
    unit: &'static str,
}

impl ShowPage {
    const fn defs(&self) -> Defs {
        Defs::LARGE
    }
    fn free_on(&self, side: &str) -> impl Iterator<Item = &Free> {
        self.free.iter().filter(move |f| f.side == side)
    }
    fn is_lost(&self) -> bool {
        self.animal.lost_on.is_some()
    }
}

pub(super) async fn show(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>) -> Answer {
    let (id, farm) = (*id, farmer.farm.clone());
    let seen = app.read(move |c| look(c, id, &farm)).await?;
    Ok(page(&shown_page(&farmer, seen, Draft::empty())))
}

fn shown_page(farmer: &Farmer, seen: Seen, draft: Draft) -> ShowPage {
    let (today, unit) = (farmer.now.today, farmer.unit());
    let animal = &seen.animal;
    let rail = rail_of(animal, &seen.shares, seen.weighed.as_ref()).large();
    let range = expected(animal, seen.live.first().map(|w| w.weight));
    let owner = |side: Side| -> Vec<Owner> {
        let on = rail.owners_on(side).into_iter();
        on.filter_map(|o| {
            let mut own =
                seen.shares.iter().filter(|s| s.name == o.name && (s.side() == Some(side) || s.side().is_none()));
            // Two shares of one person on a side are told apart by their order in the drawing.
            let share = own.find(|s| letter_of(&rail, s, &seen.shares) == Some(o.letter))?;
            let weight = match (seen.billed.get(&share.reservation), range) {
                (Some((weight, origin)), _) => format!(" · {} {unit} ({origin})", weight.shown()),
                (None, Some(range)) => format!(" · {} {unit}", range_of(range, share.size.quarters())),
                (None, None) => String::new(),
            };
            Some(Owner {
                letter: o.letter,
                name: o.name,
                place: format!("{}{weight}", place_words(share.place)),
                reservation: share.reservation,
                number: share.number.clone(),
            })
        })
        .collect()
    };
    let (left, right) = (owner(Side::Left), owner(Side::Right));
    let free = free_places(&seen, range, unit);
    let born = animal.birth_on.map(|day| {
        let age = months(day, today).map(|m| format!(", {m} months")).unwrap_or_default();
        match animal.birth_precision {
            BirthPrecision::Month => format!("{}{age}", month(day)),
            _ => format!("{}{age}", full(day)),
        }
    });
    let kill = seen.on.as_ref().map_or(today, |(d, _)| d.kill_on);
    let hangs = seen.weighed.as_ref().and_then(|w| w.hung().and(w.recorded().ok()));
    // Sums that cannot be reckoned are left to the page of costs, which says so.
    let shown_costs = costs(animal.id, &seen.costs, hangs, today, unit).ok();
    ShowPage {
        frame: farmer.frame(Tab::Animals),
        draft,
        name: animal.name(),
        group: species_title(animal.species),
        standing: standing(&seen, today),
        lead: lead(&seen, range, today, unit),
        date: seen
            .on
            .as_ref()
            .map(|(d, p)| Link::new(format!("/dates/{}", d.id), format!("{} at {}", long(d.kill_on, today), p.name))),
        left,
        right,
        free,
        weights: weights(&seen.live, tape_unit(farmer.farm.unit)),
        treatments: seen.treatments.iter().map(|t| treatment(t, today)).collect(),
        caution: withdrawal::CAUTION,
        late: seen.late.is_some(),
        weighed: seen.weighed.is_some(),
        hanging: hanging(seen.weighed.as_ref(), seen.live.first(), unit),
        born: born.unwrap_or_default(),
        age_class: class_on(animal.species, animal.birth_on, animal.birth_precision, kill).map_or("", |c| c.label()),
        official_id: official_id::shown(&animal.official_id),
        story: story(&seen.story, farmer),
        costs: shown_costs.filter(|_| farmer.sees_money()),
        unit,
        to_tell: seen.to_tell,
        rail,
        animal: seen.animal,
    }
}

/// The letter a share has in the drawing: the n-th owner's letter for the n-th share as one reads.
fn letter_of(rail: &Rail, share: &Share, shares: &[Share]) -> Option<char> {
    let own = rail.owners();
    let mut same: Vec<_> = shares.iter().filter(|s| s.name == share.name).collect();
    same.sort_by_key(|s| {
        let across = matches!(s.part, Some(Part::Fore | Part::Hind));
        let first = s.slots.first().copied();
        // The hind quarter hangs on top, so it is read first.
        (s.side(), if across { std::cmp::Reverse(first) } else { std::cmp::Reverse(None) }, first)
    });
    let place = same.iter().position(|s| s.reservation == share.reservation)?;
    own.iter().filter(|o| o.name == share.name).nth(place).map(|o| o.letter)
}

fn standing(seen: &Seen, today: NaiveDate) -> Standing {
    if let Some(day) = seen.animal.lost_on {
        return Standing::late(format!("Lost {}", short(day, today)));
    }
    if seen.weighed.as_ref().is_some_and(|w| w.condemned == Condemned::Whole) {
        return Standing::late("Condemned");
    }
    if let Some(late) = &seen.late {
        let day = late.earliest.map_or("put right".into(), |day| near(day, today));
        return Standing::late(format!("Withdrawal until {day}"));
    }
    match free_quarters(&seen.animal, &seen.shares) {
        0 => Standing::done("All sold"),
        n => {
            let by = seen.on.as_ref().map(|(d, _)| d.sheets_due.unwrap_or(d.kill_on)).filter(|day| *day >= today);
            Standing::todo(match by {
                Some(day) => format!("{}, sell by {}", free_words(n), short(day, today)),
                None => free_words(n),
            })
        }
    }
}

fn lead(seen: &Seen, range: Option<(Weight, Weight)>, today: NaiveDate, unit: &str) -> String {
    if seen.animal.lost_on.is_some() {
        let why = &seen.animal.lost_reason;
        return if why.is_empty() {
            "Nothing of it is billed.".into()
        } else {
            format!("{}. Nothing of it is billed.", why.trim_end_matches('.'))
        };
    }
    if let Some(late) = &seen.late {
        let day = late.earliest.map_or("its treatments are put right".into(), |day| long(day, today));
        return format!(
            "It is booked inside a drug withdrawal period and may not be killed before {day}. Move it to a later date."
        );
    }
    let mut says = String::new();
    if let (Some(last), None) = (seen.live.first(), &seen.weighed) {
        let about = if last.method == WeighMethod::Girth { "about " } else { "" };
        says = format!("Last weighed at {about}{}\u{a0}{unit}", last.weight.short());
        match range {
            Some(range) => says.push_str(&format!("; expect {}\u{a0}{unit} hanging.", range_of(range, 4))),
            None => says.push('.'),
        }
    }
    says
}

fn free_places(seen: &Seen, range: Option<(Weight, Weight)>, unit: &str) -> Vec<Free> {
    if seen.animal.lost_on.is_some() || seen.weighed.as_ref().is_some_and(|w| w.condemned == Condemned::Whole) {
        return Vec::new();
    }
    let taken = taken(&seen.shares, seen.animal.id);
    let mut found = Vec::new();
    for side in [Side::Left, Side::Right] {
        let on = taken.iter().filter(|t| t.slot.side() == side).count();
        let free = 2_i64.saturating_sub(i64::try_from(on).unwrap_or(2));
        if free == 0 {
            continue;
        }
        let fits = |u: &&Unplaced| {
            let whole = u.size == Size::Whole && side == Side::Left;
            let places = choices(&taken, u.size, u.part);
            places.iter().any(|c| c.place.is_on(side)) && (whole || u.size != Size::Whole)
        };
        let options = seen.free.iter().filter(fits).map(|u| {
            let waits = u.waiting.map(|n| format!(", {} waiting", ordinal(n))).unwrap_or_default();
            let words = format!("{}, {}{waits} (order {})", u.name, share_words(u.size, u.part), u.number);
            (u.reservation.to_string(), words)
        });
        let weight = range.map(|r| format!(" · {} {unit}", range_of(r, free))).unwrap_or_default();
        found.push(Free {
            side: side.as_str(),
            title: if free == 2 { "Free side".into() } else { "Free quarter".into() },
            why: format!("{}{weight}", side_words(side)),
            options: options.collect(),
        });
    }
    found
}

pub(super) async fn give(farmer: Farmer, app: web::Data<App>, id: web::Path<AnimalId>, sent: Sent) -> Answer {
    let id = *id;
    let (mut form, key) = sent.with_key();
    let side: Option<Side> = form.word("side", "Side");
    let field = side.map_or("give", |s| if s == Side::Left { "give-left" } else { "give-right" });
    let order = form.id(field, "Give it to");
    let farm = farmer.farm.clone();
    let seen = app.read(move |c| look(c, id, &farm)).await?;
    let (side, order) = match form.finish((side, order)) {
        Ok(read) => read,
        Err(draft) => return Ok(refused(&shown_page(&farmer, seen, draft))),
    };
    let order = ReservationId(order);
    let whole = seen.free.iter().any(|u| u.reservation == order && u.size == Size::Whole);
    let spot = if whole { Spot::Whole } else { Spot::Side(side) };
    let done = app.act(&farmer, &key, move |tx, doing| {
        let to = Some(Target { animal: id, spot });
        place_shares(tx, doing, &[Move { reservation: order, to, field: field.to_string() }])?;
        Ok(format!("/animals/{id}"))
    });
    match done.await {
        Ok(url) => Ok(notice::with(see_other(&url), "The share has its place.")),
        Err(f) => Ok(refused(&shown_page(&farmer, seen, refusal(&form, f)?))),
    }
}
