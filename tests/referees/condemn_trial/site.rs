//! A technician at a unit: what is open and lifted, minutes, the meter, and mistakes.
//!
//! Belongs here: from what is true to what is shown. Does not belong here: what to measure
//! next (the arms) and what a perfect meter shows ([`super::spice`]).

use engine::circuit::Effect;
use serde_json::{Value, json};

use super::powered::{self, Net, Want};
use super::random::{between, normal, seed_of};
use super::spice::{Kept, Seen};
use super::states::States;
use super::table::Table;
use super::topologies::Topology;
use super::wiring::{Ask, TrueFault, What};
use super::world::{Unit, rest_of};
use crate::seeded::Seeded;

/// Mistakes per reading at ×1; the engine believes 0.02 of them.
pub(super) const MISTAKES: f64 = 0.03;
/// Shares of the mistakes: poor contact, leads, unit, neighbour, slip, not lifted.
const SHARES: [f64; 6] = [0.25, 0.15, 0.05, 0.25, 0.15, 0.15];

/// A voltmeter under this is one that a lead that hangs open cannot feed, ohm.
const DRAWS_OHM: f64 = 1e5;

/// Signs that say of a motor that it stands, by what their names contain.
const STANDS_STILL: [&str; 3] = ["no_start", "inducer_dead", "dead_with_power"];

/// What the meter showed, in the base unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Shown {
    Value(f64),
    OverLimit,
    Climbing,
}

/// A reading as taken.
#[derive(Clone, Debug)]
pub(super) struct Taken {
    pub(super) id: usize,
    pub(super) ask: Ask,
    pub(super) shown: Shown,
    pub(super) noted: Option<(f64, f64)>,
    /// The overload must have closed by then.
    pub(super) rested: bool,
    /// Under power: the file's state that the technician notes it down as.
    pub(super) state: Option<usize>,
}

/// The meter as it is.
struct Meter {
    resolution: f64,
    zeroed: bool,
    lead_ohm: f64,
    highest: f64,
    gain: f64,
    /// Smallest step of the clamp, ampere.
    ampere: f64,
}

/// One technician's work on one unit by one arm.
pub(super) struct Site<'a> {
    pub(super) topology: &'a Topology,
    pub(super) unit: &'a Unit,
    kept: &'a mut Kept,
    table: &'a Table,
    random: Seeded,
    rate: f64,
    meter: Meter,
    open: Vec<String>,
    lifted: Vec<usize>,
    left_on: Option<usize>,
    /// What is commanded now; `None` is off.
    command: Option<usize>,
    /// The call that the technician believes in is not there.
    uncalled: bool,
    showing: bool,
    notes: bool,
    resting_min: f64,
    /// Minutes worked before the last rest, which are rest of the unit's too.
    worked_min: f64,
    count: usize,
    pub(super) minutes: f64,
    pub(super) waiting_min: f64,
    pub(super) tests: usize,
    pub(super) readings: Vec<Taken>,
    pub(super) observed: Vec<(usize, bool)>,
    /// What happened, for looking at single jobs.
    pub(super) trail: Vec<String>,
}

impl<'a> Site<'a> {
    /// Arrives; `level` multiplies the mistake rate.
    pub(super) fn new(
        topology: &'a Topology,
        unit: &'a Unit,
        kept: &'a mut Kept,
        table: &'a Table,
        level: f64,
        salt: u64,
    ) -> Self {
        // The same technician and meter whatever the arm.
        let mut habits = Seeded::new(seed_of(&[unit.seed, 3]));
        let quality = habits.one_of(&[0.4, 0.7, 1.0, 1.9]);
        let zeroed = habits.chance(0.6);
        let meter = Meter {
            resolution: habits.one_of(&[0.01, 0.01, 0.1]),
            zeroed,
            lead_ohm: if zeroed {
                between(&mut habits, 0.0, 0.03)
            } else {
                between(&mut habits, 0.12, 0.4)
            },
            highest: habits.one_of(&[4e7, 4e7, 4e7, 2e6]),
            gain: 1.0 + between(&mut habits, -0.008, 0.008),
            ampere: if habits.clone().chance(0.6) { 0.1 } else { 0.01 },
        };
        let notes = habits.chance(0.75);
        Site {
            topology,
            unit,
            kept,
            table,
            random: Seeded::new(seed_of(&[unit.seed, (level * 10.0) as u64, salt])),
            rate: MISTAKES * level * quality,
            meter,
            open: Vec::new(),
            lifted: Vec::new(),
            left_on: None,
            command: None,
            uncalled: false,
            showing: true,
            notes,
            resting_min: 0.0,
            worked_min: 0.0,
            count: 0,
            minutes: 0.0,
            waiting_min: 0.0,
            tests: 0,
            readings: Vec::new(),
            observed: Vec::new(),
            trail: Vec::new(),
        }
    }

