//! A drawing of regions, each told by hatching, mark and word in what state it is.
//!
//! The places in the drawing are its own; they are brought to the size of the page by number,
//! so that lines, hatchings and letters keep their size whatever the drawing's unit is. Each
//! region is a link, reached by the keyboard, whose title says all that is known of it. A
//! label that does not fit where it belongs stands above or below, with a line to its place.

mod labels;
mod marks;
mod path;
mod state;
mod style;

pub use labels::{LabelAt, Labels, place_labels};
pub use path::PathPart;
pub use state::RegionState;
pub use style::regions_style;

use std::fmt::Write as _;

use crate::draw::n;
use crate::text::{self, escape};
use path::Scale;

/// A drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct RegionsView {
    /// A short word of letters and digits that no other drawing on the page has.
    pub id: String,
    /// What it is, in a line.
    pub title: String,
    /// From when it is and from where it is seen, in a line.
    pub subtitle: String,
    /// What must be said beside it.
    pub notices: Vec<String>,
    /// The corner of the drawing with the least x and y.
    pub least: (f64, f64),
    /// The corner with the greatest.
    pub most: (f64, f64),
    /// What is drawn, what lies below first.
    pub shapes: Vec<ShapeView>,
    /// The regions.
    pub regions: Vec<RegionView>,
    /// Marks on it.
    pub spots: Vec<SpotView>,
}

/// A mark on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct SpotView {
    /// Its place, in units of the drawing.
    pub at: (f64, f64),
    /// Its short name, which stands beside it.
    pub name: String,
    /// All that is known of it, in a line.
    pub title: String,
    /// Whether it is dealt with: it is hollow then.
    pub done: bool,
    /// Where its link leads, if it is one.
    pub link: Option<String>,
}

/// One shape.
#[derive(Debug, Clone, PartialEq)]
pub struct ShapeView {
    /// How it is drawn.
    pub path: Vec<PathPart>,
    /// Which region it belongs to; nothing for a plain line.
    pub region: Option<usize>,
}

/// A region.
#[derive(Debug, Clone, PartialEq)]
pub struct RegionView {
    /// Its short name, which is its label.
    pub name: String,
    /// What people call it.
    pub title: String,
    /// In what state it is.
    pub state: RegionState,
    /// A few letters more for the label, such as how many; may be empty.
    pub more: String,
    /// All that is known of it, a sentence each.
    pub facts: Vec<String>,
    /// Where its link leads, if it is one.
    pub link: Option<String>,
    /// Where its label could stand, the best first: the middle of a box that lies in it.
    pub rooms: Vec<Room>,
}

/// A box that lies in a region, in units of the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Room {
    /// Its middle.
    pub x: f64,
    /// Its middle.
    pub y: f64,
    /// Half its width.
    pub half_wide: f64,
    /// Half its height.
    pub half_high: f64,
}

/// How a drawing is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Setting {
    /// A file of its own, with its style and its heading.
    Alone,
    /// Part of a page that has [`regions_style`] and a heading of its own.
    InPage,
}

/// Width of the whole.
const WIDE: f64 = 1200.0;
/// Greatest height of the drawing itself.
const HIGH: f64 = 1050.0;
/// Room around the drawing.
const MARGIN: f64 = 24.0;

/// Where the labels above the drawing end, and where those below it begin.
struct Frame {
    above: f64,
    below: f64,
}

/// The drawing as SVG.
pub fn regions_svg(view: &RegionsView, setting: Setting) -> String {
    let (width, height) = (
        (view.most.0 - view.least.0).max(f64::EPSILON),
        (view.most.1 - view.least.1).max(f64::EPSILON),
    );
    let by = ((WIDE - 2.0 * MARGIN) / width).min(HIGH / height);
    let labels = place_labels(&view.regions, by, view.least, view.most, WIDE);
    let head = if setting == Setting::Alone { head_height(view) } else { 8.0 };
    let frame = Frame { above: head + labels.above, below: 0.0 };
    let top = frame.above + MARGIN / 2.0;
    let scale = Scale {
        by,
        left: (WIDE - width * by) / 2.0 - view.least.0 * by,
        top: top - view.least.1 * by,
    };
    let frame = Frame { below: top + height * by + MARGIN / 2.0, ..frame };
    let legend_top = frame.below + labels.below + 10.0;
    let (legend, legend_high) = marks::legend(view, legend_top);
    let high = legend_top + legend_high + 8.0;
    let mut out = String::with_capacity(16_000);
    open(&mut out, view, high, &scale);
    if setting == Setting::Alone {
        let _ = write!(out, "<style>{}</style>", regions_style());
        let _ = write!(
            out,
            r#"<rect class="rg-bg" width="{}" height="{}"/>"#,
            n(WIDE),
            n(high)
        );
        heading(&mut out, view);
    }
    let _ = write!(out, "<defs>{}</defs>", style::patterns(&plain(&view.id)));
    shapes(&mut out, view, &scale);
    // Words lie over lines.
    for label in labels.at.iter().flatten() {
        marks::leader(&mut out, label, &scale, &frame);
    }
    for (region, label) in view.regions.iter().zip(&labels.at) {
        if let Some(label) = label {
            marks::label(&mut out, region, label, &scale, &frame);
        }
    }
    for spot in &view.spots {
        marks::spot(&mut out, spot, &scale);
    }
    out.push_str(&legend);
    out.push_str("</svg>\n");
    out
}

