//! The words of the letters about an overdue balance, the firm one and the last one, and of the message a bill of sale goes with.
//! The friendly one is the reminder of a balance.

use super::placeholders::{CUSTOMER, DUE, FARM, HOW_TO_PAY, INVOICE, LINK, ORDER, Placeholder, SHARE, SIGNATURE, p};
use super::wording::Purpose;

/// What stands beside the last letter and its wording, for the farmer. Which rules hold is not for this program to say.
pub const COLLECTION_CAUTION: &str = "What you may say, charge and do to collect a debt differs from state to state, and so does how long you have. Ask a \
lawyer before you send a last letter, and before you take any step outside. Leave out threats of what you would not do.";

/// The placeholders that can be used in one of these messages.
pub(super) const fn placeholders_of(purpose: Purpose) -> &'static [Placeholder] {
    match purpose {
        Purpose::BillOfSale => {
            const { &[CUSTOMER, ORDER, SHARE, p("animal", "the animal the share is of", "Steer 229"), LINK, FARM, SIGNATURE] }
        }
        _ => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    INVOICE,
                    p("balance", "what is still to be paid on the invoice", "$705.75"),
                    DUE,
                    p("how_late", "how it stands", "38 days past due"),
                    p("pay_by", "the day you give them, two weeks from the letter", "Friday, December 17, 2027"),
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
        Purpose::BillOfSale => (
            "Bill of sale for your {share}",
            "Hello {customer},

The bill of sale for your {share} (order {order}, {animal}) comes with this message. It says that you own your share before slaughter.

Please print it twice, sign both, and bring or send them to us; we sign and give one back to you. If something on it is not right, call us first.

{signature}",
            "Hello {customer}, we have the bill of sale for your {share} (order {order}) here to sign. Please call us. {farm}",
        ),
        Purpose::BalanceFirm => (
            "Invoice {invoice} is {how_late}: please pay by {pay_by}",
            "Hello {customer},

Invoice {invoice} for your {share}, order {order}, is {how_late}, and we have not received the balance yet.

Still to be paid: {balance}
Please pay it by {pay_by}.
{how_to_pay}

If you cannot pay it all at once, call us before that day, and we will agree on parts. If you think the invoice is wrong, tell us what is wrong with it. If your payment is on its way, thank you.

How your order stands is on your private page:
{link}

{signature}",
            "Hello {customer}, invoice {invoice} is {how_late}. Still to be paid: {balance}. Please pay by {pay_by} or call us. {farm}",
        ),
        _ => (
            "Last letter about invoice {invoice}: {balance} by {pay_by}",
            "Hello {customer},

This is our last letter about invoice {invoice} for your {share}, order {order}. It is {how_late}, and {balance} is still to be paid.

Please pay the whole balance by {pay_by}.
{how_to_pay}

If it is not here by then and we have not heard from you, we will ask for help outside our farm to collect it. We would much rather settle it with you: call us, and we will find a way.

If you think that you do not owe this, write to us by that day and say why. If your payment is on its way, thank you.

{signature}",
            "Hello {customer}, last letter about invoice {invoice}: {balance} is still to be paid. Please pay by {pay_by} or call us. {farm}",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_caution_defers_and_the_last_letter_leaves_a_way() {
        for words in ["differs from state to state", "lawyer"] {
            assert!(COLLECTION_CAUTION.contains(words), "{words}");
        }
        let (_, last, _) = words_of(Purpose::BalanceLast);
        for words in ["{balance}", "{pay_by}", "call us", "do not owe this"] {
            assert!(last.contains(words), "{words}");
        }
        assert!(!last.to_lowercase().contains("court"), "nothing is threatened that a farm may not do");
    }
}
