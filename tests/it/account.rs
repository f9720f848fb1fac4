//! A person's own account: another password, the second factor, recovery codes, sign-ins, links for a forgotten password.

use crate::mail_peer::Peer;
use crate::support::app::{MAIL, PASSWORD};
use crate::support::book::{HOUR, MINUTE};
use crate::support::{TestApp, TestBook};
use gambrel::actions::change_password;
use gambrel::config::Config;
use totp_rs::{Builder, Secret};

const OTHER: &str = "quite another few words";

/// What the phone shows at the book's time, moved by so many half minutes.
fn phone(book: &TestBook, secret: &str, moved: i64) -> String {
    let totp = Builder::new().with_secret(Secret::try_from_base32(secret).unwrap()).build().unwrap();
    let seconds = book.clock.at().0 / 1000 + 30 * moved;
    totp.generate(u64::try_from(seconds).unwrap()).to_string()
}

/// Switches the second factor on and returns the secret and the recovery codes.
async fn switch_on(book: &TestBook, app: &TestApp) -> (String, Vec<String>) {
    let page = app.get("/account/second-factor").await.expect(200);
    let form = page.forms().into_iter().find(|f| f.action == "/account/second-factor").unwrap();
    let secret = form.value("secret").to_string();
    assert_eq!(secret.len(), 32, "160 bits in base 32");
    let code = phone(book, &secret, 0);
    let body = form.body(&[("code", &code), ("password", PASSWORD)]);
    let shown = app.post(&form.action, body.clone()).await.expect(200);
    let codes: Vec<String> =
        shown.text().split("<li><code>").skip(1).map(|r| r.split('<').next().unwrap().to_string()).collect();
    assert_eq!(codes.len(), 8, "{}", shown.text());
    // Sent again it shows no codes: they are seen once.
    assert_eq!(app.post(&form.action, body).await.expect(303).location(), "/account");
    (secret, codes)
}

#[actix_web::test]
async fn with_a_second_factor_the_password_alone_does_not_get_in() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let (secret, _) = switch_on(&book, &app).await;
        app.get("/account").await.expect(200).says("On since").says("8 left");
        book.clock.advance(HOUR);

        let other = app.other_browser();
        let page = other.submit("/sign-in?next=%2Forders", &[("mail", MAIL), ("password", PASSWORD)]).await.expect(303);
        assert_eq!(page.location(), "/sign-in/code?next=%2Forders");
        for url in ["/", "/orders", "/account", "/money"] {
            assert!(other.get(url).await.expect(303).location().starts_with("/sign-in"), "{url} before the code");
        }
        let form = other.get(page.location()).await.expect(200).forms().into_iter().find(|f| f.post).unwrap();
        for wrong in ["", "000000", &phone(&book, &secret, 5), "abcd-abcd-abcd-abcd-abcd-abcd"] {
            other.post(&form.action, form.body(&[("code", wrong)])).await.expect(422).says("does not fit");
        }
        let code = phone(&book, &secret, 0);
        let page = other.post(&form.action, form.body(&[("code", &code)])).await.expect(303);
        assert_eq!(page.location(), "/orders");
        other.get("/orders").await.expect(200);

        // The code is used up; the one before it is as good as used.
        for moved in [0, -1] {
            let third = app.other_browser();
            third.submit("/sign-in", &[("mail", MAIL), ("password", PASSWORD)]).await.expect(303);
            let again = phone(&book, &secret, moved);
            third.submit("/sign-in/code", &[("code", &again)]).await.expect(422);
        }
    }
}

#[actix_web::test]
async fn a_code_is_asked_for_within_five_minutes_and_ten_times_at_most() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    let (secret, _) = switch_on(&book, &app).await;
    let other = app.other_browser();
    other.sign_in_by_form(PASSWORD).await.expect(303);
    book.clock.advance(5 * MINUTE);
    assert_eq!(other.get("/sign-in/code").await.expect(303).location(), "/sign-in");
    let code = phone(&book, &secret, 0);
    let late = other.post("/sign-in/code", format!("code={code}")).await.expect(303);
    assert_eq!(late.location(), "/sign-in", "the right code comes too late");

    other.sign_in_by_form(PASSWORD).await.expect(303);
    for _ in 0..10 {
        other.submit("/sign-in/code", &[("code", "000000")]).await.expect(422);
    }
    other.submit("/sign-in/code", &[("code", &code)]).await.expect(429);
}

