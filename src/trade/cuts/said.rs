//! What comes home, in words: pieces, packs, ranges.

use super::catalogue::{Catalogue, Count};
use super::pieces::Quarters;
use super::sheet::listed;
use super::take_home::Line;
use crate::trade::decimal::round_fixed;
use crate::trade::weight::{Unit, Weight};
use rust_decimal::RoundingStrategy;

/// "1 pack", "7 packs".
pub fn packs(n: i64) -> String {
    format!("{n} pack{}", if n == 1 { "" } else { "s" })
}

/// "17–21 lb", with tenths below 10; one figure where both are the same.
pub fn range(low: Weight, high: Weight, unit: Unit) -> String {
    let whole = |w: Weight| round_fixed(w.decimal(), 0).unwrap_or(0).to_string();
    let tenth = |w: Weight| {
        w.decimal().round_dp_with_strategy(1, RoundingStrategy::MidpointAwayFromZero).normalize().to_string()
    };
    let is_large = round_fixed(high.decimal(), 0).unwrap_or(0) >= 10;
    let (low, high) = if is_large { (whole(low), whole(high)) } else { (tenth(low), tenth(high)) };
    if low == high { format!("{low} {unit}") } else { format!("{low}–{high} {unit}") }
}

/// A number of pieces: "14", "6–7" where half a piece is left over, "1½" where there are few.
pub fn number(pieces: Quarters) -> String {
    let (whole, rest) = (pieces.0 / 4, pieces.0 % 4);
    let part = match rest {
        1 => "¼",
        2 => "½",
        3 => "¾",
        _ => return whole.to_string(),
    };
    match whole {
        0 => part.to_string(),
        1 | 2 => format!("{whole}{part}"),
        _ => format!("{whole}–{}", whole.saturating_add(1)),
    }
}

/// The name of more than one: "rib steaks", "fresh hams with skin", "leg, butt halves".
pub fn plural(name: &str) -> String {
    if let Some((head, rest)) = name.split_once(" with ") {
        return format!("{} with {rest}", plural(head));
    }
    if let Some((head, rest)) = name.split_once(" on the ") {
        return format!("{} on the {rest}", plural(head));
    }
    if let Some((head, _)) = name.split_once(", ")
        && head.ends_with('s')
    {
        return name.to_string();
    }
    match name {
        n if n.ends_with('s') || n.ends_with("feet") || n.ends_with("meat") => n.to_string(),
        n => match n.strip_suffix("half") {
            Some(stem) => format!("{stem}halves"),
            None => format!("{n}s"),
        },
    }
}

/// The name of one, of what is named as more: "cured ham half".
fn singular(name: &str) -> Option<String> {
    let half = name.strip_suffix("halves").map(|stem| format!("{stem}half"));
    half.or_else(|| name.strip_suffix("slices").map(|stem| format!("{stem}slice")))
}

/// One cut as it comes home: "about 14 rib steaks in 7 packs, 17–21 lb".
pub fn line(catalogue: &Catalogue, line: &Line<'_>, unit: Unit) -> String {
    let range = range(line.weight.low, line.weight.high, unit);
    let count = catalogue.cuts.get(line.cut).map(|c| &c.count);
    let Some(pieces) = line.pieces else {
        let packs = if line.packages > 0 { format!(" in {}", packs(line.packages)) } else { String::new() };
        return format!("{range} of {}{packs}", line.name);
    };
    // Ribs come as slabs; what has no singular is weighed, not counted.
    if plural(line.name) == line.name && singular(line.name).is_none() {
        if !line.name.contains("ribs") {
            return format!("{range} of {}", line.name);
        }
        let slabs = if pieces > Quarters::whole(1) { "slabs" } else { "slab" };
        return format!("{} {slabs} of {}, {range}", number(pieces), line.name);
    }
    // A cut of which there is one on a side is counted, not estimated.
    let about = match count {
        Some(Count::Slice { .. } | Count::DoubleSlice { .. } | Count::Roast) => "about ",
        _ => "",
    };
    let name = if pieces > Quarters::whole(1) {
        plural(line.name)
    } else {
        singular(line.name).unwrap_or_else(|| line.name.to_string())
    };
    let in_packs = if Quarters::whole(line.packages) == pieces || line.packages == 0 || pieces < Quarters::whole(1) {
        String::new()
    } else {
        format!(" in {}", packs(line.packages))
    };
    format!("{about}{} {name}{in_packs}, {range}", number(pieces))
}

/// Several things that come home, as one sentence without its full stop.
pub fn all(lines: &[String]) -> String {
    // What holds commas is set apart by semicolons.
    if lines.iter().any(|l| l.contains(',')) {
        return lines.join("; ");
    }
    listed(&lines.iter().map(String::as_str).collect::<Vec<_>>(), "and")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_are_as_fine_as_they_deserve() {
        let r = |low, high| range(Weight::from_hundredths(low), Weight::from_hundredths(high), Unit::Lb);
        assert_eq!(r(1_660, 2_050), "17–21 lb");
        assert_eq!(r(355, 445), "3.6–4.5 lb");
        assert_eq!(r(200, 204), "2 lb");
        let n = |quarters| number(Quarters(quarters));
        assert_eq!([n(56), n(26), n(6), n(2), n(4)], ["14", "6–7", "1½", "½", "1"]);
        assert_eq!([packs(1), packs(7)], ["1 pack", "7 packs"]);
    }

    #[test]
    fn more_than_one_is_named_as_people_say_it() {
        let all =
            ["rib steak", "fresh ham with skin", "leg, butt half", "back ribs", "feet", "jowl on the head"].map(plural);
        assert_eq!(
            all,
            ["rib steaks", "fresh hams with skin", "leg, butt halves", "back ribs", "feet", "jowls on the head"]
        );
        assert_eq!(singular("cured ham halves").as_deref(), Some("cured ham half"));
        assert_eq!((singular("kidneys"), singular("rib steak")), (None, None));
        assert_eq!(plural("spareribs, St. Louis trim"), "spareribs, St. Louis trim");
    }
}
