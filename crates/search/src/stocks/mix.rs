//! Which way each task takes, so that the stocks do.
//!
//! To find a choice of ways that takes no more of two stocks or more than there is is as hard
//! as any problem of its kind, and mostly easy all the same. A *mix* is drawn in three steps:
//! each task takes the way that is best by a mixture of how long it takes and how much it
//! uses, with its takes paid for, while prices of stocks that lack rise; what is still lacking
//! is made good by single changes, each the one that gives back most for what it costs; and
//! what is left over is spent on changes for the better. Where no mix is found so, complete
//! search looks for one: the problem of the stocks by themselves, without time.
//!
//! Sources (from memory): S. Hartmann, *Project scheduling with multiple modes: a genetic
//! algorithm*, Annals of Operations Research 102 (2001) 111-135, for repair of modes; M.
//! Guignard, Lagrange heuristics in general.

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::{Mode, Problem, Schedule, Stock, StockId, Take, Task};

use crate::decode::Recipe;
use crate::exact::Exact;
use crate::island::recipe_of;
use crate::model::{Model, Way};
use crate::scarce::scarcity;

/// Rounds in which prices rise.
const ROUNDS: u32 = 24;
/// Of so many tasks changes are tried two at a time.
const PAIRED: usize = 80;
/// So many mixes are drawn before complete search looks for one.
const DRAWN: u64 = 60;

/// Draws mixes.
#[derive(Debug)]
pub(crate) struct Mix<'m> {
    model: &'m Model<'m>,
    /// The tasks that have a choice.
    several: Vec<usize>,
    /// For each of them, for each way, how long it takes and how much it uses: shares of the
    /// greatest there are.
    values: Vec<Vec<(f64, f64)>>,
}

/// What looking for a first mix came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Base {
    /// One was found.
    Found(Vec<u8>),
    /// There is none; complete search took so many steps to see it.
    Nothing(u64),
    /// The search was ended, after so many steps.
    Unknown(u64),
}

impl<'m> Mix<'m> {
    /// Draws mixes for a model. Costs nothing where no stock can lack.
    pub(crate) fn new(model: &'m Model<'m>) -> Self {
        let free = |&task: &usize| {
            model.acts[task].fixed.is_none() && model.acts[task].ways.len() > 1
        };
        let some = !model.stocks.is_empty();
        let several: Vec<usize> =
            (0..model.count()).filter(|t| some && free(t)).collect();
        let values = if some { values(model, &several) } else { Vec::new() };
        Self { model, several, values }
    }

    /// The recipe of a schedule from elsewhere. Modes of it that were left out, since others
    /// make them superfluous, are replaced; where that takes too much, as much as is needed.
    pub(crate) fn warm(&self, schedule: &Schedule, rng: &mut Pcg64Mcg) -> Option<Recipe> {
        let model = self.model;
        if model.problem.stocks().is_empty() {
            return recipe_of(model, schedule);
        }
        let mut schedule = schedule.clone();
        let tasks = model.problem.tasks().iter().zip(&model.acts);
        for (run, (task, act)) in schedule.assignments.iter_mut().zip(tasks) {
            let known = act.ways.iter().any(|way| way.mode == run.mode);
            if !known && run.mode.at() < task.modes.len() {
                run.mode = act.ways[0].mode;
            }
        }
        let mut recipe = recipe_of(model, &schedule)?;
        self.repair(&mut recipe.way, rng);
        Some(recipe)
    }

    /// Whether no stock can lack.
    pub(crate) fn is_idle(&self) -> bool {
        self.model.stocks.is_empty()
    }

    /// Whether a choice takes no more than there is.
    pub(crate) fn fits(&self, way: &[u8]) -> bool {
        self.model.stock_breach(way) == 0
    }

