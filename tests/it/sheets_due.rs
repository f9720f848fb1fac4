//! Cut sheets and time: reminders once, the standard cut once when time is up, the lock, and late wishes.

use crate::support::book::DAY;
use crate::support::farm::day;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::book_date::{DateFacts, book_date};
use gambrel::actions::cut_sheet::{SheetIn, save_sheet};
use gambrel::actions::keep_time::{JOBS, run_all};
use gambrel::actions::sheet_open::{Became, May, lock_of, may_change, send_sheet};
use gambrel::actions::sheet_request::{ask_change, refuse_change, take_change};
use gambrel::actions::sheet_time::{SheetWays, set_sheet_ways};
use gambrel::book::ids::{DateId, ReservationId, SheetRequestId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::rows::outbox::Message;
use gambrel::book::store::Store;
use gambrel::book::{dates, farm, people, sheets, sheets_due, stories};
use gambrel::trade::animal::Class;
use gambrel::trade::cuts::sheet::Sheet;
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::sheet_json::Kept;
use gambrel::trade::sheets_due::Lock;
use gambrel::trade::vocabulary::{RequestDecision, SheetOrigin};

/// A hog of two halves that goes on October 28; cut sheets are due on October 21, a week from today.
pub(crate) struct Coming {
    pub(crate) date: DateId,
    pub(crate) orders: [ReservationId; 2],
}

pub(crate) fn coming(book: &TestBook) -> Coming {
    let (offering, processor) = (book.hogs(), book.plant());
    let facts = DateFacts {
        processor,
        kill_on: day("2027-10-28"),
        deliver_on: None,
        deliver_time: String::new(),
        sheets_due: Some(day("2027-10-21")),
        pickup_from: None,
        pickup_to: None,
        notes: String::new(),
        slots: vec![(Species::Hog, 4)],
    };
    let date = book.act(|tx, doing| book_date(tx, doing, &facts));
    let animal = book.head(Class::Barrow, "41", date);
    let orders = [("Ines Halvard", Side::Left), ("Tomas Wren", Side::Right)].map(|(name, side)| {
        let order = book.order(book.customer(name), offering, Size::Half);
        book.place(order, animal, side);
        order
    });
    Coming { date, orders }
}

pub(crate) fn chosen(blocks: &[(&str, &str)], special: &str) -> SheetIn {
    let blocks = blocks.iter().map(|(a, b)| ((*a).to_string(), (*b).to_string())).collect();
    SheetIn { kept: Kept { sheet: Sheet { blocks, ..Sheet::default() }, ..Kept::default() }, special: special.into() }
}

pub(crate) fn save(book: &TestBook, order: ReservationId, version: i64, input: &SheetIn) {
    book.act(|tx, doing| save_sheet(tx, doing, order, version, input, SheetOrigin::Entered));
}

/// What the jobs did in one round: reminders, standard cuts.
fn round(book: &TestBook, store: &Store) -> [usize; 2] {
    let done = run_all(store, book.clock.at(), JOBS);
    [0, 1].map(|n: usize| *done[n].1.as_ref().unwrap())
}

fn messages(book: &TestBook, order: ReservationId, purpose: &str) -> Vec<Message> {
    let all = book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 50)?));
    all.into_iter().filter(|m| m.purpose == purpose).collect()
}

fn without_mail(book: &TestBook, order: ReservationId) {
    book.act(|tx, _| {
        let who = gambrel::book::reservations::get(tx.conn(), order)?.1;
        let changed = gambrel::book::rows::people::Customer { mail: String::new(), ..who.clone() };
        assert!(people::save(tx, &changed, who.version)?);
        Ok(())
    });
}

