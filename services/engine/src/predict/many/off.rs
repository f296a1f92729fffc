//! A network with power off, and what differs in it from one supposition to the next.
//!
//! Belongs here: the parts' values under a supposition, solving every network that the suppositions
//! make. Does not belong here: where values lie ([`super::layout`]), what a fault does to a part
//! ([`super::super::branch_ohm`]), which suppositions make the same network ([`super::networks`]),
//! what is read off ([`super::reader`]) and the arithmetic ([`crate::sweep`]).

use std::cell::OnceCell;

use super::super::{Paths, Predicted, Setup, branch_ohm, copper_factor};
use super::charging::Charging;
use super::layout::{Layout, Slots};
use super::networks::{Alike, Networks};
use super::reader::{Reader, Resistances};
use super::{Look, Supposed, Work};
use crate::model::{Fault, Model, Origin, PartValues};
use crate::sweep::{LANES, Values};

/// Readings of one condition with power off.
pub(super) struct Off<'m, 'c> {
    lifted: Vec<usize>,
    temp_c: Option<f64>,
    /// In the order of the setups.
    readers: Vec<(usize, Reader)>,
    /// The pairs between which they ask, by place among those of the shapes, in their order; and by
    /// reader, how many of those it and the ones before it need.
    pairs: Vec<usize>,
    pairs_upto: Vec<usize>,
    nominal: Condition<'m, 'c>,
    /// What is the same for all who ask at nominal values.
    sound: OnceCell<Sound>,
}

/// The shapes that all conditions share: what is lifted out conducts nothing in its slot.
pub(super) struct Shapes {
    /// The joints between which something is read.
    pairs: Vec<(usize, usize)>,
    as_drawn: OnceCell<Layout>,
    /// The same with conductors that may touch: they make a dense mesh of a sparse one, so that
    /// only what supposes it pays for it.
    touching: OnceCell<Layout>,
}

impl Shapes {
    pub(super) fn new() -> Self {
        Shapes { pairs: Vec::new(), as_drawn: OnceCell::new(), touching: OnceCell::new() }
    }

    /// The place of a pair of different joints.
    fn pair(&mut self, pair: (usize, usize)) -> usize {
        self.pairs.iter().position(|known| *known == pair).unwrap_or_else(|| {
            self.pairs.push(pair);
            self.pairs.len() - 1
        })
    }

    fn layout(&self, model: &Model<'_>, some_touch: bool) -> &Layout {
        let layout = if some_touch { &self.touching } else { &self.as_drawn };
        layout.get_or_init(|| {
            let condition = Condition::new(model, &[], None, 1.0);
            let edges = condition.edges(|fault| some_touch || !touches(fault));
            Layout::new(model, &edges, &self.pairs)
        })
    }
}

/// What is asked of one condition after the other.
pub(super) struct Asked<'a, 'm, 'c> {
    pub(super) model: &'m Model<'c>,
    /// Those that come first, and no others.
    pub(super) setups: &'a [Setup],
    pub(super) suppositions: &'a [Supposed<'m>],
    pub(super) scale: f64,
}

/// A sound network solved, and what the faults make of its slots.
struct Sound {
    slots: Slots,
    alike: OnceCell<Alike>,
    values: Values<1>,
}

/// Room that they work in.
#[derive(Default)]
pub(super) struct Room {
    ohm: Vec<f64>,
    column: Vec<Predicted>,
    /// Of the shape that all conditions share.
    values: Option<Values>,
}

/// The values of a condition's network.
pub(super) struct Condition<'m, 'c> {
    pub(super) model: &'m Model<'c>,
    pub(super) scale: f64,
    warm: f64,
    /// Conductance of each part of the sound circuit, siemens; 0 where it conducts nothing or
    /// is lifted out.
    pub(super) siemens: Vec<f64>,
    /// Whether each part is lifted out.
    pub(super) out: Vec<bool>,
}

impl<'m, 'c> Condition<'m, 'c> {
    fn new(model: &'m Model<'c>, lifted: &[usize], temp_c: Option<f64>, scale: f64) -> Self {
        let mut out = vec![false; model.parts.len()];
        for &part in lifted.iter().flat_map(|&connector| &model.opens[connector]) {
            out[part] = true;
        }
        let warm = temp_c.map_or(1.0, copper_factor);
        let mut condition = Condition { model, warm, scale, siemens: Vec::new(), out };
        condition.siemens = (0..model.parts.len())
            .map(|part| condition.siemens_of(part, &Supposed::default()))
            .collect();
        condition
    }

    /// Conductance of a part under a supposition.
    pub(super) fn siemens_of(&self, part: usize, supposed: &Supposed<'_>) -> f64 {
        if self.out[part] {
            return 0.0;
        }
        let values = &self.model.parts[part];
        let siemens = |values: &PartValues| {
            branch_ohm(values, supposed.of_part(part), self.scale, self.warm, Paths::Direct)
                .map_or(0.0, |ohm| 1.0 / ohm)
        };
        match supposed.moved {
            Some((moved, factor)) if moved == part => siemens(&values.times(factor)),
            _ => siemens(values),
        }
    }

