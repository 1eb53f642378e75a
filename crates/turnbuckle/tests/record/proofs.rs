//! Bundles, backups and what was kept elsewhere: what proves the record.

use std::fs;
use std::path::Path;

use serde_json::json;
use tempfile::TempDir;

use crate::{acts, card, refused, run, said, well, workshop};

/// Changes one byte in the middle of a file.
fn spoil(file: &Path) {
    let mut content = fs::read(file).unwrap();
    let middle = content.len() / 2;
    content[middle] ^= 1;
    fs::write(file, content).unwrap();
}

#[test]
fn files_that_no_entry_names_are_told_and_stay_while_they_are_young() {
    let dir = workshop();
    let dir = dir.path();
    assert!(!well(dir, &["verify"]).contains("named by no entry"));
    fs::write(dir.join("note.txt"), "The spinner is chafed.\n").unwrap();
    well(dir, &["attach", "note.txt"]);
    let words = well(dir, &["verify"]);
    assert!(
        words.contains("attached, and named by no entry: 1 file, 23 bytes;"),
        "{words}"
    );
    for (arguments, told) in [
        (&["clear", "--try"][..], "would go: no files that no entry names"),
        (&["clear", "--older", "1"], "cleared away: no files"),
    ] {
        let words = well(dir, arguments);
        assert!(words.contains(told), "{words}");
        assert!(words.contains("stays: 1 file, 23 bytes that no entry names"), "{words}");
    }
}

#[test]
fn a_bundle_is_checked_without_the_ledger_and_a_changed_byte_is_found() {
    let dir = workshop();
    let dir = dir.path();
    acts(dir, "TR", &card());
    fs::write(dir.join("note.txt"), "The spinner is chafed.\n").unwrap();
    let digest = well(dir, &["attach", "note.txt"]);
    let digest = digest.lines().next().unwrap();
    acts(
        dir,
        "TR",
        &json!({
            "act": "tag", "item": "PROP-P", "location": "port engine",
            "photograph": digest, "service": "not known", "preservation": "oiled",
            "defects": "spinner chafed", "place": "ENGINE-BAY",
        }),
    );
    well(dir, &["key", "key.pem"]);
    for (about, name) in [("--gate", "engine-run"), ("--thing", "PROP-P")] {
        let out = format!("bundle{about}");
        well(dir, &["bundle", about, name, "--key", "key.pem", "--out", &out]);
        // Elsewhere, without the ledger.
        let away = TempDir::new().unwrap();
        let files = walk(&dir.join(&out));
        assert!(files.iter().any(|file| file.starts_with("attachments")), "{files:?}");
        fs::rename(dir.join(&out), away.path().join("b")).unwrap();
        let words = well(away.path(), &["verify", "b"]);
        assert!(words.ends_with("sound\n"), "{words}");
        assert_eq!(words.contains("follows from its entries"), about == "--gate");
        for file in files {
            let path = away.path().join("b").join(&file);
            let before = fs::read(&path).unwrap();
            spoil(&path);
            let words = refused(away.path(), &["verify", "b"]);
            assert!(
                words.contains("fault") || words.contains("error"),
                "{file}: {words}"
            );
            fs::write(&path, before).unwrap();
        }
        fs::write(away.path().join("b/extra.txt"), "x").unwrap();
        assert!(refused(away.path(), &["verify", "b"]).contains("extra.txt"));
    }
}

fn walk(dir: &Path) -> Vec<String> {
    let (mut files, mut open) = (Vec::new(), vec![dir.to_owned()]);
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(here).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                files
                    .push(path.strip_prefix(dir).unwrap().to_string_lossy().into_owned());
            }
        }
    }
    files
}

#[test]
fn a_ledger_is_backed_up_and_restored() {
    let dir = workshop();
    let dir = dir.path();
    let warned = said(&run(dir, &["show", "people"])).1;
    assert!(warned.contains("never backed up"), "{warned}");
    well(dir, &["backup", "copy.ledger"]);
    assert_eq!(said(&run(dir, &["show", "people"])).1, "");
    acts(dir, "TR", &card());
    assert!(refused(dir, &["backup", "copy.ledger"]).contains("copy.ledger"));
    well(dir, &["restore", "copy.ledger"]);
    refused(dir, &["show", "cards", "ON:PROP-P"]);
    assert!(well(dir, &["verify"]).contains("sound"));
    // What was there is not lost.
    let kept = "turnbuckle.ledger.replaced";
    well(dir, &["show", "cards", "ON:PROP-P", "--ledger", kept]);
    // A letter of an entry in the copy is another one.
    let mut copy = fs::read(dir.join("copy.ledger")).unwrap();
    let word = b"invented approval";
    let at = copy.windows(word.len()).position(|found| found == word).unwrap();
    copy[at] ^= 1;
    fs::write(dir.join("copy.ledger"), copy).unwrap();
    let words = refused(dir, &["restore", "copy.ledger"]);
    assert!(words.contains("was changed after it was written"), "{words}");
    assert!(well(dir, &["verify"]).contains("sound"));
}

