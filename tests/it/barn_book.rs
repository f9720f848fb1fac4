//! A small farm for the barn's tests: plants, dates, animals and orders, on each engine there is.

use crate::outbox_book::Book;
use chrono::NaiveDate;
use diesel::prelude::*;
use gambrel::actions::book_date::{DateFacts, book_date};
use gambrel::actions::care_for_animal::{Weighed, record_live_weight};
use gambrel::actions::change_animal::{AnimalFacts, add_animal};
use gambrel::actions::change_processor::{ProcessorFacts, add_processor};
use gambrel::actions::place_share::{Move, Spot, Target, place_shares};
use gambrel::actions::record_weights::{Fate, Recorded, WeighForm, WeighRow, record_weights};
use gambrel::actions::send_animal::send_animal;
use gambrel::actions::{Doing, Failure};
use gambrel::book::carcasses::{CarcassBilled, billed_weights, weigh_ins};
use gambrel::book::ids::{AnimalId, CustomerId, DateId, OfferingId, ProcessorId, ReservationId};
use gambrel::book::rows::animals::Animal;
use gambrel::book::rows::invoices::NewInvoice;
use gambrel::book::rows::selling::{NewOffering, NewReservation};
use gambrel::book::store::Tx;
use gambrel::book::{animals, farm, schema};
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Hung;
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::vocabulary::{BirthPrecision, CarcassBasis, Inspection, PriceBasis, QuarterPart, Sex};
use gambrel::trade::weight::Weight;

pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub(crate) fn lb(text: &str) -> Weight {
    Weight::parse(text).unwrap()
}

/// The book with the day it is and short ways to do things. Its today is October 14, 2027.
pub(crate) struct Barn {
    pub(crate) book: Book,
}

