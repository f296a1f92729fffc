//! ngspice as the truth of a circuit under power: contacts and motors settled, then volts and
//! amps as a meter has them.
//!
//! Belongs here: what each branch presents under a command, which contacts are pulled in and which
//! motors start, what a voltmeter's own resistance does to an open lead. Does not belong here: power
//! off ([`super::spice`]) and meters that are not perfect ([`super::site`]). The engine's solver is
//! never used.
//!
//! Other than the engine's model on purpose: a transformer's secondary loads its primary and is no
//! path when it is open; a motor turns when its windings make torque enough, a seized one never;
//! conductors have capacitance to what lies beside them; a shorted winding loses reactance faster
//! than ohms.

use std::fmt::Write as _;

use engine::circuit::{Effect, Impedance, PartKind};

use super::spice;
use super::states::{Module, States};
use super::wiring::{Ask, GONE_OHM, TrueFault, What, Wiring};
use crate::joined::Joined;

/// Rounds in which contacts and motors may follow each other; what still chatters is read as it
/// stands.
const ROUNDS_MAX: usize = 8;
/// Above this nothing is carried, ohm.
const CARRIES_OHM: f64 = 1e9;
/// Reactance that is not there, henry; capacitance that is not there, farad.
const NO_HENRY: f64 = 1e-12;
const NO_FARAD: f64 = 1e-18;
/// Copper's resistance is proportional to (234.5 + °C).
const COPPER_C: f64 = 234.5;
/// Reactance goes with more than the turns.
const REACTANCE_POWER: f64 = 1.5;
/// Most networks per process.
const PER_PROCESS: usize = 1500;

/// A phasor.
type Phasor = [f64; 2];

fn size([real, imaginary]: Phasor) -> f64 {
    real.hypot(imaginary)
}

/// What is at work: faults, °C, the command.
#[derive(Clone, Debug)]
pub(super) struct Want {
    pub(super) faults: Vec<TrueFault>,
    pub(super) celsius: f64,
    pub(super) command: usize,
}

/// Torque of each sound motor at rest, by [`States::motors`].
pub(super) type Torques = Vec<f64>;

/// A network that has settled.
#[derive(Clone, Debug)]
pub(super) struct Net {
    volts: Vec<Phasor>,
    amps: Vec<Phasor>,
    joined: Joined,
    closed: Vec<bool>,
    turns: Vec<bool>,
    live_volt: f64,
}

impl Net {
    /// Whether every motor turns; false where there is none.
    pub(super) fn turning(&self) -> bool {
        !self.turns.is_empty() && self.turns.iter().all(|turns| *turns)
    }

    /// What a voltmeter that draws nothing, or a clamp, shows; volts are `None` where nothing
    /// joins the two points, so that the meter decides.
    pub(super) fn shows(&self, wiring: &Wiring, ask: &Ask) -> Option<f64> {
        if ask.what == What::Amps {
            let ends = |branch: &super::wiring::Branch| {
                branch.ends == Some([ask.from, ask.to]) || branch.ends == Some([ask.to, ask.from])
            };
            let part = wiring.branches.iter().position(|branch| {
                !matches!(branch.kind, PartKind::Source | PartKind::Mechanism) && ends(branch)
            });
            return Some(part.map_or(0.0, |part| size(self.amps[part])));
        }
        let dead = self.live_volt < 0.5;
        (dead || self.joined.are(ask.from, ask.to)).then(|| self.between([ask.from, ask.to]))
    }

    fn between(&self, [a, b]: [usize; 2]) -> f64 {
        let (a, b) = (self.volts[a], self.volts[b]);
        size([a[0] - b[0], a[1] - b[1]])
    }

    fn across(&self, wiring: &Wiring, part: usize) -> f64 {
        wiring.branches[part].ends.map_or(0.0, |ends| self.between(ends))
    }

    /// The torque of a motor's windings: of two out of step, or of one that starts by itself.
    fn torque(&self, parts: &[usize]) -> f64 {
        let amps: Vec<Phasor> = parts.iter().map(|&part| self.amps[part]).collect();
        if let [only] = amps[..] {
            return size(only).powi(2);
        }
        let mut most: f64 = 0.0;
        for (place, a) in amps.iter().enumerate() {
            for b in &amps[place + 1..] {
                most = most.max((a[1] * b[0] - a[0] * b[1]).abs());
            }
        }
        most
    }
}

/// What a branch presents.
#[derive(Clone, Debug, PartialEq)]
struct Presents {
    ohm: f64,
    henry: f64,
    farad: f64,
    ground: f64,
    /// Of a source's nominal volts, or what it gives per volt of its feeder.
    gives: f64,
}

