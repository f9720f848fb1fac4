//! Offerings and prices of a list: lines of one species and season that divide quarters alike are one offering.

use super::carry::{Fate, Preview};
use crate::actions::message_values::price_of;
use crate::actions::offer::{OfferingIn, PriceIn, add_offering, set_prices};
use crate::actions::{Doing, Failure};
use crate::book::ids::OfferingId;
use crate::book::rows::selling::{Offering, Price};
use crate::book::store::Tx;
use crate::book::{farm, imports};
use crate::trade::dates::full;
use crate::trade::fold::fold;
use crate::trade::import_file::PriceLine;
use crate::trade::money::{Money, Rate};
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{PriceBasis, QuarterPart};
use crate::trade::weight::Unit;
use chrono::NaiveDate;
use std::collections::{BTreeMap, HashMap, HashSet};

type Numbered<'a> = (usize, &'a PriceLine);
/// A price as it is told from others.
type Listed = (OfferingId, Size, NaiveDate, PriceBasis, Option<Rate>, Option<Money>, Money);

/// Species, season and how quarters are divided: what tells offerings apart.
type Words = (Species, String, QuarterPart);

/// What is in the book, and what was added since.
struct Shop {
    offerings: HashMap<Words, (OfferingId, Vec<Size>)>,
    prices: HashSet<Listed>,
    unit: Unit,
}

impl Shop {
    /// The words of a line that does not say how quarters are divided: those of the only offering of its species and season, else of
    /// the one with split sides.
    fn words(&self, species: Species, season: &str, quarters: Option<QuarterPart>) -> Words {
        let there = |q: QuarterPart| self.offerings.contains_key(&(species, season.to_string(), q));
        let usual = match (there(QuarterPart::Split), there(QuarterPart::ForeHind)) {
            (false, true) => QuarterPart::ForeHind,
            _ => QuarterPart::Split,
        };
        (species, season.to_string(), quarters.unwrap_or(usual))
    }
}

fn sizes(o: &Offering) -> Vec<Size> {
    let sold = [(Size::Whole, o.sells_whole), (Size::Half, o.sells_half), (Size::Quarter, o.sells_quarter)];
    sold.into_iter().filter(|(_, is_sold)| *is_sold).map(|(size, _)| size).collect()
}

fn listed(p: &Price) -> Listed {
    (p.offering_id, p.size, p.effective_from, p.basis, p.rate, p.flat_price, p.deposit)
}

