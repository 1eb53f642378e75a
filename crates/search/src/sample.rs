//! Random problems with every feature, and a judge written tick by tick from the
//! statements on the types of `timetable`. For tests alone.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::{
    Assignment, Calendar, CalendarId, Clock, Demand, Due, During, End, Event, Link, Mode,
    ModeId, Occupancy, Pace, Problem, Profile, Progress, Published, Resource, ResourceId,
    Schedule, Stock, StockId, Take, Task, TaskId, Tick, Window,
};

/// A random problem with so many tasks at most; the same for the same seed.
pub(crate) fn problem(seed: u64, most: usize, horizon: Tick) -> Problem {
    let mut rng = Pcg64Mcg::seed_from_u64(seed);
    loop {
        let sample = Sample { horizon, rng: Pcg64Mcg::seed_from_u64(rng.random()) };
        if let Ok(problem) = sample.draw(most) {
            // A stream of its own: problems without stocks are as they would be anyway.
            let rng = Pcg64Mcg::seed_from_u64(seed ^ 0x0005_70c4);
            return stocked(problem, horizon, rng);
        }
    }
}

/// The same, without stocks, with a resource more that lies around the first: what takes of that takes
/// at least as much of it, and there is as much of it or more, mostly.
pub(crate) fn nested(seed: u64, most: usize, horizon: Tick) -> Problem {
    let mut rng = Pcg64Mcg::seed_from_u64(seed ^ 0x6e65_7374);
    let inside = loop {
        let sample = Sample { horizon, rng: Pcg64Mcg::seed_from_u64(rng.random()) };
        if let Ok(problem) = sample.draw(most) {
            break problem;
        }
    };
    let mut resources = inside.resources().to_vec();
    let outer = ResourceId::new(resources.len());
    let spare = [1, rng.random_range(0..3)];
    let steps = resources[0].capacity.steps().iter().enumerate();
    let steps = steps.map(|(number, &(from, level))| (from, level + spare[number % 2]));
    let capacity = Profile::new(steps.collect()).expect("the steps made sense");
    resources.push(Resource { name: "outer".to_owned(), capacity });
    let mut tasks = inside.tasks().to_vec();
    for mode in tasks.iter_mut().flat_map(|task| &mut task.modes) {
        let mut more = [0, 1, 2, 2, 3][rng.random_range(0..5)];
        for during in [During::Working, During::Throughout] {
            let of = |demand: &&Demand| {
                demand.resource == ResourceId(0) && demand.during == during
            };
            let inner = mode.demands.iter().find(of).map_or(0, |demand| demand.amount);
            if inner + more > 0 {
                mode.demands.push(Demand {
                    resource: outer,
                    amount: inner + more,
                    during,
                });
            }
            more = 0;
        }
    }
    // Most problems with many links and deadlines have no schedule at all.
    for task in &mut tasks {
        task.deadline = None;
    }
    let (mut links, mut occupancies) = (Vec::new(), Vec::new());
    if rng.random_ratio(1, 3) {
        (links, occupancies) = (inside.links().to_vec(), inside.occupancies().to_vec());
    }
    let calendars = inside.calendars().to_vec();
    Problem::new(horizon, tasks, resources, calendars, links, occupancies)
        .expect("it made sense without the outer resource")
}

/// The same with some stocks, or none, and some more modes that take less of them.
fn stocked(problem: Problem, horizon: Tick, rng: Pcg64Mcg) -> Problem {
    let mut sample = Sample { horizon, rng };
    let count = [0, 0, 1, 2, 2, 3][sample.rng.random_range(0..6)];
    if count == 0 {
        return problem;
    }
    let mut tasks = problem.tasks().to_vec();
    for task in &mut tasks {
        while sample.chance(40) && task.modes.len() < 4 {
            let mut mode = task.modes[0].clone();
            mode.work = (mode.work + sample.rng.random_range(-1..3)).clamp(0, horizon);
            task.modes.push(mode);
        }
        for mode in &mut task.modes {
            for stock in (0..count).map(StockId) {
                if sample.chance(60) {
                    let amount = sample.rng.random_range(1..6);
                    mode.takes.push(Take { stock, amount });
                }
            }
        }
    }
    let stocks = (0..count).map(StockId).map(|stock| {
        let sum = |least: bool| -> i64 {
            let all = tasks.iter().map(|task| {
                let taken = task.modes.iter().map(|mode| taken(mode, stock));
                if least { taken.min() } else { taken.max() }.unwrap_or(0)
            });
            all.sum()
        };
        let available = sample.rng.random_range(sum(true) - 1..=sum(false) + 1).max(0);
        Stock { name: "s".to_owned(), available }
    });
    let stocks = stocks.collect();
    Problem::stocked(
        problem.horizon(),
        tasks,
        problem.resources().to_vec(),
        stocks,
        problem.calendars().to_vec(),
        problem.links().to_vec(),
        problem.occupancies().to_vec(),
    )
    .expect("it made sense without stocks")
}

