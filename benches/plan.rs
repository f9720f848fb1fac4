//! The planner: how long, how many are proven, how far the bounds are, and the most memory; CP-SAT beside it.
//!
//! `cargo bench --bench plan` prints each figure beside its aim. The farms are made up from seeds, the same every time. CP-SAT
//! solves some of them too when `GAMBREL_PYTHON` names a Python with ortools (`tests/requirements-plan.txt`).
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::panic,
    clippy::expect_used,
    reason = "a bench stops at what it did not expect"
)]

#[path = "../tests/it/plan/made_up.rs"]
mod made_up;

use gambrel::trade::plan::{Criterion, Problem, Sides, broken, plan};
use gambrel::trade::weight::Weight;
use made_up::{Dice, Kind, problem};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::io::Write;
use std::process::Command;
use std::time::Instant;

/// A farm of all kinds of animals, orders and wishes. One in six has one species, half have all four.
fn farm(heads: usize, orders: usize, species: Option<usize>, seed: u64) -> Problem {
    let mut dice = Dice(seed * 7919 + 13);
    let species = species.unwrap_or([1, 2, 3, 4, 4, 4][dice.below(6)]);
    let dates = match heads {
        0..100 => 2 + dice.below(8),
        _ => 12 + dice.below(9),
    };
    let kind = Kind {
        heads,
        orders,
        species,
        dates,
        custom: 60,
        taken: 10,
        barred: 5,
        grouped: 15,
        ranged: 30,
        standing: 50,
        locked: 15,
        any_date: 20,
        paid: 60,
        pairs: 30,
        plants: dice.in_hundred(50),
    };
    problem(kind, &mut dice)
}

struct Row {
    what: &'static str,
    heads: usize,
    orders: usize,
    species: Option<usize>,
    cases: u64,
    milliseconds: u64,
    aim: &'static str,
}

/// Plans the farms of a row and prints what came of it; the times over the time limit that each took.
fn measure(row: &Row) {
    let mut times = Vec::new();
    let mut open: BTreeMap<&str, usize> = BTreeMap::new();
    let (mut gap, mut proven, mut first) = (0.0_f64, Vec::new(), 0);
    for seed in 0..row.cases {
        let farm = farm(row.heads, row.orders, row.species, seed);
        let began = Instant::now();
        let made = plan(&farm, row.milliseconds).unwrap();
        let took = began.elapsed().as_secs_f64();
        assert!(broken(&farm, &made.places).is_empty());
        times.push(took);
        match made.bound {
            None => {
                proven.push(took);
                first += usize::from(made.first);
            }
            Some(bound) => {
                *open.entry(bound.criterion.as_str()).or_default() += 1;
                if bound.criterion == Criterion::Paid {
                    gap = gap.max((bound.value - made.score.paid) as f64 / made.score.paid.max(1) as f64);
                }
            }
        }
    }
    times.sort_by(f64::total_cmp);
    proven.sort_by(f64::total_cmp);
    // The median counts those that are not proven as longer than any.
    let median = proven.get((row.cases as usize).div_ceil(2) - 1).map_or("not reached".into(), |t| format!("{t:.3} s"));
    println!("{}: {} head, {} reservations, {} ms allowed", row.what, row.heads, row.orders, row.milliseconds);
    println!(
        "  proven {} of {} ({first} surely the first among equals), median time to the proof {median}   (aim: {})",
        proven.len(),
        row.cases,
        row.aim
    );
    println!(
        "  all times: median {:.3} s, most {:.3} s, {:.2} of the limit; first unproven criterion {open:?}; paid open by at \
         most {:.3} %   (aims: 2 of the limit; 1 %)",
        times[times.len() / 2],
        times[times.len() - 1],
        times[times.len() - 1] * 1e3 / row.milliseconds as f64,
        gap * 100.0
    );
}

fn text(weight: Option<Weight>) -> Value {
    weight.map_or(Value::Null, |w| json!(format!("{}.{:02}", w.hundredths() / 100, w.hundredths() % 100)))
}

