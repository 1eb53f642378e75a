//! Repairs of the best schedule by exact search in a small part of it.
//!
//! **Anew.** Some tasks are taken out of the best schedule, around one that is late, dear
//! or away from the published plan ([`choose`]). Complete search looks for a better way to do
//! them between all the others ([`patch`](crate::patch)). As long as less may be late, it looks for that
//! alone, mostly: what is cheaper or nearer to the published plan would soon be undone again.
//!
//! **Shorter.** To end everything `d` ticks sooner, the beginning of the schedule stays where
//! it is, pushed left; its end is taken from the schedule pushed right against the new end;
//! and what lies between is to be fitted in. If it can be, the whole is shorter by `d`.
//!
//! How many tasks are taken out follows from how hard the last parts were: more if they were
//! settled soon, fewer if they were not.
//!
//! Source for the idea: P. Shaw, *Using constraint programming and local search methods to
//! solve vehicle routing problems*, CP 1998 (from memory).

mod choose;

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::{Schedule, Tick};

use crate::Bound;
use crate::decode::{Decoder, Plan, Recipe, breach_of};
use crate::exact::{Exact, Levels};
use crate::island::{key_of, least_cost};
use crate::last::beside;
use crate::model::{Keep, Model};
use crate::patch::{Layout, Patch};
use crate::pattern::Span;
use crate::rules::ranks;

/// Conflicts for a part.
const PATIENCE: u64 = 300;
/// The same where nothing but what is late is looked at.
const SHORT_PATIENCE: u64 = 100;
/// After so many parts in a row in which nothing less could be late the rest is looked at as well.
const VAIN: u32 = 30;

/// A search that mends the best schedule.
#[derive(Debug)]
pub(crate) struct Mender<'m> {
    model: &'m Model<'m>,
    mirror: Option<&'m Model<'m>>,
    /// Decodes the mirror; made when it is needed.
    back: Option<Decoder<'m>>,
    rng: Pcg64Mcg,
    now: Option<(Layout, Levels)>,
    /// Tasks to take out, for each of the two moves.
    size: [f64; 2],
    /// Ticks by which the whole is to become shorter, and the schedule pushed right against
    /// that end, if it was made already.
    shorter: Tick,
    failures: u32,
    right: Option<Vec<Span>>,
    /// What the modes cost at least.
    least_cost: i64,
    /// No schedule is less late.
    least_late: i64,
    /// What each shape of parts gained lately for what it took.
    gain: [f64; choose::SHAPES],
    /// Parts in a row in which nothing less could be late.
    vain: u32,
    /// The best schedule found here.
    pub(crate) best: Option<(Schedule, Levels)>,
    /// Conflicts, and schedules decoded.
    pub(crate) steps: u64,
}

impl<'m> Mender<'m> {
    /// Knows no schedule yet. `mirror` is the mirrored problem made ready.
    pub(crate) fn new(
        model: &'m Model<'m>,
        mirror: Option<&'m Model<'m>>,
        seed: u64,
    ) -> Self {
        Self {
            model,
            mirror,
            back: None,
            rng: Pcg64Mcg::seed_from_u64(seed),
            now: None,
            size: [20.0, 20.0],
            shorter: 1,
            failures: 0,
            right: None,
            least_cost: least_cost(model),
            least_late: 0,
            gain: [1.0; choose::SHAPES],
            vain: 0,
            best: None,
            steps: 0,
        }
    }

    /// Hears of a schedule from elsewhere.
    pub(crate) fn hear(&mut self, schedule: &Schedule, levels: Levels) {
        if self.now.as_ref().is_none_or(|(_, now)| levels < *now)
            && let Some(layout) = Layout::of(self.model, schedule)
        {
            self.now = Some((layout, levels));
            self.right = None;
        }
    }

    /// Hears of what is late at least in every schedule.
    pub(crate) fn hear_late(&mut self, tardiness: i64) {
        self.least_late = self.least_late.max(tardiness);
    }

