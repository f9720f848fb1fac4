//! Tells the demo's season: each line of it is one of the real actions, on a day counted from today.

use crate::actions::accept_plan::{Accept, Take, accept_plan};
use crate::actions::ask_place::{ask_place, lock_place};
use crate::actions::ask_to_cancel::ask_to_cancel;
use crate::actions::change_animal::{AnimalFacts, add_animal};
use crate::actions::cut_sheet::{SheetIn, save_sheet};
use crate::actions::handle_message::mark_handed_over;
use crate::actions::make_packet::make_packet;
use crate::actions::place_share::{Move, Spot, Target, place_shares};
use crate::actions::plant_entry::{Entry, enter, receive_packet};
use crate::actions::plant_link;
use crate::actions::private_link::{new_token, open_link, show_link};
use crate::actions::propose_plan::{How, propose};
use crate::actions::record_deposit::{MoneyIn, record_deposit};
use crate::actions::record_payment::record_payment;
use crate::actions::record_weights::{Fate, WeighRow, confirming};
use crate::actions::send_animal::send_animal;
use crate::actions::send_packet::mail_packet;
use crate::actions::sheet_draft::{Start, begin_draft, draft_of, save_draft};
use crate::actions::sheet_request::ask_change;
use crate::actions::take_reservation::{TakeReservation, Who, take_reservation};
use crate::actions::{Doing, Failure};
use crate::book::at::{At, Now};
use crate::book::ids::{AnimalId, CustomerId, DateId, InvoiceId, OfferingId, ReservationId};
use crate::book::outbox::{self, Shown};
use crate::book::planning::situation;
use crate::book::plant_entries::Subject;
use crate::book::store::Tx;
use crate::book::wishes::Wishes;
use crate::book::{animals, carcasses, dates, sheets};
use crate::trade::animal::Class;
use crate::trade::carcass::Hung;
use crate::trade::cuts::questions::{Answers, Kind};
use crate::trade::cuts::sheet::Sheet;
use crate::trade::money::Money;
use crate::trade::plant_entry::{Carcass, Entered, Fate as AtTheScale};
use crate::trade::share::{Part, Side, Size, Species};
use crate::trade::sheet_json::Kept;
use crate::trade::vocabulary::{BirthPrecision, CarcassBasis, PayMethod, Sex, SheetOrigin};
use crate::trade::weight::{Unit, Weight};
use chrono::{Datelike, NaiveDate, TimeDelta, TimeZone, Weekday};
use chrono_tz::America::Chicago;

/// Whole dollars.
pub(super) const fn usd(dollars: i64) -> Money {
    Money::from_cents(dollars * 100)
}

/// Tenths of a pound.
pub(super) const fn lb(tenths: i64) -> Weight {
    Weight::from_hundredths(tenths * 10)
}

/// Where a share goes.
pub(super) const LEFT: Spot = Spot::Side(Side::Left);
/// The other side.
pub(super) const RIGHT: Spot = Spot::Side(Side::Right);

/// The season's teller.
pub(super) struct Teller<'t, 'c> {
    pub(super) tx: &'t mut Tx<'c>,
    at: At,
    pub(super) today: NaiveDate,
}

