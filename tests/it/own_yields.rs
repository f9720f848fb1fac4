//! What came home: told by three, one of them counts, every revision stays; the forecast learns from it, and no bill does.

use crate::support::book::DAY;
use crate::support::farm::{HungHog, lb};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::answer_entry::{Taken, take};
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::collect::{Tick, hand_over};
use gambrel::actions::cut_sheet::{SheetIn, basis, forecast, save_sheet};
use gambrel::actions::own_yields::{Came, Own, OwnYields, all_packaged, came_home};
use gambrel::actions::plant_entry::{Entry, enter};
use gambrel::actions::remember_yields::Remembered;
use gambrel::actions::tell_packaged::{PackagedIn, tell_packaged};
use gambrel::book::ids::{ProcessorId, ReservationId};
use gambrel::book::plant_entries::{self, Subject};
use gambrel::book::{farm, invoices, packaged, stories};
use gambrel::trade::cuts::sheet::Sheet;
use gambrel::trade::plant_entry::{Boxes, Entered};
use gambrel::trade::sheet_json::Kept;
use gambrel::trade::vocabulary::{PackagedBy, SheetOrigin};
use gambrel::trade::weight::Weight;
use gambrel::trade::yields::Factor;
use rust_decimal::Decimal;
use std::sync::Arc;

fn tell(book: &TestBook, order: ReservationId, source: PackagedBy, weight: &str, seen: i64) -> Result<(), Failure> {
    let weight = (!weight.is_empty()).then(|| lb(weight));
    let input = PackagedIn { weight, on: book.now().today, seen };
    book.try_act(|tx, doing| tell_packaged(tx, doing, order, source, &input))
}

/// For the walk over every page: what came home of a half hog.
pub(crate) fn told(book: &TestBook, order: ReservationId) {
    tell(book, order, PackagedBy::Farm, "57", 0).unwrap();
}

fn collected(book: &TestBook, order: ReservationId) {
    let tick = Tick { by_name: String::new(), at: None, anyway: true };
    book.act(|tx, doing| hand_over(tx, doing, order, &tick));
}

fn counts(book: &TestBook, order: ReservationId) -> Option<(PackagedBy, String)> {
    let told = book.read(|c| Ok(packaged::of(c, &[order])?.remove(&order).unwrap_or_default()));
    told.counts().map(|(source, weight)| (source, weight.short()))
}

fn came(book: &TestBook) -> Vec<Came> {
    let today = book.now().today;
    book.read(|c| {
        let farm = farm::get(c)?;
        came_home(c, &farm, today)
    })
}

/// What own yields say to the standard cut of an order.
fn own(book: &TestBook, order: ReservationId, plant: Option<ProcessorId>) -> Option<Own> {
    let today = book.now().today;
    book.read(|c| {
        let farm = farm::get(c)?;
        let basis = basis(c, &farm, today, order)?;
        let home = forecast(&basis, &Kept::default())?;
        Ok(OwnYields::read(c, &farm, today)?.say(&basis.hanging, &home, plant))
    })
}

#[track_caller]
fn refused(done: Result<(), Failure>, words: &str) {
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

fn plant_says(book: &TestBook, hog: &HungHog, order: ReservationId, packaged: &str) {
    let entered = Entered::Boxes(Boxes { boxes: 3, packaged: Some(lb(packaged)), words: String::new() });
    let entry = Entry { about: Subject::Order(order), seen: 0, entered, by: "Sam".into() };
    book.act(|tx, doing| enter(tx, doing, hog.date, &entry));
    let waiting = book.read(|c| Ok(plant_entries::of_date(c, hog.date)?)).into_iter().find(|e| e.waits()).unwrap();
    let taken = Taken { entry: waiting.id, version: 0, confirmed: String::new() };
    book.act(|tx, doing| take(tx, doing, hog.date, std::slice::from_ref(&taken)));
}

#[test]
fn one_weight_of_a_share_counts_the_farmers_first() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        assert_eq!(counts(book, ines), None);
        refused(tell(book, ines, PackagedBy::Customer, "58", 0), "when you have collected");
        collected(book, ines);
        tell(book, ines, PackagedBy::Customer, "58", 0).unwrap();
        assert_eq!(counts(book, ines), Some((PackagedBy::Customer, "58".into())));
        plant_says(book, &hog, ines, "59.5");
        assert_eq!(counts(book, ines), Some((PackagedBy::Plant, "59.5".into())));
        tell(book, ines, PackagedBy::Farm, "59", 0).unwrap();
        assert_eq!(counts(book, ines), Some((PackagedBy::Farm, "59".into())));
        // Taken back, the processor's counts again.
        tell(book, ines, PackagedBy::Farm, "", 1).unwrap();
        assert_eq!(counts(book, ines), Some((PackagedBy::Plant, "59.5".into())));
        assert_eq!(counts(book, tomas), None, "nobody told anything of the other half");
        sound(book);
    });
}

