//! Two quarters of one side: what they agree on, what the farmer decides, and who is told.

use super::cut_sheet::{Basis, basis};
use super::queue_message::{ToSay, queue_message};
use super::sheet_time::sheet_values;
use super::{Doing, Failure};
use crate::book::conn::DbConn;
use crate::book::ids::{AnimalId, DateId, ReservationId};
use crate::book::rows::farm::Farm;
use crate::book::rows::sheets::SideDecision;
use crate::book::sides::{self, SharedSide, said};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::book::{dates, farm};
use crate::post::wording::Purpose;
use crate::trade::agree::deal::{Dealing, broken, deal};
use crate::trade::agree::panel::{Panel, panel};
use crate::trade::agree::parts::contested;
use crate::trade::agree::two::{Two, Who};
use crate::trade::agree::{Decision, Settlement};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::Refused;
use crate::trade::share::Side;
use crate::trade::weight::Weight;
use chrono::NaiveDate;

/// A shared side and how its two cut sheets are settled.
pub struct Agreed {
    /// The side.
    pub shared: SharedSide,
    /// What comes of the two sheets.
    pub settlement: Settlement,
}

impl Agreed {
    fn new(shared: SharedSide) -> Result<Self, Failure> {
        let settlement = shared.settled().map_err(Failure::Unexpected)?;
        Ok(Self { shared, settlement })
    }
    /// Whether one of the two has sent no cut sheet yet. What is open then may settle itself.
    pub fn is_waiting(&self) -> bool {
        self.shared.quarters.each().into_iter().any(|q| q.sheet.is_none())
    }
    /// What is open, a sentence for the farmer and the plant: "Left side of Steer 226: short loin, steak thickness".
    pub fn open_words(&self) -> Option<String> {
        let open: Vec<&str> = self.settlement.open().map(|i| i.name.as_str()).collect();
        (!open.is_empty()).then(|| format!("{}: {}", upper(&self.shared.name()), open.join("; ")))
    }
}

/// The shared sides of a date, settled.
///
/// # Errors
/// [`Failure::Unexpected`] when a stored sheet cannot be read.
pub fn sides_on(c: &mut DbConn, date: DateId) -> Result<Vec<Agreed>, Failure> {
    sides::on_dates(c, &[date])?.into_iter().map(Agreed::new).collect()
}

/// One shared side, settled.
///
/// # Errors
/// [`Failure::NotFound`] when no two quarters share it or the animal has no date.
pub fn side_of(c: &mut DbConn, animal: AnimalId, side: Side) -> Result<Agreed, Failure> {
    Agreed::new(sides::of(c, animal, side)?.ok_or(Failure::NotFound)?)
}

/// What the side of an order gives each quarter, by the two weights their cut sheets are made for.
///
/// # Errors
/// [`Failure::Unexpected`] when a stored sheet does not reckon.
pub fn dealt(agreed: &Agreed, of: &Two<&Basis>) -> Result<Dealing, Failure> {
    with(agreed, of, |side| deal(side, &agreed.settlement))
}

