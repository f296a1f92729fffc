//! The powered truth against closed forms.
//!
//! Belongs here: one small motor whose volts and amps can be had with a pencil. Does not belong
//! here: the trial's circuits.

use super::*;

const MOTOR: &str = r#"
format = 1
name = "motor"
title = "Motor that proves its draft"
about = "Of the test's own making."
shell = "FRAME"
hertz = 50
places = [{ id = "box", label = "box", minutes = 1 }]
points = [
  { id = "L", label = "line", place = "box", at = [0, 0] },
  { id = "N", label = "neutral", place = "box", at = [0, 4] },
  { id = "M", label = "motor", place = "box", at = [4, 0] },
  { id = "P", label = "proved", place = "box", at = [8, 0] },
  { id = "FRAME", label = "frame", place = "box", at = [8, 4] },
]
components = [
  { id = "fan", label = "fan" },
  { id = "rest", label = "the rest" },
]
states = [
  { id = "still", label = "commanded, not turning", energised = ["mains"] },
  { id = "running", label = "commanded, running", energised = ["mains"], turning = ["winding"] },
]
[[parts]]
id = "mains"
label = "mains"
component = "rest"
kind = "source"
between = ["L", "N"]
volt = 120
source_ohm = 0.5
modes = [{ id = "missing", label = "missing", effect = "source_fraction", prior = 0.03, sizes = [0.0] }]
[[parts]]
id = "lead"
label = "lead"
component = "rest"
kind = "lead"
between = ["L", "M"]
ohm = 0.5
modes = [{ id = "open", label = "open", effect = "open", prior = 0.03 }]
[[parts]]
id = "winding"
label = "winding"
component = "fan"
kind = "winding"
between = ["M", "N"]
ohm = 2
still = { ohm = 2, reactance_ohm = 4 }
turning = { ohm = 29, reactance_ohm = 40 }
modes = [{ id = "open", label = "open", effect = "open", prior = 0.03 }]
[[parts]]
id = "wheel"
label = "wheel"
component = "fan"
kind = "mechanism"
modes = [{ id = "seized", label = "seized", effect = "mechanical", prior = 0.03 }]
[[parts]]
id = "draft"
label = "draft switch"
component = "rest"
kind = "switch"
between = ["M", "P"]
ohm = 0.01
normally = "open"
driven_by = "winding"
pull_in_volt = 80
modes = [{ id = "open", label = "open", effect = "open", prior = 0.03 }]
"#;

struct Bench {
    wiring: Wiring,
    states: States,
    torques: Torques,
}

impl Bench {
    fn new() -> Self {
        let circuit = engine::circuit_file::parse("motor.toml", MOTOR).expect("a circuit");
        let (mut wiring, states) = (Wiring::nominal(&circuit), States::of(&circuit));
        // Ten megohm's worth beside the line, and nothing else.
        wiring.stray = vec![(0, 3, 3.0e-10)];
        assert_eq!(states.commands.len(), 1, "still or running is not for the caller to choose");
        let torques = torques(&wiring, &states).expect("ngspice answers");
        Bench { wiring, states, torques }
    }

    fn want(faults: &[(usize, Effect)]) -> Want {
        let faults = faults.iter().map(|&(part, effect)| TrueFault { part, effect, size: 0.0 });
        Want { faults: faults.collect(), celsius: 25.0, command: 0 }
    }

    fn net(&self, want: &Want) -> Net {
        let nets = settled(&self.wiring, &self.states, std::slice::from_ref(want), &self.torques);
        nets.expect("ngspice answers").remove(0)
    }

    fn shows(&self, net: &Net, what: What, ends: [usize; 2]) -> Option<f64> {
        net.shows(&self.wiring, &Ask::live(what, ends, Some(0)))
    }
}

fn near(seen: Option<f64>, expected: f64) {
    let seen = seen.expect("a path");
    assert!((seen - expected).abs() <= 1e-6 * expected.max(100.0), "{seen} against {expected}");
}

#[test]
fn a_sound_motor_turns_and_proves_its_draft_and_a_seized_one_draws_locked_amps() {
    let bench = Bench::new();

    let sound = bench.net(&Bench::want(&[]));
    assert!(sound.turning());
    // 120 V over 30 + 40j ohm.
    near(bench.shows(&sound, What::Amps, [0, 2]), 120.0 / 50.0);
    near(bench.shows(&sound, What::Volts, [2, 1]), 2.4 * f64::hypot(29.0, 40.0));
    near(bench.shows(&sound, What::Volts, [2, 3]), 0.0);

    let seized = bench.net(&Bench::want(&[(3, Effect::Mechanical)]));
    assert!(!seized.turning());
    // 120 V over 3 + 4j ohm; the switch stays open, so nothing joins its ends.
    near(bench.shows(&seized, What::Amps, [0, 2]), 24.0);
    assert_eq!(bench.shows(&seized, What::Volts, [2, 3]), None);
}

