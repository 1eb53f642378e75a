//! What can go wrong.

/// Why a file could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ChartError {
    /// The workbook writer refused: more jobs than a sheet has rows, for instance.
    #[error("the workbook cannot be written")]
    Workbook(#[from] rust_xlsxwriter::XlsxError),
}
