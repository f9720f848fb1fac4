//! The payment reference of an order: its number and a check character, `2027-031-6`. It is what a customer writes on a check or a
//! transfer and what the farmer types to find the order.
//!
//! The check character is that of ISO/IEC 7064, MOD 11-2, over the digits of the number: 0 to 9 or X. That scheme finds every single
//! wrong character and every swap of two neighbors; the tests try them all.

use super::number::Series;

/// What somebody typed, read as a payment reference.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Typed {
    /// It does not look like one.
    NotOne,
    /// It looks like one, but its check character does not fit.
    Wrong,
    /// The number of the order it is of.
    Order(String),
}

/// The sentence about a reference whose check character does not fit.
pub const WRONG: &str = "The last sign of this payment reference does not fit the rest, so a digit is wrong or two are swapped. Look at it once more.";

/// The check character over these digits.
fn check(digits: impl Iterator<Item = u32>) -> char {
    let sum = digits.fold(0, |sum, digit| (sum + digit) * 2 % 11);
    match (12 - sum) % 11 {
        10 => 'X',
        n => char::from_digit(n, 10).unwrap_or('0'),
    }
}

fn digits(text: &str) -> impl Iterator<Item = u32> + '_ {
    text.chars().filter_map(|c| c.to_digit(10))
}

/// The reference of an order number such as `2027-031`.
pub fn of(number: &str) -> String {
    format!("{number}-{}", check(digits(number)))
}

/// Reads what somebody typed: small letters, blanks or other dashes between the groups, or no groups at all.
pub fn read(text: &str) -> Typed {
    let text: String =
        text.trim().chars().map(|c| if c.is_alphanumeric() { c.to_ascii_uppercase() } else { '-' }).collect();
    let groups: Vec<&str> = text.split('-').filter(|g| !g.is_empty()).collect();
    let (year, count, sign) = match groups.as_slice() {
        [year, count, sign] => (*year, *count, *sign),
        [one] if one.len() >= 8 && one.len() <= 17 && one.starts_with("20") && one.is_ascii() => {
            let (year, rest) = one.split_at(4);
            let (count, sign) = rest.split_at(rest.len() - 1);
            (year, count, sign)
        }
        _ => return Typed::NotOne,
    };
    let number = format!("{year}-{count}");
    let Some((Series::Order, year, count)) = Series::read(&number) else { return Typed::NotOne };
    let mut signs = sign.chars();
    let (Some(sign), None) = (signs.next().filter(|c| c.is_ascii_digit() || *c == 'X'), signs.next()) else {
        return Typed::NotOne;
    };
    // As the order's number is written: with three digits at least and no more zeros than that.
    if check(digits(&number)) == sign && Series::Order.number(year, count) == number {
        Typed::Order(number)
    } else {
        Typed::Wrong
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_check_character_is_that_of_iso_7064_mod_11_2() {
        // Two that the scheme's users publish as examples (ORCID, which uses the same scheme), and one of the standard itself.
        for (digits_of, sign) in [("0000-0002-1825-009", '7'), ("0000-0002-1694-233", 'X'), ("0794", '0')] {
            assert_eq!(check(digits(digits_of)), sign, "{digits_of}");
        }
    }

    #[test]
    fn it_is_read_as_people_type_it() {
        let reference = of("2027-031");
        assert_eq!(reference, "2027-031-6");
        let plain = reference.replace('-', "");
        for typed in [reference.as_str(), " 2027–031 6 ", "2027/031/6", "2027.031.6", plain.as_str()] {
            assert_eq!(read(typed), Typed::Order("2027-031".into()), "{typed}");
        }
        let with_x = (1..50).map(|n| of(&Series::Order.number(2027, n))).find(|r| r.ends_with('X')).unwrap();
        assert!(matches!(read(&with_x.to_lowercase()), Typed::Order(_)));
        for other in ["", "2027-031", "715-555-0117", "I-2027-031", "Ines", "2027-031-12", "2027-000-1", "2027-031-Y"] {
            assert_eq!(read(other), Typed::NotOne, "{other}");
        }
        assert_eq!(read("2027-031-2"), Typed::Wrong);
        assert_eq!(read("20270312"), Typed::Wrong);
    }

    proptest! {
        #[test]
        fn what_is_made_is_read_back(year in 2000_i32..2100, count in 1_i64..2_000_000) {
            let number = Series::Order.number(year, count);
            prop_assert_eq!(read(&of(&number)), Typed::Order(number.clone()));
            prop_assert_eq!(read(&of(&number).replace('-', "")), Typed::Order(number));
        }
        #[test]
        fn any_single_wrong_character_is_found(year in 2000_i32..2100, count in 1_i64..2_000_000) {
            let right: Vec<char> = of(&Series::Order.number(year, count)).chars().collect();
            for (at, was) in right.iter().enumerate().filter(|(_, c)| **c != '-') {
                for other in "0123456789X".chars().filter(|c| c != was) {
                    let mut bent = right.clone();
                    bent[at] = other;
                    let bent: String = bent.into_iter().collect();
                    prop_assert!(!matches!(read(&bent), Typed::Order(_)), "{}", bent);
                }
            }
        }
        #[test]
        fn two_swapped_neighbors_are_found(year in 2000_i32..2100, count in 1_i64..2_000_000) {
            let right: Vec<char> = of(&Series::Order.number(year, count)).chars().collect();
            let signs: Vec<usize> = (0..right.len()).filter(|at| right[*at] != '-').collect();
            for pair in signs.windows(2).filter(|p| right[p[0]] != right[p[1]]) {
                let mut bent = right.clone();
                bent.swap(pair[0], pair[1]);
                let bent: String = bent.into_iter().collect();
                prop_assert!(!matches!(read(&bent), Typed::Order(_)), "{}", bent);
            }
        }
    }
}