/// Torques of the motors of a sound unit: the least of the commands under which the file has them
/// turn.
///
/// # Errors
/// Where ngspice fails.
pub(super) fn torques(wiring: &Wiring, states: &States) -> Result<Torques, String> {
    let wants: Vec<Want> = (0..states.commands.len())
        .map(|command| Want { faults: Vec::new(), celsius: 25.0, command })
        .collect();
    let never = vec![f64::INFINITY; states.motors.len()];
    let nets = settled(wiring, states, &wants, &never)?;
    Ok(states
        .motors
        .iter()
        .map(|motor| {
            let of =
                nets.iter().map(|net| net.torque(&motor.parts)).filter(|torque| *torque > 1e-3);
            of.fold(f64::INFINITY, f64::min)
        })
        .collect())
}

/// Each want settled.
///
/// # Errors
/// Where ngspice fails.
pub(super) fn settled(
    wiring: &Wiring,
    states: &States,
    wants: &[Want],
    torques: &Torques,
) -> Result<Vec<Net>, String> {
    let mut nets = Vec::with_capacity(wants.len());
    for some in wants.chunks(PER_PROCESS) {
        nets.extend(settled_together(wiring, states, some, torques)?);
    }
    Ok(nets)
}

fn settled_together(
    wiring: &Wiring,
    states: &States,
    wants: &[Want],
    torques: &Torques,
) -> Result<Vec<Net>, String> {
    let mut positions: Vec<(Vec<bool>, Vec<bool>)> = wants
        .iter()
        .map(|want| {
            let turns = vec![false; states.motors.len()];
            let closed = (0..wiring.branches.len())
                .map(|part| commanded(wiring, states, want, part, false).unwrap_or(false))
                .collect();
            (closed, turns)
        })
        .collect();
    let mut nets: Vec<Option<Net>> = vec![None; wants.len()];
    let mut pending: Vec<usize> = (0..wants.len()).collect();
    for _ in 0..ROUNDS_MAX {
        let conditions: Vec<Vec<Presents>> = pending
            .iter()
            .map(|&place| {
                let (closed, turns) = &positions[place];
                presents(wiring, states, &wants[place], closed, turns)
            })
            .collect();
        let asked: Vec<Asked<'_>> =
            conditions.iter().map(|condition| (condition.as_slice(), None)).collect();
        let answers = solved(wiring, &asked)?;
        let mut moving = Vec::new();
        for ((&place, condition), (volts, amps)) in pending.iter().zip(&conditions).zip(answers) {
            let (closed, turns) = positions[place].clone();
            let net = Net {
                joined: joined(wiring, condition),
                live_volt: live_volt(wiring, condition),
                volts,
                amps,
                closed,
                turns,
            };
            let next = followed(wiring, states, &wants[place], condition, &net, torques);
            if next != (net.closed.clone(), net.turns.clone()) {
                positions[place] = next;
                moving.push(place);
            }
            nets[place] = Some(net);
        }
        pending = moving;
        if pending.is_empty() {
            break;
        }
    }
    nets.into_iter().map(|net| net.ok_or_else(|| "a network was left out".to_owned())).collect()
}

/// Where a switch is held by a fault or by a command; `None` where something drives it.
fn commanded(
    wiring: &Wiring,
    states: &States,
    want: &Want,
    part: usize,
    turning: bool,
) -> Option<bool> {
    let branch = &wiring.branches[part];
    let command = &states.commands[want.command];
    for fault in want.faults.iter().filter(|fault| fault.part == part) {
        match fault.effect {
            Effect::StuckClosed => return Some(true),
            Effect::Open => return Some(false),
            _ => {}
        }
    }
    if command.closed[part] {
        return Some(true);
    }
    if command.opened[part] {
        return Some(false);
    }
    if turning && command.opened_turning[part] {
        // The coil that opens it must be whole.
        let coil = states.lifted_by.iter().find(|(contact, _)| *contact == part);
        let dead =
            |part: &usize| want.faults.iter().any(|f| f.part == *part && f.effect == Effect::Open);
        return Some(coil.is_some_and(|(_, needs)| needs.iter().any(dead)));
    }
    branch.driver.is_none().then_some(!branch.rests_open)
}

