//! What the reader takes, and what it says of what it doesn't take.

use proptest::prelude::*;

use super::*;
use crate::{Recipe, generate, write};

/// A document by hand, with every kind of field.
const WEEK: &str = r#"{
  "format": 1,
  "note": "an invented week",
  "horizon": 400,
  "calendars": [{"name": "day shift", "windows": [[32, 48], [50, 66], [128, 144]]}],
  "resources": [
    {"name": "fitters", "capacity": [[0, 2], [96, 3]]},
    {"name": "cradle", "capacity": 1}
  ],
  "tasks": [
    {
      "name": "wing off",
      "modes": [
        {"name": "two", "work": 8, "pace": "pausing", "calendar": "day shift",
         "uses": [{"resource": "fitters", "amount": 2, "during": "working"}]},
        {"name": "one", "work": 14, "pace": "whole", "calendar": 0, "cost": 5,
         "uses": [{"resource": "fitters"}]}
      ],
      "started": {"mode": "two", "start": 32, "resume": 36, "left": 4}
    },
    {"name": "cure", "modes": [{"work": 48}], "release": 40, "deadline": 300},
    {
      "name": "wing on", "modes": [{"work": 0}], "due": {"at": 150, "weight": 3},
      "published": {"start": 140}, "deadline": null
    }
  ],
  "links": [
    {"from": {"finish": "wing off"}, "to": {"start": "cure"}, "least": 0},
    {"from": {"start": 1}, "to": {"finish": 2}, "greatest": 90, "clock": "day shift"}
  ],
  "occupancies": [
    {"resource": "cradle", "from": {"finish": "wing off"}, "to": {"start": "wing on"}}
  ]
}"#;

#[test]
fn a_document_by_hand_says_what_it_says() {
    let problem = read("week.json", WEEK).unwrap();
    let task = &problem.tasks()[0];
    assert_eq!(task.modes[0].pace, Pace::Pausing(CalendarId(0)));
    assert_eq!(task.modes[0].demands, [Demand::working(ResourceId(0), 2)]);
    assert_eq!(task.modes[1].pace, Pace::Whole(CalendarId(0)));
    assert_eq!(task.modes[1].demands, [Demand::throughout(ResourceId(0), 1)]);
    assert_eq!(
        task.progress,
        Progress::Started { mode: ModeId(0), start: 32, resume: 36, left: 4 }
    );
    let last = &problem.tasks()[2];
    assert_eq!(last.due, Some(Due { at: 150, weight: 3 }));
    assert_eq!(last.published, Some(Published { start: 140, weight: 1 }));
    assert_eq!(last.deadline, None);
    assert_eq!(problem.resources()[0].capacity.at(96), 3);
    assert_eq!(problem.links()[0], Link::after(TaskId(0), TaskId(1)));
    assert_eq!(
        problem.links()[1],
        Link {
            from: Event::start(TaskId(1)),
            to: Event::finish(TaskId(2)),
            least: None,
            greatest: Some(90),
            clock: Clock::Working(CalendarId(0)),
        }
    );
    assert_eq!(
        problem.occupancies(),
        [Occupancy {
            resource: ResourceId(1),
            amount: 1,
            from: Event::finish(TaskId(0)),
            to: Event::start(TaskId(2)),
        }]
    );
    assert_eq!(read("again", &write(&problem)), Ok(problem));
}

