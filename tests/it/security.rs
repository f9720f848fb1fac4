//! What the service promises against people who mean harm. Every test goes over the whole route table, read from the source, so
//! that a new page is held to the same rules without anybody thinking of it. Numbers in brackets are of OWASP ASVS 5.0.

use crate::support::app::{MAIL, PASSWORD, is_calm};
use crate::support::book::{DAY, HOUR, MINUTE};
use crate::support::page::Form;
use crate::support::{Page, TestApp, TestBook};
use crate::web_frame::{crawl, crawl_from, fill, filled};
use actix_web::http::Method;
use actix_web::http::header::{CONTENT_TYPE, ORIGIN};
use actix_web::test::TestRequest;
use diesel::prelude::*;
use gambrel::book::conn::DbConn;
use gambrel::book::schema::{customer, processing_date, reservation};

/// The route table as it stands in the source: method, pattern, file.
pub(crate) fn routes() -> Vec<(String, String, String)> {
    fn walk(at: &std::path::Path, out: &mut Vec<(String, String, String)>) {
        for entry in std::fs::read_dir(at).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                walk(&path, out);
            } else {
                let text = std::fs::read_to_string(&path).unwrap();
                let text = text.split("#[cfg(test)]").next().unwrap();
                for rest in text.split(".route(").skip(1) {
                    let pattern = rest.split('"').nth(1).unwrap();
                    let method = rest.split("web::").nth(1).unwrap().split('(').next().unwrap();
                    out.push((method.into(), pattern.into(), path.display().to_string()));
                }
            }
        }
    }
    let mut all = Vec::new();
    walk(std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/src/web")), &mut all);
    assert!(all.len() > 90, "the route table cannot be read any more");
    all
}

/// A pattern with something in its places.
pub(crate) fn address(pattern: &str) -> String {
    let mut url = String::new();
    for piece in pattern.split('{') {
        match piece.split_once('}') {
            None => url.push_str(piece),
            Some((name, rest)) => {
                url.push_str(match name {
                    "part" => "farm",
                    "kind" | "table" => "customers",
                    "side" => "left",
                    "species" => "hog",
                    "token" => "abcdefghijklmnopqrstuvwxyz012345",
                    "name" => "look.css",
                    "purpose" => "invoice",
                    "step" => "ham_body",
                    _ => "1",
                });
                url.push_str(rest);
            }
        }
    }
    url
}

fn addresses(method: &str) -> Vec<String> {
    routes().iter().filter(|(m, ..)| m == method).map(|(_, pattern, _)| address(pattern)).collect()
}

/// Routes that need nobody signed in.
const OPEN: &[&str] = &[
    "/health",
    "/assets/",
    "/sign-in",
    "/start",
    "/c/",
    "/lost-link",
    "/farm",
    "/p/",
    "/lost-plant-link",
    "/calendar/",
];

fn is_open(url: &str) -> bool {
    OPEN.iter().any(|o| url.starts_with(o))
}

/// Pages of customers, which need the private link of an order.
fn is_of_customers(url: &str) -> bool {
    url == "/my" || url.starts_with("/my/")
}

/// Pages of processors, which need the private link of a date.
fn is_of_processors(url: &str) -> bool {
    url == "/plant" || url.starts_with("/plant/")
}

/// A farmer's browser in which private links were opened too, so that every page of the table can be asked for.
async fn both(book: &TestBook) -> TestApp {
    let app = TestApp::signed_in(book).await;
    app.hold(book.read(|c| Ok(reservation::table.select(reservation::id).order(reservation::id).first(c)?)));
    app.at_the_plant(
        book.read(|c| Ok(processing_date::table.select(processing_date::id).order(processing_date::id).first(c)?)),
        "Sam",
    );
    app
}

#[derive(QueryableByName)]
struct Text {
    #[diesel(sql_type = diesel::sql_types::Text)]
    text: String,
}

