//! Large problems: a season of a workshop in quarter hours.
//!
//! The work comes in packs. A pack opens a place (a cover comes off, then a unit, each of
//! which takes up a rack or a stand until it is refitted), works on what it finds, sends
//! parts to a firm, paints and waits for coats to cure, and closes again. Packs share
//! people, bays and stands and sometimes wait for each other. They are laid down one by
//! one, each as early as it fits, so the schedule that comes out is a plain first-come one.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use timetable::{
    Assignment, CalendarId, Clock, Due, End, Event, Link, Mode, ModeId, Occupancy,
    Published, TaskId, Tick,
};

use crate::board::{Board, tick};
use crate::generate::Draft;
use crate::pack::{Pack, draw as draw_pack};
use crate::workshop::{DAY, DAYSHIFT, HOUR, workshop};

pub(crate) fn draw(count: usize, mut rng: Pcg64Mcg) -> Draft {
    let length = DAY * (120 + count as Tick / 2);
    let workshop = workshop(&mut rng, count, length);
    let mut draft = Draft {
        horizon: length,
        tasks: Vec::new(),
        resources: workshop.resources,
        stocks: Vec::new(),
        calendars: workshop.calendars,
        links: Vec::new(),
        occupancies: Vec::new(),
        runs: Vec::new(),
    };
    let mut board = Board::new(&draft.resources, length);
    let mut number = 0;
    while draft.tasks.len() < count {
        number += 1;
        let mut pack = draw_pack(&mut rng, number, count - draft.tasks.len());
        tie(&mut rng, &draft, &mut pack);
        place(&mut rng, &mut draft, &mut board, pack);
    }
    dates(&mut rng, &mut draft);
    let end = draft.runs.iter().map(|run| run.finish).max().unwrap_or(0);
    draft.horizon = end + end / 5 + 5 * DAY;
    if rng.random_ratio(7, 10) {
        let now = end / 12;
        draft.pass(now - now % DAY + 8 * HOUR);
    }
    draft
}

/// Ties a pack to tasks that are laid down already.
fn tie(rng: &mut Pcg64Mcg, draft: &Draft, pack: &mut Pack) {
    let before = draft.tasks.len();
    if before == 0 {
        return;
    }
    let recent = |rng: &mut Pcg64Mcg| {
        TaskId::new(before - 1 - rng.random_range(0..before.min(60) as u32) as usize)
    };
    if rng.random_ratio(35, 100) {
        let lag = [0, 0, 4, DAY][rng.random_range(0..4_u32) as usize];
        let from = Event::finish(recent(rng));
        pack.ties.push((from, 0, End::Start, Link::least, lag));
    }
    if rng.random_ratio(15, 100) {
        let last = pack.tasks.len() - 1;
        pack.ties.push((Event::start(recent(rng)), last, End::Start, Link::least, 8));
    }
    if rng.random_ratio(10, 100) {
        // All of one kind are finished within so long of each other.
        let last = pack.tasks.len() - 1;
        let from = Event::finish(recent(rng));
        pack.ties.push((from, last, End::Finish, Link::greatest, 60 * DAY));
    }
}

/// Lays a pack down as early as it fits.
fn place(rng: &mut Pcg64Mcg, draft: &mut Draft, board: &mut Board, pack: Pack) {
    let first = draft.tasks.len();
    let modes: Vec<ModeId> = pack
        .tasks
        .iter()
        .map(|task| {
            let usual = rng.random_ratio(9, 10);
            let ways = task.modes.len() as u32;
            ModeId::new(if usual { 0 } else { rng.random_range(0..ways) as usize })
        })
        .collect();
    let ties = pack.ties.into_iter().map(|(from, to, end, link, lag)| {
        link(from, Event { task: TaskId::new(first + to), end }, lag)
    });
    let shift =
        |event: Event| Event { task: TaskId::new(first + event.task.at()), ..event };
    let own = pack.links.into_iter().map(|link| Link {
        from: shift(link.from),
        to: shift(link.to),
        ..link
    });
    let mut links: Vec<Link> = own.chain(ties).collect();
    let held = pack.occupancies.into_iter().map(|held| Occupancy {
        from: shift(held.from),
        to: shift(held.to),
        ..held
    });
    let held: Vec<Occupancy> = held.collect();
    draft.tasks.extend(pack.tasks);
    let mut from = rng.random_range(0..3) * DAY;
    while let Err(later) = attempt(draft, board, &modes, (&links, &held), from) {
        from = later;
        if from > board.length() / 2 {
            // So late everything is free; only a far greatest lag can stand in the way.
            links.retain(|link| link.least.is_some() || link.from.task.at() >= first);
            from = board.length() / 4;
        }
    }
    draft.links.extend(links);
    draft.occupancies.extend(held);
}

