//! `gambrel reckon plan`: which share goes to which animal and date.

use super::Refusal;
use super::json::{Field, Fields, Node};
use crate::trade::dates;
use crate::trade::plan::{
    Criterion, Head, Order, Plan, Problem, Score, SheetDifference, Sides, Spot, Standing, plan, reasons,
};
use crate::trade::share::{Side, Size};
use crate::trade::weight::Weight;
use chrono::{DateTime, NaiveDate};
use serde::Serialize;
use std::collections::HashMap;

/// The longest list of sheet differences; 1 MB holds fewer.
const MOST_PAIRS: usize = 100_000;
/// How long to search when nothing is said, in milliseconds.
const USUAL_TIME: u32 = 2000;
/// The longest that may be asked for, in milliseconds: ten minutes.
const LONGEST_TIME: u32 = 600_000;

/// The answer, in this order.
#[derive(Serialize)]
pub(super) struct Answer {
    assignments: Vec<Assigned>,
    left_out: Vec<LeftOut>,
    score: ScoreAnswer,
    proven: bool,
    bound: Option<BoundAnswer>,
}

#[derive(Serialize)]
struct Assigned {
    reservation: String,
    animal: String,
    side: Sides,
    quarters: i64,
    why: String,
}

#[derive(Serialize)]
struct LeftOut {
    reservation: String,
    why: String,
}

#[derive(Serialize)]
struct ScoreAnswer {
    paid: i64,
    unpaid: i64,
    moved: i64,
    unsold_custom: i64,
    groups: i64,
    date_rank: i64,
    opened: i64,
    weight_outside: String,
    half_filled_sides: i64,
    sheet_differences: i64,
}

#[derive(Serialize)]
struct BoundAnswer {
    criterion: Criterion,
    value: String,
}

pub(super) fn reckon(root: &Node) -> Result<Answer, Refusal> {
    let names = ["animals", "reservations", "sheet_differences", "keep", "open_custom_from", "time_limit_ms"];
    let fields = Fields::root(root, &names)?;
    let animals = fields.need("animals")?.list()?;
    let heads = animals.into_iter().map(head).collect::<Result<Vec<_>, _>>()?;
    let head_at: HashMap<&str, usize> = heads.iter().map(|h| h.id.as_str()).zip(0..).collect();
    let reservations = fields.need("reservations")?.list()?;
    let orders = reservations.into_iter().map(|r| order(r, &head_at)).collect::<Result<Vec<_>, _>>()?;
    let order_at: HashMap<&str, usize> = orders.iter().map(|o| o.id.as_str()).zip(0..).collect();
    let pairs = fields.get("sheet_differences").map_or(Ok(Vec::new()), |list| list.list_of(MOST_PAIRS))?;
    let sheet_differences = pairs.into_iter().map(|p| pair(p, &order_at)).collect::<Result<Vec<_>, _>>()?;
    let keep = fields.need("keep")?.yes()?;
    let open_custom_from = u8::try_from(fields.need("open_custom_from")?.between(1, 4)?).unwrap_or(1);
    let time = fields.get("time_limit_ms").map_or(Ok(USUAL_TIME), |field| field.between(1, LONGEST_TIME))?;
    let problem = Problem { heads, orders, sheet_differences, keep, open_custom_from };
    let made = plan(&problem, u64::from(time)).map_err(|e| Refusal::new(e.at, e.error))?;
    Ok(answer(&problem, &made))
}

fn answer(problem: &Problem, made: &Plan) -> Answer {
    let (mut assignments, mut left_out) = (Vec::new(), Vec::new());
    let reasons = reasons(problem, made);
    for ((order, place), why) in problem.orders.iter().zip(&made.places).zip(reasons.orders) {
        match place.and_then(|spot| Some((spot, problem.heads.get(spot.head)?))) {
            Some((spot, head)) => assignments.push(Assigned {
                reservation: order.id.clone(),
                animal: head.id.clone(),
                side: spot.sides,
                quarters: order.size.quarters(),
                why,
            }),
            None => left_out.push(LeftOut { reservation: order.id.clone(), why }),
        }
    }
    let bound = made.bound.map(|bound| BoundAnswer {
        criterion: bound.criterion,
        value: match bound.criterion {
            Criterion::WeightOutside => Weight::from_hundredths(bound.value).plain(),
            _ => bound.value.to_string(),
        },
    });
    Answer { assignments, left_out, score: figures(made.score), proven: bound.is_none(), bound }
}

