//! The estimator: what a share would cost all in and what would come home, before anybody commits. A form that asks by GET, so that
//! an answer has an address; what is not asked takes its default.

use super::frame::PublicFrame;
use super::page::TABLE;
use super::reserve::{reserve_link, share_id, share_of, takes_requests};
use super::result::{Shown, shown};
use super::{May, Perhaps, Shared, nothing_here, words};
use crate::actions::Failure;
use crate::actions::own_yields::OwnYields;
use crate::actions::shop_estimate::{Asked, answer, expected};
use crate::book::at::Now;
use crate::book::ids::{OfferingId, ProcessorId};
use crate::book::rows::farm::Farm;
use crate::book::rows::selling::Offering;
use crate::book::shop::{self, Shop};
use crate::book::{farm, public_page};
use crate::trade::cuts::questions::{Answers, Kind, MOST_EATERS};
use crate::trade::dates;
use crate::trade::estimate::{MOST_MEALS, Style};
use crate::trade::room::left;
use crate::trade::share::{Part, Size};
use crate::web::errors::{Answer, PageError};
use crate::web::farm::orders::words::kind;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::parts::Standing;
use crate::web::look::respond::{page, refused};
use crate::web::look::{Choices, capital, choices};
use actix_web::{HttpRequest, web};
use askama::Template;

/// The longest query that is read, in bytes.
const LONGEST_QUERY: usize = 600;

#[derive(Template)]
#[template(path = "public/estimate.html")]
struct EstimatePage {
    frame: PublicFrame,
    draft: Draft,
    heading: String,
    lead: String,
    shares: Choices,
    styles: Choices,
    bones: Choices,
    /// Plants to choose from, where there is more than one.
    plants: Choices,
    animal: String,
    /// Where the range that is filled in comes from.
    hint: String,
    unit: &'static str,
    /// The answer; none when something that was asked cannot be.
    shown: Option<Shown>,
    /// Why there is no answer; empty with one.
    instead: String,
    left: Standing,
    when: String,
    reserve: Option<String>,
}

type Kinds = Vec<(Size, Option<Part>)>;

