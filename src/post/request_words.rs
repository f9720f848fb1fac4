//! The words of the messages about requests from the farm's page, and what can stand in them.

use super::placeholders::{
    CUSTOMER, DEPOSIT, DEPOSIT_REQUEST, FARM, HOW_TO_PAY, LINK, OFFERING, ORDER, PRICE, Placeholder, REFERENCE, SHARE,
    SIGNATURE, p,
};
use super::wording::Purpose;

const PRICE_SAYS: Placeholder = p(
    "price_says",
    "whether the price is the one that your page showed when it was asked for, and whether the sum depends on the weight",
    "That is the price our page showed when you asked. It is locked now. What you pay in the end depends on the weight, which is known only when the animal is weighed.",
);
/// The placeholders of a message about a request; none for other purposes.
pub(super) const fn placeholders_of(purpose: Purpose) -> &'static [Placeholder] {
    match purpose {
        Purpose::RequestConfirm => {
            const {
                &[
                    SHARE,
                    OFFERING,
                    PRICE,
                    p("hours", "how many hours the link is good", "48"),
                    p(
                        "link",
                        "the link that confirms the address, made as the mail leaves. Give it a paragraph of its own",
                        "https://farm.example/farm/confirm/kX2mQ9vB7tRw4yZs8uNp3dLf6hJc1gAe",
                    ),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::RequestDeclined => {
            const {
                &[
                    CUSTOMER,
                    SHARE,
                    OFFERING,
                    p("answer", "your answer, as you wrote it", "All our beef for this fall is spoken for by now."),
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::RequestWaiting => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    SHARE,
                    OFFERING,
                    PRICE,
                    PRICE_SAYS,
                    DEPOSIT,
                    p("in_line", "how many are on the waiting list, this order the last of them", "3"),
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        Purpose::RequestAccepted => {
            const {
                &[
                    CUSTOMER,
                    ORDER,
                    REFERENCE,
                    SHARE,
                    OFFERING,
                    PRICE,
                    PRICE_SAYS,
                    DEPOSIT,
                    DEPOSIT_REQUEST,
                    p(
                        "paying",
                        "which deposit to send, by when and how, with the payment reference; or that none is needed",
                        "Please send the deposit of $150.00 by Thursday, October 28, 2027 to hold it.\nMake checks payable to Nettle Bend Farm.\nPlease write the payment reference 2027-031-6 on it.",
                    ),
                    HOW_TO_PAY,
                    LINK,
                    FARM,
                    SIGNATURE,
                ]
            }
        }
        _ => const { &[] },
    }
}

/// The words a farm starts with: subject, message, text message; those of other purposes stand in `defaults`.
pub(super) const fn words_of(purpose: Purpose) -> (&'static str, &'static str, &'static str) {
    match purpose {
        Purpose::RequestConfirm => (
            "Confirm your request to {farm}",
            "Hello,

somebody, most likely you, asked us for a {share} ({offering}) and gave this mail address.

Confirm it here within {hours} hours, and we have your request:
{link}

If it was not you, do nothing: then we forget it, and you hear no more of it.

{signature}",
            "Somebody asked us for a {share} and gave this address. Confirm it by the link in our mail. {farm}",
        ),
        Purpose::RequestAccepted => (
            "Your order {order}: {share}",
            "Hello {customer},

Good news: you have your share. A {share} is set aside for you.

Order: {order}
Share: {share} ({offering})
Price: {price}

{price_says}

{paying}

The confirmation comes with this message, with our terms.

How your order stands, what it will cost and what comes next is on your private page:
{link}

{signature}",
            "Hello {customer}, a {share} is set aside for you, order {order}, at {price}. {deposit_request} {farm}",
        ),
        Purpose::RequestWaiting => (
            "You are on our waiting list: {share}",
            "Hello {customer},

Thank you for your request. The last share went before it reached us, so you are on our waiting list for a {share} ({offering}). On the list: {in_line}, and you are the last of them.

Order: {order}
Price: {price}, if a share comes free

{price_says}

There is nothing to pay now. We write to you as soon as a share comes free. If you would rather not wait, tell us.

How it stands is on your private page:
{link}

{signature}",
            "Hello {customer}, no share is left, so you are on our waiting list for a {share}, order {order}. Nothing is to be paid now. {farm}",
        ),
        Purpose::RequestDeclined => (
            "Your request for a {share}",
            "Hello {customer},

thank you for asking us for a {share} ({offering}). We cannot take your request.

{answer}

{signature}",
            "Hello {customer}, we cannot take your request for a {share}. {answer} {farm}",
        ),
        _ => ("", "", ""),
    }
}
