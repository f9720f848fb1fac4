//! The barn's pages through the whole service: they show, keep what was typed, and save.

use crate::barn_book::{Barn, day, sides};
use actix_web::http::header::{CONTENT_TYPE, COOKIE, LOCATION};
use actix_web::test::{TestRequest, call_service, init_service, read_body};
use gambrel::actions::Failure;
use gambrel::actions::accounts::{Browser, FirstAccount, hash_password, make_first_account, make_setup_link, sign_in};
use gambrel::actions::place_share::Spot;
use gambrel::book::at::At;
use gambrel::book::{accounts, farm};
use gambrel::clock::Clock;
use gambrel::config::Config;
use gambrel::secret;
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::Inspection;
use gambrel::web::app::App;
use gambrel::web::server::service;

const TOKEN: &str = "abcdefghijklmnopqrstuvwxyz012345";
const FORM_SECRET: &str = "a-form-secret-of-this-browser-00";

/// Noon of October 14, 2027 in UTC.
fn now() -> At {
    At(day("2027-10-14").and_hms_opt(18, 0, 0).unwrap().and_utc().timestamp_millis())
}

/// A barn whose farmer is signed in.
fn signed_in(barn: &Barn) -> App {
    let input = FirstAccount {
        token: "link".into(),
        name: "Ada".into(),
        mail: "ada@nettlebend.example".into(),
        password_hash: hash_password("a few words in a row").unwrap(),
    };
    barn.book
        .store
        .write(|tx| {
            make_setup_link(tx, now(), "link")?;
            make_first_account(tx, now(), &input)?;
            let account = accounts::by_mail(tx.conn(), "ada@nettlebend.example")?.unwrap();
            let browser = Browser { token: TOKEN.into(), form_secret: FORM_SECRET.into(), name: String::new() };
            sign_in(tx, account.id, now(), &browser)?;
            let mut f = farm::get(tx.conn())?;
            f.set_up_at = Some(now());
            let version = f.version;
            assert!(farm::save(tx, &f, version)?);
            Ok::<_, Failure>(())
        })
        .unwrap();
    let config = Config::from_parts(&std::collections::BTreeMap::new(), None).unwrap();
    App::new(barn.book.store.clone(), config, Clock::set(now()))
}

/// A page: its status and its words. A macro, because the service's type has no name here.
macro_rules! get {
    ($service:expr, $url:expr) => {{
        let cookie = format!("gambrel={TOKEN}");
        let request = TestRequest::get().uri($url).insert_header((COOKIE, cookie)).to_request();
        let answer = call_service($service, request).await;
        (answer.status().as_u16(), String::from_utf8(read_body(answer).await.to_vec()).unwrap())
    }};
}

/// A form sent: its status, where it led, and the page's words.
macro_rules! post {
    ($service:expr, $url:expr, $fields:expr) => {{
        let request = TestRequest::post()
            .uri($url)
            .insert_header((COOKIE, format!("gambrel={TOKEN}")))
            .insert_header(("Sec-Fetch-Site", "same-origin"))
            .insert_header((CONTENT_TYPE, "application/x-www-form-urlencoded"))
            .set_payload(form_body($fields))
            .to_request();
        let answer = call_service($service, request).await;
        let status = answer.status().as_u16();
        let to = answer.headers().get(LOCATION).map(|v| v.to_str().unwrap().to_string()).unwrap_or_default();
        (status, to, String::from_utf8(read_body(answer).await.to_vec()).unwrap())
    }};
}

fn form_body(fields: &[(&str, &str)]) -> String {
    let mut body = form_urlencoded::Serializer::new(String::new());
    body.append_pair("form_key", &secret::form_key(FORM_SECRET).unwrap());
    for (name, value) in fields {
        body.append_pair(name, value);
    }
    body.finish()
}

#[actix_web::test]
async fn every_page_of_the_barn_shows() {
    let barn = Barn::each().into_iter().next().unwrap();
    let app = signed_in(&barn);
    let service = init_service(service(app)).await;
    for url in ["/processors", "/processors/new", "/dates", "/dates/new", "/animals", "/animals/new"] {
        assert_eq!(get!(&service, url).0, 200, "{url} in an empty book");
    }
    let plant = barn.plant(Inspection::Custom);
    let (past, coming) = (barn.date(plant, "2027-10-14"), barn.date(plant, "2027-10-20"));
    let steer = barn.animal(Class::Steer, "229", "1265", Some(past));
    let hog = barn.animal(Class::Barrow, "41", "290", Some(coming));
    let order = barn.order(1, barn.offering(Species::Beef, 2), Size::Half, None, false);
    barn.place(order, steer, Spot::Side(Side::Left)).unwrap();
    barn.weigh(past, vec![barn.row(steer, sides("389.5", "386"))]).unwrap();
    let mut urls = vec![
        "/processors".to_string(),
        "/dates".into(),
        "/animals".into(),
        "/animals?species=beef&standing=weighed&before=99".into(),
        "/animals?species=nonsense&before=x".into(),
        "/dates?before=2027-10-14-7".into(),
        format!("/orders/{order}/place"),
    ];
    for part in ["", "/change", "/charges/new"] {
        urls.push(format!("/processors/{plant}{part}"));
    }
    for date in [past, coming] {
        for part in ["", "/change", "/cancel", "/head", "/shares", "/weigh-in"] {
            urls.push(format!("/dates/{date}{part}"));
        }
    }
    for animal in [steer, hog] {
        for part in ["", "/change", "/weight", "/treatment", "/date", "/lost"] {
            urls.push(format!("/animals/{animal}{part}"));
        }
    }
    for url in urls {
        let (status, html) = get!(&service, &url);
        assert_eq!(status, 200, "{url}");
        assert!(!html.contains("{{") && html.contains("<h1>"), "{url}");
    }
    for url in
        ["/processors/99", "/dates/99", "/dates/99/weigh-in", "/animals/99", "/orders/99/place", "/animals/99/lost"]
    {
        assert_eq!(get!(&service, url).0, 404, "{url}");
    }
    let html = get!(&service, &format!("/dates/{past}")).1;
    assert!(html.contains("Steer 229. Left side: half, Customer 1. Right side: free."), "the rail says it in words");
    assert!(html.contains("389.50") && html.contains("Sell every quarter first"));
}

