//! Large neighbourhoods: improving a schedule by moving some of its tasks at a time.
//!
//! A move takes a few related tasks off the [board](crate::board) and puts them back in another
//! order, or in other modes:
//!
//! - *window*: tasks that start near each other in time;
//! - *queue*: tasks that use one resource near each other in time;
//! - *chain*: a task that suffers, the tasks that it waits for, and some that use what
//!   these need just before;
//! - *stand*: two occupancies of the same resource, with all that happens in between;
//! - *mode*: some tasks, in other modes;
//! - *slide*: tasks that have room before them, one by one.
//!
//! Which kind is drawn depends on what each has gained so far for the tasks that it placed.
//! A move that makes the schedule worse is kept while it stays within a threshold of the best
//! one; the threshold falls to nothing and rises again, in longer and longer turns. As long as
//! none is lawful, seeds are the tasks that miss their deadlines, and more may be broken only
//! where nothing else leads [out of a dead end](relief). Where a
//! length is [aimed at](crate::squeeze) the best schedule is the one with the least strain, and
//! the shortest one met on the way is kept beside it.
//!
//! Sources (from memory): Shaw 1998 and Godard, Laborie and Nuijten 2005 (see
//! [`board`](crate::board)); S. Ropke, D. Pisinger, *An adaptive large neighborhood search
//! heuristic*, Transportation Science 40 (2006) 455-472, for choosing moves by what they gained;
//! G. Dueck, T. Scheuer, *Threshold accepting*, J. Computational Physics 90 (1990) 161-175.

mod balance;
mod choose;
mod moves;
mod relief;

use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use timetable::Tick;

use crate::board::Board;
use crate::decode::Plan;
use crate::island::Key;
use crate::lots::by_gain;
use crate::model::Model;
use crate::rules::{ranks, urgent};
use crate::squeeze::Aim;
use crate::worth::Worth;
use relief::Relief;

/// The kinds of moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Window,
    Queue,
    Chain,
    Stand,
    Group,
    Mode,
    Slide,
}

const KINDS: [Kind; 7] = [
    Kind::Window,
    Kind::Queue,
    Kind::Chain,
    Kind::Stand,
    Kind::Group,
    Kind::Mode,
    Kind::Slide,
];

/// The threshold at the beginning of a turn, as a share of the best value.
const LOOSE: f64 = 0.03;

/// So many late tasks are drawn, of which one is the seed of a move.
const DRAWN: usize = 4;

/// Moves after which is looked again, at the latest, who suffers.
const STALE: u32 = 160;

/// A search from one schedule.
#[derive(Debug)]
pub(crate) struct Local<'m> {
    model: &'m Model<'m>,
    board: Board<'m>,
    /// The tasks that can move.
    loose: Vec<usize>,
    several: Vec<usize>,
    urgent: Vec<Tick>,
    /// The tick that each task waits for, unless it is in a hurry.
    wish: Vec<Tick>,
    best: Worth,
    best_plan: Plan,
    /// Where a length is aimed at: the best schedule by the length that it has.
    top: Option<(Key, Plan)>,
    /// The strain at the beginning.
    strained: i64,
    /// What each kind of move gained lately, and what it cost.
    gain: [f64; KINDS.len()],
    /// Tasks of the move under way.
    chosen: Vec<usize>,
    /// Of these, the ones that stand against the others.
    rivals: Vec<usize>,
    /// Placements in this turn, and how many it has.
    turn: u64,
    turn_length: u64,
    relief: Relief,
    /// The tasks that suffer, and all that can move in order of their starts, as they were
    /// some moves ago: near enough to draw from.
    suffering: Vec<usize>,
    order: Vec<usize>,
    place: Vec<u32>,
    stale: u32,
    ready: bool,
    /// Whether nothing is kept but what is better.
    descent: bool,
}

impl<'m> Local<'m> {
    /// A search for a model; it has no schedule yet.
    pub(crate) fn new(model: &'m Model<'m>) -> Self {
        let loose: Vec<usize> =
            (0..model.count()).filter(|&task| model.acts[task].fixed.is_none()).collect();
        let several =
            loose.iter().copied().filter(|&t| model.acts[t].ways.len() > 1).collect();
        let board = Board::new(model);
        let published = board.stakes.iter().map(|stake| stake.published().unwrap_or(0));
        Self {
            model,
            wish: published.collect(),
            board,
            several,
            urgent: urgent(model),
            best: Worth { breach: i64::MAX, ..Worth::default() },
            best_plan: Plan { span: Vec::new(), way: Vec::new(), breach: i64::MAX },
            top: None,
            strained: 0,
            gain: [1.0; KINDS.len()],
            chosen: Vec::new(),
            rivals: Vec::new(),
            turn: 0,
            turn_length: 50 * loose.len() as u64 + 1,
            relief: Relief::default(),
            suffering: Vec::new(),
            order: loose.clone(),
            place: vec![0; model.count()],
            stale: 0,
            ready: false,
            descent: false,
            loose,
        }
    }

