//! What the fills, marks and shadings mean.

use std::fmt::Write as _;

use crate::kind::JobKind;
use crate::paint;
use crate::view::PlanView;

/// Width of a swatch.
pub(crate) const SWATCH: f64 = 26.0;
/// Height of a swatch.
pub(crate) const SWATCH_HEIGHT: f64 = 16.0;

/// The entries that this plan needs: a swatch with its upper left corner at 0, and words.
pub(crate) fn entries(view: &PlanView) -> Vec<(String, String)> {
    let mut out = Vec::new();
    for kind in JobKind::ALL {
        if view.jobs.iter().any(|job| job.kind == kind) {
            out.push((swatch(kind, ""), format!("{} {}", kind.mark(), kind.word())));
        }
    }
    if view.jobs.iter().any(|job| job.driving) {
        let mut drawing = swatch(JobKind::Other, " dr");
        drawing.push_str(r#"<path class="u" d="M1 14h24v2h-24z"/>"#);
        out.push((drawing, "◆ sets the date".to_owned()));
    }
    if view.jobs.iter().any(|job| job.done) {
        out.push((swatch(JobKind::Refit, " dn"), "✓ done".to_owned()));
    }
    if view.jobs.iter().any(|job| job.working.len() > 1) {
        out.push((r#"<path class="p" d="M2 8H24"/>"#.to_owned(), "paused".to_owned()));
    }
    if has_held(view) {
        out.push((
            r#"<path class="hd" d="M2 5h22v6h-22z"/>"#.to_owned(),
            "held, no work".to_owned(),
        ));
    }
    out.push((ground("we"), "weekend".to_owned()));
    if !view.closed.is_empty() {
        out.push((ground("cl"), "closed".to_owned()));
    }
    out
}

/// What the strips of hours mean.
pub(crate) fn load_entries() -> Vec<(String, String)> {
    let swatch =
        |class| format!(r#"<rect class="{class}" x="6" y="2" width="14" height="12"/>"#);
    vec![
        (swatch("th"), "hours there".to_owned()),
        (swatch("nd"), "hours needed".to_owned()),
        (swatch("ov"), "hours short".to_owned()),
    ]
}

/// A small bar of the kind.
pub(crate) fn swatch(kind: JobKind, more: &str) -> String {
    let mut out = String::new();
    let _ = write!(
        out,
        r#"<g class="k{}{more}"><path class="w" d="M2 2h22v12h-22z"/></g>"#,
        paint::number(kind)
    );
    out
}

fn ground(class: &str) -> String {
    format!(r#"<rect class="{class}" x="1" y="1" width="24" height="14"/>"#)
}

fn has_held(view: &PlanView) -> bool {
    view.lanes.iter().flat_map(|set| &set.lanes).flat_map(|lane| &lane.bars).any(|bar| {
        view.jobs
            .get(bar.job)
            .is_some_and(|job| bar.from < job.start || bar.until > job.finish)
    })
}
