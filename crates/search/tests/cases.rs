//! Hand-made cases, each small enough to see the answer.

use search::{
    Cause, Lack, Options, Outcome, Part, Silent, Stop, driving_chain, explain, replan,
    solve,
};
use timetable::{
    Assignment, Calendar, CalendarId, Clock, Demand, Due, Event, Link, LinkId, Mode,
    ModeId, Occupancy, OccupancyId, Pace, Problem, Profile, Progress, Published,
    Resource, ResourceId, Schedule, Stock, StockId, Take, Task, TaskId, Tick, Window,
};

const CREW: ResourceId = ResourceId(0);

fn options() -> Options {
    Options { stop: Stop::after_steps(2_000), ..Options::default() }
}

fn task(work: Tick, crew: u32) -> Task {
    let demands = if crew > 0 { vec![Demand::throughout(CREW, crew)] } else { vec![] };
    Task::new("t", Mode::elapsed(work, demands))
}

fn on_shift(mut task: Task) -> Task {
    task.modes[0].pace = Pace::Pausing(CalendarId(0));
    task
}

fn resource(level: u32) -> Resource {
    Resource { name: "r".to_owned(), capacity: Profile::constant(level) }
}

fn shifts() -> Calendar {
    let windows = (0..10).map(|day| Window { from: 24 * day + 8, until: 24 * day + 16 });
    Calendar::new("shifts", windows.collect()).expect("windows in order")
}

fn problem(
    horizon: Tick,
    tasks: Vec<Task>,
    resources: Vec<Resource>,
    links: Vec<Link>,
    holds: Vec<Occupancy>,
) -> Problem {
    Problem::new(horizon, tasks, resources, vec![shifts()], links, holds)
        .expect("a problem that makes sense")
}

fn optimal(problem: &Problem) -> Schedule {
    match solve(problem, &options(), &Silent) {
        Outcome::Optimal { schedule, .. } => {
            assert_eq!(verify::check(problem, &schedule), []);
            schedule
        }
        other => panic!("{other:?}"),
    }
}

fn conflict(problem: &Problem) -> Vec<Part> {
    match solve(problem, &options(), &Silent) {
        Outcome::Infeasible(conflict) => {
            assert!(conflict.minimal);
            conflict.parts
        }
        other => panic!("{other:?}"),
    }
}

fn hold(resource: u32, from: u32, to: u32) -> Occupancy {
    let (from, to) = (Event::finish(TaskId(from)), Event::start(TaskId(to)));
    Occupancy { resource: ResourceId(resource), amount: 1, from, to }
}

fn causes(problem: &Problem, schedule: &Schedule) -> Vec<Cause> {
    explain(problem, schedule).into_iter().map(|reason| reason.cause).collect()
}

#[test]
fn nothing_to_do_takes_no_time() {
    let schedule = optimal(&problem(0, vec![], vec![], vec![], vec![]));
    assert!(schedule.assignments.is_empty());
}

#[test]
fn tasks_of_no_length_and_resources_of_no_capacity() {
    let tasks = vec![task(0, 3), task(0, 0), task(2, 0)];
    let links = vec![Link::after(TaskId(2), TaskId(0))];
    let schedule = optimal(&problem(9, tasks, vec![resource(0)], links, vec![]));
    assert_eq!(schedule.assignments[0].start, 2);
}

#[test]
fn many_tasks_of_no_length() {
    let tasks = vec![task(0, 1); 40];
    let links = (1..40).map(|n| Link::after(TaskId(n - 1), TaskId(n))).collect();
    let schedule = optimal(&problem(9, tasks, vec![resource(1)], links, vec![]));
    assert!(schedule.assignments.iter().all(|run| run.finish == 0));
}

#[test]
fn a_demand_above_the_peak_is_named() {
    let parts =
        conflict(&problem(9, vec![task(2, 3)], vec![resource(2)], vec![], vec![]));
    assert_eq!(parts, [Part::Task(TaskId(0)), Part::Capacity(CREW)]);
}

