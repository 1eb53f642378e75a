//! The acts as plain values, for whoever asks people for their fields: a page, a terminal.

use crate::acts::ACTS;
use crate::fields::{Field, Kind, Shape};

/// An act as it is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ActForm {
    /// Its word.
    pub word: &'static str,
    /// What it does, in a sentence or two.
    pub doc: &'static str,
    /// What it is about, as people look for it.
    pub area: &'static str,
    /// Its fields, in order.
    pub fields: Vec<FieldForm>,
}

/// A field of an act, or of a part of one.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FieldForm {
    /// Its name, as [`from_fields`](crate::acts::from_fields) takes it.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// Whether it must be given.
    pub required: bool,
    /// What somebody might write; empty for one that is made of parts.
    pub example: &'static str,
    /// What it holds.
    pub sort: FieldSort,
    /// Which files it may name by their digests.
    pub takes: Takes,
}

/// Which files a field may name by their digests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// None.
    Nothing,
    /// Photographs.
    Photographs,
    /// Any file that can be attached, a photograph among them.
    Files,
}

/// What a field holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FieldSort {
    /// A text of any length.
    Text,
    /// Several texts, parted by `;`.
    Texts,
    /// Yes or no; not given is no, unless the field must be given.
    YesNo,
    /// A whole number.
    Count,
    /// A number.
    Number,
    /// The name of a thing: its noun.
    Name(&'static str),
    /// Names of things, parted by `;`: their noun.
    Names(&'static str),
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// Some of these words, parted by `;`.
    SomeOf(&'static [&'static str]),
    /// A day.
    Date,
    /// A day and a time.
    Moment,
    /// Something in a notation of its own: what it is called.
    Notation(&'static str),
    /// Several of those, parted by `;`.
    Notations(&'static str),
    /// A file that was attached, by its digest.
    File,
    /// Files that were attached, by their digests, parted by `;`.
    Files,
    /// A place on a drawing: its view and how far to the right and down, as `side 12.5 3`.
    Spot,
    /// One part, whose fields stand behind a point: `certificate.number`.
    Row(Vec<FieldForm>),
    /// Several parts, numbered: `steps.1.id`.
    Rows(Vec<FieldForm>),
}

/// What acts are about. Each act is in one of these lists.
const AREAS: [(&str, &[&str]); 11] = [
    (
        "work on cards",
        &[
            "start",
            "pause",
            "hand-over",
            "take-over",
            "sign-step",
            "countersign",
            "inspect",
            "query",
            "answer",
            "hours",
            "disturb",
            "finish",
            "reopen",
            "issue-card",
            "add-step",
        ],
    ),
    (
        "findings",
        &[
            "raise",
            "classify",
            "defer",
            "clear",
            "assign",
            "temporary",
            "also-checked",
            "revive",
        ],
    ),
    ("examinations", &["request-ndt", "report-ndt"]),
    (
        "parts",
        &[
            "tag",
            "move",
            "fit",
            "despatch",
            "chase",
            "receive",
            "accept",
            "quarantine",
            "release",
            "class-part",
            "scrap",
            "rob",
            "life",
            "use",
        ],
    ),
    (
        "tools",
        &["tool-out", "tool-in", "lose-tool", "find-tool", "clear-tool", "calibrate"],
    ),
    ("air", &["air-reading"]),
    ("stores", &["batch", "draw", "store-task", "store-done"]),
    ("gates", &["evidence", "open-gate", "shut-gate"]),
    ("repairs", &["repair", "substitute", "make"]),
    (
        "the programme",
        &[
            "adopt",
            "letter",
            "directive",
            "modification",
            "provenance",
            "sample",
            "sampled",
            "duty",
            "duty-done",
            "total",
            "spend",
        ],
    ),
    (
        "people and the record",
        &[
            "grant",
            "withdraw",
            "enrol",
            "strike",
            "reconstruct",
            "discard",
            "right-clock",
        ],
    ),
];

/// Fields of words in which a file may be named by its digest too, and which files these are.
const NAMES_FILES: [(&str, &str, Takes); 6] = [
    ("tag", "photograph", Takes::Photographs),
    ("evidence", "reference", Takes::Files),
    ("letter", "reference", Takes::Files),
    ("provenance", "evidence", Takes::Files),
    ("request-ndt", "sketch", Takes::Files),
    ("report-ndt", "document", Takes::Files),
];

/// The form of every act, area by area.
pub fn forms() -> Vec<ActForm> {
    let of = |(area, words): &(&'static str, &'static [&'static str])| {
        let area = *area;
        let form = move |word: &&str| {
            let kind = ACTS.iter().find(|kind| kind.table == *word)?;
            let (word, doc) = (kind.table, kind.doc);
            Some(ActForm { word, doc, area, fields: fields(kind) })
        };
        words.iter().filter_map(form).collect::<Vec<_>>()
    };
    AREAS.iter().flat_map(of).collect()
}

fn fields(kind: &Kind) -> Vec<FieldForm> {
    let field = |field: &Field| FieldForm {
        name: field.name,
        meaning: field.doc,
        required: field.required,
        example: field.example,
        sort: sort(field.shape),
        takes: takes(kind, field),
    };
    kind.fields.iter().map(field).collect()
}

fn takes(kind: &Kind, field: &Field) -> Takes {
    let listed = NAMES_FILES
        .iter()
        .find(|(word, name, _)| (*word, *name) == (kind.table, field.name));
    match field.shape {
        Shape::File | Shape::Files if field.name.starts_with("photograph") => {
            Takes::Photographs
        }
        Shape::File | Shape::Files => Takes::Files,
        _ => listed.map_or(Takes::Nothing, |(_, _, takes)| *takes),
    }
}

fn sort(shape: Shape) -> FieldSort {
    match shape {
        Shape::Text => FieldSort::Text,
        Shape::Texts => FieldSort::Texts,
        Shape::YesNo => FieldSort::YesNo,
        Shape::Count => FieldSort::Count,
        Shape::Number | Shape::Chance => FieldSort::Number,
        Shape::Name(noun) => FieldSort::Name(noun),
        Shape::Names(noun) => FieldSort::Names(noun),
        Shape::JobKey => FieldSort::Name("card"),
        Shape::JobKeys => FieldSort::Names("card"),
        Shape::OneOf(words) => FieldSort::OneOf(words),
        Shape::SomeOf(words) => FieldSort::SomeOf(words),
        Shape::Date => FieldSort::Date,
        Shape::Moment => FieldSort::Moment,
        Shape::File => FieldSort::File,
        Shape::Files => FieldSort::Files,
        Shape::Spot => FieldSort::Spot,
        Shape::Row(part) => FieldSort::Row(fields(part)),
        Shape::Rows(part) => FieldSort::Rows(fields(part)),
        other if other.is_list() => FieldSort::Notations(other.noun()),
        other => FieldSort::Notation(other.noun()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_act_is_asked_for_once() {
        let mut asked: Vec<&str> = forms().iter().map(|form| form.word).collect();
        let mut all: Vec<&str> = ACTS.iter().map(|kind| kind.table).collect();
        asked.sort_unstable();
        all.sort_unstable();
        assert_eq!(asked, all);
    }

    #[test]
    fn fields_that_name_files_are_there() {
        let forms = forms();
        for (word, name, takes) in NAMES_FILES {
            let form = forms.iter().find(|form| form.word == word);
            let field = form.and_then(|f| f.fields.iter().find(|f| f.name == name));
            assert_eq!(field.map(|field| field.takes), Some(takes), "{word} {name}");
        }
    }

    #[test]
    fn parts_of_an_act_are_asked_for_with_it() {
        let forms = forms();
        let card = forms.iter().find(|form| form.word == "issue-card");
        let steps = card.and_then(|form| form.fields.last());
        let steps = steps.expect("a card has steps");
        let FieldSort::Rows(fields) = &steps.sort else { panic!("{steps:?}") };
        assert!(steps.required && fields.iter().any(|field| field.name == "independent"));
    }
}