    /// Mends until a number of steps is spent or, between two parts, `rest` says so, or `halt`
    /// does.
    pub(crate) fn run(
        &mut self,
        budget: u64,
        rest: &(dyn Fn() -> bool + Sync),
        halt: &(dyn Fn() -> bool + Sync),
    ) {
        let end = self.steps + budget;
        while self.steps < end && !rest() && !halt() {
            self.steps += 1;
            let Some((layout, levels)) = self.now.clone() else {
                return;
            };
            let late = beside(self.model.last, (0, levels[0]), levels[2] as Tick).1;
            let often = match (late, levels[1]) {
                (1.., _) => 1,
                (_, cost) if cost > self.least_cost => 4,
                _ => 7,
            };
            if self.mirror.is_some() && self.rng.random_ratio(often, 8) {
                let found = self.shorter(&layout, levels, halt);
                let kept = found.is_some_and(|found| self.keep(found));
                self.aim(kept, levels[2] as Tick);
            } else if let Some(found) = self.anew(&layout, levels, halt) {
                self.keep(found);
            }
        }
    }

    /// More at once after a success, less after some failures.
    fn aim(&mut self, kept: bool, length: Tick) {
        self.failures = if kept { 0 } else { self.failures + 1 };
        let before = self.shorter;
        if kept {
            self.shorter = (2 * before).min(1 + length / 50);
        } else if self.failures.is_multiple_of(12) {
            self.shorter = (before / 2).max(1);
        }
        if self.shorter != before {
            self.right = None;
        }
    }

    /// Keeps a layout if it is lawful and better; whether it was.
    fn keep(&mut self, layout: Layout) -> bool {
        let breach =
            breach_of(self.model, &layout.span) + self.model.stock_breach(&layout.way);
        let plan = Plan { span: layout.span.clone(), way: layout.way.clone(), breach };
        let key = key_of(self.model, &plan);
        let levels = [key.1, key.2, i64::from(key.3)];
        let better = self.now.as_ref().is_none_or(|(_, now)| levels < *now);
        let fits = || {
            let none = vec![false; self.model.count()];
            layout
                .rest(self.model, &none)
                .iter()
                .all(|free| free.least(0, Tick::MAX) >= 0)
        };
        let kept = key.0 == 0 && better && fits();
        if kept {
            self.best = Some((plan.schedule(self.model), levels));
            self.now = Some((layout, levels));
            self.right = None;
        }
        kept
    }

    fn anew(
        &mut self,
        layout: &Layout,
        levels: Levels,
        halt: &(dyn Fn() -> bool + Sync),
    ) -> Option<Layout> {
        let part = self.part(layout, levels);
        let mut out = vec![false; self.model.count()];
        for &task in &part.tasks {
            out[task] = true;
        }
        let stays = (0..out.len()).filter(|&task| !out[task]);
        let floor = stays.map(|task| layout.span[task].1).max().unwrap_or(0);
        let patch = Patch::new(self.model, layout, &part.tasks, floor, &|_| Tick::MAX)?;
        let model = Model::with(&patch.problem, Keep::Better);
        let mut exact = Exact::new(&model, &Bound::default())?;
        let now = patch.cut(self.model, layout);
        let measures = timetable::Measures::of(&patch.problem, &now).key();
        exact.hear(&now, [measures.0, measures.1, i64::from(measures.2)]);
        let late = beside(self.model.last, (0, levels[0]), levels[2] as Tick).1;
        let open = late > 0 && levels[0] > self.least_late;
        if open && (self.vain < VAIN || self.rng.random_ratio(3, 4)) {
            exact.want(1);
            exact.run(SHORT_PATIENCE, halt);
        } else {
            exact.run(PATIENCE, halt);
        }
        self.steps += exact.steps;
        self.adapt(0, exact.is_settled(), part.tasks.len());
        let less = exact.best.as_ref().is_some_and(|best| best.1[0] < measures.0);
        self.vain = if less { 0 } else { self.vain.saturating_add(1) };
        self.credit(&part, less, exact.steps);
        let (found, _) = exact.best.as_ref()?;
        patch.put_back(self.model, layout, found)
    }

