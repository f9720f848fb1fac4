//! A sheet put into the fields of a form, parameters as lists, and what comes home in words.

use crate::actions::cut_sheet::SheetIn;
use crate::actions::own_yields::Own;
use crate::trade::cuts::catalogue::Catalogue;
use crate::trade::cuts::common::{Common, Parameter};
use crate::trade::cuts::figure::Figure;
use crate::trade::cuts::said::range;
use crate::trade::cuts::settings::upper;
use crate::trade::cuts::take_home::TakeHome;
use crate::trade::instructions::inches;
use crate::trade::weight::Unit;
use crate::web::look::Choices;
use crate::web::look::draft::Draft;
use std::collections::BTreeSet;

/// What stands in the form for a sheet; the empty form is the standard cut.
pub fn fields(input: &SheetIn) -> Draft {
    let mut draft = Draft::empty().with("special", input.special.clone());
    let sheet = &input.kept.sheet;
    for (block, choice) in &sheet.blocks {
        draft = draft.with(format!("block-{block}"), choice.clone());
    }
    for (block, slices) in &sheet.partitions {
        if let [first, second, ..] = slices.as_slice() {
            draft = draft
                .with(format!("block-{block}"), first.choice.clone())
                .with(format!("second-{block}"), second.choice.clone())
                .with(format!("pieces-{block}"), second.pieces.to_string());
        }
    }
    for (id, value) in &sheet.parameters {
        draft = draft.with(format!("param-{id}"), value.clone());
    }
    for part in &sheet.parts {
        draft = draft.with("parts", part.clone());
    }
    for (n, s) in (1..).zip(&sheet.sausage) {
        draft = draft
            .with(format!("sausage-{n}-seasoning"), s.seasoning.clone())
            .with(format!("sausage-{n}-form"), s.form.clone())
            .with(format!("sausage-{n}-weight"), s.weight.short());
    }
    for (name, on) in [("head_on", input.kept.head_on), ("skin_on", input.kept.skin_on)] {
        if on {
            draft = draft.with(name, "yes");
        }
    }
    draft
}

/// A parameter as a list to choose from.
pub struct ParamField {
    /// The field's name.
    pub field: String,
    /// What a person reads.
    pub label: String,
    /// What can be chosen.
    pub choices: Choices,
    /// What the empty choice says.
    pub none: String,
}

fn shown(p: &Parameter, value: &str) -> String {
    let words = value.replace('_', " ");
    match (p.unit.as_str(), Figure::parse(value)) {
        ("in", Ok(figure)) => inches(figure),
        ("word", _) | (_, Err(_)) => words,
        ("pieces", Ok(_)) => words,
        (unit, Ok(_)) => format!("{words} {unit}"),
    }
}

/// A parameter as a list to choose from; those with long ranges are left to the special wish.
pub fn parameter(p: &Parameter) -> Option<ParamField> {
    let values: Vec<String> = match &p.number {
        None => p.words.clone(),
        Some(l) if !l.allow.is_empty() => l.allow.iter().map(ToString::to_string).collect(),
        Some(l) => {
            let (least, most) = (l.least?.ten_thousandths(), l.most?.ten_thousandths());
            let step = l.step?.ten_thousandths().max(1);
            let n = most.saturating_sub(least) / step;
            let at = |i: i64| rust_decimal::Decimal::new(least.saturating_add(i.saturating_mul(step)), 4).normalize();
            (0..=n.min(60)).map(|i| at(i).to_string()).collect()
        }
    };
    let none = p.default.as_ref().map_or("Not asked".to_string(), |d| format!("{} (usual)", upper(&shown(p, d))));
    Some(ParamField {
        field: format!("param-{}", p.id),
        label: upper(&p.name),
        choices: values.into_iter().map(|v| (v.clone(), upper(&shown(p, &v)))).collect(),
        none,
    })
}

/// One line of what comes home.
pub struct HomeLine {
    /// The cut.
    pub name: String,
    /// How many pieces, or empty.
    pub pieces: String,
    /// How many packs.
    pub packs: String,
    /// From and to.
    pub range: String,
}

/// Every cut that comes home, ground meat and sausage last.
pub fn home_lines(home: &TakeHome<'_>, unit: Unit) -> Vec<HomeLine> {
    let mut lines: Vec<HomeLine> = home
        .lines
        .iter()
        .map(|l| HomeLine {
            name: upper(l.name),
            pieces: l.pieces.map(|p| p.decimal().normalize().to_string()).unwrap_or_default(),
            packs: l.packages.to_string(),
            range: range(l.weight.low, l.weight.high, unit),
        })
        .collect();
    let ground = HomeLine {
        name: "Ground meat".into(),
        pieces: String::new(),
        packs: home.ground_packages.to_string(),
        range: range(home.ground.low, home.ground.high, unit),
    };
    lines.extend((!home.ground.expected.is_zero()).then_some(ground));
    lines.extend(home.sausage.iter().map(|s| HomeLine {
        name: format!("{} sausage, {}", upper(&s.seasoning.replace('_', " ")), s.form),
        pieces: String::new(),
        packs: s.packages.to_string(),
        range: range(s.weight.low, s.weight.high, unit),
    }));
    lines
}

/// "By our own 14 shares (×0.970)", "about 172 lb": what own yields say beside the published range; until there are some, that it rests
/// on published figures. `whose`: "your" for the farmer, "our" for a customer.
pub fn own_yields(own: Option<Own>, unit: Unit, whose: &str) -> (String, String) {
    match own {
        Some(own) => (own.rests_on(whose), format!("about {}", range(own.expected, own.expected, unit))),
        None => ("It rests on".into(), "published figures".into()),
    }
}

/// "Freezer", "5.5–7.5 cubic feet".
pub fn freezer(home: &TakeHome<'_>) -> (String, String) {
    let (low, high) = home.cubic_feet;
    ("Freezer".into(), format!("{}–{} cubic feet", low.round_dp(1).normalize(), high.round_dp(1).normalize()))
}

/// Where the freezer space comes from: "35 to 40 lb in a cubic foot: University of …".
pub fn freezer_source(common: &Common) -> String {
    let f = &common.freezer;
    let sources: Vec<&str> = f.source.iter().filter_map(|key| common.source(key)).collect();
    format!("{} to {} lb in a cubic foot: {}", f.lb_per_cubic_foot_low, f.lb_per_cubic_foot_high, sources.join("; "))
}

/// The cautions of a forecast, each once.
pub fn cautions(home: Option<&TakeHome<'_>>) -> Vec<String> {
    let mut said = BTreeSet::new();
    let all = home.map_or(&[][..], |h| h.cautions.as_slice()).iter().map(|n| n.why.clone());
    all.filter(|why| said.insert(why.clone())).collect()
}

/// All packs of a forecast.
pub fn packs(home: &TakeHome<'_>) -> i64 {
    let cuts: i64 = home.lines.iter().map(|l| l.packages).sum();
    let sausage: i64 = home.sausage.iter().map(|s| s.packages).sum();
    cuts.saturating_add(sausage).saturating_add(home.ground_packages)
}

/// What a choice is called: its name where the block has it, else the id.
pub fn choice_name(catalogue: &Catalogue, block: &str, choice: &str) -> String {
    let found = catalogue.block(block).and_then(|b| b.choice(choice));
    upper(found.map_or(choice, |c| c.name.as_str()))
}
