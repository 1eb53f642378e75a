//! Paths, written from numbers and never from text that came in.

use std::fmt::Write as _;

use crate::draw::n;

/// One stroke of a path, with absolute places in units of the drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PathPart {
    /// The pen is set down elsewhere.
    Move((f64, f64)),
    /// A straight line.
    Line((f64, f64)),
    /// A curve with two points that pull it.
    Cubic((f64, f64), (f64, f64), (f64, f64)),
    /// A curve with one point that pulls it.
    Quadratic((f64, f64), (f64, f64)),
    /// A part of an ellipse.
    Arc {
        /// The two half axes.
        radii: (f64, f64),
        /// By how many degrees the first axis is turned.
        turned: f64,
        /// It is the longer way round.
        large: bool,
        /// It goes clockwise.
        sweep: bool,
        /// Where it ends.
        to: (f64, f64),
    },
    /// Back to where the pen was last set down.
    Close,
}

/// From the drawing to the page.
pub(super) struct Scale {
    pub(super) by: f64,
    pub(super) left: f64,
    pub(super) top: f64,
}

impl Scale {
    pub(super) fn place(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (self.left + x * self.by, self.top + y * self.by)
    }
}

/// The path data of SVG.
pub(super) fn data(path: &[PathPart], scale: &Scale) -> String {
    let mut out = String::new();
    let at = |place| {
        let (x, y) = scale.place(place);
        format!("{} {}", n(x), n(y))
    };
    for part in path {
        // Writing to a text cannot fail.
        let _ = match *part {
            PathPart::Move(to) => write!(out, "M{}", at(to)),
            PathPart::Line(to) => write!(out, "L{}", at(to)),
            PathPart::Cubic(one, two, to) => {
                write!(out, "C{} {} {}", at(one), at(two), at(to))
            }
            PathPart::Quadratic(pull, to) => write!(out, "Q{} {}", at(pull), at(to)),
            PathPart::Arc { radii, turned, large, sweep, to } => write!(
                out,
                "A{} {} {} {} {} {}",
                n(radii.0 * scale.by),
                n(radii.1 * scale.by),
                n(turned),
                u8::from(large),
                u8::from(sweep),
                at(to)
            ),
            PathPart::Close => write!(out, "Z"),
        };
    }
    out
}
