//! The planner against every plan there is.

use super::brute;
use super::made_up::{Dice, Kind, problem};
use gambrel::trade::plan::{Problem, broken, plan, score};

#[test]
fn every_tiny_problem_gets_the_first_of_its_best_plans() {
    let cases: u64 = std::env::var("CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(1500);
    let from: u64 = std::env::var("FROM").ok().and_then(|n| n.parse().ok()).unwrap_or(0);
    let mut compared = 0;
    for seed in from..from + cases {
        let problem = tiny(&mut Dice(seed));
        let Some((worth, places)) = brute::best(&problem, 300_000) else { continue };
        let made = plan(&problem, 5000).unwrap();
        let said = format!("seed {seed}\n{problem:#?}\nwanted {worth:?} {places:?}\nmade {made:?}");
        assert_eq!(broken(&problem, &made.places), Vec::<String>::new(), "{said}");
        assert_eq!(made.score, score(&problem, &made.places), "{said}");
        assert_eq!(made.score, worth, "{said}");
        assert_eq!(made.places, places, "{said}");
        assert_eq!((made.bound, made.first), (None, true), "{said}");
        compared += 1;
    }
    println!("compared {compared} of {cases}");
    assert!(compared * 10 > cases * 9, "only {compared} of {cases} could be compared");
}

/// A tiny farm of any kind, small enough to go through every plan there is.
fn tiny(dice: &mut Dice) -> Problem {
    let mut some = |from: usize, to: usize| from + dice.below(to - from + 1);
    let kind = Kind {
        heads: some(1, 4),
        orders: some(1, 6),
        species: [1, 1, 2, 3][some(0, 3)],
        dates: some(1, 3),
        custom: some(0, 1) * some(30, 100),
        taken: some(0, 1) * 40,
        barred: some(0, 1) * 20,
        grouped: some(0, 1) * some(30, 100),
        ranged: some(0, 1) * some(20, 100),
        standing: some(0, 1) * some(20, 90),
        locked: some(0, 1) * 40,
        any_date: some(0, 60),
        paid: some(30, 100),
        pairs: some(0, 1) * 200,
        plants: some(0, 1) == 0,
    };
    problem(kind, dice)
}
