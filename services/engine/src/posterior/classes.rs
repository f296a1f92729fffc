//! Predictions that are the same.
//!
//! Belongs here: telling which hypotheses predict the same of a reading, so that its likelihood is
//! worked out once for all of them. Does not belong here: likelihoods ([`super::cells`]).

use crate::predict::Predicted;

/// Bits of a prediction that are rounded away: what is left is good to a part in 10⁹, so that
/// hypotheses which differ by rounding alone share a likelihood.
const ROUNDED_BITS: u32 = 22;
/// All but those.
const KEPT: u64 = !((1 << ROUNDED_BITS) - 1);
/// Places of the memory, as bits; one prediction pushes out another in the same place.
const MEMO_BITS: u32 = 11;
/// Most spreads of a fault's size told apart; there are as many as kinds of effect.
const SPREADS_MAX: usize = 32;

/// What the hypotheses predict of one reading, each prediction with each spread of a fault's size
/// once (or seldom twice).
pub(super) struct Classes {
    /// By hypothesis, from the first told on.
    pub(super) of: Vec<u32>,
    /// By class.
    pub(super) all: Vec<(Predicted, f64)>,
    /// Spreads of a fault's size, and by hypothesis the place of its own.
    spreads: Vec<f64>,
    spread_of: Vec<u8>,
    /// The reading that is looked at, by number; from 1.
    reading: u32,
    memo: Vec<Place>,
}

/// A prediction that was met.
#[derive(Clone, Copy)]
struct Place {
    /// Of the prediction and of the place of its spread.
    bits: u64,
    /// The reading that it was met in; 0 for none.
    reading: u32,
    class: u32,
}

impl Classes {
    /// `size_spread` is that of each hypothesis.
    pub(super) fn new(size_spread: impl Iterator<Item = f64>) -> Self {
        let mut spreads: Vec<f64> = Vec::new();
        let spread_of = size_spread
            .map(|spread| {
                let known = spreads.iter().position(|known| *known == spread);
                known.unwrap_or_else(|| {
                    assert!(spreads.len() < SPREADS_MAX, "more spreads than kinds of effect");
                    spreads.push(spread);
                    spreads.len() - 1
                }) as u8
            })
            .collect();
        let memo = vec![Place { bits: 0, reading: 0, class: 0 }; 1 << MEMO_BITS];
        Classes { of: Vec::new(), all: Vec::new(), spreads, spread_of, reading: 0, memo }
    }

    /// Tells the classes of a column, of the hypotheses from `first` on, forgetting those of the
    /// one before.
    pub(super) fn tell(&mut self, first: usize, predicted: &[Predicted]) {
        let Classes { of, all, spreads, spread_of, reading, memo } = self;
        *reading += 1;
        of.clear();
        all.clear();
        of.extend(predicted.iter().zip(&spread_of[first..]).map(|(&predicted, &spread)| {
            let predicted = rounded(predicted);
            let bits = bits_of(predicted, spread);
            let mixed = bits.wrapping_mul(0x9E37_79B9_7F4A_7C15);
            let place = &mut memo[(mixed >> (64 - MEMO_BITS)) as usize];
            if place.bits != bits || place.reading != *reading {
                *place = Place { bits, reading: *reading, class: all.len() as u32 };
                all.push((predicted, spreads[usize::from(spread)]));
            }
            place.class
        }));
    }
}

/// The prediction as the likelihoods see it, whichever hypothesis asks first.
pub(super) fn rounded(predicted: Predicted) -> Predicted {
    match predicted {
        Predicted::Value(value) if value.is_finite() => {
            let half = 1u64 << (ROUNDED_BITS - 1);
            Predicted::Value(f64::from_bits((value.to_bits() + half) & KEPT))
        }
        _ => predicted,
    }
}

/// A prediction, rounded, and the place of a spread as bits: those that were rounded away hold what
/// kind it is and the spread. What is no value has no spread.
fn bits_of(predicted: Predicted, spread: u8) -> u64 {
    const GHOST: u64 = SPREADS_MAX as u64;
    match predicted {
        Predicted::Value(value) => value.to_bits() | u64::from(spread),
        // A bound that differs in its last bits alone is the same to whoever reads a meter.
        Predicted::Ghost { up_to } => up_to.to_bits() & KEPT | GHOST,
        Predicted::NoPath { charging } => GHOST + 1 + u64::from(charging),
        Predicted::Nothing => GHOST + 3,
    }
}
