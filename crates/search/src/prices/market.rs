//! What work costs at least where, at every tick, one resource has a price.
//!
//! Time is cut into pieces in which no capacity changes and no calendar opens or closes. In
//! each piece the price is that of one resource, or nothing has a price: then a tick of a
//! use of that resource costs its amount. Of a way to do a task the cost depends on its
//! start alone, and in between it is a sum of straight lines; so the least of it is found
//! by a look at the ticks at which the start or the finish passes a cut.

mod joint;

use std::collections::BTreeMap;

use timetable::{Calendar, Tick};

use self::joint::Joint;
use crate::model::{Act, Model, Way};
use crate::pattern::Pattern;

/// No resource has a price.
pub(super) const NOTHING: usize = usize::MAX;

/// Ways whose work lies in time in the same manner and uses the same.
#[derive(Debug)]
struct Kind<'m> {
    calendar: Option<&'m Calendar>,
    whole: bool,
    /// Open ticks before each cut.
    open: Vec<Tick>,
    /// For each resource that counts what a tick takes of it at work, and in a pause.
    takes: Vec<(i64, i64)>,
    /// The goods of which something may be taken.
    taken: Vec<usize>,
    /// Something is taken in pauses: there the cost jumps.
    pauses: bool,
}

/// Where a job costs least, among other places.
#[derive(Debug, Clone, Copy)]
struct Place {
    cost: i64,
    kind: usize,
    work: Tick,
    /// The open tick at which it starts, counted.
    at: Tick,
}

/// Between two open ticks, counted.
type Stretch = (Tick, Tick);

const EVERYWHERE: Stretch = (0, Tick::MAX);

/// What makes ways alike: the calendar, by its address, whether work is whole, and what it
/// takes.
type Likeness = (usize, bool, Vec<(i64, i64)>);

/// A task that costs something in each of its ways.
#[derive(Debug)]
struct Job {
    task: usize,
    /// Kind and work.
    ways: Vec<(usize, Tick)>,
}

/// The cost of being at work, summed.
#[derive(Debug, Clone)]
struct Sums {
    /// Until each cut, pauses included.
    until: Vec<i64>,
    /// Of an open tick of each piece.
    rate: Vec<i64>,
}

/// Resources with a load that is worth a look, pieces of time, and who uses what.
#[derive(Debug)]
pub(super) struct Market<'m> {
    early: &'m [Tick],
    cuts: Vec<Tick>,
    /// The resources that count: the first goods.
    names: Vec<usize>,
    /// The goods behind them.
    joints: Vec<Joint>,
    /// Capacity by good and piece, nothing where nobody can use it.
    level: Vec<Vec<i64>>,
    kinds: Vec<Kind<'m>>,
    jobs: Vec<Job>,
    /// The jobs of each kind.
    users: Vec<Vec<usize>>,
}

/// The question whether everything can be over by a length, and how it stands.
#[derive(Debug, Clone)]
pub(super) struct Stand {
    pub(super) length: Tick,
    pub(super) late: Vec<Tick>,
    /// The good that has a price in each piece, or [`NOTHING`].
    pub(super) choice: Vec<usize>,
    sums: Vec<Sums>,
    least: Vec<Place>,
    /// What is taken in those places, by good and piece.
    load: Vec<Vec<i64>>,
    /// What everything costs at least; nothing if some task has no place at all.
    needed: Option<i64>,
    there: i64,
}

/// What a change of some choices would lead to.
#[derive(Debug)]
pub(super) struct Trial {
    changes: Vec<(usize, usize)>,
    sums: Vec<(usize, Sums)>,
    least: Vec<(usize, Place)>,
    needed: i64,
    there: i64,
}

impl Stand {
    /// More is needed than there is.
    pub(super) fn refutes(&self) -> bool {
        self.needed.is_none_or(|needed| needed > self.there)
    }

    /// Need against capacity, to be compared by [`tighter`].
    pub(super) fn ratio(&self) -> (i64, i64) {
        (self.needed.unwrap_or(i64::MAX), self.there)
    }
}

impl Trial {
    pub(super) const fn ratio(&self) -> (i64, i64) {
        (self.needed, self.there)
    }
}

/// Whether the first of two ratios is greater. Without any capacity there is nothing to say.
pub(super) fn tighter(a: (i64, i64), b: (i64, i64)) -> bool {
    let product = |x: i64, y: i64| i128::from(x) * i128::from(y);
    a.1 > 0 && product(a.0, b.1) > product(b.0, a.1)
}

