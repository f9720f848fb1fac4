//! Reservations of a list, with the deposits that stand in their lines.

use super::carry::{Fate, Preview};
use super::people::{Found, Known};
use crate::actions::add_customer::CustomerIn;
use crate::actions::record_deposit::{MoneyIn, record_deposit};
use crate::actions::take_reservation::{Agreed, Shelf, TakeReservation, Who, take_off};
use crate::actions::{Doing, Failure};
use crate::book::at::At;
use crate::book::ids::{CustomerId, OfferingId, ReservationId};
use crate::book::imports;
use crate::book::rows::selling::Offering;
use crate::book::store::Tx;
use crate::trade::dates::full;
use crate::trade::fold::fold;
use crate::trade::import_file::{Claim, DepositIn};
use crate::trade::share::{Part, Size, sold_as};
use crate::trade::vocabulary::QuarterPart;
use chrono::{NaiveDate, NaiveTime};
use std::collections::HashMap;

/// Of several offerings so many are named.
const NAMED: usize = 4;

/// How many reservations there are of one customer for one share.
type There = HashMap<(CustomerId, OfferingId, Size, Option<Part>), usize>;

/// Takes those that are not there, in order of their days, so that who came first is served first. As many as the book has of one
/// customer, offering and share are there already; two lines of the list are two reservations.
pub(super) fn carry(
    tx: &mut Tx,
    doing: &Doing,
    all: &mut Preview,
    mut lines: Vec<(usize, &Claim)>,
) -> Result<(), Failure> {
    let mut known = Known::read(tx.conn())?;
    let shop: Vec<Named> = imports::offerings(tx.conn())?.into_iter().map(named).collect();
    let mut there = There::new();
    for claim in imports::claims(tx.conn())? {
        let n = there.entry(claim).or_default();
        *n = n.saturating_add(1);
    }
    let mut shelf = Shelf::default();
    lines.sort_by_key(|(line, claim)| (claim.taken_on.unwrap_or(doing.now.today), *line));
    for (place, (line, claim)) in lines.into_iter().enumerate() {
        let name = if claim.who.name.is_empty() { claim.who.mail.clone() } else { claim.who.name.clone() };
        if claim.cancelled {
            all.row(line, Fate::LeftOut, format!("A {} for {name}", claim.size.label()), "It is cancelled.");
            continue;
        }
        let offering = match offering(&shop, claim) {
            Ok(offering) => offering,
            Err(says) => {
                all.fault(line, says);
                continue;
            }
        };
        if offering.quarter_part == QuarterPart::Split && matches!(claim.part, Some(Part::Fore | Part::Hind)) {
            let says = "This offering divides quarters evenly and sells no forequarter or hindquarter. Write “quarter”, or the other offering.";
            all.fault(line, says);
            continue;
        }
        let (who, name, is_new) = match known.find(&claim.who) {
            Found::One(id, name) => (Who::Known(id), name, false),
            Found::Several(n) => {
                all.fault(
                    line,
                    format!("{n} customers could be meant. Write the mail address or the phone of the one."),
                );
                continue;
            }
            Found::Nobody if claim.who.name.is_empty() => {
                all.fault(
                    line,
                    format!("Nobody in the book has the mail address {name}. Write the name too, or correct it."),
                );
                continue;
            }
            Found::Nobody => {
                let (name, mail, phone) = (claim.who.name.clone(), claim.who.mail.clone(), claim.who.phone.clone());
                (Who::New(CustomerIn { name: name.clone(), mail, phone, ..CustomerIn::default() }), name, true)
            }
        };
        let what = format!("{}, {}, for {name}", sold_as(claim.size, claim.part, offering.species), offering.season);
        if let Who::Known(id) = who
            && is_there(&mut there, (id, offering, claim))
        {
            all.row(line, Fate::There, what, "Nothing is changed.");
            continue;
        }
        let Some(agreed) = agreed(doing, all, line, claim, place) else { continue };
        let input = TakeReservation {
            who,
            offering: offering.id,
            size: claim.size,
            part: claim.part,
            wishes: claim.wishes.clone(),
            preferred_date: None,
        };
        let taken = take_off(tx, doing, &input, Some(agreed), &mut shelf);
        let Some(taken) = all.done(line, taken)? else { continue };
        if is_new {
            known.add(taken.customer, &claim.who.name, &claim.who.mail, &claim.who.phone);
        }
        let mut detail = vec![format!("Taken {}", full(agreed.on))];
        if is_new {
            detail.push("a new customer".into());
        }
        if taken.waits {
            detail.push("on the waiting list".into());
        }
        if let Some(paid) = &claim.deposit
            && !deposit(tx, doing, all, line, taken.id, paid, agreed.on, &mut detail)?
        {
            continue;
        }
        all.row(line, Fate::New, what, detail.join("; "));
    }
    Ok(())
}

