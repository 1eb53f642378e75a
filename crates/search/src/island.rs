//! A population that improves by itself: the search for problems with every feature.
//!
//! Each member is a [`Recipe`] and what it decodes to. A child comes from one parent, or
//! two, by one of these moves, and takes the place of the worst member if it is better:
//!
//! - *window*: the order inside a stretch of time is drawn again, the rest stays;
//! - *pull*: a task that is late or ends last goes forward in the order, with what it
//!   waits for;
//! - *cross*: the order of one parent up to a tick, of the other after it;
//! - *mode*: some tasks run in another mode;
//! - *hurry*: some tasks may start before their published starts, or no longer.
//!
//! The first members are built on the [board](crate::board) or decoded, by rules. From then on
//! most of the steps go into [moving a few tasks at a time](crate::local), by turns from the
//! best member and from any other, so that the population keeps what is worth a second look.
//!
//! A child that is nearly as good as the best is pushed right and left
//! ([`mirror`](crate::mirror)). Where only the length is left, a [flock](crate::flock) goes on from
//! the members; only what has no mirror image is then shortened by moving a few tasks with the
//! [aim](crate::squeeze) of a shorter length.
//!
//! Source: S. Hartmann, *A competitive genetic algorithm for resource-constrained project
//! scheduling*, Naval Research Logistics 45 (1998) 733-750, for activity lists and
//! crossover (from memory).

use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;
use timetable::{Schedule, Tick};

use crate::arc::task_of;
use crate::decode::{Decoder, Plan, Recipe};
use crate::flock::{Flock, floor};
use crate::last::beside;
use crate::local::Local;
use crate::model::Model;
use crate::rules::{RULES, ranks, recipe, values};
use crate::squeeze::aims;
use crate::stocks::{self, Mix};

/// The order in which rules are tried: due dates and the published plan come first.
const FIRST: [usize; RULES] = [5, 2, 0, 6, 1, 4, 3];

/// Where only the length counts, one child in so many is followed by local search.
const SELDOM: u64 = 64;
/// So many members are there before local search begins.
const FEW: usize = 3;
/// Where only the length counts and nothing can be pushed right, so many children come with one
/// squeeze.
const SQUEEZED: u64 = 2;
/// After so many turns in vain a squeeze begins anew.
const VAIN: u32 = 8;
/// More tasks than that are many.
const MANY: usize = 500;
/// Steps of local search for each child.
const LOCAL: u64 = 24;

/// What decides between plans: the breach, and then the levels of the measures.
pub(crate) type Key = (i64, i64, i64, Tick);

/// A recipe and what it decodes to.
#[derive(Debug, Clone)]
pub(crate) struct Member {
    pub(crate) recipe: Recipe,
    pub(crate) plan: Plan,
    pub(crate) key: Key,
}

/// A population with a random stream of its own.
#[derive(Debug)]
pub(crate) struct Island<'m> {
    model: &'m Model<'m>,
    decoder: Decoder<'m>,
    /// Decodes the mirror; made when it is needed.
    back: Option<Decoder<'m>>,
    rng: Pcg64Mcg,
    members: Vec<Member>,
    size: usize,
    rules: Vec<Vec<f64>>,
    born: u64,
    several: Vec<usize>,
    published: Vec<usize>,
    warm: Option<Recipe>,
    local: Local<'m>,
    mirror: Option<&'m Model<'m>>,
    seed: u64,
    /// What goes on where only the length is left; made when it is needed.
    flock: Option<Box<Flock<'m>>>,
    /// Ways that do with the stocks.
    mix: Mix<'m>,
    /// What shortens the best member; made when it is needed.
    squeezer: Option<Box<Local<'m>>>,
    /// Its least strain, and turns since it became less.
    strain: i64,
    vain: u32,
    /// What the modes cost at least.
    least_cost: i64,
    /// How often the local search began anew, and what the best member broke then.
    turns: u64,
    breach: i64,
    /// The last step was for the cost of what is late.
    saves: bool,
    /// Schedules decoded.
    pub(crate) steps: u64,
}

/// What a plan measures.
pub(crate) fn key_of(model: &Model, plan: &Plan) -> Key {
    let (mut tardiness, mut cost, mut length) = (0, 0, 0);
    for (task, data) in model.problem.tasks().iter().enumerate() {
        let (start, finish) = plan.span[task];
        if let Some(due) = data.due {
            tardiness += i64::from((finish - due.at).max(0)) * i64::from(due.weight);
        }
        if let Some(published) = data.published {
            let ticks = i64::from((start - published.start).abs());
            cost += ticks * i64::from(published.weight);
        }
        cost += model.acts[task].ways[usize::from(plan.way[task])].cost;
        length = length.max(finish);
    }
    (plan.breach, tardiness, cost, length)
}

