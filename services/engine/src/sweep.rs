//! Many networks of one shape solved together.
//!
//! Belongs here: the order in which joints are taken out of a shape, worked out once, and that
//! order followed for many sets of values side by side. Does not belong here: what the values
//! stand for ([`crate::predict`]), phasors ([`phasors`]), one network alone
//! ([`crate::network`], the oracle of the tests).
//!
//! Hypotheses of one condition differ in one or two resistors; the shape is the same. So the
//! costly part, choosing an order that keeps the mesh sparse, is done once per condition, and
//! a hypothesis costs a few hundred multiplications, [`LANES`] of them at a time.
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

/// Networks solved side by side.
pub(crate) const LANES: usize = 8;
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

/// The order in which the joints of a shape are taken out.
#[derive(Clone, Debug)]
pub(crate) struct Schedule {
    joints: usize,
    /// Slot of each pair of joints, row-major and symmetric.
    slot: Vec<u16>,
    slots: usize,
    steps: Vec<Step>,
    kept: Vec<usize>,
}

impl Schedule {
    /// Works out the order for a shape given by its joinings; the joints of `keep` stay.
    pub(crate) fn new(joints: usize, edges: &[(usize, usize)], keep: u64) -> Self {
        let mut schedule = Schedule {
            joints,
            slot: vec![NO_SLOT; joints * joints],
            slots: 0,
            steps: Vec::new(),
            kept: bits(keep).collect(),
        };
        let mut joined = vec![0u64; joints];
        for &(a, b) in edges {
            if a != b {
                joined[a] |= 1 << b;
                joined[b] |= 1 << a;
                schedule.slot_made(a, b);
            }
        }
        let all = if joints == 0 { 0 } else { u64::MAX >> (64 - joints) };
        let mut left = all & !keep;
        while left != 0 {
            // Fewest spokes first keeps the mesh sparse; ties go to the first.
            let joint = bits(left)
                .min_by_key(|&joint| (joined[joint].count_ones(), joint))
                .unwrap_or_default();
            left &= !(1u64 << joint);
            let spokes = joined[joint];
            let mut step = Step { joint, spokes: Vec::new(), pairs: Vec::new() };
            for first in bits(spokes) {
                step.spokes.push((first as u16, schedule.slot_made(joint, first)));
                for second in bits(spokes & !((2u64 << first).wrapping_sub(1))) {
                    step.pairs.push(schedule.slot_made(first, second));
                }
                joined[first] |= spokes & !(1u64 << first);
                joined[first] &= !(1u64 << joint);
            }
            schedule.steps.push(step);
        }
        for (place, &first) in schedule.kept.clone().iter().enumerate() {
            for second in schedule.kept.clone().into_iter().skip(place + 1) {
                schedule.slot_made(first, second);
            }
        }
        schedule
    }

    fn slot_made(&mut self, a: usize, b: usize) -> u16 {
        let known = self.slot[a * self.joints + b];
        if known != NO_SLOT {
            return known;
        }
        let fresh = self.slots as u16;
        self.slots += 1;
        self.slot[a * self.joints + b] = fresh;
        self.slot[b * self.joints + a] = fresh;
        fresh
    }

    /// The slot of a joining that the shape has; `None` between a joint and itself.
    pub(crate) fn slot(&self, a: usize, b: usize) -> Option<usize> {
        let slot = self.slot[a * self.joints + b];
        (slot != NO_SLOT).then_some(usize::from(slot))
    }

    /// How many slots there are, those that fill up on the way included.
    pub(crate) fn slots(&self) -> usize {
        self.slots
    }

    /// Takes out every joint but the kept ones; `siemens` has a lane per slot.
    fn reduce(&self, siemens: &mut [Lane]) {
        for step in &self.steps {
            let mut total = [0.0; LANES];
            for &(_, slot) in &step.spokes {
                let spoke = &siemens[usize::from(slot)];
                for lane in 0..LANES {
                    total[lane] += spoke[lane];
                }
            }
            let inverse = inverted(&total);
            let mut pair = step.pairs.iter();
            for (place, &(_, slot)) in step.spokes.iter().enumerate() {
                let mut share = siemens[usize::from(slot)];
                for lane in 0..LANES {
                    share[lane] *= inverse[lane];
                }
                for (&(_, other), &into) in step.spokes[place + 1..].iter().zip(&mut pair) {
                    let other = siemens[usize::from(other)];
                    let into = &mut siemens[usize::from(into)];
                    for lane in 0..LANES {
                        into[lane] += share[lane] * other[lane];
                    }
                }
            }
        }
    }
}

/// One over each value; 0 for 0, since what joins nothing passes nothing on.
fn inverted(total: &Lane) -> Lane {
    let mut inverse = [0.0; LANES];
    for lane in 0..LANES {
        inverse[lane] = if total[lane] > 0.0 { 1.0 / total[lane] } else { 0.0 };
    }
    inverse
}

/// A schedule with the pairs of joints between which conductances are wanted.
#[derive(Clone, Debug)]
pub(crate) struct Ports {
    pub(crate) schedule: Schedule,
    pairs: usize,
    root: Node,
    /// Side of the largest small mesh.
    width: usize,
}

/// A small dense mesh, and what is read off it.
#[derive(Clone, Debug)]
enum Node {
    /// Two joints are left: their joining is the answer of these pairs.
    Answer(usize),
    /// Further meshes made from this one by taking joints out.
    Parted(Vec<Child>),
}

#[derive(Clone, Debug)]
struct Child {
    /// Places, within the parent's mesh, of what is taken out and of what stays.
    out: Vec<usize>,
    stay: Vec<usize>,
    node: Node,
}

