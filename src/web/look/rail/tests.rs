//! The rail says and draws who owns what.

use super::*;

fn half(name: &str) -> [Slot; 2] {
    [Slot::owner(name, Kind::Half), Slot::owner(name, Kind::Half)]
}

fn head(left: [Slot; 2], right: [Slot; 2]) -> Rail {
    let ([l1, l2], [r1, r2]) = (left, right);
    Rail::new("r7", "Steer 229", Species::Beef, [l1, l2, r1, r2])
}

fn whole(name: &str) -> Rail {
    let slot = || Slot::owner(name, Kind::Whole);
    head([slot(), slot()], [slot(), slot()])
}

/// Letter and name of each owner.
fn owners(rail: &Rail) -> String {
    rail.owners().iter().map(|owner| format!("{} {}", owner.letter, owner.name)).collect::<Vec<_>>().join(", ")
}

#[test]
fn one_half_one_quarter_one_free_is_the_drawing_of_the_example() {
    let rail = head(half("Hanne Brandvold"), [Slot::owner("Łucja Bard", Kind::Split), Slot::Free]).large();
    assert_eq!(
        rail.text(),
        "Steer 229. Left side: half, Hanne Brandvold. Right side: one quarter, Łucja Bard; one quarter free."
    );
    assert_eq!(owners(&rail), "A Hanne Brandvold, B Łucja Bard");
    assert_eq!(rail.free_quarters(), 1);
    insta::assert_snapshot!("half_quarter_free", rail.to_string());
}

#[test]
fn letters_run_as_one_reads() {
    let quarters = head(
        [Slot::owner("Ann", Kind::Fore), Slot::owner("Ben", Kind::Hind)],
        [Slot::owner("Cy", Kind::Split), Slot::owner("Di", Kind::Split)],
    );
    assert_eq!(owners(&quarters), "A Ben, B Ann, C Cy, D Di");
    assert_eq!(
        quarters.text(),
        "Steer 229. Left side: hind quarter, Ben; fore quarter, Ann. Right side: one quarter, Cy; one quarter, Di."
    );
    insta::assert_snapshot!("four_quarters", quarters.to_string());
    let halves = head(half("Dele Ashworth"), half("Owen Sandoz"));
    assert_eq!(owners(&halves), "A Dele Ashworth, B Owen Sandoz");
    let right = head([Slot::Free, Slot::Free], half("Owen Sandoz"));
    assert_eq!(owners(&right), "A Owen Sandoz");
    assert_eq!(right.text(), "Steer 229. Left side: free. Right side: half, Owen Sandoz.");
    let same = head([Slot::owner("Ann", Kind::Split), Slot::owner("Ann", Kind::Split)], half("Ann"));
    assert_eq!(owners(&same), "A Ann, B Ann, C Ann", "two quarters are two shares, whoever has them");
}

#[test]
fn a_whole_animal_carries_its_letter_once() {
    let rail = whole("the Pryce household");
    assert_eq!(rail.text(), "Steer 229. Whole animal: the Pryce household.");
    assert_eq!(owners(&rail), "A the Pryce household");
    let html = rail.to_string();
    assert_eq!((html.matches("<text").count(), html.matches("url(#own-a)").count()), (1, 2));
}

#[test]
fn free_and_condemned_have_a_shape_and_a_word() {
    let unsold = head([Slot::Free, Slot::Free], [Slot::Free, Slot::Free]);
    assert_eq!(unsold.text(), "Steer 229. All four quarters free.");
    let html = unsold.to_string();
    assert_eq!((html.matches("edge open").count(), html.matches("<text").count()), (2, 0));
    let lost = head(half("Ann"), [Slot::Condemned, Slot::Condemned]);
    assert_eq!(lost.text(), "Steer 229. Left side: half, Ann. Right side: condemned.");
    assert!(lost.to_string().contains("fill=\"url(#own-lost)\"") && lost.to_string().contains(">×</text>"));
    let all = head([Slot::Condemned, Slot::Condemned], [Slot::Condemned, Slot::Condemned]);
    assert_eq!(all.text(), "Steer 229. Condemned.");
    let fore_free = head([Slot::Free, Slot::owner("Ben", Kind::Hind)], half("Ann"));
    assert_eq!(fore_free.text(), "Steer 229. Left side: hind quarter, Ben; one quarter free. Right side: half, Ann.");
    let html = fore_free.to_string();
    assert!(html.contains(
        "<svg x=\"0\" y=\"120\" width=\"50\" height=\"90\" viewBox=\"0 120 50 90\"><path class=\"edge open\""
    ));
    assert!(html.contains("<text class=\"open\" x=\"28\" y=\"152\">free</text>"));
}

#[test]
fn what_is_not_this_pages_business_is_an_outline_without_a_word() {
    let rail = head(half("Ines Halvard"), [Slot::Plain, Slot::Plain]);
    assert_eq!(rail.text(), "Steer 229. Left side: half, Ines Halvard.");
    let html = rail.titled("Steer 211. This order has the left side.").to_string();
    assert!(html.contains(">Steer 211. This order has the left side.</title>"));
    assert!(!html.contains("open") && !html.contains("free<"));
}

#[test]
fn names_are_escaped() {
    let html = whole("<b>Bo & \"Co\"</b>").to_string();
    assert!(html.contains("&#60;b&#62;Bo &#38; &#34;Co&#34;&#60;/b&#62;") && !html.contains("<b>"));
}

#[test]
fn the_definitions_name_every_hatching_and_outline_once() {
    let html = Defs::LARGE.to_string();
    for id in ["own-a", "own-b", "own-c", "own-d", "own-lost", "beef-l", "beef-r", "hog-l", "hog-r", "lamb-l", "lamb-r"]
    {
        assert_eq!(html.matches(&format!("id=\"{id}\"")).count(), 1, "{id}");
    }
    assert!(html.contains("scale(0.42)") && Defs::MEDIUM.to_string().contains("scale(1)"));
    let goat = Rail::new("g", "Goat 3", Species::Goat, [Slot::Free, Slot::Free, Slot::Plain, Slot::Plain]).to_string();
    assert!(goat.contains("url(#lamb-l)") && goat.contains("url(#lamb-r)"));
}
