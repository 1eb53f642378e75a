//! Spreadsheets: what they hold, and what is wrong with them, by sheet and cell.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use folder::{Reading, Report, read, skeleton};
use jiff::civil::{date, datetime};
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook, Worksheet};

/// The skeleton, with one of its lists as a workbook instead.
fn with(list: &str, fill: impl FnOnce(&mut Worksheet)) -> Result<Reading, Report> {
    let mut book = Workbook::new();
    fill(book.add_worksheet());
    with_book(list, &mut book)
}

fn with_book(list: &str, book: &mut Workbook) -> Result<Reading, Report> {
    let folder = tempfile::tempdir().unwrap();
    for (name, content) in skeleton() {
        if name.split('.').next() != Some(list) {
            std::fs::write(folder.path().join(name), content).unwrap();
        }
    }
    book.save(folder.path().join(format!("{list}.xlsx"))).unwrap();
    read(folder.path())
}

fn line(sheet: &mut Worksheet, row: u32, cells: &[&str]) {
    for (column, cell) in cells.iter().enumerate() {
        if !cell.is_empty() {
            sheet.write(row, column as u16, *cell).unwrap();
        }
    }
}

const FINDINGS: [&str; 6] = ["id", "item", "what", "condition", "found", "measured"];

fn one_error(result: Result<Reading, Report>, place: &str, part: &str) {
    let report = result.err().unwrap();
    assert_eq!(report.errors.len(), 1, "{report}");
    let shown = report.errors[0].to_string();
    assert!(shown.starts_with(&format!("{place}: error: ")), "{place}\n{shown}");
    assert!(shown.contains(part), "{part}\n{shown}");
}

#[test]
fn values_are_what_people_see() {
    let day = Format::new().set_num_format("yyyy-mm-dd");
    let reading = with("findings", |sheet| {
        line(sheet, 0, &FINDINGS);
        line(sheet, 1, &["F-1", "PROP", "a nick", "unknown"]);
        sheet
            .write_with_format(1, 4, ExcelDateTime::from_ymd(2031, 9, 13).unwrap(), &day)
            .unwrap();
        // A number in a text field, without the point that the file keeps.
        sheet.write(1, 5, 12.0).unwrap();
        // A date that lost its format is a count of days.
        line(sheet, 2, &["F-2", "PROP", "another", "unknown"]);
        sheet.write(2, 4, 48_101.0).unwrap();
        sheet.write(2, 5, 0.25).unwrap();
        // A formula counts with its value.
        sheet.write(3, 0, Formula::new("=\"F-\"&3").set_result("F-3")).unwrap();
        line(sheet, 3, &["", "PROP", "a third", "unknown", "2031-09-15"]);
    })
    .unwrap_or_else(|report| panic!("{report}"));
    let findings: Vec<_> = reading.programme.findings.iter().collect();
    assert_eq!(findings.len(), 3);
    assert_eq!(findings[0].found, Some(date(2031, 9, 13)));
    assert_eq!(findings[0].measured.as_deref(), Some("12"));
    // 48101 days, as spreadsheet programs count them, are 10 September 2031.
    assert_eq!(findings[1].found, Some(date(2031, 9, 10)));
    assert_eq!(findings[1].measured.as_deref(), Some("0.25"));
    assert_eq!(findings[2].id.as_str(), "F-3");
}

#[test]
fn times_and_truths() {
    let stamp = Format::new().set_num_format("yyyy-mm-dd hh:mm");
    let reading = with("actuals", |sheet| {
        line(sheet, 0, &["job", "started", "finished"]);
        line(sheet, 1, &["OFF:PROP"]);
        let at = |hour, minute| {
            ExcelDateTime::from_ymd(2031, 11, 3)
                .unwrap()
                .and_hms(hour, minute, 0)
                .unwrap()
        };
        sheet.write_with_format(1, 1, at(8, 0), &stamp).unwrap();
        sheet.write_with_format(1, 2, at(10, 20), &stamp).unwrap();
    })
    .unwrap_or_else(|report| panic!("{report}"));
    let actual = reading.programme.actuals.iter().next().unwrap();
    let (from, until) =
        (datetime(2031, 11, 3, 8, 0, 0, 0), datetime(2031, 11, 3, 10, 20, 0, 0));
    assert_eq!(actual.state, record::State::Done { from, until });

    let reading = with("places", |sheet| {
        line(sheet, 0, &["id", "name", "room", "heated", "dry"]);
        line(sheet, 1, &["BENCH", "Bench"]);
        sheet.write(1, 2, 2).unwrap();
        sheet.write(1, 3, true).unwrap();
        sheet.write(1, 4, "yes").unwrap();
    })
    .unwrap_or_else(|report| panic!("{report}"));
    let place = reading.programme.places.iter().next().unwrap();
    assert_eq!((place.room, place.heated, place.dry), (2, true, true));
}

#[test]
fn a_title_trailing_blanks_and_other_sheets_do_no_harm() {
    let mut book = Workbook::new();
    line(book.add_worksheet().set_name("Notes").unwrap(), 0, &["nothing", "of", "use"]);
    let sheet = book.add_worksheet().set_name("Skills").unwrap();
    sheet.merge_range(0, 0, 0, 3, "Skills of the group, 2031", &Format::new()).unwrap();
    line(sheet, 2, &["", "Name", "ID", ""]);
    line(sheet, 4, &["", "Fitter  ", " fitter"]);
    line(sheet, 5, &["", " ", "  "]);
    line(sheet, 6, &["", "Inspector", "inspector"]);
    sheet.write_blank(900, 2, &Format::new().set_bold()).unwrap();
    sheet.write(901, 1, "   ").unwrap();
    let reading =
        with_book("skills", &mut book).unwrap_or_else(|report| panic!("{report}"));
    let names: Vec<&str> =
        reading.programme.skills.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names, ["Fitter", "Inspector"]);
    assert_eq!(reading.warnings, []);
}

