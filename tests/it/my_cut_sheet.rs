//! The customer's cut sheet through the service: page by page, on two devices, sent, and hidden from everybody else.

use crate::support::page::Form;
use crate::support::{Page, TestApp, TestBook};
use gambrel::actions::cut_sheet::{basis, forecast};
use gambrel::actions::sheet_draft::draft_of;
use gambrel::book::ids::ReservationId;
use gambrel::book::{farm, sheets};
use gambrel::trade::cuts::quarter::quarter;
use gambrel::trade::cuts::{catalogue, common};
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::sheet_json;

const HOME: &str = "/my/cut-sheet";

/// The form of a page that is not the one that leaves it.
fn form(page: &Page) -> Form {
    page.forms().into_iter().find(|f| f.post && f.action != "/my/leave").unwrap()
}

/// Fills in the page's form and sends it.
async fn submit(app: &TestApp, url: &str, filled: &[(&str, &str)]) -> Page {
    let form = form(&app.get(url).await.expect(200));
    app.post(url, form.body(filled)).await
}

async fn begun(book: &TestBook, order: ReservationId) -> TestApp {
    let app = TestApp::new(book).await;
    app.hold(order);
    assert_eq!(submit(&app, HOME, &[("start", "standard")]).await.expect(303).location(), "/my/cut-sheet/ham_body");
    app
}

fn hog_half(book: &TestBook) -> ReservationId {
    book.order(book.customer("Ines Halvard"), book.hogs(), Size::Half)
}

#[actix_web::test]
async fn a_sheet_is_filled_in_part_by_part_and_sent() {
    for book in TestBook::each() {
        let order = hog_half(&book);
        let app = TestApp::new(&book).await;
        app.hold(order);
        app.get("/my/cut-sheet/ham_body").await.expect(303);
        app.get(HOME).await.expect(200).says("Tell us how to cut your half hog").says("Three questions");
        let refused = submit(&app, HOME, &[("start", "questions"), ("eaters", "0")]).await.expect(422);
        refused.says("With bones or boneless: choose one.").says("How many eat");
        submit(&app, HOME, &[("start", "last")]).await.expect(422).says("no sheet of an earlier time");
        let first = submit(&app, HOME, &[("start", "standard")]).await.expect(303);
        let ham = app.follow(&first).await.expect(200);
        ham.says("Part 1 of")
            .says("The ham")
            .says("Marked: the ham")
            .says("cured ham halves, ")
            .says("The standard cut.");
        let chosen = [("block-ham_body", "grind"), ("param-steaks_per_pkg", "4")];
        let loin = submit(&app, "/my/cut-sheet/ham_body", &chosen).await.expect(303);
        assert_eq!(loin.location(), "/my/cut-sheet/loin_blade");
        let loin = app.follow(&loin).await.expect(200);
        loin.says("About 20 bone-in loin chops in 5 packs")
            .says("Chosen")
            .says("For a whole animal only: crown roast.");
        // A broken rule is saved, said at its block, and keeps nobody from going on.
        let one = [("block-loin_blade", "whole_boneless_roast")];
        let stays = submit(&app, "/my/cut-sheet/loin_blade", &one).await.expect(303);
        assert_eq!(stays.location(), "/my/cut-sheet/loin_blade");
        let stays = app.follow(&stays).await.expect(200);
        stays.says("It cannot be cut so yet").says("value=\"whole_boneless_roast\" checked").says("Look again");
        let on = submit(&app, "/my/cut-sheet/loin_blade", &[("go", "on")]).await.expect(303);
        assert_eq!(on.location(), "/my/cut-sheet/belly");
        let check = app.get("/my/cut-sheet/check").await.expect(200);
        check
            .says("It cannot be cut so yet")
            .says("/my/cut-sheet/loin_blade#block-loin_blade")
            .says("aria-disabled=\"true\"");
        submit(&app, "/my/cut-sheet/check", &[]).await.expect(422).says("It cannot be cut so yet");
        assert!(book.read(|c| Ok(sheets::of(c, &[order])?)).is_empty(), "nothing was sent");
        let back = [("block-loin_blade", "country_style_ribs"), ("go", "back")];
        assert_eq!(submit(&app, "/my/cut-sheet/loin_centre", &back).await.location(), "/my/cut-sheet/ham_body");
        // What cannot be read is refused on its page, and stays there as it was typed.
        let odd = [("sausage-1-seasoning", "maple"), ("sausage-1-weight", "lots")];
        submit(&app, "/my/cut-sheet/ground-and-sausage", &odd).await.expect(422).says("value=\"lots\"");
        let good = [("sausage-1-seasoning", "maple"), ("sausage-1-weight", "5")];
        submit(&app, "/my/cut-sheet/ground-and-sausage", &good).await.expect(303);
        submit(&app, "/my/cut-sheet/parts-of-the-animal", &[("parts", "heart")]).await.expect(303);
        let wish = [("special", "Leave the rind on the bacon")];
        let last = submit(&app, "/my/cut-sheet/wishes", &wish).await.expect(303);
        assert_eq!(last.location(), "/my/cut-sheet/check");
        let check = app.follow(&last).await.expect(200);
        check.says("Ham: ground or sausage.").says("5 lb of maple sausage").says("Leave the rind on the bacon");
        let sent = submit(&app, "/my/cut-sheet/check", &[]).await.expect(303);
        app.follow(&sent).await.expect(200).says("The cut sheet of your half hog is in").says("What happens next");
        let stored = book.read(|c| Ok(sheets::of(c, &[order])?.remove(&order))).unwrap();
        let kept = sheet_json::read(&stored.sheet).unwrap();
        assert_eq!(kept.sheet.blocks.get("ham_body").map(String::as_str), Some("grind"));
        assert!(!kept.sheet.blocks.contains_key("butt"), "what was left as it stood stays the standard cut");
        assert_eq!(
            (kept.sheet.parts, stored.special.as_str()),
            (vec!["heart".to_string()], "Leave the rind on the bacon")
        );
        // From what is in, with one change.
        app.get(HOME).await.says("Revision 1").says("The sheet that is in now");
        submit(&app, HOME, &[("start", "stored")]).await.expect(303);
        submit(&app, "/my/cut-sheet/belly", &[("block-belly", "fresh_slab")]).await.expect(303);
        let sent = submit(&app, "/my/cut-sheet/check", &[]).await.expect(303);
        app.follow(&sent).await.says("Fresh belly slab");
        assert_eq!(book.read(|c| Ok(sheets::of(c, &[order])?.remove(&order))).unwrap().revision, 2);
    }
}

