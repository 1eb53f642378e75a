//! What a programme says about the rules by which acts are judged.

use crate::check::notes::{At, Notes};
use crate::{Basis, Programme, Retention, Rule};

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    for rule in programme.rules.iter() {
        one(rule, notes);
    }
    for kept in programme.retention.iter() {
        period(kept, notes);
    }
}

fn period(kept: &Retention, notes: &mut Notes) {
    let Retention { id, years, citation, note: _ } = kept;
    let at = At::new("class of records", id, "years");
    if *years == Some(0) {
        notes
            .error_at(at, "it would be kept for no time at all")
            .hint("give years, or leave it out: for the life of the aircraft");
    } else if years.is_some() && citation.is_none() {
        notes
            .warning_at(at, "it is kept for less than the life of the aircraft, and nothing says by what")
            .hint("give the publication or approval in `citation`, or leave `years` out");
    }
}

fn one(rule: &Rule, notes: &mut Notes) {
    let Rule { id, basis, citation, note } = rule;
    let at = At::new("rule", id, "basis");
    if *basis == Basis::Off && !id.may_be_off() {
        let what = format!("no programme may do without it: {}", id.says());
        notes.error_at(at, what).hint("write `binding` or `adopted`, or leave it out");
    } else if *basis == Basis::Off && note.is_none() {
        notes
            .error_at(at.field("note"), "it is off, and nothing says why")
            .hint("say why it is not kept, and who agreed to that");
    }
    if *basis == Basis::Binding && citation.is_none() {
        notes
            .warning_at(at.field("citation"), "it binds, and nothing says by what")
            .hint("give the publication, approval or condition, or write `adopted`");
    }
}
