//! The SVG and the page, read back as trees.

#[path = "support/season.rs"]
mod season;
#[path = "support/xml.rs"]
mod xml;

use std::collections::BTreeSet;

use charts::{Bar, JobKind, PlanView, SvgOptions, html, svg};
use jiff::civil::date;
use proptest::prelude::*;
use xml::Element;

/// The page without its script, which is not XML.
fn page(view: &PlanView) -> Vec<Element> {
    let page = html(view);
    let (before, rest) = page.split_once("<script>").expect("the page has a script");
    let (_, after) = rest.split_once("</script>").expect("the script ends");
    assert!(!after.contains("<script"), "there is one script");
    xml::read(&format!("{before}{after}")).expect("the page is well formed")
}

fn drawing(view: &PlanView, set: usize) -> Vec<Element> {
    xml::read(&svg(view, set, SvgOptions::default())).expect("the drawing is well formed")
}

/// Left and right ends of every block of a path `M x y h w v b h -w z ...`.
fn blocks(path: &str) -> Vec<(f64, f64)> {
    path.split('M')
        .skip(1)
        .map(|part| {
            let (x, rest) = part.split_once(' ').expect("x, then y");
            let (_, rest) = rest.split_once('h').expect("a width");
            let (wide, _) = rest.split_once('v').expect("a height");
            let x: f64 = x.parse().expect("a number");
            (x, x + wide.parse::<f64>().expect("a number"))
        })
        .collect()
}

#[test]
fn every_job_is_in_the_drawing_with_dates_and_reason() {
    let view = season::season();
    let titles: BTreeSet<String> = drawing(&view, 0)
        .into_iter()
        .filter(|e| e.name == "title")
        .map(|e| e.text)
        .collect();
    for job in &view.jobs {
        let title = titles
            .iter()
            .find(|title| title.contains(&job.name))
            .unwrap_or_else(|| panic!("{} is not drawn", job.name));
        assert!(title.ends_with(&job.why), "{title}");
    }
    // 5 January 2032 is a Monday.
    assert!(titles.iter().any(|t| t.starts_with("Off: Off wing 0, Mon 5 Jan 08:00 to Thu 8 Jan 16:00")));
}

#[test]
fn bars_lie_within_the_chart_even_if_jobs_lie_without_the_season() {
    let mut view = season::season();
    view.jobs[0].start = season::at(-40, 8);
    view.jobs[5].finish = date(2033, 1, 5).at(16, 0, 0, 0);
    for (n, job) in view.jobs.iter().enumerate() {
        view.lanes[0].lanes[0].bars[n].from = job.start;
        view.lanes[0].lanes[0].bars[n].until = job.finish;
    }
    let width = 1500.0 - 172.0 - 14.0;
    let mut seen = 0;
    for element in drawing(&view, 0).iter().filter(|e| e.is("w")) {
        for (left, right) in blocks(element.get("d").unwrap_or("")) {
            assert!(
                left >= 0.0 && right <= width + 0.11 && left < right,
                "{left}..{right}"
            );
            seen += 1;
        }
    }
    assert!(seen >= view.jobs.len());
}

#[test]
fn a_pause_splits_a_bar_and_is_drawn_as_a_line() {
    let view = season::season();
    let all = drawing(&view, 0);
    let at =
        all.iter().position(|e| e.name == "title" && e.text.contains("Clean wing 2"));
    let parts = &all[at.expect("it is drawn")..];
    let pause = parts.iter().find(|e| e.is("p")).expect("a pause");
    let work = parts.iter().find(|e| e.is("w")).expect("work");
    assert!(pause.get("d").is_some_and(|d| d.contains('H')));
    assert_eq!(blocks(work.get("d").expect("a path")).len(), 2);
}

#[test]
fn what_a_stand_is_held_beyond_the_job_is_drawn_apart() {
    let mut view = season::season();
    assert!(!drawing(&view, 0).iter().any(|e| e.is("hd")));
    view.lanes[0].lanes[0].bars[0].until = season::at(20, 16);
    assert!(drawing(&view, 0).iter().any(|e| e.is("hd")));
}

