//! A lawful schedule of a problem with every feature, and corruptions of it that each break
//! one rule: exactly that note comes, and no other.

use std::collections::BTreeSet;

use timetable::{
    Assignment, Calendar, CalendarId, Clock, Demand, Event, Link, LinkId, Mode, ModeId,
    Occupancy, OccupancyId, Pace, Problem, Profile, Progress, Resource, ResourceId,
    Schedule, Stock, StockId, Take, Task, TaskId, Tick, Window,
};
use verify::{Happened, Note, Rule, Severity, Taken, Use, User, check};

/// Four ticks of work, eight of rest.
const SHIFTS: CalendarId = CalendarId(0);
const WARM: CalendarId = CalendarId(1);

const FITTERS: ResourceId = ResourceId(0);
const STAND: ResourceId = ResourceId(1);
const BAY: ResourceId = ResourceId(2);

const SURVEY: usize = 0;
const STRIP: usize = 1;
const REMOVE: usize = 2;
const RADIOGRAPH: usize = 3;
const PAINT: usize = 4;
const REFIT: usize = 5;
const SIGN: usize = 6;
const WASH: usize = 7;
const TIDY: usize = 8;
const HELP: usize = 9;
const TOW: usize = 10;
const TRESTLE: usize = 11;
const DRAFT: usize = 12;
const PRINT: usize = 13;

/// A problem in parts, and a schedule of it.
#[derive(Clone)]
struct Parts {
    tasks: Vec<Task>,
    resources: Vec<Resource>,
    stocks: Vec<Stock>,
    links: Vec<Link>,
    occupancies: Vec<Occupancy>,
    runs: Vec<Assignment>,
}

impl Parts {
    fn run(&mut self, task: usize, start: Tick, finish: Tick) {
        self.runs[task].start = start;
        self.runs[task].finish = finish;
    }

    fn check(self) -> Vec<Note> {
        let Self { tasks, resources, stocks, links, occupancies, runs } = self;
        let calendars = vec![
            calendar("shifts", (0..10).map(|day| (12 * day + 8, 12 * day + 12))),
            calendar("warm days", [(0, 30), (60, 90)]),
        ];
        let problem = Problem::stocked(
            100,
            tasks,
            resources,
            stocks,
            calendars,
            links,
            occupancies,
        );
        let problem = problem.expect("the parts fit");
        check(&problem, &Schedule { assignments: runs })
    }
}

fn calendar(name: &str, windows: impl IntoIterator<Item = (Tick, Tick)>) -> Calendar {
    let windows = windows.into_iter().map(|(from, until)| Window { from, until });
    Calendar::new(name, windows.collect()).expect("windows in order")
}

fn start(task: usize) -> Event {
    Event::start(TaskId::new(task))
}

fn finish(task: usize) -> Event {
    Event::finish(TaskId::new(task))
}

fn task(name: &str, work: Tick, pace: Pace, demands: &[Demand]) -> Task {
    Task::new(name, Mode { pace, ..Mode::elapsed(work, demands.to_vec()) })
}

