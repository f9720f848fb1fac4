//! What helps a customer choose: where a block lies, what each choice is good for, what the three questions choose.

use super::catalogue::Block;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The guide through one block.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Guide {
    /// Where it lies on the side, in words that follow its name.
    pub lies: String,
    /// Keys of the sources.
    pub source: Vec<String>,
    /// What is chosen for those who want mostly ground meat and sausage: with bone, without.
    pub ground: [String; 2],
    /// What is chosen for those who want some of each: with bone, without.
    pub balanced: [String; 2],
    /// What is chosen for those who want mostly roasts: with bone, without.
    pub roasts: [String; 2],
    /// What each choice is good for, by its id.
    pub good_for: BTreeMap<String, String>,
}

impl Guide {
    /// What is wrong with the guide of a block.
    pub fn faults(&self, block: &Block) -> Vec<String> {
        let mut faults = Vec::new();
        let words = |id: &String| self.good_for.get(id).is_some_and(|words| !words.trim().is_empty());
        for choice in block.choices.iter().filter(|c| !words(&c.id)) {
            faults.push(format!("{}.{} has no words that say what it is good for", block.id, choice.id));
        }
        for id in self.good_for.keys().filter(|id| block.choice(id).is_none()) {
            faults.push(format!("there are words for {}.{id}, which is no choice", block.id));
        }
        if self.lies.trim().is_empty() {
            faults.push(format!("{} does not say where it lies", block.id));
        }
        for pair in [&self.ground, &self.balanced, &self.roasts] {
            for (id, boned) in pair.iter().zip([false, true]) {
                let Some(choice) = block.choice(id) else {
                    faults.push(format!("the questions answer {}.{id}, which is no choice", block.id));
                    continue;
                };
                // An answer must hold for every share, every animal and by itself.
                let is_bound = choice.together.is_some() || choice.with_part.is_some() || choice.skin_on;
                if is_bound || !choice.whole_animal.is_empty() || (boned && choice.backbone) {
                    faults.push(format!("the questions answer {}.{id}, which not every share can have", block.id));
                }
            }
        }
        faults
    }
}
