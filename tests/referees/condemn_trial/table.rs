//! What ngspice predicts for every fault and every way of measuring, at a make's values.
//!
//! Belongs here: the hypotheses and setups of the arms that reckon for themselves (oracle,
//! signature, checklist). Does not belong here: what they do with them.

use engine::circuit::{Circuit, Effect, PartKind};

use super::powered::{self, Torques, Want};
use super::random::{number_of, seed_of};
use super::spice::{Request, Seen, seen};
use super::states::States;
use super::topologies::Topology;
use super::wiring::{Ask, TrueFault, What, Wiring};
use super::world::{Make, is_wiring, weights};

/// A fault of one size, or none.
pub(super) struct Hypothesis {
    pub(super) fault: Option<TrueFault>,
    pub(super) component: Option<usize>,
    /// True weight among faults, sizes taken apart.
    pub(super) weight: f64,
    pub(super) wiring: bool,
    pub(super) hot: bool,
    pub(super) mode: usize,
}

/// Predictions of one make of one topology.
pub(super) struct Table {
    /// The first is "nothing wrong".
    pub(super) hypotheses: Vec<Hypothesis>,
    pub(super) setups: Vec<Ask>,
    /// By hypothesis, then setup.
    pub(super) shows: Vec<Vec<Seen>>,
    /// By setup: how much more a sound unit shows per °C.
    pub(super) per_celsius: Vec<f64>,
    /// Of the sound motors, for those that are read under power.
    pub(super) torques: Torques,
}

impl Table {
    /// Asks ngspice for everything.
    ///
    /// # Errors
    /// Where ngspice fails.
    pub(super) fn new(topology: &Topology, make: &Make) -> Result<Self, String> {
        let circuit = &topology.circuit;
        let mut wiring = Wiring::nominal(circuit);
        for (part, branch) in wiring.branches.iter_mut().enumerate() {
            branch.ohm = make.ohm[part];
            branch.microfarad = make.microfarad[part];
        }
        let key = seed_of(&[
            number_of(&topology.text),
            number_of(&format!("{make:?}")),
            number_of(include_str!("table.rs")),
            number_of(include_str!("spice.rs")),
            number_of(include_str!("wiring.rs")),
            number_of(include_str!("states.rs")),
            number_of(include_str!("powered.rs")),
        ]);
        let file = std::env::temp_dir().join(format!("condemn-trial-{key:016x}.json"));
        let hypotheses = hypotheses(circuit, topology.states.is_some());
        let torques = match &topology.states {
            Some(states) => powered::torques(&wiring, states)?,
            None => Torques::new(),
        };
        if let Some((setups, shows, per_celsius)) = kept(&file) {
            return Ok(Table { hypotheses, setups, shows, per_celsius, torques });
        }
        let mut setups = setups(circuit, &wiring, topology.states.is_some())?;
        let ask = |faults: &[TrueFault], celsius: f64| -> Result<Vec<Seen>, String> {
            let requests: Vec<Request> =
                setups.iter().map(|ask| (faults.to_vec(), celsius, ask.clone())).collect();
            seen(&wiring, &requests)
        };
        let mut shows: Vec<Vec<Seen>> = hypotheses
            .iter()
            .map(|hypothesis| ask(&hypothesis.fault.into_iter().collect::<Vec<_>>(), 25.0))
            .collect::<Result<Vec<_>, _>>()?;
        let mut per_celsius: Vec<f64> = ask(&[], 75.0)?
            .iter()
            .zip(&shows[0])
            .map(|(warm, cold)| match (warm.value, cold.value) {
                (Some(warm), Some(cold)) if cold > 0.0 => (warm / cold - 1.0) / 50.0,
                _ => 0.0,
            })
            .collect();
        if let Some(states) = &topology.states {
            let asks = powered_setups(circuit, &wiring, states);
            for (shows, more) in
                shows.iter_mut().zip(powered_shows(&wiring, states, &hypotheses, &asks, &torques)?)
            {
                shows.extend(more);
            }
            per_celsius.extend(asks.iter().map(|_| 0.0));
            setups.extend(asks);
        }
        keep(&file, &setups, &shows, &per_celsius);
        Ok(Table { hypotheses, setups, shows, per_celsius, torques })
    }

