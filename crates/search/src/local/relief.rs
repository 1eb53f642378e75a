//! Out of dead ends on the way to a lawful schedule.
//!
//! Moves after which no more is broken than before come to an end where the last tasks that are
//! late can be in time only if others are late for a while. So after some placements in vain
//! twice the least breach is allowed, which falls back to once in a while, over and over; each
//! time the search begins again where least is broken.

/// Placements in vain before more is allowed.
const PATIENCE: u64 = 10_000;
/// Placements until no more is allowed again.
const WHILE: u64 = 20_000;

/// How long nothing less was broken.
#[derive(Debug, Default)]
pub(super) struct Relief {
    vain: u64,
}

impl Relief {
    /// Less is broken, or the search goes on elsewhere.
    pub(super) const fn reset(&mut self) {
        self.vain = 0;
    }

    /// So many placements more were in vain. Whether it is time to begin again.
    pub(super) const fn spend(&mut self, placements: u64) -> bool {
        let before = self.whiles();
        self.vain = self.vain.saturating_add(placements);
        self.whiles() > before
    }

    /// How often more was allowed.
    const fn whiles(&self) -> u64 {
        (self.vain + WHILE).saturating_sub(PATIENCE) / WHILE
    }

    /// How much more than the least breach is allowed now.
    pub(super) fn allows(&self, least: i64) -> i64 {
        if self.vain < PATIENCE {
            return 0;
        }
        let gone = (self.vain - PATIENCE) % WHILE;
        let left = 1.0 - gone as f64 / WHILE as f64;
        (left * left * least as f64) as i64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_is_allowed_after_a_while_and_less_and_less_again() {
        let mut relief = Relief::default();
        assert!(!relief.spend(PATIENCE - 1));
        assert_eq!(relief.allows(100), 0);
        assert!(relief.spend(1));
        assert_eq!(relief.allows(100), 100);
        assert!(!relief.spend(WHILE / 2));
        assert_eq!(relief.allows(100), 25);
        assert!(!relief.spend(WHILE / 2 - 1));
        assert_eq!(relief.allows(100), 0);
        assert!(relief.spend(1));
        assert_eq!(relief.allows(100), 100);
        assert!(relief.spend(5 * WHILE));
        relief.reset();
        assert_eq!(relief.allows(100), 0);
    }
}
