//! The shapes of acts for whoever describes an interface: made of the tables of fields from
//! which acts are read, so that they can't differ from what is taken.

use serde_json::{Value, json};

use crate::AppError;
use record::Act;

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

/// Whether a text can be the id of a request, by which it counts once.
pub fn is_request(id: &str) -> bool {
    id.parse::<ledger::RequestId>().is_ok()
}

#[cfg(test)]
mod tests {
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
