//! From an airframe and targets to a net of conditions.

use std::collections::BTreeSet;

use super::least::{Found, least};
use super::net::Net;
use super::{Options, Target};
use crate::layout::OpenGroup;
use crate::{Airframe, Item, ItemId};

/// What is off from the start.
pub(crate) struct Start {
    /// All of it.
    pub(crate) off: Vec<bool>,
    /// What of it stays off.
    pub(crate) base: Vec<bool>,
    /// What of it goes back.
    pub(crate) back: Vec<usize>,
}

/// The net for some targets.
pub(crate) struct Compiled {
    net: Net,
    /// Items by atom.
    items: Vec<usize>,
    cost: Vec<u64>,
    allowed: Vec<bool>,
    /// Targets, by place, that cannot be reached.
    pub(crate) unreached: Vec<usize>,
    /// Whether an item that mattered can come off, by item.
    pub(crate) can_come_off: Vec<bool>,
}

impl Start {
    pub(crate) fn new(
        airframe: &Airframe,
        off: &BTreeSet<ItemId>,
        options: &Options,
    ) -> Self {
        let off = airframe.marked(off);
        let mut base = off.clone();
        let mut back = Vec::new();
        let named = options.put_back.iter().filter_map(|id| airframe.layout().place(id));
        for at in named.filter(|at| off[*at]) {
            base[at] = false;
            back.push(at);
        }
        Self { off, base, back }
    }
}

/// Person-minutes of removal and refit, at least 1.
pub(crate) fn cost(item: &Item) -> u64 {
    let handlings = [&item.removal, &item.refit];
    let minutes: i64 = handlings
        .iter()
        .filter_map(|h| h.as_ref())
        .map(crate::Handling::person_minutes)
        .sum();
    minutes.max(1) as u64
}

/// The groups that are not met, for an item to come off or to be exposed.
pub(crate) fn groups(
    airframe: &Airframe,
    target: usize,
    expose: bool,
    off: &[bool],
) -> Vec<OpenGroup> {
    let item = airframe.item_at(target);
    let mut open = airframe.layout().unmet(&item.behind, target, off);
    if !expose {
        open.extend(airframe.layout().unmet(&item.held_by, target, off));
    }
    open
}

pub(crate) fn removable(item: &Item) -> bool {
    item.fixed.is_none() && item.removal.is_some()
}

/// Everything that can matter to the targets: what parts what stands in their way, what
/// parts what stands in the way of that, and so on.
struct Cone {
    items: Vec<usize>,
    atom: Vec<Option<usize>>,
}

impl Cone {
    fn add(&mut self, groups: &[OpenGroup]) {
        for &at in groups.iter().flatten().flatten().flatten() {
            self.add_item(at);
        }
    }

    fn add_item(&mut self, at: usize) {
        if self.atom[at].is_none() {
            self.atom[at] = Some(self.items.len());
            self.items.push(at);
        }
    }
}

pub(crate) fn compile(
    airframe: &Airframe,
    start: &Start,
    targets: &[Target],
) -> Compiled {
    let mut cone = Cone { items: Vec::new(), atom: vec![None; start.off.len()] };
    let mut goals: Vec<Option<Vec<OpenGroup>>> = Vec::new();
    for target in targets {
        let place = airframe.layout().place(target.item());
        goals.push(place.map(|at| match target {
            Target::Free(_) if start.off[at] => Vec::new(),
            Target::Free(_) => vec![vec![vec![vec![at]]]],
            Target::Expose(_) => groups(airframe, at, true, &start.off),
        }));
    }
    goals.iter().flatten().for_each(|open| cone.add(open));
    let mut waits = Vec::new();
    let mut next = 0;
    while let Some(&at) = cone.items.get(next) {
        let possible = removable(airframe.item_at(at));
        let open =
            if possible { groups(airframe, at, false, &start.off) } else { vec![] };
        cone.add(&open);
        waits.push((possible, open));
        next += 1;
    }
    assemble(airframe, &cone, waits, &goals)
}

fn assemble(
    airframe: &Airframe,
    cone: &Cone,
    waits: Vec<(bool, Vec<OpenGroup>)>,
    goals: &[Option<Vec<OpenGroup>>],
) -> Compiled {
    let mut net = Net::new(cone.items.len());
    let mut allowed = Vec::new();
    for (atom, (possible, open)) in waits.into_iter().enumerate() {
        allowed.push(possible);
        for node in nodes(&mut net, &open, &cone.atom) {
            net.require(atom, node);
        }
    }
    let ends: Vec<Option<usize>> = goals
        .iter()
        .map(|open| {
            let nodes = nodes(&mut net, open.as_ref()?, &cone.atom);
            Some(net.all(&nodes))
        })
        .collect();
    let known: Vec<usize> = ends.iter().flatten().copied().collect();
    net.goal = net.all(&known);
    let mut run = net.run();
    (0..allowed.len()).filter(|atom| allowed[*atom]).for_each(|atom| run.allow(atom));
    let lost = |end: &Option<usize>| end.is_none_or(|node| !run.holds(node));
    let unreached = (0..ends.len()).filter(|at| lost(&ends[*at])).collect();
    let mut can_come_off = vec![false; cone.atom.len()];
    for (atom, &item) in cone.items.iter().enumerate() {
        can_come_off[item] = run.holds(atom);
        allowed[atom] &= run.holds(atom);
    }
    let cost = cone.items.iter().map(|at| cost(airframe.item_at(*at))).collect();
    Compiled { items: cone.items.clone(), cost, allowed, unreached, can_come_off, net }
}

/// One node for each group.
fn nodes(net: &mut Net, groups: &[OpenGroup], atom: &[Option<usize>]) -> Vec<usize> {
    let mut nodes = Vec::new();
    for group in groups {
        let mut ways = Vec::new();
        for way in group {
            let mut blockers = Vec::new();
            for parting in way {
                let atoms: Vec<_> = parting.iter().filter_map(|at| atom[*at]).collect();
                blockers.push(net.any(&atoms));
            }
            ways.push(net.all(&blockers));
        }
        nodes.push(net.any(&ways));
    }
    nodes
}

impl Compiled {
    /// The cheapest set, as items.
    pub(crate) fn least(&self, steps: u64) -> Found {
        let found = least(&self.net, &self.cost, &self.allowed, steps);
        let mut chosen: Vec<usize> =
            found.chosen.iter().map(|a| self.items[*a]).collect();
        chosen.sort_unstable();
        Found { chosen, ..found }
    }
}