/// The lawful schedule. Each task stands beside where it runs.
fn workshop() -> Parts {
    let fitters = Demand::working(FITTERS, 1);
    let rows = [
        (task("survey", 5, Pace::Elapsed, &[]), 0, 6),
        (task("strip", 6, Pace::Pausing(SHIFTS), &[fitters]), 8, 22),
        (
            task(
                "remove",
                6,
                Pace::Pausing(SHIFTS),
                &[fitters, Demand::throughout(BAY, 1)],
            ),
            22,
            36,
        ),
        (task("radiograph", 20, Pace::Elapsed, &[]), 36, 56),
        (task("paint", 8, Pace::Whole(WARM), &[Demand::throughout(BAY, 1)]), 60, 68),
        (task("refit", 4, Pace::Pausing(SHIFTS), &[Demand::working(FITTERS, 2)]), 68, 72),
        (task("sign", 0, Pace::Pausing(SHIFTS), &[]), 75, 75),
        (task("wash", 5, Pace::Elapsed, &[]), 90, 95),
        (task("tidy", 3, Pace::Elapsed, &[]), 5, 8),
        (task("help", 2, Pace::Elapsed, &[Demand::working(FITTERS, 2)]), 50, 52),
        (task("tow", 2, Pace::Elapsed, &[Demand::throughout(BAY, 2)]), 40, 42),
        (task("trestle", 1, Pace::Elapsed, &[Demand::throughout(STAND, 1)]), 73, 74),
        (task("draft", 1, Pace::Elapsed, &[]), 13, 14),
        (task("print", 1, Pace::Elapsed, &[]), 15, 16),
    ];
    let runs = rows.iter().map(|&(_, start, finish)| Assignment {
        mode: ModeId(0),
        start,
        finish,
    });
    let runs = runs.collect();
    let mut tasks = rows.map(|(task, ..)| task).to_vec();
    settle(&mut tasks);
    tasks[REMOVE].release = 22;
    tasks[RADIOGRAPH].release = 30;
    tasks[RADIOGRAPH].deadline = Some(60);
    tasks[TIDY].release = 3;
    tasks[TIDY].deadline = Some(90);
    for several in [SURVEY, STRIP, RADIOGRAPH] {
        let mode = Mode { name: "by hand".into(), ..tasks[several].modes[0].clone() };
        tasks[several].modes.push(mode);
    }
    let resource = |name: &str, steps: &[(Tick, u32)]| Resource {
        name: name.into(),
        capacity: Profile::new(steps.to_vec()).expect("steps in order"),
    };
    let resources = vec![
        resource("fitters", &[(0, 2), (40, 1), (50, 2)]),
        resource("stand", &[(0, 1)]),
        resource("bay", &[(0, 2)]),
    ];
    let stocks = stocks(&mut tasks);
    let (links, occupancies) = (links(), occupancies());
    Parts { tasks, resources, stocks, links, occupancies, runs }
}

const SEALANT: StockId = StockId(0);
const SHEET: StockId = StockId(1);

/// Of sealant all is taken. Of sheet the survey and the stripping, which are facts, have
/// taken more than there was; nobody else takes any.
fn stocks(tasks: &mut [Task]) -> Vec<Stock> {
    for (task, mode, stock, amount) in [
        (SURVEY, 0, SHEET, 5),
        (STRIP, 0, SHEET, 1),
        (STRIP, 0, SEALANT, 2),
        (STRIP, 1, SEALANT, 90),
        (RADIOGRAPH, 0, SEALANT, 3),
        (RADIOGRAPH, 1, SEALANT, 4),
        (REFIT, 0, SEALANT, 5),
    ] {
        tasks[task].modes[mode].takes.push(Take { stock, amount });
    }
    let stock = |name: &str, available| Stock { name: name.into(), available };
    vec![stock("sealant", 10), stock("sheet", 5)]
}

/// What has happened. The survey broke its window, and stripping began before its release:
/// neither can be helped.
fn settle(tasks: &mut [Task]) {
    tasks[SURVEY].progress = Progress::Done { mode: ModeId(0), start: 0, finish: 6 };
    tasks[SURVEY].release = 4;
    tasks[SURVEY].deadline = Some(3);
    tasks[STRIP].release = 9;
    tasks[STRIP].progress =
        Progress::Started { mode: ModeId(0), start: 8, resume: 11, left: 3 };
}

fn links() -> Vec<Link> {
    let working = Clock::Working(SHIFTS);
    vec![
        Link::after(TaskId::new(REMOVE), TaskId::new(RADIOGRAPH)),
        Link { clock: working, ..Link::least(finish(RADIOGRAPH), start(REFIT), 4) },
        Link::greatest(finish(PAINT), start(REFIT), 4),
        Link { clock: working, ..Link::greatest(finish(REFIT), start(SIGN), 2) },
        // Broken, but by facts.
        Link::least(finish(SURVEY), start(STRIP), 5),
        Link::least(finish(STRIP), start(REMOVE), 0),
        Link::least(start(REFIT), start(PAINT), -55),
        Link { clock: working, ..Link::least(start(DRAFT), start(PRINT), 0) },
    ]
}

