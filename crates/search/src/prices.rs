//! A bound on the length: now this resource counts, now that one.
//!
//! [Energy](crate::energy) looks at one resource all the time. But a season has hours in which
//! one trade is short and hours in which another one is: an electrician who comes on
//! Saturdays only helps nobody on a Monday. So, for each stretch of time, choose one
//! resource, or none, and give it a price there. Every task has a least cost, over all its
//! ways and all the starts that its window allows; its work lies in one piece, so only
//! part of it fits into the hours that cost little. If the sum of the least costs exceeds the
//! price of all that there is, there is no lawful schedule.
//!
//! Any choice proves something. Which one proves much is found by climbing: from one
//! resource all the time to another one where there is little more of it, first
//! everywhere, then in stretches from the front and from the back, then day by day. When a
//! length is refuted, a longer one is asked for.
//!
//! A resource inside another one counts together with it as a resource more, which sees that
//! hands can't be divided (`market::joint`).
//!
//! Worked case. Days of 8 ticks. On the first and the third day there are three hands, one of
//! them an electrician, on the second and the fourth one hand only. Nine tasks of 5 ticks
//! need a hand, and so does one of 12 ticks of electrics, which anybody can do; but the
//! electrician does nothing else, so the nine have two hands, one, two, one. Together that
//! is 57, and in four days there are 64 of all hands; the nine alone are 45 of 48. But count all
//! hands on the even days and those without the electrician on the odd ones: 48 again. At
//! least 4 ticks of electrics lie on an even day; 45 and 4 are too many.
//!
//! Source: this is the dual of a relaxation in which each task chooses its start freely and
//! capacities are kept on average. R. H. Möhring, A. S. Schulz, F. Stork, M. Uetz, *Solving
//! project scheduling problems by minimum cut computations*, Management Science 49 (2003)
//! 330-350, price resources tick by tick (from memory). Here windows stand in for the order
//! of the tasks, and prices are whole, so that a proof is exact.

mod market;

use std::collections::BTreeSet;

use timetable::Tick;

use self::market::{Market, NOTHING, Stand, tighter};
use crate::model::Model;
use crate::windows::backward;

/// The climb.
#[derive(Debug)]
pub(crate) struct Prices<'m> {
    model: &'m Model<'m>,
    market: Market<'m>,
    stand: Stand,
    /// Each good that was looked at alone so far, and what that shows, until all were.
    singles: Vec<(usize, (i64, i64))>,
    /// The goods that are most worth looking at.
    top: Vec<usize>,
    /// All that is taken of each good.
    weights: Vec<i64>,
    /// Pieces that belong together, such as a morning and an afternoon.
    days: Vec<(usize, usize)>,
    moves: Vec<Move>,
    phase: Phase,
    /// Something changed since the first phase was begun.
    gained: bool,
    /// No lawful schedule is shorter.
    pub(crate) proven: Tick,
    /// The market has to go on to later ticks.
    widens: bool,
    /// Questions asked so far.
    steps: u64,
    /// There is nothing more to try.
    pub(crate) done: bool,
}

/// What is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    /// One resource all the time.
    Singles,
    /// One resource for another, everywhere.
    Swaps,
    /// The same in stretches from the front and from the back.
    Stretches,
    /// One day after the other.
    Days,
}

/// Another choice in some pieces.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Move {
    pieces: (usize, usize),
    /// Only where this is chosen, if given.
    from: Option<usize>,
    /// Only where the level rises by so much at most.
    rise: i64,
    to: usize,
}

impl<'m> Prices<'m> {
    /// A climb from a proven bound; nothing if the problem is too large.
    pub(crate) fn new(model: &'m Model<'m>, proven: Tick) -> Option<Self> {
        const LARGEST: usize = 5_000;
        let horizon = model.problem.horizon();
        if model.count() > LARGEST || proven >= horizon {
            return None;
        }
        let end = proven.saturating_add(proven / 4 + 1).min(horizon);
        Some(Self::within(model, proven, end))
    }

