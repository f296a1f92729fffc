//! What a sound meter would show, for many readings and many suppositions at once.
//!
//! Belongs here: grouping readings that share a network, and what differs in it from one
//! supposition to the next. Does not belong here: what a fault does to a part
//! ([`super::branch_ohm`], [`crate::powered`]) and the arithmetic ([`crate::sweep`]).
//!
//! [`super::predict`] answers the same one by one; it is the oracle of the tests.

use std::collections::BTreeMap;

use super::{
    CAPACITANCE_PATH_OHM, Paths, Predicted, REACHES_OHM, Setup, branch_ohm, capacitors_reached,
    copper_factor, diode, direct, insulation, predict,
};
use crate::circuit::{Effect, PartKind};
use crate::model::{Fault, Model};
use crate::powered;
use crate::sweep::{LANES, Lane, Ports};
use crate::units::Quantity;

mod charging;

use charging::Charging;

/// What is supposed of the circuit: up to two faults, or one part a little off its nominal.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Supposed<'m> {
    pub(crate) faults: [Option<&'m Fault>; 2],
    /// A part and the factor on its value.
    pub(crate) moved: Option<(usize, f64)>,
}

impl<'m> Supposed<'m> {
    /// These faults, two at most.
    pub(crate) fn of(faults: &[&'m Fault]) -> Self {
        Supposed { faults: [faults.first().copied(), faults.get(1).copied()], moved: None }
    }

    /// One part off its nominal.
    pub(crate) fn off(part: usize, factor: f64) -> Self {
        Supposed { faults: [None, None], moved: Some((part, factor)) }
    }

    pub(crate) fn faults(&self) -> impl Iterator<Item = &'m Fault> + use<'m> {
        self.faults.into_iter().flatten()
    }

    pub(crate) fn of_part(&self, part: usize) -> impl Iterator<Item = &'m Fault> + use<'m> {
        self.faults().filter(move |fault| fault.part == part)
    }

    /// The parts that differ from the sound circuit.
    fn parts(&self) -> impl Iterator<Item = usize> + use<'m> {
        self.faults().map(|fault| fault.part).chain(self.moved.map(|(part, _)| part))
    }
}

/// How much arithmetic was done: the same for the same input, so that a change shows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Work {
    /// Orders of elimination worked out: one per condition and scale.
    pub schedules: u64,
    /// Networks reduced, one per supposition and condition.
    pub networks: u64,
    /// Networks under power solved, one per supposition, condition and round of settling.
    pub phasors: u64,
    /// Networks under power in which something cancelled, solved again with pivots.
    pub guarded: u64,
    /// Predictions worked out one by one (diode tests, direct volts).
    pub singly: u64,
    /// Readings looked at as a next test.
    pub candidates: u64,
    /// Orders of tests worked out exactly.
    pub exact: u64,
}

/// Predictions for each setup (outer) and supposition (inner).
pub(crate) struct Predictions {
    suppositions: usize,
    all: Vec<Predicted>,
}

impl Predictions {
    /// All predictions of one setup, in the order of the suppositions.
    pub(crate) fn of(&self, setup: usize) -> &[Predicted] {
        &self.all[setup * self.suppositions..][..self.suppositions]
    }
}

/// A condition under power: what is lifted, the state, a low-impedance meter's points.
type Live<'s> = (&'s [usize], usize, Option<(usize, usize)>);

