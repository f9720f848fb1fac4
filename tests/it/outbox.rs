//! The outbox on both engines: choosing the channel, claiming, lists, wordings, and what placeholders stand for.

use crate::outbox_book::{Book, MINUTE};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::edit_wording::{edit_wording, reset_wording, wording_of};
use gambrel::actions::message_values::{order_values, preview, with_invoice};
use gambrel::book::at::At;
use gambrel::book::farm;
use gambrel::book::ids::{OfferingId, ReservationId};
use gambrel::book::outbox::{self, Counts, Shown, Standing};
use gambrel::book::rows::outbox::Message;
use gambrel::book::rows::selling::{NewOffering, NewReservation};
use gambrel::book::schema;
use gambrel::post::wording::{Purpose, Values, Wording, default_wording};
use gambrel::trade::money::{Money, Rate};
use gambrel::trade::share::{Size, Species};
use gambrel::trade::vocabulary::{Channel, PriceBasis, QuarterPart};

#[test]
fn the_channel_is_mail_else_text_else_letter() {
    for book in Book::each() {
        let mail = book.queue(book.customer("Ruth Kessel", "ruth@kessel.example", "402 555 0101"));
        let text = book.queue(book.customer("José Núñez", "no address", "402 555 0102"));
        let letter = book.queue(book.customer("Þóra Bard", "", "ask at the market"));
        let (mail, text, letter) = (book.get(mail), book.get(text), book.get(letter));
        assert_eq!(
            (mail.channel, mail.to_address.as_str(), mail.standing()),
            (Channel::Mail, "ruth@kessel.example", Standing::Waiting(0))
        );
        assert_eq!(
            (text.channel, text.to_address.as_str(), text.standing()),
            (Channel::Text, "402 555 0102", Standing::ByHand)
        );
        assert_eq!((letter.channel, letter.to_address.as_str()), (Channel::Letter, "3 Pell Road\nElm Fork"));
        assert_eq!(mail.next_try_at, Some(book.clock.at()));
        assert_eq!((text.next_try_at, letter.next_try_at), (None, None));
        assert!(
            mail.body.starts_with("Hello Ruth Kessel,\n\n")
                && mail.body.ends_with("Ada Moen\nNettle Bend Farm\noffice@nettlebend.example"),
            "{}",
            mail.body
        );
        assert!(text.body.starts_with("Hello José Núñez, invoice") && !text.body.contains('\n'));
        assert!(letter.body.starts_with("Hello Þóra Bard,\n\n"));
        assert!(mail.message_id.ends_with("@nettlebend.example>") && mail.message_id != text.message_id);
        assert_eq!(book.counts(), Counts { waiting: 1, by_hand: 2, failed: 0 });

        // lists are paged by key, newest first
        let page = |shown, before| book.store.read(|c| Ok::<_, Failure>(outbox::page(c, shown, before, 2)?)).unwrap();
        let ids = |m: Vec<Message>| m.into_iter().map(|m| m.id).collect::<Vec<_>>();
        assert_eq!(ids(page(Shown::Open, None)), [letter.id, text.id]);
        assert_eq!(ids(page(Shown::Open, Some(text.id))), [mail.id]);
        assert_eq!(ids(page(Shown::Customer(text.customer_id.unwrap()), None)), [text.id]);
        assert!(page(Shown::Failed, None).is_empty());
    }
}

#[test]
fn a_hole_in_the_wording_queues_nothing() {
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let refused = book.try_queue(ruth, Values::examples(Purpose::Invoice).with("invoice", ""), None);
        assert!(matches!(&refused, Err(Failure::Refused(p)) if p.0[0].sentence.contains("{invoice}")), "{refused:?}");
        assert_eq!(book.counts(), Counts::default());
    }
}

#[test]
fn a_claimed_message_is_left_alone_and_comes_back_after_a_crash() {
    for book in Book::each() {
        let id = book.queue(book.customer("Ruth Kessel", "ruth@kessel.example", ""));
        let claim = || {
            let (now, until) = (book.clock.at(), At(book.clock.at().0 + 5 * MINUTE));
            book.store.write(|tx| Ok::<_, Failure>(outbox::claim(tx, now, until)?)).unwrap()
        };
        let first = claim().unwrap();
        assert_eq!((first.id, first.tries), (id, 1));
        assert_eq!(claim(), None);
        book.clock.advance(5 * MINUTE);
        let again = claim().unwrap();
        assert_eq!((again.id, again.tries, again.message_id), (id, 2, first.message_id));
    }
}

