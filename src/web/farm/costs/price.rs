//! “Set a price”: break-even and margin by the worksheet, and what other prices would leave. A form that asks by GET, so that an answer
//! has an address and nothing is kept.

use crate::actions::Failure;
use crate::book::ids::AnimalId;
use crate::book::{animals, carcasses, costs};
use crate::trade::animal::Class;
use crate::trade::dressing::{Dressed, Usual, percent_tenths, shown, usual};
use crate::trade::money::{Money, Percent, Rate};
use crate::trade::set_price::{Figures, Worked, price_for, three, usual_yield};
use crate::trade::vocabulary::CarcassBasis;
use crate::trade::weight::Weight;
use crate::web::app::App;
use crate::web::errors::{Answer, PageError};
use crate::web::farmer::Farmer;
use crate::web::look::draft::Draft;
use crate::web::look::form::FormIn;
use crate::web::look::respond::{page, refused};
use crate::web::look::{Choices, Frame, Tab};
use actix_web::{HttpRequest, web};
use askama::Template;

/// The longest query that is read, in bytes.
const LONGEST_QUERY: usize = 800;
/// How far apart the prices of the what-if table are, in ten-thousandths of a dollar.
const STEP: i64 = 2_500;

/// A row of the answer: what, a second line, low, middle, high.
struct Row {
    what: String,
    small: &'static str,
    class: &'static str,
    figures: [String; 3],
}

/// A price that might be asked, and what it leaves.
struct Asked {
    price: String,
    margin: String,
    hanging: String,
    packaged: String,
    is_chosen: bool,
}

struct Shown {
    caption: String,
    rows: Vec<Row>,
    what_if: Vec<Asked>,
    wanted: String,
}

#[derive(Template)]
#[template(path = "farm/costs/price.html")]
struct PricePage {
    frame: Frame,
    draft: Draft,
    heading: String,
    lead: String,
    classes: Choices,
    usual_dressing: String,
    usual_yield: String,
    unit: &'static str,
    shown: Option<Shown>,
}

/// What was asked.
struct Read {
    figures: Figures,
    dressing: (i64, i64),
    yields: (i64, i64),
    price: Option<Rate>,
    profit: Option<Money>,
    with_plant: bool,
}

/// A per cent with one decimal, in tenths; none when blank.
fn tenths(form: &mut FormIn, name: &str, label: &str) -> Option<Option<i64>> {
    if form.is_blank(name) {
        return Some(None);
    }
    let thousandths = form.percent(name, label).map(Percent::thousandths)?;
    if thousandths % 100 != 0 || thousandths < 1_000 {
        form.problem(name, format!("{label}: write a per cent from 1 to 100 with at most one decimal, such as 62.5."));
        return None;
    }
    Some(Some(thousandths / 100))
}

/// From and to; a blank one takes the usual, or the other one where only that is given.
fn span(form: &mut FormIn, names: (&str, &str), label: &str, usual: Usual) -> Option<(i64, i64)> {
    let low = tenths(form, names.0, &format!("{label}, from"));
    let high = tenths(form, names.1, &format!("{label}, to"));
    let span = match (low?, high?) {
        (None, None) => (usual.low, usual.high),
        (Some(low), None) => (low, low),
        (None, Some(high)) => (high, high),
        (Some(low), Some(high)) => (low, high),
    };
    if span.0 > span.1 {
        form.problem(names.1, format!("{label}: the second figure is below the first. Write the smaller one first."));
        return None;
    }
    Some(span)
}

fn read(form: &mut FormIn, class: Class) -> Result<Read, Draft> {
    let parts = (
        form.weight("live", "Live weight"),
        span(form, ("dress_low", "dress_high"), "Dressing percentage", usual_of(class)),
        span(form, ("yield_low", "yield_high"), "Yield", usual_yield(class.species())),
        form.optional_rate("price", "Price"),
        form.money("cost", "What it cost you"),
        form.optional_money("harvest", "Slaughter"),
        form.optional_rate("processing", "Cutting and wrapping"),
        form.optional_money("profit", "What you want to keep"),
    );
    let (live, dressing, yields, price, cost, harvest, processing, profit) = form.finish(parts)?;
    let with_plant = harvest.is_some() || processing.is_some();
    let figures = Figures {
        live,
        dressing: dressing.0,
        yields: yields.0,
        price: price.unwrap_or_default(),
        cost,
        harvest: harvest.unwrap_or_default(),
        processing: processing.unwrap_or_default(),
    };
    Ok(Read { figures, dressing, yields, price, profit, with_plant })
}