#[actix_web::test]
async fn it_is_left_on_one_device_and_continued_on_another() {
    let book = TestBook::sqlite();
    let order = hog_half(&book);
    let desk = begun(&book, order).await;
    let open = form(&desk.get("/my/cut-sheet/belly").await);
    let phone = desk.other_browser();
    phone.hold(order);
    phone.get(HOME).await.says("Go on with the ham").says("You have begun: 0 of");
    submit(&phone, "/my/cut-sheet/ham_body", &[("block-ham_body", "fresh_boneless")]).await.expect(303);
    phone.get(HOME).await.says("Go on with the loin");
    // The desk had the belly open all the while: nothing is overwritten unseen, nothing typed is lost.
    let slab = [("block-belly", "fresh_slab"), ("param-bacon_pkg_lb", "2")];
    let stale = desk.post("/my/cut-sheet/belly", open.body(&slab)).await.expect(422);
    stale.says("saved on another device").says("value=\"fresh_slab\" checked");
    desk.post("/my/cut-sheet/belly", form(&stale).body(&[])).await.expect(303);
    let (_, input) = book.read(|c| draft_of(c, order)).unwrap();
    let at = |block: &str| input.kept.sheet.blocks.get(block).map(String::as_str);
    assert_eq!((at("ham_body"), at("belly")), (Some("fresh_boneless"), Some("fresh_slab")));
    assert_eq!(input.kept.sheet.parameters.get("bacon_pkg_lb").map(String::as_str), Some("2"));
}

