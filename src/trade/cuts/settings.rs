//! The parameters of a sheet against their limits, with defaults filled in.

use super::common::{Common, Limits, Parameter};
use super::figure::Figure;
use super::sheet::{Note, Refused, Sheet, listed};
use crate::trade::share::Species;
use std::collections::BTreeMap;

/// Every parameter of a species with its value.
#[derive(Debug, Default)]
pub struct Settings<'a> {
    figures: BTreeMap<&'a str, Figure>,
    words: BTreeMap<&'a str, &'a str>,
    /// Rules broken by what was written.
    pub broken: Vec<Note>,
    /// Cautions about what was written.
    pub cautions: Vec<Note>,
}

impl<'a> Settings<'a> {
    /// Reads the parameters of a sheet.
    ///
    /// # Errors
    /// [`Refused::Unknown`] when a parameter is not one of the species, is not a figure, or is merely not offered.
    pub fn new(common: &'a Common, species: Species, sheet: &Sheet) -> Result<Self, Refused> {
        let mut settings = Self::default();
        let known = || common.parameters(species).map(|p| p.id.as_str());
        if let Some(id) = sheet.parameters.keys().find(|id| common.parameter(species, id).is_none()) {
            return Err(Refused::not_one_of(format!("sheet.parameters.{id}"), id, known()));
        }
        for parameter in common.parameters(species) {
            let given = sheet.parameters.get(&parameter.id);
            let Some(text) = given.or(parameter.default.as_ref()) else { continue };
            settings.take(parameter, text)?;
        }
        Ok(settings)
    }

    fn take(&mut self, parameter: &'a Parameter, text: &str) -> Result<(), Refused> {
        let at = format!("sheet.parameters.{}", parameter.id);
        let Some(limits) = &parameter.number else {
            match parameter.words.iter().find(|word| *word == text) {
                Some(word) => drop(self.words.insert(&parameter.id, word)),
                None => self.refuse(parameter, &at, not_a_word(parameter, text))?,
            }
            return Ok(());
        };
        let figure = Figure::parse(text)
            .map_err(|bad| Refused::unknown(&at, bad.sentence(text, &format!("\"{}\"", example(parameter, limits)))))?;
        if !fits(limits, figure) {
            return self.refuse(parameter, &at, outside(parameter, limits, figure));
        }
        if limits.caution_above.is_some_and(|most| figure > most) {
            let why = format!(
                "{} of {figure} {} is more than usual: fewer and heavier pieces, and not every shop cuts them. Ask the processor",
                upper(&parameter.name),
                parameter.unit
            );
            self.cautions.push(Note::new(parameter.rule.as_deref().unwrap_or("V4"), at, why));
        }
        self.figures.insert(&parameter.id, figure);
        Ok(())
    }

    fn refuse(&mut self, parameter: &'a Parameter, at: &str, why: String) -> Result<(), Refused> {
        let Some(rule) = &parameter.rule else { return Err(Refused::unknown(at, why)) };
        self.broken.push(Note::new(rule, at, why));
        // The default, so that the other rules can still be looked at.
        if let Some(figure) = parameter.default.as_ref().and_then(|text| Figure::parse(text).ok()) {
            self.figures.insert(&parameter.id, figure);
        }
        Ok(())
    }

    /// A figure, if the parameter is one of the species and is set.
    pub fn figure(&self, id: &str) -> Option<Figure> {
        self.figures.get(id).copied()
    }
    /// A whole number, at least 1.
    pub fn whole(&self, id: &str) -> Option<i64> {
        self.figure(id).and_then(Figure::as_whole).map(|n| n.max(1))
    }
    /// A word.
    pub fn word(&self, id: &str) -> Option<&'a str> {
        self.words.get(id).copied()
    }
}

fn fits(limits: &Limits, figure: Figure) -> bool {
    if !limits.allow.is_empty() {
        return limits.allow.contains(&figure);
    }
    let least = limits.least.unwrap_or(Figure::ZERO);
    let step = limits.step.map_or(1, |s| s.ten_thousandths().max(1));
    let above = figure.ten_thousandths().saturating_sub(least.ten_thousandths());
    figure >= least && limits.most.is_none_or(|most| figure <= most) && above % step == 0
}

fn example(parameter: &Parameter, limits: &Limits) -> String {
    let first = limits.allow.first().or(limits.least.as_ref()).map(Figure::to_string);
    parameter.default.clone().or(first).unwrap_or_default()
}

fn outside(parameter: &Parameter, limits: &Limits, figure: Figure) -> String {
    let unit = &parameter.unit;
    let name = upper(&parameter.name);
    if !limits.allow.is_empty() {
        let allowed: Vec<String> = limits.allow.iter().map(Figure::to_string).collect();
        let allowed: Vec<&str> = allowed.iter().map(String::as_str).collect();
        return format!("{name} cannot be {figure} {unit}. Choose {}", listed(&allowed, "or"));
    }
    let text = |figure: Option<Figure>| figure.map(|f| f.to_string()).unwrap_or_default();
    format!(
        "{name} cannot be {figure} {unit}. Choose {} to {} {unit} in steps of {}",
        text(limits.least),
        text(limits.most),
        text(limits.step)
    )
}

fn not_a_word(parameter: &Parameter, text: &str) -> String {
    let short: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    let words: Vec<&str> = parameter.words.iter().map(String::as_str).collect();
    if parameter.id == "bacon_in" {
        return format!(
            "“{short}” is not how bacon is sliced: it is not cut by inches like chops. Choose {}, about 1/32, 1/16 and 1/8 in",
            listed(&words, "or")
        );
    }
    format!("{} cannot be “{short}”. Choose {}", upper(&parameter.name), listed(&words, "or"))
}

/// A sentence begins with a capital letter.
pub fn upper(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| first.to_uppercase().chain(chars).collect())
}
