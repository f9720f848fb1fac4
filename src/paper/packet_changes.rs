//! What changed between two packets of a date, found on the frozen papers themselves, so that nothing on them is missed.

use super::packet::{HeadLine, Packet, SheetPage};
use super::parts::Section;
use crate::trade::sheet_changes::{Difference, differences};

/// What changed, a section for each sheet and head: dropped, changed and added sheets, then the head.
pub fn changes(was: &Packet, now: &Packet) -> Vec<Section> {
    let mut all = Vec::new();
    for old in was.sheets.iter().filter(|o| of(&now.sheets, &o.order).is_none()) {
        all.push(section(
            "Dropped",
            old,
            vec!["This share is not on this date any more. Do not cut by its sheet.".into()],
        ));
    }
    for sheet in &now.sheets {
        match of(&was.sheets, &sheet.order) {
            None => all.push(section(
                "Added",
                sheet,
                vec![format!("A new sheet: {}.", sheet.over.split(" · ").next().unwrap_or_default())],
            )),
            Some(old) => {
                let body = of_sheet(old, sheet);
                if !body.is_empty() {
                    all.push(section("Changed", sheet, body));
                }
            }
        }
    }
    all.extend(of_head(&was.animals, &now.animals));
    all
}

/// Writes into a packet what changed since another: the list, and a mark on every sheet and on each line that changed.
/// `since` names the other one: "packet 1".
pub fn mark(was: &Packet, now: &mut Packet, since: &str) {
    now.since = since.to_string();
    now.changed = changes(was, now);
    for sheet in &mut now.sheets {
        let Some(old) = of(&was.sheets, &sheet.order) else {
            sheet.mark = format!("New since {since}");
            continue;
        };
        let differs = of_sheet(old, sheet);
        sheet.mark = format!("{} since {since}", if differs.is_empty() { "Unchanged" } else { "Changed" });
        for line in &mut sheet.lines {
            line.changed = !old.lines.iter().any(|l| l.part == line.part && l.says == line.says);
        }
    }
}

fn of<'a>(sheets: &'a [SheetPage], order: &str) -> Option<&'a SheetPage> {
    sheets.iter().find(|s| s.order == order)
}

fn section(what: &str, sheet: &SheetPage, body: Vec<String>) -> Section {
    let who = sheet.who.first().map_or("", String::as_str);
    Section { heading: format!("{what}: {}, {}, {who}, order {}", sheet.tag, sheet.side, sheet.order), body }
}

fn said(sheet: &SheetPage) -> impl Iterator<Item = (&str, &str)> + Clone {
    let wish = Some(("Special wish", sheet.special.as_str())).filter(|(_, says)| !says.is_empty());
    sheet.lines.iter().map(|l| (l.part.as_str(), l.says.as_str())).chain(wish)
}

fn of_sheet(was: &SheetPage, now: &SheetPage) -> Vec<String> {
    let mut body = Vec::new();
    let place = |s: &SheetPage| format!("{}, {}", s.tag, s.side);
    if place(was) != place(now) {
        body.push(format!("It hangs on {} now; it was on {}.", place(now), place(was)));
    }
    if was.who != now.who {
        body.push(format!("The owner is {} now; it was {}.", now.who.join(", "), was.who.join(", ")));
    }
    body.extend(differences(said(was), said(now)).iter().map(Difference::says));
    body
}

fn of_head(was: &[HeadLine], now: &[HeadLine]) -> Vec<Section> {
    let find = |all: &'_ [HeadLine], name: &str| all.iter().find(|h| h.name == name).cloned();
    let mut all = Vec::new();
    for old in was.iter().filter(|h| find(now, &h.name).is_none()) {
        let body = vec!["This head does not come on this date.".into()];
        all.push(Section { heading: format!("Dropped: {}", old.name), body });
    }
    for head in now {
        match find(was, &head.name) {
            None => all.push(Section { heading: format!("Added: {}", head.name), body: head.owners.clone() }),
            Some(old) => {
                let mut body = Vec::new();
                if old.about != head.about {
                    body.push(format!("It was “{}” and is “{}”.", old.about, head.about));
                }
                body.extend(old.owners.iter().filter(|o| !head.owners.contains(o)).map(|o| format!("No longer: {o}")));
                body.extend(head.owners.iter().filter(|o| !old.owners.contains(o)).map(|o| format!("Now: {o}")));
                if !body.is_empty() {
                    all.push(Section { heading: format!("Owners of {}", head.name), body });
                }
            }
        }
    }
    all
}
