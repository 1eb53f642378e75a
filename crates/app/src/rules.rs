//! Rules that can't hold together, in words.

use std::collections::BTreeMap;

use search::{Conflict, Part};
use timetable::{Clock, End, Event, Link, Mode, Problem, StockId, TaskId};

/// How many rules are told one by one.
const TOLD: usize = 40;

/// One sentence for each rule of a conflict. Where these are too many to be told one by one, what
/// there is little of comes first, a deadline before the work of hundreds of tasks, and the rest is
/// counted.
pub(crate) fn conflict(problem: &Problem, conflict: &Conflict) -> Vec<String> {
    let many = conflict.parts.len() > TOLD;
    let parts = if many { conflict.rarest_first() } else { conflict.parts.clone() };
    let stocks = conflict.parts.iter().filter_map(|part| match part {
        Part::Stock(stock) => Some(*stock),
        _ => None,
    });
    let stocks: Vec<StockId> = stocks.collect();
    let (told, rest) = parts.split_at(parts.len().min(TOLD));
    let told = told.iter().map(|&part| match part {
        Part::Task(task) => task_sentence(problem, task, &stocks),
        _ => sentence(problem, part),
    });
    told.chain(counted(rest)).collect()
}

/// How many rules of each kind there are, as one sentence; nothing for no rules.
fn counted(parts: &[Part]) -> Option<String> {
    let mut count = BTreeMap::new();
    for part in parts {
        *count.entry(kind(*part)).or_insert(0_usize) += 1;
    }
    let kinds = count.into_iter().map(|(kind, count)| format!("{count} more of {kind}"));
    let kinds: Vec<String> = kinds.collect();
    (!kinds.is_empty()).then(|| format!("and {}", kinds.join(", ")))
}

/// What a rule is about, for counting.
const fn kind(part: Part) -> &'static str {
    match part {
        Part::Task(_) => "tasks and what they take",
        Part::Release(_) => "releases",
        Part::Deadline(_) => "deadlines",
        Part::Past(_) => "what has happened already",
        Part::Link(_) => "lags",
        Part::Occupancy(_) => "occupancies",
        Part::Calendar(_) => "calendars",
        Part::Capacity(_) => "capacities",
        Part::Stock(_) => "stocks",
        Part::Horizon => "horizons",
    }
}

fn sentence(problem: &Problem, part: Part) -> String {
    let name = |task: TaskId| quoted(&problem.task(task).name, "task", task.at());
    match part {
        Part::Task(task) => task_sentence(problem, task, &[]),
        Part::Release(task) => {
            let release = problem.task(task).release;
            format!("{} starts at tick {release} or later", name(task))
        }
        Part::Deadline(task) => {
            let deadline = problem.task(task).deadline;
            let deadline = deadline.map_or_else(String::new, |tick| format!(" {tick}"));
            format!("{} finishes by tick{deadline}", name(task))
        }
        Part::Past(task) => format!("what has happened of {} already", name(task)),
        Part::Link(id) => link(problem, &problem.links()[id.at()]),
        Part::Occupancy(id) => {
            let held = problem.occupancies()[id.at()];
            let resource = &problem.resource(held.resource).name;
            format!(
                "{} of {} are taken up from {} to {}",
                held.amount,
                quoted(resource, "resource", held.resource.at()),
                event(problem, held.from),
                event(problem, held.to)
            )
        }
        Part::Calendar(id) => {
            let name = problem.calendar(id).name();
            format!("work goes on only in {}", quoted(name, "calendar", id.at()))
        }
        Part::Capacity(id) => {
            let resource = problem.resource(id);
            let name = quoted(&resource.name, "resource", id.at());
            format!("there are at most {} of {name}", resource.capacity.peak())
        }
        Part::Stock(id) => {
            let stock = problem.stock(id);
            let name = quoted(&stock.name, "stock", id.at());
            format!("there are {} of {name} for the whole", stock.available)
        }
        Part::Horizon => format!("everything finishes by tick {}", problem.horizon()),
    }
}

