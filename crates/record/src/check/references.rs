//! Names that do not exist.

use airframe::{Crew, SkillId};

use crate::check::keys;
use crate::check::notes::{At, Notes};
use crate::{Performer, Programme, Route, StepId};

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    let p = programme;
    for season in p.seasons.iter() {
        let at = At::new("season", &season.id, "gate");
        notes.refer(at, &p.gates, [&season.gate]);
        notes.refer(at.field("arrangement"), &p.arrangements, &season.arrangement);
    }
    for person in p.people.iter() {
        notes.refer(At::new("person", &person.id, "skills"), &p.skills, &person.skills);
    }
    for pack in p.packs.iter() {
        let at = At::new("pack", &pack.id, "season");
        notes.refer(at, &p.seasons, &pack.season);
        notes.refer(at.field("gate"), &p.gates, &pack.gate);
        notes.refer(at.field("off"), &p.items, &pack.off);
        notes.refer(at.field("exposed"), &p.items, &pack.exposed);
    }
    findings(p, notes);
    for route in p.routes.iter() {
        steps(p, route, notes);
    }
    for job in p.jobs.iter() {
        let at = At::new("job", &job.id, "pack");
        notes.refer(at, &p.packs, [&job.pack]);
        notes.refer(at.field("item"), &p.items, &job.item);
        notes.refer(at.field("place"), &p.places, &job.place);
        notes.refer(at.field("stand"), &p.stands, &job.stand);
        performer(p, at, &job.by, notes);
        for key in &job.after {
            keys::check(p, at.field("after"), key, notes);
        }
    }
    for requirement in p.requirements.iter() {
        let at = At::new("requirement", &requirement.id, "gate");
        notes.refer(at, &p.gates, [&requirement.gate]);
        notes.refer(at.field("fitted"), &p.items, &requirement.fitted);
    }
    for outline in p.outlines.iter() {
        notes.refer(At::new("outline", &outline.id, "zone"), &p.zones, &outline.zone);
    }
    for actual in p.actuals.iter() {
        keys::check(p, At::new("actual", &actual.job, "job"), &actual.job, notes);
    }
}

fn findings(p: &Programme, notes: &mut Notes) {
    for finding in p.findings.iter() {
        let at = At::new("finding", &finding.id, "item");
        notes.refer(at, &p.items, [&finding.item]);
        notes.refer(at.field("zone"), &p.zones, &finding.zone);
        notes.refer(at.field("by"), &p.people, &finding.by);
        notes.refer(at.field("pack"), &p.packs, &finding.pack);
        let Some(decided) = &finding.disposition else { continue };
        notes.refer(at.field("route"), &p.routes, &decided.route);
        notes.refer(at.field("allows"), &p.gates, &decided.allows);
        notes.refer(at.field("decided_by"), &p.people, &decided.by);
    }
}

fn steps(p: &Programme, route: &Route, notes: &mut Notes) {
    for step in &route.steps {
        let id = format!("{}:{}", route.id, step.id);
        let at = At::new("step", &id, "place");
        notes.refer(at, &p.places, &step.place);
        notes.refer(at.field("stand"), &p.stands, &step.stand);
        let then = step.branch.as_ref().map(|branch| &branch.then);
        notes.refer(at.field("then"), &p.routes, then);
        performer(p, at, &step.by, notes);
        for after in step.after.iter().flatten() {
            follows(route, at.field("after"), after, notes);
        }
    }
}

fn follows(route: &Route, at: At<'_>, after: &StepId, notes: &mut Notes) {
    if route.steps.iter().all(|step| step.id != *after) {
        let names = route.steps.iter().map(|step| step.id.to_string());
        let hint = notes.advice(after.as_str(), names, "step", "after");
        notes.error_at(at, format!("there is no step {after} in this route")).hint(hint);
    }
}

fn performer(p: &Programme, at: At<'_>, by: &Performer, notes: &mut Notes) {
    match by {
        Performer::Crew { crew, hours: _, or, unbroken: _ } => {
            // A crew may ask for one skill in two parts; that is no name given twice.
            for skill in skills(crew) {
                notes.refer(at.field("crew"), &p.skills, [skill]);
            }
            for skill in or.iter().flat_map(|(crew, _)| skills(crew)) {
                notes.refer(at.field("or"), &p.skills, [skill]);
            }
        }
        Performer::Firm { firm, turnaround: _ } => {
            notes.refer(at.field("firm"), &p.firms, [firm]);
        }
        Performer::Nobody { takes: _ } => {}
    }
}

fn skills(crew: &[Crew]) -> impl Iterator<Item = &SkillId> {
    crew.iter().map(|crew| &crew.skill)
}
