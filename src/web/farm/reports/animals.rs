//! Animal by animal: what it hung, what it brought, and what was left over where its costs are known.

use super::Which;
use super::page::{Asked, Report, pages};
use super::table::{Cell, Table};
use crate::actions::Failure;
use crate::book::conn::DbConn;
use crate::book::costs::per_animal;
use crate::book::ids::AnimalId;
use crate::book::ledger::behind::by_invoice;
use crate::book::report::barn::Barn;
use crate::book::report::head::Hung;
use crate::trade::dates;
use crate::trade::money::Money;
use crate::trade::report::behind::{Behind, Group};
use crate::trade::report::head::Head;
use crate::web::look::chart::{self, Chart};
use std::collections::{BTreeMap, HashMap};

/// The report.
pub const REPORT: Which =
    Which { path: "/reports/animals", name: "Animal by animal", years_only: false, is_listed: true, make };
pages!();

/// Head that are drawn at most; more would be a comb.
const DRAWN: usize = 24;

/// What the ledger says each head brought: sales, and everything earned less write-offs, in cents.
fn earned(c: &mut DbConn, barn: &Barn) -> Result<HashMap<AnimalId, (i64, i64)>, Failure> {
    let of_bill: HashMap<_, _> = barn.bills.iter().map(|b| (b.id, b.order)).collect();
    let sales = Group::Sales.accounts();
    let mut all: HashMap<AnimalId, (i64, i64)> = HashMap::new();
    for ((bill, account), cents) in by_invoice(c, &Behind::group(Group::Earned))? {
        let Some(animal) = of_bill.get(&bill).and_then(|order| barn.placed.get(order)) else { continue };
        let both = all.entry(*animal).or_default();
        both.1 = both.1.saturating_sub(cents);
        if sales.contains(&account) {
            both.0 = both.0.saturating_sub(cents);
        }
    }
    Ok(all)
}

/// The figures of these head. `costs` are in cents, of the head for which any were entered.
///
/// # Errors
/// When the book cannot be read.
pub fn figures<'a>(
    c: &mut DbConn,
    barn: &Barn,
    head: &[&'a Hung],
    costs: &BTreeMap<AnimalId, i64>,
) -> Result<Vec<(&'a Hung, Head)>, Failure> {
    let earned = earned(c, barn)?;
    let bills = barn.bills_of();
    Ok(head
        .iter()
        .map(|h| {
            let id = h.animal.id;
            let (sales, all) = earned.get(&id).copied().unwrap_or_default();
            let mut one = Head::new(h.live, h.weight());
            (one.sales, one.other, one.costs) = (sales, all.saturating_sub(sales), costs.get(&id).copied());
            for bill in bills.get(&id).into_iter().flatten() {
                one.billed = one.billed.saturating_add(bill.weight.map_or(0, |w| w.hundredths()));
                one.unweighed = one.unweighed.saturating_add(i64::from(bill.weight.is_none()));
            }
            (*h, one)
        })
        .collect())
}

fn of_animal(group: Group, id: AnimalId) -> Behind {
    let mut behind = Behind::group(group);
    behind.animal = Some(id.0);
    behind
}

fn make(c: &mut DbConn, asked: &Asked) -> Result<Report, Failure> {
    let barn = Barn::read(c)?;
    let head = barn.of_period(&asked.period);
    let ids: Vec<AnimalId> = head.iter().map(|h| h.animal.id).collect();
    let entered = per_animal(c, &ids)?;
    let costs: BTreeMap<AnimalId, i64> = entered.into_iter().map(|(id, m)| (id, m.cents())).collect();
    let all = figures(c, &barn, &head, &costs)?;
    let (label, unit) = (asked.period.label(), asked.unit());
    let with_costs = all.iter().any(|(_, h)| h.costs.is_some());
    let per = format!("$ per {unit}");
    let (live, hung) = (format!("Live, {unit}"), format!("Hanging, {unit}"));
    let mut columns =
        vec!["Animal", "Slaughtered", "Head", &live, &hung, "Dressing", "Basis", &per, "Sales, $", "Income, $"];
    if with_costs {
        columns.extend(["Costs, $", "Margin, $"]);
    }
    let mut table = Table::new(
        "animal-by-animal",
        format!("Head of {label}"),
        "By day of slaughter. Income is sales and charges less discounts and what was written off, of all invoices for shares of the animal.",
        &columns,
    );
    let mut together = Head { costs: Some(0), ..Head::default() };
    for (h, one) in &all {
        let id = h.animal.id;
        together = together.plus(one);
        let mut cells = vec![
            Cell::link(format!("/animals/{id}"), h.animal.name()),
            Cell::text(dates::short(h.day(), asked.today)),
            Cell::count(1),
            Cell::weight(h.live.map_or(0, |w| w.hundredths())),
            Cell::weight(one.hung),
            Cell::percent(one.dressing()),
            Cell::text(if h.weight().is_some() { h.weighed.basis.as_str() } else { "condemned" }),
            Cell::maybe_money(one.price()),
            Cell::money(one.sales).behind(&of_animal(Group::Sales, id)),
            Cell::money(one.income()).behind(&of_animal(Group::Earned, id)),
        ];
        if with_costs {
            let to = asked.to("/reports/costs", &[("animal", id.to_string())], "sum-costs");
            cells.push(one.costs.map_or_else(Cell::none, |cents| Cell::money(cents).to(to)));
            cells.push(one.margin().map_or_else(Cell::none, Cell::money));
        }
        table.row(cells);
    }
    let count = i64::try_from(all.len()).unwrap_or(i64::MAX);
    let mut cells = vec![
        Cell::text("Together"),
        Cell::text(""),
        Cell::count(count).named("sum-head"),
        Cell::none(),
        Cell::weight(together.hung).named("sum-hung"),
        Cell::percent(together.dressing()),
        Cell::text(""),
        Cell::maybe_money(together.price()),
        Cell::money(together.sales).named("sum-sales"),
        Cell::money(together.income()).named("sum-income"),
    ];
    if with_costs {
        cells.push(together.costs.map_or_else(Cell::none, Cell::money));
        cells.push(together.margin().map_or_else(Cell::none, Cell::money));
    }
    if !all.is_empty() {
        table.total(cells);
    }
    let groups: Vec<_> =
        all.iter().map(|(h, one)| chart::Group { label: h.animal.name(), values: vec![one.income()] }).collect();
    let dollars = Money::from_cents(together.income()).dollars();
    let best = all.iter().max_by_key(|(_, one)| one.income());
    let says = best.map_or(String::new(), |(h, one)| {
        format!("{} brought the most, {}.", h.animal.name(), Money::from_cents(one.income()).dollars())
    });
    Ok(Report {
        heading: match count {
            1 => format!("One head brought {dollars}"),
            n => format!("{n} head brought {dollars}"),
        },
        lead: match asked.period.days() {
            Some(_) => format!("Head slaughtered in {label}, and what their shares were invoiced for up to today."),
            None => format!("Head with shares of {label} on them, and what their shares were invoiced for up to today."),
        },
        charts: if all.is_empty() || all.len() > DRAWN {
            Vec::new()
        } else {
            vec![Chart::rows("c-head", format!("Income by animal, {label}"), says, &groups)]
        },
        tables: vec![table],
        notes: vec![
            "Dressing is hanging weight as a part of live weight: of head that were weighed alive before slaughter. Together, only \
             those count in it."
                .into(),
            format!("The price per {unit} is sales divided by the weight that was invoiced."),
        ],
        ..Report::default()
    })
}
