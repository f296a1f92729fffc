//! What ngspice predicts for every fault and every way of measuring, at a make's values.
//!
//! Belongs here: the hypotheses and setups of the arms that reckon for themselves (oracle,
//! signature, checklist). Does not belong here: what they do with them.

use engine::circuit::{Circuit, Effect, PartKind};

use super::random::{number_of, seed_of};
use super::spice::{Request, Seen, seen};
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
        ]);
        let file = std::env::temp_dir().join(format!("condemn-trial-{key:016x}.json"));
        let hypotheses = hypotheses(circuit);
        if let Some((setups, shows, per_celsius)) = kept(&file) {
            return Ok(Table { hypotheses, setups, shows, per_celsius });
        }
        let setups = setups(circuit, &wiring)?;
        let ask = |faults: &[TrueFault], celsius: f64| -> Result<Vec<Seen>, String> {
            let requests: Vec<Request> =
                setups.iter().map(|ask| (faults.to_vec(), celsius, ask.clone())).collect();
            seen(&wiring, &requests)
        };
        let shows: Vec<Vec<Seen>> = hypotheses
            .iter()
            .map(|hypothesis| ask(&hypothesis.fault.into_iter().collect::<Vec<_>>(), 25.0))
            .collect::<Result<Vec<_>, _>>()?;
        let per_celsius: Vec<f64> = ask(&[], 75.0)?
            .iter()
            .zip(&shows[0])
            .map(|(warm, cold)| match (warm.value, cold.value) {
                (Some(warm), Some(cold)) if cold > 0.0 => (warm / cold - 1.0) / 50.0,
                _ => 0.0,
            })
            .collect();
        keep(&file, &setups, &shows, &per_celsius);
        Ok(Table { hypotheses, setups, shows, per_celsius })
    }

    /// What a sound unit shows.
    pub(super) fn sound(&self, setup: usize) -> Seen {
        self.shows[0][setup]
    }

    /// The setup of a way of asking, either way round.
    pub(super) fn setup(&self, ask: &Ask) -> Option<usize> {
        self.setups.iter().position(|known| {
            known.what == ask.what
                && known.lifted == ask.lifted
                && ((known.from, known.to) == (ask.from, ask.to)
                    || (known.to, known.from) == (ask.from, ask.to))
        })
    }
}

/// The words of [`What`] in a kept table.
const WHATS: [What; 4] = [What::Ohms, What::Megger, What::Microfarad, What::Volts];

/// Setups, what is shown by hypothesis and setup, and the change per °C.
type Predictions = (Vec<Ask>, Vec<Vec<Seen>>, Vec<f64>);

/// A table kept from an earlier run: minutes of ngspice. Anything odd about it and it is made
/// anew.
fn kept(file: &std::path::Path) -> Option<Predictions> {
    type Asks = Vec<(usize, usize, usize, Vec<usize>)>;
    type Kept = (Asks, Vec<Vec<(Option<f64>, bool)>>, Vec<f64>);
    let (asks, shows, per_celsius): Kept =
        serde_json::from_str(&std::fs::read_to_string(file).ok()?).ok()?;
    let asks = asks.into_iter().map(|(what, from, to, lifted)| Ask {
        what: WHATS[what % 4],
        from,
        to,
        lifted,
    });
    let shows = shows
        .into_iter()
        .map(|row| row.into_iter().map(|(value, charging)| Seen { value, charging }).collect());
    Some((asks.collect(), shows.collect(), per_celsius))
}

/// Keeps a table; a run that cannot is only slower.
fn keep(file: &std::path::Path, setups: &[Ask], shows: &[Vec<Seen>], per_celsius: &[f64]) {
    let what = |ask: &Ask| WHATS.iter().position(|known| *known == ask.what).unwrap_or(0);
    let asks: Vec<_> =
        setups.iter().map(|ask| (what(ask), ask.from, ask.to, &ask.lifted)).collect();
    let shows: Vec<Vec<_>> = shows
        .iter()
        .map(|row| row.iter().map(|seen| (seen.value, seen.charging)).collect())
        .collect();
    if let Ok(text) = serde_json::to_string(&(asks, shows, per_celsius)) {
        let part = file.with_extension("part");
        let _ = std::fs::write(&part, text).and_then(|()| std::fs::rename(&part, file));
    }
}

fn hypotheses(circuit: &Circuit) -> Vec<Hypothesis> {
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

fn setups(circuit: &Circuit, wiring: &Wiring) -> Result<Vec<Ask>, String> {
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
                pairs.push(Ask { what: What::Ohms, from, to, lifted: lifted.clone() });
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
                all.push(Ask { what, from, to, lifted: lifted.clone() });
            }
        }
        if lifted.is_empty() {
            let supplies = wiring.supplies(&|point| reachable(point, lifted));
            let volts =
                |[from, to]: [usize; 2]| Ask { what: What::Volts, from, to, lifted: Vec::new() };
            all.extend(supplies.into_iter().map(volts));
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
