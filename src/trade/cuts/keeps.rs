//! How long what comes home keeps its quality in a freezer, by kind of meat.

use super::common::{Common, Storage};
use super::take_home::TakeHome;

/// The kinds of meat that come home, each once, in the order of the catalogue's table of storage times.
pub fn keeps<'a>(common: &'a Common, home: &TakeHome<'_>) -> Vec<&'a Storage> {
    let comes = |kind: &str| match kind {
        "ground_and_stew" if !home.ground.expected.is_zero() => true,
        "sausage" if !home.sausage.is_empty() => true,
        "organs" if !home.parts.is_empty() => true,
        kind => home.lines.iter().any(|line| line.keeps == kind && !line.weight.expected.is_zero()),
    };
    common.storage.iter().filter(|s| comes(&s.id)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::cuts::common;
    use crate::trade::cuts::sheet::{Hanging, Sheet};
    use crate::trade::cuts::take_home::take_home;
    use crate::trade::share::{Part, Size, Species};
    use crate::trade::weight::{Unit, Weight};

    #[test]
    fn each_kind_that_comes_home_is_named_once_with_its_source() {
        let weight = Weight::from_hundredths(9_000);
        let (species, size, unit) = (Species::Hog, Size::Half, Unit::Lb);
        let hanging = Hanging {
            species,
            unit,
            weight,
            size,
            part: Part::Split,
            age_months: None,
            head_on: false,
            skin_on: false,
        };
        let named = |sheet: &Sheet| -> Vec<String> {
            let home = take_home(&hanging, sheet).unwrap();
            let all = keeps(common().unwrap(), &home);
            assert!(all.iter().all(|s| s.months.low <= s.months.high && !s.source.is_empty()));
            all.iter().map(|s| s.id.clone()).collect()
        };
        assert_eq!(named(&Sheet::default()), ["ground_and_stew", "chops", "roasts", "bacon", "ham", "bones"]);
        let fresh = Sheet {
            blocks: [("belly".to_string(), "grind".to_string())].into(),
            parts: vec!["heart".into()],
            ..Sheet::default()
        };
        assert_eq!(named(&fresh), ["ground_and_stew", "chops", "roasts", "ham", "organs", "bones"]);
    }
}
