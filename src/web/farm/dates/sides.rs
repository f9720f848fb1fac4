//! A side that two quarters share: where their cut sheets differ, one click to decide each, and what each quarter gets.

use crate::actions::share_side::{Agreed, dealing, decide_side, seen, side_of};
use crate::actions::{Doing, Failure};
use crate::book::ids::{AnimalId, ReservationId};
use crate::trade::agree::deal::{Deal, Dealing, How};
use crate::trade::agree::two::{Two, Who};
use crate::trade::agree::{Decision, Item, Settled};
use crate::trade::cuts::settings::upper;
use crate::trade::dates::long;
use crate::trade::share::Side;
use crate::trade::weight::{Unit, Weight};
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::respond::{page, refused, see_other};
use crate::web::look::words::{count, counted};
use crate::web::look::{Frame, Tab, capital};
use crate::web::notice;
use crate::web::sent::{Sent, refusal};
use actix_web::web;
use askama::Template;

/// One button: what is decided, and its words.
struct Button {
    decision: &'static str,
    words: String,
    /// Whether it is what holds already.
    now: bool,
}

struct Row {
    id: String,
    name: String,
    standing: Standing,
    wishes: [(String, String); 2],
    takes: String,
    why: String,
    buttons: Vec<Button>,
}

/// What each gets of a cut: the owner and how much.
struct Gets {
    name: String,
    of: [(String, String); 2],
}

/// A quarter on the page.
struct Owner {
    name: String,
    sheet: Link,
    standing: String,
    gets: String,
}

