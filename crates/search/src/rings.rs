//! Proofs along paths: rings of lags, and crowds of occupancies.
//!
//! A step leads from an event to another that comes at least so much later, whatever the
//! calendar says. A ring of steps with a positive sum can't be kept.
//!
//! A step path without a negative step shows which event comes first. At the moment at which
//! an occupancy `b` begins, every occupancy `a` of the same resource is in use that begins no
//! later (there is a path from its first event to that of `b`) and surely ends later (there is
//! a path with a positive step from the first event of `b` to the last of `a`). If their
//! amounts exceed the capacity, no order of the work helps: the stands are nested too deep.
//!
//! Worked case. One trestle. A wing needs it from its removal to its refit, the float under
//! that wing too, and the float comes off after the wing and goes back before it.

use timetable::{OccupancyId, ResourceId, TaskId};

use crate::arc::Node;
use crate::conflict::{Part, Parts, part_of};
use crate::model::Model;

/// A step along a ring: an arc, or a task from its start to its finish or back.
#[derive(Clone, Copy)]
struct Edge {
    from: Node,
    to: Node,
    lag: i64,
    part: Part,
}

/// The steps whose length does not depend on the time.
fn edges(model: &Model) -> Vec<Edge> {
    let arcs = model.arcs.iter().filter_map(|arc| {
        let lag = i64::from(arc.implied()?);
        Some(Edge { from: arc.from, to: arc.to, lag, part: part_of(arc.source) })
    });
    let spans = model.acts.iter().enumerate().flat_map(|(task, act)| {
        let (start, finish, part) =
            (2 * task, 2 * task + 1, Part::Task(TaskId::new(task)));
        let works = || act.ways.iter().map(|way| i64::from(way.pattern.work()));
        let least = works().min().unwrap_or(0);
        let even = act
            .ways
            .iter()
            .all(|way| !matches!(way.pattern, crate::pattern::Pattern::Pausing(..)));
        let there = Edge { from: start, to: finish, lag: least, part };
        let greatest = works().max().unwrap_or(0);
        let back = Edge { from: finish, to: start, lag: -greatest, part };
        let free = act.fixed.is_none();
        [free.then_some(there), (free && even).then_some(back)].into_iter().flatten()
    });
    arcs.chain(spans).collect()
}

/// A ring of steps with a positive sum (Bellman and Ford: if an event is still raised when
/// every chain without a ring has been followed, following back finds one).
pub(crate) fn ring(model: &Model) -> Option<Parts> {
    if model.windows.failed.is_none() && !model.windows.tired {
        return None;
    }
    let edges = edges(model);
    let count = 2 * model.count();
    let mut least = vec![0_i64; count];
    let mut parent: Vec<Option<usize>> = vec![None; count];
    let mut raised = None;
    for _ in 0..=count {
        raised = None;
        for (number, edge) in edges.iter().enumerate() {
            if least[edge.from] + edge.lag > least[edge.to] {
                least[edge.to] = least[edge.from] + edge.lag;
                parent[edge.to] = Some(number);
                raised = Some(edge.to);
            }
        }
        raised?;
    }
    let mut node = raised?;
    for _ in 0..count {
        node = edges[parent[node]?].from;
    }
    let (first, mut parts) = (node, Parts::new());
    loop {
        let edge = edges[parent[node]?];
        parts.insert(edge.part);
        node = edge.from;
        if node == first {
            return Some(parts);
        }
    }
}

/// Occupancies that are all in use when one of them begins, and too many.
pub(crate) fn crowd(model: &Model) -> Option<Parts> {
    if model.holds.len() < 2 {
        return None;
    }
    let edges: Vec<Edge> =
        edges(model).into_iter().filter(|edge| edge.lag >= 0).collect();
    let mut out = vec![Vec::new(); 2 * model.count()];
    let mut into = vec![Vec::new(); 2 * model.count()];
    for (number, edge) in edges.iter().enumerate() {
        out[edge.from].push(number);
        into[edge.to].push(number);
    }
    (0..model.holds.len()).find_map(|last| crowd_at(model, &edges, &out, &into, last))
}

/// How an event was reached: by which step, and whether a positive step was among them.
#[derive(Clone, Copy)]
struct Reached {
    by: usize,
    before: bool,
}

/// By event, without and with a positive step on the way.
type Reach = Vec<[Option<Reached>; 2]>;

fn crowd_at(
    model: &Model,
    edges: &[Edge],
    out: &[Vec<usize>],
    into: &[Vec<usize>],
    last: usize,
) -> Option<Parts> {
    let hold = model.holds[last];
    let peak = model.problem.resource(ResourceId::new(hold.resource)).capacity.peak();
    let rivals = || {
        let all = model.holds.iter().enumerate();
        all.filter(|(_, other)| other.resource == hold.resource)
    };
    let most: i64 = rivals().map(|(_, other)| i64::from(other.amount)).sum();
    // What was in use before the plan begins is not judged.
    if most <= i64::from(peak) || model.fixed(hold.from).is_some() {
        return None;
    }
    let later = reach(edges, out, hold.from, |edge| edge.to);
    later[hold.to][1]?;
    let earlier = reach(edges, into, hold.from, |edge| edge.from);
    let begun =
        |node: Node| node == hold.from || earlier[node].iter().any(Option::is_some);
    let mut parts = Parts::from([Part::Capacity(ResourceId::new(hold.resource))]);
    let mut sum = 0;
    for (number, other) in rivals() {
        if later[other.to][1].is_none() || !begun(other.from) {
            continue;
        }
        sum += i64::from(other.amount);
        parts.insert(Part::Occupancy(OccupancyId::new(number)));
        trace(edges, &later, other.to, true, |edge| edge.from, &mut parts);
        let positive = earlier[other.from][0].is_none();
        trace(edges, &earlier, other.from, positive, |edge| edge.to, &mut parts);
    }
    (sum > i64::from(peak)).then_some(parts)
}

/// The events that steps lead to.
fn reach(
    edges: &[Edge],
    steps: &[Vec<usize>],
    from: Node,
    end: impl Fn(&Edge) -> Node,
) -> Reach {
    let mut reached: Reach = vec![[None; 2]; steps.len()];
    let mut open = vec![(from, false)];
    while let Some((node, before)) = open.pop() {
        for &by in &steps[node] {
            let (to, positive) = (end(&edges[by]), before || edges[by].lag > 0);
            let place = &mut reached[to][usize::from(positive)];
            if place.is_none() && (to, positive) != (from, false) {
                *place = Some(Reached { by, before });
                open.push((to, positive));
            }
        }
    }
    reached
}

/// The rules along the way back from an event that was reached.
fn trace(
    edges: &[Edge],
    reached: &Reach,
    from: Node,
    positive: bool,
    back: impl Fn(&Edge) -> Node,
    parts: &mut Parts,
) {
    let (mut node, mut positive) = (from, positive);
    while let Some(Reached { by, before }) = reached[node][usize::from(positive)] {
        parts.insert(edges[by].part);
        node = back(&edges[by]);
        positive = before;
    }
}
