//! What an order asks of the planner, and shares locked where they are.

use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::ask_place::{ask_place, lock_place};
use gambrel::actions::change_order::change_wishes;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::lose_animal::lose_animal;
use gambrel::actions::place_share::{Move, Spot, Target, place_shares};
use gambrel::book::ids::{AnimalId, DateId, ReservationId};
use gambrel::book::wishes::{self, Wishes};
use gambrel::book::{animals, place_locks, placements, reservations};
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::weight::Weight;

fn refused<T: std::fmt::Debug>(outcome: Result<T, Failure>) -> String {
    match outcome {
        Err(Failure::Refused(p)) => p.0.into_iter().map(|p| format!("{}: {} ", p.field, p.sentence)).collect(),
        other => panic!("not refused: {other:?}"),
    }
}

fn of(book: &TestBook, order: ReservationId) -> Wishes {
    book.read(|c| Ok(wishes::of(c, &[order])?.remove(&order).unwrap_or_default()))
}

fn ask(book: &TestBook, order: ReservationId, first: Option<DateId>, asked: &Wishes) -> Result<(), Failure> {
    book.try_act(|tx, doing| {
        let version = reservations::get(tx.conn(), order)?.0.version;
        change_wishes(tx, doing, order, version, "", first)?;
        ask_place(tx, doing, order, asked)
    })
}

fn locked(book: &TestBook, order: ReservationId) -> bool {
    book.read(|c| Ok(place_locks::of(c, &[order])?.contains(&order)))
}

fn to(order: ReservationId, animal: AnimalId, side: Side) -> [Move; 1] {
    [Move { reservation: order, to: Some(Target { animal, spot: Spot::Side(side) }), field: "place".into() }]
}

#[test]
fn dates_company_and_weight_are_kept_in_order_and_looked_at() {
    on_each_engine(|book| {
        let offering = book.offering(Species::Beef, 4, "4.65");
        let (one, two) = (
            book.order(book.customer("Abel Storrow"), offering, Size::Half),
            book.order(book.customer("Greta Fenn"), offering, Size::Half),
        );
        let plant = book.plant();
        let days = ["2027-11-04", "2027-11-11", "2027-11-18", "2027-11-25", "2027-12-02"].map(|d| book.date(plant, d));
        let asked = Wishes {
            later: vec![days[2], days[0]],
            only_these: true,
            together: "Wren family".into(),
            low: Some(Weight::from_hundredths(15_000)),
            high: None,
        };
        ask(book, one, Some(days[1]), &asked).unwrap();
        assert_eq!(of(book, one), asked, "in the order they were chosen, not by day");
        let story = book.read(|c| Ok(gambrel::book::stories::of_reservation(c, one)?));
        let last = story.iter().find(|s| s.line.contains("asks of the plan")).unwrap();
        assert_eq!(
            last.detail,
            "Only November 11, 2027, then November 18, 2027, then November 4, 2027. Together with “Wren family”. A share of at least 150 lb."
        );
        // The same group however it is typed.
        let theirs = Wishes { together: "wren  FAMILY".into(), ..Wishes::default() };
        ask(book, two, None, &theirs).unwrap();
        assert_eq!(of(book, two).together, "Wren family");
        assert_eq!(book.read(|c| Ok(wishes::groups(c)?)), [("Wren family".to_string(), 2)]);
        // What cannot be: nothing is changed then.
        for (first, later, low, high, says) in [
            (Some(days[1]), vec![days[1]], None, None, "choice_2: This date is chosen above already"),
            (None, vec![days[0], days[1], days[2], days[3], days[4]], None, None, "at most 4 dates"),
            (None, vec![DateId(999), DateId(998)], None, None, "not in the book"),
            (None, vec![], Some(2), Some(1), "weight_high: At most is less than at least"),
        ] {
            let weight = |n: Option<i64>| n.map(Weight::from_hundredths);
            let bad = Wishes { later, low: weight(low), high: weight(high), ..Wishes::default() };
            let said = refused(ask(book, one, first, &bad));
            assert!(said.contains(says), "{said}");
        }
        assert_eq!(of(book, one), asked);
        ask(book, one, None, &Wishes::default()).unwrap();
        assert_eq!(of(book, one), Wishes::default());
    });
}