    /// A mix; it may take too much if no better one was ever found.
    pub(crate) fn draw(&self, rng: &mut Pcg64Mcg) -> Vec<u8> {
        let mut way = vec![0; self.model.count()];
        let share = rng.random::<f64>();
        let noise = 0.5 * rng.random::<f64>().powi(2);
        let value = |position: usize, number: usize, rng: &mut Pcg64Mcg| {
            let (long, much) = self.values[position][number];
            share * long + (1.0 - share) * much + noise * rng.random::<f64>()
        };
        let worth: Vec<Vec<f64>> = (0..self.several.len())
            .map(|position| {
                let ways = 0..self.values[position].len();
                ways.map(|number| value(position, number, rng)).collect()
            })
            .collect();
        self.choose(&worth, &mut way);
        if !self.repair(&mut way, rng)
            && let Some(base) = self.model.stocks.base.get()
        {
            way.copy_from_slice(base);
        }
        self.spend(&worth, &mut way, rng);
        way
    }

    /// Takes the best way of each task at prices that rise for what lacks.
    fn choose(&self, worth: &[Vec<f64>], way: &mut [u8]) {
        let stocks = &self.model.stocks;
        let mean = |stock: usize| {
            let left = stocks.left[stock].max(1) as f64;
            self.several.len() as f64 / left
        };
        let unit: Vec<f64> = (0..stocks.left.len()).map(mean).collect();
        let mut prices = vec![0.0; unit.len()];
        for _ in 0..ROUNDS {
            for (position, &task) in self.several.iter().enumerate() {
                let paid = |number: usize| {
                    let takes = self.model.acts[task].ways[number].takes.iter();
                    let takes = takes.zip(&prices).zip(&unit);
                    let paid: f64 = takes.map(|((&t, p), u)| t as f64 * p * u).sum();
                    worth[position][number] + paid
                };
                let ways = (0..worth[position].len().min(256)).map(|n| (paid(n), n));
                let best = ways.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                way[task] = best.map_or(0, |best| best.1 as u8);
            }
            let taken = self.model.taken(way);
            if stocks.excess(&taken) == 0 {
                return;
            }
            for (stock, price) in prices.iter_mut().enumerate() {
                let left = stocks.left[stock].max(1) as f64;
                let over = (taken[stock] - stocks.left[stock]) as f64 / left;
                *price = (*price + 0.25 * over.clamp(-0.2, 1.0)).max(0.0);
            }
        }
    }

    /// Changes ways until no more is taken than there is. False if that can't be reached by
    /// changes that each give something back; some of them are made then.
    pub(crate) fn repair(&self, way: &mut [u8], rng: &mut Pcg64Mcg) -> bool {
        let stocks = &self.model.stocks;
        if stocks.is_empty() {
            return true;
        }
        let mut taken = self.model.taken(way);
        let mut excess = stocks.excess(&taken);
        let mut patience = 2 * self.several.len();
        let mut barred = vec![false; self.several.len()];
        while excess > 0 && patience > 0 {
            patience -= 1;
            let mut best: Option<(f64, usize, u8)> = None;
            for (position, &task) in self.several.iter().enumerate() {
                let now = usize::from(way[task]);
                for number in 0..self.values[position].len().min(256) {
                    if number == now || barred[position] {
                        continue;
                    }
                    let less = excess - self.excess_with(&taken, task, now, number);
                    if less <= 0 {
                        continue;
                    }
                    let (old, new) =
                        (self.values[position][now], self.values[position][number]);
                    let dear = (new.0 - old.0).max(0.0) + (new.1 - old.1).max(0.0) + 0.02;
                    let key = less as f64 / dear * (0.7 + 0.6 * rng.random::<f64>());
                    if best.is_none_or(|best| key > best.0) {
                        best = Some((key, position, number as u8));
                    }
                }
            }
            if let Some((_, position, number)) = best {
                self.change(&mut taken, way, self.several[position], number);
            } else if let Some(two) = self.best_pair(way, &taken, excess, rng) {
                for (task, number) in two {
                    self.change(&mut taken, way, task, number);
                }
            } else {
                // Nothing helps: one at random, which stays.
                let position = rng.random_range(0..self.several.len().max(1));
                let Some(&task) = self.several.get(position) else { return false };
                let ways = self.values[position].len().min(256);
                let number = rng.random_range(0..ways) as u8;
                barred[position] = true;
                self.change(&mut taken, way, task, number);
            }
            excess = stocks.excess(&taken);
        }
        excess == 0
    }

