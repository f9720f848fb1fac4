//! A book of its own for the outbox tests, on each engine there is.
//!
//! PostgreSQL is tried when `GAMBREL_TEST_PG` holds the URL of a server whose user may make databases.

use diesel::prelude::*;
use gambrel::actions::queue_message::{ToSay, queue_message};
use gambrel::actions::send_mail::PostRoom;
use gambrel::actions::{Doing, Failure};
use gambrel::book::at::{At, Now};
use gambrel::book::conn::Place;
use gambrel::book::ids::{CustomerId, MessageId};
use gambrel::book::outbox::{self, Counts};
use gambrel::book::rows::outbox::Message;
use gambrel::book::rows::people::NewCustomer;
use gambrel::book::schema;
use gambrel::book::store::Store;
use gambrel::book::{farm, stories};
use gambrel::clock::Clock;
use gambrel::post::smtp::{PlainAllowed, Sender, SmtpSettings};
use gambrel::post::wording::{Purpose, Values};
use gambrel::trade::vocabulary::PaperKind;

pub(crate) const MINUTE: i64 = 60_000;

/// A book of its own on one engine, gone when dropped.
pub(crate) struct Book {
    pub(crate) store: Store,
    pub(crate) place: Place,
    pub(crate) clock: Clock,
    _folder: tempfile::TempDir,
    #[cfg(feature = "postgres")]
    drop_database: Option<(String, String)>,
}

impl Book {
    pub(crate) fn of(place: Place, folder: tempfile::TempDir) -> Self {
        let store = Store::open(place.clone()).unwrap();
        store
            .write(|tx| {
                farm::ensure(tx)?;
                let mut f = farm::get(tx.conn())?;
                f.name = "Nettle Bend Farm".into();
                f.contact_name = "Ada Moen".into();
                f.mail = "office@nettlebend.example".into();
                let version = f.version;
                assert!(farm::save(tx, &f, version)?);
                Ok::<_, Failure>(())
            })
            .unwrap();
        Self {
            store,
            place,
            clock: Clock::set(At(1_823_000_000_000)),
            _folder: folder,
            #[cfg(feature = "postgres")]
            drop_database: None,
        }
    }
    /// One on each engine there is.
    pub(crate) fn each() -> Vec<Self> {
        let folder = tempfile::tempdir().unwrap();
        #[cfg_attr(not(feature = "postgres"), allow(unused_mut, reason = "only PostgreSQL adds one"))]
        let mut books = vec![Self::of(Place::in_folder(folder.path()), folder)];
        #[cfg(feature = "postgres")]
        if let Ok(url) = std::env::var("GAMBREL_TEST_PG") {
            use diesel::connection::SimpleConnection;
            let name = format!(
                "gambrel_outbox_{}_{}",
                std::process::id(),
                gambrel::secret::token().unwrap().to_lowercase().replace('-', "_")
            );
            diesel::PgConnection::establish(&url).unwrap().batch_execute(&format!("CREATE DATABASE {name}")).unwrap();
            let (server, _) = url.rsplit_once('/').unwrap();
            let mut book =
                Self::of(Place::from_url(&format!("{server}/{name}")).unwrap(), tempfile::tempdir().unwrap());
            book.drop_database = Some((url, name));
            books.push(book);
        }
        books
    }
    pub(crate) fn doing(&self) -> Doing {
        let at = self.clock.at();
        Doing {
            now: Now { at, today: at.day(chrono_tz::UTC), zone: chrono_tz::UTC },
            account: None,
            actor: "Ada".into(),
        }
    }
    pub(crate) fn customer(&self, name: &str, mail: &str, phone: &str) -> CustomerId {
        let new = NewCustomer {
            name: name.into(),
            mail: mail.into(),
            phone: phone.into(),
            address: "3 Pell Road\nElm Fork".into(),
            notes: String::new(),
            search: name.to_lowercase(),
            created_at: self.clock.at(),
            no_offers: false,
        };
        self.store
            .write(|tx| {
                Ok::<_, Failure>(
                    diesel::insert_into(schema::customer::table)
                        .values(new.clone())
                        .returning(schema::customer::id)
                        .get_result(tx.conn())?,
                )
            })
            .unwrap()
    }
    pub(crate) fn queue(&self, customer: CustomerId) -> MessageId {
        self.try_queue(customer, Values::examples(Purpose::Invoice), None).unwrap()
    }
    pub(crate) fn try_queue(
        &self,
        customer: CustomerId,
        values: Values,
        attachment: Option<(PaperKind, i64)>,
    ) -> Result<MessageId, Failure> {
        let say = ToSay { customer, reservation: None, purpose: Purpose::Invoice, values, attachment };
        self.store.write(|tx| queue_message(tx, &self.doing(), &say))
    }
    pub(crate) fn get(&self, id: MessageId) -> Message {
        self.store.read(|c| Ok::<_, Failure>(outbox::get(c, id)?)).unwrap()
    }
    pub(crate) fn room(&self, sender: Sender) -> PostRoom {
        let clock = self.clock.clone();
        PostRoom::new(self.store.clone(), sender, None, move || clock.at())
    }
    pub(crate) fn counts(&self) -> Counts {
        self.store.read(|c| Ok::<_, Failure>(outbox::counts(c)?)).unwrap()
    }
    pub(crate) fn told(&self, customer: CustomerId) -> Vec<String> {
        let lines = self.store.read(|c| Ok::<_, Failure>(stories::of_customer(c, customer)?)).unwrap();
        lines.into_iter().map(|l| format!("{} {}", l.line, l.detail).trim().to_owned()).collect()
    }
}

impl Drop for Book {
    fn drop(&mut self) {
        #[cfg(feature = "postgres")]
        if let Some((url, name)) = self.drop_database.take() {
            use diesel::connection::SimpleConnection;
            let mut c = diesel::PgConnection::establish(&url).unwrap();
            c.batch_execute(&format!("DROP DATABASE {name} WITH (FORCE)")).unwrap();
        }
    }
}

/// A sender to a port nobody listens on.
pub(crate) fn nobody() -> Sender {
    let free = std::net::TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap();
    Sender::new(&SmtpSettings::parse(&format!("smtp+plain://{free}"), PlainAllowed::Loopback).unwrap(), None).unwrap()
}

impl Book {
    /// Another program on the same book.
    pub(crate) fn beside(&self) -> Self {
        Self {
            store: Store::open(self.place.clone()).unwrap(),
            place: self.place.clone(),
            clock: self.clock.clone(),
            _folder: tempfile::tempdir().unwrap(),
            #[cfg(feature = "postgres")]
            drop_database: None,
        }
    }
}