#[test]
fn gate_completion_and_margin_are_said() {
    let mut view = season::season();
    let said = |view: &PlanView| svg(view, 0, SvgOptions::default());
    // From 12 February to 20 March 2032 (a leap year): 17 + 20 days.
    assert!(said(&view).contains("Complete Thu 12 Feb: 37 days in hand"));
    assert!(said(&view).contains("Taxi gate Sat 20 Mar"));
    view.gate.1 = date(2032, 2, 11);
    assert!(said(&view).contains("1 DAY LATE"));
    assert!(drawing(&view, 0).iter().any(|e| e.is("late")));
    view.gate.1 = date(2032, 2, 12);
    assert!(said(&view).contains("none in hand"));
    view.complete = None;
    assert!(html(&view).contains("no date yet"));
}

#[test]
fn the_page_has_a_row_for_each_job_and_a_bar_for_each_place() {
    let view = season::season();
    let page = page(&view);
    let ids: Vec<&str> = page.iter().filter_map(|e| e.get("id")).collect();
    let unique: BTreeSet<&str> = ids.iter().copied().collect();
    assert_eq!(ids.len(), unique.len(), "an id occurs twice");
    for n in 0..view.jobs.len() {
        let link = format!("#j{n}");
        let bars = page.iter().filter(|e| e.is("b") && e.get("href") == Some(&link));
        assert_eq!(bars.count(), 2, "once in each lane set");
        assert!(unique.contains(&link[1..]));
    }
    for element in &page {
        for link in ["href", "for", "aria-describedby"] {
            if let Some(to) = element.get(link) {
                assert!(
                    unique.contains(to.trim_start_matches('#')),
                    "{link}={to} leads nowhere"
                );
            }
        }
    }
    assert!(page.iter().any(|e| e.name == "small" && e.text.contains("J3")));
}

#[test]
fn the_page_asks_for_nothing_from_outside() {
    let page = html(&season::season());
    for outside in ["http:", "https:", "//", "src=", "@import", "<link", "<img"] {
        let without_comments: Vec<&str> =
            page.lines().filter(|line| !line.trim_start().starts_with("//")).collect();
        assert!(!without_comments.join("\n").contains(outside), "{outside}");
    }
    assert!(page.contains("default-src 'none'"));
    let drawing = svg(&season::season(), 0, SvgOptions::default());
    assert!(drawing.matches("http").count() == 1, "only the namespace");
    assert!(!drawing.contains("var(--"), "a drawing knows no custom properties");
}

#[test]
fn every_lane_set_is_in_the_page_and_the_first_is_chosen() {
    let page = page(&season::season());
    let picks: Vec<&Element> = page.iter().filter(|e| e.is("pick")).collect();
    assert_eq!(picks.len(), 2);
    assert!(picks[0].get("checked").is_some() && picks[1].get("checked").is_none());
    assert_eq!(page.iter().filter(|e| e.is("set")).count(), 2);
}

#[test]
fn the_same_view_gives_the_same_bytes() {
    let view = season::season();
    assert_eq!(html(&view), html(&view));
    assert_eq!(
        svg(&view, 1, SvgOptions::default()),
        svg(&view, 1, SvgOptions::default())
    );
}

#[test]
fn odd_views_are_drawn_without_a_panic() {
    let mut view = season::of_jobs(Vec::new());
    view.lanes.clear();
    view.loads.clear();
    drawing(&view, 7);
    page(&view);

    let mut view = season::season();
    (view.from, view.until) = (date(9999, 12, 31), date(-9999, 1, 1));
    view.gate.1 = date(9999, 12, 31);
    view.jobs[0].finish = view.jobs[0].start;
    view.jobs[1].working = vec![(season::at(9, 9), season::at(2, 2))];
    view.jobs[2].working.clear();
    let unknown = Bar { job: 999, ..view.lanes[0].lanes[0].bars[0] };
    view.lanes[0].lanes[0].bars.push(unknown);
    view.loads[0].weeks[0].needed = f64::NAN;
    view.loads[0].weeks[1].there = f64::INFINITY;
    drawing(&view, 0);
    page(&view);
    for width in [f64::NAN, -1.0, 1e300] {
        let options = SvgOptions { width, loads: true };
        xml::read(&svg(&view, 0, options)).expect("well formed");
    }
}

#[test]
fn a_week_short_of_hours_is_marked_and_told() {
    let view = season::season();
    assert!(drawing(&view, 0).iter().any(|e| e.is("ov")));
    assert!(html(&view).contains("up to 40 h a week, 10 h short in 1 week"));
}

