//! A side drawn with its blocks, the same animal as beside the rail: seen from outside, hanging by the hind leg, back at the
//! right. Blocks carry the ids of the catalogue; some are marked, some shaded as decided. Shapes stand in `shapes.rs`.

mod shapes;

use crate::trade::cuts::catalogue::Catalogue;
use crate::trade::share::{Part, Species};
use askama::Template;
use shapes::{block, bones, hook, outline};

/// One block as it is drawn.
struct Shape {
    id: String,
    path: &'static str,
    class: &'static str,
}

/// The number of a part of the form, where it lies.
struct Mark {
    x: i32,
    y: i32,
    number: usize,
    is_here: bool,
}

/// A side with some blocks marked. Put it on a page as `{{ drawing }}`.
#[derive(Template)]
#[template(path = "parts/side.html")]
pub struct Drawing {
    says: String,
    edge: &'static str,
    hook: &'static str,
    bones: &'static str,
    shapes: Vec<Shape>,
    marks: Vec<Mark>,
    is_inside: bool,
}

// The template escapes its words.
impl askama::filters::HtmlSafe for Drawing {}

impl Drawing {
    /// A side with the blocks of `primal` marked and those of which `is_done` says so shaded. Primals are numbered in the order
    /// of the catalogue, as the parts of the form are. Of a forequarter's or hindquarter's catalogue only its blocks are drawn
    /// into the side; `part` says which it is.
    pub fn new(catalogue: &Catalogue, part: Part, primal: &str, is_done: impl Fn(&str) -> bool) -> Self {
        let species = catalogue.species;
        let here: Vec<_> = catalogue.blocks.iter().filter(|b| b.primal == primal).collect();
        let mut primals: Vec<&str> = Vec::new();
        let (mut shapes, mut marks) = (Vec::new(), Vec::new());
        for b in &catalogue.blocks {
            let is_new = !primals.contains(&b.primal.as_str());
            if is_new {
                primals.push(&b.primal);
            }
            let Some(drawn) = block(species, &b.id) else { continue };
            let is_here = b.primal == primal;
            let class = match (is_here, is_done(&b.primal), drawn.is_inside) {
                (true, _, false) => "block here",
                (true, _, true) => "block in here",
                (false, _, true) => "block in",
                (false, true, false) => "block done",
                (false, false, false) => "block",
            };
            shapes.push(Shape { id: b.id.clone(), path: drawn.path, class });
            if let Some((x, y)) = drawn.label {
                let number = primals.iter().position(|p| *p == b.primal).map_or(0, |n| n + 1);
                marks.push(Mark { x, y, number, is_here });
            }
        }
        // What lies inside is drawn over the rest.
        shapes.sort_by_key(|s| s.class.starts_with("block in"));
        let is_inside = here.iter().any(|b| block(species, &b.id).is_some_and(|d| d.is_inside));
        let marked = match here.as_slice() {
            [only] => only.name.as_str(),
            _ => primal,
        };
        let name = match species {
            Species::Beef => "beef",
            Species::Hog => "pork",
            Species::Lamb => "lamb",
            Species::Goat => "goat",
        };
        let lies: Vec<String> = here
            .iter()
            .map(|b| match catalogue.guide.get(&b.id) {
                Some(guide) if b.name == marked => guide.lies.clone(),
                Some(guide) => format!("{}: {}", b.name, guide.lies),
                None => b.name.clone(),
            })
            .collect();
        let only = match part {
            Part::Split => String::new(),
            own => format!(" Only the {} is divided into its parts.", own.label()),
        };
        let says = format!(
            "Side of {name}, hanging by the hind leg, its back at the right.{only} Marked: the {marked}, {}.",
            lies.join("; ")
        );
        Self { says, edge: outline(species), hook: hook(species), bones: bones(species), shapes, marks, is_inside }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::cuts::catalogue;
    use crate::trade::cuts::quarter::quarter;

    #[test]
    fn every_block_of_every_species_has_a_shape_and_every_primal_one_number() {
        for species in Species::ALL {
            let catalogue = catalogue(*species).unwrap();
            let mut numbered = Vec::new();
            for b in &catalogue.blocks {
                let drawn = block(*species, &b.id).unwrap_or_else(|| panic!("{} of {species} has no shape", b.id));
                assert!(drawn.path.starts_with('M') && drawn.path.ends_with('Z'), "{}", b.id);
                if drawn.label.is_some() {
                    assert!(!numbered.contains(&&b.primal), "{} is numbered twice", b.primal);
                    numbered.push(&b.primal);
                }
            }
            let mut primals: Vec<&String> = catalogue.blocks.iter().map(|b| &b.primal).collect();
            primals.dedup();
            assert_eq!(numbered, primals, "{species}");
            for id in shapes::all(*species) {
                assert!(catalogue.block(id).is_some(), "{id} is no block of {species}");
            }
        }
    }

    #[test]
    fn the_marked_primal_is_named_and_only_it_is_marked() {
        let beef = catalogue(Species::Beef).unwrap();
        let drawn = Drawing::new(beef, Part::Split, "rib", |p| p == "chuck").render().unwrap();
        assert!(drawn.contains(
            "Side of beef, hanging by the hind leg, its back at the right. Marked: the rib, on the back, between the short loin \
             above and the chuck below."
        ));
        assert_eq!(drawn.matches("class=\"block here\"").count(), 1);
        assert_eq!(drawn.matches("class=\"block done\"").count(), 3, "three blocks of the chuck");
        let round = Drawing::new(beef, Part::Split, "round", |_| false).render().unwrap();
        assert_eq!(round.matches("class=\"block here\"").count(), 5);
        assert!(round.contains("top round: inside the hind leg; bottom round and rump: at the back"));
        let inside = Drawing::new(beef, Part::Split, "internal fat", |_| false).render().unwrap();
        assert!(inside.contains("class=\"block in here\"") && inside.contains("broken line"));
        let fore = Drawing::new(quarter(Part::Fore).unwrap(), Part::Fore, "rib", |_| false).render().unwrap();
        assert!(fore.contains("Only the forequarter is divided into its parts. Marked: the rib"), "{fore}");
        assert!(fore.contains("data-block=\"brisket\"") && !fore.contains("data-block=\"short_loin\""));
    }
}
