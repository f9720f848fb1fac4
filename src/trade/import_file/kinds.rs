//! What a line of each kind of list says.

use super::cells::Cells;
use super::said::{Claim, DepositIn, Head, MoneyLine, Person, PriceLine, Said, Who};
use super::{Field, Kind, words};
use crate::trade::money::Money;
use crate::trade::share::Size;
use crate::trade::sheet_file::shortened;
use crate::trade::vocabulary::{PayMethod, PriceBasis};

const SHARES: &str = "whole, half or quarter";
const SPECIES: &str = "beef, hog, lamb or goat";
const METHODS: &str = "cash, check, card, transfer or other";
const QUARTERS: &str = "split, or fore and hind";
const YES: &str = "yes or no";

/// Reads a line; none where something needed is missing, which `cells` knows then.
pub(super) fn read(kind: Kind, cells: &mut Cells<'_>) -> Option<Said> {
    match kind {
        Kind::Customers => Some(Said::Person(person(cells))),
        Kind::Offerings => price(cells).map(Said::Price),
        Kind::Animals => head(cells).map(Said::Head),
        Kind::Reservations => claim(cells).map(Said::Claim),
        Kind::Payments => money(cells).map(Said::Money),
    }
}

/// First and last name together.
fn name(cells: &mut Cells<'_>) -> String {
    let (first, last) = (cells.text(Field::FirstName, 120), cells.text(Field::Name, 120));
    let name = format!("{first} {last}").trim().to_string();
    let fit = first.chars().count() <= 120 && last.chars().count() <= 120;
    if fit && name.chars().count() > 120 {
        cells.wrong(Field::Name, "The name has more than 120 characters. Shorten it in the file.");
    }
    name
}

fn person(cells: &mut Cells<'_>) -> Person {
    let name = name(cells);
    if name.is_empty() {
        cells.wrong(Field::Name, "The name is missing. Write it, or take the line out.");
    }
    let street = cells.lines(Field::Address, 400);
    let second = cells.lines(Field::Address2, 200);
    let (city, state, zip) = (cells.text(Field::City, 100), cells.text(Field::State, 60), cells.text(Field::Zip, 20));
    let region = format!("{state} {zip}").trim().to_string();
    let place: Vec<String> = [city, region].into_iter().filter(|p| !p.is_empty()).collect();
    let lines: Vec<String> = [street, second, place.join(", ")].into_iter().filter(|l| !l.is_empty()).collect();
    let address = lines.join("\n");
    if address.chars().count() > 400 {
        cells.wrong(Field::Address, "The address has more than 400 characters. Shorten it in the file.");
    }
    Person {
        name,
        mail: cells.mail(),
        phone: cells.phone(),
        address,
        notes: cells.lines(Field::Notes, 2000),
        no_offers: cells.word(Field::NoOffers, words::yes, YES).unwrap_or(false),
    }
}

fn who(cells: &mut Cells<'_>) -> Who {
    let who = Who { name: name(cells), mail: cells.mail(), phone: cells.phone() };
    if who.name.is_empty() && who.mail.is_empty() {
        cells.wrong(Field::Name, "No customer stands here. Write the name or the mail address, or take the line out.");
    }
    who
}

fn price(cells: &mut Cells<'_>) -> Option<PriceLine> {
    let species = cells.word(Field::Species, words::species, SPECIES);
    if species.is_none() && cells.raw(Field::Species).is_empty() {
        cells.wrong(Field::Species, format!("The species is missing. Write {SPECIES}."));
    }
    let season = cells.needed(Field::Season, 60);
    let shares = cells.word(Field::Share, words::shares, SHARES).unwrap_or_default();
    let typed = cells.raw(Field::Price);
    let basis = cells.word(Field::Basis, words::basis, "hanging weight, live weight or fixed price");
    let basis = basis.unwrap_or(PriceBasis::Hanging);
    let (rate, flat) = match basis {
        PriceBasis::Flat => (None, cells.amount(Field::Price)),
        _ => (cells.rate(Field::Price), None),
    };
    match (shares.is_empty(), typed.is_empty()) {
        (true, false) if cells.raw(Field::Share).is_empty() => {
            cells.wrong(Field::Share, format!("A price without its share. Write {SHARES}."))
        }
        (false, true) => cells.wrong(Field::Price, "The price is missing. Write it like 4.25."),
        _ => {}
    }
    let head_count = cells.whole(Field::HeadCount, 10_000);
    let sells =
        cells.word(Field::Sells, words::shares, "whole, half, quarter, with commas between").unwrap_or_default();
    let quarters = cells.word(Field::Quarters, words::quarters, QUARTERS);
    let (low, high) = (cells.weight(Field::Low), cells.weight(Field::High));
    let notes = cells.lines(Field::Notes, 2000);
    let deposit = cells.amount(Field::DepositAsked).unwrap_or(Money::ZERO);
    let from = cells.day(Field::From);
    Some(PriceLine {
        species: species?,
        season,
        head_count,
        sells,
        quarters,
        low,
        high,
        notes,
        shares,
        basis,
        rate,
        flat,
        deposit,
        from,
    })
}