/// Everything in a SQLite book but the sessions' last use, as text.
fn dump(book: &TestBook) -> Vec<String> {
    book.read(|c| {
        let DbConn::Sqlite(c) = c else { panic!("a SQLite book") };
        let tables: Vec<Text> = diesel::sql_query(
            "SELECT m.name || ' ' || group_concat('quote(' || p.name || ')', '||''|''||') AS text FROM sqlite_master m
             JOIN pragma_table_info(m.name) p WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite_%' AND m.name NOT IN ('session', 'link_session', 'plant_session')
             GROUP BY m.name ORDER BY m.name",
        )
        .load(c)?;
        let mut all = Vec::new();
        for table in tables {
            let (name, columns) = table.text.split_once(' ').unwrap();
            let rows: Vec<Text> = diesel::sql_query(format!("SELECT {columns} AS text FROM {name} ORDER BY 1")).load(c)?;
            all.extend(rows.into_iter().map(|r| format!("{name}: {}", r.text)));
        }
        Ok(all)
    })
}

#[track_caller]
fn assert_same(before: &[String], after: &[String], what: &str) {
    let changed: Vec<_> = after.iter().filter(|l| !before.contains(l)).take(5).collect();
    assert!(before == after, "{what} changed the book: {changed:#?}");
}

fn guarded(page: &Page) {
    let csp = page.header("content-security-policy");
    for part in [
        "default-src 'none'",
        "script-src 'self'",
        "object-src 'none'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
        "form-action 'self'",
    ] {
        assert!(csp.split("; ").any(|p| p == part), "{}: {csp}", page.url);
    }
    assert!(!csp.contains("unsafe") && !csp.contains('*'), "{}: {csp}", page.url);
    for (name, value) in [
        ("x-content-type-options", "nosniff"),
        ("referrer-policy", "same-origin"),
        ("cross-origin-opener-policy", "same-origin"),
        ("cross-origin-resource-policy", "same-origin"),
    ] {
        assert_eq!(page.header(name), value, "{} {name}", page.url);
    }
    assert!(!page.header("permissions-policy").is_empty());
    assert_eq!(page.header("server"), "", "{} names its server", page.url);
    let keep = page.header("cache-control");
    if keep != "no-store" && page.url.starts_with("/farm") {
        // What strangers read may be kept for a short while, and then it brings no cookie.
        let known = ["public, max-age=60", "public, max-age=86400"];
        assert!(known.contains(&keep) && page.status == 200, "{} {} “{keep}”", page.url, page.status);
        assert_eq!(page.header("set-cookie"), "", "{}", page.url);
    } else if !page.url.starts_with("/assets/") {
        assert_eq!(keep, "no-store", "{}", page.url);
    }
    if !page.bytes.is_empty() {
        let kind = page.header("content-type");
        let known = ["text/html; charset=utf-8", "text/plain; charset=utf-8", "text/css; charset=utf-8"];
        let file = [
            "text/csv; charset=utf-8",
            "application/pdf",
            "message/rfc822",
            "image/svg+xml",
            "image/jpeg",
            "text/javascript; charset=utf-8",
            "text/calendar; charset=utf-8",
            "application/zip",
        ];
        assert!(known.contains(&kind) || file.contains(&kind), "{} is “{kind}”", page.url);
    }
}

/// [3.4.1, 3.4.3, 3.4.4, 3.4.5, 3.4.6, 4.1.1, 14.3.2]
#[actix_web::test]
async fn every_answer_carries_the_headers() {
    let book = filled();
    let app = both(&book).await;
    let nobody = app.other_browser();
    for url in addresses("get").iter().map(String::as_str).chain(["/no-such-page", "/orders/99", "/orders/abc"]) {
        for browser in [&app, &nobody] {
            let page = browser.get(url).await;
            assert!(is_calm(page.status), "{url} answered {}", page.status);
            guarded(&page);
            assert_eq!(page.header("strict-transport-security"), "", "nothing is promised on plain http");
        }
    }
    for url in addresses("post") {
        guarded(&app.post(&url, "x=1".into()).await);
        guarded(&nobody.send(TestRequest::post().uri(&url)).await);
    }
    let https = TestApp::with(&book, &[("GAMBREL_PUBLIC_URL", "https://farm.example")]).await;
    assert_eq!(https.get("/sign-in").await.header("strict-transport-security"), "max-age=31536000; includeSubDomains");
}