#[test]
fn a_ring_of_lags_is_named_without_bystanders() {
    let at = |n| Event::start(TaskId(n));
    let links = vec![
        Link::least(at(0), at(1), 3),
        Link::least(at(2), at(0), 1),
        Link::greatest(at(0), at(1), 2),
    ];
    let tasks = vec![task(1, 0); 3];
    let parts = conflict(&problem(900, tasks, vec![], links, vec![]));
    assert_eq!(parts, [Part::Link(LinkId(0)), Part::Link(LinkId(2))]);
}

#[test]
fn a_chain_that_misses_its_deadline_is_named() {
    let mut tasks = vec![task(4, 0), task(5, 0), task(3, 0)];
    tasks[1].deadline = Some(8);
    let links =
        vec![Link::after(TaskId(0), TaskId(1)), Link::after(TaskId(0), TaskId(2))];
    let parts = conflict(&problem(90, tasks, vec![], links, vec![]));
    let expected = [
        Part::Task(TaskId(0)),
        Part::Task(TaskId(1)),
        Part::Deadline(TaskId(1)),
        Part::Link(LinkId(0)),
    ];
    assert_eq!(parts, expected);
}

#[test]
fn a_calendar_that_is_too_short_is_named() {
    let mut long = on_shift(task(10, 0));
    long.deadline = Some(30);
    let parts = conflict(&problem(200, vec![long], vec![], vec![], vec![]));
    let id = TaskId(0);
    let expected = [Part::Task(id), Part::Deadline(id), Part::Calendar(CalendarId(0))];
    assert_eq!(parts, expected);
}

#[test]
fn too_much_work_for_the_crew_is_named() {
    let tasks = vec![task(4, 1), task(4, 1), task(4, 1)];
    let parts = conflict(&problem(10, tasks, vec![resource(1)], vec![], vec![]));
    let task = |n| Part::Task(TaskId(n));
    assert_eq!(parts, [task(0), task(1), task(2), Part::Capacity(CREW), Part::Horizon]);
}

#[test]
fn stands_that_are_nested_too_deep_are_named() {
    // 0 takes the stand, then 1 takes it too, both give it back afterwards.
    let tasks = vec![task(1, 0), task(1, 0), task(1, 0), task(1, 0), task(2, 0)];
    let after = |a, b| Link::after(TaskId(a), TaskId(b));
    let links = vec![after(0, 1), after(1, 4), after(4, 2), after(2, 3)];
    let holds = vec![hold(0, 0, 3), hold(0, 1, 2)];
    let parts = conflict(&problem(4_000, tasks, vec![resource(1)], links, holds));
    assert!(parts.contains(&Part::Capacity(CREW)), "{parts:?}");
    assert!(parts.contains(&Part::Occupancy(OccupancyId(0))), "{parts:?}");
    assert!(parts.contains(&Part::Occupancy(OccupancyId(1))), "{parts:?}");
}

/// Two chains that each take one stand, then the other's: placed side by side, each would
/// hold what the other needs.
#[test]
fn a_ring_of_stands_is_avoided() {
    let chains = 6;
    let (mut tasks, mut links, mut holds) = (Vec::new(), Vec::new(), Vec::new());
    for chain in 0..chains {
        let first = 5 * chain;
        tasks.extend([task(1, 0), task(3, 1), task(1, 0), task(2, 1), task(1, 0)]);
        links.extend(
            (0..4).map(|n| Link::after(TaskId(first + n), TaskId(first + n + 1))),
        );
        let (own, other) = if chain % 2 == 0 { (1, 2) } else { (2, 1) };
        holds.push(hold(own, first, first + 4));
        holds.push(hold(other, first + 2, first + 4));
    }
    let resources = vec![resource(9), resource(1), resource(1)];
    let problem = problem(200, tasks, resources, links, holds);
    let outcome = solve(&problem, &options(), &Silent);
    let schedule = outcome.schedule().expect("there is a schedule");
    assert_eq!(verify::check(&problem, schedule), []);
}

