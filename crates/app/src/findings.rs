//! Findings as a list that can be narrowed, and what can be decided about one.

mod deciding;

pub use deciding::{Deciding, GateNow, Way, deciding};

use std::cmp::Ordering;
use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use record::act::Spot;
use record::{Condition, FindingId, Gate, Programme, View};

use crate::drawing::zone_of_finding;
use crate::sheets::{ordered, what};
use crate::{List, Sheet};

/// A finding as a row of a list.
#[derive(Debug, Clone, PartialEq)]
pub struct FindingRow {
    /// Its name in the programme.
    pub finding: String,
    /// The item on which it was found.
    pub item: String,
    /// The zone that it counts to: its own, its item's, or that of what carries the item.
    pub zone: Option<String>,
    /// What was seen.
    pub what: String,
    /// How it stands, in words.
    pub state: FindingWord,
    /// How grave it is: 0 for the gravest. Nobody's word comes before what is within limits.
    pub severity: u8,
    /// How bad it is, by whoever was entitled to say so.
    pub condition: Condition,
    /// The highest gate that it lets the aircraft pass, if it does.
    pub allows: Option<String>,
    /// The gates before which it stands, in their order.
    pub before: Vec<String>,
    /// The day on which it was found.
    pub found: Option<Date>,
    /// How long ago that was.
    pub days: Option<i32>,
    /// Who raised it, or found it in the survey.
    pub by: Option<String>,
    /// Whether it was cleared.
    pub cleared: bool,
    /// Where it is on a drawing.
    pub mark: Option<Mark>,
    /// How many photographs there are of it.
    pub photographs: usize,
}

/// A place on a drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark {
    /// On which drawing.
    pub view: View,
    /// How far to the right, in the units of the outlines.
    pub x: f64,
    /// How far down.
    pub y: f64,
}

impl From<&Spot> for Mark {
    fn from(spot: &Spot) -> Self {
        let Spot { view, x, y } = *spot;
        Self { view, x, y }
    }
}

/// How a finding stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum FindingWord {
    /// Nobody entitled to has said how bad it is.
    NotClassed,
    /// It was classed, and is open.
    Classed,
    /// It is carried forward under a limitation.
    Deferred,
    /// It was cleared.
    Cleared,
}

impl FindingWord {
    /// All of them.
    pub const ALL: [Self; 4] =
        [Self::NotClassed, Self::Classed, Self::Deferred, Self::Cleared];

    /// The words for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::NotClassed => "not classed",
            Self::Classed => "classed",
            Self::Deferred => "carried forward",
            Self::Cleared => "cleared",
        }
    }
}

/// By what a list of findings is narrowed; what is blank narrows nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FindingFilter {
    /// How it stands: one of the words, `open` for all that are not cleared, or `all`.
    pub state: String,
    /// The zone, with those within it.
    pub zone: String,
    /// The item.
    pub item: String,
    /// How bad: the word of a condition.
    pub class: String,
    /// Who raised it.
    pub who: String,
    /// The gate before which it stands.
    pub gate: String,
    /// Words that its texts hold, all of them.
    pub text: String,
    /// By what it is sorted: `severity`, `finding`, `item`, `zone`, `found`; a `-` before it
    /// for the other way round.
    pub sort: String,
}