impl<'m> Market<'m> {
    /// The market of a model from the origin to a tick.
    pub(super) fn new(model: &'m Model<'m>, end: Tick) -> Self {
        let names = goods(model, end);
        let mut market = Self {
            early: &model.windows.early,
            cuts: cuts(model, &names, end),
            names,
            joints: Vec::new(),
            level: Vec::new(),
            kinds: Vec::new(),
            jobs: Vec::new(),
            users: Vec::new(),
        };
        let mut known = BTreeMap::new();
        for (task, act) in loose(model) {
            let of = |way| market.kind_of(&mut known, way);
            let ways: Vec<(usize, Tick)> = act.ways.iter().map(of).collect();
            let costs = |&(kind, work): &(usize, Tick)| {
                work > 0 && market.kinds[kind].takes.iter().any(|takes| takes.0 > 0)
            };
            if ways.iter().all(costs) {
                market.jobs.push(Job { task, ways });
            }
        }
        market.users = vec![Vec::new(); market.kinds.len()];
        for (number, job) in market.jobs.iter().enumerate() {
            for &(kind, _) in &job.ways {
                if market.users[kind].last() != Some(&number) {
                    market.users[kind].push(number);
                }
            }
        }
        market.level = market.levels(model);
        market.join(model);
        market
    }

    /// How many resources there are to choose from.
    pub(super) const fn goods(&self) -> usize {
        self.level.len()
    }

    /// The number of pieces.
    pub(super) const fn pieces(&self) -> usize {
        self.cuts.len() - 1
    }

    /// Where the last piece ends.
    pub(super) fn end(&self) -> Tick {
        self.cuts[self.pieces()]
    }

    /// Where a piece begins and ends.
    pub(super) fn piece(&self, piece: usize) -> (Tick, Tick) {
        (self.cuts[piece], self.cuts[piece + 1])
    }

    /// The resources that a good is made of.
    pub(super) fn resources(&self, good: usize) -> Vec<usize> {
        match self.names.get(good) {
            Some(&name) => vec![name],
            None if good == NOTHING => Vec::new(),
            None => {
                self.joints[good - self.names.len()].goods().map(|g| self.names[g]).into()
            }
        }
    }

    /// The tasks that cost something.
    pub(super) fn dear(&self, stand: &Stand) -> impl Iterator<Item = usize> {
        let dear = self.jobs.iter().zip(&stand.least).filter(|(_, place)| place.cost > 0);
        dear.map(|(job, _)| job.task)
    }

    /// The capacity of a good that somebody can use in a piece.
    pub(super) fn level(&self, good: usize, piece: usize) -> i64 {
        if good == NOTHING { 0 } else { self.level[good][piece] }
    }

    /// All that is taken of a good by everything, in the first way of each.
    pub(super) fn weight(&self, good: usize) -> i64 {
        let of = |job: &Job| {
            let (kind, work) = job.ways[0];
            self.usual(&self.kinds[kind], good) * i64::from(work)
        };
        self.jobs.iter().map(of).sum()
    }

    fn kind_of(
        &mut self,
        known: &mut BTreeMap<Likeness, usize>,
        way: &Way<'m>,
    ) -> (usize, Tick) {
        let (calendar, whole) = match way.pattern {
            Pattern::Elapsed(_) => (None, false),
            Pattern::Whole(calendar, _) => (Some(calendar), true),
            Pattern::Pausing(calendar, _) => (Some(calendar), false),
        };
        let rests = calendar.is_some() && !whole;
        let takes: Vec<(i64, i64)> = self
            .names
            .iter()
            .map(|&good| {
                let entry = way.uses.iter().find(|entry| entry.resource == good);
                entry.map_or((0, 0), |entry| {
                    let (throughout, working) =
                        (i64::from(entry.throughout), i64::from(entry.working));
                    (throughout + working, if rests { throughout } else { 0 })
                })
            })
            .collect();
        let name = calendar.map_or(0, |calendar| std::ptr::from_ref(calendar).addr());
        let kind = *known.entry((name, whole, takes.clone())).or_insert_with(|| {
            let before = |&cut: &Tick| calendar.map_or(cut, |c| c.open_before(cut));
            let open = self.cuts.iter().map(before).collect();
            let pauses = takes.iter().any(|takes| takes.1 > 0);
            let used = |&good: &usize| takes[good] != (0, 0);
            let taken = (0..takes.len()).filter(used).collect();
            self.kinds.push(Kind { calendar, whole, open, takes, taken, pauses });
            self.kinds.len() - 1
        });
        (kind, way.pattern.work())
    }

