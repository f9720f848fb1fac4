//! The public page with ten offerings, its estimator over 400 shares that came home, and a picture, through the whole service without
//! a socket: `cargo bench --bench public`. Aims: page under 60 ms, estimate under 15 ms, picture under 5 ms at the 99th of a hundred;
//! the first estimate after the book changed, which reads the 400 shares and reckons their forecasts anew, under 60 ms.

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
use gambrel::actions::add_customer::CustomerIn;
use gambrel::actions::book_date::{DateFacts, book_date};
use gambrel::actions::change_animal::{AnimalFacts, add_animal};
use gambrel::actions::offer::{OfferingIn, PriceIn, add_offering};
use gambrel::actions::place_share::{Move, Spot, Target, place_shares};
use gambrel::actions::prepare_picture::prepare;
use gambrel::actions::public_page::{PageIn, change_page};
use gambrel::actions::record_weights::{Fate, WeighForm, WeighRow, confirming, record_weights};
use gambrel::actions::send_animal::send_animal;
use gambrel::actions::take_reservation::{TakeReservation, Who, take_reservation};
use gambrel::actions::tell_packaged::{PackagedIn, tell_packaged};
use gambrel::actions::{Doing, Failure};
use gambrel::book::at::{At, Now};
use gambrel::book::conn::Place;
use gambrel::book::ids::ReservationId;
use gambrel::book::store::Store;
use gambrel::book::{farm, offerings, plants, public_page};
use gambrel::clock::Clock;
use gambrel::config::Config;
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Hung;
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::{BirthPrecision, CarcassBasis, PackagedBy, PriceBasis, QuarterPart, Sex};
use gambrel::trade::weight::Weight;
use gambrel::web::app::App;
use gambrel::web::server::service;
use std::collections::HashMap;
use std::time::Instant;

/// Offerings on the page.
const OFFERINGS: usize = 10;

/// 400 half hogs that came home, as many as are learned from; the orders.
fn came_home(store: &Store, d: &Doing) -> Vec<ReservationId> {
    let made = store.write(|tx| {
        let input = OfferingIn {
            species: Species::Hog,
            season: "Last year".into(),
            head_count: 200,
            sizes: vec![Size::Half],
            quarter_part: QuarterPart::Split,
            expected_low: None,
            expected_high: None,
            notes: String::new(),
        };
        let price = PriceIn {
            size: Size::Half,
            basis: PriceBasis::Hanging,
            rate: Some(Rate::from_ten_thousandths(50_000)),
            flat_price: None,
            deposit: Money::ZERO,
        };
        let offering = add_offering(tx, d, &input, &[price], d.now.today)?;
        let facts = DateFacts {
            processor: plants::list(tx.conn(), false)?.remove(0).id,
            kill_on: d.now.today,
            deliver_on: None,
            deliver_time: String::new(),
            sheets_due: None,
            pickup_from: None,
            pickup_to: None,
            notes: String::new(),
            slots: vec![(Species::Hog, 200)],
        };
        let date = book_date(tx, d, &facts)?;
        let (mut orders, mut rows) = (Vec::new(), Vec::new());
        for n in 0..200_i64 {
            let facts = AnimalFacts {
                tag: format!("past {n}"),
                species: Species::Hog,
                class: Class::Barrow,
                sex: Sex::Castrated,
                birth_on: None,
                birth_precision: BirthPrecision::Unknown,
                breed: String::new(),
                official_id: String::new(),
                notes: String::new(),
                same_tag_ok: false,
            };
            let animal = add_animal(tx, d, &facts)?;
            send_animal(tx, d, animal, 1, Some(date), false)?;
            for side in [Side::Left, Side::Right] {
                let who = CustomerIn { name: format!("Past {n} {side:?}"), ..CustomerIn::default() };
                let order = TakeReservation {
                    who: Who::New(who),
                    offering,
                    size: Size::Half,
                    part: None,
                    wishes: String::new(),
                    preferred_date: None,
                };
                let order = take_reservation(tx, d, &order)?;
                let to = Some(Target { animal, spot: Spot::Side(side) });
                place_shares(tx, d, &[Move { reservation: order, to, field: String::new() }])?;
                orders.push(order);
            }
            let hung = Hung::Sides { left: Weight::from_hundredths(8_250), right: Weight::from_hundredths(8_200) };
            rows.push(WeighRow {
                animal,
                version: 0,
                fate: Fate::Hung { hung, condemned_parts: None },
                carcass_number: String::new(),
                head_on: false,
                skin_on: true,
                confirmed: confirming(hung),
            });
        }
        let form = WeighForm { date, basis: CarcassBasis::Hot, weighed_on: d.now.today, for_saved_too: false, rows };
        record_weights(tx, d, &form)?;
        for order in &orders {
            let input = PackagedIn { weight: Some(Weight::from_hundredths(5_700)), on: d.now.today, seen: 0 };
            tell_packaged(tx, d, *order, PackagedBy::Farm, &input)?;
        }
        Ok::<_, Failure>(orders)
    });
    let orders = made.unwrap();
    let learned = store.read(|c| {
        let farm = farm::get(c)?;
        gambrel::actions::own_yields::came_home(c, &farm, d.now.today)
    });
    assert_eq!(learned.unwrap().len(), 400);
    orders
}

