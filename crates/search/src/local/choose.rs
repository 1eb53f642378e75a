//! Which tasks a move takes.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;

use super::{Kind, Local};
use crate::arc::{is_finish, task_of};

/// So many looks at the users of a resource find one that stands in the way, mostly.
const LOOKS: usize = 24;
/// So far back from a task an occupancy is looked for that it lies in.
const BACK: usize = 12;

impl Local<'_> {
    /// Chooses the tasks of a move, and those that stand against them.
    pub(super) fn choose(&mut self, kind: Kind, seed: usize, rng: &mut Pcg64Mcg) {
        let reach = [10, 10, 10, 24, 24, 60][rng.random_range(0..6)];
        let most = 3 + rng.random_range(0..reach).min(self.loose.len() / 2);
        match kind {
            Kind::Window | Kind::Slide => self.choose_window(seed, most, rng),
            Kind::Queue => self.choose_queue(seed, most, rng),
            Kind::Chain => self.choose_chain(seed, most, rng),
            Kind::Stand => self.choose_stand(seed, most, rng),
            Kind::Group => self.choose_group(seed, most, rng),
            Kind::Mode => self.choose_chain(seed, most / 2, rng),
        }
    }

    /// Tasks that start about when another does, or before.
    fn choose_window(&mut self, seed: usize, most: usize, rng: &mut Pcg64Mcg) {
        let width = rng.random_range(most..=4 * most).min(self.order.len());
        let back = rng.random_range(width / 2..=width);
        let from = (self.place[seed] as usize).saturating_sub(back);
        let until = (from + width).min(self.order.len());
        self.chosen.push(seed);
        self.chosen.extend_from_slice(&self.order[from..until]);
        self.thin_out(1, most, rng);
    }

    /// Tasks of a list that start near another in time.
    fn choose_near(
        &mut self,
        seed: usize,
        list: &[usize],
        most: usize,
        rng: &mut Pcg64Mcg,
    ) {
        let span = &self.board.span;
        let length = i64::from(self.board.worth.length.max(1));
        let share = (4 * most) as i64;
        // So wide that about so many lie in it, if they are spread evenly.
        let width = (length * share / (list.len() as i64 + 1)).clamp(1, length);
        let width = 1 + rng.random_range(0..=width);
        let centre =
            i64::from(span[seed].0) - width / 2 + rng.random_range(0..=width / 2);
        let near = |&task: &usize| {
            let start = i64::from(span[task].0);
            (centre..=centre + width).contains(&start)
                && self.model.acts[task].fixed.is_none()
        };
        let from = self.chosen.len();
        self.chosen.push(seed);
        self.chosen.extend(list.iter().copied().filter(near));
        self.thin_out(from + 1, most, rng);
    }

    /// Leaves so many of the chosen tasks from a position on.
    fn thin_out(&mut self, from: usize, most: usize, rng: &mut Pcg64Mcg) {
        let count = self.chosen.len() - from;
        for position in 0..most.min(count) {
            let other = rng.random_range(position..count);
            self.chosen.swap(from + position, from + other);
        }
        self.chosen.truncate(from + most);
    }

    /// A resource that a task uses or holds.
    fn resource_of(&self, task: usize, rng: &mut Pcg64Mcg) -> Option<usize> {
        let act = &self.model.acts[task];
        let way = &act.ways[usize::from(self.board.way[task])];
        let holds = act.opens.iter().chain(&act.closes);
        let count = way.uses.len() + act.opens.len() + act.closes.len();
        if count == 0 {
            return None;
        }
        let drawn = rng.random_range(0..count);
        let used = way.uses.get(drawn).map(|entry| entry.resource);
        used.or_else(|| {
            let mut holds = holds.skip(drawn - way.uses.len());
            holds.next().map(|&hold| self.model.holds[hold].resource)
        })
    }

    fn choose_queue(&mut self, seed: usize, most: usize, rng: &mut Pcg64Mcg) {
        let Some(resource) = self.resource_of(seed, rng) else {
            self.chosen.push(seed);
            return;
        };
        let mut list: Vec<usize> =
            self.board.users[resource].iter().map(|&task| task as usize).collect();
        for &hold in &self.board.holders[resource] {
            let hold = self.model.holds[hold as usize];
            list.extend([task_of(hold.from), task_of(hold.to)]);
        }
        self.choose_near(seed, &list, most, rng);
    }

    /// A task, what it waits for the longest, and so on: to move the end of such a chain all of
    /// it has to move. Beside each, somebody who uses what it needs.
    fn choose_chain(&mut self, seed: usize, most: usize, rng: &mut Pcg64Mcg) {
        let model = self.model;
        let mut task = seed;
        for _ in 0..most {
            self.chosen.push(task);
            self.rivals.extend(self.blocker(task, rng));
            let into = &model.into[task];
            if into.is_empty() {
                break;
            }
            let any = task_of(model.arcs[into[rng.random_range(0..into.len())]].from);
            let next =
                if rng.random_ratio(7, 8) { self.binding(task) } else { Some(any) };
            match next.filter(|&next| model.acts[next].fixed.is_none()) {
                Some(next) if !self.chosen.contains(&next) => task = next,
                _ => break,
            }
        }
    }

    /// The task that one waits for the longest.
    fn binding(&self, task: usize) -> Option<usize> {
        let (model, board) = (self.model, &self.board);
        let lasts = board.span[task].1 - board.span[task].0;
        let start = |arc: &&usize| {
            let arc = &model.arcs[**arc];
            let tick = arc.earliest(board.tick(arc.from));
            if is_finish(arc.to) { tick - lasts } else { tick }
        };
        let last = model.into[task].iter().max_by_key(start);
        last.map(|&arc| task_of(model.arcs[arc].from))
    }

    /// A task that uses what another needs, before it.
    fn blocker(&self, task: usize, rng: &mut Pcg64Mcg) -> Option<usize> {
        let resource = self.resource_of(task, rng)?;
        let (start, finish) = self.board.span[task];
        let reach = start - 2 * (finish - start).max(1) - 8;
        let (users, holders) =
            (&self.board.users[resource], &self.board.holders[resource]);
        let count = users.len() + holders.len();
        let first = rng.random_range(0..count.max(1));
        let found =
            (0..count.min(LOOKS)).map(|look| (first + look) % count).find_map(|at| {
                let (other, span) = if let Some(&other) = users.get(at) {
                    (other as usize, self.board.span[other as usize])
                } else {
                    let hold = holders[at - users.len()] as usize;
                    (task_of(self.model.holds[hold].from), self.board.booked[hold])
                };
                (other != task && span.0 < start && span.1 > reach).then_some(other)
            });
        found.filter(|&other| self.model.acts[other].fixed.is_none())
    }

    /// An occupancy of which a task is part, or any, and another of the same resource, mostly
    /// one that lasts until about when the first begins.
    fn choose_stand(&mut self, seed: usize, most: usize, rng: &mut Pcg64Mcg) {
        let holds = self.model.holds.len();
        let first =
            self.hold_about(seed, rng).unwrap_or_else(|| rng.random_range(0..holds));
        self.choose_hold(first, most, rng);
        let count = self.chosen.len();
        if let Some(second) = self.holder_before(first, rng) {
            self.choose_hold(second, most, rng);
            self.rivals.extend(self.chosen.drain(count..));
        }
    }

    /// An occupancy that a task begins or ends or, if it does neither, one of the tasks that it
    /// waits for: that is where what lies between was held up.
    fn hold_about(&self, seed: usize, rng: &mut Pcg64Mcg) -> Option<usize> {
        let mut task = seed;
        for _ in 0..BACK {
            let act = &self.model.acts[task];
            let count = act.opens.len() + act.closes.len();
            if count > 0 {
                let drawn = rng.random_range(0..count);
                return act.opens.iter().chain(&act.closes).nth(drawn).copied();
            }
            let into = &self.model.into[task];
            if into.is_empty() {
                return None;
            }
            task = task_of(self.model.arcs[into[rng.random_range(0..into.len())]].from);
        }
        None
    }

    /// Another occupancy of the resource of one: any, or of some looked at the one that lasts
    /// longest before the first begins.
    fn holder_before(&self, first: usize, rng: &mut Pcg64Mcg) -> Option<usize> {
        let holders = &self.board.holders[self.model.holds[first].resource];
        let begin = self.board.booked[first].0;
        let start = rng.random_range(0..holders.len());
        let looks = if rng.random_ratio(1, 4) { 1 } else { holders.len().min(LOOKS) };
        let before = |&other: &usize| {
            let (from, until) = self.board.booked[other];
            if from < begin { (true, until.min(begin)) } else { (false, -from) }
        };
        (0..looks)
            .map(|look| holders[(start + look) % holders.len()] as usize)
            .filter(|&other| other != first)
            .max_by_key(before)
    }

    /// Tasks that hang together with one, by arcs.
    fn choose_group(&mut self, seed: usize, most: usize, rng: &mut Pcg64Mcg) {
        let model = self.model;
        let from = self.chosen.len();
        self.chosen.push(seed);
        let mut tries = 4 * most;
        while self.chosen.len() < from + most && tries > 0 {
            tries -= 1;
            let task = self.chosen[rng.random_range(from..self.chosen.len())];
            let (into, out) = (&model.into[task], &model.out[task]);
            if into.is_empty() && out.is_empty() {
                continue;
            }
            let drawn = rng.random_range(0..into.len() + out.len());
            let other = match into.get(drawn) {
                Some(&arc) => task_of(model.arcs[arc].from),
                None => task_of(model.arcs[out[drawn - into.len()]].to),
            };
            if model.acts[other].fixed.is_none() && !self.chosen[from..].contains(&other)
            {
                self.chosen.push(other);
            }
        }
        if let Some(blocker) = self.blocker(seed, rng)
            && !self.chosen.contains(&blocker)
        {
            self.rivals.push(blocker);
        }
    }

    /// The two ends of an occupancy, and what lies on ways from one to the other.
    fn choose_hold(&mut self, hold: usize, most: usize, rng: &mut Pcg64Mcg) {
        let hold = self.model.holds[hold];
        let (from, to) = (task_of(hold.from), task_of(hold.to));
        let until = self.board.span[to].1;
        self.chosen.extend([from, to]);
        let mut task = from;
        for _ in 0..2 * most {
            let out = &self.model.out[task];
            let inside = |&&arc: &&usize| {
                let other = task_of(self.model.arcs[arc].to);
                other != to
                    && self.board.span[other].0 >= self.board.span[task].0
                    && self.board.span[other].1 <= until
            };
            let count = out.iter().filter(inside).count();
            if count == 0 {
                break;
            }
            let drawn = rng.random_range(0..count);
            let Some(&arc) = out.iter().filter(inside).nth(drawn) else {
                break;
            };
            task = task_of(self.model.arcs[arc].to);
            if self.chosen.contains(&task) {
                break;
            }
            self.chosen.push(task);
        }
    }
}
