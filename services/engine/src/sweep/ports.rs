//! Resistances between many pairs of joints.
//!
//! Belongs here: what of a network's reduction changes when a few of its values do, and what is
//! read off it between any two joints. Does not belong here: the order in which joints are taken
//! out ([`super`]) and what the values stand for ([`crate::predict`]).
//!
//! All joints are taken out, one by one. What is left of a joint then are its spokes, each the
//! share of a current that goes on to that other joint. One ampere into a joint arrives, share by
//! share, at joints that are taken out later, never before; and between two joints the resistance
//! is the sum, over all joints that a current from either passes, of the square of what arrives
//! from one less what arrives from the other, over the sum of the spokes. These are the terms of
//! R = ‖L⁻¹e‖²: none is negative, so that nothing cancels, and where nothing joins the two joints
//! one ampere is left over in each of their islands.
//!
//! A value that changes is felt by the joints that a current from there passes, and by no others.
//! So the sound network is worked out once, and of every other only what feels its faults.

use pulp::{Arch, Simd, WithSimd};

use super::{LANES, Lane, Shape, bits};

/// What arrives where nothing comes by.
const NOTHING: u16 = 0;
/// What arrives where an ampere starts.
const ALL: u16 = 1;
/// An ampere that is left over in an island without a way out, squared, against rounding.
const LEFT_OVER: f64 = 0.25;

/// How a shape's joints are taken out, and what is read off between pairs of them.
#[derive(Clone, Debug)]
pub(crate) struct Ports {
    shape: Shape,
    /// How many slots are given values; fill-ins follow them.
    given: usize,
    /// In the order in which they are taken out.
    joints: Vec<Joint>,
    spokes: Vec<Spoke>,
    /// Arrivals by joint, after [`NOTHING`] and [`ALL`].
    arrivals: Vec<Sums>,
    /// By arrival, the place of the joint where it started.
    starts: Vec<u8>,
    /// A share and a conductance, by spoke, or an arrival and a share: what they multiply to is
    /// added up.
    products: Vec<(u16, u16)>,
    /// For each pair the joints between which it is, by place.
    ends: Vec<[usize; 2]>,
    /// A joint passed, and what arrives there from either of a pair.
    passed: Vec<[u16; 3]>,
    /// For each pair its joints passed.
    pairs: Vec<Sums>,
    /// By slot: the places of the joints that feel it.
    feels: Vec<u64>,
}

/// Some of the products, or of what else is one after the other, from one place up to another.
#[derive(Clone, Copy, Debug)]
struct Sums {
    from: usize,
    to: usize,
}

/// A joint that is taken out: its spokes, and what arrives there.
#[derive(Clone, Debug)]
struct Joint {
    spokes: Sums,
    arrivals: Sums,
}

/// A spoke: its own value, where one is given, and the products that add to it.
#[derive(Clone, Debug)]
struct Spoke {
    given: Option<usize>,
    sums: Sums,
}

/// Values of so many networks side by side, and all that was worked out of them.
#[derive(Clone, Debug)]
pub(crate) struct Values<const N: usize = LANES> {
    /// By slot; the caller's to fill in.
    pub(crate) siemens: Vec<[f64; N]>,
    conductance: Vec<[f64; N]>,
    share: Vec<[f64; N]>,
    /// One over the sum of a joint's spokes; 0 where it has none.
    inverse: Vec<[f64; N]>,
    /// Whether a joint has no spokes in some lane.
    ends: Vec<bool>,
    arrives: Vec<[f64; N]>,
}

