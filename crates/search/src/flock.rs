//! Two sides of schedules that breed each other: the search for problems with every feature of
//! which nothing but the length is left to improve.
//!
//! It is the search for [plain problems](crate::breed) with another decoder. There are schedules
//! pushed left, and schedules pushed right against an end. A generation breeds one side from the
//! other: each member of the other side is father once, its list taken by finish, the last first,
//! sometimes [crossed](crate::lists) with another member's, and with a few tasks moved. What that decodes to
//! takes the place of the member with the father's number unless it is longer. So each schedule
//! that is built breeds and improves at once, and places are contested only within a line of
//! descent, which keeps the population varied.
//!
//! **Right against an end.** Calendars have no mirror image of their own length, so what is pushed
//! right is pushed against the father's end. A child of two parents may need more room than there
//! is before it; tasks that find none count as so much longer, and go first when the child is
//! father itself.
//!
//! Worked case. `a` of 4 ticks and `b` of 2 need the only hand; `c`, of 5 ticks and after `b`, needs
//! none. Pushed left in that order they end at 4, 6 and 11. From the right, against 11, `c` begins at
//! 6, `b` at 4, and `a`, for which the hand is free behind `b`, at 7. Pushed left again in the order of
//! these starts, `b`, `c`, `a`, they end at 2, 7 and 6.

use std::cmp::Reverse;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::{Problem, Tick};

use crate::decode::{Decoder, Plan, Recipe};
use crate::island::{Key, Member, key_of};
use crate::last::beside;
use crate::lists::{cross, is_of_mother, mark};
use crate::model::Model;
use crate::pattern::Span;
use crate::rules::{RULES, recipe, values};
use crate::stocks::Mix;

/// Members of either side of a new population.
const FIRST: usize = 20;
/// Of ten children, so many have two parents. A schedule of a season changes by much where its list
/// changes by little, and what two parents agree on is soon lost.
const CROSSED: u32 = 3;
/// Generations without a shorter schedule after which a population is put by.
const PATIENCE: u64 = 200;
/// Tasks, over all members of a side, that a population may hold.
const LARGEST: usize = 1 << 20;

/// A schedule, and a list for pushing it to the other side.
#[derive(Debug, Clone, Default)]
struct Bird {
    /// By finish, the last first; empty if there is no schedule here yet.
    list: Vec<u32>,
    span: Vec<Span>,
    way: Vec<u8>,
    length: i64,
    /// Tells starts apart, but for rare accidents.
    mark: u64,
}

impl Bird {
    /// What is decoded into a place must not be longer than this.
    fn limit(&self) -> i64 {
        if self.list.is_empty() { i64::MAX } else { self.length }
    }
}

/// Schedules pushed left, and schedules pushed right.
type Sides = [Vec<Bird>; 2];

/// Populations under way.
#[derive(Debug)]
pub(crate) struct Flock<'m> {
    model: &'m Model<'m>,
    /// Of the problem and of its mirror image.
    decoders: [Decoder<'m>; 2],
    rng: Pcg64Mcg,
    rules: Vec<Vec<f64>>,
    /// Tasks with several ways, each with those that don't cost too much.
    several: Vec<(usize, Vec<u8>)>,
    mix: Mix<'m>,
    sides: Sides,
    /// Nothing was pushed right yet.
    fresh: bool,
    /// The side that is bred, and its member that is next.
    side: usize,
    next: usize,
    /// The shortest length in this population, and generations since.
    least: i64,
    idle: u64,
    /// How often populations were put together to make this one.
    level: u32,
    /// Populations that were put by, the youngest last, each with its level.
    store: Vec<(u32, Sides)>,
    part: Vec<u8>,
    list: Vec<u32>,
    /// The most that the levels before the length may be.
    pub(crate) levels: (i64, i64),
    /// The best schedule of all populations.
    best: Option<(Plan, Key)>,
    /// Schedules decoded.
    pub(crate) steps: u64,
}

