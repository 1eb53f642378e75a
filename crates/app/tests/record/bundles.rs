//! Bundles as one file, and held against a checker that shares no code with us.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

use app::{BundleAbout, Place, Witnesses};
use jiff::civil::date;
use serde_json::json;
use tempfile::TempDir;

use crate::draws::{acts, begin, signed};

const AT: &str = "2032-01-14T12:00:00+01:00";

/// A folder with a ledger, a key, and things to make bundles about.
fn scene() -> (TempDir, Place) {
    let folder = TempDir::new().unwrap();
    let place = Place::from(folder.path().join("a.ledger"));
    let mut workshop = begin(&place);
    let note = folder.path().join("note.txt");
    fs::write(&note, "The spinner is chafed.\n").unwrap();
    drop(workshop);
    let digest = app::attach(&place, &note, "2032-01-14T12:00:00Z").unwrap().digest;
    workshop = app::Workshop::open(&place).unwrap();
    let tag = json!({
        "act": "tag", "item": "PROP-P", "location": "port engine", "photograph": digest,
        "service": "not known", "preservation": "oiled", "defects": "spinner chafed – é",
        "place": "ENGINE-BAY",
    });
    let secret = app::Secret::new("the words of TR");
    let cheap = app::Derivation::LEAST;
    let enrol = app::enrolment_by("TR", &secret, "first secret", cheap).unwrap();
    workshop.act(&[enrol], &signed("OP", 4), None).unwrap();
    let sealed = app::Signed { secret: Some(secret), ..signed("TR", 5) };
    workshop.act(&acts(&tag), &sealed, Some("request é 1")).unwrap();
    app::new_key(&folder.path().join("key")).unwrap();
    (folder, place)
}

fn bundle(folder: &Path, place: &Place, about: &BundleAbout, name: &str) -> PathBuf {
    let out = folder.join(name);
    let key = folder.join("key");
    app::bundle(place, about, &key, (&out, AT), date(2032, 1, 14)).unwrap();
    out
}

fn faults(path: &Path) -> Vec<String> {
    match app::check_bundle(path, &Witnesses::default()) {
        Ok(verdict) => verdict.faults,
        Err(error) => vec![error.to_string()],
    }
}

fn abouts() -> [BundleAbout; 2] {
    [BundleAbout::Gate("engine-run".into()), BundleAbout::Thing("PROP-P".into())]
}

#[test]
fn a_bundle_in_one_file_is_the_same_each_time_and_checked_as_it_lies() {
    let (folder, place) = scene();
    let folder = folder.path();
    for (number, about) in abouts().iter().enumerate() {
        let name = |what: &str| format!("{what}-{number}.zip");
        let one = bundle(folder, &place, about, &name("one"));
        let two = bundle(folder, &place, about, &name("two"));
        let bytes = fs::read(&one).unwrap();
        assert_eq!(bytes, fs::read(&two).unwrap());
        assert_eq!(faults(&one), [""; 0]);
        // Whatever byte of it is another one, it is noticed.
        for at in (0..bytes.len()).step_by(bytes.len() / 97) {
            let mut bytes = bytes.clone();
            bytes[at] ^= 1;
            fs::write(&two, &bytes).unwrap();
            let unseen = faults(&two).is_empty();
            // Dates, rights and versions of the archive itself say nothing about the bundle.
            assert!(!unseen || !within(&bytes, at), "byte {at}");
        }
        let error = app::bundle(
            &place,
            about,
            &folder.join("key"),
            (&one, AT),
            date(2032, 1, 14),
        );
        assert!(error.unwrap_err().to_string().contains("is there already"));
    }
}

/// Whether a byte belongs to the content of a member, by the lengths in the local headers
/// (APPNOTE.TXT of the zip format, section 4.3.7).
fn within(bytes: &[u8], at: usize) -> bool {
    let two = |at: usize| usize::from(u16::from_le_bytes([bytes[at], bytes[at + 1]]));
    let mut here = 0;
    while bytes[here..].starts_with(b"PK\x03\x04") {
        let content = here + 30 + two(here + 26) + two(here + 28);
        let length = two(here + 18) | two(here + 20) << 16;
        if (content..content + length).contains(&at) {
            return true;
        }
        here = content + length;
    }
    false
}

/// What the checker says in `reference/`, and whether it finds the bundle sound.
fn independent(path: &Path) -> (bool, String) {
    let python = std::env::var_os("TURNBUCKLE_PYTHON")
        .expect("TURNBUCKLE_PYTHON names a Python that has the reference packages");
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/bundle_check.py");
    let output = Command::new(python).arg(script).arg(path).output();
    let output = output.expect("TURNBUCKLE_PYTHON names a Python that runs");
    let wrong = String::from_utf8_lossy(&output.stderr);
    assert!(wrong.is_empty(), "{wrong}");
    (output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned())
}

fn walk(dir: &Path) -> Vec<PathBuf> {
    let (mut files, mut open) = (Vec::new(), vec![dir.to_owned()]);
    while let Some(here) = open.pop() {
        for found in fs::read_dir(here).unwrap() {
            let path = found.unwrap().path();
            if path.is_dir() { open.push(path) } else { files.push(path) }
        }
    }
    files
}

/// Ours and the independent checker find the same: sound, or not.
fn agree(path: &Path, sound: bool, what: &str) {
    let ours = faults(path);
    let (theirs, told) = independent(path);
    assert_eq!((ours.is_empty(), theirs), (sound, sound), "{what}: {ours:?} {told}");
}

#[test]
#[ignore = "reference check: run by `cargo xtask ci`"]
fn an_independent_checker_agrees_on_good_bundles_and_on_every_change() {
    let (folder, place) = scene();
    let folder = folder.path();
    for (number, about) in abouts().iter().enumerate() {
        let packed = bundle(folder, &place, about, &format!("b{number}.zip"));
        agree(&packed, true, "the whole in one file");
        let dir = bundle(folder, &place, about, &format!("b{number}"));
        agree(&dir, true, "the whole");
        let files = walk(&dir);
        assert!(files.len() >= 7, "{files:?}");
        for file in files {
            let name = file.display().to_string();
            let before = fs::read(&file).unwrap();
            for at in [0, before.len() / 2, before.len() - 2] {
                let mut bytes = before.clone();
                bytes[at] ^= 1;
                fs::write(&file, bytes).unwrap();
                agree(&dir, false, &format!("byte {at} of {name}"));
            }
            fs::write(&file, &before[..before.len() / 2]).unwrap();
            agree(&dir, false, &format!("half of {name}"));
            fs::remove_file(&file).unwrap();
            agree(&dir, false, &format!("without {name}"));
            fs::write(&file, before).unwrap();
        }
        fs::write(dir.join("more.txt"), "x").unwrap();
        agree(&dir, false, "one file more");
        fs::remove_file(dir.join("more.txt")).unwrap();
        agree(&dir, true, "the whole again");
    }
}