    fn open(&mut self, place: &str) {
        if !self.open.iter().any(|known| known == place) {
            let spec = self.topology.circuit.places.iter().find(|known| known.id == place);
            self.minutes += spec.map_or(0.0, |spec| spec.minutes);
            self.open.push(place.to_owned());
        }
    }

    /// Minutes that setting up for a reading would take, the reading included.
    pub(super) fn cost(&self, ask: &Ask) -> f64 {
        let circuit = &self.topology.circuit;
        let mut places: Vec<&str> = [ask.from, ask.to]
            .iter()
            .filter(|point| Some(**point) != self.unit.wiring.shell)
            .filter_map(|point| circuit.points[*point].place.as_deref())
            .collect();
        let mut minutes = reading_min(ask.what) + self.switching_min(ask);
        for &connector in ask.lifted.iter().filter(|known| !self.lifted.contains(known)) {
            minutes += circuit.connectors[connector].minutes;
            places.push(&circuit.connectors[connector].place);
        }
        minutes += self.lifted.iter().filter(|known| !ask.lifted.contains(known)).count() as f64;
        places.sort_unstable();
        places.dedup();
        for place in places.iter().filter(|place| !self.open.iter().any(|known| known == *place)) {
            let spec = circuit.places.iter().find(|known| known.id == *place);
            minutes += spec.map_or(0.0, |spec| spec.minutes);
        }
        minutes
    }

    /// Minutes to bring about what is to be commanded.
    fn switching_min(&self, ask: &Ask) -> f64 {
        let states = &self.topology.circuit.states;
        match (&self.topology.states, ask.command) {
            (Some(known), Some(command)) if self.command != ask.command => (0..states.len())
                .find(|&state| known.command(state) == command)
                .map_or(0.0, |state| states[state].minutes),
            _ => 0.0,
        }
    }

    /// Waits until an overload must have closed. Whoever was asked for a reading after cooling
    /// notes how warm it is and how long it stood: to the tool an unnoted one is no such reading,
    /// and it would ask for it for ever.
    pub(super) fn rest(&mut self) {
        let wait = (rest_of(&self.topology.circuit) - self.stopped_min()).max(0.0);
        self.waiting_min += wait;
        self.resting_min += wait;
        self.worked_min = self.minutes;
        self.notes = true;
        self.trail.push(format!("waits {wait:.0} min"));
    }

    fn stopped_min(&self) -> f64 {
        self.unit.stopped_min + self.minutes + self.resting_min
    }

    fn celsius(&self) -> f64 {
        if self.stopped_min() >= rest_of(&self.topology.circuit) {
            self.unit.celsius.min(33.0)
        } else {
            self.unit.celsius
        }
    }

    fn overload_is_open(&self) -> bool {
        self.unit.hot.is_some_and(|(_, closes_min)| self.stopped_min() < closes_min)
    }

    fn faults(&self, what: What) -> (u64, Vec<TrueFault>) {
        let flighty = |fault: &TrueFault| matches!(fault.effect, Effect::Open | Effect::Series);
        let mut faults: Vec<TrueFault> = self.unit.faults.clone();
        let mut state = 0;
        if self.unit.intermittent.is_some() && !self.showing {
            faults.retain(|fault| !flighty(fault));
            state |= 1;
        }
        if self.unit.hidden_ground && what == What::Ohms {
            faults.retain(|fault| fault.effect != Effect::ToShell || fault.size <= 1e3);
            state |= 2;
        }
        if let Some((part, _)) = self.unit.hot
            && self.overload_is_open()
        {
            faults.push(TrueFault { part, effect: Effect::OpenHot, size: 0.0 });
            state |= 4;
        }
        if self.celsius() != self.unit.celsius {
            state |= 8;
        }
        (state, faults)
    }

    /// The unit under a command as it is now.
    fn live(&mut self, states: &States, command: usize) -> Result<(u64, Want, Net), String> {
        let (state, faults) = self.faults(What::Volts);
        let want = Want { faults, celsius: self.celsius(), command };
        let (wiring, torques) = (&self.unit.wiring, &self.table.torques);
        let net = self.kept.net(wiring, states, torques, state, &want)?;
        Ok((state, want, net))
    }

