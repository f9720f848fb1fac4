//! Splitting a whole into parts that add up to it exactly.

/// Splits `total` (not negative) in proportion to `parts` (not negative) by largest remainder.
///
/// Each part first gets its share rounded down; the units left over go one each to the largest remainders, ties in the order
/// of the list. The result adds up to `total` exactly whenever some part is positive; if every part is zero nothing can be
/// dealt out and the result is `None`.
pub fn by_largest_remainder(total: i64, parts: &[i64]) -> Option<Vec<i64>> {
    if total < 0 || parts.iter().any(|p| *p < 0) {
        return None;
    }
    let sum: i128 = parts.iter().map(|p| i128::from(*p)).sum();
    if sum == 0 {
        return if total == 0 { Some(vec![0; parts.len()]) } else { None };
    }
    let mut dealt = Vec::with_capacity(parts.len());
    let mut order = Vec::with_capacity(parts.len());
    let mut left = i128::from(total);
    for (i, part) in parts.iter().enumerate() {
        let product = i128::from(total) * i128::from(*part);
        let floor = product / sum;
        left -= floor;
        dealt.push(i64::try_from(floor).ok()?);
        order.push((product % sum, i));
    }
    // Largest remainder first; a stable sort keeps the order of the list among ties.
    order.sort_by_key(|(remainder, _)| std::cmp::Reverse(*remainder));
    for (_, i) in order.into_iter().take(usize::try_from(left).ok()?) {
        if let Some(part) = dealt.get_mut(i) {
            *part += 1;
        }
    }
    Some(dealt)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn the_first_of_equals_takes_the_odd_unit() {
        assert_eq!(by_largest_remainder(10_001, &[1, 1]), Some(vec![5001, 5000]));
        assert_eq!(by_largest_remainder(100, &[1, 1, 1]), Some(vec![34, 33, 33]));
        assert_eq!(by_largest_remainder(10, &[1, 2]), Some(vec![3, 7]));
        assert_eq!(by_largest_remainder(7, &[0, 0]), None);
        assert_eq!(by_largest_remainder(0, &[0, 0]), Some(vec![0, 0]));
    }

    proptest! {
        #[test]
        fn parts_add_up_and_none_is_off_by_a_whole_unit(total in 0_i64..10_000_000_000, parts in prop::collection::vec(0_i64..100_000, 1..12)) {
            prop_assume!(parts.iter().any(|p| *p > 0));
            let dealt = by_largest_remainder(total, &parts).unwrap();
            prop_assert_eq!(dealt.iter().sum::<i64>(), total);
            let sum: i128 = parts.iter().map(|p| i128::from(*p)).sum();
            for (d, p) in dealt.iter().zip(&parts) {
                let exact_times_sum = i128::from(total) * i128::from(*p);
                prop_assert!((i128::from(*d) * sum - exact_times_sum).abs() < sum);
            }
        }
    }
}
