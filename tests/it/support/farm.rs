//! Builders: each makes one thing through its real action with sensible values; a test states only what matters.

use super::book::TestBook;
use chrono::NaiveDate;
use gambrel::actions::Failure;
use gambrel::actions::add_customer::{CustomerIn, add_customer};
use gambrel::actions::book_date::{DateFacts, book_date};
use gambrel::actions::change_animal::{AnimalFacts, add_animal};
use gambrel::actions::change_processor::{ChargeFacts, ProcessorFacts, add_charge, add_processor};
use gambrel::actions::draft_invoice::drafts;
use gambrel::actions::issue_invoices::issue_invoices;
use gambrel::actions::offer::{OfferingIn, PriceIn, add_offering};
use gambrel::actions::place_share::{Move, Spot, Target, place_shares};
use gambrel::actions::prepare_picture::prepare;
use gambrel::actions::public_page::{PageIn, add_picture, change_page};
use gambrel::actions::record_deposit::{MoneyIn, record_deposit};
use gambrel::actions::record_payment::record_payment;
use gambrel::actions::record_weights::{Fate, WeighForm, WeighRow, record_weights};
use gambrel::actions::send_animal::send_animal;
use gambrel::actions::take_reservation::{TakeReservation, Who, take_reservation};
use gambrel::book::carcasses::weigh_ins;
use gambrel::book::ids::{
    AnimalId, ChargeId, CustomerId, DateId, InvoiceId, OfferingId, ProcessorId, ReceiptId, ReservationId,
};
use gambrel::book::{animals, farm, invoices};
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Hung;
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::{Part, Side, Size, Species};
use gambrel::trade::vocabulary::{
    BilledBy, BirthPrecision, CarcassBasis, Inspection, PayMethod, Per, PriceBasis, QuarterPart, Sex,
};
use gambrel::trade::weight::Weight;

/// A PNG in which no two places are alike.
pub(crate) fn png(width: u32, height: u32) -> Vec<u8> {
    let picture = image::RgbImage::from_fn(width, height, |x, y| image::Rgb([(x % 256) as u8, (y % 256) as u8, 90]));
    let mut out = std::io::Cursor::new(Vec::new());
    picture.write_to(&mut out, image::ImageFormat::Png).unwrap();
    out.into_inner()
}
pub(crate) fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}
pub(crate) fn lb(text: &str) -> Weight {
    Weight::parse(text).unwrap()
}
pub(crate) fn usd(text: &str) -> Money {
    Money::parse(text).unwrap()
}

