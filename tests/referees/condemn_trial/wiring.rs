//! A unit's wiring as it really is: branches, values, faults at their true sizes.
//!
//! Belongs here: turning faults and lifted connectors into branch values. Does not belong here:
//! solving ([`super::spice`]) and drawing units ([`super::world`]).

use engine::circuit::{Circuit, Effect, Impedance, PartKind, Rest};

use super::states;
use crate::joined::Joined;

/// Copper's resistance is proportional to (234.5 + °C).
const COPPER_C: f64 = 234.5;
/// What a charging capacitor looks like to an ohmmeter in its first moment, ohm.
const CHARGING_OHM: f64 = 1e3;
/// A source's own resistance where the file says nothing, ohm.
const SOURCE_OHM: f64 = 0.05;
/// Between the ends of two leads of one harness, farad; half of it to the metal.
const STRAY_FARAD: f64 = 1.5e-10;
/// A branch that is not there, ohm.
pub(super) const GONE_OHM: f64 = 1e15;

/// A branch between two points.
#[derive(Clone, Debug)]
pub(super) struct Branch {
    pub(super) kind: PartKind,
    pub(super) ends: Option<[usize; 2]>,
    /// At 25 °C.
    pub(super) ohm: f64,
    pub(super) microfarad: f64,
    pub(super) volt: f64,
    /// Of a supply, degrees.
    pub(super) phase_deg: f64,
    pub(super) leak_ohm: Option<f64>,
    pub(super) copper: bool,
    /// A switch that lets nothing through while the unit is off.
    pub(super) rests_open: bool,
    /// Under power, at the ohms below.
    pub(super) still: Option<Impedance>,
    pub(super) turning: Option<Impedance>,
    /// Ohms at which the two above hold: a smaller motor has more of all of them.
    pub(super) file_ohm: f64,
    /// How much more than that it really has: in phase, in quadrature.
    pub(super) more: [f64; 2],
    /// The part that works this switch, and the volts from which it does.
    pub(super) driver: Option<(usize, f64)>,
    /// The part that this source follows, and the volts there for nominal.
    pub(super) feeder: Option<(usize, f64)>,
    /// Of a source.
    pub(super) source_ohm: f64,
}

/// A fault at its true size.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct TrueFault {
    pub(super) part: usize,
    pub(super) effect: Effect,
    pub(super) size: f64,
}

/// A whole unit's wiring.
#[derive(Clone, Debug)]
pub(super) struct Wiring {
    pub(super) points: usize,
    pub(super) shell: Option<usize>,
    pub(super) branches: Vec<Branch>,
    /// For each connector the parts it opens.
    pub(super) opens: Vec<Vec<usize>>,
    /// A path that the drawing does not have.
    pub(super) bridge: Option<(usize, usize, f64)>,
    /// Capacitance between conductors that lie side by side, farad; only felt under power.
    pub(super) stray: Vec<(usize, usize, f64)>,
    /// Share of a sound motor's starting torque from which this one starts.
    pub(super) starts_at: f64,
    pub(super) hertz: f64,
}

/// What is asked of the wiring.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) enum What {
    /// An ordinary ohmmeter.
    Ohms,
    /// An insulation tester.
    Megger,
    /// A capacitance meter.
    Microfarad,
    /// A voltmeter, everything in place.
    Volts,
    /// A clamp around a lead or a contact.
    Amps,
}

/// One way of asking: between two points with connectors (sorted) off.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Ask {
    pub(super) what: What,
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) lifted: Vec<usize>,
    /// What is commanded ([`super::states`]); nothing with power off, and on bench circuits.
    pub(super) command: Option<usize>,
}

impl Ask {
    /// Under power, with everything in place.
    pub(super) fn live(what: What, [from, to]: [usize; 2], command: Option<usize>) -> Self {
        Ask { what, from, to, lifted: Vec::new(), command }
    }
}

/// Values of every branch at one moment.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Values {
    /// By part: the path, ohm.
    pub(super) path: Vec<f64>,
    /// By part: its second end to the shell, ohm.
    pub(super) ground: Vec<f64>,
    /// By part, microfarad.
    pub(super) microfarad: Vec<f64>,
    /// By part, volt.
    pub(super) volt: Vec<f64>,
    /// By part: a supply that is on.
    pub(super) live: Vec<bool>,
}

impl Wiring {
    /// As drawn and at nominal values.
    pub(super) fn nominal(circuit: &Circuit) -> Self {
        let point =
            |id: &String| circuit.points.iter().position(|known| known.id == *id).unwrap_or(0);
        let named = |id: &String| circuit.parts.iter().position(|known| known.id == *id);
        let branches: Vec<Branch> = circuit
            .parts
            .iter()
            .map(|part| Branch {
                kind: part.kind,
                ends: part.between.as_ref().map(|ends| [point(&ends[0]), point(&ends[1])]),
                ohm: part.ohm.unwrap_or(0.0),
                microfarad: part.microfarad.unwrap_or(0.0),
                volt: part.volt.unwrap_or(0.0),
                phase_deg: part.phase_deg.unwrap_or(0.0),
                leak_ohm: part.insulation_megohm.map(|megohm| megohm * 1e6),
                copper: part.copper,
                rests_open: part.kind == PartKind::Switch && part.normally == Some(Rest::Open),
                still: part.still,
                turning: part.turning.or_else(|| states::turning(circuit, &part.id)),
                file_ohm: part.ohm.unwrap_or(0.0),
                more: [1.0, 1.0],
                driver: part.driven_by.as_ref().and_then(named).zip(part.pull_in_volt),
                feeder: part.fed_by.as_ref().and_then(named).zip(part.at_volt),
                source_ohm: part.source_ohm.unwrap_or(SOURCE_OHM),
            })
            .collect();
        let opens = circuit
            .connectors
            .iter()
            .map(|connector| {
                let of = |id: &String| circuit.parts.iter().position(|part| part.id == *id);
                connector.opens.iter().filter_map(of).collect()
            })
            .collect();
        let shell = circuit.shell.as_ref().map(point);
        let stray = side_by_side(circuit, &branches, shell);
        Wiring {
            points: circuit.points.len(),
            shell,
            branches,
            opens,
            bridge: None,
            stray,
            starts_at: 0.35,
            hertz: circuit.hertz.unwrap_or(60.0),
        }
    }

