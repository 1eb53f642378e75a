//! The record entry by entry: newest first, narrowed, and one with all that is known of it.

use std::ops::ControlFlow;

use jiff::civil::Date;
use ledger::{Digest, Entry, Place};
use record::Programme;
use serde_json::{Value, json};

use crate::AppError;
use crate::history::names;
use crate::seal::{Sealed, Seals, peel};
use crate::workshop::{cautions_of, fold_entry, look_at};

/// So many entries are looked at in one go, from the newest back.
const WINDOW: u64 = 2_000;

/// Which entries are wanted; what is blank narrows nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct EntriesWanted {
    /// By whom.
    pub by: String,
    /// The word of the act, or the kind of the entry.
    pub word: String,
    /// What is named in it.
    pub thing: String,
    /// From this day on.
    pub from: String,
    /// Until this day.
    pub until: String,
    /// Those before this number.
    pub before: Option<u64>,
    /// So many.
    pub most: usize,
}

impl EntriesWanted {
    /// What can't be read of it.
    pub fn wrong(&self) -> Option<String> {
        let days = [&self.from, &self.until];
        let wrong = days.into_iter().find(|day| {
            !day.is_empty() && (day.len() != 10 || day.parse::<Date>().is_err())
        })?;
        Some(format!("`{wrong}` is no day; write it as 2032-01-14"))
    }

    fn holds(&self, entry: &Entry) -> bool {
        let day = entry.at.get(..10).unwrap_or_default();
        let word = |word: &str| {
            entry.kind == word || entry.kind.strip_prefix("act.") == Some(word)
        };
        (self.by.is_empty() || entry.by == self.by)
            && (self.word.is_empty() || word(&self.word))
            && (self.from.is_empty() || day >= self.from.as_str())
            && (self.until.is_empty() || day <= self.until.as_str())
            && (self.thing.is_empty() || names(&body(entry), &self.thing))
    }
}

/// Entries, newest first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entries {
    /// Those of this page.
    pub entries: Vec<EntryShown>,
    /// Where the next page begins: those before this number; nothing if this is all.
    pub next: Option<u64>,
    /// The number of the last entry of the record.
    pub last: u64,
}

/// An entry as it is listed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryShown {
    /// Its number.
    pub number: u64,
    /// When, as it was written.
    pub at: String,
    /// By whom.
    pub by: String,
    /// The word of its act, or its kind.
    pub word: String,
    /// Whether it is an act, or a fact of the programme.
    pub is_act: bool,
    /// Whether it carries a seal.
    pub sealed: bool,
    /// Why it was struck through, and by whom.
    pub struck: Option<String>,
    /// What it says, as it was written.
    pub body: Value,
}

/// One entry with all that is known of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct EntryWhole {
    /// As it is listed.
    pub entry: EntryShown,
    /// The version of its form.
    pub version: u32,
    /// The first entry of its batch.
    pub batch: u64,
    /// Its digest, and the digest of the entry before it.
    pub digests: (String, String),
    /// What is known of its seal, in a sentence, and whether that is wrong.
    pub seal: (String, bool),
    /// What whoever signed was told then, without it being forbidden.
    pub cautions: Vec<String>,
    /// Acts that put it right, with what is known of their fields.
    pub corrections: Vec<Correction>,
    /// The number of the last entry of the record.
    pub last: u64,
}

/// An act that puts an entry right.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Correction {
    /// Its word.
    pub word: &'static str,
    /// What it does here.
    pub what: &'static str,
    /// What is known of its fields.
    pub fields: Vec<(String, String)>,
}

fn body(entry: &Entry) -> Value {
    serde_json::from_str(peel(&entry.body).body).unwrap_or_default()
}

fn shown(programme: &Programme, entry: &Entry) -> EntryShown {
    let struck = programme.shop.strikes.struck.get(&entry.number);
    let word = entry.kind.strip_prefix("act.");
    EntryShown {
        number: entry.number,
        at: entry.at.clone(),
        by: entry.by.clone(),
        word: word.unwrap_or(&entry.kind).to_owned(),
        is_act: word.is_some(),
        sealed: peel(&entry.body).seal.is_some(),
        struck: struck.map(|struck| format!("by {}: {}", struck.mark.by, struck.reason)),
        body: body(entry),
    }
}

