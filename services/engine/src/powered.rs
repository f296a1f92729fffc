//! The circuit under power: volts and amps of one phasor network.
//!
//! Belongs here: which contacts are closed and which sources give what in a state, solving
//! the network, ghost voltage on what hangs open. Does not belong here: direct-current
//! readings with power off ([`crate::predict`]) and meter error ([`crate::likelihood`]).
//!
//! What is where is decided by connectivity before any arithmetic: two points that nothing
//! joins have no voltage between them that a model could state. A usual voltmeter, which
//! draws next to nothing, shows some ghost of the nearest live conductor there.

use num_complex::Complex64;

use crate::checks::HERTZ_DEFAULT;
use crate::circuit::{Effect, Impedance, PartKind, Rest};
use crate::model::{Fault, Model, PartValues};
use crate::predict::{Predicted, Setup};
use crate::sweep::bits;
use crate::units::Quantity;

mod many;

pub(crate) use many::Condition;

/// Rounds in which driven contacts and fed sources may follow each other. A chain longer
/// than this, or a relay that chatters, is read as it stands after the last round.
const ROUNDS_MAX: usize = 8;
/// Impedance of a low-impedance voltmeter, ohm (common practice, no source).
const LOW_IMPEDANCE_OHM: f64 = 3e3;
/// Least volts for which a source counts as live.
const LIVE_VOLT: f64 = 0.5;

/// The network of one state under some faults, solved.
#[derive(Clone, Debug)]
pub(crate) struct Solved {
    /// Phasor of each point against its island's reference, volt, root mean square.
    volts: Vec<Complex64>,
    /// Which island each point is in.
    island: Vec<usize>,
    /// Whether each island has a source in it.
    fed: Vec<bool>,
    /// Admittance of each part in its present condition, siemens; `None` where it is open.
    siemens: Vec<Option<Complex64>>,
    /// The highest voltage of any live source, volt; 0 where all is dead.
    live_volt: f64,
}

/// A state as indices, and who drives and feeds whom: compiled once per circuit.
#[derive(Clone, Debug, Default)]
pub(crate) struct States {
    pub(crate) all: Vec<StateOf>,
}

/// One state.
#[derive(Clone, Debug)]
pub(crate) struct StateOf {
    energised: Vec<bool>,
    /// Commanded position of each part that is a switch; `None` leaves it at rest.
    commanded: Vec<Option<bool>>,
    turning: Vec<bool>,
}

impl StateOf {
    /// Whether a part that is a source is on.
    pub(crate) fn is_energised(&self, part: usize) -> bool {
        self.energised[part]
    }

    /// Whether a switch is commanded to close or to open; `None` leaves it at rest.
    pub(crate) fn closed(&self, part: usize) -> Option<bool> {
        self.commanded[part]
    }
}

impl States {
    /// Compiles the states of a validated circuit. One that lists none is read with its
    /// sources on, its switches at rest and nothing turning.
    pub(crate) fn of(circuit: &crate::circuit::Circuit) -> Self {
        let has = |ids: &[String]| -> Vec<bool> {
            circuit.parts.iter().map(|part| ids.contains(&part.id)).collect()
        };
        let mut all: Vec<StateOf> = circuit
            .states
            .iter()
            .map(|state| StateOf {
                energised: has(&state.energised),
                commanded: circuit
                    .parts
                    .iter()
                    .map(|part| {
                        let closed = state.closed.contains(&part.id);
                        (closed || state.opened.contains(&part.id)).then_some(closed)
                    })
                    .collect(),
                turning: has(&state.turning),
            })
            .collect();
        if all.is_empty() {
            all.push(StateOf {
                energised: circuit.parts.iter().map(|p| p.kind == PartKind::Source).collect(),
                commanded: vec![None; circuit.parts.len()],
                turning: vec![false; circuit.parts.len()],
            });
        }
        States { all }
    }
}

/// What moves while the network settles.
#[derive(Clone, PartialEq)]
struct Settling {
    /// Position of each part that is a switch: closed or not.
    closed: Vec<bool>,
    /// Share of nominal that each source gives.
    gives: Vec<f64>,
}

