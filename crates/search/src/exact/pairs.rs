//! Pairs of uses that never overlap.
//!
//! Two uses of which the sum exceeds the greatest capacity can't run together; if one of the
//! two can't come first, they come in the other order. That holds for uses that last from one
//! event to another, and for uses in the open ticks of the same calendar, of which each has
//! its own; not for others, which could lie in each other's pauses, and not for occupancies
//! that may last no time at all.
//!
//! Pairs that belong to a [clique](mod@super::cliques) have a variable for their order, so that what is
//! learnt can speak of orders, and the clique can use what is known of them. For all others that
//! is more trouble than it is worth.

use timetable::Calendar;

use super::axis::Event;
use super::cumulative::{Cumulative, Use};
use super::trail::{Lit, Trail};
use crate::pattern::Span;

/// More pairs than that are left to the profiles.
const MOST: usize = 300_000;

/// One that never overlaps a use.
#[derive(Debug, Clone, Copy)]
struct Other {
    number: u32,
    /// The view of the literal that says it comes first, which is an order or its opposite.
    first: u32,
}

impl Other {
    /// No literal says which comes first.
    const UNSAID: u32 = u32::MAX;

    const fn new(number: usize) -> Self {
        Self { number: number as u32, first: Self::UNSAID }
    }

    /// The literal that says it comes first, if there is one.
    const fn first(self) -> Option<Lit> {
        if self.first == Self::UNSAID {
            return None;
        }
        let view = self.first as usize;
        Some(Lit { view, bound: if view.is_multiple_of(2) { 1 } else { 0 } })
    }
}

/// The bounds of a use, when they were last looked at.
#[derive(Debug, Clone, Copy, Default)]
struct Seen {
    start: Span,
    finish: Span,
}

/// Pairs that never overlap.
#[derive(Debug, Default)]
pub(super) struct Pairs {
    /// First and second event.
    uses: Vec<(Event, Event)>,
    /// Close together, since every look at a use looks at all the others.
    seen: Vec<Seen>,
    /// Those that never overlap a use, by number.
    others: Vec<Vec<Other>>,
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
                    pairs.others[a].push(Other::new(b));
                    pairs.others[b].push(Other::new(a));
                }
            }
        }
        for list in &mut pairs.others {
            list.sort_unstable_by_key(|other| other.number);
            list.dedup_by_key(|other| other.number);
        }
        pairs.seen = vec![Seen::default(); pairs.uses.len()];
        pairs.pending = (0..pairs.uses.len()).collect();
        pairs.is_pending = vec![true; pairs.uses.len()];
        pairs
    }

    /// First and second event of each use.
    pub(super) fn uses(&self) -> &[(Event, Event)] {
        &self.uses
    }

    /// Gives a pair a variable for its order, unless it has one or is none.
    pub(super) fn add_order(&mut self, a: usize, b: usize, trail: &mut Trail) {
        let place = |list: &[Other], other: usize| {
            list.binary_search_by_key(&other, |entry| entry.number as usize).ok()
        };
        let places = (place(&self.others[a], b), place(&self.others[b], a));
        let (Some(there), Some(back)) = places else { return };
        if self.others[a][there].first == Other::UNSAID {
            let view = Trail::up(trail.binary()) as u32;
            self.others[a][there].first = view;
            self.others[b][back].first = view ^ 1;
        }
    }

    /// Those that never overlap a use, by number, each with the literal that says it comes
    /// first.
    pub(super) fn others(
        &self,
        number: usize,
    ) -> impl Iterator<Item = (usize, Option<Lit>)> {
        let others = self.others[number].iter();
        others.map(|other| (other.number as usize, other.first()))
    }

    /// The bounds of a use moved.
    pub(super) fn note(&mut self, number: usize) {
        if !std::mem::replace(&mut self.is_pending[number], true) {
            self.pending.push(number);
        }
    }

    /// Puts pairs in order of which one order is impossible.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        // All at first: what jumped back must not be seen as it was.
        for &number in &self.pending {
            let (from, to) = self.uses[number];
            self.seen[number] = Seen {
                start: (trail.early(from), trail.late(from)),
                finish: (trail.early(to), trail.late(to)),
            };
        }
        while let Some(&a) = self.pending.last() {
            self.look(trail, a)?;
            self.pending.pop();
            self.is_pending[a] = false;
        }
        Ok(())
    }

    /// Looks at all pairs of a use. What moves meanwhile is looked at again afterwards.
    fn look(&self, trail: &mut Trail, a: usize) -> Result<(), Vec<Lit>> {
        let mine = self.seen[a];
        for other in &self.others[a] {
            let b = other.number as usize;
            let theirs = self.seen[b];
            let first = other.first();
            if Self::is_news(trail, (mine, theirs), first) {
                self.order(trail, a, b, first)?;
            }
            let first = first.map(Lit::not);
            if Self::is_news(trail, (theirs, mine), first) {
                self.order(trail, b, a, first)?;
            }
        }
        Ok(())
    }

    /// Whether it may be new that the second of two comes first, or what follows from that.
    #[inline]
    fn is_news(trail: &Trail, (a, b): (Seen, Seen), first: Option<Lit>) -> bool {
        let said = first.is_some_and(|first| trail.is_true(first));
        let must = a.finish.0 > b.start.1;
        // Known, and its bounds as they have to be?
        let drawn = a.start.0 >= b.finish.0 && b.finish.1 <= a.start.1;
        (must || said) && !(drawn && (said || first.is_none()))
    }

    /// If `a` can't come before `b`, then `b` comes before `a`, which a literal says if there is
    /// one.
    fn order(
        &self,
        trail: &mut Trail,
        a: usize,
        b: usize,
        first: Option<Lit>,
    ) -> Result<(), Vec<Lit>> {
        if let Some(first) = first.filter(|&first| trail.is_true(first)) {
            return self.follow(trail, a, b, &[first]);
        }
        let (finish, other_start) = (self.uses[a].1, self.uses[b].0);
        let latest = trail.late(other_start);
        if trail.early(finish) <= latest {
            return Ok(());
        }
        // A tick of the root, if there is one: then one literal is enough.
        let latest = Some(trail.root_late(other_start))
            .filter(|&always| always < trail.early(finish))
            .unwrap_or(latest);
        let late = trail.network.at_least(finish, latest.saturating_add(1));
        let why = [late, trail.network.at_most(other_start, latest)];
        let Some(first) = first else { return self.follow(trail, a, b, &why) };
        trail.set_for(first, &why)?;
        self.follow(trail, a, b, &[first])
    }

    /// `b` comes before `a`.
    fn follow(
        &self,
        trail: &mut Trail,
        a: usize,
        b: usize,
        because: &[Lit],
    ) -> Result<(), Vec<Lit>> {
        let (start, other_finish) = (self.uses[a].0, self.uses[b].1);
        let low = trail.early(other_finish);
        let lit = trail.network.at_least(start, low);
        if !trail.is_true(lit) {
            let why = trail.network.at_least(other_finish, low);
            trail.set_for(lit, &[because, &[why]].concat())?;
        }
        let high = trail.late(start);
        let lit = trail.network.at_most(other_finish, high);
        if !trail.is_true(lit) {
            let why = trail.network.at_most(start, high);
            trail.set_for(lit, &[because, &[why]].concat())?;
        }
        Ok(())
    }
}
