//! Bounds, the trail of their changes, and the clauses.

use timetable::Tick;

use super::axis::{Curve, Event, Network};
use super::clauses::{Clause, Clauses, Place};
use super::minimise::Minimiser;

/// What a variable counts: ticks, ordinals of starts, modes (0 or 1), or the objective.
pub(super) type Value = i64;

/// Less than any value.
pub(super) const LEAST: Value = Value::MIN / 4;

/// A variable seen from one side: `2 v` is `v`, `2 v + 1` is `-v`.
pub(super) type View = usize;

/// A literal: the view is at least the bound.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct Lit {
    pub(super) view: View,
    pub(super) bound: Value,
}

impl Lit {
    /// The opposite: of `y >= b` it is `-y >= 1 - b`.
    pub(super) const fn not(self) -> Self {
        Self { view: self.view ^ 1, bound: 1 - self.bound }
    }
}

/// Why a bound was raised.
#[derive(Debug, Clone, Copy)]
pub(super) enum Reason {
    /// A decision, or a fact of the root.
    Given,
    /// Another view, plus a lag.
    Shift(u32, Value),
    /// A curve of the network, in its direction or against it.
    Curve(u32, bool),
    /// All other literals of a clause are false.
    Clause(Place),
    /// Literals in the arena, from and until.
    List(u32, u32),
}

/// A change of a bound.
#[derive(Debug, Clone, Copy)]
pub(super) struct Entry {
    view: u32,
    /// How many decisions there were.
    level: u32,
    /// The change before of the same view.
    before: u32,
    pub(super) old: Value,
    pub(super) new: Value,
    pub(super) reason: Reason,
}

impl Entry {
    /// What was changed.
    pub(super) const fn view(self) -> View {
        self.view as View
    }

    /// How many decisions there were before and with it.
    pub(super) const fn level(self) -> usize {
        self.level as usize
    }

    /// The change before of the same view; [`NONE`] if there is none.
    pub(super) const fn before(self) -> usize {
        if self.before == u32::MAX { NONE } else { self.before as usize }
    }
}

/// No change before.
pub(super) const NONE: usize = usize::MAX;

/// The state of the search.
#[derive(Debug)]
pub(super) struct Trail<'m> {
    pub(super) network: Network<'m>,
    low: Vec<Value>,
    root: Vec<Value>,
    pub(super) last: Vec<usize>,
    pub(super) entries: Vec<Entry>,
    pub(super) levels: Vec<(usize, usize)>,
    pub(super) arena: Vec<Lit>,
    shifts: Vec<Vec<(View, Value)>>,
    curves: Vec<Vec<(usize, bool)>>,
    clauses: Clauses,
    head: usize,
    most_clauses: usize,
    /// Variables whose bounds moved, up or back, since they were last asked for.
    moved: Vec<usize>,
    is_moved: Vec<bool>,
    pub(super) need: Vec<Value>,
    pub(super) need_at: Vec<usize>,
    pub(super) touched: Vec<View>,
    pub(super) minimiser: Minimiser,
}

impl<'m> Trail<'m> {
    /// So many variables, without limits yet.
    pub(super) fn new(count: usize, network: Network<'m>) -> Self {
        let views = 2 * count;
        Self {
            network,
            low: vec![LEAST; views],
            root: vec![LEAST; views],
            last: vec![NONE; views],
            entries: Vec::new(),
            levels: Vec::new(),
            arena: Vec::new(),
            shifts: vec![Vec::new(); views],
            curves: vec![Vec::new(); views],
            clauses: Clauses::new(views),
            head: 0,
            most_clauses: 4000,
            moved: Vec::new(),
            is_moved: vec![false; count],
            need: vec![Value::MIN; views],
            need_at: vec![NONE; views],
            touched: Vec::new(),
            minimiser: Minimiser::default(),
        }
    }

    /// One more variable, which is 0 or 1.
    pub(super) fn binary(&mut self) -> usize {
        let variable = self.count();
        for _ in 0..2 {
            self.low.push(LEAST);
            self.root.push(LEAST);
            self.last.push(NONE);
            self.shifts.push(Vec::new());
            self.curves.push(Vec::new());
            self.clauses.add_view();
            self.need.push(Value::MIN);
            self.need_at.push(NONE);
        }
        self.is_moved.push(false);
        self.limit(variable, 0, 1);
        variable
    }