impl Solved {
    /// Solves a state with connectors lifted and faults put in. `meter` is a low-impedance
    /// meter's two points.
    pub(crate) fn of(
        model: &Model<'_>,
        parts: &[PartValues],
        state: usize,
        lifted: &[usize],
        faults: &[&Fault],
        scale: f64,
        meter: Option<(usize, usize)>,
    ) -> Self {
        let state = &model.states.all[state];
        let mut settling = Settling::first(parts, state, faults);
        let mut solved = Solved::at(model, parts, state, lifted, faults, scale, meter, &settling);
        for _ in 0..ROUNDS_MAX {
            let next = solved.followed(parts, state, faults, &settling);
            if next == settling {
                break;
            }
            settling = next;
            solved = Solved::at(model, parts, state, lifted, faults, scale, meter, &settling);
        }
        solved
    }

    /// Driven contacts and fed sources after what the network now shows.
    fn followed(
        &self,
        parts: &[PartValues],
        state: &StateOf,
        faults: &[&Fault],
        settling: &Settling,
    ) -> Settling {
        // What is open or lifted pulls and feeds nothing, whatever volts stand across it.
        let across = |part: usize| match parts[part].ends {
            Some([a, b])
                if (self.siemens[part].is_some() || parts[part].kind == PartKind::Source)
                    && self.joined(a, b) =>
            {
                (self.volts[a] - self.volts[b]).norm()
            }
            _ => 0.0,
        };
        let mut next = settling.clone();
        for (index, part) in parts.iter().enumerate() {
            if let Some((driver, pull_in_volt)) = part.driven_by {
                let seized = faults
                    .iter()
                    .any(|fault| fault.part == driver && fault.effect == Effect::Mechanical);
                let rest = part.rest == Rest::Closed;
                let moved = !seized && across(driver) >= pull_in_volt;
                // A switch that is commanded off (a safety, a thermostat in series with its
                // own drive) does not move however hard it is driven.
                let held = state.commanded[index];
                next.closed[index] =
                    stuck(index, faults).or(held).unwrap_or(if moved { !rest } else { rest });
            }
            if let Some((feeder, at_volt)) = part.fed_by {
                next.gives[index] = given(index, faults) * across(feeder) / at_volt;
            }
        }
        // Sources that settle to within a part in a thousand have settled.
        for (next, now) in next.gives.iter_mut().zip(&settling.gives) {
            if (*next - now).abs() < 1e-3 {
                *next = *now;
            }
        }
        next
    }

    #[expect(clippy::too_many_arguments, reason = "one condition of one hypothesis, unpacked")]
    fn at(
        model: &Model<'_>,
        parts: &[PartValues],
        state: &StateOf,
        lifted: &[usize],
        faults: &[&Fault],
        scale: f64,
        meter: Option<(usize, usize)>,
        settling: &Settling,
    ) -> Self {
        let joints = model.circuit.points.len();
        let omega = std::f64::consts::TAU * model.circuit.hertz.unwrap_or(HERTZ_DEFAULT);
        let mut network = Phasors::new(joints);
        let mut siemens = vec![None; parts.len()];
        let mut live_volt: f64 = 0.0;
        for (index, part) in parts.iter().enumerate() {
            let Some([a, b]) = part.ends else { continue };
            for fault in of_part(index, faults) {
                if let Some([from, to]) = fault.joins {
                    network.join(from, to, Complex64::new(1.0 / fault.size, 0.0));
                }
            }
            if lifted.iter().any(|&connector| model.opens[connector].contains(&index)) {
                continue;
            }
            if part.kind == PartKind::Source {
                let volt = part.volt * settling.gives[index];
                // A supply that is missing is open, not a short; a transformer's dead secondary
                // still joins its two ends.
                if part.fed_by.is_some() || (state.energised[index] && volt > 0.0) {
                    network.drive(
                        a,
                        b,
                        Complex64::from_polar(volt, part.phase_rad),
                        part.source_ohm,
                    );
                    live_volt = live_volt.max(volt);
                }
                continue;
            }
            let turning = state.turning[index];
            let admittance = admittance(
                part,
                of_part(index, faults),
                turning,
                settling.closed[index],
                scale,
                omega,
            );
            siemens[index] = admittance;
            if let Some(admittance) = admittance {
                network.join(a, b, admittance);
            }
        }
        if let Some((a, b)) = meter {
            network.join(a, b, Complex64::new(1.0 / LOW_IMPEDANCE_OHM, 0.0));
        }
        let (volts, island, fed) = network.solved();
        Solved { volts, island, fed, siemens, live_volt }
    }

    fn joined(&self, a: usize, b: usize) -> bool {
        self.island[a] == self.island[b]
    }

