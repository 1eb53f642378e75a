//! A history that was written anew, as a whole and consistently, under the ledger's own id.

use app::{Place, Witnesses};
use ledger::{LedgerId, SqliteStore};
use serde_json::json;
use tempfile::TempDir;

use crate::draws::{acts, begin, signed};

#[test]
fn a_ledger_that_was_rewritten_wholly_does_not_fit_a_checkpoint() {
    let folder = TempDir::new().unwrap();
    let id = LedgerId::from_bytes(*b"rewritten wholly");
    let place = |name: &str| {
        let file = folder.path().join(name);
        drop(SqliteStore::create_with_id(&file, id).unwrap());
        Place::from(file)
    };
    let raise = |what: &str| {
        acts(&json!({
            "act": "raise", "finding": "X-1", "item": "HULL", "what": what,
            "found": "2032-01-10",
        }))
    };
    let (real, forged) = (place("real"), place("forged"));
    for (place, what) in [(&real, "a crack"), (&forged, "a scratch")] {
        let mut workshop = begin(place);
        workshop.act(&raise(what), &signed("BK", 5), None).unwrap();
    }
    let (key, point) = (folder.path().join("key"), folder.path().join("point"));
    let public = app::new_key(&key).unwrap();
    app::checkpoint(&real, &key, &point, "2032-01-14T10:00:00Z").unwrap();
    let witnesses =
        Witnesses { keys: vec![public.fingerprint()], checkpoints: vec![point] };
    let proof = app::verify(&real, &witnesses).unwrap();
    assert!(proof.is_sound() && proof.witnesses == 1, "{proof:#?}");
    // By itself the forged one is sound: only the witness speaks against it.
    assert!(app::verify(&forged, &Witnesses::default()).unwrap().is_sound());
    let proof = app::verify(&forged, &witnesses).unwrap();
    let told: Vec<String> =
        proof.verdict.faults.iter().map(ToString::to_string).collect();
    assert!(!proof.is_sound() && told.len() == 1, "{told:?}");
    assert!(told[0].contains("history was rewritten"), "{told:?}");
}