    /// What a sound unit shows.
    pub(super) fn sound(&self, setup: usize) -> Seen {
        self.shows[0][setup]
    }

    /// The setup of a way of asking, either way round.
    pub(super) fn setup(&self, ask: &Ask) -> Option<usize> {
        self.setups.iter().position(|known| {
            known.what == ask.what
                && known.command == ask.command
                && known.lifted == ask.lifted
                && ((known.from, known.to) == (ask.from, ask.to)
                    || (known.to, known.from) == (ask.from, ask.to))
        })
    }
}

/// The words of [`What`] in a kept table.
const WHATS: [What; 5] = [What::Ohms, What::Megger, What::Microfarad, What::Volts, What::Amps];

/// Setups, what is shown by hypothesis and setup, and the change per °C.
type Predictions = (Vec<Ask>, Vec<Vec<Seen>>, Vec<f64>);

/// A table kept from an earlier run: minutes of ngspice. Anything odd about it and it is made
/// anew.
fn kept(file: &std::path::Path) -> Option<Predictions> {
    type Asks = Vec<(usize, usize, usize, Vec<usize>, Option<usize>)>;
    type Kept = (Asks, Vec<Vec<(Option<f64>, bool, bool)>>, Vec<f64>);
    let (asks, shows, per_celsius): Kept =
        serde_json::from_str(&std::fs::read_to_string(file).ok()?).ok()?;
    let asks = asks.into_iter().map(|(what, from, to, lifted, command)| Ask {
        what: WHATS[what % WHATS.len()],
        from,
        to,
        lifted,
        command,
    });
    let shows = shows.into_iter().map(|row| {
        let seen = |(value, charging, ghost)| Seen { value, charging, ghost };
        row.into_iter().map(seen).collect()
    });
    Some((asks.collect(), shows.collect(), per_celsius))
}

/// Keeps a table; a run that cannot is only slower.
fn keep(file: &std::path::Path, setups: &[Ask], shows: &[Vec<Seen>], per_celsius: &[f64]) {
    let what = |ask: &Ask| WHATS.iter().position(|known| *known == ask.what).unwrap_or(0);
    let asks: Vec<_> =
        setups.iter().map(|ask| (what(ask), ask.from, ask.to, &ask.lifted, ask.command)).collect();
    let shows: Vec<Vec<_>> = shows
        .iter()
        .map(|row| row.iter().map(|seen| (seen.value, seen.charging, seen.ghost)).collect())
        .collect();
    if let Ok(text) = serde_json::to_string(&(asks, shows, per_celsius)) {
        let part = file.with_extension("part");
        let _ = std::fs::write(&part, text).and_then(|()| std::fs::rename(&part, file));
    }
}