/// The entries that are wanted.
///
/// # Errors
/// If the ledger can't be read, or a day is none.
pub fn entries(
    programme: &Programme,
    ledger: &Place,
    wanted: &EntriesWanted,
) -> Result<Entries, AppError> {
    if let Some(wrong) = wanted.wrong() {
        return Err(AppError::Unknown(wrong));
    }
    let store = look_at(ledger)?;
    let last = store.head().map_err(AppError::Ledger)?.number;
    let mut end = wanted.before.map_or(last, |before| before.saturating_sub(1).min(last));
    let mut found: Vec<EntryShown> = Vec::new();
    while end > 0 && found.len() <= wanted.most {
        let begin = end.saturating_sub(WINDOW);
        let mut here = Vec::new();
        let mut visit = |entry: Entry| {
            if entry.number > end {
                return ControlFlow::Break(());
            }
            if wanted.holds(&entry) {
                here.push(shown(programme, &entry));
            }
            ControlFlow::Continue(())
        };
        store.read(begin, &mut visit).map_err(AppError::Ledger)?;
        found.extend(here.into_iter().rev());
        end = begin;
    }
    let more = found.len() > wanted.most;
    found.truncate(wanted.most);
    let next = found.last().map(|entry| entry.number).filter(|_| more);
    Ok(Entries { entries: found, next, last })
}

