//! Every page of a filled farm, found by following links from Today as a person would: it shows, it is well formed, and each
//! label, heading and reference in it leads somewhere.

use crate::support::{Page, TestApp, TestBook};
use diesel::prelude::*;
use gambrel::book::schema::{processing_date, reservation};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Follows every link of ours from `/`, at most one page of each kind and id; pages by address.
pub(crate) async fn crawl(app: &TestApp) -> BTreeMap<String, Page> {
    crawl_from(app, "/").await
}

/// The same from another page: a customer's.
pub(crate) async fn crawl_from(app: &TestApp, start: &str) -> BTreeMap<String, Page> {
    let (mut seen, mut pages) = (BTreeSet::from([start.to_string()]), BTreeMap::new());
    let mut queue = VecDeque::from([start.to_string()]);
    while let Some(url) = queue.pop_front() {
        assert!(pages.len() < 1000, "the links do not end");
        let page = app.get(&url).await;
        if page.header("content-type").starts_with("text/html") {
            for link in page.links() {
                let link = link.split('#').next().unwrap().to_string();
                // Lists narrowed down have no end of addresses: the bare ones do.
                let path = link.split('?').next().unwrap().to_string();
                if link.starts_with('/') && seen.insert(path) {
                    queue.push_back(link);
                }
            }
        }
        pages.insert(url, page);
    }
    pages
}

/// A farm with one of everything, so that every page has something to show.
pub(crate) fn filled() -> TestBook {
    let book = TestBook::sqlite();
    fill(&book);
    book
}

pub(crate) fn fill(book: &TestBook) {
    let hog = book.hung_hog();
    let invoice = book.issue(hog.orders[0]);
    book.pay(invoice, "100.00");
    crate::weight_file::waiting(book, hog.date);
    let list = "Name,Mail\nLo Ek,lo@ek.example\nMy Ek,my@ek.example\n";
    crate::import_list::send(book, gambrel::trade::import_file::Kind::Customers, list);
    let voided = book.issue(hog.orders[1]);
    book.act(|tx, doing| gambrel::actions::void_invoice::void_invoice(tx, doing, voided, "wrong side", true));
    let coming = book.date(hog.plant, "2027-11-18");
    book.head(gambrel::trade::animal::Class::Steer, "214", coming);
    // A plan that was taken, and one to be looked at.
    book.head(gambrel::trade::animal::Class::Barrow, "215", coming);
    let later = book.order(book.customer("Þóra Núñez"), hog.offering, gambrel::trade::share::Size::Quarter);
    let planned = crate::plan_book::all_of(&crate::plan_book::proposal(book, &crate::plan_book::how()));
    book.act(|tx, doing| gambrel::actions::accept_plan::accept_plan(tx, doing, &planned));
    crate::bill_of_sale::made(book, later);
    crate::pickup::ready_with_windows(book, &hog);
    crate::own_yields::told(book, hog.orders[0]);
    crate::costs::entered(book, hog.animal);
    // A statement of the bank that waits for its columns, lines of another, money not matched, and a slip.
    crate::bank::fill(book);
    crate::slips::slip(book);
    book.order(book.customer("Ned Pell"), hog.offering, gambrel::trade::share::Size::Quarter);
    book.open_to_everybody(&[hog.offering]);
    // Terms, and a request from the farm's page that waits for an answer.
    crate::requests::asked_for(book, hog.offering);
    let (first, start) = (hog.orders[0], gambrel::actions::sheet_draft::Start::Standard);
    book.act(|tx, doing| gambrel::actions::sheet_draft::begin_draft(tx, doing, first, 0, &start, &|_, _| true));
}

fn texts<'a>(html: &'a str, open: &str, close: &str) -> Vec<&'a str> {
    html.split(open).skip(1).map(|r| r.split(close).next().unwrap()).collect()
}

#[actix_web::test]
async fn every_page_that_a_link_leads_to_shows_and_is_well_formed() {
    let book = filled();
    let app = TestApp::signed_in(&book).await;
    let mut pages = crawl(&app).await;
    assert!(pages.len() > 50, "only {} pages were found: {:?}", pages.len(), pages.keys());
    app.hold(book.read(|c| Ok(reservation::table.select(reservation::id).order(reservation::id).first(c)?)));
    pages.extend(crawl_from(&app, "/my").await);
    app.at_the_plant(
        book.read(|c| Ok(processing_date::table.select(processing_date::id).order(processing_date::id).first(c)?)),
        "Sam",
    );
    pages.extend(crawl_from(&app, "/plant").await);
    for (url, page) in &pages {
        assert_eq!(page.status, 200, "{url}\n{}", String::from_utf8_lossy(&page.bytes));
        if !page.header("content-type").starts_with("text/html") {
            continue;
        }
        let html = page.text();
        assert_eq!(html.matches("<h1").count(), 1, "{url} has one first heading");
        assert!(!html.contains("{{") && !html.contains("None)") && !html.contains("Some("), "{url} shows code");
        let title = texts(html, "<title>", "</title>")[0];
        assert!(title.ends_with(" · Nettle Bend Farm") && title.len() > " · Nettle Bend Farm".len(), "{url}: {title}");
        let ids: Vec<&str> = texts(html, " id=\"", "\"");
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(ids.len(), unique.len(), "{url} uses an id twice: {ids:?}");
        for what in [" for=\"", " aria-labelledby=\"", " aria-describedby=\""] {
            for id in texts(html, what, "\"").into_iter().flat_map(str::split_whitespace) {
                assert!(unique.contains(id), "{url}: {what}{id}\" points at nothing");
            }
        }
        // Whoever lost the private link has no session that could key a form.
        for form in page.forms().iter().filter(|f| f.post && f.action != "/lost-link") {
            assert!(!form.value("form_key").is_empty(), "{url}: the form to {} has no key", form.action);
        }
        for table in texts(html, "<table", "</table>") {
            assert!(table.contains("<caption"), "{url} has a table without a name");
        }
    }
}

#[actix_web::test]
async fn every_link_to_a_place_in_a_page_finds_it() {
    let book = filled();
    let app = TestApp::signed_in(&book).await;
    for (url, page) in crawl(&app).await {
        if page.header("content-type").starts_with("text/html") {
            for link in page.links().iter().filter_map(|l| l.strip_prefix('#')) {
                assert!(page.text().contains(&format!(" id=\"{link}\"")), "{url}: #{link} is not on the page");
            }
        }
    }
}
