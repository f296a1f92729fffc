//! What can be commanded of a circuit under power, and which motors answer.
//!
//! Belongs here: the file's states taken apart into commands, motors and what their turning
//! does. Does not belong here: whether they turn ([`super::powered`]).
//!
//! A state of a circuit file says "calling, not turning" or "calling, running"; who calls cannot
//! choose between the two. Here a command is one, and the fault decides.

use engine::circuit::{Circuit, Impedance, PartKind, State};

/// Contacts that a turning motor opens by a coil which no state of the file speaks of: circuit,
/// contact, and what must conduct for it.
const LIFTED_BY: [(&str, &str, [&str; 2]); 1] =
    [("compressor-1ph-start-relay", "relay_contact", ["relay_coil", "wire_k5"])];

/// A module that turns its motor by itself once it has line and call.
struct Runs {
    circuit: &'static str,
    /// Its two inputs, and the volts that each needs.
    line: (&'static str, f64),
    call: (&'static str, f64),
    /// Whatever is wrong with these keeps it standing; names begin so.
    blocked_by: [&'static str; 5],
    /// What its line input presents then.
    turning: Impedance,
}

const RUNS: [Runs; 1] = [Runs {
    circuit: "blower-ecm",
    line: ("input", 85.0),
    call: ("opto", 14.0),
    blocked_by: ["stage", "bearings", "winding_", "pin_", "bridge_"],
    turning: Impedance { ohm: 30.0, reactance_ohm: -12.0 },
}];

/// What a part presents while it turns, where the file leaves that out.
pub(super) fn turning(circuit: &Circuit, part: &str) -> Option<Impedance> {
    let runs = RUNS.iter().find(|runs| runs.circuit == circuit.name && runs.line.0 == part)?;
    Some(runs.turning)
}

/// What is commanded.
#[derive(Clone, Debug)]
pub(super) struct Command {
    /// By part.
    pub(super) energised: Vec<bool>,
    pub(super) closed: Vec<bool>,
    pub(super) opened: Vec<bool>,
    /// Opened too once the motors turn.
    pub(super) opened_turning: Vec<bool>,
    /// The file's state in which nothing turns, and that in which it does.
    still: Option<usize>,
    turning: Option<usize>,
}

/// What turns together.
#[derive(Clone, Debug)]
pub(super) struct Motor {
    /// Its windings.
    pub(super) parts: Vec<usize>,
    /// What can seize it.
    pub(super) mechanisms: Vec<usize>,
    /// What starts by its inputs and not by torque.
    pub(super) module: Option<Module>,
}

/// A module that turns its motor.
#[derive(Clone, Debug)]
pub(super) struct Module {
    /// What keeps it from that.
    pub(super) blocked_by: Vec<usize>,
    /// Each input with the volts that it needs.
    pub(super) inputs: [(usize, f64); 2],
}

/// Commands and motors of a circuit.
#[derive(Clone, Debug, Default)]
pub(super) struct States {
    pub(super) commands: Vec<Command>,
    pub(super) motors: Vec<Motor>,
    /// Contacts, and the parts that must conduct for turning to open them.
    pub(super) lifted_by: Vec<(usize, Vec<usize>)>,
    /// The command of each of the file's states.
    of_state: Vec<usize>,
}

impl States {
    /// Of a circuit file.
    pub(super) fn of(circuit: &Circuit) -> Self {
        let has = |ids: &[String]| -> Vec<bool> {
            circuit.parts.iter().map(|part| ids.contains(&part.id)).collect()
        };
        let mut states = States::default();
        for (index, state) in circuit.states.iter().enumerate() {
            let (energised, closed) = (has(&state.energised), has(&state.closed));
            let known = states
                .commands
                .iter()
                .position(|known| known.energised == energised && known.closed == closed);
            let place = known.unwrap_or(states.commands.len());
            if known.is_none() {
                let none = vec![false; circuit.parts.len()];
                states.commands.push(Command {
                    energised,
                    closed,
                    opened: none.clone(),
                    opened_turning: none,
                    still: None,
                    turning: None,
                });
            }
            let command = &mut states.commands[place];
            if state.turning.is_empty() {
                command.still = command.still.or(Some(index));
                command.opened = has(&state.opened);
            } else {
                command.turning = command.turning.or(Some(index));
                command.opened_turning = has(&state.opened);
            }
            states.of_state.push(place);
            states.turn_together(circuit, state);
        }
        let part = |id: &str| circuit.parts.iter().position(|part| part.id == id);
        for runs in RUNS.iter().filter(|runs| runs.circuit == circuit.name) {
            let inputs = part(runs.line.0).zip(part(runs.call.0));
            let blocks = |part: &usize| {
                let id = &circuit.parts[*part].id;
                runs.blocked_by.iter().any(|word| id.starts_with(word))
            };
            states.motors.extend(inputs.map(|(line, call)| Motor {
                parts: vec![line],
                mechanisms: Vec::new(),
                module: Some(Module {
                    blocked_by: (0..circuit.parts.len()).filter(blocks).collect(),
                    inputs: [(line, runs.line.1), (call, runs.call.1)],
                }),
            }));
        }
        for (_, contact, needs) in LIFTED_BY.iter().filter(|known| known.0 == circuit.name) {
            let needs = needs.iter().filter_map(|id| part(id)).collect();
            states.lifted_by.extend(part(contact).map(|contact| (contact, needs)));
        }
        states
    }

    fn turn_together(&mut self, circuit: &Circuit, state: &State) {
        for (part, spec) in circuit.parts.iter().enumerate() {
            if !state.turning.contains(&spec.id) {
                continue;
            }
            let component = |known: &usize| circuit.parts[*known].component == spec.component;
            match self.motors.iter_mut().find(|motor| motor.parts.iter().any(component)) {
                Some(motor) if motor.parts.contains(&part) => {}
                Some(motor) => motor.parts.push(part),
                None => self.motors.push(Motor {
                    parts: vec![part],
                    mechanisms: (0..circuit.parts.len())
                        .filter(|other| circuit.parts[*other].kind == PartKind::Mechanism)
                        .filter(component)
                        .collect(),
                    module: None,
                }),
            }
        }
    }

    /// What a state of the file commands.
    pub(super) fn command(&self, state: usize) -> usize {
        self.of_state[state]
    }

    /// The command under which nothing is called for, where there is one.
    pub(super) fn idle(&self) -> Option<usize> {
        (0..self.commands.len()).find(|&command| {
            !self.commands[command].closed.contains(&true)
                && self.commands[command].turning.is_none()
                && command > 0
        })
    }

    /// As which of the file's states a technician notes down what he found: the one asked for,
    /// unless another says better what turns; `None` where the one asked for cannot be had.
    pub(super) fn noted(&self, circuit: &Circuit, asked: usize, turning: bool) -> Option<usize> {
        let command = &self.commands[self.of_state[asked]];
        let fits = if turning { command.turning } else { command.still };
        // A state that only says what is commanded is had either way.
        let says = |word: &str| circuit.states[asked].label.contains(word);
        let is_had = if turning { !says("not turning") } else { !says("running") };
        fits.or(is_had.then_some(asked))
    }
}