/// [3.3.1 to 3.3.4, 7.2.4]
#[actix_web::test]
async fn cookies_are_kept_from_scripts_and_other_sites() {
    let book = TestBook::sqlite();
    for (url, name, secure) in [("", "gambrel", false), ("https://farm.example", "__Host-gambrel", true)] {
        let app = TestApp::with(&book, &[("GAMBREL_PUBLIC_URL", url)]).await;
        if url.is_empty() {
            app.make_account();
        }
        let page = app.sign_in_by_form(PASSWORD).await.expect(303);
        let cookie = page.header("set-cookie").to_string();
        assert!(cookie.starts_with(&format!("{name}=")), "{cookie}");
        for flag in ["HttpOnly", "SameSite=Lax", "Path=/"] {
            assert!(cookie.contains(flag), "{cookie}");
        }
        assert_eq!(cookie.contains("Secure"), secure, "{cookie}");
        assert!(!cookie.contains("Domain"), "{cookie}");
        let first = app.cookie(name).unwrap();
        assert_eq!(first.len(), 32, "192 random bits");
        app.sign_in_by_form(PASSWORD).await.expect(303);
        assert_ne!(app.cookie(name).unwrap(), first, "a new session for each sign-in");
    }
}

/// [3.5.1]
#[actix_web::test]
async fn a_form_from_another_site_is_refused_everywhere() {
    let book = filled();
    let app = both(&book).await;
    let before = dump(&book);
    let form = "application/x-www-form-urlencoded";
    for url in addresses("post") {
        for (name, value) in [
            ("Sec-Fetch-Site", "cross-site"),
            ("Sec-Fetch-Site", "same-site"),
            ("Sec-Fetch-Site", ""),
            ("Origin", "https://evil.example"),
            ("Origin", "null"),
            ("Referer", "http://localhost:8080/"),
        ] {
            let request =
                TestRequest::post().uri(&url).insert_header((name, value)).insert_header((CONTENT_TYPE, form));
            let page = app.send(request.set_payload("name=x")).await;
            assert_eq!(page.status, 403, "{url} with {name}: {value}");
            page.says("This came from another site");
        }
    }
    assert_same(&before, &dump(&book), "a form of another site");
    // Behind a proxy the address people type is what counts.
    let https = TestApp::with(&book, &[("GAMBREL_PUBLIC_URL", "https://farm.example")]).await;
    for (origin, status) in
        [("https://farm.example", 422), ("http://farm.example", 403), ("https://farm.example.evil", 403)]
    {
        let request = TestRequest::post().uri("/sign-in").insert_header((ORIGIN, origin));
        let page = https.send(request.insert_header((CONTENT_TYPE, form)).set_payload("mail=&password=")).await;
        assert_eq!(page.status, status, "{origin}");
    }
}

/// [3.5.3, 8.1.1]
#[actix_web::test]
async fn a_visitor_is_sent_to_sign_in_from_every_page_of_the_farm() {
    let book = filled();
    let app = TestApp::signed_in(&book).await;
    let before = dump(&book);
    let nobody = app.other_browser();
    for url in addresses("get").iter().filter(|u| !is_open(u)) {
        let page = nobody.get(url).await.expect(303);
        let next: String = form_urlencoded::byte_serialize(url.as_bytes()).collect();
        let wanted = match url.as_str() {
            "/" => "/sign-in".to_string(),
            url if is_of_customers(url) => "/lost-link".to_string(),
            url if is_of_processors(url) => "/lost-plant-link".to_string(),
            _ => format!("/sign-in?next={next}"),
        };
        assert_eq!(page.location(), wanted);
        assert!(page.bytes.is_empty(), "{url} shows something");
    }
    for url in addresses("post").iter().filter(|u| !is_open(u)) {
        let wanted = match url.as_str() {
            url if is_of_customers(url) => "/lost-link",
            url if is_of_processors(url) => "/lost-plant-link",
            _ => "/sign-in",
        };
        assert_eq!(nobody.post(url, "form_key=x&name=x".into()).await.expect(303).location(), wanted, "{url}");
    }
    for forged in ["x", "abcdefghijklmnopqrstuvwxyz012345", "%00", &"a".repeat(5000)] {
        nobody.set_cookie("gambrel", forged);
        nobody.set_cookie("gambrel_order", forged);
        nobody.set_cookie("gambrel_plant", forged);
        assert_eq!(nobody.get("/plant").await.expect(303).location(), "/lost-plant-link");
        assert_eq!(nobody.get("/my").await.expect(303).location(), "/lost-link");
        assert_eq!(nobody.get("/orders").await.expect(303).location(), "/sign-in?next=%2Forders");
    }
    assert_same(&before, &dump(&book), "a visitor");
}

