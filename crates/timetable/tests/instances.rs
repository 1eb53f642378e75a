//! Reading the public formats: real instances, bad files, and files damaged at random.

use proptest::prelude::*;
use timetable::instance::{Dummies, Format, Instance, InstanceError, parse};
use timetable::{Assignment, End, Link, ModeId, Schedule};

const J301: &str = include_str!("data/j301_1.sm");
const M11: &str = include_str!("data/m11_1.mm");
const JALL: &str = include_str!("data/Jall1_1.mm");
const UBO: &str = include_str!("data/UBO10_01.sch");
const RG300: &str = include_str!("data/RG300_1.rcp");

const BOTH: Dummies = Dummies { opening: true, closing: true };

/// Two modes, renewable resources only, in PSPLIB's layout.
const TWO_MODES: &str = "\
jobs (incl. supersource/sink ):  4
RESOURCES
  - renewable                 :  1   R
  - nonrenewable              :  1   N
  - doubly constrained        :  0   D
************
PRECEDENCE RELATIONS:
jobnr.    #modes  #successors   successors
   1        1          2           2   3
   2        2          1           4
   3        1          1           4
   4        1          0
************
REQUESTS/DURATIONS:
jobnr. mode duration  R 1  N 1
------------------------------
  1      1     0       0    0
  2      1     2       3    5
         2     4       1    1
  3      1     3       2    4
  4      1     0       0    0
************
RESOURCEAVAILABILITIES:
  R 1  N 1
    4    9
";

/// Two activities with a window each, a lag shorter than the work, and a tail.
const WINDOWS: &str = "\
2 1 0 0
0 1 2 1 2 [3] [0]
1 1 2 2 3 [1] [2]
2 1 2 0 1 [-9] [-4]
3 1 0
0 1 0 0
1 1 2 1
2 1 5 1
3 1 0 0
1
";

fn sums(instance: &Instance) -> (usize, usize, usize, i32) {
    let problem = &instance.problem;
    let (tasks, links) = (problem.tasks(), problem.links());
    let work = tasks.iter().map(|task| task.modes[0].work).sum();
    (tasks.len(), problem.resources().len(), links.len(), work)
}

fn capacities(instance: &Instance) -> Vec<u32> {
    instance.problem.resources().iter().map(|resource| resource.capacity.at(0)).collect()
}

#[test]
fn psplib_single_mode() {
    let instance = parse("j301_1.sm", J301).unwrap();
    // The file's own header: 30 jobs between the dummies, 4 resources, horizon 158, which
    // is the sum of the durations. 48 successors in its table, 3 of job 1 and 3 of job 32.
    assert_eq!(sums(&instance), (30, 4, 42, 158));
    assert_eq!(instance.problem.horizon(), 158);
    assert_eq!(capacities(&instance), [12, 13, 4, 12]);
    assert_eq!(instance.dummies, BOTH);
    assert_eq!(instance.activities(), 32);
    assert_eq!(instance.problem.tasks()[0].name, "job 2");
}

#[test]
fn psplib_modes() {
    let instance = parse("m11_1.mm", M11).unwrap();
    assert_eq!(sums(&instance).0, 16);
    assert_eq!(instance.problem.horizon(), 71, "the sum of the durations in the file");
    assert_eq!(capacities(&instance), [12, 9]);

    let instance = parse("mm", TWO_MODES).unwrap();
    let modes = &instance.problem.tasks()[0].modes;
    let read: Vec<_> =
        modes.iter().map(|m| (m.name.as_str(), m.work, m.demands[0].amount)).collect();
    assert_eq!(read, [("mode 1", 2, 3), ("mode 2", 4, 1)]);
    assert_eq!(instance.problem.horizon(), 7);
}

#[test]
fn nonrenewable_resources_are_stocks() {
    // By the file: its availabilities are 33, 33, 247 and 248; job 2 takes 2 and 8 units in
    // its first mode, 2 and 6 in the others.
    let instance = parse("Jall1_1.mm", JALL).unwrap();
    let stocks = instance.problem.stocks().iter();
    let stocks: Vec<_> = stocks.map(|s| (s.name.as_str(), s.available)).collect();
    assert_eq!(stocks, [("N 1", 247), ("N 2", 248)]);
    assert_eq!(instance.problem.resources().len(), 2);
    let modes = instance.problem.tasks()[0].modes.iter();
    let takes: Vec<Vec<(u32, i64)>> = modes
        .map(|mode| mode.takes.iter().map(|take| (take.stock.0, take.amount)).collect())
        .collect();
    let both = |first, second| vec![(0, first), (1, second)];
    assert_eq!(takes, [both(2, 8), both(2, 6), both(2, 6)]);
    let instance = parse("mm", TWO_MODES).unwrap();
    assert_eq!(instance.problem.stocks()[0].available, 9);
    assert_eq!(instance.problem.tasks()[1].modes[0].takes[0].amount, 4);
}