    /// Whether there is a schedule to improve.
    pub(crate) const fn is_ready(&self) -> bool {
        self.ready
    }

    /// The best schedule so far.
    pub(crate) fn best(&self) -> (&Worth, &Plan) {
        (&self.best, &self.best_plan)
    }

    /// Goes on from a schedule built of an order. False if there is none.
    pub(crate) fn build(
        &mut self,
        rank: &[u32],
        way: &[u8],
        hurry: bool,
        halt: &dyn Fn() -> bool,
    ) -> bool {
        let none = vec![0; rank.len()];
        let wish = if hurry { &none } else { &self.wish };
        self.ready = !self.loose.is_empty() && self.board.build(rank, way, wish, halt);
        self.begin_turn();
        self.ready
    }

    fn begin_turn(&mut self) {
        if self.ready && self.board.worth < self.best {
            self.best = self.board.worth;
            self.best_plan = self.board.plan();
        }
        if self.board.worth.breach > self.best.breach {
            self.relief.reset();
        }
        self.turn = 0;
        // Where no schedule can be the beginning of anything, turns begin very often.
        self.turn_length = self.turn_length.saturating_add(self.turn_length / 8);
        self.stale = 0;
    }

    /// The schedule under way, and what it is worth.
    pub(crate) fn now(&self) -> (&Worth, Plan) {
        (&self.board.worth, self.board.plan())
    }

    /// Goes on from what is near a schedule that may be unlawful, whichever is best: what can
    /// stay of it with the rest put in between; all of it one after the other in its order; or
    /// in the order of `latest`, the starts that its tasks could have without making anything
    /// late. False if none can be done; [`mend`](Self::mend) does what is left to do.
    pub(crate) fn take_over(&mut self, plan: &Plan, latest: Option<&[Tick]>) -> bool {
        self.wish = plan.span.iter().map(|span| span.0).collect();
        let mut best: Option<(Worth, Plan)> = None;
        let mut offer = |board: &Board, done: bool| {
            if done && best.as_ref().is_none_or(|best| board.worth < best.0) {
                best = Some((board.worth, board.plan()));
            }
        };
        let stayed = self.board.take_over(plan);
        offer(&self.board, stayed);
        for starts in [Some(&self.wish[..]), latest].into_iter().flatten() {
            let starts: Vec<f64> = starts.iter().map(|&start| f64::from(start)).collect();
            let rank = ranks(&starts);
            let built = self.board.build(&rank, &plan.way, &self.wish, &|| false);
            offer(&self.board, built);
        }
        self.ready = best.is_some_and(|(_, plan)| self.board.load(&plan));
        self.begin_turn();
        self.ready
    }

    /// Moves tasks until the schedule is lawful, or so many were placed. From then on a move
    /// is kept only where it gains and leads no further away from what is published.
    pub(crate) fn mend(
        &mut self,
        placements: u64,
        rng: &mut Pcg64Mcg,
        halt: &(dyn Fn() -> bool + Sync),
    ) -> bool {
        let end = self.board.placements + placements;
        while self.best.breach > 0 && self.board.placements < end && !halt() {
            self.turn = 0;
            self.run(self.loose.len() as u64, rng, halt);
        }
        self.descent = true;
        let plan = self.best_plan.clone();
        self.best.breach == 0 && self.board.load(&plan)
    }

    /// Goes on from a schedule. False if it can't be the beginning of anything.
    pub(crate) fn start_from(&mut self, plan: &Plan) -> bool {
        self.ready = !self.loose.is_empty() && self.board.load(plan);
        self.begin_turn();
        self.ready
    }

    /// Moves until so many tasks were placed, `halt` says so or the first lawful schedule is
    /// there. Whether the best schedule became better.
    pub(crate) fn run(
        &mut self,
        placements: u64,
        rng: &mut Pcg64Mcg,
        halt: &(dyn Fn() -> bool + Sync),
    ) -> bool {
        let before = self.best;
        let end = self.board.placements + placements;
        let mut moves = 0_u32;
        while self.ready && self.board.placements < end {
            moves += 1;
            if moves.is_multiple_of(16) && halt() {
                break;
            }
            let begun = self.board.placements;
            self.step(rng);
            // Moves that find nothing to do must come to an end too.
            self.board.placements = self.board.placements.max(begun + 1);
            self.turn += self.board.placements - begun;
            self.relieve(self.board.placements - begun);
            let first = before.breach > 0 && self.best.breach == 0;
            if first || (self.turn_is_over() && !self.descent) {
                break;
            }
        }
        self.best < before
    }

