//! Signed checkpoints.

use ledger::{
    Access, Checkpoint, Evidence, FaultKind, Head, LedgerError, LedgerId, SigningKey,
    Store,
};

use crate::stores::Place;
use crate::{entry, filled};

const AT: &str = "2031-01-14T18:00:00Z";

pub(crate) fn key() -> SigningKey {
    let folder = tempfile::tempdir().unwrap();
    SigningKey::create(folder.path().join("key.pem")).unwrap()
}

fn told(store: &impl Store, evidence: &Evidence<'_>) -> Vec<String> {
    let verdict = store.verify_against(evidence).unwrap();
    verdict.faults.iter().map(ToString::to_string).collect()
}

pub(crate) fn a_checkpoint_is_stored_and_holds<P: Place>() {
    let place = P::vacant();
    let mut store = place.create().unwrap();
    let key = key();
    let empty = store.sign_checkpoint(&key, AT).unwrap();
    let head = store.append(0, &[entry(1), entry(2)]).unwrap();
    let signed = store.sign_checkpoint(&key, AT).unwrap();
    store.append(2, &[entry(3)]).unwrap();
    assert_eq!((empty.head.number, signed.head), (0, head));
    assert!(signed.is_signed());

    let text = signed.to_string();
    assert_eq!(text.parse(), Ok(signed.clone()));
    let stored = [empty, signed];
    assert_eq!(store.checkpoints().unwrap(), stored);
    let trusted = [key.public()];
    let evidence = Evidence { head: None, checkpoints: &stored, trusted: &trusted };
    let verdict = store.verify_against(&evidence).unwrap();
    assert!(verdict.is_sound(), "{verdict:#?}");
    assert_eq!((verdict.checkpoints, &verdict.signers[..]), (2, &trusted[..]));

    let error = store.sign_checkpoint(&key, "today").unwrap_err();
    assert!(matches!(error, LedgerError::Refused { .. }), "{error}");
    let mut reader = place.open(Access::ReadOnly).unwrap();
    let error = reader.sign_checkpoint(&key, AT).unwrap_err();
    assert!(matches!(error, LedgerError::ReadOnly { .. }), "{error}");
}

pub(crate) fn a_checkpoint_speaks_against_a_history_written_anew<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let mut true_one = place.open(Access::ReadWrite).unwrap();
    let signed = [true_one.sign_checkpoint(&key(), AT).unwrap()];
    let evidence = Evidence { checkpoints: &signed, ..Evidence::default() };
    assert_eq!(told(&true_one, &evidence), [""; 0]);

    let forged = P::vacant();
    let mut forged = forged.create().unwrap();
    forged.append(0, &[entry(1), entry(2)]).unwrap();
    let faults = forged.verify_against(&evidence).unwrap().faults;
    assert_eq!(faults.len(), 1);
    let fault = faults[0].to_string();
    assert!(fault.ends_with("states an entry that isn't in the ledger"), "{fault}");
    forged.append(2, &[entry(4)]).unwrap();
    let faults = forged.verify_against(&evidence).unwrap().faults;
    assert_eq!(faults.iter().map(|fault| fault.entry).collect::<Vec<_>>(), [Some(3)]);
    assert!(faults[0].to_string().ends_with("history was rewritten"));

    let other = Checkpoint { ledger: LedgerId::from_bytes([1; 16]), ..signed[0].clone() };
    let other = [other];
    let evidence = Evidence { checkpoints: &other, ..Evidence::default() };
    let told = told(&true_one, &evidence);
    assert!(told[0].contains("is of another ledger"), "{told:?}");
}

pub(crate) fn a_changed_checkpoint_is_found<P: Place>() {
    let other = P::bytes(&"5a".repeat(32));
    for (change, told) in [
        ("number = 2", "isn't what its key signed"),
        ("signed_at = '2031-01-13T18:00:00Z'", "isn't what its key signed"),
        (&format!("digest = {other}"), "isn't what its key signed"),
        (&format!("public_key = {other}"), "isn't what its key signed"),
        (&format!("signature = {other}"), "signature holds 32 bytes where 64 must be"),
        ("number = -1", "number holds -1, below zero"),
    ] {
        let (place, _) = filled::<P>(&[3]);
        let mut store = place.open(Access::ReadWrite).unwrap();
        store.sign_checkpoint(&key(), AT).unwrap();
        drop(store);
        place.tamper(&format!("UPDATE checkpoints SET {change}"));
        let store = place.open(Access::ReadOnly).unwrap();
        let faults = store.verify(None).unwrap().faults;
        let first = faults.first().map(ToString::to_string).unwrap_or_default();
        assert!(first.contains(told) && faults.len() == 1, "{change}: {faults:?}");
        assert!(matches!(faults[0].kind, FaultKind::Checkpoint(_)));
    }
}

pub(crate) fn only_trusted_keys_count_where_some_are_named<P: Place>() {
    let (place, _) = filled::<P>(&[3]);
    let mut store = place.open(Access::ReadWrite).unwrap();
    let (known, forger) = (key(), key());
    store.sign_checkpoint(&known, AT).unwrap();
    store.sign_checkpoint(&forger, AT).unwrap();
    assert_eq!(told(&store, &Evidence::default()), [""; 0]);
    let trusted = [known.public()];
    let evidence = Evidence { trusted: &trusted, ..Evidence::default() };
    let told = told(&store, &evidence);
    assert_eq!(told.len(), 1);
    assert!(told[0].contains(&forger.public().fingerprint()), "{told:?}");
    let Head { number, digest: _ } = store.head().unwrap();
    assert_eq!(number, 3);
}
