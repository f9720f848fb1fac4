//! What a customer reads of the other quarter of the same side: where it wishes otherwise, without a name or contact.

use crate::trade::agree::panel::Panel;
use askama::Template;

/// The part of a page; put it there as `{{ neighbor }}`. It is empty where nothing differs.
#[derive(Debug, Clone, PartialEq, Eq, Template)]
#[template(path = "parts/neighbor.html")]
pub struct Neighbor {
    /// What is shown.
    pub panel: Panel,
}

// The template escapes the words.
impl askama::filters::HtmlSafe for Neighbor {}

/// The part that shows what [`crate::actions::share_side::neighbor_panel`] reads.
pub const fn neighbor(panel: Panel) -> Neighbor {
    Neighbor { panel }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::agree::panel::Line;

    #[test]
    fn it_says_what_the_neighbor_wishes_and_is_empty_where_nothing_differs() {
        let line = Line {
            name: "short loin".into(),
            yours: Some("T-bone and porterhouse steaks".into()),
            neighbors: "boneless strip steaks & tenderloin".into(),
            takes: "T-bone and porterhouse steaks".into(),
            why: "Until the farm decides, it is the standard cut.".into(),
            is_open: true,
        };
        let parts = vec!["Tongue: to another owner of the animal, whose deposit came first.".to_string()];
        let html = neighbor(Panel { lines: vec![line], parts }).render().unwrap();
        for words in [
            "Short loin",
            "You: T-bone",
            "Your neighbor: boneless strip steaks &#38; tenderloin.",
            "Until the farm",
            "Tongue: to another owner",
        ] {
            assert!(html.contains(words), "“{words}” is not in {html}");
        }
        assert_eq!(neighbor(Panel::default()).render().unwrap().trim(), "");
    }
}
