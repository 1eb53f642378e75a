//! Populations of lists: the search for plain problems.
//!
//! There are two sides: schedules pushed left, and schedules pushed right (left in the
//! reverse of the problem). A generation breeds one side from the other: each member of the
//! other side is father once, its list taken by finish, the last first, with a stretch in
//! the order of another member and a few tasks moved; what that decodes to takes the place
//! of the member with the father's number unless it is longer. Decoding a schedule's own
//! list the other way never makes it longer, so each decoding breeds and improves at once
//! (double justification), and places are contested only within a line of descent, which
//! keeps the population varied. A schedule that the side holds already is not taken.
//!
//! A population that has found nothing for long is put by and a new one begins; so is one whose
//! members are all equally long, unless there are few tasks. Two that have come equally far
//! are put together: half good schedules of different descent breed better ones, and a
//! population of twice the size is worth its time only then. So a short search ends with a
//! small population and a long one with a large, whatever the problem.
//!
//! Members are bred in nests, each with a random stream of its own, so that any number of
//! threads gives the same answer.
//!
//! Sources (from memory): D. Debels, M. Vanhoucke, *A bi-population based genetic algorithm
//! for the resource-constrained project scheduling problem*, LNCS 3483 (2005) 378-387, for
//! the two sides; V. Valls, F. Ballestín, S. Quintanilla, *Justification and RCPSP*, European
//! J. Operational Research 165 (2005) 375-386; R. Kolisch 1996 for the rules.

use rayon::prelude::*;
use timetable::{Assignment, ModeId, Problem, Schedule, Tick};

use crate::nest::{Marks, Member, Nest, Rules, listed, rules};
use crate::plain::{Plain, Sgs};

/// Members that one nest breeds.
const CLUTCH: usize = 16;
/// Members of either side of a new population.
const FIRST: usize = 160;
/// Generations without a shorter schedule after which a population is put by.
const PATIENCE: u64 = 200;
/// With so few tasks a population whose members are equally long goes on: schedules of one length
/// are soon bred from each other, and one of them may be next to a shorter one.
const SOON: usize = 40;
/// Starts, over all members of a side, that a population may hold.
const LARGEST: usize = 1 << 20;

/// A schedule of a plain problem.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Child {
    pub(crate) start: Vec<Tick>,
    pub(crate) length: Tick,
}

impl Child {
    /// The schedule, in the problem's words.
    pub(crate) fn schedule(&self, problem: &Problem) -> Schedule {
        let tasks = problem.tasks().iter().zip(&self.start);
        let assignments = tasks.map(|(task, &start)| Assignment {
            mode: ModeId::new(0),
            start,
            finish: start + task.modes[0].work,
        });
        Schedule { assignments: assignments.collect() }
    }
}

/// Schedules pushed left, and schedules pushed right.
type Sides = [Vec<Member>; 2];

/// Populations under way.
#[derive(Debug)]
pub(crate) struct Breed<'p> {
    /// The problem and its reverse.
    ways: [&'p Plain; 2],
    sides: Sides,
    nests: Vec<Nest>,
    sgs: Sgs,
    rules: Rules,
    seed: u64,
    /// The side that is bred, and the first of its nests that has not bred yet.
    side: usize,
    nest: usize,
    /// The shortest length in this population, and generations since.
    least: Tick,
    idle: u64,
    /// How often populations were put together to make this one.
    level: u32,
    /// Populations that were put by, the youngest last, each with its level.
    store: Vec<(u32, Sides)>,
    /// A list that begins the first population.
    hint: Option<Vec<u32>>,
    pub(crate) best: Option<Child>,
    pub(crate) steps: u64,
}

impl<'p> Breed<'p> {
    /// An empty population. `turned` is the reverse of the problem.
    pub(crate) fn new(plain: &'p Plain, turned: &'p Plain, seed: u64) -> Self {
        Self {
            ways: [plain, turned],
            sides: [Vec::new(), Vec::new()],
            nests: Vec::new(),
            sgs: Sgs::new(plain),
            rules: rules(plain),
            seed,
            side: 0,
            nest: 0,
            least: Tick::MAX,
            idle: 0,
            level: 0,
            store: Vec::new(),
            hint: None,
            best: None,
            steps: 0,
        }
    }

