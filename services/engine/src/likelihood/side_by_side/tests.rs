//! Side by side against one by one.

use std::collections::BTreeMap;

use super::*;
use crate::circuit_file;
use crate::likelihood::MeterLimits;
use crate::model::Model;
use crate::predict::Setup;
use crate::predict::many::{Conditions, Work};
use crate::units::Unit;

#[test]
fn logarithms_are_those_of_the_library() {
    for step in -400..400 {
        let of: Lane = std::array::from_fn(|lane| {
            10f64.powf(f64::from(step) * 0.05) * (1.0 + 0.13 * lane as f64)
        });
        for (of, found) in of.iter().zip(ln(&of)) {
            let exact = of.ln();
            assert!((found - exact).abs() <= 4e-16 * exact.abs().max(0.1), "ln {of}: {found}");
        }
    }
}

#[test]
fn side_by_side_is_what_one_by_one_gives() {
    let known = circuit_file::shipped().iter().find(|known| known.name == "compressor-1ph-plug");
    let known = known.expect("it ships");
    let circuit = circuit_file::parse(known.name, known.text).expect("it ships");
    let model = Model::new(&circuit, &BTreeMap::new());
    let mistakes = Mistakes::usual(0.02);
    let setups: Vec<Setup> = [("C", "R"), ("T1", "HC"), ("C", "SHELL")]
        .into_iter()
        .flat_map(|(from, to)| {
            let lifted = model.lifted(&["plug".to_owned()]);
            let setup = |quantity| Setup {
                lifted: lifted.clone(),
                ..Setup::between(quantity, model.point(from), model.point(to))
            };
            [setup(Quantity::Resistance), setup(Quantity::Insulation)]
        })
        .collect();
    let meters = setups.iter().map(|setup| MeterLimits::of(setup.quantity, None)).collect();
    let conditions = Conditions::new(&model, setups, &mut Work::default());
    let mut predictions: Vec<(Predicted, f64)> = (-60..200)
        .flat_map(|step| {
            let value = Predicted::Value(10f64.powf(f64::from(step) * 0.06));
            [(value, 0.0), (value, 0.4), (value, 1.2)]
        })
        .collect();
    // One of them is what the sound circuit shows, under every spread.
    let unmoved = predictions[200].0;
    predictions.push((Predicted::NoPath { charging: false }, 0.0));
    predictions.insert(7, (Predicted::Value(0.0), 0.0));
    let shown = [
        Shown::OverLimit,
        Shown::Climbing,
        Shown::Value { value: 0.0, unit: Unit::Ohm },
        Shown::Value { value: 2.31, unit: Unit::Ohm },
        Shown::Value { value: 410.0, unit: Unit::Megohm },
    ];
    // A far tail is one less almost one, side by side and one by one.
    let close = |a: f64, b: f64| (a - b).abs() <= 1e-12 * a.abs().max(b.abs()) + 1e-15;
    let (mut all, mut beside) = (Vec::new(), Vec::new());
    for prepared in Prepared::many(&conditions, meters, &mut Work::default()) {
        for seen in shown.iter().map(|shown| prepared.seen(shown)) {
            let known = predictions.iter().copied();
            prepared.likelihoods(seen, unmoved, known, &mistakes, &mut all);
            prepared.all_beside(seen, predictions.iter().copied(), &mut beside);
            for ((&(predicted, spread), found), &there) in predictions.iter().zip(&all).zip(&beside)
            {
                let moved = if predicted == unmoved { 0.0 } else { spread };
                let one = prepared.likelihood(seen, predicted, moved, &mistakes);
                assert!(
                    close(one.sound, found.sound) && close(one.mistaken, found.mistaken),
                    "{predicted:?} {spread} seen as {seen:?}: {one:?} and {found:?}"
                );
                let one = prepared.beside(seen, predicted, spread);
                assert!(close(one, there), "{predicted:?} {spread}: {one} and {there} beside");
            }
        }
    }
}
