//! Connections and the rules for checks.

use std::collections::BTreeSet;

use super::Parts;
use super::items::{path, waits};
use crate::rings::rings;
use crate::{CheckScope, Note};

pub(super) fn check(parts: &Parts, notes: &mut Vec<Note>) {
    for connection in &parts.connections {
        if connection.to.as_ref() == Some(&connection.from) {
            let what = "it joins an item to itself";
            let note = Note::error("connection", &connection.id, "to", what);
            notes.push(note.hinting("leave `to` out if it is the airframe at large"));
        }
    }
    let ids: Vec<_> = parts.checks.iter().map(|rule| &rule.id).collect();
    for ring in rings(&waits(&ids, |at| parts.checks[at].after.iter())) {
        let what = format!("each comes after the next in a ring: {}", path(&ring, &ids));
        notes.push(Note::error("check", ids[ring[0]], "after", what));
    }
    for rule in &parts.checks {
        let by_connection = rule.scope == CheckScope::Connection;
        if by_connection && rule.trigger.connections.is_empty() {
            let what =
                "it is done once for each connection, and no connection sets it off";
            let note = Note::error("check", &rule.id, "scope", what);
            notes.push(note.hinting("name kinds in `connections`, or use scope `item`"));
        }
        let kinds: BTreeSet<_> = rule.trigger.connections.iter().collect();
        if kinds.len() < rule.trigger.connections.len() {
            let what = "a kind is named twice";
            notes.push(Note::warning("check", &rule.id, "connections", what));
        }
    }
}
