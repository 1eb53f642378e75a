//! Files that acts name and that are not there: no act was taken without them.
//!
//! The chain covers an act with the digests that it names, and a digest covers its file; that
//! the file is there at all is covered by neither.

use std::collections::{BTreeMap, BTreeSet};

use folder::stored::{Fact, decode_any};
use ledger::{Digest, Entry, Store};
use record::Programme;

use crate::AppError;
use crate::seal::peel;

/// How many digits a digest has in an act.
const DIGITS: usize = 64;
/// So many are named one by one.
const MOST: usize = 20;

/// What acts name, as they are read one after the other.
pub(crate) struct Missing {
    there: BTreeSet<Digest>,
    /// By digest: the first entry that names it, and in which field.
    missing: BTreeMap<String, (u64, &'static str)>,
}

impl Missing {
    pub(crate) fn new(store: &dyn Store) -> Result<Self, AppError> {
        let there = store.attachments().map_err(AppError::Ledger)?;
        let there = there.into_iter().map(|stored| stored.digest).collect();
        Ok(Self { there, missing: BTreeMap::new() })
    }

    /// Looks at an entry that was folded.
    pub(crate) fn look(&mut self, entry: &Entry) {
        let body = peel(&entry.body).body;
        // Few acts name files, and the others need not be read once more.
        if !has_digest(body) {
            return;
        }
        let Ok(Fact::Act(act)) = decode_any(&entry.kind, entry.version, body) else {
            return;
        };
        for (field, digest) in folder::acts::files(&act) {
            let there = digest.parse().is_ok_and(|digest| self.there.contains(&digest));
            if !there {
                self.missing.entry(digest).or_insert((entry.number, field));
            }
        }
    }

    /// What is wrong, a sentence each; what was discarded by the rules need not be there.
    pub(crate) fn finish(self, programme: &Programme) -> Vec<String> {
        let missing = self.missing.into_iter();
        let mut missing: Vec<(u64, &str, String)> = missing
            .filter(|(digest, _)| !programme.is_discarded(digest))
            .map(|(digest, (entry, field))| (entry, field, digest))
            .collect();
        missing.sort();
        let more = missing.len().saturating_sub(MOST);
        let told = missing.into_iter().take(MOST).map(|(entry, field, digest)| {
            format!(
                "the file that entry {entry} names in `{field}` is not in the ledger: {digest}; \
                 put back a backup that has it"
            )
        });
        let more = (more > 0).then(|| format!("and {more} more files are not there"));
        told.chain(more).collect()
    }
}

fn has_digest(body: &str) -> bool {
    body.as_bytes()
        .split(|byte| !byte.is_ascii_hexdigit())
        .any(|digits| digits.len() >= DIGITS)
}
