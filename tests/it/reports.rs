//! Reports: figures of a small book worked out by hand, and every figure of every report leads to what it is made of, on that
//! book, on a random season and on the demo's.

use crate::season::played;
use crate::support::book::{DAY, Fresh, TODAY};
use crate::support::farm::{day, lb, usd};
use crate::support::page::Page;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::answer_entry::{Taken, take};
use gambrel::actions::bounce_payment::{Bounced, bounce_payment};
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::enter_cost::{CostIn, enter_cost};
use gambrel::actions::plant_entry::{Entry, enter};
use gambrel::actions::record_weights::{Fate, WeighForm, WeighRow, confirming, record_weights};
use gambrel::actions::tell_packaged::{PackagedIn, tell_packaged};
use gambrel::actions::void_invoice::void_invoice;
use gambrel::actions::write_off::write_off;
use gambrel::book::carcasses::weigh_ins;
use gambrel::book::ledger::behind::{page as lines, total};
use gambrel::book::ledger::read::balances;
use gambrel::book::money_sums::latest_payments;
use gambrel::book::plant_entries::{self, Subject};
use gambrel::book::store::Store;
use gambrel::book::{invoices, reservations};
use gambrel::clock::Clock;
use gambrel::demo;
use gambrel::trade::carcass::Hung;
use gambrel::trade::costs::{CostKind, SharedBy};
use gambrel::trade::ledger::Account;
use gambrel::trade::money::Money;
use gambrel::trade::plant_entry::{self, Carcass, Entered};
use gambrel::trade::report::behind::{Behind, Group, Half};
use gambrel::trade::report::period::Period;
use gambrel::trade::share::{Size, Species};
use gambrel::trade::vocabulary::{CarcassBasis, DepositFate, PackagedBy};
use std::collections::BTreeSet;

/// The reports that others are reached from.
const REPORTS: &[&str] = &[
    "/reports",
    "/reports/income",
    "/reports/deposits",
    "/reports/sales",
    "/reports/animals",
    "/reports/processors",
    "/reports/customers",
    "/reports/tax-year",
];

fn unescape(text: &str) -> String {
    text.replace("&#38;", "&").replace("&amp;", "&").replace("&#39;", "'")
}

/// Every figure of a page that leads somewhere: where, and what it says.
fn figures(page: &Page) -> Vec<(String, String)> {
    let tags = page.text().split("<a class=\"fig\"").skip(1);
    tags.map(|rest| {
        let href = rest.split("href=\"").nth(1).unwrap().split('"').next().unwrap();
        let words = rest.split('>').nth(1).unwrap().split('<').next().unwrap();
        (unescape(href), words.to_string())
    })
    .collect()
}

/// What stands in the element with this id.
fn named(page: &Page, id: &str) -> String {
    let rest = page.text().split(&format!("id=\"{id}\"")).nth(1);
    let rest = rest.unwrap_or_else(|| panic!("{} has no “{id}”\n{}", page.url, page.text()));
    rest.split('>').nth(1).unwrap().split('<').next().unwrap().to_string()
}

/// The cells of the row of a table that begins with these words.
fn row(page: &Page, first: &str) -> Vec<String> {
    let start = page.text().split("<tr").skip(1).find(|r| r.contains(&format!(">{first}</")));
    let start = start.unwrap_or_else(|| panic!("{} has no row “{first}”\n{}", page.url, page.text()));
    let cells = start.split("<td").skip(1);
    cells.map(|c| c.split('>').nth(2).unwrap().split('<').next().unwrap().to_string()).collect()
}

/// Everything a select offers.
fn offered(page: &Page) -> Vec<String> {
    let options = page.text().split("<option value=\"").skip(1);
    options.map(|r| unescape(r.split('"').next().unwrap())).collect()
}

fn asked(path: &str, period: &str) -> String {
    let period: String = form_urlencoded::byte_serialize(period.as_bytes()).collect();
    format!("{path}?period={period}")
}

