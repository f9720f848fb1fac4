//! The barn's rules in a real book: places, withdrawal, slots, and what Today asks.

use crate::barn_book::{Barn, day, refused, sides};
use gambrel::actions::Failure;
use gambrel::actions::book_date::{cancel_date, change_date};
use gambrel::actions::care_for_animal::{Given, record_treatment, take_back_treatment};
use gambrel::actions::change_animal::add_animal;
use gambrel::actions::change_processor::{ChargeFacts, add_charge, change_charge, retire_charge, retire_processor};
use gambrel::actions::place_share::Spot;
use gambrel::actions::send_animal::send_animal;
use gambrel::book::{animals, dates, placements, plants, unplaced};
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Place;
use gambrel::trade::money::{Percent, Rate};
use gambrel::trade::share::{Part, Side, Size, Species};
use gambrel::trade::vocabulary::{BilledBy, Inspection, Per};

const LEFT: Spot = Spot::Side(Side::Left);
const RIGHT: Spot = Spot::Side(Side::Right);

fn given(days: i64, last: &str) -> Given {
    Given {
        product: "Oxytetracycline 200".into(),
        last_dose_on: day(last),
        last_dose_time: String::new(),
        withdrawal_days: days,
        notes: String::new(),
    }
}

#[test]
fn a_side_takes_a_half_or_two_quarters_and_all_moves_go_together() {
    for barn in Barn::each() {
        let beef = barn.offering(Species::Beef, 5);
        let [a, b] = ["226", "229"].map(|tag| barn.animal(Class::Steer, tag, "1290", None));
        let hog = barn.animal(Class::Barrow, "41", "290", None);
        let half = |n| barn.order(n, beef, Size::Half, None, false);
        let (one, two, three) = (half(1), half(2), half(3));
        let quarters = [4, 5, 6].map(|n| barn.order(n, beef, Size::Quarter, Some(Part::Split), false));
        let whole = barn.order(7, beef, Size::Whole, None, false);

        barn.place(one, a, LEFT).unwrap();
        barn.place(two, a, RIGHT).unwrap();
        assert!(refused(barn.place(three, a, LEFT)).first().unwrap().1.starts_with("There is no room for the half of"));
        assert!(refused(barn.place(whole, a, Spot::Whole)).first().unwrap().1.contains("has other owners"));
        assert!(refused(barn.place(one, hog, LEFT)).first().unwrap().1.contains("is hog, and this order is for beef"));
        barn.place(quarters[0], b, RIGHT).unwrap();
        barn.place(quarters[1], b, RIGHT).unwrap();
        assert!(refused(barn.place(quarters[2], b, RIGHT)).first().unwrap().0.starts_with("share-"));

        // Two owners change places in one go; one of them alone could not.
        assert_eq!(barn.place_all(&[(one, Some((a, RIGHT))), (two, Some((a, LEFT)))]).unwrap(), 2);
        let shares = barn.read(|c| Ok(placements::shares_on(c, &[a])?));
        let at: Vec<_> = shares.iter().map(|s| (s.reservation, s.place)).collect();
        assert_eq!(at, [(one, Place::Half(Side::Right)), (two, Place::Half(Side::Left))]);

        // What is refused in one move keeps all the others back.
        let outcome = barn.place_all(&[(three, Some((b, LEFT))), (quarters[2], Some((b, RIGHT)))]);
        assert_eq!(refused(outcome).len(), 1);
        assert!(barn.read(|c| Ok(placements::shares_of(c, &[three])?)).is_empty());
        assert_eq!(barn.place_all(&[(one, None)]).unwrap(), 1);
        assert_eq!(barn.place_all(&[(one, None)]).unwrap(), 0, "nothing to do the second time");
    }
}

