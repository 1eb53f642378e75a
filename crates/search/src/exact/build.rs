//! From a problem made ready to variables, lags, uses and sums.

use timetable::{Calendar, Due, Published, Tick};

use super::axis::{Axis, Curve, Event, Network, Slots};
use super::branch::Choice;
use super::cumulative::{Cumulative, Use};
use super::goal::{Sum, Term};
use super::rows::{Row, rows};
use super::split::Split;
use super::trail::{Lit, Trail, Value};
use crate::arc::{Lag, Node, is_finish, task_of};
use crate::model::{Act, Model};
use crate::pattern::Pattern;
use crate::steps::FAR;

/// The variable that is 0; events that are fixed lie on it.
const ZERO: usize = 0;
/// The variables of the levels of the objective.
pub(super) const LEVELS: [usize; 3] = [1, 2, 3];

/// A problem as the exact search sees it.
pub(super) struct Built<'m> {
    pub(super) trail: Trail<'m>,
    pub(super) resources: Vec<Cumulative<'m>>,
    pub(super) splits: Vec<Split<'m>>,
    pub(super) sums: Vec<Sum>,
    pub(super) rows: Vec<Row>,
    pub(super) choices: Vec<Choice>,
    /// The choice of each task that is not fixed.
    pub(super) choice_of: Vec<Option<usize>>,
    /// Whether something is left for every variable.
    pub(super) possible: bool,
}

struct Builder<'m> {
    model: &'m Model<'m>,
    network: Network<'m>,
    variables: usize,
    splits: Vec<Split<'m>>,
    choices: Vec<Choice>,
    choice_of: Vec<Option<usize>>,
    /// Where each occupancy begins, as far as it is judged.
    begins: Vec<Event>,
    /// Slots that were counted already: the calendar, and the work for which it is shrunk.
    known: Vec<(&'m Calendar, Tick, u32)>,
}

/// Puts the parts together.
pub(super) fn build<'m>(model: &'m Model<'m>) -> Built<'m> {
    let mut builder = Builder {
        model,
        network: Network::default(),
        variables: LEVELS.len() + 1,
        splits: Vec::new(),
        choices: Vec::new(),
        choice_of: vec![None; model.count()],
        begins: Vec::new(),
        known: Vec::new(),
    };
    builder.events();
    let length = builder.network.axes.len();
    builder.network.axes.push(Axis::shifted(LEVELS[2], 0));
    builder.curves(length);
    builder.holds();
    builder.finish()
}

impl<'m> Builder<'m> {
    /// Two events for each task.
    fn events(&mut self) {
        for (task, act) in self.model.acts.iter().enumerate() {
            if let Some(fixed) = act.fixed {
                for tick in [fixed.start, fixed.finish] {
                    self.network.axes.push(Axis::shifted(ZERO, tick));
                }
                continue;
            }
            let ways =
                if self.is_split(task) { self.split(act) } else { self.joint(act) };
            let data = &self.model.problem.tasks()[task];
            let wish = data.published.filter(|published| published.weight > 0);
            self.choice_of[task] = Some(self.choices.len());
            let wish = wish.map(|published| published.start);
            self.choices.push(Choice { start: 2 * task, ways, wish });
        }
    }

    /// Whether start and finish of a task need a variable each.
    fn is_split(&self, task: usize) -> bool {
        let act = &self.model.acts[task];
        let still = |&arc: &usize| {
            let arc = &self.model.arcs[arc];
            let ahead = !is_finish(arc.from) && is_finish(arc.to);
            ahead
                && matches!(arc.lag, Lag::Elapsed(lag) if lag <= act.ways[0].pattern.work())
        };
        act.ways.len() > 1 || !self.model.own[task].iter().all(still)
    }

    fn variable(&mut self) -> usize {
        self.variables += 1;
        self.variables - 1
    }

    fn split(&mut self, act: &Act<'m>) -> Vec<usize> {
        let (start, finish) = (self.network.axes.len(), self.network.axes.len() + 1);
        for _ in 0..2 {
            let variable = self.variable();
            self.network.axes.push(Axis::shifted(variable, 0));
        }
        let several = act.ways.len() > 1;
        let count = if several { act.ways.len() } else { 0 };
        let chosen: Vec<usize> = (0..count).map(|_| self.variable()).collect();
        let ways = act.ways.iter().map(|way| way.pattern).collect();
        self.splits.push(Split { start, finish, ways, chosen: chosen.clone() });
        chosen
    }

    fn joint(&mut self, act: &Act<'m>) -> Vec<usize> {
        let variable = self.variable();
        let (start, finish) = match act.ways[0].pattern {
            Pattern::Elapsed(work) => {
                (Axis::shifted(variable, 0), Axis::shifted(variable, work))
            }
            Pattern::Whole(calendar, work) => {
                let slots = Some(self.slots(calendar, work));
                let axis = |after| Axis { variable, slots, ahead: 0, after };
                (axis(0), axis(work))
            }
            Pattern::Pausing(calendar, work) => {
                let slots = Some(self.slots(calendar, 1));
                let last = i64::from(work) - 1;
                let start = Axis { variable, slots, ahead: 0, after: 0 };
                (start, Axis { ahead: last, after: 1, ..start })
            }
        };
        self.network.axes.extend([start, finish]);
        Vec::new()
    }

