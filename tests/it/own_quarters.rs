//! Forequarters and hindquarters of beef: their forms, their forecast, their sheet in the packet, and what they share with the
//! other owners of the animal.

use crate::paper::outside;
use crate::support::book::DAY;
use crate::support::page::Form;
use crate::support::{Page, TestApp, TestBook, on_each_engine};
use diesel::prelude::*;
use gambrel::actions::Failure;
use gambrel::actions::cut_sheet::{Basis, SheetIn, basis, forecast, save_sheet};
use gambrel::actions::make_packet::{make_packet, packet_again, read_packet, ready};
use gambrel::actions::plant_offer::save_offer;
use gambrel::actions::record_weights::{Fate, WeighForm, WeighRow, confirming, record_weights};
use gambrel::actions::share_side::neighbor_panel;
use gambrel::book::ids::{AnimalId, DateId, ProcessorId, ReservationId};
use gambrel::book::schema::animal;
use gambrel::book::{farm, sheets, sides};
use gambrel::trade::animal::Class;
use gambrel::trade::carcass::Hung;
use gambrel::trade::cuts::offer::Offer;
use gambrel::trade::cuts::sheet::Sheet;
use gambrel::trade::share::{Part, Side, Size, Species};
use gambrel::trade::sheet_json::{self, Kept};
use gambrel::trade::vocabulary::{BirthPrecision, CarcassBasis, SheetOrigin};
use gambrel::trade::weight::Weight;

const HOME: &str = "/my/cut-sheet";

/// A steer of which Ines has the left forequarter, Tomas the left hindquarter and Owen the right side.
struct Steer {
    plant: ProcessorId,
    date: DateId,
    animal: AnimalId,
    fore: ReservationId,
    hind: ReservationId,
    half: ReservationId,
}

fn steer(book: &TestBook) -> Steer {
    let offering = book.quarters_apart();
    let plant = book.plant();
    let date = book.date(plant, "2027-11-18");
    let animal = book.head(Class::Steer, "226", date);
    let fore = book.own_quarter(book.customer("Ines Halvard"), offering, Part::Fore);
    let hind = book.own_quarter(book.customer("Tomas Wren"), offering, Part::Hind);
    let half = book.order(book.customer("Owen Sandoz"), offering, Size::Half);
    for (order, side) in [(fore, Side::Left), (hind, Side::Left), (half, Side::Right)] {
        book.place(order, animal, side);
    }
    Steer { plant, date, animal, fore, hind, half }
}

fn of(book: &TestBook, order: ReservationId) -> Basis {
    let today = book.now().today;
    book.read(|c| {
        let farm = farm::get(c)?;
        basis(c, &farm, today, order)
    })
}

fn sheet(blocks: &[(&str, &str)], parts: &[&str]) -> SheetIn {
    let sheet = Sheet {
        blocks: blocks.iter().map(|(a, b)| ((*a).to_string(), (*b).to_string())).collect(),
        parts: parts.iter().map(ToString::to_string).collect(),
        ..Sheet::default()
    };
    SheetIn { kept: Kept { sheet, ..Kept::default() }, special: String::new() }
}

fn save(book: &TestBook, order: ReservationId, input: &SheetIn) -> Result<i64, Failure> {
    book.try_act(|tx, doing| save_sheet(tx, doing, order, 0, input, SheetOrigin::Entered))
}

fn says(outcome: Result<i64, Failure>) -> Vec<(String, String)> {
    let Err(Failure::Refused(problems)) = outcome else { panic!("{outcome:?}") };
    problems.0.into_iter().map(|p| (p.field, p.sentence)).collect()
}

fn form(page: &Page) -> Form {
    page.forms().into_iter().find(|f| f.post && f.action != "/my/leave").unwrap()
}

async fn submit(app: &TestApp, url: &str, filled: &[(&str, &str)]) -> Page {
    let form = form(&app.get(url).await.expect(200));
    app.post(url, form.body(filled)).await
}