impl Ports {
    /// `pairs` are of different joints.
    pub(crate) fn new(joints: usize, edges: &[(usize, usize)], pairs: &[(usize, usize)]) -> Self {
        let mut shape = Shape::new(joints, edges);
        let given = shape.slots;
        let all = if joints == 0 { 0 } else { u64::MAX >> (64 - joints) };
        let steps = shape.without_flat(all);
        let mut place = vec![0; joints];
        for (taken, step) in steps.iter().enumerate() {
            place[step.joint] = taken;
        }
        let mut ports = Ports {
            given,
            joints: Vec::with_capacity(joints),
            spokes: Vec::new(),
            arrivals: Vec::new(),
            starts: Vec::new(),
            ends: pairs.iter().map(|&(a, b)| [place[a], place[b]]).collect(),
            products: Vec::new(),
            passed: Vec::new(),
            pairs: Vec::with_capacity(pairs.len()),
            feels: vec![0; given],
            shape,
        };
        // The spoke from each joint to each, by their places.
        let mut spoke_of = vec![None; joints * joints];
        // The joints, by place, that a current from each passes, and those that have it as spoke.
        let mut passes: Vec<u64> = vec![0; joints];
        let mut into: Vec<u64> = vec![0; joints];
        for (taken, step) in steps.iter().enumerate() {
            for &(to, _) in &step.spokes {
                into[place[usize::from(to)]] |= 1 << taken;
            }
        }
        for (taken, step) in steps.iter().enumerate().rev() {
            let next = step.spokes.iter().map(|&(to, _)| place[usize::from(to)]).min();
            passes[taken] = 1 << taken | next.map_or(0, |next| passes[next]);
        }
        for (taken, step) in steps.iter().enumerate() {
            let from = ports.spokes.len();
            for &(to, slot) in &step.spokes {
                let to = place[usize::from(to)];
                let sums = ports.added(bits(into[taken] & into[to]).filter_map(|earlier| {
                    Some((spoke_of[earlier * joints + taken]?, spoke_of[earlier * joints + to]?))
                }));
                spoke_of[taken * joints + to] = Some(ports.spokes.len() as u16);
                let slot = usize::from(slot);
                let given = (slot < given).then_some(slot);
                if let Some(slot) = given {
                    ports.feels[slot] = passes[taken];
                }
                ports.spokes.push(Spoke { given, sums });
            }
            let spokes = Sums { from, to: ports.spokes.len() };
            ports.joints.push(Joint { spokes, arrivals: Sums { from: 0, to: 0 } });
        }
        // What arrives from each joint at each, by their places.
        let mut arrival_of = vec![NOTHING; joints * joints];
        let mut starts = 0u64;
        for &(a, b) in pairs {
            starts |= 1 << place[a] | 1 << place[b];
        }
        for at in 0..joints {
            let from = ports.arrivals.len();
            for start in bits(starts).filter(|&start| passes[start] >> at & 1 == 1) {
                if start == at {
                    arrival_of[start * joints + at] = ALL;
                    continue;
                }
                let sums = ports.added(bits(into[at] & passes[start]).filter_map(|earlier| {
                    Some((arrival_of[start * joints + earlier], spoke_of[earlier * joints + at]?))
                }));
                arrival_of[start * joints + at] = (2 + ports.arrivals.len()) as u16;
                ports.arrivals.push(sums);
                ports.starts.push(start as u8);
            }
            ports.joints[at].arrivals = Sums { from, to: ports.arrivals.len() };
        }
        for &(a, b) in pairs {
            let (a, b) = (place[a], place[b]);
            let from = ports.passed.len();
            ports.passed.extend(bits(passes[a] | passes[b]).map(|at| {
                let arrives = |start: usize| arrival_of[start * joints + at];
                [at as u16, arrives(a), arrives(b)]
            }));
            ports.pairs.push(Sums { from, to: ports.passed.len() });
        }
        ports
    }

    fn added(&mut self, products: impl Iterator<Item = (u16, u16)>) -> Sums {
        let from = self.products.len();
        self.products.extend(products);
        Sums { from, to: self.products.len() }
    }

    /// How many slots are the caller's to fill in.
    pub(crate) fn slots(&self) -> usize {
        self.given
    }

    /// The slot of a joining that the shape was given; `None` for any other.
    pub(crate) fn slot(&self, a: usize, b: usize) -> Option<usize> {
        self.shape.known(a, b).map(usize::from).filter(|&slot| slot < self.given)
    }

    /// Room for the values, nothing worked out yet.
    pub(crate) fn room<const N: usize>(&self) -> Values<N> {
        let lanes = |count: usize| vec![[0.0; N]; count];
        let mut arrives = lanes(2 + self.arrivals.len());
        arrives[usize::from(ALL)] = [1.0; N];
        Values {
            siemens: lanes(self.given),
            conductance: lanes(self.spokes.len()),
            share: lanes(self.spokes.len()),
            inverse: lanes(self.joints.len()),
            ends: vec![false; self.joints.len()],
            arrives,
        }
    }

