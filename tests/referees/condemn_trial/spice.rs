//! ngspice as the truth: what a perfect meter would show on a wiring.
//!
//! Belongs here: netlists, running ngspice in batch, reading what it printed. Does not belong
//! here: meters that are not perfect ([`super::site`]) and a circuit under power ([`super::powered`]). The engine's solver is never used.
//!
//! One netlist per wiring; between two operating points only the branches that differ are
//! altered, so that hundreds of readings cost one process. Every node hangs on the reference
//! by a resistance far above anything measured, so that nothing is singular.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::process::Command;

use super::powered::{self, Net, Torques, Want};
use super::states::States;
use super::wiring::{Ask, GONE_OHM, TrueFault, Values, What, Wiring};

/// From every node to the reference, ohm.
const SHUNT_OHM: f64 = 1e13;
/// A resistance above this is no path, ohm.
const NO_PATH_OHM: f64 = 1e11;
/// Current sent through what is measured, ampere.
const SENT_AMPERE: f64 = 1e-3;
/// Frequency of the capacitance measurement, hertz.
const HERTZ: f64 = 100.0;
/// A supply's own resistance, ohm.
const SUPPLY_OHM: f64 = 1e-3;
/// Most operating points per process; ngspice keeps its script in memory.
const PER_PROCESS: usize = 4000;

/// What a perfect meter would show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Seen {
    /// Ohm, microfarad or volt; `None` is no path.
    pub(super) value: Option<f64>,
    /// A capacitor takes the ohmmeter's current at first.
    pub(super) charging: bool,
    /// Volts between points that nothing joins: what is shown is the meter's business.
    pub(super) ghost: bool,
}

impl Seen {
    /// A plain value, or no path.
    pub(super) fn plain(value: Option<f64>) -> Self {
        Seen { value, charging: false, ghost: false }
    }
}

/// Faults at work and what is asked.
pub(super) type Request = (Vec<TrueFault>, f64, Ask);

/// What a perfect meter shows for each request (faults at work, °C, what is asked).
///
/// # Errors
/// ngspice cannot be run, complained, or left a number out.
pub(super) fn seen(wiring: &Wiring, requests: &[Request]) -> Result<Vec<Seen>, String> {
    let mut seen = Vec::with_capacity(requests.len());
    for some in requests.chunks(PER_PROCESS) {
        let mut answers = batch(wiring, some, false)?;
        with_charging(wiring, some, &mut answers)?;
        seen.extend(answers);
    }
    Ok(seen)
}

/// Marks the ohms that a capacitor's charging hides: where there is no direct path, but one
/// through capacitors.
fn with_charging(wiring: &Wiring, requests: &[Request], seen: &mut [Seen]) -> Result<(), String> {
    if !wiring.has_capacitor() {
        return Ok(());
    }
    let blocked: Vec<usize> = (0..requests.len())
        .filter(|&place| {
            requests[place].2.what == What::Ohms && seen[place].value.is_none_or(|ohm| ohm > 1e5)
        })
        .collect();
    let some: Vec<Request> = blocked.iter().map(|&place| requests[place].clone()).collect();
    for (place, first) in blocked.into_iter().zip(batch(wiring, &some, true)?) {
        seen[place].charging = first.value.is_some_and(|ohm| ohm < 1e5);
    }
    Ok(())
}

fn batch(wiring: &Wiring, requests: &[Request], charging: bool) -> Result<Vec<Seen>, String> {
    if requests.is_empty() {
        return Ok(Vec::new());
    }
    let mut script = Script::new(wiring);
    for (faults, celsius, ask) in requests {
        let live = ask.what == What::Volts;
        let values = wiring.values(faults, &ask.lifted, *celsius, charging, live);
        match ask.what {
            What::Ohms | What::Megger => script.point(&values, ask, false),
            What::Microfarad | What::Volts | What::Amps => script.point(&values, ask, true),
        }
    }
    let printed = run(&script.finished())?;
    let mut numbers = printed.into_iter();
    let mut next = || numbers.next().ok_or_else(|| "ngspice left a number out".to_owned());
    let path = |volt: f64| {
        let ohm = volt.abs() / SENT_AMPERE;
        (ohm < NO_PATH_OHM).then_some(ohm)
    };
    requests
        .iter()
        .map(|(_, _, ask)| {
            Ok(match ask.what {
                What::Ohms | What::Megger => Seen::plain(path(next()?)),
                What::Volts | What::Amps => Seen::plain(Some(next()?.hypot(next()?))),
                What::Microfarad => {
                    let (real, imaginary) = (next()?, next()?);
                    let size = real * real + imaginary * imaginary;
                    // Admittance of what is between the probes.
                    let across = SENT_AMPERE * real / size;
                    let farad = SENT_AMPERE * imaginary / size;
                    let microfarad = farad.abs() / (std::f64::consts::TAU * HERTZ) * 1e6;
                    // A path beside the capacitor spoils the measurement.
                    let spoilt = across.abs() > 3.0 * farad.abs();
                    Seen::plain(Some(if spoilt { 0.0 } else { microfarad }))
                }
            })
        })
        .collect()
}