    /// The same, where nothing later than a tick is asked for.
    pub(crate) fn within(model: &'m Model<'m>, proven: Tick, end: Tick) -> Self {
        let market = Market::new(model, end);
        let nothing = vec![NOTHING; market.pieces()];
        let stand = market.stand(nothing, proven, backward(model, Some(proven)));
        Self {
            model,
            stand,
            singles: Vec::new(),
            top: Vec::new(),
            weights: (0..market.goods()).map(|good| market.weight(good)).collect(),
            days: Vec::new(),
            market,
            moves: Vec::new(),
            phase: Phase::Singles,
            gained: true,
            proven,
            widens: false,
            steps: 0,
            done: false,
        }
    }

    /// The resources that have a price somewhere.
    pub(crate) fn resources(&self) -> BTreeSet<usize> {
        let goods: BTreeSet<usize> = self.stand.choice.iter().copied().collect();
        goods.into_iter().flat_map(|good| self.market.resources(good)).collect()
    }

    /// The tasks that cost something at these prices, wherever they lie.
    pub(crate) fn tasks(&self) -> BTreeSet<usize> {
        self.market.dear(&self.stand).collect()
    }

    /// Climbs until so many questions are asked or `halt` says so.
    pub(crate) fn run(&mut self, budget: u64, halt: &dyn Fn() -> bool) {
        /// Far more than a season of a thousand tasks takes.
        const MOST: u64 = 20_000;
        let end = self.steps.saturating_add(budget).min(MOST);
        while self.steps < end && !self.done && !halt() {
            if self.widens {
                self.widen();
            }
            match (self.moves.pop(), self.phase) {
                (Some(step), _) => self.attempt(step),
                (None, Phase::Singles) => self.singles(halt),
                (None, _) => self.turn(),
            }
        }
        self.done |= self.steps >= MOST;
    }

    /// Begins anew with what lies twice as far off.
    fn widen(&mut self) {
        let horizon = self.model.problem.horizon();
        let end = self.market.end().saturating_mul(2).min(horizon);
        let steps = self.steps;
        *self = Self { steps, ..Self::within(self.model, self.proven, end) };
    }

    /// One resource all the time: which proves most, and which come near it?
    fn singles(&mut self, halt: &dyn Fn() -> bool) {
        const TOP: usize = 20;
        for good in self.singles.len()..self.market.goods() {
            if halt() {
                return;
            }
            let ratio = self.at(self.alone(good), self.proven).ratio();
            self.singles.push((good, ratio));
        }
        let mut singles = std::mem::take(&mut self.singles);
        // What is not loaded to a half has nothing to say.
        singles.retain(|&(_, ratio)| tighter(ratio, (1, 2)));
        singles.sort_by(|&(_, a), &(_, b)| tighter(b, a).cmp(&tighter(a, b)));
        singles.truncate(TOP);
        self.top = singles.into_iter().map(|single| single.0).collect();
        self.days = days(&self.market, &self.top);
        self.done = self.top.is_empty();
        for number in 0..self.top.len() {
            let choice = self.alone(self.top[number]);
            let stand = self.at(choice, self.stand.length);
            if number == 0 || stand.refutes() {
                self.stand = stand;
                self.climb();
            }
        }
        self.turn();
    }

    /// The choice of one good wherever there is any of it.
    fn alone(&self, good: usize) -> Vec<usize> {
        let there = |piece| self.market.level(good, piece) > 0;
        let pieces = 0..self.market.pieces();
        pieces.map(|piece| if there(piece) { good } else { NOTHING }).collect()
    }

    fn at(&mut self, choice: Vec<usize>, length: Tick) -> Stand {
        self.steps += 1;
        self.market.stand(choice, length, backward(self.model, Some(length)))
    }

    /// If what is chosen refutes a length: up to which one?
    fn climb(&mut self) {
        if !self.stand.refutes() {
            return;
        }
        let last = self.market.end();
        let (mut low, mut stride) = (self.stand.length, 1);
        let mut high = loop {
            let length = low.saturating_add(stride).min(last);
            let stand = self.at(self.stand.choice.clone(), length);
            if !stand.refutes() {
                break stand;
            }
            low = length;
            if length == last {
                break stand;
            }
            stride = stride.saturating_mul(2);
        };
        while high.length - low > 1 {
            let middle = low + (high.length - low) / 2;
            let stand = self.at(self.stand.choice.clone(), middle);
            if stand.refutes() { low = middle } else { high = stand }
        }
        self.proven = self.proven.max(low + 1);
        // Refuted as far as the market goes: there is more to ask beyond.
        self.widens = low == last && last < self.model.problem.horizon();
        self.done |= low == last && !self.widens;
        self.stand = high;
    }

