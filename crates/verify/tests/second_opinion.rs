//! A second checker, which looks at every tick by itself, must agree with `check` on small
//! random problems and schedules.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;
use timetable::{
    Assignment, Calendar, CalendarId, Clock, Demand, Due, During, End, Event, Link, Mode,
    ModeId, Occupancy, Pace, Problem, Profile, Progress, Resource, ResourceId, Schedule,
    Stock, StockId, Take, Task, TaskId, Tick, Window,
};
use verify::{Rule, User, check};

const HORIZON: Tick = 12;
/// Everything that is generated lies well within these ticks.
const ALL: std::ops::Range<Tick> = -10..60;

/// One breach, reduced to what both checkers can name.
type Key = (&'static str, usize, Option<i64>);

/// Draws small numbers from a list; 0 when it has run out.
struct Dice<'a>(std::slice::Iter<'a, u8>);

impl Dice<'_> {
    fn below(&mut self, sides: u8) -> u8 {
        self.0.next().map_or(0, |byte| byte % sides)
    }

    fn tick(&mut self, sides: u8) -> Tick {
        Tick::from(self.below(sides))
    }

    fn position(&mut self, count: usize) -> usize {
        usize::from(self.below(count as u8))
    }

    fn once_in(&mut self, sides: u8) -> bool {
        self.below(sides) == sides - 1
    }
}

fn problem(dice: &mut Dice<'_>) -> Problem {
    let calendars = vec![calendar(dice), calendar(dice)];
    let resources = vec![resource(dice), resource(dice)];
    let count = 1 + dice.position(4);
    let mut tasks: Vec<Task> = (0..count).map(|_| task(dice)).collect();
    let links = (0..dice.below(4)).map(|_| link(dice, count)).collect();
    let occupancies = (0..dice.below(4))
        .map(|_| Occupancy {
            resource: ResourceId::new(dice.position(2)),
            amount: 1 + u32::from(dice.below(2)),
            from: event(dice, count),
            to: event(dice, count),
        })
        .collect();
    let stocks = stocks(dice, &mut tasks);
    Problem::stocked(HORIZON, tasks, resources, stocks, calendars, links, occupancies)
        .expect("what is generated fits together")
}

fn calendar(dice: &mut Dice<'_>) -> Calendar {
    let mut windows = Vec::new();
    let mut tick = dice.tick(3);
    for _ in 0..dice.below(5) {
        let until = tick + 1 + dice.tick(5);
        windows.push(Window { from: tick, until });
        tick = until + 1 + dice.tick(3);
    }
    Calendar::new("calendar", windows).expect("windows in order")
}

fn resource(dice: &mut Dice<'_>) -> Resource {
    let level = |dice: &mut Dice<'_>| 3 - u32::from(dice.below(4));
    let mut steps = vec![(0, level(dice))];
    for _ in 0..dice.below(3) {
        let last = steps.last().map_or(0, |&(tick, _)| tick);
        steps.push((last + 1 + dice.tick(6), level(dice)));
    }
    Resource {
        name: "resource".to_owned(),
        capacity: Profile::new(steps).expect("steps in order"),
    }
}

fn task(dice: &mut Dice<'_>) -> Task {
    let mut task = Task::new("task", mode(dice));
    if dice.once_in(3) {
        task.modes.push(mode(dice));
    }
    if dice.once_in(3) {
        task.release = dice.tick(8);
    }
    if dice.once_in(3) {
        task.deadline = Some(dice.tick(14));
    }
    if dice.once_in(5) {
        task.due = Some(Due { at: dice.tick(9), weight: 1 });
    }
    let mode = ModeId::new(dice.position(task.modes.len()));
    let start = dice.tick(5);
    let then = start + dice.tick(5);
    task.progress = match dice.below(6) {
        5 => Progress::Done { mode, start, finish: then },
        4 => Progress::Started { mode, start, resume: then, left: dice.tick(4) },
        _ => Progress::Todo,
    };
    task
}

