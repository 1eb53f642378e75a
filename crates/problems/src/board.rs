//! The use of resources tick by tick, by the schedule that a generator lays down while it
//! draws a problem, so that what it draws can be done.

use std::collections::BTreeSet;

use timetable::{
    Assignment, Calendar, During, End, Event, Mode, ModeId, Pace, Profile, Resource,
    ResourceId, Tick,
};

/// Resources with their capacity and use at each tick.
#[derive(Debug, Clone)]
pub(crate) struct Board {
    capacity: Vec<Vec<u32>>,
    used: Vec<Vec<u32>>,
}

impl Board {
    /// A board of so many ticks on which nothing is used yet.
    pub(crate) fn new(resources: &[Resource], length: Tick) -> Self {
        let levels = |r: &Resource| (0..length).map(|t| r.capacity.at(t)).collect();
        let capacity: Vec<Vec<u32>> = resources.iter().map(levels).collect();
        let used = vec![vec![0; length as usize]; resources.len()];
        Self { capacity, used }
    }

    pub(crate) fn length(&self) -> Tick {
        self.used.first().map_or(Tick::MAX / 16, |ticks| ticks.len() as Tick)
    }

    /// The last tick of a run at which a resource would not suffice.
    fn short(
        &self,
        calendars: &[Calendar],
        mode: &Mode,
        run: (Tick, Tick),
    ) -> Option<Tick> {
        let resources = mode.demands.iter().map(|demand| demand.resource.at());
        let lasts = resources.filter_map(|resource| {
            (run.0..run.1).rev().find(|&tick| {
                let used = self.used[resource][tick as usize];
                let wanted = wanted(calendars, mode, resource, tick);
                used + wanted > self.capacity[resource][tick as usize]
            })
        });
        lasts.max()
    }

    /// The earliest run of a mode from a tick on for which all resources suffice.
    pub(crate) fn earliest(
        &self,
        calendars: &[Calendar],
        mode: &Mode,
        number: ModeId,
        from: Tick,
    ) -> Option<Assignment> {
        let mut start = from;
        loop {
            start = next_start(calendars, mode, start)?;
            let finish = finish(calendars, mode, start)?;
            if finish >= self.length() {
                return None;
            }
            match self.short(calendars, mode, (start, finish)) {
                Some(tick) => start = tick + 1,
                None => return Some(Assignment { mode: number, start, finish }),
            }
        }
    }

    /// Books a run.
    pub(crate) fn book(&mut self, calendars: &[Calendar], mode: &Mode, run: Assignment) {
        self.change(calendars, mode, run, |used, wanted| *used += wanted);
    }

    /// Takes a booking back.
    pub(crate) fn release(
        &mut self,
        calendars: &[Calendar],
        mode: &Mode,
        run: Assignment,
    ) {
        self.change(calendars, mode, run, |used, wanted| *used -= wanted);
    }

    fn change(
        &mut self,
        calendars: &[Calendar],
        mode: &Mode,
        run: Assignment,
        change: fn(&mut u32, u32),
    ) {
        let resources = mode.demands.iter().map(|demand| demand.resource.at());
        // One that is demanded twice is changed once, by all that is wanted of it.
        for number in resources.collect::<BTreeSet<_>>() {
            for tick in run.start..run.finish {
                let wanted = wanted(calendars, mode, number, tick);
                change(&mut self.used[number][tick as usize], wanted);
            }
        }
    }

    /// Whether an amount is free throughout a stretch.
    pub(crate) fn is_free(
        &self,
        resource: ResourceId,
        amount: u32,
        stretch: (Tick, Tick),
    ) -> bool {
        let (used, capacity) = (&self.used[resource.at()], &self.capacity[resource.at()]);
        let mut ticks = stretch.0.max(0)..stretch.1.min(self.length());
        ticks.all(|tick| used[tick as usize] + amount <= capacity[tick as usize])
    }

    /// Books an amount throughout a stretch.
    pub(crate) fn hold(
        &mut self,
        resource: ResourceId,
        amount: u32,
        stretch: (Tick, Tick),
    ) {
        for tick in stretch.0..stretch.1 {
            self.used[resource.at()][tick as usize] += amount;
        }
    }

    /// Takes a hold back.
    pub(crate) fn let_go(
        &mut self,
        resource: ResourceId,
        amount: u32,
        stretch: (Tick, Tick),
    ) {
        for tick in stretch.0..stretch.1 {
            self.used[resource.at()][tick as usize] -= amount;
        }
    }

    /// What is used of a resource at a tick.
    pub(crate) fn used(&self, resource: usize, tick: Tick) -> u32 {
        self.used[resource].get(tick as usize).copied().unwrap_or(0)
    }

    /// Changes the capacity in a stretch.
    pub(crate) fn set_capacity(
        &mut self,
        resource: usize,
        level: u32,
        stretch: (Tick, Tick),
    ) {
        for tick in stretch.0..stretch.1 {
            self.capacity[resource][tick as usize] = level;
        }
    }

    /// The capacity of a resource as steps.
    pub(crate) fn profile(&self, resource: usize) -> Profile {
        let levels = self.capacity[resource].iter().enumerate();
        let steps = levels.map(|(tick, &level)| (tick as Tick, level)).collect();
        Profile::new(steps).expect("ticks are in order")
    }
}

/// What a running mode uses of a resource at a tick.
fn wanted(calendars: &[Calendar], mode: &Mode, resource: usize, tick: Tick) -> u32 {
    let pauses = match mode.pace {
        Pace::Pausing(calendar) => !calendars[calendar.at()].is_open(tick),
        Pace::Elapsed | Pace::Whole(_) => false,
    };
    let demands = mode.demands.iter().filter(|demand| demand.resource.at() == resource);
    let active = demands.filter(|demand| !pauses || demand.during == During::Throughout);
    active.map(|demand| demand.amount).sum()
}

/// The first tick from one on at which a mode may start.
fn next_start(calendars: &[Calendar], mode: &Mode, from: Tick) -> Option<Tick> {
    match mode.pace {
        Pace::Elapsed => Some(from),
        _ if mode.work == 0 => Some(from),
        Pace::Pausing(calendar) => calendars[calendar.at()].next_open(from),
        Pace::Whole(calendar) => {
            let windows = calendars[calendar.at()].windows().iter();
            let starts = windows.map(|w| (w.from.max(from), w.until));
            let mut fitting = starts.filter(|(start, until)| until - start >= mode.work);
            fitting.next().map(|(start, _)| start)
        }
    }
}

/// The finish of a mode that starts at a tick where it may.
fn finish(calendars: &[Calendar], mode: &Mode, start: Tick) -> Option<Tick> {
    match mode.pace {
        Pace::Elapsed | Pace::Whole(_) => start.checked_add(mode.work),
        Pace::Pausing(calendar) => calendars[calendar.at()].finish_of(start, mode.work),
    }
}

/// The tick of an event in some runs.
pub(crate) fn tick(runs: &[Assignment], event: Event) -> Tick {
    let run = runs[event.task.at()];
    if event.end == End::Start { run.start } else { run.finish }
}

/// How much of a mode's work is left at a tick of a run.
pub(crate) fn left(
    calendars: &[Calendar],
    mode: &Mode,
    now: Tick,
    run: Assignment,
) -> Tick {
    match mode.pace {
        Pace::Elapsed | Pace::Whole(_) => run.finish - now,
        Pace::Pausing(calendar) => calendars[calendar.at()].open_between(now, run.finish),
    }
}