fn occupancies() -> Vec<Occupancy> {
    let stand = |from, to| Occupancy { resource: STAND, amount: 1, from, to };
    vec![
        stand(start(REMOVE), finish(REFIT)),
        stand(finish(SIGN), finish(WASH)),
        // Two on one stand until tick 22, but by facts: the removal cannot start before.
        stand(start(SURVEY), finish(STRIP)),
        stand(start(SURVEY), start(REMOVE)),
    ]
}

fn uses(users: &[(User, u64)]) -> Vec<Use> {
    users.iter().map(|&(user, amount)| Use { user, amount }).collect()
}

const fn runs(task: usize) -> User {
    User::Task(TaskId::new(task))
}

const fn occupies(position: usize) -> User {
    User::Occupancy(OccupancyId::new(position))
}

struct Corruption {
    apply: fn(&mut Parts),
    rule: Rule,
    sentence: &'static str,
}

fn corruptions() -> Vec<Corruption> {
    let all = [
        of_single_tasks(),
        of_finishes(),
        of_links(),
        of_capacity(),
        of_stocks(),
        of_the_past(),
    ];
    all.into_iter().flatten().collect()
}

fn of_stocks() -> Vec<Corruption> {
    let takers = |takers: &[(usize, i64)]| {
        let taken = |&(task, amount)| Taken { task: TaskId::new(task), amount };
        takers.iter().map(taken).collect()
    };
    vec![
        Corruption {
            apply: |parts| parts.runs[RADIOGRAPH].mode = ModeId(1),
            rule: Rule::StockExceeded {
                stock: SEALANT,
                taken: 11,
                available: 10,
                takers: takers(&[(STRIP, 2), (RADIOGRAPH, 4), (REFIT, 5)]),
            },
            sentence: "11 of \"sealant\" are taken and there are 10; taken by \"refit\" (5), \
                       \"radiograph\" (4), \"strip\" (2).",
        },
        Corruption {
            apply: |parts| {
                let take = Take { stock: SHEET, amount: 1 };
                parts.tasks[WASH].modes[0].takes.push(take);
            },
            rule: Rule::StockExceeded {
                stock: SHEET,
                taken: 7,
                available: 5,
                takers: takers(&[(SURVEY, 5), (STRIP, 1), (WASH, 1)]),
            },
            sentence: "7 of \"sheet\" are taken and there are 5; taken by \"survey\" (5), \
                       \"strip\" (1), \"wash\" (1).",
        },
        Corruption {
            apply: |parts| parts.stocks[0].available = 9,
            rule: Rule::StockExceeded {
                stock: SEALANT,
                taken: 10,
                available: 9,
                takers: takers(&[(STRIP, 2), (RADIOGRAPH, 3), (REFIT, 5)]),
            },
            sentence: "10 of \"sealant\" are taken and there are 9; taken by \"refit\" (5), \
                       \"radiograph\" (3), \"strip\" (2).",
        },
    ]
}

fn of_single_tasks() -> Vec<Corruption> {
    let tidy = TaskId::new(TIDY);
    vec![
        Corruption {
            apply: |parts| parts.runs.truncate(13),
            rule: Rule::WrongNumberOfTasks { expected: 14, found: 13 },
            sentence: "The problem has 14 tasks and the schedule 13.",
        },
        Corruption {
            apply: |parts| parts.runs[RADIOGRAPH].mode = ModeId(7),
            rule: Rule::UnknownMode {
                task: TaskId::new(RADIOGRAPH),
                mode: ModeId(7),
                modes: 2,
            },
            sentence: "\"radiograph\" runs in mode 8, and it has 2.",
        },
        Corruption {
            apply: |parts| parts.run(TIDY, -1, 2),
            rule: Rule::BeforeOrigin { task: tidy, start: -1 },
            sentence: "\"tidy\" starts at tick -1, before tick 0.",
        },
        Corruption {
            apply: |parts| parts.run(TIDY, 2, 5),
            rule: Rule::StartsTooEarly { task: tidy, start: 2, release: 3 },
            sentence: "\"tidy\" starts at tick 2, before its release at tick 3.",
        },
        Corruption {
            apply: |parts| parts.run(TIDY, 88, 91),
            rule: Rule::FinishesTooLate { task: tidy, finish: 91, deadline: 90 },
            sentence: "\"tidy\" finishes at tick 91, after its deadline at tick 90.",
        },
        Corruption {
            apply: |parts| parts.run(WASH, 96, 101),
            rule: Rule::BeyondHorizon {
                task: TaskId::new(WASH),
                finish: 101,
                horizon: 100,
            },
            sentence: "\"wash\" finishes at tick 101, after the horizon at tick 100.",
        },
        Corruption {
            apply: |parts| parts.run(REFIT, 64, 72),
            rule: Rule::ClosedTick {
                task: TaskId::new(REFIT),
                tick: 64,
                calendar: SHIFTS,
            },
            sentence: "\"refit\" needs tick 64 to be open, and it is closed in \"shifts\".",
        },
        Corruption {
            apply: |parts| parts.run(PAINT, 58, 66),
            rule: Rule::ClosedTick { task: TaskId::new(PAINT), tick: 58, calendar: WARM },
            sentence: "\"paint\" needs tick 58 to be open, and it is closed in \"warm days\".",
        },
        Corruption {
            apply: |parts| parts.run(PAINT, 84, 92),
            rule: Rule::ClosedTick { task: TaskId::new(PAINT), tick: 90, calendar: WARM },
            sentence: "\"paint\" needs tick 90 to be open, and it is closed in \"warm days\".",
        },
    ]
}