#[test]
fn the_forecast_rests_on_the_quarters_own_weight_expected_or_hung() {
    on_each_engine(|book| {
        let s = steer(book);
        let weight = |order| of(book, order).hanging.weight.hundredths();
        let (fore, hind, half) = (weight(s.fore), weight(s.hind), weight(s.half));
        assert_eq!(fore + hind, half, "two quarters are the side");
        assert_eq!(fore * 100, half * 55, "55 to 45");
        let hung = Hung::Quarters {
            left_fore: Weight::from_hundredths(19_110),
            left_hind: Weight::from_hundredths(16_890),
            right_fore: Weight::from_hundredths(19_000),
            right_hind: Weight::from_hundredths(17_000),
        };
        let row = WeighRow {
            animal: s.animal,
            version: 0,
            fate: Fate::Hung { hung, condemned_parts: None },
            carcass_number: String::new(),
            head_on: false,
            skin_on: false,
            confirmed: confirming(hung),
        };
        book.clock.advance(35 * DAY);
        let (date, weighed_on) = (s.date, book.now().today);
        let form = WeighForm { date, basis: CarcassBasis::Hot, weighed_on, for_saved_too: false, rows: vec![row] };
        book.act(|tx, doing| record_weights(tx, doing, &form).map(drop));
        for (order, hundredths) in [(s.fore, 19_110), (s.hind, 16_890)] {
            let basis = of(book, order);
            assert!(basis.is_weighed);
            assert_eq!(basis.hanging.weight.hundredths(), hundredths);
            let home = forecast(&basis, &Kept::default()).unwrap();
            let all = [home.packaged.expected, home.bone, home.fat, home.loss, home.shrink];
            assert_eq!(all.iter().map(|w| w.hundredths()).sum::<i64>(), hundredths);
            assert!(home.packaged.low < home.packaged.expected && home.packaged.expected < home.packaged.high);
        }
    });
}

#[test]
fn rules_and_the_processors_offer_hold_for_a_quarter() {
    on_each_engine(|book| {
        let s = steer(book);
        let other = says(save(book, s.fore, &sheet(&[("short_loin", "tbone")], &[])));
        assert_eq!(other[0].0, "block-short_loin");
        assert!(other[0].1.contains("lies in the hindquarter"), "{other:?}");
        let round = says(save(book, s.hind, &sheet(&[("top_round", "full_cut_steak")], &[])));
        assert!(round.iter().any(|(field, _)| field == "block-top_round"), "all of the round or none: {round:?}");
        // The plant saws no T-bones: that is about the hindquarter, and the forequarter does not hear of it.
        let tbones = [("short_loin".to_string(), ["tbone".to_string()].into())].into();
        let offer = Offer { without_choices: tbones, ..Offer::default() };
        book.act(|tx, doing| save_offer(tx, doing, s.plant, Species::Beef, 0, &offer));
        let refused = says(save(book, s.hind, &sheet(&[("short_loin", "tbone")], &[])));
        assert!(refused[0].1.starts_with("Pell Road Meats does not do"), "{refused:?}");
        assert_eq!(save(book, s.hind, &SheetIn::default()).unwrap(), 1);
        assert_eq!(save(book, s.fore, &SheetIn::default()).unwrap(), 1);
        let stored = book.read(|c| sheets::of(c, &[s.fore, s.hind]).map_err(Into::into));
        let blocks = |order| sheet_json::read(&stored[&order].sheet).unwrap().sheet.blocks;
        assert!(blocks(s.hind).contains_key("short_loin"), "what is cut there instead is written out");
        assert!(blocks(s.fore).is_empty(), "{:?}", blocks(s.fore));
    });
}

#[test]
fn of_a_cow_of_thirty_months_neither_quarter_gives_backbone() {
    let book = TestBook::sqlite();
    let s = steer(&book);
    book.act(|tx, _| {
        let born = animal::birth_on.eq(Some("2021-03-01".parse::<chrono::NaiveDate>().unwrap()));
        let how = animal::birth_precision.eq(BirthPrecision::Exact);
        Ok(diesel::update(animal::table.find(s.animal)).set((born, how)).execute(tx.conn())?)
    });
    for (order, block, choice) in [(s.fore, "rib", "rib_steak_bone_in"), (s.hind, "short_loin", "tbone")] {
        let refused = says(save(&book, order, &sheet(&[(block, choice)], &[])));
        assert!(refused[0].1.contains("9 CFR 310.22"), "{refused:?}");
        assert_eq!(save(&book, order, &SheetIn::default()).unwrap(), 1, "the standard cut turns boneless");
    }
}

