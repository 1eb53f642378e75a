//! Seals: whoever can write the file still can't sign as somebody who has a secret.

use app::{Act, AppError, Place, Secret, Signed, Witnesses, Workshop};
use ledger::{Access, NewEntry};
use serde_json::json;
use tempfile::TempDir;

use crate::draws::{acts, begin, signed};

fn secret() -> Secret {
    Secret::new("four words of hers\n")
}

fn sealed(by: &str, minute: usize, secret: Secret) -> Signed {
    Signed { secret: Some(secret), ..signed(by, minute) }
}

fn enrol(person: &str, secret: &Secret) -> Act {
    app::enrolment_by(person, secret, "first secret", app::Derivation::LEAST).unwrap()
}

fn raise(finding: &str) -> Vec<Act> {
    acts(&json!({
        "act": "raise", "finding": finding, "item": "PROP-P", "what": "a dent",
        "found": "2020-01-01",
    }))
}

/// A ledger in which OP, who may appoint, has a secret.
fn founded() -> (TempDir, Place) {
    let dir = TempDir::new().unwrap();
    let place = Place::File(dir.path().join("ledger"));
    place.create().unwrap();
    let mut workshop = begin(&place);
    workshop.act(&[enrol("OP", &secret())], &signed("OP", 60), None).unwrap();
    (dir, place)
}

fn faults(place: &Place) -> Vec<String> {
    app::verify(place, &Witnesses::default()).unwrap().faults
}

fn forbidden(done: Result<Vec<app::Kept>, AppError>) -> String {
    let Err(AppError::Forbidden(refused)) = done else { panic!("{done:?}") };
    refused.iter().map(ToString::to_string).collect()
}

#[test]
fn whoever_has_a_secret_signs_with_it_and_with_no_other() {
    // AC 120-78, as its definitions are quoted: a signature is traceable to one individual.
    let (_dir, place) = founded();
    let mut workshop = Workshop::open(&place).unwrap();
    let why = forbidden(workshop.act(&raise("X-1"), &signed("OP", 61), None));
    assert!(why.contains("is not sealed with it"), "{why}");
    let other = Secret::new("some other words");
    let why = forbidden(workshop.act(&raise("X-1"), &sealed("OP", 61, other), None));
    assert!(why.contains("not the secret of OP"), "{why}");
    workshop.act(&raise("X-1"), &sealed("OP", 62, secret()), None).unwrap();
    // Who has none signs without, and can't pretend to one.
    workshop.act(&raise("X-2"), &signed("BK", 63), None).unwrap();
    let why = forbidden(workshop.act(&raise("X-3"), &sealed("BK", 64, secret()), None));
    assert!(why.contains("BK has no key"), "{why}");
    drop(workshop);
    assert_eq!(faults(&place), Vec::<String>::new());
    let proof = app::verify(&place, &Witnesses::default()).unwrap();
    assert_eq!(proof.sealed, 1);
    // What is sealed is read, told and folded as anything else.
    let told = app::history(&place, "X-1").unwrap().json().to_string();
    assert!(told.contains("a dent") && !told.contains("seal"), "{told}");
}

#[test]
fn a_secret_is_changed_by_its_owner_or_by_whoever_may_appoint() {
    let (_dir, place) = founded();
    let mut workshop = Workshop::open(&place).unwrap();
    // Nobody takes a name by enrolling themselves.
    let own = enrol("BK", &secret());
    let why = forbidden(workshop.act(&[own], &signed("BK", 61), None));
    assert!(why.contains("BK has no key yet"), "{why}");
    let theirs = Secret::new("words that BK typed");
    let by = sealed("OP", 62, secret());
    workshop.act(&[enrol("BK", &theirs)], &by, None).unwrap();
    workshop.act(&raise("X-1"), &sealed("BK", 63, theirs.clone()), None).unwrap();
    let newer = Secret::new("words that are newer");
    let change = [enrol("BK", &newer)];
    workshop.act(&change, &sealed("BK", 64, theirs.clone()), None).unwrap();
    let why = forbidden(workshop.act(&raise("X-2"), &sealed("BK", 65, theirs), None));
    assert!(why.contains("not the secret of BK"), "{why}");
    workshop.act(&raise("X-2"), &sealed("BK", 66, newer), None).unwrap();
    // A key counts from the next entry on.
    let both: Vec<Act> =
        [enrol("TR", &secret())].into_iter().chain(raise("X-3")).collect();
    assert!(workshop.act(&both, &sealed("OP", 67, secret()), None).is_err());
    drop(workshop);
    // The old key's seals stand.
    assert_eq!(faults(&place), Vec::<String>::new());
    assert_eq!(app::verify(&place, &Witnesses::default()).unwrap().sealed, 4);
}