/// What a mode takes of a stock.
fn taken(mode: &Mode, stock: StockId) -> i64 {
    mode.takes.iter().filter(|take| take.stock == stock).map(|take| take.amount).sum()
}

struct Sample {
    horizon: Tick,
    rng: Pcg64Mcg,
}

impl Sample {
    fn draw(mut self, most: usize) -> Result<Problem, Vec<timetable::Fault>> {
        let count = self.rng.random_range(1..=most);
        let calendars: Vec<Calendar> = (0..2).map(|_| self.calendar()).collect();
        let resources: Vec<Resource> = (0..3).map(|_| self.resource()).collect();
        let tasks = (0..count).map(|_| self.task()).collect();
        let links = (0..self.rng.random_range(0..=count * 3 / 2))
            .map(|_| self.link(count))
            .collect();
        let occupancies = (0..self.rng.random_range(0..=count / 2))
            .map(|_| self.occupancy(count))
            .collect();
        Problem::new(self.horizon, tasks, resources, calendars, links, occupancies)
    }

    fn chance(&mut self, percent: u32) -> bool {
        self.rng.random_ratio(percent, 100)
    }

    fn calendar(&mut self) -> Calendar {
        let mut windows = Vec::new();
        let mut tick = self.rng.random_range(0..3);
        while tick < self.horizon {
            let until = tick + self.rng.random_range(2..7);
            windows.push(Window { from: tick, until });
            tick = until + self.rng.random_range(1..4);
        }
        Calendar::new("c", windows).unwrap()
    }

    fn resource(&mut self) -> Resource {
        let mut steps = vec![(0, self.rng.random_range(1..4))];
        while self.chance(40) {
            let from = steps[steps.len() - 1].0 + self.rng.random_range(1..8);
            steps.push((from, self.rng.random_range(0..4)));
        }
        Resource { name: "r".to_owned(), capacity: Profile::new(steps).unwrap() }
    }

    fn pace(&mut self) -> Pace {
        let calendar = CalendarId(self.rng.random_range(0..2));
        match self.rng.random_range(0..4) {
            0 => Pace::Whole(calendar),
            1 => Pace::Pausing(calendar),
            _ => Pace::Elapsed,
        }
    }

    fn mode(&mut self) -> Mode {
        let mut demands: Vec<Demand> = Vec::new();
        for resource in 0..3 {
            for during in [During::Throughout, During::Working] {
                if self.chance(20) {
                    let amount = self.rng.random_range(1..3);
                    demands.push(Demand {
                        resource: ResourceId(resource),
                        amount,
                        during,
                    });
                }
            }
        }
        Mode {
            name: String::new(),
            work: self.rng.random_range(0..5),
            pace: self.pace(),
            demands,
            takes: Vec::new(),
            cost: self.rng.random_range(0..3),
        }
    }

    fn task(&mut self) -> Task {
        let mut task = Task::new("t", self.mode());
        if self.chance(25) {
            task.modes.push(self.mode());
        }
        let horizon = self.horizon;
        if self.chance(15) {
            task.release = self.rng.random_range(0..horizon / 2);
        }
        if self.chance(10) {
            task.deadline = Some(self.rng.random_range(horizon / 2..horizon));
        }
        if self.chance(30) {
            let at = self.rng.random_range(0..horizon);
            task.due = Some(Due { at, weight: self.rng.random_range(1..4) });
        }
        if self.chance(20) {
            let start = self.rng.random_range(0..horizon);
            task.published =
                Some(Published { start, weight: self.rng.random_range(0..3) });
        }
        if self.chance(8) {
            let start = self.rng.random_range(0..3);
            task.progress = if self.chance(50) {
                let finish = start + self.rng.random_range(0..3);
                Progress::Done { mode: ModeId(0), start, finish }
            } else {
                let resume = start + self.rng.random_range(0..3);
                let left = self.rng.random_range(0..3);
                Progress::Started { mode: ModeId(0), start, resume, left }
            };
        }
        task
    }

