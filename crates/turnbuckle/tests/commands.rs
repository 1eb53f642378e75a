//! The command line as its users meet it: real processes, real folders, real ledgers.

use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

fn turnbuckle(dir: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).args(arguments).output().expect("the program starts")
}

fn good(dir: &Path, arguments: &[&str]) -> String {
    let output = turnbuckle(dir, arguments);
    let (said, wrong) = (text(&output.stdout), text(&output.stderr));
    assert!(output.status.success(), "{arguments:?}\n{said}\n{wrong}");
    said
}

fn bad(dir: &Path, arguments: &[&str]) -> String {
    let output = turnbuckle(dir, arguments);
    let wrong = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{arguments:?}\n{wrong}");
    assert!(!wrong.contains("panicked"), "{wrong}");
    wrong
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn example() -> String {
    concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian").to_owned()
}

#[test]
fn a_new_folder_can_be_loaded_and_planned_at_once() {
    let dir = TempDir::new().unwrap();
    good(dir.path(), &["new", "boat"]);
    assert!(good(dir.path(), &["check", "boat"]).contains("in order"));
    good(dir.path(), &["load", "boat"]);
    let said = good(dir.path(), &["plan", "--steps", "200", "--for", "20s"]);
    assert!(said.contains("Complete"), "{said}");
    assert!(bad(dir.path(), &["new", "boat"]).contains("not empty"));
}

#[test]
fn loading_again_enters_only_what_differs() {
    let dir = TempDir::new().unwrap();
    good(dir.path(), &["new", "boat"]);
    good(dir.path(), &["load", "boat"]);
    assert!(good(dir.path(), &["load", "boat"]).contains("nothing differs"));
    let file = dir.path().join("boat/programme.toml");
    let changed =
        fs::read_to_string(&file).unwrap().replacen("name = \"", "name = \"New ", 1);
    fs::write(&file, changed).unwrap();
    let said = good(dir.path(), &["load", "boat"]);
    assert_eq!(said.lines().count(), 2, "{said}");
}

#[test]
fn export_gives_the_same_programme_back() {
    let dir = TempDir::new().unwrap();
    good(dir.path(), &["load", &example()]);
    good(dir.path(), &["export", "copy"]);
    assert!(good(dir.path(), &["load", "copy"]).contains("nothing differs"));
}

#[test]
fn the_example_is_planned_with_a_bound_and_reasons() {
    let dir = TempDir::new().unwrap();
    let said = good(dir.path(), &["demo", "--for", "3s", "--threads", "2", "--no-serve"]);
    for part in ["INVENTED", "Complete", "(proven)", "What comes off", "Load by skill"] {
        assert!(said.contains(part), "{part} is missing:\n{said}");
    }
    let plan =
        fs::read_to_string(dir.path().join("turnbuckle-demo/plan/plan.json")).unwrap();
    let plan: Value = serde_json::from_str(&plan).unwrap();
    let jobs = plan["jobs"].as_array().unwrap();
    assert!(jobs.len() > 500, "{} jobs", jobs.len());
    assert!(
        jobs.iter().all(|job| job["why"].as_str().is_some_and(|why| !why.is_empty()))
    );
    for file in ["plan.html", "jobs.csv", "jobs.xlsx", "chart-by-pack.svg"] {
        assert!(dir.path().join("turnbuckle-demo/plan").join(file).exists(), "{file}");
    }
    good(dir.path(), &["verify", "--ledger", "turnbuckle-demo/turnbuckle.ledger"]);
    // Again, over what is there.
    good(dir.path(), &["demo", "--for", "1s", "--no-serve"]);
}

#[test]
fn the_same_seed_and_steps_give_the_same_plan_on_any_threads() {
    let dir = TempDir::new().unwrap();
    let plan = |threads: &str| {
        let folder = example();
        let said = good(
            dir.path(),
            &[
                "plan",
                "--folder",
                &folder,
                "--json",
                "--steps",
                "300",
                "--for",
                "10m",
                "--threads",
                threads,
                "--seed",
                "7",
            ],
        );
        serde_json::from_str::<Value>(&said).unwrap()
    };
    assert_eq!(plan("1"), plan("2"));
}

#[test]
fn a_folder_with_mistakes_leaves_no_trace() {
    let dir = TempDir::new().unwrap();
    good(dir.path(), &["new", "boat"]);
    let file = dir.path().join("boat/items.csv");
    let broken = format!("{}\nX1,,,,\nX1,,,,\n", fs::read_to_string(&file).unwrap());
    fs::write(&file, broken).unwrap();
    let wrong = bad(dir.path(), &["load", "boat"]);
    assert!(wrong.contains("items.csv:"), "{wrong}");
    assert!(!dir.path().join("turnbuckle.ledger").exists());
}

#[test]
fn what_is_not_there_is_named() {
    let dir = TempDir::new().unwrap();
    for arguments in [
        &["check", "nowhere"][..],
        &["load", "nowhere"],
        &["plan"],
        &["verify"],
        &["export", "out"],
        &["solve", "nothing.sm"],
        &["plan", "--folder", "nowhere"],
    ] {
        let wrong = bad(dir.path(), arguments);
        assert!(wrong.starts_with("error: "), "{arguments:?}: {wrong}");
    }
    let folder = example();
    let wrong = bad(dir.path(), &["plan", "--folder", &folder, "--season", "S9"]);
    assert!(wrong.contains("S9") && wrong.contains("S1"), "{wrong}");
    let wrong = bad(dir.path(), &["open", "NO-SUCH", "--folder", &folder]);
    assert!(wrong.contains("NO-SUCH"), "{wrong}");
}

#[test]
fn a_published_instance_is_solved_to_its_optimum() {
    // j301_1 of PSPLIB, as the psplib package (MIT) ships it; its optimum is 43.
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/../timetable/tests/data/j301_1.sm");
    let dir = TempDir::new().unwrap();
    let said = good(dir.path(), &["solve", file, "--for", "20s", "--json"]);
    let answer: Value = serde_json::from_str(&said).unwrap();
    assert_eq!(answer["makespan"], 43);
    assert_eq!(answer["starts"].as_array().unwrap().len(), 32);
    assert!(answer["bound"].as_i64().unwrap() <= 43);
}

#[test]
fn a_malformed_instance_says_where_and_why() {
    let dir = TempDir::new().unwrap();
    let source =
        concat!(env!("CARGO_MANIFEST_DIR"), "/../timetable/tests/data/j301_1.sm");
    let broken = fs::read_to_string(source)
        .unwrap()
        .replace("   4        1          3", "   4        1          x");
    fs::write(dir.path().join("broken.sm"), broken).unwrap();
    let wrong = bad(dir.path(), &["solve", "broken.sm"]);
    assert!(wrong.contains("broken.sm") && wrong.contains('x'), "{wrong}");
}

#[test]
fn one_changed_byte_of_history_is_found() {
    let dir = TempDir::new().unwrap();
    good(dir.path(), &["load", &example(), "--by", "A. Wright"]);
    let ledger = dir.path().join("turnbuckle.ledger");
    // A copy: whatever is still in the log of the original does not matter to it.
    good(dir.path(), &["verify"]);
    let mut bytes = fs::read(&ledger).unwrap();
    let at = bytes.windows(9).rposition(|window| window == b"A. Wright").unwrap();
    bytes[at] = b'B';
    fs::write(&ledger, bytes).unwrap();
    let output = turnbuckle(dir.path(), &["verify"]);
    assert_eq!(output.status.code(), Some(1));
    let said = text(&output.stdout);
    assert!(said.contains("entry") && said.contains("NOT sound"), "{said}");
}

#[test]
fn a_killed_load_leaves_all_or_nothing() {
    let dir = TempDir::new().unwrap();
    let whole = {
        good(dir.path(), &["load", &example(), "--ledger", "whole"]);
        entries(&good(dir.path(), &["verify", "--ledger", "whole"]))
    };
    for round in 0..12_u64 {
        let ledger = format!("ledger-{round}");
        let folder = example();
        let mut child = Command::new(env!("CARGO_BIN_EXE_turnbuckle"))
            .current_dir(dir.path())
            .args(["load", &folder, "--ledger", &ledger])
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        std::thread::sleep(std::time::Duration::from_millis(round * 12));
        // It may have ended by itself: then all of it is there.
        let _ = child.kill();
        child.wait().unwrap();
        if !dir.path().join(&ledger).exists() {
            continue;
        }
        let held = entries(&good(dir.path(), &["verify", "--ledger", &ledger]));
        assert!(held == 0 || held == whole, "round {round}: {held} of {whole}");
    }
}

fn entries(said: &str) -> u64 {
    let number = said.split("sound: ").nth(1).and_then(|rest| rest.split(' ').next());
    number.and_then(|number| number.parse().ok()).unwrap_or_else(|| panic!("{said}"))
}
