//! The pages of the plan: what they show, and every button on them.

use crate::plan_book::{where_is, yard};
use crate::support::page::Form;
use crate::support::{Page, TestApp, TestBook};
use gambrel::actions::place_share::Spot;
use gambrel::book::place_locks;
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};

/// The form that takes, locks and plans again.
#[track_caller]
fn plan_form(page: &Page) -> Form {
    page.forms()
        .into_iter()
        .find(|f| f.post && f.action == "/plan")
        .unwrap_or_else(|| panic!("no form\n{}", page.text()))
}

#[actix_web::test]
async fn without_head_or_orders_the_page_says_what_comes_first() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    app.get("/plan").await.expect(200).says("No head has a coming date").says("Nothing to move");
    book.head(Class::Steer, "211", book.date(book.plant(), "2027-11-04"));
    app.get("/plan").await.expect(200).says("No open order wants a share");
}

#[actix_web::test]
async fn a_plan_is_looked_at_planned_again_taken_told_and_taken_back() {
    let book = TestBook::sqlite();
    let y = yard(&book);
    book.place(y.halves[0], y.steers[0], Side::Left);
    let app = TestApp::signed_in(&book).await;
    app.get("/").await.says("Three shares wait for a place").says("Look at the plan");
    for url in ["/animals", "/dates", "/orders"] {
        app.get(url).await.says("href=\"/plan\"");
    }
    let page = app.get("/plan").await.expect(200);
    page.says("Three shares can get a place")
        .says("One share stays where it is. Nobody is left out.")
        .says("Proven: by the rules of the plan")
        .says("It stays on Steer 211 for November 4, 2027")
        .says("Any date suits it")
        .says("Custom-exempt: every quarter must have an owner")
        .says("Proposed, ")
        .says("Now, ")
        .says("plan.js?v=");
    // Nothing moves by looking, nor by planning again around a choice, which stays chosen.
    let field = format!("to-{}", y.quarters[0]);
    let there = format!("{}-right", y.steers[3]);
    let again = app.post("/plan", plan_form(&page).body(&[("act", "again"), (&field, &there)])).await.expect(200);
    again.says("You put it there.").says(&format!("value=\"{there}\" selected"));
    assert_eq!(where_is(&book, y.quarters[0]), None);
    // Held where it was proposed.
    let held = plan_form(&again).value("line").split('_').next().unwrap().to_string();
    assert!(!held.is_empty());
    // Ticked changes only: all ticks off but the choice made by hand.
    let some = app.post("/plan", plan_form(&again).body(&[("act", "some"), ("take", "")])).await;
    some.expect(422).says("A line is not of this page");
    let form = plan_form(&again);
    let keep: Vec<(String, String)> = form.fields.iter().filter(|(n, _)| n != "take").cloned().collect();
    let mine = Form { action: form.action.clone(), post: true, fields: keep, typed: vec![] };
    let none = app.post("/plan", mine.body(&[("act", "some")])).await;
    none.expect(422).says("Tick at least one share");
    let hand = form.fields.iter().find(|(n, v)| n == "take" && v.starts_with(&format!("{}_", y.quarters[0]))).unwrap();
    let taken = app.post("/plan", mine.body(&[("act", "some"), ("take", &hand.1)])).await;
    let url = taken.expect(303).location().to_string();
    assert_eq!(where_is(&book, y.quarters[0]), Some((y.steers[3], Spot::Side(Side::Right))));
    assert_eq!(where_is(&book, y.halves[1]), None, "it was not ticked");
    app.get(&url)
        .await
        .says("One share has a new place")
        .says("Steer 214, right side (Nov 18)")
        .says("Before: No place")
        .says("Not told")
        .says("Quarter beef, order");
    // The form of before is stale now: nothing moves, and the new proposal stands below.
    let stale = app.post("/plan", plan_form(&page).body(&[("act", "all")])).await.expect(422);
    stale.says("The book has changed since this was proposed").says("Take all of it");
    assert_eq!(where_is(&book, y.halves[1]), None);
    // Taken from the refused page at once.
    let all = app.post("/plan", plan_form(&stale).body(&[("act", "all"), (&field, "")])).await;
    let second = all.expect(303).location().to_string();
    assert!(where_is(&book, y.halves[1]).is_some());
    app.get("/plan").await.says("Nothing to move").says("Last taken");
    // Told, once.
    app.submit_to(&second, &format!("{second}/tell"), &[]).await.expect(303);
    app.get(&second).await.says("Written to").says_not("Write to the ticked");
    let told = app.get(&second).await;
    told.says("Everybody was written to");
    app.submit_to(&second, &format!("{second}/undo"), &[]).await.expect(303);
    assert_eq!(where_is(&book, y.halves[1]), None);
    app.get(&second).await.says("it was taken back since").says_not("Take the plan back");
    app.get(&url).await.says("Only the last one can be taken back");
    app.get("/plan/accepted/99").await.expect(404);
}