#[test]
fn nothing_has_to_be_agreed_but_parts_there_is_one_of() {
    on_each_engine(|book| {
        let s = steer(book);
        book.deposit(s.hind, "150.00");
        book.clock.advance(DAY);
        book.deposit(s.fore, "150.00");
        save(book, s.fore, &sheet(&[("rib", "ribeye_boneless")], &["tongue", "liver"])).unwrap();
        save(book, s.hind, &sheet(&[("sirloin", "roast_boneless")], &["tongue"])).unwrap();
        save(book, s.half, &sheet(&[], &["liver", "tongue"])).unwrap();
        assert!(book.read(|c| Ok(sides::on_dates(c, &[s.date])?)).is_empty(), "no side is cut as one");
        let parts = |order| book.read(|c| neighbor_panel(c, order)).parts;
        assert_eq!(
            parts(s.fore),
            [
                "Liver: shared out among the owners who asked.",
                "Tongue: to another owner of the animal, whose deposit came first."
            ]
        );
        assert_eq!(parts(s.hind), ["Tongue: to this share, whose deposit came first."]);
        let id = book.act(|tx, doing| make_packet(tx, doing, s.date, false));
        let packet = book.read(|c| read_packet(&sheets::packet(c, id)?.document));
        let organs = |name: &str| {
            let page = packet.sheets.iter().find(|p| p.who[0] == name).unwrap();
            page.lines.iter().find(|l| l.part == "Organs and other parts").unwrap().says.clone()
        };
        let all = ["Ines Halvard", "Tomas Wren", "Owen Sandoz"].map(organs);
        assert_eq!(all, ["Liver.", "Tongue.", "Liver."]);
    });
}

#[test]
fn the_packet_has_a_sheet_with_the_quarters_own_blocks() {
    on_each_engine(|book| {
        let s = steer(book);
        assert_eq!(book.read(|c| ready(c, s.date)).missing().len(), 3, "a quarter wants a cut sheet like every share");
        save(book, s.hind, &sheet(&[("short_loin", "strip_boneless_tenderloin")], &[])).unwrap();
        let id = book.act(|tx, doing| make_packet(tx, doing, s.date, true));
        let packet = book.read(|c| read_packet(&sheets::packet(c, id)?.document));
        let page = |name: &str| packet.sheets.iter().find(|p| p.who[0] == name).unwrap();
        assert_eq!(page("Tomas Wren").side, "Left side · hindquarter beef");
        assert_eq!(page("Ines Halvard").side, "Left side · forequarter beef");
        let has = |name: &str, part: &str| page(name).lines.iter().any(|l| l.part == part);
        for (part, fore, hind) in [
            ("Chuck", true, false),
            ("Rib", true, false),
            ("Brisket", true, false),
            ("Round", false, true),
            ("Flank", false, true),
        ] {
            assert_eq!((has("Ines Halvard", part), has("Tomas Wren", part)), (fore, hind), "{part}");
            assert!(has("Owen Sandoz", part), "{part}");
        }
        let owners = &packet.animals[0].owners;
        assert!(owners[0].starts_with("Left forequarter: Ines Halvard"), "{owners:?}");
        assert!(owners[1].starts_with("Left hindquarter: Tomas Wren"), "{owners:?}");
        let (_, pdf) = book.read(|c| packet_again(c, id));
        if let Some(words) = outside("pdftotext", &["-layout", "FILE", "-"], &pdf) {
            for wanted in ["Left side · hindquarter beef", "boneless strip steaks", "Left forequarter: Ines Halvard"] {
                assert!(words.contains(wanted), "“{wanted}” is not in the packet:\n{words}");
            }
        }
    });
}

