//! What a sound meter would show, for many readings and many suppositions at once.
//!
//! Belongs here: grouping readings that share a network, and asking each group. Does not belong
//! here: a network with power off ([`off`]) or on ([`crate::powered`]), and the arithmetic
//! ([`crate::sweep`]).
//!
//! [`super::predict`] answers the same one by one; it is the oracle of the tests.

use std::collections::BTreeMap;

use super::{Predicted, Setup, diode, direct, predict};
use crate::model::{Fault, Model};
use crate::powered;
use crate::units::Quantity;

mod charging;
mod layout;
mod networks;
mod off;
mod reader;

use off::{Asked, Off, Room, Shapes};

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
    /// Orders of elimination worked out: one for all conditions with power off, and under power one
    /// per condition and scale.
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

/// Gets a setup and what is predicted of it under each supposition.
pub(crate) type Look<'a> = &'a mut dyn FnMut(usize, &[Predicted]);

/// A condition under power: what is lifted, the state, a low-impedance meter's points.
type Live<'s> = (&'s [usize], usize, Option<(usize, usize)>);

/// Ways of measuring, by the networks that they share: looked at once, asked again and again.
pub(crate) struct Conditions<'m, 'c> {
    model: &'m Model<'c>,
    setups: Vec<Setup>,
    off: Vec<Off<'m, 'c>>,
    shapes: Shapes,
    /// Those that share a condition under power.
    live: Vec<Vec<usize>>,
    singly: Vec<usize>,
    /// Those of which the model says nothing.
    mute: Vec<usize>,
}

impl<'m, 'c> Conditions<'m, 'c> {
    pub(crate) fn new(model: &'m Model<'c>, setups: Vec<Setup>, work: &mut Work) -> Self {
        let mut off: BTreeMap<(&[usize], Option<u64>), Vec<usize>> = BTreeMap::new();
        let mut live: BTreeMap<Live<'_>, Vec<usize>> = BTreeMap::new();
        let (mut singly, mut mute) = (Vec::new(), Vec::new());
        for (index, setup) in setups.iter().enumerate() {
            let lifted = setup.lifted.as_slice();
            match setup.quantity {
                Quantity::Resistance if diode::may_conduct(model, setup) => mute.push(index),
                Quantity::Resistance | Quantity::Insulation => {
                    let temp = setup.part_temp_c.map(f64::to_bits);
                    off.entry((lifted, temp)).or_default().push(index);
                }
                // The meter's own current is small and the value is the capacitor's: warmth plays
                // no part.
                Quantity::Capacitance => off.entry((lifted, None)).or_default().push(index),
                Quantity::Voltage | Quantity::Current => {
                    let state = setup.state.unwrap_or(0);
                    live.entry((lifted, state, setup.meter())).or_default().push(index);
                }
                Quantity::DirectVoltage | Quantity::Diode => singly.push(index),
            }
        }
        let mut shapes = Shapes::new();
        work.schedules += u64::from(!off.is_empty());
        let off = off
            .into_iter()
            .map(|((lifted, temp), members)| {
                let of = members.into_iter().map(|index| (index, &setups[index]));
                Off::new(model, lifted, temp.map(f64::from_bits), of, &mut shapes)
            })
            .collect();
        let live = live.into_values().collect();
        Conditions { model, off, shapes, live, singly, mute, setups }
    }

    pub(crate) fn model(&self) -> &'m Model<'c> {
        self.model
    }

    pub(crate) fn setups(&self) -> &[Setup] {
        &self.setups
    }

