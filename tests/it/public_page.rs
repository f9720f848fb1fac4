//! The public page: off until it is switched on, what it says, its estimator, its pictures, and what it holds back.

use crate::my_cut_sheet::read;
use crate::support::farm::{lb, png};
use crate::support::{TestApp, TestBook, on_each_engine};
use actix_web::test::TestRequest;
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::offer::{OfferingIn, PriceIn, add_offering, close_offering};
use gambrel::actions::prepare_picture::prepare;
use gambrel::actions::public_page::{MOST_PICTURES, PageIn, PictureIn, add_picture, arrange_pictures, change_page};
use gambrel::book::ids::OfferingId;
use gambrel::book::schema::story;
use gambrel::book::{offerings, public_page};
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::{Size, Species};
use gambrel::trade::vocabulary::{BilledBy, Per, PriceBasis, QuarterPart};

/// Two hogs, whole and by the half, that hang at 176 to 216 lb, with a plant and a date.
fn farm(book: &TestBook) -> OfferingId {
    let input = OfferingIn {
        species: Species::Hog,
        season: "Fall 2027".into(),
        head_count: 2,
        sizes: vec![Size::Whole, Size::Half],
        quarter_part: QuarterPart::Split,
        expected_low: Some(lb("176")),
        expected_high: Some(lb("216")),
        notes: "Raised in the oak lot.".into(),
    };
    let price = |size, cents: i64, deposit: i64| PriceIn {
        size,
        basis: PriceBasis::Hanging,
        rate: Some(Rate::from_ten_thousandths(cents * 100)),
        flat_price: None,
        deposit: Money::from_cents(deposit * 100),
    };
    let prices = [price(Size::Whole, 500, 200), price(Size::Half, 525, 100)];
    let from = book.now().today;
    let id = book.act(|tx, doing| add_offering(tx, doing, &input, &prices, from));
    let plant = book.plant();
    book.charge(plant, "Kill fee", Per::Head, "65", BilledBy::Processor);
    book.charge(plant, "Cut and wrap", Per::UnitHanging, "0.90", BilledBy::Processor);
    book.charge(plant, "Trailer", Per::Head, "25", BilledBy::Farm);
    book.date(plant, "2027-11-18");
    id
}

fn page_in(is_on: bool, offerings: &[OfferingId]) -> PageIn {
    PageIn { is_on, headline: String::new(), words: String::new(), offerings: offerings.to_vec() }
}

#[actix_web::test]
async fn the_page_is_off_until_it_is_switched_on_and_a_farmer_sees_it_before() {
    for book in TestBook::each() {
        let hogs = farm(&book);
        let app = TestApp::signed_in(&book).await;
        let nobody = app.other_browser();
        for url in ["/farm".to_string(), format!("/farm/estimate/{hogs}")] {
            nobody.get(&url).await.expect(404).says("does not show this page at the moment").says("555-0118");
        }
        app.get("/farm").await.expect(200).says("Only you see this page now").says("Nothing is for sale right now");

        let filled = [("is_on", "yes"), ("headline", "Pork & more"), ("words", "One.\n\nTwo."), ("offerings", "1")];
        let saved = app.submit_to("/settings/public", "/settings/public", &filled).await;
        app.follow(&saved).await.expect(200).says("Everybody can read the page").says("Your public page is on");
        let page = nobody.get("/farm").await.expect(200);
        page.says("Pork &#38; more")
            .says("<p>One.</p><p>Two.</p>")
            .says("Hogs, Fall 2027")
            .says("Raised in the oak lot.");
        page.says_not("Only you see").says_not("form_key");
        assert_eq!(page.header("cache-control"), "public, max-age=60");
        assert_eq!(page.header("set-cookie"), "");

        app.submit_to("/settings/public", "/settings/public", &[("is_on", "")]).await.expect(303);
        nobody.get("/farm").await.expect(404);
        assert_eq!(app.get("/farm").await.expect(200).header("cache-control"), "no-store");
    }
}

