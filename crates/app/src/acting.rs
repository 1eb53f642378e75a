//! Acts of people: judged, kept, and told.

use std::path::Path;

use ledger::Place;
use record::{Act, Refusal};
use serde_json::{Value, json};

use crate::{AppError, Signed, Workshop};

/// An act that was kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Kept {
    /// The number of its entry.
    pub number: u64,
    /// Its word.
    pub word: &'static str,
    /// What whoever signed should know, without it being forbidden.
    pub cautions: Vec<Refusal>,
    /// It was there already: the same request had been sent before.
    pub repeated: bool,
}

/// A refusal, with what the programme says that its rule rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Which act of several, counted from 1, and its word.
    pub act: (usize, &'static str),
    /// Why.
    pub refusal: Refusal,
    /// The citation that the programme's profile carries for the rule.
    pub citation: Option<String>,
    /// The act, counted from 1, whose refusal alone brings this one.
    pub follows: Option<usize>,
}

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Refusal { rule, what, hint } = &self.refusal;
        write!(f, "{}: {what}\n  rule: {rule}. {}", self.act.1, rule.says())?;
        if let Some(citation) = &self.citation {
            write!(f, " ({citation})")?;
        }
        if let Some(first) = self.follows {
            return write!(f, "\n  follows from act {first}, which is refused itself");
        }
        write!(f, "\n  hint: {hint}")
    }
}

/// Acts as somebody typed them on a command line: the word of one, and its fields.
pub fn typed_act(word: &str, fields: &[String]) -> Result<Vec<Act>, AppError> {
    let mut pairs = Vec::new();
    let mut wrong = Vec::new();
    for field in fields {
        match field.split_once('=') {
            Some((name, value)) => pairs.push((name.trim().to_owned(), value.to_owned())),
            None => wrong.push(format!("`{field}` is not of the form field=value")),
        }
    }
    if !wrong.is_empty() {
        return Err(AppError::Unknown(wrong.join("\n")));
    }
    let act = folder::acts::from_fields(word, &pairs).map_err(AppError::Act)?;
    Ok(vec![act])
}

/// Acts as a JSON file has them: one object or an array.
pub fn acts_of_file(file: &Path) -> Result<Vec<Act>, AppError> {
    let text = std::fs::read_to_string(file).map_err(|source| AppError::File {
        doing: "read",
        file: file.to_owned(),
        source,
    })?;
    folder::acts::from_json(&text, &file.display().to_string()).map_err(AppError::Act)
}

/// What acts would be refused for, without doing them.
pub fn try_acts(
    ledger: &Place,
    acts: &[Act],
    signed: &Signed,
) -> Result<Vec<Refused>, AppError> {
    let workshop = Workshop::read(ledger)?;
    match workshop.judge(acts, signed) {
        Ok(_) => Ok(Vec::new()),
        Err(AppError::Forbidden(refused)) => Ok(refused),
        Err(other) => Err(other),
    }
}

/// The same for a programme as it stands after an entry.
pub fn try_acts_on(
    snapshot: &crate::Snapshot,
    acts: &[Act],
    signed: &Signed,
) -> Result<Vec<Refused>, AppError> {
    let stands = (&*snapshot.programme, snapshot.number);
    crate::workshop::judged(stands, acts, signed).map(|(_, refused)| refused)
}

/// Refusals for programs.
pub fn refused_json(refused: &[Refused]) -> Value {
    let each = refused.iter().map(|one| {
        let Refusal { rule, what, hint } = &one.refusal;
        json!({
            "act": one.act.1,
            "number": one.act.0,
            "follows": one.follows,
            "rule": rule.word(),
            "says": rule.says(),
            "citation": one.citation,
            "what": what,
            "hint": hint,
        })
    });
    each.collect()
}
