//! The circuit under power, by hand.

use std::collections::BTreeMap;

use crate::circuit::Circuit;
use crate::model::Model;
use crate::predict::{Predicted, Setup, predict};
use crate::units::Quantity;

/// 240 V over a contactor, a fused 24 V control circuit that works it, a motor behind it.
const CIRCUIT: &str = r#"
format = 1
name = "powered"
title = "Powered"
about = "For tests."
[[states]]
id = "calling"
label = "calling"
energised = ["supply"]
closed = ["thermostat"]
[[states]]
id = "running"
label = "running"
energised = ["supply"]
closed = ["thermostat"]
turning = ["motor"]
[[states]]
id = "standing_by"
label = "standing by"
energised = ["supply"]
[[places]]
id = "panel"
label = "panel"
minutes = 1
POINTS
[[components]]
id = "all"
label = "all"
PARTS
"#;

fn circuit() -> Circuit {
    let points: String = ["L1", "L2", "T1", "M", "R", "RF", "Y", "C"]
        .iter()
        .enumerate()
        .map(|(at, id)| {
            format!(
                "[[points]]\nid = \"{id}\"\nlabel = \"{id}\"\nplace = \"panel\"\nat = [{at}, 0]\n"
            )
        })
        .collect();
    let part = |id: &str, kind: &str, ends: [&str; 2], more: &str| {
        format!(
            "[[parts]]\nid = \"{id}\"\nlabel = \"{id}\"\ncomponent = \"all\"\nkind = \"{kind}\"\nbetween = [\"{}\", \"{}\"]\n{more}\n",
            ends[0], ends[1]
        )
    };
    let open = r#"modes = [{ id = "open", label = "open", effect = "open", prior = 0.01 }]"#;
    let parts = [
        part("supply", "source", ["L1", "L2"], "volt = 240\nmodes = [{ id = \"missing\", label = \"missing\", effect = \"source_fraction\", prior = 0.01, sizes = [0.0] }]"),
        part("contacts", "switch", ["L1", "T1"], "ohm = 0.01\nnormally = \"open\"\ndriven_by = \"coil\"\npull_in_volt = 18\nmodes = [{ id = \"welded\", label = \"welded\", effect = \"stuck_closed\", prior = 0.01 }, { id = \"burnt\", label = \"burnt\", effect = \"series\", prior = 0.01, sizes = [1.0] }]"),
        part("lead", "lead", ["T1", "M"], &format!("ohm = 0.01\n{open}")),
        part("motor", "winding", ["M", "L2"], &format!("ohm = 2\nstill = {{ ohm = 3, reactance_ohm = 4 }}\nturning = {{ ohm = 12, reactance_ohm = 9 }}\n{open}")),
        part("primary", "winding", ["L1", "L2"], "ohm = 40\nstill = { ohm = 40, reactance_ohm = 2000 }"),
        part("secondary", "source", ["R", "C"], "volt = 24\nfed_by = \"primary\"\nat_volt = 240\nsource_ohm = 0.5"),
        part("fuse", "fuse", ["R", "RF"], &format!("ohm = 0.02\n{open}")),
        part("thermostat", "switch", ["RF", "Y"], "ohm = 0.1\nnormally = \"open\""),
        part("coil", "coil", ["Y", "C"], &format!("ohm = 9\nstill = {{ ohm = 20, reactance_ohm = 60 }}\n{open}")),
    ]
    .concat();
    let text = CIRCUIT.replace("POINTS", &points).replace("PARTS", &parts);
    crate::circuit_file::parse("powered.toml", &text).expect("a circuit")
}

/// What is read between two points in a state with these faults ("part.mode").
fn read(quantity: Quantity, ends: [&str; 2], state: &str, faults: &[&str]) -> Predicted {
    read_by(quantity, ends, state, faults, false)
}

fn read_by(
    quantity: Quantity,
    ends: [&str; 2],
    state: &str,
    faults: &[&str],
    low_impedance: bool,
) -> Predicted {
    let circuit = circuit();
    let model = Model::new(&circuit, &BTreeMap::new());
    let faults: Vec<_> =
        model.faults.iter().filter(|f| faults.contains(&model.fault_key(f).as_str())).collect();
    let setup = Setup {
        quantity,
        from: model.point(ends[0]),
        to: model.point(ends[1]),
        lifted: Vec::new(),
        state: model.state(Some(state)),
        low_impedance,
        part_temp_c: None,
        stopped_min: None,
    };
    predict(&model, &setup, &faults, 1.0)
}

