//! Ways of supporting the aircraft.

use std::collections::BTreeSet;

use quantity::{Length, Typed};

use super::Parts;
use super::figures::{length, mass};
use crate::support::margin;
use crate::{Arrangement, Note, SupportPoint};

pub(super) fn check(parts: &Parts, notes: &mut Vec<Note>) {
    parts.arrangements.iter().for_each(|one| arrangement(one, notes));
}

fn arrangement(arrangement: &Arrangement, notes: &mut Vec<Note>) {
    let mut names = BTreeSet::new();
    for SupportPoint { name, kind: _, arm, side, capacity, when_needed: _ } in
        &arrangement.points
    {
        if !names.insert(name) {
            let what = format!("two points are called {name}");
            notes.push(Note::error("arrangement", &arrangement.id, "name", what));
        }
        let id = format!("{}, point {name}", arrangement.id);
        notes.extend(mass("arrangement", &id, "capacity", capacity.as_ref(), false));
        notes.extend(length("arrangement", &id, "arm", Some(arm)));
        notes.extend(length("arrangement", &id, "side", Some(side)));
    }
    let always = arrangement.points.iter().filter(|point| !point.when_needed);
    let always: Vec<SupportPoint> = always.cloned().collect();
    if let Some((what, hint)) = holds_nothing(&always) {
        let note = Note::error("arrangement", &arrangement.id, "points", what);
        notes.push(note.hinting(hint));
    }
}

/// Why points that are always set hold nothing.
fn holds_nothing(points: &[SupportPoint]) -> Option<(String, &'static str)> {
    let sides: BTreeSet<Length> = points.iter().map(|point| point.side.value()).collect();
    let least = if sides.len() > 1 { 3 } else { 2 };
    if points.len() < least {
        let what = format!(
            "{} always set, and it takes {least} to hold the aircraft",
            match points.len() {
                1 => "1 point is".to_owned(),
                count => format!("{count} points are"),
            }
        );
        return Some((what, "add points, or set those that are there always"));
    }
    // The middle of points that hold something lies inside their base.
    let middle = |of: fn(&SupportPoint) -> &Typed<Length>| {
        let sum: f64 = points.iter().map(|point| of(point).value().in_m()).sum();
        Length::from_m(sum / points.len() as f64).unwrap_or_default()
    };
    let inside = margin(points, middle(|p| &p.arm), middle(|p| &p.side))
        .is_some_and(|margin| margin.distance > Length::ZERO);
    (!inside).then(|| {
        let what =
            "all points that are always set lie on one line or at one place".to_owned();
        (what, "check arms and sides; points in line must lie fore and aft")
    })
}