/// [3.5.3] No page is changed by looking at it; and a page asked for by HEAD or another method does nothing.
#[actix_web::test]
async fn looking_changes_nothing() {
    let book = filled();
    let app = both(&book).await;
    let before = dump(&book);
    let pages = crawl(&app).await;
    for (url, shown) in &pages {
        assert!(is_calm(app.ask(Method::OPTIONS, url).await.status), "{url}");
        let head = app.ask(Method::HEAD, url).await;
        assert_eq!(head.status, shown.status, "HEAD {url} answers as GET does");
        assert_eq!(head.header("content-type"), shown.header("content-type"), "{url}");
        assert!(head.bytes.is_empty() && head.header("content-length").is_empty(), "{url} has no body");
    }
    let nobody = app.other_browser();
    for url in ["/farm", "/health", "/sign-in", "/lost-link", "/orders", "/no-such-page"] {
        let (get, head) = (nobody.get(url).await, nobody.ask(Method::HEAD, url).await);
        assert_eq!((head.status, head.header("location")), (get.status, get.header("location")), "{url}");
        assert!(head.bytes.is_empty(), "{url}");
    }
    assert_eq!(nobody.ask(Method::HEAD, "/sign-out").await.status, 404, "where there is no GET there is no HEAD");
    for (method, pattern, _) in routes() {
        for other in [Method::PUT, Method::DELETE, Method::PATCH, Method::TRACE] {
            let page = app.ask(other.clone(), &address(&pattern)).await;
            assert!(matches!(page.status, 404 | 405), "{other} {pattern} ({method}) answered {}", page.status);
        }
    }
    assert_same(&before, &dump(&book), "looking");
}

/// Every form that posts, of every page that links lead to, the farm's and the customer's; each kind of address once.
async fn every_form(app: &TestApp) -> Vec<Form> {
    let mut all = Vec::new();
    let theirs = crawl_from(app, "/my").await;
    let plants = crawl_from(app, "/plant").await;
    for page in crawl(app).await.into_values().chain(theirs.into_values()).chain(plants.into_values()) {
        if page.header("content-type").starts_with("text/html") {
            let leaves = ["/sign-out", "/my/leave", "/lost-link", "/plant/leave"];
            all.extend(page.forms().into_iter().filter(|f| f.post && !leaves.contains(&f.action.as_str())));
        }
    }
    assert!(all.len() > 40, "only {} forms were found", all.len());
    all
}

/// [3.5.1] The second wall: without this session's own key no form does anything.
#[actix_web::test]
async fn a_form_without_its_key_does_nothing() {
    let book = filled();
    let app = both(&book).await;
    let forms = every_form(&app).await;
    let other = app.other_browser();
    other.begin_session();
    let theirs = other
        .get("/customers/new")
        .await
        .forms()
        .iter()
        .find(|f| f.action != "/sign-out" && f.post)
        .unwrap()
        .value("form_key")
        .to_string();
    let before = dump(&book);
    for form in &forms {
        let own = form.value("form_key");
        let bent = format!("{}{}", if own.starts_with('A') { "B" } else { "A" }, own.get(1..).unwrap());
        for key in ["", ".", "x.y", &bent, &theirs, own.split('.').next().unwrap()] {
            let page = app.post(&form.action, form.body(&[("form_key", key)])).await;
            assert!(is_calm(page.status), "{} answered {}", form.action, page.status);
            assert_ne!(page.status, 303, "{} with the key “{key}” went to {}", form.action, page.location());
        }
    }
    assert_same(&before, &dump(&book), "a forged key");
}

/// [2.3.3] Sent twice, done once, and both answers lead to the same place.
#[actix_web::test]
async fn the_same_form_sent_again_does_nothing_and_leads_to_the_same_place() {
    let book = filled();
    let app = TestApp::signed_in(&book).await;
    let page = app.get("/customers/new").await;
    let form = page.forms().into_iter().find(|f| f.post && f.action != "/sign-out").unwrap();
    let body = form.body(&[("name", "Twice Sent"), ("mail", "twice@customers.example")]);
    let first = app.post(&form.action, body.clone()).await.expect(303);
    let before = dump(&book);
    let again = app.post(&form.action, body).await.expect(303);
    assert_eq!(again.location(), first.location());
    // Even with other words in it: the key is what counts.
    let other = app.post(&form.action, form.body(&[("name", "Someone Else")])).await.expect(303);
    assert_eq!(other.location(), first.location());
    assert_same(&before, &dump(&book), "the second sending");
    // A refused form does not use its key up.
    let form = app.get("/customers/new").await.forms().into_iter().find(|f| f.post && f.action != "/sign-out").unwrap();
    app.post(&form.action, form.body(&[("name", "")])).await.expect(422);
    app.post(&form.action, form.body(&[("name", "Third Time")])).await.expect(303);
}