#[actix_web::test]
async fn the_customers_form_shows_only_the_blocks_of_the_quarter() {
    for book in TestBook::each() {
        let s = steer(&book);
        // Tomas had half a beef before, with steaks of the rib and chuck roasts.
        let before = book.order(book.customer("Tomas Wren"), book.offering(Species::Beef, 2, "4.75"), Size::Half);
        let theirs = book.read(|c| gambrel::book::reservations::get(c, s.hind).map_err(Into::into)).1.id;
        book.act(|tx, _| {
            use gambrel::book::schema::reservation;
            let his = reservation::customer_id.eq(theirs);
            Ok(diesel::update(reservation::table.find(before)).set(his).execute(tx.conn())?)
        });
        let mut half = sheet(&[("rib", "ribeye_boneless"), ("short_loin", "strip_boneless_tenderloin")], &[]);
        half.kept.sheet.parameters.insert("chuck_roasts".into(), "2".into());
        save(&book, before, &half).unwrap();
        let app = TestApp::new(&book).await;
        app.hold(s.hind);
        app.get(HOME).await.expect(200).says("Tell us how to cut your hindquarter beef").says("The same as last time");
        let first = submit(&app, HOME, &[("start", "last")]).await.expect(303);
        let page = app.follow(&first).await.expect(200);
        page.says("Only the hindquarter is divided into its parts.").says("Part 1 of");
        page.says_not("data-block=\"chuck_blade\"").says_not("data-block=\"rib\"");
        app.get(&format!("{HOME}/chuck_blade")).await.expect(404);
        let loin = app.get(&format!("{HOME}/short_loin")).await.expect(200);
        // All the pieces of the side lie in this quarter.
        loin.says("About 14 T-bone or porterhouse steaks in 7 packs").says("strip_boneless_tenderloin\" checked");
        app.get(&format!("{HOME}/ground-and-sausage")).await.expect(200).says_not("chuck");
        let check = app.get(&format!("{HOME}/check")).await.expect(200);
        check
            .says("boneless strip steaks")
            .says("divide 53 to 47")
            .says("Freezer")
            .says_not("Chuck")
            .says_not("Brisket");
        // Three questions in its place, and sent.
        let answers = [("start", "questions"), ("kind", "roasts"), ("bones", "out"), ("eaters", "4")];
        submit(&app, HOME, &answers).await.expect(303);
        let sent = submit(&app, &format!("{HOME}/check"), &[]).await.expect(303);
        app.follow(&sent).await.expect(200).says("The cut sheet of your hindquarter beef is in");
        let stored = book.read(|c| Ok(sheets::of(c, &[s.hind])?.remove(&s.hind))).unwrap();
        let kept = sheet_json::read(&stored.sheet).unwrap();
        assert!(kept.sheet.blocks.contains_key("short_loin") && !kept.sheet.blocks.contains_key("rib"));
        assert!(forecast(&of(&book, s.hind), &kept).is_ok());
    }
}

#[actix_web::test]
async fn the_farmers_form_shows_only_the_blocks_of_the_quarter() {
    let book = TestBook::sqlite();
    let s = steer(&book);
    let app = TestApp::new(&book).await;
    app.make_account();
    app.begin_session();
    let url = |order| format!("/orders/{order}/cut-sheet");
    let fore = app.get(&url(s.fore)).await.expect(200);
    fore.says("Parts of the forequarter").says("name=\"block-rib\"").says("name=\"param-chuck_roasts\"");
    fore.says_not("name=\"block-short_loin\"").says("divide 53 to 47").says("Comes home");
    let hind = app.get(&url(s.hind)).await.expect(200);
    hind.says("Parts of the hindquarter").says("name=\"block-short_loin\"");
    hind.says_not("name=\"block-rib\"").says_not("name=\"param-chuck_roasts\"");
    app.get(&url(s.half)).await.expect(200).says("Parts of the side").says_not("divide 53 to 47");
    let saved = app.submit(&url(s.fore), &[("block-rib", "ribeye_boneless"), ("block-short_loin", "tbone")]).await;
    saved.expect(303);
    let stored = book.read(|c| Ok(sheets::of(c, &[s.fore])?.remove(&s.fore))).unwrap();
    let blocks = sheet_json::read(&stored.sheet).unwrap().sheet.blocks;
    assert_eq!(blocks.into_keys().collect::<Vec<_>>(), ["rib"], "what the form does not have is not read");
    app.get(&format!("/dates/{}/sheets", s.date)).await.expect(200).says("Missing").says("Hindquarter, Steer 226");
    app.get(&format!("/dates/{}/packet", s.date)).await.expect(200).says("Forequarter, Steer 226");
}