impl<'m> Island<'m> {
    /// An empty population. `mirror` is the mirrored problem made ready.
    pub(crate) fn new(
        model: &'m Model<'m>,
        mirror: Option<&'m Model<'m>>,
        seed: u64,
        warm: Option<&Schedule>,
    ) -> Self {
        let several = |&task: &usize| {
            model.acts[task].fixed.is_none() && model.acts[task].ways.len() > 1
        };
        let published = |&task: &usize| {
            let data = &model.problem.tasks()[task];
            model.acts[task].fixed.is_none()
                && data.published.is_some_and(|published| published.weight > 0)
        };
        let mix = Mix::new(model);
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let warm = warm.and_then(|schedule| mix.warm(schedule, &mut rng));
        Self {
            model,
            decoder: Decoder::new(model),
            back: None,
            rng,
            members: Vec::new(),
            size: (40_000 / (model.count() + 1)).clamp(6, 40),
            rules: (0..RULES).map(|rule| values(model, rule)).collect(),
            born: 0,
            several: (0..model.count()).filter(several).collect(),
            published: (0..model.count()).filter(published).collect(),
            warm,
            local: Local::new(model),
            mirror,
            seed,
            flock: None,
            mix,
            squeezer: None,
            strain: i64::MAX,
            vain: 0,
            least_cost: least_cost(model),
            turns: 0,
            breach: i64::MAX,
            saves: false,
            steps: 0,
        }
    }

    /// The best member.
    pub(crate) fn best(&self) -> Option<&Member> {
        self.members.iter().min_by_key(|member| member.key)
    }

    /// Takes in a member from elsewhere.
    pub(crate) fn learn(&mut self, member: &Member) {
        if let Some(flock) = &mut self.flock {
            flock.hear(&member.plan, member.key);
        }
        if self.members.iter().all(|own| own.key != member.key) {
            self.keep(member.clone());
        }
    }

    /// Decodes until a number of steps is spent or, between two of them, `rest` says so,
    /// or `halt` does.
    pub(crate) fn run(
        &mut self,
        budget: u64,
        rest: &(dyn Fn() -> bool + Sync),
        halt: &(dyn Fn() -> bool + Sync),
    ) {
        let end = self.steps + budget;
        let pause = || rest() || halt();
        while self.steps < end && !pause() {
            let flat = self.is_flat() && !self.turns_to_cost();
            let filled = self.members.len() >= self.size;
            if let Some(mirror) = self.mirror.filter(|_| flat && filled) {
                self.fly(mirror, halt);
                continue;
            }
            if flat && filled && self.born.is_multiple_of(SQUEEZED) {
                self.squeeze(LOCAL, &pause);
                if self.steps >= end || pause() {
                    break;
                }
            }
            let due = !flat || self.born.is_multiple_of(SELDOM);
            let seeks = self.seeks();
            let few = FEW.min(self.size);
            if self.members.len() >= few && due {
                self.improve(if filled || seeks { LOCAL } else { LOCAL / 4 }, &pause);
                if self.steps >= end || pause() {
                    break;
                }
                if seeks && !self.seeks() {
                    // The first lawful schedule: everybody waits for it.
                    break;
                }
                if seeks && (!self.local.turn_is_over() || self.comes_nearer()) {
                    continue;
                }
            }
            self.born += 1;
            let filling = self.members.len() < self.size;
            let recipe = if filling { self.first() } else { self.child() };
            let build = filling && !recipe.parallel && !flat;
            let built = if build { self.build(&recipe, halt) } else { None };
            if let Some(member) = built {
                self.keep(member);
                continue;
            }
            let member = self.decode(recipe, halt);
            let near = self.best().is_none_or(|best| nearly(member.key, best.key));
            let better = if near || self.rng.random_ratio(1, 8) {
                self.justify(&member, halt)
            } else {
                None
            };
            self.keep(member);
            if let Some(better) = better {
                self.keep(better);
            }
        }
    }

    /// Whether a large problem has no lawful schedule yet: then moving a few tasks at a time
    /// gets there sooner than more schedules from nothing, which take long and break as much.
    fn seeks(&self) -> bool {
        self.model.count() > MANY && self.best().is_some_and(|best| best.key.0 > 0)
    }

