//! Capacities: what is surely in use at a tick.
//!
//! A use runs from one event to another, of the same task or (an occupancy) of two. With the
//! first no later than `l` and the second no earlier than `e` it is surely there in
//! `[l, e)`, or in the open ticks of that stretch. Taken from the capacity, these parts leave a
//! profile; where it is below zero there is a contradiction, and where it leaves too little
//! a use that reaches that far is pushed past it. Each statement is explained at one tick
//! `t`: of every use that is needed for it, `[first <= t]` and `[second >= t + 1]`.
//!
//! The profile follows the bounds in both directions: a use whose bounds moved, up by
//! propagation or back by a jump, is booked anew, so nothing has to be undone.
//!
//! A use of a way of a task that is not chosen yet is not booked; if it can't run, the way
//! is excluded.

use timetable::{Calendar, Tick};

use super::axis::Event;
use super::trail::{Lit, Trail};
use crate::pattern::Span;
use crate::steps::Steps;

/// A use of a resource.
#[derive(Debug, Clone)]
pub(super) struct Use<'m> {
    pub(super) from: Event,
    pub(super) to: Event,
    /// What it takes from the capacity.
    pub(super) amount: i32,
    /// What must be free for it where it is not surely there: more than `amount`, if the
    /// same task has another use beside it.
    pub(super) need: i32,
    /// Only the open ticks of this calendar count.
    pub(super) open: Option<&'m Calendar>,
    /// It always lasts for some time.
    pub(super) lasts: bool,
    /// It is there if this literal is true.
    pub(super) present: Option<Lit>,
}

/// Where the bounds were when the use was last booked.
#[derive(Debug, Clone, Copy, Default)]
struct Seen {
    first: Span,
    second: Span,
    part: Span,
    active: bool,
    absent: bool,
}

/// A resource.
#[derive(Debug)]
pub(super) struct Cumulative<'m> {
    uses: Vec<Use<'m>>,
    seen: Vec<Seen>,
    base: Steps,
    free: Steps,
    pending: Vec<usize>,
    is_pending: Vec<bool>,
    /// Stretches in which more is used since the last look.
    raised: Vec<Span>,
    because: Vec<Lit>,
    chosen: Vec<usize>,
}

impl<'m> Cumulative<'m> {
    /// A resource with its capacity, less what is fixed.
    pub(super) fn new(base: &Steps, uses: Vec<Use<'m>>) -> Self {
        let count = uses.len();
        Self {
            uses,
            seen: vec![Seen::default(); count],
            base: base.clone(),
            free: base.clone(),
            pending: (0..count).collect(),
            is_pending: vec![true; count],
            raised: Vec::new(),
            because: Vec::new(),
            chosen: Vec::new(),
        }
    }

    /// The uses.
    pub(super) fn uses(&self) -> &[Use<'m>] {
        &self.uses
    }

    /// The greatest capacity that there ever is.
    pub(super) fn peak(&self) -> i32 {
        self.base.segments().map(|(_, level)| level).max().unwrap_or(0)
    }

    /// The bounds of a use moved.
    pub(super) fn note(&mut self, number: usize) {
        if !std::mem::replace(&mut self.is_pending[number], true) {
            self.pending.push(number);
        }
    }

