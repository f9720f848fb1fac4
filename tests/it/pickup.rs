//! Collecting meat: the ready notice once, windows never overbooked, reminders once, storage by button, ticks that may be sent twice.

use crate::support::book::{DAY, HOUR};
use crate::support::farm::{HungHog, day, usd};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::answer_entry::{Taken, take};
use gambrel::actions::charge_storage::{charge_storage, proposed};
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::choose_pickup::{Chooser, answered, choose, none_fits};
use gambrel::actions::collect::{Tick, hand_over, take_back};
use gambrel::actions::customer_statement::customer_statement;
use gambrel::actions::keep_time::{JOBS, run_all};
use gambrel::actions::pickup_list::{self, pickup_list};
use gambrel::actions::pickup_place::{PlaceIn, add_place};
use gambrel::actions::pickup_rules::{in_force, save_rules};
use gambrel::actions::pickup_window::{WindowIn, add_window, call_off, change_window};
use gambrel::actions::plant_entry::{Entry, enter};
use gambrel::actions::say_ready::{Packed, say_ready};
use gambrel::actions::take_ready_back::take_ready_back;
use gambrel::book::at::At;
use gambrel::book::ids::{DateId, PickupPlaceId, PickupWindowId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::pickups::{self, Pickup};
use gambrel::book::plant_entries::{self, Subject};
use gambrel::book::rows::outbox::Message;
use gambrel::book::rows::pickups::PickupRule;
use gambrel::book::{calendars, farm, invoices, pickup_places, reservations, stories};
use gambrel::trade::animal::Class;
use gambrel::trade::pickup::StoragePer;
use gambrel::trade::plant_entry::{Boxes, Entered};
use gambrel::trade::share::{Side, Size, Species};

pub(crate) fn place(book: &TestBook) -> PickupPlaceId {
    let input = PlaceIn {
        name: "Pell Road Meats, counter".into(),
        address: "4 Pell Road\nElm Fork".into(),
        words: "Ring at the side door.".into(),
    };
    book.act(|tx, doing| add_place(tx, doing, &input))
}

fn input(place: PickupPlaceId, on: &str, opens: &str, most: i64) -> WindowIn {
    WindowIn { place, on_day: day(on), opens: opens.into(), closes: "18:00".into(), most }
}

pub(crate) fn window(book: &TestBook, date: DateId, place: PickupPlaceId, on: &str, most: i64) -> PickupWindowId {
    book.act(|tx, doing| add_window(tx, doing, date, &input(place, on, "15:00", most)))
}

pub(crate) fn say(book: &TestBook, date: DateId, orders: &[ReservationId], boxes: Option<i64>) -> usize {
    let packed: Vec<_> = orders.iter().map(|order| Packed { order: *order, boxes }).collect();
    book.act(|tx, doing| say_ready(tx, doing, date, &packed))
}

/// For the walk over every page: a place, two windows, the first order ready, its window chosen, the next one full.
pub(crate) fn ready_with_windows(book: &TestBook, hog: &HungHog) {
    let place = place(book);
    let first = window(book, hog.date, place, "2027-10-23", 4);
    window(book, hog.date, place, "2027-10-30", 1);
    say(book, hog.date, &hog.orders[..1], Some(3));
    book.act(|tx, doing| choose(tx, doing, hog.orders[0], first, Chooser::Farmer));
}

fn messages(book: &TestBook, order: ReservationId, purpose: &str) -> Vec<Message> {
    let all = book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 50)?));
    all.into_iter().filter(|m| m.purpose == purpose).collect()
}

fn pickup(book: &TestBook, order: ReservationId) -> Pickup {
    book.read(|c| Ok(pickups::of_orders(c, &[order])?.remove(&order).unwrap()))
}

fn chosen(book: &TestBook, order: ReservationId) -> Option<PickupWindowId> {
    pickup(book, order).window.map(|(w, _)| w.id)
}

fn as_customer(book: &TestBook, order: ReservationId, window: PickupWindowId) -> Result<(), Failure> {
    book.try_act(|tx, doing| choose(tx, doing, order, window, Chooser::Customer))
}

