//! Predictions that are the same.
//!
//! Belongs here: telling which hypotheses predict the same of a reading, so that its likelihood is
//! worked out once for all of them. Does not belong here: likelihoods ([`super::cells`]).

use crate::predict::Predicted;

/// Bits of a prediction that are rounded away: what is left is good to a part in 10⁹, so that
/// hypotheses which differ by rounding alone share a likelihood.
const ROUNDED_BITS: u32 = 22;
/// Places of a memory, as bits; one prediction pushes out another in the same place.
const MEMO_BITS: u32 = 11;

/// What the hypotheses predict of one reading, each prediction with each spread of a fault's size
/// once (or seldom twice).
pub(super) struct Classes {
    /// By hypothesis.
    pub(super) of: Vec<u32>,
    /// By class.
    pub(super) all: Vec<(Predicted, f64)>,
    memo: Memo<u32>,
}

impl Classes {
    pub(super) fn new() -> Self {
        Classes { of: Vec::new(), all: Vec::new(), memo: Memo::new(0) }
    }

    /// Tells the classes of a column, forgetting those of the one before.
    pub(super) fn tell(&mut self, predicted: &[Predicted], size_spread: &[f64]) {
        let Classes { of, all, memo } = self;
        memo.forget();
        of.clear();
        all.clear();
        of.extend(predicted.iter().zip(size_spread).map(|(&predicted, &spread)| {
            let predicted = rounded(predicted);
            memo.of(predicted, spread, || {
                all.push((predicted, spread));
                (all.len() - 1) as u32
            })
        }));
    }
}

/// The prediction as the likelihoods see it, whichever hypothesis asks first.
fn rounded(predicted: Predicted) -> Predicted {
    match predicted {
        Predicted::Value(value) if value.is_finite() => {
            let half = 1u64 << (ROUNDED_BITS - 1);
            let kept = !((1u64 << ROUNDED_BITS) - 1);
            Predicted::Value(f64::from_bits((value.to_bits() + half) & kept))
        }
        _ => predicted,
    }
}

/// A prediction and a spread as bits. What is no value has no spread either.
fn bits_of(predicted: Predicted, size_spread: f64) -> [u64; 2] {
    const NO_VALUE: u64 = u64::MAX;
    match predicted {
        Predicted::Value(value) => [value.to_bits(), size_spread.to_bits()],
        Predicted::Ghost { up_to } => [up_to.to_bits(), NO_VALUE],
        Predicted::NoPath { charging } => [u64::from(charging), NO_VALUE - 1],
        Predicted::Nothing => [0, NO_VALUE - 2],
    }
}

/// What was worked out already: many hypotheses predict the same of a reading.
struct Memo<T> {
    /// The reading that is looked at, by number; from 1.
    reading: u32,
    places: Vec<Place<T>>,
}

#[derive(Clone, Copy)]
struct Place<T> {
    /// Of the prediction and of the spread.
    bits: [u64; 2],
    /// The reading that it was worked out for; 0 for none.
    reading: u32,
    known: T,
}

impl<T: Copy> Memo<T> {
    fn new(nothing: T) -> Self {
        Memo {
            reading: 1,
            places: vec![Place { bits: [0; 2], reading: 0, known: nothing }; 1 << MEMO_BITS],
        }
    }

    /// Another reading: nothing that was remembered holds any more.
    fn forget(&mut self) {
        self.reading += 1;
    }

    fn of(&mut self, predicted: Predicted, size_spread: f64, work_out: impl FnOnce() -> T) -> T {
        let bits = bits_of(predicted, size_spread);
        let mixed = (bits[0] ^ bits[1].rotate_left(17)).wrapping_mul(0x9E37_79B9_7F4A_7C15);
        let place = &mut self.places[(mixed >> (64 - MEMO_BITS)) as usize];
        if place.bits != bits || place.reading != self.reading {
            *place = Place { bits, reading: self.reading, known: work_out() };
        }
        place.known
    }
}
