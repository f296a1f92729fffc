//! Which suppositions make the same network, and in which order networks are solved.
//!
//! Belongs here: one network for all suppositions that make it, neighbours beside each other. Does
//! not belong here: solving them ([`super::off`]).

use super::Supposed;
use super::layout::{Layout, Slots};
use super::off::Condition;
use crate::model::{Fault, Origin};
use crate::sweep::LANES;

/// Suppositions that are not worth a look for networks alike.
const FEW: usize = LANES / 2;
/// No supposition makes it.
const NONE: u32 = u32::MAX;

/// The networks that some suppositions make.
pub(super) struct Networks<'m> {
    /// Once each, by a supposition that makes it.
    pub(super) all: Vec<Supposed<'m>>,
    /// For each supposition the place of its network.
    pub(super) of: Vec<u32>,
}

impl<'m> Networks<'m> {
    pub(super) fn of(
        layout: &Layout,
        condition: &Condition<'_, '_>,
        slots: &Slots,
        suppositions: &[Supposed<'m>],
    ) -> Self {
        let differs = |one: &Supposed<'_>| {
            one.moved.is_some() || one.faults().all(|fault| fault.origin == Origin::Touches)
        };
        if suppositions.len() <= FEW || suppositions.iter().all(differs) {
            // The table would cost more than it saves.
            let of = (0..suppositions.len() as u32).collect();
            return Networks { all: suppositions.to_vec(), of };
        }
        let alike = alike(condition, slots);
        let first = |fault: Option<&Fault>| fault.and_then(|fault| alike[fault.index]);
        // Faults get numbers in the order of what feels them, so that networks in the order of
        // their numbers feel much the same. A table is quicker than a search, and faults that
        // never come in twos need no row in it.
        let mut singly: Vec<(u64, usize)> = Vec::new();
        let mut in_twos: Vec<(u64, usize)> = Vec::new();
        let mut has_row = vec![false; slots.own.len()];
        for supposed in suppositions {
            let [one, two] = supposed.faults.map(first);
            let both = one.is_some() && two.is_some();
            for fault in [one, two].into_iter().flatten() {
                if both && !std::mem::replace(&mut has_row[fault], true) {
                    in_twos.push((felt(layout, slots, fault), fault));
                }
            }
        }
        for (fault, &known) in alike.iter().enumerate() {
            if known == Some(fault) {
                singly.push((felt(layout, slots, fault), fault));
            }
        }
        let numbered = |faults: &mut Vec<(u64, usize)>| {
            faults.sort_unstable();
            let mut numbers = vec![0; slots.own.len()];
            for (number, &(_, fault)) in faults.iter().enumerate() {
                numbers[fault] = 1 + number;
            }
            numbers
        };
        let (alone, row) = (numbered(&mut singly), numbered(&mut in_twos));
        let side = in_twos.len();
        let twos_from = 1 + singly.len();
        let cell = |supposed: &Supposed<'_>| match supposed.faults.map(first) {
            [None, None] => 0,
            [Some(fault), None] | [None, Some(fault)] => alone[fault],
            [Some(one), Some(two)] => {
                let (one, two) = (row[one] - 1, row[two] - 1);
                twos_from + one.max(two) * side + one.min(two)
            }
        };
        let mut cells = vec![NONE; twos_from + side * side];
        let mut of: Vec<u32> = Vec::with_capacity(suppositions.len());
        for (place, supposed) in suppositions.iter().enumerate() {
            let cell = if supposed.moved.is_some() { usize::MAX } else { cell(supposed) };
            if let Some(known) = cells.get_mut(cell) {
                *known = (*known).min(place as u32);
            }
            of.push(cell as u32);
        }
        let mut all = Vec::with_capacity(suppositions.len());
        for known in cells.iter_mut().filter(|known| **known != NONE) {
            all.push(suppositions[*known as usize]);
            *known = (all.len() - 1) as u32;
        }
        for (of, supposed) in of.iter_mut().zip(suppositions) {
            *of = cells.get(*of as usize).copied().unwrap_or_else(|| {
                all.push(*supposed);
                (all.len() - 1) as u32
            });
        }
        Networks { all, of }
    }
}

/// The joints that feel a fault.
fn felt(layout: &Layout, slots: &Slots, fault: usize) -> u64 {
    slots.by_fault[fault]
        .iter()
        .flatten()
        .fold(0, |felt, &(slot, _)| felt | layout.ports.feels(slot))
}

/// By fault: the first one that changes just the same; none where it changes nothing, as a valve
/// that sticks, or no supposition has it.
fn alike(condition: &Condition<'_, '_>, slots: &Slots) -> Vec<Option<usize>> {
    let mut of_part: Vec<Vec<&Fault>> = vec![Vec::new(); condition.model.parts.len()];
    // What a fault makes of its part and of the joints that it brings together, as bits.
    let makes = |fault: &Fault| {
        let joined = slots.by_fault[fault.index][1].map(|(slot, _)| (slot, fault.size.to_bits()));
        (slots.own[fault.index].map(f64::to_bits), joined)
    };
    condition
        .model
        .faults
        .iter()
        .map(|fault| {
            let (own, joined) = makes(fault);
            if joined.is_none() && own? == condition.siemens[fault.part].to_bits() {
                return None;
            }
            let known = &mut of_part[fault.part];
            let alike = known.iter().find(|other| makes(other) == (own, joined));
            Some(alike.map(|other| other.index).unwrap_or_else(|| {
                known.push(fault);
                fault.index
            }))
        })
        .collect()
}