/// The lines of a page of the ledger, added up over all its pages.
async fn added_up(app: &TestApp, href: &str) -> i64 {
    let mut next = Some(href.to_string());
    let mut sum = 0;
    while let Some(url) = next {
        let page = app.get(&url).await.expect(200);
        for amount in page.text().split("data-k=\"$\">").skip(1) {
            let text = amount.split('<').next().unwrap().replace(',', "").replace('−', "-");
            sum += Money::parse(&text).unwrap().cents();
        }
        next = page.links().into_iter().find(|l| l.contains("before="));
    }
    sum
}

/// Every figure of every report, for every time there is, says what stands where it leads to. Returns how many there were.
async fn all_figures_lead_home(app: &TestApp, add_up_too: bool) -> usize {
    let mut seen = BTreeSet::new();
    let mut of_report = std::collections::BTreeMap::<&str, usize>::new();
    for report in REPORTS {
        for period in offered(&app.get(report).await.expect(200)) {
            let page = app.get(&asked(report, &period)).await.expect(200);
            for (href, words) in figures(&page) {
                *of_report.entry(report).or_default() += 1;
                if !seen.insert((href.clone(), words.clone())) {
                    continue;
                }
                let (url, id) = href.split_once('#').unwrap_or_else(|| panic!("{href} leads to no figure"));
                let there = app.get(url).await.expect(200);
                assert_eq!(named(&there, id), words, "{} says {words}, {href}", page.url);
                if add_up_too && url.starts_with("/money/ledger") {
                    let figure = Money::parse(&words.replace(',', "").replace('−', "-")).unwrap();
                    assert_eq!(added_up(app, url).await, figure.cents(), "the lines of {href}");
                }
            }
        }
    }
    for report in REPORTS {
        assert!(of_report.get(report).is_some_and(|n| *n > 0), "{report} has no figure: {of_report:?}");
    }
    seen.len()
}

/// A hog of two halves, invoiced to Ines and Tomas; Ines paid 100.00 of 305.64 (a check that came back), Tomas’s invoice was
/// taken back and issued anew; Odd’s deposit was kept; Ruth holds a deposit for next year’s hog.
fn small(book: &TestBook) {
    let hog = book.hung_hog();
    let ines = book.issue(hog.orders[0]);
    book.pay(ines, "100.00");
    let payment = book.read(|c| Ok(latest_payments(c, 1)?[0].0.id));
    let bounced = Bounced { day: book.now().today, charge: Some(usd("25.00")), reason: "No funds".into() };
    book.act(|tx, doing| bounce_payment(tx, doing, payment, &bounced));
    let tomas = book.issue(hog.orders[1]);
    book.act(|tx, doing| void_invoice(tx, doing, tomas, "The order was mixed up", false));
    let again = book.issue(hog.orders[1]);
    book.act(|tx, doing| write_off(tx, doing, again, usd("2.00"), "Not worth a letter"));
    let odd = book.order(book.customer("Odd Lunde"), hog.offering, Size::Half);
    book.deposit(odd, "150.00");
    let version = book.read(|c| Ok(reservations::get(c, odd)?.0.version));
    let cancel = Cancel { version, reason: "Too late".into(), fate: DepositFate::Keep, carry_to: None };
    book.act(|tx, doing| cancel_reservation(tx, doing, odd, &cancel));
    let ruth = book.order(book.customer("Ruth Kessel"), hog.offering, Size::Whole);
    book.deposit(ruth, "150.00");
    let feed = CostIn {
        kind: CostKind::Feed,
        on: book.now().today,
        words: "Corn".into(),
        amount: usd("300.00"),
        by: SharedBy::Head,
        animals: vec![hog.animal],
    };
    book.act(|tx, doing| enter_cost(tx, doing, &feed));
    let home = PackagedIn { weight: Some(lb("60")), on: day("2027-10-14"), seen: 0 };
    book.act(|tx, doing| tell_packaged(tx, doing, hog.orders[0], PackagedBy::Farm, &home));
}

