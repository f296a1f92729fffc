//! A circuit and a unit's own values, compiled to numbers.
//!
//! Belongs here: indices instead of names, the values in force (the unit's or the family's),
//! the faults as a flat list. Does not belong here: what a meter would show
//! ([`crate::predict`]) and how likely anything is.

use std::collections::BTreeMap;

use crate::case::Spec;
use crate::circuit::{Circuit, Effect, Impedance, PartKind, Rest};
use crate::powered::States;
use crate::rates::{Rates, Times};

/// Temperature at which circuit files and specs state copper's resistance, °C.
pub(crate) const REFERENCE_C: f64 = 25.0;
/// Family spread assumed where a part states none, percent (common practice, no source).
const TOLERANCE_PCT_DEFAULT: f64 = 10.0;
/// Internal resistance of a source where a circuit states none, ohm (common practice, no
/// source).
const SOURCE_OHM_DEFAULT: f64 = 0.05;

/// Resistance of leads and contacts differs from unit to unit by this much, percent: how long a
/// harness is, no drawing says (common practice, no source).
const WIRE_TOLERANCE_PCT: f64 = 100.0;
/// Sound wires far off the family's value, where the circuit states no tolerance of theirs:
/// factors, and the chance of each (common practice, no source). All readings through such a part are off together, which a spread of each reading by
/// itself cannot say.
const LONG_WIRE: [(f64, f64); 2] = [(2.2, 0.2), (4.5, 0.06)];
/// From this tolerance on, as a fraction, a winding, coil or heater may be another make's, this
/// share of the tolerance to either side, natural log; and the chance of each.
pub(crate) const FAMILY_IS_WIDE: f64 = 0.3;
const OTHER_MAKE: [(f64, f64); 2] = [(-0.6, 0.12), (0.6, 0.12)];
/// One whose own value is known, or is shared with its like, may still be off it by this multiple
/// of its tolerance to either side, natural log, and be sound: plates err, and windings are
/// replaced; and the chance of each (common practice, no source).
const OFF_ITS_PLATE: [(f64, f64); 2] = [(-2.2, 0.02), (2.2, 0.02)];
/// Resistances at which two conductors touch, ohm (common practice, no source): close enough
/// together that one of them predicts all readings at once.
const TOUCHING_OHM: [f64; 6] = [0.1, 0.4, 1.2, 4.0, 12.0, 40.0];
/// Most pairs of neighbouring joints that may touch; those drawn furthest apart are left out.
const TOUCHING_MAX: usize = 40;

/// Where a fault comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Origin {
    /// The circuit lists it.
    Listed,
    /// No fault: a sound part whose value is far from the family's.
    Varies,
    /// Two conductors touch where the drawing has no path: part of what no circuit lists.
    Touches,
}