#[test]
fn doubly_constrained_resources_are_a_resource_and_a_stock() {
    // The same figures as a use in each period and 16 periods' worth in all.
    let doubly = TWO_MODES
        .replace("nonrenewable              :  1", "nonrenewable              :  0")
        .replace("constrained        :  0", "constrained        :  1")
        .replace("N 1", "D 1")
        .replace("    4    9", "    4    6   16");
    let problem = parse("mm", &doubly).unwrap().problem;
    assert_eq!(problem.resources()[1].capacity.at(0), 6);
    assert_eq!(problem.stocks()[0].name, "D 1");
    assert_eq!(problem.stocks()[0].available, 16);
    let modes = &problem.tasks()[0].modes;
    let both: Vec<_> =
        modes.iter().map(|m| (m.demands[1].amount, m.takes[0].amount)).collect();
    assert_eq!(both, [(5, 2 * 5), (1, 4)]);
    let errors = parse("mm", &doubly.replace("6   16", "6")).unwrap_err();
    assert!(errors[0].expected.contains("two for each doubly"), "{errors:?}");
}

#[test]
fn progen_max() {
    let instance = parse("UBO10_01.sch", UBO).unwrap();
    let (tasks, resources, _, work) = sums(&instance);
    assert_eq!((tasks, resources, work), (10, 5, 66));
    assert_eq!(instance.dummies, BOTH);
    assert_eq!(instance.activities(), 12);
    let links = instance.problem.links();
    assert!(
        links
            .iter()
            .all(|link| { link.from.end == End::Start && link.to.end == End::Start })
    );
    // Row 5 of the file: `5 1 2 11 6 [9] [-5]`: 5 starts at most 5 after 6 has.
    let back = links.iter().find(|link| link.greatest == Some(5)).unwrap();
    let name = |link: &Link, to: bool| {
        let event = if to { link.to } else { link.from };
        instance.problem.task(event.task).name.clone()
    };
    assert_eq!(
        (name(back, false), name(back, true)),
        ("activity 6".into(), "activity 5".into())
    );
}

#[test]
fn lags_of_the_dummies_become_windows_or_keep_them() {
    let instance = parse("sch", WINDOWS).unwrap();
    assert_eq!(instance.dummies, BOTH);
    let tasks = instance.problem.tasks();
    assert_eq!((tasks[0].release, tasks[0].deadline), (3, None));
    // It starts at tick 9 at the latest, and takes 5.
    assert_eq!((tasks[1].release, tasks[1].deadline), (0, Some(14)));
    // 3 from the opening one, 2, and 5.
    assert_eq!(instance.problem.horizon(), 10);

    let tail = parse("sch", &WINDOWS.replace("3 [1] [2]", "3 [1] [8]")).unwrap();
    assert_eq!(tail.dummies, Dummies { opening: true, closing: false });
    assert_eq!(tail.activities(), 4);
    assert_eq!(tail.problem.horizon(), 16);
    let closing = |link: &&Link| link.to.task.at() == 2 && link.from.end == End::Finish;
    assert_eq!(tail.problem.links().iter().filter(closing).count(), 2);
}

#[test]
fn patterson_lines_wrap() {
    let instance = parse("RG300_1.rcp", RG300).unwrap();
    let (tasks, resources, ..) = sums(&instance);
    assert_eq!((tasks, resources), (300, 4));
    assert_eq!(capacities(&instance), [10, 10, 10, 10]);
    let one_line = RG300.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(parse("x.rcp", &one_line).unwrap(), instance);
}

#[test]
fn starts_come_back_in_file_order() {
    let instance = parse("x.sch", WINDOWS).unwrap();
    let at = |start, finish| Assignment { mode: ModeId(0), start, finish };
    let schedule = Schedule { assignments: vec![at(3, 5), at(5, 10)] };
    assert_eq!(instance.starts(&schedule), [0, 3, 5, 10]);
}

