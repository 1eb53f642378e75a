//! The description of the interface (`OpenAPI` 3.1), made of the acts' tables of fields.

use std::sync::OnceLock;

use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use serde_json::{Map, Value, json};

use super::{act, read};
use crate::pages::show;

/// `GET /api/openapi.json`: the same for everybody, and no secret.
pub(super) async fn get() -> Response {
    static TEXT: OnceLock<String> = OnceLock::new();
    let text = TEXT.get_or_init(|| description().to_string());
    let headers = [(CONTENT_TYPE, "application/json"), (CACHE_CONTROL, "no-cache")];
    (headers, text.as_str()).into_response()
}

/// A path that is read: where, what it gives, the name of its answer's shape, and parameters.
struct Read {
    path: &'static str,
    says: &'static str,
    gives: &'static str,
    path_parameters: &'static [&'static str],
    query: &'static [&'static str],
}

const READS: [Read; 9] = [
    Read {
        path: "/me",
        says: "Whose token it is, and what it lets them do",
        gives: "Me",
        path_parameters: &[],
        query: &[],
    },
    Read {
        path: "/overview",
        says: "Where the programme stands, and what waits for whoever asks",
        gives: "Overview",
        path_parameters: &[],
        query: &["on"],
    },
    Read {
        path: "/sheets",
        says: "All sheets that there are",
        gives: "Sheets",
        path_parameters: &[],
        query: &[],
    },
    Read {
        path: "/sheets/{sheet}",
        says: "A sheet as a whole, computed from the record",
        gives: "Sheet",
        path_parameters: &["sheet"],
        query: &["on"],
    },
    Read {
        path: "/sheets/{sheet}/{name}",
        says: "A sheet about one thing",
        gives: "Sheet",
        path_parameters: &["sheet", "name"],
        query: &["on"],
    },
    Read {
        path: "/things",
        says: "Everything that has a name, by kind and name",
        gives: "Things",
        path_parameters: &[],
        query: &["noun", "has", "after", "limit"],
    },
    Read {
        path: "/history/{name}",
        says: "Every entry that names a thing, as it was written",
        gives: "Sheet",
        path_parameters: &["name"],
        query: &[],
    },
    Read {
        path: "/entries",
        says: "Entries of the record, newest first",
        gives: "Entries",
        path_parameters: &[],
        query: &["by", "act", "thing", "from", "until", "before", "limit"],
    },
    Read {
        path: "/entries/{number}",
        says: "One entry with its digest, the digest before it, its seal and its cautions",
        gives: "Entry",
        path_parameters: &["number"],
        query: &[],
    },
];

fn description() -> Value {
    let mut paths = Map::new();
    for one in &READS {
        let mut path = json!({ "get": read_of(one) });
        if !one.path_parameters.is_empty() {
            let each = one.path_parameters.iter().map(|name| parameter("path", name));
            path["parameters"] = each.collect();
        }
        paths.insert(one.path.to_owned(), path);
    }
    paths.insert("/acts/try".to_owned(), json!({ "post": attempt() }));
    paths.insert("/acts".to_owned(), json!({ "post": keep() }));
    paths.insert("/attachments".to_owned(), json!({ "post": attach() }));
    let parameters = [parameter("path", "digest")];
    let file = json!({ "get": fetch(), "parameters": parameters });
    paths.insert("/attachments/{digest}".to_owned(), file);
    json!({
        "openapi": "3.1.1",
        "info": {
            "title": "Turnbuckle",
            "version": env!("CARGO_PKG_VERSION"),
            "description": "Reads the record of a workshop, and enters acts that somebody \
                signs. What is computed rests on the record alone; it supports approved data, \
                licensed engineers and the authority, and replaces none of them.",
        },
        "servers": [{ "url": "/api" }],
        "security": [{ "token": [] }],
        "paths": paths,
        "components": {
            "securitySchemes": { "token": {
                "type": "http",
                "scheme": "bearer",
                "description": "Made at /me: one that reads, or one that reads and acts.",
            } },
            "schemas": schemas(),
        },
    })
}

