//! Today's lines about processors: what they entered, and packets they did not acknowledge.

use super::lines::{Act, Line};
use crate::book::at::Now;
use crate::book::dates::DateDue;
use crate::book::plant_entries::Unacknowledged;
use crate::trade::dates::{long, near, short};
use crate::web::look::capital;
use crate::web::look::parts::{Link, Standing};
use crate::web::look::words::counted;

pub(super) fn entered(d: &DateDue, now: Now) -> Line {
    let n = usize::try_from(d.count).unwrap_or(0);
    let href = format!("/dates/{}/plant", d.date);
    Line {
        when: Standing::todo("To look over"),
        what: Link::new(href.clone(), capital(&counted(n, "entry of the plant waits", "entries of the plant wait"))),
        why: format!(
            "{}, slaughter on {}. Nothing of it is billed before you take it.",
            d.processor,
            long(d.kill_on, now.today)
        ),
        act: Act::Go(Link::new(href, format!("Look at the entries of {}", short(d.kill_on, now.today)))),
    }
}

pub(super) fn unacknowledged(u: &Unacknowledged, now: Now) -> Line {
    Line {
        when: Standing::todo(format!("Since {}", short(u.sent_at.day(now.zone), now.today))),
        what: Link::new(
            format!("/dates/{}/packet", u.date),
            format!("{} has not said that packet {} is there", u.processor, u.number),
        ),
        why: format!(
            "Sent {} for {}. Call, or send the link again.",
            near(u.sent_at.day(now.zone), now.today),
            long(u.kill_on, now.today)
        ),
        act: Act::Go(Link::new(
            format!("/dates/{}/plant/link", u.date),
            format!("Show a link for {}", short(u.kill_on, now.today)),
        )),
    }
}
