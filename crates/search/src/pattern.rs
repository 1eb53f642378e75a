//! How the work of a mode lies in time: starts that a calendar allows, and their finishes.
//!
//! Three questions are asked of a mode, all monotone in their argument: the first start at
//! or after a tick; the first start whose finish is at or after a tick; the last start whose
//! finish is at or before a tick. Capacity is no business of this module.

use timetable::{Calendar, CalendarId, Mode, Pace, Problem, Tick};

use crate::steps::FAR;

/// The work of a mode and how it lies in time.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Pattern<'p> {
    /// Runs on.
    Elapsed(Tick),
    /// Runs on inside one window of the calendar.
    Whole(&'p Calendar, Tick),
    /// Pauses outside the windows of the calendar.
    Pausing(&'p Calendar, Tick),
}

/// A start and the finish that belongs to it.
pub(crate) type Span = (Tick, Tick);

impl<'p> Pattern<'p> {
    /// The pattern of a mode. Work of no length may lie anywhere, in every pace, and a
    /// calendar that is open until the horizon does not matter.
    pub(crate) fn of(problem: &'p Problem, mode: &Mode) -> Self {
        if mode.work == 0 { Self::Elapsed(0) } else { Self::paced(problem, mode) }
    }

    /// The pattern of a mode by its pace alone, whatever its work: what has happened may
    /// have taken longer than the mode says.
    pub(crate) fn paced(problem: &'p Problem, mode: &Mode) -> Self {
        let work = mode.work;
        match mode.pace {
            Pace::Elapsed => Self::Elapsed(work),
            Pace::Whole(id) | Pace::Pausing(id) if always(problem, id) => {
                Self::Elapsed(work)
            }
            Pace::Whole(calendar) => Self::Whole(problem.calendar(calendar), work),
            Pace::Pausing(calendar) => Self::Pausing(problem.calendar(calendar), work),
        }
    }

    /// The first span that starts at a tick or later.
    pub(crate) fn after(&self, tick: Tick) -> Option<Span> {
        match *self {
            Self::Elapsed(work) => (tick < FAR).then_some((tick, tick + work)),
            Self::Whole(calendar, work) => {
                let windows = calendar.windows();
                windows[calendar.position_at_or_after(tick)..].iter().find_map(|window| {
                    let start = window.from.max(tick);
                    (start + work <= window.until).then_some((start, start + work))
                })
            }
            Self::Pausing(calendar, work) => {
                let start = calendar.next_open(tick)?;
                Some((start, calendar.finish_of(start, work)?))
            }
        }
    }

    /// A tick before which no start has a finish at `tick` or later.
    pub(crate) fn reaching(&self, tick: Tick) -> Tick {
        match *self {
            Self::Elapsed(work) | Self::Whole(_, work) => tick - work,
            Self::Pausing(calendar, work) => {
                calendar.start_of(tick - 1, work).map_or(0, |start| start + 1)
            }
        }
    }

    /// The last span that finishes at a tick or earlier.
    pub(crate) fn before(&self, tick: Tick) -> Option<Span> {
        match *self {
            Self::Elapsed(work) => Some((tick - work, tick)),
            Self::Whole(calendar, work) => {
                let windows = calendar.windows();
                let end = windows.partition_point(|window| window.from < tick);
                windows[..end].iter().rev().find_map(|window| {
                    let finish = window.until.min(tick);
                    (finish - work >= window.from).then_some((finish - work, finish))
                })
            }
            Self::Pausing(calendar, work) => {
                let start = calendar.start_of(tick, work)?;
                Some((start, calendar.finish_of(start, work)?))
            }
        }
    }

    /// The last span that starts at a tick or earlier, whenever it finishes.
    pub(crate) fn until(&self, tick: Tick) -> Option<Span> {
        if tick < 0 {
            return None;
        }
        match *self {
            Self::Elapsed(work) => Some((tick, tick + work)),
            Self::Whole(calendar, work) => {
                let windows = calendar.windows();
                let end = windows.partition_point(|window| window.from <= tick);
                windows[..end].iter().rev().find_map(|window| {
                    let start = (window.until - work).min(tick);
                    (start >= window.from).then_some((start, start + work))
                })
            }
            Self::Pausing(calendar, work) => {
                let last = calendar.start_of(tick + 1, 1)?;
                match calendar.finish_of(last, work) {
                    Some(finish) => Some((last, finish)),
                    None => self.before(FAR),
                }
            }
        }
    }

    /// Ticks of work.
    pub(crate) const fn work(&self) -> Tick {
        match *self {
            Self::Elapsed(work) | Self::Whole(_, work) | Self::Pausing(_, work) => work,
        }
    }
}

/// Whether a calendar is open from the origin to the horizon.
pub(crate) fn always(problem: &Problem, id: CalendarId) -> bool {
    let first = problem.calendar(id).windows().first();
    first.is_some_and(|window| window.from == 0 && window.until >= problem.horizon())
}

#[cfg(test)]
mod tests {
    use timetable::Window;

    use super::*;

    fn shifts() -> Calendar {
        let windows = vec![Window { from: 8, until: 12 }, Window { from: 20, until: 24 }];
        Calendar::new("shifts", windows).unwrap()
    }

    #[test]
    fn every_pattern_agrees_with_counting() {
        let calendar = shifts();
        for work in 1..6 {
            for pattern in [
                Pattern::Elapsed(work),
                Pattern::Whole(&calendar, work),
                Pattern::Pausing(&calendar, work),
            ] {
                let spans: Vec<Span> = (0..40)
                    .filter_map(|tick| pattern.after(tick).filter(|span| span.0 == tick))
                    .collect();
                for tick in 1..30 {
                    let first = spans.iter().copied().find(|span| span.0 >= tick);
                    assert_eq!(pattern.after(tick), first);
                    let last = spans.iter().copied().rfind(|span| span.1 <= tick);
                    let found = pattern.before(tick).filter(|span| span.0 >= 0);
                    assert_eq!(found, last, "{pattern:?} before {tick}");
                    let until = spans.iter().copied().rfind(|span| span.0 <= tick);
                    let found = pattern.until(tick);
                    assert_eq!(found, until, "{pattern:?} until {tick}");
                    let reach = spans.iter().copied().find(|span| span.1 >= tick);
                    let from = pattern.after(pattern.reaching(tick).max(0));
                    assert_eq!(from, reach, "{pattern:?} reaching {tick}");
                }
            }
        }
    }
}