struct Script<'w> {
    wiring: &'w Wiring,
    text: String,
    now: Values,
    injected: Vec<(usize, bool, f64)>,
}

impl<'w> Script<'w> {
    fn new(wiring: &'w Wiring) -> Self {
        let now = wiring.values(&[], &[], 25.0, false, false);
        let mut text = format!("* a unit's wiring\n.options rshunt={SHUNT_OHM:e}\n");
        let mut line = |line: std::fmt::Arguments<'_>| {
            text.write_fmt(line).expect("a string takes text");
            text.push('\n');
        };
        for node in 0..wiring.points {
            line(format_args!("i{node} 0 n{node} dc 0 ac 0"));
        }
        for (part, branch) in wiring.branches.iter().enumerate() {
            let Some([a, b]) = branch.ends else { continue };
            line(format_args!("r{part} n{a} n{b} {:e}", now.path[part]));
            if branch.microfarad > 0.0 {
                line(format_args!(
                    "c{part} n{a} n{b} {:e}",
                    (now.microfarad[part] * 1e-6).max(1e-18)
                ));
            }
            if branch.volt > 0.0 {
                line(format_args!(
                    "v{part} s{part} n{b} dc 0 ac {:e} {}",
                    now.volt[part], branch.phase_deg
                ));
                line(format_args!("rs{part} n{a} s{part} {GONE_OHM:e}"));
            }
            if let Some(shell) = wiring.shell {
                if let Some(leak) = branch.leak_ohm {
                    for (name, end) in [("la", a), ("lb", b)] {
                        if end != shell {
                            line(format_args!("r{name}{part} n{end} n{shell} {:e}", 2.0 * leak));
                        }
                    }
                }
                if b != shell {
                    line(format_args!("rg{part} n{b} n{shell} {GONE_OHM:e}"));
                }
            }
        }
        if let Some((a, b, ohm)) = wiring.bridge {
            line(format_args!("rbridge n{a} n{b} {ohm:e}"));
        }
        text.push_str(".control\nset numdgt=12\n");
        Script { wiring, text, now, injected: Vec::new() }
    }

    fn line(&mut self, line: std::fmt::Arguments<'_>) {
        self.text.write_fmt(line).expect("a string takes text");
        self.text.push('\n');
    }

    fn point(&mut self, wanted: &Values, ask: &Ask, alternating: bool) {
        for (part, branch) in self.wiring.branches.iter().enumerate() {
            if branch.ends.is_none() {
                continue;
            }
            if wanted.path[part] != self.now.path[part] {
                self.line(format_args!("alter r{part} = {:e}", wanted.path[part]));
            }
            if wanted.ground[part] != self.now.ground[part] && self.wiring.shell.is_some() {
                self.line(format_args!("alter rg{part} = {:e}", wanted.ground[part]));
            }
            if branch.microfarad > 0.0 && wanted.microfarad[part] != self.now.microfarad[part] {
                let farad = (wanted.microfarad[part] * 1e-6).max(1e-18);
                self.line(format_args!("alter c{part} = {farad:e}"));
            }
            if branch.volt > 0.0 {
                if wanted.volt[part] != self.now.volt[part] {
                    self.line(format_args!("alter @v{part}[acmag] = {:e}", wanted.volt[part]));
                }
                if wanted.live[part] != self.now.live[part] {
                    let ohm = if wanted.live[part] { SUPPLY_OHM } else { GONE_OHM };
                    self.line(format_args!("alter rs{part} = {ohm:e}"));
                }
            }
        }
        self.now = wanted.clone();
        let (a, b) = (ask.from, ask.to);
        let wanted: Vec<(usize, bool, f64)> = if ask.what == What::Volts {
            Vec::new()
        } else {
            vec![(a, alternating, SENT_AMPERE), (b, alternating, -SENT_AMPERE)]
        };
        // Every command costs more than the solution: only what changes is said.
        let before = std::mem::take(&mut self.injected);
        for &(node, was_alternating, _) in &before {
            if !wanted.iter().any(|known| (known.0, known.1) == (node, was_alternating)) {
                self.inject(node, was_alternating, 0.0);
            }
        }
        for &(node, alternating, ampere) in &wanted {
            if !before.contains(&(node, alternating, ampere)) {
                self.inject(node, alternating, ampere);
            }
        }
        self.injected = wanted;
        if alternating {
            self.line(format_args!("ac lin 1 {HERTZ} {HERTZ}"));
            self.line(format_args!("print real(v(n{a})-v(n{b}))"));
            self.line(format_args!("print imag(v(n{a})-v(n{b}))"));
        } else {
            self.line(format_args!("op"));
            self.line(format_args!("print v(n{a})-v(n{b})"));
        }
        self.line(format_args!("destroy all"));
    }

    fn inject(&mut self, node: usize, alternating: bool, ampere: f64) {
        if alternating {
            self.line(format_args!("alter @i{node}[acmag] = {ampere:e}"));
        } else {
            self.line(format_args!("alter i{node} dc = {ampere:e}"));
        }
    }

    fn finished(mut self) -> String {
        self.text.push_str("quit\n.endc\n.end\n");
        self.text
    }
}

