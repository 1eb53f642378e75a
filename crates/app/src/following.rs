//! What follows from an entry: what stands otherwise after it than before.
//!
//! It is the difference of two programmes as their sheets tell them, so that nothing is said
//! that the pages do not show: how the thing stands that the act is about, which gates became
//! shut, clear or were blocked, and for whom something waits that did not wait before.

use std::collections::BTreeMap;

use jiff::civil::Date;
use record::Programme;

use crate::{About, mine, sheet};

/// The facts by which a thing stands. What is written by an act itself is not told back.
const STANDS: [&str; 6] =
    ["state", "where", "class", "allows", "life left", "quarantine"];
/// For more people it is not looked for whom something waits.
const PEOPLE: usize = 80;

/// What stands otherwise, in sentences without their point.
pub fn follows(
    (before, after): (&Programme, &Programme),
    about: Option<(&str, &str)>,
    on: Date,
) -> Vec<String> {
    let mut all = Vec::new();
    if let Some((noun, name)) = about {
        all.extend(stands(before, after, (noun, name), on));
    }
    all.extend(gates(before, after, on));
    all.extend(waits(before, after, on));
    all
}

fn sheet_of(noun: &str, name: &str) -> Option<About> {
    let name = Some(name.to_owned());
    Some(match noun {
        "card" => About::Cards(name),
        "finding" => About::Findings(name),
        "item" => About::Parts(name),
        "tool" => About::Tools(name),
        "examination" => About::Examinations(name),
        _ => return None,
    })
}

fn stands(
    before: &Programme,
    after: &Programme,
    (noun, name): (&str, &str),
    on: Date,
) -> Vec<String> {
    let facts = |programme| {
        let sheet = sheet(programme, &sheet_of(noun, name)?, on).ok()?;
        Some(sheet.facts.into_iter().collect::<BTreeMap<String, String>>())
    };
    let Some(after) = facts(after) else { return Vec::new() };
    let before = facts(before).unwrap_or_default();
    let changed = STANDS.iter().filter_map(|fact| {
        let now = after.get(*fact).filter(|now| *now != "-")?;
        match before.get(*fact) {
            Some(then) if then == now => None,
            Some(then) if then != "-" => {
                Some(format!("{name}, {fact}: {now}; before: {then}"))
            }
            _ => Some(format!("{name}, {fact}: {now}")),
        }
    });
    changed.collect()
}

fn gates(before: &Programme, after: &Programme, on: Date) -> Vec<String> {
    let mut all = Vec::new();
    // Gates of which more stands in the way, or less: by how many, since often all are alike.
    let mut counts: BTreeMap<i64, Vec<String>> = BTreeMap::new();
    for gate in after.gates.iter().filter(|gate| before.gates.get(&gate.id).is_some()) {
        let state = |programme: &Programme| {
            let state = programme.gate_state(gate, on);
            (state.open, state.blocks.len())
        };
        let ((was_open, then), (open, now)) = (state(before), state(after));
        let name = &gate.name;
        match (was_open, open) {
            (true, false) => {
                all.push(format!("gate {} ({name}) is shut by this", gate.id));
            }
            (false, true) => all.push(format!("gate {} ({name}) is open", gate.id)),
            _ => {}
        }
        if then != now && now == 0 {
            all.push(format!(
                "nothing is in the way of gate {} ({name}) any more",
                gate.id
            ));
        } else if then != now {
            let told = format!("{} (now {now})", gate.id);
            counts.entry(now as i64 - then as i64).or_default().push(told);
        }
    }
    all.extend(counts.into_iter().map(|(more, gates)| {
        let word = if more > 0 { "more" } else { "fewer" };
        let noun = if gates.len() == 1 { "gate" } else { "gates" };
        let many = more.unsigned_abs();
        format!("{many} {word} in the way of {noun} {}", gates.join(", "))
    }));
    all
}

fn waits(before: &Programme, after: &Programme, on: Date) -> Vec<String> {
    if after.people.iter().count() > PEOPLE {
        return Vec::new();
    }
    // By what waits, because several may do the same.
    let mut new: BTreeMap<(&str, String), Vec<String>> = BTreeMap::new();
    for person in after.people.iter() {
        let id = person.id.to_string();
        let known = mine(before, &id, on);
        for kind in mine(after, &id, on) {
            let then = known.iter().find(|then| then.title == kind.title);
            for one in kind.waiting {
                let there = then.is_some_and(|then| {
                    then.waiting
                        .iter()
                        .any(|was| (was.noun, &was.name) == (one.noun, &one.name))
                });
                if !there {
                    let whom = new.entry((kind.title, one.name)).or_default();
                    whom.push(person.name.clone());
                }
            }
        }
    }
    let told = new.into_iter().map(|((title, name), whom)| {
        format!("{name} waits now for {} (\u{201c}{title}\u{201d})", whom.join(", "))
    });
    told.collect()
}
