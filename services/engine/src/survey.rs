//! A circuit looked over before anyone relies on it: what a sound meter would show on it under
//! a fault, which faults no reading of a condition tells apart, and how a fault is found.
//!
//! Belongs here: questions about a circuit file as such, asked by its author. Does not belong
//! here: judging a job ([`crate::judge`]) and predicting ([`crate::predict`]).

use std::collections::BTreeMap;

use crate::case::{CASE_FORMAT, Case, Meter, Observation, Power, Reading, Shown, Spec};
use crate::check;
use crate::circuit::{Circuit, PartKind};
use crate::direct;
use crate::likelihood::reachable;
use crate::model::{Fault, Model};
use crate::posterior::{Kind, sign_chance};
use crate::predict::many::{Supposed, Work, predict_many};
use crate::predict::{Predicted, Setup, predict};
use crate::problem::Problems;
use crate::units::{Quantity, Unit};
use crate::verdict::{Outcome, PlannedReading};

/// Most tests of one plan. A fault not isolated by then is told as such.
pub const PLAN_TESTS_MAX: usize = 14;
/// An ordinary ohmmeter shows OL from here, ohm (common practice, no source).
const OHMS_HIGHEST: f64 = 4e7;
/// An insulation tester shows OL from here, ohm (common practice, no source).
const INSULATION_HIGHEST: f64 = 2e9;
/// Two readings that differ by less than this share look alike to someone who does not know
/// the unit's own values (common practice, no source).
const ALIKE_SHARE: f64 = 0.2;
/// What a usual voltmeter shows of a ghost in a survey, volt: too little to be a supply.
const GHOST_VOLT: f64 = 1.0;
/// Warmth and rest of the surveyed unit: cool, and long enough for an overload to reset.
const PART_TEMP_C: f64 = 25.0;
const STOPPED_MIN: f64 = 300.0;

/// One fault of a circuit, its size the middle one of those that its mode lists.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct FaultOf {
    /// Part identifier.
    pub part: String,
    /// Mode identifier.
    pub mode: String,
    /// Component identifier.
    pub component: String,
    /// "run winding open".
    pub label: String,
    index: usize,
}

/// A condition and the faults that no reading in it tells apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Condition {
    /// "power off, compressor plug off" or "calling, compressor running".
    pub label: String,
    /// Groups of two or more, larger first; "nothing wrong" is a member like any other.
    pub groups: Vec<Vec<String>>,
}

/// How one fault is found.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The tests in order: where, and what a sound meter shows.
    pub steps: Vec<String>,
    /// Minutes in all.
    pub minutes: f64,
    /// What the readings prove at the end.
    pub outcome: Outcome,
    /// The component with the largest share at the end.
    pub leading: String,
    /// Its share, 0 to 1.
    pub share: f64,
    /// The faults that still explain the readings, largest share first.
    pub suspects: Vec<String>,
    /// Why it is not isolated, as the verdict says; empty where it is.
    pub why: Vec<String>,
}

/// Every single fault of a circuit, one size each. A passing state is one of them.
pub fn faults(circuit: &Circuit) -> Vec<FaultOf> {
    let model = Model::new(circuit, &BTreeMap::new());
    let mut by_mode: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
    for fault in model.listed() {
        let index = fault.index;
        by_mode.entry((fault.part, fault.mode)).or_default().push(index);
    }
    by_mode
        .into_iter()
        .map(|((part, mode), sizes)| {
            let index = sizes[sizes.len() / 2];
            let of = &circuit.parts[part];
            FaultOf {
                part: of.id.clone(),
                mode: of.modes[mode].id.clone(),
                component: of.component.clone(),
                label: model.fault_label(&model.faults[index]),
                index,
            }
        })
        .collect()
}

/// What a sound meter shows of a reading under a fault, or on a sound circuit; `None` where
/// the model says nothing about that way of measuring.
pub fn shown(
    circuit: &Circuit,
    fault: Option<&FaultOf>,
    reading: &PlannedReading,
) -> Option<Shown> {
    let model = Model::new(circuit, &BTreeMap::new());
    let faults: Vec<&Fault> = fault.map(|fault| &model.faults[fault.index]).into_iter().collect();
    meter_shows(&model, &faults, &setup_of(&model, reading))
}