#[test]
fn each_reminder_goes_once_to_those_whose_sheet_is_missing_and_who_have_mail() {
    on_each_engine(|book| {
        let c = coming(book);
        without_mail(book, c.orders[1]);
        let other = book.beside();
        // Seven days are left, so the reminder of the fourteenth day is the one that holds.
        assert_eq!(round(book, &book.store), [1, 0]);
        assert_eq!([round(book, &book.store), round(book, &other)], [[0, 0]; 2], "once");
        let said = messages(book, c.orders[0], "sheet_reminder");
        assert_eq!(said.len(), 1);
        for words in
            ["Thursday, October 21, 2027", "Pell Road Meats", "call 555-0118", "we enter the standard cut for you"]
        {
            assert!(said[0].body.contains(words), "“{words}” is not in: {}", said[0].body);
        }
        assert!(messages(book, c.orders[1], "sheet_reminder").is_empty(), "no mail, so the farmer phones");
        let story = book.read(|x| Ok(stories::of_reservation(x, c.orders[0])?));
        let told = story.iter().find(|s| s.line.contains("reminder of the missing cut sheet")).unwrap();
        assert_eq!((told.actor.as_str(), told.line.ends_with("due in 7 days")), ("Gambrel", true));
        // Two days later the fifth day begins: not at one in the morning, but at nine.
        book.clock.advance(2 * DAY - 8 * 3_600_000);
        assert_eq!(round(book, &book.store), [0, 0], "nobody is woken");
        book.clock.advance(8 * 3_600_000);
        assert_eq!(round(book, &book.store), [1, 0]);
        assert_eq!(messages(book, c.orders[0], "sheet_reminder").len(), 2);
        save(book, c.orders[0], 0, &chosen(&[("ham_body", "grind")], ""));
        book.clock.advance(4 * DAY);
        assert_eq!(round(book, &book.store), [0, 0], "the sheet is in");
    });
}

#[test]
fn a_date_can_be_left_out_and_a_farm_can_set_other_days() {
    on_each_engine(|book| {
        let c = coming(book);
        let ways = SheetWays { no_reminders: true, sheets_open: false, plant_reference: "A-17".into() };
        let version = book.read(|x| Ok(dates::get(x, c.date)?.0.version));
        book.act(|tx, doing| set_sheet_ways(tx, doing, c.date, version, &ways));
        let stale = book.try_act(|tx, doing| set_sheet_ways(tx, doing, c.date, version, &ways));
        assert!(matches!(stale, Err(Failure::Stale)));
        assert_eq!(round(book, &book.store), [0, 0]);
        let on = SheetWays { no_reminders: false, ..ways };
        book.act(|tx, doing| set_sheet_ways(tx, doing, c.date, version + 1, &on));
        set_farm(book, "3", true);
        assert_eq!(round(book, &book.store), [0, 0], "seven days are left");
        book.clock.advance(4 * DAY);
        assert_eq!(round(book, &book.store), [2, 0]);
    });
}

fn set_farm(book: &TestBook, reminders: &str, standard: bool) {
    book.act(|tx, _| {
        let mut f = farm::get(tx.conn())?;
        (f.sheet_reminders, f.sheets_standard) = (reminders.into(), standard);
        let version = f.version;
        assert!(farm::save(tx, &f, version)?);
        Ok(())
    });
}

#[test]
fn time_up_enters_the_standard_cut_once_even_with_two_workers() {
    on_each_engine(|book| {
        let c = coming(book);
        set_farm(book, "", true);
        book.clock.advance(7 * DAY);
        assert_eq!(round(book, &book.store), [0, 0], "the deadline’s day still counts");
        book.clock.advance(DAY);
        let (one, two) = (book.store.clone(), book.beside());
        let done: usize = std::thread::scope(|s| {
            let [a, b] = [&one, &two].map(|store| s.spawn(move || round(book, store)[1]));
            a.join().unwrap() + b.join().unwrap()
        });
        assert_eq!(done, 2, "each of the two shares once");
        assert_eq!(round(book, &two), [0, 0]);
        for order in c.orders {
            let sheet = book.read(|x| Ok(sheets::of(x, &[order])?.remove(&order).unwrap()));
            assert_eq!((sheet.origin, sheet.revision), (SheetOrigin::Standard, 1));
            let told = messages(book, order, "sheet_standard");
            assert_eq!(told.len(), 1);
            assert!(told[0].body.contains("by Thursday, October 21, 2027"), "{}", told[0].body);
        }
    });
}