#[test]
fn the_waiting_list_gives_a_place_only_while_something_is_left() {
    for barn in Barn::each() {
        let beef = barn.offering(Species::Beef, 1);
        let steer = barn.animal(Class::Steer, "226", "1290", None);
        let sold = barn.order(1, beef, Size::Half, None, false);
        let [waits, late] = [2, 3].map(|n| barn.order(n, beef, Size::Half, None, true));
        let list = barn.read(|c| Ok(unplaced::of_species(c, Species::Beef)?));
        assert_eq!(list.iter().map(|u| u.waiting).collect::<Vec<_>>(), [None, Some(1), Some(2)]);
        barn.place(sold, steer, LEFT).unwrap();
        barn.place(waits, steer, RIGHT).unwrap();
        let other = barn.animal(Class::Steer, "229", "1290", None);
        assert!(refused(barn.place(late, other, LEFT)).first().unwrap().1.contains("stays on the waiting list"));
        let list = barn.read(|c| Ok(unplaced::of_species(c, Species::Beef)?));
        assert_eq!(list.iter().map(|u| (u.reservation, u.waiting)).collect::<Vec<_>>(), [(late, Some(1))]);
    }
}

#[test]
fn an_animal_inside_a_withdrawal_period_goes_to_no_date_before_it_ends() {
    for barn in Barn::each() {
        let plant = barn.plant(Inspection::Custom);
        let (early, later) = (barn.date(plant, "2027-10-20"), barn.date(plant, "2027-11-12"));
        let steer = barn.animal(Class::Steer, "229", "1265", None);
        barn.act(|tx, doing| record_treatment(tx, doing, steer, &given(28, "2027-10-14"))).unwrap();
        // The hour is not known, so 28 days count from the end of the 14th: midnight of November 12.
        let says = refused(barn.send(steer, Some(early)));
        let (field, sentence) = says.first().unwrap();
        assert_eq!(field, "date");
        assert!(sentence.contains("The earliest day is November 12, 2027."), "{sentence}");
        assert!(sentence.contains("ask your veterinarian"));
        barn.send(steer, Some(later)).unwrap();

        // The date cannot be moved under it either.
        let facts = Barn::date_facts(plant, "2027-11-11");
        let version = barn.read(|c| Ok(dates::get(c, later)?)).0.version;
        let says = refused(barn.act(|tx, doing| change_date(tx, doing, later, version, &facts)));
        assert!(says.iter().any(|(f, s)| f == "kill_on" && s.contains("November 12, 2027")), "{says:?}");

        // A treatment given when the date stands is saved, and the animal is flagged.
        assert!(barn.read(|c| Ok(animals::in_withdrawal(c)?)).is_empty());
        let clear = barn.act(|tx, doing| record_treatment(tx, doing, steer, &given(40, "2027-10-14"))).unwrap();
        assert!(clear.too_early);
        let late = barn.read(|c| Ok(animals::in_withdrawal(c)?));
        assert_eq!(
            late.iter().map(|w| (w.animal, w.date, w.earliest)).collect::<Vec<_>>(),
            [(steer, later, Some(day("2027-11-24")))]
        );
        let wrong = barn.read(|c| Ok(animals::treatments(c, &[steer])?)).into_iter().find(|t| t.withdrawal_days == 40);
        let row = wrong.unwrap().id;
        barn.act(|tx, doing| take_back_treatment(tx, doing, steer, row)).unwrap();
        assert!(barn.read(|c| Ok(animals::in_withdrawal(c)?)).is_empty());
    }
}

#[test]
fn an_hour_of_the_last_dose_counts_to_the_hour() {
    for barn in Barn::each() {
        let plant = barn.plant(Inspection::State);
        let date = barn.date(plant, "2027-10-28");
        let steer = barn.animal(Class::Steer, "229", "1265", None);
        let at = |time: &str| Given { last_dose_time: time.into(), ..given(14, "2027-10-14") };
        let clear = barn.act(|tx, doing| record_treatment(tx, doing, steer, &at("00:00"))).unwrap();
        assert_eq!(clear.earliest, day("2027-10-28"));
        barn.send(steer, Some(date)).unwrap();
        let clear = barn.act(|tx, doing| record_treatment(tx, doing, steer, &at("08:00"))).unwrap();
        assert_eq!((clear.earliest, clear.too_early), (day("2027-10-29"), true));
    }
}

