//! A cut sheet filled in by its customer: begun, saved as it stands, sent, and never lost or overwritten unseen.

use crate::support::farm::lb;
use crate::support::{TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::cut_sheet::{SheetIn, save_sheet};
use gambrel::actions::sheet_draft::{Start, begin_draft, draft_of, save_draft, send_draft};
use gambrel::actions::sheet_open::Became;
use gambrel::book::ids::ReservationId;
use gambrel::book::{reservations, sheets};
use gambrel::trade::cuts::questions::{Answers, Kind};
use gambrel::trade::cuts::sheet::Sausage;
use gambrel::trade::share::{Size, Species};
use gambrel::trade::vocabulary::{DepositFate, SheetOrigin};

fn begin(book: &TestBook, order: ReservationId, version: i64, start: &Start) -> Result<(), Failure> {
    book.try_act(|tx, doing| begin_draft(tx, doing, order, version, start, &|_, _| true))
}

fn draft(book: &TestBook, order: ReservationId) -> Option<(i64, SheetIn)> {
    book.read(|c| Ok(draft_of(c, order)?.map(|(d, input)| (d.version, input))))
}

fn save(book: &TestBook, order: ReservationId, version: i64, step: &str, input: &SheetIn) -> Result<i64, Failure> {
    book.try_act(|tx, doing| save_draft(tx, doing, order, version, step, input))
}

fn choose(input: &SheetIn, block: &str, choice: &str) -> SheetIn {
    let mut next = input.clone();
    next.kept.sheet.blocks.insert(block.into(), choice.into());
    next
}

#[test]
fn a_draft_is_kept_as_it_stands_and_sent_when_it_keeps_every_rule() {
    on_each_engine(|book| {
        let order = book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half);
        assert!(matches!(save(book, order, 0, "ham_body", &SheetIn::default()), Err(Failure::Stale)), "never begun");
        begin(book, order, 0, &Start::Standard).unwrap();
        let (version, empty) = draft(book, order).unwrap();
        assert_eq!((version, empty.clone()), (1, SheetIn::default()));
        // Broken rules and all.
        let mut broken = choose(&empty, "loin_blade", "whole_boneless_roast");
        broken.special = "No liver, please".into();
        broken.kept.sheet.sausage = vec![Sausage { seasoning: "maple".into(), form: "bulk".into(), weight: lb("70") }];
        assert_eq!(save(book, order, 1, "loin_blade", &broken).unwrap(), 2);
        assert_eq!(draft(book, order).unwrap(), (2, broken.clone()));
        let refused = book.try_act(|tx, doing| send_draft(tx, doing, order, 2, 0)).unwrap_err();
        let Failure::Refused(problems) = refused else { panic!("{refused:?}") };
        assert!(problems.0.iter().any(|p| p.field.starts_with("block-loin")), "{problems:?}");
        assert!(problems.0.iter().any(|p| p.field == "sausage-1-weight"), "{problems:?}");
        assert_eq!(draft(book, order).unwrap(), (2, broken.clone()), "nothing is lost");
        assert!(book.read(|c| Ok(sheets::of(c, &[order])?)).is_empty());
        // What the catalogue does not know is no choice.
        let unknown = save(book, order, 2, "ham_body", &choose(&empty, "ham_body", "fried")).unwrap_err();
        assert!(unknown.to_string().contains("“fried” is not known here"), "{unknown}");
        let good = choose(&SheetIn { special: broken.special, ..SheetIn::default() }, "ham_body", "grind");
        for stale in [0, 1] {
            assert!(matches!(save(book, order, stale, "ham_body", &good), Err(Failure::Stale)), "version {stale}");
        }
        assert_eq!(save(book, order, 2, "ham_body", &good).unwrap(), 3);
        assert!(matches!(book.try_act(|tx, doing| send_draft(tx, doing, order, 2, 0)), Err(Failure::Stale)));
        assert_eq!(book.act(|tx, doing| send_draft(tx, doing, order, 3, 0)), Became::Saved(1));
        assert_eq!(draft(book, order), None, "a draft no more");
        let stored = book.read(|c| Ok(sheets::of(c, &[order])?.remove(&order))).unwrap();
        assert_eq!((stored.origin, stored.special.as_str()), (SheetOrigin::Entered, "No liver, please"));
        assert!(matches!(book.try_act(|tx, doing| send_draft(tx, doing, order, 3, 1)), Err(Failure::Stale)), "twice");
    });
}