impl TestBook {
    pub(crate) fn customer(&self, name: &str) -> CustomerId {
        let first = name.split(' ').next().unwrap().to_lowercase();
        let input = CustomerIn {
            name: name.into(),
            mail: format!("{first}@customers.example"),
            phone: "555-0142".into(),
            address: "3 Pell Road\nElm Fork, WI 53000".into(),
            notes: String::new(),
            no_offers: false,
        };
        self.act(|tx, doing| add_customer(tx, doing, &input))
    }
    /// Everything sold at one rate by hanging weight with a deposit of $150.00, priced since the first of the year.
    pub(crate) fn offering(&self, species: Species, head_count: i64, rate: &str) -> OfferingId {
        self.offering_from(species, head_count, rate, "2027-01-01")
    }
    /// The same, priced since another day.
    pub(crate) fn offering_from(&self, species: Species, head_count: i64, rate: &str, from: &str) -> OfferingId {
        let input = OfferingIn {
            species,
            season: "Fall 2027".into(),
            head_count,
            sizes: vec![Size::Whole, Size::Half, Size::Quarter],
            quarter_part: QuarterPart::Split,
            expected_low: None,
            expected_high: None,
            notes: String::new(),
        };
        let price = |size| PriceIn {
            size,
            basis: PriceBasis::Hanging,
            rate: Some(Rate::parse(rate).unwrap()),
            flat_price: None,
            deposit: usd("150.00"),
        };
        let prices = [price(Size::Whole), price(Size::Half), price(Size::Quarter)];
        self.act(|tx, doing| add_offering(tx, doing, &input, &prices, day(from)))
    }
    /// Beef of which a quarter is the forequarter or the hindquarter.
    pub(crate) fn quarters_apart(&self) -> OfferingId {
        use diesel::prelude::*;
        use gambrel::book::schema::offering;
        let id = self.offering(Species::Beef, 4, "5.00");
        let apart = offering::quarter_part.eq(QuarterPart::ForeHind);
        self.act(|tx, _| Ok(diesel::update(offering::table.find(id)).set(apart).execute(tx.conn())?));
        id
    }
    pub(crate) fn own_quarter(&self, customer: CustomerId, offering: OfferingId, part: Part) -> ReservationId {
        let input = TakeReservation {
            who: Who::Known(customer),
            offering,
            size: Size::Quarter,
            part: Some(part),
            wishes: String::new(),
            preferred_date: None,
        };
        self.act(|tx, doing| take_reservation(tx, doing, &input))
    }
    /// Four hogs at $5.25 per lb.
    pub(crate) fn hogs(&self) -> OfferingId {
        self.offering(Species::Hog, 4, "5.25")
    }
    /// The public page switched on, with these offerings and one picture.
    pub(crate) fn open_to_everybody(&self, offerings: &[OfferingId]) {
        let offerings = offerings.to_vec();
        let words = "We are two people and an old barn.\n\nBring coolers.".to_string();
        let page = PageIn { is_on: true, headline: "Pork from the oak lot".into(), words, offerings };
        let picture = prepare(&png(600, 400)).unwrap();
        self.act(|tx, doing| {
            change_page(tx, doing, 0, &page)?;
            add_picture(tx, doing, "Three hogs under oak trees", &picture)
        });
    }
    pub(crate) fn order(&self, customer: CustomerId, offering: OfferingId, size: Size) -> ReservationId {
        let input = TakeReservation {
            who: Who::Known(customer),
            offering,
            size,
            part: None,
            wishes: String::new(),
            preferred_date: None,
        };
        self.act(|tx, doing| take_reservation(tx, doing, &input))
    }
    pub(crate) fn money(&self, amount: &str) -> MoneyIn {
        MoneyIn {
            method: PayMethod::Check,
            amount: usd(amount),
            received_on: self.now().today,
            reference: "1204".into(),
            note: String::new(),
        }
    }
    pub(crate) fn deposit(&self, order: ReservationId, amount: &str) -> ReceiptId {
        let money = self.money(amount);
        self.act(|tx, doing| record_deposit(tx, doing, order, &money, false))
    }
    pub(crate) fn plant(&self) -> ProcessorId {
        self.another_plant("Pell Road Meats")
    }
    pub(crate) fn another_plant(&self, name: &str) -> ProcessorId {
        let facts = ProcessorFacts {
            name: name.into(),
            address: "4 Pell Road".into(),
            phone: "555-0177".into(),
            mail: "floor@pellroad.example".into(),
            inspection: Inspection::Custom,
            days_notice: 5,
            notes: String::new(),
        };
        self.act(|tx, doing| add_processor(tx, doing, &facts))
    }
    pub(crate) fn charge(&self, plant: ProcessorId, name: &str, per: Per, rate: &str, by: BilledBy) -> ChargeId {
        let facts = ChargeFacts {
            name: name.into(),
            species: None,
            size: None,
            per,
            rate: Rate::parse(rate).unwrap(),
            minimum_quantity: None,
            minimum_amount: None,
            billed_by: by,
            tax_percent: Default::default(),
            service: None,
        };
        self.act(|tx, doing| add_charge(tx, doing, plant, &facts))
    }
    pub(crate) fn date(&self, plant: ProcessorId, kill_on: &str) -> DateId {
        let facts = DateFacts {
            processor: plant,
            kill_on: day(kill_on),
            deliver_on: None,
            deliver_time: String::new(),
            sheets_due: None,
            pickup_from: None,
            pickup_to: None,
            notes: String::new(),
            slots: vec![(Species::Beef, 8), (Species::Hog, 8)],
        };
        self.act(|tx, doing| book_date(tx, doing, &facts))
    }
    /// One head on a date.
    pub(crate) fn head(&self, class: Class, tag: &str, date: DateId) -> AnimalId {
        let facts = AnimalFacts {
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
        };
        let id = self.act(|tx, doing| add_animal(tx, doing, &facts));
        let version = self.read(|c| Ok(animals::get(c, id)?.version));
        self.act(|tx, doing| send_animal(tx, doing, id, version, Some(date), false));
        id
    }
    pub(crate) fn place(&self, order: ReservationId, animal: AnimalId, side: Side) {
        let moves = [Move {
            reservation: order,
            to: Some(Target { animal, spot: Spot::Side(side) }),
            field: format!("share-{order}"),
        }];
        self.act(|tx, doing| place_shares(tx, doing, &moves));
    }
    pub(crate) fn try_weigh(&self, date: DateId, animal: AnimalId, left: &str, right: &str) -> Result<(), Failure> {
        let hung = Hung::Sides { left: lb(left), right: lb(right) };
        let row = WeighRow {
            animal,
            version: self.read(|c| Ok(weigh_ins(c, &[animal])?.get(&animal).map_or(0, |w| w.version))),
            fate: Fate::Hung { hung, condemned_parts: None },
            carcass_number: String::new(),
            head_on: false,
            skin_on: self.read(|c| Ok(animals::get(c, animal)?.species)) == Species::Hog,
            confirmed: gambrel::actions::record_weights::confirming(hung),
        };
        let form = WeighForm {
            date,
            basis: CarcassBasis::Hot,
            weighed_on: self.now().today,
            for_saved_too: false,
            rows: vec![row],
        };
        self.try_act(|tx, doing| record_weights(tx, doing, &form).map(|_| ()))
    }
    #[track_caller]
    pub(crate) fn weigh(&self, date: DateId, animal: AnimalId, left: &str, right: &str) {
        self.try_weigh(date, animal, left, right).unwrap();
    }
    /// What an order's invoice would come to now.
    pub(crate) fn balance(&self, order: ReservationId) -> Money {
        let now = self.now();
        self.read(|c| {
            let farm = farm::get(c)?;
            let drafts = drafts(c, &farm, now, &[order])?;
            let draft = drafts.first().ok_or(Failure::NotFound)?;
            draft.ready().ok_or_else(|| Failure::refuse("", draft.not_yet.clone().unwrap_or_default()))
        })
    }
    pub(crate) fn issue(&self, order: ReservationId) -> InvoiceId {
        let balance = self.balance(order);
        self.act(|tx, doing| issue_invoices(tx, doing, &[(order, balance)], false))[0]
    }
    pub(crate) fn pay(&self, invoice: InvoiceId, amount: &str) {
        let (money, who) = (self.money(amount), self.read(|c| Ok(invoices::get(c, invoice)?.1.id)));
        self.act(|tx, doing| record_payment(tx, doing, who, &money, &[(invoice, money.amount)], false, false));
    }
    /// A hog of two halves: Ines and Tomas each paid a deposit, and it hung 82.50 and 80.00 lb today.
    pub(crate) fn hung_hog(&self) -> HungHog {
        let offering = self.hogs();
        let plant = self.plant();
        self.charge(plant, "Kill fee", Per::Head, "95.00", BilledBy::Processor);
        self.charge(plant, "Cut and wrap", Per::UnitHanging, "0.85", BilledBy::Processor);
        self.charge(plant, "Smoking", Per::Head, "45.01", BilledBy::Farm);
        let date = self.date(plant, "2027-10-14");
        let animal = self.head(Class::Barrow, "41", date);
        let orders = [("Ines Halvard", Side::Left), ("Tomas Wren", Side::Right)].map(|(name, side)| {
            let order = self.order(self.customer(name), offering, Size::Half);
            self.deposit(order, "150.00");
            self.place(order, animal, side);
            order
        });
        self.weigh(date, animal, "82.5", "80");
        HungHog { offering, plant, date, animal, orders }
    }
}

/// The things of [`TestBook::hung_hog`].
pub(crate) struct HungHog {
    pub(crate) offering: OfferingId,
    pub(crate) plant: ProcessorId,
    pub(crate) date: DateId,
    pub(crate) animal: AnimalId,
    pub(crate) orders: [ReservationId; 2],
}