    fn slots(&mut self, calendar: &'m Calendar, work: Tick) -> u32 {
        let same = |known: &&(&Calendar, Tick, u32)| {
            std::ptr::eq(known.0, calendar) && known.1 == work
        };
        if let Some(known) = self.known.iter().find(same) {
            return known.2;
        }
        let slots =
            if work == 1 { Slots::open(calendar) } else { Slots::whole(calendar, work) };
        self.network.slots.push(slots);
        let number = (self.network.slots.len() - 1) as u32;
        self.known.push((calendar, work, number));
        number
    }

    /// Lags between events, and the length after every finish.
    fn curves(&mut self, length: Event) {
        let model = self.model;
        for arc in &model.arcs {
            let curve = Curve { from: arc.from, to: arc.to, lag: arc.lag };
            let variable = |event| self.network.variable(event);
            if variable(arc.from) != variable(arc.to) {
                self.network.curves.push(curve);
            }
        }
        for task in 0..model.count() {
            let curve = Curve { from: 2 * task + 1, to: length, lag: Lag::Elapsed(0) };
            self.network.curves.push(curve);
        }
    }

    /// An occupancy that something fixed began is judged from some tick on.
    fn holds(&mut self) {
        for hold in &self.model.holds {
            let begins = self.model.fixed(hold.from).map_or(hold.from, |from| {
                let tick = from.max(hold.judged_from);
                self.network.axes.push(Axis::shifted(ZERO, tick));
                self.network.axes.len() - 1
            });
            self.begins.push(begins);
        }
    }

    fn finish(self) -> Built<'m> {
        let model = self.model;
        let plain = |axis: &Axis| axis.slots.is_none();
        let shifts: Vec<Option<(usize, usize, Value)>> = self
            .network
            .curves
            .iter()
            .map(|curve| {
                let (from, to) =
                    (self.network.axes[curve.from], self.network.axes[curve.to]);
                let Lag::Elapsed(lag) = curve.lag else { return None };
                let offset = i64::from(from.after) + from.ahead + i64::from(lag)
                    - i64::from(to.after)
                    - to.ahead;
                (plain(&from) && plain(&to)).then_some((
                    from.variable,
                    to.variable,
                    offset,
                ))
            })
            .collect();
        let mut trail = Trail::new(self.variables, self.network);
        let mut possible = trail.limit(ZERO, 0, 0);
        for (curve, shift) in shifts.iter().enumerate() {
            match *shift {
                Some((from, to, lag)) => trail.shift(from, to, lag),
                None => trail.watch_curve(curve),
            }
        }
        possible &= limits(model, &mut trail, &self.splits);
        let uses = uses(model, &self.choice_of, &self.choices, &self.begins);
        let resources = uses
            .into_iter()
            .enumerate()
            .filter(|(resource, uses)| scarce(model, *resource, uses))
            .map(|(resource, uses)| Cumulative::new(&model.static_free[resource], uses))
            .collect();
        let sums = sums(model, &self.choice_of, &self.choices);
        for (sum, &total) in sums.iter().zip(&LEVELS) {
            possible &= trail.limit(total, sum.base(), FAR_VALUE);
        }
        Built {
            trail,
            resources,
            splits: self.splits,
            sums: sums.into(),
            rows: rows(model, &self.choice_of, &self.choices, LEVELS[2]),
            choices: self.choices,
            choice_of: self.choice_of,
            possible,
        }
    }
}

/// Beyond any value of the objective, and far from overflow.
const FAR_VALUE: Value = Value::MAX / 8;

/// Limits every variable by the earliest and the latest times.
fn limits(model: &Model, trail: &mut Trail, splits: &[Split]) -> bool {
    let mut possible = true;
    let (early, late) = (&model.windows.early, &model.windows.late);
    let mut floor = 0;
    for (task, act) in model.acts.iter().enumerate() {
        if let Some(fixed) = act.fixed {
            floor = floor.max(fixed.finish);
            continue;
        }
        let variable = trail.network.variable(2 * task);
        let slots = trail.network.axes[2 * task].slots;
        let domain = slots.map_or((0, i64::from(FAR)), |slots| {
            (0, trail.network.slots[slots as usize].count() - 1)
        });
        possible &= trail.limit(variable, domain.0, domain.1);
        for (node, end) in [(2 * task, act.release), (2 * task + 1, 0)] {
            let lits = [
                trail.network.at_least(node, early[node].max(end)),
                trail.network.at_most(node, late[node].min(act.deadline)),
            ];
            for lit in lits {
                possible &= !trail.is_false(lit);
                trail.assume(lit);
            }
        }
    }
    for variable in splits.iter().flat_map(|split| &split.chosen) {
        possible &= trail.limit(*variable, 0, 1);
    }
    let horizon = model.problem.horizon().max(floor);
    possible & trail.limit(LEVELS[2], i64::from(floor), i64::from(horizon))
}

