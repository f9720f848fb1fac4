//! The last share, and gap-free numbers, with everybody at once on each engine.

use crate::support::on_each_engine;
use gambrel::actions::Failure;
use gambrel::actions::issue_invoices::issue_invoices;
use gambrel::actions::take_reservation::{TakeReservation, Who, take_reservation};
use gambrel::book::{invoices, reservations};
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};
use std::collections::BTreeSet;

#[test]
fn of_eight_who_want_the_last_half_one_has_it_and_seven_wait() {
    on_each_engine(|book| {
        let offering = book.offering(Species::Hog, 1, "5.25");
        book.order(book.customer("First"), offering, Size::Half);
        let people: Vec<_> = (0..8).map(|n| book.customer(&format!("Person{n} Last"))).collect();
        std::thread::scope(|s| {
            for who in people {
                s.spawn(move || book.order(who, offering, Size::Half));
            }
        });
        let (held, waiting) =
            book.read(|c| Ok((reservations::held(c, offering)?.len(), reservations::waiting(c, &[offering])?.len())));
        assert_eq!((held, waiting), (2, 7));
    });
}

#[test]
fn invoices_issued_at_once_have_no_gap_and_no_repeat_though_some_are_rolled_back() {
    on_each_engine(|book| {
        let (offering, plant) = (book.offering(Species::Hog, 8, "5.25"), book.plant());
        let date = book.date(plant, "2027-10-14");
        let orders: Vec<_> =
            (0..16).map(|n| (n, book.order(book.customer(&format!("Person{n} Row")), offering, Size::Half))).collect();
        for pair in orders.chunks(2) {
            let head = book.head(Class::Barrow, &format!("tag{}", pair[0].0), date);
            book.place(pair[0].1, head, Side::Left);
            book.place(pair[1].1, head, Side::Right);
            book.weigh(date, head, "80", "80");
        }
        let balance = book.balance(orders[0].1);
        std::thread::scope(|s| {
            for (n, order) in &orders {
                s.spawn(move || {
                    // Every third first takes its number and then fails: the number must come back.
                    if n % 3 == 0 {
                        let failed = book.try_act(|tx, doing| {
                            issue_invoices(tx, doing, &[(*order, balance)], false)?;
                            Err::<(), _>(Failure::Forbidden)
                        });
                        assert!(matches!(failed, Err(Failure::Forbidden)));
                    }
                    book.act(|tx, doing| issue_invoices(tx, doing, &[(*order, balance)], false));
                });
            }
        });
        let numbers: BTreeSet<String> =
            book.read(|c| Ok(invoices::page(c, None, 50)?.into_iter().map(|((i, ..), _)| i.number).collect()));
        let wanted: BTreeSet<String> = (1..=16).map(|n| format!("I-2027-{n:03}")).collect();
        assert_eq!(numbers, wanted);
    });
}

/// Kept here so that a whole-animal order beside others is held against the same rule.
#[test]
fn a_whole_waits_while_one_side_is_taken() {
    on_each_engine(|book| {
        let offering = book.offering(Species::Hog, 1, "5.25");
        book.order(book.customer("First"), offering, Size::Half);
        let input = TakeReservation {
            who: Who::Known(book.customer("Second")),
            offering,
            size: Size::Whole,
            part: None,
            wishes: String::new(),
            preferred_date: None,
        };
        let id = book.act(|tx, doing| take_reservation(tx, doing, &input));
        assert!(book.read(|c| Ok(reservations::get(c, id)?)).0.waiting_since.is_some());
    });
}
