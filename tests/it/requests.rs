//! Requests from the farm's page: asked by a stranger, confirmed by a link, answered by the farm or by itself, and never oversold.

use crate::support::book::{HOUR, MINUTE, TODAY};
use crate::support::{TestApp, TestBook, on_each_engine};
use actix_web::http::header::CONTENT_TYPE;
use actix_web::test::TestRequest;
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::answer_request::{Accept, accept_request, decline_request};
use gambrel::actions::ask_to_reserve::{Asking, ask_to_reserve};
use gambrel::actions::check_book::{check_book, in_words};
use gambrel::actions::confirm_request::{add_link, confirm_request, forget_unconfirmed};
use gambrel::actions::link_in_mail::put_link_in;
use gambrel::actions::offer::{PriceIn, set_prices};
use gambrel::actions::public_page::{PageIn, change_page};
use gambrel::actions::write_terms::write_terms;
use gambrel::book::at::At;
use gambrel::book::ids::{OfferingId, RequestId, ReservationId};
use gambrel::book::rows::outbox::Message;
use gambrel::book::schema::{customer, message, request_link, reservation, reserve_request};
use gambrel::book::store::Tx;
use gambrel::book::{farm, offerings, outbox, people, public_page, requests, reservations, sale_terms};
use gambrel::trade::money::Rate;
use gambrel::trade::requests::{MOST_OF_ONE, Requests};
use gambrel::trade::sale_terms::SAMPLE;
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::vocabulary::{PaperKind, PriceBasis};

const WITH_MAIL: &[(&str, &str)] =
    &[("GAMBREL_PUBLIC_URL", "http://farm.example"), ("SMTP_URL", "smtp://127.0.0.1:2525")];

fn set(book: &TestBook, how: Requests) {
    book.act(|tx, _| {
        let mut f = farm::get(tx.conn())?;
        f.requests = how;
        let version = f.version;
        assert!(farm::save(tx, &f, version)?);
        Ok(())
    });
}

/// The page that strangers read, on or off, with these offerings.
fn on_the_page(book: &TestBook, is_on: bool, offerings: &[OfferingId]) {
    let page = PageIn { is_on, headline: String::new(), words: String::new(), offerings: offerings.to_vec() };
    book.act(|tx, doing| {
        let version = public_page::get(tx.conn())?.map_or(0, |p| p.version);
        change_page(tx, doing, version, &page)
    });
}

fn asking(book: &TestBook, offering: OfferingId, size: Size, name: &str) -> Asking {
    if !book.read(|c| Ok(public_page::shows(c, offering)?)) {
        // Beside what stands there already.
        let mut all = book.read(|c| Ok(public_page::chosen(c)?));
        all.push(offering);
        on_the_page(book, true, &all);
    }
    let today = book.now().today;
    let (price, terms) = book.read(|c| {
        let price = offerings::price_on(c, offering, size, today)?.ok_or(Failure::NotFound)?.id;
        Ok((price, sale_terms::in_force(c)?.map_or(0, |t| t.number)))
    });
    Asking {
        offering,
        size,
        part: (size == Size::Quarter).then_some(Part::Split),
        price,
        name: name.into(),
        mail: format!("{}@strangers.example", name.to_lowercase().replace(' ', ".")),
        phone: String::new(),
        address: String::new(),
        dates: Vec::new(),
        only_these: false,
        together: String::new(),
        note: String::new(),
        terms,
    }
}

/// A request with a link; not confirmed.
fn asked(book: &TestBook, input: &Asking) -> (RequestId, String) {
    let token = gambrel::secret::token().unwrap();
    let id = book.act(|tx, doing| {
        let id = ask_to_reserve(tx, doing, input)?.ok_or(Failure::NotFound)?;
        add_link(tx, doing.now.at, id, &token)?;
        Ok(id)
    });
    (id, token)
}

fn confirmed(book: &TestBook, input: &Asking) -> RequestId {
    let (id, token) = asked(book, input);
    book.act(|tx, doing| confirm_request(tx, doing, &token));
    id
}

/// Terms, and a request for a half that is confirmed and waits for an answer.
pub(crate) fn asked_for(book: &TestBook, offering: OfferingId) {
    set(book, Requests::ByHand);
    book.act(|tx, doing| write_terms(tx, doing, 0, SAMPLE));
    confirmed(book, &asking(book, offering, Size::Half, "Ottilie Varga"));
}