#[actix_web::test]
async fn a_small_book_by_hand() {
    for book in TestBook::each() {
        small(&book);
        let app = TestApp::signed_in(&book).await;
        let page = app.get("/reports/income?period=2027").await.expect(200);
        // Came in: four deposits of 150.00 and 100.00. Given back: the check of 100.00.
        // Sales: 433.13 (82.50 × 5.25) and 420.00 (80.00 × 5.25). Others: smoking 45.01, 25.00 for the check, 150.00 kept.
        let said = row(&page, "October");
        assert_eq!(said, ["700.00", "−100.00", "600.00", "853.13", "220.01", "2.00", "1,071.14"], "{}", page.text());
        assert_eq!(row(&page, "All of 2027"), said);
        assert_eq!(row(&page, "March"), ["—"; 7]);
        page.says("<title").says("On cash basis $600.00 in the year, on accrual basis $1,071.14.");
        let page = app.get("/reports/deposits?period=2027").await.expect(200);
        // 600.00 were put to orders; 300.00 went to invoices, of which the voided one gave 150.00 back and took it again on the
        // same day; 150.00 were kept; 150.00 are held.
        assert_eq!(row(&page, "October 2027")[3], "150.00");
        assert_eq!(row(&page, "Hog"), ["150.00"]);
        let page = app.get("/reports/sales?period=season%3AFall+2027").await.expect(200);
        // 853.13 ÷ 162.50 = 5.2500…
        assert_eq!(row(&page, "Half hog"), ["2", "162.50", "853.13", "5.25"]);
        let page = app.get("/reports/shares?period=2027&share=half").await.expect(200);
        assert_eq!(named(&page, "sum-weight"), "162.50");
        assert_eq!(page.text().matches("−80.00").count(), 1, "the voided invoice is taken off");
        let page = app.get("/reports/animals?period=2027").await.expect(200);
        let said = row(&page, "Barrow 41");
        assert_eq!(
            said[3..],
            ["162.50", "—", "hot", "5.25", "853.13", "921.14", "300.00", "621.14"].map(String::from),
            "{said:?}"
        );
        let page = app.get("/reports/processors?period=2027").await.expect(200);
        // 60.00 of 82.50 lb; kill fee 95.00, 70.13 and 68.00 for cutting at 0.85; smoking passed through.
        assert_eq!(row(&page, "Pell Road Meats"), ["1", "1", "—", "72.7 %", "45.01", "233.13"]);
        let page = app.get("/reports/customers?period=2027").await.expect(200);
        page.says("None of 3 customers had ordered before");
        let page = app.get("/reports/tax-year?period=2027").await.expect(200);
        page.says("$600.00 received in 2027").says("ask your tax adviser");
        assert_eq!(row(&page, "Animals and meat sold: hog, deposits before the invoice"), ["600.00"]);
        assert_eq!(row(&page, "Written off: will not be paid"), ["2.00"]);
        assert_eq!(row(&page, "Feed, hay, minerals and pasture"), ["300.00"]);
        let page = app.get("/reports?period=season%3AFall+2027").await.expect(200);
        assert_eq!(row(&page, "Shares ordered"), ["3"]);
        assert_eq!(row(&page, "Orders cancelled"), ["1"]);
        // 455.64 + 25.00 − 150.00 and 442.50 − 150.00 − 2.00.
        assert_eq!(row(&page, "Owed on invoices, $"), ["621.14"]);
    }
}

#[actix_web::test]
async fn every_figure_of_the_small_book_leads_to_lines_that_add_up() {
    for book in TestBook::each() {
        small(&book);
        // A second season, in which Ines comes back.
        book.clock.advance(90 * DAY);
        let ines = book.read(|c| Ok(invoices::page(c, None, 10)?.last().unwrap().0.1.id));
        let order = book.order(ines, book.offering_from(Species::Beef, 2, "4.65", "2028-01-01"), Size::Quarter);
        book.deposit(order, "150.00");
        let app = TestApp::signed_in(&book).await;
        app.get("/reports/customers?period=2028").await.says("1 of 1 customers came back, 100 %");
        let n = all_figures_lead_home(&app, true).await;
        assert!(n > 60, "{n}");
    }
}

#[actix_web::test]
async fn every_figure_of_a_random_season_leads_home() {
    for book in TestBook::each() {
        played(&book, 450, 222);
        let app = TestApp::signed_in(&book).await;
        let n = all_figures_lead_home(&app, false).await;
        assert!(n > 60, "{n}");
    }
}

