//! Steps of which some come before others, as a graph and as a table.
//!
//! The graph reads from left to right, a column for each level; a step stands to the right
//! of all that come before it. Which stands where is found in the way of Sugiyama, Tagawa and
//! Toda ("Methods for visual understanding of hierarchical system structures", 1981; from
//! memory): a line that passes columns takes a place in each, and the places of a column are
//! put in the order of the middles of what they are joined to, back and forth a few times.
//! With three steps `A`, `B`, `C`, where `C` comes after both and `B` after `A`, the line from
//! `A` to `C` takes a place beside `B`.

mod layout;

pub use layout::{StepsLayout, lay_out};

use std::fmt::Write as _;

use crate::draw::n;
use crate::regions::{Setting, regions_style};
use crate::text::{self, escape};

/// Steps and what comes before what.
#[derive(Debug, Clone, PartialEq)]
pub struct StepsView {
    /// A short word of letters and digits that no other drawing on the page has.
    pub id: String,
    /// What it is, in a line.
    pub title: String,
    /// More about it, in a line.
    pub subtitle: String,
    /// What must be said beside it.
    pub notices: Vec<String>,
    /// The steps.
    pub steps: Vec<StepView>,
    /// Places in the list of steps: which comes before which. What leads backwards is left out.
    pub edges: Vec<(usize, usize)>,
    /// The heads of the columns of the table.
    pub columns: Vec<String>,
}

/// One step.
#[derive(Debug, Clone, PartialEq)]
pub struct StepView {
    /// Its column; greater than that of every step before it.
    pub level: usize,
    /// Its name, on top.
    pub name: String,
    /// What stands below, a line each; what does not fit is cut, and is whole in the title.
    pub lines: Vec<String>,
    /// What it is to be marked as.
    pub weight: StepWeight,
    /// Where its link leads, if it is one.
    pub link: Option<String>,
    /// Its row of the table, a cell for each column.
    pub cells: Vec<String>,
}

/// How a step is marked, by the line around it and by a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepWeight {
    /// As it is.
    Plain,
    /// It is what everything else is for: a heavy line.
    Goal,
    /// Somebody must look at it first: a dashed line.
    Careful,
}