#[track_caller]
fn about(predicted: Predicted, expected: f64) {
    let Predicted::Value(value) = predicted else { panic!("{predicted:?} is not {expected}") };
    assert!((value - expected).abs() <= 0.01 * expected + 1e-9, "{value} is not {expected}");
}

#[test]
fn a_call_closes_the_contactor_through_its_own_transformer_and_the_motor_gets_its_volts() {
    about(read(Quantity::Voltage, ["M", "L2"], "calling", &[]), 240.0);
    about(read(Quantity::Voltage, ["Y", "C"], "calling", &[]), 24.0);
    about(read(Quantity::Current, ["M", "L2"], "standing_by", &[]), 0.0);
}

#[test]
fn a_locked_motor_draws_more_than_one_that_turns() {
    // 240 V over |3 + j4| = 5 Ω, and over |12 + j9| = 15 Ω.
    about(read(Quantity::Current, ["T1", "M"], "calling", &[]), 48.0);
    about(read(Quantity::Current, ["T1", "M"], "running", &[]), 16.0);
}

#[test]
fn a_blown_control_fuse_leaves_the_contactor_open_and_its_full_volts_across_it() {
    let fuse = &["fuse.open"];
    about(read(Quantity::Voltage, ["R", "C"], "calling", fuse), 24.0);
    about(read(Quantity::Voltage, ["Y", "C"], "calling", fuse), 0.0);
    about(read(Quantity::Voltage, ["L1", "T1"], "calling", fuse), 240.0);
    about(read(Quantity::Voltage, ["R", "RF"], "calling", fuse), 24.0);
}

#[test]
fn volts_with_no_amps_are_an_open_winding() {
    let open = &["motor.open"];
    about(read(Quantity::Voltage, ["L1", "L2"], "calling", open), 240.0);
    about(read(Quantity::Current, ["T1", "M"], "calling", open), 0.0);
}

#[test]
fn a_burnt_contact_loses_volts_in_proportion_to_the_amps() {
    // 16 A through 0.01 Ω; with 1 Ω more the turning motor's own 15 Ω share the volts.
    about(read(Quantity::Voltage, ["L1", "T1"], "running", &[]), 0.16);
    let (ohm, reactance) = (12.0f64 + 1.01 + 0.01 + 0.05, 9.0f64);
    let expected = 240.0 / ohm.hypot(reactance) * 1.01;
    about(read(Quantity::Voltage, ["L1", "T1"], "running", &["contacts.burnt"]), expected);
}

#[test]
fn a_lead_that_hangs_open_shows_ghost_volts_unless_the_meter_loads_it() {
    let open = &["lead.open", "motor.open"];
    let ghost = read(Quantity::Voltage, ["M", "L2"], "calling", open);
    assert_eq!(ghost, Predicted::Ghost { up_to: 240.0 });
    let loaded = read_by(Quantity::Voltage, ["M", "L2"], "calling", open, true);
    about(loaded, 0.0);
}

#[test]
fn a_missing_supply_is_dead_everywhere_and_no_short() {
    let missing = &["supply.missing"];
    about(read(Quantity::Voltage, ["L1", "L2"], "calling", missing), 0.0);
    about(read(Quantity::Voltage, ["R", "C"], "calling", missing), 0.0);
}

#[test]
fn welded_contacts_conduct_with_nothing_commanded_and_with_power_off() {
    about(read(Quantity::Voltage, ["M", "L2"], "standing_by", &["contacts.welded"]), 240.0);
    assert_ne!(
        read(Quantity::Voltage, ["M", "L2"], "standing_by", &[]),
        read(Quantity::Voltage, ["M", "L2"], "standing_by", &["contacts.welded"])
    );
}

#[test]
fn an_open_coil_pulls_nothing_though_its_volts_stand_across_it() {
    let open = &["coil.open"];
    about(read(Quantity::Voltage, ["Y", "C"], "calling", open), 24.0);
    about(read(Quantity::Voltage, ["L1", "T1"], "calling", open), 240.0);
}
