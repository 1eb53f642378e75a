//! Drawings of regions and graphs of steps, read back as trees.

#[path = "support/xml.rs"]
mod xml;

use charts::{
    LabelAt, PathPart, RegionState, RegionView, RegionsView, Room, Setting, ShapeView,
    SpotView, StepView, StepWeight, StepsView, lay_out, place_labels, regions_style,
    regions_svg, steps_svg, steps_table,
};
use proptest::collection::vec;
use proptest::prelude::*;
use xml::Element;

fn region(name: &str, state: RegionState, room: Room) -> RegionView {
    RegionView {
        name: name.to_owned(),
        title: format!("{name} <in words>"),
        state,
        more: "3".to_owned(),
        facts: vec!["2 items off".to_owned()],
        link: Some(format!("/zone/{name}?a=1&b=2")),
        rooms: vec![room],
    }
}

fn square(x: f64, y: f64, side: f64) -> Vec<PathPart> {
    vec![
        PathPart::Move((x, y)),
        PathPart::Line((x + side, y)),
        PathPart::Cubic((x + side, y), (x + side, y + side), (x + side, y + side)),
        PathPart::Quadratic((x, y + side), (x, y + side)),
        PathPart::Arc {
            radii: (9.0, 3.0),
            turned: 10.0,
            large: false,
            sweep: true,
            to: (x, y),
        },
        PathPart::Close,
    ]
}

fn drawing() -> RegionsView {
    let room = |x, y, half| Room { x, y, half_wide: half, half_high: half };
    RegionsView {
        id: "side".to_owned(),
        title: "The \"skiff\" & <more>".to_owned(),
        subtitle: "From port".to_owned(),
        notices: vec!["Supports and never replaces approved data".to_owned()],
        least: (0.0, 0.0),
        most: (100.0, 50.0),
        shapes: vec![
            ShapeView { path: square(0.0, 0.0, 40.0), region: Some(0) },
            ShapeView { path: square(50.0, 30.0, 2.0), region: Some(1) },
            ShapeView { path: square(60.0, 30.0, 2.0), region: Some(1) },
            ShapeView { path: square(20.0, 20.0, 5.0), region: None },
            ShapeView { path: square(90.0, 2.0, 1.0), region: Some(2) },
        ],
        regions: vec![
            region("HULL", RegionState::Open, room(20.0, 20.0, 15.0)),
            region("STEP", RegionState::Hazard, room(51.0, 31.0, 0.5)),
            region("TAIL", RegionState::NoEntry, room(90.5, 2.5, 0.2)),
        ],
        spots: vec![
            SpotView {
                at: (30.0, 10.0),
                name: "F-1".to_owned(),
                title: "F-1: a <dent>".to_owned(),
                done: false,
                link: Some("/f?a=1&b=2".to_owned()),
            },
            SpotView {
                at: (99.0, 40.0),
                name: "F-2".to_owned(),
                title: "F-2".to_owned(),
                done: true,
                link: None,
            },
        ],
    }
}

fn read(svg: &str) -> Vec<Element> {
    xml::read(svg).unwrap_or_else(|error| panic!("{error}\n{svg}"))
}