#[test]
fn a_locked_share_stays_until_it_is_unlocked_or_loses_its_animal() {
    on_each_engine(|book| {
        let offering = book.offering(Species::Beef, 4, "4.65");
        let order = book.order(book.customer("Abel Storrow"), offering, Size::Half);
        let date = book.date(book.plant(), "2027-11-04");
        let (one, two) = (book.head(Class::Steer, "211", date), book.head(Class::Steer, "212", date));
        let said = refused(book.try_act(|tx, doing| lock_place(tx, doing, order, true)));
        assert!(said.contains("no place yet"), "{said}");
        book.place(order, one, Side::Left);
        book.act(|tx, doing| lock_place(tx, doing, order, true));
        assert!(locked(book, order));
        for moves in [to(order, two, Side::Left), to(order, one, Side::Right)] {
            let said = refused(book.try_act(|tx, doing| place_shares(tx, doing, &moves)));
            assert!(said.contains("Abel Storrow is locked where it is"), "{said}");
        }
        // Saying where it is anyway is no move.
        book.act(|tx, doing| place_shares(tx, doing, &to(order, one, Side::Left)));
        assert!(locked(book, order));
        book.act(|tx, doing| lock_place(tx, doing, order, false));
        book.act(|tx, doing| place_shares(tx, doing, &to(order, two, Side::Left)));
        book.act(|tx, doing| lock_place(tx, doing, order, true));
        let version = book.read(|c| Ok(animals::get(c, two)?.version));
        let today = book.now().today;
        book.act(|tx, doing| lose_animal(tx, doing, two, version, today, "found dead").map(|_| ()));
        assert!(!locked(book, order));
        assert!(book.read(|c| Ok(placements::shares_of(c, &[order])?)).is_empty());
        let (said, holds) = in_words(&book.read(check_book));
        assert!(holds, "{said}");
    });
}

#[actix_web::test]
async fn wishes_are_asked_when_an_order_is_taken_and_changed_on_its_page() {
    let book = TestBook::sqlite();
    let offering = book.offering(Species::Beef, 4, "4.65");
    let plant = book.plant();
    let (first, second) = (book.date(plant, "2027-11-04"), book.date(plant, "2027-11-11"));
    let app = TestApp::signed_in(&book).await;
    let (a, b) = (first.to_string(), second.to_string());
    let share = format!("{offering}-half");
    let typed = [
        ("share", share.as_str()),
        ("name", "Ines Halvard"),
        ("preferred_date", &b),
        ("choice_2", &a),
        ("only_these", "yes"),
        ("together", "sisters"),
        ("weight_low", "150"),
        ("weight_high", "140"),
    ];
    app.submit("/orders/new", &typed).await.expect(422).says("At most is less than at least");
    let mut typed = typed.to_vec();
    typed.push(("weight_high", "220"));
    typed.remove(7);
    let page = app.submit("/orders/new", &typed).await;
    let url = page.expect(303).location().to_string();
    app.get(&url)
        .await
        .says("Thursday, November 11, then Thursday, November 4; no other date")
        .says("Together with “sisters”; 150 to 220 lb");
    let wishes_url = format!("{url}/wishes");
    app.get(&wishes_url).await.says("There is “sisters”.");
    // A blank first choice: the second becomes it. Nothing is lost by saving again.
    app.submit(&wishes_url, &[]).await.expect(303);
    app.get(&url).await.says("150 to 220 lb").says("then Thursday, November 4; no other date");
    app.submit(&wishes_url, &[("preferred_date", ""), ("weight_low", "")]).await.expect(303);
    app.get(&url).await.says("Thursday, November 4; no other date").says("at most 220 lb");
    // Locking, from the order's page.
    let id: ReservationId = url.rsplit('/').next().unwrap().parse().unwrap();
    let head = book.head(Class::Steer, "211", first);
    app.get(&url).await.says_not("Lock it where it is");
    book.place(id, head, Side::Left);
    let action = format!("{url}/lock");
    app.submit_to(&url, &action, &[("lock", "yes")]).await.expect(303);
    app.get(&url).await.says("Locked: it stays there").says("Unlock it");
    app.submit_to(&url, &action, &[("lock", "no")]).await.expect(303);
    app.get(&url).await.says("Lock it where it is");
}
