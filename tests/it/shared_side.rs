//! Two quarters of one side: what is open, one click to decide, who is told, stale decisions, and the packet.

use crate::sheets_due::{chosen, save};
use crate::support::farm::day;
use crate::support::{TestApp, TestBook, on_each_engine};
use gambrel::actions::Failure;
use gambrel::actions::make_packet::{make_packet, read_packet, ready};
use gambrel::actions::send_packet::{hand_over_packet, mail_packet};
use gambrel::actions::share_side::{decide_side, neighbor_panel, seen, side_of, standard_where_open};
use gambrel::book::ids::{AnimalId, DateId, PacketId, ReservationId};
use gambrel::book::outbox::{self, Shown};
use gambrel::book::{sheets, sides, stories};
use gambrel::paper::packet::Packet;
use gambrel::trade::agree::{Decision, Settled};
use gambrel::trade::animal::Class;
use gambrel::trade::share::{Side, Size, Species};

/// A steer on October 28: two quarters on its left side, and a half on the right.
struct Shared {
    date: DateId,
    animal: AnimalId,
    first: ReservationId,
    second: ReservationId,
}

fn shared(book: &TestBook) -> Shared {
    let (offering, plant) = (book.offering(Species::Beef, 2, "4.80"), book.plant());
    let date = book.date(plant, "2027-10-28");
    let animal = book.head(Class::Steer, "226", date);
    let quarter = |name: &str| {
        let order = book.order(book.customer(name), offering, Size::Quarter);
        book.place(order, animal, Side::Left);
        order
    };
    let (first, second) = (quarter("Dele Ashworth"), quarter("Ruth Kessel"));
    let half = book.order(book.customer("Ines Halvard"), offering, Size::Half);
    book.place(half, animal, Side::Right);
    save(book, half, 0, &chosen(&[("rib", "rib_steak_bone_in")], ""));
    // Ruth’s deposit came first.
    book.deposit(second, "150.00");
    book.clock.advance(60_000);
    book.deposit(first, "150.00");
    Shared { date, animal, first, second }
}

/// They differ about the short loin, which is one muscle, and about the rib, which has seven.
fn differing(book: &TestBook) -> Shared {
    let s = shared(book);
    save(book, s.first, 0, &chosen(&[("short_loin", "tbone"), ("rib", "rib_roast_bone_in")], ""));
    save(book, s.second, 0, &chosen(&[("short_loin", "strip_boneless_tenderloin"), ("rib", "rib_steak_bone_in")], ""));
    s
}

fn open(book: &TestBook, s: &Shared) -> Vec<String> {
    book.read(|c| Ok(side_of(c, s.animal, Side::Left)?.settlement.open().map(|i| i.id.clone()).collect()))
}

fn decide(book: &TestBook, s: &Shared, block: &str, d: Decision) -> Result<(), Failure> {
    let saw = book.read(|c| Ok(seen(&side_of(c, s.animal, Side::Left)?.shared)));
    book.try_act(|tx, doing| decide_side(tx, doing, s.animal, Side::Left, saw, (block, d)))
}

fn messages(book: &TestBook, order: ReservationId) -> Vec<String> {
    let all = book.read(|c| Ok(outbox::page(c, Shown::Reservation(order), None, 50)?));
    all.into_iter().filter(|m| m.purpose == "side_decided").map(|m| m.body).collect()
}

fn document(book: &TestBook, id: PacketId) -> Packet {
    book.read(|c| read_packet(&sheets::packet(c, id)?.document))
}

fn refused<T: std::fmt::Debug>(done: Result<T, Failure>) -> String {
    let Err(Failure::Refused(problems)) = done else { panic!("{done:?}") };
    problems.0[0].sentence.clone()
}

#[test]
fn the_farmer_decides_once_and_both_are_told_without_the_others_name() {
    on_each_engine(|book| {
        let s = differing(book);
        assert_eq!(open(book, &s), ["short_loin"], "the rib is given out by its ribs");
        let rib = book.read(|c| {
            let side = side_of(c, s.animal, Side::Left)?;
            Ok(side.settlement.items.iter().find(|i| i.id == "rib").cloned().unwrap())
        });
        assert_eq!(rib.takes, "3 ribs as bone-in rib roast; 4 ribs as bone-in rib steaks", "the earlier deposit has 4");
        decide(book, &s, "short_loin", Decision::Second).unwrap();
        assert_eq!(open(book, &s), [""; 0]);
        for (order, other) in [(s.first, "Ruth"), (s.second, "Dele")] {
            let said = messages(book, order);
            assert_eq!(said.len(), 1);
            assert!(said[0].contains("Short loin: boneless strip steaks and tenderloin."), "{}", said[0]);
            assert!(!said[0].contains(other), "{}", said[0]);
            let story = book.read(|c| Ok(stories::of_reservation(c, order)?));
            assert!(story.iter().any(|l| l.line.contains("left side of Steer 226 is cut")), "{story:?}");
        }
        // The other way is a decision too, and takes its place.
        decide(book, &s, "short_loin", Decision::Standard).unwrap();
        let side = book.read(|c| side_of(c, s.animal, Side::Left));
        let item = side.settlement.items.iter().find(|i| i.id == "short_loin").unwrap();
        assert_eq!((item.settled, side.shared.decisions.len()), (Settled::Decided(Decision::Standard), 1));
        assert!(refused(decide(book, &s, "short_loin", Decision::Pieces)).contains("not divided by pieces"));
        assert!(refused(decide(book, &s, "flank", Decision::First)).contains("do not differ about the flank"));
        assert!(refused(decide(book, &s, "ham_body", Decision::First)).contains("nothing of that kind"));
    });
}

