//! The engine's network solver against ngspice, a circuit simulator with which it shares
//! nothing.
//!
//! Belongs here: seeded random faulted circuits, ngspice run as a process, the comparison and
//! the proof that the comparison can fail. Does not belong here: what the circuits stand for.
//!
//! Three ways in which ngspice misleads, each with a guard here and a test of the guard:
//! it leaves with code 0 and numbers after a singular matrix ([`read_answer`] looks for its
//! words of trouble and for missing numbers); it makes 1 milliohm of a 0 ohm resistor
//! ([`netlist`] refuses to write one); it reads `1M` as one milli ([`number`] writes
//! exponents only).
//!
//! A fourth is arithmetic: 0.005 Ω and 2000 MΩ stamped as conductances into one sum leave five
//! digits of the latter, which is less than is asked here. Low resistances are therefore
//! written as branches that obey v = R·i, and everything in megohms and microamps, so that
//! ngspice too keeps its digits.

use std::fmt::Write as _;
use std::process::Command;

use blackbox::joined::Joined;
use blackbox::seeded::Seeded;
use engine::network::Network;

/// Circuits compared; the promise is at least 400.
const CIRCUITS: usize = 600;
/// Pairs of probes per circuit.
const PAIRS: usize = 4;
/// Largest relative difference allowed.
const DIFFERENCE_MAX: f64 = 1e-6;
/// Circuits per ngspice process; more make its pivoting slow.
const PER_PROCESS: usize = 10;
/// From here up a resistor is written as a resistor, ohm; below as a branch.
const BRANCH_BELOW_OHM: f64 = 1e5;
/// ngspice's answer above this is "no path", ohm.
const NO_PATH_OHM: f64 = 1e16;

/// A resistor between two joints.
#[derive(Clone, Copy, Debug)]
struct Resistor {
    a: usize,
    b: usize,
    ohm: f64,
}

/// A faulted circuit and the pairs of joints it is read between.
struct Drawn {
    joints: usize,
    resistors: Vec<Resistor>,
    probes: Vec<(usize, usize)>,
    faults: usize,
    islands: usize,
}

/// Joint 0 is the shell.
const SHELL: usize = 0;

/// A circuit that looks like ours: islands of contacts, leads and windings that float from
/// the shell through insulation, with one or two faults.
fn drawn(random: &mut Seeded) -> Drawn {
    let joints = 6 + random.below(25);
    let islands = 1 + random.below(3);
    let island_of = |joint: usize| joint % islands;
    let mut parts = Vec::new();
    let mut leaks = Vec::new();
    for joint in 1..joints {
        let before: Vec<usize> =
            (1..joint).filter(|&other| island_of(other) == island_of(joint)).collect();
        if before.is_empty() {
            continue;
        }
        let near =
            if random.chance(0.6) { before[before.len() - 1] } else { random.one_of(&before) };
        parts.push(Resistor { a: near, b: joint, ohm: part_ohm(random) });
        if random.chance(0.2) {
            parts.push(Resistor { a: random.one_of(&before), b: joint, ohm: part_ohm(random) });
        }
    }
    let insulated = random.chance(0.85);
    for part in &parts {
        // Some islands have no insulation that anyone knows of: those read over limit.
        if insulated && random.chance(0.5) {
            let ohm = 2.0 * random.decades(100e6, 2000e6);
            leaks.push(Resistor { a: part.a, b: SHELL, ohm });
            leaks.push(Resistor { a: part.b, b: SHELL, ohm });
        }
    }
    let faults = 1 + random.below(2);
    for _ in 0..faults {
        let place = random.below(parts.len());
        match random.below(4) {
            0 => {
                parts.remove(place);
                if parts.is_empty() {
                    break;
                }
            }
            1 => parts[place].ohm = (parts[place].ohm * random.one_of(&[0.8, 0.55, 0.2])).max(1e-4),
            2 => parts[place].ohm += random.one_of(&[1.0, 10.0, 300.0]),
            _ => leaks.push(Resistor {
                a: parts[place].b,
                b: SHELL,
                ohm: random.one_of(&[1.0, 1e3, 3e4, 6e5]),
            }),
        }
    }
    let mut probes = Vec::new();
    while probes.len() < PAIRS {
        // One pair in four goes to the shell, the others anywhere.
        let a = 1 + random.below(joints - 1);
        let b = if probes.is_empty() { SHELL } else { random.below(joints) };
        if a != b {
            probes.push((a, b));
        }
    }
    parts.extend(leaks);
    Drawn { joints, resistors: parts, probes, faults, islands }
}

