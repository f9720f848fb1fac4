//! The whole service without a socket, with a cookie jar and forms read off its own pages.

use super::book::TestBook;
use super::page::{Form, Page};
use actix_web::body::to_bytes;
use actix_web::cookie::Cookie;
use actix_web::dev::Service;
use actix_web::http::header::{CONTENT_TYPE, COOKIE, SET_COOKIE};
use actix_web::http::{Method, StatusCode};
use actix_web::test::{TestRequest, init_service};
use gambrel::actions::Failure;
use gambrel::actions::accounts::{Browser, FirstAccount, hash_password, make_first_account, make_setup_link, sign_in};
use gambrel::actions::plant_link;
use gambrel::actions::private_link::{mint, open_link};
use gambrel::book::accounts;
use gambrel::book::at::Now;
use gambrel::book::ids::{DateId, ReservationId};
use gambrel::config::Config;
use gambrel::trade::vocabulary::LinkFor;
use gambrel::web::app::App;
use gambrel::web::server::service;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::future::Future;
use std::pin::Pin;
use std::rc::Rc;
use std::sync::OnceLock;

pub(crate) const MAIL: &str = "ada@nettlebend.example";
pub(crate) const PASSWORD: &str = "a few words in a row";

type Answerer = Box<dyn Fn(TestRequest) -> Pin<Box<dyn Future<Output = Page>>>>;

/// The service over a book, and one browser in front of it.
pub(crate) struct TestApp {
    pub(crate) app: App,
    answerer: Rc<Answerer>,
    cookies: RefCell<BTreeMap<String, String>>,
}