    /// Every joining that the network has under some of the faults, at whatever scale.
    fn edges(&self, some: impl Fn(&Fault) -> bool) -> Vec<(usize, usize)> {
        let mut edges = Vec::new();
        let mut joins: Vec<bool> = self.siemens.iter().map(|&siemens| siemens > 0.0).collect();
        for fault in self.model.faults.iter().filter(|fault| some(fault)) {
            edges.extend(fault.joins.map(|[from, to]| (from, to)));
            if !joins[fault.part] {
                joins[fault.part] = self.siemens_of(fault.part, &Supposed::of(&[fault])) > 0.0;
            }
        }
        for (part, joins) in self.model.parts.iter().zip(joins) {
            let Some([a, b]) = part.ends else { continue };
            if let (Some(shell), Some(_)) = (self.model.shell, part.insulation_ohm) {
                edges.extend([(a, shell), (b, shell)]);
            }
            if joins {
                edges.push((a, b));
            }
        }
        edges
    }
}

impl Sound {
    fn of<'f>(
        layout: &Layout,
        condition: &Condition<'_, '_>,
        faults: impl Iterator<Item = &'f Fault>,
    ) -> Self {
        let slots = layout.slots(condition, faults);
        let mut values = layout.ports.room();
        values.siemens = slots.sound.iter().map(|&value| [value]).collect();
        layout.ports.follow(layout.ports.all(), layout.ports.all(), &mut values);
        Sound { slots, alike: OnceCell::new(), values }
    }
}

impl<'m, 'c> Off<'m, 'c> {
    pub(super) fn new<'s>(
        model: &'m Model<'c>,
        lifted: &[usize],
        temp_c: Option<f64>,
        setups: impl Iterator<Item = (usize, &'s Setup)>,
        shapes: &mut Shapes,
    ) -> Self {
        let mut pairs: Vec<usize> = Vec::new();
        let mut readers = Vec::new();
        let mut pairs_upto = Vec::new();
        for (index, setup) in setups {
            let mut pair = |a: usize, b: usize| -> Option<usize> {
                let pair = (a != b).then(|| shapes.pair((a.min(b), a.max(b))))?;
                let known = pairs.iter().position(|known| *known == pair);
                Some(known.unwrap_or_else(|| {
                    pairs.push(pair);
                    pairs.len() - 1
                }))
            };
            readers.push((index, Reader::new(model, setup, &mut pair)));
            pairs_upto.push(pairs.len());
        }
        let nominal = Condition::new(model, lifted, temp_c, 1.0);
        Off {
            lifted: lifted.to_vec(),
            temp_c,
            readers,
            pairs,
            pairs_upto,
            nominal,
            sound: OnceCell::new(),
        }
    }

    /// Calls `look` with the column of each of its readings.
    pub(super) fn predict(
        &self,
        asked: &Asked<'_, 'm, 'c>,
        shapes: &Shapes,
        room: &mut Room,
        work: &mut Work,
        look: Look<'_>,
    ) {
        let suppositions = asked.suppositions;
        let readers = self.readers.partition_point(|(index, _)| *index < asked.setups.len());
        if suppositions.is_empty() || readers == 0 {
            return;
        }
        let pairs = &self.pairs[..self.pairs_upto[readers - 1]];
        let at_scale;
        let condition = if asked.scale == 1.0 {
            &self.nominal
        } else {
            at_scale = Condition::new(asked.model, &self.lifted, self.temp_c, asked.scale);
            &at_scale
        };
        let some_touch = suppositions.iter().flat_map(Supposed::faults).any(touches);
        let layout = shapes.layout(asked.model, some_touch);
        let of_these;
        let sound = if some_touch || asked.scale != 1.0 {
            let faults = suppositions.iter().flat_map(Supposed::faults);
            of_these = Sound::of(layout, condition, faults);
            &of_these
        } else {
            let faults = asked.model.faults.iter().filter(|fault| !touches(fault));
            self.sound.get_or_init(|| Sound::of(layout, condition, faults))
        };
        let alike = || sound.alike.get_or_init(|| Alike::of(layout, condition, &sound.slots));
        let networks = Networks::of(alike, suppositions);
        work.networks += networks.all.len() as u64;
        let Room { ohm, column, values } = &mut *room;
        let wide = networks.all.len().next_multiple_of(LANES);
        ohm.clear();
        ohm.resize(pairs.len() * wide, 0.0);
        let ports = &layout.ports;
        let starts = ports.starts(pairs);
        let values = values.get_or_insert_with(|| ports.room());
        ports.in_all_lanes(&sound.values, values);
        let on_the_way = ports.on_the_way(&sound.values, pairs);
        let mut changed = Vec::new();
        // Joints at which something else was worked out than of the sound circuit.
        let mut stale = 0;
        for (block, members) in networks.all.chunks(LANES).enumerate() {
            changed.clear();
            for (lane, supposed) in members.iter().enumerate() {
                let values = &mut values.siemens;
                layout.put_in(condition, &sound.slots, supposed, lane, values, &mut changed);
            }
            let feel = changed.iter().fold(0, |feel, &slot| feel | ports.feels(slot));
            ports.restore(stale & !feel, values, &sound.values);
            stale = feel;
            ports.follow(feel, starts, values);
            ports.resistances(values, pairs, feel, &on_the_way, |pair, answer| {
                ohm[pair * wide + block * LANES..][..LANES].copy_from_slice(answer);
            });
            for &slot in &changed {
                values.siemens[slot] = [sound.slots.sound[slot]; LANES];
            }
        }
        let mut charging = Charging::new(condition);
        let of = Resistances { ohm, wide, network_of: &networks.of };
        column.clear();
        column.resize(suppositions.len(), Predicted::Nothing);
        for (index, reader) in &self.readers[..readers] {
            reader.read(&mut charging, &asked.setups[*index], suppositions, &of, column);
            look(*index, column);
        }
    }
}

/// Whether a fault brings conductors together that no part joins.
fn touches(fault: &Fault) -> bool {
    fault.origin == Origin::Touches
}
