//! What somebody is to be told when they next sign in: that others changed what is theirs.

use crate::{AppError, Change, Desk, Settings};

const KIND: &str = "notice";

/// Leaves something for somebody to be told; what was left before under the same name is told
/// no more.
///
/// # Errors
/// If the ledger can't be written.
pub fn leave_notice(
    desk: &Desk,
    (person, name): (&str, &str),
    text: String,
) -> Result<(), AppError> {
    desk.change_setting((person, KIND, name), |_| (Change::Put(text), ()))
}

/// What was left for somebody: name and text.
pub fn notices(settings: &Settings, person: &str) -> Vec<(String, String)> {
    let left = settings.of(person, KIND);
    left.map(|(name, text)| (name.to_owned(), text.to_owned())).collect()
}

/// What was told is told no more, unless something else was left meanwhile.
///
/// # Errors
/// If the ledger can't be written: then it is told again.
pub fn notices_told(
    desk: &Desk,
    person: &str,
    told: Vec<(String, String)>,
) -> Result<(), AppError> {
    for (name, text) in told {
        desk.change_setting((person, KIND, &name), move |found| {
            let same = found == Some(text.as_str());
            (if same { Change::Remove } else { Change::Keep }, ())
        })?;
    }
    Ok(())
}
