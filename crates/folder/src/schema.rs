//! JSON Schemas (2020-12) of the folder's TOML files and of each kind of thing.

use crate::fields::{Field, Form, KINDS, Kind, PROGRAMME, Shape};
use crate::json::Json;

const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// Each schema with the name of its file: one for each kind of thing, as a table of TOML
/// or an object of JSON, and `toml.schema.json` for any TOML file of the folder.
pub fn schemas() -> Vec<(String, String)> {
    let kinds = std::iter::once(&PROGRAMME).chain(KINDS);
    let mut schemas: Vec<(String, String)> =
        kinds.map(|kind| (name(kind), whole(kind).pretty())).collect();
    schemas.push(("toml.schema.json".to_owned(), files().pretty()));
    schemas
}

/// The schema of one act or a list of acts.
pub(crate) fn acts(kinds: &[&'static Kind]) -> String {
    let one = || Json::object([("$ref", Json::text("#/$defs/act"))]);
    let list = Json::object([("type", Json::text("array")), ("items", one())]);
    let each = Json::List(kinds.iter().map(|kind| act(kind)).collect());
    Json::object([
        ("$schema", Json::text(DIALECT)),
        ("title", Json::text("acts")),
        (
            "description",
            Json::text("What people do and sign for: one act, or a list of acts."),
        ),
        ("oneOf", Json::List(vec![one(), list])),
        ("$defs", Json::object([("act", Json::object([("oneOf", each)]))])),
    ])
    .pretty()
}

fn act(kind: &'static Kind) -> Json {
    let word = Json::object([("const", Json::text(kind.table))]);
    let fields = kind.fields.iter().map(|field| (field.name.to_owned(), property(field)));
    let properties = std::iter::once(("act".to_owned(), word)).chain(fields).collect();
    let required = kind.fields.iter().filter(|field| field.required);
    let required = std::iter::once("act").chain(required.map(|field| field.name));
    Json::object([
        ("title", Json::text(kind.table)),
        ("description", Json::text(kind.doc)),
        ("type", Json::text("object")),
        ("properties", Json::Object(properties)),
        ("required", Json::texts(required)),
        ("additionalProperties", Json::Flag(false)),
    ])
}

fn name(kind: &Kind) -> String {
    format!("{}.schema.json", kind.table)
}

fn whole(kind: &'static Kind) -> Json {
    let mut members = vec![
        ("$schema".to_owned(), Json::text(DIALECT)),
        ("title".to_owned(), Json::text(kind.noun)),
        ("description".to_owned(), Json::text(kind.doc)),
    ];
    let Json::Object(rest) = object(kind) else { return Json::Object(members) };
    members.extend(rest);
    Json::Object(members)
}

fn files() -> Json {
    let list = |kind: &&'static Kind| {
        let items = Json::object([("$ref", Json::text(name(kind)))]);
        let list = Json::object([("type", Json::text("array")), ("items", items)]);
        (kind.table.to_owned(), list)
    };
    let mut properties = vec![(
        PROGRAMME.table.to_owned(),
        Json::object([("$ref", Json::text(name(&PROGRAMME)))]),
    )];
    properties.extend(KINDS.iter().map(list));
    Json::object([
        ("$schema", Json::text(DIALECT)),
        ("title", Json::text("a TOML file of a programme folder")),
        (
            "description",
            Json::text(
                "Each file holds one table: programme.toml a single one, every other file a list.",
            ),
        ),
        ("type", Json::text("object")),
        ("properties", Json::Object(properties)),
        ("additionalProperties", Json::Flag(false)),
        ("maxProperties", Json::Whole(1)),
    ])
}

fn object(kind: &'static Kind) -> Json {
    let property = |field: &Field| (field.name.to_owned(), property(field));
    let required =
        kind.fields.iter().filter(|field| field.required).map(|field| field.name);
    Json::object([
        ("type", Json::text("object")),
        ("properties", Json::Object(kind.fields.iter().map(property).collect())),
        ("required", Json::texts(required)),
        ("additionalProperties", Json::Flag(false)),
    ])
}