#[test]
fn coats_stay_within_reach_of_each_other() {
    // The crew is away in [6, 30): both coats lie before it or both behind it.
    let tasks = vec![task(4, 0), task(2, 1), task(2, 1)];
    let links = vec![
        Link::after(TaskId(0), TaskId(1)),
        Link {
            from: Event::finish(TaskId(1)),
            to: Event::start(TaskId(2)),
            least: Some(2),
            greatest: Some(6),
            clock: Clock::Elapsed,
        },
    ];
    let capacity = Profile::new(vec![(0, 1), (6, 0), (30, 1)]).unwrap();
    let painter = Resource { name: "painter".to_owned(), capacity };
    let problem = problem(99, tasks, vec![painter], links, vec![]);
    let schedule = optimal(&problem);
    let starts: Vec<Tick> = schedule.assignments.iter().map(|run| run.start).collect();
    assert_eq!(starts, [0, 30, 34]);
    let reasons = causes(&problem, &schedule);
    assert_eq!(reasons[2], Cause::Link(LinkId(1), Event::finish(TaskId(1))));
}

#[test]
fn every_cause_is_told() {
    let mut tasks = vec![
        task(4, 1),
        task(3, 1),
        on_shift(task(2, 0)),
        task(2, 0),
        task(1, 0),
        task(1, 0),
        task(2, 0),
    ];
    tasks[3].release = 5;
    tasks[4].published = Some(Published { start: 9, weight: 1 });
    tasks[5].progress = Progress::Done { mode: ModeId(0), start: 0, finish: 1 };
    let links = vec![
        Link::after(TaskId(0), TaskId(6)),
        Link::greatest(Event::start(TaskId(3)), Event::start(TaskId(1)), 0),
    ];
    let problem = problem(99, tasks, vec![resource(1)], links, vec![]);
    let run = |start, finish| Assignment { mode: ModeId(0), start, finish };
    let runs = [(0, 4), (4, 7), (8, 10), (5, 7), (9, 10), (0, 1), (4, 6)];
    let schedule = Schedule { assignments: runs.map(|(a, b)| run(a, b)).to_vec() };
    let blockers = vec![TaskId(0)];
    let crew = Cause::Resource { resource: CREW, blockers, occupancies: vec![] };
    let expected = [
        Cause::Start,
        crew,
        Cause::Calendar(CalendarId(0)),
        Cause::Release,
        Cause::Published,
        Cause::Past,
        Cause::Link(LinkId(0), Event::finish(TaskId(0))),
    ];
    assert_eq!(causes(&problem, &schedule), expected);
}

#[test]
fn a_stand_that_is_held_is_told_and_followed() {
    let tasks =
        vec![task(1, 0), task(4, 0), task(1, 0), task(1, 0), task(3, 0), task(1, 0)];
    let after = |a, b| Link::after(TaskId(a), TaskId(b));
    let links = vec![after(0, 1), after(1, 2), after(3, 4), after(4, 5)];
    let holds = vec![hold(0, 0, 2), hold(0, 3, 5)];
    let problem = problem(99, tasks, vec![resource(1)], links, holds);
    let run = |start, finish| Assignment { mode: ModeId(0), start, finish };
    let runs = [(0, 1), (1, 5), (5, 6), (4, 5), (5, 8), (8, 9)];
    let schedule = Schedule { assignments: runs.map(|(a, b)| run(a, b)).to_vec() };
    assert_eq!(verify::check(&problem, &schedule), []);
    let reasons = explain(&problem, &schedule);
    let stand = Cause::Resource {
        resource: CREW,
        blockers: vec![],
        occupancies: vec![OccupancyId(0)],
    };
    assert_eq!(reasons[3].cause, stand);
    let chain = driving_chain(&problem, &schedule, &reasons);
    assert_eq!(chain, [5, 4, 3, 2, 1, 0].map(TaskId));
}