/// The uses of each resource by what is not fixed.
fn uses<'m>(
    model: &'m Model<'m>,
    choice_of: &[Option<usize>],
    choices: &[Choice],
    begins: &[Event],
) -> Vec<Vec<Use<'m>>> {
    let mut uses: Vec<Vec<Use>> = vec![Vec::new(); model.static_free.len()];
    for (task, choice) in choice_of.iter().enumerate() {
        if let Some(choice) = *choice {
            uses_of_task(model, task, &choices[choice].ways, &mut uses);
        }
    }
    for (hold, &begins) in model.holds.iter().zip(begins) {
        let (from, to) = (model.fixed(hold.from), model.fixed(hold.to));
        if from.is_some() && to.is_some() {
            continue;
        }
        uses[hold.resource].push(Use {
            from: begins,
            to: hold.to,
            amount: hold.amount,
            need: hold.amount,
            open: None,
            lasts: false,
            present: None,
        });
    }
    uses
}

fn uses_of_task<'m>(
    model: &'m Model<'m>,
    task: usize,
    chosen: &[usize],
    uses: &mut [Vec<Use<'m>>],
) {
    let act = &model.acts[task];
    let (from, to): (Node, Node) = (2 * task, 2 * task + 1);
    debug_assert_eq!(task_of(from), task);
    for (resource, list) in uses.iter_mut().enumerate() {
        let entries = || {
            act.ways.iter().map(|way| way.uses.iter().find(|e| e.resource == resource))
        };
        // What every way takes throughout is taken whichever is chosen.
        let common =
            entries().map(|entry| entry.map_or(0, |e| e.throughout)).min().unwrap_or(0);
        let mut add = |amount: i32, need: i32, open, present| {
            if amount > 0 {
                let lasts = true;
                list.push(Use { from, to, amount, need, open, lasts, present });
            }
        };
        add(common, common, None, None);
        for (way, entry) in entries().enumerate() {
            let Some(entry) = entry else { continue };
            let present =
                chosen.get(way).map(|&variable| Lit { view: 2 * variable, bound: 1 });
            let calendar = match act.ways[way].pattern {
                Pattern::Pausing(calendar, _) => Some(calendar),
                Pattern::Elapsed(_) | Pattern::Whole(..) => None,
            };
            let all = entry.throughout.saturating_add(entry.working);
            add(entry.throughout - common, entry.throughout, None, present);
            add(entry.working, all, calendar, present);
        }
    }
}

/// Whether a resource can lack at all.
fn scarce(model: &Model, resource: usize, uses: &[Use]) -> bool {
    let least = model.static_free[resource].segments().map(|step| step.1).min();
    let sum: i64 = uses.iter().map(|entry| i64::from(entry.amount)).sum();
    sum > i64::from(least.unwrap_or(0))
}

/// The sums of the objective: lateness, and cost with drift.
fn sums(model: &Model, choice_of: &[Option<usize>], choices: &[Choice]) -> [Sum; 2] {
    let mut base = [0, 0];
    let mut terms = [Vec::new(), Vec::new()];
    for (task, data) in model.problem.tasks().iter().enumerate() {
        let act = &model.acts[task];
        let late = |due: Due, finish: Tick| {
            Value::from((finish - due.at).max(0)) * Value::from(due.weight)
        };
        let away = |published: Published, start: Tick| {
            Value::from((start - published.start).abs()) * Value::from(published.weight)
        };
        let published = data.published.filter(|published| published.weight > 0);
        if let Some(fixed) = act.fixed {
            base[0] += data.due.map_or(0, |due| late(due, fixed.finish));
            base[1] += published.map_or(0, |published| away(published, fixed.start));
            base[1] += act.ways[0].cost;
            continue;
        }
        if let Some(due) = data.due {
            terms[0].push(Term::Late(2 * task + 1, due.at, due.weight.into()));
        }
        if let Some(published) = published {
            let weight = published.weight.into();
            terms[1].push(Term::Away(2 * task, published.start, weight));
        }
        let ways = choice_of[task].map_or(&[][..], |choice| &choices[choice].ways[..]);
        let costs = ways.iter().zip(&act.ways).map(|(&way, data)| (way, data.cost));
        let costs: Vec<(usize, Value)> = costs.collect();
        if costs.iter().any(|cost| cost.1 > 0) {
            terms[1].push(Term::Ways(costs));
        } else if ways.is_empty() {
            base[1] += act.ways[0].cost;
        }
    }
    let [late, dear] = terms;
    [Sum::new(LEVELS[0], base[0], late), Sum::new(LEVELS[1], base[1], dear)]
}