#[actix_web::test]
async fn what_is_for_sale_says_price_sum_deposit_date_and_what_is_left() {
    let book = TestBook::sqlite();
    let hogs = farm(&book);
    book.open_to_everybody(&[hogs]);
    let app = TestApp::new(&book).await;
    let page = app.get("/farm").await.expect(200);
    for words in [
        "<b>$5.25</b> per lb hanging",
        "4 left",
        "2 left",
        "$100.00",
        // 88 to 108 lb at $5.25, half of $25.00 and of $65.00, and $0.90 a lb.
        "$586–$710",
        "Thursday, November 18, at Pell Road Meats",
        "You pay Pell Road Meats for their work when you collect: Kill fee $65.00 a head; Cut and wrap $0.90 per lb hanging.",
        "On our invoice, at Pell Road Meats: Trailer $25.00 a head.",
        "a whole hog hangs at 176–216 lb, as we expect",
    ] {
        page.says(words);
    }
    book.order(book.customer("Greta Fenn"), hogs, Size::Whole);
    app.get("/farm").await.says("1 left").says("2 left").says_not("Greta");
    book.order(book.customer("Tobias Wren"), hogs, Size::Half);
    app.get("/farm").await.says("Sold out: waiting list").says("1 left");
    book.order(book.customer("Hanne Brand"), hogs, Size::Half);
    let page = app.get("/farm").await;
    assert_eq!(page.text().matches("Sold out: waiting list").count(), 2);
    app.get(&format!("/farm/estimate/{hogs}")).await.expect(200).says("Sold out: waiting list");
    let version = book.read(|c| Ok(offerings::get(c, hogs)?.version));
    book.act(|tx, doing| close_offering(tx, doing, hogs, version, true));
    app.get("/farm").await.expect(200).says("Nothing is for sale right now");
    app.get(&format!("/farm/estimate/{hogs}")).await.expect(404);
}

/// Two offerings of one species, of one season or of two: no heading and no link of theirs reads like another.
#[actix_web::test]
async fn shares_of_several_offerings_are_told_apart() {
    let book = TestBook::sqlite();
    let hogs = farm(&book);
    let more = |season: &str, size: Size| {
        let input = OfferingIn {
            species: Species::Hog,
            season: season.into(),
            head_count: 2,
            sizes: vec![size],
            quarter_part: QuarterPart::Split,
            expected_low: None,
            expected_high: None,
            notes: String::new(),
        };
        let price = PriceIn {
            size,
            basis: PriceBasis::Hanging,
            rate: Some(Rate::from_ten_thousandths(52_500)),
            flat_price: None,
            deposit: Money::ZERO,
        };
        let from = book.now().today;
        book.act(|tx, doing| add_offering(tx, doing, &input, std::slice::from_ref(&price), from))
    };
    let plain = |html: &str| {
        let texts = html.split('<').map(|piece| piece.split_once('>').map_or("", |(_, text)| text));
        texts.collect::<String>().trim().to_string()
    };
    let read = async |app: &TestApp| {
        let html = app.get("/farm").await.expect(200).text().to_string();
        let all = |open: &str, close: &str| {
            let some = html.split(open).skip(1);
            some.map(|rest| plain(&format!("<{}", rest.split(close).next().unwrap()))).collect::<Vec<_>>()
        };
        [all("<h2 id=\"offering", "</h2>"), all("<h3>", "</h3>"), all("<a class=\"btn\" href=\"/farm/estimate", "</a>")]
    };
    book.open_to_everybody(&[hogs]);
    let app = TestApp::new(&book).await;
    assert_eq!(read(&app).await[1], ["Whole hog", "Half hog"], "alone it says no more than it needs");
    let (same, later) = (more("Fall 2027", Size::Half), more("Spring 2028", Size::Half));
    book.act(|tx, doing| {
        let page = page_in(true, &[hogs, same, later]);
        change_page(tx, doing, 1, &page)
    });
    let [sections, shares, links] = read(&app).await;
    assert_eq!(sections, ["Hogs, Spring 2028", "Hogs, Fall 2027, 1st offering", "Hogs, Fall 2027, 2nd offering"]);
    assert_eq!(shares, ["Half hog, Spring 2028", "Half hog, 1st offering", "Whole hog", "Half hog, 2nd offering"]);
    let unique: std::collections::BTreeSet<&String> = links.iter().collect();
    assert_eq!((links.len(), unique.len()), (4, 4), "{links:?}");
}

