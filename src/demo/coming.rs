//! What the demo has before it: a date to prepare with a quarter to sell and a lost hog, lambs later, people who wait.

use super::cast::People;
use super::farm::Farm;
use super::moved;
use super::teller::{LEFT, RIGHT, Teller, lb, usd};
use crate::actions::Failure;
use crate::actions::book_date::{DateFacts, book_date};
use crate::actions::cancel_reservation::{Cancel, cancel_reservation};
use crate::actions::care_for_animal::{Given, Weighed, record_live_weight, record_treatment};
use crate::actions::keep_deposit::keep_deposit;
use crate::actions::lose_animal::{lose_animal, tell_of_loss};
use crate::actions::make_bill_of_sale::make_bill_of_sale;
use crate::actions::offer::{OfferingIn, change_offering};
use crate::actions::offer_share::offer_share;
use crate::actions::place_share::Spot;
use crate::actions::share_side::{decide_side, seen};
use crate::book::ids::AnimalId;
use crate::book::wishes::Wishes;
use crate::book::{animals, offerings, reservations, sides};
use crate::trade::agree::Decision;
use crate::trade::animal::Class;
use crate::trade::cuts::sheet::Sheet;
use crate::trade::share::{Part, Side, Size, Species};
use crate::trade::vocabulary::DepositFate;
use chrono::Weekday;

pub(super) fn tell(t: &mut Teller, farm: &Farm, people: &People) -> Result<(), Failure> {
    pell_road(t, farm, people)?;
    lambs_and_goats(t, farm, people)?;
    moved::tell(t, farm, people)?;
    waiting(t, farm, people)
}