fn head(cells: &mut Cells<'_>) -> Option<Head> {
    let tag = cells.needed(Field::Tag, 30);
    let class = cells.word(Field::Class, words::class, "a class such as steer, heifer, barrow, gilt, lamb or kid");
    if class.is_none() && cells.raw(Field::Class).is_empty() {
        cells.wrong(Field::Class, "The class is missing. Write steer, heifer, barrow, gilt, lamb, kid or the like.");
    }
    let species = cells.word(Field::Species, words::species, SPECIES);
    let typed = cells.word(Field::Sex, words::sex, "female, male or castrated");
    let sex = typed.or_else(|| class.and_then(|c| c.sex()));
    if let Some(class) = class {
        if let Some(other) = species.filter(|s| *s != class.species()) {
            let says = format!("A {} is not {}. Correct the class or the species.", class.label(), other.label());
            cells.wrong(Field::Class, says);
        }
        if sex.is_none() && cells.raw(Field::Sex).is_empty() {
            let says = format!("A {} can be of any sex. Write female, male or castrated.", class.label());
            cells.wrong(Field::Sex, says);
        }
    }
    let born = cells.day_or_month(Field::Born);
    let (breed, official_id) = (cells.text(Field::Breed, 80), cells.text(Field::OfficialId, 40));
    let notes = cells.lines(Field::Notes, 2000);
    // A day says it as well as "yes" does.
    let gone = cells.raw(Field::Gone);
    let gone = !gone.is_empty() && words::yes(gone).unwrap_or(true);
    Some(Head { tag, class: class?, sex: sex?, born, breed, official_id, notes, gone })
}

/// How something was paid, and the reference, which may stand in the same cell.
fn paid(cells: &mut Cells<'_>) -> (PayMethod, String) {
    let reference = cells.text(Field::Reference, 80);
    let (method, number) =
        cells.word(Field::Method, words::method, METHODS).unwrap_or((PayMethod::Other, String::new()));
    (method, if reference.is_empty() { number } else { reference })
}

fn claim(cells: &mut Cells<'_>) -> Option<Claim> {
    let who = who(cells);
    let offering = cells.text(Field::Offering, 120);
    let species = cells.word(Field::Species, words::species, SPECIES);
    let season = cells.text(Field::Season, 60);
    let quarters = cells.word(Field::Quarters, words::quarters, QUARTERS);
    let share = cells.word(Field::Share, words::share, SHARES);
    if share.is_none() && cells.raw(Field::Share).is_empty() {
        cells.wrong(Field::Share, format!("The share is missing. Write {SHARES}."));
    }
    let amount = cells.amount(Field::Deposit).filter(|m| m.is_positive());
    let (method, reference) = paid(cells);
    let on = cells.day(Field::DepositOn);
    let deposit = amount.map(|amount| DepositIn { amount, on, method, reference });
    let (taken_on, price) = (cells.day(Field::TakenOn), cells.rate(Field::Price));
    let wishes = cells.lines(Field::Wishes, 1000);
    // A day says it as well as "yes" does.
    let says = |cell: &str| !cell.is_empty() && words::yes(cell).unwrap_or(true);
    let (size, part, other): (Size, _, _) = share?;
    if let (Some(one), Some(other)) = (species, other)
        && one != other
    {
        let says = format!("“{}” is not {}. Correct one of them.", shortened(cells.raw(Field::Share)), one.label());
        cells.wrong(Field::Share, says);
    }
    Some(Claim {
        who,
        offering,
        species: species.or(other),
        season,
        quarters,
        size,
        part,
        taken_on,
        price,
        waits: says(cells.raw(Field::Waiting)),
        cancelled: says(cells.raw(Field::Cancelled)),
        wishes,
        deposit,
    })
}

fn money(cells: &mut Cells<'_>) -> Option<MoneyLine> {
    let who = who(cells);
    let amount = cells.amount(Field::Amount);
    if cells.raw(Field::Amount).is_empty() {
        cells.wrong(Field::Amount, "The amount is missing. Write it like 400.00, or take the line out.");
    } else if amount.is_some_and(Money::is_zero) {
        cells.wrong(Field::Amount, "The amount is zero. Write what came in, or take the line out.");
    }
    let on = cells.day(Field::PaidOn);
    if on.is_none() && cells.raw(Field::PaidOn).is_empty() {
        cells.wrong(Field::PaidOn, "The day is missing. Write it like 2027-10-14.");
    }
    let (method, reference) = paid(cells);
    let (order, invoice) = (cells.text(Field::Order, 30), cells.text(Field::Invoice, 30));
    let note = cells.text(Field::Notes, 200);
    let way = cells.raw(Field::Way).to_lowercase();
    let given_back = way.contains("back") || way.contains("refund");
    Some(MoneyLine { who, amount: amount?, on: on?, method, reference, note, order, invoice, given_back })
}
