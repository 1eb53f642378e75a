//! Breaches in words, with the names of the problem.

use timetable::{
    Clock, End, Event, Link, LinkId, ModeId, OccupancyId, Problem, TaskId, Tick,
};

use crate::note::{Happened, Rule, Taken, Use, User};

/// How many users of a resource are named.
const NAMED: usize = 8;

pub(crate) fn of(problem: &Problem, rule: &Rule) -> String {
    let name = |task: TaskId| format!("\"{}\"", problem.task(task).name);
    match rule {
        Rule::WrongNumberOfTasks { expected, found } => {
            format!("The problem has {expected} tasks and the schedule {found}.")
        }
        Rule::UnknownMode { task, mode, modes } => {
            let task = name(*task);
            format!("{task} runs in mode {}, and it has {modes}.", mode.at() + 1)
        }
        Rule::BeforeOrigin { task, start } => {
            format!("{} starts at tick {start}, before tick 0.", name(*task))
        }
        Rule::StartsTooEarly { task, start, release } => format!(
            "{} starts at tick {start}, before its release at tick {release}.",
            name(*task)
        ),
        Rule::FinishesTooLate { task, finish, deadline } => format!(
            "{} finishes at tick {finish}, after its deadline at tick {deadline}.",
            name(*task)
        ),
        Rule::BeyondHorizon { task, finish, horizon } => format!(
            "{} finishes at tick {finish}, after the horizon at tick {horizon}.",
            name(*task)
        ),
        Rule::WrongFinish { task, expected, found } => {
            wrong_finish(&name(*task), *expected, *found)
        }
        Rule::ClosedTick { task, tick, calendar } => format!(
            "{} needs tick {tick} to be open, and it is closed in \"{}\".",
            name(*task),
            problem.calendar(*calendar).name()
        ),
        Rule::LeastLag { link, least, found, from, to } => {
            format!(
                "{} at least {least} must.",
                lag(problem, *link, (*from, *to), *found)
            )
        }
        Rule::GreatestLag { link, greatest, found, from, to } => {
            let lag = lag(problem, *link, (*from, *to), *found);
            format!("{lag} at most {greatest} may.")
        }
        Rule::OccupancyBackwards { occupancy: id, from, to } => {
            let occupancy = occupancy(problem, *id);
            format!(
                "Tick {to}, at which {occupancy} ends, lies before tick {from}, at which it \
                 begins."
            )
        }
        Rule::CapacityExceeded { resource, tick, until, used, capacity, users } => {
            format!(
                "\"{}\" is short from tick {tick} until tick {until}: at first {used} are used \
             and there are {capacity}; used by {}.",
                problem.resource(*resource).name,
                list(problem, users)
            )
        }
        Rule::StockExceeded { stock, taken, available, takers } => format!(
            "{taken} of \"{}\" are taken and there are {available}; taken by {}.",
            problem.stock(*stock).name,
            takers_of(problem, takers)
        ),
        Rule::PastChanged { task, happened, found } => {
            let now = run(problem, *task, found.mode, found.start, Some(found.finish));
            let Happened { mode, start, finish } = *happened;
            let then = run(problem, *task, mode, start, finish);
            format!("{} ran {then}, and the schedule has it {now}.", name(*task))
        }
    }
}

fn wrong_finish(task: &str, expected: Option<Tick>, found: Tick) -> String {
    let follows = match expected {
        Some(expected) => format!("its work ends at tick {expected}"),
        None => "its calendar ends before its work does".to_owned(),
    };
    format!("{task} finishes at tick {found}, but {follows}.")
}

fn event(problem: &Problem, event: Event) -> String {
    let end = match event.end {
        End::Start => "start",
        End::Finish => "finish",
    };
    format!("the {end} of \"{}\"", problem.task(event.task).name)
}

fn lag(problem: &Problem, id: LinkId, (from, to): (Tick, Tick), found: i64) -> String {
    let Link { from: begin, to: end, clock, .. } = problem.links()[id.at()];
    let clock = match clock {
        Clock::Elapsed => String::new(),
        Clock::Working(calendar) => {
            format!(" that are open in \"{}\"", problem.calendar(calendar).name())
        }
    };
    format!(
        "From {} at tick {from} to {} at tick {to}, {found} ticks{clock} pass;",
        event(problem, begin),
        event(problem, end)
    )
}

fn occupancy(problem: &Problem, id: OccupancyId) -> String {
    let occupancy = &problem.occupancies()[id.at()];
    format!(
        "the occupancy of \"{}\" from {} to {}",
        problem.resource(occupancy.resource).name,
        event(problem, occupancy.from),
        event(problem, occupancy.to)
    )
}

fn list(problem: &Problem, users: &[Use]) -> String {
    let named = users.iter().map(|usage| {
        let user = match usage.user {
            User::Task(task) => format!("\"{}\"", problem.task(task).name),
            User::Occupancy(id) => occupancy(problem, id),
        };
        format!("{user} ({})", usage.amount)
    });
    first_of(named, users.len())
}

/// Who takes most comes first: that is where something can be saved.
fn takers_of(problem: &Problem, takers: &[Taken]) -> String {
    let mut order: Vec<&Taken> = takers.iter().collect();
    order.sort_by_key(|taken| (std::cmp::Reverse(taken.amount), taken.task));
    let named = order
        .iter()
        .map(|taken| format!("\"{}\" ({})", problem.task(taken.task).name, taken.amount));
    first_of(named, takers.len())
}

fn first_of(named: impl Iterator<Item = String>, count: usize) -> String {
    let mut named: Vec<String> = named.take(NAMED).collect();
    if count > NAMED {
        named.push(format!("and {} more", count - NAMED));
    }
    named.join(", ")
}

fn run(
    problem: &Problem,
    task: TaskId,
    mode: ModeId,
    start: Tick,
    finish: Option<Tick>,
) -> String {
    let names = problem.task(task).modes.get(mode.at());
    let mode = match names.map(|mode| mode.name.as_str()) {
        Some("") | None => format!("in mode {}", mode.at() + 1),
        Some(name) => format!("in mode \"{name}\""),
    };
    let until = finish.map_or(String::new(), |finish| format!(" until tick {finish}"));
    format!("{mode} from tick {start}{until}")
}
