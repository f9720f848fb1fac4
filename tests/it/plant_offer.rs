//! What a processor does with a species: kept, shown by the forms, and every cut sheet held against it.

use crate::support::farm::lb;
use crate::support::page::Form;
use crate::support::{Page, TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::book_date::{DateFacts, change_date};
use gambrel::actions::cut_sheet::{SheetIn, save_sheet};
use gambrel::actions::plant_offer::{Unfit, look, save_offer, unfit_ahead};
use gambrel::actions::sheet_open::{Became, send_sheet};
use gambrel::actions::sheet_time::standard_now;
use gambrel::book::ids::{DateId, ProcessorId, ReservationId};
use gambrel::book::{dates, farm, sheets, stories};
use gambrel::trade::animal::Class;
use gambrel::trade::cuts::offer::{Batch, Offer, Service};
use gambrel::trade::cuts::sheet::{Sausage, Sheet};
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::sheet_json::Kept;
use gambrel::trade::vocabulary::SheetOrigin;

/// A date a week ahead at a plant, with a hog of two halves.
struct Coming {
    date: DateId,
    orders: [ReservationId; 2],
}

fn coming(book: &TestBook, plant: ProcessorId) -> Coming {
    let (offering, date) = (book.hogs(), book.date(plant, "2027-10-21"));
    let animal = book.head(Class::Barrow, "41", date);
    let orders = [("Ines Halvard", Side::Left), ("Tomas Wren", Side::Right)].map(|(name, side)| {
        let order = book.order(book.customer(name), offering, Size::Half);
        book.place(order, animal, side);
        order
    });
    Coming { date, orders }
}

fn no_smoking() -> Offer {
    Offer { without_services: [Service::Cure].into(), ..Offer::default() }
}

fn says(book: &TestBook, plant: ProcessorId, offer: &Offer) {
    let (_, version) = book.read(|c| look(c, plant, Species::Hog));
    book.act(|tx, doing| save_offer(tx, doing, plant, Species::Hog, version, offer));
}

fn save(book: &TestBook, order: ReservationId, input: &SheetIn) -> Result<i64, Failure> {
    let version = book.read(|c| Ok(sheets::of(c, &[order])?)).get(&order).map_or(0, |s| s.version);
    book.try_act(|tx, doing| save_sheet(tx, doing, order, version, input, SheetOrigin::Entered))
}

fn stored(book: &TestBook, order: ReservationId) -> String {
    book.read(|c| Ok(sheets::of(c, &[order])?))[&order].sheet.clone()
}

fn chosen(blocks: &[(&str, &str)]) -> SheetIn {
    let blocks = blocks.iter().map(|(a, b)| ((*a).to_string(), (*b).to_string())).collect();
    SheetIn { kept: Kept { sheet: Sheet { blocks, ..Sheet::default() }, ..Kept::default() }, special: String::new() }
}

fn unfit(book: &TestBook) -> Vec<Unfit> {
    let today = book.now().today;
    book.read(|c| {
        let farm = farm::get(c)?;
        unfit_ahead(c, &farm, today, None)
    })
}

/// The form of the plant's page without these ticks.
fn without(page: &Page, ticks: &[(&str, &str)]) -> Form {
    let mut form = page.forms().into_iter().find(|f| f.fields.iter().any(|(n, _)| n == "services")).unwrap();
    form.fields.retain(|(name, value)| !ticks.contains(&(name.as_str(), value.as_str())));
    form
}

#[track_caller]
fn refused<T: std::fmt::Debug>(outcome: Result<T, Failure>) -> Vec<(String, String)> {
    match outcome {
        Err(Failure::Refused(p)) => p.0.into_iter().map(|p| (p.field, p.sentence)).collect(),
        other => panic!("not refused: {other:?}"),
    }
}

#[test]
fn an_offer_is_kept_under_its_version_and_a_useless_one_is_refused() {
    on_each_engine(|book| {
        let plant = book.plant();
        assert_eq!(book.read(|c| look(c, plant, Species::Hog)), (Offer::default(), 0), "it does everything");
        says(book, plant, &no_smoking());
        assert_eq!(book.read(|c| look(c, plant, Species::Hog)), (no_smoking(), 1));
        assert_eq!(book.read(|c| look(c, plant, Species::Beef)), (Offer::default(), 0), "of beef it said nothing");
        for stale in [0, 2] {
            let outcome =
                book.try_act(|tx, doing| save_offer(tx, doing, plant, Species::Hog, stale, &Offer::default()));
            assert!(matches!(outcome, Err(Failure::Stale)), "{stale}: {outcome:?}");
        }
        let choices = ["fresh", "smoked", "grind"].map(String::from).into();
        let useless = Offer { without_choices: [("hind_hock".into(), choices)].into(), ..Offer::default() };
        let said = refused(book.try_act(|tx, doing| save_offer(tx, doing, plant, Species::Hog, 1, &useless)));
        assert_eq!(said[0].0, "block-hind_hock");
        assert_eq!(book.read(|c| look(c, plant, Species::Hog)).0, no_smoking(), "nothing was changed");
    });
}

#[test]
fn a_sheet_is_held_against_the_processor_of_its_date() {
    on_each_engine(|book| {
        let plant = book.plant();
        let at = coming(book, plant);
        let [ines, tomas] = at.orders;
        let limits = Offer { least: [(Batch::Link, lb("15"))].into(), no_wishes: true, ..no_smoking() };
        says(book, plant, &limits);
        let mut wish = chosen(&[("belly", "bacon")]);
        wish.special = "Thick rind".into();
        wish.kept.sheet.sausage = vec![Sausage { seasoning: "chorizo".into(), form: "link".into(), weight: lb("6") }];
        let said = refused(save(book, ines, &wish));
        let at_field = |field: &str| said.iter().find(|(f, _)| f == field).map_or("", |(_, s)| s.as_str());
        assert!(at_field("block-belly").contains("does no curing and smoking"), "{said:?}");
        assert!(at_field("sausage-1-weight").contains("from 15 lb"), "{said:?}");
        assert!(at_field("special").contains("no wishes in words"), "{said:?}");
        assert_eq!(said.len(), 3, "the ham that was left open is a fresh one there: {said:?}");
        assert!(book.read(|c| Ok(sheets::of(c, &at.orders)?)).is_empty());

        // What is left open is written out where it is not what is usual, for the customer's form and the standard cut too.
        let became = book
            .act(|tx, doing| send_sheet(tx, doing, ines, 0, &chosen(&[("belly", "fresh_slab")]), SheetOrigin::Entered));
        assert_eq!(became, Became::Saved(1));
        assert!(stored(book, ines).contains("\"ham_body\":\"fresh_bone_in\""), "{}", stored(book, ines));
        book.act(|tx, doing| standard_now(tx, doing, at.date, tomas));
        assert!(stored(book, tomas).contains("\"belly\":\"fresh_side_sliced\""), "{}", stored(book, tomas));
        assert_eq!(unfit(book), []);
        // A share without a date can have everything.
        let open = book.order(book.customer("Owen Sandoz"), book.hogs(), Size::Half);
        assert_eq!(save(book, open, &chosen(&[("belly", "bacon")])).unwrap(), 1);
    });
}

#[test]
fn another_processor_another_date_or_a_changed_offer_tell_which_sheets_do_not_fit() {
    on_each_engine(|book| {
        let (smokes, plant) = (book.plant(), book.another_plant("Tannery Lane"));
        says(book, plant, &no_smoking());
        let at = coming(book, smokes);
        let [ines, tomas] = at.orders;
        save(book, ines, &chosen(&[("belly", "bacon")])).unwrap();
        let fresh = [("ham_body", "grind"), ("belly", "fresh_slab"), ("hind_hock", "fresh"), ("fore_hock", "fresh")];
        save(book, tomas, &chosen(&fresh)).unwrap();
        assert_eq!(unfit(book), []);

        let (date, _) = book.read(|c| Ok(dates::get(c, at.date)?));
        let facts = |processor| DateFacts {
            processor,
            kill_on: date.kill_on,
            deliver_on: None,
            deliver_time: String::new(),
            sheets_due: date.sheets_due,
            pickup_from: None,
            pickup_to: None,
            notes: String::new(),
            slots: vec![(Species::Hog, 3)],
        };
        book.act(|tx, doing| change_date(tx, doing, at.date, date.version, &facts(plant)));
        let all = unfit(book);
        assert_eq!(
            all.iter().map(|u| (u.date, u.reservation, u.name.as_str())).collect::<Vec<_>>(),
            [(at.date, ines, "Ines Halvard")]
        );
        let why = all[0].why.join(" ");
        assert!(why.contains("Tannery Lane does no curing and smoking") && why.contains("bacon"), "{why}");
        let told = book.read(|c| Ok(stories::of_date(c, at.date)?));
        assert!(told.iter().any(|l| l.line.contains("not do all of the cut sheets of Ines Halvard")), "{told:?}");

        // Moved to a date of a plant that smokes, it fits; the plant changes its mind, and it does not.
        let there = book.date(smokes, "2027-10-22");
        let animal = book.head(Class::Barrow, "42", there);
        book.place(ines, animal, Side::Left);
        assert_eq!(unfit(book), []);
        says(book, smokes, &no_smoking());
        assert_eq!(unfit(book).iter().map(|u| (u.date, u.reservation)).collect::<Vec<_>>(), [(there, ines)]);
        save(book, ines, &chosen(&fresh)).unwrap();
        assert_eq!(unfit(book), [], "changed, it fits again");
    });
}

#[actix_web::test]
async fn the_farmer_ticks_what_a_plant_does_and_sees_what_does_not_fit() {
    for book in TestBook::each() {
        let plant = book.plant();
        let at = coming(&book, plant);
        let [ines, _] = at.orders;
        save(&book, ines, &chosen(&[("belly", "bacon")])).unwrap();
        let app = TestApp::signed_in(&book).await;
        let url = format!("/processors/{plant}/offer/hog");
        app.get(&format!("/processors/{plant}")).await.says("Cuts of hog").says("Not asked yet");
        let page = app.get(&url).await.expect(200);
        assert_eq!(
            page.text().matches("type=\"checkbox\"").count(),
            page.text().matches(" checked").count(),
            "all ticked"
        );
        page.says("planning figure of ours, without a source").says("Cured and smoked bacon, sliced");

        // Without the box for curing.
        let saved = app.post(&url, without(&page, &[("services", "cure")]).body(&[])).await.expect(303);
        assert_eq!(saved.location(), format!("/processors/{plant}"));
        app.get(&format!("/processors/{plant}"))
            .await
            .says("One cut sheet does not fit: Ines Halvard")
            .says("Some left out");
        // The same form again is an old one.
        let again = without(&app.get(&url).await, &[]);
        assert!(!again.fields.contains(&("services".into(), "cure".into())), "what was saved is shown");
        let stale = app.post(&url, again.body(&[("version", "0")])).await;
        assert_eq!(stale.status, 422);
        stale.says("Somebody else saved this").says("Keep theirs");

        app.get("/").await.says("One cut sheet does not fit Pell Road Meats").says("See what does not fit");
        let page = app.get(&format!("/dates/{}/sheets", at.date)).await.expect(200);
        page.says("What Pell Road Meats does not do").says("does no curing and smoking").says("Does not fit");
        let packet = app.get(&format!("/dates/{}/packet", at.date)).await.expect(200);
        packet.says("does not do everything on one of these sheets").says("Does not fit");
        let sheet = app.get(&format!("/orders/{ines}/cut-sheet")).await.expect(200);
        sheet.says("(not done there)").says("Standard: fresh ham, bone in").says_not("Cured and smoked picnic");
        let refused = app.submit(&format!("/orders/{ines}/cut-sheet"), &[]).await;
        assert_eq!(refused.status, 422);
        refused.says("so there is no “cured and smoked bacon, sliced”");
        let saved = app.submit(&format!("/orders/{ines}/cut-sheet"), &[("block-belly", "fresh_slab")]).await;
        assert_eq!(saved.status, 303);
        app.get("/").await.says_not("does not fit");

        // A block with nothing ticked is refused, and what was ticked is kept.
        let page = app.get(&url).await;
        let hock = ["fresh", "smoked", "grind"].map(|choice| ("block-hind_hock", choice));
        let none = without(&page, &hock);
        let refused = app.post(&url, none.body(&[])).await;
        assert_eq!(refused.status, 422);
        refused.says("left for the hind hock");
        assert_eq!(app.get(&format!("/processors/{plant}/offer/horse")).await.status, 404);
    }
}