#[test]
fn the_chain_begins_with_what_is_latest() {
    let mut tasks = vec![task(4, 0), task(2, 0), task(9, 0)];
    tasks[1].due = Some(Due { at: 3, weight: 2 });
    let links = vec![Link::after(TaskId(0), TaskId(1))];
    let problem = problem(99, tasks, vec![], links, vec![]);
    let schedule = optimal(&problem);
    let reasons = explain(&problem, &schedule);
    assert_eq!(driving_chain(&problem, &schedule, &reasons), [TaskId(1), TaskId(0)]);
}

#[test]
fn a_schedule_that_does_not_fit_has_no_reasons() {
    let problem = problem(9, vec![task(1, 0)], vec![], vec![], vec![]);
    assert!(explain(&problem, &Schedule { assignments: vec![] }).is_empty());
}

#[test]
fn a_hint_is_taken_up_or_passed_over() {
    let tasks = vec![task(2, 1); 12];
    let mut links = vec![Link::after(TaskId(3), TaskId(4))];
    links.push(Link::greatest(Event::start(TaskId(4)), Event::start(TaskId(5)), 1));
    let problem = problem(99, tasks, vec![resource(2)], links, vec![]);
    let best = optimal(&problem);
    for start_from in [Some(best), Some(Schedule { assignments: vec![] })] {
        let options = Options { start_from, ..options() };
        let outcome = solve(&problem, &options, &Silent);
        assert_eq!(outcome.measures().map(|measures| measures.length), Some(12));
    }
}

/// Three jobs of half the crew's time each, between a release and a deadline that leave room
/// for two side by side and no third: only search sees it, since work and time suffice.
#[test]
fn a_conflict_that_only_search_finds_is_named_small() {
    let mut tasks: Vec<Task> = (0..3).map(|_| task(4, 2)).collect();
    tasks.push(task(4, 1));
    for job in &mut tasks[..3] {
        job.deadline = Some(11);
    }
    // Much else that has nothing to do with it.
    tasks.extend((0..12).map(|_| task(2, 1)));
    let links = (4..15).map(|t| Link::after(TaskId(t), TaskId(t + 1))).collect();
    let problem = problem(60, tasks, vec![resource(3)], links, vec![]);
    let parts = conflict(&problem);
    let expected = [
        Part::Task(TaskId(0)),
        Part::Task(TaskId(1)),
        Part::Task(TaskId(2)),
        Part::Deadline(TaskId(0)),
        Part::Deadline(TaskId(1)),
        Part::Deadline(TaskId(2)),
        Part::Capacity(CREW),
    ];
    assert_eq!(parts, expected);
}

const SHEET: StockId = StockId(0);
const MONEY: StockId = StockId(1);

/// A task with a mode for each of these: work, sheets, money.
fn choice(modes: &[(Tick, i64, i64)]) -> Task {
    let mode = |&(work, sheets, money): &(Tick, i64, i64)| {
        let takes = [(SHEET, sheets), (MONEY, money)].into_iter();
        let takes = takes.filter(|take| take.1 > 0);
        let takes = takes.map(|(stock, amount)| Take { stock, amount }).collect();
        Mode { takes, ..Mode::elapsed(work, vec![]) }
    };
    let mut task = Task::new("t", Mode::elapsed(0, vec![]));
    task.modes = modes.iter().map(mode).collect();
    task
}

fn stocked(tasks: Vec<Task>, sheets: i64, money: i64) -> Problem {
    let stock = |name: &str, available| Stock { name: name.to_owned(), available };
    let stocks = vec![stock("sheet", sheets), stock("money", money)];
    let links = (1..tasks.len()).map(|n| Link::after(TaskId::new(n - 1), TaskId::new(n)));
    let links = links.collect();
    Problem::stocked(400, tasks, vec![], stocks, vec![], links, vec![])
        .expect("a problem that makes sense")
}

