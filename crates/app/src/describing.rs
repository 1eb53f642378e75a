//! The shapes of acts for whoever describes an interface: made of the tables of fields from
//! which acts are read, so that they can't differ from what is taken.

use std::collections::BTreeSet;

use folder::{Problem, Spot};
use record::Act;
use serde_json::{Value, json};

use crate::{AppError, FieldForm, FieldSort};

/// The JSON Schema (2020-12) of each act by its word, and which other parts they refer to.
pub fn act_schemas() -> Vec<(String, Value)> {
    let schema: Value = serde_json::from_str(&folder::acts::schema()).unwrap_or_default();
    let each = schema["$defs"]["act"]["oneOf"].as_array().cloned().unwrap_or_default();
    each.into_iter()
        .filter_map(|mut act| {
            as_read(&mut act);
            Some((act["title"].as_str()?.to_owned(), act))
        })
        .collect()
}

/// Says of a shape what is taken besides what should be written: a number for a text and the
/// reverse, each as it is written, and what is blank for what may be left out.
fn as_read(schema: &mut Value) {
    if let Some(kind) = schema["type"].as_str().map(str::to_owned)
        && !matches!(kind.as_str(), "object" | "array")
    {
        let also =
            ["string", "number", "boolean"].into_iter().filter(|also| *also != kind);
        let also =
            also.filter(|also| *also != "boolean" || schema.get("pattern").is_none());
        let kinds: Vec<&str> = std::iter::once(kind.as_str()).chain(also).collect();
        schema["type"] = json!(kinds);
    }
    for each in ["anyOf", "oneOf"] {
        if let Some(all) = schema.get_mut(each).and_then(Value::as_array_mut) {
            all.iter_mut().for_each(as_read);
        }
    }
    if schema.get("items").is_some() {
        as_read(&mut schema["items"]);
    }
    let required = schema["required"].clone();
    let must = |name: &str| {
        required.as_array().is_some_and(|all| all.iter().any(|one| one == name))
    };
    let properties = schema.get_mut("properties").and_then(Value::as_object_mut);
    for (name, property) in properties.into_iter().flatten() {
        as_read(property);
        if !must(name) && property.get("const").is_none() {
            let plain = std::mem::take(property);
            let blank = json!({ "type": ["string", "null"], "pattern": "^\\s*$" });
            *property = json!({ "anyOf": [plain, blank] });
        }
    }
}

/// Acts as a JSON text has them: one object, or a list.
///
/// # Errors
/// [`AppError::Act`] with everything that is wrong.
pub fn acts_of_json(text: &str) -> Result<Vec<Act>, AppError> {
    folder::acts::from_json(text, "acts").map_err(AppError::Act)
}

/// Acts as a list of JSON values has them.
///
/// # Errors
/// [`AppError::Act`] with everything that is wrong; [`act_faults`] says of which act.
pub fn acts_of_values(acts: &[Value]) -> Result<Vec<Act>, AppError> {
    // One on each line, so that the place of a problem tells which it is.
    let lines: Vec<String> = acts.iter().map(ToString::to_string).collect();
    let text = format!("[\n{}\n]", lines.join(",\n"));
    folder::acts::from_json(&text, "acts").map_err(AppError::Act)
}

/// What is wrong with an act, for programs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ActFault {
    /// Which of several, counted from 1; nothing where it is said of all of them.
    pub act: Option<u32>,
    /// The field, if it is said of one.
    pub field: Option<String>,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub hint: Option<String>,
}

/// What is wrong with acts that [`acts_of_values`] read, one by one.
pub fn act_faults(problems: &[Problem]) -> Vec<ActFault> {
    let mut names = BTreeSet::new();
    for form in crate::act_forms() {
        collect(&form.fields, &mut names);
    }
    let each = problems.iter().map(|problem| {
        let spot = problem.place.as_ref().map(|place| &place.spot);
        let act = match spot {
            Some(Spot::Text { line, .. }) => line.checked_sub(1).filter(|act| *act > 0),
            _ => None,
        };
        let (what, hint) = (problem.what.clone(), problem.hint.clone());
        ActFault { act, field: field_of(&what, &names), what, hint }
    });
    each.collect()
}

fn collect(fields: &[FieldForm], names: &mut BTreeSet<&'static str>) {
    for field in fields {
        names.insert(field.name);
        if let FieldSort::Row(parts) | FieldSort::Rows(parts) = &field.sort {
            collect(parts, names);
        }
    }
}

/// Of which field something is said: the one before the colon, or the last in code marks.
fn field_of(what: &str, names: &BTreeSet<&'static str>) -> Option<String> {
    let before = what.split_once(':').map(|(before, _)| before.trim_matches('`'));
    if let Some(name) = before.filter(|name| names.contains(name)) {
        return Some(name.to_owned());
    }
    let (mut marked, mut unknown) = (None, false);
    for (at, part) in what.split('`').enumerate() {
        if at % 2 == 0 {
            unknown = part.ends_with("no field ");
        } else if unknown || names.contains(part) {
            marked = Some(part.to_owned());
        }
    }
    marked
}

/// Whether a text can be the id of a request, by which it counts once.
pub fn is_request(id: &str) -> bool {
    id.parse::<ledger::RequestId>().is_ok()
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use crate::AppError;

    #[test]
    fn what_is_wrong_names_the_act_and_the_field() {
        let acts = [
            json!({ "act": "raise", "finding": "X-1", "item": "P", "what": "a", "found": "x" }),
            json!({ "act": "hours", "job": "J", "bogus": 1 }),
        ];
        let Err(AppError::Act(problems)) = super::acts_of_values(&acts) else {
            panic!("they are read");
        };
        let faults = super::act_faults(&problems);
        let has = |act, field: &str| {
            let found = |fault: &super::ActFault| {
                fault.act == Some(act) && fault.field.as_deref() == Some(field)
            };
            assert!(faults.iter().any(found), "{act} {field}: {faults:?}");
        };
        has(1, "found");
        has(2, "bogus");
        has(2, "person");
        has(2, "hours");
    }

    #[test]
    fn every_act_is_described() {
        let described: Vec<String> =
            super::act_schemas().into_iter().map(|(word, _)| word).collect();
        for form in crate::act_forms() {
            assert!(described.iter().any(|word| word == form.word), "{}", form.word);
        }
        assert!(
            !serde_json::to_string(&super::act_schemas()).unwrap().contains("\"$ref\"")
        );
    }
}
