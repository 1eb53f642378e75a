//! Outlines that show nothing, and zones that no drawing shows.

use std::collections::BTreeSet;

use airframe::ZoneId;

use crate::check::notes::{At, Notes};
use crate::outline::area;
use crate::{Outline, Programme};

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    for outline in programme.outlines.iter().filter(|outline| outline.zone.is_some()) {
        if is_empty(outline) {
            notes
                .error_at(At::new("outline", &outline.id, "path"), "it goes round nothing")
                .hint("an outline of a zone goes round it; leave `zone` out for a plain contour");
        }
    }
    if !programme.outlines.is_empty() {
        undrawn(programme, notes);
    }
}

fn is_empty(outline: &Outline) -> bool {
    outline.path.rings().iter().all(|ring| area(ring) <= f64::EPSILON)
}

/// A programme without any outline has no drawing, and lacks none.
fn undrawn(programme: &Programme, notes: &mut Notes) {
    let drawn: BTreeSet<&ZoneId> =
        programme.outlines.iter().filter_map(|outline| outline.zone.as_ref()).collect();
    let peopled: BTreeSet<&ZoneId> =
        programme.items.iter().filter_map(|item| item.zone.as_ref()).collect();
    for zone in programme.zones.iter().filter(|zone| !drawn.contains(&zone.id)) {
        let within = |other: &&airframe::Zone| other.within.as_ref() == Some(&zone.id);
        let mut parts = programme.zones.iter().filter(within);
        // What only groups other zones is drawn by them.
        let grouping =
            !peopled.contains(&zone.id) && parts.any(|part| drawn.contains(&part.id));
        if !grouping {
            notes
                .warning_at(
                    At::new("zone", &zone.id, "id"),
                    "it has no outline in either view, side or plan",
                )
                .hint("add one to the outlines, or what is found in it is on no drawing");
        }
    }
}
