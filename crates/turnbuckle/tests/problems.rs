//! Scheduling problems on the command line: drawn, solved, judged, and stopped half-way.

use std::fs;
use std::path::Path;
use std::process::{Command, Output};

use serde_json::{Value, json};
use tempfile::TempDir;

fn command(dir: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).args(arguments);
    command
}

fn run(dir: &Path, arguments: &[&str]) -> Output {
    command(dir, arguments).output().expect("the program starts")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn object(output: &Output) -> Value {
    let (said, wrong) = (text(&output.stdout), text(&output.stderr));
    serde_json::from_str(&said).unwrap_or_else(|_| panic!("{said}\n{wrong}"))
}

/// Draws a problem into a file.
fn draw(dir: &Path, file: &str, size: &str, seed: &str) {
    let output = run(dir, &["problem", "draw", "--size", size, "--seed", seed]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    fs::write(dir.join(file), output.stdout).expect("the folder can be written");
}

/// A problem of two tasks that share one pair of hands.
const TWO: &str = r#"{
  "format": 1,
  "horizon": 20,
  "resources": [{"name": "hands", "capacity": 1}],
  "tasks": [
    {"name": "strip", "modes": [{"work": 3, "uses": [{"resource": "hands"}]}]},
    {"name": "paint", "due": {"at": 5, "weight": 2},
     "modes": [{"work": 4, "cost": 6, "uses": [{"resource": "hands"}]}]}
  ],
  "links": [{"from": {"finish": "strip"}, "to": {"start": "paint"}, "least": 1}]
}"#;

#[test]
fn a_drawn_problem_is_solved_and_judged() {
    let dir = TempDir::new().unwrap();
    draw(dir.path(), "p.json", "small", "1");
    let output = run(dir.path(), &["solve", "p.json", "--for", "60s", "--json"]);
    let answer = object(&output);
    assert!(output.status.success(), "{answer}");
    assert_eq!(answer["status"], "optimal");
    assert!(answer["first"].as_f64().is_some_and(|first| first >= 0.0), "{answer}");
    assert!(answer["steps"].is_u64(), "{answer}");
    fs::write(dir.path().join("a.json"), answer.to_string()).unwrap();
    let output = run(dir.path(), &["problem", "judge", "p.json", "a.json", "--json"]);
    let judgement = object(&output);
    assert!(output.status.success(), "{judgement}");
    assert_eq!(judgement["lawful"], true);
    assert_eq!(judgement["measures"], answer["measures"]);
}

#[test]
fn all_three_levels_are_told() {
    let dir = TempDir::new().unwrap();
    fs::write(dir.path().join("two.json"), TWO).unwrap();
    // strip 0 to 3, paint 4 to 8: three ticks late at weight 2, cost 6, length 8.
    let said = text(&run(dir.path(), &["solve", "two.json"]).stdout);
    for part in
        ["optimal", "tardiness 6, none", "cost 6 and", "makespan 8", "4 to 8  paint"]
    {
        assert!(said.contains(part), "{part} is missing:\n{said}");
    }
    let answer = object(&run(dir.path(), &["solve", "two.json", "--json"]));
    assert_eq!(
        answer["assignments"],
        json!([
            {"task": "strip", "mode": 0, "start": 0, "finish": 3},
            {"task": "paint", "mode": 0, "start": 4, "finish": 8},
        ])
    );
    let measures = json!({"tardiness": 6, "cost": 6, "drift": 0, "length": 8});
    assert_eq!(answer["measures"], measures);
    assert_eq!(answer["bounds"], json!({"tardiness": 6, "cost": 6, "length": 8}));
}

#[test]
fn a_schedule_that_breaks_a_rule_is_told_which() {
    let dir = TempDir::new().unwrap();
    fs::write(dir.path().join("two.json"), TWO).unwrap();
    let early = json!({"assignments": [
        {"mode": 0, "start": 0, "finish": 3}, {"mode": 0, "start": 3, "finish": 7},
    ]});
    fs::write(dir.path().join("a.json"), early.to_string()).unwrap();
    let output = run(dir.path(), &["problem", "judge", "two.json", "a.json"]);
    let said = text(&output.stdout);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(said.contains("NOT lawful") && said.contains("at least 1"), "{said}");
    fs::write(dir.path().join("a.json"), "{\"assignments\": [{\"mode\": 0}]}").unwrap();
    let output = run(dir.path(), &["problem", "judge", "two.json", "a.json"]);
    let wrong = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{wrong}");
    assert!(wrong.contains("assignments[0].start"), "{wrong}");
}

#[test]
fn what_cannot_be_is_said_with_the_rules() {
    let dir = TempDir::new().unwrap();
    let late = TWO.replace("\"due\": {\"at\": 5, \"weight\": 2}", "\"deadline\": 7");
    fs::write(dir.path().join("two.json"), late).unwrap();
    let output = run(dir.path(), &["solve", "two.json"]);
    let said = text(&output.stdout);
    assert_eq!(output.status.code(), Some(1), "{said}");
    assert!(
        said.contains("infeasible") && said.contains("`paint` finishes by"),
        "{said}"
    );
    let answer = object(&run(dir.path(), &["solve", "two.json", "--json"]));
    assert_eq!(answer["first"], Value::Null);
    assert!(answer["conflict"].as_array().is_some_and(|rules| rules.len() > 1));
}

#[test]
fn a_document_with_mistakes_is_refused_with_all_of_them() {
    let dir = TempDir::new().unwrap();
    let broken =
        TWO.replace("\"work\": 3", "\"work\": -3").replace("\"hands\"}", "\"hand\"}");
    fs::write(dir.path().join("two.json"), broken).unwrap();
    let output = run(dir.path(), &["solve", "two.json"]);
    let wrong = text(&output.stderr);
    assert_eq!(output.status.code(), Some(1), "{wrong}");
    for part in ["two.json, line 6, tasks[0].modes[0].work", "`-3`", "line 8", "`hands`"]
    {
        assert!(wrong.contains(part), "{part} is missing:\n{wrong}");
    }
}

#[test]
fn the_same_steps_and_seed_give_the_same_answer_on_any_threads() {
    let dir = TempDir::new().unwrap();
    draw(dir.path(), "p.json", "60", "3");
    let answer = |threads: &str| {
        let arguments = [
            "solve",
            "p.json",
            "--steps",
            "400",
            "--for",
            "10m",
            "--seed",
            "5",
            "--json",
            "--threads",
            threads,
        ];
        let mut answer = object(&run(dir.path(), &arguments));
        // Time is not repeatable.
        for clock in ["seconds", "first"] {
            answer[clock] = Value::Null;
        }
        answer
    };
    assert_eq!(answer("1"), answer("2"));
}

#[test]
fn a_season_is_a_problem_like_any_other() {
    let dir = TempDir::new().unwrap();
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");
    let season = |more: &[&str]| {
        run(dir.path(), &[&["problem", "season", "--folder", folder], more].concat())
    };
    let output = season(&[]);
    assert!(output.status.success(), "{}", text(&output.stderr));
    fs::write(dir.path().join("p.json"), &output.stdout).unwrap();
    let output = run(dir.path(), &["solve", "p.json", "--steps", "20", "--json"]);
    let answer = object(&output);
    fs::write(dir.path().join("a.json"), answer.to_string()).unwrap();
    let output = run(dir.path(), &["problem", "judge", "p.json", "a.json", "--json"]);
    assert_eq!(object(&output)["lawful"], true);

    let output = season(&["--season", "no such season"]);
    assert!(!output.status.success() && output.stdout.is_empty());
    let wrong = text(&output.stderr);
    assert!(wrong.contains("no such season") && wrong.contains("there are"), "{wrong}");
}

#[test]
fn sizes_that_cannot_be_drawn_are_refused() {
    let dir = TempDir::new().unwrap();
    for size in ["0", "20001", "huge", "-3"] {
        let size = format!("--size={size}");
        let output = run(dir.path(), &["problem", "draw", &size]);
        let wrong = text(&output.stderr);
        assert!(!output.status.success(), "{size}");
        assert!(wrong.contains("small, large, or a number"), "{wrong}");
    }
}

#[cfg(unix)]
mod stopping {
    use std::io::Read;
    use std::process::{Child, Stdio};
    use std::thread::sleep;
    use std::time::Duration;

    use super::*;

    /// A search that would go on for long, and has a schedule by now.
    fn start(dir: &Path) -> Child {
        draw(dir, "p.json", "600", "2");
        let child = command(dir, &["solve", "p.json", "--for", "1h", "--json"])
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program starts");
        sleep(Duration::from_secs(3));
        child
    }

    fn send(signal: &str, child: &Child) {
        let id = child.id().to_string();
        let status = Command::new("kill").args([signal, &id]).status();
        assert!(status.is_ok_and(|status| status.success()));
    }

    #[test]
    fn a_reader_that_leaves_early_is_no_fault() {
        let dir = TempDir::new().unwrap();
        let mut child = command(dir.path(), &["problem", "draw", "--size", "1000"])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        drop(child.stdout.take());
        let said = child.wait_with_output().unwrap();
        assert_eq!((said.status.code(), text(&said.stderr)), (Some(141), String::new()));
    }

    #[test]
    fn a_search_that_is_stopped_prints_what_it_has() {
        for signal in ["-INT", "-TERM"] {
            let dir = TempDir::new().unwrap();
            let mut child = start(dir.path());
            send(signal, &child);
            let status = child.wait().unwrap();
            let mut said = String::new();
            child.stdout.take().unwrap().read_to_string(&mut said).unwrap();
            assert!(status.success(), "{signal}: {status} {said}");
            let answer: Value = serde_json::from_str(&said).unwrap();
            assert_eq!(answer["status"], "feasible");
            assert_eq!(answer["stopped"], "it was cancelled");
            fs::write(dir.path().join("a.json"), said).unwrap();
            let judged = run(dir.path(), &["problem", "judge", "p.json", "a.json"]);
            assert!(judged.status.success(), "{}", text(&judged.stdout));
        }
    }
}
