//! What a meter's current does at first: it charges capacitors.
//!
//! Belongs here: which joints hang together for that current, remembered by what a supposition
//! opens or closes. Does not belong here: resistances ([`super`]).

use std::collections::BTreeMap;

use super::super::{Paths, Predicted, branch_ohm};
use super::Supposed;
use super::off::Condition;
use crate::circuit::PartKind;
use crate::model::{Fault, PartValues};
use crate::sweep::bits;

/// Where a meter's current can go at first: through parts and capacitors, not insulation.
/// Which joints hang together is remembered by what a supposition opens or closes.
pub(super) struct Charging<'k, 'm, 'c> {
    condition: &'k Condition<'m, 'c>,
    capacitors: bool,
    /// Whether each part of the sound circuit lets a meter's current through at first; asked only
    /// where there are capacitors.
    sound: Vec<bool>,
    known: BTreeMap<[usize; 2], Vec<u64>>,
}

impl<'k, 'm, 'c> Charging<'k, 'm, 'c> {
    pub(super) fn new(condition: &'k Condition<'m, 'c>) -> Self {
        let parts = &condition.model.parts;
        let capacitors = parts.iter().any(|part| part.kind == PartKind::Capacitor);
        let mut charging =
            Charging { condition, capacitors, sound: Vec::new(), known: BTreeMap::new() };
        if capacitors {
            charging.sound = (0..parts.len()).map(|part| charging.passes(part, None)).collect();
        }
        charging
    }

    fn passes(&self, part: usize, fault: Option<&Fault>) -> bool {
        let values = &self.condition.model.parts[part];
        !self.condition.out[part]
            && branch_ohm(values, fault.into_iter(), 1.0, 1.0, Paths::Charging).is_some()
    }

    pub(super) fn condition(&self) -> &'k Condition<'m, 'c> {
        self.condition
    }

    /// What an ohmmeter shows between two points where this resistance is no direct path.
    pub(super) fn past_the_path(
        &mut self,
        ohm: f64,
        from: usize,
        to: usize,
        supposed: &Supposed<'_>,
    ) -> Predicted {
        let charging = self.capacitors && self.joined(from, to, supposed);
        if ohm.is_finite() && !charging {
            Predicted::Value(ohm)
        } else {
            Predicted::NoPath { charging }
        }
    }

    fn joined(&mut self, from: usize, to: usize, supposed: &Supposed<'_>) -> bool {
        let mut key = [0; 2];
        for (place, fault) in supposed.faults().enumerate() {
            if self.passes(fault.part, Some(fault)) != self.sound[fault.part] {
                key[place] = 1 + fault.part;
            }
        }
        let parts = &self.condition.model.parts;
        let sound = &self.sound;
        let joints = self.condition.model.circuit.points.len();
        let reached = self.known.entry(key).or_insert_with(|| {
            let passes = |part: usize| sound[part] != key.contains(&(1 + part));
            islands(joints, parts, &passes)
        });
        reached[from] >> to & 1 == 1
    }
}

/// For each joint the set of those that it hangs together with.
fn islands(joints: usize, parts: &[PartValues], passes: &dyn Fn(usize) -> bool) -> Vec<u64> {
    let mut joined: Vec<u64> = (0..joints).map(|joint| 1 << joint).collect();
    for (index, part) in parts.iter().enumerate() {
        if let Some([a, b]) = part.ends
            && passes(index)
        {
            joined[a] |= 1 << b;
            joined[b] |= 1 << a;
        }
    }
    let mut reached = vec![0u64; joints];
    for start in 0..joints {
        if reached[start] != 0 {
            continue;
        }
        let mut island = 1u64 << start;
        let mut queue = island;
        while queue != 0 {
            let joint = queue.trailing_zeros() as usize;
            queue &= queue - 1;
            let fresh = joined[joint] & !island;
            island |= fresh;
            queue |= fresh;
        }
        for joint in bits(island) {
            reached[joint] = island;
        }
    }
    reached
}