#[test]
fn a_decision_for_sheets_that_changed_is_stale_and_holds_no_more() {
    on_each_engine(|book| {
        let s = differing(book);
        let saw = book.read(|c| Ok(seen(&side_of(c, s.animal, Side::Left)?.shared)));
        save(book, s.first, 1, &chosen(&[("short_loin", "strip_bone_in_tenderloin")], ""));
        let late = book
            .try_act(|tx, doing| decide_side(tx, doing, s.animal, Side::Left, saw, ("short_loin", Decision::First)));
        assert!(matches!(late, Err(Failure::Stale)), "{late:?}");
        assert!(messages(book, s.first).is_empty(), "nothing was told");
        decide(book, &s, "short_loin", Decision::First).unwrap();
        assert!(open(book, &s).is_empty());
        save(book, s.second, 1, &chosen(&[("short_loin", "tbone")], ""));
        assert_eq!(open(book, &s), ["short_loin"], "it was for another sheet");
        // Wishes that meet need no decision.
        save(book, s.second, 2, &chosen(&[("short_loin", "strip_bone_in_tenderloin")], ""));
        assert!(open(book, &s).is_empty());
    });
}

#[test]
fn of_two_at_once_one_decides_and_the_other_reads_it_anew() {
    on_each_engine(|book| {
        let s = differing(book);
        let saw = book.read(|c| Ok(seen(&side_of(c, s.animal, Side::Left)?.shared)));
        let (done, saved) = std::thread::scope(|scope| {
            let decider = scope.spawn(|| {
                book.try_act(|tx, doing| {
                    decide_side(tx, doing, s.animal, Side::Left, saw, ("short_loin", Decision::First))
                })
            });
            let saver =
                scope.spawn(|| save(book, s.second, 1, &chosen(&[("short_loin", "tbone"), ("neck", "stew")], "")));
            (decider.join().unwrap(), saver.join().is_ok())
        });
        assert!(saved);
        // Whichever came first: no decision holds for the sheet that was saved.
        assert!(matches!(done, Ok(()) | Err(Failure::Stale)), "{done:?}");
        let side = book.read(|c| side_of(c, s.animal, Side::Left));
        assert!(side.shared.decisions.iter().all(|d| !side.shared.holds(d)));
        assert_eq!(side.shared.decisions.len(), usize::from(done.is_ok()));
    });
}

#[test]
fn the_neighbor_is_shown_without_a_name_and_only_to_those_who_share() {
    on_each_engine(|book| {
        let s = differing(book);
        let lines = book.read(|c| neighbor_panel(c, s.first)).lines;
        let names: Vec<&str> = lines.iter().map(|l| l.name.as_str()).collect();
        assert_eq!(names, ["rib", "short loin"]);
        assert!(lines[1].is_open && lines[1].neighbors == "boneless strip steaks and tenderloin");
        let said = format!("{lines:?}");
        assert!(!said.contains("Ruth") && !said.contains("Dele"), "{said}");
        let half = book.read(|c| Ok(sides::of(c, s.animal, Side::Right)?.is_none()));
        assert!(half, "a half shares its side with nobody");
    });
}

