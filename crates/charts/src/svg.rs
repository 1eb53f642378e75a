//! The time chart as one drawing.

use std::fmt::Write as _;

use crate::draw::{self, Wrap, n};
use crate::frame;
use crate::layout;
use crate::legend;
use crate::load;
use crate::paint;
use crate::scale::Scale;
use crate::text::{self, escape};
use crate::view::PlanView;

/// Width of the column of names.
const NAMES: f64 = 172.0;
const EDGE: f64 = 14.0;
const LEAST_WIDTH: f64 = 700.0;

/// How the drawing is made.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SvgOptions {
    /// Width of the drawing in pixels; less than 700, or no number, counts as 700, more
    /// than 20 000 as that.
    pub width: f64,
    /// Whether the hours by skill are drawn under the lanes.
    pub loads: bool,
}

impl Default for SvgOptions {
    fn default() -> Self {
        Self { width: 1500.0, loads: true }
    }
}

/// A drawing that grows downwards.
struct Sheet<'a> {
    view: &'a PlanView,
    scale: Scale,
    width: f64,
    y: f64,
    out: String,
}

/// The time chart of one lane set as a drawing that needs no other file. A lane set that
/// isn't there gives the chart without lanes.
///
/// The drawing has the colours of paper; hatchings, marks and words carry the meaning,
/// so it may be printed in grey.
pub fn svg(view: &PlanView, lane_set: usize, options: SvgOptions) -> String {
    let width = if options.width.is_finite() { options.width } else { LEAST_WIDTH };
    let width = width.clamp(LEAST_WIDTH, 20_000.0);
    let scale = Scale::of(view, width - NAMES - EDGE);
    let mut sheet = Sheet { view, scale, width, y: 0.0, out: String::new() };
    sheet.heading();
    sheet.chart(lane_set);
    if options.loads && !view.loads.is_empty() {
        sheet.loads();
    }
    sheet.legend(options.loads && !view.loads.is_empty());
    sheet.finish()
}

