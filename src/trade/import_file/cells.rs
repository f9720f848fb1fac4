//! The cells of one line, read by the rules of the forms; what is wrong is collected with its place.

use super::Field;
use crate::trade::clean::{one_line, several_lines};
use crate::trade::contact::{is_mail, is_phone};
use crate::trade::csv::unguarded;
use crate::trade::money::{Money, Rate};
use crate::trade::sheet_file::columns::Matched;
use crate::trade::sheet_file::figure::{self, Mark, Style, is_blank};
use crate::trade::sheet_file::{Fault, Line, Table, shortened};
use crate::trade::typed_day::{DayOrMonth, read_day, read_day_or_month};
use crate::trade::weight::{Unit, Weight};
use chrono::NaiveDate;

/// Which of two figures of a day is the month.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum DayOrder {
    /// As Americans write; also where no day of the file shows it.
    MonthFirst,
    /// A day of the file such as 25/3/2027 shows it.
    DayFirst,
    /// Some days show the one, some the other.
    Mixed,
}

/// What all lines are read by.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ways {
    unit: Unit,
    money: Style,
    weights: Style,
    days: DayOrder,
}

impl Ways {
    pub(super) fn of(table: &Table, columns: &Matched, unit: Unit) -> Self {
        let cells = |fields: &'static [Field]| {
            let of: Vec<usize> = fields.iter().filter_map(|f| columns.get(f.as_str()).copied()).collect();
            table.lines.iter().flat_map(move |l| of.clone().into_iter().map(move |n| l.cell(n)))
        };
        let money: Vec<String> =
            cells(&[Field::Price, Field::DepositAsked, Field::Deposit, Field::Amount]).map(bare).collect();
        let days = cells(&[Field::From, Field::Born, Field::TakenOn, Field::DepositOn, Field::PaidOn]);
        let days =
            days.filter_map(two_figures).fold((false, false), |(day, month), (a, b)| (day || a > 12, month || b > 12));
        Self {
            unit,
            money: Style::of(money.iter().map(String::as_str)),
            weights: Style::of(cells(&[Field::Low, Field::High])),
            days: match days {
                (true, true) => DayOrder::Mixed,
                (true, false) => DayOrder::DayFirst,
                _ => DayOrder::MonthFirst,
            },
        }
    }
}

/// The first two figures of a day that is written in three figures, the year last.
fn two_figures(text: &str) -> Option<(u32, u32)> {
    let text = without_time(text);
    let mut parts = text.split(['/', '-', '.']);
    let (a, b, c, end) = (parts.next()?, parts.next()?, parts.next()?, parts.next());
    if end.is_some() || a.trim().len() > 2 || c.trim().len() < 2 {
        return None;
    }
    Some((a.trim().parse().ok()?, b.trim().parse().ok()?))
}

/// A day without the time of day that some programs write behind it.
fn without_time(text: &str) -> &str {
    match text.split_once(['T', ' ']) {
        Some((day, time)) if time.contains(':') && time.starts_with(|c: char| c.is_ascii_digit()) => day,
        _ => text,
    }
}

/// A price or an amount without dollar sign and what it is per: "$4.25/lb" becomes "4.25".
fn bare(text: &str) -> String {
    let text = text.trim();
    let text = text.strip_prefix("US$").or_else(|| text.strip_prefix('$')).unwrap_or(text);
    let text = text.split_once('/').map_or(text, |(figure, _)| figure);
    let text = text.split_once(" per ").map_or(text, |(figure, _)| figure).trim();
    let text = text.strip_suffix("USD").unwrap_or(text).trim();
    text.strip_prefix("-$").map_or_else(|| text.to_string(), |rest| format!("-{rest}"))
}

/// The style where the file shows one, else a decimal point.
const fn settled(style: Style) -> Style {
    match style {
        Style::Unknown => Style::One(Mark::Point),
        style => style,
    }
}

