//! What a processor enters on its page, as it is kept until the farm takes it, and how two of them differ.

use super::carcass::Hung;
use super::money::Overflow;
use super::vocabulary::{CarcassBasis, EntryKind};
use super::weight::Weight;
use chrono::NaiveDate;
use serde::{Deserialize, Serialize};

/// The longest words of an entry, in characters.
pub const WORDS: usize = 500;
/// The most boxes of one share.
pub const MOST_BOXES: i64 = 500;

/// One entry.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum Entered {
    /// What became of a head.
    Carcass(Carcass),
    /// What a share came to.
    Boxes(Boxes),
    /// The day everything is ready.
    Ready {
        /// That day.
        on: NaiveDate,
    },
    /// Words to the farm.
    Note {
        /// The words.
        words: String,
    },
}

/// What became of a head, at the scale.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Carcass {
    /// The day of weighing.
    pub weighed_on: NaiveDate,
    /// Hot or cold.
    pub basis: CarcassBasis,
    /// Whether the head was on.
    pub head_on: bool,
    /// Whether the skin was on.
    pub skin_on: bool,
    /// The plant's number, or empty.
    pub number: String,
    /// What became of it.
    pub fate: Fate,
}

/// Whether it hung.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// It hung; perhaps without condemned parts.
    Hung {
        /// The weights.
        hung: Hung,
        /// The condemned parts and why; `None` when nothing was.
        condemned_parts: Option<String>,
    },
    /// The whole carcass was condemned, and why.
    Condemned(String),
    /// It was lost before slaughter, and why.
    Lost(String),
}

/// What a share came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Boxes {
    /// How many boxes, 0 to [`MOST_BOXES`].
    pub boxes: i64,
    /// What they weigh in the farm's unit; `None` when it was not weighed.
    pub packaged: Option<Weight>,
    /// Where they stand, or empty.
    pub words: String,
}

impl Entered {
    /// What it is about.
    pub const fn kind(&self) -> EntryKind {
        match self {
            Self::Carcass(_) => EntryKind::Carcass,
            Self::Boxes(_) => EntryKind::Boxes,
            Self::Ready { .. } => EntryKind::Ready,
            Self::Note { .. } => EntryKind::Note,
        }
    }

    /// As it is stored.
    ///
    /// # Errors
    /// A sentence for the log; it does not happen with these values.
    pub fn document(&self) -> Result<String, String> {
        serde_json::to_string(self).map_err(|e| format!("an entry of the plant cannot be written: {e}"))
    }

    /// Read back.
    ///
    /// # Errors
    /// A sentence for the log when it is none, or a weight in it is below nothing or above the limit.
    pub fn read(document: &str) -> Result<Self, String> {
        let entered: Self =
            serde_json::from_str(document).map_err(|e| format!("an entry of the plant cannot be read: {e}"))?;
        let weights = match &entered {
            Self::Carcass(Carcass { fate: Fate::Hung { hung, .. }, .. }) => weights(*hung),
            Self::Boxes(b) => b.packaged.into_iter().collect(),
            _ => Vec::new(),
        };
        match weights.iter().find(|w| !(0..=Weight::LIMIT).contains(&w.hundredths())) {
            Some(w) => Err(format!("an entry of the plant has a weight of {} hundredths", w.hundredths())),
            None => Ok(entered),
        }
    }
}

/// The weights of a carcass as they were weighed, left before right, fore before hind.
pub fn weights(hung: Hung) -> Vec<Weight> {
    match hung {
        Hung::Total(total) => vec![total],
        Hung::Sides { left, right } => vec![left, right],
        Hung::Quarters { left_fore, left_hind, right_fore, right_hind } => {
            vec![left_fore, left_hind, right_fore, right_hind]
        }
    }
}