    /// What hangs together by parts, whatever is commanded.
    pub(super) fn islands(&self) -> Joined {
        let mut islands = Joined::new(self.points);
        self.branches.iter().filter_map(|known| known.ends).for_each(|[a, b]| islands.join(a, b));
        islands
    }

    /// Whether any branch is a capacitor.
    pub(super) fn has_capacitor(&self) -> bool {
        self.branches.iter().any(|branch| branch.kind == PartKind::Capacitor)
    }

    /// Every branch's value with these faults at work and these connectors off.
    pub(super) fn values(
        &self,
        faults: &[TrueFault],
        lifted: &[usize],
        celsius: f64,
        charging: bool,
        live: bool,
    ) -> Values {
        let warm = (COPPER_C + celsius) / (COPPER_C + 25.0);
        let mut values = Values {
            path: Vec::new(),
            ground: Vec::new(),
            microfarad: Vec::new(),
            volt: Vec::new(),
            live: Vec::new(),
        };
        for (part, branch) in self.branches.iter().enumerate() {
            let off = lifted.iter().any(|&connector| self.opens[connector].contains(&part));
            let mut path = match branch.kind {
                PartKind::Capacitor if charging => CHARGING_OHM,
                // A diode takes more than an ohmmeter's volts: the trial has no diode test.
                PartKind::Capacitor | PartKind::Source | PartKind::Mechanism | PartKind::Diode => {
                    GONE_OHM
                }
                _ if branch.rests_open => GONE_OHM,
                _ if branch.copper => branch.ohm * warm,
                _ => branch.ohm,
            };
            let (mut ground, mut microfarad, mut volt) = (GONE_OHM, branch.microfarad, branch.volt);
            for fault in faults.iter().filter(|fault| fault.part == part) {
                match (fault.effect, branch.kind) {
                    (Effect::Series, PartKind::Capacitor | PartKind::Diode) => path = fault.size,
                    (Effect::Fraction, PartKind::Capacitor) => {
                        microfarad *= fault.size;
                        if fault.size == 0.0 {
                            path = GONE_OHM;
                        }
                    }
                    (Effect::Open | Effect::OpenHot, _) => path = GONE_OHM,
                    (Effect::StuckClosed, _) => path = branch.ohm,
                    (Effect::Series, _) => path += fault.size,
                    (Effect::Fraction, _) => path = (path * fault.size).max(1e-4),
                    (Effect::ToShell, _) => ground = fault.size,
                    (Effect::SourceFraction, _) => volt *= fault.size,
                    _ => {}
                }
            }
            if off {
                path = GONE_OHM;
                microfarad = 0.0;
            }
            values.path.push(path);
            values.ground.push(ground);
            values.microfarad.push(microfarad);
            values.volt.push(volt);
            // A supply that is missing is open, not a short.
            values.live.push(live && branch.kind == PartKind::Source && volt > 0.0);
        }
        values
    }

    /// The pairs of points across which a supply is read: its own two, or where its far end is a
    /// star point that no probe reaches, its near end and that of each other leg.
    pub(super) fn supplies(&self, reached: &dyn Fn(usize) -> bool) -> Vec<[usize; 2]> {
        let sources: Vec<[usize; 2]> = self
            .branches
            .iter()
            .filter(|branch| branch.kind == PartKind::Source)
            .filter_map(|branch| branch.ends)
            .collect();
        let mut pairs = Vec::new();
        for (place, &[near, far]) in sources.iter().enumerate() {
            if reached(far) {
                pairs.push([near, far]);
            }
            let legs = sources[place + 1..].iter().filter(|leg| leg[1] == far && !reached(far));
            pairs.extend(legs.map(|leg| [near, leg[0]]));
        }
        pairs.retain(|pair| pair.iter().all(|&point| reached(point)));
        pairs
    }
}

/// Leads of one harness lie beside the next one of it, and all of them along the metal.
fn side_by_side(
    circuit: &Circuit,
    branches: &[Branch],
    shell: Option<usize>,
) -> Vec<(usize, usize, f64)> {
    let mut stray: Vec<(usize, usize, f64)> = Vec::new();
    let mut before: Vec<(&str, [usize; 2])> = Vec::new();
    for (part, branch) in circuit.parts.iter().zip(branches) {
        let (PartKind::Lead, Some(ends)) = (branch.kind, branch.ends) else { continue };
        if let Some(shell) = shell {
            stray.extend(ends.map(|end| (end, shell, STRAY_FARAD / 2.0)));
        }
        let beside = before.iter().rev().find(|(component, _)| *component == part.component);
        if let Some((_, other)) = beside {
            stray.extend([0, 1].map(|end| (ends[end], other[end], STRAY_FARAD)));
        }
        before.push((&part.component, ends));
    }
    stray.retain(|(a, b, _)| a != b);
    stray
}
