//! The costs behind a sum of costs: of a year, of a kind, or of an animal.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::costs::{Lot, of_animals, page as latest};
use crate::book::ids::AnimalId;
use crate::trade::dates;
use crate::web::look::capital;

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/costs", name: "Costs entered", years_only: false, is_listed: false, make };
pages!();

/// Costs that are looked at at most, the latest.
const MOST: i64 = 20_000;

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let animal = asked.animal.map(AnimalId);
    let lots: Vec<Lot> = match animal {
        Some(id) => of_animals(c, &[id])?,
        None => latest(c, None, MOST)?,
    };
    let fits = |l: &&Lot| {
        l.cost.taken_back_at.is_none()
            && asked.kind.is_none_or(|k| k == l.cost.kind)
            && (animal.is_some() || asked.period.holds(l.cost.on_day, ""))
    };
    let mut table = Table::new(
        "costs-entered",
        "Costs",
        "The latest day first. Of an animal, its part of what several of them cost.",
        &["Cost", "Day", "What for", "Amount, $"],
    );
    let mut sum = 0_i64;
    for lot in lots.iter().filter(fits) {
        let amount = match animal {
            Some(id) => lot.part_of(id).unwrap_or_default(),
            None => lot.cost.amount,
        };
        sum = sum.saturating_add(amount.cents());
        table.row(vec![
            Cell::link(format!("/costs/{}", lot.cost.id), capital(lot.cost.kind.label())),
            Cell::text(dates::short(lot.cost.on_day, asked.today)),
            Cell::text(lot.cost.words.clone()),
            Cell::money(amount.cents()),
        ]);
    }
    let blank = || Cell::text("");
    table.total(vec![Cell::text("Together"), blank(), blank(), Cell::money(sum).named("sum-costs")]);
    Ok(Report {
        heading: match animal {
            Some(_) => "Costs of an animal".into(),
            None => format!("Costs entered for {}", asked.period.label()),
        },
        lead: match (animal, asked.period.days()) {
            (None, None) => "A cost has a day and no season; choose a year.".into(),
            (Some(_), _) => "Every cost of the animal, whenever it was.".into(),
            (None, Some(_)) => "By the day that stands with each cost.".into(),
        },
        tables: vec![table],
        ..Report::default()
    })
}
