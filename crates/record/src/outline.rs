//! The aircraft as a drawing: the outlines of its zones, as somebody drew them.
//!
//! An outline is a path in the notation of SVG, of which only plain strokes are read. What
//! is shown of it is written anew from those strokes, never the text as it came. Units and
//! origin are the drawing's own; all outlines of one view share them, x to the right and y
//! downwards.

mod read;
mod rings;

pub use read::PathFault;
pub use rings::{Point, area};

use airframe::ZoneId;

use crate::{OutlineId, Programme};

/// The line around a zone in a drawing, or a line that belongs to none.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Its name in the programme.
    pub id: OutlineId,
    /// In which drawing it is.
    pub view: View,
    /// The zone; nothing for a plain contour.
    pub zone: Option<ZoneId>,
    /// How it is drawn.
    pub path: DrawnPath,
    /// When it is drawn: a greater one lies over a lesser one. Nothing counts as 0.
    pub order: Option<u32>,
}

/// From where the aircraft is seen.
#[derive(
    Debug,
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
)]
pub enum View {
    /// From one side.
    Side,
    /// From above.
    Plan,
}

impl View {
    /// All of them.
    pub const ALL: [Self; 2] = [Self::Side, Self::Plan];

    /// The word for it, as files write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Side => "side",
            Self::Plan => "plan",
        }
    }
}

impl Programme {
    /// The least and the greatest place of a drawing: the box around all corners of its
    /// outlines. Nothing if nobody drew that view.
    pub fn extent(&self, view: View) -> Option<(Point, Point)> {
        let drawn = self.outlines.iter().filter(|outline| outline.view == view);
        let mut extent: Option<(Point, Point)> = None;
        for outline in drawn {
            let rings = outline.path.rings().into_iter().flatten();
            // A line goes round nothing and has no ring.
            let ends = outline.path.strokes().iter().filter_map(Stroke::end);
            for Point { x, y } in rings.chain(ends) {
                let (least, most) =
                    extent.get_or_insert((Point { x, y }, Point { x, y }));
                *least = Point { x: least.x.min(x), y: least.y.min(y) };
                *most = Point { x: most.x.max(x), y: most.y.max(y) };
            }
        }
        extent
    }
}

impl Stroke {
    /// Where it ends; nothing for one that goes back to where it began.
    pub fn end(&self) -> Option<Point> {
        match self {
            Self::Move(to)
            | Self::Line(to)
            | Self::Cubic(_, _, to)
            | Self::Quadratic(_, to) => Some(*to),
            Self::Arc(arc) => Some(arc.to),
            Self::Close => None,
        }
    }
}

/// A path: its text as it was written, and the strokes that it stands for.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnPath {
    text: String,
    strokes: Vec<Stroke>,
}

/// One stroke of a path, with absolute places. The short curves of the notation are
/// written out as whole ones.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Stroke {
    /// The pen is set down elsewhere.
    Move(Point),
    /// A straight line.
    Line(Point),
    /// A curve with two points that pull it.
    Cubic(Point, Point, Point),
    /// A curve with one point that pulls it.
    Quadratic(Point, Point),
    /// A part of an ellipse.
    Arc(Arc),
    /// Back to where the pen was last set down.
    Close,
}

/// A part of an ellipse, from where the pen is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Arc {
    /// The two half axes; never negative.
    pub radii: (f64, f64),
    /// By how many degrees the first axis is turned from the x axis.
    pub turned: f64,
    /// It is the longer way round.
    pub large: bool,
    /// It goes the way in which angles grow: clockwise, y being downwards.
    pub sweep: bool,
    /// Where it ends.
    pub to: Point,
}

impl DrawnPath {
    /// The most letters that a path may have.
    pub const LONGEST: usize = 20_000;

    /// How far from the origin anything may be.
    pub const FARTHEST: f64 = 1e6;

    /// Reads a path.
    ///
    /// # Errors
    /// Everything that is wrong with it, each at its place in the text.
    pub fn parse(text: &str) -> Result<Self, Vec<PathFault>> {
        let text = text.trim();
        let strokes = read::strokes(text)?;
        Ok(Self { text: text.to_owned(), strokes })
    }

    /// As it was written.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Its strokes.
    pub fn strokes(&self) -> &[Stroke] {
        &self.strokes
    }

    /// Its rings as corners, curves as chords that are never farther from them than a
    /// thousandth of the path's own size. A ring that was left open is taken as closed.
    pub fn rings(&self) -> Vec<Vec<Point>> {
        rings::rings(&self.strokes)
    }
}

impl crate::Named for Outline {
    type Name = OutlineId;
    const NOUN: &'static str = "outline";

    fn name(&self) -> &OutlineId {
        &self.id
    }
}
