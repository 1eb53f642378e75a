//! Pairs of uses that never overlap.
//!
//! Two uses of which the sum exceeds the greatest capacity can't run together; if one of the
//! two can't come first, they come in the other order. That holds for uses that last from one
//! event to another, and for uses in the open ticks of the same calendar, of which each has
//! its own; not for others, which could lie in each other's pauses, and not for occupancies
//! that may last no time at all.

use timetable::Calendar;

use super::axis::Event;
use super::cumulative::{Cumulative, Use};
use super::trail::{Lit, Trail};

/// More pairs than that are left to the profiles.
const MOST: usize = 300_000;

/// Pairs that never overlap.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    /// First and second event.
    uses: Vec<(Event, Event)>,
    others: Vec<Vec<usize>>,
    pending: Vec<usize>,
    is_pending: Vec<bool>,
}

fn same(a: Option<&Calendar>, b: Option<&Calendar>) -> bool {
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => std::ptr::eq(a, b),
        _ => false,
    }
}

impl Pairs {
    /// The pairs that exceed the peak of some resource.
    pub(super) fn of(resources: &[Cumulative]) -> Self {
        let mut pairs = Self::default();
        let mut number = std::collections::BTreeMap::new();
        let mut count = 0;
        for resource in resources {
            let peak = i64::from(resource.peak());
            let uses = resource.uses().iter();
            let sure: Vec<&Use> =
                uses.filter(|entry| entry.present.is_none() && entry.lasts).collect();
            for (position, a) in sure.iter().enumerate() {
                for b in &sure[position + 1..] {
                    let exceeds = i64::from(a.amount) + i64::from(b.amount) > peak;
                    let apart = (a.from, a.to) != (b.from, b.to);
                    if !exceeds || !apart || !same(a.open, b.open) || count >= MOST {
                        continue;
                    }
                    count += 1;
                    let mut place = |entry: &Use| {
                        let next = pairs.uses.len();
                        *number.entry((entry.from, entry.to)).or_insert_with(|| {
                            pairs.uses.push((entry.from, entry.to));
                            pairs.others.push(Vec::new());
                            next
                        })
                    };
                    let (a, b) = (place(a), place(b));
                    pairs.others[a].push(b);
                    pairs.others[b].push(a);
                }
            }
        }
        for list in &mut pairs.others {
            list.sort_unstable();
            list.dedup();
        }
        pairs.pending = (0..pairs.uses.len()).collect();
        pairs.is_pending = vec![true; pairs.uses.len()];
        pairs
    }

    /// First and second event of each use.
    pub(super) fn uses(&self) -> &[(Event, Event)] {
        &self.uses
    }

    /// The bounds of a use moved.
    pub(super) fn note(&mut self, number: usize) {
        if !std::mem::replace(&mut self.is_pending[number], true) {
            self.pending.push(number);
        }
    }

    /// Puts pairs in order of which one order is impossible.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        while let Some(&a) = self.pending.last() {
            for position in 0..self.others[a].len() {
                let b = self.others[a][position];
                self.order(trail, a, b)?;
                self.order(trail, b, a)?;
            }
            self.pending.pop();
            self.is_pending[a] = false;
        }
        Ok(())
    }

    /// If `a` can't come before `b`, then `b` comes before `a`.
    fn order(&self, trail: &mut Trail, a: usize, b: usize) -> Result<(), Vec<Lit>> {
        let ((start, finish), (other_start, other_finish)) = (self.uses[a], self.uses[b]);
        let latest = trail.late(other_start);
        if trail.early(finish) <= latest {
            return Ok(());
        }
        let late = trail.network.at_least(finish, latest.saturating_add(1));
        let soon = trail.network.at_most(other_start, latest);
        let low = trail.early(other_finish);
        let lit = trail.network.at_least(start, low);
        if !trail.is_true(lit) {
            let why = trail.network.at_least(other_finish, low);
            trail.set_for(lit, &[late, soon, why])?;
        }
        let high = trail.late(start);
        let lit = trail.network.at_most(other_finish, high);
        if !trail.is_true(lit) {
            let why = trail.network.at_most(start, high);
            trail.set_for(lit, &[late, soon, why])?;
        }
        Ok(())
    }
}