#[track_caller]
fn refused<T: std::fmt::Debug>(done: Result<T, Failure>, words: &str) {
    match done {
        Err(Failure::Refused(p)) => {
            assert!(p.0.iter().any(|p| p.sentence.contains(words)), "{p:?} does not say “{words}”")
        }
        other => panic!("not refused: {other:?}"),
    }
}

#[track_caller]
fn sound(book: &TestBook) {
    let (said, holds) = in_words(&book.read(check_book));
    assert!(holds, "{said}");
}

fn rules(book: &TestBook, change: impl Fn(PickupRule) -> PickupRule) {
    book.act(|tx, doing| {
        let rule = in_force(tx.conn())?;
        let version = rule.version;
        save_rules(tx, doing, &change(rule), version)
    });
}

#[test]
fn the_ready_notice_says_everything_and_goes_once() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let place = place(book);
        window(book, hog.date, place, "2027-10-30", 4);
        rules(book, |r| PickupRule {
            free_days: 10,
            storage_per: Some(StoragePer::Day),
            storage_amount: usd("2.00"),
            ..r
        });
        book.issue(ines);
        assert_eq!(say(book, hog.date, &[ines], Some(3)), 1);
        assert_eq!(say(book, hog.date, &[ines, tomas], Some(4)), 1, "the first has its notice");
        let told = messages(book, ines, "pickup_ready");
        assert_eq!(told.len(), 1);
        for words in [
            "Your half hog is ready, in 3 boxes.",
            "Saturday, October 30, 2027, 3:00 pm to 6:00 pm, Pell Road Meats, counter, 4 Pell Road, Elm Fork",
            "The balance due is $",
            "We hand the meat over when the balance is paid.",
            "Storage costs nothing through October 24, 2027. After that it is $2.00 for each day begun.",
            "0 °F",
            "145 °F",
            "Food Safety and Inspection Service (FSIS)",
            "local health department",
        ] {
            assert!(told[0].body.contains(words), "“{words}” is not in: {}", told[0].body);
        }
        assert_eq!(pickup(book, ines).ready.unwrap().boxes, Some(4), "boxes can be counted later");
        assert!(
            messages(book, tomas, "pickup_ready")[0].body.contains("Your invoice comes with a message of its own.")
        );
        // What was said holds: another rule is for notices written from then on.
        rules(book, |r| PickupRule { storage_per: None, ..r });
        assert_eq!(pickup(book, ines).ready.unwrap().storage_amount, usd("2.00"));
        refused(book.try_act(|tx, doing| say_ready(tx, doing, hog.date, &[])), "Tick the orders");
        let coming = book.date(hog.plant, "2027-11-18");
        let some = [Packed { order: ines, boxes: None }];
        refused(book.try_act(|tx, doing| say_ready(tx, doing, coming, &some)), "Slaughter lies ahead");
        sound(book);
    });
}

#[test]
fn of_twelve_who_want_three_places_three_have_them() {
    on_each_engine(|book| {
        let (offering, plant) = (book.offering(Species::Hog, 6, "5.25"), book.plant());
        let date = book.date(plant, "2027-10-14");
        let orders: Vec<_> =
            (0..12).map(|n| book.order(book.customer(&format!("Person{n} Row")), offering, Size::Half)).collect();
        for (n, pair) in orders.chunks(2).enumerate() {
            let head = book.head(Class::Barrow, &format!("tag{n}"), date);
            book.place(pair[0], head, Side::Left);
            book.place(pair[1], head, Side::Right);
        }
        let full = window(book, date, place(book), "2027-10-30", 3);
        say(book, date, &orders, None);
        let won: usize = std::thread::scope(|s| {
            let all: Vec<_> = orders
                .iter()
                .map(|order| {
                    s.spawn(move || match as_customer(book, *order, full) {
                        Ok(()) => 1,
                        Err(Failure::Refused(p)) => {
                            assert!(p.0[0].sentence.contains("full by now"), "{p:?}");
                            0
                        }
                        Err(e) => panic!("{e}"),
                    })
                })
                .collect();
            all.into_iter().map(|t| t.join().unwrap()).sum()
        });
        assert_eq!(won, 3);
        assert_eq!(book.read(|c| Ok(pickup_places::window(c, full)?)).taken, 3);
        // The farmer cannot overbook it either, nor make it smaller than it is taken.
        let outside = orders.iter().find(|o| chosen(book, **o).is_none()).unwrap();
        refused(book.try_act(|tx, doing| choose(tx, doing, *outside, full, Chooser::Farmer)), "full by now");
        let smaller = input(pickup_places_of(book), "2027-10-30", "15:00", 2);
        refused(book.try_act(|tx, doing| change_window(tx, doing, full, 1, &smaller)), "3 customers chose it already");
        sound(book);
    });
}