    /// Calls `look` with what is predicted of each setup under every supposition, alike parts at
    /// `scale` times their nominal; condition by condition.
    pub(crate) fn each(
        &self,
        suppositions: &[Supposed<'m>],
        scale: f64,
        work: &mut Work,
        look: Look<'_>,
    ) {
        self.each_upto(self.setups.len(), suppositions, scale, work, look);
    }

    /// The same of so many setups, those that come first.
    pub(crate) fn each_upto(
        &self,
        upto: usize,
        suppositions: &[Supposed<'m>],
        scale: f64,
        work: &mut Work,
        look: Look<'_>,
    ) {
        let asked = self.asked(upto, suppositions, scale);
        self.off(&asked, work, look);
        self.live(&asked, work, look);
    }

    fn asked<'a>(
        &'a self,
        upto: usize,
        suppositions: &'a [Supposed<'m>],
        scale: f64,
    ) -> Asked<'a, 'm, 'c> {
        Asked { model: self.model, setups: &self.setups[..upto], suppositions, scale }
    }

    /// The same of those among them that need no power.
    pub(crate) fn each_off(
        &self,
        upto: usize,
        suppositions: &[Supposed<'m>],
        scale: f64,
        work: &mut Work,
        look: Look<'_>,
    ) {
        let asked = self.asked(upto, suppositions, scale);
        self.off(&asked, work, look);
    }

    /// The same of those that need power.
    pub(crate) fn each_live(
        &self,
        upto: usize,
        suppositions: &[Supposed<'m>],
        scale: f64,
        work: &mut Work,
        look: Look<'_>,
    ) {
        let asked = self.asked(upto, suppositions, scale);
        self.live(&asked, work, look);
    }

    fn off(&self, asked: &Asked<'_, 'm, 'c>, work: &mut Work, look: Look<'_>) {
        for &index in self.mute.iter().filter(|&&index| index < asked.setups.len()) {
            look(index, &vec![Predicted::Nothing; asked.suppositions.len()]);
        }
        let mut room = Room::default();
        for condition in &self.off {
            condition.predict(asked, &self.shapes, &mut room, work, look);
        }
        self.each_singly(asked, work, false, look);
    }

    fn each_singly(&self, asked: &Asked<'_, 'm, 'c>, work: &mut Work, live: bool, look: Look<'_>) {
        let needs = |index: usize| self.setups[index].quantity.needs_power();
        let is_asked = |&index: &usize| needs(index) == live && index < asked.setups.len();
        for index in self.singly.iter().copied().filter(is_asked) {
            let setup = &self.setups[index];
            let predicted = |supposed: &Supposed<'_>| {
                work.singly += 1;
                let faults: Vec<&Fault> = supposed.faults().collect();
                match (setup.quantity, supposed.moved) {
                    (Quantity::Diode, _) => predict(self.model, setup, &faults, asked.scale),
                    (_, None) => direct::predict(self.model, &self.model.parts, setup, &faults),
                    (_, Some((moved, factor))) => {
                        let mut parts = self.model.parts.clone();
                        parts[moved] = parts[moved].times(factor);
                        direct::predict(self.model, &parts, setup, &faults)
                    }
                }
            };
            look(index, &asked.suppositions.iter().map(predicted).collect::<Vec<_>>());
        }
    }

    fn live(&self, asked: &Asked<'_, 'm, 'c>, work: &mut Work, look: Look<'_>) {
        self.each_singly(asked, work, true, look);
        let count = asked.suppositions.len();
        if count == 0 {
            return;
        }
        let mut columns = Vec::new();
        for members in &self.live {
            let upto = asked.setups.len();
            let members = &members[..members.partition_point(|&member| member < upto)];
            if members.is_empty() {
                continue;
            }
            let setup = &self.setups[members[0]];
            let condition = powered::Condition {
                model: self.model,
                state: setup.state.unwrap_or(0),
                lifted: &setup.lifted,
                scale: asked.scale,
                meter: setup.meter(),
            };
            columns.clear();
            columns.resize(members.len() * count, Predicted::Nothing);
            condition.each(asked.suppositions, work, &mut |index, solved| {
                for (place, &member) in members.iter().enumerate() {
                    columns[place * count + index] =
                        solved.shows(&self.model.parts, &self.setups[member]);
                }
            });
            for (&member, column) in members.iter().zip(columns.chunks_exact(count)) {
                look(member, column);
            }
        }
    }

    /// All of it at once.
    pub(crate) fn predict(
        &self,
        suppositions: &[Supposed<'m>],
        scale: f64,
        work: &mut Work,
    ) -> Predictions {
        self.predict_upto(self.setups.len(), suppositions, scale, work)
    }

    /// The same of so many setups, those that come first.
    pub(crate) fn predict_upto(
        &self,
        upto: usize,
        suppositions: &[Supposed<'m>],
        scale: f64,
        work: &mut Work,
    ) -> Predictions {
        let count = suppositions.len();
        let mut all = vec![Predicted::Nothing; upto * count];
        self.each_upto(upto, suppositions, scale, work, &mut |index, column| {
            all[index * count..][..count].copy_from_slice(column);
        });
        Predictions { suppositions: count, all }
    }
}

/// Predicts every setup under every supposition, alike parts at `scale` times their nominal.
pub(crate) fn predict_many<'m>(
    model: &'m Model<'_>,
    setups: &[&Setup],
    suppositions: &[Supposed<'m>],
    scale: f64,
    work: &mut Work,
) -> Predictions {
    let setups = setups.iter().map(|&setup| setup.clone()).collect();
    Conditions::new(model, setups, work).predict(suppositions, scale, work)
}

#[cfg(test)]
mod tests;