/// The problem as `gambrel reckon plan` reads it.
fn written(problem: &Problem, milliseconds: u64) -> Value {
    let side = |side: Sides| side.as_str();
    let animals: Vec<Value> = problem
        .heads
        .iter()
        .map(|h| {
            let taken: Vec<Value> = [("left", h.taken[0]), ("right", h.taken[1])]
                .into_iter()
                .filter(|(_, quarters)| *quarters > 0)
                .map(|(side, quarters)| json!({"side": side, "quarters": quarters}))
                .collect();
            json!({"id": h.id, "species": h.species.as_str(), "date": h.date.to_string(), "processor": h.processor,
                "custom_exempt": h.custom_exempt, "not_before": h.not_before.map(|d| d.to_string()),
                "expected_hanging": text(h.hanging), "taken": taken})
        })
        .collect();
    let reservations: Vec<Value> = problem
        .orders
        .iter()
        .map(|o| {
            let weight = match o.asked {
                (None, None) => Value::Null,
                (low, high) => json!({"low": text(low), "high": text(high)}),
            };
            let current = o.current.map(|now| {
                json!({"animal": problem.heads[now.spot.head].id, "side": side(now.spot.sides), "locked": now.locked})
            });
            let taken_at = chrono::DateTime::from_timestamp(o.taken_at, 0).unwrap();
            json!({"id": o.id, "species": o.species.as_str(), "size": o.size.as_str(),
                "taken_at": taken_at.format("%Y-%m-%dT%H:%M:%SZ").to_string(), "deposit_paid": o.deposit_paid,
                "dates": o.dates.iter().map(|d| d.to_string()).collect::<Vec<_>>(), "together": o.together,
                "weight": weight, "current": current})
        })
        .collect();
    let id = |i: usize| &problem.orders[i].id;
    let pairs: Vec<Value> = problem
        .sheet_differences
        .iter()
        .map(|pair| json!({"a": id(pair.a), "b": id(pair.b), "blocks": pair.blocks}))
        .collect();
    json!({"animals": animals, "reservations": reservations, "sheet_differences": pairs, "keep": problem.keep,
        "open_custom_from": problem.open_custom_from, "time_limit_ms": milliseconds})
}

/// The same farms solved by CP-SAT, one after the other.
fn beside(heads: usize, orders: usize, cases: u64, seconds: u64) {
    println!(
        "CP-SAT beside it: the first {cases} of {heads} head, {orders} reservations, {seconds} s each, two workers"
    );
    let Some(python) = std::env::var_os("GAMBREL_PYTHON") else {
        println!("  left out: GAMBREL_PYTHON names no Python");
        return;
    };
    if !Command::new(&python).args(["-c", "import ortools"]).output().is_ok_and(|out| out.status.success()) {
        println!(
            "  left out: the Python of GAMBREL_PYTHON has no ortools (pip install -r tests/requirements-plan.txt)"
        );
        return;
    }
    let mut list = tempfile::NamedTempFile::new().unwrap();
    for seed in 0..cases {
        writeln!(list, "{}", written(&farm(heads, orders, None, seed), 2000)).unwrap();
    }
    let status = Command::new(&python)
        .arg(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/plan_cpsat.py"))
        .arg(format!("{} reckon plan", env!("CARGO_BIN_EXE_gambrel")))
        .arg("--problems")
        .arg(list.path())
        .args(["--jobs", "1", "--workers", "2", "--seconds", &seconds.to_string()])
        .status()
        .unwrap();
    assert!(status.success(), "CP-SAT disagrees");
}

fn main() {
    let row = |what, heads, orders, species, cases, milliseconds, aim| Row {
        what,
        heads,
        orders,
        species,
        cases,
        milliseconds,
        aim,
    };
    for row in [
        row("a usual season", 40, 120, None, 60, 2000, "under 0.5 s"),
        row("a large season", 60, 200, None, 60, 2000, "under 2 s"),
        row("the largest", 300, 1000, None, 6, 10_000, "none; bounds in 10 s"),
        row("one species only", 40, 120, Some(1), 20, 2000, "none; the hardest kind"),
        row("one species only", 60, 200, Some(1), 20, 2000, "none; the hardest kind"),
    ] {
        measure(&row);
    }
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let most = status.lines().find_map(|l| l.strip_prefix("VmHWM:")?.trim().strip_suffix(" kB")?.parse::<f64>().ok());
    match most {
        Some(most) => println!("most memory over all of it {:.0} MB   (aim: under 200 MB)", most / 1024.0),
        None => println!("memory is not known on this machine"),
    }
    beside(40, 120, 6, 20);
    beside(60, 200, 3, 20);
}
