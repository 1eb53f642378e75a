//! Small problems: rules of every kind on a grid of a few dozen ticks.

use rand::{Rng, RngExt};
use rand_pcg::Pcg64Mcg;
use timetable::{
    Assignment, Calendar, CalendarId, Clock, Demand, Due, During, Event, Link, Mode,
    ModeId, Occupancy, Pace, Profile, Progress, Published, Resource, ResourceId, Task,
    TaskId, Tick, Window,
};

use crate::board::{Board, tick};
use crate::generate::Draft;

/// No schedule that is laid down is longer.
const LENGTH: Tick = 400;

const CALENDARS: usize = 3;

pub(crate) fn draw(count: usize, rng: Pcg64Mcg) -> Draft {
    let mut lots = Lots(rng);
    let day = lots.between(5, 8);
    let calendars = vec![
        days(&mut lots, "day shift", day, &[0, 1, 2, 3, 4]),
        days(&mut lots, "late shift", day, &[0, 1, 2, 3, 4, 5]),
        days(&mut lots, "other days", day, &[2, 4, 5]),
    ];
    let resources: Vec<Resource> = ["fitters", "inspectors", "bay", "stand"]
        .into_iter()
        .map(|name| resource(&mut lots, name))
        .collect();
    let mut board = Board::new(&resources, LENGTH);
    let mut draft = Draft {
        horizon: 0,
        tasks: Vec::new(),
        resources,
        stocks: Vec::new(),
        calendars,
        links: Vec::new(),
        occupancies: Vec::new(),
        runs: Vec::new(),
    };
    for number in 0..count {
        place(&mut lots, &mut draft, &mut board, number);
    }
    // Half of them have many rules close to what the schedule does, half leave it free to
    // change, so that people and places decide.
    let loose = lots.percent(50);
    let wanted = if loose { count * 2 / 3 } else { count };
    let wanted = wanted + lots.between(0, count as Tick / 2) as usize;
    for _ in 0..wanted * 3 {
        if draft.links.len() < wanted {
            let link = link(&mut lots, &draft, loose);
            draft.links.extend(link);
        }
    }
    for _ in 0..count / 2 {
        occupy(&mut lots, &mut draft, &mut board);
    }
    windows(&mut lots, &mut draft, loose);
    let length = draft.runs.iter().map(|run| run.finish).max().unwrap_or(0);
    draft.horizon = length + lots.between(1, 9);
    if lots.percent(35) {
        past(&mut lots, &mut draft, &mut board);
    }
    if lots.percent(15) {
        spoil(&mut lots, &mut draft);
    }
    draft
}

struct Lots(Pcg64Mcg);

impl Lots {
    fn percent(&mut self, percent: u32) -> bool {
        self.0.random_ratio(percent, 100)
    }

    /// A number from the least to the greatest, both among them.
    fn between(&mut self, least: Tick, greatest: Tick) -> Tick {
        self.0.random_range(least..=greatest.max(least))
    }

    fn below(&mut self, count: usize) -> usize {
        // Drawn as 64 bits so that it is the same on machines of any word.
        (self.0.next_u64() % count.max(1) as u64) as usize
    }
}

/// A calendar with one or two windows on the given days of a week of seven.
fn days(lots: &mut Lots, name: &str, day: Tick, open: &[Tick]) -> Calendar {
    let from = lots.between(0, 2);
    let until = lots.between(from + 2, day);
    let pause =
        (until - from >= 4 && lots.percent(60)).then(|| from + (until - from) / 2);
    let mut windows = Vec::new();
    for number in 0..LENGTH / day {
        if !open.contains(&(number % 7)) {
            continue;
        }
        let midnight = number * day;
        let mut add = |from, until| {
            windows.push(Window { from: midnight + from, until: midnight + until });
        };
        match pause {
            Some(pause) => {
                add(from, pause);
                add(pause + 1, until);
            }
            None => add(from, until),
        }
    }
    Calendar::new(name, windows).expect("days come in order")
}

/// Mostly one or two of it, never less than one for long.
fn resource(lots: &mut Lots, name: &str) -> Resource {
    let mut steps = vec![(0, lots.between(1, 3) as u32)];
    if lots.percent(50) {
        let mut from = lots.between(4, 15);
        while from < LENGTH / 2 {
            let level = lots.between(i32::from(from % 3 > 0), 3) as u32;
            steps.push((from, level));
            from += lots.between(3, 20);
        }
        steps.push((LENGTH / 2, 3));
    }
    let capacity = Profile::new(steps).expect("steps come in order");
    Resource { name: name.to_owned(), capacity }
}