/// Tells another packaged weight of an order: the book has changed.
fn told_again(store: &Store, d: &Doing, order: ReservationId, revision: i64) {
    let input = PackagedIn { weight: Some(Weight::from_hundredths(5_700 + revision)), on: d.now.today, seen: revision };
    store.write(|tx| tell_packaged(tx, d, order, PackagedBy::Farm, &input)).unwrap();
}

fn doing() -> Doing {
    let zone = chrono_tz::America::Chicago;
    let at = At::from_utc(chrono::Utc::now());
    Doing { now: Now { at, today: at.day(zone), zone }, account: None, actor: "Ada".into() }
}

/// The demo's season with more offerings, all of them on the page; an offering to estimate, and a picture's address.
fn fill(store: &Store) -> (i64, String) {
    gambrel::demo::fill(store, &Clock::Real).unwrap();
    let d = doing();
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
        let hogs = offerings::open(tx.conn())?.into_iter().find(|o| o.species == Species::Hog).expect("hogs are sold");
        Ok::<_, Failure>((hogs.id.0, format!("/farm/pictures/{}.jpg", picture.digest)))
    });
    made.unwrap()
}

#[actix_web::main]
async fn main() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(Place::in_folder(folder.path())).unwrap();
    let (offering, picture) = fill(&store);
    let orders = came_home(&store, &doing());
    let config = Config::from_parts(&HashMap::new().into_iter().collect(), None).unwrap();
    let served = init_service(service(App::new(store.clone(), config, Clock::Real))).await;
    println!(
        "the demo farm with {OFFERINGS} offerings on its public page and 400 shares that came home, 300 requests each, one after the other"
    );
    let estimate = format!("/farm/estimate/{offering}?share=half&cut=balanced");
    let anew = estimate.clone();
    let mut revision = 1;
    for (what, url, aim) in
        [("page", "/farm".to_string(), 60), ("estimate", estimate, 15), ("changed", anew, 60), ("picture", picture, 5)]
    {
        let (mut took, mut bytes) = (Vec::new(), 0);
        for n in 0..320_u32 {
            if what == "changed" {
                told_again(&store, &doing(), orders[0], revision);
                revision += 1;
            }
            // Another visitor each time: one is slowed after some hundred pages.
            let from = format!("10.0.{}.{}:1", n / 250, n % 250).parse().unwrap();
            let request = TestRequest::get().uri(&url).peer_addr(from).to_request();
            let began = Instant::now();
            let answer = served.call(request).await.expect("every failure is a page");
            assert_eq!(answer.status(), 200, "{url}");
            let body = to_bytes(answer.into_body()).await.ok().expect("the body is whole");
            bytes = body.len();
            if n >= 20 {
                took.push(began.elapsed().as_secs_f64() * 1e3);
            }
            if what == "estimate" || what == "changed" {
                assert!(String::from_utf8_lossy(&body).contains("own 400 shares"), "it rests on all of them");
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