    /// Volts between two points.
    fn voltage(&self, a: usize, b: usize) -> Predicted {
        if self.joined(a, b) {
            let fed = self.fed[self.island[a]];
            Predicted::Value(if fed { (self.volts[a] - self.volts[b]).norm() } else { 0.0 })
        } else if self.is_live() {
            Predicted::Ghost { up_to: self.live_volt }
        } else {
            Predicted::Value(0.0)
        }
    }

    /// Amps through a part.
    fn current(&self, parts: &[PartValues], part: usize) -> f64 {
        match (parts[part].ends, self.siemens[part]) {
            (Some([a, b]), Some(siemens)) => ((self.volts[a] - self.volts[b]) * siemens).norm(),
            _ => 0.0,
        }
    }

    /// What a sound meter shows of a quantity read under power.
    pub(crate) fn shows(&self, parts: &[PartValues], setup: &Setup) -> Predicted {
        match setup.quantity {
            Quantity::Voltage => self.voltage(setup.from, setup.to),
            Quantity::Current => match carrier(parts, setup) {
                Some(part) => Predicted::Value(self.current(parts, part)),
                None => Predicted::Nothing,
            },
            _ => Predicted::Nothing,
        }
    }
}

/// The part that a clamp between two points is around.
fn carrier(parts: &[PartValues], setup: &Setup) -> Option<usize> {
    parts.iter().position(|part| {
        part.kind != PartKind::Source
            && (part.ends == Some([setup.from, setup.to])
                || part.ends == Some([setup.to, setup.from]))
    })
}

/// What a sound meter shows under power, with `parts` in place of the model's own.
pub(crate) fn predict(
    model: &Model<'_>,
    parts: &[PartValues],
    setup: &Setup,
    faults: &[&Fault],
    scale: f64,
) -> Predicted {
    let state = setup.state.unwrap_or(0);
    Solved::of(model, parts, state, &setup.lifted, faults, scale, setup.meter()).shows(parts, setup)
}

fn of_part<'f, 'm>(
    part: usize,
    faults: &'f [&'m Fault],
) -> impl Iterator<Item = &'m Fault> + use<'f, 'm> {
    faults.iter().copied().filter(move |fault| fault.part == part)
}

/// The position a switch is stuck in, if a fault holds it.
fn stuck(part: usize, faults: &[&Fault]) -> Option<bool> {
    of_part(part, faults).find_map(|fault| match fault.effect {
        Effect::StuckClosed => Some(true),
        Effect::Open => Some(false),
        _ => None,
    })
}

/// The share of its nominal volts that a faulty source gives.
fn given(part: usize, faults: &[&Fault]) -> f64 {
    of_part(part, faults)
        .filter(|fault| fault.effect == Effect::SourceFraction)
        .map(|fault| fault.size)
        .product()
}

fn admittance<'m>(
    part: &PartValues,
    faults: impl Iterator<Item = &'m Fault>,
    turning: bool,
    closed: bool,
    scale: f64,
    omega: f64,
) -> Option<Complex64> {
    let scale = if part.scaled { scale } else { 1.0 };
    let at_rest = part.still.unwrap_or(Impedance { ohm: part.ohm, reactance_ohm: 0.0 });
    let impedance = if turning { part.turning.unwrap_or(at_rest) } else { at_rest };
    let mut ohm = Complex64::new(impedance.ohm, impedance.reactance_ohm) * scale;
    if part.kind == PartKind::Capacitor {
        ohm = Complex64::new(0.0, -1e6 / (omega * part.microfarad));
    }
    let mut joined = match part.kind {
        PartKind::Mechanism | PartKind::Diode | PartKind::Source => false,
        PartKind::Switch => closed,
        _ => true,
    };
    for fault in faults {
        match (fault.effect, part.kind) {
            (Effect::Open | Effect::OpenHot, _) => joined = false,
            (Effect::Series, PartKind::Capacitor | PartKind::Diode) => {
                (ohm, joined) = (Complex64::new(fault.size, 0.0), true);
            }
            (Effect::Series, _) => ohm += fault.size,
            (Effect::Fraction, PartKind::Capacitor) if fault.size == 0.0 => joined = false,
            // A weaker capacitor lets less through; a shorter winding more.
            (Effect::Fraction, PartKind::Capacitor) => ohm /= fault.size,
            (Effect::Fraction, _) => ohm *= fault.size.max(1e-4),
            _ => {}
        }
    }
    joined.then(|| ohm.inv())
}

