//! Names that people would mix up.

use std::collections::BTreeMap;

use crate::check::notes::{At, Notes};
use crate::{Named, Programme, Register};

/// What the names of derived jobs begin with.
pub(crate) const RESERVED: [&str; 3] = ["OFF", "ON", "CHECK"];

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    alike(&programme.gates, notes);
    alike(&programme.skills, notes);
    alike(&programme.zones, notes);
    alike(&programme.stands, notes);
    alike(&programme.places, notes);
    alike(&programme.gear, notes);
    alike(&programme.arrangements, notes);
    alike(&programme.items, notes);
    alike(&programme.connections, notes);
    alike(&programme.checks, notes);
    alike(&programme.people, notes);
    alike(&programme.firms, notes);
    alike(&programme.routes, notes);
    alike(&programme.seasons, notes);
    alike(&programme.packs, notes);
    alike(&programme.findings, notes);
    alike(&programme.jobs, notes);
    alike(&programme.tools, notes);
    alike(&programme.requirements, notes);
    alike(&programme.outlines, notes);
    for finding in programme.findings.names() {
        if RESERVED.contains(&finding.as_str()) {
            let what = format!("a finding cannot be called {finding}");
            let hint =
                format!("names of jobs that begin with {finding}: have another meaning");
            notes.error("finding", finding, "id", what).hint(hint);
        }
    }
    orders(programme, notes);
}

/// Names that differ in capitals alone.
fn alike<T: Named>(things: &Register<T>, notes: &mut Notes) {
    let mut seen: BTreeMap<String, &T::Name> = BTreeMap::new();
    for name in things.names() {
        // Capitals first: letters such as the German sharp s then meet their pairs.
        let folded = name.to_string().to_uppercase().to_lowercase();
        if let Some(first) = seen.get(&folded) {
            let what =
                format!("it differs from the {} {first} in capitals alone", T::NOUN);
            notes
                .error_at(At::new(T::NOUN, name, "id"), what)
                .hint("people would take one for the other: rename one of them");
        } else {
            seen.insert(folded, name);
        }
    }
}

/// Gates that share a place in the order.
fn orders(programme: &Programme, notes: &mut Notes) {
    let mut seen = BTreeMap::new();
    for gate in programme.gates.iter() {
        if let Some(first) = seen.insert(gate.order, &gate.id) {
            let what =
                format!("it has the same place in the order as {first}: {}", gate.order);
            notes
                .error("gate", &gate.id, "order", what)
                .hint("a gate asks for all that the gates before it ask: give each its own place");
        }
    }
}
