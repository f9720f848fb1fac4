//! Work is counted, not timed, so that the same problem gets the same answer on every machine.

/// How much the search may still do. One unit is about the making of one state in a layer.
#[derive(Debug, Clone)]
pub(super) struct Work {
    /// Below zero when a piece of work took more than there was: whoever gave it pays.
    left: i64,
}

impl Work {
    /// Units done in one millisecond, measured with `bench` on the two-core machine this was written on; a machine half
    /// as fast needs twice the time.
    const PER_MILLISECOND: u64 = 4000;

    pub(super) fn of_milliseconds(ms: u64) -> Self {
        Self::units(ms.saturating_mul(Self::PER_MILLISECOND))
    }
    pub(super) fn units(left: u64) -> Self {
        Self { left: i64::try_from(left).unwrap_or(i64::MAX) }
    }
    /// Takes `n` units; `false` when there are none left.
    pub(super) fn spend(&mut self, n: u64) -> bool {
        self.left = self.left.saturating_sub(i64::try_from(n).unwrap_or(i64::MAX));
        self.left > 0
    }
    pub(super) fn left(&self) -> u64 {
        u64::try_from(self.left).unwrap_or(0)
    }
    /// Sets a part of what is left aside; give it back with [`Work::give_back`].
    pub(super) fn portion(&mut self, most: u64) -> Self {
        let part = Self::units(most.min(self.left()));
        self.left -= part.left;
        part
    }
    pub(super) const fn give_back(&mut self, rest: &Self) {
        self.left = self.left.saturating_add(rest.left);
    }
}
