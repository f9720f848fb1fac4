//! What animals and lots cost: shared to the cent, corrected, taken back; who sees it; and the page that works out a price.

use crate::support::farm::{day, usd};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::enter_cost::{CostIn, change_cost, enter_cost, take_back_cost};
use gambrel::book::ids::{AnimalId, CostId};
use gambrel::book::{costs, stories};
use gambrel::trade::animal::Class;
use gambrel::trade::costs::{CostKind, SharedBy};
use gambrel::trade::money::Money;

fn cost(book: &TestBook, kind: CostKind, amount: &str, by: SharedBy, animals: &[AnimalId]) -> CostIn {
    CostIn { kind, on: book.now().today, words: String::new(), amount: usd(amount), by, animals: animals.to_vec() }
}

/// For the walk over every page: a cost of the first animal.
pub(crate) fn entered(book: &TestBook, animal: AnimalId) -> CostId {
    let new = cost(book, CostKind::Feed, "240.00", SharedBy::Head, &[animal]);
    book.act(|tx, doing| enter_cost(tx, doing, &new))
}

fn sum(book: &TestBook, animal: AnimalId) -> Option<String> {
    book.read(|c| Ok(costs::per_animal(c, &[animal])?)).remove(&animal).map(Money::plain)
}

#[track_caller]
fn refused<T: std::fmt::Debug>(done: Result<T, Failure>, words: &str) {
    match done {
        Err(Failure::Refused(p)) => assert!(p.0.iter().any(|p| p.sentence.contains(words)), "{p:?}, not “{words}”"),
        other => panic!("not refused: {other:?}"),
    }
}

#[track_caller]
fn sound(book: &TestBook) {
    let (said, holds) = in_words(&book.read(check_book));
    assert!(holds, "{said}");
}

#[test]
fn a_lot_is_shared_evenly_until_all_of_it_hangs_and_then_by_weight() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let other = book.head(Class::Barrow, "42", hog.date);
        let both = [hog.animal, other];
        let new = cost(book, CostKind::Haul, "100.01", SharedBy::Hanging, &both);
        let id = book.act(|tx, doing| enter_cost(tx, doing, &new));
        assert_eq!(both.map(|a| sum(book, a)), [Some("50.01".into()), Some("50.00".into())], "one does not hang yet");
        // 162.50 and 177.50 lb: 100.01 × 162.5 / 340 = 47.799…
        book.weigh(hog.date, other, "90", "87.5");
        assert_eq!(both.map(|a| sum(book, a)), [Some("47.80".into()), Some("52.21".into())]);
        entered(book, other);
        assert_eq!(sum(book, other), Some("292.21".into()));
        let lot = book.read(|c| Ok(costs::get(c, id)?));
        assert_eq!(lot.heads.iter().map(|h| h.part.cents()).sum::<i64>(), 10_001);
        assert_eq!(book.read(|c| Ok(costs::per_animal(c, &both)?)).len(), 2);
        sound(book);
    });
}

#[test]
fn a_cost_is_corrected_and_taken_back_with_a_line_in_every_story() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let other = book.head(Class::Barrow, "42", hog.date);
        let id = entered(book, hog.animal);
        let new = cost(book, CostKind::Feed, "260.00", SharedBy::Head, &[hog.animal, other]);
        book.act(|tx, doing| change_cost(tx, doing, id, &new, 1));
        assert_eq!(sum(book, other), Some("130.00".into()));
        assert!(matches!(book.try_act(|tx, doing| change_cost(tx, doing, id, &new, 1)), Err(Failure::Stale)));
        assert!(matches!(book.try_act(|tx, doing| take_back_cost(tx, doing, id, 1)), Err(Failure::Stale)));
        book.act(|tx, doing| take_back_cost(tx, doing, id, 2));
        assert_eq!([hog.animal, other].map(|a| sum(book, a)), [None, None]);
        refused(book.try_act(|tx, doing| take_back_cost(tx, doing, id, 3)), "was taken back");
        refused(book.try_act(|tx, doing| change_cost(tx, doing, id, &new, 3)), "was taken back");
        let lines = |animal| {
            let story = book.read(|c| Ok(stories::of_animal(c, animal)?));
            story.into_iter().map(|l| l.line).filter(|l| l.contains("cost")).collect::<Vec<_>>()
        };
        assert_eq!(
            lines(hog.animal),
            [
                "Feed, $240.00 was entered as a cost",
                "A cost was “Feed, $240.00” and is “Feed, $260.00 for 2 animals”",
                "The cost “Feed, $260.00 for 2 animals” was taken back"
            ]
        );
        assert_eq!(lines(other).len(), 2, "from when it was added");
        sound(book);
    });
}