#[actix_web::test]
async fn the_estimator_answers_by_its_address_alone() {
    let book = TestBook::sqlite();
    let hogs = farm(&book);
    let other = book.hogs();
    book.open_to_everybody(&[hogs]);
    let app = TestApp::new(&book).await;
    let ask = |query: &str| {
        let (app, url) = (&app, format!("/farm/estimate/{hogs}{query}"));
        async move { app.get(&url).await }
    };
    let page = ask("").await.expect(200);
    // 98 lb: $514.50 and $12.50 to the farm, $32.50 and $88.20 to the plant.
    page.says("A half hog: about $648 all in").says("From $586 to $710, by what the animal weighs.");
    page.says("You pay $100 now, about $427 to us when the weight is known, and about $121 to Pell Road Meats");
    page.says("<td class=\"n\">474</td><td class=\"n\">527</td><td class=\"n\">580</td>");
    page.says("lb of meat comes home, for ")
        .says("Packaged together")
        .says("University of Missouri Extension MX3001")
        .says("Farmers’ Bulletin 2264");
    assert_eq!(page.header("cache-control"), "public, max-age=60");
    let whole = ask("?share=whole&cut=ground&bones=out&eaters=2&meals=1&low=100&high=100").await.expect(200);
    whole.says("A whole hog: about $680 all in").says("Raw sausage").says("2 people who eat of it once a week");
    // What is wrong keeps what was typed, and says what to do.
    for (query, words) in [
        ("?share=third", "choose one of the list"),
        ("?low=300&high=200", "heaviest is lighter than the lightest"),
        ("?low=abc", "“abc” is not a weight"),
        ("?eaters=0", "out of range"),
        ("?meals=99", "out of range"),
        ("?cut=fancy", "choose one of the list"),
        ("?bones=some", "choose one"),
        ("?plant=x", "is not on the list"),
    ] {
        let page = ask(query).await.expect(422);
        page.says(words).says("needs another look");
        assert_eq!(page.header("cache-control"), "no-store");
    }
    ask("?low=abc").await.says("value=\"abc\"");
    ask("?plant=99").await.expect(200).says("about $648");
    ask(&format!("?share={}", "x".repeat(700))).await.expect(400);
    app.get(&format!("/farm/estimate/{other}")).await.expect(404);
    assert_eq!(ask("?low=99999.99&high=99999.99").await.status, 200);
}

#[actix_web::test]
async fn a_price_by_live_weight_has_no_sum_and_a_quarter_of_lamb_no_forecast() {
    let book = TestBook::sqlite();
    let input = |species, sizes: &[Size]| OfferingIn {
        species,
        season: "Fall 2027".into(),
        head_count: 2,
        sizes: sizes.to_vec(),
        quarter_part: QuarterPart::Split,
        expected_low: None,
        expected_high: None,
        notes: String::new(),
    };
    let price = |size, basis| PriceIn {
        size,
        basis,
        rate: Some(Rate::from_ten_thousandths(42_500)),
        flat_price: None,
        deposit: Money::ZERO,
    };
    let from = book.now().today;
    let goats = book.act(|tx, doing| {
        add_offering(tx, doing, &input(Species::Goat, &[Size::Whole]), &[price(Size::Whole, PriceBasis::Live)], from)
    });
    let lambs = book.act(|tx, doing| {
        let lamb = input(Species::Lamb, &[Size::Quarter]);
        add_offering(tx, doing, &lamb, &[price(Size::Quarter, PriceBasis::Hanging)], from)
    });
    book.open_to_everybody(&[goats, lambs]);
    let app = TestApp::new(&book).await;
    app.get("/farm")
        .await
        .expect(200)
        .says("per lb live")
        .says("Quarter lamb")
        .says("which plant it will be is not booked yet");
    let page = app.get(&format!("/farm/estimate/{goats}")).await.expect(200);
    page.says("there is no sum").says("comes home").says("No processor is booked yet");
    app.get(&format!("/farm/estimate/{lambs}")).await.expect(200).says("too small to be cut for quarters");
}

