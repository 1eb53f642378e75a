//! A drawing as the values that charts show.

use charts::{PathPart, RegionView, RegionsView, Room, Setting, ShapeView, SpotView};
use record::outline::{Arc, Point, Stroke};

use super::{Drawing, DrawnMark, ZoneFacts};

/// Where something leads, by its name.
type Link<'a> = &'a dyn Fn(&str) -> Option<String>;

/// The drawing as SVG. `link` says where a zone's link leads, `find` where that of a finding
/// which is marked on it.
pub fn drawing_svg(
    drawing: &Drawing,
    setting: Setting,
    link: Link<'_>,
    find: Link<'_>,
) -> String {
    charts::regions_svg(&view(drawing, link, find), setting)
}

fn view(drawing: &Drawing, link: Link<'_>, find: Link<'_>) -> RegionsView {
    let shown: Vec<&ZoneFacts> = drawing.zones.iter().filter(|zone| zone.shown).collect();
    let place = |zone: &String| shown.iter().position(|shown| shown.zone == *zone);
    let shapes = drawing.outlines.iter().map(|outline| ShapeView {
        path: outline.path.strokes().iter().map(part).collect(),
        region: outline.zone.as_ref().and_then(place),
    });
    let regions = shown.iter().map(|zone| {
        let count = zone.count_of_state();
        RegionView {
            name: zone.zone.clone(),
            title: zone.name.clone(),
            state: zone.state,
            more: if count > 0 { count.to_string() } else { String::new() },
            facts: zone.sentences(),
            link: link(&zone.zone),
            rooms: rooms(drawing, &zone.zone),
        }
    });
    RegionsView {
        id: drawing.view.word().to_owned(),
        title: drawing.title.clone(),
        subtitle: format!("As the record has it, on {}", drawing.on),
        notices: drawing.notices.clone(),
        least: drawing.extent.0,
        most: drawing.extent.1,
        shapes: shapes.collect(),
        regions: regions.collect(),
        spots: drawing.marks.iter().map(|mark| spot(mark, find)).collect(),
    }
}

fn spot(mark: &DrawnMark, find: Link<'_>) -> SpotView {
    let DrawnMark { at, finding, what, word, cleared } = mark;
    SpotView {
        at: *at,
        name: finding.clone(),
        title: format!("{finding}, {word}: {what}"),
        done: *cleared,
        link: find(finding),
    }
}

/// The rooms of all outlines of a zone, the greatest first of each shape.
fn rooms(drawing: &Drawing, zone: &str) -> Vec<Room> {
    let of =
        drawing.outlines.iter().filter(|outline| outline.zone.as_deref() == Some(zone));
    let mut rooms: Vec<Room> =
        of.flat_map(|outline| outline.rooms.iter().copied()).collect();
    rooms.sort_by(|a, b| b.half_high.total_cmp(&a.half_high));
    rooms
}

fn part(stroke: &Stroke) -> PathPart {
    let at = |point: &Point| (point.x, point.y);
    match stroke {
        Stroke::Move(to) => PathPart::Move(at(to)),
        Stroke::Line(to) => PathPart::Line(at(to)),
        Stroke::Cubic(one, two, to) => PathPart::Cubic(at(one), at(two), at(to)),
        Stroke::Quadratic(pull, to) => PathPart::Quadratic(at(pull), at(to)),
        Stroke::Arc(Arc { radii, turned, large, sweep, to }) => PathPart::Arc {
            radii: *radii,
            turned: *turned,
            large: *large,
            sweep: *sweep,
            to: at(to),
        },
        Stroke::Close => PathPart::Close,
    }
}