/// Contacts and motors after what the network shows.
fn followed(
    wiring: &Wiring,
    states: &States,
    want: &Want,
    condition: &[Presents],
    net: &Net,
    torques: &Torques,
) -> (Vec<bool>, Vec<bool>) {
    let turns: Vec<bool> = states
        .motors
        .iter()
        .enumerate()
        .map(|(index, motor)| {
            if let Some(Module { blocked_by, inputs }) = &motor.module {
                let blocked = want.faults.iter().any(|fault| blocked_by.contains(&fault.part));
                let fed = |(part, volt): &(usize, f64)| {
                    condition[*part].ohm < CARRIES_OHM && net.across(wiring, *part) >= *volt
                };
                return !blocked && inputs.iter().all(fed);
            }
            let seized = want.faults.iter().any(|fault| {
                motor.mechanisms.contains(&fault.part) && fault.effect == Effect::Mechanical
            });
            let enough = net.torque(&motor.parts) >= wiring.starts_at * torques[index];
            let fed = motor.parts.iter().any(|&part| size(net.amps[part]) > 1e-2);
            // Once it turns it goes on, as long as anything feeds it.
            !seized && ((net.turns[index] && fed) || enough)
        })
        .collect();
    let turning = !turns.is_empty() && turns.iter().all(|turns| *turns);
    let closed = wiring
        .branches
        .iter()
        .enumerate()
        .map(|(part, branch)| {
            let held = commanded(wiring, states, want, part, turning);
            held.unwrap_or_else(|| {
                let Some((driver, pull_in_volt)) = branch.driver else { return false };
                let volt = net.across(wiring, driver);
                let idle = states
                    .motors
                    .iter()
                    .zip(&turns)
                    .any(|(motor, turns)| motor.parts.contains(&driver) && !turns);
                let pulled = volt >= pull_in_volt && condition[driver].ohm < CARRIES_OHM && !idle;
                pulled == branch.rests_open
            })
        })
        .collect();
    (closed, turns)
}

fn presents(
    wiring: &Wiring,
    states: &States,
    want: &Want,
    closed: &[bool],
    turns: &[bool],
) -> Vec<Presents> {
    let omega = std::f64::consts::TAU * wiring.hertz;
    let warm = (COPPER_C + want.celsius) / (COPPER_C + 25.0);
    let command = &states.commands[want.command];
    wiring
        .branches
        .iter()
        .enumerate()
        .map(|(part, branch)| {
            let turning = states
                .motors
                .iter()
                .zip(turns)
                .any(|(motor, turns)| *turns && motor.parts.contains(&part));
            let at_rest =
                branch.still.unwrap_or(Impedance { ohm: branch.file_ohm, reactance_ohm: 0.0 });
            let file = if turning { branch.turning.unwrap_or(at_rest) } else { at_rest };
            let built = if branch.file_ohm > 0.0 { branch.ohm / branch.file_ohm } else { 1.0 };
            let mut now = Presents {
                ohm: file.ohm * built * branch.more[0] * if branch.copper { warm } else { 1.0 },
                henry: file.reactance_ohm * built * branch.more[1] / omega,
                farad: branch.microfarad * 1e-6,
                ground: GONE_OHM,
                gives: 1.0,
            };
            match branch.kind {
                PartKind::Source => {
                    let on = branch.feeder.is_some() || command.energised[part];
                    now.ohm = if on { branch.source_ohm } else { GONE_OHM };
                    if let Some((_, at_volt)) = branch.feeder {
                        now.gives = branch.volt / at_volt;
                    }
                }
                PartKind::Capacitor | PartKind::Diode => now.ohm = GONE_OHM,
                PartKind::Switch if !closed[part] => now.ohm = GONE_OHM,
                _ => {}
            }
            for fault in want.faults.iter().filter(|fault| fault.part == part) {
                match (fault.effect, branch.kind) {
                    (Effect::Series, PartKind::Capacitor | PartKind::Diode) => now.ohm = fault.size,
                    (Effect::Fraction, PartKind::Capacitor) => now.farad *= fault.size,
                    (Effect::Open | Effect::OpenHot, _) => now.ohm = GONE_OHM,
                    (Effect::Series, _) => now.ohm += fault.size,
                    (Effect::Fraction, _) => {
                        now.ohm = (now.ohm * fault.size).max(1e-3);
                        now.henry *= fault.size.powf(REACTANCE_POWER);
                    }
                    (Effect::ToShell, _) => now.ground = fault.size,
                    // What gives nothing is open.
                    (Effect::SourceFraction, _) if fault.size <= 0.0 => now.ohm = GONE_OHM,
                    (Effect::SourceFraction, _) => now.gives *= fault.size,
                    _ => {}
                }
            }
            now.ohm = now.ohm.clamp(1e-3, GONE_OHM);
            now.henry = now.henry.max(NO_HENRY);
            now.farad = now.farad.max(NO_FARAD);
            now
        })
        .collect()
}

