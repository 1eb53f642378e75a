//! Texts that no file could hold and no card could show.

use crate::Programme;
use crate::check::notes::{At, Notes};

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    head(programme, notes);
    names(programme, notes);
    aircraft(programme, notes);
    for person in programme.people.iter() {
        for authority in &person.authority {
            let at = At::new("person", &person.id, "authority");
            one(at, &authority.scope, notes);
            some(at, authority.reference.as_ref(), notes);
        }
    }
    for firm in programme.firms.iter() {
        one(At::new("firm", &firm.id, "does"), &firm.does, notes);
    }
    for route in programme.routes.iter() {
        for step in &route.steps {
            let id = format!("{}:{}", route.id, step.id);
            one(At::new("step", &id, "name"), &step.name, notes);
        }
    }
    for finding in programme.findings.iter() {
        let at = At::new("finding", &finding.id, "what");
        one(at, &finding.what, notes);
        some(at.field("measured"), finding.measured.as_ref(), notes);
        some(at.field("photograph"), finding.photograph.as_ref(), notes);
        let basis =
            finding.disposition.as_ref().and_then(|decided| decided.basis.as_ref());
        some(at.field("basis"), basis, notes);
    }
    assurance(programme, notes);
}

/// What stands on tools, releases and in the profile of the rules.
fn assurance(programme: &Programme, notes: &mut Notes) {
    for tool in programme.tools.iter() {
        some(At::new("tool", &tool.id, "range"), tool.range.as_ref(), notes);
    }
    for requirement in programme.requirements.iter() {
        let at = At::new("requirement", &requirement.id, "what");
        one(at, &requirement.what, notes);
        some(at.field("citation"), requirement.citation.as_ref(), notes);
    }
    for kept in programme.retention.iter() {
        let at = At::new("class of records", &kept.id, "citation");
        some(at, kept.citation.as_ref(), notes);
        some(at.field("note"), kept.note.as_ref(), notes);
    }
    for rule in programme.rules.iter() {
        let at = At::new("rule", &rule.id, "citation");
        some(at, rule.citation.as_ref(), notes);
        some(at.field("note"), rule.note.as_ref(), notes);
    }
}

fn head(programme: &Programme, notes: &mut Notes) {
    let Some(info) = &programme.info else { return };
    let at = At::new("programme", &"", "name");
    one(at, &info.name, notes);
    one(at.field("aircraft"), &info.aircraft, notes);
    some(at.field("registration"), info.registration.as_ref(), notes);
    some(at.field("keeper"), info.keeper.as_ref(), notes);
    some(at.field("datum"), info.datum.as_ref(), notes);
}

/// What people call things.
fn names(programme: &Programme, notes: &mut Notes) {
    macro_rules! named {
        ($($register:ident $noun:literal,)*) => {
            $(for thing in programme.$register.iter() {
                one(At::new($noun, &thing.id, "name"), &thing.name, notes);
            })*
        };
    }
    named! {
        gates "gate",
        skills "skill",
        zones "zone",
        stands "stand",
        places "place",
        gear "lifting gear",
        arrangements "arrangement",
        items "item",
        connections "connection",
        checks "check",
        people "person",
        firms "firm",
        routes "route",
        seasons "season",
        packs "pack",
        jobs "job",
        tools "tool",
    }
}

fn aircraft(programme: &Programme, notes: &mut Notes) {
    for item in programme.items.iter() {
        let at = At::new("item", &item.id, "part_number");
        some(at, item.part_number.as_ref(), notes);
        some(at.field("serial"), item.serial.as_ref(), notes);
        some(at.field("material"), item.material.as_ref(), notes);
        some(at.field("fixed"), item.fixed.as_ref(), notes);
    }
    for rule in programme.checks.iter() {
        some(At::new("check", &rule.id, "source"), rule.source.as_ref(), notes);
    }
    for arrangement in programme.arrangements.iter() {
        for point in &arrangement.points {
            one(At::new("arrangement", &arrangement.id, "point"), &point.name, notes);
        }
    }
}

fn some(at: At<'_>, text: Option<&String>, notes: &mut Notes) {
    if let Some(text) = text {
        one(at, text, notes);
    }
}

fn one(at: At<'_>, text: &str, notes: &mut Notes) {
    let odd = |c: &char| c.is_control() && !matches!(c, '\n' | '\t');
    if text.trim().is_empty() {
        notes.error_at(at, "it is blank").hint("write something, or leave it out");
    } else if text.trim() != text {
        notes.error_at(at, "it begins or ends with a blank").hint("take the blank away");
    } else if let Some(c) = text.chars().find(odd) {
        let what = format!("it holds the control character {}", c.escape_unicode());
        notes
            .error_at(at, what)
            .hint("delete it: it cannot be seen on a card or a screen");
    }
}