fn hypotheses(circuit: &Circuit, powered: bool) -> Vec<Hypothesis> {
    let none =
        |hot| Hypothesis { fault: None, component: None, weight: 0.0, wiring: false, hot, mode: 0 };
    let mut all = vec![none(false)];
    for (part, spec) in circuit.parts.iter().enumerate() {
        if spec.modes.iter().any(|mode| mode.effect == Effect::OpenHot) {
            let fault = Some(TrueFault { part, effect: Effect::OpenHot, size: 0.0 });
            all.push(Hypothesis { fault, ..none(true) });
        }
    }
    for (part, mode, weight) in weights(circuit) {
        let spec = &circuit.parts[part];
        let effect = spec.modes[mode].effect;
        let written = &spec.modes[mode].sizes;
        let sizes: &[f64] = match (effect, spec.kind) {
            (Effect::Series | Effect::Fraction, kind)
                if powered && kind != PartKind::Capacitor && !written.is_empty() =>
            {
                written
            }
            (Effect::Series, PartKind::Capacitor) => &[0.5],
            (Effect::Series, _) => &[1.5, 12.0, 180.0],
            (Effect::ToShell, _) => &[3.0, 2e3, 5e4, 4e5],
            (Effect::Fraction | Effect::SourceFraction, _) if written == &[0.0] => &[0.0],
            (Effect::Fraction, PartKind::Capacitor) => &[0.2, 0.5, 0.75, 0.87],
            (Effect::Fraction, _) => &[0.15, 0.4, 0.7],
            (Effect::SourceFraction, _) => &[0.62, 0.8],
            _ => &[0.0],
        };
        let component = circuit.components.iter().position(|known| known.id == spec.component);
        for &size in sizes {
            all.push(Hypothesis {
                fault: Some(TrueFault { part, effect, size }),
                component,
                weight: weight / sizes.len() as f64,
                wiring: is_wiring(circuit, part),
                hot: false,
                mode,
            });
        }
    }
    all
}

fn setups(circuit: &Circuit, wiring: &Wiring, powered: bool) -> Result<Vec<Ask>, String> {
    let mut sets: Vec<Vec<usize>> = vec![Vec::new()];
    sets.extend((0..circuit.connectors.len()).map(|connector| vec![connector]));
    let reachable = |point: usize, lifted: &[usize]| {
        let spec = &circuit.points[point];
        spec.place.is_some()
            && spec
                .needs_lifted
                .iter()
                .all(|needed| lifted.iter().any(|&known| circuit.connectors[known].id == *needed))
            && Some(point) != wiring.shell
    };
    let carries = |point: usize| {
        wiring.branches.iter().any(|branch| {
            branch.kind != PartKind::Source && branch.ends.is_some_and(|ends| ends.contains(&point))
        })
    };
    let mut all = Vec::new();
    for lifted in &sets {
        let points: Vec<usize> = (0..circuit.points.len())
            .filter(|&point| reachable(point, lifted) && carries(point))
            .collect();
        // Arms' lengths: within one place, or along one part.
        let near = |a: usize, b: usize| {
            circuit.points[a].place == circuit.points[b].place
                || wiring
                    .branches
                    .iter()
                    .any(|branch| branch.ends == Some([a, b]) || branch.ends == Some([b, a]))
        };
        let mut pairs = Vec::new();
        for (place, &from) in points.iter().enumerate() {
            for &to in points[place + 1..].iter().filter(|&&to| near(from, to)) {
                pairs.push(Ask {
                    what: What::Ohms,
                    from,
                    to,
                    lifted: lifted.clone(),
                    command: None,
                });
            }
        }
        let request = |ask: &Ask| (Vec::new(), 25.0, ask.clone());
        let lifted_ohms = seen(wiring, &pairs.iter().map(request).collect::<Vec<_>>())?;
        let whole: Vec<Request> =
            pairs.iter().map(|ask| request(&Ask { lifted: Vec::new(), ..ask.clone() })).collect();
        let whole_ohms =
            if lifted.is_empty() { lifted_ohms.clone() } else { seen(wiring, &whole)? };
        for ((ask, now), before) in pairs.into_iter().zip(lifted_ohms).zip(whole_ohms) {
            let needed = [ask.from, ask.to]
                .iter()
                .any(|&point| !circuit.points[point].needs_lifted.is_empty());
            let same = now.value.zip(before.value).is_some_and(|(a, b)| (a / b - 1.0).abs() < 0.01);
            let conducts = now.value.is_some_and(|ohm| ohm < 1e5);
            if conducts && (lifted.is_empty() || needed || !same) {
                all.push(ask);
            }
        }
        if let Some(shell) = wiring.shell {
            all.extend(
                points
                    .iter()
                    .filter(|&&point| {
                        lifted.is_empty() || !circuit.points[point].needs_lifted.is_empty()
                    })
                    .map(|&from| Ask {
                        what: What::Megger,
                        from,
                        to: shell,
                        lifted: lifted.clone(),
                        command: None,
                    }),
            );
        }
        for branch in &wiring.branches {
            let Some([from, to]) = branch.ends else { continue };
            let what = match branch.kind {
                PartKind::Capacitor => What::Microfarad,
                _ => continue,
            };
            if reachable(from, lifted) && reachable(to, lifted) {
                all.push(Ask { what, from, to, lifted: lifted.clone(), command: None });
            }
        }
        if lifted.is_empty() && !powered {
            let supplies = wiring.supplies(&|point| reachable(point, lifted));
            all.extend(supplies.into_iter().map(|ends| Ask::live(What::Volts, ends, None)));
        }
    }
    // A capacitor that the rest of the circuit bridges tells nothing.
    let shows =
        seen(wiring, &all.iter().map(|ask| (Vec::new(), 25.0, ask.clone())).collect::<Vec<_>>())?;
    Ok(all
        .into_iter()
        .zip(shows)
        .filter(|(ask, shows)| {
            ask.what != What::Microfarad || shows.value.is_some_and(|uf| uf > 0.0)
        })
        .map(|(ask, _)| ask)
        .collect())
}

