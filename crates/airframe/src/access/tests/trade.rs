//! What everybody in the trade knows. Common practice, no source.

use std::collections::BTreeSet;

use super::{airframe, behind, fixed, held, id, item};
use crate::Airframe;
use crate::access::{Opening, Options, Target, open};

fn nacelle() -> Airframe {
    airframe(vec![
        fixed("HULL"),
        item("COWLING", Some("HULL"), 30),
        item("PROPELLER", Some("ENGINE"), 90),
        held(behind(item("ENGINE", Some("FRAME"), 300), "COWLING"), "PROPELLER"),
        held(item("FRAME", Some("BEAM"), 120), "ENGINE"),
        held(item("BEAM", Some("HULL"), 200), "FRAME"),
    ])
}

fn ask(target: &str) -> Opening {
    let target = Target::Free(id(target));
    open(&nacelle(), &BTreeSet::new(), &[target], &Options::default()).unwrap()
}

/// Common practice: a power unit comes off before the frame behind it, and the frame before
/// the beam that it bolts to; the propeller before either.
#[test]
fn the_power_unit_before_its_frame_before_its_beam() {
    let opening = ask("BEAM");
    let place = |name: &str| opening.removals.iter().position(|r| r.item == id(name));
    let places = ["PROPELLER", "ENGINE", "FRAME", "BEAM"].map(place);
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?}");
    assert!(place("COWLING").is_some() && place("COWLING") < place("ENGINE"));
}

/// Common practice: refit is removal reversed where nothing else says so.
#[test]
fn refit_is_removal_reversed() {
    let opening = ask("BEAM");
    let off: Vec<_> = opening.removals.iter().map(|removal| &removal.item).collect();
    let on: Vec<_> = opening.refits.iter().rev().map(|refit| &refit.item).collect();
    assert_eq!(off, on);
    for removal in &opening.removals {
        for first in &removal.after {
            let refit = opening.refits.iter().find(|refit| refit.item == *first).unwrap();
            assert!(
                refit.after.contains(&removal.item),
                "{first} before {}",
                removal.item
            );
        }
    }
}