/// What is joined to what by anything but insulation and air.
fn joined(wiring: &Wiring, condition: &[Presents]) -> Joined {
    let mut joined = Joined::new(wiring.points);
    for (branch, now) in wiring.branches.iter().zip(condition) {
        let Some([a, b]) = branch.ends else { continue };
        let carries = branch.kind == PartKind::Capacitor && now.farad > 1e-12;
        if now.ohm < CARRIES_OHM || carries {
            joined.join(a, b);
        }
        if let Some(shell) = wiring.shell.filter(|_| now.ground < CARRIES_OHM) {
            joined.join(b, shell);
        }
    }
    if let Some((a, b, _)) = wiring.bridge {
        joined.join(a, b);
    }
    joined
}

fn live_volt(wiring: &Wiring, condition: &[Presents]) -> f64 {
    let sources = wiring.branches.iter().zip(condition);
    sources
        .filter(|(branch, now)| branch.kind == PartKind::Source && now.ohm < CARRIES_OHM)
        .map(|(branch, now)| if branch.feeder.is_some() { 0.0 } else { branch.volt * now.gives })
        .fold(0.0, f64::max)
}

/// What a voltmeter of this resistance shows where nothing but itself joins its probes, or where
/// it draws so much that it counts.
///
/// # Errors
/// Where ngspice fails.
pub(super) fn metered(
    wiring: &Wiring,
    states: &States,
    want: &Want,
    net: &Net,
    ask: &Ask,
    meter_ohm: f64,
) -> Result<f64, String> {
    let condition = presents(wiring, states, want, &net.closed, &net.turns);
    let answers = solved(wiring, &[(&condition, Some((ask.from, ask.to, meter_ohm)))])?;
    let (volts, _) = answers.first().ok_or("ngspice left a network out")?;
    let (a, b) = (volts[ask.from], volts[ask.to]);
    Ok(size([a[0] - b[0], a[1] - b[1]]))
}

/// Volts by point and amps by part of each condition, each perhaps with a meter on it.
type Solution = (Vec<Phasor>, Vec<Phasor>);
/// A condition, and a meter on it: two points and its ohms.
type Asked<'c> = (&'c [Presents], Option<(usize, usize, f64)>);

fn solved(wiring: &Wiring, asked: &[Asked<'_>]) -> Result<Vec<Solution>, String> {
    let Some((first, _)) = asked.first() else { return Ok(Vec::new()) };
    let mut text = netlist(wiring, first);
    let mut meters = Vec::new();
    for (place, (_, meter)) in asked.iter().enumerate() {
        if let Some((a, b, _)) = meter {
            writeln!(text, "rmeter{place} n{a} n{b} {GONE_OHM:e}").expect("a string takes text");
            meters.push(place);
        }
    }
    text.push_str(".control\nset numdgt=12\n");
    let parts: Vec<usize> =
        (0..wiring.branches.len()).filter(|&part| wiring.branches[part].ends.is_some()).collect();
    let mut prints = String::from("print");
    for point in 0..wiring.points {
        write!(prints, " v(n{point})").expect("a string takes text");
    }
    for part in &parts {
        write!(prints, " i(vm{part})").expect("a string takes text");
    }
    let mut now: Vec<Presents> = first.to_vec();
    for (place, (condition, meter)) in asked.iter().enumerate() {
        let mut line = |line: std::fmt::Arguments<'_>| {
            text.write_fmt(line).expect("a string takes text");
            text.push('\n');
        };
        alter(wiring, &now, condition, &mut line);
        now = condition.to_vec();
        if let Some((.., ohm)) = meter {
            line(format_args!("alter rmeter{place} = {ohm:e}"));
        }
        line(format_args!("ac lin 1 {0} {0}\n{prints}\ndestroy all", wiring.hertz));
        if meter.is_some() {
            line(format_args!("alter rmeter{place} = {GONE_OHM:e}"));
        }
    }
    text.push_str("quit\n.endc\n.end\n");
    let mut numbers = phasors(&spice::said(&text)?)?.into_iter();
    let answers: Option<Vec<Solution>> = asked
        .iter()
        .map(|_| {
            let volts: Option<Vec<Phasor>> = (0..wiring.points).map(|_| numbers.next()).collect();
            let mut amps = vec![[0.0, 0.0]; wiring.branches.len()];
            for &part in &parts {
                amps[part] = numbers.next()?;
            }
            Some((volts?, amps))
        })
        .collect();
    answers.filter(|_| numbers.next().is_none()).ok_or_else(|| "ngspice left a number out".into())
}