fn read_of(one: &Read) -> Value {
    let mut get = json!({
        "operationId": format!("get{}", one.path.replace(['{', '}'], "").replace('/', "_")),
        "summary": one.says,
        "responses": responses(("200", "As it stands", one.gives), one.path_parameters.is_empty()),
    });
    if !one.query.is_empty() {
        get["parameters"] =
            one.query.iter().map(|name| queried(one.path, name)).collect();
    }
    get
}

/// A parameter of the query; how many there may be depends on of what.
fn queried(path: &str, name: &str) -> Value {
    let mut parameter = parameter("query", name);
    if (path, name) == ("/things", "limit") {
        let (most, usual) = read::THINGS;
        parameter["schema"]["maximum"] = most.into();
        parameter["schema"]["default"] = usual.into();
    }
    parameter
}

fn parameter(place: &str, name: &str) -> Value {
    let sheets: Vec<&str> = show::kinds().map(|kind| kind.word).collect();
    let (says, schema) = match name {
        "on" => ("The day as of which it is computed; today where nobody says", day()),
        "from" => ("Not before this day", day()),
        "until" => ("Not after this day", day()),
        "sheet" => ("Which sheet", json!({ "type": "string", "enum": sheets })),
        "number" => {
            ("The number of the entry", json!({ "type": "integer", "minimum": 1 }))
        }
        "before" => {
            ("Those before this number", json!({ "type": "integer", "minimum": 0 }))
        }
        "limit" => {
            let (most, usual) = read::ENTRIES;
            let schema = json!({ "type": "integer", "minimum": 1, "maximum": most, "default": usual });
            ("So many", schema)
        }
        "noun" => ("Of this kind: `item`, `finding`, `card`", text()),
        "has" => ("With these words in the name or in what it is", text()),
        "by" => ("By this person", text()),
        "act" => ("Of this act or kind", text()),
        "thing" => ("That name this thing", text()),
        "after" => {
            let what = "Those behind this one: what `next` of the answer before said";
            (what, json!({ "type": "string", "pattern": " " }))
        }
        "digest" => ("The digest under which it was attached", digest()),
        _ => ("The name of the thing", json!({ "type": "string", "minLength": 1 })),
    };
    json!({
        "name": name,
        "in": place,
        "description": says,
        "required": place == "path",
        "schema": schema,
    })
}

fn text() -> Value {
    json!({ "type": "string" })
}

fn day() -> Value {
    json!({ "type": "string", "format": "date", "pattern": "^[0-9]{4}-[0-9]{2}-[0-9]{2}$" })
}

fn refers(name: &str) -> Value {
    json!({ "$ref": format!("#/components/schemas/{name}") })
}

fn content(name: &str) -> Value {
    json!({ "application/json": { "schema": refers(name) } })
}

/// What is answered where all goes well, and each way in which it does not.
fn responses((status, says, gives): (&str, &str, &str), whole: bool) -> Value {
    let mut all = json!({ status: { "description": says, "content": content(gives) } });
    let failures = [
        ("400", "The request can't be read"),
        ("401", "There is no token that counts"),
        ("404", "There is no such thing"),
        ("429", "Too many requests: wait as long as `Retry-After` says"),
        ("503", "It can't be done now"),
    ];
    for (status, says) in
        failures.into_iter().filter(|(status, _)| !(whole && *status == "404"))
    {
        all[status] = failure(says);
    }
    all
}

fn failure(says: &str) -> Value {
    json!({
        "description": says,
        "content": { "application/problem+json": { "schema": refers("Problem") } },
    })
}

fn with_failures(mut all: Value, more: &[(&str, &str)]) -> Value {
    for (status, says) in more {
        all[*status] = failure(says);
    }
    all
}

fn attempt() -> Value {
    let more = [
        ("413", "It is too large"),
        ("415", "It is no JSON"),
        ("422", "The acts can't be read: everything that is wrong with them"),
    ];
    json!({
        "operationId": "try_acts",
        "summary": "What acts would be refused for, without entering them",
        "requestBody": { "required": true, "content": content("Acts") },
        "responses": with_failures(responses(("200", "Every refusal", "Tried"), true), &more),
    })
}

