//! CSV, workbook and calendar, read back by other programs' readers.

#[path = "support/season.rs"]
mod season;

use std::io::Cursor;

use calamine::{Data, DataType as _, Reader as _, Xlsx};
use charts::{
    DayView, PersonDays, TableView, calendar, jobs_csv, jobs_xlsx, tables_xlsx,
};
use icalendar::{Calendar, CalendarComponent, Component as _};
use jiff::civil::{date, time};
use proptest::prelude::*;

fn workbook(view: &charts::PlanView) -> Xlsx<Cursor<Vec<u8>>> {
    let bytes = jobs_xlsx(view).expect("the workbook is written");
    Xlsx::new(Cursor::new(bytes)).expect("the workbook is read")
}

fn person(jobs: &[String]) -> PersonDays {
    let day = |d, from, until, jobs: &[String]| DayView {
        date: date(2032, 1, d),
        from: time(from, 0, 0, 0),
        until: time(until, 30, 0, 0),
        jobs: jobs.to_vec(),
    };
    PersonDays {
        name: "Ada Quill".to_owned(),
        uid_base: "heron-ada".to_owned(),
        days: vec![
            day(5, 8, 12, jobs),
            day(5, 13, 16, jobs),
            day(6, 22, 6, &[]),
            day(7, 8, 16, &[]),
        ],
        made: "2031-12-31T23:59:58Z".parse().expect("a timestamp"),
    }
}

#[test]
fn csv_is_rfc_4180_and_reads_back() {
    let mut view = season::season();
    view.jobs[0].name = "Wing, \"port\"\nroot".to_owned();
    view.jobs[1].name = "=1+1".to_owned();
    let bytes = jobs_csv(&view);
    assert!(bytes.starts_with(b"key,name,pack,"), "no byte order mark");
    assert!(bytes.ends_with(b"\r\n"));
    let mut reader = csv::Reader::from_reader(&bytes[..]);
    let rows: Vec<csv::StringRecord> =
        reader.records().collect::<Result<_, _>>().expect("readable");
    assert_eq!(rows.len(), view.jobs.len());
    assert_eq!(&rows[0][1], view.jobs[0].name);
    assert_eq!(&rows[1][1], "=1+1");
    assert_eq!((&rows[0][5], &rows[0][6]), ("2032-01-05T08:00", "2032-01-08T16:00"));
    // Four days of eight hours; two of them in the job that pauses.
    assert_eq!((&rows[0][7], &rows[2][7]), ("32", "16"));
    assert_eq!(&rows[0][8], "Ada Quill; Dov Harrow");
    assert_eq!(&rows[4][16], "J3; nowhere");
}

#[test]
fn a_name_that_looks_like_a_formula_stays_text() {
    let mut view = season::season();
    view.jobs[0].name = "=HYPERLINK(\"x\")".to_owned();
    view.jobs[1].key = "@SUM(A1)".to_owned();
    let mut book = workbook(&view);
    let sheet = book.worksheet_range("Jobs").expect("a sheet");
    assert_eq!(
        sheet.get_value((1, 1)),
        Some(&Data::String("=HYPERLINK(\"x\")".to_owned()))
    );
    assert_eq!(sheet.get_value((2, 0)), Some(&Data::String("@SUM(A1)".to_owned())));
    let formulas = book.worksheet_formula("Jobs").expect("a sheet");
    assert!(formulas.used_cells().next().is_none());
}

#[test]
fn the_workbook_holds_every_job_with_real_dates() {
    let view = season::season();
    let mut book = workbook(&view);
    assert_eq!(book.sheet_names(), ["Jobs", "Hours by skill", "About"]);
    let sheet = book.worksheet_range("Jobs").expect("a sheet");
    assert_eq!(sheet.height(), view.jobs.len() + 1);
    for (n, job) in view.jobs.iter().enumerate() {
        let row = n as u32 + 1;
        assert_eq!(sheet.get_value((row, 0)), Some(&Data::String(job.key.clone())));
        let start = sheet.get_value((row, 5)).and_then(Data::get_datetime);
        let start = start.expect("a date cell").to_ymd_hms_milli();
        let at = job.start;
        let (year, month, day) = (at.year() as u16, at.month() as u8, at.day() as u8);
        assert_eq!(start, (year, month, day, 8, 0, 0, 0));
    }
    let loads = book.worksheet_range("Hours by skill").expect("a sheet");
    assert_eq!(loads.get_value((1, 4)), Some(&Data::Float(10.0)));
    assert_eq!(loads.get_value((2, 2)), Some(&Data::Float(20.5)));
    let about = book.worksheet_range("About").expect("a sheet");
    let told =
        about.rows().any(|row| row[1] == Data::String("Invented example".to_owned()));
    assert!(told, "notices travel with the workbook");
}

