//! The aircraft as a drawing: each zone with all that the record says of it.

mod facts;
mod room;
mod standing;
mod svg;

pub use facts::ZoneFacts;
pub use standing::{ItemState, ItemWord, item_state};
pub use svg::drawing_svg;

use std::collections::{BTreeMap, BTreeSet};

use airframe::ZoneId;
use charts::Room;
use jiff::civil::Date;
use record::outline::Point;
use record::{DrawnPath, Outline, Programme, View};

use crate::AppError;

/// A view of the aircraft on a day.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawing {
    /// From where it is seen.
    pub view: View,
    /// What it is, in a line.
    pub title: String,
    /// The day.
    pub on: Date,
    /// The least x and y of all outlines, and the greatest.
    pub extent: ((f64, f64), (f64, f64)),
    /// The outlines, what lies below first.
    pub outlines: Vec<DrawnOutline>,
    /// The zones: those of the view first, in the order in which they are drawn, then those
    /// that neither are drawn in it nor lie within one that is.
    pub zones: Vec<ZoneFacts>,
    /// What must be said beside it.
    pub notices: Vec<String>,
}

/// An outline of a view.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnOutline {
    /// Its name in the programme.
    pub id: String,
    /// The zone; nothing for a plain contour.
    pub zone: Option<String>,
    /// How it is drawn.
    pub path: DrawnPath,
    /// Where a label could stand in it: the greatest box of each of two shapes that lies in
    /// it and under no outline above it. Empty for a plain contour.
    pub rooms: Vec<Room>,
}

/// Height and width of the boxes in which labels stand: two lines of text, and one.
const SHAPES: [f64; 2] = [2.2, 6.0];

/// A view of the aircraft, with the state of each zone on a day as the record has it.
///
/// # Errors
/// [`AppError::Unknown`] if the programme has no outline in that view.
pub fn drawing(programme: &Programme, view: View, on: Date) -> Result<Drawing, AppError> {
    let mut drawn: Vec<&Outline> =
        programme.outlines.iter().filter(|outline| outline.view == view).collect();
    if drawn.is_empty() {
        return Err(AppError::Unknown(format!(
            "the programme has no outline in the {} view: add some to its outlines.csv",
            view.word()
        )));
    }
    drawn.sort_by_key(|outline| (outline.order.unwrap_or(0), outline.id.clone()));
    let rings: Vec<Vec<Vec<Point>>> =
        drawn.iter().map(|outline| outline.path.rings()).collect();
    let outlines = drawn.iter().enumerate().map(|(at, outline)| DrawnOutline {
        id: outline.id.to_string(),
        zone: outline.zone.as_ref().map(ToString::to_string),
        path: outline.path.clone(),
        rooms: rooms(&drawn, &rings, at),
    });
    let gathered = facts::gather(programme, on);
    Ok(Drawing {
        view,
        title: title(programme, view),
        on,
        extent: extent(&drawn),
        outlines: outlines.collect(),
        zones: zones(programme, &drawn, &gathered),
        notices: notices(programme, &gathered.stray),
    })
}

fn title(programme: &Programme, view: View) -> String {
    let info = programme.info.as_deref();
    let name = info.map_or("The aircraft", |info| {
        info.registration.as_deref().unwrap_or(info.aircraft.as_str())
    });
    format!("{name}, {} view", view.word())
}

fn rooms(drawn: &[&Outline], rings: &[Vec<Vec<Point>>], at: usize) -> Vec<Room> {
    if drawn[at].zone.is_none() {
        return Vec::new();
    }
    let above = drawn.iter().zip(rings).skip(at + 1);
    let above: Vec<&[Vec<Point>]> = above
        .filter(|(other, _)| other.zone.is_some())
        .map(|(_, rings)| rings.as_slice())
        .collect();
    let room = |shape| room::greatest(&rings[at], &above, shape);
    SHAPES.into_iter().filter_map(room).collect()
}

