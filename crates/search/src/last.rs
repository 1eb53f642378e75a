//! The task with which everything is over.
//!
//! A season has a job that waits for all others, such as handing the aircraft over, and a
//! promise is given for it. As soon as the promise is missed, tardiness is what is looked at
//! first; but where nothing else is late, that is the length in other words, and whatever
//! shortens schedules, or proves that they can't be shorter, goes for it.
//!
//! Worked case. `a` of 4 ticks, and `b` of 2, are followed by `c` of 1, due at 3 with a weight of 10. A
//! crew of one does `a` and `b`: no schedule is shorter than 7, so tardiness is 40 at least.

use std::borrow::Cow;

use timetable::{Problem, Tick};

use crate::Bound;
use crate::arc::{is_finish, task_of};
use crate::model::Model;
use crate::steps::FAR;

/// A task that is due or has a deadline, and with which everything is over in every lawful
/// schedule, but for what is fixed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Last {
    pub(crate) task: usize,
    due: Tick,
    weight: i64,
    /// [`FAR`] if it has none.
    deadline: Tick,
    /// When the last of what is fixed is over.
    fixed: Tick,
    /// By how much all others are late at least, by their earliest times.
    others: i64,
}

impl Last {
    /// The last task of a model, if there is one and it is due or has a deadline.
    pub(crate) fn of(model: &Model) -> Option<Self> {
        let fixed = model.acts.iter().filter_map(|act| act.fixed).map(|run| run.finish);
        let fixed = fixed.max().unwrap_or(0);
        // Nothing can end later, so nothing ends later at the earliest.
        let early = |task: usize| model.windows.early[2 * task + 1];
        let loose = |&task: &usize| model.acts[task].fixed.is_none();
        let tasks = || (0..model.count()).filter(loose);
        let most = tasks().map(early).max()?;
        let mut promised =
            tasks().filter(|&task| early(task) == most).filter_map(|task| {
                let data = &model.problem.tasks()[task];
                let (due, weight) = data.due.map_or((FAR, 0), |due| (due.at, due.weight));
                let (weight, deadline) =
                    (i64::from(weight), data.deadline.unwrap_or(FAR));
                let promised = weight > 0 || deadline < FAR;
                promised.then_some(Self { task, due, weight, deadline, fixed, others: 0 })
            });
        let last = promised.find(|last| last.ends_all(model))?;
        Some(Self { others: last.others(model), ..last })
    }

    fn others(&self, model: &Model) -> i64 {
        let early = &model.windows.early;
        let late = model.problem.tasks().iter().enumerate().filter_map(|(task, data)| {
            let due = data.due.filter(|_| task != self.task)?;
            let late = (early[2 * task + 1] - due.at).max(0);
            Some(i64::from(late) * i64::from(due.weight))
        });
        late.sum()
    }

    /// Whether nothing can end after it.
    fn ends_all(&self, model: &Model) -> bool {
        let finish = 2 * self.task + 1;
        let mut before = vec![false; 2 * model.count()];
        let mut open = vec![finish];
        before[finish] = true;
        while let Some(event) = open.pop() {
            let arcs =
                model.into[task_of(event)].iter().map(|&number| &model.arcs[number]);
            let held = arcs.filter(|arc| {
                arc.to == event && arc.implied().is_some_and(|lag| lag >= 0)
            });
            let start = is_finish(event).then(|| event - 1);
            for earlier in held.map(|arc| arc.from).chain(start) {
                if !std::mem::replace(&mut before[earlier], true) {
                    open.push(earlier);
                }
            }
        }
        (0..model.count())
            .all(|task| model.acts[task].fixed.is_some() || before[2 * task + 1])
    }

    /// Its tardiness in schedules of a length, or of any greater one at least; nothing where that
    /// may be the length of what is fixed.
    pub(crate) fn tardiness(&self, length: Tick) -> i64 {
        if self.ends(length) {
            i64::from((length - self.due).max(0)) * self.weight
        } else {
            0
        }
    }

    /// By how much its deadline is broken in schedules of a length.
    pub(crate) fn breach(&self, length: Tick) -> i64 {
        if self.ends(length) { i64::from((length - self.deadline).max(0)) } else { 0 }
    }

    /// Whether schedules of a length, or of any greater one, end with it and not with what is fixed.
    pub(crate) const fn ends(&self, length: Tick) -> bool {
        length > self.fixed
    }
}

/// What a breach and a tardiness have beside that which is the length in other words.
pub(crate) fn beside(
    last: Option<Last>,
    (breach, tardiness): (i64, i64),
    length: Tick,
) -> (i64, i64) {
    last.map_or((breach, tardiness), |last| {
        (breach - last.breach(length), tardiness - last.tardiness(length))
    })
}

/// The problem without the deadline of its last task.
pub(crate) fn without_end(problem: &Problem, last: Option<Last>) -> Cow<'_, Problem> {
    let Some(last) = last.filter(|last| last.deadline < FAR) else {
        return Cow::Borrowed(problem);
    };
    let mut tasks = problem.tasks().to_vec();
    tasks[last.task].deadline = None;
    problem.with_tasks(tasks).map_or(Cow::Borrowed(problem), Cow::Owned)
}

