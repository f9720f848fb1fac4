//! Which placeholder can be used in which message, and what it stands for. The Settings page prints these lists.

use super::balance_words;
use super::pickup::PICKUP_RULES;
use super::request_words;
use super::wording::Purpose;

/// One placeholder of a message.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Placeholder {
    /// What stands between the braces.
    pub name: &'static str,
    /// What it stands for, for the person who edits the wording.
    pub meaning: &'static str,
    /// What it could be, for a preview without an order.
    pub example: &'static str,
}

pub(super) const fn p(name: &'static str, meaning: &'static str, example: &'static str) -> Placeholder {
    Placeholder { name, meaning, example }
}

pub(super) const CUSTOMER: Placeholder = p("customer", "the customer's name", "Ruth Kessel");
pub(super) const FARM: Placeholder = p("farm", "your farm's name", "Nettle Bend Farm");
pub(super) const SIGNATURE: Placeholder = p(
    "signature",
    "your contact name, farm, phone, and mail from Settings, one a line",
    "Ada Moen\nNettle Bend Farm\n555-0100\noffice@nettlebend.example",
);
pub(super) const ORDER: Placeholder = p("order", "the order's number", "2027-031");
pub(super) const SHARE: Placeholder = p("share", "what was ordered", "half hog");
pub(super) const OFFERING: Placeholder = p("offering", "species and season", "hogs, fall 2027");
pub(super) const PRICE: Placeholder = p("price", "the price locked into the order", "$5.25 per lb of hanging weight");
pub(super) const REFERENCE: Placeholder = p(
    "reference",
    "the payment reference: the order's number with a check character; typed into the search it finds the order",
    "2027-031-6",
);
pub(super) const DEPOSIT: Placeholder = p("deposit", "the deposit asked", "$150.00");
pub(super) const DEPOSIT_REQUEST: Placeholder = p(
    "deposit_request",
    "one sentence: which deposit to send, or that none is needed",
    "Please send the deposit of $150.00 to hold it.",
);
pub(super) const HOW_TO_PAY: Placeholder = p(
    "how_to_pay",
    "how customers pay you, from Settings",
    "Make checks payable to Nettle Bend Farm and send them to 12 River Road, Elm Fork.",
);
const RECEIPT: Placeholder = p("receipt", "the receipt's number", "2027-R-014");
pub(super) const INVOICE: Placeholder = p("invoice", "the invoice's number", "2027-014");
const BALANCE: Placeholder = p("balance", "the balance due", "$705.75");
pub(super) const DUE: Placeholder = p("due", "when it is due", "by Thursday, October 28");
const DATE: Placeholder = p("date", "the processing date", "Thursday, October 14");
pub(super) const PROCESSOR: Placeholder = p("processor", "the processor's name", "Cedar Locker");
const SHEETS_DUE: Placeholder = p("sheets_due", "the last day for the cut sheet", "Thursday, October 7");
const CHANGES: Placeholder =
    p("changes", "what was asked for, a line for each part", "Ham: “Cured.” becomes “Ground or sausage.”");
/// The private link to the order's page.
pub const LINK: Placeholder = p(
    "link",
    "the private link to the order’s page, made as the mail leaves. Give it a paragraph of its own: that is left out of letters, and while no public address is set",
    "https://farm.example/c/kX2mQ9vB7tRw4yZs8uNp3dLf6hJc1gAe",
);
const REASON: Placeholder = p("reason", "the reason you wrote down", "the weight was entered for the wrong animal");

