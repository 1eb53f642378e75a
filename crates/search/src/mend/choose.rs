//! Which tasks are taken out of the best schedule, to be done anew.
//!
//! In the middle is a task that is late or, if no less can be late, one that is dear, away from the
//! published plan or the last one; now and then any. The shapes of what lies around it:
//!
//! - *time*: what is near in time;
//! - *queue*: what uses the same resources, near in time;
//! - *kin*: what is near along the lags;
//! - *rivals*: of a late task what comes before it, and what takes up, while that waits, what
//!   it needs, with its own kin; so two jobs for one stand can change places.
//!
//! Of a late task the shape is drawn by what each has gained lately for the work that it took.

use rand::RngExt;
use timetable::Tick;

use super::Mender;
use crate::arc::{is_finish, task_of};
use crate::exact::Levels;
use crate::lots::by_gain;
use crate::patch::Layout;

/// How many shapes there are.
pub(super) const SHAPES: usize = 4;
const QUEUE: usize = 1;
const KIN: usize = 2;
const RIVALS: usize = 3;

/// A rival comes with so many of its kin.
const WITH_KIN: usize = 12;

/// Tasks to take out.
#[derive(Debug)]
pub(super) struct Part {
    pub(super) tasks: Vec<usize>,
    /// The shape that is to be judged by what comes of it.
    shape: Option<usize>,
}