/// The graph as SVG.
pub fn steps_svg(view: &StepsView, setting: Setting) -> String {
    let layout = lay_out(view);
    let head = if setting == Setting::Alone {
        66.0 + 17.0 * view.notices.len() as f64
    } else {
        8.0
    };
    let wide = layout.size.0.max(640.0);
    let high = head + layout.size.1 + 12.0;
    let id = format!(
        "st{}",
        view.id.chars().filter(char::is_ascii_alphanumeric).collect::<String>()
    );
    let mut out = String::with_capacity(8_000);
    let _ = write!(
        out,
        r#"<svg xmlns="http://www.w3.org/2000/svg" class="rg" width="{0}" height="{1}" viewBox="0 0 {0} {1}" role="group" aria-labelledby="{id}-title {id}-desc"><title id="{id}-title">{2}</title><desc id="{id}-desc">{3}</desc>"#,
        n(wide),
        n(high),
        escape(&view.title),
        escape(&described(view))
    );
    if setting == Setting::Alone {
        let _ = write!(
            out,
            r#"<style>{}</style><rect class="rg-bg" width="{}" height="{}"/>"#,
            regions_style(),
            n(wide),
            n(high)
        );
        heading(&mut out, view);
    }
    let _ = write!(out, r#"<g transform="translate(0 {})">"#, n(head));
    for (line, join) in layout.lines.iter().zip(&layout.joins) {
        edge(&mut out, line, *join);
    }
    for (at, (step, place)) in view.steps.iter().zip(&layout.boxes).enumerate() {
        one(&mut out, (at, step), *place);
    }
    out.push_str("</g></svg>\n");
    out
}

fn heading(out: &mut String, view: &StepsView) {
    let mut line = |class: &str, y: f64, words: &str| {
        let _ = write!(
            out,
            r#"<text class="{class}" x="16" y="{}">{}</text>"#,
            n(y),
            escape(words)
        );
    };
    line("rg-h", 32.0, &view.title);
    line("rg-s", 52.0, &view.subtitle);
    for (row, notice) in view.notices.iter().enumerate() {
        line("rg-s", 70.0 + 17.0 * row as f64, notice);
    }
}

/// The steps in words, each with what comes before it.
fn described(view: &StepsView) -> String {
    let mut out = text::one_line(&view.subtitle);
    for (at, step) in view.steps.iter().enumerate() {
        let before: Vec<&str> = view
            .edges
            .iter()
            .filter(|(_, to)| *to == at)
            .filter_map(|(from, _)| view.steps.get(*from))
            .map(|step| step.name.as_str())
            .collect();
        let _ = write!(out, ". {}", text::one_line(&step.name));
        if !before.is_empty() {
            let _ = write!(out, " after {}", before.join(", "));
        }
    }
    out
}

/// A smooth line through places that lie further and further to the right, with a head.
/// A script finds by `data-from` and `data-to` what it joins.
fn edge(out: &mut String, line: &[(f64, f64)], (from, to): (usize, usize)) {
    let mut path = String::new();
    for pair in line.windows(2) {
        let [(x, y), (to_x, to_y)] = pair else { continue };
        if path.is_empty() {
            let _ = write!(path, "M{} {}", n(*x), n(*y));
        }
        let bend = f64::midpoint(*x, *to_x);
        let _ =
            write!(path, "C{0} {1} {0} {2} {3} {2}", n(bend), n(*y), n(*to_y), n(*to_x));
    }
    let Some((x, y)) = line.last() else { return };
    let _ = write!(
        out,
        r#"<g class="rg-j" data-from="{from}" data-to="{to}"><path class="rg-e" d="{path}"/><path class="rg-ah" d="M{} {}l-7 -3.5v7z"/></g>"#,
        n(*x),
        n(*y)
    );
}

fn one(
    out: &mut String,
    (at, step): (usize, &StepView),
    (x, y, wide, high): (f64, f64, f64, f64),
) {
    let class = match step.weight {
        StepWeight::Plain => "rg-k",
        StepWeight::Goal => "rg-k rg-t",
        StepWeight::Careful => "rg-k rg-x",
    };
    let name = format!("{}: {}", text::one_line(&step.name), step.lines.join("; "));
    let name = escape(&name);
    let end = if let Some(link) = &step.link {
        let _ = write!(
            out,
            r#"<a class="{class}" data-step="{at}" href="{}" aria-label="{name}"><title>{name}</title>"#,
            escape(link)
        );
        "</a>"
    } else {
        let _ =
            write!(out, r#"<g class="{class}" data-step="{at}"><title>{name}</title>"#);
        "</g>"
    };
    let _ = write!(
        out,
        r#"<rect class="rg-b" x="{}" y="{}" width="{}" height="{}" rx="3"/>"#,
        n(x),
        n(y),
        n(wide),
        n(high)
    );
    let lines = std::iter::once(&step.name).chain(&step.lines);
    for (row, words) in lines.enumerate() {
        let size = if row == 0 { 11.0 * 1.08 } else { 11.0 };
        let Some(fitting) = text::fit(words, size, wide - 14.0, 1) else { continue };
        let class = if row == 0 { r#" class="rg-n""# } else { "" };
        let y = y + 16.0 + layout::LINE * row as f64;
        let _ = write!(
            out,
            r#"<text{class} x="{}" y="{}">{}</text>"#,
            n(x + 7.0),
            n(y),
            escape(&fitting)
        );
    }
    out.push_str(end);
}

/// The same as a table of HTML, a row for each step, for whoever cannot see the graph.
pub fn steps_table(view: &StepsView) -> String {
    let mut out = format!("<table><caption>{}</caption><thead><tr>", escape(&view.title));
    for column in &view.columns {
        let _ = write!(out, r#"<th scope="col">{}</th>"#, escape(column));
    }
    out.push_str("</tr></thead><tbody>");
    for step in &view.steps {
        out.push_str("<tr>");
        for (at, cell) in step.cells.iter().enumerate() {
            let cell = escape(cell);
            let _ = match (at, &step.link) {
                (0, Some(link)) => write!(
                    out,
                    r#"<th scope="row"><a href="{}">{cell}</a></th>"#,
                    escape(link)
                ),
                (0, None) => write!(out, r#"<th scope="row">{cell}</th>"#),
                _ => write!(out, "<td>{cell}</td>"),
            };
        }
        out.push_str("</tr>");
    }
    out.push_str("</tbody></table>\n");
    out
}
