//! Who may open what: every route of the table asked by everybody, and what helpers see.

use crate::security::{address, routes};
use crate::support::app::{PASSWORD, is_calm};
use crate::support::{Page, TestApp, TestBook};
use crate::web_frame::{crawl, filled};
use diesel::prelude::*;
use gambrel::actions::accounts::{Browser, sign_in};
use gambrel::actions::let_in::{self, PersonIn};
use gambrel::book::accounts;
use gambrel::book::ids::{DateId, ReservationId};
use gambrel::book::schema::{invoice, payment, processing_date, reservation};
use gambrel::trade::money::Money;
use gambrel::trade::vocabulary::Role;

const HELPER: &str = "nils@nettlebend.example";
const THEIR_PASSWORD: &str = "hay before the rain comes";

/// A browser in which a helper is signed in.
fn helper(app: &TestApp, book: &TestBook) -> TestApp {
    let input = PersonIn { name: "Nils Aro".into(), mail: HELPER.into(), role: Role::Helper };
    if book.read(|c| Ok(accounts::by_mail(c, HELPER)?)).is_none() {
        let token = gambrel::secret::token().unwrap();
        book.act(|tx, doing| let_in::add_person(tx, doing, &input, &token));
    }
    let (other, browser) = (app.other_browser(), Browser::new("a test").unwrap());
    let at = app.app.clock.at();
    let account = book.read(|c| Ok(accounts::by_mail(c, HELPER)?)).unwrap();
    app.app.store.write(|tx| sign_in(tx, account.id, at, &browser)).unwrap();
    other.set_cookie(app.app.cookie_name(), &browser.token);
    other
}

fn orders(book: &TestBook) -> Vec<ReservationId> {
    book.read(|c| Ok(reservation::table.select(reservation::id).order(reservation::id).load(c)?))
}

fn dates(book: &TestBook) -> Vec<DateId> {
    book.read(|c| Ok(processing_date::table.select(processing_date::id).order(processing_date::id).load(c)?))
}

