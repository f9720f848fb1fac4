//! The demo's second date: hung a few days ago. Some weights are entered and wait for their invoices, two head are still open.

use super::cast::People;
use super::farm::Farm;
use super::past::made;
use super::teller::{LEFT, RIGHT, Teller, lb, usd};
use crate::actions::Failure;
use crate::actions::book_date::{DateFacts, book_date};
use crate::actions::care_for_animal::{Weighed, record_live_weight};
use crate::actions::place_share::Spot;
use crate::actions::record_weights::{WeighForm, record_weights};
use crate::trade::animal::Class;
use crate::trade::carcass::Hung;
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::CarcassBasis;
use chrono::Weekday;

pub(super) fn tell(t: &mut Teller, farm: &Farm, people: &People) -> Result<(), Failure> {
    let kill = t.weekday_before(-2, Weekday::Thu);
    let booked = t.doing(-130, 13);
    let facts = DateFacts {
        processor: farm.pell_road,
        kill_on: t.day(kill),
        deliver_on: Some(t.day(kill)),
        deliver_time: "06:30".into(),
        sheets_due: Some(t.day(kill - 7)),
        pickup_from: Some(t.day(kill + 14)),
        pickup_to: Some(t.day(kill + 18)),
        notes: "Two beef, three hogs.".into(),
        slots: vec![(Species::Beef, 2), (Species::Hog, 3)],
    };
    let date = book_date(t.tx, &booked, &facts)?;
    let mut late = None;
    let heifer = t.head(-110, Class::Heifer, "117", "Angus cross", 700, Some(date))?;
    let steer = t.head(-110, Class::Steer, "118", "Hereford", 715, Some(date))?;
    let hogs = [("33", Class::Barrow), ("34", Class::Gilt), ("35", Class::Barrow)]
        .map(|(tag, class)| t.head(-100, class, tag, "Berkshire cross", 245, Some(date)));
    let [first, second, third] = hogs;
    let (first, second, third) = (first?, second?, third?);
    for (animal, pounds) in [(heifer, 11_420), (steer, 12_080), (first, 2_580), (second, 2_490), (third, 2_610)] {
        let doing = t.doing(kill - 1, 6);
        let day = t.day(kill - 1);
        record_live_weight(t.tx, &doing, animal, day, Weighed::Scale(lb(pounds)))?;
    }

    let shares = [
        ("Dele Ashworth", farm.beef, Size::Half, heifer, LEFT, 300, "Extra soup bones, please."),
        ("Łukasz Zaremba", farm.beef, Size::Half, heifer, RIGHT, 300, ""),
        ("Núria Velde", farm.beef, Size::Half, steer, LEFT, 300, ""),
        ("Þóra Lind", farm.beef, Size::Quarter, steer, RIGHT, 150, ""),
        ("Minh Nguyễn-Roe", farm.beef, Size::Quarter, steer, RIGHT, 150, "Oxtail if nobody else wants it."),
        ("Abel Storrow", farm.hogs, Size::Whole, first, Spot::Whole, 200, ""),
        ("Clementine Ode", farm.hogs, Size::Half, second, LEFT, 100, ""),
        ("Petra Vance", farm.hogs, Size::Half, second, RIGHT, 100, "Smoked hocks."),
        ("Silas Merrow", farm.hogs, Size::Half, third, LEFT, 100, ""),
        ("Greta Fenn", farm.hogs, Size::Half, third, RIGHT, 100, ""),
    ];
    for (n, (name, offering, size, animal, spot, deposit, wishes)) in (0_i64..).zip(shares) {
        let order = t.order(-125 + n * 3, people.named(name)?, offering, size, wishes)?;
        let check = if n % 3 == 0 { String::new() } else { format!("{}", 310 + n * 37) };
        t.deposit(-120 + n * 3, order, usd(deposit), &check)?;
        t.place(-60, order, animal, spot)?;
        if name == "Dele Ashworth" {
            t.sheet(kill - 15, order, &[("rib", "rib_roast_bone_in"), ("neck", "stew")], "Extra soup bones.")?;
        }
        if name == "Dele Ashworth" || name == "Petra Vance" {
            t.link(kill - 30, order, name == "Dele Ashworth")?;
        }
        if name == "Łukasz Zaremba" {
            late = Some(order);
        }
        if offering == farm.hogs {
            made(t, kill - 9, order, 220 + n * 10, 120)?;
        }
    }

    t.packet(kill - 6, date)?;
    // The plant phoned three weights through; the others are to come.
    let weighed = t.doing((kill + 1).min(0), 16);
    let rows = vec![
        t.hung(heifer, Hung::Sides { left: lb(3384), right: lb(3412) }, "4502")?,
        t.hung(first, Hung::Total(lb(1871)), "4504")?,
        t.hung(second, Hung::Sides { left: lb(902), right: lb(895) }, "4505")?,
    ];
    let weighed_on = t.day(kill);
    let form = WeighForm { date, basis: CarcassBasis::Hot, weighed_on, for_saved_too: false, rows };
    record_weights(t.tx, &weighed, &form)?;
    // The rest it entered on its own page, where it waits for Ada.
    let says = [
        (steer, Hung::Sides { left: lb(3641), right: lb(3598) }, "4503", None),
        (third, Hung::Sides { left: lb(948), right: lb(941) }, "4506", Some("liver, abscess")),
    ];
    t.plant_enters((kill + 1).min(0), date, "Sam Okafor", &says)?;
    // The beef still hangs; one owner thought of something.
    if let Some(order) = late {
        t.wish(-1, order, &[("chuck_blade", "grind"), ("chuck_arm", "grind")])?;
    }
    Ok(())
}