/// What remains of a text after cleaning: the words, with unlawful characters replaced
/// and marks of direction left out.
fn cleaned(raw: &str) -> String {
    let kept: String = raw
        .chars()
        .filter(|c| !matches!(c, '\u{202A}'..='\u{202E}' | '\u{2066}'..='\u{2069}'))
        .map(|c| match c {
            '\t' | '\n' | '\r' => c,
            c if c.is_control() || (c as u32) & 0xFFFE == 0xFFFE => '\u{FFFD}',
            c => c,
        })
        .collect();
    kept
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn any_text_is_carried_whole(text in any_text(), other in any_text()) {
        let mut view = season::season();
        view.jobs[3].name.clone_from(&text);
        view.jobs[3].key.clone_from(&other);
        view.jobs[3].why.clone_from(&other);
        view.jobs[3].people = vec![text.clone()];
        view.title.clone_from(&text);
        view.subtitle.clone_from(&other);
        view.notices = vec![text.clone()];
        view.gate.0.clone_from(&text);
        view.made.clone_from(&other);
        view.summary = vec![(other.clone(), text.clone())];
        view.lanes[0].name.clone_from(&other);
        view.lanes[0].lanes[0].name.clone_from(&text);
        view.lanes[0].lanes[0].note.clone_from(&other);
        view.loads[0].skill.clone_from(&text);
        drawing(&view, 0);
        let page = page(&view);
        let row = page.iter().position(|e| e.get("id") == Some("j3")).expect("a row");
        prop_assert_eq!(&page[row + 2].text, &cleaned(&text));
        let why = page.iter().find(|e| e.get("id") == Some("w3")).expect("a reason");
        prop_assert_eq!(&why.text, &cleaned(&other));
    }

    #[test]
    fn bars_in_a_row_never_overlap(spans in prop::collection::vec((0..60_i64, 0..9_i64), 1..60)) {
        let jobs = spans
            .iter()
            .enumerate()
            .map(|(n, (from, long))| {
                let kind = JobKind::ALL[n % JobKind::ALL.len()];
                season::job(&format!("J{n}"), "Do it", kind, (*from, from + long))
            })
            .collect();
        let view = season::of_jobs(jobs);
        let all = drawing(&view, 0);
        let mut rows: Vec<(String, f64, f64)> = Vec::new();
        for element in all.iter().filter(|e| e.is("w") && e.get("d").is_some_and(|d| d.contains("v12"))) {
            let path = element.get("d").unwrap_or("");
            let y = path.split([' ', 'h']).nth(1).unwrap_or("").to_owned();
            let parts = blocks(path);
            rows.push((y, parts[0].0, parts[parts.len() - 1].1));
        }
        // The legend's swatches are as high as no bar is; all that is left are bars.
        let rows: Vec<_> = rows.into_iter().filter(|(y, ..)| y != "2").collect();
        prop_assert_eq!(rows.len(), view.jobs.len());
        for (n, a) in rows.iter().enumerate() {
            for b in &rows[n + 1..] {
                prop_assert!(a.0 != b.0 || a.2 <= b.1 + 0.11 || b.2 <= a.1 + 0.11, "{:?} {:?}", a, b);
            }
        }
    }
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        any::<String>(),
        prop::collection::vec(
            prop::sample::select(vec![
                "<",
                ">",
                "&",
                "\"",
                "'",
                "`",
                "]]>",
                "<!--",
                "</script>",
                "\n",
                "\r\n",
                "\0",
                "\u{1b}",
                "\u{85}",
                "\u{202e}",
                "\u{fffe}",
                "عربي",
                "漢字",
                "🛩",
                "&amp;",
                " ",
                "x",
                "=1+1",
                "--",
                "/>",
            ]),
            0..40
        )
        .prop_map(|parts| parts.concat()),
    ]
}

#[test]
fn a_part_of_a_page_holds_no_style_and_no_script_of_its_own() {
    let view = season::season();
    let part = charts::fragment(&view);
    for word in ["<style", "<script", " style=", "<html", "<body", "<main"] {
        assert!(!part.contains(word), "{word}");
    }
    let whole = html(&view);
    assert!(whole.contains(&part), "a page holds the same part");
    assert!(charts::stylesheet().contains("#v11:checked~.sets #s11"));
}
