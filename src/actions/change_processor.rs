//! Adding a processor, changing what is known of it, and its schedule of charges.

use super::{Doing, Failure, Problems};
use crate::book::ids::{ChargeId, ProcessorId};
use crate::book::plants;
use crate::book::rows::plants::{NewProcessor, NewProcessorCharge, Processor, ProcessorCharge};
use crate::book::store::Tx;
use crate::book::stories::{self, Line};
use crate::trade::cuts::offer::Service;
use crate::trade::money::{Money, Percent, Rate};
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{BilledBy, Inspection, Per};
use crate::trade::weight::Weight;

/// What is known of a processor.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ProcessorFacts {
    /// Its name.
    pub name: String,
    /// As on an envelope.
    pub address: String,
    /// Telephone number, or empty.
    pub phone: String,
    /// Mail address, or empty.
    pub mail: String,
    /// Custom-exempt, state or federal.
    pub inspection: Inspection,
    /// Days' notice it wants; 0 to 365.
    pub days_notice: i64,
    /// The farm's own notes.
    pub notes: String,
}

/// Adds a processor.
///
/// # Errors
/// [`Failure::Refused`] when one of that name is in use.
pub fn add_processor(tx: &mut Tx, doing: &Doing, facts: &ProcessorFacts) -> Result<ProcessorId, Failure> {
    only_one_of_that_name(tx, &facts.name, None)?;
    let f = facts.clone();
    let id = plants::add(
        tx,
        &NewProcessor {
            name: f.name,
            address: f.address,
            phone: f.phone,
            mail: f.mail,
            inspection: f.inspection,
            days_notice: f.days_notice,
            notes: f.notes,
            retired_at: None,
            created_at: doing.now.at,
        },
    )?;
    tell(tx, doing, format!("The processor {} was added", facts.name))?;
    Ok(id)
}

/// Changes what is known of a processor.
///
/// # Errors
/// [`Failure::Stale`] when somebody saved in between; [`Failure::Refused`] when another one has that name.
pub fn change_processor(
    tx: &mut Tx,
    doing: &Doing,
    id: ProcessorId,
    version: i64,
    facts: &ProcessorFacts,
) -> Result<(), Failure> {
    only_one_of_that_name(tx, &facts.name, Some(id))?;
    let f = facts.clone();
    let changed = Processor {
        name: f.name,
        address: f.address,
        phone: f.phone,
        mail: f.mail,
        inspection: f.inspection,
        days_notice: f.days_notice,
        notes: f.notes,
        ..plants::get(tx.conn(), id)?
    };
    save(tx, &changed, version)?;
    tell(tx, doing, format!("The facts of the processor {} were changed", facts.name))
}

/// Takes a processor off the lists, or puts it back on. Its dates and charges stay.
///
/// # Errors
/// [`Failure::Refused`] while dates are booked there; [`Failure::Stale`] when somebody saved in between.
pub fn retire_processor(
    tx: &mut Tx,
    doing: &Doing,
    id: ProcessorId,
    version: i64,
    retire: bool,
) -> Result<(), Failure> {
    let plant = plants::get(tx.conn(), id)?;
    let booked = crate::book::dates::of_processor(tx.conn(), id, doing.now.today)?.len();
    if retire && booked > 0 {
        let sentence =
            format!("Dates are booked at {} still ({booked}). Cancel them or let them pass first.", plant.name);
        return Err(Failure::refuse("", sentence));
    }
    let changed = Processor { retired_at: retire.then_some(doing.now.at), ..plant };
    save(tx, &changed, version)?;
    let what = if retire { "was taken off the list" } else { "is used again" };
    tell(tx, doing, format!("The processor {} {what}", changed.name))
}

/// A line of a schedule of charges.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChargeFacts {
    /// "Kill fee".
    pub name: String,
    /// Of one species, or all.
    pub species: Option<Species>,
    /// Of one size of share, or all.
    pub size: Option<Size>,
    /// What it is multiplied by.
    pub per: Per,
    /// The rate.
    pub rate: Rate,
    /// A minimum weight for a whole head.
    pub minimum_quantity: Option<Weight>,
    /// A minimum amount; for charges per head, of a whole head.
    pub minimum_amount: Option<Money>,
    /// Who collects it.
    pub billed_by: BilledBy,
    /// Tax.
    pub tax_percent: Percent,
    /// What a charge by product or pack is for.
    pub service: Option<Service>,
}