    /// Sees whether so many placements more were in vain, and it is time to begin again where
    /// least is broken.
    fn relieve(&mut self, placements: u64) {
        if self.best.breach > 0
            && self.relief.spend(placements)
            && self.board.worth.breach > self.best.breach
        {
            self.ready = self.board.load(&self.best_plan);
            self.stale = 0;
        }
    }

    /// Aims at a length, from the schedule under way.
    pub(crate) fn aim(&mut self, aims: &[Aim]) {
        self.board.aim(aims);
        self.best = self.board.worth;
        self.best_plan = self.board.plan();
        self.top = Some((self.best.key(), self.best_plan.clone()));
        self.strained = self.best.strain;
    }

    /// Goes on from the best schedule, in a new turn.
    pub(crate) fn again(&mut self) -> bool {
        let plan = self.best_plan.clone();
        self.start_from(&plan)
    }

    /// The best schedule by the length that it has, where a length is aimed at.
    pub(crate) const fn top(&self) -> Option<&(Key, Plan)> {
        self.top.as_ref()
    }

    /// Whether the threshold has fallen to nothing: time to begin elsewhere.
    pub(crate) const fn turn_is_over(&self) -> bool {
        self.turn > self.turn_length
    }

    fn step(&mut self, rng: &mut Pcg64Mcg) {
        let kind = self.kind(rng);
        let begun = self.board.placements;
        self.chosen.clear();
        self.rivals.clear();
        self.refresh();
        let seed = self.seed(rng);
        self.choose(KINDS[kind], seed, rng);
        self.chosen.sort_unstable();
        self.chosen.dedup();
        let chosen = &self.chosen;
        self.rivals.retain(|task| chosen.binary_search(task).is_err());
        self.rivals.sort_unstable();
        self.rivals.dedup();
        let done = if KINDS[kind] == Kind::Slide {
            self.slide()
        } else {
            self.set_out(KINDS[kind], seed, rng);
            self.board.settle()
        };
        let mut gained = 0.0;
        if done && self.board.moved() > 0 {
            let worth = self.board.judged();
            if worth < self.board.worth {
                gained = 1.0;
            }
            if self.accepts(&worth) {
                self.board.keep(worth);
                if self.top.as_ref().is_some_and(|top| worth.key() < top.0) {
                    self.top = Some((worth.key(), self.board.plan()));
                }
                if worth < self.best {
                    gained = 4.0;
                    if worth.breach < self.best.breach {
                        self.relief.reset();
                    }
                    self.best = worth;
                    self.best_plan = self.board.plan();
                }
            } else {
                self.board.undo();
            }
        } else {
            self.board.undo();
        }
        let cost = (self.board.placements - begun + 4) as f64;
        let rate = 100.0 * gained / cost;
        self.gain[kind] += 0.02 * (rate - self.gain[kind]);
    }

    /// A kind of move, by what each has gained.
    fn kind(&self, rng: &mut Pcg64Mcg) -> usize {
        let allowed = |kind: usize| match KINDS[kind] {
            Kind::Mode => !self.several.is_empty(),
            Kind::Stand => !self.model.holds.is_empty(),
            _ => true,
        };
        by_gain(&self.gain, allowed, rng)
    }

    /// Looks again at who suffers and in which order tasks start, now and then.
    fn refresh(&mut self) {
        if self.stale > 0 {
            self.stale -= 1;
            return;
        }
        self.stale = (8 + self.loose.len() as u32 / 16).min(STALE);
        let board = &self.board;
        let worth = board.worth;
        // Nothing else counts before the schedule is lawful.
        let suffers = |&task: &usize| {
            let span = board.span[task];
            let stake = &board.stakes[task];
            if worth.breach > 0 {
                span.1 > self.model.acts[task].deadline
            } else if worth.tardiness > 0 {
                stake.tardiness(span) > 0
            } else if worth.cost > 0 {
                let share = stake.share(self.model, task, span, board.way[task]);
                share.cost > 0
            } else if worth.strain > 0 {
                stake.aim.strain(span.1) > 0
            } else {
                i64::from(span.1) * 20 >= i64::from(worth.length) * 19
            }
        };
        self.suffering.clear();
        self.suffering.extend(self.loose.iter().copied().filter(suffers));
        self.order.sort_by_key(|&task| (board.span[task].0, task));
        for (place, &task) in self.order.iter().enumerate() {
            self.place[task] = place as u32;
        }
    }

