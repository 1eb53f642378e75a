//! Walking over a whole ledger.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::ControlFlow;

use super::rows::Row;
use super::{Meta, arrivals, attachments, checkpoints, read, rows};
use crate::chain::{Chain, Digest, start_digest};
use crate::checkpoint::Checkpoint;
use crate::db::{Database, Reading};
use crate::entry::Head;
use crate::error::Result;
use crate::sql;
use crate::verdict::{Evidence, Fault, FaultKind, Verdict};

/// Digests that something states for entries, by number; filled in by the walk.
type Wanted = BTreeMap<u64, Option<Digest>>;

pub(crate) fn verify(db: &dyn Database, evidence: &Evidence<'_>) -> Result<Verdict> {
    let mut verdict = Verdict::empty();
    let _reading = Reading::begin(db)?;
    // If even this fails, the fault is noted and the rest tried all the same.
    let meta = find_meta(db, &mut verdict)?;
    verdict.ledger = meta.as_ref().map(|meta| meta.id);
    verdict.head = meta.as_ref().map(|meta| meta.head);
    let stored = stored_checkpoints(db, meta.as_ref(), &mut verdict)?;
    let mut wanted: Wanted = stored
        .iter()
        .chain(evidence.checkpoints)
        .map(|checkpoint| checkpoint.head.number)
        .chain(evidence.head.map(|head| head.number))
        .map(|number| (number, None))
        .collect();
    walk(db, meta.as_ref(), &mut wanted, &mut verdict)?;
    if let Some(noted) = &evidence.head {
        check_witness(noted, &wanted, &mut verdict);
    }
    if let Some(meta) = &meta {
        check_checkpoints(meta, &stored, evidence, &wanted, &mut verdict);
    }
    if let Err(error) = attachments::verify(db, &mut verdict) {
        verdict.note([db.finding(error)?]);
    }
    if let Err(error) = arrivals::verify(db, &mut verdict) {
        verdict.note([db.finding(error)?]);
    }
    db.check_database(&mut verdict)?;
    Ok(verdict)
}

fn find_meta(db: &dyn Database, verdict: &mut Verdict) -> Result<Option<Meta>> {
    let mut found = rows::meta(None);
    let read = db.query("read the head", sql::SELECT_META, &[], &mut |row| {
        found = rows::meta(Some(row));
        ControlFlow::Break(())
    });
    if let Err(error) = read {
        let fault = db.finding(error)?;
        found = Err(Fault::of(FaultKind::Meta(fault.to_string())));
    }
    Ok(found.map_err(|fault| verdict.note([fault])).ok())
}

fn stored_checkpoints(
    db: &dyn Database,
    meta: Option<&Meta>,
    verdict: &mut Verdict,
) -> Result<Vec<Checkpoint>> {
    let Some(meta) = meta else { return Ok(Vec::new()) };
    let mut sound = Vec::new();
    match checkpoints::stored(db, &meta.id) {
        Ok(stored) => {
            for found in stored {
                match found {
                    Ok(checkpoint) => sound.push(checkpoint),
                    Err(fault) => verdict.note([fault]),
                }
            }
        }
        Err(error) => verdict.note([db.finding(error)?]),
    }
    Ok(sound)
}

fn walk(
    db: &dyn Database,
    meta: Option<&Meta>,
    wanted: &mut Wanted,
    verdict: &mut Verdict,
) -> Result<()> {
    let mut chain = Chain::from_start(meta.map(|meta| &meta.id));
    if let (Some(digest), Some(meta)) = (wanted.get_mut(&0), meta) {
        *digest = Some(start_digest(&meta.id));
    }
    let walked = read::rows(db, "verify the ledger", i64::MIN, &mut |row| {
        verdict.entries += 1;
        match row {
            Row::Sound(link, digest) => {
                if let Some(wanted) = wanted.get_mut(&link.number) {
                    *wanted = Some(digest);
                }
                verdict.note(chain.check(&link, digest));
            }
            Row::Bad { number, kind } => verdict.note(chain.pass_over(number, kind)),
        }
        ControlFlow::Continue(())
    });
    match walked {
        Ok(()) => verdict.note(meta.and_then(|meta| chain.finish(&meta.head))),
        Err(error) => verdict.note([db.finding(error)?]),
    }
    Ok(())
}

fn check_witness(noted: &Head, wanted: &Wanted, verdict: &mut Verdict) {
    let found = wanted.get(&noted.number).copied().flatten();
    if found != Some(noted.digest) {
        let kind = FaultKind::Witness { noted: *noted, found };
        verdict.note([Fault { entry: (noted.number > 0).then_some(noted.number), kind }]);
    }
}

fn check_checkpoints(
    meta: &Meta,
    stored: &[Checkpoint],
    evidence: &Evidence<'_>,
    wanted: &Wanted,
    verdict: &mut Verdict,
) {
    verdict.checkpoints = stored.len() as u64;
    let signers: BTreeSet<_> = stored.iter().map(|checkpoint| checkpoint.key).collect();
    verdict.signers = signers.into_iter().collect();
    for checkpoint in stored.iter().chain(evidence.checkpoints) {
        let found = wanted.get(&checkpoint.head.number).copied().flatten();
        let fault = checkpoints::judge(checkpoint, &meta.id, found, evidence.trusted);
        verdict.note(fault);
    }
}
