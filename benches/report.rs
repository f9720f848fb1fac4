//! Reports of a year with 50,000 entries in the ledger, through the whole service without a socket: `cargo bench --bench report`.
//! Aim: under 100 ms each at the median of twenty.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::expect_used,
    reason = "a bench stops at what it did not expect"
)]

use actix_web::body::to_bytes;
use actix_web::cookie::Cookie;
use actix_web::dev::Service;
use actix_web::test::{TestRequest, init_service};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::accounts::{Browser, sign_in};
use gambrel::book::accounts;
use gambrel::book::at::At;
use gambrel::book::conn::Place;
use gambrel::book::store::Store;
use gambrel::clock::Clock;
use gambrel::config::Config;
use gambrel::web::app::App;
use gambrel::web::server::service;
use std::collections::HashMap;
use std::time::Instant;

/// Orders that are added to the demo's, each with four entries in the ledger.
const ORDERS: u32 = 12_500;
/// The most that a page may take, in milliseconds.
const AIM: u32 = 100;

/// The demo's season, and beside it orders that were paid for, invoiced and paid off in one year.
fn fill(store: &Store, year: &str) {
    gambrel::demo::fill(store, &Clock::Real).unwrap();
    let numbers = format!("WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < {ORDERS})");
    let day = |shift: u32| format!("'{year}-' || printf('%02d-%02d', 1 + (i + {shift}) % 12, 1 + i % 28)");
    // An invoice of the demo that was not taken back is the pattern for all.
    let pattern = "(SELECT MIN(id) FROM invoice WHERE id NOT IN (SELECT invoice_id FROM credit_note))";
    let order = format!("(SELECT reservation_id FROM invoice WHERE id = {pattern})");
    let mut all = vec![
        format!(
            "{numbers} INSERT INTO reservation (id, number, customer_id, offering_id, size, part, taken_at, price_basis, rate, flat_price, \
             deposit_asked, price_locked_on, wishes) SELECT 100000 + i, 'B-' || i, r.customer_id, r.offering_id, r.size, r.part, r.taken_at, \
             r.price_basis, r.rate, r.flat_price, r.deposit_asked, r.price_locked_on, '' FROM n, reservation r WHERE r.id = {order}"
        ),
        format!(
            "{numbers} INSERT INTO invoice (id, number, reservation_id, customer_id, issued_on, farm_total, farm_tax, processor_total, \
             processor_tax, balance_due, billed_weight, document, issued_at) SELECT 100000 + i, 'B-' || i, 100000 + i, v.customer_id, {}, \
             v.farm_total, v.farm_tax, v.processor_total, v.processor_tax, v.balance_due, v.billed_weight, '{{}}', v.issued_at \
             FROM n, invoice v WHERE v.id = {pattern}",
            day(5)
        ),
    ];
    // Deposit, invoice and two payments; the lines of each add up to zero.
    let acts: [(&str, u32, &[(&str, i64)]); 4] = [
        ("deposit", 0, &[("checks", 15_000), ("deposits", -15_000)]),
        (
            "invoice",
            5,
            &[
                ("receivable", 43_000),
                ("deposits", 15_000),
                ("tax", -500),
                ("sales_hog", -55_000),
                ("plant_charges", -2_500),
            ],
        ),
        ("payment", 6, &[("checks", 20_000), ("receivable", -20_000)]),
        ("payment", 8, &[("cash", 23_000), ("receivable", -23_000)]),
    ];
    for (n, (kind, shift, lines)) in acts.iter().enumerate() {
        let first = 1_000_000 * (n + 1);
        all.push(format!(
            "{numbers} INSERT INTO ledger_entry (id, kind, day, customer_id, reservation_id, invoice_id, actor, made_at) \
             SELECT {first} + i, '{kind}', {}, v.customer_id, 100000 + i, 100000 + i, 'Bench', 0 FROM n, invoice v WHERE v.id = 100000 + i",
            day(*shift)
        ));
        for (position, (account, cents)) in lines.iter().enumerate() {
            let of = match *account {
                "deposits" => "100000 + i, NULL",
                "checks" | "cash" => "NULL, NULL",
                _ => "NULL, 100000 + i",
            };
            all.push(format!(
                "{numbers} INSERT INTO ledger_line (entry_id, position, account, amount, customer_id, reservation_id, invoice_id) \
                 SELECT {first} + i, {position}, '{account}', {cents}, v.customer_id, {of} FROM n, invoice v WHERE v.id = 100000 + i"
            ));
        }
    }
    let written = store.write(|tx| {
        for statement in &all {
            diesel::sql_query(statement).execute(tx.conn()).unwrap_or_else(|e| panic!("{e}: {statement}"));
        }
        Ok::<_, Failure>(())
    });
    written.unwrap();
}

#[actix_web::main]
async fn main() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(Place::in_folder(folder.path())).unwrap();
    let now = chrono::Utc::now();
    let year = now.format("%Y").to_string();
    fill(&store, &year);
    let browser = Browser::new("a bench").unwrap();
    let begun = store.write(|tx| {
        let account = accounts::by_mail(tx.conn(), "ada@nettlebend.example")?.ok_or(Failure::NotFound)?;
        sign_in(tx, account.id, At::from_utc(now), &browser)
    });
    begun.unwrap();
    let config = Config::from_parts(&HashMap::new().into_iter().collect(), None).unwrap();
    let app = App::new(store, config, Clock::Real);
    let cookie = Cookie::new(app.cookie_name().to_string(), browser.token);
    let served = init_service(service(app)).await;
    let rounds = if cfg!(debug_assertions) { 3_usize } else { 20 };
    println!(
        "the demo farm with {} more entries in the ledger, {rounds} requests each, one after the other",
        ORDERS * 4
    );
    let lines = format!("/money/ledger?lines=1&account=earned&from={year}-01-01&day={year}-12-31");
    let reports = ["", "/income", "/deposits", "/sales", "/animals", "/processors", "/customers", "/tax-year"];
    let pages = reports.iter().map(|r| format!("/reports{r}?period={year}")).chain([lines]);
    for url in pages {
        let (mut took, mut bytes) = (Vec::new(), 0);
        for _ in 0..rounds {
            let request = TestRequest::get().uri(&url).cookie(cookie.clone()).to_request();
            let began = Instant::now();
            let answer = served.call(request).await.expect("every failure is a page");
            assert_eq!(answer.status(), 200, "{url}");
            bytes = to_bytes(answer.into_body()).await.ok().expect("the body is whole").len();
            took.push(began.elapsed().as_secs_f64() * 1e3);
        }
        took.sort_by(f64::total_cmp);
        let (median, most) = (took[took.len() / 2], took[took.len() - 1]);
        let short = url.split("&account").next().unwrap();
        println!(
            "  {short:<36} median {median:>7.1} ms   most {most:>7.1} ms   {:>6.1} KB   (aim: under {AIM} ms)",
            bytes as f64 / 1024.0
        );
    }
}
