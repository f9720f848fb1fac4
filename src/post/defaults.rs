//! The words a farm starts with: one subject, one message and one short text message for each purpose.

use super::balance_words;
use super::request_words;
use super::wording::{Purpose, Wording};

/// The default wording of one purpose.
pub fn default_wording(purpose: Purpose) -> Wording {
    let (subject, body, short) = words_of(purpose);
    Wording { subject: subject.to_owned(), body: body.to_owned(), short: short.to_owned() }
}

const fn words_of(purpose: Purpose) -> (&'static str, &'static str, &'static str) {
    match purpose {
        Purpose::DepositReceipt => (
            "Deposit received for order {order}",
            "Hello {customer},

Thank you. Your deposit of {amount} for order {order} ({share}) reached us on {date}.

Receipt {receipt} comes with this message. The deposit is taken off your invoice.

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, your deposit of {amount} for order {order} ({share}) reached us on {date}. Receipt {receipt}. Thank you. {farm}",
        ),
        Purpose::PaymentReceipt => (
            "Payment received, receipt {receipt}",
            "Hello {customer},

Thank you. Your payment of {amount} reached us on {date}. It went to {applied_to}.

Still to be paid: {balance}.

Receipt {receipt} comes with this message.

{signature}",
            "Hello {customer}, your payment of {amount} reached us on {date}, for {applied_to}. Still to be paid: {balance}. Receipt {receipt}. Thank you. {farm}",
        ),
        Purpose::ReservationConfirmed => (
            "Your order {order}: {share}",
            "Hello {customer},

Thank you for your order. A {share} is set aside for you.

Order: {order}
Share: {share} ({offering})
Price: {price}

The price is locked; it stays the same for this order. What you pay in the end depends on the weight, which is known only after slaughter.

{paying}

{pickup_rules}

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, a {share} is set aside for you, order {order}, at {price}. {deposit_request} {farm}",
        ),
        Purpose::RequestConfirm
        | Purpose::RequestAccepted
        | Purpose::RequestWaiting
        | Purpose::RequestDeclined => request_words::words_of(purpose),
        Purpose::MovedUp => (
            "A share came free: {share}, order {order}",
            "Hello {customer},

Good news. You were on our waiting list, and a share came free. A {share} is now set aside for you.

Order: {order}
Share: {share} ({offering})
Price: {price}

{paying}

If you no longer want it, please tell us soon, so that the next person on the list can have it.

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, a share came free: a {share} is now set aside for you, order {order}. {deposit_request} If you no longer want it, please tell us soon. {farm}",
        ),
        Purpose::WaitingOffer => (
            "A {share} for you, order {order}: answer by {answer_by}",
            "Hello {customer},

You are on our waiting list, and a share is left: a {share} ({offering}). We hold it for you through {answer_by}.

Order: {order}
Price: {price}, as locked when you ordered
Deposit: {deposit}

Please tell us yes or no by {answer_by}. Without an answer it goes to the next person on the list, and you stay on it.

The offer is on your private page too, with everything about your order:
{link}

{signature}",
            "Hello {customer}, a {share} is left for you, order {order}, at {price}. We hold it through {answer_by}. Please tell us yes or no by then. {farm}",
        ),
        Purpose::SharesLeft => (
            "We have shares left: {left}",
            "Hello {customer},

You bought from us before, so you hear of it early. We still have: {left}.

Price: {price}
To be sold by {sell_by}.

If you would like one, answer this message or call us. First come, first served. If you would rather not hear of it, tell us, and we will not write again.

{signature}",
            "Hello {customer}, we still have: {left}, at {price}, to be sold by {sell_by}. If you would like one, call us. {farm}",
        ),
        Purpose::DateAssigned => (
            "Processing date for order {order}: {date}",
            "Hello {customer},

The animal for your order {order} ({share}) has its date.

Processing date: {date}
Processor: {processor}
Expected pickup: {pickup}

The pickup time is what we expect, not a promise. We will write again if it changes.

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, your {share} (order {order}) goes to {processor} on {date}. Expected pickup: {pickup}. {farm}",
        ),
        Purpose::PlaceChanged => (
            "When your share is processed",
            "Hello {customer},

We have planned which animal and which day each share goes to. For you:

{changes}

If a day does not suit you, please tell us soon. Your price stays as it is. If you sent us a cut sheet, it stays with your order.

{signature}",
            "Hello {customer}, we planned our dates. {changes} If a day does not suit you, tell us soon. {farm}",
        ),
        Purpose::SheetReminder => (
            "Cut sheet for your {share}, due {sheets_due}",
            "Hello {customer},

Your {share}, order {order}, goes to {processor} on {date}. How it is cut is up to you, and your cut sheet is not here yet.

Please let us have it by the end of {sheets_due}.
{how_to_send}

{if_none}

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, your cut sheet for your {share} (order {order}) is due {sheets_due}. {how_to_send} {farm}",
        ),
        Purpose::SheetStandard => (
            "Standard cut for your {share}, order {order}",
            "Hello {customer},

No cut sheet came for your {share}, order {order}, by {sheets_due}. The processor has to plan, so we have entered the standard cut for you.

Processing date: {date}
Processor: {processor}

If you want something else, tell us soon. We will ask whether it can still be done; that is not certain any more.

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, no cut sheet came for your {share} (order {order}) by {sheets_due}, so we entered the standard cut. If you want something else, tell us soon. {farm}",
        ),
        Purpose::SheetTaken => (
            "Your change is in the cut sheet, order {order}",
            "Hello {customer},

We have put the change you asked for into the cut sheet of your {share}, order {order}.

{changes}

Processing date: {date}
Processor: {processor}

{signature}",
            "Hello {customer}, the change you asked for is in the cut sheet of your {share}, order {order}. {farm}",
        ),
        Purpose::SideDecided => (
            "How your side is cut, order {order}",
            "Hello {customer},

Your {share}, order {order}, is half of one side, and the side is cut as one. You and your neighbor on it wished different things, so we have decided:

{decided}

Everything else stays as your cut sheet says. If that is not right for you, tell us soon.

Processing date: {date}
Processor: {processor}

{signature}",
            "Hello {customer}, your neighbor on the side of your {share} wished otherwise, so we decided: {decided} {farm}",
        ),
        Purpose::SheetRefused => (
            "The cut sheet of order {order} stays as it is",
            "Hello {customer},

You asked for a change to the cut sheet of your {share}, order {order}. It cannot be done any more, so the sheet stays as it is.

{reason}

You asked for:
{changes}

{signature}",
            "Hello {customer}, the change to the cut sheet of your {share}, order {order}, cannot be done any more; it stays as it is. {farm}",
        ),
        Purpose::PrivateLink => (
            "Your private link to order {order}",
            "Hello {customer},

This is the private link to your order {order} ({share}):
{link}

It shows how the order stands, what it will cost and what comes next. Whoever has it can see your order, so please keep it to yourself. If it was lost or somebody else may have it, tell us, and we make a new one.

{signature}",
            "Hello {customer}, ask us for the private link to your order {order} ({share}). {farm}",
        ),
        Purpose::ContactChanged => (
            "Your mail address was changed",
            "Hello {customer},

The mail address of your order {order} ({share}) was just changed on your private page. From now on we write to the new address, and not to this one any more.

If that was not you, please tell us at once: then somebody else has your private link, and we make it stop working.

{signature}",
            "Hello {customer}, the mail address of your order {order} was changed on your private page. If that was not you, please tell us at once. {farm}",
        ),
        Purpose::CancelStays => (
            "Your order {order} stays",
            "Hello {customer},

You asked to cancel your order {order} ({share}). Our answer:

{answer}

The order stays as it is. If you would like to talk about it, call us or answer this message.

{signature}",
            "Hello {customer}, you asked to cancel your order {order} ({share}). It stays as it is; please call us. {farm}",
        ),
        Purpose::OrderCancelled => (
            "Your order {order} is canceled",
            "Hello {customer},

As you asked, we have canceled your order {order} ({share}).

{deposit_outcome}

The private link to the order does not work any more. If something is not right, please tell us.

{signature}",
            "Hello {customer}, as you asked, your order {order} ({share}) is canceled. {deposit_outcome} {farm}",
        ),
        Purpose::Packet => (
            "Cut sheets for {date}, {packet}",
            "Hello {processor},

Here are our cut sheets for {date}: {packet}, with {head} and {sheets}.

{changed}

Here you can say that you have it, and enter hanging weights, boxes, and the day everything is ready. The link is for this date only:
{link}

Or write the hanging weights on the last page, and send it back or call us.

{signature}",
            "Hello {processor}, our cut sheets for {date} are ready: {packet}, with {head} and {sheets}. {changed} {farm}",
        ),
        Purpose::PlantNews => (
            "{processor} entered something for {date}",
            "{processor} entered for {date}:

{entries}

It waits on the page of the date. Nothing of it is billed before you take it into the book.

{signature}",
            "{processor} entered something for {date}. It waits on the page of the date. {farm}",
        ),
        Purpose::Invoice => (
            "Invoice {invoice} for your {share}",
            "Hello {customer},

Your {share}, order {order}, has been weighed. Invoice {invoice} comes with this message. It shows every weight and price, so that you can redo the sum.

{paying}

If something does not look right, please tell us before you pay.

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, invoice {invoice} for your {share}: {what_is_due} Ask us if something does not look right. {farm}",
        ),
        Purpose::BalanceReminder => (
            "Invoice {invoice} is {how_late}",
            "Hello {customer},

This is a reminder of invoice {invoice} for your {share}, order {order}. It is {how_late}.

Still to be paid: {balance}
{how_to_pay}

If your payment is on its way, thank you, and please disregard this message. If you need more time, talk to us.

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, invoice {invoice} for your {share} is {how_late}. Still to be paid: {balance}. If it is on its way, thank you. {farm}",
        ),
        Purpose::BalanceFirm | Purpose::BalanceLast | Purpose::BillOfSale => balance_words::words_of(purpose),
        Purpose::CreditNote => (
            "Credit note {credit_note} for invoice {invoice}",
            "Hello {customer},

We have canceled invoice {invoice} for your {share}, order {order}. Credit note {credit_note} over {amount} comes with this message.

Reason: {reason}

You need not pay the canceled invoice. What you have paid already is not lost; ask us if you want to know where it stands.

{signature}",
            "Hello {customer}, we have canceled invoice {invoice} for your {share}: credit note {credit_note} over {amount}. You need not pay that invoice. {farm}",
        ),
        Purpose::AnimalLost => (
            "About your order {order}",
            "Hello {customer},

We are sorry to tell you that we lost the animal your {share} was to come from.

Your order {order} stands, and what you have paid is kept for you. Nothing is billed for this animal. We are looking for another one for you and will write again as soon as we know.

If you would rather not wait, please tell us, and we will talk about your order and your deposit.

{signature}",
            "Hello {customer}, we are sorry: we lost the animal for your {share} (order {order}). Your order stands and nothing is billed for it. We will tell you when we have another one, or call us. {farm}",
        ),
        Purpose::PickupReady
        | Purpose::PickupNotYet
        | Purpose::PickupChosen
        | Purpose::PickupMoved
        | Purpose::PickupComing
        | Purpose::PickupMissing => super::pickup::words_of(purpose),
        Purpose::Refund => (
            "We have paid back {amount}",
            "Hello {customer},

We have paid back {amount} to you on {date} by {method}: {refund_of}.

Please tell us if it does not reach you within two weeks.

{signature}",
            "Hello {customer}, we have paid back {amount} to you on {date} by {method}: {refund_of}. {farm}",
        ),
    }
}