    /// A variable as it is.
    pub(super) const fn up(variable: usize) -> View {
        2 * variable
    }

    /// A variable negated.
    pub(super) const fn down(variable: usize) -> View {
        2 * variable + 1
    }

    /// Limits a variable before the search; false if nothing is left.
    pub(super) fn limit(&mut self, variable: usize, least: Value, most: Value) -> bool {
        for (view, bound) in [(2 * variable, least), (2 * variable + 1, -most)] {
            // As a change, so that its consequences are drawn.
            self.raise(Lit { view, bound }, Reason::Given);
        }
        least <= most
    }

    /// `to >= from + lag`, for variables.
    pub(super) fn shift(&mut self, from: usize, to: usize, lag: Value) {
        self.shifts[2 * from].push((2 * to, lag));
        self.shifts[2 * to + 1].push((2 * from + 1, lag));
    }

    /// Follows a curve of the network from now on.
    pub(super) fn watch_curve(&mut self, curve: usize) {
        let (from, to) = (self.network.curves[curve].from, self.network.curves[curve].to);
        self.curves[2 * self.network.variable(from)].push((curve, true));
        self.curves[2 * self.network.variable(to) + 1].push((curve, false));
    }

    /// The earliest tick of an event.
    #[inline]
    pub(super) fn early(&self, event: Event) -> Tick {
        self.network.tick(event, self.low[2 * self.network.variable(event)])
    }

    /// The latest tick of an event.
    #[inline]
    pub(super) fn late(&self, event: Event) -> Tick {
        self.network.tick(event, -self.low[2 * self.network.variable(event) + 1])
    }

    /// The latest tick of an event at the root.
    pub(super) fn root_late(&self, event: Event) -> Tick {
        self.network.tick(event, -self.root[2 * self.network.variable(event) + 1])
    }

    /// The variables whose bounds moved since the last call, into a list.
    pub(super) fn take_moved(&mut self, into: &mut Vec<usize>) {
        into.clear();
        std::mem::swap(&mut self.moved, into);
        for &variable in into.iter() {
            self.is_moved[variable] = false;
        }
    }

    fn note(&mut self, variable: usize) {
        if !std::mem::replace(&mut self.is_moved[variable], true) {
            self.moved.push(variable);
        }
    }

    /// How many variables there are.
    pub(super) fn count(&self) -> usize {
        self.is_moved.len()
    }

    /// The least value of a view.
    pub(super) fn low(&self, view: View) -> Value {
        self.low[view]
    }

    /// The greatest value of a view.
    pub(super) fn high(&self, view: View) -> Value {
        -self.low[view ^ 1]
    }

    /// The least value of a view at the root.
    pub(super) fn root(&self, view: View) -> Value {
        self.root[view]
    }

    /// Whether a variable has one value left.
    pub(super) fn is_fixed(&self, variable: usize) -> bool {
        self.low[2 * variable] == -self.low[2 * variable + 1]
    }

    #[inline]
    pub(super) fn is_true(&self, lit: Lit) -> bool {
        self.low[lit.view] >= lit.bound
    }

    #[inline]
    pub(super) fn is_false(&self, lit: Lit) -> bool {
        self.low[lit.view ^ 1] > -lit.bound
    }

    /// Changes so far.
    pub(super) fn len(&self) -> usize {
        self.entries.len()
    }

    /// Decisions so far.
    pub(super) fn level(&self) -> usize {
        self.levels.len()
    }

    /// Opens a level with a decision.
    pub(super) fn decide(&mut self, lit: Lit) {
        self.levels.push((self.entries.len(), self.arena.len()));
        self.raise(lit, Reason::Given);
    }

    /// Takes a literal for true at the root.
    pub(super) fn assume(&mut self, lit: Lit) {
        if !self.is_true(lit) {
            self.raise(lit, Reason::Given);
        }
    }