#[actix_web::test]
async fn another_customers_link_sees_and_changes_nothing_of_it() {
    let book = TestBook::sqlite();
    let mine = hog_half(&book);
    let theirs = book.order(book.customer("Tomas Wren"), book.hogs(), Size::Half);
    let app = begun(&book, mine).await;
    submit(&app, "/my/cut-sheet/wishes", &[("special", "A word nobody else may read")]).await.expect(303);
    let other = app.other_browser();
    for url in ["check", "ham_body", "wishes"].map(|s| format!("{HOME}/{s}")) {
        assert_eq!(other.get(&url).await.expect(303).location(), "/lost-link", "nobody");
        let form = form(&app.get(&url).await.expect(200));
        other.hold(theirs);
        assert_eq!(other.get(&url).await.expect(303).location(), HOME, "not begun by Tomas");
        other.get(HOME).await.expect(200).says_not("A word nobody else may read").says_not("Go on with");
        // A form copied from another customer's page does nothing here.
        assert_eq!(other.post(&url, form.body(&[("special", "Mine now")])).await.status / 100, 3);
        other.set_cookie(other.app.holder_cookie(), "x");
    }
    let (draft, input) = book.read(|c| draft_of(c, mine)).unwrap();
    assert_eq!((draft.version, input.special.as_str()), (2, "A word nobody else may read"));
    assert!(book.read(|c| draft_of(c, theirs)).is_none());
}

#[actix_web::test]
async fn the_same_page_sent_twice_acts_once() {
    let book = TestBook::sqlite();
    let order = hog_half(&book);
    let app = begun(&book, order).await;
    let body = form(&app.get("/my/cut-sheet/check").await).body(&[]);
    let first = app.post("/my/cut-sheet/check", body.clone()).await.expect(303);
    let again = app.post("/my/cut-sheet/check", body).await.expect(303);
    assert_eq!(first.location(), again.location());
    assert_eq!(book.read(|c| Ok(sheets::of(c, &[order])?.remove(&order))).unwrap().revision, 1);
}

#[actix_web::test]
async fn an_old_cow_gives_no_backbone_and_the_page_says_why() {
    let book = TestBook::sqlite();
    let order = book.order(book.customer("Ines Halvard"), book.offering(Species::Beef, 2, "4.75"), Size::Half);
    let plant = book.plant();
    let date = book.date(plant, "2027-11-18");
    let cow = book.head(gambrel::trade::animal::Class::Cow, "77", date);
    book.act(|tx, _| {
        use diesel::prelude::*;
        use gambrel::book::schema::animal;
        let born = animal::birth_on.eq(Some("2021-03-01".parse::<chrono::NaiveDate>().unwrap()));
        let how = animal::birth_precision.eq(gambrel::trade::vocabulary::BirthPrecision::Exact);
        Ok(diesel::update(animal::table.find(cow)).set((born, how)).execute(tx.conn())?)
    });
    book.place(order, cow, gambrel::trade::share::Side::Left);
    let app = TestApp::new(&book).await;
    app.hold(order);
    submit(&app, HOME, &[("start", "standard")]).await.expect(303);
    let loin = app.get("/my/cut-sheet/short_loin").await.expect(200);
    loin.says("Not from this animal: T-bone and porterhouse steaks and bone-in strip steaks and tenderloin.");
    loin.says("9 CFR 310.22").says_not("value=\"tbone\"");
    submit(&app, "/my/cut-sheet/check", &[]).await.expect(303);
}

#[actix_web::test]
async fn the_farmer_sees_that_a_sheet_was_begun_and_not_sent() {
    for book in TestBook::each() {
        let coming = crate::sheets_due::coming(&book);
        let [order, other] = coming.orders;
        let desk = TestApp::new(&book).await;
        desk.make_account();
        desk.begin_session();
        let pages = [
            format!("/orders/{order}"),
            format!("/orders/{order}/cut-sheet"),
            format!("/dates/{}/sheets", coming.date),
        ];
        let says = "Begun by the customer, not sent; last change Thursday, October 14.";
        for page in &pages {
            desk.get(page).await.expect(200).says_not("Begun");
        }
        let app = begun(&book, order).await;
        for page in &pages {
            desk.get(page).await.expect(200).says(says);
        }
        desk.get(&format!("/orders/{other}")).await.says_not("Begun");
        submit(&app, "/my/cut-sheet/check", &[]).await.expect(303);
        desk.get(&pages[0]).await.says("In since Thursday, October 14, revision 1").says_not("not sent");
        desk.get(&pages[2]).await.says_not("Begun");
        // Begun anew from the one that is in.
        submit(&app, HOME, &[("start", "stored")]).await.expect(303);
        desk.get(&pages[0]).await.says("In since").says("The customer has begun another one and not sent it");
        desk.get(&pages[2]).await.says(says);
    }
}