#[actix_web::test]
async fn every_figure_of_the_demo_leads_home() {
    for fresh in Fresh::each() {
        let store = Store::open(fresh.place.clone()).unwrap();
        let clock = Clock::set(TODAY);
        demo::fill(&store, &clock).unwrap();
        let book = TestBook { store, clock, fresh };
        let app = TestApp::new(&book).await;
        app.begin_session();
        let n = all_figures_lead_home(&app, false).await;
        assert!(n > 100, "{n}");
    }
}

#[test]
fn years_add_up_to_the_balances_and_each_split_is_whole() {
    on_each_engine(|book| {
        played(book, 200, 5);
        let today = book.now().today;
        let sum = |behind: Behind| book.read(|c| Ok(total(c, &behind)?)).cents();
        let all = book.read(|c| Ok(balances(c, today)?));
        let balance = |group: Group| {
            let accounts = group.accounts();
            all.iter().filter(|(a, _)| accounts.contains(a)).map(|(_, m)| m.cents()).sum::<i64>()
        };
        for group in Group::ALL {
            let on = || Behind::group(*group);
            let years: i64 = (2027..=2029).map(|y| sum(on().of(&Period::Year(y)))).sum();
            assert_eq!(years, balance(*group), "{group}");
            assert_eq!(sum(on().side(Half::Debit)) + sum(on().side(Half::Credit)), balance(*group), "{group}");
            let counted = book.read(|c| Ok(lines(c, &on(), None, 100_000)?));
            assert_eq!(counted.iter().map(|l| l.line.amount.cents()).sum::<i64>(), balance(*group), "{group}");
        }
        // What stands on invoices and orders is of one species, one size and one season here.
        let deposits = || Behind::account(Account::Deposits);
        assert_eq!(sum(deposits().species(Species::Hog)), sum(deposits()));
        assert_eq!(sum(deposits().species(Species::Beef)), 0);
        assert_eq!(sum(deposits().of(&Period::Season("Fall 2027".into()))), sum(deposits()));
        let sizes: i64 =
            Size::ALL.iter().map(|size| sum(Behind { share: Some(*size), ..Behind::group(Group::Sales) })).sum();
        assert_eq!(sizes, sum(Behind::group(Group::Sales)));
        // Money in hand is what it was for, to the cent.
        let parts = [Group::OnInvoices, Group::OnOrders, Group::Theirs];
        let split: i64 = parts.iter().map(|g| sum(Behind::group(*g).with_money())).sum();
        assert_eq!(-split, sum(Behind::group(Group::Money)));
        assert_ne!(split, 0);
    });
}

#[actix_web::test]
async fn a_cold_weight_after_a_hot_one_is_a_shrink() {
    for book in TestBook::each() {
        let hog = book.hung_hog();
        let app = TestApp::signed_in(&book).await;
        let of_plant = app.get("/reports/processors?period=2027").await.expect(200);
        assert_eq!(
            row(&of_plant, "Pell Road Meats")[..4],
            ["1", "1", "—", "—"].map(String::from),
            "one weight is no shrink"
        );
        // The plant enters what hung hot, the farm takes it, and writes the cold weight over it three days later.
        let hung = Hung::Sides { left: lb("82.5"), right: lb("80") };
        let entered = Entered::Carcass(Carcass {
            weighed_on: day("2027-10-14"),
            basis: CarcassBasis::Hot,
            head_on: false,
            skin_on: true,
            number: String::new(),
            fate: plant_entry::Fate::Hung { hung, condemned_parts: None },
        });
        let entry = Entry { about: Subject::Animal(hog.animal), seen: 0, entered, by: "Sam".into() };
        book.act(|tx, doing| enter(tx, doing, hog.date, &entry));
        let waiting = book.read(|c| Ok(plant_entries::of_date(c, hog.date)?)).into_iter().find(|e| e.waits()).unwrap();
        let taken = Taken { entry: waiting.id, version: 1, confirmed: confirming(hung) };
        book.act(|tx, doing| take(tx, doing, hog.date, std::slice::from_ref(&taken)));
        book.clock.advance(3 * DAY);
        app.begin_session();
        let cold = Hung::Sides { left: lb("80"), right: lb("78") };
        let row_of = WeighRow {
            animal: hog.animal,
            version: book.read(|c| Ok(weigh_ins(c, &[hog.animal])?[&hog.animal].version)),
            fate: Fate::Hung { hung: cold, condemned_parts: None },
            carcass_number: String::new(),
            head_on: false,
            skin_on: true,
            confirmed: confirming(cold),
        };
        let form = WeighForm {
            date: hog.date,
            basis: CarcassBasis::Cold,
            weighed_on: book.now().today,
            for_saved_too: true,
            rows: vec![row_of],
        };
        book.act(|tx, doing| record_weights(tx, doing, &form).map(|_| ()));
        // 162.50 hot and 158.00 cold: 4.50 of 162.50 are 2.77 per cent.
        let of_plant = app.get("/reports/processors?period=season%3AFall+2027").await.expect(200);
        assert_eq!(row(&of_plant, "Pell Road Meats")[..4], ["1", "1", "2.8 %", "—"].map(String::from));
        let head = app.get("/reports/processor?period=2027").await.expect(200);
        assert_eq!(row(&head, "Barrow 41")[3..6], ["162.50", "158.00", "2.8 %"].map(String::from));
    }
}

