//! Labels and legend as drawing elements.

use std::fmt::Write as _;

use super::labels::{LabelAt, ROW};
use super::path::Scale;
use super::{
    Frame, MARGIN, RegionState, RegionView, RegionsView, SpotView, WIDE, plain, said,
};
use crate::draw::n;
use crate::text::{self, escape};

/// One label; the link of its region says the same, so it is for eyes alone.
pub(super) fn label(
    out: &mut String,
    region: &RegionView,
    label: &LabelAt,
    scale: &Scale,
    frame: &Frame,
) {
    let name = escape(&region.name);
    let state = format!("{} {}", region.state.mark(), said(region));
    let state = escape(&state);
    match *label {
        LabelAt::Two(place) => {
            let (x, y) = scale.place(place);
            let _ = write!(
                out,
                r#"<g class="rg-l" aria-hidden="true"><text class="rg-n" x="{0}" y="{1}">{name}</text><text x="{0}" y="{2}">{state}</text></g>"#,
                n(x),
                n(y - 2.0),
                n(y + 11.0)
            );
        }
        LabelAt::One(place) => {
            let (x, y) = scale.place(place);
            let _ = write!(
                out,
                r#"<text class="rg-l" aria-hidden="true" x="{}" y="{}"><tspan class="rg-n">{name}</tspan><tspan dx="4">{state}</tspan></text>"#,
                n(x),
                n(y + 4.0)
            );
        }
        LabelAt::Outside { to: _, middle, half: _, above, row } => {
            let depth = ROW * f64::from(row);
            let text = if above {
                frame.above - depth - 20.0
            } else {
                frame.below + depth + 13.0
            };
            let (open, close) = around(region);
            let _ = write!(
                out,
                r#"{open}<text class="rg-n" x="{0}" y="{1}">{name}</text><text x="{0}" y="{2}">{state}</text>{close}"#,
                n(middle),
                n(text),
                n(text + 13.0)
            );
        }
    }
}

/// A mark: a ring with a cross in it, and its name beside it.
pub(super) fn spot(out: &mut String, spot: &SpotView, scale: &Scale) {
    let (x, y) = scale.place(spot.at);
    let name = escape(&spot.name);
    let title = text::one_line(&spot.title);
    let title = escape(&title);
    let class = if spot.done { "rg-p rg-pd" } else { "rg-p" };
    let end = if let Some(link) = &spot.link {
        let _ = write!(
            out,
            r#"<a class="{class}" href="{}" aria-label="{title}"><title>{title}</title>"#,
            escape(link)
        );
        "</a>"
    } else {
        let _ = write!(out, r#"<g class="{class}"><title>{title}</title>"#);
        "</g>"
    };
    let _ = write!(
        out,
        r#"<circle cx="{0}" cy="{1}" r="9"/><path d="M{2} {1}h10M{0} {3}v10"/>"#,
        n(x),
        n(y),
        n(x - 5.0),
        n(y - 5.0)
    );
    // Near the right edge the name stands to the left.
    let (at, anchor) =
        if x > WIDE - 120.0 { (x - 13.0, "end") } else { (x + 13.0, "start") };
    let _ = write!(
        out,
        r#"<text class="rg-n" text-anchor="{anchor}" x="{}" y="{}">{name}</text>{end}"#,
        n(at),
        n(y + 4.0)
    );
}

/// The line from a label outside to its place, with a dot there.
pub(super) fn leader(out: &mut String, label: &LabelAt, scale: &Scale, frame: &Frame) {
    let LabelAt::Outside { to, middle, half: _, above, row } = *label else { return };
    let (x, y) = scale.place(to);
    let depth = ROW * f64::from(row);
    let end = if above { frame.above - depth - 2.0 } else { frame.below + depth + 2.0 };
    let _ = write!(
        out,
        r#"<path class="rg-ld" d="M{0} {1}L{2} {3}"/><circle class="rg-d" cx="{0}" cy="{1}" r="2.4"/>"#,
        n(x),
        n(y),
        n(middle),
        n(end)
    );
}

fn around(region: &RegionView) -> (String, &'static str) {
    match &region.link {
        Some(link) => {
            let link = escape(link);
            (
                format!(
                    r#"<a class="rg-o" href="{link}" tabindex="-1" aria-hidden="true">"#
                ),
                "</a>",
            )
        }
        None => (r#"<g class="rg-o" aria-hidden="true">"#.to_owned(), "</g>"),
    }
}

/// What the hatchings that are used mean, and its height.
pub(super) fn legend(view: &RegionsView, top: f64) -> (String, f64) {
    let mut out = String::new();
    let (mut x, mut y) = (MARGIN, top);
    let used = RegionState::ALL
        .into_iter()
        .filter(|state| view.regions.iter().any(|region| region.state == *state));
    for state in used {
        let words = format!("{} {}", state.mark(), state.word());
        let wide = 32.0 + text::width(&words, 11.0) + 22.0;
        if x + wide > WIDE - MARGIN {
            x = MARGIN;
            y += 24.0;
        }
        let _ = write!(
            out,
            r#"<path class="rg-w" fill="url(#{}-{})" d="M{} {}h26v16h-26z"/><text x="{}" y="{}">{}</text>"#,
            plain(&view.id),
            state.number(),
            n(x),
            n(y),
            n(x + 32.0),
            n(y + 12.0),
            escape(&words)
        );
        x += wide;
    }
    (format!(r#"<g aria-hidden="true">{out}</g>"#), y - top + 18.0)
}
