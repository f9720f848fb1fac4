//! Charts: bars beside each other or below each other, and a line through points, drawn on the server. Ink and hatching tell series apart, never a
//! color; a table beside each chart says everything it says. Coordinates are tenths of a unit of the picture, whole numbers.

pub mod scale;

use askama::Template;
use scale::{Scale, dollars};

/// Width of the picture, in units.
const WIDTH: i64 = 400;
/// Its height, in units; of bars below each other it is reckoned.
const HEIGHT: i64 = 220;
/// Left, right, top and bottom of the plot, in tenths.
const PLOT: (i64, i64, i64, i64) = (540, 3_960, 120, 1_880);
/// Where the plot of bars below each other begins: beside their names, in tenths.
const BESIDE_NAMES: i64 = 1_250;
/// Characters of a name that have room there on a phone.
const NAME: usize = 14;
/// Where it ends, with room for the words of the last tick, in tenths.
const BEFORE_EDGE: i64 = 3_740;
/// Height of one of them, in tenths.
const ROW: i64 = 240;

/// How a series is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Ink {
    Full,
    Hatched,
    Line,
}

impl Ink {
    const fn class(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Hatched => "hatched",
            Self::Line => "dots",
        }
    }
}

/// A length in tenths, as it stands in a picture.
fn units(tenths: i64) -> String {
    let sign = if tenths < 0 { "-" } else { "" };
    let n = tenths.unsigned_abs();
    match n % 10 {
        0 => format!("{sign}{}", n / 10),
        rest => format!("{sign}{}.{rest}", n / 10),
    }
}

/// A number of things along a row, as `i64`.
fn count(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX)
}

struct Bar {
    class: &'static str,
    x: String,
    y: String,
    width: String,
    height: String,
}

/// A tick: its line, and its words where they stand.
struct Tick {
    path: String,
    is_zero: bool,
    class: &'static str,
    x: String,
    y: String,
    words: String,
}

/// Words at the axis.
struct Label {
    class: &'static str,
    x: String,
    y: String,
    words: String,
}

/// A chart. Put it on a page as `{{ chart }}`.
#[derive(Template)]
#[template(path = "parts/chart.html")]
pub struct Chart {
    id: &'static str,
    title: String,
    says: String,
    caption: String,
    height: i64,
    ticks: Vec<Tick>,
    bars: Vec<Bar>,
    path: String,
    dots: Vec<(String, String)>,
    labels: Vec<Label>,
    legend: Vec<(&'static str, String)>,
}

// The template escapes its words.
impl askama::filters::HtmlSafe for Chart {}

/// The words and the values of one place along a chart.
pub struct Group {
    /// Below the axis: short, such as "Mar".
    pub label: String,
    /// One value for each series, in cents.
    pub values: Vec<i64>,
}

impl Chart {
    /// Bars in groups: the first series full, the second hatched, the third open. `id` is the chart's own on its page; `title`
    /// says what is drawn, `says` in a sentence what it shows.
    pub fn bars(id: &'static str, title: String, says: String, series: &[&str], groups: &[Group]) -> Self {
        let scale = Scale::of(groups.iter().flat_map(|g| g.values.iter().copied()), 100);
        let (left, right, top, bottom) = PLOT;
        let each = (right - left).checked_div(count(groups.len()).max(1)).unwrap_or(0);
        let wide = each.saturating_mul(7) / 10;
        let thick = wide.checked_div(count(series.len()).max(1)).unwrap_or(0).min(400);
        let zero = scale.at(0, bottom, top);
        let (mut bars, mut labels) = (Vec::new(), Vec::new());
        for (n, group) in (0_i64..).zip(groups) {
            let middle = left + each * n + each / 2;
            let begins = middle - thick * count(series.len()) / 2;
            labels.push((units(middle), group.label.clone()));
            for (s, (value, ink)) in (0_i64..).zip(group.values.iter().zip([Ink::Full, Ink::Hatched])) {
                let end = scale.at(*value, bottom, top);
                if *value != 0 {
                    bars.push(Bar {
                        class: ink.class(),
                        x: units(begins + thick * s),
                        y: units(end.min(zero)),
                        width: units(thick),
                        height: units((end - zero).abs()),
                    });
                }
            }
        }
        let legend = series.iter().zip([Ink::Full, Ink::Hatched]).map(|(s, ink)| (ink.class(), (*s).to_string()));
        Self {
            id,
            title,
            says,
            caption: "Dollars".into(),
            height: HEIGHT,
            ticks: ticks(&scale),
            bars,
            path: String::new(),
            dots: Vec::new(),
            labels: thinned(labels),
            legend: if series.len() > 1 { legend.collect() } else { Vec::new() },
        }
    }

