//! What is lifted, and whether the gear may lift it.

use std::collections::{BTreeMap, BTreeSet};

use quantity::Mass;

use super::Warning;
use super::compile::Start;
use super::way::Plan;
use crate::{Airframe, Gear};

/// A mass that is lifted.
#[derive(Debug, Clone, Default)]
pub(crate) struct Lifted {
    pub(crate) mass: Mass,
    /// Whether any mass was known.
    pub(crate) known: bool,
    pub(crate) unknown: Vec<usize>,
}

/// The mass of an item and what travels with it. An item without a mass that carries others
/// is a mere grouping.
pub(crate) fn lifted(airframe: &Airframe, at: usize, off: &[bool]) -> Lifted {
    let mut lifted = Lifted::default();
    for part in airframe.layout().travels(at, off).into_iter().chain([at]) {
        match &airframe.item_at(part).mass {
            Some(mass) => {
                lifted.mass += mass.value();
                lifted.known = true;
            }
            None if airframe.layout().carried(part).is_empty() => {
                lifted.unknown.push(part);
            }
            None => {}
        }
    }
    lifted.unknown.sort_unstable();
    lifted
}

/// Strips that lifting limits ask for, added to the plan, and what they cannot mend. A
/// strip is added where in some lawful order the lift would exceed the limit.
pub(crate) fn settle(
    airframe: &Airframe,
    start: &Start,
    plan: &mut Plan,
) -> (BTreeMap<usize, BTreeSet<usize>>, Vec<Warning>) {
    let mut lightens: BTreeMap<usize, BTreeSet<usize>> = BTreeMap::new();
    let mut warnings = Vec::new();
    for at in plan.removals.clone() {
        let Some((gear, limit)) = tightest(airframe, at) else { continue };
        let sure = before(plan, at);
        let off = with(&start.off, &sure);
        let heavy = lifted(airframe, at, &off);
        let item = airframe.item_at(at).id.clone();
        if !heavy.unknown.is_empty() {
            let (item, gear) = (item.clone(), gear.id.clone());
            let unknown = airframe.names(heavy.unknown);
            warnings.push(Warning::UnknownLift { item, gear, unknown });
        }
        if heavy.mass <= limit {
            continue;
        }
        let strips = strips(airframe, plan, at, &off);
        let least = lifted(airframe, at, &with(&off, &strips)).mass;
        if least > limit {
            let gear = gear.id.clone();
            warnings.push(Warning::OverLimit { item, gear, mass: least, limit });
            continue;
        }
        for strip in enough(airframe, at, &off, strips, limit) {
            plan.after.entry(at).or_default().insert(strip);
            lightens.entry(strip).or_default().insert(at);
        }
    }
    (lightens, warnings)
}

/// The gear with the smallest safe working load, of those that the removal uses.
fn tightest(airframe: &Airframe, at: usize) -> Option<(&Gear, Mass)> {
    let removal = airframe.item_at(at).removal.as_ref()?;
    let gear = removal.gear.iter().filter_map(|id| airframe.gear(id));
    gear.filter_map(|gear| Some((gear, gear.limit.as_ref()?.value())))
        .min_by_key(|(_, limit)| *limit)
}

/// Everything that comes off before an item in every lawful order.
fn before(plan: &Plan, at: usize) -> Vec<usize> {
    let mut seen = BTreeSet::new();
    let mut todo = vec![at];
    while let Some(at) = todo.pop() {
        for &earlier in plan.after.get(&at).into_iter().flatten() {
            if seen.insert(earlier) {
                todo.push(earlier);
            }
        }
    }
    seen.into_iter().collect()
}

fn with(off: &[bool], more: &[usize]) -> Vec<bool> {
    let mut off = off.to_vec();
    for at in more {
        off[*at] = true;
    }
    off
}

/// What travels with an item, comes off anyway, and can do so before it; heaviest first.
fn strips(airframe: &Airframe, plan: &Plan, at: usize, off: &[bool]) -> Vec<usize> {
    let removed: BTreeSet<usize> = plan.removals.iter().copied().collect();
    let along = airframe.layout().travels(at, off);
    let mut strips: Vec<usize> = along
        .into_iter()
        .filter(|part| removed.contains(part) && !before(plan, *part).contains(&at))
        .collect();
    strips.sort_by_key(|part| {
        (std::cmp::Reverse(lifted(airframe, *part, off).mass), *part)
    });
    strips
}

/// The first strips that bring the lift within the limit, without those that turn out
/// needless.
fn enough(
    airframe: &Airframe,
    at: usize,
    off: &[bool],
    strips: Vec<usize>,
    limit: Mass,
) -> Vec<usize> {
    let fits = |taken: &[usize]| lifted(airframe, at, &with(off, taken)).mass <= limit;
    let mut taken = Vec::new();
    for strip in strips {
        if fits(&taken) {
            break;
        }
        taken.push(strip);
    }
    for strip in taken.clone() {
        let fewer: Vec<usize> = taken.iter().copied().filter(|at| *at != strip).collect();
        if fits(&fewer) {
            taken = fewer;
        }
    }
    taken
}
