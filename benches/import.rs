//! Lists of 10,000 lines: tried out and taken. `cargo bench --bench import`. Aim: under 5 s each for trying and for taking.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::expect_used,
    reason = "a bench stops at what it did not expect"
)]

use gambrel::actions::export_tables::everything;
use gambrel::actions::import_list::{Fate, Take, keep_list, look, match_columns, rehearse, take_list};
use gambrel::actions::sheet_in::open;
use gambrel::actions::{Doing, Failure};
use gambrel::book::at::{At, Now};
use gambrel::book::conn::Place;
use gambrel::book::farm;
use gambrel::book::store::Store;
use gambrel::trade::import_file::Kind;
use std::time::Instant;

const LINES: usize = 10_000;

fn list(kind: Kind) -> String {
    let mut text = String::from(match kind {
        Kind::Customers => "Name,Mail,Phone,Street,City,State,ZIP\n",
        Kind::Offerings => "Species,Season,Head,Share,Price,Deposit,Price holds from\n",
        Kind::Animals => "Tag,Class,Born,Breed\n",
        Kind::Reservations => "Name,Mail,Species,Season,Share,Date,Deposit,Method\n",
        Kind::Payments => "Name,Mail,Amount,Date,Method\n",
    });
    for n in 0..LINES {
        let (day, who) = (n % 28 + 1, format!("Customer {n},c{n}@customers.example"));
        text.push_str(&match kind {
            Kind::Customers => format!("{who},715-555-{n:04},{n} Pell Road,Elm Fork,WI,53000\n"),
            Kind::Offerings => format!("beef,Season {},9999,half,4.25,400,2020-01-01\n", n % 100 * 100 + n / 100),
            Kind::Animals => format!("{n},steer,4/{day}/2020,Angus\n"),
            Kind::Reservations => format!("{who},beef,Season {},half,3/{day}/2021,400,check {n}\n", n % 100),
            Kind::Payments => format!("{who},35.50,4/{day}/2021,check {n}\n"),
        });
    }
    text
}

fn main() {
    let folder = tempfile::tempdir().unwrap();
    let store = Store::open(Place::in_folder(folder.path())).unwrap();
    let zone = chrono_tz::America::Chicago;
    let at = At::from_utc(chrono::Utc::now());
    let doing = Doing { now: Now { at, today: at.day(zone), zone }, account: None, actor: "Ada".into() };
    let act = |f: &dyn Fn(&mut gambrel::book::store::Tx) -> Result<(), Failure>| store.write(|tx| f(tx)).unwrap();
    act(&|tx| Ok(farm::ensure(tx)?));
    for kind in Kind::ALL.iter().copied() {
        let text = list(kind);
        let begun = Instant::now();
        let text = open(text.as_bytes()).unwrap();
        let file = store.write(|tx| keep_list(tx, &doing, kind, "list.csv", &text)).unwrap();
        act(&|tx| {
            let columns = look(tx.conn(), kind, file)?.columns;
            match_columns(tx, &doing, kind, file, &columns)
        });
        let read = begun.elapsed();
        let begun = Instant::now();
        let (_, seen) = rehearse(&store, &doing, kind, file).unwrap();
        let tried = begun.elapsed();
        assert!(seen.faults.is_empty(), "{:?}", seen.faults.first());
        let take = Take { fingerprint: seen.fingerprint.clone(), again: false };
        let begun = Instant::now();
        let done = store.write(|tx| take_list(tx, &doing, kind, file, &take)).unwrap();
        let taken = begun.elapsed();
        assert_eq!(done.made, seen.count(Fate::New));
        println!(
            "{LINES} {}: read in {:.2} s, tried in {:.2} s, taken in {:.2} s (aim 5 s)",
            kind.label().to_lowercase(),
            read.as_secs_f64(),
            tried.as_secs_f64(),
            taken.as_secs_f64()
        );
    }
    let begun = Instant::now();
    let zip = store.read(|c| everything(c, doing.now.today)).unwrap();
    println!("all tables in one zip file of {} kB: {:.2} s", zip.len() / 1024, begun.elapsed().as_secs_f64());
}
