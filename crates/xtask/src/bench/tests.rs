//! The whole harness over a folder of small instances and a stand-in for the solver.

use super::*;

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
    assert!(read(&["--data", "d", "--command", "c", "--limit", "soon"]).is_err());
    assert!(read(&["--data", "d", "--command", " "]).is_err());
    assert!(read(&["--data", "d", "--command", "c", "--sample", "no/such"]).is_err());
    let request = read(&["--data", "d", "--command", "a b", "--limit=500ms"]).unwrap();
    assert_eq!(request.call.command, ["a", "b"]);
    assert_eq!(request.call.duration, Duration::from_millis(500));
    assert_eq!((request.call.threads, request.call.seed), (2, 1));
}

#[test]
fn times() {
    for (text, milliseconds) in [("1s", 1000), ("2m", 120_000), ("1.5", 1500), ("7ms", 7)]
    {
        assert_eq!(time(text).unwrap(), Duration::from_millis(milliseconds), "{text}");
    }
    for text in ["", "s", "-1s", "1h", "0s", "inf", "1e99s", "nan"] {
        assert!(time(text).is_err(), "{text}");
    }
}
