//! Tasks whose start and finish are two variables: several ways, or rules between the two.
//!
//! What the ways that are left allow together bounds both; a way whose first span inside the
//! bounds comes after its last one is excluded; and exactly one way is taken. The bounds and
//! the ways that are excluded explain it.

use timetable::Tick;

use super::axis::Event;
use super::trail::{Lit, Trail};
use crate::pattern::{Pattern, Span};

/// A task with two variables.
#[derive(Debug, Clone)]
pub(super) struct Split<'m> {
    pub(super) start: Event,
    pub(super) finish: Event,
    pub(super) ways: Vec<Pattern<'m>>,
    /// A variable for each way, if there are several.
    pub(super) chosen: Vec<usize>,
}

impl Split<'_> {
    /// Draws in the bounds, and excludes ways.
    pub(super) fn propagate(&self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        loop {
            let before = trail.len();
            self.choose(trail)?;
            self.exclude(trail)?;
            self.draw_in(trail)?;
            if trail.len() == before {
                return Ok(());
            }
        }
    }

    fn is_open(&self, trail: &Trail, way: usize) -> bool {
        self.chosen.get(way).is_none_or(|&variable| trail.high(2 * variable) > 0)
    }

    /// Exactly one way.
    fn choose(&self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let taken = self.chosen.iter().position(|&way| trail.low(2 * way) > 0);
        if let Some(taken) = taken {
            let because = [Lit { view: 2 * self.chosen[taken], bound: 1 }];
            for (way, &variable) in self.chosen.iter().enumerate() {
                if way != taken {
                    trail.set_for(Lit { view: 2 * variable + 1, bound: 0 }, &because)?;
                }
            }
            return Ok(());
        }
        let mut open = (0..self.chosen.len()).filter(|&way| self.is_open(trail, way));
        if let (Some(last), None) = (open.next(), open.next()) {
            let because: Vec<Lit> = self.excluded(trail).collect();
            trail.set_for(Lit { view: 2 * self.chosen[last], bound: 1 }, &because)?;
        }
        Ok(())
    }

    fn excluded(&self, trail: &Trail) -> impl Iterator<Item = Lit> {
        let none = self.chosen.iter().filter(|&&variable| trail.high(2 * variable) == 0);
        none.map(|&variable| Lit { view: 2 * variable + 1, bound: 0 })
    }

    fn bounds(&self, trail: &Trail) -> (Span, Span) {
        let span = |event: Event| (trail.early(event), trail.late(event));
        (span(self.start), span(self.finish))
    }

    /// The bounds as literals.
    fn lits(&self, trail: &Trail) -> [Lit; 4] {
        let (start, finish) = self.bounds(trail);
        [
            trail.network.at_least(self.start, start.0),
            trail.network.at_least(self.finish, finish.0),
            trail.network.at_most(self.start, start.1),
            trail.network.at_most(self.finish, finish.1),
        ]
    }

    fn exclude(&self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let (start, finish) = self.bounds(trail);
        for way in 0..self.ways.len() {
            if !self.is_open(trail, way) {
                continue;
            }
            let pattern = &self.ways[way];
            let first = first(pattern, start.0, finish.0);
            let last = last(pattern, start.1, finish.1);
            let possible = matches!((first, last), (Some(a), Some(b)) if a.0 <= b.0);
            if possible {
                continue;
            }
            let mut because = self.lits(trail).to_vec();
            let Some(&variable) = self.chosen.get(way) else {
                because.retain(|lit| trail.root(lit.view) < lit.bound);
                return Err(because);
            };
            trail.set_for(Lit { view: 2 * variable + 1, bound: 0 }, &because)?;
        }
        Ok(())
    }

    fn draw_in(&self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let (start, finish) = self.bounds(trail);
        let open = || {
            let ways = (0..self.ways.len()).filter(|&way| self.is_open(trail, way));
            ways.map(|way| &self.ways[way])
        };
        let least = open().filter_map(|pattern| first(pattern, start.0, finish.0));
        let least = least.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1)));
        let most = open().filter_map(|pattern| last(pattern, start.1, finish.1));
        let most = most.reduce(|a, b| (a.0.max(b.0), a.1.max(b.1)));
        let (Some(least), Some(most)) = (least, most) else {
            let excluded = self.excluded(trail).collect();
            return Err(excluded);
        };
        let lits = self.lits(trail);
        let mut below: Vec<Lit> = self.excluded(trail).collect();
        let mut above = below.clone();
        below.extend_from_slice(&lits[..2]);
        above.extend_from_slice(&lits[2..]);
        trail.set_for(trail.network.at_least(self.start, least.0), &below)?;
        trail.set_for(trail.network.at_least(self.finish, least.1), &below)?;
        trail.set_for(trail.network.at_most(self.start, most.0), &above)?;
        trail.set_for(trail.network.at_most(self.finish, most.1), &above)
    }
}

/// The first span with a start and a finish no earlier than given.
fn first(pattern: &Pattern, start: Tick, finish: Tick) -> Option<Span> {
    pattern.after(start.max(pattern.reaching(finish)).max(0))
}

/// The last span with a start and a finish no later than given.
fn last(pattern: &Pattern, start: Tick, finish: Tick) -> Option<Span> {
    let by_finish = pattern.before(finish).filter(|span| span.0 >= 0)?;
    if by_finish.0 <= start {
        return Some(by_finish);
    }
    pattern.until(start)
}