/// A list of findings.
#[derive(Debug, Clone, PartialEq)]
pub struct Findings {
    /// Those that fit.
    pub rows: Vec<FindingRow>,
    /// How many of these are so: word and count, without those of which there is none.
    pub counts: Vec<(&'static str, usize)>,
    /// How many there are of all kinds.
    pub all: usize,
    /// What there is to choose from.
    pub choices: Choices,
    /// What of the filter names nothing that there is: the field, and what is wrong.
    pub strange: Vec<(&'static str, String)>,
}

/// What there is to choose from.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Choices {
    /// Zones: name and what people call them.
    pub zones: Vec<(String, String)>,
    /// Items that have findings.
    pub items: Vec<(String, String)>,
    /// People who raised findings.
    pub people: Vec<(String, String)>,
    /// Gates, in their order.
    pub gates: Vec<(String, String)>,
}

/// What lists can be sorted by.
pub const FINDING_SORTS: [(&str, &str); 5] = [
    ("severity", "the gravest first"),
    ("found", "the oldest first"),
    ("finding", "by name"),
    ("item", "by item"),
    ("zone", "by zone"),
];

/// The findings that fit a filter, on a day.
pub fn findings(programme: &Programme, on: Date, filter: &FindingFilter) -> Findings {
    let every: Vec<FindingRow> =
        all(programme).into_iter().map(|finding| row(programme, finding, on)).collect();
    let choices = choices(programme, &every);
    let strange = strange(programme, filter);
    let zones = zones_of(programme, &filter.zone);
    let mut rows: Vec<FindingRow> =
        every.iter().filter(|row| fits(row, filter, &zones)).cloned().collect();
    sort(&mut rows, &filter.sort);
    Findings { counts: counts(&rows), rows, all: every.len(), choices, strange }
}

fn all(programme: &Programme) -> BTreeSet<&FindingId> {
    programme.findings.names().chain(programme.shop.findings.states.keys()).collect()
}

/// One finding on a day.
pub(crate) fn row(programme: &Programme, finding: &FindingId, on: Date) -> FindingRow {
    let signed = programme.shop.findings.states.get(finding);
    let raised = signed.and_then(|state| state.raised.as_ref());
    let cleared = signed.is_some_and(record::shop::FindingState::is_cleared);
    let condition = signed.map_or(Condition::Unknown, |state| state.condition());
    let class = signed.and_then(|state| state.class.as_ref());
    let deferred = signed.and_then(|state| state.deferred.as_ref());
    let allows = deferred
        .map(|deferral| &deferral.allows)
        .or_else(|| class.and_then(|class| class.allows.as_ref()));
    let found = programme.day_of_finding(finding);
    let surveyed = programme.findings.get(finding);
    let by = raised.map(|(_, mark)| mark.by.to_string()).or_else(|| {
        surveyed.and_then(|listed| listed.by.as_ref()).map(ToString::to_string)
    });
    FindingRow {
        finding: finding.to_string(),
        item: programme
            .item_of_finding(finding)
            .map(ToString::to_string)
            .unwrap_or_default(),
        zone: zone_of_finding(programme, finding).map(ToString::to_string),
        what: what(programme, finding),
        state: if cleared {
            FindingWord::Cleared
        } else if deferred.is_some() {
            FindingWord::Deferred
        } else if condition == Condition::Unknown {
            FindingWord::NotClassed
        } else {
            FindingWord::Classed
        },
        severity: severity(condition),
        condition,
        allows: allows.filter(|_| !cleared).map(ToString::to_string),
        before: before(programme, finding, on),
        found,
        days: found.map(|day| (on - day).get_days()),
        by,
        cleared,
        mark: raised.and_then(|(raise, _)| raise.mark.as_ref()).map(Mark::from),
        photographs: raised.map_or(0, |(raise, _)| raise.photographs.len()),
    }
}

/// What nobody has classed may be a hazard, so it stands before what is within limits.
fn severity(condition: Condition) -> u8 {
    match condition {
        Condition::Hazard => 0,
        Condition::OutsideLimits => 1,
        Condition::Unknown => 2,
        Condition::WithinLimits => 3,
    }
}

fn before(programme: &Programme, finding: &FindingId, on: Date) -> Vec<String> {
    let gates = ordered(programme).into_iter();
    let stands = |gate: &&Gate| programme.before_gate(finding, gate, on).is_some();
    gates.filter(stands).map(|gate| gate.id.to_string()).collect()
}

/// A zone and those within it; nothing if none was asked for.
fn zones_of(programme: &Programme, zone: &str) -> BTreeSet<String> {
    let mut zones = BTreeSet::new();
    if zone.is_empty() {
        return zones;
    }
    zones.insert(zone.to_owned());
    loop {
        let more: Vec<String> = programme
            .zones
            .iter()
            .filter(|inner| {
                let around = inner.within.as_ref();
                around.is_some_and(|around| zones.contains(around.as_str()))
                    && !zones.contains(inner.id.as_str())
            })
            .map(|inner| inner.id.to_string())
            .collect();
        if more.is_empty() {
            return zones;
        }
        zones.extend(more);
    }
}

fn fits(row: &FindingRow, filter: &FindingFilter, zones: &BTreeSet<String>) -> bool {
    let FindingFilter { state, zone: _, item, class, who, gate, text, sort: _ } = filter;
    let state = match state.as_str() {
        "" | "open" => !row.cleared,
        "all" => true,
        word => row.state.word() == word,
    };
    let is = |wanted: &str, found: &str| wanted.is_empty() || wanted == found;
    let hay = format!(
        "{} {} {} {}",
        row.finding,
        row.item,
        row.zone.as_deref().unwrap_or_default(),
        row.what
    );
    let hay = hay.to_lowercase();
    state
        && is(item, &row.item)
        && is(class, row.condition.word())
        && is(who, row.by.as_deref().unwrap_or_default())
        && (zones.is_empty()
            || row.zone.as_ref().is_some_and(|zone| zones.contains(zone)))
        && (gate.is_empty() || row.before.contains(gate))
        && text.to_lowercase().split_whitespace().all(|word| hay.contains(word))
}

fn sort(rows: &mut [FindingRow], by: &str) {
    let (by, back) = by.strip_prefix('-').map_or((by, false), |by| (by, true));
    let name = |a: &FindingRow, b: &FindingRow| natural(&a.finding, &b.finding);
    rows.sort_by(|a, b| {
        let order = match by {
            "finding" => name(a, b),
            "item" => a.item.cmp(&b.item),
            "zone" => a.zone.cmp(&b.zone),
            // Without a day it comes last: nobody can say that it is old.
            "found" => (a.found.is_none(), a.found).cmp(&(b.found.is_none(), b.found)),
            _ => (a.cleared, a.severity).cmp(&(b.cleared, b.severity)),
        };
        let order = if back { order.reverse() } else { order };
        order.then_with(|| name(a, b))
    });
}

/// `F-9` before `F-10`.
pub(crate) fn natural(a: &str, b: &str) -> Ordering {
    let split = |text: &str| {
        let at = text
            .rfind(|c: char| !c.is_ascii_digit())
            .map_or(0, |at| at + text[at..].chars().next().map_or(0, char::len_utf8));
        (text[..at].to_owned(), text[at..].parse::<u64>().ok())
    };
    let (one, other) = (split(a), split(b));
    if one.0 == other.0 && one.1.is_some() && other.1.is_some() {
        return one.1.cmp(&other.1).then_with(|| a.cmp(b));
    }
    a.cmp(b)
}

fn counts(rows: &[FindingRow]) -> Vec<(&'static str, usize)> {
    let count = |wanted: &dyn Fn(&FindingRow) -> bool| {
        rows.iter().filter(|row| wanted(row)).count()
    };
    let open = |condition: Condition| {
        count(&move |row: &FindingRow| !row.cleared && row.condition == condition)
    };
    let all = [
        ("a hazard", open(Condition::Hazard)),
        ("outside limits", open(Condition::OutsideLimits)),
        ("not classed", open(Condition::Unknown)),
        ("within limits", open(Condition::WithinLimits)),
        ("carried forward", count(&|row| row.state == FindingWord::Deferred)),
        ("cleared", count(&|row| row.cleared)),
    ];
    all.into_iter().filter(|(_, count)| *count > 0).collect()
}

fn choices(programme: &Programme, rows: &[FindingRow]) -> Choices {
    let named = |names: BTreeSet<&str>, called: &dyn Fn(&str) -> Option<String>| {
        names
            .into_iter()
            .filter(|name| !name.is_empty())
            .map(|name| (name.to_owned(), called(name).unwrap_or_default()))
            .collect()
    };
    let items: BTreeMap<&str, &str> = programme
        .items
        .iter()
        .map(|item| (item.id.as_str(), item.name.as_str()))
        .collect();
    let people: BTreeMap<&str, &str> = programme
        .people
        .iter()
        .map(|person| (person.id.as_str(), person.name.as_str()))
        .collect();
    let zones = programme.zones.iter().map(|z| (z.id.to_string(), z.name.clone()));
    let gates = ordered(programme).into_iter();
    Choices {
        zones: zones.collect(),
        items: named(rows.iter().map(|row| row.item.as_str()).collect(), &|name| {
            items.get(name).map(|name| (*name).to_owned())
        }),
        people: named(
            rows.iter().filter_map(|row| row.by.as_deref()).collect(),
            &|name| people.get(name).map(|name| (*name).to_owned()),
        ),
        gates: gates.map(|gate| (gate.id.to_string(), gate.name.clone())).collect(),
    }
}

/// What of a filter names nothing that there is: a link that was shared long ago, or a slip.
fn strange(programme: &Programme, filter: &FindingFilter) -> Vec<(&'static str, String)> {
    let mut strange = Vec::new();
    let mut check = |field, wanted: &str, known: Vec<&str>, noun: &str| {
        if !wanted.is_empty() && !known.contains(&wanted) {
            strange.push((field, crate::near::no_such(noun, wanted, known.into_iter())));
        }
    };
    let states = FindingWord::ALL.into_iter().map(FindingWord::word);
    check("state", &filter.state, states.chain(["open", "all"]).collect(), "state");
    let classes = Condition::ALL.into_iter().map(Condition::word);
    check("class", &filter.class, classes.collect(), "class");
    let zones = programme.zones.names().map(|id| id.as_str());
    check("zone", &filter.zone, zones.collect(), "zone");
    let items = programme.items.names().map(|id| id.as_str());
    check("item", &filter.item, items.collect(), "item");
    let people = programme.people.names().map(|id| id.as_str());
    check("who", &filter.who, people.collect(), "person");
    let gates = programme.gates.names().map(|id| id.as_str());
    check("gate", &filter.gate, gates.collect(), "gate");
    strange
}

/// Where a finding is marked; nothing if it is not.
pub fn mark_of(programme: &Programme, finding: &str) -> Option<Mark> {
    let id = FindingId::new(finding).ok()?;
    let (raise, _) = programme.shop.findings.states.get(&id)?.raised.as_ref()?;
    raise.mark.as_ref().map(Mark::from)
}

/// The rows as a list of a sheet, for CSV and JSON.
pub fn findings_sheet(found: &Findings, on: Date) -> Sheet {
    let dash = |text: Option<String>| text.unwrap_or_else(|| "-".to_owned());
    let rows = found.rows.iter().map(|row| {
        vec![
            row.finding.clone(),
            row.item.clone(),
            dash(row.zone.clone()),
            row.state.word().to_owned(),
            row.condition.word().to_owned(),
            dash(row.allows.clone()),
            row.before.join(", "),
            dash(row.found.map(|day| day.to_string())),
            dash(row.days.map(|days| days.to_string())),
            dash(row.by.clone()),
            row.photographs.to_string(),
            row.what.clone(),
        ]
    });
    let columns = vec![
        "finding",
        "item",
        "zone",
        "state",
        "class",
        "allows",
        "stands before",
        "found",
        "days",
        "by",
        "photographs",
        "what",
    ];
    Sheet {
        title: format!("Findings on {on}"),
        lists: vec![List { title: "findings".to_owned(), columns, rows: rows.collect() }],
        ..Sheet::default()
    }
}

/// A name for the next finding: the usual beginning of names so far, and the number after
/// the greatest. Whoever raises it may give another.
pub fn next_finding(programme: &Programme) -> String {
    let mut heads: BTreeMap<&str, (usize, u64, usize)> = BTreeMap::new();
    let all = all(programme);
    for name in all.iter().map(|finding| finding.as_str()) {
        let digits = name.chars().rev().take_while(char::is_ascii_digit).count();
        let (head, number) = name.split_at(name.len() - digits);
        let Ok(number) = number.parse::<u64>() else { continue };
        let (many, most, wide) = heads.entry(head).or_default();
        *many += 1;
        if number >= *most {
            (*most, *wide) = (number, digits);
        }
    }
    let usual = heads.into_iter().max_by_key(|(_, (many, most, _))| (*many, *most));
    let (head, (_, most, wide)) = usual.unwrap_or(("F-", (0, 0, 3)));
    let mut number = most;
    loop {
        number = number.saturating_add(1);
        let name = format!("{head}{number:0wide$}");
        if number == u64::MAX || !all.iter().any(|finding| finding.as_str() == name) {
            return name;
        }
    }
}

#[cfg(test)]
mod tests;