fn keep() -> Value {
    let more = [
        ("403", "The token may not act, or the secret is another one"),
        (
            "409",
            "Rules of the record forbid it, others touched the same, or the request id stands for \
             other acts: nothing was entered",
        ),
        ("413", "It is too large"),
        ("415", "It is no JSON"),
        ("422", "The acts can't be read: everything that is wrong with them"),
    ];
    json!({
        "operationId": "enter_acts",
        "summary": "Enters acts, signed by whoever the token belongs to: all of them or none",
        "requestBody": { "required": true, "content": content("SignedActs") },
        "responses": with_failures(responses(("201", "Entered", "Kept"), true), &more),
    })
}

/// The kinds of files that can be attached.
const FILES: [&str; 5] =
    ["image/jpeg", "image/png", "image/webp", "application/pdf", "text/plain"];

/// A file of each kind that there is, as it is.
fn bytes() -> Value {
    let each = FILES.map(|media| (media.to_owned(), json!({})));
    Value::Object(each.into_iter().collect())
}

fn attach() -> Value {
    let more = [
        ("403", "The token may not act, or its owner observes"),
        ("413", "It is too large"),
        ("422", "It is no such file, or is damaged"),
    ];
    json!({
        "operationId": "attach",
        "summary": "Attaches a file; an act names it by its digest",
        "description": "What it is is looked at, whatever is said of it. A picture loses what \
            says where and with what it was taken, so that its digest is another than that of \
            what was sent.",
        "requestBody": { "required": true, "content": bytes() },
        "responses": with_failures(responses(("201", "Attached", "Attached"), true), &more),
    })
}

fn fetch() -> Value {
    let mut responses = responses(("200", "The file", "Attached"), false);
    responses["200"]["content"] = bytes();
    responses["304"] = json!({ "description": "It is what `If-None-Match` says" });
    json!({
        "operationId": "get_attachment",
        "summary": "A file that was attached and not discarded",
        "responses": responses,
    })
}

fn digest() -> Value {
    json!({ "type": "string", "pattern": "^[0-9a-f]{64}$" })
}

fn object(properties: &Value, optional: &[&str]) -> Value {
    let names = properties.as_object().into_iter().flat_map(Map::keys);
    let required: Vec<&String> =
        names.filter(|name| !optional.contains(&name.as_str())).collect();
    json!({
        "type": "object",
        "required": required,
        "additionalProperties": false,
        "properties": properties,
    })
}

fn list(of: &Value) -> Value {
    json!({ "type": "array", "items": of })
}

fn or_null(kind: &str) -> Value {
    json!({ "type": [kind, "null"] })
}

fn number() -> Value {
    json!({ "type": "integer", "minimum": 0 })
}

fn flag() -> Value {
    json!({ "type": "boolean" })
}

fn schemas() -> Value {
    let mut all = of_answers();
    let acts = app::act_schemas();
    let each: Vec<Value> =
        acts.iter().map(|(word, _)| refers(&format!("act.{word}"))).collect();
    for (word, schema) in acts {
        all[format!("act.{word}")] = schema;
    }
    all["Act"] =
        json!({ "oneOf": each, "description": "One act, told by its member `act`." });
    let acts = json!({
        "type": "array", "minItems": 1, "maxItems": act::MOST, "items": refers("Act"),
    });
    all["Acts"] = object(&json!({ "acts": acts }), &[]);
    all["SignedActs"] = object(
        &json!({
            "acts": acts,
            "secret": { "type": "string", "description": "The secret of whoever signs." },
            "request": {
                "type": ["string", "null"], "minLength": 1, "maxLength": 64,
                "description": "An id by which it counts once, however often it is sent.",
            },
            "seen": {
                "type": ["integer", "null"], "minimum": 0,
                "description": "The entry up to which whoever signs had looked.",
            },
        }),
        &["request", "seen"],
    );
    all
}