    /// The joints that feel a change of a slot's value.
    pub(crate) fn feels(&self, slot: usize) -> u64 {
        self.feels[slot]
    }

    /// All joints.
    pub(crate) fn all(&self) -> u64 {
        u64::MAX.checked_shr(64 - self.joints.len() as u32).unwrap_or(0)
    }

    /// The joints between which some of the pairs are, by place: where a current starts.
    pub(crate) fn starts(&self, wanted: &[usize]) -> u64 {
        let ends = wanted.iter().flat_map(|&pair| self.ends[pair]);
        ends.fold(0, |starts, end| starts | 1 << end)
    }

    /// Works out anew what some joints make of the values, and what arrives there of the currents
    /// that start at some.
    pub(crate) fn follow<const N: usize>(&self, joints: u64, starts: u64, values: &mut Values<N>) {
        Arch::new().dispatch(Follow { ports: self, joints, starts, values });
    }

    /// Puts one network into all lanes, with what was worked out of it.
    pub(crate) fn in_all_lanes(&self, one: &Values<1>, values: &mut Values) {
        spread_out(&one.siemens, &mut values.siemens);
        self.restore(self.all(), values, one);
    }

    /// Puts back what was worked out of one network at some joints, in all lanes.
    pub(crate) fn restore(&self, joints: u64, values: &mut Values, from: &Values<1>) {
        Arch::new().dispatch(Restore { ports: self, joints, values, from });
    }

    /// What the joints that each of some pairs passes add up to in one network: before each of
    /// them, and after all.
    pub(crate) fn on_the_way(&self, one: &Values<1>, wanted: &[usize]) -> Vec<f64> {
        let mut sums = Vec::with_capacity(self.passed.len() + wanted.len());
        for &pair in wanted {
            let Sums { from, to } = self.pairs[pair];
            let mut ohm = [0.0];
            sums.push(ohm[0]);
            for passed in &self.passed[from..to] {
                add_joint(passed, one, &mut ohm);
                sums.push(ohm[0]);
            }
        }
        sums
    }

    /// The resistance between each of some pairs, by place, ohm; infinite where nothing joins them.
    /// `values` were followed; one after the other they are handed to `answer`, counted from 0. They
    /// differ at the joints `feel` alone from the network that was `on_the_way`.
    pub(crate) fn resistances(
        &self,
        values: &Values,
        wanted: &[usize],
        feel: u64,
        mut on_the_way: &[f64],
        mut answer: impl FnMut(usize, &Lane),
    ) {
        let arch = Arch::new();
        for (place, &pair) in wanted.iter().enumerate() {
            let Sums { from, to } = self.pairs[pair];
            let passed = &self.passed[from..to];
            let (known, others) = on_the_way.split_at(passed.len() + 1);
            on_the_way = others;
            // Up to the first joint that feels anything it is the same sum.
            let feels = |&[at, ..]: &[u16; 3]| feel >> at & 1 == 1;
            let same = passed.iter().position(feels).unwrap_or(passed.len());
            let read = Read { passed: &passed[same..], before: known[same], values };
            answer(place, &arch.dispatch(read));
        }
    }
}

struct Restore<'a> {
    ports: &'a Ports,
    joints: u64,
    values: &'a mut Values,
    from: &'a Values<1>,
}

impl WithSimd for Restore<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Restore { ports, joints, values, from } = self;
        for at in bits(joints) {
            let joint = &ports.joints[at];
            let spokes = joint.spokes.from..joint.spokes.to;
            let share = &from.share[spokes.clone()];
            spread_out(share, &mut values.share[spokes.clone()]);
            let conductance = &from.conductance[spokes.clone()];
            spread_out(conductance, &mut values.conductance[spokes]);
            values.inverse[at] = [from.inverse[at][0]; LANES];
            values.ends[at] = from.ends[at];
            let arrivals = 2 + joint.arrivals.from..2 + joint.arrivals.to;
            spread_out(&from.arrives[arrivals.clone()], &mut values.arrives[arrivals]);
        }
    }
}

/// Puts the values of one network into all lanes.
#[inline(always)]
fn spread_out(one: &[[f64; 1]], lanes: &mut [Lane]) {
    for (lanes, [value]) in lanes.iter_mut().zip(one) {
        *lanes = [*value; LANES];
    }
}

