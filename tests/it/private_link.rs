//! Private links: one opens one order and nothing else, until it is revoked or its order ends; looking at one does nothing.

use crate::support::book::{DAY, MINUTE};
use crate::support::{TestApp, TestBook, on_each_engine};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::cancel_reservation::{Cancel, cancel_reservation};
use gambrel::actions::link_in_mail::put_link_in;
use gambrel::actions::private_link::{mint, open_link, order_of, revoke, send_link, send_lost_links, show_link};
use gambrel::book::ids::{CustomerId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::rows::outbox::Message;
use gambrel::book::schema::{customer_link, link_session, message};
use gambrel::book::{links, reservations, stories};
use gambrel::post::private_link::{MARK, is_wanted};
use gambrel::secret;
use gambrel::trade::share::Size;
use gambrel::trade::vocabulary::{DepositFate, LinkFor};

/// Two customers with an order each.
fn two(book: &TestBook) -> [ReservationId; 2] {
    let hogs = book.hogs();
    ["Ines Halvard", "Tomas Wren"].map(|name| book.order(book.customer(name), hogs, Size::Half))
}

fn opens(book: &TestBook, token: &str) -> Option<ReservationId> {
    let at = book.clock.at();
    book.read(|c| order_of(c, at, token)).map(|(_, order)| order)
}

fn shown(book: &TestBook, order: ReservationId) -> String {
    let token = secret::token().unwrap();
    book.act(|tx, doing| show_link(tx, doing, order, &token, false));
    token
}

fn cancel(book: &TestBook, order: ReservationId) {
    let version = book.read(|c| Ok(reservations::get(c, order)?.0.version));
    let input = Cancel { version, reason: "moving".into(), fate: DepositFate::None, carry_to: None };
    book.act(|tx, doing| cancel_reservation(tx, doing, order, &input));
}

fn mail_of(book: &TestBook, order: ReservationId) -> Message {
    book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 1)?.remove(0)))
}

#[test]
fn a_link_opens_its_order_until_it_is_revoked_or_the_order_ends() {
    on_each_engine(|book| {
        let [mine, theirs] = two(book);
        let (first, second, other) = (shown(book, mine), shown(book, mine), shown(book, theirs));
        assert_eq!(first.len(), 32, "192 random bits");
        for (token, order) in [(&first, mine), (&second, mine), (&other, theirs)] {
            assert_eq!(opens(book, token), Some(order), "several links live side by side");
        }
        for wrong in ["", "x", &first[1..], &first.to_lowercase(), &format!("{first}A"), &secret::hash(&first)] {
            assert_eq!(opens(book, wrong), None, "{wrong}");
        }
        book.act(|tx, doing| revoke(tx, doing, mine));
        assert_eq!([opens(book, &first), opens(book, &second)], [None, None], "all of an order at once");
        assert_eq!(opens(book, &other), Some(theirs), "and of no other");
        assert!(matches!(book.try_act(|tx, doing| revoke(tx, doing, mine)), Err(Failure::Refused(_))));
        let third = shown(book, mine);
        let renewed = secret::token().unwrap();
        book.act(|tx, doing| show_link(tx, doing, mine, &renewed, true));
        assert_eq!([opens(book, &third), opens(book, &renewed)], [None, Some(mine)]);
        cancel(book, theirs);
        assert_eq!(opens(book, &other), None, "a cancelled order opens no more");
        let refused = book.try_act(|tx, doing| show_link(tx, doing, theirs, &secret::token().unwrap(), false));
        assert!(refused.unwrap_err().to_string().contains("cancelled"));
        let told = book.read(|c| Ok(stories::of_reservation(c, mine)?));
        for line in ["shown once", "revoked", "renewed"] {
            assert!(told.iter().any(|l| l.line.contains(line)), "{line} is in the story");
        }
    });
}

#[test]
fn a_link_ends_ninety_days_after_the_order_is_paid() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let order = hog.orders[0];
        let token = shown(book, order);
        let invoice = book.issue(order);
        book.clock.advance(200 * DAY);
        assert_eq!(opens(book, &token), Some(order), "as long as something is owed");
        let owed = book.read(|c| {
            let (r, ..) = reservations::get(c, order)?;
            let facts = gambrel::book::standing::facts(c, &[&r])?.remove(&order).unwrap();
            Ok(facts.balance().unwrap())
        });
        book.pay(invoice, &owed.shown().replace(',', ""));
        book.clock.advance(90 * DAY);
        assert_eq!(opens(book, &token), Some(order));
        book.clock.advance(DAY);
        assert_eq!(opens(book, &token), None);
        let late = book.try_act(|tx, doing| show_link(tx, doing, order, &secret::token().unwrap(), false));
        assert!(late.unwrap_err().to_string().contains("more than 90 days ago"));
    });
}