fn of_finishes() -> Vec<Corruption> {
    let wrong = |task: usize, expected, found| Rule::WrongFinish {
        task: TaskId::new(task),
        expected,
        found,
    };
    vec![
        Corruption {
            apply: |parts| parts.run(TIDY, 5, 9),
            rule: wrong(TIDY, Some(8), 9),
            sentence: "\"tidy\" finishes at tick 9, but its work ends at tick 8.",
        },
        Corruption {
            apply: |parts| parts.run(REMOVE, 22, 35),
            rule: wrong(REMOVE, Some(36), 35),
            sentence: "\"remove\" finishes at tick 35, but its work ends at tick 36.",
        },
        Corruption {
            apply: |parts| parts.run(SIGN, 75, 76),
            rule: wrong(SIGN, Some(75), 76),
            sentence: "\"sign\" finishes at tick 76, but its work ends at tick 75.",
        },
        Corruption {
            apply: |parts| parts.run(PAINT, 60, 67),
            rule: wrong(PAINT, Some(68), 67),
            sentence: "\"paint\" finishes at tick 67, but its work ends at tick 68.",
        },
        Corruption {
            apply: |parts| parts.run(STRIP, 8, 21),
            rule: wrong(STRIP, Some(22), 21),
            sentence: "\"strip\" finishes at tick 21, but its work ends at tick 22.",
        },
        Corruption {
            apply: |parts| parts.tasks[REMOVE].modes[0].work = 99,
            rule: wrong(REMOVE, None, 36),
            sentence: "\"remove\" finishes at tick 36, but its calendar ends before its \
                       work does.",
        },
    ]
}

