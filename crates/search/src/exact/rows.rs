//! Rows: what the ways that are chosen come to together, and what that may be at most.
//!
//! A row has a weight for each way of some tasks. The sum of the weights of the ways chosen
//! must not exceed a limit: what there is of a stock or, where the weights are what ways use
//! of a resource over their whole work, the greatest capacity times the length; or, where they
//! are how long the tasks of a chain take, the length itself. What each
//! task weighs at least, by the ways that are left to it, bounds the sum; a way that is too
//! heavy beside the least of all others is excluded, and a length that is too short too.
//!
//! Rows may be added up. What is left of one stock and what is left of another may each be
//! enough while the two together are not, and the modes that use least of a crew may be those
//! that there is not money enough for: so pairs of stocks are summed, each by its share, and
//! each resource with the stocks at the [prices](crate::stocks) that prove most.
//!
//! **Explanation.** The ways that are excluded and lighter than what a task now weighs at
//! least; of a sum that is too great as much is left out as it is too great by.
//!
//! Worked case. Two tasks weigh 3 or 8 and 2 or 6, the limit is 10. Together they weigh at
//! least 5; the 8 of the first is excluded beside the 6 of the second only, so once the 2 is
//! excluded, the 8 goes too, and the reason is that single literal.

use super::branch::Choice;
use super::trail::{Lit, Trail, Value};
use crate::model::{Model, Way};
use crate::stocks::{Price, chains, price};

/// Weights and limits stay below this, so that no sum overflows.
const MOST: i128 = 1 << 58;

/// What the sum may be at most.
#[derive(Debug, Clone, Copy)]
struct Limit {
    base: Value,
    /// So much more for each tick of the length.
    slope: Value,
}

/// A task of a row.
#[derive(Debug)]
struct Term {
    /// The variable and the weight of each way, the lightest first.
    ways: Vec<(usize, Value)>,
    /// What it weighs at least now.
    least: Value,
}

/// A row.
#[derive(Debug)]
pub(super) struct Row {
    terms: Vec<Term>,
    limit: Limit,
    /// The variable of the length.
    length: usize,
    /// What all terms weigh at least.
    sum: Value,
    /// The most that a term could still be heavier by than its least.
    spread: Value,
    pending: Vec<usize>,
    is_pending: Vec<bool>,
    /// The limit at the last look; nothing if that look did not come to its end.
    seen: Option<Value>,
}

fn excluded(variable: usize) -> Lit {
    Lit { view: Trail::down(variable), bound: 0 }
}