impl Barn {
    pub(crate) fn each() -> Vec<Self> {
        Book::each().into_iter().map(|book| Self { book }).collect()
    }
    pub(crate) fn doing(&self) -> Doing {
        let mut doing = self.book.doing();
        doing.now.today = day("2027-10-14");
        doing
    }
    pub(crate) fn act<T>(&self, f: impl Fn(&mut Tx, &Doing) -> Result<T, Failure>) -> Result<T, Failure> {
        let doing = self.doing();
        self.book.store.write(|tx| f(tx, &doing))
    }
    pub(crate) fn read<T>(&self, f: impl FnOnce(&mut gambrel::book::conn::DbConn) -> Result<T, Failure>) -> T {
        self.book.store.read(f).unwrap()
    }
    pub(crate) fn plant(&self, inspection: Inspection) -> ProcessorId {
        let facts = ProcessorFacts {
            name: format!("Pell Road Meats {inspection}"),
            address: "4 Pell Road".into(),
            phone: String::new(),
            mail: String::new(),
            inspection,
            days_notice: 5,
            notes: String::new(),
        };
        self.act(|tx, doing| add_processor(tx, doing, &facts)).unwrap()
    }
    pub(crate) fn date_facts(plant: ProcessorId, kill_on: &str) -> DateFacts {
        DateFacts {
            processor: plant,
            kill_on: day(kill_on),
            deliver_on: None,
            deliver_time: String::new(),
            sheets_due: None,
            pickup_from: None,
            pickup_to: None,
            notes: String::new(),
            slots: vec![(Species::Beef, 2), (Species::Hog, 2)],
        }
    }
    pub(crate) fn date(&self, plant: ProcessorId, kill_on: &str) -> DateId {
        self.act(|tx, doing| book_date(tx, doing, &Self::date_facts(plant, kill_on))).unwrap()
    }
    pub(crate) fn facts(class: Class, tag: &str) -> AnimalFacts {
        AnimalFacts {
            tag: tag.into(),
            species: class.species(),
            class,
            sex: class.sex().unwrap_or(Sex::Castrated),
            birth_on: None,
            birth_precision: BirthPrecision::Unknown,
            breed: String::new(),
            official_id: String::new(),
            notes: String::new(),
            same_tag_ok: false,
        }
    }
    pub(crate) fn animal(&self, class: Class, tag: &str, live: &str, on: Option<DateId>) -> AnimalId {
        let facts = Self::facts(class, tag);
        let id = self.act(|tx, doing| add_animal(tx, doing, &facts)).unwrap();
        if !live.is_empty() {
            let weight = Weighed::Scale(lb(live));
            self.act(|tx, doing| record_live_weight(tx, doing, id, day("2027-10-01"), weight)).unwrap();
        }
        if on.is_some() {
            self.send(id, on).unwrap();
        }
        id
    }
    pub(crate) fn get(&self, id: AnimalId) -> Animal {
        self.read(|c| Ok(animals::get(c, id)?))
    }
    pub(crate) fn send(&self, id: AnimalId, to: Option<DateId>) -> Result<(), Failure> {
        let version = self.get(id).version;
        self.act(|tx, doing| send_animal(tx, doing, id, version, to, false))
    }
    pub(crate) fn offering(&self, species: Species, head_count: i64) -> OfferingId {
        let new = NewOffering {
            species,
            season: "Fall 2027".into(),
            head_count,
            sells_whole: true,
            sells_half: true,
            sells_quarter: true,
            quarter_part: QuarterPart::Split,
            expected_low: None,
            expected_high: None,
            notes: String::new(),
            closed_at: None,
            created_at: self.book.clock.at(),
        };
        let insert = |tx: &mut Tx, _: &Doing| {
            let row = diesel::insert_into(schema::offering::table).values(new.clone());
            Ok(row.returning(schema::offering::id).get_result(tx.conn())?)
        };
        self.act(insert).unwrap()
    }
    pub(crate) fn order(
        &self,
        n: i64,
        offering: OfferingId,
        size: Size,
        part: Option<Part>,
        waits: bool,
    ) -> ReservationId {
        let customer: CustomerId = self.book.customer(&format!("Customer {n}"), &format!("c{n}@x.example"), "");
        let at = self.book.clock.at();
        let new = NewReservation {
            number: format!("2027-{n:03}"),
            customer_id: customer,
            offering_id: offering,
            size,
            part,
            taken_at: at,
            price_basis: PriceBasis::Hanging,
            rate: Some(Rate::parse("4.65").unwrap()),
            flat_price: None,
            deposit_asked: Money::from_cents(40_000),
            price_locked_on: day("2027-03-01"),
            wishes: String::new(),
            preferred_date_id: None,
            waiting_since: waits.then_some(at),
            cancelled_at: None,
            cancel_reason: String::new(),
            cancel_deposit: None,
            collected_at: None,
        };
        let insert = |tx: &mut Tx, _: &Doing| {
            let row = diesel::insert_into(schema::reservation::table).values(new.clone());
            Ok(row.returning(schema::reservation::id).get_result(tx.conn())?)
        };
        self.act(insert).unwrap()
    }
    pub(crate) fn place(&self, order: ReservationId, animal: AnimalId, spot: Spot) -> Result<usize, Failure> {
        self.place_all(&[(order, Some((animal, spot)))])
    }
    pub(crate) fn place_all(&self, moves: &[(ReservationId, Option<(AnimalId, Spot)>)]) -> Result<usize, Failure> {
        let moves: Vec<_> = moves
            .iter()
            .map(|(reservation, to)| Move {
                reservation: *reservation,
                to: to.map(|(animal, spot)| Target { animal, spot }),
                field: format!("share-{reservation}"),
            })
            .collect();
        self.act(|tx, doing| place_shares(tx, doing, &moves))
    }
    /// A bare issued invoice, as far as the barn looks at it.
    pub(crate) fn invoice(&self, order: ReservationId, number: &str) {
        let customer = self
            .read(|c| Ok(schema::reservation::table.find(order).select(schema::reservation::customer_id).first(c)?));
        let new = NewInvoice {
            number: number.into(),
            reservation_id: order,
            customer_id: customer,
            issued_on: day("2027-10-14"),
            due_on: None,
            farm_total: Money::from_cents(100),
            farm_tax: Money::ZERO,
            processor_total: Money::ZERO,
            processor_tax: Money::ZERO,
            balance_due: Money::from_cents(100),
            billed_weight: None,
            document: "{}".into(),
            issued_at: self.book.clock.at(),
        };
        let insert = |tx: &mut Tx, _: &Doing| {
            diesel::insert_into(schema::invoice::table).values(new.clone()).execute(tx.conn())?;
            Ok(())
        };
        self.act(insert).unwrap();
    }
    /// A row of the weigh-in form, opened now.
    pub(crate) fn row(&self, animal: AnimalId, fate: Fate) -> WeighRow {
        let version = self.read(|c| Ok(weigh_ins(c, &[animal])?.get(&animal).map_or(0, |w| w.version)));
        let skin_on = self.get(animal).species == Species::Hog;
        WeighRow {
            animal,
            version,
            fate,
            carcass_number: String::new(),
            head_on: false,
            skin_on,
            confirmed: String::new(),
        }
    }
    pub(crate) fn weigh(&self, date: DateId, rows: Vec<WeighRow>) -> Result<Recorded, Failure> {
        let form =
            WeighForm { date, basis: CarcassBasis::Hot, weighed_on: day("2027-10-14"), for_saved_too: false, rows };
        self.act(|tx, doing| record_weights(tx, doing, &form))
    }
    pub(crate) fn billed(&self, ids: &[AnimalId]) -> Vec<CarcassBilled> {
        self.read(|c| {
            let farm = farm::get(c)?;
            Ok(billed_weights(c, &farm, ids)?)
        })
    }
}

pub(crate) fn sides(left: &str, right: &str) -> Fate {
    Fate::Hung { hung: Hung::Sides { left: lb(left), right: lb(right) }, condemned_parts: None }
}

/// What was refused: each field with its sentence.
pub(crate) fn refused<T: std::fmt::Debug>(outcome: Result<T, Failure>) -> Vec<(String, String)> {
    match outcome {
        Err(Failure::Refused(problems)) => problems.0.into_iter().map(|p| (p.field, p.sentence)).collect(),
        other => panic!("not refused: {other:?}"),
    }
}
