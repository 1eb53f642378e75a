//! The time chart as one page.
//!
//! The page is whole without its script: the lane sets are chosen by radio buttons and
//! the style sheet, a bar is a link to the job's row, and the table holds everything.
//! The script adds the filter, the panel with the details, sorting, arrow keys and
//! printing of the chart alone.

mod jobs;

use std::fmt::Write as _;

use crate::draw::{self, Wrap, n};
use crate::frame::{self, Head};
use crate::layout;
use crate::legend;
use crate::load;
use crate::paint;
use crate::scale::Scale;
use crate::text::{self, escape};
use crate::view::{LaneSet, PlanView};

/// Width of the plot. With the column of names it just fills the width of an A3 sheet.
const PLOT: f64 = 1330.0;

/// How many lane sets a style sheet knows that was not made for one plan.
const MOST_SETS: usize = 12;

/// The whole plan as one page that needs no network and no other file.
pub fn html(view: &PlanView) -> String {
    let mut out = String::with_capacity(64 * 1024 + view.jobs.len() * 2048);
    page_head(&mut out, view);
    heading(&mut out, view);
    out.push_str("<main>");
    charts(&mut out, view);
    let _ = write!(out, "</main><footer>{}</footer>", escape(&view.made));
    let _ = write!(out, "<script>{}</script></body></html>", script());
    out
}

/// The plan's charts and tables as a part of somebody else's page, with no style and no
/// script in it: [`stylesheet`] and [`script`] are to be loaded beside it.
pub fn fragment(view: &PlanView) -> String {
    let mut out = String::with_capacity(64 * 1024 + view.jobs.len() * 2048);
    charts(&mut out, view);
    out
}

/// The style of a [`fragment`] of any plan of up to twelve lane sets.
pub fn stylesheet() -> String {
    let mut out = colours();
    out.push_str(&paint::chart_style());
    out.push_str(include_str!("html/parts.css"));
    sets(&mut out, MOST_SETS);
    out
}

/// The script that makes a page or a [`fragment`] quicker to use; both say everything without.
pub const fn script() -> &'static str {
    include_str!("html/page.js")
}

