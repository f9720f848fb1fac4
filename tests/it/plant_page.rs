//! The processor's page: a link opens one date and nothing else; what is entered waits for the farm; nobody is overwritten in silence.

use crate::sheets_due::coming;
use crate::support::book::{DAY, MINUTE};
use crate::support::farm::lb;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::answer_entry::{Taken, refuse, take};
use gambrel::actions::make_packet::make_packet;
use gambrel::actions::plant_entry::{Entry, enter, receive_packet};
use gambrel::actions::plant_link::{date_of, revoke, show_link};
use gambrel::actions::plant_news::tell_news;
use gambrel::actions::record_weights::confirming;
use gambrel::actions::send_packet::hand_over_packet;
use gambrel::book::carcasses::weigh_ins;
use gambrel::book::ids::{AnimalId, DateId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::plant_entries::{self, Subject};
use gambrel::book::{dates, stories};
use gambrel::secret;
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Hung;
use gambrel::trade::plant_entry::{Boxes, Carcass, Entered, Fate};
use gambrel::trade::share::{Side, Size, Species};
use gambrel::trade::vocabulary::{CarcassBasis, EntryAnswer};

/// A hog of two halves on a date that is today, not weighed, and a steer on another one.
struct Plant {
    date: DateId,
    hog: AnimalId,
    orders: [ReservationId; 2],
    other: DateId,
    steer: AnimalId,
}

fn plant(book: &TestBook) -> Plant {
    let (hogs, plant) = (book.hogs(), book.plant());
    let (date, other) = (book.date(plant, "2027-10-14"), book.date(plant, "2027-10-15"));
    let hog = book.head(Class::Barrow, "41", date);
    let orders = [("Ines Halvard", Side::Left), ("Tomas Wren", Side::Right)].map(|(name, side)| {
        let order = book.order(book.customer(name), hogs, Size::Half);
        book.place(order, hog, side);
        order
    });
    let steer = book.head(Class::Steer, "229", other);
    let beef = book.offering(Species::Beef, 2, "4.65");
    book.place(book.order(book.customer("Ruth Kessel"), beef, Size::Half), steer, Side::Left);
    Plant { date, hog, orders, other, steer }
}

fn weighed(left: &str, right: &str) -> Entered {
    let hung = Hung::Sides { left: lb(left), right: lb(right) };
    Entered::Carcass(Carcass {
        weighed_on: "2027-10-14".parse().unwrap(),
        basis: CarcassBasis::Hot,
        head_on: false,
        skin_on: true,
        number: "4504".into(),
        fate: Fate::Hung { hung, condemned_parts: None },
    })
}

fn says(book: &TestBook, date: DateId, about: Subject, seen: i64, entered: Entered) -> Result<(), Failure> {
    let entry = Entry { about, seen, entered, by: "Sam".into() };
    book.try_act(|tx, doing| enter(tx, doing, date, &entry))
}

/// All that waits of a date, to be taken as the page shows it, with every doubt ticked.
fn shown(book: &TestBook, date: DateId) -> Vec<Taken> {
    book.read(|c| {
        let waiting: Vec<_> = plant_entries::of_date(c, date)?.into_iter().filter(|e| e.waits()).collect();
        let ids: Vec<AnimalId> = waiting.iter().filter_map(|e| e.animal_id).collect();
        let stored = weigh_ins(c, &ids)?;
        let taken = waiting.iter().map(|e| Taken {
            entry: e.id,
            version: e.animal_id.and_then(|a| stored.get(&a)).map_or(0, |w| w.version),
            confirmed: match e.entered().unwrap() {
                Entered::Carcass(Carcass { fate: Fate::Hung { hung, .. }, .. }) => confirming(hung),
                _ => String::new(),
            },
        });
        Ok(taken.collect())
    })
}

fn hung(book: &TestBook, animal: AnimalId) -> Option<String> {
    book.read(|c| Ok(weigh_ins(c, &[animal])?.get(&animal).map(|w| w.recorded().unwrap().plain())))
}

#[test]
fn a_link_of_a_date_opens_it_until_it_is_revoked_or_the_date_ends() {
    on_each_engine(|book| {
        let p = plant(book);
        let token = |date, renew| {
            let token = secret::token().unwrap();
            book.act(|tx, doing| show_link(tx, doing, date, &token, renew));
            token
        };
        let opens = |token: &str| {
            let at = book.clock.at();
            book.read(|c| date_of(c, at, token)).map(|(_, date)| date)
        };
        let (first, other) = (token(p.date, false), token(p.other, false));
        assert_eq!(first.len(), 32, "192 random bits");
        assert_eq!([opens(&first), opens(&other)], [Some(p.date), Some(p.other)]);
        for wrong in ["", "x", &first[1..], &first.to_lowercase(), &secret::hash(&first)] {
            assert_eq!(opens(wrong), None, "{wrong}");
        }
        let second = token(p.date, true);
        assert_eq!([opens(&first), opens(&second), opens(&other)], [None, Some(p.date), Some(p.other)]);
        book.act(|tx, doing| revoke(tx, doing, p.date));
        assert_eq!([opens(&second), opens(&other)], [None, Some(p.other)], "and of no other date");
        assert!(matches!(book.try_act(|tx, doing| revoke(tx, doing, p.date)), Err(Failure::Refused(_))));
        book.clock.advance(61 * DAY);
        assert_eq!(opens(&other), Some(p.other), "sixty days after slaughter on the 15th");
        book.clock.advance(DAY);
        assert_eq!(opens(&other), None);
        let late = book.try_act(|tx, doing| show_link(tx, doing, p.other, &secret::token().unwrap(), false));
        assert!(late.unwrap_err().to_string().contains("more than 60 days past"));
    });
}

#[test]
fn what_the_plant_enters_is_in_no_weigh_in_until_the_farm_takes_it() {
    on_each_engine(|book| {
        let p = plant(book);
        let about = Subject::Animal(p.hog);
        says(book, p.date, about, 0, weighed("82.5", "80")).unwrap();
        assert_eq!(hung(book, p.hog), None, "it waits");
        // The same again changes nothing; a correction is a revision of its own, and only it waits.
        says(book, p.date, about, 1, weighed("82.5", "80")).unwrap();
        says(book, p.date, about, 1, weighed("83", "80")).unwrap();
        let of_date = |book: &TestBook| book.read(|c| Ok(plant_entries::of_date(c, p.date)?));
        let all = of_date(book);
        assert_eq!(
            all.iter().map(|e| (e.revision, e.answer)).collect::<Vec<_>>(),
            [(2, None), (1, Some(EntryAnswer::Replaced))]
        );
        book.act(|tx, doing| take(tx, doing, p.date, &shown_of(book, p.date)));
        assert_eq!(hung(book, p.hog).as_deref(), Some("163.00"));
        assert_eq!(of_date(book)[0].answer, Some(EntryAnswer::Taken));
        let told = book.read(|c| Ok(stories::of_animal(c, p.hog)?));
        assert!(told.iter().any(|l| l.line.contains("The plant entered") && l.line.contains("83 + 80 = 163 lb, hot")));
        // A corrected entry after that waits anew, and the book stays.
        says(book, p.date, about, 2, weighed("83", "81")).unwrap();
        assert_eq!(hung(book, p.hog).as_deref(), Some("163.00"));
        let entry = shown(book, p.date)[0].entry;
        let mute = book.try_act(|tx, doing| refuse(tx, doing, p.date, entry, " "));
        assert!(mute.unwrap_err().to_string().contains("Say why"));
        book.act(|tx, doing| refuse(tx, doing, p.date, entry, "The first paper said 80."));
        assert_eq!(of_date(book)[0].words, "The first paper said 80.");
        let again =
            book.try_act(|tx, doing| take(tx, doing, p.date, &[Taken { entry, version: 1, confirmed: String::new() }]));
        assert!(matches!(again, Err(Failure::Stale)), "{again:?}");
        // The same words once more are not lost: they were refused, and wait again.
        says(book, p.date, about, 3, weighed("83", "81")).unwrap();
        assert_eq!(shown(book, p.date).len(), 1);
    });
}

fn shown_of(book: &TestBook, date: DateId) -> Vec<Taken> {
    shown(book, date)
}

#[test]
fn whoever_comes_second_is_told_and_overwrites_nothing() {
    on_each_engine(|book| {
        let p = plant(book);
        let about = Subject::Animal(p.hog);
        says(book, p.date, about, 0, weighed("82.5", "80")).unwrap();
        // Another phone at the plant had the empty row open.
        assert!(matches!(says(book, p.date, about, 0, weighed("1", "2")), Err(Failure::Stale)));
        // The farmer types the same animal while the page of entries is open.
        let before = shown(book, p.date);
        book.weigh(p.date, p.hog, "90", "91");
        let taken = book.try_act(|tx, doing| take(tx, doing, p.date, &before));
        assert!(matches!(taken, Err(Failure::Stale)), "{taken:?}");
        assert_eq!(hung(book, p.hog).as_deref(), Some("181.00"), "what the farmer typed stays");
        // Looked over again with the difference in view, it may be taken.
        book.act(|tx, doing| take(tx, doing, p.date, &shown(book, p.date)));
        assert_eq!(hung(book, p.hog).as_deref(), Some("162.50"));
        // The plant corrects while the farmer looks.
        says(book, p.date, about, 1, weighed("83", "80")).unwrap();
        let before = shown(book, p.date);
        says(book, p.date, about, 2, weighed("84", "80")).unwrap();
        let taken = book.try_act(|tx, doing| take(tx, doing, p.date, &before));
        assert!(matches!(taken, Err(Failure::Stale)), "{taken:?}");
        assert_eq!(hung(book, p.hog).as_deref(), Some("162.50"));
    });
}

#[test]
fn all_is_taken_or_nothing_and_an_invoice_holds() {
    on_each_engine(|book| {
        let p = plant(book);
        let about = Subject::Animal(p.hog);
        says(book, p.date, about, 0, weighed("82.5", "80")).unwrap();
        book.act(|tx, doing| take(tx, doing, p.date, &shown(book, p.date)));
        book.issue(p.orders[0]);
        says(book, p.date, about, 1, weighed("83", "80")).unwrap();
        says(book, p.date, Subject::Date, 0, Entered::Ready { on: "2027-11-03".parse().unwrap() }).unwrap();
        let refused = book.try_act(|tx, doing| take(tx, doing, p.date, &shown(book, p.date)));
        assert!(refused.unwrap_err().to_string().contains("void that invoice first"));
        assert_eq!(book.read(|c| Ok(dates::get(c, p.date)?.0.pickup_from)), None, "nor was the day taken");
        let ready: Vec<_> = shown(book, p.date).into_iter().filter(|t| t.confirmed.is_empty()).collect();
        book.act(|tx, doing| take(tx, doing, p.date, &ready));
        assert_eq!(book.read(|c| Ok(dates::get(c, p.date)?.0.pickup_from)), Some("2027-11-03".parse().unwrap()));
        assert_eq!(shown(book, p.date).len(), 1, "the weight still waits");
    });
}

#[test]
fn nothing_of_another_date_can_be_entered_or_answered() {
    on_each_engine(|book| {
        let p = plant(book);
        let foreign = says(book, p.date, Subject::Animal(p.steer), 0, weighed("380", "380"));
        assert!(matches!(foreign, Err(Failure::NotFound)), "{foreign:?}");
        let boxes = || Entered::Boxes(Boxes { boxes: 3, packaged: Some(lb("96.5")), words: String::new() });
        let foreign = says(book, p.other, Subject::Order(p.orders[0]), 0, boxes());
        assert!(matches!(foreign, Err(Failure::NotFound)), "{foreign:?}");
        says(book, p.date, Subject::Order(p.orders[0]), 0, boxes()).unwrap();
        let theirs = shown(book, p.date);
        assert!(matches!(book.try_act(|tx, doing| take(tx, doing, p.other, &theirs)), Err(Failure::NotFound)));
        let orders = p.orders;
        assert!(book.read(|c| Ok(plant_entries::boxes_of(c, &orders)?)).is_empty(), "they wait");
        book.act(|tx, doing| take(tx, doing, p.date, &theirs));
        let taken = book.read(|c| Ok(plant_entries::boxes_of(c, &orders)?));
        assert_eq!(taken.get(&orders[0]).map(|b| b.boxes), Some(3));
        let too_soon = Entered::Ready { on: "2027-10-13".parse().unwrap() };
        let refused = says(book, p.date, Subject::Date, 0, too_soon).unwrap_err().to_string();
        assert!(refused.contains("before the day of slaughter"), "{refused}");
        let Entered::Carcass(c) = weighed("82.5", "80") else { panic!() };
        let early = Entered::Carcass(Carcass { weighed_on: "2027-10-13".parse().unwrap(), ..c.clone() });
        let says_early = says(book, p.date, Subject::Animal(p.hog), 0, early).unwrap_err().to_string();
        assert!(says_early.contains("cannot be weighed before the day of slaughter"), "{says_early}");
        let late = Entered::Carcass(Carcass { weighed_on: "2027-10-15".parse().unwrap(), ..c });
        assert!(says(book, p.date, Subject::Animal(p.hog), 0, late).unwrap_err().to_string().contains("in the future"));
    });
}

#[test]
fn a_packet_is_acknowledged_once_and_only_by_its_own_date() {
    on_each_engine(|book| {
        let c = coming(book);
        let packet = book.act(|tx, doing| make_packet(tx, doing, c.date, true));
        let early = book.try_act(|tx, doing| receive_packet(tx, doing, c.date, packet, "Sam"));
        assert!(matches!(early, Err(Failure::NotFound)), "it was not sent yet: {early:?}");
        book.act(|tx, doing| hand_over_packet(tx, doing, packet));
        let other = book.date(book.another_plant("Cedar Locker"), "2027-11-25");
        let foreign = book.try_act(|tx, doing| receive_packet(tx, doing, other, packet, "Eve"));
        assert!(matches!(foreign, Err(Failure::NotFound)), "{foreign:?}");
        let unsaid = |book: &TestBook| {
            let now = book.now();
            book.read(|c| Ok(plant_entries::unacknowledged(c, now.today, now.at)?)).len()
        };
        book.clock.advance(MINUTE);
        assert_eq!(unsaid(book), 0, "without a link the plant cannot say so");
        book.act(|tx, doing| show_link(tx, doing, c.date, &secret::token().unwrap(), false));
        assert_eq!(unsaid(book), 1);
        book.act(|tx, doing| receive_packet(tx, doing, c.date, packet, "Sam"));
        assert_eq!(unsaid(book), 0);
        let twice = book.try_act(|tx, doing| receive_packet(tx, doing, c.date, packet, "Kim"));
        assert!(twice.unwrap_err().to_string().contains("said already"));
        let who = book.read(|c2| Ok(plant_entries::receipts(c2, c.date)?)).remove(&packet).unwrap();
        assert_eq!(who.received_by, "Sam");
    });
}

#[test]
fn the_farm_is_mailed_once_when_the_plant_has_stopped_typing() {
    on_each_engine(|book| {
        let p = plant(book);
        let mails = |book: &TestBook| {
            book.read(|c| Ok(outbox::page(c, Shown::All, None, 50)?))
                .into_iter()
                .filter(|m| m.purpose == "plant_news")
                .collect::<Vec<_>>()
        };
        says(book, p.date, Subject::Animal(p.hog), 0, weighed("82.5", "80")).unwrap();
        book.clock.advance(10 * MINUTE);
        says(book, p.date, Subject::Date, 0, Entered::Note { words: "Small gilt.".into() }).unwrap();
        book.clock.advance(14 * MINUTE);
        assert_eq!(book.act(tell_news), 0, "still typing");
        book.clock.advance(MINUTE);
        assert_eq!(book.act(tell_news), 1);
        assert_eq!(book.act(tell_news), 0, "once");
        let [mail] = mails(book).try_into().unwrap();
        assert_eq!(mail.to_address, "office@nettlebend.example");
        for part in ["Barrow 41: 82.5 + 80 = 162.5 lb, hot", "“Small gilt.”", "Nothing of it is billed"] {
            assert!(mail.body.contains(part), "{part}: {}", mail.body);
        }
    });
}

#[actix_web::test]
async fn a_browser_at_the_plant_sees_one_date_and_nothing_of_the_farm() {
    for book in TestBook::each() {
        let p = plant(&book);
        let app = TestApp::signed_in(&book).await;
        let token = app.plant_link(p.date);
        let sam = app.other_browser();
        let url = format!("/p/{token}");
        for _ in 0..2 {
            sam.get(&url).await.expect(200).says("Open this date").says("Pell Road Meats");
        }
        assert_eq!(sam.get("/plant").await.expect(303).location(), "/lost-plant-link", "looking opened nothing");
        sam.post(&url, "name=".into()).await.expect(422).says("Your name is empty");
        assert_eq!(sam.post(&url, "name=Sam".into()).await.expect(303).location(), "/plant");
        let day = sam.get("/plant").await.expect(200);
        day.says("Barrow 41").says("Ines Halvard").says_not("229").says_not("Ruth Kessel");
        sam.get("/plant/scale").await.expect(200).says_not("229");
        sam.get("/plant/boxes").await.expect(200).says("Tomas Wren").says_not("Ruth");
        for url in ["/", "/orders", "/dates", "/my", "/money"] {
            assert_eq!(sam.get(url).await.status, 303, "{url}");
        }
        let form = sam.get("/plant/scale").await.forms().into_iter().find(|f| f.action.contains("/scale/")).unwrap();
        let (left, right) = (format!("w{}-left", p.hog), format!("w{}-right", p.hog));
        let filled = [(left.as_str(), "82.5"), (right.as_str(), "80")];
        sam.post(&format!("/plant/scale/{}", p.steer), form.body(&filled)).await.expect(404);
        sam.post(&form.action, form.body(&filled[..1])).await.expect(422).says("right side is blank");
        let saved = sam.post(&form.action, form.body(&filled)).await.expect(303);
        let again = sam.post(&form.action, form.body(&filled)).await.expect(303);
        assert_eq!(again.location(), saved.location(), "sent again after the connection dropped: kept once");
        assert_eq!(book.read(|c| Ok(plant_entries::of_date(c, p.date)?)).len(), 1);
        sam.get("/plant/scale").await.expect(200).says("the farm looks at it");
        app.get(&format!("/dates/{}", p.date)).await.expect(200).says("one entry waits");
        app.get("/").await.expect(200).says("entry of the plant waits");
        let farm = format!("/dates/{}/plant", p.date);
        let page = app.get(&farm).await.expect(200);
        page.says("82.5 + 80 = 162.5 lb, hot").says("Not in the book yet");
        app.submit_to(&farm, &format!("{farm}/take"), &[]).await.expect(303);
        assert_eq!(hung(&book, p.hog).as_deref(), Some("162.50"));
        sam.get("/plant/scale").await.expect(200).says("The farm has taken it");
        // Words of the farm reach the plant.
        let form = sam.get("/plant/scale").await.forms().into_iter().find(|f| f.action.contains("/scale/")).unwrap();
        sam.post(&form.action, form.body(&[(&left, "92.5")])).await.expect(303);
        let entry = shown(&book, p.date)[0].entry;
        app.get(&farm).await.expect(200).says("Differs from the book").says("In the book: 82.5 + 80 = 162.5 lb, hot");
        let words = format!("e{entry}-words");
        app.submit_to(&farm, &format!("{farm}/{entry}/refuse"), &[(&words, "Read it again, please")]).await.expect(303);
        sam.get("/plant/scale").await.expect(200).says("“Read it again, please”").says("Look at it again");
        // A packet that was not sent, or is of another date, is no page of theirs.
        sam.get("/plant/packet/1.pdf").await.expect(404);
        // Revoked: out at once.
        let link = format!("/dates/{}/plant/link", p.date);
        app.submit_to(&link, &format!("{link}/revoke"), &[]).await.expect(303);
        assert_eq!(sam.get("/plant").await.expect(303).location(), "/lost-plant-link");
    }
}

#[actix_web::test]
async fn a_wrong_link_of_a_date_says_what_to_do_and_is_counted() {
    let book = TestBook::sqlite();
    let app = TestApp::new(&book).await;
    for _ in 0..10 {
        app.get("/p/abcdefghijklmnopqrstuvwxyz012345").await.expect(404).says("This link opens nothing");
    }
    app.get("/p/abcdefghijklmnopqrstuvwxyz012345").await.expect(429);
}

#[actix_web::test]
async fn a_list_at_the_top_leads_to_each_head_and_share_of_a_long_page() {
    let book = TestBook::sqlite();
    let p = plant(&book);
    let app = TestApp::new(&book).await;
    app.at_the_plant(p.date, "Sam");
    app.get("/plant/scale").await.expect(200).says_not("class=\"jump\"");
    let beef = book.offering(Species::Beef, 8, "4.65");
    for n in 0..3 {
        let steer = book.head(Class::Steer, &format!("30{n}"), p.date);
        book.place(book.order(book.customer(&format!("Owner {n}")), beef, Size::Half), steer, Side::Left);
    }
    let done = "<span class=\"st done\"><span class=\"vh\">done</span></span>";
    for url in ["/plant/scale", "/plant/boxes"] {
        let page = app.get(url).await.expect(200);
        let list = page.text().split("id=\"jump\"").nth(1).unwrap().split("</nav>").next().unwrap().to_string();
        let targets: Vec<&str> = list.split("href=\"#").skip(1).map(|t| t.split('"').next().unwrap()).collect();
        let rows: Vec<&str> =
            page.text().split("<section class=\"scale\" id=\"").skip(1).map(|t| t.split('"').next().unwrap()).collect();
        assert!(rows.len() >= 4 && targets == rows, "{url}: {targets:?} {rows:?}");
        assert!(!list.contains(done), "{url}");
    }
    says(&book, p.date, Subject::Animal(p.hog), 0, weighed("82.5", "80")).unwrap();
    let boxes = Entered::Boxes(Boxes { boxes: 3, packaged: None, words: String::new() });
    says(&book, p.date, Subject::Order(p.orders[1]), 0, boxes).unwrap();
    let scale = app.get("/plant/scale").await.text().to_string();
    assert!(scale.contains(&format!("#row-w{}\">Barrow 41</a>{done}", p.hog)), "{scale}");
    let boxes = app.get("/plant/boxes").await.text().to_string();
    assert!(boxes.contains(&format!("#row-o{}\">Tomas Wren</a>{done}", p.orders[1])), "{boxes}");
    assert_eq!((scale.matches(done).count(), boxes.matches(done).count()), (1, 1));
}
