//! Where the values of a network with power off lie.
//!
//! Belongs here: the slots of a shape, what is in each of the sound circuit, what a supposition
//! makes of them. Does not belong here: what a fault does to a part
//! ([`super::super::branch_ohm`]) and solving ([`super::off`]).

use super::Supposed;
use super::off::Condition;
use crate::model::{Fault, Model};
use crate::sweep::{Lane, Ports};

/// The shape of a condition's network, and which values lie where.
pub(super) struct Layout {
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

/// What the suppositions' faults make of the slots.
pub(super) struct Slots {
    /// What the sound circuit has in each slot.
    pub(super) sound: Vec<f64>,
    /// By fault: the slots that it changes, and what they then hold. Nothing of faults that
    /// nobody asks for.
    pub(super) by_fault: Vec<[Option<(usize, f64)>; 2]>,
    /// By fault: the conductance of its part, siemens.
    pub(super) own: Vec<Option<f64>>,
}

impl Layout {
    /// `edges` are all joinings that the network has under some supposition, `pairs` the joints
    /// between which something is read.
    pub(super) fn new(
        model: &Model<'_>,
        edges: &[(usize, usize)],
        pairs: &[(usize, usize)],
    ) -> Self {
        let ports = Ports::new(model.circuit.points.len(), edges, pairs);
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
        Layout { ports, of_part, joined, insulation, parts }
    }

    /// The slots in which a supposition differs from the sound circuit.
    fn changed(&self, supposed: &Supposed<'_>) -> impl Iterator<Item = usize> {
        let of_parts = supposed.parts().map(|part| self.of_part[part]);
        let joined = supposed.faults().map(|fault| self.joined[fault.index]);
        of_parts.chain(joined).flatten()
    }

    /// What the sound circuit and some faults have in the slots.
    pub(super) fn slots<'f>(
        &self,
        condition: &Condition<'_, '_>,
        some: impl Iterator<Item = &'f Fault>,
    ) -> Slots {
        let faults = condition.model.faults.len();
        let sound = self.parts.iter().zip(&self.insulation).map(|(parts, &insulation)| {
            parts.iter().fold(insulation, |sum, &part| sum + condition.siemens[part])
        });
        let mut slots = Slots {
            sound: sound.collect(),
            by_fault: vec![[None; 2]; faults],
            own: vec![None; faults],
        };
        for fault in some {
            if slots.own[fault.index].is_some() {
                continue;
            }
            let alone = Supposed::of(&[fault]);
            slots.own[fault.index] = Some(condition.siemens_of(fault.part, &alone));
            let slots_of = [self.of_part[fault.part], self.joined[fault.index]];
            slots.by_fault[fault.index] = slots_of.map(|slot| {
                let slot = slot?;
                let value = self.anew(condition, &alone, slot);
                // What stays as it was is felt nowhere.
                (value.to_bits() != slots.sound[slot].to_bits()).then_some((slot, value))
            });
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
    pub(super) fn put_in(
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