    /// Whether the last turn of local search left less to break.
    fn comes_nearer(&self) -> bool {
        self.best().is_some_and(|best| best.key.0 < self.breach)
    }

    /// Whether only the length is left to improve. Moving a few tasks rarely changes that;
    /// pushing the whole right and left does.
    fn is_flat(&self) -> bool {
        let least = |key: Key| {
            let rest = beside(self.model.last, (key.0, key.1), key.3);
            rest == (0, 0) && ((key.0, key.1) > (0, 0) || key.2 <= self.least_cost)
        };
        self.best().is_some_and(|best| least(best.key))
    }

    /// Whether it is the turn of the cost of what is late: the flock doesn't look at that.
    fn turns_to_cost(&mut self) -> bool {
        let dear = |best: &Member| {
            let (breach, late, cost, _) = best.key;
            breach == 0 && late > 0 && cost > self.least_cost
        };
        self.saves = !self.saves && self.best().is_some_and(dear);
        self.saves
    }

    /// Breeds one schedule of the flock.
    fn fly(&mut self, mirror: &'m Model<'m>, halt: &dyn Fn() -> bool) {
        let Some(best) = self.best().map(|best| best.key) else {
            return;
        };
        // Of what is late nothing costs too much.
        let late = (best.0, best.1) > (0, 0);
        let levels = (0, if late { i64::MAX } else { self.least_cost });
        self.flock.take_if(|flock| flock.levels != levels);
        let flock = self.flock.get_or_insert_with(|| {
            let (model, members) = (self.model, &self.members);
            Box::new(Flock::new(model, mirror, levels, self.seed, members))
        });
        let before = flock.steps;
        flock.step(halt);
        // A place without a father takes no time, but must not be looked at for ever.
        self.steps += (flock.steps - before).max(1);
        if let Some((plan, key)) = flock.better(best).cloned() {
            let member = self.member_of(plan, key);
            self.keep(member);
        }
    }

    /// Spends some steps on moving tasks with the [aim](crate::squeeze) of a shorter length.
    fn squeeze(&mut self, steps: u64, halt: &(dyn Fn() -> bool + Sync)) {
        let Some(length) = self.best().map(|best| best.key.3) else {
            return;
        };
        if !self.goes_on(length) && !self.begin_squeeze() {
            return;
        }
        self.steps += steps;
        let count = self.model.count() as u64 + 1;
        let Some(squeezer) = self.squeezer.as_mut() else {
            return;
        };
        squeezer.run(steps * count, &mut self.rng, halt);
        let top = squeezer.top().filter(|top| top.0.3 < length);
        if let Some((key, plan)) = top.cloned() {
            let member = self.member_of(plan, key);
            self.keep(member);
        }
    }

    /// Whether the squeeze under way goes on: its length is not reached, neither here nor
    /// elsewhere, and some turns ago it still came nearer.
    fn goes_on(&mut self, length: Tick) -> bool {
        let Some(squeezer) = self.squeezer.as_mut().filter(|local| local.is_ready())
        else {
            return false;
        };
        let outdone = squeezer.top().is_none_or(|top| length < top.0.3);
        if outdone || squeezer.best().0.strain == 0 {
            return false;
        }
        if !squeezer.turn_is_over() {
            return true;
        }
        let strain = squeezer.best().0.strain;
        self.vain = if strain < self.strain { 0 } else { self.vain + 1 };
        self.strain = strain;
        self.vain < VAIN && squeezer.again()
    }

    /// Begins to shorten the best member. False if it can't be the beginning of anything.
    fn begin_squeeze(&mut self) -> bool {
        let mut best = self.members.iter().min_by_key(|member| member.key);
        // The first of them may stand in modes from which few changes lead to anything better.
        if let Some(key) = best.map(|best| best.key).filter(|_| !self.mix.is_idle()) {
            let alike = self.members.iter().filter(|member| member.key == key);
            let drawn = self.rng.random_range(0..alike.clone().count().max(1));
            best = alike.clone().nth(drawn).or(best);
        }
        let Some((plan, length)) = best.map(|best| (&best.plan, best.key.3)) else {
            return false;
        };
        let model = self.model;
        let squeezer = self.squeezer.get_or_insert_with(|| Box::new(Local::new(model)));
        (self.vain, self.strain) = (0, i64::MAX);
        let begun = squeezer.start_from(plan);
        if begun {
            squeezer.aim(&aims(model, length));
        }
        begun
    }

