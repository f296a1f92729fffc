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
    /// `alike` is asked for only where it pays.
    pub(super) fn of<'a>(alike: impl FnOnce() -> &'a Alike, suppositions: &[Supposed<'m>]) -> Self {
        let differs = |one: &Supposed<'_>| {
            one.moved.is_some() || one.faults().all(|fault| fault.origin == Origin::Touches)
        };
        if suppositions.len() <= FEW || suppositions.iter().all(differs) {
            // The table would cost more than it saves.
            let of = (0..suppositions.len() as u32).collect();
            return Networks { all: suppositions.to_vec(), of };
        }
        let alike = alike();
        let number = |fault: Option<&Fault>| fault.map_or(0, |fault| alike.number[fault.index]);
        // A table is quicker than a search, and faults that never come in twos need no row in it.
        let numbers: Vec<[u32; 2]> =
            suppositions.iter().map(|supposed| supposed.faults.map(number)).collect();
        let mut row = vec![NONE; 1 + alike.count];
        for &[one, two] in &numbers {
            if one != 0 && two != 0 {
                (row[one as usize], row[two as usize]) = (0, 0);
            }
        }
        let mut side = 0;
        for row in row.iter_mut().filter(|row| **row != NONE) {
            *row = side;
            side += 1;
        }
        let (side, twos_from) = (side as usize, 1 + alike.count);
        let cell = |[one, two]: [u32; 2]| match (one, two) {
            (number, 0) | (0, number) => number as usize,
            (one, two) => {
                let (one, two) = (row[one as usize] as usize, row[two as usize] as usize);
                twos_from + one.max(two) * side + one.min(two)
            }
        };
        let mut cells = vec![NONE; twos_from + side * side];
        let mut of: Vec<u32> = Vec::with_capacity(suppositions.len());
        for (place, (supposed, &numbers)) in suppositions.iter().zip(&numbers).enumerate() {
            let cell = if supposed.moved.is_some() { usize::MAX } else { cell(numbers) };
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

/// Which faults of a condition make the same network.
pub(super) struct Alike {
    /// By fault: the number of its network, the same for those that change just the same; 0 where
    /// it changes nothing, as a valve that sticks, or no supposition has it. They are in the order
    /// of what feels them, so that networks in the order of their numbers feel much the same.
    number: Vec<u32>,
    /// How many numbers there are, 0 not counted.
    count: usize,
}

impl Alike {
    pub(super) fn of(layout: &Layout, condition: &Condition<'_, '_>, slots: &Slots) -> Self {
        let first = first_alike(condition, slots);
        let feel = |fault: usize| {
            let changed = slots.by_fault[fault].iter().flatten();
            changed.fold(0, |feel, &(slot, _)| feel | layout.ports.feels(slot))
        };
        let is_first = |&fault: &usize| first[fault] == Some(fault);
        let mut firsts: Vec<(u64, usize)> =
            (0..first.len()).filter(is_first).map(|fault| (feel(fault), fault)).collect();
        firsts.sort_unstable();
        let mut number = vec![0; first.len()];
        for (place, &(_, fault)) in firsts.iter().enumerate() {
            number[fault] = 1 + place as u32;
        }
        let number = first.iter().map(|first| first.map_or(0, |first| number[first])).collect();
        Alike { number, count: firsts.len() }
    }
}

/// By fault: the first one that changes just the same; none where it changes nothing.
fn first_alike(condition: &Condition<'_, '_>, slots: &Slots) -> Vec<Option<usize>> {
    let faults = &condition.model.faults;
    // By part the latest fault unlike all before, and by fault the one before it: one list each.
    let mut latest: Vec<Option<usize>> = vec![None; condition.model.parts.len()];
    let mut before: Vec<Option<usize>> = vec![None; faults.len()];
    // What a fault makes of its part and of the joints that it brings together, as bits.
    let makes = |fault: &Fault| {
        let joined = slots.by_fault[fault.index][1].map(|(slot, _)| (slot, fault.size.to_bits()));
        (slots.own[fault.index].map(f64::to_bits), joined)
    };
    faults
        .iter()
        .map(|fault| {
            let (own, joined) = makes(fault);
            if joined.is_none() && own? == condition.siemens[fault.part].to_bits() {
                return None;
            }
            let mut known = std::iter::successors(latest[fault.part], |&other| before[other]);
            let alike = known.find(|&other| makes(&faults[other]) == (own, joined));
            Some(alike.unwrap_or_else(|| {
                before[fault.index] = latest[fault.part].replace(fault.index);
                fault.index
            }))
        })
        .collect()
}