fn accept(book: &TestBook, id: RequestId, price_changed: bool) -> Result<ReservationId, Failure> {
    let today = book.now().today;
    book.try_act(|tx, doing| {
        let (r, o) = requests::get(tx.conn(), id)?;
        let price = offerings::price_on(tx.conn(), o.id, r.size, today)?.ok_or(Failure::NotFound)?.id;
        let known = people::with_mail(tx.conn(), &r.mail)?.first().map(|p| p.id);
        accept_request(tx, doing, id, &Accept { customer: known, price, price_changed })
    })
}

fn messages(book: &TestBook, purpose: &str) -> Vec<Message> {
    book.read(|c| {
        let all = message::table.filter(message::purpose.eq(purpose)).order(message::id);
        Ok(all.select(Message::as_select()).load(c)?)
    })
}

fn sound(book: &TestBook) {
    let (said, holds) = in_words(&book.read(check_book));
    assert!(holds, "{said}");
}

#[test]
fn a_confirmed_request_becomes_an_order_with_terms_confirmation_and_reference() {
    on_each_engine(|book| {
        set(book, Requests::ByHand);
        book.act(|tx, doing| write_terms(tx, doing, 0, SAMPLE));
        let plant = book.plant();
        let (first, second) = (book.date(plant, "2027-11-18"), book.date(plant, "2027-12-02"));
        let offering = book.hogs();
        let mut input = asking(book, offering, Size::Half, "Petra Lindqvist");
        (input.dates, input.only_these) = (vec![second, first], true);
        (input.together, input.note) = ("the Wrens, order 2027-001".into(), "After Thanksgiving, please.".into());
        let (id, token) = asked(book, &input);
        // Nothing that was typed goes to an address nobody confirmed; the link is made as the mail leaves.
        let mail = messages(book, "request_confirm").remove(0);
        assert_eq!((mail.to_address.as_str(), mail.customer_id), ("petra.lindqvist@strangers.example", None));
        for typed in ["Petra", "Wrens", "Thanksgiving"] {
            assert!(!mail.body.contains(typed) && !mail.subject.contains(typed), "{}", mail.body);
        }
        let fresh = gambrel::secret::token().unwrap();
        let sent = book.act(|tx, doing| {
            let mut m = mail.clone();
            put_link_in(tx, doing.now, &mut m, Some("https://farm.example"), &fresh)?;
            Ok(m.body)
        });
        assert!(sent.contains(&format!("\nhttps://farm.example/farm/confirm/{fresh}\n")), "{sent}");
        // Not on the farmer's list, and not to be accepted, before it is confirmed.
        assert_eq!(book.read(|c| Ok(requests::to_answer(c)?)).all, 0);
        assert!(matches!(accept(book, id, false), Err(Failure::NotFound)));
        book.act(|tx, doing| confirm_request(tx, doing, &token));
        book.act(|tx, doing| confirm_request(tx, doing, &fresh));
        assert_eq!(book.read(|c| Ok(requests::to_answer(c)?)).all, 1);
        assert_eq!(book.read(|c| Ok(reservation::table.count().get_result::<i64>(c)?)), 0, "it holds no share");

        let order = accept(book, id, false).unwrap();
        let (r, who, _) = book.read(|c| Ok(reservations::get(c, order)?));
        assert_eq!(who.mail, "petra.lindqvist@strangers.example");
        assert_eq!(r.wishes, "After Thanksgiving, please.\nTogether with: the Wrens, order 2027-001");
        assert_eq!(r.preferred_date_id, Some(second));
        let (a, t) = book.read(|c| Ok(sale_terms::accepted(c, order, who.id)?)).unwrap();
        assert_eq!((t.number, a.accepted_on, a.way.as_str()), (1, book.now().today, "request"));
        let mail = messages(book, "request_accepted").remove(0);
        assert_eq!(mail.attachment_kind, Some(PaperKind::Confirmation));
        let reference = gambrel::trade::reference::of(&r.number);
        for says in [
            &format!("payment reference {reference}"),
            "$150.00 by Thursday, October 28, 2027",
            "the price our page showed",
        ] {
            assert!(mail.body.contains(says), "{says}: {}", mail.body);
        }
        let document = book.read(|c| Ok(outbox::paper(c, PaperKind::Confirmation, mail.attachment_id.unwrap())?)).1;
        for says in [
            reference.as_str(),
            "Our terms, version 1",
            "Accepted by Petra Lindqvist",
            "No resale",
            "Not for Sale",
            "October 28, 2027",
        ] {
            assert!(document.contains(says), "{says}: {document}");
        }
        let again = accept(book, id, false).unwrap_err().to_string();
        assert!(again.contains("accepted already"), "{again}");
        sound(book);
    });
}