    fn event(&mut self, count: usize) -> Event {
        let task = TaskId::new(self.rng.random_range(0..count));
        if self.chance(50) { Event::start(task) } else { Event::finish(task) }
    }

    fn link(&mut self, count: usize) -> Link {
        let (from, to) = if self.chance(60) {
            let (a, b) =
                (self.rng.random_range(0..count), self.rng.random_range(0..count));
            let (a, b) = (TaskId::new(a.min(b)), TaskId::new(a.max(b)));
            (Event::finish(a), Event::start(b))
        } else {
            (self.event(count), self.event(count))
        };
        let working = self.chance(20);
        let clock = if working {
            Clock::Working(CalendarId(self.rng.random_range(0..2)))
        } else {
            Clock::Elapsed
        };
        let low = if working || self.chance(70) { 0 } else { -3 };
        let least = self.chance(80).then(|| self.rng.random_range(low..4));
        let greatest = (least.is_none() || self.chance(25))
            .then(|| least.unwrap_or(low) + self.rng.random_range(0..6));
        Link { from, to, least, greatest, clock }
    }

    fn occupancy(&mut self, count: usize) -> Occupancy {
        let (a, b) = (self.rng.random_range(0..count), self.rng.random_range(0..count));
        let (from, to) = if a == b || self.chance(20) {
            (self.event(count), self.event(count))
        } else {
            let (a, b) = (TaskId::new(a.min(b)), TaskId::new(a.max(b)));
            (Event::finish(a), Event::start(b))
        };
        let resource = ResourceId(self.rng.random_range(0..3));
        Occupancy { resource, amount: self.rng.random_range(1..3), from, to }
    }
}

/// The first rule that a schedule breaks, in words.
pub(crate) fn broken(problem: &Problem, schedule: &Schedule) -> Option<String> {
    if schedule.assignments.len() != problem.tasks().len() {
        return Some("a wrong number of assignments".to_owned());
    }
    let tasks = schedule.assignments.iter().enumerate();
    tasks
        .filter(|&(task, a)| !alone(problem, TaskId::new(task), a))
        .map(|(task, a)| format!("task {task} alone: {a:?}"))
        .next()
        .or_else(|| broken_link(problem, schedule))
        .or_else(|| broken_capacity(problem, schedule))
        .or_else(|| broken_stock(problem, schedule))
}

fn broken_stock(problem: &Problem, schedule: &Schedule) -> Option<String> {
    problem.stocks().iter().enumerate().find_map(|(number, stock)| {
        let (mut facts, mut choices) = (0, 0);
        for (task, run) in problem.tasks().iter().zip(&schedule.assignments) {
            let amount = taken(&task.modes[run.mode.at()], StockId::new(number));
            let part =
                if task.progress == Progress::Todo { &mut choices } else { &mut facts };
            *part += amount;
        }
        let over = choices > (stock.available - facts).max(0);
        over.then(|| format!("stock {number}: {facts} and {choices}"))
    })
}

