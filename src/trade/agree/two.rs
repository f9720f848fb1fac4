//! Something of each of two quarters.

/// Which of the two.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Who {
    /// The first.
    First,
    /// The second.
    Second,
}

impl Who {
    /// Both, in order.
    pub const BOTH: [Self; 2] = [Self::First, Self::Second];
    /// The other one.
    pub const fn other(self) -> Self {
        match self {
            Self::First => Self::Second,
            Self::Second => Self::First,
        }
    }
}

/// One thing for each of the two quarters.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Two<T> {
    /// The first quarter's.
    pub first: T,
    /// The second quarter's.
    pub second: T,
}

impl<T> Two<T> {
    /// Both, the first one's first.
    pub const fn new(first: T, second: T) -> Self {
        Self { first, second }
    }
    /// One of them.
    pub const fn of(&self, who: Who) -> &T {
        match who {
            Who::First => &self.first,
            Who::Second => &self.second,
        }
    }
    /// One of them, to change.
    pub const fn of_mut(&mut self, who: Who) -> &mut T {
        match who {
            Who::First => &mut self.first,
            Who::Second => &mut self.second,
        }
    }
    /// References to both.
    pub const fn as_ref(&self) -> Two<&T> {
        Two { first: &self.first, second: &self.second }
    }
    /// The same done to both.
    pub fn map<U>(self, mut f: impl FnMut(T) -> U) -> Two<U> {
        Two { first: f(self.first), second: f(self.second) }
    }
    /// The earlier one's first.
    pub fn from(earlier: Who, its: T, other: T) -> Self {
        match earlier {
            Who::First => Self { first: its, second: other },
            Who::Second => Self { first: other, second: its },
        }
    }
    /// Both, in order.
    pub fn each(&self) -> [&T; 2] {
        [&self.first, &self.second]
    }
}

impl Two<i64> {
    /// Both together.
    pub const fn sum(self) -> i64 {
        self.first.saturating_add(self.second)
    }
}