    /// Capacity by good and piece, where somebody can use it.
    fn levels(&self, model: &Model) -> Vec<Vec<i64>> {
        let used = |at: usize, piece: usize| {
            self.kinds.iter().zip(&self.users).any(|(kind, users)| {
                let (open, closed) = kind.takes[at];
                !users.is_empty() && if kind.opens(piece) { open > 0 } else { closed > 0 }
            })
        };
        let of = |(at, &good): (usize, &usize)| {
            let free = |piece: usize| {
                let level = model.static_free[good].level(self.cuts[piece]).max(0);
                if used(at, piece) { i64::from(level) } else { 0 }
            };
            (0..self.pieces()).map(free).collect()
        };
        self.names.iter().enumerate().map(of).collect()
    }

    /// How a question stands for a choice; `late` are the latest times that it implies.
    pub(super) fn stand(
        &self,
        choice: Vec<usize>,
        length: Tick,
        late: Vec<Tick>,
    ) -> Stand {
        let sums: Vec<Sums> =
            self.kinds.iter().map(|kind| self.sums(kind, &choice)).collect();
        let there = (0..self.pieces())
            .map(|piece| self.amount(choice[piece], piece, length))
            .sum();
        let load = vec![vec![0; self.pieces()]; self.goods()];
        let mut stand = Stand {
            length,
            late,
            choice,
            sums,
            least: Vec::new(),
            load,
            needed: None,
            there,
        };
        let least: Option<Vec<Place>> = self
            .jobs
            .iter()
            .map(|job| self.least(job, &stand.late, |kind| &stand.sums[kind]))
            .collect();
        let costs = least.iter().flatten().map(|place| place.cost);
        stand.needed = least.is_some().then(|| costs.sum());
        stand.least = least.unwrap_or_default();
        for place in &stand.least {
            self.book(&mut stand.load, place, 1);
        }
        stand
    }

    /// Adds to the load what is taken in a place, or takes it away.
    fn book(&self, load: &mut [Vec<i64>], place: &Place, sign: i64) {
        let kind = &self.kinds[place.kind];
        let (from, until) = (place.at, place.at + place.work);
        let first = kind.open.partition_point(|&cut| cut <= from) - 1;
        let pieces = kind.open.windows(2).enumerate().skip(first);
        for (piece, ends) in pieces.take_while(|(_, ends)| ends[0] < until) {
            let (begins, ends) = (ends[0], ends[1]);
            let all = i64::from(self.cuts[piece + 1] - self.cuts[piece]);
            let open = i64::from(ends.min(until) - begins.max(from));
            for &good in &kind.taken {
                let (at_work, resting) = self.rates(kind, good, piece);
                let taken = if begins < ends { at_work * open } else { resting * all };
                load[good][piece] += sign * taken;
            }
        }
    }

    /// What other choices can lead to at best, as a ratio: nothing that they would cost is
    /// less than in other places.
    pub(super) fn hope(&self, stand: &Stand, changes: &[(usize, usize)]) -> (i64, i64) {
        let (mut needed, mut there) = stand.ratio();
        let load =
            |good: usize, piece: usize| stand.load.get(good).map_or(0, |l| l[piece]);
        for &(piece, good) in changes {
            let now = stand.choice[piece];
            needed += load(good, piece) - load(now, piece);
            there += self.amount(good, piece, stand.length)
                - self.amount(now, piece, stand.length);
        }
        (needed, there)
    }

    /// What there is of a good in a piece, until a length.
    fn amount(&self, good: usize, piece: usize, length: Tick) -> i64 {
        let ticks = self.cuts[piece + 1].min(length) - self.cuts[piece];
        self.level(good, piece) * i64::from(ticks.max(0))
    }