fn pell_road(t: &mut Teller, farm: &Farm, people: &People) -> Result<(), Failure> {
    let kill = t.weekday_before(20, Weekday::Thu);
    let booked = t.doing(-70, 13);
    let facts = DateFacts {
        processor: farm.pell_road,
        kill_on: t.day(kill),
        deliver_on: Some(t.day(kill - 1)),
        deliver_time: "17:00".into(),
        sheets_due: Some(t.day(kill - 7)),
        pickup_from: Some(t.day(kill + 14)),
        pickup_to: Some(t.day(kill + 18)),
        notes: String::new(),
        slots: vec![(Species::Beef, 4), (Species::Hog, 3)],
    };
    let date = book_date(t.tx, &booked, &facts)?;
    let steer = t.head(-68, Class::Steer, "121", "Hereford", 690, Some(date))?;
    let heifer = t.head(-68, Class::Heifer, "122", "Angus cross", 685, Some(date))?;
    let shared = t.head(-68, Class::Steer, "124", "Hereford", 680, Some(date))?;
    let apart = t.head(-68, Class::Steer, "126", "Hereford", 675, Some(date))?;
    let lost = t.head(-68, Class::Barrow, "36", "Berkshire cross", 200, Some(date))?;
    let gilt = t.head(-68, Class::Gilt, "37", "Berkshire cross", 205, Some(date))?;
    t.head(-68, Class::Barrow, "38", "Berkshire cross", 205, Some(date))?;
    let doing = t.doing(-55, 9);
    let given = Given {
        product: "Pour-on dewormer (an invented one)".into(),
        last_dose_on: t.day(-55),
        last_dose_time: String::new(),
        withdrawal_days: 21,
        notes: String::new(),
    };
    record_treatment(t.tx, &doing, heifer, &given)?;
    let doing = t.doing(-3, 8);
    let day = t.day(-3);
    record_live_weight(t.tx, &doing, steer, day, Weighed::Scale(lb(11_640)))?;
    record_live_weight(t.tx, &doing, heifer, day, Weighed::Tape { girth: 7_450, length: 6_200 })?;

    // Two without a date: the barrow is nearly there, the steer has months to go.
    for (class, tag, breed, age, weights) in [
        (Class::Barrow, "39", "Berkshire cross", 190, [(-33, 2_080), (-3, 2_460)]),
        (Class::Steer, "123", "Hereford", 420, [(-63, 7_450), (-3, 8_640)]),
    ] {
        let animal = t.head(-68, class, tag, breed, age, None)?;
        for (day, tenths) in weights {
            let (doing, on) = (t.doing(day, 8), t.day(day));
            record_live_weight(t.tx, &doing, animal, on, Weighed::Scale(lb(tenths)))?;
        }
    }

    let order =
        t.order(-66, people.named("Amos Tarrant")?, farm.beef, Size::Whole, "Mostly ground, in two-pound packs.")?;
    t.deposit(-61, order, usd(600), "7740")?;
    t.place(-30, order, steer, Spot::Whole)?;
    // He came by and chose this very steer.
    t.lock(-29, order)?;
    let ground = [("chuck_blade", "grind"), ("chuck_arm", "grind"), ("top_round", "grind")];
    let sheet = Sheet {
        blocks: ground.map(|(block, choice)| (block.to_string(), choice.to_string())).into(),
        parameters: [("ground_pkg_lb".to_string(), "2".to_string())].into(),
        ..Sheet::default()
    };
    t.whole_sheet(-10, order, sheet)?;
    let doing = t.doing(-9, 17);
    make_bill_of_sale(t.tx, &doing, order, false)?;
    shared_side(t, farm, people, shared)?;
    own_quarters(t, farm, people, apart)?;
    let order = t.order(-58, people.named("Yusra Bell")?, farm.beef, Size::Half, "")?;
    t.deposit(-50, order, usd(300), "")?;
    t.place(-30, order, heifer, LEFT)?;
    // Yusra has begun her cut sheet and left it at the third part.
    t.half_a_sheet(-3, order, &[("chuck_blade", "flat_iron_eye_roast"), ("rib", "ribeye_boneless")])?;
    t.link(-49, order, true)?;

    let left = t.order(-52, people.named("Delphine Roake")?, farm.hogs, Size::Half, "")?;
    t.deposit(-47, left, usd(100), "615")?;
    t.place(-30, left, gilt, LEFT)?;
    // Ennis sent part of what was asked.
    let right =
        t.order(-45, people.named("Ennis Pardee")?, farm.hogs, Size::Half, "No sausage; chops an inch thick.")?;
    t.deposit(-39, right, usd(60), "")?;
    t.place(-30, right, gilt, RIGHT)?;

    // A barrow was found dead; one of its two owners is told, the other not yet. They are neighbors and would share another.
    let mut owners = Vec::new();
    for (name, spot, check) in [("Wilma Stroud", LEFT, "88"), ("Marta Quillan", RIGHT, "395")] {
        let order = t.order(-44, people.named(name)?, farm.hogs, Size::Half, "")?;
        t.deposit(-40, order, usd(100), check)?;
        t.place(-30, order, lost, spot)?;
        t.ask(-41, order, &Wishes { together: "Church Street".into(), ..Wishes::default() })?;
        owners.push(order);
    }
    // One quarter of the heifer is still to be sold; this one was taken by phone, and no deposit came yet.
    let order = t.order(-21, people.named("Corin Hale")?, farm.beef, Size::Quarter, "")?;
    t.place(-20, order, heifer, RIGHT)?;
    let version = animals::get(t.tx.conn(), lost)?.version;
    let (doing, day) = (t.doing(-6, 7), t.day(-6));
    lose_animal(t.tx, &doing, lost, version, day, "Found dead in the oak lot, no sign of illness in the others.")?;
    if let Some(order) = owners.first() {
        let doing = t.doing(-5, 12);
        tell_of_loss(t.tx, &doing, lost, *order)?;
    }
    Ok(())
}