    /// What a perfect meter shows, and whether the motors turn.
    fn truth(&mut self, ask: &Ask) -> Result<(Seen, bool), String> {
        let (state, faults) = self.faults(ask.what);
        let celsius = self.celsius();
        if let (Some(states), Some(command)) = (&self.topology.states, ask.command) {
            let wiring = &self.unit.wiring;
            let (state, want, net) = self.live(states, command)?;
            let meter_ohm = self.unit.voltmeter_ohm;
            let draws = ask.what == What::Volts && meter_ohm < DRAWS_OHM;
            let seen = match (self.kept.known(state, ask), net.shows(wiring, ask)) {
                (Some(seen), _) => seen,
                (None, Some(value)) if !draws => Seen::plain(Some(value)),
                _ => {
                    let volt = powered::metered(wiring, states, &want, &net, ask, meter_ohm)?;
                    Seen::plain(Some(volt))
                }
            };
            self.kept.keep(state, ask, seen);
            return Ok((seen, net.turning()));
        }
        let request = |ask: &Ask| (state, (faults.clone(), celsius, ask.clone()));
        let mut asked = vec![request(ask)];
        if !self.kept.knows(state, ask) {
            // One process answers all that may be asked with this lifted.
            asked.extend(
                self.table
                    .setups
                    .iter()
                    .filter(|s| s.what == ask.what && s.lifted == ask.lifted)
                    .map(request),
            );
        }
        Ok((self.kept.seen(&self.unit.wiring, &asked)?[0], false))
    }

    /// Takes a reading, mistakes and all.
    ///
    /// # Errors
    /// Where ngspice fails.
    pub(super) fn take(&mut self, ask: &Ask) -> Result<(), String> {
        let of = |states: &States, command: usize| {
            (0..self.topology.circuit.states.len()).find(|&state| states.command(state) == command)
        };
        let asked = self.topology.states.as_ref().zip(ask.command);
        let asked = asked.and_then(|(states, command)| of(states, command));
        self.take_in(ask, asked)
    }

    /// Whether the motors turn under a command, as anybody sees who brings it about.
    ///
    /// # Errors
    /// Where ngspice fails.
    pub(super) fn turning(&mut self, command: usize) -> Result<bool, String> {
        let Some(states) = &self.topology.states else { return Ok(false) };
        Ok(!states.motors.is_empty() && self.live(states, command)?.2.turning())
    }

    /// Takes a reading that was asked for in a state of the file.
    ///
    /// # Errors
    /// Where ngspice fails.
    pub(super) fn take_in(&mut self, ask: &Ask, asked: Option<usize>) -> Result<(), String> {
        let circuit = &self.topology.circuit;
        self.minutes += self.cost(ask) - reading_min(ask.what);
        let places: Vec<String> = [ask.from, ask.to]
            .iter()
            .filter(|point| Some(**point) != self.unit.wiring.shell)
            .filter_map(|point| circuit.points[*point].place.clone())
            .chain(ask.lifted.iter().map(|&known| circuit.connectors[known].place.clone()))
            .collect();
        let before = self.minutes;
        places.iter().for_each(|place| self.open(place));
        self.minutes = before + reading_min(ask.what);
        self.tests += 1;
        let again = self.readings.iter().any(|taken| taken.ask == *ask);
        if ask.command.is_some() && (self.command != ask.command || again) {
            // A thermostat in its delay, a jumper that does not hold.
            self.uncalled = self.random.chance(self.rate * SHARES[5]);
            self.showing = self.draw_showing();
        }
        self.command = ask.command;
        if self.lifted != ask.lifted || again {
            self.left_on = (!ask.lifted.is_empty() && self.random.chance(self.rate * SHARES[5]))
                .then(|| self.random.one_of(&ask.lifted));
            self.lifted.clone_from(&ask.lifted);
            self.showing = self.draw_showing();
        } else if self.random.chance(0.2) {
            self.showing = self.draw_showing();
        }
        let mut really = ask.clone();
        if let Some(left_on) = self.left_on {
            really.lifted.retain(|&known| known != left_on);
        }
        let per_reading = self.rate * (1.0 - SHARES[5]);
        let mistake = self
            .random
            .chance(per_reading)
            .then(|| super::random::weighted(&mut self.random, &SHARES[..5]));
        if mistake == Some(3) {
            really = self.beside(&really);
        }
        if let (true, Some(states)) = (self.uncalled, &self.topology.states) {
            really.command = really.command.map(|known| states.idle().unwrap_or(known));
        }
        let (seen, turning) = self.truth(&really)?;
        let state = self
            .topology
            .states
            .as_ref()
            .filter(|_| matches!(ask.what, What::Volts | What::Amps))
            .zip(asked)
            .and_then(|(states, asked)| states.noted(circuit, asked, turning).or(Some(asked)));
        let shown = self.shown(ask, seen, mistake);
        let rested = self.stopped_min() >= rest_of(circuit);
        // A shell tells the winding's temperature within a few degrees.
        let noted = self.notes.then(|| {
            let celsius =
                self.celsius() + 3.0 * normal(&mut Seeded::new(seed_of(&[self.unit.seed, 5])));
            let stopped = self.unit.stopped_min + self.worked_min + self.resting_min;
            (celsius.clamp(-20.0, 150.0).round(), stopped.round())
        });
        self.count += 1;
        let name = |point: usize| circuit.points[point].id.as_str();
        let wrong = match (mistake, self.left_on) {
            (Some(kind), _) => format!(" MISTAKE {kind}"),
            (None, Some(_)) => " NOT LIFTED".to_owned(),
            _ if ask.command.is_some() && self.uncalled => " NOT CALLED".to_owned(),
            _ => String::new(),
        };
        let hidden =
            if self.showing || self.unit.intermittent.is_none() { "" } else { " (not showing)" };
        self.trail.push(format!(
            "{:.0} min r{} {:?} {}-{} {}{:?}: {shown:?}{wrong}{hidden}",
            self.minutes,
            self.count,
            ask.what,
            name(ask.from),
            name(ask.to),
            state.map_or("lifted ", |state| circuit.states[state].id.as_str()),
            ask.lifted
                .iter()
                .map(|&known| circuit.connectors[known].id.as_str())
                .collect::<Vec<_>>()
        ));
        self.readings.push(Taken { id: self.count, ask: ask.clone(), shown, noted, rested, state });
        Ok(())
    }