fn pickup_places_of(book: &TestBook) -> PickupPlaceId {
    book.read(|c| Ok(pickup_places::places(c)?))[0].id
}

#[test]
fn a_window_is_chosen_changed_until_some_hours_before_and_told_when_it_moves() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let place = place(book);
        let (a, b) = (window(book, hog.date, place, "2027-10-23", 4), window(book, hog.date, place, "2027-10-30", 4));
        refused(as_customer(book, ines, a), "not ready yet");
        say(book, hog.date, &[ines, tomas], None);
        as_customer(book, ines, a).unwrap();
        as_customer(book, ines, a).unwrap();
        assert_eq!(messages(book, ines, "pickup_chosen").len(), 1, "the same again does nothing");
        as_customer(book, ines, b).unwrap();
        assert_eq!((chosen(book, ines), pickup(book, ines).choice.unwrap().times), (Some(b), 1));
        assert!(
            messages(book, ines, "pickup_chosen")[0].body.contains("Saturday, October 30, 2027, 3:00 pm to 6:00 pm")
        );
        // A window of another date is nobody's here.
        let other = book.date(hog.plant, "2027-10-13");
        let foreign = window(book, other, place, "2027-10-30", 4);
        refused(as_customer(book, ines, foreign), "not there any more");
        refused(as_customer(book, ines, PickupWindowId(999)), "not there any more");

        let moved = input(place, "2027-10-31", "16:00", 4);
        assert_eq!(book.act(|tx, doing| change_window(tx, doing, b, 1, &moved)), 1);
        let told = messages(book, ines, "pickup_moved");
        assert!(
            told[0].body.contains("It was Saturday, October 30, 2027, 3:00 pm to 6:00 pm at Pell Road Meats, counter")
                && told[0].body.contains("It is now Sunday, October 31, 2027, 4:00 pm to 6:00 pm"),
            "{}",
            told[0].body
        );
        assert_eq!(pickup(book, ines).choice.unwrap().times, 2, "for calendars");
        assert!(matches!(book.try_act(|tx, doing| change_window(tx, doing, b, 1, &moved)), Err(Failure::Stale)));
        assert_eq!(book.act(|tx, doing| call_off(tx, doing, b, 2)), 1);
        assert_eq!(chosen(book, ines), None);
        assert!(messages(book, ines, "pickup_moved")[0].body.contains("is called off"));
        refused(as_customer(book, ines, b), "not there any more");

        // October 22, two in the afternoon: the window of three o'clock tomorrow is more than a day away; an hour later it is not.
        book.clock.advance(8 * DAY + HOUR);
        as_customer(book, tomas, a).unwrap();
        book.clock.advance(2 * HOUR);
        refused(as_customer(book, ines, a), "too near");
        book.act(|tx, doing| choose(tx, doing, ines, a, Chooser::Farmer));
        let later = window(book, hog.date, place, "2027-11-06", 4);
        refused(as_customer(book, tomas, later), "too near to be changed");
        sound(book);
    });
}

#[test]
fn a_note_that_none_fits_waits_until_it_is_answered() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let ines = hog.orders[0];
        let a = window(book, hog.date, place(book), "2027-10-30", 4);
        say(book, hog.date, &[ines], None);
        refused(book.try_act(|tx, doing| none_fits(tx, doing, ines, "  ")), "Write when");
        book.act(|tx, doing| none_fits(tx, doing, ines, "Sundays only"));
        book.act(|tx, doing| none_fits(tx, doing, ines, "Sundays, or after seven"));
        assert_eq!(pickup(book, ines).note.unwrap().words, "Sundays, or after seven");
        book.act(|tx, doing| answered(tx, doing, ines));
        assert!(pickup(book, ines).note.is_none());
        book.act(|tx, doing| none_fits(tx, doing, ines, "Still not"));
        book.act(|tx, doing| choose(tx, doing, ines, a, Chooser::Farmer));
        assert!(pickup(book, ines).note.is_none(), "a window answers it");
    });
}