impl TestApp {
    /// The service with settings as they would stand in the environment; nobody is signed in.
    pub(crate) async fn with(book: &TestBook, env: &[(&str, &str)]) -> Self {
        let env = env.iter().map(|(k, v)| ((*k).to_string(), (*v).to_string())).collect();
        let mut config = Config::from_parts(&env, None).unwrap();
        config.place = book.fresh.place.clone();
        config.data = book.fresh.data();
        let app = App::new(book.store.clone(), config, book.clock.clone());
        let served = Rc::new(init_service(service(app.clone())).await);
        let answerer: Answerer = Box::new(move |request| {
            let (served, req) = (served.clone(), request.to_request());
            let url = req.uri().to_string();
            Box::pin(async move {
                let answer = served.call(req).await.expect("every failure is a page");
                let (req, answer) = answer.into_parts();
                let (status, headers) = (answer.status().as_u16(), answer.headers().clone());
                drop(req);
                let bytes = to_bytes(answer.into_body()).await.ok().expect("the body is whole").to_vec();
                Page { url, status, headers, bytes }
            })
        });
        Self { app, answerer: Rc::new(answerer), cookies: RefCell::default() }
    }
    pub(crate) async fn new(book: &TestBook) -> Self {
        Self::with(book, &[]).await
    }
    /// The service with one account, which is signed in.
    pub(crate) async fn signed_in(book: &TestBook) -> Self {
        let this = Self::new(book).await;
        this.make_account();
        this.begin_session();
        this
    }
    /// Another browser on the same service, nobody signed in.
    pub(crate) fn other_browser(&self) -> Self {
        Self { app: self.app.clone(), answerer: self.answerer.clone(), cookies: RefCell::default() }
    }
    /// Makes the account of [`MAIL`] and [`PASSWORD`].
    pub(crate) fn make_account(&self) {
        static HASH: OnceLock<String> = OnceLock::new();
        let input = FirstAccount {
            token: "link".into(),
            name: "Ada Moen".into(),
            mail: MAIL.into(),
            password_hash: HASH.get_or_init(|| hash_password(PASSWORD).unwrap()).clone(),
        };
        let at = self.app.clock.at();
        let made = self.app.store.write(|tx| {
            make_setup_link(tx, at, "link")?;
            make_first_account(tx, at, &input)
        });
        made.unwrap();
    }
    /// Signs the account in without the cost of a password.
    pub(crate) fn begin_session(&self) {
        let browser = Browser::new("a test").unwrap();
        let at = self.app.clock.at();
        let begun = self.app.store.write(|tx| {
            let account = accounts::by_mail(tx.conn(), MAIL)?.ok_or(Failure::NotFound)?;
            sign_in(tx, account.id, at, &browser)
        });
        begun.unwrap();
        self.cookies.borrow_mut().insert(self.app.cookie_name().into(), browser.token);
    }
    /// A private link of an order; returns its token.
    pub(crate) fn link(&self, order: ReservationId) -> String {
        let token = gambrel::secret::token().unwrap();
        let at = self.app.clock.at();
        let now = Now { at, today: at.day(chrono_tz::America::Chicago), zone: chrono_tz::America::Chicago };
        let made = self.app.store.write(|tx| mint(tx, now, order, &token, LinkFor::Shown));
        made.unwrap();
        token
    }
    /// Opens a private link of an order in this browser without its page.
    pub(crate) fn hold(&self, order: ReservationId) {
        let token = self.link(order);
        let (cookie, form_secret) = (gambrel::secret::token().unwrap(), gambrel::secret::token().unwrap());
        let at = self.app.clock.at();
        assert!(self.app.store.write(|tx| open_link(tx, at, &token, &cookie, &form_secret)).unwrap());
        self.cookies.borrow_mut().insert(self.app.holder_cookie().into(), cookie);
    }
    /// A private link of a processing date; returns its token.
    pub(crate) fn plant_link(&self, date: DateId) -> String {
        let token = gambrel::secret::token().unwrap();
        let at = self.app.clock.at();
        let now = Now { at, today: at.day(chrono_tz::America::Chicago), zone: chrono_tz::America::Chicago };
        self.app.store.write(|tx| plant_link::mint(tx, now, date, &token, LinkFor::Shown)).unwrap();
        token
    }
    /// Opens a private link of a processing date in this browser without its page.
    pub(crate) fn at_the_plant(&self, date: DateId, name: &str) {
        let token = self.plant_link(date);
        let (cookie, form_secret) = (gambrel::secret::token().unwrap(), gambrel::secret::token().unwrap());
        let at = self.app.clock.at();
        let opened = self.app.store.write(|tx| plant_link::open_link(tx, at, &token, name, &cookie, &form_secret));
        assert!(opened.unwrap());
        self.cookies.borrow_mut().insert(self.app.plant_cookie().into(), cookie);
    }
    pub(crate) fn cookie(&self, name: &str) -> Option<String> {
        self.cookies.borrow().get(name).cloned()
    }
    pub(crate) fn set_cookie(&self, name: &str, value: &str) {
        self.cookies.borrow_mut().insert(name.into(), value.into());
    }
    /// Sends a request with the browser's cookies and keeps those that come back.
    pub(crate) async fn send(&self, request: TestRequest) -> Page {
        let jar: Vec<String> = self.cookies.borrow().iter().map(|(k, v)| format!("{k}={v}")).collect();
        let request = if jar.is_empty() { request } else { request.insert_header((COOKIE, jar.join("; "))) };
        let page = (self.answerer)(request).await;
        for value in page.headers.get_all(SET_COOKIE) {
            let cookie = Cookie::parse(value.to_str().unwrap().to_string()).unwrap();
            let mut jar = self.cookies.borrow_mut();
            if cookie.value().is_empty() {
                jar.remove(cookie.name());
            } else {
                jar.insert(cookie.name().into(), cookie.value().into());
            }
        }
        page
    }
    pub(crate) async fn get(&self, url: &str) -> Page {
        self.send(TestRequest::get().uri(url)).await
    }
    /// A form's body sent as a browser sends it from a page of ours.
    pub(crate) async fn post(&self, url: &str, body: String) -> Page {
        let request = TestRequest::post()
            .uri(url)
            .insert_header(("Sec-Fetch-Site", "same-origin"))
            .insert_header((CONTENT_TYPE, "application/x-www-form-urlencoded"))
            .set_payload(body);
        self.send(request).await
    }
    /// A form with a file in it, sent as a browser sends it.
    pub(crate) async fn upload(&self, url: &str, fields: &[(&str, &str)], name: &str, file: &[u8]) -> Page {
        let mut body = Vec::new();
        for (field, value) in fields {
            body.extend(
                format!("--limit\r\nContent-Disposition: form-data; name=\"{field}\"\r\n\r\n{value}\r\n").bytes(),
            );
        }
        let head = format!("--limit\r\nContent-Disposition: form-data; name=\"{name}\"; filename=\"../../a.jpg\"\r\n");
        body.extend(head.bytes().chain(b"Content-Type: image/jpeg\r\n\r\n".iter().copied()));
        body.extend(file.iter().chain(b"\r\n--limit--\r\n"));
        let request = TestRequest::post().uri(url).insert_header(("Sec-Fetch-Site", "same-origin"));
        self.send(request.insert_header((CONTENT_TYPE, "multipart/form-data; boundary=limit")).set_payload(body)).await
    }
    /// Opens a page, fills in its form, and sends it: the first form that posts and is not the one that signs out.
    #[track_caller]
    pub(crate) fn submit<'a>(
        &'a self,
        url: &'a str,
        filled: &'a [(&'a str, &'a str)],
    ) -> impl Future<Output = Page> + 'a {
        self.submit_to(url, "", filled)
    }
    /// The same with the form whose action is `action` (empty: the first that posts).
    #[track_caller]
    pub(crate) fn submit_to<'a>(
        &'a self,
        url: &'a str,
        action: &'a str,
        filled: &'a [(&'a str, &'a str)],
    ) -> impl Future<Output = Page> + 'a {
        let caller = std::panic::Location::caller();
        async move {
            let page = self.get(url).await;
            assert_eq!(page.status, 200, "{caller}: {url} answered {} {}", page.status, page.location());
            let mut forms = page.forms().into_iter().filter(|f| f.post);
            let wanted = |f: &Form| if action.is_empty() { f.action != "/sign-out" } else { f.action == action };
            let form = forms.find(wanted);
            let form = form.unwrap_or_else(|| panic!("{caller}: {url} has no form {action}\n{}", page.text()));
            self.post(&form.action, form.body(filled)).await
        }
    }
    /// Follows a redirect.
    pub(crate) async fn follow(&self, page: &Page) -> Page {
        assert_eq!(page.status, 303, "{} does not lead on", page.url);
        self.get(page.location()).await
    }
    pub(crate) async fn sign_in_by_form(&self, password: &str) -> Page {
        self.submit("/sign-in", &[("mail", MAIL), ("password", password)]).await
    }
    /// A request of any method.
    pub(crate) async fn ask(&self, method: Method, url: &str) -> Page {
        self.send(TestRequest::with_uri(url).method(method).insert_header(("Sec-Fetch-Site", "same-origin"))).await
    }
}

/// Whether a status says that nothing went wrong on our side.
pub(crate) fn is_calm(status: u16) -> bool {
    StatusCode::from_u16(status).is_ok_and(|s| !s.is_server_error())
}
