//! The shapes of acts for whoever describes an interface: made of the tables of fields from
//! which acts are read, so that they can't differ from what is taken.

use serde_json::Value;

use crate::AppError;
use record::Act;

/// The JSON Schema (2020-12) of each act by its word, and which other parts they refer to.
pub fn act_schemas() -> Vec<(String, Value)> {
    let schema: Value = serde_json::from_str(&folder::acts::schema()).unwrap_or_default();
    let each = schema["$defs"]["act"]["oneOf"].as_array().cloned().unwrap_or_default();
    each.into_iter()
        .filter_map(|act| Some((act["title"].as_str()?.to_owned(), act.clone())))
        .collect()
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