#[test]
fn no_token_is_stored_and_a_mail_gets_its_link_as_it_leaves() {
    on_each_engine(|book| {
        let [mine, _] = two(book);
        book.act(|tx, doing| send_link(tx, doing, mine));
        let queued = mail_of(book, mine);
        assert!(is_wanted(&queued.body) && !queued.body.contains("http"), "{}", queued.body);
        let token = secret::token().unwrap();
        let mut left = queued.clone();
        let made =
            book.act(|tx, doing| put_link_in(tx, doing.now, &mut queued.clone(), Some("https://farm.example"), &token));
        book.act(|tx, doing| {
            let mut m = queued.clone();
            put_link_in(tx, doing.now, &mut m, None, &token)?;
            assert!(!m.body.contains(MARK) && !m.body.contains("private link to your order"), "{}", m.body);
            assert!(m.body.starts_with("Hello Ines Halvard,\n\n") && m.body.ends_with("office@nettlebend.example"));
            Ok(())
        });
        left.body = gambrel::post::private_link::with_link(&left.body, &format!("https://farm.example/c/{token}"));
        assert!(left.body.contains(&format!("\nhttps://farm.example/c/{token}\n")), "{}", left.body);
        assert!(made.is_some());
        assert_eq!(opens(book, &token), Some(mine));
        book.read(|c| {
            let hashes: Vec<String> = customer_link::table.select(customer_link::token_hash).load(c)?;
            assert_eq!(hashes, [secret::hash(&token)], "one was made, and only its hash is kept");
            let bodies: Vec<String> = message::table.select(message::body).load(c)?;
            assert!(bodies.iter().all(|b| !b.contains(&token)));
            Ok(())
        });
        // A mail about an order that was cancelled before it left carries none.
        cancel(book, mine);
        let made = book.act(|tx, doing| put_link_in(tx, doing.now, &mut queued.clone(), Some("https://x"), "t"));
        assert_eq!(made, None);
    });
}

#[test]
fn a_lost_link_goes_to_the_known_address_only_and_not_twice_at_once() {
    on_each_engine(|book| {
        let [mine, theirs] = two(book);
        let ask = |mail: &str| book.act(|tx, doing| send_lost_links(tx, doing.now, mail));
        assert_eq!(ask("nobody@customers.example"), 0);
        assert_eq!(ask("ines@customers.example"), 1);
        assert_eq!(mail_of(book, mine).to_address, "ines@customers.example");
        assert_eq!(ask("ines@customers.example"), 0, "not again within a quarter of an hour");
        book.clock.advance(16 * MINUTE);
        assert_eq!(ask("ines@customers.example"), 1);
        cancel(book, theirs);
        assert_eq!(ask("tomas@customers.example"), 0, "a cancelled order has no link");
    });
}

/// A browser that comes by the link's own page, as a customer does.
async fn customer(app: &TestApp, order: ReservationId) -> TestApp {
    let token = app.link(order);
    let browser = app.other_browser();
    let page = browser.get(&format!("/c/{token}")).await.expect(200);
    let form = page.forms().remove(0);
    let opened = browser.post(&format!("/c/{token}"), form.body(&[])).await.expect(303);
    assert_eq!(opened.location(), "/my");
    browser
}

#[actix_web::test]
async fn looking_at_a_link_changes_nothing_and_uses_nothing_up() {
    for book in TestBook::each() {
        let [mine, _] = two(&book);
        let app = TestApp::new(&book).await;
        let token = app.link(mine);
        let state = || {
            book.read(|c| {
                let used: Vec<Option<gambrel::book::at::At>> =
                    customer_link::table.select(customer_link::last_used_at).load(c)?;
                Ok((used, link_session::table.count().get_result::<i64>(c)?))
            })
        };
        let before = state();
        for _ in 0..25 {
            let page = app.get(&format!("/c/{token}")).await.expect(200);
            page.says("Nettle Bend Farm").says("Open my order").says_not("Ines").says_not("2027-001");
            assert_eq!(page.text().matches("<button").count(), 1, "one button");
            assert_eq!(page.header("set-cookie"), "");
        }
        assert_eq!(state(), before);
        // It stays good for a second device, and both are in.
        let (one, two) = (app.other_browser(), app.other_browser());
        for browser in [&one, &two] {
            browser.post(&format!("/c/{token}"), String::new()).await.expect(303);
            browser.get("/my").await.expect(200).says("Ines Halvard");
        }
        assert_eq!(state().1, 2);
    }
}

