//! Outgoing mail: what messages say, how they are wrapped, how they leave, and what is handed over by hand.
//!
//! | file | what is in it |
//! |---|---|
//! | [`wording`] | the messages' words with named placeholders, checked when saved, filled in when used |
//! | [`placeholders`] | which placeholder can be used in which message, and what it stands for |
//! | [`defaults`] | the words a farm starts with |
//! | [`balance_words`] | words and placeholders of the letters about overdue balances, and of the bill of sale's message |
//! | [`pickup`] | the same for messages about collecting the meat, and the note on handling it safely |
//! | [`phrases`] | the sentences that depend on figures: what is due, how late it is |
//! | [`private_link`] | the place in a message where the customer's private link goes |
//! | `request_words` | words and placeholders of the messages about requests |
//! | [`envelope`] | a message as RFC 5322 bytes, the same every time |
//! | [`smtp`] | sending to a mail server, and what a refusal means |
//! | [`calendar`] | calendars as RFC 5545 text: the farm’s feed, and the event that goes with a mail |
//! | [`by_hand`] | text messages sent from the farmer's own phone |

pub mod balance_words;
pub mod by_hand;
pub mod calendar;
pub mod defaults;
pub mod envelope;
pub mod phrases;
pub mod pickup;
pub mod placeholders;
pub mod private_link;
mod request_words;
pub mod smtp;
pub mod wording;
