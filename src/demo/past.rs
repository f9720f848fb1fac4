//! The demo's first date: weighed, invoiced, mostly paid. One is overdue, one paid too much, one invoice was made again.

use super::cast::People;
use super::farm::Farm;
use super::scale_file;
use super::teller::{LEFT, RIGHT, Teller, lb, usd};
use crate::actions::balance_letter::{DEFAULTS, save_rule, stop_letters, write_letter};
use crate::actions::book_date::{DateFacts, book_date};
use crate::actions::bounce_payment::{Bounced, bounce_payment};
use crate::actions::care_for_animal::{Weighed, record_live_weight};
use crate::actions::change_order::{add_line, set_products};
use crate::actions::draft_invoice::drafts;
use crate::actions::give_back::give_back;
use crate::actions::issue_invoices::issue_invoices;
use crate::actions::read_weight_file::How;
use crate::actions::record_deposit::MoneyIn;
use crate::actions::void_invoice::void_invoice;
use crate::actions::write_off::write_off;
use crate::actions::{Doing, Failure};
use crate::book::ids::{InvoiceId, ReservationId};
use crate::book::payments::{self, For};
use crate::book::rows::balances::BalanceRule;
use crate::book::{farm, reservations};
use crate::trade::animal::Class;
use crate::trade::money::Money;
use crate::trade::overdue::Tone;
use crate::trade::share::{Size, Species};
use crate::trade::vocabulary::{CarcassBasis, PayMethod};
use chrono::Weekday;

/// Orders with what they come to now.
pub(super) fn ready(
    t: &mut Teller,
    doing: &Doing,
    orders: &[ReservationId],
) -> Result<Vec<(ReservationId, Money)>, Failure> {
    let farm = farm::get(t.tx.conn())?;
    let all = drafts(t.tx.conn(), &farm, doing.now, orders)?;
    all.iter()
        .map(|d| {
            d.ready().map(|m| (d.order.id, m)).ok_or_else(|| Failure::refuse("", d.not_yet.clone().unwrap_or_default()))
        })
        .collect()
}

/// Pounds of smoked meat and sausage of a hog's share.
pub(super) fn made(t: &mut Teller, days: i64, order: ReservationId, smoked: i64, sausage: i64) -> Result<(), Failure> {
    let doing = t.doing(days, 18);
    let possible = reservations::products(t.tx.conn(), order)?;
    let pounds: Vec<_> = possible
        .iter()
        .map(|(c, _)| (c.id, Some(lb(if c.name.starts_with("Cure") { smoked } else { sausage }))))
        .collect();
    set_products(t.tx, &doing, order, &pounds)
}

pub(super) fn tell(t: &mut Teller, farm: &Farm, people: &People) -> Result<(), Failure> {
    let kill = t.weekday_before(-36, Weekday::Thu);
    let booked = t.doing(-150, 13);
    let facts = DateFacts {
        processor: farm.pell_road,
        kill_on: t.day(kill),
        deliver_on: Some(t.day(kill - 1)),
        deliver_time: "17:00".into(),
        sheets_due: Some(t.day(kill - 7)),
        pickup_from: Some(t.day(kill + 14)),
        pickup_to: Some(t.day(kill + 18)),
        notes: String::new(),
        slots: vec![(Species::Beef, 1), (Species::Hog, 2)],
    };
    let date = book_date(t.tx, &booked, &facts)?;
    let steer = t.head(-140, Class::Steer, "114", "Angus cross", 720, Some(date))?;
    let barrow = t.head(-120, Class::Barrow, "31", "Berkshire cross", 240, Some(date))?;
    let gilt = t.head(-120, Class::Gilt, "32", "Berkshire cross", 238, Some(date))?;
    for (animal, pounds) in [(steer, 11_850), (barrow, 2_640), (gilt, 2_510)] {
        let doing = t.doing(kill - 1, 6);
        let day = t.day(kill - 1);
        record_live_weight(t.tx, &doing, animal, day, Weighed::Scale(lb(pounds)))?;
    }

    // Who reserved, what was paid down, and where the share hung.
    let quarters = [
        ("Hanne Brandvold", LEFT, "2071"),
        ("Owen Sandoz", LEFT, ""),
        ("Marta Quillan", RIGHT, "388"),
        ("Jonas Pryce", RIGHT, "1119"),
    ];
    let halves = [
        ("Ines Halvard", barrow, LEFT, "1204"),
        ("Tobias Wren", barrow, RIGHT, ""),
        ("Harlow Mills", gilt, LEFT, "5530"),
        ("Ruth Kessel", gilt, RIGHT, "902"),
    ];
    let mut orders = Vec::new();
    for (n, (name, spot, check)) in (0_i64..).zip(quarters) {
        let order = t.order(-180 + n * 3, people.named(name)?, farm.beef, Size::Quarter, "")?;
        t.deposit(-176 + n * 3, order, usd(150), check)?;
        t.place(-100, order, steer, spot)?;
        orders.push(order);
    }
    for (n, (name, animal, spot, check)) in (0_i64..).zip(halves) {
        let wishes = if name == "Ines Halvard" { "Thick bacon. No liver." } else { "" };
        let order = t.order(-165 + n * 4, people.named(name)?, farm.hogs, Size::Half, wishes)?;
        // Tobias paid more than was asked; it comes off his invoice.
        t.deposit(-160 + n * 4, order, usd(if name == "Tobias Wren" { 150 } else { 100 }), check)?;
        t.place(-100, order, animal, spot)?;
        made(t, kill - 8, order, 240 + n * 15, 100 + n * 20)?;
        orders.push(order);
    }

    if let Some(ines) = orders.get(4) {
        t.sheet(
            kill - 12,
            *ines,
            &[("ham_body", "cured_bone_in"), ("picnic_body", "grind")],
            "Thick bacon, please, and mark the packs.",
        )?;
    }
    t.packet(kill - 6, date)?;
    let weighed = t.doing(kill + 1, 15);
    let hung = [
        (steer, "4417", "189,5;160,2;191,1;158,8;;"),
        (barrow, "4418", ";;;;96,5;94,8"),
        (gilt, "4419", ";;;;90,8;90,2"),
    ];
    // The plant sent a file.
    let text = scale_file::text(t, &hung)?;
    let how = How { basis: CarcassBasis::Hot, weighed_on: t.day(kill) };
    scale_file::take(t, &weighed, date, &text, how)?;

    let invoiced = t.doing(kill + 4, 10);
    let bills = ready(t, &invoiced, &orders)?;
    let mut issued = issue_invoices(t.tx, &invoiced, &bills, true)?;
    let mut owed: Vec<Money> = bills.iter().map(|b| b.1).collect();

    // Jonas was promised five dollars off for a broken box; his invoice is taken back and made again.
    if let (Some(last), Some(order), Some(due)) = (issued.get_mut(3), orders.get(3), owed.get_mut(3)) {
        let doing = t.doing(kill + 6, 11);
        void_invoice(t.tx, &doing, *last, "A discount for a broken box was left out.", true)?;
        add_line(t.tx, &doing, *order, "Discount, broken box", usd(-5), Default::default())?;
        let again = ready(t, &doing, &[*order])?;
        if let (Some(id), Some(bill)) = (issue_invoices(t.tx, &doing, &again, true)?.first(), again.first()) {
            (*last, *due) = (*id, bill.1);
        }
    }
    t.hand_over(kill + 7)?;
    pay(t, kill, people, &issued, &owed)?;
    super::pickup::tell(t, farm, date, &orders)?;
    super::costs::tell(t, kill, steer, &[barrow, gilt])?;
    super::came_home::tell(t, &orders)
}

