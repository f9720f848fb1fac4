//! The trade's words as people write them in lists.

use crate::trade::animal::Class;
use crate::trade::fold::fold;
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::{PayMethod, PriceBasis, QuarterPart, Sex};

/// The words of a cell: "Half-beef (split)" becomes "half beef split".
fn tokens(text: &str) -> Vec<String> {
    let plain =
        text.replace('½', " half ").replace('¼', " quarter ").replace("1/2", " half ").replace("1/4", " quarter ");
    fold(&plain).split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(String::from).collect()
}

fn species_of(word: &str) -> Option<Species> {
    match word {
        "beef" | "cattle" | "beeves" | "bovine" => Some(Species::Beef),
        "hog" | "hogs" | "pig" | "pigs" | "pork" | "swine" => Some(Species::Hog),
        "lamb" | "lambs" | "sheep" | "mutton" => Some(Species::Lamb),
        "goat" | "goats" | "chevon" => Some(Species::Goat),
        _ => None,
    }
}

/// A species among other words.
pub(super) fn species(text: &str) -> Option<Species> {
    tokens(text).iter().find_map(|w| species_of(w))
}

/// A share: its size, which quarter, and the species where it stands there too.
pub(super) fn share(text: &str) -> Option<(Size, Option<Part>, Option<Species>)> {
    let words = tokens(text);
    let size = words.iter().find_map(|w| match w.as_str() {
        "whole" | "full" | "1" => Some((Size::Whole, None)),
        "half" | "halves" | "side" => Some((Size::Half, None)),
        "quarter" | "qtr" | "quarters" => Some((Size::Quarter, None)),
        "forequarter" | "fore" | "front" => Some((Size::Quarter, Some(Part::Fore))),
        "hindquarter" | "hind" => Some((Size::Quarter, Some(Part::Hind))),
        _ => None,
    });
    let (size, part) = match size? {
        (Size::Half, _) if words.iter().any(|w| w == "split") && words.iter().any(|w| w == "quarter") => {
            (Size::Quarter, None)
        }
        found => found,
    };
    let part = part.or_else(|| {
        let says = |of: &[&str]| words.iter().any(|w| of.contains(&w.as_str()));
        match size {
            Size::Quarter if says(&["fore", "forequarter", "front"]) => Some(Part::Fore),
            Size::Quarter if says(&["hind", "hindquarter", "rear"]) => Some(Part::Hind),
            _ => None,
        }
    });
    Some((size, part, words.iter().find_map(|w| species_of(w))))
}

/// Shares between commas, slashes or "and": "whole, half".
pub(super) fn shares(text: &str) -> Option<Vec<Size>> {
    let text = text.replace("1/2", "half").replace("1/4", "quarter");
    let pieces = text.split([',', ';', '/', '+', '&']).flat_map(|p| p.split(" and ")).map(str::trim);
    let found: Option<Vec<Size>> = pieces.filter(|p| !p.is_empty()).map(|p| share(p).map(|s| s.0)).collect();
    let mut found = found.filter(|all| !all.is_empty())?;
    let mut seen = Vec::new();
    found.retain(|size| {
        let is_new = !seen.contains(size);
        seen.push(*size);
        is_new
    });
    Some(found)
}

/// A class, alone or with the species beside it ("beef steer").
pub(super) fn class(text: &str) -> Option<Class> {
    let folded = fold(text).replace(['_', '-'], " ");
    let is = |c: &&Class| c.label() == folded || c.label() == folded.trim_end_matches('s');
    if let Some(found) = Class::ALL.iter().find(is) {
        return Some(*found);
    }
    let words = tokens(text);
    let rest: Vec<&str> = words.iter().map(String::as_str).filter(|w| species_of(w).is_none()).collect();
    let rest = rest.join(" ");
    Class::ALL.iter().find(|c| !rest.is_empty() && c.label() == rest).copied()
}

/// A sex.
pub(super) fn sex(text: &str) -> Option<Sex> {
    match fold(text).trim_end_matches('.') {
        "female" | "f" | "ewe" | "doe" => Some(Sex::Female),
        "male" | "intact male" | "m" | "intact" | "ram" | "buck" => Some(Sex::Male),
        "castrated" | "castrated male" | "c" | "wether" | "neutered" => Some(Sex::Castrated),
        _ => None,
    }
}

/// Yes or no.
pub(super) fn yes(text: &str) -> Option<bool> {
    match fold(text).as_str() {
        "yes" | "y" | "x" | "true" | "1" | "on" => Some(true),
        "no" | "n" | "false" | "0" | "off" | "" => Some(false),
        _ => None,
    }
}

/// How money changed hands; a word with a number behind it gives the reference too ("check 1204").
pub(super) fn method(text: &str) -> Option<(PayMethod, String)> {
    let words = tokens(text);
    let (first, rest) = words.split_first()?;
    let method = match first.as_str() {
        "cash" => PayMethod::Cash,
        "check" | "checks" | "ck" | "chk" => PayMethod::Check,
        "card" | "credit" | "debit" => PayMethod::Card,
        "transfer" | "bank" | "ach" | "wire" | "eft" => PayMethod::Transfer,
        "other" => PayMethod::Other,
        _ => return None,
    };
    let number = rest.iter().find(|w| w.bytes().any(|b| b.is_ascii_digit())).cloned().unwrap_or_default();
    Some((method, number))
}

/// What a price is reckoned on.
pub(super) fn basis(text: &str) -> Option<PriceBasis> {
    let words = tokens(text);
    let says = |of: &[&str]| words.iter().any(|w| of.contains(&w.as_str()));
    if says(&["live"]) {
        Some(PriceBasis::Live)
    } else if says(&["flat", "fixed", "each", "piece"]) {
        Some(PriceBasis::Flat)
    } else if says(&["hanging", "hot", "carcass", "rail", "lb", "lbs", "kg", "pound"]) {
        Some(PriceBasis::Hanging)
    } else {
        None
    }
}

/// How quarters are divided.
pub(super) fn quarters(text: &str) -> Option<QuarterPart> {
    let words = tokens(text);
    let says = |of: &[&str]| words.iter().any(|w| of.contains(&w.as_str()));
    if says(&["split", "even", "mixed"]) {
        Some(QuarterPart::Split)
    } else if says(&["fore", "hind", "forequarter", "hindquarter", "front"]) {
        Some(QuarterPart::ForeHind)
    } else {
        None
    }
}
