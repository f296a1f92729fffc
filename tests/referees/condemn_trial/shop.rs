//! What a shop learned before the trial's jobs: its confirmed calls.
//!
//! Belongs here: calls on the tuning topologies, by the same true rates, and what the engine counts
//! of them. Does not belong here: the trial's own jobs, of which nobody is told.

use engine::rates::{Found, Rates, Tally};

use super::random::seed_of;
use super::topologies::{Half, Topology};
use super::world::{self, Unit};

/// Salt of the seed: none of these units is one of the trial's.
const SALT: u64 = 101;

/// What `calls` confirmed calls on each tuning topology say; `None` of a new shop.
///
/// # Errors
/// A fault that its circuit does not list.
pub(super) fn rates(
    topologies: &[Topology],
    calls: usize,
    seed: u64,
) -> Result<Option<Rates>, String> {
    if calls == 0 {
        return Ok(None);
    }
    let mut tally = Tally::default();
    for topology in topologies.iter().filter(|topology| topology.half == Half::Tune) {
        let circuit = &topology.circuit;
        let makes = world::makes(circuit);
        for number in 0..calls {
            let seed = seed_of(&[seed, SALT]);
            let unit = world::unit(circuit, topology.states.is_some(), &makes, seed, number);
            let Some(found) = found(topology, &unit) else { continue };
            tally
                .add(circuit, &found, 1.0)
                .map_err(|problem| format!("{}: {problem:?}", topology.name))?;
        }
    }
    Ok(Some(tally.rates()))
}

/// What the unit turned out to be, of all that a circuit lists: the first of two faults; nothing of
/// a bridge, which none lists.
fn found(topology: &Topology, unit: &Unit) -> Option<Found> {
    let circuit = &topology.circuit;
    let of = |part: usize, wanted: &dyn Fn(&engine::circuit::Mode) -> bool| {
        let spec = &circuit.parts[part];
        let mode = spec.modes.iter().find(|mode| wanted(mode))?;
        Some(Found::Fault { part: spec.id.clone(), mode: mode.id.clone() })
    };
    if let Some((part, _)) = unit.hot {
        return of(part, &|mode| mode.passing);
    }
    match unit.faults.first() {
        Some(fault) => of(fault.part, &|mode| mode.effect == fault.effect && !mode.passing),
        None => (!unit.bridged).then_some(Found::NothingWrong),
    }
}