fn mode(dice: &mut Dice<'_>) -> Mode {
    let work = dice.tick(5);
    let mut demands = Vec::new();
    for resource in 0..2 {
        for during in [During::Throughout, During::Working] {
            if dice.once_in(3) {
                let (resource, amount) =
                    (ResourceId::new(resource), 1 + u32::from(dice.below(2)));
                demands.push(Demand { resource, amount, during });
            }
        }
    }
    let calendar = CalendarId::new(dice.position(2));
    let pace = match dice.below(3) {
        0 => Pace::Elapsed,
        1 => Pace::Whole(calendar),
        _ => Pace::Pausing(calendar),
    };
    Mode { pace, ..Mode::elapsed(work, demands) }
}

/// Two stocks, of which some modes take.
fn stocks(dice: &mut Dice<'_>, tasks: &mut [Task]) -> Vec<Stock> {
    for mode in tasks.iter_mut().flat_map(|task| &mut task.modes) {
        for stock in [0, 1].map(StockId) {
            if dice.once_in(3) {
                let amount = 1 + i64::from(dice.below(3));
                mode.takes.push(Take { stock, amount });
            }
        }
    }
    let stock = |available: u8| Stock {
        name: "stock".to_owned(),
        available: i64::from(available),
    };
    vec![stock(9 - dice.below(8)), stock(9 - dice.below(9))]
}

fn event(dice: &mut Dice<'_>, count: usize) -> Event {
    let task = TaskId::new(dice.position(count));
    let end = if dice.below(2) == 0 { End::Start } else { End::Finish };
    Event { task, end }
}

fn link(dice: &mut Dice<'_>, count: usize) -> Link {
    let (from, to) = (event(dice, count), event(dice, count));
    let working = dice.once_in(2);
    let calendar = CalendarId::new(dice.position(2));
    let clock = if working { Clock::Working(calendar) } else { Clock::Elapsed };
    let least = if working { dice.tick(3) } else { dice.tick(8) - 5 };
    let greatest = Some(least + dice.tick(6));
    let (least, greatest) = match dice.below(3) {
        0 => (Some(least), None),
        1 => (None, greatest),
        _ => (Some(least), greatest),
    };
    Link { from, to, least, greatest, clock }
}

/// A schedule in which most runs are as they should be.
fn schedule(dice: &mut Dice<'_>, problem: &Problem) -> Schedule {
    let runs = problem.tasks().iter().map(|task| {
        let mut run = Assignment {
            mode: ModeId::new(dice.position(task.modes.len())),
            start: task.release + dice.tick(8),
            finish: 0,
        };
        match task.progress {
            Progress::Todo => {}
            Progress::Started { mode, start, .. }
            | Progress::Done { mode, start, .. } => {
                run.mode = mode;
                run.start = start;
            }
        }
        if dice.once_in(12) {
            run.mode = ModeId::new(dice.position(4));
        }
        if dice.once_in(6) {
            run.start = dice.tick(14) - 2;
        }
        let follows = Looker { problem, runs: &[] }.finish(task, run);
        run.finish = follows.unwrap_or(run.start);
        if dice.once_in(12) {
            run.finish += dice.tick(5) - 2;
        }
        run
    });
    Schedule { assignments: runs.collect() }
}

/// The second checker.
struct Looker<'a> {
    problem: &'a Problem,
    runs: &'a [Assignment],
}

