//! Literals of a clause that the others imply.
//!
//! A literal is not needed where the reasons that raised it follow from literals of the clause
//! that came before, in any number of steps. Each step goes back on the trail, so nothing comes to
//! be its own reason, and whatever one look finds holds for the looks that come after.
//!
//! Source (from memory): N. Sörensson, A. Biere, SAT 2009, LNCS 5584, 237-243, where each literal is
//! true or false; here a bound also follows from a higher one.

use super::trail::{Lit, Reason, Trail, Value, View};

/// So many changes are explained at most for one literal.
const ROOM: usize = 1_000;

/// What is known of a change: whether a bound follows.
#[derive(Debug, Clone, Copy, Default)]
struct Verdict {
    /// The clause for which this was found.
    round: u32,
    bound: Value,
    follows: bool,
}

/// What the looks at one clause share.
#[derive(Debug, Default)]
pub(super) struct Minimiser {
    round: u32,
    verdicts: Vec<Verdict>,
    /// The last clause that had literals of each level.
    levels: Vec<u32>,
    /// Reasons that are still to be looked at.
    reasons: Vec<Lit>,
    room: usize,
}

impl Minimiser {
    fn begin(&mut self, trail: &Trail) {
        self.round += 1;
        self.verdicts.resize_with(trail.len().max(self.verdicts.len()), Verdict::default);
        self.levels.resize((trail.level() + 1).max(self.levels.len()), 0);
    }

    fn known(&self, at: usize, bound: Value) -> Option<bool> {
        let Verdict { round, bound: of, follows } = self.verdicts[at];
        let tells = if follows { bound <= of } else { bound >= of };
        (round == self.round && tells).then_some(follows)
    }

    /// Drops literals of what is needed that others imply, but for the last one.
    pub(super) fn run(&mut self, trail: &mut Trail, top: View) {
        self.begin(trail);
        for place in 0..trail.touched.len() {
            let view = trail.touched[place];
            if trail.need[view] != Value::MIN {
                let at = trail.need_at[view];
                self.levels[trail.entries[at].level()] = self.round;
            }
        }
        for place in 0..trail.touched.len() {
            let view = trail.touched[place];
            let (bound, at) = (trail.need[view], trail.need_at[view]);
            if view == top || bound == Value::MIN {
                continue;
            }
            self.room = ROOM;
            self.reasons.clear();
            if self.follows(trail, Lit { view, bound }, at) {
                trail.need[view] = Value::MIN;
            }
        }
    }

    /// Whether needed literals that became true before a change imply what it made true.
    fn follows(&mut self, trail: &Trail, lit: Lit, at: usize) -> bool {
        let reason = trail.entries[at].reason;
        if matches!(reason, Reason::Given) {
            return false;
        }
        let begin = self.reasons.len();
        trail.explain(lit, reason, &mut self.reasons);
        // What is there already first: most questions end here.
        let mut kept = begin;
        for place in begin..self.reasons.len() {
            let other = self.reasons[place];
            let needed =
                trail.need[other.view] >= other.bound && trail.need_at[other.view] < at;
            if !needed && trail.root(other.view) < other.bound {
                self.reasons[kept] = other;
                kept += 1;
            }
        }
        self.reasons.truncate(kept);
        let follows = (begin..kept).all(|place| self.holds(trail, self.reasons[place]));
        self.reasons.truncate(begin);
        follows
    }

    fn holds(&mut self, trail: &Trail, lit: Lit) -> bool {
        let Some(at) = trail.responsible(lit) else { return true };
        if let Some(known) = self.known(at, lit.bound) {
            return known;
        }
        if self.room == 0 || self.levels[trail.entries[at].level()] != self.round {
            return false;
        }
        self.room -= 1;
        let follows = self.follows(trail, lit, at);
        self.verdicts[at] = Verdict { round: self.round, bound: lit.bound, follows };
        follows
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::axis::Network;

    const fn at_least(variable: usize, bound: Value) -> Lit {
        Lit { view: Trail::up(variable), bound }
    }

    /// `b` a tick after `a`, `c` a tick after `b`, and `d` as it likes; two decisions.
    fn chain() -> Trail<'static> {
        let mut trail = Trail::new(4, Network::default());
        (0..4).for_each(|variable| assert!(trail.limit(variable, 0, 20)));
        trail.shift(0, 1, 1);
        trail.shift(1, 2, 1);
        trail.propagate().unwrap();
        for lit in [at_least(0, 3), at_least(3, 7)] {
            trail.decide(lit);
            trail.propagate().unwrap();
        }
        trail
    }

    /// What is left of literals of which none is the last one.
    fn left(trail: &mut Trail, needed: &[Lit]) -> Vec<Lit> {
        for &lit in needed {
            trail.need[lit.view] = lit.bound;
            trail.need_at[lit.view] = trail.responsible(lit).expect("not of the root");
            trail.touched.push(lit.view);
        }
        Minimiser::default().run(trail, View::MAX);
        let needed = needed.iter().copied();
        needed.filter(|lit| trail.need[lit.view] == lit.bound).collect()
    }

    #[test]
    fn what_follows_in_several_steps_is_dropped() {
        let needed = [at_least(0, 3), at_least(2, 5), at_least(3, 7)];
        assert_eq!(left(&mut chain(), &needed), [at_least(0, 3), at_least(3, 7)]);
        // A weaker bound follows too, whichever comes first.
        let needed = [at_least(2, 4), at_least(0, 3)];
        assert_eq!(left(&mut chain(), &needed), [at_least(0, 3)]);
    }

    #[test]
    fn what_does_not_follow_is_kept() {
        // Of the cause nothing is said, or not enough.
        assert_eq!(left(&mut chain(), &[at_least(2, 5)]), [at_least(2, 5)]);
        let needed = [at_least(0, 2), at_least(2, 5)];
        assert_eq!(left(&mut chain(), &needed), needed);
        // What comes of it is no reason for it.
        let needed = [at_least(1, 4), at_least(2, 5)];
        assert_eq!(left(&mut chain(), &needed), [at_least(1, 4)]);
    }
}
