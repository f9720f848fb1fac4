//! The lines of a proposal as the form carries them: where a share was, where it goes, and what the farmer chose instead.

use crate::actions::accept_plan::Take;
use crate::actions::place_share::Target;
use crate::actions::propose_plan::{Line, Pin};
use crate::book::ids::ReservationId;
use crate::web::look::form::FormIn;

/// The value of a select that takes a share off its place.
pub(super) const NONE: &str = "none";

fn place(target: Option<Target>) -> String {
    target.map_or_else(|| NONE.to_string(), |t| t.to_string())
}

fn read_place(text: &str) -> Option<Option<Target>> {
    if text == NONE { Some(None) } else { text.parse().ok().map(Some) }
}

/// "12_7-left_9-right_p": order, from, to, and `h` when it was put there by hand.
pub(super) fn value(line: &Line) -> String {
    let (from, to) = (place(line.from), place(line.to));
    format!("{}_{from}_{to}_{}", line.reservation, if line.pinned { "h" } else { "p" })
}

/// "12_9-right": where a share is to be held when the rest is planned again.
pub(super) fn held(line: &Line) -> String {
    format!("{}_{}", line.reservation, place(line.to))
}

/// The name of the select of one order.
pub(super) fn field(order: ReservationId) -> String {
    format!("to-{order}")
}

fn read(text: &str) -> Option<Take> {
    let mut parts = text.splitn(4, '_');
    Some(Take {
        reservation: parts.next()?.parse().ok()?,
        from: read_place(parts.next()?)?,
        to: read_place(parts.next()?)?,
        by_hand: parts.next()? == "h",
    })
}

/// What the farmer put somewhere by hand: held where it was proposed, or chosen in the select, which counts more.
pub(super) fn pins(form: &FormIn) -> Vec<Pin> {
    let mut pins: Vec<Pin> = Vec::new();
    for text in form.all("hold") {
        if let Some((order, to)) = text.split_once('_')
            && let (Ok(reservation), Some(to)) = (order.parse(), read_place(to))
        {
            pins.push(Pin { reservation, to });
        }
    }
    for take in form.all("line").iter().filter_map(|text| read(text)) {
        if let Some(to) = read_place(&form.line(&field(take.reservation))) {
            pins.retain(|p| p.reservation != take.reservation);
            pins.push(Pin { reservation: take.reservation, to });
        }
    }
    pins
}

/// What is taken: every change or those ticked, and whatever was chosen in a select. `None` when a line cannot be read.
pub(super) fn takes(form: &FormIn, all: bool) -> Option<Vec<Take>> {
    let lines: Vec<Take> = form.all("line").iter().map(|text| read(text)).collect::<Option<_>>()?;
    let ticked: Vec<Take> = form.all("take").iter().map(|text| read(text)).collect::<Option<_>>()?;
    let mut taken = Vec::new();
    for line in lines {
        let chosen = form.line(&field(line.reservation));
        let chosen = if chosen.is_empty() { None } else { Some(read_place(&chosen)?) };
        let take = match chosen {
            Some(to) if to != line.to => Take { to, by_hand: true, ..line },
            _ if all || ticked.iter().any(|t| t.reservation == line.reservation) => line,
            _ => continue,
        };
        if take.from != take.to {
            taken.push(take);
        }
    }
    Some(taken)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(body: &str) -> FormIn {
        FormIn::parse(body.as_bytes()).unwrap()
    }

    #[test]
    fn ticks_selects_and_all_are_told_apart() {
        let lines = "line=1_none_7-left_p&line=2_7-right_8-left_p&line=3_9-whole_9-whole_p&line=4_9-left_none_p";
        let moves = |body: &str, all| -> Vec<(i64, String, bool)> {
            let taken = takes(&form(body), all).unwrap();
            taken.iter().map(|t| (t.reservation.0, place(t.to), t.by_hand)).collect()
        };
        let plan = |n, to: &str| (n, to.to_string(), false);
        assert_eq!(moves(lines, true), [plan(1, "7-left"), plan(2, "8-left"), plan(4, "none")]);
        assert_eq!(moves(lines, false), []);
        let ticked = format!("{lines}&take=2_7-right_8-left_p&to-2=&to-3=8-right&to-1=none");
        // A select counts without a tick; where it says what is so already, nothing is to be done.
        assert_eq!(moves(&ticked, false), [plan(2, "8-left"), (3, "8-right".into(), true)]);
        assert_eq!(takes(&form("line=1_none_7-up_p"), true), None);
        assert_eq!(takes(&form(&format!("{lines}&to-1=somewhere")), true), None);
    }

    #[test]
    fn a_select_counts_more_than_holding() {
        let pins = pins(&form(
            "hold=1_7-left&hold=2_8-left&line=1_none_7-left_p&line=2_7-right_8-left_p&to-1=&to-2=none&hold=x",
        ));
        let read: Vec<_> = pins.iter().map(|p| (p.reservation.0, place(p.to))).collect();
        assert_eq!(read, [(1, "7-left".into()), (2, "none".into())]);
    }
}