pub(super) fn other_unit(other: Unit, farm: Unit) -> String {
    format!("This weight is in {other} and the farm weighs in {farm}. Gambrel converts no weights: write it in {farm}.")
}

/// The cells of a line.
pub(super) struct Cells<'a> {
    table: &'a Table,
    columns: &'a Matched,
    line: &'a Line,
    ways: Ways,
    faults: Vec<Fault>,
}

impl<'a> Cells<'a> {
    pub(super) const fn new(table: &'a Table, columns: &'a Matched, line: &'a Line, ways: Ways) -> Self {
        Self { table, columns, line, ways, faults: Vec::new() }
    }
    /// What was wrong.
    pub(super) fn faults(self) -> Vec<Fault> {
        self.faults
    }
    /// Whether nothing stands in any chosen column.
    pub(super) fn is_empty(&self) -> bool {
        self.columns.values().all(|n| is_blank(self.line.cell(*n)))
    }
    /// What stands in a field's cell; empty where nothing does.
    pub(super) fn raw(&self, field: Field) -> &'a str {
        let cell = self.columns.get(field.as_str()).map_or("", |n| self.line.cell(*n));
        if is_blank(cell) { "" } else { unguarded(cell) }
    }
    pub(super) fn wrong(&mut self, field: Field, says: impl Into<String>) {
        let fault = match self.columns.get(field.as_str()) {
            Some(n) => self.table.fault(self.line, *n, says),
            None => Fault::line(self.line.number, says),
        };
        self.faults.push(fault);
    }
    fn fits(&mut self, field: Field, text: String, most: usize) -> String {
        let n = text.chars().count();
        if n > most {
            self.wrong(field, format!("{n} characters stand here and only {most} fit. Shorten it in the file."));
        }
        text
    }
    /// A text on one line, or empty.
    pub(super) fn text(&mut self, field: Field, most: usize) -> String {
        let text = one_line(self.raw(field));
        self.fits(field, text, most)
    }
    /// A text on several lines, or empty.
    pub(super) fn lines(&mut self, field: Field, most: usize) -> String {
        let cell = self.columns.get(field.as_str()).map_or("", |n| self.line.lines(*n));
        let text = if is_blank(cell) { String::new() } else { several_lines(unguarded(cell)) };
        self.fits(field, text, most)
    }
    /// A text that has to be there.
    pub(super) fn needed(&mut self, field: Field, most: usize) -> String {
        let text = self.text(field, most);
        if text.is_empty() {
            self.wrong(field, format!("{} is missing. Write it, or take the line out.", field.label()));
        }
        text
    }
    /// A mail address, or empty.
    pub(super) fn mail(&mut self) -> String {
        let mail = one_line(self.raw(Field::Mail));
        if !mail.is_empty() && !is_mail(&mail) {
            let says = format!("“{}” is not a mail address. Write it like ines@halvard.example.", shortened(&mail));
            self.wrong(Field::Mail, says);
        }
        mail.to_lowercase()
    }
    /// A telephone number, or empty.
    pub(super) fn phone(&mut self) -> String {
        let phone = one_line(self.raw(Field::Phone));
        if !phone.is_empty() && (phone.chars().count() > 40 || !is_phone(&phone)) {
            let says = format!("“{}” is not a telephone number. Write it like (715) 555-0117.", shortened(&phone));
            self.wrong(Field::Phone, says);
        }
        phone
    }
    /// The cell of a day with the month first; none after a fault.
    fn ordered(&mut self, field: Field) -> Option<String> {
        let text = without_time(self.raw(field)).to_string();
        if let Some((a, b)) = two_figures(&text) {
            match self.ways.days {
                DayOrder::MonthFirst => {}
                DayOrder::DayFirst => {
                    let year = text.rsplit(['/', '-', '.']).next().unwrap_or("").to_string();
                    return Some(format!("{b}/{a}/{year}"));
                }
                DayOrder::Mixed => {
                    let says = format!(
                        "“{}”: some days of this file have the month first and some the day. Write them like 2027-10-14.",
                        shortened(&text)
                    );
                    self.wrong(field, says);
                    return None;
                }
            }
        }
        Some(text)
    }
    /// A day, if one stands there.
    pub(super) fn day(&mut self, field: Field) -> Option<NaiveDate> {
        let text = self.ordered(field).filter(|t| !t.is_empty())?;
        read_day(&text).map_err(|why| self.wrong(field, why.sentence(&text))).ok()
    }
    /// A day or a month, if one stands there.
    pub(super) fn day_or_month(&mut self, field: Field) -> Option<DayOrMonth> {
        let text = self.ordered(field).filter(|t| !t.is_empty())?;
        read_day_or_month(&text).map_err(|why| self.wrong(field, why.sentence(&text))).ok()
    }
    fn figure(&mut self, field: Field, style: Style, text: &str) -> Option<figure::Figure> {
        figure::read(text, style).map_err(|says| self.wrong(field, says)).ok()
    }
    /// An amount, if one stands there.
    pub(super) fn money(&mut self, field: Field) -> Option<Money> {
        let text = bare(self.raw(field));
        if text.is_empty() {
            return None;
        }
        // Money has two decimals at most, so "1,200" has only one reading.
        let style = if text.contains(',') { settled(self.ways.money) } else { self.ways.money };
        let figure = self.figure(field, style, &text)?;
        Money::parse(&figure.plain).map_err(|e| self.wrong(field, e.sentence(&text, "400.00."))).ok()
    }
    /// An amount of nothing or more, if one stands there.
    pub(super) fn amount(&mut self, field: Field) -> Option<Money> {
        let money = self.money(field)?;
        if money.cents() < 0 {
            self.wrong(field, "The amount is below zero. Write what came in, or take the line out.");
        }
        Some(money)
    }
    /// A price per unit, if one stands there.
    pub(super) fn rate(&mut self, field: Field) -> Option<Rate> {
        let text = bare(self.raw(field));
        if text.is_empty() {
            return None;
        }
        // Nobody asks a thousand dollars for a pound: "4.125" has only one reading.
        let figure = self.figure(field, settled(self.ways.money), &text)?;
        Rate::parse(&figure.plain).map_err(|e| self.wrong(field, e.sentence(&text, "4.25."))).ok()
    }
    /// A weight in the farm's unit, if one stands there.
    pub(super) fn weight(&mut self, field: Field) -> Option<Weight> {
        let text = self.raw(field).to_string();
        if text.is_empty() {
            return None;
        }
        let figure = self.figure(field, self.ways.weights, &text)?;
        if let Some(other) = figure.unit.filter(|u| *u != self.ways.unit) {
            self.wrong(field, other_unit(other, self.ways.unit));
            return None;
        }
        Weight::parse(&figure.plain).map_err(|e| self.wrong(field, e.sentence(&text, "700."))).ok()
    }
    /// A whole number from 0 on, if one stands there.
    pub(super) fn whole(&mut self, field: Field, most: i64) -> Option<i64> {
        let text = self.raw(field).to_string();
        if text.is_empty() {
            return None;
        }
        let read = figure::read(&text, Style::Unknown).ok().and_then(|f| f.plain.parse::<i64>().ok());
        let fits = read.filter(|n| (0..=most).contains(n));
        if fits.is_none() {
            self.wrong(field, format!("“{}” is not a whole number from 0 to {most}. Correct it.", shortened(&text)));
        }
        fits
    }
    /// One of the trade's words, if one stands there; `such` names what may stand there.
    pub(super) fn word<T>(&mut self, field: Field, read: fn(&str) -> Option<T>, such: &str) -> Option<T> {
        let text = self.raw(field);
        if text.is_empty() {
            return None;
        }
        let found = read(text);
        if found.is_none() {
            self.wrong(field, format!("“{}” is not understood. Write {such}.", shortened(text)));
        }
        found
    }
}
