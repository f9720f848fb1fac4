//! The public page with ten offerings, its estimator and a picture, through the whole service without a socket:
//! `cargo bench --bench public`. Aims: page under 60 ms, estimate under 15 ms, picture under 5 ms at the 99th of a hundred.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::expect_used,
    reason = "a bench stops at what it did not expect"
)]

use actix_web::body::to_bytes;
use actix_web::dev::Service;
use actix_web::test::{TestRequest, init_service};
use gambrel::actions::offer::{OfferingIn, PriceIn, add_offering};
use gambrel::actions::prepare_picture::prepare;
use gambrel::actions::public_page::{PageIn, change_page};
use gambrel::actions::{Doing, Failure};
use gambrel::book::at::{At, Now};
use gambrel::book::conn::Place;
use gambrel::book::store::Store;
use gambrel::book::{offerings, public_page};
use gambrel::clock::Clock;
use gambrel::config::Config;
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::{Size, Species};
use gambrel::trade::vocabulary::{PriceBasis, QuarterPart};
use gambrel::trade::weight::Weight;
use gambrel::web::app::App;
use gambrel::web::server::service;
use std::collections::HashMap;
use std::time::Instant;

/// Offerings on the page.
const OFFERINGS: usize = 10;

/// The demo's season with more offerings, all of them on the page; an offering to estimate, and a picture's address.
fn fill(store: &Store) -> (i64, String) {
    gambrel::demo::fill(store, &Clock::Real).unwrap();
    let zone = chrono_tz::America::Chicago;
    let at = At::from_utc(chrono::Utc::now());
    let d = Doing { now: Now { at, today: at.day(zone), zone }, account: None, actor: "Ada".into() };
    let made = store.write(|tx| {
        let there = offerings::open(tx.conn())?.len();
        for n in there..OFFERINGS {
            let species = if n % 2 == 0 { Species::Beef } else { Species::Hog };
            let sizes = vec![Size::Whole, Size::Half, Size::Quarter];
            let price = |size: &Size| PriceIn {
                size: *size,
                basis: PriceBasis::Hanging,
                rate: Some(Rate::from_ten_thousandths(50_000)),
                flat_price: None,
                deposit: Money::from_cents(15_000),
            };
            let prices: Vec<PriceIn> = sizes.iter().map(price).collect();
            let input = OfferingIn {
                species,
                season: format!("Season {n}"),
                head_count: 8,
                sizes,
                quarter_part: QuarterPart::Split,
                expected_low: Some(Weight::from_hundredths(17_500)),
                expected_high: Some(Weight::from_hundredths(21_500)),
                notes: String::new(),
            };
            add_offering(tx, &d, &input, &prices, d.now.today)?;
        }
        let all: Vec<_> = offerings::open(tx.conn())?.iter().map(|o| o.id).collect();
        assert_eq!(all.len(), OFFERINGS);
        let page = PageIn { is_on: true, headline: String::new(), words: String::new(), offerings: all.clone() };
        let version = public_page::get(tx.conn())?.map_or(0, |p| p.version);
        change_page(tx, &d, version, &page)?;
        let picture = public_page::pictures(tx.conn())?.remove(0).sizes.pop().expect("a width");
        Ok::<_, Failure>((all[0].0, format!("/farm/pictures/{}.jpg", picture.digest)))
    });
    made.unwrap()
}

#[actix_web::main]
async fn main() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(Place::in_folder(folder.path())).unwrap();
    let (offering, picture) = fill(&store);
    let config = Config::from_parts(&HashMap::new().into_iter().collect(), None).unwrap();
    let served = init_service(service(App::new(store, config, Clock::Real))).await;
    println!("the demo farm with {OFFERINGS} offerings on its public page, 300 requests each, one after the other");
    let estimate = format!("/farm/estimate/{offering}?share=half&cut=balanced");
    for (what, url, aim) in [("page", "/farm".to_string(), 60), ("estimate", estimate, 15), ("picture", picture, 5)] {
        let (mut took, mut bytes) = (Vec::new(), 0);
        for n in 0..320_u32 {
            // Another visitor each time: one is slowed after some hundred pages.
            let from = format!("10.0.{}.{}:1", n / 250, n % 250).parse().unwrap();
            let request = TestRequest::get().uri(&url).peer_addr(from).to_request();
            let began = Instant::now();
            let answer = served.call(request).await.expect("every failure is a page");
            assert_eq!(answer.status(), 200, "{url}");
            bytes = to_bytes(answer.into_body()).await.ok().expect("the body is whole").len();
            if n >= 20 {
                took.push(began.elapsed().as_secs_f64() * 1e3);
            }
        }
        took.sort_by(f64::total_cmp);
        let at = |part: f64| took[((took.len() - 1) as f64 * part) as usize];
        let (p50, p99, kb) = (at(0.5), at(0.99), bytes as f64 / 1024.0);
        println!("  {what:<9} p50 {p50:>6.2} ms   p99 {p99:>6.2} ms   {kb:>6.1} KB   (aim: under {aim} ms)");
    }
    let large =
        image::RgbImage::from_fn(4_000, 3_000, |x, y| image::Rgb([(x % 251) as u8, (y % 241) as u8, (x ^ y) as u8]));
    let mut file = std::io::Cursor::new(Vec::new());
    large.write_to(&mut file, image::ImageFormat::Jpeg).unwrap();
    let began = Instant::now();
    prepare(&file.into_inner()).unwrap();
    println!("  a picture of 12 million pixels made ready in {:.2} s (aim: under 1)", began.elapsed().as_secs_f64());
}
