//! Sentences whose words depend on figures, so that nobody is asked to pay nothing or less.

use crate::trade::money::Money;
use chrono::NaiveDate;

/// For `{deposit_request}`: which deposit to send, or that none is needed. `missing` is what is still to come.
pub fn deposit_request(missing: Money) -> String {
    if missing.is_positive() {
        format!("Please send the deposit of {} to hold it.", missing.dollars())
    } else {
        "No deposit is needed.".to_owned()
    }
}

/// The same with the day it is due, where there is one.
pub fn deposit_request_by(missing: Money, due_on: Option<NaiveDate>) -> String {
    match due_on {
        Some(day) if missing.is_positive() => {
            format!("Please send the deposit of {} by {} to hold it.", missing.dollars(), long_date(day))
        }
        _ => deposit_request(missing),
    }
}

/// For `{what_is_due}`. `due` is the text of `{due}`, such as `by Thursday, October 28` or `before pickup`.
pub fn what_is_due(balance: Money, due: &str) -> String {
    if balance.is_positive() {
        format!("The balance due is {}. Please pay it {due}.", balance.dollars())
    } else if balance.is_zero() {
        "It is paid in full; nothing is due.".to_owned()
    } else {
        format!("You have paid {} more than it comes to, and we owe you that.", balance.negated().dollars())
    }
}

/// For `{paying}`: the sentence of [`deposit_request`] or [`what_is_due`], and how to pay when there is something to pay.
pub fn paying(sentence: &str, to_pay: Money, how_to_pay: &str) -> String {
    if to_pay.is_positive() { format!("{sentence}\n{how_to_pay}") } else { sentence.to_owned() }
}

/// For `{due}`: `by Thursday, October 28, 2027`, or `before pickup` when there is no day.
pub fn due(due_on: Option<NaiveDate>) -> String {
    due_on.map_or_else(|| "before pickup".to_owned(), |d| format!("by {}", long_date(d)))
}

/// For `{how_late}`: completes “the invoice is …”.
pub fn how_late(due_on: Option<NaiveDate>, today: NaiveDate) -> String {
    let Some(due_on) = due_on else { return "due before pickup".to_owned() };
    match today.signed_duration_since(due_on).num_days() {
        1 => "1 day past due".to_owned(),
        late if late > 1 => format!("{late} days past due"),
        0 => "due today".to_owned(),
        -1 => "due tomorrow".to_owned(),
        _ => format!("due on {}", long_date(due_on)),
    }
}

/// For `{how_to_send}`: how a customer sends a cut sheet to the farm.
pub fn how_to_send(phone: &str, mail: &str) -> String {
    match (mail.trim().is_empty(), phone.trim()) {
        (true, "") => "Tell us what you want, and we enter it for you.".to_owned(),
        (true, phone) => format!("Call {phone}, and we enter it for you."),
        (false, "") => "Answer this message, and we enter it for you.".to_owned(),
        (false, phone) => format!("Answer this message or call {phone}, and we enter it for you."),
    }
}

/// For `{if_none}`: what happens when no cut sheet comes in time.
pub fn if_no_sheet(standard: bool) -> String {
    if standard {
        "If none comes by then, we enter the standard cut for you and tell you so."
    } else {
        "Nothing can be cut without one, so we will call you if none comes."
    }
    .to_owned()
}

/// `Thursday, October 14, 2027`.
pub fn long_date(day: NaiveDate) -> String {
    day.format("%A, %B %-d, %Y").to_string()
}

/// For `{signature}`: the lines that are filled in, without repeating one.
pub fn signature(contact_name: &str, farm: &str, phone: &str, mail: &str) -> String {
    let mut lines: Vec<&str> = Vec::new();
    for line in [contact_name, farm, phone, mail] {
        let line = line.trim();
        if !line.is_empty() && !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines.join("\n")
}

/// For `{how_to_pay}`: payee, where to post a check, and any other words, as far as Settings has them.
pub fn how_to_pay(farm: &str, payee: &str, pay_address: &str, pay_words: &str) -> String {
    let payee = if payee.trim().is_empty() { farm.trim() } else { payee.trim() };
    let address = pay_address.lines().map(str::trim).filter(|l| !l.is_empty()).collect::<Vec<_>>().join(", ");
    let mut text = if address.is_empty() {
        format!("Make checks payable to {payee}.")
    } else {
        format!("Make checks payable to {payee} and send them to {address}.")
    };
    if !pay_words.trim().is_empty() {
        text.push('\n');
        text.push_str(pay_words.trim());
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(y: i32, m: u32, d: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(y, m, d).unwrap()
    }

    #[test]
    fn nobody_is_asked_to_pay_nothing() {
        let due = due(Some(day(2027, 10, 28)));
        assert_eq!(
            what_is_due(Money::from_cents(47050), &due),
            "The balance due is $470.50. Please pay it by Thursday, October 28, 2027."
        );
        assert_eq!(what_is_due(Money::ZERO, &due), "It is paid in full; nothing is due.");
        assert_eq!(
            what_is_due(Money::from_cents(-1200), &due),
            "You have paid $12.00 more than it comes to, and we owe you that."
        );
        assert_eq!(paying("Paid.", Money::ZERO, "Make checks payable to us."), "Paid.");
        assert_eq!(
            paying("Pay.", Money::from_cents(1), "Make checks payable to us."),
            "Pay.\nMake checks payable to us."
        );
        let by = Some(day(2027, 10, 28));
        assert_eq!(
            deposit_request_by(Money::from_cents(15000), by),
            "Please send the deposit of $150.00 by Thursday, October 28, 2027 to hold it."
        );
        assert_eq!(deposit_request_by(Money::ZERO, by), "No deposit is needed.");
        assert_eq!(deposit_request(Money::ZERO), "No deposit is needed.");
        assert_eq!(deposit_request(Money::from_cents(15000)), "Please send the deposit of $150.00 to hold it.");
    }

    #[test]
    fn lateness_counts_days() {
        let due_on = Some(day(2027, 2, 27));
        for (today, words) in [
            (day(2027, 2, 25), "due on Saturday, February 27, 2027"),
            (day(2027, 2, 26), "due tomorrow"),
            (day(2027, 2, 27), "due today"),
            (day(2027, 2, 28), "1 day past due"),
            (day(2027, 3, 2), "3 days past due"),
        ] {
            assert_eq!(how_late(due_on, today), words);
        }
        assert_eq!(how_late(None, day(2027, 3, 2)), "due before pickup");
    }

    #[test]
    fn what_settings_lack_leaves_no_hole() {
        assert_eq!(signature("", "Nettle Bend Farm", " ", "a@b.example"), "Nettle Bend Farm\na@b.example");
        assert_eq!(signature("Ada Moen", "Ada Moen", "", ""), "Ada Moen");
        assert_eq!(how_to_pay("Nettle Bend Farm", "", "", ""), "Make checks payable to Nettle Bend Farm.");
        assert_eq!(
            how_to_pay("F", "A. Moen", "12 River Road\nElm Fork", "Or cash at pickup."),
            "Make checks payable to A. Moen and send them to 12 River Road, Elm Fork.\nOr cash at pickup."
        );
    }
}
