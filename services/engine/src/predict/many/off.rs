//! A network with power off, and what differs in it from one supposition to the next.
//!
//! Belongs here: which values lie where, solving every network that the suppositions make. Does
//! not belong here: what a fault does to a part ([`super::super::branch_ohm`]), which suppositions
//! make the same network ([`super::networks`]), what is read off ([`super::reader`]) and the
//! arithmetic ([`crate::sweep`]).

use super::super::{Paths, Predicted, Setup, branch_ohm, copper_factor};
use super::charging::Charging;
use super::networks::Networks;
use super::reader::{Reader, Resistances};
use super::{Look, Supposed, Work};
use crate::model::{Fault, Model};
use crate::sweep::{LANES, Lane, Ports};

/// Readings of one condition with power off: the shape of its network, which values lie where.
pub(super) struct Off {
    lifted: Vec<usize>,
    temp_c: Option<f64>,
    readers: Vec<(usize, Reader)>,
    pub(super) ports: Ports,
    /// Slot of each part, where it joins two different joints.
    of_part: Vec<Option<usize>>,
    /// By fault: the slot between the joints that it brings together.
    joined: Vec<Option<usize>>,
    /// Insulation in each slot, which no fault changes.
    insulation: Vec<f64>,
    /// The parts in each slot.
    parts: Vec<Vec<usize>>,
}

/// What is asked of one condition after the other.
pub(super) struct Asked<'a, 'm, 'c> {
    pub(super) model: &'m Model<'c>,
    pub(super) setups: &'a [Setup],
    pub(super) suppositions: &'a [Supposed<'m>],
    pub(super) scale: f64,
}

/// Room that they work in.
#[derive(Default)]
pub(super) struct Room {
    ohm: Vec<f64>,
    column: Vec<Predicted>,
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

/// What the suppositions' faults make of the slots.
pub(super) struct Slots {
    /// What the sound circuit has in each slot.
    sound: Vec<f64>,
    /// By fault: the slots that it changes, and what they then hold. Nothing of faults that no
    /// supposition has.
    pub(super) by_fault: Vec<[Option<(usize, f64)>; 2]>,
    /// By fault: the conductance of its part, siemens.
    pub(super) own: Vec<Option<f64>>,
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
    fn siemens_of(&self, part: usize, supposed: &Supposed<'_>) -> f64 {
        if self.out[part] {
            return 0.0;
        }
        let mut values = self.model.parts[part];
        if let Some((moved, factor)) = supposed.moved
            && moved == part
        {
            values = values.times(factor);
        }
        branch_ohm(&values, supposed.of_part(part), self.scale, self.warm, Paths::Direct)
            .map_or(0.0, |ohm| 1.0 / ohm)
    }