/// Predicts every setup under every supposition, alike parts at `scale` times their nominal.
pub(crate) fn predict_many(
    model: &Model<'_>,
    setups: &[&Setup],
    suppositions: &[Supposed<'_>],
    scale: f64,
    work: &mut Work,
) -> Predictions {
    let count = suppositions.len();
    let mut all = vec![Predicted::Nothing; setups.len() * count];
    let mut off: BTreeMap<(&[usize], Option<u64>), Vec<usize>> = BTreeMap::new();
    let mut live: BTreeMap<Live<'_>, Vec<usize>> = BTreeMap::new();
    for (index, setup) in setups.iter().enumerate() {
        let lifted = setup.lifted.as_slice();
        match setup.quantity {
            Quantity::Resistance if diode::may_conduct(model, setup) => {}
            Quantity::Resistance | Quantity::Insulation => {
                off.entry((lifted, setup.part_temp_c.map(f64::to_bits))).or_default().push(index);
            }
            // The meter's own current is small and the value is the capacitor's: warmth plays
            // no part.
            Quantity::Capacitance => off.entry((lifted, None)).or_default().push(index),
            Quantity::Voltage | Quantity::Current => {
                let state = setup.state.unwrap_or(0);
                live.entry((lifted, state, setup.meter())).or_default().push(index);
            }
            Quantity::DirectVoltage => {
                for (supposed, into) in suppositions.iter().zip(&mut all[index * count..]) {
                    let faults: Vec<&Fault> = supposed.faults().collect();
                    let mut parts = model.parts.clone();
                    if let Some((moved, factor)) = supposed.moved {
                        parts[moved] = parts[moved].times(factor);
                    }
                    *into = direct::predict(model, &parts, setup, &faults);
                    work.singly += 1;
                }
            }
            Quantity::Diode => {
                for (supposed, into) in suppositions.iter().zip(&mut all[index * count..]) {
                    let faults: Vec<&Fault> = supposed.faults().collect();
                    *into = predict(model, setup, &faults, scale);
                    work.singly += 1;
                }
            }
        }
    }
    for ((lifted, temp), members) in off {
        let of_condition: Vec<(usize, &Setup)> =
            members.iter().map(|&index| (index, setups[index])).collect();
        let condition = Condition::new(model, lifted, temp.map(f64::from_bits), scale);
        condition.predict(&of_condition, suppositions, &mut all, work);
    }
    for ((lifted, state, meter), members) in live {
        let condition = powered::Condition { model, state, lifted, scale, meter };
        condition.each(suppositions, work, &mut |index, solved| {
            for &member in &members {
                all[member * count + index] = solved.shows(&model.parts, setups[member]);
            }
        });
    }
    Predictions { suppositions: count, all }
}

/// Suppositions that are not worth a look for networks alike.
const FEW: usize = LANES / 2;

/// A network with power off, as every supposition starts from it.
struct Condition<'m, 'c> {
    model: &'m Model<'c>,
    warm: f64,
    scale: f64,
    /// Conductance of each part of the sound circuit, siemens; 0 where it conducts nothing or
    /// is lifted out.
    siemens: Vec<f64>,
    /// Whether each part is lifted out.
    out: Vec<bool>,
}

/// How a condition's values lie in the slots of its schedule.
struct Slots {
    /// Slot of each part, where it joins two different joints.
    of_part: Vec<Option<usize>>,
    /// By fault: the slot between the joints that it brings together.
    joined: Vec<Option<usize>>,
    /// Insulation in each slot, which no fault changes.
    insulation: Vec<f64>,
    /// The parts in each slot.
    parts: Vec<Vec<usize>>,
    /// What the sound circuit has in each slot.
    sound: Vec<f64>,
    /// By fault: the slots that it changes, and what they then hold.
    by_fault: Vec<[Option<(usize, f64)>; 2]>,
    /// By fault: the first one that changes just the same; none where it changes nothing.
    alike: Vec<Option<usize>>,
}

impl Slots {
    /// The slots in which a supposition differs from the sound circuit.
    fn changed<'s>(&'s self, supposed: &Supposed<'s>) -> impl Iterator<Item = usize> + use<'s> {
        let of_parts = supposed.parts().map(|part| self.of_part[part]);
        let joined = supposed.faults().map(|fault| self.joined[fault.index]);
        of_parts.chain(joined).flatten()
    }
}

impl<'m, 'c> Condition<'m, 'c> {
    fn new(model: &'m Model<'c>, lifted: &[usize], temp: Option<f64>, scale: f64) -> Self {
        let warm = temp.map_or(1.0, copper_factor);
        let out: Vec<bool> = (0..model.parts.len())
            .map(|part| lifted.iter().any(|&connector| model.opens[connector].contains(&part)))
            .collect();
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

    /// Every joining that the network has under some supposition.
    fn edges(&self) -> Vec<(usize, usize)> {
        let mut edges = Vec::new();
        for (index, part) in self.model.parts.iter().enumerate() {
            let Some([a, b]) = part.ends else { continue };
            if let (Some(shell), Some(_)) = (self.model.shell, part.insulation_ohm) {
                edges.extend([(a, shell), (b, shell)]);
            }
            if self.siemens[index] > 0.0 {
                edges.push((a, b));
            }
        }
        for fault in &self.model.faults {
            let Some([a, b]) = self.model.parts[fault.part].ends else {
                continue;
            };
            edges.extend(fault.joins.map(|[from, to]| (from, to)));
            if self.siemens_of(fault.part, &Supposed::of(&[fault])) > 0.0 {
                edges.push((a, b));
            }
        }
        edges
    }

    fn slots(&self, ports: &Ports) -> Slots {
        let count = ports.schedule.slots();
        let mut slots = Slots {
            of_part: Vec::with_capacity(self.siemens.len()),
            joined: Vec::new(),
            insulation: vec![0.0; count],
            parts: vec![Vec::new(); count],
            sound: Vec::new(),
            by_fault: Vec::new(),
            alike: Vec::new(),
        };
        for (index, part) in self.model.parts.iter().enumerate() {
            let Some([a, b]) = part.ends else {
                slots.of_part.push(None);
                continue;
            };
            let slot = ports.schedule.slot(a, b);
            slots.of_part.push(slot);
            if let Some(slot) = slot {
                slots.parts[slot].push(index);
            }
            if let (Some(shell), Some(ohm)) = (self.model.shell, part.insulation_ohm) {
                // Half of the leakage at either end, so that an open part still leaks.
                for end in [a, b] {
                    if let Some(slot) = ports.schedule.slot(end, shell) {
                        slots.insulation[slot] += 1.0 / (2.0 * ohm);
                    }
                }
            }
        }
        slots.sound = (0..count)
            .map(|slot| {
                slots.parts[slot]
                    .iter()
                    .fold(slots.insulation[slot], |sum, &part| sum + self.siemens[part])
            })
            .collect();
        slots.joined = self
            .model
            .faults
            .iter()
            .map(|fault| fault.joins.and_then(|[from, to]| ports.schedule.slot(from, to)))
            .collect();
        slots.by_fault = self
            .model
            .faults
            .iter()
            .map(|fault| {
                let alone = Supposed::of(&[fault]);
                [slots.of_part[fault.part], slots.joined[fault.index]]
                    .map(|slot| slot.map(|slot| (slot, self.anew(&slots, &alone, slot))))
            })
            .collect();
        // What a fault makes of its part and of the joints that it brings together, as bits.
        let makes = |fault: &Fault| {
            let joined = slots.joined[fault.index].map(|slot| (slot, fault.size.to_bits()));
            let own = self.siemens_of(fault.part, &Supposed::of(&[fault])).to_bits();
            (fault.part, own, joined)
        };
        let mut first: BTreeMap<_, usize> = BTreeMap::new();
        slots.alike = self
            .model
            .faults
            .iter()
            .map(|fault| {
                let made @ (part, own, joined) = makes(fault);
                let nothing = joined.is_none() && own == self.siemens[part].to_bits();
                let first = *first.entry(made).or_insert(fault.index);
                (!nothing).then_some(first)
            })
            .collect();
        slots
    }

    /// Suppositions that make the same network, once each, and for every supposition the place
    /// of its network among them. A valve that sticks changes no ohm.
    fn networks<'s>(
        &self,
        slots: &Slots,
        suppositions: &[Supposed<'s>],
    ) -> (Vec<Supposed<'s>>, Vec<usize>) {
        if suppositions.len() <= FEW {
            // Solved side by side in any case: the table would cost more than it saves.
            return (suppositions.to_vec(), (0..suppositions.len()).collect());
        }
        // Nothing, one or two faults, as a number; a table is quicker than a search.
        let side = 1 + self.model.faults.len();
        let mut known = vec![usize::MAX; side * side];
        let mut networks = Vec::new();
        let of = suppositions
            .iter()
            .map(|supposed| {
                let alike = |fault: Option<&Fault>| {
                    fault.and_then(|fault| slots.alike[fault.index]).map_or(0, |known| 1 + known)
                };
                let [first, second] = supposed.faults.map(alike);
                let known = &mut known[first.max(second) * side + first.min(second)];
                if supposed.moved.is_some() || *known == usize::MAX {
                    networks.push(*supposed);
                    if supposed.moved.is_none() {
                        *known = networks.len() - 1;
                    }
                    return networks.len() - 1;
                }
                *known
            })
            .collect();
        (networks, of)
    }

    /// What a slot holds under a supposition, added up anew: nothing is subtracted.
    fn anew(&self, slots: &Slots, supposed: &Supposed<'_>, slot: usize) -> f64 {
        let parts = slots.parts[slot].iter().fold(slots.insulation[slot], |sum, &part| {
            let changed = supposed.parts().any(|other| other == part);
            sum + if changed { self.siemens_of(part, supposed) } else { self.siemens[part] }
        });
        supposed
            .faults()
            .filter(|fault| slots.joined[fault.index] == Some(slot))
            .fold(parts, |sum, fault| sum + 1.0 / fault.size)
    }

    /// Puts one supposition into a lane that holds the sound circuit.
    fn put_in(&self, slots: &Slots, supposed: &Supposed<'_>, lane: usize, siemens: &mut [Lane]) {
        let of =
            |fault: Option<&Fault>| fault.map_or([None, None], |fault| slots.by_fault[fault.index]);
        let [first, second] = supposed.faults.map(of);
        let shared = first
            .iter()
            .flatten()
            .any(|(slot, _)| second.iter().flatten().any(|(other, _)| other == slot));
        if supposed.moved.is_none() && !shared {
            for (slot, value) in first.into_iter().chain(second).flatten() {
                siemens[slot][lane] = value;
            }
            return;
        }
        for slot in slots.changed(supposed) {
            siemens[slot][lane] = self.anew(slots, supposed, slot);
        }
    }

    fn predict(
        &self,
        setups: &[(usize, &Setup)],
        suppositions: &[Supposed<'_>],
        all: &mut [Predicted],
        work: &mut Work,
    ) {
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        let mut readers: Vec<(usize, Reader)> = Vec::new();
        for &(index, setup) in setups {
            let mut port = |a: usize, b: usize| -> Option<usize> {
                let pair = (a.min(b), a.max(b));
                (a != b).then(|| {
                    pairs.iter().position(|known| *known == pair).unwrap_or_else(|| {
                        pairs.push(pair);
                        pairs.len() - 1
                    })
                })
            };
            let reader = if setup.quantity == Quantity::Capacitance {
                Reader::capacitance(self.model, setup, self.scale, &mut port)
            } else {
                port(setup.from, setup.to).map(|port| Reader::Ohms {
                    port,
                    from: setup.from,
                    to: setup.to,
                    insulates: setup.quantity == Quantity::Insulation,
                })
            };
            if let Some(reader) = reader {
                readers.push((index, reader));
            }
        }
        let ports = Ports::new(self.model.circuit.points.len(), &self.edges(), &pairs);
        let slots = self.slots(&ports);
        let (networks, network_of) = self.networks(&slots, suppositions);
        work.schedules += 1;
        work.networks += networks.len() as u64;
        let mut siemens = ports.room();
        for (slot, &value) in siemens.iter_mut().zip(&slots.sound) {
            *slot = [value; LANES];
        }
        let mut answers: Vec<Lane> = Vec::new();
        let wide = networks.len().next_multiple_of(LANES);
        let mut conductances = vec![0.0; pairs.len() * wide];
        for (block, members) in networks.chunks(LANES).enumerate() {
            for (lane, supposed) in members.iter().enumerate() {
                self.put_in(&slots, supposed, lane, &mut siemens);
            }
            ports.conductances(&mut siemens, &mut answers);
            for (port, answer) in answers.iter().enumerate() {
                conductances[port * wide + block * LANES..][..LANES].copy_from_slice(answer);
            }
            for slot in members.iter().flat_map(|supposed| slots.changed(supposed)) {
                siemens[slot] = [slots.sound[slot]; LANES];
            }
        }
        let mut charging = Charging::new(self);
        for (index, reader) in &readers {
            let into = &mut all[index * suppositions.len()..][..suppositions.len()];
            match reader {
                Reader::Ohms { port, from, to, insulates } => {
                    let siemens = &conductances[port * wide..][..wide];
                    for ((into, supposed), &network) in
                        into.iter_mut().zip(suppositions).zip(&network_of)
                    {
                        let siemens = siemens[network];
                        *into = if *insulates && siemens < 1.0 / CAPACITANCE_PATH_OHM {
                            insulation((siemens > 0.0).then(|| 1.0 / siemens))
                        } else {
                            charging.ohms(siemens, *from, *to, supposed)
                        };
                    }
                }
                Reader::Farads(tabs) => {
                    for ((into, supposed), &network) in
                        into.iter_mut().zip(suppositions).zip(&network_of)
                    {
                        let siemens = |port: usize| conductances[port * wide + network];
                        *into = self.farads(tabs, supposed, &siemens);
                    }
                }
            }
        }
    }

    /// Microfarads of the capacitors that the probes reach; the rule is that of
    /// [`super::capacitance`].
    fn farads(
        &self,
        tabs: &[Tab],
        supposed: &Supposed<'_>,
        siemens: &dyn Fn(usize) -> f64,
    ) -> Predicted {
        let near = |ports: &[Option<usize>; 2]| {
            ports.iter().all(|port| port.is_none_or(|port| siemens(port) > 1.0 / REACHES_OHM))
        };
        let mut microfarad = 0.0;
        for tab in tabs {
            let shorted = supposed.of_part(tab.part).any(|fault| fault.effect == Effect::Series);
            if shorted && tab.sound {
                return Predicted::Value(0.0);
            }
            if near(&tab.straight) || near(&tab.crossed) {
                microfarad += supposed
                    .of_part(tab.part)
                    .filter(|fault| fault.effect == Effect::Fraction)
                    .fold(self.model.parts[tab.part].microfarad, |sum, fault| sum * fault.size);
            }
        }
        Predicted::Value(microfarad)
    }
}

/// How a reading is read off the ports.
enum Reader {
    /// `insulates`: by insulation tester.
    Ohms {
        port: usize,
        from: usize,
        to: usize,
        insulates: bool,
    },
    Farads(Vec<Tab>),
}

/// A capacitor and the ports between the probes and its tabs; none where a probe is on the tab.
struct Tab {
    part: usize,
    straight: [Option<usize>; 2],
    crossed: [Option<usize>; 2],
    /// Whether the sound circuit brings the probes to it.
    sound: bool,
}

impl Reader {
    fn capacitance(
        model: &Model<'_>,
        setup: &Setup,
        scale: f64,
        port: &mut dyn FnMut(usize, usize) -> Option<usize>,
    ) -> Option<Self> {
        let reached = capacitors_reached(model, setup, scale)?;
        let tabs = model.parts.iter().enumerate().filter_map(|(index, part)| {
            let [a, b] = part.ends?;
            (part.kind == PartKind::Capacitor).then(|| Tab {
                part: index,
                straight: [port(setup.from, a), port(setup.to, b)],
                crossed: [port(setup.from, b), port(setup.to, a)],
                sound: reached.contains(&index),
            })
        });
        Some(Reader::Farads(tabs.collect()))
    }
}

#[cfg(test)]
mod tests;