    /// The two changes, of two tasks, that together leave the least excess, if it is less than
    /// now: where stocks are all but used up, one task gives what another can take.
    fn best_pair(
        &self,
        way: &[u8],
        taken: &[i64],
        excess: i64,
        rng: &mut Pcg64Mcg,
    ) -> Option<[(usize, u8); 2]> {
        let stocks = &self.model.stocks;
        let mut order: Vec<usize> = (0..self.several.len()).collect();
        for place in 0..order.len().min(PAIRED) {
            let other = rng.random_range(place..order.len());
            order.swap(place, other);
        }
        order.truncate(PAIRED);
        // Each change, with what all would take after it.
        let mut changes: Vec<(usize, u8, Vec<i64>)> = Vec::new();
        for &position in &order {
            let task = self.several[position];
            let ways = &self.model.acts[task].ways;
            let now = &ways[usize::from(way[task])].takes;
            for (number, other) in ways.iter().enumerate().take(256) {
                let difference: Vec<i64> =
                    other.takes.iter().zip(now).map(|(other, now)| other - now).collect();
                if difference.iter().any(|&difference| difference != 0) {
                    changes.push((task, number as u8, difference));
                }
            }
        }
        let mut best: Option<(i64, [(usize, u8); 2])> = None;
        let mut sum = vec![0; taken.len()];
        for (place, a) in changes.iter().enumerate() {
            for b in changes[place + 1..].iter().filter(|b| b.0 != a.0) {
                for (stock, sum) in sum.iter_mut().enumerate() {
                    *sum = taken[stock] + a.2[stock] + b.2[stock];
                }
                let left = stocks.excess(&sum);
                if left < best.map_or(excess, |best| best.0) {
                    best = Some((left, [(a.0, a.1), (b.0, b.1)]));
                }
            }
        }
        best.map(|best| best.1)
    }

    /// Changes ways for better ones as long as there is enough for them.
    fn spend(&self, worth: &[Vec<f64>], way: &mut [u8], rng: &mut Pcg64Mcg) {
        let mut taken = self.model.taken(way);
        if self.model.stocks.excess(&taken) > 0 || self.several.is_empty() {
            return;
        }
        let first = rng.random_range(0..self.several.len());
        for step in 0..self.several.len() {
            let position = (first + step) % self.several.len();
            let task = self.several[position];
            let now = usize::from(way[task]);
            let better = |number: &usize| {
                worth[position][*number] < worth[position][now]
                    && self.excess_with(&taken, task, now, *number) == 0
            };
            let ways = (0..worth[position].len().min(256)).filter(better);
            let best = ways.min_by(|&a, &b| {
                worth[position][a].total_cmp(&worth[position][b]).then(a.cmp(&b))
            });
            if let Some(best) = best {
                self.change(&mut taken, way, task, best as u8);
            }
        }
    }

    fn change(&self, taken: &mut [i64], way: &mut [u8], task: usize, number: u8) {
        let ways = &self.model.acts[task].ways;
        let (old, new) = (&ways[usize::from(way[task])], &ways[usize::from(number)]);
        for (stock, sum) in taken.iter_mut().enumerate() {
            *sum += new.takes[stock] - old.takes[stock];
        }
        way[task] = number;
    }

    /// The excess if one task changed its way.
    fn excess_with(&self, taken: &[i64], task: usize, now: usize, next: usize) -> i64 {
        excess_with(self.model, taken, task, now, next)
    }
}