fn netlist(wiring: &Wiring, first: &[Presents]) -> String {
    let mut text = String::from("* a unit under power\n.options rshunt=1e13\n");
    let mut line = |line: std::fmt::Arguments<'_>| {
        text.write_fmt(line).expect("a string takes text");
        text.push('\n');
    };
    let mut reference = None;
    for (part, branch) in wiring.branches.iter().enumerate() {
        let Some([a, b]) = branch.ends else { continue };
        let now = &first[part];
        line(format_args!("r{part} n{a} y{part} {:e}", now.ohm));
        match (branch.kind, branch.feeder) {
            (PartKind::Source, Some((feeder, _))) => {
                // An ideal transformer on the feeder's reactance: it carries the load's current too.
                line(format_args!("e{part} t{part} z{part} y{feeder} z{feeder} {:e}", now.gives));
                line(format_args!("ve{part} y{part} t{part} 0"));
                line(format_args!("f{part} y{feeder} z{feeder} ve{part} {:e}", -now.gives));
            }
            (PartKind::Source, None) => {
                reference = reference.or(Some(b));
                line(format_args!(
                    "v{part} y{part} z{part} dc 0 ac {:e} {}",
                    branch.volt * now.gives,
                    branch.phase_deg
                ));
            }
            (PartKind::Capacitor, _) => {
                line(format_args!("c{part} n{a} z{part} {:e}", now.farad));
                line(format_args!("rz{part} y{part} z{part} 1e-3"));
            }
            _ => line(format_args!("l{part} y{part} z{part} {:e}", now.henry)),
        }
        line(format_args!("vm{part} z{part} n{b} 0"));
        if let Some(shell) = wiring.shell {
            if let Some(leak) = branch.leak_ohm {
                for (name, end) in [("la", a), ("lb", b)] {
                    if end != shell {
                        line(format_args!("r{name}{part} n{end} n{shell} {:e}", 2.0 * leak));
                    }
                }
            }
            if b != shell {
                line(format_args!("rg{part} n{b} n{shell} {:e}", now.ground));
            }
        }
    }
    for (place, (a, b, farad)) in wiring.stray.iter().enumerate() {
        line(format_args!("cs{place} n{a} n{b} {farad:e}"));
    }
    if let Some((a, b, ohm)) = wiring.bridge {
        line(format_args!("rbridge n{a} n{b} {ohm:e}"));
    }
    line(format_args!("rref n{} 0 1", reference.unwrap_or(0)));
    text
}

fn alter(
    wiring: &Wiring,
    now: &[Presents],
    wanted: &[Presents],
    line: &mut dyn FnMut(std::fmt::Arguments<'_>),
) {
    for (part, branch) in wiring.branches.iter().enumerate() {
        let (Some([_, b]), now, wanted) = (branch.ends, &now[part], &wanted[part]) else {
            continue;
        };
        if now.ohm != wanted.ohm {
            line(format_args!("alter r{part} = {:e}", wanted.ohm));
        }
        if now.ground != wanted.ground && wiring.shell.is_some_and(|shell| shell != b) {
            line(format_args!("alter rg{part} = {:e}", wanted.ground));
        }
        match branch.kind {
            PartKind::Source if now.gives != wanted.gives => match branch.feeder {
                Some(_) => {
                    line(format_args!("alter e{part} gain = {:e}", wanted.gives));
                    line(format_args!("alter f{part} gain = {:e}", -wanted.gives));
                }
                None => {
                    line(format_args!("alter @v{part}[acmag] = {:e}", branch.volt * wanted.gives))
                }
            },
            PartKind::Source => {}
            PartKind::Capacitor if now.farad != wanted.farad => {
                line(format_args!("alter c{part} = {:e}", wanted.farad));
            }
            PartKind::Capacitor => {}
            _ if now.henry != wanted.henry => {
                line(format_args!("alter l{part} = {:e}", wanted.henry));
            }
            _ => {}
        }
    }
}

/// The phasors that ngspice printed.
fn phasors(said: &str) -> Result<Vec<Phasor>, String> {
    said.lines()
        .filter(|line| line.starts_with("v(n") || line.starts_with("i(vm"))
        .map(|line| {
            let (real, imaginary) = line
                .rsplit(" = ")
                .next()
                .and_then(|pair| pair.trim().split_once(','))
                .ok_or_else(|| format!("not a phasor: {line}"))?;
            let number = |text: &str| {
                text.trim().parse::<f64>().map_err(|_| format!("not a number: {line}"))
            };
            Ok([number(real)?, number(imaginary)?])
        })
        .collect()
}

#[cfg(test)]
mod tests;