    /// Breeds until a number of steps is spent or `halt` says so.
    pub(crate) fn run(&mut self, budget: u64, halt: &(dyn Fn() -> bool + Sync)) {
        let end = self.steps + budget;
        if self.best.is_none() {
            self.begin();
        }
        while self.steps < end && !halt() {
            let nests = (end - self.steps).div_ceil(CLUTCH as u64);
            self.breed(usize::try_from(nests).unwrap_or(usize::MAX), halt);
        }
    }

    /// One schedule at once, and an empty population.
    fn begin(&mut self) {
        let list =
            self.hint.clone().unwrap_or_else(|| listed(self.ways[0], &self.rules[0]));
        let length = self.sgs.decode(self.ways[0], &list);
        self.best = Some(Child { start: self.sgs.start.clone(), length });
        self.steps += 1;
        self.renew();
    }

    /// Empties the population.
    fn renew(&mut self) {
        let none = Member::none(self.ways[0].count());
        self.sides = [vec![none.clone(); FIRST], vec![none; FIRST]];
        self.level = 0;
        self.settle();
    }

    /// Gets ready to breed a population from its left side.
    fn settle(&mut self) {
        (self.side, self.nest) = (0, 0);
        (self.least, self.idle) = (Tick::MAX, 0);
        for number in self.nests.len()..self.sides[0].len().div_ceil(CLUTCH) {
            let stream = (number as u64 + 1).wrapping_mul(0xd1b5_4a32_d192_ed03);
            self.nests.push(Nest::new(self.sgs.clone(), self.seed ^ stream));
        }
    }

    /// Breeds in so many nests, or to the end of the generation.
    fn breed(&mut self, nests: usize, halt: &(dyn Fn() -> bool + Sync)) {
        let (into, way) = (self.side, self.ways[self.side]);
        let [left, right] = &mut self.sides;
        let (to, from) = if into == 0 { (left, &*right) } else { (right, &*left) };
        let known = Marks::of(to);
        let (rules, fresh) = (&self.rules, from[0].list.is_empty());
        let all = to.len().div_ceil(CLUTCH);
        let (first, end) = (self.nest, self.nest.saturating_add(nests).min(all));
        let members = first * CLUTCH..(end * CLUTCH).min(to.len());
        let hint = self.hint.take_if(|_| fresh && first == 0);
        to[members.clone()]
            .par_chunks_mut(CLUTCH)
            .zip(&mut self.nests[first..end])
            .enumerate()
            .for_each(|(number, (members, nest))| {
                for (position, member) in members.iter_mut().enumerate() {
                    if halt() {
                        return;
                    }
                    let father = (first + number) * CLUTCH + position;
                    match hint.as_ref().filter(|_| father == 0) {
                        Some(hint) => nest.list.clone_from(hint),
                        None if fresh => nest.first(way, rules),
                        None if from[father].list.is_empty() => continue,
                        None => {
                            nest.cross(from, father);
                            nest.mutate(way);
                        }
                    }
                    nest.keep(way, member, &known);
                }
            });
        let spent = self.nests.iter_mut().map(|nest| std::mem::take(&mut nest.steps));
        self.steps += spent.sum::<u64>();
        self.note(into, members);
        self.nest = end;
        if end == all {
            (self.side, self.nest) = (1 - into, 0);
            self.judge(into);
        }
    }

    /// Sees whether some members are better than all before.
    fn note(&mut self, side: usize, members: std::ops::Range<usize>) {
        let best = self.sides[side][members].iter().min_by_key(|member| member.length);
        let Some(best) = best.filter(|best| !best.list.is_empty()) else {
            return;
        };
        let length = best.length;
        if length < self.least {
            (self.least, self.idle) = (length, 0);
        }
        if self.best.as_ref().is_none_or(|known| length < known.length) {
            let duration = self.ways[0].duration.iter();
            let turned = best.start.iter().zip(duration);
            let start = match side {
                0 => best.start.clone(),
                _ => turned.map(|(start, work)| length - start - work).collect(),
            };
            self.best = Some(Child { start, length });
        }
    }