#[test]
fn an_open_lead_shows_a_ghost_to_a_meter_that_draws_nothing() {
    let bench = Bench::new();
    let want = Bench::want(&[(1, Effect::Open), (2, Effect::Open)]);
    let net = bench.net(&want);
    let ask = Ask::live(What::Volts, [3, 1], Some(0));
    let metered = |ohm: f64| {
        metered(&bench.wiring, &bench.states, &want, &net, &ask, ohm).expect("ngspice answers")
    };

    assert_eq!(net.shows(&bench.wiring, &ask), None, "the meter decides");
    // A divider of 300 pF and the meter.
    let reactance = 1.0 / (std::f64::consts::TAU * 50.0 * 3.0e-10);
    let expected = |ohm: f64| 120.0 * ohm / ohm.hypot(reactance);
    assert!((metered(1e7) / expected(1e7) - 1.0).abs() < 1e-3, "{}", metered(1e7));
    assert!(metered(1e7) > 80.0 && metered(3e3) < 0.1, "{}", metered(3e3));
}

#[test]
fn with_the_supply_missing_all_is_dead() {
    let bench = Bench::new();
    let mut want = Bench::want(&[(0, Effect::SourceFraction)]);
    want.faults[0].size = 0.0;
    let net = bench.net(&want);

    assert!(!net.turning());
    assert!(bench.shows(&net, What::Volts, [0, 1]).expect("dead is a value") < 1e-3);
}

fn shipped(name: &str) -> (engine::circuit::Circuit, Bench) {
    let shipped = engine::circuit_file::shipped();
    let text = &shipped.iter().find(|known| known.name == name).expect("it ships").text;
    let circuit = engine::circuit_file::parse(name, text).expect("a circuit");
    let (wiring, states) = (Wiring::nominal(&circuit), States::of(&circuit));
    let torques = torques(&wiring, &states).expect("ngspice answers");
    (circuit, Bench { wiring, states, torques })
}

#[test]
fn a_turning_compressor_opens_its_start_relay_unless_the_relays_coil_is_dead() {
    let (circuit, bench) = shipped("compressor-1ph-start-relay");
    let part = |id: &str| circuit.parts.iter().position(|part| part.id == id).expect("a part");
    let net = |fault: Option<(&str, Effect)>| {
        let faults: Vec<_> = fault.into_iter().map(|(id, effect)| (part(id), effect)).collect();
        bench.net(&Bench::want(&faults))
    };

    let sound = net(None);
    assert!(sound.turning() && !sound.closed[part("relay_contact")]);
    let dead_coil = net(Some(("relay_coil", Effect::Open)));
    assert!(dead_coil.turning() && dead_coil.closed[part("relay_contact")]);
    let no_relay = net(Some(("relay_contact", Effect::Open)));
    assert!(!no_relay.turning(), "without the start capacitor there is no torque");
    let noted = |turning| bench.states.noted(&circuit, 0, turning).map(|s| &circuit.states[s].id);
    assert_eq!(noted(false).map(String::as_str), Some("calling_still"));
    assert_eq!(noted(true).map(String::as_str), Some("calling_running"));
}

#[test]
fn a_module_turns_its_motor_with_line_and_call_only() {
    let (circuit, bench) = shipped("blower-ecm");
    let part = |id: &str| circuit.parts.iter().position(|part| part.id == id).expect("a part");
    let turns = |fault: Option<(&str, Effect)>, command: usize| {
        let faults: Vec<_> = fault.into_iter().map(|(id, effect)| (part(id), effect)).collect();
        bench.net(&Want { command, ..Bench::want(&faults) }).turning()
    };

    assert!(turns(None, 0));
    assert!(!turns(None, 1), "standing by");
    assert!(!turns(Some(("stage", Effect::Mechanical)), 0));
    assert!(!turns(Some(("wire_t", Effect::Open)), 0));
    assert_eq!(bench.states.noted(&circuit, 0, true), None, "\"not turning\" cannot be had");
}