    /// Spends some steps on moving a few tasks at a time.
    fn improve(&mut self, steps: u64, halt: &(dyn Fn() -> bool + Sync)) {
        if !self.local.is_ready() || self.local.turn_is_over() {
            self.begin_turn();
        }
        if !self.local.is_ready() {
            return;
        }
        let count = self.model.count() as u64 + 1;
        self.steps += steps;
        if self.local.run(steps * count, &mut self.rng, halt) {
            let (worth, plan) = self.local.best();
            let (plan, key) = (plan.clone(), worth.key());
            let member = self.member_of(plan, key);
            self.keep(member);
        }
    }

    /// Lets the local search begin from the best member or, in turns, another one; of a large
    /// problem without a schedule from the best as long as that comes nearer.
    fn begin_turn(&mut self) {
        self.turns += 1;
        let nearer = self.seeks() && self.comes_nearer();
        self.breach = self.best().map_or(i64::MAX, |best| best.key.0);
        let best = if self.turns.is_multiple_of(2) && !nearer {
            self.members.get(self.rng.random_range(0..self.members.len()))
        } else {
            self.best()
        };
        if let Some(plan) = best.map(|member| member.plan.clone()) {
            self.local.start_from(&plan);
        }
    }

    /// Builds a schedule on the board, which knows better than the decoder how long
    /// stands will be kept.
    fn build(&mut self, recipe: &Recipe, halt: &dyn Fn() -> bool) -> Option<Member> {
        self.steps += 1;
        let hurry = recipe.hurry.iter().all(|&hurry| hurry);
        if !self.local.build(&recipe.rank, &recipe.way, hurry, halt) {
            return None;
        }
        let (worth, plan) = self.local.now();
        let key = worth.key();
        Some(self.member_of(plan, key))
    }

    fn member_of(&self, plan: Plan, key: Key) -> Member {
        let starts: Vec<f64> = plan.span.iter().map(|s| f64::from(s.0)).collect();
        let published = self.model.problem.tasks().iter().zip(&plan.span);
        let hurry = published.map(|(task, span)| {
            task.published.is_some_and(|published| span.0 < published.start)
        });
        let (way, hurry) = (plan.way.clone(), hurry.collect());
        let recipe = Recipe { rank: ranks(&starts), way, hurry, parallel: false };
        Member { recipe, plan, key }
    }

    fn decode(&mut self, recipe: Recipe, halt: &dyn Fn() -> bool) -> Member {
        self.steps += 1;
        let plan = self.decoder.decode_while(&recipe, None, &|| !halt());
        let key = key_of(self.model, &plan);
        Member { recipe, plan, key }
    }

    /// A recipe for a population that is not full: the hint, then the rules, plain and
    /// biased, by both schemes.
    fn first(&mut self) -> Recipe {
        if let Some(warm) = self.warm.take() {
            return warm;
        }
        let born = self.born as usize - 1;
        let rule = FIRST[born % RULES];
        let round = born / RULES;
        let bias = [0.0, 0.0, 0.05, 0.1, 0.2, 0.4][round.min(5)];
        let mut recipe = recipe(self.model, &self.rules[rule], bias, &mut self.rng);
        recipe.parallel = round % 2 == 1;
        if round % 3 == 2 {
            for position in 0..self.several.len() {
                let task = self.several[position];
                recipe.way[task] = self.draw_way(task);
            }
        }
        if self.rng.random_ratio(1, 4) {
            recipe.hurry.fill(true);
        }
        if !self.model.stocks.is_empty() {
            recipe.way = self.mix.draw(&mut self.rng);
        }
        recipe
    }

    fn draw_way(&mut self, task: usize) -> u8 {
        self.rng.random_range(0..self.model.acts[task].ways.len()).min(255) as u8
    }

