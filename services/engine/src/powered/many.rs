//! One condition under power for many suppositions at once.
//!
//! Belongs here: filling the schedule's slots, settling each supposition by itself, falling back
//! to pivots where phasors cancel. Does not belong here: the rules of contacts and sources
//! ([`super`]) and the arithmetic ([`crate::sweep::phasors`]).

use num_complex::Complex64;

use super::{
    LIVE_VOLT, LOW_IMPEDANCE_OHM, ROUNDS_MAX, Settling, Solved, StateOf, admittance, given,
    islands, stuck,
};
use crate::checks::HERTZ_DEFAULT;
use crate::circuit::{PartKind, Rest};
use crate::model::{Fault, Model, PartValues};
use crate::predict::many::{Supposed, Work};
use crate::sweep::phasors::Phasor;
use crate::sweep::{LANES, Schedule};

/// A state with connectors lifted, and a low-impedance meter's two points.
#[derive(Clone, Copy)]
pub(crate) struct Condition<'m, 'c> {
    pub(crate) model: &'m Model<'c>,
    pub(crate) state: usize,
    pub(crate) lifted: &'m [usize],
    pub(crate) scale: f64,
    pub(crate) meter: Option<(usize, usize)>,
}

/// A supposition on its way to being settled.
struct Pending<'m> {
    index: usize,
    faults: Vec<&'m Fault>,
    moved: Option<(usize, f64)>,
    settling: Settling,
    round: usize,
}

/// What every supposition of a condition starts from.
struct Common {
    schedule: Schedule,
    /// Slot of each part.
    slot: Vec<Option<usize>>,
    /// Admittance of each sound part while its contact is open and while it is closed.
    siemens: Vec<[Option<Complex64>; 2]>,
    out: Vec<bool>,
    omega: f64,
}

impl<'m> Condition<'m, '_> {
    /// Calls `look` with the solved network of each supposition, in no particular order.
    pub(crate) fn each(
        &self,
        suppositions: &[Supposed<'m>],
        work: &mut Work,
        look: &mut dyn FnMut(usize, &Solved),
    ) {
        let state = &self.model.states.all[self.state];
        let common = self.common(state);
        work.schedules += 1;
        let mut pending: Vec<Pending<'m>> = suppositions
            .iter()
            .enumerate()
            .map(|(index, supposed)| {
                let faults: Vec<&Fault> = supposed.faults().collect();
                let settling = Settling::first(&self.model.parts, state, &faults);
                Pending { index, faults, moved: supposed.moved, settling, round: 0 }
            })
            .collect();
        while !pending.is_empty() {
            let mut further = Vec::new();
            let mut waiting = pending.into_iter().peekable();
            while waiting.peek().is_some() {
                let block: Vec<Pending<'m>> = waiting.by_ref().take(LANES).collect();
                work.phasors += block.len() as u64;
                let solved = self.solved(state, &common, &block, work);
                for (mut lane, solved) in block.into_iter().zip(solved) {
                    let next =
                        solved.followed(&self.model.parts, state, &lane.faults, &lane.settling);
                    if next == lane.settling || lane.round == ROUNDS_MAX {
                        look(lane.index, &solved);
                    } else {
                        lane.settling = next;
                        lane.round += 1;
                        further.push(lane);
                    }
                }
            }
            pending = further;
        }
    }

    fn common(&self, state: &StateOf) -> Common {
        let model = self.model;
        let omega = std::f64::consts::TAU * model.circuit.hertz.unwrap_or(HERTZ_DEFAULT);
        let out: Vec<bool> = (0..model.parts.len())
            .map(|part| self.lifted.iter().any(|&known| model.opens[known].contains(&part)))
            .collect();
        let mut edges: Vec<(usize, usize)> = self.meter.into_iter().collect();
        let of = |index: usize, closed: bool, fault: Option<&Fault>| {
            let part = &model.parts[index];
            admittance(part, fault.into_iter(), state.turning[index], closed, self.scale, omega)
        };
        for (index, part) in model.parts.iter().enumerate() {
            let Some([a, b]) = part.ends else { continue };
            let of_part = || model.faults.iter().filter(|fault| fault.part == index);
            edges.extend(of_part().filter_map(|fault| fault.joins).map(|[from, to]| (from, to)));
            let may = part.kind == PartKind::Source
                || of(index, true, None).is_some()
                || of_part().any(|fault| of(index, true, Some(fault)).is_some());
            if may && !out[index] {
                edges.push((a, b));
            }
        }
        let schedule = Schedule::new(model.circuit.points.len(), &edges);
        let slot = model
            .parts
            .iter()
            .map(|part| part.ends.and_then(|[a, b]| schedule.slot(a, b)))
            .collect();
        let siemens = (0..model.parts.len())
            .map(|index| [of(index, false, None), of(index, true, None)])
            .collect();
        Common { schedule, slot, siemens, out, omega }
    }

    /// A part with its value as this lane supposes it.
    fn part(&self, lane: &Pending<'_>, index: usize) -> PartValues {
        match lane.moved {
            Some((moved, factor)) if moved == index => self.model.parts[index].times(factor),
            _ => self.model.parts[index],
        }
    }

    fn solved(
        &self,
        state: &StateOf,
        common: &Common,
        block: &[Pending<'m>],
        work: &mut Work,
    ) -> Vec<Solved> {
        let model = self.model;
        let joints = model.circuit.points.len();
        let mut siemens = vec![Phasor::ZERO; common.schedule.slots()];
        let mut ampere = vec![Phasor::ZERO; joints];
        let mut lanes: Vec<Solved> = Vec::with_capacity(block.len());
        for (lane, pending) in block.iter().enumerate() {
            let mut filling = Filling {
                lane,
                schedule: &common.schedule,
                siemens: &mut siemens,
                ampere: &mut ampere,
                joined: vec![0; joints],
                driven: 0,
            };
            let mut of_parts = vec![None; model.parts.len()];
            let mut live_volt: f64 = 0.0;
            let changed = |index: usize| {
                pending.faults.iter().any(|fault| fault.part == index)
                    || pending.moved.is_some_and(|(moved, _)| moved == index)
            };
            for (index, part) in model.parts.iter().enumerate() {
                let Some([a, b]) = part.ends else { continue };
                let changed = changed(index);
                for fault in pending.faults.iter().filter(|fault| fault.part == index) {
                    if let Some([from, to]) = fault.joins {
                        filling.join(from, to, Complex64::new(1.0 / fault.size, 0.0));
                    }
                }
                if common.out[index] {
                    continue;
                }
                if part.kind == PartKind::Source {
                    let volt = self.part(pending, index).volt * pending.settling.gives[index];
                    if part.fed_by.is_some() || (state.energised[index] && volt > 0.0) {
                        filling.drive(
                            a,
                            b,
                            Complex64::from_polar(volt, part.phase_rad),
                            part.source_ohm,
                        );
                        live_volt = live_volt.max(volt);
                    }
                    continue;
                }
                let closed = pending.settling.closed[index];
                let admittance = if changed {
                    admittance(
                        &self.part(pending, index),
                        pending.faults.iter().copied().filter(|fault| fault.part == index),
                        state.turning[index],
                        closed,
                        self.scale,
                        common.omega,
                    )
                } else {
                    common.siemens[index][usize::from(closed)]
                };
                of_parts[index] = admittance;
                if let (Some(admittance), Some(slot)) = (admittance, common.slot[index]) {
                    filling.join_at(slot, a, b, admittance);
                }
            }
            if let Some((a, b)) = self.meter {
                filling.join(a, b, Complex64::new(1.0 / LOW_IMPEDANCE_OHM, 0.0));
            }
            let (island, fed) = islands(&filling.joined, filling.driven);
            lanes.push(Solved { volts: Vec::new(), island, fed, siemens: of_parts, live_volt });
        }
        let (volts, cancels) = common.schedule.voltages(&mut siemens, &mut ampere);
        for (lane, (solved, pending)) in lanes.iter_mut().zip(block).enumerate() {
            if cancels[lane] {
                work.guarded += 1;
                *solved = self.with_pivots(state, pending);
            } else {
                let of_lane = |volt: &Phasor| Complex64::new(volt.re[lane], volt.im[lane]);
                solved.volts = volts.iter().map(of_lane).collect();
            }
        }
        lanes
    }

    fn with_pivots(&self, state: &StateOf, pending: &Pending<'_>) -> Solved {
        let mut parts = self.model.parts.clone();
        if let Some((moved, factor)) = pending.moved {
            parts[moved] = parts[moved].times(factor);
        }
        Solved::at(
            self.model,
            &parts,
            state,
            self.lifted,
            &pending.faults,
            self.scale,
            self.meter,
            &pending.settling,
        )
    }
}

/// One lane being filled.
struct Filling<'f> {
    lane: usize,
    schedule: &'f Schedule,
    siemens: &'f mut [Phasor],
    ampere: &'f mut [Phasor],
    joined: Vec<u64>,
    driven: u64,
}