/// One entry. All before it are folded, so that its seal is held against the key that whoever
/// signed had then, and what they were told is what they were told then.
///
/// # Errors
/// If there is none of this number, or the ledger can't be read.
pub fn entry(
    programme: &Programme,
    ledger: &Place,
    number: u64,
) -> Result<EntryWhole, AppError> {
    let store = look_at(ledger)?;
    let last = store.head().map_err(AppError::Ledger)?.number;
    let none =
        || AppError::Unknown(format!("there is no entry {number}; the last is {last}"));
    if number == 0 || number > last {
        return Err(none());
    }
    let id = store.id().map_err(AppError::Ledger)?;
    let (mut then, mut before) = (Programme::default(), ledger::chain::start_digest(&id));
    let (mut found, mut failed) = (None, None);
    let mut visit = |entry: Entry| {
        if entry.number == number {
            found = Some(entry);
            return ControlFlow::Break(());
        }
        failed = fold_entry(&mut then, &entry).err();
        before = entry.digest;
        if failed.is_some() { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    };
    store.read(0, &mut visit).map_err(AppError::Ledger)?;
    if let Some(failed) = failed {
        return Err(failed);
    }
    let found = found.ok_or_else(none)?;
    Ok(EntryWhole {
        entry: shown(programme, &found),
        version: found.version,
        batch: found.batch,
        digests: (found.digest.to_string(), Digest::to_string(&before)),
        seal: seal(&id, &then, &found),
        cautions: cautions_of(&then, &found),
        corrections: corrections(programme, &found),
        last,
    })
}

/// What is known of a seal, and whether that is wrong.
fn seal(id: &ledger::LedgerId, then: &Programme, entry: &Entry) -> (String, bool) {
    let mut seals = Seals::new(id);
    seals.look(then, &Sealed::from(entry));
    let (count, faults) = seals.finish();
    if !faults.is_empty() {
        return (faults.join("; "), true);
    }
    let by = &entry.by;
    if count > 0 {
        return (
            format!("sealed with the key that {by} had then, and the seal holds"),
            false,
        );
    }
    (format!("not sealed: {by} had no secret then"), false)
}

/// What undoes an act, where it is undone by an act of its own: the act, the field that both
/// have, and what it does.
const UNDONE_BY: [(&str, &str, &str, &str); 10] = [
    ("grant", "withdraw", "authority", "Withdraws the authority from now on"),
    ("finish", "reopen", "job", "Opens the card again"),
    ("clear", "revive", "finding", "Opens the finding again"),
    ("accept", "quarantine", "item", "Puts the part into quarantine"),
    ("release", "quarantine", "item", "Puts the part into quarantine again"),
    ("open-gate", "shut-gate", "gate", "Shuts the gate again"),
    ("tool-out", "tool-in", "tool", "Takes the tool in again"),
    ("lose-tool", "find-tool", "tool", "Says that the tool was found"),
    ("start", "pause", "job", "Says that the work rests"),
    ("defer", "classify", "finding", "Classes the finding anew"),
];

/// What puts an entry right, as far as the rules have an act for it.
fn corrections(programme: &Programme, entry: &Entry) -> Vec<Correction> {
    let Some(word) = entry.kind.strip_prefix("act.") else { return Vec::new() };
    let strikes = &programme.shop.strikes;
    if strikes.struck.contains_key(&entry.number) {
        return again(word, entry).into_iter().collect();
    }
    let mut found = Vec::new();
    if strikes.places.contains_key(&entry.number) {
        let what = "Strikes it through: it stays legible and no longer counts";
        let fields = vec![("entry".to_owned(), entry.number.to_string())];
        found.push(Correction { word: "strike", what, fields });
        found.extend(again(word, entry));
    }
    let undone = UNDONE_BY.into_iter().filter(|(of, _, _, _)| *of == word);
    found.extend(undone.filter_map(|(_, word, field, what)| {
        let name = body(entry)[field].as_str()?.to_owned();
        Some(Correction { word, what, fields: vec![(field.to_owned(), name)] })
    }));
    found
}

/// The same act with all that was written, to be put right and signed.
fn again(word: &str, entry: &Entry) -> Option<Correction> {
    let form = crate::act_forms().into_iter().find(|form| form.word == word)?;
    let mut fields = Vec::new();
    flat("", &body(entry), &mut fields);
    let what = "Enters it anew, with what was written to begin with";
    Some(Correction { word: form.word, what, fields })
}

/// The fields of a body as a form has them: `steps.1.id`.
fn flat(before: &str, value: &Value, fields: &mut Vec<(String, String)>) {
    let plain = |value: &Value| match value {
        Value::String(text) => Some(text.clone()),
        Value::Bool(flag) => Some(if *flag { "yes" } else { "no" }.to_owned()),
        Value::Number(number) => Some(number.to_string()),
        _ => None,
    };
    let name = |part: &str| {
        if before.is_empty() { part.to_owned() } else { format!("{before}.{part}") }
    };
    match value {
        Value::Object(members) => {
            for (part, value) in members {
                flat(&name(part), value, fields);
            }
        }
        Value::Array(items) if items.iter().any(Value::is_object) => {
            for (at, item) in items.iter().enumerate() {
                flat(&name(&(at + 1).to_string()), item, fields);
            }
        }
        Value::Array(items) => {
            let items: Vec<String> = items.iter().filter_map(plain).collect();
            fields.push((before.to_owned(), items.join("; ")));
        }
        other => fields.extend(plain(other).map(|text| (before.to_owned(), text))),
    }
}

fn listed(entry: &EntryShown) -> Value {
    json!({
        "entry": entry.number,
        "at": entry.at,
        "by": entry.by,
        "what": entry.word,
        "act": entry.is_act,
        "sealed": entry.sealed,
        "struck": entry.struck,
        "body": entry.body,
    })
}

/// Entries for programs.
pub fn entries_json(entries: &Entries) -> Value {
    json!({
        "entries": entries.entries.iter().map(listed).collect::<Vec<_>>(),
        "next": entries.next,
        "last": entries.last,
    })
}

/// One entry for programs.
pub fn entry_json(whole: &EntryWhole) -> Value {
    let mut value = listed(&whole.entry);
    value["version"] = whole.version.into();
    value["batch"] = whole.batch.into();
    value["digest"] = whole.digests.0.as_str().into();
    value["before"] = whole.digests.1.as_str().into();
    value["seal"] = json!({ "says": whole.seal.0, "wrong": whole.seal.1 });
    value["cautions"] = json!(whole.cautions);
    value["last"] = whole.last.into();
    value
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_becomes_the_fields_of_a_form() {
        let body = json!({
            "job": "ON:X", "steps": [{ "id": "10", "inspected": true }, { "id": "20" }],
            "tools": ["TW-1", "TW-2"], "hours": 3, "certificate": { "number": "C 1" },
        });
        let mut fields = Vec::new();
        flat("", &body, &mut fields);
        let pair = |(a, b): &(String, String)| format!("{a}={b}");
        let mut fields: Vec<String> = fields.iter().map(pair).collect();
        fields.sort();
        assert_eq!(
            fields,
            [
                "certificate.number=C 1",
                "hours=3",
                "job=ON:X",
                "steps.1.id=10",
                "steps.1.inspected=yes",
                "steps.2.id=20",
                "tools=TW-1; TW-2",
            ]
        );
    }

    #[test]
    fn what_undoes_an_act_has_the_field_that_names_it() {
        let forms = crate::act_forms();
        for (of, word, field, _) in UNDONE_BY {
            for word in [of, word] {
                let form = forms.iter().find(|form| form.word == word);
                let form = form.unwrap_or_else(|| panic!("there is no act {word}"));
                assert!(
                    form.fields.iter().any(|one| one.name == field),
                    "{word} {field}"
                );
            }
        }
    }

    #[test]
    fn days_are_looked_at() {
        let wanted =
            |from: &str| EntriesWanted { from: from.into(), ..Default::default() };
        assert_eq!(wanted("2032-01-14").wrong(), None);
        assert!(wanted("2032-13-14").wrong().is_some());
        assert!(wanted("soon").wrong().is_some());
    }
}
