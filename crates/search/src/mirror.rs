//! The same problem with time running backwards.
//!
//! With `H` the horizon, an event at `t` becomes the other end of its task at `H - t`.
//! Links and occupancies change the direction, releases and deadlines change places,
//! calendars and capacities are read from their ends. A schedule is lawful if and only if
//! its mirror image is: pausing work starts in an open tick and ends after one, so it looks
//! the same from both sides. Decoding the mirror image therefore pushes every task as late
//! as it can go, and decoding once more forwards closes the gaps: forward-backward
//! improvement, or double justification.
//!
//! Source: V. Valls, F. Ballestín, S. Quintanilla, *Justification and RCPSP: a technique
//! that pays*, European J. Operational Research 165 (2005) 375-386 (from memory).

use timetable::{
    Calendar, End, Event, Link, Occupancy, Problem, Profile, Progress, Resource, Task,
    Tick, Window,
};

use crate::model::settled;

/// The mirror image; nothing where it can't be written down (which costs a search only
/// an improvement).
pub(crate) fn mirrored(problem: &Problem) -> Option<Problem> {
    let horizon = problem.horizon();
    let tasks: Option<Vec<Task>> = (0..problem.tasks().len())
        .map(|task| mirror_task(problem, timetable::TaskId::new(task), horizon))
        .collect();
    let calendars: Option<Vec<Calendar>> =
        problem.calendars().iter().map(|calendar| turn(calendar, horizon)).collect();
    let resources: Option<Vec<Resource>> = problem
        .resources()
        .iter()
        .map(|resource| {
            let capacity = turn_profile(&resource.capacity, horizon)?;
            Some(Resource { name: resource.name.clone(), capacity })
        })
        .collect();
    let links = problem.links().iter().map(|link| Link {
        from: turn_event(link.to),
        to: turn_event(link.from),
        ..*link
    });
    let occupancies = problem.occupancies().iter().map(|hold| Occupancy {
        from: turn_event(hold.to),
        to: turn_event(hold.from),
        ..*hold
    });
    Problem::stocked(
        horizon,
        tasks?,
        resources?,
        problem.stocks().to_vec(),
        calendars?,
        links.collect(),
        occupancies.collect(),
    )
    .ok()
}

const fn turn_event(event: Event) -> Event {
    let end = match event.end {
        End::Start => End::Finish,
        End::Finish => End::Start,
    };
    Event { task: event.task, end }
}

fn mirror_task(problem: &Problem, id: timetable::TaskId, horizon: Tick) -> Option<Task> {
    let mut task = problem.task(id).clone();
    task.due = None;
    task.published = None;
    let deadline = task.deadline.unwrap_or(horizon).min(horizon);
    task.deadline = (task.release > 0).then_some(horizon - task.release);
    task.release = horizon - deadline;
    if let Some((fixed, lawful)) = settled(problem, id) {
        if !lawful || fixed.finish > horizon {
            return None;
        }
        let (start, finish) = (horizon - fixed.finish, horizon - fixed.start);
        task.progress = Progress::Done { mode: fixed.mode, start, finish };
        task.release = 0;
        task.deadline = None;
    }
    (task.release >= 0 && task.release <= horizon).then_some(task)
}

fn turn(calendar: &Calendar, horizon: Tick) -> Option<Calendar> {
    let inside = calendar.windows().iter().rev().filter(|window| window.from < horizon);
    let windows = inside.map(|window| Window {
        from: horizon - window.until.min(horizon),
        until: horizon - window.from,
    });
    Calendar::new(calendar.name(), windows.collect()).ok()
}

fn turn_profile(profile: &Profile, horizon: Tick) -> Option<Profile> {
    let steps = profile.steps();
    let mut turned = vec![(0, profile.at(horizon - 1))];
    for position in (1..steps.len()).rev() {
        let from = horizon - steps[position].0;
        if from > 0 {
            turned.push((from, steps[position - 1].1));
        } else {
            turned[0].1 = steps[position - 1].1;
        }
    }
    Profile::new(turned).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turning_twice_changes_nothing() {
        let windows = vec![Window { from: 1, until: 4 }, Window { from: 6, until: 9 }];
        let calendar = Calendar::new("c", windows).unwrap();
        let twice = turn(&turn(&calendar, 10).unwrap(), 10).unwrap();
        assert_eq!(twice, calendar);
        let profile = Profile::new(vec![(0, 2), (3, 0), (7, 5)]).unwrap();
        let once = turn_profile(&profile, 10).unwrap();
        for tick in 0..10 {
            assert_eq!(once.at(tick), profile.at(9 - tick), "tick {tick}");
        }
        assert_eq!(turn_profile(&once, 10).unwrap(), profile);
    }
}
