//! What differs between two cut sheets, in sentences: "Ham: “Cured.” becomes “Ground or sausage.”"

use super::instructions::Instruction;

/// What became of one part of a side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Difference {
    /// The part: "Ham".
    pub part: String,
    /// What the sheet said; empty when it said nothing of it.
    pub was: String,
    /// What it says now; empty when it says nothing of it any more.
    pub now: String,
}

impl Difference {
    /// One sentence.
    pub fn says(&self) -> String {
        let Self { part, was, now } = self;
        match (was.is_empty(), now.is_empty()) {
            (true, _) => format!("{part}: “{now}” is new."),
            (_, true) => format!("{part}: “{was}” is dropped."),
            _ => format!("{part}: “{was}” becomes “{now}”"),
        }
    }
}

/// What differs between two sheets, each as parts and their words, in the order of the new one; what is dropped comes last.
pub fn differences<'a>(
    was: impl Iterator<Item = (&'a str, &'a str)> + Clone,
    now: impl Iterator<Item = (&'a str, &'a str)> + Clone,
) -> Vec<Difference> {
    let before = |part: &str| was.clone().find(|(p, _)| *p == part).map_or("", |(_, says)| says);
    let mut all: Vec<Difference> = now
        .clone()
        .filter(|(part, says)| before(part) != *says)
        .map(|(part, says)| Difference { part: part.into(), was: before(part).into(), now: says.into() })
        .collect();
    let gone = was.clone().filter(|(part, _)| !now.clone().any(|(p, _)| p == *part));
    all.extend(gone.map(|(part, says)| Difference { part: part.into(), was: says.into(), now: String::new() }));
    all
}

/// Parts and words of written instructions, with the wish in words as the last part.
pub fn parts<'a>(lines: &'a [Instruction], special: &'a str) -> impl Iterator<Item = (&'a str, &'a str)> + Clone {
    let wish = Some(("Special wish", special)).filter(|(_, says)| !says.is_empty());
    lines.iter().map(|i| (i.part.as_str(), i.says.as_str())).chain(wish)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_differs_is_said() {
        let was = [("Ham", "Cured."), ("Loin", "Chops, 1 inch."), ("Special wish", "No liver")];
        let now = [("Ham", "Ground."), ("Loin", "Chops, 1 inch."), ("Ageing", "Hang 14 days.")];
        let says: Vec<String> = differences(was.into_iter(), now.into_iter()).iter().map(Difference::says).collect();
        assert_eq!(
            says,
            [
                "Ham: “Cured.” becomes “Ground.”",
                "Ageing: “Hang 14 days.” is new.",
                "Special wish: “No liver” is dropped."
            ]
        );
        assert!(differences(was.into_iter(), was.into_iter()).is_empty());
    }
}