    /// What other choices in some pieces would lead to; nothing if that changes nothing.
    pub(super) fn attempt(
        &self,
        stand: &Stand,
        changes: Vec<(usize, usize)>,
    ) -> Option<Trial> {
        let mut needed = stand.needed?;
        let mut choice = stand.choice.clone();
        let mut there = stand.there;
        for &(piece, good) in &changes {
            there += self.amount(good, piece, stand.length)
                - self.amount(choice[piece], piece, stand.length);
            choice[piece] = good;
        }
        let mut sums: Vec<Option<Sums>> = vec![None; self.kinds.len()];
        // Of each kind the open ticks between which its cost changes.
        let mut stretches: Vec<Stretch> = vec![EVERYWHERE; self.kinds.len()];
        let mut moved: Vec<usize> = Vec::new();
        for (number, kind) in self.kinds.iter().enumerate() {
            let differs = |&&(piece, good): &&(usize, usize)| {
                self.rates(kind, stand.choice[piece], piece)
                    != self.rates(kind, good, piece)
            };
            let ends = || changes.iter().filter(differs).map(|change| change.0);
            if let (Some(first), Some(last)) = (ends().min(), ends().max()) {
                sums[number] = Some(self.sums(kind, &choice));
                stretches[number] = (kind.open[first], kind.open[last + 1]);
                moved.extend(&self.users[number]);
            }
        }
        moved.sort_unstable();
        moved.dedup();
        let mut least = Vec::with_capacity(moved.len());
        for job in moved {
            let of = |kind: usize| sums[kind].as_ref().unwrap_or(&stand.sums[kind]);
            let old = stand.least[job];
            let place = self.moved(&self.jobs[job], &stand.late, of, &stretches, old)?;
            needed += place.cost - old.cost;
            least.push((job, place));
        }
        let sums = sums.into_iter().enumerate();
        let sums = sums.filter_map(|(kind, sums)| Some((kind, sums?))).collect();
        Some(Trial { changes, sums, least, needed, there })
    }

    /// Takes a change over.
    pub(super) fn take(&self, stand: &mut Stand, trial: Trial) {
        for (piece, good) in trial.changes {
            stand.choice[piece] = good;
        }
        for (kind, sums) in trial.sums {
            stand.sums[kind] = sums;
        }
        for (job, place) in trial.least {
            self.book(&mut stand.load, &stand.least[job], -1);
            self.book(&mut stand.load, &place, 1);
            stand.least[job] = place;
        }
        stand.needed = Some(trial.needed);
        stand.there = trial.there;
    }

    /// The least that a job costs when costs change in some stretches. If the old place lies
    /// outside of them it costs what it did, and so do all the others out there.
    fn moved<'s>(
        &self,
        job: &Job,
        late: &[Tick],
        sums: impl Fn(usize) -> &'s Sums,
        stretches: &[Stretch],
        old: Place,
    ) -> Option<Place> {
        let &[(kind, work)] = &job.ways[..] else {
            return self.least(job, late, sums);
        };
        let (from, until) = stretches[kind];
        if old.at <= until && old.at + work >= from {
            return self.least(job, late, sums);
        }
        let near = (from - work, until);
        let window = self.window(job, late);
        let found = self.kinds[kind].least(sums(kind), work, window, near);
        let (cost, at) =
            found.filter(|found| found.0 < old.cost).unwrap_or((old.cost, old.at));
        Some(Place { cost, kind, work, at })
    }

    /// The earliest and latest start of a job, and its latest finish.
    fn window(&self, job: &Job, late: &[Tick]) -> (Tick, Tick, Tick) {
        let (start, finish) = (2 * job.task, 2 * job.task + 1);
        (self.early[start], late[start], late[finish])
    }

    /// The least that a job costs in its window, in any of its ways.
    fn least<'s>(
        &self,
        job: &Job,
        late: &[Tick],
        sums: impl Fn(usize) -> &'s Sums,
    ) -> Option<Place> {
        let window = self.window(job, late);
        let places = job.ways.iter().filter_map(|&(kind, work)| {
            let found = self.kinds[kind].least(sums(kind), work, window, EVERYWHERE);
            let (cost, at) = found?;
            Some(Place { cost, kind, work, at })
        });
        places.min_by_key(|place| place.cost)
    }

    /// The cost of work of a kind, summed.
    fn sums(&self, kind: &Kind, choice: &[usize]) -> Sums {
        let mut sums = Sums {
            until: Vec::with_capacity(self.cuts.len()),
            rate: Vec::with_capacity(self.cuts.len()),
        };
        let mut sum = 0;
        for (piece, &good) in choice.iter().enumerate() {
            let (open, closed) = self.rates(kind, good, piece);
            let ticks = i64::from(self.cuts[piece + 1] - self.cuts[piece]);
            sums.until.push(sum);
            sums.rate.push(open);
            sum += (open + closed) * ticks;
        }
        sums.until.push(sum);
        sums
    }
}

