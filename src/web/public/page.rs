//! The farm's public page: what is for sale, at what price, what that comes to, what is left, in the farm's words and pictures.

use super::frame::PublicFrame;
use super::reserve::{reserve_link, share_id, takes_requests};
use super::{May, Perhaps, Shared, nothing_here, pictures, words};
use crate::actions::Failure;
use crate::actions::shop_estimate::{Answered, Asked, answer, expected};
use crate::book::at::Now;
use crate::book::conn::DbConn;
use crate::book::farm;
use crate::book::public_page::{self, Shown};
use crate::book::rows::farm::Farm;
use crate::book::rows::plants::ProcessorCharge;
use crate::book::rows::public::PublicPage;
use crate::book::rows::selling::Offering;
use crate::book::shop::{self, Shop};
use crate::trade::dates;
use crate::trade::estimate::Style;
use crate::trade::room::left;
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::BilledBy;
use crate::web::errors::Answer;
use crate::web::farm::orders::words::{kind, ordinal};
use crate::web::look::capital;
use crate::web::look::parts::Standing;
use crate::web::look::rail::Glyph;
use crate::web::look::respond::page;
use askama::Template;

/// Dates that are named for an offering, at most.
const DATES: usize = 4;
/// Who eats, where nobody said: four people, twice a week.
pub(super) const TABLE: (i64, i64) = (4, 2);