fn reminded(book: &TestBook) -> usize {
    let done = run_all(&book.store, book.clock.at(), JOBS);
    *done.iter().find(|(name, _)| *name == "reminders of pickup").unwrap().1.as_ref().unwrap()
}

#[test]
fn reminders_go_once_the_day_before_and_while_nothing_is_chosen() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        say(book, hog.date, &[ines, tomas], None);
        book.clock.advance(3 * DAY);
        assert_eq!(reminded(book), 0, "there is nothing to choose");
        let a = window(book, hog.date, place(book), "2027-10-23", 4);
        assert_eq!([reminded(book), reminded(book)], [2, 0], "three days after the notice, once");
        assert!(messages(book, ines, "pickup_missing")[0].body.contains("Saturday, October 23, 2027"));
        as_customer(book, ines, a).unwrap();
        book.act(|tx, doing| none_fits(tx, doing, tomas, "Sundays only"));
        book.clock.advance(3 * DAY);
        assert_eq!(reminded(book), 0, "one chose, the other waits for an answer");
        // October 22: not before eight in the morning.
        book.clock.advance(2 * DAY - 8 * HOUR);
        assert_eq!(reminded(book), 0, "nobody is woken");
        book.clock.advance(8 * HOUR);
        assert_eq!([reminded(book), reminded(book)], [1, 0]);
        assert!(messages(book, ines, "pickup_coming")[0].body.contains("you collect your half hog"));
        rules(book, |r| PickupRule { ask_every: 0, ..r });
        book.act(|tx, doing| answered(tx, doing, tomas));
        book.clock.advance(4 * DAY);
        assert_eq!(reminded(book), 0, "switched off");
        sound(book);
    });
}

#[test]
fn storage_is_proposed_by_the_rule_that_was_said_and_charged_by_button_only() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        rules(book, |r| PickupRule {
            free_days: 5,
            storage_per: Some(StoragePer::Week),
            storage_amount: usd("7.50"),
            ..r
        });
        let invoice = book.issue(ines);
        say(book, hog.date, &[ines, tomas], None);
        let now = |order| {
            let at = book.now();
            book.read(|c| {
                let (r, ..) = reservations::get(c, order)?;
                let p = pickups::of_orders(c, &[order])?.remove(&order).unwrap();
                Ok(proposed(&r, &p, at)?.map(|p| p.amount))
            })
        };
        book.clock.advance(5 * DAY);
        assert_eq!(now(ines), None, "the free days");
        book.clock.advance(DAY);
        assert_eq!(now(ines), Some(usd("7.50")), "the first day after them begins a week");
        let owed =
            |id| book.read(|c| Ok(invoices::open(c, None, 50)?)).into_iter().find(|(i, ..)| i.id == id).unwrap().2;
        let before = owed(invoice);
        refused(book.try_act(|tx, doing| charge_storage(tx, doing, ines, usd("7.00"))), "It was $7.00 when you looked");
        book.act(|tx, doing| charge_storage(tx, doing, ines, usd("7.50")));
        assert_eq!(owed(invoice), before.plus(usd("7.50")).unwrap());
        // The statement is the paper for it.
        let at = book.now();
        let who = book.read(|c| Ok(reservations::get(c, ines)?)).1.id;
        let paper = book.read(|c| customer_statement(c, at, who, day("2027-10-01"), at.today));
        let row = paper.rows.iter().find(|r| r.what.starts_with("Storage")).unwrap();
        assert!(row.what.starts_with("Storage through October 20, 2027, invoice I-2027-"), "{row:?}");
        assert_eq!((row.billed.as_str(), row.paid.as_str()), ("7.50", ""));
        refused(book.try_act(|tx, doing| charge_storage(tx, doing, ines, usd("7.50"))), "no storage to charge");
        book.clock.advance(7 * DAY);
        assert_eq!(now(ines), Some(usd("7.50")), "the next week alone");
        // Not invoiced yet: it stands on the order, and goes with its line.
        book.act(|tx, doing| charge_storage(tx, doing, tomas, usd("15.00")));
        let line = book.read(|c| Ok(reservations::lines(c, tomas)?)).pop().unwrap();
        assert_eq!((line.name.as_str(), line.amount), ("Storage through October 27, 2027", usd("15.00")));
        assert_eq!(now(tomas), None);
        sound(book);
        book.act(|tx, doing| gambrel::actions::change_order::take_line_off(tx, doing, tomas, line.id));
        assert_eq!(now(tomas), Some(usd("15.00")));
        // An invoice that is taken back takes its storage with it.
        book.act(|tx, doing| gambrel::actions::void_invoice::void_invoice(tx, doing, invoice, "wrong", false));
        assert_eq!(now(ines), Some(usd("15.00")));
        sound(book);
        book.act(|tx, doing| hand_over(tx, doing, tomas, &tick("Tomas Wren", true)));
        book.clock.advance(60 * DAY);
        assert_eq!(now(tomas), Some(usd("15.00")), "it ends when it is collected");
    });
}

