//! A book of its own for each test, on each engine there is; gone when dropped.
//!
//! PostgreSQL is used when `GAMBREL_TEST_PG` holds the URL of a server whose user may make databases. Without it the tests
//! say on standard error that it was left out; with `GAMBREL_FULL=1` that is a failure.

use gambrel::actions::{Doing, Failure};
use gambrel::book::at::{At, Now};
use gambrel::book::conn::{DbConn, Place};
use gambrel::book::farm;
use gambrel::book::store::{Store, Tx};
use gambrel::clock::Clock;
use std::sync::Once;

/// 18:00 UTC on October 14, 2027: noon and one hour more on a farm in Chicago.
pub(crate) const TODAY: At = At(1_823_536_800_000);
pub(crate) const MINUTE: i64 = 60_000;
pub(crate) const HOUR: i64 = 60 * MINUTE;
pub(crate) const DAY: i64 = 24 * HOUR;

/// An empty place on one engine, taken away when dropped.
pub(crate) struct Fresh {
    pub(crate) place: Place,
    folder: tempfile::TempDir,
    #[cfg(feature = "postgres")]
    database: Option<(String, String)>,
}

impl Fresh {
    pub(crate) fn sqlite() -> Self {
        let folder = tempfile::tempdir().unwrap();
        Self {
            place: Place::in_folder(folder.path()),
            folder,
            #[cfg(feature = "postgres")]
            database: None,
        }
    }
    /// A new database on the tests' PostgreSQL server, if there is one.
    #[cfg(feature = "postgres")]
    pub(crate) fn postgres() -> Option<Self> {
        use diesel::connection::{Connection, SimpleConnection};
        let Ok(url) = std::env::var("GAMBREL_TEST_PG") else {
            left_out("PostgreSQL was left out: GAMBREL_TEST_PG names no server");
            return None;
        };
        let token = gambrel::secret::token().unwrap().to_lowercase().replace('-', "_");
        let name = format!("gambrel_test_{}_{token}", std::process::id());
        let mut c = diesel::PgConnection::establish(&url).unwrap();
        // Not from the template that others may be connected to at this moment.
        c.batch_execute(&format!("CREATE DATABASE {name} TEMPLATE template0")).unwrap();
        let (server, _) = url.rsplit_once('/').unwrap();
        let place = Place::from_url(&format!("{server}/{name}")).unwrap();
        Some(Self { place, folder: tempfile::tempdir().unwrap(), database: Some((url, name)) })
    }
    #[cfg(not(feature = "postgres"))]
    pub(crate) fn postgres() -> Option<Self> {
        left_out("PostgreSQL was left out: this program is built without it");
        None
    }
    /// One on each engine there is.
    pub(crate) fn each() -> Vec<Self> {
        std::iter::once(Self::sqlite()).chain(Self::postgres()).collect()
    }
    /// The folder for files beside the book; of a PostgreSQL book one that is not there until somebody makes it.
    pub(crate) fn data(&self) -> std::path::PathBuf {
        if self.is_postgres() { self.folder.path().join("data") } else { self.folder.path().to_path_buf() }
    }
    pub(crate) fn is_postgres(&self) -> bool {
        !self.place.is_embedded()
    }
}

impl Drop for Fresh {
    fn drop(&mut self) {
        #[cfg(feature = "postgres")]
        if let Some((url, name)) = self.database.take() {
            use diesel::connection::{Connection, SimpleConnection};
            let dropped = diesel::PgConnection::establish(&url)
                .map(|mut c| c.batch_execute(&format!("DROP DATABASE {name} WITH (FORCE)")));
            // A second panic while a test fails would hide the first.
            if !std::thread::panicking() {
                dropped.unwrap().unwrap();
            }
        }
    }
}

/// Says once that something optional was left out; with `GAMBREL_FULL=1` nothing may be.
pub(crate) fn left_out(what: &str) {
    static ONCE: Once = Once::new();
    assert!(std::env::var("GAMBREL_FULL").is_err(), "{what}, and GAMBREL_FULL wants everything");
    ONCE.call_once(|| eprintln!("{what}"));
}

/// An open book with the invented farm set up in it. It is October 14, 2027 until the clock is moved.
pub(crate) struct TestBook {
    pub(crate) store: Store,
    pub(crate) clock: Clock,
    pub(crate) fresh: Fresh,
}

impl TestBook {
    pub(crate) fn at(fresh: Fresh) -> Self {
        let book = Self { store: Store::open(fresh.place.clone()).unwrap(), clock: Clock::set(TODAY), fresh };
        book.act(|tx, doing| {
            farm::ensure(tx)?;
            let mut f = farm::get(tx.conn())?;
            f.name = "Nettle Bend Farm".into();
            f.contact_name = "Ada Moen".into();
            f.address = "118 Slough Road\nElm Fork, WI 53000".into();
            f.phone = "555-0118".into();
            f.mail = "office@nettlebend.example".into();
            f.payee = "Nettle Bend Farm".into();
            f.pay_address = "118 Slough Road\nElm Fork, WI 53000".into();
            f.time_zone = "America/Chicago".into();
            f.set_up_at = Some(doing.now.at);
            let version = f.version;
            assert!(farm::save(tx, &f, version)?);
            Ok(())
        });
        book
    }
    pub(crate) fn sqlite() -> Self {
        Self::at(Fresh::sqlite())
    }
    /// One on each engine there is.
    pub(crate) fn each() -> Vec<Self> {
        Fresh::each().into_iter().map(Self::at).collect()
    }
    /// Another program on the same book.
    pub(crate) fn beside(&self) -> Store {
        Store::open(self.fresh.place.clone()).unwrap()
    }
    pub(crate) fn now(&self) -> Now {
        let (at, zone) = (self.clock.at(), chrono_tz::America::Chicago);
        Now { at, today: at.day(zone), zone }
    }
    pub(crate) fn doing(&self) -> Doing {
        Doing { now: self.now(), account: None, actor: "Ada".into() }
    }
    /// Does something as the farmer; may be refused.
    pub(crate) fn try_act<T>(&self, f: impl Fn(&mut Tx, &Doing) -> Result<T, Failure>) -> Result<T, Failure> {
        let doing = self.doing();
        self.store.write(|tx| f(tx, &doing))
    }
    /// Does something as the farmer that must not be refused.
    #[track_caller]
    pub(crate) fn act<T>(&self, f: impl Fn(&mut Tx, &Doing) -> Result<T, Failure>) -> T {
        self.try_act(f).unwrap_or_else(|e| panic!("refused: {e}"))
    }
    #[track_caller]
    pub(crate) fn read<T>(&self, f: impl FnOnce(&mut DbConn) -> Result<T, Failure>) -> T {
        self.store.read(f).unwrap()
    }
}

/// Runs a test on an empty book of each engine there is; the failing engine is named.
pub(crate) fn on_each_engine_empty(test: impl Fn(&Store)) {
    for fresh in Fresh::each() {
        let store = Store::open(fresh.place.clone()).unwrap();
        named(fresh.is_postgres(), || test(&store));
    }
}

fn named(is_postgres: bool, test: impl FnOnce()) {
    if let Err(why) = std::panic::catch_unwind(std::panic::AssertUnwindSafe(test)) {
        eprintln!("this failed on {}", if is_postgres { "PostgreSQL" } else { "SQLite" });
        std::panic::resume_unwind(why);
    }
}

/// Runs a test on a fresh book of each engine there is; the failing engine is named.
pub(crate) fn on_each_engine(test: impl Fn(&TestBook)) {
    for book in TestBook::each() {
        named(book.fresh.is_postgres(), || test(&book));
    }
}