impl Carcass {
    /// "389.5 + 380 lb, hot", "condemned: bruised", in the farm's unit.
    ///
    /// # Errors
    /// [`Overflow`] when the weights add up to more than a weight can be.
    pub fn says(&self, unit: &str) -> Result<String, Overflow> {
        Ok(match &self.fate {
            Fate::Hung { hung, condemned_parts } => {
                let each = weights(*hung);
                let parts: Vec<_> = each.iter().map(|w| w.short()).collect();
                let total = match each.len() {
                    0 | 1 => String::new(),
                    _ => format!(" = {}", hung.total()?.short()),
                };
                let without = condemned_parts.as_ref().map(|p| format!("; condemned: {p}")).unwrap_or_default();
                format!("{}{total} {unit}, {}{without}", parts.join(" + "), self.basis.as_str())
            }
            Fate::Condemned(why) => format!("The whole carcass was condemned: {why}"),
            Fate::Lost(why) => format!("Lost before slaughter: {why}"),
        })
    }
}

impl Boxes {
    /// "3 boxes, 96.5 lb, freezer B".
    pub fn says(&self, unit: &str) -> String {
        let boxes = format!("{} {}", self.boxes, if self.boxes == 1 { "box" } else { "boxes" });
        let packaged = self.packaged.map(|w| format!("{} {unit} packaged", w.short()));
        let words = Some(self.words.clone()).filter(|w| !w.is_empty());
        [Some(boxes), packaged, words].into_iter().flatten().collect::<Vec<_>>().join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lb(text: &str) -> Weight {
        Weight::parse(text).unwrap()
    }

    fn carcass(fate: Fate) -> Carcass {
        Carcass {
            weighed_on: "2027-10-14".parse().unwrap(),
            basis: CarcassBasis::Hot,
            head_on: false,
            skin_on: false,
            number: "4502".into(),
            fate,
        }
    }

    #[test]
    fn what_was_entered_reads_back_as_it_was() {
        let hung = Hung::Sides { left: lb("389.5"), right: lb("380") };
        for entered in [
            Entered::Carcass(carcass(Fate::Hung { hung, condemned_parts: Some("liver, abscess".into()) })),
            Entered::Carcass(carcass(Fate::Hung { hung: Hung::Total(lb("187.1")), condemned_parts: None })),
            Entered::Carcass(carcass(Fate::Condemned("fever".into()))),
            Entered::Carcass(carcass(Fate::Lost("died in the pen".into()))),
            Entered::Boxes(Boxes { boxes: 3, packaged: Some(lb("96.5")), words: "freezer B".into() }),
            Entered::Ready { on: "2027-11-03".parse().unwrap() },
            Entered::Note { words: "Þóra says “hello”".into() },
        ] {
            let document = entered.document().unwrap();
            assert_eq!(Entered::read(&document), Ok(entered), "{document}");
        }
        for bad in [
            "",
            "{}",
            r#"{"kind":"ready","on":"soon"}"#,
            r#"{"kind":"boxes","boxes":1,"packaged":-1,"words":""}"#,
            r#"{"kind":"boxes","boxes":1,"packaged":10000000,"words":""}"#,
        ] {
            assert!(Entered::read(bad).is_err(), "{bad}");
        }
    }

    #[test]
    fn an_entry_says_what_it_is() {
        let hung = Hung::Sides { left: lb("389.5"), right: lb("380") };
        let says = |fate| carcass(fate).says("lb").unwrap();
        assert_eq!(says(Fate::Hung { hung, condemned_parts: None }), "389.5 + 380 = 769.5 lb, hot");
        assert_eq!(
            says(Fate::Hung { hung: Hung::Total(lb("187.1")), condemned_parts: Some("liver".into()) }),
            "187.1 lb, hot; condemned: liver"
        );
        assert_eq!(says(Fate::Condemned("fever".into())), "The whole carcass was condemned: fever");
        let boxes = Boxes { boxes: 1, packaged: Some(lb("96.5")), words: String::new() };
        assert_eq!(boxes.says("lb"), "1 box, 96.5 lb packaged");
        let largest = Hung::Sides { left: Weight::from_hundredths(Weight::LIMIT), right: lb("1") };
        assert!(carcass(Fate::Hung { hung: largest, condemned_parts: None }).says("lb").is_err());
    }
}
