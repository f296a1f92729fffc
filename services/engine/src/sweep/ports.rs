//! Conductances between many pairs of joints.
//!
//! Belongs here: which joints are taken out for which pairs, so that pairs share what they can,
//! as one list of operations. Does not belong here: the order in which one shape's joints are
//! taken out ([`super`]).
//!
//! Joints that no pair needs go first, for all pairs at once. Then the pairs are parted, each part
//! goes on with a copy of what is left and takes out what it does not need itself, until each pair
//! stands alone. All of it is worked out once, and written down as slots to read and slots to
//! write; a copy that nobody writes to is read where it was copied from.

use pulp::{Arch, Simd, WithSimd};

use super::{LANES, Lane, NO_SLOT, Schedule, Shape, Step, bits};

/// A schedule with the pairs of joints between which conductances are wanted.
#[derive(Clone, Debug)]
pub(crate) struct Ports {
    pub(crate) schedule: Schedule,
    pairs: usize,
    operations: Vec<Operation>,
    /// Slots in all: those of the schedule as they are given, those that are written to, and one
    /// that holds nothing.
    room: usize,
}

/// What is done with the slots, all networks side by side.
#[derive(Clone, Debug)]
enum Operation {
    /// A joint goes: what it joined, by slots, is joined directly from now on. Each pair of
    /// spokes, in order, adds to what is in the first slot and puts it into the second.
    TakeOut { spokes: Vec<u16>, sums: Vec<(u16, u16)> },
    /// A pair stands alone: the place among the answers, and the slot.
    Answer(usize, u16),
}

/// Some of the pairs, and how they are come by.
#[derive(Clone, Debug, Default)]
struct Node {
    /// Slots to fill before anything else, and from which other; from none with nothing.
    filled: Vec<(u16, u16)>,
    steps: Vec<Step>,
    /// A pair that stands alone, and its slot; no slot where nothing joins it.
    answer: Option<(usize, Option<u16>)>,
    parts: Vec<Node>,
}

/// A pair of joints and its place among the answers.
type Wanted = (usize, usize, usize);

impl Ports {
    /// `pairs` are of different joints, none twice.
    pub(crate) fn new(joints: usize, edges: &[(usize, usize)], pairs: &[(usize, usize)]) -> Self {
        let mut wanted: Vec<Wanted> = pairs
            .iter()
            .enumerate()
            .map(|(answer, &(a, b))| (a.min(b), a.max(b), answer))
            .collect();
        wanted.sort_unstable();
        let schedule = Schedule::new(joints, edges, joints_of(&wanted));
        let given = schedule.slots();
        let mut room = given;
        let root = parted(schedule.shape.clone(), &wanted, &mut room);
        let nothing = given + room;
        let mut written = Written {
            operations: Vec::new(),
            held_in: (0..room as u16).collect(),
            given: given as u16,
            nothing: nothing as u16,
        };
        written.steps(&schedule.steps);
        written.node(&root);
        Ports { schedule, pairs: pairs.len(), operations: written.operations, room: nothing + 1 }
    }

    /// Room for the values, a lane per slot. Those of the schedule's slots come first, are the
    /// caller's to fill in, and stay as they are.
    pub(crate) fn room(&self) -> Vec<Lane> {
        vec![[0.0; LANES]; self.room]
    }

    /// The conductance between each pair, siemens; exactly 0 where nothing joins them.
    /// `siemens` is what [`Ports::room`] gave, filled in; `answers` are written over.
    pub(crate) fn conductances(&self, siemens: &mut [Lane], answers: &mut Vec<Lane>) {
        answers.clear();
        answers.resize(self.pairs, [0.0; LANES]);
        Arch::new().dispatch(Run { operations: &self.operations, siemens, answers });
    }
}

/// The operations followed, as many lanes at once as the processor can. They are the same sums and
/// products of the same numbers whatever its width, so that every processor gives the same bits.
struct Run<'a> {
    operations: &'a [Operation],
    siemens: &'a mut [Lane],
    answers: &'a mut [Lane],
}

impl WithSimd for Run<'_> {
    type Output = ();

    // Only what is inlined here is compiled for the wider processor.
    #[inline(always)]
    fn with_simd<S: Simd>(self, _: S) {
        for operation in self.operations {
            match operation {
                Operation::TakeOut { spokes, sums } => take_out(spokes, sums, self.siemens),
                Operation::Answer(answer, slot) => {
                    self.answers[*answer] = self.siemens[usize::from(*slot)];
                }
            }
        }
    }
}

