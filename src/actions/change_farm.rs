//! Changing the farm's own facts and ways, one short part at a time.

use super::{Doing, Failure, Problems};
use crate::book::farm;
use crate::book::rows::farm::Farm;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::requests::Requests;
use crate::trade::sheets_due::ReminderDays;
use crate::trade::vocabulary::{PaperSize, Terms};
use crate::trade::weight::Unit;

/// One short part of the farm's settings.
#[derive(Debug, Clone)]
pub enum Part {
    /// Who the farm is, as it stands on papers.
    Farm {
        /// The farm's name.
        name: String,
        /// Who answers.
        contact_name: String,
        /// Address, several lines.
        address: String,
        /// Phone.
        phone: String,
        /// Mail address; replies go there.
        mail: String,
    },
    /// Unit, paper and time zone.
    Ways {
        /// Unit of weight; cannot be changed once a weight or price is recorded.
        unit: Unit,
        /// Paper size of documents.
        paper: PaperSize,
        /// Name of the time zone, such as `America/Chicago`.
        time_zone: String,
    },
    /// How customers pay.
    Payment {
        /// Whom a check is made out to.
        payee: String,
        /// Where a check is posted to.
        pay_address: String,
        /// Any other words.
        pay_words: String,
    },
    /// When invoices are due, and the deposit policy.
    Terms {
        /// Days after issue, or before pickup.
        terms: Terms,
        /// Days, 0 to 365.
        terms_days: i64,
        /// The policy in the farm's words.
        deposit_policy: String,
        /// `as_hung` or `even`.
        split_basis: String,
        /// Days to answer an offer from the waiting list, 1 to 60.
        offer_days: i64,
    },
    /// Reminders of missing cut sheets, and what happens when time is up.
    Sheets {
        /// On which days before the deadline.
        reminders: ReminderDays,
        /// Whether the standard cut is entered for those whose sheet is missing.
        standard: bool,
    },
    /// How the planner begins a head.
    Plan {
        /// Quarters that must come onto a head for a custom-exempt plant, 1 to 4.
        open_custom_from: i64,
    },
    /// Requests of strangers for a share, and the time a deposit has.
    Requests {
        /// Whether they may ask, and who accepts.
        requests: Requests,
        /// Days to send a deposit, 1 to 90.
        deposit_days: i64,
    },
}

/// Saves one part. `version` is the one the form was opened with. With `finish_set_up` the farm counts as set up afterwards.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between; [`Failure::Refused`] for an unknown time zone or a unit that cannot be changed any more.
pub fn change_farm(tx: &mut Tx, doing: &Doing, version: i64, part: &Part, finish_set_up: bool) -> Result<(), Failure> {
    let mut changed: Farm = farm::get(tx.conn())?;
    let mut problems = Problems::default();
    let what = match part.clone() {
        Part::Farm { name, contact_name, address, phone, mail } => {
            (changed.name, changed.contact_name, changed.address, changed.phone, changed.mail) =
                (name, contact_name, address, phone, mail);
            "The farm’s name and address were changed"
        }
        Part::Ways { unit, paper, time_zone } => {
            if time_zone.parse::<chrono_tz::Tz>().is_err() {
                problems.add("time_zone", format!("“{time_zone}” is not a time zone. Choose one of the list"));
            }
            if unit != changed.unit && farm::has_quantities(tx.conn())? {
                problems.add(
                    "unit",
                    format!("Weights or prices in {} are recorded already, so the unit stays", changed.unit),
                );
            }
            (changed.unit, changed.paper, changed.time_zone) = (unit, paper, time_zone);
            "Unit, paper or time zone were changed"
        }
        Part::Payment { payee, pay_address, pay_words } => {
            (changed.payee, changed.pay_address, changed.pay_words) = (payee, pay_address, pay_words);
            "How customers pay was changed"
        }
        Part::Terms { terms, terms_days, deposit_policy, split_basis, offer_days } => {
            (changed.terms, changed.terms_days, changed.deposit_policy, changed.split_basis) =
                (terms, terms_days, deposit_policy, split_basis);
            changed.offer_days = offer_days;
            "Invoice terms or the deposit policy were changed"
        }
        Part::Sheets { reminders, standard } => {
            (changed.sheet_reminders, changed.sheets_standard) = (reminders.shown(), standard);
            "Reminders of cut sheets, or what happens when time is up, were changed"
        }
        Part::Plan { open_custom_from } => {
            changed.open_custom_from = open_custom_from;
            "From how many quarters on the plan begins a head was changed"
        }
        Part::Requests { requests, deposit_days } => {
            (changed.requests, changed.deposit_days) = (requests, deposit_days);
            "Who may ask for a share, or the time for deposits, was changed"
        }
    };
    problems.check()?;
    if finish_set_up && changed.set_up_at.is_none() {
        changed.set_up_at = Some(doing.now.at);
    }
    if !farm::save(tx, &changed, version)? {
        return Err(Failure::Stale);
    }
    stories::tell(tx, doing.now.at, &doing.actor, Line { line: what.into(), ..Line::default() })?;
    Ok(())
}
