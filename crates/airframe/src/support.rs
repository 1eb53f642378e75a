//! Ground reactions and margins while heavy items come off and go back.
//!
//! # What it means
//!
//! The aircraft is a rigid body that rests on points. It stands as long as its centre of
//! gravity lies above the *base*, the least convex region that holds all points; the
//! **margin** is the shortest way from the centre of gravity to the edge of the base,
//! negative outside, where the aircraft tips over that edge. When all points lie on one line
//! fore and aft, the aircraft is looked at as a beam: only the margin along it counts, and
//! something else must keep it upright. Points on a line in any other direction hold nothing.
//!
//! An item that comes off takes its own mass and those of all that travels with it. An item
//! without a mass that carries others is a mere grouping; one without a mass that carries
//! nothing, or without an arm, is *unknown*: it is left out of the sums and named.
//! An item without a side acts on the centre line, and so does the weighed aircraft.
//!
//! # What it assumes
//!
//! With two points in line or three points, statics alone gives the reactions, exactly.
//! With more, they depend on how stiff the points and the structure are, which nobody
//! records: they are taken as **equally stiff under a rigid aircraft**, and a point from
//! which the aircraft would lift carries nothing. That is a model, not a measurement; where
//! it matters, put load cells under the points.
//!
//! Jacking and trestling follow the approved data of the type, with the fuel state and
//! ballast known and the load recomputed as heavy items leave; this only warns.

mod ballast;
mod base;
mod loads;
mod stages;

pub use base::{Margin, Side};
pub use loads::{Reactions, centre, reactions};
pub(crate) use stages::Balance;
pub use stages::{
    Ballast, Event, Overload, Stage, StageOptions, history, margin, stages,
};

use quantity::{Length, Mass, Typed};

use crate::ArrangementId;

/// A way in which the aircraft is supported: on its wheels, on jacks, on trestles.
#[derive(Debug, Clone, PartialEq)]
pub struct Arrangement {
    /// Its name in the programme.
    pub id: ArrangementId,
    /// What people call it.
    pub name: String,
    /// Where it stands.
    pub points: Vec<SupportPoint>,
}

/// One place at which the aircraft rests.
#[derive(Debug, Clone, PartialEq)]
pub struct SupportPoint {
    /// What people call it.
    pub name: String,
    /// What it rests on there.
    pub kind: SupportKind,
    /// Aft of the datum.
    pub arm: Typed<Length>,
    /// To starboard of the centre line.
    pub side: Typed<Length>,
    /// The greatest load that it may bear.
    pub capacity: Option<Typed<Mass>>,
    /// It is set only when it is needed: a tail trestle, say.
    pub when_needed: bool,
}

/// What the aircraft rests on at a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SupportKind {
    /// A wheel of its own.
    Wheel,
    /// A jack under a jacking point.
    Jack,
    /// A trestle under a strong point.
    Trestle,
    /// A cradle or beaching chassis under the hull.
    Cradle,
}

impl SupportKind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Wheel, Self::Jack, Self::Trestle, Self::Cradle];

    /// The word for it, as files write it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Wheel => "wheel",
            Self::Jack => "jack",
            Self::Trestle => "trestle",
            Self::Cradle => "cradle",
        }
    }
}

/// Mass and balance of the aircraft as last weighed, complete.
#[derive(Debug, Clone, PartialEq)]
pub struct Weighed {
    /// The whole mass.
    pub mass: Typed<Mass>,
    /// The centre of gravity, aft of the datum.
    pub arm: Typed<Length>,
}
