//! The order of removals, and the way back.

use std::collections::{BTreeMap, BTreeSet};

use super::compile::Start;
use super::least::Found;
use super::lift::{self, lifted};
use super::way::Plan;
use super::{Opening, Options, Refit, Removal, Warning, Why, compile, tally};
use crate::Airframe;
use crate::rings::ring;
use crate::support::Balance;

/// Everything there is to say about a plan.
pub(crate) fn opening(
    airframe: &Airframe,
    start: &Start,
    mut plan: Plan,
    found: &Found,
    options: &Options,
) -> Opening {
    let (lightens, mut warnings) = lift::settle(airframe, start, &mut plan);
    let order = removal_order(airframe, start, &plan, options);
    let (refits, more) = refit_order(airframe, start, &plan, &order);
    warnings.extend(more);
    let going_back: Vec<usize> = refits.iter().map(|(at, _)| *at).collect();
    let everything = (0..start.off.len()).filter(|at| start.off[*at]);
    Opening {
        off: airframe.names(everything).into_iter().collect(),
        removals: removals(airframe, start, &plan, &order, &lightens),
        refits: refits
            .into_iter()
            .map(|(at, after)| Refit {
                item: airframe.item_at(at).id.clone(),
                after: airframe.names(after),
            })
            .collect(),
        cost: order.iter().map(|at| compile::cost(airframe.item_at(*at))).sum(),
        bound: found.bound,
        optimal: found.bound == found.cost,
        hours: tally::hours(airframe, &order, &going_back),
        stands: tally::stands(airframe, &going_back),
        gear: tally::gear(airframe, &order, &going_back),
        reached: plan.reached,
        warnings,
    }
}

/// A lawful order: by target, as asked, each preceded by what it needs; units before what
/// they carry, where both come off and nothing speaks against it (a power unit comes off
/// whole and is stripped on the bench: common practice, no source); where the aircraft
/// would lose its margin, the removal that keeps the best one comes first.
fn removal_order(
    airframe: &Airframe,
    start: &Start,
    plan: &Plan,
    options: &Options,
) -> Vec<usize> {
    let arrangement =
        options.arrangement.as_ref().and_then(|id| airframe.arrangement(id));
    let mut balance =
        arrangement.map(|a| Balance::new(airframe, start.off.clone(), a, &options.stage));
    let mut left = by_target(plan);
    let now: BTreeSet<usize> = left.iter().copied().collect();
    let mut waits: BTreeMap<usize, BTreeSet<usize>> = left
        .iter()
        .map(|at| (*at, plan.after[at].intersection(&now).copied().collect()))
        .collect();
    units_first(airframe, &left, &mut waits);
    let mut order = Vec::new();
    while !left.is_empty() {
        let ready = left.iter().copied().filter(|at| waits[at].is_empty());
        let Some(next) = steadiest(balance.as_ref(), ready) else { break };
        if let Some(balance) = &mut balance {
            balance.set(next, true);
        }
        left.retain(|at| *at != next);
        for after in waits.values_mut() {
            after.remove(&next);
        }
        order.push(next);
    }
    order
}

/// Lets what is carried wait for its carriers, unless these wait for it by any way.
fn units_first(
    airframe: &Airframe,
    removals: &[usize],
    waits: &mut BTreeMap<usize, BTreeSet<usize>>,
) {
    for &at in removals {
        let carriers: Vec<usize> = airframe.layout().chain(at).skip(1).collect();
        for carrier in carriers {
            if waits.contains_key(&carrier) && !waits_for(waits, carrier, at) {
                waits.entry(at).or_default().insert(carrier);
            }
        }
    }
}

/// Whether one removal waits for another, itself or by way of others.
fn waits_for(waits: &BTreeMap<usize, BTreeSet<usize>>, one: usize, other: usize) -> bool {
    let mut seen = BTreeSet::new();
    let mut path = vec![one];
    while let Some(at) = path.pop() {
        if at == other {
            return true;
        }
        if seen.insert(at) {
            path.extend(waits.get(&at).into_iter().flatten());
        }
    }
    false
}

/// The first that keeps the margin that was asked for, or else the one that keeps the most.
fn steadiest(
    balance: Option<&Balance<'_>>,
    ready: impl Iterator<Item = usize>,
) -> Option<usize> {
    let mut best: Option<(f64, usize)> = None;
    for at in ready {
        let spare = balance.map_or(0.0, |balance| balance.spare_without(at));
        if spare >= 0.0 {
            return Some(at);
        }
        if best.is_none_or(|(most, _)| spare > most) {
            best = Some((spare, at));
        }
    }
    best.map(|(_, at)| at)
}

