//! The words about collecting the meat: default wordings, their placeholders, and the note on handling it safely.

use super::placeholders::{CUSTOMER, FARM, HOW_TO_PAY, LINK, ORDER, PROCESSOR, Placeholder, SHARE, SIGNATURE, p};
use super::wording::Purpose;

/// How to keep and cook the meat, said when it is handed over. The figures are those of the USDA Food Safety and Inspection Service:
/// keeping and thawing from its page “Freezing and Food Safety” (read in the archive cybercemetery.unt.edu), temperatures from its “Safe
/// Minimum Internal Temperature Chart” (read in copies by county and consumer sites; foodsafety.gov says the same and names goat too).
pub const FOOD_SAFETY_NOTE: &str = "Bring coolers and take it straight home. Keep it frozen at 0 °F or below until you use it. Thaw it in the \
    refrigerator, about a day for every 5 lb, not on the counter. Cook steaks, roasts and chops to 145 °F and let them rest 3 minutes; \
    cook ground meat and sausage to 160 °F, measured with a food thermometer. These figures are those of the USDA Food Safety and \
    Inspection Service (FSIS). When unsure, ask your local health department or extension office.";

/// What is ready.
const WHAT_IS_READY: Placeholder = p(
    "what_is_ready",
    "one sentence: that it is ready, and in how many boxes if you said so",
    "Your half hog is ready, in 3 boxes.",
);
/// The windows one can choose.
const WINDOWS: Placeholder = p(
    "windows",
    "the windows that have room, a line each with place and address; without any, that you will write again",
    "You can collect it:\n– Saturday, October 30, 2027, 9:00 am to 1:00 pm, Pell Road Meats, 4 Pell Road\nChoose one on your private page, or call us.",
);
/// The window chosen.
const WINDOW: Placeholder =
    p("window", "the day and the hours chosen", "Saturday, October 30, 2027, 9:00 am to 1:00 pm");
/// Its place.
const PLACE: Placeholder = p(
    "place",
    "name and address of the place, and your words about it",
    "Pell Road Meats, 4 Pell Road\nRing at the side door.",
);
/// What is owed.
const BALANCE_WORDS: Placeholder = p(
    "balance_words",
    "what is still to be paid and by when, that nothing is, or that the invoice is to come",
    "The balance due is $705.75. Please pay it by Thursday, October 28, 2027.",
);
/// When the meat is handed over.
const HOLD_RULE: Placeholder = p(
    "hold_rule",
    "whether you hand the meat over before the balance is paid, by what you chose in Settings",
    "We hand the meat over when the balance is paid.",
);
/// What storage costs.
const STORAGE: Placeholder = p(
    "storage",
    "until when storage costs nothing and what it costs then, by what you chose in Settings",
    "Storage costs nothing through November 12, 2027. After that it is $2.00 for each day begun.",
);
/// How to keep and cook it.
const FOOD_SAFETY: Placeholder =
    p("food_safety", "how to keep, thaw and cook the meat safely, with the source of the figures", FOOD_SAFETY_NOTE);
/// The rules of pickup, said with the order.
pub(super) const PICKUP_RULES: Placeholder = p(
    "pickup_rules",
    "how pickup goes: that windows are chosen, when meat is handed over, and what storage costs",
    "When it is ready we tell you, and you choose when to collect it. We hand the meat over when the balance is paid.",
);

