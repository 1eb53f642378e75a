//! A disk that is full and a file that is damaged, as whoever is at the command line meets
//! them: nothing that was acknowledged is lost, and what is wrong is named.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]
#![expect(clippy::print_stdout, reason = "what was left out is said")]

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::Value;
use tempfile::TempDir;

const EXAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");

fn run(dir: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).args(arguments).output().expect("the program starts")
}

fn said(output: &Output) -> String {
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let words = text(&output.stdout) + &text(&output.stderr);
    assert!(!words.contains("panicked"), "{words}");
    assert!(output.status.code().is_some(), "it ended by a signal: {words}");
    words
}

fn well(dir: &Path, arguments: &[&str]) -> String {
    let output = run(dir, arguments);
    assert!(output.status.success(), "{arguments:?}\n{}", said(&output));
    said(&output)
}

fn refused(dir: &Path, arguments: &[&str]) -> String {
    let output = run(dir, arguments);
    let words = said(&output);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}\n{words}");
    words
}

/// A small file system in memory, which vanishes when it is dropped.
struct Small(TempDir);

impl Small {
    /// `None` after saying that nothing was tested, for whoever may not mount.
    fn new() -> Option<Self> {
        let folder = TempDir::new().unwrap();
        let mut mount = Command::new("mount");
        mount.args(["-t", "tmpfs", "-o", "size=4m", "tmpfs"]).arg(folder.path());
        let done = mount.output().is_ok_and(|output| output.status.success());
        let id = Command::new("id").arg("-u").output();
        let root = id.is_ok_and(|output| output.stdout.trim_ascii() == b"0");
        let gate = std::env::var_os("TURNBUCKLE_GATE").is_some();
        assert!(done || !(root && gate), "the gate as root needs to mount a tmpfs");
        if !done {
            println!("SKIPPED, no full disk was tested: only root can mount a tmpfs");
        }
        done.then_some(Self(folder))
    }

    fn path(&self) -> &Path {
        self.0.path()
    }
}

impl Drop for Small {
    fn drop(&mut self) {
        let _ = Command::new("umount").arg("-l").arg(self.0.path()).status();
    }
}

/// Writes a file until less than so much is free.
fn fill(folder: &Path, free: usize) {
    use std::io::Write;
    let mut file = fs::File::create(folder.join("ballast")).unwrap();
    while file.write_all(&[0; 4096]).is_ok() {}
    let length = file.metadata().unwrap().len();
    file.set_len(length.saturating_sub(free as u64)).unwrap();
}

/// The numbers of the findings that a ledger holds of those that were raised here.
fn raised(dir: &Path) -> Vec<usize> {
    let words = well(dir, &["history", "HULL", "--json"]);
    let history: Value = serde_json::from_str(words.lines().next().unwrap()).unwrap();
    let rows = history["lists"]["entries"].as_array().unwrap();
    let bodies = rows.iter().map(|row| row["as it was written"].as_str().unwrap());
    let names = bodies.filter_map(|body| {
        let body: Value = serde_json::from_str(body).unwrap();
        body["finding"].as_str()?.strip_prefix("X-")?.parse().ok()
    });
    names.collect()
}

/// Raises a finding with a long text; whether it was acknowledged, and what was said.
fn raise(dir: &Path, number: usize) -> (bool, String) {
    let (finding, what) = (format!("finding=X-{number}"), "what=dent ".repeat(600));
    let what = what.replace("what=dent what", "what");
    let output = run(
        dir,
        &["act", "raise", &finding, "item=HULL", &what, "found=2020-01-01", "--by", "BK"],
    );
    (output.status.success(), said(&output))
}

#[test]
fn a_full_disk_loses_nothing_that_was_acknowledged() {
    let Some(disk) = Small::new() else { return };
    let dir = disk.path();
    well(dir, &["load", EXAMPLE]);
    fill(dir, 150_000);
    let (mut acknowledged, mut told) = (Vec::new(), None);
    for number in 0..200 {
        let (done, words) = raise(dir, number);
        if !done {
            told = Some(words);
            break;
        }
        acknowledged.push(number);
    }
    let told = told.expect("the disk fills up");
    assert!(!acknowledged.is_empty(), "{told}");
    assert!(told.contains("error: ") && told.contains("because: "), "{told}");
    assert!(told.contains("hint: make room on the disk, and repeat"), "{told}");
    // A load that finds no room is there not at all.
    fs::create_dir(dir.join("b")).ok();
    let again = refused(dir, &["load", EXAMPLE, "--ledger", "b/second.ledger"]);
    assert!(again.contains("hint: make room on the disk"), "{again}");
    assert!(!dir.join("b/second.ledger").exists());
    fs::remove_dir_all(dir.join("b")).unwrap();
    // With room again, all of it is there, and work goes on.
    fs::remove_file(dir.join("ballast")).unwrap();
    assert!(well(dir, &["verify"]).contains("sound"));
    assert_eq!(raised(dir), acknowledged);
    assert!(raise(dir, 999).0);
    assert_eq!(raised(dir).last(), Some(&999));
}

