//! Conductances between many pairs of joints.
//!
//! Belongs here: which joints are taken out for which pairs, so that pairs share what they can.
//! Does not belong here: taking one joint out ([`super`]).
//!
//! Joints that no pair needs go first, for all pairs at once. Then the pairs are parted, each part
//! goes on with a copy of what is left and takes out what it does not need itself, until each pair
//! stands alone. All of it is worked out once, as lists of slots.

use super::{LANES, Lane, NO_SLOT, Schedule, Shape, Step, bits, reduce};

/// A schedule with the pairs of joints between which conductances are wanted.
#[derive(Clone, Debug)]
pub(crate) struct Ports {
    pub(crate) schedule: Schedule,
    pairs: usize,
    root: Node,
    /// Slots in all, those of the parts included.
    room: usize,
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
        let mut room = schedule.slots();
        let root = parted(schedule.shape.clone(), &wanted, &mut room);
        Ports { schedule, pairs: pairs.len(), root, room }
    }

    /// The conductance between each pair, siemens; exactly 0 where nothing joins them.
    /// `siemens` has a lane per slot of the schedule and is used up; `answers` are written over.
    pub(crate) fn conductances(&self, siemens: &mut Vec<Lane>, answers: &mut Vec<Lane>) {
        siemens.resize(self.room, [0.0; LANES]);
        answers.clear();
        answers.resize(self.pairs, [0.0; LANES]);
        reduce(&self.schedule.steps, siemens);
        self.root.follow(siemens, answers);
    }
}

impl Node {
    fn follow(&self, siemens: &mut [Lane], answers: &mut [Lane]) {
        for &(to, from) in &self.filled {
            siemens[usize::from(to)] =
                if from == NO_SLOT { [0.0; LANES] } else { siemens[usize::from(from)] };
        }
        reduce(&self.steps, siemens);
        if let Some((answer, Some(slot))) = self.answer {
            answers[answer] = siemens[usize::from(slot)];
        }
        for part in &self.parts {
            part.follow(siemens, answers);
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