fn part_ohm(random: &mut Seeded) -> f64 {
    match random.below(3) {
        0 => 0.005,
        1 => random.decades(0.005, 0.03),
        _ => random.decades(0.3, 60.0),
    }
}

fn ours(circuit: &Drawn, a: usize, b: usize) -> Option<f64> {
    let mut network = Network::new(circuit.joints);
    for resistor in &circuit.resistors {
        network.join(resistor.a, resistor.b, resistor.ohm);
    }
    network.resistance_ohm(a, b)
}

/// A number as ngspice cannot misread it: `1M` would be one milli, so no suffix is ever used.
fn number(value: f64) -> String {
    format!("{value:.17e}")
}

/// One way of measuring: 1 V between the probes, so that the current tells the resistance and
/// "nothing between them" is no current and not a singular matrix.
struct Measured<'c> {
    circuit: &'c Drawn,
    a: usize,
    b: usize,
}

/// The netlist of several measurements, each with nodes of its own; an error on a resistor
/// that is not above 0, of which ngspice would make 1 milliohm.
fn netlist(measured: &[Measured<'_>]) -> Result<String, String> {
    let mut text =
        String::from("* resistance between pairs of joints, in megohm and microampere\n");
    // Low resistances are never to be pivots: their reciprocals swamp the insulation.
    text.push_str(".options pivrel=0.9\n");
    for (index, Measured { circuit, a, b }) in measured.iter().enumerate() {
        let mut joined = Joined::new(circuit.joints);
        circuit.resistors.iter().for_each(|resistor| joined.join(resistor.a, resistor.b));
        let node = |joint: usize| {
            if joint == *b { "0".to_owned() } else { format!("n{index}_{joint}") }
        };
        writeln!(text, "vm{index} {} 0 1", node(*a)).expect("a string takes text");
        for (place, resistor) in circuit.resistors.iter().enumerate() {
            if resistor.ohm <= 0.0 {
                return Err(format!("ngspice would make 1 milliohm of {} ohm", resistor.ohm));
            }
            // What hangs on neither probe has no voltage, which ngspice cannot say.
            if !joined.are(resistor.a, *a) && !joined.are(resistor.a, *b) {
                continue;
            }
            let (from, to) = (node(resistor.a), node(resistor.b));
            let megohm = number(resistor.ohm / 1e6);
            let line = if resistor.ohm >= BRANCH_BELOW_OHM {
                format!("r{index}_{place} {from} {to} {megohm}")
            } else {
                format!(
                    "vs{index}_{place} {from} m{index}_{place} 0\n\
                     h{index}_{place} m{index}_{place} {to} vs{index}_{place} {megohm}"
                )
            };
            writeln!(text, "{line}").expect("a string takes text");
        }
    }
    text.push_str(".control\nset numdgt=17\nop\n");
    for index in 0..measured.len() {
        writeln!(text, "print i(vm{index})").expect("a string takes text");
    }
    text.push_str("quit\n.endc\n.end\n");
    Ok(text)
}

/// Runs ngspice on a netlist and gives back all that it said.
fn run_ngspice(netlist: &str) -> Result<String, String> {
    let folder = tempfile::tempdir().map_err(|error| format!("no temporary folder: {error}"))?;
    let file = folder.path().join("measured.cir");
    std::fs::write(&file, netlist).map_err(|error| format!("no netlist: {error}"))?;
    let ran = Command::new("ngspice").arg("-n").arg("-b").arg(&file).output().map_err(|error| {
        format!(
            "ngspice cannot be run ({error}). This referee is required: install Debian's package \
             \"ngspice\" (apt-get install --yes ngspice)"
        )
    })?;
    let said =
        String::from_utf8_lossy(&ran.stdout).into_owned() + &String::from_utf8_lossy(&ran.stderr);
    if ran.status.success() { Ok(said) } else { Err(format!("ngspice failed: {said}")) }
}

/// The currents `i(vm0)` … in what ngspice said; an error where it complained of anything, or
/// where a number is missing: its exit code is 0 all the same.
fn read_answer(said: &str, count: usize) -> Result<Vec<f64>, String> {
    for word in ["singular", "warning", "error", "failed", "gmin", "stepping", "no such"] {
        if let Some(line) = said.lines().find(|line| line.to_lowercase().contains(word)) {
            return Err(format!("ngspice complained: {line}"));
        }
    }
    (0..count)
        .map(|index| {
            let name = format!("i(vm{index}) = ");
            let line = said
                .lines()
                .find_map(|line| line.trim().strip_prefix(&name))
                .ok_or_else(|| format!("ngspice gave no {name}"))?;
            let value: f64 = line.trim().parse().map_err(|_| format!("not a number: {line}"))?;
            if value.is_finite() { Ok(value) } else { Err(format!("{name}{value}")) }
        })
        .collect()
}

/// What ngspice says of each, ohm; `None` where no current flows.
fn theirs(measured: &[Measured<'_>]) -> Result<Vec<Option<f64>>, String> {
    let said = run_ngspice(&netlist(measured)?)?;
    let currents = read_answer(&said, measured.len())?;
    Ok(currents
        .into_iter()
        .map(|microampere| {
            let ohm = 1e6 / microampere.abs();
            (ohm < NO_PATH_OHM).then_some(ohm)
        })
        .collect())
}

/// The relative difference, or what is wrong.
fn difference(ours: Option<f64>, theirs: Option<f64>) -> Result<f64, String> {
    match (ours, theirs) {
        (None, None) => Ok(0.0),
        (Some(ours), Some(theirs)) => {
            let difference = (ours / theirs - 1.0).abs();
            if difference < DIFFERENCE_MAX {
                Ok(difference)
            } else {
                Err(format!("{ours} Ω against {theirs} Ω: {difference:e}"))
            }
        }
        (ours, theirs) => Err(format!("over limit disagrees: {ours:?} against {theirs:?}")),
    }
}

#[test]
fn the_solver_agrees_with_ngspice_on_random_faulted_circuits() {
    let mut random = Seeded::new(0x0c0f_fee5);
    let circuits: Vec<Drawn> = (0..CIRCUITS).map(|_| drawn(&mut random)).collect();
    let mut worst = (0.0, 0, (0, 0));
    let (mut compared, mut over_limit, mut across_insulation) = (0, 0, 0);
    for (batch, some) in circuits.chunks(PER_PROCESS).enumerate() {
        let measured: Vec<Measured<'_>> = some
            .iter()
            .flat_map(|circuit| {
                circuit.probes.iter().map(move |&(a, b)| Measured { circuit, a, b })
            })
            .collect();
        let answers = theirs(&measured).unwrap_or_else(|error| panic!("batch {batch}: {error}"));
        for (place, (Measured { circuit, a, b }, theirs)) in
            measured.iter().zip(answers).enumerate()
        {
            let index = batch * PER_PROCESS + place / PAIRS;
            let mut joined = Joined::new(circuit.joints);
            circuit.resistors.iter().for_each(|resistor| joined.join(resistor.a, resistor.b));
            let ours = ours(circuit, *a, *b);
            assert_eq!(
                ours.is_some(),
                joined.are(*a, *b),
                "circuit {index}, {a} to {b}: over limit against union and find"
            );
            let difference = difference(ours, theirs)
                .unwrap_or_else(|says| panic!("circuit {index}, {a} to {b}: {says}"));
            compared += 1;
            over_limit += usize::from(ours.is_none());
            across_insulation += usize::from(
                circuit.faults == 2 && circuit.islands > 1 && ours.is_some_and(|ohm| ohm > 1e7),
            );
            if difference > worst.0 {
                worst = (difference, index, (*a, *b));
            }
        }
    }
    println!(
        "{CIRCUITS} circuits, {compared} readings, {over_limit} over limit, {across_insulation} \
         through insulation on floating circuits with two faults; worst relative difference \
         {:.2e} (circuit {}, {:?})",
        worst.0, worst.1, worst.2
    );
    assert!(over_limit >= 100, "too few over limit to prove anything: {over_limit}");
    assert!(across_insulation >= 100, "too few floating double faults: {across_insulation}");
}

/// Two windings in series, floating from the shell.
fn in_series(ohm: f64) -> Drawn {
    Drawn {
        joints: 4,
        resistors: vec![
            Resistor { a: 1, b: 2, ohm },
            Resistor { a: 2, b: 3, ohm: 1.30 },
            Resistor { a: 1, b: SHELL, ohm: 1.2e9 },
        ],
        probes: vec![(1, 3)],
        faults: 0,
        islands: 1,
    }
}

#[test]
fn the_referee_sees_one_value_wrong_by_a_hundred_thousandth() {
    let (right, wrong) = (in_series(0.48), in_series(0.48 * (1.0 + 1e-5)));
    let measured = [Measured { circuit: &right, a: 1, b: 3 }];

    let theirs = theirs(&measured).expect("ngspice answers")[0];

    assert!(difference(ours(&right, 1, 3), theirs).is_ok());
    let says = difference(ours(&wrong, 1, 3), theirs).expect_err("a wrong value is seen");
    assert!(says.contains("1.78"), "{says}");
    assert!(difference(None, theirs).is_err(), "over limit against a value is seen");
}

#[test]
fn a_singular_matrix_is_a_failure_though_ngspice_leaves_with_0() {
    let floating = "* a current into a circuit that hangs on nothing\n\
        vm0 0 c 0\ni0 0 a 1\nr1 a b 1\n\
        .control\nset numdgt=17\nop\nprint i(vm0)\nprint v(a)\nquit\n.endc\n.end\n";

    let said = run_ngspice(floating).expect("it leaves with 0, which is the trap");

    assert!(said.contains("v(a) = "), "it even prints a number: {said}");
    assert!(read_answer(&said, 1).expect_err("refused").contains("singular"));
}

#[test]
fn a_missing_number_is_a_failure() {
    let none = "* nothing is printed\nvm0 a 0 1\nr1 a 0 1\n\
        .control\nop\nquit\n.endc\n.end\n";

    let said = run_ngspice(none).expect("ngspice runs");

    assert!(read_answer(&said, 1).expect_err("refused").contains("gave no i(vm0)"));
}

#[test]
fn ngspice_would_read_0_ohm_and_1m_as_a_milliohm_and_is_never_given_either() {
    let trap = "* 0 ohm and 1M are both a milliohm to ngspice\n\
        vm0 a 0 1\nr1 a 0 0\nvm1 b 0 1\nr2 b 0 1M\n\
        .control\nset numdgt=17\nop\nprint i(vm0)\nprint i(vm1)\nquit\n.endc\n.end\n";
    let said = run_ngspice(trap).expect("ngspice runs");
    let currents = read_answer(&said, 2).expect("it sees nothing wrong, which is the trap");
    assert!(currents.iter().all(|current| (current.abs() / 1e3 - 1.0).abs() < 1e-9));

    assert_eq!(number(1e6), "1.00000000000000000e6");
    let zero = in_series(0.0);
    let measured = [Measured { circuit: &zero, a: 1, b: 3 }];
    assert!(netlist(&measured).expect_err("0 ohm is refused").contains("1 milliohm"));
}
