//! The shares of an offering as pages show them: price, deposit, expected weight, what is left.

use crate::book::rows::selling::{Offering, Price};
use crate::trade::room::{Sold, left};
use crate::trade::vocabulary::PriceBasis;
use crate::web::farm::orders::words;
use crate::web::look::capital;
use crate::web::look::rail::Glyph;
use chrono::NaiveDate;

/// One share of an offering as the page shows it.
pub(super) struct ShareRow {
    pub(super) glyph: Glyph,
    pub(super) name: String,
    pub(super) price: String,
    pub(super) deposit: String,
    pub(super) hangs: String,
    pub(super) left: String,
    /// How many are left.
    pub(super) n: i64,
}

/// The price in a few words.
pub(super) fn price_words(p: &Price, unit: &str) -> String {
    match p.basis {
        PriceBasis::Hanging => format!("{} per {unit} hanging", p.rate.unwrap_or_default().dollars()),
        PriceBasis::Live => format!("{} per {unit} live", p.rate.unwrap_or_default().dollars()),
        PriceBasis::Flat => format!("{} for the share", p.flat_price.unwrap_or_default().dollars()),
    }
}

/// The shares of an offering as they are sold today.
pub(super) fn rows(o: &Offering, prices: &[Price], sold: Sold, today: NaiveDate, unit: &str) -> Vec<ShareRow> {
    o.kinds()
        .into_iter()
        .map(|(size, part)| {
            // The list comes newest first, so the first that has begun is the one in force.
            let price = prices.iter().find(|p| p.offering_id == o.id && p.size == size && p.effective_from <= today);
            let hangs = match (o.expected_low, o.expected_high) {
                (Some(low), Some(high)) => {
                    let of = |w: crate::trade::weight::Weight| w.hundredths() * size.quarters() / 400;
                    format!("{}–{} {unit}", of(low), of(high))
                }
                _ => "—".into(),
            };
            let n = left(o.head_count, sold, size, part);
            ShareRow {
                glyph: Glyph::new(size, None, part),
                name: capital(&words::kind(size, part, o.species)),
                price: price.map_or("no price yet".into(), |p| price_words(p, unit)),
                deposit: price.map_or("—".into(), |p| p.deposit.dollars()),
                hangs,
                n,
                left: if n == 0 { "none left".into() } else { format!("{n} left") },
            }
        })
        .collect()
}

/// "Beef, Fall 2027".
pub(super) fn name(o: &Offering) -> String {
    format!("{}, {}", capital(o.species.label()), o.season)
}
