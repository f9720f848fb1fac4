//! Today's lines about cut sheets: what is missing before the next dates, packets to send, and late wishes.

use super::lines::{Act, Line};
use crate::actions::plant_offer::Unfit;
use crate::actions::sheet_time::has_mail;
use crate::book::sheets_due::{Ahead, Asked};
use crate::book::sides::SharedSide;
use crate::trade::dates::{near, short};
use crate::trade::sheets_due::days_left;
use crate::web::look::capital;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::words::counted;
use chrono::NaiveDate;

/// How many days before a deadline, or before slaughter where there is none, missing sheets are spoken of.
const AHEAD: i64 = 14;
/// Names in a line, at most.
const NAMES: usize = 4;

fn names<'a>(all: impl Iterator<Item = &'a str>) -> String {
    let all: Vec<&str> = all.collect();
    let first = all.iter().take(NAMES).copied().collect::<Vec<_>>().join(", ");
    if all.len() > NAMES { format!("{first}, and {} more", all.len() - NAMES) } else { first }
}

/// What is missing, does not fit, is to send, or changed before the next dates.
pub(super) fn ahead(all: &[Ahead], unfit: &[Unfit], today: NaiveDate) -> Vec<Line> {
    let own = |a: &Ahead| [missing(a, today), not_done(a, unfit, today), packet(a, today)].into_iter().flatten();
    all.iter().flat_map(|a| own(a).chain(sides(a, today))).collect()
}

/// Cut sheets that the date's processor does not do.
fn not_done(a: &Ahead, unfit: &[Unfit], today: NaiveDate) -> Option<Line> {
    let own: Vec<&Unfit> = unfit.iter().filter(|u| u.date == a.date.id).collect();
    let first = own.first()?.why.first()?;
    let verb = if own.len() == 1 { "does" } else { "do" };
    let href = format!("/dates/{}/sheets", a.date.id);
    let what = format!("{} {verb} not fit {}", capital(&counted(own.len(), "cut sheet", "cut sheets")), a.plant.name);
    Some(Line {
        when: Standing::todo(format!("By {}", near(a.date.sheets_due.unwrap_or(a.date.kill_on), today))),
        what: Link::new(href.clone(), what),
        why: format!("{}. {first}", names(own.iter().map(|u| u.name.as_str()))),
        act: Act::Go(Link::new(href, format!("See what does not fit on {}", short(a.date.kill_on, today)))),
    })
}

fn missing(a: &Ahead, today: NaiveDate) -> Option<Line> {
    let day = a.date.sheets_due.unwrap_or(a.date.kill_on);
    let (n, left) = (a.missing().count(), days_left(day, today));
    if n == 0 || left > AHEAD {
        return None;
    }
    let kill = near(a.date.kill_on, today);
    let phone = names(a.missing().filter(|m| !has_mail(m)).map(|m| m.name.as_str()));
    let to_phone = if phone.is_empty() { String::new() } else { format!(" No mail address, so phone: {phone}.") };
    Some(Line {
        when: if left < 0 { Standing::late("Time is up") } else { Standing::todo(format!("By {}", near(day, today))) },
        what: Link::new(
            format!("/dates/{}/sheets", a.date.id),
            format!("{} missing for {kill}", capital(&counted(n, "cut sheet", "cut sheets"))),
        ),
        why: format!("{}.{to_phone}", names(a.missing().map(|m| m.name.as_str()))),
        act: Act::Go(Link::new(
            format!("/dates/{}/sheets", a.date.id),
            format!("See the sheets of {}", short(a.date.kill_on, today)),
        )),
    })
}

/// Sides that two quarters share and wish otherwise, each a line.
fn sides(a: &Ahead, today: NaiveDate) -> Vec<Line> {
    let day = a.date.sheets_due.unwrap_or(a.date.kill_on);
    let open = |side: &SharedSide| {
        // A sheet that cannot be read is said on the page of its side.
        let settlement = side.settled().ok()?;
        let open: Vec<String> = settlement.open().map(|i| i.name.clone()).collect();
        let [first, second] = side.quarters.each().map(|q| q.name.as_str());
        (!open.is_empty()).then(|| Line {
            when: if day < today {
                Standing::late("Time is up")
            } else {
                Standing::todo(format!("By {}", near(day, today)))
            },
            what: Link::new(side.url(), format!("The {} is wished in two ways", side.name())),
            why: format!("{first} and {second} differ: {}. Until you decide, it is the standard cut.", open.join("; ")),
            act: Act::Go(Link::new(side.url(), format!("Decide for the {}", side.name()))),
        })
    };
    a.sides.iter().filter_map(open).collect()
}

fn packet(a: &Ahead, today: NaiveDate) -> Option<Line> {
    let id = a.date.id;
    let (kill, changed, decided) = (near(a.date.kill_on, today), a.changed(), a.decided());
    let (when, what, why) = match &a.sent {
        Some(sent) if changed > 0 => (
            "Changed".to_string(),
            format!("{} changed for {kill}", capital(&counted(changed, "cut sheet", "cut sheets"))),
            format!("{} has packet {}, which does not hold any more.", a.plant.name, sent.number),
        ),
        Some(sent) if decided > 0 => (
            "Decided".to_string(),
            format!("{} decided for {kill}", capital(&counted(decided, "side was", "sides were"))),
            format!("{} has packet {}, which does not hold any more.", a.plant.name, sent.number),
        ),
        Some(_) => return None,
        None => {
            let is_over = a.date.sheets_due.is_some_and(|due| due < today);
            let is_ready = a.missing().next().is_none();
            let is_near = days_left(a.date.kill_on, today) <= AHEAD;
            if !(is_ready && (is_over || is_near)) {
                return None;
            }
            (
                format!("By {kill}"),
                format!("The packet for {kill} is to be sent"),
                format!("Every cut sheet for {} is in.", a.plant.name),
            )
        }
    };
    Some(Line {
        when: Standing::todo(when),
        what: Link::new(format!("/dates/{id}/packet"), what),
        why,
        act: Act::Go(Link::new(
            format!("/dates/{id}/packet"),
            format!("Send the packet of {}", short(a.date.kill_on, today)),
        )),
    })
}

/// A late wish.
pub(super) fn asked((request, name): &Asked) -> Line {
    let href = format!("/sheet-requests/{}", request.id);
    Line {
        when: Standing::todo("Late wish"),
        what: Link::new(href.clone(), format!("{name} asks to change a cut sheet")),
        why: "The sheets of that date are closed. Take the change or refuse it; the customer is told.".into(),
        act: Act::Go(Link::new(href, format!("Look at the wish of {name}"))),
    }
}