#[actix_web::test]
async fn species_keeping_and_opening_are_chosen_and_locks_are_set_from_the_page() {
    let book = TestBook::sqlite();
    let y = yard(&book);
    let hogs = book.offering(Species::Hog, 2, "5.25");
    book.order(book.customer("Hog Owner"), hogs, Size::Half);
    book.place(y.halves[0], y.steers[0], Side::Left);
    let app = TestApp::signed_in(&book).await;
    app.get("/plan").await.says("Hog Owner").says("There is no hog head with a date");
    let beef = app.get("/plan?set=1&species=beef&from=4").await.expect(200);
    beef.says_not("Hog Owner").says_not("name=\"keep\" value=\"yes\" checked").says("<option value=\"4\" selected");
    // What the form carries, the next page keeps.
    let again = app.post("/plan", plan_form(&beef).body(&[("act", "again")])).await.expect(200);
    again.says_not("Hog Owner").says("<option value=\"4\" selected");
    let lock = format!("lock-{}", y.halves[0]);
    let page = app.get("/plan?set=1&species=beef&keep=yes").await;
    let to = app.post("/plan", plan_form(&page).body(&[("act", &lock)])).await.expect(303).location().to_string();
    assert_eq!(to, "/plan?set=1&species=beef&keep=yes&from=1");
    assert!(book.read(|c| Ok(place_locks::of(c, &[y.halves[0]])?)).contains(&y.halves[0]));
    let page = app.get(&to).await;
    page.says("It is locked on Steer 211").says("Unlock it");
    let unlock = format!("unlock-{}", y.halves[0]);
    app.post("/plan", plan_form(&page).body(&[("act", &unlock)])).await.expect(303);
    assert!(book.read(|c| Ok(place_locks::of(c, &[y.halves[0]])?)).is_empty());
    // The farm's own setting is where the page begins.
    app.submit("/settings/plan", &[("open_custom_from", "5")]).await.expect(422);
    app.submit("/settings/plan", &[("open_custom_from", "3")]).await.expect(303);
    app.get("/plan").await.says("<option value=\"3\" selected");
    app.get("/settings").await.says("from 3 quarters on");
    // Odd settings are as usual.
    app.get("/plan?species=cow&from=9&keep=maybe").await.expect(200).says("<option value=\"3\" selected");
}

#[actix_web::test]
async fn what_cannot_be_by_hand_is_said_and_the_plan_stands_without_it() {
    let book = TestBook::sqlite();
    let y = yard(&book);
    book.place(y.halves[0], y.steers[0], Side::Left);
    book.act(|tx, doing| gambrel::actions::ask_place::lock_place(tx, doing, y.halves[0], true));
    let app = TestApp::signed_in(&book).await;
    let page = app.get("/plan").await;
    let field = format!("to-{}", y.halves[1]);
    let there = format!("{}-left", y.steers[0]);
    let refused = app.post("/plan", plan_form(&page).body(&[("act", "again"), (&field, &there)])).await.expect(422);
    refused.says("The half of Greta Fenn: There is no room for it on Steer 211").says("Three shares can get a place");
    // A forged choice is no better.
    let odd = app.post("/plan", plan_form(&page).body(&[("act", "all"), (&field, "999-left")])).await;
    odd.expect(422).says("no coming date");
    assert_eq!(where_is(&book, y.halves[1]), None);
}

#[actix_web::test]
async fn a_sheet_that_does_not_fit_the_animal_is_shown_before_and_after_it_is_taken() {
    let book = TestBook::sqlite();
    let y = yard(&book);
    crate::plan_book::all_born(&book, "2025-01-10");
    crate::plan_book::t_bones(&book, y.halves[0]);
    let app = TestApp::signed_in(&book).await;
    let page = app.get("/plan").await;
    page.says("9 CFR 310.22").says("Open the cut sheet");
    let url = app.post("/plan", plan_form(&page).body(&[("act", "all")])).await.expect(303).location().to_string();
    app.get(&url).await.says("Cut sheets to look at").says("9 CFR 310.22");
}
