//! The clauses that are known, in one piece of memory, and what watches them.
//!
//! Each clause watches two of its literals; only where one of them becomes false is there
//! anything to do. Most of the time of a complete search goes by here, waiting for memory: so the
//! literals of a clause lie behind its head, and whoever watches knows one more literal, which
//! is often true and spares the look.

use super::trail::{Lit, Value, View};

/// Where the head of a clause lies.
pub(super) type Place = u32;

/// A clause: one of its literals is true.
#[derive(Debug, Clone)]
pub(super) struct Clause {
    pub(super) lits: Vec<Lit>,
    /// How many levels it spans; the fewer the better.
    pub(super) levels: usize,
}

/// Who looks at a clause.
#[derive(Debug, Clone, Copy)]
pub(super) struct Watch {
    pub(super) place: Place,
    view: u32,
    bound: Value,
}

impl Watch {
    const fn new(place: Place, other: Lit) -> Self {
        Self { place, view: other.view as u32, bound: other.bound }
    }

    /// Another literal of the clause; if it is true there is nothing to do.
    pub(super) const fn other(self) -> Lit {
        Lit { view: self.view as View, bound: self.bound }
    }
}

/// The watched literals of a view that become false at the same bound. A bound that moves has
/// to do with those alone that it passes.
#[derive(Debug)]
struct Watched {
    threshold: Value,
    list: Vec<Watch>,
}

/// Clauses and their watches.
#[derive(Debug, Default)]
pub(super) struct Clauses {
    /// Of each clause its head, then its literals. A head has the number of literals for a
    /// view, and that of the levels for a bound.
    lits: Vec<Lit>,
    count: usize,
    /// For each view, by threshold.
    watches: Vec<Vec<Watched>>,
}

impl Clauses {
    /// None yet, of so many views.
    pub(super) fn new(views: usize) -> Self {
        Self { watches: (0..views).map(|_| Vec::new()).collect(), ..Self::default() }
    }

    /// One more view.
    pub(super) fn add_view(&mut self) {
        self.watches.push(Vec::new());
    }

    /// How many clauses there are.
    pub(super) const fn len(&self) -> usize {
        self.count
    }

    /// The literals of a clause.
    #[inline]
    pub(super) fn lits(&self, place: Place) -> &[Lit] {
        let head = place as usize;
        &self.lits[head + 1..][..self.lits[head].view]
    }

    /// The literals of a clause, of which the first two are watched.
    #[inline]
    pub(super) fn lits_mut(&mut self, place: Place) -> &mut [Lit] {
        let head = place as usize;
        let count = self.lits[head].view;
        &mut self.lits[head + 1..][..count]
    }

    /// Keeps a clause of two literals or more, and watches the first two.
    pub(super) fn store(&mut self, clause: &Clause) -> Place {
        let place = self.lits.len() as Place;
        self.lits.push(Lit { view: clause.lits.len(), bound: clause.levels as Value });
        self.lits.extend_from_slice(&clause.lits);
        self.count += 1;
        let (first, second) = (clause.lits[0], clause.lits[1]);
        self.watch(place, first, second);
        self.watch(place, second, first);
        place
    }

    /// Has a clause looked at when a literal becomes false, unless another one is true.
    pub(super) fn watch(&mut self, place: Place, lit: Lit, other: Lit) {
        let threshold = 1 - lit.bound;
        let watches = &mut self.watches[lit.view ^ 1];
        let at = watches.partition_point(|w| w.threshold < threshold);
        if watches.get(at).is_none_or(|w| w.threshold != threshold) {
            watches.insert(at, Watched { threshold, list: Vec::new() });
        }
        watches[at].list.push(Watch::new(place, other));
    }

    /// The first list of a view with a threshold above a bound.
    #[inline]
    pub(super) fn first_above(&self, view: View, bound: Value) -> usize {
        self.watches[view].partition_point(|w| w.threshold <= bound)
    }

    /// The threshold of a list, if there is one at this position.
    #[inline]
    pub(super) fn threshold(&self, view: View, at: usize) -> Option<Value> {
        self.watches[view].get(at).map(|w| w.threshold)
    }

    /// Takes a list out, to be put back.
    pub(super) fn take(&mut self, view: View, at: usize) -> Vec<Watch> {
        std::mem::take(&mut self.watches[view][at].list)
    }

    /// Puts a list back.
    pub(super) fn put(&mut self, view: View, at: usize, list: Vec<Watch>) {
        self.watches[view][at].list = list;
    }

    /// All clauses, and none are left.
    pub(super) fn drain(&mut self) -> Vec<Clause> {
        self.watches.iter_mut().for_each(Vec::clear);
        self.count = 0;
        let all = std::mem::take(&mut self.lits);
        let (mut clauses, mut rest) = (Vec::new(), &all[..]);
        while let Some((head, behind)) = rest.split_first() {
            let (lits, next) = behind.split_at(head.view);
            clauses.push(Clause { lits: lits.to_vec(), levels: head.bound as usize });
            rest = next;
        }
        clauses
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn lit(view: View, bound: Value) -> Lit {
        Lit { view, bound }
    }

    #[test]
    fn clauses_come_back_as_they_went_in() {
        let all = [vec![lit(0, 3), lit(3, -7)], vec![lit(5, 1), lit(2, 2), lit(0, 9)]];
        let mut clauses = Clauses::new(6);
        let store = |(levels, lits): (usize, &Vec<Lit>)| {
            clauses.store(&Clause { lits: lits.clone(), levels })
        };
        let places: Vec<Place> = all.iter().enumerate().map(store).collect();
        assert_eq!(clauses.len(), 2);
        clauses.lits_mut(places[1]).swap(1, 2);
        assert_eq!(clauses.lits(places[0]), all[0]);
        assert_eq!(clauses.lits(places[1]), [lit(5, 1), lit(0, 9), lit(2, 2)]);
        let drained = clauses.drain();
        assert_eq!(
            drained.iter().map(|clause| clause.levels).collect::<Vec<_>>(),
            [0, 1]
        );
        assert_eq!(drained[0].lits, all[0]);
        assert_eq!((clauses.len(), clauses.threshold(1, 0)), (0, None));
    }

    #[test]
    fn a_watch_waits_where_its_literal_becomes_false() {
        let mut clauses = Clauses::new(4);
        let place =
            clauses.store(&Clause { lits: vec![lit(0, 3), lit(3, -7)], levels: 2 });
        clauses.watch(place, lit(0, 9), lit(2, 1));
        // `[v >= 3]` is false from `[-v >= -2]` on, `[v >= 9]` from `[-v >= -8]`.
        assert_eq!(
            (clauses.threshold(1, 0), clauses.threshold(1, 1)),
            (Some(-8), Some(-2))
        );
        assert_eq!((clauses.first_above(1, -9), clauses.first_above(1, -8)), (0, 1));
        let list = clauses.take(1, 1);
        assert_eq!((list[0].place, list[0].other()), (place, lit(3, -7)));
        clauses.put(1, 1, list);
        assert_eq!(clauses.take(2, 0).len(), 1);
    }
}