fn of_answers() -> Value {
    let texts = json!({ "type": "object", "additionalProperties": { "type": "string" } });
    let lists = json!({ "type": "object", "additionalProperties": list(&texts) });
    let thing = object(&json!({ "noun": text(), "name": text(), "what": text() }), &[]);
    let kind = json!({ "sheet": text(), "says": text(), "whole": flag(), "of_one_thing": flag() });
    json!({
        "Problem": problem(),
        "Fault": fault(),
        "Refusal": refusal(),
        "Sheet": object(&json!({
            "title": text(), "facts": texts, "lists": lists, "cautions": list(&text()),
            "entry": number(),
        }), &[]),
        "Sheets": object(&json!({ "sheets": list(&object(&kind, &[])) }), &[]),
        "Things": object(&json!({
            "entry": number(), "things": list(&thing), "next": or_null("string"),
        }), &[]),
        "Me": me(),
        "Attached": object(&json!({
            "digest": digest(), "media": text(), "size": number(), "removed": number(),
        }), &[]),
        "Overview": overview(),
        "Entries": object(&json!({
            "entries": list(&object(&entry(), &[])), "next": or_null("integer"), "last": number(),
        }), &[]),
        "Entry": object(&whole(), &[]),
        "Tried": object(&json!({ "refused": list(&refers("Refusal")), "entry": number() }), &[]),
        "Kept": object(&json!({ "kept": list(&kept()) }), &[]),
    })
}

fn problem() -> Value {
    let properties = json!({
        "type": text(), "title": text(), "status": number(), "detail": text(),
        "problems": list(&refers("Fault")),
        "entry": number(),
        "refused": list(&refers("Refusal")),
        "changed": { "type": "object" },
    });
    object(&properties, &["problems", "refused", "changed", "entry"])
}

/// What is wrong with what was sent: with which act, counted from 1, and with which field.
fn fault() -> Value {
    let properties = json!({
        "act": or_null("integer"), "field": or_null("string"), "what": text(),
        "hint": or_null("string"),
    });
    object(&properties, &[])
}

fn me() -> Value {
    let properties = json!({
        "person": text(), "name": or_null("string"), "scope": { "enum": ["read", "act"] },
        "expires": { "anyOf": [day(), { "type": "null" }] }, "observes": flag(),
        "powers": list(&text()), "entry": number(),
    });
    object(&properties, &[])
}

fn refusal() -> Value {
    let properties = json!({
        "act": text(), "number": number(), "follows": or_null("integer"), "rule": text(),
        "says": text(), "citation": or_null("string"), "what": text(), "hint": text(),
    });
    object(&properties, &[])
}

fn overview() -> Value {
    let waiting = object(
        &json!({ "noun": text(), "name": text(), "what": text(), "act": or_null("string") }),
        &[],
    );
    let mine = object(&json!({ "title": text(), "waiting": list(&waiting) }), &[]);
    let off = object(
        &json!({ "item": text(), "name": text(), "place": text(), "class": text() }),
        &[],
    );
    let properties = json!({
        "entry": number(), "on": day(), "next_gate": { "type": ["object", "null"] },
        "plan": { "type": ["object", "null"] }, "off": list(&off), "late": list(&waiting),
        "mine": list(&mine),
    });
    object(&properties, &[])
}

fn entry() -> Value {
    json!({
        "entry": number(), "at": text(), "by": text(), "what": text(), "act": flag(),
        "sealed": flag(), "struck": or_null("string"), "body": true,
    })
}

fn whole() -> Value {
    let mut properties = entry();
    let seal = object(&json!({ "says": text(), "wrong": flag() }), &[]);
    for (name, schema) in [
        ("version", number()),
        ("batch", number()),
        ("digest", text()),
        ("before", text()),
        ("seal", seal),
        ("cautions", list(&text())),
        ("last", number()),
    ] {
        properties[name] = schema;
    }
    properties
}

fn kept() -> Value {
    let caution = object(&json!({ "rule": text(), "what": text(), "hint": text() }), &[]);
    let properties = json!({
        "entry": number(), "act": text(), "repeated": flag(), "cautions": list(&caution),
    });
    object(&properties, &[])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Everything that is referred to is there.
    #[test]
    fn the_description_is_whole() {
        let all = description();
        let text = all.to_string();
        for part in text.split("\"$ref\":\"#/components/schemas/").skip(1) {
            let name = part.split('"').next().unwrap();
            assert!(all["components"]["schemas"].get(name).is_some(), "{name}");
        }
        assert!(text.contains("act.sign-step") && text.contains("/entries/{number}"));
    }
}
