//! Entries as the ledger keeps them: a kind, a version, and a body in JSON.
//!
//! The body of an entry is one object: for each field of the kind's table that is given,
//! its text in the notation of the folder, a list of texts, a number or true. What a
//! version says never changes; a newer version is read beside the older ones, because a
//! ledger is kept for as long as the aircraft.

use std::sync::Arc;

use record::{Act, Change, Entry};

use crate::cell::{Cell, Row, Value};
use crate::fields::{Kind, Out, PROGRAMME, Record, Shape};
use crate::json::Json;
use crate::taker::{Taker, take};
use crate::things::{Thing, read_info, write_info};
use crate::{Place, Problem, acts};

/// The version in which bodies are written.
pub const VERSION: u32 = 1;

/// The ending of a kind by which something is taken away.
const RETIRED: &str = ".retired";

/// Why an entry cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StoredError {
    /// Nobody knows its kind.
    #[error(
        "there are no entries of the kind `{0}`: they come from a newer version of the program"
    )]
    Kind(String),
    /// Its version came later.
    #[error(
        "an entry of the kind `{kind}` has version {version}, and {VERSION} is the latest that \
         is known: it comes from a newer version of the program"
    )]
    Version {
        /// The kind.
        kind: String,
        /// The version.
        version: u32,
    },
    /// The body is not JSON, or not an object.
    #[error("the body of an entry of the kind `{kind}` is not a JSON object: {why}")]
    Json {
        /// The kind.
        kind: String,
        /// What the reader of JSON says.
        why: String,
    },
    /// The body does not hold what its kind holds.
    #[error("the body of an entry of the kind `{kind}` cannot be read: {why}")]
    Body {
        /// The kind.
        kind: String,
        /// Everything that is wrong with it.
        why: String,
    },
}

/// An entry as it is kept: the kind (`item` where an item is put down in a new state,
/// `item.retired` where one is taken away), the version, and the body in JSON.
pub type Stored = (String, u32, String);

/// What an entry of the ledger says.
#[derive(Debug, Clone, PartialEq)]
#[expect(
    clippy::large_enum_variant,
    reason = "a fact lives from the ledger to the fold, one at a time"
)]
pub enum Fact {
    /// Something of the programme changed.
    Entry(Entry),
    /// Somebody did something and signed for it.
    Act(Act),
}

/// Reads an entry of the ledger, whatever it says, of any version up to [`VERSION`].
///
/// # Errors
/// When the kind or the version is not known, or the body does not say such a thing.
pub fn decode_any(kind: &str, version: u32, body: &str) -> Result<Fact, StoredError> {
    if kind.starts_with(acts::PREFIX) {
        acts::decode(kind, version, body).map(Fact::Act)
    } else {
        decode(kind, version, body).map(Fact::Entry)
    }
}

/// Writes an entry.
pub fn encode(entry: &Entry) -> Stored {
    match entry {
        Entry::Info(info) => stored(PROGRAMME.table.to_owned(), write_info(info)),
        Entry::Gate(change) => changed(change),
        Entry::Skill(change) => changed(change),
        Entry::Zone(change) => changed(change),
        Entry::Stand(change) => changed(change),
        Entry::Place(change) => changed(change),
        Entry::Gear(change) => changed(change),
        Entry::Arrangement(change) => changed(change),
        Entry::Item(change) => changed(change),
        Entry::Connection(change) => changed(change),
        Entry::Check(change) => changed(change),
        Entry::Person(change) => changed(change),
        Entry::Firm(change) => changed(change),
        Entry::Route(change) => changed(change),
        Entry::Season(change) => changed(change),
        Entry::Pack(change) => changed(change),
        Entry::Finding(change) => changed(change),
        Entry::Job(change) => changed(change),
        Entry::Actual(change) => changed(change),
        Entry::Tool(change) => changed(change),
        Entry::Requirement(change) => changed(change),
        Entry::Rule(change) => changed(change),
        Entry::Retention(change) => changed(change),
        Entry::Outline(change) => changed(change),
    }
}

/// Reads an entry of any version up to [`VERSION`].
///
/// # Errors
/// When the kind or the version is not known, or the body does not say such a thing.
pub fn decode(kind: &str, version: u32, body: &str) -> Result<Entry, StoredError> {
    let (table, retired) = match kind.strip_suffix(RETIRED) {
        Some(table) => (table, true),
        None => (kind, false),
    };
    if version == 0 || version > VERSION {
        return Err(StoredError::Version { kind: kind.to_owned(), version });
    }
    let body = Body { kind, retired, json: body };
    match table {
        "programme" if !retired => {
            thing(kind, &PROGRAMME, body.json, read_info).map(Arc::new).map(Entry::Info)
        }
        "gate" => body.change().map(Entry::Gate),
        "skill" => body.change().map(Entry::Skill),
        "zone" => body.change().map(Entry::Zone),
        "stand" => body.change().map(Entry::Stand),
        "place" => body.change().map(Entry::Place),
        "gear" => body.change().map(Entry::Gear),
        "arrangement" => body.change().map(Entry::Arrangement),
        "item" => body.change().map(Entry::Item),
        "connection" => body.change().map(Entry::Connection),
        "check" => body.change().map(Entry::Check),
        "person" => body.change().map(Entry::Person),
        "firm" => body.change().map(Entry::Firm),
        "route" => body.change().map(Entry::Route),
        "season" => body.change().map(Entry::Season),
        "pack" => body.change().map(Entry::Pack),
        "finding" => body.change().map(Entry::Finding),
        "job" => body.change().map(Entry::Job),
        "actual" => body.change().map(Entry::Actual),
        "tool" => body.change().map(Entry::Tool),
        "requirement" => body.change().map(Entry::Requirement),
        "rule" => body.change().map(Entry::Rule),
        "retention" => body.change().map(Entry::Retention),
        "outline" => body.change().map(Entry::Outline),
        _ => Err(StoredError::Kind(kind.to_owned())),
    }
}