impl Ports {
    /// `pairs` are of different joints, none twice.
    pub(crate) fn new(joints: usize, edges: &[(usize, usize)], pairs: &[(usize, usize)]) -> Self {
        let keep = pairs.iter().fold(0u64, |set, &(a, b)| set | 1 << a | 1 << b);
        let schedule = Schedule::new(joints, edges, keep);
        let place = |joint: usize| {
            schedule.kept.iter().position(|&known| known == joint).unwrap_or_default()
        };
        let wanted: Vec<(usize, usize, usize)> = pairs
            .iter()
            .enumerate()
            .map(|(answer, &(a, b))| (place(a), place(b), answer))
            .collect();
        let width = schedule.kept.len();
        let root = node(width, &wanted);
        Ports { schedule, pairs: pairs.len(), root, width }
    }

    /// The conductance between each pair, siemens; exactly 0 where nothing joins them.
    /// `siemens` has a lane per slot of the schedule and is used up.
    pub(crate) fn conductances(&self, siemens: &mut [Lane], room: &mut Vec<Lane>) -> Vec<Lane> {
        self.schedule.reduce(siemens);
        let mut answers = vec![[0.0; LANES]; self.pairs];
        let width = self.width;
        room.clear();
        room.resize(width * width, [0.0; LANES]);
        for (row, &first) in self.schedule.kept.iter().enumerate() {
            for (column, &second) in self.schedule.kept.iter().enumerate().skip(row + 1) {
                if let Some(slot) = self.schedule.slot(first, second) {
                    room[row * width + column] = siemens[slot];
                }
            }
        }
        answer(&self.root, 0, width, room, &mut answers);
        answers
    }
}

/// Plans how a dense mesh of `size` joints is parted until each wanted pair stands alone.
fn node(size: usize, wanted: &[(usize, usize, usize)]) -> Node {
    if let [(_, _, answer)] = wanted
        && size == 2
    {
        return Node::Answer(*answer);
    }
    // Three thirds: every pair lies within two of them. Each child has about two thirds of the
    // joints, so that the work falls from level to level.
    let third = |joint: usize| joint * 3 / size.max(3);
    let mut children = Vec::new();
    let mut left: Vec<(usize, usize, usize)> = wanted.to_vec();
    let single = left.len() == 1;
    for dropped in 0..3 {
        let (these, others): (Vec<_>, Vec<_>) = left
            .into_iter()
            .partition(|&(a, b, _)| single || (third(a) != dropped && third(b) != dropped));
        left = others;
        if these.is_empty() {
            continue;
        }
        let mut stay: Vec<usize> = these.iter().flat_map(|&(a, b, _)| [a, b]).collect();
        stay.sort_unstable();
        stay.dedup();
        let out: Vec<usize> = (0..size).filter(|joint| !stay.contains(joint)).collect();
        let place = |joint: usize| stay.partition_point(|&known| known < joint);
        let inner: Vec<(usize, usize, usize)> =
            these.iter().map(|&(a, b, answer)| (place(a), place(b), answer)).collect();
        let node =
            if out.is_empty() { one_by_one(stay.len(), &inner) } else { node(stay.len(), &inner) };
        children.push(Child { out, stay, node });
    }
    Node::Parted(children)
}

/// The last resort where a third is empty: one child for each pair.
fn one_by_one(size: usize, wanted: &[(usize, usize, usize)]) -> Node {
    if size == 2 {
        return Node::Answer(wanted.first().map_or(0, |&(_, _, answer)| answer));
    }
    Node::Parted(
        wanted
            .iter()
            .map(|&(a, b, answer)| Child {
                out: (0..size).filter(|&joint| joint != a && joint != b).collect(),
                stay: vec![a.min(b), a.max(b)],
                node: Node::Answer(answer),
            })
            .collect(),
    )
}

/// Follows the plan on the mesh of `size` joints that starts at `from` in `room`.
fn answer(node: &Node, from: usize, size: usize, room: &mut Vec<Lane>, answers: &mut [Lane]) {
    match node {
        Node::Answer(place) => answers[*place] = room[from + 1],
        Node::Parted(children) => {
            for child in children {
                let work = from + size * size;
                room.truncate(work);
                room.extend_from_within(from..work);
                taken_out(&mut room[work..], size, &child.out);
                let inner = room.len();
                for &row in &child.stay {
                    for &column in &child.stay {
                        // Below the diagonal nothing is ever read.
                        let value = room[work + row * size + column];
                        room.push(value);
                    }
                }
                answer(&child.node, inner, child.stay.len(), room, answers);
            }
        }
    }
}

/// Takes joints out of a dense mesh, of which only what lies above the diagonal counts.
fn taken_out(mesh: &mut [Lane], size: usize, out: &[usize]) {
    let at = |a: usize, b: usize| a.min(b) * size + a.max(b);
    for (done, &joint) in out.iter().enumerate() {
        let gone = |other: usize| other == joint || out[..done].contains(&other);
        let others: Vec<usize> = (0..size).filter(|&other| !gone(other)).collect();
        let mut total = [0.0; LANES];
        for &other in &others {
            let spoke = &mesh[at(joint, other)];
            for lane in 0..LANES {
                total[lane] += spoke[lane];
            }
        }
        let inverse = inverted(&total);
        for (place, &first) in others.iter().enumerate() {
            let mut share = mesh[at(joint, first)];
            for lane in 0..LANES {
                share[lane] *= inverse[lane];
            }
            for &second in &others[place + 1..] {
                let spoke = mesh[at(joint, second)];
                let into = &mut mesh[at(first, second)];
                for lane in 0..LANES {
                    into[lane] += share[lane] * spoke[lane];
                }
            }
        }
    }
}

#[cfg(test)]
mod tests;