#[test]
fn more_head_than_slots_are_asked_about_not_refused() {
    for barn in Barn::each() {
        let plant = barn.plant(Inspection::Custom);
        let date = barn.date(plant, "2027-10-20");
        let head = ["1", "2", "3"].map(|tag| barn.animal(Class::Steer, tag, "", None));
        barn.send(head[0], Some(date)).unwrap();
        barn.send(head[1], Some(date)).unwrap();
        let says = refused(barn.send(head[2], Some(date)));
        assert_eq!(says.len(), 1);
        assert!(says[0].0 == "over_ok" && says[0].1.starts_with("2 beef slots are booked"), "{says:?}");
        let version = barn.get(head[2]).version;
        barn.act(|tx, doing| send_animal(tx, doing, head[2], version, Some(date), true)).unwrap();
        let stale = barn.act(|tx, doing| send_animal(tx, doing, head[2], version, None, false));
        assert!(matches!(stale, Err(Failure::Stale)));
        let lamb = barn.animal(Class::Lamb, "7", "", None);
        assert!(refused(barn.send(lamb, Some(date)))[0].1.starts_with("No lamb slot is booked"));
    }
}

#[test]
fn a_date_with_head_is_not_cancelled_and_says_whom_it_touches() {
    for barn in Barn::each() {
        let plant = barn.plant(Inspection::Custom);
        let date = barn.date(plant, "2027-10-20");
        let steer = barn.animal(Class::Steer, "229", "1265", Some(date));
        let order = barn.order(1, barn.offering(Species::Beef, 2), Size::Half, None, false);
        barn.place(order, steer, LEFT).unwrap();
        let version = |barn: &Barn| barn.read(|c| Ok(dates::get(c, date)?)).0.version;
        let v = version(&barn);
        let says = refused(barn.act(|tx, doing| cancel_date(tx, doing, date, v, "")));
        assert_eq!(says[0].1, "On this date: Steer 229, with shares of Customer 1. Move them to another date first.");
        let v = barn.read(|c| Ok(plants::get(c, plant)?)).version;
        assert!(refused(barn.act(|tx, doing| retire_processor(tx, doing, plant, v, true)))[0].1.contains("booked"));
        barn.send(steer, None).unwrap();
        let v = version(&barn);
        barn.act(|tx, doing| cancel_date(tx, doing, date, v, "The plant closed")).unwrap();
        assert!(refused(barn.send(steer, Some(date)))[0].1.contains("was cancelled"));
    }
}

#[test]
fn an_animal_is_checked_against_its_class_its_tag_and_the_forms_of_official_numbers() {
    for barn in Barn::each() {
        barn.animal(Class::Steer, "229", "", None);
        let wrong = gambrel::actions::change_animal::AnimalFacts {
            sex: gambrel::trade::vocabulary::Sex::Female,
            official_id: "982 000 123 456 789".into(),
            birth_on: Some(day("2027-10-15")),
            ..Barn::facts(Class::Steer, "229")
        };
        let fields: Vec<_> =
            refused(barn.act(|tx, doing| add_animal(tx, doing, &wrong))).into_iter().map(|(f, _)| f).collect();
        assert_eq!(fields, ["sex", "birth", "official_id", "same_tag_ok"]);
        let right = gambrel::actions::change_animal::AnimalFacts {
            official_id: "840-003-000-000-229".into(),
            same_tag_ok: true,
            ..Barn::facts(Class::Steer, "229")
        };
        let id = barn.act(|tx, doing| add_animal(tx, doing, &right)).unwrap();
        assert_eq!(barn.get(id).official_id, "840003000000229");
    }
}

