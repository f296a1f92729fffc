//! A circuit and a unit's own values, compiled to numbers.
//!
//! Belongs here: indices instead of names, the values in force (the unit's or the family's),
//! the faults as a flat list. Does not belong here: what a meter would show
//! ([`crate::predict`]) and how likely anything is.

use std::collections::BTreeMap;

use crate::case::Spec;
use crate::circuit::{Circuit, Effect, Impedance, PartKind, Rest};
use crate::powered::States;

/// Temperature at which circuit files and specs state copper's resistance, °C.
pub(crate) const REFERENCE_C: f64 = 25.0;
/// Family spread assumed where a part states none, percent (common practice, no source).
const TOLERANCE_PCT_DEFAULT: f64 = 10.0;
/// Internal resistance of a source where a circuit states none, ohm (common practice, no
/// source).
const SOURCE_OHM_DEFAULT: f64 = 0.05;

/// One fault of one part at one size.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fault {
    /// Its place among the model's faults.
    pub(crate) index: usize,
    pub(crate) part: usize,
    pub(crate) mode: usize,
    pub(crate) effect: Effect,
    pub(crate) size: f64,
    /// Probability of this mode at this size before any reading.
    pub(crate) prior: f64,
    pub(crate) component: usize,
    pub(crate) passing: bool,
}

/// A part with its values in force.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PartValues {
    pub(crate) kind: PartKind,
    pub(crate) ends: Option<[usize; 2]>,
    pub(crate) ohm: f64,
    pub(crate) microfarad: f64,
    pub(crate) volt: f64,
    /// Spread of the good value as a fraction of it.
    pub(crate) tolerance: f64,
    pub(crate) insulation_ohm: Option<f64>,
    pub(crate) copper: bool,
    pub(crate) still: Option<Impedance>,
    pub(crate) turning: Option<Impedance>,
    pub(crate) rest: Rest,
    /// The part that works this switch, and the volts from which it does.
    pub(crate) driven_by: Option<(usize, f64)>,
    /// The part that this source follows, and the volts there for nominal.
    pub(crate) fed_by: Option<(usize, f64)>,
    pub(crate) source_ohm: f64,
    pub(crate) phase_rad: f64,
    pub(crate) drop_volt: f64,
    /// Shares the one unknown scale of the circuit's alike parts.
    pub(crate) scaled: bool,
}

impl PartValues {
    /// The same part with its value times a factor.
    pub(crate) fn times(self, factor: f64) -> Self {
        let more = |impedance: Impedance| Impedance {
            ohm: impedance.ohm * factor,
            reactance_ohm: impedance.reactance_ohm * factor,
        };
        PartValues {
            ohm: self.ohm * factor,
            microfarad: self.microfarad * factor,
            volt: self.volt * factor,
            still: self.still.map(more),
            turning: self.turning.map(more),
            ..self
        }
    }
}

/// A compiled circuit.
#[derive(Clone, Debug)]
pub(crate) struct Model<'a> {
    pub(crate) circuit: &'a Circuit,
    pub(crate) parts: Vec<PartValues>,
    pub(crate) faults: Vec<Fault>,
    pub(crate) shell: Option<usize>,
    /// Spread of the unknown common scale, as a fraction; `None` where no part is scaled.
    pub(crate) scale_spread: Option<f64>,
    pub(crate) states: States,
    points: BTreeMap<&'a str, usize>,
    connectors: BTreeMap<&'a str, usize>,
    /// For each connector the parts it opens.
    pub(crate) opens: Vec<Vec<usize>>,
}