impl<'t, 'c> Teller<'t, 'c> {
    pub(super) fn new(tx: &'t mut Tx<'c>, at: At) -> Self {
        Self { tx, at, today: at.day(Chicago) }
    }
    /// The day so many days from today; before today when negative.
    pub(super) fn day(&self, days: i64) -> NaiveDate {
        self.today + TimeDelta::days(days)
    }
    /// The last such weekday on or before that day, counted from today.
    pub(super) fn weekday_before(&self, days: i64, wanted: Weekday) -> i64 {
        let back = self.day(days).weekday().days_since(wanted);
        days - i64::from(back)
    }
    /// Ada at work on that day; never later than now.
    pub(super) fn doing(&self, days: i64, hour: u32) -> Doing {
        let naive = self.day(days).and_hms_opt(hour, 12, 0).unwrap_or_default();
        let at = Chicago.from_local_datetime(&naive).earliest().map_or(self.at, |t| At::from_utc(t.to_utc()));
        let at = if at > self.at { self.at } else { at };
        Doing { now: Now { at, today: at.day(Chicago), zone: Chicago }, account: None, actor: "Ada Moen".into() }
    }
    /// A reservation taken that many days from today.
    pub(super) fn order(
        &mut self,
        days: i64,
        who: CustomerId,
        offering: OfferingId,
        size: Size,
        wishes: &str,
    ) -> Result<ReservationId, Failure> {
        self.reservation(days, who, offering, (size, None), wishes)
    }
    /// A forequarter or a hindquarter.
    pub(super) fn own_quarter(
        &mut self,
        days: i64,
        who: CustomerId,
        offering: OfferingId,
        part: Part,
    ) -> Result<ReservationId, Failure> {
        self.reservation(days, who, offering, (Size::Quarter, Some(part)), "")
    }
    fn reservation(
        &mut self,
        days: i64,
        who: CustomerId,
        offering: OfferingId,
        (size, part): (Size, Option<Part>),
        wishes: &str,
    ) -> Result<ReservationId, Failure> {
        let doing = self.doing(days, 9);
        let wishes = wishes.to_string();
        let who = Who::Known(who);
        let input = TakeReservation { who, offering, size, part, wishes, preferred_date: None };
        take_reservation(self.tx, &doing, &input)
    }
    /// A deposit by check, or by bank transfer where there is no number; its receipt is sent.
    pub(super) fn deposit(
        &mut self,
        days: i64,
        order: ReservationId,
        amount: Money,
        check: &str,
    ) -> Result<(), Failure> {
        let doing = self.doing(days, 16);
        let money = received(&doing, amount, check);
        record_deposit(self.tx, &doing, order, &money, true)?;
        self.hand_over_if_past(days)
    }
    /// A payment on one invoice.
    pub(super) fn pay(
        &mut self,
        days: i64,
        who: CustomerId,
        invoice: InvoiceId,
        amount: Money,
        put_to_it: Money,
        check: &str,
    ) -> Result<(), Failure> {
        let doing = self.doing(days, 17);
        let money = received(&doing, amount, check);
        record_payment(self.tx, &doing, who, &money, &[(invoice, put_to_it)], true, true)?;
        self.hand_over_if_past(days)
    }
    /// A head, born that many days ago, and put on a date if there is one.
    pub(super) fn head(
        &mut self,
        days: i64,
        class: Class,
        tag: &str,
        breed: &str,
        age: i64,
        date: Option<DateId>,
    ) -> Result<AnimalId, Failure> {
        let doing = self.doing(days, 7);
        let is_beef = class.species() == Species::Beef;
        let facts = AnimalFacts {
            tag: tag.into(),
            species: class.species(),
            class,
            sex: class.sex().unwrap_or(Sex::Castrated),
            birth_on: Some(self.day(-age)),
            birth_precision: BirthPrecision::Exact,
            breed: breed.into(),
            official_id: if is_beef { format!("840999000000{tag}") } else { String::new() },
            notes: String::new(),
            same_tag_ok: false,
        };
        let id = add_animal(self.tx, &doing, &facts)?;
        if date.is_some() {
            let version = animals::get(self.tx.conn(), id)?.version;
            send_animal(self.tx, &doing, id, version, date, false)?;
        }
        Ok(id)
    }
    /// Gives a share its place.
    pub(super) fn place(
        &mut self,
        days: i64,
        reservation: ReservationId,
        animal: AnimalId,
        spot: Spot,
    ) -> Result<(), Failure> {
        let doing = self.doing(days, 19);
        let to = Some(Target { animal, spot });
        place_shares(self.tx, &doing, &[Move { reservation, to, field: String::new() }])?;
        Ok(())
    }
    /// Locks a share where it is.
    pub(super) fn lock(&mut self, days: i64, order: ReservationId) -> Result<(), Failure> {
        let doing = self.doing(days, 19);
        lock_place(self.tx, &doing, order, true)
    }
    /// The plan of a species as it stood on that day, taken whole.
    pub(super) fn plan(&mut self, days: i64, species: Species) -> Result<(), Failure> {
        let doing = self.doing(days, 19);
        let stands = situation(self.tx.conn(), doing.now.today, Some(species))?;
        let how = How { species: Some(species), keep: true, open_from: 1, pins: Vec::new() };
        let found = propose(stands, &how, Unit::Lb)?;
        let changed = found.lines.iter().filter(|l| l.changes());
        let lines = changed.map(|l| Take { reservation: l.reservation, from: l.from, to: l.to, by_hand: false });
        let accept = Accept { basis: found.basis.clone(), species: Some(species), lines: lines.collect() };
        accept_plan(self.tx, &doing, &accept)?;
        Ok(())
    }
    /// What an order asks of the plan.
    pub(super) fn ask(&mut self, days: i64, order: ReservationId, asked: &Wishes) -> Result<(), Failure> {
        let doing = self.doing(days, 10);
        ask_place(self.tx, &doing, order, asked)
    }
    /// The row of a weigh-in for a head that hung in two sides. Hogs hang with the skin on.
    pub(super) fn hung(&mut self, animal: AnimalId, hung: Hung, number: &str) -> Result<WeighRow, Failure> {
        Ok(WeighRow {
            animal,
            version: carcasses::weigh_ins(self.tx.conn(), &[animal])?.get(&animal).map_or(0, |w| w.version),
            fate: Fate::Hung { hung, condemned_parts: None },
            carcass_number: number.into(),
            head_on: false,
            skin_on: animals::get(self.tx.conn(), animal)?.species == Species::Hog,
            confirmed: confirming(hung),
        })
    }
    /// A cut sheet: choices by block, and a wish in words.
    pub(super) fn sheet(
        &mut self,
        days: i64,
        order: ReservationId,
        blocks: &[(&str, &str)],
        special: &str,
    ) -> Result<(), Failure> {
        let blocks = blocks.iter().map(|(block, choice)| ((*block).to_string(), (*choice).to_string())).collect();
        let kept = Kept { sheet: Sheet { blocks, ..Sheet::default() }, ..Kept::default() };
        self.entered(days, order, &SheetIn { kept, special: special.into() })
    }
    /// A cut sheet with everything that can stand in one.
    pub(super) fn whole_sheet(&mut self, days: i64, order: ReservationId, sheet: Sheet) -> Result<(), Failure> {
        self.entered(days, order, &SheetIn { kept: Kept { sheet, ..Kept::default() }, special: String::new() })
    }
    fn entered(&mut self, days: i64, order: ReservationId, input: &SheetIn) -> Result<(), Failure> {
        let doing = self.doing(days, 20);
        save_sheet(self.tx, &doing, order, 0, input, SheetOrigin::Entered)?;
        Ok(())
    }
    /// A cut sheet that its customer began with three answers and left after the parts of these blocks.
    pub(super) fn half_a_sheet(
        &mut self,
        days: i64,
        order: ReservationId,
        blocks: &[(&str, &str)],
    ) -> Result<(), Failure> {
        let doing = Doing { actor: "the customer by private link".into(), ..self.doing(days, 20) };
        let answers = Answers { kind: Kind::Balanced, bone_in: true, eaters: 4 };
        begin_draft(self.tx, &doing, order, 0, &Start::Questions(answers), &|_, _| true)?;
        for (block, choice) in blocks {
            let (draft, mut input) = draft_of(self.tx.conn(), order)?.ok_or(Failure::NotFound)?;
            input.kept.sheet.blocks.insert((*block).into(), (*choice).into());
            save_draft(self.tx, &doing, order, draft.version, block, &input)?;
        }
        Ok(())
    }
    /// The packet of a date, mailed to the plant; whoever sent no sheet gets the standard cut.
    pub(super) fn packet(&mut self, days: i64, date: DateId) -> Result<(), Failure> {
        let doing = self.doing(days, 21);
        let packet = make_packet(self.tx, &doing, date, true)?;
        mail_packet(self.tx, &doing, packet)?;
        self.hand_over(days)
    }
    /// A late wish for a cut sheet, which waits for the farmer.
    pub(super) fn wish(&mut self, days: i64, order: ReservationId, blocks: &[(&str, &str)]) -> Result<(), Failure> {
        let doing = Doing { actor: "Gambrel".into(), ..self.doing(days, 19) };
        let blocks = blocks.iter().map(|(block, choice)| ((*block).to_string(), (*choice).to_string())).collect();
        let kept = Kept { sheet: Sheet { blocks, ..Sheet::default() }, ..Kept::default() };
        ask_change(self.tx, &doing, order, &SheetIn { kept, special: String::new() })?;
        Ok(())
    }
    /// A private link shown to Ada that day, to be texted; with `opened` the customer opened it the day after.
    pub(super) fn link(&mut self, days: i64, order: ReservationId, opened: bool) -> Result<(), Failure> {
        let doing = self.doing(days, 18);
        let (token, cookie, form_secret) = (new_token()?, new_token()?, new_token()?);
        show_link(self.tx, &doing, order, &token, false)?;
        if opened {
            open_link(self.tx, self.doing(days + 1, 19).now.at, &token, &cookie, &form_secret)?;
        }
        Ok(())
    }
    /// The plant opens its link, says that it has the packet, and enters weights and a note; all of it waits.
    pub(super) fn plant_enters(
        &mut self,
        days: i64,
        date: DateId,
        name: &str,
        weights: &[(AnimalId, Hung, &str, Option<&str>)],
    ) -> Result<(), Failure> {
        let (token, cookie, form_secret) = (new_token()?, new_token()?, new_token()?);
        let ada = self.doing(days, 7);
        plant_link::show_link(self.tx, &ada, date, &token, false)?;
        let doing = Doing { actor: format!("{name} at the plant"), ..self.doing(days, 16) };
        plant_link::open_link(self.tx, doing.now.at, &token, name, &cookie, &form_secret)?;
        if let Some(packet) = sheets::packets_of(self.tx.conn(), date)?.first() {
            receive_packet(self.tx, &doing, date, packet.id, name)?;
        }
        let weighed_on = dates::get(self.tx.conn(), date)?.0.kill_on;
        for (animal, hung, number, parts) in weights {
            let skin_on = animals::get(self.tx.conn(), *animal)?.species == Species::Hog;
            let carcass = Carcass {
                weighed_on,
                basis: CarcassBasis::Hot,
                head_on: false,
                skin_on,
                number: (*number).into(),
                fate: AtTheScale::Hung { hung: *hung, condemned_parts: parts.map(Into::into) },
            };
            let entered = Entered::Carcass(carcass);
            enter(
                self.tx,
                &doing,
                date,
                &Entry { about: Subject::Animal(*animal), seen: 0, entered, by: name.into() },
            )?;
        }
        let words = "The gilt was small. Shall we cut its chops thinner?".to_string();
        let note = Entry { about: Subject::Date, seen: 0, entered: Entered::Note { words }, by: name.into() };
        enter(self.tx, &doing, date, &note)
    }
    /// A customer's wish to cancel, by private link.
    pub(super) fn wants_out(&mut self, days: i64, order: ReservationId, reason: &str) -> Result<(), Failure> {
        let doing = Doing { actor: "the customer by private link".into(), ..self.doing(days, 21) };
        ask_to_cancel(self.tx, &doing, order, reason)
    }
    /// What was written more than a few days ago is handed over; the last messages wait.
    pub(super) fn hand_over_if_past(&mut self, days: i64) -> Result<(), Failure> {
        if days < -12 { self.hand_over(days) } else { Ok(()) }
    }
    /// Marks everything in the Outbox as handed over on that day, but what is written later: the season is not told in order.
    pub(super) fn hand_over(&mut self, days: i64) -> Result<(), Failure> {
        let doing = self.doing(days, 20);
        let waiting = outbox::page(self.tx.conn(), Shown::Waiting, None, 500)?;
        for m in waiting.into_iter().filter(|m| m.queued_at <= doing.now.at) {
            mark_handed_over(self.tx, &doing, m.id, m.version)?;
        }
        Ok(())
    }
}

fn received(doing: &Doing, amount: Money, check: &str) -> MoneyIn {
    let method = if check.is_empty() { PayMethod::Transfer } else { PayMethod::Check };
    MoneyIn { method, amount, received_on: doing.now.today, reference: check.into(), note: String::new() }
}