    /// Sees after a generation whether the population is at its end.
    fn judge(&mut self, side: usize) {
        self.idle += 1;
        let above = |member: &Member| i64::from(member.length) - i64::from(self.least);
        let above: i64 = self.sides[side].iter().map(above).sum();
        let equal = above * 10 < self.sides[side].len() as i64;
        if self.idle > PATIENCE || (equal && self.ways[0].count() > SOON) {
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
        let room = (LARGEST / self.ways[0].count().max(1)).max(FIRST);
        for (side, other) in self.sides.iter_mut().zip(other) {
            side.extend(other);
            side.truncate(room);
        }
        self.level += 1;
        self.settle();
    }

    /// Hears of a schedule from elsewhere, or of a hint that may be no schedule.
    pub(crate) fn hear(&mut self, start: &[Tick]) {
        let plain = self.ways[0];
        if start.len() != plain.count() {
            return;
        }
        let mut list = plain.order.clone();
        list.sort_by_key(|&task| start[task as usize]);
        let list = repaired(plain, &list);
        let started = self
            .sides
            .iter()
            .all(|side| side.first().is_some_and(|member| !member.list.is_empty()));
        if !started {
            self.hint = Some(list);
            return;
        }
        let (side, nest) = (&mut self.sides[0], &mut self.nests[0]);
        nest.list = list;
        let place = nest.below(side.len());
        nest.keep(plain, &mut side[place], &Marks::none());
        self.steps += std::mem::take(&mut nest.steps);
        self.note(0, place..place + 1);
    }
}

/// A list that keeps the links, as near to another as may be.
fn repaired(plain: &Plain, list: &[u32]) -> Vec<u32> {
    let mut done = vec![false; list.len()];
    let mut repaired = Vec::with_capacity(list.len());
    for &task in list {
        let mut open = vec![task];
        while let Some(&task) = open.last() {
            let before = plain.before.of(task as usize);
            let missing = before.iter().find(|&&other| !done[other as usize]);
            if let Some(&other) = missing {
                open.push(other);
                continue;
            }
            open.pop();
            if !std::mem::replace(&mut done[task as usize], true) {
                repaired.push(task);
            }
        }
    }
    repaired
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use rand::{RngExt, SeedableRng};
    use rand_pcg::Pcg64Mcg;
    use timetable::{
        Demand, Link, Mode, Problem, Profile, Resource, ResourceId, Task, TaskId,
    };

    use super::*;
    use crate::model::Model;

    /// A random plain problem with so many tasks.
    fn problem(seed: u64, count: usize) -> Problem {
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let kinds = rng.random_range(1..6);
        let resources = (0..kinds).map(|_| {
            let capacity = Profile::constant(rng.random_range(3..30));
            Resource { name: "r".to_owned(), capacity }
        });
        let resources: Vec<Resource> = resources.collect();
        let tasks = (0..count).map(|_| {
            let demands = (0..kinds).filter_map(|kind| {
                let amount = rng.random_range(0..4);
                let demand = Demand::throughout(ResourceId(kind), amount);
                (amount > 0).then_some(demand)
            });
            let demands = demands.collect();
            Task::new("t", Mode::elapsed(rng.random_range(0..9), demands))
        });
        let tasks: Vec<Task> = tasks.collect();
        let mut links = Vec::new();
        for to in 1..count {
            for _ in 0..rng.random_range(0..3) {
                let from = rng.random_range(0..to);
                links.push(Link::after(TaskId::new(from), TaskId::new(to)));
            }
        }
        let horizon = 9 * count as Tick + 1;
        Problem::new(horizon, tasks, resources, vec![], links, vec![]).unwrap()
    }

    fn with_breed<T>(problem: &Problem, then: impl FnOnce(&mut Breed) -> T) -> T {
        let plain = Plain::of(problem).expect("it is plain");
        let turned = plain.reversed();
        then(&mut Breed::new(&plain, &turned, 5))
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(60))]

        #[test]
        fn the_best_is_lawful_and_no_shorter_than_learning_allows(
            seed: u64,
            count in 1_usize..14,
        ) {
            let problem = problem(seed, count);
            let best = with_breed(&problem, |breed| {
                breed.run(4_000, &|| false);
                breed.best.clone()
            });
            let best = best.expect("one schedule at least");
            let schedule = best.schedule(&problem);
            prop_assert_eq!(verify::check(&problem, &schedule), []);
            prop_assert_eq!(timetable::Measures::of(&problem, &schedule).length, best.length);
            let model = Model::new(&problem);
            let mut exact =
                crate::exact::Exact::new(&model, &crate::Bound::default()).unwrap();
            exact.run(50_000, &|| false);
            if exact.closed {
                // So few tasks that a population finds the optimum.
                let optimum = exact.best.map(|(_, levels)| levels[2]);
                prop_assert_eq!(optimum, Some(i64::from(best.length)));
            }
        }