fn changed<T: Thing>(change: &Change<T>) -> Stored {
    let table = T::KIND.table;
    match change {
        Change::Define(thing) => stored(table.to_owned(), thing.write()),
        Change::Retire(name) => {
            let key = T::KIND.fields[0].name;
            stored(format!("{table}{RETIRED}"), vec![(key, Out::Text(name.to_string()))])
        }
    }
}

pub(crate) fn stored(kind: String, record: Record) -> Stored {
    (kind, VERSION, object(record).to_string())
}

pub(crate) fn object(record: Record) -> Json {
    Json::Object(
        record.into_iter().map(|(field, out)| (field.to_owned(), json(out))).collect(),
    )
}

fn json(out: Out) -> Json {
    match out {
        Out::Text(text) => Json::Text(text),
        Out::List(texts) => Json::List(texts.into_iter().map(Json::Text).collect()),
        Out::Flag(flag) => Json::Flag(flag),
        Out::Count(count) => Json::Whole(count.into()),
        // As a text: readers of JSON may round a number.
        Out::Number(number) => Json::Text(number.to_string()),
        Out::Row(record) => object(record),
        Out::Rows(records) => Json::List(records.into_iter().map(object).collect()),
    }
}

struct Body<'a> {
    kind: &'a str,
    retired: bool,
    json: &'a str,
}

impl Body<'_> {
    fn change<T: Thing>(&self) -> Result<Change<T>, StoredError>
    where
        T::Name: crate::notation::Notated,
    {
        if self.retired {
            let key = T::KIND.fields[0].name;
            return thing(self.kind, T::KIND, self.json, |row| row.need(key))
                .map(Change::Retire);
        }
        thing(self.kind, T::KIND, self.json, T::read)
            .map(|thing| Change::Define(Arc::new(thing)))
    }
}

/// Reads a body along a table of fields.
pub(crate) fn thing<T>(
    kind: &str,
    table: &'static Kind,
    json: &str,
    read: impl FnOnce(&mut Taker<'_>) -> Option<T>,
) -> Result<T, StoredError> {
    let not_json = |why: String| StoredError::Json { kind: kind.to_owned(), why };
    let value: serde_json::Value =
        serde_json::from_str(json).map_err(|error| not_json(error.to_string()))?;
    let serde_json::Value::Object(members) = value else {
        return Err(not_json("it is another value".to_owned()));
    };
    let mut problems = Vec::new();
    let row = row(table, members, &mut problems);
    let thing = take(&row, &mut problems, read);
    thing.filter(|_| problems.is_empty()).ok_or_else(|| {
        let why =
            problems.iter().map(|problem| problem.what.as_str()).collect::<Vec<_>>();
        StoredError::Body { kind: kind.to_owned(), why: why.join("; ") }
    })
}

type Members = serde_json::Map<String, serde_json::Value>;

fn row(kind: &'static Kind, members: Members, problems: &mut Vec<Problem>) -> Row {
    let place = Place::whole("entry");
    let mut row = Row::empty(kind, place.clone());
    for (name, value) in members {
        if let Some(at) = kind.position(&name) {
            let value = cell_value(kind.fields[at].shape, value, problems);
            row.cells[at] = Some(Cell { value, place: place.clone() });
        } else {
            let what = format!("a {} has no field `{name}`", kind.noun);
            problems.push(Problem::error(&place, what));
        }
    }
    row
}

fn cell_value(
    shape: Shape,
    value: serde_json::Value,
    problems: &mut Vec<Problem>,
) -> Value {
    use serde_json::Value as J;
    match (shape, value) {
        (_, J::String(text)) => Value::Text(text),
        (_, J::Bool(flag)) => Value::Bool(flag),
        (_, J::Number(number)) => match number.as_i64() {
            Some(whole) => Value::Int(whole),
            None => Value::Text(number.to_string()),
        },
        (Shape::Row(kind), J::Object(members)) => {
            Value::Rows(vec![row(kind, members, problems)])
        }
        (Shape::Rows(kind), J::Array(items)) => {
            let mut rows = Vec::new();
            for item in items {
                match item {
                    J::Object(members) => rows.push(row(kind, members, problems)),
                    _ => {
                        return Value::Unusable(format!(
                            "a {} is not an object",
                            kind.noun
                        ));
                    }
                }
            }
            Value::Rows(rows)
        }
        (_, J::Array(items)) => {
            let place = Place::whole("entry");
            let each = items.into_iter().map(|item| Cell {
                value: cell_value(Shape::Text, item, problems),
                place: place.clone(),
            });
            Value::Array(each.collect())
        }
        (_, J::Null | J::Object(_)) => {
            Value::Unusable("it is neither text nor list".to_owned())
        }
    }
}
