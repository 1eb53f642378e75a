//! Connections that are broken.

use std::collections::BTreeSet;

use crate::{Airframe, Connection, ItemId};

/// The connections that are broken while `off` is off, besides what is recorded as off, in
/// the order of the list.
///
/// A connection is broken when something that is off carries exactly one of its ends.
pub fn broken<'a>(airframe: &'a Airframe, off: &BTreeSet<ItemId>) -> Vec<&'a Connection> {
    let off = airframe.marked(off);
    let connections = airframe.parts().connections.iter();
    connections.filter(|c| !parted_by(airframe, c, &off).is_empty()).collect()
}

/// What is off and carries exactly one end, for each end from that end outwards.
pub(super) struct Parted {
    pub(super) from: Vec<usize>,
    pub(super) to: Vec<usize>,
}

impl Parted {
    pub(super) fn is_empty(&self) -> bool {
        self.from.is_empty() && self.to.is_empty()
    }

    pub(super) fn all(&self) -> impl Iterator<Item = usize> {
        self.from.iter().chain(&self.to).copied()
    }

    /// The innermost at each end: what is joined up again by hand.
    pub(super) fn innermost(&self) -> impl Iterator<Item = usize> {
        self.from.first().into_iter().chain(self.to.first()).copied()
    }
}

pub(super) fn parted_by(
    airframe: &Airframe,
    connection: &Connection,
    off: &[bool],
) -> Parted {
    let layout = airframe.layout();
    let place = |id: &ItemId| layout.place(id);
    let (from, to) = (place(&connection.from), connection.to.as_ref().and_then(place));
    let (mut near, mut far) = match (from, to) {
        (Some(from), Some(to)) => layout.between(from, to),
        (Some(one), None) | (None, Some(one)) => {
            (layout.chain(one).collect(), Vec::new())
        }
        (None, None) => (Vec::new(), Vec::new()),
    };
    near.retain(|at| off[*at]);
    far.retain(|at| off[*at]);
    Parted { from: near, to: far }
}