    /// A task to begin with: mostly one that suffers, and of some that are late the one that
    /// weighs most.
    fn seed(&mut self, rng: &mut Pcg64Mcg) -> usize {
        let any = self.suffering.is_empty() || rng.random_ratio(1, 4);
        let list = if any { &self.loose } else { &self.suffering };
        let worth = &self.board.worth;
        let late = !any && worth.breach == 0 && worth.tardiness > 0;
        let mut drawn = || list[rng.random_range(0..list.len())];
        let first = drawn();
        let rest = if late { DRAWN - 1 } else { 0 };
        let tardiness =
            |task: usize| self.board.stakes[task].tardiness(self.board.span[task]);
        (0..rest).map(|_| drawn()).fold(first, |worst, task| {
            if tardiness(task) > tardiness(worst) { task } else { worst }
        })
    }

    /// How much worse than the best value a schedule may be now.
    fn slack(&self, best: i64) -> i64 {
        if self.descent {
            return 0;
        }
        let left = 1.0 - self.turn as f64 / self.turn_length as f64;
        (LOOSE * left * left * best as f64) as i64
    }

    /// The breach, the tardiness, the cost and the strain that are too much to go on from.
    fn limit(&self) -> [i64; 4] {
        let (now, best) = (&self.board.worth, &self.best);
        if now.breach > 0 {
            let allowed = best.breach.saturating_add(self.relief.allows(best.breach));
            return [now.breach.max(allowed), i64::MAX, i64::MAX, i64::MAX];
        }
        let tardiness = now.tardiness.max(best.tardiness + self.slack(best.tardiness));
        let cost = now.cost.max(best.cost + self.slack(best.cost));
        let alike = (tardiness, cost) == (best.tardiness, best.cost);
        let strain = self.slack(best.strain.max(self.strained / 2));
        [
            0,
            tardiness,
            if tardiness == best.tardiness { cost } else { i64::MAX },
            if alike { now.strain.max(best.strain + strain) } else { i64::MAX },
        ]
    }

    /// Whether a schedule is good enough to go on from.
    fn accepts(&self, worth: &Worth) -> bool {
        let (now, best) = (&self.board.worth, &self.best);
        if worth <= now {
            // A repair stays near what was published, whatever else it might gain.
            return !self.descent || worth.cost <= now.cost;
        }
        if [worth.breach, worth.tardiness, worth.cost, worth.strain] > self.limit() {
            return false;
        }
        let length = i64::from(best.length) + self.slack(i64::from(best.length));
        (worth.tardiness, worth.cost) != (best.tardiness, best.cost)
            || self.top.is_some()
            || i64::from(worth.length) <= length
    }
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;
    use timetable::{Demand, Due, Mode, Problem, Profile, Resource, ResourceId, Task};

    use super::*;

    /// One crew, six jobs that are due at once, and a last one that has to be over in time.
    fn problem() -> Problem {
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(1) };
        let job = |_| {
            let demand = Demand::throughout(ResourceId(0), 1);
            let mut task = Task::new("job", Mode::elapsed(3, vec![demand]));
            task.due = Some(Due { at: 0, weight: 1 });
            task
        };
        let mut tasks: Vec<Task> = (0..7).map(job).collect();
        tasks[6].deadline = Some(4);
        tasks[6].due = None;
        Problem::new(60, tasks, vec![crew], vec![], vec![], vec![]).unwrap()
    }

    #[test]
    fn what_misses_its_deadline_comes_before_what_is_late_and_the_first_schedule_is_told()
    {
        let problem = problem();
        let model = Model::new(&problem);
        let mut local = Local::new(&model);
        let rank: Vec<u32> = (0..7).collect();
        assert!(local.build(&rank, &[0; 7], true, &|| false));
        assert_eq!(local.now().0.key().0, 21 - 4);
        local.refresh();
        assert_eq!(local.suffering, [6]);
        let mut rng = Pcg64Mcg::seed_from_u64(1);
        assert!(local.run(100_000, &mut rng, &|| false));
        assert_eq!(local.best().0.breach, 0);
        local.stale = 0;
        local.refresh();
        assert_eq!(local.suffering, [0, 1, 2, 3, 4, 5]);
    }
}
