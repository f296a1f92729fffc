//! Random numbers that are the same on every machine.
//!
//! Belongs here: one small generator. Does not belong here: anything that must be hard to
//! guess.

/// SplitMix64 (Steele, Lea, Flood 2014): the same seed gives the same circuits for ever, which
/// no library's default generator promises.
#[derive(Clone, Debug)]
pub struct Seeded(u64);

impl Seeded {
    /// A generator that repeats for this seed.
    pub fn new(seed: u64) -> Self {
        Seeded(seed)
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// 0 up to, but not including, 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// 0 up to, but not including, `end` (above 0).
    pub fn below(&mut self, end: usize) -> usize {
        (self.unit() * end as f64) as usize
    }

    /// `low` to `high`, evenly spread over the logarithm; both above 0.
    pub fn decades(&mut self, low: f64, high: f64) -> f64 {
        low * (high / low).powf(self.unit())
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.unit() < probability
    }

    /// One of a list that is not empty.
    pub fn one_of<T: Copy>(&mut self, list: &[T]) -> T {
        list[self.below(list.len())]
    }
}