fn setup_of(model: &Model<'_>, reading: &PlannedReading) -> Setup {
    let powered = reading.quantity.needs_power();
    Setup {
        state: powered.then(|| model.state(reading.state.as_deref()).unwrap_or(0)),
        low_impedance: reading.low_impedance,
        ..setup(reading.quantity, model.point(&reading.from), model.point(&reading.to))
            .lifting(model.lifted(&reading.lifted))
    }
}

fn setup(quantity: Quantity, from: usize, to: usize) -> Setup {
    Setup {
        quantity,
        from,
        to,
        lifted: Vec::new(),
        state: None,
        low_impedance: false,
        part_temp_c: Some(PART_TEMP_C),
        stopped_min: Some(STOPPED_MIN),
    }
}

impl Setup {
    fn lifting(self, lifted: Vec<usize>) -> Self {
        Setup { lifted, ..self }
    }
}

fn meter_shows(model: &Model<'_>, faults: &[&Fault], setup: &Setup) -> Option<Shown> {
    displayed(setup, predict(model, setup, faults, 1.0))
}

/// What a prediction looks like on a usual meter.
fn displayed(setup: &Setup, predicted: Predicted) -> Option<Shown> {
    let (unit, highest) = match setup.quantity {
        Quantity::Resistance => (Unit::Ohm, OHMS_HIGHEST),
        Quantity::Insulation => (Unit::Ohm, INSULATION_HIGHEST),
        Quantity::Capacitance => (Unit::Microfarad, f64::INFINITY),
        Quantity::Voltage | Quantity::DirectVoltage | Quantity::Diode => {
            (Unit::Volt, f64::INFINITY)
        }
        Quantity::Current => (Unit::Ampere, f64::INFINITY),
    };
    match predicted {
        Predicted::Value(value) if value >= highest => Some(Shown::OverLimit),
        Predicted::Value(value) => Some(Shown::Value { value: as_displayed(value), unit }),
        Predicted::Ghost { up_to } => {
            Some(Shown::Value { value: GHOST_VOLT.min(up_to), unit: Unit::Volt })
        }
        Predicted::NoPath { charging: true } => Some(Shown::Climbing),
        Predicted::NoPath { charging: false } => Some(Shown::OverLimit),
        Predicted::Nothing => None,
    }
}

/// Three figures and no step finer than a hundredth: what a usual display has.
fn as_displayed(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let step = 10f64.powf(value.log10().floor() - 2.0).max(0.01);
    // Through a decimal text, so that 0.1 + 0.2 does not show.
    let shown = (value / step).round() * step;
    format!("{shown:.2}").parse().unwrap_or(shown)
}

/// The conditions of a circuit: power off with nothing and with each connector lifted, and each
/// of its states; with the faults that nothing tells apart there.
pub fn conditions(circuit: &Circuit) -> Vec<Condition> {
    let model = Model::new(circuit, &BTreeMap::new());
    let singles = faults(circuit);
    let lifted_sets = std::iter::once(Vec::new())
        .chain((0..circuit.connectors.len()).map(|connector| vec![connector]));
    let mut conditions: Vec<Condition> = lifted_sets
        .map(|lifted| {
            let label = match lifted.first() {
                None => "power off, nothing lifted".to_owned(),
                Some(&connector) => {
                    format!("power off, {} off", circuit.connectors[connector].label)
                }
            };
            Condition { label, groups: groups(&model, &singles, &off_setups(&model, &lifted)) }
        })
        .collect();
    conditions.extend(circuit.states.iter().enumerate().map(|(index, state)| Condition {
        label: state.label.clone(),
        groups: groups(&model, &singles, &live_setups(&model, index)),
    }));
    conditions
}

fn off_setups(model: &Model<'_>, lifted: &[usize]) -> Vec<Setup> {
    let points: Vec<usize> = (0..model.circuit.points.len())
        .filter(|&point| Some(point) != model.shell && reachable(model, point, lifted))
        .collect();
    let diodes = model.parts.iter().any(|part| part.kind == PartKind::Diode);
    let mut setups = Vec::new();
    for (place, &from) in points.iter().enumerate() {
        if let Some(shell) = model.shell {
            setups.push(setup(Quantity::Insulation, from, shell));
        }
        for &to in &points[place + 1..] {
            setups.push(setup(Quantity::Resistance, from, to));
            if diodes {
                setups.push(setup(Quantity::Diode, from, to));
                setups.push(setup(Quantity::Diode, to, from));
            }
        }
    }
    setups.extend(
        model
            .parts
            .iter()
            .filter(|part| part.kind == PartKind::Capacitor)
            .filter_map(|part| part.ends)
            .filter(|ends| ends.iter().all(|end| points.contains(end)))
            .map(|[from, to]| setup(Quantity::Capacitance, from, to)),
    );
    setups.into_iter().map(|setup| setup.lifting(lifted.to_vec())).collect()
}