impl Kind<'_> {
    /// Whether work goes on in a piece.
    fn opens(&self, piece: usize) -> bool {
        self.open[piece + 1] > self.open[piece]
    }

    /// The least that work costs, if it starts between two open ticks and in a window: its
    /// earliest and latest start and its latest
    /// finish; and where that is. Nothing if there is no room for it.
    fn least(
        &self,
        sums: &Sums,
        work: Tick,
        (early, late, end): (Tick, Tick, Tick),
        near: Stretch,
    ) -> Option<(i64, Tick)> {
        let before = |tick: Tick| self.calendar.map_or(tick, |c| c.open_before(tick));
        let low = before(early).max(near.0);
        let high = (before(late + 1) - 1).min(before(end) - work).min(near.1);
        let Some(calendar) = self.calendar.filter(|_| self.whole) else {
            return self.scan(sums, work, low, high);
        };
        let windows = &calendar.windows()[calendar.position_at_or_after(early)..];
        let places = windows.iter().take_while(|window| window.from <= late);
        places
            .filter_map(|window| {
                let (from, until) = (before(window.from), before(window.until) - work);
                self.scan(sums, work, from.max(low), until.min(high))
            })
            .min()
    }

    /// The least cost of work that starts between two open ticks, counted, and where.
    fn scan(
        &self,
        sums: &Sums,
        work: Tick,
        low: Tick,
        high: Tick,
    ) -> Option<(i64, Tick)> {
        if low > high {
            return None;
        }
        let open = &self.open;
        let last = open.len() - 2;
        // The piece of the first open tick, and of the last.
        let mut left = open.partition_point(|&cut| cut <= low) - 1;
        let mut right = open.partition_point(|&cut| cut < low + work) - 1;
        let (mut at, mut least) = (low, (i64::MAX, low));
        loop {
            let until = |piece: usize, tick: Tick| {
                let ticks = i64::from(tick - open[piece]);
                sums.until[piece] + sums.rate[piece] * ticks
            };
            least = least.min((until(right, at + work) - until(left, at), at));
            if at >= high {
                return Some(least);
            }
            let (start, finish) = (open[left + 1] - at, open[right + 1] - (at + work));
            // Where the cost jumps, the ticks on both sides of a cut are looked at.
            let step =
                if self.pauses { finish.min(start - 1) } else { finish.min(start) };
            at += step.clamp(1, high - at);
            while left < last && open[left + 1] <= at {
                left += 1;
            }
            while right < last && open[right + 1] < at + work {
                right += 1;
            }
        }
    }
}

/// The tasks that are not fixed.
fn loose<'a, 'm>(model: &'a Model<'m>) -> impl Iterator<Item = (usize, &'a Act<'m>)> {
    model.acts.iter().enumerate().filter(|(_, act)| act.fixed.is_none())
}

/// The resources that are used to some part of what there is of them.
fn goods(model: &Model, end: Tick) -> Vec<usize> {
    /// Less than one part in so many is no load.
    const PARTS: i64 = 20;
    /// More than so much of something is never scarce, and sums stay small.
    const PEAK: i32 = 1 << 20;
    let mut load = vec![0_i64; model.static_free.len()];
    for way in loose(model).filter_map(|(_, act)| act.ways.first()) {
        for entry in &way.uses {
            let amount = i64::from(entry.throughout) + i64::from(entry.working);
            let taken = amount.saturating_mul(i64::from(way.pattern.work()));
            load[entry.resource] = load[entry.resource].saturating_add(taken);
        }
    }
    let scarce = |&good: &usize| {
        let free = &model.static_free[good];
        let ends = free.segments().skip(1).map(|(from, _)| from).chain([end]);
        let parts = free.segments().zip(ends).map(|((from, level), until)| {
            i64::from(level.max(0)) * i64::from((until.min(end) - from).max(0))
        });
        let peak = free.segments().map(|(_, level)| level).max().unwrap_or(0);
        peak <= PEAK && load[good].saturating_mul(PARTS) > parts.sum()
    };
    (0..load.len()).filter(scarce).collect()
}

