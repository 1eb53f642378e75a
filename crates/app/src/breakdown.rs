//! The aircraft taken apart in words: zones, assemblies, chapters, each to be gone into.

use std::collections::{BTreeMap, BTreeSet};

use airframe::Item;
use jiff::civil::Date;
use record::Programme;

use crate::drawing::zone_of;
use crate::{AppError, ItemState, item_state, near};

/// By what the aircraft is broken down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BrokenBy {
    /// What is a part of what.
    Assembly,
    /// Where it is.
    Zone,
    /// Systems and structures, by the chapter list.
    Chapter,
}

impl BrokenBy {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Assembly, Self::Zone, Self::Chapter];

    /// The word for it, as an address has it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Assembly => "assembly",
            Self::Zone => "zone",
            Self::Chapter => "chapter",
        }
    }
}

/// One place of the breakdown, with what lies directly under it.
#[derive(Debug, Clone, PartialEq)]
pub struct Breakdown {
    /// What it is: nothing for the aircraft as a whole.
    pub at: Option<Node>,
    /// What it lies under, the whole first.
    pub above: Vec<Node>,
    /// What lies directly under it and can be gone into.
    pub inner: Vec<Node>,
    /// Items that lie directly under it.
    pub items: Vec<ItemState>,
}

/// A place of the breakdown.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// Its name, as an address has it.
    pub name: String,
    /// What people call it.
    pub title: String,
    /// How many items lie under it, itself among them if it is one.
    pub items: usize,
    /// How many of these are off.
    pub off: usize,
    /// How many findings on these are open.
    pub open: usize,
}

/// The breakdown at a place; at the top if none is named.
///
/// # Errors
/// [`AppError::Unknown`] if there is no such place.
pub fn breakdown(
    programme: &Programme,
    by: BrokenBy,
    at: Option<&str>,
    on: Date,
) -> Result<Breakdown, AppError> {
    let tree = Tree::of(programme, by);
    if let Some(name) = at
        && !tree.titles.contains_key(name)
    {
        let known = tree.titles.keys().map(String::as_str);
        return Err(AppError::Unknown(near::no_such(by.word(), name, known)));
    }
    let mut above = Vec::new();
    let mut seen = BTreeSet::new();
    let mut up = at.and_then(|name| tree.above.get(name));
    while let Some(name) = up.filter(|name| seen.insert(name.as_str())) {
        above.push(tree.node(name));
        up = tree.above.get(name);
    }
    above.reverse();
    let place = at.unwrap_or_default();
    let inner = tree.inner.get(place).into_iter().flatten();
    let leaves = tree.items.get(place).into_iter().flatten();
    let items = leaves.filter_map(|item| item_state(programme, item, on).ok());
    Ok(Breakdown {
        at: at.map(|name| tree.node(name)),
        above,
        inner: inner.map(|name| tree.node(name)).collect(),
        items: items.collect(),
    })
}

/// Where everything lies. The whole has a blank name.
#[derive(Default)]
struct Tree {
    titles: BTreeMap<String, String>,
    above: BTreeMap<String, String>,
    inner: BTreeMap<String, Vec<String>>,
    /// Items that can't be gone into, by what they lie under.
    items: BTreeMap<String, Vec<String>>,
    /// For each place how many items, items off and open findings lie under it.
    counts: BTreeMap<String, (usize, usize, usize)>,
}

impl Tree {
    fn of(programme: &Programme, by: BrokenBy) -> Self {
        let mut tree = Self::default();
        match by {
            BrokenBy::Assembly => tree.assemblies(programme),
            BrokenBy::Zone => tree.zones(programme),
            BrokenBy::Chapter => tree.chapters(programme),
        }
        let mut open: BTreeMap<&str, usize> = BTreeMap::new();
        for finding in programme.open_findings() {
            if let Some(item) = programme.item_of_finding(finding) {
                *open.entry(item.as_str()).or_default() += 1;
            }
        }
        for item in programme.items.iter() {
            let name = item.id.as_str();
            let off = usize::from(programme.is_off(&item.id));
            let found = open.get(name).copied().unwrap_or(0);
            let own = tree.titles.contains_key(name) && by == BrokenBy::Assembly;
            let start =
                if own { Some(name.to_owned()) } else { home(programme, by, item) };
            tree.count(start, (1, off, found));
        }
        tree
    }

    fn place(&mut self, name: &str, title: &str, above: Option<&str>) {
        self.titles.insert(name.to_owned(), title.to_owned());
        if let Some(above) = above {
            self.above.insert(name.to_owned(), above.to_owned());
        }
        let list = self.inner.entry(above.unwrap_or_default().to_owned()).or_default();
        list.push(name.to_owned());
    }

    fn leaf(&mut self, above: Option<String>, item: &Item) {
        let list = self.items.entry(above.unwrap_or_default()).or_default();
        list.push(item.id.to_string());
    }