        #[test]
        fn members_are_what_their_lists_come_from(
            seed: u64,
            count in prop_oneof![5 => 2_usize..60, 1 => 270_usize..290],
        ) {
            let problem = problem(seed, count);
            with_breed(&problem, |breed| {
                breed.run(1_500, &|| false);
                for (side, way) in breed.sides.iter().zip(breed.ways) {
                    for member in side.iter().filter(|member| !member.list.is_empty()) {
                        // By finish, and links keep their order in the reverse.
                        let mut place = vec![0; count];
                        for (position, &task) in member.list.iter().enumerate() {
                            place[task as usize] = position;
                        }
                        let finish =
                            |task: usize| member.start[task] + way.duration[task];
                        for pair in member.list.windows(2) {
                            assert!(finish(pair[0] as usize) >= finish(pair[1] as usize));
                        }
                        for task in 0..count {
                            for &next in way.after.of(task) {
                                assert!(finish(task) <= member.start[next as usize]);
                                assert!(place[next as usize] < place[task]);
                            }
                        }
                        let last = (0..count).map(finish).max();
                        assert_eq!(last, Some(member.length));
                    }
                }
            });
        }

        #[test]
        fn any_number_of_threads_breeds_the_same(seed: u64) {
            let problem = problem(seed, 30);
            let bred = |threads: usize| {
                let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
                pool.unwrap().install(|| with_breed(&problem, |breed| {
                    breed.run(3_000, &|| false);
                    (breed.best.clone(), breed.sides.clone(), breed.steps)
                }))
            };
            prop_assert_eq!(bred(1), bred(3));
        }
    }

    #[test]
    fn decoding_the_other_way_never_makes_it_longer() {
        for seed in 0..40 {
            let problem = problem(seed, 40);
            let plain = Plain::of(&problem).unwrap();
            let ways = [&plain, &plain.reversed()];
            let mut nest = Nest::new(Sgs::new(&plain), seed);
            nest.first(ways[0], &rules(&plain));
            let mut length = Tick::MAX;
            for turn in 0..6 {
                let mut member = Member::none(plain.count());
                nest.keep(ways[turn % 2], &mut member, &Marks::none());
                assert!(member.length <= length, "seed {seed}, turn {turn}");
                length = member.length;
                nest.list = member.list;
            }
        }
    }

    #[test]
    fn populations_are_put_by_and_put_together() {
        let problem = problem(3, 25);
        with_breed(&problem, |breed| {
            let mut levels = std::collections::BTreeSet::new();
            while breed.steps < 400_000 && breed.level < 2 {
                breed.run(1, &|| false);
                levels.insert(breed.level);
                let members = breed.sides[0].len();
                assert_eq!(members, FIRST << breed.level);
                assert!(breed.nests.len() * CLUTCH >= members);
            }
            assert_eq!(levels.into_iter().collect::<Vec<_>>(), [0, 1, 2]);
        });
    }

    #[test]
    fn a_hint_begins_the_search_and_a_bad_one_is_mended() {
        let problem = problem(8, 20);
        let known = with_breed(&problem, |breed| {
            breed.run(20_000, &|| false);
            breed.best.clone().unwrap()
        });
        with_breed(&problem, |breed| {
            breed.hear(&known.start);
            breed.run(1, &|| false);
            assert_eq!(breed.best.as_ref().map(|best| best.length), Some(known.length));
        });
        with_breed(&problem, |breed| {
            breed.hear(&[0; 20]);
            breed.hear(&[1, 2]);
            breed.run(500, &|| false);
            breed.hear(&[-7; 20]);
            let best = breed.best.clone().unwrap();
            assert_eq!(verify::check(&problem, &best.schedule(&problem)), []);
        });
    }

    #[test]
    fn a_budget_is_kept_and_a_halt_is_heard() {
        use std::sync::atomic::{AtomicU64, Ordering};
        let problem = problem(9, 50);
        with_breed(&problem, |breed| {
            let asked = AtomicU64::new(0);
            breed.run(u64::MAX / 2, &|| asked.fetch_add(1, Ordering::Relaxed) > 37);
            assert!(breed.best.is_some());
            assert!(breed.steps < 60, "{}", breed.steps);
            for budget in [1, 10, 500] {
                let before = breed.steps;
                breed.run(budget, &|| false);
                let spent = breed.steps - before;
                assert!((budget..budget + 16).contains(&spent), "{spent} of {budget}");
            }
        });
    }
}