#[inline(always)]
fn take_out(spokes: &[u16], sums: &[(u16, u16)], siemens: &mut [Lane]) {
    let mut total = [0.0; LANES];
    for &slot in spokes {
        let spoke = &siemens[usize::from(slot)];
        for lane in 0..LANES {
            total[lane] += spoke[lane];
        }
    }
    // One over each; 0 for 0, since what joins nothing passes nothing on.
    let mut inverse = [0.0; LANES];
    for lane in 0..LANES {
        inverse[lane] = if total[lane] > 0.0 { 1.0 / total[lane] } else { 0.0 };
    }
    let mut sums = sums.iter();
    for (place, &slot) in spokes.iter().enumerate() {
        let mut share = siemens[usize::from(slot)];
        for lane in 0..LANES {
            share[lane] *= inverse[lane];
        }
        for (&other, &(from, into)) in spokes[place + 1..].iter().zip(&mut sums) {
            let other = &siemens[usize::from(other)];
            let mut sum = siemens[usize::from(from)];
            for lane in 0..LANES {
                sum[lane] += share[lane] * other[lane];
            }
            siemens[usize::from(into)] = sum;
        }
    }
}

/// The operations while they are written down.
struct Written {
    operations: Vec<Operation>,
    /// For each slot of the shapes the one that its value is in: its own once it was written to,
    /// before that the one that it was given or copied in.
    held_in: Vec<u16>,
    /// How many slots are given; those that are written to follow them.
    given: u16,
    /// The slot that holds nothing.
    nothing: u16,
}

impl Written {
    fn node(&mut self, node: &Node) {
        for &(to, from) in &node.filled {
            self.held_in[usize::from(to)] =
                if from == NO_SLOT { self.nothing } else { self.held_in[usize::from(from)] };
        }
        self.steps(&node.steps);
        if let Some((answer, Some(slot))) = node.answer {
            self.operations.push(Operation::Answer(answer, self.held_in[usize::from(slot)]));
        }
        for part in &node.parts {
            self.node(part);
        }
    }

    fn steps(&mut self, steps: &[Step]) {
        for step in steps {
            let spokes =
                step.spokes.iter().map(|&(_, slot)| self.held_in[usize::from(slot)]).collect();
            let sums = step
                .pairs
                .iter()
                .map(|&slot| {
                    let into = self.given + slot;
                    (std::mem::replace(&mut self.held_in[usize::from(slot)], into), into)
                })
                .collect();
            self.operations.push(Operation::TakeOut { spokes, sums });
        }
    }
}

fn joints_of(wanted: &[Wanted]) -> u64 {
    wanted.iter().fold(0, |set, &(a, b, _)| set | 1 << a | 1 << b)
}

/// Parts the pairs, whose joints are what is left of `shape`, until each stands alone.
fn parted(shape: Shape, wanted: &[Wanted], room: &mut usize) -> Node {
    if let [] | [_] = wanted {
        let answer = wanted.first().map(|&(a, b, answer)| (answer, shape.known(a, b)));
        return Node { answer, ..Node::default() };
    }
    let groups = groups(wanted);
    let last = groups.len() - 1;
    let parts = groups
        .iter()
        .enumerate()
        .map(|(place, group)| {
            // Whatever comes last may use up what the others copied.
            let (mut own, mut filled) =
                if place < last { copied(&shape) } else { (shape.clone(), Vec::new()) };
            let before = own.slots;
            let steps = own.without(joints_of(wanted) & !joints_of(group));
            filled.extend((before..own.slots).map(|slot| (slot as u16, NO_SLOT)));
            *room = (*room).max(own.slots);
            Node { filled, steps, ..parted(own, group, room) }
        })
        .collect();
    Node { parts, ..Node::default() }
}

/// The same shape in slots of its own, each with the one that it is copied from.
fn copied(shape: &Shape) -> (Shape, Vec<(u16, u16)>) {
    let mut own = shape.clone();
    own.slot.fill(NO_SLOT);
    let mut filled = Vec::new();
    for first in 0..shape.joints {
        for second in bits(shape.joined[first]).filter(|&second| second > first) {
            if let Some(from) = shape.known(first, second) {
                filled.push((own.slot_made(first, second), from));
            }
        }
    }
    (own, filled)
}

/// Pairs by what they share. Few pairs are halved; many, of which most joints have several, fall
/// by thirds of the joints: every pair lies within two of them.
fn groups(wanted: &[Wanted]) -> Vec<Vec<Wanted>> {
    let joints = joints_of(wanted);
    let size = joints.count_ones() as usize;
    if wanted.len() > size {
        let place = |joint: usize| (joints & ((1u64 << joint) - 1)).count_ones() as usize;
        let third = |joint: usize| place(joint) * 3 / size;
        let mut groups = Vec::new();
        let mut left = wanted.to_vec();
        for dropped in 0..3 {
            let (these, others): (Vec<Wanted>, Vec<Wanted>) =
                left.into_iter().partition(|&(a, b, _)| third(a) != dropped && third(b) != dropped);
            left = others;
            groups.extend((!these.is_empty()).then_some(these));
        }
        if groups.len() > 1 {
            return groups;
        }
    }
    wanted.chunks(wanted.len().div_ceil(2)).map(<[Wanted]>::to_vec).collect()
}
