//! The head behind a processor's figures.

use super::Which;
use super::page::{Asked, Report, pages};
use super::processors::done;
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::ids::{DateId, ProcessorId};
use crate::book::report::barn::Barn;
use crate::trade::dates;
use crate::trade::report::plants::Work;
use std::collections::BTreeSet;

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/processor", name: "Head at a processor", years_only: false, is_listed: false, make };
pages!();

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let barn = Barn::read(c)?;
    let all = done(c, asked, &barn)?;
    let mine: Vec<_> = all.iter().filter(|d| asked.plant.is_none_or(|id| d.killed.plant == ProcessorId(id))).collect();
    let (label, unit) = (asked.period.label(), asked.unit());
    let name = mine.first().filter(|_| asked.plant.is_some()).map_or("All processors", |d| d.killed.name.as_str());
    let days: BTreeSet<DateId> = mine.iter().map(|d| d.killed.date).collect();
    let mut table = Table::new(
        "head-at-processor",
        format!("Head of {label}"),
        "By day of slaughter. Packaged weights stand beside the hanging weight of the same shares.",
        &[
            "Animal",
            "Day",
            "Days",
            "Head",
            &format!("Hot, {unit}"),
            &format!("Cold, {unit}"),
            "Shrink",
            &format!("Hanging weight of shares that came home, {unit}"),
            &format!("Packaged, {unit}"),
            "Yield",
            "Billed by the processor itself, $",
        ],
    );
    let mut work = Work::default();
    let mut own = 0_i64;
    let mut seen = BTreeSet::new();
    for d in &mine {
        work = work.plus(&d.work);
        own = own.saturating_add(d.own);
        table.row(vec![
            Cell::link(format!("/animals/{}", d.head.animal.id), d.head.animal.name()),
            Cell::link(format!("/dates/{}", d.killed.date), dates::short(d.killed.on, asked.today)),
            Cell::count(i64::from(seen.insert(d.killed.date))),
            Cell::count(1),
            Cell::weight(d.weights.0.map_or(0, |w| w.hundredths())),
            Cell::weight(d.weights.1.map_or(0, |w| w.hundredths())),
            Cell::percent(d.work.shrink()),
            Cell::weight(d.work.hung),
            Cell::weight(d.work.packaged),
            Cell::percent(d.work.yielded()),
            Cell::money(d.own),
        ]);
    }
    if !mine.is_empty() {
        table.total(vec![
            Cell::text("Together"),
            Cell::text(""),
            Cell::count(i64::try_from(days.len()).unwrap_or(i64::MAX)).named("sum-days"),
            Cell::count(work.head).named("sum-head"),
            Cell::weight(work.hot),
            Cell::weight(work.cold),
            Cell::percent(work.shrink()).named("sum-shrink"),
            Cell::weight(work.hung),
            Cell::weight(work.packaged),
            Cell::percent(work.yielded()).named("sum-yield"),
            Cell::money(own).named("sum-own"),
        ]);
    }
    Ok(Report {
        heading: format!("{name}, {label}"),
        lead: "Head by head. Hot and cold weights are added up together only of head that were weighed both ways."
            .into(),
        tables: vec![table],
        ..Report::default()
    })
}