impl Row {
    /// The variables that each term depends on.
    pub(super) fn variables(&self) -> impl Iterator<Item = (usize, Vec<usize>)> + '_ {
        let of = |term: &Term| term.ways.iter().map(|way| way.0).collect();
        self.terms.iter().enumerate().map(move |(number, term)| (number, of(term)))
    }

    /// The bounds of a term moved.
    #[inline(never)]
    pub(super) fn note(&mut self, term: usize) {
        if !std::mem::replace(&mut self.is_pending[term], true) {
            self.pending.push(term);
        }
    }

    /// Excludes ways that are too heavy, and lengths that are too short.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let most = self.most(trail);
        if self.pending.is_empty() && self.seen == Some(most) {
            return Ok(());
        }
        self.seen = None;
        while let Some(number) = self.pending.pop() {
            self.is_pending[number] = false;
            let term = &mut self.terms[number];
            let open = |way: &&(usize, Value)| trail.high(Trail::up(way.0)) > 0;
            let least = term.ways.iter().find(open).map_or(0, |way| way.1);
            self.sum += least - std::mem::replace(&mut term.least, least);
        }
        self.raise_length(trail)?;
        if self.sum > most {
            let mut because = self.because(self.sum - most - 1, usize::MAX);
            because.extend(self.at_most(trail));
            return Err(because);
        }
        if self.sum + self.spread > most {
            self.exclude(trail, most)?;
        }
        self.seen = Some(most);
        Ok(())
    }

    fn most(&self, trail: &Trail) -> Value {
        if self.limit.slope == 0 {
            return self.limit.base;
        }
        let length = trail.high(Trail::up(self.length)).clamp(0, i64::from(i32::MAX));
        self.limit.base + self.limit.slope * length
    }

    /// That the length is no more than it may be now.
    fn at_most(&self, trail: &Trail) -> Option<Lit> {
        let view = Trail::down(self.length);
        (self.limit.slope > 0).then(|| Lit { view, bound: trail.low(view) })
    }

    /// The length that the least sum needs.
    fn raise_length(&self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let Limit { base, slope } = self.limit;
        if slope == 0 || self.sum <= base {
            return Ok(());
        }
        let length = (self.sum - base + slope - 1) / slope;
        let view = Trail::up(self.length);
        if length <= trail.low(view) {
            return Ok(());
        }
        // Beyond what it may be by one is as good a contradiction as any.
        let length = length.min(trail.high(view).saturating_add(1));
        let enough = base + slope * (length - 1) + 1;
        let because = self.because(self.sum - enough, usize::MAX);
        trail.set_for(Lit { view, bound: length }, &because)
    }

    fn exclude(&self, trail: &mut Trail, most: Value) -> Result<(), Vec<Lit>> {
        for (number, term) in self.terms.iter().enumerate() {
            let room = most - self.sum + term.least;
            for &(variable, weight) in term.ways.iter().rev() {
                if weight <= room {
                    break;
                }
                if trail.high(Trail::up(variable)) == 0 {
                    continue;
                }
                let mut because = self.because(weight - room - 1, number);
                because.extend(self.at_most(trail));
                trail.set_for(excluded(variable), &because)?;
            }
        }
        Ok(())
    }

    /// Why the terms but one weigh together what they do at least, less some slack. Whole
    /// terms are left out first, the lightest; then parts of the others.
    fn because(&self, mut slack: Value, spared: usize) -> Vec<Lit> {
        let mut order: Vec<usize> = (0..self.terms.len())
            .filter(|&term| term != spared && self.terms[term].least > 0)
            .collect();
        order.sort_by_key(|&term| (self.terms[term].least, term));
        let mut because = Vec::new();
        for term in order {
            let Term { ways, least } = &self.terms[term];
            // Down to the lightest weight that still makes the sum great enough.
            let need = least - slack;
            let enough = ways.iter().map(|way| way.1).find(|&weight| weight >= need);
            let enough = if need <= 0 { 0 } else { enough.unwrap_or(*least) };
            slack -= least - enough;
            let lighter = ways.iter().take_while(|way| way.1 < enough);
            because.extend(lighter.map(|way| excluded(way.0)));
        }
        because
    }
}

/// The rows of a model: for its stocks, and where it has some for its resources.
pub(super) fn rows(
    model: &Model,
    choice_of: &[Option<usize>],
    choices: &[Choice],
    length: usize,
) -> Vec<Row> {
    let stocks = &model.stocks;
    if stocks.is_empty() {
        return Vec::new();
    }
    let several = |&task: &usize| {
        choice_of[task].is_some_and(|choice| !choices[choice].ways.is_empty())
    };
    let mut builder = Builder {
        model,
        tasks: (0..model.count()).filter(several).collect(),
        ways: &|task| &choices[choice_of[task].unwrap_or(0)].ways,
        length,
        rows: Vec::new(),
    };
    for (stock, &left) in stocks.left.iter().enumerate() {
        builder.add((left.into(), 0), &|_, way| way.takes[stock].into());
    }
    builder.pairs();
    for resource in 0..model.static_free.len() {
        builder.resource(resource);
    }
    builder.chains();
    builder.rows
}

struct Builder<'a, 'm> {
    model: &'a Model<'m>,
    /// The tasks that have a choice.
    tasks: Vec<usize>,
    /// The variables of their ways.
    ways: &'a dyn Fn(usize) -> &'a [usize],
    length: usize,
    rows: Vec<Row>,
}

/// What a way uses of a resource over its whole work, pauses left out.
fn energy(way: &Way, resource: usize) -> i64 {
    let entry = way.uses.iter().find(|entry| entry.resource == resource);
    entry.map_or(0, |entry| {
        let amount = i64::from(entry.throughout) + i64::from(entry.working);
        amount * i64::from(way.pattern.work())
    })
}

