//! What a customer has to do now: the heading of the page, a lead sentence, and the one button where there is one.

use super::holder::Holder;
use super::mine::Mine;
use crate::actions::sheet_open::May;
use crate::book::standing::OrderStanding;
use crate::post::phrases::how_to_pay;
use crate::trade::dates;
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
    match &m.standing {
        OrderStanding::Waiting(n) => say(
            format!("You are {} in line for a {share}", words::ordinal(*n)),
            "We write to you as soon as a share comes free. There is nothing to do until then.".into(),
        ),
        OrderStanding::DepositDue(missing, _) => ToDo {
            why: pay(),
            ..say(
                format!("Please send the deposit of {}", missing.dollars()),
                format!("It holds your {share}, and it is taken off your invoice. Write {} on it.", m.order.0.number),
            )
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
        OrderStanding::Paid => {
            say(format!("Your {share} is paid"), "Thank you. There is nothing left to do here.".into())
        }
        _ => sheet(m, &share, today).unwrap_or_else(|| nothing(m, &share, today)),
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