/// Digits behind a word in what was printed.
fn after<'a>(words: &'a str, word: &str) -> &'a str {
    let line = words.lines().find_map(|line| line.trim().strip_prefix(word));
    line.unwrap_or_else(|| panic!("{word} in {words}")).trim()
}

#[test]
fn a_history_that_was_written_anew_is_caught_by_what_was_kept_elsewhere() {
    let dir = workshop();
    let dir = dir.path();
    let made = well(dir, &["key", "key.pem"]);
    let (key, print) = (after(&made, "public key:"), after(&made, "fingerprint:"));
    let words = refused(dir, &["verify", "--key", key]);
    assert!(words.contains("nothing that a trusted key signed speaks"), "{words}");
    acts(dir, "TR", &card());
    well(dir, &["checkpoint", "--key", "key.pem", "--out", "point"]);
    acts(dir, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    for named in [key, print, &print.replace(' ', "").to_uppercase()] {
        let words = well(dir, &["verify", "--key", named, "--checkpoint", "point"]);
        assert!(words.contains("fits all checkpoints kept elsewhere (1)"), "{words}");
        assert!(words.contains("no checkpoint speaks for the entries after"), "{words}");
    }
    // The same people write another history into a new ledger: its chain is whole.
    let other = workshop();
    let other = other.path();
    acts(other, "TR", &card());
    acts(other, "TR", &json!({"act": "start", "job": "ON:PROP-P"}));
    assert!(well(other, &["verify"]).contains("sound"));
    fs::copy(dir.join("point"), other.join("point")).unwrap();
    let words = refused(other, &["verify", "--checkpoint", "point"]);
    assert!(words.contains("is of another ledger") && words.contains("NOT sound"));
    // Whoever has no such key can make no checkpoint that counts.
    well(other, &["key", "forged.pem"]);
    well(other, &["checkpoint", "--key", "forged.pem", "--out", "forged"]);
    let words = refused(other, &["verify", "--key", key, "--checkpoint", "forged"]);
    assert!(words.contains("a key that isn't among those you trust"), "{words}");
    for (option, value, told) in [
        ("--key", "xyz", "64 hexadecimal digits"),
        ("--key", "abcd", "it has 4 digits"),
        ("--key", &"0".repeat(32), "nothing here is signed"),
        ("--checkpoint", "key.pem", "line 1 of the checkpoint"),
        ("--checkpoint", "none", "none: "),
    ] {
        let words = refused(dir, &["verify", option, value]);
        assert!(words.contains(told), "{words}");
    }
}

#[test]
fn a_bundle_is_held_against_trusted_keys_and_checkpoints_kept_elsewhere() {
    let dir = workshop();
    let dir = dir.path();
    let made = well(dir, &["key", "key.pem"]);
    let other = well(dir, &["key", "other.pem"]);
    let (key, other) = (after(&made, "public key:"), after(&other, "public key:"));
    well(dir, &["checkpoint", "--key", "key.pem", "--out", "point"]);
    well(dir, &["bundle", "--gate", "engine-run", "--key", "key.pem", "--out", "b"]);
    let words = well(dir, &["verify", "b", "--key", key, "--checkpoint", "point"]);
    assert!(words.ends_with("sound\n"), "{words}");
    let words = refused(dir, &["verify", "b", "--key", other]);
    assert!(words.contains("isn't among those you trust"), "{words}");
    let away = workshop();
    well(away.path(), &["key", "key.pem"]);
    well(away.path(), &["checkpoint", "--key", "key.pem", "--out", "point"]);
    let foreign = away.path().join("point").display().to_string();
    let words = refused(dir, &["verify", "b", "--checkpoint", &foreign]);
    assert!(words.contains("is of another ledger"), "{words}");
}
