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
}

/// One answer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Answer {
    pub(super) status: Status,
    pub(super) makespan: Option<i64>,
    pub(super) bound: Option<i64>,
    /// Start of each activity in the order of the file, the dummies included.
    pub(super) starts: Vec<i64>,
    /// Seconds that the solver says it took.
    pub(super) seconds: f64,
}

/// Reads the object; it must be the only thing printed.
pub(super) fn read(text: &str) -> Result<Answer> {
    let value: Value = serde_json::from_str(text.trim()).with_context(|| {
        let shown: String = text.trim().chars().take(80).collect();
        format!("the solver's output isn't one JSON object: \"{shown}\"")
    })?;
    ensure!(value.is_object(), "the solver's output isn't an object");
    let status = value["status"].as_str().context("`status` is missing")?;
    let status = match status {
        "optimal" => Status::Optimal,
        "feasible" => Status::Feasible,
        "infeasible" => Status::Infeasible,
        "unknown" => Status::Unknown,
        other => anyhow::bail!("`status` is \"{other}\"; four words are known"),
    };
    let seconds = value["seconds"].as_f64().context("`seconds` is no number")?;
    Ok(Answer {
        status,
        makespan: whole(&value, "makespan")?,
        bound: whole(&value, "bound")?,
        starts: starts(&value["starts"])?,
        seconds,
    })
}

fn whole(object: &Value, key: &str) -> Result<Option<i64>> {
    match object.get(key) {
        None | Some(Value::Null) => Ok(None),
        Some(value) => {
            let number = value.as_i64();
            number.map(Some).with_context(|| format!("`{key}` is no whole number"))
        }
    }
}

fn starts(value: &Value) -> Result<Vec<i64>> {
    match value {
        Value::Null => Ok(Vec::new()),
        Value::Array(starts) => starts
            .iter()
            .map(|start| start.as_i64().context("a start is no whole number"))
            .collect(),
        _ => anyhow::bail!("`starts` is no list"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_field_is_read() {
        let answer = read(
            "{\"status\":\"optimal\",\"makespan\":8,\"bound\":8,\"starts\":[0,0,3,8],\
             \"seconds\":0.25}\n",
        );
        let expected = Answer {
            status: Status::Optimal,
            makespan: Some(8),
            bound: Some(8),
            starts: vec![0, 0, 3, 8],
            seconds: 0.25,
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
            "{\"status\":\"unknown\",\"seconds\":1} and more",
        ] {
            assert!(read(text).is_err(), "{text}");
        }
    }
}