/// What stands in the form where nothing was asked.
struct Defaults {
    kinds: Kinds,
    share: (Size, Option<Part>),
    fields: Vec<(&'static str, String)>,
}

fn defaults(shop: &Shop, farm: &Farm, o: &Offering) -> Result<Option<Defaults>, Failure> {
    let kinds = o.kinds();
    let taken = shop.taken.get(&o.id).copied().unwrap_or_default();
    let has = |(size, part): &&(Size, Option<Part>)| left(o.head_count, taken.sold, *size, *part) > 0;
    // A half is what most people ask about.
    let half = kinds.iter().filter(|(size, _)| *size == Size::Half).find(has);
    let Some(share) = half.or_else(|| kinds.iter().find(has)).or_else(|| kinds.first()).copied() else {
        return Ok(None);
    };
    let ((low, high), _) = expected(o, farm.unit)?;
    let (eaters, meals) = TABLE;
    let plant = shop.plants_of(o.species).first().map_or(String::new(), |p| p.id.to_string());
    let fields = vec![
        ("share", share_id(share.0, share.1)),
        ("low", low.short().replace(',', "")),
        ("high", high.short().replace(',', "")),
        ("cut", "standard".to_string()),
        ("bones", "in".to_string()),
        ("eaters", eaters.to_string()),
        ("meals", meals.to_string()),
        ("plant", plant),
    ];
    Ok(Some(Defaults { kinds, share, fields }))
}

/// What was asked; every field within its limits.
fn read(form: &mut FormIn, d: &Defaults) -> Result<Asked, Draft> {
    let share = share_of(&form.line("share"), &d.kinds);
    if share.is_none() {
        form.problem("share", "Share: choose one of the list.");
    }
    let low = form.weight("low", "From");
    let high = form.weight("high", "To");
    if let (Some(low), Some(high)) = (low, high)
        && low > high
    {
        form.problem("high", "The heaviest is lighter than the lightest. Write the smaller weight first.");
    }
    let eaters = form.whole_number("eaters", "How many eat", 1..=MOST_EATERS);
    let meals = form.whole_number("meals", "Meals a week", 1..=MOST_MEALS);
    let bone_in = match form.line("bones").as_str() {
        "in" => Some(true),
        "out" => Some(false),
        _ => {
            form.problem("bones", "With bones or boneless: choose one.");
            None
        }
    };
    let cut = form.line("cut");
    let style = match (cut.as_str(), bone_in, eaters) {
        ("standard", ..) => Some(Style::Standard),
        (word, Some(bone_in), Some(eaters)) => {
            word.parse::<Kind>().ok().map(|kind| Style::Questions(Answers { kind, bone_in, eaters }))
        }
        _ => None,
    };
    if style.is_none() && bone_in.is_some() && eaters.is_some() {
        form.problem("cut", "How it is cut: choose one of the list.");
    }
    let plant = form.optional_id("plant", "Cut by");
    let (share, low, high, style, eaters, meals, plant) =
        form.finish((share, low, high, style, eaters, meals, plant))?;
    let (size, part) = share;
    Ok(Asked { size, part, head: (low, high), style, eaters, meals, plant: plant.map(ProcessorId) })
}

/// A form from the query, with the defaults where it says nothing.
fn asked(query: &str, d: &Defaults) -> Result<FormIn, PageError> {
    if query.len() > LONGEST_QUERY {
        return Err(PageError::BadRequest(
            "The address is longer than this page reads. Open the page again from the farm’s page.",
        ));
    }
    let sent = FormIn::parse(query.as_bytes()).map_err(PageError::BadRequest)?;
    let field = |(name, default): &(&'static str, String)| {
        let given = sent.all(name).into_iter().next();
        ((*name).to_string(), given.unwrap_or_else(|| default.clone()))
    };
    Ok(FormIn::new(d.fields.iter().map(field).collect()))
}

/// The page.
///
/// # Errors
/// 404 while the public page is off, or for an offering that is not on it; 422 with what was asked when it cannot be answered.
pub async fn show(req: HttpRequest, app: Shared, farmer: Perhaps, id: web::Path<i64>) -> Answer {
    let (id, at, is_farmer) = (OfferingId(*id), app.clock.at(), farmer.is_some());
    let query = req.query_string().to_string();
    let yields = app.yields.clone();
    let (farm, is_on, made) = app
        .read(move |c| {
            let farm = farm::get(c)?;
            let is_on = public_page::get(c)?.is_some_and(|p| p.is_on);
            if !is_on && !is_farmer {
                return Ok((farm, is_on, None));
            }
            let now = Now { at, today: at.day(farm.zone()), zone: farm.zone() };
            let shop = shop::shop(c, now.today, Some(id))?;
            let made = match shop.offerings.first() {
                Some(o) => {
                    let own = yields.read(c, &farm, now.today)?;
                    made(&shop, &farm, now, o, &query, &own)?
                }
                None => None,
            };
            Ok((farm, is_on, made))
        })
        .await?;
    let may = May::of(is_on, farmer.as_ref());
    let Some(made) = made.filter(|_| may != May::Nobody) else { return nothing_here(&farm.phone) };
    let mut template = made?;
    template.frame = PublicFrame::new(&farm, may == May::Farmer);
    if template.draft.is_refused() {
        return Ok(refused(&template));
    }
    Ok(may.keep(page(&template)))
}

/// Reads what was asked and answers it; none for an offering that sells nothing.
fn made(
    shop: &Shop,
    farm: &Farm,
    now: Now,
    o: &Offering,
    query: &str,
    own: &OwnYields,
) -> Result<Option<Result<EstimatePage, PageError>>, Failure> {
    let Some(d) = defaults(shop, farm, o)? else { return Ok(None) };
    let mut form = match asked(query, &d) {
        Ok(form) => form,
        Err(e) => return Ok(Some(Err(e))),
    };
    let read = read(&mut form, &d);
    let (size, part) = read.as_ref().map_or(d.share, |a| (a.size, a.part));
    let (mut shown_now, mut instead) = (None, String::new());
    match &read {
        Ok(asked) => match answer(shop, farm, o, now.today, asked) {
            Ok(answered) => shown_now = Some(shown(farm, o, asked, &answered, own)?),
            Err(Failure::Refused(problems)) => {
                instead = problems.0.into_iter().map(|p| p.sentence).collect::<Vec<_>>().join(" ");
            }
            Err(e) => return Err(e),
        },
        Err(draft) => instead = draft.problems().iter().map(|p| p.says.as_str()).collect::<Vec<_>>().join(" "),
    }
    let taken = shop.taken.get(&o.id).copied().unwrap_or_default();
    let n = left(o.head_count, taken.sold, size, part);
    let share = kind(size, part, o.species);
    let first = shop.dates_of(o.species).next();
    let (_, is_ours) = expected(o, farm.unit)?;
    let page = EstimatePage {
        frame: PublicFrame::default(),
        draft: read.err().unwrap_or_else(|| form.into_draft()),
        heading: match &shown_now {
            Some(s) => s.heading.clone(),
            None => format!("What would a {share} cost?"),
        },
        lead: shown_now.as_ref().map_or(String::new(), |s| s.lead.clone()),
        shares: d.kinds.iter().map(|(s, p)| (share_id(*s, *p), capital(&kind(*s, *p, o.species)))).collect(),
        styles: std::iter::once(("standard".to_string(), "Standard cut: what most people like".to_string()))
            .chain(choices(Kind::ALL, Kind::as_str, Kind::label))
            .collect(),
        bones: vec![("in".into(), "With bones".into()), ("out".into(), "Boneless".into())],
        plants: match shop.plants_of(o.species) {
            some if some.len() > 1 => some.iter().map(|p| (p.id.to_string(), p.name.clone())).collect(),
            _ => Vec::new(),
        },
        animal: words::animal(o.species),
        hint: if is_ours {
            format!("What we expect of {}. The share’s part of it is reckoned.", words::animal(o.species))
        } else {
            "What is usual for the species. The share’s part of it is reckoned.".into()
        },
        unit: farm.unit.as_str(),
        shown: shown_now,
        instead,
        left: if n > 0 { Standing::part(format!("{n} left")) } else { Standing::wait("Sold out: waiting list") },
        when: first.map_or(String::new(), |(date, plant)| {
            format!("The next date is {}, at {}.", dates::long(date.kill_on, now.today), plant.name)
        }),
        reserve: reserve_link(takes_requests(farm), o.id, size, part),
    };
    Ok(Some(Ok(page)))
}