impl Looker<'_> {
    fn is_open(&self, calendar: CalendarId, tick: Tick) -> bool {
        let windows = self.problem.calendar(calendar).windows();
        windows.iter().any(|window| (window.from..window.until).contains(&tick))
    }

    /// The finish that follows for a task, from facts or from the start in its run.
    fn finish(&self, task: &Task, run: Assignment) -> Option<Tick> {
        let (mode, from, work) = match task.progress {
            Progress::Done { finish, .. } => return Some(finish),
            Progress::Started { mode, resume, left, .. } => (mode, resume, Some(left)),
            Progress::Todo => (run.mode, run.start, None),
        };
        let mode = task.modes.get(mode.at())?;
        let work = work.unwrap_or(mode.work);
        let Pace::Pausing(calendar) = mode.pace else { return Some(from + work) };
        (from..ALL.end).find(|&finish| {
            (from..finish).filter(|&tick| self.is_open(calendar, tick)).count()
                == work as usize
        })
    }

    fn settled(&self, task: TaskId) -> bool {
        self.problem.task(task).progress != Progress::Todo
    }

    fn tick(&self, event: Event) -> Tick {
        match event.end {
            End::Start => self.runs[event.task.at()].start,
            End::Finish => self.runs[event.task.at()].finish,
        }
    }

    fn look(&self) -> BTreeSet<Key> {
        let mut keys = BTreeSet::new();
        for at in 0..self.runs.len() {
            self.look_at_task(at, &mut keys);
        }
        for at in 0..self.problem.links().len() {
            self.look_at_link(at, &mut keys);
        }
        for (at, stock) in self.problem.stocks().iter().enumerate() {
            let (facts, choices) = (self.taken(at, true), self.taken(at, false));
            // Choices have what the facts left.
            let left = (stock.available - facts).max(0);
            if choices > left {
                keys.insert(("stock", at, Some(facts + choices)));
            }
        }
        for (at, occupancy) in self.problem.occupancies().iter().enumerate() {
            let settled =
                self.settled(occupancy.from.task) && self.settled(occupancy.to.task);
            if !settled && self.tick(occupancy.from) > self.tick(occupancy.to) {
                keys.insert(("backwards", at, None));
            }
        }
        for (resource, tick) in self.shortages().into_keys() {
            keys.insert(("short", resource, Some(i64::from(tick))));
        }
        keys
    }

    fn look_at_task(&self, at: usize, keys: &mut BTreeSet<Key>) {
        let (task, run) = (&self.problem.tasks()[at], self.runs[at]);
        let mode = task.modes.get(run.mode.at());
        if mode.is_none() {
            keys.insert(("mode", at, None));
        }
        let repeats = match task.progress {
            Progress::Todo => true,
            Progress::Started { mode, start, .. } => {
                (mode, start) == (run.mode, run.start)
            }
            Progress::Done { mode, start, finish } => {
                run == Assignment { mode, start, finish }
            }
        };
        if !repeats {
            keys.insert(("past", at, None));
        }
        if matches!(task.progress, Progress::Done { .. }) {
            return;
        }
        if task.progress == Progress::Todo && run.start < task.release {
            keys.insert((if run.start < 0 { "origin" } else { "early" }, at, None));
        }
        if task.deadline.is_some_and(|deadline| deadline < run.finish) {
            keys.insert(("deadline", at, None));
        }
        if run.finish > HORIZON {
            keys.insert(("horizon", at, None));
        }
        let follows = self.finish(task, run);
        let can_tell = mode.is_some() || task.progress != Progress::Todo;
        if can_tell && follows != Some(run.finish) {
            keys.insert(("finish", at, follows.map(i64::from)));
        }
        if let Some(closed) = self.must_be_open(task, run) {
            keys.insert(("closed", at, Some(i64::from(closed))));
        }
    }

    /// The first tick that should be open and is not.
    fn must_be_open(&self, task: &Task, run: Assignment) -> Option<Tick> {
        let (mode, from, work, begins) = match task.progress {
            Progress::Done { .. } => return None,
            Progress::Started { mode, resume, left, .. } => {
                (task.modes.get(mode.at())?, resume, left, false)
            }
            Progress::Todo => {
                let mode = task.modes.get(run.mode.at())?;
                (mode, run.start, mode.work, true)
            }
        };
        match mode.pace {
            Pace::Elapsed => None,
            Pace::Whole(calendar) => {
                (from..from + work).find(|&tick| !self.is_open(calendar, tick))
            }
            Pace::Pausing(calendar) => {
                (begins && work > 0 && !self.is_open(calendar, from)).then_some(from)
            }
        }
    }

    /// What settled tasks, or all others, take of a stock.
    fn taken(&self, stock: usize, settled: bool) -> i64 {
        let mut sum = 0;
        for (task, run) in self.problem.tasks().iter().zip(self.runs) {
            let mode = match task.progress {
                Progress::Done { mode, .. } | Progress::Started { mode, .. }
                    if settled =>
                {
                    mode
                }
                Progress::Todo if !settled => run.mode,
                _ => continue,
            };
            for take in task.modes.get(mode.at()).map_or(&[][..], |mode| &mode.takes) {
                sum += if take.stock.at() == stock { take.amount } else { 0 };
            }
        }
        sum
    }

    fn look_at_link(&self, at: usize, keys: &mut BTreeSet<Key>) {
        let link = &self.problem.links()[at];
        if self.settled(link.from.task) && self.settled(link.to.task) {
            return;
        }
        let (from, to) = (self.tick(link.from), self.tick(link.to));
        let (low, high) = (from.min(to), from.max(to));
        let counts = |&tick: &Tick| match link.clock {
            Clock::Elapsed => true,
            Clock::Working(calendar) => self.is_open(calendar, tick),
        };
        let between = (low..high).filter(counts).count() as i64;
        let lag = if to < from { -between } else { between };
        let wrong_way = link.clock != Clock::Elapsed && to < from;
        if link.least.is_some_and(|least| lag < i64::from(least) || wrong_way) {
            keys.insert(("least", at, Some(lag)));
        }
        if link.greatest.is_some_and(|greatest| lag > i64::from(greatest)) {
            keys.insert(("greatest", at, Some(lag)));
        }
    }

    /// Who uses how much of each resource that is short, by resource and tick.
    fn shortages(&self) -> BTreeMap<(usize, Tick), BTreeMap<User, u64>> {
        let mut shortages = BTreeMap::new();
        for (at, resource) in self.problem.resources().iter().enumerate() {
            for tick in ALL {
                let (users, chosen) = self.users(ResourceId::new(at), tick);
                let steps = resource.capacity.steps().iter();
                let level = steps.rev().find(|&&(from, _)| from <= tick.max(0));
                let level = level.map_or(0, |&(_, level)| level);
                if chosen && users.values().sum::<u64>() > u64::from(level) {
                    shortages.insert((at, tick), users);
                }
            }
        }
        shortages
    }

    /// Who uses a resource at a tick, and whether anyone does by choice.
    fn users(&self, resource: ResourceId, tick: Tick) -> (BTreeMap<User, u64>, bool) {
        let mut users = BTreeMap::new();
        let mut chosen = false;
        for (at, run) in self.runs.iter().enumerate() {
            let id = TaskId::new(at);
            let Some(mode) = self.problem.task(id).modes.get(run.mode.at()) else {
                continue;
            };
            for demand in mode.demands.iter().filter(|demand| demand.resource == resource)
            {
                let works = match (demand.during, mode.pace) {
                    (During::Working, Pace::Pausing(calendar)) => {
                        self.is_open(calendar, tick)
                    }
                    _ => true,
                };
                if works && run.start <= tick && tick < run.finish {
                    *users.entry(User::Task(id)).or_default() += u64::from(demand.amount);
                    chosen |= !self.settled(id);
                }
            }
        }
        for (at, occupancy) in self.problem.occupancies().iter().enumerate() {
            let (from, to) = (self.tick(occupancy.from), self.tick(occupancy.to));
            if occupancy.resource == resource && from <= tick && tick < to {
                let id = timetable::OccupancyId::new(at);
                users.insert(User::Occupancy(id), u64::from(occupancy.amount));
                let waits = self.problem.task(occupancy.to.task);
                chosen |= !self.settled(occupancy.from.task)
                    || !self.settled(occupancy.to.task) && tick >= waits.release;
            }
        }
        (users, chosen)
    }
}