    /// Raises what the profile raises.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        if self.pending.is_empty() {
            return Ok(());
        }
        let pending = std::mem::take(&mut self.pending);
        for &number in &pending {
            self.is_pending[number] = false;
            self.book(trail, number);
        }
        let outcome = self.look(trail, &pending);
        if outcome.is_ok() {
            self.raised.clear();
            return Ok(());
        }
        // Bounds may jump back and return before the next look: then nothing is booked
        // anew, so what was not looked at now is kept.
        for number in pending {
            self.note(number);
        }
        if self.raised.len() > 32 {
            let hull = self.hull();
            self.raised.clear();
            self.raised.push(hull);
        }
        outcome
    }

    fn look(&mut self, trail: &mut Trail, pending: &[usize]) -> Result<(), Vec<Lit>> {
        let mut least = i32::MAX;
        for position in 0..self.raised.len() {
            let (from, until) = self.raised[position];
            if let Some((low, high)) = self.free.lack(from, until, 0) {
                let (low, high) = (low.max(from), high.min(until));
                let tick = low + (high - low - 1) / 2;
                self.collect(trail, tick, self.base.level(tick));
                return Err(self.because.clone());
            }
            least = least.min(self.free.least(from, until));
        }
        for &number in pending {
            self.fit(trail, number)?;
        }
        if self.raised.is_empty() {
            return Ok(());
        }
        let (from, until) = self.hull();
        for number in 0..self.uses.len() {
            let seen = &self.seen[number];
            let open = seen.first.0 < seen.first.1 || seen.second.0 < seen.second.1;
            if (open || !seen.active)
                && !seen.absent
                && self.uses[number].need > least
                && seen.first.0 < until
                && seen.second.1 > from
            {
                self.fit(trail, number)?;
            }
        }
        Ok(())
    }

    /// From where to where more is used.
    fn hull(&self) -> Span {
        let from = self.raised.iter().map(|span| span.0).min().unwrap_or(0);
        let until = self.raised.iter().map(|span| span.1).max().unwrap_or(0);
        (from, until)
    }

    /// Books what a use surely takes, by its bounds.
    fn book(&mut self, trail: &Trail, number: usize) {
        let entry = &self.uses[number];
        let first = (trail.early(entry.from), trail.late(entry.from));
        let second = (trail.early(entry.to), trail.late(entry.to));
        let active = entry.present.is_none_or(|lit| trail.is_true(lit));
        let absent = entry.present.is_some_and(|lit| trail.is_false(lit));
        let sure = active && first.1 < second.0;
        let part = if sure { (first.1, second.0) } else { (first.1, first.1) };
        let old = std::mem::replace(
            &mut self.seen[number],
            Seen { first, second, part, active, absent },
        )
        .part;
        for piece in minus(old, part) {
            self.change(number, piece, 1);
        }
        for piece in minus(part, old) {
            self.change(number, piece, -1);
        }
    }

    fn change(&mut self, number: usize, piece: Span, sign: i32) {
        let entry = &self.uses[number];
        let (free, raised) = (&mut self.free, &mut self.raised);
        each_open(entry.open, piece, |from, until| {
            free.add(from, until, sign * entry.amount);
            if sign < 0 {
                raised.push((from, until));
            }
            true
        });
    }

    /// Pushes the ends of a use past what leaves too little, or excludes it.
    fn fit(&mut self, trail: &mut Trail, number: usize) -> Result<(), Vec<Lit>> {
        let seen = self.seen[number];
        if seen.absent {
            return Ok(());
        }
        if !seen.active {
            return self.exclude(trail, number);
        }
        if seen.first.0 < seen.first.1.min(seen.second.0) {
            self.push(trail, number)?;
        }
        if seen.first.1.max(seen.second.0) < seen.second.1 {
            self.pull(trail, number)?;
        }
        Ok(())
    }

    fn exclude(&mut self, trail: &mut Trail, number: usize) -> Result<(), Vec<Lit>> {
        let entry = self.uses[number].clone();
        let (late, early) = (trail.late(entry.from), trail.early(entry.to));
        let Some(present) = entry.present.filter(|_| late < early) else {
            return Ok(());
        };
        if trail.is_false(present) || trail.is_true(present) {
            return Ok(());
        }
        let Some(tick) = self.first_lack(&entry, (late, early), entry.amount) else {
            return Ok(());
        };
        let tick = tick.1.min(early) - 1;
        self.collect(trail, tick, self.base.level(tick) - entry.amount);
        self.because.push(trail.network.at_most(entry.from, tick));
        self.because.push(trail.network.at_least(entry.to, tick + 1));
        trail.set_for(present.not(), &self.because)
    }

    /// Pushes the first event past stretches that leave too little.
    fn push(&mut self, trail: &mut Trail, number: usize) -> Result<(), Vec<Lit>> {
        let entry = self.uses[number].clone();
        loop {
            let own = (trail.late(entry.from), trail.early(entry.to));
            let stretch = (trail.early(entry.from), own.0.min(own.1));
            if stretch.0 >= stretch.1 {
                return Ok(());
            }
            let Some(lack) = self.first_lack(&entry, stretch, entry.need) else {
                return Ok(());
            };
            if self.leap(trail, &entry, (lack.0, own.0), true)? {
                continue;
            }
            let tick = lack.1.min(stretch.1) - 1;
            self.collect(trail, tick, self.base.level(tick) - entry.need);
            self.because.extend(entry.present);
            self.because.push(trail.network.at_least(entry.to, tick + 1));
            let lit = trail.network.at_least(entry.from, tick + 1);
            trail.set_for(lit, &self.because)?;
        }
    }

    /// Pulls the second event before stretches that leave too little.
    fn pull(&mut self, trail: &mut Trail, number: usize) -> Result<(), Vec<Lit>> {
        let entry = self.uses[number].clone();
        loop {
            let own = (trail.late(entry.from), trail.early(entry.to));
            let stretch = (own.0.max(own.1), trail.late(entry.to));
            if stretch.0 >= stretch.1 {
                return Ok(());
            }
            let mut found = None;
            each_open_back(entry.open, stretch, |from, until| {
                found = self.free.last_lack(from, until, entry.need);
                found.is_none()
            });
            let Some((tick, end)) = found else {
                return Ok(());
            };
            if self.leap(trail, &entry, (own.1, end), false)? {
                continue;
            }
            self.collect(trail, tick, self.base.level(tick) - entry.need);
            self.because.extend(entry.present);
            self.because.push(trail.network.at_most(entry.from, tick));
            let lit = trail.network.at_most(entry.to, tick);
            trail.set_for(lit, &self.because)?;
        }
    }

    /// Past a stretch that lacks for much longer than the use lasts, one step is taken in
    /// place of many if the same uses are there all the time. The stretch is looked for from
    /// its first tick on, or back from its last one.
    fn leap(
        &mut self,
        trail: &mut Trail,
        entry: &Use,
        stretch: Span,
        ahead: bool,
    ) -> Result<bool, Vec<Lit>> {
        const MUCH: Tick = 3;
        if entry.open.is_some() || !entry.lasts || stretch.0 >= stretch.1 {
            return Ok(false);
        }
        let found = if ahead {
            self.free.lack(stretch.0, stretch.1, entry.need)
        } else {
            self.free.last_lack(stretch.0, stretch.1, entry.need)
        };
        let lasts = (trail.early(entry.to) - trail.early(entry.from)).max(1);
        let Some(lack) = found.map(|lack| (lack.0.max(stretch.0), lack.1.min(stretch.1)))
        else {
            return Ok(false);
        };
        if lack.1 - lack.0 < MUCH.saturating_mul(lasts) {
            return Ok(false);
        }
        // The uses that are there at the far end, and how long all of them are.
        let far = if ahead { lack.0 } else { lack.1 - 1 };
        self.collect(trail, far, self.base.level(far) - entry.need);
        let Some(lack) = self.shared(entry.need, far, lack) else {
            return Ok(false);
        };
        if lack.1 - lack.0 < MUCH.saturating_mul(lasts) {
            return Ok(false);
        }
        self.because.clear();
        for &number in &self.chosen {
            let other = &self.uses[number];
            self.because.push(trail.network.at_most(other.from, lack.0));
            self.because.push(trail.network.at_least(other.to, lack.1));
            self.because.extend(other.present);
        }
        self.because.extend(entry.present);
        let (why, lit) = if ahead {
            let why = trail.network.at_least(entry.to, lack.0 + 1);
            (why, trail.network.at_least(entry.from, lack.1))
        } else {
            let why = trail.network.at_most(entry.from, lack.1 - 1);
            (why, trail.network.at_most(entry.to, lack.0))
        };
        if !trail.is_true(why) || trail.is_true(lit) {
            return Ok(false);
        }
        self.because.push(why);
        trail.set_for(lit, &self.because)?;
        Ok(true)
    }

    /// The part of a stretch around a tick in which the chosen uses are all there, all the
    /// time, and leave too little.
    fn shared(&mut self, need: i32, tick: Tick, stretch: Span) -> Option<Span> {
        let (mut sum, level) = (0, self.base.level(tick) - need);
        let (mut from, mut until) = stretch;
        let mut kept = 0;
        for position in 0..self.chosen.len() {
            let number = self.chosen[position];
            if sum > level {
                break;
            }
            if self.uses[number].open.is_some() {
                continue;
            }
            let part = self.seen[number].part;
            (from, until) = (from.max(part.0), until.min(part.1));
            sum += self.uses[number].amount;
            self.chosen.swap(kept, position);
            kept += 1;
        }
        self.chosen.truncate(kept);
        let all = from <= tick && tick < until;
        let scarce = || self.base.most(from, until) <= level + need;
        (all && sum > level && scarce()).then_some((from, until))
    }

    /// The first stretch that lacks among the ticks that count.
    fn first_lack(&self, entry: &Use, stretch: Span, need: i32) -> Option<Span> {
        let mut found = None;
        each_open(entry.open, stretch, |from, until| {
            let lack = self.free.lack(from, until, need);
            found = lack.map(|(begins, ends)| (begins, ends.min(until)));
            found.is_none()
        });
        found
    }

    /// Enough uses that are surely there at a tick to exceed a level, as literals.
    fn collect(&mut self, trail: &Trail, tick: Tick, level: i32) {
        self.because.clear();
        self.chosen.clear();
        for (number, seen) in self.seen.iter().enumerate() {
            let open = || self.uses[number].open.is_none_or(|open| open.is_open(tick));
            if seen.part.0 <= tick && tick < seen.part.1 && open() {
                self.chosen.push(number);
            }
        }
        // The largest first: fewer literals.
        let uses = &self.uses;
        self.chosen.sort_by_key(|&number| std::cmp::Reverse(uses[number].amount));
        let mut sum = 0;
        for &number in &self.chosen {
            if sum > level {
                break;
            }
            let entry = &self.uses[number];
            sum += entry.amount;
            self.because.push(trail.network.at_most(entry.from, tick));
            self.because.push(trail.network.at_least(entry.to, tick + 1));
            self.because.extend(entry.present);
        }
    }
}

