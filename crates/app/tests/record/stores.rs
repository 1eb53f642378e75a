//! Both stores agree: the same acts give the same programme and the same chain.

use std::ffi::OsStr;
use std::ops::ControlFlow;
use std::sync::atomic::{AtomicU64, AtomicUsize, Ordering};

use app::{Place, Witnesses, Workshop};
use ledger::{Access, Digest, LedgerId, PostgresStore, SqliteStore};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use tempfile::TempDir;
use testkit::{Found, Server, find_server};

use crate::draws::{Draw, begin, enter, lists};

const ID: LedgerId = LedgerId::from_bytes(*b"acts on 2 stores");

/// The digest of each entry.
fn digests(place: &Place) -> Vec<Digest> {
    let mut digests = Vec::new();
    let mut visit = |entry: ledger::Entry| {
        digests.push(entry.digest);
        ControlFlow::Continue(())
    };
    place.open(Access::ReadOnly).unwrap().read(0, &mut visit).unwrap();
    digests
}

/// The same acts on a file and in a schema; how many of them were kept.
fn agree(server: &Server, number: u64, lists: &[Vec<Draw>]) -> usize {
    let folder = TempDir::new().unwrap();
    let file = folder.path().join("a.ledger");
    drop(SqliteStore::create_with_id(&file, ID).unwrap());
    let schema = format!("turnbuckle_test_app_{}_{number}", std::process::id());
    drop(PostgresStore::create_with_id(server.connection(), &schema, ID).unwrap());
    let server = Place::parse(OsStr::new(&server.address(&schema))).unwrap();
    let places = [Place::from(file), server];
    let kept = places.each_ref().map(|place| enter(&mut begin(place), lists));
    let [one, other] = places.each_ref().map(|place| Workshop::read(place).unwrap());
    assert_eq!(one.programme(), other.programme());
    assert_eq!(digests(&places[0]), digests(&places[1]));
    assert_eq!(kept[0], kept[1]);
    for place in &places {
        assert!(app::verify(place, &Witnesses::default()).unwrap().is_sound());
    }
    kept[0]
}

#[test]
fn both_stores_agree() {
    let server = match find_server() {
        Found::Server(server) => server,
        Found::Nothing(why) => {
            println!("SKIPPED, nothing was tested on PostgreSQL: {why}");
            return;
        }
    };
    let mut runner = TestRunner::new(ProptestConfig {
        cases: 6,
        failure_persistence: None,
        ..ProptestConfig::default()
    });
    let (cases, kept) = (AtomicU64::new(0), AtomicUsize::new(0));
    let check = |lists: Vec<Vec<Draw>>| {
        let number = cases.fetch_add(1, Ordering::Relaxed);
        kept.fetch_add(agree(server, number, &lists), Ordering::Relaxed);
        Ok(())
    };
    runner.run(&lists(), check).unwrap();
    let kept = kept.into_inner();
    assert!(kept > 20, "too few acts were kept to say anything: {kept}");
}
