//! From a contradiction to a clause.

use super::branch::Branch;
use super::clauses::Clause;
use super::trail::{Lit, NONE, Trail, Value};

impl Trail<'_> {
    /// The clause to learn from literals that are true and can't all be; nothing if they
    /// hold at the root. Jumps back to the level at which the clause says something
    /// new. The first literal of the clause is then undecided, all others are false.
    pub(super) fn analyse(
        &mut self,
        conflict: Vec<Lit>,
        branch: &mut Branch,
    ) -> Option<Clause> {
        let mut level = 0;
        for &lit in &conflict {
            if let Some(at) = self.responsible(lit) {
                level = level.max(self.level_of(at));
            }
        }
        if level == 0 {
            return None;
        }
        self.back_to(level);
        let begins = self.levels[level - 1].0;
        let mut open = 0;
        for lit in conflict {
            self.demand(lit, begins, &mut open, branch);
        }
        let top = self.unique(begins, open, branch)?;
        let mut minimiser = std::mem::take(&mut self.minimiser);
        minimiser.run(self, top.view);
        self.minimiser = minimiser;
        Some(self.clause(top, level))
    }

    /// The change that made a literal true; nothing if it holds at the root.
    pub(super) fn responsible(&self, lit: Lit) -> Option<usize> {
        if self.root(lit.view) >= lit.bound {
            return None;
        }
        let mut at = self.last[lit.view];
        while at != NONE && self.entries[at].old >= lit.bound {
            at = self.entries[at].before();
        }
        (at != NONE).then_some(at)
    }

    fn level_of(&self, at: usize) -> usize {
        self.entries[at].level()
    }

    /// Adds a literal to what is to be explained.
    fn demand(&mut self, lit: Lit, begins: usize, open: &mut usize, branch: &mut Branch) {
        let Some(at) = self.responsible(lit) else {
            return;
        };
        let Lit { view, bound } = lit;
        if self.need[view] >= bound {
            return;
        }
        if self.need[view] == Value::MIN {
            self.touched.push(view);
        } else if self.need_at[view] >= begins {
            *open -= 1;
        }
        self.need[view] = bound;
        self.need_at[view] = at;
        *open += usize::from(at >= begins);
        branch.bump(lit);
    }

    /// Explains literals of the last level until one is left.
    fn unique(
        &mut self,
        begins: usize,
        mut open: usize,
        branch: &mut Branch,
    ) -> Option<Lit> {
        let mut reasons = Vec::new();
        let mut at = self.entries.len();
        while at > begins {
            at -= 1;
            let entry = self.entries[at];
            let view = entry.view();
            let bound = self.need[view];
            if bound == Value::MIN || self.need_at[view] != at {
                continue;
            }
            let lit = Lit { view, bound };
            if open == 1 {
                return Some(lit);
            }
            open -= 1;
            self.need[view] = Value::MIN;
            reasons.clear();
            self.explain(lit, entry.reason, &mut reasons);
            for &other in &reasons {
                self.demand(other, begins, &mut open, branch);
            }
        }
        None
    }

    /// Makes the clause, clears the marks and jumps back.
    fn clause(&mut self, top: Lit, level: usize) -> Clause {
        let mut others: Vec<(usize, Lit)> = Vec::new();
        for view in std::mem::take(&mut self.touched) {
            let bound = std::mem::replace(&mut self.need[view], Value::MIN);
            if view != top.view && bound != Value::MIN {
                others.push((self.need_at[view], Lit { view, bound }.not()));
            }
        }
        others.sort_unstable_by_key(|&(at, _)| std::cmp::Reverse(at));
        let mut levels: Vec<usize> =
            others.iter().map(|&(at, _)| self.level_of(at)).collect();
        let target = levels.first().copied().unwrap_or(0);
        levels.dedup();
        let mut lits = vec![top.not()];
        lits.extend(others.into_iter().map(|(_, lit)| lit));
        debug_assert!(target < level, "a clause says something new further up");
        self.back_to(target);
        Clause { lits, levels: levels.len() + 1 }
    }
}
