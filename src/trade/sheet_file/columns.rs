//! Which column of a file is which: guessed from the headings, or as somebody matched them for the same headings before.

use crate::trade::fold::fold;
use std::collections::BTreeMap;

/// How many lines of headings are remembered; the one used longest ago goes first.
pub const REMEMBERED: usize = 8;

/// So many characters of a heading are remembered.
const HEADING: usize = 60;

/// Something that is looked for in a file.
#[derive(Debug, Clone, Copy)]
pub struct Wanted {
    /// Its name for programs, stored with what is remembered.
    pub key: &'static str,
    /// Headings that mean it, folded, the surest first; all words of one must stand in the heading.
    pub words: &'static [&'static str],
}

/// What stands in which column, counted from 0.
pub type Matched = BTreeMap<String, usize>;

/// Headings of one kind of file, and what was matched to them.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Known {
    /// The headings as [`line()`] writes them.
    pub headings: String,
    /// What is in which column.
    pub columns: Matched,
}

/// A heading's words: "Left (lb)" becomes "left lb".
fn heading_words(heading: &str) -> Vec<String> {
    let folded = fold(heading);
    folded.split(|c: char| !(c.is_alphanumeric() || c == '#')).filter(|w| !w.is_empty()).map(String::from).collect()
}

/// A line of headings as it is remembered: case, accents, blanks and signs do not count.
pub fn line(headings: &[String]) -> String {
    let short = |h: &String| heading_words(h).join(" ").chars().take(HEADING).collect::<String>();
    headings.iter().map(short).collect::<Vec<_>>().join("|")
}

/// What was matched to these headings before.
pub fn remembered<'a>(known: &'a [Known], headings: &[String]) -> Option<&'a Matched> {
    let asked = line(headings);
    known.iter().find(|k| k.headings == asked).map(|k| &k.columns)
}

/// The list with this match in front.
#[must_use]
pub fn remember(known: Vec<Known>, headings: &[String], columns: Matched) -> Vec<Known> {
    let headings = line(headings);
    let others = known.into_iter().filter(|k| k.headings != headings);
    let mut all: Vec<Known> = others.collect();
    all.insert(0, Known { headings, columns });
    all.truncate(REMEMBERED);
    all
}

/// What cannot be in how columns were matched: one that the file of `width` columns does not have, or one that is chosen twice. The
/// fields are given with their labels; each fault is a field and a sentence.
pub fn unfit<'a>(fields: &[(&'a str, &str)], columns: &Matched, width: usize) -> Vec<(&'a str, String)> {
    let mut wrong = Vec::new();
    for (n, (key, label)) in fields.iter().enumerate() {
        let Some(column) = columns.get(*key) else { continue };
        if *column >= width {
            wrong.push((*key, format!("{label}: choose a column of this file.")));
        }
        let earlier = fields.iter().take(n).find(|(other, _)| columns.get(*other) == Some(column));
        if let Some((_, earlier)) = earlier {
            let says = format!("This column is chosen for “{earlier}” already. Choose another one, or none.");
            wrong.push((*key, says));
        }
    }
    wrong
}

/// Guesses by the headings' words. A column is taken once; the surest words are tried first for everything that is wanted, and a
/// heading that is exactly the words before one that has others beside them.
pub fn guess(wanted: &[Wanted], headings: &[String]) -> Matched {
    let headings: Vec<Vec<String>> = headings.iter().map(|h| heading_words(h)).collect();
    let mut found = Matched::new();
    let most = wanted.iter().map(|w| w.words.len()).max().unwrap_or(0);
    for exactly in [true, false] {
        for rank in 0..most {
            for want in wanted {
                let Some(words) = want.words.get(rank) else { continue };
                if found.contains_key(want.key) {
                    continue;
                }
                let words: Vec<&str> = words.split(' ').collect();
                let fits = |heading: &Vec<String>| {
                    let same = |w: &&str| heading.iter().any(|h| h == w);
                    words.iter().all(same) && (!exactly || heading.len() == words.len())
                };
                let free = |n: &usize| !found.values().any(|taken| taken == n);
                let at = headings.iter().enumerate().find(|(n, h)| free(n) && fits(h)).map(|(n, _)| n);
                if let Some(at) = at {
                    found.insert(want.key.to_string(), at);
                }
            }
        }
    }
    found
}