/// The placeholders that can be used in one of these messages.
pub(super) const fn placeholders_of(purpose: Purpose) -> &'static [Placeholder] {
    match purpose {
        Purpose::PickupChosen | Purpose::PickupComing => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    WHAT_IS_READY,
                    WINDOW,
                    PLACE,
                    BALANCE_WORDS,
                    HOLD_RULE,
                    STORAGE,
                    FOOD_SAFETY,
                    HOW_TO_PAY,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PickupMoved => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p(
                        "what_changed",
                        "what the window was and is now, or that it is called off",
                        "It was Saturday, October 30, 2027, 9:00 am to 1:00 pm at Pell Road Meats. It is now Saturday, October 30, 2027, 10:00 am to 2:00 pm at Pell Road Meats.",
                    ),
                    WINDOWS,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PickupNotYet => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p(
                        "pickup_off",
                        "that nobody should come yet, with the window that was chosen",
                        "Please do not come on Saturday, October 30, 2027, 9:00 am to 1:00 pm: that pickup is off.",
                    ),
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PickupMissing => {
            const { &[CUSTOMER, ORDER, SHARE, WHAT_IS_READY, WINDOWS, BALANCE_WORDS, STORAGE, LINK, FARM, SIGNATURE] }
        }
        _ => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    PROCESSOR,
                    WHAT_IS_READY,
                    WINDOWS,
                    BALANCE_WORDS,
                    HOLD_RULE,
                    STORAGE,
                    FOOD_SAFETY,
                    HOW_TO_PAY,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
    }
}

/// Subject, message and text message.
pub(super) const fn words_of(purpose: Purpose) -> (&'static str, &'static str, &'static str) {
    match purpose {
        Purpose::PickupChosen => (
            "Pickup of your {share}: {window}",
            "Hello {customer},

You collect your {share} (order {order}) on {window}.

{place}

{what_is_ready} {balance_words} {hold_rule}

{storage}

If the time does not suit you any more, choose another one on your private page, or call us:
{link}

{food_safety}

{signature}",
            "Hello {customer}, you collect your {share} (order {order}) on {window}. {balance_words} {farm}",
        ),
        Purpose::PickupMoved => (
            "Pickup of your {share} has changed",
            "Hello {customer},

The pickup of your {share} (order {order}) has changed. {what_changed}

If that does not suit you, choose another time on your private page, or call us:
{link}

{windows}

{signature}",
            "Hello {customer}, the pickup of your {share} (order {order}) has changed. {what_changed} {farm}",
        ),
        Purpose::PickupNotYet => (
            "Your {share} is not ready yet after all",
            "Hello {customer},

We wrote that your {share} (order {order}) can be collected. We are sorry: it is not ready yet. {pickup_off}

We will write to you again as soon as it is. Your private page:
{link}

{signature}",
            "Hello {customer}, we are sorry: your {share} (order {order}) is not ready yet after all. {pickup_off} We will tell you when it is. {farm}",
        ),
        Purpose::PickupComing => (
            "You collect your {share}: {window}",
            "Hello {customer},

This is to remind you that you collect your {share} (order {order}) on {window}.

{place}

{what_is_ready} {balance_words} {hold_rule}

Bring coolers. If you cannot come, tell us, or look at your private page:
{link}

{signature}",
            "Hello {customer}, you collect your {share} (order {order}) on {window}. {balance_words} {farm}",
        ),
        Purpose::PickupMissing => (
            "When do you collect your {share}?",
            "Hello {customer},

{what_is_ready} You have not chosen yet when to collect it (order {order}).

{windows}

Your private page:
{link}

{balance_words}

{storage}

{signature}",
            "Hello {customer}, your {share} (order {order}) is ready and you have not chosen when to collect it. Please call us. {farm}",
        ),
        // The ready notice.
        _ => (
            "Your {share} is ready to collect",
            "Hello {customer},

{what_is_ready} (Order {order}.)

{windows}

Your private page:
{link}

{balance_words} {hold_rule}
{how_to_pay}

{storage}

{food_safety}

{signature}",
            "Hello {customer}, your {share} (order {order}) is ready to collect. {balance_words} Call us to choose a time. {farm}",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_note_names_its_source_and_defers() {
        for words in [
            "0 °F",
            "145 °F",
            "160 °F",
            "refrigerator",
            "Food Safety and Inspection Service (FSIS)",
            "local health department",
        ] {
            assert!(FOOD_SAFETY_NOTE.contains(words), "{words}");
        }
    }
}