    fn draw_showing(&mut self) -> bool {
        let chance = self.unit.intermittent.unwrap_or(1.0);
        self.random.chance(chance)
    }

    /// The neighbouring pin of one probe.
    fn beside(&mut self, ask: &Ask) -> Ask {
        let circuit = &self.topology.circuit;
        let (moved, other) =
            if self.random.chance(0.5) { (ask.from, ask.to) } else { (ask.to, ask.from) };
        let near: Vec<usize> = (0..circuit.points.len())
            .filter(|&point| {
                point != moved
                    && point != other
                    && Some(point) != self.unit.wiring.shell
                    && circuit.points[point].place.is_some()
                    && circuit.points[point].place == circuit.points[moved].place
                    && (ask.command.is_none() || circuit.points[point].needs_lifted.is_empty())
            })
            .collect();
        let no_neighbour = ask.what == What::Volts && ask.command.is_none();
        if near.is_empty() || no_neighbour || ask.what == What::Amps {
            return ask.clone();
        }
        Ask { from: self.random.one_of(&near), to: other, ..ask.clone() }
    }

    fn shown(&mut self, ask: &Ask, seen: Seen, mistake: Option<usize>) -> Shown {
        let (what, powered) = (ask.what, ask.command.is_some());
        let mut value = seen.value;
        match mistake {
            // A probe that does not touch, a clamp around both wires; direct volts.
            Some(0 | 2) if powered => value = Some(between(&mut self.random, 0.0, 0.4)),
            Some(1) if powered => {}
            Some(0) if what != What::Volts => {
                value = if self.random.chance(0.6) {
                    None
                } else {
                    value.map(|value| value + self.random.decades(0.5, 50.0))
                };
            }
            Some(1) => value = value.map(|value| value + between(&mut self.random, 0.1, 0.8)),
            Some(2) => {
                let factor = self.random.one_of(&[1e3, 1e-3]);
                value = value.map(|value| value * factor);
            }
            Some(4) => {
                value = Some(match value {
                    Some(value) => value * self.random.decades(0.1, 10.0),
                    None => self.random.decades(0.1, 1e5),
                });
            }
            _ => {}
        }
        let (accuracy, resolution, highest) = match what {
            What::Ohms => (0.002, self.meter.resolution, self.meter.highest),
            What::Megger => (0.02, 1e4, 2e9),
            What::Microfarad => (0.012, 0.1, 1e4),
            What::Volts if powered => (0.008, 0.1, 1e3),
            What::Volts => (0.005, 0.1, 1e3),
            What::Amps => (0.02, self.meter.ampere, 4e2),
        };
        if what == What::Ohms && seen.charging && mistake.is_none() {
            return if self.random.chance(0.7) { Shown::Climbing } else { Shown::OverLimit };
        }
        let Some(mut value) = value else { return Shown::OverLimit };
        if what == What::Ohms {
            value = value * self.meter.gain + self.meter.lead_ohm;
        }
        value *= 1.0 + accuracy * normal(&mut self.random);
        let digits = 10f64.powf(value.max(1e-3).log10().floor() - 3.0);
        let step = if what == What::Megger { 1e4f64.max(digits) } else { resolution.max(digits) };
        let value = ((value / step).round() * step).max(0.0);
        if value > highest { Shown::OverLimit } else { Shown::Value(value) }
    }

