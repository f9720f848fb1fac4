//! The Outbox's pages and the words of the messages in Settings, through the whole service on each engine.

use crate::support::{TestApp, TestBook};
use gambrel::actions::message_values::order_values;
use gambrel::actions::queue_message::{ToSay, queue_message};
use gambrel::book::ids::{CustomerId, MessageId, ReservationId};
use gambrel::book::outbox;
use gambrel::post::wording::Purpose;
use gambrel::trade::share::Size;

/// Confirms an order to its customer.
fn confirm(book: &TestBook, customer: CustomerId, order: ReservationId) -> MessageId {
    book.act(|tx, doing| {
        let values = order_values(tx.conn(), order)?;
        let purpose = Purpose::ReservationConfirmed;
        queue_message(tx, doing, &ToSay { customer, reservation: Some(order), purpose, values, attachment: None })
    })
}

/// Takes the mail address from a customer, and the phone number too when there is to be a letter.
fn without_mail(book: &TestBook, id: CustomerId, phone: &str) {
    book.act(|tx, _| {
        let mut who = gambrel::book::people::get(tx.conn(), id)?;
        (who.mail, who.phone) = (String::new(), phone.into());
        let version = who.version;
        assert!(gambrel::book::people::save(tx, &who, version)?);
        Ok(())
    });
}

#[actix_web::test]
async fn a_message_waits_is_read_downloaded_and_handed_over() {
    for book in TestBook::each() {
        let who = book.customer("Ines Halvard");
        let order = book.order(who, book.hogs(), Size::Half);
        let id = confirm(&book, who, order);
        let app = TestApp::signed_in(&book).await;
        let page = app.get("/outbox").await.expect(200);
        page.says("One message is for you to send").says("SMTP_URL").says("For you to send");
        let page = app.get(&format!("/outbox/{id}")).await.expect(200);
        page.says("Ines Halvard").says("half hog").says("Download the mail file").says_not("Send again");
        let eml = app.get(&format!("/outbox/{id}.eml")).await.expect(200);
        assert_eq!(eml.header("content-type"), "message/rfc822");
        eml.says("To: ").says("ines@customers.example");
        let pdf = app.get(&format!("/outbox/{id}.pdf")).await.expect(200);
        assert!(pdf.bytes.starts_with(b"%PDF-"));
        let (page, handed) = (format!("/outbox/{id}"), format!("/outbox/{id}/handed-over"));
        let form = app.get(&page).await.forms().into_iter().find(|f| f.action == handed).unwrap();
        app.post(&handed, form.body(&[])).await.expect(303);
        app.get("/outbox").await.says("Nothing waits in the Outbox").says("Handed over");
        app.get("/outbox?show=waiting").await.says("No message stands so");
        app.get("/outbox?show=sent").await.says("Ines Halvard");
        app.get("/outbox?show=nonsense&before=x").await.expect(200);
        // A form of a page that is out of date changes nothing and says so.
        let stale = app.submit_to(&page, &format!("/outbox/{id}/send"), &[("version", "99")]).await.expect(422);
        stale.says("This message changed meanwhile");
        let again = app.submit_to(&page, &format!("/outbox/{id}/send"), &[]).await.expect(303);
        assert_ne!(again.location(), page, "a copy of what was handed over goes out as a message of its own");
        for gone in ["/outbox/999", "/outbox/999.eml", "/outbox/999.pdf"] {
            app.get(gone).await.expect(404);
        }
    }
}

#[actix_web::test]
async fn people_without_mail_get_a_text_message_or_a_letter() {
    let book = TestBook::sqlite();
    let (ines, owen) = (book.customer("Ines Halvard"), book.customer("Owen Sandoz"));
    let hogs = book.hogs();
    without_mail(&book, ines, "402 555 0101");
    without_mail(&book, owen, "");
    let (text, letter) = (
        confirm(&book, ines, book.order(ines, hogs, Size::Half)),
        confirm(&book, owen, book.order(owen, hogs, Size::Half)),
    );
    let app = TestApp::signed_in(&book).await;
    let page = app.get(&format!("/outbox/{text}")).await.expect(200);
    page.says("href=\"sms:+14025550101?body=").says("data-copy=\"message-words\"").says("id=\"message-words\"");
    let refused = app.get(&format!("/outbox/{text}.eml")).await;
    assert_eq!(refused.status, 422, "a text message is no mail file");
    let page = app.get(&format!("/outbox/{letter}")).await.expect(200);
    page.says("Open the letter").says_not("sms:").says_not(".eml");
    assert!(app.get(&format!("/outbox/{letter}.pdf")).await.expect(200).bytes.starts_with(b"%PDF-"));
    app.get("/").await.says("Two messages for you to send");
}