#[test]
fn the_page_is_saved_once_by_whoever_was_first_and_tells_its_story() {
    on_each_engine(|book| {
        let hogs = farm(book);
        book.act(|tx, doing| change_page(tx, doing, 0, &page_in(true, &[hogs])));
        let stale = |version| book.try_act(|tx, doing| change_page(tx, doing, version, &page_in(false, &[])));
        assert!(matches!(stale(0), Err(Failure::Stale)));
        assert!(matches!(stale(7), Err(Failure::Stale)));
        let gone = book.try_act(|tx, doing| change_page(tx, doing, 1, &page_in(true, &[hogs, OfferingId(99)])));
        assert!(matches!(gone, Err(Failure::Refused(_))), "{gone:?}");
        assert_eq!(book.read(|c| Ok(public_page::chosen(c)?)), [hogs], "nothing was changed");
        assert!(stale(1).is_ok());
        assert_eq!(book.read(|c| Ok(public_page::chosen(c)?)), []);
        let told: Vec<String> = book.read(|c| {
            Ok(story::table
                .filter(story::line.like("The public page%"))
                .order(story::id)
                .select(story::line)
                .load(c)?)
        });
        assert_eq!(told, ["The public page was switched on", "The public page was switched off"]);
    });
}

#[test]
fn pictures_are_put_in_order_described_and_taken_off() {
    on_each_engine(|book| {
        let add = |side: u32, alt: &str| {
            let picture = prepare(&png(side, 100)).unwrap();
            book.try_act(|tx, doing| add_picture(tx, doing, alt, &picture))
        };
        let ids: Vec<_> = (0..3).map(|n| add(100 + n, &format!("Picture {n}")).unwrap()).collect();
        let why = |r: Result<_, Failure>| r.map(|_: gambrel::book::ids::PictureId| ()).unwrap_err().to_string();
        assert!(why(add(100, "Again")).contains("on the page already"));
        assert!(why(add(200, "  ")).contains("Say in a few words"));
        let one = |n: usize, place, remove| PictureIn { id: ids[n], alt: format!("Now {n}"), place, remove };
        book.act(|tx, doing| arrange_pictures(tx, doing, &[one(0, 3, false), one(1, 1, true), one(2, 1, false)]));
        let alts = || -> Vec<String> {
            book.read(|c| Ok(public_page::pictures(c)?.into_iter().map(|s| s.picture.alt).collect()))
        };
        assert_eq!(alts(), ["Now 2", "Now 0"]);
        let gone = book.try_act(|tx, doing| arrange_pictures(tx, doing, &[one(1, 1, false)]));
        assert!(matches!(gone, Err(Failure::Stale)));
        let blank = PictureIn { alt: String::new(), ..one(0, 1, false) };
        assert!(book.try_act(|tx, doing| arrange_pictures(tx, doing, std::slice::from_ref(&blank))).is_err());
        assert_eq!(alts(), ["Now 2", "Now 0"], "nothing was changed");
        for n in 2..MOST_PICTURES {
            add(300 + u32::try_from(n).unwrap(), "More").unwrap();
        }
        assert!(why(add(500, "Too many")).contains("which is the most"));
        assert!(in_words(&book.read(check_book)).1, "the book is sound");
    });
}