fn of_links() -> Vec<Corruption> {
    let least = |link, least, found, from, to| Rule::LeastLag {
        link: LinkId::new(link),
        least,
        found,
        from,
        to,
    };
    let greatest = |link, greatest, found, from, to| Rule::GreatestLag {
        link: LinkId::new(link),
        greatest,
        found,
        from,
        to,
    };
    vec![
        Corruption {
            apply: |parts| parts.run(RADIOGRAPH, 35, 55),
            rule: least(0, 0, -1, 36, 35),
            sentence: "From the finish of \"remove\" at tick 36 to the start of \
                       \"radiograph\" at tick 35, -1 ticks pass; at least 0 must.",
        },
        Corruption {
            apply: |parts| parts.run(RADIOGRAPH, 40, 60),
            rule: least(1, 4, 0, 60, 68),
            sentence: "From the finish of \"radiograph\" at tick 60 to the start of \
                       \"refit\" at tick 68, 0 ticks that are open in \"shifts\" pass; at \
                       least 4 must.",
        },
        Corruption {
            apply: |parts| parts.run(PAINT, 14, 22),
            rule: greatest(2, 4, 46, 22, 68),
            sentence: "From the finish of \"paint\" at tick 22 to the start of \"refit\" \
                       at tick 68, 46 ticks pass; at most 4 may.",
        },
        Corruption {
            apply: |parts| parts.run(SIGN, 84, 84),
            rule: greatest(3, 2, 4, 72, 84),
            sentence: "From the finish of \"refit\" at tick 72 to the start of \"sign\" at \
                       tick 84, 4 ticks that are open in \"shifts\" pass; at most 2 may.",
        },
        Corruption {
            apply: |parts| parts.links[6].least = Some(-5),
            rule: least(6, -5, -8, 68, 60),
            sentence: "From the start of \"refit\" at tick 68 to the start of \"paint\" at \
                       tick 60, -8 ticks pass; at least -5 must.",
        },
        // The wrong way round in closed time: no open tick lies between.
        Corruption {
            apply: |parts| parts.run(DRAFT, 16, 17),
            rule: least(7, 0, 0, 16, 15),
            sentence: "From the start of \"draft\" at tick 16 to the start of \"print\" at \
                       tick 15, 0 ticks that are open in \"shifts\" pass; at least 0 must.",
        },
        Corruption {
            apply: |parts| parts.run(WASH, 65, 70),
            rule: Rule::OccupancyBackwards {
                occupancy: OccupancyId(1),
                from: 75,
                to: 70,
            },
            sentence: "Tick 70, at which the occupancy of \"stand\" from the finish of \
                       \"sign\" to the finish of \"wash\" ends, lies before tick 75, at \
                       which it begins.",
        },
    ]
}

fn of_capacity() -> Vec<Corruption> {
    let short = |resource, (tick, until), (used, capacity), users: &[(User, u64)]| {
        let users = uses(users);
        Rule::CapacityExceeded { resource, tick, until, used, capacity, users }
    };
    vec![
        Corruption {
            apply: |parts| parts.run(HELP, 69, 71),
            rule: short(FITTERS, (69, 71), (4, 2), &[(runs(REFIT), 2), (runs(HELP), 2)]),
            sentence: "\"fitters\" is short from tick 69 until tick 71: at first 4 are \
                       used and there are 2; used by \"refit\" (2), \"help\" (2).",
        },
        Corruption {
            apply: |parts| parts.run(HELP, 49, 51),
            rule: short(FITTERS, (49, 50), (2, 1), &[(runs(HELP), 2)]),
            sentence: "\"fitters\" is short from tick 49 until tick 50: at first 2 are \
                       used and there are 1; used by \"help\" (2).",
        },
        // The pause of the removal gives back the fitters, and keeps the bay.
        Corruption {
            apply: |parts| {
                parts.run(HELP, 26, 28);
                parts.run(TOW, 27, 29);
            },
            rule: short(BAY, (27, 29), (3, 2), &[(runs(REMOVE), 1), (runs(TOW), 2)]),
            sentence: "\"bay\" is short from tick 27 until tick 29: at first 3 are used \
                       and there are 2; used by \"remove\" (1), \"tow\" (2).",
        },
        Corruption {
            apply: |parts| {
                parts.run(SIGN, 71, 71);
                parts.run(TRESTLE, 97, 98);
            },
            rule: short(STAND, (71, 72), (2, 1), &[(occupies(0), 1), (occupies(1), 1)]),
            sentence: "\"stand\" is short from tick 71 until tick 72: at first 2 are used \
                       and there are 1; used by the occupancy of \"stand\" from the start \
                       of \"remove\" to the finish of \"refit\" (1), the occupancy of \
                       \"stand\" from the finish of \"sign\" to the finish of \"wash\" (1).",
        },
        // Where facts use too much already, a choice must not add to it.
        Corruption {
            apply: |parts| parts.run(TRESTLE, 10, 11),
            rule: short(
                STAND,
                (10, 11),
                (3, 1),
                &[(runs(TRESTLE), 1), (occupies(2), 1), (occupies(3), 1)],
            ),
            sentence: "\"stand\" is short from tick 10 until tick 11: at first 3 are used \
                       and there are 1; used by \"trestle\" (1), the occupancy of \
                       \"stand\" from the start of \"survey\" to the finish of \"strip\" \
                       (1), the occupancy of \"stand\" from the start of \"survey\" to the \
                       start of \"remove\" (1).",
        },
        // From its release on, it is a choice that the removal comes no sooner.
        Corruption {
            apply: |parts| parts.tasks[REMOVE].release = 20,
            rule: short(STAND, (20, 22), (2, 1), &[(occupies(2), 1), (occupies(3), 1)]),
            sentence: "\"stand\" is short from tick 20 until tick 22: at first 2 are used \
                       and there are 1; used by the occupancy of \"stand\" from the start \
                       of \"survey\" to the finish of \"strip\" (1), the occupancy of \
                       \"stand\" from the start of \"survey\" to the start of \"remove\" \
                       (1).",
        },
    ]
}