    /// Answers a sign's question.
    ///
    /// # Errors
    /// Where ngspice fails.
    pub(super) fn observe(&mut self, sign: usize, free: bool) -> Result<(), String> {
        if !free {
            self.minutes += self.topology.circuit.signs[sign].minutes;
            self.tests += 1;
        }
        let slip = self.random.chance(self.rate);
        let mut present = self.unit.signs[sign] != slip;
        let id = &self.topology.circuit.signs[sign].id;
        if present && !slip && STANDS_STILL.iter().any(|word| id.contains(word)) {
            // Nobody says of a motor that turns that it does not.
            present = !self.turning(0)?;
        }
        let id = &self.topology.circuit.signs[sign].id;
        self.trail.push(format!("{:.0} min sign {id}: {present}", self.minutes));
        self.observed.push((sign, present));
        Ok(())
    }

    /// The case as it stands, in the engine's own document.
    pub(super) fn case(&self, claim: Option<Value>) -> Value {
        let circuit = &self.topology.circuit;
        let point = |point: usize| circuit.points[point].id.clone();
        let readings: Vec<Value> = self
            .readings
            .iter()
            .map(|taken| {
                let (quantity, unit, power) = match taken.ask.what {
                    What::Ohms => ("resistance", "ohm", "off"),
                    What::Megger => ("insulation", "ohm", "off"),
                    What::Microfarad => ("capacitance", "microfarad", "off"),
                    What::Volts => ("voltage", "volt", "energised"),
                    What::Amps => ("current", "ampere", "energised"),
                };
                let shown = match taken.shown {
                    Shown::Value(value) => json!({"is": "value", "value": value, "unit": unit}),
                    Shown::OverLimit => json!({"is": "over_limit"}),
                    Shown::Climbing => json!({"is": "climbing"}),
                };
                let lifted: Vec<String> = taken
                    .ask
                    .lifted
                    .iter()
                    .map(|&known| circuit.connectors[known].id.clone())
                    .collect();
                let mut reading = json!({
                    "id": format!("r{}", taken.id), "quantity": quantity, "power": power,
                    "from": point(taken.ask.from), "to": point(taken.ask.to),
                    "lifted": lifted, "shown": shown,
                });
                if let Some((celsius, stopped)) = taken.noted {
                    reading["part_temp_c"] = json!(celsius);
                    reading["stopped_min"] = json!(stopped);
                }
                if let Some(state) = taken.state {
                    reading["state"] = json!(circuit.states[state].id);
                    if taken.ask.what == What::Volts && self.unit.voltmeter_ohm < DRAWS_OHM {
                        reading["meter"] = json!({"low_impedance": true});
                    }
                }
                if taken.ask.what == What::Ohms {
                    reading["meter"] = json!({
                        "accuracy_pct": 1.0, "resolution": self.meter.resolution,
                        "highest": self.meter.highest, "zeroed": self.meter.zeroed,
                    });
                }
                reading
            })
            .collect();
        let observations: Vec<Value> = (self.observed.iter().enumerate())
            .map(|(place, (sign, present))| {
                json!({
                    "id": format!("o{}", place + 1), "sign": circuit.signs[*sign].id, "present": present,
                })
            })
            .collect();
        let specs: serde_json::Map<String, Value> = self
            .unit
            .plate
            .iter()
            .map(|&(part, value)| {
                let spec = &circuit.parts[part];
                let unit = if spec.microfarad.is_some() { "microfarad" } else { "ohm" };
                (spec.id.clone(), json!({"value": value, "unit": unit}))
            })
            .collect();
        let mut case = json!({
            "format": 1, "circuit": self.topology.name, "circuit_text": self.topology.text,
            "specs": specs, "readings": readings, "observations": observations,
        });
        if let Some(claim) = claim {
            case["claim"] = claim;
        }
        case
    }
}

/// Minutes of one reading once everything is open; a little more than the engine believes.
pub(super) fn reading_min(what: What) -> f64 {
    match what {
        What::Ohms => 0.8,
        What::Megger | What::Microfarad => 1.2,
        What::Amps => 1.5,
        What::Volts => 2.2,
    }
}
