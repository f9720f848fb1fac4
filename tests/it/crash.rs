//! `kill -9` in the middle of writing, again and again: what was acknowledged is there, no number is missing or doubled, every rule
//! of the book holds, and mail is neither lost nor sent under two names.
//!
//! `GAMBREL_CRASHES` says how often; 50 with `GAMBREL_FULL=1`, else 6. The long run is 500.

use crate::mail_peer::Peer;
use crate::support::Page;
use crate::support::book::{Fresh, TestBook};
use actix_web::http::header::{HeaderMap, HeaderName, HeaderValue};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::accounts::Browser;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::book::conn::Place;
use gambrel::book::rows::accounts::NewAccount;
use gambrel::book::schema::{customer, message, payment, reservation};
use gambrel::book::{accounts, store::Store};
use gambrel::trade::share::Species;
use gambrel::trade::vocabulary::Role;
use std::collections::BTreeMap;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::time::{Duration, Instant};

fn times() -> usize {
    let asked = std::env::var("GAMBREL_CRASHES").ok().map(|n| n.parse().expect("GAMBREL_CRASHES is a number"));
    asked.unwrap_or(if std::env::var("GAMBREL_FULL").is_ok() { 50 } else { 6 })
}

/// What the service said was done.
#[derive(Default)]
struct Acknowledged {
    customers: Vec<String>,
    orders: Vec<String>,
    /// References of deposits.
    deposits: Vec<String>,
}

/// The program serving a book, and a browser that is signed in.
struct Running {
    child: Child,
    base: String,
    cookie: String,
    agent: ureq::Agent,
}

