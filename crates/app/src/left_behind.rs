//! Files that were attached and that no entry names: what a refused form left behind.
//!
//! They are no part of the record and take room in every backup. They go when somebody who
//! keeps the ledger says so, once they are old enough that nobody is still about to name them.

use jiff::Timestamp;
use ledger::{Place, Unnamed};

use crate::AppError;
use crate::workshop::{look_at, patient};

/// Files that no entry names.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LeftBehind {
    /// How many.
    pub count: usize,
    /// Their bytes, all together.
    pub bytes: u64,
    /// When the oldest of them was last sent, as far as that was noted.
    pub oldest: Option<String>,
}

impl LeftBehind {
    pub(crate) fn of(all: &[Unnamed]) -> Self {
        Self {
            count: all.len(),
            bytes: all.iter().map(|one| one.attachment.size).sum(),
            oldest: all.iter().filter_map(|one| one.arrived.clone()).min_by_key(|at| {
                // What is no time sorts first: it is shown, and never cleared.
                at.parse::<Timestamp>().ok()
            }),
        }
    }

    /// How much it is, in words: `no files`, `1 file, 4.2 MB`.
    pub fn told(&self) -> String {
        match self.count {
            0 => "no files".to_owned(),
            1 => format!("1 file, {}", size(self.bytes)),
            count => format!("{count} files, {}", size(self.bytes)),
        }
    }
}

fn size(bytes: u64) -> String {
    match bytes {
        0..1_000 => format!("{bytes} bytes"),
        1_000..1_000_000 => format!("{:.1} kB", bytes as f64 / 1e3),
        _ => format!("{:.1} MB", bytes as f64 / 1e6),
    }
}

/// What was cleared away, or would be, and what stays.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Cleared {
    /// What goes.
    pub gone: LeftBehind,
    /// What no entry names and is too young, or of which it is not known how old it is.
    pub stays: LeftBehind,
}

/// The files of a ledger that no entry names.
///
/// # Errors
/// If the ledger can't be read.
pub fn left_behind(ledger: &Place) -> Result<LeftBehind, AppError> {
    let all = look_at(ledger)?.unnamed().map_err(AppError::Ledger)?;
    Ok(LeftBehind::of(&all))
}

/// Clears away what no entry names and was last sent more than so many days before `now`, one at
/// least: whoever is refused must have time to put it right. What an entry names always stays.
///
/// # Errors
/// If there are no days, or the ledger can't be written.
pub fn clear_left_behind(
    ledger: &Place,
    now: Timestamp,
    days: u32,
) -> Result<Cleared, AppError> {
    let before = before(now, days)?;
    let mut store = patient(ledger)?;
    let at = now.to_string();
    let gone = store.clear_unnamed(&at, &mut |one| is_older(one, before));
    let gone = gone.map_err(AppError::Ledger)?;
    let stays = store.unnamed().map_err(AppError::Ledger)?;
    Ok(Cleared { gone: LeftBehind::of(&gone), stays: LeftBehind::of(&stays) })
}

/// What would be cleared away.
///
/// # Errors
/// As for [`clear_left_behind`].
pub fn would_clear(
    ledger: &Place,
    now: Timestamp,
    days: u32,
) -> Result<Cleared, AppError> {
    let before = before(now, days)?;
    let all = look_at(ledger)?.unnamed().map_err(AppError::Ledger)?;
    let (gone, stays): (Vec<Unnamed>, Vec<Unnamed>) =
        all.into_iter().partition(|one| is_older(one, before));
    Ok(Cleared { gone: LeftBehind::of(&gone), stays: LeftBehind::of(&stays) })
}

fn before(now: Timestamp, days: u32) -> Result<Timestamp, AppError> {
    if days == 0 {
        return Err(AppError::Unknown(
            "files that no entry names stay for a day at least: somebody may be about to sign \
             what names them; say how many days"
                .to_owned(),
        ));
    }
    let span = jiff::SignedDuration::from_hours(i64::from(days) * 24);
    Ok(now.checked_sub(span).unwrap_or(Timestamp::MIN))
}

fn is_older(one: &Unnamed, before: Timestamp) -> bool {
    let arrived = one.arrived.as_deref().and_then(|at| at.parse::<Timestamp>().ok());
    arrived.is_some_and(|arrived| arrived < before)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn how_much_it_is_is_told_in_words() {
        for (count, bytes, told) in [
            (0, 0, "no files"),
            (1, 999, "1 file, 999 bytes"),
            (2, 1_500, "2 files, 1.5 kB"),
            (30, 61_250_000, "30 files, 61.2 MB"),
        ] {
            let left = LeftBehind { count, bytes, oldest: None };
            assert_eq!(left.told(), told);
        }
    }
}
