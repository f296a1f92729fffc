//! Direct volts: a link that a rectifier charges and a bleeder empties.
//!
//! Belongs here: what a capacitor between two points is charged to while the supply is on, and
//! what may be left of that once it is off. Does not belong here: alternating volts
//! ([`crate::powered`]) and the diode test ([`crate::diode`]).
//!
//! A link capacitor holds the peak: √2 times the supply's effective volts, less the drops of the
//! diodes on the way there and back, whichever half wave finds a way. What shorts the supply
//! opens its fuse or breaker, and the link stays empty. Between any two other points the model
//! says nothing.

use std::f64::consts::{PI, SQRT_2};

use crate::circuit::{Effect, PartKind, Rest};
use crate::model::{Fault, Model, PartValues};
use crate::network::Network;
use crate::predict::{Predicted, Setup};

/// A way from one end of the supply to the other under this opens what protects it, ohm (common
/// practice, no source).
const SHORT_OHM: f64 = 5.0;
/// What a conducting diode counts as on such a way, ohm.
const DIODE_OHM: f64 = 0.02;
/// A link through more than this is not charged in time, ohm (common practice, no source).
const CHARGES_OHM: f64 = 1e5;

/// Whether two points are those of a link: a capacitor between them, each reached by diodes.
pub(crate) fn is_link(model: &Model<'_>, a: usize, b: usize) -> bool {
    let by_diode = |point: usize| {
        model.parts.iter().any(|part| {
            part.kind == PartKind::Diode && part.ends.is_some_and(|ends| ends.contains(&point))
        })
    };
    capacitors(&model.parts, a, b).next().is_some() && by_diode(a) && by_diode(b)
}

/// Whether any two points of a circuit are those of a link.
pub(crate) fn links<'m>(model: &'m Model<'_>) -> impl Iterator<Item = [usize; 2]> + use<'m> {
    model
        .parts
        .iter()
        .filter(|part| part.kind == PartKind::Capacitor)
        .filter_map(|part| part.ends)
        .filter(|[a, b]| is_link(model, *a, *b))
}

fn capacitors(parts: &[PartValues], a: usize, b: usize) -> impl Iterator<Item = usize> + use<'_> {
    parts.iter().enumerate().filter_map(move |(index, part)| {
        let between = part.ends == Some([a, b]) || part.ends == Some([b, a]);
        (part.kind == PartKind::Capacitor && between).then_some(index)
    })
}

/// What a sound meter on direct volts shows, with `parts` in place of the model's own. With the
/// supply on (`setup.state`) a value; with it off anything up to what may be left.
pub(crate) fn predict(
    model: &Model<'_>,
    parts: &[PartValues],
    setup: &Setup,
    faults: &[&Fault],
) -> Predicted {
    if !is_link(model, setup.from, setup.to) {
        return Predicted::Nothing;
    }
    let charged = charged_volt(model, parts, setup, faults);
    if setup.state.is_some() {
        return Predicted::Value(charged);
    }
    let up_to = charged * left_share(model, parts, setup, faults);
    if up_to > 0.0 { Predicted::Ghost { up_to } } else { Predicted::Value(0.0) }
}

/// Volts to which the supply charges the link.
fn charged_volt(model: &Model<'_>, parts: &[PartValues], setup: &Setup, faults: &[&Fault]) -> f64 {
    let ways = Ways::of(model, parts, setup, faults);
    let state = &model.states.all[setup.state.unwrap_or(0)];
    let holds = capacitors(parts, setup.from, setup.to).any(|part| {
        !of(part, faults).any(|fault| match fault.effect {
            Effect::Open => true,
            Effect::Fraction => fault.size == 0.0,
            _ => false,
        })
    });
    let mut charged: f64 = 0.0;
    for (index, part) in parts.iter().enumerate() {
        let (PartKind::Source, Some([a, b])) = (part.kind, part.ends) else { continue };
        if !state.is_energised(index) {
            continue;
        }
        let shares = of(index, faults)
            .filter(|fault| fault.effect == Effect::SourceFraction)
            .map(|fault| fault.size);
        let volt = part.volt * shares.product::<f64>();
        // Each half wave drives the other way round.
        let halves: Vec<f64> = [(a, b), (b, a)]
            .into_iter()
            .filter_map(|(plus, minus)| {
                if ways.least(plus, minus, |way| way.ohm) < SHORT_OHM {
                    return Some(0.0);
                }
                // The link's ends either way round: which is its plus is the file's business.
                [(setup.from, setup.to), (setup.to, setup.from)]
                    .into_iter()
                    .filter(|&(to, from)| {
                        ways.least(plus, to, |way| way.ohm) + ways.least(from, minus, |way| way.ohm)
                            < CHARGES_OHM
                    })
                    .map(|(to, from)| {
                        let lost = ways.least(plus, to, |way| way.volt)
                            + ways.least(from, minus, |way| way.volt);
                        (volt * SQRT_2 - lost).max(0.0)
                    })
                    .max_by(f64::total_cmp)
            })
            .collect();
        // One half wave that shorts the supply opens what protects both.
        let shorted = halves.contains(&0.0);
        let peak = if shorted { 0.0 } else { halves.iter().copied().fold(0.0, f64::max) };
        // Without a capacitor a meter shows the mean of what comes: a half wave's is 1/π of its
        // peak.
        let share = if holds { 1.0 } else { halves.len() as f64 / PI };
        charged = charged.max(peak * share);
    }
    charged
}