/// What a task takes, of the stocks that play a part too.
fn task_sentence(problem: &Problem, id: TaskId, stocks: &[StockId]) -> String {
    let task = problem.task(id);
    let name = quoted(&task.name, "task", id.at());
    let taken = |mode: &Mode, stock: StockId| -> i64 {
        let takes = mode.takes.iter().filter(|take| take.stock == stock);
        takes.map(|take| take.amount).sum()
    };
    let amounts = stocks.iter().filter_map(|&stock| {
        let each: Vec<String> =
            task.modes.iter().map(|mode| taken(mode, stock).to_string()).collect();
        let stock_name = quoted(&problem.stock(stock).name, "stock", stock.at());
        let some = task.modes.iter().any(|mode| taken(mode, stock) > 0);
        some.then(|| format!("{} of {stock_name}", each.join(" or ")))
    });
    let amounts: Vec<String> = amounts.collect();
    if amounts.is_empty() {
        format!("{name} takes the time and the people it takes")
    } else {
        format!("{name} takes {}, by its mode", amounts.join(" and "))
    }
}

fn link(problem: &Problem, link: &Link) -> String {
    let lags = match (link.least, link.greatest) {
        (Some(least), Some(greatest)) => format!("{least} to {greatest}"),
        (Some(least), None) => format!("at least {least}"),
        (None, Some(greatest)) => format!("at most {greatest}"),
        (None, None) => "any number of".to_owned(),
    };
    let clock = match link.clock {
        Clock::Elapsed => "ticks".to_owned(),
        Clock::Working(id) => {
            let name = problem.calendar(id).name();
            format!("open ticks of {}", quoted(name, "calendar", id.at()))
        }
    };
    let (from, to) = (event(problem, link.from), event(problem, link.to));
    format!("{lags} {clock} lie between {from} and {to}")
}

fn event(problem: &Problem, event: Event) -> String {
    let end = match event.end {
        End::Start => "start",
        End::Finish => "finish",
    };
    let name = quoted(&problem.task(event.task).name, "task", event.task.at());
    format!("the {end} of {name}")
}

/// A name in code marks; what has none is told by its position.
fn quoted(name: &str, noun: &str, position: usize) -> String {
    if name.is_empty() { format!("{noun} {position}") } else { format!("`{name}`") }
}

#[cfg(test)]
mod tests {
    use search::Part;
    use timetable::{LinkId, Mode, ResourceId, Task};

    use super::*;

    #[test]
    fn of_many_rules_the_rare_kinds_come_first_and_the_rest_is_counted() {
        let task = |number: usize| {
            let mut task = Task::new(format!("job {number}"), Mode::elapsed(1, vec![]));
            task.deadline = (number == 70).then_some(9);
            task
        };
        let links =
            (0..50).map(|number| Link::after(TaskId::new(number), TaskId::new(70)));
        let crew = timetable::Resource {
            name: "crew".to_owned(),
            capacity: timetable::Profile::constant(2),
        };
        let tasks: Vec<Task> = (0..71).map(task).collect();
        let problem =
            Problem::new(99, tasks, vec![crew], vec![], links.collect(), vec![]).unwrap();
        let mut parts: Vec<Part> =
            (0..71).map(|number| Part::Task(TaskId(number))).collect();
        parts.push(Part::Deadline(TaskId(70)));
        parts.extend((0..50).map(|number| Part::Link(LinkId(number))));
        parts.push(Part::Capacity(ResourceId(0)));
        let told = conflict(&problem, &Conflict { parts, minimal: false });
        assert_eq!(told[0], "`job 70` finishes by tick 9");
        assert_eq!(told[1], "there are at most 2 of `crew`");
        assert_eq!(told.len(), TOLD + 1);
        let rest = "and 12 more of lags, 71 more of tasks and what they take";
        assert_eq!(told[TOLD], rest);
        let few =
            Conflict { parts: vec![Part::Task(TaskId(3)), Part::Horizon], minimal: true };
        assert!(self::conflict(&problem, &few)[0].starts_with("`job 3` takes"));
    }
}
