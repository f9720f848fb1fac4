//! A date of the demo that went to another plant: Pell Road had no room for it, and Tannery Lane does not smoke. One of its two
//! cut sheets does not fit any more.

use super::cast::People;
use super::farm::Farm;
use super::teller::{LEFT, RIGHT, Teller, usd};
use crate::actions::Failure;
use crate::actions::book_date::{DateFacts, book_date, change_date};
use crate::book::dates;
use crate::trade::animal::Class;
use crate::trade::share::{Size, Species};
use chrono::Weekday;

pub(super) fn tell(t: &mut Teller, farm: &Farm, people: &People) -> Result<(), Failure> {
    let kill = t.weekday_before(34, Weekday::Wed);
    let booked = t.doing(-55, 13);
    let facts = DateFacts {
        processor: farm.pell_road,
        kill_on: t.day(kill),
        deliver_on: None,
        deliver_time: "06:30".into(),
        sheets_due: Some(t.day(kill - 10)),
        pickup_from: Some(t.day(kill + 10)),
        pickup_to: Some(t.day(kill + 14)),
        notes: String::new(),
        slots: vec![(Species::Hog, 2)],
    };
    let date = book_date(t.tx, &booked, &facts)?;
    let barrow = t.head(-54, Class::Barrow, "40", "Berkshire cross", 170, Some(date))?;
    let shares: [(&str, _, &[(&str, &str)]); 2] = [
        ("Ines Halvard", LEFT, &[("belly", "bacon"), ("ham_body", "cured_bone_in")]),
        (
            "Owen Sandoz",
            RIGHT,
            &[
                ("ham_body", "grind"),
                ("belly", "fresh_slab"),
                ("hind_hock", "fresh"),
                ("fore_hock", "fresh"),
                ("jowl", "grind"),
            ],
        ),
    ];
    for (n, (name, spot, blocks)) in (0_i64..).zip(shares) {
        let order = t.order(-50 + n, people.named(name)?, farm.hogs, Size::Half, "")?;
        t.deposit(-46 + n, order, usd(100), "")?;
        t.place(-29, order, barrow, spot)?;
        t.sheet(-9 + n, order, blocks, "")?;
    }
    let version = dates::get(t.tx.conn(), date)?.0.version;
    let doing = t.doing(-2, 11);
    let notes = "Pell Road is full that week.".into();
    change_date(t.tx, &doing, date, version, &DateFacts { processor: farm.tannery, notes, ..facts })
}
