//! Figures that cannot be.

use quantity::{Estimate, Length, Mass, Typed, Work};

use super::Parts;
use crate::{Crew, Handling, Item, Note};

/// No aircraft is longer than this, aft of any datum in use; metres.
const FAR: f64 = 200.0;
/// No single removal, refit or check takes longer; hours.
const LONG: i64 = 2000;
/// No aircraft weighs more; kilograms.
const HEAVY: f64 = 1e6;
/// More people than can stand around one item.
const CROWD: u32 = 100;

pub(super) fn check(parts: &Parts, notes: &mut Vec<Note>) {
    parts.items.iter().for_each(|item| item_figures(item, notes));
    for gear in &parts.gear {
        if gear.count == 0 {
            let what = "there are none of it";
            let note = Note::error("lifting gear", &gear.id, "count", what);
            notes.push(note.hinting("count at least 1, or leave it out"));
        }
        notes.extend(mass("lifting gear", &gear.id, "limit", gear.limit.as_ref(), false));
    }
    for rule in &parts.checks {
        crew("check", &rule.id, ["crew", "hours"], &rule.crew, &rule.hours, notes);
    }
    if let Some(weighed) = &parts.weighed {
        let (m, a) = (Some(&weighed.mass), Some(&weighed.arm));
        notes.extend(mass("programme", &"", "weighed_mass", m, false));
        notes.extend(length("programme", &"", "weighed_arm", a));
    }
}

fn item_figures(item: &Item, notes: &mut Vec<Note>) {
    let id = &item.id;
    notes.extend(mass("item", id, "mass", item.mass.as_ref(), true));
    notes.extend(length("item", id, "arm", item.arm.as_ref()));
    notes.extend(length("item", id, "side", item.side.as_ref()));
    let mut handling = |handling: &Option<Handling>, fields| {
        if let Some(Handling { crew: hands, hours, gear: _ }) = handling {
            crew("item", id, fields, hands, hours, notes);
        }
    };
    handling(&item.removal, ["off_crew", "off_hours"]);
    handling(&item.refit, ["on_crew", "on_hours"]);
}

fn crew(
    noun: &'static str,
    id: &dyn std::fmt::Display,
    [crew, hours]: [&'static str; 2],
    hands: &[Crew],
    time: &Estimate<Work>,
    notes: &mut Vec<Note>,
) {
    if hands.is_empty() {
        let note = Note::error(noun, id, crew, "nobody is given to do it");
        notes.push(note.hinting("write a crew, such as `2 fitter`"));
    }
    for part in hands {
        if part.count == 0 || part.count > CROWD {
            let what = format!("{} of {} cannot be", part.count, part.skill);
            let note = Note::error(noun, id, crew, what);
            notes.push(note.hinting(format!("count from 1 to {CROWD}")));
        }
    }
    if time.low().minutes() < 0 {
        let what = format!("{} is less than nothing", time.low());
        notes.push(Note::error(noun, id, hours, what));
    } else if time.high().minutes() > LONG * 60 {
        let what = format!("{} is more than {LONG} h for one piece of work", time.high());
        notes.push(Note::error(noun, id, hours, what).hinting("is the unit right?"));
    } else if time.likely().minutes() == 0 {
        notes.push(Note::warning(noun, id, hours, "it likely takes no time at all"));
    }
}

pub(super) fn mass(
    noun: &'static str,
    id: &dyn std::fmt::Display,
    field: &'static str,
    mass: Option<&Typed<Mass>>,
    zero: bool,
) -> Option<Note> {
    let mass = mass?;
    let kg = mass.value().in_kg();
    if kg < 0.0 || (kg == 0.0 && !zero) {
        let what = format!("{mass} is no mass");
        return Some(
            Note::error(noun, id, field, what).hinting("write a mass above zero"),
        );
    }
    (kg > HEAVY).then(|| {
        let what = format!("{mass} is more than any aircraft weighs");
        Note::error(noun, id, field, what).hinting("is the unit right?")
    })
}

pub(super) fn length(
    noun: &'static str,
    id: &dyn std::fmt::Display,
    field: &'static str,
    length: Option<&Typed<Length>>,
) -> Option<Note> {
    let length = length?;
    (length.value().in_m().abs() > FAR).then(|| {
        let what =
            format!("{length} is more than {FAR} m from the datum or the centre line");
        Note::error(noun, id, field, what).hinting("is the unit right?")
    })
}
