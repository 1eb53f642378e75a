//! Counts that cannot be.

use crate::Programme;
use crate::check::notes::{At, Notes};
use crate::check::seasons::spans;
use crate::check::work::elapsed;

/// The most that there are of anything.
const MOST: u32 = 10_000;

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    for stand in programme.stands.iter() {
        let at = At::new("stand", &stand.id, "count");
        if stand.count == 0 {
            notes
                .warning_at(at, "there is none of it")
                .hint("no item can come off onto it");
        }
        most(at, stand.count, notes);
    }
    for place in programme.places.iter() {
        let at = At::new("place", &place.id, "room");
        if place.room == 0 {
            notes
                .error_at(at, "it has no room for any job")
                .hint("say how many jobs it holds at once");
        }
        most(at, place.room, notes);
    }
    for firm in programme.firms.iter() {
        let at = At::new("firm", &firm.id, "at_once");
        if firm.at_once == Some(0) {
            notes
                .error_at(at, "it takes nothing in at once")
                .hint("leave it out for a firm that never says no");
        }
        most(at, firm.at_once.unwrap_or_default(), notes);
        elapsed(at.field("turnaround"), &firm.turnaround, notes);
        spans(at.field("closed"), &firm.closed, notes);
    }
}

fn most(at: At<'_>, count: u32, notes: &mut Notes) {
    if count > MOST {
        notes
            .error_at(at, format!("{count} is more than {MOST}"))
            .hint("is the number right?");
    }
}