impl<'m> Flock<'m> {
    /// A population that begins with some members. Of the others none counts whose
    /// tardiness, but for what is the length in other words, or cost is more than `levels`.
    pub(crate) fn new(
        model: &'m Model<'m>,
        mirror: &'m Model<'m>,
        levels: (i64, i64),
        seed: u64,
        members: &[Member],
    ) -> Self {
        let mut flock = Self {
            model,
            decoders: [Decoder::new(model), Decoder::new(mirror)],
            rng: Pcg64Mcg::seed_from_u64(seed ^ 0x666c_6f63_6b21),
            rules: (0..RULES).map(|rule| values(model, rule)).collect(),
            several: several(model, levels.1),
            mix: Mix::new(model),
            sides: Sides::default(),
            fresh: true,
            side: 0,
            next: 0,
            least: i64::MAX,
            idle: 0,
            level: 0,
            store: Vec::new(),
            part: vec![0; model.count()],
            list: Vec::new(),
            levels,
            best: None,
            steps: 0,
        };
        flock.renew();
        for member in members {
            let kept = flock.keep_left(flock.next, &member.plan, member.key);
            if kept && flock.is_through() {
                break;
            }
        }
        flock
    }

    /// Goes on to the next place. Whether the side was through, and it is the other one's turn.
    fn is_through(&mut self) -> bool {
        self.next += 1;
        let through = self.next >= self.sides[self.side].len();
        if through {
            (self.side, self.next) = (1 - self.side, 0);
            self.fresh = false;
        }
        through
    }

    /// Empties the population.
    fn renew(&mut self) {
        let none = vec![Bird::default(); FIRST];
        self.sides = [none.clone(), none];
        (self.level, self.fresh) = (0, true);
        self.settle();
    }

    /// Gets ready to breed a population from its left side.
    fn settle(&mut self) {
        (self.side, self.next) = (0, 0);
        (self.least, self.idle) = (i64::MAX, 0);
    }

    /// The best schedule of all populations, if it beats a key.
    pub(crate) fn better(&self, than: Key) -> Option<&(Plan, Key)> {
        self.best.as_ref().filter(|best| best.1 < than)
    }

    /// Hears of a schedule from elsewhere.
    pub(crate) fn hear(&mut self, plan: &Plan, key: Key) {
        let place = self.rng.random_range(0..self.sides[0].len());
        self.keep_left(place, plan, key);
    }

    /// Breeds one member.
    pub(crate) fn step(&mut self, halt: &dyn Fn() -> bool) {
        let (side, number) = (self.side, self.next);
        match side {
            0 => self.breed_left(number, halt),
            _ => self.breed_right(number, halt),
        }
        if self.is_through() {
            self.judge(side);
        }
    }

    fn breed_left(&mut self, number: usize, halt: &dyn Fn() -> bool) {
        let child = if self.fresh {
            self.first()
        } else {
            let Some(father) = self.father(1, number) else {
                return;
            };
            self.child(1, father)
        };
        self.steps += 1;
        let plan = self.decoders[0].decode_while(&child, None, &|| !halt());
        let key = key_of(self.model, &plan);
        self.keep_left(number, &plan, key);
    }

    /// Keeps a schedule that is pushed left, unless it is longer than what it would replace.
    /// Whether it was kept.
    fn keep_left(&mut self, number: usize, plan: &Plan, key: Key) -> bool {
        let length = i64::from(key.3);
        let (breach, late) = beside(self.model.last, (key.0, key.1), key.3);
        if breach > 0 || (late, key.2) > self.levels {
            return false;
        }
        if self.best.as_ref().is_none_or(|best| key < best.1) {
            self.best = Some((plan.clone(), key));
        }
        let kept = self.keep(0, number, plan, length, &[]);
        if kept && length < self.least {
            (self.least, self.idle) = (length, 0);
        }
        kept
    }

    fn breed_right(&mut self, number: usize, halt: &dyn Fn() -> bool) {
        let Some(father) = self.father(0, number) else {
            return;
        };
        let child = self.child(0, father);
        let father = &self.sides[0][father];
        let floor = floor(self.model.problem, &father.span, father.length as Tick);
        let length = father.length;
        self.steps += 1;
        let plan = self.decoders[1].decode_while(&child, Some(&floor), &|| !halt());
        if plan.breach == 0 {
            self.keep(1, number, &plan, length, &[]);
            return;
        }
        // What has no room left before it.
        let placed = &self.decoders[1].placed;
        let out: Vec<usize> = (0..placed.len()).filter(|&task| !placed[task]).collect();
        if out.is_empty() || halt() {
            return;
        }
        let work = |&task: &usize| {
            let way = usize::from(plan.way[task]);
            i64::from(self.model.acts[task].ways[way].pattern.work())
        };
        let length = length + 1 + out.iter().map(work).sum::<i64>();
        self.keep(1, number, &plan, length, &out);
    }

