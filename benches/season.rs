//! A large season: issuing 400 invoices of one date, and the order book at 1,000 and 10,000 orders through the real program.
//!
//! `cargo bench --bench season` prints a table. The book is filled through the real actions; the pages are asked for over
//! loopback at a steady 100 requests a second (Today, which sums over the whole book, at 5), and each is timed from the moment it was due, so that a slow answer also
//! counts against the ones that wait behind it.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::expect_used,
    reason = "a bench stops at what it did not expect"
)]

use gambrel::actions::accounts::{Browser, sign_in};
use gambrel::actions::add_customer::{CustomerIn, add_customer};
use gambrel::actions::book_date::{DateFacts, book_date};
use gambrel::actions::change_animal::{AnimalFacts, add_animal};
use gambrel::actions::change_processor::{ChargeFacts, ProcessorFacts, add_charge, add_processor};
use gambrel::actions::draft_invoice::drafts;
use gambrel::actions::issue_invoices::issue_invoices;
use gambrel::actions::offer::{OfferingIn, PriceIn, add_offering};
use gambrel::actions::paper_again::paper_again;
use gambrel::actions::place_share::{Move, Spot, Target, place_shares};
use gambrel::actions::record_deposit::{MoneyIn, record_deposit};
use gambrel::actions::record_weights::{Fate, WeighForm, WeighRow, confirming, record_weights};
use gambrel::actions::send_animal::send_animal;
use gambrel::actions::take_reservation::{TakeReservation, Who, take_reservation};
use gambrel::actions::{Doing, Failure};
use gambrel::book::at::{At, Now};
use gambrel::book::conn::Place;
use gambrel::book::ids::{AnimalId, CustomerId, OfferingId, ReservationId};
use gambrel::book::rows::accounts::NewAccount;
use gambrel::book::store::{Store, Tx};
use gambrel::book::{accounts, farm};
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Hung;
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::{
    BilledBy, BirthPrecision, CarcassBasis, Inspection, PaperKind, PayMethod, Per, PriceBasis, QuarterPart, Role, Sex,
};
use gambrel::trade::weight::Weight;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const TOKEN: &str = "abcdefghijklmnopqrstuvwxyz012345";

fn doing() -> Doing {
    let zone = chrono_tz::America::Chicago;
    let at = At::from_utc(chrono::Utc::now());
    Doing { now: Now { at, today: at.day(zone), zone }, account: None, actor: "Ada".into() }
}

/// A book with a farm, an account that is signed in, and one offering of hogs.
fn book(folder: &std::path::Path) -> (Store, OfferingId) {
    let store = Store::open(Place::in_folder(folder)).unwrap();
    let d = doing();
    let offering = store.write(|tx| {
        farm::ensure(tx)?;
        let mut f = farm::get(tx.conn())?;
        (f.name, f.time_zone, f.set_up_at) = ("Nettle Bend Farm".into(), "America/Chicago".into(), Some(d.now.at));
        f.mail = "office@nettlebend.example".into();
        f.address = "118 Slough Road\nElm Fork, WI 53000".into();
        let version = f.version;
        assert!(farm::save(tx, &f, version)?);
        let id = accounts::insert(
            tx,
            &NewAccount {
                mail: "ada@nettlebend.example".into(),
                name: "Ada".into(),
                password_hash: String::new(),
                role: Role::Farmer,
                created_at: d.now.at,
                disabled_at: None,
            },
        )?;
        let browser = Browser { token: TOKEN.into(), form_secret: TOKEN.into(), name: String::new() };
        sign_in(tx, id, d.now.at, &browser)?;
        let input = OfferingIn {
            species: Species::Hog,
            season: "Fall".into(),
            head_count: 10_000,
            sizes: vec![Size::Half],
            quarter_part: QuarterPart::Split,
            expected_low: None,
            expected_high: None,
            notes: String::new(),
        };
        let price = PriceIn {
            size: Size::Half,
            basis: PriceBasis::Hanging,
            rate: Some(Rate::from_ten_thousandths(52_500)),
            flat_price: None,
            deposit: Money::from_cents(15_000),
        };
        add_offering(tx, &d, &input, &[price], d.now.today)
    });
    (store, offering.unwrap())
}

fn customer(tx: &mut Tx, d: &Doing, n: usize) -> Result<CustomerId, Failure> {
    let first = ["Ines", "Tobias", "Hanne", "Owen", "Harlow", "Dele", "Ruth", "Marta"][n % 8];
    let input = CustomerIn {
        name: format!("{first} Number{n}"),
        mail: format!("c{n}@customers.example"),
        phone: format!("555-01{:02}", n % 100),
        address: "3 Tannery Lane\nElm Fork, WI 53000".into(),
        notes: String::new(),
        no_offers: false,
    };
    add_customer(tx, d, &input)
}