#[test]
fn a_price_that_changed_is_never_taken_silently() {
    on_each_engine(|book| {
        set(book, Requests::Automatic);
        let offering = book.hogs();
        let (id, token) = asked(book, &asking(book, offering, Size::Half, "Petra Lindqvist"));
        let dearer = PriceIn {
            size: Size::Half,
            basis: PriceBasis::Hanging,
            rate: Some(Rate::parse("5.75").unwrap()),
            flat_price: None,
            deposit: crate::support::farm::usd("150.00"),
        };
        let today = book.now().today;
        book.act(|tx, doing| set_prices(tx, doing, offering, std::slice::from_ref(&dearer), today));
        book.act(|tx, doing| confirm_request(tx, doing, &token));
        let waits = book.read(|c| Ok(requests::get(c, id)?)).0;
        assert_eq!(waits.outcome, None, "not accepted by itself");
        let refused = accept(book, id, false).unwrap_err().to_string();
        assert!(refused.contains("Tick that it changed"), "{refused}");
        let order = accept(book, id, true).unwrap();
        assert_eq!(book.read(|c| Ok(reservations::get(c, order)?)).0.rate, Some(Rate::parse("5.75").unwrap()));
        let mail = messages(book, "request_accepted").remove(0);
        assert!(
            mail.body.contains("our page showed $5.25") && mail.body.contains("you owe nothing then"),
            "{}",
            mail.body
        );
        // A page opened before the change asks for a price that is gone.
        let mut stale = asking(book, offering, Size::Whole, "Odell");
        stale.price = asking(book, offering, Size::Half, "Odell").price;
        let refused = book.try_act(|tx, doing| ask_to_reserve(tx, doing, &stale)).unwrap_err().to_string();
        assert!(refused.contains("price was changed"), "{refused}");
        sound(book);
    });
}

#[test]
fn only_what_strangers_see_can_be_asked_for() {
    on_each_engine(|book| {
        set(book, Requests::ByHand);
        let (hogs, others) = (book.hogs(), book.offering(Species::Beef, 2, "4.65"));
        let input = asking(book, hogs, Size::Half, "Petra Lindqvist");
        let ask = || book.try_act(|tx, doing| ask_to_reserve(tx, doing, &input));
        for (is_on, shown) in [(false, vec![hogs]), (true, vec![others]), (true, vec![]), (false, vec![])] {
            on_the_page(book, is_on, &shown);
            let refused = ask().unwrap_err().to_string();
            assert!(refused.contains("not on our page"), "on {is_on}, {shown:?}: {refused}");
        }
        on_the_page(book, true, &[others, hogs]);
        set(book, Requests::Off);
        assert!(ask().unwrap_err().to_string().contains("cannot be asked for here"));
        let kept: i64 = book.read(|c| Ok(reserve_request::table.count().get_result(c)?));
        assert_eq!((kept, messages(book, "request_confirm").len()), (0, 0));
        set(book, Requests::ByHand);
        assert!(ask().unwrap().is_some());
        sound(book);
    });
}

#[test]
fn a_request_is_declined_with_words_and_once() {
    on_each_engine(|book| {
        set(book, Requests::ByHand);
        let offering = book.hogs();
        let id = confirmed(book, &asking(book, offering, Size::Half, "Petra Lindqvist"));
        book.act(|tx, doing| decline_request(tx, doing, id, "All is spoken for."));
        let mail = messages(book, "request_declined").remove(0);
        assert!(
            mail.body.contains("All is spoken for.") && mail.body.contains("Hello Petra Lindqvist"),
            "{}",
            mail.body
        );
        assert!(accept(book, id, false).unwrap_err().to_string().contains("declined already"));
        assert_eq!(book.read(|c| Ok(customer::table.count().get_result::<i64>(c)?)), 0, "nobody was added");
        sound(book);
    });
}

