//! Which way in is used, once it is known what comes off.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet};

use super::compile::{Start, groups};
use super::{Reached, Target};
use crate::Airframe;
use crate::layout::OpenGroup;

/// What comes off, and what must come off before what.
pub(crate) struct Plan {
    /// What comes off now.
    pub(crate) removals: Vec<usize>,
    /// For each removal, and each item that goes back though it was off from the start, what
    /// comes off before it.
    pub(crate) after: BTreeMap<usize, BTreeSet<usize>>,
    /// What was off from the start and goes back, in the order in which it would have come
    /// off.
    pub(crate) earlier: Vec<usize>,
    pub(crate) reached: Vec<Reached>,
    /// The removals that each target asks for, by item.
    pub(crate) wanted: Vec<(Target, Vec<usize>)>,
}

/// How early each item comes off; nothing while it is not settled.
type Rounds = Vec<Option<usize>>;

/// Chooses, item by item in rounds, the way in that is open earliest and takes fewest items.
pub(crate) fn choose(
    airframe: &Airframe,
    start: &Start,
    chosen: &[usize],
    targets: &[Target],
) -> Plan {
    let mut after = BTreeMap::new();
    let mut rounds: Rounds = vec![None; start.off.len()];
    let mut round = settle(airframe, start, &start.back, &mut rounds, &mut after, 0);
    // What was off from the start may lack the data that would say how it came off.
    for &at in &start.back {
        if rounds[at].is_none() {
            rounds[at] = Some(round);
            after.insert(at, BTreeSet::new());
        }
    }
    round += 1;
    settle(airframe, start, chosen, &mut rounds, &mut after, round);
    let mut earlier = start.back.clone();
    earlier.sort_by_key(|at| (rounds[*at], *at));
    let mut reached = Vec::new();
    let mut wanted = Vec::new();
    for target in targets {
        let Some(at) = airframe.layout().place(target.item()) else { continue };
        let (now, back) = reach(airframe, start, target, at, &rounds);
        reached.push(Reached {
            target: target.clone(),
            after: airframe.names(now.iter().copied()),
            holds: airframe.names(back),
        });
        wanted.push((target.clone(), now));
    }
    Plan { removals: chosen.to_vec(), after, earlier, reached, wanted }
}

/// Settles as many of `items` as can be, and says in how many rounds.
fn settle(
    airframe: &Airframe,
    start: &Start,
    items: &[usize],
    rounds: &mut Rounds,
    after: &mut BTreeMap<usize, BTreeSet<usize>>,
    first: usize,
) -> usize {
    let mut left: Vec<usize> = items.to_vec();
    let mut round = first;
    loop {
        let mut fired = Vec::new();
        for &at in &left {
            if let Some(way) = way(airframe, &start.base, at, false, rounds) {
                fired.push((at, way));
            }
        }
        if fired.is_empty() {
            return round;
        }
        for (at, way) in fired {
            rounds[at] = Some(round);
            after.insert(at, way);
        }
        left.retain(|at| rounds[*at].is_none());
        round += 1;
    }
}

/// The removals that a target asks for, and all that must not go back before the work on
/// it is done.
fn reach(
    airframe: &Airframe,
    start: &Start,
    target: &Target,
    at: usize,
    rounds: &Rounds,
) -> (Vec<usize>, Vec<usize>) {
    let holds = match target {
        Target::Free(_) => {
            rounds[at].map_or_else(BTreeSet::new, |_| BTreeSet::from([at]))
        }
        Target::Expose(_) => {
            let mut base = start.base.clone();
            base[at] = start.off[at];
            let way = way(airframe, &base, at, true, rounds).unwrap_or_default();
            // An item in its place is not exposed by its own removal, and what was off
            // from the start is out of its place until it goes back.
            let out = start.off[at] && rounds[at].is_some();
            way.into_iter().chain(out.then_some(at)).collect()
        }
    };
    let now = holds.iter().copied().filter(|at| !start.off[*at]).collect();
    let back = holds.into_iter().collect();
    (now, back)
}

/// The best way in among those that what is settled opens: nothing if there is none.
fn way(
    airframe: &Airframe,
    base: &[bool],
    at: usize,
    expose: bool,
    rounds: &Rounds,
) -> Option<BTreeSet<usize>> {
    let open = groups(airframe, at, expose, base);
    let mut picked: BTreeSet<usize> = BTreeSet::new();
    // Groups with one way first: what they take may serve the others.
    let mut order: Vec<&OpenGroup> = open.iter().collect();
    order.sort_by_key(|group| group.len());
    for group in order {
        let ways = group.iter().filter_map(|way| pick(way, rounds, &picked));
        let latest =
            |way: &BTreeSet<usize>| way.iter().filter_map(|at| rounds[*at]).max();
        let best = ways.min_by_key(|way| {
            let more = way.difference(&picked).count();
            (latest(way), more, way.clone())
        })?;
        picked.extend(best);
    }
    Some(needed_of(airframe, base, at, expose, picked, rounds))
}

/// For each blocker of a way, the earliest item that parts it, by preference one that is
/// taken already.
fn pick(
    way: &[Vec<usize>],
    rounds: &Rounds,
    picked: &BTreeSet<usize>,
) -> Option<BTreeSet<usize>> {
    let earliest = |parting: &Vec<usize>| {
        let settled = parting.iter().filter(|at| rounds[**at].is_some());
        settled.copied().min_by_key(|at| (!picked.contains(at), rounds[*at], *at))
    };
    way.iter().map(earliest).collect()
}

/// Without what the others make needless, the latest first.
fn needed_of(
    airframe: &Airframe,
    base: &[bool],
    at: usize,
    expose: bool,
    mut picked: BTreeSet<usize>,
    rounds: &Rounds,
) -> BTreeSet<usize> {
    let mut order: Vec<usize> = picked.iter().copied().collect();
    order.sort_by_key(|at| (Reverse(rounds[*at]), *at));
    let mut off = base.to_vec();
    for at in &picked {
        off[*at] = true;
    }
    for item in order {
        off[item] = false;
        if groups(airframe, at, expose, &off).is_empty() {
            picked.remove(&item);
        } else {
            off[item] = true;
        }
    }
    picked
}