#[actix_web::test]
async fn a_holder_sees_one_order_and_nothing_of_the_farm() {
    for book in TestBook::each() {
        let [mine, theirs] = two(&book);
        let app = TestApp::signed_in(&book).await;
        let ines = customer(&app, mine).await;
        let page = ines.get("/my").await.expect(200);
        page.says("Ines Halvard").says("2027-001").says_not("Tomas").says_not("2027-002");
        customer(&app, theirs).await.get("/my").await.expect(200).says("Tomas Wren").says_not("Ines");
        for url in ["/", "/orders", &format!("/orders/{mine}"), "/customers", "/money", "/outbox"] {
            assert!(ines.get(url).await.expect(303).location().starts_with("/sign-in"), "{url}");
        }
        // And the farmer is nobody's customer.
        assert_eq!(app.get("/my").await.expect(303).location(), "/lost-link");
        // Another's cookie does not help: whose session it is decides.
        let stolen = app.other_browser();
        stolen.set_cookie("gambrel", &ines.cookie("gambrel_order").unwrap());
        stolen.get("/orders").await.expect(303);
        app.submit_to(&format!("/orders/{mine}/link"), &format!("/orders/{mine}/link/revoke"), &[]).await.expect(303);
        assert_eq!(ines.get("/my").await.expect(303).location(), "/lost-link", "revoked: out at once");
    }
}

#[actix_web::test]
async fn the_cookie_is_kept_from_scripts_and_can_be_given_back() {
    let book = TestBook::sqlite();
    let [mine, _] = two(&book);
    for (url, name) in [("", "gambrel_order"), ("https://farm.example", "__Host-gambrel_order")] {
        let app = TestApp::with(&book, &[("GAMBREL_PUBLIC_URL", url)]).await;
        let token = app.link(mine);
        let page = app.post(&format!("/c/{token}"), String::new()).await.expect(303);
        let cookie = page.header("set-cookie").to_string();
        for part in [&format!("{name}="), "HttpOnly", "SameSite=Lax", "Path=/"] {
            assert!(cookie.contains(part), "{cookie}");
        }
        assert_eq!(cookie.contains("Secure"), !url.is_empty());
        let value = app.cookie(name).unwrap();
        assert_eq!(app.submit_to("/my", "/my/leave", &[]).await.expect(303).location(), "/lost-link");
        assert_eq!(app.cookie(name), None);
        app.set_cookie(name, &value);
        app.get("/my").await.expect(303);
        app.get(&format!("/c/{token}")).await.expect(200);
    }
    let app = TestApp::new(&book).await;
    app.hold(mine);
    book.clock.advance(89 * DAY);
    app.get("/my").await.expect(200);
    book.clock.advance(2 * DAY);
    app.get("/my").await.expect(303);
}

#[actix_web::test]
async fn a_wrong_link_says_what_to_do_and_is_counted() {
    let book = TestBook::sqlite();
    let [mine, _] = two(&book);
    let app = TestApp::new(&book).await;
    let good = app.link(mine);
    let mut statuses = Vec::new();
    for n in 0..6 {
        let wrong = format!("/c/{}", secret::token().unwrap());
        let page = if n % 2 == 0 { app.get(&wrong).await } else { app.post(&wrong, String::new()).await };
        page.says("ask for a new link").says_not("Ines").says_not("2027-001");
        statuses.push(page.status);
    }
    assert_eq!(statuses, [404; 6]);
    for wrong in ["x", "abcdefghijklmnopqrstuvwxyz01234", "%FF"] {
        app.get(&format!("/c/{wrong}")).await.expect(404);
    }
    app.get(&format!("/c/{}", secret::token().unwrap())).await.expect(404);
    app.get(&format!("/c/{}", secret::token().unwrap())).await.expect(429).says("Wait a quarter of an hour");
    app.get(&format!("/c/{good}")).await.expect(200).says("Open my order");
}

/// Waits for what is done after an answer.
async fn until(book: &TestBook, wanted: i64) {
    for _ in 0..200 {
        let n: i64 = book.read(|c| Ok(message::table.count().get_result(c)?));
        if n == wanted {
            return;
        }
        actix_web::rt::time::sleep(std::time::Duration::from_millis(25)).await;
    }
    panic!("there are not {wanted} messages");
}