#[test]
fn it_begins_with_the_sheet_that_is_in_or_that_of_last_time() {
    on_each_engine(|book| {
        let offering = book.hogs();
        let ines = book.customer("Ines Halvard");
        let [first, second] = [(); 2].map(|()| book.order(ines, offering, Size::Half));
        let other = book.order(book.customer("Tomas Wren"), offering, Size::Half);
        let nothing = begin(book, second, 0, &Start::LastTime).unwrap_err();
        assert!(nothing.to_string().contains("no sheet of an earlier time"), "{nothing}");
        let ground = SheetIn { special: "Thick rind".into(), ..choose(&SheetIn::default(), "ham_body", "grind") };
        book.act(|tx, doing| save_sheet(tx, doing, first, 0, &ground, SheetOrigin::Entered));
        assert!(begin(book, other, 0, &Start::LastTime).is_err(), "another customer’s sheet");
        begin(book, second, 0, &Start::LastTime).unwrap();
        assert_eq!(draft(book, second).unwrap().1, ground);
        begin(book, first, 0, &Start::Stored).unwrap();
        assert_eq!(draft(book, first).unwrap().1, ground);
        // Of another species there is none.
        let lamb = book.order(ines, book.offering(Species::Lamb, 2, "9.00"), Size::Whole);
        assert!(begin(book, lamb, 0, &Start::LastTime).is_err());
        // Begun again only over what was seen.
        for stale in [0, 7] {
            assert!(matches!(begin(book, first, stale, &Start::Standard), Err(Failure::Stale)));
        }
        begin(book, first, 1, &Start::Standard).unwrap();
        assert_eq!(draft(book, first).unwrap(), (2, SheetIn::default()));
        // The sheet came in another way meanwhile: it is not overwritten unseen.
        book.act(|tx, doing| save_sheet(tx, doing, first, 1, &SheetIn::default(), SheetOrigin::Entered));
        assert!(matches!(book.try_act(|tx, doing| send_draft(tx, doing, first, 2, 1)), Err(Failure::Stale)));
        assert_eq!(book.act(|tx, doing| send_draft(tx, doing, first, 2, 2)), Became::Saved(2), "nothing differs");
    });
}

#[test]
fn three_answers_make_a_draft_that_can_be_sent_at_once() {
    on_each_engine(|book| {
        for (species, rate) in
            [(Species::Beef, "4.75"), (Species::Hog, "5.25"), (Species::Lamb, "9.00"), (Species::Goat, "8.00")]
        {
            let offering = book.offering(species, 4, rate);
            for (kind, bone_in) in [(Kind::Ground, true), (Kind::Balanced, false), (Kind::Roasts, true)] {
                let order = book.order(book.customer("Ines Halvard"), offering, Size::Half);
                begin(book, order, 0, &Start::Questions(Answers { kind, bone_in, eaters: 5 })).unwrap();
                assert_eq!(
                    book.act(|tx, doing| send_draft(tx, doing, order, 1, 0)),
                    Became::Saved(1),
                    "{species} {kind}"
                );
            }
        }
    });
}

#[test]
fn a_cancelled_order_takes_no_cut_sheet_and_a_late_one_becomes_a_wish() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let late = hog.orders[0];
        begin(book, late, 0, &Start::Standard).unwrap();
        // The day of slaughter has come, so the sheets are closed.
        let became = book.act(|tx, doing| send_draft(tx, doing, late, 1, 0));
        assert!(matches!(became, Became::Asked(_)), "{became:?}");
        let open = book.order(book.customer("Owen Sandoz"), hog.offering, Size::Half);
        begin(book, open, 0, &Start::Standard).unwrap();
        let version = book.read(|c| Ok(reservations::get(c, open)?.0.version));
        let cancel = Cancel { version, reason: "moving".into(), fate: DepositFate::None, carry_to: None };
        book.act(|tx, doing| cancel_reservation(tx, doing, open, &cancel));
        let refused = save(book, open, 1, "ham_body", &SheetIn::default()).unwrap_err();
        assert!(refused.to_string().contains("cancelled"), "{refused}");
        let refused = book.try_act(|tx, doing| send_draft(tx, doing, open, 1, 0)).unwrap_err();
        assert!(refused.to_string().contains("cancelled"), "{refused}");
    });
}
