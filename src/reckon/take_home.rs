//! `gambrel reckon take-home`: what comes home of one share by one cut sheet.

use super::Refusal;
use super::json::{Field, Fields, Node};
use crate::trade::cuts::catalogue::Catalogue;
use crate::trade::cuts::common::Common;
use crate::trade::cuts::sheet::{Hanging, Note, Refused, Sausage, Sheet, Slice};
use crate::trade::cuts::take_home::{Band, SausageLine, TakeHome, take_home};
use crate::trade::cuts::{catalogue, common};
use crate::trade::share::{Part, Size, Species};
use crate::trade::vocabulary::Stays;
use serde::Serialize;

crate::words! {
    /// A share as the input names it; a quarter is a split side, a forequarter or hindquarter is one of beef.
    pub enum Share {
        /// One animal.
        Whole = "whole", "whole";
        /// One side.
        Half = "half", "half";
        /// Half of everything of a side.
        Quarter = "quarter", "quarter";
        /// The forequarter, with its own hanging weight.
        Forequarter = "forequarter", "forequarter";
        /// The hindquarter, with its own hanging weight.
        Hindquarter = "hindquarter", "hindquarter";
    }
}

/// The answer, in this order.
#[derive(Serialize)]
pub(super) struct Answer {
    lines: Vec<LineAnswer>,
    ground: Packed,
    sausage: Vec<SausageAnswer>,
    parts: Vec<PartAnswer>,
    packaged: Range,
    percent_of_hanging: String,
    bone: String,
    fat: String,
    loss: String,
    shrink: String,
    freezer_cubic_feet: Feet,
    cautions: Vec<Note>,
}

#[derive(Serialize)]
struct LineAnswer {
    cut: String,
    block: String,
    #[serde(flatten)]
    range: Range,
    pieces: Option<String>,
    packages: String,
}

#[derive(Serialize)]
struct Packed {
    #[serde(flatten)]
    range: Range,
    packages: String,
}

#[derive(Serialize)]
struct SausageAnswer {
    seasoning: String,
    form: String,
    #[serde(flatten)]
    range: Range,
    packages: String,
}

#[derive(Serialize)]
struct PartAnswer {
    part: String,
    expected: String,
}

#[derive(Serialize)]
struct Range {
    low: String,
    expected: String,
    high: String,
}

#[derive(Serialize)]
struct Feet {
    low: String,
    high: String,
}

impl From<Band> for Range {
    fn from(band: Band) -> Self {
        Self { low: band.low.plain(), expected: band.expected.plain(), high: band.high.plain() }
    }
}

impl From<SausageLine> for SausageAnswer {
    fn from(line: SausageLine) -> Self {
        let packages = line.packages.to_string();
        Self { seasoning: line.seasoning, form: line.form, range: line.weight.into(), packages }
    }
}

impl From<TakeHome<'_>> for Answer {
    fn from(home: TakeHome<'_>) -> Self {
        let line = |line: crate::trade::cuts::take_home::Line<'_>| LineAnswer {
            cut: line.cut.to_string(),
            block: line.block.to_string(),
            range: line.weight.into(),
            pieces: line.pieces.map(|p| p.decimal().to_string()),
            packages: line.packages.to_string(),
        };
        let part = |(id, weight): (&str, crate::trade::weight::Weight)| PartAnswer {
            part: id.to_string(),
            expected: weight.plain(),
        };
        Self {
            lines: home.lines.into_iter().map(line).collect(),
            ground: Packed { range: home.ground.into(), packages: home.ground_packages.to_string() },
            sausage: home.sausage.into_iter().map(SausageAnswer::from).collect(),
            parts: home.parts.into_iter().map(part).collect(),
            packaged: home.packaged.into(),
            percent_of_hanging: home.percent_of_hanging.to_string(),
            bone: home.bone.plain(),
            fat: home.fat.plain(),
            loss: home.loss.plain(),
            shrink: home.shrink.plain(),
            freezer_cubic_feet: Feet { low: home.cubic_feet.0.to_string(), high: home.cubic_feet.1.to_string() },
            cautions: home.cautions,
        }
    }
}