/// The placeholders that can be used in a message of this purpose, in the order the Settings page shows them.
pub const fn placeholders(purpose: Purpose) -> &'static [Placeholder] {
    match purpose {
        Purpose::DepositReceipt => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p("amount", "the deposit received", "$150.00"),
                    p("date", "the day it was received", "Friday, March 12"),
                    RECEIPT,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PaymentReceipt => {
            const {
                &[
                    CUSTOMER,
                    p("amount", "the payment received", "$705.75"),
                    p("date", "the day it was received", "Monday, October 25"),
                    RECEIPT,
                    p("applied_to", "what the payment was put to", "invoice 2027-014"),
                    p("balance", "what the customer still owes you in all", "$0.00"),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::RequestConfirm | Purpose::RequestAccepted | Purpose::RequestWaiting | Purpose::RequestDeclined => {
            request_words::placeholders_of(purpose)
        }
        Purpose::ReservationConfirmed | Purpose::MovedUp => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    REFERENCE,
                    SHARE,
                    OFFERING,
                    PRICE,
                    DEPOSIT,
                    DEPOSIT_REQUEST,
                    p(
                        "paying",
                        "which deposit to send and how to pay it, or that none is needed",
                        "Please send the deposit of $150.00 to hold it.\nMake checks payable to Nettle Bend Farm.",
                    ),
                    HOW_TO_PAY,
                    PICKUP_RULES,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::WaitingOffer => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    OFFERING,
                    PRICE,
                    DEPOSIT,
                    p("answer_by", "the last day to answer", "Thursday, October 14"),
                    HOW_TO_PAY,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::SharesLeft => {
            const {
                &[
                    CUSTOMER,
                    p("left", "what is left, in your words", "a quarter of a steer"),
                    p("price", "its price, in your words", "$4.80 per lb of hanging weight"),
                    p("sell_by", "until when it must be sold", "Thursday, October 14"),
                    HOW_TO_PAY,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::DateAssigned => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p("date", "the processing date", "Thursday, October 14"),
                    p("processor", "the processor's name", "Cedar Locker"),
                    p("pickup", "when pickup is expected, or “not known yet”", "October 28 to November 4"),
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PlaceChanged => {
            const {
                &[
                    CUSTOMER,
                    p(
                        "changes",
                        "a line for each of the customer's shares: which order, and the day and the plant it goes to now",
                        "Half beef, order 2027-031: Thursday, October 14, 2027 at Cedar Locker (it was Thursday, November 4, 2027 at Cedar Locker).",
                    ),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::SheetReminder => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    DATE,
                    PROCESSOR,
                    SHEETS_DUE,
                    p(
                        "how_to_send",
                        "how the customer can answer: the private link where there is one, your mail and phone",
                        "Answer this message or call 555-0100, and we enter it for you.",
                    ),
                    p(
                        "if_none",
                        "one sentence: what happens when none comes, by what you chose in Settings",
                        "If none comes by then, we enter the standard cut for you.",
                    ),
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::SheetStandard => {
            const { &[CUSTOMER, ORDER, SHARE, DATE, PROCESSOR, SHEETS_DUE, LINK, FARM, SIGNATURE] }
        }
        Purpose::SheetTaken => const { &[CUSTOMER, ORDER, SHARE, DATE, PROCESSOR, CHANGES, LINK, FARM, SIGNATURE] },
        Purpose::SheetRefused => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    DATE,
                    PROCESSOR,
                    CHANGES,
                    p("reason", "the reason you wrote down", "The plant has begun to cut."),
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PrivateLink => const { &[CUSTOMER, ORDER, SHARE, LINK, FARM, SIGNATURE] },
        Purpose::SideDecided => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    DATE,
                    PROCESSOR,
                    p(
                        "decided",
                        "what was decided, a line for each part",
                        "Short loin: T-bone and porterhouse steaks.",
                    ),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::ContactChanged => const { &[CUSTOMER, ORDER, SHARE, FARM, SIGNATURE] },
        Purpose::CancelStays => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p(
                        "answer",
                        "your answer, as you wrote it",
                        "The animal is booked already, so we cannot take it back.",
                    ),
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::OrderCancelled => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p(
                        "deposit_outcome",
                        "one sentence: what becomes of the deposit",
                        "The deposit of $150.00 is owed back.",
                    ),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::Packet => {
            const {
                &[
                    PROCESSOR,
                    DATE,
                    p("packet", "which packet it is", "packet 2"),
                    p("head", "how many head", "2 beef, 3 hog"),
                    p("sheets", "how many cut sheets", "10 cut sheets"),
                    p(
                        "changed",
                        "one sentence: whether anything changed since the packet before",
                        "What changed since packet 1 is listed on a page of its own and marked on the sheets.",
                    ),
                    p(
                        LINK.name,
                        "the private link to the plant’s page of this date, made as the mail leaves. Give it a paragraph of its own: that is left out while no public address is set",
                        "https://farm.example/p/kX2mQ9vB7tRw4yZs8uNp3dLf6hJc1gAe",
                    ),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PlantNews => {
            const {
                &[
                    PROCESSOR,
                    DATE,
                    p(
                        "entries",
                        "what was entered, a line for each",
                        "Steer 229: 389.5 + 380 = 769.5 lb, hot\nRuth Kessel: 3 boxes, 96.5 lb packaged",
                    ),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::Invoice => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    INVOICE,
                    BALANCE,
                    DUE,
                    p(
                        "what_is_due",
                        "one sentence: what to pay and by when, that nothing is due, or what you owe the customer",
                        "The balance due is $705.75. Please pay it by Thursday, October 28.",
                    ),
                    p(
                        "paying",
                        "the same sentence, and how to pay if something is due",
                        "The balance due is $705.75. Please pay it by Thursday, October 28.\nMake checks payable to Nettle Bend Farm.",
                    ),
                    HOW_TO_PAY,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::BalanceReminder => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    INVOICE,
                    p("balance", "what is still to be paid on the invoice", "$705.75"),
                    DUE,
                    p("how_late", "how it stands", "8 days past due"),
                    HOW_TO_PAY,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::BalanceFirm | Purpose::BalanceLast | Purpose::BillOfSale => balance_words::placeholders_of(purpose),
        Purpose::CreditNote => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p("credit_note", "the credit note's number", "2027-C-002"),
                    p("invoice", "the number of the invoice it cancels", "2027-014"),
                    p("amount", "the amount credited", "$855.75"),
                    REASON,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::AnimalLost => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    p("reason", "the reason you wrote down", "it died of pneumonia on September 30"),
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::PickupReady
        | Purpose::PickupNotYet
        | Purpose::PickupChosen
        | Purpose::PickupMoved
        | Purpose::PickupComing
        | Purpose::PickupMissing => super::pickup::placeholders_of(purpose),
        Purpose::Refund => {
            const {
                &[
                    CUSTOMER,
                    p("amount", "the amount paid back", "$150.00"),
                    p("date", "the day it was paid back", "Monday, October 25"),
                    p("method", "how it was paid back", "check 1042"),
                    p("refund_of", "what is paid back", "the deposit on order 2027-031"),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
    }
}
