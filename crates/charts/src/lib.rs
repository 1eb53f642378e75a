//! Finished view values to bytes.
//!
//! The season's time chart as SVG and as one self-contained HTML page, its jobs as CSV
//! and as a workbook, a person's days as a calendar file; a drawing of regions with the
//! state of each, and steps that come one before another as a graph, as SVG.
//!
//! **Knows** the view values in [`view`] and the five formats.
//!
//! **Never knows** a domain type, a file, a clock, a network or a query: everything that
//! is shown, even the text that says when the page was made, comes in finished. The
//! same view gives the same bytes.

mod calendar;
mod draw;
mod error;
mod frame;
mod grid;
mod html;
mod kind;
mod layout;
mod legend;
mod load;
mod paint;
mod progress;
mod regions;
mod scale;
mod steps;
mod svg;
mod table;
mod tables_book;
mod text;
mod timeline;
pub mod view;
mod workbook;

pub use calendar::calendar;
pub use error::ChartError;
pub use grid::{CellView, SheetView, sheets_xlsx};
pub use html::{fragment, html, script, stylesheet};
pub use kind::JobKind;
pub use progress::{ProgressPoint, progress_svg};
pub use regions::{
    LabelAt, Labels, PathPart, RegionState, RegionView, RegionsView, Room, Setting,
    ShapeView, SpotView, place_labels, regions_style, regions_svg,
};
pub use steps::{
    StepView, StepWeight, StepsLayout, StepsView, lay_out, steps_svg, steps_table,
};
pub use svg::{SvgOptions, svg};
pub use table::jobs_csv;
pub use tables_book::{TableView, tables_xlsx};
pub use timeline::{Beside, Window, still, timeline_json};
pub use view::{
    Bar, DayView, JobView, Lane, LaneSet, LoadView, LoadWeek, PersonDays, PlanView,
};
pub use workbook::jobs_xlsx;