#[actix_web::test]
async fn a_picture_is_uploaded_made_anew_and_served() {
    for book in TestBook::each() {
        let app = TestApp::signed_in(&book).await;
        let key = || async {
            let forms = app.get("/settings/public").await.expect(200).forms();
            forms.iter().find(|f| f.action.ends_with("/add")).unwrap().value("form_key").to_string()
        };
        let url = "/settings/public/pictures/add";
        let send = |key: String, alt: &'static str, file: Vec<u8>| {
            let app = &app;
            async move { app.upload(url, &[("form_key", &key), ("alt", alt)], "picture", &file).await }
        };
        let used = key().await;
        app.follow(&send(used.clone(), "The barn", png(1_400, 700)).await).await.says("value=\"The barn\"");
        // The same form again does nothing.
        send(used, "The barn", png(900, 700)).await.expect(303);
        assert_eq!(book.read(|c| Ok(public_page::pictures(c)?.len())), 1);
        // Refused with a sentence; what was typed stays.
        for (alt, file, words) in [
            ("", png(200, 200), "What is to be seen is empty"),
            ("A fox", b"GIF89a nothing".to_vec(), "neither a JPEG nor a PNG"),
            ("A fox", Vec::new(), "Choose a picture"),
            ("A fox", vec![7; 13 * 1024 * 1024], "more than 12 MB"),
            ("A fox", png(40, 40), "too small"),
        ] {
            let page = send(key().await, alt, file).await.expect(422);
            page.says(words).says(&format!("value=\"{alt}\""));
        }
        send("forged".into(), "A fox", png(300, 300)).await.expect(422).says("earlier sign-in");
        assert_eq!(book.read(|c| Ok(public_page::pictures(c)?.len())), 1);

        let sizes = book.read(|c| Ok(public_page::pictures(c)?.remove(0).sizes));
        assert_eq!(sizes.iter().map(|s| (s.width, s.height)).collect::<Vec<_>>(), [(480, 240), (1_280, 640)]);
        let address = format!("/farm/pictures/{}.jpg", sizes[0].digest);
        let nobody = app.other_browser();
        nobody.get(&address).await.expect(404);
        assert_eq!(app.get(&address).await.expect(200).header("cache-control"), "private, max-age=300");
        book.act(|tx, doing| change_page(tx, doing, 0, &page_in(true, &[])));
        let picture = nobody.get(&address).await.expect(200);
        assert_eq!(
            (picture.header("content-type"), picture.header("cache-control")),
            ("image/jpeg", "public, max-age=86400")
        );
        assert!(picture.bytes.starts_with(&[0xff, 0xd8]) && picture.bytes.ends_with(&[0xff, 0xd9]));
        let known =
            TestRequest::get().uri(&address).insert_header(("If-None-Match", picture.header("etag").to_string()));
        let again = nobody.send(known).await.expect(304);
        assert!(again.bytes.is_empty());
        nobody.get("/farm").await.says("alt=\"The barn\"").says(&address).says(" 480w, ");
        for odd in
            ["/farm/pictures/x.jpg", "/farm/pictures/..%2f1.jpg", "/farm/pictures/00000000000000000000000000000000.jpg"]
        {
            nobody.get(odd).await.expect(404);
        }
    }
}

/// Strangers upload nothing: the body is not even read.
#[actix_web::test]
async fn only_a_farmer_uploads() {
    let book = TestBook::sqlite();
    let app = TestApp::new(&book).await;
    let sent = app.upload("/settings/public/pictures/add", &[("alt", "x")], "picture", &png(100, 100)).await;
    assert_eq!(sent.expect(303).location(), "/sign-in");
    assert_eq!(book.read(|c| Ok(public_page::pictures(c)?.len())), 0);
}

#[actix_web::test]
async fn too_many_looks_from_one_address_are_slowed_and_others_are_not() {
    let book = TestBook::sqlite();
    book.open_to_everybody(&[]);
    let app = TestApp::new(&book).await;
    let look = |from: &'static str| {
        let request = TestRequest::get().uri("/farm/pictures/x.jpg").peer_addr(from.parse().unwrap());
        app.send(request)
    };
    let mut slowed = None;
    for n in 0..400 {
        let page = look("192.0.2.1:4000").await;
        if page.status == 429 {
            slowed = Some((n, page));
            break;
        }
    }
    let (n, page) = slowed.expect("it is slowed");
    assert!(n >= 300, "{n} pages are too few for people behind one line");
    assert_eq!(page.header("retry-after"), "60");
    page.says("Wait a minute");
    look("192.0.2.2:4000").await.expect(404);
    // The farm's own pages are not counted.
    let own = TestRequest::get().uri("/sign-in").peer_addr("192.0.2.1:4000".parse().unwrap());
    app.send(own).await.expect(200);
}

#[actix_web::test]
async fn the_public_pages_as_people_read_them() {
    let book = TestBook::sqlite();
    let hogs = farm(&book);
    book.open_to_everybody(&[hogs]);
    let app = TestApp::new(&book).await;
    let mut all = String::new();
    for url in
        ["/farm".to_string(), format!("/farm/estimate/{hogs}"), format!("/farm/estimate/{hogs}?cut=ground&share=whole")]
    {
        all.push_str(&format!("== {url}\n{}\n\n", read(&app.get(&url).await.expect(200))));
    }
    insta::assert_snapshot!(all);
}
