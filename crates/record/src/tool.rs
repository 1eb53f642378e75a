//! Tools and instruments.

use crate::ToolId;

/// A tool that is counted out and in, or an instrument.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tool {
    /// Its name in the programme, as it is marked on it.
    pub id: ToolId,
    /// What people call it.
    pub name: String,
    /// It measures, so it needs a calibration that has not run out.
    pub measures: bool,
    /// What it can measure.
    pub range: Option<String>,
}

impl crate::Named for Tool {
    type Name = ToolId;
    const NOUN: &'static str = "tool";

    fn name(&self) -> &ToolId {
        &self.id
    }
}
