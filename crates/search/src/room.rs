//! What is free while schedules are built: for each resource by itself, or for many side by side.
//!
//! A task of a workshop needs hands, and whether there are any is a question to a dozen pools of
//! people at once: fitters, fitters or riggers, whoever may do woodwork. Asked pool by pool that is
//! most of the work of building a schedule. So resources that nothing but the work of tasks takes
//! lie side by side, eight of them in a word for each tick, and a tick is looked at as a whole:
//! with a bit set above each of eight numbers, one subtraction tells whether all eight suffice.
//!
//! A candidate span is read from its end. Where some tick lacks, no start up to that tick can do,
//! and what was read behind it needs no second look: each tick is read once. What was found out so
//! (no fitter for half a day before the third week) is kept for all that needs the same for as long or
//! longer, until something is given back.
//!
//! Resources that occupancies hold, or that are needed through pauses, stay
//! [by themselves](crate::free), and so does what lies behind a border of time. Which lie side by
//! side follows from the problem alone, and no answer depends on it.
//!
//! Worked case. Two fitters, of whom one is out on the second day, and one rigger. A word for each
//! tick says 2 and 1, on the second day 1 and 1. A task of two days for two fitters and a rigger
//! lacks a fitter on the second day; its next start is the third.

mod rows;
mod walk;

use std::cell::Cell;
use std::ops::{Index, IndexMut};

use timetable::{Calendar, Tick};

use crate::free::Free;
use crate::model::{Use, Way, for_each_open};
use crate::pattern::{Pattern, Span};

use self::rows::Need;
pub(crate) use self::rows::Rows;
use self::walk::Walk;

/// The bit above each number of a word.
const ABOVE: u64 = 0x8080_8080_8080_8080;
/// Ticks that are copied together.
const BLOCK: usize = 16;

/// What is free, and what takes it.
#[derive(Debug, Clone)]
pub(crate) struct Room<'m> {
    rows: &'m Rows,
    words: Vec<u64>,
    /// Blocks of ticks of which words may differ from the rows.
    dirty: Vec<u32>,
    is_dirty: Vec<bool>,
    free: Vec<Free>,
    /// For each mode of each kind ticks at which it can't start for what lies side by side, and
    /// whether any are known.
    full: Vec<Cell<Span>>,
    knows_full: Cell<bool>,
}

impl PartialEq for Room<'_> {
    fn eq(&self, other: &Self) -> bool {
        self.words == other.words && self.free == other.free
    }
}

impl Index<usize> for Room<'_> {
    type Output = Free;

    /// A resource by itself.
    fn index(&self, resource: usize) -> &Free {
        &self.free[resource]
    }
}

impl IndexMut<usize> for Room<'_> {
    fn index_mut(&mut self, resource: usize) -> &mut Free {
        &mut self.free[resource]
    }
}

impl<'m> Room<'m> {
    /// Nothing is taken yet of what is free of each resource.
    pub(crate) fn new(rows: &'m Rows, free: &[Free]) -> Self {
        let blocks = (rows.border as usize).div_ceil(BLOCK);
        Self {
            rows,
            words: rows.words.clone(),
            dirty: Vec::new(),
            is_dirty: vec![false; blocks],
            free: free.to_vec(),
            full: vec![Cell::new((0, 0)); rows.kinds],
            knows_full: Cell::new(false),
        }
    }

    /// Gives everything back. `free` is what was free at the beginning.
    pub(crate) fn clear(&mut self, free: &[Free]) {
        for (free, base) in self.free.iter_mut().zip(free) {
            free.copy_from(base);
        }
        let size = BLOCK * self.rows.wide;
        for block in self.dirty.drain(..) {
            let from = block as usize * size;
            let until = (from + size).min(self.words.len());
            self.words[from..until].copy_from_slice(&self.rows.words[from..until]);
            self.is_dirty[block as usize] = false;
        }
        self.forget_full();
    }

    fn forget_full(&mut self) {
        if self.knows_full.replace(false) {
            self.full.iter_mut().for_each(|full| full.set((0, 0)));
        }
    }