/// The box around all corners of rings and all ends of strokes.
fn extent(drawn: &[&Outline]) -> ((f64, f64), (f64, f64)) {
    let (mut least, mut most) = ((f64::MAX, f64::MAX), (f64::MIN, f64::MIN));
    let rings = drawn.iter().flat_map(|outline| outline.path.rings());
    let ends = drawn.iter().flat_map(|outline| outline.path.strokes()).filter_map(end);
    for Point { x, y } in rings.flatten().chain(ends) {
        least = (least.0.min(x), least.1.min(y));
        most = (most.0.max(x), most.1.max(y));
    }
    (least, most)
}

/// Where a stroke ends; a line goes round nothing and has no ring.
fn end(stroke: &record::outline::Stroke) -> Option<Point> {
    use record::outline::Stroke as S;
    match stroke {
        S::Move(to) | S::Line(to) | S::Cubic(_, _, to) | S::Quadratic(_, to) => Some(*to),
        S::Arc(arc) => Some(arc.to),
        S::Close => None,
    }
}

/// The zones as the view shows them: one that is not drawn counts with the nearest around
/// it that is, so that nothing which is known is left out because nobody drew it.
fn zones(
    programme: &Programme,
    drawn: &[&Outline],
    gathered: &facts::Gathered,
) -> Vec<ZoneFacts> {
    let mut shown: Vec<&ZoneId> = Vec::new();
    for zone in drawn.iter().filter_map(|outline| outline.zone.as_ref()) {
        if !shown.contains(&zone) {
            shown.push(zone);
        }
    }
    let mut of: BTreeMap<&ZoneId, Vec<&ZoneId>> = BTreeMap::new();
    for zone in programme.zones.names() {
        of.entry(home(programme, &shown, zone)).or_default().push(zone);
    }
    // What only groups zones that are shown has nothing to say.
    let groups =
        |zone: &ZoneId| programme.zones.iter().any(|z| z.within.as_ref() == Some(zone));
    let rest = of
        .keys()
        .copied()
        .filter(|zone| !shown.contains(zone) && (gathered.knows(zone) || !groups(zone)));
    let all: Vec<&ZoneId> = shown.iter().copied().chain(rest).collect();
    let each = all.into_iter().map(|zone| {
        let within = of.get(zone).map_or(&[][..], Vec::as_slice);
        facts::of_zone(programme, gathered, zone, within, shown.contains(&zone))
    });
    each.collect()
}

/// The nearest zone around a zone, or itself, that is shown; itself if none is.
fn home<'p>(
    programme: &'p Programme,
    shown: &[&'p ZoneId],
    zone: &'p ZoneId,
) -> &'p ZoneId {
    let (mut at, mut seen) = (zone, BTreeSet::new());
    while seen.insert(at) {
        if shown.contains(&at) {
            return at;
        }
        let around = programme.zones.get(at).and_then(|zone| zone.within.as_ref());
        let Some(around) = around else { break };
        at = around;
    }
    zone
}

fn notices(programme: &Programme, stray: &[String]) -> Vec<String> {
    let mut notices = Vec::new();
    if programme.info.as_ref().is_some_and(|info| info.invented) {
        notices.push(
            "Invented example: no such aircraft, people, firms or places".to_owned(),
        );
    }
    notices.push(
        "A diagram, not to be measured from. It supports, and never replaces, approved data, \
         licensed engineers and the authority"
            .to_owned(),
    );
    for (tool, seen) in programme.shop.tools.lost() {
        notices.push(format!(
            "The tool {tool} is lost, last seen {seen}: no zone is free of it"
        ));
    }
    if !stray.is_empty() {
        let some: Vec<&str> = stray.iter().take(6).map(String::as_str).collect();
        let more = if stray.len() > some.len() { ", ..." } else { "" };
        notices.push(format!(
            "On no drawing, because no zone is given: {}{more}",
            some.join(", ")
        ));
    }
    notices
}
