//! The engine against a simulator that was written apart from it, from the definition in
//! the module head alone, and that knows nothing but names and sets.

mod cases;
mod naive;
mod property;
mod trade;

use std::collections::BTreeSet;

use quantity::{Estimate, Id, Mass, Typed, Work};

use crate::{Airframe, Crew, Handling, Item, ItemId, Needs, Parts};

fn id(name: &str) -> ItemId {
    Id::new(name).unwrap()
}

fn ids(names: &str) -> BTreeSet<ItemId> {
    names.split_whitespace().map(id).collect()
}

fn handling(minutes: i64) -> Handling {
    Handling {
        crew: vec![Crew { count: 1, skill: Id::new("fitter").unwrap() }],
        hours: Estimate::certain(Work::from_minutes(minutes)),
        gear: Vec::new(),
    }
}

/// An item that takes so many minutes off and none on.
fn item(name: &str, carrier: Option<&str>, minutes: i64) -> Item {
    Item {
        part_of: carrier.map(id),
        removal: Some(handling(minutes)),
        refit: Some(handling(0)),
        ..Item::new(id(name), name.to_lowercase())
    }
}

fn fixed(name: &str) -> Item {
    Item {
        fixed: Some("the rest hangs on it".into()),
        removal: None,
        refit: None,
        ..item(name, None, 0)
    }
}

fn behind(mut item: Item, needs: &str) -> Item {
    item.behind = Needs::parse(needs).unwrap();
    item
}

fn held(mut item: Item, needs: &str) -> Item {
    item.held_by = Needs::parse(needs).unwrap();
    item
}

fn weighing(mut item: Item, mass: &str) -> Item {
    item.mass = Some(Typed::<Mass>::parse(mass).unwrap());
    item
}

fn airframe(items: Vec<Item>) -> Airframe {
    Airframe::of(Parts { items, ..Parts::default() })
}