#[actix_web::test]
async fn a_recovery_code_stands_in_for_the_phone_once() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let (_, codes) = switch_on(&book, &app).await;
        let typed = codes[3].replace('-', " ").to_uppercase();
        let other = app.other_browser();
        other.sign_in_by_form(PASSWORD).await.expect(303);
        let page = other.submit("/sign-in/code", &[("code", &typed)]).await.expect(303);
        other.follow(&page).await.expect(200).says("used up now");
        other.get("/account").await.says("7 left");
        let third = app.other_browser();
        third.sign_in_by_form(PASSWORD).await.expect(303);
        third.submit("/sign-in/code", &[("code", &codes[3])]).await.expect(422);

        // New ones put an end to the old ones, and only for somebody who knows the password.
        app.submit("/account/second-factor/codes", &[("password", "not this one")]).await.expect(422);
        let fresh = app.submit("/account/second-factor/codes", &[("password", PASSWORD)]).await.expect(200);
        assert!(codes.iter().all(|c| !fresh.text().contains(c.as_str())));
        third.submit("/sign-in/code", &[("code", &codes[4])]).await.expect(422);
    }
}

#[actix_web::test]
async fn the_second_factor_goes_on_and_off_with_the_password_only() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    let page = app.get("/account/second-factor").await.expect(200);
    let form = page.forms().into_iter().find(|f| f.action == "/account/second-factor").unwrap();
    let secret = form.value("secret").to_string();
    assert_ne!(
        app.get("/account/second-factor")
            .await
            .forms()
            .iter()
            .find(|f| f.post && f.action == form.action)
            .unwrap()
            .value("secret"),
        secret
    );
    let code = phone(&book, &secret, 0);
    for (code, password, says) in [
        (code.as_str(), "", "Write the password"),
        (code.as_str(), "not this one", "not the password"),
        ("", PASSWORD, "six figures"),
        ("123", PASSWORD, "does not fit"),
    ] {
        let page = app.post(&form.action, form.body(&[("code", code), ("password", password)])).await.expect(422);
        page.says(says).says(&secret).says_not("not this one");
    }
    // A secret that is too short to be one of ours is not taken.
    let short = form.body(&[("secret", "MFRGG"), ("code", &code), ("password", PASSWORD)]);
    assert_eq!(app.post(&form.action, short).await.expect(303).location(), "/account/second-factor");
    app.get("/account").await.says("Off. With it on");

    switch_on(&book, &app).await;
    app.submit("/account/second-factor/off", &[("password", "not this one")]).await.expect(422);
    app.submit("/account/second-factor/off", &[("password", PASSWORD)]).await.expect(303);
    app.get("/account").await.says("Off. With it on").says_not("Recovery codes");
    assert_eq!(app.other_browser().sign_in_by_form(PASSWORD).await.expect(303).location(), "/");
}

#[actix_web::test]
async fn another_password_signs_other_browsers_out() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let other = app.other_browser();
        other.begin_session();
        for (old, new, says) in [
            ("", OTHER, "Write the password"),
            ("not this one", OTHER, "not the password"),
            (PASSWORD, "short", "at least 10"),
            (PASSWORD, MAIL, "first anybody would try"),
        ] {
            let page = app.submit("/account/password", &[("password", old), ("new", new)]).await.expect(422);
            page.says(says).says_not(&format!("value=\"{new}\""));
        }
        other.get("/").await.expect(200);
        app.submit("/account/password", &[("password", PASSWORD), ("new", OTHER)]).await.expect(303);
        app.get("/").await.expect(200);
        other.get("/").await.expect(303);
        other.sign_in_by_form(PASSWORD).await.expect(422);
        other.sign_in_by_form(OTHER).await.expect(303);
    }
}

#[actix_web::test]
async fn sign_ins_are_listed_and_ended_one_by_one_or_all_others() {
    let book = TestBook::sqlite();
    let app = TestApp::signed_in(&book).await;
    let (second, third) = (app.other_browser(), app.other_browser());
    second.begin_session();
    third.begin_session();
    let page = app.get("/account").await.expect(200);
    page.says("(this one)");
    let ends: Vec<_> = page.forms().into_iter().filter(|f| f.action == "/account/sign-ins/end").collect();
    assert_eq!(ends.len(), 3, "two others, and all others");
    let own = app.cookie("gambrel").map(|t| gambrel::secret::hash(&t)).unwrap();
    app.post(&ends[0].action, ends[0].body(&[("which", &own)])).await.expect(422).says("over already");
    app.post(&ends[0].action, ends[0].body(&[])).await.expect(303);
    let still = [second.get("/").await.status, third.get("/").await.status];
    assert_eq!(still.iter().filter(|s| **s == 200).count(), 1, "one of them ended: {still:?}");
    app.submit_to("/account", "/account/sign-ins/end", &[("which", "others")]).await.expect(303);
    assert_eq!((second.get("/").await.status, third.get("/").await.status), (303, 303));
    app.get("/account").await.expect(200).says_not("Sign out everywhere else");
}

