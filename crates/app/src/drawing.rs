//! The aircraft as a drawing: each zone with all that the record says of it.

mod facts;
mod room;
mod standing;
mod svg;
mod zones;

pub use facts::ZoneFacts;
pub use standing::{ItemState, ItemWord, item_state};
pub use svg::drawing_svg;
pub use zones::{ZonePage, views, zone_list, zone_page, zones_of_items};

pub(crate) use facts::{zone_of, zone_of_finding};

use std::collections::{BTreeMap, BTreeSet};

use airframe::ZoneId;
use charts::Room;
use jiff::civil::Date;
use record::outline::Point;
use record::{Condition, DrawnPath, Outline, Programme, View};

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
    /// Findings that were marked on it.
    pub marks: Vec<DrawnMark>,
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

/// A finding that was marked on a drawing.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnMark {
    /// Where, in the units of the outlines.
    pub at: (f64, f64),
    /// The finding.
    pub finding: String,
    /// What was seen.
    pub what: String,
    /// How it stands, in a word.
    pub word: &'static str,
    /// Whether it was cleared.
    pub cleared: bool,
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
    let nowhere = ((0.0, 0.0), (0.0, 0.0));
    Ok(Drawing {
        view,
        title: title(programme, view),
        on,
        extent: programme
            .extent(view)
            .map_or(nowhere, |(least, most)| ((least.x, least.y), (most.x, most.y))),
        outlines: outlines.collect(),
        zones: zones(programme, &drawn, &gathered),
        marks: marks(programme, view),
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

/// Findings that were marked on a view.
fn marks(programme: &Programme, view: View) -> Vec<DrawnMark> {
    let states = programme.shop.findings.states.iter();
    let marked = states.filter_map(|(finding, state)| {
        let spot = state.raised.as_ref()?.0.mark.filter(|spot| spot.view == view)?;
        let cleared = state.is_cleared();
        Some(DrawnMark {
            at: (spot.x, spot.y),
            finding: finding.to_string(),
            what: crate::sheets::what(programme, finding),
            word: if cleared { "cleared" } else { class_word(state.condition()) },
            cleared,
        })
    });
    marked.collect()
}

/// The word for how bad an open finding is.
fn class_word(condition: Condition) -> &'static str {
    match condition {
        Condition::Unknown => "not classed",
        known => known.word(),
    }
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
