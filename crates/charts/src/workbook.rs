//! Jobs and loads as a workbook (Office Open XML).

use std::borrow::Cow;

use jiff::civil::{Date, DateTime};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, Worksheet};

use crate::error::ChartError;
use crate::load;
use crate::table::{self, COLUMNS};
use crate::text;
use crate::view::{JobView, PlanView};

/// The most UTF-16 units that a cell of a workbook can hold.
pub(crate) const CELL: usize = 32_767;
const START: usize = 5;
const FINISH: usize = 6;
const WIDTHS: [f64; COLUMNS.len()] = [
    20.0, 38.0, 20.0, 10.0, 22.0, 19.0, 19.0, 8.0, 26.0, 18.0, 16.0, 22.0, 50.0, 12.0,
    9.0, 7.0, 30.0,
];

/// The cell formats of one workbook.
struct Formats {
    head: Format,
    moment: Format,
    date: Format,
    hours: Format,
}

/// The plan as a workbook with three sheets: the jobs, the hours by skill, and what must
/// be read with them (title, notices, figures, when it was made).
///
/// Text is stored as text, so that a name which starts with `=` stays a name. Starts and
/// finishes are date cells. A moment that the format cannot hold (before 1900 or after
/// 9999) is stored as text, and a text longer than a cell (32 767 units) is cut and ends
/// with `…`. The workbook's own date of creation is always 1980-01-01: no clock is known
/// here, and the same plan gives the same bytes.
///
/// # Errors
///
/// [`ChartError::Workbook`] if there are more rows than a sheet can hold (1 048 576).
pub fn jobs_xlsx(view: &PlanView) -> Result<Vec<u8>, ChartError> {
    let mut book = Workbook::new();
    book.set_properties(
        &DocProperties::new()
            .set_title(&*shorten(&view.title, 255))
            .set_comment(&*shorten(&view.made, 255))
            .set_creation_datetime(&ExcelDateTime::from_ymd(1980, 1, 1)?),
    );
    let formats = Formats {
        head: Format::new().set_bold().set_background_color(0x00E3_DFD2).set_text_wrap(),
        moment: Format::new().set_num_format("ddd d mmm yyyy hh:mm"),
        date: Format::new().set_num_format("ddd d mmm yyyy"),
        hours: Format::new().set_num_format("0.0"),
    };
    jobs(book.add_worksheet(), view, &formats)?;
    loads(book.add_worksheet(), view, &formats)?;
    about(book.add_worksheet(), view, &formats)?;
    Ok(book.save_to_buffer()?)
}

fn jobs(
    sheet: &mut Worksheet,
    view: &PlanView,
    formats: &Formats,
) -> Result<(), ChartError> {
    set_up(sheet, "Jobs", &COLUMNS, &WIDTHS, formats)?;
    for (at, job) in view.jobs.iter().enumerate() {
        job_row(sheet, at as u32 + 1, job, formats)?;
    }
    sheet.autofilter(0, 0, view.jobs.len() as u32, COLUMNS.len() as u16 - 1)?;
    Ok(())
}

fn job_row(
    sheet: &mut Worksheet,
    row: u32,
    job: &JobView,
    formats: &Formats,
) -> Result<(), ChartError> {
    let (people, after) = (job.people.join("; "), job.after.join("; "));
    let texts: [(u16, &str); 14] = [
        (0, &job.key),
        (1, &job.name),
        (2, &job.pack),
        (3, job.kind.word()),
        (4, job.item.as_deref().unwrap_or("")),
        (8, &people),
        (9, job.stand.as_deref().unwrap_or("")),
        (10, job.place.as_deref().unwrap_or("")),
        (11, job.firm.as_deref().unwrap_or("")),
        (12, &job.why),
        (13, job.slack.as_deref().unwrap_or("")),
        (14, table::yes_no(job.driving)),
        (15, table::yes_no(job.done)),
        (16, &after),
    ];
    for (column, said) in texts {
        if !said.is_empty() {
            sheet.write_string(row, column, &*cell(said))?;
        }
    }
    moment(sheet, row, START as u16, job.start, formats)?;
    moment(sheet, row, FINISH as u16, job.finish, formats)?;
    sheet.write_number_with_format(row, 7, table::hours(job), &formats.hours)?;
    Ok(())
}