/// The most that may be left of the charge after the time since the supply went off: what the
/// bleeder alone leaves, both it and the capacitor at the slow end of their tolerances. The
/// drive's own supply empties the link sooner.
fn left_share(model: &Model<'_>, parts: &[PartValues], setup: &Setup, faults: &[&Fault]) -> f64 {
    let Some(minutes) = setup.stopped_min else { return 1.0 };
    let mut network = Network::new(model.circuit.points.len());
    let mut slow = 1.0;
    for (index, part) in parts.iter().enumerate() {
        let Some([a, b]) = part.ends else { continue };
        if lifted(model, setup, index)
            || matches!(part.kind, PartKind::Diode | PartKind::Source | PartKind::Mechanism)
        {
            continue;
        }
        if let Some(ohm) = ohm(part, of(index, faults), model, setup, index) {
            network.join(a, b, ohm);
            if a == setup.from && b == setup.to || a == setup.to && b == setup.from {
                slow = 1.0 + part.tolerance;
            }
        }
    }
    let Some(ohm) = network.resistance_ohm(setup.from, setup.to) else { return 1.0 };
    let farad: f64 = capacitors(parts, setup.from, setup.to)
        .map(|part| 1e-6 * parts[part].microfarad * (1.0 + parts[part].tolerance))
        .sum();
    (-60.0 * minutes / (ohm * slow * farad)).exp()
}

/// One joining: what a current that is driven through it loses.
struct Way {
    from: usize,
    to: usize,
    volt: f64,
    ohm: f64,
}

/// Every joining of the network for a current that flows one way.
struct Ways {
    joints: usize,
    all: Vec<Way>,
}

impl Ways {
    fn of(model: &Model<'_>, parts: &[PartValues], setup: &Setup, faults: &[&Fault]) -> Self {
        let mut all = Vec::new();
        for (index, part) in parts.iter().enumerate() {
            let Some([a, b]) = part.ends else { continue };
            if lifted(model, setup, index) || part.kind == PartKind::Source {
                continue;
            }
            let shorted = of(index, faults).any(|fault| fault.effect == Effect::Series);
            if part.kind == PartKind::Diode && !shorted {
                if !of(index, faults).any(|fault| fault.effect == Effect::Open) {
                    all.push(Way { from: a, to: b, volt: part.drop_volt, ohm: DIODE_OHM });
                }
            } else if let Some(ohm) = ohm(part, of(index, faults), model, setup, index) {
                all.extend([(a, b), (b, a)].map(|(from, to)| Way { from, to, volt: 0.0, ohm }));
            }
        }
        Ways { joints: model.circuit.points.len(), all }
    }

    /// The least that is lost from one point to another; without bound where nothing leads there.
    fn least(&self, from: usize, to: usize, of: fn(&Way) -> f64) -> f64 {
        let mut lost = vec![f64::INFINITY; self.joints];
        lost[from] = 0.0;
        for _ in 0..self.joints {
            let mut settled = true;
            for way in &self.all {
                let through = lost[way.from] + of(way);
                if through < lost[way.to] - 1e-12 {
                    lost[way.to] = through;
                    settled = false;
                }
            }
            if settled {
                break;
            }
        }
        lost[to]
    }
}

/// Direct resistance of a part under its faults; `None` where it lets nothing through.
fn ohm<'f>(
    part: &PartValues,
    faults: impl Iterator<Item = &'f Fault>,
    model: &Model<'_>,
    setup: &Setup,
    index: usize,
) -> Option<f64> {
    let at_rest = part.rest == Rest::Closed;
    let closed = match setup.state {
        Some(state) => model.states.all[state].closed(index).unwrap_or(at_rest),
        None => at_rest,
    };
    let mut ohm = match part.kind {
        PartKind::Capacitor | PartKind::Mechanism | PartKind::Source | PartKind::Diode => None,
        PartKind::Switch => closed.then_some(part.ohm),
        _ => Some(part.ohm),
    };
    for fault in faults {
        ohm = match (fault.effect, part.kind) {
            (Effect::Open | Effect::OpenHot, _) => None,
            (Effect::Series, PartKind::Capacitor | PartKind::Diode) => Some(fault.size),
            (Effect::Series, _) => ohm.map(|ohm| ohm + fault.size),
            (Effect::StuckClosed, _) => Some(part.ohm),
            (Effect::Fraction, kind) if kind != PartKind::Capacitor => {
                ohm.map(|ohm| (ohm * fault.size).max(1e-4))
            }
            _ => ohm,
        };
    }
    ohm
}