fn mode(lots: &mut Lots, number: usize) -> Mode {
    let calendar = CalendarId::new(lots.below(CALENDARS));
    let pace = match lots.below(10) {
        0..=2 => Pace::Elapsed,
        3 | 4 => Pace::Whole(calendar),
        _ => Pace::Pausing(calendar),
    };
    let longest = if matches!(pace, Pace::Whole(_)) { 2 } else { 7 };
    let mut work = lots.between(1, longest);
    if lots.percent(5) {
        work = 0;
    }
    let mut demands = Vec::new();
    for (resource, percent) in [(0, 60), (1, 30), (2, 35), (3, 15)] {
        if lots.percent(percent) {
            let amount = if lots.percent(25) { 2 } else { 1 };
            let people = resource < 2;
            let during = if lots.percent(if people { 75 } else { 10 }) {
                During::Working
            } else {
                During::Throughout
            };
            demands.push(Demand { resource: ResourceId(resource), amount, during });
            if lots.percent(4) {
                let during = match during {
                    During::Working => During::Throughout,
                    During::Throughout => During::Working,
                };
                demands.push(Demand {
                    resource: ResourceId(resource),
                    amount: 1,
                    during,
                });
            }
        }
    }
    let cost = i64::from(lots.between(0, 5));
    let name = format!("way {number}");
    Mode { name, pace, cost, ..Mode::elapsed(work, demands) }
}

/// Draws a task with its ways until one of them has a place, and lays it down.
fn place(lots: &mut Lots, draft: &mut Draft, board: &mut Board, number: usize) {
    // Not all from the origin: later ones tend to come later, as chains will have them.
    let from = lots.between(0, 2 * number as Tick);
    loop {
        let ways = if lots.percent(35) { 2 } else { 1 };
        let modes: Vec<Mode> = (0..ways).map(|number| mode(lots, number)).collect();
        let chosen = ModeId::new(lots.below(ways));
        let way = &modes[chosen.at()];
        let Some(run) = board.earliest(&draft.calendars, way, chosen, from) else {
            continue;
        };
        // What must wait very long for its place would only stretch the horizon.
        if run.finish > from + 60 {
            continue;
        }
        board.book(&draft.calendars, way, run);
        draft.runs.push(run);
        let task = Task::new(format!("task {number}"), modes[0].clone());
        draft.tasks.push(Task { modes, ..task });
        return;
    }
}

fn event(lots: &mut Lots, count: usize) -> Event {
    let task = TaskId::new(lots.below(count));
    if lots.percent(50) { Event::start(task) } else { Event::finish(task) }
}

/// Two different tasks, the one that finishes before the other starts, if that is so.
fn in_order(lots: &mut Lots, draft: &Draft) -> Option<(TaskId, TaskId)> {
    let count = draft.tasks.len();
    let (a, b) = (lots.below(count), lots.below(count));
    let (first, second) =
        if draft.runs[a].finish <= draft.runs[b].start { (a, b) } else { (b, a) };
    let kept = a != b && draft.runs[first].finish <= draft.runs[second].start;
    kept.then(|| (TaskId::new(first), TaskId::new(second)))
}

/// A link that the schedule keeps.
fn link(lots: &mut Lots, draft: &Draft, loose: bool) -> Option<Link> {
    let (from, to) = if lots.percent(if loose { 85 } else { 65 }) {
        let (first, second) = in_order(lots, draft)?;
        (Event::finish(first), Event::start(second))
    } else {
        (event(lots, draft.tasks.len()), event(lots, draft.tasks.len()))
    };
    if from == to {
        return None;
    }
    let (begin, end) = (tick(&draft.runs, from), tick(&draft.runs, to));
    let working = lots.percent(25).then(|| CalendarId::new(lots.below(CALENDARS)));
    let apart = match working {
        Some(calendar) => {
            let calendar = &draft.calendars[calendar.at()];
            calendar.open_between(begin, end) - calendar.open_between(end, begin)
        }
        None => end - begin,
    };
    let slack = if loose { lots.between(2, 12) } else { lots.between(0, 3) };
    let tight = if loose { lots.between(2, 15) } else { lots.between(0, 5) };
    let mut least = Some(apart - slack);
    let mut greatest = Some(apart + tight);
    if working.is_some() {
        least = least.map(|lag| lag.max(0)).filter(|_| begin <= end && apart >= 0);
        greatest = greatest.map(|lag| lag.max(0));
    } else if apart >= 0 && lots.percent(60) {
        least = least.map(|lag| lag.clamp(0, 4));
    }
    match lots.below(10) {
        0..=7 if loose => greatest = greatest.filter(|_| least.is_none()),
        0..=5 => greatest = greatest.filter(|_| least.is_none()),
        6 | 7 => least = None,
        _ => {}
    }
    let clock = working.map_or(Clock::Elapsed, Clock::Working);
    Some(Link { from, to, least, greatest, clock })
}