/// How a page was answered: its status, and where it leads without what stands behind a question mark.
fn answered(page: &Page) -> String {
    match page.status {
        303 => format!("303 {}", page.location().split('?').next().unwrap()),
        status => status.to_string(),
    }
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Who {
    Farmer,
    Helper,
    /// The customer whose order, invoice and receipt have the number 1.
    Customer,
    /// Another one.
    Other,
    /// The plant of the date with the number 1.
    Plant,
    /// The plant of another date.
    OtherPlant,
    Nobody,
}

const EVERYBODY: [Who; 7] =
    [Who::Farmer, Who::Helper, Who::Customer, Who::Other, Who::Plant, Who::OtherPlant, Who::Nobody];

/// A fresh browser: some routes sign out, and those that take passwords count tries.
fn browser(app: &TestApp, book: &TestBook, who: Who) -> TestApp {
    let all = orders(book);
    let other = app.other_browser();
    match who {
        Who::Farmer => other.begin_session(),
        Who::Helper => return helper(app, book),
        Who::Customer => other.hold(all[0]),
        Who::Other => other.hold(all[1]),
        Who::Plant => other.at_the_plant(dates(book)[0], "Lena Ott"),
        Who::OtherPlant => other.at_the_plant(dates(book)[1], "Lena Ott"),
        Who::Nobody => {}
    }
    other
}

/// The whole table as a page of text, and what must hold whatever stands in it.
#[actix_web::test]
async fn every_route_answers_everybody_as_it_should() {
    let book = filled();
    let mut lines = Vec::new();
    let mut table = routes();
    table.sort();
    table.dedup();
    for (method, pattern, _) in table {
        let url = address(&pattern);
        // Tries are counted per service.
        let app = TestApp::new(&book).await;
        if book.read(|c| Ok(accounts::count(c)?)) == 0 {
            app.make_account();
        }
        let mut line = format!("{:<5}{pattern:<46}", method.to_uppercase());
        let mut all = Vec::new();
        for who in EVERYBODY {
            let browser = browser(&app, &book, who);
            let page = if method == "get" { browser.get(&url).await } else { browser.post(&url, "x=1".into()).await };
            assert!(is_calm(page.status), "{method} {url} answered {who:?} with {}", page.status);
            line.push_str(&format!("{:<22}", answered(&page)));
            all.push((who, page.status, page.location().to_string()));
        }
        let of = |who: Who| all.iter().find(|a| a.0 == who).unwrap();
        let is_theirs = url == "/my" || url.starts_with("/my/");
        let is_open = all.iter().all(|a| (a.1, &a.2) == (all[0].1, &all[0].2));
        if is_theirs {
            for who in [Who::Farmer, Who::Helper, Who::Plant, Who::OtherPlant, Who::Nobody] {
                assert_eq!((of(who).1, of(who).2.as_str()), (303, "/lost-link"), "{method} {url} and {who:?}");
            }
        } else if url == "/plant" || url.starts_with("/plant/") {
            for who in [Who::Farmer, Who::Helper, Who::Customer, Who::Other, Who::Nobody] {
                assert_eq!((of(who).1, of(who).2.as_str()), (303, "/lost-plant-link"), "{method} {url} and {who:?}");
            }
        } else if !is_open {
            for who in [Who::Customer, Who::Other, Who::Plant, Who::OtherPlant, Who::Nobody] {
                assert_eq!(of(who).1, 303, "{method} {url} and {who:?}");
                assert!(of(who).2.starts_with("/sign-in"), "{method} {url} leads {who:?} to {}", of(who).2);
            }
            assert_ne!(of(Who::Farmer).1, 403, "{method} {url} is closed to the farmer");
        }
        lines.push(line.trim_end().to_string());
    }
    let heads = ["FARMER", "HELPER", "CUSTOMER", "ANOTHER", "PLANT", "ANOTHER PLANT", "SIGNED OUT"]
        .map(|h| format!("{h:<22}"))
        .concat();
    insta::assert_snapshot!(format!("{:51}{}\n{}", "", heads.trim_end(), lines.join("\n")));
}

/// Every amount that the book holds, as pages write it.
fn amounts(book: &TestBook) -> Vec<String> {
    let mut all: Vec<Money> = book.read(|c| Ok(invoice::table.select(invoice::farm_total).load(c)?));
    all.extend(book.read(|c| Ok(payment::table.select(payment::amount).load::<Money>(c)?)));
    all.extend(book.read(|c| Ok(reservation::table.select(reservation::deposit_asked).load::<Money>(c)?)));
    all.into_iter().filter(|m| m.is_positive()).map(|m| m.shown()).collect()
}

/// A helper finds no amount of money on any page, and no link or button that is closed.
#[actix_web::test]
async fn a_helper_sees_no_money_and_no_closed_door() {
    let book = filled();
    let app = TestApp::signed_in(&book).await;
    let amounts = amounts(&book);
    assert!(amounts.len() > 5, "{amounts:?}");
    let farmers = crawl(&app).await;
    let shown = |pages: &std::collections::BTreeMap<String, Page>, amount: &str| {
        pages.values().any(|p| p.header("content-type").starts_with("text/html") && p.text().contains(amount))
    };
    assert!(amounts.iter().any(|a| shown(&farmers, a)), "the farmer sees none of {amounts:?}");
    let helper = helper(&app, &book);
    let pages = crawl(&helper).await;
    assert!(pages.len() > 15, "only {:?}", pages.keys());
    let mut wrong = Vec::new();
    for (url, page) in &pages {
        if page.status != 200 {
            let leads = |p: &Page| p.links().iter().any(|l| l.split('#').next() == Some(url));
            let from: Vec<_> = pages.iter().filter(|(_, p)| p.status == 200 && leads(p)).map(|(u, _)| u).collect();
            wrong.push(format!("{url} answers {} and is linked from {from:?}", page.status));
            continue;
        }
        if !page.header("content-type").starts_with("text/html") {
            continue;
        }
        let html = page.text();
        for (at, _) in html.match_indices('$') {
            if html[at + 1..].starts_with(|c: char| c.is_ascii_digit()) {
                wrong.push(format!("{url} shows {}", html[at..].split('<').next().unwrap()));
            }
        }
        for amount in amounts.iter().filter(|a| html.contains(&format!(">{a}<"))) {
            wrong.push(format!("{url} shows {amount}"));
        }
        for form in page.forms() {
            let action = form.action.split('?').next().unwrap();
            let answer = if form.post { helper.post(action, "x=1".into()).await } else { helper.get(action).await };
            if answer.status == 403 {
                wrong.push(format!("{url} has a form to {action}, which is closed"));
            }
            if action == "/sign-out" {
                return_in(&helper, &app, &book);
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Signs the helper in again.
fn return_in(browser: &TestApp, app: &TestApp, book: &TestBook) {
    let fresh = helper(app, book);
    browser.set_cookie(app.app.cookie_name(), &fresh.cookie(app.app.cookie_name()).unwrap());
}

#[actix_web::test]
async fn a_person_is_let_in_chooses_a_password_and_is_switched_off() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let asked = [("name", "Nils Aro"), ("mail", "Nils@NettleBend.example"), ("role", "helper")];
        let with = |more: &[(&'static str, &'static str)]| [&asked[..], more].concat();
        app.submit_to("/settings/accounts", "/settings/accounts", &with(&[("password", "not these words")]))
            .await
            .expect(422)
            .says("That is not the password you sign in with")
            .says("Nils Aro");
        let page = app.submit_to("/settings/accounts", "/settings/accounts", &with(&[("password", PASSWORD)])).await;
        let page = page.expect(200);
        let link = page.text().split("/sign-in/new/").nth(1).unwrap().split('<').next().unwrap().to_string();
        app.get("/settings/accounts").await.expect(200).says("No password chosen yet");
        app.submit_to("/settings/accounts", "/settings/accounts", &with(&[("password", PASSWORD)]))
            .await
            .expect(422)
            .says("signs in with this address already");

        let theirs = app.other_browser();
        theirs.submit(&format!("/sign-in/new/{link}"), &[("new", THEIR_PASSWORD)]).await.expect(303);
        theirs.get(&format!("/sign-in/new/{link}")).await.expect(404);
        theirs.submit("/sign-in", &[("mail", HELPER), ("password", THEIR_PASSWORD)]).await.expect(303);
        theirs.get("/animals").await.expect(200).says("Signed in as").says_not("/settings");
        theirs.get("/money").await.expect(403).says("This account may not do that");

        // Nobody switches their own account off; a helper switches nobody's.
        let own = book.read(|c| Ok(accounts::by_mail(c, crate::support::app::MAIL)?)).unwrap();
        let nils = book.read(|c| Ok(accounts::by_mail(c, HELPER)?)).unwrap();
        let form = |page: &Page| page.forms().into_iter().find(|f| f.action.ends_with("/switch")).unwrap();
        let switch = form(&app.get("/settings/accounts").await);
        assert_eq!(switch.action, format!("/settings/accounts/{}/switch", nils.id));
        let forged = format!("/settings/accounts/{}/switch", own.id);
        app.post(&forged, switch.body(&[("on", "no")])).await.expect(422).says("This is your own account");
        theirs.post(&forged, switch.body(&[("on", "no")])).await.expect(403);

        app.post(&switch.action, switch.body(&[("on", "no")])).await.expect(303);
        assert_eq!(theirs.get("/animals").await.expect(303).location(), "/sign-in?next=%2Fanimals");
        theirs.submit("/sign-in", &[("mail", HELPER), ("password", THEIR_PASSWORD)]).await.expect(422);
        let again = form(&app.get("/settings/accounts").await);
        app.post(&again.action, again.body(&[("on", "yes")])).await.expect(303);
        theirs.submit("/sign-in", &[("mail", HELPER), ("password", THEIR_PASSWORD)]).await.expect(303);
        theirs.get("/animals").await.expect(200);
    }
}