/// What `check` found, in the same terms; what it says of shortages is compared here.
fn found(looker: &Looker<'_>, schedule: &Schedule) -> BTreeSet<Key> {
    let shortages = looker.shortages();
    let mut keys = BTreeSet::new();
    for note in check(looker.problem, schedule) {
        let key = match note.rule {
            Rule::WrongNumberOfTasks { .. } => ("number", 0, None),
            Rule::UnknownMode { task, .. } => ("mode", task.at(), None),
            Rule::BeforeOrigin { task, .. } => ("origin", task.at(), None),
            Rule::StartsTooEarly { task, .. } => ("early", task.at(), None),
            Rule::FinishesTooLate { task, .. } => ("deadline", task.at(), None),
            Rule::BeyondHorizon { task, .. } => ("horizon", task.at(), None),
            Rule::WrongFinish { task, expected, .. } => {
                ("finish", task.at(), expected.map(i64::from))
            }
            Rule::ClosedTick { task, tick, .. } => {
                ("closed", task.at(), Some(i64::from(tick)))
            }
            Rule::LeastLag { link, found, .. } => ("least", link.at(), Some(found)),
            Rule::GreatestLag { link, found, .. } => ("greatest", link.at(), Some(found)),
            Rule::OccupancyBackwards { occupancy, .. } => {
                ("backwards", occupancy.at(), None)
            }
            Rule::PastChanged { task, .. } => ("past", task.at(), None),
            Rule::StockExceeded { stock, taken, takers, .. } => {
                assert_eq!(takers.iter().map(|taken| taken.amount).sum::<i64>(), taken);
                ("stock", stock.at(), Some(taken))
            }
            Rule::CapacityExceeded { resource, tick, until, used, users, .. } => {
                let users: BTreeMap<_, _> =
                    users.into_iter().map(|usage| (usage.user, usage.amount)).collect();
                assert_eq!(users.values().sum::<u64>(), used);
                assert_eq!(shortages.get(&(resource.at(), tick)), Some(&users));
                keys.extend(
                    (tick..until)
                        .map(|tick| ("short", resource.at(), Some(i64::from(tick)))),
                );
                continue;
            }
        };
        assert!(keys.insert(key), "said twice: {key:?}");
    }
    keys
}