fn usual_of(class: Class) -> Usual {
    usual(class, Dressed::usual(class.species(), CarcassBasis::Hot))
}

fn usual_words(u: Usual) -> String {
    format!("{}–{} %: {}.", shown(u.low).trim_end_matches(" %"), shown(u.high).trim_end_matches(" %"), u.source)
}

/// "−$120.00 to $80.00", or one figure where both are the same.
fn to(low: Money, high: Money) -> String {
    if low == high { low.dollars() } else { format!("{} to {}", low.dollars(), high.dollars()) }
}

fn rows(worked: &[Worked; 3], read: &Read, unit: &str) -> Vec<Row> {
    let row = |what: String, small, class, figure: &dyn Fn(&Worked) -> String| Row {
        what,
        small,
        class,
        figures: worked.each_ref().map(figure),
    };
    let mut rows = vec![
        row(format!("Hangs, {unit}"), "live weight × dressing percentage", "", &|w| w.carcass.shown()),
        row(format!("Packaged, {unit}"), "hanging weight × yield", "", &|w| w.packaged.shown()),
        row(format!("Break-even for a {unit} hanging"), "your cost ÷ hanging weight", "mid", &|w| {
            w.even_hanging.dollars()
        }),
        row(format!("The same for a packaged {unit}"), "your cost ÷ packaged weight", "", &|w| {
            w.even_packaged.dollars()
        }),
    ];
    if read.price.is_some() {
        rows.push(row("Customers pay you".into(), "price × hanging weight", "mid", &|w| w.income.dollars()));
        rows.push(row("You keep".into(), "less your cost", "tot", &|w| w.margin.dollars()));
        rows.push(row(format!("For a {unit} hanging"), "", "", &|w| w.margin_hanging.dollars()));
        rows.push(row(format!("For a packaged {unit}"), "", "", &|w| w.margin_packaged.dollars()));
        if read.with_plant {
            rows.push(row(
                "Customers pay the processor".into(),
                "slaughter + cutting × hanging weight",
                "apart",
                &|w| w.to_processor.dollars(),
            ));
        }
        rows.push(row("Customers pay in all".into(), "", "", &|w| w.all_in.dollars()));
        rows.push(row(format!("For a packaged {unit}"), "what meat costs them", "", &|w| w.all_in_packaged.dollars()));
    }
    rows
}

fn work(read: &Read, class: Class, unit: &str) -> Result<Shown, Failure> {
    let worked = three(&read.figures, read.dressing, read.yields)?;
    let mut what_if = Vec::new();
    if let Some(price) = read.price {
        for step in -2_i64..=2 {
            let at = price.ten_thousandths().saturating_add(step * STEP);
            if !(1..=Rate::LIMIT).contains(&at) {
                continue;
            }
            let price = Rate::from_ten_thousandths(at);
            let [low, _, high] = three(&Figures { price, ..read.figures }, read.dressing, read.yields)?;
            what_if.push(Asked {
                price: price.dollars(),
                margin: to(low.margin, high.margin),
                hanging: to(low.margin_hanging.min(high.margin_hanging), low.margin_hanging.max(high.margin_hanging)),
                packaged: to(
                    high.all_in_packaged.min(low.all_in_packaged),
                    low.all_in_packaged.max(high.all_in_packaged),
                ),
                is_chosen: step == 0,
            });
        }
    }
    let wanted = match read.profit {
        None => String::new(),
        Some(profit) => {
            let at = |dressing| price_for(&Figures { dressing, ..read.figures }, profit);
            let (most, least) = (at(read.dressing.0)?, at(read.dressing.1)?);
            let span =
                if most == least { most.dollars() } else { format!("{} to {}", least.dollars(), most.dollars()) };
            format!("To keep {}, ask {span} for a {unit} hanging: more when it dresses less.", profit.dollars())
        }
    };
    let pair = |(low, high): (i64, i64)| {
        if low == high { shown(low) } else { format!("{}–{}", shown(low).trim_end_matches(" %"), shown(high)) }
    };
    let caption = format!(
        "{} of {} {unit} alive, dressing {}, yield {}",
        class.title(),
        read.figures.live.short(),
        pair(read.dressing),
        pair(read.yields)
    );
    Ok(Shown { caption, rows: rows(&worked, read, unit), what_if, wanted })
}

