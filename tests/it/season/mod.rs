//! A random season: acts of all kinds about money, bad ones mixed in, on each engine against a simple model; after each act
//! every rule of `gambrel check` must hold and every balance must be the model's.
//!
//! `GAMBREL_SEASON` is the number of acts (450 on each engine without it), `GAMBREL_SEED` another season.

mod acts;
mod bank;
mod model;

use crate::support::book::HOUR;
use crate::support::{TestBook, on_each_engine};
use acts::Season;
use diesel::prelude::*;
use gambrel::book::check;
use gambrel::book::ledger::documents::{by_ledger, differences};
use gambrel::book::schema::payment;
use gambrel::trade::vocabulary::{BilledBy, Per};
use model::{Model, known};
use std::collections::BTreeMap;

/// A number from the environment.
fn setting(name: &str, otherwise: u64) -> u64 {
    std::env::var(name).ok().map_or(otherwise, |text| text.parse().expect("a whole number"))
}

/// Numbers that look random and are the same every time (xorshift, Marsaglia 2003).
pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 % n.max(1) as u64) as usize
    }
    /// An amount up to `most` cents: often the whole, sometimes nothing, sometimes more than there is.
    pub(crate) fn cents(&mut self, most: i64) -> i64 {
        match self.below(8) {
            0 => 0,
            1 => most + 1 + self.below(5_000) as i64,
            2 | 3 => most,
            _ => 1 + self.below(usize::try_from(most.max(1)).unwrap()) as i64,
        }
    }
}

/// Gives the model the numbers of the payments that the book has since.
fn learn(book: &TestBook, model: &mut Model) {
    let last = model.payments.iter().filter_map(|p| p.id).max().map_or(0, |id| id.0);
    let ids = book.read(|c| {
        let new = payment::table.filter(payment::id.gt(gambrel::book::ids::PaymentId(last)));
        Ok(new.order(payment::id).select(payment::id).load(c)?)
    });
    let mut unknown: Vec<_> = model.payments.iter_mut().filter(|p| p.id.is_none()).collect();
    assert_eq!(unknown.len(), ids.len(), "the book has as many payments as the model");
    for (p, id) in unknown.iter_mut().zip(ids) {
        p.id = Some(id);
    }
}

#[track_caller]
fn agree(book: &TestBook, model: &Model, said: &str) {
    let (checked, mut ledger) = book.read(|c| Ok((check::check(c)?, by_ledger(c)?)));
    for rule in checked {
        assert!(rule.faults.is_empty(), "after {said}: {}: {:?}", rule.rule, rule.faults);
    }
    ledger.retain(|place, _| known(place.account));
    let faults = differences(&ledger, &model.balances());
    assert!(faults.is_empty(), "after {said}, where “the documents” is the model: {faults:#?}");
}

/// A book after so many acts of a random season.
pub(crate) fn played(book: &TestBook, acts: usize, seed: u64) {
    let plant = book.plant();
    book.charge(plant, "Kill fee", Per::Head, "95.00", BilledBy::Processor);
    book.charge(plant, "Smoking", Per::Head, "45.01", BilledBy::Farm);
    let people = ["Ines Halvard", "Tomas Wren", "Odd Lunde", "Ruth Kessel", "Owen Sandoz"].map(|n| book.customer(n));
    let model = Model { people: people.to_vec(), ..Model::default() };
    let offering = book.offering(gambrel::trade::share::Species::Hog, 4_000, "5.25");
    let mut season = Season { book, model, dice: Dice(seed | 1), plant, offering, began: book.now().today };
    for _ in 0..acts {
        book.clock.advance(HOUR * (1 + season.dice.below(30) as i64));
        season.act();
        learn(book, &mut season.model);
    }
}

#[test]
fn a_random_season_keeps_every_rule_after_each_act() {
    let (acts, seed) = (setting("GAMBREL_SEASON", 450), setting("GAMBREL_SEED", 222));
    on_each_engine(|book| {
        let plant = book.plant();
        book.charge(plant, "Kill fee", Per::Head, "95.00", BilledBy::Processor);
        book.charge(plant, "Smoking", Per::Head, "45.01", BilledBy::Farm);
        let people =
            ["Ines Halvard", "Tomas Wren", "Odd Lunde", "Ruth Kessel", "Owen Sandoz"].map(|n| book.customer(n));
        let model = Model { people: people.to_vec(), ..Model::default() };
        let offering = book.offering(gambrel::trade::share::Species::Hog, 4_000, "5.25");
        let mut season = Season { book, model, dice: Dice(seed | 1), plant, offering, began: book.now().today };
        let mut done: BTreeMap<&str, (usize, usize)> = BTreeMap::new();
        for n in 0..acts {
            book.clock.advance(HOUR * (1 + season.dice.below(30) as i64));
            let (what, happened) = season.act();
            let counted = done.entry(what).or_default();
            if happened {
                counted.0 += 1
            } else {
                counted.1 += 1
            }
            learn(book, &mut season.model);
            agree(book, &season.model, &format!("act {n}, {what}, {}", if happened { "done" } else { "refused" }));
        }
        // A season in which something never happened, or was never refused, would prove nothing about it.
        for (what, (happened, refused)) in &done {
            assert!(*happened > 0, "{what} never happened in {acts} acts: {done:?}");
            assert!(
                *refused > 0 || *what == "take" || *what == "weigh" || *what == "line",
                "{what} was never refused: {done:?}"
            );
        }
        assert_eq!(done.len(), acts::KINDS, "{done:?}");
    });
}