/// A steer of which two quarters share the left side: they differ about the thickness of steaks, which was decided, about the rib,
/// which is given out by its ribs, and about the short loin, which is open.
fn shared_side(t: &mut Teller, farm: &Farm, people: &People, steer: AnimalId) -> Result<(), Failure> {
    let mut quarters = Vec::new();
    for (n, (name, check)) in (0_i64..).zip([("Owen Sandoz", "1180"), ("Jonas Pryce", "402")]) {
        let order = t.order(-57 + n, people.named(name)?, farm.beef, Size::Quarter, "")?;
        t.deposit(-52 + n * 3, order, usd(150), check)?;
        t.place(-29, order, steer, LEFT)?;
        quarters.push(order);
    }
    let order = t.order(-55, people.named("Hanne Brandvold")?, farm.beef, Size::Half, "")?;
    t.deposit(-49, order, usd(300), "97")?;
    t.place(-29, order, steer, RIGHT)?;
    let [first, second] = quarters.as_slice() else { return Err(Failure::NotFound) };
    let steaks = |text: &str| [("steak_in".to_string(), text.to_string())].into();
    t.whole_sheet(
        -9,
        *first,
        Sheet {
            blocks: [("short_loin", "tbone"), ("rib", "rib_roast_bone_in"), ("brisket", "corned")].map(owned).into(),
            parameters: steaks("1.25"),
            parts: vec!["heart".into(), "tongue".into()],
            ..Sheet::default()
        },
    )?;
    t.whole_sheet(
        -7,
        *second,
        Sheet {
            blocks: [("short_loin", "strip_boneless_tenderloin"), ("rib", "rib_steak_bone_in"), ("flank", "grind")]
                .map(owned)
                .into(),
            parameters: steaks("0.75"),
            parts: vec!["tongue".into()],
            ..Sheet::default()
        },
    )?;
    let doing = t.doing(-4, 12);
    let side = sides::of(t.tx.conn(), steer, Side::Left)?.ok_or(Failure::NotFound)?;
    decide_side(t.tx, &doing, steer, Side::Left, seen(&side), ("steak_in", Decision::First))
}

/// A steer of which the right side is cut between the ribs: its forequarter has its cut sheet, its hindquarter not yet, and two of
/// the three owners want the tongue.
fn own_quarters(t: &mut Teller, farm: &Farm, people: &People, steer: AnimalId) -> Result<(), Failure> {
    let half = t.order(-56, people.named("Greta Fenn")?, farm.apart, Size::Half, "")?;
    t.deposit(-51, half, usd(300), "731")?;
    t.place(-29, half, steer, LEFT)?;
    let mut quarters = Vec::new();
    for (n, (name, part, check)) in
        (0_i64..).zip([("Núria Velde", Part::Fore, "508"), ("Silas Merrow", Part::Hind, "84")])
    {
        let order = t.own_quarter(-54 + n, people.named(name)?, farm.apart, part)?;
        t.deposit(-48 + n, order, usd(150), check)?;
        t.place(-29, order, steer, RIGHT)?;
        quarters.push(order);
    }
    let [fore, hind] = quarters.as_slice() else { return Err(Failure::NotFound) };
    for (days, order, blocks) in [
        (-8, half, [("rib", "ribeye_boneless"), ("chuck_arm", "grind")]),
        (-6, *fore, [("rib", "rib_roast_bone_in"), ("brisket", "whole")]),
    ] {
        let blocks = blocks.map(owned).into();
        t.whole_sheet(days, order, Sheet { blocks, parts: vec!["tongue".into()], ..Sheet::default() })?;
    }
    t.link(-47, *hind, true)
}

fn owned((block, choice): (&str, &str)) -> (String, String) {
    (block.to_string(), choice.to_string())
}