impl Filling<'_> {
    fn join(&mut self, a: usize, b: usize, siemens: Complex64) {
        if let Some(slot) = self.schedule.slot(a, b) {
            self.join_at(slot, a, b, siemens);
        }
    }

    fn join_at(&mut self, slot: usize, a: usize, b: usize, siemens: Complex64) {
        self.siemens[slot].re[self.lane] += siemens.re;
        self.siemens[slot].im[self.lane] += siemens.im;
        self.joined[a] |= 1 << b;
        self.joined[b] |= 1 << a;
    }

    /// A source with its internal resistance, as the current it drives into a short.
    fn drive(&mut self, a: usize, b: usize, volt: Complex64, ohm: f64) {
        self.join(a, b, Complex64::new(1.0 / ohm, 0.0));
        let ampere = volt / ohm;
        self.ampere[a].re[self.lane] += ampere.re;
        self.ampere[a].im[self.lane] += ampere.im;
        self.ampere[b].re[self.lane] -= ampere.re;
        self.ampere[b].im[self.lane] -= ampere.im;
        self.driven |= 1 << a;
    }
}

impl Settling {
    /// Before anything has followed anything.
    pub(super) fn first(parts: &[PartValues], state: &StateOf, faults: &[&Fault]) -> Self {
        let closed = parts
            .iter()
            .enumerate()
            .map(|(index, part)| {
                stuck(index, faults).or(state.commanded[index]).unwrap_or(part.rest == Rest::Closed)
            })
            .collect();
        let gives = parts
            .iter()
            .enumerate()
            .map(|(index, part)| {
                let on = state.energised[index] && part.fed_by.is_none();
                if on { given(index, faults) } else { 0.0 }
            })
            .collect();
        Settling { closed, gives }
    }
}

impl Solved {
    /// Whether any source is live.
    pub(super) fn is_live(&self) -> bool {
        self.live_volt >= LIVE_VOLT
    }
}