/// The side with the weight of both quarters.
fn with<T>(
    agreed: &Agreed,
    of: &Two<&Basis>,
    act: impl FnOnce(&crate::trade::agree::Side<'_>) -> Result<T, Refused>,
) -> Result<T, Failure> {
    let (first, second) = (of.first.hanging, of.second.hanging);
    let weight = Weight::from_hundredths(first.weight.hundredths().saturating_add(second.weight.hundredths()));
    let done = agreed.shared.with_trade(weight, first.unit, act);
    done.map_err(Failure::Unexpected)?.map_err(|e| Failure::Unexpected(said(e)))
}

/// What the side gives each quarter, and what the two sheets break together: each sentence once.
///
/// # Errors
/// As [`dealt`].
pub fn dealing(
    c: &mut DbConn,
    farm: &Farm,
    today: NaiveDate,
    agreed: &Agreed,
) -> Result<(Dealing, Vec<String>), Failure> {
    let of = agreed.shared.quarters.as_ref().map(|q| q.reservation);
    let (first, second) = (basis(c, farm, today, of.first)?, basis(c, farm, today, of.second)?);
    let of = Two::new(&first, &second);
    let mut says: Vec<String> = Vec::new();
    for note in with(agreed, &of, |side| broken(side, &agreed.settlement))? {
        if !says.contains(&note.why) {
            says.push(note.why);
        }
    }
    Ok((dealt(agreed, &of)?, says))
}

/// What an order's customer reads of the neighbor on the side, and of the animal's other owners about the parts there are few of;
/// empty when nobody shares it or nothing differs. No name is in it.
///
/// # Errors
/// [`Failure::Unexpected`] when a stored sheet cannot be read.
pub fn neighbor_panel(c: &mut DbConn, order: ReservationId) -> Result<Panel, Failure> {
    let Some(shared) = sides::of_order(c, order)? else {
        // Halves, forequarters and hindquarters share no block with anybody, but there is one tongue on an animal.
        let Some(owners) = sides::owners_beside(c, order)? else { return Ok(Panel::default()) };
        let all = owners.parts().map_err(Failure::Unexpected)?;
        let parts = owners.place(order).map_or_else(Vec::new, |place| contested(&all, place));
        return Ok(Panel { lines: Vec::new(), parts });
    };
    let agreed = Agreed::new(shared)?;
    Ok(agreed.shared.who(order).map_or_else(Panel::default, |who| panel(&agreed.settlement, who)))
}

/// What the farmer had before the eyes: the two orders of the side, the lower first, with the revisions of their sheets.
pub type SeenSheets = Two<(ReservationId, i64)>;

/// What was seen of a side.
pub fn seen(shared: &SharedSide) -> SeenSheets {
    shared.quarters.as_ref().map(|q| (q.reservation, q.revision()))
}

/// Decides one block of a side for the two sheets the farmer saw, and tells both customers.
///
/// # Errors
/// [`Failure::Stale`] when a sheet changed since or the side is shared otherwise; [`Failure::Refused`] when there is nothing to
/// decide.
pub fn decide_side(
    tx: &mut Tx,
    doing: &Doing,
    animal: AnimalId,
    side: Side,
    saw: SeenSheets,
    (block, decision): (&str, Decision),
) -> Result<(), Failure> {
    let shared = sides::of(tx.conn(), animal, side)?.ok_or(Failure::Stale)?;
    if seen(&shared) != saw {
        return Err(Failure::Stale);
    }
    let agreed = Agreed::new(shared)?;
    let Some(item) = agreed.settlement.items.iter().find(|i| i.id == block) else {
        return Err(Failure::refuse("", "There is nothing of that kind on this side. Look at the list again."));
    };
    if item.may.is_empty() {
        return Err(Failure::refuse("", format!("The two quarters do not differ about the {} any more.", item.name)));
    }
    if !item.may.contains(&decision) {
        let sentence =
            format!("The {} is not divided by pieces. Choose one of the two wishes or the standard cut.", item.name);
        return Err(Failure::refuse("", sentence));
    }
    write(tx, doing, &agreed, &[(block.to_string(), decision)])
}

/// Decides for the standard cut wherever something is still open on a date, and tells the customers. Returns how many things were
/// open.
///
/// # Errors
/// [`Failure::Unexpected`] when a stored sheet cannot be read.
pub fn standard_where_open(tx: &mut Tx, doing: &Doing, date: DateId) -> Result<usize, Failure> {
    let mut n: usize = 0;
    for agreed in sides_on(tx.conn(), date)? {
        let open: Vec<_> = agreed.settlement.open().map(|i| (i.id.clone(), Decision::Standard)).collect();
        if !open.is_empty() {
            n = n.saturating_add(open.len());
            write(tx, doing, &agreed, &open)?;
        }
    }
    Ok(n)
}

fn write(tx: &mut Tx, doing: &Doing, agreed: &Agreed, all: &[(String, Decision)]) -> Result<(), Failure> {
    let shared = &agreed.shared;
    let Two { first, second } = seen(shared);
    for (block, decision) in all {
        let row = SideDecision {
            animal_id: shared.animal.id,
            side: shared.side,
            block: block.clone(),
            decision: *decision,
            first_id: first.0,
            first_revision: first.1,
            second_id: second.0,
            second_revision: second.1,
            decided_at: doing.now.at,
            decided_by: doing.actor.clone(),
        };
        sides::decide(tx, &row)?;
    }
    let after = side_of(tx.conn(), shared.animal.id, shared.side)?;
    let decided: Vec<String> = after
        .settlement
        .items
        .iter()
        .filter(|i| all.iter().any(|(block, _)| *block == i.id))
        .map(|i| format!("{}: {}.", upper(&i.name), i.takes))
        .collect();
    let farm = farm::get(tx.conn())?;
    let (date, _) = dates::get(tx.conn(), shared.date)?;
    for who in Who::BOTH {
        let holder = shared.quarters.of(who);
        let values = sheet_values(tx.conn(), &farm, &date, holder.reservation)?.with("decided", decided.join("\n"));
        let (customer, reservation) = (holder.customer, Some(holder.reservation));
        let say = ToSay { customer, reservation, purpose: Purpose::SideDecided, values, attachment: None };
        queue_message(tx, doing, &say)?;
        let line = Line {
            line: format!("It was decided how the {} is cut", shared.name()),
            detail: decided.join(" "),
            reservation,
            customer: Some(customer),
            // Told once for the head and the date.
            animal: (who == Who::First).then_some(shared.animal.id),
            date: (who == Who::First).then_some(shared.date),
            ..Line::default()
        };
        stories::tell(tx, doing.now.at, &doing.actor, line)?;
    }
    Ok(())
}