    /// A line through points, from left to right; the first value of each group counts.
    pub fn line(id: &'static str, title: String, says: String, groups: &[Group]) -> Self {
        let first = |g: &Group| g.values.first().copied().unwrap_or(0);
        let scale = Scale::of(groups.iter().map(first), 100);
        let (left, right, top, bottom) = PLOT;
        let each = (right - left).checked_div(count(groups.len()).max(1)).unwrap_or(0);
        let at = |n: i64, g: &Group| (units(left + each * n + each / 2), units(scale.at(first(g), bottom, top)));
        let dots: Vec<_> = (0_i64..).zip(groups).map(|(n, g)| at(n, g)).collect();
        let path: Vec<String> = dots.iter().map(|(x, y)| format!("{x} {y}")).collect();
        let labels = (0_i64..).zip(groups).map(|(n, g)| (at(n, g).0, g.label.clone())).collect();
        Self {
            id,
            title,
            says,
            caption: "Dollars".into(),
            height: HEIGHT,
            ticks: ticks(&scale),
            bars: Vec::new(),
            path: if path.len() > 1 { format!("M{}", path.join("L")) } else { String::new() },
            dots,
            labels: thinned(labels),
            legend: Vec::new(),
        }
    }

    /// Bars below each other, each beside its name; for things that are no time. The first value of each group counts.
    pub fn rows(id: &'static str, title: String, says: String, groups: &[Group]) -> Self {
        let first = |g: &Group| g.values.first().copied().unwrap_or(0);
        let scale = Scale::of(groups.iter().map(first), 100);
        let (right, top) = (BEFORE_EDGE, PLOT.2);
        let foot = top.saturating_add(ROW.saturating_mul(count(groups.len())));
        let zero = scale.at(0, BESIDE_NAMES, right);
        let (mut bars, mut labels) = (Vec::new(), Vec::new());
        for (n, group) in (0_i64..).zip(groups) {
            let begins = top.saturating_add(ROW.saturating_mul(n));
            let y = units(begins + ROW / 2);
            labels.push(Label { class: "n", x: units(BESIDE_NAMES - 60), y, words: cut(&group.label) });
            let end = scale.at(first(group), BESIDE_NAMES, right);
            if first(group) != 0 {
                bars.push(Bar {
                    class: Ink::Full.class(),
                    x: units(end.min(zero)),
                    y: units(begins + ROW / 6),
                    width: units((end - zero).abs()),
                    height: units(ROW * 2 / 3),
                });
            }
        }
        let ticks = scale.ticks();
        // As many of them have words as have room beside each other; nothing always has.
        let every = if ticks.len() > 4 { 2 } else { 1 };
        let nothing = ticks.iter().position(|v| *v == 0).unwrap_or(0);
        let ticks = ticks.iter().enumerate().map(|(n, v)| {
            let x = units(scale.at(*v, BESIDE_NAMES, right));
            Tick {
                path: format!("M{x} {}V{}", units(top), units(foot)),
                is_zero: *v == 0,
                class: "",
                y: units(foot + 200),
                x,
                words: if n % every == nothing % every { dollars(*v, scale.step) } else { String::new() },
            }
        });
        Self {
            id,
            title,
            says,
            caption: "Dollars".into(),
            height: (foot + 320) / 10,
            ticks: ticks.collect(),
            bars,
            path: String::new(),
            dots: Vec::new(),
            labels,
            legend: Vec::new(),
        }
    }

    const fn width(&self) -> i64 {
        WIDTH
    }
    const fn dot_class(&self) -> &'static str {
        Ink::Line.class()
    }
}

fn ticks(scale: &Scale) -> Vec<Tick> {
    let (left, right, top, bottom) = PLOT;
    let one = |v: &i64| {
        let y = units(scale.at(*v, bottom, top));
        Tick {
            path: format!("M{} {y}H{}", units(left), units(right)),
            is_zero: *v == 0,
            class: "n",
            x: units(left - 60),
            y,
            words: dollars(*v, scale.step),
        }
    };
    scale.ticks().iter().map(one).collect()
}

/// A name that has room beside its bar; the table has it whole.
fn cut(name: &str) -> String {
    if name.chars().count() <= NAME {
        return name.to_string();
    }
    name.chars().take(NAME - 1).chain(['…']).collect()
}

/// Labels below the axis that have room beside each other: every second, third… when there are many.
fn thinned(labels: Vec<(String, String)>) -> Vec<Label> {
    // A character is about 9 units wide on a phone, and one stands between two labels at least.
    let longest = labels.iter().map(|(_, words)| count(words.chars().count())).max().unwrap_or(0);
    let room = (PLOT.1 - PLOT.0).checked_div(count(labels.len()).max(1)).unwrap_or(0);
    let needed = (longest + 1) * 90;
    let every = usize::try_from(needed.saturating_add(room - 1).checked_div(room.max(1)).unwrap_or(1)).unwrap_or(1);
    let kept = labels.into_iter().enumerate().filter(|(n, _)| n % every.max(1) == 0);
    kept.map(|(_, (x, words))| Label { class: "", x, y: units(PLOT.3 + 200), words }).collect()
}

#[cfg(test)]
mod tests;
