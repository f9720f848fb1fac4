//! How the farm hands meat over: paid first or not, until when windows are chosen, reminders, and what storage costs.

use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::pickup_places;
use crate::book::rows::pickups::PickupRule;
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::money::Money;
use crate::trade::pickup::Storage;

/// What holds while the farm said nothing else: paid first, a day's notice, and no charge for storage.
const DEFAULTS: PickupRule = PickupRule {
    hold_until_paid: true,
    hours_before: 24,
    ask_every: 3,
    remind_before: true,
    free_days: 14,
    storage_per: None,
    storage_amount: Money::ZERO,
    version: 0,
};

/// The rule in force; its version is 0 while it is the default.
///
/// # Errors
/// The database's own.
pub fn in_force(c: &mut DbConn) -> Result<PickupRule, Failure> {
    Ok(pickup_places::rule(c)?.unwrap_or(DEFAULTS))
}

impl PickupRule {
    /// What storage costs by this rule.
    pub const fn storage(&self) -> Storage {
        Storage { free_days: self.free_days, per: self.storage_per, amount: self.storage_amount }
    }

    /// For `{hold_rule}`: whether the meat is handed over before it is paid.
    pub const fn hold_words(&self) -> &'static str {
        if self.hold_until_paid {
            "We hand the meat over when the balance is paid."
        } else {
            "You can collect it first and pay by the day the invoice is due."
        }
    }

    /// For `{pickup_rules}`: how pickup goes, said long before.
    pub fn words(&self) -> String {
        let say = "When the meat is ready we tell you, and you choose when to collect it.";
        format!("{say} {} {}", self.hold_words(), self.storage().words(None)).trim_end().to_string()
    }
}

/// Saves the rule. What was said on a ready notice holds for that order all the same.
///
/// # Errors
/// [`Failure::Refused`] when storage is charged for without an amount; [`Failure::Stale`] when somebody saved in between.
pub fn save_rules(tx: &mut Tx, doing: &Doing, new: &PickupRule, seen: i64) -> Result<(), Failure> {
    if new.storage_per.is_some() && !new.storage_amount.is_positive() {
        return Err(Failure::refuse("storage_amount", "Write what storage costs, or choose that nothing is charged."));
    }
    if !pickup_places::save_rule(tx, new, seen)? {
        return Err(Failure::Stale);
    }
    let line = Line { line: "How meat is handed over was changed".into(), detail: new.words(), ..Line::default() };
    stories::tell(tx, doing.now.at, &doing.actor, line)?;
    Ok(())
}