impl Mender<'_> {
    /// Tasks to take out.
    pub(super) fn part(&mut self, layout: &Layout, levels: Levels) -> Part {
        let size = (self.size[0] as usize).max(1);
        let (centre, suffers) = self.centre(layout, levels);
        let late = suffers && levels[0] > self.least_late;
        let shape = if late {
            by_gain(&self.gain, |_| true, &mut self.rng)
        } else {
            self.rng.random_range(0..RIVALS)
        };
        let tasks = if shape == RIVALS {
            self.rivals(layout, centre, size)
        } else {
            self.near(layout, levels, centre, (shape, size))
        };
        Part { tasks, shape: late.then_some(shape) }
    }

    /// Judges the shape of a part by whether less is late now, and by how many conflicts that took.
    pub(super) fn credit(&mut self, part: &Part, less: bool, conflicts: u64) {
        let Some(shape) = part.shape else { return };
        // To make a part a problem and to look at it once takes some time too.
        let cost = 20.0 + conflicts as f64 + part.tasks.len() as f64 / 4.0;
        let rate = if less { 100.0 / cost } else { 0.0 };
        self.gain[shape] += 0.05 * (rate - self.gain[shape]);
    }

    /// Tasks near one: in time, among those that share a resource with it, or along the lags.
    fn near(
        &mut self,
        layout: &Layout,
        levels: Levels,
        centre: usize,
        (shape, size): (usize, usize),
    ) -> Vec<usize> {
        let (from, until) = layout.span[centre];
        let distance = |task: usize| {
            let (start, finish) = layout.span[task];
            (start - until).max(from - finish).max(0)
        };
        let free = |task: &usize| self.model.acts[*task].fixed.is_none();
        let mut near: Vec<usize> = (0..layout.span.len()).filter(free).collect();
        let mut bonus = vec![0; layout.span.len()];
        if shape == QUEUE || shape == KIN {
            self.favour(centre, shape == QUEUE, &mut bonus);
        }
        let scatter = self.rng.random_range(1..=1 + levels[2].max(1) / 20) as Tick;
        let key: Vec<Tick> = (0..layout.span.len())
            .map(|task| distance(task) + bonus[task] + self.rng.random_range(0..=scatter))
            .collect();
        near.sort_by_key(|&task| (task != centre, key[task], task));
        near.truncate(size);
        near
    }

    /// What comes before a task, and what is in the way of that.
    fn rivals(&mut self, layout: &Layout, centre: usize, size: usize) -> Vec<usize> {
        let mut group = Group::new(self.model.count());
        group.gather(self, centre, (3 * size / 10).max(2), false);
        for _ in 0..6 * size {
            if group.list.len() >= size {
                break;
            }
            let task = group.list[self.rng.random_range(0..group.list.len())];
            if let Some(rival) = self.rival(layout, task, &group.taken) {
                let most = WITH_KIN.min(size - group.list.len());
                group.gather(self, rival, most, true);
            }
        }
        group.list
    }

    /// One of the tasks that take up what a task needs while it waits, or that begin or end what
    /// does; none if it waits for nothing but others before it.
    fn rival(&mut self, layout: &Layout, task: usize, taken: &[bool]) -> Option<usize> {
        let model = self.model;
        let start = layout.span[task].0;
        let early = self.could_start(layout, task);
        let act = &model.acts[task];
        let uses = &act.ways[usize::from(layout.way[task])].uses;
        let count = uses.len() + act.opens.len();
        if early >= start || count == 0 {
            return None;
        }
        let drawn = self.rng.random_range(0..count);
        let resource = match uses.get(drawn) {
            Some(entry) => entry.resource,
            None => model.holds[act.opens[drawn - uses.len()]].resource,
        };
        let meets = |from: Tick, until: Tick| until > early && from < start;
        let uses = |&other: &usize| {
            let way = &model.acts[other].ways[usize::from(layout.way[other])];
            let (from, until) = layout.span[other];
            meets(from, until) && way.uses.iter().any(|entry| entry.resource == resource)
        };
        let users = (0..model.count()).filter(uses);
        let holds = model.holds.iter().filter(|hold| {
            hold.resource == resource
                && meets(layout.tick(hold.from), layout.tick(hold.to))
        });
        let holders = holds.flat_map(|hold| [task_of(hold.from), task_of(hold.to)]);
        let free = |&other: &usize| !taken[other] && model.acts[other].fixed.is_none();
        let found: Vec<usize> = users.chain(holders).filter(free).collect();
        (!found.is_empty()).then(|| found[self.rng.random_range(0..found.len())])
    }

    /// When a task could start if it waited for nothing but the tasks before it.
    fn could_start(&self, layout: &Layout, task: usize) -> Tick {
        let (start, finish) = layout.span[task];
        let after = self.model.into[task].iter().map(|&number| {
            let arc = &self.model.arcs[number];
            let tick = arc.earliest(layout.tick(arc.from));
            if is_finish(arc.to) { tick - (finish - start) } else { tick }
        });
        after.max().unwrap_or(0).max(self.model.windows.early[2 * task])
    }

    /// Makes tasks seem farther that share no resource with a task, or are no neighbours of it
    /// along the lags.
    fn favour(&self, centre: usize, resources: bool, bonus: &mut [Tick]) {
        const FAR: Tick = 1 << 28;
        let model = self.model;
        if resources {
            let uses = |task: usize, resource: usize| {
                model.acts[task]
                    .ways
                    .iter()
                    .any(|way| way.uses.iter().any(|entry| entry.resource == resource))
            };
            let wanted: Vec<usize> =
                (0..model.static_free.len()).filter(|&r| uses(centre, r)).collect();
            for (task, bonus) in bonus.iter_mut().enumerate() {
                *bonus = if wanted.iter().any(|&r| uses(task, r)) { 0 } else { FAR };
            }
            return;
        }
        bonus.fill(FAR);
        let mut open = vec![centre];
        bonus[centre] = 0;
        while let Some(task) = open.pop() {
            let depth = bonus[task] + 1;
            if depth > 3 {
                continue;
            }
            let ends = model.out[task].iter().map(|&arc| task_of(model.arcs[arc].to));
            let begins =
                model.into[task].iter().map(|&arc| task_of(model.arcs[arc].from));
            for other in ends.chain(begins) {
                if bonus[other] > depth {
                    bonus[other] = depth;
                    open.push(other);
                }
            }
        }
    }

    /// The task around which others are taken out, and whether it suffers.
    fn centre(&mut self, layout: &Layout, levels: Levels) -> (usize, bool) {
        let problem = self.model.problem;
        // What is no less late in any schedule needs no attention.
        let settled = levels[0] <= self.least_late;
        let suffers = |&task: &usize| {
            let (data, act) = (&problem.tasks()[task], &self.model.acts[task]);
            let (start, finish) = layout.span[task];
            let late = data.due.is_some_and(|due| finish > due.at);
            let away = data.published.is_some_and(|p| p.weight > 0 && p.start != start);
            let way = usize::from(layout.way[task]);
            let dear = act.ways.iter().any(|other| other.cost < act.ways[way].cost);
            let last = i64::from(finish) == levels[2];
            let wanting = if settled { away || dear || last } else { late };
            act.fixed.is_none() && wanting
        };
        let all = 0..layout.span.len();
        let suffering: Vec<usize> = all.clone().filter(suffers).collect();
        if suffering.is_empty() || self.rng.random_ratio(1, 4) {
            (self.rng.random_range(all), false)
        } else {
            (suffering[self.rng.random_range(0..suffering.len())], true)
        }
    }
}

/// Tasks that are gathered.
struct Group {
    taken: Vec<bool>,
    list: Vec<usize>,
}

impl Group {
    fn new(count: usize) -> Self {
        Self { taken: vec![false; count], list: Vec::new() }
    }