/// Numbers out of a seed, so that a failing sequence can be run again.
struct Dice(u64);

impl Dice {
    fn roll(&mut self, most: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % most.max(1)
    }
    fn one<T: Clone>(&mut self, of: &[T]) -> T {
        of[self.roll(of.len())].clone()
    }
}

/// Fields as a browser or a mischief-maker might send them: mostly what the catalogue knows, sometimes nonsense.
fn odd_fields(species: Species, dice: &mut Dice) -> Vec<(String, String)> {
    let (catalogue, common) = (catalogue(species).unwrap(), common().unwrap());
    let nonsense = ["", "fried", "-1", "1e9", "999999999", "0.3", "<b>", "7", "2"].map(String::from);
    let mut all = Vec::new();
    for block in &catalogue.blocks {
        let ids: Vec<String> = block.choices.iter().map(|c| c.id.clone()).collect();
        if dice.roll(3) > 0 {
            all.push((format!("block-{}", block.id), dice.one(&ids)));
        }
        if block.pieces.is_some() && dice.roll(2) == 0 {
            all.push((format!("second-{}", block.id), dice.one(&ids)));
            all.push((format!("pieces-{}", block.id), (1 + dice.roll(8)).to_string()));
        }
    }
    for p in common.parameters(species) {
        let mut values = p.words.clone();
        values.extend(
            p.number.iter().flat_map(|l| l.allow.iter().chain(&l.least).chain(&l.most)).map(ToString::to_string),
        );
        if dice.roll(4) == 0 && !values.is_empty() {
            all.push((format!("param-{}", p.id), dice.one(&values)));
        }
    }
    for n in 1..=3 {
        if dice.roll(4) == 0 {
            all.push((format!("sausage-{n}-seasoning"), dice.one(&common.seasonings).id));
            all.push((format!("sausage-{n}-form"), dice.one(&common.forms).id));
            all.push((format!("sausage-{n}-weight"), (1 + dice.roll(60)).to_string()));
        }
    }
    for part in &catalogue.parts {
        if dice.roll(4) == 0 {
            all.push(("parts".into(), part.id.clone()));
        }
    }
    for name in ["head_on", "skin_on"] {
        if dice.roll(3) == 0 {
            all.push((name.into(), "yes".into()));
        }
    }
    if dice.roll(6) == 0 && !all.is_empty() {
        let n = dice.roll(all.len());
        all[n].1 = dice.one(&nonsense);
    }
    all
}

