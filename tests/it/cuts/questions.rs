//! The three questions and what each choice gives, over all species, shares, weights and answers.

use gambrel::trade::cuts::catalogue;
use gambrel::trade::cuts::gets::gets;
use gambrel::trade::cuts::questions::{Answers, Kind, MOST_EATERS, sheet_for};
use gambrel::trade::cuts::sheet::{Hanging, Refused, Sheet};
use gambrel::trade::cuts::take_home::take_home;
use gambrel::trade::share::{Part, Size, Species};
use gambrel::trade::weight::{Unit, Weight};
use proptest::prelude::*;

fn hanging() -> impl Strategy<Value = Hanging> {
    let species = prop::sample::select(Species::ALL.to_vec());
    let size = prop::sample::select(Size::ALL.to_vec());
    let age = prop::sample::select(vec![None, Some(8), Some(29), Some(30), Some(120)]);
    // Few weigh nothing to speak of, most what a share weighs.
    let weight = prop_oneof![1_i64..=9_999_999, 1_i64..=200, 1_000_i64..=60_000];
    (species, size, age, weight, any::<bool>(), any::<[bool; 2]>()).prop_map(
        |(species, size, age_months, hundredths, kg, [head_on, skin_on])| Hanging {
            species,
            unit: if kg { Unit::Kg } else { Unit::Lb },
            weight: Weight::from_hundredths(hundredths),
            size,
            part: Part::Split,
            age_months,
            head_on,
            skin_on,
        },
    )
}

fn answers() -> impl Strategy<Value = Answers> {
    (prop::sample::select(Kind::ALL.to_vec()), any::<bool>(), 1..=MOST_EATERS)
        .prop_map(|(kind, bone_in, eaters)| Answers { kind, bone_in, eaters })
}

/// Whether a share is refused whatever is chosen (V19).
fn is_never_cut(hanging: &Hanging) -> bool {
    hanging.size == Size::Quarter && matches!(hanging.species, Species::Lamb | Species::Goat)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    #[test]
    fn three_answers_always_make_a_sheet_that_keeps_every_rule(hanging in hanging(), answers in answers(), odd: u8) {
        // A processor that leaves out every eighth choice, another one each time.
        let sheets = [
            sheet_for(&hanging, answers, &|_, _| true),
            sheet_for(&hanging, answers, &|b, c| (b.id.len() + 3 * c.id.len() + usize::from(odd)) % 8 != 0),
        ];
        for sheet in sheets {
            match sheet {
                Ok(sheet) => {
                    prop_assert!(!is_never_cut(&hanging));
                    let home = take_home(&hanging, &sheet);
                    prop_assert!(home.is_ok(), "{:?}\n{sheet:?}", home.err());
                }
                Err(Refused::Broken(notes)) => {
                    prop_assert!(is_never_cut(&hanging), "{notes:?}");
                    prop_assert!(notes.iter().any(|n| n.rule == "V19"));
                }
                Err(unknown) => prop_assert!(false, "{unknown:?}"),
            }
        }
    }

    #[test]
    fn every_choice_says_what_it_gives_or_why_it_cannot_be_had(hanging in hanging(), die: u8) {
        let catalogue = catalogue(hanging.species).unwrap();
        let block = &catalogue.blocks[usize::from(die) % catalogue.blocks.len()];
        let all = gets(&hanging, &Sheet::default(), &block.id).unwrap();
        prop_assert_eq!(all.len(), block.choices.len());
        for one in all {
            let can = take_home(&hanging, &Sheet {
                blocks: [(block.id.clone(), one.choice.to_string())].into(),
                ..Sheet::default()
            });
            prop_assert_eq!(one.home.is_some(), can.is_ok(), "{:?}", one);
            prop_assert!(one.home.is_some() || one.why.ends_with('.') || is_never_cut(&hanging), "{:?}", one);
        }
    }
}

#[test]
fn what_each_choice_of_a_hog_half_and_a_beef_quarter_gives_in_words() {
    let share = |species, size, hundredths| Hanging {
        species,
        unit: Unit::Lb,
        weight: Weight::from_hundredths(hundredths),
        size,
        part: Part::Split,
        age_months: Some(20),
        head_on: false,
        skin_on: false,
    };
    let mut said = String::new();
    for (hanging, name) in [
        (share(Species::Hog, Size::Half, 9_000), "A hog half of 90 lb"),
        (share(Species::Beef, Size::Quarter, 18_000), "A beef quarter of 180 lb"),
        (share(Species::Lamb, Size::Whole, 6_000), "A whole lamb of 60 lb"),
        (share(Species::Goat, Size::Half, 2_200), "A goat half of 22 lb"),
    ] {
        said.push_str(&format!("{name}\n"));
        for block in &catalogue(hanging.species).unwrap().blocks {
            for one in gets(&hanging, &Sheet::default(), &block.id).unwrap() {
                let words = one.home.unwrap_or(format!("– {}", one.why));
                said.push_str(&format!("  {}.{}: {words}\n", block.id, one.choice));
            }
        }
    }
    insta::assert_snapshot!(said);
}