/// What stands in the document, what is put in its place, and the mistake that follows: its
/// line and path, a part of what is wrong and a part of what to do.
type Mistake =
    (&'static str, &'static str, usize, &'static str, &'static str, &'static str);

const MISTAKES: &[Mistake] = &[
    ("\"format\": 1", "\"format\": 2", 2, "format", "`2`", "from 1 to 1"),
    ("\"horizon\": 400", "\"horizon\": -1", 4, "horizon", "`-1`", "from 0 to"),
    ("\"horizon\": 400", "\"horizon\": 4.5", 4, "horizon", "`4.5`", "whole"),
    ("\"horizon\": 400", "\"horizont\": 400", 4, "horizont", "no such", "`horizon`"),
    ("\"horizon\": 400,", "", 1, "the document", "`horizon` is missing", "tick"),
    ("[50, 66]", "[40, 66]", 5, "calendars[0].windows[1]", "before the one", "order"),
    ("[50, 66]", "[66, 50]", 5, "calendars[0].windows[1]", "ends at 50", "later"),
    ("[50, 66]", "[50]", 5, "calendars[0].windows[1]", "1 members", "the tick after"),
    ("[[0, 2], [96", "[[1, 2], [96", 7, "resources[0].capacity", "tick 0", "`[0, 2]`"),
    (
        "\"capacity\": 1",
        "\"capacity\": \"x\"",
        8,
        "resources[1].capacity",
        "not a list",
        "step",
    ),
    ("\"work\": 8", "\"work\": 401", 14, "tasks[0].modes[0]", "horizon", "holds"),
    (
        "\"work\": 8",
        "\"work\": 99999999999999999999",
        14,
        "tasks[0].modes[0].work",
        "range",
        "from 0",
    ),
    (
        "\"calendar\": \"day shift\",",
        "\"calendar\": \"day-shift\",",
        14,
        "tasks[0].modes[0].calendar",
        "`day-shift`",
        "`day shift`",
    ),
    (
        "\"calendar\": \"day shift\",",
        "",
        14,
        "tasks[0].modes[0]",
        "`calendar` is missing",
        "calendar",
    ),
    (
        "\"pace\": \"pausing\"",
        "\"pace\": \"paused\"",
        14,
        "tasks[0].modes[0].pace",
        "`paused`",
        "`pausing`",
    ),
    (
        "\"pace\": \"pausing\", ",
        "",
        14,
        "tasks[0].modes[0].calendar",
        "not said",
        "`pausing`",
    ),
    (
        "\"pace\": \"pausing\"",
        "\"pace\": \"elapsed\"",
        14,
        "tasks[0].modes[0].calendar",
        "no calendar",
        "leave it out",
    ),
    (
        "\"calendar\": 0",
        "\"calendar\": 1",
        16,
        "tasks[0].modes[1].calendar",
        "`1`",
        "from 0 to 0",
    ),
    (
        "\"amount\": 2",
        "\"amount\": 0",
        15,
        "tasks[0].modes[0].uses[0].amount",
        "`0`",
        "from 1",
    ),
    (
        "\"resource\": \"fitters\", ",
        "",
        15,
        "tasks[0].modes[0].uses[0]",
        "missing",
        "resource",
    ),
    (
        "\"mode\": \"two\"",
        "\"mode\": \"three\"",
        19,
        "tasks[0].started.mode",
        "no mode",
        "listed",
    ),
    ("\"resume\": 36", "\"resume\": 31", 11, "tasks[0]", "out of order", "holds"),
    (
        "\"name\": \"cure\"",
        "\"name\": \"wing on\"",
        28,
        "links[0].to.start",
        "`cure` is no task",
        "task",
    ),
    ("{\"start\": \"cure\"}", "{}", 28, "links[0].to", "neither", "finish"),
    ("{\"start\": \"cure\"}", "[]", 28, "links[0].to", "not an object", "start"),
    (", \"least\": 0", "", 28, "links[0]", "least lag or a greatest", "holds"),
    ("\"greatest\": 90", "\"greatest\": -1", 29, "links[1]", "negative", "holds"),
    ("\"tasks\": [", "\"tasks\": [], \"tasks\": [", 10, "tasks", "twice", "one out"),
];

#[test]
fn each_mistake_has_its_line_its_path_and_a_way_out() {
    for &(right, wrong, line, path, word, remedy) in MISTAKES {
        assert!(WEEK.contains(right), "{right}");
        let errors = read("week.json", &WEEK.replacen(right, wrong, 1)).unwrap_err();
        let found = errors.iter().any(|error| {
            error.line == line
                && error.path == path
                && error.what.contains(word)
                && error.remedy.contains(remedy)
        });
        assert!(found, "{wrong}: {errors:#?}");
    }
}

#[test]
fn all_mistakes_come_at_once_and_in_order() {
    let text = WEEK
        .replacen("\"work\": 8", "\"work\": true", 1)
        .replacen("\"capacity\": 1", "\"capacity\": -1", 1)
        .replacen("\"cradle\", \"from\"", "\"craddle\", \"from\"", 1);
    let errors = read("week.json", &text).unwrap_err();
    let lines: Vec<usize> = errors.iter().map(|error| error.line).collect();
    assert_eq!(lines, [8, 14, 32], "{errors:#?}");
    assert_eq!(
        errors[2].to_string(),
        "week.json, line 32, occupancies[0].resource: `craddle` is no resource; the \
         nearest is `cradle`"
    );
}

#[test]
fn text_that_is_no_document_is_refused_in_words() {
    for (text, word) in [
        ("", "not JSON"),
        ("{", "not JSON"),
        ("{\"format\": 1", "not JSON"),
        ("[]", "not an object"),
        ("7", "not an object"),
        ("{}", "missing"),
        ("{\"format\": 1, \"horizon\": 5, \"tasks\": null}", "`tasks` is missing"),
        ("{\"\\ud800\": 1}", "can't be read"),
    ] {
        let errors = read("x", text).unwrap_err();
        assert!(errors[0].what.contains(word), "{text}: {errors:?}");
    }
    let errors = read("x", &format!("[{}", "[".repeat(200_000))).unwrap_err();
    assert_eq!(errors.len(), 1);
}

#[test]
fn names_that_two_things_share_are_no_references() {
    let text = WEEK.replacen("\"wing on\", \"modes\"", "\"cure\", \"modes\"", 1);
    let errors = read("week.json", &text).unwrap_err();
    let shared = errors.iter().find(|e| e.path == "links[0].to.start").unwrap();
    assert!(shared.what.contains("2 things") && shared.remedy.contains("is 1"));
}

#[test]
fn numbers_that_no_schedule_could_be_measured_with_are_refused() {
    let heavy = "\"due\": {\"at\": 0, \"weight\": 100000000}";
    let tasks = vec![format!("{{\"modes\": [{{\"work\": 0}}], {heavy}}}"); 30];
    let text =
        format!("{{\"format\": 1, \"horizon\": 1, \"tasks\": [{}]}}", tasks.join(","));
    let errors = read("x", &text).unwrap_err();
    assert!(errors[0].what.contains("measured"), "{errors:?}");
}

#[test]
fn very_many_mistakes_are_counted() {
    let tasks = vec!["{\"modes\": 3}"; 500].join(",\n");
    let text = format!("{{\"format\": 1, \"horizon\": 1, \"tasks\": [\n{tasks}]}}");
    let errors = read("x", &text).unwrap_err();
    assert_eq!(errors.len(), 201);
    assert!(errors[200].what.contains("300 more"), "{}", errors[200]);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn what_is_written_is_read_back(seed: u64, count in 1_usize..60) {
        let problem = generate(&Recipe::tasks(count), seed);
        prop_assert_eq!(read("x", &write(&problem)), Ok(problem));
    }
}

/// A document with stocks, and what is said of it.
fn stocks(stocks: &str, takes: &str) -> Vec<String> {
    let text = format!(
        "{{\"format\": 1, \"horizon\": 9,\n\"stocks\": [{stocks}],\n\"tasks\": [{{\"modes\": [\
         {{\"work\": 1, \"takes\": [{takes}]}}]}}]}}"
    );
    let errors = read("s.json", &text).err().unwrap_or_default();
    errors.iter().map(ToString::to_string).collect()
}

#[test]
fn stocks_are_read_and_written_back() {
    let text = r#"{"format": 1, "horizon": 9,
        "stocks": [{"name": "sheet", "available": 4}, {"available": 1152921504606846976}],
        "tasks": [{"modes": [{"work": 1, "takes": [{"stock": "sheet"}, {"stock": 1, "amount": 7}]}]}]}"#;
    let problem = read("s.json", text).unwrap();
    let available: Vec<i64> = problem.stocks().iter().map(|s| s.available).collect();
    assert_eq!(available, [4, 1 << 60]);
    let takes = &problem.tasks()[0].modes[0].takes;
    let take = |stock, amount| Take { stock: StockId(stock), amount };
    assert_eq!(takes[..], [take(0, 1), take(1, 7)]);
    assert_eq!(read("again", &write(&problem)), Ok(problem));
}