#[test]
fn of_merged_cells_only_the_first_holds_the_value() {
    let plain = Format::new();
    let result = with("findings", |sheet| {
        line(sheet, 0, &FINDINGS);
        line(sheet, 1, &["F-1", "", "one", "unknown"]);
        line(sheet, 2, &["F-2", "", "two", "unknown"]);
        line(sheet, 3, &["F-3", "", "three", "unknown"]);
        sheet.merge_range(1, 1, 3, 1, "PROP", &plain).unwrap();
    });
    let report = result.err().unwrap();
    let shown: Vec<String> = report.errors.iter().map(ToString::to_string).collect();
    assert_eq!(shown.len(), 2, "{report}");
    for (shown, place) in shown.iter().zip(["B3", "B4"]) {
        let start = format!(
            "findings.xlsx:Sheet1!{place}: error: item: of the merged cells B2:B4"
        );
        assert!(shown.starts_with(&start), "{shown}");
    }

    // In a field that may be blank it is worth a warning.
    let reading = with("findings", |sheet| {
        line(sheet, 0, &FINDINGS);
        line(sheet, 1, &["F-1", "PROP", "one", "unknown"]);
        line(sheet, 2, &["F-2", "PROP", "two", "unknown"]);
        sheet.merge_range(1, 5, 2, 5, "not measured", &plain).unwrap();
    })
    .unwrap_or_else(|report| panic!("{report}"));
    assert_eq!(reading.warnings.len(), 1);
    let shown = reading.warnings[0].to_string();
    assert!(
        shown.starts_with("findings.xlsx:Sheet1!F3: warning: measured: of the merged"),
        "{shown}"
    );
}

#[test]
fn mistakes_have_their_cell() {
    let day = Format::new().set_num_format("yyyy-mm-dd");
    let spoilt = |spoil: &dyn Fn(&mut Worksheet)| {
        with("findings", |sheet| {
            line(sheet, 0, &FINDINGS);
            line(sheet, 1, &["F-1", "PROP", "a nick", "unknown"]);
            spoil(sheet);
        })
    };
    let put = |row: u32, column: u16, text: &'static str| {
        spoilt(&move |sheet| {
            sheet.write(row, column, text).unwrap();
        })
    };
    one_error(put(1, 1, "PORP"), "findings.xlsx:Sheet1!B2", "is PROP meant?");
    one_error(
        put(1, 3, "bad"),
        "findings.xlsx:Sheet1!D2",
        "condition: `bad` is not one of",
    );
    one_error(put(1, 4, "2031-02-30"), "findings.xlsx:Sheet1!E2", "there is no such day");
    one_error(put(0, 4, "fuond"), "findings.xlsx:Sheet1!E1", "did you mean `found`?");
    one_error(put(0, 4, "what"), "findings.xlsx:Sheet1!E1", "a second time");
    let nameless = spoilt(&|sheet| line(sheet, 2, &["", "PROP", "a crack", "unknown"]));
    one_error(nameless, "findings.xlsx:Sheet1!A3", "this finding has no `id`");
    let number = spoilt(&|sheet| {
        sheet.write(1, 4, 13.5).unwrap();
    });
    one_error(number, "findings.xlsx:Sheet1!E2", "the number 13.5 is not a date");
    let turned = spoilt(&|sheet| {
        let stamp = ExcelDateTime::from_ymd(2031, 4, 3).unwrap();
        sheet.write_with_format(1, 5, stamp, &day).unwrap();
    });
    one_error(turned, "findings.xlsx:Sheet1!F2", "format the column as text");
    let broken = spoilt(&|sheet| {
        sheet.write(1, 5, Formula::new("=1/0").set_result("#DIV/0!")).unwrap();
    });
    one_error(broken, "findings.xlsx:Sheet1!F2", "the cell holds the error #DIV/0!");
    let lonely = spoilt(&|sheet| {
        sheet.write(70, 2, "out of place").unwrap();
    });
    let report = lonely.err().unwrap();
    // It has no name, no item and no condition.
    assert_eq!(report.errors.len(), 3, "{report}");
    assert!(
        report.errors.iter().all(|error| error.to_string().contains("Sheet1!")),
        "{report}"
    );
}

#[test]
fn a_cell_at_the_end_of_the_sheet_is_refused_and_not_padded_up_to() {
    let result = with("skills", |sheet| {
        line(sheet, 0, &["id", "name"]);
        sheet.write(1_048_575, 16_383, "x").unwrap();
    });
    let report = result.err().unwrap();
    let shown = report.errors[0].to_string();
    assert!(
        shown.starts_with("skills.xlsx:Sheet1!XFD1048576: error: the sheet is larger"),
        "{shown}"
    );
}

#[test]
fn an_empty_workbook() {
    let result = with("packs", |_| {});
    one_error(result, "packs.xlsx:Sheet1!A1", "the file is empty");
}