    /// Keeps a schedule, unless it is longer than what it would replace or there already. Tasks
    /// that are `out` of it come after all others on its side. Whether it was kept.
    fn keep(
        &mut self,
        side: usize,
        number: usize,
        plan: &Plan,
        length: i64,
        out: &[usize],
    ) -> bool {
        if length > self.sides[side][number].limit() {
            return false;
        }
        let mark = mark(plan.span.iter().map(|span| span.0));
        let known = |bird: &Bird| bird.mark == mark && !bird.list.is_empty();
        if self.sides[side].iter().any(known) {
            return false;
        }
        let mut is_out = vec![false; plan.span.len()];
        for &task in out {
            is_out[task] = true;
        }
        let key = |task: u32| {
            let (start, finish) = plan.span[task as usize];
            Reverse((is_out[task as usize], finish, start))
        };
        let mut list: Vec<u32> = (0..plan.span.len() as u32).collect();
        list.sort_by_key(|&task| key(task));
        let (span, way) = (plan.span.clone(), plan.way.clone());
        self.sides[side][number] = Bird { list, span, way, length, mark };
        true
    }

    /// A recipe by a rule, biased.
    fn first(&mut self) -> Recipe {
        let rule = self.rng.random_range(0..RULES);
        let bias = [0.0, 0.05, 0.1, 0.2, 0.4][self.rng.random_range(0..5)];
        let mut made = recipe(self.model, &self.rules[rule], bias, &mut self.rng);
        made.parallel = self.rng.random_ratio(1, 3);
        made.hurry.fill(true);
        made.way = self.first_ways();
        made
    }

    /// Ways that do with what there is and don't cost too much, as far as that is known.
    fn first_ways(&mut self) -> Vec<u8> {
        if !self.mix.is_idle() && self.rng.random_ratio(1, 2) {
            return self.mix.draw(&mut self.rng);
        }
        let mut way = match &self.best {
            Some((plan, _)) => plan.way.clone(),
            None => vec![0; self.model.count()],
        };
        if self.mix.is_idle() && self.rng.random_ratio(1, 3) {
            for (task, ways) in &self.several {
                way[*task] = ways[self.rng.random_range(0..ways.len())];
            }
        }
        way
    }

    /// The father for a place of the other side: the member with the same number or, if there is
    /// none, another one.
    fn father(&mut self, side: usize, number: usize) -> Option<usize> {
        let empty = |bird: &Bird| bird.list.is_empty();
        let father =
            if empty(&self.sides[side][number]) { self.pick(side) } else { number };
        (!empty(&self.sides[side][father])).then_some(father)
    }

    /// A child of a member of a side, for the other side.
    fn child(&mut self, side: usize, number: usize) -> Recipe {
        let crossed = self.rng.random_ratio(CROSSED, 10);
        let mother = if crossed { self.pick(side) } else { number };
        let (father, mother) = (&self.sides[side][number], &self.sides[side][mother]);
        let mother = if mother.list.is_empty() { father } else { mother };
        let parents = (&father.list[..], &mother.list[..]);
        cross(&mut self.list, &mut self.part, parents, &mut self.rng);
        let mut way = father.way.clone();
        for (task, _) in &self.several {
            if is_of_mother(self.part[*task]) {
                way[*task] = mother.way[*task];
            }
        }
        self.mutate(&mut way);
        if !self.mix.fits(&way) && !self.mix.repair(&mut way, &mut self.rng) {
            way.clone_from(&self.sides[side][number].way);
        }
        let mut rank = vec![0; self.list.len()];
        for (place, &task) in self.list.iter().enumerate() {
            rank[task as usize] = place as u32;
        }
        let hurry = vec![true; rank.len()];
        Recipe { rank, way, hurry, parallel: false }
    }

    /// The shorter of two members.
    fn pick(&mut self, side: usize) -> usize {
        let birds = &self.sides[side];
        let (a, b) = (
            self.rng.random_range(0..birds.len()),
            self.rng.random_range(0..birds.len()),
        );
        if birds[a].limit() <= birds[b].limit() { a } else { b }
    }