pub(super) fn reckon(root: &Node) -> Result<Answer, Refusal> {
    const NAMES: [&str; 8] = ["species", "unit", "hanging_weight", "share", "age_months", "head", "skin", "sheet"];
    let fields = Fields::root(root, &NAMES)?;
    let species: Species = fields.need("species")?.word()?;
    let faulty = |e: &crate::trade::cuts::BadCatalogue| Refusal::new("", e);
    let (catalogue, common) = (catalogue(species).map_err(faulty)?, common().map_err(faulty)?);
    let (size, part) = match fields.need("share")?.word::<Share>()? {
        Share::Whole => (Size::Whole, Part::Split),
        Share::Half => (Size::Half, Part::Split),
        Share::Quarter => (Size::Quarter, Part::Split),
        Share::Forequarter => (Size::Quarter, Part::Fore),
        Share::Hindquarter => (Size::Quarter, Part::Hind),
    };
    let hanging = Hanging {
        species,
        unit: fields.need("unit")?.word()?,
        weight: fields.need("hanging_weight")?.weight()?,
        size,
        part,
        age_months: fields.get("age_months").filter(|f| !f.is_null()).map(|f| f.whole()).transpose()?,
        head_on: stays(&fields, "head", species != Species::Beef, "hog, lamb and goat")?,
        skin_on: stays(&fields, "skin", species == Species::Hog, "hog")?,
    };
    let sheet = sheet(fields.need("sheet")?, catalogue, common)?;
    match take_home(&hanging, &sheet) {
        Ok(home) => Ok(home.into()),
        Err(Refused::Unknown { at, error }) => Err(Refusal::new(at, error)),
        Err(Refused::Broken(broken)) => Err(Refusal::broken(broken)),
    }
}

/// Left out or null is off; for a species that has no such thing it must be left out.
fn stays(fields: &Fields<'_>, name: &str, has: bool, species: &str) -> Result<bool, Refusal> {
    let Some(field) = fields.get(name) else { return Ok(false) };
    if !has {
        return Err(Refusal::new(field.at, format!("“{name}” is only for {species}. Leave it out")));
    }
    if field.is_null() { Ok(false) } else { Ok(field.word::<Stays>()? == Stays::On) }
}

fn sheet(field: Field<'_>, catalogue: &Catalogue, common: &Common) -> Result<Sheet, Refusal> {
    if field.is_text() {
        return match field.name()?.as_str() {
            "standard" => Ok(Sheet::default()),
            _ => Err(Refusal::new(field.at, "Give “standard”, or the sheet as an object, in { }")),
        };
    }
    let fields = field.object(&["blocks", "partitions", "parameters", "sausage", "parts"])?;
    let blocks: Vec<&str> = catalogue.blocks.iter().map(|b| b.id.as_str()).collect();
    let parameters: Vec<&str> = common.parameters(catalogue.species).map(|p| p.id.as_str()).collect();
    let mut sheet = Sheet::default();
    for (id, field) in entries(&fields, "blocks", &blocks)? {
        sheet.blocks.insert(id.to_string(), field.name()?);
    }
    for (id, field) in entries(&fields, "partitions", &blocks)? {
        let at = field.at.clone();
        let slices = field.list()?.into_iter().map(slice).collect::<Result<Vec<_>, _>>()?;
        if slices.is_empty() {
            return Err(Refusal::new(at, "This list is empty. Give a choice and its pieces, or leave the block out"));
        }
        sheet.partitions.insert(id.to_string(), slices);
    }
    for (id, field) in entries(&fields, "parameters", &parameters)? {
        sheet.parameters.insert(id.to_string(), field.name()?);
    }
    sheet.sausage = fields.list("sausage")?.into_iter().map(sausage).collect::<Result<_, _>>()?;
    sheet.parts = fields.list("parts")?.into_iter().map(|field| field.name()).collect::<Result<_, _>>()?;
    Ok(sheet)
}

/// The entries of an object that may be left out, with only these names.
fn entries<'a, 'n>(fields: &Fields<'a>, name: &str, names: &[&'n str]) -> Result<Vec<(&'n str, Field<'a>)>, Refusal> {
    let Some(field) = fields.get(name) else { return Ok(Vec::new()) };
    let inner = field.object(names)?;
    Ok(names.iter().filter_map(|id| Some((*id, inner.get(id)?))).collect())
}

fn slice(field: Field<'_>) -> Result<Slice, Refusal> {
    let fields = field.object(&["choice", "pieces"])?;
    let pieces = fields.need("pieces")?;
    let slice = Slice { choice: fields.need("choice")?.name()?, pieces: pieces.whole()? };
    if slice.pieces == 0 {
        return Err(Refusal::new(pieces.at, "This choice gets no pieces. Give it at least 1, or leave it out"));
    }
    Ok(slice)
}

fn sausage(field: Field<'_>) -> Result<Sausage, Refusal> {
    let fields = field.object(&["seasoning", "form", "weight"])?;
    Ok(Sausage {
        seasoning: fields.need("seasoning")?.name()?,
        form: fields.need("form")?.name()?,
        weight: fields.need("weight")?.weight()?,
    })
}