fn live_setups(model: &Model<'_>, state: usize) -> Vec<Setup> {
    let points: Vec<usize> = (0..model.circuit.points.len())
        .filter(|&point| Some(point) != model.shell && reachable(model, point, &[]))
        .collect();
    let mut setups = Vec::new();
    for (place, &from) in points.iter().enumerate() {
        setups.extend(points[place + 1..].iter().map(|&to| setup(Quantity::Voltage, from, to)));
    }
    setups.extend(
        model
            .parts
            .iter()
            .filter(|part| !matches!(part.kind, PartKind::Source | PartKind::Diode))
            .filter_map(|part| part.ends)
            .filter(|ends| ends.iter().all(|end| points.contains(end)))
            .map(|[from, to]| setup(Quantity::Current, from, to)),
    );
    setups.extend(
        direct::links(model)
            .filter(|ends| ends.iter().all(|end| points.contains(end)))
            .map(|[from, to]| setup(Quantity::DirectVoltage, from, to)),
    );
    setups.into_iter().map(|setup| Setup { state: Some(state), ..setup }).collect()
}

/// Splits "nothing wrong" and the faults by one reading after the other; what stays together
/// to the end is a group. A group of one needs no further reading, which is most of the work.
fn groups(model: &Model<'_>, singles: &[FaultOf], setups: &[Setup]) -> Vec<Vec<String>> {
    let suppositions: Vec<Supposed<'_>> = std::iter::once(Supposed::default())
        .chain(singles.iter().map(|fault| Supposed::of(&[&model.faults[fault.index]])))
        .collect();
    let of: Vec<&Setup> = setups.iter().collect();
    let predictions = predict_many(model, &of, &suppositions, 1.0, &mut Work::default());
    // Members by their place among the suppositions: nothing wrong, then the faults.
    let mut open: Vec<Vec<usize>> = vec![(0..suppositions.len()).collect()];
    for (index, setup) in setups.iter().enumerate() {
        let predicted = predictions.of(index);
        let mut next = Vec::with_capacity(open.len());
        for group in open {
            let mut split: Vec<(Option<Shown>, Vec<usize>)> = Vec::new();
            for member in group {
                let shows = displayed(setup, predicted[member]);
                match split.iter_mut().find(|(known, _)| looks_alike(setup, known, &shows)) {
                    Some((_, members)) => members.push(member),
                    None => split.push((shows, vec![member])),
                }
            }
            next.extend(split.into_iter().map(|(_, members)| members).filter(|m| m.len() > 1));
        }
        open = next;
    }
    open.sort_by_key(|group| std::cmp::Reverse(group.len()));
    let label = |member: usize| match member.checked_sub(1) {
        None => "nothing wrong".to_owned(),
        Some(fault) => singles[fault].label.clone(),
    };
    open.iter().map(|group| group.iter().map(|&member| label(member)).collect()).collect()
}

/// Whether two displays say the same to someone who does not know the unit's own values.
fn looks_alike(setup: &Setup, a: &Option<Shown>, b: &Option<Shown>) -> bool {
    // A step that nobody would notice, in the base unit.
    let unnoticed: f64 = match setup.quantity {
        Quantity::Resistance => 0.3,
        Quantity::Insulation => 1e3,
        Quantity::Voltage | Quantity::DirectVoltage => 1.5,
        Quantity::Current | Quantity::Capacitance => 0.3,
        Quantity::Diode => 0.15,
    };
    match (a, b) {
        (Some(Shown::Value { value: a, .. }), Some(Shown::Value { value: b, .. })) => {
            (a - b).abs() <= unnoticed.max(ALIKE_SHARE * a.max(*b))
        }
        _ => a == b,
    }
}

/// Whether the maker's sheet is at hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sheet {
    /// Only the family's values are known.
    Missing,
    /// The unit's own resistances of windings and coils are given with it.
    AtHand,
}