#[test]
fn what_was_told_before_stays_in_the_story() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, _] = hog.orders;
        refused(tell(book, ines, PackagedBy::Farm, "", 0), "Write what came home");
        tell(book, ines, PackagedBy::Farm, "95", 0).unwrap();
        let lines = |words: &str| {
            let story = book.read(|c| Ok(stories::of_reservation(c, ines)?));
            story.into_iter().filter(|l| l.line.contains(words)).map(|l| (l.line, l.detail)).collect::<Vec<_>>()
        };
        tell(book, ines, PackagedBy::Farm, "95", 1).unwrap();
        assert_eq!(lines("What came home").len(), 1, "said again unchanged it does nothing");
        tell(book, ines, PackagedBy::Farm, "59", 1).unwrap();
        let told = lines("What came home: 59 lb packaged");
        assert!(told[0].1.starts_with("Before it was 95 lb"), "{told:?}");
        assert!(matches!(tell(book, ines, PackagedBy::Farm, "60", 1), Err(Failure::Stale)), "an old form");
        refused(tell(book, ines, PackagedBy::Farm, "99.01", 2), "is more than the 82.5 lb that hung");
        let early = PackagedIn { weight: Some(lb("59")), on: "2027-10-13".parse().unwrap(), seen: 2 };
        refused(
            book.try_act(|tx, doing| tell_packaged(tx, doing, ines, PackagedBy::Farm, &early)),
            "the day it was weighed",
        );
        let late = PackagedIn { on: "2027-10-15".parse().unwrap(), ..early };
        refused(
            book.try_act(|tx, doing| tell_packaged(tx, doing, ines, PackagedBy::Farm, &late)),
            "the day it was weighed",
        );
        assert_eq!(counts(book, ines), Some((PackagedBy::Farm, "59".into())), "nothing that was refused changed it");
        sound(book);
    });
}

#[test]
fn a_share_that_did_not_hang_cannot_come_home() {
    on_each_engine(|book| {
        let hogs = book.hogs();
        let order = book.order(book.customer("Ines Halvard"), hogs, gambrel::trade::share::Size::Half);
        refused(tell(book, order, PackagedBy::Farm, "59", 0), "has no hanging weight");
        assert!(came(book).is_empty());
    });
}

#[test]
fn the_forecast_learns_as_the_formula_says() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        assert_eq!(own(book, ines, Some(hog.plant)), None, "published figures stand alone");
        tell(book, ines, PackagedBy::Farm, "57", 0).unwrap();
        tell(book, tomas, PackagedBy::Farm, "56", 0).unwrap();
        let all = came(book);
        assert_eq!(all.len(), 2);
        let ratio = |order| all.iter().find(|c| c.order == order).unwrap().seen.ratio().unwrap().decimal();
        let by_hand = (Decimal::from(8) + ratio(ines) + ratio(tomas)) / Decimal::TEN;
        let learned = own(book, ines, Some(hog.plant)).unwrap();
        assert!((learned.learned.factor.decimal() - by_hand).abs() <= Decimal::new(1, 6), "{learned:?} {by_hand}");
        assert!(learned.learned.factor < Factor::PUBLISHED, "57 and 56 lb are less than was forecast");
        assert_eq!((learned.learned.shares, learned.learned.alike), (2, 2));
        let forecast = all.iter().find(|c| c.order == ines).unwrap().seen.forecast.expected;
        assert_eq!(learned.expected, learned.learned.factor.of(forecast));
        // Another plant is a wider ring: the two say the same there, but are not alike.
        let other = book.another_plant("Cedar Locker");
        let elsewhere = own(book, ines, Some(other)).unwrap().learned;
        assert_eq!((elsewhere.factor, elsewhere.alike), (learned.learned.factor, 0));
        // Far too little: shown, and not learned from.
        tell(book, tomas, PackagedBy::Farm, "40", 1).unwrap();
        let seen: Vec<bool> = came(book).iter().map(|c| c.seen.counts()).collect();
        assert_eq!(seen.iter().filter(|counts| **counts).count(), 1, "{seen:?}");
        assert_eq!(own(book, ines, Some(hog.plant)).unwrap().learned.shares, 1);
    });
}

