//! Searching everything by one word: people, orders, tags, invoice numbers; case and accents do not count.

use crate::book::reservations::{self, Wanted};
use crate::book::{people, search};
use crate::trade::fold::fold;
use crate::web::app::App;
use crate::web::errors::Answer;
use crate::web::farm::orders::words;
use crate::web::farmer::Farmer;
use crate::web::look::parts::Link;
use crate::web::look::respond::page;
use crate::web::look::{Frame, Tab};
use actix_web::web;
use askama::Template;
use std::collections::HashMap;

/// The routes.
pub fn routes(cfg: &mut web::ServiceConfig) {
    cfg.route("/search", web::get().to(show));
}

/// Hits of each kind.
const HITS: i64 = 10;

#[derive(Template)]
#[template(path = "farm/search.html")]
struct SearchPage {
    frame: Frame,
    q: String,
    groups: Vec<(&'static str, Vec<Link>)>,
    nothing: bool,
}

async fn show(farmer: Farmer, app: web::Data<App>, query: web::Query<HashMap<String, String>>) -> Answer {
    let q: String = query.get("q").map(|q| q.trim().chars().take(100).collect()).unwrap_or_default();
    let folded = fold(&q);
    let mut groups = Vec::new();
    if !folded.is_empty() {
        let (people, orders, animals, papers) = app
            .read(move |c| {
                let wanted = Wanted { words: folded.clone(), ..Wanted::default() };
                Ok((
                    people::page(c, &folded, None, HITS)?,
                    reservations::page(c, &wanted, HITS)?,
                    search::animals(c, &folded, HITS)?,
                    search::papers(c, &folded, HITS)?,
                ))
            })
            .await?;
        groups = vec![
            ("Customers", people.iter().map(|p| Link::new(format!("/customers/{}", p.id), p.name.clone())).collect()),
            (
                "Orders",
                orders
                    .iter()
                    .map(|(r, who, o)| {
                        Link::new(
                            format!("/orders/{}", r.id),
                            format!("{}, {}, {}", r.number, who.name, words::share(r, o).to_lowercase()),
                        )
                    })
                    .collect(),
            ),
            ("Animals", animals.iter().map(|a| Link::new(format!("/animals/{}", a.id), words::animal(a))).collect()),
            ("Invoices and receipts", papers.into_iter().map(|(href, name)| Link::new(href, name)).collect::<Vec<_>>()),
        ];
        groups.retain(|(_, hits)| !hits.is_empty());
    }
    let nothing = groups.is_empty() && !q.is_empty();
    Ok(page(&SearchPage { frame: farmer.frame(Tab::None), q, groups, nothing }))
}