/// Draws from a bound on the length what that means for tardiness.
pub(crate) fn tighten(last: Option<Last>, bound: &mut Bound) {
    if let Some(last) = last {
        let tardiness = last.others + last.tardiness(bound.length);
        bound.tardiness = bound.tardiness.max(tardiness);
    }
}

#[cfg(test)]
mod tests {
    use timetable::{
        Demand, Due, Event, Link, Measures, Mode, Problem, Profile, Resource, ResourceId,
        Task, TaskId,
    };

    use super::*;
    use crate::solve::search_only;
    use crate::tiny::{Verdict, enumerate};
    use crate::{Outcome, Stop, sample};

    fn task(work: Tick, crew: bool) -> Task {
        let demands =
            if crew { vec![Demand::throughout(ResourceId(0), 1)] } else { vec![] };
        Task::new("t", Mode::elapsed(work, demands))
    }

    fn worked(links: Vec<Link>) -> Problem {
        let mut tasks = vec![task(4, true), task(2, true), task(1, false)];
        tasks[2].due = Some(Due { at: 3, weight: 10 });
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(1) };
        Problem::new(40, tasks, vec![crew], vec![], links, vec![]).unwrap()
    }

    fn after(a: usize, b: usize) -> Link {
        Link::after(TaskId::new(a), TaskId::new(b))
    }

    #[test]
    fn the_worked_case() {
        let problem = worked(vec![after(0, 2), after(1, 2)]);
        let model = Model::new(&problem);
        let last = model.last.unwrap();
        assert_eq!((last.task, last.tardiness(7), last.tardiness(3)), (2, 40, 0));
        let bound = crate::bounds::bound(&model);
        assert_eq!((bound.length, bound.tardiness), (7, 40));
        assert_eq!(
            (beside(Some(last), (3, 40), 7), beside(None, (3, 55), 7)),
            ((3, 0), (3, 55))
        );
    }

    #[test]
    fn a_task_is_not_the_last_if_another_may_end_after_it() {
        let last =
            |links: Vec<Link>| Model::new(&worked(links)).last.map(|last| last.task);
        assert_eq!(last(vec![after(0, 1), after(1, 2)]), Some(2));
        assert_eq!(last(vec![after(0, 2)]), None);
        let starts =
            Link { from: Event::start(TaskId(1)), ..Link::after(TaskId(1), TaskId(2)) };
        assert_eq!(last(vec![after(0, 2), starts]), None);
        let overlaps = Link { least: Some(-1), ..after(1, 2) };
        assert_eq!(last(vec![after(0, 2), overlaps]), None);
    }

    /// A drawn problem with one task more that waits for all others and is due.
    fn with_last(seed: u64) -> Option<Problem> {
        let drawn = sample::problem(seed, 3, 14);
        let mut tasks = drawn.tasks().to_vec();
        for task in &mut tasks {
            task.due = task.due.filter(|_| seed.is_multiple_of(3));
        }
        let end = tasks.len();
        let mut last = task((seed % 3) as Tick, false);
        last.due = Some(Due { at: (seed % 11) as Tick, weight: 2 });
        tasks.push(last);
        let mut links = drawn.links().to_vec();
        links.extend((0..end).map(|task| after(task, end)));
        let problem = Problem::new(
            drawn.horizon() + 4,
            tasks,
            drawn.resources().to_vec(),
            drawn.calendars().to_vec(),
            links,
            drawn.occupancies().to_vec(),
        );
        problem.ok()
    }

    /// Nothing better than what is proven is ever found, and what is called optimal is the best of
    /// all schedules.
    #[test]
    fn nothing_false_is_drawn_from_the_length() {
        let (mut seen, mut late, mut closed) = (0, 0, 0);
        for problem in (0..6_000).filter_map(with_last) {
            let model = Model::new(&problem);
            let (Some(last), None) = (model.last, model.windows.failed) else {
                continue;
            };
            let Verdict::Best(schedule) = enumerate(&model, &|| false) else {
                continue;
            };
            let best = Measures::of(&problem, &schedule);
            let bound = crate::bounds::bound(&model);
            assert!(bound.tardiness <= best.tardiness, "{bound:?} {best:?} {problem:#?}");
            assert!(beside(Some(last), (0, best.tardiness), best.length) >= (0, 0));
            let options = crate::Options {
                stop: Stop::after_steps(60),
                ..crate::Options::default()
            };
            if let Outcome::Optimal { measures, .. } = search_only(&problem, &options) {
                assert_eq!(measures.key(), best.key(), "{problem:#?}");
                closed += 1;
            }
            late += usize::from(last.tardiness(best.length) > 0);
            seen += 1;
        }
        assert!(seen > 500 && late > 200 && closed > 300, "{seen} {late} {closed}");
    }
}