#[test]
fn the_packet_has_the_agreed_cutting_and_is_not_sent_with_an_open_question_in_silence() {
    on_each_engine(|book| {
        let s = differing(book);
        let packet = book.act(|tx, doing| make_packet(tx, doing, s.date, false));
        let doc = document(book, packet);
        assert_eq!(doc.open, ["Left side of Steer 226: short loin"]);
        let line = |doc: &Packet, sheet: usize, part: &str| {
            doc.sheets[sheet].lines.iter().find(|l| l.part == part).map(|l| l.says.clone()).unwrap_or_default()
        };
        for sheet in [0, 1] {
            let loin = line(&doc, sheet, "Loin");
            assert!(loin.contains("T-bone and porterhouse steaks, 1 inch"), "{loin}");
            assert!(
                loin.contains("Short loin: The two quarters of this side differ here, so it is the standard cut."),
                "{loin}"
            );
            assert!(loin.contains("T-bone or porterhouse steak, 7 of 14"), "{loin}");
        }
        let ribs = [0, 1].map(|n| line(&doc, n, "Rib"));
        assert!(
            ribs[0].starts_with("Bone-in rib roast") && ribs[0].contains("This quarter’s part of the rib: 3 ribs."),
            "{}",
            ribs[0]
        );
        assert!(ribs[1].contains("This quarter’s part of the rib: 4 ribs."), "{}", ribs[1]);
        assert!(
            doc.sheets[0].about.iter().any(|a| a.starts_with("Cut as one with order 2027-")),
            "{:?}",
            doc.sheets[0]
        );
        let flank = [0, 1].map(|n| line(&doc, n, "Flank").contains("To this quarter: flank steak."));
        assert_ne!(flank[0], flank[1], "one flank steak goes to one quarter");
        let says = refused(book.try_act(|tx, doing| mail_packet(tx, doing, packet)));
        assert!(says.contains("Left side of Steer 226: short loin") && says.contains("send it anyway"), "{says}");
        // Anyway is a decision for the standard cut: stored, told to both, and the packet is the one that was looked at.
        let sent = book.try_act(|tx, doing| {
            assert_eq!(standard_where_open(tx, doing, s.date)?, 1);
            mail_packet(tx, doing, packet)
        });
        sent.unwrap();
        assert_eq!([messages(book, s.first).len(), messages(book, s.second).len()], [1, 1]);
        assert!(book.read(|c| ready(c, s.date)).changed().is_empty());
        // A later decision changes what the plant has.
        book.clock.advance(60_000);
        decide(book, &s, "short_loin", Decision::Second).unwrap();
        let changed: Vec<ReservationId> =
            book.read(|c| ready(c, s.date)).changed().iter().map(|x| x.reservation).collect();
        assert_eq!(changed, [s.first, s.second]);
        let next = book.act(|tx, doing| make_packet(tx, doing, s.date, false));
        let doc = document(book, next);
        assert!(doc.open.is_empty() && doc.changed.len() == 2, "{:?}", doc.changed);
        book.act(|tx, doing| hand_over_packet(tx, doing, next));
    });
}

#[test]
fn one_who_sent_none_follows_the_other_and_fore_and_hind_share_nothing() {
    on_each_engine(|book| {
        let s = shared(book);
        save(book, s.first, 0, &chosen(&[("brisket", "corned")], ""));
        let side = book.read(|c| side_of(c, s.animal, Side::Left));
        assert!(side.is_waiting());
        assert_eq!(side.settlement.sheets.second.blocks["brisket"], "corned");
        assert!(side.settlement.open().next().is_none());
        let all = book.read(|c| Ok(sides::on_dates(c, &[s.date])?.len()));
        assert_eq!(all, 1);
        assert!(day("2027-10-28") == side.shared.kill_on);
    });
}

#[actix_web::test]
async fn the_pages_show_it_and_decide_with_one_click() {
    let book = TestBook::sqlite();
    let s = differing(&book);
    let app = TestApp::signed_in(&book).await;
    app.get("/").await.says("The left side of Steer 226 is wished in two ways").says("differ: short loin");
    let list = format!("/dates/{}/sheets", s.date);
    app.get(&list).await.says("Sides that two quarters share").says("One to decide");
    let url = format!("/animals/{}/sides/left", s.animal);
    let page = app.get(&url).await.expect(200);
    page.says("One thing is for you to decide.").says("As Ruth Kessel wishes").says("Each its own part");
    app.get(&format!("/orders/{}/cut-sheet", s.first)).await.says("What the two quarters of the left side");
    let form = page.forms().into_iter().find(|f| f.body(&[]).contains("block=short_loin")).unwrap();
    let old = form.body(&[("decision", "second")]);
    let packet = format!("/dates/{}/packet", s.date);
    app.submit(&packet, &[]).await.expect(303);
    app.get(&packet)
        .await
        .says("Two quarters of one side have not agreed")
        .says("anyway: the standard cut is used there");
    let done = app.post(&url, old.clone()).await.expect(303);
    app.follow(&done).await.says("is settled").says("(holds)");
    app.get("/").await.says_not("is wished in two ways");
    app.get(&packet).await.says_not("have not agreed").says("Something changed after it was made");
    let page = app.get(&url).await;
    save(&book, s.first, 1, &chosen(&[("short_loin", "strip_bone_in_tenderloin")], ""));
    let form = page.forms().into_iter().find(|f| f.body(&[]).contains("block=short_loin")).unwrap();
    let late = app.post(&url, form.body(&[("decision", "first")])).await.expect(422);
    late.says("Nothing was decided").says("changed in between");
    app.post(&url, form.body(&[("decision", "both")])).await.expect(422).says("Choose one of the buttons");
    app.get(&format!("/animals/{}/sides/right", s.animal)).await.expect(404);
    app.get(&format!("/animals/{}/sides/up", s.animal)).await.expect(404);
}
