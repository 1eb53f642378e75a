//! The least ballast that gives a margin.

use quantity::{Length, Mass};

use super::base::Base;
use super::stages::{Ballast, Load};

/// The least mass at any one of the places that brings the margin to `minimum` metres. The
/// smallest of several wins, then the first.
pub(super) fn least(
    base: &Base,
    load: Load,
    places: &[f64],
    minimum: f64,
) -> Option<Ballast> {
    let mut best: Option<(f64, f64)> = None;
    for &place in places {
        let Some(mass) = at(base, load, place, minimum) else { continue };
        if best.is_none_or(|(least, _)| mass < least) {
            best = Some((mass, place));
        }
    }
    let (mass, arm) = best?;
    Some(Ballast { mass: Mass::from_kg(mass).ok()?, arm: Length::from_m(arm).ok()? })
}

/// The least mass at one place. With `w` of ballast the distance inside each bound is
/// `(W·d + w·p) / (W + w)`, with `d` that of the aircraft and `p` that of the place, so each
/// bound asks for `w` at least, or allows `w` at most, `W (m − d) / (p − m)`.
fn at(base: &Base, load: Load, place: f64, minimum: f64) -> Option<f64> {
    let centre = load.centre()?;
    let (mut least, mut most) = (0.0_f64, f64::INFINITY);
    let bounds = base.bounds();
    if bounds.is_empty() {
        return None;
    }
    for bound in bounds {
        let lacking = minimum - bound.inside(centre);
        let helps = bound.inside((place, 0.0)) - minimum;
        if helps > 0.0 {
            least = least.max(load.mass * lacking / helps);
        } else if lacking > 0.0 {
            return None;
        } else if helps < 0.0 {
            most = most.min(load.mass * lacking / helps);
        }
    }
    (least <= most).then_some(least)
}
