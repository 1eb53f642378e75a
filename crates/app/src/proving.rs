//! Proving a ledger: the chain by itself, and against what was kept elsewhere.

use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use ledger::{Checkpoint, Entry, Evidence, Place, PublicKey, Snapshot, Store, Verdict};
use record::Programme;

use crate::missing::Missing;
use crate::seal::{Sealed, Seals};
use crate::workshop::{fold_entry, look_at, patient};
use crate::{AppError, LeftBehind, snapshot};

/// What was kept elsewhere, to hold a ledger or a bundle against; nothing by default.
#[derive(Debug, Clone, Default)]
pub struct Witnesses {
    /// Keys that are trusted, each as its 64 hexadecimal digits or as its fingerprint. If
    /// there are any, nothing that another key signed counts.
    pub keys: Vec<String>,
    /// Files of checkpoints.
    pub checkpoints: Vec<PathBuf>,
}

/// What the proof of a ledger came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Proof {
    /// What the walk over the chain found.
    pub verdict: Verdict,
    /// How many checkpoints that were kept elsewhere were held against it.
    pub witnesses: usize,
    /// The last entry for which a signed checkpoint speaks, be it stored or kept elsewhere.
    pub witnessed: Option<u64>,
    /// How many entries are sealed by those who signed them.
    pub sealed: usize,
    /// Files that no entry names, which are no part of the record; nothing if it isn't sound.
    pub left: Option<LeftBehind>,
    /// What is wrong beyond the chain.
    pub faults: Vec<String>,
    /// What somebody should know though nothing is wrong with the record.
    pub notices: Vec<String>,
}

impl Proof {
    /// Whether nothing is wrong.
    pub fn is_sound(&self) -> bool {
        self.verdict.is_sound() && self.faults.is_empty()
    }
}

/// Recomputes the whole chain of a ledger, and holds it against what was kept elsewhere.
pub fn verify(place: &Place, witnesses: &Witnesses) -> Result<Proof, AppError> {
    let store = look_at(place)?;
    let kept = checkpoints(&witnesses.checkpoints)?;
    let stored = store.checkpoints().unwrap_or_default();
    let known = kept.iter().chain(&stored).map(|checkpoint| checkpoint.key);
    let trusted = trusted(&witnesses.keys, &known.collect::<Vec<_>>())?;
    let evidence = Evidence { head: None, checkpoints: &kept, trusted: &trusted };
    let verdict = store.verify_against(&evidence).map_err(AppError::Ledger)?;
    let all = kept.iter().chain(&stored);
    let witnessed = all.map(|checkpoint| checkpoint.head.number).max();
    let mut notices = store.notices().map_err(AppError::Ledger)?;
    let (mut faults, mut sealed) = (Vec::new(), 0);
    let mut left = None;
    if verdict.is_sound() {
        let unnamed = store.unnamed().map_err(AppError::Ledger)?;
        left = Some(LeftBehind::of(&unnamed));
        let found = store.snapshot(snapshot::FORMAT).map_err(AppError::Ledger)?;
        notices.extend(found.notices);
        let (count, wrong) = refold(store.as_ref(), found.snapshot.as_ref())?;
        sealed = count;
        faults.extend(wrong);
        if !trusted.is_empty() && witnessed.is_none() {
            faults.push(
                "no checkpoint is in the ledger and none was given: nothing that a \
                 trusted key signed speaks for it"
                    .to_owned(),
            );
        }
    }
    Ok(Proof { verdict, witnesses: kept.len(), witnessed, sealed, left, faults, notices })
}

/// Throws away what was kept for a fast start: the next start folds all entries.
pub fn forget_snapshots(place: &Place) -> Result<(), AppError> {
    patient(place)?.drop_snapshots().map_err(AppError::Ledger)
}

/// Folds the ledger from its first entry, for a sound chain whose entries cannot be read
/// would be no record: looks at the seals and at the files that acts name on the way, and
/// compares what was kept for a fast start. How many seals there are, and what is wrong.
fn refold(
    store: &dyn Store,
    kept: Option<&Snapshot>,
) -> Result<(usize, Vec<String>), AppError> {
    let mut programme = Programme::default();
    let mut seals = Seals::new(&store.id().map_err(AppError::Ledger)?);
    let mut missing = Missing::new(store)?;
    let (mut failed, mut fault) = (None, None);
    let mut visit = |entry: Entry| {
        seals.look(&programme, &Sealed::from(&entry));
        failed = fold_entry(&mut programme, &entry).err();
        missing.look(&entry);
        if let Some(kept) = kept.filter(|kept| kept.head.number == entry.number) {
            let same = snapshot::write(&programme).is_some_and(|is| is == kept.content);
            fault = (!same).then(|| {
                format!(
                    "what is kept for a fast start, after entry {}, is not what the \
                     entries come to, and commands rest on it: throw it away with \
                     `turnbuckle verify --forget`",
                    entry.number
                )
            });
        }
        match failed {
            Some(_) => ControlFlow::Break(()),
            None => ControlFlow::Continue(()),
        }
    };
    store.read(0, &mut visit).map_err(AppError::Ledger)?;
    let (count, mut wrong) = seals.finish();
    wrong.extend(fault);
    wrong.extend(missing.finish(&programme));
    failed.map_or(Ok((count, wrong)), Err)
}

/// Checkpoints as files have them; every file that holds none is named.
pub(crate) fn checkpoints(files: &[PathBuf]) -> Result<Vec<Checkpoint>, AppError> {
    let (mut found, mut wrong) = (Vec::new(), Vec::new());
    for file in files {
        match read(file) {
            Ok(checkpoint) => found.push(checkpoint),
            Err(why) => wrong.push(format!("{}: {why}", file.display())),
        }
    }
    if wrong.is_empty() { Ok(found) } else { Err(AppError::Unknown(wrong.join("\n"))) }
}

fn read(file: &Path) -> Result<Checkpoint, String> {
    let text = std::fs::read(file).map_err(|error| error.to_string())?;
    let text = String::from_utf8(text).map_err(|_| "it is no text".to_owned())?;
    text.parse().map_err(|error: ledger::ParseCheckpointError| error.to_string())
}

/// The keys that are meant. A fingerprint is enough where a key of it has signed something
/// that is at hand.
pub(crate) fn trusted(
    named: &[String],
    known: &[PublicKey],
) -> Result<Vec<PublicKey>, AppError> {
    let (mut found, mut wrong) = (Vec::new(), Vec::new());
    for text in named {
        match key(text, known) {
            Ok(key) => found.push(key),
            Err(why) => wrong.push(format!("`{text}`: {why}")),
        }
    }
    if wrong.is_empty() { Ok(found) } else { Err(AppError::Unknown(wrong.join("\n"))) }
}

fn key(text: &str, known: &[PublicKey]) -> Result<PublicKey, String> {
    let digits: String = text.split_whitespace().collect::<String>().to_lowercase();
    if !digits.chars().all(|digit| digit.is_ascii_hexdigit()) {
        return Err("a key has 64 hexadecimal digits, and its fingerprint 32".to_owned());
    }
    let same = |key: &&PublicKey| key.fingerprint().replace(' ', "") == digits;
    match digits.len() {
        64 => digits.parse().map_err(|error: ledger::ParseHexError| error.to_string()),
        32 => known.iter().find(same).copied().ok_or_else(|| {
            "nothing here is signed by a key of this fingerprint; if something should be, \
             give the key itself, which `turnbuckle key` printed"
                .to_owned()
        }),
        other => Err(format!(
            "it has {other} digits; a key has 64 hexadecimal ones, and its fingerprint 32"
        )),
    }
}