/// What pages keep in memory is what the book says, whatever was done in between; and nothing is read twice for nothing.
#[test]
fn what_is_remembered_of_own_yields_is_what_the_book_says() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let kept = Remembered::default();
        let read = || {
            let today = book.now().today;
            book.read(|c| {
                let farm = farm::get(c)?;
                Ok((kept.read(c, &farm, today)?, OwnYields::read(c, &farm, today)?))
            })
        };
        let mut before = read().0;
        let mut after = |what: &str, differs: bool| {
            let (remembered, fresh) = read();
            assert_eq!(*remembered, fresh, "after {what}");
            assert_eq!(*remembered != *before, differs, "after {what}");
            assert!(Arc::ptr_eq(&remembered, &read().0), "nothing changed, nothing is read");
            before = remembered;
        };
        after("nothing", false);
        tell(book, ines, PackagedBy::Farm, "57", 0).unwrap();
        after("it was told", true);
        plant_says(book, &hog, tomas, "56");
        after("the plant told", true);
        tell(book, ines, PackagedBy::Farm, "58", 1).unwrap();
        after("it was corrected", true);
        book.weigh(hog.date, hog.animal, "84", "80");
        after("another weight hung", true);
        let blocks = [("ham_body".to_string(), "grind".to_string())].into();
        let sheet = Sheet { blocks, ..Sheet::default() };
        let sheet = SheetIn { kept: Kept { sheet, ..Kept::default() }, special: String::new() };
        book.act(|tx, doing| save_sheet(tx, doing, ines, 0, &sheet, SheetOrigin::Entered));
        after("a cut sheet with a ground ham", true);
        tell(book, ines, PackagedBy::Farm, "", 2).unwrap();
        after("it was taken back", true);
        book.act(|tx, _| {
            let mut f = farm::get(tx.conn())?;
            f.name = "Another Name".into();
            let version = f.version;
            assert!(farm::save(tx, &f, version)?);
            Ok(())
        });
        after("a setting was changed", false);
        book.clock.advance(400 * DAY);
        after("a year", false);
    });
}

#[test]
fn the_published_forecast_and_every_bill_stay_as_they_were() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let today = book.now().today;
        let published = || {
            book.read(|c| {
                let farm = farm::get(c)?;
                forecast(&basis(c, &farm, today, ines)?, &Kept::default())
            })
        };
        let (before, owed) = (published(), hog.orders.map(|o| book.balance(o)));
        tell(book, ines, PackagedBy::Farm, "57", 0).unwrap();
        tell(book, tomas, PackagedBy::Farm, "56", 0).unwrap();
        let learned = own(book, ines, Some(hog.plant)).unwrap();
        assert_ne!(learned.expected, all_packaged(&before).expected, "own yields say something else");
        let after = published();
        assert_eq!(after, before);
        let parts = [after.packaged.expected, after.bone, after.fat, after.loss, after.shrink];
        assert_eq!(Weight::sum(parts).unwrap(), lb("82.5"), "mass adds up to the hundredth");
        assert_eq!(hog.orders.map(|o| book.balance(o)), owed, "nothing is billed by what came home");
        let invoice = book.issue(ines);
        let issued = || book.read(|c| Ok(invoices::get(c, invoice)?.0));
        let frozen = issued();
        tell(book, ines, PackagedBy::Farm, "60", 1).unwrap();
        assert_eq!((issued(), book.balance(tomas)), (frozen, owed[1]));
        sound(book);
    });
}

/// Whoever wants to bill by own yields would have to name them.
#[test]
fn no_file_that_bills_knows_own_yields() {
    let src = std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src"));
    for file in [
        "trade/invoice.rs",
        "trade/charge.rs",
        "trade/carcass.rs",
        "trade/all_in.rs",
        "book/carcasses.rs",
        "book/invoices.rs",
        "actions/draft_invoice.rs",
        "actions/issue_invoices.rs",
        "actions/record_weights.rs",
        "actions/sheet_cost.rs",
        "actions/estimate_cost.rs",
    ] {
        let text = std::fs::read_to_string(src.join(file)).unwrap();
        for word in ["own_yields", "trade::yields", "packaged::", "packaged_weight", "boxes_of"] {
            assert!(!text.contains(word), "{file} knows “{word}”");
        }
    }
}