#[actix_web::test]
async fn no_sequence_of_forms_puts_a_broken_rule_into_a_sent_sheet() {
    let (mut sent, mut refused) = (0, 0);
    for book in TestBook::each() {
        let shares = [
            (Species::Beef, Size::Quarter, None),
            (Species::Beef, Size::Quarter, Some(Part::Hind)),
            (Species::Hog, Size::Half, None),
            (Species::Lamb, Size::Whole, None),
            (Species::Goat, Size::Whole, None),
        ];
        for (species, size, part) in shares {
            let offering = if part.is_some() { book.quarters_apart() } else { book.offering(species, 20, "5.00") };
            for seed in 0..6_u64 {
                let mut dice = Dice(seed * 977 + 13);
                let who = book.customer("Ines Halvard");
                let order = match part {
                    Some(part) => book.own_quarter(who, offering, part),
                    None => book.order(who, offering, size),
                };
                let app = TestApp::new(&book).await;
                app.hold(order);
                let start = dice.one(&["standard", "questions"]);
                let answers = [("start", start), ("kind", "ground"), ("bones", "in"), ("eaters", "4")];
                submit(&app, HOME, &answers).await.expect(303);
                // Pages of a hindquarter; the fields sent to them are those of the whole side.
                let own = part.map_or_else(|| catalogue(species), quarter).unwrap();
                let mut slugs: Vec<String> = Vec::new();
                slugs.extend(own.blocks.iter().map(|b| b.id.clone()));
                slugs.extend(["ground-and-sausage", "parts-of-the-animal", "wishes"].map(String::from));
                for _ in 0..7 {
                    let url = format!("{HOME}/{}", dice.one(&slugs));
                    let page = app.get(&url).await.expect(200);
                    let fields = odd_fields(species, &mut dice);
                    let fields: Vec<(&str, &str)> = fields.iter().map(|(a, b)| (a.as_str(), b.as_str())).collect();
                    let answer = app.post(&url, form(&page).body(&fields)).await;
                    assert!(
                        [303, 422].contains(&answer.status),
                        "{species} seed {seed}: {} answered {}",
                        url,
                        answer.status
                    );
                    let asked =
                        app.post("/my/cut-sheet/check", form(&app.get("/my/cut-sheet/check").await).body(&[])).await;
                    if asked.status != 303 {
                        refused += 1;
                        asked.expect(422).says("It cannot be cut so yet");
                        continue;
                    }
                    sent += 1;
                    let stored = book.read(|c| Ok(sheets::of(c, &[order])?.remove(&order))).unwrap();
                    let kept = sheet_json::read(&stored.sheet).unwrap();
                    let today = book.now().today;
                    let home = book.read(|c| {
                        let farm = farm::get(c)?;
                        Ok(forecast(&basis(c, &farm, today, order)?, &kept).map(drop))
                    });
                    assert!(home.is_ok(), "{species} seed {seed}: {home:?}\n{}", stored.sheet);
                    submit(&app, HOME, &[("start", "stored")]).await.expect(303);
                }
            }
        }
    }
    assert!(sent > 20 && refused > 20, "{sent} sent and {refused} refused: the dice are loaded");
}

/// What a person reads of a page, a line for each piece of text, with what stands in fields.
pub(crate) fn read(page: &Page) -> String {
    let html = page.text();
    let main = html.split("<main id=\"main\">").nth(1).unwrap().split("</main>").next().unwrap();
    let mut lines: Vec<String> = Vec::new();
    for piece in main.split('<').skip(1) {
        let (tag, after) = piece.split_once('>').unwrap_or((piece, ""));
        let of =
            |name: &str| tag.split(&format!(" {name}=\"")).nth(1).map(|r| r.split('"').next().unwrap().to_string());
        if tag.starts_with("input") && of("type").is_none_or(|t| t != "hidden") {
            let on = if tag.contains(" checked") { "x" } else { " " };
            lines.push(format!("[{on}] {}={}", of("name").unwrap_or_default(), of("value").unwrap_or_default()));
        }
        if tag.starts_with("option") && tag.contains(" selected") {
            lines.push("selected:".into());
        }
        let text = after.trim();
        if !text.is_empty() {
            lines.push(text.replace("&#38;", "&"));
        }
    }
    lines.join("\n")
}

#[actix_web::test]
async fn the_forms_and_sentences_as_people_read_them() {
    let book = TestBook::sqlite();
    let order = hog_half(&book);
    let app = TestApp::new(&book).await;
    app.hold(order);
    let mut all = String::new();
    let mut note = |name: &str, page: &Page| all.push_str(&format!("== {name}\n{}\n\n", read(page)));
    note("start", &app.get(HOME).await);
    let answers = [("start", "questions"), ("kind", "ground"), ("bones", "out"), ("eaters", "4")];
    submit(&app, HOME, &answers).await.expect(303);
    for step in ["loin_blade", "ground-and-sausage", "parts-of-the-animal", "wishes", "check"] {
        note(step, &app.get(&format!("{HOME}/{step}")).await);
    }
    let sent = submit(&app, "/my/cut-sheet/check", &[]).await.expect(303);
    note("sent", &app.follow(&sent).await);
    insta::assert_snapshot!(all);
}