#[test]
fn mistakes_about_stocks_are_told_at_their_places() {
    const SHEET: &str = r#"{"name": "sheet", "available": 4}"#;
    for (there, taken, place, what) in [
        (r#"{"name": "sheet"}"#, "", "line 2, stocks[0]", "`available` is missing"),
        (r#"{"available": -1}"#, "", "line 2, stocks[0].available", "out of range"),
        (
            r#"{"available": 1, "amount": 2}"#,
            "",
            "line 2, stocks[0].amount",
            "no such field",
        ),
        (SHEET, r#"{"stock": "shete"}"#, "takes[0].stock", "the nearest is `sheet`"),
        (SHEET, r#"{"stock": 1}"#, "takes[0].stock", "from 0 to 0"),
        (
            SHEET,
            r#"{"amount": 1}"#,
            "line 3, tasks[0].modes[0].takes[0]",
            "`stock` is missing",
        ),
        (SHEET, r#"{"stock": 0, "amount": 0}"#, "takes[0].amount", "from 1"),
        (SHEET, r#"{"stock": 0}, {"stock": 0}"#, "tasks[0].modes[0]", "of a stock twice"),
        (
            SHEET,
            r#"{"stock": 0, "amount": 1152921504606846977}"#,
            "takes[0].amount",
            "out of range",
        ),
    ] {
        let said = stocks(there, taken);
        assert_eq!(said.len(), 1, "{said:?}");
        assert!(said[0].contains(place) && said[0].contains(what), "{what}: {said:?}");
    }
    let both = stocks(r#"{"available": "x"}, {"available": -2}"#, r#"{"stock": 7}"#);
    assert_eq!(both.len(), 3, "{both:?}");
    assert!(stocks(SHEET, r#"{"stock": 0}"#).is_empty());
}

#[test]
fn what_can_not_be_counted_is_told_at_the_stock() {
    let mode = r#"{"work": 1, "takes": [{"stock": 0, "amount": 1152921504606846976}]}"#;
    let task = format!("{{\"modes\": [{mode}]}}");
    let text = format!(
        "{{\"format\": 1, \"horizon\": 9, \"stocks\": [\n{{\"available\": 5}}],\n\
         \"tasks\": [{task}, {task}]}}"
    );
    let errors = read("s.json", &text).unwrap_err();
    let said = errors[0].to_string();
    assert!(said.contains("line 2, stocks[0]") && said.contains("larger unit"), "{said}");
}
