//! The largest problems there may be: they end, break no rule and keep their bounds, on a thread of the usual size.

use super::made_up::{Dice, Kind, problem};
use gambrel::trade::plan::{broken, plan};

fn kind(species: usize, dates: usize) -> Kind {
    Kind {
        heads: 300,
        orders: 1000,
        species,
        dates,
        custom: 60,
        taken: 10,
        barred: 5,
        grouped: 15,
        ranged: 30,
        standing: 50,
        locked: 10,
        any_date: 20,
        paid: 60,
        pairs: 100,
        plants: false,
    }
}

fn look(kind: Kind) {
    let problem = problem(kind, &mut Dice(5));
    let made = plan(&problem, 300).unwrap();
    assert_eq!(broken(&problem, &made.places), Vec::<String>::new());
    let bound = made.bound.unwrap();
    // The first criterion is within three per cent even in so little time.
    if bound.criterion.as_str() == "paid" {
        assert!((bound.value - made.score.paid) * 33 < made.score.paid, "{bound:?} {:?}", made.score);
    }
}

#[test]
fn a_thousand_reservations_of_four_species() {
    look(kind(4, 20));
}

#[test]
fn a_thousand_reservations_of_one_species_on_one_date() {
    look(kind(1, 1));
}

#[test]
fn a_thousand_reservations_of_one_species() {
    look(kind(1, 20));
}