fn figures(score: Score) -> ScoreAnswer {
    ScoreAnswer {
        paid: score.paid,
        unpaid: score.unpaid,
        moved: score.moved,
        unsold_custom: score.unsold_custom,
        groups: score.groups,
        date_rank: score.date_rank,
        opened: score.opened,
        weight_outside: Weight::from_hundredths(score.weight_outside).plain(),
        half_filled_sides: score.half_filled_sides,
        sheet_differences: score.sheet_differences,
    }
}

fn day(field: &Field<'_>) -> Result<NaiveDate, Refusal> {
    field.read("a day in quotes, such as \"2027-10-14\"", dates::read)
}

fn head(field: Field<'_>) -> Result<Head, Refusal> {
    let names = ["id", "species", "date", "processor", "custom_exempt", "not_before", "expected_hanging", "taken"];
    let fields = field.object(&names)?;
    let optional = |name: &str| fields.get(name).and_then(Field::or_null);
    let mut taken = [0_u8; 2];
    for part in fields.list("taken")? {
        let at = part.at.clone();
        let part = part.object(&["side", "quarters"])?;
        let side: Side = part.need("side")?.word()?;
        let quarters = u8::try_from(part.need("quarters")?.between(1, 2)?).unwrap_or(2);
        let [left, right] = &mut taken;
        let on = if side == Side::Left { left } else { right };
        *on += quarters;
        if *on > 2 {
            return Err(Refusal::new(at, "A side has only two quarters. More than that is taken here"));
        }
    }
    Ok(Head {
        id: fields.need("id")?.name()?,
        species: fields.need("species")?.word()?,
        date: day(&fields.need("date")?)?,
        processor: fields.need("processor")?.name()?,
        custom_exempt: fields.need("custom_exempt")?.yes()?,
        not_before: optional("not_before").map(|f| day(&f)).transpose()?,
        hanging: optional("expected_hanging").map(|f| f.weight()).transpose()?,
        taken,
    })
}

fn order(field: Field<'_>, heads: &HashMap<&str, usize>) -> Result<Order, Refusal> {
    let names = ["id", "species", "size", "taken_at", "deposit_paid", "dates", "together", "weight", "current"];
    let fields = field.object(&names)?;
    let optional = |name: &str| fields.get(name).and_then(Field::or_null);
    let size: Size = fields.need("size")?.word()?;
    let asked = optional("weight").map_or(Ok((None, None)), |field| {
        let ends = field.object(&["low", "high"])?;
        let end = |name: &str| ends.get(name).and_then(Field::or_null).map(|f| f.weight()).transpose();
        Ok((end("low")?, end("high")?))
    })?;
    let current = optional("current").map(|field| standing(field, heads)).transpose()?;
    Ok(Order {
        id: fields.need("id")?.name()?,
        species: fields.need("species")?.word()?,
        size,
        taken_at: fields.need("taken_at")?.read("a time in quotes, such as \"2027-03-01T10:00:00Z\"", moment)?,
        deposit_paid: fields.need("deposit_paid")?.yes()?,
        dates: fields.list("dates")?.iter().map(day).collect::<Result<_, _>>()?,
        together: optional("together").map(|f| f.name()).transpose()?,
        asked,
        current,
    })
}

/// Microseconds since 1970 of a time with its offset (RFC 3339).
fn moment(text: &str) -> Result<i64, String> {
    let shown: String = text.chars().take(40).collect();
    DateTime::parse_from_rfc3339(text)
        .map(|time| time.timestamp_micros())
        .map_err(|_| format!("“{shown}” is not a time. Write it like 2027-03-01T10:00:00Z"))
}

fn standing(field: Field<'_>, heads: &HashMap<&str, usize>) -> Result<Standing, Refusal> {
    let fields = field.object(&["animal", "side", "locked"])?;
    let animal = fields.need("animal")?;
    let name = animal.name()?;
    let Some(head) = heads.get(name.as_str()) else {
        return Err(Refusal::new(animal.at, "No animal has this id. Give one of the animals"));
    };
    let spot = Spot { head: *head, sides: fields.need("side")?.word()? };
    Ok(Standing { spot, locked: fields.need("locked")?.yes()? })
}

fn pair(field: Field<'_>, orders: &HashMap<&str, usize>) -> Result<SheetDifference, Refusal> {
    let fields = field.object(&["a", "b", "blocks"])?;
    let find = |name: &str| {
        let field = fields.need(name)?;
        let id = field.name()?;
        let error = "No reservation has this id. Give two of the reservations";
        orders.get(id.as_str()).copied().ok_or_else(|| Refusal::new(field.at, error))
    };
    let (a, b) = (find("a")?, find("b")?);
    let blocks = fields.need("blocks")?.between(0, u32::from(Problem::MOST_BLOCKS))?;
    Ok(SheetDifference { a, b, blocks: u16::try_from(blocks).unwrap_or(Problem::MOST_BLOCKS) })
}