/// The excess over what there is if one task changed its way.
pub(crate) fn excess_with(
    model: &Model,
    taken: &[i64],
    task: usize,
    now: usize,
    next: usize,
) -> i64 {
    const FEW: usize = 8;
    let ways = &model.acts[task].ways;
    let changed =
        |stock: usize| taken[stock] + ways[next].takes[stock] - ways[now].takes[stock];
    if taken.len() > FEW {
        let changed: Vec<i64> = (0..taken.len()).map(changed).collect();
        return model.stocks.excess(&changed);
    }
    let mut few = [0; FEW];
    for (stock, sum) in few.iter_mut().enumerate().take(taken.len()) {
        *sum = changed(stock);
    }
    model.stocks.excess(&few[..taken.len()])
}

/// How long the ways of tasks take and how much they use of what is scarce.
fn values(model: &Model, several: &[usize]) -> Vec<Vec<(f64, f64)>> {
    let horizon = model.problem.horizon();
    let ratio = scarcity(&model.acts, &model.static_free, horizon);
    let most = ratio.iter().copied().fold(1e-9, f64::max);
    let uses = |way: &Way| {
        let uses = way.uses.iter().map(|entry| {
            let amount = f64::from(entry.throughout) + f64::from(entry.working);
            amount * f64::from(way.pattern.work()) * ratio[entry.resource] / most
        });
        uses.fold(0.0, f64::max)
    };
    let raw: Vec<Vec<(f64, f64)>> = several
        .iter()
        .map(|&task| {
            let ways = model.acts[task].ways.iter();
            ways.map(|way| (f64::from(way.pattern.work()), uses(way))).collect()
        })
        .collect();
    let greatest =
        |of: fn(&(f64, f64)) -> f64| raw.iter().flatten().map(of).fold(1e-9, f64::max);
    let (long, much) = (greatest(|value| value.0), greatest(|value| value.1));
    let share = |value: &(f64, f64)| (value.0 / long, value.1 / much);
    raw.iter().map(|ways| ways.iter().map(share).collect()).collect()
}

/// Looks for a first mix until one is found, none can be, or `halt` says so.
pub(crate) fn base(model: &Model, most: u64, halt: &(dyn Fn() -> bool + Sync)) -> Base {
    let mix = Mix::new(model);
    for seed in 0..DRAWN {
        let way = mix.draw(&mut Pcg64Mcg::seed_from_u64(seed));
        if mix.fits(&way) {
            return Base::Found(way);
        }
        if halt() {
            return Base::Unknown(seed);
        }
    }
    let Some(problem) = without_time(model) else { return Base::Unknown(DRAWN) };
    let timeless = Model::new(&problem);
    if timeless.stocks.short.is_some() {
        return Base::Nothing(DRAWN);
    }
    let mut exact = Exact::of_any_size(&timeless);
    exact.find(most, halt);
    let steps = DRAWN + exact.steps;
    match &exact.best {
        Some((schedule, _)) => {
            let runs = schedule.assignments.iter();
            // A plan can't name a way beyond the first 256.
            let way: Option<Vec<u8>> =
                runs.map(|run| u8::try_from(run.mode.at()).ok()).collect();
            way.map_or(Base::Unknown(steps), Base::Found)
        }
        None if exact.closed => Base::Nothing(steps),
        None => Base::Unknown(steps),
    }
}

/// The choice of ways by itself: every task takes no time and uses nothing.
fn without_time(model: &Model) -> Option<Problem> {
    let takes = |way: &Way| {
        let some = way.takes.iter().enumerate().filter(|(_, amount)| **amount > 0);
        some.map(|(stock, &amount)| Take { stock: StockId::new(stock), amount }).collect()
    };
    let tasks = model.acts.iter().map(|act| {
        let ways = act.ways.iter();
        let modes =
            ways.map(|way| Mode { takes: takes(way), ..Mode::elapsed(0, vec![]) });
        let mut task = Task::new("", Mode::elapsed(0, vec![]));
        task.modes = modes.collect();
        task
    });
    let stock = |&available: &i64| Stock { name: String::new(), available };
    let stocks = model.stocks.left.iter().map(stock).collect();
    let (tasks, none) = (tasks.collect(), Vec::new());
    Problem::stocked(0, tasks, none, stocks, vec![], vec![], vec![]).ok()
}
