//! Is this schedule lawful for this problem?
//!
//! [`check`] holds a schedule against every rule of its problem and returns a [`Note`] for
//! each breach; no note means that the schedule is lawful. It is written from the rules as
//! `timetable` states them and from nothing else. What it needs to count (open ticks,
//! finishes, use of resources) it counts itself, in 64 bits, so that a mistake in what an
//! engine counts with shows here instead of being repeated.
//!
//! # What is judged
//!
//! Of a task that is still to do: its mode exists; it starts at tick 0 or later and not
//! before its release; it finishes by its deadline and the horizon; its start, work and
//! finish agree with the pace of its mode and its calendar. Then each lag of each link,
//! the order of the ends of each occupancy, each resource at each tick, and each stock.
//!
//! # The past
//!
//! The mode, start and finish of a task that is started or done follow from facts. Here
//! such a task is *settled*, and so are its two events.
//!
//! - The schedule must repeat what happened; it is a breach if it doesn't.
//! - A task that is done is held to nothing else. One that is started is no longer held to
//!   its release or to tick 0, but its finish must be the one that follows from `resume` and
//!   `left`, the rest of an unbroken mode must lie in open ticks, and it is held to its
//!   deadline and the horizon: a plan that is past saving should say so.
//! - A link or an occupancy between two settled events is not judged.
//! - Some use of resources is in every schedule: that of settled tasks, that of an
//!   occupancy between settled events, and that of an occupancy from a settled event to an
//!   event of a task still to do, until the release of that task. Where nothing else uses a
//!   resource, its capacity is not judged. Where anything else does, all use counts.
//! - Settled tasks have taken of stocks what their modes take. Where no other task takes of
//!   a stock, it is not judged. Where one does, all that is taken counts.
//!
//! # Which notes come together
//!
//! If the number of assignments is wrong, nothing else is judged. A task in a mode that
//! does not exist is not held to a pace and uses nothing. A start before tick 0 is not also
//! called too early for a release. A stretch of time in which a resource is short without
//! a break is one note.
//!
//! **Never knows**: any solver, aircraft, people, the wall clock.

mod capacity;
mod case;
mod hours;
mod links;
mod note;
mod sentence;
mod stocks;
mod tasks;

pub use note::{Happened, Note, Rule, Severity, Taken, Use, User};

use case::Case;
use timetable::{Problem, Schedule};

/// Holds a schedule against every rule of its problem. No note means that it is lawful.
///
/// The notes come in the order of tasks, then links, occupancies, resources and stocks, those
/// of a resource in order of time. Any schedule can be checked, whatever its numbers.
pub fn check(problem: &Problem, schedule: &Schedule) -> Vec<Note> {
    let (expected, found) = (problem.tasks().len(), schedule.assignments.len());
    let mut rules = Vec::new();
    if expected == found {
        let case = Case::new(problem, schedule);
        tasks::check(&case, &mut rules);
        links::check(&case, &mut rules);
        capacity::check(&case, &mut rules);
        stocks::check(&case, &mut rules);
    } else {
        rules.push(Rule::WrongNumberOfTasks { expected, found });
    }
    rules.into_iter().map(|rule| Note::new(problem, rule)).collect()
}