fn tick(name: &str, anyway: bool) -> Tick {
    Tick { by_name: name.into(), at: None, anyway }
}

#[test]
fn meat_is_held_until_paid_ticked_off_once_and_taken_back() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let invoice = book.issue(ines);
        refused(book.try_act(|tx, doing| hand_over(tx, doing, ines, &tick("Ines", false))), "Held until paid: $");
        refused(book.try_act(|tx, doing| hand_over(tx, doing, tomas, &tick("", false))), "it is not invoiced yet");
        let owed = book.read(|c| Ok(invoices::open(c, None, 50)?))[0].2;
        book.pay(invoice, &owed.plain());
        // A phone that was out of reach says when; a tick from the future or from long ago counts as now.
        let at = At(book.clock.at().0 - 2 * HOUR);
        let late = Tick { at: Some(at), ..tick("Dele, a neighbor", false) };
        book.act(|tx, doing| hand_over(tx, doing, ines, &late));
        book.act(|tx, doing| hand_over(tx, doing, ines, &late));
        let order = |id| book.read(|c| Ok(reservations::get(c, id)?.0));
        assert_eq!(order(ines).collected_at, Some(at));
        refused(
            book.try_act(|tx, doing| hand_over(tx, doing, ines, &tick("Ines", false))),
            "Dele, a neighbor collected it",
        );
        book.act(|tx, doing| hand_over(tx, doing, tomas, &Tick { at: Some(At(i64::MAX)), ..tick("", true) }));
        assert_eq!(order(tomas).collected_at, Some(book.clock.at()));
        let told = book.read(|c| Ok(stories::of_reservation(c, tomas)?)).pop().unwrap();
        assert_eq!(
            (told.line.as_str(), told.detail.as_str()),
            ("Collected by Tomas Wren", "Handed over although it is not invoiced yet.")
        );
        sound(book);
        book.act(|tx, doing| take_back(tx, doing, ines));
        book.act(|tx, doing| take_back(tx, doing, ines));
        assert_eq!((order(ines).collected_at, pickup(book, ines).collected), (None, None));
        sound(book);
    });
}

#[test]
fn the_list_prints_who_collects_what() {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    ready_with_windows(&book, &hog);
    let now = book.now();
    let (list, farm) = book.read(|c| {
        let farm = farm::get(c)?;
        Ok((pickup_list(c, &farm, now, hog.date)?, farm))
    });
    let paper = pickup_list::paper(&list, &farm, now, None);
    assert_eq!(
        paper.groups.iter().map(|g| (g.heading.as_str(), g.rows.len())).collect::<Vec<_>>(),
        [
            ("Saturday, October 23, 2027, 3:00 pm to 6:00 pm", 1),
            ("Saturday, October 30, 2027, 3:00 pm to 6:00 pm", 0),
            ("No window chosen", 1),
        ]
    );
    let row = &paper.groups[0].rows[0];
    assert_eq!(
        (row.name.as_str(), row.boxes.as_str(), row.balance.as_str()),
        ("Ines Halvard", "3 boxes", "not invoiced")
    );
    assert!(row.held);
    let pdf = paper.pdf().unwrap();
    assert!(pdf.starts_with(b"%PDF-") && pdf == paper.pdf().unwrap());
}

