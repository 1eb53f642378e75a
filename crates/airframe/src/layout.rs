//! Who carries whom: what the engines look up over and over.

use std::collections::BTreeMap;

use crate::{Group, Item, ItemId, Needs};

/// Items by their place in the list, and the tree of carriers.
#[derive(Debug, Clone, Default)]
pub(crate) struct Layout {
    place: BTreeMap<ItemId, usize>,
    carrier: Vec<Option<usize>>,
    carried: Vec<Vec<usize>>,
    depth: Vec<u32>,
}

/// Items any one of which, once off, parts a blocker from what it blocks.
pub(crate) type Parting = Vec<usize>;
/// For each blocker of a way that is still there, what parts it.
pub(crate) type OpenWay = Vec<Parting>;
/// The ways of a group of which none is open yet.
pub(crate) type OpenGroup = Vec<OpenWay>;

impl Layout {
    /// The layout of items whose carriers form no ring; a carrier that does not exist is
    /// left out.
    pub(crate) fn of(items: &[Item]) -> Self {
        let place: BTreeMap<_, _> =
            items.iter().enumerate().map(|(at, item)| (item.id.clone(), at)).collect();
        let carrier: Vec<_> = items
            .iter()
            .map(|item| item.carrier().and_then(|id| place.get(id)).copied())
            .collect();
        let mut carried = vec![Vec::new(); items.len()];
        for (at, carrier) in carrier.iter().enumerate() {
            if let Some(carrier) = carrier {
                carried[*carrier].push(at);
            }
        }
        let mut depth = vec![0; items.len()];
        let mut todo: Vec<usize> =
            (0..items.len()).filter(|at| carrier[*at].is_none()).collect();
        while let Some(at) = todo.pop() {
            for &child in &carried[at] {
                depth[child] = depth[at] + 1;
                todo.push(child);
            }
        }
        Self { place, carrier, carried, depth }
    }

    pub(crate) fn place(&self, id: &ItemId) -> Option<usize> {
        self.place.get(id).copied()
    }

    pub(crate) fn carried(&self, at: usize) -> &[usize] {
        &self.carried[at]
    }

    /// The item, its carrier, its carrier's carrier, and so on outwards.
    pub(crate) fn chain(&self, at: usize) -> impl Iterator<Item = usize> {
        std::iter::successors(Some(at), |at| self.carrier[*at])
    }

    /// What lies in exactly one of the two chains, from each end outwards.
    pub(crate) fn between(&self, one: usize, other: usize) -> (Vec<usize>, Vec<usize>) {
        let (mut near, mut far) = (Vec::new(), Vec::new());
        let (mut a, mut b) = (Some(one), Some(other));
        while a != b {
            let depth = |at: Option<usize>| at.map_or(-1, |at| i64::from(self.depth[at]));
            if depth(a) >= depth(b) {
                near.extend(a);
                a = a.and_then(|at| self.carrier[at]);
            } else {
                far.extend(b);
                b = b.and_then(|at| self.carrier[at]);
            }
        }
        (near, far)
    }

    /// Items any of which, once off, puts `blocker` out of the way of `item`: those in
    /// exactly one of the two chains, without `item` itself.
    pub(crate) fn parting(&self, blocker: usize, item: usize) -> Parting {
        let (near, far) = self.between(blocker, item);
        near.into_iter().chain(far).filter(|at| *at != item).collect()
    }

    /// The groups of `needs` that are not met while `off` is off.
    pub(crate) fn unmet(
        &self,
        needs: &Needs,
        item: usize,
        off: &[bool],
    ) -> Vec<OpenGroup> {
        needs.groups.iter().filter_map(|group| self.open(group, item, off)).collect()
    }

    /// What each way of a group still takes; nothing if the group is met. Unknown names are
    /// left out, as if they were out of the way.
    pub(crate) fn open(
        &self,
        group: &Group,
        item: usize,
        off: &[bool],
    ) -> Option<OpenGroup> {
        let mut ways = Vec::new();
        for way in &group.ways {
            let blockers = way.items.iter().filter_map(|id| self.place(id));
            let open: OpenWay =
                blockers.filter_map(|b| self.closed(b, item, off)).collect();
            if open.is_empty() {
                return None;
            }
            ways.push(open);
        }
        (!ways.is_empty()).then_some(ways)
    }

    /// What would part the two, if nothing that is off does so already. An item that is off
    /// is parted from all that it does not carry.
    fn closed(&self, blocker: usize, item: usize, off: &[bool]) -> Option<Parting> {
        let (near, far) = self.between(blocker, item);
        let mut both = near.into_iter().chain(far);
        if both.clone().any(|at| off[at]) {
            return None;
        }
        Some(both.by_ref().filter(|at| *at != item).collect())
    }

    /// What leaves with an item when it comes off: all that it carries, at any depth, and
    /// that is not off or carried by something that is.
    pub(crate) fn travels(&self, item: usize, off: &[bool]) -> Vec<usize> {
        let mut along = Vec::new();
        let mut todo = vec![item];
        while let Some(at) = todo.pop() {
            let here = self.carried[at].iter().copied().filter(|child| !off[*child]);
            let here: Vec<_> = here.collect();
            todo.extend(&here);
            along.extend(here);
        }
        along.sort_unstable();
        along
    }

    /// Whether an item is on the aircraft: neither it nor anything that carries it is off.
    pub(crate) fn aboard(&self, item: usize, off: &[bool]) -> bool {
        self.chain(item).all(|at| !off[at])
    }
}