/// One after the other, each in 9 ticks or, for 2 sheets, in 4: there are 6 sheets.
#[test]
fn as_many_are_quick_as_there_is_stock_for() {
    for count in [5, 24] {
        let tasks = vec![choice(&[(9, 0, 0), (4, 2, 0)]); count];
        let problem = stocked(tasks, 6, 0);
        let schedule = optimal(&problem);
        let length = schedule.assignments.iter().map(|run| run.finish).max();
        assert_eq!(length, Some(9 * count as Tick - 3 * 5));
        let reasons = explain(&problem, &schedule);
        for (reason, run) in reasons.iter().zip(&schedule.assignments) {
            let lack = Lack { mode: ModeId(1), stock: SHEET, missing: 2 };
            assert_eq!(reason.lack, (run.mode == ModeId(0)).then_some(lack));
        }
    }
}

/// What has begun has taken its share; where that was too much, nothing is left.
#[test]
fn facts_take_what_they_took() {
    for (sheets, expected) in [(7, 4), (6, 9), (1, 9)] {
        let mut tasks = vec![choice(&[(1, 5, 0)]), choice(&[(9, 0, 0), (4, 2, 0)])];
        tasks[0].progress = Progress::Done { mode: ModeId(0), start: 0, finish: 1 };
        let run = optimal(&stocked(tasks, sheets, 0)).assignments[1];
        assert_eq!(run.finish - run.start, expected, "{sheets}");
    }
}

#[test]
fn a_stock_that_is_too_small_is_named_with_who_takes_of_it() {
    let tasks = vec![
        choice(&[(3, 3, 0), (1, 5, 0)]),
        choice(&[(3, 0, 9)]),
        choice(&[(3, 4, 0), (1, 6, 0)]),
    ];
    let parts = conflict(&stocked(tasks, 6, 100));
    let task = |task| Part::Task(TaskId(task));
    assert_eq!(parts, [task(0), task(2), Part::Stock(SHEET)]);
}

/// Each stock alone would do, the two together do not.
#[test]
fn stocks_that_are_too_small_together_are_named_together() {
    for count in [2, 12] {
        // Half of them may take sheets, half money; one more takes one of either.
        let mut tasks = vec![choice(&[(1, 2, 0), (1, 0, 2)]); count];
        tasks.push(choice(&[(5, 1, 0), (5, 0, 1)]));
        let half = count as i64;
        let parts = conflict(&stocked(tasks, half, half));
        assert_eq!(parts.len(), count + 3, "{parts:?}");
        assert!(
            parts.contains(&Part::Stock(SHEET)) && parts.contains(&Part::Stock(MONEY))
        );
    }
}

/// A published plan in which both are quick; then a sheet is found to be spoilt.
#[test]
fn a_repair_changes_no_more_modes_than_a_stock_demands() {
    let tasks = vec![choice(&[(9, 0, 0), (4, 2, 0)]); 4];
    let before = stocked(tasks.clone(), 8, 0);
    let published = optimal(&before);
    assert!(published.assignments.iter().all(|run| run.mode == ModeId(1)));
    let after = stocked(tasks, 7, 0);
    let options = Options { stop: Stop::after_steps(0), ..options() };
    let outcome = replan(&after, &published, &options, &Silent);
    let repaired = outcome.schedule().expect("one slow task is enough");
    assert_eq!(verify::check(&after, repaired), []);
    let slow = repaired.assignments.iter().filter(|run| run.mode == ModeId(0));
    assert_eq!(slow.count(), 1);
}

/// A hint in modes that are never better than others is a hint all the same.
#[test]
fn a_hint_in_a_superfluous_mode_is_taken_up() {
    let tasks = vec![choice(&[(9, 0, 0), (9, 1, 0), (4, 2, 0)]); 12];
    let problem = stocked(tasks, 8, 0);
    let runs = (0..12).map(|n| Assignment {
        mode: ModeId(u32::from(n < 8)),
        start: 9 * n,
        finish: 9 * n + 9,
    });
    let hint = Schedule { assignments: runs.collect() };
    assert_eq!(verify::check(&problem, &hint), []);
    let options = Options { start_from: Some(hint), ..options() };
    let outcome = solve(&problem, &options, &Silent);
    assert!(outcome.schedule().is_some_and(|s| verify::check(&problem, s).is_empty()));
}