/// What a script needs to find a place of the drawing: units are brought to the page by a
/// factor and then moved.
fn open(out: &mut String, view: &RegionsView, high: f64, scale: &Scale) {
    let id = plain(&view.id);
    let _ = write!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" class="rg" viewBox="0 0 {} {}" data-by="{}" data-left="{}" data-top="{}" role="group" aria-labelledby="{id}-title {id}-desc"><title id="{id}-title">{}</title><desc id="{id}-desc">{}</desc>"#,
        n(WIDE),
        n(high),
        scale.by,
        scale.left,
        scale.top,
        escape(&view.title),
        escape(&described(view))
    );
}

/// What the drawing says, for whoever cannot see it.
fn described(view: &RegionsView) -> String {
    let mut out = text::one_line(&view.subtitle);
    for region in &view.regions {
        let _ = write!(out, ". {}: {}", region.name, said(region));
    }
    for spot in &view.spots {
        let _ = write!(out, ". Mark {}", text::one_line(&spot.title));
    }
    out
}

/// State and count of a region, in words.
fn said(region: &RegionView) -> String {
    let more = text::one_line(&region.more);
    let word = region.state.word();
    if more.is_empty() { word.to_owned() } else { format!("{word} {more}") }
}

fn head_height(view: &RegionsView) -> f64 {
    66.0 + 17.0 * view.notices.len() as f64
}

fn heading(out: &mut String, view: &RegionsView) {
    let _ = write!(
        out,
        r#"<text class="rg-h" x="{0}" y="32">{1}</text><text class="rg-s" x="{0}" y="52">{2}</text>"#,
        n(MARGIN),
        escape(&view.title),
        escape(&view.subtitle)
    );
    for (row, notice) in view.notices.iter().enumerate() {
        let y = 70.0 + 17.0 * row as f64;
        let _ = write!(
            out,
            r#"<text class="rg-s" x="{}" y="{}">{}</text>"#,
            n(MARGIN),
            n(y),
            escape(notice)
        );
    }
}

fn shapes(out: &mut String, view: &RegionsView, scale: &Scale) {
    let mut seen = vec![false; view.regions.len()];
    for shape in &view.shapes {
        let path = path::data(&shape.path, scale);
        let Some((at, region)) =
            shape.region.and_then(|at| Some((at, view.regions.get(at)?)))
        else {
            let _ = write!(out, r#"<path class="rg-c" d="{path}"/>"#);
            continue;
        };
        // A region is named and reached once, however many shapes it has.
        let first = !std::mem::replace(&mut seen[at], true);
        let hidden = if first { "" } else { r#" aria-hidden="true" tabindex="-1""# };
        let (class, own) = (region.state.class(), escape(&region.name));
        let about = format!(r#"class="rg-z {class}" data-region="{own}""#);
        let name = title(region);
        let name = escape(&name);
        let end = if let Some(link) = &region.link {
            let _ = write!(
                out,
                r#"<a {about} href="{}" aria-label="{name}"{hidden}><title>{name}</title>"#,
                escape(link)
            );
            "</a>"
        } else {
            let _ = write!(out, r#"<g {about}{hidden}><title>{name}</title>"#);
            "</g>"
        };
        let _ = write!(
            out,
            r#"<path class="rg-f" fill="url(#{}-{})" d="{path}"/>{end}"#,
            plain(&view.id),
            region.state.number()
        );
    }
}

/// All that is known of a region.
fn title(region: &RegionView) -> String {
    let mut out =
        format!("{} {}: {}", region.name, text::one_line(&region.title), said(region));
    for fact in &region.facts {
        let _ = write!(out, ". {}", text::one_line(fact));
    }
    out
}

/// An identifier that needs no escaping, whatever was given.
fn plain(id: &str) -> String {
    let kept: String = id.chars().filter(char::is_ascii_alphanumeric).collect();
    format!("rg{kept}")
}