#[test]
fn a_drawing_is_well_formed_and_says_each_state_in_words() {
    for setting in [Setting::Alone, Setting::InPage] {
        let svg = regions_svg(&drawing(), setting);
        let all = read(&svg);
        let links: Vec<&Element> =
            all.iter().filter(|e| e.name == "a" && e.is("rg-z")).collect();
        assert_eq!(links.len(), 4);
        assert_eq!(links[0].get("href"), Some("/zone/HULL?a=1&b=2"));
        assert_eq!(
            links[0].get("aria-label"),
            Some("HULL HULL <in words>: open 3. 2 items off")
        );
        // The second shape of a region is no second stop on the way by keyboard.
        let stops: Vec<Option<&str>> = links.iter().map(|e| e.get("tabindex")).collect();
        assert_eq!(stops, [None, None, Some("-1"), None]);
        let texts: Vec<&str> =
            all.iter().filter(|e| e.name == "text").map(|e| e.text.as_str()).collect();
        let texts = texts.join("|") + "|";
        for words in ["HULL|○ open 3|", "STEP|! hazard 3|", "– no entry 3|", "! hazard|"]
        {
            assert!(texts.contains(words), "{words} is not in {texts}");
        }
        // Fills are patterns, each of which is there.
        for shape in all.iter().filter(|e| e.is("rg-f") || e.is("rg-w")) {
            let fill = shape.get("fill").expect("a fill");
            let name = fill.trim_start_matches("url(#").trim_end_matches(')');
            assert!(all.iter().any(|e| e.name == "pattern" && e.get("id") == Some(name)));
        }
        // A page of its own style forbids styles within.
        assert_eq!(svg.contains("<style"), setting == Setting::Alone);
        let marks: Vec<&Element> = all.iter().filter(|e| e.is("rg-p")).collect();
        assert_eq!(marks[0].get("aria-label"), Some("F-1: a <dent>"));
        assert_eq!((marks[1].name.as_str(), marks[1].is("rg-pd")), ("g", true));
        // What a script finds places by is what the drawing itself is brought to the page by.
        let number = |name: &str| all[0].get(name).unwrap().parse::<f64>().unwrap();
        let ring = all.iter().find(|e| e.name == "circle" && e.get("r") == Some("9"));
        let x = ring.unwrap().get("cx").unwrap().parse::<f64>().unwrap();
        assert!((number("data-left") + 30.0 * number("data-by") - x).abs() < 0.1);
        assert!(!svg.contains("style=\""));
    }
    assert!(regions_style().contains("prefers-color-scheme:dark"));
}

#[test]
fn what_does_not_fit_stands_outside_with_a_line() {
    let view = drawing();
    let labels = place_labels(&view.regions, 10.0, view.least, view.most, 1200.0);
    assert!(matches!(labels.at[0], Some(LabelAt::Two(_))));
    assert!(matches!(labels.at[1], Some(LabelAt::Outside { above: false, row: 0, .. })));
    assert!(matches!(labels.at[2], Some(LabelAt::Outside { above: true, row: 0, .. })));
    let all = read(&regions_svg(&view, Setting::InPage));
    assert_eq!(all.iter().filter(|e| e.is("rg-ld")).count(), 2);
}

proptest! {
    /// No two labels outside lie on each other, and none beyond the edge of the page.
    #[test]
    fn labels_lie_apart(places in vec((0.0..100.0_f64, 0.0..50.0_f64, 1..14_usize), 0..60)) {
        let regions: Vec<RegionView> = places
            .iter()
            .map(|(x, y, long)| {
                let room = Room { x: *x, y: *y, half_wide: 0.1, half_high: 0.1 };
                region(&"W".repeat(*long), RegionState::OutsideLimits, room)
            })
            .collect();
        let labels = place_labels(&regions, 11.0, (0.0, 0.0), (100.0, 50.0), 1200.0);
        let mut out = Vec::new();
        for label in labels.at.iter().flatten() {
            let LabelAt::Outside { middle, half, above, row, to: _ } = *label else { continue };
            prop_assert!(middle - half >= 0.0 && middle + half <= 1200.0);
            out.push((above, row, middle - half, middle + half));
        }
        prop_assert_eq!(out.len(), places.len());
        for (at, one) in out.iter().enumerate() {
            for other in &out[at + 1..] {
                let apart = (one.0, one.1) != (other.0, other.1) || one.3 <= other.2 || other.3 <= one.2;
                prop_assert!(apart, "{one:?} {other:?}");
            }
        }
    }

    /// No two steps lie on each other, and lines go forwards.
    #[test]
    fn steps_lie_apart_and_lines_go_forwards(
        levels in vec((0..7_usize, 0..4_usize), 1..40),
        joined in vec((0..40_usize, 0..40_usize), 0..80),
    ) {
        let view = graph(&levels, &joined);
        let layout = lay_out(&view);
        prop_assert_eq!(layout.boxes.len(), levels.len());
        for (at, one) in layout.boxes.iter().enumerate() {
            prop_assert!(one.0 >= 0.0 && one.1 >= 0.0);
            prop_assert!(one.0 + one.2 <= layout.size.0 && one.1 + one.3 <= layout.size.1);
            for other in &layout.boxes[at + 1..] {
                let apart = one.0 + one.2 < other.0
                    || other.0 + other.2 < one.0
                    || one.1 + one.3 < other.1
                    || other.1 + other.3 < one.1;
                prop_assert!(apart, "{one:?} {other:?}");
            }
        }
        let forwards = |(a, b): &&(usize, usize)| {
            *a < levels.len() && *b < levels.len() && levels[*a].0 < levels[*b].0
        };
        prop_assert_eq!(layout.lines.len(), joined.iter().filter(forwards).count());
        for line in &layout.lines {
            prop_assert!(line.windows(2).all(|pair| pair[0].0 < pair[1].0), "{line:?}");
        }
        prop_assert_eq!(lay_out(&view), layout);
        read(&steps_svg(&view, Setting::Alone));
    }
}

