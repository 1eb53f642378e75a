//! Which things acts and entries touch, so that two people who are at the same thing at once
//! hear of each other.
//!
//! An act touches what it is about: a card or a step of it, a finding, a part, a tool, a
//! gate and so on. A card that it only refers to (where a tool went, where a finding turned
//! up) it does not touch, nor people, places or firms.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use ledger::{Entry, Store};
use record::Act;
use serde_json::{Value, json};

use crate::{AppError, Signed};

/// What people call the things that can be touched, as fields of acts name them.
const NOUNS: [(&str, &str); 20] = [
    ("finding", "finding"),
    ("follow_up", "finding"),
    ("raised", "finding"),
    ("item", "item"),
    ("items", "item"),
    ("tool", "tool"),
    ("gate", "gate"),
    ("requirement", "requirement"),
    ("batch", "batch"),
    ("query", "query"),
    ("authority", "authority"),
    ("letter", "letter"),
    ("directive", "directive"),
    ("modification", "modification"),
    ("sample", "sample"),
    ("duty", "duty"),
    ("pack", "pack"),
    ("recipient", "item"),
    ("lacking", "item"),
    ("answers", "letter"),
];

/// Acts that are about the card that they name.
const OF_CARDS: [&str; 14] = [
    "issue-card",
    "add-step",
    "start",
    "pause",
    "hand-over",
    "take-over",
    "sign-step",
    "countersign",
    "inspect",
    "disturb",
    "query",
    "hours",
    "finish",
    "reopen",
];

/// A thing, or a part of one: the noun, the name, and the step of a card.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Thing {
    noun: String,
    name: String,
    step: Option<String>,
}

impl Thing {
    fn new(noun: &str, name: &str) -> Self {
        Self { noun: noun.to_owned(), name: name.to_owned(), step: None }
    }

    /// Whether both are the same, or one is a part of the other.
    fn meets(&self, other: &Self) -> bool {
        let same = self.noun == other.noun && self.name == other.name;
        let apart = matches!((&self.step, &other.step), (Some(a), Some(b)) if a != b);
        same && !apart
    }
}

impl std::fmt::Display for Thing {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} {}", self.noun, self.name)?;
        self.step.as_ref().map_or(Ok(()), |step| write!(f, " step {step}"))
    }
}

/// An entry that touches what somebody's acts touch, as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Since {
    /// Its number.
    pub number: u64,
    /// When it was made.
    pub at: String,
    /// By whom.
    pub by: String,
    /// Its word: that of an act, or the noun of what was loaded anew.
    pub word: String,
    /// What it says.
    pub body: Value,
    /// What both touch.
    pub things: Vec<String>,
}

/// What somebody typed, and what others entered since they had looked that touches the same.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Changed {
    /// What was typed, in the form in which a file of acts takes it.
    pub acts: Vec<Value>,
    /// The entry up to which they had looked.
    pub seen: u64,
    /// The last entry now.
    pub now: u64,
    /// What was entered in between, in order.
    pub since: Vec<Since>,
}

impl std::fmt::Display for Changed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "since entry {} others touched the same things", self.seen)?;
        for since in &self.since {
            let Since { number, at, by, word, body, things } = since;
            write!(f, "\nentry {number}, {at}, {by}: {word} {body}")?;
            write!(f, "\n  touches {}", things.join(", "))?;
        }
        Ok(())
    }
}

/// The same for programs; `acts` can be sent again as they are.
pub fn changed_json(changed: &Changed) -> Value {
    let Changed { acts, seen, now, since } = changed;
    let since = since.iter().map(|since| {
        let Since { number, at, by, word, body, things } = since;
        json!({
            "entry": number, "at": at, "by": by, "act": word, "body": body,
            "touches": things,
        })
    });
    let since: Vec<Value> = since.collect();
    json!({ "acts": acts, "seen": seen, "now": now, "since": since })
}

/// Acts in the form in which a file of acts takes them.
fn as_typed(acts: &[Act]) -> Vec<Value> {
    let typed = |act: &Act| {
        let (_, _, body) = folder::acts::encode(act);
        let mut value: Value = serde_json::from_str(&body).unwrap_or_else(|_| json!({}));
        value["act"] = json!(act.word());
        value
    };
    acts.iter().map(typed).collect()
}

