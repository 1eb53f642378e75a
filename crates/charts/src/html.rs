//! The time chart as one page.

use crate::text::escape;
use crate::view::PlanView;

/// The whole plan as one page that needs no network and no other file.
pub fn html(view: &PlanView) -> String {
    format!("<!doctype html><title>{}</title>", escape(&view.title))
}