    /// Makes a move, if it is worth it.
    fn attempt(&mut self, step: Move) {
        let changes = self.changes(step);
        if changes.is_empty() {
            return;
        }
        let ratio = self.stand.ratio();
        let hope = self.market.hope(&self.stand, &changes);
        // As much of a resource of which more is taken: that gains together with others.
        let sideways = changes.iter().all(|&(piece, good)| {
            let now = self.stand.choice[piece];
            now != NOTHING
                && good != NOTHING
                && self.market.level(now, piece) == self.market.level(good, piece)
                && self.weights[good] > self.weights[now]
        });
        let enough = |value| tighter(value, ratio) || sideways && !tighter(ratio, value);
        if !enough(hope) {
            return;
        }
        self.steps += 1;
        if let Some(trial) = self.market.attempt(&self.stand, changes)
            && enough(trial.ratio())
        {
            self.market.take(&mut self.stand, trial);
            self.gained = true;
        }
    }

    /// The pieces in which a move changes the choice.
    fn changes(&self, step: Move) -> Vec<(usize, usize)> {
        let market = &self.market;
        let fits = |&piece: &usize| {
            let now = self.stand.choice[piece];
            let level = market.level(step.to, piece);
            step.from.is_none_or(|from| from == now)
                && now != step.to
                && (step.to == NOTHING || level > 0)
                && level - market.level(now, piece) <= step.rise
        };
        let pieces = step.pieces.0..step.pieces.1;
        let begun = |&piece: &usize| market.piece(piece).0 < self.stand.length;
        pieces.take_while(begun).filter(fits).map(|piece| (piece, step.to)).collect()
    }

    /// A phase is over: what comes next?
    fn turn(&mut self) {
        self.climb();
        if self.done {
            return;
        }
        self.phase = match self.phase {
            Phase::Swaps => Phase::Stretches,
            Phase::Stretches => Phase::Days,
            Phase::Singles | Phase::Days => Phase::Swaps,
        };
        self.moves = match self.phase {
            Phase::Singles => Vec::new(),
            Phase::Swaps => {
                self.done = !std::mem::take(&mut self.gained);
                self.swaps(&[(0, self.market.pieces())])
            }
            Phase::Stretches => self.swaps(&self.stretches()),
            Phase::Days => self.by_day(),
        };
        self.moves.reverse();
    }

    /// One resource for another in some stretches, where it rises by little first.
    fn swaps(&self, stretches: &[(usize, usize)]) -> Vec<Move> {
        const RISES: usize = 6;
        let choice = &self.stand.choice;
        let mut moves = Vec::new();
        for &pieces in stretches {
            let mut active = choice[pieces.0..pieces.1].to_vec();
            active.sort_unstable();
            active.dedup();
            for &from in &active {
                let step = |to, rise| Move { pieces, from: Some(from), rise, to };
                moves.push(step(NOTHING, i64::MAX));
                for &to in self.top.iter().filter(|&&to| to != from) {
                    let level = |good, piece| self.market.level(good, piece);
                    let mut rises: Vec<i64> = (pieces.0..pieces.1)
                        .filter(|&piece| choice[piece] == from && level(to, piece) > 0)
                        .map(|piece| level(to, piece) - level(from, piece))
                        .collect();
                    rises.sort_unstable();
                    rises.dedup();
                    rises.truncate(RISES);
                    moves.extend(rises.into_iter().map(|rise| step(to, rise)));
                }
            }
        }
        moves
    }

    /// The days that begin before the length.
    fn days_left(&self) -> &[(usize, usize)] {
        let begun = |day: &(usize, usize)| self.market.piece(day.0).0 < self.stand.length;
        &self.days[..self.days.partition_point(begun)]
    }