    fn assemblies(&mut self, programme: &Programme) {
        let parents: BTreeSet<&str> = programme
            .items
            .iter()
            .filter_map(|item| item.part_of.as_ref().map(|whole| whole.as_str()))
            .collect();
        for item in programme.items.iter() {
            let above = home(programme, BrokenBy::Assembly, item);
            if parents.contains(item.id.as_str()) {
                self.place(item.id.as_str(), &item.name, above.as_deref());
            } else {
                self.leaf(above, item);
            }
        }
    }

    fn zones(&mut self, programme: &Programme) {
        for zone in programme.zones.iter() {
            let around =
                zone.within.as_ref().filter(|around| programme.zones.has(around));
            let around = around.map(|around| around.as_str());
            self.place(zone.id.as_str(), &zone.name, around);
        }
        for item in programme.items.iter() {
            self.leaf(home(programme, BrokenBy::Zone, item), item);
        }
    }

    fn chapters(&mut self, programme: &Programme) {
        for item in programme.items.iter() {
            if let Some(chapter) = item.chapter {
                let (whole, name) = (chapter.chapter(), chapter.to_string());
                if !self.titles.contains_key(&whole.to_string()) {
                    self.place(&whole.to_string(), &in_words(whole.title()), None);
                }
                if !self.titles.contains_key(&name) {
                    let title = in_words(chapter.title());
                    self.place(&name, &title, Some(&whole.to_string()));
                }
            }
            self.leaf(home(programme, BrokenBy::Chapter, item), item);
        }
        for list in self.inner.values_mut() {
            list.sort();
        }
    }

    /// Counts something at a place and at all that it lies under.
    fn count(
        &mut self,
        start: Option<String>,
        (items, off, open): (usize, usize, usize),
    ) {
        let mut seen = BTreeSet::new();
        let mut at = start;
        while let Some(name) = at {
            let sum = self.counts.entry(name.clone()).or_default();
            *sum = (sum.0 + items, sum.1 + off, sum.2 + open);
            at = self.above.get(&name).filter(|above| !seen.contains(*above)).cloned();
            seen.insert(name);
        }
    }

    fn node(&self, name: &str) -> Node {
        let (items, off, open) = self.counts.get(name).copied().unwrap_or_default();
        let title = self.titles.get(name).cloned().unwrap_or_default();
        Node { name: name.to_owned(), title, items, off, open }
    }
}

/// A title that is published in capitals, as a heading has it.
fn in_words(title: &str) -> String {
    let mut chars = title.chars();
    let first: String = chars.next().into_iter().collect();
    first + &chars.as_str().to_lowercase()
}

/// What an item lies directly under.
fn home(programme: &Programme, by: BrokenBy, item: &Item) -> Option<String> {
    match by {
        BrokenBy::Assembly => {
            let whole = item.part_of.as_ref().filter(|whole| programme.items.has(whole));
            whole.map(ToString::to_string)
        }
        BrokenBy::Zone => zone_of(programme, &item.id).map(ToString::to_string),
        BrokenBy::Chapter => item.chapter.map(|chapter| chapter.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> Programme {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");
        crate::read_folder(folder.as_ref()).unwrap().programme
    }

    /// Every item is found once, whichever way one goes down.
    #[test]
    fn every_item_is_reached_once() {
        let programme = example();
        let on = jiff::civil::date(2032, 1, 14);
        for by in BrokenBy::ALL {
            let mut found: Vec<String> = Vec::new();
            let mut todo = vec![None];
            while let Some(at) = todo.pop() {
                let here = breakdown(&programme, by, at.as_deref(), on).unwrap();
                found.extend(here.items.iter().map(|item| item.item.clone()));
                if let (BrokenBy::Assembly, Some(at)) = (by, &here.at) {
                    found.push(at.name.clone());
                }
                todo.extend(here.inner.iter().map(|inner| Some(inner.name.clone())));
            }
            found.sort();
            let mut all: Vec<String> =
                programme.items.names().map(ToString::to_string).collect();
            all.sort();
            assert_eq!(found, all, "{by:?}");
        }
    }

    #[test]
    fn a_place_counts_what_lies_under_it() {
        let programme = example();
        let on = jiff::civil::date(2032, 1, 14);
        let top = breakdown(&programme, BrokenBy::Zone, None, on).unwrap();
        let under: usize = top.inner.iter().map(|node| node.items).sum();
        assert_eq!(under + top.items.len(), programme.items.len());
        let inner = breakdown(&programme, BrokenBy::Zone, Some("BILGE-F"), on).unwrap();
        assert_eq!(inner.above.first().map(|node| node.name.as_str()), Some("HULL"));
        let wrong = breakdown(&programme, BrokenBy::Zone, Some("BILGE-G"), on);
        assert!(wrong.unwrap_err().to_string().contains("BILGE-"));
    }
}