#[test]
fn by_itself_the_order_goes_to_the_customer_with_this_address() {
    on_each_engine(|book| {
        set(book, Requests::Automatic);
        let (offering, known) = (book.hogs(), book.customer("Ines Halvard"));
        let mut input = asking(book, offering, Size::Half, "I. Halvard");
        (input.mail, input.phone) = ("Ines@Customers.example".into(), "715-555-0199".into());
        let id = confirmed(book, &input);
        let (request, _) = book.read(|c| Ok(requests::get(c, id)?));
        let (_, who, _) = book.read(|c| Ok(reservations::get(c, request.reservation_id.unwrap())?));
        assert_eq!(
            (who.id, who.name.as_str(), who.phone.as_str()),
            (known, "Ines Halvard", "555-0142"),
            "the book stays"
        );
        assert_eq!(request.answered_by, "Gambrel");
        // When somebody waits for a share that came free, the farmer decides.
        let lamb = book.offering(Species::Lamb, 1, "9.00");
        book.order(book.customer("Tomas Wren"), lamb, Size::Half);
        let waits = book.order(book.customer("Ned Pell"), lamb, Size::Whole);
        assert!(book.read(|c| Ok(reservations::get(c, waits)?)).0.waiting_since.is_some());
        let id = confirmed(book, &asking(book, lamb, Size::Half, "Petra"));
        assert_eq!(book.read(|c| Ok(requests::get(c, id)?)).0.outcome, None);
        sound(book);
    });
}

/// 200 at once, by two programs on one book.
fn race(book: &TestBook, how: Requests) -> (OfferingId, Vec<RequestId>) {
    set(book, how);
    let offering = book.offering(Species::Beef, 1, "4.65");
    for (name, size) in [("First", Size::Half), ("Second", Size::Quarter)] {
        book.order(book.customer(name), offering, size);
    }
    let all: Vec<_> =
        (0..200).map(|n| asked(book, &asking(book, offering, Size::Quarter, &format!("Person{n}")))).collect();
    let (stores, doing) = ([book.store.clone(), book.beside()], book.doing());
    let today = doing.now.today;
    if how == Requests::ByHand {
        for (_, token) in &all {
            book.act(|tx, doing| confirm_request(tx, doing, token));
        }
    }
    std::thread::scope(|scope| {
        for worker in 0..8 {
            let (stores, doing, all) = (&stores, &doing, &all);
            scope.spawn(move || {
                for (id, token) in all.iter().skip(worker).step_by(8) {
                    let store = &stores[worker % 2];
                    if how == Requests::Automatic {
                        store.write(|tx| confirm_request(tx, doing, token)).unwrap();
                    } else {
                        let accept = |tx: &mut Tx| {
                            let price = offerings::price_on(tx.conn(), offering, Size::Quarter, today)?;
                            let price = price.ok_or(Failure::NotFound)?.id;
                            accept_request(tx, doing, *id, &Accept { customer: None, price, price_changed: false })
                        };
                        store.write(accept).unwrap();
                    }
                }
            });
        }
    });
    (offering, all.into_iter().map(|(id, _)| id).collect())
}

#[test]
fn of_200_who_want_the_last_quarter_one_has_it_and_199_are_told_that_they_wait() {
    for how in [Requests::Automatic, Requests::ByHand] {
        on_each_engine(|book| {
            let (offering, ids) = race(book, how);
            let (held, waiting) = book
                .read(|c| Ok((reservations::held(c, offering)?.len(), reservations::waiting(c, &[offering])?.len())));
            assert_eq!((held, waiting), (3, 199), "{how}");
            for id in &ids {
                assert!(book.read(|c| Ok(requests::get(c, *id)?)).0.reservation_id.is_some());
            }
            assert_eq!(messages(book, "request_accepted").len(), 1, "{how}");
            assert_eq!(messages(book, "request_waiting").len(), 199, "{how}");
            sound(book);
        });
    }
}