    /// Raises a bound, unless it is high enough. The error names literals that are true
    /// and can't all be.
    pub(super) fn set(&mut self, lit: Lit, reason: Reason) -> Result<(), Vec<Lit>> {
        if self.is_true(lit) {
            return Ok(());
        }
        if self.is_false(lit) {
            let mut conflict = Vec::new();
            self.explain(lit, reason, &mut conflict);
            conflict.push(lit.not());
            return Err(conflict);
        }
        self.raise(lit, reason);
        Ok(())
    }

    /// Raises a bound for a list of literals.
    pub(super) fn set_for(&mut self, lit: Lit, because: &[Lit]) -> Result<(), Vec<Lit>> {
        if self.is_true(lit) {
            return Ok(());
        }
        let from = self.arena.len();
        self.arena.extend_from_slice(because);
        self.set(lit, Reason::List(from as u32, self.arena.len() as u32))
    }

    fn raise(&mut self, lit: Lit, reason: Reason) {
        let Lit { view, bound } = lit;
        let entry = Entry {
            view: view as u32,
            level: self.levels.len() as u32,
            // None is the greatest number in either.
            before: self.last[view] as u32,
            old: self.low[view],
            new: bound,
            reason,
        };
        self.last[view] = self.entries.len();
        self.entries.push(entry);
        self.low[view] = bound;
        self.note(view / 2);
        if self.levels.is_empty() {
            self.root[view] = bound;
        }
    }

    /// Literals that imply one which was raised for a reason, added to a list.
    pub(super) fn explain(&self, lit: Lit, reason: Reason, into: &mut Vec<Lit>) {
        match reason {
            Reason::Given => {}
            Reason::Shift(view, lag) => {
                into.push(Lit { view: view as View, bound: lit.bound - lag });
            }
            Reason::Curve(curve, forward) => {
                into.push(self.network.because(curve as usize, forward, lit));
            }
            Reason::Clause(place) => {
                let lits = self.clauses.lits(place).iter();
                into.extend(
                    lits.filter(|o| o.view != lit.view || o.bound < lit.bound)
                        .map(|other| other.not()),
                );
            }
            Reason::List(from, until) => {
                into.extend_from_slice(&self.arena[from as usize..until as usize]);
            }
        }
    }

    /// Takes back all levels above one.
    pub(super) fn back_to(&mut self, level: usize) {
        if level >= self.levels.len() {
            return;
        }
        let (entries, arena) = self.levels[level];
        while self.entries.len() > entries {
            if let Some(entry) = self.entries.pop() {
                self.low[entry.view()] = entry.old;
                self.last[entry.view()] = entry.before();
                self.note(entry.view() / 2);
            }
        }
        self.arena.truncate(arena);
        self.levels.truncate(level);
        self.head = self.head.min(entries);
    }

    /// Propagates arcs and clauses until nothing moves.
    pub(super) fn propagate(&mut self) -> Result<(), Vec<Lit>> {
        while self.head < self.entries.len() {
            let entry = self.entries[self.head];
            let view = entry.view();
            self.head += 1;
            let bound = self.low[view];
            for position in 0..self.shifts[view].len() {
                let (to, lag) = self.shifts[view][position];
                let lit = Lit { view: to, bound: bound + lag };
                self.set(lit, Reason::Shift(entry.view, lag))?;
            }
            for position in 0..self.curves[view].len() {
                let (curve, forward) = self.curves[view][position];
                self.follow(curve, forward)?;
            }
            self.visit(view, entry.old, entry.new)?;
        }
        Ok(())
    }

    fn follow(&mut self, curve: usize, forward: bool) -> Result<(), Vec<Lit>> {
        let Curve { from, to, lag } = self.network.curves[curve];
        let lit = if forward {
            self.network.at_least(to, lag.earliest(self.early(from)))
        } else {
            self.network.at_most(from, lag.latest(self.late(to)))
        };
        self.set(lit, Reason::Curve(curve as u32, forward))
    }

