//! The same for phasors: voltages of many circuits of one shape under power.
//!
//! Belongs here: taking joints out of complex networks and putting voltages back in. Does not
//! belong here: contacts, sources and what follows what ([`crate::powered`]).
//!
//! Admittances of coils and capacitors can cancel where resistors cannot. A joint whose spokes
//! add up to less than [`CANCELS`] of their sizes is told, and its network is solved again with
//! pivots ([`crate::powered`] does that); all others keep at least nine digits.

use super::{LANES, Lane, Schedule};

/// Below this share of its terms a sum has lost too many digits.
pub(crate) const CANCELS: f64 = 1e-6;

/// A complex value in each of the networks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Phasor {
    pub(crate) re: Lane,
    pub(crate) im: Lane,
}

impl Phasor {
    /// Zero in every network.
    pub(crate) const ZERO: Phasor = Phasor { re: [0.0; LANES], im: [0.0; LANES] };

    fn times(&self, other: &Phasor) -> Phasor {
        let mut product = Phasor::ZERO;
        for lane in 0..LANES {
            product.re[lane] = self.re[lane] * other.re[lane] - self.im[lane] * other.im[lane];
            product.im[lane] = self.re[lane] * other.im[lane] + self.im[lane] * other.re[lane];
        }
        product
    }

    fn add(&mut self, other: &Phasor) {
        for lane in 0..LANES {
            self.re[lane] += other.re[lane];
            self.im[lane] += other.im[lane];
        }
    }
}

impl Schedule {
    /// Volts of each joint against the last joint of its island, from the admittance of each
    /// slot and the current driven into each joint; and, for each network, whether something
    /// cancelled. The schedule keeps no joint.
    pub(crate) fn voltages(
        &self,
        siemens: &mut [Phasor],
        ampere: &mut [Phasor],
    ) -> (Vec<Phasor>, [bool; LANES]) {
        let mut cancels = [false; LANES];
        let mut inverses = Vec::with_capacity(self.steps.len());
        for step in &self.steps {
            let mut total = Phasor::ZERO;
            let mut sizes = [0.0; LANES];
            for &(_, slot) in &step.spokes {
                let spoke = &siemens[usize::from(slot)];
                for lane in 0..LANES {
                    total.re[lane] += spoke.re[lane];
                    total.im[lane] += spoke.im[lane];
                    sizes[lane] += spoke.re[lane].abs() + spoke.im[lane].abs();
                }
            }
            let mut inverse = Phasor::ZERO;
            for lane in 0..LANES {
                let (re, im) = (total.re[lane], total.im[lane]);
                cancels[lane] |= re.abs() + im.abs() < CANCELS * sizes[lane];
                // What has no spokes left is the last of its island, at zero volts.
                let square = re * re + im * im;
                let scale = if square > 0.0 { 1.0 / square } else { 0.0 };
                inverse.re[lane] = re * scale;
                inverse.im[lane] = -im * scale;
            }
            let driven = ampere[step.joint];
            let mut pair = step.pairs.iter();
            for (place, &(joint, slot)) in step.spokes.iter().enumerate() {
                let share = siemens[usize::from(slot)].times(&inverse);
                ampere[usize::from(joint)].add(&share.times(&driven));
                for (&(_, other), &into) in step.spokes[place + 1..].iter().zip(&mut pair) {
                    let product = share.times(&siemens[usize::from(other)]);
                    siemens[usize::from(into)].add(&product);
                }
            }
            inverses.push(inverse);
        }
        let mut volts = vec![Phasor::ZERO; self.shape.joints];
        for (step, inverse) in self.steps.iter().zip(&inverses).rev() {
            let mut sum = ampere[step.joint];
            for &(joint, slot) in &step.spokes {
                sum.add(&siemens[usize::from(slot)].times(&volts[usize::from(joint)]));
            }
            volts[step.joint] = sum.times(inverse);
        }
        (volts, cancels)
    }
}