#[test]
fn a_backup_or_a_bundle_that_finds_no_room_leaves_nothing_half() {
    let Some(disk) = Small::new() else { return };
    let dir = disk.path();
    well(dir, &["load", EXAMPLE]);
    well(dir, &["key", "key.pem"]);
    fill(dir, 250_000);
    let words = refused(dir, &["backup", "copy.ledger"]);
    assert!(words.contains("make room on the disk"), "{words}");
    let bundle = ["bundle", "--gate", "taxi", "--key", "key.pem", "--out", "b.zip"];
    let words = refused(dir, &bundle);
    assert!(words.contains("make room") || words.contains("No space"), "{words}");
    for name in ["copy.ledger", "b.zip"] {
        assert!(!dir.join(name).exists(), "{name}");
    }
    fs::remove_file(dir.join("ballast")).unwrap();
    well(dir, &["backup", "copy.ledger"]);
    well(dir, &bundle);
    assert!(well(dir, &["verify", "b.zip"]).ends_with("sound\n"));
}

#[test]
fn a_changed_bit_names_the_entry_and_a_cut_file_says_so() {
    let dir = TempDir::new().unwrap();
    let dir = dir.path();
    well(dir, &["load", EXAMPLE]);
    let mut entries = Vec::new();
    for number in 0..3 {
        let (done, words) = raise(dir, number);
        assert!(done, "{words}");
        let number = words.strip_prefix("entry ").and_then(|rest| rest.split(':').next());
        entries.push(number.unwrap().to_owned());
    }
    let file = dir.join("turnbuckle.ledger");
    let good = fs::read(&file).unwrap();
    for (number, entry) in entries.iter().enumerate() {
        let word = format!("\"finding\":\"X-{number}\"");
        let found = good.windows(word.len()).position(|found| found == word.as_bytes());
        let mut bytes = good.clone();
        bytes[found.unwrap() + word.len() - 2] ^= 4;
        fs::write(&file, bytes).unwrap();
        let words = refused(dir, &["verify"]);
        assert!(words.contains(&format!("entry {entry}: ")), "{words}");
        assert!(words.contains("NOT sound"), "{words}");
        let words = refused(dir, &["show", "findings"]);
        assert!(words.contains(&format!("entry {entry}: ")), "{words}");
        assert!(words.contains("restore from the last sound backup"), "{words}");
    }
    for part in [good.len() / 2, good.len() - 1, 4096, 50, 0] {
        fs::write(&file, &good[..part]).unwrap();
        for command in [&["verify"][..], &["show", "gates"], &["backup", "copy"]] {
            let words = refused(dir, command);
            let told = words.contains("is cut short") || words.contains("it is empty");
            assert!(
                told && words.contains("hint: "),
                "{part} bytes, {command:?}: {words}"
            );
        }
    }
    fs::write(&file, &good).unwrap();
    assert!(well(dir, &["verify"]).contains("sound"));
}

/// Any byte of the file: what is shown is true, or nothing is shown.
#[test]
fn a_changed_byte_anywhere_never_changes_what_is_shown() {
    let dir = TempDir::new().unwrap();
    let dir = dir.path();
    well(dir, &["load", EXAMPLE]);
    assert!(raise(dir, 0).0);
    let file = dir.join("turnbuckle.ledger");
    let good = fs::read(&file).unwrap();
    let shown = well(dir, &["show", "findings", "--json"]);
    let shown = shown.lines().next().unwrap().to_owned();
    let mut found = 0;
    for at in (0..good.len()).step_by(good.len() / 61) {
        let mut bytes = good.clone();
        bytes[at] ^= 0x10;
        fs::write(&file, bytes).unwrap();
        let output = run(dir, &["show", "findings", "--json"]);
        let words = said(&output);
        if output.status.success() {
            assert_eq!(words.lines().next(), Some(shown.as_str()), "byte {at}");
        }
        let verdict = run(dir, &["verify"]);
        let words = said(&verdict);
        assert_eq!(
            verdict.status.success(),
            words.contains("\nsound") || words.starts_with("sound")
        );
        found += usize::from(!verdict.status.success());
    }
    assert!(found > 30, "{found} of 61 changed bytes were found");
}