#[actix_web::test]
async fn who_lost_a_link_hears_the_same_whoever_asks() {
    for book in TestBook::each() {
        two(&book);
        let before: i64 = book.read(|c| Ok(message::table.count().get_result(c)?));
        let app = TestApp::new(&book).await;
        let known = app.submit("/lost-link", &[("mail", "Ines@Customers.example")]).await.expect(200);
        until(&book, before + 1).await;
        let unknown = app.submit("/lost-link", &[("mail", "stranger@else.example")]).await.expect(200);
        assert_eq!(known.text(), unknown.text(), "nothing tells a customer from a stranger");
        known.says("is on the way to it").says_not("ines");
        app.submit("/lost-link", &[("mail", "no address")]).await.expect(422).says("no address");
        let mut last = 200;
        for n in 0..10 {
            last = app.submit("/lost-link", &[("mail", &format!("n{n}@else.example"))]).await.status;
        }
        assert_eq!(last, 429, "asked too often from one place");
        until(&book, before + 1).await;
    }
}

#[actix_web::test]
async fn the_farmer_mails_shows_and_renews_links_on_the_page_of_the_order() {
    let book = TestBook::sqlite();
    let [mine, _] = two(&book);
    let app = TestApp::with(&book, &[("GAMBREL_PUBLIC_URL", "https://farm.example")]).await;
    app.make_account();
    app.begin_session();
    let url = format!("/orders/{mine}/link");
    app.get(&url).await.expect(200).says("No link works now.").says_not("Renew it");
    let page = app.submit_to(&url, &format!("{url}/show"), &[]).await.expect(200);
    let link = page.text().split("https://farm.example/c/").nth(1).unwrap();
    let token: String = link.chars().take_while(|c| *c != '<').collect();
    assert_eq!(opens(&book, &token), Some(mine));
    page.says("The link as a picture for a phone");
    // The same form again shows nothing and makes nothing.
    let form = app.get(&url).await.forms().into_iter().find(|f| f.action.ends_with("/renew")).unwrap();
    let renewed = app.post(&form.action, form.body(&[])).await.expect(200);
    renewed.says("https://farm.example/c/");
    assert_eq!(opens(&book, &token), None);
    let again = app.post(&form.action, form.body(&[])).await.expect(303);
    app.follow(&again).await.says("cannot be shown again");
    let live = book.read(|c| Ok(links::live_of(c, mine)?.len()));
    assert_eq!(live, 1);
    app.submit_to(&url, &format!("{url}/send"), &[]).await.expect(303);
    let m = mail_of(&book, mine);
    assert!(is_wanted(&m.body));
    let shown = app.get(&format!("/outbox/{}", m.id)).await.expect(200);
    shown.says("(the private link)").says_not(MARK);
    // Without a mail server the farmer takes the file, and the link is made for it.
    let file =
        app.submit_to(&format!("/outbox/{}", m.id), &format!("/outbox/{}/with-link", m.id), &[]).await.expect(200);
    let text = String::from_utf8_lossy(&file.bytes).replace("=\r\n", "").replace("=3D", "=");
    let token: String = text.split("https://farm.example/c/").nth(1).unwrap().chars().take(32).collect();
    assert_eq!(opens(&book, &token), Some(mine), "{text}");
    let plain = app.get(&format!("/outbox/{}.eml", m.id)).await.expect(200);
    assert!(!String::from_utf8_lossy(&plain.bytes).contains("/c/"));
    // A download leaves the page as it is, and the page's other forms still act.
    let forms = app.get(&format!("/outbox/{}", m.id)).await.forms();
    let form = |end: &str| forms.iter().find(|f| f.action.ends_with(end)).unwrap();
    app.post(&form("/with-link").action, form("/with-link").body(&[])).await.expect(200);
    let done = app.post(&form("/handed-over").action, form("/handed-over").body(&[])).await.expect(303);
    app.follow(&done).await.says("Marked as handed over.");
}

#[test]
fn a_link_belongs_to_the_session_it_began_and_to_no_other_order() {
    on_each_engine(|book| {
        let [mine, theirs] = two(book);
        let (token, cookie) = (secret::token().unwrap(), secret::token().unwrap());
        book.act(|tx, doing| mint(tx, doing.now, mine, &token, LinkFor::Shown).map(|_| ()));
        assert!(book.act(|tx, doing| open_link(tx, doing.now.at, &token, &cookie, "form secret")));
        let at = book.clock.at();
        let (session, r, customer, _) =
            book.read(|c| Ok(links::session_of(c, &secret::hash(&cookie), at)?)).expect("the browser is in");
        assert_eq!((r.id, session.form_secret.as_str()), (mine, "form secret"));
        assert!(customer.id != CustomerId(0) && r.id != theirs);
        assert_eq!(book.read(|c| Ok(links::session_of(c, &cookie, at)?)), None, "the cookie itself is not stored");
    });
}