/// The removals, each after what it needs, target by target.
fn by_target(plan: &Plan) -> Vec<usize> {
    let removals: BTreeSet<usize> = plan.removals.iter().copied().collect();
    let roots = plan.wanted.iter().flat_map(|(_, items)| items).copied();
    let mut order = Vec::new();
    let mut seen = BTreeSet::new();
    for root in roots.chain(plan.removals.iter().copied()) {
        let mut path = vec![(root, false)];
        while let Some((at, done)) = path.pop() {
            if done {
                order.push(at);
            } else if removals.contains(&at) && seen.insert(at) {
                path.push((at, true));
                path.extend(plan.after[&at].iter().rev().map(|at| (*at, false)));
            }
        }
    }
    order
}

fn removals(
    airframe: &Airframe,
    start: &Start,
    plan: &Plan,
    order: &[usize],
    lightens: &BTreeMap<usize, BTreeSet<usize>>,
) -> Vec<Removal> {
    let layout = airframe.layout();
    let mut off = start.off.clone();
    let mut removals = Vec::new();
    for &at in order {
        let lifted = lifted(airframe, at, &off);
        let unit = layout.chain(at).skip(1).find(|carrier| off[*carrier]);
        let after = plan.after[&at].iter().copied().filter(|before| !start.off[*before]);
        removals.push(Removal {
            item: airframe.item_at(at).id.clone(),
            after: airframe.names(after),
            on_unit: unit.map(|unit| airframe.item_at(unit).id.clone()),
            travels: airframe.names(layout.travels(at, &off)),
            why: why(airframe, plan, at, lightens.get(&at)),
            lifted_mass: lifted.known.then_some(lifted.mass),
            unknown_masses: airframe.names(lifted.unknown),
        });
        off[at] = true;
    }
    removals
}

fn why(
    airframe: &Airframe,
    plan: &Plan,
    at: usize,
    lightens: Option<&BTreeSet<usize>>,
) -> Vec<Why> {
    let name = |at: usize| airframe.item_at(at).id.clone();
    let lightened = |other: &usize| lightens.is_some_and(|units| units.contains(other));
    let targets = plan.wanted.iter().filter(|(_, items)| items.contains(&at));
    let mut why: Vec<Why> =
        targets.map(|(target, _)| Why::Target(target.clone())).collect();
    for &other in &plan.removals {
        if lightened(&other) {
            why.push(Why::Lightens(name(other)));
        } else if plan.after[&other].contains(&at) {
            why.push(Why::Item(name(other)));
        }
    }
    why.dedup();
    why
}

/// What goes back, each with what must be back before it: removal reversed, and what
/// `refit_after` asks for besides.
fn refit_order(
    airframe: &Airframe,
    start: &Start,
    plan: &Plan,
    order: &[usize],
) -> (Vec<(usize, BTreeSet<usize>)>, Vec<Warning>) {
    // What was off already goes back last, in the reverse of how it would have come off.
    let sequence: Vec<usize> = plan.earlier.iter().chain(order).rev().copied().collect();
    let mut waits: BTreeMap<usize, BTreeSet<usize>> =
        sequence.iter().map(|at| (*at, BTreeSet::new())).collect();
    for (&later, before) in &plan.after {
        for first in before {
            if let Some(waiting) = waits.get_mut(first) {
                waiting.insert(later);
            }
        }
    }
    let reversed = waits.clone();
    let mut warnings = Vec::new();
    for &at in &sequence {
        for id in &airframe.item_at(at).refit_after {
            let Some(first) = airframe.layout().place(id) else { continue };
            if waits.contains_key(&first) {
                waits.entry(at).or_default().insert(first);
            } else if start.off[first] {
                let item = airframe.item_at(at).id.clone();
                warnings.push(Warning::RefitWaits { item, absent: id.clone() });
            }
        }
    }
    while let Some(round) = ring(&waits) {
        warnings.push(Warning::RefitRing(airframe.names(round.iter().copied())));
        drop_within(&mut waits, &reversed, &round);
    }
    (in_order(&sequence, &waits), warnings)
}

/// Drops what `refit_after` adds between neighbours of a ring.
fn drop_within(
    waits: &mut BTreeMap<usize, BTreeSet<usize>>,
    reversed: &BTreeMap<usize, BTreeSet<usize>>,
    round: &[usize],
) {
    let next = round.iter().cycle().skip(1);
    for (at, after) in round.iter().zip(next) {
        if !reversed[at].contains(after)
            && let Some(waiting) = waits.get_mut(at)
        {
            waiting.remove(after);
        }
    }
}

/// As near to the sequence as what waits for what allows.
fn in_order(
    sequence: &[usize],
    waits: &BTreeMap<usize, BTreeSet<usize>>,
) -> Vec<(usize, BTreeSet<usize>)> {
    let mut left = sequence.to_vec();
    let mut done = BTreeSet::new();
    let mut order = Vec::new();
    while let Some(place) = left.iter().position(|at| waits[at].is_subset(&done)) {
        let at = left.remove(place);
        done.insert(at);
        order.push((at, waits[&at].clone()));
    }
    order
}