    fn child(&mut self) -> Recipe {
        let parent = self.pick();
        let mut recipe = self.members[parent].recipe.clone();
        recipe.parallel = false;
        let mut keys: Vec<f64> =
            self.members[parent].plan.span.iter().map(|s| f64::from(s.0)).collect();
        // Equal starts keep the order in which they were decoded.
        for (key, rank) in keys.iter_mut().zip(&recipe.rank) {
            *key += f64::from(*rank) / (2.0 * self.model.count() as f64 + 2.0);
        }
        let tardy = self.members[parent].key;
        match self.rng.random_range(0..10) {
            0..=3 => self.shuffle_window(&mut keys),
            4..=6 => self.pull(parent, &mut keys),
            _ => self.cross(parent, &mut keys, &mut recipe),
        }
        if !self.several.is_empty() && self.rng.random_ratio(1, 2) {
            for _ in 0..=self.rng.random_range(0..3) {
                let task = self.several[self.rng.random_range(0..self.several.len())];
                recipe.way[task] = self.draw_way(task);
            }
        }
        if !self.published.is_empty() && (tardy.0, tardy.1) != (0, 0) {
            let most = 1 + self.published.len() / 10;
            for _ in 0..=self.rng.random_range(0..most) {
                let position = self.rng.random_range(0..self.published.len());
                let task = self.published[position];
                recipe.hurry[task] = !recipe.hurry[task];
            }
        }
        recipe.rank = ranks(&keys);
        if !self.mix.fits(&recipe.way) && !self.mix.repair(&mut recipe.way, &mut self.rng)
        {
            recipe.way.clone_from(&self.members[parent].recipe.way);
        }
        recipe
    }

    /// The better of two members that are drawn.
    fn pick(&mut self) -> usize {
        let count = self.members.len();
        let (a, b) = (self.rng.random_range(0..count), self.rng.random_range(0..count));
        if self.members[a].key <= self.members[b].key { a } else { b }
    }

    fn shuffle_window(&mut self, keys: &mut [f64]) {
        let mut order: Vec<usize> = (0..keys.len()).collect();
        order.sort_by(|&a, &b| keys[a].total_cmp(&keys[b]).then(a.cmp(&b)));
        let most = (keys.len() / 3).clamp(2, 60);
        let width = self.rng.random_range(2..=most.max(2)).min(keys.len());
        let from = self.rng.random_range(0..=keys.len() - width);
        let window = &order[from..from + width];
        let (low, high) = (keys[window[0]], keys[window[width - 1]]);
        let whole = self.rng.random_ratio(1, 2);
        for &task in window {
            if whole || self.rng.random_ratio(1, 3) {
                keys[task] = low + (high - low + 1e-6) * self.rng.random::<f64>();
            }
        }
    }

    /// Brings a task that is late, or ends last, forward, with what comes before it.
    fn pull(&mut self, parent: usize, keys: &mut [f64]) {
        let Some(mut task) = self.sufferer(parent) else {
            return;
        };
        let span = &self.members[parent].plan.span;
        let length = span.iter().map(|span| span.1).max().unwrap_or(1).max(1);
        let shift = f64::from(length) * 0.5 * self.rng.random::<f64>().powi(2);
        for _ in 0..64 {
            keys[task] -= shift * (0.5 + 0.5 * self.rng.random::<f64>());
            let into = &self.model.into[task];
            if into.is_empty() {
                break;
            }
            // The predecessor that ends last, mostly, holds it.
            let other = |&arc: &usize| task_of(self.model.arcs[arc].from);
            let last = into.iter().map(other).max_by_key(|&task| span[task].1);
            let any = other(&into[self.rng.random_range(0..into.len())]);
            let next = if self.rng.random_ratio(2, 3) { last } else { Some(any) };
            match next {
                Some(next) if self.model.acts[next].fixed.is_none() => task = next,
                _ => break,
            }
        }
    }

    /// A task that breaks its deadline, is late or, if there is none, is among the last.
    fn sufferer(&mut self, parent: usize) -> Option<usize> {
        let plan = &self.members[parent].plan;
        let free = |&task: &usize| self.model.acts[task].fixed.is_none();
        let late = |&task: &usize| {
            let due = self.model.problem.tasks()[task].due;
            let finish = plan.span[task].1;
            finish > self.model.acts[task].deadline || due.is_some_and(|d| finish > d.at)
        };
        let tasks: Vec<usize> = (0..self.model.count()).filter(free).collect();
        let mut chosen: Vec<usize> = tasks.iter().copied().filter(late).collect();
        if chosen.is_empty() {
            let length = tasks.iter().map(|&task| plan.span[task].1).max()?;
            let slack = 1 + length / 20;
            let last = |&task: &usize| plan.span[task].1 + slack >= length;
            chosen = tasks.into_iter().filter(last).collect();
        }
        (!chosen.is_empty()).then(|| chosen[self.rng.random_range(0..chosen.len())])
    }

