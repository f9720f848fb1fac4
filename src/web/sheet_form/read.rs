//! Fields of a cut-sheet form read into a sheet. What the catalogue does not know is refused by its rules, at the same field.

use super::SAUSAGES;
use crate::actions::cut_sheet::{LONGEST_WISH, SheetIn};
use crate::trade::cuts::catalogue::{Block, Catalogue};
use crate::trade::cuts::common::{Common, Parameter};
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::sheet::{Sausage, Sheet, Slice};
use crate::trade::sheet_json::Kept;
use crate::web::look::form::FormIn;

/// A whole sheet.
pub fn sheet(form: &mut FormIn, catalogue: &Catalogue, common: &Common) -> SheetIn {
    let mut input = SheetIn::default();
    let sheet = &mut input.kept.sheet;
    for b in &catalogue.blocks {
        block(form, catalogue, b, sheet);
    }
    for p in common.parameters(catalogue.species) {
        parameter(form, p, sheet);
    }
    sausages(form, sheet);
    parts(form, &mut input.kept);
    special(form, &mut input);
    input
}

/// One block: its choice, or the two its pieces are given out to. Replaces what the sheet says of it.
pub fn block(form: &mut FormIn, catalogue: &Catalogue, block: &Block, sheet: &mut Sheet) {
    let (first, second) = (form.line(&format!("block-{}", block.id)), form.line(&format!("second-{}", block.id)));
    sheet.blocks.remove(&block.id);
    sheet.partitions.remove(&block.id);
    if let (Some(pieces), false) = (&block.pieces, second.is_empty()) {
        let field = format!("pieces-{}", block.id);
        let most = i64::from(pieces.number.saturating_sub(1)).max(1);
        let Some(n) = form.whole_number(&field, &format!("{}, pieces", upper(&block.name)), 1..=most) else { return };
        let n = u32::try_from(n).unwrap_or(1);
        let standard = catalogue.standard(block, false).map(|c| c.id.clone()).unwrap_or_default();
        let first = if first.is_empty() { standard } else { first };
        let rest = pieces.number.saturating_sub(n);
        let slices = vec![Slice { choice: first, pieces: rest }, Slice { choice: second, pieces: n }];
        sheet.partitions.insert(block.id.clone(), slices);
    } else if !first.is_empty() {
        sheet.blocks.insert(block.id.clone(), first);
    }
}

/// One parameter.
pub fn parameter(form: &FormIn, p: &Parameter, sheet: &mut Sheet) {
    let value = form.line(&format!("param-{}", p.id));
    if value.is_empty() {
        sheet.parameters.remove(&p.id);
    } else {
        sheet.parameters.insert(p.id.clone(), value);
    }
}

/// The sausages.
pub fn sausages(form: &mut FormIn, sheet: &mut Sheet) {
    sheet.sausage.clear();
    for n in 1..=SAUSAGES {
        let seasoning = form.line(&format!("sausage-{n}-seasoning"));
        let field = format!("sausage-{n}-weight");
        if seasoning.is_empty() {
            if !form.is_blank(&field) {
                form.problem(&field, "Choose a seasoning for this sausage, or clear its weight.");
            }
            continue;
        }
        let form_of = form.line(&format!("sausage-{n}-form"));
        if let Some(weight) = form.weight(&field, "Sausage, weight") {
            let form_of = if form_of.is_empty() { "bulk".into() } else { form_of };
            sheet.sausage.push(Sausage { seasoning, form: form_of, weight });
        }
    }
}

/// Parts of the animal, and whether head and skin are kept.
pub fn parts(form: &FormIn, kept: &mut Kept) {
    kept.sheet.parts = form.all("parts");
    (kept.head_on, kept.skin_on) = (form.tick("head_on"), form.tick("skin_on"));
}

/// The wish in words.
pub fn special(form: &mut FormIn, input: &mut SheetIn) {
    if let Some(words) = form.optional_lines("special", "Special wish", LONGEST_WISH) {
        input.special = words;
    }
}