fn of_the_past() -> Vec<Corruption> {
    let done = Happened { mode: ModeId(0), start: 0, finish: Some(6) };
    let begun = Happened { mode: ModeId(0), start: 8, finish: None };
    let changed = |task, happened, mode, start, finish| Rule::PastChanged {
        task: TaskId::new(task),
        happened,
        found: Assignment { mode: ModeId(mode), start, finish },
    };
    vec![
        Corruption {
            apply: |parts| parts.run(SURVEY, 1, 6),
            rule: changed(SURVEY, done, 0, 1, 6),
            sentence: "\"survey\" ran in mode 1 from tick 0 until tick 6, and the schedule \
                       has it in mode 1 from tick 1 until tick 6.",
        },
        Corruption {
            apply: |parts| parts.run(SURVEY, 0, 5),
            rule: changed(SURVEY, done, 0, 0, 5),
            sentence: "\"survey\" ran in mode 1 from tick 0 until tick 6, and the schedule \
                       has it in mode 1 from tick 0 until tick 5.",
        },
        Corruption {
            apply: |parts| parts.runs[SURVEY].mode = ModeId(1),
            rule: changed(SURVEY, done, 1, 0, 6),
            sentence: "\"survey\" ran in mode 1 from tick 0 until tick 6, and the schedule \
                       has it in mode \"by hand\" from tick 0 until tick 6.",
        },
        Corruption {
            apply: |parts| parts.run(STRIP, 9, 22),
            rule: changed(STRIP, begun, 0, 9, 22),
            sentence: "\"strip\" ran in mode 1 from tick 8, and the schedule has it in \
                       mode 1 from tick 9 until tick 22.",
        },
        Corruption {
            apply: |parts| parts.runs[STRIP].mode = ModeId(1),
            rule: changed(STRIP, begun, 1, 8, 22),
            sentence: "\"strip\" ran in mode 1 from tick 8, and the schedule has it in \
                       mode \"by hand\" from tick 8 until tick 22.",
        },
    ]
}

fn kind(rule: &Rule) -> usize {
    match rule {
        Rule::WrongNumberOfTasks { .. } => 0,
        Rule::UnknownMode { .. } => 1,
        Rule::BeforeOrigin { .. } => 2,
        Rule::StartsTooEarly { .. } => 3,
        Rule::FinishesTooLate { .. } => 4,
        Rule::BeyondHorizon { .. } => 5,
        Rule::WrongFinish { .. } => 6,
        Rule::ClosedTick { .. } => 7,
        Rule::LeastLag { .. } => 8,
        Rule::GreatestLag { .. } => 9,
        Rule::OccupancyBackwards { .. } => 10,
        Rule::CapacityExceeded { .. } => 11,
        Rule::PastChanged { .. } => 12,
        Rule::StockExceeded { .. } => 13,
    }
}

#[test]
fn the_workshop_is_lawful() {
    assert_eq!(workshop().check(), []);
}

#[test]
fn each_corruption_gives_its_note_and_no_other() {
    for corruption in corruptions() {
        let mut parts = workshop();
        (corruption.apply)(&mut parts);
        let notes = parts.check();
        let rules: Vec<_> = notes.iter().map(|note| note.rule.clone()).collect();
        assert_eq!(rules, [corruption.rule]);
        assert_eq!(notes[0].to_string(), corruption.sentence);
    }
}

#[test]
fn every_rule_is_corrupted() {
    let kinds: BTreeSet<_> = corruptions().iter().map(|c| kind(&c.rule)).collect();
    assert_eq!(kinds, (0..=13).collect());
}

