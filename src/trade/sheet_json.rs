//! A cut sheet as it is kept: JSON with the same names as `gambrel reckon take-home` reads, unknown names refused.

use super::cuts::sheet::{Sausage, Sheet, Slice};
use super::weight::Weight;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A sheet with what is known of its carcass beside it.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Kept {
    /// What was chosen.
    pub sheet: Sheet,
    /// Whether the head is kept.
    pub head_on: bool,
    /// Whether a hog was scalded and keeps its skin.
    pub skin_on: bool,
}

#[derive(Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
struct Stored {
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    blocks: BTreeMap<String, String>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    partitions: BTreeMap<String, Vec<StoredSlice>>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    parameters: BTreeMap<String, String>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    sausage: Vec<StoredSausage>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    parts: Vec<String>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    head_on: bool,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    skin_on: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StoredSlice {
    choice: String,
    pieces: u32,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct StoredSausage {
    seasoning: String,
    form: String,
    weight: String,
}

/// Writes a sheet.
///
/// # Errors
/// A sentence, when it cannot be written; that is a fault of ours.
pub fn write(kept: &Kept) -> Result<String, String> {
    let s = kept.sheet.clone();
    let slices =
        |all: Vec<Slice>| all.into_iter().map(|x| StoredSlice { choice: x.choice, pieces: x.pieces }).collect();
    let sausage = |x: Sausage| StoredSausage { seasoning: x.seasoning, form: x.form, weight: x.weight.plain() };
    let stored = Stored {
        blocks: s.blocks,
        partitions: s.partitions.into_iter().map(|(block, all)| (block, slices(all))).collect(),
        parameters: s.parameters,
        sausage: s.sausage.into_iter().map(sausage).collect(),
        parts: s.parts,
        head_on: kept.head_on,
        skin_on: kept.skin_on,
    };
    serde_json::to_string(&stored).map_err(|e| e.to_string())
}

/// Reads a sheet.
///
/// # Errors
/// A sentence, when it is not one.
pub fn read(text: &str) -> Result<Kept, String> {
    let stored: Stored = serde_json::from_str(text).map_err(|e| format!("the stored cut sheet cannot be read: {e}"))?;
    let mut sausage = Vec::new();
    for x in stored.sausage {
        let weight = Weight::parse(&x.weight).map_err(|_| format!("the stored weight “{}” is none", x.weight))?;
        sausage.push(Sausage { seasoning: x.seasoning, form: x.form, weight });
    }
    let slices =
        |all: Vec<StoredSlice>| all.into_iter().map(|x| Slice { choice: x.choice, pieces: x.pieces }).collect();
    Ok(Kept {
        sheet: Sheet {
            blocks: stored.blocks,
            partitions: stored.partitions.into_iter().map(|(block, all)| (block, slices(all))).collect(),
            parameters: stored.parameters,
            sausage,
            parts: stored.parts,
        },
        head_on: stored.head_on,
        skin_on: stored.skin_on,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_written_is_read_back_and_unknown_names_are_refused() {
        let kept = Kept {
            sheet: Sheet {
                blocks: [("ham_body".to_string(), "grind".to_string())].into(),
                partitions: [("rib".to_string(), vec![Slice { choice: "rib_roast_bone_in".into(), pieces: 3 }])].into(),
                parameters: [("pork_chop_in".to_string(), "0.75".to_string())].into(),
                sausage: vec![Sausage {
                    seasoning: "breakfast".into(),
                    form: "bulk".into(),
                    weight: Weight::from_hundredths(1_550),
                }],
                parts: vec!["heart".into()],
            },
            head_on: true,
            skin_on: false,
        };
        assert_eq!(read(&write(&kept).unwrap()), Ok(kept));
        assert_eq!(write(&Kept::default()).unwrap(), "{}");
        assert!(read("{\"block\":{}}").unwrap_err().contains("block"));
    }
}