#[test]
fn the_text_says_the_format_where_the_name_does_not() {
    for (text, name, format) in [
        (J301, "a.sm", Format::Psplib),
        (JALL, "A.MM", Format::Psplib),
        (UBO, "psp1.SCH", Format::ProgenMax),
        (RG300, "rcp", Format::Patterson),
    ] {
        assert_eq!(Format::of_text(text), Some(format));
        assert_eq!(Format::of_name(name), Some(format));
    }
    let marked = format!("\u{feff}{}", UBO.replace('\n', "\r\n"));
    assert_eq!(parse("download", &marked), parse("sch", UBO));
    assert_eq!(parse("notes.txt", "hello").unwrap_err()[0].field, "format");
}

/// What is said of a text, one line each.
fn said(name: &str, text: &str) -> Vec<String> {
    let errors = parse(name, text).err().unwrap_or_default();
    errors.iter().map(InstanceError::to_string).collect()
}

#[test]
fn every_fault_of_a_psplib_file_is_listed() {
    let text = TWO_MODES
        .replace(
            "   1        1          2           2   3",
            "   1        1          2           2   9",
        )
        .replace(
            "   3        1          1           4",
            "   3        2          2           4",
        )
        .replace(
            "  3      1     3       2    4",
            "  3      1     x       2    99999999999999999999",
        );
    assert_eq!(
        said("a.mm", &text),
        [
            "line 9, successor 2 of job 1: 9 is out of range; expected a whole number from 1 to 4",
            "line 11, number of successors of job 3: 2 is out of range; expected a whole number from 0 to 1",
            "line 20, duration of job 3 in mode 1: `x` is not a whole number; expected a whole number from 0 to 100000000",
            "line 20, demand of job 3 in mode 1 for N 1: 99999999999999999999 is far too large; expected a whole number from 0 to 100000000",
            "line 11, number of modes of job 3: it says 2, and 1 can be read; expected as many as there are rows of requests and durations",
        ]
    );
}

#[test]
fn counts_greater_than_the_file_are_refused() {
    for (name, text) in [
        ("rcp", RG300.replacen("302", "4000000000", 1)),
        ("rcp", RG300.replacen("302     4", "302     4000000000", 1)),
        ("sch", UBO.replacen("10\t5", "4000000000\t5", 1)),
        ("sch", UBO.replacen("10\t5", "10\t4000000000", 1)),
        ("sm", J301.replacen("):  32", "):  4000000000", 1)),
        ("sm", J301.replacen(":  4   R", ":  4000000000   R", 1)),
    ] {
        let errors = said(name, &text);
        assert!(errors[0].contains("more than the file can hold"), "{errors:?}");
    }
}

#[test]
fn faults_of_rows_and_ends() {
    for (name, text, expected) in [
        (
            "rcp",
            "2 1 4 3 1 1 2 3 1",
            "number of successors of activity 2: the file ends here",
        ),
        (
            "rcp",
            "2 1 4 3 1 1 1 3 1 0",
            "successor 1 of activity 1: activity 1 follows itself",
        ),
        ("rcp", "1 1 4 3 1 0 7 7", "2 more words follow"),
        ("rcp", "", "number of activities: the file ends here"),
        ("rcp", "1 0 -4 0", "-4 is out of range"),
        ("sch", "", "header: it has 0 numbers"),
        (
            "sch",
            &WINDOWS.replace("[-9]", "-9"),
            "lag 1 of activity 2: `-9` is not one number",
        ),
        (
            "sch",
            &WINDOWS.replace("[-9] [-4]", "[-9]"),
            "row of activity 2: it has 6 words",
        ),
        (
            "sch",
            &WINDOWS.replace("1 1 2 1\n", "1 2 2 1\n"),
            "mode of activity 1: 2 is out of range",
        ),
        (
            "sch",
            &WINDOWS.replace("2 1 0 0\n", "2 1 1 0\n"),
            "not renewable: 1 is out of range",
        ),
        ("sch", &WINDOWS.replace("\n1\n", "\n"), "there are 9 rows"),
        ("sm", "", "number of jobs: it is missing from the header"),
        (
            "sm",
            &TWO_MODES.replace("  4      1     0       0    0\n", ""),
            "job 4: it has no row in the requests",
        ),
        (
            "sm",
            &TWO_MODES.replace("   4        1          0\n", ""),
            "job 4: it has no row in the precedence",
        ),
        (
            "sm",
            &TWO_MODES.replace("constrained        :  0", "constrained        :  1"),
            "job, mode, duration and 3 demands",
        ),
        (
            "sm",
            &TWO_MODES.replace("    4    9", "    4"),
            "resource availabilities: there are 1",
        ),
    ] {
        let errors = said(name, text);
        assert!(errors.iter().any(|e| e.contains(expected)), "{expected}: {errors:#?}");
    }
}