/// [6.3.1] Ten tries, whoever they are for, from one address; ten for one account, from wherever.
#[actix_web::test]
async fn tries_to_sign_in_are_counted() {
    let book = TestBook::sqlite();
    let app = TestApp::new(&book).await;
    app.make_account();
    let attempt = |from: &'static str, mail: String, password: &'static str| {
        let body = form_urlencoded::Serializer::new(String::new())
            .append_pair("mail", &mail)
            .append_pair("password", password)
            .finish();
        let request = TestRequest::post().uri("/sign-in").peer_addr(from.parse().unwrap());
        let request = request.insert_header(("Sec-Fetch-Site", "same-origin")).set_payload(body);
        app.send(request.insert_header((CONTENT_TYPE, "application/x-www-form-urlencoded")))
    };
    for n in 0..10 {
        let page = attempt("192.0.2.1:4000", format!("n{n}@x.example"), "wrong words here").await.expect(422);
        page.says("do not belong together").says_not("wrong words here");
    }
    attempt("192.0.2.1:4001", "more@x.example".into(), "wrong words here").await.expect(429);
    attempt("192.0.2.1:4002", MAIL.into(), PASSWORD).await.expect(429);
    attempt("192.0.2.2:4000", MAIL.into(), PASSWORD).await.expect(303);
    for n in 0..9 {
        let from: &'static str = ["198.51.100.1:1", "198.51.100.2:1", "198.51.100.3:1"][n % 3];
        attempt(from, MAIL.to_uppercase(), "wrong words here").await.expect(422);
    }
    attempt("198.51.100.9:1", MAIL.into(), PASSWORD).await.expect(429).says("Wait a quarter of an hour");
}

/// [4.1.3] Who a proxy says is asking counts only when the operator trusts the proxy.
#[actix_web::test]
async fn a_forged_forwarded_for_does_not_get_around_the_count() {
    let book = TestBook::sqlite();
    for (trust, last) in [("no", 429), ("yes", 422)] {
        let app = TestApp::with(&book, &[("GAMBREL_TRUST_PROXY", trust)]).await;
        let mut status = 0;
        for n in 0..11 {
            let request = TestRequest::post()
                .uri("/sign-in")
                .peer_addr("192.0.2.1:4000".parse().unwrap())
                .insert_header(("X-Forwarded-For", format!("203.0.113.{n}")))
                .insert_header(("Sec-Fetch-Site", "same-origin"))
                .insert_header((CONTENT_TYPE, "application/x-www-form-urlencoded"))
                .set_payload(format!("mail=n{n}%40x.example&password=wrong+words"));
            status = app.send(request).await.status;
        }
        assert_eq!(status, last, "trust: {trust}");
    }
}

/// [6.3.2, 6.4.1] The first account: a link good once and for thirty minutes; no account before it.
#[actix_web::test]
async fn the_first_account_link_is_good_once_and_for_thirty_minutes() {
    let book = TestBook::sqlite();
    let app = TestApp::new(&book).await;
    let link = || gambrel::serve::first_account_link(&app.app, "").unwrap();
    let fields = [("name", "Ada Moen"), ("mail", MAIL), ("password", PASSWORD)];
    app.submit("/sign-in", &[("mail", MAIL), ("password", PASSWORD)]).await.expect(422);

    let old = link().unwrap();
    app.get(&old).await.expect(200);
    let opened = app.get(&old).await.forms().into_iter().find(|f| f.post).unwrap();
    book.clock.advance(30 * MINUTE);
    app.get(&old).await.expect(404).says("older than 30 minutes");
    app.post("/start", opened.body(&fields)).await.expect(422).says("older than 30 minutes");

    let replaced = link().unwrap();
    let good = link().unwrap();
    app.get(&replaced).await.expect(404);
    book.clock.advance(30 * MINUTE - 1);
    app.submit(&good, &[("name", "Ada Moen"), ("mail", MAIL), ("password", "short")]).await.expect(422);
    let form = app.get(&good).await.forms().into_iter().find(|f| f.post).unwrap();
    let made = app.post("/start", form.body(&fields)).await.expect(303);
    assert_eq!(made.location(), "/set-up/farm");
    app.get(&good).await.expect(404);
    let second = [("name", "Eve"), ("mail", "eve@x.example"), ("password", "another few words")];
    app.other_browser().post("/start", form.body(&second)).await.expect(422);
    assert_eq!(link(), None, "with an account there is no link");
    app.get("/start/").await.expect(404);
}