/// What both say of the problem and schedule that some numbers make.
fn opinions(numbers: &[u8]) -> (BTreeSet<Key>, BTreeSet<Key>) {
    let mut dice = Dice(numbers.iter());
    let problem = problem(&mut dice);
    let schedule = schedule(&mut dice, &problem);
    let looker = Looker { problem: &problem, runs: &schedule.assignments };
    (looker.look(), found(&looker, &schedule))
}

fn numbers() -> impl Strategy<Value = Vec<u8>> {
    prop::collection::vec(any::<u8>(), 240)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]

    #[test]
    fn both_checkers_agree(numbers in numbers()) {
        let (second, first) = opinions(&numbers);
        prop_assert_eq!(first, second);
    }
}

/// Agreement means little if nothing is ever lawful, or some rule never broken.
#[test]
fn the_random_schedules_are_of_every_kind() {
    let mut runner = TestRunner::deterministic();
    let mut seen: BTreeMap<&str, u32> = BTreeMap::new();
    for _ in 0..3000 {
        let tree = numbers().new_tree(&mut runner).expect("numbers can be drawn");
        let (_, found) = opinions(&tree.current());
        let kinds: BTreeSet<_> = found.iter().map(|key| key.0).collect();
        match kinds.len() {
            0 => *seen.entry("lawful").or_default() += 1,
            _ => kinds.into_iter().for_each(|kind| *seen.entry(kind).or_default() += 1),
        }
    }
    let kinds = [
        "lawful",
        "mode",
        "origin",
        "early",
        "deadline",
        "horizon",
        "finish",
        "closed",
        "least",
        "greatest",
        "backwards",
        "past",
        "short",
        "stock",
    ];
    for kind in kinds {
        let count = seen.get(kind).copied().unwrap_or(0);
        assert!(count >= 50, "{kind}: {count} of 3000; {seen:?}");
    }
}