#[actix_web::test]
async fn a_link_from_the_command_line_chooses_another_password_once() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let (secret, _) = switch_on(&book, &app).await;
        let config = Config::from_parts(&Default::default(), None).unwrap();
        let link = |mail: &str, without: bool| {
            change_password::link_by_hand(&config, &book.store, mail, without, book.clock.at())
        };
        assert!(link("nobody@x.example", false).unwrap_err().contains("nobody signs in as"));
        let path = |link: String| format!("/sign-in/new/{}", link.rsplit('/').next().unwrap());
        let replaced = path(link(MAIL, false).unwrap());
        let good = path(link("Ada@NettleBend.example", false).unwrap());
        let stranger = app.other_browser();
        stranger.get(&replaced).await.expect(404);
        stranger.get(&good).await.expect(200);
        stranger.submit(&good, &[("new", "short")]).await.expect(422).says("at least 10");
        let page = stranger.submit(&good, &[("new", OTHER)]).await.expect(303);
        assert_eq!(page.location(), "/sign-in");
        stranger.follow(&page).await.expect(200).says("Your new password is good");
        app.get("/").await.expect(303);
        stranger.get(&good).await.expect(404).says("does not work any more");
        book.clock.advance(MINUTE);
        let page = stranger.sign_in_by_form(OTHER).await.expect(303);
        assert!(page.location().starts_with("/sign-in/code"), "the second factor is still asked for");
        stranger.submit("/sign-in/code", &[("code", &phone(&book, &secret, 0))]).await.expect(303);
        stranger.get("/account").await.expect(200);

        let old = path(link(MAIL, true).unwrap());
        book.clock.advance(30 * MINUTE);
        stranger.get(&old).await.expect(404);
        let last = path(link(MAIL, true).unwrap());
        stranger.submit(&last, &[("new", PASSWORD)]).await.expect(303);
        let page = stranger.sign_in_by_form(PASSWORD).await.expect(303);
        assert_eq!(page.location(), "/", "the second factor was switched off with it");
    }
}

#[actix_web::test]
async fn a_forgotten_password_mails_a_link_to_the_known_address_and_tells_a_stranger_nothing() {
    let book = TestBook::sqlite();
    let bare = TestApp::new(&book).await;
    bare.get("/sign-in/lost").await.expect(200).says("gambrel reset-password");
    let Some(mut peer) = Peer::start() else { return };
    let url = format!("smtp+plain://127.0.0.1:{}", peer.port("plain"));
    let app = TestApp::with(&book, &[("SMTP_URL", &url), ("GAMBREL_PUBLIC_URL", "http://farm.example")]).await;
    app.make_account();
    let ask = async |mail: &'static str| app.submit("/sign-in/lost", &[("mail", mail)]).await;
    let unknown = ask("nobody@x.example").await.expect(200);
    let known = ask("ADA@nettlebend.example").await.expect(200);
    let said = |page: &crate::support::Page| page.text().to_string();
    assert_eq!(said(&unknown), said(&known));
    let mails = arrived(&mut peer).await;
    assert_eq!(mails.len(), 1, "{mails:?}");
    assert!(mails[0]["to"].to_string().contains(MAIL));
    let text = mails[0]["text"].as_str().unwrap();
    let token =
        text.split("http://farm.example/sign-in/new/").nth(1).expect("a link").split_whitespace().next().unwrap();
    app.submit(&format!("/sign-in/new/{token}"), &[("new", OTHER)]).await.expect(303);
    app.get("/").await.expect(303);
    let told = arrived(&mut peer).await;
    assert_eq!(told[0]["subject"], "Your password for Nettle Bend Farm was changed");
    for _ in 0..9 {
        ask("nobody@x.example").await;
    }
    ask("nobody@x.example").await.expect(429);
}

/// What the mail server got, waited for up to five seconds.
async fn arrived(peer: &mut Peer) -> Vec<serde_json::Value> {
    for _ in 0..100 {
        let mails = peer.received();
        if !mails.is_empty() {
            return mails;
        }
        actix_web::rt::time::sleep(std::time::Duration::from_millis(50)).await;
    }
    Vec::new()
}