    /// Stretches from the front and from the back.
    fn stretches(&self) -> Vec<(usize, usize)> {
        const PARTS: usize = 12;
        let days = self.days_left();
        let mut stretches: Vec<(usize, usize)> = (1..PARTS)
            .filter_map(|part| days.get(days.len() * part / PARTS))
            .flat_map(|day| [(0, day.0), (day.0, self.market.pieces())])
            .filter(|stretch| stretch.0 < stretch.1)
            .collect();
        stretches.dedup();
        stretches
    }

    fn by_day(&self) -> Vec<Move> {
        let goods = || self.top.iter().copied().chain([NOTHING]);
        let of = |&pieces: &(usize, usize)| {
            goods().map(move |to| Move { pieces, from: None, rise: i64::MAX, to })
        };
        self.days_left().iter().flat_map(of).collect()
    }
}

/// Pieces that belong together: what is closed between two of them is no longer than the
/// first of them.
fn days(market: &Market, goods: &[usize]) -> Vec<(usize, usize)> {
    const MOST: usize = 500;
    let used = |&piece: &usize| goods.iter().any(|&good| market.level(good, piece) > 0);
    let mut days: Vec<(usize, usize)> = Vec::new();
    for piece in (0..market.pieces()).filter(used) {
        let from = market.piece(piece).0;
        match days.last_mut() {
            Some(day) if near(market.piece(day.1 - 1), from) => day.1 = piece + 1,
            _ => days.push((piece, piece + 1)),
        }
    }
    let chunk = days.len().div_ceil(MOST).max(1);
    days.chunks(chunk).map(|days| (days[0].0, days[days.len() - 1].1)).collect()
}

/// Whether a piece that begins at a tick belongs to the one before. Without any break each
/// is a day of its own.
const fn near(last: (Tick, Tick), from: Tick) -> bool {
    last.1 < from && from - last.1 <= last.1 - last.0
}

#[cfg(test)]
mod tests {
    use timetable::{
        Calendar, CalendarId, Demand, Mode, Pace, Problem, Profile, Resource, ResourceId,
        Task, Window,
    };

    use super::*;

    /// A problem of the worked case: days of 24 ticks, with work in the first 8.
    fn electrics(general: usize) -> Problem {
        let day = |day: Tick| Window { from: 24 * day, until: 24 * day + 8 };
        let shifts = Calendar::new("shifts", (0..9).map(day).collect()).unwrap();
        let crew = |name: &str, odd: u32| {
            let number = |day: Tick| if day % 2 == 0 { odd } else { 1 };
            let levels =
                (0..9).flat_map(|day| [(24 * day, number(day)), (24 * day + 8, 0)]);
            let capacity = Profile::new(levels.collect()).unwrap();
            Resource { name: name.to_owned(), capacity }
        };
        let task = |work: Tick, crews: &[u32]| {
            let demands =
                crews.iter().map(|&crew| Demand::working(ResourceId(crew), 1)).collect();
            let pace = Pace::Pausing(CalendarId(0));
            Task::new("t", Mode { pace, ..Mode::elapsed(work, demands) })
        };
        let mut tasks = vec![task(5, &[0, 1]); general];
        tasks.push(task(12, &[0]));
        let crews = vec![crew("hands", 3), crew("no electricians", 2)];
        Problem::new(24 * 9, tasks, crews, vec![shifts], vec![], vec![]).unwrap()
    }

    fn proven(problem: &Problem, from: Tick) -> Tick {
        let model = Model::new(problem);
        let mut prices = Prices::new(&model, from).unwrap();
        prices.run(u64::MAX, &|| false);
        prices.proven
    }

    #[test]
    fn the_worked_case() {
        // The nine alone take two days and a half, and 5 ticks of the fourth.
        assert_eq!(crate::bounds::bound(&Model::new(&electrics(9))).length, 77);
        assert_eq!(proven(&electrics(9), 77), 24 * 4 + 1);
        // Eight leave the 4 ticks that electrics needs, but not before the fourth day.
        assert_eq!(proven(&electrics(8), 66), 76);
    }
}
