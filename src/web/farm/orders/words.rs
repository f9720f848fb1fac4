//! Orders in words: standings, shares, places.

use crate::actions::draft_words::{Row, SumRow};
use crate::book::at::Now;
use crate::book::placements::Share;
use crate::book::rows::animals::Animal;
use crate::book::rows::selling::{Offering, Reservation};
use crate::book::rows::sheets::{CutSheet, SheetDraft};
use crate::book::standing::OrderStanding;
use crate::trade::carcass::Place;
use crate::trade::dates;
use crate::trade::share::{Part, Size, Species, sold_as};
use crate::web::farmer::Farmer;
use crate::web::look::capital;
use crate::web::look::parts::{Standing, SumKind, SumLine};
use crate::web::look::rail::Glyph;
use chrono::NaiveDate;

/// A standing with its shape and words.
pub fn standing(s: &OrderStanding, today: NaiveDate) -> Standing {
    match s {
        OrderStanding::Cancelled => Standing::wait("Cancelled"),
        OrderStanding::Waiting(n) => Standing::wait(format!("Waiting, {} in line", ordinal(*n))),
        OrderStanding::DepositDue(missing, held) if held.is_positive() => {
            let asked = missing.plus(*held).unwrap_or(*missing);
            Standing::part(format!("Deposit {} of {}", held.dollars(), asked.dollars()))
        }
        OrderStanding::DepositDue(..) => Standing::todo("Deposit due"),
        OrderStanding::NoAnimal => Standing::todo("Animal to assign"),
        OrderStanding::OnAnimal => Standing::done("On an animal"),
        OrderStanding::WeightDue => Standing::todo("Weight to come"),
        OrderStanding::ToInvoice => Standing::todo("Invoice to issue"),
        OrderStanding::Condemned => Standing::late("Carcass condemned"),
        OrderStanding::Owed(_, Some(due)) => Standing::part(format!("Due {}", dates::short(*due, today))),
        OrderStanding::Owed(_, None) => Standing::part("Due before pickup"),
        OrderStanding::Overdue(_, days) => {
            Standing::late(format!("{days} day{} overdue", if *days == 1 { "" } else { "s" }))
        }
        OrderStanding::Paid => Standing::done("Paid"),
    }
}

/// The same as this person may read it: of a deposit that came in part, helpers are not told the amounts.
pub fn standing_for(farmer: &Farmer, s: &OrderStanding) -> Standing {
    match s {
        OrderStanding::DepositDue(_, held) if held.is_positive() && !farmer.sees_money() => {
            Standing::part("Part of the deposit")
        }
        _ => standing(s, farmer.now.today),
    }
}

/// `1st`, `2nd`, `11th`.
pub fn ordinal(n: usize) -> String {
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

/// "Half beef", "Forequarter beef": the share as it is sold.
pub fn share(r: &Reservation, o: &Offering) -> String {
    sold_as(r.size, r.part, o.species)
}

/// "half beef", "forequarter beef": a kind of share inside a sentence.
pub fn kind(size: Size, part: Option<Part>, species: Species) -> String {
    match (size, part) {
        (Size::Quarter, Some(part @ (Part::Fore | Part::Hind))) => format!("{} {}", part.label(), species.label()),
        _ => format!("{} {}", size.label(), species.label()),
    }
}

/// "half", "forequarter": a kind of share without its species.
pub fn kind_alone(size: Size, part: Option<Part>) -> &'static str {
    match (size, part) {
        (Size::Quarter, Some(part @ (Part::Fore | Part::Hind))) => part.label(),
        _ => size.label(),
    }
}

/// The glyph of a share where it hangs, or as it would.
pub fn glyph(r: &Reservation, share: Option<&Share>) -> Glyph {
    Glyph::new(r.size, share.and_then(Share::side), r.part)
}

/// "left side", "half of the right side", "both sides".
pub fn place(place: Place) -> String {
    match place {
        Place::Whole => "both sides".into(),
        Place::Half(side) => format!("{} side", side.label()),
        Place::Quarter(side, Part::Split) => format!("half of the {} side", side.label()),
        Place::Quarter(side, part) => format!("{} {}", side.label(), part.label()),
    }
}

/// A drafted sum as a page shows it.
pub fn sum_lines(rows: &[SumRow]) -> Vec<SumLine> {
    rows.iter()
        .map(|r| {
            SumLine::new(r.what.clone(), r.amount).small(r.small.clone()).as_a(match r.row {
                Row::Line => SumKind::Line,
                Row::Middle => SumKind::Middle,
                Row::Total => SumKind::Total,
                Row::Apart => SumKind::Apart,
            })
        })
        .collect()
}

/// "Steer 211": the animal as people call it.
pub fn animal(a: &Animal) -> String {
    let class = a.class.replace('_', " ");
    capital(&format!("{} {}", if class.is_empty() { a.species.label() } else { class.as_str() }, a.tag))
}

/// What a customer has begun and not sent: "Begun by the customer, not sent; last change Monday, October 4."
pub fn begun(draft: &SheetDraft, now: Now) -> String {
    format!("Begun by the customer, not sent; last change {}.", dates::long(draft.changed_at.day(now.zone), now.today))
}

/// How an order's cut sheet stands: what is in, and what its customer has begun.
pub fn sheet(stored: Option<&CutSheet>, draft: Option<&SheetDraft>, now: Now) -> String {
    let is_in = stored.map(|s| {
        let day = dates::long(s.entered_at.day(now.zone), now.today);
        format!("In since {day}, revision {}, {}.", s.revision, s.origin.label())
    });
    match (is_in, draft) {
        (None, None) => "None yet.".into(),
        (Some(is_in), None) => is_in,
        (None, Some(draft)) => begun(draft, now),
        (Some(is_in), Some(draft)) => {
            let day = dates::long(draft.changed_at.day(now.zone), now.today);
            format!("{is_in} The customer has begun another one and not sent it; last change {day}.")
        }
    }
}

/// What an order waits for, as the last line of its story.
pub const fn next(standing: &OrderStanding) -> Option<&'static str> {
    Some(match standing {
        OrderStanding::Waiting(_) => "A share must come free",
        OrderStanding::DepositDue(..) => "The deposit",
        OrderStanding::NoAnimal | OrderStanding::Condemned => "An animal",
        OrderStanding::OnAnimal | OrderStanding::WeightDue => "The hanging weight",
        OrderStanding::ToInvoice => "Issue the invoice",
        OrderStanding::Owed(..) | OrderStanding::Overdue(..) => "The balance",
        OrderStanding::Cancelled | OrderStanding::Paid => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::ordinal;

    #[test]
    fn places_in_line_are_written_out() {
        assert_eq!(
            [1, 2, 3, 4, 11, 12, 21, 112].map(ordinal),
            ["1st", "2nd", "3rd", "4th", "11th", "12th", "21st", "112th"]
        );
    }
}
