//! The demo's plants: one smokes, the other does not. Their charges and what they leave out are invented, in the range that
//! extension services report (common practice, no source).

use super::teller::{Teller, lb};
use crate::actions::Failure;
use crate::actions::change_processor::{ChargeFacts, ProcessorFacts, add_charge, add_processor};
use crate::actions::plant_offer::save_offer;
use crate::book::ids::ProcessorId;
use crate::trade::cuts::offer::{Batch, Offer, Service};
use crate::trade::money::Rate;
use crate::trade::share::Species;
use crate::trade::vocabulary::{BilledBy, Inspection, Per};

/// Name, species, rate in cents, who collects it, and for what.
type Line<'a> = (&'a str, Option<Species>, Per, i64, BilledBy, Option<Service>);

fn charges(t: &mut Teller, plant: ProcessorId, all: &[Line<'_>]) -> Result<(), Failure> {
    let doing = t.doing(-203, 14);
    for (name, species, per, rate, billed_by, service) in all {
        let facts = ChargeFacts {
            name: (*name).into(),
            species: *species,
            size: None,
            per: *per,
            rate: Rate::from_ten_thousandths(rate * 100),
            minimum_quantity: None,
            minimum_amount: None,
            billed_by: *billed_by,
            tax_percent: Default::default(),
            service: *service,
        };
        add_charge(t.tx, &doing, plant, &facts)?;
    }
    Ok(())
}

fn does(t: &mut Teller, plant: ProcessorId, species: Species, offer: &Offer) -> Result<(), Failure> {
    let doing = t.doing(-202, 15);
    save_offer(t.tx, &doing, plant, species, 0, offer)
}

/// It smokes, and makes links from 15 lb on.
pub(super) fn pell_road(t: &mut Teller) -> Result<ProcessorId, Failure> {
    let doing = t.doing(-204, 14);
    let facts = ProcessorFacts {
        name: "Pell Road Meats".into(),
        address: "4 Pell Road\nElm Fork, WI 53000".into(),
        phone: "555-0177".into(),
        mail: "floor@pellroad.example".into(),
        inspection: Inspection::Custom,
        days_notice: 7,
        notes: "Unload at the north ramp. Cut sheets a week ahead.".into(),
    };
    let id = add_processor(t.tx, &doing, &facts)?;
    let (beef, hog) = (Some(Species::Beef), Some(Species::Hog));
    charges(
        t,
        id,
        &[
            ("Kill fee", beef, Per::Head, 11_000, BilledBy::Processor, None),
            ("Cut and wrap", beef, Per::UnitHanging, 95, BilledBy::Processor, None),
            ("Trailer to the plant", beef, Per::Head, 4_000, BilledBy::Farm, None),
            ("Kill fee", hog, Per::Head, 6_500, BilledBy::Processor, None),
            ("Cut and wrap", hog, Per::UnitHanging, 90, BilledBy::Processor, None),
            ("Cure and smoke", hog, Per::UnitProduct, 115, BilledBy::Processor, Some(Service::Cure)),
            ("Sausage, seasoned", hog, Per::UnitProduct, 75, BilledBy::Processor, Some(Service::Season)),
            ("Trailer to the plant", hog, Per::Head, 2_500, BilledBy::Farm, None),
            ("Patties", beef, Per::UnitProduct, 50, BilledBy::Processor, Some(Service::Patty)),
        ],
    )?;
    does(t, id, Species::Beef, &Offer { longest_ageing: Some(21), ..Offer::default() })?;
    let least = [(Batch::Bulk, lb(50)), (Batch::Link, lb(150))].into();
    does(t, id, Species::Hog, &Offer { least, most_seasonings: Some(2), ..Offer::default() })?;
    Ok(id)
}

/// It has no smokehouse, and takes no wishes in words.
pub(super) fn tannery(t: &mut Teller) -> Result<ProcessorId, Failure> {
    let doing = t.doing(-204, 15);
    let facts = ProcessorFacts {
        name: "Tannery Lane Packing".into(),
        address: "60 Tannery Lane\nStony Ford, WI 53002".into(),
        phone: "555-0178".into(),
        mail: "office@tannerylane.example".into(),
        inspection: Inspection::State,
        days_notice: 14,
        notes: String::new(),
    };
    let id = add_processor(t.tx, &doing, &facts)?;
    let (hog, lamb, goat) = (Some(Species::Hog), Some(Species::Lamb), Some(Species::Goat));
    charges(
        t,
        id,
        &[
            ("Kill, cut and wrap", lamb, Per::Head, 11_500, BilledBy::Farm, None),
            ("Kill, cut and wrap", goat, Per::Head, 12_500, BilledBy::Farm, None),
            ("Kill fee", hog, Per::Head, 7_000, BilledBy::Processor, None),
            ("Cut and wrap", hog, Per::UnitHanging, 80, BilledBy::Processor, None),
            ("Sausage, seasoned", hog, Per::UnitProduct, 80, BilledBy::Processor, Some(Service::Season)),
            ("Vacuum packs", hog, Per::Pack, 35, BilledBy::Processor, Some(Service::Pack)),
        ],
    )?;
    let hogs = Offer {
        without_services: [Service::Cure, Service::Lard, Service::Patty].into(),
        without_seasonings: ["chorizo", "bratwurst", "maple"].map(String::from).into(),
        without_values: [("pork_chop_in".into(), ["0.5", "1.5"].map(String::from).into())].into(),
        no_wishes: true,
        ..Offer::default()
    };
    does(t, id, Species::Hog, &hogs)?;
    does(t, id, Species::Lamb, &Offer::default())?;
    Ok(id)
}
