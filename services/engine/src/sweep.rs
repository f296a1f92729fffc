//! Many networks of one shape solved together.
//!
//! Belongs here: the order in which joints are taken out of a shape, worked out once, and that
//! order followed for many sets of values side by side. Does not belong here: what the values
//! stand for ([`crate::predict`]), what is read off in the end ([`ports`]), phasors
//! ([`phasors`]), one network alone ([`crate::network`], the oracle of the tests).
//!
//! Hypotheses of one condition differ in one or two resistors; the shape is the same. So the
//! costly part, choosing an order that keeps the mesh sparse, is done once per condition, and
//! a hypothesis costs at most a few hundred multiplications, [`LANES`] of them at a time: what its
//! faults do not touch is the sound circuit's ([`ports`]).
//!
//! Why not updates of a table of port resistances: most faults open a bridge, and what then
//! still joins the two sides is insulation of hundreds of megohms. The denominator of such an
//! update is the difference of two numbers that agree in nine digits, and of a double fault in
//! all of them; nearly every double fault would have to be solved again. Taking joints out by
//! the star-mesh transform adds, multiplies and divides positive numbers only, so that every
//! answer keeps its digits and "no path" is an exact zero.

#![expect(
    clippy::needless_range_loop,
    reason = "lanes side by side, all of one length, are what becomes vector instructions"
)]

pub(crate) mod phasors;
mod ports;

pub(crate) use ports::{Ports, Values};

/// Networks solved side by side.
pub(crate) const LANES: usize = 16;
/// One value in each of the networks.
pub(crate) type Lane = [f64; LANES];

const NO_SLOT: u16 = u16::MAX;

/// The places of the bits that are set, lowest first.
pub(crate) fn bits(mut set: u64) -> impl Iterator<Item = usize> {
    std::iter::from_fn(move || {
        let lowest = (set != 0).then(|| set.trailing_zeros() as usize)?;
        set &= set - 1;
        Some(lowest)
    })
}

/// A joint taken out.
#[derive(Clone, Debug)]
struct Step {
    joint: usize,
    /// The joints that it is joined to by then, and the slot of each joining.
    spokes: Vec<(u16, u16)>,
    /// For each pair of spokes in order, the slot of the joining between their far ends.
    pairs: Vec<u16>,
}

/// Joints and their joinings while they are taken out one by one.
#[derive(Clone, Debug)]
struct Shape {
    joints: usize,
    /// Slot of each pair of joints, row-major and symmetric.
    slot: Vec<u16>,
    slots: usize,
    /// For each joint the set of joints that it is joined to, one bit each.
    joined: Vec<u64>,
}

impl Shape {
    fn new(joints: usize, edges: &[(usize, usize)]) -> Self {
        let mut shape = Shape {
            joints,
            slot: vec![NO_SLOT; joints * joints],
            slots: 0,
            joined: vec![0u64; joints],
        };
        for &(a, b) in edges {
            if a != b {
                shape.joined[a] |= 1 << b;
                shape.joined[b] |= 1 << a;
                shape.slot_made(a, b);
            }
        }
        shape
    }

    fn known(&self, a: usize, b: usize) -> Option<u16> {
        let slot = self.slot[a * self.joints + b];
        (slot != NO_SLOT).then_some(slot)
    }

    fn set(&mut self, a: usize, b: usize, slot: u16) {
        self.slot[a * self.joints + b] = slot;
        self.slot[b * self.joints + a] = slot;
    }

    fn slot_made(&mut self, a: usize, b: usize) -> u16 {
        self.known(a, b).unwrap_or_else(|| {
            let fresh = self.slots as u16;
            self.slots += 1;
            self.set(a, b, fresh);
            fresh
        })
    }

    /// Takes out all of `left`. Fewest spokes first keeps the mesh sparse; ties go to the first.
    fn without(&mut self, left: u64) -> Vec<Step> {
        self.taken_out(left, |_| 0)
    }

    /// The same, where ties go to a joint that was reached over as few others as can be: so that a
    /// current passes few on its way.
    fn without_flat(&mut self, left: u64) -> Vec<Step> {
        self.taken_out(left, |over| over)
    }

    fn taken_out(&mut self, mut left: u64, tie: impl Fn(u32) -> u32) -> Vec<Step> {
        let mut steps = Vec::new();
        // The longest way over joints taken out that ends at each.
        let mut over = vec![0; self.joints];
        while left != 0 {
            let joint = bits(left)
                .min_by_key(|&joint| (self.joined[joint].count_ones(), tie(over[joint]), joint))
                .unwrap_or_default();
            left &= !(1u64 << joint);
            let spokes = self.joined[joint];
            let mut step = Step { joint, spokes: Vec::new(), pairs: Vec::new() };
            for first in bits(spokes) {
                step.spokes.push((first as u16, self.slot_made(joint, first)));
                for second in bits(spokes & !((2u64 << first).wrapping_sub(1))) {
                    step.pairs.push(self.slot_made(first, second));
                }
                self.joined[first] |= spokes & !(1u64 << first);
                self.joined[first] &= !(1u64 << joint);
                over[first] = over[first].max(1 + over[joint]);
            }
            self.joined[joint] = 0;
            steps.push(step);
        }
        steps
    }
}

/// The order in which the joints of a shape are taken out.
#[derive(Clone, Debug)]
pub(crate) struct Schedule {
    /// What is left of the shape in the end.
    shape: Shape,
    steps: Vec<Step>,
}

impl Schedule {
    /// Works out the order for a shape given by its joinings.
    pub(crate) fn new(joints: usize, edges: &[(usize, usize)]) -> Self {
        let mut shape = Shape::new(joints, edges);
        let all = if joints == 0 { 0 } else { u64::MAX >> (64 - joints) };
        let steps = shape.without(all);
        Schedule { shape, steps }
    }

    /// The slot of a joining that the shape has; `None` between a joint and itself.
    pub(crate) fn slot(&self, a: usize, b: usize) -> Option<usize> {
        self.shape.known(a, b).map(usize::from)
    }

    /// How many slots there are, those that fill up on the way included.
    pub(crate) fn slots(&self) -> usize {
        self.shape.slots
    }
}

#[cfg(test)]
mod tests;