/// Where a capacity changes, or a calendar opens or closes.
fn cuts(model: &Model, goods: &[usize], end: Tick) -> Vec<Tick> {
    let mut calendars: Vec<&Calendar> = Vec::new();
    for way in loose(model).flat_map(|(_, act)| &act.ways) {
        if let Pattern::Pausing(calendar, _) | Pattern::Whole(calendar, _) = way.pattern
            && !calendars.iter().any(|known| std::ptr::eq(*known, calendar))
        {
            calendars.push(calendar);
        }
    }
    let windows = calendars.iter().flat_map(|calendar| calendar.windows());
    let mut cuts: Vec<Tick> = vec![0, end.max(1)];
    cuts.extend(windows.flat_map(|window| [window.from, window.until]));
    for &good in goods {
        cuts.extend(model.static_free[good].segments().map(|(from, _)| from));
    }
    cuts.retain(|&cut| (0..=end.max(1)).contains(&cut));
    cuts.sort_unstable();
    cuts.dedup();
    cuts
}

#[cfg(test)]
mod tests {
    use crate::model::for_each_use;
    use crate::sample;

    use super::*;

    /// What a place costs, tick by tick.
    fn cost(market: &Market, choice: &[usize], way: &Way, span: (Tick, Tick)) -> i64 {
        let mut taken = vec![vec![0; (span.1 - span.0) as usize]; market.names.len()];
        for_each_use(way, span, |resource, stretch, amount| {
            if let Some(good) = market.names.iter().position(|&name| name == resource) {
                for tick in stretch.0..stretch.1 {
                    taken[good][(tick - span.0) as usize] += i64::from(amount);
                }
            }
        });
        let ticks = (span.0..span.1).enumerate();
        ticks
            .map(|(at, tick)| {
                let piece = market.cuts.partition_point(|&cut| cut <= tick) - 1;
                match choice.get(piece) {
                    None | Some(&NOTHING) => 0,
                    Some(&good) if good < market.names.len() => taken[good][at],
                    Some(&good) => {
                        let joint = &market.joints[good - market.names.len()];
                        let of = |[inner, outer]: [usize; 2], spare: i64| {
                            taken[inner][at].max(taken[outer][at] - spare)
                        };
                        joint.spare(piece).map_or(0, |spare| of(joint.goods(), spare))
                    }
                }
            })
            .sum()
    }

    #[test]
    fn the_least_cost_is_that_of_the_cheapest_place() {
        let (mut seen, mut joints) = (0, 0);
        for seed in 0..6_000 {
            let drawn = if seed % 3 < 2 { sample::problem } else { sample::nested };
            let problem = drawn(seed, 5, 40);
            let model = Model::new(&problem);
            if model.windows.failed.is_some() {
                continue;
            }
            let length = problem.horizon() - (seed % 9) as Tick;
            let market = Market::new(&model, length);
            let late = crate::windows::backward(&model, Some(length));
            let other =
                |piece: usize| (seed as usize * 7 + piece * 5) % market.goods().max(4);
            joints += market.joints.len();
            let choice: Vec<usize> =
                (0..market.pieces())
                    .map(|piece| {
                        if other(piece) < market.goods() { other(piece) } else { NOTHING }
                    })
                    .collect();
            let stand = market.stand(choice.clone(), length, late.clone());
            for (job, place) in market.jobs.iter().zip(&stand.least) {
                let act = &model.acts[job.task];
                let (early, end) =
                    (model.windows.early[2 * job.task], late[2 * job.task + 1]);
                let starts = early..=late[2 * job.task];
                let places = act.ways.iter().flat_map(|way| {
                    let spans = starts.clone().filter_map(|start| {
                        way.pattern.after(start).filter(|span| span.0 == start)
                    });
                    let inside = spans.filter(|span| span.1 <= end);
                    inside
                        .map(|span| cost(&market, &choice, way, span))
                        .collect::<Vec<_>>()
                });
                assert_eq!(Some(place.cost), places.min(), "seed {seed} {problem:#?}");
                seen += 1;
            }
            // Changes lead where a new look at everything would.
            let changes: Vec<(usize, usize)> = (0..market.pieces())
                .filter(|piece| (seed as usize + piece).is_multiple_of(3))
                .map(|piece| (piece, other(piece + 1)))
                .filter(|change| change.1 < market.goods())
                .collect();
            let mut changed = stand.clone();
            if let Some(trial) = market.attempt(&stand, changes.clone()) {
                let hope = market.hope(&stand, &changes);
                assert!(hope.0 >= trial.ratio().0 && hope.1 == trial.ratio().1);
                market.take(&mut changed, trial);
            }
            let again = market.stand(changed.choice.clone(), length, late);
            assert_eq!(changed.ratio(), again.ratio(), "seed {seed}");
        }
        assert!(seen > 1_000 && joints > 150, "{seen} {joints} are too few");
    }
}