#[test]
fn workbooks_are_the_same_each_time_and_bear_odd_values() {
    let mut view = season::season();
    view.jobs[0].why = "🛩".repeat(40_000);
    view.jobs[1].name = "bell \u{7} and \u{fffe}".to_owned();
    view.jobs[2].start = date(-44, 3, 15).at(8, 0, 0, 0);
    view.loads[0].weeks[0].needed = f64::NAN;
    assert_eq!(jobs_xlsx(&view).expect("once"), jobs_xlsx(&view).expect("twice"));
    let mut book = workbook(&view);
    let sheet = book.worksheet_range("Jobs").expect("a sheet");
    let why = sheet.get_value((1, 12)).and_then(Data::get_string).expect("a text");
    assert!(why.ends_with('…') && why.encode_utf16().count() <= 32_767);
    let start = sheet.get_value((3, 5)).and_then(Data::get_string);
    assert_eq!(start, Some("-000044-03-15T08:00"));
}

#[test]
fn a_calendar_reads_back_with_floating_times_and_stable_names() {
    let person =
        person(&["Off: wing; first, second".to_owned(), "On: wing\\x".to_owned()]);
    let text = calendar(&person);
    assert!(text.contains("DTSTAMP:20311231T235958Z\r\n"));
    let read: Calendar = text.parse().expect("a calendar");
    assert_eq!(read.get_name(), Some("Ada Quill"));
    let events: Vec<_> = read
        .components
        .iter()
        .filter_map(|c| match c {
            CalendarComponent::Event(event) => Some(event),
            _ => None,
        })
        .collect();
    let of = |key: &str| -> Vec<&str> {
        events.iter().map(|e| e.property_value(key).unwrap_or("")).collect()
    };
    assert_eq!(
        of("UID"),
        [
            "heron-ada-20320105",
            "heron-ada-20320105-2",
            "heron-ada-20320106",
            "heron-ada-20320107"
        ]
    );
    assert_eq!(of("DTSTART")[0], "20320105T080000");
    assert_eq!(of("DTEND")[2], "20320107T063000", "a night shift ends on the next day");
    assert_eq!(of("SUMMARY")[0], "Off: wing; first, second (and 1 more)");
    assert_eq!(of("DESCRIPTION")[1], "Off: wing; first, second\nOn: wing\\x");
    assert_eq!(of("SUMMARY")[3], "In the workshop");
    assert_eq!(calendar(&person), text);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    /// RFC 5545, 3.1: lines end in CR LF and have at most 75 octets without it.
    #[test]
    fn calendar_lines_are_short_and_read_back(job in any::<String>(), long in "[a-zä漢🛩 ,;\\\\]{0,300}") {
        let text = calendar(&person(&[job, long.clone()]));
        for line in text.split("\r\n") {
            prop_assert!(line.len() <= 75, "{} octets: {}", line.len(), line);
            prop_assert!(!line.contains(['\r', '\n']));
            prop_assert!(!line.chars().any(|c| c.is_control() && c != '\t'));
        }
        let read: Calendar = text.parse().expect("a calendar");
        prop_assert_eq!(read.components.len(), 4);
        let CalendarComponent::Event(event) = &read.components[0] else {
            return Err(TestCaseError::fail("not an event"));
        };
        let words: Vec<&str> = long.split_whitespace().collect();
        let told = event.property_value("DESCRIPTION").unwrap_or("");
        prop_assert!(told.ends_with(&words.join(" ")), "{}", told);
    }
}

#[test]
fn any_list_is_a_workbook_with_its_types() {
    let text = |text: &str| text.to_owned();
    let row = |cells: [&str; 4]| cells.map(str::to_owned).to_vec();
    let table = TableView {
        title: text("open: all"),
        columns: row(["finding", "days", "found", "what"]),
        rows: vec![
            row(["F-9", "12.5", "2032-01-14", "=1+1"]),
            row(["007", "-", "2032-02-30", "@SUM(A1)\n+x"]),
        ],
    };
    let facts = [(text("open"), text("2")), (text("as of"), text("2032-01-14"))];
    let bytes =
        tables_xlsx("Findings", &facts, std::slice::from_ref(&table)).expect("written");
    assert_eq!(tables_xlsx("Findings", &facts, &[table]).expect("written"), bytes);
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).expect("read");
    assert_eq!(book.sheet_names(), ["About", "open  all"]);
    let sheet = book.worksheet_range("open  all").expect("the sheet");
    let cell = |row, column| sheet.get((row, column)).expect("a cell");
    assert_eq!(cell(1, 1), &Data::Float(12.5));
    // Days since 1899-12-30 (ECMA-376, part 1, 18.17.4.1), as Python's datetime counts them.
    let Data::DateTime(found) = cell(1, 2) else { panic!("no day: {:?}", cell(1, 2)) };
    assert_eq!(found.as_f64(), 48_227.0);
    for (row, column, said) in [
        (1, 3, "=1+1"),
        (2, 0, "007"),
        (2, 1, "-"),
        (2, 2, "2032-02-30"),
        (2, 3, "@SUM(A1)\n+x"),
    ] {
        assert_eq!(cell(row, column), &Data::String(said.to_owned()));
    }
    assert!(
        book.worksheet_formula("open  all").expect("the sheet").is_empty(),
        "no formula"
    );
    let about = book.worksheet_range("About").expect("the sheet");
    assert_eq!(about.get((1, 1)), Some(&Data::Float(2.0)));
}