    /// Learns that a mode that needs so much can't start from a tick up to another one. What
    /// works longer in the same way can't either.
    fn learn_full(&self, need: &Need, from: Tick, until: Tick) {
        if until <= from {
            return;
        }
        self.knows_full.set(true);
        for full in &self.full[need.kind.0..need.kind.1] {
            let known = full.get();
            if from <= known.1 && known.0 <= until {
                full.set((known.0.min(from), known.1.max(until)));
            } else if until > known.1 {
                full.set((from, until));
            }
        }
    }

    /// Whether more than there is is taken of a resource by itself. Of those side by side that
    /// can't be: nothing is taken that was not found free.
    pub(crate) fn is_overdrawn(&self) -> bool {
        self.free.iter().any(Free::is_overdrawn)
    }

    /// What a mode uses of resources by themselves.
    pub(crate) fn apart(&self, task: usize, way: u8) -> &'m [Use] {
        &self.rows.need(task, way).apart
    }

    /// Takes what a mode uses in a span, or gives it back (`sign` -1).
    pub(crate) fn book(
        &mut self,
        (task, number): (usize, u8),
        way: &Way,
        span: Span,
        sign: i32,
    ) {
        let rows = self.rows;
        let need = rows.need(task, number);
        if sign < 0 {
            self.forget_full();
        }
        for entry in need.apart.iter().filter(|entry| entry.throughout > 0) {
            self.free[entry.resource].add(span.0, span.1, -sign * entry.throughout);
        }
        if need.words.is_empty() && need.apart.iter().all(|entry| entry.working == 0) {
            return;
        }
        for_each_open(&way.pattern, span, |open| {
            for entry in need.apart.iter().filter(|entry| entry.working > 0) {
                self.free[entry.resource].add(open.0, open.1, -sign * entry.working);
            }
            self.take(need, open, sign);
        });
    }

    fn take(&mut self, need: &Need, (from, until): Span, sign: i32) {
        let (border, wide) = (self.rows.border, self.rows.wide);
        let (begin, end) = (from.max(0) as usize, until.min(border).max(0) as usize);
        if begin < end && !need.words.is_empty() {
            for block in begin / BLOCK..=(end - 1) / BLOCK {
                if !std::mem::replace(&mut self.is_dirty[block], true) {
                    self.dirty.push(block as u32);
                }
            }
            for row in self.words[begin * wide..end * wide].chunks_exact_mut(wide) {
                for &(word, amount) in &need.words {
                    let word = &mut row[word as usize];
                    *word = if sign > 0 { *word - amount } else { *word + amount };
                }
            }
        }
        if until > border {
            for entry in &need.beside {
                let amount = entry.throughout + entry.working;
                self.free[entry.resource].add(from.max(border), until, -sign * amount);
            }
        }
    }

    /// Whether there is enough side by side for a mode in a span.
    pub(crate) fn suffices(
        &self,
        (task, number): (usize, u8),
        way: &Way,
        span: Span,
    ) -> bool {
        let need = self.rows.need(task, number);
        need.words.is_empty() || self.lack(need, &way.pattern, span).is_none()
    }

    /// The first span of a mode that starts at a tick or later and has enough side by side.
    pub(crate) fn first(
        &self,
        (task, number): (usize, u8),
        way: &Way,
        tick: Tick,
    ) -> Option<Span> {
        let need = self.rows.need(task, number);
        if need.words.is_empty() {
            return way.pattern.after(tick);
        }
        let full = self.full[need.kind.0].get();
        let from = if full.0 <= tick { tick.max(full.1) } else { tick };
        let found = match way.pattern {
            Pattern::Pausing(calendar, _) => self.first_open(need, way, calendar, from),
            _ => self.first_whole(need, way, from),
        };
        self.learn_full(need, tick, found.map_or(from, |found| found.0));
        found
    }

    /// The same for work without pauses.
    fn first_whole(&self, need: &Need, way: &Way, tick: Tick) -> Option<Span> {
        let mut span = way.pattern.after(tick)?;
        // What was read.
        let mut read = span.0;
        while span.1 <= self.rows.border {
            let Some(until) = self.last(need, (span.0.max(read), span.1)) else {
                return Some(span);
            };
            read = span.1;
            span = way.pattern.after(until)?;
        }
        self.first_far(need, way, span.0)
    }

    /// The same for what may end behind the border.
    fn first_far(&self, need: &Need, way: &Way, tick: Tick) -> Option<Span> {
        let mut span = way.pattern.after(tick)?;
        while let Some(until) = self.lack(need, &way.pattern, span) {
            span = way.pattern.after(until)?;
        }
        Some(span)
    }

    /// The same for work that pauses.
    fn first_open(
        &self,
        need: &Need,
        way: &Way,
        calendar: &Calendar,
        tick: Tick,
    ) -> Option<Span> {
        let work = way.pattern.work();
        let mut walk = Walk::new(calendar, tick)?;
        let mut read = walk.start;
        loop {
            let finish = walk.finish(work)?;
            if finish > self.rows.border {
                return self.first_far(need, way, walk.start);
            }
            let from = walk.start.max(read);
            let lack = walk.find_last((from, finish), |open| self.last(need, open));
            let Some((window, until)) = lack else {
                return Some((walk.start, finish));
            };
            read = finish;
            walk.start_at(window, until)?;
        }
    }

    /// The end of the last tick of a stretch before the border at which something lacks.
    fn last(&self, need: &Need, (from, until): Span) -> Option<Tick> {
        let wide = self.rows.wide;
        let mut row = until as usize * wide;
        let mut tick = until;
        while tick > from {
            row -= wide;
            let lacks = need.words.iter().any(|&(word, amount)| {
                ((self.words[row + word as usize] | ABOVE) - amount) & ABOVE != ABOVE
            });
            if lacks {
                return Some(tick);
            }
            tick -= 1;
        }
        None
    }

    /// A tick before which no start can do, if something lacks in a span.
    fn lack(&self, need: &Need, pattern: &Pattern, span: Span) -> Option<Tick> {
        let border = self.rows.border;
        let mut found: Option<Tick> = None;
        for_each_open(pattern, span, |(from, until)| {
            if from < until.min(border) {
                found = found.max(self.last(need, (from, until.min(border))));
            }
            if until > border {
                let lacks = need.beside.iter().filter_map(|entry| {
                    let amount = entry.throughout + entry.working;
                    self.free[entry.resource].lack(from.max(border), until, amount)
                });
                found = found.max(lacks.map(|lack| lack.1).max());
            }
        });
        found
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64Mcg;
    use timetable::{
        CalendarId, Demand, Mode, Pace, Problem, Profile, Resource, ResourceId, Task,
        Window,
    };

    use super::*;
    use crate::model::{Model, for_each_use};
    use crate::sample::problem;
    use crate::steps::{FAR, Steps};

    #[test]
    fn the_worked_case() {
        let resource = |levels| Resource {
            name: "r".to_owned(),
            capacity: Profile::new(levels).unwrap(),
        };
        let resources =
            vec![resource(vec![(0, 2), (1, 1), (2, 2)]), resource(vec![(0, 1)])];
        let both =
            [(0, 2), (1, 1)].map(|(r, amount)| Demand::throughout(ResourceId(r), amount));
        let tasks = vec![Task::new("t", Mode::elapsed(2, both.to_vec()))];
        let problem = Problem::new(9, tasks, resources, vec![], vec![], vec![]).unwrap();
        let model = Model::new(&problem);
        let mut room = Room::new(model.rows(), model.bare());
        assert_eq!((model.rows().wide, room.words.len()), (1, 9));
        let mut levels: Vec<u64> = room.words.iter().map(|w| w & 0xff).collect();
        levels.dedup();
        assert_eq!(levels, [2, 1, 2]);
        let way = &model.acts[0].ways[0];
        assert_eq!(room.first((0, 0), way, 0), Some((2, 4)));
        room.book((0, 0), way, (2, 4), 1);
        assert_eq!(room.first((0, 0), way, 0), Some((4, 6)));
        // The horizon is where the words end; what there is behind it is the same.
        assert_eq!(room.first((0, 0), way, 8), Some((8, 10)));
        room.book((0, 0), way, (8, 10), 1);
        assert_eq!(room.first((0, 0), way, 7), Some((10, 12)));
        room.clear(model.bare());
        assert!(room == Room::new(model.rows(), model.bare()));
    }

    #[test]
    fn what_is_large_or_held_stays_by_itself() {
        let resource = |capacity| Resource {
            name: "r".to_owned(),
            capacity: Profile::constant(capacity),
        };
        let resources = vec![resource(3), resource(101), resource(3), resource(3)];
        let calendar = timetable::Calendar::new("c", vec![Window { from: 1, until: 99 }]);
        let mode = |work, resource, during: fn(ResourceId, u32) -> Demand| {
            let demands = vec![during(ResourceId(resource), 1)];
            let pace = Pace::Pausing(CalendarId(0));
            Mode { pace, ..Mode::elapsed(work, demands) }
        };
        let tasks = vec![
            Task::new("a", mode(3, 0, Demand::working)),
            Task::new("b", mode(3, 1, Demand::working)),
            Task::new("c", mode(3, 2, Demand::throughout)),
            Task::new("d", mode(90, 3, Demand::working)),
        ];
        let problem =
            Problem::new(99, tasks, resources, vec![calendar.unwrap()], vec![], vec![]);
        let problem = problem.unwrap();
        let model = Model::new(&problem);
        let beside: Vec<bool> = (0..4).map(|r| model.rows().holds(r)).collect();
        // Of the last two tasks one keeps its hands through pauses; the other makes reading all
        // ticks dearer than asking.
        assert_eq!(beside, [false; 4]);
        let model = {
            let mut tasks = problem.tasks().to_vec();
            tasks.truncate(3);
            let resources = problem.resources().to_vec();
            let calendars = problem.calendars().to_vec();
            Problem::new(99, tasks, resources, calendars, vec![], vec![]).unwrap()
        };
        let model = Model::new(&model);
        let beside: Vec<bool> = (0..4).map(|r| model.rows().holds(r)).collect();
        assert_eq!(beside, [true, false, false, false]);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        /// Tasks that are placed one by one go where looking at each resource by itself puts
        /// them, and what is given back leaves no trace.
        #[test]
        fn it_is_as_each_resource_by_itself(seed: u64) {
            let problem = problem(seed, 12, 60);
            let model = Model::new(&problem);
            let mut rng = Pcg64Mcg::seed_from_u64(seed);
            let mut room = Room::new(model.rows(), model.bare());
            let mut steps = model.static_free.clone();
            let mut placed = Vec::new();
            for task in (0..model.count()).filter(|&task| model.acts[task].fixed.is_none()) {
                let number = rng.random_range(0..model.acts[task].ways.len());
                let way = &model.acts[task].ways[number];
                let which = (task, number as u8);
                let tick = rng.random_range(0..70);
                let found = room.first(which, way, tick);
                prop_assert_eq!(found, first_beside(&model, &steps, way, tick));
                let apart = room.apart(task, number as u8);
                let beside = way.uses.iter().filter(|u| model.rows().holds(u.resource));
                prop_assert_eq!(apart.len() + beside.count(), way.uses.len());
                let Some(span) = found else {
                    continue;
                };
                prop_assert!(room.suffices(which, way, span));
                book(&mut steps, way, span, 1);
                room.book(which, way, span, 1);
                placed.push((which, span));
                if rng.random_ratio(1, 3) {
                    let (which, span) = placed.swap_remove(rng.random_range(0..placed.len()));
                    let way = &model.acts[which.0].ways[usize::from(which.1)];
                    book(&mut steps, way, span, -1);
                    room.book(which, way, span, -1);
                }
            }
            for (which, span) in placed {
                let way = &model.acts[which.0].ways[usize::from(which.1)];
                room.book(which, way, span, -1);
            }
            let other = Room::new(model.rows(), model.bare());
            prop_assert_eq!(&room.words, &other.words);
            for (free, base) in room.free.iter().zip(&other.free) {
                for need in 1..4 {
                    prop_assert_eq!(free.lack(0, FAR, need), base.lack(0, FAR, need));
                }
            }
        }
    }

    fn book(steps: &mut [Steps], way: &Way, span: Span, sign: i32) {
        for_each_use(way, span, |resource, span, amount| {
            steps[resource].add(span.0, span.1, -sign * amount);
        });
    }

    /// Start by start, resource by resource.
    fn first_beside(
        model: &Model,
        steps: &[Steps],
        way: &Way,
        tick: Tick,
    ) -> Option<Span> {
        let mut tick = tick;
        loop {
            let span = way.pattern.after(tick)?;
            let mut free = true;
            for_each_use(way, span, |resource, span, amount| {
                let lack = steps[resource].lack(span.0, span.1, amount);
                free &= lack.is_none() || !model.rows().holds(resource);
            });
            if free || tick > 10_000 {
                return free.then_some(span);
            }
            tick = span.0 + 1;
        }
    }
}