/// What is read under each command with everything in place: volts across each part and from each
/// point to the far end of each source, amps on each lead and each bare contact.
fn powered_setups(circuit: &Circuit, wiring: &Wiring, states: &States) -> Vec<Ask> {
    let place = |point: usize| circuit.points[point].place.is_some();
    let bare = |point: usize| place(point) && circuit.points[point].needs_lifted.is_empty();
    let ends = || wiring.branches.iter().filter_map(|branch| branch.ends);
    let far: Vec<usize> = wiring
        .branches
        .iter()
        .filter(|branch| branch.kind == PartKind::Source)
        .filter_map(|branch| branch.ends.map(|ends| ends[1]))
        .collect();
    let to_far = far.iter().flat_map(|&far| (0..wiring.points).map(move |point| [point, far]));
    let mut volts: Vec<[usize; 2]> = Vec::new();
    for [from, to] in ends().chain(to_far) {
        let known = volts.contains(&[from, to]) || volts.contains(&[to, from]);
        if from != to && !known && bare(from) && bare(to) {
            volts.push([from, to]);
        }
    }
    let amps: Vec<[usize; 2]> = wiring
        .branches
        .iter()
        .filter_map(|branch| {
            let ends = branch.ends?;
            let clamped = match branch.kind {
                PartKind::Lead => ends.into_iter().all(place),
                PartKind::Contact => ends.into_iter().all(bare),
                _ => false,
            };
            clamped.then_some(ends)
        })
        .collect();
    let mut all = Vec::new();
    for command in 0..states.commands.len() {
        all.extend(volts.iter().map(|&ends| Ask::live(What::Volts, ends, Some(command))));
        all.extend(amps.iter().map(|&ends| Ask::live(What::Amps, ends, Some(command))));
    }
    all
}

fn powered_shows(
    wiring: &Wiring,
    states: &States,
    hypotheses: &[Hypothesis],
    asks: &[Ask],
    torques: &Torques,
) -> Result<Vec<Vec<Seen>>, String> {
    let wants: Vec<Want> = hypotheses
        .iter()
        .flat_map(|hypothesis| {
            let faults: Vec<TrueFault> = hypothesis.fault.into_iter().collect();
            let want = move |command| Want { faults: faults.clone(), celsius: 25.0, command };
            (0..states.commands.len()).map(want)
        })
        .collect();
    let nets = powered::settled(wiring, states, &wants, torques)?;
    Ok(nets
        .chunks(states.commands.len())
        .map(|nets| {
            asks.iter()
                .map(|ask| match nets[ask.command.unwrap_or(0)].shows(wiring, ask) {
                    Some(value) => Seen::plain(Some(value)),
                    None => Seen { value: Some(0.0), charging: false, ghost: true },
                })
                .collect()
        })
        .collect())
}
