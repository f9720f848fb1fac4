//! Every part on one page: that the parts fit together, say what they should, and need neither inline style nor script.

use super::draft::Draft;
use super::parts::{DueLine, Link, Shape, Standing, Step, StoryLine, SumKind, SumLine};
use super::rail::{Defs, Glyph, Kind, Rail, Slot};
use super::{Choices, Frame, Notice, Tab, choices};
use crate::trade::money::Money;
use crate::trade::share::{Part, Side, Size, Species};
use askama::Template;

#[derive(Template)]
#[template(path = "parts/example.html")]
struct Example {
    frame: Frame,
    draft: Draft,
    species: Choices,
    sizes: Choices,
    row: String,
    heads: Vec<Rail>,
    large: Rail,
    glyphs: Vec<(Glyph, &'static str)>,
    due: Vec<DueLine>,
    steps: Vec<Step>,
    sum: Vec<SumLine>,
    story: Vec<StoryLine>,
    older: Option<Link>,
    newer: Option<Link>,
}

fn half(name: &str) -> [Slot; 2] {
    [Slot::owner(name, Kind::Half), Slot::owner(name, Kind::Half)]
}

fn head(id: &str, species: Species, left: [Slot; 2], right: [Slot; 2]) -> Rail {
    let ([l1, l2], [r1, r2]) = (left, right);
    Rail::new(id, format!("Head {id}"), species, [l1, l2, r1, r2])
}

fn heads() -> Vec<Rail> {
    let whole = || [Slot::owner("Pryce", Kind::Whole), Slot::owner("Pryce", Kind::Whole)];
    let split = |a: &str, b: &str| [Slot::owner(a, Kind::Split), Slot::owner(b, Kind::Split)];
    let across = |fore: &str, hind: &str| [Slot::owner(fore, Kind::Fore), Slot::owner(hind, Kind::Hind)];
    vec![
        head("h1", Species::Beef, whole(), whole()),
        head("h2", Species::Hog, half("Quillan"), half("Nguyễn")),
        head("h3", Species::Beef, half("Brandvold"), split("Bard", "Wren")),
        head("h4", Species::Beef, across("Ann", "Ben"), split("Cy", "Di")),
        head(
            "h5",
            Species::Lamb,
            [Slot::Free, Slot::owner("Ben", Kind::Hind)],
            [Slot::owner("Cy", Kind::Split), Slot::Free],
        ),
        head("h6", Species::Goat, half("Lind"), [Slot::Condemned, Slot::Condemned]),
        head("h7", Species::Beef, [Slot::Free, Slot::Free], [Slot::Free, Slot::Free]),
        head("h8", Species::Hog, [Slot::Free, Slot::Free], half("Kessel")),
        head("h9", Species::Beef, half("Halvard"), [Slot::Plain, Slot::Plain]),
    ]
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
        heads: heads(),
        large: head(
            "h10",
            Species::Beef,
            half("Hanne Brandvold"),
            [Slot::owner("Łucja Bard", Kind::Split), Slot::Free],
        )
        .large(),
        glyphs: vec![
            (Glyph::new(Size::Whole, None, None), "whole"),
            (Glyph::new(Size::Half, Some(Side::Left), None), "left half"),
            (Glyph::new(Size::Half, Some(Side::Right), None).held(), "right half, deposit not in"),
            (Glyph::new(Size::Quarter, Some(Side::Right), None), "quarter"),
            (Glyph::new(Size::Quarter, Some(Side::Left), Some(Part::Fore)), "fore quarter"),
            (Glyph::new(Size::Quarter, Some(Side::Left), Some(Part::Hind)), "hind quarter"),
        ],
        due: vec![
            DueLine {
                when: Standing::late("8 days late"),
                what: Link::new("/invoices/33", "Ruth Kessel owes $412.30"),
                why: "Invoice 2027-033, half hog, due September 27.".into(),
                act: Link::new("/invoices/33/remind", "Remind Ruth Kessel"),
            },
            DueLine {
                when: Standing::plain("Sat, Oct 9"),
                what: Link::new("/dates/3", "Send the packet to Pell Road Meats"),
                why: "It can go once the cut sheets are in.".into(),
                act: Link::new("/dates/3", "See what is missing"),
            },
        ],
        steps: vec![
            Step { name: "Booked".into(), standing: Standing::done("June 2"), now: false },
            Step { name: "Head assigned".into(), standing: Standing::new(Shape::PartTodo, "3 of 5"), now: true },
            Step { name: "Weigh-in".into(), standing: Standing::wait("October 14"), now: false },
        ],
        sum: vec![
            SumLine::new("Left side, hot, 389.50 lb × $4.65", Money::from_cents(181_118)).small("Rate locked March 8."),
            SumLine::new("Farm total", Money::from_cents(181_118)).as_a(SumKind::Middle),
            SumLine::new("Deposit, check 1182", Money::from_cents(-40_000)),
            SumLine::new("Balance due", Money::from_cents(141_118)).as_a(SumKind::Total),
            SumLine::new("Paid by her to Pell Road Meats", Money::from_cents(34_108)).as_a(SumKind::Apart),
        ],
        story: vec![
            StoryLine::new("Mar 8", "Reserved by phone: half beef, fall 2027").why("“Not before September, please.”"),
            StoryLine::new("Mar 12", "Deposit of $400.00 received")
                .why("Check 1182.")
                .link("/receipts/14", "Receipt 2027-014"),
            StoryLine::next("Issue the invoice"),
            StoryLine::later("Nov 1", "Pickup"),
        ],
        older: Some(Link::new("/orders?before=55", "Older orders")),
        newer: None,
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
    show("example.html", &html);
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
    for part in [
        "<li class=\"first\"><p class=\"when\"><span class=\"st late\">8 days late</span></p>",
        "<a class=\"btn do\" href=\"/invoices/33/remind\">Remind Ruth Kessel</a>",
        "<tr class=\"tot\"><td>Balance due</td><td class=\"n\">1,411.18</td></tr>",
        "<p class=\"why\">Check 1182. <a href=\"/receipts/14\">Receipt 2027-014</a></p>",
        "<li class=\"later\"><p class=\"when\">Nov 1</p>",
        "<dd class=\"lines\">9 Tannery Lane\nHarlow Mills</dd>",
        "<a href=\"tel:7155550117\">(715) 555-0117</a>",
        "<a href=\"mailto:ines@halvard.example\">ines@<wbr>halvard.example</a>",
        "<span class=\"act\">Newest</span><span class=\"small\">Orders 1–12 of 66</span><a class=\"act\" href=\"/orders?before=55\">Older orders</a>",
        "data-copy=\"words\" hidden>Copy the words</button>",
    ] {
        assert!(html.contains(part), "missing: {part}");
    }
    assert!(!html.contains("<dt>Breed</dt>"), "an empty fact is left out");
    assert_eq!(ids_more_than_once(&html), Vec::<String>::new());
    for never in [" style=", "<style", "onclick", "<script>"] {
        assert!(!html.contains(never), "found: {never}");
    }
}

/// Ids that stand more than once on a page: labels and links would lead to the wrong place.
fn ids_more_than_once(html: &str) -> Vec<String> {
    let mut ids: Vec<&str> = html.split(" id=\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
    ids.sort_unstable();
    ids.windows(2).filter(|pair| pair[0] == pair[1]).map(|pair| pair[0].to_string()).collect()
}

/// With `GAMBREL_SHOW_LOOK` set to a folder, the rendered parts are left there to be looked at in a browser.
fn show(name: &str, html: &str) {
    let Some(folder) = std::env::var_os("GAMBREL_SHOW_LOOK").map(std::path::PathBuf::from) else { return };
    std::fs::create_dir_all(folder.join("assets")).unwrap();
    for file in ["look.css", "gambrel.js", "favicon.svg"] {
        let from = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets").join(file);
        std::fs::copy(from, folder.join("assets").join(file)).unwrap();
    }
    std::fs::write(folder.join(name), html.replace("\"/assets/", "\"assets/")).unwrap();
}

/// The value of a token such as `--ink` in the light or the dark set of the style sheet.
fn token(name: &str, dark: bool) -> [f64; 3] {
    let css = include_str!("../../../assets/look.css");
    let set = css.split("--paper:").nth(if dark { 2 } else { 1 }).unwrap();
    let set = format!("--paper:{set}");
    let hex = set.split(&format!("--{name}:#")).nth(1).unwrap().get(..6).unwrap();
    let n = u32::from_str_radix(hex, 16).unwrap();
    [n >> 16, n >> 8 & 255, n & 255].map(f64::from)
}

/// Contrast ratio by WCAG 2.2, "contrast ratio" and "relative luminance".
fn contrast(a: [f64; 3], b: [f64; 3]) -> f64 {
    let luminance = |rgb: [f64; 3]| {
        let [r, g, b] =
            rgb.map(|v| v / 255.0).map(|v| if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    };
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

/// WCAG 2.2 asks 4.5 for text (1.4.3) and 3 for the shapes of fields and buttons (1.4.11); the style sheet's own figures
/// are higher and are held to the tenth.
#[test]
fn text_and_fields_stand_out_on_every_ground_light_and_dark() {
    assert!((contrast([0.0; 3], [255.0; 3]) - 21.0).abs() < 1e-9, "black on white is 21 by definition");
    let grounds = ["paper", "sheet", "shade"];
    for (name, light, dark) in [("ink", 13.4, 12.0), ("soft", 5.9, 6.5), ("ox", 8.0, 6.5), ("green", 6.3, 7.5)] {
        for (is_dark, wanted) in [(false, light), (true, dark)] {
            let worst = grounds
                .map(|ground| contrast(token(name, is_dark), token(ground, is_dark)))
                .into_iter()
                .fold(f64::MAX, f64::min);
            assert!((worst - wanted).abs() <= 0.051, "{name}, dark {is_dark}: {worst}");
        }
    }
    for is_dark in [false, true] {
        assert!(contrast(token("on", is_dark), token("fill", is_dark)) > 4.5);
        for ground in ["paper", "sheet"] {
            assert!(contrast(token("edge", is_dark), token(ground, is_dark)) > 3.0);
        }
        // Filled buttons stand on the page itself only, never on a sheet.
        assert!(contrast(token("fill", is_dark), token("paper", is_dark)) > 3.0);
    }
}
