//! What a verification covered and found, as a sheet.

use crate::sheets::marked;
use crate::{LeftBehind, Programme, Proof, Sheet};

/// What the proof of a ledger came to; the programme is the one folded from it.
pub fn proof_sheet(programme: &Programme, proof: &Proof) -> Sheet {
    let verdict = &proof.verdict;
    let sound = proof.is_sound();
    let mut sheet =
        Sheet::new(if sound { "The record is sound" } else { "The record is NOT sound" });
    let head = verdict.head.map_or_else(String::new, |head| head.digest.to_string());
    let unsealed = verdict.entries.saturating_sub(proof.sealed as u64);
    let witnessed = proof.witnessed.map_or_else(
        || "none: nothing that a key signed speaks for it".to_owned(),
        |last| match verdict.entries.saturating_sub(last) {
            0 => format!("up to the last entry, {last}"),
            beyond => {
                format!("up to entry {last}; for the {beyond} after it none speaks")
            }
        },
    );
    sheet
        .fact("entries", verdict.entries)
        .fact("chain ends in", head)
        .fact("sealed by those who signed", proof.sealed)
        .fact("not sealed", unsealed)
        .fact("checkpoints in the ledger", verdict.checkpoints)
        .fact("checkpoints speak", witnessed)
        .fact("attachments", verdict.attachments);
    if let Some(left) = proof.left.as_ref().filter(|left| left.count > 0) {
        sheet.fact("of them no entry names", told(left));
        sheet.caution(
            "Files that no entry names were sent with forms that were never signed. They are no \
             part of the record; `turnbuckle clear` takes those away that are older than 30 days, \
             or as many as it is told.",
        );
    }
    let mut faults: Vec<Vec<String>> =
        verdict.faults.iter().map(|fault| vec![fault.to_string()]).collect();
    if verdict.more > 0 {
        faults.push(vec![format!("and {} more", verdict.more)]);
    }
    faults.extend(proof.faults.iter().map(|fault| vec![fault.clone()]));
    sheet.list("what is wrong", &["what"], faults);
    sheet.list("keys that signed checkpoints", &["fingerprint"], keys(proof));
    let (with, without) = people(programme);
    sheet.list("people with a secret", &["person", "name", "secret"], with);
    sheet.list("people without one", &["person", "name"], without);
    for notice in &proof.notices {
        sheet.caution(notice);
    }
    sheet.caution(
        "An entry that is not sealed was loaded, or signed by somebody who had no secret then: \
         the chain shows that it was not changed since, and not who wrote it.",
    );
    sheet.caution(
        "Settings beside the record (preferences, tokens, second steps) are no part of it, and \
         nothing is said of them.",
    );
    if !sound {
        sheet.caution(
            "Keep the ledger as it is, and go back to the last backup that is sound.",
        );
    }
    sheet
}

fn keys(proof: &Proof) -> Vec<Vec<String>> {
    proof.verdict.signers.iter().map(|key| vec![key.fingerprint()]).collect()
}

type Rows = Vec<Vec<String>>;

fn people(programme: &Programme) -> (Rows, Rows) {
    let keys = &programme.shop.authorities.keys;
    let (mut with, mut without) = (Rows::new(), Rows::new());
    for person in programme.people.iter() {
        let mut row = vec![person.id.to_string(), person.name.clone()];
        match keys.get(&person.id) {
            Some(key) => {
                row.push(marked(&key.by));
                with.push(row);
            }
            None => without.push(row),
        }
    }
    (with, without)
}

fn told(left: &LeftBehind) -> String {
    let day = left.oldest.as_deref().and_then(|at| at.get(..10));
    day.map_or_else(|| left.told(), |day| format!("{}, the oldest of {day}", left.told()))
}