/// What came in on the eight invoices: five in full, one with too much, one in part; Ruth has not paid.
fn pay(t: &mut Teller, kill: i64, people: &People, issued: &[InvoiceId], owed: &[Money]) -> Result<(), Failure> {
    let names = [
        "Hanne Brandvold",
        "Owen Sandoz",
        "Marta Quillan",
        "Jonas Pryce",
        "Ines Halvard",
        "Tobias Wren",
        "Harlow Mills",
        "Ruth Kessel",
    ];
    let checks = ["2098", "", "401", "1131", "1240", "", "5561", ""];
    for (n, ((name, check), (invoice, due))) in (0_i64..).zip(names.iter().zip(checks).zip(issued.iter().zip(owed))) {
        let who = people.named(name)?;
        match *name {
            "Ruth Kessel" => {}
            "Harlow Mills" => t.pay(kill + 16, who, *invoice, usd(200), usd(200), check)?,
            // A round check; what is over stands as credit.
            "Ines Halvard" => t.pay(kill + 12, who, *invoice, usd(450), *due, check)?,
            _ => t.pay(kill + 8 + n, who, *invoice, *due, *due, check)?,
        }
    }
    afterwards(t, kill, people, issued)
}

/// The bank returned Harlow's check, Ruth was let off some cents, and Ines wanted a part of her credit back.
fn afterwards(t: &mut Teller, kill: i64, people: &People, issued: &[InvoiceId]) -> Result<(), Failure> {
    if let (Some(harlow), Some(ruth)) = (issued.get(6), issued.get(7)) {
        let doing = t.doing(kill + 20, 9);
        let held = payments::held(t.tx.conn(), For::Invoice(*harlow))?;
        if let Some(check) = held.last().map(|h| h.payment.id) {
            let charge = Some(usd(25));
            let returned = Bounced { day: doing.now.today, reason: "Not enough funds".into(), charge };
            bounce_payment(t.tx, &doing, check, &returned)?;
        }
        let doing = t.doing(kill + 21, 9);
        write_off(t.tx, &doing, *ruth, Money::from_cents(50), "She was told a rounded figure on the phone.")?;
        let later = t.doing(kill + 22, 9);
        write_letter(t.tx, &later, *ruth, Tone::Friendly, true)?;
        stop_letters(t.tx, &doing, people.named("Harlow Mills")?, true, "Pays in parts by Christmas, as agreed.")?;
    }
    let rule = BalanceRule { friendly_after: Some(10), firm_after: Some(30), ..DEFAULTS };
    let doing = t.doing(kill + 22, 10);
    save_rule(t.tx, &doing, &rule, 0)?;
    let doing = t.doing(kill + 24, 10);
    let back = MoneyIn {
        method: PayMethod::Check,
        amount: usd(20),
        received_on: doing.now.today,
        reference: "318".into(),
        note: String::new(),
    };
    give_back(t.tx, &doing, people.named("Ines Halvard")?, &back, true)?;
    t.hand_over(kill + 24)
}
