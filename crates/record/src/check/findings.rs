//! Findings, and decisions that contradict themselves.

use crate::check::notes::{At, Notes};
use crate::check::seasons::day;
use crate::{Condition, Decision, Disposition, Finding, Programme, Reach};

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    for finding in programme.findings.iter() {
        let at = At::new("finding", &finding.id, "found");
        if let Some(found) = finding.found {
            day(at, found, notes);
        }
        if let Some(decided) = &finding.disposition {
            accepted(at, finding, decided, notes);
            worked(programme, at, finding, decided, notes);
        }
    }
}

fn accepted(at: At<'_>, finding: &Finding, decided: &Disposition, notes: &mut Notes) {
    let unknown = finding.condition == Condition::Unknown;
    if unknown && decided.allows.is_some() {
        notes
            .error_at(
                at.field("allows"),
                "its condition is unknown, and unknown is never clear",
            )
            .hint("judge its condition first, or take `allows` away");
    }
    if decided.decision != Decision::Accept {
        return;
    }
    match finding.condition {
        Condition::Unknown => notes
            .error_at(
                at.field("decision"),
                "it is accepted, and nobody can tell yet how bad it is",
            )
            .hint("decide to investigate, or judge its condition first"),
        Condition::Hazard => notes
            .warning_at(
                at.field("decision"),
                "it is accepted although it endangers the aircraft",
            )
            .hint("is its condition right?"),
        Condition::OutsideLimits | Condition::WithinLimits => {}
    }
    if let Some(route) = &decided.route {
        notes
            .error_at(
                at.field("route"),
                format!("it is accepted as it is, and yet {route} is to be done"),
            )
            .hint("take the route away, or decide to repair");
    }
}

fn worked(
    programme: &Programme,
    at: At<'_>,
    finding: &Finding,
    decided: &Disposition,
    notes: &mut Notes,
) {
    let work = [Decision::Blend, Decision::Repair, Decision::Replace];
    let Some(name) = &decided.route else {
        if work.contains(&decided.decision) {
            let what = format!(
                "to {} it takes work, and no route says which",
                decided.decision.word()
            );
            notes
                .warning_at(at.field("decision"), what)
                .hint("give a route, or write the jobs");
        }
        return;
    };
    let item = programme.items.get(&finding.item);
    let off = programme.routes.get(name).is_some_and(|route| route.reach == Reach::Off);
    if let Some(why) = item.and_then(|item| item.fixed.as_ref()).filter(|_| off) {
        let what =
            format!("{name} needs {} off, and it never comes off: {why}", finding.item);
        notes
            .error_at(at.field("route"), what)
            .hint("choose a route whose reach is `exposed` or `as it is`");
    }
}
