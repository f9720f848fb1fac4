//! Parts there are few of on an animal, such as its heart: claimed by time of deposit, shared out where they can be cut.

use super::Turn;
use crate::trade::cuts::catalogue::{Catalogue, Part};

/// What one owner of the animal asks for.
#[derive(Debug, Clone, Copy)]
pub struct Claim<'a> {
    /// Ids of parts.
    pub parts: &'a [String],
    /// The owner's turn.
    pub turn: Turn,
}

/// Who gets a part.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartDeal {
    /// Its id.
    pub part: String,
    /// What a person reads.
    pub name: String,
    /// Who asked for it: places in the list of claims, the earliest deposit first.
    pub asked: Vec<usize>,
    /// Who gets it, or some of it.
    pub gets: Vec<usize>,
}

impl PartDeal {
    /// Whether it goes whole to one owner.
    pub fn is_whole(&self) -> bool {
        self.gets.len() == 1
    }
    /// One sentence for the owner at `place` in the list of claims.
    pub fn says(&self, place: usize) -> String {
        let name = super::super::cuts::settings::upper(&self.name);
        match (self.gets.contains(&place), self.asked.len()) {
            (true, 1) => format!("{name}: to this share."),
            (true, _) if self.is_whole() => format!("{name}: to this share, whose deposit came first."),
            (true, _) => format!("{name}: shared out among the owners who asked."),
            (false, _) => format!("{name}: to another owner of the animal, whose deposit came first."),
        }
    }
}

/// What the owner at `place` reads of the parts that others ask for too, a sentence each.
pub fn contested(all: &[PartDeal], place: usize) -> Vec<String> {
    all.iter().filter(|p| p.asked.contains(&place) && p.asked.len() > 1).map(|p| p.says(place)).collect()
}

/// How many owners can have some of a part: liver is sliced and oxtail dealt by joints among all who ask, a heart is halved, cheeks
/// go by count, and what cannot be divided goes to one.
fn most(part: &Part) -> usize {
    match part.split.as_str() {
        "slice" | "section" => usize::MAX,
        "halve" => 2,
        "count" => usize::try_from(part.per_animal).unwrap_or(1).max(1),
        _ => 1,
    }
}

/// Deals the parts that are asked for, in the order of the catalogue.
pub fn dealt(catalogue: &Catalogue, claims: &[Claim<'_>]) -> Vec<PartDeal> {
    let mut all = Vec::new();
    for part in &catalogue.parts {
        let mut asked: Vec<usize> =
            (0..).zip(claims).filter(|(_, c)| c.parts.contains(&part.id)).map(|(i, _)| i).collect();
        if asked.is_empty() {
            continue;
        }
        asked.sort_by_key(|i| claims.get(*i).map(|c| c.turn.rank()));
        let gets = asked.iter().copied().take(most(part)).collect();
        all.push(PartDeal { part: part.id.clone(), name: part.name.clone(), asked, gets });
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::cuts::catalogue;
    use crate::trade::share::Species;

    #[test]
    fn what_there_is_one_of_goes_to_the_first_deposit_and_liver_to_all() {
        let beef = catalogue(Species::Beef).unwrap();
        let all: Vec<String> = ["liver", "heart", "tongue"].map(String::from).into();
        let turn = |deposit, order| Turn { deposit, order };
        let claims = [
            Claim { parts: &all, turn: turn(None, 1) },
            Claim { parts: &all, turn: turn(Some(20), 2) },
            Claim { parts: &all, turn: turn(Some(10), 3) },
        ];
        let dealt = dealt(beef, &claims);
        let of = |id: &str| dealt.iter().find(|d| d.part == id).unwrap();
        assert_eq!(of("tongue").gets, [2]);
        assert_eq!(of("heart").gets, [2, 1]);
        assert_eq!(of("liver").gets, [2, 1, 0]);
        assert_eq!(of("tongue").says(0), "Tongue: to another owner of the animal, whose deposit came first.");
        assert_eq!(of("tongue").says(2), "Tongue: to this share, whose deposit came first.");
    }
}