impl Running {
    fn start(place: &Place, port: u16, cookie: &str, mail: Option<&str>) -> Self {
        let mut command = Command::new(env!("CARGO_BIN_EXE_gambrel"));
        let at = format!("127.0.0.1:{port}");
        command.arg("serve").env("GAMBREL_LISTEN", &at).env("GAMBREL_LOG", "error").env_remove("DATABASE_URL");
        command.env_remove("SMTP_URL").stdout(Stdio::null());
        if let Some(url) = mail {
            command.env("SMTP_URL", url);
        }
        match place {
            Place::File(path) => command.env("GAMBREL_DATA", path.parent().unwrap()),
            #[cfg(feature = "postgres")]
            // Copies are tested in `keep_postgres`.
            Place::Postgres(url) => command
                .env("DATABASE_URL", url)
                .env("GAMBREL_DATA", std::env::temp_dir())
                .env("GAMBREL_PG_TOOLS", "none"),
        };
        let child = command.spawn().unwrap();
        let config = ureq::Agent::config_builder().max_redirects(0).http_status_as_error(false);
        let agent = config.timeout_global(Some(Duration::from_secs(20))).build().into();
        let this = Self { child, base: format!("http://{at}"), cookie: cookie.to_string(), agent };
        let began = Instant::now();
        while this.get("/health").is_none_or(|p| p.status != 200) {
            assert!(began.elapsed() < Duration::from_secs(60), "the service does not answer after a crash");
            std::thread::sleep(Duration::from_millis(20));
        }
        this
    }
    fn get(&self, url: &str) -> Option<Page> {
        let asked = self.agent.get(format!("{}{url}", self.base)).header("cookie", &self.cookie).call();
        page(url, asked.ok()?)
    }
    fn post(&self, url: &str, body: &str) -> Option<Page> {
        let asked = self.agent.post(format!("{}{url}", self.base)).header("cookie", &self.cookie);
        let asked = asked.header("sec-fetch-site", "same-origin");
        let asked = asked.header("content-type", "application/x-www-form-urlencoded").send(body);
        page(url, asked.ok()?)
    }
    /// Fills in a page's form; `None` when the service died over it. The answer's status must be one of `calm`.
    fn submit(&self, url: &str, filled: &[(&str, &str)]) -> Option<Page> {
        let shown = self.get(url)?;
        assert_eq!(shown.status, 200, "{url}");
        let form = shown.forms().into_iter().find(|f| f.post && f.action != "/sign-out").unwrap();
        let answer = self.post(&form.action, &form.body(filled))?;
        assert_eq!(answer.status, 303, "{url}: {}", String::from_utf8_lossy(&answer.bytes));
        Some(answer)
    }
    fn kill_9(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

fn page(url: &str, mut answer: ureq::http::Response<ureq::Body>) -> Option<Page> {
    let mut headers = HeaderMap::new();
    for (name, value) in answer.headers() {
        let name = HeaderName::try_from(name.as_str()).unwrap();
        headers.append(name, HeaderValue::from_bytes(value.as_bytes()).unwrap());
    }
    let status = answer.status().as_u16();
    let bytes = answer.body_mut().read_to_vec().ok()?;
    Some(Page { url: url.to_string(), status, headers, bytes })
}

/// Writes until the service dies: a customer, an order, its deposit with a receipt by mail; tells what was acknowledged.
fn write_until_it_dies(running: &Running, share: &str, who: &str, done: &mpsc::Sender<(&'static str, String)>) {
    for n in 0.. {
        let name = format!("{who} {n}");
        let mail = format!("{}@customers.example", name.to_lowercase().replace(' ', "."));
        let Some(_) = running.submit("/customers/new", &[("name", &format!("{name} Alone"))]) else { return };
        done.send(("customer", format!("{name} Alone"))).unwrap();
        let order = [("name", name.as_str()), ("mail", &mail), ("share", share), ("tell", "yes")];
        let Some(taken) = running.submit("/orders/new", &order) else { return };
        done.send(("order", name.clone())).unwrap();
        let to = format!("{}/deposit", taken.location());
        let reference = format!("ref {name}");
        let deposit = [("method", "check"), ("amount", "150.00"), ("reference", reference.as_str()), ("tell", "yes")];
        let Some(_) = running.submit(&to, &deposit) else { return };
        done.send(("deposit", reference)).unwrap();
    }
}

/// An address nobody listens on now.
fn free_port() -> u16 {
    std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap().port()
}

fn sign_in(store: &Store) -> String {
    let browser = Browser::new("a crash test").unwrap();
    let at = gambrel::clock::Clock::Real.at();
    let begun = store.write(|tx| {
        let account = accounts::insert(
            tx,
            &NewAccount {
                mail: "ada@nettlebend.example".into(),
                name: "Ada Moen".into(),
                password_hash: String::new(),
                role: Role::Farmer,
                created_at: at,
                disabled_at: None,
            },
        )?;
        gambrel::actions::accounts::sign_in(tx, account, at, &browser)
    });
    begun.unwrap();
    format!("gambrel={}", browser.token)
}

/// What is in the book by name, and every rule of the book.
fn look(store: &Store, acknowledged: &Acknowledged) -> usize {
    let all = store.read(check_book).unwrap();
    let (said, holds) = in_words(&all);
    assert!(holds, "{said}");
    let there = |what: &str, wanted: &[String], found: Vec<String>| {
        let lost: Vec<_> = wanted.iter().filter(|w| !found.contains(w)).collect();
        assert!(lost.is_empty(), "acknowledged and lost: {what} {lost:?}");
        for one in &found {
            assert_eq!(found.iter().filter(|f| *f == one).count(), 1, "{what} {one} is there twice");
        }
        found.len()
    };
    let (people, ordered, paid) = store
        .read(|c| {
            let people: Vec<String> = customer::table.select(customer::name).load(c)?;
            let ordered: Vec<String> = reservation::table.inner_join(customer::table).select(customer::name).load(c)?;
            let paid: Vec<String> = payment::table.select(payment::reference).load(c)?;
            Ok::<_, Failure>((people, ordered, paid))
        })
        .unwrap();
    there("customers", &acknowledged.customers, people)
        + there("orders", &acknowledged.orders, ordered)
        + there("deposits", &acknowledged.deposits, paid)
}

fn crash_again_and_again(fresh: Fresh) {
    let Some(mut peer) = Peer::start() else { return };
    let place = fresh.place.clone();
    let book = TestBook::at(fresh);
    // The service goes by the real clock, so the farm sells from the real day on.
    book.clock.advance(gambrel::clock::Clock::Real.at().0 - book.clock.at().0);
    let offering = book.offering_from(Species::Hog, 500, "5.25", "2020-01-01");
    let (share, cookie) = (format!("{offering}-whole"), sign_in(&book.store));
    let mail = format!("smtp+plain://127.0.0.1:{}", peer.port("plain"));
    let (mut acknowledged, mut seed) = (Acknowledged::default(), 0x9e37_79b9_7f4a_7c15_u64);
    let mut received: Vec<serde_json::Value> = Vec::new();
    for round in 0..times() {
        let running = Running::start(&place, free_port(), &cookie, Some(&mail));
        let (done, heard) = mpsc::channel();
        seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        let wait = Duration::from_millis(30 + (seed >> 33) % 600);
        let child = running.child.id().to_string();
        std::thread::scope(|s| {
            for writer in ["Ines", "Tove"] {
                let (running, share, done) = (&running, &share, done.clone());
                s.spawn(move || write_until_it_dies(running, share, &format!("{writer} {round}"), &done));
            }
            drop(done);
            std::thread::sleep(wait);
            assert!(Command::new("kill").args(["-9", &child]).status().unwrap().success());
        });
        for (what, name) in heard {
            match what {
                "customer" => acknowledged.customers.push(name),
                "order" => acknowledged.orders.push(name),
                _ => acknowledged.deposits.push(name),
            }
        }
        running.kill_9();
        look(&book.store, &acknowledged);
        received.extend(peer.received());
    }
    assert!(
        acknowledged.deposits.len() >= times() / 2,
        "too little was written: {} deposits",
        acknowledged.deposits.len()
    );

    // A last start sends what is still in the outbox. A message cut off while it was being sent is due again minutes later; that time
    // is not waited for here.
    let (held, now) = (message::table.filter(message::sent_at.is_null()), gambrel::clock::Clock::Real.at());
    book.act(|tx, _| Ok(diesel::update(held).set(message::next_try_at.eq(now)).execute(tx.conn())?));
    let running = Running::start(&place, free_port(), &cookie, Some(&mail));
    let began = Instant::now();
    let all: Vec<String> = loop {
        received.extend(peer.received());
        let (unsent, all) = book.read(|c| {
            let unsent: i64 = message::table.filter(message::sent_at.is_null()).count().get_result(c)?;
            let all: Vec<String> = message::table.select(message::message_id).load(c)?;
            Ok((unsent, all))
        });
        if unsent == 0 {
            break all;
        }
        assert!(began.elapsed() < Duration::from_secs(240), "{unsent} messages were never sent");
        std::thread::sleep(Duration::from_millis(200));
    };
    received.extend(peer.received());
    running.kill_9();
    let found = look(&book.store, &acknowledged);
    let mut came: BTreeMap<&str, usize> = BTreeMap::new();
    for m in &received {
        *came.entry(m["message_id"].as_str().unwrap()).or_default() += 1;
    }
    for id in &all {
        assert!(came.contains_key(id.as_str()), "message {id} is lost");
    }
    assert_eq!(came.len(), all.len(), "a message went out under a name the book does not know");
    let again = came.values().filter(|n| **n > 1).count();
    assert!(again <= times(), "{again} messages came more than once in {} crashes", times());
    eprintln!(
        "{}: {} crashes, {found} rows found for {} acknowledged writes, {} messages, {again} of them came twice",
        if place.is_embedded() { "SQLite" } else { "PostgreSQL" },
        times(),
        acknowledged.customers.len() + acknowledged.orders.len() + acknowledged.deposits.len(),
        all.len(),
    );
}

#[test]
fn a_crash_loses_nothing_that_was_acknowledged_sqlite() {
    crash_again_and_again(Fresh::sqlite());
}

#[test]
fn a_crash_loses_nothing_that_was_acknowledged_postgres() {
    if let Some(fresh) = Fresh::postgres() {
        crash_again_and_again(fresh);
    }
}