    /// Some tasks move to another place of the list, and some run in another mode.
    fn mutate(&mut self, way: &mut [u8]) {
        let count = self.list.len();
        for _ in 0..self.rng.random_range(0..=2 + count / 200) {
            let from = self.rng.random_range(0..count);
            let reach = self.rng.random_range(1..=(count / 16).max(1));
            if self.rng.random_ratio(1, 2) {
                self.list[from.saturating_sub(reach)..=from].rotate_right(1);
            } else {
                self.list[from..=(from + reach).min(count - 1)].rotate_left(1);
            }
        }
        if !self.several.is_empty() && self.rng.random_ratio(1, 2) {
            for _ in 0..=self.rng.random_range(0..3) {
                let (task, ways) =
                    &self.several[self.rng.random_range(0..self.several.len())];
                way[*task] = ways[self.rng.random_range(0..ways.len())];
            }
        }
    }

    /// Sees after a generation whether the population is at its end.
    fn judge(&mut self, side: usize) {
        self.idle += 1;
        let members = self.sides[side].iter().filter(|bird| !bird.list.is_empty());
        let above: i64 =
            members.map(|bird| bird.length.saturating_sub(self.least).max(0)).sum();
        let alike = above * 10 < self.sides[side].len() as i64;
        if self.idle > PATIENCE || (side == 0 && self.least < i64::MAX && alike) {
            self.put_by();
        }
    }

    /// Puts the population by, and goes on with a new one or with two in one.
    fn put_by(&mut self) {
        let sides = std::mem::take(&mut self.sides);
        let level = self.level;
        let Some((_, other)) = self.store.pop_if(|stored| stored.0 == level) else {
            self.store.push((level, sides));
            self.renew();
            return;
        };
        self.sides = sides;
        let room = (LARGEST / (self.model.count() + 1)).max(self.sides[0].len());
        for (side, other) in self.sides.iter_mut().zip(other) {
            side.extend(other);
            side.truncate(room);
        }
        self.level += 1;
        self.settle();
    }
}

/// The tasks that may run in several ways without more cost than `most` for all of them.
fn several(model: &Model, most: i64) -> Vec<(usize, Vec<u8>)> {
    let cheapest = |task: usize| model.acts[task].ways.iter().map(|way| way.cost).min();
    let least = |task| cheapest(task).unwrap_or(0);
    let spare = most.saturating_sub((0..model.count()).map(least).sum());
    let ways = |task: usize| {
        let act = &model.acts[task];
        let cheap = |&way: &usize| act.ways[way].cost - least(task) <= spare;
        let ways = 0..act.ways.len().min(256);
        let ways: Vec<u8> = ways.filter(cheap).map(|way| way as u8).collect();
        (act.fixed.is_none() && ways.len() > 1).then_some((task, ways))
    };
    (0..model.count()).filter_map(ways).collect()
}

