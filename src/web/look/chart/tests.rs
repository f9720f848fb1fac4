//! What a chart looks like, in any case it can meet.

use super::*;
use proptest::prelude::*;

fn group(label: &str, values: &[i64]) -> Group {
    Group { label: label.into(), values: values.to_vec() }
}

fn drawn(chart: &Chart) -> String {
    chart.render().unwrap()
}

#[test]
fn two_series_one_of_them_below_nothing() {
    let groups = [group("Jan", &[15_000, 0]), group("Feb", &[-5_000, 12_500]), group("Mar", &[0, 30_000])];
    let chart = Chart::bars("c", "Income <2027>".into(), "Cash & accrual".into(), &["Cash", "Accrual"], &groups);
    insta::assert_snapshot!("bars", drawn(&chart));
}

#[test]
fn a_line_through_months() {
    let groups = [group("Jan", &[10_000]), group("Feb", &[0]), group("Mar", &[45_000])];
    insta::assert_snapshot!("line", drawn(&Chart::line("d", "Held".into(), "More in March".into(), &groups)));
}

#[test]
fn nothing_and_one_point_are_drawn_too() {
    let none = drawn(&Chart::bars("c", "T".into(), "S".into(), &["A"], &[]));
    assert!(none.contains(">0</text>") && !none.contains("<rect class=\"full"));
    let one = Chart::line("c", "T".into(), "S".into(), &[group("Jan", &[500])]);
    assert!(one.path.is_empty() && one.dots.len() == 1);
    // A point at half of the plot's width, at the highest tick.
    assert_eq!(one.dots.first().unwrap(), &("225".to_string(), "12".to_string()));
}

#[test]
fn bars_stand_on_nothing_and_are_as_high_as_they_say() {
    let chart = Chart::bars("c", "T".into(), "S".into(), &["A"], &[group("a", &[100]), group("b", &[-100])]);
    // Ticks from −100 to 100; nothing lies in the middle of 12 to 188.
    let said: Vec<_> = chart.bars.iter().map(|b| (b.y.as_str(), b.height.as_str())).collect();
    assert_eq!(said, [("12", "88"), ("100", "88")]);
}

#[test]
fn bars_below_each_other_keep_every_name() {
    let groups = [group("Half beef", &[250_000]), group("Whole hog", &[-50_000]), group("Quarter <goat>", &[0])];
    let chart = Chart::rows("r", "Sales".into(), "Half beef most".into(), &groups);
    assert_eq!(
        chart.labels.iter().map(|l| l.words.as_str()).collect::<Vec<_>>(),
        ["Half beef", "Whole hog", "Quarter <goat>"]
    );
    assert_eq!(
        (cut("Quarter <goat>").as_str(), cut("Dairy steer 4229").as_str()),
        ("Quarter <goat>", "Dairy steer 4…")
    );
    assert_eq!(chart.height, 116, "three rows of 24 and the ticks");
    insta::assert_snapshot!("rows", drawn(&chart));
}

#[test]
fn many_labels_are_thinned_and_never_run_into_each_other() {
    let groups: Vec<Group> = (0..48).map(|n| group(&format!("M{n:02}"), &[n])).collect();
    let chart = Chart::bars("c", "T".into(), "S".into(), &["A"], &groups);
    assert!(chart.labels.len() < 12 && chart.labels.first().unwrap().words == "M00", "{}", chart.labels.len());
    let twelve: Vec<Group> = (0..12).map(|n| group("Mar", &[n])).collect();
    assert_eq!(Chart::bars("c", "T".into(), "S".into(), &["A"], &twelve).labels.len(), 6);
}

proptest! {
    #[test]
    fn every_bar_lies_on_the_picture(values in prop::collection::vec((any::<i64>(), any::<i64>()), 0..60)) {
        let groups: Vec<Group> = values.iter().map(|(a, b)| group("x", &[*a, *b])).collect();
        let chart = Chart::bars("c", "T".into(), "S".into(), &["A", "B"], &groups);
        for bar in &chart.bars {
            let [x, y, w, h] = [&bar.x, &bar.y, &bar.width, &bar.height].map(|n| n.parse::<f64>().unwrap());
            prop_assert!(w >= 0.0 && h >= 0.0 && x >= 54.0 && x + w <= 396.01 && y >= 12.0 && y + h <= 188.01, "{} {} {} {}", x, y, w, h);
        }
        prop_assert_eq!(chart.bars.len(), values.iter().flat_map(|(a, b)| [a, b]).filter(|v| **v != 0).count());
    }
}
