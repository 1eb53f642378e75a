//! The whole harness over a folder of small instances and a stand-in for the solver.

use std::fs;
use std::time::Duration;

use anyhow::Result;

use super::published::{read, run};
use super::settings::Clock;

/// Two activities of 3 and 5 that can't overlap: the shortest schedule has length 8.
const INSTANCE: &str = "4 1\n2\n0 0 2 2 3\n3 2 1 4\n5 1 1 4\n0 0 0\n";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let write =
        |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    write("best_known.csv", "instance,lower,upper,source\nx1,8,8,by hand\n");
    write("cpm.csv", "instance,cpm\nx1,5\n");
    write("x1.rcp", INSTANCE);
    folder
}

/// Runs the harness with a program that prints this; returns the outcome and the JSON line.
fn outcome(printed: &str) -> (Result<()>, serde_json::Value) {
    let folder = folder();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    fs::write(path("fake.sh"), format!("echo '{printed}'\n")).unwrap();
    let (data, out) = (path("."), path("out.jsonl"));
    let command = format!("sh {}", path("fake.sh"));
    let words = ["--data", &data, "--command", &command, "--out", &out];
    let result = run(&words);
    let lines = fs::read_to_string(out).unwrap();
    (result, serde_json::from_str(lines.trim()).unwrap())
}

#[test]
fn a_true_answer_passes() {
    let (result, line) = outcome(
        "{\"status\":\"optimal\",\"makespan\":8,\"bound\":8,\"starts\":[0,0,3,8],\
         \"seconds\":0.1}",
    );
    result.unwrap();
    assert_eq!(line["instance"], "x1");
    assert_eq!(line["makespan"], 8);
    assert_eq!(line["critical_path"], 5);
    assert_eq!(line["faults"], serde_json::json!([]));
}

#[test]
fn an_unlawful_schedule_fails() {
    let (result, line) = outcome(
        "{\"status\":\"feasible\",\"makespan\":8,\"bound\":5,\"starts\":[0,0,2,8],\
         \"seconds\":0.1}",
    );
    assert!(result.unwrap_err().to_string().contains("1 faults"));
    assert!(line["faults"][0].as_str().unwrap().contains("resource 1"), "{line}");
}

#[test]
fn an_answer_that_cannot_be_read_fails() {
    let (result, line) = outcome("no idea");
    assert!(result.is_err());
    assert_eq!(line["status"], serde_json::Value::Null);
}

#[test]
fn options_are_checked() {
    assert!(read(&["--set", "x"]).is_err());
    let refused = |more: &[&str]| {
        let words = [&["--data", "d", "--command", "c"], more].concat();
        read(&words).map(|_| ()).unwrap_err().to_string()
    };
    assert!(refused(&["--limit", "soon"]).contains("soon"));
    assert!(refused(&["--clock", "sand"]).contains("sand"));
    assert!(refused(&["--every", "0"]).contains("--every"));
    assert!(refused(&["--threads", "0"]).contains("--threads"));
    assert!(refused(&["--seed", "one"]).contains("one"));
    assert!(refused(&["--resume"]).contains("--out"));
    assert!(read(&["--data", "d", "--command", " "]).is_err());
    let words = ["--data", "d", "--command", "a b", "--limit=500ms,2s", "--seed", "1,3"];
    let request = read(&words).unwrap();
    assert_eq!(request.session.command.unwrap(), ["a", "b"]);
    let settings: Vec<(Duration, u64)> =
        request.settings.iter().map(|s| (s.limit, s.seed)).collect();
    let (short, long) = (Duration::from_millis(500), Duration::from_secs(2));
    assert_eq!(settings, [(short, 1), (short, 3), (long, 1), (long, 3)]);
    assert!(request.settings.iter().all(|s| (s.threads, s.clock) == (2, Clock::Wall)));
}

#[test]
fn a_sample_that_is_not_there_is_named() {
    let folder = folder();
    let data = folder.path().to_string_lossy().into_owned();
    let words = ["--data", &data, "--command", "true", "--sample", "no/such"];
    assert!(run(&words).unwrap_err().to_string().contains("no/such"));
}

#[test]
fn every_third_from_the_second() {
    let thinned = |from, every| {
        let mut cases: Vec<u64> = (0..8).collect();
        super::published::thin(&mut cases, from, every);
        cases
    };
    assert_eq!(thinned(1, 3), [1, 4, 7]);
    assert_eq!(thinned(0, 1).len(), 8);
    assert!(thinned(9, 1).is_empty());
}

#[test]
fn solvers_take_turns() {
    let solver = |name: &str| super::call::Solver {
        name: name.to_owned(),
        version: String::new(),
        command: Vec::new(),
        counts: false,
    };
    let solvers = [solver("x"), solver("y")];
    let mut turns = super::session::Turns::default();
    let mut order = || turns.next(&solvers).map(|s| s.name.as_str()).collect::<String>();
    assert_eq!([order(), order(), order()], ["xy", "yx", "xy"]);
}

#[test]
fn what_was_run_is_not_run_again() {
    let folder = folder();
    let path = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    let answer = "{\"status\":\"optimal\",\"makespan\":8,\"bound\":8,\
                  \"starts\":[0,0,3,8],\"seconds\":0.1}";
    let script = format!("echo x >> {}\necho '{answer}'\n", path("calls"));
    fs::write(path("fake.sh"), script).unwrap();
    let (data, out) = (path("."), path("out.jsonl"));
    let command = format!("sh {}", path("fake.sh"));
    let calls = |more: &[&str]| {
        let words = ["--data", &data, "--command", &command, "--out", &out];
        let result = run(&[&words, more].concat());
        let calls = fs::read_to_string(path("calls")).unwrap_or_default();
        (result.is_ok(), calls.lines().count())
    };
    assert_eq!(calls(&["--seed", "1,2"]), (true, 2));
    // A file of results is not overwritten.
    assert_eq!(calls(&["--seed", "1,2"]), (false, 2));
    assert_eq!(calls(&["--seed", "1,2,3", "--resume"]), (true, 3));
    assert_eq!(calls(&["--seed", "3", "--limit", "2s", "--resume"]), (true, 4));
    run(&["--report", &out, "--markdown"]).unwrap();
}
