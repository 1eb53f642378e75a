//! Rings: things each of which waits for the next.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use crate::Programme;
use crate::check::notes::Notes;

/// For each thing the things that it waits for.
type Waits<'a> = BTreeMap<&'a str, Vec<&'a str>>;

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    branches(programme, notes);
    jobs(programme, notes);
    steps(programme, notes);
}

/// A failed inspection must not lead back to itself for ever.
fn branches(programme: &Programme, notes: &mut Notes) {
    let mut waits = Waits::new();
    for route in programme.routes.iter() {
        let then = route.steps.iter().filter_map(|step| step.branch.as_ref());
        waits
            .insert(route.id.as_str(), then.map(|branch| branch.then.as_str()).collect());
    }
    for ring in rings(&waits) {
        let what = format!("a failure in it leads back to it: {}", shown(&ring));
        let leads = |step: &&crate::Step| {
            let then = step.branch.as_ref().map(|branch| branch.then.as_str());
            then == Some(ring[1 % ring.len()])
        };
        let route = programme.routes.iter().find(|route| route.id.as_str() == ring[0]);
        let step = route.and_then(|route| route.steps.iter().find(leads));
        let id = step.map_or_else(
            || ring[0].to_owned(),
            |step| format!("{}:{}", ring[0], step.id),
        );
        notes
            .error("step", id, "then", what)
            .hint("let the failure lead to a route of its own for the rework");
    }
}

fn jobs(programme: &Programme, notes: &mut Notes) {
    let mut waits = Waits::new();
    for job in programme.jobs.iter() {
        waits.insert(
            job.id.as_str(),
            job.after.iter().map(|key| key.0.as_str()).collect(),
        );
    }
    for ring in rings(&waits) {
        let what = format!(
            "each of these jobs comes after the next in a ring: {}",
            shown(&ring)
        );
        notes
            .error("job", ring[0], "after", what)
            .hint("take one of them out of `after`");
    }
}

fn steps(programme: &Programme, notes: &mut Notes) {
    for route in programme.routes.iter() {
        let names: BTreeSet<_> = route.steps.iter().map(|step| &step.id).collect();
        if names.len() < route.steps.len() {
            // Which of two steps of one name is meant nobody knows.
            continue;
        }
        let mut waits = Waits::new();
        let mut before: Option<&str> = None;
        for step in &route.steps {
            let after = match &step.after {
                Some(after) => after.iter().map(quantity::Id::as_str).collect(),
                None => before.into_iter().collect(),
            };
            before = Some(step.id.as_str());
            waits.insert(step.id.as_str(), after);
        }
        for ring in rings(&waits) {
            let what = format!(
                "each of these steps comes after the next in a ring: {}",
                shown(&ring)
            );
            let id = format!("{}:{}", route.id, ring[0]);
            notes
                .error("step", id, "after", what)
                .hint("take one of them out of `after`");
        }
    }
}

fn shown(ring: &[&str]) -> String {
    ring.iter().chain(ring.first()).copied().collect::<Vec<_>>().join(" > ")
}

/// Rings that share no member, each from its first member on.
fn rings<'a>(waits: &Waits<'a>) -> Vec<Vec<&'a str>> {
    let mut open = knotted(waits);
    let mut rings = Vec::new();
    while let Some(start) = open.first().copied() {
        match through(waits, &open, start) {
            Some(ring) => {
                open.retain(|name| !ring.contains(name));
                rings.push(ring);
            }
            None => {
                open.remove(start);
            }
        }
    }
    rings
}

/// What is left when everything is taken away, over and over, that waits for nothing left.
fn knotted<'a>(waits: &Waits<'a>) -> BTreeSet<&'a str> {
    let mut count: BTreeMap<&str, usize> = BTreeMap::new();
    let mut awaited: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (&name, after) in waits {
        let known = after.iter().filter(|other| waits.contains_key(*other));
        count.insert(name, known.clone().count());
        for other in known {
            awaited.entry(other).or_default().push(name);
        }
    }
    let mut free: Vec<&str> =
        count.iter().filter(|(_, count)| **count == 0).map(|(name, _)| *name).collect();
    let mut left: BTreeSet<&'a str> = waits.keys().copied().collect();
    while let Some(name) = free.pop() {
        left.remove(name);
        for waiting in awaited.get(name).into_iter().flatten() {
            if let Some(count) = count.get_mut(waiting) {
                *count -= 1;
                if *count == 0 {
                    free.push(waiting);
                }
            }
        }
    }
    left
}

/// A shortest way from a thing back to itself among those that are open.
fn through<'a>(
    waits: &Waits<'a>,
    open: &BTreeSet<&'a str>,
    start: &'a str,
) -> Option<Vec<&'a str>> {
    let mut from: BTreeMap<&str, &'a str> = BTreeMap::new();
    let mut queue = VecDeque::from([start]);
    while let Some(at) = queue.pop_front() {
        for &next in waits.get(at).into_iter().flatten() {
            if next == start {
                let back = std::iter::successors(Some(at), |at| from.get(at).copied());
                let mut ring: Vec<&str> = back.collect();
                ring.reverse();
                return Some(ring);
            }
            if open.contains(next) && !from.contains_key(next) {
                from.insert(next, at);
                queue.push_back(next);
            }
        }
    }
    None
}