#[actix_web::test]
async fn the_farmer_tells_it_on_the_orders_page_and_sees_what_was_learned() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let [ines, _] = hog.orders;
        let app = TestApp::signed_in(&book).await;
        app.get("/animals/yields").await.expect(200).says("Nobody has told yet what came home");
        app.get(&format!("/orders/{ines}/cut-sheet")).await.says("published figures");
        let url = format!("/orders/{ines}/came-home");
        app.get(&format!("/orders/{ines}")).await.says(&url);
        let stale = app.get(&url).await.forms().into_iter().find(|f| f.action == url).unwrap();
        app.submit_to(&url, &url, &[("weight", "heavy")]).await.expect(422).says("heavy");
        let saved = app.submit_to(&url, &url, &[("weight", "57")]).await.expect(303);
        app.follow(&saved).await.says("57 lb").says("Counts");
        app.post(&url, stale.body(&[("weight", "58")])).await.expect(422).says("Keep theirs");
        app.get("/animals/yields").await.expect(200).says("×0.9").says("One share came home");
        app.get(&format!("/orders/{ines}/cut-sheet")).await.says("By your own 1 share (×0.9");
        app.get("/orders/99999/came-home").await.expect(404);
    }
}

#[actix_web::test]
async fn the_weights_of_a_date_are_told_at_once_all_or_none() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        plant_says(&book, &hog, tomas, "56.5");
        let app = TestApp::signed_in(&book).await;
        let url = format!("/dates/{}/came-home", hog.date);
        app.get(&format!("/dates/{}", hog.date)).await.says(&url);
        app.get(&url).await.expect(200).says("56.5 lb by the processor");
        let (first, second) = (format!("weight-{ines}"), format!("weight-{tomas}"));
        let too_much = [(first.as_str(), "57"), (second.as_str(), "560")];
        app.submit_to(&url, &url, &too_much).await.expect(422).says("is more than the 80 lb that hung").says("57");
        assert_eq!(counts(&book, ines), None, "all of it or none");
        let stale = app.get(&url).await.forms().into_iter().find(|f| f.action == url).unwrap();
        app.submit_to(&url, &url, &[(first.as_str(), "57")]).await.expect(303);
        assert_eq!(counts(&book, ines), Some((PackagedBy::Farm, "57".into())));
        assert_eq!(counts(&book, tomas), Some((PackagedBy::Plant, "56.5".into())), "left blank");
        let late = app.post(&url, stale.body(&[(first.as_str(), "58")])).await.expect(422);
        late.says("Somebody told another weight").says("58");
        assert_eq!(counts(&book, ines), Some((PackagedBy::Farm, "57".into())));
    }
}

#[actix_web::test]
async fn a_customer_tells_it_after_collecting_and_of_the_own_order_only() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let [ines, tomas] = hog.orders;
        let app = TestApp::new(&book).await;
        let hers = app.other_browser();
        hers.hold(ines);
        hers.get("/my").await.expect(200).says_not("/my/came-home");
        hers.get("/my/came-home").await.expect(200).says("when you have collected your meat");
        collected(&book, ines);
        hers.get("/my").await.says("/my/came-home");
        hers.submit_to("/my/came-home", "/my/came-home", &[("weight", "990")])
            .await
            .expect(422)
            .says("is more than the 82.5 lb that hung")
            .says("990");
        hers.submit_to("/my/came-home", "/my/came-home", &[("weight", "58.5")]).await.expect(303);
        assert_eq!(counts(&book, ines), Some((PackagedBy::Customer, "58.5".into())));
        assert_eq!(counts(&book, tomas), None);
        let story = book.read(|c| Ok(stories::of_reservation(c, ines)?));
        let line = story.iter().find(|l| l.line.contains("58.5 lb packaged")).unwrap();
        assert_eq!(line.actor, "the customer by private link");
    }
}

#[actix_web::test]
async fn the_estimator_says_what_own_yields_make_of_it() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        book.open_to_everybody(&[hog.offering]);
        let app = TestApp::new(&book).await;
        let url = format!("/farm/estimate/{}?share=half", hog.offering);
        app.get(&url).await.expect(200).says("published cutting yields").says_not("By our own");
        tell(&book, hog.orders[0], PackagedBy::Farm, "57", 0).unwrap();
        app.get(&url).await.expect(200).says("By our own 1 share (×0.99").says("published cutting yields");
    }
}