#[actix_web::test]
async fn a_refused_weigh_in_keeps_what_was_typed_and_a_good_one_is_saved_once() {
    let barn = Barn::each().into_iter().next().unwrap();
    let app = signed_in(&barn);
    let service = init_service(service(app)).await;
    let date = barn.date(barn.plant(Inspection::Custom), "2027-10-14");
    let heifer = barn.animal(Class::Heifer, "214", "1180", Some(date));
    let hog = barn.animal(Class::Barrow, "31", "290", Some(date));
    let url = format!("/dates/{date}/weigh-in");
    let name = |id, what: &str| format!("w{id}-{what}");
    let names: Vec<String> = [heifer, hog]
        .iter()
        .flat_map(|id| ["version", "what", "left", "right", "ok", "skin"].map(|what| name(*id, what)))
        .collect();
    let fields = |right: &'static str, ok: &'static str| {
        let values = ["0", "hung", "352", right, "", "", "0", "hung", "121", "120", ok, "yes"];
        let mut all: Vec<(&str, &str)> = vec![("basis", "hot"), ("weighed_on", "2027-10-14")];
        all.extend(names.iter().map(String::as_str).zip(values));
        all
    };
    let (status, _, html) = post!(&service, &url, &fields("35l.5", ""));
    assert_eq!(status, 422);
    for words in [
        "Two weights need another look",
        "Nothing is saved yet. What you typed is still here.",
        "Heifer 214, right side: “35l.5” is not a weight. Write it in figures, such as 351.5.",
        "value=\"35l.5\"",
        "241.00 lb is right (121.00 and 120.00)",
        "value=\"121.00 + 120.00\"",
        &format!("href=\"#w{hog}-ok\""),
    ] {
        assert!(html.contains(words), "{words}\n{html}");
    }
    let (status, ..) = post!(&service, &url, &fields("351.5", ""));
    assert_eq!(status, 422, "the doubt is not ticked");
    assert!(barn.billed(&[heifer, hog]).is_empty());
    let (status, to, _) = post!(&service, &url, &fields("351.5", "121.00 + 120.00"));
    assert_eq!((status, to), (303, format!("/dates/{date}")));
    assert_eq!(barn.billed(&[heifer, hog]).len(), 2);
    // The same page, saved again after somebody else did: both versions side by side, and the renewed one goes through.
    let (status, _, html) = post!(&service, &url, &fields("350", "121.00 + 120.00"));
    assert_eq!(status, 422);
    assert!(html.contains("Somebody else saved this while you had it open") && html.contains("Keep theirs"));
    assert!(html.contains(&format!("name=\"w{heifer}-version\" value=\"1\"")), "{html}");
}

#[actix_web::test]
async fn a_farmer_books_a_plant_a_date_and_an_animal_by_forms() {
    let barn = Barn::each().into_iter().next().unwrap();
    let app = signed_in(&barn);
    let service = init_service(service(app)).await;
    let (status, to, _) = post!(&service, "/processors/new", &[("name", "Pell Road Meats"), ("inspection", "custom")]);
    assert_eq!(status, 303);
    let plant = to.rsplit('/').next().unwrap().to_string();
    let charge = [
        ("name", "Kill fee"),
        ("per", "head"),
        ("rate", "95"),
        ("billed_by", "processor"),
        ("minimum_quantity", "200"),
    ];
    let url = format!("{to}/charges/new");
    let (status, _, html) = post!(&service, &url, &charge);
    assert_eq!(status, 422);
    assert!(html.contains("A minimum weight has no meaning for a charge per head"));
    assert_eq!(post!(&service, &url, &charge[..4]).0, 303);
    assert!(get!(&service, &to).1.contains("$95.00 per head"));

    let dates =
        [("processor", plant.as_str()), ("kill_on", "2027-10-20"), ("slots-beef", "1"), ("pickup_to", "2027-10-1")];
    let (status, _, html) = post!(&service, "/dates/new", &dates);
    assert_eq!(status, 422);
    assert!(html.contains("Pickup ends before it begins") && html.contains("value=\"2027-10-20\""));
    let (status, date, _) = post!(&service, "/dates/new", &dates[..3]);
    assert_eq!(status, 303);
    let (status, next, _) =
        post!(&service, "/animals/new", &[("class", "steer"), ("tag", "229"), ("birth", "Apr 2026"), ("then", "more")]);
    assert_eq!(status, 303);
    assert!(next.starts_with("/animals/new?class=steer&"), "{next}");
    assert!(get!(&service, &next).1.contains("value=\"Apr 2026\""), "the next one keeps what they have in common");
    let (status, to, _) = post!(&service, &format!("{date}/head"), &[("animal", "1")]);
    assert_eq!((status, to.as_str()), (303, date.as_str()));
    let html = get!(&service, "/animals/1").1;
    assert!(html.contains("Goes to slaughter on") && html.contains("Under 30 months"));
}