#[test]
fn a_file_that_was_cut_off_says_once_what_is_missing() {
    let cut = TWO_MODES.find("REQUESTS").expect("a table of requests");
    let errors = said("sm", &TWO_MODES[..cut]);
    let rows = errors.iter().filter(|error| error.contains("no row in the requests"));
    let rows: Vec<&String> = rows.collect();
    assert_eq!(rows.len(), 1, "{errors:#?}");
    assert!(rows[0].contains("jobs 1 to 4: they have"), "{errors:#?}");
}

#[test]
fn sums_beyond_time_are_refused() {
    let text =
        WINDOWS.replace("1 1 2 1\n", "1 1 100000000 1\n").replace("[3]", "[100000000]");
    let text = text.replace("2 1 5 1", "2 1 100000000 1");
    assert!(said("sch", &text)[0].contains("together they may take 300000000"));
}

#[test]
fn very_many_faults_are_counted() {
    let text = format!("1000 1 4 {}", "x ".repeat(4000));
    // The first count that cannot be read ends it: nothing behind it has a place.
    assert!(said("rcp", &text).len() < 10);
    let rows = "9 1 0\n".repeat(2000);
    let errors = said("sch", &format!("999 0 0 0\n{rows}"));
    assert_eq!(errors.len(), 201);
    assert!(errors[200].contains("more faults are not listed"), "{}", errors[200]);
}

fn damaged() -> impl Strategy<Value = (&'static str, Vec<u8>)> {
    let files = prop_oneof![
        Just(("sm", J301)),
        Just(("mm", TWO_MODES)),
        Just(("sch", UBO)),
        Just(("sch", WINDOWS)),
        Just(("mm", M11)),
        Just(("rcp", "4 1 3 0 0 2 2 3 2 1 1 4 3 2 1 4 0 0 0")),
    ];
    let bytes = prop_oneof![
        3 => prop::sample::select(b"0123456789 -[]\n\tRx:*".to_vec()),
        1 => any::<u8>(),
    ];
    let edits =
        prop::collection::vec((any::<prop::sample::Index>(), 0..4_u8, bytes), 0..12);
    (files, edits, any::<prop::sample::Index>(), prop::bool::weighted(0.3)).prop_map(
        |((name, text), edits, end, cut)| {
            let mut bytes = text.as_bytes().to_vec();
            for (index, kind, byte) in edits {
                let at = index.index(bytes.len());
                match kind {
                    0 => bytes[at] = byte,
                    1 => bytes.insert(at, byte),
                    2 if bytes.len() > 1 => drop(bytes.remove(at)),
                    _ => bytes.splice(at..at, *b" 99999999999 ").for_each(drop),
                }
            }
            if cut {
                bytes.truncate(end.index(bytes.len()));
            }
            (name, bytes)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn damaged_files_give_an_instance_or_errors((name, bytes) in damaged()) {
        let text = String::from_utf8_lossy(&bytes);
        let lines = text.lines().count().max(1);
        for name in [name, "unknown"] {
            match parse(name, &text) {
                // Whatever is read is in the file: no more tasks than words.
                Ok(instance) => {
                    prop_assert!(instance.activities() <= text.split_whitespace().count());
                }
                Err(errors) => {
                    prop_assert!(!errors.is_empty());
                    prop_assert!(errors.len() <= 201);
                    prop_assert!(errors.iter().all(|e| (1..=lines).contains(&e.line)));
                }
            }
        }
    }

    #[test]
    fn any_text_is_survived(text in "\\PC{0,200}", name in "(sm|mm|sch|rcp|)") {
        let _ = parse(&name, &text);
    }
}