/// [7.3.1, 7.3.2]
#[actix_web::test]
async fn a_session_ends_when_it_lies_idle_and_after_fourteen_days() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    for _ in 0..3 {
        book.clock.advance(12 * HOUR - MINUTE);
        app.get("/").await.expect(200);
    }
    book.clock.advance(12 * HOUR + MINUTE);
    app.get("/").await.expect(303);
    app.begin_session();
    for _ in 0..27 {
        book.clock.advance(DAY / 2 - MINUTE);
        app.get("/").await.expect(200);
    }
    book.clock.advance(DAY / 2 + 27 * MINUTE);
    assert_eq!(app.get("/money").await.expect(303).location(), "/sign-in?next=%2Fmoney");
}

/// [7.4.1, 7.4.4] The server forgets the session; what was in the cookie is worth nothing afterwards.
#[actix_web::test]
async fn signing_out_ends_the_session_on_the_server() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    let (token, other) = (app.cookie("gambrel").unwrap(), app.other_browser());
    other.begin_session();
    app.submit_to("/customers", "/sign-out", &[]).await;
    assert_eq!(app.cookie("gambrel"), None, "the browser forgets it");
    app.set_cookie("gambrel", &token);
    app.get("/customers").await.expect(303);
    other.get("/customers").await.expect(200);
}

/// [3.7.2]
#[actix_web::test]
async fn after_signing_in_nobody_is_led_to_another_site() {
    let book = TestBook::sqlite();
    TestApp::new(&book).await.make_account();
    for (next, to) in [
        ("/orders?before=7", "/orders?before=7"),
        ("", "/"),
        ("https://evil.example/", "/"),
        ("//evil.example/", "/"),
        ("/\\evil.example/", "/"),
        ("\\\\evil.example/", "/"),
        ("/\t/evil.example/", "/"),
        ("/\n/evil.example/", "/"),
        ("\t//evil.example/", "/"),
        (" //evil.example/", "/"),
        ("javascript:alert(1)", "/"),
        ("orders", "/"),
    ] {
        let query: String = form_urlencoded::byte_serialize(next.as_bytes()).collect();
        // A service of its own each, so that its count of tries begins anew.
        let app = TestApp::new(&book).await;
        let url = format!("/sign-in?next={query}");
        let page = app.submit(&url, &[("mail", MAIL), ("password", PASSWORD)]).await;
        let led = page.expect(303).location().to_string();
        let plain: String = led.chars().filter(|c| !c.is_control()).collect();
        assert!(
            led == to || (!plain.starts_with("//") && plain.starts_with('/') && !plain.contains('\\')),
            "{next:?} led to {led:?}"
        );
    }
}

const PROBE: &str = "\"><script>alert(1)</script><img src=x onerror=alert(2)>'`{{7*7}}";

/// [1.2.1] Typed into every field of every form, shown again on every page that shows it.
#[actix_web::test]
async fn what_people_type_is_never_taken_for_code() {
    let book = filled();
    let app = both(&book).await;
    let forms = every_form(&app).await;
    let clean = |page: &Page| {
        if page.header("content-type").starts_with("text/html") {
            let html = page.text();
            assert!(!html.contains("<script>alert") && !html.contains("<img src=x"), "{}\n{html}", page.url);
            assert!(!html.contains("\"><script"), "{}", page.url);
        }
    };
    let mut kept = 0;
    for form in &forms {
        // All at once is mostly refused and shown again; one at a time is often kept.
        let all: Vec<(&str, &str)> = form.typed.iter().map(|n| (n.as_str(), PROBE)).collect();
        clean(&app.post(&form.action, form.body(&all)).await);
        for name in &form.typed {
            let fresh = gambrel::secret::token().unwrap();
            let mail = format!("{fresh}@x.example");
            let mut filled = vec![(name.as_str(), PROBE)];
            for (other, value) in [
                ("name", "Someone New"),
                ("mail", mail.as_str()),
                ("reason", "because"),
                ("tag", fresh.get(..6).unwrap()),
            ] {
                if form.typed.iter().any(|n| n == other) && name != other && form.value(other).is_empty() {
                    filled.push((other, value));
                }
            }
            let page = app.post(&form.action, form.body(&filled)).await;
            assert!(is_calm(page.status), "{} answered {}\n{}", form.action, page.status, page.text());
            kept += usize::from(page.status == 303);
            clean(&page);
        }
    }
    assert!(kept > 10, "only {kept} probes were kept");
    let mut shown = 0;
    for page in crawl(&app).await.values() {
        assert!(is_calm(page.status), "{} answered {}", page.url, page.status);
        clean(page);
        shown += String::from_utf8_lossy(&page.bytes).matches("&#60;script&#62;alert(1)").count();
    }
    assert!(shown > 10, "the probe is shown {shown} times");
    let query: String = form_urlencoded::byte_serialize(PROBE.as_bytes()).collect();
    for url in
        ["/search?q=", "/orders?q=", "/customers?q=", "/customers/suggest?name=", "/sign-in?next=", "/orders/new?name="]
    {
        clean(&app.get(&format!("{url}{query}")).await);
    }
}

