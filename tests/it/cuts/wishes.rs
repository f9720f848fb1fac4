//! What parameters do to a forecast: cures, patties, trim thrown away, back fat in the sausage, numbers of roasts, pieces.
use gambrel::trade::cuts::sheet::{Hanging, Sausage, Sheet};
use gambrel::trade::cuts::take_home::{TakeHome, take_home};
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::weight::{Unit, Weight};

fn sheet(blocks: &[(&str, &str)], parameters: &[(&str, &str)]) -> Sheet {
    let owned = |list: &[(&str, &str)]| list.iter().map(|(a, b)| (a.to_string(), b.to_string())).collect();
    Sheet { blocks: owned(blocks), parameters: owned(parameters), ..Sheet::default() }
}

fn home(species: Species, size: Size, pounds: i64, sheet: &Sheet) -> TakeHome<'static> {
    let hanging = Hanging {
        species,
        unit: Unit::Lb,
        weight: Weight::from_hundredths(pounds * 100),
        size,
        part: Part::Split,
        age_months: Some(20),
        head_on: false,
        skin_on: false,
    };
    take_home(&hanging, sheet).unwrap_or_else(|e| panic!("{e:?}"))
}

fn line(home: &TakeHome<'_>, cut: &str) -> (i64, Option<String>, i64) {
    let line = home.lines.iter().find(|l| l.cut == cut).unwrap_or_else(|| panic!("no {cut}"));
    (line.weight.expected.hundredths(), line.pieces.map(|p| p.decimal().to_string()), line.packages)
}

#[test]
fn a_cure_decides_what_is_left_of_a_ham() {
    // USDA AWI-108: of 100 fresh 96 brine-cured and smoked, 90 dry-cured and smoked, 70 to 75 after 12 months.
    let ham = |cure: &[(&str, &str)]| {
        let home = home(Species::Hog, Size::Half, 90, &sheet(&[("ham_body", "cured_bone_in")], cure));
        (line(&home, "ham_cured").0, home.loss.hundredths(), home.packaged.expected.hundredths())
    };
    let brine = ham(&[]);
    assert_eq!(ham(&[("ham_cure", "brine_smoked")]), brine);
    for (cure, percent) in [("dry_smoked", 90_00), ("dry_aged", 72_50)] {
        let cured = ham(&[("ham_cure", cure)]);
        assert!((cured.0 - brine.0 * percent / 96_00).abs() <= 2, "{cure}: {cured:?} beside {brine:?}");
        // What the ham loses is loss; the odd hundredths go to other lines.
        assert!((cured.0 + cured.1 - brine.0 - brine.1).abs() <= 4, "{cure}: {cured:?} beside {brine:?}");
        assert!((cured.2 - brine.2 - cured.0 + brine.0).abs() <= 4, "{cure}: {cured:?} beside {brine:?}");
    }
}

#[test]
fn patties_are_packed_by_number() {
    let ground = home(Species::Beef, Size::Quarter, 180, &Sheet::default());
    let patties =
        home(Species::Beef, Size::Quarter, 180, &sheet(&[], &[("patties_per_lb", "3"), ("patties_per_pkg", "6")]));
    assert_eq!(ground.ground, patties.ground);
    let lb = ground.ground.expected.hundredths();
    assert_eq!(ground.ground_packages, (lb + 99) / 100);
    assert_eq!(patties.ground_packages, (lb * 3 / 100 + 5) / 6);
}

#[test]
fn trim_that_is_thrown_away_is_loss() {
    let kept = home(Species::Lamb, Size::Half, 32, &Sheet::default());
    let thrown = home(Species::Lamb, Size::Half, 32, &sheet(&[], &[("ground", "discard_trim")]));
    assert_eq!(thrown.ground.expected, Weight::ZERO);
    assert_eq!(thrown.ground_packages, 0);
    assert_eq!(thrown.loss.hundredths(), kept.loss.hundredths() + kept.ground.expected.hundredths());
}

#[test]
fn back_fat_makes_more_sausage_than_trim_alone() {
    let plain = home(Species::Hog, Size::Half, 90, &Sheet::default()).ground.expected.hundredths();
    let fat =
        home(Species::Hog, Size::Half, 90, &sheet(&[("backfat", "into_sausage")], &[])).ground.expected.hundredths();
    assert!(fat > plain + 300, "{fat} beside {plain}");
    let sausage = |form: &str, weight: i64| Sausage {
        seasoning: "breakfast".into(),
        form: form.into(),
        weight: Weight::from_hundredths(weight),
    };
    let mut wish = sheet(&[("backfat", "into_sausage")], &[]);
    wish.sausage = vec![sausage("bulk", plain), sausage("link", fat - plain)];
    let all = home(Species::Hog, Size::Half, 90, &wish);
    assert_eq!((all.ground.expected, all.ground_packages), (Weight::ZERO, 0), "the last ounce may go into sausage");
    assert!(all.sausage.iter().all(|s| s.weight.low < s.weight.expected), "in a lean year there is less of all");
}

#[test]
fn a_number_of_chuck_roasts_is_kept_to() {
    let home = home(Species::Beef, Size::Half, 360, &sheet(&[], &[("chuck_roasts", "7")]));
    let (blade, arm) = (line(&home, "blade_roast"), line(&home, "shoulder_roast"));
    assert_eq!((blade.1.as_deref(), arm.1.as_deref()), (Some("5"), Some("2")));
    assert_eq!((blade.2, arm.2), (5, 2));
}

#[test]
fn pieces_and_packs_follow_the_share() {
    let at = |size, pounds| home(Species::Beef, size, pounds, &sheet(&[], &[("steak_in", "0.75")]));
    // Short loin 15 in at 3/4 and the saw's 1/16: 18; in packs of 2.
    assert_eq!(line(&at(Size::Whole, 720), "tbone_porterhouse").1.as_deref(), Some("36"));
    let half = line(&at(Size::Half, 360), "tbone_porterhouse");
    assert_eq!((half.1.as_deref(), half.2), (Some("18"), 9));
    let quarter = line(&at(Size::Quarter, 180), "tbone_porterhouse");
    assert_eq!((quarter.1.as_deref(), quarter.2), (Some("9"), 5));
    // One flank steak a side, one hanger an animal: a quarter's part of it is dealt out.
    assert_eq!(line(&at(Size::Quarter, 180), "flank_steak").1.as_deref(), Some("0.5"));
    assert_eq!(line(&at(Size::Quarter, 180), "hanger").1.as_deref(), Some("0.25"));
    assert_eq!(line(&at(Size::Whole, 720), "hanger").1.as_deref(), Some("1"));
}

#[test]
fn a_whole_boneless_loin_is_one_piece_on_one_line() {
    let blocks = ["loin_blade", "loin_centre", "loin_sirloin"].map(|block| (block, "whole_boneless_roast"));
    let home = home(Species::Hog, Size::Half, 90, &sheet(&blocks, &[]));
    let loins: Vec<_> = home.lines.iter().filter(|l| l.cut.starts_with("whole_boneless_loin")).collect();
    assert_eq!(loins.len(), 1);
    // 98 % of 90 lb x (4.9 x 52 + 10.3 x 58 + 3.8 x 60) per ten thousand = 9.53.
    assert!((loins[0].weight.expected.hundredths() - 953).abs() <= 1, "{:?}", loins[0]);
    assert_eq!(loins[0].packages, 1);
}
