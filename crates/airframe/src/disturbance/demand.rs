//! The checks that an opening demands.

use std::collections::{BTreeMap, BTreeSet};

use super::broken::{Parted, parted_by};
use super::{CheckRule, CheckScope, CheckTrigger};
use crate::access::Opening;
use crate::{Airframe, CheckId, Connection, ItemId};

/// A check that must be done before the work is finished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DemandedCheck {
    /// The rule that demands it.
    pub rule: CheckId,
    /// What is checked, as shown and as used in keys: the name of a connection, of an item,
    /// of a unit, or `all`.
    pub thing: String,
    /// The refits that must be done before it.
    pub after_refit_of: Vec<ItemId>,
    /// The checks that must be done before it, by rule and thing.
    pub after_checks: Vec<(CheckId, String)>,
    /// What sets it off, a sentence each without a full stop.
    pub because: Vec<String>,
}

/// One cause: a connection that was broken, or an item that goes back.
struct Cause<'c> {
    connection: Option<&'c Connection>,
    /// Items by which the rule is judged.
    judged: BTreeSet<usize>,
    /// What is handled.
    handled: Vec<usize>,
    /// What must be back.
    back: BTreeSet<usize>,
}

/// A check in the making.
#[derive(Default)]
struct Demand {
    back: BTreeSet<usize>,
    because: Vec<String>,
}

/// The checks that an opening demands once it is put back, by the rules of the airframe:
/// in the order of the rules, then of connections or refits.
///
/// A rule with kinds of connection is set off by each such connection that was broken and
/// is whole again after the refits; its other parts must all fit one and the same item,
/// at an end of the connection or that came off. Any other rule is set off by each refit of
/// an item that its parts fit. A connection that stays broken, because something that was
/// off from the start does not go back, demands nothing yet.
pub fn checks(airframe: &Airframe, opening: &Opening) -> Vec<DemandedCheck> {
    let causes = causes(airframe, opening);
    let unit = |at: usize| unit(airframe, opening, at);
    let mut demanded = Vec::new();
    let mut backs: Vec<BTreeSet<usize>> = Vec::new();
    for rule in &airframe.parts().checks {
        for (thing, demand) in demands(airframe, rule, &causes, &unit) {
            demanded.push(DemandedCheck {
                rule: rule.id.clone(),
                thing,
                after_refit_of: airframe.names(demand.back.iter().copied()),
                after_checks: Vec::new(),
                because: demand.because,
            });
            backs.push(demand.back);
        }
    }
    chain(airframe, &mut demanded, &backs);
    demanded
}

fn causes<'c>(airframe: &'c Airframe, opening: &Opening) -> Vec<Cause<'c>> {
    let layout = airframe.layout();
    let back: Vec<usize> =
        opening.refits.iter().filter_map(|refit| layout.place(&refit.item)).collect();
    let removed = opening.removals.iter().map(|removal| &removal.item);
    let off = airframe.marked(&opening.off.iter().chain(removed).cloned().collect());
    let mut causes = Vec::new();
    for connection in &airframe.parts().connections {
        let parted = parted_by(airframe, connection, &off);
        if !parted.is_empty() && parted.all().all(|at| back.contains(&at)) {
            causes.push(rejoined(airframe, connection, &parted));
        }
    }
    causes.extend(back.iter().map(|at| Cause {
        connection: None,
        judged: BTreeSet::from([*at]),
        handled: vec![*at],
        back: BTreeSet::from([*at]),
    }));
    causes
}

fn rejoined<'c>(
    airframe: &Airframe,
    connection: &'c Connection,
    parted: &Parted,
) -> Cause<'c> {
    let ends = [Some(&connection.from), connection.to.as_ref()];
    let ends = ends.into_iter().flatten().filter_map(|id| airframe.layout().place(id));
    Cause {
        connection: Some(connection),
        judged: parted.all().chain(ends).collect(),
        handled: parted.innermost().collect(),
        back: parted.all().collect(),
    }
}