impl Sheet<'_> {
    fn heading(&mut self) {
        self.y = 30.0;
        let title = text::one_line(&self.view.title);
        self.line(&title, "hl", 19.0, 0.0);
        let subtitle = text::one_line(&self.view.subtitle);
        if !subtitle.is_empty() {
            self.y += 18.0;
            self.line(&subtitle, "sb", 12.0, 0.0);
        }
        for notice in &self.view.notices {
            let notice = text::one_line(notice);
            for part in wrap(&notice, 12.5, self.width - 2.0 * EDGE) {
                self.y += 17.0;
                self.line(&part, "no", 12.0, 0.0);
            }
        }
        if !self.view.summary.is_empty() {
            let pairs: Vec<String> = self
                .view
                .summary
                .iter()
                .map(|(name, value)| text::one_line(&format!("{name}: {value}")))
                .collect();
            for part in wrap(&pairs.join("   ·   "), 12.5, self.width - 2.0 * EDGE) {
                self.y += 17.0;
                self.line(&part, "sb", 12.0, 0.0);
            }
        }
        self.y += 14.0;
    }

    fn chart(&mut self, lane_set: usize) {
        let view = self.view;
        let head = frame::head(view, &self.scale);
        let set = view.lanes.get(lane_set);
        if let Some(set) = set {
            let (y, name) = (self.y + head.height - 5.0, text::one_line(&set.name));
            self.name_at(y, &name, "nt", 12.0);
        }
        let _ = write!(
            self.out,
            r#"<g transform="translate({NAMES} {})">{}</g>"#,
            n(self.y),
            head.drawing
        );
        self.y += head.height;
        let Some(set) = set else { return };
        let laid = layout::lay(view, set, &self.scale);
        let heights: Vec<f64> =
            laid.iter().zip(&set.lanes).map(|(l, lane)| l.height(lane)).collect();
        let mut bars = String::new();
        let mut y = 0.0;
        for ((lane, laid), height) in set.lanes.iter().zip(&laid).zip(&heights) {
            let drawn = draw::bars(view, laid, &self.scale, Wrap::Group);
            let _ = write!(bars, r#"<g transform="translate(0 {})">{drawn}</g>"#, n(y));
            self.lane_name((self.y + y, *height), &lane.name, &lane.note);
            y += height;
        }
        self.plot(y, &bars);
        self.y += y;
    }

    fn loads(&mut self) {
        let view = self.view;
        self.y += 12.0;
        self.name_at(self.y + 12.0, "Hours by skill, by week", "ln", 11.5);
        self.y += 20.0;
        let mut strips = String::new();
        let mut y = 0.0;
        for load in &view.loads {
            let drawn = load::strip(load, &self.scale);
            let _ = write!(strips, r#"<g transform="translate(0 {})">{drawn}</g>"#, n(y));
            self.lane_name((self.y + y, load::HEIGHT), &load.skill, &load::note(load));
            y += load::HEIGHT;
        }
        self.plot(y, &strips);
        self.y += y;
    }

    /// Ground, what is drawn on it, and the lines over it.
    fn plot(&mut self, height: f64, drawn: &str) {
        let _ = write!(
            self.out,
            r#"<svg x="{NAMES}" y="{}" width="{}" height="{}">{}{drawn}{}</svg>"#,
            n(self.y),
            n(self.scale.width),
            n(height),
            frame::ground(self.view, &self.scale),
            frame::lines(self.view, &self.scale)
        );
        self.rule("mo", self.y + height);
    }

    fn legend(&mut self, with_loads: bool) {
        let mut entries = legend::entries(self.view);
        if with_loads {
            entries.extend(legend::load_entries());
        }
        self.y += 16.0;
        let mut x = EDGE;
        for (swatch, words) in entries {
            let wide = legend::SWATCH + 4.0 + text::width(&words, 11.0) + 16.0;
            if x + wide > self.width - EDGE && x > EDGE {
                x = EDGE;
                self.y += 20.0;
            }
            let _ = write!(
                self.out,
                r#"<g transform="translate({} {})">{swatch}<text x="{}" y="12">{words}</text></g>"#,
                n(x),
                n(self.y),
                legend::SWATCH + 4.0
            );
            x += wide;
        }
        self.y += 36.0;
        let made = text::one_line(&self.view.made);
        self.line(&made, "nt", 10.0, 0.0);
        self.y += 12.0;
    }

    fn finish(self) -> String {
        let (width, height) = (n(self.width), n(self.y));
        let title = text::one_line(&self.view.title);
        let title = escape(&title);
        format!(
            concat!(
                r#"<svg xmlns="http://www.w3.org/2000/svg" width="{w}" height="{h}" "#,
                r#"viewBox="0 0 {w} {h}" role="img" aria-label="{title}"><title>{title}</title>"#,
                "<style>{style}</style><defs>{patterns}</defs>",
                r#"<rect class="bg0" width="{w}" height="{h}"/>{body}</svg>"#
            ),
            w = width,
            h = height,
            title = title,
            style = paint::paper_style(),
            patterns = paint::patterns(),
            body = self.out
        )
    }

    fn line(&mut self, said: &str, class: &str, size: f64, indent: f64) {
        let room = self.width - 2.0 * EDGE - indent;
        let Some(said) = text::fit(said, size * 1.06, room, 1) else { return };
        let _ = write!(
            self.out,
            r#"<text class="{class}" x="{}" y="{}">{}</text>"#,
            n(EDGE + indent),
            n(self.y),
            escape(&said)
        );
    }

    fn lane_name(&mut self, (y, height): (f64, f64), name: &str, note: &str) {
        self.rule("rl", y);
        let (name, note) = (text::one_line(name), text::one_line(note));
        self.name_at(y + 15.0, &name, "ln", 12.4);
        let lines = ((height - 18.0) / 12.0).floor().max(1.0) as usize;
        let mut parts = wrap(&note, 10.0, NAMES - EDGE - 8.0);
        if parts.len() > lines {
            let rest = parts.split_off(lines - 1).join(" ");
            parts.push(rest);
        }
        for (at, part) in parts.iter().enumerate() {
            self.name_at(y + 28.0 + 12.0 * at as f64, part, "nt", 10.0);
        }
    }

    fn name_at(&mut self, y: f64, said: &str, class: &str, size: f64) {
        let Some(fits) = text::fit(said, size, NAMES - EDGE - 8.0, 1) else { return };
        let _ = write!(
            self.out,
            r#"<text class="{class}" x="{EDGE}" y="{}">{}"#,
            n(y),
            escape(&fits)
        );
        if fits != said {
            let _ = write!(self.out, "<title>{}</title>", escape(said));
        }
        self.out.push_str("</text>");
    }

    fn rule(&mut self, class: &str, y: f64) {
        let _ = write!(
            self.out,
            r#"<rect class="{class}" x="{EDGE}" y="{}" width="{}" height="1"/>"#,
            n(y),
            n(self.width - 2.0 * EDGE)
        );
    }
}

/// The text in lines that have room, broken at blanks.
fn wrap(said: &str, size: f64, room: f64) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for word in said.split(' ') {
        match out.last_mut() {
            Some(line)
                if text::width(line, size) + text::width(word, size) + size <= room =>
            {
                line.push(' ');
                line.push_str(word);
            }
            _ => out.push(word.to_owned()),
        }
    }
    out
}