/// [2.2.1, 2.2.2] On each engine: whatever stands in a field, the answer is a page and never a failure of ours.
#[actix_web::test]
async fn no_form_fails_on_odd_values() {
    for book in TestBook::each() {
        fill(&book);
        let app = both(&book).await;
        let long = "ß".repeat(2_500);
        let odd = [
            "",
            " ",
            "\0",
            "a\0b",
            "-1",
            "0",
            "1e9",
            "NaN",
            "99999999999999999999",
            "9223372036854775807",
            "-9223372036854775808",
            "0.001",
            "1,000.00",
            "92233720368547758.07",
            "0000-00-00",
            "2027-02-30",
            "9999-12-31",
            "-0001-01-01",
            "+262143-12-31",
            "\u{202e}gpj",
            "\u{fffd}",
            "🐖",
            "'; DROP TABLE customer; --",
            "%s%n",
            &long,
        ];
        for form in every_form(&app).await {
            for value in odd {
                let mut names: Vec<&str> =
                    form.fields.iter().map(|(n, _)| n.as_str()).filter(|n| *n != "form_key").collect();
                names.dedup();
                let all: Vec<(&str, &str)> = names.iter().map(|n| (*n, value)).collect();
                let page = app.post(&form.action, form.body(&all)).await;
                assert!(is_calm(page.status), "{} with {value:?} everywhere: {}", form.action, page.status);
            }
            // One at a time with the rest as it stands, for what gets past the first check.
            for (name, _) in form.fields.iter().filter(|(n, _)| n != "form_key") {
                for value in ["a\0b", "9223372036854775807", "9999-12-31"] {
                    let page = app.post(&form.action, form.body(&[(name.as_str(), value)])).await;
                    assert!(is_calm(page.status), "{} with {name} = {value:?}: {}", form.action, page.status);
                }
            }
        }
        for url in addresses("post") {
            for body in ["%FF%FE=%FF", "=&=&=", "a", "form_key=%00", "%", "name=%F0%28%8C%28"] {
                assert!(is_calm(app.post(&url, body.into()).await.status), "{url} with {body}");
            }
        }
        let still: i64 = book.read(|c| Ok(customer::table.count().get_result(c)?));
        assert!(still >= 3, "the customers are still there");
    }
}

/// [5.3.2] Ids that are none, in every place of every address; and odd queries.
#[actix_web::test]
async fn odd_addresses_find_nothing_and_break_nothing() {
    for book in TestBook::each() {
        fill(&book);
        let app = both(&book).await;
        for (method, pattern, _) in routes() {
            if !pattern.contains('{') {
                let url = format!(
                    "{pattern}?q=%00&before=x&customer=abc&share=-&date=99999999999999999999&q=%FF&after=-1&page=1e9"
                );
                assert!(is_calm(app.get(&url).await.status), "{url}");
                continue;
            }
            for odd in [
                "0",
                "-1",
                "999",
                "9223372036854775807",
                "99999999999999999999",
                "abc",
                "%00",
                "%FF",
                "..%2f..%2fetc",
                "1;x",
                "%F0%9F%90%96",
            ] {
                let url: String = pattern
                    .split('{')
                    .map(|p| p.split_once('}').map_or(p.to_string(), |(_, rest)| format!("{odd}{rest}")))
                    .collect();
                let page = if method == "get" { app.get(&url).await } else { app.post(&url, "x=1".into()).await };
                assert!(is_calm(page.status), "{method} {url} answered {}", page.status);
                assert_ne!(page.status, 200, "{method} {url} shows something");
            }
        }
    }
}