/// The island of each joint, and whether each island has a source.
fn islands(joined: &[u64], driven: u64) -> (Vec<usize>, Vec<bool>) {
    let mut island = vec![usize::MAX; joined.len()];
    let mut fed = Vec::new();
    for start in 0..joined.len() {
        if island[start] != usize::MAX {
            continue;
        }
        let mut reached = 1u64 << start;
        let mut queue = reached;
        while queue != 0 {
            let joint = queue.trailing_zeros() as usize;
            queue &= queue - 1;
            let fresh = joined[joint] & !reached;
            reached |= fresh;
            queue |= fresh;
        }
        for joint in bits(reached) {
            island[joint] = fed.len();
        }
        fed.push(reached & driven != 0);
    }
    (island, fed)
}

/// Admittances and sources between numbered joints.
struct Phasors {
    joints: usize,
    /// Nodal admittances, row-major.
    siemens: Vec<Complex64>,
    /// Current driven into each joint, ampere.
    ampere: Vec<Complex64>,
    joined: Vec<u64>,
    driven: u64,
}

impl Phasors {
    fn new(joints: usize) -> Self {
        Phasors {
            joints,
            siemens: vec![Complex64::ZERO; joints * joints],
            ampere: vec![Complex64::ZERO; joints],
            joined: vec![0; joints],
            driven: 0,
        }
    }

    fn join(&mut self, a: usize, b: usize, siemens: Complex64) {
        if a == b {
            return;
        }
        for (row, column, sign) in [(a, a, 1.0), (b, b, 1.0), (a, b, -1.0), (b, a, -1.0)] {
            self.siemens[row * self.joints + column] += siemens * sign;
        }
        self.joined[a] |= 1 << b;
        self.joined[b] |= 1 << a;
    }

    /// A source with its internal resistance, as the current it drives into a short.
    fn drive(&mut self, a: usize, b: usize, volt: Complex64, ohm: f64) {
        self.join(a, b, Complex64::new(1.0 / ohm, 0.0));
        self.ampere[a] += volt / ohm;
        self.ampere[b] -= volt / ohm;
        self.driven |= 1 << a;
    }

    /// Volts of each joint against its island's first, the island of each joint, and whether
    /// an island has a source.
    fn solved(&self) -> (Vec<Complex64>, Vec<usize>, Vec<bool>) {
        let mut volts = vec![Complex64::ZERO; self.joints];
        let (island, fed) = islands(&self.joined, self.driven);
        for (number, _) in fed.iter().enumerate().filter(|(_, fed)| **fed) {
            let members: Vec<usize> =
                (0..self.joints).filter(|&joint| island[joint] == number).collect();
            self.solve_island(&members[1..], &mut volts);
        }
        (volts, island, fed)
    }

    /// Gaussian elimination with row pivoting over the joints of one island but its first.
    fn solve_island(&self, members: &[usize], volts: &mut [Complex64]) {
        let size = members.len();
        let width = size + 1;
        let mut rows: Vec<Complex64> = Vec::with_capacity(size * width);
        for &row in members {
            rows.extend(members.iter().map(|&column| self.siemens[row * self.joints + column]));
            rows.push(self.ampere[row]);
        }
        for pivot in 0..size {
            let best = (pivot..size)
                .max_by(|&x, &y| {
                    rows[x * width + pivot]
                        .norm_sqr()
                        .total_cmp(&rows[y * width + pivot].norm_sqr())
                })
                .unwrap_or(pivot);
            if best != pivot {
                for column in pivot..width {
                    rows.swap(pivot * width + column, best * width + column);
                }
            }
            let (above, below) = rows.split_at_mut((pivot + 1) * width);
            let own = &above[pivot * width..];
            let inverse = own[pivot].inv();
            for row in below.chunks_exact_mut(width) {
                if row[pivot] == Complex64::ZERO {
                    continue;
                }
                let factor = row[pivot] * inverse;
                for column in pivot..width {
                    row[column] -= factor * own[column];
                }
            }
        }
        for pivot in (0..size).rev() {
            let mut value = rows[pivot * width + size];
            for column in pivot + 1..size {
                value -= rows[pivot * width + column] * volts[members[column]];
            }
            volts[members[pivot]] = value / rows[pivot * width + pivot];
        }
    }
}

#[cfg(test)]
mod tests;
