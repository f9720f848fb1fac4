//! Cut sheets of orders and the packet of a date: rules, revisions, and the paper read back.

use crate::paper::outside;
use crate::support::farm::lb;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::cut_sheet::{SheetIn, basis, forecast, save_sheet};
use gambrel::actions::make_packet::{make_packet, packet_again, ready};
use gambrel::actions::send_packet::hand_over_packet;
use gambrel::book::ids::{PacketId, ReservationId};
use gambrel::book::{farm, sheets};
use gambrel::trade::cuts::sheet::{Sausage, Sheet};
use gambrel::trade::sheet_json::Kept;
use gambrel::trade::vocabulary::SheetOrigin;

fn chosen(blocks: &[(&str, &str)], special: &str) -> SheetIn {
    let blocks = blocks.iter().map(|(a, b)| ((*a).to_string(), (*b).to_string())).collect();
    SheetIn { kept: Kept { sheet: Sheet { blocks, ..Sheet::default() }, ..Kept::default() }, special: special.into() }
}

fn save(book: &TestBook, order: ReservationId, version: i64, input: &SheetIn) -> Result<i64, Failure> {
    book.try_act(|tx, doing| save_sheet(tx, doing, order, version, input, SheetOrigin::Entered))
}

#[test]
fn a_sheet_counts_its_revisions_and_is_never_overwritten_unseen() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let order = hog.orders[0];
        let first = chosen(&[("ham_body", "grind")], "");
        assert_eq!(save(book, order, 0, &first).unwrap(), 1);
        assert_eq!(save(book, order, 1, &first).unwrap(), 1, "nothing changed");
        assert_eq!(save(book, order, 1, &chosen(&[("ham_body", "grind")], "Leave the rind")).unwrap(), 2);
        for stale in [0, 1] {
            assert!(matches!(save(book, order, stale, &first), Err(Failure::Stale)), "version {stale}");
        }
        let stored = book.read(|c| Ok(sheets::of(c, &[order])?.remove(&order))).unwrap();
        assert_eq!((stored.revision, stored.version, stored.special.as_str()), (2, 2, "Leave the rind"));
    });
}

#[test]
fn a_broken_rule_is_refused_at_its_block_with_the_muscle_and_nothing_is_saved() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let order = hog.orders[0];
        // The whole boneless loin is all three blocks or none.
        let refused = save(book, order, 0, &chosen(&[("loin_blade", "whole_boneless_roast")], "")).unwrap_err();
        let Failure::Refused(problems) = refused else { panic!("{refused:?}") };
        assert!(
            problems.0.iter().any(|p| p.field.starts_with("block-loin") && p.sentence.contains("loin")),
            "{problems:?}"
        );
        let mut too_much = chosen(&[], "");
        too_much.kept.sheet.sausage =
            vec![Sausage { seasoning: "breakfast".into(), form: "bulk".into(), weight: lb("70") }];
        let Err(Failure::Refused(problems)) = save(book, order, 0, &too_much) else { panic!("accepted") };
        assert_eq!(problems.0[0].field, "sausage-1-weight", "{problems:?}");
        assert!(book.read(|c| Ok(sheets::of(c, &[order])?)).is_empty());
    });
}

#[test]
fn the_forecast_rests_on_what_hung_and_adds_up_to_it() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        let today = book.now().today;
        for (order, weight) in hog.orders.iter().zip(["82.50", "80.00"]) {
            let b = book.read(|c| {
                let farm = farm::get(c)?;
                basis(c, &farm, today, *order)
            });
            assert!(b.is_weighed);
            assert_eq!(b.hanging.weight.plain(), weight);
            let home = forecast(&b, &Kept::default()).unwrap();
            let all = [home.packaged.expected, home.bone, home.fat, home.loss, home.shrink];
            let sum: i64 = all.iter().map(|w| w.hundredths()).sum();
            assert_eq!(sum, b.hanging.weight.hundredths());
        }
        // Without a weight it is what the offering expects, or what a carcass usually weighs.
        let open = book.order(book.customer("Owen Sandoz"), hog.offering, gambrel::trade::share::Size::Half);
        let b = book.read(|c| {
            let farm = farm::get(c)?;
            basis(c, &farm, today, open)
        });
        assert!(!b.is_weighed && b.rests_on.contains("usually"), "{}", b.rests_on);
        assert_eq!(b.hanging.weight, lb("100"), "the middle of 50 and 150 lb a side");
    });
}

fn text(book: &TestBook, id: PacketId) -> Option<(String, Vec<u8>)> {
    let (name, pdf) = book.read(|c| packet_again(c, id));
    assert_eq!(book.read(|c| packet_again(c, id)).1, pdf, "the same packet is the same file");
    assert!(name.starts_with("packet 2027-10-14"), "{name}");
    if let Some(said) = outside("qpdf", &["--check", "FILE"], &pdf) {
        assert!(said.contains("No syntax or stream encoding errors"), "{said}");
    }
    Some((outside("pdftotext", &["-layout", "FILE", "-"], &pdf)?, pdf))
}