/// Books all tasks that have no run yet, from a tick on; if that can't be, books nothing
/// and says from which tick to try again.
fn attempt(
    draft: &mut Draft,
    board: &mut Board,
    modes: &[ModeId],
    (links, held): (&[Link], &[Occupancy]),
    from: Tick,
) -> Result<(), Tick> {
    let first = draft.runs.len();
    let later = from + 4 * HOUR;
    for (position, &number) in modes.iter().enumerate() {
        let task = first + position;
        let mode = &draft.tasks[task].modes[number.at()];
        let run = fitting(draft, board, mode, number, (task, links, from));
        let Some(run) = run.filter(|run| keeps(draft, links, task, *run)) else {
            undo(draft, board, first);
            return Err(later);
        };
        board.book(&draft.calendars, mode, run);
        draft.runs.push(run);
    }
    let stretch =
        |held: &Occupancy| (tick(&draft.runs, held.from), tick(&draft.runs, held.to));
    for (number, one) in held.iter().enumerate() {
        if !board.is_free(one.resource, one.amount, stretch(one)) {
            for one in &held[..number] {
                board.let_go(one.resource, one.amount, stretch(one));
            }
            undo(draft, board, first);
            return Err(later);
        }
        board.hold(one.resource, one.amount, stretch(one));
    }
    Ok(())
}

/// Takes the runs from a task on back.
fn undo(draft: &mut Draft, board: &mut Board, first: usize) {
    for (task, run) in draft.tasks[first..].iter().zip(draft.runs.drain(first..)) {
        board.release(&draft.calendars, &task.modes[run.mode.at()], run);
    }
}

/// The earliest run of a task that its least lags and the resources allow.
fn fitting(
    draft: &Draft,
    board: &Board,
    mode: &Mode,
    number: ModeId,
    (task, links, from): (usize, &[Link], Tick),
) -> Option<Assignment> {
    let mut from = from;
    loop {
        let run = board.earliest(&draft.calendars, mode, number, from)?;
        let lag = links.iter().filter_map(|link| short(draft, link, task, run)).max();
        match lag {
            Some(missing) => from = run.start + missing,
            None => return Some(run),
        }
    }
}

/// How much later a run must start to keep the least lag of a link to it, at the least.
fn short(draft: &Draft, link: &Link, task: usize, run: Assignment) -> Option<Tick> {
    let (begin, end) = ends(draft, link, task, run)?;
    let missing = link.least? - apart(draft, link, begin, end);
    (missing > 0).then_some(missing)
}

/// Whether a run keeps the greatest lags of the links to it.
fn keeps(draft: &Draft, links: &[Link], task: usize, run: Assignment) -> bool {
    links.iter().all(|link| {
        let (Some(greatest), Some((begin, end))) =
            (link.greatest, ends(draft, link, task, run))
        else {
            return true;
        };
        apart(draft, link, begin, end) <= greatest
    })
}

/// The ticks of the events of a link from a run that is laid down to this one.
fn ends(
    draft: &Draft,
    link: &Link,
    task: usize,
    run: Assignment,
) -> Option<(Tick, Tick)> {
    let known = link.to.task.at() == task && link.from.task.at() < draft.runs.len();
    let end = if link.to.end == End::Start { run.start } else { run.finish };
    known.then(|| (tick(&draft.runs, link.from), end))
}

fn apart(draft: &Draft, link: &Link, begin: Tick, end: Tick) -> Tick {
    match link.clock {
        Clock::Elapsed => end - begin,
        Clock::Working(CalendarId(number)) => {
            let calendar = &draft.calendars[number as usize];
            calendar.open_between(begin, end) - calendar.open_between(end, begin)
        }
    }
}

/// Release dates, deadlines, due dates that bite, and a published plan that was made when
/// things looked otherwise.
fn dates(rng: &mut Pcg64Mcg, draft: &mut Draft) {
    let ends: Vec<bool> = (0..draft.tasks.len())
        .map(|task| {
            let of = |event: Event| event.task.at() == task;
            !draft.links.iter().any(|link| of(link.from) && !of(link.to))
        })
        .collect();
    for ((task, run), ends) in draft.tasks.iter_mut().zip(&draft.runs).zip(ends) {
        if ends && rng.random_ratio(7, 10) {
            let at = run.finish - rng.random_range(-2 * DAY..run.finish / 4 + 3 * DAY);
            task.due = Some(Due { at, weight: rng.random_range(1..=5) });
        }
        if rng.random_ratio(6, 100) {
            task.release = rng.random_range(0..=run.start);
        }
        if rng.random_ratio(6, 100) {
            task.deadline = Some(run.finish + rng.random_range(3..=25) * DAY);
        }
        if rng.random_ratio(40, 100) {
            let start = run.start + rng.random_range(-3..=1) * DAY;
            let weight = rng.random_range(0..=2);
            task.published = Some(Published { start: start.max(0), weight });
        }
    }
}

/// The working clock of the day shift.
pub(crate) const fn working() -> Clock {
    Clock::Working(DAYSHIFT)
}