#[test]
fn charges_are_added_changed_under_the_plants_version_and_retired() {
    for barn in Barn::each() {
        let plant = barn.plant(Inspection::Custom);
        let facts = ChargeFacts {
            name: "Kill fee".into(),
            species: Some(Species::Beef),
            size: None,
            per: Per::Head,
            rate: Rate::parse("95").unwrap(),
            minimum_quantity: None,
            minimum_amount: None,
            billed_by: BilledBy::Processor,
            tax_percent: Percent::ZERO,
            service: None,
        };
        let id = barn.act(|tx, doing| add_charge(tx, doing, plant, &facts)).unwrap();
        let second =
            barn.act(|tx, doing| add_charge(tx, doing, plant, &ChargeFacts { species: None, ..facts.clone() }));
        second.unwrap();
        let dear = ChargeFacts { rate: Rate::parse("105").unwrap(), ..facts.clone() };
        let v = barn.read(|c| Ok(plants::get(c, plant)?)).version;
        barn.act(|tx, doing| change_charge(tx, doing, id, v, &dear)).unwrap();
        assert!(matches!(barn.act(|tx, doing| change_charge(tx, doing, id, v, &facts)), Err(Failure::Stale)));
        let list = barn.read(|c| Ok(plants::charges(c, plant)?));
        assert_eq!(list.iter().map(|c| (c.position, c.rate)).collect::<Vec<_>>(), [(1, dear.rate), (2, facts.rate)]);
        let first = list.first().unwrap();
        assert!(first.applies(Species::Beef, Size::Half) && !first.applies(Species::Hog, Size::Half));
        barn.act(|tx, doing| retire_charge(tx, doing, id)).unwrap();
        assert!(matches!(barn.act(|tx, doing| retire_charge(tx, doing, id)), Err(Failure::NotFound)));
        assert_eq!(barn.read(|c| Ok(plants::charges(c, plant)?)).len(), 1);
        let nothing = ChargeFacts { rate: Rate::default(), ..facts.clone() };
        assert_eq!(refused(barn.act(|tx, doing| add_charge(tx, doing, plant, &nothing)))[0].0, "rate");
    }
}

#[test]
fn today_hears_of_missing_weights_and_of_quarters_free_at_custom_exempt_plants() {
    for barn in Barn::each() {
        let [custom, federal] = [Inspection::Custom, Inspection::Federal].map(|i| barn.plant(i));
        let past = barn.date(federal, "2027-10-14");
        let coming = barn.date(custom, "2027-10-20");
        let inspected = barn.date(federal, "2027-10-21");
        let a = barn.animal(Class::Steer, "1", "1290", Some(past));
        let b = barn.animal(Class::Steer, "2", "1290", Some(past));
        let c = barn.animal(Class::Barrow, "3", "290", Some(coming));
        barn.animal(Class::Barrow, "4", "290", Some(inspected));
        let order = barn.order(1, barn.offering(Species::Hog, 2), Size::Half, None, false);
        barn.place(order, c, LEFT).unwrap();
        let today = day("2027-10-14");
        let missing = |barn: &Barn| {
            let due = barn.read(|c| Ok(dates::without_weights(c, today)?));
            due.into_iter().map(|d| (d.date, d.count)).collect::<Vec<_>>()
        };
        assert_eq!(missing(&barn), [(past, 2)]);
        barn.weigh(past, vec![barn.row(a, sides("389.5", "386"))]).unwrap();
        assert_eq!(missing(&barn), [(past, 1)]);
        barn.weigh(past, vec![barn.row(b, sides("389.5", "386"))]).unwrap();
        assert_eq!(missing(&barn), []);
        let free = barn.read(|c| Ok(dates::custom_exempt_free(c, today)?));
        assert_eq!(free.iter().map(|d| (d.date, d.count)).collect::<Vec<_>>(), [(coming, 2)]);
        let list = barn.read(|c| Ok(dates::past(c, day("2027-10-21"), None, 10)?));
        let list: Vec<_> = list.into_iter().map(|(d, _)| d.id).collect();
        assert_eq!(list, [coming, past]);
        let older = barn.read(|c| Ok(dates::past(c, day("2027-10-21"), Some((day("2027-10-20"), coming)), 10)?));
        assert_eq!(older.into_iter().map(|(d, _)| d.id).collect::<Vec<_>>(), [past]);
    }
}