/// Writes an entry past all rules, as somebody could who has the file.
fn forge(place: &Place, by: &str, body: &str) {
    let mut store = place.open(Access::ReadWrite).unwrap();
    let head = store.head().unwrap();
    let entry = NewEntry {
        kind: "act.raise".to_owned(),
        version: 1,
        body: body.as_bytes().to_vec(),
        at: signed(by, 90).at,
        by: by.to_owned(),
    };
    store.append(head.number, &[entry]).unwrap();
}

#[test]
fn what_is_forged_is_found_although_the_chain_is_whole() {
    let (_dir, place) = founded();
    let mut workshop = Workshop::open(&place).unwrap();
    workshop.act(&raise("X-1"), &sealed("OP", 61, secret()), None).unwrap();
    let last = workshop.number();
    drop(workshop);
    let plain =
        r#"{"finding":"X-7","item":"PROP-P","what":"nothing","found":"2020-01-01"}"#;
    forge(&place, "OP", plain);
    let seal = "00".repeat(64);
    forge(&place, "OP", &format!(r#"{{"seal":"{seal}","body":{plain}}}"#));
    forge(&place, "OP", &format!(r#"{{"seal":"no","body":{plain}}}"#));
    forge(&place, "BK", &format!(r#"{{"seal":"{seal}","body":{plain}}}"#));
    let found = faults(&place);
    assert_eq!(found.len(), 4, "{found:#?}");
    for (number, words) in [
        (last + 1, "is not sealed with it"),
        (last + 2, "was changed or forged"),
        (last + 3, "was changed or forged"),
        (last + 4, "BK had no key"),
    ] {
        let named = |fault: &&String| fault.contains(&format!("entry {number} "));
        let fault = found.iter().find(named).unwrap_or_else(|| panic!("{found:#?}"));
        assert!(fault.contains(words), "{fault}");
    }
}

#[test]
fn a_seal_speaks_for_one_entry_of_one_ledger() {
    let (_dir, place) = founded();
    let mut workshop = Workshop::open(&place).unwrap();
    workshop.act(&raise("X-1"), &sealed("OP", 90, secret()), None).unwrap();
    drop(workshop);
    let mut body = Vec::new();
    let store = place.open(Access::ReadOnly).unwrap();
    let head = store.head().unwrap().number;
    let mut visit = |entry: ledger::Entry| {
        body = entry.body;
        std::ops::ControlFlow::Continue(())
    };
    store.read(head - 1, &mut visit).unwrap();
    drop(store);
    let body = String::from_utf8(body).unwrap();
    // The same again, at the same minute and by the same person.
    forge(&place, "OP", &body);
    let found = faults(&place);
    assert!(
        found.len() == 1 && found[0].contains("a copy of an earlier one"),
        "{found:?}"
    );
    // In another ledger in which the same person has the same key.
    let (_other, other) = founded();
    forge(&other, "OP", &body);
    let found = faults(&other);
    assert!(found.len() == 1 && found[0].contains("changed or forged"), "{found:?}");
}

#[test]
fn a_secret_is_long_enough_and_is_never_printed() {
    let error = app::enrolment("OP", &Secret::new("short"), "first").unwrap_err();
    assert!(error.to_string().contains("10 characters or more"), "{error}");
    let printed = format!("{:?}", sealed("OP", 1, secret()));
    assert!(!printed.contains("four words"), "{printed}");
}