    /// Takes a task and so many at most with it that come before it, or that hang together with it.
    fn gather(&mut self, mender: &Mender, task: usize, most: usize, after: bool) {
        let model = mender.model;
        let mut at = self.list.len();
        let end = at + most;
        self.take(task);
        while at < self.list.len() && self.list.len() < end {
            let task = self.list[at];
            at += 1;
            let out = if after { &model.out[task][..] } else { &[] };
            let into = model.into[task].iter().map(|&arc| task_of(model.arcs[arc].from));
            let out = out.iter().map(|&arc| task_of(model.arcs[arc].to));
            let others = into.chain(out);
            for other in others {
                if self.list.len() < end && model.acts[other].fixed.is_none() {
                    self.take(other);
                }
            }
        }
    }

    fn take(&mut self, task: usize) {
        if !std::mem::replace(&mut self.taken[task], true) {
            self.list.push(task);
        }
    }
}

#[cfg(test)]
mod tests {
    use timetable::{
        Due, Event, Link, Mode, Occupancy, Problem, Profile, Resource, ResourceId, Task,
        TaskId,
    };

    use super::*;
    use crate::model::Model;

    /// Three jobs of two tasks each. Two of them want the same stand from their beginning to
    /// their end, the second is due; the third has nothing to do with them.
    fn jobs() -> Problem {
        let mut tasks = vec![Task::new("t", Mode::elapsed(5, Vec::new())); 6];
        tasks[3].due = Some(Due { at: 10, weight: 1 });
        let links = [0, 2, 4].map(|a| Link::after(TaskId::new(a), TaskId::new(a + 1)));
        let held = [0, 2].map(|a| Occupancy {
            resource: ResourceId(0),
            amount: 1,
            from: Event::start(TaskId::new(a)),
            to: Event::finish(TaskId::new(a + 1)),
        });
        let stand = Resource { name: "stand".to_owned(), capacity: Profile::constant(1) };
        Problem::new(60, tasks, vec![stand], vec![], links.to_vec(), held.to_vec())
            .unwrap()
    }

    /// The two jobs for the stand one after the other, and the third one until a tick.
    fn one_after_the_other(until: Tick) -> Layout {
        let third = [(0, 5), (until - 5, until)];
        let span = [(0, 5), (5, 10), (10, 15), (15, 20)].into_iter().chain(third);
        Layout { span: span.collect(), way: vec![0; 6] }
    }

    #[test]
    fn what_holds_the_stand_comes_along() {
        let problem = jobs();
        let model = Model::new(&problem);
        let layout = one_after_the_other(10);
        for seed in 0..20 {
            let mut mender = Mender::new(&model, None, seed);
            assert_eq!(mender.could_start(&layout, 2), 0);
            let mut tasks = mender.rivals(&layout, 3, 6);
            tasks.sort_unstable();
            assert_eq!(tasks, [0, 1, 2, 3], "seed {seed}");
        }
    }

    #[test]
    fn what_can_be_no_less_late_is_left_alone() {
        let problem = jobs();
        let model = Model::new(&problem);
        let layout = one_after_the_other(35);
        let centres = |mender: &mut Mender| {
            let drawn = (0..200).map(|_| mender.centre(&layout, [10, 0, 35]));
            drawn.filter(|centre| centre.1).map(|centre| centre.0).collect::<Vec<_>>()
        };
        let mut mender = Mender::new(&model, None, 1);
        assert!(centres(&mut mender).iter().all(|&task| task == 3));
        mender.hear_late(10);
        let settled = centres(&mut mender);
        assert!(settled.len() > 100 && settled.iter().all(|&task| task == 5));
    }

    #[test]
    fn what_gains_is_drawn_more_often() {
        let problem = jobs();
        let model = Model::new(&problem);
        let mut mender = Mender::new(&model, None, 1);
        for _ in 0..40 {
            let part = |shape| Part { tasks: vec![0; 8], shape: Some(shape) };
            mender.credit(&part(KIN), true, 10);
            mender.credit(&part(QUEUE), true, 90);
            mender.credit(&part(RIVALS), false, 10);
        }
        mender.credit(&Part { tasks: vec![0], shape: None }, true, 0);
        let mut drawn = [0; SHAPES];
        for _ in 0..1_000 {
            drawn[by_gain(&mender.gain, |_| true, &mut mender.rng)] += 1;
        }
        assert!(
            drawn[KIN] > 2 * drawn[QUEUE] && drawn[QUEUE] > drawn[RIVALS],
            "{drawn:?}"
        );
        assert!(drawn[RIVALS] > 20, "{drawn:?}");
    }
}