/// For each task of the mirror image the start that it must not go below, if a schedule is to be
/// pushed right against an end and nothing that is in time is to become late.
pub(crate) fn floor(problem: &Problem, span: &[Span], end: Tick) -> Vec<Tick> {
    let latest = |(task, span): (&timetable::Task, &Span)| {
        problem.horizon() - task.due.map_or(end, |due| due.at.max(span.1).min(end))
    };
    problem.tasks().iter().zip(span).map(latest).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use timetable::{Demand, Link, Mode, Profile, Resource, ResourceId, Task, TaskId};

    use super::*;
    use crate::mirror::mirrored;
    use crate::model::Keep;
    use crate::sample::{broken, problem};

    fn with_flock<T>(
        problem: &Problem,
        levels: (i64, i64),
        then: impl FnOnce(&mut Flock) -> T,
    ) -> Option<T> {
        let model = Model::with(problem, Keep::Better);
        if model.windows.failed.is_some() {
            return None;
        }
        let turned = mirrored(&crate::last::without_end(problem, model.last))?;
        let mirror = Model::with(&turned, Keep::Same(&model));
        Some(then(&mut Flock::new(&model, &mirror, levels, 7, &[])))
    }

    /// Chains of three on two crews.
    fn chains(count: usize) -> Problem {
        let task = |number: usize| {
            let crew = ResourceId((number % 2) as u32);
            let work = 2 + (7 * number % 5) as Tick;
            Task::new("t", Mode::elapsed(work, vec![Demand::throughout(crew, 1)]))
        };
        let links = (0..count)
            .filter(|number| number % 3 > 0)
            .map(|number| Link::after(TaskId::new(number - 1), TaskId::new(number)));
        let crew = |capacity| Resource {
            name: "crew".to_owned(),
            capacity: Profile::constant(capacity),
        };
        let tasks = (0..count).map(task).collect();
        let resources = vec![crew(2), crew(1)];
        let horizon = 9 * count as Tick;
        Problem::new(horizon, tasks, resources, vec![], links.collect(), vec![]).unwrap()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(100))]

        #[test]
        fn members_are_lawful_on_both_sides(seed: u64) {
            let problem = problem(seed, 12, 60);
            let levels = (i64::MAX, i64::MAX);
            with_flock(&problem, levels, |flock| {
                for _ in 0..600 {
                    flock.step(&|| false);
                }
                let model = flock.model;
                if let Some((plan, key)) = &flock.best {
                    let schedule = plan.schedule(model);
                    assert_eq!(broken(&problem, &schedule), None);
                    assert_eq!(*key, key_of(model, plan));
                }
                for bird in &flock.sides[1] {
                    let end = problem.horizon() - bird.length as Tick;
                    let early = bird.span.iter().zip(&model.acts).any(|(&span, act)| {
                        act.fixed.is_none() && span.0 < end && span != (0, 0)
                    });
                    assert!(bird.list.is_empty() || !early, "something ends too late");
                }
            });
        }
    }

    #[test]
    fn what_is_dear_or_late_is_not_kept() {
        let mut tasks = chains(9).tasks().to_vec();
        tasks[4].due = Some(timetable::Due { at: 1, weight: 1 });
        let chains = chains(9);
        let (resources, links) = (chains.resources().to_vec(), chains.links().to_vec());
        let late = Problem::new(81, tasks, resources, vec![], links, vec![]).unwrap();
        let best = |levels| {
            with_flock(&late, levels, |flock| {
                (0..400).for_each(|_| flock.step(&|| false));
                flock.best.as_ref().map(|best| best.1)
            })
        };
        let least = best((i64::MAX, 0)).flatten().map_or(0, |key| key.1);
        assert!(least > 0);
        assert_eq!(best((least - 1, 0)), Some(None));
    }

    #[test]
    fn only_what_costs_no_more_than_may_be_is_tried() {
        let mut tasks = chains(6).tasks().to_vec();
        let mode = |work, cost| {
            let demands = vec![Demand::throughout(ResourceId(0), 1)];
            Mode { cost, ..Mode::elapsed(work, demands) }
        };
        tasks[0].modes = vec![mode(9, 4), mode(6, 5), mode(3, 9)];
        tasks[2].modes = vec![mode(5, 2), mode(7, 2)];
        let chains = chains(6);
        let (resources, links) = (chains.resources().to_vec(), chains.links().to_vec());
        let problem = Problem::new(99, tasks, resources, vec![], links, vec![]).unwrap();
        let model = Model::new(&problem);
        let tried = |most| {
            let several = several(&model, most);
            several.into_iter().map(|(task, ways)| (task, ways.len())).collect::<Vec<_>>()
        };
        assert_eq!(tried(6), [(2, 2)]);
        assert_eq!(tried(7), [(0, 2), (2, 2)]);
        assert_eq!(tried(i64::MAX), [(0, 3), (2, 2)]);
    }

    #[test]
    fn populations_are_put_by_and_put_together() {
        with_flock(&chains(24), (0, 0), |flock| {
            let first = flock.sides[0].len();
            assert_eq!(first, FIRST);
            let mut levels = std::collections::BTreeSet::new();
            while flock.steps < 300_000 && flock.level < 2 {
                flock.step(&|| false);
                levels.insert(flock.level);
                assert_eq!(flock.sides[0].len(), first << flock.level);
            }
            assert_eq!(levels.into_iter().collect::<Vec<_>>(), [0, 1, 2]);
        })
        .unwrap();
    }

    #[test]
    fn the_same_seed_breeds_the_same_and_comes_near_a_bound() {
        let problem = chains(30);
        let bred = || {
            with_flock(&problem, (0, 0), |flock| {
                (0..2_000).for_each(|_| flock.step(&|| false));
                (flock.best.clone(), flock.steps)
            })
        };
        let (best, _) = bred().unwrap();
        assert_eq!(bred().unwrap().0, best);
        // Fifteen tasks of the single crew: a bound that can be reached.
        let work = |task: &Task| task.modes[0].work;
        let sum: Tick = problem.tasks().iter().skip(1).step_by(2).map(work).sum();
        let length = best.unwrap().1.3;
        assert!(length >= sum && length <= sum + 4, "{length} against {sum}");
    }

    #[test]
    fn it_begins_with_members_few_or_many() {
        let problem = chains(24);
        let model = Model::with(&problem, Keep::Better);
        let turned = mirrored(&problem).unwrap();
        let mirror = Model::with(&turned, Keep::Same(&model));
        let mut decoder = Decoder::new(&model);
        let mut rng = Pcg64Mcg::seed_from_u64(1);
        let rule = values(&model, 0);
        let member = |recipe: Recipe| {
            let plan = decoder.decode(&recipe, None);
            let key = key_of(&model, &plan);
            Member { recipe, plan, key }
        };
        let drawn = (0..200).map(|_| recipe(&model, &rule, 9.0, &mut rng));
        let members: Vec<Member> = drawn.map(member).collect();
        let shortest = |members: &[Member]| members.iter().map(|member| member.key).min();
        for few in [0, 1, FIRST - 1, FIRST, 200] {
            let members = &members[..few];
            let mut flock = Flock::new(&model, &mirror, (0, 0), 7, members);
            let kept = flock.sides[0].iter().filter(|bird| !bird.list.is_empty()).count();
            assert!(kept <= few && kept <= FIRST);
            assert!(few < 200 || kept == FIRST, "all {few} are alike");
            (0..10 * FIRST).for_each(|_| flock.step(&|| false));
            let birds = flock.sides.iter().flatten();
            assert!(birds.filter(|bird| !bird.list.is_empty()).count() > FIRST);
            let best = flock.best.map(|best| best.1);
            assert!(best.is_some() && (kept == 0 || best <= shortest(members)));
        }
    }

    #[test]
    fn a_member_from_elsewhere_is_taken_in() {
        let problem = chains(12);
        with_flock(&problem, (0, 0), |flock| {
            (0..50).for_each(|_| flock.step(&|| false));
            let (plan, key) = flock.best.clone().unwrap();
            with_flock(&problem, (0, 0), |other| {
                assert!(other.better((i64::MAX, 0, 0, 0)).is_none());
                other.hear(&plan, key);
                assert_eq!(other.better((i64::MAX, 0, 0, 0)), Some(&(plan, key)));
                let kept = other.sides[0].iter().filter(|bird| !bird.list.is_empty());
                assert_eq!(kept.count(), 1);
            });
        });
    }

    /// Schedules that break nothing but the deadline of the last task breed as if it had none.
    #[test]
    fn a_deadline_for_all_that_is_broken_is_the_length() {
        let best = |deadline: Option<Tick>, due: Option<timetable::Due>| {
            let chains = chains(24);
            let mut tasks = chains.tasks().to_vec();
            let end = TaskId::new(tasks.len());
            tasks.push(Task {
                deadline,
                due,
                ..Task::new("end", Mode::elapsed(0, vec![]))
            });
            let mut links = chains.links().to_vec();
            links.extend((0..end.at()).map(|task| Link::after(TaskId::new(task), end)));
            let resources = chains.resources().to_vec();
            let problem =
                Problem::new(216, tasks, resources, vec![], links, vec![]).unwrap();
            let found = with_flock(&problem, (0, 0), |flock| {
                (0..400).for_each(|_| flock.step(&|| false));
                flock.best.as_ref().map(|best| best.1)
            });
            found.flatten().unwrap()
        };
        let free = best(None, None);
        let length = i64::from(free.3);
        assert_eq!(best(Some(30), None), (length - 30, 0, 0, free.3));
        let due = timetable::Due { at: 30, weight: 3 };
        assert_eq!(best(None, Some(due)), (0, 3 * (length - 30), 0, free.3));
    }
}
