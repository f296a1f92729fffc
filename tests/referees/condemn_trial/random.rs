//! Draws that the trial needs beside the plain generator.
//!
//! Belongs here: normal and weighted draws, seeds made from parts. Does not belong here: what
//! is drawn.

use crate::seeded::Seeded;

/// A seed made from parts: different parts, different seeds.
pub(super) fn seed_of(parts: &[u64]) -> u64 {
    parts.iter().fold(0x5eed_0000_0000_0001, |seed, part| {
        Seeded::new(seed ^ part.wrapping_mul(0x9e37_79b9_7f4a_7c15)).bits()
    })
}

/// A number made from a word, the same for ever (FNV-1a).
pub(super) fn number_of(word: &str) -> u64 {
    word.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3)
    })
}

/// A standard normal draw (Box and Muller).
pub(super) fn normal(random: &mut Seeded) -> f64 {
    let (a, b) = (1.0 - random.unit(), random.unit());
    (-2.0 * a.ln()).sqrt() * (std::f64::consts::TAU * b).cos()
}

/// `low` to `high`, evenly.
pub(super) fn between(random: &mut Seeded, low: f64, high: f64) -> f64 {
    low + (high - low) * random.unit()
}

/// A place in `weights` by weight; 0 where all are zero.
pub(super) fn weighted(random: &mut Seeded, weights: &[f64]) -> usize {
    let mut left = random.unit() * weights.iter().sum::<f64>();
    for (place, weight) in weights.iter().enumerate() {
        if left < *weight {
            return place;
        }
        left -= weight;
    }
    weights.iter().rposition(|weight| *weight > 0.0).unwrap_or(0)
}
