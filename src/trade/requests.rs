//! Requests of strangers to reserve a share: who accepts, and what becomes of one that comes in.

crate::words! {
    /// Whether strangers may ask for a share on the farm's page, and who accepts.
    pub enum Requests {
        /// Nobody may ask.
        Off = "off", "Nobody can ask there";
        /// The farmer answers each.
        ByHand = "by_hand", "You answer each request";
        /// A request is accepted by itself while shares last.
        Automatic = "automatic", "A request is accepted by itself while shares last, then it goes to the waiting list";
    }
}

crate::words! {
    /// What became of a request.
    pub enum RequestEnd {
        /// It is an order now.
        Accepted = "accepted", "accepted";
        /// The farm said no.
        Declined = "declined", "declined";
    }
}

/// How long a mail address can be confirmed, in hours.
pub const CONFIRM_HOURS: i64 = 48;
/// The most requests of one mail address that wait to be confirmed or answered.
pub const MOST_OF_ONE: i64 = 3;
/// The most requests in the book that wait to be confirmed.
pub const MOST_UNCONFIRMED: i64 = 200;

/// What is known of a confirmed request when it is to be decided without the farmer.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Whether the price and deposit are still those that the page showed.
    pub same_price: bool,
    /// Whether a head has room for it.
    pub fits: bool,
    /// Whether others wait for a share of the same offering.
    pub others_wait: bool,
}

/// Whether a confirmed request becomes an order by itself. One that finds no room does too: it goes to the waiting list. A price that
/// changed, and a share that came free while others wait for one, are for the farmer to decide.
pub fn is_accepted_by_itself(how: Requests, asked: Asked) -> bool {
    how == Requests::Automatic && asked.same_price && (!asked.fits || !asked.others_wait)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_is_plain_is_accepted_by_itself() {
        let asked = |same_price, fits, others_wait| Asked { same_price, fits, others_wait };
        for (what, by_itself) in [
            (asked(true, true, false), true),
            (asked(true, false, false), true),
            (asked(true, false, true), true),
            (asked(true, true, true), false),
            (asked(false, true, false), false),
            (asked(false, false, false), false),
        ] {
            assert_eq!(is_accepted_by_itself(Requests::Automatic, what), by_itself, "{what:?}");
            assert!(!is_accepted_by_itself(Requests::ByHand, what), "{what:?}");
            assert!(!is_accepted_by_itself(Requests::Off, what), "switched off since it was asked: {what:?}");
        }
    }
}
