//! Why there is no lawful plan, in the programme's words.

use search::{Conflict, Part};
use timetable::TaskId;

use crate::model::{Model, ResourceRole};

/// How many rules are told one by one.
const TOLD: usize = 12;

/// The rules that cannot hold together, as sentences: which job, date, stand, people.
pub fn conflict(model: &Model<'_>, conflict: &Conflict) -> Vec<String> {
    let say = |parts: &[Part]| -> Vec<String> {
        parts.iter().filter_map(|&part| sentence(model, part)).collect()
    };
    let mut said = say(&conflict.parts);
    if let Some(more) = said.len().checked_sub(TOLD).filter(|&more| more > 0) {
        // What there is little of comes first.
        said = say(&conflict.rarest_first());
        said.truncate(TOLD);
        said.push(format!("and {more} more"));
    }
    if said.is_empty() {
        said.push("the season's work does not fit into the time there is".to_owned());
    }
    said
}

fn sentence(model: &Model<'_>, part: Part) -> Option<String> {
    let key = |task: TaskId| &model.draft.jobs[task.at()].key;
    Some(match part {
        Part::Task(task) => {
            let job = &model.draft.jobs[task.at()];
            let hours: Vec<String> = job
                .ways
                .iter()
                .map(|way| format!("{} h", way.minutes.1 as f64 / 60.0))
                .collect();
            format!("{} ({}) takes {}", job.key, job.name, hours.join(" or "))
        }
        Part::Release(task) => format!("{} cannot start before today", key(task)),
        Part::Deadline(task) => format!("{} must be done in time", key(task)),
        Part::Past(task) => format!("{} has begun or is done already", key(task)),
        Part::Link(link) => {
            let link = model.draft.links.get(link.at())?;
            let (from, to) =
                (&model.draft.jobs[link.from].key, &model.draft.jobs[link.to].key);
            match link.at_most {
                Some(most) => format!("{to} starts within {} h after {from}", most / 60),
                None => format!("{to} comes after {from}"),
            }
        }
        Part::Occupancy(held) => {
            let held = model.problem.occupancies()[held.at()];
            let stand = &model.problem.resource(held.resource).name;
            format!(
                "{stand} is held from {} to {}",
                key(held.from.task),
                key(held.to.task)
            )
        }
        Part::Calendar(calendar) => {
            let calendar = model.problem.calendar(calendar);
            let longest = calendar.windows().iter().map(|w| w.until - w.from).max();
            let longest = f64::from(longest.unwrap_or(0)) / 4.0;
            format!("there are only the {}, {longest} h at a stretch", calendar.name())
        }
        Part::Capacity(resource) => {
            let there = model.problem.resource(resource).capacity.peak();
            let name = &model.problem.resource(resource).name;
            match &model.resources[resource.at()] {
                ResourceRole::Skills(_) => {
                    format!("there are at most {there} people: {name}")
                }
                _ => format!("there is room for {there}: {name}"),
            }
        }
        Part::Stock(stock) => {
            let stock = model.problem.stock(stock);
            format!(
                "there are {} of {} for the whole season",
                stock.available, stock.name
            )
        }
        Part::Horizon => {
            let end = model.grid.moment(model.grid.horizon());
            format!("all must be done by {}, when the plan ends", end.date())
        }
    })
}