#[test]
fn time_up_leaves_alone_what_is_the_farmers_to_decide() {
    on_each_engine(|book| {
        let c = coming(book);
        set_farm(book, "", false);
        book.clock.advance(8 * DAY);
        assert_eq!(round(book, &book.store), [0, 0], "switched off");
        set_farm(book, "", true);
        let version = book.read(|x| Ok(dates::get(x, c.date)?.0.version));
        let open = SheetWays { no_reminders: false, sheets_open: true, plant_reference: String::new() };
        book.act(|tx, doing| set_sheet_ways(tx, doing, c.date, version, &open));
        assert_eq!(round(book, &book.store), [0, 0], "opened again by the farmer");
        let shut = SheetWays { sheets_open: false, ..open };
        book.act(|tx, doing| set_sheet_ways(tx, doing, c.date, version + 1, &shut));
        // This one was taken after the deadline.
        let late = book.order(book.customer("Dele Ashworth"), book.hogs(), Size::Half);
        let animal = book.head(Class::Gilt, "42", c.date);
        book.place(late, animal, Side::Left);
        assert_eq!(round(book, &book.store), [0, 2]);
        assert!(book.read(|x| Ok(sheets::of(x, &[late])?)).is_empty());
        book.clock.advance(30 * DAY);
        assert_eq!(round(book, &book.store), [0, 0], "the day of slaughter is over");
    });
}

fn locked(book: &TestBook, order: ReservationId) -> Lock {
    let today = book.now().today;
    book.read(|c| lock_of(c, today, order)).1
}

fn ask(book: &TestBook, order: ReservationId, input: &SheetIn) -> Result<SheetRequestId, Failure> {
    book.try_act(|tx, doing| ask_change(tx, doing, order, input))
}

#[test]
fn after_the_deadline_a_change_is_a_wish_that_the_farmer_takes_or_refuses() {
    on_each_engine(|book| {
        let c = coming(book);
        let [ines, tomas] = c.orders;
        save(book, ines, 0, &chosen(&[("ham_body", "grind")], ""));
        assert_eq!(locked(book, ines), Lock::Open(Some(day("2027-10-21"))));
        let wish = chosen(&[("ham_body", "fresh_boneless")], "Keep the rind");
        assert!(matches!(ask(book, ines, &wish), Err(Failure::Refused(_))), "still open");
        book.clock.advance(8 * DAY);
        assert_eq!(locked(book, ines), Lock::TimeUp(day("2027-10-21")));
        let broken = chosen(&[("loin_blade", "whole_boneless_roast")], "");
        assert!(matches!(ask(book, ines, &broken), Err(Failure::Refused(_))), "a rule is a rule");
        let first = ask(book, ines, &chosen(&[], "Never mind")).unwrap();
        let second = ask(book, ines, &wish).unwrap();
        let open = book.read(|x| Ok(sheets_due::open_requests(x)?));
        assert_eq!(open.iter().map(|(r, who)| (r.id, who.as_str())).collect::<Vec<_>>(), [(second, "Ines Halvard")]);
        assert!(matches!(book.try_act(|tx, doing| take_change(tx, doing, first)), Err(Failure::NotFound)));
        let seen = book.read(|x| gambrel::actions::sheet_request::look(x, day("2027-10-22"), second));
        assert_eq!(seen.changes.len(), 2, "{:?}", seen.changes);
        assert!(
            seen.changes[0].starts_with("Ham: “Ham: ground or sausage.") && seen.changes[0].contains("” becomes “")
        );
        assert_eq!(seen.changes[1], "Special wish: “Keep the rind” is new.");
        assert_eq!(book.act(|tx, doing| take_change(tx, doing, second)), ines);
        let sheet = book.read(|x| Ok(sheets::of(x, &[ines])?.remove(&ines).unwrap()));
        assert_eq!((sheet.revision, sheet.special.as_str()), (2, "Keep the rind"));
        let told = messages(book, ines, "sheet_taken");
        assert!(told.len() == 1 && told[0].body.contains("Keep the rind"), "{told:?}");
        assert!(matches!(book.try_act(|tx, doing| take_change(tx, doing, second)), Err(Failure::Refused(_))));

        let third = ask(book, tomas, &wish).unwrap();
        let silent = book.try_act(|tx, doing| refuse_change(tx, doing, third, " "));
        assert!(matches!(silent, Err(Failure::Refused(_))), "the customer reads why");
        book.act(|tx, doing| refuse_change(tx, doing, third, "The plant has begun to cut."));
        assert!(book.read(|x| Ok(sheets::of(x, &[tomas])?)).is_empty(), "nothing changed");
        let told = messages(book, tomas, "sheet_refused");
        assert!(told.len() == 1 && told[0].body.contains("The plant has begun to cut."), "{told:?}");
        let stored = book.read(|x| Ok(sheets_due::request(x, third)?));
        assert_eq!(
            (stored.decision, stored.note.as_str()),
            (Some(RequestDecision::Refused), "The plant has begun to cut.")
        );
    });
}

