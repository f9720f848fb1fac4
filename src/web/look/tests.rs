//! Every part on one page: that the parts fit together, say what they should, and need neither inline style nor script.

use super::draft::Draft;
use super::{Choices, Frame, Notice, Tab, choices};
use crate::trade::share::{Size, Species};
use askama::Template;

#[derive(Template)]
#[template(path = "parts/example.html")]
struct Example {
    frame: Frame,
    draft: Draft,
    species: Choices,
    sizes: Choices,
    row: String,
}

fn example(draft: Draft) -> Example {
    let mut frame = Frame::new("Nettle Bend <Farm>", Tab::Money);
    frame.signed_in = Some("Ada".into());
    frame.form_key = "k3y".into();
    frame.notice = Some(Notice::ok("Weights of five head saved."));
    Example {
        frame,
        draft,
        species: choices(Species::ALL, Species::as_str, Species::label),
        sizes: choices(Size::ALL, Size::as_str, Size::label),
        row: "h214-r".into(),
    }
}

#[test]
fn fields_show_what_was_typed_and_what_is_wrong() {
    let draft = Draft::empty()
        .with("name", "Þóra \"Tóta\" <Lind>")
        .with("h214-r", "35l.5")
        .with("species", "hog")
        .with("sizes", "whole")
        .with("sizes", "quarter")
        .problem("h214-r", "“35l.5” is not a weight.")
        .problem("kill_on", "Day of slaughter is empty.");
    let html = example(draft).render().unwrap();
    for part in [
        "<title>Error: Every part · Nettle Bend &#60;Farm&#62;</title>",
        "<a href=\"/money\" aria-current=\"page\">Money</a>",
        "<summary aria-current=\"true\">More</summary>",
        "<p class=\"note ok\" role=\"status\">Weights of five head saved.</p>",
        "<h2 id=\"err-h\">Two things need another look</h2>",
        "<a href=\"#h214-r\">“35l.5” is not a weight.</a>",
        "value=\"Þóra &#34;Tóta&#34; &#60;Lind&#62;\" maxlength=\"200\"",
        "<label for=\"h214-r\">Right, lb</label>",
        "value=\"35l.5\" inputmode=\"decimal\" autocomplete=\"off\" maxlength=\"24\" aria-invalid=\"true\" aria-describedby=\"h214-r-e\">",
        "<span class=\"hint\" id=\"kill_on-h\">",
        "aria-describedby=\"kill_on-h kill_on-e\"",
        "<option value=\"hog\" selected>Hog</option>",
        "name=\"sizes\" value=\"whole\" checked>",
        "name=\"sizes\" value=\"quarter\" checked>",
        "<label for=\"breed\">Breed (optional)</label>",
        "<input type=\"hidden\" name=\"form_key\" value=\"k3y\">",
    ] {
        assert!(html.contains(part), "missing: {part}");
    }
    for never in [" style=", "<style", "onclick", "<script>"] {
        assert!(!html.contains(never), "found: {never}");
    }
}