/// Charts, legend, load and the table of jobs.
fn charts(out: &mut String, view: &PlanView) {
    let scale = Scale::of(view, PLOT);
    let head = frame::head(view, &scale);
    out.push_str(r#"<div class="plan">"#);
    defs(out, view, &scale);
    controls(out, view);
    out.push_str(r#"<div class="sets">"#);
    for (at, set) in view.lanes.iter().enumerate() {
        lane_set(out, view, &scale, &head, (at, set));
    }
    legend_list(out, legend::entries(view));
    loads(out, view, &scale, &head);
    jobs::table(out, view);
    out.push_str(
        r#"</div><aside id="panel" aria-live="polite" hidden=""></aside></div>"#,
    );
}

fn page_head(out: &mut String, view: &PlanView) {
    let _ = write!(
        out,
        concat!(
            r#"<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"/>"#,
            r#"<meta name="viewport" content="width=device-width, initial-scale=1"/>"#,
            r#"<meta http-equiv="Content-Security-Policy" content="default-src 'none'; "#,
            r#"style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; "#,
            r#"form-action 'none'"/><title>{}</title><style>{}</style></head><body>"#
        ),
        escape(&text::one_line(&view.title)),
        style(view)
    );
}

fn style(view: &PlanView) -> String {
    let mut out = colours();
    out.push_str(&paint::chart_style());
    out.push_str(include_str!("html/page.css"));
    out.push_str(include_str!("html/parts.css"));
    sets(&mut out, view.lanes.len());
    out
}

/// The colours, as the reader's device has it or as a page says by `data-theme` on its root;
/// on paper those of paper.
fn colours() -> String {
    let (mut paper, mut dark) = (String::new(), String::new());
    for (name, on_paper, on_dark) in paint::colours() {
        let _ = write!(paper, "--{name}:{on_paper};");
        let _ = write!(dark, "--{name}:{on_dark};");
    }
    format!(
        ":root{{color-scheme:light dark;{paper}}}\n\
         @media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n\
         :root[data-theme=light]{{{paper}}}@media screen{{:root[data-theme=dark]{{{dark}}}}}\n"
    )
}

/// Which lanes are shown, by the radio button that is set.
fn sets(out: &mut String, count: usize) {
    for at in 0..count {
        let _ = writeln!(
            out,
            "#v{at}:checked~.sets #s{at}{{display:block}}\
             #v{at}:checked~nav label[for=v{at}]{{background:var(--ink);color:var(--paper)}}\
             #v{at}:focus-visible~nav label[for=v{at}]{{outline:3px solid var(--today);outline-offset:2px}}"
        );
    }
}

/// Hatchings, ground and lines once, for every lane to use.
fn defs(out: &mut String, view: &PlanView, scale: &Scale) {
    let _ = write!(
        out,
        r#"<svg class="defs" width="0" height="0" aria-hidden="true"><defs>{}<g id="tb-bg">{}</g><g id="tb-fg">{}</g></defs></svg>"#,
        paint::patterns(),
        frame::ground(view, scale),
        frame::lines(view, scale)
    );
}

fn heading(out: &mut String, view: &PlanView) {
    let _ = write!(out, "<header><h1>{}</h1>", escape(&view.title));
    if !view.subtitle.is_empty() {
        let _ = write!(out, r#"<p class="sub">{}</p>"#, escape(&view.subtitle));
    }
    if !view.notices.is_empty() {
        out.push_str(r#"<ul class="notices">"#);
        for notice in &view.notices {
            let _ = write!(out, "<li>{}</li>", escape(notice));
        }
        out.push_str("</ul>");
    }
    out.push_str("<dl>");
    pair(out, &view.gate.0, &text::day_and_year(view.gate.1));
    let complete = view.complete.map_or("no date yet".to_owned(), |complete| {
        let margin = frame::margin(view).unwrap_or_default();
        format!("{}, {margin}", text::day_and_year(complete.date()))
    });
    pair(out, "Complete", &complete);
    for (name, value) in &view.summary {
        pair(out, name, value);
    }
    out.push_str("</dl></header>");
}

fn pair(out: &mut String, name: &str, value: &str) {
    let _ = write!(out, "<div><dt>{}</dt><dd>{}</dd></div>", escape(name), escape(value));
}

/// The radio buttons come before everything that they show, which is what lets the style
/// sheet switch without a script.
fn controls(out: &mut String, view: &PlanView) {
    for (at, set) in view.lanes.iter().enumerate() {
        let checked = if at == 0 { r#" checked="""# } else { "" };
        let _ = write!(
            out,
            r#"<input type="radio" class="pick" name="lanes" id="v{at}" aria-label="{}"{checked}/>"#,
            escape(&set.name)
        );
    }
    out.push_str("<nav>");
    for (at, set) in view.lanes.iter().enumerate() {
        let _ = write!(out, r#"<label for="v{at}">{}</label>"#, escape(&set.name));
    }
    out.push_str(concat!(
        r#"<span class="tools" hidden=""><input type="search" id="find-job" "#,
        r#"placeholder="Filter: name, person, stand, firm" aria-label="Filter jobs" "#,
        r#"autocomplete="off"/><output id="count" for="find-job"></output>"#,
        r#"<button type="button" id="print-chart">Print chart</button>"#,
        r#"<button type="button" id="print-all">Print all</button></span></nav>"#
    ));
}

fn lane_set(
    out: &mut String,
    view: &PlanView,
    scale: &Scale,
    head: &Head,
    (at, set): (usize, &LaneSet),
) {
    let name = escape(&set.name);
    let _ = write!(
        out,
        r#"<section class="set" id="s{at}" aria-label="{name}"><div class="pane" tabindex="-1"><table class="chart">"#
    );
    table_head(out, view, head, &set.name);
    out.push_str("<tbody>");
    let wrap = if at == 0 { Wrap::Link } else { Wrap::ShortLink };
    for (lane, laid) in set.lanes.iter().zip(layout::lay(view, set, scale)) {
        let drawn = draw::bars(view, &laid, scale, wrap);
        strip_row(out, (&lane.name, &lane.note), laid.height(lane), &drawn);
    }
    out.push_str("</tbody></table></div></section>");
}

/// The head of a chart's table, which print repeats on every sheet: there with the title
/// and the notices.
fn table_head(out: &mut String, view: &PlanView, head: &Head, corner: &str) {
    let notices: Vec<_> = view.notices.iter().map(|notice| escape(notice)).collect();
    let _ = write!(
        out,
        concat!(
            r#"<thead><tr class="run"><td colspan="2"><b>{}</b> {} <b>{}</b> <i>{}</i></td></tr>"#,
            r#"<tr><th scope="col">{}</th><td><svg width="{w}" height="{h}" "#,
            r#"aria-hidden="true">{}</svg></td></tr></thead>"#
        ),
        escape(&view.title),
        escape(&view.subtitle),
        notices.join(" "),
        escape(&view.made),
        escape(corner),
        head.drawing,
        w = PLOT,
        h = n(head.height)
    );
}

fn strip_row(out: &mut String, (name, note): (&str, &str), height: f64, drawn: &str) {
    let _ = write!(
        out,
        concat!(
            r#"<tr><th scope="row"><div class="lane"><b>{}</b>"#,
            r#"<small>{}</small></div></th><td><svg width="{w}" height="{h}">"#,
            r##"<use href="#tb-bg"/>{}<use href="#tb-fg" class="over"/></svg></td></tr>"##
        ),
        escape(name),
        escape(note),
        drawn,
        w = PLOT,
        h = n(height)
    );
}

fn legend_list(out: &mut String, entries: Vec<(String, String)>) {
    out.push_str(r#"<ul class="legend" aria-label="What the fills mean">"#);
    for (swatch, words) in entries {
        let _ = write!(
            out,
            r#"<li><svg width="{}" height="{}" aria-hidden="true">{swatch}</svg> {words}</li>"#,
            legend::SWATCH,
            legend::SWATCH_HEIGHT
        );
    }
    out.push_str("</ul>");
}

fn loads(out: &mut String, view: &PlanView, scale: &Scale, head: &Head) {
    if view.loads.is_empty() {
        return;
    }
    out.push_str(concat!(
        r#"<section class="loads"><h2>Hours by skill, by week</h2>"#,
        r#"<div class="pane"><table class="chart">"#
    ));
    table_head(out, view, head, "Skill");
    out.push_str("<tbody>");
    for skill in &view.loads {
        let note = load::note(skill);
        strip_row(out, (&skill.skill, &note), load::HEIGHT, &load::strip(skill, scale));
    }
    out.push_str("</tbody></table></div>");
    legend_list(out, legend::load_entries());
    load_figures(out, view);
    out.push_str("</section>");
}

fn load_figures(out: &mut String, view: &PlanView) {
    out.push_str(concat!(
        r#"<details><summary>The hours as figures</summary><table class="data">"#,
        r#"<thead><tr><th scope="col">Skill</th><th scope="col">Week from</th>"#,
        r#"<th scope="col">Needed, h</th><th scope="col">There, h</th>"#,
        r#"<th scope="col">Short, h</th></tr></thead><tbody>"#
    ));
    for skill in &view.loads {
        for week in &skill.weeks {
            let short = load::short(week).map_or(String::new(), |h| format!("{h:.1}"));
            let _ = write!(
                out,
                concat!(
                    r#"<tr><td>{}</td><td><time datetime="{}">{}</time></td>"#,
                    "<td class=\"num\">{:.1}</td><td class=\"num\">{:.1}</td>",
                    "<td class=\"num\">{}</td></tr>"
                ),
                escape(&skill.skill),
                week.monday,
                text::day_and_year(week.monday),
                load::hours(week.needed),
                load::hours(week.there),
                short
            );
        }
    }
    out.push_str("</tbody></table></details>");
}