#[derive(Template)]
#[template(path = "farm/dates/side.html")]
struct SidePage {
    frame: Frame,
    draft: Draft,
    url: String,
    date: Link,
    animal: Link,
    heading: String,
    lead: String,
    owners: [Owner; 2],
    /// The hidden fields: order and revision of each.
    saw: [(&'static str, i64); 4],
    differing: Vec<Row>,
    agreed: Vec<(String, String, String)>,
    gets: Vec<Gets>,
    parts: Vec<String>,
    /// What the two sheets break together.
    broken: Vec<String>,
    is_waiting: bool,
}

type At = (AnimalId, Side);

struct Seen {
    agreed: Agreed,
    dealing: Dealing,
    broken: Vec<String>,
}

async fn look(farmer: &Farmer, app: &App, (animal, side): At) -> Result<Seen, PageError> {
    let (farm, today) = (farmer.farm.clone(), farmer.now.today);
    Ok(app
        .read(move |c| {
            let agreed = side_of(c, animal, side)?;
            let (dealing, broken) = dealing(c, &farm, today, &agreed)?;
            Ok(Seen { agreed, dealing, broken })
        })
        .await?)
}

fn row(agreed: &Agreed, item: &Item) -> Row {
    let name = |who: Who| agreed.shared.quarters.of(who).name.clone();
    let is_block = agreed.settlement.cuttings.iter().any(|(id, _)| *id == item.id);
    let button = |d: &Decision| {
        let words = match d {
            Decision::First => format!("As {} wishes", name(Who::First)),
            Decision::Second => format!("As {} wishes", name(Who::Second)),
            Decision::Pieces => "Each its own part".into(),
            Decision::Standard if is_block => "Standard cut".into(),
            Decision::Standard => format!("The usual, {}", item.standard),
        };
        let now = item.settled == Settled::Decided(*d);
        Button { decision: d.as_str(), words: if now { format!("{words} (holds)") } else { words }, now }
    };
    Row {
        id: item.id.clone(),
        name: upper(&item.name),
        standing: match item.settled {
            Settled::Open => Standing::todo("To decide"),
            Settled::Decided(_) => Standing::done("Decided"),
            _ => Standing::done("Divided"),
        },
        wishes: Who::BOTH.map(|who| (name(who), item.wishes.of(who).clone().unwrap_or_default())),
        takes: item.takes.clone(),
        why: item.why.clone(),
        buttons: item.may.iter().map(button).collect(),
    }
}

/// "6 pieces, 7.5 lb".
fn amount(weight: Weight, pieces: &str, unit: Unit) -> String {
    let weight = format!("{} {unit}", weight.decimal().round_dp(1).normalize());
    if pieces.is_empty() { weight } else { format!("{pieces}, {weight}") }
}

fn gets(deal: &Deal, names: &[String; 2], unit: Unit) -> Gets {
    let of = Who::BOTH.map(|who| {
        let weight = *deal.weight.of(who);
        let pieces = match (deal.how, deal.pieces) {
            (How::Bones(ribs), _) => format!("{} ribs", ribs.of(who)),
            (How::Halved, _) => "half".into(),
            (How::Counted | How::Own, Some(pieces)) => pieces.of(who).decimal().to_string(),
            _ => String::new(),
        };
        if weight.is_zero() { "–".into() } else { amount(weight, &pieces, unit) }
    });
    Gets { name: upper(deal.name), of: named(names, of) }
}

/// Each amount with its owner.
fn named(names: &[String; 2], [first, second]: [String; 2]) -> [(String, String); 2] {
    let [one, other] = names.clone();
    [(one, first), (other, second)]
}

fn side_page(farmer: &Farmer, seen_now: &Seen, draft: Draft) -> SidePage {
    let Seen { agreed, dealing, broken } = seen_now;
    let (shared, unit) = (&agreed.shared, farmer.farm.unit);
    let owner = |who: Who| {
        let q = shared.quarters.of(who);
        Owner {
            name: q.name.clone(),
            sheet: Link::new(
                format!("/orders/{}/cut-sheet", q.reservation),
                format!("Cut sheet of order {}", q.number),
            ),
            standing: match &q.sheet {
                None => "No cut sheet yet".into(),
                Some(s) => format!("Revision {}", s.revision),
            },
            gets: format!(
                "about {}; the sheet alone gives {} of half the side",
                amount(*dealing.packaged.of(who), "", unit),
                amount(*dealing.target.of(who), "", unit)
            ),
        }
    };
    let items = &agreed.settlement.items;
    let open = items.iter().filter(|i| i.is_open()).count();
    let differing = items.iter().filter(|i| i.differs()).count();
    let lead = match (open, differing) {
        (0, 0) => "The two cut sheets agree.".to_string(),
        (0, n) => format!(
            "{} differently, and all of it is settled.",
            capital(&counted(n, "thing is wished", "things are wished"))
        ),
        (n, _) => format!("{} for you to decide.", capital(&counted(n, "thing is", "things are"))),
    };
    let saw = seen(shared);
    let names = Who::BOTH.map(|who| shared.quarters.of(who).name.clone());
    let ground = Gets {
        name: "Ground meat and sausage".into(),
        of: named(&names, Who::BOTH.map(|who| amount(*dealing.ground.of(who), "", unit))),
    };
    SidePage {
        frame: farmer.frame(Tab::Dates),
        draft,
        url: shared.url(),
        date: Link::new(format!("/dates/{}/sheets", shared.date), long(shared.kill_on, farmer.now.today)),
        animal: Link::new(format!("/animals/{}", shared.animal.id), shared.animal.name()),
        heading: upper(&shared.name()),
        lead,
        owners: Who::BOTH.map(owner),
        saw: [
            ("first", saw.first.0.0),
            ("first_revision", saw.first.1),
            ("second", saw.second.0.0),
            ("second_revision", saw.second.1),
        ],
        // What is to decide comes first.
        differing: items
            .iter()
            .filter(|i| i.is_open())
            .chain(items.iter().filter(|i| i.differs() && !i.is_open()))
            .map(|i| row(agreed, i))
            .collect(),
        agreed: items
            .iter()
            .filter(|i| !i.differs())
            .map(|i| {
                let how = match i.settled {
                    Settled::Follows(who) => format!("as {} wishes", shared.quarters.of(who).name),
                    Settled::Same => "both".into(),
                    _ => "nobody said, so standard".into(),
                };
                (upper(&i.name), i.takes.clone(), how)
            })
            .collect(),
        gets: dealing.deals.iter().map(|d| gets(d, &names, unit)).chain([ground]).collect(),
        parts: agreed
            .settlement
            .parts
            .iter()
            .filter(|p| p.asked.iter().any(|i| *i < 2))
            .map(|p| {
                let to = |(i, who): (usize, Who)| p.gets.contains(&i).then(|| shared.quarters.of(who).name.clone());
                let names: Vec<String> = Who::BOTH.into_iter().enumerate().filter_map(to).collect();
                match names.is_empty() {
                    true => format!("{}: another owner of the animal was first.", upper(&p.name)),
                    false => format!("{}: {}.", upper(&p.name), names.join(" and ")),
                }
            })
            .collect(),
        broken: broken.clone(),
        is_waiting: agreed.is_waiting(),
    }
}

/// The page.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>, at: web::Path<(AnimalId, String)>) -> Answer {
    let seen = look(&farmer, &app, side_in(at.into_inner())?).await?;
    Ok(page(&side_page(&farmer, &seen, Draft::empty())))
}

fn side_in((animal, side): (AnimalId, String)) -> Result<At, PageError> {
    Ok((animal, side.parse().map_err(|_| Failure::NotFound)?))
}

/// Decides one thing.
pub(super) async fn decide(
    farmer: Farmer,
    app: web::Data<App>,
    at: web::Path<(AnimalId, String)>,
    sent: Sent,
) -> Answer {
    let at = side_in(at.into_inner())?;
    let (mut form, key) = sent.with_key();
    let numbers = ["first", "first_revision", "second", "second_revision"]
        .map(|field| form.whole_number(field, "Cut sheet", 0..=i64::MAX));
    let block = form.raw("block").chars().take(60).collect::<String>();
    let decision: Option<Decision> = form.raw("decision").parse().ok();
    let ([Some(first), Some(first_rev), Some(second), Some(second_rev)], Some(decision)) = (numbers, decision) else {
        let seen = look(&farmer, &app, at).await?;
        let draft = Draft::empty().headed("Nothing was decided").problem("", "Choose one of the buttons.");
        return Ok(refused(&side_page(&farmer, &seen, draft)));
    };
    let saw = Two::new((ReservationId(first), first_rev), (ReservationId(second), second_rev));
    let act = move |tx: &mut crate::book::store::Tx, doing: &Doing| {
        decide_side(tx, doing, at.0, at.1, saw, (&block, decision))?;
        Ok(format!("/animals/{}/sides/{}", at.0, at.1))
    };
    match app.act(&farmer, &key, act).await {
        Ok(url) => Ok(notice::with(see_other(&url), "Decided, and a message to both is in the Outbox.")),
        Err(f) => {
            let seen = look(&farmer, &app, at).await?;
            let draft = match f {
                Failure::Stale => Draft::empty().problem(
                    "",
                    "A cut sheet of this side changed in between. Look at what it says now, and decide again.",
                ),
                f => refusal(&form, f)?,
            };
            Ok(refused(&side_page(&farmer, &seen, draft.headed("Nothing was decided"))))
        }
    }
}

/// A side on the page of a date's sheets.
pub(super) struct SideLine {
    pub(super) link: Link,
    pub(super) who: String,
    pub(super) standing: Standing,
}

/// How the shared sides of a date stand.
pub(super) fn lines(sides: &[Agreed]) -> Vec<SideLine> {
    sides
        .iter()
        .map(|a| {
            let [first, second] = a.shared.quarters.each().map(|q| q.name.as_str());
            let open = a.settlement.open().count();
            let standing = match (open, a.is_waiting()) {
                (0, true) => Standing::wait("A cut sheet is missing"),
                (0, false) => Standing::done("Agreed"),
                (n, _) => Standing::todo(format!("{} to decide", count(n))),
            };
            SideLine {
                link: Link::new(a.shared.url(), upper(&a.shared.name())),
                who: format!("{first} and {second}"),
                standing,
            }
        })
        .collect()
}
