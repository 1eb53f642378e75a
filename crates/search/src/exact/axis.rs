//! Events as views of variables.
//!
//! A task with one way to be done is one variable, even where a calendar decides when it may
//! start: the variable is the *ordinal* of its start among the starts that are possible, so its
//! domain has no holes and a bound on either event of the task is a bound on the variable.
//!
//! | pace | slots that are counted | start | finish |
//! |---|---|---|---|
//! | elapsed | every tick | `u` | `u + work` |
//! | whole | starts from which the work fits into the window | slot `u` | slot `u`, plus `work` |
//! | pausing | open ticks | slot `u` | slot `u + work - 1`, plus 1 |
//!
//! Worked case. Open in `[8, 12)` and `[20, 24)`; five ticks of pausing work. Ordinal 2 starts at 10
//! and ends after the open tick of ordinal 6, tick 22, so at 23. To end at 22 or later is to
//! have an ordinal of at least 1.

use timetable::{Calendar, Tick, Window};

use super::trail::Lit;
use crate::arc::Lag;
use crate::steps::FAR;

/// A count of ticks that are possible for something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Slots {
    windows: Vec<Window>,
    before: Vec<i64>,
    by_tick: Index,
    by_ordinal: Index,
}

/// Where to begin looking: the position that belongs to the beginning of each bucket of
/// `2^shift` numbers. About one position falls into a bucket.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
struct Index {
    shift: u32,
    first: Vec<u32>,
}

impl Index {
    /// An index of limits in order: a number belongs to the first limit above it.
    fn new(limits: &[i64]) -> Self {
        let span = limits.last().copied().unwrap_or(0).max(1) as u64;
        let shift = (span / (limits.len() as u64 + 1)).max(1).ilog2();
        let mut first = Vec::with_capacity((span >> shift) as usize + 1);
        let mut position = 0;
        for bucket in 0..=(span >> shift) {
            let number = (bucket << shift) as i64;
            while position < limits.len() && limits[position] <= number {
                position += 1;
            }
            first.push(position as u32);
        }
        Self { shift, first }
    }

    /// A position at or before the one that a number belongs to.
    #[inline]
    fn hint(&self, number: i64) -> usize {
        let bucket = ((number.max(0) as u64) >> self.shift) as usize;
        let last = self.first.len() - 1;
        self.first[bucket.min(last)] as usize
    }
}

impl Slots {
    /// The open ticks of a calendar.
    pub(super) fn open(calendar: &Calendar) -> Self {
        Self::new(calendar.windows().to_vec())
    }

    /// The ticks from which so much work fits into a window of a calendar.
    pub(super) fn whole(calendar: &Calendar, work: Tick) -> Self {
        let shrunk = calendar
            .windows()
            .iter()
            .map(|window| Window { from: window.from, until: window.until - work + 1 });
        Self::new(shrunk.filter(|window| window.from < window.until).collect())
    }

    fn new(windows: Vec<Window>) -> Self {
        let mut before = Vec::with_capacity(windows.len() + 1);
        let mut sum = 0;
        before.push(sum);
        for window in &windows {
            sum += i64::from(window.until - window.from);
            before.push(sum);
        }
        let ends: Vec<i64> = windows.iter().map(|w| i64::from(w.until)).collect();
        let (by_tick, by_ordinal) = (Index::new(&ends), Index::new(&before[1..]));
        Self { windows, before, by_tick, by_ordinal }
    }

    /// How many there are.
    pub(super) fn count(&self) -> i64 {
        self.before.last().copied().unwrap_or(0)
    }

    /// How many lie before a tick.
    fn before(&self, tick: Tick) -> i64 {
        let mut position = self.by_tick.hint(i64::from(tick));
        while let Some(window) = self.windows.get(position) {
            if tick < window.until {
                let inside = i64::from((tick - window.from).max(0));
                return self.before[position] + inside;
            }
            position += 1;
        }
        self.count()
    }

    /// The tick of an ordinal; -1 before the first, [`FAR`] after the last.
    fn tick(&self, ordinal: i64) -> Tick {
        if ordinal < 0 {
            return -1;
        }
        let mut position = self.by_ordinal.hint(ordinal);
        while let Some(window) = self.windows.get(position) {
            if ordinal < self.before[position + 1] {
                return window.from + (ordinal - self.before[position]) as Tick;
            }
            position += 1;
        }
        FAR
    }
}

/// An event as a view of a variable: the tick of a slot, and a distance after it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Axis {
    pub(super) variable: usize,
    /// Which slots are counted; every tick if none.
    pub(super) slots: Option<u32>,
    /// Added to the variable: slots; 0 where every tick is counted.
    pub(super) ahead: i64,
    /// Added to the tick of the slot.
    pub(super) after: Tick,
}

impl Axis {
    /// The tick is the variable, and so much.
    pub(super) const fn shifted(variable: usize, by: Tick) -> Self {
        Self { variable, slots: None, ahead: 0, after: by }
    }
}