#[actix_web::test]
async fn mail_that_came_back_is_late_and_says_why() {
    let book = TestBook::sqlite();
    let who = book.customer("Jonas Pryce");
    let id = confirm(&book, who, book.order(who, book.hogs(), Size::Half));
    book.act(|tx, doing| Ok(outbox::mark_failed(tx, id, doing.now.at, "No such mailbox.")?));
    let app = TestApp::signed_in(&book).await;
    app.get("/").await.says("one of them late").says("did not reach Jonas Pryce").says("No such mailbox.");
    let page = app.get(&format!("/outbox/{id}")).await.expect(200);
    page.says("No such mailbox.").says(&format!("/customers/{who}/edit")).says("Send again");
    app.get("/outbox?show=failed").await.says("One message was not delivered").says("Jonas Pryce");
    app.submit_to(&format!("/outbox/{id}"), &format!("/outbox/{id}/send"), &[]).await.expect(303);
    app.get("/outbox?show=failed").await.says("No message stands so");
}

#[actix_web::test]
async fn words_are_changed_previewed_and_put_back() {
    for book in TestBook::each() {
        let who = book.customer("Łucja Núñez");
        let order = book.order(who, book.hogs(), Size::Half);
        let app = TestApp::signed_in(&book).await;
        app.get("/settings").await.says("/settings/messages");
        let list = app.get("/settings/messages").await.expect(200);
        for purpose in Purpose::ALL {
            list.says(&format!("/settings/messages/{purpose}"));
            let page = app.get(&format!("/settings/messages/{purpose}")).await.expect(200);
            let reader = match *purpose {
                Purpose::Packet | Purpose::PlantNews => "processor",
                Purpose::RequestConfirm => "hours",
                _ => "customer",
            };
            page.says("Łucja Núñez").says(&format!("<code>{{{reader}}}</code>")).says("Preview");
        }
        app.get("/settings/messages/nonsense").await.expect(404);
        let url = "/settings/messages/reservation_confirmed";
        let filled = [
            ("subject", "Thank you, {customer}"),
            ("body", "Your {share} is yours.\n{paying}"),
            ("short", "{share}: yours"),
        ];
        let form = app.get(url).await.forms().into_iter().find(|f| f.action == url).unwrap();
        let seen = app.post(&format!("{url}/preview"), form.body(&filled)).await.expect(200);
        seen.says("Thank you, Łucja Núñez").says("Your half hog is yours.");
        app.get("/settings/messages").await.says_not("In your words");
        for (bad, says) in [
            (("body", "Hello {nobody}"), "{nobody} is not known in this message"),
            (("body", "Hello {customer"), "opens a brace that is not closed"),
            (("subject", ""), "subject"),
        ] {
            for to in [url.to_string(), format!("{url}/preview")] {
                let page = app.post(&to, form.body(&[bad])).await.expect(422);
                page.says(says).says("What you typed is still here");
            }
        }
        app.post(url, form.body(&filled)).await.expect(303);
        app.get("/settings/messages").await.says("In your words");
        let id = confirm(&book, who, order);
        assert_eq!(book.read(|c| Ok(outbox::get(c, id)?.subject)), "Thank you, Łucja Núñez");
        // A second browser's older page does not overwrite it unseen.
        let mut other = form.clone();
        other.fields.iter_mut().filter(|(n, _)| n == "form_key").for_each(|(_, v)| {
            *v = app_key(&list);
        });
        let stale = app.post(url, other.body(&[("subject", "Mine")])).await.expect(422);
        stale.says("Somebody else saved this").says("Thank you, {customer}").says("value=\"Mine\"");
        app.submit_to(url, &format!("{url}/reset"), &[]).await.expect(303);
        app.get("/settings/messages").await.says_not("In your words");
    }
}

/// A form key of a page that was not used yet.
fn app_key(page: &crate::support::Page) -> String {
    page.forms().iter().find(|f| f.post).map(|f| f.value("form_key").to_string()).unwrap()
}

#[actix_web::test]
async fn owners_are_told_of_their_date_once() {
    for book in TestBook::each() {
        let date = book.date(book.plant(), "2027-10-20");
        let hog = book.head(gambrel::trade::animal::Class::Barrow, "41", date);
        let hogs = book.hogs();
        for (name, side) in
            [("Ines Halvard", gambrel::trade::share::Side::Left), ("Owen Sandoz", gambrel::trade::share::Side::Right)]
        {
            book.place(book.order(book.customer(name), hogs, Size::Half), hog, side);
        }
        let app = TestApp::signed_in(&book).await;
        let (page, tell) = (format!("/dates/{date}"), format!("/dates/{date}/tell"));
        let sent = app.submit_to(&page, &tell, &[]).await.expect(303);
        assert_eq!(sent.location(), "/outbox");
        let all = || book.read(|c| Ok(outbox::page(c, outbox::Shown::All, None, 10)?));
        assert_eq!(all().len(), 2);
        assert!(all().iter().all(|m| m.body.contains("Wednesday, October 20") && m.body.contains("Pell Road Meats")));
        let again = app.submit_to(&page, &tell, &[]).await.expect(303);
        assert_eq!((again.location(), all().len()), (page.as_str(), 2), "nobody gets the same words twice");
    }
}