/// What others entered after `seen` that touches what these acts touch, if anything.
///
/// # Errors
/// If the ledger cannot be read, or ends before `seen`.
pub(crate) fn changed(
    store: &dyn Store,
    acts: &[Act],
    signed: &Signed,
    seen: u64,
) -> Result<Option<Changed>, AppError> {
    let now = store.head().map_err(AppError::Ledger)?.number;
    if seen > now {
        return Err(AppError::Unknown(format!(
            "the ledger ends at entry {now}, so that nobody can have looked up to {seen}: \
             look again, and give the number that is shown"
        )));
    }
    let mut mine = BTreeSet::new();
    for act in acts {
        let (kind, _, body) = folder::acts::encode(act);
        mine.extend(touched(store, &kind, body.as_bytes())?);
    }
    let mut since = Vec::new();
    for entry in entries(store, seen)? {
        if entry.by != signed.by {
            since.extend(meeting(store, &mine, entry)?);
        }
    }
    let acts = as_typed(acts);
    Ok((!since.is_empty()).then_some(Changed { acts, seen, now, since }))
}

fn entries(store: &dyn Store, after: u64) -> Result<Vec<Entry>, AppError> {
    let mut entries = Vec::new();
    let mut visit = |entry| {
        entries.push(entry);
        ControlFlow::Continue(())
    };
    store.read(after, &mut visit).map_err(AppError::Ledger)?;
    Ok(entries)
}

fn meeting(
    store: &dyn Store,
    mine: &BTreeSet<Thing>,
    entry: Entry,
) -> Result<Option<Since>, AppError> {
    let theirs = touched(store, &entry.kind, &entry.body)?;
    let meets = |thing: &&Thing| mine.iter().any(|other| other.meets(thing));
    let things: Vec<String> =
        theirs.iter().filter(meets).map(ToString::to_string).collect();
    let word = entry.kind.strip_prefix("act.").unwrap_or(&entry.kind).to_owned();
    let body = serde_json::from_slice(&entry.body).unwrap_or_default();
    let Entry { number, at, by, .. } = entry;
    let since = Since { number, at, by, word, body, things };
    Ok((!since.things.is_empty()).then_some(since))
}

/// What an entry of this kind touches. What strikes another entry touches what that one did.
fn touched(
    store: &dyn Store,
    kind: &str,
    body: &[u8],
) -> Result<BTreeSet<Thing>, AppError> {
    let body: Value = serde_json::from_slice(body).unwrap_or_default();
    let Some(word) = kind.strip_prefix("act.") else {
        let noun = kind.strip_suffix(".retired").unwrap_or(kind);
        return Ok(names(&body["id"]).map(|name| Thing::new(noun, name)).collect());
    };
    if word == "strike" {
        return struck(store, &body["entry"]);
    }
    let mut things = BTreeSet::new();
    for (field, noun) in NOUNS {
        things.extend(names(&body[field]).map(|name| Thing::new(noun, name)));
    }
    if OF_CARDS.contains(&word) {
        things.extend(card(&body));
    }
    Ok(things)
}

fn struck(store: &dyn Store, number: &Value) -> Result<BTreeSet<Thing>, AppError> {
    let last = store.head().map_err(AppError::Ledger)?.number;
    let number = number.as_u64().filter(|number| (1..=last).contains(number));
    let Some(number) = number else { return Ok(BTreeSet::new()) };
    let mut found = None;
    let mut visit = |entry: Entry| {
        found = Some(entry);
        ControlFlow::Break(())
    };
    store.read(number - 1, &mut visit).map_err(AppError::Ledger)?;
    match found {
        // What was struck is itself no strike: the rules refuse that.
        Some(entry) if entry.kind != "act.strike" => {
            touched(store, &entry.kind, &entry.body)
        }
        _ => Ok(BTreeSet::new()),
    }
}

/// The steps that are named of a card, or the whole card.
fn card(body: &Value) -> Vec<Thing> {
    let Some(job) = body["job"].as_str() else { return Vec::new() };
    let whole = Thing::new("card", job);
    let steps = names(&body["step"]).chain(names(&body["steps"]));
    let parts: Vec<Thing> = steps
        .map(|step| Thing { step: Some(step.to_owned()), ..whole.clone() })
        .collect();
    if parts.is_empty() { vec![whole] } else { parts }
}

/// A name, or each of a list of names; objects, such as the steps of a new card, have none.
fn names(value: &Value) -> impl Iterator<Item = &str> {
    let list = value.as_array().map_or(&[][..], Vec::as_slice);
    value.as_str().into_iter().chain(list.iter().filter_map(Value::as_str))
}