fn loads(
    sheet: &mut Worksheet,
    view: &PlanView,
    formats: &Formats,
) -> Result<(), ChartError> {
    let columns = ["skill", "week from", "hours needed", "hours there", "hours short"];
    set_up(sheet, "Hours by skill", &columns, &[24.0, 17.0, 14.0, 14.0, 14.0], formats)?;
    let mut row = 0;
    for skill in &view.loads {
        for week in &skill.weeks {
            row += 1;
            sheet.write_string(row, 0, &*cell(&skill.skill))?;
            match excel_date(week.monday) {
                Some(date) => sheet.write_with_format(row, 1, &date, &formats.date)?,
                None => sheet.write_string(row, 1, week.monday.to_string())?,
            };
            let short = load::short(week).unwrap_or(0.0);
            let values = [load::hours(week.needed), load::hours(week.there), short];
            for (at, value) in values.into_iter().enumerate() {
                sheet.write_number_with_format(
                    row,
                    2 + at as u16,
                    value,
                    &formats.hours,
                )?;
            }
        }
    }
    sheet.autofilter(0, 0, row, columns.len() as u16 - 1)?;
    Ok(())
}

fn about(
    sheet: &mut Worksheet,
    view: &PlanView,
    formats: &Formats,
) -> Result<(), ChartError> {
    sheet.set_name("About")?;
    sheet.set_column_width(0, 28)?.set_column_width(1, 90)?;
    let complete = view.complete.map_or("no date yet".to_owned(), text::moment_and_year);
    let gate = text::day_and_year(view.gate.1);
    let mut pairs: Vec<(&str, &str)> = vec![("Plan", &view.title), ("", &view.subtitle)];
    pairs.extend(view.notices.iter().map(|notice| ("Notice", notice.as_str())));
    pairs.push((&view.gate.0, &gate));
    pairs.push(("Complete", &complete));
    pairs
        .extend(view.summary.iter().map(|(name, value)| (name.as_str(), value.as_str())));
    pairs.push(("Made", &view.made));
    pairs.retain(|(_, value)| !value.is_empty());
    for (row, (name, value)) in pairs.into_iter().enumerate() {
        sheet.write_string_with_format(row as u32, 0, &*cell(name), &formats.head)?;
        sheet.write_string(row as u32, 1, &*cell(value))?;
    }
    Ok(())
}

/// Name, header row, widths, and how the sheet prints.
fn set_up(
    sheet: &mut Worksheet,
    name: &str,
    columns: &[&str],
    widths: &[f64],
    formats: &Formats,
) -> Result<(), ChartError> {
    sheet.set_name(name)?;
    for (at, (column, width)) in columns.iter().zip(widths).enumerate() {
        sheet.write_string_with_format(0, at as u16, *column, &formats.head)?;
        sheet.set_column_width(at as u16, *width)?;
    }
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_landscape();
    // Paper size 8 is A3 (ECMA-376, part 1, 18.3.1.63).
    sheet.set_paper_size(8);
    sheet.set_print_fit_to_pages(1, 0);
    Ok(())
}

fn moment(
    sheet: &mut Worksheet,
    row: u32,
    column: u16,
    at: DateTime,
    formats: &Formats,
) -> Result<(), ChartError> {
    let value = excel_date(at.date())
        .and_then(|date| date.and_hms(at.hour() as u16, at.minute() as u8, 0.0).ok());
    match value {
        Some(value) => sheet.write_with_format(row, column, &value, &formats.moment)?,
        None => sheet.write_string(row, column, text::iso(at))?,
    };
    Ok(())
}

pub(crate) fn excel_date(date: Date) -> Option<ExcelDateTime> {
    let year = u16::try_from(date.year()).ok()?;
    ExcelDateTime::from_ymd(year, date.month() as u8, date.day() as u8).ok()
}

pub(crate) fn cell(raw: &str) -> Cow<'_, str> {
    shorten(raw, CELL)
}

/// The text with at most that many UTF-16 units, without unlawful characters.
pub(crate) fn shorten(raw: &str, most: usize) -> Cow<'_, str> {
    let clean = text::lawful_text(raw);
    if clean.encode_utf16().count() <= most {
        return clean;
    }
    let mut out = String::new();
    let mut units = 1;
    for c in clean.chars() {
        units += c.len_utf16();
        if units > most {
            break;
        }
        out.push(c);
    }
    out.push('…');
    Cow::Owned(out)
}
