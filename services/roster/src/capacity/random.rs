//! Chance, from a seed.
//!
//! Belongs here: the few distributions that the simulation draws from, over the generator of a
//! library. Does not belong here: seeds, which are arguments, and what a draw is for.

use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng as _, SeedableRng as _};

/// Draws, repeatable from a seed.
#[derive(Clone, Debug)]
pub struct Chance(Pcg64Mcg);

impl Chance {
    /// The `run`-th sequence of a seed: what one run draws does not depend on the others.
    #[must_use]
    pub fn of(seed: u64, run: u64) -> Self {
        // Odd, so that different runs of one seed have different seeds of their own.
        let mixed = seed ^ run.wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(17);
        Chance(Pcg64Mcg::seed_from_u64(mixed))
    }

    /// Evenly from above 0 to 1.
    pub fn even(&mut self) -> f64 {
        const STEP: f64 = 1.0 / (1_u64 << 53) as f64;
        ((self.0.next_u64() >> 11) as f64 + 1.0) * STEP
    }

    /// Exponential, by inversion.
    pub fn exponential(&mut self, mean: f64) -> f64 {
        -self.even().ln() * mean
    }

    /// Standard normal, by Box and Muller's transform.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.even().ln()).sqrt();
        radius * (std::f64::consts::TAU * self.even()).cos()
    }

    /// Gamma with that shape (above 0) and mean 1, by Marsaglia and Tsang's method (ACM
    /// Transactions on Mathematical Software 26, 2000; from memory).
    pub fn gamma_mean_one(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            // A gamma of one more, shrunk.
            let shrunk = self.even().powf(1.0 / shape);
            return self.gamma_mean_one(shape + 1.0) * (shape + 1.0) / shape * shrunk;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && self.even().ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v / shape;
            }
        }
    }

    /// One of the places, each as likely as its weight; the last when none has any.
    pub fn pick(&mut self, weights: &[f64]) -> usize {
        let mut left = self.even() * weights.iter().sum::<f64>();
        for (index, weight) in weights.iter().enumerate() {
            left -= weight;
            if left <= 0.0 && *weight > 0.0 {
                return index;
            }
        }
        weights.len().saturating_sub(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAWS: usize = 40_000;

    /// The mean and the variance of many draws.
    fn moments(mut draw: impl FnMut(&mut Chance) -> f64) -> (f64, f64) {
        let mut chance = Chance::of(11, 0);
        let draws: Vec<f64> = (0..DRAWS).map(|_| draw(&mut chance)).collect();
        let mean = draws.iter().sum::<f64>() / DRAWS as f64;
        (mean, draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / DRAWS as f64)
    }

    #[test]
    fn draws_have_the_moments_of_their_distributions() {
        // Bounds are five standard errors and more.
        let near = |got: (f64, f64), mean: f64, variance: f64| {
            assert!((got.0 - mean).abs() < 0.03 * mean.abs().max(1.0), "{got:?}");
            assert!((got.1 - variance).abs() < 0.08 * variance, "{got:?}");
        };
        near(moments(Chance::even), 0.5, 1.0 / 12.0);
        near(moments(|chance| chance.exponential(3.0)), 3.0, 9.0);
        near(moments(Chance::normal), 0.0, 1.0);
        near(moments(|chance| chance.gamma_mean_one(4.0)), 1.0, 0.25);
        near(moments(|chance| chance.gamma_mean_one(0.5)), 1.0, 2.0);
        near(moments(|chance| chance.pick(&[1.0, 0.0, 3.0]) as f64), 1.5, 0.75);
    }

    #[test]
    fn a_run_repeats_and_differs_from_the_next() {
        let three = |run| {
            let mut chance = Chance::of(5, run);
            [chance.even(), chance.even(), chance.even()]
        };
        assert_eq!(three(1), three(1));
        assert_ne!(three(1), three(2));
    }
}
