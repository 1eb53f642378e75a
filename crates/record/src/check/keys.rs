//! Names of jobs, as far as what they derive from can be known.

use std::collections::BTreeSet;

use airframe::{CheckId, CheckScope, ConnectionId, ItemId};

use crate::check::names::RESERVED;
use crate::check::notes::{At, Notes};
use crate::{FindingId, JobId, JobKey, Programme, RouteId};

/// What is wrong with a name, and what to do about it.
type Fault = (String, String);

const FORMS: &str =
    "a job is OFF:item, ON:item, CHECK:check:thing, finding:step, or a written job";

/// Notes a name that is not the name of any job.
pub(crate) fn check(programme: &Programme, at: At<'_>, key: &JobKey, notes: &mut Notes) {
    let parts: Vec<&str> = key.0.split(':').collect();
    let fault = match parts.as_slice() {
        [job] => written(programme, at, job, notes),
        ["OFF" | "ON", item] => moved(programme, at, item, notes),
        ["CHECK", rule] => checked(programme, at, rule, None, notes),
        ["CHECK", rule, thing] => checked(programme, at, rule, Some(thing), notes),
        [finding, step] => routed(programme, at, finding, step, notes),
        _ => Some((format!("{key} is not the name of a job"), FORMS.to_owned())),
    };
    if let Some((what, hint)) = fault {
        notes.error_at(at, what).hint(hint);
    }
}

fn written(p: &Programme, at: At<'_>, job: &str, notes: &mut Notes) -> Option<Fault> {
    if JobId::new(job).is_ok_and(|id| p.jobs.has(&id)) {
        return None;
    }
    let what = format!("there is no job {job}");
    if FindingId::new(job).is_ok_and(|id| p.findings.has(&id)) {
        return Some((what, format!("the jobs of a finding are called {job}:step")));
    }
    let known = p.jobs.names().map(ToString::to_string);
    Some((what, notes.advice(job, known, "job", at.field)))
}

/// A removal or a refit.
fn moved(p: &Programme, at: At<'_>, item: &str, notes: &mut Notes) -> Option<Fault> {
    let Some(found) = ItemId::new(item).ok().and_then(|id| p.items.get(&id)) else {
        let known = p.items.names().map(ToString::to_string);
        let hint = notes.advice(item, known, "item", at.field);
        return Some((format!("there is no item {item}"), hint));
    };
    let why = found.fixed.as_ref()?;
    Some((format!("{item} never comes off: {why}"), "name another job".to_owned()))
}

/// A check after a disturbance.
fn checked(
    p: &Programme,
    at: At<'_>,
    rule: &str,
    thing: Option<&str>,
    notes: &mut Notes,
) -> Option<Fault> {
    let Some(found) = CheckId::new(rule).ok().and_then(|id| p.checks.get(&id)) else {
        let known = p.checks.names().map(ToString::to_string);
        let hint = notes.advice(rule, known, "check", at.field);
        return Some((format!("there is no check {rule}"), hint));
    };
    let on = match found.scope {
        // What stands behind the name of a check that is done once is only a reminder.
        CheckScope::Once => return None,
        CheckScope::Connection => "connection",
        CheckScope::Item | CheckScope::Unit => "item",
    };
    let Some(thing) = thing else {
        let what = format!("the check {rule} is done for each {on}, and none is named");
        return Some((what, format!("write CHECK:{rule}: and the {on}")));
    };
    let connection = ConnectionId::new(thing).is_ok_and(|id| p.connections.has(&id));
    let item = ItemId::new(thing).is_ok_and(|id| p.items.has(&id));
    if (on == "connection" && connection) || (on == "item" && item) {
        return None;
    }
    let hint = if on == "connection" {
        notes.advice(thing, p.connections.names().map(ToString::to_string), on, at.field)
    } else {
        notes.advice(thing, p.items.names().map(ToString::to_string), on, at.field)
    };
    Some((format!("there is no {on} {thing}"), hint))
}

/// A step of a finding's route.
fn routed(
    p: &Programme,
    at: At<'_>,
    finding: &str,
    step: &str,
    notes: &mut Notes,
) -> Option<Fault> {
    let Some(found) = FindingId::new(finding).ok().and_then(|id| p.findings.get(&id))
    else {
        let known: Vec<String> = RESERVED
            .iter()
            .map(ToString::to_string)
            .chain(p.findings.names().map(ToString::to_string))
            .collect();
        let hint = notes.advice(finding, known.into_iter(), "finding", at.field);
        return Some((format!("there is no finding {finding}"), hint));
    };
    let route = found.disposition.as_ref().and_then(|decided| decided.route.as_ref());
    let Some(route) = route else {
        let what = format!("the finding {finding} has no route, and so no jobs");
        return Some((what, "give the finding a route, or name another job".to_owned()));
    };
    // An unknown route is reported where it is named.
    p.routes.get(route)?;
    let steps = steps(p, route);
    if steps.contains(step) {
        return None;
    }
    let hint = notes.advice(step, steps.into_iter(), "step", at.field);
    Some((format!("there is no step {step} in the route {route}"), hint))
}

/// The steps of a route and of every route that a failure in it can lead to.
fn steps(p: &Programme, route: &RouteId) -> BTreeSet<String> {
    let mut names = BTreeSet::new();
    let mut seen = BTreeSet::from([route]);
    let mut open = vec![route];
    while let Some(route) = open.pop() {
        for step in p.routes.get(route).iter().flat_map(|route| &route.steps) {
            names.insert(step.id.to_string());
            let then = step.branch.as_ref().map(|branch| &branch.then);
            open.extend(then.filter(|then| seen.insert(then)));
        }
    }
    names
}