#[test]
fn wordings_are_edited_used_and_reset() {
    for book in Book::each() {
        let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
        let edit =
            |w: &Wording, seen| book.store.write(|tx| edit_wording(tx, &book.doing(), Purpose::Invoice, w, seen));
        let of = || book.store.read(|c| wording_of(c, Purpose::Invoice)).unwrap();
        assert_eq!((of().version, of().wording), (0, default_wording(Purpose::Invoice)));
        let bad = Wording::typed("Invoice {inovice}", "x", "");
        let Err(Failure::Refused(p)) = edit(&bad, 0) else { panic!("taken") };
        assert_eq!(p.0.iter().map(|p| p.field.as_str()).collect::<Vec<_>>(), ["subject", "short"]);
        assert_eq!(of().version, 0);

        let mine = Wording::typed(
            "Your invoice {invoice}",
            "Dear {customer}:\r\n{balance}, {due}.\r\n",
            "{invoice}: {balance}",
        );
        edit(&mine, 0).unwrap();
        assert_eq!((of().version, of().wording), (1, mine.clone()));
        assert!(matches!(edit(&mine, 0), Err(Failure::Stale)));
        edit(&mine, 1).unwrap();
        assert!(matches!(edit(&mine, 1), Err(Failure::Stale)));
        let m = book.get(book.queue(ruth));
        assert_eq!(
            (m.subject.as_str(), m.body.as_str()),
            ("Your invoice 2027-014", "Dear Ruth Kessel:\n$705.75, by Thursday, October 28.")
        );

        let reset = |seen| book.store.write(|tx| reset_wording(tx, &book.doing(), Purpose::Invoice, seen));
        assert!(matches!(reset(1), Err(Failure::Stale)));
        reset(2).unwrap();
        assert_eq!((of().version, of().wording), (0, default_wording(Purpose::Invoice)));
        reset(0).unwrap();
    }
}

fn an_order(book: &Book) -> ReservationId {
    let ruth = book.customer("Ruth Kessel", "ruth@kessel.example", "");
    let now = book.doing().now;
    book.store
        .write(|tx| {
            let offering: OfferingId = diesel::insert_into(schema::offering::table)
                .values(NewOffering {
                    species: Species::Hog,
                    season: "fall 2027".into(),
                    head_count: 4,
                    sells_whole: true,
                    sells_half: true,
                    sells_quarter: false,
                    quarter_part: QuarterPart::Split,
                    expected_low: None,
                    expected_high: None,
                    notes: String::new(),
                    closed_at: None,
                    created_at: now.at,
                })
                .returning(schema::offering::id)
                .get_result(tx.conn())?;
            let order = NewReservation {
                number: "2027-031".into(),
                customer_id: ruth,
                offering_id: offering,
                size: Size::Half,
                part: None,
                taken_at: now.at,
                price_basis: PriceBasis::Hanging,
                rate: Some(Rate::parse("5.25").unwrap()),
                flat_price: None,
                deposit_asked: Money::from_cents(15_000),
                price_locked_on: now.today,
                wishes: String::new(),
                preferred_date_id: None,
                waiting_since: None,
                cancelled_at: None,
                cancel_reason: String::new(),
                cancel_deposit: None,
                collected_at: None,
            };
            Ok::<_, Failure>(
                diesel::insert_into(schema::reservation::table)
                    .values(order)
                    .returning(schema::reservation::id)
                    .get_result(tx.conn())?,
            )
        })
        .unwrap()
}

#[test]
fn an_order_knows_what_its_messages_say() {
    for book in Book::each() {
        let order = an_order(&book);
        let (values, farm) = book.store.read(|c| Ok::<_, Failure>((order_values(c, order)?, farm::get(c)?))).unwrap();
        let filled =
            default_wording(Purpose::ReservationConfirmed).fill(Purpose::ReservationConfirmed, &values).unwrap();
        assert_eq!(filled.subject, "Your order 2027-031: half hog");
        assert!(
            filled.body.contains("Share: half hog (hog, fall 2027)\nPrice: $5.25 per lb of hanging weight\n"),
            "{}",
            filled.body
        );
        assert!(
            filled
                .body
                .contains("Please send the deposit of $150.00 to hold it.\nMake checks payable to Nettle Bend Farm.\n")
        );
        // no processing date yet: refused, not left blank
        assert!(default_wording(Purpose::DateAssigned).fill(Purpose::DateAssigned, &values).is_err());

        let due = book.doing().now.today.pred_opt();
        let values = with_invoice(values, "2027-014", Money::from_cents(47_050), due, book.doing().now, &farm);
        let filled = default_wording(Purpose::BalanceReminder).fill(Purpose::BalanceReminder, &values).unwrap();
        assert_eq!(filled.subject, "Invoice 2027-014 is 1 day past due");
        let filled = default_wording(Purpose::Invoice).fill(Purpose::Invoice, &values).unwrap();
        assert!(filled.body.contains("The balance due is $470.50. Please pay it by "), "{}", filled.body);
        let values = with_invoice(values, "2027-014", Money::ZERO, due, book.doing().now, &farm);
        let filled = default_wording(Purpose::Invoice).fill(Purpose::Invoice, &values).unwrap();
        assert!(filled.body.contains("nothing is due") && !filled.body.contains("Make checks"), "{}", filled.body);
    }
}

#[test]
fn every_wording_can_be_previewed_with_and_without_an_order() {
    for book in Book::each() {
        let order = an_order(&book);
        for purpose in Purpose::ALL {
            for order in [None, Some(order)] {
                let filled = book.store.read(|c| preview(c, *purpose, None, order)).unwrap();
                // The packet goes to a plant, and no name is written to an address that nobody confirmed.
                let reader = match *purpose {
                    Purpose::Packet | Purpose::PlantNews => "Cedar Locker",
                    Purpose::RequestConfirm => "Hello,",
                    _ => "Ruth Kessel",
                };
                assert!(
                    filled.body.contains(reader) && filled.body.ends_with("office@nettlebend.example"),
                    "{purpose}"
                );
            }
        }
        let broken = Wording::typed("{x}", "y", "z");
        assert!(matches!(
            book.store.read(|c| preview(c, Purpose::Refund, Some(&broken), None)),
            Err(Failure::Refused(_))
        ));
    }
}