fn lifted(model: &Model<'_>, setup: &Setup, part: usize) -> bool {
    setup.lifted.iter().any(|&connector| model.opens[connector].contains(&part))
}

fn of<'f>(part: usize, faults: &'f [&'f Fault]) -> impl Iterator<Item = &'f Fault> + use<'f> {
    faults.iter().copied().filter(move |fault| fault.part == part)
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::circuit::Circuit;
    use crate::circuit_file;
    use crate::units::Quantity;

    fn inverter() -> Circuit {
        let shipped = circuit_file::shipped();
        let known = shipped.iter().find(|known| known.name == "compressor-inverter").unwrap();
        circuit_file::parse(known.name, known.text).unwrap()
    }

    fn link(faults: &[(&str, &str)], state: Option<usize>, minutes: Option<f64>) -> Predicted {
        let circuit = inverter();
        let model = Model::new(&circuit, &BTreeMap::new());
        let faults: Vec<&Fault> = faults
            .iter()
            .map(|fault| {
                let (part, mode) = fault;
                model
                    .faults
                    .iter()
                    .find(|known| model.fault_key(known) == format!("{part}.{mode}"))
                    .unwrap()
            })
            .collect();
        let setup = Setup {
            state,
            stopped_min: minutes,
            ..Setup::between(Quantity::DirectVoltage, model.point("P"), model.point("N"))
        };
        predict(&model, &model.parts, &setup, &faults)
    }

    fn on(faults: &[(&str, &str)]) -> f64 {
        match link(faults, Some(0), None) {
            Predicted::Value(volt) => volt,
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn the_link_holds_the_peak_of_the_supply_less_two_diodes() {
        // √2·240 V = 339.4 V (the peak of a sine); two drops of 0.5 V.
        assert!((on(&[]) - 338.4).abs() < 0.1, "{}", on(&[]));
        // One diode open: the other half wave charges it all the same.
        assert!((on(&[("rect_1p", "open")]) - 338.4).abs() < 0.1);
        // Both upper diodes open, the fuse blown, the reactor open: nothing arrives.
        assert_eq!(on(&[("rect_1p", "open"), ("rect_2p", "open")]), 0.0);
        assert_eq!(on(&[("fuse", "blown")]), 0.0);
        assert_eq!(on(&[("reactor", "open")]), 0.0);
        // A short behind the fuse opens it.
        assert_eq!(on(&[("rect_1p", "shorted")]), 0.0);
        assert_eq!(on(&[("link", "shorted")]), 0.0);
        // One shorted transistor closes no ring by itself; two of one leg do.
        assert!(on(&[("u_up", "shorted")]) > 300.0);
        assert_eq!(on(&[("u_up", "shorted"), ("u_low", "shorted")]), 0.0);
        assert!((on(&[("supply_volts", "low")]) - (0.8 * 339.4 - 1.0)).abs() < 0.1);
    }

    #[test]
    fn the_bleeder_leaves_what_its_time_constant_says_and_no_clock_is_believed() {
        let up_to = |faults: &[(&str, &str)], minutes| match link(faults, None, minutes) {
            Predicted::Ghost { up_to } => up_to,
            other => panic!("{other:?}"),
        };
        assert!((up_to(&[], None) - 338.4).abs() < 0.1, "without a time all of it may be left");
        // 130 kilohm and 1,800 µF are 234 s; e^(−300/234) of 338.4 V are 93.9 V.
        assert!((up_to(&[], Some(5.0)) - 93.9).abs() < 0.2, "{}", up_to(&[], Some(5.0)));
        assert!((up_to(&[("bleeder", "open")], Some(60.0)) - 338.4).abs() < 0.1);
        assert_eq!(link(&[("fuse", "blown")], None, Some(5.0)), Predicted::Value(0.0));
    }

    #[test]
    fn between_other_points_the_model_says_nothing() {
        let circuit = inverter();
        let model = Model::new(&circuit, &BTreeMap::new());
        let setup = Setup {
            state: Some(0),
            ..Setup::between(Quantity::DirectVoltage, model.point("U"), model.point("N"))
        };
        assert_eq!(predict(&model, &model.parts, &setup, &[]), Predicted::Nothing);
    }
}