#[actix_web::test]
async fn a_customer_chooses_and_the_farmer_ticks_off() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let app = TestApp::signed_in(&book).await;
        // The farmer: a place, a window, what is ready.
        let place = [("name", "Our farm"), ("address", "118 Slough Road"), ("words", "The red shed")];
        app.submit_to("/settings/pickup/places/new", "/settings/pickup/places/new", &place).await.expect(303);
        let url = format!("/dates/{}/windows/new", hog.date);
        let typed = [("place", "1"), ("on_day", "2027-10-30"), ("opens", "9 am"), ("closes", "8:00"), ("most", "1")];
        let again = app.submit_to(&url, &url, &typed).await.expect(422);
        again.says("ends before it begins").says("value=\"2027-10-30\"");
        let typed =
            [("place", "1"), ("on_day", "2027-10-30"), ("opens", "9 am"), ("closes", "12:30 pm"), ("most", "1")];
        app.submit_to(&url, &url, &typed).await.expect(303);
        app.get(&format!("/dates/{}", hog.date)).await.says(&format!("/dates/{}/pickup", hog.date));
        let ready = format!("/dates/{}/ready", hog.date);
        let boxes = (format!("boxes-{ines}"), format!("boxes-{tomas}"));
        let form = [(boxes.0.as_str(), "2"), (boxes.1.as_str(), "many")];
        app.submit(&ready, &form).await.expect(422).says("Boxes");
        let done = app.submit(&ready, &[(boxes.0.as_str(), "2"), (boxes.1.as_str(), "")]).await;
        app.follow(&done).await.says("Two orders are ready").says("0 of 1 places taken").says("Hold until paid");

        // Ines by her private link.
        let hers = app.other_browser();
        hers.hold(ines);
        hers.get("/my").await.says("Choose when you collect your half hog").says("/my/pickup");
        hers.get("/my/pickup").await.says("The red shed").says_not("Tomas");
        let none = hers.submit_to("/my/pickup", "/my/pickup", &[]).await.expect(422);
        none.says("choose one");
        let done = hers.submit_to("/my/pickup", "/my/pickup", &[("window", "1")]).await;
        hers.follow(&done).await.says("You collect it on Saturday, October 30").says("Yours now");
        // Tomas finds it full, and writes.
        let his = app.other_browser();
        his.hold(tomas);
        his.get("/my/pickup").await.says("Our farm: full").says_not("name=\"window\"");
        let done = his.submit_to("/my/pickup", "/my/pickup/none", &[("words", "Sundays <only>")]).await;
        his.follow(&done).await.says("You wrote: “Sundays &#60;only&#62;”");
        app.get("/").await.says("No pickup window fits Tomas Wren");

        // The list: held, handed over anyway, sent twice, taken back.
        let list = format!("/dates/{}/pickup", hog.date);
        let to = format!("/orders/{ines}/collected");
        let page = app.get(&list).await;
        let form = page.forms().into_iter().find(|f| f.action == to).unwrap();
        app.post(&to, form.body(&[])).await.expect(422).says("Held until paid");
        let anyway = form.body(&[(format!("anyway-{ines}").as_str(), "yes"), (format!("by-{ines}").as_str(), "Dele")]);
        let first = app.post(&to, anyway.clone()).await.expect(303);
        let second = app.post(&to, anyway).await.expect(303);
        assert_eq!(first.location(), second.location());
        app.get(&list).await.says("Dele, ").says("1 of 2 collected");
        hers.get("/my").await.says("By Dele.");
        hers.get("/my/pickup").await.says("It was collected").says_not("<textarea");
        app.submit_to(&list, &format!("/orders/{ines}/collected/undo"), &[]).await.expect(303);
        app.get(&list).await.says("Two orders to collect");
        let pdf = app.get(&format!("/dates/{}/pickup-list.pdf", hog.date)).await.expect(200);
        assert!(pdf.bytes.starts_with(b"%PDF-"));
    }
}