/// [5.2.1, 2.4.1] Too much is refused with a sentence, before it costs anything.
#[actix_web::test]
async fn too_much_and_the_wrong_kind_are_refused() {
    let book = filled();
    let app = both(&book).await;
    let before = dump(&book);
    let key = app.get("/customers/new").await.forms().into_iter().find(|f| f.action != "/sign-out" && f.post).unwrap();
    let body = key.body(&[("name", "Wrong Kind")]);
    for url in addresses("post") {
        // Signing out reads no form.
        if url == "/sign-out" {
            continue;
        }
        let big = format!("notes={}", "x".repeat(600 * 1024));
        assert_eq!(app.post(&url, big).await.status, 400, "{url} takes 600 KB");
        let many = "x=1&".repeat(5_000);
        assert_eq!(app.post(&url, many).await.status, 400, "{url} takes 5,000 fields");
        for kind in ["application/json", "text/plain", "multipart/form-data; boundary=x", ""] {
            let request = TestRequest::post().uri(&url).insert_header(("Sec-Fetch-Site", "same-origin"));
            let request = if kind.is_empty() { request } else { request.insert_header((CONTENT_TYPE, kind)) };
            assert_eq!(app.send(request.set_payload(body.clone())).await.status, 400, "{url} takes “{kind}”");
        }
    }
    assert_same(&before, &dump(&book), "a form of the wrong kind");
}

/// [15.3.3] A field that the form does not have changes nothing.
#[actix_web::test]
async fn fields_nobody_asked_for_are_not_read() {
    let book = filled();
    let app = TestApp::signed_in(&book).await;
    let more = [
        ("name", "Nora Fields"),
        ("id", "1"),
        ("search", "zzz"),
        ("created_at", "1"),
        ("role", "helper"),
        ("is_demo", "1"),
    ];
    let page = app.submit("/customers/new", &more).await.expect(303);
    let id: i64 = page.location().rsplit('/').next().unwrap().parse().unwrap();
    book.read(|c| {
        let (search, created): (String, gambrel::book::at::At) = customer::table
            .find(gambrel::book::ids::CustomerId(id))
            .select((customer::search, customer::created_at))
            .first(c)?;
        assert!(id != 1 && !search.contains("zzz") && created == book.clock.at());
        Ok(())
    });
}

/// [5.4.1, 5.4.2] Papers and letters come as files with a name of our own making, whatever the customer is called.
#[actix_web::test]
async fn files_have_tame_names() {
    let book = TestBook::sqlite();
    let offering = book.hogs();
    let order = book.order(book.customer("Þóra \"x\"\r\nX-Evil: 1 Núñez"), offering, gambrel::trade::share::Size::Half);
    let receipt = book.deposit(order, "150.00");
    let app = TestApp::signed_in(&book).await;
    let page = app.get(&format!("/receipts/{receipt}.pdf")).await.expect(200);
    assert!(page.bytes.starts_with(b"%PDF-"));
    let named = page.header("content-disposition");
    assert!(named.contains("filename=") && !named.contains('\r') && !named.contains("X-Evil: 1"), "{named}");
    assert_eq!(page.header("x-evil"), "");
}

/// [16.5.1] A failure of ours is a page with a number, and tells nothing of how the program is made.
#[actix_web::test]
async fn a_failure_tells_a_number_and_nothing_else() {
    let book = filled();
    let app = TestApp::signed_in(&book).await;
    book.act(|tx, _| {
        let DbConn::Sqlite(c) = tx.conn() else { panic!("a SQLite book") };
        diesel::sql_query("ALTER TABLE customer RENAME TO mislaid").execute(c)?;
        Ok(())
    });
    let page = app.get("/customers").await.expect(500);
    guarded(&page);
    page.says("Number of this fault").says("Nothing was changed");
    for secret in ["customer", "SQL", "sqlite", "no such table", "src/", "panicked"] {
        page.says_not(secret);
    }
    let page = app.get("/health").await;
    assert!(matches!(page.status, 200 | 500) && page.bytes.len() < 5_000);
}