#[test]
fn what_cannot_be_a_cost_is_refused() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let good = cost(book, CostKind::Vet, "46.00", SharedBy::Head, &[hog.animal]);
        let try_it = |new: &CostIn| book.try_act(|tx, doing| enter_cost(tx, doing, new));
        refused(try_it(&CostIn { animals: vec![], ..good.clone() }), "Tick the animal");
        refused(try_it(&CostIn { animals: vec![AnimalId(999)], ..good.clone() }), "not in the book");
        refused(try_it(&CostIn { on: day("2999-01-01"), ..good.clone() }), "in the future");
        refused(try_it(&CostIn { amount: Money::ZERO, ..good.clone() }), "above nothing");
        refused(try_it(&CostIn { amount: usd("1000000.01"), ..good.clone() }), "up to $1,000,000.00");
        let twice = CostIn { animals: vec![hog.animal, hog.animal], ..good };
        try_it(&twice).unwrap();
        assert_eq!(sum(book, hog.animal), Some("46.00".into()), "ticked twice it counts once");
        sound(book);
    });
}

#[actix_web::test]
async fn costs_are_entered_on_their_pages_and_stand_on_the_animals() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let other = book.head(Class::Barrow, "42", hog.date);
        let app = TestApp::signed_in(&book).await;
        app.get("/costs").await.expect(200).says("No cost is entered yet");
        let url = format!("/costs/new?date={}", hog.date);
        app.get(&url).await.expect(200).says("Barrow 41").says("Barrow 42");
        let fields = [("kind", "feed"), ("amount", "1o0"), ("words", "Hay")];
        app.submit_to(&url, "/costs/new", &fields).await.expect(422).says("1o0").says("Hay");
        let fields = [("kind", "feed"), ("amount", "100.01"), ("words", "Hay")];
        let saved = app.submit_to(&url, "/costs/new", &fields).await.expect(303);
        app.follow(&saved).await.says("Feed, $100.01 for 2 animals").says("50.01").says("50.00");
        app.get(&format!("/animals/{}", hog.animal)).await.says("50.01").says("0.31 for a lb hanging");
        app.get(&format!("/animals/{other}")).await.says("its part of $100.01").says("50.00");
        app.get("/costs").await.says("$100.01 since January 1").says("Barrow 41 and 1 more");
        // Two browsers change the same cost: the second one is asked.
        let change = "/costs/1/change";
        let stale = app.get(change).await.forms().into_iter().find(|f| f.action == change).unwrap();
        app.submit_to(change, change, &[("amount", "120")]).await.expect(303);
        app.post(change, stale.body(&[("amount", "130")])).await.expect(422).says("Keep theirs").says("120.00");
        let gone = app.submit_to("/costs/1", "/costs/1/take-back", &[]).await.expect(303);
        app.follow(&gone).await.says("Taken back").says("counts nowhere");
        app.get(&format!("/animals/{other}")).await.says("No cost of it is entered");
        app.get("/costs/99").await.expect(404);
    }
}

#[actix_web::test]
async fn a_price_is_worked_out_by_the_worksheet() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        entered(&book, hog.animal);
        let app = TestApp::signed_in(&book).await;
        app.get("/costs/price")
            .await
            .expect(200)
            .says("Michigan State University Extension")
            .says_not("Break-even for");
        // The published case: tests/published/cost.csv, C1. The price of the packaged pound is what the sheet says.
        let url = "/costs/price?go=1&class=steer&live=1300&dress_low=63&yield_low=68&price=3&cost=1950&harvest=100&processing=0.70";
        let page = app.get(url).await.expect(200);
        for figure in ["819.00", "556.92", "$2,457.00", "$673.30", "$3,130.30", "$5.62", "$507.00"] {
            page.says(figure);
        }
        let wanted = app.get("/costs/price?go=1&class=steer&live=1300&cost=1950&profit=500").await.expect(200);
        // 2,450 over 1,300 lb × 58 % and × 66 %.
        wanted.says("To keep $500.00, ask $2.86 to $3.25").says("58–66 %").says("65–70 %");
        app.get("/costs/price?go=1&live=heavy&cost=10").await.expect(422).says("heavy");
        app.get("/costs/price?go=1&live=1300&cost=10&dress_low=70&dress_high=60")
            .await
            .expect(422)
            .says("smaller one first");
        app.get("/costs/price?go=1&live=1300&cost=10&yield_low=0").await.expect(422).says("from 1 to 100");
        app.get(&format!("/costs/price?animal={}", hog.animal)).await.expect(200).says("240.00").says("Barrow");
        app.get("/costs/price?animal=99").await.expect(404);
    }
}