    /// Visits the clauses that watch what a view has passed on its way to a bound.
    fn visit(&mut self, view: View, old: Value, new: Value) -> Result<(), Vec<Lit>> {
        let mut at = self.clauses.first_above(view, old);
        while let Some(threshold) =
            self.clauses.threshold(view, at).filter(|&threshold| threshold <= new)
        {
            self.visit_list(view, threshold, at)?;
            at += 1;
        }
        Ok(())
    }

    fn visit_list(
        &mut self,
        view: View,
        threshold: Value,
        at: usize,
    ) -> Result<(), Vec<Lit>> {
        // What is added meanwhile has a greater threshold, so the place stays the same.
        let mut list = self.clauses.take(view, at);
        let (mut kept, mut position) = (0, 0);
        let mut outcome = Ok(());
        while position < list.len() {
            let watch = list[position];
            position += 1;
            let stays = self.is_true(watch.other())
                || match self.rewatch(view, threshold, watch.place) {
                    Ok(moved) => !moved,
                    Err(conflict) => {
                        outcome = Err(conflict);
                        true
                    }
                };
            if stays {
                list[kept] = watch;
                kept += 1;
            }
            if outcome.is_err() {
                break;
            }
        }
        list.copy_within(position.., kept);
        list.truncate(kept + list.len() - position);
        self.clauses.put(view, at, list);
        outcome
    }

    /// Finds another literal to watch (true), or raises the last one (false).
    fn rewatch(
        &mut self,
        view: View,
        threshold: Value,
        place: Place,
    ) -> Result<bool, Vec<Lit>> {
        let low = &self.low;
        let lits = self.clauses.lits_mut(place);
        if lits[0].view ^ 1 == view && 1 - lits[0].bound == threshold {
            lits.swap(0, 1);
        }
        let first = lits[0];
        if low[first.view] >= first.bound {
            return Ok(false);
        }
        let other = lits[2..].iter().position(|lit| low[lit.view ^ 1] <= -lit.bound);
        if let Some(other) = other {
            lits.swap(1, other + 2);
            let lit = lits[1];
            self.clauses.watch(place, lit, first);
            return Ok(true);
        }
        self.set(first, Reason::Clause(place)).map(|()| false)
    }

    /// Adds a learnt clause whose first literal is to be raised, and whose second is the
    /// last of the others to have become false; jumps back to where it says so.
    pub(super) fn add_clause(&mut self, clause: &Clause) {
        let first = clause.lits[0];
        if clause.lits.len() == 1 {
            self.back_to(0);
            self.assume(first);
            return;
        }
        let place = self.clauses.store(clause);
        if !self.is_true(first) && !self.is_false(first) {
            self.raise(first, Reason::Clause(place));
        }
    }

    /// At the root: adds a clause that others have learnt; false if it can't hold.
    pub(super) fn add_known(&mut self, mut clause: Clause) -> bool {
        if clause.lits.iter().any(|&lit| self.is_true(lit)) {
            return true;
        }
        clause.lits.retain(|&lit| !self.is_false(lit));
        match clause.lits[..] {
            [] => return false,
            [lit] => self.assume(lit),
            _ => {
                self.clauses.store(&clause);
            }
        }
        true
    }

    /// At the root: forgets the changes, and the worse half of too many clauses.
    pub(super) fn tidy(&mut self) {
        if self.head == self.entries.len() {
            self.entries.clear();
            self.arena.clear();
            self.head = 0;
            self.last.fill(NONE);
        }
        if self.clauses.len() < self.most_clauses || !self.entries.is_empty() {
            return;
        }
        self.most_clauses += 500;
        let mut clauses = self.clauses.drain();
        let mut sizes: Vec<(usize, usize)> =
            clauses.iter().map(|clause| (clause.levels, clause.lits.len())).collect();
        sizes.sort_unstable();
        let middle = sizes[sizes.len() / 2];
        clauses.retain(|c| c.levels <= 2 || (c.levels, c.lits.len()) < middle);
        // What is true at the root says nothing any more.
        clauses.retain(|clause| !clause.lits.iter().any(|&lit| self.is_true(lit)));
        for mut clause in clauses {
            clause.lits.sort_by_key(|&lit| self.is_false(lit));
            self.clauses.store(&clause);
        }
    }
}