/// Whether a task by itself may run so.
pub(crate) fn alone(problem: &Problem, id: TaskId, run: &Assignment) -> bool {
    let task = problem.task(id);
    let open = |calendar: CalendarId, from: Tick, until: Tick| {
        (from..until).filter(|&t| problem.calendar(calendar).is_open(t)).count() as Tick
    };
    let finish = |pace: Pace, start: Tick, work: Tick| match pace {
        Pace::Elapsed => Some(start + work),
        Pace::Whole(c) => (open(c, start, start + work) == work).then_some(start + work),
        Pace::Pausing(_) if work == 0 => Some(start),
        Pace::Pausing(c) => (start..start + 200).find(|&f| open(c, start, f) == work),
    };
    match task.progress {
        Progress::Done { mode, start, finish } => {
            *run == Assignment { mode, start, finish }
        }
        Progress::Started { mode, start, resume, left } => {
            let pace = task.modes[mode.at()].pace;
            (run.mode, run.start) == (mode, start)
                && finish(pace, resume, left) == Some(run.finish)
                && run.finish <= task.deadline.unwrap_or(Tick::MAX)
                && run.finish <= problem.horizon()
        }
        Progress::Todo => {
            let Some(mode) = task.modes.get(run.mode.at()) else {
                return false;
            };
            let starts = match mode.pace {
                Pace::Pausing(c) if mode.work > 0 => {
                    problem.calendar(c).is_open(run.start)
                }
                _ => true,
            };
            starts
                && finish(mode.pace, run.start, mode.work) == Some(run.finish)
                && run.start >= task.release
                && run.finish <= task.deadline.unwrap_or(Tick::MAX)
                && run.finish <= problem.horizon()
        }
    }
}

fn tick(schedule: &Schedule, event: Event) -> Tick {
    let run = schedule.assignments[event.task.at()];
    if event.end == End::Start { run.start } else { run.finish }
}

fn broken_link(problem: &Problem, schedule: &Schedule) -> Option<String> {
    problem.links().iter().enumerate().find_map(|(number, link)| {
        if settled(problem, link.from) && settled(problem, link.to) {
            return None;
        }
        let (from, to) = (tick(schedule, link.from), tick(schedule, link.to));
        let passed = match link.clock {
            Clock::Elapsed => to - from,
            Clock::Working(c) => {
                let open = |a: Tick, b: Tick| {
                    (a..b).filter(|&t| problem.calendar(c).is_open(t)).count() as Tick
                };
                open(from, to) - open(to, from)
            }
        };
        let early = link.least.is_some_and(|least| {
            passed < least || (link.clock != Clock::Elapsed && to < from)
        });
        let late = link.greatest.is_some_and(|greatest| passed > greatest);
        (early || late).then(|| format!("link {number}: {from} to {to}"))
    })
}

fn broken_capacity(problem: &Problem, schedule: &Schedule) -> Option<String> {
    for hold in problem.occupancies() {
        let past = settled(problem, hold.from) && settled(problem, hold.to);
        if !past && tick(schedule, hold.from) > tick(schedule, hold.to) {
            return Some(format!("occupancy {hold:?} in the wrong order"));
        }
    }
    (0..problem.resources().len()).find_map(|number| {
        let resource = ResourceId::new(number);
        (0..=problem.horizon() + 200).find_map(|t| {
            let (used, others) = used(problem, schedule, resource, t);
            (others && used > problem.resource(resource).capacity.at(t))
                .then(|| format!("resource {number} at {t}: {used}"))
        })
    })
}

fn settled(problem: &Problem, event: Event) -> bool {
    problem.task(event.task).progress != Progress::Todo
}

/// What is used of a resource at a tick, and whether any of it is not settled.
fn used(
    problem: &Problem,
    schedule: &Schedule,
    resource: ResourceId,
    t: Tick,
) -> (u32, bool) {
    let (mut used, mut others) = (0, false);
    for (task, run) in problem.tasks().iter().zip(&schedule.assignments) {
        let mode = &task.modes[run.mode.at()];
        let working = match mode.pace {
            Pace::Pausing(c) => problem.calendar(c).is_open(t),
            Pace::Elapsed | Pace::Whole(_) => true,
        };
        for demand in mode.demands.iter().filter(|demand| demand.resource == resource) {
            let counts = demand.during == During::Throughout || working;
            if counts && run.start <= t && t < run.finish {
                used += demand.amount;
                others |= task.progress == Progress::Todo;
            }
        }
    }
    for hold in problem.occupancies().iter().filter(|hold| hold.resource == resource) {
        if tick(schedule, hold.from) <= t && t < tick(schedule, hold.to) {
            used += hold.amount;
            let release = problem.task(hold.to.task).release;
            let past = settled(problem, hold.to) || t < release;
            others |= !settled(problem, hold.from) || !past;
        }
    }
    (used, others)
}