fn lambs_and_goats(t: &mut Teller, farm: &Farm, people: &People) -> Result<(), Failure> {
    let kill = t.weekday_before(46, Weekday::Tue);
    let booked = t.doing(-40, 13);
    let facts = DateFacts {
        processor: farm.tannery,
        kill_on: t.day(kill),
        deliver_on: None,
        deliver_time: "07:00".into(),
        sheets_due: Some(t.day(kill - 14)),
        pickup_from: Some(t.day(kill + 7)),
        pickup_to: Some(t.day(kill + 10)),
        notes: String::new(),
        slots: vec![(Species::Lamb, 4), (Species::Goat, 1)],
    };
    let date = book_date(t.tx, &booked, &facts)?;
    let mut lambs = Vec::new();
    for tag in ["201", "202", "203"] {
        lambs.push(t.head(-38, Class::Lamb, tag, "Dorset cross", 215, Some(date))?);
    }
    // This one was treated and goes nowhere before its withdrawal period ends.
    let treated = t.head(-38, Class::Lamb, "204", "Dorset cross", 210, None)?;
    let doing = t.doing(-4, 9);
    let given = Given {
        product: "Long-acting antibiotic (an invented one)".into(),
        last_dose_on: t.day(-4),
        last_dose_time: String::new(),
        withdrawal_days: 60,
        notes: "Foot rot, left hind. Days as the veterinarian said.".into(),
    };
    record_treatment(t.tx, &doing, treated, &given)?;
    for (day, tenths) in [(-32, 930), (-3, 1_060)] {
        let (doing, on) = (t.doing(day, 8), t.day(day));
        record_live_weight(t.tx, &doing, treated, on, Weighed::Scale(lb(tenths)))?;
    }
    let kid = t.head(-38, Class::Kid, "301", "Boer cross", 220, Some(date))?;
    let (doing, day) = (t.doing(-3, 8), t.day(-3));
    record_live_weight(t.tx, &doing, kid, day, Weighed::Scale(lb(742)))?;

    for (n, (name, animal)) in
        (0_i64..).zip([("Hanne Brandvold", Some(0)), ("Petra Vance", Some(1)), ("Amos Tarrant", None)])
    {
        let order = t.order(-33 + n, people.named(name)?, farm.lambs, Size::Whole, "")?;
        t.deposit(-30 + n, order, usd(75), &format!("{}", 2100 + n))?;
        if let Some(animal) = animal.and_then(|i: usize| lambs.get(i)) {
            t.place(-14, order, *animal, Spot::Whole)?;
        }
    }
    let order =
        t.order(-18, people.named("Núria Velde")?, farm.goats, Size::Whole, "For the last week of the month.")?;
    t.deposit(-12, order, usd(60), "")?;
    // The only kid for the only order: the plan was taken as it was.
    t.plan(-11, Species::Goat)?;
    t.link(-11, order, true)?;
    t.wants_out(-1, order, "We are away all that month and have no freezer.")
}

fn waiting(t: &mut Teller, farm: &Farm, people: &People) -> Result<(), Failure> {
    // The hogs were sold out by then.
    let first = t.order(-16, people.named("Greta Fenn")?, farm.hogs, Size::Half, "")?;
    t.order(-8, people.named("Tobias Wren")?, farm.hogs, Size::Half, "Any date before spring.")?;
    // One more barrow does well enough to be sold: half of it is held for Greta until she answers.
    let o = offerings::get(t.tx.conn(), farm.hogs)?;
    let more = OfferingIn {
        species: o.species,
        season: o.season.clone(),
        head_count: o.head_count + 1,
        sizes: vec![Size::Whole, Size::Half],
        quarter_part: o.quarter_part,
        expected_low: o.expected_low,
        expected_high: o.expected_high,
        notes: o.notes.clone(),
    };
    let doing = t.doing(-1, 10);
    change_offering(t.tx, &doing, o.id, o.version, &more)?;
    offer_share(t.tx, &doing, first)?;
    // Silas took a lamb and thought better of it.
    let order = t.order(-26, people.named("Silas Merrow")?, farm.lambs, Size::Whole, "")?;
    t.deposit(-25, order, usd(75), "")?;
    t.link(-25, order, true)?;
    let version = reservations::get(t.tx.conn(), order)?.0.version;
    let cancel = Cancel { version, reason: "Moving away".into(), fate: DepositFate::Refund, carry_to: None };
    let doing = t.doing(-2, 18);
    cancel_reservation(t.tx, &doing, order, &cancel)?;
    // By the policy a part is kept; the rest is owed back.
    let version = reservations::get(t.tx.conn(), order)?.0.version;
    let doing = t.doing(-1, 9);
    keep_deposit(t.tx, &doing, order, version, usd(25), "Cancelled within a week of the date")?;
    // Asked for its deposit, but nothing came yet.
    t.order(-1, people.named("Clementine Ode")?, farm.lambs, Size::Whole, "")?;
    Ok(())
}
