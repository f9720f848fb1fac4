//! Requests from the demo's public page: one accepted and one that waits for an answer; and the terms that customers accept.

use super::farm::Farm;
use super::teller::Teller;
use crate::actions::Failure;
use crate::actions::accept_terms::note_acceptance;
use crate::actions::answer_request::{Accept, accept_request};
use crate::actions::ask_to_reserve::{Asking, ask_to_reserve};
use crate::actions::confirm_request::{add_link, confirm_request};
use crate::actions::private_link::new_token;
use crate::actions::write_terms::write_terms;
use crate::book::ids::{OfferingId, RequestId};
use crate::book::{dates, farm as stored, offerings, reservations};
use crate::trade::requests::Requests;
use crate::trade::sale_terms::{AcceptedBy, SAMPLE};
use crate::trade::share::{Part, Size, Species};

/// The terms stand from the season's beginning, before anybody orders.
pub(super) fn write(t: &mut Teller) -> Result<(), Failure> {
    let doing = t.doing(-205, 20);
    write_terms(t.tx, &doing, 0, SAMPLE)?;
    let mut f = stored::get(t.tx.conn())?;
    f.requests = Requests::ByHand;
    let version = f.version;
    if stored::save(t.tx, &f, version)? { Ok(()) } else { Err(Failure::Stale) }
}

/// Two people asked on the page; and two who ordered by phone have the terms on paper or by word.
pub(super) fn tell(t: &mut Teller, farm: &Farm) -> Result<(), Failure> {
    let first = ask(t, -16, farm.lambs, Size::Whole, ("Petra Lindqvist", "petra@lindqvist.example"), "")?;
    let doing = t.doing(-15, 7);
    let price = offerings::price_on(t.tx.conn(), farm.lambs, Size::Whole, doing.now.today)?.ok_or(Failure::NotFound)?;
    accept_request(t.tx, &doing, first, &Accept { customer: None, price: price.id, price_changed: false })?;
    t.hand_over_if_past(-15)?;
    ask(
        t,
        -1,
        farm.beef,
        Size::Quarter,
        ("Casimir Odell", "casimir@odell.example"),
        "We are two and have a small freezer. Is a quarter too much?",
    )?;
    t.hand_over_if_past(-1)?;
    for (number, way) in [(1, AcceptedBy::Paper), (2, AcceptedBy::Person)] {
        let day = t.day(-3);
        let doing = t.doing(-3, 18);
        let open = reservations::page(t.tx.conn(), &reservations::Wanted::default(), 40)?;
        let order = open.iter().filter(|(r, ..)| r.cancelled_at.is_none()).nth(number).map(|(r, ..)| r.id);
        note_acceptance(t.tx, &doing, order.ok_or(Failure::NotFound)?, way, day)?;
    }
    Ok(())
}

fn ask(
    t: &mut Teller,
    days: i64,
    offering: OfferingId,
    size: Size,
    (name, mail): (&str, &str),
    note: &str,
) -> Result<RequestId, Failure> {
    let doing = t.doing(days, 6);
    let price = offerings::price_on(t.tx.conn(), offering, size, doing.now.today)?.ok_or(Failure::NotFound)?;
    let o = offerings::get(t.tx.conn(), offering)?;
    let coming = dates::coming(t.tx.conn(), doing.now.today)?;
    let ids: Vec<_> = coming.iter().map(|(d, _)| d.id).collect();
    let slots = dates::slots(t.tx.conn(), &ids)?;
    let takes = |species: Species| slots.iter().find(|s| s.species == species && s.head > 0).map(|s| s.date_id);
    let input = Asking {
        offering,
        size,
        part: (size == Size::Quarter).then_some(Part::Split),
        price: price.id,
        name: name.into(),
        mail: mail.into(),
        phone: "555-0163".into(),
        address: String::new(),
        dates: takes(o.species).into_iter().collect(),
        only_these: false,
        together: String::new(),
        note: note.into(),
        terms: 1,
    };
    let id = ask_to_reserve(t.tx, &doing, &input)?.ok_or(Failure::NotFound)?;
    let token = new_token()?;
    add_link(t.tx, doing.now.at, id, &token)?;
    confirm_request(t.tx, &doing, &token)?;
    Ok(id)
}