/// Adds an occupancy that the schedule has room for, if one is found at once.
fn occupy(lots: &mut Lots, draft: &mut Draft, board: &mut Board) {
    let (from, to) = if lots.percent(75) {
        let Some((first, second)) = in_order(lots, draft) else { return };
        (Event::finish(first), Event::start(second))
    } else {
        (event(lots, draft.tasks.len()), event(lots, draft.tasks.len()))
    };
    let resource = ResourceId::new(lots.below(draft.resources.len()));
    let amount = if lots.percent(20) { 2 } else { 1 };
    let stretch = (tick(&draft.runs, from), tick(&draft.runs, to));
    let fits = from != to && stretch.0 <= stretch.1 && stretch.1 - stretch.0 <= 20;
    if fits && board.is_free(resource, amount, stretch) {
        board.hold(resource, amount, stretch);
        draft.occupancies.push(Occupancy { resource, amount, from, to });
    }
}

/// Release dates, deadlines, due dates and the published plan.
fn windows(lots: &mut Lots, draft: &mut Draft, loose: bool) {
    for (task, run) in draft.tasks.iter_mut().zip(&draft.runs) {
        if lots.percent(20) {
            task.release = lots.between(0, if loose { run.start / 2 } else { run.start });
        }
        if lots.percent(12) {
            task.deadline = Some(run.finish + lots.between(0, 8));
        }
        if lots.percent(45) {
            let at = run.finish - lots.between(-1, 9);
            task.due = Some(Due { at, weight: lots.between(1, 4) as u32 });
        }
        if lots.percent(30) {
            let start = run.start + lots.between(-4, 4);
            task.published = Some(Published { start, weight: lots.between(0, 3) as u32 });
        }
    }
}

/// Lets some time pass, and leaves resources short where only facts use them.
fn past(lots: &mut Lots, draft: &mut Draft, board: &mut Board) {
    let now = lots.between(1, (draft.horizon / 3).max(2));
    draft.pass(now);
    if lots.percent(50) {
        return;
    }
    let mut facts = Board::new(&draft.resources, LENGTH);
    let runs = draft.tasks.iter().zip(&draft.runs);
    for (task, &run) in runs.filter(|(task, _)| task.progress != Progress::Todo) {
        facts.book(&draft.calendars, &task.modes[run.mode.at()], run);
    }
    for resource in 0..draft.resources.len() {
        let alone = |&tick: &Tick| {
            let used = facts.used(resource, tick);
            used > 0 && used == board.used(resource, tick)
        };
        let Some(first) = (0..draft.horizon).find(alone) else { continue };
        let stretch: Vec<Tick> = (first..LENGTH).take_while(alone).collect();
        board.set_capacity(resource, 0, (first, first + stretch.len() as Tick));
        draft.resources[resource].capacity = board.profile(resource);
    }
}

/// Tightens a rule beyond what the schedule keeps. Another schedule may keep it, or none.
fn spoil(lots: &mut Lots, draft: &mut Draft) {
    let number = lots.below(draft.tasks.len());
    let run: Assignment = draft.runs[number];
    // One that starts at once would only show that its own work does not fit.
    if run.start > 3 {
        draft.tasks[number].deadline = Some(run.finish - lots.between(1, 3));
    }
    let bounded = draft.links.iter_mut().filter_map(|link| {
        let greatest = link.greatest.as_mut()?;
        let room = *greatest - link.least.unwrap_or(0).max(0);
        (room > 0).then_some((greatest, room))
    });
    for (greatest, room) in bounded {
        if lots.percent(40) {
            *greatest -= lots.between(1, room);
        }
    }
}
