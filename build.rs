//! Tells cargo that a new migration folder means a new binary, and refuses to build with a cut catalogue whose figures do not
//! add up to 100 per cent, or a choice of which nobody has said what it is good for.

use std::error::Error;
use toml::{Table, Value};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=migrations");
    println!("cargo:rerun-if-changed=src/trade/cuts/data");
    for species in ["beef", "hog", "lamb", "goat"] {
        let path = format!("src/trade/cuts/data/{species}.toml");
        let text = std::fs::read_to_string(&path).map_err(|e| format!("{path}: {e}"))?;
        let catalogue: Table = text.parse()?;
        add_up(&catalogue).map_err(|e| format!("{path}: {e}"))?;
        let path = format!("src/trade/cuts/data/guide/{species}.toml");
        let guide = std::fs::read_to_string(&path).map_err(|e| format!("{path}: {e}"))?;
        words(&catalogue, &guide.parse()?).map_err(|e| format!("{path}: {e}"))?;
    }
    Ok(())
}

/// The shares of all blocks are 100 per cent, and so is every choice of each.
fn add_up(catalogue: &Table) -> Result<(), String> {
    let mut shares = 0;
    for block in list(catalogue, "block")? {
        shares += figure(block.get("share"))?;
        for choice in list(block, "choice")? {
            let cuts = choice.get("cut").and_then(Value::as_table).ok_or("a choice has no cuts")?;
            let mut sum = 0;
            for cut in cuts.values() {
                sum += figure(Some(cut))?;
            }
            for name in ["grind", "bone", "fat", "loss"] {
                sum += choice.get(name).map_or(Ok(0), |value| figure(Some(value)))?;
            }
            hundred(sum, &format!("{:?} of {:?}", choice.get("id"), block.get("id")))?;
        }
    }
    hundred(shares, "the blocks")
}

/// Every choice has words that say what it is good for.
fn words(catalogue: &Table, guide: &Table) -> Result<(), String> {
    let guide = guide.get("guide").and_then(Value::as_table).ok_or("there is no guide")?;
    for block in list(catalogue, "block")? {
        let id = block.get("id").and_then(Value::as_str).ok_or("a block has no id")?;
        let good_for = guide.get(id).and_then(|g| g.get("good_for")).ok_or(format!("{id} has no guide"))?;
        for choice in list(block, "choice")? {
            let choice = choice.get("id").and_then(Value::as_str).ok_or("a choice has no id")?;
            if good_for.get(choice).and_then(Value::as_str).is_none_or(|words| words.trim().is_empty()) {
                return Err(format!("{id}.{choice} has no words"));
            }
        }
    }
    Ok(())
}

fn list<'a>(table: &'a Table, name: &str) -> Result<Vec<&'a Table>, String> {
    let list = table.get(name).and_then(Value::as_array).ok_or(format!("there is no {name}"))?;
    Ok(list.iter().filter_map(Value::as_table).collect())
}

/// A decimal string in hundredths.
fn figure(value: Option<&Value>) -> Result<i64, String> {
    let text = value.and_then(Value::as_str).ok_or("a figure is not a string")?;
    let (whole, places) = text.split_once('.').unwrap_or((text, ""));
    if places.len() > 2 {
        return Err(format!("{text} has more than two decimals"));
    }
    format!("{whole}{places:0<2}").parse().map_err(|_| format!("{text} is not a figure"))
}

fn hundred(sum: i64, what: &str) -> Result<(), String> {
    if sum == 10_000 { Ok(()) } else { Err(format!("{what} add up to {sum} hundredths of a per cent, not to 10000")) }
}