/// One task uses a resource in two ways at once, one of which pauses.
#[test]
fn stretches_end_where_there_is_enough() {
    let mut parts = workshop();
    parts.tasks[REMOVE].modes[0].demands.push(Demand::working(BAY, 2));
    let rules: Vec<_> = parts.check().into_iter().map(|note| note.rule).collect();
    let stretch = |tick, until| Rule::CapacityExceeded {
        resource: BAY,
        tick,
        until,
        used: 3,
        capacity: 2,
        users: uses(&[(runs(REMOVE), 3)]),
    };
    assert_eq!(rules, [stretch(22, 24), stretch(32, 36)]);
}

/// What every schedule has ends with the event even where that comes too early.
#[test]
fn an_occupancy_ends_with_its_event() {
    let mut parts = workshop();
    parts.tasks[DRAFT].release = 18;
    let (from, to) = (start(SURVEY), start(DRAFT));
    parts.occupancies.push(Occupancy { resource: STAND, amount: 1, from, to });
    parts.run(TRESTLE, 14, 15);
    let rules: Vec<_> = parts.check().into_iter().map(|note| note.rule).collect();
    let early = Rule::StartsTooEarly { task: TaskId::new(DRAFT), start: 13, release: 18 };
    let short = Rule::CapacityExceeded {
        resource: STAND,
        tick: 14,
        until: 15,
        used: 3,
        capacity: 1,
        users: uses(&[(runs(TRESTLE), 1), (occupies(2), 1), (occupies(3), 1)]),
    };
    assert_eq!(rules, [early, short]);
}

/// Checks one started task in each pace.
fn rest(pace: Pace, (resume, left): (Tick, Tick), finish: Tick) -> Vec<Rule> {
    let mut parts = workshop();
    parts.tasks[STRIP].modes[0].pace = pace;
    parts.tasks[STRIP].progress =
        Progress::Started { mode: ModeId(0), start: 8, resume, left };
    parts.links.clear();
    parts.run(STRIP, 8, finish);
    parts.check().into_iter().map(|note| note.rule).collect()
}

#[test]
fn the_rest_of_a_started_task_follows_its_pace() {
    let strip = TaskId::new(STRIP);
    let closed = |tick| Rule::ClosedTick { task: strip, tick, calendar: SHIFTS };
    for (pace, rest_of, finish, rules) in [
        (Pace::Elapsed, (11, 3), 14, vec![]),
        (Pace::Elapsed, (11, 0), 11, vec![]),
        (Pace::Whole(SHIFTS), (9, 3), 12, vec![]),
        (Pace::Whole(SHIFTS), (11, 3), 14, vec![closed(12)]),
        (Pace::Whole(SHIFTS), (13, 0), 13, vec![]),
        (Pace::Pausing(SHIFTS), (13, 1), 21, vec![]),
        (Pace::Pausing(SHIFTS), (13, 0), 13, vec![]),
        (Pace::Pausing(SHIFTS), (11, 1), 12, vec![]),
        (
            Pace::Pausing(SHIFTS),
            (13, 0),
            20,
            vec![Rule::WrongFinish { task: strip, expected: Some(13), found: 20 }],
        ),
    ] {
        assert_eq!(rest(pace, rest_of, finish), rules, "{pace:?} {rest_of:?} {finish}");
    }
}

#[test]
fn what_cannot_be_read_is_marked() {
    let mut parts = workshop();
    parts.runs[WASH].mode = ModeId(u32::MAX);
    parts.run(TIDY, 2, 5);
    let severities: Vec<_> = parts.check().iter().map(|note| note.severity).collect();
    assert_eq!(severities, [Severity::Unreadable, Severity::Breach]);
}

#[test]
fn absurd_numbers_are_survived() {
    for tick in [Tick::MIN, Tick::MIN + 1, -1, Tick::MAX - 1, Tick::MAX] {
        for other in [Tick::MIN, 0, Tick::MAX] {
            let mut parts = workshop();
            for task in 0..parts.runs.len() {
                parts.run(task, tick, other);
            }
            assert!(!parts.check().is_empty(), "{tick} {other}");
        }
    }
}