/// A share as it is sold today.
struct Share {
    glyph: Glyph,
    name: String,
    /// ", fall 2027" where there are several offerings of the species.
    apart: String,
    price: String,
    per: String,
    left: Standing,
    /// Label and figure: all in, packaged pound, comes home, deposit.
    facts: Vec<(&'static str, String)>,
    estimate: String,
    reserve: Option<String>,
    is_left: bool,
}

/// An offering.
struct Section {
    anchor: String,
    heading: String,
    notes: Vec<String>,
    shares: Vec<Share>,
    /// What the prices and sums rest on.
    rests_on: Vec<String>,
    /// What comes on top, and who is paid.
    charges: Vec<String>,
    dates: Vec<String>,
}

/// A picture with its widths.
pub(super) struct Picture {
    pub(super) alt: String,
    pub(super) src: String,
    pub(super) srcset: String,
    pub(super) width: i64,
    pub(super) height: i64,
}

#[derive(Template)]
#[template(path = "public/farm.html")]
struct FarmPage {
    frame: PublicFrame,
    heading: String,
    paragraphs: Vec<String>,
    first: Option<Picture>,
    others: Vec<Picture>,
    sections: Vec<Section>,
    deposits: Vec<String>,
    by_request: bool,
}

/// A picture as a page shows it; none for one without widths, which a sound book has not.
pub(super) fn picture(shown: &Shown) -> Option<Picture> {
    let widest = shown.sizes.last()?;
    let srcset: Vec<String> =
        shown.sizes.iter().map(|s| format!("{} {}w", pictures::address(&s.digest), s.width)).collect();
    Some(Picture {
        alt: shown.picture.alt.clone(),
        src: pictures::address(&widest.digest),
        srcset: srcset.join(", "),
        width: widest.width,
        height: widest.height,
    })
}

/// The page.
///
/// # Errors
/// 404 in a plain sentence while the page is off.
pub async fn show(app: Shared, farmer: Perhaps) -> Answer {
    let (at, is_farmer) = (app.clock.at(), farmer.is_some());
    let (farm, stored, shown) = app
        .read(move |c| {
            let farm = farm::get(c)?;
            let stored = public_page::get(c)?;
            let is_on = stored.as_ref().is_some_and(|p| p.is_on);
            let now = Now { at, today: at.day(farm.zone()), zone: farm.zone() };
            let shown = if is_on || is_farmer { Some(read(c, &farm, now)?) } else { None };
            Ok((farm, stored, shown))
        })
        .await?;
    let may = May::of(stored.as_ref().is_some_and(|p| p.is_on), farmer.as_ref());
    let Some((sections, pictures)) = shown.filter(|_| may != May::Nobody) else { return nothing_here(&farm.phone) };
    Ok(may.keep(page(&farm_page(&farm, stored.as_ref(), may, sections, &pictures))))
}

/// Reads and reckons everything on it, in a fixed number of queries.
fn read(c: &mut DbConn, farm: &Farm, now: Now) -> Result<(Vec<Section>, Vec<Shown>), Failure> {
    let shop = shop::shop(c, now.today, None)?;
    let headings = headings(&shop.offerings);
    let sections = shop.offerings.iter().zip(headings).map(|(o, called)| section(&shop, farm, now, o, called));
    Ok((sections.collect::<Result<_, _>>()?, public_page::pictures(c)?))
}

/// For each offering what its section is called, and what tells its shares apart from those of others of the species: the season,
/// and where two have the same, which of them it is.
fn headings(offerings: &[Offering]) -> Vec<(String, String)> {
    let heading = |(n, o): (usize, &Offering)| {
        let kin = |other: &&Offering| other.species == o.species;
        let twin = |other: &&Offering| kin(other) && other.season == o.season;
        let plain = format!("{}, {}", words::many(o.species), o.season);
        if offerings.iter().filter(twin).count() > 1 {
            let before = offerings.iter().take(n).filter(twin).count();
            let which = format!("{} offering", ordinal(before.saturating_add(1)));
            (format!("{plain}, {which}"), which)
        } else if offerings.iter().filter(kin).count() > 1 {
            (plain, o.season.clone())
        } else {
            (plain, String::new())
        }
    };
    offerings.iter().enumerate().map(heading).collect()
}

fn farm_page(
    farm: &Farm,
    stored: Option<&PublicPage>,
    may: May,
    sections: Vec<Section>,
    pictures: &[Shown],
) -> FarmPage {
    let mut pictures = pictures.iter().filter_map(picture);
    let headline = stored.map_or("", |p| p.headline.as_str());
    FarmPage {
        frame: PublicFrame::new(farm, may == May::Farmer),
        heading: if headline.is_empty() { "Meat by the share, straight from the farm".into() } else { headline.into() },
        paragraphs: words::paragraphs(stored.map_or("", |p| p.words.as_str())),
        first: pictures.next(),
        others: pictures.collect(),
        sections,
        deposits: words::paragraphs(&farm.deposit_policy),
        by_request: takes_requests(farm),
    }
}

fn section(
    shop: &Shop,
    farm: &Farm,
    now: Now,
    o: &Offering,
    (heading, apart): (String, String),
) -> Result<Section, Failure> {
    // Only a kind of share that another offering has as well needs telling apart.
    let is_twice = |kind: (Size, Option<Part>)| {
        let has = |other: &Offering| other.id != o.id && other.species == o.species && other.kinds().contains(&kind);
        shop.offerings.iter().any(has)
    };
    let called = |kind| if is_twice(kind) { apart.as_str() } else { "" };
    let shares = o.kinds().into_iter().map(|kind| share(shop, farm, now, o, kind, called(kind)));
    let shares: Vec<Share> = shares.collect::<Result<_, _>>()?;
    Ok(Section {
        anchor: format!("offering-{}", o.id),
        heading,
        notes: words::paragraphs(&o.notes),
        shares,
        rests_on: rests_on(shop, farm, now, o)?,
        charges: charges(shop, farm, o),
        dates: coming(shop, now, o.species),
    })
}

/// `apart`: what tells the share from those of other offerings; empty where its kind does.
fn share(
    shop: &Shop,
    farm: &Farm,
    now: Now,
    o: &Offering,
    (size, part): (Size, Option<Part>),
    apart: &str,
) -> Result<Share, Failure> {
    let taken = shop.taken.get(&o.id).copied().unwrap_or_default();
    let n = left(o.head_count, taken.sold, size, part);
    let price = shop.price(o.id, size, now.today);
    let (eaters, meals) = TABLE;
    let (head, _) = expected(o, farm.unit)?;
    let asked = Asked { size, part, head, style: Style::Standard, eaters, meals, plant: None };
    let answered = match answer(shop, farm, o, now.today, &asked) {
        Ok(answered) => Some(answered),
        // Nothing can be cut for such a share: it is shown without figures.
        Err(Failure::Refused(_)) => None,
        Err(e) => return Err(e),
    };
    let (price, per) =
        price.map_or_else(|| ("No price yet".to_string(), String::new()), |p| words::price(p, farm.unit));
    Ok(Share {
        glyph: Glyph::new(size, None, part),
        name: capital(&kind(size, part, o.species)),
        apart: if apart.is_empty() { String::new() } else { format!(", {apart}") },
        price,
        per,
        left: match n {
            0 => Standing::wait("Sold out: waiting list"),
            n => Standing::part(format!("{n} left")),
        },
        facts: answered.map_or_else(Vec::new, |a| facts(&a, farm)),
        estimate: format!("/farm/estimate/{}?share={}", o.id, share_id(size, part)),
        reserve: reserve_link(takes_requests(farm), o.id, size, part),
        is_left: n > 0,
    })
}

/// What a share comes to, in four figures.
fn facts(a: &Answered, farm: &Farm) -> Vec<(&'static str, String)> {
    let unit = farm.unit;
    let mut facts = Vec::new();
    if let Some(cost) = &a.estimate.cost {
        if let Some(all) = cost.all_in {
            facts.push(("All in", words::dollars(all)));
        }
        if let Some(each) = cost.per_packaged {
            let label = if unit.as_str() == "kg" { "A packaged kg" } else { "A packaged lb" };
            facts.push((label, format!("about {}", each.expected.dollars())));
        }
    }
    facts.push(("Comes home", words::weights(a.estimate.packaged, unit)));
    if a.is_priced {
        let deposit = if a.deposit.is_zero() { "none".into() } else { a.deposit.dollars() };
        facts.push(("Deposit now", deposit));
    }
    facts
}

/// What the prices and sums of an offering rest on: the basis, and what "all in" is reckoned with.
fn rests_on(shop: &Shop, farm: &Farm, now: Now, o: &Offering) -> Result<Vec<String>, Failure> {
    let unit = farm.unit;
    let mut out: Vec<String> = Vec::new();
    for (size, _) in o.kinds() {
        if let Some(price) = shop.price(o.id, size, now.today) {
            let says = words::rests_on(price.basis, unit);
            if !out.contains(&says) {
                out.push(says);
            }
        }
    }
    let (head, is_ours) = expected(o, unit)?;
    let whose = if is_ours { "we expect" } else { "is usual" };
    out.push(format!(
        "“All in” is with all charges, for the standard cut, where {} hangs at {}–{} {unit}, as {whose}. Ranges, not promises: what yours \
         weighs in the end decides.",
        words::animal(o.species),
        words::weight(head.0, false),
        words::weight(head.1, false),
    ));
    if shop.plants_of(o.species).is_empty() {
        out.push("The processor’s charges come on top; which plant it will be is not booked yet.".into());
    }
    Ok(out)
}

/// What comes on top at each plant, and who is paid.
fn charges(shop: &Shop, farm: &Farm, o: &Offering) -> Vec<String> {
    let mut out = Vec::new();
    for plant in shop.plants_of(o.species).iter().take(DATES) {
        let is_for = |c: &&ProcessorCharge| c.processor_id == plant.id && c.species.is_none_or(|s| s == o.species);
        let said = |by: BilledBy| -> String {
            let some = shop.charges.iter().filter(is_for).filter(|c| c.billed_by == by);
            some.map(|c| words::charge(c, farm.unit)).collect::<Vec<_>>().join("; ")
        };
        let (theirs, ours) = (said(BilledBy::Processor), said(BilledBy::Farm));
        if !theirs.is_empty() {
            out.push(format!("You pay {} for their work when you collect: {theirs}.", plant.name));
        }
        if !ours.is_empty() {
            out.push(format!("On our invoice, at {}: {ours}.", plant.name));
        }
    }
    out
}

/// "Thursday, October 21, at Pell Road Meats; pickup November 4–8".
fn coming(shop: &Shop, now: Now, species: Species) -> Vec<String> {
    let all = shop.dates_of(species).take(DATES).map(|(date, plant)| {
        let pickup = match (date.pickup_from, date.pickup_to) {
            (Some(from), Some(to)) => format!("; pickup {}", dates::span(from, to, now.today)),
            (Some(from), None) => format!("; pickup from {}", dates::near(from, now.today)),
            _ => String::new(),
        };
        format!("{}, at {}{pickup}", dates::long(date.kill_on, now.today), plant.name)
    });
    all.collect()
}