#[test]
fn ready_is_taken_back_until_it_is_collected_and_its_customer_told() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let a = window(book, hog.date, place(book), "2027-10-30", 1);
        rules(book, |r| PickupRule {
            free_days: 1,
            storage_per: Some(StoragePer::Day),
            storage_amount: usd("2.00"),
            ..r
        });
        let not_ready = |order| book.try_act(|tx, doing| take_ready_back(tx, doing, order));
        not_ready(ines).unwrap();
        assert!(messages(book, ines, "pickup_not_yet").is_empty(), "it was not ready, so nobody is told");
        say(book, hog.date, &[ines, tomas], Some(3));
        as_customer(book, ines, a).unwrap();
        book.act(|tx, doing| none_fits(tx, doing, ines, "Or Sundays"));
        not_ready(ines).unwrap();
        let now = pickup(book, ines);
        assert_eq!((now.ready, now.window, now.note), (None, None, None));
        assert_eq!(now.choice.unwrap().times, 1, "for calendars");
        let told = messages(book, ines, "pickup_not_yet");
        assert!(
            told[0].body.contains("Please do not come on Saturday, October 30, 2027, 3:00 pm to 6:00 pm"),
            "{}",
            told[0].body
        );
        let file = book.read(|c| Ok(calendars::of_message(c, told[0].id)?)).unwrap();
        assert_eq!(file.method, "CANCEL");
        let line = book.read(|c| Ok(stories::of_reservation(c, ines)?)).pop().unwrap();
        assert!(line.line.contains("Not ready after all") && line.detail.contains("October 30"), "{line:?}");
        sound(book);
        // The place is free for the other one, and the first is told again when it is ready.
        as_customer(book, tomas, a).unwrap();
        assert_eq!(say(book, hog.date, &[ines], Some(2)), 1);
        assert_eq!(messages(book, ines, "pickup_ready").len(), 2);
        // Storage that was charged, and what was collected, hold.
        book.clock.advance(3 * DAY);
        book.act(|tx, doing| charge_storage(tx, doing, ines, usd("4.00")));
        refused(not_ready(ines), "Storage of $4.00 was charged");
        book.act(|tx, doing| hand_over(tx, doing, tomas, &tick("Tomas Wren", true)));
        refused(not_ready(tomas), "Take the tick back first");
        assert_eq!(chosen(book, tomas), Some(a), "nothing was changed");
        sound(book);
    });
}

#[actix_web::test]
async fn boxes_that_the_plant_counted_are_filled_in_and_ready_is_taken_back_on_the_list() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        for (order, boxes) in [(ines, 4), (tomas, 7)] {
            let entered = Entered::Boxes(Boxes { boxes, packaged: None, words: String::new() });
            let entry = Entry { about: Subject::Order(order), seen: 0, entered, by: "Sam".into() };
            book.act(|tx, doing| enter(tx, doing, hog.date, &entry));
        }
        // Only what the farm took.
        let first = book
            .read(|c| Ok(plant_entries::of_date(c, hog.date)?))
            .into_iter()
            .find(|e| e.reservation_id == Some(ines));
        let taken = Taken { entry: first.unwrap().id, version: 0, confirmed: String::new() };
        book.act(|tx, doing| take(tx, doing, hog.date, std::slice::from_ref(&taken)));
        let app = TestApp::signed_in(&book).await;
        let url = format!("/dates/{}/ready", hog.date);
        let page = app.get(&url).await.expect(200);
        page.says("Pell Road Meats counted 4").says_not("counted 7");
        let form = page.forms().into_iter().find(|f| f.action == url || f.action.is_empty() && f.post).unwrap();
        assert_eq!(form.value(&format!("boxes-{ines}")), "4");
        assert_eq!(form.value(&format!("boxes-{tomas}")), "");
        app.submit(&url, &[]).await.expect(303);
        assert_eq!(pickup(&book, ines).ready.unwrap().boxes, Some(4));
        let list = format!("/dates/{}/pickup", hog.date);
        let undo = format!("/orders/{ines}/ready/undo");
        let done = app.submit_to(&list, &undo, &[]).await.expect(303);
        app.follow(&done).await.says("It is not ready after all").says("1 of 2 ready").says_not(&undo);
        let late = app.get(&list).await.forms().into_iter().find(|f| f.action.ends_with("/ready/undo")).unwrap();
        book.act(|tx, doing| hand_over(tx, doing, tomas, &tick("", true)));
        app.post(&late.action, late.body(&[]))
            .await
            .expect(422)
            .says("It is still ready")
            .says("Take the tick back first");
    }
}
