//! What a customer has to do now: the heading of the page, a lead sentence, and the one button where there is one.

use super::holder::Holder;
use super::mine::{Mine, Terms};
use crate::actions::pickup_words::place_line;
use crate::actions::sheet_open::May;
use crate::book::standing::OrderStanding;
use crate::post::phrases::how_to_pay;
use crate::trade::{dates, reference};
use crate::web::farm::orders::words;
use crate::web::look::parts::Link;

/// The first thing on the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ToDo {
    /// The heading.
    pub heading: String,
    /// The lead sentence.
    pub lead: String,
    /// A second line, lines kept; empty for none.
    pub why: String,
    /// The button, when there is something to do here.
    pub button: Option<Link>,
}

/// Where the terms are read and accepted.
pub const TERMS: &str = "/my/terms";

/// Whether the terms are to be read: while the share is held and nothing is billed.
pub fn must_read(m: &Mine) -> bool {
    m.terms == Terms::ToRead && m.facts.invoice.is_none() && !matches!(m.standing, OrderStanding::Waiting(_))
}

/// What there is to do first.
pub fn to_do(m: &Mine, holder: &Holder) -> ToDo {
    let (today, farm) = (holder.now.today, &holder.farm);
    let share = words::share(&m.order.0, &m.order.2).to_lowercase();
    let pay = || how_to_pay(&farm.name, &farm.payee, &farm.pay_address, &farm.pay_words);
    let say = |heading: String, lead: String| ToDo { heading, lead, why: String::new(), button: None };
    if let Some(day) = m.answer_by {
        let lead = format!("A share is left, and we hold it for you through {}.", dates::long(day, today));
        return ToDo {
            button: Some(Link::new("/my/offer", "Look at the offer")),
            ..say(format!("A {share} is yours if you want it"), lead)
        };
    }
    if m.cancel.is_some() {
        let lead = "We answer you before anything happens. Until then the order stands as it is.";
        return ToDo {
            button: Some(Link::new("/my/cancel", "Look at what you asked")),
            ..say(format!("You asked to cancel your {share}"), lead.into())
        };
    }
    if let Some(first) = pickup(m, &share, today) {
        return first;
    }
    match &m.standing {
        OrderStanding::Waiting(n) => say(
            format!("You are {} in line for a {share}", words::ordinal(*n)),
            "We write to you as soon as a share comes free. There is nothing to do until then.".into(),
        ),
        OrderStanding::DepositDue(missing, _) => ToDo {
            why: pay(),
            ..say(format!("Please send the deposit of {}", missing.dollars()), {
                let due = m.confirmation.as_ref().and_then(|c| c.deposit_due_on);
                let by = due.map_or(String::new(), |day| format!(" It is due by {}.", dates::long(day, today)));
                let reference = reference::of(&m.order.0.number);
                format!("It holds your {share}, and it is taken off your invoice.{by} Write {reference} on it.")
            })
        },
        OrderStanding::Overdue(owed, _) | OrderStanding::Owed(owed, _) => {
            let due = m.facts.invoice.as_ref().and_then(|(i, _)| i.due_on);
            let (when, late) = match (&m.standing, due) {
                (OrderStanding::Overdue(_, days), Some(day)) => (
                    format!(
                        "It was due on {}, {days} day{} ago.",
                        dates::long(day, today),
                        if *days == 1 { "" } else { "s" }
                    ),
                    " If it is on its way, thank you.",
                ),
                (_, Some(day)) => (format!("It is due by {}.", dates::long(day, today)), ""),
                _ => ("It is due before pickup.".to_string(), ""),
            };
            let link = m.facts.invoice.as_ref();
            ToDo {
                why: pay(),
                button: link.map(|(i, _)| Link::new(format!("/my/invoice/{}", i.id), "Look at the invoice")),
                ..say(format!("Please pay the balance of {}", owed.dollars()), format!("{when}{late}"))
            }
        }
        OrderStanding::Paid if m.order.0.collected_at.is_some() => {
            say(format!("You have your {share}"), "It is paid and collected. Thank you.".into())
        }
        OrderStanding::Paid => {
            say(format!("Your {share} is paid"), "Thank you. There is nothing left to do here.".into())
        }
        _ => sheet(m, &share, today).or_else(|| terms(m)).unwrap_or_else(|| nothing(m, &share, today)),
    }
}

/// The terms, when nothing else is to be done.
fn terms(m: &Mine) -> Option<ToDo> {
    must_read(m).then(|| ToDo {
        heading: "Please read and accept our terms".into(),
        lead: "They say what happens with price, deposit and pickup. The version you accept stays with your order."
            .into(),
        why: String::new(),
        button: Some(Link::new(TERMS, "Read the terms")),
    })
}

/// What there is to do about collecting it, unless a balance is late.
fn pickup(m: &Mine, share: &str, today: chrono::NaiveDate) -> Option<ToDo> {
    let ready = m.pickup.ready.as_ref()?;
    if m.order.0.collected_at.is_some() || matches!(m.standing, OrderStanding::Overdue(..)) {
        return None;
    }
    let owed = m.facts.balance().filter(|b| b.is_positive());
    let why = match owed {
        Some(b) => format!("{} is still to be paid. {}", b.dollars(), m.rule.hold_words()),
        None => String::new(),
    };
    let to = |words: &str| Some(Link::new("/my/pickup", words));
    match &m.pickup.window {
        None => Some(ToDo {
            heading: if m.can_choose {
                format!("Choose when you collect your {share}")
            } else {
                format!("Your {share} is ready")
            },
            lead: if m.can_choose {
                format!("It is ready since {}.", dates::long(ready.ready_on, today))
            } else if m.pickup.note.is_some() {
                "We have your note and answer you.".into()
            } else {
                "We tell you when and where you can collect it.".into()
            },
            why,
            button: to(if m.can_choose { "Choose a time" } else { "When you collect it" }),
        }),
        Some((w, place)) if owed.is_none() => Some(ToDo {
            heading: format!("You collect your {share} on {}", dates::long(w.on_day, today)),
            lead: format!("From {}, at {}.", crate::trade::pickup::hours(&w.opens, &w.closes), place_line(place)),
            why: place.words.clone(),
            button: to("See or change it"),
        }),
        // The balance comes first; the window stands among the steps.
        Some(_) => None,
    }
}

/// The cut sheet, while it is missing and can be sent.
fn sheet(m: &Mine, share: &str, today: chrono::NaiveDate) -> Option<ToDo> {
    let (May::Change(until), None, Some((date, plant))) = (&m.may, &m.sheet, &m.date) else { return None };
    let by = until.map_or_else(String::new, |day| format!(" by {}", dates::long(day, today)));
    Some(ToDo {
        heading: format!("Tell us how to cut your {share}"),
        lead: format!("{} needs your cut sheet{by}. Slaughter is on {}.", plant.name, dates::long(date.kill_on, today)),
        why: String::new(),
        button: m.sheet_page.clone(),
    })
}

fn nothing(m: &Mine, share: &str, today: chrono::NaiveDate) -> ToDo {
    let lead = match (&m.date, &m.billed) {
        (_, Some(_)) => "It is weighed. We write the invoice next.".to_string(),
        (Some((date, plant)), None) if date.kill_on >= today => {
            format!("It goes to {} on {}. We tell you what it weighs.", plant.name, dates::long(date.kill_on, today))
        }
        (Some((_, plant)), None) => format!("It is at {}. We tell you what it weighs.", plant.name),
        (None, None) => "We tell you when it has its animal and its day.".to_string(),
    };
    ToDo { heading: format!("Nothing to do for your {share} now"), lead, why: String::new(), button: None }
}