    /// Every joining that the network has under some supposition, at whatever scale.
    fn edges(&self) -> Vec<(usize, usize)> {
        let mut edges = Vec::new();
        let mut joins: Vec<bool> = self.siemens.iter().map(|&siemens| siemens > 0.0).collect();
        for fault in &self.model.faults {
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

impl Off {
    pub(super) fn new<'s>(
        model: &Model<'_>,
        lifted: &[usize],
        temp_c: Option<f64>,
        setups: impl Iterator<Item = (usize, &'s Setup)>,
    ) -> Self {
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        let mut pair = |a: usize, b: usize| -> Option<usize> {
            let pair = (a.min(b), a.max(b));
            (a != b).then(|| {
                pairs.iter().position(|known| *known == pair).unwrap_or_else(|| {
                    pairs.push(pair);
                    pairs.len() - 1
                })
            })
        };
        let readers =
            setups.map(|(index, setup)| (index, Reader::new(model, setup, &mut pair))).collect();
        let edges = Condition::new(model, lifted, temp_c, 1.0).edges();
        let ports = Ports::new(model.circuit.points.len(), &edges, &pairs);
        let mut insulation = vec![0.0; ports.slots()];
        let mut parts = vec![Vec::new(); ports.slots()];
        let mut of_part = vec![None; model.parts.len()];
        for (index, part) in model.parts.iter().enumerate() {
            let Some([a, b]) = part.ends else { continue };
            of_part[index] = ports.slot(a, b);
            if let Some(slot) = of_part[index] {
                parts[slot].push(index);
            }
            if let (Some(shell), Some(ohm)) = (model.shell, part.insulation_ohm) {
                // Half of the leakage at either end, so that an open part still leaks.
                for slot in [a, b].into_iter().filter_map(|end| ports.slot(end, shell)) {
                    insulation[slot] += 1.0 / (2.0 * ohm);
                }
            }
        }
        let slot_of = |fault: &Fault| fault.joins.and_then(|[from, to]| ports.slot(from, to));
        let joined = model.faults.iter().map(slot_of).collect();
        Off { lifted: lifted.to_vec(), temp_c, readers, ports, of_part, joined, insulation, parts }
    }

    /// Calls `look` with the column of each of its readings.
    pub(super) fn predict(
        &self,
        asked: &Asked<'_, '_, '_>,
        room: &mut Room,
        work: &mut Work,
        look: Look<'_>,
    ) {
        let suppositions = asked.suppositions;
        if suppositions.is_empty() {
            return;
        }
        let condition = Condition::new(asked.model, &self.lifted, self.temp_c, asked.scale);
        let slots = self.slots(&condition, suppositions);
        let mut sound = self.ports.room();
        for (slot, &value) in sound.siemens.iter_mut().zip(&slots.sound) {
            *slot = [value; LANES];
        }
        self.ports.follow(self.ports.all(), &mut sound);
        let mut values = sound.clone();
        let mut charging = Charging::new(&condition);
        let networks = Networks::of(self, &condition, &slots, suppositions);
        work.networks += networks.all.len() as u64;
        let Room { ohm, column } = &mut *room;
        let wide = networks.all.len().next_multiple_of(LANES);
        ohm.clear();
        ohm.resize(self.ports.pairs() * wide, 0.0);
        let mut changed = Vec::new();
        // Joints at which something else was worked out than of the sound circuit.
        let mut stale = 0;
        for (block, members) in networks.all.chunks(LANES).enumerate() {
            changed.clear();
            for (lane, supposed) in members.iter().enumerate() {
                let values = &mut values.siemens;
                self.put_in(&condition, &slots, supposed, lane, values, &mut changed);
            }
            let feel = changed.iter().fold(0, |feel, &slot| feel | self.ports.feels(slot));
            self.ports.restore(stale & !feel, &mut values, &sound);
            stale = feel;
            self.ports.follow(feel, &mut values);
            self.ports.resistances(&values, |pair, answer| {
                ohm[pair * wide + block * LANES..][..LANES].copy_from_slice(answer);
            });
            for &slot in &changed {
                values.siemens[slot] = sound.siemens[slot];
            }
        }
        let of = Resistances { ohm, wide, network_of: &networks.of };
        column.clear();
        column.resize(suppositions.len(), Predicted::Nothing);
        for (index, reader) in &self.readers {
            reader.read(&mut charging, &asked.setups[*index], suppositions, &of, column);
            look(*index, column);
        }
    }

    /// The slots in which a supposition differs from the sound circuit.
    fn changed(&self, supposed: &Supposed<'_>) -> impl Iterator<Item = usize> {
        let of_parts = supposed.parts().map(|part| self.of_part[part]);
        let joined = supposed.faults().map(|fault| self.joined[fault.index]);
        of_parts.chain(joined).flatten()
    }

    fn slots(&self, condition: &Condition<'_, '_>, suppositions: &[Supposed<'_>]) -> Slots {
        let faults = condition.model.faults.len();
        let sound = self.parts.iter().zip(&self.insulation).map(|(parts, &insulation)| {
            parts.iter().fold(insulation, |sum, &part| sum + condition.siemens[part])
        });
        let mut slots = Slots {
            sound: sound.collect(),
            by_fault: vec![[None; 2]; faults],
            own: vec![None; faults],
        };
        for fault in suppositions.iter().flat_map(Supposed::faults) {
            if slots.own[fault.index].is_some() {
                continue;
            }
            let alone = Supposed::of(&[fault]);
            slots.own[fault.index] = Some(condition.siemens_of(fault.part, &alone));
            slots.by_fault[fault.index] = [self.of_part[fault.part], self.joined[fault.index]]
                .map(|slot| slot.map(|slot| (slot, self.anew(condition, &alone, slot))));
        }
        slots
    }

    /// What a slot holds under a supposition, added up anew: nothing is subtracted.
    fn anew(&self, condition: &Condition<'_, '_>, supposed: &Supposed<'_>, slot: usize) -> f64 {
        let parts = self.parts[slot].iter().fold(self.insulation[slot], |sum, &part| {
            let changed = supposed.parts().any(|other| other == part);
            let sound = condition.siemens[part];
            sum + if changed { condition.siemens_of(part, supposed) } else { sound }
        });
        supposed
            .faults()
            .filter(|fault| self.joined[fault.index] == Some(slot))
            .fold(parts, |sum, fault| sum + 1.0 / fault.size)
    }

    /// Puts one supposition into a lane that holds the sound circuit, and adds the slots in which
    /// it differs.
    fn put_in(
        &self,
        condition: &Condition<'_, '_>,
        slots: &Slots,
        supposed: &Supposed<'_>,
        lane: usize,
        siemens: &mut [Lane],
        changed: &mut Vec<usize>,
    ) {
        let of =
            |fault: Option<&Fault>| fault.map_or([None, None], |fault| slots.by_fault[fault.index]);
        let [first, second] = supposed.faults.map(of);
        let shared = first
            .iter()
            .flatten()
            .any(|(slot, _)| second.iter().flatten().any(|(other, _)| other == slot));
        if supposed.moved.is_none() && !shared {
            for (slot, value) in [first[0], first[1], second[0], second[1]].into_iter().flatten() {
                siemens[slot][lane] = value;
                changed.push(slot);
            }
            return;
        }
        for slot in self.changed(supposed) {
            siemens[slot][lane] = self.anew(condition, supposed, slot);
            changed.push(slot);
        }
    }
}