/// The resistances of a circuit's windings and coils as a maker's sheet would give them.
pub fn sheet(circuit: &Circuit) -> BTreeMap<String, Spec> {
    circuit
        .parts
        .iter()
        .filter(|part| matches!(part.kind, PartKind::Winding | PartKind::Coil))
        .filter_map(|part| {
            let spec =
                Spec { value: part.ohm?, unit: Unit::Ohm, tolerance_pct: None, source: None };
            Some((part.id.clone(), spec))
        })
        .collect()
}

/// The plan for one fault: the engine's own next test, answered as a sound meter would, until
/// it needs no further one, or `tests_max` are done. `text` is the circuit file that `circuit`
/// was read from.
///
/// # Errors
/// What [`check`] says of the case; a validated circuit gives it no reason to.
pub fn plan(
    circuit: &Circuit,
    text: &str,
    fault: &FaultOf,
    tests_max: usize,
    at_hand: Sheet,
) -> Result<Plan, Problems> {
    let specs = match at_hand {
        Sheet::Missing => BTreeMap::new(),
        Sheet::AtHand => sheet(circuit),
    };
    let model = Model::new(circuit, &specs);
    let of_fault = &model.faults[fault.index];
    let mut case = Case {
        format: CASE_FORMAT,
        title: None,
        circuit: circuit.name.clone(),
        circuit_text: Some(text.to_owned()),
        specs: specs.clone(),
        claim: None,
        readings: Vec::new(),
        observations: Vec::new(),
        policy: None,
        rates: None,
    };
    let mut steps = Vec::new();
    let mut minutes = 0.0;
    loop {
        let verdict = check(&case)?;
        let next = verdict
            .next_tests
            .first()
            .filter(|_| verdict.outcome != Outcome::Isolated && steps.len() < tests_max);
        let before = case.readings.len() + case.observations.len();
        if let Some(test) = next {
            let answers = answered(&model, of_fault, fault, test, &mut case);
            if case.readings.len() + case.observations.len() > before {
                minutes += test.minutes;
                steps.push(format!("{}: {}", test.title, answers.join("; ")));
                continue;
            }
        }
        let leading = verdict.components.first();
        return Ok(Plan {
            steps,
            minutes,
            outcome: verdict.outcome,
            leading: leading.map_or(String::new(), |share| share.component.clone()),
            share: leading.map_or(0.0, |share| share.share),
            suspects: verdict.suspects.into_iter().map(|suspect| suspect.label).collect(),
            why: match verdict.outcome {
                Outcome::Isolated => Vec::new(),
                _ => verdict.because,
            },
        });
    }
}

/// Adds to the case what a sound meter and a careful eye answer to a test.
fn answered(
    model: &Model<'_>,
    of_fault: &Fault,
    fault: &FaultOf,
    test: &crate::verdict::NextTest,
    case: &mut Case,
) -> Vec<String> {
    let mut answers = Vec::new();
    for take in &test.takes {
        let Some(shown) = meter_shows(model, &[of_fault], &setup_of(model, take)) else {
            continue;
        };
        answers.push(match &shown {
            Shown::Value { value, unit } => {
                format!("{}–{} {value} {}", take.from, take.to, unit.sign())
            }
            Shown::OverLimit => format!("{}–{} OL", take.from, take.to),
            Shown::Climbing => format!("{}–{} climbing", take.from, take.to),
        });
        let powered = take.quantity.needs_power();
        case.readings.push(Reading {
            id: format!("r{}", case.readings.len() + 1),
            quantity: take.quantity,
            from: take.from.clone(),
            to: take.to.clone(),
            lifted: take.lifted.clone(),
            power: if powered { Power::Energised } else { Power::Off },
            state: take.state.clone(),
            shown,
            part_temp_c: (!powered).then_some(PART_TEMP_C),
            stopped_min: (!powered).then_some(STOPPED_MIN),
            meter: take
                .low_impedance
                .then(|| Meter { low_impedance: Some(true), ..Meter::default() }),
        });
    }
    let sign = test
        .sign
        .as_ref()
        .and_then(|sign| model.circuit.signs.iter().find(|known| known.id == *sign));
    if let Some(sign) = sign {
        let present = sign_chance(model, sign, Kind::Single(fault.index)) >= 0.5;
        answers.push(if present { "yes".to_owned() } else { "no".to_owned() });
        case.observations.push(Observation {
            id: format!("o{}", case.observations.len() + 1),
            sign: sign.id.clone(),
            present,
        });
    }
    answers
}