impl Builder<'_, '_> {
    /// Adds a row by the weight of each way, if it can bind and no number is too great.
    fn add(&mut self, limit: (i128, i128), weight: &dyn Fn(usize, &Way) -> i128) {
        let (mut terms, mut base) = (Vec::new(), limit.0);
        let (mut most, mut spread, mut great) = (0_i128, 0_i128, false);
        for &task in &self.tasks {
            let ways = self.model.acts[task].ways.iter();
            let weights: Vec<i128> = ways.map(|way| weight(task, way)).collect();
            let least = weights.iter().copied().min().unwrap_or(0);
            let widest = weights.iter().copied().max().unwrap_or(0) - least;
            base -= least;
            most += widest;
            spread = spread.max(widest);
            great |= widest > MOST;
            let ways = (self.ways)(task).iter().zip(&weights);
            let mut ways: Vec<(usize, Value)> =
                ways.map(|(&way, &weight)| (way, (weight - least) as Value)).collect();
            ways.sort_by_key(|way| (way.1, way.0));
            if widest > 0 {
                terms.push(Term { ways, least: 0 });
            }
        }
        let horizon = i128::from(self.model.problem.horizon());
        great |= most > MOST || base.abs() + limit.1 * horizon > MOST;
        // Below zero from the beginning is what conflicts are for; it says so itself.
        if great || terms.is_empty() || (limit.1 == 0 && most <= base) {
            return;
        }
        let count = terms.len();
        self.rows.push(Row {
            terms,
            limit: Limit { base: base as Value, slope: limit.1 as Value },
            length: self.length,
            sum: 0,
            spread: spread as Value,
            pending: (0..count).collect(),
            is_pending: vec![true; count],
            seen: None,
        });
    }

    /// Each two stocks together, by their shares of what is left.
    fn pairs(&mut self) {
        const SHARE: i128 = 1 << 16;
        let left = &self.model.stocks.left;
        let share = |amount: i64, stock: usize| {
            // Rounded down on the one side and up on the other, the row stays true.
            i128::from(amount) * SHARE / i128::from(left[stock].max(1))
        };
        let count = left.len().min(6);
        for a in 0..count {
            for b in a + 1..count {
                let limit = share(left[a], a) + share(left[b], b);
                let weight =
                    |_: usize, way: &Way| share(way.takes[a], a) + share(way.takes[b], b);
                self.add((limit, 0), &weight);
            }
        }
    }

    /// What is used of a resource against its capacity over the length: by itself, and with
    /// the stocks at the prices that prove most.
    fn resource(&mut self, resource: usize) {
        let model = self.model;
        let peak = model.static_free[resource].most(0, model.problem.horizon().max(1));
        let peak = i128::from(peak.max(0));
        let fixed: i64 = (0..model.count())
            .filter(|&task| model.acts[task].fixed.is_none())
            .filter(|task| !self.tasks.contains(task))
            .filter_map(|task| model.acts[task].ways.first())
            .map(|way| energy(way, resource))
            .sum();
        let base = -i128::from(fixed);
        self.against_length((base, peak), &|_, way| energy(way, resource));
    }

    /// The tasks of the longest chains run one after the other, and so take the length.
    fn chains(&mut self) {
        let model = self.model;
        for chain in chains(model) {
            let sure = chain.tasks.iter().filter(|task| !self.tasks.contains(task));
            let sure = sure.filter_map(|&task| model.acts[task].ways.first());
            let sure: i64 = sure.map(|way| i64::from(way.pattern.work())).sum();
            let early = &model.windows.early;
            let begin = chain.tasks.first().map_or(0, |&task| early[2 * task]);
            let base = -i128::from(sure) - i128::from(chain.lags) - i128::from(begin);
            let work = |task: usize, way: &Way| {
                let inside = chain.tasks.contains(&task);
                if inside { i64::from(way.pattern.work()) } else { 0 }
            };
            self.against_length((base, 1), &work);
        }
    }

    /// A row by itself, and one with the stocks at the prices that prove most.
    fn against_length(
        &mut self,
        (base, slope): (i128, i128),
        value: &dyn Fn(usize, &Way) -> i64,
    ) {
        let model = self.model;
        self.add((base, slope), &|task, way| value(task, way).into());
        let priced = price(model, &self.tasks, value);
        let some = |price: &Price| price.each.iter().any(|&each| each > 0);
        let Some(price) = priced.filter(some) else { return };
        let part = i128::from(price.part);
        let worth = |amounts: &[i64]| -> i128 {
            let paid = amounts.iter().zip(&price.each);
            paid.map(|(&n, &each)| i128::from(n) * i128::from(each)).sum()
        };
        let limit = (base * part + worth(&model.stocks.left), slope * part);
        self.add(limit, &|task, way| {
            i128::from(value(task, way)) * part + worth(&way.takes)
        });
    }
}