#[actix_web::test]
async fn the_list_of_a_date_and_today_say_whose_sheet_is_missing() {
    for book in TestBook::each() {
        let c = coming(&book);
        without_mail(&book, c.orders[1]);
        let app = TestApp::signed_in(&book).await;
        let url = format!("/dates/{}/sheets", c.date);
        app.get("/").await.says("Two cut sheets missing for Thu, Oct 28").says("so phone: Tomas Wren");
        let page = app.get(&url).await.expect(200);
        page.says("Two of two cut sheets are missing.")
            .says("To phone")
            .says("Thu, Oct 21, in 7 days")
            .says("555-0142");
        let remind = format!("{url}/{}/remind", c.orders[0]);
        let sent = app.submit_to(&url, &remind, &[]).await.expect(303);
        app.follow(&sent).await.says("Reminded Oct 14.");
        assert_eq!(round(&book, &book.store), [0, 0], "the farmer’s reminder counts as today’s");
        let standard = format!("{url}/{}/standard", c.orders[1]);
        app.submit_to(&url, &standard, &[]).await.expect(303);
        app.get(&url).await.says("One of two cut sheets are missing.").says("Standard cut").says("for Ines Halvard");
        let again = app
            .post(&standard, app.get(&url).await.forms().iter().find(|f| f.post && f.action == url).unwrap().body(&[]));
        again.await.expect(422).says("The cut sheet of Tomas Wren is in already");
        app.submit_to(&url, &url, &[("plant_reference", "A-17"), ("no_reminders", "yes")]).await.expect(303);
        app.get(&url).await.says("Off for this date").says("A-17");
        // Settings.
        let settings = "/settings/sheets";
        app.submit(settings, &[("sheet_reminders", "14, 14")])
            .await
            .expect(422)
            .says("Write each day once")
            .says("14, 14");
        app.submit(settings, &[("sheet_reminders", "10 3")]).await.expect(303);
        app.get("/settings").await.says("10, 3 days before the deadline");

        book.clock.advance(8 * DAY);
        app.begin_session();
        let wish = ask(&book, c.orders[1], &chosen(&[("ham_body", "grind")], "")).unwrap();
        app.get("/").await.says("Tomas Wren asks to change a cut sheet").says("Time is up");
        let url = format!("/sheet-requests/{wish}");
        let page = app.get(&url).await.expect(200);
        page.says("What would change")
            .says("becomes “Ham: ground or sausage.")
            .says("The processor has its cut sheets already.");
        app.submit_to(&url, &format!("{url}/refuse"), &[("note", "")]).await.expect(422).says("Write why");
        let taken = app.submit_to(&url, &format!("{url}/take"), &[]).await.expect(303);
        app.follow(&taken).await.says("Taken Fri, Oct 22");
        app.get("/").await.says_not("asks to change");
    }
}

#[test]
fn what_a_customer_sends_is_saved_or_becomes_a_wish() {
    on_each_engine(|book| {
        let c = coming(book);
        let order = c.orders[0];
        let may = || {
            let today = book.now().today;
            book.read(|x| may_change(x, today, order))
        };
        let send = |version, input: &SheetIn| {
            book.try_act(|tx, doing| send_sheet(tx, doing, order, version, input, SheetOrigin::Entered))
        };
        assert_eq!(may(), May::Change(Some(day("2027-10-21"))));
        assert_eq!(send(0, &chosen(&[], "")).unwrap(), Became::Saved(1));
        book.clock.advance(8 * DAY);
        let May::Ask(why) = may() else { panic!("still open") };
        assert!(why.contains("October 21, 2027"), "{why}");
        assert!(matches!(send(1, &chosen(&[("ham_body", "grind")], "")).unwrap(), Became::Asked(_)));
        let sheet = book.read(|x| Ok(sheets::of(x, &[order])?.remove(&order).unwrap()));
        assert_eq!(sheet.revision, 1, "the sheet itself stays");
    });
}
