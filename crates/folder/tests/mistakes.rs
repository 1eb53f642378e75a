//! Mistakes, each with its place: a sound folder, one or two edits, and every error that
//! they must give, no more and no fewer.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]
#![expect(clippy::too_many_lines, reason = "a test holds a table of cases")]

use std::path::Path;

use folder::{Report, Severity, read, skeleton};

/// What is done to the folder.
enum Edit {
    /// A part of a file is replaced: file, what, by what.
    Swap(&'static str, &'static str, &'static str),
    /// A file is written anew.
    Put(&'static str, &'static [u8]),
    /// A file is taken away.
    Drop(&'static str),
}

use Edit::{Drop, Put, Swap};

/// The edits, and the errors: a place, a bar, and a part of the message or its advice.
type Case = (&'static [Edit], &'static [&'static str]);

fn folder(edits: &[Edit]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, content) in skeleton() {
        std::fs::write(folder.path().join(name), content).unwrap();
    }
    for edit in edits {
        match edit {
            Swap(name, from, to) => {
                let path = folder.path().join(name);
                let text = std::fs::read_to_string(&path).unwrap();
                assert_eq!(text.matches(from).count(), 1, "{name}: {from}");
                std::fs::write(path, text.replace(from, to)).unwrap();
            }
            Put(name, bytes) => std::fs::write(folder.path().join(name), bytes).unwrap(),
            Drop(name) => std::fs::remove_file(folder.path().join(name)).unwrap(),
        }
    }
    folder
}

fn report(path: &Path) -> Report {
    match read(path) {
        Ok(reading) => panic!("it was read, with the warnings {:#?}", reading.warnings),
        Err(report) => report,
    }
}

fn fits(problem: &folder::Problem, expected: &str) -> bool {
    let (place, part) = expected.split_once(" | ").unwrap();
    let at = problem.place.as_ref().map(ToString::to_string).unwrap_or_default();
    at == place && problem.to_string().contains(part)
}

fn expect(cases: &[Case]) {
    let mut wrong = Vec::new();
    for (edits, expected) in cases {
        let folder = folder(edits);
        let report = report(folder.path());
        let all = expected.len() == report.errors.len()
            && expected.iter().zip(&report.errors).all(|(one, error)| fits(error, one));
        if !all {
            wrong.push(format!("expected {expected:#?}\ngot {report}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
}

#[test]
fn cells() {
    expect(&[
        // Quantities.
        (&[Swap("items.csv", "41 kg", "41")], &["items.csv:6:34 | mass: "]),
        (&[Swap("items.csv", "41 kg", "41 kgs.m")], &["items.csv:6:34 | mass: "]),
        (&[Swap("items.csv", "41 kg", "41 mm")], &["items.csv:6:34 | mass: "]),
        (
            &[Swap("items.csv", "41 kg", "\"41,5 kg\"")],
            &["items.csv:6:34 | write 41.5 kg"],
        ),
        (&[Swap("items.csv", "41 kg", "-41 kg")], &["items.csv:6:34 | is no mass"]),
        (
            &[Swap("items.csv", "0.9 m,", "9000 m,")],
            &["items.csv:6:40 | is the unit right?"],
        ),
        (
            &[Swap("items.csv", "2 h / 3 h / 5 h", "5 h / 3 h / 2 h")],
            &["items.csv:8:67 | off_hours: an estimate rises from low to high"],
        ),
        (
            &[Swap("items.csv", "2 h / 3 h / 5 h", "2 h / 3 h")],
            &["items.csv:8:67 | an estimate has one figure or three, not 2"],
        ),
        (
            &[Swap("items.csv", "2 h / 3 h / 5 h", "2 days")],
            &["items.csv:8:67 | it depends on the shift"],
        ),
        // Crews.
        (
            &[Swap("items.csv", "2 fitter,2 h", "two fitter,2 h")],
            &["items.csv:8:58 | off_crew: `two fitter` is not a number and a skill"],
        ),
        (
            &[Swap("items.csv", "2 fitter,2 h", "0 fitter,2 h")],
            &["items.csv:8:58 | a crew cannot have 0"],
        ),
        (
            &[Swap("items.csv", "2 fitter,2 h", "2 fitter +,2 h")],
            &["items.csv:8:58 | a skill is missing"],
        ),
        (
            &[Swap("items.csv", "2 fitter,2 h", "2 fiter,2 h")],
            &["items.csv:8:58 | there is no skill fiter\n  hint: is fitter meant?"],
        ),
        (
            &[Swap("items.csv", "2 fitter,2 h", ",2 h")],
            &["items.csv:8:59 | `off_hours` is given without `off_crew`"],
        ),
        (
            &[Swap("items.csv", "2 fitter,3 h / 4 h / 6 h", ",")],
            &["items.csv:8:58 | not what it takes to put it back"],
        ),
        (
            &[Swap("routes.toml", "crew = \"1 inspector\"\n", "")],
            &["routes.toml:22:9 | `hours` is given without `crew`"],
        ),
        // Needs and names.
        (
            &[Swap("items.csv", "0 m,,COWL,,2", "0 m,,COWL + ,,2")],
            &["items.csv:8:52 | a name is missing next to a sign"],
        ),
        (
            &[Swap("items.csv", "0 m,,COWL,,2", "0 m,,COWLS,,2")],
            &["items.csv:8:52 | there is no item COWLS"],
        ),
        (
            &[Swap("items.csv", "PROP,Propeller,FRAME", "PROP,Propeller,FRAM")],
            &["items.csv:8:16 | there is no item FRAM\n  hint: is FRAME meant?"],
        ),
        (
            &[Swap("zones.toml", "\"NACELLE\"", "\"engine nacelle\"")],
            &["zones.toml:4:6 | write `engine-nacelle`"],
        ),
        (
            &[Swap("zones.toml", "\"NACELLE\"", "\"NACELLE-\"")],
            &["zones.toml:4:6 | a name begins and ends with a letter or a digit"],
        ),
        (&[Swap("items.csv", "7110", "7999")], &["items.csv:7:35 | public chapter list"]),
        // Words.
        (
            &[Swap("connections.csv", "engine control", "engine contol")],
            &["connections.csv:4:31 | did you mean `engine control`?"],
        ),
        (
            &[Swap("findings.csv", "within limits", "fine")],
            &[
                "findings.csv:4:70 | condition: `fine` is not one of: hazard, outside limits, within limits, unknown",
            ],
        ),
        (
            &[Swap("places.toml", "heated = true", "heated = \"perhaps\"")],
            &["places.toml:7:10 | heated: `perhaps` is neither yes nor no"],
        ),
        // Counts.
        (
            &[Swap("stands.toml", "count = 4", "count = -4")],
            &["stands.toml:6:9 | count: `-4` is not a whole number"],
        ),
        (
            &[Swap("stands.toml", "count = 4", "count = 4.5")],
            &["stands.toml:6:9 | count: `4.5` is not a whole number"],
        ),
        (
            &[Swap("stands.toml", "count = 4", "count = 400000")],
            &["stands.toml:6:9 | 400000 is more than 10000"],
        ),
        (
            &[Swap("stands.toml", "count = 4", "count = 99999999999999999999999")],
            &["stands.toml:6:9 | a number beyond all measure"],
        ),
        (
            &[Swap("places.toml", "room = 2", "room = 0")],
            &["places.toml:6:8 | it has no room for any job"],
        ),
        (
            &[Swap("programme.toml", "\"GBP\"", "\"Pounds\"")],
            &["programme.toml:11:12 | currency: `Pounds` is not a known currency code"],
        ),
        // Text that is not one.
        (
            &[Swap("zones.toml", "\"Engine nacelle\"", "[\"Engine\"]")],
            &["zones.toml:5:8 | name: a list stands where a text is expected"],
        ),
        (
            &[Swap("zones.toml", "\"Engine nacelle\"", "2031-01-01")],
            &["zones.toml:5:8 | put it in quotes"],
        ),
        (
            &[Swap("zones.toml", "\"Engine nacelle\"", "true")],
            &["zones.toml:5:8 | true or false stands where a text is expected"],
        ),
        (
            &[Swap("zones.toml", "\"Engine nacelle\"", "\"a\\u0007b\"")],
            &["zones.toml:5:8 | control character"],
        ),
    ]);
}

#[test]
fn times() {
    expect(&[
        (&[Swap("findings.csv", "2031-09-13", "2031-02-30")], &[
            "findings.csv:4:84 | found: there is no such day as 2031-02-30\n  hint: that month has 28 days",
        ]),
        (&[Swap("findings.csv", "2031-09-13", "2031-13-01")], &["findings.csv:4:84 | months run from 01 to 12"]),
        (&[Swap("findings.csv", "2031-09-13", "13/9/2031")], &["findings.csv:4:84 | write year, month and day: `2031-10-06`"]),
        (&[Swap("findings.csv", "2031-09-13", "0203-09-13")], &["findings.csv:4:84 | mend the year"]),
        (&[Swap("people.csv", "2031-11-24..2031-11-28", "2031-11-24..2031-11-31")], &[
            "people.csv:3:47 | away: there is no such day as 2031-11-31",
        ]),
        (&[Swap("people.csv", "2031-11-24..2031-11-28", "2031-11-28..2031-11-24")], &[
            "people.csv:3:47 | write `2031-11-24..2031-11-28`",
        ]),
        (&[Swap("people.csv", "Mon-Fri", "Mon-Fry")], &["people.csv:3:39 | days: `fry` is not a day of the week"]),
        (&[Swap("people.csv", "until 2033-06-30", "until 2033-06-31")], &["people.csv:3:70 | there is no such day as 2033-06-31"]),
        (&[Swap("people.csv", "(example)", "(example")], &["people.csv:3:70 | a bracket is missing"]),
        (&[Swap("seasons.toml", "Sat 09:00-15:00", "Sat 15:00-09:00")], &[
            "seasons.toml:9:57 | shifts: `15:00-09:00` ends before it starts",
        ]),
        (&[Swap("seasons.toml", "Sat 09:00-15:00", "Fri 09:00-15:00")], &[
            "seasons.toml:9:10 | overlaps the shift",
            "seasons.toml:9:10 | overlaps the shift",
        ]),
        (&[Swap("seasons.toml", "Sat 09:00-15:00", "Sat 09:00-24:00")], &["seasons.toml:9:57 | times run from `00:00` to `23:59`"]),
        (&[Swap("seasons.toml", "Sat 09:00-15:00", "Sat 9-15")], &["seasons.toml:9:57 | write hours and minutes: `08:00`"]),
        (&[Swap("seasons.toml", "Sat 09:00-15:00", "09:00-15:00")], &["seasons.toml:9:57 | does not say on which days"]),
        (&[Swap("seasons.toml", "until = 2032-03-26", "until = 2031-03-26")], &[
            "seasons.toml:7:9 | it ends on 2031-03-26, before it starts on 2031-11-03",
        ]),
        (&[Swap("seasons.toml", "until = 2032-03-26", "until = 2032-02-30")], &["seasons.toml:7:9 | there is no such day or time"]),
        (&[Swap("seasons.toml", "until = 2032-03-26", "until = \"26 March\"")], &["seasons.toml:7:9 | until: `26 March` is not a date"]),
        (&[Swap("seasons.toml", "gate = \"TAXI\"", "gate = \"TAXY\"")], &["seasons.toml:8:8 | is TAXI meant?"]),
        (&[Swap("seasons.toml", "2031-12-20..2032-01-04", "2031-12-20 - 2032-01-04")], &[
            "seasons.toml:10:11 | write `2031-12-20..2032-01-04`, both included",
        ]),
        (&[Swap("seasons.toml", "26 07:00-18:00", "26 18:00")], &["seasons.toml:12:12 | does not say from when until when"]),
        (&[Put("actuals.csv", b"job,started,finished,left\nOFF:PROP,2031-11-03 08:00,2031-11-02 08:00,\n")], &[
            "actuals.csv:2:27 | it was finished at",
        ]),
        (&[Put("actuals.csv", b"job,started,finished,left\nOFF:PROP,2031-11-03,,2 h\n")], &["actuals.csv:2:10 | is not a date and a time"]),
        (&[Put("actuals.csv", b"job,started,finished,left\nOFF:PROP,2031-11-03 08:00,,\n")], &[
            "actuals.csv:2:1 | it says neither when it was finished nor what is left",
        ]),
        (&[Put("actuals.csv", b"job,started,finished,left\nOFF:PROPS,2031-11-03 08:00,,2 h\n")], &["actuals.csv:2:1 | is PROP meant?"]),
        (&[Put("actuals.csv", b"job,started,finished,left\nF-001:blnd,2031-11-03 08:00,,2 h\n")], &["actuals.csv:2:1 | is blend meant?"]),
    ]);
}

#[test]
fn rows() {
    expect(&[
        (&[Swap("items.csv", "PROP,Propeller", ",Propeller")], &["items.csv:8:1 | this item has no `id`"]),
        (&[Swap("items.csv", "PROP,Propeller", "PROP,")], &["items.csv:8:6 | the item `PROP` has no `name`"]),
        (&[Swap("items.csv", "COWL,Engine", "PROP,Engine")], &[
            "items.csv:6:50 | there is no item COWL",
                "items.csv:8:1 | the item `PROP` is defined a second time\n  hint: the first one is at items.csv:7:1",
        ]),
        (&[Swap("items.csv", "COWL,Engine", "prop,Engine")], &[
            "items.csv:6:50 | there is no item COWL",
            "items.csv:7:1 | it differs from the item PROP in capitals alone",
            "items.csv:8:52 | there is no item COWL",
        ]),
        (&[Swap("gates.toml", "order = 2", "order = 1")], &["gates.toml:8:9 | it has the same place in the order as"]),
        (&[Swap("gates.toml", "order = 2\n", "")], &["gates.toml:10:1 | the gate `FUEL-ON` has no `order`"]),
        (&[Swap("findings.csv", ",blend,BLEND,", ",,BLEND,")], &[
            "findings.csv:4:99 | `route` is given without `decision`",
            "findings.csv:4:105 | `decided_by` is given without `decision`",
            "findings.csv:4:108 | `basis` is given without `decision`",
        ]),
        (&[Swap("findings.csv", ",blend,BLEND,", ",accept,BLEND,")], &["findings.csv:4:105 | it is accepted as it is, and yet BLEND is to be done"]),
        (&[Swap("findings.csv", "F-001,PROP", "F-001,FRAME")], &["findings.csv:4:105 | BLEND needs FRAME off, and it never comes off"]),
        (&[Put("jobs.csv", b"id,name,pack,crew,hours,firm\nJ1,A,WP-01,1 fitter,1 h,PLATER\n")], &[
            "jobs.csv:2:25 | `firm` is one too many",
        ]),
        (&[Put("jobs.csv", b"id,name,pack,crew,hours\nJ1,A,WP-01,,\n")], &["jobs.csv:2:1 | it does not say who does it"]),
        (&[Put("jobs.csv", b"id,name,pack,takes,turnaround\nJ1,A,WP-01,2 h,3 days\n")], &["jobs.csv:2:16 | `turnaround` is given without `firm`"]),
        (&[Put("jobs.csv", b"id,name,pack,takes,after\nJ1,A,WP-01,2 h,J2\nJ2,B,WP-01,2 h,J1\n")], &["jobs.csv:2:16 | in a ring: J1 > J2 > J1"]),
        (&[Put("jobs.csv", b"id,name,pack,takes,hold_at_least,hold_at_most\nJ1,A,WP-01,2 h,3 h,2 h\n")], &["jobs.csv:2:20 | at most 2 h is less than at least 3 h"]),
        (&[Swap("routes.toml", "takes = \"24 h\"", "takes = \"24 h\"\nfails = 0.5")], &["routes.toml:44:9 | `fails` is given without `then`"]),
        (&[Swap("routes.toml", "kind = \"inspect\"", "kind = \"inspect\"\nfails = 20\nthen = \"BLEND\"")], &["routes.toml:22:9 | a chance of 20 is not between 0 and 1"]),
        (&[Swap("routes.toml", "kind = \"inspect\"", "kind = \"inspect\"\nfails = 0.2\nthen = \"BLEND\"")], &["routes.toml:23:8 | a failure in it leads back to it"]),
        (&[Swap("routes.toml", "[[route.step]]\nid = \"inspect\"", "[[route.step]]\nid = \"blend\"")], &["routes.toml:11:6 | two steps of the route are called blend"]),
        (&[Swap("items.csv", "FRAME,Engine frame,,", "FRAME,Engine frame,PROP,")], &["items.csv:6:20 | in a ring"]),
        // What refers to a row with a bad cell is not reported as well.
        (&[Swap("gates.toml", "order = 2", "order = \"second\"")], &["gates.toml:13:9 | order: `second` is not a whole number in digits"]),
        (&[Swap("people.csv", "staff", "staf")], &["people.csv:3:15 | did you mean `staff`?"]),
        // Two mistakes in one row are two errors.
        (&[Swap("findings.csv", "within limits,2031-09-13", "bad,13.9.31")], &[
            "findings.csv:4:70 | condition: `bad`",
            "findings.csv:4:74 | found: `13.9.31`",
        ]),
    ]);
}

#[test]
fn tables() {
    expect(&[
        // CSV.
        (
            &[Swap("connections.csv", "id,name,kind", "id,name,knd")],
            &[
                "connections.csv:3:9 | there is no column `knd` in connections\n  hint: did you mean `kind`?",
            ],
        ),
        (
            &[Swap("connections.csv", "id,name,kind,", "id,name,")],
            &[
                "connections.csv:3:1 | the column `kind` is missing",
                "connections.csv:4:51 | this row has 5 cells under 4 headings",
            ],
        ),
        (
            &[Swap("connections.csv", "id,name,kind", "id,name,name")],
            &[
                "connections.csv:3:1 | the column `kind` is missing",
                "connections.csv:3:9 | the column `name` stands here a second time",
            ],
        ),
        (
            &[Swap("connections.csv", "id,name,kind,from,to\n", "")],
            &[
                "connections.csv:3:1 | the first row names none of the columns of connections",
            ],
        ),
        (
            &[Swap("connections.csv", ",PROP,FRAME", ",PROP")],
            &["connections.csv:4:1 | this row has 4 cells under 5 headings"],
        ),
        (
            &[Swap("connections.csv", "line,", "line, main,")],
            &["connections.csv:4:57 | this row has 6 cells under 5 headings"],
        ),
        (
            &[Swap("connections.csv", "Pitch", "\"Pitch")],
            &["connections.csv:4:12 | never closed"],
        ),
        (
            &[Swap("connections.csv", "Pitch control line", "\"Pitch\" control line")],
            &["connections.csv:4:19 | something follows the quote"],
        ),
        (&[Put("connections.csv", b"")], &["connections.csv | the file is empty"]),
        // TOML.
        (
            &[Swap("zones.toml", "name = ", "nmae = ")],
            &[
                "zones.toml:3:1 | the zone `NACELLE` has no `name`",
                "zones.toml:5:1 | a zone has no field `nmae`\n  hint: did you mean `name`?",
            ],
        ),
        (
            &[Swap("zones.toml", "[[zone]]", "[zone]")],
            &["zones.toml:3:1 | write [[zone]], with two brackets on each side"],
        ),
        (
            &[Swap("zones.toml", "[[zone]]", "[[zones]]")],
            &["zones.toml:3:3 | the file holds tables [[zone]] and nothing else"],
        ),
        (
            &[Swap("zones.toml", "[[zone]]", "[[item]]")],
            &["zones.toml:3:3 | items stand in items.toml"],
        ),
        (
            &[Swap("zones.toml", "\"NACELLE\"", "\"NACELLE")],
            &["zones.toml:4:14 | this is not TOML"],
        ),
        (
            &[
                Swap("gates.toml", "id = \"POWER-ON\"", "id = POWER-ON"),
                Swap("gates.toml", "order = 3", "order 3"),
            ],
            &["gates.toml:6:6 | this is not TOML", "gates.toml:18:7 | this is not TOML"],
        ),
        (
            &[Swap("gates.toml", "order = 2", "order = 2\norder = 2")],
            &["gates.toml:14:1 | duplicate key"],
        ),
        (
            &[Swap("programme.toml", "[programme]", "[[programme]]")],
            &["programme.toml:4:1 | write [programme]"],
        ),
        (
            &[Swap("programme.toml", "invented = true", "weighed_mass = \"900 kg\"")],
            &["programme.toml:13:16 | `weighed_mass` is given without `weighed_arm`"],
        ),
        (
            &[Put("arrangements.toml", b"[[arrangement]]\nid = \"A\"\nname = \"A\"\n[arrangement.point]\nname = \"P\"\n")],
            &["arrangements.toml:4:1 | [[arrangement.point]]"],
        ),
    ]);
}

#[test]
fn files() {
    expect(&[
        (&[Drop("programme.toml")], &["programme.toml | there is no programme.toml"]),
        (
            &[Put("items.toml", b"[[item]]\nid = \"A\"\nname = \"A\"\n")],
            &["items.toml | the items are given twice: in items.csv and here"],
        ),
        (
            &[Put("routes.csv", b"id,name\n")],
            &["routes.csv | routes are only read as TOML"],
        ),
        (
            &[Put("jobs.ods", b"PK")],
            &[
                "jobs.ods | files that end in .ods are not read\n  hint: save it as jobs.csv, jobs.xlsx or jobs.toml",
            ],
        ),
        (
            &[Put("jobs.xlsx", b"no workbook")],
            &["jobs.xlsx | the file is not an .xlsx workbook"],
        ),
        (
            &[Put("jobs.xlsx", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")],
            &["jobs.xlsx | protected by a password"],
        ),
        (
            &[Put("jobs.xlsx", b"PK\x03\x04 and then nothing")],
            &["jobs.xlsx | the workbook cannot be read"],
        ),
        // Encodings. 0xE9 is an accented e in Windows-1252.
        (
            &[Put("jobs.csv", b"id,name,pack,takes\nJ1,Caf\xE9,WP-01,2 h\n")],
            &[
                "jobs.csv:2:7 | the byte E9 cannot stand here\n  hint: if it was saved as Windows-1252 the character is `\u{e9}`",
            ],
        ),
        (
            &[Put("jobs.csv", b"id,name,pack,takes\r\nJ1,A\0B,WP-01,2 h\r\n")],
            &["jobs.csv:2:5 | zero byte"],
        ),
        (
            &[Put("jobs.csv", b"\xFF\xFEi\0d\0,\0n\0\x00\xD8")],
            &["jobs.csv:1:5 | it begins as UTF-16 and is not"],
        ),
        (
            &[Put("gates.toml", b"[[gate]]\nid = \"T\xC4XI\"\n")],
            &["gates.toml:2:8 | the byte C4 cannot stand here"],
        ),
    ]);
}

#[test]
fn what_is_strange_and_right() {
    let right: [&[Edit]; 9] = [
        // A mark in front, lines that end in both signs or in a carriage return alone.
        &[Put("jobs.csv", b"\xEF\xBB\xBFid,name,pack,takes\r\nJ1,A,WP-01,2 h\r\n")],
        &[Put("jobs.csv", b"id,name,pack,takes\rJ1,A,WP-01,2 h\r")],
        // UTF-16 of both kinds.
        &[Put("skills.toml", b"\xFF\xFE#\0a\0\n\0"), Swap("people.csv", "fitter; inspector,Mon", ",Mon"), Swap("people.csv", "fitter; inspector,Tue", ",Tue"), Drop("items.csv"), Drop("findings.csv"), Drop("connections.csv"), Drop("routes.toml"), Drop("checks.toml")],
        &[Put("jobs.csv", b"\xFE\xFF\0i\0d\0,\0n\0a\0m\0e\0,\0p\0a\0c\0k\0,\0t\0a\0k\0e\0s\0\n\0A\0,\0B\0,\0W\0P\0-\x000\x001\0,\x002\0 \0h")],
        // Semicolons as continental spreadsheets write them, and the line that says so.
        &[Put("jobs.csv", b"id;name;pack;takes\nJ1;A, and more;WP-01;2 h\n")],
        &[Put("jobs.csv", b"sep=;\r\nid;name;pack;takes\r\nJ1;A;WP-01;2 h\r\n")],
        // Blanks, empty rows, comments, headings in capitals, a quote within a cell.
        &[Put("jobs.csv", b"\n# one\n ID , Name ,PACK,Takes,,\n\n J1 , 3/16\" rod , WP-01 , 2 h ,,\n,,,,,\n,,,\n# two\n")],
        &[Put("jobs.csv", b"id,name,pack,takes\nJ1,\"two\nlines, \"\"quoted\"\"\",WP-01,2 h")],
        // Files that are nobody's business.
        &[Put("README.md", b"\xFF"), Put("~$items.xlsx", b""), Put(".jobs.csv", b""), Put("photo.jpg", b"")],
    ];
    for (at, edits) in right.iter().enumerate() {
        let folder = folder(edits);
        if let Err(report) = read(folder.path()) {
            panic!("case {at}: {report}");
        }
    }
}

#[test]
fn warnings() {
    let cases: [(&[Edit], &str); 8] = [
        (
            &[Put("item.csv", b"id,name\n")],
            "item.csv: warning: this file is not read: no list has its name\n  hint: did you mean `items.csv`?",
        ),
        (
            &[
                Swap("findings.csv", "measured,condition", "photograph,condition"),
                Swap("findings.csv", "0.020 in deep", "pictures/one.jpg"),
            ],
            "findings.csv:4:56: warning: there is no photograph `pictures/one.jpg` in the folder",
        ),
        (
            &[Swap("people.csv", "fitter; inspector,Tue", ",Tue")],
            "people.csv:4:1: warning: they have no skill",
        ),
        (
            &[Put(
                "jobs.csv",
                b"id,name,,pack,takes\nJ1,A,x,WP-01,2 h\nJ2,A,y,WP-01,2 h\n",
            )],
            "jobs.csv:2:6: warning: this column has no heading and is left out",
        ),
        (
            &[Swap(
                "seasons.toml",
                "2032-01-04\"",
                "2032-01-04\", \"2032-03-20..2032-03-30\"",
            )],
            "seasons.toml:7:9: warning: the gate date 2032-03-26 lies in a closure",
        ),
        (
            &[Put("rules.csv", b"id,basis\nShelf life,binding\n")],
            "rules.csv:2:1: warning: it binds, and nothing says by what",
        ),
        (
            &[Put("retention.csv", b"id,years\nletters,5\n")],
            "retention.csv:2:9: warning: it is kept for less than the life of the aircraft",
        ),
        (
            &[Put("outlines.csv", b"id,view,zone,path\nA,side,,M0 0L9 9\n")],
            "zones.toml:4:6: warning: it has no outline in either view, side or plan",
        ),
    ];
    for (edits, expected) in cases {
        let folder = folder(edits);
        let reading = read(folder.path()).unwrap_or_else(|report| panic!("{report}"));
        let shown: Vec<String> =
            reading.warnings.iter().map(ToString::to_string).collect();
        assert!(
            shown.iter().any(|one| one.starts_with(expected)),
            "{expected}\n{shown:#?}"
        );
        assert!(reading.warnings.iter().all(|one| one.severity == Severity::Warning));
    }
}

#[test]
fn tools_requirements_and_rules() {
    expect(&[
        (
            &[Put(
                "tools.csv",
                b"id,name,measures\nTW-1,Wrench,perhaps\nTW-1,Other,yes\n",
            )],
            &[
                "tools.csv:2:13 | measures: `perhaps` is neither yes nor no",
                "tools.csv:3:1 | the tool `TW-1` is defined a second time",
            ],
        ),
        (
            &[Put(
                "requirements.csv",
                b"id,gate,what,kind,fitted\nR-1,TAXY,a,report,PROP\nR-2,TAXI,b,letter,\nR-3,TAXI,c,card,PROPS\nR-4,TAXI,,,\n",
            )],
            &[
                "requirements.csv:2:5 | there is no gate TAXY\n  hint: is TAXI meant?",
                "requirements.csv:3:12 | kind: `letter` is not one of: card, document,",
                "requirements.csv:4:17 | there is no item PROPS\n  hint: is PROP meant?",
                "requirements.csv:5:10 | the requirement `R-4` has no `what`",
            ],
        ),
        (
            &[Put(
                "rules.csv",
                b"id,basis,citation,note\nLimits,off,,x\nhandover,off,,\nhand-over,adopted,,\ntool-control,off,,asked\nTool control,adopted,,\n",
            )],
            &[
                "rules.csv:2:8 | no programme may do without it",
                "rules.csv:3:1 | it is off, and nothing says why",
                "rules.csv:4:1 | did you mean `handover`?",
                "rules.csv:6:1 | the rule `tool control` is defined a second time",
            ],
        ),
        (
            &[Put(
                "retention.csv",
                b"id,years,citation\nletters,0,x\nLetter,5,x\nmaterials,some,x\nletters,3,x\n",
            )],
            &[
                "retention.csv:2:9 | it would be kept for no time at all",
                "retention.csv:3:1 | did you mean `letters`?",
                "retention.csv:4:11 | years: `some` is not a whole number",
                "retention.csv:5:1 | the class of records `letters` is defined a second time",
            ],
        ),
    ]);
}

#[test]
fn outlines() {
    expect(&[
        (
            &[Put(
                "outlines.csv",
                b"id,view,zone,path,order\nA,front,NACELLE,M0 0H4V4Z,\nB,side,NACELE,M0 0H4V4Z,\nC,side,NACELLE,M0 0L9,\nD,side,NACELLE,M0 0L9 9,1\nE,plan,,M0 0L9 9,x\n",
            )],
            &[
                "outlines.csv:2:3 | view: `front` is not one of: side, plan",
                "outlines.csv:3:8 | there is no zone NACELE\n  hint: is NACELLE meant?",
                "outlines.csv:4:16 | path: letter 7: the path ends before number 2 of `L`",
                "outlines.csv:5:16 | it goes round nothing\n  hint: an outline of a zone goes round it",
                "outlines.csv:6:18 | order: `x` is not a whole number in digits",
            ],
        ),
        (
            // Two mistakes of one path, at their letters, and markup that must not pass.
            &[Put(
                "outlines.csv",
                b"id,view,zone,path\nA,side,NACELLE,M0 0 K1 V\nB,side,NACELLE,\"M0 0H4V4Z\"\"/><script>\"\n",
            )],
            &[
                "outlines.csv:2:16 | letter 6: `K` is no letter of a path; letter 10: the path ends",
                "outlines.csv:3:16 | is no letter of a path",
            ],
        ),
    ]);
}

#[test]
fn photographs_stay_within_the_folder() {
    for path in ["../secret.jpg", "/etc/passwd"] {
        let folder = folder(&[]);
        let file = folder.path().join("findings.csv");
        let text = std::fs::read_to_string(&file).unwrap();
        let text = text
            .replace("measured,condition", "photograph,condition")
            .replace("0.020 in deep", path);
        std::fs::write(&file, text).unwrap();
        let report = report(folder.path());
        assert_eq!(report.errors.len(), 1, "{report}");
        assert!(
            fits(
                &report.errors[0],
                "findings.csv:4:56 | is not a path within the folder"
            ),
            "{report}"
        );
    }
}

#[test]
fn folders_that_are_none() {
    let folder = tempfile::tempdir().unwrap();
    let empty = report(folder.path());
    assert_eq!(empty.errors.len(), 1);
    assert!(empty.to_string().contains("the folder holds no programme"), "{empty}");

    let file = folder.path().join("file");
    std::fs::write(&file, "x").unwrap();
    assert!(report(&file).to_string().contains("this is a file and not a folder"));
    assert!(
        report(&folder.path().join("none"))
            .to_string()
            .contains("there is no such folder")
    );
}

#[test]
fn a_folder_that_has_the_name_of_a_file() {
    let folder = folder(&[Drop("packs.csv")]);
    std::fs::create_dir(folder.path().join("packs.csv")).unwrap();
    let report = report(folder.path());
    // The finding names a pack, which may well be in it.
    assert_eq!(report.errors.len(), 1, "{report}");
    assert!(
        fits(&report.errors[0], "packs.csv | this is a folder and not a file"),
        "{report}"
    );
}

#[test]
fn a_file_that_is_too_large_is_not_read() {
    let folder = folder(&[]);
    let file = std::fs::File::create(folder.path().join("jobs.csv")).unwrap();
    // A hole, so that the test takes no room.
    file.set_len(200 << 20).unwrap();
    let report = report(folder.path());
    assert_eq!(report.errors.len(), 1, "{report}");
    assert!(
        fits(&report.errors[0], "jobs.csv | the file has 200 MB, and 64 MB are the most"),
        "{report}"
    );
}

#[test]
fn a_file_of_commas_is_not_kept() {
    let folder = folder(&[]);
    let text =
        format!("id,name,pack,takes\n{}\n{}\n", ",".repeat(600_000), ",".repeat(600_000));
    std::fs::write(folder.path().join("jobs.csv"), text).unwrap();
    let report = report(folder.path());
    assert_eq!(report.errors.len(), 1, "{report}");
    assert!(
        fits(&report.errors[0], "jobs.csv:3:1 | more than 1000000 cells"),
        "{report}"
    );
}

#[test]
fn a_file_of_empty_tables_is_not_kept() {
    let folder = folder(&[]);
    std::fs::write(folder.path().join("gates.toml"), "[[gate]]\n".repeat(400_000))
        .unwrap();
    let report = report(folder.path());
    assert_eq!(report.errors.len(), 1, "{report}");
    assert!(fits(&report.errors[0], "gates.toml | more than 1000000 values"), "{report}");
}

#[test]
fn a_long_report_is_cut_and_its_value_is_not() {
    let rows: Vec<String> = (0..200).map(|at| format!("J{at},A,WP-01,soon")).collect();
    let folder = folder(&[]);
    let text = format!("id,name,pack,takes\n{}\n", rows.join("\n"));
    std::fs::write(folder.path().join("jobs.csv"), text).unwrap();
    let report = report(folder.path());
    assert_eq!(report.errors.len(), 200);
    let shown = report.to_string();
    assert_eq!(shown.matches(": error: ").count(), Report::SHOWN);
    assert!(shown.ends_with("and 140 more\n200 errors, 0 warnings"), "{shown}");
}