/// Whether the book has one more of these, which is counted off.
fn is_there(there: &mut There, (id, o, claim): (CustomerId, &Offering, &Claim)) -> bool {
    // A quarter's part is decided by the offering; the list may not say it.
    let parts = match claim.size {
        Size::Quarter => vec![claim.part, Some(Part::Split)],
        Size::Whole | Size::Half => vec![None],
    };
    for part in parts {
        if let Some(n) = there.get_mut(&(id, o.id, claim.size, part)).filter(|n| **n > 0) {
            *n = n.saturating_sub(1);
            return true;
        }
    }
    false
}

/// An offering with the words it is found by.
struct Named {
    offering: Offering,
    season: String,
    /// The words of its season, sorted, and the same with the species.
    words: Vec<String>,
    whole: Vec<String>,
}

/// The words of a text, sorted: order and signs do not count.
fn sorted_words(text: &str) -> Vec<String> {
    let folded = fold(text);
    let mut all: Vec<String> =
        folded.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(String::from).collect();
    all.sort_unstable();
    all
}

fn named(offering: Offering) -> Named {
    Named {
        season: fold(&offering.season),
        words: sorted_words(&offering.season),
        whole: sorted_words(&format!("{} {}", offering.species.label(), offering.season)),
        offering,
    }
}

const fn sells(o: &Offering, size: Size) -> bool {
    match size {
        Size::Whole => o.sells_whole,
        Size::Half => o.sells_half,
        Size::Quarter => o.sells_quarter,
    }
}

/// The offering that is meant: by species, season and quarters, or by the words of one column; the only open one where nothing is
/// said. Of several those count that sell the share.
fn offering<'a>(shop: &'a [Named], claim: &Claim) -> Result<&'a Offering, String> {
    let (said, season) = (sorted_words(&claim.offering), fold(&claim.season));
    let fits = |n: &&Named| {
        claim.species.is_none_or(|s| s == n.offering.species)
            && (season.is_empty() || season == n.season)
            && claim.quarters.is_none_or(|q| q == n.offering.quarter_part)
            && (said.is_empty() || said == n.whole || said == n.words)
    };
    let found: Vec<&Offering> = shop.iter().filter(fits).map(|n| &n.offering).collect();
    let open: Vec<&Offering> = found.iter().copied().filter(|o| o.closed_at.is_none()).collect();
    let own_quarter = matches!(claim.part, Some(Part::Fore | Part::Hind));
    let divided =
        |o: &&Offering| claim.size != Size::Quarter || (o.quarter_part == QuarterPart::ForeHind) == own_quarter;
    let selling: Vec<&Offering> = open.iter().copied().filter(|o| sells(o, claim.size)).filter(divided).collect();
    let asked = [claim.species.map_or("", |s| s.label()), claim.season.as_str(), claim.offering.as_str()];
    let asked = asked.into_iter().filter(|a| !a.is_empty()).collect::<Vec<_>>().join(" ");
    match (open.as_slice(), found.as_slice(), selling.as_slice()) {
        ([one], ..) | ([], [one], _) | (_, _, [one]) => Ok(one),
        ([], [], _) if asked.is_empty() => {
            Err("Nothing is for sale yet. Put it up for sale, or take its list first.".into())
        }
        ([], [], _) => Err(format!(
            "Nothing for sale is called “{asked}”. Put it up for sale first, or write species and season as they stand under For sale."
        )),
        (several, closed, _) => {
            let shown = if several.is_empty() { closed } else { several };
            let name = |o: &&Offering| format!("{} {} ({})", o.species.label(), o.season, o.quarter_part.label());
            let names: Vec<String> = shown.iter().take(NAMED).map(name).collect();
            Err(format!(
                "Several offerings fit this line: {}. Write species, season and quarters as they stand under For sale.",
                names.join("; ")
            ))
        }
    }
}

/// When and for how much it was agreed; none after a fault. Those of one day count in the order of the list.
fn agreed(doing: &Doing, all: &mut Preview, line: usize, claim: &Claim, place: usize) -> Option<Agreed> {
    let on = claim.taken_on.unwrap_or(doing.now.today);
    if on > doing.now.today {
        all.fault(line, format!("{} is still to come. Write the day the reservation was taken.", full(on)));
        return None;
    }
    let begins = At::local(on.and_time(NaiveTime::MIN), doing.now.zone);
    let at = begins.0.saturating_add(i64::try_from(place).unwrap_or(0)).min(doing.now.at.0);
    Some(Agreed { on, at: At(at), price: claim.price, waits: claim.waits })
}

fn deposit(
    tx: &mut Tx,
    doing: &Doing,
    all: &mut Preview,
    line: usize,
    id: ReservationId,
    paid: &DepositIn,
    taken_on: NaiveDate,
    detail: &mut Vec<String>,
) -> Result<bool, Failure> {
    let money = MoneyIn {
        method: paid.method,
        amount: paid.amount,
        received_on: paid.on.unwrap_or(taken_on),
        reference: paid.reference.clone(),
        note: String::new(),
    };
    let recorded = record_deposit(tx, doing, id, &money, false);
    if all.done(line, recorded)?.is_none() {
        return Ok(false);
    }
    detail.push(format!(
        "deposit of {}, {}, on {}",
        paid.amount.dollars(),
        paid.method.label().to_lowercase(),
        full(money.received_on)
    ));
    Ok(true)
}
