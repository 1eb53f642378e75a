//! A clock that jumps: what is kept stays, and what is refused says which times do not go
//! together.

use app::{AppError, Place, Signed, Witnesses, Workshop};
use serde_json::json;
use tempfile::TempDir;

use crate::draws::{acts, begin};

/// Raises a finding at a time; what it was refused for.
fn raise(workshop: &mut Workshop, number: usize, at: &str) -> Option<String> {
    let raise = json!({
        "act": "raise", "finding": format!("X-{number}"), "item": "HULL",
        "what": "a dent", "found": "2020-01-01",
    });
    let signed = Signed { by: "BK".into(), at: at.into(), secret: None };
    match workshop.act(&acts(&raise), &signed, None) {
        Ok(_) => None,
        Err(error @ AppError::Forbidden(_)) => Some(error.to_string()),
        Err(other) => panic!("{other}"),
    }
}

#[test]
fn a_clock_that_jumps_loses_nothing_and_is_named() {
    let folder = TempDir::new().unwrap();
    let place = Place::from(folder.path().join("a.ledger"));
    let mut workshop = begin(&place);
    assert_eq!(raise(&mut workshop, 1, "2032-01-14T10:00:00+01:00"), None);
    // Two machines are never quite together: some minutes back are no matter.
    assert_eq!(raise(&mut workshop, 2, "2032-01-14T09:55:00+01:00"), None);
    for (at, times) in [
        ("2032-01-13T10:00:00+01:00", ["2032-01-13T10:00:00", "2032-01-14T10:00:00"]),
        ("1970-01-01T00:00:07Z", ["1970-01-01T00:00:07", "2032-01-14T10:00:00"]),
    ] {
        let told = raise(&mut workshop, 3, at).expect("it is refused");
        assert!(times.iter().all(|time| told.contains(time)), "{told}");
        assert!(told.contains("set the clock of this machine"), "{told}");
    }
    // Forward it can't be told from a long winter; the clock put right again is.
    assert_eq!(raise(&mut workshop, 4, "2033-05-01T10:00:00Z"), None);
    let told = raise(&mut workshop, 5, "2032-01-14T10:05:00+01:00").expect("refused");
    assert!(told.contains("2033-05-01T10:00:00"), "{told}");
    // What is no time at all is refused before it is anywhere.
    for at in ["", "today", "2032-13-01T00:00:00Z", "2032-01-14"] {
        let signed = Signed { by: "BK".into(), at: at.into(), secret: None };
        let start = acts(&json!({"act": "start", "job": "ODD"}));
        let error = workshop.act(&start, &signed, None).unwrap_err();
        assert!(error.to_string().contains("is no time such as"), "{at}: {error}");
    }
    let before = workshop.programme().clone();
    drop(workshop);
    assert!(app::verify(&place, &Witnesses::default()).unwrap().is_sound());
    assert!(*Workshop::read(&place).unwrap().programme() == before);
}