#[test]
fn what_is_not_confirmed_is_bounded_and_forgotten() {
    on_each_engine(|book| {
        set(book, Requests::ByHand);
        let offering = book.hogs();
        let input = asking(book, offering, Size::Half, "Petra Lindqvist");
        let tokens: Vec<_> = (0..MOST_OF_ONE).map(|_| asked(book, &input).1).collect();
        let more = book.act(|tx, doing| ask_to_reserve(tx, doing, &input));
        assert_eq!(more, None, "no further mail to this address");
        assert_eq!(messages(book, "request_confirm").len(), 3);
        book.clock.advance(48 * HOUR);
        let late = book.try_act(|tx, doing| confirm_request(tx, doing, &tokens[0]));
        assert!(matches!(late, Err(Failure::NotFound)), "{late:?}");
        assert_eq!(book.act(forget_unconfirmed), 3);
        let left: (i64, i64) = book
            .read(|c| Ok((reserve_request::table.count().get_result(c)?, request_link::table.count().get_result(c)?)));
        assert_eq!(left, (0, 0));
        // A mail that could not leave until now carries no link to a request that is gone.
        let mail = messages(book, "request_confirm").remove(0);
        let made = book.act(|tx, doing| {
            let mut m = mail.clone();
            put_link_in(tx, doing.now, &mut m, Some("https://farm.example"), "abcdefghijklmnopqrstuvwxyz012345")?;
            Ok(m.body)
        });
        assert!(!made.contains("/farm/confirm/"), "{made}");
    });
}

#[actix_web::test]
async fn a_stranger_asks_on_the_page_and_is_told_the_same_whoever_it_is() {
    for book in TestBook::each() {
        set(&book, Requests::ByHand);
        book.act(|tx, doing| write_terms(tx, doing, 0, SAMPLE));
        let offering = book.hogs();
        book.open_to_everybody(&[offering]);
        book.customer("Ines Halvard");
        let app = TestApp::with(&book, WITH_MAIL).await;
        let url = format!("/farm/reserve/{offering}?share=half");
        let page = app.get(&url).await.expect(200);
        page.says("Half hog")
            .says("$5.25 per lb of hanging weight, deposit $150.00")
            .says("8 left")
            .says("10. Questions");
        let form = page.forms().into_iter().find(|f| f.post).unwrap();
        let filled = [("name", "Petra Lindqvist"), ("mail", "petra@strangers.example"), ("terms", "yes")];
        // Sent at once, and without the tick.
        app.post(&form.action, form.body(&filled)).await.expect(422).says("That was very quick");
        book.clock.advance(MINUTE);
        let untold = [("name", "Petra Lindqvist"), ("mail", "petra@strangers.example")];
        app.post(&form.action, form.body(&untold))
            .await
            .expect(422)
            .says("Read the terms and tick")
            .says("Petra Lindqvist");
        let trapped =
            [("name", "P"), ("mail", "p@strangers.example"), ("terms", "yes"), ("website", "http://x.example")];
        assert_eq!(app.post(&form.action, form.body(&trapped)).await.expect(303).location(), "/farm/asked");
        assert_eq!(messages(&book, "request_confirm").len(), 0, "nothing is kept of a program’s");
        let first = app.post(&form.action, form.body(&filled)).await.expect(303);
        // Sent again it acts once.
        app.post(&form.action, form.body(&filled)).await.expect(303);
        assert_eq!(messages(&book, "request_confirm").len(), 1);
        let page = app.follow(&first).await;
        let nobody_knows = page.text().to_string();
        let other = app.get(&url).await.forms().into_iter().find(|f| f.post).unwrap();
        book.clock.advance(MINUTE);
        let known = [("name", "Ines Halvard"), ("mail", "ines@customers.example"), ("terms", "yes")];
        let page = app.follow(&app.post(&other.action, other.body(&known)).await).await;
        assert_eq!(page.text(), nobody_knows);

        // The link: looking changes nothing, however often; the button confirms.
        let id = book
            .read(|c| Ok(reserve_request::table.select(reserve_request::id).order(reserve_request::id).first(c)?));
        let token = gambrel::secret::token().unwrap();
        book.act(|tx, doing| add_link(tx, doing.now.at, id, &token));
        let link = format!("/farm/confirm/{token}");
        for _ in 0..3 {
            app.get(&link).await.expect(200).says("Confirm your request");
        }
        assert_eq!(book.read(|c| Ok(requests::to_answer(c)?)).all, 0);
        let page = app.submit(&link, &[]).await;
        app.follow(&page).await.says("We have your request").says_not("Petra");
        assert_eq!(book.read(|c| Ok(requests::to_answer(c)?)).all, 1);
        app.get("/farm/confirm/abcdefghijklmnopqrstuvwxyz012345").await.expect(404).says("confirms nothing");

        // The farmer answers it.
        app.make_account();
        app.begin_session();
        app.get("/").await.says("Petra Lindqvist asks for a half hog");
        let page = app.get("/requests").await.expect(200);
        page.says("One request to answer").says("One more request still has to confirm");
        let answer = app.submit_to(&format!("/requests/{id}"), &format!("/requests/{id}/accept"), &[]).await;
        let order = app.follow(&answer).await;
        order.says("Half hog for Petra Lindqvist").says("2027-001-").says("Version 1, accepted");
        let reference = gambrel::trade::reference::of("2027-001");
        app.get(&format!("/search?q={reference}")).await.says("Record its deposit");
        app.get("/search?q=2027-001-0").await.says("does not fit the rest");
        assert_eq!(
            app.get(&format!("/money/deposit?reference={reference}")).await.expect(303).location(),
            "/orders/1/deposit"
        );
        app.get("/money/deposit?reference=2027-010-5").await.expect(422);
        set(&book, Requests::Off);
        app.get(&url).await.expect(404);
        app.post(&form.action, form.body(&filled)).await.expect(404);
    }
}