/// What a rule demands, by thing, in the order of the causes.
fn demands(
    airframe: &Airframe,
    rule: &CheckRule,
    causes: &[Cause<'_>],
    unit: &dyn Fn(usize) -> usize,
) -> Vec<(String, Demand)> {
    let mut place: BTreeMap<String, usize> = BTreeMap::new();
    let mut demands: Vec<(String, Demand)> = Vec::new();
    for cause in causes.iter().filter(|cause| fits(airframe, &rule.trigger, cause)) {
        for thing in things(airframe, rule.scope, cause, unit) {
            let at = *place.entry(thing.clone()).or_insert(demands.len());
            if at == demands.len() {
                demands.push((thing, Demand::default()));
            }
            let demand = &mut demands[at].1;
            demand.back.extend(&cause.back);
            demand.because.push(sentence(airframe, cause));
        }
    }
    demands
}

fn fits(airframe: &Airframe, trigger: &CheckTrigger, cause: &Cause<'_>) -> bool {
    let CheckTrigger { connections, vital, chapters, items } = trigger;
    let of_kind = match cause.connection {
        Some(connection) => connections.contains(&connection.kind),
        None => connections.is_empty(),
    };
    of_kind
        && cause.judged.iter().map(|at| airframe.item_at(*at)).any(|item| {
            let listed = || {
                item.chapter.is_some_and(|c| chapters.iter().any(|of| c.is_within(*of)))
            };
            (!vital || item.vital)
                && (chapters.is_empty() || listed())
                && (items.is_empty() || items.contains(&item.id))
        })
}

fn things(
    airframe: &Airframe,
    scope: CheckScope,
    cause: &Cause<'_>,
    unit: &dyn Fn(usize) -> usize,
) -> BTreeSet<String> {
    let name = |at: usize| airframe.item_at(at).id.to_string();
    let handled = cause.handled.iter().copied();
    match (scope, cause.connection) {
        (CheckScope::Connection, Some(connection)) => {
            BTreeSet::from([connection.id.to_string()])
        }
        (CheckScope::Connection, None) | (CheckScope::Item, _) => {
            handled.map(name).collect()
        }
        (CheckScope::Unit, _) => handled.map(|at| name(unit(at))).collect(),
        (CheckScope::Once, _) => BTreeSet::from(["all".to_owned()]),
    }
}

/// The outermost carrier that goes back, or the item itself.
fn unit(airframe: &Airframe, opening: &Opening, at: usize) -> usize {
    let back = |at: &usize| {
        opening.refits.iter().any(|refit| refit.item == airframe.item_at(*at).id)
    };
    airframe.layout().chain(at).filter(back).last().unwrap_or(at)
}

fn sentence(airframe: &Airframe, cause: &Cause<'_>) -> String {
    let Some(connection) = cause.connection else {
        let names = airframe.names(cause.back.iter().copied());
        let names: Vec<_> = names.iter().map(ToString::to_string).collect();
        return format!("{} came off", names.join(", "));
    };
    let off: Vec<_> =
        cause.back.iter().map(|at| airframe.item_at(*at).id.as_str()).collect();
    format!(
        "{} ({}, {}) was broken: {} off",
        connection.id,
        connection.kind.word(),
        connection.name,
        off.join(", ")
    )
}

/// Puts each check after those of the rules that come before it and have to do with the
/// same refits or the same thing, or are for all.
fn chain(airframe: &Airframe, demanded: &mut [DemandedCheck], backs: &[BTreeSet<usize>]) {
    for later in 0..demanded.len() {
        let Some(rule) = airframe.check_rule(&demanded[later].rule) else { continue };
        let related = |first: &usize| {
            let (one, other) = (&demanded[*first], &demanded[later]);
            rule.after.contains(&one.rule)
                && (one.thing == other.thing
                    || [&one.thing, &other.thing].into_iter().any(|thing| thing == "all")
                    || !backs[*first].is_disjoint(&backs[later]))
        };
        let first = (0..demanded.len()).filter(related);
        let after =
            first.map(|at| (demanded[at].rule.clone(), demanded[at].thing.clone()));
        demanded[later].after_checks = after.collect();
    }
}
