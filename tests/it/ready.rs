//! Dates for animals that have none: the proposal, and taking it whole or not at all.

use crate::support::farm::{day, lb};
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::care_for_animal::{Given, Weighed, record_live_weight, record_treatment};
use gambrel::actions::propose_dates::{Proposed, Take, propose, take_dates};
use gambrel::actions::send_animal::send_animal;
use gambrel::book::animals;
use gambrel::book::ids::{AnimalId, DateId};
use gambrel::book::undated::undated;
use gambrel::trade::animal::Class;
use gambrel::trade::weight::Unit;

/// A head without a date, with these weighings.
fn head(book: &TestBook, tag: &str, date: DateId, weights: &[(&str, &str)]) -> AnimalId {
    let id = book.head(Class::Barrow, tag, date);
    let version = book.read(|c| Ok(animals::get(c, id)?.version));
    book.act(|tx, doing| send_animal(tx, doing, id, version, None, false));
    for (on, weight) in weights {
        book.act(|tx, doing| record_live_weight(tx, doing, id, day(on), Weighed::Scale(lb(weight))));
    }
    id
}

fn proposal(book: &TestBook) -> Vec<Proposed> {
    let today = book.now().today;
    let all = book.read(|c| Ok(undated(c, today)?));
    propose(&all, Unit::Lb, today).0
}

fn take(p: &Proposed, date: DateId) -> Take {
    Take { animal: p.animal.id, version: p.animal.version, date }
}

#[test]
fn what_is_proposed_can_be_taken_and_a_refused_line_moves_nobody() {
    on_each_engine(|book| {
        let plant = book.plant();
        let (near, far) = (book.date(plant, "2027-10-28"), book.date(plant, "2027-12-16"));
        // 2 lb a day; 260 lb is the usual target: reached on October 26 and on December 15.
        let first = head(book, "41", near, &[("2027-09-10", "168"), ("2027-10-10", "228")]);
        let second = head(book, "42", near, &[("2027-09-10", "68"), ("2027-10-10", "128")]);
        let barred = head(book, "43", near, &[("2027-09-10", "168"), ("2027-10-10", "228")]);
        let unknown = head(book, "44", near, &[]);
        let given = Given {
            product: "An invented one".into(),
            last_dose_on: day("2027-10-13"),
            last_dose_time: String::new(),
            withdrawal_days: 28,
            notes: String::new(),
        };
        book.act(|tx, doing| record_treatment(tx, doing, barred, &given));
        let lines = proposal(book);
        let of = |id| lines.iter().find(|p| p.animal.id == id).unwrap();
        assert_eq!(of(first).date, Some((near, day("2027-10-28"))));
        assert_eq!(of(first).why, "2 days after its target weight.");
        assert_eq!(of(second).date.map(|d| d.0), Some(far));
        assert_eq!(of(barred).date.map(|d| d.0), Some(far), "{:?}", of(barred));
        assert_eq!(of(unknown).date, None);
        assert!(of(unknown).why.contains("No live weight"), "{}", of(unknown).why);
        // The second line is inside a withdrawal period: neither goes.
        let wrong = [take(of(first), near), take(of(barred), near)];
        let Err(Failure::Refused(p)) = book.try_act(|tx, doing| take_dates(tx, doing, &wrong)) else { panic!() };
        assert!(p.0[0].sentence.starts_with("Barrow 43: ") && p.0[0].sentence.contains("withdrawal"), "{p:?}");
        assert_eq!(book.read(|c| Ok(animals::get(c, first)?.date_id)), None);
        let right: Vec<_> = lines.iter().filter_map(|p| p.date.map(|(d, _)| take(p, d))).collect();
        assert_eq!(book.act(|tx, doing| take_dates(tx, doing, &right)), 3);
        let again = book.try_act(|tx, doing| take_dates(tx, doing, &right));
        assert!(matches!(again, Err(Failure::Refused(_))), "they have their dates by now");
        assert_eq!(proposal(book).len(), 1);
    });
}

#[actix_web::test]
async fn the_page_proposes_and_takes_what_is_ticked() {
    for book in TestBook::each() {
        let near = book.date(book.plant(), "2027-10-28");
        let first = head(&book, "41", near, &[("2027-09-10", "168"), ("2027-10-10", "228")]);
        let second = head(&book, "42", near, &[("2027-09-10", "170"), ("2027-10-10", "230")]);
        let app = TestApp::signed_in(&book).await;
        let page = app.get("/animals/dates").await.expect(200);
        let text = page.text();
        for says in ["A proposal, not a promise", "Barrow 41", "2.00 lb a day", "6 spare", "target 260"] {
            assert!(text.contains(says), "{says} is missing:\n{text}");
        }
        app.submit_to("/animals/dates", "/animals/dates", &[("take", "x")]).await.expect(422);
        let version = book.read(|c| Ok(animals::get(c, first)?.version));
        let one = format!("{first}-{version}-{near}");
        app.submit_to("/animals/dates", "/animals/dates", &[("take", &one)]).await.expect(303);
        let dates = [first, second].map(|id| book.read(|c| Ok(animals::get(c, id)?.date_id)));
        assert_eq!(dates, [Some(near), None]);
    }
}