/// Work done as many lanes at once as the processor can. It is the same sums and products of the
/// same numbers whatever its width, so that every processor gives the same bits.
struct Follow<'a, const N: usize> {
    ports: &'a Ports,
    joints: u64,
    starts: u64,
    values: &'a mut Values<N>,
}

impl<const N: usize> WithSimd for Follow<'_, N> {
    type Output = ();

    // Only what is inlined here is compiled for the wider processor.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        let Follow { ports, joints, starts, values } = self;
        let Values { siemens, conductance, share, inverse, ends, arrives } = values;
        // As slices their bounds stay at hand; what is read and written goes through a local lane,
        // since the compiler does not know that they are apart.
        let (conductance, share) = (&mut conductance[..], &mut share[..]);
        let arrives = &mut arrives[..];
        for at in bits(joints) {
            let joint = &ports.joints[at];
            let mut total = [0.0; N];
            for spoke in joint.spokes.from..joint.spokes.to {
                let Spoke { given, sums } = ports.spokes[spoke];
                let mut sum = given.map_or([0.0; N], |slot| siemens[slot]);
                for &(of, on) in &ports.products[sums.from..sums.to] {
                    let (of, on) = (&share[usize::from(of)], &conductance[usize::from(on)]);
                    for lane in 0..N {
                        sum[lane] += of[lane] * on[lane];
                    }
                }
                for lane in 0..N {
                    total[lane] += sum[lane];
                }
                conductance[spoke] = sum;
            }
            // One over each; 0 for 0, since what joins nothing passes nothing on.
            let mut over = [0.0; N];
            for lane in 0..N {
                over[lane] = if total[lane] > 0.0 { 1.0 / total[lane] } else { 0.0 };
            }
            inverse[at] = over;
            ends[at] = least(total) <= 0.0;
            for spoke in joint.spokes.from..joint.spokes.to {
                let mut passes = conductance[spoke];
                for lane in 0..N {
                    passes[lane] *= over[lane];
                }
                share[spoke] = passes;
            }
            for arrival in joint.arrivals.from..joint.arrivals.to {
                if starts >> ports.starts[arrival] & 1 == 0 {
                    continue;
                }
                let sums = ports.arrivals[arrival];
                let mut sum = [0.0; N];
                for &(before, passes) in &ports.products[sums.from..sums.to] {
                    let before = &arrives[usize::from(before)];
                    let passes = &share[usize::from(passes)];
                    for lane in 0..N {
                        sum[lane] += before[lane] * passes[lane];
                    }
                }
                arrives[2 + arrival] = sum;
            }
        }
    }
}

/// The least of all lanes, half of them against the other half, as vectors do.
#[inline(always)]
fn least<const N: usize>(mut of: [f64; N]) -> f64 {
    let mut half = N / 2;
    while half > 0 {
        for lane in 0..half {
            of[lane] = if of[lane + half] < of[lane] { of[lane + half] } else { of[lane] };
        }
        half /= 2;
    }
    of[0]
}

/// Adds to resistances between two joints what a joint that is passed makes of them.
#[inline(always)]
fn add_joint<const N: usize>(passed: &[u16; 3], values: &Values<N>, ohm: &mut [f64; N]) {
    let [at, from, to] = passed.map(usize::from);
    let inverse = &values.inverse[at];
    let (from, to) = (&values.arrives[from], &values.arrives[to]);
    for lane in 0..N {
        let left = from[lane] - to[lane];
        ohm[lane] += left * left * inverse[lane];
    }
    if values.ends[at] {
        for lane in 0..N {
            let left = from[lane] - to[lane];
            if inverse[lane] == 0.0 && left * left > LEFT_OVER {
                ohm[lane] = f64::INFINITY;
            }
        }
    }
}

struct Read<'a> {
    passed: &'a [[u16; 3]],
    /// What the joints before those add up to.
    before: f64,
    values: &'a Values,
}

impl WithSimd for Read<'_> {
    type Output = Lane;

    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) -> Lane {
        let Read { passed, before, values } = self;
        let mut ohm = [before; LANES];
        for passed in passed {
            add_joint(passed, values, &mut ohm);
        }
        ohm
    }
}
