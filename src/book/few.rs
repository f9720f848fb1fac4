//! The first of many: what a page shows, and how many it leaves out.

/// Lines of one kind on Today, at most.
pub const MOST: usize = 20;

/// The first of something, and how many there are.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Few<T> {
    /// The first [`MOST`].
    pub first: Vec<T>,
    /// How many there are in all.
    pub all: usize,
}

impl<T> Few<T> {
    /// The first of these, which are all there are.
    pub fn of(mut all: Vec<T>) -> Self {
        let n = all.len();
        all.truncate(MOST);
        Self { first: all, all: n }
    }
    /// The first of these, `all` of which are in the book.
    pub fn counted(mut some: Vec<T>, all: i64) -> Self {
        let n = usize::try_from(all).unwrap_or(0).max(some.len());
        some.truncate(MOST);
        Self { first: some, all: n }
    }
    /// How many there are beside the first.
    pub fn more(&self) -> usize {
        self.all.saturating_sub(self.first.len())
    }
}

#[cfg(test)]
mod tests {
    use super::{Few, MOST};
    use proptest::prelude::*;

    proptest! {
        /// Today never shows more than its bounds, and what it leaves out is counted.
        #[test]
        fn few_are_few_and_nothing_is_lost(loaded in 0_usize..200, beside in 0_i64..10_000) {
            let whole = Few::of(vec![(); loaded]);
            prop_assert!(whole.first.len() <= MOST && whole.first.len() + whole.more() == loaded);
            let all = i64::try_from(loaded).unwrap() + beside;
            let cut = Few::counted(vec![(); loaded], all);
            prop_assert!(cut.first.len() <= MOST);
            prop_assert_eq!(i64::try_from(cut.first.len() + cut.more()).unwrap(), all);
        }
    }
}
