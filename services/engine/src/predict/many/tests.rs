//! Predictions by the many against predictions one by one, on the circuits that ship.

use std::collections::BTreeMap;

use super::*;
use crate::circuit::PartKind;
use crate::circuit_file;
use crate::likelihood::reachable;

/// Readings of every kind that a circuit allows, in a few conditions.
fn setups(model: &Model<'_>) -> Vec<Setup> {
    let points = model.circuit.points.len();
    let mut setups = Vec::new();
    let lifted_sets =
        std::iter::once(Vec::new()).chain((0..model.opens.len()).map(|connector| vec![connector]));
    for lifted in lifted_sets {
        let reached: Vec<usize> =
            (0..points).filter(|&point| reachable(model, point, &lifted)).collect();
        for (place, pair) in reached.windows(2).enumerate() {
            let quantity = if Some(pair[1]) == model.shell {
                Quantity::Insulation
            } else {
                Quantity::Resistance
            };
            let setup =
                Setup { lifted: lifted.clone(), ..Setup::between(quantity, pair[0], pair[1]) };
            let part_temp_c = (place % 2 == 1).then_some(60.0);
            setups.push(Setup { part_temp_c, ..setup.clone() });
            setups.push(Setup { from: reached[0], ..setup });
        }
        for part in model.parts.iter().filter(|part| part.kind == PartKind::Capacitor) {
            let Some([from, to]) = part.ends else {
                continue;
            };
            setups.push(Setup {
                lifted: lifted.clone(),
                ..Setup::between(Quantity::Capacitance, from, to)
            });
        }
    }
    for state in 0..model.states.all.len() {
        for (index, part) in model.parts.iter().enumerate() {
            let Some([from, to]) = part.ends else {
                continue;
            };
            let volts = Setup { state: Some(state), ..Setup::between(Quantity::Voltage, from, to) };
            setups.push(Setup { low_impedance: index % 5 == 0, ..volts.clone() });
            setups.push(Setup { quantity: Quantity::Current, ..volts });
        }
    }
    setups
}

/// Every single fault, and a spread of doubles.
fn suppositions<'m>(model: &'m Model<'_>) -> Vec<Vec<&'m Fault>> {
    let faults = &model.faults;
    let mut all: Vec<Vec<&Fault>> = vec![Vec::new()];
    all.extend(faults.iter().map(|fault| vec![fault]));
    for (first, fault) in faults.iter().enumerate() {
        for second in (first + 1..faults.len()).step_by(7) {
            if faults[second].part != fault.part {
                all.push(vec![fault, &faults[second]]);
            }
        }
    }
    all
}

/// Within a billionth; under power within a millionth of a volt or ampere besides, which is the
/// rounding of the one by one where a sum of phasors is nothing.
fn agree(setup: &Setup, one: Predicted, many: Predicted) -> bool {
    let nothing = if setup.quantity.needs_power() { 1e-6 } else { 0.0 };
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-9 * a.abs().max(b.abs()) + nothing;
    match (one, many) {
        (Predicted::Value(a), Predicted::Value(b)) => close(a, b),
        (Predicted::Ghost { up_to: a }, Predicted::Ghost { up_to: b }) => close(a, b),
        (a, b) => a == b,
    }
}

#[test]
fn the_many_agree_with_the_one_on_every_shipped_circuit() {
    let mut compared = 0;
    for shipped in circuit_file::shipped() {
        let circuit = circuit_file::parse(shipped.name, shipped.text).expect("it ships");
        let model = Model::new(&circuit, &BTreeMap::new());
        let setups = setups(&model);
        let all = suppositions(&model);
        let supposed: Vec<Supposed<'_>> = all.iter().map(|faults| Supposed::of(faults)).collect();
        let of: Vec<&Setup> = setups.iter().collect();
        let mut work = Work::default();
        let many = predict_many(&model, &of, &supposed, 1.07, &mut work);
        for (index, setup) in setups.iter().enumerate() {
            // A stride that is prime to the others' keeps this within seconds.
            for place in (index % 5..all.len()).step_by(5) {
                let one = predict(&model, setup, &all[place], 1.07);
                assert!(
                    agree(setup, one, many.of(index)[place]),
                    "{}: {setup:?} under {:?}: {one:?} and {:?}",
                    shipped.name,
                    all[place],
                    many.of(index)[place]
                );
                compared += 1;
            }
        }
    }
    assert!(compared > 100_000, "{compared}");
}
