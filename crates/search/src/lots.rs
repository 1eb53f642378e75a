//! Drawing by lot, where what has gained more is drawn more often.

use rand::RngExt;
use rand_pcg::Pcg64Mcg;

/// Draws one of the places that are allowed, by what each has gained; one that gains nothing now
/// keeps a part of the chance of the best, for it may gain later. The first if none is allowed.
pub(crate) fn by_gain(
    gain: &[f64],
    allowed: impl Fn(usize) -> bool,
    rng: &mut Pcg64Mcg,
) -> usize {
    let most = gain.iter().copied().fold(0.0, f64::max);
    let weight = |place: usize| {
        if allowed(place) { gain[place] + 0.15 * most + 1e-6 } else { 0.0 }
    };
    let sum: f64 = (0..gain.len()).map(weight).sum();
    let mut drawn = rng.random::<f64>() * sum;
    for place in 0..gain.len() {
        drawn -= weight(place);
        if drawn <= 0.0 && weight(place) > 0.0 {
            return place;
        }
    }
    0
}

#[cfg(test)]
mod tests {
    use rand::SeedableRng;

    use super::*;

    #[test]
    fn what_gains_is_drawn_more_often_and_what_is_not_allowed_never() {
        let mut rng = Pcg64Mcg::seed_from_u64(1);
        let mut drawn = [0; 4];
        for _ in 0..4_000 {
            drawn[by_gain(&[8.0, 2.0, 0.0, 9.0], |place| place < 3, &mut rng)] += 1;
        }
        // Weights of 9.35, 3.35 and 1.35.
        assert!(drawn[0] > 2 * drawn[1] && drawn[1] > 2 * drawn[2], "{drawn:?}");
        assert!(drawn[2] > 300 && drawn[3] == 0, "{drawn:?}");
    }
}