#[actix_web::test]
async fn strangers_are_slowed_and_their_fields_bounded() {
    let book = TestBook::sqlite();
    set(&book, Requests::ByHand);
    let offering = book.hogs();
    book.open_to_everybody(&[offering]);
    let app = TestApp::with(&book, WITH_MAIL).await;
    let url = format!("/farm/reserve/{offering}");
    let long = "x".repeat(3_000);
    let mut statuses = Vec::new();
    for n in 0..12 {
        let form = app.get(&url).await.forms().into_iter().find(|f| f.post).unwrap();
        book.clock.advance(MINUTE / 6);
        let mail = format!("p{n}@strangers.example");
        // So many looks at once are slowed by themselves: what is odd is tried once.
        let once = n == 0;
        for field in ["name", "phone", "address", "together", "note"].into_iter().filter(|_| once) {
            let body = form.body(&[(field, &long), ("name", "Petra"), ("mail", &mail)]);
            assert_eq!(app.post(&form.action, body).await.status, 422, "{field}");
        }
        for odd in ["", "a\0b", "9223372036854775807", "-", "1-half-split-x", "99999999999999999999-half"] {
            for field in ["share", "choice_1", "terms_version", "since", "mail"].into_iter().filter(|_| once) {
                let page = app.post(&form.action, form.body(&[(field, odd), ("name", "Petra"), ("mail", &mail)])).await;
                assert!(page.status < 500, "{field} = {odd:?} answered {}", page.status);
            }
        }
        let request = TestRequest::post()
            .uri(&form.action)
            .peer_addr("192.0.2.1:4000".parse().unwrap())
            .insert_header(("Sec-Fetch-Site", "same-origin"))
            .insert_header((CONTENT_TYPE, "application/x-www-form-urlencoded"));
        let sent = app.send(request.set_payload(form.body(&[("name", "Petra"), ("mail", &mail)]))).await;
        statuses.push(sent.status);
    }
    assert_eq!(statuses[..10], [303; 10]);
    assert_eq!(statuses[10..], [429; 2]);
    // Without a mail server nobody can confirm an address, so the page says how else.
    let without = TestApp::new(&book).await;
    without.get(&url).await.expect(200).says("Please call 555-0118").says_not("Your mail address");
}

#[test]
fn the_link_of_a_demo_or_a_mail_is_stored_as_a_hash_only() {
    on_each_engine(|book| {
        set(book, Requests::ByHand);
        let (_, token) = asked(book, &asking(book, book.hogs(), Size::Half, "Petra"));
        let stored: String = book.read(|c| Ok(request_link::table.select(request_link::token_hash).first(c)?));
        assert!(stored != token && stored == gambrel::secret::hash(&token));
        assert_eq!(book.clock.at(), At(TODAY.0));
    });
}
