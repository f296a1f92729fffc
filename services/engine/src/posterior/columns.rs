//! Sums and products along columns of numbers, one for each hypothesis.
//!
//! Belongs here: the loops themselves, as wide as the processor can; in the same order on every
//! processor, so that the bits are the same. Does not belong here: what the numbers mean.

use pulp::{Arch, Simd, WithSimd};

/// Numbers gone through at a time, so that what is added up stays at hand.
const AT_ONCE: usize = 64;
/// Sums that are kept side by side: one alone waits for itself at each step.
const SUMS: usize = 8;

/// The product of a weight and some columns, added to a sum.
pub(super) struct AddProduct<'a> {
    pub(super) weight: f64,
    pub(super) columns: &'a [&'a [f64]],
    pub(super) sum: &'a mut [f64],
}

impl AddProduct<'_> {
    pub(super) fn run(self) {
        Arch::new().dispatch(self);
    }
}

impl WithSimd for AddProduct<'_> {
    type Output = ();

    // Only what is inlined here is compiled for the wider processor.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for (place, sum) in self.sum.chunks_mut(AT_ONCE).enumerate() {
            let mut product = [self.weight; AT_ONCE];
            for column in self.columns {
                let column = &column[place * AT_ONCE..][..sum.len()];
                for (product, value) in product.iter_mut().zip(column) {
                    *product *= value;
                }
            }
            for (sum, product) in sum.iter_mut().zip(&product) {
                *sum += product;
            }
        }
    }
}

/// Weights times what is likely, made to add up to 1.
pub(super) struct SharesOf<'a> {
    pub(super) weights: &'a [f64],
    pub(super) likely: &'a [f64],
}

impl SharesOf<'_> {
    pub(super) fn run(self) -> Vec<f64> {
        Arch::new().dispatch(self)
    }
}

impl WithSimd for SharesOf<'_> {
    type Output = Vec<f64>;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Vec<f64> {
        let most = largest(self.likely);
        // Divided once, since each division takes as long as several products.
        let over_most = 1.0 / most;
        let mut shares: Vec<f64> = self
            .weights
            .iter()
            .zip(self.likely)
            .map(|(weight, likely)| weight * (likely * over_most))
            .collect();
        let mut sums = [0.0; SUMS];
        for some in shares.chunks(SUMS) {
            for (sum, share) in sums.iter_mut().zip(some) {
                *sum += share;
            }
        }
        let over_sum = 1.0 / sums.iter().sum::<f64>();
        shares.iter_mut().for_each(|share| *share *= over_sum);
        shares
    }
}

/// The largest of some values, none of them negative.
#[inline(always)]
pub(crate) fn largest(values: &[f64]) -> f64 {
    let mut most = [0.0f64; SUMS];
    for some in values.chunks(SUMS) {
        for (most, value) in most.iter_mut().zip(some) {
            *most = if *value > *most { *value } else { *most };
        }
    }
    most.into_iter().fold(0.0, f64::max)
}

/// Calls `look` with the values of at least `least`, and their places. Most are far below, and
/// passed over some at a time. A loop and no iterator: asked so often, one made of several takes
/// twice as long.
#[inline]
pub(crate) fn for_each_at_least(values: &[f64], least: f64, mut look: impl FnMut(usize, f64)) {
    for (chunk, some) in values.chunks(SUMS).enumerate() {
        if some.iter().fold(false, |any, &value| any | (value >= least)) {
            for (of, &value) in some.iter().enumerate() {
                if value >= least {
                    look(chunk * SUMS + of, value);
                }
            }
        }
    }
}