/// All that ngspice says of a netlist.
///
/// # Errors
/// It cannot be run, or complained.
pub(super) fn said(netlist: &str) -> Result<String, String> {
    let folder = tempfile::tempdir().map_err(|error| format!("no temporary folder: {error}"))?;
    let file = folder.path().join("unit.cir");
    std::fs::write(&file, netlist).map_err(|error| format!("no netlist: {error}"))?;
    let ran = Command::new("ngspice").arg("-n").arg("-b").arg(&file).output().map_err(|error| {
        format!("ngspice cannot be run ({error}); install Debian's package \"ngspice\"")
    })?;
    let said =
        String::from_utf8_lossy(&ran.stdout).into_owned() + &String::from_utf8_lossy(&ran.stderr);
    if !ran.status.success() {
        return Err(format!("ngspice failed: {said}"));
    }
    for word in ["singular", "warning", "error", "failed", "stepping", "no such"] {
        if let Some(line) = said.lines().find(|line| line.to_lowercase().contains(word)) {
            return Err(format!("ngspice complained: {line}"));
        }
    }
    Ok(said)
}

fn run(netlist: &str) -> Result<Vec<f64>, String> {
    said(netlist)?
        .lines()
        .filter(|line| line.contains("v(n") && line.contains(" = "))
        .map(|line| {
            let number = line.rsplit(" = ").next().unwrap_or_default();
            number.trim().parse::<f64>().map_err(|_| format!("not a number: {line}"))
        })
        .collect()
}

/// Answers kept, so that the arms and the levels share one unit's truth.
#[derive(Default)]
pub(super) struct Kept {
    answers: BTreeMap<(u64, Ask), Seen>,
    nets: BTreeMap<(u64, usize), Net>,
}

impl Kept {
    /// Whether the answer is known.
    pub(super) fn knows(&self, state: u64, ask: &Ask) -> bool {
        self.answers.contains_key(&(state, ask.clone()))
    }

    /// The unit under power in `state` (a number for the faults at work), settled.
    pub(super) fn net(
        &mut self,
        wiring: &Wiring,
        states: &States,
        torques: &Torques,
        state: u64,
        want: &Want,
    ) -> Result<Net, String> {
        let key = (state, want.command);
        if let Some(net) = self.nets.get(&key) {
            return Ok(net.clone());
        }
        let net = powered::settled(wiring, states, std::slice::from_ref(want), torques)?
            .pop()
            .ok_or("no network")?;
        self.nets.insert(key, net.clone());
        Ok(net)
    }

    /// An answer that was come by otherwise.
    pub(super) fn keep(&mut self, state: u64, ask: &Ask, seen: Seen) {
        self.answers.insert((state, ask.clone()), seen);
    }

    /// The answer, where it is known.
    pub(super) fn known(&self, state: u64, ask: &Ask) -> Option<Seen> {
        self.answers.get(&(state, ask.clone())).copied()
    }

    /// What is seen in `state` (a number for the faults at work); asks ngspice once for all
    /// that is not known yet.
    pub(super) fn seen(
        &mut self,
        wiring: &Wiring,
        asked: &[(u64, Request)],
    ) -> Result<Vec<Seen>, String> {
        let mut fresh: Vec<(u64, Request)> = Vec::new();
        for (state, request) in asked {
            let key = (*state, request.2.clone());
            if !self.answers.contains_key(&key)
                && !fresh.iter().any(|known| known.0 == *state && known.1.2 == request.2)
            {
                fresh.push((*state, request.clone()));
            }
        }
        let requests: Vec<Request> = fresh.iter().map(|(_, request)| request.clone()).collect();
        let answers = seen(wiring, &requests)?;
        for ((state, request), answer) in fresh.into_iter().zip(answers) {
            self.answers.insert((state, request.2), answer);
        }
        Ok(asked
            .iter()
            .map(|(state, request)| self.answers[&(*state, request.2.clone())])
            .collect())
    }
}