#[actix_web::test]
async fn files_hold_the_tables_and_no_formula() {
    for book in TestBook::each() {
        small(&book);
        let offering = book.offering(Species::Hog, 4, "5.25");
        book.order(book.customer("+Ines Wren"), offering, Size::Half);
        let app = TestApp::signed_in(&book).await;
        for report in REPORTS {
            let page = app.get(&asked(report, "2027")).await.expect(200);
            let files: Vec<_> = page.links().into_iter().filter(|l| l.starts_with(&format!("{report}.csv"))).collect();
            assert!(!files.is_empty(), "{report}");
            for file in files {
                let answer = app.get(&unescape(&file)).await.expect(200);
                assert_eq!(answer.header("content-type"), "text/csv; charset=utf-8");
                assert!(answer.header("content-disposition").contains("-2027.csv"), "{file}");
                let mut read = csv::Reader::from_reader(answer.bytes.as_slice());
                let columns = read.headers().unwrap().len();
                let rows: Vec<_> = read.records().map(|r| r.unwrap()).collect();
                assert!(rows.iter().all(|r| r.len() == columns) && !rows.is_empty(), "{file}");
            }
        }
        let answer = app.get("/reports/income.csv?period=2027").await.expect(200);
        assert!(answer.text().ends_with("All of 2027,700.00,-100.00,600.00,853.13,220.01,2.00,1071.14\r\n"));
        app.get("/reports/customers.csv?period=2027").await.says("\r\n'+Ines Wren,");
        app.get("/reports/income.csv?table=none").await.expect(404);
        let answer =
            app.get("/money/ledger.csv?lines=1&account=earned&from=2027-01-01&day=2027-12-31").await.expect(200);
        let mut read = csv::Reader::from_reader(answer.bytes.as_slice());
        let cents: i64 = read.records().map(|r| Money::parse(&r.unwrap()[7]).unwrap().cents()).sum();
        assert_eq!(cents, 107_114);
    }
}

#[actix_web::test]
async fn what_cannot_be_read_is_left_out_and_an_empty_book_has_reports() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    for report in REPORTS.iter().chain(&["/reports/shares", "/reports/orders", "/reports/processor", "/reports/costs"])
    {
        for odd in
            ["", "?period=12345", "?period=season%3A", "?period=season%3ANone+such", "?species=cow&share=most&plant=x"]
        {
            let page = app.get(&format!("{report}{odd}")).await.expect(200);
            assert!(figures(&page).is_empty(), "{report}{odd}");
        }
    }
    let odd = "/money/ledger?lines=1&account=deposits&animal=99&plant=99&customer=99&before=x_y&from=soon";
    app.get(odd).await.expect(200).says("an unknown animal; an unknown processor; an unknown customer");
    app.get("/money/ledger?lines=1&account=none").await.expect(200).says("Nothing is posted yet");
    app.get("/money").await.says("href=\"/reports\"");
}