/// Puts up what is not there, and adds the prices that are not there.
pub(super) fn carry(tx: &mut Tx, doing: &Doing, all: &mut Preview, lines: &[Numbered<'_>]) -> Result<(), Failure> {
    let c = tx.conn();
    let mut shop = Shop {
        offerings: HashMap::new(),
        prices: imports::prices(c)?.iter().map(listed).collect(),
        unit: farm::get(c)?.unit,
    };
    // Of several with the same words the newest that is open counts.
    let mut in_book = imports::offerings(c)?;
    in_book.sort_by_key(|o| (o.closed_at.is_none(), o.id));
    for o in in_book {
        shop.offerings.insert((o.species, fold(&o.season), o.quarter_part), (o.id, sizes(&o)));
    }
    let mut groups: BTreeMap<usize, Vec<Numbered<'_>>> = BTreeMap::new();
    let mut first_of: HashMap<Words, usize> = HashMap::new();
    // The quarters may stand in the first line of an offering only.
    let mut said: HashMap<(Species, String), QuarterPart> = HashMap::new();
    for (line, price) in lines.iter().copied() {
        let season = fold(&price.season);
        let named = (price.species, season.clone());
        let quarters = price.quarters.or_else(|| said.get(&named).copied());
        if let Some(quarters) = quarters {
            said.insert(named, quarters);
        }
        let first = *first_of.entry(shop.words(price.species, &season, quarters)).or_insert(line);
        groups.entry(first).or_default().push((line, price));
    }
    let words_of: HashMap<usize, Words> = first_of.into_iter().map(|(words, first)| (first, words)).collect();
    for group in groups.values() {
        let Some((first_line, _)) = group.first() else { continue };
        let Some(key) = words_of.get(first_line).cloned() else { continue };
        let stored = shop.offerings.get(&key).cloned();
        let id = match stored {
            Some((id, _)) => id,
            None => {
                let Some(input) = described(all, group, key.2) else { continue };
                let added = add_offering(tx, doing, &input, &[], doing.now.today);
                let Some(id) = all.done(*first_line, added)? else { continue };
                shop.offerings.insert(key.clone(), (id, input.sizes.clone()));
                id
            }
        };
        let is_new = stored.is_none();
        for (line, price) in group.iter().copied() {
            let opened = is_new && line == *first_line;
            add_price(tx, doing, all, &mut shop, &key, id, (line, price), opened)?;
        }
    }
    Ok(())
}

/// The offering that the lines of a group describe; none after a fault.
fn described(all: &mut Preview, group: &[Numbered<'_>], quarters: QuarterPart) -> Option<OfferingIn> {
    let (first_line, first) = group.first()?;
    let mut input = OfferingIn {
        species: first.species,
        season: first.season.clone(),
        head_count: 0,
        sizes: Vec::new(),
        quarter_part: quarters,
        expected_low: None,
        expected_high: None,
        notes: String::new(),
    };
    let mut head = None;
    let mut sold: Vec<Size> = Vec::new();
    let mut priced: Vec<Size> = Vec::new();
    for (line, p) in group {
        if let (Some(one), Some(other)) = (head, p.head_count)
            && one != other
        {
            all.fault(
                *line,
                format!("{other} head stand here, and {one} in an earlier line of this offering. Correct one of them."),
            );
            return None;
        }
        head = head.or(p.head_count);
        sold.extend(&p.sells);
        priced.extend(&p.shares);
        input.expected_low = input.expected_low.or(p.low);
        input.expected_high = input.expected_high.or(p.high);
        if input.notes.is_empty() {
            input.notes.clone_from(&p.notes);
        }
    }
    let Some(head_count) = head else {
        let says = "The head for sale is missing. Write how many there are in the first line of an offering.";
        all.fault(*first_line, says);
        return None;
    };
    let sold = if sold.is_empty() { priced } else { sold };
    input.head_count = head_count;
    input.sizes = Size::ALL.iter().copied().filter(|s| sold.contains(s)).collect();
    Some(input)
}

fn add_price(
    tx: &mut Tx,
    doing: &Doing,
    all: &mut Preview,
    shop: &mut Shop,
    key: &Words,
    id: OfferingId,
    (line, price): Numbered<'_>,
    opened: bool,
) -> Result<(), Failure> {
    let from = price.from.unwrap_or(doing.now.today);
    let names: Vec<&str> = price.shares.iter().map(|s| s.label()).collect();
    let what = format!("{} {}", price.species.label(), price.season);
    let what = if names.is_empty() { what } else { format!("{what}, {}", names.join(" and ")) };
    let key_of = |size: Size| (id, size, from, price.basis, price.rate, price.flat, price.deposit);
    let new: Vec<Size> = price.shares.iter().copied().filter(|s| !shop.prices.contains(&key_of(*s))).collect();
    if new.is_empty() && !opened {
        all.row(line, Fate::There, what, "Nothing is changed.");
        return Ok(());
    }
    let sold = shop.offerings.get(key).map(|(_, sold)| sold.clone()).unwrap_or_default();
    let is_known = |s: &Size| sold.contains(s) || shop.prices.iter().any(|p| p.0 == id && p.1 == *s);
    if let Some(size) = new.iter().find(|s| !opened && price.sells.is_empty() && !is_known(s)) {
        all.fault(line, format!("This offering does not sell a {}. Change it on its page first.", size.label()));
        return Ok(());
    }
    if !new.is_empty() {
        let one = |size: &Size| PriceIn {
            size: *size,
            basis: price.basis,
            rate: price.rate,
            flat_price: price.flat,
            deposit: price.deposit,
        };
        let prices: Vec<PriceIn> = new.iter().map(one).collect();
        let set = set_prices(tx, doing, id, &prices, from);
        if all.done(line, set)?.is_none() {
            return Ok(());
        }
        shop.prices.extend(new.iter().map(|s| key_of(*s)));
    }
    let mut detail = Vec::new();
    if opened {
        detail.push("A new offering".to_string());
    }
    if !new.is_empty() {
        let words = price_of(price.basis, price.rate, price.flat, shop.unit);
        detail.push(format!("{words} from {}, deposit {}", full(from), price.deposit.dollars()));
    }
    all.row(line, Fate::New, what, detail.join("; "));
    Ok(())
}