impl ChargeFacts {
    fn check(&self) -> Result<(), Failure> {
        let mut problems = Problems::default();
        if self.minimum_quantity.is_some() && matches!(self.per, Per::Head | Per::Share | Per::Pack) {
            problems.add(
                "minimum_quantity",
                "A minimum weight has no meaning for a charge per head, per share or per pack. Leave it blank, or use a minimum amount.",
            );
        }
        if self.service.is_some() && !matches!(self.per, Per::UnitProduct | Per::Pack) {
            problems.add(
                "service",
                "Only a charge per product or per pack is for some work. Leave it open here, or choose per product or per pack.",
            );
        }
        if self.rate == Rate::default() && self.minimum_amount.is_none_or(Money::is_zero) {
            problems.add("rate", "This charge would always be nothing. Write a rate, or retire the charge.");
        }
        problems.check()
    }
}

/// Adds a charge at the end of a plant's schedule.
///
/// # Errors
/// [`Failure::Refused`] for a charge that has no meaning.
pub fn add_charge(tx: &mut Tx, doing: &Doing, plant: ProcessorId, facts: &ChargeFacts) -> Result<ChargeId, Failure> {
    facts.check()?;
    let owner = plants::get(tx.conn(), plant)?;
    let f = facts.clone();
    let id = plants::add_charge(
        tx,
        &NewProcessorCharge {
            processor_id: plant,
            name: f.name,
            species: f.species,
            size: f.size,
            per: f.per,
            rate: f.rate,
            minimum_quantity: f.minimum_quantity,
            minimum_amount: f.minimum_amount,
            billed_by: f.billed_by,
            tax_percent: f.tax_percent,
            position: 0,
            retired_at: None,
            service: f.service,
        },
    )?;
    tell(tx, doing, format!("“{}” was added to the charges of {}", facts.name, owner.name))?;
    Ok(id)
}

/// Changes a charge. Invoices already issued keep what they were issued with. `version` is that of the plant.
///
/// # Errors
/// [`Failure::Stale`] when somebody changed the plant or its charges in between.
pub fn change_charge(
    tx: &mut Tx,
    doing: &Doing,
    id: ChargeId,
    version: i64,
    facts: &ChargeFacts,
) -> Result<ProcessorId, Failure> {
    facts.check()?;
    let stored = plants::charge(tx.conn(), id)?;
    let owner = plants::get(tx.conn(), stored.processor_id)?;
    save(tx, &owner, version)?;
    let f = facts.clone();
    let (before, plant) = (stored.rate, stored.processor_id);
    let changed = ProcessorCharge {
        name: f.name,
        species: f.species,
        size: f.size,
        per: f.per,
        rate: f.rate,
        minimum_quantity: f.minimum_quantity,
        minimum_amount: f.minimum_amount,
        billed_by: f.billed_by,
        tax_percent: f.tax_percent,
        service: f.service,
        ..stored
    };
    plants::save_charge(tx, &changed)?;
    let rates = if before == changed.rate {
        String::new()
    } else {
        format!(", from {} to {}", before.dollars(), changed.rate.dollars())
    };
    tell(tx, doing, format!("“{}” of {} was changed{rates}", facts.name, owner.name))?;
    Ok(plant)
}

/// Takes a charge off the schedule.
///
/// # Errors
/// [`Failure::NotFound`] when it is off already.
pub fn retire_charge(tx: &mut Tx, doing: &Doing, id: ChargeId) -> Result<ProcessorId, Failure> {
    let stored = plants::charge(tx.conn(), id)?;
    let owner = plants::get(tx.conn(), stored.processor_id)?;
    if !plants::retire_charge(tx, id, doing.now.at)? {
        return Err(Failure::NotFound);
    }
    tell(tx, doing, format!("“{}” was taken off the charges of {}", stored.name, owner.name))?;
    Ok(stored.processor_id)
}

fn save(tx: &mut Tx, changed: &Processor, version: i64) -> Result<(), Failure> {
    if plants::save(tx, changed, version)? { Ok(()) } else { Err(Failure::Stale) }
}

fn only_one_of_that_name(tx: &mut Tx, name: &str, own: Option<ProcessorId>) -> Result<(), Failure> {
    let same = |p: &Processor| p.name.to_lowercase() == name.to_lowercase() && Some(p.id) != own;
    if plants::list(tx.conn(), false)?.iter().any(same) {
        return Err(Failure::refuse("name", format!("There is a processor called “{name}” already. Open that one.")));
    }
    Ok(())
}

fn tell(tx: &mut Tx, doing: &Doing, line: String) -> Result<(), Failure> {
    stories::tell(tx, doing.now.at, &doing.actor, Line { line, ..Line::default() })?;
    Ok(())
}