#[test]
fn a_packet_asks_for_missing_sheets_and_the_next_one_marks_what_changed() {
    on_each_engine(|book| {
        let hog = book.hung_hog();
        save(book, hog.orders[0], 0, &chosen(&[("ham_body", "grind")], "Thick skin on the belly, for Łukasz")).unwrap();
        let refused = book.try_act(|tx, doing| make_packet(tx, doing, hog.date, false)).unwrap_err();
        let Failure::Refused(problems) = refused else { panic!("{refused:?}") };
        assert_eq!(problems.0[0].field, "standard");
        assert!(problems.0[0].sentence.contains("Tomas Wren") && !problems.0[0].sentence.contains("Ines"));
        let first = book.act(|tx, doing| make_packet(tx, doing, hog.date, true));
        let now = book.read(|c| ready(c, hog.date));
        assert!(now.missing().is_empty() && now.changed().is_empty());
        assert_eq!(now.sheets[&hog.orders[1]].origin, SheetOrigin::Standard);
        if let Some((words, _)) = text(book, first) {
            for wanted in [
                "Packet 1 for Thursday, October 14",
                "Ines Halvard, 3 Pell Road, Elm Fork, WI 53000, 555-0142",
                "Left side · half hog",
                "Ham: ground or sausage",
                "Thick skin on the belly, for Łukasz",
                "NOT FOR SALE",
                "Hanging weights",
                "Page 4 of 4",
            ] {
                assert!(words.contains(wanted), "“{wanted}” is not in the packet:\n{words}");
            }
            assert!(!words.contains("CHANGED") && !words.contains("hanged since"));
        }
        book.act(|tx, doing| hand_over_packet(tx, doing, first));
        save(book, hog.orders[1], 1, &chosen(&[("ham_body", "fresh_boneless")], "")).unwrap();
        let now = book.read(|c| ready(c, hog.date));
        assert_eq!(now.changed().iter().map(|s| s.reservation).collect::<Vec<_>>(), [hog.orders[1]]);
        let second = book.act(|tx, doing| make_packet(tx, doing, hog.date, false));
        if let Some((words, _)) = text(book, second) {
            assert!(words.contains("Packet 2 for Thursday"));
            let pages: Vec<&str> = words.split('\u{c}').collect();
            assert!(pages[1].contains("What changed since packet 1") && pages[1].contains("Tomas Wren"), "{words}");
            assert!(pages[2].contains("Unchanged since packet 1") && !pages[2].contains("CHANGED"), "{words}");
            assert!(pages[3].contains("Changed since packet 1") && pages[3].contains("CHANGED"), "{words}");
        }
        // The first packet stays as it was sent.
        if let Some((words, _)) = text(book, first) {
            assert!(words.contains("Packet 1 for") && !words.contains("hanged since"));
        }
    });
}

#[actix_web::test]
async fn the_form_shows_what_comes_home_keeps_what_is_typed_and_saves() {
    let book = TestBook::sqlite();
    let hog = book.hung_hog();
    let app = TestApp::signed_in(&book).await;
    let url = format!("/orders/{}/cut-sheet", hog.orders[0]);
    let page = app.get(&url).await.expect(200);
    page.says("82.5 lb hung for this half hog.").says("No cut sheet yet").says("bacon");
    let form = page.forms().into_iter().find(|f| f.post && f.action != "/sign-out").unwrap();
    let looked = app.post(&url, form.body(&[("look", "yes"), ("block-ham_body", "grind")])).await.expect(200);
    looked.says("ground or sausage");
    assert!(book.read(|c| Ok(sheets::of(c, &hog.orders)?)).is_empty(), "looking saves nothing");
    let wrong = [("block-loin_blade", "whole_boneless_roast"), ("special", "No liver, please")];
    let refused = app.post(&url, form.body(&wrong)).await.expect(422);
    refused.says("No liver, please").says("value=\"whole_boneless_roast\" selected");
    let unknown = app.post(&url, form.body(&[("block-ham_body", "fried")])).await.expect(422);
    unknown.says("“fried” is not known here");
    let good = [
        ("block-ham_body", "grind"),
        ("param-pork_chop_in", "1"),
        ("sausage-1-seasoning", "breakfast"),
        ("sausage-1-form", "bulk"),
        ("sausage-1-weight", "10"),
        ("parts", "heart"),
    ];
    let saved = app.post(&url, form.body(&good)).await.expect(303);
    app.follow(&saved).await.says("Revision 1").says("Breakfast sausage");
    app.get(&format!("/dates/{}", hog.date)).await.says("One share has no cut sheet yet");
    let packet = format!("/dates/{}/packet", hog.date);
    app.submit(&packet, &[]).await.expect(422).says("Tomas Wren");
    let made = app.submit(&packet, &[("standard", "yes")]).await.expect(303);
    app.follow(&made).await.says("Packet 1");
    let paper = app.get("/packets/1.pdf").await.expect(200);
    assert!(paper.bytes.starts_with(b"%PDF"));
}