/// A number of an event.
pub(super) type Event = usize;

/// A lag between events of which one at least does not run with its variable.
#[derive(Debug, Clone, Copy)]
pub(super) struct Curve<'m> {
    pub(super) from: Event,
    pub(super) to: Event,
    pub(super) lag: Lag<'m>,
}

/// Events, and the lags between them.
#[derive(Debug, Default)]
pub(super) struct Network<'m> {
    pub(super) slots: Vec<Slots>,
    pub(super) axes: Vec<Axis>,
    pub(super) curves: Vec<Curve<'m>>,
}

impl Network<'_> {
    /// The variable of an event.
    #[inline]
    pub(super) fn variable(&self, event: Event) -> usize {
        self.axes[event].variable
    }

    /// The tick of an event for a value of its variable.
    #[inline]
    pub(super) fn tick(&self, event: Event, value: i64) -> Tick {
        let axis = &self.axes[event];
        match axis.slots {
            None => (value + i64::from(axis.after)) as Tick,
            Some(_) => self.slow_tick(axis, value),
        }
    }

    /// Apart, so that the usual case is part of its callers.
    #[inline(never)]
    fn slow_tick(&self, axis: &Axis, value: i64) -> Tick {
        let slots = axis.slots.map(|slots| &self.slots[slots as usize]);
        slots.map_or(FAR, |slots| {
            slots.tick(value + axis.ahead).saturating_add(axis.after)
        })
    }

    #[inline(never)]
    fn slow_ordinal(&self, axis: &Axis, slot: Tick) -> i64 {
        let slots = axis.slots.map(|slots| &self.slots[slots as usize]);
        slots.map_or(i64::from(slot), |slots| slots.before(slot))
    }

    /// An event lies at a tick or later.
    #[inline]
    pub(super) fn at_least(&self, event: Event, tick: Tick) -> Lit {
        let axis = &self.axes[event];
        let bound = self.ordinal(axis, tick) - axis.ahead;
        Lit { view: 2 * axis.variable, bound }
    }

    /// An event lies at a tick or earlier.
    #[inline]
    pub(super) fn at_most(&self, event: Event, tick: Tick) -> Lit {
        let axis = &self.axes[event];
        let most = self.ordinal(axis, tick.saturating_add(1)) - 1 - axis.ahead;
        Lit { view: 2 * axis.variable + 1, bound: -most }
    }

    #[inline]
    fn ordinal(&self, axis: &Axis, tick: Tick) -> i64 {
        let slot = tick.saturating_sub(axis.after);
        match axis.slots {
            None => i64::from(slot),
            Some(_) => self.slow_ordinal(axis, slot),
        }
    }

    /// What raises an event by a curve, given what is said of its other end: the literal
    /// that implies `lit` by the curve.
    pub(super) fn because(&self, curve: usize, forward: bool, lit: Lit) -> Lit {
        let Curve { from, to, lag } = self.curves[curve];
        if forward {
            // The weakest that says as much: one tick after the slot before.
            let last = self.tick(to, lit.bound - 1);
            self.at_least(from, lag.latest(last).saturating_add(1))
        } else {
            let next = self.tick(from, 1 - lit.bound);
            self.at_most(to, lag.earliest(next).saturating_sub(1))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worked_case() {
        let windows = vec![Window { from: 8, until: 12 }, Window { from: 20, until: 24 }];
        let calendar = Calendar::new("c", windows).unwrap();
        let slots = vec![Slots::open(&calendar), Slots::whole(&calendar, 3)];
        let axes = vec![
            Axis { variable: 0, slots: Some(0), ahead: 0, after: 0 },
            Axis { variable: 0, slots: Some(0), ahead: 4, after: 1 },
            Axis { variable: 1, slots: Some(1), ahead: 0, after: 0 },
            Axis { variable: 1, slots: Some(1), ahead: 0, after: 3 },
        ];
        let network = Network { slots, axes, curves: vec![] };
        assert_eq!((network.tick(0, 2), network.tick(1, 2)), (10, 23));
        assert_eq!(network.at_least(1, 22).bound, 1);
        assert_eq!(network.at_most(1, 22).bound, -1);
        let starts: Vec<Tick> = (0..5).map(|u| network.tick(2, u)).collect();
        assert_eq!(starts, [8, 9, 20, 21, FAR]);
        for (start, finish) in [(0, 1), (2, 3)] {
            for tick in 0..30 {
                for (event, most) in [(start, 4), (finish, 4)] {
                    let real: Vec<i64> =
                        (0..most).filter(|&u| network.tick(event, u) >= tick).collect();
                    let least = network.at_least(event, tick).bound.clamp(0, most);
                    assert_eq!(real.first().copied().unwrap_or(most), least);
                    let real = (0..most).filter(|&u| network.tick(event, u) <= tick);
                    let upper = -network.at_most(event, tick).bound;
                    assert_eq!(real.count() as i64, (upper + 1).clamp(0, most));
                }
            }
        }
    }
}