/// What the book knows of an animal, as the fields of the form.
async fn of_animal(app: &App, id: AnimalId) -> Result<Vec<(&'static str, String)>, Failure> {
    let plain = |w: Weight| w.short().replace(',', "");
    app.read(move |c| {
        let animal = animals::get(c, id)?;
        let live = animals::last_live_weights(c, &[id])?.remove(&id).map(|w| w.weight);
        let hung = carcasses::weigh_ins(c, &[id])?.remove(&id).and_then(|w| w.hung().and(w.recorded().ok()));
        let cost = costs::per_animal(c, &[id])?.remove(&id);
        let mut fields = vec![("class", animal.class.clone())];
        fields.extend(live.map(|w| ("live", plain(w))));
        if let Some(tenths) = live.zip(hung).and_then(|(live, hung)| percent_tenths(live, hung)) {
            let dressed = shown(tenths).replace(" %", "");
            fields.extend([("dress_low", dressed.clone()), ("dress_high", dressed)]);
        }
        fields.extend(cost.map(|m| ("cost", m.plain())));
        Ok(fields)
    })
    .await
}

/// The page; `?animal=3` fills in what the book knows of that animal.
///
/// # Errors
/// 404 for an animal that is not there; 422 with what was asked when it cannot be answered.
pub(super) async fn show(farmer: Farmer, app: web::Data<App>, req: HttpRequest) -> Answer {
    let unit = farmer.unit();
    if req.query_string().len() > LONGEST_QUERY {
        return Err(PageError::BadRequest("The address is longer than this page reads. Open “Set a price” again."));
    }
    let mut form = FormIn::parse(req.query_string().as_bytes()).map_err(PageError::BadRequest)?;
    if let Ok(id) = form.line("animal").parse::<AnimalId>() {
        let known = of_animal(&app, id).await?;
        form = FormIn::new(known.into_iter().map(|(name, value)| (name.to_string(), value)).collect());
    }
    let class: Class = form.line("class").parse().unwrap_or(Class::Steer);
    let is_asked = !form.is_blank("live") && !form.is_blank("cost");
    let was_sent = !form.is_blank("go");
    let (mut answer, mut draft) = (None, form.clone().into_draft());
    if is_asked || was_sent {
        match read(&mut form, class) {
            Err(bad) => draft = bad,
            Ok(read) => match work(&read, class, unit) {
                Ok(worked) => answer = Some(worked),
                Err(Failure::Refused(_)) => {
                    draft = form.refuse(
                        "live",
                        "These figures come to nothing or to more than can be reckoned. Look them over.",
                    );
                }
                Err(e) => return Err(e.into()),
            },
        }
    }
    if draft.val("class").is_empty() {
        draft = draft.without("class").with("class", class.as_str());
    }
    let heading = match &answer {
        Some(a) if !a.what_if.is_empty() => "What this price leaves you".to_string(),
        Some(_) => "What an animal has to sell for".into(),
        None => "Set a price".into(),
    };
    let template = PricePage {
        frame: farmer.frame(Tab::Money),
        draft,
        heading,
        lead: "Work out one animal: what it must sell for, and what a price leaves you. Nothing is saved, and no price is changed.".into(),
        classes: Class::ALL.iter().map(|c| (c.as_str().to_string(), c.title().to_string())).collect(),
        usual_dressing: usual_words(usual_of(class)),
        usual_yield: usual_words(usual_yield(class.species())),
        unit,
        shown: answer,
    };
    Ok(if template.draft.is_refused() { refused(&template) } else { page(&template) })
}