    fn shorter(
        &mut self,
        layout: &Layout,
        levels: Levels,
        halt: &(dyn Fn() -> bool + Sync),
    ) -> Option<Layout> {
        let end = levels[2] as Tick - self.shorter;
        if self.right.is_none() {
            self.right = self.pushed_right(layout, end);
        }
        let right = self.right.clone()?;
        let (mixed, tasks) = self.split(layout, &right, end)?;
        // What is in time stays in time.
        let due = |task: usize| {
            let due = self.model.problem.tasks()[task].due;
            due.filter(|due| layout.span[task].1 <= due.at)
                .map_or(end, |due| due.at.min(end))
        };
        let patch = Patch::new(self.model, &mixed, &tasks, 0, &due);
        let Some(patch) = patch else {
            self.adapt(1, true, tasks.len());
            return None;
        };
        let model = Model::with(&patch.problem, Keep::Better);
        let mut exact = Exact::new(&model, &Bound::default())?;
        exact.find(PATIENCE, halt);
        self.steps += exact.steps;
        self.adapt(1, exact.closed || exact.best.is_some(), tasks.len());
        let (part, _) = exact.best.as_ref()?;
        patch.put_back(self.model, &mixed, part)
    }

    /// Larger parts while they are settled, smaller ones while they are not.
    fn adapt(&mut self, which: usize, settled: bool, tasks: usize) {
        let size = &mut self.size[which];
        if settled && tasks as f64 >= *size * 0.8 {
            *size *= 1.04;
        } else if !settled {
            *size *= 0.95;
        }
        *size = size.clamp(6.0, 150.0);
    }

    /// The schedule pushed right against an end.
    fn pushed_right(&mut self, layout: &Layout, end: Tick) -> Option<Vec<Span>> {
        let mirror = self.mirror?;
        let back = self.back.get_or_insert_with(|| Decoder::new(mirror));
        let horizon = self.model.problem.horizon();
        let floor = vec![horizon - end; layout.span.len()];
        let ends: Vec<f64> = layout.span.iter().map(|span| -f64::from(span.1)).collect();
        let turned = Recipe {
            rank: ranks(&ends),
            way: layout.way.clone(),
            hurry: vec![true; layout.span.len()],
            parallel: false,
        };
        self.steps += 1;
        let plan = back.decode(&turned, Some(&floor));
        Some(plan.span.iter().map(|span| (horizon - span.1, horizon - span.0)).collect())
    }

    /// A layout with the beginning of one, the end of the other, and the tasks between.
    fn split(
        &mut self,
        layout: &Layout,
        right: &[Span],
        end: Tick,
    ) -> Option<(Layout, Vec<usize>)> {
        let free = |&task: &usize| self.model.acts[task].fixed.is_none();
        let tasks: Vec<usize> = (0..layout.span.len()).filter(free).collect();
        let from = self.rng.random_range(0..=end.max(1));
        let rest = tasks.iter().copied().filter(|&task| layout.span[task].1 > from);
        let mut rest: Vec<usize> = rest.collect();
        // What comes first when pushed right is between, the rest is the end.
        rest.sort_by_key(|&task| (right[task].0, task));
        let size = (self.size[1] as usize).min(rest.len());
        if size == 0 {
            return None;
        }
        let until = rest.get(size).map_or(Tick::MAX, |&task| right[task].0);
        let mut mixed = layout.clone();
        let mut between = Vec::new();
        for task in rest {
            if right[task].0 < until {
                between.push(task);
            } else {
                mixed.span[task] = right[task];
            }
        }
        for &task in &between {
            // It has to be over by the new end, wherever it goes.
            mixed.span[task] = (0, 0);
        }
        (between.len() <= 3 * size).then_some((mixed, between))
    }
}