fn order(tx: &mut Tx, d: &Doing, who: CustomerId, offering: OfferingId) -> Result<ReservationId, Failure> {
    let who = Who::Known(who);
    let input =
        TakeReservation { who, offering, size: Size::Half, part: None, wishes: String::new(), preferred_date: None };
    let id = take_reservation(tx, d, &input)?;
    let money = MoneyIn {
        method: PayMethod::Check,
        amount: Money::from_cents(15_000),
        received_on: d.now.today,
        reference: "1204".into(),
        note: String::new(),
    };
    record_deposit(tx, d, id, &money, false)?;
    Ok(id)
}

/// 200 hogs of one date, weighed, with two owners each; how long issuing, papers and mail take.
fn issuing() {
    let folder = tempfile::tempdir().unwrap();
    let (store, offering) = book(folder.path());
    let d = doing();
    let orders = store.write(|tx| {
        let facts = ProcessorFacts {
            name: "Pell Road Meats".into(),
            address: "4 Pell Road".into(),
            phone: String::new(),
            mail: String::new(),
            inspection: Inspection::Custom,
            days_notice: 0,
            notes: String::new(),
        };
        let plant = add_processor(tx, &d, &facts)?;
        for (name, per, rate, billed_by) in [
            ("Kill fee", Per::Head, 950_000, BilledBy::Processor),
            ("Cut and wrap", Per::UnitHanging, 8_500, BilledBy::Processor),
            ("Trailer", Per::Head, 250_000, BilledBy::Farm),
        ] {
            let facts = ChargeFacts {
                name: name.into(),
                species: None,
                size: None,
                per,
                rate: Rate::from_ten_thousandths(rate),
                minimum_quantity: None,
                minimum_amount: None,
                billed_by,
                tax_percent: Default::default(),
                service: None,
            };
            add_charge(tx, &d, plant, &facts)?;
        }
        let facts = DateFacts {
            processor: plant,
            kill_on: d.now.today,
            deliver_on: None,
            deliver_time: String::new(),
            sheets_due: None,
            pickup_from: None,
            pickup_to: None,
            notes: String::new(),
            slots: vec![(Species::Hog, 200)],
        };
        let date = book_date(tx, &d, &facts)?;
        let (mut orders, mut rows) = (Vec::new(), Vec::new());
        for n in 0..200 {
            let facts = AnimalFacts {
                tag: format!("{n}"),
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
            let animal: AnimalId = add_animal(tx, &d, &facts)?;
            send_animal(tx, &d, animal, 1, Some(date), false)?;
            for (i, side) in [Side::Left, Side::Right].into_iter().enumerate() {
                let who = customer(tx, &d, n * 2 + i)?;
                let reservation = order(tx, &d, who, offering)?;
                let to = Some(Target { animal, spot: Spot::Side(side) });
                place_shares(tx, &d, &[Move { reservation, to, field: String::new() }])?;
                orders.push(reservation);
            }
            let hung = Hung::Sides { left: Weight::from_hundredths(8_250), right: Weight::from_hundredths(8_000) };
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
        record_weights(tx, &d, &form)?;
        Ok::<_, Failure>(orders)
    });
    let orders = orders.unwrap();
    let began = Instant::now();
    let bills: Vec<(ReservationId, Money)> = store
        .read(|c| {
            let farm = farm::get(c)?;
            Ok::<_, Failure>(
                drafts(c, &farm, d.now, &orders)?.iter().map(|x| (x.order.id, x.ready().unwrap())).collect(),
            )
        })
        .unwrap();
    let looked_over = began.elapsed();
    let issued = store.write(|tx| issue_invoices(tx, &d, &bills, true)).unwrap();
    let written = began.elapsed();
    let mut bytes = 0;
    for id in &issued {
        bytes += store.read(|c| paper_again(c, PaperKind::Invoice, id.0)).unwrap().1.len();
    }
    let all = began.elapsed();
    assert_eq!(issued.len(), 400);
    println!(
        "400 invoices of a date: looked over {:.2} s, issued with 400 messages queued {:.2} s, 400 PDFs {:.2} s ({:.1} KB each)",
        looked_over.as_secs_f64(),
        (written - looked_over).as_secs_f64(),
        (all - written).as_secs_f64(),
        bytes as f64 / 400.0 / 1024.0
    );
    println!("  together {:.2} s   (aim: under 2 s)", all.as_secs_f64());
}

fn fill(folder: &std::path::Path, n: usize) {
    let (store, offering) = book(folder);
    let d = doing();
    let all: Vec<usize> = (0..n).collect();
    for some in all.chunks(1_000) {
        store
            .write(|tx| {
                for n in some {
                    let who = customer(tx, &d, *n)?;
                    order(tx, &d, who, offering)?;
                }
                Ok::<_, Failure>(())
            })
            .unwrap();
    }
}

struct Served(Child, String);

impl Drop for Served {
    fn drop(&mut self) {
        self.0.kill().ok();
        self.0.wait().ok();
    }
}

/// Starts the program on a book; the time until its first answer.
fn serve(folder: &std::path::Path) -> (Served, Duration) {
    let began = Instant::now();
    let mut child = Command::new(env!("CARGO_BIN_EXE_gambrel"))
        .arg("serve")
        .env("GAMBREL_DATA", folder)
        .env("GAMBREL_LISTEN", "127.0.0.1:0")
        .env("GAMBREL_LOG", "error")
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let address = loop {
        let line = lines.next().expect("the service says where it is").unwrap();
        if let Some((_, address)) = line.split_once("http://") {
            break address.trim().to_string();
        }
    };
    std::thread::spawn(move || lines.for_each(drop));
    let served = Served(child, address);
    while get(&mut TcpStream::connect(&served.1).unwrap(), "/orders").is_none() {}
    (served, began.elapsed())
}

/// One page over a kept connection; its length, or none when the connection broke.
fn get(to: &mut TcpStream, path: &str) -> Option<usize> {
    write!(to, "GET {path} HTTP/1.1\r\nHost: localhost\r\nCookie: gambrel={TOKEN}\r\n\r\n").ok()?;
    let mut reader = BufReader::new(to);
    let (mut line, mut length, mut status) = (String::new(), 0, String::new());
    loop {
        line.clear();
        if reader.read_line(&mut line).ok()? == 0 {
            return None;
        }
        if status.is_empty() {
            status.clone_from(&line);
        }
        if line == "\r\n" {
            break;
        }
        if let Some(n) = line.to_ascii_lowercase().strip_prefix("content-length:") {
            length = n.trim().parse().ok()?;
        }
    }
    assert!(status.contains("200"), "{path}: {status}");
    let mut body = vec![0; length];
    reader.read_exact(&mut body).ok()?;
    Some(length)
}

fn memory(of: &Served) -> f64 {
    let status = std::fs::read_to_string(format!("/proc/{}/status", of.0.id())).unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmRSS")).unwrap_or_default();
    line.split_whitespace().nth(1).and_then(|n| n.parse::<f64>().ok()).unwrap_or(f64::NAN) / 1024.0
}

/// Asks for a page so often a second for `seconds` on four connections; milliseconds, sorted.
fn load(at: &str, path: &'static str, rate: u32, seconds: u32) -> Vec<f64> {
    let began = Instant::now() + Duration::from_millis(50);
    let workers: Vec<_> = (0..4_u32)
        .map(|worker| {
            let at = at.to_string();
            std::thread::spawn(move || {
                let mut to = TcpStream::connect(at).unwrap();
                to.set_nodelay(true).ok();
                let mut took = Vec::new();
                for n in (worker..seconds * rate).step_by(4) {
                    let due = began + Duration::from_secs(n.into()) / rate;
                    std::thread::sleep(due.saturating_duration_since(Instant::now()));
                    get(&mut to, path).expect("an answer");
                    took.push(due.elapsed().as_secs_f64() * 1e3);
                }
                took
            })
        })
        .collect();
    let mut all: Vec<f64> = workers.into_iter().flat_map(|w| w.join().unwrap()).collect();
    all.sort_by(f64::total_cmp);
    all
}

fn main() {
    issuing();
    let mut medians = Vec::new();
    for orders in [1_000_usize, 10_000] {
        let folder = tempfile::tempdir().unwrap();
        let began = Instant::now();
        fill(folder.path(), orders);
        println!("{orders} orders with deposits entered in {:.1} s", began.elapsed().as_secs_f64());
        let (served, first) = serve(folder.path());
        std::thread::sleep(Duration::from_secs(1));
        println!(
            "  start to first answered page {:.0} ms (aim: under 300), memory idle {:.1} MB (aim: under 40)",
            first.as_secs_f64() * 1e3,
            memory(&served)
        );
        for (what, path) in [
            ("order book", "/orders"),
            ("deep in it", "/orders?before=600"),
            ("searched", "/orders?q=number77"),
            ("today", "/"),
        ] {
            let rate = if path == "/" { 5 } else { 100 };
            load(&served.1, path, rate, 1);
            let took = load(&served.1, path, rate, 10);
            let at = |part: f64| took[((took.len() - 1) as f64 * part) as usize];
            println!("  {what:<11} p50 {:>6.2} ms   p99 {:>6.2} ms", at(0.5), at(0.99));
            if path == "/orders" {
                medians.push(at(0.5));
            }
        }
        println!("  memory after that {:.1} MB", memory(&served));
    }
    println!(
        "order book at 10,000 orders takes {:.2} times its time at 1,000 (aim: under 1.3; p99 under 25 ms)",
        medians[1] / medians[0]
    );
}