    /// The parent's order up to a tick, another member's after it.
    fn cross(&mut self, parent: usize, keys: &mut [f64], recipe: &mut Recipe) {
        let other = &self.members[self.rng.random_range(0..self.members.len())];
        let length = f64::from(self.members[parent].key.3.max(1));
        let (a, b) = (self.rng.random::<f64>(), self.rng.random::<f64>());
        let (low, high) = (length * a.min(b), length * a.max(b));
        let inside = self.rng.random_ratio(1, 2);
        for (task, key) in keys.iter_mut().enumerate() {
            let kept = (*key >= low && *key <= high) == inside;
            if !kept {
                let after = if *key > high { 2.0 * length } else { 0.0 };
                let before = if *key < low { -2.0 * length } else { 0.0 };
                *key = f64::from(other.plan.span[task].0) * 1e-3 + after + before;
                if inside {
                    recipe.way[task] = other.recipe.way[task];
                    recipe.hurry[task] = other.recipe.hurry[task];
                } else {
                    *key += low;
                }
            }
        }
    }

    /// Pushes a plan right and then left.
    fn justify(&mut self, member: &Member, halt: &dyn Fn() -> bool) -> Option<Member> {
        if member.plan.breach > 0 {
            return None;
        }
        let mirror = self.mirror?;
        let back = self.back.get_or_insert_with(|| Decoder::new(mirror));
        let tasks = self.model.problem.tasks();
        let floor = floor(self.model.problem, &member.plan.span, member.key.3);
        let ends: Vec<f64> =
            member.plan.span.iter().map(|span| -f64::from(span.1)).collect();
        let turned = Recipe {
            rank: ranks(&ends),
            way: member.recipe.way.clone(),
            hurry: vec![true; tasks.len()],
            parallel: false,
        };
        let late = back.decode_while(&turned, Some(&floor), &|| !halt());
        self.steps += 1;
        if late.breach > 0 {
            return None;
        }
        let starts: Vec<f64> = late.span.iter().map(|span| -f64::from(span.1)).collect();
        let recipe =
            Recipe { rank: ranks(&starts), parallel: false, ..member.recipe.clone() };
        Some(self.decode(recipe, halt))
    }

    /// Keeps a member: in an open place, or in that of the worst if it is better.
    fn keep(&mut self, member: Member) {
        if self.members.len() < self.size {
            self.members.push(member);
            return;
        }
        let same =
            |own: &Member| own.key == member.key && own.plan.span == member.plan.span;
        if self.members.iter().any(same) {
            return;
        }
        let worst = (0..self.members.len()).max_by_key(|&own| self.members[own].key);
        if let Some(worst) = worst.filter(|&own| member.key <= self.members[own].key) {
            self.members[worst] = member;
        }
    }
}

/// What the modes cost at least, with no task away from its published start.
pub(crate) fn least_cost(model: &Model) -> i64 {
    let least = |act: &crate::model::Act| act.ways.iter().map(|way| way.cost).min();
    let sum: i64 = model.acts.iter().filter_map(least).sum();
    if model.stocks.is_empty() { sum } else { sum.max(stocks::least_cost(model)) }
}

/// Whether a key is so near to another that improving it may win.
fn nearly(key: Key, best: Key) -> bool {
    let near = |a: i64, b: i64| a <= b + b / 20;
    key.0 <= best.0 && near(key.1, best.1) && (key.1 != best.1 || near(key.2, best.2))
}

/// The recipe that decodes to something like a schedule; nothing if it does not fit.
pub(crate) fn recipe_of(model: &Model, schedule: &Schedule) -> Option<Recipe> {
    if schedule.assignments.len() != model.count() {
        return None;
    }
    let ways = model.acts.iter().zip(&schedule.assignments).map(|(act, assignment)| {
        let found = act.ways.iter().position(|way| way.mode == assignment.mode);
        found.map(|way| way.min(255) as u8)
    });
    let way: Vec<u8> = ways.collect::<Option<_>>()?;
    let starts: Vec<f64> = schedule
        .assignments
        .iter()
        .map(|assignment| f64::from(assignment.start))
        .collect();
    let hurry = |(task, data): (usize, &timetable::Task)| {
        let start = schedule.assignments[task].start;
        data.published.is_some_and(|published| start < published.start)
    };
    let hurry = model.problem.tasks().iter().enumerate().map(hurry).collect();
    Some(Recipe { rank: ranks(&starts), way, hurry, parallel: false })
}