impl<'a> Model<'a> {
    /// Compiles a validated circuit with the unit's specs.
    pub(crate) fn new(circuit: &'a Circuit, specs: &BTreeMap<String, Spec>) -> Self {
        let points: BTreeMap<&str, usize> =
            circuit.points.iter().enumerate().map(|(index, p)| (p.id.as_str(), index)).collect();
        let part_index: BTreeMap<&str, usize> =
            circuit.parts.iter().enumerate().map(|(index, p)| (p.id.as_str(), index)).collect();
        let component_index: BTreeMap<&str, usize> = circuit
            .components
            .iter()
            .enumerate()
            .map(|(index, component)| (component.id.as_str(), index))
            .collect();
        let mut scale_spread: Option<f64> = None;
        let mut parts = Vec::with_capacity(circuit.parts.len());
        let mut faults = Vec::new();
        for (index, part) in circuit.parts.iter().enumerate() {
            // One alike part with its own value known gives it to the others: they are alike.
            let spec = specs.get(&part.id).or_else(|| {
                let alike = part.alike.as_ref()?;
                circuit
                    .parts
                    .iter()
                    .filter(|other| other.alike.as_ref() == Some(alike))
                    .find_map(|other| specs.get(&other.id))
            });
            let family = part.tolerance_pct.unwrap_or(TOLERANCE_PCT_DEFAULT) / 100.0;
            let own = part.spec_tolerance_pct.unwrap_or(TOLERANCE_PCT_DEFAULT) / 100.0;
            let value = spec.map(|spec| spec.value * spec.unit.to_base());
            let scaled = spec.is_none() && part.alike.is_some();
            let tolerance = match spec {
                Some(spec) => spec.tolerance_pct.map_or(own, |pct| pct / 100.0),
                // The common scale carries the family's spread; what is left is the spread
                // between parts that are alike.
                None if scaled => own,
                None => family,
            };
            if scaled {
                scale_spread = Some(scale_spread.map_or(family, |known| known.max(family)));
            }
            parts.push(PartValues {
                kind: part.kind,
                ends: part
                    .between
                    .as_ref()
                    .map(|ends| [points[ends[0].as_str()], points[ends[1].as_str()]]),
                ohm: value.or(part.ohm).unwrap_or(0.0),
                microfarad: value.or(part.microfarad).unwrap_or(0.0),
                volt: value.or(part.volt).unwrap_or(0.0),
                tolerance,
                insulation_ohm: part.insulation_megohm.map(|megohm| megohm * 1e6),
                copper: part.copper,
                still: part.still,
                turning: part.turning,
                rest: part.normally.unwrap_or(Rest::Closed),
                driven_by: part
                    .driven_by
                    .as_ref()
                    .zip(part.pull_in_volt)
                    .map(|(driver, volt)| (part_index[driver.as_str()], volt)),
                fed_by: part
                    .fed_by
                    .as_ref()
                    .zip(part.at_volt)
                    .map(|(feeder, volt)| (part_index[feeder.as_str()], volt)),
                source_ohm: part.source_ohm.unwrap_or(SOURCE_OHM_DEFAULT),
                phase_rad: part.phase_deg.unwrap_or(0.0).to_radians(),
                drop_volt: part.drop_volt.unwrap_or(0.0),
                scaled,
            });
            for (mode_index, mode) in part.modes.iter().enumerate() {
                let sizes: &[f64] = if mode.sizes.is_empty() { &[0.0] } else { &mode.sizes };
                for &size in sizes {
                    faults.push(Fault {
                        index: faults.len(),
                        part: index,
                        mode: mode_index,
                        effect: mode.effect,
                        size,
                        prior: mode.prior / sizes.len() as f64,
                        component: component_index[part.component.as_str()],
                        passing: mode.passing,
                    });
                }
            }
        }
        let opens = circuit
            .connectors
            .iter()
            .map(|connector| connector.opens.iter().map(|id| part_index[id.as_str()]).collect())
            .collect();
        Model {
            circuit,
            parts,
            faults,
            shell: circuit.shell.as_ref().map(|shell| points[shell.as_str()]),
            scale_spread,
            states: States::of(circuit),
            points,
            connectors: circuit
                .connectors
                .iter()
                .enumerate()
                .map(|(index, connector)| (connector.id.as_str(), index))
                .collect(),
            opens,
        }
    }

    /// The index of a point; the case was validated, so it exists.
    pub(crate) fn point(&self, id: &str) -> usize {
        self.points[id]
    }

    /// The index of a state; the first where none is named. The case was validated.
    pub(crate) fn state(&self, id: Option<&str>) -> Option<usize> {
        let id = id?;
        self.circuit.states.iter().position(|state| state.id == id)
    }

    /// Lifted connectors as a sorted list of indices.
    pub(crate) fn lifted(&self, ids: &[String]) -> Vec<usize> {
        let mut lifted: Vec<usize> = ids.iter().map(|id| self.connectors[id.as_str()]).collect();
        lifted.sort_unstable();
        lifted.dedup();
        lifted
    }

    /// "run winding open".
    pub(crate) fn fault_label(&self, fault: &Fault) -> String {
        let part = &self.circuit.parts[fault.part];
        format!("{} {}", part.label, part.modes[fault.mode].label)
    }

    /// "part.mode".
    pub(crate) fn fault_key(&self, fault: &Fault) -> String {
        let part = &self.circuit.parts[fault.part];
        format!("{}.{}", part.id, part.modes[fault.mode].id)
    }
}
