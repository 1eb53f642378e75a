//! Acts as stored bodies, as JSON, and as words on a command line.
//!
//! Every act is declared once, with its fields, in the tables below this module; what is
//! stored, what people and programs give in, the schema and the reference follow from them.
//!
//! - [`encode`] and [`decode`] are for the ledger: what a version says never changes;
//! - [`from_fields`] takes fields and values as somebody types them;
//! - [`from_json`] takes one act or many, as another program writes them, and [`to_json`]
//!   writes them so;
//! - [`reference()`] and [`schema`] describe the acts to people and to programs.

mod air;
mod cards;
mod examinations;
mod findings;
mod form;
mod gates;
mod office;
mod parts;
mod people;
mod plans;
mod records;
mod reference;
mod repairs;
mod stores;
mod table;
mod text;
mod typed;

pub use form::{ActForm, FieldForm, FieldSort, Takes, forms};
pub use reference::reference;
pub use text::from_json;
pub use typed::from_fields;

use record::Act;
use record::act as a;

use crate::Problem;
use crate::cell::Row;
use crate::fields::{Kind, Out, Record, Shape};
use crate::json::Json;
use crate::nearest::did_you_mean;
use crate::notation::quoted;
use crate::stored::{self, Stored, StoredError, VERSION};
use crate::taker::{Taker, take};

use table::Part;

/// What the kind of a stored act begins with; its word follows.
pub(crate) const PREFIX: &str = "act.";

/// Writes an act as it is kept: its kind (`act.sign-step`), the version, and the body.
///
/// What [`decode`], [`from_fields`] or [`from_json`] gave reads back the same. An act that was
/// put together otherwise may hold what no notation can say, such as a control character in
/// a text or a number that is infinite; decode it again before it is kept.
pub fn encode(act: &Act) -> Stored {
    let (kind, record) = written(act);
    stored::stored(format!("{PREFIX}{}", kind.table), record)
}

/// Writes acts as [`from_json`] reads them, in lines, for people to go over.
pub fn to_json(acts: &[Act]) -> String {
    let each = acts.iter().map(|act| {
        let (kind, record) = written(act);
        let word = ("act".to_owned(), Json::text(kind.table));
        match stored::object(record) {
            Json::Object(members) => {
                Json::Object(std::iter::once(word).chain(members).collect())
            }
            other => other,
        }
    });
    Json::List(each.collect()).pretty()
}

/// Reads an act of any version up to [`VERSION`].
///
/// # Errors
/// When the kind or the version is not known, or the body does not say such an act.
pub fn decode(kind: &str, version: u32, body: &str) -> Result<Act, StoredError> {
    let Some(table) = kind.strip_prefix(PREFIX).and_then(known) else {
        return Err(StoredError::Kind(kind.to_owned()));
    };
    if version == 0 || version > VERSION {
        return Err(StoredError::Version { kind: kind.to_owned(), version });
    }
    stored::thing(kind, table, body, |row| read(table, row))
}

/// A limit as somebody writes it: `torque 40..45 lbf·in`.
pub fn limit_text(limit: &record::act::Limit) -> String {
    match crate::notation::Notated::print(limit) {
        crate::fields::Out::Text(text) => text,
        // A limit is written as a text; its name stands for it if it ever were not.
        _ => limit.name.clone(),
    }
}

/// The files that an act names by their digests, each with the field that does.
pub fn files(act: &Act) -> Vec<(&'static str, String)> {
    let (kind, record) = written(act);
    let mut files = Vec::new();
    named_files(kind, &record, &mut files);
    files
}

fn named_files(kind: &Kind, record: &Record, files: &mut Vec<(&'static str, String)>) {
    for field in kind.fields {
        let Some((_, out)) = record.iter().find(|(name, _)| *name == field.name) else {
            continue;
        };
        match (field.shape, out) {
            (Shape::File, Out::Text(digest)) => files.push((field.name, digest.clone())),
            (Shape::Files, Out::List(digests)) => {
                files.extend(digests.iter().map(|digest| (field.name, digest.clone())));
            }
            (Shape::Row(part), Out::Row(row)) => named_files(part, row, files),
            (Shape::Rows(part), Out::Rows(rows)) => {
                for row in rows {
                    named_files(part, row, files);
                }
            }
            _ => {}
        }
    }
}

/// The JSON Schema (2020-12) of what [`from_json`] reads.
pub fn schema() -> String {
    crate::schema::acts(&ACTS)
}

/// Lists the acts in the order of their words, and finds the type of each by its word.
macro_rules! acts {
    ($($act:ident)*) => {
        /// The tables of all acts.
        pub(crate) static ACTS: [&Kind; Act::WORDS.len()] = [$(<a::$act as Part>::KIND),*];

        fn written(act: &Act) -> (&'static Kind, Record) {
            match act {
                $(Act::$act(act) => (<a::$act as Part>::KIND, act.write()),)*
            }
        }

        fn read(kind: &Kind, row: &mut Taker<'_>) -> Option<Act> {
            $(
                if kind.table == <a::$act as Part>::KIND.table {
                    return <a::$act as Part>::read(row).map(Act::$act);
                }
            )*
            None
        }
    };
}

acts! {
    Grant Withdraw Enrol
    IssueCard AddStep Start Pause HandOver TakeOver SignStep Countersign Inspect Disturb
    Query Answer Hours Finish Reopen
    Raise Classify Defer Temporary AlsoChecked Clear Revive Assign Adopt
    RequestNdt ReportNdt
    Repair Substitute Make
    Tag Move ClassPart Despatch Chase Receive Accept Quarantine Release Scrap Rob Life Use Fit
    Batch Draw StoreTask StoreDone Calibrate ToolOut ToolIn LoseTool FindTool ClearTool
    AirReading
    Evidence OpenGate ShutGate
    Letter Directive Modification Provenance Sample Sampled Duty DutyDone Total Spend
    Discard Strike RightClock Reconstruct
}

/// The table of an act.
fn known(word: &str) -> Option<&'static Kind> {
    ACTS.into_iter().find(|kind| kind.table == word)
}

/// An act of a row, unless anything is wrong with it.
fn act(row: &Row, problems: &mut Vec<Problem>) -> Option<Act> {
    take(row, problems, |taker| read(row.kind, taker))
}

/// What is wrong with a word that is no act, and what to do about it.
fn no_such_act(word: &str) -> (String, String) {
    let what = format!("there is no act {}", quoted(word));
    let hint = did_you_mean(word, Act::WORDS.iter().copied());
    (what, hint.unwrap_or_else(|| format!("write one of: {}", Act::WORDS.join(", "))))
}

/// What is wrong with a field that a kind does not have, and what to do about it.
fn no_such_field(kind: &Kind, name: &str) -> (String, String) {
    let about = if kind.is_act() { "the act" } else { "the part" };
    let what = format!("{about} `{}` has no field {}", kind.table, quoted(name));
    let hint = did_you_mean(name, kind.names());
    let all = || kind.names().collect::<Vec<_>>().join(", ");
    (what, hint.unwrap_or_else(|| format!("its fields are: {}", all())))
}
