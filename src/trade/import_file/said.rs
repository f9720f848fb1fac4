//! What the lines of a list say.

use crate::trade::animal::Class;
use crate::trade::money::{Money, Rate};
use crate::trade::share::{Part, Size, Species};
use crate::trade::sheet_file::Fault;
use crate::trade::typed_day::DayOrMonth;
use crate::trade::vocabulary::{PayMethod, PriceBasis, QuarterPart, Sex};
use crate::trade::weight::Weight;
use chrono::NaiveDate;

/// A customer.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Person {
    /// Name, not empty.
    pub name: String,
    /// Mail address, or empty.
    pub mail: String,
    /// Phone, or empty.
    pub phone: String,
    /// Address on several lines, or empty.
    pub address: String,
    /// Notes, or empty.
    pub notes: String,
    /// Wants no offers.
    pub no_offers: bool,
}

/// The customer a line is about, by the words of the list; name or mail address is there.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Who {
    /// Name, or empty.
    pub name: String,
    /// Mail address, or empty.
    pub mail: String,
    /// Phone, or empty.
    pub phone: String,
}

/// A price of an offering.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PriceLine {
    /// Species.
    pub species: Species,
    /// Season.
    pub season: String,
    /// Head for sale, where the line says it.
    pub head_count: Option<i64>,
    /// The shares the offering sells, where the line says it.
    pub sells: Vec<Size>,
    /// How quarters are divided, where the line says it.
    pub quarters: Option<QuarterPart>,
    /// Expected hanging weight of a head, low.
    pub low: Option<Weight>,
    /// High.
    pub high: Option<Weight>,
    /// Notes for customers.
    pub notes: String,
    /// The shares this price is for; none on a line that only says what the offering is.
    pub shares: Vec<Size>,
    /// What it is reckoned on.
    pub basis: PriceBasis,
    /// Price per unit, unless it is fixed.
    pub rate: Option<Rate>,
    /// The fixed price.
    pub flat: Option<Money>,
    /// Deposit asked.
    pub deposit: Money,
    /// The day from which it holds, where the line says it.
    pub from: Option<NaiveDate>,
}

/// When an animal was born.
pub type Born = Option<DayOrMonth>;

/// One head.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// Tag.
    pub tag: String,
    /// Class, which says the species too.
    pub class: Class,
    /// Sex.
    pub sex: Sex,
    /// Born.
    pub born: Born,
    /// Breed, or empty.
    pub breed: String,
    /// Official number as it stands there, or empty.
    pub official_id: String,
    /// Notes.
    pub notes: String,
    /// Whether it is lost or weighed in, so that it is not taken over.
    pub gone: bool,
}

/// A deposit that stands in a reservation's line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DepositIn {
    /// What came in; more than nothing.
    pub amount: Money,
    /// The day, where the line says it.
    pub on: Option<NaiveDate>,
    /// How.
    pub method: PayMethod,
    /// Check number and the like.
    pub reference: String,
}

/// A reservation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Claim {
    /// Whose.
    pub who: Who,
    /// The offering's words where they stand in one column, or empty.
    pub offering: String,
    /// Species, where the line says it.
    pub species: Option<Species>,
    /// Season, or empty.
    pub season: String,
    /// How the offering divides quarters, where the line says it.
    pub quarters: Option<QuarterPart>,
    /// How much.
    pub size: Size,
    /// Which quarter.
    pub part: Option<Part>,
    /// The day it was taken.
    pub taken_on: Option<NaiveDate>,
    /// The price that was agreed.
    pub price: Option<Rate>,
    /// On the waiting list.
    pub waits: bool,
    /// Cancelled, so that it is not taken over.
    pub cancelled: bool,
    /// Wishes in words.
    pub wishes: String,
    /// The deposit that came in.
    pub deposit: Option<DepositIn>,
}

/// Money that came in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MoneyLine {
    /// From whom.
    pub who: Who,
    /// How much; more than nothing.
    pub amount: Money,
    /// The day.
    pub on: NaiveDate,
    /// How.
    pub method: PayMethod,
    /// Check number and the like.
    pub reference: String,
    /// Note.
    pub note: String,
    /// The order it is a deposit on, or empty.
    pub order: String,
    /// The invoice it pays, or empty.
    pub invoice: String,
    /// Given back, so that it is not taken over.
    pub given_back: bool,
}

/// A line that can be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Said {
    /// A customer.
    Person(Person),
    /// A price.
    Price(PriceLine),
    /// A head.
    Head(Head),
    /// A reservation.
    Claim(Claim),
    /// A payment.
    Money(MoneyLine),
}

/// All lines of a list.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Lines {
    /// Those that can be used, with their place in the file.
    pub said: Vec<(usize, Said)>,
    /// What is wrong with the others; a line may have several.
    pub faults: Vec<Fault>,
}
