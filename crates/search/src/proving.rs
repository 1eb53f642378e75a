//! How much of the time beside populations for a plain problem is worth a complete search.

use timetable::Tick;

use crate::worker::Worker;

/// Of so many rounds for plain problems one has workers that are of little use at the time.
pub(crate) const SELDOM: u64 = 8;

/// How much more a conflict takes, against decoding a schedule, than it does up to 150 tasks:
/// a slice of the exact search begins at the root, and its way down passes each pair of
/// tasks at each task.
const fn slowness(tasks: usize) -> u64 {
    let pairs = (tasks as u64).saturating_pow(4) / 150_u64.pow(4);
    if pairs > 1 { pairs } else { 1 }
}

/// How the exact search gets on beside populations for a plain problem.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Proving {
    /// What was proven, and what was best known, when it was looked at last.
    bound: Tick,
    best: Tick,
    /// Its conflicts until it last proved or found something.
    useful: u64,
    conflicts: u64,
    /// See [`slowness`].
    pub(crate) slowness: u64,
}

impl Proving {
    /// Nothing is known yet of a problem of so many tasks.
    pub(crate) fn new(tasks: usize) -> Self {
        Self { best: Tick::MAX, slowness: slowness(tasks), ..Self::default() }
    }

    /// Of so many rounds the exact search takes part in one. A proof that is near, or
    /// comes nearer, gets half of the processor time, one that is far off a small part.
    pub(crate) fn every(&self) -> u64 {
        let gap = i64::from(self.best) - i64::from(self.bound);
        let near = gap <= 2 || gap * 50 <= i64::from(self.best);
        let idle = self.conflicts - self.useful;
        let hopes = idle.saturating_mul(self.slowness) <= 1_000 + self.useful / 2;
        if near || hopes { self.slowness } else { SELDOM.saturating_mul(self.slowness) }
    }

    /// Looks after a round at what is proven and how long the best schedule is, if there is one.
    pub(crate) fn look(&mut self, workers: &[Worker], bound: Tick, best: Option<Tick>) {
        // There may be two of them.
        let exact = |worker: &Worker| match worker {
            Worker::Exact(exact, _) => {
                Some((exact.steps, exact.best.as_ref().map(|found| found.1[2] as Tick)))
            }
            _ => None,
        };
        let exacts: Vec<(u64, Option<Tick>)> = workers.iter().filter_map(exact).collect();
        self.conflicts = exacts.iter().map(|exact| exact.0).max().unwrap_or(0);
        let first = exacts.iter().any(|exact| exact.1.is_some_and(|at| at < self.best));
        if bound > self.bound || first {
            self.useful = self.conflicts;
        }
        (self.bound, self.best) = (bound, best.unwrap_or(Tick::MAX));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_far_proof_that_comes_no_nearer_gets_less() {
        let of = |slowness, bound, best, useful, conflicts| {
            Proving { bound, best, useful, conflicts, slowness }.every()
        };
        let proving =
            |bound, best, useful, conflicts| of(1, bound, best, useful, conflicts);
        assert_eq!(proving(150, 200, 0, 900), 1);
        assert_eq!(proving(150, 200, 0, 1_100), 8);
        assert_eq!(proving(150, 200, 4_000, 6_500), 1);
        assert_eq!(proving(198, 200, 0, 90_000), 1);
        assert_eq!(proving(40, 42, 0, 90_000), 1);
        assert_eq!(proving(40, 43, 0, 90_000), 8);
        assert_eq!(proving(0, Tick::MAX, 0, 0), 1);
        assert_eq!(of(16, 150, 200, 0, 60), 16);
        assert_eq!(of(16, 150, 200, 0, 900), 16 * SELDOM);
        assert_eq!((slowness(0), slowness(150), slowness(300)), (1, 1, 16));
        assert!(slowness(5_000) > 1_000_000 && slowness(usize::MAX) > 1_000_000);
    }
}