/// The parts of a stretch that lie outside another.
fn minus(all: Span, less: Span) -> impl Iterator<Item = Span> {
    let apart = less.0 >= less.1 || less.1 <= all.0 || all.1 <= less.0;
    let pieces = if apart {
        [all, (0, 0)]
    } else {
        [(all.0, less.0.min(all.1)), (less.1.max(all.0), all.1)]
    };
    pieces.into_iter().filter(|piece| piece.0 < piece.1)
}

/// Calls back for the open stretches of a span, from the first, while told to go on.
fn each_open(
    calendar: Option<&Calendar>,
    span: Span,
    mut each: impl FnMut(Tick, Tick) -> bool,
) {
    let Some(calendar) = calendar else {
        if span.0 < span.1 {
            each(span.0, span.1);
        }
        return;
    };
    let windows = &calendar.windows()[calendar.position_at_or_after(span.0)..];
    for window in windows.iter().take_while(|window| window.from < span.1) {
        if !each(window.from.max(span.0), window.until.min(span.1)) {
            return;
        }
    }
}

/// The same from the last.
fn each_open_back(
    calendar: Option<&Calendar>,
    span: Span,
    mut each: impl FnMut(Tick, Tick) -> bool,
) {
    let Some(calendar) = calendar else {
        each(span.0, span.1);
        return;
    };
    let windows = calendar.windows();
    let until = windows.partition_point(|window| window.from < span.1);
    let from = calendar.position_at_or_after(span.0).min(until);
    for window in windows[from..until].iter().rev() {
        if !each(window.from.max(span.0), window.until.min(span.1)) {
            return;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_are_taken_from_each_other() {
        let minus = |a, b| minus(a, b).collect::<Vec<_>>();
        assert_eq!(minus((2, 8), (4, 6)), [(2, 4), (6, 8)]);
        assert_eq!(minus((2, 8), (0, 6)), [(6, 8)]);
        assert_eq!(minus((2, 8), (4, 9)), [(2, 4)]);
        assert_eq!(minus((2, 8), (0, 9)), []);
        assert_eq!(minus((2, 8), (8, 9)), [(2, 8)]);
        assert_eq!(minus((2, 8), (5, 5)), [(2, 8)]);
        assert_eq!(minus((3, 3), (0, 9)), []);
    }
}
