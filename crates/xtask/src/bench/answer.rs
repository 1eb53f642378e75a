//! What a solver prints: one JSON object.

use anyhow::{Context, Result, ensure};
use serde_json::Value;

/// What a solver says of its own answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Status {
    /// A schedule, and no shorter one exists.
    Optimal,
    /// A schedule.
    Feasible,
    /// No schedule exists.
    Infeasible,
    /// Neither found nor excluded.
    Unknown,
}

impl Status {
    /// The word in the JSON object.
    pub(super) fn word(self) -> &'static str {
        match self {
            Self::Optimal => "optimal",
            Self::Feasible => "feasible",
            Self::Infeasible => "infeasible",
            Self::Unknown => "unknown",
        }
    }

    /// The status that a word means.
    pub(super) fn of(word: &str) -> Option<Self> {
        let all = [Self::Optimal, Self::Feasible, Self::Infeasible, Self::Unknown];
        all.into_iter().find(|status| status.word() == word)
    }
}

/// One answer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Answer {
    pub(super) status: Status,
    pub(super) makespan: Option<i64>,
    pub(super) bound: Option<i64>,
    /// Start of each activity in the order of the file, the dummies included.
    pub(super) starts: Vec<i64>,
    /// Mode of each activity in the order of the file, counted from 1; empty where there is
    /// but one of each.
    pub(super) modes: Vec<i64>,
    /// What it says that it took.
    pub(super) effort: Effort,
}

/// What a solver says that its answer took.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Effort {
    /// Seconds until it stopped.
    pub(super) seconds: f64,
    /// Seconds until it had its first schedule.
    pub(super) first: Option<f64>,
    /// Schedules that it tried.
    pub(super) steps: Option<f64>,
    /// Processor seconds by its own count, its start left out.
    pub(super) processor: Option<f64>,
}

/// Reads the object; it must be the only thing printed.
pub(super) fn read(text: &str) -> Result<Answer> {
    let value = object(text)?;
    Ok(Answer {
        status: status(&value)?,
        makespan: whole(&value, "makespan")?,
        bound: whole(&value, "bound")?,
        starts: numbers(&value, "starts")?,
        modes: numbers(&value, "modes")?,
        effort: effort(&value)?,
    })
}

/// The JSON object that is all of a text.
pub(super) fn object(text: &str) -> Result<Value> {
    let value: Value = serde_json::from_str(text.trim()).with_context(|| {
        let shown: String = text.trim().chars().take(80).collect();
        format!("the solver's output isn't one JSON object: \"{shown}\"")
    })?;
    ensure!(value.is_object(), "the solver's output isn't an object");
    Ok(value)
}

/// What an answer says of itself.
pub(super) fn status(object: &Value) -> Result<Status> {
    let word = object["status"].as_str().context("`status` is missing")?;
    Status::of(word)
        .with_context(|| format!("`status` is \"{word}\"; four words are known"))
}

/// What an answer says that it took.
pub(super) fn effort(object: &Value) -> Result<Effort> {
    Ok(Effort {
        seconds: object["seconds"].as_f64().context("`seconds` is no number")?,
        first: real(object, "first")?,
        steps: real(object, "steps")?,
        processor: real(object, "processor")?,
    })
}

fn real(object: &Value, key: &str) -> Result<Option<f64>> {
    match object.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(value) => {
            let number = value.as_f64().filter(|number| *number >= 0.0);
            number.map(Some).with_context(|| format!("`{key}` is no number from 0"))
        }
    }
}

/// A whole number, or nothing.
pub(super) fn whole(object: &Value, key: &str) -> Result<Option<i64>> {
    match object.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(value) => {
            let number = value.as_i64();
            number.map(Some).with_context(|| format!("`{key}` is no whole number"))
        }
    }
}

fn numbers(object: &Value, key: &str) -> Result<Vec<i64>> {
    match &object[key] {
        Value::Null => Ok(Vec::new()),
        Value::Array(numbers) => numbers
            .iter()
            .map(|number| {
                let number = number.as_i64();
                number.with_context(|| format!("one of `{key}` is no whole number"))
            })
            .collect(),
        _ => anyhow::bail!("`{key}` is no list"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_read() {
        let answer = read(
            "{\"status\":\"optimal\",\"makespan\":8,\"bound\":8,\"starts\":[0,0,3,8],\
             \"modes\":[1,2,1,1],\
             \"seconds\":0.25,\"first\":0.125,\"steps\":40}\n",
        );
        let expected = Answer {
            status: Status::Optimal,
            makespan: Some(8),
            bound: Some(8),
            starts: vec![0, 0, 3, 8],
            modes: vec![1, 2, 1, 1],
            effort: Effort {
                seconds: 0.25,
                first: Some(0.125),
                steps: Some(40.0),
                processor: None,
            },
        };
        assert_eq!(answer.unwrap(), expected);
        let none =
            read("{\"status\":\"unknown\",\"makespan\":null,\"seconds\":1}").unwrap();
        assert_eq!((none.makespan, none.starts.len()), (None, 0));
    }

    #[test]
    fn other_output_is_refused() {
        for text in [
            "",
            "solved",
            "[]",
            "{}",
            "{\"status\":\"good\",\"seconds\":1}",
            "{\"status\":\"unknown\"}",
            "{\"status\":\"feasible\",\"seconds\":1,\"makespan\":1.5}",
            "{\"status\":\"feasible\",\"seconds\":1,\"starts\":[0.5]}",
            "{\"status\":\"feasible\",\"seconds\":1,\"starts\":3}",
            "{\"status\":\"feasible\",\"seconds\":1,\"modes\":[\"a\"]}",
            "{\"status\":\"unknown\",\"seconds\":1} and more",
            "{\"status\":\"unknown\",\"seconds\":1,\"first\":-1}",
            "{\"status\":\"unknown\",\"seconds\":1,\"steps\":\"many\"}",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