fn graph(levels: &[(usize, usize)], joined: &[(usize, usize)]) -> StepsView {
    let steps = levels.iter().enumerate().map(|(at, (level, lines))| StepView {
        level: *level,
        name: format!("STEP-{at} <&>"),
        lines: vec![
            "a line that is much too long for the box in which it stands"
                .to_owned();
            *lines
        ],
        weight: [StepWeight::Plain, StepWeight::Goal, StepWeight::Careful][at % 3],
        link: (at % 2 == 0).then(|| format!("/item/{at}?x=1&y=2")),
        cells: vec![format!("STEP-{at}"), format!("{level}")],
    });
    StepsView {
        id: "open".to_owned(),
        title: "What must come off".to_owned(),
        subtitle: "3 removals".to_owned(),
        notices: vec!["Supports approved data".to_owned()],
        steps: steps.collect(),
        edges: joined.to_vec(),
        columns: vec!["item".to_owned(), "level".to_owned()],
    }
}

/// A, then B, then C, and A also before C: the line past B takes a place of its own.
#[test]
fn a_line_that_passes_a_column_does_not_cross_its_steps() {
    let view = graph(&[(0, 1), (1, 3), (2, 0)], &[(0, 1), (1, 2), (0, 2)]);
    let layout = lay_out(&view);
    let (_, top, _, high) = layout.boxes[1];
    let past = &layout.lines[2];
    assert_eq!(past.len(), 4);
    assert!(past[1].1 < top || past[1].1 > top + high, "{past:?} {top} {high}");
}

#[test]
fn a_graph_has_the_structure_of_its_steps_and_a_table_beside_it() {
    let view = graph(&[(0, 1), (2, 2), (5, 0)], &[(0, 1), (1, 2), (2, 0), (9, 1)]);
    let all = read(&steps_svg(&view, Setting::InPage));
    let names: Vec<&str> = all.iter().map(|element| element.name.as_str()).collect();
    let wanted = "svg title desc g g path path g path path \
                  a title rect text text g title rect text text text a title rect text";
    assert_eq!(names.join(" "), wanted.split_whitespace().collect::<Vec<_>>().join(" "));
    let description = &all[2].text;
    assert!(description.contains("STEP-1 <&> after STEP-0 <&>"), "{description}");
    let table = read(&steps_table(&view));
    assert_eq!(table.iter().filter(|e| e.name == "tr").count(), 4);
    assert_eq!(table.iter().filter(|e| e.get("scope") == Some("row")).count(), 3);
}