fn property(field: &Field) -> Json {
    let Json::Object(mut members) = shape(field.shape) else { return Json::Flag(true) };
    members.insert(0, ("description".to_owned(), Json::text(field.doc)));
    if !field.example.is_empty() {
        members.push(("examples".to_owned(), Json::List(vec![example(field)])));
    }
    Json::Object(members)
}

fn example(field: &Field) -> Json {
    match field.shape {
        Shape::Count => {
            field.example.parse().map_or_else(|_| Json::text(field.example), Json::Whole)
        }
        Shape::YesNo => Json::Flag(field.example == "yes"),
        _ => Json::text(field.example),
    }
}

fn shape(shape: Shape) -> Json {
    let text = || ("type", Json::text("string"));
    let pattern =
        |pattern: &str| Json::object([text(), ("pattern", Json::text(pattern))]);
    let some_of = |one: Json| {
        let list = Json::object([("type", Json::text("array")), ("items", one)]);
        let joined = Json::object([text()]);
        Json::object([("anyOf", Json::List(vec![list, joined]))])
    };
    match shape {
        Shape::Name(_) => pattern(NAME),
        Shape::Names(_) => some_of(pattern(NAME)),
        Shape::OneOf(words) => {
            Json::object([("enum", Json::texts(words.iter().copied()))])
        }
        Shape::SomeOf(words) => {
            some_of(Json::object([("enum", Json::texts(words.iter().copied()))]))
        }
        Shape::YesNo => {
            let words = Json::object([("enum", Json::texts(["yes", "no"]))]);
            let flag = Json::object([("type", Json::text("boolean"))]);
            Json::object([("anyOf", Json::List(vec![flag, words]))])
        }
        Shape::Count => {
            Json::object([("type", Json::text("integer")), ("minimum", Json::Whole(0))])
        }
        Shape::Chance => {
            let number = [
                ("type", Json::text("number")),
                ("minimum", Json::Whole(0)),
                ("maximum", Json::Whole(1)),
            ];
            // A stored entry keeps it as a text, which no reader of JSON rounds.
            Json::object([(
                "anyOf",
                Json::List(vec![Json::object(number), pattern(r"^[0-9.eE+-]+$")]),
            )])
        }
        Shape::Number => {
            let number = Json::object([("type", Json::text("number"))]);
            Json::object([("anyOf", Json::List(vec![number, pattern(NUMBER)]))])
        }
        Shape::Date => Json::object([text(), ("format", Json::text("date"))]),
        Shape::Moment => pattern(r"^\d{4}-\d{2}-\d{2}[ T]\d{1,2}:\d{2}(:00)?$"),
        Shape::Drawn => pattern(r"^\s*[Mm][-+0-9.,\sMLHVCSQTAZmlhvcsqtaz]*$"),
        Shape::File => pattern(DIGEST),
        Shape::Files => some_of(pattern(DIGEST)),
        Shape::Spot => {
            pattern(r"^\s*[A-Za-z]+(\s+[+-]?[0-9]*\.?[0-9]+([eE][+-]?[0-9]+)?){2}\s*$")
        }
        Shape::Chapter => pattern(r"^\d{2}(-?\d{2})?$"),
        Shape::Chapters => some_of(pattern(r"^\d{2}(-?\d{2})?$")),
        Shape::Currency => pattern("^[A-Za-z]{3}$"),
        Shape::Row(kind) => object(kind),
        Shape::Rows(kind) => {
            Json::object([("type", Json::text("array")), ("items", object(kind))])
        }
        list if list.is_list() => some_of(Json::object([text()])),
        _ => Json::object([text()]),
    }
}

/// A number as a text, which no reader of JSON rounds.
const NUMBER: &str = r"^[+-]?[0-9]*\.?[0-9]+([eE][+-]?[0-9]+)?$";

/// The digest of an attached file.
const DIGEST: &str = "^[0-9a-fA-F]{64}$";

/// A name: no blanks, and of the signs of ASCII only some, and these within. Classes of
/// letters are not used, because not every reader of schemas knows them.
const NAME: &str = r"^[^\s -/:-@\[-`{-~]([^\s -,:-@\[-^`{-~]{0,62}[^\s -/:-@\[-`{-~])?$";

/// Whether a kind is only written as TOML, in words for the reference.
pub(crate) const fn only_toml(kind: &Kind) -> bool {
    matches!(kind.form, Form::TomlOnly)
}