/// One fault of one part at one size.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fault {
    /// Its place among the model's faults.
    pub(crate) index: usize,
    /// The place of the first size of its mode.
    pub(crate) first_of_mode: usize,
    pub(crate) part: usize,
    pub(crate) mode: usize,
    pub(crate) effect: Effect,
    pub(crate) size: f64,
    /// Probability of this mode at this size before any reading, by the circuit file.
    pub(crate) prior: f64,
    /// What the shop's confirmed calls make of it.
    pub(crate) times: f64,
    pub(crate) component: usize,
    /// Of the other conductor where two touch; of any other fault the same.
    pub(crate) other_component: usize,
    /// The component that it condemns; none of a passing state, of what varies between sound
    /// parts, and of conductors that touch: whoever finds two looks, and parts them first.
    pub(crate) condemns: Option<usize>,
    pub(crate) passing: bool,
    pub(crate) origin: Origin,
    /// The two joints that it brings together, through `size` ohm.
    pub(crate) joins: Option<[usize; 2]>,
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
    /// By part, and for the end: the place of its first listed fault.
    listed_from: Vec<usize>,
    pub(crate) shell: Option<usize>,
    /// Spread of the unknown common scale, as a fraction; `None` where no part is scaled.
    pub(crate) scale_spread: Option<f64>,
    /// What the shop's confirmed calls make of how often nothing is wrong.
    pub(crate) sound_times: f64,
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
        // By part: its component, looked up once for all of its faults.
        let component_of: Vec<usize> =
            circuit.parts.iter().map(|part| component_index[part.component.as_str()]).collect();
        let shell = circuit.shell.as_ref().map(|shell| points[shell.as_str()]);
        let mut scale_spread: Option<f64> = None;
        let mut parts = Vec::with_capacity(circuit.parts.len());
        let mut faults = Vec::new();
        let mut listed_from = Vec::with_capacity(circuit.parts.len() + 1);
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
            let usual = match part.kind {
                PartKind::Lead | PartKind::Contact => WIRE_TOLERANCE_PCT,
                _ => TOLERANCE_PCT_DEFAULT,
            };
            let family = part.tolerance_pct.unwrap_or(usual) / 100.0;
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
            let ends = part
                .between
                .as_ref()
                .map(|ends| [points[ends[0].as_str()], points[ends[1].as_str()]]);
            parts.push(PartValues {
                kind: part.kind,
                ends,
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
            listed_from.push(faults.len());
            for (mode_index, mode) in part.modes.iter().enumerate() {
                let sizes: &[f64] = if mode.sizes.is_empty() { &[0.0] } else { &mode.sizes };
                let first_of_mode = faults.len();
                for &size in sizes {
                    faults.push(Fault {
                        index: faults.len(),
                        first_of_mode,
                        part: index,
                        mode: mode_index,
                        effect: mode.effect,
                        size,
                        prior: mode.prior / sizes.len() as f64,
                        times: 1.0,
                        component: component_of[index],
                        other_component: component_of[index],
                        condemns: (!mode.passing).then_some(component_of[index]),
                        passing: mode.passing,
                        origin: Origin::Listed,
                        joins: ends
                            .zip(shell)
                            .filter(|_| mode.effect == Effect::ToShell)
                            .map(|([_, end], shell)| [end, shell]),
                    });
                }
            }
        }
        listed_from.push(faults.len());
        vary(circuit, specs, &parts, &component_of, &mut faults);
        touch(circuit, &parts, &component_of, &mut faults);
        let opens = circuit
            .connectors
            .iter()
            .map(|connector| connector.opens.iter().map(|id| part_index[id.as_str()]).collect())
            .collect();
        Model {
            circuit,
            parts,
            faults,
            listed_from,
            shell,
            scale_spread,
            sound_times: 1.0,
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

    /// The same with what the shop's confirmed calls say of the faults.
    pub(crate) fn with_rates(mut self, rates: Option<&Rates>) -> Self {
        let times = Times::of(rates);
        let of_each: Vec<f64> = (self.faults.iter())
            .map(|fault| match fault.origin {
                Origin::Listed => times.fault(&self, fault),
                Origin::Varies => times.nothing_wrong(),
                Origin::Touches => 1.0,
            })
            .collect();
        self.faults.iter_mut().zip(of_each).for_each(|(fault, times)| fault.times = times);
        self.sound_times = times.nothing_wrong();
        self
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

    /// The faults that the circuit lists.
    pub(crate) fn listed(&self) -> impl Iterator<Item = &Fault> {
        self.faults.iter().filter(|fault| fault.origin == Origin::Listed)
    }

    /// Those of one part, in the order of its modes.
    pub(crate) fn listed_of(&self, part: usize) -> &[Fault] {
        &self.faults[self.listed_from[part]..self.listed_from[part + 1]]
    }

    /// "run winding open".
    pub(crate) fn fault_label(&self, fault: &Fault) -> String {
        let part = &self.circuit.parts[fault.part];
        match fault.origin {
            // Joined at once: asked for every mode that is excluded.
            Origin::Listed => [&*part.label, &part.modes[fault.mode].label].join(" "),
            Origin::Varies => format!("{} sound, off the usual value", part.label),
            Origin::Touches => format!("{} touching another", part.label),
        }
    }

    /// "part.mode".
    pub(crate) fn fault_key(&self, fault: &Fault) -> String {
        let part = &self.circuit.parts[fault.part];
        match fault.origin {
            Origin::Listed => format!("{}.{}", part.id, part.modes[fault.mode].id),
            Origin::Varies => format!("{}/off", part.id),
            Origin::Touches => format!("{}/touching", part.id),
        }
    }
}

/// Adds the sound parts that are far off the family's value.
fn vary(
    circuit: &Circuit,
    specs: &BTreeMap<String, Spec>,
    parts: &[PartValues],
    component_of: &[usize],
    faults: &mut Vec<Fault>,
) {
    for (index, part) in parts.iter().enumerate() {
        let spec = &circuit.parts[index];
        let factors = match part.kind {
            PartKind::Lead if spec.tolerance_pct.is_none() => LONG_WIRE,
            // One whose own value is known, or is shared with its like, is not a guess.
            PartKind::Winding | PartKind::Coil | PartKind::Heater
                if !part.scaled
                    && !specs.contains_key(&spec.id)
                    && part.tolerance >= FAMILY_IS_WIDE =>
            {
                OTHER_MAKE.map(|(share, chance)| ((share * part.tolerance).exp(), chance))
            }
            PartKind::Winding | PartKind::Coil | PartKind::Heater
                if part.scaled || specs.contains_key(&spec.id) =>
            {
                OFF_ITS_PLATE.map(|(times, chance)| ((times * part.tolerance).exp(), chance))
            }
            _ => continue,
        };
        if part.ohm <= 0.0 || part.ends.is_none() {
            continue;
        }
        let first_of_mode = faults.len();
        for (size, prior) in factors {
            faults.push(Fault {
                index: faults.len(),
                first_of_mode,
                part: index,
                mode: spec.modes.len(),
                effect: Effect::Fraction,
                size,
                prior,
                times: 1.0,
                component: component_of[index],
                other_component: component_of[index],
                condemns: None,
                passing: false,
                origin: Origin::Varies,
                joins: None,
            });
        }
    }
}

/// Adds the neighbouring ends of leads that may touch. They come last, which the posterior counts on.
fn touch(circuit: &Circuit, parts: &[PartValues], component_of: &[usize], faults: &mut Vec<Fault>) {
    let mut ends: Vec<(usize, usize)> = Vec::new();
    for (index, part) in parts.iter().enumerate().filter(|(_, p)| p.kind == PartKind::Lead) {
        for end in part.ends.into_iter().flatten() {
            if !ends.iter().any(|(known, _)| *known == end) {
                ends.push((end, index));
            }
        }
    }
    ends.sort_unstable();
    let is_wire = |part: &&PartValues| matches!(part.kind, PartKind::Lead | PartKind::Contact);
    let wires: Vec<[usize; 2]> = parts.iter().filter(is_wire).filter_map(|p| p.ends).collect();
    let mut pairs: Vec<(f64, [usize; 2], [usize; 2])> = Vec::new();
    for (place, &(a, part)) in ends.iter().enumerate() {
        for &(b, other) in &ends[place + 1..] {
            let (from, to) = (&circuit.points[a], &circuit.points[b]);
            let joined = || wires.iter().any(|&ends| ends == [a, b] || ends == [b, a]);
            if from.place.is_some() && from.place == to.place && !joined() {
                let apart = (from.at[0] - to.at[0]).hypot(from.at[1] - to.at[1]);
                pairs.push((apart, [a, b], [part, other]));
            }
        }
    }
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    pairs.truncate(TOUCHING_MAX);
    let count = (pairs.len() * TOUCHING_OHM.len()).max(1) as f64;
    for (_, joins, leads) in pairs {
        let first_of_mode = faults.len();
        let part = leads[0];
        let [owner, other_owner] = leads.map(|lead| component_of[lead]);
        for size in TOUCHING_OHM {
            faults.push(Fault {
                index: faults.len(),
                first_of_mode,
                part,
                mode: circuit.parts[part].modes.len() + 1,
                effect: Effect::ToShell,
                size,
                prior: 1.0 / count,
                times: 1.0,
                component: owner,
                other_component: other_owner,
                condemns: None,
                passing: false,
                origin: Origin::Touches,
                joins: Some(joins),
            });
        }
    }
}
